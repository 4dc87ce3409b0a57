/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What several files that share a frequency say of what stands there: one row for the carrier and for each emission.
 * The table tells whose it is (origin.c), and levels are settled by it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "../error/grow.h"
#include "parts.h"

/* What two files that show the same line mean, by what differs between them (design, "Overlaps"). */
enum meaning { REPEAT, PAD_STEP, OTHER_RBW, INCOMPARABLE };

struct reading {
    int file;
    double db, floor_db; /* on the file's scale */
    double rbw_hz;
};

/* Lines below this above either floor are too noisy to be held against each other (design). */
static const double OVER_FLOOR_DB = 10.0;
/* A chain that takes the carrier this much more than the least within the file's span is a notch or high-pass: how deep
 * exactly, nobody knows well enough. */
static const double NOTCH_DB = 20.0;
enum { READINGS_MOST = 32 };

/* A row in the making. */
struct table_row {
    spurity_overlap row;
    spurity_overlap_reading readings[READINGS_MOST];
};

/* How much less of a signal reaches the converter of file b than of file a: pads, and the gain that full scale tells.
 */
double spurity_measurement_step(const spurity_measurement *m, int a, int b, double hz)
{
    double pads = spurity_measurement_loss(m, b, hz) - spurity_measurement_loss(m, a, hz), gain = 0;
    if (m->files[a].spectrum && m->files[b].spectrum)
        gain = spurity_recording_facts_of(m->files[b].recording)->full_scale_dbm -
               spurity_recording_facts_of(m->files[a].recording)->full_scale_dbm;
    return isnan(gain) ? pads : pads + gain;
}

double spurity_measurement_doubt(const spurity_measurement *m, int a, int b, double hz)
{
    spurity_uncertainty of_a = {0}, of_b = {0};
    spurity_measurement_contributions(m, a, hz, (double)NAN, 0, &of_a);
    spurity_measurement_contributions(m, b, hz, (double)NAN, 0, &of_b);
    of_a = spurity_uncertainty_difference(&of_a, &of_b);
    return spurity_uncertainty_expanded(&of_a);
}

double spurity_measurement_compression(const spurity_measurement *m, int a, const spurity_line *of_a, int b,
                                       const spurity_line *of_b)
{
    double hz = m->carrier.frequency_hz, step = spurity_measurement_step(m, a, b, hz);
    const spurity_line *less = step > 0 ? of_a : of_b, *more = step > 0 ? of_b : of_a;
    double lower = more->level_db - less->level_db;
    double doubt = spurity_measurement_doubt(m, a, b, hz) + less->read_low_db + more->read_high_db;
    return fabs(step) > 0.5 && lower > doubt ? lower : 0;
}

static enum meaning meaning_of(const spurity_measurement *m, const struct reading *a, const struct reading *b,
                               double hz)
{
    if (!spurity_measurement_same_scale(m, a->file, b->file))
        return INCOMPARABLE;
    if (fabs(spurity_measurement_step(m, a->file, b->file, hz)) > 0.5)
        return PAD_STEP;
    bool same_rbw = a->rbw_hz > 0 && fabs(a->rbw_hz - b->rbw_hz) < 0.01 * a->rbw_hz;
    return same_rbw ? REPEAT : OTHER_RBW;
}

/* Whether what another file shows there may be something stronger it does not keep apart from this emission: the
 * carrier, or another emission within what that reading leaves open of its frequency. */
static bool may_be_another(const spurity_measurement *m, int file, const spurity_line *line, double rbw_hz,
                           const spurity_emission *emission)
{
    if (spurity_measurement_is_carrier(m, file, line))
        return true;
    double reach = line->frequency_uncertainty_hz + fmax(line->width_hz, rbw_hz);
    for (size_t i = 0; i < m->emission_count; i++) {
        const spurity_emission *other = &m->emissions[i];
        double here = other->frequency_uncertainty_hz + emission->frequency_uncertainty_hz +
                      fmin(other->rbw_hz, emission->rbw_hz) / 2;
        bool itself = other->file != emission->file && fabs(other->frequency_hz - emission->frequency_hz) <= here;
        if (other != emission && other->seen && !itself && other->level_dbc > emission->level_dbc &&
            fabs(other->frequency_hz - line->frequency_hz) <= reach + other->frequency_uncertainty_hz)
            return true;
    }
    return fabs(m->carrier.frequency_hz - line->frequency_hz) <= reach;
}

