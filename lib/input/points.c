/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "rows.h"

spurity_status spurity_points_open(struct points *points, spurity_error *error)
{
    points->sign = points->falling ? -1 : 1;
    return spurity_trace_create(&points->trace, error);
}

void spurity_points_free(struct points *points)
{
    spurity_trace_free(points->trace);
    free(points->store);
    points->trace = NULL;
    points->store = NULL;
}

/* ---- store ------------------------------------------------------------------------------------------- */

static spurity_status store_chunk(struct points *points, size_t count, spurity_error *error)
{
    size_t each = points->levels_only ? 1 : 2, need = points->stored + each * count;
    if (need > points->store_room) {
        size_t room = points->store_room + points->store_room / 4 + 2 * POINTS_CHUNK;
        double *grown = realloc(points->store, room * sizeof *grown);
        if (!grown)
            return spurity_report_memory(error);
        points->store = grown;
        points->store_room = room;
    }
    for (size_t i = 0; i < count; i++) {
        if (!points->levels_only)
            points->store[points->stored++] = points->hz[i];
        points->store[points->stored++] = points->db[i];
    }
    return SPURITY_OK;
}

/** A descending segment goes into the trace from its end, and leaves the store as it goes. */
static spurity_status reverse_store(struct points *points, spurity_error *error)
{
    enum { GIVE_BACK = 1 << 20 };
    double hz[512], db[512];
    while (points->stored) {
        size_t n = 0;
        while (n < 512 && points->stored) {
            db[n] = points->store[--points->stored];
            hz[n++] = points->store[--points->stored];
        }
        spurity_status status = spurity_trace_append(points->trace, hz, db, n, error);
        if (status)
            return status;
        if (points->store_room > points->stored + GIVE_BACK && points->stored) {
            double *less = realloc(points->store, points->stored * sizeof *less);
            points->store = less ? less : points->store;
            points->store_room = less ? points->stored : points->store_room;
        }
    }
    return SPURITY_OK;
}

spurity_status spurity_points_flush(struct points *points, size_t held, spurity_error *error)
{
    if (points->count <= held)
        return SPURITY_OK;
    size_t give = points->count - held;
    if (points->rows > TEXT_ROWS_MOST)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(points->input, points->last_line, 0),
                               "at most 64 million rows", "export a narrower span", "more than %d rows",
                               TEXT_ROWS_MOST);
    spurity_status status = points->levels_only || points->falling
                                ? store_chunk(points, give, error)
                                : spurity_trace_append(points->trace, points->hz, points->db, give, error);
    memmove(points->hz, points->hz + give, held * sizeof *points->hz);
    memmove(points->db, points->db + give, held * sizeof *points->db);
    points->count = held;
    return status;
}

/* ---- order --------------------------------------------------------------------------------------------- */

static spurity_status report_order(const struct points *points, double hz, double after, unsigned long line,
                                   spurity_error *error)
{
    char a[40], b[40];
    spurity_format_frequency(a, sizeof a, hz, 6);
    spurity_format_frequency(b, sizeof b, after, 6);
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(points->input, line, 0),
                           points->falling ? "frequencies that fall within a segment"
                                           : "frequencies that rise within a segment",
                           "sort the rows, or part joined segments by a blank line", "%s after %s, out of order", a, b);
}

spurity_status spurity_points_close(struct points *points, spurity_error *error)
{
    if (!points->open)
        return SPURITY_OK;
    if (points->began_by_fall && points->in_segment < 3)
        return report_order(points, points->last, points->top, points->begin_line, error);
    spurity_status status = spurity_points_flush(points, 0, error);
    if (!status && points->falling)
        status = reverse_store(points, error);
    points->open = false;
    points->stand_in = 0;
    return status;
}

static spurity_status open_segment(struct points *points, unsigned long line, spurity_error *error)
{
    points->open = true;
    points->in_segment = 0;
    points->began_by_fall = false;
    points->begin_line = line;
    points->before = -INFINITY;
    points->segments++;
    return spurity_trace_begin_segment(points->trace, &points->facts, error);
}

/** The frequency falls back: a joined segment, unless it looks like a row out of place. */
static spurity_status fall_back(struct points *points, double hz, unsigned long line, spurity_error *error)
{
    double key = points->sign * hz;
    bool between = points->in_segment > 1 && key > points->sign * points->before;
    points->falls++;
    if (between || points->in_segment < 3 || (points->falls >= 3 && points->distinct < 8 * (points->falls + 1)))
        return report_order(points, hz, points->last, line, error);
    double top = points->last;
    spurity_status status = spurity_points_close(points, error);
    if (!status)
        status = open_segment(points, line, error);
    points->began_by_fall = true;
    points->top = top;
    return status;
}

