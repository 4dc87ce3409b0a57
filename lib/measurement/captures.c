/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A capture of samples as a file of a test point: its spectrum, its scale, and what of its receiver's band is not
 * trusted. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

/* An image this little below its signal is worse than receivers of unequal I and Q mostly are: 25 to 40 dB uncorrected
 * (common practice). */
static const double IMAGE_DB = 25.0;
/* Samples of which the largest stands within the upper half of 2048 counts look like 12 bit counts in 16 bit words; a
 * weaker signal tells nothing. */
static const double COUNTS_LEAST = 1024, COUNTS_MOST = 2048;
enum { SAMPLES_LONG = 100000 };

/* ---- samples to trace ---- */

/* Complex samples say nothing of where they stand: without the tuned frequency they are no measurement. */
static spurity_status check_centers(const spurity_source *source, const spurity_capture_facts *facts,
                                    spurity_error *error)
{
    bool told = true;
    for (size_t i = 0; i < facts->segment_count && facts->format.is_complex; i++)
        told = told && isfinite(facts->segments[i].center_hz);
    if (told)
        return SPURITY_OK;
    return spurity_report(error, SPURITY_INVALID, (spurity_place){.file = source->path},
                          "complex samples without the frequency the receiver was tuned to", "a centre frequency",
                          "say --center, as in --center 146.94M");
}

static spurity_status take_detector(const spurity_source *source, spurity_spectrum_options *options,
                                    spurity_error *error)
{
    switch (source->read.detector) {
    case SPURITY_DETECTOR_UNKNOWN:
    case SPURITY_DETECTOR_AVERAGE:
        options->detector = SPURITY_SPECTRUM_MEAN;
        return SPURITY_OK;
    case SPURITY_DETECTOR_MAX_HOLD:
        options->detector = SPURITY_SPECTRUM_MAX_HOLD;
        return SPURITY_OK;
    default:
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = source->path}, "average or max-hold",
                               "a capture's spectrum is computed here: leave --detector away for its mean power",
                               "detector '%s' for a capture of samples", spurity_detector_name(source->read.detector));
    }
}

/* dBm where full scale is known; else a scale that nothing but a named one shares. */
static void set_scale(spurity_measurement *m, size_t index, double full_scale_dbm, spurity_trace *trace)
{
    const char *named = m->point->sources[index].scale;
    char own[64];
    if (!isnan(full_scale_dbm)) {
        spurity_trace_set_scale(trace, "");
        return;
    }
    snprintf(own, sizeof own, "dBFS, file %zu", index + 1);
    spurity_trace_set_scale(trace, named && *named ? named : own);
}

/* Bursts shorter than the transform cannot be told from the time between them.  Where nobody asked for a resolution the
 * capture is looked at again with one their mean length holds four times; 0 where that would not help. */
static size_t transform_for_bursts(const spurity_spectrum_facts *facts, double rate_hz,
                                   const spurity_spectrum_options *options)
{
    enum { TRANSFORM_LEAST = 64, PARTS = 4 };
    bool mean = options->detector == SPURITY_SPECTRUM_MEAN;
    if (isnan(facts->burst_s) || facts->gated || options->rbw_hz > 0 || !mean)
        return 0;
    double length = facts->burst_s * rate_hz / PARTS;
    return length >= TRANSFORM_LEAST && length < (double)facts->transform ? (size_t)length / 2 * 2 : 0;
}

static spurity_status transform(spurity_capture *capture, spurity_spectrum_options *options, const spurity_watch *watch,
                                spurity_spectrum **spectrum, spurity_error *error)
{
    spurity_status status = spurity_spectrum_create(capture, options, watch, spectrum, error);
    if (status)
        return status;
    options->transform =
        transform_for_bursts(spurity_spectrum_facts_of(*spectrum), spurity_capture_facts_of(capture)->rate_hz, options);
    if (!options->transform || !spurity_capture_can_seek(capture))
        return SPURITY_OK;
    spurity_spectrum *again = NULL;
    status = spurity_capture_seek(capture, 0, error);
    if (!status)
        status = spurity_spectrum_create(capture, options, watch, &again, error);
    spurity_spectrum_free(*spectrum);
    *spectrum = again;
    return status;
}