/* The strongest line of a file that may stand where the emission does, as far as both readings tell. */
const spurity_line *spurity_measurement_line_at(const spurity_measurement *m, const spurity_survey *survey,
                                                const spurity_emission *emission)
{
    double slack_hz = m->carrier.frequency_uncertainty_hz;
    const spurity_line *best = NULL;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        double reach = emission->rbw_hz + slack_hz + line->frequency_uncertainty_hz;
        if (fabs(line->frequency_hz - emission->frequency_hz) <= reach && (!best || line->level_db > best->level_db))
            best = line;
    }
    return best;
}

static double rbw_at(const spurity_measurement *m, int file, size_t segment)
{
    spurity_segment view;
    if (!spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)), segment,
                               &view))
        return 0;
    return view.facts.rbw_hz;
}

/* What a file reads of an emission: its line; where there is none the bound of a hidden one (*seen false).  False where
 * the file says nothing of it. */
static bool reading_in(const spurity_measurement *m, int file, const spurity_emission *emission,
                       struct reading *reading, bool *seen)
{
    const spurity_survey *survey = m->sources[file].survey;
    const spurity_line *line = spurity_measurement_line_at(m, survey, emission);
    double reach = emission->frequency_uncertainty_hz + emission->rbw_hz, hz = emission->frequency_hz;
    *reading = (struct reading){.file = file};
    *seen = line != NULL;
    if (!line)
        return spurity_survey_bound(survey, hz - reach, hz + reach, &reading->db, &reading->floor_db, NULL) &&
               isfinite(reading->db);
    reading->rbw_hz = rbw_at(m, file, line->segment);
    reading->db = line->level_db;
    reading->floor_db = line->floor_db;
    return !may_be_another(m, file, line, reading->rbw_hz, emission);
}

static void disagree(spurity_measurement *m, spurity_emission *emission, const struct reading *mine,
                     const struct reading *other, enum meaning meaning)
{
    static const char *const words[] = {
        [REPEAT] = "a repeat of the same sweep", [PAD_STEP] = "another attenuation", [OTHER_RBW] = "another RBW"};
    char at[40];
    spurity_format_frequency_near(at, sizeof at, emission->frequency_hz, emission->rbw_hz / SPURITY_RBW_PARTS);
    spurity_notes_add(m->notes, SPURITY_NOTE_OVERLAP_DISAGREES, other->file,
                      "%s reads %.1f %s at the terminal here and %.1f %s in '%.80s' (%s)%s; the %s stands", at,
                      other->db, spurity_measurement_unit(m, other->file), mine->db,
                      spurity_measurement_unit(m, mine->file), m->point->sources[mine->file].path, words[meaning],
                      meaning == PAD_STEP ? ": what moves with the attenuation comes from the instrument" : "",
                      meaning == REPEAT ? "mean in power" : "higher reading");
    /* Under a pad step the level cannot be told from the instrument's own: an upper bound at best. */
    if (meaning == PAD_STEP) {
        double step = spurity_measurement_step(m, mine->file, other->file, emission->frequency_hz);
        spurity_measurement_name_by_gain(m, emission, other->file, mine->db - other->db, step);
        emission->front_end_unproven = true;
        spurity_notes_add(m->notes, SPURITY_NOTE_FRONT_END_UNPROVEN, mine->file,
                          "what stands at %s moves with the attenuation before the instrument: its level is an upper "
                          "bound, part of it may be the instrument's own",
                          at);
    }
    double up = other->db - mine->db;
    if (up > 0 && meaning != REPEAT) {
        emission->level_dbm += up;
        emission->level_dbc += up;
    }
}

/* Mean in power of repeats, and the type A uncertainty s / sqrt n of it (JCGM 100:2008, 4.2). */
double spurity_measurement_mean_of(const double *db, size_t count, spurity_repeats *repeats)
{
    double power = 0, mean = 0, square = 0, least = INFINITY, most = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        power += spurity_ratio_from_db(db[i] - db[0]) / (double)count;
        mean += db[i] / (double)count;
        least = fmin(least, db[i]);
        most = fmax(most, db[i]);
    }
    for (size_t i = 0; i < count; i++)
        square += (db[i] - mean) * (db[i] - mean);
    *repeats = (spurity_repeats){.count = count,
                                 .spread_db = most - least,
                                 .type_a_db = sqrt(square / (double)(count - 1)) / sqrt((double)count)};
    return spurity_db_from_ratio(power);
}

