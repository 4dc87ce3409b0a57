/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The strictest limit at a frequency over all that is open, with the uncertainty by which a verdict would judge it. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

double spurity_plan_loss(const struct planning *p, double hz)
{
    double loss = 0;
    if (p->chain && !spurity_chain_loss(p->chain, hz, &loss, NULL, NULL))
        return (double)NAN;
    return loss;
}

static void contributions(const struct planning *p, double hz, spurity_uncertainty *list)
{
    /* the carrier in a sweep of its own: what a bench sets anew for the others may differ */
    spurity_budget_level level = {.hz = hz,
                                  .file = hz == p->f0 ? 0 : 1,
                                  .below_carrier_db = hz == p->f0 ? 0 : (double)NAN,
                                  .attenuation_db = (double)NAN};
    level.capture = p->question->rate_hz > 0;
    spurity_test_point_contributions(p->point, p->chain, &level, list);
}

double spurity_plan_expanded(const struct planning *p, double hz, bool ratio)
{
    spurity_uncertainty level = {0}, carrier = {0};
    contributions(p, hz, &level);
    if (!ratio)
        return spurity_uncertainty_expanded(&level);
    contributions(p, p->f0, &carrier);
    level = spurity_uncertainty_difference(&level, &carrier);
    return spurity_uncertainty_expanded(&level);
}

bool spurity_plan_judged_at(const struct planning *p, double hz)
{
    return hz >= p->from_hz && hz <= p->to_hz &&
           (isnan(p->point->beyond_hz) || fabs(hz - p->f0) >= p->point->beyond_hz);
}

/* What both kinds of leaf leave: an absolute level with U of a level, a suppression against the least carrier with U of
 * a ratio. */
struct expanded {
    double dbm, dbc;
};

static struct plan_limit leaf_limit(const struct planning *p, const spurity_limit *limit,
                                    const spurity_conditions *world, double hz, const struct expanded *u)
{
    struct plan_limit found = {.leaf = limit, .dbm = (double)NAN, .room_dbm = -(double)INFINITY};
    double value;
    const char *unit;
    if (!spurity_limit_value(limit, world, hz, &value, &unit))
        return found;
    bool ratio = spurity_limit_kind_of(limit) == SPURITY_LIMIT_SUPPRESSION;
    found.dbm = ratio ? p->low_dbm - value : value;
    found.room_dbm = found.dbm - (ratio ? u->dbc : u->dbm);
    return found;
}

/* Of limits of which any will do, those count that a level just inside `best` would not be over by U. */
static double guarded_room(const struct plan_limit *children, size_t count, const struct plan_limit *best)
{
    double u = best->dbm - best->room_dbm, deepest = best->dbm - spurity_guard_of_any(count) * u;
    size_t could_pass = 0;
    for (size_t i = 0; i < count; i++)
        could_pass += children[i].dbm + (children[i].dbm - children[i].room_dbm) >= deepest;
    return best->dbm - spurity_guard_of_any(could_pass) * u;
}

/* As a verdict meets a tree: the strictest child of lowest_of, the most lenient of highest_of. */
static struct plan_limit tree_limit(const struct planning *p, const spurity_limit *limit,
                                    const spurity_conditions *world, double hz, const struct expanded *u)
{
    spurity_limit_kind kind = spurity_limit_kind_of(limit);
    if (kind == SPURITY_LIMIT_LEVEL || kind == SPURITY_LIMIT_SUPPRESSION)
        return leaf_limit(p, limit, world, hz, u);
    enum { CHILDREN_MOST = 8 };
    struct plan_limit best = {.dbm = (double)NAN, .room_dbm = -(double)INFINITY}, children[CHILDREN_MOST];
    size_t kept = 0;
    for (size_t i = 0; i < spurity_limit_child_count(limit); i++) {
        struct plan_limit child = tree_limit(p, spurity_limit_child(limit, i), world, hz, u);
        if (kept < CHILDREN_MOST && !isnan(child.dbm))
            children[kept++] = child;
        bool rather = kind == SPURITY_LIMIT_LOWEST_OF ? child.room_dbm < best.room_dbm : child.room_dbm > best.room_dbm;
        if (!i || rather)
            best = child;
    }
    if (kind == SPURITY_LIMIT_HIGHEST_OF && isfinite(best.room_dbm))
        best.room_dbm = guarded_room(children, kept, &best);
    return best;
}

