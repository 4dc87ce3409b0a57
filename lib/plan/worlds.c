/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the conditions leave open: powers within the reading and on both sides of every step in it, dates that decide
 * and were not said; which clauses bind in which of these worlds; what to ask. */
#include <math.h>
#include <stdio.h>
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

double spurity_plan_bandwidth(const struct planning *p, bool *assumed)
{
    if (!(p->point->bandwidth_hz > 0))
        return spurity_necessary_bandwidth(p->point->emission, p->f0, assumed);
    if (assumed)
        *assumed = false;
    return p->point->bandwidth_hz;
}

/* One reading leaves open what its uncertainty does; a range is the user's word. */
static struct values power_values(const struct planning *p, const spurity_rules *rules)
{
    struct values values = {0};
    double low = p->point->power_low_w, high = p->point->power_high_w;
    put(&values, high);
    put(&values, low);
    put(&values, sqrt(low * high));
    if (low == high) {
        low *= spurity_ratio_from_db(-spurity_test_point_meter_expanded(p->point));
        high *= spurity_ratio_from_db(spurity_test_point_meter_expanded(p->point));
    }
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        double steps[8];
        size_t count = spurity_clause_power_steps(spurity_rules_clause(rules, c), steps, 8);
        for (size_t s = 0; s < count && s < 8; s++)
            for (int side = -1; side <= 1; side++) {
                double watts = steps[s] * (1 + side * 1e-9);
                if (watts >= low && watts <= high)
                    put(&values, watts);
            }
    }
    return values;
}

static bool decides(const spurity_rules *rules, const spurity_conditions *conditions, const char *option)
{
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        char needs[128] = "";
        if (spurity_clause_applies(spurity_rules_clause(rules, c), conditions, NULL, 0, needs, sizeof needs) ==
                SPURITY_APPLIES_UNKNOWN &&
            strstr(needs, option))
            return true;
    }
    return false;
}

static struct values date_values(const spurity_rules *rules, const spurity_conditions *conditions,
                                 spurity_date_kind kind, spurity_date told, const char *option)
{
    struct values values = {0};
    if (told || !decides(rules, conditions, option)) {
        put(&values, told);
        return values;
    }
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        spurity_date steps[8];
        size_t count = spurity_clause_date_steps(spurity_rules_clause(rules, c), kind, steps, 8);
        values.cut = values.cut || count > 8;
        for (size_t s = 0; s < count && s < 8; s++)
            for (int side = -1; side <= 1; side++)
                put(&values, steps[s] + side); /* compares as a number: the day need not exist */
    }
    if (!values.count)
        put(&values, 0);
    return values;
}

static void set_power(const struct planning *p, spurity_conditions *conditions, double watts)
{
    /* A set keyed without modulation and one of angle modulation give a peak equal to their mean. */
    bool even = p->point->power_is_pep || spurity_emission_is_angle_modulated(p->point->emission) ||
                p->point->modulation <= SPURITY_MODULATION_NONE;
    conditions->mean_power_w = watts;
    conditions->carrier_power_w = watts;
    if (even)
        conditions->pep_w = watts;
}

static spurity_conditions base_of(const struct planning *p)
{
    const spurity_test_point *point = p->point;
    spurity_conditions base;
    spurity_conditions_init(&base);
    base.carrier_hz = p->f0;
    base.necessary_bandwidth_hz = spurity_plan_bandwidth(p, NULL);
    base.bandwidth_hz = point->bandwidth_hz;
    base.installed = point->installed;
    base.marketed = point->marketed;
    base.built = point->built;
    base.emission = point->emission;
    base.station = point->station;
    base.audio_filter = point->audio_filter;
    base.antenna_gain_dbd = point->antenna_gain_dbd;
    return base;
}