/* Student's t for 95.45 % at nu degrees of freedom (JCGM 100:2008, table G.2); between its rows linear in 1/nu, which
 * is not below the truth there. */
static double student(double nu)
{
    static const double table[][2] = {{1, 13.97}, {2, 4.53}, {3, 3.31}, {4, 2.87},  {5, 2.65},  {6, 2.52},
                                      {7, 2.43},  {8, 2.37}, {9, 2.32}, {10, 2.28}, {20, 2.13}, {50, 2.05}};
    const size_t count = sizeof table / sizeof *table;
    if (nu <= 1)
        return table[0][1];
    for (size_t i = 1; i < count; i++)
        if (nu <= table[i][0]) {
            double part = (1 / table[i - 1][0] - 1 / nu) / (1 / table[i - 1][0] - 1 / table[i][0]);
            return table[i - 1][1] + part * (table[i][1] - table[i - 1][1]);
        }
    return 2.0 + (table[count - 1][1] - 2.0) * table[count - 1][0] / nu;
}

/* A few repeats tell their scatter poorly.  The combined uncertainty's effective degrees of freedom are n - 1 times
 * (u_c / u_A)^4 (Welch-Satterthwaite, JCGM 100:2008 G.4.1: all others have infinitely many), and the figure added is
 * such that twice the whole is t times u_c. */
void spurity_measurement_add_repeats(spurity_uncertainty *list, const char *source, const spurity_repeats *repeats)
{
    double a = repeats->type_a_db, others = spurity_uncertainty_standard(list);
    if (!(a > 0))
        return;
    double whole = hypot(a, others), nu = (double)(repeats->count - 1) * pow(whole / a, 4);
    double wanted = student(nu) / 2 * whole;
    spurity_uncertainty_add(list, source, SPURITY_NORMAL, sqrt(fmax(wanted * wanted - others * others, a * a)), 1.0);
}

/* ---- rows ---- */

static void add_reading(struct table_row *at, const spurity_overlap_reading *reading)
{
    if (at->row.count < READINGS_MOST)
        at->readings[at->row.count++] = *reading;
}

static bool is_clear(const struct reading *reading)
{
    return reading->db - reading->floor_db > OVER_FLOOR_DB;
}

static void fill_emission(const spurity_measurement *m, const spurity_emission *emission, struct table_row *at)
{
    struct reading mine, other;
    double hz = emission->frequency_hz;
    bool seen, told = reading_in(m, emission->file, emission, &mine, &seen) && seen;
    at->row.frequency_hz = hz;
    at->row.rbw_hz = emission->rbw_hz;
    add_reading(at, &(spurity_overlap_reading){.file = emission->file,
                                               .level_db = told ? mine.db : emission->scale_db,
                                               .floor_db = told ? mine.floor_db : (double)NAN,
                                               .seen = true,
                                               .comparable = told});
    for (int file = 0; file < (int)m->file_count && told; file++) {
        if (file == emission->file || !spurity_measurement_is_keyed(m, file) ||
            !reading_in(m, file, emission, &other, &seen))
            continue;
        enum meaning meaning = meaning_of(m, &mine, &other, hz);
        bool clear = is_clear(&mine) && (!seen || is_clear(&other));
        add_reading(at, &(spurity_overlap_reading){.file = file,
                                                   .step_db = spurity_measurement_step(m, emission->file, file, hz),
                                                   .level_db = other.db,
                                                   .floor_db = other.floor_db,
                                                   .seen = seen,
                                                   .comparable = meaning != INCOMPARABLE && clear,
                                                   .repeat = seen && clear && meaning == REPEAT});
    }
}

/* The carrier as a file reads it; NULL where it does not. */
static const spurity_line *carrier_in(const spurity_measurement *m, int file)
{
    const spurity_survey *survey = m->sources[file].survey;
    const spurity_line *best = NULL;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        if (spurity_measurement_is_carrier(m, file, line) && (!best || line->level_db > best->level_db))
            best = line;
    }
    return best;
}

