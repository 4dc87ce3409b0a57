/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

enum { VALUES_MAX = 16 };

struct values {
    double items[VALUES_MAX];
    size_t count;
    bool cut; /* there was no room for all */
};

static void put(struct values *values, double value)
{
    for (size_t i = 0; i < values->count; i++)
        if (values->items[i] == value)
            return;
    values->cut = values->cut || values->count == VALUES_MAX;
    if (values->count < VALUES_MAX)
        values->items[values->count++] = value;
}

/* Just beside a step: nearer than any figure is read. */
static double beside(double step, int side)
{
    return step * (1.0 + side * 1e-9);
}

/* Powers that stand for all the reading allows: itself, and one on, below and above each step of the rules inside the
 * range. */
static struct values power_values(const struct judging *j, bool *open)
{
    const spurity_carrier *carrier = j->carrier;
    struct values values = {0};
    bool known = !isnan(carrier->power_w);
    if (known)
        put(&values, carrier->power_w);
    for (size_t c = 0; c < spurity_rules_clause_count(j->rules); c++) {
        double steps[8];
        size_t count = spurity_clause_power_steps(spurity_rules_clause(j->rules, c), steps, 8);
        for (size_t s = 0; s < count && s < 8; s++)
            for (int side = -1; side <= 1; side++) {
                double watts = side ? beside(steps[s], side) : steps[s];
                if (!known || (watts >= carrier->power_low_w && watts <= carrier->power_high_w))
                    put(&values, watts);
            }
    }
    *open = values.count > 1;
    if (!values.count)
        put(&values, (double)NAN);
    return values;
}

/* Whether an option decides anything while unsaid. */
static bool decides(const struct judging *j, const spurity_conditions *conditions, const char *option)
{
    for (size_t c = 0; c < spurity_rules_clause_count(j->rules); c++) {
        char needs[128] = "";
        const spurity_clause *clause = spurity_rules_clause(j->rules, c);
        if (spurity_clause_applies(clause, conditions, NULL, 0, needs, sizeof needs) == SPURITY_APPLIES_UNKNOWN &&
            strstr(needs, option))
            return true;
    }
    return false;
}

static struct values date_values(const struct judging *j, const spurity_conditions *conditions, spurity_date_kind kind,
                                 spurity_date told, const char *option, char *open, size_t open_size)
{
    struct values values = {0};
    if (told || !decides(j, conditions, option)) {
        put(&values, told);
        return values;
    }
    for (size_t c = 0; c < spurity_rules_clause_count(j->rules); c++) {
        spurity_date steps[8];
        size_t count = spurity_clause_date_steps(spurity_rules_clause(j->rules, c), kind, steps, 8);
        values.cut = values.cut || count > 8;
        for (size_t s = 0; s < count && s < 8; s++)
            for (int side = -1; side <= 1; side++)
                put(&values, steps[s] + side); /* compares as a number: the day need not exist */
    }
    if (!values.count)
        put(&values, 0);
    size_t used = strlen(open);
    snprintf(open + used, open_size - used, "%s%s", used ? " " : "", option);
    return values;
}

static void set_power(const struct judging *j, spurity_conditions *conditions, double watts)
{
    const spurity_carrier *carrier = j->carrier;
    conditions->mean_power_w = watts;
    conditions->carrier_power_w = watts;
    bool even = carrier->pep_low_w == carrier->power_low_w && carrier->pep_high_w == carrier->power_high_w;
    if (even)
        conditions->pep_w = watts;
    else if (!isnan(carrier->pep_low_w))
        conditions->pep_w = sqrt(carrier->pep_low_w * carrier->pep_high_w);
}

/* Where the carrier may be, as far as the service's channels tell such places apart: the reading itself (where the user
 * named a frequency within what the reading leaves open: that), and one for each other channel, or for none, that the
 * reading allows.  What an unsaid reference may be off by is no part of it: the judgement of the channel has that. */
