/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "parts.h"

/* One interval in which one file can say something. */
struct offer {
    double from_hz, to_hz;
    int file;
    size_t segment;
};

struct offers {
    struct offer *items;
    size_t count, room;
};

static bool add_offer(struct offers *offers, const struct offer *offer)
{
    if (!(offer->to_hz > offer->from_hz))
        return true;
    struct offer *items = spurity_grow(offers->items, offers->count, &offers->room, sizeof *items);
    if (!items)
        return false;
    offers->items = items;
    offers->items[offers->count++] = *offer;
    return true;
}

static int by_stretch(const void *a, const void *b)
{
    const struct receiver_hole *x = a, *y = b;
    return (x->stretch.from_hz > y->stretch.from_hz) - (x->stretch.from_hz < y->stretch.from_hz);
}

enum { ALL_SEGMENTS = -1 };

/* The holes of a file, rising; NULL with *count 0 when there are none: those of the survey, which hold for all its
 * segments, and those of its receiver.  Feedthrough, on request, is left out: its skirt has readings, and where they
 * stand under the limit nothing is hidden. */
static bool copy_holes(const struct measured_source *source, bool feedthrough, struct receiver_hole **holes,
                       size_t *count)
{
    size_t surveyed = spurity_survey_hole_count(source->survey), all = surveyed + source->receiver_hole_count;
    *count = 0;
    *holes = NULL;
    if (!all)
        return true;
    *holes = malloc(all * sizeof **holes);
    if (!*holes)
        return false;
    for (size_t i = 0; i < surveyed; i++)
        if (feedthrough || strcmp(spurity_survey_hole(source->survey, i)->reason, "zero-frequency-feedthrough"))
            (*holes)[(*count)++] =
                (struct receiver_hole){.stretch = *spurity_survey_hole(source->survey, i), .segment = ALL_SEGMENTS};
    for (size_t i = 0; i < source->receiver_hole_count; i++)
        (*holes)[(*count)++] = source->receiver_holes[i];
    if (*count)
        qsort(*holes, *count, sizeof **holes, by_stretch);
    return true;
}

/* What a stretch of coverage offers: all of it but its holes. */
static bool offer_without(const struct receiver_hole *holes, size_t hole_count, struct offer offer,
                          struct offers *offers)
{
    double to_hz = offer.to_hz;
    for (size_t h = 0; h < hole_count && holes[h].stretch.from_hz < to_hz; h++) {
        if (holes[h].stretch.to_hz <= offer.from_hz ||
            (holes[h].segment != ALL_SEGMENTS && holes[h].segment != (long)offer.segment))
            continue;
        struct offer left = offer;
        left.to_hz = fmin(holes[h].stretch.from_hz, to_hz);
        if (!add_offer(offers, &left))
            return false;
        offer.from_hz = holes[h].stretch.to_hz;
    }
    return add_offer(offers, &offer);
}

static bool offers_of(const spurity_measurement *m, int file, struct offers *offers)
{
    struct receiver_hole *holes;
    size_t hole_count;
    const spurity_survey *survey = m->sources[file].survey;
    bool good = copy_holes(&m->sources[file], false, &holes, &hole_count);
    for (size_t i = 0; good && i < spurity_survey_coverage_count(survey); i++) {
        const spurity_coverage *coverage = spurity_survey_coverage(survey, i);
        struct offer offer = {coverage->from_hz, coverage->to_hz, file, coverage->segment};
        good = offer_without(holes, hole_count, offer, offers);
    }
    free(holes);
    return good;
}

static int by_start(const void *a, const void *b)
{
    const struct offer *x = a, *y = b;
    return (x->from_hz > y->from_hz) - (x->from_hz < y->from_hz);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* First index of frequencies >= hz. */
static size_t lower_bound(const double *frequency_hz, size_t count, double hz)
{
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (frequency_hz[middle] < hz)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The point whose cell holds hz. */
static size_t nearest(const double *frequency_hz, size_t count, double hz)
{
    size_t above = lower_bound(frequency_hz, count, hz);
    if (above == count)
        return count - 1;
    return above && hz - frequency_hz[above - 1] < frequency_hz[above] - hz ? above - 1 : above;
}

/* All points whose cells reach into the stretch: a peak detector's may be far wider than it.  A cell that only touches
 * it does not. */
static void set_points(const spurity_measurement *m, spurity_service *service)
{
    spurity_segment view;
    spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[service->file].survey)),
                          service->segment, &view);
    service->first = nearest(view.frequency_hz, view.count, service->from_hz);
    service->last = nearest(view.frequency_hz, view.count, service->to_hz);
    double touch = (0.5 - 1e-6) * view.step_hz;
    if (service->first < service->last && view.frequency_hz[service->first] + touch < service->from_hz)
        service->first++;
    if (service->first < service->last && view.frequency_hz[service->last] - touch > service->to_hz)
        service->last--;
}

