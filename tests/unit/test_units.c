/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "units/units.h"

#include "../check.h"
#include "../comma_locale.h"

static const spurity_place nowhere = {0};
static const double untouched = -77.25;

static spurity_level_unit unit_of(const char *text)
{
    return spurity_level_unit_from_text(text, strlen(text));
}

static double frequency_unit_of(const char *text)
{
    return spurity_frequency_unit_from_text(text, strlen(text));
}

static void test_level_unit_words(void **state)
{
    static const struct {
        const char *text;
        spurity_level_unit unit;
    } rows[] = {
        {"dBm", SPURITY_LEVEL_DBM},
        {" DBM ", SPURITY_LEVEL_DBM},
        {"dbw", SPURITY_LEVEL_DBW},
        {"dBuV", SPURITY_LEVEL_DBUV},
        {"dB\xC2\xB5V", SPURITY_LEVEL_DBUV},
        {"dB\xCE\xBCV", SPURITY_LEVEL_DBUV},
        {"dB\xB5V", SPURITY_LEVEL_DBUV},
        {"dBmV", SPURITY_LEVEL_DBMV},
        {"dbmv", SPURITY_LEVEL_DBMV},
        {"dBV", SPURITY_LEVEL_DBV},
        {"V", SPURITY_LEVEL_VOLT},
        {"mV", SPURITY_LEVEL_MILLIVOLT},
        {"mv", SPURITY_LEVEL_MILLIVOLT},
        {"MV", SPURITY_LEVEL_UNKNOWN},
        {"uV", SPURITY_LEVEL_MICROVOLT},
        {"W", SPURITY_LEVEL_WATT},
        {"mW", SPURITY_LEVEL_MILLIWATT},
        {"MW", SPURITY_LEVEL_UNKNOWN},
        {"\xC2\xB5W", SPURITY_LEVEL_MICROWATT},
        {"nW", SPURITY_LEVEL_NANOWATT},
        {"dB", SPURITY_LEVEL_DB},
        {"dBm/Hz", SPURITY_LEVEL_OTHER},
        {"dBuV/m", SPURITY_LEVEL_OTHER},
        {"dBc", SPURITY_LEVEL_OTHER},
        {"dBFS", SPURITY_LEVEL_OTHER},
        {"%", SPURITY_LEVEL_OTHER},
        {"", SPURITY_LEVEL_UNKNOWN},
        {"dBmm", SPURITY_LEVEL_UNKNOWN},
        {"MHz", SPURITY_LEVEL_UNKNOWN},
        {"dBm dBm dBm dBm dBm dBm dBm", SPURITY_LEVEL_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (unit_of(rows[i].text) != rows[i].unit)
            fail_msg("'%s' is %s", rows[i].text, spurity_level_unit_name(unit_of(rows[i].text)));
    }
    assert_int_equal(spurity_level_unit_from_text("dBmV", 3), SPURITY_LEVEL_DBM); /* the length counts */
}

/* Each unit's printed name reads back as itself. */
static void test_level_unit_names(void **state)
{
    for (int i = SPURITY_LEVEL_DBM; i < SPURITY_LEVEL_OTHER; i++)
        assert_int_equal(unit_of(spurity_level_unit_name((spurity_level_unit)i)), i);
    assert_true(spurity_level_unit_is_linear(SPURITY_LEVEL_VOLT));
    assert_true(spurity_level_unit_is_linear(SPURITY_LEVEL_NANOWATT));
    assert_false(spurity_level_unit_is_linear(SPURITY_LEVEL_DBUV));
    assert_false(spurity_level_unit_is_linear(SPURITY_LEVEL_DB));
}

static void test_no_level(void **state)
{
    assert_true(isnan(spurity_level_to_dbm(SPURITY_LEVEL_DB, -10, 50)));
    assert_true(isnan(spurity_level_to_dbm(SPURITY_LEVEL_OTHER, -10, 50)));
    assert_true(isnan(spurity_level_to_dbm(SPURITY_LEVEL_UNKNOWN, -10, 50)));
    assert_true(isnan(spurity_level_to_dbm(SPURITY_LEVEL_VOLT, 0, 50)));
    assert_true(isnan(spurity_level_to_dbm(SPURITY_LEVEL_MILLIWATT, -1, 50)));
    assert_true(isnan(spurity_level_to_dbm(SPURITY_LEVEL_DBM, NAN, 50)));
    assert_true(isinf(spurity_dbm_from_watts(0)));
}

/* Six times the ratio, any unit: 20 log for voltage, 10 log for power; and impedance turns by 10 log. */
static void test_level_properties(void **state)
{
    const double times_2_power = 10 * log10(2.0);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_VOLT, 2, 50) - spurity_level_to_dbm(SPURITY_LEVEL_VOLT, 1, 50),
                2 * times_2_power, 1e-12);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_WATT, 2, 50) - spurity_level_to_dbm(SPURITY_LEVEL_WATT, 1, 50),
                times_2_power, 1e-12);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBUV, 60, 25) - spurity_level_to_dbm(SPURITY_LEVEL_DBUV, 60, 50),
                times_2_power, 1e-12);
    assert_near(spurity_level_to_dbm(SPURITY_LEVEL_DBM, -3, 75), -3, 0);
    for (double dbm = -150; dbm <= 60; dbm += 7.5)
        assert_near(spurity_dbm_from_watts(spurity_watts_from_dbm(dbm)), dbm, 1e-12);
    assert_near(spurity_db_from_ratio(spurity_ratio_from_db(-57.8)), -57.8, 1e-12);
}

