/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "stretch.h"

/* Points judged at once by their highest bound while that is inside the limit; one by one where it is not. */
enum { CELL = 128, SHREDS_MAX = 40 };

static double offset_of(const struct walk *walk, double hz)
{
    return fabs(hz - walk->j->carrier->frequency_hz);
}

bool spurity_verdict_walk_covers(const struct walk *walk, double hz)
{
    const struct judging *j = walk->j;
    if (hz < j->from_hz || hz > j->to_hz || offset_of(walk, hz) < walk->inner_hz || !spurity_verdict_judged_at(j, hz))
        return false;
    for (size_t w = 0; w < j->worlds.count; w++)
        if (walk->binds[w] && spurity_clause_covers(walk->clause, &j->worlds.items[w], hz))
            return true;
    return false;
}

/* Worst meeting of a bound over the worlds in which the clause binds. */
struct meeting spurity_verdict_meet_worst(const struct walk *walk, double hz, const struct level *level)
{
    const struct judging *j = walk->j;
    struct meeting worst = {.outcome = SPURITY_OUTCOME_PASS, .margin = (double)NAN};
    bool first = true;
    for (size_t w = 0; w < j->worlds.count; w++) {
        if (!walk->binds[w])
            continue;
        struct meeting one =
            spurity_verdict_meet(walk->limit, &j->worlds.items[w], hz, level, j->point->simple_decision);
        double room = one.margin - one.uncertainty, worst_room = worst.margin - worst.uncertainty;
        if (first || one.outcome > worst.outcome || (one.outcome == worst.outcome && room < worst_room))
            worst = one;
        first = false;
    }
    return worst;
}

static bool same_shred(const struct shred *last, const struct shred *next)
{
    double reach = fmax(10 * fmax(last->rbw_hz, next->rbw_hz), 0.01 * last->to_hz);
    return last->cause == next->cause && last->file == next->file && next->from_hz - last->to_hz <= reach;
}

void spurity_verdict_add_shred(struct walk *walk, const struct shred *shred)
{
    if (walk->shred_count) {
        struct shred *last = &walk->shreds[walk->shred_count - 1];
        if (same_shred(last, shred)) {
            last->to_hz = fmax(last->to_hz, shred->to_hz);
            if (!(last->need_db >= shred->need_db)) {
                last->need_db = shred->need_db;
                last->ratio = shred->ratio;
            }
            return;
        }
    }
    struct shred *shreds = spurity_grow(walk->shreds, walk->shred_count, &walk->shred_room, sizeof *shreds);
    if (!shreds) {
        walk->failed_memory = true;
        return;
    }
    walk->shreds = shreds;
    walk->shreds[walk->shred_count++] = *shred;
}

void spurity_verdict_set_cell(const struct walk *walk, struct cell *cell, double hz)
{
    const struct judging *j = walk->j;
    const spurity_carrier *carrier = j->carrier;
    double dbm = spurity_measurement_expanded(j->measurement, cell->service->file, hz, false);
    double dbc = spurity_measurement_expanded(j->measurement, cell->service->file, hz, true);
    double clipped = 2 * cell->clipping.line_low_db / sqrt(3.0); /* clipping takes from what hides, too */
    double keyed = 2 * cell->file->key_up_db / sqrt(3.0);        /* and so does the time between bursts */
    dbm = hypot(hypot(hypot(dbm, 2 * carrier->meter_low_db / sqrt(3.0)), clipped), keyed);
    /* a carrier read high flatters the ratio */
    dbc = hypot(hypot(dbc, 2 * carrier->read_high_db / sqrt(3.0)), clipped);
    cell->level = (struct level){.dbm = cell->file->dbm_offset,
                                 .dbc = -cell->file->carrier_db,
                                 .u_dbm_up = dbm,
                                 .u_dbc_up = dbc,
                                 .u_dbm_down = dbm,
                                 .u_dbc_down = dbc,
                                 .at_most = true};
}

static struct level level_at(const struct cell *cell, double db)
{
    struct level level = cell->level;
    level.dbm += db;
    level.dbc += db;
    return level;
}

