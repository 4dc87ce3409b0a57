/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Bench and budget files: what is read of them, and where a mistake is told. */
#include "../check.h"

#include "spurity.h"

static const char head[] = "format: spurity-bench\nversion: 1\n";

static spurity_bench *load(const char *rest)
{
    char text[4000];
    spurity_bench *bench = NULL;
    spurity_error error = {0};
    snprintf(text, sizeof text, "%s%s", head, rest);
    assert_ok(spurity_bench_load_memory("benches/one.yaml", text, strlen(text), &bench, &error), &error);
    return bench;
}

static const spurity_bench_setting *setting(const spurity_bench *bench, const char *name)
{
    for (size_t i = 0; i < spurity_bench_setting_count(bench); i++)
        if (!strcmp(spurity_bench_setting_at(bench, i)->name, name))
            return spurity_bench_setting_at(bench, i);
    return NULL;
}

static void template_is_a_bench(void **state)
{
    const char *text = spurity_bench_template();
    spurity_bench *bench = NULL;
    spurity_error error = {0};
    assert_ok(spurity_bench_load_memory("bench.yaml", text, strlen(text), &bench, &error), &error);
    assert_string_equal(spurity_bench_title(bench), "the club's bench");
    assert_string_equal(setting(bench, "max-input")->value, "20dBm");
    assert_string_equal(setting(bench, "reference-ppm")->value, "1 ppm");
    const spurity_budget *budget = spurity_bench_budget(bench);
    assert_non_null(budget);
    /* what the template says in figures is what holds unsaid: but the meter, told in per cent */
    spurity_budget defaults;
    spurity_budget_init(&defaults);
    for (spurity_term term = 0; term < SPURITY_TERMS; term++) {
        assert_true(budget->terms[term].said);
        assert_int_equal(budget->terms[term].distribution, defaults.terms[term].distribution);
        if (term != SPURITY_TERM_METER)
            assert_near(budget->terms[term].figure_db, defaults.terms[term].figure_db, 0);
    }
    assert_near(budget->linearity_most_db, defaults.linearity_most_db, 0);
    assert_near(budget->set_reflection, defaults.set_reflection, 0);
    assert_near(budget->chain_reflection, defaults.chain_reflection, 0);
    assert_near(budget->instrument_reflection, defaults.instrument_reflection, 0.0005); /* 14 dB is VSWR 1.4985 */
    spurity_bench_free(bench);
}

static void chain_stands_in_order(void **state)
{
    spurity_bench *bench = load("chain:\n  - loss: coupler.csv\n  - pad: 30dB, 0.3dB, 3G, 50W\n  - loss: /a/b.s2p\n"
                                "impedance: 75 ohm\n");
    static const char *const want[][2] = {
        {"loss", "benches/coupler.csv"}, {"pad", "30dB,0.3dB,3G,50W"}, {"loss", "/a/b.s2p"}, {"impedance", "75 ohm"}};
    assert_int_equal(spurity_bench_setting_count(bench), 4);
    for (size_t i = 0; i < 4; i++) {
        assert_string_equal(spurity_bench_setting_at(bench, i)->name, want[i][0]);
        assert_string_equal(spurity_bench_setting_at(bench, i)->value, want[i][1]);
    }
    assert_int_equal(spurity_bench_setting_at(bench, 1)->place.line, 5);
    assert_string_equal(spurity_bench_setting_at(bench, 1)->place.file, "benches/one.yaml");
    assert_null(spurity_bench_setting_at(bench, 4));
    assert_null(spurity_bench_budget(bench));
    spurity_bench_free(bench);
}

static void budget_is_read(void **state)
{
    spurity_bench *bench = load("budget:\n  amplitude: 0.6 dB\n  response: 0.8 dB, triangular\n  meter: 5 %\n"
                                "  set: vswr 3\n  instrument: return loss 20 dB\n  repeatability: 0.2dB,expanded\n"
                                "  repeats: 5\n  reference: 0.5 ppm\n  other:\n"
                                "    - {name: adapter, figure: \"0.1 dB\", shared: yes}\n"
                                "    - {name: cable 2, figure: \"0.2 dB, u-shaped\"}\n");
    const spurity_budget *budget = spurity_bench_budget(bench);
    assert_near(budget->terms[SPURITY_TERM_AMPLITUDE].figure_db, 0.6, 0);
    assert_int_equal(budget->terms[SPURITY_TERM_AMPLITUDE].distribution, SPURITY_RECTANGULAR);
    assert_int_equal(budget->terms[SPURITY_TERM_RESPONSE].distribution, SPURITY_TRIANGULAR);
    assert_int_equal(budget->terms[SPURITY_TERM_REPEATABILITY].distribution, SPURITY_EXPANDED);
    assert_near(budget->terms[SPURITY_TERM_METER].figure_db, 0.22276, 1e-5); /* 10 log10 0.95, the larger side */
    assert_near(budget->set_reflection, 0.5, 1e-12);
    assert_near(budget->instrument_reflection, 0.1, 1e-12);
    assert_int_equal(budget->repeats, 5);
    assert_near(budget->reference_ppm, 0.5, 0);
    assert_int_equal(budget->other_count, 2);
    assert_true(budget->others[0].shared && !budget->others[1].shared);
    assert_int_equal(budget->others[1].distribution, SPURITY_ARCSINE);
    assert_string_equal(budget->others[1].name, "cable 2");
    assert_false(budget->terms[SPURITY_TERM_LINEARITY].said);
    assert_false(budget->terms[SPURITY_TERM_PAD].said);
    assert_true(budget->terms[SPURITY_TERM_SET_MISMATCH].said);
    assert_string_equal(setting(bench, "reference-ppm")->value, "0.5 ppm");
    spurity_bench_free(bench);
}

