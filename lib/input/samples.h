/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_SAMPLES_H
#define SPURITY_INPUT_SAMPLES_H
/* From what a reader understood of a capture to the capture: the user's word over the file's, findings, the stream. */
#include "bytes.h"

/** A run of frames that stand together. */
struct spurity_piece {
    uint64_t offset; /* bytes into the data */
    uint64_t first;  /* sample of the stream */
    uint64_t samples;
};

/** What a file says of its samples.  Start with spurity_layout_init. */
struct spurity_layout {
    spurity_sample_format format; /* of the stream; `swapped` is set from the options */
    double rate_hz;               /* 0 = not told */
    double usable_hz;             /* NaN = not told */
    double full_scale_dbm;        /* the recording's own; NaN = not told */
    int channels, channel;        /* channel from 0 */
    struct spurity_piece *pieces; /* one at least, but for a pipe; owned */
    size_t piece_count;
    spurity_capture_segment *segments; /* owned; NULL: one without a centre */
    size_t segment_count;
    const char *center_says, *rate_says, *full_scale_says; /* where a file tells it: "'captures[0].core:frequency'" */
};
void spurity_layout_init(struct spurity_layout *plan);
void spurity_layout_free(struct spurity_layout *plan);
/** One piece from `offset` on to the end of the data; a rest that is no whole frame is left out with a note.  INVALID
 * when there is no frame. */
spurity_status spurity_layout_whole(spurity_input *input, struct spurity_layout *plan,
                                    const struct spurity_bytes *bytes, uint64_t offset, spurity_error *error);
size_t spurity_layout_frame_bytes(const struct spurity_layout *plan);

/** Lets --channel choose; a file with several is refused where nothing chooses. */
spurity_status spurity_layout_channel(spurity_input *input, struct spurity_layout *plan, const char *two_real,
                                      spurity_recording *recording, spurity_error *error);
/** Lets --datatype, --rate, --center, --full-scale, --swapped override; every fact becomes a finding. */
spurity_status spurity_layout_settle(spurity_input *input, struct spurity_layout *plan, spurity_recording *recording,
                                     spurity_error *error);

/** Makes the recording's capture over bytes, which it takes over at success; fills digest and facts. */
spurity_status spurity_layout_open(spurity_input *input, const struct spurity_layout *plan, struct spurity_bytes *bytes,
                                   spurity_recording *recording, spurity_error *error);
/** As spurity_layout_open, over a stream of the reader's own, without digest; user is closed by the caller on failure.
 */
spurity_status spurity_layout_stream(spurity_input *input, const struct spurity_layout *plan,
                                     const spurity_capture_stream *stream, double rail_low, double rail_high,
                                     uint64_t samples, spurity_recording *recording, spurity_error *error);

/** Nearly all printable, with a digit: a sweep, whatever --rate and --datatype say of other files.  Samples this tame
 * do not occur: even weak noise about a middle of 127.5 has many bytes of 127 and more. */
bool spurity_input_is_plain_text(const spurity_input *input);
#endif