static struct values carrier_values(const struct judging *j, bool *open)
{
    const spurity_carrier *carrier = j->carrier;
    double told = j->point->carrier_hz, read = carrier->frequency_hz;
    double reach = carrier->seen ? carrier->frequency_uncertainty_hz : 0;
    if (j->point->reference_ppm > 0)
        reach += j->point->reference_ppm * 1e-6 * read;
    bool named = fabs(told - read) <= reach;
    struct values values = {0};
    spurity_channel channel, other;
    put(&values, named ? told : read);
    *open = false;
    spurity_channel_found found = spurity_rules_channel(j->rules, values.items[0], &channel);
    if (found == SPURITY_CHANNEL_NO_TABLE || named)
        return values;
    size_t channels = spurity_rules_channel_count(j->rules);
    for (size_t i = 0; i < channels + 2; i++) {
        double hz = read + (i == channels ? -reach : reach);
        if (i < channels && spurity_rules_channel_at(j->rules, i, &other))
            hz = other.frequency_hz;
        if (i < channels && fabs(hz - read) > reach)
            continue;
        bool differs = spurity_rules_channel(j->rules, hz, &other) != found ||
                       (found == SPURITY_CHANNEL_ON && other.frequency_hz != channel.frequency_hz);
        if (differs)
            put(&values, hz);
    }
    *open = values.count > 1;
    return values;
}

void spurity_verdict_say_open(const struct judging *j, char *text, size_t size)
{
    const struct worlds *worlds = &j->worlds;
    const char *const options[] = {worlds->dates_open, worlds->filter_open ? "--audio-filter" : "",
                                   worlds->channel_open ? "--carrier" : "",
                                   worlds->power_unknown ? "--power"
                                   : worlds->power_open  ? "--power P1..P2 as closely as the meter tells"
                                                         : ""};
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; i < sizeof options / sizeof *options; i++) {
        if (!options[i][0] || used >= size)
            continue;
        int wrote = snprintf(text + used, size - used, "%s%s", used ? " and " : "", options[i]);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
}

/* With and without an audio filter, where nobody said and masks go by it. */
static struct values filter_values(const struct judging *j, const spurity_conditions *probe, bool *open)
{
    struct values values = {0};
    *open = j->point->audio_filter < 0 && decides(j, probe, "--audio-filter");
    put(&values, *open ? 0 : j->point->audio_filter);
    if (*open)
        put(&values, 1);
    return values;
}

/* --station may name a kind for each of several rule sets ("mobile,amateur"): the first these rules have a word for. */
static void pick_station(const struct judging *j, char *station, size_t size)
{
    station[0] = '\0';
    for (const char *word = j->point->station; word && *word;) {
        size_t length = strcspn(word, ",");
        snprintf(station, size, "%.*s", (int)length, word);
        if (spurity_rules_knows_station(j->rules, station, NULL, 0))
            return;
        word += length + (word[length] == ',');
    }
    snprintf(station, size, "%s", j->point->station ? j->point->station : "");
}

void spurity_verdict_name_stations(const struct judging *j, char *text, size_t size)
{
    char known[200];
    size_t used = strlen(text);
    spurity_rules_knows_station(j->rules, NULL, known, sizeof known);
    if (strstr(text, "--station") && known[0] && used + strlen(known) + 40 < size)
        snprintf(text + used, size - used, " (--station is one of: %s)", known);
}

/* What was told of the bandwidth, unless the carrier's channel authorises less: that would move every edge outwards. */
static double bandwidth_told(const struct judging *j, const spurity_conditions *base)
{
    spurity_conditions told = *base, untold = *base;
    double told_hz, channel_hz;
    told.bandwidth_hz = j->point->bandwidth_hz;
    untold.bandwidth_hz = (double)NAN;
    if (spurity_rules_channel(j->rules, base->carrier_hz, NULL) != SPURITY_CHANNEL_ON ||
        spurity_rules_bandwidth(j->rules, &told, &told_hz) == SPURITY_BANDWIDTH_UNKNOWN ||
        spurity_rules_bandwidth(j->rules, &untold, &channel_hz) == SPURITY_BANDWIDTH_UNKNOWN)
        return told.bandwidth_hz;
    return told_hz > channel_hz + 1 ? untold.bandwidth_hz : told.bandwidth_hz;
}

