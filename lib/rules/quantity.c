/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Figures with their units, ranges and bands of a rule file. */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

spurity_status spurity_rules_bad(const struct rules_loader *loader, int node, const char *expected, const char *advice,
                                 const char *format, ...)
{
    char found[120];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(found, sizeof found, format, arguments);
    va_end(arguments);
    return spurity_document_bad(loader->document, node, loader->error, expected, advice, "%s", found);
}

spurity_status spurity_rules_word(const struct rules_loader *loader, int node, const char *const *words,
                                  const char *text, int *index)
{
    return spurity_document_word(loader->document, node, loader->error, words, text, index);
}

static spurity_status parse(const char *text, enum rules_measure measure, double *value, spurity_error *error)
{
    const char *what = "figure";
    spurity_place nowhere = {0};
    spurity_date date = 0;
    spurity_status status;
    switch (measure) {
    case MEASURE_FREQUENCY:
        return spurity_parse_frequency(text, what, nowhere, value, error);
    case MEASURE_POWER:
        return spurity_parse_power(text, what, nowhere, value, error);
    case MEASURE_LEVEL:
        return spurity_parse_level(text, what, nowhere, value, error);
    case MEASURE_RATIO:
        return spurity_parse_ratio(text, what, nowhere, value, error);
    case MEASURE_PPM:
        return spurity_parse_ppm(text, what, nowhere, value, error);
    case MEASURE_DATE:
        break;
    }
    status = spurity_parse_date(text, what, nowhere, &date, error);
    *value = date;
    return status;
}

spurity_status spurity_rules_quantity(const struct rules_loader *loader, int node, const char *text,
                                      enum rules_measure measure, double *value)
{
    static const char *const forms[] = {"a frequency with its unit, as 12.5 kHz",
                                        "a power with its unit, as 25 W",
                                        "a level with its unit, as 25 uW or -16 dBm",
                                        "a ratio in dB, as 40 dB",
                                        "an accuracy in ppm, as 2.5 ppm",
                                        "a date, as 2003-01-01"};
    spurity_error reason = {0};
    if (measure != MEASURE_DATE && spurity_dimension_of(text) == SPURITY_DIMENSION_NONE)
        return spurity_rules_bad(loader, node, forms[measure], NULL, "'%.50s', a figure without a unit,", text);
    if (!parse(text, measure, value, &reason))
        return SPURITY_OK;
    return spurity_rules_bad(loader, node, forms[measure], reason.advice[0] ? reason.advice : NULL, "'%.50s'", text);
}

/** "250 %": the number before the sign. */
static bool parse_percent(const char *text, double *percent)
{
    size_t length = strlen(text);
    if (!length || text[length - 1] != '%')
        return false;
    size_t taken = spurity_number_parse(text, length, '.', percent);
    return taken && taken + strspn(text + taken, " ") == length - 1 && isfinite(*percent) && *percent >= 0.0;
}

spurity_status spurity_rules_width(const struct rules_loader *loader, int node, const char *text, struct rules_end *end)
{
    end->set = true;
    if (strchr(text, '%')) {
        end->percent = true;
        if (parse_percent(text, &end->value))
            return SPURITY_OK;
        return spurity_rules_bad(loader, node, "a share of the authorised bandwidth, as 250 %", NULL, "'%.50s'", text);
    }
    if (spurity_dimension_of(text) == SPURITY_DIMENSION_NONE)
        return spurity_rules_bad(
            loader, node, "a frequency with its unit, as 12.5 kHz, or a share of the authorised bandwidth, as 250 %",
            NULL, "'%.50s', a figure without a unit,", text);
    spurity_status status = spurity_rules_quantity(loader, node, text, MEASURE_FREQUENCY, &end->value);
    if (!status && end->value < 0.0)
        return spurity_rules_bad(loader, node, "a frequency of 0 or more", NULL, "'%.50s'", text);
    return status;
}

/** One of two words that name the same end. */
static spurity_status read_end(const struct rules_loader *loader, int node, const char *including,
                               const char *excluding, const char *including_key, const char *excluding_key,
                               enum rules_measure measure, bool percent_allowed, struct rules_end *end)
{
    if (including && excluding)
        return spurity_rules_bad(loader, node, "one of them", NULL, "both '%s' and '%s'", including_key, excluding_key);
    const char *text = including ? including : excluding;
    if (!text)
        return SPURITY_OK;
    int at = spurity_document_key(loader->document, node, including ? including_key : excluding_key);
    end->set = true;
    end->inclusive = including != NULL;
    if (percent_allowed)
        return spurity_rules_width(loader, at, text, end);
    spurity_status status = spurity_rules_quantity(loader, at, text, measure, &end->value);
    if (!status && measure == MEASURE_FREQUENCY && end->value < 0.0)
        return spurity_rules_bad(loader, at, "a frequency of 0 or more", NULL, "'%.50s'", text);
    return status;
}

