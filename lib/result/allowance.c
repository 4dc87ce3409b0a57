/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a set of rules allows one transmitter, stretch by stretch: at each frequency the strictest of the clauses that
 * bind, and the line of its limit that decides. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "internal.h"

enum { CASES_MOST = 8, CASES_ROOM = 16, STRETCHES_MOST = 256, DAYS_MOST = 6, STATIONS_MOST = 6, SAMPLES = 33 };

typedef struct allowed_case {
    spurity_allowed_case view;
    const spurity_clause **binding; /* clauses about the spectrum that bind, then those that may */
    size_t binding_count, open_count;
    spurity_allowed *rows;
    size_t count, room;
} allowed_case;

struct spurity_allowance {
    const spurity_rules *rules;
    double from_hz, to_hz;
    size_t case_count;
    allowed_case cases[CASES_MOST];
    char stations[STATIONS_MOST][48];
    char needs[160];
};

void spurity_allowance_free(spurity_allowance *allowance)
{
    for (size_t i = 0; allowance && i < allowance->case_count; i++) {
        free(allowance->cases[i].binding);
        free(allowance->cases[i].rows);
    }
    free(allowance);
}

void spurity_allowance_range(const spurity_allowance *allowance, double *from_hz, double *to_hz)
{
    *from_hz = allowance->from_hz;
    *to_hz = allowance->to_hz;
}

size_t spurity_allowance_case_count(const spurity_allowance *allowance)
{
    return allowance->case_count;
}

const spurity_allowed_case *spurity_allowance_case(const spurity_allowance *allowance, size_t index)
{
    return index < allowance->case_count ? &allowance->cases[index].view : NULL;
}

const char *spurity_allowance_needs(const spurity_allowance *allowance)
{
    return allowance->needs;
}

static bool is_spectral(const spurity_clause *clause, spurity_clause_facts *facts)
{
    spurity_clause_facts_of(clause, facts);
    return facts->quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION || facts->quantity == SPURITY_QUANTITY_MASK;
}

/* ---- what is open -------------------------------------------------------------------------------- */

/* Whether a clause about the spectrum stays open for want of this option. */
static bool decides(const spurity_rules *rules, const spurity_conditions *conditions, const char *option)
{
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        char needs[160] = "";
        spurity_clause_facts facts;
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        if (is_spectral(clause, &facts) &&
            spurity_clause_applies(clause, conditions, NULL, 0, needs, sizeof needs) == SPURITY_APPLIES_UNKNOWN &&
            strstr(needs, option))
            return true;
    }
    return false;
}

static void join(char *text, size_t size, const char *between, const char *more)
{
    size_t used = strlen(text);
    snprintf(text + used, size - used, "%s%s", used ? between : "", more);
}

/* One more case beside `from`, told apart by `when`. There is room for what one split makes beside CASES_MOST. */
static spurity_allowed_case *add_case(allowed_case *cases, size_t *count, const spurity_allowed_case *from,
                                      const char *when)
{
    spurity_allowed_case *one = &cases[(*count)++].view;
    *one = *from;
    join(one->when, sizeof one->when, *when ? ", " : "", when);
    return one;
}

typedef size_t split_case(spurity_allowance *allowance, const spurity_allowed_case *from, allowed_case *cases,
                          size_t count);

static size_t split_audio_filter(spurity_allowance *allowance, const spurity_allowed_case *from, allowed_case *cases,
                                 size_t count)
{
    (void)allowance;
    add_case(cases, &count, from, "with an audio filter")->conditions.audio_filter = 1;
    add_case(cases, &count, from, "without an audio filter")->conditions.audio_filter = 0;
    return count;
}

static int by_day(const void *a, const void *b)
{
    spurity_date x = *(const spurity_date *)a, y = *(const spurity_date *)b;
    return (x > y) - (x < y);
}

/* The days of this kind at which a clause about the spectrum begins or ends to bind, rising; how many there are. */
static size_t collect_days(const spurity_rules *rules, spurity_date_kind kind, spurity_date days[DAYS_MOST])
{
    size_t count = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_date steps[8];
        spurity_clause_facts facts;
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        size_t step_count = is_spectral(clause, &facts) ? spurity_clause_date_steps(clause, kind, steps, 8) : 0;
        for (size_t k = 0; k < step_count && k < 8; k++) {
            size_t known = 0;
            while (known < count && known < DAYS_MOST && days[known] != steps[k])
                known++;
            if (known < count)
                continue;
            if (count < DAYS_MOST)
                days[count] = steps[k];
            count++;
        }
    }
    qsort(days, count < DAYS_MOST ? count : DAYS_MOST, sizeof *days, by_day);
    return count;
}

