/* SPDX-License-Identifier: GPL-2.0-or-later */
/* JSON behind a guard (lib/error/json.h) against json_loadb alone: the same documents, the same texts refused. */
#include "../check.h"

#include <stdlib.h>
#include <string.h>

#include "../../lib/error/json.h"

static void same(const char *text, size_t size)
{
    json_error_t fault, other;
    bool no_memory = true;
    json_t *guarded = spurity_json_load(text, size, &fault, &no_memory);
    json_t *alone = json_loadb(text, size, JSON_REJECT_DUPLICATES, &other);
    if (no_memory || !guarded != !alone)
        print_error("text of %zu bytes: %.*s\n", size, (int)size, text);
    assert_false(no_memory);
    assert_int_equal(guarded != NULL, alone != NULL);
    if (alone)
        assert_true(json_equal(guarded, alone));
    else {
        assert_int_equal(fault.line, other.line);
        assert_string_equal(fault.text, other.text);
    }
    json_decref(guarded);
    json_decref(alone);
}

static const char *const texts[] = {
    "",
    " ",
    "{}",
    "[]",
    "[1, 2.5e-3, -7, true, false, null]",
    "1",
    "\"a\"",
    "[1], [2]",
    "[1]]",
    "{\"a\": 1, \"a\": 2}",
    "{\"global\": {\"core:datatype\": \"cf32_le\", \"core:sample_rate\": 2400000.000001, \"x\": "
    "\"\\\"\\\\\\u00e9\\ud83d\\ude00\"},\n"
    " \"captures\": [{\"core:frequency\": 146940000.123456789}]}",
    "{\"a\": \"\xC3\xA9\xE2\x82\xAC\"}",
    "{\"a\": \"\xC3\"}",
    "{\"long\": \"0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567890123\"}",
    "{\"a\": tru",
    "{\"a\": \"no end",
    "{\"a\": 1  \n\n\n",
    "[123456789012345678901234567890]",
    "[1e999]",
    "[01]",
};

static void test_texts(void **state)
{
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        for (size_t size = 0; size <= strlen(texts[i]); size++)
            same(texts[i], size);
}

/* Each text with one to three bytes of it made others. */
static void test_mutations(void **state)
{
    static const char bytes[] = "{}[]:,\"\\0123456789.eE+-tfnu \n\t\0\x01\x80\xC3\xFF";
    unsigned random = 1;
    for (int turn = 0; turn < 20000; turn++) {
        char text[400];
        const char *from = texts[(size_t)turn % (sizeof texts / sizeof *texts)];
        const size_t size = strlen(from);
        memcpy(text, from, size);
        for (int k = 0; size && k <= turn % 3; k++) {
            random = random * 1103515245u + 12345u;
            const size_t at = (random >> 8) % size;
            random = random * 1103515245u + 12345u;
            text[at] = bytes[(random >> 8) % (sizeof bytes - 1)];
        }
        same(text, size);
    }
}

static void test_a_long_token(void **state)
{
    enum { LENGTH = 100000 };
    char *text = malloc(LENGTH);
    assert_non_null(text);
    memset(text, 'a', LENGTH);
    memcpy(text, "[\"", 2);
    memcpy(text + LENGTH - 2, "\"]", 2);
    same(text, LENGTH);
    memset(text + 1, '1', LENGTH - 2);
    same(text, LENGTH);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_texts),
        cmocka_unit_test(test_mutations),
        cmocka_unit_test(test_a_long_token),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
