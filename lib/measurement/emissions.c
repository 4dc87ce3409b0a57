/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "parts.h"

/* A chain that takes the carrier this much more than the emission keeps the instrument from making it (design). */
static const double FILTER_DB = 20.0;
enum { RATIO_MOST = 60 }; /* numerator of p/2 and p/3 that is still looked for */

static spurity_emission *add(spurity_measurement *m)
{
    spurity_emission *emissions = spurity_grow(m->emissions, m->emission_count, &m->emission_room, sizeof *emissions);
    if (!emissions)
        return NULL;
    m->emissions = emissions;
    spurity_emission *emission = &m->emissions[m->emission_count++];
    *emission = (spurity_emission){.trustworthy = true,
                                   .line = -1,
                                   .other_file = -1,
                                   .other_line = -1,
                                   .ambient_db = (double)NAN,
                                   .leakage_db = (double)NAN,
                                   .own_db = (double)NAN};
    return emission;
}

static double rbw_of(const spurity_measurement *m, int file, size_t segment)
{
    spurity_segment view;
    if (!spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)), segment,
                               &view))
        return 0;
    return view.facts.rbw_hz;
}

/* Whether a line is the carrier as this file sees it; between points too far apart its level says nothing. */
bool spurity_measurement_is_carrier(const spurity_measurement *m, int file, const spurity_line *line)
{
    double apart = fabs(line->frequency_hz - m->carrier.frequency_hz);
    double carrier_db = m->files[file].carrier_db;
    double reach = spurity_measurement_tolerance(m, file, line->segment, 1.0) + line->frequency_uncertainty_hz +
                   line->width_hz / 2;
    /* what this file itself took for the carrier, by which its scale stands */
    if (m->carrier.seen && line->level_db >= carrier_db && apart <= reach + m->carrier.width_hz / 2)
        return true;
    return m->carrier.seen && apart <= reach &&
           (isnan(carrier_db) || !line->trustworthy || line->level_db > carrier_db - 10.0);
}

/* Whether a line may be but the skirt of the carrier beyond the edge of its sweep: it stands within one resolution of
 * the edge that faces the carrier, no more than 6 dB over what four equal poles let through (a filter of four tuned
 * circuits, common practice: the widest skirt of those in use). */
static bool may_be_skirt(const spurity_measurement *m, int file, const spurity_line *line)
{
    spurity_segment view;
    double f0 = m->carrier.frequency_hz, at = line->frequency_hz, edge = (double)NAN;
    const spurity_survey *survey = m->sources[file].survey;
    if (!spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(survey)), line->segment, &view))
        return false;
    for (size_t i = 0; i < spurity_survey_coverage_count(survey); i++) {
        const spurity_coverage *coverage = spurity_survey_coverage(survey, i);
        if (coverage->segment == line->segment && coverage->first <= line->index && line->index <= coverage->last)
            edge = view.frequency_hz[f0 < at ? coverage->first : coverage->last];
    }
    double unit = fmax(view.facts.rbw_hz, view.step_hz), distance = fabs(at - f0);
    if (isnan(edge) || fabs(at - edge) > unit || fabs(edge - f0) > distance)
        return false;
    double x = 2 * distance / unit, skirt_db = -40 * log10(1 + x * x * (sqrt(sqrt(2)) - 1));
    double carrier_db = m->files[file].carrier_db;
    return isnan(carrier_db) ? x < 80 : line->level_db <= carrier_db + skirt_db + 6;
}

/* Levels of an emission that reads `db` on the scale of its file, with their contributions. */
static void set_level(const spurity_measurement *m, spurity_emission *emission, int file, double db)
{
    const spurity_measured_file *mine = &m->files[file];
    emission->file = file;
    emission->scale_db = db;
    emission->level_dbm = db + mine->dbm_offset;
    emission->level_dbc = db - mine->carrier_db;
    emission->uncertainty_dbm = (spurity_uncertainty){0};
    spurity_measurement_contributions(m, file, emission->frequency_hz, -emission->level_dbc, emission->rbw_hz,
                                      &emission->uncertainty_dbm);
    spurity_measurement_add_noise(file, emission->frequency_hz, emission->noise_up_db, emission->noise_down_db,
                                  &emission->uncertainty_dbm);
    emission->carrier_noise_up_db = m->carrier.noise_up_db;
    emission->carrier_noise_down_db = m->carrier.noise_down_db;
    emission->uncertainty_dbc = spurity_uncertainty_difference(&emission->uncertainty_dbm, &m->carrier_reading);
    spurity_measurement_anchor_uncertainty(m, file, &emission->uncertainty_dbm);
    emission->ratio_low_db = emission->read_low_db + m->carrier.read_high_db;
    emission->ratio_high_db = emission->read_high_db + m->carrier.read_low_db;
    if (m->carrier.source == SPURITY_CARRIER_FROM_METER) {
        emission->read_low_db += m->carrier.meter_low_db;
        emission->read_high_db += m->carrier.meter_high_db;
    }
    double at_carrier = spurity_measurement_loss(m, file, m->carrier.frequency_hz);
    double here = spurity_measurement_loss(m, file, emission->frequency_hz);
    emission->filtered = at_carrier - here >= FILTER_DB;
}