static void test_frequency_units(void **state)
{
    assert_near(frequency_unit_of("Hz"), 1, 0);
    assert_near(frequency_unit_of("kHz"), 1e3, 0);
    assert_near(frequency_unit_of("KHZ"), 1e3, 0);
    assert_near(frequency_unit_of("mHz"), 1e6, 0);
    assert_near(frequency_unit_of(" GHz "), 1e9, 0);
    assert_near(frequency_unit_of("M"), 1e6, 0);
    assert_near(frequency_unit_of("dBm"), 0, 0);
    assert_near(frequency_unit_of(""), 0, 0);
    assert_near(frequency_unit_of("MHzz"), 0, 0);
}

typedef spurity_status parser(const char *, const char *, spurity_place, double *, spurity_error *);

struct parse_row {
    parser *parse;
    const char *text;
    double want; /* NaN: refused */
};

static void check_parse(const struct parse_row *row)
{
    spurity_error error = {0};
    double value = untouched;
    spurity_status status = row->parse(row->text, "--option", nowhere, &value, &error);
    if (isnan(row->want)) {
        if (status != SPURITY_INVALID || value != untouched)
            fail_msg("'%s' was taken as %g", row->text, value);
        assert_int_equal(error.status, SPURITY_INVALID);
        assert_non_null(strstr(error.found, "--option"));
        assert_true(error.expected[0] != '\0');
        return;
    }
    if (status)
        fail_msg("'%s' was refused", row->text);
    check_near(value, row->want, fabs(row->want) * 1e-14, row->text, __FILE__, __LINE__);
}

