/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The table of readers, the choice among them, and the recording they fill. */
#include "reader.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "source.h"

/* A new format is one file and one row here. */
static const spurity_reader *const readers[] = {
    &spurity_reader_text,  &spurity_reader_block, &spurity_reader_touchstone,
    &spurity_reader_sigmf, &spurity_reader_audio, &spurity_reader_raw,
};
enum { READERS = sizeof readers / sizeof readers[0] };

void spurity_read_options_init(spurity_read_options *options)
{
    *options = (spurity_read_options){.start_hz = NAN,
                                      .stop_hz = NAN,
                                      .impedance_ohm = 50,
                                      .carrier_hz = NAN,
                                      .detector = SPURITY_DETECTOR_UNKNOWN,
                                      .center_hz = NAN,
                                      .full_scale_dbm = NAN};
}

/* ---- recording ----------------------------------------------------------------------------------- */

static spurity_recording *recording_create(void)
{
    spurity_recording *recording = calloc(1, sizeof *recording);
    if (!recording)
        return NULL;
    recording->facts.reader = "";
    recording->facts.reference_level_dbm = NAN;
    recording->facts.input_attenuation_db = NAN;
    recording->facts.external_gain_db = NAN;
    recording->facts.reference_impedance_ohm = NAN;
    recording->facts.center_hz = NAN;
    recording->facts.full_scale_dbm = NAN;
    return recording;
}

void spurity_recording_free(spurity_recording *recording)
{
    if (!recording)
        return;
    spurity_trace_free(recording->trace);
    spurity_curve_free(recording->curve);
    spurity_capture_free(recording->capture);
    free(recording->findings);
    free(recording);
}

const spurity_recording_facts *spurity_recording_facts_of(const spurity_recording *recording)
{
    return &recording->facts;
}
const spurity_trace *spurity_recording_trace(const spurity_recording *recording)
{
    return recording->trace;
}
const spurity_curve *spurity_recording_curve(const spurity_recording *recording)
{
    return recording->curve;
}
spurity_trace *spurity_recording_take_trace(spurity_recording *recording)
{
    spurity_trace *trace = recording->trace;
    recording->trace = NULL;
    return trace;
}
spurity_curve *spurity_recording_take_curve(spurity_recording *recording)
{
    spurity_curve *curve = recording->curve;
    recording->curve = NULL;
    return curve;
}
const spurity_capture *spurity_recording_capture(const spurity_recording *recording)
{
    return recording->capture;
}
spurity_capture *spurity_recording_take_capture(spurity_recording *recording)
{
    spurity_capture *capture = recording->capture;
    recording->capture = NULL;
    return capture;
}
size_t spurity_recording_finding_count(const spurity_recording *recording)
{
    return recording->finding_count;
}
const spurity_finding *spurity_recording_finding(const spurity_recording *recording, size_t index)
{
    return index < recording->finding_count ? &recording->findings[index] : NULL;
}

/** Length of the well-formed UTF-8 character at text, 0 when it is none. */
static size_t utf8_length(const unsigned char *text, size_t left)
{
    unsigned char c = text[0];
    size_t n = c < 0x80 ? 1 : c >= 0xC2 && c < 0xE0 ? 2 : (c & 0xF0) == 0xE0 ? 3 : c >= 0xF0 && c < 0xF5 ? 4 : 0;
    if (!n || n > left)
        return 0;
    for (size_t i = 1; i < n; i++)
        if ((text[i] & 0xC0) != 0x80)
            return 0;
    if ((c == 0xE0 && text[1] < 0xA0) || (c == 0xED && text[1] > 0x9F) || (c == 0xF0 && text[1] < 0x90) ||
        (c == 0xF4 && text[1] > 0x8F))
        return 0; /* overlong, a surrogate, or above U+10FFFF */
    return n;
}

void spurity_input_clean(char *into, size_t size, const char *text, size_t length)
{
    const unsigned char *from = (const unsigned char *)text;
    size_t out = 0;
    for (size_t i = 0; i < length;) {
        size_t n = utf8_length(from + i, length - i);
        bool c1 = n == 2 && from[i] == 0xC2 && from[i + 1] < 0xA0;
        if (out + (n ? n : 1) >= size)
            break;
        if (!n)
            into[out++] = '?';
        else if (c1 || (n == 1 && (from[i] < 0x20 || from[i] == 0x7F)))
            into[out++] = ' ';
        else
            for (size_t k = 0; k < n; k++)
                into[out++] = (char)from[i + k];
        i += n ? n : 1;
    }
    into[out] = 0;
}

void spurity_input_found(spurity_recording *recording, const char *what, const char *understood, const char *option,
                         unsigned long line, bool assumed, const char *why_format, ...)
{
    if (recording->finding_count >= SPURITY_FINDINGS_MAX)
        return;
    spurity_finding *findings =
        spurity_grow(recording->findings, recording->finding_count, &recording->finding_room, sizeof *findings);
    if (!findings) {
        recording->finding_lost = true;
        return;
    }
    recording->findings = findings;
    spurity_finding *finding = &recording->findings[recording->finding_count++];
    *finding = (spurity_finding){.line = line, .assumed = assumed};
    char why[400];
    va_list arguments;
    va_start(arguments, why_format);
    vsnprintf(why, sizeof why, why_format, arguments);
    va_end(arguments);
    spurity_input_clean(finding->what, sizeof finding->what, what, strlen(what));
    spurity_input_clean(finding->understood, sizeof finding->understood, understood, strlen(understood));
    spurity_input_clean(finding->option, sizeof finding->option, option, strlen(option));
    spurity_input_clean(finding->why, sizeof finding->why, why, strlen(why));
}

