/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "samples.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HASH_MOST = 64 << 20, SCRATCH = 1 << 18, SEGMENTS_TOLD = 8, PROBE_TEXT = 4096 };

bool spurity_input_is_plain_text(const spurity_input *input)
{
    const size_t seen = input->head_size < PROBE_TEXT ? input->head_size : PROBE_TEXT;
    const bool wide = seen >= 2 && (!memcmp(input->head, "\xFF\xFE", 2) || !memcmp(input->head, "\xFE\xFF", 2));
    size_t high = 0, nul = 0, digits = 0;
    for (size_t i = 0; i < seen; i++) {
        const unsigned char c = input->head[i];
        if (c == 0x7F || (c && c < 0x20 && (c < 9 || c > 13)))
            return false;
        high += c > 0x7F;
        nul += !c;
        digits += c >= '0' && c <= '9';
    }
    return digits && high * 10 < seen && (wide ? nul * 10 >= seen * 4 : !nul);
}

void spurity_layout_init(struct spurity_layout *plan)
{
    *plan = (struct spurity_layout){.usable_hz = NAN, .full_scale_dbm = NAN, .channels = 1};
}

void spurity_layout_free(struct spurity_layout *plan)
{
    free(plan->pieces);
    free(plan->segments);
    plan->pieces = NULL;
    plan->segments = NULL;
}

size_t spurity_layout_frame_bytes(const struct spurity_layout *plan)
{
    return spurity_sample_format_bytes(plan->format) * (size_t)plan->channels;
}

void spurity_input_contradiction(const spurity_input *input, const char *format, ...)
{
    char text[300];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    spurity_notes_add(input->notes, SPURITY_NOTE_DUPLICATE_METADATA, input->file, "%s", text);
}

spurity_status spurity_layout_whole(spurity_input *input, struct spurity_layout *plan,
                                    const struct spurity_bytes *bytes, uint64_t offset, spurity_error *error)
{
    const size_t frame = spurity_layout_frame_bytes(plan);
    const uint64_t left = offset < bytes->size ? bytes->size - offset : 0;
    if (left < frame)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = bytes->name}, "samples",
                               offset ? "say a smaller number of bytes to skip" : NULL,
                               "%llu bytes of samples, less than one sample of %zu", (unsigned long long)left, frame);
    if (left % frame)
        spurity_notes_add(input->notes, SPURITY_NOTE_FILE_SHORTER, input->file,
                          "'%s': the last %llu bytes are no whole sample of %zu bytes and are left out", bytes->name,
                          (unsigned long long)(left % frame), frame);
    plan->pieces = calloc(1, sizeof *plan->pieces);
    if (!plan->pieces)
        return spurity_report_memory(error);
    plan->pieces[0] = (struct spurity_piece){.offset = offset, .samples = left / frame};
    plan->piece_count = 1;
    return SPURITY_OK;
}

/* ---- the user's word ---------------------------------------------------------------------------------------- */

spurity_status spurity_layout_channel(spurity_input *input, struct spurity_layout *plan, const char *two_real,
                                      spurity_recording *recording, spurity_error *error)
{
    const int said = input->options->channel;
    char which[40];
    if (said > plan->channels || said < 0)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "a channel of the file", NULL,
                               "channel %d asked for, and %d in the file", said, plan->channels);
    if (!said && plan->channels > 1 && plan->channels == 2 && !plan->format.is_complex)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0),
                              "two channels of real samples, which are not I and Q", "one channel", two_real);
    if (!said && plan->channels > 1)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "one channel",
                               "say which, such as --channel 1", "%d channels", plan->channels);
    plan->channel = said ? said - 1 : 0;
    recording->facts.channels = plan->channels;
    recording->facts.channel = plan->channel + 1;
    snprintf(which, sizeof which, "%d of %d", plan->channel + 1, plan->channels);
    if (plan->channels > 1)
        spurity_input_found(recording, "channel", which, "--channel", 0, false, "said by --channel");
    return SPURITY_OK;
}

