/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a level is uncertain by: the bench's budget or its lump, the chain, and the table of both. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

/* The lump dBc is the expanded uncertainty of a ratio of two levels, so each level has a part r of its own with
 * 2 r^2 = (dBc/2)^2, and all share a part a with a^2 + r^2 = (dBm/2)^2 (our split: it gives back both figures as told).
 * Where dBc exceeds sqrt(2) dBm nothing is shared and dBm grows to dBc / sqrt(2), never less than told. */
void spurity_measurement_lump(const spurity_test_point *point, const char *own, spurity_uncertainty *list)
{
    double own_square = point->uncertainty_dbc * point->uncertainty_dbc / 8.0;
    double shared_square = point->uncertainty_dbm * point->uncertainty_dbm / 4.0 - own_square;
    if (shared_square > 0)
        spurity_uncertainty_add(list, "instrument absolute", SPURITY_NORMAL, sqrt(shared_square), 1.0);
    if (own_square > 0)
        spurity_uncertainty_add(list, own, SPURITY_NORMAL, sqrt(own_square), 1.0);
}

/* What nobody said of a part of the chain is not nothing: a budget has a figure for it. */
static void add_unsaid(const spurity_budget *budget, const spurity_chain *chain, double hz, spurity_uncertainty *list)
{
    const spurity_budget_term *pad = &budget->terms[SPURITY_TERM_PAD], *loss = &budget->terms[SPURITY_TERM_LOSS];
    char source[SPURITY_SOURCE_ID_SIZE];
    spurity_chain_element element;
    double db, own_db;
    for (size_t i = 0; spurity_chain_element_at(chain, i, &element); i++) {
        if (!isnan(element.uncertainty_db))
            continue;
        if (!element.curve && element.db > 0 && pad->figure_db > 0) {
            snprintf(source, sizeof source, "%s %zu=%.3f", spurity_term_name(SPURITY_TERM_PAD), i + 1, element.db);
            spurity_uncertainty_add(list, source, pad->distribution, pad->figure_db, 1);
        } else if (element.curve && spurity_curve_at(element.curve, hz, &db, &own_db) && !(own_db > 0) &&
                   loss->figure_db > 0) {
            snprintf(source, sizeof source, "%s %zu@%.0f", spurity_term_name(SPURITY_TERM_LOSS), i + 1, hz);
            spurity_uncertainty_add(list, source, loss->distribution, loss->figure_db, 1);
        }
    }
}

static bool has_pads(const spurity_chain *chain)
{
    spurity_chain_element element;
    for (size_t i = 0; spurity_chain_element_at(chain, i, &element); i++)
        if (!element.curve && element.db > 0)
            return true;
    return false;
}

void spurity_test_point_contributions(const spurity_test_point *point, const spurity_chain *chain,
                                      const spurity_budget_level *level, spurity_uncertainty *list)
{
    char own[SPURITY_SOURCE_ID_SIZE];
    spurity_budget_level behind = *level;
    spurity_uncertainty parts = {0};
    double loss_db = 0;
    bool known = chain && spurity_chain_loss(chain, level->hz, &loss_db, &parts, NULL);
    if (point->budget) {
        behind.loss_db = loss_db;
        behind.pads = chain && has_pads(chain);
        spurity_budget_contributions(point->budget, &behind, list);
        if (chain)
            add_unsaid(point->budget, chain, level->hz, list);
    } else {
        snprintf(own, sizeof own, "reading@%.0f/%d", level->hz, level->file);
        spurity_measurement_lump(point, own, list);
    }
    if (known)
        *list = spurity_uncertainty_sum(list, &parts);
}

double spurity_test_point_meter_expanded(const spurity_test_point *point)
{
    spurity_uncertainty meter = {0};
    if (!point->budget)
        return point->uncertainty_dbm;
    spurity_budget_meter(point->budget, &meter);
    return spurity_uncertainty_expanded(&meter);
}

