/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

enum { STATIONS_MAX = 8, BRANCHES_MAX = WORLDS_MAX * STATIONS_MAX };

/* A reference oscillator nobody said anything of is taken as good to this (unlocked crystal, common practice). */
static const double UNSAID_REFERENCE_PPM = 50.0;

/* Level of the power a carrier power clause limits, dBm; NaN when it cannot be told.  *at_least: only a mean is known
 * where a peak is limited: over the cap it fails all the same, under it nothing is shown. */
static double power_dbm(const struct judging *j, const char *unit, bool *at_least)
{
    const spurity_carrier *carrier = j->carrier;
    *at_least = false;
    if (unit && strstr(unit, "PEP")) {
        if (carrier->pep_low_w == carrier->power_low_w && carrier->pep_high_w == carrier->power_high_w)
            return carrier->level_dbm;
        if (!isnan(carrier->pep_low_w))
            return spurity_dbm_from_watts(sqrt(carrier->pep_low_w * carrier->pep_high_w));
        *at_least = true;
        return carrier->level_dbm;
    }
    if (unit && strstr(unit, "ERP")) {
        if (isnan(j->point->antenna_gain_dbd))
            return (double)NAN;
        return carrier->level_dbm + j->point->antenna_gain_dbd;
    }
    return carrier->level_dbm;
}

/* Expanded uncertainty of the carrier's power towards the limit: of the level read, or what a meter's range leaves
 * open. */
static double power_expanded(const struct judging *j, double margin)
{
    const spurity_carrier *carrier = j->carrier;
    double end_w = margin >= 0 ? carrier->power_high_w : carrier->power_low_w;
    double spread = fabs(spurity_dbm_from_watts(end_w) - carrier->level_dbm);
    return isfinite(spread) ? spread : spurity_uncertainty_expanded(&carrier->uncertainty);
}

/* ---- caps ---- */

/* A cap of the carrier's power and the branches of what was left open in which it binds. */
struct cap {
    const spurity_clause *clause;
    spurity_clause_facts facts;
    double limit_dbm; /* NaN: it depends on what was not said */
    const char *unit;
    char words[96];
    char needs[160];
    bool unknown; /* in some branch it cannot be told whether it binds */
    bool near;    /* it would bind on the nearest channel, and the carrier is on none */
    bool binds[BRANCHES_MAX];
    size_t bound;
    bool by_station; /* whether it binds goes by the kind of station */
};

/* What could be true of the transmitter as far as caps ask: the worlds, and in each every kind of station the file has
 * a word for while nobody said which. */
struct branches {
    const struct judging *j;
    char words[400]; /* stations, separated by ", " */
    const char *stations[STATIONS_MAX];
    size_t station_count, count;
    bool cut; /* the file knows more kinds than there is room for */
};

static void split_stations(struct branches *all)
{
    const char *told = all->j->worlds.items[0].station;
    bool asked = !spurity_rules_knows_station(all->j->rules, told, all->words, sizeof all->words) && all->words[0];
    all->cut = asked && strlen(all->words) + 1 == sizeof all->words;
    char *word = all->words;
    while (asked && *word && all->station_count < STATIONS_MAX) {
        size_t length = strcspn(word, ",");
        all->stations[all->station_count++] = word;
        bool last = !word[length];
        word[length] = '\0';
        word += length + !last;
        word += strspn(word, " ");
    }
    all->cut = all->cut || (asked && *word);
    if (!all->station_count)
        all->stations[all->station_count++] = told;
    all->count = all->j->worlds.count * all->station_count;
}

static spurity_conditions branch_at(const struct branches *all, size_t index)
{
    spurity_conditions branch = all->j->worlds.items[index / all->station_count];
    branch.station = all->stations[index % all->station_count];
    return branch;
}

