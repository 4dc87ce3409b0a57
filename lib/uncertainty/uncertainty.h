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
    SPURITY_ONE_SIDED,   /* the truth lies 0..figure to one side of the reading; taken as a half-width to both, which is
                            the unfavourable reading of it: divisor sqrt 3 */
    SPURITY_EXPANDED     /* normal; figure is the expanded uncertainty (k = 2), as certificates state it; divisor 2 */
} spurity_distribution;

enum { SPURITY_SOURCE_ID_SIZE = 40, SPURITY_CONTRIBUTIONS_MAX = 32 };

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

/** "normal", "rectangular", "triangular", "u-shaped", "one-sided", "expanded"; NULL for any other. */
SPURITY_API const char *spurity_distribution_name(spurity_distribution distribution);

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

/** A limit that lets any of several levels do is passed by whichever reads well: at a true level on all of them a pass
 * would come up to as many times oftener than U promises.  Where `count` could pass, each is guarded by this many U, by
 * which all together come no oftener than one; 1 for none or one. */
SPURITY_API double spurity_guard_of_any(size_t count);

/** The interval about the reading that holds the truth with `probability` (0..1, both sides alike) when every
 * contribution is drawn from its own distribution and all of them are independent: the distributions convolved, not u
 * times a factor (JCGM 101:2008 has it by drawing; here by characteristic functions).  low_db <= 0 <= high_db.  False
 * for a probability out of range. */
SPURITY_API bool spurity_uncertainty_interval(const spurity_uncertainty *list, double probability, double *low_db,
                                              double *high_db);

/** a - b: equal sources subtract their effects; what becomes 0 drops out (JCGM 100:2008, 5.2). */
SPURITY_API spurity_uncertainty spurity_uncertainty_difference(const spurity_uncertainty *a,
                                                               const spurity_uncertainty *b);
/** a + b with equal sources added. */
SPURITY_API spurity_uncertainty spurity_uncertainty_sum(const spurity_uncertainty *a, const spurity_uncertainty *b);

/* ---- the budget of a bench ----------------------------------------------------------------------- */

/** What a bench is uncertain of, one term each.  Defaults, their grounds and what each scales with: docs/bench.md. */
typedef enum spurity_term {
    SPURITY_TERM_AMPLITUDE,           /* absolute amplitude accuracy: one for all levels; cancels in a ratio */
    SPURITY_TERM_RESPONSE,            /* flatness over frequency: each frequency its own */
    SPURITY_TERM_LINEARITY,           /* of the scale: so much for 10 dB below the carrier; each level its own */
    SPURITY_TERM_ATTENUATOR,          /* input attenuator: one for each setting; cancels between equal ones */
    SPURITY_TERM_RBW_SWITCHING,       /* one for each RBW; cancels between equal ones */
    SPURITY_TERM_RESOLUTION,          /* last digit of a reading: each its own */
    SPURITY_TERM_INTERPOLATION,       /* of a swept line between its points: each its own */
    SPURITY_TERM_WINDOW,              /* of a line between the bins of a capture: each its own */
    SPURITY_TERM_REPEATABILITY,       /* connectors, drift, set: each reading its own */
    SPURITY_TERM_PAD,                 /* a pad whose uncertainty nobody said: one for each pad */
    SPURITY_TERM_LOSS,                /* a loss table of which none is known: each frequency its own */
    SPURITY_TERM_PAD_RESPONSE,        /* what a pad's loss changes over frequency: each frequency its own */
    SPURITY_TERM_SET_MISMATCH,        /* set against chain, U-shaped; figures from reflections */
    SPURITY_TERM_INSTRUMENT_MISMATCH, /* chain against instrument */
    SPURITY_TERM_THROUGH_MISMATCH,    /* set against instrument, twice through the chain */
    SPURITY_TERM_METER,               /* of a power meter's reading */
    SPURITY_TERMS                     /* how many; not a term */
} spurity_term;
/** "absolute amplitude", "frequency response" ...: as sources and reports call it; NULL out of range. */
SPURITY_API const char *spurity_term_name(spurity_term term);

typedef struct spurity_budget_term {
    spurity_distribution distribution;
    double figure_db; /* LINEARITY: for each 10 dB; the mismatches: not used (the reflections say it) */
    bool said;        /* false: the default */
} spurity_budget_term;

/** A term of the user's own: a cable moved, an adapter. */
enum { SPURITY_BUDGET_OTHERS = 8, SPURITY_BUDGET_NAME_SIZE = 24 };
typedef struct spurity_budget_other {
    char name[SPURITY_BUDGET_NAME_SIZE];
    spurity_distribution distribution;
    double figure_db;
    bool shared; /* one for all levels, cancels in a ratio; else each frequency its own */
} spurity_budget_other;

/** The budget of a bench.  Start with spurity_budget_init: every default.  A plain value. */
typedef struct spurity_budget {
    spurity_budget_term terms[SPURITY_TERMS];
    double linearity_most_db;                                       /* however far below the carrier */
    double set_reflection, chain_reflection, instrument_reflection; /* |Gamma|, 0..1 */
    size_t other_count;
    spurity_budget_other others[SPURITY_BUDGET_OTHERS];
    int repeats;          /* readings of which REPEATABILITY's figure is the deviation of one; >= 1: s / sqrt n */
    double reference_ppm; /* of the reference clock, half-width: of frequencies, no part of a level; NaN: not said */
} spurity_budget;
SPURITY_API void spurity_budget_init(spurity_budget *budget);

/** What a level hangs on. NaN: not known. */
typedef struct spurity_budget_level {
    double hz;
    int file;                /* -1: none */
    double below_carrier_db; /* >= 0; NaN: as far as the scale goes */
    double attenuation_db;   /* of the instrument's input; NaN: a setting of that file's own */
    double rbw_hz;
    double loss_db; /* of the chain, between set and instrument */
    bool capture;   /* WINDOW instead of INTERPOLATION */
    bool pads;      /* the chain holds pads: PAD_RESPONSE */
} spurity_budget_level;
/** Adds what the budget says of a level read on the instrument (no METER, PAD, LOSS). Equal sources in two levels are
 * one quantity. */
SPURITY_API void spurity_budget_contributions(const spurity_budget *budget, const spurity_budget_level *level,
                                              spurity_uncertainty *list);
/** ... of a power meter's reading. */
SPURITY_API void spurity_budget_meter(const spurity_budget *budget, spurity_uncertainty *list);

/** |Gamma| of a VSWR >= 1, of a return loss >= 0 dB. */
SPURITY_API double spurity_reflection_of_vswr(double vswr);
SPURITY_API double spurity_reflection_of_return_loss(double db);
/** How far a mismatch can move a level up and down, dB: 20 log10(1 + g), 20 log10(1 - g) (g = |Gamma1| |Gamma2|).  They
 * are lopsided; a budget takes half of what lies between them to both sides. */
SPURITY_API void spurity_mismatch_limits(double reflection_1, double reflection_2, double *up_db, double *down_db);

#ifdef __cplusplus
}
#endif
#endif