void spurity_test_point_use_budget(spurity_test_point *point, const spurity_budget *budget)
{
    spurity_budget_level carrier = {.hz = 1, .attenuation_db = 10, .rbw_hz = 1, .loss_db = 20, .pads = true},
                         level = carrier;
    spurity_uncertainty at_carrier = {0}, at_level = {0};
    level.hz = 2;
    level.below_carrier_db = (double)NAN;
    spurity_budget_contributions(budget, &carrier, &at_carrier);
    spurity_budget_contributions(budget, &level, &at_level);
    point->budget = budget;
    point->uncertainty_assumed = false;
    point->uncertainty_dbm = spurity_uncertainty_expanded(&at_level);
    spurity_uncertainty ratio = spurity_uncertainty_difference(&at_level, &at_carrier);
    point->uncertainty_dbc = spurity_uncertainty_expanded(&ratio);
}

/* ---- of a file ----------------------------------------------------------------------------------------- */

static double rbw_of_service(const spurity_measurement *m, int file, double hz)
{
    spurity_segment view;
    const spurity_service *service = spurity_measurement_service_at(m, hz);
    if (!service || service->file != file ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)),
                               service->segment, &view))
        return 0;
    return view.facts.rbw_hz;
}

void spurity_measurement_contributions(const spurity_measurement *m, int file, double hz, double below_carrier_db,
                                       double rbw_hz, spurity_uncertainty *list)
{
    spurity_budget_level level = {
        .hz = hz, .file = file, .below_carrier_db = below_carrier_db, .attenuation_db = (double)NAN, .rbw_hz = rbw_hz};
    if (file >= 0) {
        level.capture = m->files[file].spectrum != NULL;
        level.attenuation_db = spurity_recording_facts_of(m->files[file].recording)->input_attenuation_db;
        if (m->point->budget && !(rbw_hz > 0))
            level.rbw_hz = rbw_of_service(m, file, hz);
    }
    spurity_test_point_contributions(m->point, file >= 0 ? m->sources[file].chain : NULL, &level, list);
}

void spurity_measurement_anchor_uncertainty(const spurity_measurement *m, int file, spurity_uncertainty *list)
{
    const spurity_carrier *carrier = &m->carrier;
    bool anchored = carrier->source == SPURITY_CARRIER_FROM_METER && carrier->seen && carrier->trustworthy &&
                    file >= 0 && !isnan(m->files[file].carrier_db);
    if (!m->point->budget || !anchored)
        return;
    spurity_uncertainty ratio = spurity_uncertainty_difference(list, &m->carrier_reading);
    *list = spurity_uncertainty_sum(&ratio, &carrier->uncertainty);
}

double spurity_measurement_expanded(const spurity_measurement *measurement, int file, double hz, bool ratio)
{
    spurity_uncertainty list = {0};
    spurity_measurement_contributions(measurement, file, hz, (double)NAN, 0, &list);
    if (ratio)
        list = spurity_uncertainty_difference(&list, &measurement->carrier_reading);
    else
        spurity_measurement_anchor_uncertainty(measurement, file, &list);
    return spurity_uncertainty_expanded(&list);
}

/* ---- the two sides of a level --------------------------------------------------------------------------- */

static const char noise_name[] = "noise near the reading";

/* Of the noise the smaller side is in the list, as a contribution like any other; what the larger one has more joins
 * its own side only. */
void spurity_measurement_add_noise(int file, double hz, double noise_up_db, double noise_down_db,
                                   spurity_uncertainty *list)
{
    char source[SPURITY_SOURCE_ID_SIZE];
    double both = fmin(noise_up_db, noise_down_db);
    if (!(both > 0))
        return;
    snprintf(source, sizeof source, "%s@%.0f/%d", noise_name, hz, file);
    spurity_uncertainty_add(list, source, SPURITY_NORMAL, both, 1.0);
}

/* What is open on one side of a level beyond its list. */
struct side {
    double bound_db; /* the truth is no further off: points, detector, meter */
    double noise_db; /* standard deviation that the noise has more on this side than on the other */
};

