/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_UNITS_H
#define SPURITY_UNITS_H
/* Quantities: parsing, printing, conversion.  No other stage converts.
 *
 * Base units: Hz, W, dBm, dB, ohm, s, ppm.  A level is a mean power at a place, in dBm; a ratio is in dB.
 * Numbers are read and written with a point whatever the locale; no hexadecimal, no "inf", no "nan". */
#include "../error/error.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- conversions (exact definitions; checked against reference tables in tests/published) --------- */

SPURITY_API double spurity_dbm_from_watts(double watts); /* 10 log10(P / 1 mW); 0 W gives -infinity */
SPURITY_API double spurity_watts_from_dbm(double dbm);
SPURITY_API double spurity_db_from_ratio(double power_ratio);
SPURITY_API double spurity_ratio_from_db(double db); /* power ratio */

/** Units a column of levels may have. */
typedef enum spurity_level_unit {
    SPURITY_LEVEL_UNKNOWN = 0,
    SPURITY_LEVEL_DBM,
    SPURITY_LEVEL_DBW,
    SPURITY_LEVEL_DBV, /* voltages are rms, into the impedance told */
    SPURITY_LEVEL_DBMV,
    SPURITY_LEVEL_DBUV,
    SPURITY_LEVEL_VOLT,
    SPURITY_LEVEL_MILLIVOLT,
    SPURITY_LEVEL_MICROVOLT,
    SPURITY_LEVEL_WATT,
    SPURITY_LEVEL_MILLIWATT,
    SPURITY_LEVEL_MICROWATT,
    SPURITY_LEVEL_NANOWATT,
    SPURITY_LEVEL_DB,    /* a ratio, not a level at a terminal: good for loss tables only */
    SPURITY_LEVEL_OTHER, /* a known unit that is no level at a terminal (dBuV/m, dBm/Hz, dBc, dBFS, %, deg) */
    SPURITY_LEVEL_UNITS  /* how many; not a unit */
} spurity_level_unit;

/** Unit from its text ("dBm", "dBµV", "dBuV", "dbmv", "V", "mW", "µW" ...; UTF-8, case forgiving where it is
 *  unambiguous; blanks around are ignored).  UNKNOWN when it is none. */
SPURITY_API spurity_level_unit spurity_level_unit_from_text(const char *text, size_t length);
SPURITY_API const char *spurity_level_unit_name(spurity_level_unit unit);
/** True for a linear unit (V, W and their parts), where 0 or less is no level. */
SPURITY_API bool spurity_level_unit_is_linear(spurity_level_unit unit);
/** `value` in `unit` as dBm into `ohm`.  NaN for a unit that is no level, or a linear value <= 0. */
SPURITY_API double spurity_level_to_dbm(spurity_level_unit unit, double value, double ohm);

/** Hertz per unit for "Hz", "kHz", "MHz", "GHz", "THz" (case-blind; "mHz" means MHz; "M", "k", "G" alone too).
 *  0 when the text is no unit of frequency. */
SPURITY_API double spurity_frequency_unit_from_text(const char *text, size_t length);

/* ---- reading what people type ---------------------------------------------------------------------
 * Each fails with INVALID, naming what was found and what forms are right; *out is then untouched.
 * `at` tells where the text stands (a file's line, or {0} for an option; then `what` names it). */

/** Finds one number at the start of text: sign, digits, one decimal mark ('.' or ','), exponent e/E/d/D.
 *  Returns how many bytes it took, 0 when there is no number.  The value is the nearest double, exactly as strtod
 *  gives it in the C locale.  Reads no byte at or beyond text + length. */
SPURITY_API size_t spurity_number_parse(const char *text, size_t length, char decimal_mark, double *value);

/** "146.94M", "146.94 MHz", "12.5k", "9 kHz", "27185000" (Hz). Finite; sign allowed. */
SPURITY_API spurity_status spurity_parse_frequency(const char *text, const char *what, spurity_place at, double *hz,
                                                   spurity_error *error);
/** "4.7W", "25 uW", "25µW", "1.5kW", "36.7dBm", "-16 dBm", "6dBW"; a unit is required.  Watts, > 0. */
SPURITY_API spurity_status spurity_parse_power(const char *text, const char *what, spurity_place at, double *watts,
                                               spurity_error *error);
/** As spurity_parse_power, result in dBm. */
SPURITY_API spurity_status spurity_parse_level(const char *text, const char *what, spurity_place at, double *dbm,
                                               spurity_error *error);
/** "40dB", "40 dB", "40". */
SPURITY_API spurity_status spurity_parse_ratio(const char *text, const char *what, spurity_place at, double *db,
                                               spurity_error *error);
/** "50", "50ohm", "50 Ω"; > 0. */
SPURITY_API spurity_status spurity_parse_impedance(const char *text, const char *what, spurity_place at, double *ohm,
                                                   spurity_error *error);
/** "2.5ppm", "2.5". */
SPURITY_API spurity_status spurity_parse_ppm(const char *text, const char *what, spurity_place at, double *ppm,
                                             spurity_error *error);
/** "2s", "200 ms", "2". Seconds, >= 0. */
SPURITY_API spurity_status spurity_parse_time(const char *text, const char *what, spurity_place at, double *seconds,
                                              spurity_error *error);
/** A whole number in [least, most]. */
SPURITY_API spurity_status spurity_parse_count(const char *text, const char *what, spurity_place at, long least,
                                               long most, long *value, spurity_error *error);

/** A day of the proleptic Gregorian calendar, as yyyymmdd (2003-01-01 is 20030101); 0 = not said.  Compares as a
 * number. */
typedef int32_t spurity_date;
/** ISO 8601 "2003-01-01"; a day that does not exist is INVALID. */
SPURITY_API spurity_status spurity_parse_date(const char *text, const char *what, spurity_place at, spurity_date *date,
                                              spurity_error *error);

/** What the text's unit says it is; for fields told apart by unit ("40dB,0.5dB,1G,50W"). */
typedef enum spurity_dimension {
    SPURITY_DIMENSION_NONE, /* no unit */
    SPURITY_DIMENSION_FREQUENCY,
    SPURITY_DIMENSION_POWER, /* W and parts */
    SPURITY_DIMENSION_LEVEL, /* dBm, dBW */
    SPURITY_DIMENSION_RATIO, /* dB */
    SPURITY_DIMENSION_OTHER
} spurity_dimension;
SPURITY_API spurity_dimension spurity_dimension_of(const char *text);

/* ---- printing for people --------------------------------------------------------------------------
 * Each writes into text (size > 0, always NUL-terminated) and returns text. Units stand after a blank. */

/** "146.94 MHz", "12.5 kHz", "1.5 GHz": shortest digits that tell hz to 1 Hz, at most `decimals` after the point (use
 * 6). */
SPURITY_API char *spurity_format_frequency(char *text, size_t size, double hz, int decimals);
/** As spurity_format_frequency, rounded to the power of ten at or below resolution_hz (what the reading resolves):
 * 293.879983 MHz told to 2 kHz is "293.88 MHz". */
SPURITY_API char *spurity_format_frequency_near(char *text, size_t size, double hz, double resolution_hz);
/** "4.7 W", "25 µW", "1.5 kW", three significant digits. */
SPURITY_API char *spurity_format_power(char *text, size_t size, double watts);
/** "-57.8": one decimal, ASCII minus; "-0.0" becomes "0.0"; not finite: "-". */
SPURITY_API char *spurity_format_db(char *text, size_t size, double db);
/** "2003-01-01". */
SPURITY_API char *spurity_format_date(char *text, size_t size, spurity_date date);

#ifdef __cplusplus
}
#endif
#endif
