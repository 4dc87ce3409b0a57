/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The sweeps of a swept instrument, each so that what it saves can be judged: fine about the carrier, wider ones about
 * it until its skirt is out of the way, the range in parts, each harmonic, what leaks and what is there anyway. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* A set is keyed for about ten seconds at a time (common practice); a stretch that takes more than a dozen such goes
 * is not planned. */
static const double KEY_DOWN_S = 10.0;
enum { KEY_DOWNS = 12, RUNGS = 8, HARMONIC_SWEEPS = 10, ORDER_MOST = 10 };
/* Cells of a peak detector that the carrier can fill: its own and those beside it. */
static const double CARRIER_CELLS = 3.5;
/* ... and as far as noise beside it may be taken for its skirt, and counts in full (seen on invented sweeps). */
static const double FOOTPRINT_CELLS = 18;
/* A set's frequency, and an instrument's, are off by no more than this (common practice: 50 ppm each). */
static const double OFF_PPM = 100.0;

/* ---- resolution ---- */

/* As the rules have it, else as Rec. ITU-R SM.329 would. */
static double reference_at(const struct planning *p, double hz)
{
    double reference = spurity_plan_reference_bandwidth(p, p->emissions, p->emission_count, hz, NULL);
    if (!isnan(reference))
        return reference;
    return hz < 150e3 ? 1e3 : hz < 30e6 ? 10e3 : hz < 1e9 ? 100e3 : 1e6;
}

static double widest_rbw(const struct planning *p, double from_hz, double to_hz)
{
    double least = reference_at(p, sqrt(from_hz * to_hz));
    least = fmin(least, reference_at(p, from_hz * (1 + 1e-6)));
    least = fmin(least, reference_at(p, to_hz * (1 - 1e-6)));
    return spurity_plan_step_down(least * (1 + 1e-9));
}

static double count_points(double span_hz, double rbw_hz)
{
    return fmin(SPURITY_PLAN_POINTS, fmax(101, ceil(span_hz / (rbw_hz / 2)) + 1));
}

double spurity_plan_skirt_reach(const struct planning *p)
{
    bool unknown;
    double at, near = fmax(p->f0 / 100, isnan(p->inner_hz) ? 0 : 2 * p->inner_hz);
    struct plan_limit limit = spurity_plan_nearest(p, fmax(p->f0 - near, p->f0 / 2), p->f0 + near, &at, &unknown);
    double down = isfinite(limit.room_dbm) ? p->high_dbm - limit.room_dbm + SPURITY_PLAN_RESERVE_DB : 60;
    down = fmin(fmax(down, 20), 120);
    /* Four synchronous poles: 40 log10(1 + x^2), x = 0.870 d / B (x = 0.435 at half of B, where it is 3 dB down). */
    return sqrt(pow(10, down / 40) - 1) / 0.870;
}

/* ---- frequencies that can be typed ---- */

/* Share of a span by which an end may move outwards for the sake of fewer digits. */
static const double ROUNDING = 0.002;

/* Outwards to four significant digits, or as many more as move it by no more than `most_hz`. */
static double outwards(double hz, double most_hz, bool up)
{
    double step = pow(10, floor(log10(hz)) - 3);
    while (step > most_hz && step > 1e-3)
        step /= 10;
    double whole = hz / step;
    return step * (up ? ceil(whole - 1e-6) : floor(whole + 1e-6));
}

/* Half a span, or a span, up to two significant digits. */
static double round_span(double hz)
{
    double step = pow(10, floor(log10(hz)) - 1);
    return step * ceil(hz / step - 1e-6);
}

/* Not beyond where the chain is known. */
static void make_typeable(const struct planning *p, double *from_hz, double *to_hz)
{
    double most = ROUNDING * (*to_hz - *from_hz);
    double from = outwards(*from_hz, most, false), to = outwards(*to_hz, most, true);
    if (from > 0 && (!isnan(spurity_plan_loss(p, from)) || isnan(spurity_plan_loss(p, *from_hz))))
        *from_hz = from;
    if (!isnan(spurity_plan_loss(p, to)) || isnan(spurity_plan_loss(p, *to_hz)))
        *to_hz = to;
}

/* ---- adding ---- */

