/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The instrument's own harmonics.  A power series gives, for one tone of level L, a harmonic of order n at
 * n L - (n - 1) IPn, IPn the harmonic intercept of that order; the third harmonic of one tone stands 9.54 dB (20 log 3)
 * under the third-order product of two such tones, so that IP3 = TOI + 9.54 / 2 (textbook; README). */
#include <math.h>
#include <stdio.h>

#include "parts.h"

static double intercept(const struct planning *p, int order)
{
    return order == 2 ? p->question->second_harmonic_intercept_dbm
                      : p->question->third_order_intercept_dbm + 10 * log10(9.0) / 2;
}

double spurity_plan_own_dbm(const struct planning *p, int order)
{
    return order * p->level_dbm - (order - 1) * intercept(p, order) + spurity_plan_loss(p, order * p->f0);
}

static void advise(const struct planning *p, spurity_plan_own_product *own)
{
    const char *settles = "10 and 20 dB more pad, told as such, settle it: the set's own harmonic then holds still at "
                          "the terminal";
    if (isnan(own->limit_dbm))
        snprintf(own->advice, sizeof own->advice, "no limit stands there; %s, the instrument's falls by %d dB a step",
                 settles, 10 * (own->order - 1));
    else if (own->own_dbm > own->limit_dbm - SPURITY_PLAN_SAFETY_DB)
        snprintf(own->advice, sizeof own->advice,
                 "the instrument alone could make a fail: %s, the instrument's falls by %d dB a step", settles,
                 10 * (own->order - 1));
    else
        snprintf(own->advice, sizeof own->advice,
                 "%.0f dB under the limit; where a harmonic stands near its limit, %s, the instrument's falls by %d dB "
                 "a step",
                 own->limit_dbm - own->own_dbm, settles, 10 * (own->order - 1));
}

spurity_status spurity_plan_own_products(struct planning *p)
{
    for (int order = 2; order <= 3; order++) {
        double ip = intercept(p, order), own_dbm = spurity_plan_own_dbm(p, order);
        if (isnan(ip) || isnan(own_dbm))
            continue;
        struct plan_limit limit = spurity_plan_limit_at(p, p->emissions, p->emission_count, order * p->f0);
        spurity_plan_own_product *own = &p->plan->own[p->plan->own_count++];
        *own = (spurity_plan_own_product){
            .order = order, .own_dbm = own_dbm, .limit_dbm = limit.candidate ? limit.dbm : (double)NAN};
        /* own product less carrier, at the terminal: (n - 1)(L - IPn) and what the losses differ by */
        double unequal = spurity_plan_loss(p, order * p->f0) - spurity_plan_loss(p, p->f0);
        own->fakes_at_dbm = ip + (own->limit_dbm - unequal - p->high_dbm) / (order - 1);
        advise(p, own);
    }
    if (isnan(intercept(p, 2)) && p->emission_count)
        return spurity_plan_add_need(p, "--second-harmonic-intercept",
                                     "tells beforehand whether the instrument's own second harmonic could fake a fail");
    return SPURITY_OK;
}
