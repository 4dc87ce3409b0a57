/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_VERDICT_PARTS_H
#define SPURITY_VERDICT_PARTS_H
/* The verdict's rooms: worlds (what the conditions leave open) -> each group judged in every world -> combined ->
 * headline. */
#include "verdict.h"

enum { WORLDS_MAX = 128, CLAUSES_MAX = 256 };

/** Everything that could be true of the transmitter given what was said and read: a clause is judged in each world. */
struct worlds {
    spurity_conditions items[WORLDS_MAX];
    size_t count;
    bool power_open;     /* worlds differ in power */
    bool power_unknown;  /* no power at all: worlds take one on each side of every step */
    char dates_open[64]; /* options that would settle a date, "" = none */
    bool filter_open;    /* worlds differ in the audio filter */
    bool channel_open;   /* worlds differ in the channel: the carrier was read too coarsely */
    char station[48];    /* what was said of the kind of station, as far as these rules have a word for it */
    bool cut;            /* more could be true than there is room for: nothing passes by all of them */
};

/** Which emission each line of each file was taken as. */
struct taken_lines {
    size_t *first;  /* of each file, in `emission` */
    long *emission; /* -1: as none */
};

struct judging {
    spurity_measurement *measurement;
    const spurity_test_point *point;
    const spurity_carrier *carrier;
    const spurity_rules *rules;
    size_t rules_index;
    struct worlds worlds;
    double from_hz, to_hz; /* range to be shown */
    double default_from, default_to;
    spurity_verdict *verdict;
    const spurity_watch *watch;
    spurity_rules_span span;  /* what the rules want looked through; from_hz NaN: they do not say */
    size_t first_told;        /* of this rule set among the told clauses */
    struct taken_lines taken; /* while emissions are judged */
};

struct spurity_verdict {
    size_t rules_count;
    spurity_rules_verdict *rules;
    struct worlds *worlds; /* one a rule set, kept for the picture's limit */
    spurity_judgement *judgements;
    size_t judgement_count, judgement_room;
    spurity_not_shown *not_shown;
    size_t not_shown_count, not_shown_room;
    const spurity_clause **told;
    size_t told_count, told_room;
    unsigned asked, not_examined;
    spurity_outcome outcome;
    char headline[900];
    size_t headline_rules; /* the rule set whose facts it tells */
    bool own_harmonics_unproven;
    int left_out[16]; /* harmonics 2..10 a narrowed range leaves out, of the rule set at hand */
    size_t left_out_count;
    struct strictest *strictest; /* one an emission */
    size_t emission_count;
};

/** The strictest judgement of an emission, -1 none. */
struct strictest {
    long judgement;
    double limit_dbm;
};

/** A level met by a limit tree. */
struct level {
    double dbm, dbc;           /* NaN = not known */
    double u_dbm_up, u_dbc_up; /* expanded, how far the truth may stand above */
    double u_dbm_down, u_dbc_down;
    bool at_most;   /* an upper bound: inside by U passes, anything else is not shown */
    bool untrusted; /* the level says nothing: not shown */
    double sure_db; /* of an upper bound: the truth is no lower than it by more than this; 0: nothing is known */
};

/** The meeting of a level and a tree: outcome and what bound. */
struct meeting {
    spurity_outcome outcome;
    double measured, limit, margin, uncertainty;
    bool ratio; /* dBc */
    const spurity_limit *leaf;
    const spurity_conditions *world; /* in which it was met */
    double hz;                       /* and where */
    double guard;                    /* `uncertainty` is so many times that of the level; 0: once */
};

/* tree.c */
struct meeting spurity_verdict_meet(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                                    const struct level *level, bool simple);
/** Writes the leaf that bound in words into `binding`, and the sum behind its figure into the row. */
void spurity_verdict_name_leaf(const struct meeting *meeting, char *binding, size_t size, spurity_judgement *row);
/* worlds.c */
void spurity_verdict_worlds(const struct judging *j, struct worlds *worlds);
/** In which worlds a clause binds; how many.  needs (starts as ""): the options that would settle those in which that
 * is not known. */
size_t spurity_verdict_bound_worlds(const struct judging *j, const spurity_clause *clause, bool *binds, char *needs,
                                    size_t size);
/** Of the rows from `first` on, each judged as if its clause bound: one that binds in some worlds only fails where some
 * row fails in every world, else it is not shown, naming what would settle it. */