static bool serve(spurity_measurement *m, const struct offer *offer, double from_hz, double to_hz)
{
    if (m->service_count) {
        spurity_service *last = &m->services[m->service_count - 1];
        if (last->file == offer->file && last->segment == offer->segment && last->to_hz == from_hz) {
            last->to_hz = to_hz;
            return true;
        }
    }
    spurity_service *services = spurity_grow(m->services, m->service_count, &m->service_room, sizeof *services);
    if (!services)
        return false;
    m->services = services;
    m->services[m->service_count++] =
        (spurity_service){.from_hz = from_hz, .to_hz = to_hz, .file = offer->file, .segment = offer->segment};
    return true;
}

/* What turns a file's scale into one all comparable files share (dB against the carrier); NaN where there is none. */
static double zero_of(const spurity_measurement *m, int file)
{
    if (!isnan(m->files[file].carrier_db))
        return m->files[file].carrier_db;
    if (!isnan(m->files[file].dbm_offset) && !isnan(m->carrier.level_dbm))
        return m->carrier.level_dbm - m->files[file].dbm_offset;
    return (double)NAN;
}

/* How low a file looks between from and to: mean bound of a hidden line, its floor far from the carrier and the
 * carrier's skirt near it, on the common scale; +infinity where scales cannot be compared. */
static double bound_of(const spurity_measurement *m, const struct offer *offer, double from_hz, double to_hz)
{
    enum { LOOKS = 9 };
    spurity_segment view;
    double sum = 0, zero = zero_of(m, offer->file);
    size_t taken = 0;
    const spurity_survey *survey = m->sources[offer->file].survey;
    if (isnan(zero) ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(survey)), offer->segment, &view))
        return (double)INFINITY;
    for (int k = 0; k < LOOKS; k++) {
        size_t at = nearest(view.frequency_hz, view.count, from_hz + (to_hz - from_hz) * (k + 0.5) / LOOKS);
        spurity_point point;
        if (spurity_survey_point(survey, offer->segment, at, &point) && isfinite(point.bound_db)) {
            sum += point.bound_db;
            taken++;
        }
    }
    return taken ? sum / (double)taken - zero : (double)INFINITY;
}

/* The open offer that looks lowest between from and to. */
static size_t lowest(const spurity_measurement *m, const struct offers *offers, const size_t *open, size_t open_count,
                     double from_hz, double to_hz)
{
    size_t best = open[0];
    double best_db = open_count > 1 ? bound_of(m, &offers->items[best], from_hz, to_hz) : 0;
    for (size_t i = 1; i < open_count; i++) {
        double db = bound_of(m, &offers->items[open[i]], from_hz, to_hz);
        if (db < best_db) {
            best_db = db;
            best = open[i];
        }
    }
    return best;
}

/* Walks the edges with the set of open offers (at most one a segment of a file, so it stays small) and gives each piece
 * to the one that looks lowest there. */
static bool share_out(spurity_measurement *m, const struct offers *offers, const double *edges, size_t edge_count,
                      size_t *open)
{
    size_t next = 0, open_count = 0;
    for (size_t e = 0; e + 1 < edge_count; e++) {
        double from = edges[e], to = edges[e + 1];
        if (!(to > from))
            continue;
        while (next < offers->count && offers->items[next].from_hz <= from)
            open[open_count++] = next++;
        size_t kept = 0;
        for (size_t i = 0; i < open_count; i++)
            if (offers->items[open[i]].to_hz > from)
                open[kept++] = open[i];
        open_count = kept;
        if (!open_count)
            continue;
        size_t best = lowest(m, offers, open, open_count, from, to);
        if (!serve(m, &offers->items[best], from, to))
            return false;
    }
    return true;
}

/* Ends of the cells that the carrier fills, or its skirt may, in each segment of a file whose cells are wider than its
 * RBW: beyond, a coarse sweep of low floor sees again. */
enum { CELL_EDGES = 8 };
static size_t fill_cells(const spurity_measurement *m, const struct offer *offer, double edges[CELL_EDGES])
{
    spurity_segment view;
    double f0 = m->carrier.frequency_hz;
    const spurity_survey *survey = m->sources[offer->file].survey;
    if (f0 < offer->from_hz || f0 > offer->to_hz ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(survey)), offer->segment, &view) ||
        view.step_hz <= view.facts.rbw_hz)
        return 0;
    double at = view.frequency_hz[nearest(view.frequency_hz, view.count, f0)];
    for (int k = 0; k < CELL_EDGES / 2; k++) {
        edges[2 * k] = at - (k + 0.5) * view.step_hz;
        edges[2 * k + 1] = at + (k + 0.5) * view.step_hz;
    }
    return CELL_EDGES;
}

