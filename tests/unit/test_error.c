/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "error/error.h"

#include "../check.h"

static const spurity_place nowhere = {0};

static void test_first_report_stays(void **state)
{
    spurity_error error = {0};
    spurity_place at = {.file = "h2.csv", .line = 14, .column = 11};
    assert_int_equal(spurity_report(&error, SPURITY_INVALID, at, "'-54,2'", "a level", "use a point"), SPURITY_INVALID);
    assert_int_equal(spurity_report(&error, SPURITY_SYSTEM, nowhere, "another", NULL, NULL), SPURITY_SYSTEM);
    assert_int_equal(error.status, SPURITY_INVALID);
    assert_string_equal(error.found, "'-54,2'");
    assert_int_equal(spurity_report(NULL, SPURITY_INVALID, at, "x", NULL, NULL), SPURITY_INVALID);
}

static void test_describe(void **state)
{
    char text[300];
    spurity_error error = {0};
    spurity_place at = {.file = "h2.csv", .line = 14, .column = 11};
    spurity_report(&error, SPURITY_INVALID, at, "'-54,2'", "a level in dBm", "set the decimal mark");
    spurity_error_describe(&error, text, sizeof text);
    assert_string_equal(text,
                        "'h2.csv', line 14, column 11: found '-54,2', expected a level in dBm; set the decimal mark");

    error = (spurity_error){0};
    at = (spurity_place){.file = "b.bin", .byte = 4096, .has_byte = true};
    spurity_report(&error, SPURITY_INVALID, at, NULL, "a block", NULL);
    spurity_error_describe(&error, text, sizeof text);
    assert_string_equal(text, "'b.bin', byte 4096: expected a block");

    error = (spurity_error){0};
    spurity_report(&error, SPURITY_INVALID, nowhere, "nothing", NULL, NULL);
    spurity_error_describe(&error, text, sizeof text);
    assert_string_equal(text, "nothing");
}

/* However small the room: always ended, never beyond it. */
static void test_describe_in_little_room(void **state)
{
    spurity_error error = {0};
    spurity_place at = {.file = "a-long-name.csv", .line = 1234567, .column = 89};
    spurity_report(&error, SPURITY_INVALID, at, "found", "expected", "advice");
    for (size_t size = 1; size < 120; size++) {
        char *text = malloc(size); /* the sanitizer watches its end */
        assert_non_null(text);
        spurity_error_describe(&error, text, size);
        assert_true(strlen(text) < size);
        free(text);
    }
}

static void test_texts_are_made_fit(void **state)
{
    spurity_error error = {0};
    spurity_report(&error, SPURITY_INVALID, nowhere,
                   "a\x1b[31mb\nc\xff\xc2\x9b"
                   "d",
                   "\xC2\xB5W", NULL);
    assert_string_equal(error.found, "a [31mb c? d");
    assert_string_equal(error.expected, "\xC2\xB5W");
}

