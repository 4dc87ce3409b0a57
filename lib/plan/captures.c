/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Captures of a receiver of given bandwidth.  What is trusted of one is its band without the edges, less where the
 * receiver is tuned.  Centres come in pairs: the second is tuned so that the trusted band of each holds the centre of
 * the other, then the next pair begins where the trusted bands end: four captures for three bands, the fewest there can
 * be. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

/* More captures than this are no plan for a person; what they would have shown is not planned then. */
enum { CAPTURES_MOST = 5000, ORDER_MOST = 10 };
/* Power averages: few enough to be quick, enough to find the receiver's image by its coherence and to lower the bound
 * of what hides. */
static const double AVERAGES = 64;
static const double LEAST_S = 0.2;
/* Of the trusted band: overlap of neighbours, and how far from a centre nothing that matters may stand. */
static const double OVERLAP = 0.02, CLEAR = 0.03, PAIR = 0.45;

struct tiling {
    double rate_hz, band_hz; /* band: what is trusted, both sides */
    double carrier_rbw_hz;
    bool harmonics_only;
};

static double band_of(const struct planning *p)
{
    return p->question->rate_hz * (1 - 2 * p->point->edge_fraction);
}

/* The carrier or one of its harmonics within `clear` of a centre; 0 none. */
static double too_near(const struct planning *p, double center_hz, double clear_hz)
{
    double n = fmax(1, round(center_hz / p->f0));
    return n <= ORDER_MOST && fabs(center_hz - n * p->f0) < clear_hz ? n * p->f0 : 0;
}

/* A centre pulled down until it is clear of all that matters. */
static double clear_center(const struct planning *p, const struct tiling *tiling, double center_hz)
{
    double clear = CLEAR * tiling->band_hz, near = too_near(p, center_hz, clear);
    return near > 0 ? near - 1.01 * clear : center_hz;
}

/* ---- what one capture sees ---- */

static double reference_at(const struct planning *p, double hz)
{
    double reference = spurity_plan_reference_bandwidth(p, p->emissions, p->emission_count, hz, NULL);
    return isnan(reference) ? 10e3 : reference;
}

/* Bins of a capture are finer than its RBW by about 4.5 (the window of the levels). */
static struct plan_look look_with(const struct tiling *tiling, double rbw_hz, const char *what)
{
    double bin = rbw_hz / 4.5;
    return (struct plan_look){rbw_hz, SPURITY_DETECTOR_AVERAGE, tiling->band_hz / bin, AVERAGES, bin, what};
}

static double choose_rbw(const struct planning *p, const struct tiling *tiling, double from_hz, double to_hz)
{
    double least = fmin(reference_at(p, from_hz * (1 + 1e-6)), reference_at(p, to_hz * (1 - 1e-6))), at;
    double rbw = spurity_plan_step_down(fmin(least, tiling->rate_hz / 300));
    bool unknown;
    struct plan_limit limit = spurity_plan_nearest(p, from_hz, to_hz, &at, &unknown);
    while (rbw > 30 && limit.candidate) {
        struct plan_look look = look_with(tiling, rbw, NULL);
        bool noise;
        double hidden = spurity_plan_hidden_dbm(p, &look, at, &noise);
        if (!(limit.room_dbm - hidden < SPURITY_PLAN_RESERVE_DB) || noise) /* noise is the same in every RBW */
            break;
        rbw = spurity_plan_step_down(rbw / 2);
    }
    return rbw;
}

static double holds_order(const struct planning *p, double from_hz, double to_hz)
{
    double n = ceil(from_hz / p->f0);
    return n >= 1 && n <= ORDER_MOST && n * p->f0 <= to_hz ? n : 0;
}

static void tell_why(const struct planning *p, const struct tiling *tiling, spurity_plan_capture *capture, double order)
{
    bool in_band = fabs(p->f0 - capture->center_hz) <= tiling->rate_hz / 2;
    if (order <= 1 && in_band)
        snprintf(
            capture->why, sizeof capture->why,
            "the carrier, away from where the receiver is tuned; set the gain here so that no sample stands at the "
            "rails, then leave it");
    else if (order > 1)
        snprintf(capture->why, sizeof capture->why, "holds harmonic %.0f, away from where the receiver is tuned",
                 order);
    else
        snprintf(capture->why, sizeof capture->why, "part of the range; its neighbour shows what its own centre hides");
    if (!in_band)
        snprintf(capture->filter, sizeof capture->filter, "for the carrier, or 10 and 20 dB more pad");
}

