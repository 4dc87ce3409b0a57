/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whose a line is: the transmitter's holds still at the terminal whatever the attenuation, a product of order n that
 * the instrument makes falls by n - 1 times the step against it, and what does not come through the input at all rises
 * by the step. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "parts.h"

/* From this step on a product of order 2 would have moved by more than readings differ (5 dB; order 3 by 10). */
static const double STEP_DB = 5.0;
enum { STEPS_MOST = 8, ORDERS_MOST = 5 };

const char *spurity_origin_name(spurity_origin origin)
{
    static const char *const names[] = {[SPURITY_ORIGIN_UNTOLD] = "cannot be told",
                                        [SPURITY_ORIGIN_TRANSMITTER] = "transmitter",
                                        [SPURITY_ORIGIN_INSTRUMENT] = "instrument",
                                        [SPURITY_ORIGIN_FLOOR] = "floor"};
    return (unsigned)origin < sizeof names / sizeof *names ? names[origin] : NULL;
}

/* ---- what a product hides behind ---- */

/* A step as ratios of power: what the corrected reading may have changed by, and how the product's amplitude did. */
struct window {
    double low, high, falls;
};

static bool agrees(const struct window *windows, size_t count, int order, double x, double cosine, double here)
{
    for (size_t i = 0; i < count; i++) {
        double y = order == 2 ? x * windows[i].falls : x * windows[i].falls * windows[i].falls;
        double there = 1 + 2 * y * cosine + y * y;
        if (there < windows[i].low * here || there > windows[i].high * here)
            return false;
    }
    return true;
}

/* A product of order n, x of the true line in amplitude, at any phase, falls n - 1 times the step against it: every x
 * and phase is tried, orders 2 and 3, and those that would have moved otherwise than was read, by more than doubt_db,
 * are out.  (Power series of a weakly non-linear two-port, textbook.) */
bool spurity_measurement_product_error(const struct spurity_pad_step *steps, size_t count, double doubt_db,
                                       double *low_db, double *high_db)
{
    enum { PHASES = 360, LEVELS = 1000 };
    struct window windows[STEPS_MOST];
    double least = INFINITY, most = 0;
    count = count < STEPS_MOST ? count : STEPS_MOST;
    for (size_t i = 0; i < count; i++)
        windows[i] = (struct window){.low = pow(10, (steps[i].higher_db - doubt_db) / 10),
                                     .high = pow(10, (steps[i].higher_db + doubt_db) / 10),
                                     .falls = pow(10, -steps[i].less_db / 20)};
    for (int phase = 0; phase <= PHASES; phase++) {
        double cosine = cos(acos(-1.0) * phase / PHASES), x = 1e-3;
        for (int level = 0; level <= LEVELS; level++, x *= 1.0115794542598986) { /* 0.1 dB */
            double here = 1 + 2 * x * cosine + x * x;
            if (agrees(windows, count, 2, x, cosine, here) || agrees(windows, count, 3, x, cosine, here)) {
                least = fmin(least, here);
                most = fmax(most, here);
            }
        }
    }
    *low_db = -spurity_db_from_ratio(least);
    *high_db = spurity_db_from_ratio(most);
    return most > 0;
}

/* ---- what the readings tell ---- */

struct change {
    double step_db, change_db, doubt_db;
    bool seen;
};

struct changes {
    size_t count;
    struct change items[STEPS_MOST];
    double doubt_db; /* the largest */
    bool hidden;     /* a step's floor is too high to tell */
    bool came;       /* gone, or stronger, without a step that explains it */
};

/* Two readings far enough apart that a still one proves something. */
static bool is_step(double step_db)
{
    return fabs(step_db) > 0.5;
}

static void add_change(const spurity_measurement *m, const spurity_overlap *row, const spurity_overlap_reading *other,
                       struct changes *all)
{
    const spurity_overlap_reading *first = &row->readings[0];
    struct change one = {.step_db = other->step_db,
                         .change_db = other->level_db - first->level_db,
                         .doubt_db = spurity_measurement_doubt(m, first->file, other->file, row->frequency_hz),
                         .seen = other->seen};
    bool gone = !one.seen && one.change_db < -one.doubt_db;
    if (!one.seen && !gone) {
        all->hidden = true;
        return;
    }
    if (!is_step(one.step_db) || (gone && one.step_db < 0)) {
        all->came = all->came || gone || fabs(one.change_db) > one.doubt_db;
        return;
    }
    if (all->count < STEPS_MOST)
        all->items[all->count++] = one;
    all->doubt_db = fmax(all->doubt_db, one.doubt_db);
}

static bool has_moved(const struct change *one)
{
    return one->seen ? fabs(one->change_db) > one->doubt_db : one->change_db < -one->doubt_db;
}

