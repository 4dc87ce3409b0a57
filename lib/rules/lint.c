/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Doubts about a rule file that can be read: branches that never bind, clauses that double or contradict each other,
 * gaps between clauses that differ in one range, tables that answer twice or not at all.  (A figure without a unit is
 * an error when the file is loaded.) */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

struct lint {
    void (*remark)(void *user, const spurity_rule_remark *);
    void *user;
};

static void doubt(const struct lint *lint, unsigned long line, const char *format, ...) SPURITY_PRINTF(3, 4);
static void doubt(const struct lint *lint, unsigned long line, const char *format, ...)
{
    spurity_rule_remark remark = {.line = line};
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(remark.text, sizeof remark.text, format, arguments);
    va_end(arguments);
    lint->remark(lint->user, &remark);
}

/* ---- branches that never bind -------------------------------------------------------------------- */

enum { LEAVES_MOST = 128, POWERS = 241, PLACES = 25 };

struct leaves {
    const spurity_limit *leaf[LEAVES_MOST];
    bool bound[LEAVES_MOST];
    bool by_place; /* some leaf changes with frequency */
    size_t count;
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
        if (leaves->leaf[i] == limit)
            leaves->bound[i] = true;
    for (size_t i = 0; i < limit->child_count; i++)
        mark(&limit->children[i], conditions, hz, value, leaves);
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
    return spread(end_or(&clause->power.low, 1e-6), end_or(&clause->power.high, 1e5), index, POWERS);
}

/** Frequencies the clause covers: at offsets, or absolute. */
static double probe_place(const struct spurity_clause *clause, const spurity_conditions *conditions, int index)
{
    const struct rules_range *range = &clause->where.range;
    if (clause->where.kind == WHERE_ABSOLUTE)
        return spread(end_or(&range->low, 9e3), end_or(&range->high, 4e10), index, PLACES);
    return conditions->carrier_hz + spread(end_or(&range->low, 1e3), end_or(&range->high, 1e7), index, PLACES);
}

static void probe(const struct spurity_clause *clause, struct leaves *leaves)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = end_or(&clause->carrier.low, end_or(&clause->carrier.high, 150e6));
    conditions.necessary_bandwidth_hz = 16e3;
    conditions.bandwidth_hz = 20e3;
    conditions.antenna_gain_dbd = 0.0;
    for (int i = 0; i < POWERS; i++) {
        double watts = probe_power(clause, i);
        conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = watts;
        for (int k = 0; k < (leaves->by_place ? PLACES : 1); k++) {
            double hz = probe_place(clause, &conditions, k), dbm;
            if (spurity_limit_dbm(&clause->limit, &conditions, hz, &dbm, NULL))
                mark(&clause->limit, &conditions, hz, dbm, leaves);
        }
    }
}

static void lint_branches(const struct lint *lint, const struct spurity_clause *clause)
{
    struct leaves leaves = {.count = 0};
    if (!clause->facts.limit || !clause->limit.child_count)
        return;
    collect(&clause->limit, &leaves);
    if (leaves.leaf[0]->unit == LEVEL_DBM)
        probe(clause, &leaves);
    else
        doubt(lint, clause->limit.line, "clause %s: a tree of figures in Hz or ppm; one figure is enough",
              clause->facts.clause);
    for (size_t i = 0; i < leaves.count && leaves.leaf[0]->unit == LEVEL_DBM; i++) {
        char words[120];
        if (leaves.bound[i])
            continue;
        spurity_limit_describe(leaves.leaf[i], words, sizeof words);
        doubt(lint, leaves.leaf[i]->line, "clause %s: unreachable branch: %s never decides the limit%s",
              clause->facts.clause, words,
              spurity_range_is_set(&clause->power) ? " at any power the clause binds" : " at any power");
    }
}

/* ---- clauses beside each other ------------------------------------------------------------------- */

enum dimension {
    BY_CARRIER,
    BY_POWER,
    BY_INSTALLED,
    BY_MARKETED,
    BY_BUILT,
    BY_BANDWIDTH,
    BY_PLACE,
    BY_WITHIN,
    DIMENSIONS
};

static const struct rules_range *range_of(const struct spurity_clause *clause, enum dimension by)
{
    const struct rules_range *ranges[] = {&clause->carrier,     &clause->power,       &clause->dates[0],
                                          &clause->dates[1],    &clause->dates[2],    &clause->bandwidth,
                                          &clause->where.range, &clause->where.within};
    return ranges[by];
}

static bool lists_equal(char *const *a, size_t a_count, char *const *b, size_t b_count)
{
    if (a_count != b_count)
        return false;
    for (size_t i = 0; i < a_count; i++)
        if (strcmp(a[i], b[i]))
            return false;
    return true;
}

static bool pairs_equal(const double *a, size_t a_count, const double *b, size_t b_count)
{
    return a_count == b_count && (!a_count || !memcmp(a, b, 2 * a_count * sizeof *a));
}

