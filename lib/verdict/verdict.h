/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_VERDICT_H
#define SPURITY_VERDICT_H
/* A measurement meets clauses: judgements, outcomes, what was not shown and how to show it.  Decision rule:
 * ILAC-G8:09/2019 with guard band w = U (k = 2), ties inclusive, or simple acceptance. */
#include "../measurement/measurement.h"
#include "../rules/rules.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Ordered from best to worst, as a verdict takes the worst. */
typedef enum spurity_outcome {
    SPURITY_OUTCOME_PASS,
    SPURITY_OUTCOME_CONDITIONAL_PASS,
    SPURITY_OUTCOME_NO_LIMIT,
    SPURITY_OUTCOME_NOT_SHOWN,
    SPURITY_OUTCOME_CONDITIONAL_FAIL,
    SPURITY_OUTCOME_FAIL
} spurity_outcome;
SPURITY_API const char *spurity_outcome_name(spurity_outcome outcome); /* "pass" "conditional pass" ... */

/** One quantity against an upper limit: `margin` = limit - measured (positive inside), U expanded uncertainty (k = 2).
 *  Guarded: pass margin >= U; conditional pass 0 <= margin < U; conditional fail -U <= margin < 0; fail margin < -U.
 *  Simple: pass margin >= 0, else fail.  Source: ILAC-G8:09/2019, 4.2.3 and 4.2.1; ties inclusive (ours). */
SPURITY_API spurity_outcome spurity_decide(double margin, double expanded, bool simple);
/** Probability of conformity Phi(margin / (U/2)), JCGM 106:2012 7.3; U = 0: 1, 0.5 or 0. */
SPURITY_API double spurity_conformity_probability(double margin, double expanded);

typedef struct spurity_judgement {
    size_t rules; /* index of the rule set */
    const spurity_clause *clause;
    const char *group;
    char quantity[48];              /* "spurious emission", "carrier power (PEP)" ... */
    long emission;                  /* index in the measurement, -1 = a stretch or the carrier */
    double frequency_hz;            /* of the emission, or where a stretch comes nearest to its limit */
    double from_hz, to_hz;          /* of a stretch, else equal to frequency_hz */
    double measured, limit, margin; /* in `unit`; margin in dB for dBm, dBc, W; Hz for Hz; NaN = not known */
    const char *unit;               /* "dBm" "dBc" "W" "Hz" */
    double uncertainty;             /* expanded; where any of several limits would do and more than one could, times
                                       spurity_guard_of_any */
    double conformity_probability;  /* NaN where it makes no sense (bounds, not shown) */
    char binding[96];               /* the binding leaf in words */
    double reference_bandwidth_hz;  /* the clause's there; where it has none the RBW; NaN none */
    const char *detector;
    bool confirmed;
    bool at_most; /* measured is an upper bound */
    spurity_outcome outcome;
    char reading[96]; /* how it was read: "a line", "integrated over 100 kHz" ...; "" where that says nothing */
    bool reportable;  /* false: of an emission, shown to be more than 20 dB inside its limit (47 CFR 2.1057(c)) */
    char work[160];   /* the sum behind the binding leaf's figure (spurity_limit_work); "" none */
    double guard; /* uncertainty is so many times that of the level, where either of several limits would do; 0: once
                   */
} spurity_judgement;

/** Something not shown. */
typedef struct spurity_not_shown {
    size_t rules;
    const spurity_clause *clause; /* NULL: coverage only */
    double from_hz, to_hz;        /* NaN when it is not about spectrum */
    char
        reason[32]; /* "not-swept" "floor-near-limit" "hidden" "loss-unknown" "power-step" "date-unknown" "range" ... */
    char advice[280];
} spurity_not_shown;

