/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "capture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct spurity_capture {
    spurity_capture_facts facts;
    spurity_capture_segment *segments; /* facts.segments */
    spurity_capture_stream stream;
    uint64_t at;
};

/* A stream over memory. */
struct memory {
    const unsigned char *bytes;
    size_t samples, at, sample_bytes;
};

void spurity_capture_facts_init(spurity_capture_facts *facts)
{
    *facts = (spurity_capture_facts){.format = {.component = SPURITY_COMPONENT_I16, .is_complex = true},
                                     .full_scale_dbm = NAN,
                                     .usable_hz = NAN,
                                     .rail_low = NAN,
                                     .rail_high = NAN};
}

static spurity_status check(const spurity_capture_facts *facts, spurity_error *error)
{
    if (!(facts->rate_hz > 0) || !isfinite(facts->rate_hz))
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "samples per second above 0", "say --rate",
                               "a sample rate of %g", facts->rate_hz);
    if (!facts->segment_count || !facts->segments || facts->segments[0].first)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "no segment that begins at sample 0",
                              "a capture whose first segment begins at sample 0", NULL);
    for (size_t i = 1; i < facts->segment_count; i++)
        if (facts->segments[i].first <= facts->segments[i - 1].first)
            return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "segments in rising order", NULL,
                                   "segment %zu at sample %llu, not behind the one before it", i,
                                   (unsigned long long)facts->segments[i].first);
    return SPURITY_OK;
}

spurity_status spurity_capture_create(const spurity_capture_facts *facts, const spurity_capture_stream *stream,
                                      spurity_capture **capture, spurity_error *error)
{
    *capture = NULL;
    spurity_status status = check(facts, error);
    if (status)
        return status;
    spurity_capture *made = calloc(1, sizeof *made);
    spurity_capture_segment *segments = calloc(facts->segment_count, sizeof *segments);
    if (!made || !segments) {
        free(made);
        free(segments);
        return spurity_report_memory(error);
    }
    memcpy(segments, facts->segments, facts->segment_count * sizeof *segments);
    made->facts = *facts;
    made->facts.segments = made->segments = segments;
    made->stream = *stream;
    *capture = made;
    return SPURITY_OK;
}

static spurity_status memory_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    (void)error;
    struct memory *memory = user;
    const size_t left = memory->samples - memory->at;
    *got = samples < left ? samples : left;
    if (*got)
        memcpy(into, memory->bytes + memory->at * memory->sample_bytes, *got * memory->sample_bytes);
    memory->at += *got;
    return SPURITY_OK;
}

static spurity_status memory_seek(void *user, uint64_t sample, spurity_error *error)
{
    (void)error;
    struct memory *memory = user;
    memory->at = sample < memory->samples ? (size_t)sample : memory->samples;
    return SPURITY_OK;
}

spurity_status spurity_capture_from_memory(const spurity_capture_facts *facts, const void *bytes, size_t size,
                                           spurity_capture **capture, spurity_error *error)
{
    static const spurity_capture_segment whole = {.center_hz = NAN};
    *capture = NULL;
    struct memory *memory = calloc(1, sizeof *memory);
    if (!memory)
        return spurity_report_memory(error);
    memory->bytes = bytes;
    memory->sample_bytes = spurity_sample_format_bytes(facts->format);
    memory->samples = size / memory->sample_bytes;
    spurity_capture_facts known = *facts;
    known.samples = memory->samples;
    if (!known.segment_count) {
        known.segments = &whole;
        known.segment_count = 1;
    }
    const spurity_capture_stream stream = {.read = memory_read, .seek = memory_seek, .close = free, .user = memory};
    spurity_status status = spurity_capture_create(&known, &stream, capture, error);
    if (status)
        free(memory);
    return status;
}

void spurity_capture_free(spurity_capture *capture)
{
    if (!capture)
        return;
    if (capture->stream.close)
        capture->stream.close(capture->stream.user);
    free(capture->segments);
    free(capture);
}

const spurity_capture_facts *spurity_capture_facts_of(const spurity_capture *capture)
{
    return &capture->facts;
}

spurity_status spurity_capture_read(spurity_capture *capture, void *into, size_t samples, size_t *got,
                                    spurity_error *error)
{
    const size_t bytes = spurity_sample_format_bytes(capture->facts.format);
    *got = 0;
    while (*got < samples) {
        size_t more = 0;
        spurity_status status = capture->stream.read(capture->stream.user, (unsigned char *)into + *got * bytes,
                                                     samples - *got, &more, error);
        if (status)
            return status;
        if (!more)
            break;
        *got += more;
        capture->at += more;
    }
    return SPURITY_OK;
}

void spurity_capture_while_waiting(spurity_capture *capture, bool (*go_on)(void *context), void *context)
{
    if (capture->stream.while_waiting)
        capture->stream.while_waiting(capture->stream.user, go_on, context);
}

bool spurity_capture_can_seek(const spurity_capture *capture)
{
    return capture->stream.seek;
}

spurity_status spurity_capture_seek(spurity_capture *capture, uint64_t sample, spurity_error *error)
{
    if (!capture->stream.seek)
        return spurity_report(error, SPURITY_UNSUPPORTED, (spurity_place){0}, "a stream that cannot go back",
                              "a capture in a file", "save it to a file first");
    spurity_status status = capture->stream.seek(capture->stream.user, sample, error);
    if (!status)
        capture->at = sample;
    return status;
}

uint64_t spurity_capture_at(const spurity_capture *capture)
{
    return capture->at;
}
