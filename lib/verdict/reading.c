/* SPDX-License-Identifier: GPL-2.0-or-later */
/* How an emission is read under a clause.  README.md of this stage tells which power is judged when. */
#include "reading.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Where the floor, which may be the bench's, holds more of a power than this, the power is an upper bound. */
static const double FLOOR_DB = 0.5;
/* An RBW that is called as wide as the bandwidth and rounded a little. */
static const double SAME_WIDTH = 1.02;
/* Noise-like is what is wider than this many RBW: over so many its density is averaged before it is converted. */
enum { NOISE_RBWS = 3 };

/* An artefact is an upper bound of what the transmitter has there, and another file's bound may be a lower one. */
static struct level level_of(const spurity_emission *e)
{
    bool settled = e->kind == SPURITY_ARTEFACT && !isnan(e->at_most_dbc);
    return (struct level){
        .dbm = settled ? e->at_most_dbm : e->level_dbm,
        .dbc = settled ? e->at_most_dbc : e->level_dbc,
        .u_dbm_up = spurity_emission_expanded(e, false, true),
        .u_dbm_down = spurity_emission_expanded(e, false, false),
        .u_dbc_up = spurity_emission_expanded(e, true, true),
        .u_dbc_down = spurity_emission_expanded(e, true, false),
        .at_most = spurity_verdict_bounds_only(e),
        .untrusted = !e->trustworthy,
    };
}

/* Whether a clause lets the bandwidth be wider than the one it names, at every frequency. */
static bool may_be_wider(const char *text)
{
    static const char least[] = "at least", step[] = ", above";
    const char *second = text ? strstr(text, step) : NULL;
    return text && !strncmp(text, least, strlen(least)) && (!second || strstr(second, least));
}

/* The emission with the power of a bandwidth in place of its own.  A harmonic that was read over n times the carrier's
 * width keeps that where the bandwidth holds it. */
static spurity_emission in_bandwidth(const struct judging *j, const spurity_emission *e, const spurity_line *line,
                                     double bandwidth_hz, const spurity_band_power *power)
{
    spurity_emission read = *e;
    double change = power->power_db - e->scale_db;
    if (e->order * j->carrier->width_hz <= bandwidth_hz && e->scale_db > line->level_db)
        change = fmax(change, 0);
    read.level_dbm += change;
    read.level_dbc += change;
    read.read_low_db += power->read_low_db - line->read_low_db;
    read.ratio_low_db += power->read_low_db - line->read_low_db;
    read.read_high_db += power->read_high_db - line->read_high_db;
    read.ratio_high_db += power->read_high_db - line->read_high_db;
    return read;
}

static const spurity_line *line_of(const struct judging *j, const spurity_emission *e, const spurity_survey **survey)
{
    const spurity_measured_file *file = spurity_measurement_file(j->measurement, (size_t)e->file);
    *survey = file ? file->survey : NULL;
    return *survey && e->line >= 0 ? spurity_survey_line(*survey, (size_t)e->line) : NULL;
}

static void say(struct reading *r, const char *before, double hz, const char *after)
{
    char text[40];
    snprintf(r->words, sizeof r->words, "%s %s%s", before, spurity_format_frequency(text, sizeof text, hz, 3), after);
}

/* The highest power in a bandwidth no narrower than the RBW.  noise_only: of what scatters like noise. */
static bool integrate(const struct judging *j, const spurity_emission *e, double bandwidth_hz, bool noise_only,
                      struct reading *r)
{
    const spurity_survey *survey;
    spurity_band_power power;
    const spurity_line *line = line_of(j, e, &survey);
    if (!line || !spurity_survey_highest_power(survey, (size_t)e->line, bandwidth_hz, &power) ||
        (noise_only && !power.scatters))
        return false;
    double of_floor = fmin(spurity_ratio_from_db(power.floor_db - power.power_db), 0.98);
    double floor = -spurity_db_from_ratio(1 - of_floor);
    if (floor <= FLOOR_DB)
        power.read_high_db += floor;
    spurity_emission read = in_bandwidth(j, e, line, bandwidth_hz, &power);
    r->level = level_of(&read);
    if (floor > FLOOR_DB && !r->level.at_most) {
        r->level.at_most = r->over_floor = true;
        r->level.sure_db = floor;
    }
    return true;
}