static spurity_status settle_rate(spurity_input *input, struct spurity_layout *plan, spurity_recording *recording,
                                  spurity_error *error)
{
    const double said = input->options->rate_hz, told = plan->rate_hz;
    char text[60];
    if (!(said > 0) && !(told > 0))
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "no sample rate",
                              "samples per second", "say it, such as --rate 2.4M");
    plan->rate_hz = said > 0 ? said : told;
    snprintf(text, sizeof text, "%.12g samples/s", plan->rate_hz);
    if (!(said > 0)) {
        spurity_input_found(recording, "sample rate", text, "--rate", 0, false, "by %s", plan->rate_says);
        return SPURITY_OK;
    }
    if (told > 0 && fabs(said - told) > 1e-12 * told) {
        spurity_input_found(recording, "sample rate", text, "--rate", 0, false,
                            "said by --rate, though the file says %.12g", told);
        spurity_input_contradiction(input, "'%s': --rate says %.12g samples/s, the file %.12g; --rate is taken",
                                    input->name, said, told);
    } else {
        spurity_input_found(recording, "sample rate", text, "--rate", 0, false, "said by --rate");
    }
    return SPURITY_OK;
}

static spurity_status need_segment(struct spurity_layout *plan, spurity_error *error)
{
    if (plan->segments)
        return SPURITY_OK;
    plan->segments = calloc(1, sizeof *plan->segments);
    if (!plan->segments)
        return spurity_report_memory(error);
    plan->segment_count = 1;
    plan->segments[0].center_hz = NAN;
    return SPURITY_OK;
}

static void override_centre(spurity_input *input, struct spurity_layout *plan)
{
    const double said = input->options->center_hz;
    bool told = false;
    for (size_t i = 0; i < plan->segment_count; i++) {
        const double was = plan->segments[i].center_hz;
        if (!told && isfinite(was) && fabs(was - said) > 1e-12 * fabs(was) + 1e-9) {
            spurity_input_contradiction(input, "'%s': --center says %.12g Hz, the file %.12g Hz; --center is taken",
                                        input->name, said, was);
            told = true;
        }
        plan->segments[i].center_hz = said;
    }
}

/** One finding for each segment, up to a few. */
static void tell_centres(const struct spurity_layout *plan, spurity_recording *recording, bool said)
{
    char text[60], what[40];
    for (size_t i = 0; i < plan->segment_count && i < SEGMENTS_TOLD; i++) {
        const spurity_capture_segment *segment = &plan->segments[i];
        if (plan->segment_count > 1)
            snprintf(what, sizeof what, "centre of segment %zu", i + 1);
        else
            snprintf(what, sizeof what, "centre");
        if (isnan(segment->center_hz))
            spurity_input_found(recording, what, "not told", "--center", 0, true,
                                "frequencies count from the receiver's, wherever it was");
        else if (said)
            spurity_input_found(recording, what, spurity_format_frequency(text, sizeof text, segment->center_hz, 6),
                                "--center", 0, false, "said by --center");
        else
            spurity_input_found(recording, what, spurity_format_frequency(text, sizeof text, segment->center_hz, 6),
                                "--center", 0, false, "by %s, from sample %llu",
                                plan->center_says ? plan->center_says : "the file", (unsigned long long)segment->first);
    }
    if (plan->segment_count > SEGMENTS_TOLD) {
        snprintf(text, sizeof text, "%zu", plan->segment_count);
        spurity_input_found(recording, "segments", text, "", 0, false, "further ones are not listed");
    }
}

static spurity_status settle_centre(spurity_input *input, struct spurity_layout *plan, spurity_recording *recording,
                                    spurity_error *error)
{
    spurity_status status = need_segment(plan, error);
    if (status)
        return status;
    const bool said = isfinite(input->options->center_hz);
    bool from_zero = false;
    if (said)
        override_centre(input, plan);
    for (size_t i = 0; i < plan->segment_count; i++)
        if (!plan->format.is_complex && isnan(plan->segments[i].center_hz)) {
            plan->segments[i].center_hz = 0;
            from_zero = true;
        }
    if (from_zero)
        spurity_input_found(recording, "centre", "0 Hz", "--center", 0, true,
                            "real samples, and no tuned frequency is told");
    else
        tell_centres(plan, recording, said);
    return SPURITY_OK;
}

static void settle_scale(spurity_input *input, struct spurity_layout *plan, spurity_recording *recording)
{
    const double said = input->options->full_scale_dbm, told = plan->full_scale_dbm;
    char text[60];
    plan->full_scale_dbm = recording->facts.full_scale_dbm = isnan(said) ? told : said;
    if (isnan(said) && isfinite(told)) {
        snprintf(text, sizeof text, "%.6g dBm", told);
        spurity_input_found(recording, "full scale", text, "--full-scale", 0, false, "by %s", plan->full_scale_says);
        return;
    }
    if (isfinite(told) && said != told)
        spurity_input_contradiction(input, "'%s': --full-scale says %.6g dBm, %s %.6g dBm; --full-scale is taken",
                                    input->name, said, plan->full_scale_says, told);
    if (isnan(said)) {
        spurity_input_found(recording, "full scale", "not told", "--full-scale", 0, true, "levels are dBFS");
        return;
    }
    snprintf(text, sizeof text, "%.6g dBm", said);
    spurity_input_found(recording, "full scale", text, "--full-scale", 0, false, "said by --full-scale");
}

