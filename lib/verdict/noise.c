/* SPDX-License-Identifier: GPL-2.0-or-later */
/* How much noise a reference bandwidth holds, wherever the RBW is narrower than it: a rule limits the power in that
 * bandwidth, and noise of the set that no line stands out of looks like the bench's own.  README.md tells what counts.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "stretch.h"

enum {
    PARTS = 16,      /* blocks of a window, which moves by one at a time */
    BATCH = 64,      /* windows judged at once by the highest while that is inside the limit */
    CHAIN_CELL = 128 /* points after which loss and uncertainty are asked for again */
};

/* A hump as wide as the window lies off the nearest of its places by half a block at most. */
static const double MISSED = 1 / (1 - 0.5 / PARTS);

/* Power gathered in a piece of spectrum, mW at the terminal and over the carrier's. */
struct gathered {
    double dbm, dbc;
    double skirt;                /* of dbc (or dbm where that is not known): from the carrier's footprint */
    double dbm_bound, dbc_bound; /* the highest bound of one RBW in it */
};

/* What stands at a point, in the RBW, mW on its file's scale. */
struct noise {
    double power, bound;
    bool skirt;
};

struct window {
    double from_hz, to_hz;
    struct gathered power;
    struct level level; /* uncertainties */
    double scatter;     /* of the mean over it, dB, k = 2 */
    double filter_hz;   /* noise bandwidth */
    int file;
    double rbw_hz;
};

/* A run of spectrum without a break, in blocks from its start. */
struct run {
    struct walk *walk;
    double width_hz; /* the reference bandwidth; 0: no run */
    double start_hz, end_hz;
    struct gathered ring[PARTS], open;
    size_t closed;
    /* of the points that feed it now */
    struct cell cell;
    spurity_noise_reading noise;
    double dbm_factor, dbc_factor;
    /* of what the run's last piece was laid with */
    struct window laid;
    bool is_laid;
    struct window batch[BATCH];
    size_t batched;
};

static double bandwidth_at(const struct run *run, double hz)
{
    return spurity_clause_reference_bandwidth(run->walk->clause, hz);
}

/* What a window holds at most: its mean and the scatter of that; or, where it spans but a look or two, so that the
 * scatter says little, each RBW in it filled up to its bound.  An RBW as wide as the window is judged by the latter
 * too. */
static double at_most(double power, double bound, double scatter, double *expanded)
{
    double mean = spurity_db_from_ratio(power), filled = spurity_db_from_ratio(bound);
    double with_scatter = hypot(*expanded, scatter);
    if (filled + *expanded < mean + with_scatter)
        return filled;
    *expanded = with_scatter;
    return mean;
}

static struct level level_of(const struct window *window, double width_hz)
{
    struct level level = window->level;
    const struct gathered *power = &window->power;
    double fill = width_hz / window->filter_hz;
    level.dbm = at_most(power->dbm * MISSED, power->dbm_bound * fill, window->scatter, &level.u_dbm_up);
    level.dbc = at_most(power->dbc * MISSED, power->dbc_bound * fill, window->scatter, &level.u_dbc_up);
    return level;
}

static void judge_window(struct run *run, const struct window *window)
{
    double middle = (window->from_hz + window->to_hz) / 2;
    if (!(window->power.dbm > 0 || window->power.dbc > 0) || !spurity_verdict_walk_covers(run->walk, middle))
        return;
    struct level level = level_of(window, run->width_hz);
    struct meeting meeting = spurity_verdict_meet_worst(run->walk, middle, &level);
    if (isnan(meeting.margin)) /* told of the points */
        return;
    spurity_verdict_keep_nearest(run->walk, window->rbw_hz, run->width_hz, middle, &meeting);
    if (meeting.outcome == SPURITY_OUTCOME_PASS)
        return;
    double whole = isnan(window->power.dbc) ? window->power.dbm : window->power.dbc;
    struct shred shred = {.from_hz = window->from_hz,
                          .to_hz = window->to_hz,
                          .cause = window->power.skirt > whole / 2 ? CAUSE_PHASE_NOISE : CAUSE_NOISE,
                          .need_db = meeting.uncertainty - meeting.margin,
                          .file = window->file,
                          .rbw_hz = window->rbw_hz,
                          .bandwidth_hz = run->width_hz,
                          .ratio = meeting.ratio};
    spurity_verdict_add_shred(run->walk, &shred);
}