void spurity_verdict_keep_nearest(struct walk *walk, double rbw_hz, double bandwidth_hz, double hz,
                                  const struct meeting *meeting)
{
    double room = meeting->margin - meeting->uncertainty, held = walk->nearest.margin - walk->nearest.uncertainty;
    if (walk->any && !(meeting->outcome > walk->nearest.outcome) &&
        !(meeting->outcome == walk->nearest.outcome && (room < held || isnan(held))))
        return;
    walk->any = true;
    walk->nearest = *meeting;
    walk->nearest_hz = hz;
    walk->nearest_rbw = rbw_hz;
    walk->nearest_bandwidth = bandwidth_hz;
}

/* Whether an emission as it is read under the clause leaves no line unasked for: noise that is converted from a wider
 * RBW does, since a line in it reads as it is. */
static bool holds_lines(const struct walk *walk, const spurity_emission *emission)
{
    struct reading read;
    if (emission->character != SPURITY_NOISE_LIKE)
        return true;
    spurity_verdict_read(walk->j, walk->clause, emission, false, &read);
    if (read.as_is)
        return spurity_verdict_meet_worst(walk, emission->frequency_hz, &read.level).outcome == SPURITY_OUTCOME_PASS;
    return !read.converted;
}

/* The emission a line of a file was taken as: itself, or the same line read in another segment of the file; -1 none. */
static long emission_of(const struct judging *j, int file, long index)
{
    const spurity_measurement *m = j->measurement;
    const spurity_line *line = spurity_survey_line(spurity_measurement_file(m, (size_t)file)->survey, (size_t)index);
    long taken = j->taken.emission[j->taken.first[file] + (size_t)index];
    for (size_t i = 0; taken < 0 && i < spurity_measurement_emission_count(m); i++) {
        const spurity_emission *e = spurity_measurement_emission(m, i);
        if (e->seen && e->file == file && e->low_hz <= line->frequency_hz && line->frequency_hz <= e->high_hz &&
            fabs(e->frequency_hz - line->frequency_hz) <= line->frequency_uncertainty_hz)
            taken = (long)i;
    }
    return taken;
}

/* Whether a line of a file is judged as an emission: where another file serves it may not be. */
static bool is_listed(struct walk *walk, int file, long line)
{
    if (walk->asked_file == file && walk->asked_line == line)
        return walk->asked_listed;
    long index = emission_of(walk->j, file, line);
    walk->asked_file = file;
    walk->asked_line = line;
    walk->asked_listed =
        index >= 0 && holds_lines(walk, spurity_measurement_emission(walk->j->measurement, (size_t)index));
    return walk->asked_listed;
}

/* Whether a point belongs to an emission that is judged by itself: then the stretch leaves it out.  The carrier's own
 * footprint stays in: what its skirt hides is not shown. */
bool spurity_verdict_judged_itself(struct walk *walk, const struct cell *cell, const spurity_point *point, bool *skirt)
{
    *skirt = false;
    if (point->line < 0)
        return false;
    const spurity_line *line = spurity_survey_line(cell->file->survey, (size_t)point->line);
    double f0 = walk->j->carrier->frequency_hz;
    *skirt = line->low_hz <= f0 && f0 <= line->high_hz;
    return !*skirt && is_listed(walk, cell->service->file, point->line);
}

static double into(double hz, double from_hz, double to_hz)
{
    return fmin(fmax(hz, from_hz), to_hz);
}

/* Where in its cell, as far as its file serves it, a point is judged: at itself; where that is too near the carrier or
 * outside the range, but the cell reaches into what is judged, at the end of the cell that reaches there. */
static double judged_hz(const struct walk *walk, const struct cell *cell, double hz)
{
    double from_hz = cell->service->from_hz, to_hz = cell->service->to_hz, half = cell->half_step_hz * (1 - 1e-9);
    double places[] = {into(hz, from_hz, to_hz), into(hz - half, from_hz, to_hz), into(hz + half, from_hz, to_hz)};
    for (int i = 0; i < 3; i++)
        if (spurity_verdict_walk_covers(walk, places[i]))
            return places[i];
    return places[0];
}

/* Whether a point that can show no line of its own stands on the skirt of the instrument's zero-frequency line: what
 * hides there is bounded by the reading, and not shown only where that is over the limit. */
