/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Doubts that need a transmitter to be asked: sets are made up which satisfy a clause (its ends, its words, the tables'
 * channels and widths), and the clause is tried on them. */
#include <stdio.h>
#include <string.h>

#include "internal.h"

enum { CARRIERS_MOST = 64, WIDTHS_MOST = 32, LEAVES_MOST = 128, POWERS = 241, PLACES = 25, SETS_MOST = 10 };

/** False when the work allowed is used up; told once. */
static bool spend(const struct rules_lint *lint, const struct spurity_clause *clause, double steps)
{
    bool had = *lint->steps_left > 0.0;
    *lint->steps_left -= steps;
    if (had && !(*lint->steps_left > 0.0))
        spurity_lint_doubt(lint, clause->facts.line,
                           "the file is too large to be tried out whole: not from clause %s on", clause->facts.clause);
    return *lint->steps_left > 0.0;
}

/** What one question to a clause costs: it looks through the tables. */
static double question(const struct spurity_clause *clause)
{
    return 10.0 + (double)clause->rules->channel_count + 4.0 * (double)clause->rules->bandwidth_count;
}

/** Values to try; `whole` turns false when there was no room for all. */
struct tries {
    double value[CARRIERS_MOST];
    size_t count, most;
    bool whole;
};

static void try_value(struct tries *tries, double value)
{
    if (!spurity_known(value) && !isnan(value))
        return;
    tries->whole &= tries->count < tries->most;
    if (tries->count < tries->most)
        tries->value[tries->count++] = value;
}

/** A figure just inside an end. */
static double inside(const struct rules_end *end, double direction)
{
    return end->inclusive ? end->value : end->value + direction * 1e-3;
}

static void try_range(struct tries *tries, const struct rules_range *range)
{
    if (range->low.set && range->high.set)
        try_value(tries, (range->low.value + range->high.value) / 2.0);
    if (range->low.set)
        try_value(tries, inside(&range->low, 1.0));
    if (range->high.set)
        try_value(tries, inside(&range->high, -1.0));
}

static void try_channels(struct tries *tries, const struct rules_channel *channel)
{
    try_value(tries, channel->frequency_hz);
    try_value(tries, channel->frequency_hz - channel->bandwidth_hz / 2.0);
    try_value(tries, channel->frequency_hz + channel->bandwidth_hz / 2.0);
}

/** Carriers at and about every end that speaks of one: if any carrier satisfies all of them, one of these does. */
static struct tries carriers_of(const struct spurity_clause *clause)
{
    struct tries tries = {.most = CARRIERS_MOST, .whole = true};
    const struct spurity_rules *rules = clause->rules;
    for (size_t i = 0; i < clause->channel_count && !tries.count; i++) /* the first channel it names */
        for (size_t k = 0; k < rules->channel_count; k++)
            if (!strcmp(clause->channels[i], rules->channels[k].number))
                try_channels(&tries, &rules->channels[k]);
    try_range(&tries, &clause->carrier);
    for (size_t i = 0; i < clause->applies_band_count; i++) {
        const double *pair = &clause->applies_bands[2 * i];
        try_value(&tries, (pair[0] + pair[1]) / 2.0);
        try_value(&tries, pair[0]);
        try_value(&tries, pair[1]);
    }
    try_value(&tries, 150e6);
    for (size_t k = 0; clause->channel_count && k < rules->channel_count; k++)
        try_channels(&tries, &rules->channels[k]);
    for (size_t k = 0; k < rules->bandwidth_count; k++)
        try_range(&tries, &rules->bandwidths[k].carrier);
    return tries;
}

/** Untold (NaN), then the widths of the table and the ends of the clause. */
static struct tries widths_of(const struct spurity_clause *clause)
{
    struct tries tries = {.most = WIDTHS_MOST, .whole = true};
    const struct spurity_rules *rules = clause->rules;
    try_value(&tries, NAN);
    try_range(&tries, &clause->bandwidth);
    for (size_t k = 0; k < rules->bandwidth_count; k++)
        try_value(&tries, rules->bandwidths[k].authorised_hz);
    try_value(&tries, 20e3);
    return tries;
}