/* Adds a world; where there is no room for more, that is kept in mind. */
static spurity_conditions *add_world(struct worlds *worlds, const spurity_conditions *base)
{
    worlds->cut = worlds->cut || worlds->count == WORLDS_MAX;
    if (worlds->count == WORLDS_MAX)
        return NULL;
    worlds->items[worlds->count] = *base;
    return &worlds->items[worlds->count++];
}

void spurity_verdict_worlds(const struct judging *j, struct worlds *worlds)
{
    const spurity_test_point *point = j->point;
    spurity_conditions base;
    spurity_conditions_init(&base);
    base.carrier_hz = j->carrier->frequency_hz;
    base.necessary_bandwidth_hz = spurity_measurement_bandwidth(j->measurement, NULL);
    base.installed = point->installed;
    base.marketed = point->marketed;
    base.built = point->built;
    base.emission = point->emission;
    base.audio_filter = point->audio_filter;
    base.antenna_gain_dbd = point->antenna_gain_dbd;
    *worlds = (struct worlds){.power_unknown = isnan(j->carrier->power_w)};
    pick_station(j, worlds->station, sizeof worlds->station);
    base.station = worlds->station[0] ? worlds->station : NULL;
    struct values powers = power_values(j, &worlds->power_open);
    struct {
        spurity_date_kind kind;
        spurity_date told;
        const char *option;
    } dates[] = {{SPURITY_DATE_INSTALLED, point->installed, "--installed"},
                 {SPURITY_DATE_MARKETED, point->marketed, "--marketed"},
                 {SPURITY_DATE_BUILT, point->built, "--built"}};
    struct values days[3];
    base.bandwidth_hz = bandwidth_told(j, &base);
    spurity_conditions probe = base;
    set_power(j, &probe, powers.items[0]);
    for (int i = 0; i < 3; i++)
        days[i] = date_values(j, &probe, dates[i].kind, dates[i].told, dates[i].option, worlds->dates_open,
                              sizeof worlds->dates_open);
    struct values places = carrier_values(j, &worlds->channel_open);
    struct values filters = filter_values(j, &probe, &worlds->filter_open);
    worlds->cut = powers.cut || places.cut || days[0].cut || days[1].cut || days[2].cut;
    for (size_t f = 0; f < places.count * filters.count; f++)
        for (size_t p = 0; p < powers.count; p++)
            for (size_t a = 0; a < days[0].count; a++)
                for (size_t b = 0; b < days[1].count; b++)
                    for (size_t c = 0; c < days[2].count; c++) {
                        spurity_conditions *world = add_world(worlds, &base);
                        if (!world)
                            return;
                        world->carrier_hz = places.items[f / filters.count];
                        world->audio_filter = (int)filters.items[f % filters.count];
                        world->bandwidth_hz = bandwidth_told(j, world);
                        set_power(j, world, powers.items[p]);
                        world->installed = (spurity_date)days[0].items[a];
                        world->marketed = (spurity_date)days[1].items[b];
                        world->built = (spurity_date)days[2].items[c];
                    }
}

static bool passes(spurity_outcome outcome)
{
    return outcome == SPURITY_OUTCOME_PASS || outcome == SPURITY_OUTCOME_CONDITIONAL_PASS;
}

static bool fails(spurity_outcome outcome)
{
    return outcome == SPURITY_OUTCOME_FAIL || outcome == SPURITY_OUTCOME_CONDITIONAL_FAIL;
}

size_t spurity_verdict_bound_worlds(const struct judging *j, const spurity_clause *clause, bool *binds, char *needs,
                                    size_t size)
{
    size_t count = 0;
    needs[0] = '\0';
    for (size_t w = 0; w < j->worlds.count; w++) {
        char mine[160] = "";
        spurity_applies applies = spurity_clause_applies(clause, &j->worlds.items[w], NULL, 0, mine, sizeof mine);
        binds[w] = applies == SPURITY_APPLIES_YES;
        count += binds[w];
        if (applies == SPURITY_APPLIES_UNKNOWN)
            snprintf(needs, size, "%s", mine);
    }
    return count;
}

