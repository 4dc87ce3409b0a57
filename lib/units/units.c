/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

double spurity_dbm_from_watts(double watts)
{
    return 10.0 * log10(watts / 1e-3);
}

double spurity_watts_from_dbm(double dbm)
{
    return 1e-3 * pow(10.0, dbm / 10.0);
}

double spurity_db_from_ratio(double power_ratio)
{
    return 10.0 * log10(power_ratio);
}

double spurity_ratio_from_db(double db)
{
    return pow(10.0, db / 10.0);
}

/* ---- unit words ---- */

/* Folds a unit's text: the micro signs (U+00B5, U+03BC, Latin-1 B5) become 'u', the ohm sign (U+03A9, U+2126) "ohm",
 * blanks around go.  Case is kept.  False when it does not fit: then it is no unit. */
static bool fold(const char *text, size_t length, char *to, size_t size)
{
    while (length && isspace((unsigned char)*text))
        text++, length--;
    while (length && isspace((unsigned char)text[length - 1]))
        length--;
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        const char *as = NULL;
        size_t take = 1;
        char one[2] = {text[i], '\0'};
        if (length - i >= 2 && (!memcmp(text + i, "\xC2\xB5", 2) || !memcmp(text + i, "\xCE\xBC", 2)))
            as = "u", take = 2;
        else if ((unsigned char)text[i] == 0xB5)
            as = "u";
        else if (length - i >= 2 && !memcmp(text + i, "\xCE\xA9", 2))
            as = "ohm", take = 2;
        else if (length - i >= 3 && !memcmp(text + i, "\xE2\x84\xA6", 3))
            as = "ohm", take = 3;
        else
            as = one;
        size_t add = strlen(as);
        if (used + add >= size)
            return false;
        memcpy(to + used, as, add);
        used += add;
        i += take - 1;
    }
    to[used] = '\0';
    return true;
}

static bool equal_folded(const char *a, const char *b)
{
    for (; *a && *b; a++, b++)
        if (tolower((unsigned char)*a) != tolower((unsigned char)*b))
            return false;
    return *a == *b;
}

/* Level units.  Words are case-blind ("DBM", "dbuv", "mw"), but for the prefix that tells milli from mega. */
static const struct {
    const char *name, *printed;
    spurity_level_unit unit;
    bool exact_prefix;
    double to_watt_or_volt; /* linear: W or V per unit */
    double offset_dbm;      /* decibel powers: dBm = value + offset */
} level_units[] = {
    {"dBm", "dBm", SPURITY_LEVEL_DBM, false, 0, 0},
    {"dBW", "dBW", SPURITY_LEVEL_DBW, false, 0, 30},
    {"dBV", "dBV", SPURITY_LEVEL_DBV, false, 1, 0},
    {"dBmV", "dBmV", SPURITY_LEVEL_DBMV, false, 1e-3, 0},
    {"dBuV", "dB\xC2\xB5V", SPURITY_LEVEL_DBUV, false, 1e-6, 0},
    {"V", "V", SPURITY_LEVEL_VOLT, false, 1, 0},
    {"mV", "mV", SPURITY_LEVEL_MILLIVOLT, true, 1e-3, 0},
    {"uV", "\xC2\xB5V", SPURITY_LEVEL_MICROVOLT, false, 1e-6, 0},
    {"W", "W", SPURITY_LEVEL_WATT, false, 1, 0},
    {"mW", "mW", SPURITY_LEVEL_MILLIWATT, true, 1e-3, 0},
    {"uW", "\xC2\xB5W", SPURITY_LEVEL_MICROWATT, false, 1e-6, 0},
    {"nW", "nW", SPURITY_LEVEL_NANOWATT, false, 1e-9, 0},
    {"dB", "dB", SPURITY_LEVEL_DB, false, 0, 0},
    {"dBuV/m", "dB\xC2\xB5V/m", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"dBuA",
     "dB\xC2\xB5"
     "A",
     SPURITY_LEVEL_OTHER, false, 0, 0},
    {"dBm/Hz", "dBm/Hz", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"dBc", "dBc", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"dBFS", "dBFS", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"dBi", "dBi", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"dBd", "dBd", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"%", "%", SPURITY_LEVEL_OTHER, false, 0, 0},
    {"deg", "deg", SPURITY_LEVEL_OTHER, false, 0, 0},
};

enum { LEVEL_UNIT_ROWS = sizeof level_units / sizeof *level_units };

spurity_level_unit spurity_level_unit_from_text(const char *text, size_t length)
{
    char folded[24];
    if (!fold(text, length, folded, sizeof folded))
        return SPURITY_LEVEL_UNKNOWN;
    for (size_t i = 0; i < LEVEL_UNIT_ROWS; i++)
        if (equal_folded(folded, level_units[i].name) &&
            (!level_units[i].exact_prefix || folded[0] == level_units[i].name[0]))
            return level_units[i].unit;
    return SPURITY_LEVEL_UNKNOWN;
}

