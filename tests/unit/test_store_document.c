/* SPDX-License-Identifier: MIT */
/* Documents: what is found in whole, damaged, foreign and missing files, and what is said. */
#include <check.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/store/document.h"
#include "tests/suite.h"
#include "tests/unit/fault_disk.c"

#define NAME "shop.json"
#define GOOD "{\"version\": 1, \"bits\": [\"dovetail\"]}"
#define TEXT "{\"version\": 1, \"bits\": [\"straight-half\", \"caf\xc3\xa9\"], \"cut\": -12}"

static struct fault_disk disk;
static char why[DOCUMENT_WHY_SIZE];
static char bits[64]; /* of what was read: the first bit, or "" */

static void put(const char *name, const char *text)
{
    fault_disk_put(&disk, name, text, strlen(text));
}

static bool holds(const char *name, const char *text)
{
    char got[512] = "";
    long size = fault_disk_get(&disk, name, got, sizeof got);
    return size == (long)strlen(text) && memcmp(got, text, (size_t)size) == 0;
}

static bool there(const char *name)
{
    char byte;
    return fault_disk_get(&disk, name, &byte, 1) >= 0;
}

static enum document_found load_checked(int version, document_check *check)
{
    cJSON *document;
    enum document_found found =
        document_load(&disk.files, NAME, version, check, &document, why, sizeof why);
    const cJSON *list = cJSON_GetObjectItem(document, "bits");
    const char *first = cJSON_GetStringValue(cJSON_GetArrayItem(list, 0));
    (void)snprintf(bits, sizeof bits, "%s", first != NULL ? first : "");
    bool read = found == DOCUMENT_WHOLE || found == DOCUMENT_LAST_GOOD;
    if (read != (document != NULL) || strlen(why) >= sizeof why - 1 || disk.opened != 0) {
        ck_abort_msg("found %d: %s", found, why);
    }
    cJSON_Delete(document);
    return found;
}

static enum document_found load(void)
{
    return load_checked(1, NULL);
}

static void make_disk(void)
{
    fault_disk_make(&disk, 1);
}

START_TEST(a_first_start_finds_nothing_and_says_nothing)
{
    make_disk();
    ck_assert_int_eq(load(), DOCUMENT_FRESH);
    ck_assert_str_eq(why, "");
    put(NAME ".new", TEXT); /* of a first save that was cut: it was never said to be kept */
    ck_assert_int_eq(load(), DOCUMENT_FRESH);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_whole_document_is_read_and_the_last_good_one_not_looked_at)
{
    make_disk();
    put(NAME, TEXT);
    put(NAME ".good", "junk");
    ck_assert_int_eq(load(), DOCUMENT_WHOLE);
    ck_assert_str_eq(bits, "straight-half");
    ck_assert_str_eq(why, "");
    ck_assert(holds(NAME ".good", "junk"));
    fault_disk_free(&disk);
}
END_TEST

START_TEST(each_save_keeps_the_one_before)
{
    make_disk();
    const char *step;
    ck_assert(document_save(&disk.files, NAME, GOOD, &step));
    ck_assert(!there(NAME ".good"));
    ck_assert(document_save(&disk.files, NAME, TEXT, &step));
    ck_assert(holds(NAME, TEXT) && holds(NAME ".good", GOOD) && !there(NAME ".new"));
    ck_assert(document_save(&disk.files, NAME, "{\"version\": 2}", &step));
    ck_assert(holds(NAME ".good", TEXT));
    ck_assert_int_eq(load_checked(2, NULL), DOCUMENT_WHOLE);
    ck_assert_uint_eq(disk.opened, 0);
    fault_disk_free(&disk);
}
END_TEST

/* Bit 7 makes any of these bytes no UTF-8, so all such are found damaged. The other bits may make
 * another document of it, or a newer version; but never harm. */
