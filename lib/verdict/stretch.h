/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_VERDICT_STRETCH_H
#define SPURITY_VERDICT_STRETCH_H
/* What the walk over all that was swept shares: stretch.c asks of each point what line could hide there, noise.c of
 * each reference bandwidth how much noise it holds. */
#include "reading.h"

enum cause {
    CAUSE_FLOOR,
    CAUSE_SKIRT,
    CAUSE_MODULATION,
    CAUSE_LEVEL,
    CAUSE_BLIND,
    CAUSE_FEEDTHROUGH,
    CAUSE_CLIPPED,
    CAUSE_NOISE,
    CAUSE_PHASE_NOISE
};

/* A stretch not shown while it is being put together. */
struct shred {
    double from_hz, to_hz;
    enum cause cause;
    double need_db; /* how much lower the bound would have to be */
    int file;
    double rbw_hz;
    double bandwidth_hz; /* of CAUSE_NOISE, CAUSE_PHASE_NOISE: the reference bandwidth */
    bool ratio;
};

struct walk {
    struct judging *j;
    const spurity_clause *clause;
    const bool *binds;
    const spurity_limit *limit;
    double inner_hz, modulation_hz;
    struct shred *shreds;
    size_t shred_count, shred_room;
    bool failed_memory;
    /* the point that comes nearest to its limit */
    struct meeting nearest;
    double nearest_hz, nearest_rbw, nearest_bandwidth; /* 0: a line was asked for */
    bool any;
    bool reached; /* the clause holds somewhere in what was swept, be it where emissions are judged by themselves */
    /* the line asked for last, and whether it is an emission of its own */
    int asked_file;
    long asked_line;
    bool asked_listed;
};

/* What a piece of a service has in common. */
struct cell {
    const spurity_measured_file *file;
    const spurity_service *service;
    struct level level; /* offsets and uncertainties; dbm, dbc still those of 0 dB on the scale */
    double rbw_hz, half_step_hz;
    spurity_clipping clipping;
};

/** Offsets and uncertainties of cell->service at hz. */
void spurity_verdict_set_cell(const struct walk *walk, struct cell *cell, double hz);
/** Worst meeting of a level over the worlds in which the clause binds. */
struct meeting spurity_verdict_meet_worst(const struct walk *walk, double hz, const struct level *level);
/** Whether hz is within what the clause is judged over. */
bool spurity_verdict_walk_covers(const struct walk *walk, double hz);
/** Whether a point belongs to an emission that is judged by itself; *skirt: to the carrier's footprint. */
bool spurity_verdict_judged_itself(struct walk *walk, const struct cell *cell, const spurity_point *point, bool *skirt);
/** Whether a blind point stands on the skirt of the instrument's line at 0 Hz. */
bool spurity_verdict_under_feedthrough(const struct cell *cell, double hz);
void spurity_verdict_keep_nearest(struct walk *walk, double rbw_hz, double bandwidth_hz, double hz,
                                  const struct meeting *meeting);
void spurity_verdict_add_shred(struct walk *walk, const struct shred *shred);

/* noise.c */
/** False when memory is out. */
bool spurity_verdict_walk_noise(struct walk *walk);
#endif
