/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The budget of a bench: terms, their defaults, and what of them a level has. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "uncertainty.h"

/* What two levels must agree in to share a term's error.  The name of that goes into the source. */
enum scope { SHARED, PER_FREQUENCY, PER_READING, PER_ATTENUATION, PER_RBW };

struct row {
    const char *name;
    enum scope scope;
    spurity_distribution distribution;
    double figure_db;
};

/* Defaults are our judgement of an instrument of no special merit, in its last year of calibration, on a bench with
 * decent cables (docs/bench.md has each with its ground).  A source is a name and what follows it, within
 * SPURITY_SOURCE_ID_SIZE: names are kept short. */
static const struct row rows[SPURITY_TERMS] = {
    [SPURITY_TERM_AMPLITUDE] = {"absolute amplitude", SHARED, SPURITY_RECTANGULAR, 1.0},
    [SPURITY_TERM_RESPONSE] = {"frequency response", PER_FREQUENCY, SPURITY_RECTANGULAR, 0.7},
    [SPURITY_TERM_LINEARITY] = {"scale linearity", PER_READING, SPURITY_RECTANGULAR, 0.1},
    [SPURITY_TERM_ATTENUATOR] = {"input attenuator", PER_ATTENUATION, SPURITY_RECTANGULAR, 0.3},
    [SPURITY_TERM_RBW_SWITCHING] = {"RBW switching", PER_RBW, SPURITY_RECTANGULAR, 0.2},
    [SPURITY_TERM_RESOLUTION] = {"resolution", PER_READING, SPURITY_RECTANGULAR, 0.05},
    [SPURITY_TERM_INTERPOLATION] = {"interpolation", PER_READING, SPURITY_RECTANGULAR, 0.1},
    [SPURITY_TERM_WINDOW] = {"window", PER_READING, SPURITY_RECTANGULAR, 0.05},
    [SPURITY_TERM_REPEATABILITY] = {"repeatability", PER_READING, SPURITY_NORMAL, 0.15},
    [SPURITY_TERM_PAD] = {"unsaid pad", SHARED, SPURITY_RECTANGULAR, 0.5},
    [SPURITY_TERM_LOSS] = {"unsaid loss", PER_FREQUENCY, SPURITY_RECTANGULAR, 0.3},
    [SPURITY_TERM_PAD_RESPONSE] = {"pad response", PER_FREQUENCY, SPURITY_RECTANGULAR, 0.2},
    [SPURITY_TERM_SET_MISMATCH] = {"mismatch set-chain", PER_FREQUENCY, SPURITY_ARCSINE, 0},
    [SPURITY_TERM_INSTRUMENT_MISMATCH] = {"mismatch at input", PER_FREQUENCY, SPURITY_ARCSINE, 0},
    [SPURITY_TERM_THROUGH_MISMATCH] = {"mismatch through", PER_FREQUENCY, SPURITY_ARCSINE, 0},
    [SPURITY_TERM_METER] = {"power meter", SHARED, SPURITY_RECTANGULAR, 0.5},
};

const char *spurity_term_name(spurity_term term)
{
    return (unsigned)term < SPURITY_TERMS ? rows[term].name : NULL;
}

double spurity_reflection_of_vswr(double vswr)
{
    return (vswr - 1) / (vswr + 1);
}

double spurity_reflection_of_return_loss(double db)
{
    return pow(10, -db / 20);
}

void spurity_mismatch_limits(double reflection_1, double reflection_2, double *up_db, double *down_db)
{
    double g = reflection_1 * reflection_2;
    *up_db = 20 * log10(1 + g);
    *down_db = 20 * log10(1 - g);
}

void spurity_budget_init(spurity_budget *budget)
{
    *budget = (spurity_budget){.linearity_most_db = 1.0, .repeats = 1, .reference_ppm = (double)NAN};
    for (int i = 0; i < SPURITY_TERMS; i++)
        budget->terms[i] = (spurity_budget_term){.distribution = rows[i].distribution, .figure_db = rows[i].figure_db};
    budget->set_reflection = spurity_reflection_of_vswr(2.0);
    budget->chain_reflection = spurity_reflection_of_vswr(1.2);
    budget->instrument_reflection = spurity_reflection_of_vswr(1.5);
}

/* ---- sources ------------------------------------------------------------------------------------------ */