static spurity_plan_sweep *put(struct planning *p, spurity_plan_purpose purpose, double from_hz, double to_hz,
                               double rbw_hz, double points, spurity_detector detector)
{
    spurity_plan_sweep *sweep = spurity_plan_add_sweep(p);
    if (!sweep)
        return NULL;
    if (purpose != SPURITY_PLAN_CARRIER && purpose != SPURITY_PLAN_HARMONIC) { /* those keep their middle */
        make_typeable(p, &from_hz, &to_hz);
        points = count_points(to_hz - from_hz, rbw_hz);
    }
    *sweep = (spurity_plan_sweep){.purpose = purpose,
                                  .start_hz = from_hz,
                                  .stop_hz = to_hz,
                                  .rbw_hz = rbw_hz,
                                  .points = (size_t)points,
                                  .detector = detector,
                                  .seconds = spurity_plan_seconds(to_hz - from_hz, rbw_hz),
                                  .sweeps = 1};
    return sweep;
}

/* A sweep no point of which the chain reaches is no file of a measurement. */
static bool out_of_chain(const struct planning *p, double from_hz, double to_hz)
{
    return isnan(spurity_plan_loss(p, from_hz)) && isnan(spurity_plan_loss(p, to_hz)) &&
           isnan(spurity_plan_loss(p, (from_hz + to_hz) / 2));
}

/* Room where it is least between from and to; NaN noise not said, +infinity no limit. */
static double margin_in(const struct planning *p, double from_hz, double to_hz, const struct plan_look *look)
{
    bool unknown, noise;
    double at;
    struct plan_limit limit = spurity_plan_nearest(p, from_hz, to_hz, &at, &unknown);
    if (!limit.candidate)
        return (double)INFINITY;
    return limit.room_dbm - spurity_plan_hidden_dbm(p, look, at, &noise);
}

/* A narrower RBW that shows less than this more is not worth its time. */
static const double WORTH_DB = 0.5;

/* ---- about the carrier ---- */

struct near {
    double reach;      /* in RBWs: beyond, a filter hides nothing */
    double ceiling_hz; /* RBW at most: each sweep about the carrier looks lower than the next wider one */
    double covered_hz; /* from the carrier to here everything is shown */
};

/* What could hide under the skirt stands over its readings, the more the fewer sweeps a key-down gives time for. */
static double finer_for_looks(double rbw, double edge_hz, double reach)
{
    for (; rbw > 1; rbw = spurity_plan_step_down(rbw / 2)) {
        double seconds = spurity_plan_seconds((SPURITY_PLAN_POINTS - 1) / 2.0 * rbw, rbw);
        double sweeps = fmin(HARMONIC_SWEEPS, fmax(1, floor(KEY_DOWN_S / seconds)));
        double hides_db = fmax(0, spurity_hidden_line_bound(0, 0, SPURITY_DETECTOR_AVERAGE, sweeps));
        double down = (1 + pow(0.870 * reach, 2)) * pow(10, hides_db / 40);
        if (edge_hz / rbw >= sqrt(down - 1) / 0.870)
            break;
    }
    return rbw;
}

static double carrier_rbw(const struct planning *p, double reach)
{
    double edge = p->inner_hz > 0 ? p->inner_hz : spurity_plan_bandwidth(p, NULL) / 2;
    double rbw = fmin(edge / reach, reference_at(p, p->f0 + edge));
    /* a frequency is read to about a fiftieth of the RBW: a tenth of a ppm is enough for every tolerance */
    if (p->asked & SPURITY_GROUP_FREQUENCY)
        rbw = fmin(rbw, fmax(10, SPURITY_RBW_PARTS * 1e-7 * p->f0));
    return fmax(1, finer_for_looks(spurity_plan_step_down(rbw), edge, reach));
}

static void name_ring(char *text, size_t size, double from_hz, double to_hz)
{
    char from[24], to[24];
    spurity_format_frequency(from, sizeof from, from_hz, 3);
    snprintf(text, size, "%s to %s off the carrier", from, spurity_format_frequency(to, sizeof to, to_hz, 1));
}