bool spurity_verdict_under_feedthrough(const struct cell *cell, double hz)
{
    for (size_t i = 0; i < spurity_survey_hole_count(cell->file->survey); i++) {
        const spurity_stretch *hole = spurity_survey_hole(cell->file->survey, i);
        if (!strcmp(hole->reason, "zero-frequency-feedthrough") && hole->from_hz <= hz && hz <= hole->to_hz)
            return true;
    }
    return false;
}

static void judge_point(struct walk *walk, const struct cell *cell, const spurity_point *point)
{
    bool skirt;
    double hz = judged_hz(walk, cell, point->frequency_hz);
    if (!spurity_verdict_walk_covers(walk, hz))
        return;
    walk->reached = true;
    if (spurity_verdict_judged_itself(walk, cell, point, &skirt))
        return;
    struct shred shred = {
        .from_hz = fmax(into(point->frequency_hz - cell->half_step_hz, cell->service->from_hz, cell->service->to_hz),
                        walk->j->from_hz),
        .to_hz = fmin(into(point->frequency_hz + cell->half_step_hz, cell->service->from_hz, cell->service->to_hz),
                      walk->j->to_hz),
        .file = cell->service->file,
        .rbw_hz = cell->rbw_hz,
        .need_db = (double)NAN};
    if (cell->clipping.blind) {
        shred.cause = CAUSE_CLIPPED;
        spurity_verdict_add_shred(walk, &shred);
        return;
    }
    bool feedthrough = point->blind && spurity_verdict_under_feedthrough(cell, point->frequency_hz);
    if (point->blind && !feedthrough) {
        shred.cause = CAUSE_BLIND;
        spurity_verdict_add_shred(walk, &shred);
        return;
    }
    if (offset_of(walk, hz) < walk->modulation_hz) {
        shred.cause = CAUSE_MODULATION;
        spurity_verdict_add_shred(walk, &shred);
        return;
    }
    struct level level = level_at(cell, point->bound_db);
    struct meeting meeting = spurity_verdict_meet_worst(walk, hz, &level);
    spurity_verdict_keep_nearest(walk, cell->rbw_hz, 0, hz, &meeting);
    if (meeting.outcome == SPURITY_OUTCOME_PASS)
        return;
    shred.cause = isnan(meeting.margin) ? CAUSE_LEVEL
                  : feedthrough         ? CAUSE_FEEDTHROUGH
                  : skirt               ? CAUSE_SKIRT
                                        : CAUSE_FLOOR;
    shred.need_db = meeting.uncertainty - meeting.margin;
    shred.ratio = meeting.ratio;
    spurity_verdict_add_shred(walk, &shred);
}

/* A cell away from the carrier passes whole when its highest bound does at both ends (limits are monotone between). */
static bool passes_whole(struct walk *walk, const struct cell *cell, size_t first, size_t last)
{
    spurity_point point, low, high;
    double worst_db = -INFINITY, worst_hz = 0;
    const spurity_survey *survey = cell->file->survey;
    if (cell->clipping.blind)
        return false;
    for (size_t i = first; i <= last; i++) {
        bool skirt;
        if (!spurity_survey_point(survey, cell->service->segment, i, &point) || point.blind ||
            offset_of(walk, point.frequency_hz) < fmax(walk->inner_hz, walk->modulation_hz))
            return false;
        if (spurity_verdict_judged_itself(walk, cell, &point, &skirt)) {
            walk->reached = walk->reached || spurity_verdict_walk_covers(walk, point.frequency_hz);
            continue;
        }
        if (!(point.bound_db <= worst_db)) {
            worst_db = point.bound_db;
            worst_hz = point.frequency_hz;
        }
    }
    if (isinf(worst_db))
        return true;
    spurity_survey_point(survey, cell->service->segment, first, &low);
    spurity_survey_point(survey, cell->service->segment, last, &high);
    if (!spurity_verdict_walk_covers(walk, low.frequency_hz) || !spurity_verdict_walk_covers(walk, high.frequency_hz) ||
        !spurity_verdict_walk_covers(walk, worst_hz))
        return false;
    walk->reached = true;
    struct level level = level_at(cell, worst_db);
    struct meeting at_low = spurity_verdict_meet_worst(walk, low.frequency_hz, &level),
                   at_high = spurity_verdict_meet_worst(walk, high.frequency_hz, &level);
    if (at_low.outcome != SPURITY_OUTCOME_PASS || at_high.outcome != SPURITY_OUTCOME_PASS)
        return false;
    struct meeting meeting = spurity_verdict_meet_worst(walk, worst_hz, &level);
    spurity_verdict_keep_nearest(walk, cell->rbw_hz, 0, worst_hz, &meeting);
    return true;
}

