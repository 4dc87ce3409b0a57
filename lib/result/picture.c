/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The picture's data: traces thinned to lowest and highest per column, the limit as steps.
 *
 * Column of a frequency: c = floor(N (x - x0) / (x1 - x0)), x = log10 f where to > 4 from, else x = f. A column keeps
 * its lowest and highest reading at the frequency of the highest, so that a line one point wide keeps its place and
 * height. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "internal.h"

enum { COLUMNS = SPURITY_PICTURE_COLUMNS };

bool spurity_picture_is_log(double from_hz, double to_hz)
{
    return from_hz > 0 && to_hz > 4 * from_hz;
}

struct spurity_picture_store {
    spurity_picture view;
    char unit[8];
    spurity_picture_line *lines; /* their three columns stand in one block, owned through frequency_hz */
    size_t line_room;
    double *limit_hz, *limit_db;
    size_t limit_room;
};

spurity_status spurity_picture_create(double from_hz, double to_hz, const char *unit, spurity_picture_store **store,
                                      spurity_error *error)
{
    spurity_picture_store *made = calloc(1, sizeof *made);
    *store = made;
    if (!made)
        return spurity_report_memory(error);
    strncpy(made->unit, unit, sizeof made->unit - 1);
    made->view = (spurity_picture){.unit = made->unit, .from_hz = from_hz, .to_hz = to_hz, .carrier_hz = NAN};
    made->view.log_axis = spurity_picture_is_log(from_hz, to_hz);
    return SPURITY_OK;
}

void spurity_picture_free(spurity_picture_store *store)
{
    if (!store)
        return;
    for (size_t i = 0; i < store->view.trace_count; i++)
        free((double *)store->lines[i].frequency_hz);
    free(store->lines);
    free(store->limit_hz);
    free(store->limit_db);
    free(store);
}

const spurity_picture *spurity_picture_view(const spurity_picture_store *store)
{
    return &store->view;
}

void spurity_picture_set_carrier(spurity_picture_store *store, double hz)
{
    store->view.carrier_hz = hz;
}

/* Place along the axis: 0 at its start, COLUMNS at its end. */
static double place(const spurity_picture *view, double hz)
{
    if (view->log_axis)
        return COLUMNS * log(hz / view->from_hz) / log(view->to_hz / view->from_hz);
    return COLUMNS * (hz - view->from_hz) / (view->to_hz - view->from_hz);
}

double spurity_picture_columns_between(const spurity_picture_store *store, double from_hz, double to_hz)
{
    return place(&store->view, to_hz) - place(&store->view, from_hz);
}

static double frequency_at(const spurity_picture *view, double column)
{
    if (view->log_axis)
        return view->from_hz * pow(view->to_hz / view->from_hz, column / COLUMNS);
    return view->from_hz + (view->to_hz - view->from_hz) * column / COLUMNS;
}

static spurity_status add_view(spurity_picture_store *store, spurity_picture_line line, spurity_error *error)
{
    size_t count = store->view.trace_count;
    spurity_picture_line *lines = spurity_grow(store->lines, count, &store->line_room, sizeof *lines);
    if (!lines)
        return spurity_report_memory(error);
    store->view.traces = store->lines = lines;
    store->lines[count] = line;
    store->view.trace_count = count + 1;
    return SPURITY_OK;
}

/* Thins into three columns of `room` rows; returns how many rows were used. */
static size_t thin(const spurity_picture *view, const double *hz, const double *db, size_t count, double offset_db,
                   double *out, size_t room)
{
    double *at = out, *low = out + room, *high = out + 2 * room;
    size_t used = 0;
    double column_end = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        if (hz[i] < view->from_hz || hz[i] > view->to_hz)
            continue;
        if (hz[i] >= column_end && used < room) { /* a new column; its end is found once, not for each point */
            double column = floor(place(view, hz[i]));
            column_end = fmax(frequency_at(view, column + 1), nextafter(hz[i], INFINITY));
            at[used] = hz[i];
            low[used] = high[used] = db[i] + offset_db;
            used++;
            continue;
        }
        double level = db[i] + offset_db;
        if (level < low[used - 1])
            low[used - 1] = level;
        if (level > high[used - 1]) {
            high[used - 1] = level;
            at[used - 1] = hz[i];
        }
    }
    return used;
}

spurity_status spurity_picture_add_line(spurity_picture_store *store, const double *hz, const double *db, size_t count,
                                        double offset_db, spurity_error *error)
{
    size_t room = count < COLUMNS + 2 ? count : COLUMNS + 2;
    if (!count || !isfinite(offset_db))
        return SPURITY_OK;
    double *block = malloc(3 * room * sizeof *block);
    if (!block)
        return spurity_report_memory(error);
    size_t used = thin(&store->view, hz, db, count, offset_db, block, room);
    spurity_picture_line line = {used, block, block + room, block + 2 * room};
    spurity_status status = used ? add_view(store, line, error) : SPURITY_OK;
    if (status || !used)
        free(block);
    return status;
}