static const struct parse_row parsed[] = {
    {spurity_parse_frequency, "146.94M", 146.94e6},
    {spurity_parse_frequency, "146.94 MHz", 146.94e6},
    {spurity_parse_frequency, "12.5k", 12500},
    {spurity_parse_frequency, "9 kHz", 9000},
    {spurity_parse_frequency, "27185000", 27185000},
    {spurity_parse_frequency, "-12.5k", -12500},
    {spurity_parse_frequency, "+1.3G", 1.3e9},
    {spurity_parse_frequency, "1e6", 1e6},
    {spurity_parse_frequency, "", NAN},
    {spurity_parse_frequency, "M", NAN},
    {spurity_parse_frequency, "146,94M", NAN},
    {spurity_parse_frequency, "146.94 dBm", NAN},
    {spurity_parse_frequency, "inf", NAN},
    {spurity_parse_frequency, "nan", NAN},
    {spurity_parse_frequency, "0x10", NAN},
    {spurity_parse_frequency, "1e300M", NAN},
    {spurity_parse_frequency, "1 2M", NAN},
    {spurity_parse_power, "4.7W", 4.7},
    {spurity_parse_power, "25 uW", 25e-6},
    {spurity_parse_power, "25\xC2\xB5W", 25e-6},
    {spurity_parse_power, "1.5kW", 1500},
    {spurity_parse_power, "30dBm", 1},
    {spurity_parse_power, "0dBW", 1},
    {spurity_parse_power, "250nW", 250e-9},
    {spurity_parse_power, "1 mW", 1e-3},
    {spurity_parse_power, "1 MW", 1e6},
    {spurity_parse_power, "4.7", NAN},
    {spurity_parse_power, "0W", NAN},
    {spurity_parse_power, "-1W", NAN},
    {spurity_parse_power, "5dB", NAN},
    {spurity_parse_power, "5 V", NAN},
    {spurity_parse_power, "1e308kW", NAN},
    {spurity_parse_power, "4000dBm", NAN},
    {spurity_parse_level, "-16 dBm", -16},
    {spurity_parse_level, "6dBW", 36},
    {spurity_parse_level, "1W", 30},
    {spurity_parse_level, "-16", NAN},
    {spurity_parse_level, "-16dB", NAN},
    {spurity_parse_ratio, "40dB", 40},
    {spurity_parse_ratio, "40 dB", 40},
    {spurity_parse_ratio, "40", 40},
    {spurity_parse_ratio, "-0.5db", -0.5},
    {spurity_parse_ratio, "40dBm", NAN},
    {spurity_parse_ratio, "40 dB dB", NAN},
    {spurity_parse_impedance, "50", 50},
    {spurity_parse_impedance, "75ohm", 75},
    {spurity_parse_impedance, "50 \xCE\xA9", 50},
    {spurity_parse_impedance, "50 \xE2\x84\xA6", 50},
    {spurity_parse_impedance, "0", NAN},
    {spurity_parse_impedance, "-50", NAN},
    {spurity_parse_ppm, "2.5ppm", 2.5},
    {spurity_parse_ppm, "2.5", 2.5},
    {spurity_parse_ppm, "-1", NAN},
    {spurity_parse_time, "2s", 2},
    {spurity_parse_time, "200 ms", 0.2},
    {spurity_parse_time, "2", 2},
    {spurity_parse_time, "0", 0},
    {spurity_parse_time, "-1s", NAN},
    {spurity_parse_time, "2 h", NAN},
};

static void test_parsing(void **state)
{
    for (size_t i = 0; i < sizeof parsed / sizeof *parsed; i++)
        check_parse(&parsed[i]);
}

static void test_count(void **state)
{
    long value = -5;
    spurity_error error = {0};
    assert_ok(spurity_parse_count("10", "--harmonics", nowhere, 1, 100, &value, &error), &error);
    assert_int_equal(value, 10);
    static const char *const bad[] = {"0", "101", "1.5", "", "ten", "10 Hz", "1e999"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        error = (spurity_error){0};
        assert_int_equal(spurity_parse_count(bad[i], "--harmonics", nowhere, 1, 100, &value, &error), SPURITY_INVALID);
        assert_int_equal(value, 10);
        assert_non_null(strstr(error.expected, "1 to 100"));
    }
}

static void test_date(void **state)
{
    spurity_date date = 0;
    spurity_error error = {0};
    char text[20];
    assert_ok(spurity_parse_date("2003-01-01", "--installed", nowhere, &date, &error), &error);
    assert_int_equal(date, 20030101);
    assert_string_equal(spurity_format_date(text, sizeof text, date), "2003-01-01");
    assert_ok(spurity_parse_date("2000-02-29", "--installed", nowhere, &date, &error), &error);
    assert_string_equal(spurity_format_date(text, sizeof text, 0), "-");
    static const char *const bad[] = {"1900-02-29", "2003-02-29",  "2003-13-01", "2003-00-10",
                                      "2003-04-31", "2003-1-1",    "01-01-2003", "2003/01/01",
                                      "",           "2003-01-01T", "0000-01-01", "2003-01-0\xB2"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        error = (spurity_error){0};
        assert_int_equal(spurity_parse_date(bad[i], "--installed", nowhere, &date, &error), SPURITY_INVALID);
    }
    assert_int_equal(date, 20000229);
}