static void walk_service(struct walk *walk, const spurity_service *service)
{
    const struct judging *j = walk->j;
    struct cell cell = {.file = spurity_measurement_file(j->measurement, (size_t)service->file), .service = service};
    spurity_segment view;
    if (service->to_hz < j->from_hz || service->from_hz > j->to_hz ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(cell.file->survey)),
                               service->segment, &view))
        return;
    spurity_measurement_clipping(j->measurement, service->file, &cell.clipping);
    cell.rbw_hz = view.facts.rbw_hz;
    cell.half_step_hz = view.step_hz / 2;
    for (size_t first = service->first; first <= service->last; first += CELL) {
        size_t last = first + CELL - 1 < service->last ? first + CELL - 1 : service->last;
        spurity_point point;
        if (!spurity_survey_point(cell.file->survey, service->segment, first, &point))
            break;
        spurity_verdict_set_cell(walk, &cell, point.frequency_hz);
        if (passes_whole(walk, &cell, first, last))
            continue;
        for (size_t i = first; i <= last; i++)
            if (spurity_survey_point(cell.file->survey, service->segment, i, &point))
                judge_point(walk, &cell, &point);
    }
}

/* ---- advice ---- */

/* The next step down of 1-3-10. */
static double step_down(double hz)
{
    double decade = pow(10, floor(log10(hz)));
    double part = hz / decade;
    return decade * (part >= 9.999 ? 10 : part >= 2.999 ? 3 : 1);
}

/* The next step up of 1-2-5. */
static double step_up(double hz)
{
    double decade = pow(10, floor(log10(hz)));
    double part = hz / decade;
    return decade * (part <= 1.001 ? 1 : part <= 2.001 ? 2 : part <= 5.001 ? 5 : 10);
}

/* A frequency as an option takes it without quotes: "500k". */
static void option_words(char *text, size_t size, double hz)
{
    double scale = hz >= 1e6 ? 1e6 : hz >= 1e3 ? 1e3 : 1;
    snprintf(text, size, "%g%s", hz / scale, hz >= 1e6 ? "M" : hz >= 1e3 ? "k" : "");
}

static void advise_skirt(const struct walk *walk, const struct shred *shred, char *text, size_t size)
{
    char reach[40], span[40], rbw[40], option[40];
    double f0 = walk->j->carrier->frequency_hz;
    double extent = fmax(fabs(shred->from_hz - f0), fabs(shred->to_hz - f0));
    double edge = fmax(fmax(walk->inner_hz, walk->modulation_hz), 1.0);
    spurity_format_frequency(reach, sizeof reach, step_up(extent), 3);
    spurity_format_frequency(span, sizeof span, step_up(2.4 * extent), 3);
    option_words(option, sizeof option, step_up(extent));
    /* A Gaussian filter is down 12.04 (d/B)^2 dB at d from its centre: 108 dB at three bandwidths. */
    spurity_format_frequency(rbw, sizeof rbw, step_down(edge / 3), 3);
    snprintf(text, size,
             "the carrier's skirt hides what stands within %s of it: add a sweep of %s at %s RBW, or --beyond %s",
             reach, span, rbw, option);
}

