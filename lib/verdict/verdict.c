/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "verdict.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "near.h"
#include "parts.h"

spurity_judgement *spurity_verdict_add_judgement(struct judging *j, const spurity_clause *clause, spurity_error *error)
{
    spurity_verdict *v = j->verdict;
    spurity_judgement *items = spurity_grow(v->judgements, v->judgement_count, &v->judgement_room, sizeof *items);
    if (!items) {
        spurity_report_memory(error);
        return NULL;
    }
    v->judgements = items;
    spurity_clause_facts facts;
    spurity_clause_facts_of(clause, &facts);
    spurity_judgement *judgement = &items[v->judgement_count++];
    *judgement = (spurity_judgement){
        .rules = j->rules_index,
        .clause = clause,
        .group = facts.group,
        .emission = -1,
        .measured = (double)NAN,
        .limit = (double)NAN,
        .margin = (double)NAN,
        .unit = "dBm",
        .uncertainty = (double)NAN,
        .conformity_probability = (double)NAN,
        .reference_bandwidth_hz = (double)NAN,
        .detector = facts.detector,
        .confirmed = facts.confirmed,
        .outcome = SPURITY_OUTCOME_NOT_SHOWN,
        .reportable = true,
    };
    snprintf(judgement->quantity, sizeof judgement->quantity, "%s", spurity_quantity_limited_name(facts.quantity));
    return judgement;
}

/* Rules that look from the lowest frequency generated name another frequency while that is unsaid. */
static bool starts_where_rules_say(const struct judging *j, double from_hz, const char *reason)
{
    return !strcmp(reason, "not-swept") && !isnan(j->span.from_hz) && isnan(j->point->lowest_hz) &&
           isnan(j->point->range_from_hz) && from_hz <= j->from_hz * (1 + 1e-9);
}

spurity_status spurity_verdict_add_not_shown(struct judging *j, const spurity_clause *clause, double from_hz,
                                             double to_hz, const char *reason, const char *advice, spurity_error *error)
{
    spurity_verdict *v = j->verdict;
    /* The same advice for the same reason is told once, over all it holds for. */
    bool open = !strcmp(reason, "level-unknown") || !strcmp(reason, "date-unknown") || !strcmp(reason, "power-step");
    for (size_t i = 0; i < v->not_shown_count && (open || !clause); i++) {
        spurity_not_shown *one = &v->not_shown[i];
        bool left_out = !clause && !one->clause && one->from_hz == from_hz && one->to_hz == to_hz;
        if (left_out && !strcmp(one->reason, reason) && !strcmp(one->advice, advice))
            return SPURITY_OK; /* by another rule set */
        if (open && one->rules == j->rules_index && one->clause == clause && !strcmp(one->reason, reason) &&
            !strncmp(one->advice, advice, sizeof one->advice - 1)) {
            one->from_hz = fmin(one->from_hz, from_hz);
            one->to_hz = fmax(one->to_hz, to_hz);
            return SPURITY_OK;
        }
    }
    spurity_not_shown *items = spurity_grow(v->not_shown, v->not_shown_count, &v->not_shown_room, sizeof *items);
    if (!items)
        return spurity_report_memory(error);
    v->not_shown = items;
    spurity_not_shown *item = &items[v->not_shown_count++];
    *item = (spurity_not_shown){.rules = j->rules_index, .clause = clause, .from_hz = from_hz, .to_hz = to_hz};
    snprintf(item->reason, sizeof item->reason, "%s", reason);
    snprintf(item->advice, sizeof item->advice, "%s%s", advice,
             starts_where_rules_say(j, from_hz, reason) ? "; or say --lowest, if the set generates nothing so low"
                                                        : "");
    return SPURITY_OK;
}

spurity_status spurity_verdict_ask(struct judging *j, const spurity_clause *clause, const char *needs,
                                   spurity_error *error)
{
    char advice[280];
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->frequency_hz = j->carrier->frequency_hz;
    row->from_hz = j->from_hz;
    row->to_hz = j->to_hz;
    snprintf(advice, sizeof advice, "whether it binds is not known: say %s", needs);
    spurity_verdict_name_stations(j, advice, sizeof advice);
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, "condition-unknown", advice, error);
}

spurity_status spurity_verdict_tell(struct judging *j, const spurity_clause *clause, spurity_error *error)
{
    spurity_verdict *v = j->verdict;
    const spurity_clause **items = spurity_grow(v->told, v->told_count, &v->told_room, sizeof *items);
    if (!items)
        return spurity_report_memory(error);
    v->told = items;
    items[v->told_count++] = clause;
    return SPURITY_OK;
}