static spurity_status sweep_carrier(struct planning *p, struct near *near)
{
    char rbw_text[20], edge[20];
    double rbw = carrier_rbw(p, near->reach);
    double half = round_span(fmax((SPURITY_PLAN_POINTS - 1) / 4.0 * rbw, OFF_PPM * 1e-6 * p->f0));
    half = fmin(half, p->f0 / 2);
    double points = 2 * ceil(2 * half / rbw) + 1;
    spurity_plan_sweep *sweep =
        put(p, SPURITY_PLAN_CARRIER, p->f0 - half, p->f0 + half, rbw, points, SPURITY_DETECTOR_AVERAGE);
    if (!sweep)
        return SPURITY_SYSTEM;
    sweep->sweeps = fmin(HARMONIC_SWEEPS, fmax(1, floor(KEY_DOWN_S / sweep->seconds)));
    double sweeps = sweep->sweeps;
    spurity_format_frequency(rbw_text, sizeof rbw_text, rbw, 3);
    spurity_format_frequency(edge, sizeof edge, fmax(p->inner_hz, 0), 3);
    snprintf(sweep->why, sizeof sweep->why,
             "the carrier's level and frequency%s; %s RBW keeps its skirt off what stands from %s on%s",
             p->point->modulation > SPURITY_MODULATION_NONE ? "" : ", set keyed without modulation", rbw_text, edge,
             points > SPURITY_PLAN_POINTS ? "; in parts if points are fewer" : "");
    near->covered_hz = half;
    if (!p->emission_count || isnan(p->inner_hz))
        return SPURITY_OK;
    char what[60];
    name_ring(what, sizeof what, fmax(p->inner_hz, 0), half);
    struct plan_look look = {rbw, SPURITY_DETECTOR_AVERAGE, points, sweeps, rbw / 2, what};
    return spurity_plan_see_stretch(p, p->f0 - half, p->f0 + half, &look);
}

struct rung {
    double half_hz;
    struct plan_look look;
};

static struct rung rung_with(const struct near *near, double rbw_hz, double cell_hz, double target_hz)
{
    struct rung rung;
    double most = (1 - 2 * ROUNDING) * cell_hz * (SPURITY_PLAN_POINTS - 1) / 2;
    double soon = (1 - 2 * ROUNDING) * KEY_DOWN_S * rbw_hz * rbw_hz / 5;
    rung.half_hz = fmin(fmin(most, target_hz), soon);
    rung.half_hz = fmax(rung.half_hz, 1.5 * near->covered_hz);
    double points = count_points(2 * rung.half_hz, rbw_hz), cell = 2 * rung.half_hz / (points - 1);
    rung.look = (struct plan_look){rbw_hz, SPURITY_DETECTOR_PEAK, points, spurity_plan_looks(cell, rbw_hz), cell, NULL};
    return rung;
}

/* One wider sweep about the carrier: its RBW such that the skirt ends well inside what is covered, its cells such that
 * those the carrier fills lie there too. */
static struct rung plan_rung(const struct planning *p, const struct near *near, double target_hz)
{
    double rbw = spurity_plan_step_down(fmin(near->covered_hz / (2 * near->reach), reference_at(p, p->f0 * 1.0001)));
    rbw = fmax(fmin(rbw, near->ceiling_hz), 1);
    double cell = (near->covered_hz - near->reach * rbw) / CARRIER_CELLS;
    struct rung best = rung_with(near, rbw, cell, target_hz);
    double held = margin_in(p, fmax(p->f0 - best.half_hz, p->f0 / 2), p->f0 + best.half_hz, &best.look);
    while (rbw > 10 && held < SPURITY_PLAN_RESERVE_DB) {
        rbw = spurity_plan_step_down(rbw / 2);
        struct rung finer = rung_with(near, rbw, cell, target_hz);
        double margin = margin_in(p, fmax(p->f0 - finer.half_hz, p->f0 / 2), p->f0 + finer.half_hz, &finer.look);
        if (spurity_plan_seconds(2 * finer.half_hz, rbw) > 6 * KEY_DOWN_S || margin < held + WORTH_DB)
            break;
        best = finer;
        held = margin;
    }
    return best;
}

static spurity_status sweep_rung(struct planning *p, struct near *near, double target_hz)
{
    struct rung rung = plan_rung(p, near, target_hz);
    char what[60], reach[24];
    double from = fmax(p->f0 - rung.half_hz, fmin(p->from_hz, p->f0 / 2)), to = p->f0 + rung.half_hz;
    double rbw = rung.look.rbw_hz;
    spurity_plan_sweep *sweep =
        put(p, SPURITY_PLAN_RANGE, from, to, rbw, count_points(to - from, rbw), SPURITY_DETECTOR_PEAK);
    if (!sweep)
        return SPURITY_SYSTEM;
    snprintf(sweep->why, sizeof sweep->why, "what a wider RBW would hide under the carrier's skirt, from %s off",
             spurity_format_frequency(reach, sizeof reach, near->covered_hz, 3));
    name_ring(what, sizeof what, near->covered_hz, rung.half_hz);
    rung.look.what = what;
    near->covered_hz = rung.half_hz;
    return spurity_plan_see_stretch(p, from, to, &rung.look);
}

