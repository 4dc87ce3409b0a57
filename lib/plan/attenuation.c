/* SPDX-License-Identifier: GPL-2.0-or-later */
/* How much attenuation makes the instrument safe, what arrives at each element of the chain, and what happens where one
 * is left out.  The higher end of the power counts. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* What pads are sold in (common practice). */
static const double PAD_STEP_DB = 10.0;
/* A pad that turns more than half its rating into heat gets a rest (common practice): ten seconds, then a minute. */
static const double HALF = 0.5;
/* Taken where nobody says what the instrument bears: many receivers are damaged from +10 dBm (common practice). */
static const double CAREFUL_INPUT_DBM = 10.0;
/* A filter takes the carrier by this much more than what lies beside it: it reflects it. */
static const double FILTER_DB = 20.0;

/* ---- what is needed ---- */

static double round_up(double db)
{
    return PAD_STEP_DB * ceil(fmax(db, 0) / PAD_STEP_DB - 1e-9);
}

/* ---- a chain to propose ---- */

static double buyable_rating(double watts)
{
    static const double sold[] = {0.5, 1, 2, 5, 10, 20, 25, 50, 100, 150, 200, 250, 500, 1000, 2000, 5000};
    for (size_t i = 0; i < sizeof sold / sizeof *sold; i++)
        if (sold[i] >= watts * (1 - 1e-9))
            return sold[i];
    return 1000 * ceil(watts / 1000);
}

/* The first pad takes the power, the rest what is left; each of twice the rating it needs. */
static spurity_status propose(struct planning *p, double needed_db)
{
    spurity_status status = spurity_chain_create(&p->proposed, p->error);
    double watts = spurity_watts_from_dbm(p->high_dbm);
    for (double left = needed_db; left > 0 && !status;) {
        double db = left > 40 ? 30 : left > 30 ? left - PAD_STEP_DB : left;
        status = spurity_chain_add_pad(p->proposed, db, (double)NAN, (double)NAN, buyable_rating(2 * watts), p->error);
        watts *= spurity_ratio_from_db(-db);
        left -= db;
    }
    if (!status && !spurity_chain_element_count(p->proposed))
        status = spurity_chain_set_kind(p->proposed, SPURITY_CHAIN_DIRECT, p->error);
    p->chain = p->proposed;
    return status;
}

/* ---- the elements ---- */

static double element_db(const struct planning *p, const spurity_chain_element *element, double hz)
{
    double db = element->db;
    if (element->curve && !spurity_curve_at(element->curve, hz, &db, NULL))
        return (double)NAN;
    return db;
}

/* A notch or high-pass: takes the carrier by far more than its harmonics. */
static bool is_filter(const struct planning *p, const spurity_chain_element *element)
{
    double at_carrier = element_db(p, element, p->f0), least = (double)INFINITY;
    for (int n = 2; n <= 10 && element->curve; n++)
        least = fmin(least, element_db(p, element, n * p->f0));
    return element->curve && at_carrier >= least + FILTER_DB;
}

/* What stands behind element `out`, were it left out: damage limit and ratings of what follows. */
static void leave_out(const struct planning *p, size_t out, spurity_plan_attenuator *item)
{
    spurity_chain_element element;
    double peak = p->peak_dbm, mean = p->high_dbm;
    for (size_t i = 0; spurity_chain_element_at(p->chain, i, &element); i++) {
        if (i == out)
            continue;
        if (i > out && element.rating_w < spurity_watts_from_dbm(mean))
            item->missing_harms = true;
        peak -= element_db(p, &element, p->f0);
        mean -= element_db(p, &element, p->f0);
    }
    item->missing_input_dbm = peak;
    if (peak > p->question->max_input_dbm)
        item->missing_harms = true;
}

static void tell_filter(struct planning *p, spurity_plan_attenuator *item, double before_db, bool before_rated)
{
    if (before_db >= 10 && before_rated) {
        snprintf(item->why, sizeof item->why,
                 "a filter: takes the carrier %.0f dB and sends it back; %.0f dB of pad before it bear that", item->db,
                 before_db);
        return;
    }
    snprintf(item->why, sizeof item->why,
             "a filter sends the carrier back into the set: at least 10 dB of rated pad belong before it");
    spurity_plan_block(p,
                       "put at least 10 dB of rated pad between the set and the filter '%.40s', which sends the "
                       "carrier back",
                       item->name);
}

static void tell_pad(struct planning *p, spurity_plan_attenuator *item)
{
    char arrives[40], rated[40], heat[40];
    spurity_format_power(arrives, sizeof arrives, item->arriving_w);
    spurity_format_power(rated, sizeof rated, item->rating_w);
    spurity_format_power(heat, sizeof heat, item->into_heat_w);
    if (isnan(item->arriving_w)) {
        snprintf(item->why, sizeof item->why,
                 "what arrives here is not known: the loss before it is not known at the "
                 "carrier");
    } else if (isnan(item->rating_w)) {
        snprintf(item->why, sizeof item->why,
                 "gets %s; what it stands was not said: read it off the pad, and say it, as in --pad %.4gdB,50W",
                 arrives, item->db);
    } else if (item->harmed) {
        snprintf(item->why, sizeof item->why,
                 "gets %s and stands %s: it changes its loss and burns; do not key into it", arrives, rated);
    } else if (item->arriving_w > HALF * item->rating_w) {
        snprintf(item->why, sizeof item->why,
                 "gets %s of the %s it stands and turns %s into heat: key for 10 s at most, then let it rest for a "
                 "minute",
                 arrives, rated, heat);
    } else if (item->proposed) {
        snprintf(item->why, sizeof item->why, "gets %s, turns %s into heat: ask for %s or more", arrives, heat, rated);
    } else {
        snprintf(item->why, sizeof item->why, "gets %s of the %s it stands, turns %s into heat", arrives, rated, heat);
    }
}

