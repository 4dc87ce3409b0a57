/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whether a pass could be shown: the limit against what could hide in the floor and the uncertainty; what to change. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

static void name_stretch(spurity_plan_visibility *item, const struct plan_look *look)
{
    char from[24], to[24];
    if (look->what && look->what[0])
        snprintf(item->what, sizeof item->what, "%s", look->what);
    else
        snprintf(item->what, sizeof item->what, "%s to %s",
                 spurity_format_frequency(from, sizeof from, item->from_hz, 3),
                 spurity_format_frequency(to, sizeof to, item->to_hz * (1 + 1e-7), 3)); /* may end just below a step */
}

/* ---- advice ---- */

/* Less pad, if the instrument bears it; else a filter, which lets the pad be less. */
static void advise_pad(const struct planning *p, const spurity_plan_visibility *item, double need_db, char *text,
                       size_t size)
{
    double spare = p->plan->figures.headroom_db - SPURITY_PLAN_SAFETY_DB;
    const char *filter = item->frequency_hz > 1.5 * p->f0 ? "a high-pass or notch for the carrier"
                                                          : "a notch for the "
                                                            "carrier";
    if (isnan(spare))
        snprintf(text, size, "or %.0f dB less pad if the instrument bears it (--max-input)", ceil(need_db));
    else if (spare >= need_db)
        snprintf(text, size, "or %.0f dB less pad, which leaves %.0f dB to the damage limit", ceil(need_db),
                 floor(spare + SPURITY_PLAN_SAFETY_DB - ceil(need_db)));
    else
        snprintf(text, size,
                 "or %s behind 10 dB of rated pad, its loss told, and %.0f dB less pad after it; a preamplifier only "
                 "behind that",
                 filter, ceil(need_db));
}

/* Noise in the reference bandwidth is the same in every RBW. */
static void advise_noise(const struct planning *p, spurity_plan_visibility *item)
{
    char pad[180];
    advise_pad(p, item, -item->margin_db, pad, sizeof pad);
    snprintf(item->advice, sizeof item->advice,
             "%.1f dB short: the noise in the reference bandwidth is too near the limit in any RBW: %s",
             -item->margin_db, pad + 3);
}

static void advise(const struct planning *p, spurity_plan_visibility *item)
{
    double need = -item->margin_db, wanted = spurity_plan_step_down(item->rbw_hz * spurity_ratio_from_db(-need));
    char pad[180], rbw[24];
    advise_pad(p, item, need, pad, sizeof pad);
    spurity_format_frequency(rbw, sizeof rbw, wanted, 3);
    if (wanted >= 10)
        snprintf(item->advice, sizeof item->advice, "%.1f dB short: RBW %s or less (%.3g s here), %s", need, rbw,
                 spurity_plan_seconds(fmax(item->to_hz - item->from_hz, 200 * wanted), wanted), pad);
    else
        snprintf(item->advice, sizeof item->advice, "%.1f dB short, more than a narrower RBW gives: %s", need, pad + 3);
}

static void advise_loss(const struct planning *p, spurity_plan_visibility *item)
{
    char from[24], to[24];
    size_t element = 0;
    double loss;
    double hz = isnan(spurity_plan_loss(p, item->to_hz)) ? item->to_hz : item->from_hz;
    spurity_chain_element it = {.name = "the chain"};
    if (!spurity_chain_loss(p->chain, hz, &loss, NULL, &element))
        spurity_chain_element_at(p->chain, element, &it);
    snprintf(item->advice, sizeof item->advice,
             "the loss of '%.60s' is not known all the way from %s to %s: a pad known to there (--pad with FMAX), or "
             "its table (--loss)",
             it.name, spurity_format_frequency(from, sizeof from, item->from_hz, 3),
             spurity_format_frequency(to, sizeof to, item->to_hz, 3));
}

/* ---- where it is short ---- */

void spurity_plan_fall_short(struct planning *p, bool mask)
{
    const spurity_plan_visibility *list = p->plan->visibility, *last = &list[p->plan->visibility_count - 1];
    p->blocked = true;
    p->short_mask = p->short_mask || mask;
    if (!p->short_count++ || last->margin_db < list[p->worst].margin_db)
        p->worst = p->plan->visibility_count - 1;
    p->short_from_hz = p->short_count == 1 ? last->frequency_hz : fmin(p->short_from_hz, last->frequency_hz);
}