/* How many deviations of the noise spurity_line's read_low_db and read_high_db hold. */
static const double READ_SIGMAS = 1.96;

static void add_noise_side(struct side *side, double mine_db, double other_db)
{
    double both = fmin(mine_db, other_db);
    side->bound_db = fmax(side->bound_db - READ_SIGMAS * mine_db, 0);
    side->noise_db = hypot(side->noise_db, sqrt(mine_db * mine_db - both * both));
}

static struct side emission_side(const spurity_emission *e, bool ratio, bool upwards)
{
    struct side side = {.bound_db = ratio ? (upwards ? e->ratio_low_db : e->ratio_high_db)
                                          : (upwards ? e->read_low_db : e->read_high_db)};
    add_noise_side(&side, upwards ? e->noise_up_db : e->noise_down_db, upwards ? e->noise_down_db : e->noise_up_db);
    if (ratio) /* a carrier that stands higher makes the ratio lower */
        add_noise_side(&side, upwards ? e->carrier_noise_down_db : e->carrier_noise_up_db,
                       upwards ? e->carrier_noise_up_db : e->carrier_noise_down_db);
    return side;
}

static struct side carrier_side(const spurity_carrier *carrier, bool upwards)
{
    struct side side = {.bound_db = upwards ? carrier->read_low_db : carrier->read_high_db};
    add_noise_side(&side, upwards ? carrier->noise_up_db : carrier->noise_down_db,
                   upwards ? carrier->noise_down_db : carrier->noise_up_db);
    return side;
}

static spurity_uncertainty with_side(const spurity_uncertainty *list, struct side side)
{
    spurity_uncertainty all = *list;
    if (side.bound_db > 0)
        spurity_uncertainty_add(&all, "reading, one side", SPURITY_ONE_SIDED, side.bound_db, 1.0);
    if (side.noise_db > 0)
        spurity_uncertainty_add(&all, "noise, one side", SPURITY_NORMAL, side.noise_db, 1.0);
    return all;
}

double spurity_emission_expanded(const spurity_emission *emission, bool ratio, bool upwards)
{
    spurity_uncertainty list = with_side(ratio ? &emission->uncertainty_dbc : &emission->uncertainty_dbm,
                                         emission_side(emission, ratio, upwards));
    return spurity_uncertainty_expanded(&list);
}

static bool interval(const spurity_uncertainty *list, struct side below, struct side above, double probability,
                     double *low_db, double *high_db)
{
    double other;
    spurity_uncertainty down = with_side(list, below), up = with_side(list, above);
    return spurity_uncertainty_interval(&down, probability, low_db, &other) &&
           spurity_uncertainty_interval(&up, probability, &other, high_db);
}

bool spurity_emission_interval(const spurity_emission *emission, bool ratio, double probability, double *low_db,
                               double *high_db)
{
    return interval(ratio ? &emission->uncertainty_dbc : &emission->uncertainty_dbm,
                    emission_side(emission, ratio, false), emission_side(emission, ratio, true), probability, low_db,
                    high_db);
}

bool spurity_carrier_interval(const spurity_carrier *carrier, double probability, double *low_db, double *high_db)
{
    return interval(&carrier->uncertainty, carrier_side(carrier, false), carrier_side(carrier, true), probability,
                    low_db, high_db);
}

/* ---- the table ------------------------------------------------------------------------------------------ */

/* "chain pad 40 1f3a90cc #1" -> "pad 40 dB", "chain notch.csv#1f3a90cc@293880000" -> "loss of notch.csv at 293.88 MHz"
 * (chain.c names them). */
static void chain_words(const char *source, char *words, size_t size)
{
    char hz[48];
    const char *at = strrchr(source, '@'), *hash = strrchr(source, '#');
    if (!strncmp(source, "pad ", 4) && !at) {
        snprintf(words, size, "pad %.*s dB", (int)strcspn(source + 4, " "), source + 4);
        return;
    }
    int used = snprintf(words, size, "loss of %.*s", hash ? (int)(hash - source) : SPURITY_SOURCE_ID_SIZE, source);
    if (at)
        snprintf(words + used, size - (size_t)used, " at %s",
                 spurity_format_frequency(hz, sizeof hz, strtod(at + 1, NULL), 6));
}