bool spurity_verdict_judged_at(const struct judging *j, double hz)
{
    const spurity_test_point *point = j->point;
    if (!isnan(point->range_from_hz) && (hz < point->range_from_hz || hz > point->range_to_hz))
        return false;
    return isnan(point->beyond_hz) || fabs(hz - j->carrier->frequency_hz) >= point->beyond_hz;
}

double spurity_verdict_modulation_reach(const struct judging *j, const spurity_clause *clause)
{
    double edge = spurity_clause_inner_edge(clause, &j->worlds.items[0]);
    if (!j->carrier->modulated || edge <= 0)
        return 0;
    return 2.5 * j->worlds.items[0].necessary_bandwidth_hz;
}

spurity_outcome spurity_verdict_weigh(struct judging *j, const spurity_clause_facts *facts, spurity_outcome outcome)
{
    if (facts->confirmed)
        return outcome;
    spurity_notes_add(spurity_measurement_notes(j->measurement), SPURITY_NOTE_CLAUSE_UNVERIFIED, -1,
                      "the figures of %s were not confirmed against the text: conditional at best", facts->clause);
    if (outcome == SPURITY_OUTCOME_PASS)
        return SPURITY_OUTCOME_CONDITIONAL_PASS;
    return outcome == SPURITY_OUTCOME_FAIL ? SPURITY_OUTCOME_CONDITIONAL_FAIL : outcome;
}

/* ---- one rule set ---- */

static const struct {
    unsigned group;
    spurity_status (*judge)(struct judging *, bool *, spurity_error *);
} groups[] = {
    {SPURITY_GROUP_EMISSIONS, spurity_verdict_judge_emissions},
    {SPURITY_GROUP_POWER, spurity_verdict_judge_power},
    {SPURITY_GROUP_MASK, spurity_verdict_judge_near},
    {SPURITY_GROUP_FREQUENCY, spurity_verdict_judge_frequency},
    {SPURITY_GROUP_MODULATION, NULL},
};

static unsigned groups_asked(const spurity_test_point *point)
{
    if (point->only)
        return point->only;
    unsigned asked = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER;
    if (point->modulation == SPURITY_MODULATION_TEST || point->modulation == SPURITY_MODULATION_VOICE)
        asked |= SPURITY_GROUP_MASK;
    if (!isnan(point->reference_ppm))
        asked |= SPURITY_GROUP_FREQUENCY;
    return asked;
}

/* "-8.5 dBm", "148 MHz", "4.7 W". */
static char *figure(char *text, size_t size, double value, const char *unit)
{
    if (!strcmp(unit, "Hz"))
        return spurity_format_frequency(text, size, value, 6);
    if (!strcmp(unit, "W"))
        return spurity_format_power(text, size, value);
    char db[24];
    snprintf(text, size, "%s %s", spurity_format_db(db, sizeof db, value), unit);
    return text;
}

/* Words for the judgements that decided a rule set: the worst ones first come. */
static void give_reasons(const spurity_verdict *v, size_t first, spurity_rules_verdict *mine)
{
    char hz[40], number[40], limit[40];
    for (size_t i = first; i < v->judgement_count && mine->reason_count < 6; i++) {
        const spurity_judgement *judgement = &v->judgements[i];
        /* a bound of an emission not seen says no more than that of the stretch it lies in */
        bool told = judgement->at_most && judgement->emission >= 0;
        if (judgement->outcome != mine->outcome || mine->outcome == SPURITY_OUTCOME_PASS ||
            mine->outcome == SPURITY_OUTCOME_NO_LIMIT || told || isnan(judgement->margin))
            continue;
        spurity_clause_facts facts;
        spurity_clause_facts_of(judgement->clause, &facts);
        char *reason = mine->reasons[mine->reason_count++];
        if (facts.quantity == SPURITY_QUANTITY_BAND || facts.quantity == SPURITY_QUANTITY_CHANNEL) {
            snprintf(reason, sizeof mine->reasons[0], "%s: %s, carrier at %s, %s %s (%s)", facts.clause,
                     judgement->quantity, spurity_format_frequency(hz, sizeof hz, judgement->frequency_hz, 7),
                     spurity_format_frequency(number, sizeof number, fabs(judgement->margin), 3),
                     judgement->margin < 0 ? "out" : "inside", judgement->binding);
            continue;
        }
        snprintf(reason, sizeof mine->reasons[0], "%s: %s at %s %s%s against %s (%s)", facts.clause,
                 judgement->quantity, spurity_format_frequency(hz, sizeof hz, judgement->frequency_hz, 6),
                 judgement->at_most ? "at most " : "",
                 figure(number, sizeof number, judgement->measured, judgement->unit),
                 figure(limit, sizeof limit, judgement->limit, judgement->unit), judgement->binding);
    }
}