/* In which branches a cap binds; where it asks for more than a date, a power or a station: what. */
static void place_cap(const struct branches *all, struct cap *cap)
{
    spurity_channel nearest;
    for (size_t b = 0; b < all->count; b++) {
        spurity_conditions branch = branch_at(all, b);
        char needs[160] = "";
        spurity_applies applies = spurity_clause_applies(cap->clause, &branch, NULL, 0, needs, sizeof needs);
        cap->binds[b] = applies == SPURITY_APPLIES_YES;
        cap->bound += cap->binds[b];
        if (applies == SPURITY_APPLIES_UNKNOWN && !cap->unknown) {
            cap->unknown = true;
            memcpy(cap->needs, needs, sizeof cap->needs);
        }
        if (applies != SPURITY_APPLIES_NO ||
            spurity_rules_channel(all->j->rules, branch.carrier_hz, &nearest) != SPURITY_CHANNEL_OFF)
            continue;
        branch.carrier_hz = nearest.frequency_hz;
        cap->near = cap->near || spurity_clause_applies(cap->clause, &branch, NULL, 0, NULL, 0) != SPURITY_APPLIES_NO;
    }
    for (size_t b = 0; b < all->count; b++)
        cap->by_station = cap->by_station || cap->binds[b] != cap->binds[b - b % all->station_count];
    spurity_conditions first = branch_at(all, 0);
    if (!spurity_limit_value(cap->facts.limit, &first, all->j->carrier->frequency_hz, &cap->limit_dbm, &cap->unit))
        cap->limit_dbm = (double)NAN;
    spurity_limit_describe(cap->facts.limit, cap->words, sizeof cap->words);
}

/* Where no clause caps the power on the carrier's channel, the table's own figure does, under the clause that wants the
 * carrier on a channel.  False: there is none. */
static bool cap_of_channel(const struct branches *all, struct cap *cap)
{
    const struct judging *j = all->j;
    spurity_channel channel;
    if (j->worlds.channel_open ||
        spurity_rules_channel(j->rules, j->worlds.items[0].carrier_hz, &channel) != SPURITY_CHANNEL_ON ||
        !(channel.power_w > 0))
        return false;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules); i++) {
        *cap = (struct cap){.clause = spurity_rules_clause(j->rules, i)};
        spurity_clause_facts_of(cap->clause, &cap->facts);
        if (cap->facts.quantity != SPURITY_QUANTITY_CHANNEL)
            continue;
        char figure[40];
        cap->limit_dbm = spurity_dbm_from_watts(channel.power_w);
        cap->unit = channel.power_of == SPURITY_REFERENCE_ERP   ? "dBm ERP"
                    : channel.power_of == SPURITY_REFERENCE_PEP ? "dBm PEP"
                                                                : "dBm";
        snprintf(cap->words, sizeof cap->words, "%s%s%s of channel %.20s",
                 spurity_format_power(figure, sizeof figure, channel.power_w), cap->unit[3] ? " " : "",
                 cap->unit[3] ? cap->unit + 4 : "", channel.number);
        cap->bound = all->count;
        for (size_t b = 0; b < all->count; b++)
            cap->binds[b] = true;
        return true;
    }
    return false;
}

