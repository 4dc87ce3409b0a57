/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Close in, with the set modulated: masks, each in its reference bandwidth, and the occupied bandwidth. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

enum { STRETCHES_MOST = 32, LOOKS = 16, SWEEPS_LEAST = 3, SWEEPS_MOST = 10, GROUPS_MOST = 16 };
/* Where a clause names no reference bandwidth, as a verdict takes it (common practice). */
static const double UNNAMED_WIDE_HZ = 300, UNNAMED_NARROW_HZ = 100, UNNAMED_STEP_HZ = 12.5e3;
/* As many sweeps as go into this, within bounds. */
static const double TIME_S = 30;
/* RBW over the width that is read: 1 to 5 % (common practice). */
static const double WIDTH_SHARE = 0.03;
/* All of the modulated carrier lies within this many bandwidths of it. */
static const double ALL_OF_IT = 2.5;

/* Captures of the carrier hold its surroundings to so much of their trusted band. */
static const double CAPTURED = 0.7;

/* Clauses looked at by one and the same sweep. */
struct mask_sweep {
    double rbw_hz, half_hz;
    bool peak;
};

static const spurity_conditions *binding_world(const struct planning *p, const struct plan_candidate *c)
{
    for (size_t w = 0; w < p->worlds[c->rules].count; w++)
        if (c->binds[w])
            return &p->worlds[c->rules].items[w];
    return &p->worlds[c->rules].items[0];
}

/* Of the service where it is known: the channel's, or the one told. */
static double authorised(const struct planning *p, const struct plan_candidate *c)
{
    double hz = (double)NAN;
    spurity_rules_bandwidth(p->question->rules[c->rules], binding_world(p, c), &hz);
    return isnan(hz) ? spurity_plan_bandwidth(p, NULL) : hz;
}

static double reference_of(const struct planning *p, const struct plan_candidate *c, double hz)
{
    double reference = spurity_clause_reference_bandwidth(c->clause, hz);
    if (!isnan(reference))
        return reference;
    return authorised(p, c) < UNNAMED_STEP_HZ ? UNNAMED_NARROW_HZ : UNNAMED_WIDE_HZ;
}

/* Place of least room in a stretch. */
static double nearest_in(const struct planning *p, const spurity_clause_stretch *stretch)
{
    double least = (double)INFINITY, at = stretch->from_hz;
    for (int i = 0; i <= LOOKS; i++) {
        double share = i == 0 ? 1e-6 : i == LOOKS ? 1 - 1e-6 : (double)i / LOOKS;
        double hz = stretch->from_hz + share * (stretch->to_hz - stretch->from_hz);
        struct plan_limit limit = spurity_plan_limit_at(p, p->masks, p->mask_count, hz);
        if (limit.candidate && limit.room_dbm < least) {
            least = limit.room_dbm;
            at = hz;
        }
    }
    return at;
}