/* Whether a product of this order (0: what does not come through the input) would read so. */
static bool fits(const struct changes *all, int order)
{
    for (size_t i = 0; i < all->count; i++) {
        const struct change *one = &all->items[i];
        double wanted = (1 - order) * one->step_db;
        if (one->seen ? fabs(one->change_db - wanted) > one->doubt_db : wanted > one->change_db + one->doubt_db)
            return false;
    }
    return true;
}

/* Largest step taken, with its sign. */
static const struct change *largest(const struct changes *all)
{
    const struct change *found = &all->items[0];
    for (size_t i = 1; i < all->count; i++)
        if (fabs(all->items[i].step_db) > fabs(found->step_db))
            found = &all->items[i];
    return found;
}

static bool any_seen(const struct changes *all)
{
    for (size_t i = 0; i < all->count; i++)
        if (all->items[i].seen)
            return true;
    return false;
}

/* Two steps, one twice the other or so: little is left on either side. */
static bool is_twice(const struct changes *all)
{
    double least = INFINITY, most = -INFINITY;
    size_t count = 0;
    for (size_t i = 0; i < all->count; i++) {
        double step = all->items[i].step_db;
        if (fabs(step) < STEP_DB || !all->items[i].seen)
            continue;
        least = fmin(least, step);
        most = fmax(most, step);
        count++;
    }
    return count >= 2 && most - least >= STEP_DB && fmax(most, 0) - fmin(least, 0) >= 3 * STEP_DB;
}

/* ---- words ---- */

static void why(spurity_overlap *row, const char *format, ...) SPURITY_PRINTF(2, 3);
static void why(spurity_overlap *row, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    vsnprintf(row->why, sizeof row->why, format, list);
    va_end(list);
}

static void say_moved(spurity_overlap *row, const struct changes *all)
{
    const struct change *one = largest(all);
    const char *way = one->step_db > 0 ? "more" : "less";
    double step = fabs(one->step_db);
    if (row->origin == SPURITY_ORIGIN_FLOOR)
        why(row,
            "does not move on the instrument: %.1f dB higher at the terminal with %.1f dB %s attenuation; it does not "
            "come through the input",
            one->change_db, step, way);
    else if (!one->seen)
        why(row, "gone with %.1f dB %s attenuation: at least %.1f dB lower than the set's would read", step, way,
            -one->change_db);
    else if (row->origin == SPURITY_ORIGIN_INSTRUMENT)
        why(row, "%.1f dB %s at the terminal with %.1f dB %s attenuation, as a product of order %d does",
            fabs(one->change_db), one->change_db < 0 ? "lower" : "higher", step, way, row->order);
    else
        why(row,
            "moved by %+.1f dB at the terminal with %.1f dB %s attenuation: the set's and the instrument's together, "
            "a pad that is not what was said, or another power; more attenuation until two steps hold still",
            one->change_db, step, way);
}

static void tell_moved(spurity_overlap *row, const struct changes *all)
{
    row->origin = SPURITY_ORIGIN_UNTOLD;
    row->one_step = !is_twice(all);
    for (int order = 0; order <= ORDERS_MOST && row->origin == SPURITY_ORIGIN_UNTOLD; order++) {
        if (order == 1 || !fits(all, order))
            continue;
        row->origin = order ? SPURITY_ORIGIN_INSTRUMENT : SPURITY_ORIGIN_FLOOR;
        row->order = any_seen(all) ? order : 0;
    }
    say_moved(row, all);
}

static void tell_still(const spurity_emission *emission, spurity_overlap *row, const struct changes *all, bool twice,
                       bool unsteady)
{
    const struct change *one = largest(all);
    if (unsteady) {
        row->origin = SPURITY_ORIGIN_UNTOLD;
        row->one_step = true;
        why(row, "held still, but the carrier itself did not: the steps prove nothing until it does");
        return;
    }
    row->origin = twice ? SPURITY_ORIGIN_TRANSMITTER : SPURITY_ORIGIN_UNTOLD;
    row->one_step = !twice;
    if (twice || (emission && emission->filtered)) {
        row->origin = SPURITY_ORIGIN_TRANSMITTER;
        why(row, "held still within %.1f dB with up to %.1f dB %s attenuation", all->doubt_db, fabs(one->step_db),
            one->step_db > 0 ? "more" : "less");
    } else if (fabs(one->step_db) < STEP_DB)
        why(row, "held still under %.1f dB, too small a step to tell: 10 and 20 dB more", fabs(one->step_db));
    else
        why(row,
            "held still under one step of %.1f dB, as a product of the instrument's does at an unlucky phase: one more "
            "step, twice as large",
            fabs(one->step_db));
}

/* Nothing moved because nothing was held against it. */
static void tell_alone(const spurity_emission *emission, spurity_overlap *row, const struct changes *all)
{
    row->origin = SPURITY_ORIGIN_UNTOLD;
    if (emission && emission->filtered) {
        row->origin = SPURITY_ORIGIN_TRANSMITTER;
        why(row, "behind a filter that takes the carrier 20 dB more than it: the instrument cannot make it");
    } else if (all->came)
        why(row, "comes and goes between sweeps at the same attenuation");
    else if (all->hidden)
        why(row, "behind the other attenuation the floor hides it: a narrower RBW there");
    else
        why(row, "read at one attenuation: sweep again with 10 and 20 dB more, said as such");
}