/* ---- the limit -------------------------------------------------------------------------------------------- */

typedef struct limit_walk {
    spurity_picture_store *store;
    spurity_limit_at *limit;
    const void *user;
    double offset_db;
    double last_hz, last_db; /* a sample not yet written: it may lie on a level run */
    bool pending;
} limit_walk;

static double sample(const limit_walk *at, double hz)
{
    double db;
    return at->limit(at->user, hz, &db) && isfinite(db) ? db + at->offset_db : NAN;
}

static bool same(double a, double b)
{
    return (isnan(a) && isnan(b)) || fabs(a - b) < 1e-6;
}

static spurity_status write_step(spurity_picture_store *store, double hz, double db, spurity_error *error)
{
    size_t count = store->view.limit_count;
    if (count == store->limit_room) {
        size_t room = count ? 2 * count : 64;
        double *more_hz = realloc(store->limit_hz, room * sizeof *more_hz);
        if (more_hz)
            store->view.limit_hz = store->limit_hz = more_hz;
        double *more_db = realloc(store->limit_db, room * sizeof *more_db);
        if (more_db)
            store->view.limit_db = store->limit_db = more_db;
        if (!more_hz || !more_db)
            return spurity_report_memory(error);
        store->limit_room = room;
    }
    store->limit_hz[count] = hz;
    store->limit_db[count] = db;
    store->view.limit_count = count + 1;
    return SPURITY_OK;
}

/* Writes a sample, leaving out the inner ones of a run of equal levels. */
static spurity_status step_to(limit_walk *at, double hz, double db, spurity_error *error)
{
    spurity_picture_store *store = at->store;
    size_t count = store->view.limit_count;
    spurity_status status = SPURITY_OK;
    if (at->pending && count && same(db, at->last_db) && same(db, store->limit_db[count - 1])) {
        at->last_hz = hz;
        return SPURITY_OK;
    }
    if (at->pending)
        status = write_step(store, at->last_hz, at->last_db, error);
    at->pending = true;
    at->last_hz = hz;
    at->last_db = db;
    if (!status && !store->view.limit_count) { /* the first one is written at once, so that runs have a start */
        at->pending = false;
        status = write_step(store, hz, db, error);
    }
    return status;
}

/* A jump between two samples, closed in on from both sides to a part in 10^12.  A steep slope closes in too, but its
 * ends come out alike and nothing is added. */
static spurity_status refine(limit_walk *at, double a, double db_a, double b, double db_b, spurity_error *error)
{
    for (int i = 0; i < 60 && b - a > 1e-12 * fabs(b); i++) {
        double middle = a + (b - a) / 2, db = sample(at, middle);
        bool near_a =
            isnan(db_a) || isnan(db_b) || isnan(db) ? isnan(db) == isnan(db_a) : fabs(db - db_a) <= fabs(db - db_b);
        if (near_a) {
            a = middle;
            db_a = db;
        } else {
            b = middle;
            db_b = db;
        }
    }
    if (same(db_a, db_b))
        return SPURITY_OK;
    spurity_status status = step_to(at, a, db_a, error);
    return status ? status : step_to(at, b, db_b, error);
}

spurity_status spurity_picture_add_limit(spurity_picture_store *store, spurity_limit_at *limit, const void *user,
                                         double offset_db, spurity_error *error)
{
    const spurity_picture *view = &store->view;
    limit_walk at = {.store = store, .limit = limit, .user = user, .offset_db = offset_db};
    double hz = view->from_hz, db = sample(&at, hz);
    spurity_status status = step_to(&at, hz, db, error);
    bool carrier_due = isfinite(view->carrier_hz) && view->carrier_hz > view->from_hz;
    for (int column = 1; !status && column <= COLUMNS;) {
        double next = column == COLUMNS ? view->to_hz : frequency_at(view, column);
        if (carrier_due && view->carrier_hz <= next) { /* the gap around the carrier is often narrower than a column */
            next = view->carrier_hz;
            carrier_due = false;
        } else {
            column++;
        }
        if (next <= hz)
            continue;
        double next_db = sample(&at, next);
        if (isnan(next_db) != isnan(db) || fabs(next_db - db) > 0.05)
            status = refine(&at, hz, db, next, next_db, error);
        if (!status)
            status = step_to(&at, next, next_db, error);
        hz = next;
        db = next_db;
    }
    if (!status && at.pending)
        status = write_step(store, at.last_hz, at.last_db, error);
    return status;
}
