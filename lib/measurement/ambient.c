/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What stands there with the set unkeyed.  Nothing is removed silently: a line that both sweeps read alike is named
 * ambient and stays as an upper bound of the set's; of a line that is stronger keyed the difference in power stays,
 * wider by what both readings leave open. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

/* An ambient sweep that holds the carrier this near to its level was taken of the keyed set. */
static const double KEYED_DB = -3.0;

/* Power of the excess over the whole, dB (negative), where the whole stands d dB over the rest; JCGM 100:2008 5.1.2 has
 * the same by its derivative where d is large. */
static double excess_db(double d)
{
    return d > 0 ? 10 * log10(1 - pow(10, -d / 10)) : -(double)INFINITY;
}

static double rbw_of(const spurity_measurement *m, int file, size_t segment, spurity_detector *detector)
{
    spurity_segment view;
    if (!spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)), segment,
                               &view))
        return 0;
    *detector = view.facts.detector;
    return view.facts.rbw_hz;
}

/* What an ambient file has there: its line, and by how much the keyed reading stands over it. */
struct met {
    int file;
    const spurity_line *line;
    double over_db, doubt_db;
};

/* Of something wider than a line the power over its width is compared, floor and all, in both files alike. */
static double over(const spurity_measurement *m, const spurity_emission *emission, int file, const spurity_line *line)
{
    double keyed, unkeyed;
    bool line_both = emission->character == SPURITY_LINE && line->character == SPURITY_LINE;
    if (!line_both &&
        spurity_survey_power(m->sources[emission->file].survey, emission->low_hz, emission->high_hz, &keyed) &&
        spurity_survey_power(m->sources[file].survey, emission->low_hz, emission->high_hz, &unkeyed))
        return keyed - unkeyed;
    return emission->scale_db - line->level_db;
}

static bool meet(const spurity_measurement *m, const spurity_emission *emission, struct met *met)
{
    bool found = false;
    for (int file = 0; file < (int)m->file_count; file++) {
        if (m->point->sources[file].role != SPURITY_ROLE_AMBIENT ||
            !spurity_measurement_same_scale(m, file, emission->file))
            continue;
        const spurity_line *line = spurity_measurement_line_at(m, m->sources[file].survey, emission);
        double over_db = line ? over(m, emission, file, line) : (double)NAN;
        if (!line || isnan(over_db) || (found && over_db >= met->over_db))
            continue;
        double doubt = spurity_measurement_doubt(m, emission->file, file, emission->frequency_hz);
        *met = (struct met){
            file, line, over_db,
            doubt + fmax(emission->read_high_db + line->read_low_db, emission->read_low_db + line->read_high_db)};
        found = true;
    }
    return found;
}

/* A detector that holds peaks, or an unknown one, may have read the two as voltages in phase. */
static double peaks_db(const spurity_measurement *m, const spurity_emission *emission, double over_db)
{
    spurity_detector detector = SPURITY_DETECTOR_UNKNOWN;
    const spurity_line *line =
        emission->line >= 0 ? spurity_survey_line(m->sources[emission->file].survey, (size_t)emission->line) : NULL;
    if (line)
        rbw_of(m, emission->file, line->segment, &detector);
    if (detector == SPURITY_DETECTOR_AVERAGE || detector == SPURITY_DETECTOR_LOG_AVERAGE)
        return 0;
    return fmax(0, excess_db(over_db) - 20 * log10(1 - pow(10, -over_db / 20)));
}

static void judge_excess(spurity_measurement *m, spurity_emission *emission, const struct met *met)
{
    double d = met->over_db, shift = excess_db(d);
    double up = excess_db(d + met->doubt_db) - shift, down = shift - excess_db(d - met->doubt_db);
    down += peaks_db(m, emission, d);
    if (emission->character == SPURITY_LINE) {
        emission->level_dbm += shift;
        emission->level_dbc += shift;
        emission->read_low_db += up;
        emission->ratio_low_db += up;
    } else
        down -= shift; /* integrated anew by the clause's bandwidth: the whole stands, open downwards */
    emission->read_high_db += down;
    emission->ratio_high_db += down;
}

static spurity_status compare(spurity_measurement *m, spurity_emission *emission)
{
    struct met met = {0};
    char at[40];
    if (!emission->seen || emission->kind == SPURITY_ARTEFACT || !meet(m, emission, &met))
        return SPURITY_OK;
    emission->ambient_db = -met.over_db;
    spurity_format_frequency_near(at, sizeof at, emission->frequency_hz, emission->rbw_hz / SPURITY_RBW_PARTS);
    if (met.over_db <= met.doubt_db) {
        emission->kind = SPURITY_AMBIENT;
        return spurity_notes_add(m->notes, SPURITY_NOTE_AMBIENT, met.file,
                                 "what reads at %s stands there with the set unkeyed too, %.1f dB %s: what the set has "
                                 "there is at most that",
                                 at, fabs(met.over_db), met.over_db >= 0 ? "lower" : "higher");
    }
    judge_excess(m, emission, &met);
    if (excess_db(met.over_db) > -0.05)
        return SPURITY_OK;
    return spurity_notes_add(m->notes, SPURITY_NOTE_AMBIENT, met.file,
                             "with the set unkeyed a line stands at %s, %.1f dB under the reading: %s", at, met.over_db,
                             emission->character == SPURITY_LINE ? "the difference in power is the set's"
                                                                 : "the reading stands, part of it is not the set's");
}

/* The carrier itself: what another station has on the channel, or a sweep that was not taken unkeyed. */
static spurity_status look_at_carrier(spurity_measurement *m, spurity_error *error)
{
    spurity_carrier *carrier = &m->carrier;
    double reach = carrier->frequency_uncertainty_hz + fmax(carrier->width_hz, carrier->rbw_hz);
    for (int file = 0; carrier->seen && file < (int)m->file_count; file++) {
        if (m->point->sources[file].role != SPURITY_ROLE_AMBIENT ||
            !spurity_measurement_same_scale(m, file, carrier->file))
            continue;
        const spurity_line *line = spurity_survey_strongest(m->sources[file].survey, carrier->frequency_hz - reach,
                                                            carrier->frequency_hz + reach);
        double under = line ? line->level_db - m->files[carrier->file].carrier_db : (double)NAN;
        if (under > KEYED_DB)
            return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = m->point->sources[file].path},
                                   "a sweep of the unkeyed set", "take it again with the set not keyed",
                                   "the carrier itself, %.1f dB %s its level in the keyed sweep", fabs(under),
                                   under < 0 ? "below" : "above");
    }
    return SPURITY_OK;
}

spurity_status spurity_measurement_compare_ambient(spurity_measurement *m, spurity_error *error)
{
    spurity_status status = look_at_carrier(m, error);
    for (size_t i = 0; i < m->emission_count && !status; i++)
        if (compare(m, &m->emissions[i]))
            status = spurity_report_memory(error);
    return status;
}
