/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Doubts about a rule file that can be read: clauses that double or contradict each other, gaps between clauses that
 * differ in one range, tables that answer twice or not at all; lint_reach.c has what never binds.  (A figure without a
 * unit is an error when the file is loaded.) */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

void spurity_lint_doubt(const struct rules_lint *lint, unsigned long line, const char *format, ...)
{
    spurity_rule_remark remark = {.line = line};
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(remark.text, sizeof remark.text, format, arguments);
    va_end(arguments);
    lint->remark(lint->user, &remark);
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

/** All conditions that are neither ranges nor lists of words. */
static bool rest_equal(const struct spurity_clause *a, const struct spurity_clause *b)
{
    struct rules_range width_a = {.low = a->where.width}, width_b = {.low = b->where.width};
    return !strcmp(a->facts.group, b->facts.group) && a->facts.quantity == b->facts.quantity &&
           a->audio_filter == b->audio_filter && a->where.kind == b->where.kind &&
           a->where.from_necessary_bandwidth == b->where.from_necessary_bandwidth &&
           a->where.from_spurious_domain == b->where.from_spurious_domain &&
           a->where.from_channel_centre == b->where.from_channel_centre && spurity_range_equal(&width_a, &width_b) &&
           (!spurity_range_is_set(&a->power) || !spurity_range_is_set(&b->power) || a->power_of == b->power_of) &&
           pairs_equal(a->applies_bands, a->applies_band_count, b->applies_bands, b->applies_band_count);
}

struct words {
    char *const *word;
    size_t count;
    const char *name;
};
enum { WORD_LISTS = 3 };

static void words_of(const struct spurity_clause *clause, struct words lists[WORD_LISTS])
{
    lists[0] = (struct words){clause->emissions, clause->emission_count, "emission"};
    lists[1] = (struct words){clause->stations, clause->station_count, "station"};
    lists[2] = (struct words){clause->channels, clause->channel_count, "channel"};
}

/** How many lists of words differ; *which is the last of them. */
static int list_differences(const struct spurity_clause *a, const struct spurity_clause *b, int *which)
{
    struct words of_a[WORD_LISTS], of_b[WORD_LISTS];
    int count = 0;
    words_of(a, of_a);
    words_of(b, of_b);
    for (int i = 0; i < WORD_LISTS; i++)
        if (!lists_equal(of_a[i].word, of_a[i].count, of_b[i].word, of_b[i].count)) {
            *which = i;
            count++;
        }
    return count;
}

static bool same_conditions(const struct spurity_clause *a, const struct spurity_clause *b)
{
    int which;
    return rest_equal(a, b) && !list_differences(a, b, &which);
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
static void lint_overlap(const struct rules_lint *lint, const struct spurity_clause *a, const struct spurity_clause *b)
{
    enum dimension by = BY_CARRIER;
    int count = same_conditions(a, b) ? differences(a, b, &by) : DIMENSIONS;
    if (count == 0) {
        spurity_lint_doubt(lint, b->facts.line,
                           "overlap: clause %s binds under the same conditions as clause %s in line %lu",
                           b->facts.clause, a->facts.clause, a->facts.line);
        return;
    }
    struct interval x = interval_of(range_of(a, by)), y = interval_of(range_of(b, by));
    bool nested = (starts_first(&x, &y) && ends_last(&x, &y)) || (starts_first(&y, &x) && ends_last(&y, &x));
    if (count == 1 && comparable(range_of(a, by), range_of(b, by)) && meet(&x, &y) && !nested) {
        char value[60];
        print_value(range_of(a, by), by, x.low > y.low ? x.low : y.low, value, sizeof value);
        spurity_lint_doubt(lint, b->facts.line,
                           "overlap: by %s, clause %s and clause %s in line %lu both bind from %s on",
                           dimension_name(by), b->facts.clause, a->facts.clause, a->facts.line, value);
    }
}

static bool list_holds(const struct words *list, const char *word)
{
    for (size_t i = 0; i < list->count; i++)
        if (!strcmp(list->word[i], word))
            return true;
    return false;
}

/** Two clauses equal in all but one list of words, which have some words in common and some each of their own. */
static void lint_lists(const struct rules_lint *lint, const struct spurity_clause *a, const struct spurity_clause *b)
{
    struct words of_a[WORD_LISTS], of_b[WORD_LISTS];
    enum dimension by;
    int which = 0;
    size_t shared = 0, first = 0;
    if (!rest_equal(a, b) || differences(a, b, &by) || list_differences(a, b, &which) != 1)
        return;
    words_of(a, of_a);
    words_of(b, of_b);
    const struct words *x = &of_a[which], *y = &of_b[which];
    for (size_t i = 0; i < x->count; i++)
        if (list_holds(y, x->word[i]) && !shared++)
            first = i;
    if (!shared || shared == x->count || shared == y->count) /* one inside the other is an exception on purpose */
        return;
    spurity_lint_doubt(lint, b->facts.line, "overlap: by %s, clause %s and clause %s in line %lu both bind '%.40s'",
                       x->name, b->facts.clause, a->facts.clause, a->facts.line, x->word[first]);
}

/** The clause among the siblings of `from` (itself included) which reaches furthest from where `from` ends; a gap when
 * none goes on but one starts later. */
static void lint_gap(const struct rules_lint *lint, const spurity_rules *rules, size_t from, enum dimension by)
{
    const struct spurity_clause *clause = &rules->clauses[from], *later = NULL;
    struct interval here = interval_of(range_of(clause, by));
    if (isinf(here.high))
        return;
    for (size_t i = 0; i < rules->clause_count; i++) {
        const struct spurity_clause *other = &rules->clauses[i];
        enum dimension differs = by;
        if (i == from || !same_conditions(clause, other) || differences(clause, other, &differs) != 1 || differs != by)
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
    spurity_lint_doubt(
        lint, clause->facts.line, "gap: by %s, clause %s ends at %s%s and clause %s in line %lu starts at %s%s",
        dimension_name(by), clause->facts.clause, end, here.high_in ? "" : " (not included)", later->facts.clause,
        later->facts.line, start, interval_of(range_of(later, by)).low_in ? "" : " (not included)");
}

/* ---- tables -------------------------------------------------------------------------------------- */

static void lint_channels(const struct rules_lint *lint, const struct spurity_rules *rules)
{
    for (size_t i = 0; i < rules->channel_count; i++)
        for (size_t k = 0; k < i; k++) {
            char hz[60];
            if (fabs(rules->channels[i].frequency_hz - rules->channels[k].frequency_hz) < 0.5)
                spurity_lint_doubt(lint, rules->channels[i].line, "channels %s and %s have one frequency, %s",
                                   rules->channels[k].number, rules->channels[i].number,
                                   spurity_print_frequency(hz, sizeof hz, rules->channels[i].frequency_hz));
        }
}

/** Two rows that answer the same question differently. */
static void lint_bandwidths(const struct rules_lint *lint, const struct spurity_rules *rules)
{
    for (size_t i = 0; i < rules->bandwidth_count; i++)
        for (size_t k = 0; k < i; k++) {
            const struct rules_bandwidth *a = &rules->bandwidths[k], *b = &rules->bandwidths[i];
            struct interval x = interval_of(&a->carrier), y = interval_of(&b->carrier);
            char hz[60];
            if (fabs(a->channel_hz - b->channel_hz) < 0.5 && meet(&x, &y) &&
                lists_equal(a->emissions, a->emission_count, b->emissions, b->emission_count))
                spurity_lint_doubt(lint, b->line,
                                   "overlap: the channel width %s stands in line %lu too, for the same carriers",
                                   spurity_print_frequency(hz, sizeof hz, b->channel_hz), a->line);
        }
}

/** Rows are read from the top: each should begin where the one before it ends. */
static void lint_spans(const struct rules_lint *lint, const struct spurity_rules *rules)
{
    for (size_t i = 1; i < rules->span_count; i++) {
        const struct rules_span *a = &rules->spans[i - 1], *b = &rules->spans[i];
        struct interval x = interval_of(&a->carrier), y = interval_of(&b->carrier);
        bool joined = !(x.high < y.low) && (y.low < x.high || x.high_in || y.low_in);
        char hz[60];
        if (!joined)
            spurity_lint_doubt(lint, b->line, "gap: for a carrier of %s no range to be investigated",
                               spurity_print_frequency(hz, sizeof hz, x.high));
    }
}

static void lint_pair(const struct rules_lint *lint, const struct spurity_clause *a, const struct spurity_clause *b)
{
    lint_overlap(lint, a, b);
    lint_lists(lint, a, b);
}

void spurity_rules_lint(const spurity_rules *rules, void (*remark)(void *user, const spurity_rule_remark *), void *user)
{
    double steps_left = 5e7; /* about a second */
    const struct rules_lint lint = {remark, user, &steps_left};
    lint_channels(&lint, rules);
    lint_bandwidths(&lint, rules);
    lint_spans(&lint, rules);
    for (size_t i = 0; i < rules->clause_count; i++) {
        const struct spurity_clause *clause = &rules->clauses[i];
        spurity_lint_reach(&lint, clause);
        if (clause->facts.quantity == SPURITY_QUANTITY_NOTE)
            continue;
        for (size_t k = 0; k < i; k++)
            lint_pair(&lint, &rules->clauses[k], clause);
        for (int by = 0; by < DIMENSIONS; by++)
            lint_gap(&lint, rules, i, (enum dimension)by);
    }
}
