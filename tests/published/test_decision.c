/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Decision rule and probability of conformity against published rules and examples. */
#include "../check.h"
#include "verdict/verdict.h"

/* ILAC-G8:09/2019, 4.2.3 (guard band w = U, four outcomes) and 4.2.1 (simple acceptance); the figures are worked from
 * those definitions and z = (limit - measured) / (U/2), JCGM 106:2012, 7.3.  Ties inclusive is our reading. */
static const struct {
    double measured, limit, expanded, probability;
    spurity_outcome guarded, simple;
} rows[] = {
    {-20.0, -16.0, 1.5, 1.0000, SPURITY_OUTCOME_PASS, SPURITY_OUTCOME_PASS},
    {-17.6, -16.0, 1.5, .98355, SPURITY_OUTCOME_PASS, SPURITY_OUTCOME_PASS},
    {-17.5, -16.0, 1.5, .97725, SPURITY_OUTCOME_PASS, SPURITY_OUTCOME_PASS},
    {-17.0, -16.0, 1.5, .90879, SPURITY_OUTCOME_CONDITIONAL_PASS, SPURITY_OUTCOME_PASS},
    {-16.2, -16.0, 1.5, .60514, SPURITY_OUTCOME_CONDITIONAL_PASS, SPURITY_OUTCOME_PASS},
    {-16.0, -16.0, 1.5, .50000, SPURITY_OUTCOME_CONDITIONAL_PASS, SPURITY_OUTCOME_PASS},
    {-15.5, -16.0, 1.5, .25249, SPURITY_OUTCOME_CONDITIONAL_FAIL, SPURITY_OUTCOME_FAIL},
    {-14.5, -16.0, 1.5, .02275, SPURITY_OUTCOME_CONDITIONAL_FAIL, SPURITY_OUTCOME_FAIL},
    {-14.4, -16.0, 1.5, .01645, SPURITY_OUTCOME_FAIL, SPURITY_OUTCOME_FAIL},
    {-60.8, -60.0, 2.0, .78814, SPURITY_OUTCOME_CONDITIONAL_PASS, SPURITY_OUTCOME_PASS},
};

static void four_outcomes(void **state)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double margin = rows[i].limit - rows[i].measured;
        assert_int_equal(spurity_decide(margin, rows[i].expanded, false), rows[i].guarded);
        assert_int_equal(spurity_decide(margin, rows[i].expanded, true), rows[i].simple);
        assert_near(spurity_conformity_probability(margin, rows[i].expanded), rows[i].probability, 5e-6);
    }
}

/* JCGM 106:2012 printed examples (limits from memory, probabilities recomputed from its formula): an upper limit of
 * -5.40 met by -5.47 with u = 0.05 gives 0.9192; 4.95 kHz under 5.00 kHz with U = 0.10 gives 0.84134. */
static void conformity_examples(void **state)
{
    assert_near(spurity_conformity_probability(-5.40 - -5.47, 2 * 0.05), .9192, 5e-5);
    assert_near(spurity_conformity_probability(5.00 - 4.95, 0.10), .84134, 5e-6);
}

/* Largest false-accept probability at the acceptance limit w = U: 2.275 %, quoted as "at most 2.5 %" (ILAC-G8:09/2019).
 */
static void risk_at_the_acceptance_limit(void **state)
{
    assert_near(1 - spurity_conformity_probability(1.5, 1.5), .02275, 5e-6);
    assert_near(1 - spurity_conformity_probability(1.645 / 2 * 1.5, 1.5), .0500, 5e-5);
}

static void unknown_is_not_shown(void **state)
{
    assert_int_equal(spurity_decide((double)NAN, 1, false), SPURITY_OUTCOME_NOT_SHOWN);
    assert_int_equal(spurity_decide(1, (double)NAN, true), SPURITY_OUTCOME_NOT_SHOWN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(four_outcomes),
        cmocka_unit_test(conformity_examples),
        cmocka_unit_test(risk_at_the_acceptance_limit),
        cmocka_unit_test(unknown_is_not_shown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