static spurity_status see_mask(struct planning *p, const struct plan_candidate *c,
                               const spurity_clause_stretch *stretch, double rbw_hz, bool peak)
{
    double at = nearest_in(p, stretch), offset = at - p->f0;
    spurity_plan_visibility *item = spurity_plan_add_visibility(p);
    char off[24];
    if (!item)
        return SPURITY_SYSTEM;
    struct plan_limit limit = spurity_plan_limit_at(p, p->masks, p->mask_count, at);
    spurity_format_frequency(off, sizeof off, fabs(offset), 3);
    item->frequency_hz = at;
    item->from_hz = stretch->from_hz;
    item->to_hz = stretch->to_hz;
    item->rules = c->rules;
    item->clause = limit.candidate ? limit.candidate->clause : c->clause;
    item->limit_dbm = limit.dbm;
    item->rbw_hz = rbw_hz;
    snprintf(item->what, sizeof item->what, "mask, %s %s", off, offset < 0 ? "below" : "above");
    double points = fmax(2, 2 * (stretch->to_hz - stretch->from_hz) / rbw_hz);
    double over = peak ? spurity_plan_bound_over_db(SPURITY_DETECTOR_MAX_HOLD, points, SWEEPS_MOST)
                       : spurity_plan_bound_over_db(SPURITY_DETECTOR_AVERAGE, points, SWEEPS_LEAST);
    item->floor_dbm = spurity_plan_floor_dbm(p, at, rbw_hz);
    item->bound_dbm = item->floor_dbm + over;
    item->margin_db = isfinite(limit.room_dbm) ? limit.room_dbm - item->bound_dbm : (double)NAN;
    item->shown = isnan(item->margin_db) ? -1 : item->margin_db >= 0;
    if (limit.candidate && isinf(limit.room_dbm)) {
        item->shown = 0;
        snprintf(item->advice, sizeof item->advice, "the mask cannot be told: something it depends on was not said");
    } else if (peak && !isnan(p->question->rate_hz)) {
        item->shown = 0;
        snprintf(item->advice, sizeof item->advice,
                 "this mask asks for peaks held in %s, and captures are read by their mean: take a swept instrument",
                 spurity_format_frequency(off, sizeof off, rbw_hz, 3));
    } else if (!item->shown) {
        snprintf(item->advice, sizeof item->advice,
                 "the floor stands %.1f dB too near the mask: less pad if the instrument bears it, or an instrument of "
                 "less noise",
                 -item->margin_db);
        spurity_plan_fall_short(p, true);
        return SPURITY_OK;
    }
    if (!item->shown)
        spurity_plan_block(p, "%s: a pass could not be shown there: %s", item->what, item->advice);
    return SPURITY_OK;
}

static spurity_status put(struct planning *p, const struct mask_sweep *mask, const char *why)
{
    double half = mask->half_hz, points = 2 * ceil(2 * half / mask->rbw_hz) + 1;
    double pieces = ceil(points / SPURITY_PLAN_POINTS);
    pieces += fmod(pieces, 2) == 0; /* an odd number: the one in the middle holds all of the carrier */
    double span = 2 * half / pieces;
    for (double i = 0; i < pieces; i++) {
        spurity_plan_sweep *sweep = spurity_plan_add_sweep(p);
        if (!sweep)
            return SPURITY_SYSTEM;
        double from = p->f0 - half + i * span - (i > 0 ? mask->rbw_hz : 0), to = p->f0 - half + (i + 1) * span;
        *sweep = (spurity_plan_sweep){.purpose = SPURITY_PLAN_MASK,
                                      .start_hz = from,
                                      .stop_hz = to,
                                      .rbw_hz = mask->rbw_hz,
                                      .points = (size_t)ceil(2 * (to - from) / mask->rbw_hz) + 1,
                                      .detector = mask->peak ? SPURITY_DETECTOR_MAX_HOLD : SPURITY_DETECTOR_AVERAGE,
                                      .seconds = spurity_plan_seconds(to - from, mask->rbw_hz)};
        sweep->sweeps = fmin(SWEEPS_MOST, fmax(SWEEPS_LEAST, floor(TIME_S / sweep->seconds)));
        snprintf(sweep->why, sizeof sweep->why, "%s", why);
    }
    return SPURITY_OK;
}

static void join(struct mask_sweep *sweeps, size_t *count, const struct mask_sweep *one)
{
    for (size_t i = 0; i < *count; i++)
        if (sweeps[i].rbw_hz == one->rbw_hz && sweeps[i].peak == one->peak) {
            sweeps[i].half_hz = fmax(sweeps[i].half_hz, one->half_hz);
            return;
        }
    if (*count < GROUPS_MOST)
        sweeps[(*count)++] = *one;
}