/* Emissions are judged within the range of their rule set only. */
static bool out_of_range(const struct planning *p, const struct plan_candidate *c, double hz)
{
    const struct plan_worlds *worlds = &p->worlds[c->rules];
    bool mask = c->facts.quantity == SPURITY_QUANTITY_MASK;
    return !mask && (hz < worlds->from_hz * (1 - 1e-12) || hz > worlds->to_hz * (1 + 1e-12));
}

struct plan_limit spurity_plan_limit_at(const struct planning *p, const struct plan_candidate *list, size_t count,
                                        double hz)
{
    struct plan_limit strictest = {.dbm = (double)NAN, .room_dbm = (double)INFINITY};
    struct expanded u = {spurity_plan_expanded(p, hz, false), spurity_plan_expanded(p, hz, true)};
    for (size_t i = 0; i < count; i++) {
        const struct plan_worlds *worlds = &p->worlds[list[i].rules];
        if (out_of_range(p, &list[i], hz))
            continue;
        for (size_t w = 0; w < worlds->count; w++) {
            if (!list[i].binds[w] || !spurity_clause_covers(list[i].clause, &worlds->items[w], hz))
                continue;
            struct plan_limit one = tree_limit(p, list[i].facts.limit, &worlds->items[w], hz, &u);
            if (strictest.candidate && !(one.room_dbm < strictest.room_dbm))
                continue;
            strictest = one;
            strictest.candidate = &list[i];
        }
    }
    return strictest;
}

double spurity_plan_reference_bandwidth(const struct planning *p, const struct plan_candidate *list, size_t count,
                                        double hz, double *widest_hz)
{
    double least = (double)NAN, most = (double)NAN;
    for (size_t i = 0; i < count; i++) {
        const struct plan_worlds *worlds = &p->worlds[list[i].rules];
        bool covers = false;
        for (size_t w = 0; w < worlds->count && !covers; w++)
            covers = list[i].binds[w] && spurity_clause_covers(list[i].clause, &worlds->items[w], hz);
        if (!covers || out_of_range(p, &list[i], hz))
            continue;
        double here = spurity_clause_reference_bandwidth(list[i].clause, hz);
        least = fmin(least, here); /* fmin and fmax pass NaN over */
        most = fmax(most, here);
    }
    if (widest_hz)
        *widest_hz = most;
    return least;
}

/* Takes hz if it leaves less room between the limit and the floor, which the chain's loss lifts. */
static void consider(const struct planning *p, double hz, struct plan_limit *nearest, double *least, double *at_hz,
                     bool *loss_unknown)
{
    if (!spurity_plan_judged_at(p, hz))
        return;
    struct plan_limit limit = spurity_plan_limit_at(p, p->emissions, p->emission_count, hz);
    if (!limit.candidate)
        return;
    double loss = spurity_plan_loss(p, hz);
    if (isnan(loss)) {
        *loss_unknown = true;
        return;
    }
    if (nearest->candidate && !(limit.room_dbm - loss < *least))
        return;
    *nearest = limit;
    *least = limit.room_dbm - loss;
    *at_hz = hz;
}

struct plan_limit spurity_plan_nearest(const struct planning *p, double from_hz, double to_hz, double *at_hz,
                                       bool *loss_unknown)
{
    enum { LOOKS = 48 };
    struct plan_limit nearest = {.dbm = (double)NAN, .room_dbm = (double)INFINITY};
    double least = (double)INFINITY, ratio = log(to_hz / from_hz);
    *loss_unknown = false;
    *at_hz = from_hz;
    for (int i = 0; i <= LOOKS; i++)
        consider(p, i == LOOKS ? to_hz : from_hz * exp(ratio * i / LOOKS), &nearest, &least, at_hz, loss_unknown);
    for (size_t i = 0; i < p->edge_count; i++)
        for (int side = -1; side <= 1; side++) {
            double hz = p->edges_hz[i] * (1 + side * 1e-9);
            if (hz >= from_hz && hz <= to_hz)
                consider(p, hz, &nearest, &least, at_hz, loss_unknown);
        }
    for (double n = fmax(2, ceil(from_hz / p->f0)); n <= 10 && n * p->f0 <= to_hz; n++)
        if (n * p->f0 >= from_hz)
            consider(p, n * p->f0, &nearest, &least, at_hz, loss_unknown);
    return nearest;
}
