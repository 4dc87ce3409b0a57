/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Axes, the sweep, what is forbidden, what was not shown. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheet.h"

enum { HATCHES_MOST = 64, GAPS_MOST = 2000 };
/* px: what the words of the unit take of the row of names over the plot */
static const double UNIT_WIDTH = 210;

/* ---- levels --------------------------------------------------------------------------------------------- */

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Bottom of the levels: the lowest reading, but no more than 25 dB under the middle of the column minima, so that one
 * deep notch does not flatten the rest (what is deeper is drawn at the bottom). */
static double lowest_level(spurity_sheet *at)
{
    const spurity_picture *picture = at->picture;
    size_t count = 0, used = 0;
    for (size_t i = 0; i < picture->trace_count; i++)
        count += picture->traces[i].count;
    double *all = count ? malloc(count * sizeof *all) : NULL;
    if (!all) {
        at->blocks[SPURITY_BLOCK_AXIS].failed |= count > 0;
        return -100;
    }
    for (size_t i = 0; i < picture->trace_count; i++)
        for (size_t k = 0; k < picture->traces[i].count; k++)
            all[used++] = picture->traces[i].low_db[k];
    qsort(all, count, sizeof *all, compare_doubles);
    double low = fmax(all[0], all[count / 2] - 25);
    free(all);
    return low;
}

void spurity_sheet_set_levels(spurity_sheet *at)
{
    const spurity_picture *picture = at->picture;
    double low = lowest_level(at), high = low + 20;
    for (size_t i = 0; i < picture->trace_count; i++)
        for (size_t k = 0; k < picture->traces[i].count; k++)
            high = fmax(high, picture->traces[i].high_db[k]);
    for (size_t i = 0; i < picture->limit_count; i++)
        if (isfinite(picture->limit_db[i])) {
            high = fmax(high, picture->limit_db[i] + 4);
            low = fmin(low, picture->limit_db[i] - 4);
        }
    for (size_t i = 0; i < at->shown.emission_count; i++)
        if (spurity_sheet_on_axis(at, at->shown.emissions[i].frequency_hz) &&
            isfinite(spurity_sheet_level(at, &at->shown.emissions[i])))
            high = fmax(high, spurity_sheet_level(at, &at->shown.emissions[i]));
    at->low_db = low - 0.02 * (high - low);
    at->high_db = high + 0.07 * (high - low);
}

/* ---- axes ------------------------------------------------------------------------------------------------ */

static void tic_at(spurity_sheet *at, double hz, bool named)
{
    char words[48];
    double x = spurity_sheet_x(at, hz);
    spurity_sheet_segment(at, SPURITY_BLOCK_AXIS, x, SPURITY_PLOT_BOTTOM, x, SPURITY_PLOT_BOTTOM - (named ? 6 : 3));
    if (named)
        spurity_sheet_text(at, SPURITY_BLOCK_TIC_X, x, SPURITY_PLOT_BOTTOM - 16,
                           spurity_format_frequency(words, sizeof words, hz, 6));
}

/* 1, 2 or 5 times a power of ten, at least `least`. */
static double nice_step(double least)
{
    double decade = pow(10, floor(log10(least)));
    return least <= decade ? decade : least <= 2 * decade ? 2 * decade : least <= 5 * decade ? 5 * decade : 10 * decade;
}

static void linear_tics(spurity_sheet *at)
{
    double span = at->picture->to_hz - at->picture->from_hz, step = nice_step(span / 9);
    for (double k = ceil(at->picture->from_hz / step - 1e-9); k * step <= at->picture->to_hz + 1e-9 * span; k++)
        tic_at(at, k * step, true);
}

/* Decades are named, then 2 and 5 of each where there is room. */
static void log_tics(spurity_sheet *at)
{
    double ratio = at->picture->to_hz / at->picture->from_hz;
    double decade_px = (SPURITY_PLOT_RIGHT - SPURITY_PLOT_LEFT) / log10(ratio);
    for (double decade = pow(10, floor(log10(at->picture->from_hz))); decade <= at->picture->to_hz; decade *= 10)
        for (int digit = 1; digit <= 9; digit++) {
            double hz = round(decade * digit * 1e3) / 1e3;
            bool named = digit == 1 || (decade_px > 260 && (digit == 2 || digit == 5)) ||
                         (decade_px > 800 && (digit == 3 || digit == 7));
            if (spurity_sheet_on_axis(at, hz) && (decade_px > 60 || digit == 1))
                tic_at(at, hz, named);
        }
}