/* "frequency response@293880000/1" -> "frequency response at 293.88 MHz, file 2": what made two levels share a source
 * or not is told to the person too. */
static void words_of(const char *source, char *words, size_t size)
{
    static const char chain[] = "chain ";
    char hz[48];
    if (!strncmp(source, chain, sizeof chain - 1)) {
        chain_words(source + sizeof chain - 1, words, size);
        return;
    }
    const char *at = strchr(source, '@'), *is = strchr(source, '='), *file = strchr(source, '/');
    int used = snprintf(words, size, "%.*s", (int)strcspn(source, "@=/"), source);
    if (at)
        used += snprintf(words + used, size - (size_t)used, " at %s",
                         spurity_format_frequency(hz, sizeof hz, strtod(at + 1, NULL), 6));
    if (is && !strncmp(source, "RBW", 3))
        used += snprintf(words + used, size - (size_t)used, " of %s",
                         spurity_format_frequency(hz, sizeof hz, strtod(is + 1, NULL), 6));
    else if (is)
        used += snprintf(words + used, size - (size_t)used, " at %ld dB", strtol(is + 1, NULL, 10));
    if (file)
        snprintf(words + used, size - (size_t)used, ", file %ld", strtol(file + 1, NULL, 10) + 1);
}

static void fill(spurity_budget_row *row, const spurity_contribution *item)
{
    double divisor = spurity_distribution_divisor(item->distribution);
    *row = (spurity_budget_row){.distribution = item->distribution,
                                .figure_db = item->figure_db,
                                .divisor = divisor,
                                .sensitivity = item->sensitivity,
                                .standard_db = fabs(item->sensitivity) * item->figure_db / divisor};
    words_of(item->source, row->source, sizeof row->source);
}

static size_t add_row(spurity_budget_row *rows, size_t count, size_t most, const spurity_contribution *item, int side)
{
    if (!(item->figure_db > 0) || count >= most)
        return count;
    fill(&rows[count], item);
    rows[count].side = side;
    return count + 1;
}

static size_t add_side(spurity_budget_row *rows, size_t count, size_t most, struct side open, int side)
{
    const spurity_contribution bound = {.source = "points, detector, noise as a bound",
                                        .distribution = SPURITY_ONE_SIDED,
                                        .figure_db = open.bound_db,
                                        .sensitivity = 1};
    const spurity_contribution noise = {.source = "noise near the reading, this side",
                                        .distribution = SPURITY_NORMAL,
                                        .figure_db = open.noise_db,
                                        .sensitivity = 1};
    count = add_row(rows, count, most, &bound, side);
    return add_row(rows, count, most, &noise, side);
}

size_t spurity_measurement_budget(const spurity_measurement *measurement, long emission, bool ratio,
                                  spurity_budget_row *rows, size_t most)
{
    const spurity_carrier *carrier = &measurement->carrier;
    const spurity_emission *one = NULL;
    if (emission >= 0 && !(one = spurity_measurement_emission(measurement, (size_t)emission)))
        return 0;
    if (!one && ratio) /* the carrier against itself */
        return 0;
    const spurity_uncertainty *list = !one    ? &carrier->uncertainty
                                      : ratio ? &one->uncertainty_dbc
                                              : &one->uncertainty_dbm;
    size_t count = 0;
    for (; count < list->count && count < most; count++)
        fill(&rows[count], &list->items[count]);
    if (!one && carrier->source == SPURITY_CARRIER_FROM_METER)
        return count; /* the level is the meter's */
    count = add_side(rows, count, most, one ? emission_side(one, ratio, true) : carrier_side(carrier, true), 1);
    return add_side(rows, count, most, one ? emission_side(one, ratio, false) : carrier_side(carrier, false), -1);
}
