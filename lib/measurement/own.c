/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the instrument makes of the carrier by its intercepts.  A power series gives, for one tone of level L at the
 * input, a harmonic of order n at n L - (n - 1) IPn, IPn the harmonic intercept of that order; the third harmonic of
 * one tone stands 9.54 dB (20 log 3) under the third-order product of two such tones, so that IP3 = TOI + 9.54 / 2
 * (textbook). */
#include <math.h>

#include "parts.h"

/* Two voltages of ratio o at any phase: the rest is between 1 - o and 1 + o of their sum. */
void spurity_measurement_within(double own_db, double *low_db, double *high_db)
{
    double ratio = pow(10, own_db / 20);
    *low_db = 20 * log10(1 + ratio);
    *high_db = ratio < 1 ? -20 * log10(1 - ratio) : (double)INFINITY;
}

static double intercept(const spurity_test_point *point, int order)
{
    switch (order) {
    case 2:
        return point->second_harmonic_intercept_dbm;
    case 3:
        return point->third_order_intercept_dbm + 10 * log10(9.0) / 2;
    default:
        return (double)NAN;
    }
}

/* On the file's scale; NaN where the level at the instrument's input is not known: levels corrected in the file, or on
 * a named scale. */
static double own_db(const spurity_measurement *m, const spurity_emission *emission)
{
    int file = emission->file, order = emission->order;
    const spurity_chain *chain = m->sources[file].chain;
    double f0 = m->carrier.frequency_hz;
    if (spurity_measurement_scale(m, file)[0] || (chain && spurity_chain_kind_of(chain) == SPURITY_CHAIN_CORRECTED))
        return (double)NAN;
    double input_dbm = m->files[file].carrier_db - spurity_measurement_loss(m, file, f0);
    return order * input_dbm - (order - 1) * intercept(m->point, order) + spurity_measurement_loss(m, file, order * f0);
}

void spurity_measurement_bound_own(spurity_measurement *m)
{
    for (size_t i = 0; i < m->emission_count; i++) {
        spurity_emission *emission = &m->emissions[i];
        if (!emission->seen || emission->kind != SPURITY_HARMONIC)
            continue;
        emission->own_db = own_db(m, emission) - emission->scale_db;
        emission->own_covers = emission->own_db >= 0;
    }
}
