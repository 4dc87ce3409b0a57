/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* A line is taken for the carrier without being told only with this lead over every other line and the floor
 * (contract). */
static const double LEAD_DB = 20.0;
/* A chain that takes the carrier this much more than the least within the file's span is a notch or high-pass (design).
 */
static const double NOTCH_DB = 20.0;
/* Two readings of one carrier further apart than this are two test points, or a meter and a chain that cannot both be
 * right. */
static const double DIFFERENT_DB = 10.0;

static bool segment_of(const spurity_measurement *m, int file, size_t index, spurity_segment *segment)
{
    return spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(m->sources[file].survey)), index,
                                 segment);
}

static double rbw_at(const spurity_measurement *m, int file, size_t segment)
{
    spurity_segment view;
    return segment_of(m, file, segment, &view) ? view.facts.rbw_hz : 0;
}

double spurity_measurement_tolerance(const spurity_measurement *m, int file, size_t segment, double order)
{
    spurity_segment view;
    double here = 0;
    if (segment_of(m, file, segment, &view))
        here = fmax(view.facts.rbw_hz, view.step_hz);
    double width = m->carrier.modulated ? m->carrier.width_hz : 0.0;
    return order * (m->carrier.frequency_uncertainty_hz + width / 2) + here;
}

/* How far from a told frequency the carrier is looked for: three resolutions or points, 100 ppm (an unlocked crystal,
 * common practice), half the bandwidth. */
static double told_window(const spurity_measurement *m, int file, double told)
{
    double window = fmax(100e-6 * told, told < 30e6 ? 1.5e3 : 8e3);
    spurity_segment view;
    for (size_t s = 0; segment_of(m, file, s, &view); s++)
        if (view.frequency_hz[0] <= told && told <= view.frequency_hz[view.count - 1])
            window = fmax(window, 3 * fmax(view.facts.rbw_hz, view.step_hz));
    return window;
}

static bool covers(const spurity_measurement *m, int file, double hz)
{
    for (size_t i = 0; i < spurity_survey_coverage_count(m->sources[file].survey); i++) {
        const spurity_coverage *coverage = spurity_survey_coverage(m->sources[file].survey, i);
        if (coverage->from_hz <= hz && hz <= coverage->to_hz)
            return true;
    }
    return false;
}

static bool at_edge(const spurity_measurement *m, int file, const spurity_line *line)
{
    spurity_segment view;
    if (!segment_of(m, file, line->segment, &view))
        return true;
    return line->index == 0 || line->index + 1 >= view.count ||
           line->frequency_hz < view.frequency_hz[0] + view.facts.rbw_hz ||
           line->frequency_hz > view.frequency_hz[view.count - 1] - view.facts.rbw_hz;
}

/* Strongest line of a file but `but`; NULL when there is none. */
static const spurity_line *strongest_but(const spurity_survey *survey, const spurity_line *but)
{
    const spurity_line *best = NULL;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        if (line != but && (!best || line->level_db > best->level_db))
            best = line;
    }
    return best;
}

static bool same_place(const spurity_line *a, const spurity_line *b)
{
    double apart = fabs(a->frequency_hz - b->frequency_hz);
    return apart <= a->frequency_uncertainty_hz + b->frequency_uncertainty_hz + (a->width_hz + b->width_hz) / 2;
}

static spurity_status ambiguous(spurity_error *error, const spurity_line *a, const spurity_line *b, const char *file)
{
    char one[40], two[40];
    spurity_format_frequency(one, sizeof one, a->frequency_hz, 6);
    spurity_format_frequency(two, sizeof two, b->frequency_hz, 6);
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = file},
                           "one carrier with 20 dB of lead (carrier-ambiguous)",
                           "say --carrier, or leave out the file of another test point",
                           "two strong signals, %s at %.1f dB and %s at %.1f dB", one, a->level_db, two, b->level_db);
}

/* The line a file offers as the carrier when nobody told one; *rival is what stood against the strongest.  What stands
 * where a receiver is tuned is its own as likely as not: no rival, and the carrier only with all the lead. */
static const spurity_line *offered(const spurity_measurement *m, int file, const spurity_line **rival, bool *edge)
{
    const spurity_survey *survey = m->sources[file].survey;
    const spurity_line *best = strongest_but(survey, NULL);
    if (!best)
        return NULL;
    if (at_edge(m, file, best)) {
        *edge = true;
        return NULL;
    }
    if (best->excess_db < LEAD_DB)
        return NULL;
    const spurity_line *next = strongest_but(survey, best);
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *line = spurity_survey_line(survey, i);
        bool other = line != best && !same_place(best, line) &&
                     (spurity_measurement_at_center(m, file, best) || !spurity_measurement_at_center(m, file, line));
        if (other && best->level_db - line->level_db < LEAD_DB) {
            *rival = next && !same_place(best, next) ? next : line;
            return NULL;
        }
    }
    return best;
}

struct candidates {
    const spurity_line *lines[64];
    int files[64];
    size_t count;
};

static void keep(struct candidates *all, const spurity_line *line, int file)
{
    if (line && all->count < sizeof all->lines / sizeof *all->lines) {
        all->lines[all->count] = line;
        all->files[all->count++] = file;
    }
}

