/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a service's tables say of a carrier: its channel, its bandwidth, the range to be looked through. */
#include <stdio.h>
#include <string.h>

#include "internal.h"

/* ---- channels ------------------------------------------------------------------------------------ */

/** The channel whose frequency is nearest; NULL without a table or a carrier. */
static const struct rules_channel *nearest_channel(const struct spurity_rules *rules, double carrier_hz)
{
    const struct rules_channel *nearest = NULL;
    double best = INFINITY;
    if (!spurity_known(carrier_hz))
        return NULL;
    for (size_t i = 0; i < rules->channel_count; i++) {
        double away = fabs(carrier_hz - rules->channels[i].frequency_hz);
        if (away < best) {
            best = away;
            nearest = &rules->channels[i];
        }
    }
    return nearest;
}

static bool is_on(const struct rules_channel *channel, double carrier_hz)
{
    return fabs(carrier_hz - channel->frequency_hz) <= channel->bandwidth_hz / 2.0;
}

const struct rules_channel *spurity_rules_channel_of(const struct spurity_rules *rules,
                                                     const spurity_conditions *conditions)
{
    const struct rules_channel *nearest = nearest_channel(rules, conditions->carrier_hz);
    return nearest && is_on(nearest, conditions->carrier_hz) ? nearest : NULL;
}

static spurity_channel told(const struct rules_channel *row)
{
    spurity_channel channel = {.number = row->number,
                               .frequency_hz = row->frequency_hz,
                               .bandwidth_hz = row->bandwidth_hz,
                               .power_w = row->power_w,
                               .power_of = row->power_is_said_of ? (int)row->power_of : -1};
    return channel;
}

size_t spurity_rules_channel_count(const spurity_rules *rules)
{
    return rules->channel_count;
}

bool spurity_rules_channel_at(const spurity_rules *rules, size_t index, spurity_channel *channel)
{
    if (index >= rules->channel_count)
        return false;
    *channel = told(&rules->channels[index]);
    return true;
}

spurity_channel_found spurity_rules_channel(const spurity_rules *rules, double carrier_hz, spurity_channel *channel)
{
    const struct rules_channel *nearest = nearest_channel(rules, carrier_hz);
    if (!nearest)
        return SPURITY_CHANNEL_NO_TABLE;
    if (channel)
        *channel = told(nearest);
    return is_on(nearest, carrier_hz) ? SPURITY_CHANNEL_ON : SPURITY_CHANNEL_OFF;
}

/* ---- bandwidths ---------------------------------------------------------------------------------- */

/** 16K0F3E and F3E are the same type: three signs after an optional bandwidth of four. */
static void bare_type(const char *designator, char type[4])
{
    size_t length = strlen(designator);
    bool bandwidth = length >= 7 && strspn(designator, "0123456789HKMG") >= 4;
    snprintf(type, 4, "%s", designator + (bandwidth ? 4 : 0));
}

bool spurity_emissions_hold(char *const *list, size_t count, const char *text)
{
    char wanted[4], here[4];
    bare_type(text, wanted);
    for (size_t i = 0; i < count; i++) {
        bare_type(list[i], here);
        if (!strcmp(wanted, here))
            return true;
    }
    return false;
}

/** Whether a row speaks of this carrier and emission.  One with a list of emissions needs the emission said. */
static bool row_holds(const struct rules_bandwidth *row, const spurity_conditions *conditions)
{
    if (spurity_range_is_set(&row->carrier) &&
        !(spurity_known(conditions->carrier_hz) && spurity_range_holds(&row->carrier, conditions->carrier_hz)))
        return false;
    return !row->emission_count ||
           (conditions->emission && spurity_emissions_hold(row->emissions, row->emission_count, conditions->emission));
}

/** Rows of one emission go before rows of any. */
static bool has_special_row(const struct spurity_rules *rules, const spurity_conditions *conditions)
{
    for (size_t i = 0; i < rules->bandwidth_count; i++)
        if (rules->bandwidths[i].emission_count && row_holds(&rules->bandwidths[i], conditions))
            return true;
    return false;
}

static bool same_width(double a, double b)
{
    return fabs(a - b) <= 1.0; /* Hz: widths are told to the last figure, not measured */
}

/** The first row that holds and matches: `told_hz` its authorised bandwidth or its channel, or any row (NaN). */
static const struct rules_bandwidth *find_row(const struct spurity_rules *rules, const spurity_conditions *conditions,
                                              double told_hz, bool by_channel)
{
    bool special = has_special_row(rules, conditions);
    for (size_t i = 0; i < rules->bandwidth_count; i++) {
        const struct rules_bandwidth *row = &rules->bandwidths[i];
        if (!row_holds(row, conditions) || (special && !row->emission_count))
            continue;
        if (isnan(told_hz) || same_width(told_hz, by_channel ? row->channel_hz : row->authorised_hz))
            return row;
    }
    return NULL;
}