typedef struct spurity_rules_verdict {
    const spurity_rules *rules;
    spurity_outcome outcome;
    unsigned groups;       /* that were judged */
    double from_hz, to_hz; /* range shown */
    size_t reason_count;
    char reasons[6][280]; /* the judgements that decided, in words */
    char headline[600];   /* of this set alone, as spurity_verdict_headline */
    bool indicative;      /* sets of this service have a fixed antenna: what is conducted only indicates */
    spurity_channel_found channel_found;
    bool channel_open;       /* the reading leaves more than one channel, or on and off: `channel` is but one of them */
    spurity_channel channel; /* the one the carrier is on, or the nearest; its texts live with the rules; bandwidth_hz:
                                as authorised there for the set's kind of emission */
    bool bandwidth_refused;  /* more was told than the carrier's channel authorises: not taken */
    double authorised_hz;    /* authorised bandwidth as the clauses take it; NaN not known */
    const char *unreported;  /* citation by which what is not reportable need not be reported; NULL: none */
} spurity_rules_verdict;

typedef struct spurity_verdict spurity_verdict;

/** Judges.  rules: count >= 1 sets, borrowed, must outlive the verdict, as must the measurement.  Adds notes
 *  (floor-near-limit, own-harmonics-unproven, clause-unverified, range-narrowed ...) to the measurement's.  SYSTEM when
 *  memory is out, CANCELLED by the watch; a question without an answer is no error but an outcome. */
SPURITY_API spurity_status spurity_judge(spurity_measurement *measurement, const spurity_rules *const *rules,
                                         size_t count, const spurity_watch *watch, spurity_verdict **verdict,
                                         spurity_error *error);
SPURITY_API void spurity_verdict_free(spurity_verdict *verdict); /* NULL is fine */

SPURITY_API spurity_outcome spurity_verdict_outcome(const spurity_verdict *verdict); /* worst of the sets */
/** The verdict in one sentence for a person, with what was not examined.  This and what follows is borrowed, valid
 *  while the verdict lives; lists give NULL when index is out of range. */
SPURITY_API const char *spurity_verdict_headline(const spurity_verdict *verdict);
SPURITY_API size_t spurity_verdict_rules_count(const spurity_verdict *verdict);
SPURITY_API const spurity_rules_verdict *spurity_verdict_rules(const spurity_verdict *verdict, size_t index);
SPURITY_API size_t spurity_verdict_judgement_count(const spurity_verdict *verdict);
SPURITY_API const spurity_judgement *spurity_verdict_judgement(const spurity_verdict *verdict, size_t index);
SPURITY_API size_t spurity_verdict_not_shown_count(const spurity_verdict *verdict);
SPURITY_API const spurity_not_shown *spurity_verdict_not_shown(const spurity_verdict *verdict, size_t index);
/** Groups not examined (not asked, or without a clause), as bits of SPURITY_GROUP_... */
SPURITY_API unsigned spurity_verdict_not_examined(const spurity_verdict *verdict);
/** Clauses that bind and have no figure, for their words. */
SPURITY_API size_t spurity_verdict_told_count(const spurity_verdict *verdict);
SPURITY_API const spurity_clause *spurity_verdict_told(const spurity_verdict *verdict, size_t index);

/** Of all judgements of an emission the one with the lowest allowed level (of noise-like ones, which each set may judge
 *  in a bandwidth of its own, and among equals: the smallest margin).  limit_dbm (may be NULL): that level, NaN when it
 *  is a ratio to a carrier whose power is not known.  False: the emission has no judgement with a figure. */
SPURITY_API bool spurity_verdict_strictest(const spurity_verdict *verdict, size_t emission, size_t *judgement,
                                           double *limit_dbm);

/** Strictest allowed level at `hz` over all rule sets, every condition left open and the groups asked (emissions,
 * mask), dBm in the clause's reference bandwidth, for the picture.  False where no clause sets a figure. */
SPURITY_API bool spurity_verdict_limit(const spurity_verdict *verdict, double hz, double *dbm);

#ifdef __cplusplus
}
#endif
#endif
