/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A finished group becomes trace segments: levels, frequencies, what was cut off, what holds for it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "engine.h"

enum { BLOCKS_KEPT = 8 };

static struct kept keep(const struct settled *settled, const struct group *group)
{
    const double half = settled->rate_hz / 2;
    double most = half - settled->edge_fraction * settled->rate_hz;
    const double passes = settled->is_complex ? settled->usable_hz / 2 : settled->usable_hz;
    if (passes < most) /* not for NaN */
        most = passes;
    struct kept kept = {.bin_hz = settled->rate_hz / (double)settled->n,
                        .center_hz = isnan(group->center_hz) ? 0 : group->center_hz};
    /* A bin that stands on the end by less than rounding is kept. */
    kept.to = (long)floor(most / kept.bin_hz + 1e-6);
    const long last = (long)(settled->is_complex ? settled->n / 2 - 1 : settled->n / 2);
    kept.from = settled->is_complex ? -kept.to : 0;
    if (kept.from < -(long)(settled->n / 2))
        kept.from = -(long)(settled->n / 2);
    kept.to = kept.to > last ? last : kept.to;
    return kept;
}

/* dB of the mean or held power of a bin: |X|^2 over (sum w)^2, sum w = n; a real tone's one side has twice its
 * amplitude.  Exactly 0 is no reading. */
static double level_of(const struct settled *settled, const struct tally *tally, int band, long bin)
{
    const long n = (long)settled->n;
    double power = tally->power[band][bin < 0 ? bin + n : bin];
    if (settled->detector == SPURITY_SPECTRUM_MEAN)
        power /= (double)tally->transforms;
    power /= (double)n * (double)n;
    if (!settled->is_complex && bin && bin != n / 2)
        power *= 4;
    if (!(power > 0))
        return NAN;
    return spurity_db_from_ratio(power) + (isnan(settled->full_scale_dbm) ? 0 : settled->full_scale_dbm);
}

static double averages_of(const struct settled *settled, const struct tally *tally, int band)
{
    if (!tally->stretches)
        return 0;
    const double stretches = (double)tally->stretches;
    return stretches * spurity_window_effective_averages(settled->window[band], settled->overlap,
                                                         (double)tally->transforms / stretches);
}

/* No detector of the trade is a minimum hold: it is told as unknown, so that nothing is concluded from it. */
static spurity_detector detector_of(const struct settled *settled)
{
    switch (settled->detector) {
    case SPURITY_SPECTRUM_MEAN:
        return SPURITY_DETECTOR_AVERAGE;
    case SPURITY_SPECTRUM_MAX_HOLD:
        return SPURITY_DETECTOR_MAX_HOLD;
    case SPURITY_SPECTRUM_MIN_HOLD:
        break;
    }
    return SPURITY_DETECTOR_UNKNOWN;
}

static spurity_segment_facts facts_of(const struct settled *settled, const struct tally *tally, int band)
{
    const spurity_window_facts *window = spurity_window_facts_of(settled->window[band]);
    spurity_segment_facts facts = {.rbw_hz = window->width_3db_bins * (settled->rate_hz / (double)settled->n),
                                   .detector = detector_of(settled),
                                   .averages = averages_of(settled, tally, band),
                                   .noise_bandwidth_factor = window->enbw_bins / window->width_3db_bins,
                                   .filter = window->filter};
    facts.filter.bin_hz = settled->rate_hz / (double)settled->n;
    return facts;
}

static spurity_spectrum_part part_of(const struct settled *settled, const struct group *group,
                                     const struct tally *tally, const struct kept *kept, int band)
{
    const double half = settled->rate_hz / 2;
    const double lobe = spurity_window_facts_of(settled->window[band])->first_null_bins * kept->bin_hz;
    return (spurity_spectrum_part){
        .center_hz = kept->center_hz,
        .center_told = !isnan(group->center_hz),
        .sharp = band == 1,
        .is_complex = settled->is_complex,
        .from_hz = kept->center_hz + (double)kept->from * kept->bin_hz,
        .to_hz = kept->center_hz + (double)kept->to * kept->bin_hz,
        .cut_low_hz = settled->is_complex ? kept->center_hz - half : kept->center_hz,
        .cut_high_hz = kept->center_hz + half,
        .center_from_hz = settled->is_complex ? kept->center_hz - lobe : NAN,
        .center_to_hz = settled->is_complex ? kept->center_hz + lobe : NAN,
        .transforms = tally->transforms,
        .overload = group->overload,
    };
}