/* What a mask clause wants swept, and whether its floor is out of the way. */
static spurity_status look_at(struct planning *p, const struct plan_candidate *c, struct mask_sweep *sweeps,
                              size_t *count)
{
    spurity_clause_stretch stretches[STRETCHES_MOST];
    size_t found = spurity_clause_stretches(c->clause, binding_world(p, c), stretches, STRETCHES_MOST);
    bool peak = c->facts.detector && !strcmp(c->facts.detector, "peak");
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < found && i < STRETCHES_MOST && !status; i++) {
        double far = fmax(fabs(stretches[i].from_hz - p->f0), fabs(stretches[i].to_hz - p->f0));
        if (!isfinite(far) || far > 0.1 * p->f0)
            continue;
        double rate = p->question->rate_hz, held = CAPTURED * rate * (1 - 2 * p->point->edge_fraction);
        if (far > held) /* false where no captures are asked */
            spurity_plan_block(p,
                               "the mask reaches %.3g kHz off the carrier, captures of this rate hold %.3g kHz: a "
                               "receiver of %.3g kHz or more",
                               far / 1e3, held / 1e3, rate / 1e3 * far / held);
        double rbw = reference_of(p, c, (stretches[i].from_hz + stretches[i].to_hz) / 2);
        struct mask_sweep one = {rbw, fmax(far, ALL_OF_IT * authorised(p, c)) + 2 * rbw, peak};
        join(sweeps, count, &one);
        status = see_mask(p, c, &stretches[i], rbw, peak);
    }
    return status;
}

/* The width of what one clause limits. */
static double occupied_limit(struct planning *p)
{
    double least = (double)NAN;
    for (size_t r = 0; r < p->question->rules_count; r++)
        for (size_t c = 0; c < spurity_rules_clause_count(p->question->rules[r]); c++) {
            const spurity_clause *clause = spurity_rules_clause(p->question->rules[r], c);
            const spurity_conditions *world = &p->worlds[r].items[0];
            spurity_clause_facts facts;
            double hz;
            spurity_clause_facts_of(clause, &facts);
            bool asked = (p->asked & SPURITY_GROUP_MASK) && !strcmp(facts.group, "mask");
            if (asked && facts.quantity == SPURITY_QUANTITY_OCCUPIED_BANDWIDTH && facts.limit &&
                spurity_clause_applies(clause, world, NULL, 0, NULL, 0) != SPURITY_APPLIES_NO &&
                spurity_limit_value(facts.limit, world, p->f0, &hz, NULL))
                least = fmin(least, hz);
        }
    return least;
}

static spurity_status sweep_occupied(struct planning *p, const struct mask_sweep *sweeps, size_t count)
{
    double limit = occupied_limit(p);
    if (isnan(limit))
        return SPURITY_OK;
    for (size_t i = 0; i < count; i++) /* a mask's sweep tells the width too */
        if (!sweeps[i].peak && sweeps[i].rbw_hz <= WIDTH_SHARE * limit)
            return SPURITY_OK;
    struct mask_sweep one = {spurity_plan_step_down(WIDTH_SHARE * limit),
                             fmax(ALL_OF_IT * spurity_plan_bandwidth(p, NULL), 2 * limit), false};
    return put(p, &one, "set modulated: its occupied bandwidth, in an RBW of a thirtieth of it or less");
}

double spurity_plan_mask_rbw(struct planning *p)
{
    double least = WIDTH_SHARE * occupied_limit(p);
    for (size_t i = 0; i < p->mask_count; i++)
        least = fmin(least, reference_of(p, &p->masks[i], p->f0)); /* passes NaN over */
    return least;
}

spurity_status spurity_plan_masks(struct planning *p)
{
    struct mask_sweep sweeps[GROUPS_MOST];
    size_t count = 0;
    spurity_status status = SPURITY_OK;
    if (!(p->asked & SPURITY_GROUP_MASK))
        return SPURITY_OK;
    for (size_t i = 0; i < p->mask_count && !status; i++)
        status = look_at(p, &p->masks[i], sweeps, &count);
    if (!isnan(p->question->rate_hz)) /* the captures of the carrier hold the mask too */
        return status;
    for (size_t i = 0; i < count && !status; i++)
        status = put(p, &sweeps[i],
                     sweeps[i].peak ? "set modulated by the test tone: the mask, peaks held in its own bandwidth"
                                    : "set modulated by the test tone: the mask, mean power in its own bandwidth");
    return status ? status : sweep_occupied(p, sweeps, count);
}