/* ---- the range ---- */

/* A stretch of one widest RBW, in parts each as long as a key-down. */
struct part {
    double from_hz, to_hz;
    struct plan_look look;
    int pieces;
};

static void look_with(struct part *part, double rbw_hz)
{
    double span = part->to_hz - part->from_hz;
    part->pieces = (int)fmin(1000, fmax(1, ceil(spurity_plan_seconds(span, rbw_hz) / KEY_DOWN_S - 1e-9)));
    double points = count_points(span / part->pieces, rbw_hz), cell = span / part->pieces / (points - 1);
    part->look = (struct plan_look){
        rbw_hz, SPURITY_DETECTOR_PEAK, points * part->pieces, spurity_plan_looks(cell, rbw_hz), cell, ""};
}

/* The widest RBW to begin with: ten of it above 0 Hz an instrument's own line there is 80 dB down (four poles). */
static double first_rbw(const struct planning *p, double from_hz, double to_hz)
{
    return fmin(widest_rbw(p, from_hz, to_hz), spurity_plan_step_down(fmin(from_hz / 10, (to_hz - from_hz) / 20)));
}

/* The widest, and so fastest, RBW in which a pass could be shown; where none could, the one that comes nearest, as far
 * as there is time for it. */
static struct part plan_part(const struct planning *p, double from_hz, double to_hz)
{
    struct part part = {.from_hz = from_hz, .to_hz = to_hz};
    double rbw = first_rbw(p, from_hz, to_hz);
    look_with(&part, rbw);
    double held = margin_in(p, from_hz, to_hz, &part.look);
    struct part finer = part;
    while (rbw > 10 && held < SPURITY_PLAN_RESERVE_DB) {
        rbw = spurity_plan_step_down(rbw / 2);
        look_with(&finer, rbw);
        double margin = margin_in(p, from_hz, to_hz, &finer.look);
        if (finer.pieces > KEY_DOWNS)
            break;
        if (margin < held + WORTH_DB)
            continue;
        part = finer;
        held = margin;
    }
    return part;
}

enum { PARTS_MOST = 5 };

static size_t split_range(const struct planning *p, struct part parts[PARTS_MOST])
{
    static const double steps[] = {150e3, 30e6, 1e9}; /* Rec. ITU-R SM.329: where the reference bandwidth changes */
    double from = p->from_hz;
    size_t count = 0;
    for (size_t i = 0; i <= sizeof steps / sizeof *steps; i++) {
        double to = i < sizeof steps / sizeof *steps ? fmin(steps[i], p->to_hz) : p->to_hz;
        if (!(to > from * (1 + 1e-6)))
            continue;
        /* at the step itself, where the stricter side's limit holds, the neighbour sees as well */
        parts[count] = plan_part(p, count ? from * (1 + 1e-7) : from, to);
        parts[count++].from_hz = from;
        from = to;
    }
    return count;
}

/* How far from the carrier the range's own sweeps are blind for it, or may take noise for its skirt. */
static double blind_hz(const struct planning *p, const struct part *part, double reach)
{
    double mine = 1.2 * (FOOTPRINT_CELLS * part->look.cell_hz + reach * part->look.rbw_hz);
    return p->f0 > part->from_hz - mine && p->f0 < part->to_hz + mine ? mine : 0;
}

/* How far from the carrier finer sweeps must reach, and of what RBW they are at most, so that they look lower there
 * than the range's own. */
static double target_hz(const struct planning *p, const struct part *parts, size_t count, struct near *near)
{
    double target = 0;
    near->ceiling_hz = (double)INFINITY;
    for (size_t i = 0; i < count; i++) {
        double blind = blind_hz(p, &parts[i], near->reach);
        target = fmax(target, blind);
        if (blind > near->covered_hz)
            near->ceiling_hz = fmin(near->ceiling_hz, spurity_plan_step_down(parts[i].look.rbw_hz / 10));
    }
    return target;
}

