/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The budget of a bench against worked figures, and intervals against closed forms. */
#include "../../lib/spurity.h"
#include "../check.h"

/* ---- mismatch ------------------------------------------------------------------------------------------- */

/* A budget's own mismatch term has the exact spread. */
static void test_mismatch_of_a_budget(void **state)
{
    spurity_budget budget;
    spurity_budget_level level = {.hz = 146e6, .loss_db = 40};
    spurity_uncertainty list = {0};
    spurity_budget_init(&budget);
    for (int i = 0; i < SPURITY_TERMS; i++)
        budget.terms[i].figure_db = 0;
    budget.linearity_most_db = 0;
    budget.set_reflection = 0;
    budget.chain_reflection = spurity_reflection_of_vswr(1.5);
    budget.instrument_reflection = spurity_reflection_of_vswr(1.2);
    spurity_budget_contributions(&budget, &level, &list);
    assert_int_equal(list.count, 1);
    assert_near(spurity_uncertainty_standard(&list), .1117, 0.00005);
}

/* Limits 20 log10(1 +- |G1 G2|) and the exact standard deviation of 20 log10 |1 + G1 G2 e^(j phi)| over an even phase,
 * integrated numerically with numpy 1.24; the same formula in ETSI TR 100 028-1 as 100 % |G1 G2| / (sqrt 2 x 11.5). */
static void test_mismatch_table(void **state)
{
    static const struct {
        double vswr_1, vswr_2, product, up, down, exact_u;
    } rows[] = {{1.1, 1.1, .00227, .0197, -.0197, .0139}, {1.2, 1.2, .00826, .0715, -.0721, .0508},
                {1.5, 1.2, .01818, .1565, -.1594, .1117}, {1.5, 1.5, .04, .3407, -.3546, .2457},
                {2, 1.5, .06667, .5606, -.5993, .4097},   {2, 2, .11111, .9151, -1.0231, .6835},
                {3, 1.5, .1, .8279, -.9151, .6150}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double up, down, a = spurity_reflection_of_vswr(rows[i].vswr_1), b = spurity_reflection_of_vswr(rows[i].vswr_2);
        assert_near(a * b, rows[i].product, 0.000005);
        spurity_mismatch_limits(a, b, &up, &down);
        assert_near(up, rows[i].up, 0.00005);
        assert_near(down, rows[i].down, 0.00005);
        assert_near((up - down) / 2 / sqrt(2), rows[i].exact_u, fmax(0.005 * rows[i].exact_u, 0.00005));
    }
}

/* VSWR (1 + G)/(1 - G), return loss -20 log10 G: definitions; figures as handbook tables print them. */
static void test_reflections(void **state)
{
    static const struct {
        double vswr, reflection, return_loss;
    } rows[] = {{1.05, .0244, 32.26}, {1.1, .0476, 26.44}, {1.2, .0909, 20.83}, {1.5, .2, 13.98},
                {2, .3333, 9.54},     {3, .5, 6.02},       {10, .8182, 1.74}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        assert_near(spurity_reflection_of_vswr(rows[i].vswr), rows[i].reflection, 0.00005);
        assert_near(spurity_reflection_of_return_loss(rows[i].return_loss), rows[i].reflection, 0.0005);
    }
    assert_near(spurity_reflection_of_vswr(1), 0, 0);
}

/* ---- the worked budget ------------------------------------------------------------------------------------ */

/* By JCGM 100:2008, 5.1.2 with the divisors of its 4.3: +-0.6 and +-0.8 rectangular, a pad of 0.2 (k = 2), VSWR 1.5
 * against 1.2, a cable +-0.1 rectangular, s = 0.15 of five readings: u = 0.6032, U = 1.206 (worked by hand and with
 * numpy).  The pad is told as a shared term. */
/* The worked list takes the larger limit of the mismatch for its half-width: told as a term of one's own. */
static spurity_budget worked(void)
{
    spurity_budget budget;
    spurity_budget_init(&budget);
    for (int i = 0; i < SPURITY_TERMS; i++)
        budget.terms[i].figure_db = 0;
    budget.terms[SPURITY_TERM_AMPLITUDE].figure_db = 0.6;
    budget.terms[SPURITY_TERM_RESPONSE].figure_db = 0.8;
    budget.terms[SPURITY_TERM_REPEATABILITY].figure_db = 0.15;
    budget.repeats = 5;
    budget.set_reflection = budget.chain_reflection = budget.instrument_reflection = 0;
    budget.others[0] = (spurity_budget_other){"pad", SPURITY_EXPANDED, 0.2, true};
    budget.others[1] = (spurity_budget_other){"cable", SPURITY_RECTANGULAR, 0.1, false};
    double up, down;
    spurity_mismatch_limits(spurity_reflection_of_vswr(1.5), spurity_reflection_of_vswr(1.2), &up, &down);
    budget.others[2] = (spurity_budget_other){"mismatch", SPURITY_ARCSINE, -down, false};
    budget.other_count = 3;
    return budget;
}

