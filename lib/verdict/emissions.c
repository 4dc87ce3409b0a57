/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "reading.h"

/* A clause of the group and the worlds in which it binds. */
struct candidate {
    const spurity_clause *clause;
    spurity_clause_facts facts;
    bool binds[WORLDS_MAX];
    size_t worlds;
    bool always;
};

struct candidates {
    struct candidate *items;
    size_t count;
};

/* An emission that met a clause: where, as what it was read, and what came of it. */
struct met {
    bool taken;
    double hz; /* where the limit was taken */
    struct reading read;
    struct meeting meeting;
    spurity_outcome own;
};

/* Why an emission is not shown, and the next step. */
static spurity_status explain(struct judging *j, const struct candidate *c, const spurity_emission *e,
                              const struct met *met, spurity_error *error)
{
    const struct meeting *meeting = &met->meeting;
    const struct reading *read = &met->read;
    bool alternative = meeting->outcome != SPURITY_OUTCOME_NOT_SHOWN;
    char advice[280], rbw[40], wanted[40];
    const char *reason = "level-unknown";
    char at[40];
    spurity_format_frequency_near(at, sizeof at, e->frequency_hz,
                                  fmax(e->rbw_hz / SPURITY_RBW_PARTS, e->frequency_uncertainty_hz));
    bool unsaid = e->trustworthy && (alternative || isnan(meeting->measured)); /* what was not said comes first */
    if (!unsaid && spurity_verdict_doubt(e, at, &reason, advice, sizeof advice))
        return spurity_verdict_add_not_shown(j, c->clause, e->low_hz, e->high_hz, reason, advice, error);
    if (!e->trustworthy && !e->clipped) {
        reason = "points-too-far-apart";
        snprintf(advice, sizeof advice,
                 "sweep a narrow span around %s with points at most half an RBW apart, or use a peak "
                 "detector",
                 at);
    } else if ((isnan(meeting->measured) && !meeting->ratio) || (alternative && j->worlds.power_unknown)) {
        snprintf(
            advice, sizeof advice,
            "its level in dBm is not known: say what stood between set and instrument (--pad, "
            "--loss, --direct; of captures --full-scale too), or the carrier's power (--power) with the carrier in "
            "the same file or scale=NAME");
    } else if (isnan(meeting->measured)) {
        reason = "ratio-unknown";
        snprintf(
            advice, sizeof advice,
            "its level against the carrier is not known: take the carrier with the same chain, or say the chain of "
            "every file (of captures --full-scale too, or scale=NAME)");
    } else if (alternative) {
        char open[160];
        reason = spurity_verdict_open_reason(j);
        spurity_verdict_say_open(j, open, sizeof open);
        snprintf(advice, sizeof advice, "the clauses that may bind differ here: say %s", open);
    } else if (e->kind == SPURITY_ARTEFACT || (e->clipped && (e->seen || !e->trustworthy))) {
        reason = e->kind == SPURITY_ARTEFACT ? "receiver-artefact" : "clipped";
        spurity_verdict_advise_artefact(j, e, at, advice, sizeof advice);
    } else if (e->skirt) {
        reason = "hidden";
        snprintf(advice, sizeof advice,
                 "the skirt of the carrier reaches over the edge of this sweep at %s: narrow the RBW, or show this "
                 "stretch by the sweep that holds the carrier",
                 at);
    } else if (e->front_end_unproven) {
        reason = "front-end-unproven";
        snprintf(advice, sizeof advice,
                 "what reads at %s may be made by the instrument: a filter for the carrier ahead of it (its loss in "
                 "the chain), or 10 and 20 dB more pad until it holds still",
                 at);
    } else if (read->wanted_rbw_hz > 0) {
        reason = "rbw-too-wide";
        snprintf(advice, sizeof advice,
                 "what stands at %s is wider than a line, and how much of it falls into the reference bandwidth cannot "
                 "be told in an RBW of %s: sweep it again at RBW %s or less",
                 at, spurity_format_frequency(rbw, sizeof rbw, e->rbw_hz, 3),
                 spurity_format_frequency(wanted, sizeof wanted, read->wanted_rbw_hz, 3));
    } else if (read->over_floor) {
        reason = "floor-near-limit";
        snprintf(advice, sizeof advice,
                 "the noise at %s stands too little over the floor to be told from it, and together they hold %.1f %s "
                 "in the reference bandwidth: less attenuation if the instrument bears it, or a filter for the carrier "
                 "and then less",
                 at, meeting->measured, meeting->ratio ? "dBc" : "dBm");
    } else {
        reason = "floor-near-limit";
        snprintf(advice, sizeof advice,
                 "the floor lets a line of up to %.1f %s hide at %s, the limit less U is %.1f: lower "
                 "the RBW or the attenuation there, or filter the carrier",
                 meeting->measured, meeting->ratio ? "dBc" : "dBm", at, meeting->limit - meeting->uncertainty);
    }
    return spurity_verdict_add_not_shown(j, c->clause, e->low_hz, e->high_hz, reason, advice, error);
}