/** All conditions that are no ranges. */
static bool rest_equal(const struct spurity_clause *a, const struct spurity_clause *b)
{
    struct rules_range width_a = {.low = a->where.width}, width_b = {.low = b->where.width};
    return !strcmp(a->facts.group, b->facts.group) && a->facts.quantity == b->facts.quantity &&
           a->audio_filter == b->audio_filter && a->where.kind == b->where.kind &&
           a->where.from_necessary_bandwidth == b->where.from_necessary_bandwidth &&
           a->where.from_spurious_domain == b->where.from_spurious_domain &&
           a->where.from_channel_centre == b->where.from_channel_centre && spurity_range_equal(&width_a, &width_b) &&
           (!spurity_range_is_set(&a->power) || !spurity_range_is_set(&b->power) || a->power_of == b->power_of) &&
           lists_equal(a->emissions, a->emission_count, b->emissions, b->emission_count) &&
           lists_equal(a->stations, a->station_count, b->stations, b->station_count) &&
           lists_equal(a->channels, a->channel_count, b->channels, b->channel_count) &&
           pairs_equal(a->applies_bands, a->applies_band_count, b->applies_bands, b->applies_band_count);
}

/** How many ranges differ; *by is the last of them. */
static int differences(const struct spurity_clause *a, const struct spurity_clause *b, enum dimension *by)
{
    int count = 0;
    for (int i = 0; i < DIMENSIONS; i++)
        if (!spurity_range_equal(range_of(a, (enum dimension)i), range_of(b, (enum dimension)i))) {
            *by = (enum dimension)i;
            count++;
        }
    return count;
}

/** A range as an interval of the line; an open end is infinite.  Ends compare by value, then by being included. */
struct interval {
    double low, high;
    bool low_in, high_in;
};

static struct interval interval_of(const struct rules_range *range)
{
    struct interval interval = {-INFINITY, INFINITY, true, true};
    if (range->low.set) {
        interval.low = range->low.value;
        interval.low_in = range->low.inclusive;
    }
    if (range->high.set) {
        interval.high = range->high.value;
        interval.high_in = range->high.inclusive;
    }
    return interval;
}

/** a starts no later than b. */
static bool starts_first(const struct interval *a, const struct interval *b)
{
    return a->low < b->low || (!(a->low > b->low) && (a->low_in || !b->low_in));
}

static bool ends_last(const struct interval *a, const struct interval *b)
{
    return a->high > b->high || (!(a->high < b->high) && (a->high_in || !b->high_in));
}

static bool meet(const struct interval *a, const struct interval *b)
{
    if (a->high < b->low || b->high < a->low)
        return false;
    if (!(a->high > b->low))
        return a->high_in && b->low_in;
    return b->high > a->low || (b->high_in && a->low_in);
}

static const char *dimension_name(enum dimension by)
{
    static const char *const names[] = {"carrier",   "power", "installation date", "marketing date", "date of making",
                                        "bandwidth", "place", "frequency"};
    return names[by];
}

/** Shares of a bandwidth do not compare with Hz. */
static bool comparable(const struct rules_range *a, const struct rules_range *b)
{
    const struct rules_end *ends[] = {&a->low, &a->high, &b->low, &b->high};
    int percent = 0, set = 0;
    for (int i = 0; i < 4; i++) {
        set += ends[i]->set;
        percent += ends[i]->set && ends[i]->percent;
    }
    return !percent || percent == set;
}

static void print_value(const struct rules_range *range, enum dimension by, double value, char *text, size_t size)
{
    if (range->low.percent || range->high.percent)
        snprintf(text, size, "%s %%", spurity_print_plain((char[40]){0}, 40, value));
    else if (by == BY_POWER)
        spurity_format_power(text, size, value);
    else if (by >= BY_INSTALLED && by <= BY_BUILT)
        spurity_print_date(text, size, value);
    else
        spurity_print_frequency(text, size, value);
}

/** Two clauses equal in all or in all but one range.  One inside the other is an exception on purpose. */
static void lint_overlap(const struct lint *lint, const struct spurity_clause *a, const struct spurity_clause *b)
{
    enum dimension by = BY_CARRIER;
    int count = rest_equal(a, b) ? differences(a, b, &by) : DIMENSIONS;
    if (count == 0) {
        doubt(lint, b->facts.line, "overlap: clause %s binds under the same conditions as clause %s in line %lu",
              b->facts.clause, a->facts.clause, a->facts.line);
        return;
    }
    struct interval x = interval_of(range_of(a, by)), y = interval_of(range_of(b, by));
    bool nested = (starts_first(&x, &y) && ends_last(&x, &y)) || (starts_first(&y, &x) && ends_last(&y, &x));
    if (count == 1 && comparable(range_of(a, by), range_of(b, by)) && meet(&x, &y) && !nested) {
        char value[60];
        print_value(range_of(a, by), by, x.low > y.low ? x.low : y.low, value, sizeof value);
        doubt(lint, b->facts.line, "overlap: by %s, clause %s and clause %s in line %lu both bind from %s on",
              dimension_name(by), b->facts.clause, a->facts.clause, a->facts.line, value);
    }
}