static void advise_floor(const struct shred *shred, char *text, size_t size)
{
    char now[40], then[40];
    if (shred->rbw_hz > 0 && isfinite(shred->need_db)) {
        double wanted = step_down(shred->rbw_hz / spurity_ratio_from_db(shred->need_db));
        snprintf(text, size,
                 "the floor is %.1f dB too near the limit to show a pass: RBW %s in place of %s, or less "
                 "attenuation if the instrument bears it",
                 shred->need_db, spurity_format_frequency(then, sizeof then, wanted, 3),
                 spurity_format_frequency(now, sizeof now, shred->rbw_hz, 3));
        return;
    }
    snprintf(text, size, "the floor is too near the limit to show a pass: lower the RBW, and say it (--rbw)");
}

/* The noise in a bandwidth is the same in every RBW: only a bench that makes less of its own shows more. */
static void advise_noise(const struct walk *walk, const struct shred *shred, char *text, size_t size)
{
    char width[24], reach[24];
    double f0 = walk->j->carrier->frequency_hz;
    const spurity_measured_file *file = spurity_measurement_file(walk->j->measurement, (size_t)shred->file);
    spurity_format_frequency(width, sizeof width, shred->bandwidth_hz, 3);
    option_words(reach, sizeof reach, step_up(fmax(fabs(shred->from_hz - f0), fabs(shred->to_hz - f0))));
    if (shred->cause == CAUSE_PHASE_NOISE)
        snprintf(text, size,
                 "the noise about the carrier, the set's or the instrument's own, is %.1f dB too much in the reference "
                 "bandwidth of %s to show a pass, in any RBW: a notch for the carrier, an instrument with quieter "
                 "oscillators, or --beyond %s",
                 shred->need_db, width, reach);
    else
        snprintf(text, size,
                 "the noise in the reference bandwidth of %s is %.1f dB too near the limit to show a pass, in any RBW: "
                 "%s, or a filter for the carrier and then less",
                 width, shred->need_db,
                 file->spectrum ? "more gain or less attenuation if nothing clips"
                                : "less attenuation if the instrument bears it");
}

/* A capture's levels need full scale as well as the chain, or a scale shared with the file of the carrier. */
static void advise_level(const struct walk *walk, const struct shred *shred, char *text, size_t size)
{
    const spurity_measured_file *file = spurity_measurement_file(walk->j->measurement, (size_t)shred->file);
    if (file->spectrum && isnan(file->dbm_offset))
        snprintf(
            text, size,
            "this capture's levels stand on no scale in dBm: say --full-scale of its receiver, or, for files of one "
            "receiver and gain, scale=NAME with --power and the carrier in one of them");
    else
        snprintf(text, size,
                 "levels here are not known on a common scale: say what stood between set and instrument "
                 "(--pad, --loss, --direct), or --power with the carrier in the sweep");
}

static void advise(const struct walk *walk, const struct shred *shred, char *text, size_t size)
{
    char reach[40];
    switch (shred->cause) {
    case CAUSE_SKIRT:
        advise_skirt(walk, shred, text, size);
        break;
    case CAUSE_FLOOR:
        advise_floor(shred, text, size);
        break;
    case CAUSE_MODULATION:
        option_words(reach, sizeof reach, walk->modulation_hz);
        snprintf(text, size,
                 "with the carrier modulated, products this near it may belong to the modulation, which must stay "
                 "inside the "
                 "band and be no wider than necessary: sweep the set unmodulated, or --beyond %s",
                 reach);
        break;
    case CAUSE_LEVEL:
        advise_level(walk, shred, text, size);
        break;
    case CAUSE_FEEDTHROUGH:
        snprintf(text, size,
                 "the instrument's own line at 0 Hz hides what stands here: a narrower RBW, starting above 0 Hz, or "
                 "--lowest if "
                 "the set generates nothing so low");
        break;
    case CAUSE_CLIPPED:
        snprintf(text, size,
                 "the receiver was driven over its range, and by how much cannot be told: record again with less gain "
                 "or 10 dB more pad (say it), until no sample stands at the rails");
        break;
    case CAUSE_NOISE:
    case CAUSE_PHASE_NOISE:
        advise_noise(walk, shred, text, size);
        break;
    case CAUSE_BLIND:
        snprintf(text, size, "the sweep cannot show a line here: points at most half an RBW apart, or a peak detector");
        break;
    }
}