static double on_scale(const spurity_measurement *m, int file, double db)
{
    return isnan(m->files[file].dbm_offset) ? db : db + m->files[file].dbm_offset;
}

/* Order n when the line lies at n times the carrier, within what both frequencies leave open; 0 when it does not. */
static int harmonic_order(const spurity_measurement *m, int file, const spurity_line *line, int parts)
{
    double ratio = line->frequency_hz / m->carrier.frequency_hz * parts;
    double order = round(ratio);
    if (order < 1 || order > 1e6)
        return 0;
    double reach =
        spurity_measurement_tolerance(m, file, line->segment, order / parts) + line->frequency_uncertainty_hz;
    double apart = fabs(line->frequency_hz - order / parts * m->carrier.frequency_hz);
    /* A reach that spans a good part of the spacing would name everything a harmonic. */
    return apart <= reach && reach < 0.1 * m->carrier.frequency_hz / parts ? (int)order : 0;
}

static void classify(const spurity_measurement *m, int file, const spurity_line *line, spurity_emission *emission)
{
    int order = harmonic_order(m, file, line, 1);
    emission->kind = SPURITY_SPURIOUS;
    if (order >= 2) {
        emission->kind = SPURITY_HARMONIC;
        emission->order = order;
        return;
    }
    if (fabs(line->frequency_hz - m->carrier.frequency_hz) <= 2.5 * spurity_measurement_bandwidth(m, NULL)) {
        emission->kind = SPURITY_CLOSE_IN;
        return;
    }
    for (int parts = 2; parts <= 3; parts++) {
        int p = harmonic_order(m, file, line, parts);
        if (p && p % parts && p <= RATIO_MOST) {
            emission->kind = SPURITY_SUBHARMONIC;
            emission->ratio_p = p;
            emission->ratio_q = parts;
            return;
        }
    }
}

/* Harmonic n of a modulated carrier spreads over n times its width: read by the carrier's method, integrated where the
 * RBW does not hold it, since resolved modulation lines otherwise flatter dBc. */
static double harmonic_level(const spurity_measurement *m, int file, size_t segment, double order, double hz,
                             double peak_db)
{
    double width = order * m->carrier.width_hz, power;
    if (!m->carrier.modulated || width <= rbw_of(m, file, segment))
        return peak_db;
    if (!spurity_survey_power(m->sources[file].survey, hz - width / 2, hz + width / 2, &power))
        return peak_db;
    return fmax(peak_db, power);
}

/* Whether a capture shows what its own front end may have made: it was tuned away from the carrier, which drove it all
 * the same, and nothing in the chain keeps the carrier out.  (A sweep's own products are told by `filtered`.) */
static bool is_front_end_unproven(const spurity_measurement *m, int file, size_t segment,
                                  const spurity_emission *emission)
{
    spurity_spectrum_part part;
    double f0 = m->carrier.frequency_hz;
    if (emission->filtered || !spurity_measurement_part(m, file, segment, &part))
        return false;
    return f0 < part.cut_low_hz || f0 > part.cut_high_hz;
}

static spurity_status add_line(spurity_measurement *m, int file, size_t index, spurity_error *error)
{
    const spurity_line *line = spurity_survey_line(m->sources[file].survey, index);
    spurity_emission *emission = add(m);
    if (!emission)
        return spurity_report_memory(error);
    classify(m, file, line, emission);
    emission->seen = true;
    emission->line = (long)index;
    emission->trustworthy = line->trustworthy;
    emission->skirt = may_be_skirt(m, file, line);
    emission->character = line->character;
    emission->frequency_hz = line->frequency_hz;
    emission->frequency_uncertainty_hz = line->frequency_uncertainty_hz;
    emission->read_low_db = line->read_low_db;
    emission->read_high_db = line->read_high_db;
    emission->low_hz = line->low_hz;
    emission->high_hz = line->high_hz;
    emission->rbw_hz = rbw_of(m, file, line->segment);
    double level = line->level_db;
    if (emission->kind == SPURITY_HARMONIC)
        level = harmonic_level(m, file, line->segment, emission->order, line->frequency_hz, level);
    bool own = level == line->level_db; /* else a power over a width, whose noise is a bound only */
    emission->noise_up_db = own ? line->noise_up_db : 0;
    emission->noise_down_db = own ? line->noise_down_db : 0;
    set_level(m, emission, file, level);
    emission->floor_dbm = on_scale(m, file, line->floor_db);
    emission->front_end_unproven = is_front_end_unproven(m, file, line->segment, emission);
    return SPURITY_OK;
}

