/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The picture of limits.  With SPURITY_PICTURES naming a folder the pictures are left there to look at. */
#include "../check.h"

#include <unistd.h>

#include "../../lib/output/limits.h"

typedef struct limits_case {
    const char *name, *rules, *emission;
    double carrier_hz, watts, bandwidth_hz;
    int audio_filter;
} limits_case;

static const limits_case cases[] = {
    {"amateur-2m", "us-amateur", NULL, 146.94e6, 5, NAN, -1},
    {"amateur-10m", "us-amateur", NULL, 28.4e6, 100, NAN, -1},
    {"amateur-70cm", "us-amateur", NULL, 446e6, 5, NAN, -1}, /* no figure */
    {"gmrs-open", "us-gmrs", "F3E", 462.575e6, 5, NAN, -1},
    {"gmrs-no-filter", "us-gmrs", "F3E", 462.575e6, 5, NAN, 0},
    {"mask-d", "us-land-mobile", "F3E", 155e6, 5, 12.5e3, -1},
    {"mask-b", "us-land-mobile", "F3E", 155e6, 50, 25e3, 1},
    {"cb", "us-cb", "A3E", 27.185e6, 4, NAN, -1},
    {"pmr446", "eu-pmr446", "F3E", 446.00625e6, 0.5, NAN, -1},
    {"murs-open", "us-murs", NULL, 154.57e6, 2, NAN, 1},
    {"itu-b", "itu-b", NULL, 146.94e6, 5, NAN, -1},
};
enum { CASES = sizeof cases / sizeof *cases };

static spurity_conditions conditions_of(const limits_case *one)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = one->carrier_hz;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = one->watts;
    conditions.necessary_bandwidth_hz = 16e3;
    conditions.bandwidth_hz = one->bandwidth_hz;
    conditions.emission = one->emission;
    conditions.audio_filter = one->audio_filter;
    return conditions;
}

static spurity_rules *load(const char *id)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    assert_ok(spurity_rules_load(id, &rules, &error), &error);
    return rules;
}

static void keep(const char *name, const char *kind, const spurity_bytes *bytes)
{
    char path[600];
    const char *folder = getenv("SPURITY_PICTURES");
    if (!folder)
        return;
    snprintf(path, sizeof path, "%s/limits-%s.%s", folder, name, kind);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes->data, 1, bytes->size, file), bytes->size);
    assert_int_equal(fclose(file), 0);
}

static bool holds(const spurity_bytes *in, const char *text)
{
    return memmem(in->data, in->size, text, strlen(text)) != NULL;
}

static size_t count_text(const spurity_bytes *in, const char *text)
{
    size_t count = 0, length = strlen(text);
    for (size_t i = 0; i + length <= in->size; i++)
        count += !memcmp(in->data + i, text, length);
    return count;
}

static spurity_bytes draw(const limits_case *one, const char *kind)
{
    spurity_rules *rules = load(one->rules);
    spurity_conditions conditions = conditions_of(one);
    spurity_error error = {0};
    spurity_bytes bytes;
    assert_ok(spurity_output_limits(rules, &conditions, kind, &bytes, &error), &error);
    keep(one->name, kind, &bytes);
    spurity_rules_free(rules);
    return bytes;
}

static void every_case_is_drawn_in_every_kind(void **state)
{
    static const char *const kinds[] = {"svg", "png", "pdf"};
    (void)state;
    for (size_t i = 0; i < CASES; i++)
        for (size_t k = 0; k < 3; k++) {
            spurity_bytes bytes = draw(&cases[i], kinds[k]);
            assert_true(bytes.size > 2000);
            spurity_bytes_release(&bytes);
        }
}

