/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_EMISSION_SURVEY_H
#define SPURITY_EMISSION_SURVEY_H
/* What the rooms of this stage share.  Life: survey.c creates; per segment floor.c, then regions.c and lines.c, then
 * bounds and coverage. */
#include "../error/grow.h"
#include "noise.h"
#include "shape.h"

enum { SPURITY_LAWS_MAX = 3, SPURITY_THRESHOLDS = 40, SPURITY_BOUND_STEPS = 81 };
#define SPURITY_BOUND_STEP_DB 0.5
#define SPURITY_FAR 1.02 /* spacing over RBW from which points are too far apart; leaves room for rounded figures */

/** A run of points judged together for the floor.  A segment has at most 1024. */
typedef struct spurity_block {
    size_t from, to;   /* points from .. to - 1 */
    float median_db;   /* of its readings */
    float highest_db;  /* of its readings */
    float spread_db;   /* median less 25 % quantile */
    float level_db;    /* local median of noise readings, from it and its like neighbours */
    float independent; /* readings level_db rests on */
    float threshold_db;
    bool raised; /* strong signals or a hump fill it: its median is no floor */
} spurity_block;

/** Points owned by one emission; a segment's do not overlap and rise. */
typedef struct spurity_owner {
    size_t first, last;
    size_t line;
} spurity_owner;

typedef struct spurity_segment_survey {
    spurity_segment view;
    double rbw_hz;             /* 0 = not known */
    double noise_bandwidth_hz; /* 0 = not known */
    spurity_noise_law laws[SPURITY_LAWS_MAX];
    size_t law_count;
    double law_median_db;    /* floor (mean) = local median - this; the unfavourable one of the laws */
    double noise_reading_db; /* mean power of noise readings over the mean noise, the highest of the laws */
    double sigma_db;         /* standard deviation of a noise reading in dB, the largest of the laws */
    double points_per_look;  /* readings per independent reading, >= 1 */
    bool spacing_unknown;    /* no RBW is told, and no line of the segment shows that its points stand near enough */
    double false_alarm;      /* probability of one reading */
    double resolution_db;    /* of the readings as written */
    float *floor_db, *bound_db;
    spurity_block *blocks;
    size_t block_count, block_points;
    double threshold_db[SPURITY_THRESHOLDS];   /* over the mean floor by sqrt(2) steps of independent readings; NaN */
    double bound_over_db[SPURITY_BOUND_STEPS]; /* bound less reading, by reading less local median; NaN = not yet */
    spurity_owner *owners;
    size_t owner_count, owner_room;
    spurity_shape *shape; /* of the resolution filter; NULL: taken as Gaussian */
} spurity_segment_survey;

/** A stretch of points above the floor, and peaks in it. */
typedef struct spurity_region {
    size_t low, high; /* points, ends included: where the trace meets the floor */
    size_t peak;
    bool hump; /* found by the level of its blocks, not by a reading */
} spurity_region;

typedef struct spurity_regions {
    spurity_region *items;
    size_t count, room;
} spurity_regions;

struct spurity_survey {
    spurity_terminal_trace *terminal;
    spurity_survey_options options;
    spurity_segment_survey *segments;
    size_t segment_count;
    spurity_line *lines;
    size_t line_count, line_room;
    spurity_coverage *coverage;
    size_t coverage_count, coverage_room;
    spurity_stretch *holes;
    size_t hole_count, hole_room;
};

/** Local floor, noise laws and thresholds of a segment.  floor_db and bound_db hold room for the points. */
spurity_status spurity_survey_floor(spurity_segment_survey *segment, double false_alarms, spurity_error *error);
/** Threshold over the mean floor for a floor from `independent` readings. */
double spurity_survey_threshold(spurity_segment_survey *segment, double independent);
const spurity_block *spurity_survey_block(const spurity_segment_survey *segment, size_t index);

/** Stretches above the floor. */
spurity_status spurity_survey_regions(spurity_segment_survey *segment, spurity_regions *regions, spurity_error *error);
/** Emissions of one segment, appended to survey->lines with their owners. */
spurity_status spurity_survey_lines(spurity_survey *survey, size_t segment, const spurity_regions *regions,
                                    spurity_notes *notes, spurity_error *error);
/** Bounds of all points, coverage and holes of a segment. */
void spurity_survey_bounds(spurity_survey *survey, spurity_segment_survey *segment);
spurity_status spurity_survey_cover(spurity_survey *survey, size_t segment, spurity_notes *notes, spurity_error *error);
spurity_status spurity_survey_add_hole(spurity_survey *survey, double from_hz, double to_hz, const char *reason,
                                       const char *advice, spurity_error *error);
/** Index of the owner's line, -1 = none, -2 = zero-frequency feedthrough. */
long spurity_survey_owner(const spurity_segment_survey *segment, size_t index);
/** Whether the stretch between points index - 1 and index is wider than the detector sees: over one RBW without a peak
 *  detector; with the RBW unknown: wherever spacing_unknown.  False at a gap. */
bool spurity_survey_far(const spurity_segment_survey *segment, size_t index);
/** Half the larger distance to a neighbour, Hz: how far from its nearest point a line may stand. */
double spurity_survey_half_step(const spurity_segment_survey *segment, size_t index);
/** Width of a point's cell, Hz: half the distance of its neighbours (gaps count as a step). */
double spurity_survey_cell(const spurity_segment_survey *segment, size_t index);
#endif