spurity_place spurity_input_at(const spurity_input *input, unsigned long line, unsigned long column)
{
    return (spurity_place){.file = input->name, .line = line, .column = column};
}
spurity_place spurity_input_at_byte(const spurity_input *input, uint64_t byte)
{
    return (spurity_place){.file = input->name, .byte = byte, .has_byte = true};
}

/* ---- choice ---------------------------------------------------------------------------------------- */

static spurity_status report_unreadable(const spurity_input *input, spurity_error *error)
{
    static const char known[] = "a sweep as text, a block of levels, a two-port, or a capture of samples";
    static const char way[] = "export a sweep as text; for samples without a header say --rate and --datatype";
    const unsigned char *nul = memchr(input->head, 0, input->head_size);
    if (input->head[0] == '{')
        return spurity_report(error, SPURITY_UNSUPPORTED, spurity_input_at(input, 1, 1), "a JSON object", known, NULL);
    if (nul)
        return spurity_reportf(error, SPURITY_UNSUPPORTED, spurity_input_at_byte(input, (uint64_t)(nul - input->head)),
                               known, way, "a NUL byte, so this is no text");
    return spurity_report(error, SPURITY_UNSUPPORTED, spurity_input_at(input, 0, 0), "nothing that a reader here knows",
                          known, way);
}

static spurity_status choose(const spurity_input *input, const spurity_reader **chosen, spurity_error *error)
{
    int best = 0;
    const spurity_reader *rival = NULL;
    *chosen = NULL;
    for (size_t i = 0; i < READERS; i++) {
        int claim = readers[i]->probe(input);
        if (claim > best) {
            best = claim;
            *chosen = readers[i];
            rival = NULL;
        } else if (claim == best && claim > 0) {
            rival = readers[i];
        }
    }
    if (!*chosen)
        return report_unreadable(input, error);
    if (rival)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "content of one kind only",
                               "save it in another form", "content that reads as %s and as %s alike", (*chosen)->title,
                               rival->title);
    return SPURITY_OK;
}

static spurity_status read_source(spurity_input_source *source, spurity_input *input, spurity_recording **recording,
                                  spurity_error *error)
{
    spurity_status status = spurity_source_open_head(source, input, error);
    if (status)
        return status;
    const spurity_reader *reader = NULL;
    if ((status = choose(input, &reader, error)))
        return status;
    spurity_recording *made = recording_create();
    if (!made)
        return spurity_report_memory(error);
    made->facts.reader = reader->name;
    const char *as = input->purpose == SPURITY_READ_LOSS ? "read as a loss table"
                     : reader->captures                  ? "read as a capture of samples"
                                                         : "read as a sweep";
    spurity_input_found(made, "reader", reader->title, "", 0, false, "%s", as);
    if (reader->captures && input->purpose == SPURITY_READ_LOSS)
        status = spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "a capture of samples",
                                "a loss table or a two-port", "name a capture among the sweeps, not with --loss");
    else
        status = reader->read(input, made, error);
    if (!status && !made->capture) /* a capture goes on reading its file, and has told of it */
        status = spurity_source_finish(source, input, &made->facts, error);
    if (!status && (made->finding_lost || spurity_notes_lost(input->notes))) /* it would tell less than there is */
        status = spurity_report_memory(error);
    if (status) {
        spurity_recording_free(made);
        return status;
    }
    *recording = made;
    return SPURITY_OK;
}

static spurity_input input_of(const char *name, const char *path, const spurity_read_options *options,
                              spurity_purpose purpose, int file, spurity_notes *notes, const spurity_watch *watch,
                              spurity_input_source *source)
{
    return (spurity_input){.name = name,
                           .path = path,
                           .options = options,
                           .purpose = purpose,
                           .file = file,
                           .notes = notes,
                           .watch = watch,
                           .source = source};
}

spurity_status spurity_input_read(const char *path, const spurity_read_options *options, spurity_purpose purpose,
                                  int file, spurity_notes *notes, const spurity_watch *watch,
                                  spurity_recording **recording, spurity_error *error)
{
    *recording = NULL;
    spurity_read_options defaults;
    spurity_read_options_init(&defaults);
    spurity_input_source *source = NULL;
    spurity_status status = spurity_source_from_path(path, &source, error);
    if (status)
        return status;
    const char *name = strcmp(path, "-") ? path : "standard input";
    spurity_input input = input_of(name, path, options ? options : &defaults, purpose, file, notes, watch, source);
    status = read_source(source, &input, recording, error);
    spurity_source_close(source);
    return status;
}

spurity_status spurity_input_read_memory(const char *name, const void *bytes, size_t size,
                                         const spurity_read_options *options, spurity_purpose purpose, int file,
                                         spurity_notes *notes, const spurity_watch *watch,
                                         spurity_recording **recording, spurity_error *error)
{
    *recording = NULL;
    spurity_read_options defaults;
    spurity_read_options_init(&defaults);
    spurity_input_source *source = NULL;
    spurity_status status = spurity_source_from_memory(bytes, size, &source, error);
    if (status)
        return status;
    spurity_input input =
        input_of(name ? name : "memory", NULL, options ? options : &defaults, purpose, file, notes, watch, source);
    status = read_source(source, &input, recording, error);
    spurity_source_close(source);
    return status;
}
