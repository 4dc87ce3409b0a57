/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whether a clause binds. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

void spurity_conditions_init(spurity_conditions *conditions)
{
    *conditions = (spurity_conditions){.carrier_hz = NAN,
                                       .mean_power_w = NAN,
                                       .pep_w = NAN,
                                       .carrier_power_w = NAN,
                                       .necessary_bandwidth_hz = NAN,
                                       .bandwidth_hz = NAN,
                                       .audio_filter = -1,
                                       .antenna_gain_dbd = NAN};
}

/* ---- applies ------------------------------------------------------------------------------------- */

bool spurity_bands_hold(const double *pairs, size_t count, double hz)
{
    for (size_t i = 0; i < count; i++)
        if (hz >= pairs[2 * i] && hz <= pairs[2 * i + 1])
            return true;
    return false;
}

/** What is found while the conditions of a clause are gone through. */
struct finding {
    bool no;
    char why[200]; /* the first reason for a no */
    char holds[160];
    char needs[160];
};

static void say_no(struct finding *finding, const char *format, ...) SPURITY_PRINTF(2, 3);
static void say_no(struct finding *finding, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    if (!finding->no)
        vsnprintf(finding->why, sizeof finding->why, format, arguments);
    finding->no = true;
    va_end(arguments);
}

static void say_yes(struct finding *finding, const char *what, const char *range)
{
    size_t used = strlen(finding->holds);
    snprintf(finding->holds + used, sizeof finding->holds - used, "%s%s %s", used ? ", " : "", what, range);
}

/** One range against a value that may be unknown. */
static void meet_range(struct finding *finding, const struct rules_range *range, double value, const char *what,
                       const char *option, rules_print *print)
{
    char bounds[130], figure[60];
    if (!spurity_range_is_set(range))
        return;
    spurity_range_describe(range, print, bounds, sizeof bounds);
    if (!spurity_known(value)) {
        spurity_needs_add(finding->needs, sizeof finding->needs, option);
        return;
    }
    if (spurity_range_holds(range, value))
        say_yes(finding, what, bounds);
    else
        say_no(finding, "it binds %s %s; here %s", what, bounds, print(figure, sizeof figure, value));
}

static void meet_power(struct finding *finding, const spurity_clause *clause, const spurity_conditions *conditions)
{
    if (!spurity_range_is_set(&clause->power))
        return;
    bool erp = clause->power_of == SPURITY_REFERENCE_ERP;
    if (erp && !isfinite(conditions->antenna_gain_dbd))
        spurity_needs_add(finding->needs, sizeof finding->needs, "--antenna-gain");
    if (erp && spurity_known(conditions->mean_power_w) && !isfinite(conditions->antenna_gain_dbd))
        return;
    meet_range(finding, &clause->power, spurity_reference_watts(clause->power_of, conditions),
               spurity_reference_name(clause->power_of), "--power", spurity_format_power);
}

static void meet_emission(struct finding *finding, const spurity_clause *clause, const char *emission)
{
    if (!clause->emission_count)
        return;
    if (!emission)
        spurity_needs_add(finding->needs, sizeof finding->needs, "--emission");
    else if (!spurity_emissions_hold(clause->emissions, clause->emission_count, emission))
        say_no(finding, "it binds other kinds of emission than '%.40s'", emission);
    else
        say_yes(finding, "emission", emission);
}

/** A kind of station the file knows no word for is as good as unsaid: a slip must not lift a limit. */
static void meet_station(struct finding *finding, const spurity_clause *clause, const char *station)
{
    if (!clause->station_count)
        return;
    if (!spurity_rules_knows_station(clause->rules, station, NULL, 0)) {
        spurity_needs_add(finding->needs, sizeof finding->needs, "--station");
        return;
    }
    for (size_t i = 0; i < clause->station_count; i++)
        if (!strcmp(clause->stations[i], station)) {
            say_yes(finding, "station", station);
            return;
        }
    say_no(finding, "it binds other kinds of station than '%.40s'", station);
}

static void meet_bands(struct finding *finding, const spurity_clause *clause, double carrier_hz)
{
    char figure[60];
    if (!clause->applies_band_count)
        return;
    if (!spurity_known(carrier_hz))
        spurity_needs_add(finding->needs, sizeof finding->needs, "--carrier");
    else if (!spurity_bands_hold(clause->applies_bands, clause->applies_band_count, carrier_hz))
        say_no(finding, "it binds on other frequencies than %s",
               spurity_print_frequency(figure, sizeof figure, carrier_hz));
    else
        say_yes(finding, "carrier", "on one of its bands");
}