/* What decides stands in words, or under a letter with the words below. */
static void the_words_are_there(void **state)
{
    (void)state;
    spurity_bytes svg = draw(&cases[0], "svg");
    assert_true(holds(&svg, "us-amateur: allowed beside 146.94 MHz at 5 W"));
    assert_int_equal(count_text(&svg, "97.307(e): 25 \u00b5W (-16.0 dBm), in 100 kHz to 1 MHz"), 2);
    assert_true(holds(&svg, "H2") && holds(&svg, "H10") && holds(&svg, "carrier 5 W") && holds(&svg, "10 \u00b5W"));
    assert_false(holds(&svg, "hatched"));
    spurity_bytes_release(&svg);
    svg = draw(&cases[2], "svg");
    assert_true(holds(&svg, "no clause of this set sets a figure here") && holds(&svg, "hatched: no clause"));
    spurity_bytes_release(&svg);
    svg = draw(&cases[3], "svg");
    assert_true(holds(&svg, "line: with an audio filter") && holds(&svg, "dashes: without an audio filter"));
    assert_true(holds(&svg, "95.1779(b)(4): 116 dB x log10(offset / 6.1 kHz) below mean power, in 300 Hz"));
    assert_true(holds(&svg, "+20 kHz") && holds(&svg, "\u221220 kHz") && holds(&svg, "462.575 MHz"));
    spurity_bytes_release(&svg);
    svg = draw(&cases[9], "svg"); /* what is open is no place without a limit: not hatched, and told */
    assert_true(holds(&svg, "open: --emission decides"));
    spurity_bytes_release(&svg);
    svg = draw(&cases[10], "svg");
    assert_true(holds(&svg, "(unverified)"));
    spurity_bytes_release(&svg);
}

static void the_same_question_gives_the_same_bytes(void **state)
{
    (void)state;
    spurity_bytes first = draw(&cases[4], "svg"), second = draw(&cases[4], "svg");
    assert_int_equal(first.size, second.size);
    assert_memory_equal(first.data, second.data, first.size);
    spurity_bytes_release(&first);
    spurity_bytes_release(&second);
}

/* ---- places -------------------------------------------------------------------------------------------------------
 */

/* The edge of the wide panel is drawn where the limit stands: 25 uW is -16.02 dBm; levels run from 12 dB below it to 8
 * dB over the carrier's 36.99 dBm, from px 84 to 572: 84 + 12 / 73.01 x 488 = 164.21. */
static void the_edge_stands_at_its_level(void **state)
{
    (void)state;
    spurity_rules *rules = load("us-amateur");
    spurity_conditions conditions = conditions_of(&cases[0]);
    spurity_buffer program = {0};
    spurity_error error = {0};
    assert_ok(spurity_limits_program(rules, &conditions, "svg", &program, &error), &error);
    spurity_buffer_add(&program, "", 1);
    assert_false(program.failed);
    const char *edge = strstr(program.data, "$edge <<"), *end = edge ? strstr(edge, "SPURITY_END\n-9000") : NULL;
    assert_non_null(edge);
    assert_non_null(end);
    double low = 12, high = 8, limit = 10 * log10(25e-3), carrier = 10 * log10(5000.0);
    double y = 84 + low / (carrier + high - limit + low) * (572 - 84);
    char wanted[40];
    snprintf(wanted, sizeof wanted, "64.00\t%.2f\n", y);
    assert_non_null(strstr(edge, wanted));
    spurity_buffer_release(&program);
    spurity_rules_free(rules);
}

/* ---- what cannot be drawn -----------------------------------------------------------------------------------------
 */

static void what_is_missing_is_named(void **state)
{
    (void)state;
    spurity_rules *rules = load("us-amateur");
    spurity_conditions conditions = conditions_of(&cases[0]);
    spurity_error error = {0};
    spurity_bytes bytes;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = NAN;
    assert_int_equal(spurity_output_limits(rules, &conditions, "svg", &bytes, &error), SPURITY_INVALID);
    assert_non_null(strstr(error.expected, "--power"));
    assert_null(bytes.data);
    error = (spurity_error){0};
    conditions.carrier_hz = NAN;
    assert_int_equal(spurity_output_limits(rules, &conditions, "svg", &bytes, &error), SPURITY_INVALID);
    assert_non_null(strstr(error.advice, "--carrier"));
    error = (spurity_error){0};
    conditions = conditions_of(&cases[0]);
    assert_int_equal(spurity_output_limits(rules, &conditions, "gif", &bytes, &error), SPURITY_INVALID);
    assert_int_equal(spurity_output_limits(rules, &conditions, NULL, &bytes, NULL), SPURITY_INVALID);
    spurity_rules_free(rules);
}

/* ---- hostile text -------------------------------------------------------------------------------------------------
 */