void spurity_sheet_draw_axes(spurity_sheet *at)
{
    spurity_sheet_segment(at, SPURITY_BLOCK_AXIS, SPURITY_PLOT_LEFT, SPURITY_PLOT_BOTTOM, SPURITY_PLOT_RIGHT,
                          SPURITY_PLOT_BOTTOM);
    spurity_sheet_segment(at, SPURITY_BLOCK_AXIS, SPURITY_PLOT_LEFT, at->base, SPURITY_PLOT_LEFT, at->plot_top);
    if (at->picture->log_axis)
        log_tics(at);
    else
        linear_tics(at);
    double step = nice_step((at->high_db - at->low_db) / 11);
    for (double k = ceil(at->low_db / step); k * step <= at->high_db; k++) {
        char words[40];
        double y = spurity_sheet_y(at, k * step);
        spurity_sheet_signed_db(words, sizeof words, k * step);
        words[strcspn(words, ".")] = step >= 1 ? '\0' : '.';
        spurity_sheet_segment(at, SPURITY_BLOCK_AXIS, SPURITY_PLOT_LEFT - 5, y, SPURITY_PLOT_LEFT, y);
        spurity_sheet_text(at, SPURITY_BLOCK_TIC_Y, SPURITY_PLOT_LEFT - 9, y, words);
    }
    spurity_sheet_text(at, SPURITY_BLOCK_UNIT, 24, at->plot_top + 14,
                       at->relative ? "dB from the carrier" : "dBm at the antenna terminal");
}

/* ---- the sweep and what is forbidden ---------------------------------------------------------------------- */

void spurity_sheet_draw_sweep(spurity_sheet *at)
{
    for (size_t i = 0; i < at->picture->trace_count; i++) {
        const spurity_picture_line *line = &at->picture->traces[i];
        for (size_t k = 0; k < line->count; k++)
            spurity_sheet_row3(at, SPURITY_BLOCK_SWEEP, spurity_sheet_x(at, line->frequency_hz[k]),
                               spurity_sheet_y(at, line->low_db[k]), spurity_sheet_y(at, line->high_db[k]));
        spurity_sheet_lift(at, SPURITY_BLOCK_SWEEP);
    }
}

/* The widest stretch with a limit, for its caption. */
typedef struct run {
    double from, to, y; /* px; y = highest edge in it */
} run;

/* The place beside the carrier where nothing is forbidden is often thinner than a line: at least this wide, px, it
 * stays white, so that the carrier is not drawn as if it stood in the forbidden region. */
static const double CARRIER_GAP = 5;

static double off_carrier(const spurity_sheet *at, double x, double hz)
{
    if (!spurity_sheet_on_axis(at, at->picture->carrier_hz))
        return x;
    double carrier = spurity_sheet_x(at, at->picture->carrier_hz);
    if (fabs(x - carrier) >= CARRIER_GAP)
        return x;
    return hz < at->picture->carrier_hz ? carrier - CARRIER_GAP : carrier + CARRIER_GAP;
}

/* Points first..last-1 of the limit, all with a figure. */
static run draw_run(spurity_sheet *at, size_t first, size_t last)
{
    const spurity_picture *picture = at->picture;
    run drawn = {off_carrier(at, spurity_sheet_x(at, picture->limit_hz[first]), picture->limit_hz[first]), 0, 0};
    double x = drawn.from, y = 0;
    if (x > SPURITY_PLOT_LEFT + 1)
        spurity_sheet_row2(at, SPURITY_BLOCK_EDGE, x, at->plot_top);
    for (size_t i = first; i < last; i++) {
        x = fmax(x, off_carrier(at, spurity_sheet_x(at, picture->limit_hz[i]), picture->limit_hz[i]));
        y = spurity_sheet_y(at, picture->limit_db[i]);
        spurity_sheet_row2(at, SPURITY_BLOCK_EDGE, x, y);
        spurity_sheet_row3(at, SPURITY_BLOCK_FORBIDDEN, x, y, at->plot_top);
        drawn.y = fmax(drawn.y, y);
    }
    if (x < SPURITY_PLOT_RIGHT - 1)
        spurity_sheet_row2(at, SPURITY_BLOCK_EDGE, x, at->plot_top);
    spurity_sheet_lift(at, SPURITY_BLOCK_EDGE);
    spurity_sheet_lift(at, SPURITY_BLOCK_FORBIDDEN);
    drawn.to = x;
    return drawn;
}

