/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Divisors and combination of JCGM 100:2008 (4.3, 5.1.2, G.2) on a worked budget of a level, computed with numpy:
 * u_c = 0.6032 dB, U = 1.206 dB; of a ratio on one sweep, where the absolute level drops out, 0.4938 and 0.988 dB. */
#include "../check.h"
#include "uncertainty/uncertainty.h"

static spurity_uncertainty budget(void)
{
    spurity_uncertainty list = {0};
    spurity_uncertainty_add(&list, "instrument absolute", SPURITY_RECTANGULAR, 0.6, 1);
    spurity_uncertainty_add(&list, "frequency response", SPURITY_RECTANGULAR, 0.8, 1);
    spurity_uncertainty_add(&list, "pad", SPURITY_NORMAL, 0.2 / 2, 1);
    spurity_uncertainty_add(&list, "mismatch", SPURITY_ARCSINE, 0.1594, 1);
    spurity_uncertainty_add(&list, "cable", SPURITY_RECTANGULAR, 0.1, 1);
    spurity_uncertainty_add(&list, "repeatability", SPURITY_NORMAL, 0.15 / sqrt(5), 1);
    return list;
}

static void test_single_terms(void **state)
{
    static const double want[] = {0.3464, 0.4619, 0.1000, 0.1127, 0.0577, 0.0671};
    spurity_uncertainty list = budget();
    for (size_t i = 0; i < list.count; i++) {
        spurity_uncertainty one = {.count = 1};
        one.items[0] = list.items[i];
        assert_near(spurity_uncertainty_standard(&one), want[i], 0.00005);
    }
}

static void test_level(void **state)
{
    spurity_uncertainty list = budget();
    assert_near(spurity_uncertainty_standard(&list), 0.6032, 0.00005);
    assert_near(spurity_uncertainty_expanded(&list), 1.206, 0.0005);
}

/* The carrier stands on the same sweep: it has the absolute level in common, the rest of the list is that of the
 * difference. */
static void test_ratio(void **state)
{
    spurity_uncertainty list = budget(), carrier = {0};
    spurity_uncertainty_add(&carrier, "instrument absolute", SPURITY_RECTANGULAR, 0.6, 1);
    spurity_uncertainty ratio = spurity_uncertainty_difference(&list, &carrier);
    assert_near(spurity_uncertainty_standard(&ratio), 0.4938, 0.00005);
    assert_near(spurity_uncertainty_expanded(&ratio), 0.988, 0.0005);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_single_terms), cmocka_unit_test(test_level),
                                       cmocka_unit_test(test_ratio)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