spurity_status spurity_rules_range(const struct rules_loader *loader, int node, const struct raw_range *raw,
                                   enum rules_measure measure, bool percent_allowed, struct rules_range *range)
{
    if (!raw)
        return SPURITY_OK;
    range->line = loader->document->nodes[node].line;
    spurity_status status =
        read_end(loader, node, raw->from, raw->above, "from", "above", measure, percent_allowed, &range->low);
    if (!status)
        status =
            read_end(loader, node, raw->up_to, raw->below, "up_to", "below", measure, percent_allowed, &range->high);
    if (status)
        return status;
    const struct rules_end *low = &range->low, *high = &range->high;
    if (!low->set && !high->set)
        return spurity_rules_bad(loader, node, "one or two of from, above, up_to, below", NULL, "no end");
    if (!low->set || !high->set || low->percent != high->percent)
        return SPURITY_OK;
    if (low->value > high->value || (low->value >= high->value && !(low->inclusive && high->inclusive)))
        return spurity_rules_bad(loader, node, "its lower end below its upper end", NULL,
                                 "an empty range ('%.40s' to '%.40s')", raw->from ? raw->from : raw->above,
                                 raw->up_to ? raw->up_to : raw->below);
    return SPURITY_OK;
}

static spurity_status read_band(const struct rules_loader *loader, int node, const struct raw_band *raw, double *pair)
{
    bool ends = raw->from && raw->up_to && !raw->centre && !raw->width;
    bool spot = raw->centre && raw->width && !raw->from && !raw->up_to;
    if (!ends && !spot)
        return spurity_rules_bad(loader, node, "{from, up_to} or {centre, width}", NULL, "another form of a band");
    const char *keys[2] = {ends ? "from" : "centre", ends ? "up_to" : "width"};
    const char *texts[2] = {ends ? raw->from : raw->centre, ends ? raw->up_to : raw->width};
    double value[2] = {0.0, 0.0};
    for (int i = 0; i < 2; i++) {
        int at = spurity_document_key(loader->document, node, keys[i]);
        spurity_status status = spurity_rules_quantity(loader, at, texts[i], MEASURE_FREQUENCY, &value[i]);
        if (status)
            return status;
    }
    pair[0] = ends ? value[0] : value[0] - value[1] / 2.0;
    pair[1] = ends ? value[1] : value[0] + value[1] / 2.0;
    if (pair[0] < 0.0 || pair[0] >= pair[1])
        return spurity_rules_bad(loader, node, "its lower end below its upper end", NULL, "an empty band");
    return SPURITY_OK;
}

spurity_status spurity_rules_bands(const struct rules_loader *loader, int node, const struct raw_band *raw,
                                   size_t count, double **pairs)
{
    if (!count)
        return SPURITY_OK;
    *pairs = calloc(count, 2 * sizeof **pairs);
    if (!*pairs)
        return spurity_report_memory(loader->error);
    for (size_t i = 0; i < count; i++) {
        spurity_status status =
            read_band(loader, spurity_document_item(loader->document, node, i), &raw[i], *pairs + 2 * i);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/* ---- using ranges -------------------------------------------------------------------------------- */

bool spurity_range_is_set(const struct rules_range *range)
{
    return range->low.set || range->high.set;
}

bool spurity_range_holds(const struct rules_range *range, double value)
{
    const struct rules_end *low = &range->low, *high = &range->high;
    if (low->set && (low->inclusive ? value < low->value : value <= low->value))
        return false;
    return !(high->set && (high->inclusive ? value > high->value : value >= high->value));
}

static bool end_equal(const struct rules_end *a, const struct rules_end *b)
{
    if (!a->set || !b->set)
        return a->set == b->set;
    return a->inclusive == b->inclusive && a->percent == b->percent && !(a->value < b->value) && !(a->value > b->value);
}

bool spurity_range_equal(const struct rules_range *a, const struct rules_range *b)
{
    return end_equal(&a->low, &b->low) && end_equal(&a->high, &b->high);
}

char *spurity_print_frequency(char *text, size_t size, double hz)
{
    return spurity_format_frequency(text, size, hz, 6);
}

char *spurity_print_plain(char *text, size_t size, double value)
{
    if (!(fabs(value) < 1e12))
        snprintf(text, size, "-");
    else {
        long long millionths = llround(fabs(value) * 1e6);
        snprintf(text, size, "%s%lld.%06lld", value < 0.0 && millionths ? "-" : "", millionths / 1000000,
                 millionths % 1000000);
        size_t length = strlen(text);
        while (length && text[length - 1] == '0')
            text[--length] = '\0';
        if (length && text[length - 1] == '.')
            text[length - 1] = '\0';
    }
    return text;
}

char *spurity_print_date(char *text, size_t size, double date)
{
    return spurity_format_date(text, size, (spurity_date)date);
}

static void print_end(const struct rules_end *end, rules_print *print, char *text, size_t size)
{
    char figure[40];
    if (end->percent)
        snprintf(text, size, "%s %% of the authorised bandwidth",
                 spurity_print_plain(figure, sizeof figure, end->value));
    else
        print(text, size, end->value);
}

void spurity_range_describe(const struct rules_range *range, rules_print *print, char *text, size_t size)
{
    char low[60] = "", high[60] = "";
    if (range->low.set)
        print_end(&range->low, print, low, sizeof low);
    if (range->high.set)
        print_end(&range->high, print, high, sizeof high);
    bool date = print == spurity_print_date;
    const char *above = date ? "after " : "above ", *below = date ? "before " : "below ";
    snprintf(text, size, "%s%s%s%s%s",
             !range->low.set        ? ""
             : range->low.inclusive ? "from "
                                    : above,
             low, range->low.set && range->high.set ? " " : "",
             !range->high.set        ? ""
             : range->high.inclusive ? "up to "
                                     : below,
             high);
}