/* Less noise at the terminal by what the worst is short settles every place. */
void spurity_plan_tell_short(const struct planning *p, char *text, size_t size)
{
    spurity_plan_visibility worst = p->plan->visibility[p->worst];
    char settles[180];
    double need = -worst.margin_db;
    if (p->short_count == 1) {
        snprintf(text, size, "%s: a pass could not be shown there: %s", worst.what, worst.advice);
        return;
    }
    worst.frequency_hz = p->short_from_hz; /* a filter has to let the lowest pass, too */
    advise_pad(p, &worst, need, settles, sizeof settles);
    if (p->short_mask) /* no filter takes a carrier out of its own mask */
        snprintf(settles, sizeof settles, "or %.0f dB less pad, if the instrument bears it, or so much less noise",
                 ceil(need));
    snprintf(text, size,
             "a pass could not be shown at %zu places, of which %s is the worst, %.1f dB short; all are settled by %s",
             p->short_count, worst.what, need, settles + 3);
}

/* ---- one place ---- */

static spurity_status see(struct planning *p, spurity_plan_visibility *item, const struct plan_limit *limit,
                          const struct plan_look *look, bool loss_unknown)
{
    double at = item->frequency_hz;
    item->rbw_hz = look->rbw_hz;
    item->floor_dbm = spurity_plan_floor_dbm(p, at, look->rbw_hz);
    bool noise;
    item->bound_dbm = spurity_plan_hidden_dbm(p, look, at, &noise);
    item->limit_dbm = limit->candidate ? limit->dbm : (double)NAN;
    item->margin_db = (double)NAN;
    item->shown = -1;
    if (limit->candidate) {
        item->rules = limit->candidate->rules;
        item->clause = limit->candidate->clause;
        item->margin_db = isinf(limit->room_dbm) ? (double)NAN : limit->room_dbm - item->bound_dbm;
    }
    if (loss_unknown) {
        item->shown = 0;
        advise_loss(p, item);
    } else if (limit->candidate && isinf(limit->room_dbm)) {
        item->shown = 0;
        snprintf(item->advice, sizeof item->advice, "the limit cannot be told: something it depends on was not said");
    } else if (!isnan(item->margin_db)) {
        item->shown = item->margin_db >= 0;
        if (!item->shown && noise)
            advise_noise(p, item);
        else if (!item->shown)
            advise(p, item);
    } else if (limit->candidate) {
        snprintf(item->advice, sizeof item->advice, "say --noise: what the instrument shows with its input terminated");
    } else {
        snprintf(item->advice, sizeof item->advice, "no figure is set here");
    }
    if (!item->shown && isfinite(item->margin_db) && !loss_unknown)
        spurity_plan_fall_short(p, false);
    else if (!item->shown)
        spurity_plan_block(p, "%s: a pass could not be shown there: %s", item->what, item->advice);
    return SPURITY_OK;
}

spurity_status spurity_plan_see_stretch(struct planning *p, double from_hz, double to_hz, const struct plan_look *look)
{
    spurity_plan_visibility *item = spurity_plan_add_visibility(p);
    bool loss_unknown;
    double at;
    if (!item)
        return SPURITY_SYSTEM;
    item->from_hz = from_hz;
    item->to_hz = to_hz;
    name_stretch(item, look);
    struct plan_limit limit = spurity_plan_nearest(p, from_hz, to_hz, &at, &loss_unknown);
    item->frequency_hz = at;
    return see(p, item, &limit, look, loss_unknown);
}

spurity_status spurity_plan_see_harmonic(struct planning *p, int order, const struct plan_look *look)
{
    spurity_plan_visibility *item = spurity_plan_add_visibility(p);
    if (!item)
        return SPURITY_SYSTEM;
    double hz = order * p->f0;
    item->from_hz = item->to_hz = item->frequency_hz = hz;
    snprintf(item->what, sizeof item->what, "harmonic %d", order);
    struct plan_limit limit = spurity_plan_limit_at(p, p->emissions, p->emission_count, hz);
    return see(p, item, &limit, look, limit.candidate && isnan(spurity_plan_loss(p, hz)));
}