static double middle_of(const struct window *window)
{
    return (window->from_hz + window->to_hz) / 2;
}

/* A batch passes whole when its highest window does at both ends (limits are monotone between). */
static void judge_batch(struct run *run)
{
    size_t worst = 0;
    bool known = true;
    for (size_t i = 0; i < run->batched; i++) {
        const struct gathered *one = &run->batch[i].power, *held = &run->batch[worst].power;
        known = known && !isnan(one->dbm) == !isnan(held->dbm) && !isnan(one->dbc) == !isnan(held->dbc);
        if (isnan(held->dbc) ? one->dbm > held->dbm : one->dbc > held->dbc)
            worst = i;
    }
    if (run->batched && known) {
        const struct window *high = &run->batch[worst];
        struct level level = level_of(high, run->width_hz);
        struct meeting first = spurity_verdict_meet_worst(run->walk, middle_of(&run->batch[0]), &level);
        struct meeting last = spurity_verdict_meet_worst(run->walk, middle_of(&run->batch[run->batched - 1]), &level);
        if (first.outcome == SPURITY_OUTCOME_PASS && last.outcome == SPURITY_OUTCOME_PASS) {
            judge_window(run, high);
            run->batched = 0;
            return;
        }
    }
    for (size_t i = 0; i < run->batched; i++)
        judge_window(run, &run->batch[i]);
    run->batched = 0;
}

/* What is not known stays so. */
static double higher(double a, double b)
{
    return isnan(a) || isnan(b) ? (double)NAN : fmax(a, b);
}

/* The last blocks that make up a window, or all there are of a shorter run. */
static void take_window(struct run *run, double to_hz)
{
    size_t count = run->closed < PARTS ? run->closed : PARTS;
    double hop = run->width_hz / PARTS;
    struct window *window = &run->batch[run->batched++];
    *window = run->laid;
    window->from_hz = fmax(run->start_hz, to_hz - hop * PARTS);
    window->to_hz = to_hz;
    for (size_t i = 0; i < count; i++) {
        window->power.dbm += run->ring[i].dbm;
        window->power.dbc += run->ring[i].dbc;
        window->power.skirt += run->ring[i].skirt;
        window->power.dbm_bound = higher(window->power.dbm_bound, run->ring[i].dbm_bound);
        window->power.dbc_bound = higher(window->power.dbc_bound, run->ring[i].dbc_bound);
    }
    if (run->batched == BATCH)
        judge_batch(run);
}

static void close_block(struct run *run, double to_hz)
{
    run->ring[run->closed % PARTS] = run->open;
    run->closed++;
    run->open = (struct gathered){0};
    if (run->closed >= PARTS)
        take_window(run, to_hz);
}

/* What a run shorter than the bandwidth holds is all that is known of it: less than the bandwidth would. */
static void end_run(struct run *run)
{
    if (run->width_hz > 0) {
        run->ring[run->closed % PARTS] = run->open;
        run->closed++;
        take_window(run, run->end_hz);
        judge_batch(run);
    }
    run->width_hz = 0;
}

static void start_run(struct run *run, double hz, double width_hz)
{
    end_run(run);
    run->width_hz = width_hz;
    run->start_hz = run->end_hz = hz;
    run->closed = 0;
    run->is_laid = false;
    run->open = (struct gathered){0};
    memset(run->ring, 0, sizeof run->ring);
}