/* Before the first day, and from each on: what spurity_clause_date_steps tells is the first day of what is new. */
static size_t split_date(const spurity_rules *rules, const spurity_allowed_case *from, allowed_case *cases,
                         size_t count, spurity_date_kind kind)
{
    static const char *const verbs[] = {"installed", "first marketed", "built"};
    spurity_date days[DAYS_MOST] = {0};
    size_t day_count = collect_days(rules, kind, days);
    if (!day_count || day_count > DAYS_MOST)
        return count;
    for (size_t probe = 0; probe <= day_count; probe++) {
        size_t index = probe ? probe - 1 : 0;
        char day[40], next[40] = "", when[120];
        spurity_format_date(day, sizeof day, days[index]);
        if (probe && probe < day_count)
            spurity_format_date(next, sizeof next, days[probe]);
        snprintf(when, sizeof when, "%s %s %s%s%s", verbs[kind], probe ? "on or after" : "before", day,
                 *next ? " and before " : "", next);
        spurity_conditions *conditions = &add_case(cases, &count, from, when)->conditions;
        spurity_date *dates[] = {&conditions->installed, &conditions->marketed, &conditions->built};
        *dates[kind] = days[index] - !probe; /* compares as a number: the day need not exist */
    }
    return count;
}

static size_t split_installed(spurity_allowance *allowance, const spurity_allowed_case *from, allowed_case *cases,
                              size_t count)
{
    return split_date(allowance->rules, from, cases, count, SPURITY_DATE_INSTALLED);
}

static size_t split_marketed(spurity_allowance *allowance, const spurity_allowed_case *from, allowed_case *cases,
                             size_t count)
{
    return split_date(allowance->rules, from, cases, count, SPURITY_DATE_MARKETED);
}

static size_t split_built(spurity_allowance *allowance, const spurity_allowed_case *from, allowed_case *cases,
                          size_t count)
{
    return split_date(allowance->rules, from, cases, count, SPURITY_DATE_BUILT);
}

/* Each kind of station the file knows, where they are few. */
static size_t split_station(spurity_allowance *allowance, const spurity_allowed_case *from, allowed_case *cases,
                            size_t count)
{
    char words[400] = "";
    size_t found = 0;
    spurity_rules_knows_station(allowance->rules, "", words, sizeof words);
    for (const char *word = words; *word && found <= STATIONS_MOST; found++) {
        size_t length = strcspn(word, ",");
        if (found < STATIONS_MOST)
            snprintf(allowance->stations[found], sizeof allowance->stations[found], "%.*s", (int)length, word);
        word += length + strspn(word + length, ", ");
    }
    if (found < 2 || found > STATIONS_MOST)
        return count;
    for (size_t i = 0; i < found; i++) {
        char when[80];
        snprintf(when, sizeof when, "station %s", allowance->stations[i]);
        add_case(cases, &count, from, when)->conditions.station = allowance->stations[i];
    }
    return count;
}

static const struct {
    const char *option;
    split_case *split;
} splits[] = {
    {"--station", split_station},     {"--audio-filter", split_audio_filter},
    {"--installed", split_installed}, {"--marketed", split_marketed},
    {"--built", split_built},
};

/* Replaces each case in which an option decides by those it can make. Where they would be too many, the case stays as
 * it is and the option is told as needed. */
static void split_cases(spurity_allowance *allowance)
{
    for (size_t s = 0; s < sizeof splits / sizeof *splits; s++) {
        allowed_case next[CASES_ROOM] = {0};
        size_t count = 0;
        for (size_t i = 0; i < allowance->case_count; i++) {
            const spurity_allowed_case *one = &allowance->cases[i].view;
            size_t before = count, left = allowance->case_count - i - 1;
            if (decides(allowance->rules, &one->conditions, splits[s].option))
                count = splits[s].split(allowance, one, next, count);
            if (count == before || count + left > CASES_MOST) {
                count = before;
                add_case(next, &count, one, "");
            }
        }
        memcpy(allowance->cases, next, sizeof allowance->cases);
        allowance->case_count = count;
    }
}