static void name_source(char source[SPURITY_SOURCE_ID_SIZE], const char *name, enum scope scope,
                        const spurity_budget_level *level)
{
    switch (scope) {
    case SHARED:
        snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s", name);
        return;
    case PER_FREQUENCY:
        snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s@%.0f", name, level->hz);
        return;
    case PER_READING:
        snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s@%.0f/%d", name, level->hz, level->file);
        return;
    case PER_ATTENUATION:
        if (isnan(level->attenuation_db))
            snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s/%d", name, level->file);
        else
            snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s=%.2f", name, level->attenuation_db);
        return;
    case PER_RBW:
        if (level->rbw_hz > 0)
            snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s=%.6g", name, level->rbw_hz);
        else
            snprintf(source, SPURITY_SOURCE_ID_SIZE, "%s/%d", name, level->file);
    }
}

/* ---- figures ------------------------------------------------------------------------------------------ */

/* A mismatch moves a level between its two limits.  Half of what lies between them is taken to both sides: its standard
 * deviation is the exact one over an even phase within 0.5 % up to |Gamma| 1/3 at both ends, where the larger limit
 * would tell 6 % too much. */
static double mismatch_db(double reflection_1, double reflection_2)
{
    double up, down;
    spurity_mismatch_limits(reflection_1, reflection_2, &up, &down);
    return (up - down) / 2;
}

/* What comes back from the instrument and again from the set passes the chain twice. */
static double twice_through(double loss_db)
{
    return pow(10, -2 * fmax(isnan(loss_db) ? 0 : loss_db, 0) / 20);
}

static double figure_of(const spurity_budget *budget, spurity_term term, const spurity_budget_level *level)
{
    double figure = budget->terms[term].figure_db;
    switch (term) {
    case SPURITY_TERM_LINEARITY:
        if (isnan(level->below_carrier_db))
            return budget->linearity_most_db;
        return fmin(figure * fmax(level->below_carrier_db, 0) / 10, budget->linearity_most_db);
    case SPURITY_TERM_INTERPOLATION:
        return level->capture ? 0 : figure;
    case SPURITY_TERM_WINDOW:
        return level->capture ? figure : 0;
    case SPURITY_TERM_PAD_RESPONSE:
        return level->pads ? figure : 0;
    case SPURITY_TERM_METER: /* of no reading on the instrument, or of parts that the chain knows */
    case SPURITY_TERM_PAD:
    case SPURITY_TERM_LOSS:
        return 0;
    case SPURITY_TERM_REPEATABILITY:
        return figure / sqrt(fmax(budget->repeats, 1));
    case SPURITY_TERM_SET_MISMATCH:
        return mismatch_db(budget->set_reflection, budget->chain_reflection);
    case SPURITY_TERM_INSTRUMENT_MISMATCH:
        return mismatch_db(budget->chain_reflection, budget->instrument_reflection);
    case SPURITY_TERM_THROUGH_MISMATCH:
        return mismatch_db(budget->set_reflection, budget->instrument_reflection * twice_through(level->loss_db));
    default:
        return figure;
    }
}

/* What is less moves no U by its last printed digit, and is no row of a table. */
static const double LEAST_DB = 0.0005;

void spurity_budget_contributions(const spurity_budget *budget, const spurity_budget_level *level,
                                  spurity_uncertainty *list)
{
    char source[SPURITY_SOURCE_ID_SIZE];
    for (spurity_term term = 0; term < SPURITY_TERMS; term++) {
        double figure = figure_of(budget, term, level);
        if (!(figure > LEAST_DB))
            continue;
        name_source(source, rows[term].name, rows[term].scope, level);
        spurity_uncertainty_add(list, source, budget->terms[term].distribution, figure, 1);
    }
    for (size_t i = 0; i < budget->other_count; i++) {
        const spurity_budget_other *other = &budget->others[i];
        if (!(other->figure_db > 0))
            continue;
        name_source(source, other->name, other->shared ? SHARED : PER_FREQUENCY, level);
        spurity_uncertainty_add(list, source, other->distribution, other->figure_db, 1);
    }
}

void spurity_budget_meter(const spurity_budget *budget, spurity_uncertainty *list)
{
    const spurity_budget_term *meter = &budget->terms[SPURITY_TERM_METER];
    if (meter->figure_db > 0)
        spurity_uncertainty_add(list, rows[SPURITY_TERM_METER].name, meter->distribution, meter->figure_db, 1);
}
