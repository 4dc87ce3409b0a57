/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPECTRUM_RECEIVER_H
#define SPURITY_SPECTRUM_RECEIVER_H
/* What the samples say of the receiver and of the key: sums that the engine feeds, and what follows from them. Internal
 * to the stage.  Samples are floats scaled to full scale as spurity_sample_convert makes them, complex ones I, Q pairs.
 *
 * Everything here adds up in order: the engine cuts the capture into runs at fixed places (never dependent on the
 * number of threads), feeds each run into sums of its own, and adds the runs in order.  The bits are then the same for
 * any number of threads. */
#include "spectrum.h"

/* ---- sums over every sample ---------------------------------------------------------------------- */

/* Values of one polarity that stand highest, to tell a converter that stops there: see spurity_receiver_finish. */
typedef struct spurity_receiver_top {
    float first, second; /* distinct, first above second; -1 = none yet */
    uint64_t firsts, seconds;
} spurity_receiver_top;

/* Plain data: start with spurity_receiver_init, copy and drop freely. */
typedef struct spurity_receiver {
    bool is_complex;
    bool rails_known;
    float rail_low, rail_high;
    uint64_t samples, at_rail, not_finite;
    double i, q, ii, qq, iq; /* sums of the components and of their products; q, qq, iq 0 of real ones */
    float largest;           /* |component| */
    spurity_receiver_top up, down;
    /* Over cells of 4096 samples and over runs: p = sum of (z - mean)^2, a complex number, and P = sum of |z - mean|^2
     * of each; [0] cells, [1] runs. */
    struct spurity_receiver_moments {
        double count, power, power2; /* sum P, sum P^2 */
        double re, im, square;       /* sum p, sum |p|^2 */
        double re_power, im_power;   /* sum p P */
    } moments[2];
    struct spurity_receiver_cell { /* not yet closed */
        uint64_t samples;
        double i, q, ii, qq, iq;
    } cell;
    struct spurity_receiver_run { /* likewise */
        double re, im, power;
    } run;
} spurity_receiver;

/** Rails as spurity_capture_facts has them (NaN = none).  They are compared as floats: exact up to 24 bits; of 32 bits
 * the last 64 codes before a rail count as being there. */
void spurity_receiver_init(spurity_receiver *receiver, bool is_complex, double rail_low, double rail_high);
/** Takes every sample of a run, in order, in blocks of any size (same blocks for the same bits; multiples of 4096 are
 * best).  Samples that are not finite are counted and set to 0 in place.  Returns how many were not finite. */
size_t spurity_receiver_feed(spurity_receiver *receiver, float *samples, size_t count);
/** A whole cell of SPURITY_RECEIVER_CELL complex samples of which the engine took the sums itself (scaled to full
 * scale); start: its first few components, as floats, for the highest values. */
enum { SPURITY_RECEIVER_CELL = 4096 };
typedef struct spurity_receiver_sums {
    double i, q, ii, qq, iq;
    float largest;
    uint64_t at_rail;
} spurity_receiver_sums;
void spurity_receiver_feed_cell(spurity_receiver *receiver, const spurity_receiver_sums *sums, const float *start,
                                size_t start_count);
/** Adds the sums of the run that follows.  Closes both runs. */
void spurity_receiver_add(spurity_receiver *receiver, const spurity_receiver *next);
/** Sets samples, not_finite, mean_db, largest, components, at_rail, pinned, dc_i, dc_q, gain_imbalance_db,
 * phase_imbalance_deg and image_db of facts. */
void spurity_receiver_finish(const spurity_receiver *receiver, spurity_spectrum_facts *facts);
/** dB a mirror image lies under its signal: gain ratio in dB, error of quadrature in degrees. */
double spurity_receiver_image_db(double gain_db, double phase_deg);

/* ---- mirror images ------------------------------------------------------------------------------- */

enum { SPURITY_IMAGE_LOOKS = 256, SPURITY_IMAGE_LEAST = 8 };

/** Numbers of the transforms (of a part, counted from 0) at which to look, rising, at uneven distances of at least one
 * whole transform (of a short capture: as many as can be).  expected: how many transforms the part will have, 0 = not
 * known (the distances then grow). Returns how many, <= SPURITY_IMAGE_LOOKS. */