/* More could be true of the set than was gone through. */
static spurity_status tell_cut(struct judging *j, spurity_error *error)
{
    char open[160], advice[280];
    spurity_verdict_say_open(j, open, sizeof open);
    if (open[0])
        snprintf(advice, sizeof advice, "too much is left open to judge all of it: say %s", open);
    else
        snprintf(advice, sizeof advice,
                 "these rules have more clauses of one group (over %d) or kinds of station than are judged at once: "
                 "say --station, or split the file",
                 CLAUSES_MAX);
    return spurity_verdict_add_not_shown(j, NULL, (double)NAN, (double)NAN, "condition-unknown", advice, error);
}

static spurity_status judge_rules(struct judging *j, spurity_error *error)
{
    spurity_verdict *v = j->verdict;
    spurity_rules_verdict *mine = &v->rules[j->rules_index];
    size_t first = v->judgement_count;
    unsigned judged = 0;
    spurity_status status = spurity_verdict_note_narrowing(j, error);
    for (size_t g = 0; g < sizeof groups / sizeof *groups && !status; g++) {
        if (!(v->asked & groups[g].group))
            continue;
        bool has_clause = false;
        status = groups[g].judge ? groups[g].judge(j, &has_clause, error)
                                 : spurity_verdict_judge_unmeasured(j, groups[g].group, &has_clause, error);
        if (has_clause)
            judged |= groups[g].group;
    }
    mine->rules = j->rules;
    mine->groups = judged;
    mine->from_hz = j->from_hz;
    mine->to_hz = j->to_hz;
    mine->outcome = judged ? SPURITY_OUTCOME_PASS : SPURITY_OUTCOME_NO_LIMIT;
    for (size_t i = first; i < v->judgement_count; i++)
        if (v->judgements[i].outcome > mine->outcome)
            mine->outcome = v->judgements[i].outcome;
    if (!status && j->worlds.cut && mine->outcome < SPURITY_OUTCOME_NOT_SHOWN) {
        mine->outcome = SPURITY_OUTCOME_NOT_SHOWN;
        status = tell_cut(j, error);
    }
    give_reasons(v, first, mine);
    spurity_verdict_place_in_service(j, mine);
    return status;
}

/* One rule set after the other; j is of the one at hand. */
static spurity_status judge_each(struct judging *j, const spurity_rules *const *rules, unsigned *judged,
                                 spurity_error *error)
{
    spurity_verdict *v = j->verdict;
    spurity_status status = SPURITY_OK;
    bool own_harmonics_unproven = false;
    for (size_t i = 0; i < v->rules_count && !status; i++) {
        *j = (struct judging){.measurement = j->measurement,
                              .point = j->point,
                              .carrier = j->carrier,
                              .rules = rules[i],
                              .rules_index = i,
                              .first_told = v->told_count,
                              .verdict = v,
                              .watch = j->watch};
        v->own_harmonics_unproven = false;
        v->left_out_count = 0;
        spurity_verdict_set_range(j);
        spurity_verdict_worlds(j, &v->worlds[i]); /* where they stay: texts in them are pointed to */
        j->worlds = v->worlds[i];
        status = judge_rules(j, error);
        *judged |= v->rules[i].groups;
        own_harmonics_unproven = own_harmonics_unproven || v->own_harmonics_unproven;
        bool worst = !i || v->rules[i].outcome > v->outcome;
        if (worst)
            v->outcome = v->rules[i].outcome;
        spurity_verdict_write_headline(j, worst);
    }
    v->own_harmonics_unproven = own_harmonics_unproven;
    return status;
}

/* ---- the door ---- */

static spurity_status allocate(spurity_verdict **verdict, size_t count, spurity_error *error)
{
    spurity_verdict *v = calloc(1, sizeof *v);
    *verdict = v;
    if (!v)
        return spurity_report_memory(error);
    v->rules_count = count;
    v->rules = calloc(count, sizeof *v->rules);
    v->worlds = calloc(count, sizeof *v->worlds);
    return v->rules && v->worlds ? SPURITY_OK : spurity_report_memory(error);
}

