/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPECTRUM_H
#define SPURITY_SPECTRUM_H
/* A capture becomes a trace: windows, averaged transforms, and what the samples say of the receiver.
 *
 * What is computed (equations, signs, normalisation, order of bins, policies): spectrum/README.md.  Levels are dBFS
 * (see capture.h), or dBm where the capture's full scale is known.
 *
 * FFTW plans behind one mutex of the library's own, the only state it keeps.  A host that plans FFTW transforms itself
 * must not do so while spurity_spectrum_create or spurity_tone_estimate runs: FFTW's planner is not safe against that.
 */
#include "../capture/capture.h"
#include "../trace/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- windows ------------------------------------------------------------------------------------- */

typedef enum spurity_window {
    SPURITY_WINDOW_RECTANGULAR = 0,
    SPURITY_WINDOW_HANN,
    SPURITY_WINDOW_HAMMING,
    SPURITY_WINDOW_BLACKMAN,
    SPURITY_WINDOW_BLACKMAN_HARRIS, /* four terms, -92 dB */
    SPURITY_WINDOW_NUTTALL3B,
    SPURITY_WINDOW_NUTTALL4B,
    SPURITY_WINDOW_NUTTALL4C,
    SPURITY_WINDOW_KAISER, /* alpha = 3.5 */
    SPURITY_WINDOW_SFT3F,
    SPURITY_WINDOW_SFT4F,
    SPURITY_WINDOW_SFT5M,
    SPURITY_WINDOW_HFT70,
    SPURITY_WINDOW_HFT90D,
    SPURITY_WINDOW_HFT95,
    SPURITY_WINDOW_HFT116D,
    SPURITY_WINDOW_HFT144D,
    SPURITY_WINDOW_HFT169D,
    SPURITY_WINDOWS /* how many; not a window */
} spurity_window;

/** Figures of a window, N -> infinity, computed from its coefficients.  Sources: spectrum/README.md. */
typedef struct spurity_window_facts {
    const char *name;       /* "blackman-harris", "hft116d" */
    spurity_filter filter;  /* as a filter; bin_hz 0 */
    double coherent_gain;   /* mean of w over its peak */
    double enbw_bins;       /* N sum w^2 / (sum w)^2 */
    double width_3db_bins;  /* half power, -3.0103 dB */
    double scalloping_db;   /* reading half a bin off centre, <= 0; a flat-top's largest error within half a bin */
    double sidelobe_db;     /* highest, <= 0 */
    double first_null_bins; /* half width of the main lobe */
    double overlap;         /* recommended, 0..1 */
} spurity_window_facts;
/** NULL when out of range.  Static, computed at build time or const. */
SPURITY_API const spurity_window_facts *spurity_window_facts_of(spurity_window window);
/** By name, letter case aside; SPURITY_WINDOWS when there is none. */
SPURITY_API spurity_window spurity_window_from_text(const char *text, size_t length);
/** Fills w[0..n-1], DFT-even (periodic), scaled so that sum w = n.  n >= 1. */
SPURITY_API void spurity_window_fill(spurity_window window, size_t n, float *w);
/** Independent power averages that `count` transforms a hop of (1 - overlap) N apart are worth (Welch 1967). */
SPURITY_API double spurity_window_effective_averages(spurity_window window, double overlap, double count);

/* ---- a tone in one block -------------------------------------------------------------------------- */

typedef struct spurity_tone {
    double frequency_hz;                       /* of the block's own: -rate/2 .. rate/2; real input: 0 .. rate/2 */
    double level_db;                           /* dBFS */
    double phase_rad;                          /* at the block's first sample */
    double frequency_sigma_hz, level_sigma_db; /* one standard deviation by the residue about the tone (Cramer-Rao) */
    double residue_db;                         /* mean power of what is left beside the tone, dBFS */
} spurity_tone;