static spurity_status none_found(const spurity_measurement *m, const spurity_line *best, const spurity_line *rival,
                                 bool edge, spurity_error *error)
{
    const char *path = m->point->sources[0].path;
    if (best && rival)
        return ambiguous(error, best, rival, path);
    return spurity_report(error, SPURITY_INVALID, (spurity_place){.file = path},
                          edge ? "no carrier: the strongest line stands at the edge of the span"
                               : "no carrier: nothing stands 20 dB above the floor",
                          "a carrier inside the sweep", "sweep or record wider, or say --carrier (and --power)");
}

/* Whether a is a harmonic of b, weaker on a common scale, and alone in its file: the harmonics of a carrier recorded
 * one by one.  Where levels cannot be compared either could be the carrier, and nothing is guessed. */
static bool is_harmonic_of(const spurity_measurement *m, const struct candidates *all, size_t a, size_t b)
{
    const spurity_line *high = all->lines[a], *low = all->lines[b];
    double order = round(high->frequency_hz / low->frequency_hz);
    if (order < 2 || !spurity_measurement_same_scale(m, all->files[a], all->files[b]) ||
        !(high->level_db < low->level_db) || covers(m, all->files[a], low->frequency_hz))
        return false;
    double apart = fabs(high->frequency_hz - order * low->frequency_hz);
    return apart <= high->frequency_uncertainty_hz + high->width_hz / 2 +
                        order * (low->frequency_uncertainty_hz + low->width_hz / 2);
}

static void drop_harmonics(const spurity_measurement *m, struct candidates *all)
{
    struct candidates kept = {0};
    for (size_t a = 0; a < all->count; a++) {
        bool harmonic = false;
        for (size_t b = 0; b < all->count && !harmonic; b++)
            harmonic = is_harmonic_of(m, all, a, b);
        if (!harmonic)
            keep(&kept, all->lines[a], all->files[a]);
    }
    *all = kept;
}

/* Drops candidates that are another, weaker line on the same scale (a file of a harmonic); two carriers are refused. */
static spurity_status settle(const spurity_measurement *m, struct candidates *all, spurity_error *error)
{
    size_t top = 0;
    drop_harmonics(m, all);
    for (size_t i = 1; i < all->count; i++) {
        bool centre = spurity_measurement_at_center(m, all->files[i], all->lines[i]);
        bool top_centre = spurity_measurement_at_center(m, all->files[top], all->lines[top]);
        bool comparable = spurity_measurement_same_scale(m, all->files[top], all->files[i]);
        if (comparable ? all->lines[i]->level_db > all->lines[top]->level_db : top_centre && !centre)
            top = i;
    }
    struct candidates kept = {0};
    for (size_t i = 0; i < all->count; i++) {
        if (same_place(all->lines[i], all->lines[top])) {
            keep(&kept, all->lines[i], all->files[i]);
            continue;
        }
        bool comparable = spurity_measurement_same_scale(m, all->files[top], all->files[i]);
        if (!comparable && spurity_measurement_at_center(m, all->files[i], all->lines[i]))
            continue; /* the receiver's own line in a file without the carrier */
        if (!comparable)
            return spurity_report(
                error, SPURITY_INVALID, (spurity_place){.file = m->point->sources[all->files[i]].path},
                "a strong signal of its own, on a scale that cannot be compared with the other files'",
                "one carrier (carrier-ambiguous)",
                "say --carrier; or what makes the scales one: the chain of every file, of captures "
                "--full-scale or scale=NAME");
        if (all->lines[top]->level_db - all->lines[i]->level_db < LEAD_DB)
            return ambiguous(error, all->lines[top], all->lines[i], m->point->sources[all->files[i]].path);
    }
    *all = kept;
    return SPURITY_OK;
}

static spurity_status find_untold(const spurity_measurement *m, struct candidates *all, spurity_error *error)
{
    const spurity_line *rival = NULL, *best = NULL;
    bool edge = false;
    for (int file = 0; file < (int)m->file_count; file++) {
        if (!spurity_measurement_is_keyed(m, file))
            continue;
        const spurity_line *line = offered(m, file, &rival, &edge);
        keep(all, line, file);
        if (!best)
            best = strongest_but(m->sources[file].survey, NULL);
    }
    return all->count ? settle(m, all, error) : none_found(m, best, rival, edge, error);
}

static spurity_status find_told(const spurity_measurement *m, struct candidates *all, bool *swept, spurity_error *error)
{
    double told = m->point->carrier_hz;
    if (told > 0 && told < 9e3) /* no service transmits lower (common practice) */
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "a carrier of 9 kHz or more",
                               "is the unit missing, as in 146.94M?", "a carrier of %.10g Hz", told);
    if (!(told > 0))
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "a carrier of 0 Hz or less",
                              "--carrier above 0", NULL);
    for (int file = 0; file < (int)m->file_count; file++) {
        if (!spurity_measurement_is_keyed(m, file))
            continue;
        double window = told_window(m, file, told);
        *swept = *swept || covers(m, file, told);
        const spurity_line *line = spurity_survey_strongest(m->sources[file].survey, told - window, told + window);
        keep(all, line, file);
    }
    return SPURITY_OK;
}

