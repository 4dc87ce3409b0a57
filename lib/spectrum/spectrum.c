/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "spectrum.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "engine.h"

static void init_facts(spurity_spectrum_facts *facts)
{
    *facts = (spurity_spectrum_facts){.averages = NAN,
                                      .sharp_rbw_hz = NAN,
                                      .mean_db = NAN,
                                      .largest = NAN,
                                      .dc_i = NAN,
                                      .dc_q = NAN,
                                      .gain_imbalance_db = NAN,
                                      .phase_imbalance_deg = NAN,
                                      .image_db = NAN,
                                      .burst_s = NAN,
                                      .duty = NAN,
                                      .on_db = NAN};
}

static void tell_settled(const struct settled *settled, spurity_spectrum_facts *facts)
{
    const double bin_hz = settled->rate_hz / (double)settled->n;
    facts->transform = settled->n;
    facts->overlap = settled->overlap;
    facts->bin_hz = bin_hz;
    facts->window = settled->window[0];
    facts->sharp_window = settled->window[1];
    facts->rbw_hz = spurity_window_facts_of(settled->window[0])->width_3db_bins * bin_hz;
    if (settled->bands == 2)
        facts->sharp_rbw_hz = spurity_window_facts_of(settled->window[1])->width_3db_bins * bin_hz;
    facts->threads = settled->threads;
    facts->averages_few = settled->averages_few;
}

/* What a run without one segment means. */
static spurity_status nothing_made(const spurity_spectrum_facts *facts, const struct settled *settled,
                                   spurity_error *error)
{
    const char *expected = "a capture with a signal in it";
    if (facts->not_finite && facts->not_finite >= facts->samples)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "no sample that is a finite number", expected,
                              "say the right datatype");
    if (facts->transforms)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "samples that are 0 throughout", expected,
                              NULL);
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0},
                           "as many samples in a stretch as a transform has", "ask for a wider resolution bandwidth",
                           "%llu samples in all, a transform of %zu", (unsigned long long)facts->samples, settled->n);
}

static spurity_status make(spurity_capture *capture, struct settled *settled, struct source *source,
                           const spurity_watch *watch, spurity_spectrum *spectrum, spurity_error *error)
{
    spurity_status status = spurity_trace_create(&spectrum->trace, error);
    if (!status && settled->hold)
        status = spurity_trace_create(&spectrum->held, error);
    if (status)
        return status;
    spurity_trace_set_scale(spectrum->trace, isnan(settled->full_scale_dbm) ? "dBFS" : "");
    if (spectrum->held)
        spurity_trace_set_scale(spectrum->held, isnan(settled->full_scale_dbm) ? "dBFS" : "");
    spectrum->settled = *settled;
    spectrum->settled.wisdom = NULL; /* borrowed for the call */
    status = spurity_runs_open(source, settled, capture, error);
    if (!status)
        status = spurity_spectrum_run(source, settled, watch, spectrum, error);
    if (!status)
        status = spurity_pending_append(spectrum, error);
    if (!status && !spurity_trace_segment_count(spectrum->trace))
        status = nothing_made(&spectrum->facts, settled, error);
    return status;
}

static spurity_status attempt(spurity_capture *capture, struct settled *settled, struct source *source,
                              const spurity_watch *watch, spurity_spectrum **spectrum, spurity_error *error)
{
    *spectrum = calloc(1, sizeof **spectrum);
    if (!*spectrum)
        return spurity_report_memory(error);
    init_facts(&(*spectrum)->facts);
    tell_settled(settled, &(*spectrum)->facts);
    return make(capture, settled, source, watch, *spectrum, error);
}

/* Where bursts hold no transform after all, once more over all of the time. */
static spurity_status attempt_again(spurity_capture *capture, struct settled *settled, struct source *source,
                                    const spurity_watch *watch, spurity_spectrum **spectrum, spurity_error *error)
{
    const uint64_t began = source->began;
    settled->may_gate = false;
    spurity_spectrum_free(*spectrum);
    *spectrum = NULL;
    spurity_runs_close(source);
    *source = (struct source){0};
    spurity_status status = spurity_capture_seek(capture, began, error);
    return status ? status : attempt(capture, settled, source, watch, spectrum, error);
}