/* The group's first block by the tone estimator, in the trace's frequency and scale. */
bool spurity_group_tone(const struct settled *settled, const struct remains *remains, spurity_tone *tone)
{
    const struct kept *kept = &remains->kept;
    const size_t samples = remains->block.samples, count = settled->is_complex ? 2 * samples : samples;
    if (samples < 16)
        return false;
    float *block = malloc(count * sizeof *block);
    if (!block)
        return false;
    spurity_sample_convert(settled->format, remains->block.raw, samples, block);
    const double near_hz = (double)(kept->from + kept->to) / 2 * kept->bin_hz;
    const double half_hz = (double)(kept->to - kept->from) / 2 * kept->bin_hz;
    spurity_error ignored = {0};
    const bool found =
        !spurity_tone_estimate(block, samples, settled->is_complex, settled->rate_hz, near_hz, half_hz, tone, &ignored);
    free(block);
    /* residue and level: mean powers, a real tone's is half the square of its peak */
    const double mean_db = settled->is_complex ? tone->level_db : tone->level_db - 10 * log10(2);
    if (!found || !(tone->residue_db <= mean_db - 30))
        return false;
    tone->frequency_hz += kept->center_hz;
    if (!isnan(settled->full_scale_dbm)) {
        tone->level_db += settled->full_scale_dbm;
        tone->residue_db += settled->full_scale_dbm;
    }
    return true;
}

static spurity_status overflowed(const struct tally *tally, size_t bins, int bands, spurity_error *error)
{
    for (int band = 0; band < bands; band++)
        for (size_t i = 0; i < bins; i++)
            if (!isfinite(tally->power[band][i]))
                return spurity_report(error, SPURITY_INVALID, (spurity_place){0},
                                      "samples so large that their power is beyond a float",
                                      "samples whose full scale is 1", "say the right datatype, or scale them");
    return SPURITY_OK;
}

static spurity_status add_made(spurity_spectrum *spectrum, const struct made *made, spurity_error *error)
{
    struct made *grown = spurity_grow(spectrum->made, spectrum->made_count, &spectrum->made_room, sizeof *grown);
    if (!grown)
        return spurity_report_memory(error);
    spectrum->made = grown;
    spectrum->made[spectrum->made_count++] = *made;
    return SPURITY_OK;
}

static spurity_status append_segment(spurity_spectrum *spectrum, const struct made *made,
                                     const spurity_segment_facts *facts, const double *frequency_hz,
                                     const double *level_db, size_t count, spurity_error *error)
{
    size_t held = 0;
    while (held < count && isnan(level_db[held]))
        held++;
    if (held == count) /* a stretch of zeros: no reading, no segment */
        return SPURITY_OK;
    spurity_status status = spurity_trace_begin_segment(spectrum->trace, facts, error);
    if (!status)
        status = spurity_trace_append(spectrum->trace, frequency_hz, level_db, count, error);
    return status ? status : add_made(spectrum, made, error);
}

/* Frequencies and levels of what is kept, in one block: levels follow frequencies.  NULL when memory is out. */
static double *readings_of(const struct settled *settled, const struct tally *tally, const struct kept *kept, int band)
{
    const size_t count = (size_t)(kept->to - kept->from + 1);
    double *frequency_hz = malloc(2 * count * sizeof *frequency_hz);
    for (size_t i = 0; frequency_hz && i < count; i++) {
        const long bin = kept->from + (long)i;
        frequency_hz[i] = kept->center_hz + (double)bin * kept->bin_hz;
        frequency_hz[count + i] = level_of(settled, tally, band, bin);
    }
    return frequency_hz;
}

/* The maximum hold of the main window's segment. */
static spurity_status make_held(const struct settled *settled, const struct tally *tally, const struct kept *kept,
                                spurity_trace *trace, spurity_error *error)
{
    const size_t count = (size_t)(kept->to - kept->from + 1);
    struct settled holding = *settled;
    const struct tally held = {.power = {tally->held}, .transforms = tally->transforms, .stretches = tally->stretches};
    holding.detector = SPURITY_SPECTRUM_MAX_HOLD;
    double *frequency_hz = readings_of(&holding, &held, kept, 0);
    if (!frequency_hz)
        return spurity_report_memory(error);
    const spurity_segment_facts facts = facts_of(&holding, &held, 0);
    spurity_status status = spurity_trace_begin_segment(trace, &facts, error);
    if (!status)
        status = spurity_trace_append(trace, frequency_hz, frequency_hz + count, count, error);
    free(frequency_hz);
    return status;
}

static spurity_status make_main(const struct settled *settled, const struct tally *tally, const struct kept *kept,
                                const struct made *made, spurity_spectrum *spectrum, spurity_error *error)
{
    const size_t count = (size_t)(kept->to - kept->from + 1);
    double *frequency_hz = readings_of(settled, tally, kept, 0);
    if (!frequency_hz)
        return spurity_report_memory(error);
    const spurity_segment_facts facts = facts_of(settled, tally, 0);
    spurity_status status = append_segment(spectrum, made, &facts, frequency_hz, frequency_hz + count, count, error);
    free(frequency_hz);
    return status;
}

/* The bin where the main window reads most. */
static long strongest(const struct settled *settled, const struct tally *tally, const struct kept *kept)
{
    long best = kept->from;
    double most = -INFINITY;
    for (long bin = kept->from; bin <= kept->to; bin++) {
        const double level = level_of(settled, tally, 0, bin);
        if (level > most) {
            most = level;
            best = bin;
        }
    }
    return best;
}