static void fill_worlds(struct planning *p, const spurity_rules *rules, struct plan_worlds *worlds)
{
    const spurity_test_point *point = p->point;
    struct values powers = power_values(p, rules), days[3];
    spurity_conditions base = base_of(p), probe = base;
    set_power(p, &probe, powers.items[0]);
    days[0] = date_values(rules, &probe, SPURITY_DATE_INSTALLED, point->installed, "--installed");
    days[1] = date_values(rules, &probe, SPURITY_DATE_MARKETED, point->marketed, "--marketed");
    days[2] = date_values(rules, &probe, SPURITY_DATE_BUILT, point->built, "--built");
    if (powers.cut || days[0].cut || days[1].cut || days[2].cut ||
        powers.count * days[0].count * days[1].count * days[2].count > SPURITY_PLAN_WORLDS)
        spurity_plan_block(p, "too much is left open to plan for all of it: say the power more closely (--power "
                              "P1..P2), and the dates (--installed --marketed --built)");
    for (size_t w = 0; w < powers.count; w++)
        for (size_t a = 0; a < days[0].count; a++)
            for (size_t b = 0; b < days[1].count; b++)
                for (size_t c = 0; c < days[2].count && worlds->count < SPURITY_PLAN_WORLDS; c++) {
                    spurity_conditions *world = &worlds->items[worlds->count++];
                    *world = base;
                    set_power(p, world, powers.items[w]);
                    world->installed = (spurity_date)days[0].items[a];
                    world->marketed = (spurity_date)days[1].items[b];
                    world->built = (spurity_date)days[2].items[c];
                }
}

/* ---- clauses ---- */

static bool is_asked(const struct planning *p, const char *group)
{
    return p->asked & spurity_plan_group_bit(group);
}

/* Whether a clause cannot be told to bind or not; dates are taken as both. */
static bool open_question(const char *needs)
{
    char left[128];
    snprintf(left, sizeof left, "%s", needs);
    static const char *const dates[] = {"--installed", "--marketed", "--built", "--power"};
    for (size_t i = 0; i < sizeof dates / sizeof *dates; i++) {
        char *at = strstr(left, dates[i]);
        if (at)
            memset(at, ' ', strlen(dates[i]));
    }
    return left[strspn(left, " ")] != '\0';
}

static spurity_status add_candidate(struct planning *p, size_t index, const spurity_clause *clause, bool mask)
{
    struct plan_candidate *list = mask ? p->masks : p->emissions;
    size_t *count = mask ? &p->mask_count : &p->emission_count;
    if (*count == SPURITY_PLAN_CANDIDATES) {
        spurity_plan_block(p,
                           "these rules have more clauses of one group (over %d) than are planned for at once: split "
                           "the file",
                           SPURITY_PLAN_CANDIDATES);
        return SPURITY_OK;
    }
    struct plan_candidate *candidate = &list[*count];
    *candidate = (struct plan_candidate){.rules = index, .clause = clause};
    spurity_clause_facts_of(clause, &candidate->facts);
    bool any = false, open = false;
    char needs[128] = "";
    for (size_t w = 0; w < p->worlds[index].count; w++) {
        char here[128] = "";
        spurity_applies applies =
            spurity_clause_applies(clause, &p->worlds[index].items[w], NULL, 0, here, sizeof here);
        candidate->binds[w] = applies != SPURITY_APPLIES_NO; /* while it is open, the stricter: it binds */
        any = any || candidate->binds[w];
        if (applies == SPURITY_APPLIES_UNKNOWN && open_question(here)) {
            open = true;
            snprintf(needs, sizeof needs, "%s", here);
        }
    }
    *count += any;
    if (!any || !open)
        return SPURITY_OK;
    spurity_plan_block(p, "say %s: whether %s binds depends on it", needs, candidate->facts.clause);
    char why[160];
    snprintf(why, sizeof why, "whether %.60s binds depends on it, and until then it cannot be shown",
             candidate->facts.clause);
    return spurity_plan_add_needs(p, needs, why);
}

/* Nearest offset from the carrier at which any clause speaks. */
static void find_inner_edge(struct planning *p)
{
    p->inner_hz = (double)NAN;
    for (size_t i = 0; i < p->emission_count; i++) {
        const struct plan_candidate *c = &p->emissions[i];
        for (size_t w = 0; w < p->worlds[c->rules].count; w++) {
            const spurity_conditions *world = &p->worlds[c->rules].items[w];
            if (!c->binds[w])
                continue;
            double edge = spurity_clause_inner_edge(c->clause, world), beyond = edge * (1 + 1e-6) + 1;
            if (spurity_clause_covers(c->clause, world, p->f0 + beyond) ||
                spurity_clause_covers(c->clause, world, p->f0 - beyond))
                p->inner_hz = isnan(p->inner_hz) ? edge : fmin(p->inner_hz, edge);
        }
    }
    if (!isnan(p->point->beyond_hz))
        p->inner_hz = isnan(p->inner_hz) ? p->point->beyond_hz : fmax(p->inner_hz, p->point->beyond_hz);
}