START_TEST(with_any_byte_changed_it_is_read_or_moved_aside_unchanged)
{
    size_t aside = 0;
    for (size_t at = 0; at < strlen(TEXT); at++) {
        for (int bit = 0; bit < 8; bit++) {
            char text[] = TEXT;
            text[at] = (char)((unsigned char)text[at] ^ 1u << bit);
            make_disk();
            fault_disk_put(&disk, NAME, text, strlen(TEXT));
            put(NAME ".good", GOOD);
            enum document_found found = load();
            bool damaged = found == DOCUMENT_LAST_GOOD;
            char got[sizeof text];
            long size = fault_disk_get(&disk, damaged ? NAME ".damaged" : NAME, got, sizeof got);
            bool newer = found == DOCUMENT_NEWER && at == strlen("{\"version\": ");
            if ((!damaged && ((found != DOCUMENT_WHOLE && !newer) || bit == 7)) ||
                size != (long)strlen(TEXT) || memcmp(got, text, strlen(TEXT)) != 0 ||
                (damaged && (strcmp(bits, "dovetail") != 0 || there(NAME)))) {
                ck_abort_msg("byte %zu, bit %d: found %d, %s", at, bit, found, why);
            }
            aside += damaged;
            fault_disk_free(&disk);
        }
    }
    ck_assert_uint_gt(aside, 2 * strlen(TEXT));
}
END_TEST

START_TEST(cut_short_anywhere_it_is_moved_aside_and_the_last_good_one_taken)
{
    for (size_t size = 0; size < strlen(TEXT); size++) {
        char text[] = TEXT;
        text[size] = '\0';
        make_disk();
        put(NAME, text);
        put(NAME ".good", GOOD);
        if (load() != DOCUMENT_LAST_GOOD || !holds(NAME ".damaged", text) || there(NAME) ||
            !holds(NAME ".good", GOOD)) {
            ck_abort_msg("%zu bytes: %s", size, why);
        }
        fault_disk_free(&disk);
    }
}
END_TEST

START_TEST(a_recovery_says_what_was_found_what_was_done_and_what_to_do)
{
    make_disk();
    put(NAME, "{\"version\": 1,\n\"bits\": [,]}");
    put(NAME ".good", GOOD);
    ck_assert_int_eq(load(), DOCUMENT_LAST_GOOD);
    ck_assert_msg(strncmp(why, "shop.json was damaged (line 2: ", 31) == 0, "%s", why);
    ck_assert_ptr_nonnull(strstr(
        why, ") and is now shop.json.damaged. The one saved before it, shop.json.good, was taken: "
             "look whether what was changed last is missing, and change it again."));
    /* Again at each start, until something is saved. */
    ck_assert_int_eq(load(), DOCUMENT_LAST_GOOD);
    ck_assert_str_eq(why, "shop.json is not there. The one saved before it, shop.json.good, was "
                          "taken: look whether what was changed last is missing, and change it "
                          "again.");
    const char *step;
    ck_assert(document_save(&disk.files, NAME, TEXT, &step));
    ck_assert(holds(NAME ".good", GOOD));
    ck_assert_int_eq(load(), DOCUMENT_WHOLE);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_document_that_somebody_took_away_is_not_a_first_start)
{
    make_disk();
    put(NAME ".good", GOOD);
    ck_assert_int_eq(load(), DOCUMENT_LAST_GOOD);
    ck_assert_str_eq(bits, "dovetail");
    put(NAME ".good", "junk");
    ck_assert_int_eq(load(), DOCUMENT_LOST);
    ck_assert(holds(NAME ".damaged", "junk") && !there(NAME ".good"));
    fault_disk_free(&disk);
}
END_TEST

START_TEST(with_no_good_one_left_nothing_is_read_and_all_is_kept)
{
    make_disk();
    put(NAME, "");
    put(NAME ".good", "{\"version\": 1}}");
    ck_assert_int_eq(load(), DOCUMENT_LOST);
    ck_assert(holds(NAME ".damaged", "") && holds(NAME ".damaged.2", "{\"version\": 1}}"));
    ck_assert_ptr_nonnull(
        strstr(why, " and is now shop.json.damaged; shop.json.good was damaged ("));
    ck_assert_ptr_nonnull(strstr(why, ") and is now shop.json.damaged.2. Nothing was read: put a "
                                      "kept copy in its place while regletd is stopped, or enter "
                                      "it anew."));
    ck_assert_int_eq(load(), DOCUMENT_LOST); /* and not as if there had never been one */
    ck_assert_str_eq(why, "shop.json was damaged and lies aside as shop.json.damaged; no good one "
                          "is left, and nothing was saved since. Put a kept copy in its place "
                          "while regletd is stopped, or enter it anew.");
    const char *step;
    ck_assert(document_save(&disk.files, NAME, TEXT, &step));
    ck_assert_int_eq(load(), DOCUMENT_WHOLE);
    fault_disk_free(&disk);
    make_disk();
    put(NAME, "x");
    ck_assert_int_eq(load(), DOCUMENT_LOST);
    ck_assert_ptr_nonnull(strstr(why, "; shop.json.good is not there. Nothing was read"));
    fault_disk_free(&disk);
}
END_TEST