/* Names of the clauses that were judged in dBm or dBc, for the caption of the region. */
static void forbidding_clauses(const spurity_sheet *at, char *words, size_t size)
{
    const char *named[3] = {NULL};
    size_t used = 0;
    snprintf(words, size, "forbidden");
    for (size_t i = 0; i < at->shown.judgement_count && used < 3; i++) {
        const spurity_shown_judgement *one = &at->shown.judgements[i];
        if (strncmp(one->unit, "dB", 2) != 0 || !one->clause[0])
            continue;
        bool known = false;
        for (size_t k = 0; k < used; k++)
            known |= !strcmp(named[k], one->clause);
        if (known)
            continue;
        size_t length = strlen(words);
        snprintf(words + length, size - length, "%s%.30s", used ? ", " : " by ", one->clause);
        named[used++] = one->clause;
    }
}

static bool sweep_rises_into(const spurity_sheet *at, double from, double to, double y)
{
    for (size_t i = 0; i < at->picture->trace_count; i++) {
        const spurity_picture_line *line = &at->picture->traces[i];
        for (size_t k = 0; k < line->count; k++) {
            double x = spurity_sheet_x(at, line->frequency_hz[k]);
            if (x > from - 6 && x < to + 6 && spurity_sheet_y(at, line->high_db[k]) > y - 8)
                return true;
        }
    }
    return false;
}

/* At an end of the run just over its edge; where the sweep rises into that, at the top, away from the carrier's words.
 */
static void name_region(spurity_sheet *at, run widest)
{
    char words[160];
    forbidding_clauses(at, words, sizeof words);
    double width = spurity_sheet_text_width(words, 10.5), left = widest.from + 8, right = widest.to - 8;
    double y = fmin(widest.y + 11, at->plot_top - 8);
    if (widest.to - widest.from < width + 20)
        return;
    if (!sweep_rises_into(at, left, left + width, y))
        spurity_sheet_text(at, SPURITY_BLOCK_BAN_RIGHT, left, y, words);
    else
        spurity_sheet_text(at, SPURITY_BLOCK_BAN_LEFT, right,
                           sweep_rises_into(at, right - width, right, y) ? at->plot_top - 12 : y, words);
}

void spurity_sheet_draw_limit(spurity_sheet *at)
{
    const spurity_picture *picture = at->picture;
    run widest = {0};
    for (size_t first = 0; first < picture->limit_count;) {
        size_t last = first;
        while (last < picture->limit_count && isfinite(picture->limit_db[last]))
            last++;
        if (last > first) {
            run drawn = draw_run(at, first, last);
            if (drawn.to - drawn.from > widest.to - widest.from)
                widest = drawn;
        }
        first = last > first ? last : last + 1;
    }
    if (widest.to > widest.from)
        name_region(at, widest);
}

/* ---- what was not shown ----------------------------------------------------------------------------------- */

static void hatch_strip(spurity_sheet *at, double from, double to)
{
    const double step = 8; /* px, up to the right; all strips share one raster */
    for (double k = floor((at->base - to) / step); k * step < at->plot_top - from; k++) {
        double x0 = fmax(from, at->base - k * step), x1 = fmin(to, at->plot_top - k * step);
        if (x0 < x1)
            spurity_sheet_segment(at, SPURITY_BLOCK_HATCH, x0, x0 + k * step, x1, x1 + k * step);
    }
    spurity_sheet_segment(at, SPURITY_BLOCK_HATCH, from, at->base, from, at->plot_top);
    spurity_sheet_segment(at, SPURITY_BLOCK_HATCH, to, at->base, to, at->plot_top);
}

typedef struct gap_name {
    double from, to; /* px, with air */
    int row;
} gap_name;

