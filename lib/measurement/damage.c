/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the carrier does to the bench: pads over their rating, and an instrument near the power that destroys it. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

/* Most inputs are damaged from about 1 W (+30 dBm), some earlier; within 10 dB of that is told (common practice). */
static const double NEAR_DBM = 20.0;
/* Receivers bear less: +10 dBm is the limit of many (common practice). */
static const double NEAR_RECEIVER_DBM = 0.0;

/* What arrives at each pad in line, in order from the set; a rating is for the mean power that enters. */
static spurity_status look_at_pads(const spurity_measurement *m, int file, spurity_error *error)
{
    const spurity_chain *chain = m->sources[file].chain;
    double arriving_dbm = m->carrier.level_dbm;
    spurity_chain_element element;
    for (size_t i = 0; chain && !isnan(arriving_dbm) && spurity_chain_element_at(chain, i, &element); i++) {
        double loss_db = element.db, watts = spurity_watts_from_dbm(arriving_dbm);
        if (element.rating_w < watts) { /* false where it is unsaid: NaN */
            char pad[120], gets[40], rated[40];
            spurity_chain_describe(chain, i, pad, sizeof pad);
            spurity_status status = spurity_notes_add(
                m->notes, SPURITY_NOTE_NEAR_DAMAGE, -1,
                "%s gets %s and is rated for %s: over its rating a pad changes its loss and burns; put one that is "
                "rated for the set first",
                pad, spurity_format_power(gets, sizeof gets, watts),
                spurity_format_power(rated, sizeof rated, element.rating_w));
            if (status)
                return spurity_report_memory(error);
        }
        if (element.curve && !spurity_curve_at(element.curve, m->carrier.frequency_hz, &loss_db, NULL))
            return SPURITY_OK; /* what arrives behind it is not known */
        arriving_dbm -= loss_db;
    }
    return SPURITY_OK;
}

/* Carrier at the instrument's input, dBm: as the file reads it, without the chain's loss.  NaN where it is not known:
 * levels corrected in the file, or on a named scale. */
static double at_instrument_dbm(const spurity_measurement *m, int file)
{
    const spurity_chain *chain = m->sources[file].chain;
    const spurity_trace *trace = spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey));
    if (spurity_trace_scale(trace)[0] || (chain && spurity_chain_kind_of(chain) == SPURITY_CHAIN_CORRECTED))
        return (double)NAN;
    return m->files[file].carrier_db - spurity_measurement_loss(m, file, m->carrier.frequency_hz);
}

static spurity_status note_input(const spurity_measurement *m, int file, double dbm)
{
    if (m->sources[file].spectrum && dbm >= NEAR_RECEIVER_DBM)
        return spurity_notes_add(m->notes, SPURITY_NOTE_NEAR_DAMAGE, file,
                                 "the carrier stands at %.1f dBm at the receiver; many are damaged from about +10 dBm, "
                                 "some earlier: add attenuation before the next capture",
                                 dbm);
    if (!m->sources[file].spectrum && dbm >= NEAR_DBM)
        return spurity_notes_add(m->notes, SPURITY_NOTE_NEAR_DAMAGE, file,
                                 "the carrier stands at %.1f dBm at the instrument; most inputs are damaged from about "
                                 "+30 dBm, some earlier: add attenuation before the next sweep",
                                 dbm);
    return SPURITY_OK;
}

spurity_status spurity_measurement_note_damage(const spurity_measurement *m, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    for (int file = 0; file < (int)m->file_count && !status; file++) {
        if (!spurity_measurement_is_keyed(m, file))
            continue;
        status = look_at_pads(m, file, error); /* a pad in the same words is told once: notes are deduplicated */
        double dbm = at_instrument_dbm(m, file);
        if (!status && note_input(m, file, dbm))
            status = spurity_report_memory(error);
    }
    return status;
}