/* Outcome of a cap where it binds; the row gets its figures, and *advice what would tell more (NULL: nothing). */
static spurity_outcome meet_cap(struct judging *j, const struct cap *cap, spurity_judgement *row, const char **advice)
{
    const spurity_carrier *carrier = j->carrier;
    bool at_least, erp = cap->unit && strstr(cap->unit, "ERP"), pep = cap->unit && strstr(cap->unit, "PEP");
    double level = power_dbm(j, cap->unit, &at_least);
    *advice = NULL;
    row->frequency_hz = row->from_hz = row->to_hz = carrier->frequency_hz;
    row->unit = "W";
    snprintf(row->quantity, sizeof row->quantity, "carrier power%s", pep ? " (PEP)" : erp ? " (ERP)" : "");
    row->limit = spurity_watts_from_dbm(cap->limit_dbm);
    row->measured = spurity_watts_from_dbm(level);
    row->margin = cap->limit_dbm - level;
    row->uncertainty = power_expanded(j, row->margin);
    memcpy(row->binding, cap->words, sizeof row->binding);
    if (isnan(cap->limit_dbm))
        *advice = "the allowed power depends on what was not said";
    else if (isnan(carrier->level_dbm))
        *advice = erp && isnan(j->point->antenna_gain_dbd)
                      ? "say --antenna-gain, and --power or the chain (--pad, --loss, --direct)"
                      : "say --power, or the chain (--pad, --loss, --direct)";
    else if (isnan(level))
        *advice = "effective radiated power is limited: say --antenna-gain of the antenna it is used with";
    else if (carrier->source == SPURITY_CARRIER_FROM_TRACE && !carrier->trustworthy)
        *advice = "the points stand too far apart to read the carrier: say --power, or sweep it with points at "
                  "most half an RBW apart";
    if (*advice)
        return SPURITY_OUTCOME_NOT_SHOWN;
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    spurity_outcome outcome = spurity_decide(row->margin, row->uncertainty, j->point->simple_decision);
    if (!at_least || outcome == SPURITY_OUTCOME_FAIL || outcome == SPURITY_OUTCOME_CONDITIONAL_FAIL)
        return outcome;
    row->conformity_probability = (double)NAN;
    *advice =
        "the mean is below the cap, the peak envelope power is not known: say --power P,pep, or --emission F3E of "
        "an angle-modulated set";
    return SPURITY_OUTCOME_NOT_SHOWN;
}

/* Caps that bind in some branches only pass where the set passes in all of them, and fail where it fails in all. */
static spurity_outcome over_branches(const struct branches *all, const struct cap *caps, const spurity_outcome *own,
                                     size_t count)
{
    spurity_outcome by_branch[BRANCHES_MAX] = {SPURITY_OUTCOME_PASS};
    for (size_t b = 0; b < all->count; b++) {
        for (size_t c = 0; c < count; c++) /* one that always binds stands for itself */
            if (caps[c].bound < all->count && caps[c].binds[b] && own[c] > by_branch[b])
                by_branch[b] = own[c];
    }
    return spurity_verdict_combine(by_branch, all->count);
}

static spurity_status ask_branch(struct judging *j, const struct cap *caps, size_t count, const spurity_clause *clause,
                                 spurity_error *error)
{
    char open[160], advice[280];
    bool station = false;
    for (size_t c = 0; c < count; c++)
        station = station || caps[c].by_station;
    spurity_verdict_say_open(j, open, sizeof open);
    snprintf(advice, sizeof advice, "the caps that may bind differ here: say %s%s%s", station ? "--station" : "",
             station && open[0] ? " and " : "", open);
    spurity_verdict_name_stations(j, advice, sizeof advice);
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "condition-unknown", advice, error);
}

/* Which option a cap hangs on that binds for some of what was left open. */
static void say_cap_open(const struct branches *all, const struct cap *cap, spurity_judgement *row)
{
    const struct worlds *worlds = &all->j->worlds;
    size_t used = strlen(row->binding);
    if (cap->bound < all->count)
        snprintf(row->binding + used, sizeof row->binding - used, ", %s not said",
                 cap->by_station         ? "--station"
                 : worlds->channel_open  ? "--carrier"
                 : worlds->dates_open[0] ? worlds->dates_open
                                         : "--power");
}

