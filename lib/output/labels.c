/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Placing of labels that hang from stems.
 *
 * A stem comes down from above through all rows over its own, so a deeper label may not have its stem inside a text of
 * a row above.  Texts right of their stems therefore step down to the left, texts left of their stems down to the
 * right. Tried are all splits "the first k to the left, the others to the right", each filled in the order that makes
 * such steps; the split that leaves out least wins, then the one with fewer rows. */
#include <stdlib.h>

#include "internal.h"

enum { TEXT_GAP = 8, STEM_GAP = 4 }; /* px of air between two texts, and between a text and another's stem */

static void extent(const spurity_label *label, double *from, double *to)
{
    *from = label->side > 0 ? label->x : label->x - label->width;
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

static bool fits(const spurity_label *labels, size_t count, size_t index, double left, double right)
{
    double from, to;
    extent(&labels[index], &from, &to);
    if (from < left || to > right)
        return false;
    for (size_t i = 0; i < count; i++)
        if (i != index && labels[i].row >= 0 && collide(&labels[index], &labels[i]))
            return false;
    return true;
}

static void place_one(spurity_label *labels, size_t count, size_t index, int side, double left, double right, int rows)
{
    spurity_label *label = &labels[index];
    for (int turn = 0; turn < 2; turn++)
        for (int row = 0; row < rows; row++) {
            label->row = row;
            label->side = turn ? -side : side;
            if (fits(labels, count, index, left, right))
                return;
        }
    label->row = -1;
}

/* What a placing costs: labels left out by their weight, then rows. */
static long place_split(spurity_label *labels, size_t count, size_t split, double left, double right, int rows)
{
    long cost = 0;
    int used = 0;
    for (size_t i = 0; i < count; i++)
        labels[i].row = -1;
    for (size_t i = 0; i < split; i++)
        place_one(labels, count, i, -1, left, right, rows);
    for (size_t i = count; i > split; i--)
        place_one(labels, count, i - 1, 1, left, right, rows);
    for (size_t i = 0; i < count; i++) {
        cost += labels[i].row < 0 ? 1000L * labels[i].weight : labels[i].row;
        used = labels[i].row + 1 > used ? labels[i].row + 1 : used;
    }
    return cost + 20L * used;
}

int spurity_labels_place(spurity_label *labels, size_t count, double left, double right, int rows)
{
    size_t best = 0;
    long least = -1;
    for (size_t split = 0; split <= count; split++) {
        long cost = place_split(labels, count, split, left, right, rows);
        if (least < 0 || cost < least) {
            least = cost;
            best = split;
        }
    }
    place_split(labels, count, best, left, right, rows);
    int used = 0;
    for (size_t i = 0; i < count; i++)
        used = labels[i].row + 1 > used ? labels[i].row + 1 : used;
    return used;
}