static void put_edge(struct planning *p, double hz)
{
    for (size_t i = 0; i < p->edge_count; i++)
        if (p->edges_hz[i] == hz)
            return;
    if (p->edge_count < SPURITY_PLAN_EDGES && isfinite(hz) && hz > 0)
        p->edges_hz[p->edge_count++] = hz;
}

/* Ends of all stretches, and of the ranges of rule sets: there limits change. */
static void find_edges(struct planning *p)
{
    enum { STRETCHES = 48 };
    for (size_t r = 0; r < p->question->rules_count; r++) {
        put_edge(p, p->worlds[r].from_hz);
        put_edge(p, p->worlds[r].to_hz);
    }
    for (size_t i = 0; i < p->emission_count; i++) {
        const struct plan_candidate *c = &p->emissions[i];
        spurity_clause_stretch stretches[STRETCHES];
        size_t w = 0;
        while (w + 1 < p->worlds[c->rules].count && !c->binds[w])
            w++;
        size_t found = spurity_clause_stretches(c->clause, &p->worlds[c->rules].items[w], stretches, STRETCHES);
        for (size_t s = 0; s < found && s < STRETCHES; s++) {
            put_edge(p, stretches[s].from_hz);
            put_edge(p, stretches[s].to_hz);
        }
    }
}

/* In which a verdict by this rule set judges, of what is to be shown in all. */
static void set_range(const struct planning *p, const spurity_rules *rules, struct plan_worlds *worlds)
{
    const spurity_test_point *point = p->point;
    spurity_rules_span span;
    worlds->from_hz = isnan(point->lowest_hz) ? fmin(30e6, p->f0 / 4) : point->lowest_hz;
    worlds->to_hz = fmin(10 * p->f0, 40e9);
    if (spurity_rules_investigated(rules, p->f0, &span)) {
        worlds->from_hz = fmax(span.from_hz, point->lowest_hz); /* fmax passes over what was not said */
        worlds->to_hz = span.to_hz;
    }
    if (!isnan(point->range_from_hz)) {
        worlds->from_hz = point->range_from_hz;
        worlds->to_hz = point->range_to_hz;
    }
}

spurity_status spurity_plan_find_worlds(struct planning *p)
{
    for (size_t r = 0; r < p->question->rules_count; r++) {
        const spurity_rules *rules = p->question->rules[r];
        fill_worlds(p, rules, &p->worlds[r]);
        set_range(p, rules, &p->worlds[r]);
        for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
            const spurity_clause *clause = spurity_rules_clause(rules, c);
            spurity_clause_facts facts;
            spurity_clause_facts_of(clause, &facts);
            bool mask = facts.quantity == SPURITY_QUANTITY_MASK;
            if (!facts.limit || !is_asked(p, facts.group) ||
                (!mask && facts.quantity != SPURITY_QUANTITY_SPURIOUS_EMISSION))
                continue;
            spurity_status status = add_candidate(p, r, clause, mask);
            if (status)
                return status;
        }
    }
    find_inner_edge(p);
    find_edges(p);
    return SPURITY_OK;
}

/* ---- what is not told by levels ---- */

/* Inside every band but by an assumed width: the verdict will ask. */
static bool width_decides(const struct planning *p, const spurity_clause_facts *facts)
{
    bool assumed;
    double half = spurity_plan_bandwidth(p, &assumed) / 2, best = -(double)INFINITY;
    for (size_t i = 0; i < facts->band_count; i++)
        best = fmax(best, fmin(p->f0 - facts->bands_hz[2 * i], facts->bands_hz[2 * i + 1] - p->f0));
    double doubt = spurity_plan_reference_ppm(p) * 1e-6 * p->f0;
    return assumed && best >= 0 && best - half < doubt;
}

static spurity_status ask_power(struct planning *p, size_t index, const spurity_clause *clause,
                                const spurity_clause_facts *facts)
{
    const spurity_conditions *world = &p->worlds[index].items[0];
    char needs[128] = "", why[160];
    double dbm;
    if (facts->quantity == SPURITY_QUANTITY_BAND && width_decides(p, facts)) {
        spurity_plan_block(p, "say --bandwidth or --emission: the carrier is so near a band's edge that the assumed "
                              "width decides");
        return spurity_plan_add_need(p, "--bandwidth", "near a band's edge the assumed width would decide");
    }
    if (facts->quantity != SPURITY_QUANTITY_CARRIER_POWER || !facts->limit)
        return SPURITY_OK;
    spurity_limit_needs(facts->limit, world, needs, sizeof needs);
    if (spurity_limit_dbm(facts->limit, world, p->f0, &dbm, NULL) || !needs[0])
        return SPURITY_OK;
    snprintf(why, sizeof why, "%.60s caps a power that cannot be told without it", facts->clause);
    spurity_plan_block(p, "say %s: %s", needs, why);
    return spurity_plan_add_needs(p, needs, why);
}