/* Adds up, in each world, the rows from `first` on of clauses that bind in some worlds only.  How many there are. */
static size_t gather_partial(const struct judging *j, size_t first, spurity_outcome *by_world, bool *partial)
{
    const spurity_verdict *v = j->verdict;
    size_t count = 0;
    for (size_t i = first; i < v->judgement_count; i++) {
        bool binds[WORLDS_MAX];
        char needs[160];
        const spurity_judgement *row = &v->judgements[i];
        size_t bound = spurity_verdict_bound_worlds(j, row->clause, binds, needs, sizeof needs);
        partial[i - first] = bound && bound < j->worlds.count;
        count += partial[i - first];
        for (size_t w = 0; w < j->worlds.count && partial[i - first]; w++)
            if (binds[w] && row->outcome > by_world[w])
                by_world[w] = row->outcome;
    }
    return count;
}

spurity_status spurity_verdict_settle_worlds(struct judging *j, size_t first, spurity_error *error)
{
    spurity_verdict *v = j->verdict;
    spurity_outcome by_world[WORLDS_MAX] = {SPURITY_OUTCOME_PASS};
    bool *partial = calloc(v->judgement_count - first + 1, sizeof *partial);
    if (!partial)
        return spurity_report_memory(error);
    size_t count = gather_partial(j, first, by_world, partial);
    bool fail = count && fails(spurity_verdict_combine(by_world, j->worlds.count));
    spurity_status status = SPURITY_OK;
    char open[160], advice[280];
    spurity_verdict_say_open(j, open, sizeof open);
    snprintf(advice, sizeof advice, "the clauses that may bind differ here: say %s", open);
    for (size_t i = first; i < v->judgement_count && !status; i++) {
        spurity_judgement *row = &v->judgements[i];
        if (!partial[i - first])
            continue;
        spurity_verdict_add_why_open(j, row->binding, sizeof row->binding);
        if (!fails(row->outcome) || fail)
            continue;
        row->outcome = SPURITY_OUTCOME_NOT_SHOWN;
        status = spurity_verdict_add_not_shown(j, row->clause, (double)NAN, (double)NAN, spurity_verdict_open_reason(j),
                                               advice, error);
    }
    free(partial);
    return status;
}

void spurity_verdict_add_why_open(const struct judging *j, char *text, size_t size)
{
    const struct worlds *worlds = &j->worlds;
    size_t used = strlen(text);
    if (worlds->dates_open[0] || worlds->filter_open)
        snprintf(text + used, size - used, ", %s not said",
                 worlds->dates_open[0] ? worlds->dates_open : "--audio-filter");
    else if (worlds->channel_open)
        snprintf(text + used, size - used, ", channel not known");
    else if (worlds->power_open)
        snprintf(text + used, size - used, worlds->power_unknown ? ", power not known" : ", power near a step");
}

const char *spurity_verdict_open_reason(const struct judging *j)
{
    return j->worlds.dates_open[0] ? "date-unknown" : j->worlds.channel_open ? "channel-unknown" : "power-step";
}

spurity_outcome spurity_verdict_combine(const spurity_outcome *outcomes, size_t count)
{
    size_t passing = 0, failing = 0, same = 0;
    spurity_outcome worst = SPURITY_OUTCOME_PASS, best = SPURITY_OUTCOME_FAIL;
    for (size_t i = 0; i < count; i++) {
        passing += passes(outcomes[i]);
        failing += fails(outcomes[i]);
        same += outcomes[i] == outcomes[0];
        worst = outcomes[i] > worst ? outcomes[i] : worst;
        best = outcomes[i] < best ? outcomes[i] : best;
    }
    if (!count)
        return SPURITY_OUTCOME_NO_LIMIT;
    if (same == count || passing == count)
        return worst;
    return failing == count ? best : SPURITY_OUTCOME_NOT_SHOWN;
}
