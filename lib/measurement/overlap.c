/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>

#include "parts.h"

/* What two files that show the same line mean, by what differs between them (design, "Overlaps"). */
enum meaning { REPEAT, PAD_STEP, OTHER_RBW, INCOMPARABLE };

struct reading {
    int file;
    double db, floor_db; /* on the file's scale */
    double rbw_hz;
};

enum { STEPS_MOST = 8 };
/* From this step on a product of order 2 would have moved by more than readings differ (5 dB; order 3 by 10). */
static const double STEP_DB = 5.0;

/* Lines below this above either floor are too noisy to be held against each other (design). */
static const double OVER_FLOOR_DB = 10.0;

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
        if (other != emission && other->seen && other->level_dbc > emission->level_dbc &&
            fabs(other->frequency_hz - line->frequency_hz) <= reach + other->frequency_uncertainty_hz)
            return true;
    }
    return fabs(m->carrier.frequency_hz - line->frequency_hz) <= reach;
}

/* The strongest line of a file that may stand where the emission does, as far as both readings tell. */
static const spurity_line *line_at(const spurity_survey *survey, const spurity_emission *emission, double slack_hz)
{
    const spurity_line *best = NULL;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        double reach = emission->rbw_hz + slack_hz + line->frequency_uncertainty_hz;
        if (fabs(line->frequency_hz - emission->frequency_hz) <= reach && (!best || line->level_db > best->level_db))
            best = line;
    }
    return best;
}

static bool reading_in(const spurity_measurement *m, int file, const spurity_emission *emission,
                       struct reading *reading)
{
    const spurity_line *line = line_at(m->sources[file].survey, emission, m->carrier.frequency_uncertainty_hz);
    if (!line)
        return false;
    spurity_segment view;
    spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)), line->segment,
                          &view);
    if (may_be_another(m, file, line, view.facts.rbw_hz, emission))
        return false;
    *reading =
        (struct reading){.file = file, .db = line->level_db, .floor_db = line->floor_db, .rbw_hz = view.facts.rbw_hz};
    return true;
}

