/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "units.h"

/* snprintf of one number with a point, whatever the locale. */
static void print_number(char *text, size_t size, int decimals, double value)
{
    char raw[400];
    snprintf(raw, sizeof raw, "%.*f", decimals, value);
    struct lconv *convention = localeconv();
    const char *point = convention->decimal_point;
    char *at = *point && strcmp(point, ".") ? strstr(raw, point) : NULL;
    if (at) {
        size_t length = strlen(point);
        *at = '.';
        memmove(at + 1, at + length, strlen(at + length) + 1);
    }
    snprintf(text, size, "%s", raw);
}

static void trim_zeros(char *text)
{
    if (!strchr(text, '.'))
        return;
    size_t end = strlen(text);
    while (text[end - 1] == '0')
        end--;
    if (text[end - 1] == '.')
        end--;
    text[end] = '\0';
}

char *spurity_format_frequency(char *text, size_t size, double hz, int decimals)
{
    static const struct {
        double scale;
        const char *unit;
    } units[] = {{1e9, "GHz"}, {1e6, "MHz"}, {1e3, "kHz"}, {1, "Hz"}};
    if (!isfinite(hz)) {
        snprintf(text, size, "-");
        return text;
    }
    size_t unit = 0;
    double rounded = round(hz);
    while (unit < 3 && fabs(rounded) < units[unit].scale)
        unit++;
    char number[400];
    print_number(number, sizeof number, unit == 3 ? (decimals < 3 ? decimals : 3) : decimals, hz / units[unit].scale);
    trim_zeros(number);
    snprintf(text, size, "%s %s", strcmp(number, "-0") ? number : "0", units[unit].unit);
    return text;
}

/* Digits finer than what the reading resolves say nothing: they are rounded away. */
char *spurity_format_frequency_near(char *text, size_t size, double hz, double resolution_hz)
{
    double grain = resolution_hz > 1 && isfinite(resolution_hz) ? pow(10, floor(log10(resolution_hz))) : 1;
    return spurity_format_frequency(text, size, grain * round(hz / grain), 9);
}

/* Decimals that leave three significant digits; the value lies in 1..1000 after scaling. */
char *spurity_format_power(char *text, size_t size, double watts)
{
    static const struct {
        double scale;
        const char *unit;
    } units[] = {{1e6, "MW"},         {1e3, "kW"},  {1, "W"},      {1e-3, "mW"},
                 {1e-6, "\xC2\xB5W"}, {1e-9, "nW"}, {1e-12, "pW"}, {1e-15, "fW"}};
    enum { LAST = sizeof units / sizeof *units - 1 };
    if (!isfinite(watts) || watts < 0) {
        snprintf(text, size, "-");
        return text;
    }
    size_t unit = watts > 0 ? 0 : 2; /* nothing is "0 W" */
    while (watts > 0 && unit < LAST && watts < units[unit].scale * 0.9995)
        unit++;
    double scaled = watts / units[unit].scale;
    char number[400];
    print_number(number, sizeof number, scaled < 9.995 ? 2 : scaled < 99.95 ? 1 : 0, scaled);
    trim_zeros(number);
    snprintf(text, size, "%s %s", number, units[unit].unit);
    return text;
}

char *spurity_format_db(char *text, size_t size, double db)
{
    if (!isfinite(db)) {
        snprintf(text, size, "-");
        return text;
    }
    char number[400];
    print_number(number, sizeof number, 1, db);
    snprintf(text, size, "%s", !strcmp(number, "-0.0") ? "0.0" : number);
    return text;
}

char *spurity_format_date(char *text, size_t size, spurity_date date)
{
    if (!date)
        snprintf(text, size, "-");
    else
        snprintf(text, size, "%04d-%02d-%02d", (int)(date / 10000), (int)(date / 100 % 100), (int)(date % 100));
    return text;
}