static spurity_status judge_caps(struct judging *j, const struct branches *all, const struct cap *caps, size_t count,
                                 spurity_error *error)
{
    spurity_outcome own[CLAUSES_MAX];
    size_t first = j->verdict->judgement_count;
    spurity_status status = SPURITY_OK;
    const char *advice[CLAUSES_MAX];
    for (size_t c = 0; c < count; c++) {
        spurity_judgement *row = spurity_verdict_add_judgement(j, caps[c].clause, error);
        if (!row)
            return SPURITY_SYSTEM;
        own[c] = meet_cap(j, &caps[c], row, &advice[c]);
        say_cap_open(all, &caps[c], row);
    }
    spurity_outcome together = over_branches(all, caps, own, count);
    for (size_t c = 0; c < count && !status; c++) {
        bool always = caps[c].bound == all->count;
        spurity_outcome outcome = always ? own[c] : together;
        j->verdict->judgements[first + c].outcome = spurity_verdict_weigh(j, &caps[c].facts, outcome);
        if (outcome != SPURITY_OUTCOME_NOT_SHOWN)
            continue;
        if (advice[c])
            status = spurity_verdict_add_not_shown(j, caps[c].clause, (double)NAN, (double)NAN, "level-unknown",
                                                   advice[c], error);
        else
            status = ask_branch(j, caps, count, caps[c].clause, error);
    }
    return status;
}

/* Caps go by channel and the carrier is on none: none of them binds as written, and that lets nobody off.  What holds
 * on the nearest channel is named. */
static spurity_status tell_off_channel(struct judging *j, const struct cap *cap, spurity_error *error)
{
    char advice[280], at[40];
    spurity_channel nearest = {0};
    spurity_judgement *row = spurity_verdict_add_judgement(j, cap->clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->frequency_hz = row->from_hz = row->to_hz = j->carrier->frequency_hz;
    row->unit = "W";
    spurity_rules_channel(j->rules, j->worlds.items[0].carrier_hz, &nearest);
    snprintf(row->binding, sizeof row->binding, "%.60s on the nearest channel", cap->words);
    snprintf(
        advice, sizeof advice,
        "this cap goes by channel, and the carrier is on none: bring it onto its channel (the nearest, %.20s at %s, "
        "allows %.60s) and measure again",
        nearest.number, spurity_format_frequency(at, sizeof at, nearest.frequency_hz, 6), cap->words);
    return spurity_verdict_add_not_shown(j, cap->clause, (double)NAN, (double)NAN, "channel-unknown", advice, error);
}

/* All caps of the rule set; *any: it has one that binds or may. */
static spurity_status judge_all_caps(struct judging *j, const struct branches *all, struct cap *caps, bool *any,
                                     spurity_error *error)
{
    size_t count = 0;
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules) && !status; i++) {
        if (count == CLAUSES_MAX) {
            j->worlds.cut = true;
            break;
        }
        struct cap *cap = &caps[count];
        *cap = (struct cap){.clause = spurity_rules_clause(j->rules, i)};
        spurity_clause_facts_of(cap->clause, &cap->facts);
        if (strcmp(cap->facts.group, "power") || cap->facts.quantity != SPURITY_QUANTITY_CARRIER_POWER ||
            !cap->facts.limit)
            continue;
        place_cap(all, cap);
        *any = *any || cap->bound || cap->unknown || cap->near;
        if (cap->unknown)
            status = spurity_verdict_ask(j, cap->clause, cap->needs, error);
        else if (!cap->bound && cap->near)
            status = tell_off_channel(j, cap, error);
        count += cap->bound && !cap->unknown;
    }
    if (!*any && cap_of_channel(all, &caps[count])) {
        *any = true;
        count++;
    }
    return status ? status : judge_caps(j, all, caps, count, error);
}

static spurity_status judge_power(struct judging *j, bool *any, spurity_error *error)
{
    struct branches all = {.j = j};
    struct cap *caps = calloc(CLAUSES_MAX + 1, sizeof *caps);
    if (!caps)
        return spurity_report_memory(error);
    split_stations(&all);
    j->worlds.cut = j->worlds.cut || all.cut;
    spurity_status status = judge_all_caps(j, &all, caps, any, error);
    free(caps);
    return status;
}

/* ---- bands and channels ---- */

/* The emission stays inside a band: carrier and half its bandwidth, against the nearer edge of the band that holds the
 * carrier; off every band, against the nearest edge. */