static bool watched(void *watch)
{
    return spurity_watch_tick(watch, "waiting for samples", -1);
}

spurity_status spurity_spectrum_create(spurity_capture *capture, const spurity_spectrum_options *options,
                                       const spurity_watch *watch, spurity_spectrum **spectrum, spurity_error *error)
{
    *spectrum = NULL;
    if (!spurity_watch_tick(watch, "spectrum", 0))
        return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "cancelled", NULL, NULL);
    struct settled settled = {0};
    struct source source = {0};
    spurity_error own = {0};
    spurity_spectrum *made = NULL;
    spurity_capture_while_waiting(capture, watched, (void *)(uintptr_t)watch); /* of its beginning */
    spurity_status status = spurity_settle(capture, options, &settled, &source, &own);
    spurity_capture_while_waiting(capture, NULL, NULL);
    if (!status)
        status = attempt(capture, &settled, &source, watch, &made, &own);
    if (made && made->starved && status != SPURITY_CANCELLED && status != SPURITY_SYSTEM) {
        own = (spurity_error){0};
        status = attempt_again(capture, &settled, &source, watch, &made, &own);
    }
    spurity_runs_close(&source);
    if (status) {
        if (error && !error->status)
            *error = own;
        spurity_spectrum_free(made);
        return status;
    }
    made->facts.averages_few |= made->facts.averages < SPURITY_AVERAGES_WANTED;
    *spectrum = made;
    return SPURITY_OK;
}

void spurity_spectrum_free(spurity_spectrum *spectrum)
{
    if (!spectrum)
        return;
    spurity_trace_free(spectrum->trace);
    spurity_trace_free(spectrum->held);
    for (size_t i = 0; i < spectrum->pending_count; i++)
        free(spectrum->pending[i].frequency_hz);
    for (size_t i = 0; i < spectrum->remains_count; i++) {
        spurity_image_free(spectrum->remains[i].images);
        free(spectrum->remains[i].block.raw);
    }
    free(spectrum->remains);
    free(spectrum->pending);
    free(spectrum->made);
    free(spectrum);
}

const spurity_spectrum_facts *spurity_spectrum_facts_of(const spurity_spectrum *spectrum)
{
    return &spectrum->facts;
}

const spurity_trace *spurity_spectrum_trace(const spurity_spectrum *spectrum)
{
    return spectrum->trace;
}

const spurity_trace *spurity_spectrum_held(const spurity_spectrum *spectrum)
{
    return spectrum->held;
}

spurity_trace *spurity_spectrum_take_trace(spurity_spectrum *spectrum)
{
    spurity_trace *trace = spectrum->trace;
    spectrum->trace = NULL;
    return trace;
}

bool spurity_spectrum_part_at(const spurity_spectrum *spectrum, size_t segment, spurity_spectrum_part *part)
{
    if (segment >= spectrum->made_count)
        return false;
    *part = spectrum->made[segment].part;
    return true;
}

bool spurity_spectrum_image(const spurity_spectrum *spectrum, size_t segment, double hz, spurity_image *image)
{
    if (segment >= spectrum->made_count)
        return false;
    const struct made *made = &spectrum->made[segment];
    const spurity_image_sums *sums = spectrum->remains[made->group].images;
    const double offset_hz = hz - made->part.center_hz;
    if (!sums || !made->part.is_complex || !(hz >= made->part.cut_low_hz && hz <= made->part.cut_high_hz) ||
        (hz >= made->part.center_from_hz && hz <= made->part.center_to_hz))
        return false;
    /* The looks are in the main window, whatever the segment. */
    const double half = spurity_window_facts_of(spectrum->facts.window)->first_null_bins;
    if (!spurity_image_judge(sums, offset_hz / spectrum->facts.bin_hz, half, image))
        return false;
    image->mirror_hz = made->part.center_hz - offset_hz;
    return true;
}

bool spurity_spectrum_tone(const spurity_spectrum *spectrum, size_t segment, spurity_tone *tone)
{
    if (segment >= spectrum->made_count)
        return false;
    const struct remains *remains = &spectrum->remains[spectrum->made[segment].group];
    if (remains->block.raw)
        return spurity_group_tone(&spectrum->settled, remains, tone);
    if (remains->has_tone)
        *tone = remains->tone;
    return remains->has_tone;
}
