/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_UNCERTAINTY_H
#define SPURITY_UNCERTAINTY_H
/* Uncertainty of a level as a list of contributions (JCGM 100:2008).  Each contribution has a source id: what two
 * levels share (the same source id) is one random quantity and cancels in their difference as far as their
 * sensitivities agree. A plain value: copy it by assignment; nothing to free. */
#include "../units/units.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_distribution {
    SPURITY_NORMAL,      /* figure is the standard uncertainty */
    SPURITY_RECTANGULAR, /* figure is the half-width; divisor sqrt 3 */
    SPURITY_TRIANGULAR,  /* half-width; sqrt 6 */
    SPURITY_ARCSINE,     /* half-width, U-shaped; sqrt 2 */
    SPURITY_ONE_SIDED    /* the truth lies 0..figure to one side of the reading; taken as a half-width to both, which is
                            the unfavourable reading of it: divisor sqrt 3 */
} spurity_distribution;

enum { SPURITY_SOURCE_ID_SIZE = 40, SPURITY_CONTRIBUTIONS_MAX = 16 };

typedef struct spurity_contribution {
    char source[SPURITY_SOURCE_ID_SIZE]; /* identity, e.g. "instrument absolute", "pad 1", "reading 0/146940000" */
    spurity_distribution distribution;
    double figure_db;          /* >= 0: standard uncertainty or half-width, by distribution */
    double sensitivity;        /* signed, usually 1 */
    double degrees_of_freedom; /* 0 = infinite */
} spurity_contribution;

typedef struct spurity_uncertainty {
    size_t count;
    spurity_contribution items[SPURITY_CONTRIBUTIONS_MAX];
} spurity_uncertainty;

/** Divisor that turns a figure into a standard uncertainty. */
SPURITY_API double spurity_distribution_divisor(spurity_distribution distribution);

/** Adds a contribution.  The same source twice is one random quantity: its effects (sensitivity times standard
 * uncertainty) add with their signs.  When the list is full the smallest contributions are merged in square into one
 * named "rest", which cancels with nothing. */
SPURITY_API void spurity_uncertainty_add(spurity_uncertainty *list, const char *source,
                                         spurity_distribution distribution, double figure_db, double sensitivity);

/** Combined standard uncertainty sqrt(sum (c u)^2), dB: JCGM 100:2008, 5.1.2. */
SPURITY_API double spurity_uncertainty_standard(const spurity_uncertainty *list);
/** Expanded, k = 2, dB. */
SPURITY_API double spurity_uncertainty_expanded(const spurity_uncertainty *list);

/** a - b: equal sources subtract their effects; what becomes 0 drops out (JCGM 100:2008, 5.2). */
SPURITY_API spurity_uncertainty spurity_uncertainty_difference(const spurity_uncertainty *a,
                                                               const spurity_uncertainty *b);
/** a + b with equal sources added. */
SPURITY_API spurity_uncertainty spurity_uncertainty_sum(const spurity_uncertainty *a, const spurity_uncertainty *b);

#ifdef __cplusplus
}
#endif
#endif
