/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The sum behind a leaf's figure, written so that a reader with a pocket calculator gets the same. */
#include <math.h>
#include <stdio.h>

#include "internal.h"

/* Five significant digits: 0.0004 dB in a logarithm of a power. */
static double to_five_digits(double value)
{
    double step = pow(10, floor(log10(fabs(value))) - 4);
    return value > 0 ? step * round(value / step) : value;
}

static double to_hundredth(double value)
{
    return round(value * 100) / 100;
}

/* The rule's own figure as a power, where three digits tell it; what is written in dBm needs no sum. */
static void work_level(const spurity_limit *limit, char *text, size_t size)
{
    double watts = spurity_watts_from_dbm(limit->level), back;
    char power[60], dbm[40];
    if (limit->unit != LEVEL_DBM)
        return;
    spurity_format_power(power, sizeof power, watts);
    if (spurity_parse_power(power, "level", (spurity_place){0}, &back, NULL) || fabs(back / watts - 1) > 1e-4)
        return;
    spurity_print_plain(dbm, sizeof dbm, to_hundredth(limit->level));
    snprintf(text, size, "10 dB x log10(%s / 1 mW) = %s dBm", power, dbm);
}

static void print_variable(const spurity_limit *limit, double x, char *text, size_t size)
{
    char figure[60];
    if (limit->variable == VARIABLE_POWER)
        snprintf(text, size, "%s W", spurity_print_plain(figure, sizeof figure, to_five_digits(x)));
    else
        spurity_format_frequency(text, size, x, 6);
}

/* "4.5323 W / 1 W", "(12.5 kHz)^2 / 11 kHz^2" */
static void print_argument(const spurity_limit *limit, double x, char *text, size_t size)
{
    char value[48], scale[48], less[48];
    print_variable(limit, x, value, sizeof value);
    print_variable(limit, limit->scale, scale, sizeof scale);
    if (limit->form == FORM_LOG10 && limit->exponent == 2) {
        double unit = limit->variable == VARIABLE_POWER ? 1 : 1e6; /* square watts or square kHz */
        snprintf(text, size, "(%s)^2 / %s %s^2", value, spurity_print_plain(scale, sizeof scale, limit->scale / unit),
                 limit->variable == VARIABLE_POWER ? "W" : "kHz");
    } else if (limit->form == FORM_TIMES && (limit->minus > 0 || limit->minus < 0)) {
        print_variable(limit, limit->minus, less, sizeof less);
        snprintf(text, size, "(%s - %s) / %s", value, less, scale);
    } else {
        snprintf(text, size, "%s / %s", value, scale);
    }
}

void spurity_limit_work(const spurity_limit *limit, const spurity_conditions *conditions, double hz, char *text,
                        size_t size)
{
    double value, x = hz;
    char a[40], b[40], argument[160], sum[40];
    text[0] = '\0';
    if (limit->child_count || !spurity_limit_value(limit, conditions, hz, &value, NULL))
        return;
    if (limit->kind == SPURITY_LIMIT_LEVEL) {
        work_level(limit, text, size);
        return;
    }
    if (limit->form == FORM_FIXED)
        return;
    if (limit->variable == VARIABLE_POWER)
        x = spurity_reference_watts(limit->reference, conditions);
    if (limit->variable == VARIABLE_OFFSET)
        x = fabs(hz - spurity_centre_hz(limit->clause, conditions));
    print_argument(limit, x, argument, sizeof argument);
    spurity_print_plain(a, sizeof a, limit->a);
    spurity_print_plain(b, sizeof b, limit->b);
    spurity_print_plain(sum, sizeof sum, to_hundredth(value));
    bool log10_form = limit->form == FORM_LOG10, first = limit->a < 0.0 || limit->a > 0.0;
    snprintf(text, size, "%s%s%s dB x %s%s%s = %s dB", first ? a : "", first ? " dB + " : "", b,
             log10_form ? "log10(" : "", argument, log10_form ? ")" : "", sum);
}