static const char *reason_of(enum cause cause)
{
    static const char *const words[] = {[CAUSE_FLOOR] = "floor-near-limit",
                                        [CAUSE_SKIRT] = "hidden",
                                        [CAUSE_MODULATION] = "modulation",
                                        [CAUSE_LEVEL] = "level-unknown",
                                        [CAUSE_BLIND] = "points-too-far-apart",
                                        [CAUSE_FEEDTHROUGH] = "zero-frequency-feedthrough",
                                        [CAUSE_CLIPPED] = "clipped",
                                        [CAUSE_NOISE] = "floor-near-limit",
                                        [CAUSE_PHASE_NOISE] = "own-phase-noise-unproven"};
    return words[cause];
}

/* Too many pieces say less than few: the nearest neighbours are merged until SHREDS_MAX are left. */
static void thin_shreds(struct walk *walk)
{
    double reach = 0.01;
    while (walk->shred_count > SHREDS_MAX) {
        size_t kept = 0;
        reach *= 2;
        for (size_t i = 1; i < walk->shred_count; i++) {
            struct shred *last = &walk->shreds[kept], *next = &walk->shreds[i];
            bool near = next->from_hz - last->to_hz <= reach * last->to_hz;
            if (near && (last->cause == next->cause || reach > 1)) {
                last->to_hz = fmax(last->to_hz, next->to_hz);
                last->need_db = fmax(last->need_db, next->need_db);
            } else {
                walk->shreds[++kept] = *next;
            }
        }
        walk->shred_count = kept + 1;
    }
}

/* A skirt that reaches further than any RBW filter's (an analogue one of four poles is 60 dB down at 6.4 bandwidths) is
 * noise: the set's, or the instrument's own, which a sweep alone cannot tell apart. */
static void note_phase_noise(const struct walk *walk, const struct shred *shred)
{
    double f0 = walk->j->carrier->frequency_hz;
    double extent = fmax(fabs(shred->from_hz - f0), fabs(shred->to_hz - f0));
    char reach[40];
    bool skirt = shred->cause == CAUSE_SKIRT && shred->rbw_hz > 0 && extent > 10 * shred->rbw_hz;
    if (!skirt && shred->cause != CAUSE_PHASE_NOISE)
        return;
    spurity_notes_add(
        spurity_measurement_notes(walk->j->measurement), SPURITY_NOTE_OWN_PHASE_NOISE_UNPROVEN, shred->file,
        "what stands around the carrier out to %s is wider than the RBW filter: noise of the set or of the "
        "instrument, which this sweep cannot tell apart",
        spurity_format_frequency(reach, sizeof reach, step_up(extent), 3));
}

static spurity_status tell_shreds(struct walk *walk, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    thin_shreds(walk);
    for (size_t i = 0; i < walk->shred_count && !status; i++) {
        const struct shred *shred = &walk->shreds[i];
        char text[280], from[40], to[40];
        advise(walk, shred, text, sizeof text);
        status = spurity_verdict_add_not_shown(walk->j, walk->clause, shred->from_hz, shred->to_hz,
                                               reason_of(shred->cause), text, error);
        note_phase_noise(walk, shred);
        if (shred->cause == CAUSE_FLOOR || shred->cause == CAUSE_NOISE)
            spurity_notes_add(spurity_measurement_notes(walk->j->measurement), SPURITY_NOTE_FLOOR_NEAR_LIMIT,
                              shred->file, "from %s to %s the floor is too near the limit to show a pass",
                              spurity_format_frequency(from, sizeof from, shred->from_hz, 3),
                              spurity_format_frequency(to, sizeof to, shred->to_hz, 3));
    }
    return status;
}

/* ---- what no file serves ---- */