spurity_status spurity_layout_settle(spurity_input *input, struct spurity_layout *plan, spurity_recording *recording,
                                     spurity_error *error)
{
    char name[8];
    recording->facts.datatype = plan->format;
    spurity_status status = settle_rate(input, plan, recording, error);
    if (!status)
        status = settle_centre(input, plan, recording, error);
    if (status)
        return status;
    settle_scale(input, plan, recording);
    if (input->options->swapped && !plan->format.is_complex)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "complex samples",
                               "leave --swapped out", "real samples (%s), of which I and Q cannot be swapped",
                               spurity_sample_format_name(plan->format, name, sizeof name));
    plan->format.swapped = input->options->swapped;
    if (plan->format.swapped)
        spurity_input_found(recording, "order of I and Q", "Q first", "--swapped", 0, false, "said by --swapped");
    if (isfinite(plan->usable_hz)) {
        char text[60];
        spurity_input_found(recording, "usable band", spurity_format_frequency(text, sizeof text, plan->usable_hz, 6),
                            "", 0, false, "the recording tells how much its filter passes");
    }
    return SPURITY_OK;
}

/* ---- stream --------------------------------------------------------------------------------------------------- */

struct stream {
    struct spurity_bytes bytes;
    struct spurity_piece *pieces; /* NULL: a pipe */
    size_t piece_count, piece;
    uint64_t within; /* frames of the piece that were read */
    size_t sample_bytes, frame_bytes, channel_at;
    unsigned char *scratch; /* of frames, where a frame is more than the sample */
};

static void stream_while_waiting(void *user, bool (*go_on)(void *context), void *context)
{
    struct stream *stream = user;
    stream->bytes.go_on = go_on;
    stream->bytes.context = context;
}

static void stream_close(void *user)
{
    struct stream *stream = user;
    spurity_bytes_close(&stream->bytes);
    free(stream->pieces);
    free(stream->scratch);
    free(stream);
}

/** The next n frames' bytes at most; *got counts whole frames. */
static spurity_status next_frames(struct stream *stream, void *into, size_t n, size_t *got, spurity_error *error)
{
    size_t bytes = 0;
    *got = 0;
    if (!stream->pieces) {
        spurity_status status = spurity_bytes_next(&stream->bytes, into, n * stream->frame_bytes, &bytes, error);
        *got = bytes / stream->frame_bytes;
        return status;
    }
    while (stream->piece < stream->piece_count && stream->within >= stream->pieces[stream->piece].samples) {
        stream->piece++;
        stream->within = 0;
    }
    if (stream->piece >= stream->piece_count)
        return SPURITY_OK;
    const struct spurity_piece *piece = &stream->pieces[stream->piece];
    const uint64_t left = piece->samples - stream->within;
    if (n > left)
        n = (size_t)left;
    spurity_status status = spurity_bytes_at(&stream->bytes, piece->offset + stream->within * stream->frame_bytes, into,
                                             n * stream->frame_bytes, &bytes, error);
    *got = bytes / stream->frame_bytes;
    stream->within += *got;
    return status;
}

static spurity_status stream_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    struct stream *stream = user;
    if (samples > SIZE_MAX / stream->frame_bytes)
        samples = SIZE_MAX / stream->frame_bytes;
    if (!stream->scratch)
        return next_frames(stream, into, samples, got, error);
    const size_t room = SCRATCH / stream->frame_bytes;
    spurity_status status = next_frames(stream, stream->scratch, samples < room ? samples : room, got, error);
    for (size_t i = 0; i < *got; i++)
        memcpy((unsigned char *)into + i * stream->sample_bytes,
               stream->scratch + i * stream->frame_bytes + stream->channel_at, stream->sample_bytes);
    return status;
}