static void gap_words(const spurity_sheet *at, size_t index, char *words, size_t size)
{
    char reason[64], stretch[112];
    spurity_plain(reason, sizeof reason, spurity_shown_text(at->shown.result, "not_shown", index, "reason"), 32);
    for (char *mark = strchr(reason, '-'); mark; mark = strchr(mark, '-'))
        *mark = ' ';
    spurity_word_stretch(spurity_shown_number(at->shown.result, "not_shown", index, "from_hz"),
                         spurity_shown_number(at->shown.result, "not_shown", index, "to_hz"), stretch, sizeof stretch);
    snprintf(words, size, "%s: %s", stretch, reason);
}

/* Above the plot, over the middle of the strip, in the lower of two rows where no other stands. */
static void name_gap(spurity_sheet *at, size_t index, double from, double to, gap_name *taken, size_t *taken_count)
{
    char words[200];
    gap_words(at, index, words, sizeof words);
    double half = spurity_sheet_text_width(words, 10) / 2;
    double middle = spurity_sheet_clamp((from + to) / 2, UNIT_WIDTH + half, SPURITY_PLOT_RIGHT - half);
    gap_name name = {middle - half - 7, middle + half + 7, 0};
    for (size_t i = 0; i < *taken_count; i++) {
        if (name.row != taken[i].row || name.to < taken[i].from || name.from > taken[i].to)
            continue;
        if (name.row++)
            return;
        i = (size_t)-1; /* the next row from its start */
    }
    taken[(*taken_count)++] = name;
    spurity_sheet_text(at, SPURITY_BLOCK_GAP, middle, at->plot_top + 14 + SPURITY_GAP_ROW * name.row, words);
}

typedef struct gap {
    size_t index;    /* in the document */
    double from, to; /* px */
} gap;

/* Widest first, so that a narrower one within it is known to be covered. */
static int compare_gaps(const void *a, const void *b)
{
    const gap *x = a, *y = b;
    double more = (y->to - y->from) - (x->to - x->from);
    return more > 0 ? 1 : more < 0 ? -1 : x->index < y->index ? -1 : 1;
}

/* Stretches on the axis; each is seen even where it is thinner than a line. */
static size_t collect_gaps(const spurity_sheet *at, gap *gaps)
{
    static const char list[] = "not_shown";
    size_t count = spurity_result_length(at->shown.result, list), used = 0;
    for (size_t i = 0; i < count && used < GAPS_MOST; i++) {
        double from_hz = spurity_shown_number(at->shown.result, list, i, "from_hz");
        double to_hz = spurity_shown_number(at->shown.result, list, i, "to_hz");
        if (!isfinite(from_hz) || !isfinite(to_hz) || to_hz < at->picture->from_hz || from_hz > at->picture->to_hz)
            continue;
        double from = spurity_sheet_clamped_x(at, from_hz), to = spurity_sheet_clamped_x(at, to_hz);
        if (to - from < 4) {
            from = spurity_sheet_clamp((from + to) / 2 - 2, SPURITY_PLOT_LEFT, SPURITY_PLOT_RIGHT - 4);
            to = from + 4;
        }
        gaps[used++] = (gap){i, from, to};
    }
    qsort(gaps, used, sizeof *gaps, compare_gaps);
    return used;
}

void spurity_sheet_draw_gaps(spurity_sheet *at)
{
    gap *gaps = calloc(GAPS_MOST, sizeof *gaps), drawn[HATCHES_MOST];
    gap_name taken[HATCHES_MOST];
    size_t drawn_count = 0, taken_count = 0, count = gaps ? collect_gaps(at, gaps) : 0;
    at->blocks[SPURITY_BLOCK_GAP].failed |= !gaps;
    for (size_t i = 0; i < count && drawn_count < HATCHES_MOST; i++) {
        bool covered = false;
        for (size_t k = 0; k < drawn_count; k++)
            covered |= drawn[k].from <= gaps[i].from + 0.5 && drawn[k].to >= gaps[i].to - 0.5;
        if (covered)
            continue;
        drawn[drawn_count++] = gaps[i];
        hatch_strip(at, gaps[i].from, gaps[i].to);
        name_gap(at, gaps[i].index, gaps[i].from, gaps[i].to, taken, &taken_count);
    }
    free(gaps);
}