const char *spurity_level_unit_name(spurity_level_unit unit)
{
    for (size_t i = 0; i < LEVEL_UNIT_ROWS; i++)
        if (level_units[i].unit == unit)
            return unit == SPURITY_LEVEL_OTHER ? "other" : level_units[i].printed;
    return "unknown";
}

bool spurity_level_unit_is_linear(spurity_level_unit unit)
{
    return unit >= SPURITY_LEVEL_VOLT && unit <= SPURITY_LEVEL_NANOWATT;
}

/* P = V^2 / R, so dBm = 20 log10(V) + 30 - 10 log10(R). */
double spurity_level_to_dbm(spurity_level_unit unit, double value, double ohm)
{
    for (size_t i = 0; i < LEVEL_UNIT_ROWS; i++) {
        if (level_units[i].unit != unit)
            continue;
        double scale = level_units[i].to_watt_or_volt;
        switch (unit) {
        case SPURITY_LEVEL_DBM:
        case SPURITY_LEVEL_DBW:
            return value + level_units[i].offset_dbm;
        case SPURITY_LEVEL_DBV:
        case SPURITY_LEVEL_DBMV:
        case SPURITY_LEVEL_DBUV:
            return value + 20.0 * log10(scale) + 30.0 - 10.0 * log10(ohm);
        case SPURITY_LEVEL_VOLT:
        case SPURITY_LEVEL_MILLIVOLT:
        case SPURITY_LEVEL_MICROVOLT:
            return value > 0 ? 20.0 * log10(value * scale) + 30.0 - 10.0 * log10(ohm) : (double)NAN;
        case SPURITY_LEVEL_WATT:
        case SPURITY_LEVEL_MILLIWATT:
        case SPURITY_LEVEL_MICROWATT:
        case SPURITY_LEVEL_NANOWATT:
            return value > 0 ? spurity_dbm_from_watts(value * scale) : (double)NAN;
        default:
            return (double)NAN;
        }
    }
    return (double)NAN;
}

double spurity_frequency_unit_from_text(const char *text, size_t length)
{
    static const struct {
        const char *name;
        double hz;
    } units[] = {{"Hz", 1},  {"kHz", 1e3}, {"MHz", 1e6}, {"GHz", 1e9}, {"THz", 1e12},
                 {"k", 1e3}, {"M", 1e6},   {"G", 1e9},   {"T", 1e12},  {"Hertz", 1}};
    char folded[24];
    if (!fold(text, length, folded, sizeof folded))
        return 0;
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (equal_folded(folded, units[i].name))
            return units[i].hz;
    return 0;
}

/* ---- what people type ---- */

/* A number and the unit behind it.  False when there is no number. */
static bool split(const char *text, double *value, char *unit, size_t size)
{
    while (isspace((unsigned char)*text))
        text++;
    size_t took = spurity_number_parse(text, strlen(text), '.', value);
    if (!took || !isfinite(*value))
        return false;
    return fold(text + took, strlen(text + took), unit, size);
}

static spurity_status refuse(const char *text, const char *what, spurity_place at, const char *expected,
                             spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, at, expected, NULL, "'%.100s' for %s", text, what);
}

spurity_status spurity_parse_frequency(const char *text, const char *what, spurity_place at, double *hz,
                                       spurity_error *error)
{
    const char *expected = "a frequency such as 146.94M, 12.5kHz or 27185000";
    double value, scale = 1;
    char unit[24];
    if (!split(text, &value, unit, sizeof unit) ||
        (*unit && (scale = spurity_frequency_unit_from_text(unit, strlen(unit))) <= 0))
        return refuse(text, what, at, expected, error);
    if (fabs(value * scale) > 1e15)
        return refuse(text, what, at, "a frequency of at most 1e15 Hz", error);
    *hz = value * scale;
    return SPURITY_OK;
}

/* Prefixes of watts; case tells milli from mega. */
static double watt_unit(const char *unit)
{
    static const struct {
        const char *name;
        double watts;
    } units[] = {{"W", 1},     {"w", 1},     {"mW", 1e-3},  {"mw", 1e-3}, {"uW", 1e-6}, {"uw", 1e-6},
                 {"nW", 1e-9}, {"nw", 1e-9}, {"pW", 1e-12}, {"kW", 1e3},  {"kw", 1e3},  {"MW", 1e6}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++)
        if (!strcmp(unit, units[i].name))
            return units[i].watts;
    return 0;
}

/* dBm of a power in whatever unit it was told; false when the unit is no power. */
static bool power_dbm(double value, const char *unit, double *dbm)
{
    double scale = watt_unit(unit);
    if (scale > 0) {
        *dbm = spurity_dbm_from_watts(value * scale);
        return value > 0 && fabs(*dbm) <= 300; /* false for an overflow to infinity, too */
    }
    spurity_level_unit level = spurity_level_unit_from_text(unit, strlen(unit));
    if (level != SPURITY_LEVEL_DBM && level != SPURITY_LEVEL_DBW)
        return false;
    *dbm = spurity_level_to_dbm(level, value, 50);
    return fabs(*dbm) <= 300;
}