/* Where the line of a file may stand, Hz. */
static void place_of(const spurity_measurement *m, int file, const spurity_line *line, double *from_hz, double *to_hz)
{
    double reach = line->frequency_uncertainty_hz + fmax(line->width_hz, rbw_of(m, file, line->segment)) / 2;
    *from_hz = line->frequency_hz - reach;
    *to_hz = line->frequency_hz + reach;
}

/* Whether other files serve all of a stretch, and the highest bound of a hidden line they leave there, dBc. */
static bool served_by_others(const spurity_measurement *m, int file, double from_hz, double to_hz, double *highest)
{
    double reached = from_hz;
    *highest = -(double)INFINITY;
    for (size_t i = 0; i < m->service_count && reached < to_hz; i++) {
        const spurity_service *service = &m->services[i];
        const spurity_survey *survey = m->sources[service->file].survey;
        double carrier_db = m->files[service->file].carrier_db;
        if (service->to_hz <= reached)
            continue;
        if (service->from_hz > reached || service->file == file)
            return false;
        for (size_t p = service->first; p <= service->last; p++) {
            spurity_point point;
            if (spurity_survey_point(survey, service->segment, p, &point) && point.frequency_hz >= from_hz &&
                point.frequency_hz <= to_hz && !(point.bound_db - carrier_db <= *highest))
                *highest = point.bound_db - carrier_db;
        }
        reached = service->to_hz;
    }
    return reached >= to_hz;
}

/* What the files that serve between from and to show there, all lines in one phase: dBc, -infinity = nothing. */
static double shown_by_service(const spurity_measurement *m, double from_hz, double to_hz)
{
    double sum = 0;
    for (int file = 0; file < (int)m->file_count; file++) {
        const spurity_survey *survey = m->files[file].survey; /* NULL: not of the keyed set */
        for (size_t i = 0; survey && i < spurity_survey_line_count(survey); i++) {
            const spurity_line *line = spurity_survey_line(survey, i);
            double reach = line->frequency_uncertainty_hz;
            if (line->frequency_hz + reach < from_hz)
                continue;
            if (line->frequency_hz > to_hz + m->carrier.frequency_hz)
                break; /* lines rise; no reach is that long */
            const spurity_service *service = spurity_measurement_service_at(m, line->frequency_hz);
            bool serves = service && service->file == file && service->segment == line->segment;
            if (serves && line->frequency_hz - reach <= to_hz && !spurity_measurement_is_carrier(m, file, line))
                sum += pow(10, (line->level_db + line->read_low_db - m->files[file].carrier_db) / 20);
        }
    }
    return 20 * log10(sum);
}

/* Whether the serving file reads a line there behind another attenuation: the overlap table tells what that means. */
static bool compared_by_step(const spurity_measurement *m, int file, const spurity_line *line,
                             const spurity_service *service)
{
    double reach = line->frequency_uncertainty_hz + rbw_of(m, file, line->segment);
    double step = spurity_measurement_step(m, service->file, file, line->frequency_hz);
    const spurity_line *other = spurity_survey_strongest(m->sources[service->file].survey, line->frequency_hz - reach,
                                                         line->frequency_hz + reach);
    return service->file != file && fabs(step) > 0.5 && spurity_measurement_same_scale(m, file, service->file) &&
           other && !spurity_measurement_is_carrier(m, service->file, other);
}

/* most_db: what the serving file shows there at most, -infinity where no line of it reaches there. */
static void note_contradiction(spurity_measurement *m, int file, const spurity_line *line, double here_db,
                               const char *serving, double most_db)
{
    char at[40], most[40] = "no line";
    if (isfinite(most_db))
        snprintf(most, sizeof most, "at most %.1f dBc", most_db);
    spurity_notes_add(
        m->notes, SPURITY_NOTE_OVERLAP_DISAGREES, file,
        "a line at %s of %.1f dBc, where '%.80s' shows %s: at the joint of two sweeps, or does it come and "
        "go? the higher reading stands",
        spurity_format_frequency_near(at, sizeof at, line->frequency_hz,
                                      rbw_of(m, file, line->segment) / SPURITY_RBW_PARTS),
        here_db, serving, most);
}