/* One mistake each: its line and column, and what is said of it. */
static void mistakes_are_told_by_place(void **state)
{
    static const struct {
        const char *text;
        unsigned long line;
        const char *says;
    } rows[] = {
        {"", 0, "found nothing, expected a bench file (format: spurity-bench)"},
        {"- 1\n", 1, "no mapping"},
        {"format: spurity-rules\nversion: 1\n", 1, "'spurity-rules' in format"},
        {"format: spurity-bench\nversion: 2\n", 2, "'2' in version"},
        {"format: spurity-bench\nversion: 1\nbudget: 3 dB\n", 3, "a single text in budget"},
        {"format: spurity-bench\nversion: 1\npad: 3dB\n", 3, "key 'pad' in the top level"},
        {"format: spurity-bench\nversion: 1\nmax-input: 3dBm\n", 3, "did you mean 'max_input'?"},
        {"format: spurity-bench\nversion: 1\nnoise: 1\nnoise: 2\n", 4, "'noise' twice (first in line 3)"},
        {"format: spurity-bench\nversion: 1\nchain: [{pad: 3dB, loss: a}]\n", 3, "pad and loss together"},
        {"format: spurity-bench\nversion: 1\nchain: [{}]\n", 3, "neither pad nor loss"},
        {"format: spurity-bench\nversion: 1\ndirect: no\n", 3, "'no' in direct"},
        {"format: spurity-bench\nversion: 1\ndirect: yes\nchain: [{pad: 3dB}]\n", 3, "direct together with a chain"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  amplitude: 1\n", 4, "a figure needs its unit"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  amplitude: -1 dB\n", 4, "'-1 dB' in budget/amplitude"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  amplitude: 21 dB\n", 4, "'21 dB' in budget/amplitude"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  response: 5 %\n", 4, "'5 %' in budget/response"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  response: 1 dB, rectangle\n", 4, "did you mean 'rectangular'?"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  linearity_most: 1 dB, normal\n", 4, "its distribution stands"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  set: vswr 0.9\n", 4, "'vswr 1.5' or 'return loss 14 dB'"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  set: 14 dB\n", 4, "'vswr 1.5' or 'return loss 14 dB'"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  repeats: 0\n", 4, "repeats"},
        {"format: spurity-bench\nversion: 1\nbudget:\n  version: 1\n", 4, "a key of a file of its own"},
        {"format: spurity-bench\nversion: 1\nbudget: {}\nuncertainty: 2\n", 4, "together with a budget"},
        {"format: spurity-bench\nversion: 1\nreference: 1\nbudget:\n  reference: 2\n", 5, "a second time"},
        {"format: spurity-bench\nversion: 1\nbudget: {other: [{name: resolution, figure: 1 dB}]}\n", 3,
         "'resolution' in budget/other/1/name"},
        {"format: spurity-bench\nversion: 1\nbudget: {other: [{name: a/b, figure: 1 dB}]}\n", 3, "'a/b'"},
        {"format: spurity-bench\nversion: 1\nbudget: {other: [{name: a, figure: 1 dB}, {name: a, figure: 1 dB}]}\n", 3,
         "'a' in budget/other/2/name"},
        {"format: spurity-bench\nversion: 1\nbudget: {other: [{name: a}]}\n", 3, "no 'figure'"},
        {"format: &a spurity-bench\nversion: 1\n", 1, "bench files need none"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_bench *bench = NULL;
        spurity_error error = {0};
        char told[900];
        spurity_status status =
            spurity_bench_load_memory("bench.yaml", rows[i].text, strlen(rows[i].text), &bench, &error);
        spurity_error_describe(&error, told, sizeof told);
        if (status != SPURITY_INVALID || bench || !strstr(told, rows[i].says) || error.line != rows[i].line ||
            !strstr(told, "bench.yaml")) {
            print_error("row %zu: line %lu: %s\n", i, error.line, told);
            fail();
        }
    }
}

static void budget_file_stands_alone(void **state)
{
    static const char good[] = "format: spurity-budget\nversion: 1\namplitude: 0.4 dB\n";
    static const char bench[] = "format: spurity-bench\nversion: 1\n";
    spurity_budget budget = {.repeats = 77};
    spurity_error error = {0};
    assert_int_equal(spurity_budget_load_memory("b.yaml", bench, strlen(bench), &budget, &error), SPURITY_INVALID);
    assert_int_equal(budget.repeats, 77); /* untouched */
    error = (spurity_error){0};
    assert_ok(spurity_budget_load_memory("b.yaml", good, strlen(good), &budget, &error), &error);
    assert_near(budget.terms[SPURITY_TERM_AMPLITUDE].figure_db, 0.4, 0);
    assert_int_equal(spurity_budget_load("no-such-folder/b.yaml", &budget, NULL), SPURITY_INVALID);
    spurity_bench *none = NULL;
    assert_int_equal(spurity_bench_load("no-such-folder/b.yaml", &none, NULL), SPURITY_INVALID);
    spurity_bench_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(template_is_a_bench),      cmocka_unit_test(chain_stands_in_order),
        cmocka_unit_test(budget_is_read),           cmocka_unit_test(mistakes_are_told_by_place),
        cmocka_unit_test(budget_file_stands_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
