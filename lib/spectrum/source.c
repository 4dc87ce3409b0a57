/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Draws runs of transforms from a capture: never across the start of a segment, each run the same whatever the number
 * of threads. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "engine.h"

enum { TONE_BLOCK = 1 << 18 }; /* samples, spurity_spectrum_tone */
enum { KEY_CELL = 1024 };

void spurity_group_release(struct group *group)
{
    free(group->block.raw);
    group->block.raw = NULL;
    group->block.samples = 0;
}

size_t spurity_runs_room(const struct settled *settled)
{
    return settled->n + settled->run * settled->hop;
}

spurity_status spurity_runs_open(struct source *source, const struct settled *settled, spurity_capture *capture,
                                 spurity_error *error)
{
    const spurity_capture_facts *facts = spurity_capture_facts_of(capture);
    source->settled = settled;
    source->capture = capture;
    source->at = spurity_capture_at(capture) - source->early_samples;
    source->began = source->at;
    source->left = settled->limit;
    source->begins = true;
    while (source->segment + 1 < facts->segment_count && facts->segments[source->segment + 1].first <= source->at)
        source->segment++;
    source->carry = malloc(settled->n * settled->sample_bytes);
    return source->carry ? SPURITY_OK : spurity_report_memory(error);
}

void spurity_runs_close(struct source *source)
{
    free(source->early);
    free(source->carry);
    while (source->groups) {
        struct group *group = source->groups;
        source->groups = group->before;
        spurity_group_release(group);
        free(group);
    }
}

static bool same_center(const spurity_capture_segment *a, const spurity_capture_segment *b)
{
    return a->center_hz == b->center_hz || (isnan(a->center_hz) && isnan(b->center_hz));
}

/* Samples that may be read before the segment, or what was asked for, ends. */
static size_t allowed(const struct source *source, size_t wanted)
{
    const spurity_capture_facts *facts = spurity_capture_facts_of(source->capture);
    uint64_t most = source->left;
    if (source->segment + 1 < facts->segment_count) {
        const uint64_t rest = facts->segments[source->segment + 1].first - source->at;
        most = rest < most ? rest : most;
    }
    return most < wanted ? (size_t)most : wanted;
}

static spurity_status next_samples(struct source *source, unsigned char *into, size_t samples, size_t *got,
                                   spurity_error *error)
{
    const size_t bytes = source->settled->sample_bytes;
    const size_t early = source->early_samples - source->early_at;
    const size_t first = early < samples ? early : samples;
    if (first)
        memcpy(into, source->early + source->early_at * bytes, first * bytes);
    source->early_at += first;
    size_t more = 0;
    if (first < samples) {
        spurity_status status =
            spurity_capture_read(source->capture, into + first * bytes, samples - first, &more, error);
        if (status)
            return status;
    }
    *got = first + more;
    source->at += *got;
    source->left -= *got;
    return SPURITY_OK;
}

/* On to the next segment once this one is read.  False at the end. */
static bool step_segment(struct source *source)
{
    const spurity_capture_facts *facts = spurity_capture_facts_of(source->capture);
    if (source->segment + 1 >= facts->segment_count || source->at < facts->segments[source->segment + 1].first)
        return false;
    source->carried = 0;
    source->begins = true;
    source->segment++;
    if (!same_center(&facts->segments[source->segment - 1], &facts->segments[source->segment]))
        source->group = NULL;
    return true;
}

/* Transforms of n samples a hop apart in the group that begins with this segment; 0 where it is not known. */
static uint64_t group_transforms(const struct source *source, size_t n, size_t hop)
{
    const spurity_capture_facts *facts = spurity_capture_facts_of(source->capture);
    const struct settled *settled = source->settled;
    uint64_t transforms = 0, from = source->at;
    for (size_t i = source->segment; i < facts->segment_count; i++) {
        if (i > source->segment && !same_center(&facts->segments[i - 1], &facts->segments[i]))
            break;
        uint64_t end = settled->known ? source->began + settled->known : 0;
        if (i + 1 < facts->segment_count && (!end || facts->segments[i + 1].first < end))
            end = facts->segments[i + 1].first;
        if (!end)
            return 0;
        transforms += end >= from + n ? (end - from - n) / hop + 1 : 0;
        from = end;
    }
    return transforms;
}

/* Whether the group holds bursts, and whether their mean can be taken apart: bursts must hold whole transforms. */
static spurity_status look_for_bursts(struct source *source, struct group *group, spurity_error *error)
{
    const struct settled *settled = source->settled;
    spurity_envelope *envelope = &group->envelope;
    *envelope = (spurity_envelope){.duty = NAN, .on_db = NAN, .off_db = NAN, .shortest_s = NAN};
    const uint64_t samples = group_transforms(source, 1, 1);
    if (!spurity_capture_can_seek(source->capture) || source->early || !samples)
        return SPURITY_OK;
    spurity_status status = spurity_envelope_look(source->capture, source->at, samples, NULL, envelope, error);
    if (status || !envelope->bursts || !settled->may_gate)
        return status;
    const double mean = envelope->duty * (double)envelope->samples / (double)envelope->burst_count;
    group->gated = mean >= (double)(2 * settled->n) && !(envelope->shortest_s * settled->rate_hz < (double)settled->n);
    return SPURITY_OK;
}