static void set_options(const spurity_test_point *point, const spurity_source *source,
                        spurity_spectrum_options *options)
{
    spurity_spectrum_options_init(options);
    options->rbw_hz = source->read.rbw_hz;
    options->sharp = true;
    options->seconds = point->seconds;
    options->threads = point->threads;
    options->edge_fraction = point->edge_fraction;
    options->reproducible = point->reproducible;
    options->wisdom = point->wisdom;
}

spurity_status spurity_source_spectrum(const spurity_test_point *point, const spurity_source *source,
                                       spurity_capture *capture, const spurity_watch *watch,
                                       spurity_spectrum **spectrum, spurity_error *error)
{
    spurity_spectrum_options options;
    *spectrum = NULL;
    set_options(point, source, &options);
    spurity_status status = take_detector(source, &options, error);
    if (!status)
        status = transform(capture, &options, watch, spectrum, error);
    if (status && error && !error->file[0])
        snprintf(error->file, sizeof error->file, "%s", source->path);
    return status;
}

spurity_status spurity_measurement_read_capture(spurity_measurement *m, size_t index, const spurity_watch *watch,
                                                spurity_trace **trace, spurity_error *error)
{
    const spurity_source *source = &m->point->sources[index];
    struct measured_source *mine = &m->sources[index];
    spurity_capture *capture = spurity_recording_take_capture(mine->recording);
    const spurity_capture_facts *facts = spurity_capture_facts_of(capture);
    double full_scale_dbm = facts->full_scale_dbm;
    spurity_status status = check_centers(source, facts, error);
    if (!status)
        status = spurity_source_spectrum(m->point, source, capture, watch, &mine->spectrum, error);
    spurity_capture_free(capture);
    if (status)
        return status;
    *trace = spurity_spectrum_take_trace(mine->spectrum);
    set_scale(m, index, full_scale_dbm, *trace);
    return SPURITY_OK;
}

/* ---- where the receiver is not trusted ---- */

static bool matches(const spurity_spectrum_part *part, const spurity_segment *segment)
{
    double slack = segment->step_hz;
    return part->from_hz - slack <= segment->frequency_hz[0] &&
           segment->frequency_hz[segment->count - 1] <= part->to_hz + slack;
}

/* Segments keep their order at the terminal; one that the chain does not reach at all is missing there. */
static spurity_status match_parts(struct measured_source *mine, const spurity_trace *trace, spurity_error *error)
{
    size_t count = spurity_trace_segment_count(trace), next = 0;
    mine->parts = calloc(count + 1, sizeof *mine->parts);
    if (!mine->parts)
        return spurity_report_memory(error);
    for (; mine->part_count < count; mine->part_count++) {
        spurity_segment view;
        spurity_spectrum_part part;
        if (!spurity_trace_segment(trace, mine->part_count, &view))
            break;
        while (spurity_spectrum_part_at(mine->spectrum, next, &part) && !matches(&part, &view))
            next++;
        if (!spurity_spectrum_part_at(mine->spectrum, next, &part))
            break;
        mine->parts[mine->part_count] = next++;
    }
    return SPURITY_OK;
}

bool spurity_measurement_part(const spurity_measurement *m, int file, size_t segment, spurity_spectrum_part *part)
{
    if (file < 0 || segment >= m->sources[file].part_count)
        return false;
    return spurity_spectrum_part_at(m->sources[file].spectrum, m->sources[file].parts[segment], part);
}

bool spurity_measurement_at_center(const spurity_measurement *m, int file, const spurity_line *line)
{
    spurity_spectrum_part part;
    if (!spurity_measurement_part(m, file, line->segment, &part) || !part.is_complex)
        return false;
    return line->frequency_hz + line->frequency_uncertainty_hz >= part.center_from_hz &&
           line->frequency_hz - line->frequency_uncertainty_hz <= part.center_to_hz;
}