static spurity_status sweep_part(struct planning *p, const struct part *part)
{
    double span = (part->to_hz - part->from_hz) / part->pieces;
    for (int i = 0; i < part->pieces; i++) {
        double from = part->from_hz + i * span, to = from + span;
        if (out_of_chain(p, from, to))
            continue;
        /* neighbours share an RBW and a cell, so that no edge is left between them */
        from = i ? from - part->look.rbw_hz - part->look.cell_hz : from;
        spurity_plan_sweep *sweep = put(p, SPURITY_PLAN_RANGE, from, to, part->look.rbw_hz,
                                        count_points(to - from, part->look.rbw_hz), SPURITY_DETECTOR_PEAK);
        if (!sweep)
            return SPURITY_SYSTEM;
        if (part->pieces > 1)
            snprintf(sweep->why, sizeof sweep->why,
                     "part %d of %d of the range, each no longer than a key-down: rest between them", i + 1,
                     part->pieces);
        else
            snprintf(sweep->why, sizeof sweep->why,
                     "what stands anywhere in the range; the peak detector misses no line between points");
    }
    double from = part->from_hz > p->from_hz ? part->from_hz * (1 + 1e-7) : part->from_hz;
    double to = part->to_hz < p->to_hz ? part->to_hz * (1 - 1e-7) : part->to_hz;
    return spurity_plan_see_stretch(p, from, to, &part->look);
}

/* ---- harmonics ---- */

static double harmonic_span(const struct planning *p, int order, double rbw_hz)
{
    double wide = fmax(2 * OFF_PPM * 1e-6 * p->f0, 4 * spurity_plan_bandwidth(p, NULL)) * order;
    return fmin(round_span(fmax(100 * rbw_hz, wide)), (SPURITY_PLAN_POINTS - 1) / 2 * rbw_hz);
}

static struct plan_look harmonic_with(const struct planning *p, int order, double rbw_hz)
{
    double points = ceil(harmonic_span(p, order, rbw_hz) / (rbw_hz / 2)) + 1;
    return (struct plan_look){rbw_hz, SPURITY_DETECTOR_AVERAGE, points, HARMONIC_SWEEPS, rbw_hz / 2, NULL};
}

/* The widest RBW up to 10 kHz that leaves room, else the one that comes nearest. */
static struct plan_look plan_harmonic(const struct planning *p, int order, const struct plan_limit *limit)
{
    double hz = order * p->f0, rbw = spurity_plan_step_down(fmin(reference_at(p, hz), 10e3));
    struct plan_look look = harmonic_with(p, order, rbw);
    bool noise;
    double held = limit->room_dbm - spurity_plan_hidden_dbm(p, &look, hz, &noise);
    while (rbw > 100 && held < 2 * SPURITY_PLAN_RESERVE_DB) {
        rbw = spurity_plan_step_down(rbw / 2);
        struct plan_look finer = harmonic_with(p, order, rbw);
        double margin = limit->room_dbm - spurity_plan_hidden_dbm(p, &finer, hz, &noise);
        if (margin < held + WORTH_DB)
            break;
        look = finer;
        held = margin;
    }
    return look;
}

static spurity_status sweep_harmonic(struct planning *p, int order)
{
    double hz = order * p->f0;
    struct plan_limit limit = spurity_plan_limit_at(p, p->emissions, p->emission_count, hz);
    struct plan_look look = plan_harmonic(p, order, &limit);
    double rbw = look.rbw_hz, points = look.points, span = harmonic_span(p, order, rbw);
    double own = order <= 3 ? spurity_plan_own_dbm(p, order) : (double)NAN;
    bool step = limit.candidate && own > limit.room_dbm - SPURITY_PLAN_SAFETY_DB;
    for (int more = 0; more <= (step ? 20 : 0) && !out_of_chain(p, hz - span / 2, hz + span / 2); more += 10) {
        spurity_plan_sweep *sweep =
            put(p, SPURITY_PLAN_HARMONIC, hz - span / 2, hz + span / 2, rbw, points, SPURITY_DETECTOR_AVERAGE);
        if (!sweep)
            return SPURITY_SYSTEM;
        sweep->sweeps = HARMONIC_SWEEPS;
        sweep->more_pad_db = more;
        snprintf(sweep->why, sizeof sweep->why,
                 more ? "harmonic %d with %d dB more pad: the set's own holds still, the instrument's falls"
                      : "harmonic %d: its frequency and level, read finely",
                 order, more);
    }
    return spurity_plan_see_harmonic(p, order, &look);
}

static spurity_status sweep_harmonics(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    for (int n = 2; n <= ORDER_MOST && !status; n++)
        if (spurity_plan_judged_at(p, n * p->f0))
            status = sweep_harmonic(p, n);
    return status;
}

/* ---- leakage and ambient ---- */

/* The whole range, once for each purpose: from the part that holds the carrier on as that part is, since what leaks is
 * the carrier and its harmonics; below, and where that takes longer than a key-down, part by part in its widest RBW. */