/* Edges at which the serving file may change: where offers begin and end, wide cells about the carrier, and doubling
 * distances from it: its skirt makes a coarse sweep of low floor blind near it. */
enum { SKIRT_EDGES = 32 };
static size_t fill_edges(const spurity_measurement *m, const struct offers *offers, double *edges)
{
    size_t count = 0;
    for (size_t i = 0; i < offers->count; i++) {
        edges[count++] = offers->items[i].from_hz;
        edges[count++] = offers->items[i].to_hz;
        count += fill_cells(m, &offers->items[i], edges + count);
    }
    double offset = 1e3;
    for (int k = 0; k < SKIRT_EDGES / 2; k++, offset *= 2) {
        edges[count++] = m->carrier.frequency_hz - offset;
        edges[count++] = m->carrier.frequency_hz + offset;
    }
    qsort(edges, count, sizeof *edges, by_value);
    return count;
}

static bool add_hole(spurity_measurement *m, const spurity_stretch *stretch, double from_hz, double to_hz)
{
    if (!(to_hz > from_hz))
        return true;
    for (size_t i = 0; i < m->hole_count; i++) /* two windows of one capture leave the same hole */
        if (m->holes[i].from_hz <= from_hz && to_hz <= m->holes[i].to_hz &&
            !strcmp(m->holes[i].reason, stretch->reason))
            return true;
    spurity_stretch *holes = spurity_grow(m->holes, m->hole_count, &m->hole_room, sizeof *holes);
    if (!holes)
        return false;
    m->holes = holes;
    holes[m->hole_count] = *stretch;
    holes[m->hole_count].from_hz = from_hz;
    holes[m->hole_count++].to_hz = to_hz;
    return true;
}

/* What of a hole nothing fills.  Under feedthrough a file serves its own hole; a receiver's is filled by any segment
 * but its own. */
static bool add_unfilled(spurity_measurement *m, int file, const struct receiver_hole *hole)
{
    double from = hole->stretch.from_hz, to = hole->stretch.to_hz;
    for (size_t s = 0; s < m->service_count && from < to; s++) {
        const spurity_service *service = &m->services[s];
        bool own = hole->segment == ALL_SEGMENTS && service->file == file;
        if (own || service->to_hz <= from || service->from_hz >= to)
            continue;
        if (!add_hole(m, &hole->stretch, from, service->from_hz))
            return false;
        from = service->to_hz;
    }
    return add_hole(m, &hole->stretch, from, to);
}

static bool collect_holes(spurity_measurement *m)
{
    for (size_t file = 0; file < m->file_count; file++) {
        struct receiver_hole *holes;
        size_t count;
        if (!spurity_measurement_is_keyed(m, (int)file))
            continue;
        if (!copy_holes(&m->sources[file], true, &holes, &count))
            return false;
        bool good = true;
        for (size_t i = 0; good && i < count && i < 1000; i++)
            good = add_unfilled(m, (int)file, &holes[i]);
        free(holes);
        if (!good)
            return false;
    }
    return true;
}

const spurity_service *spurity_measurement_service_at(const spurity_measurement *m, double hz)
{
    size_t low = 0, high = m->service_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (m->services[middle].to_hz < hz)
            low = middle + 1;
        else
            high = middle;
    }
    return low < m->service_count && m->services[low].from_hz <= hz ? &m->services[low] : NULL;
}

spurity_status spurity_measurement_assign_service(spurity_measurement *m, spurity_error *error)
{
    struct offers offers = {0};
    double *edges = NULL;
    size_t *open = NULL;
    bool good = true;
    for (size_t file = 0; good && file < m->file_count; file++)
        good = !spurity_measurement_is_keyed(m, (int)file) || offers_of(m, (int)file, &offers);
    if (good && offers.count) {
        edges = malloc(((2 + CELL_EDGES) * offers.count + SKIRT_EDGES) * sizeof *edges);
        open = malloc(offers.count * sizeof *open);
        good = edges && open;
    }
    if (good && offers.count) {
        qsort(offers.items, offers.count, sizeof *offers.items, by_start);
        size_t count = fill_edges(m, &offers, edges);
        good = share_out(m, &offers, edges, count, open);
    }
    for (size_t i = 0; good && i < m->service_count; i++)
        set_points(m, &m->services[i]);
    good = good && collect_holes(m);
    free(offers.items);
    free(edges);
    free(open);
    return good ? SPURITY_OK : spurity_report_memory(error);
}