static spurity_judgement *add_row(struct judging *j, const struct candidate *c, long index, const spurity_emission *e,
                                  const struct met *met, spurity_error *error)
{
    const struct meeting *meeting = &met->meeting;
    const struct reading *read = &met->read;
    spurity_judgement *row = spurity_verdict_add_judgement(j, c->clause, error);
    if (!row)
        return NULL;
    row->emission = index;
    row->frequency_hz = row->from_hz = row->to_hz = e->frequency_hz;
    row->measured = meeting->measured;
    row->limit = meeting->limit;
    row->margin = meeting->margin;
    row->unit = meeting->ratio ? "dBc" : "dBm";
    row->uncertainty = meeting->uncertainty;
    row->at_most = read->level.at_most && meeting->outcome != SPURITY_OUTCOME_FAIL;
    row->reference_bandwidth_hz = read->reference_hz;
    snprintf(row->reading, sizeof row->reading, "%s", read->words);
    if (!row->at_most && e->trustworthy)
        row->conformity_probability = spurity_conformity_probability(meeting->margin, meeting->uncertainty);
    spurity_verdict_name_leaf(meeting, row->binding, sizeof row->binding, row);
    return row;
}

/* One reading of an emission under one clause in all its worlds: the nearest meeting stands for the row. */
static void meet_worlds(const struct judging *j, const struct candidate *c, struct met *met, spurity_outcome *by_world)
{
    spurity_outcome outcomes[WORLDS_MAX];
    size_t count = 0;
    for (size_t w = 0; w < j->worlds.count; w++) {
        if (!c->binds[w])
            continue;
        struct meeting meeting = spurity_verdict_meet(c->facts.limit, &j->worlds.items[w], met->hz, &met->read.level,
                                                      j->point->simple_decision);
        if (!count || meeting.outcome > met->meeting.outcome)
            met->meeting = meeting;
        if (meeting.outcome > by_world[w])
            by_world[w] = meeting.outcome;
        outcomes[count++] = meeting.outcome;
    }
    met->own = spurity_verdict_combine(outcomes, count);
}

/* Noise that is over the limit in a wider RBW than the clause names is converted to what it names. */
static void meet_all(const struct judging *j, const struct candidate *c, const spurity_emission *e, struct met *met,
                     spurity_outcome *by_world)
{
    spurity_outcome before[WORLDS_MAX];
    memcpy(before, by_world, sizeof before);
    spurity_verdict_read(j, c->clause, e, false, &met->read);
    meet_worlds(j, c, met, by_world);
    if (met->own == SPURITY_OUTCOME_PASS || !met->read.as_is)
        return;
    memcpy(by_world, before, sizeof before);
    spurity_verdict_read(j, c->clause, e, true, &met->read);
    meet_worlds(j, c, met, by_world);
}

static bool covered(const struct judging *j, const struct candidate *c, double hz)
{
    if (!spurity_verdict_judged_at(j, hz))
        return false;
    for (size_t w = 0; w < j->worlds.count; w++)
        if (c->binds[w] && spurity_clause_covers(c->clause, &j->worlds.items[w], hz))
            return true;
    return false;
}

/* Where an emission meets a clause: at its centre; what is wider than a line and has its centre outside of what is
 * judged, but reaches into it with more than the filter's skirt (taken as two RBW), at the end that reaches there. */
