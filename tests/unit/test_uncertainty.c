/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "uncertainty/uncertainty.h"

#include "../check.h"

static void test_divisors(void **state)
{
    assert_near(spurity_distribution_divisor(SPURITY_NORMAL), 1, 0);
    assert_near(spurity_distribution_divisor(SPURITY_RECTANGULAR), sqrt(3), 1e-15);
    assert_near(spurity_distribution_divisor(SPURITY_TRIANGULAR), sqrt(6), 1e-15);
    assert_near(spurity_distribution_divisor(SPURITY_ARCSINE), sqrt(2), 1e-15);
    assert_near(spurity_distribution_divisor(SPURITY_ONE_SIDED), sqrt(3), 1e-15);
}

static void test_combination(void **state)
{
    spurity_uncertainty list = {0};
    assert_near(spurity_uncertainty_standard(&list), 0, 0);
    spurity_uncertainty_add(&list, "a", SPURITY_NORMAL, 3, 1);
    spurity_uncertainty_add(&list, "b", SPURITY_NORMAL, 2, -2);
    assert_near(spurity_uncertainty_standard(&list), 5, 1e-15);
    assert_near(spurity_uncertainty_expanded(&list), 10, 1e-15);
}

/* One source is one quantity: its effects add before they are squared. */
static void test_same_source_adds(void **state)
{
    spurity_uncertainty list = {0};
    spurity_uncertainty_add(&list, "pad", SPURITY_RECTANGULAR, 0.5, 1);
    spurity_uncertainty_add(&list, "pad", SPURITY_RECTANGULAR, 0.5, 1);
    assert_int_equal(list.count, 1);
    assert_near(spurity_uncertainty_standard(&list), 2 * 0.5 / sqrt(3), 1e-15);
    spurity_uncertainty_add(&list, "pad", SPURITY_NORMAL, 0.1, 1); /* another figure */
    assert_near(spurity_uncertainty_standard(&list), 2 * 0.5 / sqrt(3) + 0.1, 1e-15);
    spurity_uncertainty_add(&list, "pad", SPURITY_NORMAL, 1, -1); /* a larger one */
    assert_near(spurity_uncertainty_standard(&list), fabs(2 * 0.5 / sqrt(3) + 0.1 - 1), 1e-15);
}

static void test_difference(void **state)
{
    spurity_uncertainty carrier = {0}, harmonic = {0};
    spurity_uncertainty_add(&carrier, "absolute", SPURITY_RECTANGULAR, 0.6, 1);
    spurity_uncertainty_add(&carrier, "reading f0", SPURITY_NORMAL, 0.3, 1);
    spurity_uncertainty_add(&harmonic, "absolute", SPURITY_RECTANGULAR, 0.6, 1);
    spurity_uncertainty_add(&harmonic, "reading h2", SPURITY_NORMAL, 0.4, 1);
    spurity_uncertainty ratio = spurity_uncertainty_difference(&harmonic, &carrier);
    assert_int_equal(ratio.count, 2);
    assert_near(spurity_uncertainty_standard(&ratio), 0.5, 1e-15);

    /* Nothing is left of a level less itself. */
    spurity_uncertainty none = spurity_uncertainty_difference(&carrier, &carrier);
    assert_int_equal(none.count, 0);

    /* Shared, but more of it on one side: the rest stays. */
    spurity_uncertainty more = carrier;
    more.items[0].figure_db = 0.9;
    ratio = spurity_uncertainty_difference(&more, &carrier);
    assert_near(spurity_uncertainty_standard(&ratio), 0.3 / sqrt(3), 1e-12);

    spurity_uncertainty sum = spurity_uncertainty_sum(&carrier, &carrier);
    assert_near(spurity_uncertainty_standard(&sum), 2 * spurity_uncertainty_standard(&carrier), 1e-15);
}

static spurity_uncertainty many(const char *word, int from, int to)
{
    spurity_uncertainty list = {0};
    for (int i = from; i < to; i++) {
        char source[SPURITY_SOURCE_ID_SIZE];
        snprintf(source, sizeof source, "%s, the place and number %d", word, i);
        spurity_uncertainty_add(&list, source, SPURITY_NORMAL, 0.1 + 0.01 * i, 1);
    }
    return list;
}

/* A full list folds, and the total stays what it is; a list holds 32. */
static void test_full_list(void **state)
{
    double sum = 0;
    for (int i = 0; i < 40; i++)
        sum += pow(0.1 + 0.01 * i, 2);
    spurity_uncertainty list = many("reading", 0, 40);
    assert_true(list.count <= SPURITY_CONTRIBUTIONS_MAX);
    assert_near(spurity_uncertainty_standard(&list), sqrt(sum), 1e-12);
}

/* What was folded away bears no source any more: it never cancels, though both begin alike. */
static void test_folded_never_cancels(void **state)
{
    spurity_uncertainty a = many("reading", 0, 40), b = many("reading", 100, 140);
    double apart = hypot(spurity_uncertainty_standard(&a), spurity_uncertainty_standard(&b));
    spurity_uncertainty difference = spurity_uncertainty_difference(&a, &b);
    assert_true(spurity_uncertainty_standard(&difference) >= apart - 1e-12);
    spurity_uncertainty same = spurity_uncertainty_difference(&a, &a);
    assert_true(spurity_uncertainty_standard(&same) > 0); /* unfavourable, never less than nothing known */
}

/* Full lists that share everything still cancel: shared sources are met before anything folds. */
static void test_full_lists_cancel(void **state)
{
    spurity_uncertainty a = many("reading", 0, SPURITY_CONTRIBUTIONS_MAX), b = a;
    spurity_uncertainty_add(&a, "reading, the place and number 3", SPURITY_NORMAL, 0.13, 1);
    spurity_uncertainty difference = spurity_uncertainty_difference(&a, &b);
    assert_int_equal(difference.count, 1);
    assert_near(spurity_uncertainty_standard(&difference), 0.13, 1e-12);
}

static void test_long_source_is_cut(void **state)
{
    spurity_uncertainty list = {0};
    char source[200];
    memset(source, 's', sizeof source - 1);
    source[sizeof source - 1] = '\0';
    spurity_uncertainty_add(&list, source, SPURITY_NORMAL, 1, 1);
    assert_int_equal(strlen(list.items[0].source), SPURITY_SOURCE_ID_SIZE - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_divisors),          cmocka_unit_test(test_combination),
        cmocka_unit_test(test_same_source_adds),  cmocka_unit_test(test_difference),
        cmocka_unit_test(test_full_list),         cmocka_unit_test(test_folded_never_cancels),
        cmocka_unit_test(test_full_lists_cancel), cmocka_unit_test(test_long_source_is_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
