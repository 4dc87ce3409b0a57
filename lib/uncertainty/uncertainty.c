/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "uncertainty.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* JCGM 100:2008 4.3: rectangular a/sqrt 3, triangular a/sqrt 6, arcsine a/sqrt 2. */
double spurity_distribution_divisor(spurity_distribution distribution)
{
    switch (distribution) {
    case SPURITY_RECTANGULAR:
    case SPURITY_ONE_SIDED:
        return sqrt(3.0);
    case SPURITY_TRIANGULAR:
        return sqrt(6.0);
    case SPURITY_ARCSINE:
        return sqrt(2.0);
    case SPURITY_NORMAL:
        break;
    }
    return 1.0;
}

static double standard(const spurity_contribution *item)
{
    return item->figure_db / spurity_distribution_divisor(item->distribution);
}

static spurity_contribution *find(spurity_uncertainty *list, const char *source)
{
    for (size_t i = 0; i < list->count; i++)
        if (!strcmp(list->items[i].source, source))
            return &list->items[i];
    return NULL;
}

/* Makes room by folding the two smallest contributions into one of a name of its own: it shares its source with
 * nothing, so it can no longer cancel. */
static void fold_smallest(spurity_uncertainty *list)
{
    size_t a = 0, b = 1;
    for (size_t i = 0; i < list->count; i++) {
        double size = fabs(list->items[i].sensitivity) * standard(&list->items[i]);
        double size_a = fabs(list->items[a].sensitivity) * standard(&list->items[a]);
        double size_b = fabs(list->items[b].sensitivity) * standard(&list->items[b]);
        if (i != a && i != b && size < fmax(size_a, size_b)) {
            if (size_a > size_b)
                a = i;
            else
                b = i;
        }
    }
    double both = hypot(list->items[a].sensitivity * standard(&list->items[a]),
                        list->items[b].sensitivity * standard(&list->items[b]));
    spurity_contribution folded = {.distribution = SPURITY_NORMAL, .figure_db = both, .sensitivity = 1.0};
    snprintf(folded.source, sizeof folded.source, "rest of %.14s/%.14s", list->items[a].source, list->items[b].source);
    size_t keep = a < b ? a : b, drop = a < b ? b : a;
    list->items[keep] = folded;
    memmove(&list->items[drop], &list->items[drop + 1], (list->count - drop - 1) * sizeof *list->items);
    list->count--;
}

static void add_item(spurity_uncertainty *list, const spurity_contribution *item)
{
    spurity_contribution *same = find(list, item->source);
    if (same) {
        if (standard(item) > standard(same)) {
            same->distribution = item->distribution;
            same->figure_db = item->figure_db;
            same->degrees_of_freedom = item->degrees_of_freedom;
        }
        same->sensitivity += item->sensitivity;
        return;
    }
    if (list->count == SPURITY_CONTRIBUTIONS_MAX)
        fold_smallest(list);
    list->items[list->count++] = *item;
}

void spurity_uncertainty_add(spurity_uncertainty *list, const char *source, spurity_distribution distribution,
                             double figure_db, double sensitivity)
{
    spurity_contribution item = {.distribution = distribution, .figure_db = figure_db, .sensitivity = sensitivity};
    snprintf(item.source, sizeof item.source, "%s", source);
    add_item(list, &item);
}

double spurity_uncertainty_standard(const spurity_uncertainty *list)
{
    double sum = 0;
    for (size_t i = 0; i < list->count; i++) {
        double u = list->items[i].sensitivity * standard(&list->items[i]);
        sum += u * u;
    }
    return sqrt(sum);
}

double spurity_uncertainty_expanded(const spurity_uncertainty *list)
{
    return 2.0 * spurity_uncertainty_standard(list);
}

static spurity_uncertainty combine(const spurity_uncertainty *a, const spurity_uncertainty *b, double sign)
{
    spurity_uncertainty all = *a;
    for (size_t i = 0; i < b->count; i++) {
        spurity_contribution item = b->items[i];
        item.sensitivity *= sign;
        add_item(&all, &item);
    }
    size_t kept = 0;
    for (size_t i = 0; i < all.count; i++)
        if (all.items[i].sensitivity != 0.0)
            all.items[kept++] = all.items[i];
    all.count = kept;
    return all;
}

spurity_uncertainty spurity_uncertainty_difference(const spurity_uncertainty *a, const spurity_uncertainty *b)
{
    return combine(a, b, -1.0);
}

spurity_uncertainty spurity_uncertainty_sum(const spurity_uncertainty *a, const spurity_uncertainty *b)
{
    return combine(a, b, 1.0);
}