/* A line of a file that does not serve where it seems to stand counts where the serving files should have shown it and
 * did not, or do not reach over all the places in which it may stand (the joint of two sweeps): then the worse reading
 * stands.  What may be the carrier or its skirt is left to the serving files' own bounds. */
static bool contradicts(spurity_measurement *m, int file, const spurity_line *line, const spurity_service *service)
{
    double here = line->level_db - m->files[file].carrier_db, from_hz, to_hz, bound;
    double doubt = m->point->uncertainty_dbc + line->read_high_db, f0 = m->carrier.frequency_hz;
    place_of(m, file, line, &from_hz, &to_hz);
    bool covered = served_by_others(m, file, from_hz, to_hz, &bound);
    if ((from_hz <= f0 && f0 <= to_hz) || may_be_skirt(m, file, line))
        return false;
    if (isnan(here) || isnan(m->files[service->file].carrier_db))
        return !covered;
    double shown = shown_by_service(m, from_hz, to_hz);
    if (here <= shown + doubt || (covered && here <= bound + doubt))
        return false;
    if (spurity_measurement_may_be_artefact(m, file, line))
        return true; /* named as such, and then the serving file's bound is what counts */
    if (compared_by_step(m, file, line, service))
        return true;
    note_contradiction(m, file, line, here, m->point->sources[service->file].path,
                       covered ? fmax(bound, shown) : shown);
    return true;
}

/* Whether the same samples through another window serve wherever a line may stand: what that one makes of them counts.
 */
static bool same_samples_serve(const spurity_measurement *m, int file, const spurity_line *line,
                               const spurity_service *service)
{
    spurity_spectrum_part mine, other;
    double from_hz, to_hz;
    if (service->file != file || !spurity_measurement_part(m, file, line->segment, &mine) ||
        !spurity_measurement_part(m, file, service->segment, &other) || mine.center_hz != other.center_hz)
        return false;
    place_of(m, file, line, &from_hz, &to_hz);
    return service->from_hz <= from_hz && to_hz <= service->to_hz;
}

/* The windows over one centre each show its line: the highest reading stands for all of them. */
static bool is_highest_at_center(const spurity_measurement *m, int file, const spurity_line *line)
{
    const spurity_survey *survey = m->sources[file].survey;
    spurity_spectrum_part mine, other;
    bool before = true;
    if (!spurity_measurement_part(m, file, line->segment, &mine))
        return true;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *next = spurity_survey_line(survey, i);
        if (next == line) {
            before = false;
            continue;
        }
        bool same = spurity_measurement_at_center(m, file, next) &&
                    spurity_measurement_part(m, file, next->segment, &other) && other.center_hz == mine.center_hz;
        if (same && (next->level_db > line->level_db || (before && next->level_db >= line->level_db)))
            return false;
    }
    return true;
}

/* Whether a line of a file is an emission of its own. */
static bool counts(spurity_measurement *m, int file, const spurity_line *line)
{
    const spurity_service *service = spurity_measurement_service_at(m, line->frequency_hz);
    bool serves = service && service->file == file && service->segment == line->segment;
    /* What stands where its receiver is tuned is listed for want of anything that tells more; where another segment of
     * the same capture serves, that one's readings are judged in its place. */
    if (!service || (service->file == file && !serves))
        if (spurity_measurement_at_center(m, file, line))
            return !service && is_highest_at_center(m, file, line);
    return serves || (service && !same_samples_serve(m, file, line, service) && contradicts(m, file, line, service));
}