/* What a window that ends here is told with: of how many looks it is the mean decides its scatter. */
static void note_laid(struct run *run)
{
    double looks = run->width_hz / run->noise.look_hz;
    double scatter = 2 * run->noise.sigma_db / sqrt(looks > 1 ? looks : 1);
    run->laid = (struct window){.level = run->cell.level, .file = run->cell.service->file, .rbw_hz = run->cell.rbw_hz};
    run->laid.level.u_dbm_up = hypot(run->laid.level.u_dbm_up, scatter);
    run->laid.level.u_dbc_up = hypot(run->laid.level.u_dbc_up, scatter);
    run->is_laid = true;
}

/* Lays noise of an even density on to the end of the run. */
static void lay(struct run *run, double to_hz, const struct noise *noise)
{
    double hop = run->width_hz / PARTS, at = run->end_hz;
    if (!run->is_laid)
        note_laid(run);
    while (at < to_hz) {
        double block_end = run->start_hz + (double)(run->closed + 1) * hop, next = fmin(block_end, to_hz);
        double held = noise->power / run->noise.bandwidth_hz * fmax(next - at, 0);
        run->open.dbm += held * run->dbm_factor;
        run->open.dbc += held * run->dbc_factor;
        if (noise->skirt)
            run->open.skirt += held * (isnan(run->dbc_factor) ? run->dbm_factor : run->dbc_factor);
        run->open.dbm_bound = higher(run->open.dbm_bound, noise->bound * run->dbm_factor);
        run->open.dbc_bound = higher(run->open.dbc_bound, noise->bound * run->dbc_factor);
        run->end_hz = at = next;
        if (next >= block_end)
            close_block(run, block_end);
    }
}

/* One point's piece of spectrum.  Within a piece far wider than the bandwidth all windows are alike: only its ends are
 * laid. */
static void add_piece(struct run *run, double from_hz, double to_hz, const struct noise *noise)
{
    double width = bandwidth_at(run, (from_hz + to_hz) / 2);
    if (!(to_hz > from_hz))
        return;
    if (!(width > run->noise.bandwidth_hz)) {
        end_run(run);
        return;
    }
    if (run->width_hz != width || fabs(from_hz - run->end_hz) > 1e-9 * from_hz + 1e-3)
        start_run(run, from_hz, width);
    if (to_hz - run->end_hz > 4 * width) {
        lay(run, run->end_hz + 2 * width, noise);
        start_run(run, to_hz - 2 * width, width);
    }
    lay(run, to_hz, noise);
}

/* Distance from the carrier within which nothing is asked: what is never judged, and the carrier itself. */
static double left_out_hz(const struct run *run)
{
    const struct walk *walk = run->walk;
    const struct judging *j = walk->j;
    double beyond = isnan(j->point->beyond_hz) ? 0 : j->point->beyond_hz;
    double itself = j->carrier->seen ? j->carrier->width_hz / 2 + 1.5 * run->cell.rbw_hz : 0;
    return fmax(fmax(walk->inner_hz, walk->modulation_hz), fmax(beyond, itself));
}

/* What is asked of a piece: below and above what is left out about the carrier, inside the range. */
static void add_asked(struct run *run, double from_hz, double to_hz, const struct noise *noise)
{
    const struct judging *j = run->walk->j;
    double f0 = j->carrier->frequency_hz, out = left_out_hz(run);
    from_hz = fmax(from_hz, j->from_hz);
    to_hz = fmin(to_hz, j->to_hz);
    add_piece(run, from_hz, fmin(to_hz, f0 - out), noise);
    add_piece(run, fmax(from_hz, f0 + out), to_hz, noise);
}

/* Of lines and of what is judged by itself only the floor under it counts; of the carrier's skirt all that stands
 * there. False where nothing can be told. */