static spurity_status sweep_beside(struct planning *p, const struct part *parts, size_t count)
{
    static const struct {
        spurity_plan_purpose purpose;
        const char *why;
    } kinds[] = {{SPURITY_PLAN_LEAKAGE, "set keyed into its load, the cable taken off the instrument's end of the last "
                                        "pad and both terminated: what by-passes the pads"},
                 {SPURITY_PLAN_AMBIENT, "set not keyed, all else in place: what is there anyway"}};
    size_t with = count - 1;
    for (size_t i = 0; i < count; i++)
        if (p->f0 >= parts[i].from_hz && p->f0 <= parts[i].to_hz)
            with = i;
    bool whole = spurity_plan_seconds(p->to_hz - parts[with].from_hz, parts[with].look.rbw_hz) <= KEY_DOWN_S;
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        for (size_t k = 0; k < (whole ? with + 1 : count); k++) {
            double from = parts[k].from_hz, to = whole && k == with ? p->to_hz : parts[k].to_hz;
            double rbw = whole && k == with ? parts[k].look.rbw_hz : first_rbw(p, from, to);
            spurity_plan_sweep *sweep = put(p, kinds[i].purpose, from, to, rbw, 0, SPURITY_DETECTOR_PEAK);
            if (!sweep)
                return SPURITY_SYSTEM;
            snprintf(sweep->why, sizeof sweep->why, "%s", kinds[i].why);
        }
    return SPURITY_OK;
}

/* ---- the door of this room ---- */

static spurity_status sweep_emissions(struct planning *p, struct near *near)
{
    struct part parts[PARTS_MOST];
    size_t count = split_range(p, parts);
    spurity_status status = SPURITY_OK;
    if (!count) {
        spurity_plan_block(p, "the range is too narrow to be swept: it spans less than a millionth of where it lies");
        return SPURITY_OK;
    }
    for (int i = 0; i < RUNGS && near->covered_hz < target_hz(p, parts, count, near) && !status; i++)
        status = sweep_rung(p, near, target_hz(p, parts, count, near));
    for (size_t i = 0; i < count && !status; i++)
        status = sweep_part(p, &parts[i]);
    if (!status)
        status = sweep_harmonics(p);
    return status ? status : sweep_beside(p, parts, count);
}

/* With the set modulated what stands between the inner edge and 2.5 times the necessary bandwidth may be its
 * modulation, and a verdict leaves it open. */
static spurity_status see_modulation(struct planning *p)
{
    double reach = 2.5 * spurity_plan_bandwidth(p, NULL);
    char text[24];
    if (p->point->modulation <= SPURITY_MODULATION_NONE || !(p->inner_hz > 0) || p->inner_hz >= reach)
        return SPURITY_OK;
    spurity_plan_visibility *item = spurity_plan_add_visibility(p);
    if (!item)
        return SPURITY_SYSTEM;
    *item = (spurity_plan_visibility){.frequency_hz = p->f0 + p->inner_hz,
                                      .from_hz = p->f0 - reach,
                                      .to_hz = p->f0 + reach,
                                      .limit_dbm = (double)NAN,
                                      .rbw_hz = (double)NAN,
                                      .floor_dbm = (double)NAN,
                                      .bound_dbm = (double)NAN,
                                      .margin_db = (double)NAN};
    spurity_format_frequency(text, sizeof text, reach, 3);
    snprintf(item->what, sizeof item->what, "within %s, modulated", text);
    snprintf(item->advice, sizeof item->advice,
             "with the set modulated what stands within %s may belong to the modulation: take emissions unmodulated, "
             "and the mask by itself (--only mask)",
             text);
    spurity_plan_block(p, "%s", item->advice);
    return SPURITY_OK;
}

spurity_status spurity_plan_sweeps(struct planning *p)
{
    struct near near = {.reach = spurity_plan_skirt_reach(p)};
    if (!isnan(p->question->rate_hz))
        return SPURITY_OK; /* captures instead */
    bool only_masks = p->asked == SPURITY_GROUP_MASK;
    spurity_status status = only_masks ? SPURITY_OK : sweep_carrier(p, &near);
    /* also where no clause sets a figure: what the set puts out is told all the same */
    if (!status && (p->asked & SPURITY_GROUP_EMISSIONS) && p->to_hz > p->from_hz)
        status = sweep_emissions(p, &near);
    if (!status && p->emission_count)
        status = see_modulation(p);
    return status;
}