/** Point `index` of `count` from low to high: even in ratio, both ends included. */
static double spread(double low, double high, int index, int count)
{
    return low * pow(high / low, (double)index / (count - 1));
}

static double end_or(const struct rules_end *end, double otherwise)
{
    return end->set && !end->percent && end->value > 0.0 ? end->value : otherwise;
}

/** Powers from 1 uW to 100 kW (half a dB apart) within the clause's own range. */
static double probe_power(const struct spurity_clause *clause, int index)
{
    double low = end_or(&clause->power.low, fmin(1e-6, end_or(&clause->power.high, 1.0) / 2.0));
    return spread(low, end_or(&clause->power.high, fmax(1e5, 2.0 * low)), index, POWERS);
}

static void set_power(spurity_conditions *conditions, double watts)
{
    conditions->mean_power_w = conditions->pep_w = conditions->carrier_power_w = watts;
}

/** A day in the range; 0 when it asks for none.  Only their order counts, so that a day need not exist. */
static spurity_date day_in(const struct rules_range *range)
{
    if (range->high.set)
        return (spurity_date)range->high.value - !range->high.inclusive;
    return range->low.set ? (spurity_date)range->low.value + !range->low.inclusive : 0;
}

/** All that is no carrier and no bandwidth. */
static spurity_conditions made_up(const struct spurity_clause *clause)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.necessary_bandwidth_hz = 16e3;
    conditions.antenna_gain_dbd = 0.0;
    set_power(&conditions, probe_power(clause, POWERS / 2));
    conditions.installed = day_in(&clause->dates[SPURITY_DATE_INSTALLED]);
    conditions.marketed = day_in(&clause->dates[SPURITY_DATE_MARKETED]);
    conditions.built = day_in(&clause->dates[SPURITY_DATE_BUILT]);
    conditions.emission = clause->emission_count ? clause->emissions[0] : NULL;
    conditions.station = clause->station_count ? clause->stations[0] : NULL;
    conditions.audio_filter = clause->audio_filter;
    return conditions;
}

/** Sets that a clause binds, and, of one that sets its figure somewhere, at some place. */
struct sets {
    spurity_conditions set[SETS_MOST];
    size_t count;
    bool binds; /* some set is bound, be there a place or not */
    bool whole; /* nothing was left untried */
};

static bool has_place(const struct spurity_clause *clause, const spurity_conditions *conditions)
{
    bool spectral =
        clause->facts.quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION || clause->facts.quantity == SPURITY_QUANTITY_MASK;
    return !spectral || spurity_clause_stretches(clause, conditions, NULL, 0);
}

/** Three carriers of the first width that fits; of the others one, where the width decides the place. */
static void find_sets(const struct rules_lint *lint, const struct spurity_clause *clause, struct sets *sets)
{
    struct tries carriers = carriers_of(clause), widths = widths_of(clause);
    spurity_conditions conditions = made_up(clause);
    *sets = (struct sets){.whole = carriers.whole && widths.whole};
    for (size_t w = 0; w < widths.count && (!sets->count || spurity_where_uses_percent(&clause->where)); w++)
        for (size_t c = 0; c < carriers.count && sets->count < SETS_MOST; c++) {
            conditions.carrier_hz = carriers.value[c];
            conditions.bandwidth_hz = widths.value[w];
            if (!spend(lint, clause, 3.0 * question(clause))) {
                sets->whole = false;
                return;
            }
            if (spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) != SPURITY_APPLIES_YES)
                continue;
            sets->binds = true;
            if (!has_place(clause, &conditions))
                continue;
            sets->set[sets->count++] = conditions;
            if (sets->count >= 3)
                break;
        }
}

/* ---- branches that never decide ------------------------------------------------------------------ */

struct leaves {
    const spurity_limit *leaf[LEAVES_MOST];
    bool bound[LEAVES_MOST];
    bool by_place; /* some leaf changes with frequency */
    size_t count, open;
};