/* In a rule file of somebody else's: each would run, break the program or end a block if it reached gnuplot as code. */
static const char *const hostile[] = {
    "`touch spurity-was-here`",
    "'.system(\\\"touch spurity-was-here\\\").'",
    "\\\"; system(\\\"touch spurity-was-here\\\"); \\\"",
    "SPURITY_END !touch spurity-was-here",
    "@kind {/Bold=40 x} ^a _b \\\\n \\\\042 ~ & <g>",
    "# $title << X",
    "\\u202egnp \\u0085 end",
};

static void text_never_reaches_gnuplot_as_code(void **state)
{
    char folder[] = P_tmpdir "/spurity-limits-XXXXXX";
    char *back = getcwd(NULL, 0);
    (void)state;
    assert_non_null(mkdtemp(folder));
    assert_int_equal(chdir(folder), 0);
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        char yaml[2000];
        spurity_rules *rules = NULL;
        spurity_error error = {0};
        spurity_bytes svg;
        spurity_conditions conditions = conditions_of(&cases[0]);
        int size = snprintf(yaml, sizeof yaml,
                            "format: spurity-rules\nversion: 1\nid: own\ntitle: \"%s\"\nedition: \"%s\"\nclauses:\n"
                            "  - clause: \"%s\"\n    citation: own\n    status: confirmed\n    says: own\n"
                            "    group: emissions\n    quantity: spurious emission\n    where: {from: 20 kHz}\n"
                            "    limit: {level: -30 dBm}\n",
                            hostile[i], hostile[i], hostile[i]);
        assert_ok(spurity_rules_load_memory("own.yaml", yaml, (size_t)size, &rules, &error), &error);
        assert_ok(spurity_output_limits(rules, &conditions, "svg", &svg, &error), &error);
        keep("hostile", "svg", &svg);
        assert_int_equal(access("spurity-was-here", F_OK), -1);
        if (i == 0) /* title, edition, and the clause left and right of the carrier: plain letters */
            assert_int_equal(count_text(&svg, "`touch spurity-was-here`"), 4);
        if (i == 4)
            assert_true(holds(&svg, "@kind {/Bold=40 x} ^a _b \\n \\042 ~ &amp; &lt;g>"));
        assert_int_equal(count_text(&svg, "\xE2\x80\xAE"), 0);
        for (size_t k = 0; k < svg.size; k++) /* XML 1.0 allows tab, LF, CR only */
            assert_true((unsigned char)svg.data[k] >= 0x20 || strchr("\t\n\r", svg.data[k]));
        spurity_bytes_release(&svg);
        spurity_rules_free(rules);
    }
    assert_int_equal(chdir(back), 0);
    assert_int_equal(rmdir(folder), 0); /* fails if anything was left there */
    free(back);
}

/* More lines than there are letters for: ten are named, the rest is counted. */
static void a_mask_of_many_steps_is_drawn(void **state)
{
    enum { STEPS = 90, ROOM = 40000 };
    char *yaml = malloc(ROOM);
    size_t used = 0;
    (void)state;
    assert_non_null(yaml);
    used += (size_t)snprintf(yaml, ROOM,
                             "format: spurity-rules\nversion: 1\nid: own\ntitle: own\nedition: invented\nclauses:\n");
    for (int i = 1; i <= STEPS; i++)
        used += (size_t)snprintf(yaml + used, ROOM - used,
                                 "  - clause: \"%d\"\n    citation: own\n    status: confirmed\n    says: own\n"
                                 "    group: mask\n    quantity: mask\n"
                                 "    where: {offset: {above: %d kHz, up_to: %d kHz}}\n"
                                 "    reference_bandwidth: 300 Hz\n    limit: {level: %d dBm}\n",
                                 i, i, i + 1, -i);
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    spurity_bytes svg;
    spurity_conditions conditions = conditions_of(&cases[0]);
    assert_ok(spurity_rules_load_memory("own.yaml", yaml, used, &rules, &error), &error);
    assert_ok(spurity_output_limits(rules, &conditions, "svg", &svg, &error), &error);
    keep("many", "svg", &svg);
    assert_true(holds(&svg, "80 more lines without a name"));
    spurity_bytes_release(&svg);
    spurity_rules_free(rules);
    free(yaml);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_case_is_drawn_in_every_kind),
        cmocka_unit_test(the_words_are_there),
        cmocka_unit_test(the_same_question_gives_the_same_bytes),
        cmocka_unit_test(the_edge_stands_at_its_level),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(text_never_reaches_gnuplot_as_code),
        cmocka_unit_test(a_mask_of_many_steps_is_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
