/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Bench facts of the trade, end to end: from a sweep to the verdict. */
#include "../sweep.h"

/* Common practice: a 5 W hand-held with its second harmonic 54 dB down sits just under the 25 uW of 47 CFR 97.307(e):
 * 5 W is 36.99 dBm, 54 dB below is -17.01 dBm = 19.9 uW, 1.0 dB inside.  At 53 dB down it is 25.06 uW, just over. */
static spurity_outcome five_watts(double dbc, bool simple, double *margin, const char **unit)
{
    const struct sweep_line lines[] = {{146.94e6, 36.9897}, {293.88e6, 36.9897 + dbc}};
    struct bench bench;
    struct sweep wide = wide_sweep(lines, 2, 1.5e9), close = close_sweep(lines, 2, 146.94e6);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench.point.simple_decision = simple;
    spurity_outcome outcome = bench_judge(&bench, "us-amateur");
    const spurity_judgement *h2 = NULL;
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench.verdict) && !h2; i++) {
        const spurity_judgement *one = spurity_verdict_judgement(bench.verdict, i);
        if (one->emission == 0)
            h2 = one;
    }
    assert_non_null(h2);
    *margin = h2->margin;
    *unit = h2->unit;
    bench_end(&bench);
    return outcome;
}

static void fifty_four_decibels_down_is_just_under(void **state)
{
    double margin;
    const char *unit;
    assert_int_equal(five_watts(-54, true, &margin, &unit), SPURITY_OUTCOME_PASS);
    assert_near(margin, 0.99, 0.05);
    assert_string_equal(unit, "dBm");
    assert_int_equal(five_watts(-54, false, &margin, &unit), SPURITY_OUTCOME_CONDITIONAL_PASS);
    assert_int_equal(five_watts(-52.9, true, &margin, &unit), SPURITY_OUTCOME_FAIL);
    assert_near(margin, -0.11, 0.05);
    assert_int_equal(five_watts(-52.9, false, &margin, &unit), SPURITY_OUTCOME_CONDITIONAL_FAIL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(fifty_four_decibels_down_is_just_under)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