/* ---- rows of a case ------------------------------------------------------------------------------ */

/** What decides at a frequency. */
typedef struct state {
    const spurity_clause *clause; /* NULL: nothing */
    const spurity_limit *leaf;
    double dbm, reference_hz;
    bool open; /* no clause: one that may bind, or whose level is not told, is there */
} state;

static bool collect_binding(const spurity_rules *rules, allowed_case *one)
{
    size_t count = spurity_rules_clause_count(rules);
    one->binding = calloc(count + 1, sizeof(const spurity_clause *));
    if (!one->binding)
        return false;
    for (int wanted = SPURITY_APPLIES_YES; wanted <= SPURITY_APPLIES_UNKNOWN; wanted++)
        for (size_t i = 0; i < count; i++) {
            spurity_clause_facts facts;
            const spurity_clause *clause = spurity_rules_clause(rules, i);
            if (!is_spectral(clause, &facts) ||
                (int)spurity_clause_applies(clause, &one->view.conditions, NULL, 0, NULL, 0) != wanted)
                continue;
            one->binding[one->binding_count + one->open_count] = clause;
            *(wanted == SPURITY_APPLIES_YES ? &one->binding_count : &one->open_count) += 1;
        }
    return true;
}

static state state_at(const allowed_case *one, double hz)
{
    state found = {NULL, NULL, NAN, NAN, false};
    bool open = false;
    for (size_t i = 0; i < one->binding_count + one->open_count; i++) {
        spurity_clause_facts facts;
        const spurity_clause *clause = one->binding[i];
        const spurity_limit *leaf = NULL;
        double dbm = NAN;
        spurity_clause_facts_of(clause, &facts);
        if (!spurity_clause_covers(clause, &one->view.conditions, hz))
            continue;
        bool told = i < one->binding_count && spurity_limit_dbm(facts.limit, &one->view.conditions, hz, &dbm, &leaf);
        open |= !told;
        if (told && (!found.clause || dbm < found.dbm - 1e-9))
            found = (state){clause, leaf, dbm, spurity_clause_reference_bandwidth(clause, hz), false};
    }
    found.open = open && !found.clause;
    return found;
}

static bool same_state(const state *a, const state *b)
{
    bool no_reference = !isfinite(a->reference_hz) && !isfinite(b->reference_hz);
    return a->clause == b->clause && a->leaf == b->leaf && a->open == b->open &&
           (no_reference || fabs(a->reference_hz - b->reference_hz) < 1e-6);
}

/** Frequencies at which something may change. */
typedef struct edges {
    double *hz;
    size_t count, room;
    bool failed;
} edges;