static double band_margin(const struct judging *j, const spurity_clause_facts *facts, double half, double *edge)
{
    double f0 = j->carrier->frequency_hz, best = -(double)INFINITY;
    for (size_t i = 0; i < facts->band_count; i++) {
        double low = facts->bands_hz[2 * i], high = facts->bands_hz[2 * i + 1];
        double below = f0 - half - low, above = high - f0 - half;
        double margin = fmin(below, above);
        if (margin > best) {
            best = margin;
            *edge = below < above ? low : high;
        }
    }
    return best;
}

/* Whether where the set transmits is not known: told, swept and absent (contract: no carrier found is not shown); or
 * read from points too far apart, whose strongest need not be the carrier at all. */
static bool place_unknown(const struct judging *j)
{
    const spurity_carrier *carrier = j->carrier;
    return (carrier->swept && !carrier->seen) ||
           (carrier->seen && !carrier->trustworthy && isnan(j->point->carrier_hz));
}

static spurity_status tell_place_unknown(struct judging *j, const spurity_clause *clause, spurity_error *error)
{
    if (!j->carrier->seen)
        return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "carrier-absent",
                                             "no line stands at the carrier that was told: was the set keyed, and is "
                                             "--carrier its frequency?",
                                             error);
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "points-too-far-apart",
                                         "the points stand too far apart to find the carrier: say --carrier, or "
                                         "sweep it with points at most half an RBW apart",
                                         error);
}

/* What the service authorises here, else what was told or is assumed. */
static double bandwidth_in_use(const struct judging *j, bool *assumed)
{
    double authorised_hz;
    *assumed = false;
    if (spurity_rules_bandwidth(j->rules, &j->worlds.items[0], &authorised_hz) != SPURITY_BANDWIDTH_UNKNOWN)
        return authorised_hz;
    return spurity_measurement_bandwidth(j->measurement, assumed);
}

/* How far inside the band the carrier with `half` of a width to either side is; 0: the carrier alone. */
static spurity_outcome meet_band(const struct judging *j, const spurity_clause_facts *facts, double half,
                                 spurity_judgement *row)
{
    bool unsaid = isnan(j->point->reference_ppm);
    double ppm = unsaid ? UNSAID_REFERENCE_PPM : j->point->reference_ppm, edge = (double)NAN;
    char a[40], b[40], inside[64] = "the carrier alone";
    row->margin = band_margin(j, facts, half, &edge);
    row->limit = edge;
    row->uncertainty = j->carrier->frequency_uncertainty_hz + ppm * 1e-6 * j->carrier->frequency_hz;
    if (half > 0)
        snprintf(inside, sizeof inside, "half of %s inside", spurity_format_frequency(b, sizeof b, 2 * half, 3));
    snprintf(row->binding, sizeof row->binding, "band edge %s, %s, reference %s%.3g ppm%s",
             spurity_format_frequency(a, sizeof a, edge, 6), inside, unsaid ? "taken as " : "", ppm,
             unsaid ? " (--reference-ppm)" : "");
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    return spurity_decide(row->margin, row->uncertainty, j->point->simple_decision);
}

static bool is_out(spurity_outcome outcome)
{
    return outcome == SPURITY_OUTCOME_FAIL || outcome == SPURITY_OUTCOME_CONDITIONAL_FAIL;
}

static spurity_status judge_band(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                                 spurity_error *error)
{
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    const spurity_carrier *carrier = j->carrier;
    bool assumed;
    double half = bandwidth_in_use(j, &assumed) / 2;
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = carrier->frequency_hz;
    row->measured = carrier->frequency_hz;
    spurity_outcome outcome = meet_band(j, facts, half, row);
    if (place_unknown(j))
        return tell_place_unknown(j, clause, error);
    /* Out by the width alone, and the width only assumed: that decides nothing. */
    if (assumed && is_out(outcome)) {
        spurity_judgement alone = *row;
        outcome = meet_band(j, facts, 0, &alone);
        if (!is_out(outcome))
            return spurity_verdict_add_not_shown(
                j, clause, carrier->frequency_hz - half, carrier->frequency_hz + half, "bandwidth-unknown",
                "the carrier lies inside the band, its assumed width does not: say --bandwidth "
                "or --emission",
                error);
        *row = alone;
    }
    row->outcome = spurity_verdict_weigh(j, facts, outcome);
    return SPURITY_OK;
}