static void collect(const spurity_limit *limit, struct leaves *leaves)
{
    leaves->by_place |= !limit->child_count && limit->form != FORM_FIXED && limit->variable != VARIABLE_POWER;
    if (!limit->child_count && leaves->count < LEAVES_MOST)
        leaves->leaf[leaves->count++] = limit;
    for (size_t i = 0; i < limit->child_count; i++)
        collect(&limit->children[i], leaves);
}

/** Marks every leaf that carries the value of the tree (ties count for all). */
static void mark(const spurity_limit *limit, const spurity_conditions *conditions, double hz, double value,
                 struct leaves *leaves)
{
    double dbm;
    if (!spurity_limit_dbm(limit, conditions, hz, &dbm, NULL) || fabs(dbm - value) > 1e-6)
        return;
    for (size_t i = 0; i < leaves->count; i++)
        if (leaves->leaf[i] == limit && !leaves->bound[i]) {
            leaves->bound[i] = true;
            leaves->open--;
        }
    for (size_t i = 0; i < limit->child_count; i++)
        mark(&limit->children[i], conditions, hz, value, leaves);
}

/** Places the clause covers: in its last stretch, even in ratio from the centre or from zero. */
static void probe_places(const struct spurity_clause *clause, const spurity_conditions *conditions,
                         double places[PLACES])
{
    spurity_clause_stretch found[2] = {{0.0, 0.0, false, false}, {0.0, 0.0, false, false}};
    bool offsets = clause->where.kind == WHERE_FROM || clause->where.kind == WHERE_OFFSET;
    double centre = offsets ? spurity_centre_hz(clause, conditions) : 0.0;
    size_t count = spurity_clause_stretches(clause, conditions, found, 2);
    const spurity_clause_stretch *last = &found[count > 1 && offsets ? 1 : 0];
    double low = fmax(last->from_hz - centre, offsets ? 1.0 : 9e3);
    double high = isinf(last->to_hz) ? fmax(offsets ? 1e7 : 4e10, 2.0 * low) : fmax(last->to_hz - centre, low);
    for (int i = 0; i < PLACES; i++)
        places[i] = centre + spread(low, high, i, PLACES);
}

static void probe(const struct rules_lint *lint, const struct spurity_clause *clause, const spurity_conditions *set,
                  struct leaves *leaves)
{
    spurity_conditions conditions = *set;
    double channels = clause->where.from_channel_centre ? (double)clause->rules->channel_count : 0.0;
    double places[PLACES], dbm, cost = (double)leaves->count * (2.0 + channels / 10.0);
    probe_places(clause, set, places);
    for (int i = 0; i < POWERS; i++)
        for (int k = 0; k < (leaves->by_place ? PLACES : 1); k++) {
            if (!leaves->open || !spend(lint, clause, cost))
                return;
            set_power(&conditions, probe_power(clause, i));
            if (spurity_limit_dbm(&clause->limit, &conditions, places[k], &dbm, NULL))
                mark(&clause->limit, &conditions, places[k], dbm, leaves);
        }
}

static void lint_branches(const struct rules_lint *lint, const struct spurity_clause *clause, const struct sets *sets)
{
    struct leaves leaves = {.count = 0};
    if (!clause->facts.limit || !clause->limit.child_count)
        return;
    collect(&clause->limit, &leaves);
    leaves.open = leaves.count;
    if (leaves.leaf[0]->unit != LEVEL_DBM) {
        spurity_lint_doubt(lint, clause->limit.line, "clause %s: a tree of figures in Hz or ppm; one figure is enough",
                           clause->facts.clause);
        return;
    }
    for (size_t i = 0; i < sets->count; i++)
        probe(lint, clause, &sets->set[i], &leaves);
    for (size_t i = 0; i < leaves.count && sets->count && *lint->steps_left > 0.0; i++) {
        char words[120];
        if (leaves.bound[i])
            continue;
        spurity_limit_describe(leaves.leaf[i], words, sizeof words);
        spurity_lint_doubt(lint, leaves.leaf[i]->line, "clause %s: unreachable branch: %s never decides the limit%s",
                           clause->facts.clause, words,
                           spurity_range_is_set(&clause->power) ? " at any power the clause binds" : " at any power");
    }
}