/* Loss at the carrier beyond the least within what the file covers. */
double spurity_measurement_notch_depth(const spurity_measurement *m, int file, double hz)
{
    double least = INFINITY;
    const spurity_survey *survey = m->sources[file].survey;
    size_t count = spurity_survey_coverage_count(survey);
    for (size_t i = 0; i < count; i++) {
        const spurity_coverage *coverage = spurity_survey_coverage(survey, i);
        for (int k = 0; k <= 200; k++) {
            double at = coverage->from_hz + (coverage->to_hz - coverage->from_hz) * k / 200.0;
            least = fmin(least, spurity_measurement_loss(m, file, at));
        }
        if (i > 50) /* a sweep in shreds: the pieces seen are enough */
            break;
    }
    double here = spurity_measurement_loss(m, file, hz);
    return isnan(here) || isinf(least) ? 0.0 : here - least;
}

static spurity_status refuse_two(const spurity_measurement *m, int a, double a_db, int b, double b_db,
                                 spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = m->point->sources[b].path},
                           "one carrier level in all files of a test point, within 10 dB",
                           "two test points? check the pad of each file and give each power setting by itself",
                           "a carrier of %.1f %s where '%.60s' has %.1f %s", b_db, spurity_measurement_unit(m, b),
                           m->point->sources[a].path, a_db, spurity_measurement_unit(m, a));
}

/* Whether candidate b says more of the carrier than a, on another scale: one in dBm, a level to trust, a finer place.
 */
static bool tells_more(const spurity_measurement *m, const struct candidates *all, size_t a, size_t b)
{
    bool absolute_a = spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[all->files[a]].survey)),
         absolute_b = spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[all->files[b]].survey));
    const spurity_line *x = all->lines[a], *y = all->lines[b];
    if (absolute_a != absolute_b)
        return absolute_b;
    if (x->trustworthy != y->trustworthy)
        return y->trustworthy;
    return y->frequency_uncertainty_hz < x->frequency_uncertainty_hz;
}

/* Where both files tell the same level far over their floors, the place counts: a peak detector's wide cells say little
 * of it. */
static bool places_finer(const spurity_line *a, const spurity_line *b)
{
    static const double FAR_OVER_DB = 30, SAME_DB = 1, FINER = 10;
    return fmin(a->excess_db, b->excess_db) >= FAR_OVER_DB && fabs(a->level_db - b->level_db) <= SAME_DB &&
           a->frequency_uncertainty_hz * FINER < b->frequency_uncertainty_hz;
}

/* Of two lines on one scale the one that serves: the trusted one, the finer placed one, that over the lower floor. */
static bool serves_better(const spurity_line *a, const spurity_line *b)
{
    if (a->trustworthy != b->trustworthy)
        return b->trustworthy;
    if (places_finer(a, b) || places_finer(b, a))
        return places_finer(b, a);
    return b->floor_db < a->floor_db;
}

/* Of the files that saw the carrier the one with the lowest floor serves, unless another places it far finer; a notch
 * never does. */
static spurity_status choose(const spurity_measurement *m, const struct candidates *all, size_t *chosen,
                             spurity_error *error)
{
    size_t best = all->count;
    for (size_t i = 0; i < all->count; i++) {
        if (all->count > 1 &&
            spurity_measurement_notch_depth(m, all->files[i], all->lines[i]->frequency_hz) >= NOTCH_DB)
            continue;
        if (best == all->count) {
            best = i;
            continue;
        }
        const spurity_line *a = all->lines[best], *b = all->lines[i];
        if (!spurity_measurement_same_scale(m, all->files[best], all->files[i])) {
            best = tells_more(m, all, best, i) ? i : best;
            continue;
        }
        if (a->trustworthy && b->trustworthy && fabs(a->level_db - b->level_db) > DIFFERENT_DB)
            return refuse_two(m, all->files[best], a->level_db, all->files[i], b->level_db, error);
        best = serves_better(a, b) ? i : best;
    }
    *chosen = best == all->count ? 0 : best;
    return SPURITY_OK;
}

/* The carrier as other files of the same scale read it: what they differ by beyond the uncertainty stays open on that
 * side. */