spurity_status spurity_judge(spurity_measurement *measurement, const spurity_rules *const *rules, size_t count,
                             const spurity_watch *watch, spurity_verdict **verdict, spurity_error *error)
{
    *verdict = NULL;
    spurity_verdict *v = NULL;
    if (!count)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "no rules", "at least one rule set", NULL);
    struct judging *j = calloc(1, sizeof *j);
    spurity_status status = j ? allocate(&v, count, error) : spurity_report_memory(error);
    unsigned judged = 0;
    if (!status) {
        *j = (struct judging){.measurement = measurement,
                              .point = spurity_measurement_point(measurement),
                              .carrier = spurity_measurement_carrier(measurement),
                              .verdict = v,
                              .watch = watch};
        v->asked = groups_asked(j->point);
        status = judge_each(j, rules, &judged, error);
    }
    if (!status)
        status = spurity_verdict_compare_rules(v, measurement, error);
    if (!status && spurity_notes_lost(spurity_measurement_notes_view(measurement)))
        status = spurity_report_memory(error);
    if (status) {
        spurity_verdict_free(v);
    } else {
        v->not_examined = (unsigned)~judged & 31U;
        spurity_verdict_name_close_in(v, measurement);
        spurity_verdict_add_other_rules(v);
        *verdict = v;
    }
    free(j);
    return status;
}

void spurity_verdict_free(spurity_verdict *verdict)
{
    if (!verdict)
        return;
    free(verdict->rules);
    free(verdict->worlds);
    free(verdict->judgements);
    free(verdict->not_shown);
    free(verdict->told);
    free(verdict->strictest);
    free(verdict);
}

spurity_outcome spurity_verdict_outcome(const spurity_verdict *verdict)
{
    return verdict->outcome;
}

const char *spurity_verdict_headline(const spurity_verdict *verdict)
{
    return verdict->headline;
}

size_t spurity_verdict_rules_count(const spurity_verdict *verdict)
{
    return verdict->rules_count;
}

const spurity_rules_verdict *spurity_verdict_rules(const spurity_verdict *verdict, size_t index)
{
    return index < verdict->rules_count ? &verdict->rules[index] : NULL;
}

size_t spurity_verdict_judgement_count(const spurity_verdict *verdict)
{
    return verdict->judgement_count;
}

const spurity_judgement *spurity_verdict_judgement(const spurity_verdict *verdict, size_t index)
{
    return index < verdict->judgement_count ? &verdict->judgements[index] : NULL;
}

size_t spurity_verdict_not_shown_count(const spurity_verdict *verdict)
{
    return verdict->not_shown_count;
}

const spurity_not_shown *spurity_verdict_not_shown(const spurity_verdict *verdict, size_t index)
{
    return index < verdict->not_shown_count ? &verdict->not_shown[index] : NULL;
}

unsigned spurity_verdict_not_examined(const spurity_verdict *verdict)
{
    return verdict->not_examined;
}

size_t spurity_verdict_told_count(const spurity_verdict *verdict)
{
    return verdict->told_count;
}

const spurity_clause *spurity_verdict_told(const spurity_verdict *verdict, size_t index)
{
    return index < verdict->told_count ? verdict->told[index] : NULL;
}

/* Whether a clause limits levels by frequency in a group that was asked. */
static bool is_drawn(const spurity_verdict *verdict, const spurity_clause_facts *facts)
{
    if (!facts->limit)
        return false;
    if (facts->quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION)
        return verdict->asked & SPURITY_GROUP_EMISSIONS;
    return facts->quantity == SPURITY_QUANTITY_MASK && (verdict->asked & SPURITY_GROUP_MASK);
}

bool spurity_verdict_limit(const spurity_verdict *verdict, double hz, double *dbm)
{
    double strictest = (double)INFINITY;
    for (size_t r = 0; r < verdict->rules_count; r++) {
        const spurity_rules *rules = verdict->rules[r].rules;
        for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
            const spurity_clause *clause = spurity_rules_clause(rules, c);
            spurity_clause_facts facts;
            spurity_clause_facts_of(clause, &facts);
            if (!is_drawn(verdict, &facts))
                continue;
            for (size_t w = 0; w < verdict->worlds[r].count; w++) {
                const spurity_conditions *world = &verdict->worlds[r].items[w];
                double level;
                if (spurity_clause_applies(clause, world, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES &&
                    spurity_clause_covers(clause, world, hz) && spurity_limit_dbm(facts.limit, world, hz, &level, NULL))
                    strictest = fmin(strictest, level);
            }
        }
    }
    if (isinf(strictest))
        return false;
    *dbm = strictest;
    return true;
}
