/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_EMISSION_H
#define SPURITY_EMISSION_H
/* What stands in one terminal trace: its floor, the lines and wider emissions above it, what could hide.  Classifies
 * nothing: whether a line is a harmonic is for measurement to say.
 *
 * What is computed (equations, sources, false-alarm rate): emission/README.md.  All levels are in the trace's scale
 * (dBm when it is absolute). */
#include "../chain/chain.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_character {
    SPURITY_LINE,       /* narrower than the RBW: reads the same in any RBW */
    SPURITY_NOISE_LIKE, /* wider than the RBW and filled: scales with the bandwidth */
    SPURITY_UNRESOLVED  /* modulated or several lines: integrated over its width */
} spurity_character;
SPURITY_API const char *spurity_character_name(spurity_character character); /* "line", "noise-like", "unresolved" */

typedef struct spurity_line {
    double frequency_hz;    /* interpolated; centre of what holds 99 % of the power for a wider emission */
    double level_db;        /* a line: interpolated peak; wider: power integrated over low_hz..high_hz */
    double peak_db;         /* highest reading */
    double floor_db;        /* local mean noise power in the RBW, detector bias out */
    double width_hz;        /* 99 % width where wider than the RBW, else the RBW */
    double low_hz, high_hz; /* footprint: where the trace is this emission's, skirts included */
    double read_low_db; /* the true level may be above level_db by this much (points beside the peak, detector), >= 0 */
    double read_high_db;             /* ... or below by this much (noise under it, max-hold), >= 0 */
    double frequency_uncertainty_hz; /* half-width of what the spacing and RBW leave open */
    double excess_db;                /* peak above the local floor */
    spurity_character character;
    bool trustworthy;      /* false: points over one RBW apart without a peak detector: its level is not shown */
    size_t segment, index; /* of the peak */
    double noise_up_db, noise_down_db; /* standard deviation of what the noise under a line leaves open above (below)
                                          level_db; read_low_db and read_high_db hold 1.96 of it; 0 where they hold the
                                          noise as a bound (a held maximum, a detector that is not known) */
} spurity_line;

typedef struct spurity_survey_options {
    double false_alarms; /* expected per trace of pure noise; default 0.01 */
    double carrier_hz;   /* expected carrier, NaN = unknown */
} spurity_survey_options;
SPURITY_API void spurity_survey_options_init(spurity_survey_options *options);

typedef struct spurity_survey spurity_survey;

/** Surveys a terminal trace in linear time.  The survey takes the terminal over at success.  Notes: rbw-unknown,
 *  detector-unknown, points-too-far-apart, missing-points, zero-frequency-feedthrough. */
SPURITY_API spurity_status spurity_survey_create(spurity_terminal_trace *terminal,
                                                 const spurity_survey_options *options, spurity_notes *notes,
                                                 const spurity_watch *watch, spurity_survey **survey,
                                                 spurity_error *error);
SPURITY_API void spurity_survey_free(spurity_survey *survey); /* NULL is fine */
/** What was surveyed: borrowed, valid while the survey lives. */
SPURITY_API const spurity_terminal_trace *spurity_survey_terminal(const spurity_survey *survey);

/** Emissions found, by rising frequency. Zero-frequency feedthrough, filter skirts and range steps are not among them.
 * Borrowed, valid while the survey lives; NULL when index is out of range, as in all lists below. */
SPURITY_API size_t spurity_survey_line_count(const spurity_survey *survey);
SPURITY_API const spurity_line *spurity_survey_line(const spurity_survey *survey, size_t index);

/** One point of the trace as the survey sees it. */
typedef struct spurity_point {
    double frequency_hz, reading_db;
    double floor_db; /* local mean noise power in the RBW, detector bias out */
    double bound_db; /* 97.5 % upper bound of a line hidden at or near this point (within half a step), from the
                        reading, the detector, the averages and the spacing */
    long line;       /* index of the emission whose footprint holds it, -1 = none */
    bool blind;      /* nothing can be said here: feedthrough skirt, or spacing over one RBW without a peak detector */
} spurity_point;
/** False when out of range. */
SPURITY_API bool spurity_survey_point(const spurity_survey *survey, size_t segment, size_t index, spurity_point *point);