/* On a channel of the service: within half the width of the nearest one.  How near its middle is for a clause of
 * frequency error to say. */
static spurity_status judge_channel(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                                    spurity_error *error)
{
    const spurity_carrier *carrier = j->carrier;
    spurity_channel channel = {0};
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    if (place_unknown(j))
        return tell_place_unknown(j, clause, error);
    double ppm = isnan(j->point->reference_ppm) ? UNSAID_REFERENCE_PPM : j->point->reference_ppm;
    char at[40];
    spurity_rules_channel(j->rules, j->worlds.items[0].carrier_hz, &channel);
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = row->measured = carrier->frequency_hz;
    row->limit = channel.frequency_hz;
    row->margin = channel.bandwidth_hz / 2 - fabs(carrier->frequency_hz - channel.frequency_hz);
    row->uncertainty = carrier->frequency_uncertainty_hz + ppm * 1e-6 * carrier->frequency_hz;
    snprintf(row->binding, sizeof row->binding, "nearest channel %.20s, %s, reference %s%.3g ppm%s", channel.number,
             spurity_format_frequency(at, sizeof at, channel.frequency_hz, 6),
             isnan(j->point->reference_ppm) ? "taken as " : "", ppm,
             isnan(j->point->reference_ppm) ? " (--reference-ppm)" : "");
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    row->outcome =
        spurity_verdict_weigh(j, facts, spurity_decide(row->margin, row->uncertainty, j->point->simple_decision));
    return SPURITY_OK;
}

spurity_status spurity_verdict_judge_power(struct judging *j, bool *has_clause, spurity_error *error)
{
    spurity_status status = judge_power(j, has_clause, error);
    size_t first = j->verdict->judgement_count;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules) && !status; i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        bool binds[WORLDS_MAX];
        char needs[160];
        spurity_clause_facts_of(clause, &facts);
        if (strcmp(facts.group, "power") ||
            (facts.quantity != SPURITY_QUANTITY_BAND && facts.quantity != SPURITY_QUANTITY_CHANNEL))
            continue;
        size_t bound = spurity_verdict_bound_worlds(j, clause, binds, needs, sizeof needs);
        *has_clause = *has_clause || bound || needs[0];
        if (needs[0])
            status = spurity_verdict_ask(j, clause, needs, error);
        if (!status && bound)
            status = facts.quantity == SPURITY_QUANTITY_BAND ? judge_band(j, clause, &facts, error)
                                                             : judge_channel(j, clause, &facts, error);
    }
    return status ? status : spurity_verdict_settle_worlds(j, first, error);
}

spurity_status spurity_verdict_judge_unmeasured(struct judging *j, unsigned group, bool *has_clause,
                                                spurity_error *error)
{
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        bool binds[WORLDS_MAX];
        char needs[160];
        if (strcmp(facts.group, spurity_group_name(group)) || facts.quantity == SPURITY_QUANTITY_NOTE ||
            (!spurity_verdict_bound_worlds(j, clause, binds, needs, sizeof needs) && !needs[0]))
            continue;
        *has_clause = true;
        spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
        if (!row)
            return SPURITY_SYSTEM;
        row->frequency_hz = row->from_hz = row->to_hz = j->carrier->frequency_hz;
        row->unit = "Hz";
        spurity_status status =
            spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "not-measured",
                                          "this version does not measure it: a deviation meter or a calibrated "
                                          "receiver does, with the tone that drives the set "
                                          "into limiting",
                                          error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}