/* Noise in an RBW wider than the bandwidth: its density, the mean of three RBW, times the bandwidth. */
static bool convert_noise(const struct judging *j, const spurity_emission *e, double bandwidth_hz, struct reading *r)
{
    char from[40], to[40];
    double over = NOISE_RBWS * e->rbw_hz;
    if (!integrate(j, e, over, true, r))
        return false;
    double change = spurity_db_from_ratio(bandwidth_hz / over);
    r->level.dbm += change;
    r->level.dbc += change;
    r->converted = true;
    snprintf(r->words, sizeof r->words, "converted from RBW %s to %s",
             spurity_format_frequency(from, sizeof from, e->rbw_hz, 3),
             spurity_format_frequency(to, sizeof to, bandwidth_hz, 3));
    return true;
}

/* Modulated, or several lines, or as smooth as lines, in an RBW wider than the bandwidth: the bandwidth holds at most
 * what one RBW holds, and at least an even share of the whole. */
static bool bound_unresolved(const struct judging *j, const spurity_emission *e, double bandwidth_hz, struct reading *r)
{
    const spurity_survey *survey;
    spurity_band_power power;
    const spurity_line *line = line_of(j, e, &survey);
    if (!line || !spurity_survey_highest_power(survey, (size_t)e->line, e->rbw_hz, &power))
        return false;
    power.read_high_db = fmax(power.read_high_db, line->read_high_db);
    spurity_emission read = in_bandwidth(j, e, line, e->rbw_hz, &power);
    r->level = level_of(&read);
    if (!r->level.at_most)
        r->level.sure_db = fmax(power.power_db - line->level_db, 0) +
                           spurity_db_from_ratio(ceil((line->high_hz - line->low_hz) / bandwidth_hz));
    r->level.at_most = true;
    r->wanted_rbw_hz = bandwidth_hz;
    say(r, "in RBW", e->rbw_hz, ", which does not resolve it");
    return true;
}

void spurity_verdict_read(const struct judging *j, const spurity_clause *clause, const spurity_emission *e,
                          bool convert, struct reading *r)
{
    spurity_clause_facts facts;
    spurity_clause_facts_of(clause, &facts);
    double bandwidth = spurity_clause_reference_bandwidth(clause, e->frequency_hz);
    *r = (struct reading){.level = level_of(e), .reference_hz = bandwidth};
    if (!e->seen || e->character == SPURITY_LINE)
        snprintf(r->words, sizeof r->words, "%s", e->seen ? "a line" : "a hidden line");
    if (isnan(bandwidth))
        r->reference_hz = e->rbw_hz > 0 ? e->rbw_hz : (double)NAN;
    if (isnan(bandwidth) || !e->seen || e->character == SPURITY_LINE || !(e->rbw_hz > 0) || !e->trustworthy)
        return;
    if (e->rbw_hz <= bandwidth * SAME_WIDTH) {
        if (integrate(j, e, bandwidth, false, r))
            say(r, "integrated over", bandwidth, "");
        return;
    }
    bool noise = e->character == SPURITY_NOISE_LIKE, wider = may_be_wider(facts.reference_bandwidth);
    if (noise && (!wider || convert) && convert_noise(j, e, bandwidth, r))
        return;
    if (!wider) {
        bound_unresolved(j, e, bandwidth, r);
        return;
    }
    r->as_is = noise && !convert;
    if (integrate(j, e, e->rbw_hz, false, r))
        say(r, "in RBW", e->rbw_hz, ", wider than asked");
}