static bool find_place(const struct judging *j, const struct candidate *c, const spurity_emission *e, double *hz)
{
    double low = e->low_hz + 2 * e->rbw_hz, high = e->high_hz - 2 * e->rbw_hz;
    const double places[] = {e->frequency_hz, low, high, fmin(fmax(e->frequency_hz, j->from_hz), j->to_hz)};
    bool wide = e->seen && e->character != SPURITY_LINE && low < high;
    for (int i = 0; i < (wide ? 4 : 1); i++) {
        *hz = places[i];
        if ((!i || (low <= *hz && *hz <= high)) && covered(j, c, *hz))
            return true;
    }
    return false;
}

static spurity_status note_modulation(struct judging *j, const struct candidate *c, long index,
                                      const spurity_emission *e, spurity_error *error)
{
    struct met met = {.meeting = {.measured = e->level_dbc,
                                  .limit = (double)NAN,
                                  .margin = (double)NAN,
                                  .uncertainty = (double)NAN,
                                  .ratio = true}};
    spurity_verdict_read(j, c->clause, e, false, &met.read);
    if (!add_row(j, c, index, e, &met, error))
        return SPURITY_SYSTEM;
    return spurity_verdict_add_not_shown(j, c->clause, e->low_hz, e->high_hz, "modulation",
                                         "with the carrier modulated, products this near it may belong to the "
                                         "modulation (which must stay inside the band and "
                                         "be no wider than necessary): sweep the set unmodulated",
                                         error);
}

static spurity_status meet_clauses(struct judging *j, const struct candidates *all, long index, struct met *mets,
                                   spurity_outcome *by_world, spurity_error *error)
{
    const spurity_emission *e = spurity_measurement_emission(j->measurement, (size_t)index);
    for (size_t c = 0; c < all->count; c++) {
        const struct candidate *candidate = &all->items[c];
        struct met *met = &mets[c];
        met->taken = false;
        if (!find_place(j, candidate, e, &met->hz))
            continue;
        double reach = spurity_verdict_modulation_reach(j, candidate->clause);
        if (fabs(met->hz - j->carrier->frequency_hz) < reach) {
            spurity_status status = note_modulation(j, candidate, index, e, error);
            if (status)
                return status;
            continue;
        }
        spurity_outcome ignored[WORLDS_MAX] = {SPURITY_OUTCOME_PASS};
        met->taken = true;
        meet_all(j, candidate, e, met, candidate->always ? ignored : by_world);
    }
    return SPURITY_OK;
}

/* Noise that stands by itself on the carrier's skirt or beside it can fail, as a harmonic can: with what is not proven.
 */
static void note_phase_noise(struct judging *j, const spurity_emission *e)
{
    const spurity_carrier *carrier = j->carrier;
    char at[40];
    double near = 3 * e->rbw_hz;
    if (!e->seen || e->character != SPURITY_NOISE_LIKE || !carrier->seen || e->low_hz > carrier->high_hz + near ||
        e->high_hz < carrier->low_hz - near)
        return;
    spurity_notes_add(
        spurity_measurement_notes(j->measurement), SPURITY_NOTE_OWN_PHASE_NOISE_UNPROVEN, e->file,
        "the noise at %s stands on the carrier's skirt or beside it: the set's or the instrument's, which "
        "this sweep cannot tell apart",
        spurity_format_frequency_near(at, sizeof at, e->frequency_hz, e->frequency_uncertainty_hz));
}

static spurity_status judge_one(struct judging *j, const struct candidates *all, long index, spurity_error *error)
{
    const spurity_emission *e = spurity_measurement_emission(j->measurement, (size_t)index);
    struct met mets[CLAUSES_MAX];
    spurity_outcome by_world[WORLDS_MAX] = {SPURITY_OUTCOME_PASS};
    spurity_status status = meet_clauses(j, all, index, mets, by_world, error);
    spurity_outcome together = spurity_verdict_combine(by_world, j->worlds.count);
    for (size_t c = 0; c < all->count && !status; c++) {
        if (!mets[c].taken)
            continue;
        const struct candidate *candidate = &all->items[c];
        spurity_judgement *row = add_row(j, candidate, index, e, &mets[c], error);
        if (!row)
            return SPURITY_SYSTEM;
        if (!candidate->always)
            spurity_verdict_add_why_open(j, row->binding, sizeof row->binding);
        spurity_outcome outcome = candidate->always ? mets[c].own : together;
        row->outcome = spurity_verdict_weigh(j, &candidate->facts, outcome);
        if (outcome == SPURITY_OUTCOME_NOT_SHOWN)
            status = explain(j, candidate, e, &mets[c], error);
        if (outcome != SPURITY_OUTCOME_PASS)
            note_phase_noise(j, e);
        if (e->kind == SPURITY_HARMONIC && e->seen && !e->filtered && !e->stepped && !e->front_end_unproven &&
            isnan(e->own_db))
            j->verdict->own_harmonics_unproven = true;
    }
    return status;
}