/* ---- where a mask ends --------------------------------------------------------------------------- */

/** Whether some clause that binds, or may, sets a figure there. */
static bool someone_covers(const struct spurity_rules *rules, const spurity_conditions *conditions, double hz)
{
    for (size_t i = 0; i < rules->clause_count; i++)
        if (spurity_clause_covers(&rules->clauses[i], conditions, hz) &&
            spurity_clause_applies(&rules->clauses[i], conditions, NULL, 0, NULL, 0) != SPURITY_APPLIES_NO)
            return true;
    return false;
}

/** Of the clauses of another quantity that bind, the one which starts next above `hz`; NULL none. */
static const struct spurity_clause *next_out(const struct spurity_clause *clause, const spurity_conditions *conditions,
                                             double hz, double *from_hz)
{
    const struct spurity_rules *rules = clause->rules;
    const struct spurity_clause *next = NULL;
    for (size_t i = 0; i < rules->clause_count; i++) {
        const struct spurity_clause *other = &rules->clauses[i];
        spurity_clause_stretch found[2];
        size_t count = spurity_clause_stretches(other, conditions, found, 2);
        if (count != 2 || other->where.kind == WHERE_HARMONICS || other->facts.quantity == clause->facts.quantity ||
            found[1].from_hz < hz || (next && found[1].from_hz >= *from_hz) ||
            spurity_clause_applies(other, conditions, NULL, 0, NULL, 0) != SPURITY_APPLIES_YES)
            continue;
        next = other;
        *from_hz = found[1].from_hz;
    }
    return next;
}

/** A mask and what is asked further out are clauses of different quantities: does the one begin where the other ends?
 * (Of one quantity: lint.c.) */
static void lint_end_of_mask(const struct rules_lint *lint, const struct spurity_clause *clause,
                             const struct sets *sets)
{
    spurity_clause_stretch found[2];
    char end[60], start[60];
    if (clause->facts.quantity != SPURITY_QUANTITY_MASK || !sets->count || clause->where.kind != WHERE_OFFSET)
        return;
    if (!spend(lint, clause, 4.0 * (double)clause->rules->clause_count * question(clause)))
        return;
    const spurity_conditions *set = &sets->set[0];
    double centre = spurity_centre_hz(clause, set), from_hz = 0.0;
    size_t count = spurity_clause_stretches(clause, set, found, 2);
    if (!count || isinf(found[count - 1].to_hz))
        return;
    const spurity_clause_stretch *last = &found[count - 1];
    double beyond = last->to_included ? nextafter(last->to_hz, INFINITY) : last->to_hz;
    const struct spurity_clause *next = next_out(clause, set, last->to_hz, &from_hz);
    if (!next || someone_covers(clause->rules, set, beyond))
        return;
    spurity_lint_doubt(lint, clause->facts.line,
                       "gap: clause %s ends at %s from the centre, where clause %s in line %lu starts at %s only",
                       clause->facts.clause, spurity_print_frequency(end, sizeof end, last->to_hz - centre),
                       next->facts.clause, next->facts.line,
                       spurity_print_frequency(start, sizeof start, from_hz - centre));
}

void spurity_lint_reach(const struct rules_lint *lint, const struct spurity_clause *clause)
{
    struct sets sets;
    find_sets(lint, clause, &sets);
    if (!sets.binds && sets.whole) {
        spurity_lint_doubt(lint, clause->facts.line, "clause %s never binds: no set satisfies all of its conditions",
                           clause->facts.clause);
        return;
    }
    if (!sets.count && sets.whole)
        spurity_lint_doubt(lint, clause->facts.line, "clause %s sets no figure anywhere: its place is empty",
                           clause->facts.clause);
    lint_branches(lint, clause, &sets);
    lint_end_of_mask(lint, clause, &sets);
}