START_TEST(the_names_of_damaged_ones_are_counted_on)
{
    make_disk();
    put(NAME ".good", GOOD);
    for (int i = 1; i <= 12; i++) {
        char text[32];
        (void)snprintf(text, sizeof text, "junk %d", i);
        put(NAME, text);
        ck_assert_int_eq(load(), DOCUMENT_LAST_GOOD);
    }
    ck_assert(holds(NAME ".damaged", "junk 1"));
    ck_assert(holds(NAME ".damaged.2", "junk 2"));
    ck_assert(holds(NAME ".damaged.12", "junk 12"));
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_newer_version_is_left_alone_wherever_it_is)
{
    make_disk();
    put(NAME, "{\"version\": 3, \"what\": {}}");
    put(NAME ".good", GOOD);
    ck_assert_int_eq(load_checked(2, NULL), DOCUMENT_NEWER);
    ck_assert_str_eq(why, "shop.json was written by a newer regletd: it is of version 3, and this "
                          "regletd reads versions up to 2. It was left as it is; start the newer "
                          "one, or move the file out of the folder to begin without it.");
    ck_assert(holds(NAME, "{\"version\": 3, \"what\": {}}"));
    put(NAME, "junk");
    put(NAME ".good", "{\"version\": 3}");
    ck_assert_int_eq(load_checked(2, NULL), DOCUMENT_NEWER);
    ck_assert(holds(NAME, "junk") && holds(NAME ".good", "{\"version\": 3}"));
    ck_assert(!there(NAME ".damaged"));
    fault_disk_free(&disk);
}
END_TEST

START_TEST(an_older_version_is_given_as_it_is)
{
    make_disk();
    put(NAME, TEXT);
    ck_assert_int_eq(load_checked(7, NULL), DOCUMENT_WHOLE);
    ck_assert_str_eq(bits, "straight-half");
    fault_disk_free(&disk);
}
END_TEST

static bool no_straight(const cJSON *document, char *fault, size_t size)
{
    const cJSON *first = cJSON_GetArrayItem(cJSON_GetObjectItem(document, "bits"), 0);
    (void)snprintf(fault, size, "the bit '%s' has no diameter", first->valuestring);
    return strncmp(first->valuestring, "straight", 8) != 0;
}

START_TEST(what_the_callers_check_refuses_is_damaged_too)
{
    make_disk();
    put(NAME, TEXT);
    put(NAME ".good", GOOD);
    ck_assert_int_eq(load_checked(1, no_straight), DOCUMENT_LAST_GOOD);
    ck_assert_str_eq(bits, "dovetail");
    ck_assert(strncmp(why, "shop.json was damaged (the bit 'straight-half' has no diameter) and",
                      67) == 0);
    ck_assert(holds(NAME ".damaged", TEXT));
    fault_disk_free(&disk);
}
END_TEST

START_TEST(json_that_is_no_document_is_damaged)
{
    static const char *const texts[] = {
        "[]",
        "1",
        "null",
        "{}",
        "{\"version\": \"1\"}",
        "{\"version\": 0}",
        "{\"version\": 1.5}",
        "{\"version\": -1}",
        "{\"version\": null}",
        "{\"version\": 1, \"version\": 1}",
        "{\"Version\": 1}",
        "\xef\xbb\xbf{\"version\": 1}",
        "{\"version\": 1} // no comments",
        "{\"version\": 01}",
        "{\"version\": 1, \"a\": 1e999}",
        "{\"version\": 1, \"a\": \"\xff\"}",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        make_disk();
        put(NAME, texts[i]);
        put(NAME ".good", GOOD);
        enum document_found found = load();
        ck_assert_msg(found == DOCUMENT_LAST_GOOD && holds(NAME ".damaged", texts[i]), "%s",
                      texts[i]);
        fault_disk_free(&disk);
    }
}
END_TEST