/* Sorts the clauses of the group: which bind where; notes that bind are counted, unknown ones asked for. */
static spurity_status sort_clauses(struct judging *j, struct candidates *all, size_t *words, spurity_error *error)
{
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules); i++) {
        if (all->count == CLAUSES_MAX) {
            j->worlds.cut = true;
            break;
        }
        struct candidate *c = &all->items[all->count];
        *c = (struct candidate){.clause = spurity_rules_clause(j->rules, i)};
        spurity_clause_facts_of(c->clause, &c->facts);
        if (strcmp(c->facts.group, "emissions"))
            continue;
        char needs[160];
        c->worlds = spurity_verdict_bound_worlds(j, c->clause, c->binds, needs, sizeof needs);
        c->always = c->worlds == j->worlds.count;
        if (c->facts.quantity == SPURITY_QUANTITY_NOTE || !c->facts.limit) {
            *words += c->worlds > 0;
            continue;
        }
        spurity_status status = needs[0] ? spurity_verdict_ask(j, c->clause, needs, error) : SPURITY_OK;
        if (status)
            return status;
        if (c->worlds)
            all->count++;
    }
    return SPURITY_OK;
}

/* Whether a clause without a figure binds in a world in which none with a figure does. */
static bool is_bare(const struct judging *j, const struct candidates *all, const spurity_clause *clause)
{
    bool binds[WORLDS_MAX];
    char needs[160];
    spurity_verdict_bound_worlds(j, clause, binds, needs, sizeof needs);
    for (size_t w = 0; w < j->worlds.count; w++) {
        bool figure = !binds[w];
        for (size_t c = 0; c < all->count && !figure; c++)
            figure = all->items[c].binds[w];
        if (!figure)
            return true;
    }
    return false;
}

/* A clause applies and has no figure here: its words are told, nothing is borrowed.  Where another has a figure in some
 * of what is left open, nothing is shown. */
static spurity_status no_limit(struct judging *j, const struct candidates *all, spurity_error *error)
{
    const spurity_clause *last = NULL;
    char open[160], advice[280];
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        if (strcmp(facts.group, "emissions") || (facts.limit && facts.quantity != SPURITY_QUANTITY_NOTE) ||
            !is_bare(j, all, clause))
            continue;
        spurity_status status = spurity_verdict_tell(j, clause, error);
        if (status)
            return status;
        last = clause;
    }
    if (!last)
        return SPURITY_OK;
    spurity_judgement *row = spurity_verdict_add_judgement(j, last, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->frequency_hz = j->carrier->frequency_hz;
    row->from_hz = j->from_hz;
    row->to_hz = j->to_hz;
    snprintf(row->quantity, sizeof row->quantity, "spurious emission");
    if (!all->count) {
        row->outcome = SPURITY_OUTCOME_NO_LIMIT;
        snprintf(row->binding, sizeof row->binding, "no figure at this carrier");
        return SPURITY_OK;
    }
    spurity_verdict_say_open(j, open, sizeof open);
    snprintf(row->binding, sizeof row->binding, "no figure");
    spurity_verdict_add_why_open(j, row->binding, sizeof row->binding);
    snprintf(advice, sizeof advice, "where this clause binds no figure is set, elsewhere there is one: say %s", open);
    return spurity_verdict_add_not_shown(j, last, (double)NAN, (double)NAN, spurity_verdict_open_reason(j), advice,
                                         error);
}

/* What the floor hides at a harmonic is told once, with the stretch it lies in. */
static void drop_told_twice(struct judging *j, size_t first_stretch)
{
    spurity_verdict *v = j->verdict;
    size_t kept = 0;
    for (size_t i = 0; i < v->not_shown_count; i++) {
        const spurity_not_shown *one = &v->not_shown[i];
        bool again = false;
        for (size_t s = first_stretch; i < first_stretch && s < v->not_shown_count && !again; s++) {
            const spurity_not_shown *stretch = &v->not_shown[s];
            again = stretch->rules == one->rules && stretch->clause == one->clause &&
                    !strcmp(stretch->reason, one->reason) && stretch->from_hz <= one->to_hz &&
                    one->from_hz <= stretch->to_hz;
        }
        if (!again)
            v->not_shown[kept++] = *one;
    }
    v->not_shown_count = kept;
}