static bool add_receiver_hole(struct measured_source *mine, const struct receiver_hole *hole)
{
    if (!(hole->stretch.to_hz > hole->stretch.from_hz))
        return true;
    size_t count = mine->receiver_hole_count;
    struct receiver_hole *holes = realloc(mine->receiver_holes, (count + 1) * sizeof *holes);
    if (!holes)
        return false;
    mine->receiver_holes = holes;
    holes[mine->receiver_hole_count++] = *hole;
    return true;
}

static struct receiver_hole hole_of(double from_hz, double to_hz, const char *reason, long segment)
{
    struct receiver_hole hole = {.stretch = {.from_hz = from_hz, .to_hz = to_hz}, .segment = segment};
    snprintf(hole.stretch.reason, sizeof hole.stretch.reason, "%s", reason);
    return hole;
}

/* A frequency to tune to, rounded to what a person types: a fiftieth of the band or less, 1-2-5. */
static const char *tuning(char *text, size_t size, double hz, double width_hz)
{
    double decade = pow(10, floor(log10(width_hz / 50))), part = width_hz / 50 / decade;
    double step = decade * (part >= 5 ? 5 : part >= 2 ? 2 : 1);
    return spurity_format_frequency(text, size, round(hz / step) * step, 6);
}

/* The two ends of the band as sampled: the receiver's filter falls there, and what lies beyond folds in. */
static bool add_edges(struct measured_source *mine, const spurity_spectrum_part *part, long segment)
{
    char to[40];
    double keep = (part->to_hz - part->from_hz) / 2;
    for (int upper = 0; upper < 2; upper++) {
        struct receiver_hole hole = upper ? hole_of(part->to_hz, part->cut_high_hz, "receiver-edge", segment)
                                          : hole_of(part->cut_low_hz, part->from_hz, "receiver-edge", segment);
        double middle = (hole.stretch.from_hz + hole.stretch.to_hz) / 2;
        tuning(to, sizeof to, upper ? middle + keep / 2 : middle - keep / 2, 2 * keep);
        snprintf(hole.stretch.advice, sizeof hole.stretch.advice,
                 part->is_complex ? "the receiver's filter falls here: add a capture tuned to about %s, overlapping "
                                    "this one"
                                  : "the sampler's filter falls here: add a capture at a higher rate, or a sweep",
                 to);
        if (!add_receiver_hole(mine, &hole))
            return false;
    }
    return true;
}

/* A receiver makes a line of its own where it is tuned, and one that takes its own DC away takes a real line along: a
 * clean centre says nothing. */
static bool add_center(struct measured_source *mine, const spurity_spectrum_part *part, long segment)
{
    if (!part->is_complex || isnan(part->center_from_hz))
        return true;
    struct receiver_hole hole = hole_of(part->center_from_hz, part->center_to_hz, "receiver-centre", segment);
    double width = part->to_hz - part->from_hz;
    char to[40];
    hole.center = true;
    tuning(to, sizeof to, part->center_hz + width / 8, width);
    snprintf(hole.stretch.advice, sizeof hole.stretch.advice,
             "where the receiver is tuned it can make a line or take one away: add a capture tuned to about %s, or "
             "a sweep",
             to);
    return add_receiver_hole(mine, &hole);
}

spurity_status spurity_measurement_find_receiver_holes(spurity_measurement *m, size_t index, spurity_error *error)
{
    struct measured_source *mine = &m->sources[index];
    spurity_spectrum_part part;
    if (!mine->spectrum)
        return SPURITY_OK;
    spurity_status status =
        match_parts(mine, spurity_terminal_trace_view(spurity_survey_terminal(mine->survey)), error);
    if (status)
        return status;
    for (size_t s = 0; s < mine->part_count; s++) {
        if (!spurity_measurement_part(m, (int)index, s, &part))
            continue;
        bool good = add_center(mine, &part, (long)s) && (part.sharp || add_edges(mine, &part, (long)s));
        if (!good)
            return spurity_report_memory(error);
    }
    return SPURITY_OK;
}

/* ---- what the samples say ---- */