/** Frequency, level and phase of the strongest tone within half_hz of near_hz (half_hz <= 0: anywhere) in one block of
 * n
 * >= 16 samples scaled to full scale (complex: I, Q pairs).  Within 1.5 times the Cramer-Rao bounds for an isolated
 * tone of 10 dB and more in the bin.  INVALID for a short block, one of zeros, or one with samples that are not finite.
 */
SPURITY_API spurity_status spurity_tone_estimate(const float *samples, size_t n, bool is_complex, double rate_hz,
                                                 double near_hz, double half_hz, spurity_tone *tone,
                                                 spurity_error *error);

/* ---- spectrum ------------------------------------------------------------------------------------- */

typedef enum spurity_spectrum_detector {
    SPURITY_SPECTRUM_MEAN = 0, /* mean power, of the key-down time where the capture holds bursts */
    SPURITY_SPECTRUM_MAX_HOLD,
    SPURITY_SPECTRUM_MIN_HOLD
} spurity_spectrum_detector;

/** Start with spurity_spectrum_options_init. */
typedef struct spurity_spectrum_options {
    double rbw_hz;    /* 3 dB bandwidth wanted; 0 = rate/5000 rounded to 1-3-10, wider where the capture is too short
                         for 16 averages */
    size_t transform; /* length N, overrides rbw_hz; 0 = from it */
    spurity_window window;       /* of the levels; HFT144D */
    spurity_window sharp_window; /* BLACKMAN_HARRIS */
    bool sharp; /* a further trace segment in the sharp window of the same pass, close to the strongest line */
    double sharp_half_hz; /* how far from it; 0 = 200 resolutions */
    double overlap;       /* 0..0.95; < 0 = by the window's recommendation where averages are few or held, else 0.5 */
    spurity_spectrum_detector detector;
    int threads;          /* 0 = every core there is */
    double seconds;       /* of the capture; 0 = all */
    double edge_fraction; /* of the rate, at each end of the band, that is cut off; 0.10; where the capture says what
                             its filter passes, that serves instead when it is narrower */
    bool whole;           /* bursts: the mean over all of it, not of the key-down time */
    bool reproducible;    /* plans by estimate only: same bits every time on one kind of CPU */
    bool hold;            /* of a mean: the maximum hold beside it, from the same transforms (spurity_spectrum_held) */
    const char *wisdom;   /* file in which FFTW's plans are kept, read and rewritten; NULL = none.  Never needed */
} spurity_spectrum_options;
SPURITY_API void spurity_spectrum_options_init(spurity_spectrum_options *options);

/** What the samples say.  NaN = cannot be told. */
typedef struct spurity_spectrum_facts {
    uint64_t samples;    /* used */
    uint64_t not_finite; /* NaN or infinite, taken as 0 */
    size_t transform;    /* N */
    uint64_t transforms; /* that were averaged or held */
    double averages;     /* independent averages they are worth */
    double overlap, rbw_hz, sharp_rbw_hz /* NaN none */, bin_hz;
    spurity_window window, sharp_window;
    bool averages_few; /* the capture is too short for 16 averages at the RBW wanted */
    int threads;
    /* samples against full scale 1.0 */
    double mean_db;               /* mean power of all samples, dBFS */
    double largest;               /* largest |component| */
    uint64_t components, at_rail; /* counted on every sample; at_rail 0 where the rails are not known */
    bool pinned;                  /* floats without rails: several samples stand at one same maximum */
    double dc_i, dc_q;            /* mean of the components */
    double gain_imbalance_db,
        phase_imbalance_deg; /* I over Q; of Q against I + 90 degrees.  Complex only; NaN where the
     capture cannot tell (a signal that is not circular of itself, as real or AM on the centre) */
    double image_db;         /* what that imbalance makes of a mirror image, dB under its signal; NaN */
    /* bursts */
    bool bursts; /* the envelope falls at least 20 dB for a time (README) */
    bool gated;  /* the mean is that of the key-down time, at every centre that holds bursts */
    uint64_t burst_count;
    double duty;  /* key-down share of the time, 1 without bursts */
    double on_db; /* mean power of the key-down time, dBFS */
    /* time spent, seconds of one thread each, 0 where it was not taken apart */
    double read_s, convert_s, window_s, transform_s, accumulate_s, plan_s;
    double burst_s; /* mean length of a burst, of the centre where it is least; NaN without bursts */
} spurity_spectrum_facts;

