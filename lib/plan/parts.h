/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_PLAN_PARTS_H
#define SPURITY_PLAN_PARTS_H
/* The plan's rooms, in the order of the work: question (can it be so) -> worlds (what the conditions leave open) ->
 * attenuation -> sweeps or captures, each with what could be shown there -> own products -> cautions -> headline. */
#include "plan.h"

enum { SPURITY_PLAN_WORLDS = 64, SPURITY_PLAN_CANDIDATES = 128, SPURITY_PLAN_EDGES = 256 };

/** What two levels must be apart beyond what is asked, so that a plan does not fail by the last tenth of a dB. */
#define SPURITY_PLAN_RESERVE_DB 1.0
/** Between what arrives and what destroys the instrument's input (common practice). */
#define SPURITY_PLAN_SAFETY_DB 10.0
/** Points of one sweep: what nearly every swept instrument gives (common practice). */
enum { SPURITY_PLAN_POINTS = 1001 };

/** A clause that sets levels and the worlds in which it binds. */
struct plan_candidate {
    size_t rules; /* index */
    const spurity_clause *clause;
    spurity_clause_facts facts;
    bool binds[SPURITY_PLAN_WORLDS];
    bool unverified;
};

/** Everything that could be true of the transmitter under one rule set. */
struct plan_worlds {
    spurity_conditions items[SPURITY_PLAN_WORLDS];
    size_t count;
    double from_hz, to_hz; /* in which the rule set judges */
};

/** What a level at a frequency may be: the clause that leaves least room, and its uncertainty. */
struct plan_limit {
    const struct plan_candidate *candidate; /* NULL: no limit here */
    const spurity_limit *leaf;
    double dbm;      /* NaN: a limit that cannot be told */
    double room_dbm; /* dbm less the expanded uncertainty of the leaf that binds: what a bound must not pass; -infinity
                        where the limit cannot be told */
};

struct spurity_plan {
    spurity_plan_outcome outcome;
    char headline[600];
    spurity_plan_figures figures;
    spurity_plan_attenuator *attenuators;
    size_t attenuator_count, attenuator_room;
    spurity_plan_sweep *sweeps;
    size_t sweep_count, sweep_room;
    spurity_plan_capture *captures;
    size_t capture_count, capture_room;
    spurity_plan_visibility *visibility;
    size_t visibility_count, visibility_room;
    spurity_plan_own_product own[2];
    size_t own_count;
    char (*cautions)[280];
    size_t caution_count, caution_room;
    spurity_plan_need *needs;
    size_t need_count, need_room;
};

/** The work in hand. */
struct planning {
    const spurity_plan_question *question;
    const spurity_test_point *point;
    const spurity_watch *watch;
    spurity_error *error;
    spurity_plan *plan;
    spurity_chain *proposed;      /* where the user has none: owned */
    const spurity_chain *chain;   /* by which is planned: the user's, else the proposed one */
    unsigned asked;               /* groups */
    double f0, low_dbm, high_dbm; /* carrier, and both ends of its power */
    double peak_dbm;              /* highest instantaneous envelope power: what destroys an input */
    double level_dbm;             /* at the instrument; NaN unknown */
    double from_hz, to_hz;
    struct plan_worlds *worlds; /* one a rule set */
    struct plan_candidate *emissions, *masks;
    size_t emission_count, mask_count;
    double edges_hz[SPURITY_PLAN_EDGES]; /* where an emissions clause begins or ends */
    size_t edge_count;
    double inner_hz;        /* nearest offset at which an emissions clause speaks; NaN none */
    bool safe_unknown;      /* damage limit or a rating unsaid */
    bool blocked;           /* something asked for cannot be shown: why stands in `first` */
    char first[280];        /* the first thing to change; "" none */
    char place[280];        /* the carrier is in no band or on no channel; "" it is */
    const char *place_open; /* "channel", "band": it is, by a reference that is not good enough to tell; NULL */
    unsigned spoken;        /* groups of which the rules speak here */
    unsigned unasked;       /* ... that could be asked and are not */
    char unconfirmed[160];  /* ids of rule sets of which not all that is asked was confirmed */
    size_t short_count;     /* places where what may hide stands too near the limit */
    size_t worst;           /* visibility: the one that is short by most */
    double short_from_hz;   /* the lowest of their frequencies */
    bool short_mask;        /* a mask is among them */
};

/* plan.c: lists */
spurity_status spurity_plan_add_need(struct planning *p, const char *option, const char *why);
/** Each blank-separated option of `options`. */
spurity_status spurity_plan_add_needs(struct planning *p, const char *options, const char *why);
spurity_status spurity_plan_add_caution(struct planning *p, const char *format, ...) SPURITY_PRINTF(2, 3);
spurity_plan_attenuator *spurity_plan_add_attenuator(struct planning *p);
spurity_plan_sweep *spurity_plan_add_sweep(struct planning *p);
spurity_plan_capture *spurity_plan_add_capture(struct planning *p);
spurity_plan_visibility *spurity_plan_add_visibility(struct planning *p);
/** The plan is not ready, and by what: the first one said leads the headline. */
void spurity_plan_block(struct planning *p, const char *format, ...) SPURITY_PRINTF(2, 3);