static void compare_carriers(spurity_measurement *m, const struct candidates *all, size_t chosen)
{
    const spurity_line *mine = all->lines[chosen];
    for (size_t i = 0; i < all->count; i++) {
        const spurity_line *other = all->lines[i];
        int file = all->files[i];
        double up = other->level_db - mine->level_db;
        double doubt = m->point->uncertainty_dbc +
                       (up > 0 ? mine->read_low_db + other->read_high_db : mine->read_high_db + other->read_low_db);
        if (i == chosen || !other->trustworthy || !mine->trustworthy || fabs(up) <= doubt ||
            !spurity_measurement_same_scale(m, all->files[chosen], file) ||
            spurity_measurement_notch_depth(m, file, other->frequency_hz) >= NOTCH_DB)
            continue;
        if (up > 0)
            m->carrier.read_low_db = fmax(m->carrier.read_low_db, up);
        else
            m->carrier.read_high_db = fmax(m->carrier.read_high_db, -up);
        if (spurity_measurement_compression(m, all->files[chosen], mine, file, other) > 0)
            spurity_notes_add(
                m->notes, SPURITY_NOTE_OVERLOAD_SUSPECTED, up > 0 ? all->files[chosen] : file,
                "the carrier reads %.1f dB lower here than behind more attenuation: the instrument is "
                "overdriven, and what stands beside the carrier reads lower still; 10 dB more attenuation "
                "until the carrier holds still, then leave this file out",
                fabs(up));
        else
            spurity_notes_add(
                m->notes, SPURITY_NOTE_OVERLAP_DISAGREES, file,
                "the carrier reads %.1f %s here and %.1f %s in '%.80s' at the antenna terminal: is the pad of each "
                "file right, and was the power the same?",
                other->level_db, spurity_measurement_unit(m, file), mine->level_db,
                spurity_measurement_unit(m, all->files[chosen]), m->point->sources[all->files[chosen]].path);
    }
}

/* Other sweeps of the carrier that differ from the chosen one in nothing: the mean in power stands.  Returns by how
 * much it is over the chosen reading, dB. */
static double average_carrier(spurity_measurement *m, const struct candidates *all, size_t chosen)
{
    const spurity_line *mine = all->lines[chosen];
    int own = all->files[chosen];
    double db[sizeof all->lines / sizeof *all->lines] = {mine->level_db};
    size_t count = 1;
    for (size_t i = 0; i < all->count; i++) {
        double rbw = rbw_at(m, all->files[i], all->lines[i]->segment);
        bool same =
            spurity_measurement_same_scale(m, own, all->files[i]) && fabs(rbw - m->carrier.rbw_hz) <= 0.01 * rbw;
        if (i != chosen && same && all->lines[i]->trustworthy && mine->trustworthy && all->files[i] != own &&
            fabs(spurity_measurement_step(m, own, all->files[i], mine->frequency_hz)) <= 0.5)
            db[count++] = all->lines[i]->level_db;
    }
    if (count < 2)
        return 0;
    double shift = spurity_measurement_mean_of(db, count, &m->carrier.repeats);
    m->carrier.trace_dbm += shift; /* NaN stays */
    spurity_measurement_add_repeats(&m->carrier.uncertainty, "repeats of the carrier", &m->carrier.repeats);
    m->carrier_reading = m->carrier.uncertainty;
    return shift;
}

/* A file that sweeps the carrier and holds nothing there, where another one shows it, was not taken with the set keyed
 * as there.  Of one scale only; behind a notch nothing is expected. */
static spurity_status refuse_unkeyed(const spurity_measurement *m, const struct candidates *all, size_t chosen,
                                     spurity_error *error)
{
    const spurity_line *mine = all->lines[chosen];
    for (int file = 0; file < (int)m->file_count; file++) {
        bool seen = !spurity_measurement_is_keyed(m, file);
        for (size_t i = 0; i < all->count; i++)
            seen = seen || all->files[i] == file;
        double bound_db, floor_db, hz = mine->frequency_hz, window = told_window(m, file, hz);
        if (seen || !mine->trustworthy || !spurity_measurement_same_scale(m, all->files[chosen], file) ||
            spurity_measurement_notch_depth(m, file, hz) >= NOTCH_DB ||
            !spurity_survey_bound(m->sources[file].survey, hz - window, hz + window, &bound_db, &floor_db, NULL) ||
            bound_db > mine->level_db - DIFFERENT_DB)
            continue;
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = m->point->sources[file].path},
                               "the carrier in every file that sweeps its frequency",
                               "was the set keyed for it? what was taken with the set not keyed is role=ambient",
                               "at most %.1f %s at the carrier's frequency, where '%.60s' has %.1f %s", bound_db,
                               spurity_measurement_unit(m, file), m->point->sources[all->files[chosen]].path,
                               mine->level_db, spurity_measurement_unit(m, all->files[chosen]));
    }
    return SPURITY_OK;
}

/* Of a capture's two windows the one made for levels tells the carrier's. */
static const spurity_line *in_level_window(const spurity_measurement *m, int file, const spurity_line *line)
{
    spurity_spectrum_part part, other_part;
    if (!spurity_measurement_part(m, file, line->segment, &part) || !part.sharp)
        return line;
    const spurity_survey *survey = m->sources[file].survey;
    const spurity_line *best = line;
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *other = spurity_survey_line(survey, i);
        if (same_place(line, other) && spurity_measurement_part(m, file, other->segment, &other_part) &&
            !other_part.sharp && other_part.center_hz == part.center_hz &&
            (best == line || other->level_db > best->level_db))
            best = other;
    }
    return best;
}

/* Over this many standard deviations of the tone's own noise a frequency is taken as known (k = 2). */
static const double TONE_SIGMAS = 2.0;

/* A carrier that is one line is placed finer by the tone estimator than by the points of its window, as long as both
 * agree; its level stays the windowed one, the mean over all of the capture and not its first block. */