/* A document of so many bytes. */
static char *long_text(size_t size)
{
    char *text = malloc(size + 1);
    ck_assert_ptr_nonnull(text);
    memset(text, ' ', size);
    memcpy(text, "{\"version\": 1", 13);
    text[size - 1] = '}';
    text[size] = '\0';
    return text;
}

START_TEST(the_longest_document_is_kept_and_a_longer_one_refused)
{
    char *longest = long_text(DOCUMENT_SIZE_MAX);
    char *longer = long_text(DOCUMENT_SIZE_MAX + 1);
    const char *step;
    make_disk();
    ck_assert(document_save(&disk.files, NAME, longest, &step));
    ck_assert_int_eq(load(), DOCUMENT_WHOLE);
    ck_assert(document_save(&disk.files, NAME, longest, &step));
    ck_assert(!document_save(&disk.files, NAME, longer, &step));
    ck_assert_int_eq(errno, EFBIG);
    ck_assert_str_eq(step, "checking the new document");
    put(NAME, longer);
    ck_assert_int_eq(load(), DOCUMENT_LAST_GOOD);
    ck_assert_ptr_nonnull(strstr(why, "(it is longer than 4194304 bytes)"));
    /* And one that grew too long under the daemon. */
    put(NAME, longer);
    ck_assert(document_save(&disk.files, NAME, TEXT, &step));
    ck_assert(there(NAME ".damaged.2"));
    ck_assert_int_eq(load(), DOCUMENT_WHOLE);
    fault_disk_free(&disk);
    free(longest);
    free(longer);
}
END_TEST

START_TEST(a_text_that_is_no_document_is_refused_before_the_disk_is_touched)
{
    static const char *const texts[] = {"", "[1]", "{\"version\": 1", "{\"version\": 1}}",
                                        "{\"\xff\": 1}"};
    make_disk();
    put(NAME, TEXT);
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const char *step = NULL;
        ck_assert(!document_save(&disk.files, NAME, texts[i], &step));
        ck_assert_int_eq(errno, EINVAL);
        ck_assert_str_eq(step, "checking the new document");
    }
    ck_assert_uint_eq(disk.operations, 0);
    fault_disk_free(&disk);
}
END_TEST

START_TEST(a_name_without_room_for_its_endings_is_refused)
{
    char name[FILES_NAME_SIZE];
    memset(name, 'n', sizeof name);
    name[sizeof name - 4] = '\0';
    const char *step;
    make_disk();
    ck_assert(!document_save(&disk.files, name, TEXT, &step));
    ck_assert_int_eq(errno, ENAMETOOLONG);
    cJSON *document;
    ck_assert_int_eq(document_load(&disk.files, name, 1, NULL, &document, why, sizeof why),
                     DOCUMENT_UNREADABLE);
    fault_disk_free(&disk);
}
END_TEST

int main(void)
{
    Suite *suite = suite_create("document");
    TCase *all = tcase_create("found");
    tcase_set_timeout(all, 60);
    tcase_add_test(all, a_first_start_finds_nothing_and_says_nothing);
    tcase_add_test(all, a_whole_document_is_read_and_the_last_good_one_not_looked_at);
    tcase_add_test(all, each_save_keeps_the_one_before);
    tcase_add_test(all, with_any_byte_changed_it_is_read_or_moved_aside_unchanged);
    tcase_add_test(all, cut_short_anywhere_it_is_moved_aside_and_the_last_good_one_taken);
    tcase_add_test(all, a_recovery_says_what_was_found_what_was_done_and_what_to_do);
    tcase_add_test(all, a_document_that_somebody_took_away_is_not_a_first_start);
    tcase_add_test(all, with_no_good_one_left_nothing_is_read_and_all_is_kept);
    tcase_add_test(all, the_names_of_damaged_ones_are_counted_on);
    tcase_add_test(all, a_newer_version_is_left_alone_wherever_it_is);
    tcase_add_test(all, an_older_version_is_given_as_it_is);
    tcase_add_test(all, what_the_callers_check_refuses_is_damaged_too);
    tcase_add_test(all, json_that_is_no_document_is_damaged);
    tcase_add_test(all, the_longest_document_is_kept_and_a_longer_one_refused);
    tcase_add_test(all, a_text_that_is_no_document_is_refused_before_the_disk_is_touched);
    tcase_add_test(all, a_name_without_room_for_its_endings_is_refused);
    suite_add_tcase(suite, all);
    return run_suite(suite);
}
