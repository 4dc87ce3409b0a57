/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_PLAN_H
#define SPURITY_PLAN_H
/* What to sweep, at which resolution, behind how much attenuation of which rating, before anyone keys the set: so that
 * nothing is harmed and the answer can be shown.  Reads no file of a measurement and judges none; whether a pass could
 * be shown is worked out with the same limits, bounds and uncertainties by which a verdict judges. */
#include "../measurement/measurement.h"
#include "../rules/rules.h"

#ifdef __cplusplus
extern "C" {
#endif

/** What is asked.  Start with spurity_plan_question_init: NaN, 0 and NULL mean "not said".  All it points to is
 * borrowed. */
typedef struct spurity_plan_question {
    /** carrier_hz, power (a range: the higher harms, both ends are judged), power_is_pep, lowest_hz, range, beyond,
     *  modulation, only, bandwidth_hz, emission, station, audio_filter, antenna gain, dates, uncertainty_dbm/_dbc,
     *  reference_ppm, simple_decision, edge_fraction.  Its sources are not looked at. */
    const spurity_test_point *point;
    const spurity_rules *const *rules; /* at least one set */
    size_t rules_count;
    const spurity_chain *chain;     /* what the user has, in order from the set; NULL or UNSTATED = nothing said */
    double max_input_dbm;           /* damage limit of the instrument's input */
    double noise_dbm, noise_rbw_hz; /* mean noise the instrument shows with its input terminated, in that RBW */
    double rate_hz;                 /* bandwidth (complex rate) of a receiver; NaN = a swept instrument */
    double second_harmonic_intercept_dbm; /* of the instrument's input, harmonic intercept of second order */
    double third_order_intercept_dbm;     /* ... of third order, two-tone */
} spurity_plan_question;
SPURITY_API void spurity_plan_question_init(spurity_plan_question *question);

/** Ordered from best to worst. */
typedef enum spurity_plan_outcome {
    SPURITY_PLAN_READY,
    SPURITY_PLAN_NOT_ENOUGH, /* something asked for could not be shown, or a figure is missing (damage limit, rating) */
    SPURITY_PLAN_HARMFUL     /* the instrument, or a pad, gets more than it stands */
} spurity_plan_outcome;
SPURITY_API const char *spurity_plan_outcome_name(spurity_plan_outcome outcome); /* "ready" "not enough" "harmful" */

/** One element between set and instrument, in order from the set: of what the user has, else as the plan wants it. */
typedef struct spurity_plan_attenuator {
    char name[80];            /* "pad", or a curve's file */
    double db;                /* at the carrier; NaN where its table does not reach the carrier */
    double rating_w;          /* what it stands continuously; NaN unsaid; of a proposed one: what to ask for */
    double arriving_w;        /* mean power that reaches it with the set keyed */
    double into_heat_w;       /* what it turns into heat */
    bool proposed;            /* the plan's, not the user's */
    bool harmed;              /* arriving_w over rating_w */
    double missing_input_dbm; /* at the instrument, were this one left out */
    bool missing_harms;       /* ... and that is over the damage limit or the rating of what follows */
    char why[280];            /* with key-down time and cooling where it runs near its rating */
} spurity_plan_attenuator;

typedef enum spurity_plan_purpose {
    SPURITY_PLAN_CARRIER,  /* fine, about the carrier */
    SPURITY_PLAN_RANGE,    /* a stretch of the range to be shown */
    SPURITY_PLAN_HARMONIC, /* one harmonic */
    SPURITY_PLAN_MASK,     /* close in, set modulated, in the mask's reference bandwidth */
    SPURITY_PLAN_LEAKAGE,  /* set keyed into its load, the instrument's end of the last pad terminated */
    SPURITY_PLAN_AMBIENT   /* set not keyed */
} spurity_plan_purpose;
SPURITY_API const char *spurity_plan_purpose_name(spurity_plan_purpose purpose);

typedef struct spurity_plan_sweep {
    spurity_plan_purpose purpose;
    double start_hz, stop_hz, rbw_hz;
    size_t points;
    spurity_detector detector;
    double seconds;     /* one sweep, RBW and span of a swept instrument (formula: README) */
    double sweeps;      /* how many are averaged or held; 1 mostly */
    double more_pad_db; /* added pad to take it with (a pad step); 0 mostly */
    char filter[60];    /* what filter it wants ahead of the instrument ("notch at the carrier"); "" none */
    char why[200];
} spurity_plan_sweep;

typedef struct spurity_plan_capture {
    spurity_plan_purpose purpose;
    double center_hz, rate_hz, seconds;
    double rbw_hz;
    double from_hz, to_hz; /* what of it is trusted and serves */
    char filter[60];
    char why[200];
} spurity_plan_capture;

/** Whether a pass could be shown: at one harmonic, or where a stretch of the range comes nearest to its limit. */
typedef struct spurity_plan_visibility {
    double frequency_hz, from_hz, to_hz; /* from = to = frequency_hz for a harmonic */
    char what[60];                       /* "harmonic 2", "30 MHz to 140 MHz", "mask, 12.5 kHz off" */
    size_t rules;                        /* of the clause that binds */
    const spurity_clause *clause;        /* borrowed from the rules; NULL: no limit */
    double limit_dbm;                    /* NaN none */
    double rbw_hz, floor_dbm, bound_dbm; /* at the antenna terminal; NaN unknown (noise not said) */
    double margin_db;                    /* limit - bound - U of the leaf that binds; NaN unknown */
    int shown;                           /* 1 yes, 0 no, -1 not known or no limit */
    char advice[280];                    /* what to change when not shown; "" else */
} spurity_plan_visibility;

/** The instrument's own harmonic at the planned level. */
typedef struct spurity_plan_own_product {
    int order;           /* 2, 3 */
    double own_dbm;      /* at the antenna terminal: what the instrument would add */
    double limit_dbm;    /* there; NaN none */
    double fakes_at_dbm; /* carrier's level at the instrument from which it would reach the limit */
    char advice[280];    /* the pad-step test that settles it */
} spurity_plan_own_product;

typedef struct spurity_plan spurity_plan;

/** Plans.  INVALID without carrier or power, for a chain said to be `corrected`, for figures that cannot be (the
 * message names the option); SYSTEM when memory is out; CANCELLED.  Free with spurity_plan_free. */
SPURITY_API spurity_status spurity_plan_create(const spurity_plan_question *question, const spurity_watch *watch,
                                               spurity_plan **plan, spurity_error *error);
SPURITY_API void spurity_plan_free(spurity_plan *plan); /* NULL is fine */

/** What follows is borrowed, valid while the plan (and the rules) live; lists give NULL when index is out of range. */
SPURITY_API spurity_plan_outcome spurity_plan_outcome_of(const spurity_plan *plan);
/** In one sentence: what is ready, or the first thing to change. */
SPURITY_API const char *spurity_plan_headline(const spurity_plan *plan);
typedef struct spurity_plan_figures {
    double carrier_hz, power_w;        /* the higher end */
    double attenuation_db;             /* needed at the carrier: safe with margin; NaN without the damage limit */
    double pad_db;                     /* what the user has at the carrier; NaN nothing said */
    double level_at_instrument_dbm;    /* with the user's pads if given, else with what is needed */
    double max_input_dbm, headroom_db; /* damage limit less level; NaN unknown */
    double from_hz, to_hz;             /* range to be shown */
    double more_pad_db;                /* beyond what is needed: by which the instrument stays linear; 0 none */
} spurity_plan_figures;
SPURITY_API void spurity_plan_figures_of(const spurity_plan *plan, spurity_plan_figures *figures);
SPURITY_API size_t spurity_plan_attenuator_count(const spurity_plan *plan);
SPURITY_API const spurity_plan_attenuator *spurity_plan_attenuator_at(const spurity_plan *plan, size_t index);
SPURITY_API size_t spurity_plan_sweep_count(const spurity_plan *plan);
SPURITY_API const spurity_plan_sweep *spurity_plan_sweep_at(const spurity_plan *plan, size_t index);
SPURITY_API size_t spurity_plan_capture_count(const spurity_plan *plan);
SPURITY_API const spurity_plan_capture *spurity_plan_capture_at(const spurity_plan *plan, size_t index);
SPURITY_API size_t spurity_plan_visibility_count(const spurity_plan *plan);
SPURITY_API const spurity_plan_visibility *spurity_plan_visibility_at(const spurity_plan *plan, size_t index);
SPURITY_API size_t spurity_plan_own_product_count(const spurity_plan *plan);
SPURITY_API const spurity_plan_own_product *spurity_plan_own_product_at(const spurity_plan *plan, size_t index);
/** In the order in which they matter; never empty. */
SPURITY_API size_t spurity_plan_caution_count(const spurity_plan *plan);
SPURITY_API const char *spurity_plan_caution_at(const spurity_plan *plan, size_t index);
/** Options by which more could be told ("--max-input", "--audio-filter"), each with why. */
typedef struct spurity_plan_need {
    char option[40];
    char why[200];
} spurity_plan_need;
SPURITY_API size_t spurity_plan_need_count(const spurity_plan *plan);
SPURITY_API const spurity_plan_need *spurity_plan_need_at(const spurity_plan *plan, size_t index);

#ifdef __cplusplus
}
#endif
#endif