static void meet_channels(struct finding *finding, const spurity_clause *clause, const spurity_conditions *conditions)
{
    if (!clause->channel_count)
        return;
    if (!spurity_known(conditions->carrier_hz)) {
        spurity_needs_add(finding->needs, sizeof finding->needs, "--carrier");
        return;
    }
    const struct rules_channel *channel = spurity_rules_channel_of(clause->rules, conditions);
    for (size_t i = 0; channel && i < clause->channel_count; i++)
        if (!strcmp(clause->channels[i], "all") || !strcmp(clause->channels[i], channel->number)) {
            say_yes(finding, "channel", channel->number);
            return;
        }
    if (channel)
        say_no(finding, "it binds on other channels than %s", channel->number);
    else
        say_no(finding, "the carrier is on no channel of the service");
}

static void meet_audio_filter(struct finding *finding, const spurity_clause *clause, int audio_filter)
{
    if (clause->audio_filter < 0)
        return;
    if (audio_filter < 0)
        spurity_needs_add(finding->needs, sizeof finding->needs, "--audio-filter");
    else if ((audio_filter > 0) != (clause->audio_filter > 0))
        say_no(finding, "it binds transmitters with%s an audio filter", clause->audio_filter ? "" : "out");
    else
        say_yes(finding, clause->audio_filter ? "with" : "without", "audio filter");
}

static spurity_date date_of(const spurity_conditions *conditions, spurity_date_kind kind)
{
    const spurity_date dates[] = {conditions->installed, conditions->marketed, conditions->built};
    return dates[kind];
}

const char *const spurity_date_words[] = {"installed", "first marketed", "built"};

static void meet_dates(struct finding *finding, const spurity_clause *clause, const spurity_conditions *conditions)
{
    static const char *const options[] = {"--installed", "--marketed", "--built"};
    for (int kind = 0; kind < 3; kind++)
        meet_range(finding, &clause->dates[kind], date_of(conditions, (spurity_date_kind)kind),
                   spurity_date_words[kind], options[kind], spurity_print_date);
    for (size_t i = 0; i < clause->exemption_count; i++) {
        const struct rules_exemption *exemption = &clause->exemptions[i];
        spurity_date date = date_of(conditions, exemption->kind);
        char day[24];
        if (date && date < exemption->before)
            say_no(finding, "exempt: %s before %s", spurity_date_words[exemption->kind],
                   spurity_format_date(day, sizeof day, exemption->before));
    }
}

/** "462.6125 MHz is 12.5 kHz from channel 3 of the service" and the like. */
static void tell_channel(const spurity_clause *clause, const spurity_conditions *conditions, char *text, size_t size)
{
    char carrier[60], nominal[60], away[60];
    spurity_channel channel;
    spurity_channel_found found = spurity_rules_channel(clause->rules, conditions->carrier_hz, &channel);
    if (found == SPURITY_CHANNEL_NO_TABLE)
        return;
    spurity_print_frequency(carrier, sizeof carrier, conditions->carrier_hz);
    spurity_print_frequency(nominal, sizeof nominal, channel.frequency_hz);
    spurity_print_frequency(away, sizeof away, fabs(conditions->carrier_hz - channel.frequency_hz));
    if (found == SPURITY_CHANNEL_ON)
        snprintf(text, size, "the carrier is on channel %s, %s", channel.number, nominal);
    else
        snprintf(text, size, "the carrier, %s, is on no channel of the service; the nearest is %s, %s, %s away",
                 carrier, channel.number, nominal, away);
}

/** What the clause's own region (`where`) needs. */
static void meet_where(struct finding *finding, const spurity_clause *clause, const spurity_conditions *conditions)
{
    if (clause->where.from_spurious_domain && spurity_known(conditions->carrier_hz) &&
        isnan(spurity_where_low(clause, conditions)))
        say_no(finding, "the boundary of the spurious domain is held here from 150 kHz to 3 GHz only");
    if (spurity_where_uses_percent(&clause->where) && isnan(spurity_clause_bandwidth(clause, conditions)))
        spurity_needs_add(finding->needs, sizeof finding->needs, "--bandwidth");
}