static spurity_status put(struct planning *p, const struct tiling *tiling, spurity_plan_purpose purpose,
                          double center_hz, double rbw_hz)
{
    spurity_plan_capture *capture = spurity_plan_add_capture(p);
    if (!capture)
        return SPURITY_SYSTEM;
    double from = center_hz - tiling->band_hz / 2, to = center_hz + tiling->band_hz / 2;
    double order = holds_order(p, from, to);
    bool carrier = p->f0 >= from && p->f0 <= to;
    *capture = (spurity_plan_capture){.purpose = purpose,
                                      .center_hz = center_hz,
                                      .rate_hz = tiling->rate_hz,
                                      .from_hz = from,
                                      .to_hz = to,
                                      .rbw_hz = carrier ? fmin(rbw_hz, tiling->carrier_rbw_hz) : rbw_hz};
    capture->seconds = ceil(10 * fmax(LEAST_S, AVERAGES / capture->rbw_hz)) / 10;
    if (purpose == SPURITY_PLAN_RANGE && order > 0)
        capture->purpose = carrier ? SPURITY_PLAN_CARRIER : SPURITY_PLAN_HARMONIC;
    tell_why(p, tiling, capture, carrier ? 1 : order);
    return SPURITY_OK;
}

/* Two captures that show each other's centre, from `from_hz` on.  Where the trusted bands end: *next_hz. */
static spurity_status put_pair(struct planning *p, const struct tiling *tiling, double from_hz, double rbw_hz,
                               double *next_hz)
{
    double band = tiling->band_hz;
    double first = clear_center(p, tiling, from_hz + band / 2);
    double second = clear_center(p, tiling, first + PAIR * band);
    spurity_status status = put(p, tiling, SPURITY_PLAN_RANGE, first, rbw_hz);
    if (!status)
        status = put(p, tiling, SPURITY_PLAN_RANGE, second, rbw_hz);
    *next_hz = second + band / 2 - OVERLAP * band;
    return status;
}

/* ---- stretches ---- */

static spurity_status tile(struct planning *p, const struct tiling *tiling, double from_hz, double to_hz)
{
    double rbw = choose_rbw(p, tiling, from_hz, to_hz);
    spurity_status status = SPURITY_OK;
    double margin = fmax(OVERLAP * tiling->band_hz, 3 * rbw); /* the receiver's edge falls between bins */
    for (double at = from_hz - margin; at < to_hz + margin && !status;)
        status = put_pair(p, tiling, at, rbw, &at);
    struct plan_look look = look_with(tiling, rbw, "");
    /* at a step between stretches the stricter side's limit is the neighbour's */
    to_hz = to_hz < p->to_hz ? to_hz * (1 - 1e-7) : to_hz;
    return status ? status : spurity_plan_see_stretch(p, from_hz, to_hz, &look);
}

static spurity_status see_harmonics(struct planning *p, const struct tiling *tiling)
{
    spurity_status status = SPURITY_OK;
    for (int n = 2; n <= ORDER_MOST && !status; n++) {
        double hz = n * p->f0, unused;
        if (!spurity_plan_judged_at(p, hz))
            continue;
        double rbw = choose_rbw(p, tiling, hz - tiling->band_hz / 4, hz + tiling->band_hz / 4);
        if (tiling->harmonics_only)
            status = put_pair(p, tiling, hz - 0.7 * tiling->band_hz, rbw, &unused);
        struct plan_look look = look_with(tiling, rbw, NULL);
        if (!status)
            status = spurity_plan_see_harmonic(p, n, &look);
    }
    return status;
}

static spurity_status tile_range(struct planning *p, const struct tiling *tiling)
{
    static const double steps[] = {150e3, 30e6, 1e9}; /* where the reference bandwidth changes: SM.329 */
    double from = p->from_hz;
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i <= sizeof steps / sizeof *steps && !status; i++) {
        double to = i < sizeof steps / sizeof *steps ? fmin(steps[i], p->to_hz) : p->to_hz;
        if (!(to > from * (1 + 1e-6)))
            continue;
        status = tile(p, tiling, from, to);
        from = to;
    }
    return status;
}