static spurity_uncertainty at(const spurity_budget *budget, double hz)
{
    spurity_budget_level level = {.hz = hz, .below_carrier_db = 0, .attenuation_db = 10, .rbw_hz = 10e3, .loss_db = 40};
    spurity_uncertainty list = {0};
    spurity_budget_contributions(budget, &level, &list);
    return list;
}

static void test_worked_budget(void **state)
{
    static const struct {
        const char *source;
        double u;
    } want[] = {{"absolute amplitude", .3464},
                {"frequency response@146000000", .4619},
                {"pad", .1},
                {"mismatch@146000000", .1127},
                {"cable@146000000", .0577},
                {"repeatability@146000000/0", .0671}};
    spurity_budget budget = worked();
    spurity_uncertainty list = at(&budget, 146e6);
    assert_int_equal(list.count, 6);
    for (size_t i = 0; i < 6; i++) {
        size_t k = 0;
        while (k < list.count && strcmp(list.items[k].source, want[i].source))
            k++;
        assert_true(k < list.count);
        spurity_uncertainty one = {.count = 1, .items = {list.items[k]}};
        assert_near(spurity_uncertainty_standard(&one), want[i].u, 0.00005);
    }
    assert_near(spurity_uncertainty_standard(&list), 0.6032, 0.00005);
    assert_near(spurity_uncertainty_expanded(&list), 1.206, 0.0005);
}

/* The same list as a ratio against a carrier without any error of its own but the shared ones, as the worked example
 * has it: the absolute level drops out, u = 0.4938 with the pad kept, U = 0.988.  Against a carrier that is read with
 * the same bench everything of its own counts twice: sqrt(2) (0.4619^2 + 0.1127^2 + 0.0577^2 + 0.0671^2)^1/2. */
static void test_worked_ratio(void **state)
{
    spurity_budget budget = worked();
    spurity_uncertainty harmonic = at(&budget, 292e6), carrier = at(&budget, 146e6), ideal = {0};
    spurity_uncertainty_add(&ideal, "absolute amplitude", SPURITY_RECTANGULAR, 0.6, 1);
    spurity_uncertainty ratio = spurity_uncertainty_difference(&harmonic, &ideal);
    assert_near(spurity_uncertainty_standard(&ratio), 0.4938, 0.00005);
    assert_near(spurity_uncertainty_expanded(&ratio), 0.988, 0.0005);
    ratio = spurity_uncertainty_difference(&harmonic, &carrier);
    double own = sqrt(.64 / 3 + .1594 * .1594 / 2 + .01 / 3 + .0225 / 5);
    assert_near(spurity_uncertainty_standard(&ratio), sqrt(2) * own, 0.00005);
}

/* ---- intervals --------------------------------------------------------------------------------------------- */

static double half_of(const spurity_uncertainty *list, double probability)
{
    double low, high;
    assert_true(spurity_uncertainty_interval(list, probability, &low, &high));
    assert_near(low, -high, 0);
    return high;
}

static spurity_uncertainty two(spurity_distribution a, double a_db, spurity_distribution b, double b_db)
{
    spurity_uncertainty list = {0};
    spurity_uncertainty_add(&list, "a", a, a_db, 1);
    if (b_db > 0)
        spurity_uncertainty_add(&list, "b", b, b_db, -1);
    return list;
}

static const double probabilities[] = {0.5, 0.9, 0.95, 0.9545, 0.99};
enum { PROBABILITIES = sizeof probabilities / sizeof *probabilities };

/* One alone, from its distribution function; triangular: 1 - (1 - x/a)^2; normal: scipy 1.10 stats.norm.ppf. */
static void test_interval_of_one(void **state)
{
    static const double normal[] = {0.6744898, 1.6448536, 1.9599640, 2.0000024, 2.5758293};
    for (int i = 0; i < PROBABILITIES; i++) {
        double p = probabilities[i], pi = acos(-1.0);
        spurity_uncertainty list = two(SPURITY_RECTANGULAR, 0.7, 0, 0);
        assert_near(half_of(&list, p), 0.7 * p, 2e-5);
        list = two(SPURITY_TRIANGULAR, 0.7, 0, 0);
        assert_near(half_of(&list, p), 0.7 * (1 - sqrt(1 - p)), 2e-5);
        list = two(SPURITY_ARCSINE, 0.7, 0, 0);
        assert_near(half_of(&list, p), 0.7 * sin(p * pi / 2), 2e-4);
        list = two(SPURITY_NORMAL, 0.7, 0, 0);
        assert_near(half_of(&list, p), 0.7 * normal[i], 1e-5);
        list = two(SPURITY_EXPANDED, 1.4, 0, 0);
        assert_near(half_of(&list, p), 0.7 * normal[i], 1e-5);
    }
}