static bool noise_at(struct run *run, const spurity_point *point, struct noise *noise)
{
    const struct cell *cell = &run->cell;
    const double low_db = run->noise.low_db;
    *noise = (struct noise){.bound = spurity_ratio_from_db(point->bound_db)};
    if (point->blind && !spurity_verdict_under_feedthrough(cell, point->frequency_hz))
        return false;
    if (point->line < 0) {
        noise->power = spurity_ratio_from_db(point->reading_db - low_db);
        return true;
    }
    const spurity_line *line = spurity_survey_line(cell->file->survey, (size_t)point->line);
    bool itself = spurity_verdict_judged_itself(run->walk, cell, point, &noise->skirt);
    if (!noise->skirt && (itself || line->character == SPURITY_LINE))
        noise->power = noise->bound = spurity_ratio_from_db(point->floor_db);
    else /* filter and noise, or modulation: not taken to read higher than it is */
        noise->power = spurity_ratio_from_db(point->reading_db - fmin(low_db, 0));
    return true;
}

/* Edges of the piece of spectrum that a point stands for. */
static double edge_between(const spurity_segment *view, const spurity_service *service, size_t left)
{
    if (left + 1 > service->last || left + 1 >= view->count)
        return service->to_hz;
    double edge = (view->frequency_hz[left] + view->frequency_hz[left + 1]) / 2;
    return fmin(fmax(edge, service->from_hz), service->to_hz);
}

static void feed_service(struct run *run, const spurity_segment *view)
{
    struct cell *cell = &run->cell;
    const spurity_service *service = cell->service;
    double from_hz = service->from_hz;
    for (size_t i = service->first; i <= service->last; i++) {
        spurity_point point;
        struct noise noise;
        double to_hz = edge_between(view, service, i);
        if (!spurity_survey_point(cell->file->survey, service->segment, i, &point))
            break;
        if ((i - service->first) % CHAIN_CELL == 0) {
            spurity_verdict_set_cell(run->walk, cell, point.frequency_hz);
            run->dbm_factor = spurity_ratio_from_db(cell->level.dbm);
            run->dbc_factor = spurity_ratio_from_db(cell->level.dbc);
            run->is_laid = false;
        }
        if (noise_at(run, &point, &noise))
            add_asked(run, from_hz, to_hz, &noise);
        else
            end_run(run);
        from_hz = to_hz;
    }
}

/* Whether any bandwidth asked for in a service is wider than its filter: a wider filter holds more than the bandwidth,
 * and its readings bound it. */
static bool is_fine(const struct run *run, const spurity_service *service, double filter_hz)
{
    double low = bandwidth_at(run, service->from_hz), high = bandwidth_at(run, service->to_hz);
    return low > filter_hz || high > filter_hz;
}

static void walk_service(struct run *run, const spurity_service *service)
{
    const struct judging *j = run->walk->j;
    const spurity_measured_file *file = spurity_measurement_file(j->measurement, (size_t)service->file);
    spurity_noise_reading noise;
    spurity_clipping clipping;
    spurity_segment view;
    spurity_measurement_clipping(j->measurement, service->file, &clipping);
    bool known = service->to_hz >= j->from_hz && service->from_hz <= j->to_hz && !clipping.blind &&
                 spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(file->survey)),
                                       service->segment, &view) &&
                 spurity_survey_noise(file->survey, service->segment, &noise);
    if (!known || !(noise.bandwidth_hz > 0) || !is_fine(run, service, noise.bandwidth_hz)) {
        end_run(run);
        return;
    }
    judge_batch(run); /* what is still open belongs to the file before */
    run->noise = noise;
    run->cell = (struct cell){.file = file,
                              .service = service,
                              .rbw_hz = view.facts.rbw_hz > 0 ? view.facts.rbw_hz : 0,
                              .half_step_hz = view.step_hz / 2,
                              .clipping = clipping};
    feed_service(run, &view);
}

bool spurity_verdict_walk_noise(struct walk *walk)
{
    struct run *run = calloc(1, sizeof *run);
    if (!run)
        return false;
    run->walk = walk;
    for (size_t s = 0; s < spurity_measurement_service_count(walk->j->measurement); s++)
        walk_service(run, spurity_measurement_service(walk->j->measurement, s));
    end_run(run);
    free(run);
    return true;
}
