/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_ROWS_H
#define SPURITY_INPUT_ROWS_H
/* Points on their way into a trace (points.c): order, repeats, runs of stand-in values, segments. */
#include "text.h"

enum { POINTS_CHUNK = 4096, POINTS_HELD = 4 };

struct points {
    const spurity_input *input;
    spurity_trace *trace;
    spurity_segment_facts facts; /* of the segment that opens next */
    bool falling, levels_only;
    double sign; /* -1 when frequencies descend */
    bool open;
    double hz[POINTS_CHUNK], db[POINTS_CHUNK];
    size_t count;                     /* in the chunk */
    double *store;                    /* of a descending segment (pairs), or of levels alone */
    size_t stored, store_room;        /* doubles */
    double last, before, top;         /* last frequencies of the segment; end of the one before */
    size_t in_segment;                /* frequencies of the open segment */
    bool began_by_fall;               /* the open segment began because the frequency fell back */
    unsigned long begin_line;         /* of the open segment */
    size_t falls, segments, stand_in; /* length of a run of stand-in values */
    size_t rows, distinct, missing, repeats, unlike;
    unsigned long first_line, last_line;
    double first_hz, last_hz; /* of everything */
};

/** A reading that stands for "not measured" when it comes in runs. */
static inline bool points_is_stand_in(double raw)
{
    return raw == -200.0 || raw == -174.0;
}

spurity_status spurity_points_open(struct points *points, spurity_error *error);
/** One point; db NaN: missing.  stand_in: the reading may be a stand-in. */
spurity_status spurity_points_put(struct points *points, double hz, double db, bool stand_in, unsigned long line,
                                  spurity_error *error);
/** Hands over what the chunk holds, except the last few. */
spurity_status spurity_points_flush(struct points *points, size_t held, spurity_error *error);
/** Ends the open segment. */
spurity_status spurity_points_close(struct points *points, spurity_error *error);
/** Levels alone: spreads them evenly from start to stop. */
spurity_status spurity_points_spread(struct points *points, double start_hz, double stop_hz, spurity_error *error);
/** Frequencies of the file's own against the span the user told (--start, --stop), which is for levels alone: INVALID
 * where they are apart by more than half a step. */
spurity_status spurity_points_check_told(const struct points *points, spurity_error *error);
void spurity_points_free(struct points *points);

#endif