static void judge_element(struct planning *p, const spurity_chain_element *element, spurity_plan_attenuator *item,
                          double before_db, bool before_rated)
{
    bool pad = !element->curve;
    item->harmed = item->arriving_w > item->rating_w;
    if (pad)
        tell_pad(p, item);
    else if (is_filter(p, element))
        tell_filter(p, item, before_db, before_rated);
    else if (isnan(item->db))
        snprintf(item->why, sizeof item->why, "its table does not reach the carrier: what passes it is not known");
    else
        snprintf(item->why, sizeof item->why, "its loss is known at the carrier; what it stands is not said here");
    if (item->harmed)
        p->plan->outcome = SPURITY_PLAN_HARMFUL;
    if (isnan(item->db) || (pad && isnan(item->rating_w)))
        p->safe_unknown = true;
}

static spurity_status list_elements(struct planning *p)
{
    spurity_chain_element element;
    double mean_dbm = p->high_dbm, before_db = 0;
    bool before_rated = true;
    for (size_t i = 0; spurity_chain_element_at(p->chain, i, &element); i++) {
        spurity_plan_attenuator *item = spurity_plan_add_attenuator(p);
        if (!item)
            return SPURITY_SYSTEM;
        snprintf(item->name, sizeof item->name, "%s", element.name);
        item->db = element_db(p, &element, p->f0);
        item->rating_w = element.rating_w;
        item->arriving_w = spurity_watts_from_dbm(mean_dbm);
        item->into_heat_w = fmax(0, item->arriving_w * (1 - spurity_ratio_from_db(-item->db)));
        if (isnan(item->db))
            item->into_heat_w = (double)NAN;
        item->proposed = p->chain == p->proposed;
        judge_element(p, &element, item, before_db, before_rated);
        leave_out(p, i, item);
        before_rated = before_rated && (element.curve || !isnan(element.rating_w));
        before_db += item->db;
        mean_dbm -= item->db;
    }
    return SPURITY_OK;
}

/* ---- what it comes to ---- */

static void judge_input(struct planning *p, double safe_db)
{
    spurity_plan_figures *figures = &p->plan->figures;
    char level[24], most[24];
    spurity_format_db(level, sizeof level, figures->level_at_instrument_dbm);
    spurity_format_db(most, sizeof most, figures->max_input_dbm);
    if (figures->headroom_db < 0) {
        p->plan->outcome = SPURITY_PLAN_HARMFUL;
    } else if (figures->pad_db < safe_db - 1e-9) { /* false where either is not known */
        spurity_plan_block(p,
                           "add %.0f dB of pad: %s dBm arrive at an input that stands %s dBm, which leaves less than "
                           "the %.0f dB that a slip takes",
                           round_up(safe_db - figures->pad_db), level, most, SPURITY_PLAN_SAFETY_DB);
    }
}

static spurity_status ask_ratings(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    if (isnan(p->question->max_input_dbm)) {
        p->safe_unknown = true;
        status = spurity_plan_add_need(p, "--max-input",
                                       "the level that damages the instrument's input, printed beside it or in its "
                                       "manual: nothing is called safe without it");
    }
    for (size_t i = 0; i < p->plan->attenuator_count && !status; i++)
        if (!p->plan->attenuators[i].proposed && !strcmp(p->plan->attenuators[i].name, "pad") &&
            isnan(p->plan->attenuators[i].rating_w))
            status = spurity_plan_add_need(p, "--pad",
                                           "the rating of every pad, as in --pad 30dB,50W: one over its "
                                           "rating burns, and then the instrument gets it all");
    return status;
}

spurity_status spurity_plan_attenuation(struct planning *p)
{
    spurity_plan_figures *figures = &p->plan->figures;
    const spurity_chain *own = p->question->chain;
    bool stated = own && spurity_chain_kind_of(own) != SPURITY_CHAIN_UNSTATED;
    bool known = !isnan(p->question->max_input_dbm);
    double bears_dbm = known ? p->question->max_input_dbm : CAREFUL_INPUT_DBM;
    p->chain = stated ? own : NULL;
    double safe_db = fmax(0, p->peak_dbm - bears_dbm + SPURITY_PLAN_SAFETY_DB);
    double needed_db = round_up(safe_db);
    if (known)
        figures->attenuation_db = needed_db;
    spurity_status status = stated ? SPURITY_OK : propose(p, needed_db);
    if (!status)
        status = list_elements(p);
    if (status)
        return status;
    double loss = spurity_plan_loss(p, p->f0);
    if (stated)
        figures->pad_db = loss;
    p->level_dbm = p->high_dbm - loss;
    figures->level_at_instrument_dbm = p->peak_dbm - loss;
    figures->headroom_db = figures->max_input_dbm - figures->level_at_instrument_dbm;
    judge_input(p, known ? safe_db : (double)NAN);
    return ask_ratings(p);
}
