/* SPDX-License-Identifier: MIT */
#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "clients/bench/screw_parts.h"

enum { DIGITS_MAX = 6 };

static const char *const forms =
    "M10x1.5, Tr8x2, Tr8x8(P2), 1/2-10 Acme or 3/8-16 UNC; or give the lead and a diameter";

bool screw_wrong(char *why, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(why, SCREW_WHY, format, arguments);
    va_end(arguments);
    return false;
}

bool screw_no_thread(const struct screw_scan *scan)
{
    return screw_wrong(scan->why, "'%.40s' is no thread that is known by name; write %s",
                       scan->name, forms);
}

bool screw_prepare(struct screw_scan *scan, const char *name, char *why)
{
    size_t used = 0;
    *scan = (struct screw_scan){.name = name, .why = why};
    for (const char *from = name; *from != '\0'; from++) {
        if (used + 1 >= sizeof scan->text) {
            return screw_no_thread(scan);
        }
        bool times = from[0] == '\xc3' && from[1] == '\x97'; /* U+00D7 in UTF-8 */
        scan->text[used++] = times ? 'x' : (char)tolower((unsigned char)*from);
        from += times;
    }
    scan->at = scan->text;
    return true;
}

void screw_skip_blanks(struct screw_scan *scan)
{
    scan->at += strspn(scan->at, " ");
}

bool screw_take(struct screw_scan *scan, const char *word)
{
    size_t size = strlen(word);
    screw_skip_blanks(scan);
    if (strncmp(scan->at, word, size) != 0) {
        return false;
    }
    scan->at += size;
    return true;
}

bool screw_at_end(struct screw_scan *scan)
{
    screw_skip_blanks(scan);
    return *scan->at == '\0';
}

/* Digits, at most six; the value times 10^-places in *value. */
static bool read_digits(struct screw_scan *scan, int64_t *value, int *places)
{
    *places = 0;
    for (; isdigit((unsigned char)*scan->at); scan->at++, (*places)++) {
        if (*places == DIGITS_MAX) {
            return false;
        }
        *value = *value * 10 + (*scan->at - '0');
    }
    return true;
}

/* A decimal, in millionths. */
bool screw_read_decimal(struct screw_scan *scan, int64_t *millionths)
{
    int64_t whole = 0;
    int64_t part = 0;
    int before = 0;
    int behind = 0;
    screw_skip_blanks(scan);
    if (!read_digits(scan, &whole, &before)) {
        return false;
    }
    if (*scan->at == '.') {
        scan->at++;
        if (!read_digits(scan, &part, &behind)) {
            return false;
        }
    }
    for (int i = behind; i < DIGITS_MAX; i++) {
        part *= 10;
    }
    *millionths = whole * SCREW_MICRO + part;
    return before + behind > 0;
}

bool screw_read_whole(struct screw_scan *scan, int64_t *value)
{
    int places;
    *value = 0;
    return read_digits(scan, value, &places) && places > 0;
}

bool screw_check_pitch(const struct screw_scan *scan, const struct screw_thread *thread)
{
    ratio_wide pitch2 = 2 * (ratio_wide)thread->pitch_num_nm;
    if (thread->major_nm <= 0 || thread->major_nm > SCREW_MAJOR_MAX_NM ||
        thread->pitch_num_nm <= 0 || pitch2 > (ratio_wide)thread->major_nm * thread->pitch_den) {
        return screw_wrong(
            scan->why,
            "'%.40s' cannot be a thread: the pitch is above 0 and no more than half the "
            "diameter, and that no more than 12 in",
            scan->name);
    }
    return true;
}

/* d - .649519 P: 3/8 of the triangle's height twice, H = P sqrt(3)/2 (ISO 68-1). */
void screw_set_vee_mean(struct screw_thread *thread)
{
    ratio_wide off = (ratio_wide)649519053 * thread->pitch_num_nm;
    thread->mean_nm =
        thread->major_nm - ratio_nearest(off, INT64_C(1000000000) * thread->pitch_den);
}

void screw_set_half_pitch_mean(struct screw_thread *thread)
{
    ratio_wide twice = 2 * (ratio_wide)thread->major_nm * thread->pitch_den - thread->pitch_num_nm;
    thread->mean_nm = ratio_nearest(twice, 2 * thread->pitch_den);
}