size_t spurity_image_schedule(uint64_t expected, double overlap, uint64_t at[SPURITY_IMAGE_LOOKS]);

typedef struct spurity_image_sums spurity_image_sums;
/** For complex transforms of length n; 8 n bytes.  NULL when memory is out. */
spurity_image_sums *spurity_image_create(size_t n);
void spurity_image_free(spurity_image_sums *sums); /* NULL is fine */
/** One look: n interleaved complex values in the transform's own order (bin 0 first), any one scale. */
void spurity_image_look(spurity_image_sums *sums, const float *x);
/** Adds later looks. */
void spurity_image_add(spurity_image_sums *sums, const spurity_image_sums *next);
/** What stands `bin` bins (signed, any fraction) from the centre, with the lines of the window `half` bins wide to
 * either side (its first_null_bins): sets all of image but mirror_hz.  False where it cannot be told. */
bool spurity_image_judge(const spurity_image_sums *sums, double bin, double half, spurity_image *image);

/* ---- bursts -------------------------------------------------------------------------------------- */

/* What a pass over the envelope found.  A fall of 20 dB and more below the level that half the energy stands above, for
 * 2 ms and more, is key-up (judgement); shorter ones are modulation. */
typedef struct spurity_envelope {
    bool bursts;
    double cell_s;        /* length of one reading of the envelope: 0.25 ms, 16 samples at least */
    size_t cell;          /* the same in samples */
    double threshold;     /* mean |z|^2 (real: mean square) from which a cell is key-down; 0 without bursts */
    double on_db, off_db; /* mean power key-down (without the edges) and key-up, dBFS; off NaN without bursts */
    double duty;          /* key-down share; 1 without bursts */
    uint64_t burst_count; /* in what was looked at, those cut off at its ends too; 0 without bursts */
    uint64_t samples;     /* looked at */
    bool whole;           /* that was all that was asked for */
    double shortest_s;    /* shortest burst of those not cut off; NaN = none */
    double dc[2];         /* goes on while the key is up and hid that: taken out of every power here; mostly 0 */
} spurity_envelope;

enum { SPURITY_ENVELOPE_SAMPLES = 1 << 24 };

typedef struct spurity_envelope_scout spurity_envelope_scout;
/** For streams that cannot go back: feed what was read ahead.  NULL when memory is out. */
spurity_envelope_scout *spurity_envelope_scout_create(double rate_hz, bool is_complex);
void spurity_envelope_scout_free(spurity_envelope_scout *scout); /* NULL is fine */
/** Further samples; SPURITY_ENVELOPE_SAMPLES count, later ones are passed over.  joined: they follow on the ones
 * before. False when memory is out. */
bool spurity_envelope_scout_feed(spurity_envelope_scout *scout, const float *samples, size_t count, bool joined);
/** False when memory is out.  whole is true. */
bool spurity_envelope_scout_finish(const spurity_envelope_scout *scout, spurity_envelope *envelope);
/** Sum of squares, full scale 1, of `count` 16-bit components in the machine's byte order, and their sums, those of
 * even and odd place apart (kernels.c). */
double spurity_energy_i16(const unsigned char *from, size_t count, double sums[2]);
/** The pass over a seekable capture: `samples` of it from `first` (0 = to its promised end), all of them up to
 * SPURITY_ENVELOPE_SAMPLES, else 64 stretches evenly placed.  For one centre at a time: another centre's level is
 * another signal's.  The capture stands where it stood afterwards. */
spurity_status spurity_envelope_look(spurity_capture *capture, uint64_t first, uint64_t samples,
                                     const spurity_watch *watch, spurity_envelope *envelope, spurity_error *error);
/** Whether one transform's samples (before the window) are key-down throughout; always true without bursts. */
bool spurity_envelope_on(const spurity_envelope *envelope, bool is_complex, const float *samples, size_t count);

/* ---- FFTW's planner ------------------------------------------------------------------------------ */

/** Hold these around every call into FFTW but the execution of plans: the planner is not safe for threads. */
void spurity_planner_lock(void);
void spurity_planner_unlock(void);
#endif