static spurity_status add_lines_of(spurity_measurement *m, int file, const spurity_watch *watch, spurity_error *error)
{
    const spurity_survey *survey = m->sources[file].survey;
    const size_t count = spurity_survey_line_count(survey);
    for (size_t i = 0; i < count; i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        if (i % 64 == 0 && !spurity_watch_tick(watch, "listing emissions", (double)i / (double)count))
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "cancelled", NULL, NULL);
        if (spurity_measurement_is_carrier(m, file, line))
            continue;
        if (!counts(m, file, line))
            continue;
        spurity_status status = add_line(m, file, i, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static bool harmonic_listed(const spurity_measurement *m, int order)
{
    for (size_t i = 0; i < m->emission_count; i++)
        if (m->emissions[i].kind == SPURITY_HARMONIC && m->emissions[i].order == order)
            return true;
    return false;
}

/* A harmonic that was swept and not seen stands at the bound of a line hidden in its window. */
static spurity_status add_unseen(spurity_measurement *m, int order, spurity_error *error)
{
    double hz = order * m->carrier.frequency_hz, bound, floor_db, at;
    const spurity_service *service = spurity_measurement_service_at(m, hz);
    if (!service)
        return SPURITY_OK;
    double reach = spurity_measurement_tolerance(m, service->file, service->segment, order);
    const spurity_survey *survey = m->sources[service->file].survey;
    if (!spurity_survey_bound(survey, hz - reach, hz + reach, &bound, &floor_db, &at) || !isfinite(bound))
        return SPURITY_OK;
    spurity_emission *emission = add(m);
    if (!emission)
        return spurity_report_memory(error);
    double rbw = rbw_of(m, service->file, service->segment);
    double width = order * m->carrier.width_hz;
    emission->kind = SPURITY_HARMONIC;
    emission->order = order;
    emission->frequency_hz = hz;
    emission->frequency_uncertainty_hz = reach; /* it could hide anywhere in the window */
    emission->low_hz = hz - reach;
    emission->high_hz = hz + reach;
    emission->rbw_hz = rbw;
    /* A modulated harmonic could fill its width, each RBW of it up to the bound. */
    if (m->carrier.modulated && rbw > 0 && width > rbw)
        bound += spurity_db_from_ratio(width / rbw);
    set_level(m, emission, service->file, bound);
    emission->floor_dbm = on_scale(m, service->file, floor_db);
    return SPURITY_OK;
}

static int by_kind(const void *a, const void *b)
{
    const spurity_emission *x = a, *y = b;
    bool hx = x->kind == SPURITY_HARMONIC, hy = y->kind == SPURITY_HARMONIC;
    if (hx != hy)
        return hx ? -1 : 1;
    if (hx && x->order != y->order)
        return x->order < y->order ? -1 : 1;
    return (x->frequency_hz > y->frequency_hz) - (x->frequency_hz < y->frequency_hz);
}

/* Whether two readings of one harmonic are the same line: where two files meet, each can place it on its own side. */
static bool is_same_line(const spurity_measurement *m, const spurity_emission *a, const spurity_emission *b)
{
    if (!a->seen || !b->seen || a->file == b->file || a->order != b->order || a->kind != SPURITY_HARMONIC ||
        b->kind != SPURITY_HARMONIC || a->character != SPURITY_LINE || b->character != SPURITY_LINE)
        return false;
    double reach = a->frequency_uncertainty_hz + b->frequency_uncertainty_hz + fmax(a->rbw_hz, b->rbw_hz) / 2;
    double doubt =
        m->point->uncertainty_dbc + fmax(a->read_low_db, b->read_low_db) + fmax(a->read_high_db, b->read_high_db);
    return fabs(a->frequency_hz - b->frequency_hz) <= reach && fabs(a->level_dbc - b->level_dbc) <= doubt;
}

/* A harmonic that two files read where they meet is listed once: by the finer one, at the higher reading. */
static void list_once(spurity_measurement *m)
{
    size_t kept = 0;
    for (size_t i = 0; i < m->emission_count; i++) {
        spurity_emission *now = &m->emissions[i], *before = kept ? &m->emissions[kept - 1] : NULL;
        if (!before || before->other_file >= 0 || !is_same_line(m, before, now)) {
            m->emissions[kept++] = *now;
            continue;
        }
        bool finer = now->rbw_hz < before->rbw_hz;
        const spurity_emission other = finer ? *before : *now;
        *before = finer ? *now : *before;
        double up = fmax(other.level_dbc - before->level_dbc, 0);
        before->level_dbm += up;
        before->level_dbc += up;
        before->other_file = other.file;
        before->other_line = other.line;
    }
    m->emission_count = kept;
}

spurity_status spurity_measurement_list_emissions(spurity_measurement *m, const spurity_watch *watch,
                                                  spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    for (int file = 0; file < (int)m->file_count && !status; file++)
        status = spurity_measurement_is_keyed(m, file) ? add_lines_of(m, file, watch, error) : SPURITY_OK;
    for (int order = 2; order <= m->point->harmonics && !status; order++)
        if (!harmonic_listed(m, order))
            status = add_unseen(m, order, error);
    if (!status && m->emission_count)
        qsort(m->emissions, m->emission_count, sizeof *m->emissions, by_kind);
    list_once(m);
    return status;
}