static void refine_frequency(spurity_measurement *m, const spurity_line *line, int file)
{
    spurity_spectrum_part part;
    spurity_tone tone;
    const spurity_spectrum *spectrum = m->sources[file].spectrum;
    if (line->character != SPURITY_LINE || !spurity_measurement_part(m, file, line->segment, &part))
        return;
    spurity_spectrum_part one;
    for (size_t i = 0; spurity_spectrum_part_at(spectrum, i, &one); i++) {
        if (one.sharp || one.center_hz != part.center_hz || !spurity_spectrum_tone(spectrum, i, &tone))
            continue;
        double sigma = TONE_SIGMAS * tone.frequency_sigma_hz;
        if (fabs(tone.frequency_hz - line->frequency_hz) > line->frequency_uncertainty_hz + sigma ||
            sigma >= line->frequency_uncertainty_hz)
            continue;
        m->carrier.frequency_hz = tone.frequency_hz;
        m->carrier.frequency_uncertainty_hz = sigma;
        return;
    }
}

/* The file with the best level need not tell the place best: a line in another one, of the same place as far as both
 * tell, may do so more finely. */
static void place_by_finest(spurity_measurement *m, const struct candidates *all, size_t chosen)
{
    const spurity_line *mine = all->lines[chosen];
    for (size_t i = 0; i < all->count && m->carrier.character == SPURITY_LINE; i++) {
        const spurity_line *other = all->lines[i];
        if (other->character != SPURITY_LINE || !other->trustworthy ||
            other->frequency_uncertainty_hz >= m->carrier.frequency_uncertainty_hz ||
            fabs(other->frequency_hz - mine->frequency_hz) >
                other->frequency_uncertainty_hz + mine->frequency_uncertainty_hz)
            continue;
        m->carrier.frequency_hz = other->frequency_hz;
        m->carrier.frequency_uncertainty_hz = other->frequency_uncertainty_hz;
        refine_frequency(m, other, all->files[i]);
    }
}

/* In a sweep the filter's width stands at both edges of a spectrum of lines: where they stand apart and are all there
 * is, its edges are at lines. */
static void refine_swept_width(spurity_measurement *m, const spurity_line *line, int file)
{
    enum { MOST = 64 };
    spurity_band_trace traces[MOST];
    spurity_band_figure figure;
    size_t count = spurity_measurement_band_traces(m, line->frequency_hz, line->frequency_hz, traces, MOST);
    for (size_t i = 0; i < count; i++)
        if (traces[i].file == file && traces[i].segment == line->segment &&
            spurity_measurement_band_figure(m, &traces[i], line->frequency_hz, line->width_hz, 0, &figure) &&
            fabs(figure.lines_db - figure.power_db) < 0.5)
            m->carrier.width_hz = fmax(figure.high_hz - figure.low_hz, traces[i].rbw_hz);
}

/* Lines of a modulation that stand nearer than 1.8 RBW run into one another, and what is half seen of them on one side
 * shifts its edges: where the sharp window of the same capture shows all of it, as strong to 0.5 dB, that one's place
 * and width serve.  The level stays the flat-top window's. */
static void refine_width(spurity_measurement *m, const spurity_line *line, int file)
{
    spurity_spectrum_part mine, other;
    if (line->character == SPURITY_LINE)
        return;
    if (!spurity_measurement_part(m, file, line->segment, &mine))
        refine_swept_width(m, line, file);
    if (!spurity_measurement_part(m, file, line->segment, &mine) || mine.sharp)
        return;
    const spurity_survey *survey = m->sources[file].survey;
    double reach = line->width_hz / 2 + fmax(0.5 * line->width_hz, 4 * rbw_at(m, file, line->segment));
    for (size_t i = 0; i < spurity_survey_line_count(survey); i++) {
        const spurity_line *next = spurity_survey_line(survey, i);
        if (next->character == SPURITY_LINE || fabs(next->level_db - line->level_db) > 0.5 ||
            fabs(next->frequency_hz - line->frequency_hz) > line->width_hz / 2 ||
            !spurity_measurement_part(m, file, next->segment, &other) || !other.sharp ||
            other.center_hz != mine.center_hz || other.from_hz > line->frequency_hz - reach ||
            other.to_hz < line->frequency_hz + reach)
            continue;
        m->carrier.frequency_hz = next->frequency_hz;
        m->carrier.frequency_uncertainty_hz = next->frequency_uncertainty_hz;
        m->carrier.width_hz = next->width_hz;
        return;
    }
}

/* A carrier where its receiver is tuned stands on what the receiver makes there of its own. */
static void note_center(spurity_measurement *m, const spurity_line *line, int file)
{
    char at[40];
    spurity_spectrum_part part;
    if (!spurity_measurement_part(m, file, line->segment, &part) || !part.is_complex)
        return;
    spurity_format_frequency_near(at, sizeof at, part.center_hz, 1);
    if (line->character == SPURITY_LINE && spurity_measurement_at_center(m, file, line))
        spurity_notes_add(m->notes, SPURITY_NOTE_RECEIVER_DC, file,
                          "the carrier stands where the receiver is tuned (%s) and cannot be told from the line a "
                          "receiver makes there of its own: tune it off the carrier by a tenth of the rate or more",
                          at);
    else if (line->character != SPURITY_LINE && line->low_hz <= part.center_hz && part.center_hz <= line->high_hz)
        spurity_notes_add(m->notes, SPURITY_NOTE_RECEIVER_DC, file,
                          "the carrier spreads over where the receiver is tuned (%s): a line in it there may be the "
                          "receiver's own; tune it off the carrier by more than its width",
                          at);
}