static spurity_status ask_frequency(struct planning *p)
{
    if (!isnan(p->point->reference_ppm))
        return SPURITY_OK;
    spurity_plan_block(p, "say --reference-ppm: a frequency error is not shown by a reference nobody vouches for");
    return spurity_plan_add_need(p, "--reference-ppm", "a frequency error is no better known than the reference");
}

static spurity_status ask_modulation(struct planning *p)
{
    if (p->point->modulation == SPURITY_MODULATION_TEST)
        return SPURITY_OK;
    spurity_plan_block(p, "say --modulation test, and modulate the set: masks and occupied bandwidth are not shown "
                          "otherwise");
    return spurity_plan_add_need(p, "--modulation",
                                 "masks and occupied bandwidth are shown with the set modulated by the test tone only");
}

/* Whether the power keeps a cap, so that the kind of station that brings it decides nothing. */
static bool keeps_cap(const struct planning *p, size_t index, const spurity_clause_facts *facts)
{
    double dbm;
    return facts->quantity == SPURITY_QUANTITY_CARRIER_POWER && facts->limit &&
           spurity_limit_dbm(facts->limit, &p->worlds[index].items[0], p->f0, &dbm, NULL) && p->high_dbm <= dbm;
}

/* One clause of a group that levels alone do not answer. */
static spurity_status ask_of(struct planning *p, size_t index, const spurity_clause *clause)
{
    spurity_clause_facts facts;
    char needs[128] = "", why[160];
    spurity_clause_facts_of(clause, &facts);
    bool levels = facts.quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION;
    if (facts.quantity == SPURITY_QUANTITY_NOTE || levels || !is_asked(p, facts.group))
        return SPURITY_OK;
    spurity_applies applies = spurity_clause_applies(clause, &p->worlds[index].items[0], NULL, 0, needs, sizeof needs);
    if (applies == SPURITY_APPLIES_NO)
        return SPURITY_OK;
    if (applies == SPURITY_APPLIES_UNKNOWN && !strcmp(needs, "--station") && keeps_cap(p, index, &facts))
        return SPURITY_OK;
    if (applies == SPURITY_APPLIES_UNKNOWN) {
        snprintf(why, sizeof why, "whether %.60s binds depends on it", facts.clause);
        spurity_plan_block(p, "say %s: %s", needs, why);
        return spurity_plan_add_needs(p, needs, why);
    }
    switch (facts.quantity) {
    case SPURITY_QUANTITY_FREQUENCY_ERROR:
        return ask_frequency(p);
    case SPURITY_QUANTITY_MASK:
    case SPURITY_QUANTITY_OCCUPIED_BANDWIDTH:
        return ask_modulation(p);
    case SPURITY_QUANTITY_PEAK_DEVIATION:
        spurity_plan_block(p, "%s limits the deviation, which is not measured here: it stays not shown", facts.clause);
        return SPURITY_OK;
    default:
        return ask_power(p, index, clause, &facts);
    }
}

/* A range narrowed by the user's word that leaves out harmonic 2 or 3 gives no pass. */
static void look_at_range(struct planning *p)
{
    const spurity_test_point *point = p->point;
    bool narrowed = !isnan(point->range_from_hz) || !isnan(point->beyond_hz);
    for (int n = 2; n <= 3 && narrowed && p->emission_count; n++)
        if (n * p->f0 <= 40e9 && !spurity_plan_judged_at(p, n * p->f0)) {
            spurity_plan_block(p, "harmonic %d lies outside --range or --beyond: without it nothing passes", n);
            return;
        }
}

spurity_status spurity_plan_ask(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    look_at_range(p);
    for (size_t r = 0; r < p->question->rules_count; r++)
        for (size_t c = 0; c < spurity_rules_clause_count(p->question->rules[r]) && !status; c++)
            status = ask_of(p, r, spurity_rules_clause(p->question->rules[r], c));
    if (!status && isnan(p->question->noise_dbm)) {
        spurity_plan_block(p, "say --noise: without the instrument's noise nobody knows whether a pass could be shown");
        status = spurity_plan_add_need(p, "--noise",
                                       "what the instrument shows with its input terminated, and in which RBW: "
                                       "whether a pass could be shown hangs on it");
    }
    return status;
}
