/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What comes past the pads.  A leakage file was taken with the set keyed into its load and the instrument's end of the
 * last pad terminated: whatever stands in it entered by cables and cases.  It did not come through the chain, so both
 * readings are compared at the instrument. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* Nearer than this to a reading, it leaves nothing of it that can be judged. */
static const double TOO_NEAR_DB = -10.0;

static bool is_corrected(const spurity_measurement *m, int file)
{
    const spurity_chain *chain = m->sources[file].chain;
    return chain && spurity_chain_kind_of(chain) == SPURITY_CHAIN_CORRECTED;
}

/* Whether two files read one level at the instrument's input alike. */
static bool one_instrument(const spurity_measurement *m, int a, int b)
{
    return is_corrected(m, a) == is_corrected(m, b) &&
           !strcmp(spurity_measurement_scale(m, a), spurity_measurement_scale(m, b));
}

/* The strongest line of a leakage file that may stand within reach of hz.  What may as well be the carrier is the
 * carrier: a coarse sweep of what leaks shows that before anything beside it. */
static const spurity_line *line_near(const spurity_measurement *m, int file, double hz, double reach_hz)
{
    const spurity_survey *survey = m->sources[file].survey;
    const spurity_line *best = NULL;
    double f0 = m->carrier.frequency_hz;
    bool of_carrier = fabs(hz - f0) <= reach_hz;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        double reach = reach_hz + line->frequency_uncertainty_hz;
        bool carrier = fabs(line->frequency_hz - f0) <= line->frequency_uncertainty_hz + line->width_hz;
        if (fabs(line->frequency_hz - hz) <= reach && carrier == of_carrier &&
            (!best || line->level_db > best->level_db))
            best = line;
    }
    return best;
}

double spurity_measurement_leakage(const spurity_measurement *m, int file, double hz, double reach_hz,
                                   double reading_db, int *leaking)
{
    double worst = (double)NAN, here = reading_db - spurity_measurement_loss(m, file, hz);
    for (int other = 0; other < (int)m->file_count; other++) {
        if (m->point->sources[other].role != SPURITY_ROLE_LEAKAGE || !one_instrument(m, file, other))
            continue;
        const spurity_line *line = line_near(m, other, hz, reach_hz);
        double leaks =
            line ? line->level_db + line->read_low_db - spurity_measurement_loss(m, other, hz) - here : (double)NAN;
        if (isnan(leaks) || leaks <= worst)
            continue;
        worst = leaks;
        *leaking = other;
    }
    return worst;
}

static void note(const spurity_measurement *m, int leaking, double hz, double rbw_hz, double leaks, const char *of)
{
    char at[40];
    spurity_notes_add(m->notes, SPURITY_NOTE_LEAKAGE, leaking,
                      "with the last pad's end terminated the instrument still reads a line at %s, %.1f dB %s the %s: "
                      "it comes past the pads%s",
                      spurity_format_frequency_near(at, sizeof at, hz, rbw_hz / SPURITY_RBW_PARTS), fabs(leaks),
                      leaks < 0 ? "below" : "above", of,
                      leaks >= TOO_NEAR_DB ? ", and nothing tells how much of the reading it is" : "");
}

void spurity_measurement_leak_into_carrier(spurity_measurement *m, double reading_db)
{
    spurity_carrier *carrier = &m->carrier;
    int leaking = -1;
    carrier->leakage_db = (double)NAN;
    if (!carrier->seen)
        return;
    double reach = carrier->frequency_uncertainty_hz + fmax(carrier->width_hz, carrier->rbw_hz), low, high;
    double leaks = spurity_measurement_leakage(m, carrier->file, carrier->frequency_hz, reach, reading_db, &leaking);
    carrier->leakage_db = leaks;
    if (isnan(leaks))
        return;
    spurity_measurement_within(leaks, &low, &high);
    carrier->leaked = leaks >= TOO_NEAR_DB;
    carrier->trustworthy = carrier->trustworthy && !carrier->leaked;
    carrier->read_low_db += low;
    carrier->read_high_db += carrier->leaked ? 0 : high;
    if (carrier->leaked)
        note(m, leaking, carrier->frequency_hz, carrier->rbw_hz, leaks, "carrier");
}

static void leak_into(spurity_measurement *m, spurity_emission *emission)
{
    int leaking = -1;
    double low, high, reach = emission->frequency_uncertainty_hz + emission->rbw_hz;
    double leaks =
        spurity_measurement_leakage(m, emission->file, emission->frequency_hz, reach, emission->scale_db, &leaking);
    emission->leakage_db = leaks;
    if (isnan(leaks))
        return;
    spurity_measurement_within(leaks, &low, &high);
    if (leaks >= TOO_NEAR_DB) {
        emission->leaked = true;
        emission->trustworthy = false;
        note(m, leaking, emission->frequency_hz, emission->rbw_hz, leaks,
             emission->seen ? "reading of the keyed set" : "least line the keyed sweep would show there");
        return;
    }
    /* a voltage at any phase, as the instrument's own */
    emission->read_low_db += low;
    emission->ratio_low_db += low;
    emission->read_high_db += high;
    emission->ratio_high_db += high;
}

void spurity_measurement_compare_leakage(spurity_measurement *m)
{
    for (size_t i = 0; i < m->emission_count; i++)
        leak_into(m, &m->emissions[i]);
}