static void disagree(spurity_measurement *m, spurity_emission *emission, const struct reading *mine,
                     const struct reading *other, enum meaning meaning)
{
    static const char *const words[] = {
        [REPEAT] = "a repeat of the same sweep", [PAD_STEP] = "another attenuation", [OTHER_RBW] = "another RBW"};
    char at[40];
    spurity_format_frequency_near(at, sizeof at, emission->frequency_hz, emission->rbw_hz / SPURITY_RBW_PARTS);
    spurity_notes_add(m->notes, SPURITY_NOTE_OVERLAP_DISAGREES, other->file,
                      "%s reads %.1f dB at the terminal here and %.1f dB in '%.80s' (%s)%s; the %s stands", at,
                      other->db, mine->db, m->point->sources[mine->file].path, words[meaning],
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

/* Mean in power of repeats, with a type A contribution s / sqrt n (JCGM 100, 4.2). */
static void average(spurity_emission *emission, const double *db, size_t count)
{
    double power = 0, mean = 0, square = 0;
    for (size_t i = 0; i < count; i++) {
        power += spurity_ratio_from_db(db[i] - db[0]) / (double)count;
        mean += db[i] / (double)count;
    }
    for (size_t i = 0; i < count; i++)
        square += (db[i] - mean) * (db[i] - mean);
    double s = sqrt(square / (double)(count - 1)) / sqrt((double)count);
    double shift = spurity_db_from_ratio(power);
    emission->level_dbm += shift;
    emission->level_dbc += shift;
    char source[SPURITY_SOURCE_ID_SIZE];
    snprintf(source, sizeof source, "repeats at %.0f Hz", emission->frequency_hz);
    spurity_uncertainty_add(&emission->uncertainty_dbm, source, SPURITY_NORMAL, s, 1.0);
    spurity_uncertainty_add(&emission->uncertainty_dbc, source, SPURITY_NORMAL, s, 1.0);
}

/* What a product of the instrument's own can still add to a reading (*high_db) or take from it (*low_db) when the
 * reading held still under steps of the pad.  A product of order n, x of the true line in amplitude, at any phase,
 * falls n - 1 times the step against it: every x and phase is tried, orders 2 and 3, and those that would have moved by
 * more than doubt_db off what was read are out.  (Power series of a weakly non-linear two-port, textbook.) */
void spurity_measurement_product_error(const struct spurity_pad_step *steps, size_t count, double doubt_db,
                                       double *low_db, double *high_db)
{
    enum { PHASES = 360, LEVELS = 1000 };
    *low_db = *high_db = 0;
    for (int order = 2; order <= 3; order++)
        for (int level = 0; level <= LEVELS; level++)
            for (int phase = 0; phase <= PHASES; phase++) {
                double cosine = cos(acos(-1.0) * phase / PHASES), x = pow(10, (level / 10.0 - 60) / 20);
                double here = spurity_db_from_ratio(1 + 2 * x * cosine + x * x);
                bool still = true;
                for (size_t i = 0; i < count && still; i++) {
                    double y = x * pow(10, -(order - 1) * steps[i].less_db / 20);
                    double there = spurity_db_from_ratio(1 + 2 * y * cosine + y * y);
                    still = fabs(there - here - steps[i].higher_db) <= doubt_db;
                }
                *high_db = still ? fmax(*high_db, here) : *high_db;
                *low_db = still ? fmax(*low_db, -here) : *low_db;
            }
}

/* A line that held still where the instrument's own would have moved is the transmitter's.  One step leaves an unlucky
 * phase at which a product as strong as the line goes unseen: it settles what can be too high.  Two steps, one twice
 * the other or so, leave little on either side. */
static void settle_by_steps(spurity_measurement *m, spurity_emission *emission, const struct spurity_pad_step *steps,
                            size_t count)
{
    double low_db, high_db, least = INFINITY, most = -INFINITY;
    if (!count || emission->kind == SPURITY_ARTEFACT)
        return;
    for (size_t i = 0; i < count; i++) {
        least = fmin(least, steps[i].less_db);
        most = fmax(most, steps[i].less_db);
    }
    spurity_measurement_product_error(steps, count, m->point->uncertainty_dbc, &low_db, &high_db);
    bool twice = count >= 2 && most - least >= STEP_DB && fmax(most, 0) - fmin(least, 0) >= 3 * STEP_DB;
    emission->front_end_unproven = false;
    emission->stepped = twice;
    emission->read_high_db = fmax(emission->read_high_db, high_db);
    emission->ratio_high_db = fmax(emission->ratio_high_db, high_db);
    if (!twice)
        return;
    emission->read_low_db = fmax(emission->read_low_db, low_db);
    emission->ratio_low_db = fmax(emission->ratio_low_db, low_db);
}

struct comparison {
    double repeats[32];
    size_t repeat_count;
    struct spurity_pad_step steps[STEPS_MOST];
    size_t step_count;
    bool moved; /* under a pad step */
};

static void compare_with(spurity_measurement *m, spurity_emission *emission, const struct reading *mine,
                         const struct reading *other, struct comparison *all)
{
    enum meaning meaning = meaning_of(m, mine, other, emission->frequency_hz);
    bool clear = mine->db - mine->floor_db > OVER_FLOOR_DB && other->db - other->floor_db > OVER_FLOOR_DB;
    if (meaning == INCOMPARABLE || !clear)
        return;
    if (meaning == REPEAT && all->repeat_count < sizeof all->repeats / sizeof *all->repeats)
        all->repeats[all->repeat_count++] = other->db;
    bool differs = fabs(mine->db - other->db) > m->point->uncertainty_dbc;
    double step = spurity_measurement_step(m, mine->file, other->file, emission->frequency_hz);
    if (meaning == PAD_STEP && differs)
        all->moved = true;
    else if (meaning == PAD_STEP && fabs(step) >= STEP_DB && all->step_count < STEPS_MOST)
        all->steps[all->step_count++] = (struct spurity_pad_step){step, other->db - mine->db};
    if (differs)
        disagree(m, emission, mine, other, meaning);
}

static void compare(spurity_measurement *m, spurity_emission *emission)
{
    struct comparison all = {0};
    struct reading mine, other;
    if (!reading_in(m, emission->file, emission, &mine))
        return;
    all.repeats[all.repeat_count++] = mine.db;
    for (int file = 0; file < (int)m->file_count; file++)
        if (file != emission->file && reading_in(m, file, emission, &other))
            compare_with(m, emission, &mine, &other, &all);
    if (!all.moved)
        settle_by_steps(m, emission, all.steps, all.step_count);
    if (all.repeat_count > 1)
        average(emission, all.repeats, all.repeat_count);
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

void spurity_measurement_compare_overlaps(spurity_measurement *m)
{
    for (size_t i = 0; m->file_count > 1 && i < m->emission_count; i++)
        if (m->emissions[i].seen && m->emissions[i].kind != SPURITY_ARTEFACT)
            compare(m, &m->emissions[i]);
    for (size_t i = 0; i < m->emission_count; i++)
        if (m->emissions[i].front_end_unproven)
            note_front_end(m, m->emissions[i].file);
}