spurity_status spurity_verdict_settle_worlds(struct judging *j, size_t first, spurity_error *error);
/** Adds to what binds why it may not: ", --installed not said". */
void spurity_verdict_add_why_open(const struct judging *j, char *text, size_t size);
/** The reason of what is not shown because the worlds differ. */
const char *spurity_verdict_open_reason(const struct judging *j);
/** Outcome over all worlds: passes throughout, fails throughout, else not shown. */
spurity_outcome spurity_verdict_combine(const spurity_outcome *outcomes, size_t count);
/* emissions.c, stretch.c, power.c: judge one group of one rule set; tell whether the rules have a clause for it */
spurity_status spurity_verdict_judge_emissions(struct judging *j, bool *has_clause, spurity_error *error);
/** *reached becomes true where the clause holds somewhere in the range to be shown. */
spurity_status spurity_verdict_judge_stretches(struct judging *j, const spurity_clause *clause, const bool *binds,
                                               bool *reached, spurity_error *error);
spurity_status spurity_verdict_judge_power(struct judging *j, bool *has_clause, spurity_error *error);
spurity_status spurity_verdict_judge_unmeasured(struct judging *j, unsigned group, bool *has_clause,
                                                spurity_error *error);
/* verdict.c */
spurity_judgement *spurity_verdict_add_judgement(struct judging *j, const spurity_clause *clause, spurity_error *error);
spurity_status spurity_verdict_add_not_shown(struct judging *j, const spurity_clause *clause, double from_hz,
                                             double to_hz, const char *reason, const char *advice,
                                             spurity_error *error);
/** A clause that cannot be told to bind or not for want of what only the user knows: not shown, naming the options. */
spurity_status spurity_verdict_ask(struct judging *j, const spurity_clause *clause, const char *needs,
                                   spurity_error *error);
spurity_status spurity_verdict_tell(struct judging *j, const spurity_clause *clause, spurity_error *error);
/** Whether an emission's level is but an upper bound of the transmitter's: inside the limit passes, over it is not
 * shown. */
bool spurity_verdict_bounds_only(const spurity_emission *emission);
/** How to settle what the receiver may have made.  at: its frequency in words. */
void spurity_verdict_advise_artefact(const struct judging *j, const spurity_emission *emission, const char *at,
                                     char *text, size_t size);
/** Why the bench itself leaves an emission not shown, and how to settle it; false where it does not.  at: its frequency
 * in words. */
bool spurity_verdict_doubt(const spurity_emission *emission, const char *at, const char **reason, char *text,
                           size_t size);
/** Whether `hz` is judged at all: inside --range, beyond --beyond. */
bool spurity_verdict_judged_at(const struct judging *j, double hz);
/** Offset from the carrier below which a modulated carrier's own products are not told from spurious ones: from the
 * inner edge to 2.5 times the necessary bandwidth. 0 when the carrier is unmodulated. */
double spurity_verdict_modulation_reach(const struct judging *j, const spurity_clause *clause);
/** Best an unverified clause can give: the conditional outcomes. */
spurity_outcome spurity_verdict_weigh(struct judging *j, const spurity_clause_facts *facts, spurity_outcome outcome);
/** Adds to a sentence that asks for --station which kinds these rules know. */
void spurity_verdict_name_stations(const struct judging *j, char *text, size_t size);
/** What would settle what the worlds differ in: "--installed and --power P1..P2 as closely as the meter tells". */
void spurity_verdict_say_open(const struct judging *j, char *text, size_t size);
/* range.c */
/** The range to be shown: as the rules say, else from the lowest frequency generated to the tenth harmonic. */
void spurity_verdict_set_range(struct judging *j);
/** Tells what --range and --beyond leave out. */
spurity_status spurity_verdict_note_narrowing(struct judging *j, spurity_error *error);
/* service.c: what the rules' tables say of the carrier */
void spurity_verdict_place_in_service(const struct judging *j, spurity_rules_verdict *mine);
/** Of several authorised bandwidths the widest tells which emissions are close-in. */
void spurity_verdict_name_close_in(const spurity_verdict *v, spurity_measurement *measurement);
/* strictest.c: over all rule sets, once all are judged */
spurity_status spurity_verdict_compare_rules(spurity_verdict *v, const spurity_measurement *measurement,
                                             spurity_error *error);
/* headline.c */
/** Writes the headline of the rule set at hand, and with `by_name` the whole verdict's out of it. */
void spurity_verdict_write_headline(struct judging *j, bool by_name);
/** Adds what the other rule sets say to the whole verdict's. */
void spurity_verdict_add_other_rules(spurity_verdict *v);
#endif