/* Where to look, as a sweep or, where the test point has captures, as those too. */
static spurity_status tell_nothing_there(struct walk *walk, double from_hz, double to_hz, spurity_error *error)
{
    const struct judging *j = walk->j;
    char advice[280], a[40], b[40], c[40];
    bool captures = false;
    spurity_format_frequency(a, sizeof a, from_hz, 6);
    spurity_format_frequency(b, sizeof b, to_hz, 6);
    for (size_t i = 0; i < spurity_measurement_file_count(j->measurement); i++)
        captures = captures || spurity_measurement_file(j->measurement, i)->spectrum;
    double f0 = j->carrier->frequency_hz, order = ceil(fmax(from_hz, 1.5 * f0) / f0);
    if (!captures)
        snprintf(advice, sizeof advice, "not swept: add a sweep from %s to %s", a, b);
    else if (order * f0 <= to_hz)
        snprintf(advice, sizeof advice,
                 "not recorded: add a sweep from %s to %s, or captures tuned there, beginning with harmonic %.0f at %s",
                 a, b, order, spurity_format_frequency(c, sizeof c, order * f0, 6));
    else
        snprintf(advice, sizeof advice, "not recorded: add a sweep from %s to %s, or captures tuned there", a, b);
    return spurity_verdict_add_not_shown(walk->j, walk->clause, from_hz, to_hz, "not-swept", advice, error);
}

struct stretch_ends {
    double from_hz, to_hz;
};

/* Takes from both ends what a hole with a reason of its own covers. */
static void trim_by_holes(const struct judging *j, struct stretch_ends *rest)
{
    bool again = true;
    while (again && rest->to_hz > rest->from_hz) {
        again = false;
        for (size_t i = 0; i < spurity_measurement_hole_count(j->measurement); i++) {
            const spurity_stretch *hole = spurity_measurement_hole(j->measurement, i);
            double slack = 1e-9 * rest->to_hz;
            if (hole->to_hz <= rest->from_hz || hole->from_hz >= rest->to_hz)
                continue;
            if (hole->from_hz <= rest->from_hz + slack)
                rest->from_hz = fmin(hole->to_hz, rest->to_hz);
            else if (hole->to_hz >= rest->to_hz - slack)
                rest->to_hz = hole->from_hz;
            else
                continue;
            again = true;
        }
    }
}

static spurity_status tell_holes(struct walk *walk, double from_hz, double to_hz, spurity_error *error)
{
    const struct judging *j = walk->j;
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < spurity_measurement_hole_count(j->measurement) && !status; i++) {
        const spurity_stretch *hole = spurity_measurement_hole(j->measurement, i);
        double low = fmax(hole->from_hz, from_hz), high = fmin(hole->to_hz, to_hz);
        if (high > low)
            status = spurity_verdict_add_not_shown(walk->j, walk->clause, low, high, hole->reason, hole->advice, error);
    }
    return status;
}

/* Holes that lie in a stretch no file serves have reasons of their own; what is left of it was not swept. */
static spurity_status tell_unswept(struct walk *walk, double from_hz, double to_hz, bool *missing, spurity_error *error)
{
    const struct judging *j = walk->j;
    double f0 = j->carrier->frequency_hz;
    double beyond = fmax(walk->inner_hz, isnan(j->point->beyond_hz) ? 0 : j->point->beyond_hz);
    if (from_hz >= f0 - beyond && to_hz <= f0 + beyond)
        return SPURITY_OK;
    if (!(to_hz > from_hz * (1 + 1e-9)))
        return SPURITY_OK;
    *missing = true;
    struct stretch_ends rest = {from_hz, to_hz};
    trim_by_holes(j, &rest);
    spurity_status status = tell_holes(walk, from_hz, rest.from_hz, error);
    if (!status && rest.to_hz > rest.from_hz)
        status = tell_nothing_there(walk, rest.from_hz, rest.to_hz, error);
    return status ? status : tell_holes(walk, rest.from_hz, to_hz, error);
}

static spurity_status find_unswept(struct walk *walk, bool *missing, spurity_error *error)
{
    const struct judging *j = walk->j;
    double reached = j->from_hz;
    spurity_status status = SPURITY_OK;
    size_t told = 0;
    for (size_t s = 0; s < spurity_measurement_service_count(j->measurement) && !status && reached < j->to_hz; s++) {
        const spurity_service *service = spurity_measurement_service(j->measurement, s);
        if (service->to_hz <= reached)
            continue;
        if (service->from_hz > reached && told++ < SHREDS_MAX)
            status = tell_unswept(walk, reached, fmin(service->from_hz, j->to_hz), missing, error);
        reached = service->to_hz;
    }
    if (!status && reached < j->to_hz)
        status = tell_unswept(walk, reached, j->to_hz, missing, error);
    return status;
}