/* A carrier that is said to be modulated and reads as a line keeps part of its power in sidebands read apart: what the
 * bandwidth in use holds beyond the line stays open upwards. */
static double beside_the_line_db(const spurity_measurement *m, const spurity_line *line, int file)
{
    const spurity_test_point *point = m->point;
    bool said = point->modulation == SPURITY_MODULATION_VOICE || point->modulation == SPURITY_MODULATION_TEST;
    double told = point->bandwidth_hz, power;
    double width = told > 0 ? told : spurity_necessary_bandwidth(point->emission, line->frequency_hz, NULL);
    if (!said || line->character != SPURITY_LINE || !(rbw_at(m, file, line->segment) < width / 3) ||
        !spurity_survey_power(m->sources[file].survey, line->frequency_hz - width / 2, line->frequency_hz + width / 2,
                              &power))
        return 0;
    return fmax(power - line->level_db, 0);
}

/* A response that tilts by 0.05 dB over the deviation s of a spectrum moves its mean frequency by 0.012 s (our estimate
 * of what is flat within a channel). */
static const double FLATNESS = 0.012;

/* A set said to be modulated by its test tone, read so finely that its sidebands stand apart: all of them are the
 * carrier, its middle the mean frequency by power, which for angle modulation is that of its instantaneous frequency.
 * Returns by how much the whole is stronger than the line, dB; 0 when the line is all there is. */
static double gather_sidebands(spurity_measurement *m, const spurity_line *line, int file)
{
    enum { MOST = 64 };
    spurity_band_trace traces[MOST];
    spurity_band_figure figure;
    spurity_carrier *carrier = &m->carrier;
    double half = spurity_measurement_bandwidth(m, NULL), middle = line->frequency_hz;
    if (m->point->modulation != SPURITY_MODULATION_TEST || line->character != SPURITY_LINE ||
        !(rbw_at(m, file, line->segment) < half / 3))
        return 0;
    size_t count = spurity_measurement_band_traces(m, middle, middle, traces, MOST), mine = 0;
    while (mine < count && (traces[mine].file != file || traces[mine].segment != line->segment))
        mine++;
    for (int again = 0; again < 3; again++) {
        if (mine == count || !spurity_measurement_band_figure(m, &traces[mine], middle, half, 0, &figure))
            return 0;
        middle = figure.centroid_hz;
    }
    double more = (isnan(figure.lines_db) ? figure.power_db : figure.lines_db) - line->level_db;
    if (!(more > 0.1)) /* 2 % of the power: no modulation */
        return 0;
    carrier->frequency_hz = middle;
    carrier->frequency_uncertainty_hz = FLATNESS * figure.rms_hz + traces[mine].step_hz / 2;
    carrier->width_hz = figure.high_hz - figure.low_hz;
    carrier->low_hz = fmin(carrier->low_hz, figure.low_hz - carrier->rbw_hz);
    carrier->high_hz = fmax(carrier->high_hz, figure.high_hz + carrier->rbw_hz);
    carrier->character = SPURITY_UNRESOLVED;
    carrier->read_low_db = line->read_low_db + m->files[file].key_up_db;
    return more;
}

/* Fills the carrier from its line; returns its level on the file's scale. */
static double take_line(spurity_measurement *m, const spurity_line *line, int file)
{
    spurity_carrier *carrier = &m->carrier;
    spurity_segment segment;
    carrier->seen = true;
    carrier->swept = true;
    carrier->trustworthy = line->trustworthy;
    carrier->file = file;
    carrier->frequency_hz = line->frequency_hz;
    carrier->frequency_uncertainty_hz = line->frequency_uncertainty_hz;
    /* Points that do not keep the carrier and its line's place apart from what was told leave the told one. */
    spurity_segment coarse;
    double told = m->point->carrier_hz;
    if (segment_of(m, file, line->segment, &coarse) && coarse.step_hz > coarse.facts.rbw_hz &&
        fabs(told - line->frequency_hz) <= line->frequency_uncertainty_hz)
        carrier->frequency_hz = told;
    carrier->width_hz = line->width_hz;
    carrier->low_hz = line->low_hz;
    carrier->high_hz = line->high_hz;
    carrier->character = line->character;
    carrier->read_low_db = line->read_low_db + m->files[file].key_up_db + beside_the_line_db(m, line, file);
    carrier->read_high_db = line->read_high_db;
    if (segment_of(m, file, line->segment, &segment))
        carrier->rbw_hz = segment.facts.rbw_hz;
    double more = gather_sidebands(m, line, file);
    if (more <= 0)
        refine_frequency(m, line, file);
    refine_width(m, line, file);
    note_center(m, line, file);
    spurity_clipping clipping;
    if (spurity_measurement_clipping(m, file, &clipping)) {
        carrier->read_low_db += clipping.carrier_low_db;
        carrier->trustworthy = carrier->trustworthy && !clipping.blind;
    }
    spurity_measurement_leak_into_carrier(m, line->level_db);
    spurity_measurement_contributions(m, file, line->frequency_hz, 0, carrier->rbw_hz, &carrier->uncertainty);
    carrier->noise_up_db = more > 0 ? 0 : line->noise_up_db;
    carrier->noise_down_db = more > 0 ? 0 : line->noise_down_db;
    spurity_measurement_add_noise(file, line->frequency_hz, carrier->noise_up_db, carrier->noise_down_db,
                                  &carrier->uncertainty);
    m->carrier_reading = carrier->uncertainty;
    if (spurity_terminal_trace_is_absolute(spurity_survey_terminal(m->sources[file].survey)))
        carrier->trace_dbm = line->level_db + more;
    return line->level_db + more;
}