/* question.c */
spurity_status spurity_plan_check_question(const spurity_plan_question *question, spurity_error *error);
void spurity_plan_read_question(struct planning *p);

/* worlds.c */
spurity_status spurity_plan_find_worlds(struct planning *p);
/** Clauses of groups that ask for more than levels: power, frequency, mask: what is missing becomes a need. */
spurity_status spurity_plan_ask(struct planning *p);
/** Carrier's bandwidth in use, Hz. */
double spurity_plan_bandwidth(const struct planning *p, bool *assumed);

/* limit.c */
/** Strictest limit at hz of a list of candidates. */
struct plan_limit spurity_plan_limit_at(const struct planning *p, const struct plan_candidate *list, size_t count,
                                        double hz);
/** Where in [from, to] a level of `slope`-less floor comes nearest to its limit: the place of least room.  The chain's
 * loss, which lifts the floor, is taken into account.  Candidate NULL: no limit anywhere. */
struct plan_limit spurity_plan_nearest(const struct planning *p, double from_hz, double to_hz, double *at_hz,
                                       bool *loss_unknown);
/** Narrowest reference bandwidth of what binds at hz, Hz, and the widest (may be NULL); NaN none. */
double spurity_plan_reference_bandwidth(const struct planning *p, const struct plan_candidate *list, size_t count,
                                        double hz, double *widest_hz);
/** Expanded uncertainty of a level at hz, dB: lump and chain; ratio: of the level less the carrier's. */
double spurity_plan_expanded(const struct planning *p, double hz, bool ratio);
/** Loss of the planned chain, dB; NaN where it does not reach. */
double spurity_plan_loss(const struct planning *p, double hz);
bool spurity_plan_judged_at(const struct planning *p, double hz);

/* attenuation.c */
spurity_status spurity_plan_attenuation(struct planning *p);

/* floor.c */
/** By what a place is looked at. */
struct plan_look {
    double rbw_hz;
    spurity_detector detector;
    double points, looks; /* looks: power averages, or of a peak detector those in a cell */
    double cell_hz;       /* distance of points */
    const char *what;     /* NULL, "": made of the ends */
};
/** What could hide at hz, dBm at the terminal: a line, or noise in the widest reference bandwidth where the RBW is
 * narrower (*noise then).  NaN while the noise is not known. */
double spurity_plan_hidden_dbm(const struct planning *p, const struct plan_look *look, double hz, bool *noise);
/** Mean noise in an RBW at the antenna terminal, dBm; NaN unknown. */
double spurity_plan_floor_dbm(const struct planning *p, double hz, double rbw_hz);
/** How far the 97.5 % bound of a line hidden under the highest of `points` noise readings stands over the mean noise,
 * dB.  looks: independent power averages, of a peak detector the looks in each point's cell. */
double spurity_plan_bound_over_db(spurity_detector detector, double points, double looks);
/** Looks of a peak detector in a cell, by the time a sweep takes. */
double spurity_plan_looks(double cell_hz, double rbw_hz);
/** Time of a sweep, s. */
double spurity_plan_seconds(double span_hz, double rbw_hz);
/** The next step of 1-3-10 at or below. */
double spurity_plan_step_down(double hz);

/* sweeps.c, captures.c: also what could be shown */
spurity_status spurity_plan_sweeps(struct planning *p);
spurity_status spurity_plan_captures(struct planning *p);
/** Distance in RBWs from the carrier beyond which a filter of four poles lets none of it stand over the limit. */
double spurity_plan_skirt_reach(const struct planning *p);

/* mask.c */
spurity_status spurity_plan_masks(struct planning *p);
/** RBW in which masks and width can be read at the most; NaN none is asked. */
double spurity_plan_mask_rbw(struct planning *p);

/* visibility.c */
/** The visibility added last is short: the worst of all leads the headline, where nothing else is in the way. */
void spurity_plan_fall_short(struct planning *p, bool mask);
void spurity_plan_tell_short(const struct planning *p, char *text, size_t size);
spurity_status spurity_plan_see_stretch(struct planning *p, double from_hz, double to_hz, const struct plan_look *look);
spurity_status spurity_plan_see_harmonic(struct planning *p, int order, const struct plan_look *look);

/* place.c */
unsigned spurity_plan_group_bit(const char *group);
/** As said, else what is taken. */
double spurity_plan_reference_ppm(const struct planning *p);
spurity_status spurity_plan_place(struct planning *p);
/** "a pass could be shown for unwanted emissions and power, ...". */
void spurity_plan_tell_worth(const struct planning *p, char *text, size_t size);
/** Rows of the allowed frequency errors. */
spurity_status spurity_plan_see_frequency(struct planning *p);

/* own.c */
spurity_status spurity_plan_own_products(struct planning *p);
/** What of the instrument's own stands at harmonic 2 or 3, dBm at the terminal; NaN unknown. */
double spurity_plan_own_dbm(const struct planning *p, int order);

/* cautions.c */
spurity_status spurity_plan_cautions(struct planning *p);
void spurity_plan_write_headline(struct planning *p);
#endif
