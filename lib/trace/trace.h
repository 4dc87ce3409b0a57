/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TRACE_H
#define SPURITY_TRACE_H
/* A trace: one sweep as frequency/level points, in segments.  A curve: loss by frequency.
 *
 * Invariants of a trace: every held level is finite; frequencies rise strictly within a segment and may be <= 0;
 * segments may overlap.  A missing point is not held: it leaves a gap, and nothing is known between its neighbours.  16
 * bytes a point.  Levels are dBm, or dB of a named scale (then only differences within that scale mean anything). */
#include "../uncertainty/uncertainty.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_detector {
    SPURITY_DETECTOR_UNKNOWN = 0,
    SPURITY_DETECTOR_SAMPLE,
    SPURITY_DETECTOR_AVERAGE,     /* power (rms) average */
    SPURITY_DETECTOR_LOG_AVERAGE, /* mean of dB values ("video" average) */
    SPURITY_DETECTOR_PEAK,        /* highest within each point's cell, one sweep */
    SPURITY_DETECTOR_MAX_HOLD     /* highest of several sweeps */
} spurity_detector;

/** Contract names: "sample", "average", "log-average", "peak", "max-hold"; "unknown". */
SPURITY_API const char *spurity_detector_name(spurity_detector detector);
/** From a contract name or the spellings of exports ("RMS", "Pos Peak", "Sample", "Max Hold" ...); UNKNOWN if none. */
SPURITY_API spurity_detector spurity_detector_from_text(const char *text, size_t length);

/** The resolution filter: what a line reads beside its centre. */
typedef enum spurity_filter_kind {
    SPURITY_FILTER_UNKNOWN = 0, /* taken as Gaussian, with what that leaves open */
    SPURITY_FILTER_COSINE_SUM,  /* window w[n] = sum_k (-1)^k c_k cos(2 pi k n / N) of a transform, N -> infinity */
    SPURITY_FILTER_KAISER       /* window I0(beta sqrt(1 - t^2)) / I0(beta), t in (-1, 1) */
} spurity_filter_kind;

enum { SPURITY_FILTER_TERMS = 11 };

typedef struct spurity_filter {
    spurity_filter_kind kind;
    int terms;                      /* of c, 1..11 */
    double c[SPURITY_FILTER_TERMS]; /* c[0] > 0 */
    double beta;                    /* of a Kaiser window */
    double bin_hz;                  /* rate / N */
} spurity_filter;

/** Response to a line offset_bins off a bin's centre, amplitude over that on the centre; signed (side lobes change
 * sign).  1 at 0.  Cosine sum: sin(pi d) / (pi c0) * [c0/d + sum_k (-1)^k c_k d / (d^2 - k^2)]; Kaiser:
 * sinh(sqrt(beta^2 - pi^2 d^2)) / sqrt(...) over sinh(beta) / beta.  NaN for UNKNOWN. */
SPURITY_API double spurity_filter_response(const spurity_filter *filter, double offset_bins);
/** Noise bandwidth and 3 dB (half power) bandwidth, bins; NaN for UNKNOWN. */
SPURITY_API double spurity_filter_noise_bins(const spurity_filter *filter);
SPURITY_API double spurity_filter_width_bins(const spurity_filter *filter);

/** What holds for a segment.  0 = not known, throughout. */
typedef struct spurity_segment_facts {
    double rbw_hz; /* 3 dB resolution bandwidth */
    double vbw_hz;
    spurity_detector detector;
    double averages;               /* sweeps averaged or held; power averages of a capture's spectrum */
    double noise_bandwidth_factor; /* noise bandwidth / rbw_hz; 0: take a Gaussian filter's 1.0645 */
    double sweep_seconds;
    spurity_filter filter;
} spurity_segment_facts;

/** Borrowed view of a segment, valid until the trace changes.  count >= 1. */
typedef struct spurity_segment {
    spurity_segment_facts facts;
    size_t count;
    const double *frequency_hz;
    const double *level_db;
    const size_t *gap_before; /* rising indices i in 1..count-1: points are missing between i-1 and i */
    size_t gap_count;
    size_t missing; /* points missing in all, at the ends too */
    double step_hz; /* median spacing of neighbours, gaps left out; 0 for a single point */
} spurity_segment;

typedef struct spurity_trace spurity_trace;

/** An empty trace.  Free with spurity_trace_free. */
SPURITY_API spurity_status spurity_trace_create(spurity_trace **trace, spurity_error *error);
SPURITY_API void spurity_trace_free(spurity_trace *trace); /* NULL is fine */

/** Opens a segment; later appends go into it.  An open segment without a point vanishes. */
SPURITY_API spurity_status spurity_trace_begin_segment(spurity_trace *trace, const spurity_segment_facts *facts,
                                                       spurity_error *error);
/** Adds points to the open segment.  A NaN level is a missing point.  INVALID for a frequency not finite or not above
 * the one before it, for an infinite level, or without an open segment; the trace is then as before. */
SPURITY_API spurity_status spurity_trace_append(spurity_trace *trace, const double *frequency_hz,
                                                const double *level_db, size_t count, spurity_error *error);

SPURITY_API size_t spurity_trace_segment_count(const spurity_trace *trace);
/** False when index is out of range. */
SPURITY_API bool spurity_trace_segment(const spurity_trace *trace, size_t index, spurity_segment *view);
SPURITY_API size_t spurity_trace_points(const spurity_trace *trace);
/** Changes facts of a segment (what an option says over the file). */
SPURITY_API void spurity_trace_set_facts(spurity_trace *trace, size_t index, const spurity_segment_facts *facts);
/** Levels of a segment for changing in place (adding a loss); NULL when out of range.  Keep them finite. */
SPURITY_API double *spurity_trace_levels(spurity_trace *trace, size_t index);
/** Keeps of segment `index` only the points keep[i] != 0 (length: count); the others become missing.  A segment left
 * empty is removed, and true is returned. */
SPURITY_API bool spurity_trace_drop(spurity_trace *trace, size_t index, const unsigned char *keep);

/** Name of the scale, "" for dBm.  At most 63 bytes are kept. */
SPURITY_API const char *spurity_trace_scale(const spurity_trace *trace);
SPURITY_API void spurity_trace_set_scale(spurity_trace *trace, const char *name);

/* ---- curve --------------------------------------------------------------------------------------- */

typedef struct spurity_curve spurity_curve;

/** Copies count >= 1 points; frequencies must rise strictly and be >= 0, values finite, else INVALID.  db is a loss:
 *  > 0 attenuates.  uncertainty_db (expanded, k = 2, >= 0) may be NULL (none known). */
SPURITY_API spurity_status spurity_curve_create(const double *frequency_hz, const double *db,
                                                const double *uncertainty_db, size_t count, spurity_curve **curve,
                                                spurity_error *error);
SPURITY_API void spurity_curve_free(spurity_curve *curve); /* NULL is fine */
SPURITY_API size_t spurity_curve_count(const spurity_curve *curve);
SPURITY_API double spurity_curve_first_hz(const spurity_curve *curve);
SPURITY_API double spurity_curve_last_hz(const spurity_curve *curve);
/** Loss at hz, linear in dB over linear frequency between neighbours; uncertainty_db (may be NULL) likewise, NaN when
 * none is known.  False outside the curve: nothing is extrapolated. */
SPURITY_API bool spurity_curve_at(const spurity_curve *curve, double hz, double *db, double *uncertainty_db);

#ifdef __cplusplus
}
#endif
#endif