/* The level is the meter's, and by a budget so is its uncertainty.  Where the instrument did not read the carrier, or
 * not well, ratios are to the meter's reading too. */
static void take_meter(spurity_measurement *m)
{
    spurity_carrier *carrier = &m->carrier;
    const spurity_test_point *point = m->point;
    bool read = carrier->seen && carrier->trustworthy;
    if (read && !point->budget)
        return; /* one lump is told for levels, whatever read them */
    carrier->uncertainty = (spurity_uncertainty){0};
    if (point->budget)
        spurity_budget_meter(point->budget, &carrier->uncertainty);
    else
        spurity_uncertainty_add(&carrier->uncertainty, "power meter", SPURITY_NORMAL, point->uncertainty_dbm / 2, 1);
    if (read)
        return;
    carrier->read_low_db = carrier->read_high_db = 0;
    carrier->noise_up_db = carrier->noise_down_db = 0;
    m->carrier_reading = carrier->uncertainty;
}

/* Fills level and power from trace and meter, and what both leave open. */
static void set_power(spurity_measurement *m)
{
    const spurity_test_point *point = m->point;
    spurity_carrier *carrier = &m->carrier;
    bool even =
        (carrier->seen && carrier->character == SPURITY_LINE) || spurity_emission_is_angle_modulated(point->emission);
    bool metered = point->power_low_w > 0 && (!point->power_is_pep || even || !carrier->seen);
    double low_dbm = (double)NAN, high_dbm = (double)NAN;
    carrier->level_dbm = carrier->trace_dbm;
    carrier->source = SPURITY_CARRIER_FROM_TRACE;
    if (metered) {
        low_dbm = spurity_dbm_from_watts(point->power_low_w);
        high_dbm = spurity_dbm_from_watts(point->power_high_w);
        carrier->level_dbm = (low_dbm + high_dbm) / 2;
        carrier->source = SPURITY_CARRIER_FROM_METER;
        if (low_dbm == high_dbm) { /* one reading: the bench's uncertainty; a range is taken as the user's word */
            low_dbm -= spurity_test_point_meter_expanded(point);
            high_dbm += spurity_test_point_meter_expanded(point);
        }
        take_meter(m);
    } else if (!isnan(carrier->level_dbm)) {
        double expanded = spurity_uncertainty_expanded(&carrier->uncertainty);
        low_dbm = carrier->level_dbm - expanded - carrier->read_high_db;
        high_dbm = carrier->level_dbm + expanded + carrier->read_low_db;
    }
    carrier->power_w = spurity_watts_from_dbm(carrier->level_dbm);
    carrier->power_low_w = spurity_watts_from_dbm(low_dbm);
    carrier->power_high_w = spurity_watts_from_dbm(high_dbm);
    carrier->pep_low_w = carrier->pep_high_w = (double)NAN;
    if (point->power_low_w > 0 && point->power_is_pep) {
        carrier->pep_low_w = point->power_low_w;
        carrier->pep_high_w = point->power_high_w;
    } else if (even) {
        carrier->pep_low_w = carrier->power_low_w;
        carrier->pep_high_w = carrier->power_high_w;
    }
}

static spurity_status check_meter(spurity_measurement *m, spurity_error *error)
{
    const spurity_carrier *carrier = &m->carrier;
    if (carrier->source != SPURITY_CARRIER_FROM_METER || isnan(carrier->trace_dbm) || !carrier->trustworthy)
        return SPURITY_OK;
    double apart = carrier->trace_dbm - carrier->level_dbm;
    if (fabs(apart) > DIFFERENT_DB)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = m->point->sources[carrier->file].path},
                               "meter and chain to agree within 10 dB",
                               apart < 0 ? "is a pad forgotten in --pad, or another power setting metered?"
                                         : "is a pad counted twice, or another power setting metered?",
                               "%.1f dBm by trace and chain where --power says %.1f dBm", carrier->trace_dbm,
                               carrier->level_dbm);
    double range = spurity_dbm_from_watts(m->point->power_high_w) - carrier->level_dbm;
    double allowed = m->point->uncertainty_dbm;
    if (m->point->budget)
        allowed = hypot(allowed, spurity_test_point_meter_expanded(m->point));
    if (fabs(apart) <= allowed + range)
        return SPURITY_OK;
    /* Which of the two is right is not known: what they differ by stays open on its side. */
    m->carrier.meter_low_db = fmax(apart, 0);
    m->carrier.meter_high_db = fmax(-apart, 0);
    spurity_notes_add(m->notes, SPURITY_NOTE_METER_DISAGREES, carrier->file,
                      "trace and chain put the carrier at %.1f dBm, the meter at %.1f dBm: %s", carrier->trace_dbm,
                      carrier->level_dbm, apart < 0 ? "a pad forgotten?" : "a loss counted twice?");
    return SPURITY_OK;
}