/** What is covered: intervals between neighbouring points (half an RBW, or half a step where that is less, beyond the
 * ends), broken at gaps; by segment, rising.  Stretches not covered for other reasons (feedthrough, chain) are `hole`s.
 */
typedef struct spurity_coverage {
    double from_hz, to_hz;
    size_t segment, first, last; /* points */
} spurity_coverage;
SPURITY_API size_t spurity_survey_coverage_count(const spurity_survey *survey);
SPURITY_API const spurity_coverage *spurity_survey_coverage(const spurity_survey *survey, size_t index);
SPURITY_API size_t spurity_survey_hole_count(const spurity_survey *survey);
SPURITY_API const spurity_stretch *spurity_survey_hole(const spurity_survey *survey, size_t index);

/** Highest bound of a hidden line in [from, to], with the floor there (dB of the trace's scale) and where that is,
 * points of emissions' footprints included (a line can hide under an emission only up to its reading).  at_hz may be
 * NULL.  False unless a single segment covers the interval whole. */
SPURITY_API bool spurity_survey_bound(const spurity_survey *survey, double from_hz, double to_hz, double *bound_db,
                                      double *floor_db, double *at_hz);
/** Power in [from, to], dB of the trace's scale, integrated with the noise bandwidth: P = step / (k RBW) * sum
 * 10^(L/10); detector bias of noise-like power taken out.  False when not covered or the RBW is unknown. */
SPURITY_API bool spurity_survey_power(const spurity_survey *survey, double from_hz, double to_hz, double *power_db);
/** How noise reads in a segment, for those who integrate its readings. */
typedef struct spurity_noise_reading {
    double bandwidth_hz; /* noise bandwidth of the RBW filter; 0 = not known */
    double low_db,
        high_db;     /* mean power of noise readings over the noise's: between these, by the detectors it may be */
    double sigma_db; /* standard deviation of one reading */
    double look_hz;  /* span that an independent reading is worth */
} spurity_noise_reading;
/** False when segment is out of range. */
SPURITY_API bool spurity_survey_noise(const spurity_survey *survey, size_t segment, spurity_noise_reading *noise);

/** Power of a wider emission in a bandwidth. */
typedef struct spurity_band_power {
    double from_hz, to_hz; /* where it is highest */
    double power_db;       /* detector bias of noise-like power out */
    double floor_db;       /* of it what the floor alone would make, which may be the bench's; -infinity: told in
                              read_high_db */
    double read_low_db, read_high_db; /* it may be above or below by this much, see spurity_line */
    bool scatters; /* its readings scatter as noise does; smooth ones may be of lines too close for the
                      RBW, and their power in a narrower bandwidth is not told by their density */
} spurity_band_power;
/** Highest power of emission `line` (index) in any bandwidth_hz, from the filter's noise bandwidth upwards: of one that
 * is narrower than bandwidth_hz its whole power, if it is noise-like with its like beside it (and with what floor there
 * is beside it in read_low_db); of a wider one the highest in any window within it.  Lines beside it do not count.
 * False for a line, for what is not to be trusted, and when the RBW is not known. */
SPURITY_API bool spurity_survey_highest_power(const spurity_survey *survey, size_t line, double bandwidth_hz,
                                              spurity_band_power *power);
/** The emission found whose frequency lies in [from, to] with the highest level; NULL when none. */
SPURITY_API const spurity_line *spurity_survey_strongest(const spurity_survey *survey, double from_hz, double to_hz);

/** Bound of a hidden line, 97.5 % one-sided: the power s*floor (dB) of a line that, in noise of mean power floor_db,
 * reads above reading_db with probability 0.975.  averages: independent power averages; for peak and max-hold
 * `averages` draws of which the highest reads.  (Rice / non-central chi-square.) */
SPURITY_API double spurity_hidden_line_bound(double reading_db, double floor_db, spurity_detector detector,
                                             double averages);

#ifdef __cplusplus
}
#endif
#endif