/* A narrowed range that leaves out harmonic 2 or 3 cannot pass. */
static bool leaves_out_low_harmonics(const struct judging *j)
{
    for (size_t i = 0; i < j->verdict->left_out_count; i++)
        if (j->verdict->left_out[i] <= 3)
            return true;
    return false;
}

static spurity_status add_row(struct walk *walk, const spurity_clause_facts *facts, bool shown, spurity_error *error)
{
    struct judging *j = walk->j;
    spurity_judgement *row = spurity_verdict_add_judgement(j, walk->clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->from_hz = j->from_hz;
    row->to_hz = j->to_hz;
    row->frequency_hz = walk->any ? walk->nearest_hz : j->from_hz;
    row->at_most = true;
    if (walk->any) {
        row->measured = walk->nearest.measured;
        row->limit = walk->nearest.limit;
        row->margin = walk->nearest.margin;
        row->uncertainty = walk->nearest.uncertainty;
        row->unit = walk->nearest.ratio ? "dBc" : "dBm";
        double bandwidth = spurity_clause_reference_bandwidth(walk->clause, walk->nearest_hz);
        row->reference_bandwidth_hz = !isnan(bandwidth)       ? bandwidth
                                      : walk->nearest_rbw > 0 ? walk->nearest_rbw
                                                              : (double)NAN;
        char width[40];
        if (walk->nearest_bandwidth > 0)
            snprintf(row->reading, sizeof row->reading, "noise, integrated over %s",
                     spurity_format_frequency(width, sizeof width, walk->nearest_bandwidth, 3));
        else
            snprintf(row->reading, sizeof row->reading, "a hidden line");
        spurity_verdict_name_leaf(&walk->nearest, row->binding, sizeof row->binding, row);
    }
    row->outcome = spurity_verdict_weigh(j, facts, shown ? SPURITY_OUTCOME_PASS : SPURITY_OUTCOME_NOT_SHOWN);
    return SPURITY_OK;
}

spurity_status spurity_verdict_judge_stretches(struct judging *j, const spurity_clause *clause, const bool *binds,
                                               bool *reached, spurity_error *error)
{
    spurity_clause_facts facts;
    spurity_clause_facts_of(clause, &facts);
    struct walk walk = {.j = j,
                        .clause = clause,
                        .binds = binds,
                        .limit = facts.limit,
                        .asked_line = -1,
                        .inner_hz = spurity_clause_inner_edge(clause, &j->worlds.items[0]),
                        .modulation_hz = spurity_verdict_modulation_reach(j, clause)};
    size_t services = spurity_measurement_service_count(j->measurement);
    for (size_t s = 0; s < services; s++) {
        walk_service(&walk, spurity_measurement_service(j->measurement, s));
        if (!spurity_watch_tick(j->watch, "judging", (double)s / (double)services)) {
            free(walk.shreds);
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "stopped", NULL, NULL);
        }
    }
    bool missing = false;
    spurity_status status = walk.failed_memory ? spurity_report_memory(error) : tell_shreds(&walk, error);
    size_t shreds = walk.shred_count;
    walk.shred_count = 0;
    if (!status && (!spurity_verdict_walk_noise(&walk) || walk.failed_memory))
        status = spurity_report_memory(error);
    if (!status)
        status = tell_shreds(&walk, error);
    shreds += walk.shred_count;
    if (!status)
        status = find_unswept(&walk, &missing, error);
    bool low = leaves_out_low_harmonics(j);
    if (!status && low)
        status = spurity_verdict_add_not_shown(j, clause, 2 * j->carrier->frequency_hz, 3 * j->carrier->frequency_hz,
                                               "range",
                                               "the second and third harmonics must be looked at before a pass", error);
    bool clear = !shreds && !missing && !low;
    /* Nothing asked and nothing open: all that the clause holds for is judged emission by emission, or lies outside. */
    if (!status && (walk.any || !clear))
        status = add_row(&walk, &facts, clear, error);
    *reached = *reached || walk.reached || !clear;
    free(walk.shreds);
    return status;
}