/** The same frequency again: the higher reading stays. */
static void repeat(struct points *points, double db)
{
    double *there = &points->db[points->count - 1];
    points->repeats++;
    if (isnan(db))
        return;
    points->unlike += !isnan(*there) && *there != db;
    if (isnan(*there) || db > *there) {
        points->missing -= isnan(*there) ? 1 : 0;
        *there = db;
    }
}

/** -200 or -174 again and again is no reading. */
static void weigh_stand_in(struct points *points, bool stand_in)
{
    points->stand_in = stand_in ? points->stand_in + 1 : 0;
    if (points->stand_in < 3)
        return;
    size_t back = points->stand_in == 3 ? 3 : 1;
    for (size_t i = 1; i <= back && i <= points->count; i++) {
        points->missing += isnan(points->db[points->count - i]) ? 0 : 1;
        points->db[points->count - i] = NAN;
    }
}

static spurity_status push(struct points *points, double hz, double db, bool stand_in, spurity_error *error)
{
    points->before = points->in_segment ? points->last : -INFINITY * points->sign;
    points->last = hz;
    points->in_segment++;
    points->distinct++;
    points->hz[points->count] = hz;
    points->db[points->count++] = db;
    points->missing += isnan(db) ? 1 : 0;
    weigh_stand_in(points, stand_in);
    if (points->count == POINTS_CHUNK)
        return spurity_points_flush(points, POINTS_HELD, error);
    return SPURITY_OK;
}

spurity_status spurity_points_put(struct points *points, double hz, double db, bool stand_in, unsigned long line,
                                  spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    points->rows++;
    points->last_line = line;
    if (points->rows == 1) {
        points->first_line = line;
        points->first_hz = hz;
    }
    points->last_hz = hz;
    if (!points->open && (status = open_segment(points, line, error)))
        return status;
    if (points->levels_only || !points->in_segment)
        return push(points, hz, db, stand_in, error);
    double key = points->sign * hz, last = points->sign * points->last;
    if (key == last) {
        repeat(points, db);
        return SPURITY_OK;
    }
    if (key < last) {
        if ((status = fall_back(points, hz, line, error)))
            return status;
        return push(points, hz, db, stand_in, error);
    }
    if (points->began_by_fall && points->in_segment == 1 && key > points->sign * points->top)
        return report_order(points, points->last, points->top, points->begin_line, error);
    return push(points, hz, db, stand_in, error);
}

spurity_status spurity_points_spread(struct points *points, double start_hz, double stop_hz, spurity_error *error)
{
    double hz[1024];
    size_t n = points->stored;
    for (size_t i = 0; i < n;) {
        size_t part = n - i < 1024 ? n - i : 1024;
        for (size_t k = 0; k < part; k++)
            hz[k] = i + k == n - 1 ? stop_hz : start_hz + (double)(i + k) * (stop_hz - start_hz) / (double)(n - 1);
        spurity_status status = spurity_trace_append(points->trace, hz, points->store + i, part, error);
        if (status)
            return status;
        i += part;
    }
    return SPURITY_OK;
}

spurity_status spurity_points_check_told(const struct points *points, spurity_error *error)
{
    const spurity_read_options *told = points->input->options;
    double low = fmin(points->first_hz, points->last_hz), high = fmax(points->first_hz, points->last_hz);
    double half = points->distinct > 1 ? 0.51 * (high - low) / (double)(points->distinct - 1) + 1e-6 : 0;
    bool start_differs = fabs(told->start_hz - low) > half; /* false when it is not told: NaN */
    if (!start_differs && !(fabs(told->stop_hz - high) > half))
        return SPURITY_OK;
    char a[40], b[40];
    return spurity_reportf(error, SPURITY_INVALID,
                           spurity_input_at(points->input, start_differs ? points->first_line : points->last_line, 0),
                           "--start and --stop with levels alone",
                           "leave them out, or put start= and stop= after the name of the file they are for",
                           "frequencies in the file, which %s %s, and --%s %s", start_differs ? "begin at" : "end at",
                           spurity_format_frequency(a, sizeof a, start_differs ? low : high, 6),
                           start_differs ? "start" : "stop",
                           spurity_format_frequency(b, sizeof b, start_differs ? told->start_hz : told->stop_hz, 6));
}