static void add_carrier(const spurity_measurement *m, int file, const spurity_line *mine, struct table_row *at)
{
    const spurity_line *line = carrier_in(m, file);
    double hz = m->carrier.frequency_hz;
    if (!line)
        return;
    struct reading a = {m->carrier.file, mine->level_db, mine->floor_db, m->carrier.rbw_hz};
    struct reading b = {file, line->level_db, line->floor_db, rbw_at(m, file, line->segment)};
    enum meaning meaning = meaning_of(m, &a, &b, hz);
    bool good = line->trustworthy && mine->trustworthy && meaning != INCOMPARABLE &&
                spurity_measurement_notch_depth(m, file, hz) < NOTCH_DB;
    add_reading(at, &(spurity_overlap_reading){.file = file,
                                               .step_db = spurity_measurement_step(m, m->carrier.file, file, hz),
                                               .level_db = line->level_db,
                                               .floor_db = line->floor_db,
                                               .seen = true,
                                               .comparable = good,
                                               .repeat = good && meaning == REPEAT});
    if (good)
        at->row.compressed_db =
            fmax(at->row.compressed_db, spurity_measurement_compression(m, m->carrier.file, mine, file, line));
}

static void fill_carrier(const spurity_measurement *m, struct table_row *at)
{
    const spurity_line *mine = m->carrier.seen ? carrier_in(m, m->carrier.file) : NULL;
    at->row.frequency_hz = m->carrier.frequency_hz;
    at->row.rbw_hz = m->carrier.rbw_hz;
    if (!mine)
        return;
    add_reading(at, &(spurity_overlap_reading){.file = m->carrier.file,
                                               .level_db = mine->level_db,
                                               .floor_db = mine->floor_db,
                                               .seen = true,
                                               .comparable = true});
    for (int file = 0; file < (int)m->file_count; file++)
        if (file != m->carrier.file && spurity_measurement_is_keyed(m, file))
            add_carrier(m, file, mine, at);
}

/* Keeps a row; its readings are pointed at once the list stands still. */
static bool keep(spurity_measurement *m, const struct table_row *at)
{
    spurity_overlap *rows = spurity_grow(m->overlaps, m->overlap_count, &m->overlap_room, sizeof *rows);
    if (!rows)
        return false;
    m->overlaps = rows;
    m->overlaps[m->overlap_count++] = at->row;
    for (size_t i = 0; i < at->row.count; i++) {
        spurity_overlap_reading *all =
            spurity_grow(m->readings, m->reading_count, &m->reading_room, sizeof *m->readings);
        if (!all)
            return false;
        m->readings = all;
        m->readings[m->reading_count++] = at->readings[i];
    }
    return true;
}

/* ---- what follows for the levels ---- */

static void average(spurity_emission *emission, const struct table_row *at)
{
    double db[READINGS_MOST] = {at->readings[0].level_db};
    size_t count = 1;
    for (size_t i = 1; i < at->row.count; i++)
        if (at->readings[i].repeat)
            db[count++] = at->readings[i].level_db;
    if (count < 2)
        return;
    double shift = spurity_measurement_mean_of(db, count, &emission->repeats);
    char source[SPURITY_SOURCE_ID_SIZE];
    snprintf(source, sizeof source, "repeats at %.0f Hz", emission->frequency_hz);
    emission->level_dbm += shift;
    emission->level_dbc += shift;
    spurity_measurement_add_repeats(&emission->uncertainty_dbm, source, &emission->repeats);
    spurity_measurement_add_repeats(&emission->uncertainty_dbc, source, &emission->repeats);
}

static void note_gone(const spurity_measurement *m, spurity_emission *emission, const spurity_overlap_reading *other)
{
    char at[40];
    emission->front_end_unproven = true;
    spurity_notes_add(
        m->notes, SPURITY_NOTE_FRONT_END_UNPROVEN, other->file,
        "what reads at %s is gone with %.1f dB more attenuation, where the set's would show: the "
        "instrument makes it, or it comes and goes; its level is an upper bound",
        spurity_format_frequency_near(at, sizeof at, emission->frequency_hz, emission->rbw_hz / SPURITY_RBW_PARTS),
        other->step_db);
}