static void add_edge(edges *list, double hz, double from_hz, double to_hz)
{
    if (!(hz >= from_hz && hz <= to_hz) || list->failed)
        return;
    double *grown = spurity_grow(list->hz, list->count, &list->room, sizeof *grown);
    list->failed = !grown;
    if (!grown)
        return;
    list->hz = grown;
    list->hz[list->count++] = hz;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Ends of the range, of every stretch of every clause, and the steps of the reference bandwidths (Rec. ITU-R SM.329);
 * rising, each once. */
static void collect_edges(const spurity_allowance *allowance, const allowed_case *one, edges *list)
{
    static const double reference_steps[] = {150e3, 30e6, 1e9};
    double from = allowance->from_hz, to = allowance->to_hz;
    spurity_clause_stretch stretches[STRETCHES_MOST] = {{0}};
    add_edge(list, from, from, to);
    add_edge(list, to, from, to);
    for (size_t i = 0; i < sizeof reference_steps / sizeof *reference_steps; i++)
        add_edge(list, reference_steps[i], from, to);
    for (size_t i = 0; i < one->binding_count + one->open_count; i++) {
        size_t count = spurity_clause_stretches(one->binding[i], &one->view.conditions, stretches, STRETCHES_MOST);
        for (size_t k = 0; k < count && k < STRETCHES_MOST; k++) {
            add_edge(list, stretches[k].from_hz, from, to);
            add_edge(list, stretches[k].to_hz, from, to);
        }
    }
    if (list->failed || !list->hz)
        return;
    qsort(list->hz, list->count, sizeof *list->hz, by_value);
    size_t kept = 1;
    for (size_t i = 1; i < list->count; i++)
        if (list->hz[i] - list->hz[kept - 1] > 1e-3)
            list->hz[kept++] = list->hz[i];
    list->count = kept;
}

/* Adds a row, or lengthens the last one when nothing changed. */
static bool add_row(allowed_case *one, double from, double to, const state *first, const state *last)
{
    spurity_allowed *before = one->count ? &one->rows[one->count - 1] : NULL;
    state end = {NULL, NULL, NAN, NAN, false};
    if (before)
        end = (state){before->clause, before->leaf, before->to_dbm, before->reference_bandwidth_hz, before->open};
    if (before && same_state(&end, first) && !(fabs(first->dbm - end.dbm) > 1e-3)) {
        before->to_hz = to;
        before->to_dbm = last->dbm;
        return true;
    }
    spurity_allowed *rows = spurity_grow(one->rows, one->count, &one->room, sizeof *rows);
    if (!rows)
        return false;
    one->rows = rows;
    one->rows[one->count++] = (spurity_allowed){.from_hz = from,
                                                .to_hz = to,
                                                .clause = first->clause,
                                                .leaf = first->leaf,
                                                .from_dbm = first->dbm,
                                                .to_dbm = last->dbm,
                                                .reference_bandwidth_hz = first->reference_hz,
                                                .open = first->open};
    return true;
}

/* Where between `low` (of this state) and `high` (of another) it ends. */
static double leaves_at(const allowed_case *one, const state *here, double low, double high)
{
    for (int i = 0; i < 100 && high - low > 1e-6; i++) {
        double middle = low + (high - low) / 2;
        if (!(middle > low && middle < high))
            break;
        state there = state_at(one, middle);
        if (same_state(here, &there))
            low = middle;
        else
            high = middle;
    }
    return high;
}

/* Rows between two neighbouring edges: clauses stay, the line that decides may change. */
static bool rows_between(allowed_case *one, double from, double to)
{
    double inside = fmin(1e-4, (to - from) / 4), start = from;
    state first = state_at(one, from + inside), last = first;
    for (int i = 1; i < SAMPLES; i++) {
        double hz = from + inside + (to - from - 2 * inside) * i / (SAMPLES - 1), before = hz;
        state there = state_at(one, hz);
        while (!same_state(&there, &first)) {
            before = fmax(start + inside, from + inside + (to - from - 2 * inside) * (i - 1) / (SAMPLES - 1));
            double end = leaves_at(one, &first, before, hz);
            last = state_at(one, fmax(before, end - 1e-4));
            if (!add_row(one, start, end, &first, &last))
                return false;
            start = end;
            first = state_at(one, fmin(hz, end + 1e-4));
            if (!(end < hz - inside)) {
                first = there;
                break;
            }
        }
        last = there;
    }
    return add_row(one, start, to, &first, &last);
}

/* An end belongs to the row that says what holds on it. */
static void settle_ends(allowed_case *one)
{
    for (size_t i = 0; i < one->count; i++) {
        spurity_allowed *row = &one->rows[i];
        state own = {row->clause, row->leaf, NAN, row->reference_bandwidth_hz, row->open};
        state at_from = state_at(one, row->from_hz);
        state at_to = state_at(one, row->to_hz);
        row->from_included = same_state(&own, &at_from);
        row->to_included = same_state(&own, &at_to);
    }
}

static bool build_rows(const spurity_allowance *allowance, allowed_case *one)
{
    edges list = {0};
    if (!collect_binding(allowance->rules, one))
        return false;
    collect_edges(allowance, one, &list);
    bool good = !list.failed;
    for (size_t i = 1; good && i < list.count; i++)
        good = rows_between(one, list.hz[i - 1], list.hz[i]);
    free(list.hz);
    settle_ends(one);
    one->view.rows = one->rows;
    one->view.row_count = one->count;
    return good;
}

/* ---- the whole ----------------------------------------------------------------------------------- */

static bool same_rows(const allowed_case *a, const allowed_case *b)
{
    if (a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++) {
        const spurity_allowed *x = &a->rows[i], *y = &b->rows[i];
        if (x->clause != y->clause || x->leaf != y->leaf || x->open != y->open ||
            fabs(x->from_hz - y->from_hz) > 1e-3 || fabs(x->to_hz - y->to_hz) > 1e-3 ||
            fabs(x->from_dbm - y->from_dbm) > 1e-6 || fabs(x->to_dbm - y->to_dbm) > 1e-6)
            return false;
    }
    return true;
}

/* Cases that allow the same are one. */
static void merge_cases(spurity_allowance *allowance)
{
    size_t kept = 0;
    for (size_t i = 0; i < allowance->case_count; i++) {
        allowed_case *one = &allowance->cases[i];
        size_t twin = 0;
        while (twin < kept && !same_rows(&allowance->cases[twin], one))
            twin++;
        if (twin == kept) {
            allowance->cases[kept++] = *one;
            continue;
        }
        spurity_allowed_case *first = &allowance->cases[twin].view;
        join(first->when, sizeof first->when, " or ", one->view.when);
        free(one->binding);
        free(one->rows);
    }
    allowance->case_count = kept;
    if (kept == 1)
        allowance->cases[0].view.when[0] = '\0';
}

static void add_need(char *needs, size_t size, const char *option, size_t length)
{
    char word[64];
    snprintf(word, sizeof word, "%.*s", (int)length, option);
    for (const char *found = strstr(needs, word); found; found = strstr(found + 1, word))
        if ((found == needs || found[-1] == ' ') && (found[length] == '\0' || found[length] == ' '))
            return;
    join(needs, size, " ", word);
}

/* What stays open in some case, or has no level for want of a figure. */
static void collect_needs(spurity_allowance *allowance)
{
    for (size_t c = 0; c < allowance->case_count; c++)
        for (size_t i = 0; i < spurity_rules_clause_count(allowance->rules); i++) {
            char needs[160] = "";
            spurity_clause_facts facts;
            const spurity_conditions *conditions = &allowance->cases[c].view.conditions;
            const spurity_clause *clause = spurity_rules_clause(allowance->rules, i);
            if (!is_spectral(clause, &facts) ||
                spurity_clause_applies(clause, conditions, NULL, 0, needs, sizeof needs) == SPURITY_APPLIES_NO)
                continue;
            spurity_limit_needs(facts.limit, conditions, needs, sizeof needs);
            for (const char *word = needs; *word; word += strspn(word, " ")) {
                size_t length = strcspn(word, " ");
                add_need(allowance->needs, sizeof allowance->needs, word, length);
                word += length;
            }
        }
}

static void set_range(spurity_allowance *allowance, double carrier_hz)
{
    spurity_rules_span span;
    bool told = spurity_rules_investigated(allowance->rules, carrier_hz, &span) && span.to_hz > span.from_hz;
    allowance->from_hz = told ? span.from_hz : fmin(30e6, carrier_hz / 4);
    allowance->to_hz = told ? span.to_hz : fmin(10 * carrier_hz, 40e9);
    if (!(allowance->to_hz > allowance->from_hz)) /* a carrier beyond 40 GHz: about itself at least */
        allowance->to_hz = 2 * carrier_hz;
}

spurity_status spurity_allowance_create(const spurity_rules *rules, const spurity_conditions *conditions,
                                        spurity_allowance **allowance, spurity_error *error)
{
    *allowance = NULL;
    if (!(conditions->carrier_hz > 0.0) || !isfinite(conditions->carrier_hz))
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "no carrier", "the carrier's frequency",
                              "say --carrier");
    spurity_allowance *made = calloc(1, sizeof *made);
    if (!made)
        return spurity_report_memory(error);
    made->rules = rules;
    set_range(made, conditions->carrier_hz);
    made->case_count = 1;
    made->cases[0].view.conditions = *conditions;
    split_cases(made);
    for (size_t i = 0; i < made->case_count; i++)
        if (!build_rows(made, &made->cases[i])) {
            spurity_allowance_free(made);
            return spurity_report_memory(error);
        }
    merge_cases(made);
    collect_needs(made);
    *allowance = made;
    return SPURITY_OK;
}

bool spurity_allowance_at(const spurity_allowance *allowance, size_t index, double hz, double *dbm, size_t *row)
{
    if (index >= allowance->case_count || !isfinite(hz))
        return false;
    const allowed_case *one = &allowance->cases[index];
    state found = state_at(one, hz);
    if (!found.clause)
        return false;
    *dbm = found.dbm;
    for (size_t i = 0; row && i < one->count; i++)
        if (hz >= one->rows[i].from_hz && hz <= one->rows[i].to_hz &&
            (i + 1 == one->count || hz < one->rows[i].to_hz || one->rows[i].to_included)) {
            *row = i;
            break;
        }
    return true;
}
