/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Placing of labels that hang from stems.
 *
 * A stem comes down from above through all rows over its own, so a deeper label may not have its stem inside a text of
 * a row above.  Three ways are tried: texts under their stems, in turn in as few rows as do (neighbours further apart
 * than half a text); texts right of their stems, which then step down to the left; texts left of them, stepping down to
 * the right.  The latter two are tried in all splits "the first k to the left, the others to the right".  The way that
 * leaves out least wins, then the one with fewer rows.
 *
 * Labels come in one by one, the heaviest first; one for which no way is found together with those before it stays out.
 */
#include <stdlib.h>

#include "internal.h"

enum { TEXT_GAP = 8, STEM_GAP = 4 }; /* px of air between two texts, and between a text and a stem */
enum { OUT = -2 };                   /* row of a label that is not (yet) tried */

typedef struct strip {
    spurity_label *labels;
    size_t count;
    double left, right;
    int rows;
} strip;

static void extent(const spurity_label *label, double *from, double *to)
{
    *from = label->x + STEM_GAP * label->side - label->width * (1 - label->side) / 2;
    *to = *from + label->width;
}

static bool stem_cuts(const spurity_label *deep, const spurity_label *high)
{
    double from, to;
    extent(high, &from, &to);
    return deep->row > high->row && deep->x > from - STEM_GAP && deep->x < to + STEM_GAP;
}

static bool collide(const spurity_label *a, const spurity_label *b)
{
    double a_from, a_to, b_from, b_to;
    extent(a, &a_from, &a_to);
    extent(b, &b_from, &b_to);
    if (a->row == b->row && a_from < b_to + TEXT_GAP && b_from < a_to + TEXT_GAP)
        return true;
    return stem_cuts(a, b) || stem_cuts(b, a);
}

static bool fits(const strip *on, size_t index)
{
    double from, to;
    extent(&on->labels[index], &from, &to);
    if (from < on->left || to > on->right)
        return false;
    for (size_t i = 0; i < on->count; i++)
        if (i != index && on->labels[i].row >= 0 && collide(&on->labels[index], &on->labels[i]))
            return false;
    return true;
}

/* First the wanted side in all rows, then the others. */
static void place_one(const strip *on, size_t index, int side)
{
    const int turns[3] = {side, side ? -side : -1, side ? 0 : 1};
    spurity_label *label = &on->labels[index];
    if (label->row == OUT)
        return;
    for (int turn = 0; turn < 3; turn++)
        for (int row = 0; row < on->rows; row++) {
            label->row = row;
            label->side = turns[turn];
            if (fits(on, index))
                return;
        }
    label->row = -1;
}

/* What a placing costs: labels left out by their weight, then rows. */
static long cost_of(const strip *on)
{
    long cost = 0;
    int used = 0;
    for (size_t i = 0; i < on->count; i++) {
        cost += on->labels[i].row < 0 ? 1000L * on->labels[i].weight : on->labels[i].row;
        used = on->labels[i].row + 1 > used ? on->labels[i].row + 1 : used;
    }
    return cost + 20L * used;
}

/* way 0..count: the first `way` to the left, the others to the right; count + 1: under their stems. */
static void place_way(const strip *on, size_t way)
{
    for (size_t i = 0; i < on->count; i++)
        if (on->labels[i].row != OUT)
            on->labels[i].row = -1;
    bool under = way > on->count;
    for (size_t i = 0; i < (under ? on->count : way); i++)
        place_one(on, i, under ? 0 : -1);
    for (size_t i = on->count; !under && i > way; i--)
        place_one(on, i - 1, 1);
}

static void place_best(const strip *on)
{
    size_t best = 0;
    long least = -1;
    for (size_t way = 0; way <= on->count + 1; way++) {
        place_way(on, way);
        long cost = cost_of(on);
        if (least < 0 || cost < least) {
            least = cost;
            best = way;
        }
    }
    place_way(on, best);
}

/* The heaviest label not tried yet; NULL when all were.  Those that stayed out are marked by a side of OUT. */
static spurity_label *next_to_try(const strip *on)
{
    spurity_label *heaviest = NULL;
    for (size_t i = 0; i < on->count; i++) {
        spurity_label *label = &on->labels[i];
        if (label->row == OUT && label->side != OUT && (!heaviest || label->weight > heaviest->weight))
            heaviest = label;
    }
    return heaviest;
}

static bool all_placed(const strip *on)
{
    for (size_t i = 0; i < on->count; i++)
        if (on->labels[i].row == -1)
            return false;
    return true;
}

int spurity_labels_place(spurity_label *labels, size_t count, double left, double right, int rows)
{
    const strip on = {labels, count, left, right, rows};
    for (size_t i = 0; i < count; i++) {
        labels[i].row = OUT;
        labels[i].side = 0;
    }
    for (spurity_label *next = next_to_try(&on); next; next = next_to_try(&on)) {
        next->row = -1;
        place_best(&on);
        if (all_placed(&on))
            continue;
        next->row = OUT;
        next->side = OUT;
    }
    place_best(&on);
    int used = 0;
    for (size_t i = 0; i < count; i++) {
        labels[i].row = labels[i].row < 0 ? -1 : labels[i].row;
        used = labels[i].row + 1 > used ? labels[i].row + 1 : used;
    }
    return used;
}