/** Whether all rows that hold authorise the same. */
static bool rows_agree(const struct spurity_rules *rules, const spurity_conditions *conditions, double authorised_hz)
{
    bool special = has_special_row(rules, conditions);
    for (size_t i = 0; i < rules->bandwidth_count; i++) {
        const struct rules_bandwidth *row = &rules->bandwidths[i];
        if (row_holds(row, conditions) && (!special || row->emission_count) &&
            !same_width(row->authorised_hz, authorised_hz))
            return false;
    }
    return true;
}

static spurity_bandwidth_source read_told(const struct spurity_rules *rules, const spurity_conditions *conditions,
                                          double *authorised_hz)
{
    const struct rules_channel *channel = spurity_rules_channel_of(rules, conditions);
    double hz = conditions->bandwidth_hz;
    *authorised_hz = hz;
    if (find_row(rules, conditions, hz, false) || (channel && same_width(hz, channel->bandwidth_hz)))
        return SPURITY_BANDWIDTH_TOLD_AUTHORISED;
    const struct rules_bandwidth *row = find_row(rules, conditions, hz, true);
    if (!row)
        return SPURITY_BANDWIDTH_AS_TOLD;
    *authorised_hz = row->authorised_hz;
    return SPURITY_BANDWIDTH_TOLD_CHANNEL;
}

spurity_bandwidth_source spurity_rules_bandwidth(const spurity_rules *rules, const spurity_conditions *conditions,
                                                 double *authorised_hz)
{
    *authorised_hz = NAN;
    if (spurity_known(conditions->bandwidth_hz))
        return read_told(rules, conditions, authorised_hz);
    const struct rules_channel *channel = spurity_rules_channel_of(rules, conditions);
    const struct rules_bandwidth *row = find_row(rules, conditions, NAN, false);
    if (row && (row->emission_count || !channel) && rows_agree(rules, conditions, row->authorised_hz)) {
        *authorised_hz = row->authorised_hz;
        return SPURITY_BANDWIDTH_ONLY_ONE;
    }
    if (!channel)
        return SPURITY_BANDWIDTH_UNKNOWN;
    *authorised_hz = channel->bandwidth_hz;
    return SPURITY_BANDWIDTH_OF_CHANNEL;
}

void spurity_rules_describe_bandwidth(const spurity_rules *rules, const spurity_conditions *conditions, char *text,
                                      size_t size)
{
    double hz = NAN;
    char width[60], told_width[60];
    spurity_bandwidth_source source = spurity_rules_bandwidth(rules, conditions, &hz);
    text[0] = '\0';
    if (source == SPURITY_BANDWIDTH_UNKNOWN)
        return;
    spurity_format_frequency(width, sizeof width, hz, 6);
    spurity_format_frequency(told_width, sizeof told_width, conditions->bandwidth_hz, 6);
    switch (source) {
    case SPURITY_BANDWIDTH_AS_TOLD:
        snprintf(text, size, "%s as told%s", width,
                 rules->bandwidth_count || rules->channel_count ? " (no width of the service's table)" : "");
        break;
    case SPURITY_BANDWIDTH_TOLD_AUTHORISED:
        snprintf(text, size, "%s, taken as the authorised bandwidth", width);
        break;
    case SPURITY_BANDWIDTH_TOLD_CHANNEL:
        snprintf(text, size, "%s, taken as the channel width; authorised in it %s", told_width, width);
        break;
    case SPURITY_BANDWIDTH_OF_CHANNEL:
        snprintf(text, size, "%s, of the channel", width);
        break;
    default:
        snprintf(text, size, "%s, the one the service has here", width);
        break;
    }
}

double spurity_clause_bandwidth(const struct spurity_clause *clause, const spurity_conditions *conditions)
{
    double hz = NAN;
    spurity_rules_bandwidth(clause->rules, conditions, &hz);
    return hz;
}

/* ---- range and station --------------------------------------------------------------------------- */

bool spurity_rules_investigated(const spurity_rules *rules, double carrier_hz, spurity_rules_span *span)
{
    if (!spurity_known(carrier_hz))
        return false;
    for (size_t i = 0; i < rules->span_count; i++) {
        const struct rules_span *row = &rules->spans[i];
        if (!spurity_range_holds(&row->carrier, carrier_hz))
            continue;
        *span = (spurity_rules_span){.from_hz = row->from_hz, .citation = row->citation, .confirmed = row->confirmed};
        span->to_hz = fmin(row->up_to_hz, row->harmonics * carrier_hz); /* fmin passes over an end not said */
        return true;
    }
    return false;
}

bool spurity_rules_antenna_fixed(const spurity_rules *rules)
{
    return rules->antenna_fixed;
}

bool spurity_rules_knows_station(const spurity_rules *rules, const char *station, char *allowed, size_t size)
{
    bool known = false;
    if (allowed && size)
        allowed[0] = '\0';
    for (size_t i = 0; i < rules->clause_count; i++) {
        const struct spurity_clause *clause = &rules->clauses[i];
        for (size_t k = 0; k < clause->station_count; k++) {
            known |= station && !strcmp(clause->stations[k], station);
            spurity_list_add(allowed, size, ", ", clause->stations[k]);
        }
    }
    return known;
}