static void test_dimension(void **state)
{
    assert_int_equal(spurity_dimension_of("40dB"), SPURITY_DIMENSION_RATIO);
    assert_int_equal(spurity_dimension_of("0.5 dB"), SPURITY_DIMENSION_RATIO);
    assert_int_equal(spurity_dimension_of("1G"), SPURITY_DIMENSION_FREQUENCY);
    assert_int_equal(spurity_dimension_of("1 GHz"), SPURITY_DIMENSION_FREQUENCY);
    assert_int_equal(spurity_dimension_of("50W"), SPURITY_DIMENSION_POWER);
    assert_int_equal(spurity_dimension_of("47dBm"), SPURITY_DIMENSION_LEVEL);
    assert_int_equal(spurity_dimension_of("40"), SPURITY_DIMENSION_NONE);
    assert_int_equal(spurity_dimension_of("40 ohm"), SPURITY_DIMENSION_OTHER);
    assert_int_equal(spurity_dimension_of("forty"), SPURITY_DIMENSION_OTHER);
}

static void check_formats(void)
{
    char text[64];
    assert_string_equal(spurity_format_frequency(text, sizeof text, 146.94e6, 6), "146.94 MHz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, 12500, 6), "12.5 kHz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, 1.5e9, 6), "1.5 GHz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, 999999.7, 6), "1 MHz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, -12500, 6), "-12.5 kHz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, 0, 6), "0 Hz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, -1e-5, 6), "0 Hz");
    assert_string_equal(spurity_format_frequency(text, sizeof text, NAN, 6), "-");
    assert_string_equal(spurity_format_power(text, sizeof text, 4.7), "4.7 W");
    assert_string_equal(spurity_format_power(text, sizeof text, 25e-6), "25 \xC2\xB5W");
    assert_string_equal(spurity_format_power(text, sizeof text, 1500), "1.5 kW");
    assert_string_equal(spurity_format_power(text, sizeof text, 0.99999), "1 W");
    assert_string_equal(spurity_format_power(text, sizeof text, 9.996), "10 W");
    assert_string_equal(spurity_format_power(text, sizeof text, 49.94), "49.9 W");
    assert_string_equal(spurity_format_power(text, sizeof text, 0), "0 W");
    assert_string_equal(spurity_format_power(text, sizeof text, NAN), "-");
    assert_string_equal(spurity_format_db(text, sizeof text, -57.84), "-57.8");
    assert_string_equal(spurity_format_db(text, sizeof text, -0.04), "0.0");
    assert_string_equal(spurity_format_db(text, sizeof text, NAN), "-");
    assert_string_equal(spurity_format_db(text, sizeof text, -INFINITY), "-");
    char little[5];
    assert_string_equal(spurity_format_frequency(little, sizeof little, 146.94e6, 6), "146.");
}

static void test_formats(void **state)
{
    check_formats();
}

/* Reading and printing with a point, whatever the locale. */
static void test_comma_locale(void **state)
{
    if (!set_comma_locale()) {
        print_message("SKIPPED: no locale with a decimal comma could be had\n");
        skip();
    }
    check_formats();
    test_parsing(state);
    setlocale(LC_ALL, "C");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_level_unit_words),
        cmocka_unit_test(test_level_unit_names),
        cmocka_unit_test(test_no_level),
        cmocka_unit_test(test_level_properties),
        cmocka_unit_test(test_frequency_units),
        cmocka_unit_test(test_parsing),
        cmocka_unit_test(test_count),
        cmocka_unit_test(test_date),
        cmocka_unit_test(test_dimension),
        cmocka_unit_test(test_formats),
        cmocka_unit_test(test_comma_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