spurity_status spurity_parse_power(const char *text, const char *what, spurity_place at, double *watts,
                                   spurity_error *error)
{
    double value, dbm;
    char unit[24];
    if (!split(text, &value, unit, sizeof unit) || !power_dbm(value, unit, &dbm))
        return refuse(text, what, at, "a power with its unit, such as 4.7W, 25uW or 36.7dBm", error);
    double scale = watt_unit(unit);
    *watts = scale > 0 ? value * scale : spurity_watts_from_dbm(dbm);
    return SPURITY_OK;
}

spurity_status spurity_parse_level(const char *text, const char *what, spurity_place at, double *dbm,
                                   spurity_error *error)
{
    double value, level;
    char unit[24];
    if (!split(text, &value, unit, sizeof unit) || !power_dbm(value, unit, &level))
        return refuse(text, what, at, "a level with its unit, such as -16dBm or 25uW", error);
    *dbm = level;
    return SPURITY_OK;
}

/* A plain number with one optional unit word. */
static spurity_status plain(const char *text, const char *what, spurity_place at, const char *unit_word, double least,
                            double most, const char *expected, double *out, spurity_error *error)
{
    double value;
    char unit[24];
    if (!split(text, &value, unit, sizeof unit) || (*unit && !equal_folded(unit, unit_word)) || value < least ||
        value > most)
        return refuse(text, what, at, expected, error);
    *out = value;
    return SPURITY_OK;
}

spurity_status spurity_parse_ratio(const char *text, const char *what, spurity_place at, double *db,
                                   spurity_error *error)
{
    return plain(text, what, at, "dB", -1000, 1000, "a ratio such as 40dB", db, error);
}

spurity_status spurity_parse_impedance(const char *text, const char *what, spurity_place at, double *ohm,
                                       spurity_error *error)
{
    return plain(text, what, at, "ohm", 1e-3, 1e6, "an impedance such as 50 or 75ohm", ohm, error);
}

spurity_status spurity_parse_ppm(const char *text, const char *what, spurity_place at, double *ppm,
                                 spurity_error *error)
{
    return plain(text, what, at, "ppm", 0, 1e6, "parts per million such as 2.5ppm", ppm, error);
}

spurity_status spurity_parse_time(const char *text, const char *what, spurity_place at, double *seconds,
                                  spurity_error *error)
{
    double value, scale = 0;
    char unit[24];
    if (split(text, &value, unit, sizeof unit) && value >= 0)
        scale = !*unit || equal_folded(unit, "s") ? 1
                : equal_folded(unit, "ms")        ? 1e-3
                : equal_folded(unit, "us")        ? 1e-6
                : equal_folded(unit, "min")       ? 60
                                                  : 0;
    if (scale <= 0)
        return refuse(text, what, at, "a time such as 2s or 200ms", error);
    *seconds = value * scale;
    return SPURITY_OK;
}

spurity_status spurity_parse_count(const char *text, const char *what, spurity_place at, long least, long most,
                                   long *value, spurity_error *error)
{
    double number;
    char unit[24], expected[80];
    snprintf(expected, sizeof expected, "a whole number from %ld to %ld", least, most);
    if (!split(text, &number, unit, sizeof unit) || *unit || number != floor(number) || number < (double)least ||
        number > (double)most)
        return refuse(text, what, at, expected, error);
    *value = (long)number;
    return SPURITY_OK;
}

static int days_in_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return month == 2 && leap ? 29 : days[month - 1];
}

spurity_status spurity_parse_date(const char *text, const char *what, spurity_place at, spurity_date *date,
                                  spurity_error *error)
{
    const char *form = "dddd-dd-dd";
    int part[3] = {0, 0, 0}, field = 0;
    bool good = strlen(text) == 10;
    for (int i = 0; good && i < 10; i++) {
        if (form[i] == '-')
            good = text[i] == '-', field++;
        else if (isdigit((unsigned char)text[i]))
            part[field] = 10 * part[field] + (text[i] - '0');
        else
            good = false;
    }
    if (!good || part[0] < 1 || part[1] < 1 || part[1] > 12 || part[2] < 1 || part[2] > days_in_month(part[0], part[1]))
        return refuse(text, what, at, "a day that exists, such as 2003-01-31", error);
    *date = part[0] * 10000 + part[1] * 100 + part[2];
    return SPURITY_OK;
}

spurity_dimension spurity_dimension_of(const char *text)
{
    double value, dbm;
    char unit[24];
    if (!split(text, &value, unit, sizeof unit))
        return SPURITY_DIMENSION_OTHER;
    if (!*unit)
        return SPURITY_DIMENSION_NONE;
    if (watt_unit(unit) > 0)
        return SPURITY_DIMENSION_POWER;
    if (power_dbm(value, unit, &dbm))
        return SPURITY_DIMENSION_LEVEL;
    if (spurity_level_unit_from_text(unit, strlen(unit)) == SPURITY_LEVEL_DB)
        return SPURITY_DIMENSION_RATIO;
    return spurity_frequency_unit_from_text(unit, strlen(unit)) > 0 ? SPURITY_DIMENSION_FREQUENCY
                                                                    : SPURITY_DIMENSION_OTHER;
}