static spurity_status make_sharp(const struct settled *settled, const struct tally *tally, struct kept kept,
                                 const struct made *made, spurity_spectrum *spectrum, spurity_error *error)
{
    struct pending pending = {.made = *made, .facts = facts_of(settled, tally, 1)};
    const double half_hz = settled->sharp_half_hz > 0 ? settled->sharp_half_hz : 200 * pending.facts.rbw_hz;
    const double half = ceil(half_hz / kept.bin_hz);
    const long middle = strongest(settled, tally, &kept);
    kept.from = (double)(middle - kept.from) > half ? middle - (long)half : kept.from;
    kept.to = (double)(kept.to - middle) > half ? middle + (long)half : kept.to;
    pending.made.part.from_hz = kept.center_hz + (double)kept.from * kept.bin_hz;
    pending.made.part.to_hz = kept.center_hz + (double)kept.to * kept.bin_hz;
    pending.count = (size_t)(kept.to - kept.from + 1);
    struct pending *grown =
        spurity_grow(spectrum->pending, spectrum->pending_count, &spectrum->pending_room, sizeof *grown);
    if (!grown)
        return spurity_report_memory(error);
    spectrum->pending = grown;
    pending.frequency_hz = readings_of(settled, tally, &kept, 1);
    if (!pending.frequency_hz)
        return spurity_report_memory(error);
    pending.level_db = pending.frequency_hz + pending.count;
    spectrum->pending[spectrum->pending_count++] = pending;
    return SPURITY_OK;
}

/* The block is kept for the day someone asks, but not for many centres: then it is looked at now. */
static spurity_status keep_remains(const struct settled *settled, struct group *group, struct tally *tally,
                                   const struct kept *kept, spurity_spectrum *spectrum, spurity_error *error)
{
    struct remains *grown =
        spurity_grow(spectrum->remains, spectrum->remains_count, &spectrum->remains_room, sizeof *grown);
    if (!grown)
        return spurity_report_memory(error);
    spectrum->remains = grown;
    struct remains *remains = &grown[spectrum->remains_count];
    *remains = (struct remains){.block = group->block, .kept = *kept, .images = tally->images};
    tally->images = NULL;
    if (spectrum->remains_count < BLOCKS_KEPT)
        group->block.raw = NULL;
    else {
        remains->has_tone = spurity_group_tone(settled, remains, &remains->tone);
        remains->block.raw = NULL;
    }
    spectrum->remains_count++;
    return SPURITY_OK;
}

/* Of several centres, the one whose key-down power is most.  Where one of them could not be taken apart the readings
 * are no key-down ones; the shortest mean burst of all is what a transform would have to hold. */
static void tell_envelope(const struct group *group, double rate_hz, spurity_spectrum_facts *facts)
{
    const spurity_envelope *envelope = &group->envelope;
    if (envelope->bursts && envelope->burst_count) {
        facts->gated = group->gated && (facts->gated || isnan(facts->burst_s));
        facts->burst_s =
            fmin(facts->burst_s, envelope->duty * (double)envelope->samples / (double)envelope->burst_count / rate_hz);
    }
    if (group->envelope.on_db <= facts->on_db || isnan(group->envelope.on_db))
        return;
    facts->bursts = group->envelope.bursts;
    facts->burst_count = group->envelope.burst_count;
    facts->duty = group->envelope.duty;
    facts->on_db = group->envelope.on_db;
}

spurity_status spurity_group_finish(const struct settled *settled, struct group *group, struct tally *tally,
                                    spurity_spectrum *spectrum, spurity_error *error)
{
    spectrum->starved |= group->gated && !tally->transforms;
    if (!tally->transforms) /* shorter than a transform, or never key-down */
        return SPURITY_OK;
    tell_envelope(group, settled->rate_hz, &spectrum->facts);
    spurity_status status = overflowed(tally, settled->bins, settled->bands, error);
    if (status)
        return status;
    struct kept kept = keep(settled, group);
    struct made made = {.part = part_of(settled, group, tally, &kept, 0), .group = spectrum->remains_count};
    status = make_main(settled, tally, &kept, &made, spectrum, error);
    if (!status && settled->hold)
        status = make_held(settled, tally, &kept, spectrum->held, error);
    if (!status && settled->bands == 2) {
        made.part = part_of(settled, group, tally, &kept, 1);
        status = make_sharp(settled, tally, kept, &made, spectrum, error);
    }
    const double averages = averages_of(settled, tally, 0);
    if (!(spectrum->facts.averages <= averages)) /* the fewest of all; NaN before the first */
        spectrum->facts.averages = averages;
    return status ? status : keep_remains(settled, group, tally, &kept, spectrum, error);
}

spurity_status spurity_pending_append(spurity_spectrum *spectrum, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; !status && i < spectrum->pending_count; i++) {
        const struct pending *pending = &spectrum->pending[i];
        status = append_segment(spectrum, &pending->made, &pending->facts, pending->frequency_hz, pending->level_db,
                                pending->count, error);
    }
    return status;
}
