/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A clause's conditions and place in words. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

/** A text that grows, cut at its end. */
struct growing {
    char *text;
    size_t size;
};

static void add(const struct growing *out, const char *format, ...) SPURITY_PRINTF(2, 3);
static void add(const struct growing *out, const char *format, ...)
{
    size_t used = strlen(out->text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(out->text + used, out->size - used, format, arguments);
    va_end(arguments);
}

static const char *comma(const struct growing *out)
{
    return out->text[0] ? ", " : "";
}

static void add_range(const struct growing *out, const char *what, const struct rules_range *range, rules_print *print)
{
    char bounds[160];
    if (!spurity_range_is_set(range))
        return;
    spurity_range_describe(range, print, bounds, sizeof bounds);
    add(out, "%s%s %s", comma(out), what, bounds);
}

static void add_list(const struct growing *out, const char *what, char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (i)
            add(out, " or %s", list[i]);
        else
            add(out, "%s%s %s", comma(out), what, list[i]);
    }
}

static void add_bands(const struct growing *out, const double *pairs, size_t count)
{
    char low[60], high[60];
    for (size_t i = 0; i < count; i++) {
        spurity_print_frequency(low, sizeof low, pairs[2 * i]);
        spurity_print_frequency(high, sizeof high, pairs[2 * i + 1]);
        add(out, "%s%s%s to %s", i ? " or " : comma(out), i ? "" : "carrier from ", low, high);
    }
}

void spurity_clause_describe_conditions(const spurity_clause *clause, char *text, size_t size)
{
    const struct growing out = {text, size};
    text[0] = '\0';
    add_range(&out, "carrier", &clause->carrier, spurity_print_frequency);
    add_bands(&out, clause->applies_bands, clause->applies_band_count);
    add_range(&out, spurity_reference_name(clause->power_of), &clause->power, spurity_format_power);
    for (int kind = 0; kind < 3; kind++)
        add_range(&out, spurity_date_words[kind], &clause->dates[kind], spurity_print_date);
    add_range(&out, "authorised bandwidth", &clause->bandwidth, spurity_print_frequency);
    add_list(&out, "channel", clause->channels, clause->channel_count);
    add_list(&out, "emission", clause->emissions, clause->emission_count);
    add_list(&out, "station", clause->stations, clause->station_count);
    if (clause->audio_filter >= 0)
        add(&out, "%s%s audio filter", comma(&out), clause->audio_filter ? "with" : "without");
}

void spurity_clause_describe_where(const spurity_clause *clause, char *text, size_t size)
{
    char bounds[160];
    const struct rules_where *where = &clause->where;
    spurity_quantity_limited quantity = clause->facts.quantity;
    text[0] = '\0';
    if (quantity != SPURITY_QUANTITY_SPURIOUS_EMISSION && quantity != SPURITY_QUANTITY_MASK)
        return;
    struct rules_range shown = where->range;
    if (where->kind == WHERE_HARMONICS)
        shown = (struct rules_range){.low = {where->width.value, true, true, where->width.percent}};
    spurity_range_describe(&shown, spurity_print_frequency, bounds, sizeof bounds);
    switch (where->kind) {
    case WHERE_ANYWHERE:
        snprintf(text, size, "at every frequency");
        break;
    case WHERE_FROM:
    case WHERE_OFFSET:
        if (where->from_necessary_bandwidth)
            snprintf(text, size, "from the edge of the necessary bandwidth outwards");
        else if (where->from_spurious_domain)
            snprintf(text, size, "from the boundary of the spurious domain outwards");
        else
            snprintf(text, size, "%s from the centre of the %s", bounds,
                     where->from_channel_centre ? "channel" : "emission");
        break;
    case WHERE_ABSOLUTE:
        snprintf(text, size, "%s", bounds);
        break;
    case WHERE_HARMONICS:
        snprintf(text, size, "around each harmonic, %s wide", bounds + strlen("from "));
        break;
    }
    if (!spurity_range_is_set(&where->within))
        return;
    const struct growing out = {text, size};
    spurity_range_describe(&where->within, spurity_print_frequency, bounds, sizeof bounds);
    add(&out, ", at frequencies %s", bounds);
}

double spurity_clause_reference_bandwidth(const spurity_clause *clause, double hz)
{
    const struct rules_reference *reference = &clause->reference;
    if (!reference->said)
        return NAN;
    if (reference->itu) /* Rec. ITU-R SM.329, recommends 4.1 */
        return hz < 150e3 ? 1e3 : hz < 30e6 ? 10e3 : hz <= 1e9 ? 100e3 : 1e6;
    return hz > reference->step_hz ? reference->above_hz : reference->hz;
}