/* A look costs about half a transform: at most one in sixteen, but 64 of them if there are as many transforms. */
static void schedule_looks(const struct source *source, struct group *group)
{
    const struct settled *settled = source->settled;
    const uint64_t expected = group_transforms(source, settled->n, settled->hop);
    const size_t scheduled = spurity_image_schedule(expected, settled->overlap, group->looks);
    const uint64_t wanted = !expected || expected / 16 > SPURITY_IMAGE_LOOKS
                                ? SPURITY_IMAGE_LOOKS
                                : (expected / 16 < 64 ? 64 : expected / 16);
    const size_t each = wanted < scheduled ? (scheduled + (size_t)wanted - 1) / (size_t)wanted : 1;
    for (size_t i = 0; i < scheduled; i += each)
        group->looks[group->look_count++] = group->looks[i];
}

static spurity_status begin_group(struct source *source, spurity_error *error)
{
    const struct settled *settled = source->settled;
    const spurity_capture_segment *segment = &spurity_capture_facts_of(source->capture)->segments[source->segment];
    if (!source->group) {
        source->group = calloc(1, sizeof *source->group);
        if (!source->group)
            return spurity_report_memory(error);
        source->group->center_hz = segment->center_hz;
        if (settled->is_complex)
            schedule_looks(source, source->group);
        source->group->before = source->groups;
        source->groups = source->group;
        spurity_status status = look_for_bursts(source, source->group, error);
        if (status)
            return status;
    }
    source->group->overload |= segment->overload;
    return SPURITY_OK;
}

/* Samples of `raw` that are key-down (or not), from the first one on, in whole cells of the envelope. */
static size_t keyed(const struct settled *settled, const spurity_envelope *envelope, const unsigned char *raw,
                    size_t samples, bool down)
{
    float cell[2 * KEY_CELL];
    size_t at = 0;
    for (; at < samples; at += KEY_CELL) {
        const size_t count = samples - at < KEY_CELL ? samples - at : KEY_CELL;
        spurity_sample_convert(settled->format, raw + at * settled->sample_bytes, count, cell);
        if (spurity_envelope_on(envelope, settled->is_complex, cell, count) != down)
            break;
    }
    return at < samples ? at : samples;
}

/* Keeps the first samples of a group that follow on one another: of one segment, key-down where it is keyed. */
static spurity_status keep_block(struct source *source, const unsigned char *raw, size_t samples, spurity_error *error)
{
    const struct settled *settled = source->settled;
    struct group *group = source->group;
    const size_t bytes = settled->sample_bytes;
    if (source->begins && group->block.samples)
        group->block.whole = true;
    if (group->block.whole)
        return SPURITY_OK;
    if (!group->block.raw && !(group->block.raw = malloc(TONE_BLOCK * bytes)))
        return spurity_report_memory(error);
    const size_t skipped =
        group->gated && !group->block.samples ? keyed(settled, &group->envelope, raw, samples, false) : 0;
    raw += skipped * bytes;
    samples -= skipped;
    size_t taken = TONE_BLOCK - group->block.samples;
    taken = samples < taken ? samples : taken;
    if (group->gated)
        taken = keyed(settled, &group->envelope, raw, taken, true);
    memcpy(group->block.raw + group->block.samples * bytes, raw, taken * bytes);
    group->block.samples += taken;
    group->block.whole = group->block.samples && taken < samples;
    return SPURITY_OK;
}

spurity_status spurity_runs_draw(struct source *source, unsigned char *buffer, struct drawn *drawn,
                                 spurity_error *error)
{
    const struct settled *settled = source->settled;
    const size_t bytes = settled->sample_bytes;
    *drawn = (struct drawn){0};
    if (source->ended)
        return SPURITY_OK;
    size_t wanted = 0;
    do
        wanted = allowed(source, settled->n + (settled->run - 1) * settled->hop - source->carried);
    while (!wanted && source->left && step_segment(source));
    spurity_status status = begin_group(source, error);
    if (status)
        return status;
    memcpy(buffer, source->carry, source->carried * bytes);
    size_t got = 0;
    status = next_samples(source, buffer + source->carried * bytes, wanted, &got, error);
    if (status)
        return status;
    if (!got) {
        source->ended = true;
        return SPURITY_OK;
    }
    status = keep_block(source, buffer + source->carried * bytes, got, error);
    if (status)
        return status;
    const size_t samples = source->carried + got;
    const size_t transforms = samples < settled->n ? 0 : (samples - settled->n) / settled->hop + 1;
    *drawn =
        (struct drawn){source->group, samples, source->carried, transforms, source->group->transforms, source->begins};
    source->begins = false;
    source->group->transforms += transforms;
    source->carried = samples - transforms * settled->hop;
    memcpy(source->carry, buffer + transforms * settled->hop * bytes, source->carried * bytes);
    return SPURITY_OK;
}
