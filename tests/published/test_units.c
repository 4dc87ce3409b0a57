/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Powers and levels: reference table made with numpy from the definitions (dB re 1 mW, 1 W, 1 uV, 1 mV; P = V^2/R),
 * whose offsets for 50 ohm (dBuV = dBm + 106.99) and 75 ohm (+ 108.75) are those of every handbook.  Tolerance: half
 * the last digit printed. */
#include "../check.h"
#include "units/units.h"

static const struct {
    const char *watts;
    double dbm, dbw, dbuv, dbmv;
    double volt, volt_digit; /* rms into 50 ohm; half the last digit */
} rows[] = {
    {"4nW", -53.979, -83.979, 53.01, -6.99, 447.21e-6, 0.005e-6},
    {"250nW", -36.021, -66.021, 70.97, 10.97, 3.5355e-3, 0.00005e-3},
    {"2.5uW", -26.021, -56.021, 80.97, 20.97, 11.180e-3, 0.0005e-3},
    {"10uW", -20.000, -50.000, 86.99, 26.99, 22.361e-3, 0.0005e-3},
    {"25uW", -16.021, -46.021, 90.97, 30.97, 35.355e-3, 0.0005e-3},
    {"1mW", 0, -30, 106.99, 46.99, 223.607e-3, 0.0005e-3},
    {"1W", 30, 0, 136.99, 76.99, 7.0711, 0.00005},
    {"4.91W", 36.911, 6.911, 143.90, 83.90, 15.668, 0.0005},
    {"5W", 36.990, 6.990, 143.98, 83.98, 15.811, 0.0005},
    {"5.04W", 37.024, 7.024, 144.01, 84.01, 15.875, 0.0005},
    {"5.10W", 37.076, 7.076, 144.07, 84.07, 15.969, 0.0005},
    {"25W", 43.979, 13.979, 150.97, 90.97, 35.355, 0.0005},
    {"50W", 46.990, 16.990, 153.98, 93.98, 50.000, 0.0005},
    {"100W", 50, 20, 156.99, 96.99, 70.711, 0.0005},
    {"1500W", 61.761, 31.761, 168.75, 108.75, 273.861, 0.0005},
};

static void test_table(void **state)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_error error = {0};
        double watts, dbm;
        assert_ok(spurity_parse_power(rows[i].watts, "row", (spurity_place){0}, &watts, &error), &error);
        assert_ok(spurity_parse_level(rows[i].watts, "row", (spurity_place){0}, &dbm, &error), &error);
        assert_near(dbm, rows[i].dbm, 0.0005);
        assert_near(spurity_dbm_from_watts(watts), rows[i].dbm, 0.0005);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBW, rows[i].dbw, 50), dbm, 0.0005);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBUV, rows[i].dbuv, 50), dbm, 0.0051);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBMV, rows[i].dbmv, 50), dbm, 0.0051);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_VOLT, rows[i].volt, 50), dbm,
                    8.686 * rows[i].volt_digit / rows[i].volt + 1e-6);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_MILLIVOLT, rows[i].volt * 1e3, 50), dbm,
                    8.686 * rows[i].volt_digit / rows[i].volt + 1e-6);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_WATT, watts, 50), dbm, 1e-12);
        assert_near(spurity_level_to_dbm(SPURITY_LEVEL_NANOWATT, watts * 1e9, 50), dbm, 1e-12);
    }
}

/* The offsets themselves, to three digits, for both impedances. */
static void test_offsets(void **state)
{
    assert_near(-spurity_level_to_dbm(SPURITY_LEVEL_DBUV, 0, 50), 106.990, 0.0005);
    assert_near(-spurity_level_to_dbm(SPURITY_LEVEL_DBMV, 0, 50), 46.990, 0.0005);
    assert_near(-spurity_level_to_dbm(SPURITY_LEVEL_DBUV, 0, 75), 108.751, 0.0005);
    assert_near(-spurity_level_to_dbm(SPURITY_LEVEL_DBMV, 0, 75), 48.751, 0.0005);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBW, 0, 50), 30, 0);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBV, 0, 50), 13.010, 0.0005);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_MICROVOLT, 50, 50), -73.010, 0.0005);
}

/* Back from rounded decibels: what a limit of -16 dBm is in watts, and is not 25 uW. */
static void test_back_to_watts(void **state)
{
    assert_near(spurity_watts_from_dbm(36.91), 4.9091, 0.00005);
    assert_near(spurity_watts_from_dbm(37.02), 5.0350, 0.00005);
    /* 10^0.708 is 5.1050499998: the table's 5.1051 was rounded twice, so one digit more is compared. */
    assert_near(spurity_watts_from_dbm(37.08), 5.10505, 0.000005);
    assert_near(spurity_watts_from_dbm(-13), 50.12e-6, 0.005e-6);
    assert_near(spurity_watts_from_dbm(-36), 251.2e-9, 0.05e-9);
    assert_near(spurity_watts_from_dbm(-16), 25.12e-6, 0.005e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_table), cmocka_unit_test(test_offsets),
                                       cmocka_unit_test(test_back_to_watts)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