/* Level of the carrier on each file's scale, and what turns that scale into dBm.  A carrier read from points too far
 * apart is no anchor: where a meter knows it, it stands on scales of dBm only. */
static void anchor(spurity_measurement *m, const struct candidates *all, double carrier_db)
{
    const spurity_carrier *carrier = &m->carrier;
    bool metered = carrier->source == SPURITY_CARRIER_FROM_METER;
    bool read = carrier->seen && (carrier->trustworthy || !metered);
    for (int file = 0; file < (int)m->file_count; file++) {
        spurity_measured_file *mine = &m->files[file];
        bool shared = read && spurity_measurement_same_scale(m, file, carrier->file);
        bool absolute = !isnan(mine->dbm_offset);
        if (shared)
            mine->carrier_db = carrier_db;
        for (size_t i = 0; i < all->count && isnan(mine->carrier_db); i++)
            if (read && spurity_measurement_same_scale(m, file, all->files[i]) &&
                (all->lines[i]->trustworthy || !metered))
                mine->carrier_db = all->lines[i]->level_db;
        if (!read && absolute)
            mine->carrier_db = carrier->level_dbm;
        /* Every scale on which the carrier stands is anchored by the meter, and no other. */
        if (read && metered && !isnan(mine->carrier_db))
            mine->dbm_offset = carrier->level_dbm - mine->carrier_db;
    }
}

/* A told carrier that no line shows: fine outside every sweep; swept and absent while a meter reads power is a
 * contradiction. */
static spurity_status take_told(spurity_measurement *m, bool swept, spurity_error *error)
{
    spurity_carrier *carrier = &m->carrier;
    char at[40];
    carrier->frequency_hz = m->point->carrier_hz;
    carrier->swept = swept;
    spurity_format_frequency(at, sizeof at, carrier->frequency_hz, 6);
    if (swept && m->point->power_low_w > 0)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = m->point->sources[0].path},
                               "the carrier where a sweep covers it",
                               "was the set keyed? another channel? leave the file out if it is of another test point",
                               "nothing at %s while --power says the set transmits", at);
    spurity_notes_add(m->notes, SPURITY_NOTE_CARRIER_AMBIGUOUS, -1,
                      swept ? "no line stands at %s, where a sweep covers it" : "no sweep covers the carrier at %s",
                      at);
    return SPURITY_OK;
}

static void note_power(spurity_measurement *m)
{
    double watts = m->carrier.power_w;
    char text[40];
    if (watts < 10e-3 || watts > 2e3)
        spurity_notes_add(m->notes, SPURITY_NOTE_POWER_IMPLAUSIBLE, m->carrier.file,
                          "a carrier of %s at the antenna terminal is unusual: is every pad in --pad, and none twice?",
                          spurity_format_power(text, sizeof text, watts));
}

spurity_status spurity_measurement_find_carrier(spurity_measurement *m, spurity_error *error)
{
    struct candidates all = {0};
    bool swept = false;
    size_t chosen = 0;
    double carrier_db = (double)NAN;
    m->carrier = (spurity_carrier){.file = -1,
                                   .trace_dbm = (double)NAN,
                                   .leakage_db = (double)NAN,
                                   .character = SPURITY_LINE,
                                   .trustworthy = true};
    bool told = !isnan(m->point->carrier_hz);
    spurity_status status = told ? find_told(m, &all, &swept, error) : find_untold(m, &all, error);
    for (size_t i = 0; i < all.count; i++)
        all.lines[i] = in_level_window(m, all.files[i], all.lines[i]);
    if (!status && all.count)
        status = choose(m, &all, &chosen, error);
    if (status)
        return status;
    if (all.count) {
        carrier_db = take_line(m, all.lines[chosen], all.files[chosen]);
        place_by_finest(m, &all, chosen);
        compare_carriers(m, &all, chosen);
        status = refuse_unkeyed(m, &all, chosen, error);
        carrier_db += average_carrier(m, &all, chosen);
    } else {
        status = take_told(m, swept, error);
    }
    m->carrier.modulated = m->point->modulation == SPURITY_MODULATION_VOICE ||
                           m->point->modulation == SPURITY_MODULATION_TEST ||
                           (m->carrier.seen && m->carrier.character != SPURITY_LINE);
    set_power(m);
    if (!status)
        status = check_meter(m, error);
    anchor(m, &all, carrier_db);
    for (size_t file = 0; file < m->file_count && !status; file++)
        status = spurity_terminal_trace_warn(spurity_survey_terminal(m->sources[file].survey), m->carrier.frequency_hz,
                                             m->notes, error);
    note_power(m);
    return status;
}