/* Tells what moved; returns whether anything did under a step of the attenuation. */
static bool find_moved(spurity_measurement *m, spurity_emission *emission, const struct table_row *at)
{
    bool moved = false;
    struct reading mine = {at->readings[0].file, at->readings[0].level_db, at->readings[0].floor_db, emission->rbw_hz};
    for (size_t i = 1; i < at->row.count; i++) {
        const spurity_overlap_reading *other = &at->readings[i];
        double change = other->level_db - mine.db;
        double doubt = spurity_measurement_doubt(m, mine.file, other->file, emission->frequency_hz);
        bool step = fabs(other->step_db) > 0.5;
        if (!other->comparable || (other->seen ? fabs(change) <= doubt : !(change < -doubt && other->step_db > 0.5)))
            continue;
        moved = moved || step;
        struct reading theirs = {other->file, other->level_db, other->floor_db, 0};
        if (other->seen)
            disagree(m, emission, &mine, &theirs, step ? PAD_STEP : other->repeat ? REPEAT : OTHER_RBW);
        else if (!m->files[emission->file].spectrum) /* of captures artefacts.c has told */
            note_gone(m, emission, other);
    }
    return moved;
}

static void widen(spurity_emission *emission, double low_db, double high_db)
{
    emission->read_low_db = fmax(emission->read_low_db, low_db);
    emission->ratio_low_db = fmax(emission->ratio_low_db, low_db);
    emission->read_high_db = fmax(emission->read_high_db, high_db);
    emission->ratio_high_db = fmax(emission->ratio_high_db, high_db);
}

static size_t steps_of(const struct table_row *at)
{
    size_t steps = 0;
    for (size_t i = 1; i < at->row.count; i++)
        steps += at->readings[i].comparable && at->readings[i].seen && fabs(at->readings[i].step_db) >= 5.0;
    return steps;
}

/* A line that held still where the instrument's own would have moved is the transmitter's.  One step leaves an unlucky
 * phase at which a product as strong as the line goes unseen: it settles what can be too high.  Two steps, one twice
 * the other or so, leave little on either side; intercepts bound both as well. */
static void settle(spurity_emission *emission, const struct table_row *at)
{
    const spurity_overlap *row = &at->row;
    if (steps_of(at) && !isnan(row->high_db)) {
        emission->front_end_unproven = false;
        emission->stepped = row->origin == SPURITY_ORIGIN_TRANSMITTER && !row->one_step;
    }
    bool bounded = emission->stepped || !isnan(emission->own_db);
    if (emission->stepped)
        emission->own_covers = false;
    if (!isnan(row->high_db))
        widen(emission, bounded ? row->low_db : 0, row->high_db);
    if (emission->own_covers)
        emission->trustworthy = false;
}

/* A line beside a compressed carrier loses more than it: in the cubic model a carrier that reads low by c keeps 1 - x
 * of its amplitude, a weak line 1 - 2x. */
static void widen_by_compression(const spurity_measurement *m, spurity_emission *emission)
{
    const spurity_overlap *carrier = &m->overlaps[0]; /* its readings are the first of all */
    const spurity_overlap_reading *mine = NULL;
    double lower = 0;
    for (size_t i = 0; i < carrier->count && carrier->compressed_db > 0; i++)
        if (m->readings[i].comparable && m->readings[i].file == emission->file)
            mine = &m->readings[i];
    for (size_t i = 0; i < carrier->count && mine; i++)
        if (m->readings[i].comparable && m->readings[i].step_db > mine->step_db + 0.5)
            lower = fmax(lower, m->readings[i].level_db - mine->level_db);
    double x = 1 - pow(10, -lower / 20);
    if (lower <= m->point->uncertainty_dbc)
        return;
    if (2 * x >= 0.9)
        emission->trustworthy = false;
    else
        widen(emission, emission->read_low_db - 20 * log10(1 - 2 * x), emission->read_high_db);
}

/* Of what moved, the part that the instrument may have taken from the reading beyond what the higher one gave back. */
static void widen_moved(spurity_emission *emission, const struct table_row *at)
{
    double up = 0;
    for (size_t i = 1; i < at->row.count; i++)
        if (at->readings[i].comparable && at->readings[i].seen)
            up = fmax(up, at->readings[i].level_db - at->readings[0].level_db);
    if (!isnan(at->row.low_db))
        widen(emission, at->row.low_db - up, 0);
}