static spurity_status stream_seek(void *user, uint64_t sample, spurity_error *error)
{
    (void)error;
    struct stream *stream = user;
    size_t low = 0, high = stream->piece_count; /* the last piece that begins at or before sample */
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (stream->pieces[middle].first <= sample)
            low = middle;
        else
            high = middle;
    }
    stream->piece = low;
    stream->within = sample - stream->pieces[low].first;
    return SPURITY_OK;
}

/** NULL when memory is out; bytes are copied, and taken over only by who gives its own up. */
static struct stream *open_stream(const struct spurity_layout *plan, const struct spurity_bytes *bytes)
{
    struct stream *made = calloc(1, sizeof *made);
    if (!made)
        return NULL;
    made->bytes = (struct spurity_bytes){.fd = -1};
    made->sample_bytes = spurity_sample_format_bytes(plan->format);
    made->frame_bytes = spurity_layout_frame_bytes(plan);
    made->channel_at = made->sample_bytes * (size_t)plan->channel;
    made->piece_count = bytes->pipe ? 0 : plan->piece_count;
    if (made->piece_count) {
        made->pieces = calloc(made->piece_count, sizeof *made->pieces);
        if (made->pieces)
            memcpy(made->pieces, plan->pieces, made->piece_count * sizeof *made->pieces);
    }
    if (plan->channels > 1)
        made->scratch = malloc(SCRATCH);
    if ((made->piece_count && !made->pieces) || (plan->channels > 1 && !made->scratch)) {
        stream_close(made);
        return NULL;
    }
    made->bytes = *bytes;
    stream_while_waiting(made, NULL, NULL); /* the watch was borrowed for the call */
    return made;
}

static void tell_samples(const struct spurity_layout *plan, uint64_t samples, spurity_recording *recording)
{
    char text[80];
    if (samples)
        snprintf(text, sizeof text, "%llu", (unsigned long long)samples);
    else
        snprintf(text, sizeof text, "to the end of the stream");
    if (samples)
        spurity_input_found(recording, "samples", text, "", 0, false, "%.6g s", (double)samples / plan->rate_hz);
    else
        spurity_input_found(recording, "samples", text, "--seconds", 0, false, "a stream does not tell its length");
}

spurity_status spurity_layout_stream(spurity_input *input, const struct spurity_layout *plan,
                                     const spurity_capture_stream *stream, double rail_low, double rail_high,
                                     uint64_t samples, spurity_recording *recording, spurity_error *error)
{
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.format = plan->format;
    facts.rate_hz = plan->rate_hz;
    facts.full_scale_dbm = plan->full_scale_dbm;
    facts.usable_hz = plan->usable_hz;
    facts.rail_low = rail_low;
    facts.rail_high = rail_high;
    facts.samples = samples;
    facts.segments = plan->segments;
    facts.segment_count = plan->segment_count;
    tell_samples(plan, samples, recording);
    recording->facts.rate_hz = plan->rate_hz;
    recording->facts.center_hz = plan->segments[0].center_hz;
    recording->facts.samples = samples;
    recording->facts.capture_segments = plan->segment_count;
    recording->facts.channels = plan->channels;
    recording->facts.channel = plan->channel + 1;
    return spurity_capture_create(&facts, stream, &recording->capture, error);
}

spurity_status spurity_layout_open(spurity_input *input, const struct spurity_layout *plan, struct spurity_bytes *bytes,
                                   spurity_recording *recording, spurity_error *error)
{
    uint64_t samples = 0;
    double low, high;
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < plan->piece_count; i++)
        samples += plan->pieces[i].samples;
    recording->facts.bytes = bytes->size;
    if (!bytes->pipe && !*recording->facts.sha256 && (bytes->size <= HASH_MOST || input->options->hash))
        status = spurity_bytes_hash(bytes, recording->facts.sha256, NULL, input->watch, error);
    if (status)
        return status;
    struct stream *stream = open_stream(plan, bytes);
    if (!stream)
        return spurity_report_memory(error);
    spurity_capture_rails(plan->format.component, &low, &high);
    const spurity_capture_stream calls = {.read = stream_read,
                                          .seek = bytes->pipe ? NULL : stream_seek,
                                          .close = stream_close,
                                          .user = stream,
                                          .while_waiting = bytes->pipe ? stream_while_waiting : NULL};
    status = spurity_layout_stream(input, plan, &calls, low, high, samples, recording, error);
    if (status)
        stream->bytes = (struct spurity_bytes){.fd = -1}; /* still the caller's */
    if (status)
        stream_close(stream);
    else
        *bytes = (struct spurity_bytes){.fd = -1};
    return status;
}
