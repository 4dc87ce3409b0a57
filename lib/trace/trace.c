/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "trace.h"

#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"

struct segment {
    spurity_segment_facts facts;
    double *frequency_hz, *level_db;
    size_t count, room;
    size_t *gap_before;
    size_t gap_count, gap_room;
    size_t missing;
    double last_hz;     /* last frequency appended, missing points too */
    bool any, gap_open; /* any appended; the last one was missing */
    /* Kept behind a const trace: NaN = not worked out yet.  Threads that read one trace work out the same figure, so an
     * atomic is all they need. */
    _Atomic double step_hz;
};

struct spurity_trace {
    struct segment *segments;
    size_t count, room;
    char scale[64];
};

spurity_status spurity_trace_create(spurity_trace **trace, spurity_error *error)
{
    *trace = calloc(1, sizeof **trace);
    return *trace ? SPURITY_OK : spurity_report_memory(error);
}

static void release_segment(struct segment *segment)
{
    free(segment->frequency_hz);
    free(segment->level_db);
    free(segment->gap_before);
}

void spurity_trace_free(spurity_trace *trace)
{
    if (!trace)
        return;
    for (size_t i = 0; i < trace->count; i++)
        release_segment(&trace->segments[i]);
    free(trace->segments);
    free(trace);
}

spurity_status spurity_trace_begin_segment(spurity_trace *trace, const spurity_segment_facts *facts,
                                           spurity_error *error)
{
    if (trace->count && !trace->segments[trace->count - 1].count)
        release_segment(&trace->segments[--trace->count]);
    struct segment *segments = spurity_grow(trace->segments, trace->count, &trace->room, sizeof *segments);
    if (!segments)
        return spurity_report_memory(error);
    trace->segments = segments;
    trace->segments[trace->count++] = (struct segment){.facts = *facts, .step_hz = (double)NAN};
    return SPURITY_OK;
}

/* Grows by a quarter: a point costs 16 bytes, at most 20 while growing. */
static bool reserve(struct segment *segment, size_t more)
{
    if (more > SIZE_MAX / 4 / sizeof(double) - segment->count)
        return false;
    size_t need = segment->count + more;
    if (need <= segment->room)
        return true;
    size_t room = segment->room + segment->room / 4 + 64;
    if (room < need)
        room = need;
    double *frequency = realloc(segment->frequency_hz, room * sizeof *frequency);
    if (!frequency)
        return false;
    segment->frequency_hz = frequency;
    double *level = realloc(segment->level_db, room * sizeof *level);
    if (!level)
        return false;
    segment->level_db = level;
    segment->room = room;
    return true;
}

static bool add_gap(struct segment *segment, size_t index)
{
    if (segment->gap_count && segment->gap_before[segment->gap_count - 1] == index)
        return true;
    size_t *gaps = spurity_grow(segment->gap_before, segment->gap_count, &segment->gap_room, sizeof *gaps);
    if (!gaps)
        return false;
    segment->gap_before = gaps;
    segment->gap_before[segment->gap_count++] = index;
    return true;
}

static spurity_status check(const struct segment *segment, const double *frequency_hz, const double *level_db,
                            size_t count, spurity_error *error)
{
    double last = segment->any ? segment->last_hz : -INFINITY;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(frequency_hz[i]) || !(frequency_hz[i] > last))
            return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "frequencies that rise",
                                   "sort the points, or begin a new segment", "a frequency of %.17g Hz after %.17g Hz",
                                   frequency_hz[i], last);
        if (isinf(level_db[i]))
            return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "an infinite level", "a finite level",
                                  NULL);
        last = frequency_hz[i];
    }
    return SPURITY_OK;
}

spurity_status spurity_trace_append(spurity_trace *trace, const double *frequency_hz, const double *level_db,
                                    size_t count, spurity_error *error)
{
    if (!count)
        return SPURITY_OK;
    if (!trace->count)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "points without a segment", NULL,
                              "begin a segment first");
    struct segment *segment = &trace->segments[trace->count - 1];
    spurity_status status = check(segment, frequency_hz, level_db, count, error);
    if (status)
        return status;
    if (!reserve(segment, count))
        return spurity_report_memory(error);
    struct segment before = *segment;
    for (size_t i = 0; i < count; i++) {
        if (isnan(level_db[i])) {
            segment->missing++;
            segment->gap_open = true;
            continue;
        }
        if (segment->gap_open && segment->count && !add_gap(segment, segment->count)) {
            before.gap_before = segment->gap_before;
            before.gap_room = segment->gap_room;
            *segment = before;
            return spurity_report_memory(error);
        }
        segment->gap_open = false;
        segment->frequency_hz[segment->count] = frequency_hz[i];
        segment->level_db[segment->count++] = level_db[i];
    }
    segment->any = true;
    segment->last_hz = frequency_hz[count - 1];
    segment->step_hz = (double)NAN;
    return SPURITY_OK;
}

