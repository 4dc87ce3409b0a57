/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPECTRUM_ENGINE_H
#define SPURITY_SPECTRUM_ENGINE_H
/* Between the files of the transform loop; no door. */
#include "plan.h"
#include "receiver.h"

enum { SPURITY_AVERAGES_WANTED = 16 };

/* Settled before the first transform, const afterwards. */
struct settled {
    spurity_sample_format format;
    size_t sample_bytes;
    double rate_hz;
    bool is_complex;
    size_t n, hop;  /* transform, distance of transforms, samples */
    size_t bins;    /* of a transform: n complex, n / 2 + 1 real */
    size_t run;     /* transforms whose power is added in float before it goes into the double sum */
    uint64_t limit; /* samples to use; UINT64_MAX = to the end */
    uint64_t known; /* samples there will be; 0 = not known */
    int bands;      /* 1, or 2 with the sharp window */
    int threads;
    spurity_window window[2];
    spurity_spectrum_detector detector;
    double edge_fraction, usable_hz, sharp_half_hz, overlap, full_scale_dbm;
    double rail_low, rail_high;
    bool hold; /* the maximum beside the mean */
    bool averages_few, reproducible;
    bool may_gate; /* where there are bursts, only transforms that are key-down throughout count */
    const char *wisdom;
};

/* Neighbouring capture segments of one centre. */
struct group {
    double center_hz; /* NaN = not told */
    bool overload;
    spurity_envelope envelope;
    bool gated;
    struct spurity_tone_block {
        unsigned char *raw;
        size_t samples;
        bool whole;                      /* nothing more is added */
    } block;                             /* its first samples */
    uint64_t transforms;                 /* drawn */
    uint64_t looks[SPURITY_IMAGE_LOOKS]; /* transforms at which mirror images are looked for */
    size_t look_count;
    struct group *before;
};
void spurity_group_release(struct group *group); /* its block */

/* Draws runs of transforms from the capture, in order; for one thread at a time. */
struct source {
    const struct settled *settled;
    spurity_capture *capture;
    unsigned char *early; /* samples read before N was settled */
    size_t early_samples, early_at;
    unsigned char *carry; /* the end of the last run that the next one needs: carried samples < n */
    size_t carried;
    size_t segment;       /* of the capture */
    uint64_t left;        /* of settled->limit */
    uint64_t began, at;   /* the first and the next sample */
    struct group *group;  /* of the segment */
    struct group *groups; /* all of them, the last first */
    bool begins;          /* a segment */
    bool ended;
};

/* One run of transforms as it was drawn. */
struct drawn {
    struct group *group;
    size_t samples;    /* in the worker's buffer */
    size_t fresh;      /* index of the first that no run before held */
    size_t transforms; /* at 0, hop, 2 hop ... */
    uint64_t first;    /* number of the first one in the group */
    bool begins;       /* a segment */
};

spurity_status spurity_runs_open(struct source *source, const struct settled *settled, spurity_capture *capture,
                                 spurity_error *error);
void spurity_runs_close(struct source *source);
/* Samples of a run's buffer. */
size_t spurity_runs_room(const struct settled *settled);
/* drawn->samples 0 at the end. */
spurity_status spurity_runs_draw(struct source *source, unsigned char *buffer, struct drawn *drawn,
                                 spurity_error *error);

/* Settles N, hop, run; for a stream of unknown length it reads the first samples into source->early. */
spurity_status spurity_settle(spurity_capture *capture, const spurity_spectrum_options *options,
                              struct settled *settled, struct source *source, spurity_error *error);

/* to[i] = from[i] as a float, times its factor; `count` components. */
typedef void spurity_weigh(const unsigned char *from, const float *factor, size_t count, float *to);
void spurity_multiply(float *values, const float *factor, size_t count);
/* NULL where there is none for a format.  scale: what the factors take in beside the window; factors: how many of them
 * a sample has, 1 or one a component. */
spurity_weigh *spurity_weigher(spurity_sample_format format, float *scale, size_t *factors);
/* Of SPURITY_RECEIVER_CELL samples of 16-bit I/Q as this machine stores them. */
void spurity_cell_sums_i16(const unsigned char *from, double rail_low, double rail_high, spurity_receiver_sums *out);
int spurity_largest_i16(const unsigned char *from, size_t count); /* |x| */
/* What is not finite becomes 0; returns how many. */
size_t spurity_clear_not_finite(float *values, size_t count);

typedef enum spurity_gather {
    SPURITY_GATHER_SET,
    SPURITY_GATHER_ADD,
    SPURITY_GATHER_MAX,
    SPURITY_GATHER_MIN
} spurity_gather;
/* |x|^2 of each bin into `into`. */
void spurity_gather_power(const float *x, size_t bins, spurity_gather how, float *into);
/* Adds (or sets) it in `sum` and keeps the larger in `held`. */
void spurity_gather_both(const float *x, size_t bins, bool first, float *sum, float *held);
void spurity_fold_power(const float *from, size_t bins, spurity_gather how, double *into);

/* What became of one group. */
struct tally {
    double *power[2]; /* |X|^2, added or held */
    double *held;     /* the largest beside the sum, of the main window; NULL none */
    uint64_t transforms;
    uint64_t stretches; /* of transforms that follow on one another */
    spurity_image_sums *images;
};

/* Bins of a group that are kept, in rising frequency: from..to about the centre (real: from 0). */
struct kept {
    long from, to;
    double bin_hz, center_hz;
};

/* Of a trace segment. */
struct made {
    spurity_spectrum_part part;
    size_t group; /* of remains */
};

/* What stays of a group for later questions. */
struct remains {
    struct spurity_tone_block block; /* raw NULL: the tone was estimated at once */
    struct kept kept;
    spurity_tone tone;
    bool has_tone;
    spurity_image_sums *images; /* NULL: none */
};

/* A sharp segment waits until the others stand. */
struct pending {
    struct made made;
    spurity_segment_facts facts;
    size_t count;
    double *frequency_hz, *level_db;
};

struct spurity_spectrum {
    spurity_spectrum_facts facts;
    spurity_trace *trace, *held; /* held NULL: none */
    struct made *made;
    size_t made_count, made_room;
    struct pending *pending;
    size_t pending_count, pending_room;
    bool starved;            /* a gated group kept no transform */
    struct remains *remains; /* one a group */
    size_t remains_count, remains_room;
    struct settled settled;
};

spurity_status spurity_spectrum_run(struct source *source, const struct settled *settled, const spurity_watch *watch,
                                    spurity_spectrum *spectrum, spurity_error *error);
/* Makes trace segments of a finished group; may take over the group's block and the tally's images. */
spurity_status spurity_group_finish(const struct settled *settled, struct group *group, struct tally *tally,
                                    spurity_spectrum *spectrum, spurity_error *error);
bool spurity_group_tone(const struct settled *settled, const struct remains *remains, spurity_tone *tone);
/* The sharp segments behind the others. */
spurity_status spurity_pending_append(spurity_spectrum *spectrum, spurity_error *error);
#endif
