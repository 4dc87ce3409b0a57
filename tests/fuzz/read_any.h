/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_FUZZ_READ_ANY_H
#define SPURITY_FUZZ_READ_ANY_H
/* Any bytes as a file: refused with a sentence, or read; what is read keeps the promises of its type. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "input/input.h"

static inline void need(bool holds)
{
    if (!holds)
        abort();
}

static inline void check_trace(const spurity_trace *trace)
{
    spurity_segment segment;
    size_t points = 0;
    need(spurity_trace_segment_count(trace) > 0);
    for (size_t i = 0; spurity_trace_segment(trace, i, &segment); i++) {
        need(segment.count > 0);
        points += segment.count;
        for (size_t k = 0; k < segment.count; k++) {
            need(isfinite(segment.frequency_hz[k]) && isfinite(segment.level_db[k]));
            need(!k || segment.frequency_hz[k] > segment.frequency_hz[k - 1]);
        }
    }
    need(points == spurity_trace_points(trace));
}

/** Reads it to its end, jumps about, and converts: nothing beyond what was asked is touched. */
static inline void check_capture(const spurity_recording *recording, spurity_capture *capture)
{
    enum { BLOCK = 1000, BLOCKS_MOST = 300 };
    const spurity_capture_facts *facts = spurity_capture_facts_of(capture);
    const size_t bytes = spurity_sample_format_bytes(facts->format);
    unsigned char *packed = malloc(BLOCK * bytes);
    float *values = malloc(BLOCK * 2 * sizeof *values);
    spurity_error error = {0};
    uint64_t total = 0;
    size_t got = 1;
    need(packed && values && facts->rate_hz > 0 && isfinite(facts->rate_hz) && facts->segment_count > 0);
    need(facts->segment_count == spurity_recording_facts_of(recording)->capture_segments);
    for (size_t i = 0; i < facts->segment_count; i++)
        need(i ? facts->segments[i].first > facts->segments[i - 1].first : !facts->segments[i].first);
    for (int block = 0; got && block < BLOCKS_MOST; block++) {
        if (spurity_capture_read(capture, packed, BLOCK, &got, &error))
            break;
        need(got <= BLOCK);
        spurity_sample_convert(facts->format, packed, got, values);
        total += got;
    }
    need(!facts->samples || total <= facts->samples);
    if (spurity_capture_can_seek(capture) && !spurity_capture_seek(capture, total / 2, &error))
        (void)spurity_capture_read(capture, packed, BLOCK, &got, &error);
    free(values);
    free(packed);
}

static inline void check_findings(const spurity_recording *recording)
{
    for (size_t i = 0; i < spurity_recording_finding_count(recording); i++) {
        const spurity_finding *finding = spurity_recording_finding(recording, i);
        need(memchr(finding->what, 0, sizeof finding->what) && memchr(finding->why, 0, sizeof finding->why));
        for (const char *p = finding->understood; *p; p++)
            need((unsigned char)*p >= 0x20);
    }
}

static inline void read_any(const char *name, const uint8_t *data, size_t size, const spurity_read_options *options,
                            spurity_purpose purpose)
{
    spurity_error error = {0};
    spurity_recording *recording = NULL;
    spurity_notes *notes = spurity_notes_create();
    spurity_status status =
        spurity_input_read_memory(name, data, size, options, purpose, 0, notes, NULL, &recording, &error);
    char text[900];
    spurity_error_describe(&error, text, sizeof text);
    need(!status == !!recording && status == error.status);
    if (recording) {
        check_findings(recording);
        spurity_capture *capture = spurity_recording_take_capture(recording);
        need((purpose == SPURITY_READ_TRACE) == (capture || spurity_recording_trace(recording)));
        need(!capture || !spurity_recording_trace(recording));
        if (capture)
            check_capture(recording, capture);
        spurity_capture_free(capture);
        need((purpose == SPURITY_READ_LOSS) == (spurity_recording_curve(recording) != NULL));
        if (spurity_recording_trace(recording))
            check_trace(spurity_recording_trace(recording));
    } else {
        need(error.found[0]);
    }
    spurity_recording_free(recording);
    spurity_notes_free(notes);
}
#endif