/* ---- bounds ---- */

/* A carrier that did not hold still under the steps: they are not what was said, the power changed or the instrument is
 * overdriven, and prove nothing. */
static bool is_unsteady(const spurity_measurement *m)
{
    const spurity_overlap *carrier = m->overlap_count ? &m->overlaps[0] : NULL;
    if (!carrier || carrier->origin == SPURITY_ORIGIN_TRANSMITTER)
        return false;
    for (size_t i = 1; i < carrier->count; i++)
        if (m->readings[i].comparable && is_step(m->readings[i].step_db))
            return true;
    return false;
}

/* What the instrument may have of the reading: by the steps, and by its intercepts, whichever says more. */
static void bound(const spurity_measurement *m, const spurity_emission *emission, spurity_overlap *row,
                  const struct changes *all)
{
    struct spurity_pad_step steps[STEPS_MOST];
    size_t count = 0;
    double low, high;
    for (size_t i = 0; i < all->count; i++)
        if (all->items[i].seen && fabs(all->items[i].step_db) >= STEP_DB)
            steps[count++] = (struct spurity_pad_step){all->items[i].step_db, all->items[i].change_db};
    if (count && !is_unsteady(m) && spurity_measurement_product_error(steps, count, all->doubt_db, &low, &high)) {
        row->low_db = low;
        row->high_db = high;
    }
    if (!emission || isnan(emission->own_db))
        return;
    spurity_measurement_within(emission->own_db, &low, &high);
    row->low_db = fmin(row->low_db, low); /* of a NaN the other */
    row->high_db = fmin(row->high_db, high);
}

static bool told_otherwise(const spurity_emission *emission, spurity_overlap *row)
{
    if (!emission)
        return false;
    if (emission->kind == SPURITY_ARTEFACT) {
        row->origin = SPURITY_ORIGIN_INSTRUMENT;
        why(row, "the receiver's own (%s)", spurity_artefact_name(emission->artefact));
    } else if (emission->leaked)
        why(row, "%.1f dB against it come past the pads, with the last one's end terminated", emission->leakage_db);
    else if (emission->kind == SPURITY_AMBIENT)
        why(row, "stands there with the set unkeyed too");
    return row->why[0] != 0;
}

static void tell_carrier(spurity_overlap *row, const struct changes *all, bool moved)
{
    if (row->compressed_db > 0) {
        row->origin = SPURITY_ORIGIN_UNTOLD;
        why(row,
            "reads %.1f dB lower at the least attenuation: the instrument is overdriven there and flatters what stands "
            "beside the carrier; leave that file out",
            row->compressed_db);
    } else if (moved) {
        row->origin = SPURITY_ORIGIN_UNTOLD;
        why(row, "differs by %+.1f dB at the terminal: is each pad what was said, and was the power the same?",
            largest(all)->change_db);
    } else if (all->count) {
        row->origin = SPURITY_ORIGIN_TRANSMITTER;
        why(row, "held still within %.1f dB with %.1f dB %s attenuation: the instrument does not compress it",
            all->doubt_db, fabs(largest(all)->step_db), largest(all)->step_db > 0 ? "more" : "less");
    } else
        why(row, "read at one attenuation: whether the instrument compresses it is not told");
}

void spurity_measurement_tell_origin(const spurity_measurement *m, const spurity_emission *emission,
                                     spurity_overlap *row)
{
    struct changes all = {0};
    bool moved = false;
    row->low_db = row->high_db = (double)NAN;
    for (size_t i = 1; i < row->count; i++)
        if (row->readings[i].comparable)
            add_change(m, row, &row->readings[i], &all);
    for (size_t i = 0; i < all.count; i++)
        moved = moved || has_moved(&all.items[i]);
    if (!emission) {
        tell_carrier(row, &all, moved);
        return;
    }
    bound(m, emission, row, &all);
    if (told_otherwise(emission, row))
        return;
    if (moved)
        tell_moved(row, &all);
    else if (all.count)
        tell_still(emission, row, &all, is_twice(&all), is_unsteady(m));
    else
        tell_alone(emission, row, &all);
    if (emission->own_covers && row->origin == SPURITY_ORIGIN_UNTOLD && !moved)
        why(row, "by its intercepts the instrument alone can make as much: 10 and 20 dB more attenuation");
    else if (row->origin == SPURITY_ORIGIN_UNTOLD && !moved && row->low_db <= m->point->uncertainty_dbc &&
             row->high_db <= m->point->uncertainty_dbc) {
        row->origin = SPURITY_ORIGIN_TRANSMITTER;
        why(row, "by its intercepts the instrument makes %.1f dB less there", -emission->own_db);
    }
}
