/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <string.h>

#include "parts.h"

bool spurity_measurement_is_keyed(const spurity_measurement *m, int file)
{
    return m->point->sources[file].role == SPURITY_ROLE_TRANSMITTER;
}

static bool is_stated(const spurity_source *source)
{
    return source->chain && spurity_chain_kind_of(source->chain) != SPURITY_CHAIN_UNSTATED;
}

/* A capture of known full scale reads dBm whatever scale was named for it. */
const char *spurity_measurement_scale(const spurity_measurement *m, int file)
{
    const spurity_source *source = &m->point->sources[file];
    if (m->sources[file].spectrum)
        return spurity_trace_scale(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)));
    return source->scale ? source->scale : "";
}

/* One group: dBm through one and the same chain; or a named scale (levels stand at the terminal, so other pads are no
 * other scale, but a chain that is not known is).  An unstated chain without a name is alone: two files behind unknown
 * chains have nothing in common. */
static int scale_group(const spurity_measurement *m, size_t index)
{
    const spurity_source *source = &m->point->sources[index];
    const char *scale = spurity_measurement_scale(m, (int)index);
    bool stated = is_stated(source);
    for (size_t i = 0; i < index; i++) {
        const spurity_source *other = &m->point->sources[i];
        const char *other_scale = spurity_measurement_scale(m, (int)i);
        if (*scale && !strcmp(scale, other_scale) && stated == is_stated(other))
            return m->sources[i].scale_group;
        if (!*scale && !*other_scale && stated && source->chain == other->chain)
            return m->sources[i].scale_group;
    }
    return (int)index;
}

const char *spurity_measurement_unit(const spurity_measurement *m, int file)
{
    return spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[file].survey)) ? "dBm" : "dB";
}

bool spurity_measurement_same_scale(const spurity_measurement *m, int a, int b)
{
    if (m->sources[a].scale_group == m->sources[b].scale_group)
        return true;
    return spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[a].survey)) &&
           spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[b].survey));
}

static void note_chain(spurity_measurement *m, size_t index)
{
    const char *named = m->point->sources[index].scale;
    bool on_named = named && !strcmp(named, spurity_measurement_scale(m, (int)index));
    if (is_stated(&m->point->sources[index]) || (on_named && *named))
        return;
    spurity_notes_add(
        m->notes, SPURITY_NOTE_CHAIN_UNSTATED, (int)index,
        "nobody said what stood between the set and the instrument: levels in dBm come only from --power; say "
        "--pad, --loss, --direct or --corrected");
}

static spurity_trace *take_sweep(const spurity_source *source, spurity_recording *recording)
{
    spurity_trace *trace = spurity_recording_take_trace(recording);
    if (source->scale && *source->scale)
        spurity_trace_set_scale(trace, source->scale);
    return trace;
}

/* Reads one source and surveys it at the antenna terminal. */
static spurity_status read_file(spurity_measurement *m, size_t index, const spurity_watch *watch, spurity_error *error)
{
    const spurity_source *source = &m->point->sources[index];
    struct measured_source *mine = &m->sources[index];
    spurity_terminal_trace *terminal = NULL;
    spurity_trace *trace = NULL;
    spurity_chain *unstated = NULL;
    const spurity_chain *chain = source->chain;
    spurity_status status = spurity_input_read(source->path, &source->read, SPURITY_READ_TRACE, (int)index, m->notes,
                                               watch, &mine->recording, error);
    if (status)
        goto out;
    if (spurity_recording_capture(mine->recording))
        status = spurity_measurement_read_capture(m, index, watch, &trace, error);
    else
        trace = take_sweep(source, mine->recording);
    if (status)
        goto out;
    if (!chain) {
        status = spurity_chain_create(&unstated, error);
        if (status)
            goto out;
        chain = unstated;
    }
    /* The carrier is not known yet: pads of unsaid reach are looked at once it is. */
    status = spurity_chain_apply(chain, &trace, (double)NAN, (int)index, m->notes, &terminal, error);
    if (status)
        goto out;
    spurity_survey_options options;
    spurity_survey_options_init(&options);
    options.carrier_hz = m->point->carrier_hz;
    status = spurity_survey_create(terminal, &options, m->notes, watch, &mine->survey, error);
    if (status)
        goto out;
    terminal = NULL;
    mine->chain = source->chain;
    mine->scale_group = scale_group(m, index);
    note_chain(m, index);
    if (!spurity_measurement_is_keyed(m, (int)index))
        goto out;
    status = spurity_measurement_find_receiver_holes(m, index, error);
    if (!status)
        status = spurity_measurement_note_capture(m, index, error);
out:
    spurity_terminal_trace_free(terminal);
    spurity_trace_free(trace);
    spurity_chain_free(unstated);
    return status;
}