static double change_of(const struct table_row *at, size_t i)
{
    return at->readings[i].level_db - at->readings[0].level_db;
}

/* What two steps show as a product of the instrument's, the carrier holding still under them, leaves a bound of the
 * set's own far below the reading: that is what counts. */
static bool settle_as_own(spurity_measurement *m, spurity_emission *emission, const struct table_row *at)
{
    const spurity_overlap *row = &at->row;
    char where[40];
    if (row->origin != SPURITY_ORIGIN_INSTRUMENT || !row->order || row->one_step || !(row->low_db < 0) ||
        m->overlaps[0].origin != SPURITY_ORIGIN_TRANSMITTER)
        return false;
    emission->settled = emission->front_end_unproven = true;
    emission->level_dbm += row->low_db;
    emission->level_dbc += row->low_db;
    spurity_notes_add(m->notes, SPURITY_NOTE_FRONT_END_UNPROVEN, emission->file,
                      "what reads at %s falls under two steps of the attenuation as a product of order %d of the "
                      "instrument's: of the set's own no more can be in it than %.1f dB less",
                      spurity_format_frequency_near(where, sizeof where, emission->frequency_hz,
                                                    emission->rbw_hz / SPURITY_RBW_PARTS),
                      row->order, -row->low_db);
    return true;
}

/* What does not move on the instrument is told once, where the attenuation is least: there it stands lowest at the
 * terminal, and is a bound of the set's. */
static bool settle_as_floor(spurity_measurement *m, spurity_emission *emission, const struct table_row *at,
                            bool *redundant)
{
    char where[40];
    if (at->row.origin != SPURITY_ORIGIN_FLOOR)
        return false;
    for (size_t i = 1; i < at->row.count; i++)
        *redundant = *redundant || (at->readings[i].comparable && at->readings[i].seen &&
                                    at->readings[i].step_db < -0.5 && change_of(at, i) < 0);
    emission->front_end_unproven = true;
    if (!*redundant)
        spurity_notes_add(m->notes, SPURITY_NOTE_FRONT_END_UNPROVEN, emission->file,
                          "what reads at %s stays on the instrument whatever the attenuation: it does not come through "
                          "the input, and the level is an upper bound",
                          spurity_format_frequency_near(where, sizeof where, emission->frequency_hz,
                                                        emission->rbw_hz / SPURITY_RBW_PARTS));
    return true;
}

static void apply(spurity_measurement *m, spurity_emission *emission, struct table_row *at, bool *redundant)
{
    emission->origin = (int)at->row.origin;
    if (emission->kind == SPURITY_ARTEFACT || settle_as_own(m, emission, at) ||
        settle_as_floor(m, emission, at, redundant))
        return;
    bool moved = find_moved(m, emission, at);
    if (emission->kind == SPURITY_ARTEFACT) /* by its gain */
        return;
    if (!moved)
        settle(emission, at);
    else
        widen_moved(emission, at);
    average(emission, at);
    widen_by_compression(m, emission);
}

/* What moved under a pad step has its own note. */
static void note_front_end(spurity_measurement *m, int file)
{
    if (m->files[file].spectrum)
        spurity_notes_add(m->notes, SPURITY_NOTE_FRONT_END_UNPROVEN, file,
                          "the receiver was tuned away from the carrier and nothing keeps the carrier out of it: what "
                          "reads here is at most the set's, part of it may be made by the receiver; a filter for the "
                          "carrier ahead of it (its loss in the chain), or captures with 10 and 20 dB more pad");
}

static bool fill_rows(spurity_measurement *m, size_t from, size_t to, bool *redundant)
{
    for (size_t i = from; i < to; i++) {
        spurity_emission *emission = &m->emissions[i];
        struct table_row at = {.row = {.emission = (long)i}};
        if (!emission->seen)
            continue;
        fill_emission(m, emission, &at);
        at.row.readings = at.readings;
        spurity_measurement_tell_origin(m, emission, &at.row);
        apply(m, emission, &at, &redundant[i]);
        if (!redundant[i] && !keep(m, &at))
            return false;
    }
    return true;
}

