/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What an instrument's own products do to a reading, and what repeats are worth, against figures from outside. */
#include "../../lib/measurement/parts.h"
#include "../check.h"

/* JCGM 100:2008, table G.2: t for 95.45 % by degrees of freedom.  With nothing else in the budget the combined
 * uncertainty has the repeats' own: k u is t s / sqrt n. */
static void repeats_expand_as_student_does(void **state)
{
    static const struct {
        size_t count;
        double t;
    } rows[] = {{2, 13.97}, {3, 4.53}, {4, 3.31}, {5, 2.87}, {6, 2.65}, {8, 2.43}, {11, 2.28}, {21, 2.13}, {51, 2.05}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_uncertainty list = {0};
        spurity_repeats repeats = {.count = rows[i].count, .type_a_db = 0.1};
        spurity_measurement_add_repeats(&list, "repeats", &repeats);
        assert_near(spurity_uncertainty_expanded(&list) / 0.1, rows[i].t, 0.005);
    }
}

/* scipy.stats.t.ppf(0.97725, nu) of nu = (n - 1) (u_c / u_A)^4 (JCGM 100:2008, G.4.1): others u = 0.5 dB, n = 3. */
static void few_repeats_beside_others(void **state)
{
    static const struct {
        double a, nu, t;
    } rows[] = {{0.1, 1352.0, 2.001853}, {0.25, 50.0, 2.051251}, {0.5, 8.0, 2.366419}, {1.0, 3.125, 3.230312}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_uncertainty list = {0};
        spurity_repeats repeats = {.count = 3, .type_a_db = rows[i].a};
        spurity_uncertainty_add(&list, "others", SPURITY_NORMAL, 0.5, 1);
        spurity_measurement_add_repeats(&list, "repeats", &repeats);
        double wanted = rows[i].t * hypot(0.5, rows[i].a);
        assert_near(2 * pow(hypot(0.5, rows[i].a) / rows[i].a, 4), rows[i].nu, 1e-9);
        assert_true(spurity_uncertainty_expanded(&list) >= wanted - 0.005);
        assert_true(spurity_uncertainty_expanded(&list) <= 1.03 * wanted);
    }
}

/* Type A: JCGM 100:2008, H.5 shape by hand: four readings, mean in power, s / sqrt n, spread (figures by
 * numpy.std(ddof=1)). */
static void mean_of_repeats(void **state)
{
    static const double db[] = {-60, -61, -59.5, -60.3};
    spurity_repeats repeats;
    assert_near(-60 + spurity_measurement_mean_of(db, 4, &repeats), -60.16644, 5e-4);
    assert_near(repeats.type_a_db, 0.313581, 1e-5);
    assert_near(repeats.spread_db, 1.5, 1e-9);
}

/* Two voltages at any phase, the smaller x dB below: 20 lg (1 + 10^(-x/20)) high, -20 lg (1 - 10^(-x/20)) low (any
 * handbook's table of mismatch or two-signal error). */
static void voltages_at_any_phase(void **state)
{
    static const double rows[][3] = {{3, 4.65, 10.69}, {6, 3.53, 6.04},  {10, 2.39, 3.30}, {15, 1.42, 1.70},
                                     {20, .828, .915}, {26, .425, .447}, {30, .270, .279}, {40, .086, .087}};
    double low, high;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_measurement_within(-rows[i][0], &low, &high);
        assert_near(low, rows[i][1], 0.0051);
        assert_near(high, rows[i][2], 0.0051);
    }
    spurity_measurement_within(0, &low, &high);
    assert_near(low, 6.02, 0.005);
    assert_true(isinf(high));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(repeats_expand_as_student_does),
        cmocka_unit_test(few_repeats_beside_others),
        cmocka_unit_test(mean_of_repeats),
        cmocka_unit_test(voltages_at_any_phase),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