static spurity_status note_full_scale(spurity_measurement *m, int file)
{
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(m->sources[file].spectrum);
    const spurity_recording_facts *recording = spurity_recording_facts_of(m->sources[file].recording);
    const char *scale = spurity_measurement_scale(m, file);
    const char *named = m->point->sources[file].scale;
    bool own = *scale && !(named && *named);
    if (own && spurity_notes_add(m->notes, SPURITY_NOTE_FULL_SCALE_UNSURE, file,
                                 "what a full-scale sample means in dBm is not known: levels compare within this file "
                                 "only; say --full-scale, or scale=NAME for files of one receiver and gain, with "
                                 "--power"))
        return SPURITY_SYSTEM;
    bool words = recording->datatype.component == SPURITY_COMPONENT_I16 && facts->samples >= SAMPLES_LONG;
    double counts = facts->largest * 32768;
    if (words && counts >= COUNTS_LEAST && counts < COUNTS_MOST)
        return spurity_notes_add(m->notes, SPURITY_NOTE_FULL_SCALE_UNSURE, file,
                                 "no sample is above %.0f counts of 32768: if these are 12 bit counts in 16 bit words, "
                                 "full scale is 24.1 dB lower than taken; say --full-scale accordingly",
                                 counts);
    return SPURITY_OK;
}

static bool is_overloaded(const spurity_spectrum *spectrum)
{
    spurity_spectrum_part part;
    for (size_t i = 0; spurity_spectrum_part_at(spectrum, i, &part); i++)
        if (part.overload)
            return true;
    return false;
}

static spurity_status note_clipped(spurity_measurement *m, int file)
{
    const spurity_spectrum *spectrum = m->sources[file].spectrum;
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(spectrum);
    static const char *const then = "less gain or 10 dB more pad (say it), until no sample does";
    spurity_status status = SPURITY_OK;
    if (facts->at_rail)
        status = spurity_notes_add(m->notes, SPURITY_NOTE_CLIPPED, file,
                                   "%.4g %% of the components (%llu of them) stand at the converter's rails: %s",
                                   100.0 * (double)facts->at_rail / (double)facts->components,
                                   (unsigned long long)facts->at_rail, then);
    if (!status && facts->pinned)
        status = spurity_notes_add(m->notes, SPURITY_NOTE_CLIPPED, file,
                                   "several samples stand at one same maximum, as at a rail: %s", then);
    if (!status && is_overloaded(spectrum))
        status = spurity_notes_add(m->notes, SPURITY_NOTE_CLIPPED, file,
                                   "the recorder says that its input was overloaded: %s", then);
    return status;
}

static spurity_status note_image(spurity_measurement *m, int file)
{
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(m->sources[file].spectrum);
    double below_db = fabs(facts->image_db);
    if (!(below_db < IMAGE_DB))
        return SPURITY_OK;
    return spurity_notes_add(m->notes, SPURITY_NOTE_RECEIVER_IMAGE, file,
                             "I and Q are unequal by %.2f dB and %.1f degrees: each signal has a mirror image %.0f dB "
                             "below it about the centre",
                             facts->gain_imbalance_db, facts->phase_imbalance_deg, below_db);
}

/* A file that was cut while it was read, or a packed one that breaks off: only reading it shows that. */
static spurity_status note_shorter(spurity_measurement *m, int file)
{
    const uint64_t read = spurity_spectrum_facts_of(m->sources[file].spectrum)->samples;
    const uint64_t promised = spurity_recording_facts_of(m->sources[file].recording)->samples;
    if (read >= promised || m->point->seconds > 0)
        return SPURITY_OK;
    return spurity_notes_add(m->notes, SPURITY_NOTE_FILE_SHORTER, file,
                             "%llu samples were promised and %llu could be read: is the file damaged, or was it "
                             "changed meanwhile?",
                             (unsigned long long)promised, (unsigned long long)read);
}

spurity_status spurity_measurement_note_capture(spurity_measurement *m, size_t index, spurity_error *error)
{
    int file = (int)index;
    if (!m->sources[index].spectrum)
        return SPURITY_OK;
    if (note_shorter(m, file) || note_full_scale(m, file) || note_clipped(m, file) || note_image(m, file))
        return spurity_report_memory(error);
    return SPURITY_OK;
}