/* Two rectangulars a >= b: a trapezium (a triangle when equal).  P(|x| <= X) = X / a up to a - b, beyond it
 * 1 - (a + b - X)^2 / 4ab. */
static void test_interval_of_two_rectangulars(void **state)
{
    static const double widths[][2] = {{1, 1}, {1, 0.5}, {1, 0.05}};
    for (size_t k = 0; k < 3; k++)
        for (int i = 0; i < PROBABILITIES; i++) {
            double a = widths[k][0], b = widths[k][1], p = probabilities[i];
            double flat = a * p, slope = a + b - sqrt((1 - p) * 4 * a * b);
            spurity_uncertainty list = two(SPURITY_RECTANGULAR, a, SPURITY_RECTANGULAR, b);
            assert_near(half_of(&list, p), flat <= a - b ? flat : slope, 1e-4);
        }
}

/* Rectangular and normal: F(x) = s/2a [G((x+a)/s) - G((x-a)/s)], G(z) = z Phi(z) + phi(z). */
static double phi_integral(double z)
{
    return z * 0.5 * erfc(-z / sqrt(2)) + exp(-z * z / 2) / sqrt(2 * acos(-1.0));
}

static void test_interval_of_rectangular_and_normal(void **state)
{
    static const double pairs[][2] = {{1, 0.25}, {1, 1}, {0.3, 1}};
    for (size_t k = 0; k < 3; k++)
        for (int i = 0; i < PROBABILITIES; i++) {
            double a = pairs[k][0], s = pairs[k][1];
            spurity_uncertainty list = two(SPURITY_RECTANGULAR, a, SPURITY_NORMAL, s);
            double x = half_of(&list, probabilities[i]);
            double below = s / (2 * a) * (phi_integral((x + a) / s) - phi_integral((x - a) / s));
            assert_near(2 * below - 1, probabilities[i], 1e-6);
        }
}

/* Mixtures against a grid of 2^18 points convolved with numpy.fft of scipy.stats distributions (numpy 1.24, scipy
 * 1.10). */
static void test_interval_of_mixtures(void **state)
{
    static const double worked_want[] = {0.43547, 1.14297, 1.37459}, ratio_want[] = {0.40043, 0.87289, 1.02286};
    static const double u_want[] = {0.68233, 1.16493, 1.25367}, three_want[] = {0.39553, 1.07647, 1.32235};
    static const double p[] = {0.5, 0.95, 0.99};
    spurity_budget budget = worked();
    spurity_uncertainty level = at(&budget, 146e6), absolute = {0};
    spurity_uncertainty_add(&absolute, "absolute amplitude", SPURITY_RECTANGULAR, 0.6, 1);
    spurity_uncertainty ratio = spurity_uncertainty_difference(&level, &absolute);
    spurity_uncertainty u = two(SPURITY_ARCSINE, 1, SPURITY_RECTANGULAR, 0.3);
    spurity_uncertainty three = two(SPURITY_TRIANGULAR, 1, SPURITY_ARCSINE, 0.5);
    spurity_uncertainty_add(&three, "c", SPURITY_ARCSINE, 0.1, 2);
    for (int i = 0; i < 3; i++) {
        assert_near(half_of(&level, p[i]), worked_want[i], 2e-4);
        assert_near(half_of(&ratio, p[i]), ratio_want[i], 2e-4);
        assert_near(half_of(&u, p[i]), u_want[i], 2e-4);
        assert_near(half_of(&three, p[i]), three_want[i], 2e-4);
    }
}

/* Of many contributions none of which is large the interval nears the normal one (central limit, JCGM 100 G.2). */
static void test_interval_of_many(void **state)
{
    spurity_uncertainty list = {0};
    for (int i = 0; i < 20; i++) {
        char source[8];
        snprintf(source, sizeof source, "%d", i);
        spurity_uncertainty_add(&list, source, SPURITY_RECTANGULAR, 1, 1);
    }
    assert_near(half_of(&list, 0.95), 1.959964 * sqrt(20.0 / 3), 0.02);
}

static void test_interval_of_nothing(void **state)
{
    spurity_uncertainty none = {0};
    double low, high;
    assert_near(half_of(&none, 0.95), 0, 0);
    assert_false(spurity_uncertainty_interval(&none, 1.0, &low, &high));
    assert_false(spurity_uncertainty_interval(&none, (double)NAN, &low, &high));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mismatch_table),
        cmocka_unit_test(test_mismatch_of_a_budget),
        cmocka_unit_test(test_reflections),
        cmocka_unit_test(test_worked_budget),
        cmocka_unit_test(test_worked_ratio),
        cmocka_unit_test(test_interval_of_one),
        cmocka_unit_test(test_interval_of_two_rectangulars),
        cmocka_unit_test(test_interval_of_rectangular_and_normal),
        cmocka_unit_test(test_interval_of_mixtures),
        cmocka_unit_test(test_interval_of_many),
        cmocka_unit_test(test_interval_of_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