/* A receiver too narrow for the range: what it would take is told. */
static spurity_status tell_too_many(struct planning *p, double count)
{
    spurity_plan_visibility *item = spurity_plan_add_visibility(p);
    char wanted[24];
    if (!item)
        return SPURITY_SYSTEM;
    *item = (spurity_plan_visibility){.frequency_hz = p->from_hz,
                                      .from_hz = p->from_hz,
                                      .to_hz = p->to_hz,
                                      .what = "the range between harmonics",
                                      .limit_dbm = (double)NAN,
                                      .rbw_hz = (double)NAN,
                                      .floor_dbm = (double)NAN,
                                      .bound_dbm = (double)NAN,
                                      .margin_db = (double)NAN};
    spurity_format_frequency(wanted, sizeof wanted, ceil(p->question->rate_hz * count / CAPTURES_MOST / 1e6) * 1e6, 3);
    snprintf(item->advice, sizeof item->advice,
             "%.0f captures of this bandwidth would show it: take a swept instrument, a receiver of %s or more, or "
             "--range",
             count, wanted);
    spurity_plan_block(p, "%s: %s", item->what, item->advice);
    return SPURITY_OK;
}

static spurity_status see_carrier(struct planning *p, const struct tiling *tiling)
{
    double half = tiling->band_hz / 4;
    if (isnan(p->inner_hz))
        return SPURITY_OK;
    struct plan_look look = look_with(tiling, tiling->carrier_rbw_hz, "about the carrier");
    return spurity_plan_see_stretch(p, fmax(p->f0 - half, p->f0 / 2), p->f0 + half, &look);
}

static spurity_status capture_emissions(struct planning *p, struct tiling *tiling)
{
    double pairs = ceil((p->to_hz - p->from_hz) / ((1 + PAIR - OVERLAP - 2 * CLEAR) * tiling->band_hz));
    tiling->harmonics_only = 2 * pairs > CAPTURES_MOST;
    double unused;
    spurity_status status = SPURITY_OK;
    if (tiling->harmonics_only)
        status = put_pair(p, tiling, p->f0 - 0.7 * tiling->band_hz, tiling->carrier_rbw_hz, &unused);
    if (!status)
        status = see_carrier(p, tiling);
    if (!status)
        status = tiling->harmonics_only ? tell_too_many(p, 2 * pairs) : tile_range(p, tiling);
    return status ? status : see_harmonics(p, tiling);
}

spurity_status spurity_plan_captures(struct planning *p)
{
    struct tiling tiling = {.rate_hz = p->question->rate_hz, .band_hz = band_of(p)};
    double unused;
    if (isnan(tiling.rate_hz))
        return SPURITY_OK;
    /* The sharp window is 92 dB down four bins, two RBWs, from a line: the skirt ends well before the inner edge. */
    double edge = p->inner_hz > 0 ? p->inner_hz : spurity_plan_bandwidth(p, NULL) / 2;
    double most = fmin(fmin(edge / 10, tiling.rate_hz / 300), spurity_plan_mask_rbw(p)); /* passes NaN over */
    tiling.carrier_rbw_hz = fmax(1, spurity_plan_step_down(most));
    bool swept = (p->asked & SPURITY_GROUP_EMISSIONS) && p->to_hz > p->from_hz;
    spurity_status status = swept ? capture_emissions(p, &tiling)
                                  : put_pair(p, &tiling, p->f0 - 0.7 * tiling.band_hz, tiling.carrier_rbw_hz, &unused);
    double center = p->f0 + 0.2 * tiling.band_hz;
    if (!status)
        status = put(p, &tiling, SPURITY_PLAN_LEAKAGE, center, tiling.carrier_rbw_hz);
    if (!status)
        status = put(p, &tiling, SPURITY_PLAN_AMBIENT, center, tiling.carrier_rbw_hz);
    if (status || p->plan->capture_count < 2)
        return status;
    spurity_plan_capture *last = &p->plan->captures[p->plan->capture_count - 2];
    snprintf(
        last[0].why, sizeof last[0].why,
        "set keyed into its load, the cable taken off the receiver's end of the last pad and both terminated: what "
        "by-passes the pads");
    snprintf(last[1].why, sizeof last[1].why, "set not keyed, same gain: what is there anyway");
    last[0].filter[0] = last[1].filter[0] = '\0';
    return SPURITY_OK;
}