/* How many segments count: an open one without a point does not. */
size_t spurity_trace_segment_count(const spurity_trace *trace)
{
    return trace->count && !trace->segments[trace->count - 1].count ? trace->count - 1 : trace->count;
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median spacing from at most 257 places spread over the segment: exact for even steps, robust for others. */
static double median_step(const struct segment *segment)
{
    double steps[257];
    size_t found = 0, pairs = segment->count - 1;
    size_t stride = pairs > 257 ? (pairs + 256) / 257 : 1;
    size_t gap = 0;
    for (size_t i = 1; i <= pairs && found < 257; i += stride) {
        while (gap < segment->gap_count && segment->gap_before[gap] < i)
            gap++;
        if (gap < segment->gap_count && segment->gap_before[gap] == i)
            continue;
        steps[found++] = segment->frequency_hz[i] - segment->frequency_hz[i - 1];
    }
    if (!found)
        return segment->count > 1 ? segment->frequency_hz[1] - segment->frequency_hz[0] : 0.0;
    qsort(steps, found, sizeof *steps, compare);
    return steps[found / 2];
}

bool spurity_trace_segment(const spurity_trace *trace, size_t index, spurity_segment *view)
{
    if (index >= spurity_trace_segment_count(trace))
        return false;
    struct segment *segment = &trace->segments[index];
    double step_hz = atomic_load_explicit(&segment->step_hz, memory_order_relaxed);
    if (isnan(step_hz)) {
        step_hz = median_step(segment);
        atomic_store_explicit(&segment->step_hz, step_hz, memory_order_relaxed);
    }
    *view = (spurity_segment){
        .facts = segment->facts,
        .count = segment->count,
        .frequency_hz = segment->frequency_hz,
        .level_db = segment->level_db,
        .gap_before = segment->gap_before,
        .gap_count = segment->gap_count,
        .missing = segment->missing,
        .step_hz = step_hz,
    };
    return true;
}

size_t spurity_trace_points(const spurity_trace *trace)
{
    size_t points = 0;
    for (size_t i = 0; i < trace->count; i++)
        points += trace->segments[i].count;
    return points;
}

void spurity_trace_set_facts(spurity_trace *trace, size_t index, const spurity_segment_facts *facts)
{
    if (index < trace->count)
        trace->segments[index].facts = *facts;
}

double *spurity_trace_levels(spurity_trace *trace, size_t index)
{
    return index < spurity_trace_segment_count(trace) ? trace->segments[index].level_db : NULL;
}

/* Rebuilds the list of gaps while points are dropped: a gap stands before a kept point when anything between it and the
 * kept point before is missing. */
bool spurity_trace_drop(spurity_trace *trace, size_t index, const unsigned char *keep)
{
    if (index >= spurity_trace_segment_count(trace))
        return false;
    struct segment *segment = &trace->segments[index];
    size_t *old_gaps = segment->gap_before;
    size_t old_count = segment->gap_count, gap = 0, kept = 0;
    bool hole = false;
    segment->gap_before = NULL;
    segment->gap_count = segment->gap_room = 0;
    for (size_t i = 0; i < segment->count; i++) {
        if (gap < old_count && old_gaps[gap] == i) {
            hole = true;
            gap++;
        }
        if (!keep[i]) {
            segment->missing++;
            hole = true;
            continue;
        }
        /* Without memory for the gap the points before it go: nothing is covered that was not seen. */
        if (hole && kept && !add_gap(segment, kept)) {
            segment->missing += kept;
            kept = 0;
        }
        hole = false;
        segment->frequency_hz[kept] = segment->frequency_hz[i];
        segment->level_db[kept++] = segment->level_db[i];
    }
    free(old_gaps);
    segment->gap_open = segment->gap_open || hole;
    segment->count = kept;
    segment->step_hz = (double)NAN;
    if (kept)
        return false;
    release_segment(segment);
    memmove(segment, segment + 1, (trace->count - index - 1) * sizeof *segment);
    trace->count--;
    return true;
}

const char *spurity_trace_scale(const spurity_trace *trace)
{
    return trace->scale;
}

void spurity_trace_set_scale(spurity_trace *trace, const char *name)
{
    snprintf(trace->scale, sizeof trace->scale, "%s", name ? name : "");
}