typedef struct spurity_spectrum spurity_spectrum;

/** Reads the capture from where it stands to its end (or options->seconds).  A pass over the envelope of a seekable
 * capture may come first.  Memory does not depend on the length.  The trace: a segment for each centre (in order of the
 * capture's segments, equal neighbours as one) in options->window, then the sharp ones.  INVALID when there are fewer
 * than 16 samples or none is finite, or the window or transform asked for cannot be; CANCELLED; SYSTEM. */
SPURITY_API spurity_status spurity_spectrum_create(spurity_capture *capture, const spurity_spectrum_options *options,
                                                   const spurity_watch *watch, spurity_spectrum **spectrum,
                                                   spurity_error *error);
SPURITY_API void spurity_spectrum_free(spurity_spectrum *spectrum); /* NULL is fine */
/** Borrowed, valid while the spectrum lives. */
SPURITY_API const spurity_spectrum_facts *spurity_spectrum_facts_of(const spurity_spectrum *spectrum);
SPURITY_API const spurity_trace *spurity_spectrum_trace(const spurity_spectrum *spectrum);
/** Hands the trace over to the caller, who frees it; NULL when it is gone.  What follows stays usable. */
SPURITY_API spurity_trace *spurity_spectrum_take_trace(spurity_spectrum *spectrum);

/** With options.hold: the maximum hold of the segments in the main window, in their order, bin for bin; else NULL.
 * Borrowed, valid while the spectrum lives. */
SPURITY_API const spurity_trace *spurity_spectrum_held(const spurity_spectrum *spectrum);

/** Where a trace segment comes from. */
typedef struct spurity_spectrum_part {
    double center_hz; /* 0 where none was told */
    bool center_told;
    bool sharp;
    bool is_complex;
    double from_hz, to_hz; /* of the receiver's band that was kept */
    double cut_low_hz,
        cut_high_hz; /* ends of the band as sampled: [cut_low, from) and (to, cut_high] are not trusted */
    double center_from_hz,
        center_to_hz; /* about the centre: a line there may be the receiver's own; NaN of real ones */
    uint64_t transforms;
    bool overload; /* the recorder says so */
} spurity_spectrum_part;
/** By the trace's segment index; false when out of range. */
SPURITY_API bool spurity_spectrum_part_at(const spurity_spectrum *spectrum, size_t segment,
                                          spurity_spectrum_part *part);

/** Whether what stands at a frequency is the mirror image of what stands on the other side of the centre. */
typedef struct spurity_image {
    double mirror_hz; /* 2 centre - hz */
    double coherence; /* |sum X(hz) X(mirror)| / sqrt(sum |X(hz)|^2 sum |X(mirror)|^2), 0..1 */
    double ratio_db;  /* power at hz over power at the mirror frequency */
    uint64_t looks;   /* transforms that were looked at, at uneven distances */
    double chance;    /* that two independent signals are as coherent: (1 - coherence^2)^(looks - 1) */
    bool is_image;    /* weaker, and coherent beyond chance (README) */
} spurity_image;
/** False where it cannot be told: real samples, out of the band, the centre itself, fewer than 8 looks. */
SPURITY_API bool spurity_spectrum_image(const spurity_spectrum *spectrum, size_t segment, double hz,
                                        spurity_image *image);

/** The strongest tone of a trace segment's first block (of at most 2^18 samples, key-down where there are bursts) by
 * the tone estimator, absolute in frequency and in the trace's own scale.  False where the block is not one tone: when
 * what is left beside it is stronger than 30 dB below it. */
SPURITY_API bool spurity_spectrum_tone(const spurity_spectrum *spectrum, size_t segment, spurity_tone *tone);

#ifdef __cplusplus
}
#endif
#endif