static void take_line(const struct taken_lines *taken, int file, long line, size_t emission)
{
    if (file >= 0 && line >= 0)
        taken->emission[taken->first[file] + (size_t)line] = (long)emission;
}

static spurity_status map_lines(struct judging *j, spurity_error *error)
{
    const spurity_measurement *m = j->measurement;
    size_t files = spurity_measurement_file_count(m), lines = 0;
    j->taken.first = calloc(files + 1, sizeof *j->taken.first);
    for (size_t i = 0; i < files && j->taken.first; i++) {
        j->taken.first[i] = lines;
        const spurity_survey *survey = spurity_measurement_file(m, i)->survey;
        lines += survey ? spurity_survey_line_count(survey) : 0;
    }
    j->taken.emission = malloc((lines + 1) * sizeof *j->taken.emission);
    if (!j->taken.first || !j->taken.emission)
        return spurity_report_memory(error);
    for (size_t i = 0; i < lines; i++)
        j->taken.emission[i] = -1;
    for (size_t i = 0; i < spurity_measurement_emission_count(m); i++) {
        const spurity_emission *e = spurity_measurement_emission(m, i);
        if (!e->seen)
            continue;
        take_line(&j->taken, e->file, e->line, i);
        take_line(&j->taken, e->other_file, e->other_line, i);
    }
    return SPURITY_OK;
}

/* No clause holds anywhere in what is looked at: nothing is shown by it. */
static spurity_status tell_out_of_reach(struct judging *j, const struct candidate *candidate, spurity_error *error)
{
    spurity_judgement *row = spurity_verdict_add_judgement(j, candidate->clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->frequency_hz = row->from_hz = j->from_hz;
    row->to_hz = j->to_hz;
    row->outcome = SPURITY_OUTCOME_NOT_SHOWN;
    return spurity_verdict_add_not_shown(j, candidate->clause, j->from_hz, j->to_hz, "range",
                                         "the clause holds nowhere in the range that is looked at: widen --range",
                                         error);
}

static spurity_status judge_all(struct judging *j, const struct candidates *all, spurity_error *error)
{
    bool reached = false;
    spurity_status status = map_lines(j, error);
    size_t count = spurity_measurement_emission_count(j->measurement);
    for (size_t i = 0; i < count && !status; i++)
        status = judge_one(j, all, (long)i, error);
    size_t first_stretch = j->verdict->not_shown_count;
    for (size_t c = 0; c < all->count && !status; c++)
        status = spurity_verdict_judge_stretches(j, all->items[c].clause, all->items[c].binds, &reached, error);
    if (!status && !reached)
        status = tell_out_of_reach(j, &all->items[0], error);
    free(j->taken.first);
    free(j->taken.emission);
    j->taken = (struct taken_lines){0};
    if (!status)
        drop_told_twice(j, first_stretch);
    if (!status && j->verdict->own_harmonics_unproven)
        spurity_notes_add(
            spurity_measurement_notes(j->measurement), SPURITY_NOTE_OWN_HARMONICS_UNPROVEN, -1,
            "the instrument makes harmonics of its own: they can add to or hide the set's; sweep again with 10 and "
            "20 dB more attenuation, or behind a filter for the carrier");
    return status;
}

spurity_status spurity_verdict_judge_emissions(struct judging *j, bool *has_clause, spurity_error *error)
{
    struct candidates all = {.items = calloc(CLAUSES_MAX + 1, sizeof *all.items)};
    if (!all.items)
        return spurity_report_memory(error);
    size_t words = 0, before = j->verdict->judgement_count;
    spurity_status status = sort_clauses(j, &all, &words, error);
    bool asked = j->verdict->judgement_count > before;
    if (!status && all.count)
        status = judge_all(j, &all, error);
    if (!status && words && !asked)
        status = no_limit(j, &all, error);
    *has_clause = all.count || words || asked;
    free(all.items);
    return status;
}