spurity_applies spurity_clause_applies(const spurity_clause *clause, const spurity_conditions *conditions, char *why,
                                       size_t why_size, char *needs, size_t needs_size)
{
    struct finding finding = {0};
    meet_range(&finding, &clause->carrier, conditions->carrier_hz, "carrier", "--carrier", spurity_print_frequency);
    meet_bands(&finding, clause, conditions->carrier_hz);
    meet_channels(&finding, clause, conditions);
    if (clause->facts.quantity == SPURITY_QUANTITY_CHANNEL && !spurity_known(conditions->carrier_hz))
        spurity_needs_add(finding.needs, sizeof finding.needs, "--carrier");
    meet_power(&finding, clause, conditions);
    meet_dates(&finding, clause, conditions);
    meet_emission(&finding, clause, conditions->emission);
    meet_station(&finding, clause, conditions->station);
    meet_audio_filter(&finding, clause, conditions->audio_filter);
    meet_range(&finding, &clause->bandwidth, spurity_clause_bandwidth(clause, conditions), "bandwidth", "--bandwidth",
               spurity_print_frequency);
    meet_where(&finding, clause, conditions);
    spurity_applies applies = finding.no         ? SPURITY_APPLIES_NO
                              : finding.needs[0] ? SPURITY_APPLIES_UNKNOWN
                                                 : SPURITY_APPLIES_YES;
    if (needs && needs_size)
        snprintf(needs, needs_size, "%s", applies == SPURITY_APPLIES_UNKNOWN ? finding.needs : "");
    if (!why || !why_size)
        return applies;
    if (applies == SPURITY_APPLIES_NO)
        snprintf(why, why_size, "%s", finding.why);
    else if (applies == SPURITY_APPLIES_UNKNOWN)
        snprintf(why, why_size, "whether it binds is settled by %s", finding.needs);
    else
        snprintf(why, why_size, "%s", finding.holds[0] ? finding.holds : "every transmitter of the service");
    if (applies == SPURITY_APPLIES_YES && clause->facts.quantity == SPURITY_QUANTITY_CHANNEL)
        tell_channel(clause, conditions, why, why_size);
    return applies;
}

/* ---- steps --------------------------------------------------------------------------------------- */

size_t spurity_clause_power_steps(const spurity_clause *clause, double *watts, size_t most)
{
    const struct rules_end *ends[] = {&clause->power.low, &clause->power.high};
    size_t count = 0;
    for (int i = 0; i < 2; i++) {
        if (!ends[i]->set)
            continue;
        if (count < most)
            watts[count] = ends[i]->value;
        count++;
    }
    return count;
}

/** The day after; 31 December is followed by the next year. */
static spurity_date next_day(spurity_date date)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year = date / 10000, month = date / 100 % 100, day = date % 100;
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    int length = lengths[month - 1] + (month == 2 && leap);
    if (day < length)
        return date + 1;
    return month < 12 ? year * 10000 + (month + 1) * 100 + 1 : (year + 1) * 10000 + 101;
}

size_t spurity_clause_date_steps(const spurity_clause *clause, spurity_date_kind kind, spurity_date *dates, size_t most)
{
    const struct rules_range *range = &clause->dates[kind];
    size_t count = 0;
    /* `from` and `below` change on the day itself, `above` and `up_to` on the day after */
    if (range->low.set && count++ < most)
        dates[count - 1] =
            range->low.inclusive ? (spurity_date)range->low.value : next_day((spurity_date)range->low.value);
    if (range->high.set && count++ < most)
        dates[count - 1] =
            range->high.inclusive ? next_day((spurity_date)range->high.value) : (spurity_date)range->high.value;
    for (size_t i = 0; i < clause->exemption_count; i++)
        if (clause->exemptions[i].kind == kind && count++ < most)
            dates[count - 1] = clause->exemptions[i].before;
    return count;
}

void spurity_clause_exemption(const spurity_clause *clause, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < clause->exemption_count && used < size; i++) {
        char day[24];
        spurity_format_date(day, sizeof day, clause->exemptions[i].before);
        int wrote = snprintf(text + used, size - used, "%s%s before %s", i ? " or " : "",
                             spurity_date_words[clause->exemptions[i].kind], day);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
}