/* Whether row `a` holds the reading that emission `b` is listed for and stands no lower. */
static bool tells_it(const spurity_measurement *m, const spurity_overlap *a, const spurity_emission *b)
{
    const spurity_emission *one = &m->emissions[a->emission];
    if (one == b || one->character != SPURITY_LINE || b->character != SPURITY_LINE || one->settled ||
        one->front_end_unproven != b->front_end_unproven || one->kind != b->kind ||
        one->level_dbc < b->level_dbc - 0.05)
        return false;
    for (size_t i = 1; i < a->count; i++)
        if (a->readings[i].file == b->file && a->readings[i].seen && a->readings[i].comparable &&
            fabs(a->readings[i].level_db - b->scale_db) < 1e-6)
            return true;
    return false;
}

/* One line that two files list, each behind its own attenuation, is told once: by the row that took the higher reading
 * over.  Emissions at one frequency stand side by side. */
static void find_told_twice(const spurity_measurement *m, bool *redundant)
{
    enum { NEAR = 3 };
    for (size_t i = 1; i < m->overlap_count; i++) {
        long index = m->overlaps[i].emission;
        for (size_t k = i > NEAR ? i - NEAR : 1; k <= i + NEAR && k < m->overlap_count; k++)
            redundant[index] = redundant[index] || (k != i && !redundant[m->overlaps[k].emission] &&
                                                    tells_it(m, &m->overlaps[k], &m->emissions[index]));
    }
}

/* Takes what another emission tells out of the list, and its row. */
static void drop_redundant(spurity_measurement *m, const bool *redundant)
{
    size_t kept = 0, row = 1, rows = 1; /* rows rise by emission, behind the carrier's */
    for (size_t i = 0; i < m->emission_count; i++) {
        bool has_row = row < m->overlap_count && m->overlaps[row].emission == (long)i;
        if (has_row && !redundant[i]) {
            m->overlaps[rows] = m->overlaps[row];
            m->overlaps[rows++].emission = (long)kept;
        }
        row += has_row;
        if (!redundant[i])
            m->emissions[kept++] = m->emissions[i];
    }
    m->overlap_count = m->overlap_count ? rows : 0;
    m->emission_count = kept;
}

static void point_at_readings(spurity_measurement *m)
{
    size_t at = 0;
    for (size_t i = 0; i < m->overlap_count; i++) {
        m->overlaps[i].readings = m->overlaps[i].count ? &m->readings[at] : NULL;
        at += m->overlaps[i].count;
    }
}

static spurity_status fill_table(spurity_measurement *m, const spurity_watch *watch, bool *redundant,
                                 spurity_error *error)
{
    enum { AT_ONCE = 16 };
    struct table_row carrier = {.row = {.emission = -1}};
    fill_carrier(m, &carrier);
    carrier.row.readings = carrier.readings;
    spurity_measurement_tell_origin(m, NULL, &carrier.row);
    if (!keep(m, &carrier))
        return spurity_report_memory(error);
    for (size_t i = 0; i < m->emission_count; i += AT_ONCE) {
        size_t to = i + AT_ONCE < m->emission_count ? i + AT_ONCE : m->emission_count;
        if (!spurity_watch_tick(watch, "comparing files", (double)i / (double)m->emission_count))
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "cancelled", NULL, NULL);
        if (!fill_rows(m, i, to, redundant))
            return spurity_report_memory(error);
    }
    return SPURITY_OK;
}

spurity_status spurity_measurement_compare_overlaps(spurity_measurement *m, const spurity_watch *watch,
                                                    spurity_error *error)
{
    bool *redundant = calloc(m->emission_count + 1, sizeof *redundant);
    if (!redundant)
        return spurity_report_memory(error);
    spurity_status status = fill_table(m, watch, redundant, error);
    if (!status) {
        point_at_readings(m);
        find_told_twice(m, redundant);
        drop_redundant(m, redundant);
    }
    free(redundant);
    if (status)
        return status;
    for (size_t i = 0; i < m->emission_count; i++)
        if (m->emissions[i].front_end_unproven)
            note_front_end(m, m->emissions[i].file);
    return SPURITY_OK;
}
