/* SPDX-License-Identifier: MIT */
/* Acme and unified threads by name. */
#include <stdio.h>
#include <string.h>

#include "clients/bench/screw_parts.h"
#include "clients/bench/screw_tables.h"

/* 1/2, 1-1/8, 1 1/8, 1, .5, #10. A whole number is followed by '-' and a number as well when that
 * is the threads an inch: only a slash behind it tells. */
static bool read_fraction(struct screw_scan *scan, int64_t whole, int64_t above, int64_t *nm)
{
    int64_t below;
    if (!screw_read_whole(scan, &below) || below == 0) {
        return false;
    }
    *nm = ratio_nearest(((ratio_wide)whole * below + above) * LENGTH_NM_PER_IN, below);
    return true;
}

static bool read_inches(struct screw_scan *scan, int64_t *nm)
{
    int64_t first;
    int64_t second;
    const char *from = scan->at;
    if (strcspn(from, ".") < strcspn(from, "- /")) {
        int64_t millionths;
        bool read = screw_read_decimal(scan, &millionths);
        *nm = ratio_nearest((ratio_wide)millionths * LENGTH_NM_PER_IN, SCREW_MICRO);
        return read;
    }
    if (!screw_read_whole(scan, &first)) {
        return false;
    }
    if (*scan->at == '/') {
        scan->at++;
        return read_fraction(scan, 0, first, nm);
    }
    const char *behind = scan->at;
    if (*scan->at == '-' || *scan->at == ' ') {
        scan->at++;
        if (screw_read_whole(scan, &second) && *scan->at == '/') {
            scan->at++;
            return read_fraction(scan, first, second, nm);
        }
        scan->at = behind;
    }
    *nm = first * LENGTH_NM_PER_IN;
    return true;
}

static bool read_major_inch(struct screw_scan *scan, int64_t *nm)
{
    int64_t number;
    if (!screw_take(scan, "#")) {
        screw_skip_blanks(scan);
        return read_inches(scan, nm);
    }
    if (!screw_read_whole(scan, &number) || number > 14) {
        return false;
    }
    *nm = (60 + 13 * number) * (LENGTH_NM_PER_IN / 1000); /* ASME B1.1 */
    return true;
}

/* Which series: 0 none said, 'a' Acme, 'c' UNC, 'f' UNF, 'u' another unified. */
static char read_series(struct screw_scan *scan)
{
    static const struct {
        const char *word;
        char series;
    } words[] = {{"acme", 'a'}, {"unc", 'c'}, {"unf", 'f'}, {"uns", 'u'}, {"un", 'u'}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (screw_take(scan, words[i].word)) {
            return words[i].series;
        }
    }
    return 0;
}

static int threads_of(int64_t major_nm, char series)
{
    if (series == 'a') {
        return screw_acme_threads(major_nm);
    }
    return series == 'c' || series == 'f' ? screw_unified_threads(major_nm, series == 'f') : 0;
}

static bool is_standard(int64_t major_nm, char series, int64_t threads)
{
    if (series == 'a') {
        return threads == screw_acme_threads(major_nm);
    }
    bool coarse = threads == screw_unified_threads(major_nm, false) && series != 'f';
    bool fine = threads == screw_unified_threads(major_nm, true) && series != 'c';
    return threads > 0 && (coarse || fine);
}

bool screw_read_inch(struct screw_scan *scan, struct screw_thread *thread)
{
    int64_t threads = 0;
    const char *from = scan->at;
    if (!read_major_inch(scan, &thread->major_nm)) {
        return screw_no_thread(scan);
    }
    int size = (int)(scan->at - from);
    bool said = screw_take(scan, "-");
    if (said && !screw_read_whole(scan, &threads)) {
        return screw_no_thread(scan);
    }
    char series = read_series(scan);
    if (!screw_at_end(scan)) {
        return screw_no_thread(scan);
    }
    threads = said ? threads : threads_of(thread->major_nm, series);
    if (threads <= 0) {
        return screw_wrong(
            scan->why,
            "of '%.40s' the threads an inch are not known; write them as well, as in "
            "1/2-10 Acme",
            scan->name);
    }
    thread->form = series == 'a' ? SCREW_ACME : SCREW_VEE;
    thread->pitch_num_nm = LENGTH_NM_PER_IN;
    thread->pitch_den = threads;
    if (!screw_check_pitch(scan, thread)) {
        return false;
    }
    series == 'a' ? screw_set_half_pitch_mean(thread) : screw_set_vee_mean(thread);
    thread->standard = is_standard(thread->major_nm, series, threads);
    (void)snprintf(thread->name, sizeof thread->name, "%.*s-%d%s", size, from, (int)threads,
                   series == 'a'   ? " Acme"
                   : series == 'c' ? " UNC"
                   : series == 'f' ? " UNF"
                                   : "");
    return true;
}