static void test_long_texts_are_cut(void **state)
{
    char longer[3000];
    memset(longer, 'x', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    spurity_error error = {0};
    spurity_reportf(&error, SPURITY_INVALID, nowhere, longer, longer, "%s", longer);
    assert_int_equal(strlen(error.found), sizeof error.found - 1);
    assert_string_equal(error.found + strlen(error.found) - 3, "...");
    assert_string_equal(error.advice + strlen(error.advice) - 3, "...");

    /* A path keeps its end, and no character is cut in half. */
    char path[700] = "";
    for (int i = 0; i < 200; i++)
        strcat(path, "\xC3\xA9");
    strcat(path, "/notch.csv");
    error = (spurity_error){0};
    spurity_report(&error, SPURITY_INVALID, (spurity_place){.file = path}, "x", NULL, NULL);
    assert_memory_equal(error.file, "...\xC3\xA9", 5);
    assert_string_equal(error.file + strlen(error.file) - 10, "/notch.csv");
    assert_null(strchr(error.file, '?'));
}

static void test_memory(void **state)
{
    spurity_error error = {0};
    assert_int_equal(spurity_report_memory(&error), SPURITY_SYSTEM);
    assert_int_equal(error.status, SPURITY_SYSTEM);
    assert_true(error.found[0] != '\0');
}

static void test_notes(void **state)
{
    spurity_notes *notes = spurity_notes_create(), *more = spurity_notes_create();
    assert_non_null(notes);
    assert_non_null(more);
    assert_int_equal(spurity_notes_add(notes, SPURITY_NOTE_RBW_UNKNOWN, 0, "rbw of %s", "f0.csv"), SPURITY_OK);
    spurity_notes_add(notes, SPURITY_NOTE_RBW_UNKNOWN, 0, "rbw of %s", "f0.csv");
    assert_int_equal(spurity_notes_count(notes), 1);
    spurity_notes_add(notes, SPURITY_NOTE_RBW_UNKNOWN, 1, "rbw of %s", "f0.csv");
    assert_int_equal(spurity_notes_count(notes), 2);
    assert_string_equal(spurity_notes_at(notes, 0)->text, "rbw of f0.csv");
    assert_null(spurity_notes_at(notes, 2));
    assert_true(spurity_notes_has(notes, SPURITY_NOTE_RBW_UNKNOWN));
    assert_false(spurity_notes_has(notes, SPURITY_NOTE_CLIPPED));

    spurity_notes_add(more, SPURITY_NOTE_RBW_UNKNOWN, 1, "rbw of f0.csv"); /* stands there already */
    spurity_notes_add(more, SPURITY_NOTE_CLIPPED, -1, "a\nb");
    assert_int_equal(spurity_notes_merge(notes, more), SPURITY_OK);
    assert_int_equal(spurity_notes_count(notes), 3);
    assert_string_equal(spurity_notes_at(notes, 2)->text, "a b");

    assert_int_equal(spurity_notes_add(NULL, SPURITY_NOTE_CLIPPED, 0, "x"), SPURITY_OK);
    assert_int_equal(spurity_notes_count(NULL), 0);
    assert_int_equal(spurity_notes_merge(NULL, more), SPURITY_OK);
    spurity_notes_free(notes);
    spurity_notes_free(more);
    spurity_notes_free(NULL);
}

static void test_notes_are_bounded(void **state)
{
    spurity_notes *notes = spurity_notes_create();
    for (int i = 0; i < 700; i++)
        assert_int_equal(spurity_notes_add(notes, SPURITY_NOTE_CLIPPED, 0, "%d", i), SPURITY_OK);
    assert_int_equal(spurity_notes_count(notes), 500);
    spurity_notes_free(notes);
}

/* The names are the JSON contract: every code has one, none twice, lower-case words joined by '-'. */
static void test_code_names(void **state)
{
    for (int i = 0; i < SPURITY_NOTE_CODES; i++) {
        const char *name = spurity_note_code_name((spurity_note_code)i);
        assert_non_null(name);
        assert_int_equal(strspn(name, "abcdefghijklmnopqrstuvwxyz-"), strlen(name));
        for (int k = 0; k < i; k++)
            assert_string_not_equal(name, spurity_note_code_name((spurity_note_code)k));
    }
    assert_null(spurity_note_code_name(SPURITY_NOTE_CODES));
    assert_null(spurity_note_code_name((spurity_note_code)-1));
    assert_string_equal(spurity_note_code_name(SPURITY_NOTE_PAD_RESPONSE_ASSUMED), "pad-response-assumed");
}

static bool stop_at_half(void *user, const char *what, double fraction)
{
    ++*(int *)user;
    return fraction < 0.5;
}

static void test_watch(void **state)
{
    int calls = 0;
    spurity_watch watch = {stop_at_half, &calls};
    assert_true(spurity_watch_tick(NULL, "x", 1));
    assert_true(spurity_watch_tick(&(spurity_watch){0}, "x", 1));
    assert_true(spurity_watch_tick(&watch, "x", 0.25));
    assert_false(spurity_watch_tick(&watch, "x", 0.75));
    assert_int_equal(calls, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_first_report_stays),
        cmocka_unit_test(test_describe),
        cmocka_unit_test(test_describe_in_little_room),
        cmocka_unit_test(test_texts_are_made_fit),
        cmocka_unit_test(test_long_texts_are_cut),
        cmocka_unit_test(test_memory),
        cmocka_unit_test(test_notes),
        cmocka_unit_test(test_notes_are_bounded),
        cmocka_unit_test(test_code_names),
        cmocka_unit_test(test_watch),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