/** The clause among the siblings of `from` (itself included) which reaches furthest from where `from` ends; a gap when
 * none goes on but one starts later. */
static void lint_gap(const struct lint *lint, const spurity_rules *rules, size_t from, enum dimension by)
{
    const struct spurity_clause *clause = &rules->clauses[from], *later = NULL;
    struct interval here = interval_of(range_of(clause, by));
    if (isinf(here.high))
        return;
    for (size_t i = 0; i < rules->clause_count; i++) {
        const struct spurity_clause *other = &rules->clauses[i];
        enum dimension differs = by;
        if (i == from || !rest_equal(clause, other) || differences(clause, other, &differs) != 1 || differs != by)
            continue;
        if (!comparable(range_of(clause, by), range_of(other, by)))
            continue;
        struct interval there = interval_of(range_of(other, by));
        bool reaches = there.low < here.high || (!(there.low > here.high) && (there.low_in || here.high_in));
        bool goes_on = there.high > here.high || (!(there.high < here.high) && there.high_in && !here.high_in);
        if (reaches && goes_on)
            return;
        if (!reaches && (!later || there.low < interval_of(range_of(later, by)).low))
            later = other;
    }
    if (!later)
        return;
    char end[60], start[60];
    print_value(range_of(clause, by), by, here.high, end, sizeof end);
    print_value(range_of(later, by), by, interval_of(range_of(later, by)).low, start, sizeof start);
    doubt(lint, clause->facts.line, "gap: by %s, clause %s ends at %s%s and clause %s in line %lu starts at %s%s",
          dimension_name(by), clause->facts.clause, end, here.high_in ? "" : " (not included)", later->facts.clause,
          later->facts.line, start, interval_of(range_of(later, by)).low_in ? "" : " (not included)");
}

/* ---- tables -------------------------------------------------------------------------------------- */

static void lint_channels(const struct lint *lint, const struct spurity_rules *rules)
{
    for (size_t i = 0; i < rules->channel_count; i++)
        for (size_t k = 0; k < i; k++) {
            char hz[60];
            if (fabs(rules->channels[i].frequency_hz - rules->channels[k].frequency_hz) < 0.5)
                doubt(lint, rules->channels[i].line, "channels %s and %s have one frequency, %s",
                      rules->channels[k].number, rules->channels[i].number,
                      spurity_print_frequency(hz, sizeof hz, rules->channels[i].frequency_hz));
        }
}

/** Two rows that answer the same question differently. */
static void lint_bandwidths(const struct lint *lint, const struct spurity_rules *rules)
{
    for (size_t i = 0; i < rules->bandwidth_count; i++)
        for (size_t k = 0; k < i; k++) {
            const struct rules_bandwidth *a = &rules->bandwidths[k], *b = &rules->bandwidths[i];
            struct interval x = interval_of(&a->carrier), y = interval_of(&b->carrier);
            char hz[60];
            if (fabs(a->channel_hz - b->channel_hz) < 0.5 && meet(&x, &y) &&
                lists_equal(a->emissions, a->emission_count, b->emissions, b->emission_count))
                doubt(lint, b->line, "overlap: the channel width %s stands in line %lu too, for the same carriers",
                      spurity_print_frequency(hz, sizeof hz, b->channel_hz), a->line);
        }
}

/** Rows are read from the top: each should begin where the one before it ends. */
static void lint_spans(const struct lint *lint, const struct spurity_rules *rules)
{
    for (size_t i = 1; i < rules->span_count; i++) {
        const struct rules_span *a = &rules->spans[i - 1], *b = &rules->spans[i];
        struct interval x = interval_of(&a->carrier), y = interval_of(&b->carrier);
        bool joined = !(x.high < y.low) && (y.low < x.high || x.high_in || y.low_in);
        char hz[60];
        if (!joined)
            doubt(lint, b->line, "gap: for a carrier of %s no range to be investigated",
                  spurity_print_frequency(hz, sizeof hz, x.high));
    }
}

void spurity_rules_lint(const spurity_rules *rules, void (*remark)(void *user, const spurity_rule_remark *), void *user)
{
    const struct lint lint = {remark, user};
    lint_channels(&lint, rules);
    lint_bandwidths(&lint, rules);
    lint_spans(&lint, rules);
    for (size_t i = 0; i < rules->clause_count; i++) {
        const struct spurity_clause *clause = &rules->clauses[i];
        lint_branches(&lint, clause);
        if (clause->facts.quantity == SPURITY_QUANTITY_NOTE)
            continue;
        for (size_t k = 0; k < i; k++)
            lint_overlap(&lint, &rules->clauses[k], clause);
        for (int by = 0; by < DIMENSIONS; by++)
            lint_gap(&lint, rules, i, (enum dimension)by);
    }
}
