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
    case SPURITY_EXPANDED:
        return 2.0;
    case SPURITY_NORMAL:
        break;
    }
    return 1.0;
}

const char *spurity_distribution_name(spurity_distribution distribution)
{
    static const char *const names[] = {
        [SPURITY_NORMAL] = "normal",    [SPURITY_RECTANGULAR] = "rectangular", [SPURITY_TRIANGULAR] = "triangular",
        [SPURITY_ARCSINE] = "u-shaped", [SPURITY_ONE_SIDED] = "one-sided",     [SPURITY_EXPANDED] = "expanded",
    };
    return (unsigned)distribution < sizeof names / sizeof *names ? names[distribution] : NULL;
}

static double standard(const spurity_contribution *item)
{
    return item->figure_db / spurity_distribution_divisor(item->distribution);
}

/* What was folded together for want of room.  Two of them may share sources, nobody knows which: they are added as if
 * fully alike, with the sign that makes more of them. */
static const char rest[] = "rest";

static spurity_contribution *find(spurity_uncertainty *list, const char *source)
{
    for (size_t i = 0; i < list->count; i++)
        if (!strcmp(list->items[i].source, source))
            return &list->items[i];
    return NULL;
}

static double signed_size(const spurity_contribution *item)
{
    return item->sensitivity * standard(item);
}

/* Index of the smallest contribution but for `but` and the rest. */
static size_t smallest(const spurity_uncertainty *list, size_t but)
{
    size_t found = list->count;
    for (size_t i = 0; i < list->count; i++) {
        if (i == but || !strcmp(list->items[i].source, rest))
            continue;
        if (found == list->count || fabs(signed_size(&list->items[i])) < fabs(signed_size(&list->items[found])))
            found = i;
    }
    return found;
}

/* Makes room: the smallest contribution joins the rest, or the two smallest become it.  They are independent of one
 * another, and can no longer cancel. */
static void fold_smallest(spurity_uncertainty *list)
{
    size_t a = smallest(list, list->count);
    spurity_contribution *into = find(list, rest);
    if (!into)
        into = &list->items[smallest(list, a)];
    double both = hypot(signed_size(&list->items[a]), signed_size(into));
    *into = (spurity_contribution){.distribution = SPURITY_NORMAL, .figure_db = both, .sensitivity = 1.0};
    memcpy(into->source, rest, sizeof rest);
    memmove(&list->items[a], &list->items[a + 1], (list->count - a - 1) * sizeof *list->items);
    list->count--;
}

/* One source twice is one random quantity: its effects add with their signs.  Equal figures keep their distribution and
 * cancel exactly. */
static void join(spurity_contribution *same, const spurity_contribution *item)
{
    if (!strcmp(same->source, rest)) {
        same->figure_db = fabs(signed_size(same)) + fabs(signed_size(item));
        same->sensitivity = 1.0;
        return;
    }
    double small = standard(same), large = standard(item);
    if (small == large && same->distribution == item->distribution) {
        same->sensitivity += item->sensitivity;
        return;
    }
    double sum = signed_size(same) + signed_size(item);
    if (large > small) {
        same->distribution = item->distribution;
        same->figure_db = item->figure_db;
        same->degrees_of_freedom = item->degrees_of_freedom;
    }
    same->sensitivity = sum != 0.0 ? sum / standard(same) : 0.0;
}

static void add_item(spurity_uncertainty *list, const spurity_contribution *item)
{
    spurity_contribution *same = find(list, item->source);
    if (same) {
        join(same, item);
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

/* The normal quantile of 1 - 0.025 / n over that of 1 - 0.025 (Bonferroni 1936), from scipy.stats.norm.ppf.  More than
 * eight: as eight. */
double spurity_guard_of_any(size_t count)
{
    static const double factors[] = {1, 1, 1.1436, 1.2214, 1.2744, 1.3142, 1.3461, 1.3725, 1.3951};
    size_t most = sizeof factors / sizeof *factors - 1;
    return factors[count < most ? count : most];
}

static void drop_cancelled(spurity_uncertainty *list)
{
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++)
        if (list->items[i].sensitivity != 0.0)
            list->items[kept++] = list->items[i];
    list->count = kept;
}

/* First what both share, so that nothing is folded away before it can cancel or add. */
static spurity_uncertainty combine(const spurity_uncertainty *a, const spurity_uncertainty *b, double sign)
{
    spurity_uncertainty all = *a;
    bool shared[SPURITY_CONTRIBUTIONS_MAX] = {false};
    for (size_t i = 0; i < b->count; i++) {
        spurity_contribution item = b->items[i];
        item.sensitivity *= sign;
        spurity_contribution *same = find(&all, item.source);
        shared[i] = same != NULL;
        if (same)
            join(same, &item);
    }
    drop_cancelled(&all);
    for (size_t i = 0; i < b->count; i++) {
        spurity_contribution item = b->items[i];
        item.sensitivity *= sign;
        if (!shared[i])
            add_item(&all, &item);
    }
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
