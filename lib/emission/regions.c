/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Stretches of a segment that stand above its floor: readings over the threshold with what hangs on them (skirts,
 * carrier noise) down to the floor, and humps whose blocks stand above it although no single reading does. */
#include <math.h>
#include <stdlib.h>

#include "survey.h"

enum { CHUNK_MAX = 256 };

static double median_at(const spurity_segment_survey *s, size_t i)
{
    return (double)s->floor_db[i] + s->law_median_db;
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median of how far the points from..to-1 stand above the local median; every k-th of many. */
static double chunk_excess(const spurity_segment_survey *s, size_t from, size_t to)
{
    double excess[CHUNK_MAX];
    size_t n = 0, stride = (to - from + CHUNK_MAX - 1) / CHUNK_MAX;
    for (size_t i = from; i < to && n < CHUNK_MAX; i += stride)
        excess[n++] = s->view.level_db[i] - median_at(s, i);
    qsort(excess, n, sizeof *excess, compare_doubles);
    return excess[n / 2];
}

/* Looks by which the ground beyond a skirt is told: the wider ones only once the narrow one found some. */
static const size_t ground_looks[] = {16, 64, 256};

/* How far on from `at` the points still stand above the floor by two standard errors of their median (at least 0.5 dB),
 * 0 = not at all. */
static size_t ground_beyond(const spurity_segment_survey *s, size_t at, int way, size_t left, int scales)
{
    for (int k = 0; k < scales; k++) {
        size_t points = (size_t)ceil((double)ground_looks[k] * s->points_per_look), n = points < left ? points : left;
        double looks = fmax((double)n / s->points_per_look, 1),
               enough = fmax(2 * 1.25 * s->sigma_db / sqrt(looks), 0.5);
        if (n < 4 || (n < points && k))
            return 0;
        size_t from = way > 0 ? at + 1 : at - n;
        if (chunk_excess(s, from, from + n) >= enough)
            return n;
    }
    return 0;
}

/* How far a stretch above the floor reaches from `start` in direction `way` (+1, -1), not beyond `limit` (included):
 * down the skirt to the local median, and on over raised ground (carrier noise, a hump). */
static size_t reach(const spurity_segment_survey *s, size_t start, int way, size_t limit)
{
    size_t at = start, hop;
    int scales = 1;
    do {
        while (at != limit && s->view.level_db[at] > median_at(s, at))
            at = way > 0 ? at + 1 : at - 1;
        hop = ground_beyond(s, at, way, way > 0 ? limit - at : at - limit, scales);
        at = way > 0 ? at + hop : at - hop;
        scales = 3;
    } while (hop);
    return at;
}

static size_t highest(const spurity_segment_survey *s, size_t low, size_t high)
{
    size_t best = low;
    for (size_t i = low; i <= high; i++)
        if (s->view.level_db[i] > s->view.level_db[best])
            best = i;
    return best;
}

static spurity_status add_region(const spurity_segment_survey *s, spurity_regions *regions, size_t low, size_t high,
                                 bool hump, spurity_error *error)
{
    spurity_region *items = spurity_grow(regions->items, regions->count, &regions->room, sizeof *items);
    if (!items)
        return spurity_report_memory(error);
    regions->items = items;
    regions->items[regions->count++] =
        (spurity_region){.low = low, .high = high, .peak = highest(s, low, high), .hump = hump};
    return SPURITY_OK;
}

/* Readings over the threshold. */
static spurity_status from_readings(const spurity_segment_survey *s, spurity_regions *regions, spurity_error *error)
{
    size_t last = s->view.count - 1, next = 0; /* first point not owned yet */
    for (size_t b = 0; b < s->block_count; b++) {
        const spurity_block *block = &s->blocks[b];
        for (size_t i = block->from > next ? block->from : next; i < block->to; i++) {
            if (s->view.level_db[i] - (double)s->floor_db[i] <= (double)block->threshold_db)
                continue;
            size_t low = reach(s, i, -1, next), high = reach(s, i, +1, last);
            spurity_region *before = regions->count ? &regions->items[regions->count - 1] : NULL;
            if (before && low == next && next && s->view.level_db[low] > median_at(s, low)) {
                size_t peak = highest(s, low, high);
                before->high = high; /* they touch above the floor: one stretch */
                if (s->view.level_db[peak] > s->view.level_db[before->peak])
                    before->peak = peak;
            } else {
                spurity_status status = add_region(s, regions, low, high, false, error);
                if (status)
                    return status;
            }
            next = high + 1;
            i = high;
        }
    }
    return SPURITY_OK;
}

/* Runs of raised blocks, at least six standard errors and 1 dB above the floor on their mean. */
static spurity_status from_blocks(const spurity_segment_survey *s, spurity_regions *regions, spurity_error *error)
{
    double per_block = (double)s->block_points / s->points_per_look;
    for (size_t b = 0; b < s->block_count; b++) {
        size_t first = b;
        double sum = 0;
        for (; b < s->block_count && s->blocks[b].raised; b++)
            sum += (double)(s->blocks[b].median_db - s->blocks[b].level_db);
        if (b == first)
            continue;
        double n = (double)(b - first), looks = n * per_block, floor_looks = (double)s->blocks[first].independent;
        double error_db = 1.25 * s->sigma_db * sqrt(1 / fmax(looks, 1) + 1 / fmax(floor_looks, 1));
        if (sum / n < 6 * error_db + 1)
            continue;
        spurity_status status = add_region(s, regions, s->blocks[first].from, s->blocks[b - 1].to - 1, true, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static int by_low(const void *a, const void *b)
{
    const spurity_region *x = a, *y = b;
    return (x->low > y->low) - (x->low < y->low);
}

/* A hump and the stretches it touches are one; what is left rises and does not overlap. */
static void merge(const spurity_segment_survey *s, spurity_regions *regions)
{
    size_t kept = 0;
    if (regions->count)
        qsort(regions->items, regions->count, sizeof *regions->items, by_low);
    for (size_t i = 0; i < regions->count; i++) {
        spurity_region *now = &regions->items[i], *before = kept ? &regions->items[kept - 1] : NULL;
        if (!before || now->low > before->high) {
            regions->items[kept++] = *now;
            continue;
        }
        before->high = now->high > before->high ? now->high : before->high;
        before->hump = before->hump && now->hump;
        if (s->view.level_db[now->peak] > s->view.level_db[before->peak])
            before->peak = now->peak;
    }
    regions->count = kept;
}

spurity_status spurity_survey_regions(spurity_segment_survey *s, spurity_regions *regions, spurity_error *error)
{
    regions->count = 0;
    spurity_status status = from_readings(s, regions, error);
    size_t readings = regions->count;
    if (!status)
        status = from_blocks(s, regions, error);
    if (!status && regions->count > readings)
        merge(s, regions);
    return status;
}