/* Power of bursts whose key-down time could not be told apart is low by their duty. */
static double key_up_db(const spurity_spectrum *spectrum, const spurity_source *source)
{
    const spurity_spectrum_facts *facts = spectrum ? spurity_spectrum_facts_of(spectrum) : NULL;
    bool mean_over_all = facts && facts->bursts && !facts->gated && facts->duty > 0 &&
                         source->read.detector != SPURITY_DETECTOR_MAX_HOLD;
    return mean_over_all ? -spurity_db_from_ratio(facts->duty) : 0;
}

static bool says_of_captures(const spurity_read_options *read)
{
    return !isnan(read->full_scale_dbm) || read->rate_hz > 0 || read->datatype_said || !isnan(read->center_hz) ||
           read->channel || read->swapped || read->skip_bytes > 0;
}

static bool says_of_sweeps(const spurity_read_options *read)
{
    return read->delimiter || read->decimal_mark || read->frequency_unit_hz > 0 ||
           read->level_unit != SPURITY_LEVEL_UNKNOWN || read->trace || !isnan(read->start_hz) ||
           !isnan(read->stop_hz) || read->element != SPURITY_ELEMENT_FIND;
}

/* Samples without a header: also those of a recording whose metadata is missing. */
static bool is_raw(const spurity_recording *recording)
{
    const spurity_recording_facts *facts = spurity_recording_facts_of(recording);
    return !strcmp(facts->reader, "raw") || (!strcmp(facts->reader, "sigmf") && !facts->data[0]);
}

/* What is said of captures where every file is a sweep (or the other way round) was meant to do something, and does
 * not. */
static spurity_status refuse_idle_words(const spurity_measurement *m, spurity_error *error)
{
    size_t captures = 0, raw = 0;
    for (size_t i = 0; i < m->file_count; i++) {
        captures += m->sources[i].spectrum != NULL;
        raw += is_raw(m->sources[i].recording);
    }
    for (size_t i = 0; i < m->file_count; i++) {
        const spurity_read_options *read = &m->point->sources[i].read;
        spurity_place place = {.file = m->point->sources[i].path};
        if (!captures && says_of_captures(read))
            return spurity_report(
                error, SPURITY_INVALID, place,
                "a sweep, and what only captures have (full scale, rate, centre, datatype, channel) said of it",
                "those with captures of samples only",
                "a sweep's levels are in its unit; what stood before the instrument is --pad");
        if (captures == m->file_count && says_of_sweeps(read))
            return spurity_report(error, SPURITY_INVALID, place,
                                  "a capture, and what only sweeps have (column, span, units, marks) said of it",
                                  "those with saved sweeps only",
                                  "a capture's span is its rate about its centre: --center, --range");
        if (!raw && read->skip_bytes > 0)
            return spurity_report(error, SPURITY_INVALID, place, "bytes to skip, and no raw samples among the files",
                                  "skip-bytes with raw samples only",
                                  "a recording with a header tells itself where its samples begin");
    }
    return SPURITY_OK;
}

spurity_status spurity_measurement_read_files(spurity_measurement *m, const spurity_watch *watch, spurity_error *error)
{
    for (size_t i = 0; i < m->file_count; i++) {
        spurity_status status = read_file(m, i, watch, error);
        if (status)
            return status;
        bool absolute = spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[i].survey));
        m->files[i] = (spurity_measured_file){
            .path = m->point->sources[i].path,
            .survey = spurity_measurement_is_keyed(m, (int)i) ? m->sources[i].survey : NULL,
            .recording = m->sources[i].recording,
            .spectrum = m->sources[i].spectrum,
            .dbm_offset = absolute ? 0.0 : (double)NAN,
            .carrier_db = (double)NAN,
            .role = m->point->sources[i].role,
            .key_up_db = key_up_db(m->sources[i].spectrum, &m->point->sources[i]),
        };
        if (!spurity_watch_tick(watch, "reading", (double)(i + 1) / (double)m->file_count))
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "stopped", NULL, NULL);
    }
    return refuse_idle_words(m, error);
}
