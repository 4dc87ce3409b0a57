/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The overlay picture as a gnuplot program: our script (plots/overlay.gp, the look) behind data blocks (what stands
 * where, in pixels of a sheet, origin at the lower left).
 *
 * Text that came from a file or an option goes only into quoted fields of data blocks, without controls
 * (spurity_plain), quotes and backslashes behind a backslash: gnuplot gives those back as they were and looks at
 * nothing else in them. Each row starts with a number, so no text can end a block. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

extern const unsigned char spurity_overlay_script[];
extern const unsigned long spurity_overlay_script_size;

/* The sheet, px. */
static const double SHEET_RIGHT = 1200, SHEET_TOP = 675;
static const double PLOT_LEFT = 64, PLOT_RIGHT = 1168, PLOT_BOTTOM = 84;
static const double LABEL_ROW = 16, STEM_TO_TEXT = 4, GAP_ROW = 14, UNIT_WIDTH = 210;
static const double BOLD = 1.08; /* how much wider bold letters run */
enum { LABELS_MOST = 14, LABEL_ROWS_MOST = 12, DOTS_MOST = 500, HATCHES_MOST = 64, CAPTION_CHARACTERS = 200 };

enum block {
    FORBIDDEN,
    HATCH,
    EDGE,
    AXIS,
    REACH,
    SWEEP,
    STEM,
    SEEN,
    BOUND,
    EXCESS,
    TITLE,
    SUBTITLE,
    CAPTION,
    TIC_X,
    TIC_Y,
    UNIT,
    GAP,
    BAN_RIGHT,
    BAN_LEFT,
    CARRIER_RIGHT,
    CARRIER_LEFT,
    LABEL_RIGHT,
    LABEL_LEFT,
    LABEL_UNDER,
    OVER_RIGHT,
    OVER_LEFT,
    OVER_UNDER,
    BLOCKS
};

static const char *const block_names[BLOCKS] = {
    [FORBIDDEN] = "forbidden",
    [HATCH] = "hatch",
    [EDGE] = "edge",
    [AXIS] = "axis",
    [REACH] = "reach",
    [SWEEP] = "sweep",
    [STEM] = "stem",
    [SEEN] = "seen",
    [BOUND] = "bound",
    [EXCESS] = "excess",
    [TITLE] = "title",
    [SUBTITLE] = "subtitle",
    [CAPTION] = "caption",
    [TIC_X] = "tic_x",
    [TIC_Y] = "tic_y",
    [UNIT] = "unit",
    [GAP] = "gap",
    [BAN_RIGHT] = "ban_right",
    [BAN_LEFT] = "ban_left",
    [CARRIER_RIGHT] = "carrier_right",
    [CARRIER_LEFT] = "carrier_left",
    [LABEL_RIGHT] = "label_right",
    [LABEL_LEFT] = "label_left",
    [OVER_RIGHT] = "over_right",
    [OVER_LEFT] = "over_left",
    [LABEL_UNDER] = "label_under",
    [OVER_UNDER] = "over_under",
};

typedef struct sheet {
    const spurity_picture *picture;
    spurity_shown shown;
    spurity_buffer blocks[BLOCKS];
    double plot_top, base;  /* px: top of the plot; bottom of the levels, with the labels' rows below */
    double low_db, high_db; /* levels at base and plot_top */
    bool relative;          /* dB from the carrier */
} sheet;

/* ---- rows ----------------------------------------------------------------------------------------------------- */

static void row2(sheet *at, enum block block, double x, double y)
{
    spurity_buffer *out = &at->blocks[block];
    spurity_buffer_fixed(out, x);
    spurity_buffer_add(out, "\t", 1);
    spurity_buffer_fixed(out, y);
    spurity_buffer_add(out, "\n", 1);
}

static void row3(sheet *at, enum block block, double x, double low, double high)
{
    spurity_buffer *out = &at->blocks[block];
    spurity_buffer_fixed(out, x);
    spurity_buffer_add(out, "\t", 1);
    spurity_buffer_fixed(out, low);
    spurity_buffer_add(out, "\t", 1);
    spurity_buffer_fixed(out, high);
    spurity_buffer_add(out, "\n", 1);
}

/* A blank row: gnuplot lifts the pen. */
static void lift(sheet *at, enum block block)
{
    spurity_buffer_add(&at->blocks[block], "\n", 1);
}

static void segment(sheet *at, enum block block, double x0, double y0, double x1, double y1)
{
    row2(at, block, x0, y0);
    row2(at, block, x1, y1);
    lift(at, block);
}

static void text(sheet *at, enum block block, double x, double y, const char *words)
{
    char plain[4 * CAPTION_CHARACTERS + 8];
    spurity_buffer *out = &at->blocks[block];
    spurity_buffer_fixed(out, x);
    spurity_buffer_add(out, "\t", 1);
    spurity_buffer_fixed(out, y);
    spurity_buffer_add(out, "\t\"", 2);
    spurity_plain(plain, sizeof plain, words, CAPTION_CHARACTERS);
    for (const char *from = plain; *from; from++) {
        if (*from == '"' || *from == '\\')
            spurity_buffer_add(out, "\\", 1);
        spurity_buffer_add(out, from, 1);
    }
    spurity_buffer_add(out, "\"\n", 2);
}

/* Width of text in px.  gnuplot measures none, and a viewer may take another face: the widths of a wide common one
 * (DejaVu Sans, units of 1/1000 em, rounded up by class). */
static double text_width(const char *words, double size)
{
    double em = 0;
    for (; *words; words++) {
        if ((*words & 0xC0) == 0x80)
            continue;
        em += strchr(" .,:;'|!()ijl", *words) ? 0.36 : strchr("mMW", *words) ? 0.98 : 0.66;
    }
    return em * size;
}

/* ---- mapping -------------------------------------------------------------------------------------------------- */

static double x_of(const sheet *at, double hz)
{
    const spurity_picture *picture = at->picture;
    double part = picture->log_axis ? log(hz / picture->from_hz) / log(picture->to_hz / picture->from_hz)
                                    : (hz - picture->from_hz) / (picture->to_hz - picture->from_hz);
    return PLOT_LEFT + part * (PLOT_RIGHT - PLOT_LEFT);
}

static double clamp(double value, double least, double most)
{
    return value < least ? least : value > most ? most : value;
}

static double clamped_x(const sheet *at, double hz)
{
    if (hz <= at->picture->from_hz) /* the logarithm of 0 Hz and below is none */
        return PLOT_LEFT;
    return clamp(x_of(at, hz), PLOT_LEFT, PLOT_RIGHT);
}

static double y_of(const sheet *at, double db)
{
    double y = at->base + (db - at->low_db) / (at->high_db - at->low_db) * (at->plot_top - at->base);
    return clamp(y, at->base, at->plot_top);
}

static double level_of(const sheet *at, const spurity_shown_emission *emission)
{
    return at->relative ? emission->level_dbc : emission->level_dbm;
}

static bool on_axis(const sheet *at, double hz)
{
    return isfinite(hz) && hz >= at->picture->from_hz && hz <= at->picture->to_hz;
}

/* "-57.8" with a true minus sign. */
static char *signed_db(char *out, size_t size, double db)
{
    char figure[32];
    spurity_format_db(figure, sizeof figure, db);
    snprintf(out, size, "%s%s", figure[0] == '-' ? "\u2212" : "", figure + (figure[0] == '-'));
    return out;
}

static int compare_doubles(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Bottom of the levels: the lowest reading, but no more than 25 dB under the middle of the column minima, so that one
 * deep notch does not flatten the rest (what is deeper is drawn at the bottom). */
static double lowest_level(const spurity_picture *picture)
{
    size_t count = 0, used = 0;
    for (size_t i = 0; i < picture->trace_count; i++)
        count += picture->traces[i].count;
    double *all = count ? malloc(count * sizeof *all) : NULL;
    if (!all)
        return -100;
    for (size_t i = 0; i < picture->trace_count; i++)
        for (size_t k = 0; k < picture->traces[i].count; k++)
            all[used++] = picture->traces[i].low_db[k];
    qsort(all, count, sizeof *all, compare_doubles);
    double low = fmax(all[0], all[count / 2] - 25);
    free(all);
    return low;
}

static void set_levels(sheet *at)
{
    const spurity_picture *picture = at->picture;
    double low = lowest_level(picture), high = low + 20;
    for (size_t i = 0; i < picture->trace_count; i++)
        for (size_t k = 0; k < picture->traces[i].count; k++)
            high = fmax(high, picture->traces[i].high_db[k]);
    for (size_t i = 0; i < picture->limit_count; i++)
        if (isfinite(picture->limit_db[i])) {
            high = fmax(high, picture->limit_db[i] + 4);
            low = fmin(low, picture->limit_db[i] - 4);
        }
    for (size_t i = 0; i < at->shown.emission_count; i++)
        if (on_axis(at, at->shown.emissions[i].frequency_hz) && isfinite(level_of(at, &at->shown.emissions[i])))
            high = fmax(high, level_of(at, &at->shown.emissions[i]));
    at->low_db = low - 0.02 * (high - low);
    at->high_db = high + 0.07 * (high - low);
}

/* ---- axes ----------------------------------------------------------------------------------------------------- */

static void tic_at(sheet *at, double hz, bool named)
{
    char words[48];
    double x = x_of(at, hz);
    segment(at, AXIS, x, PLOT_BOTTOM, x, PLOT_BOTTOM - (named ? 6 : 3));
    if (named)
        text(at, TIC_X, x, PLOT_BOTTOM - 16, spurity_format_frequency(words, sizeof words, hz, 6));
}

/* 1, 2 or 5 times a power of ten, at least `least`. */
static double nice_step(double least)
{
    double decade = pow(10, floor(log10(least)));
    return least <= decade ? decade : least <= 2 * decade ? 2 * decade : least <= 5 * decade ? 5 * decade : 10 * decade;
}

static void linear_tics(sheet *at)
{
    double span = at->picture->to_hz - at->picture->from_hz, step = nice_step(span / 9);
    for (double k = ceil(at->picture->from_hz / step - 1e-9); k * step <= at->picture->to_hz + 1e-9 * span; k++)
        tic_at(at, k * step, true);
}

/* Decades are named, then 2 and 5 of each where there is room. */
static void log_tics(sheet *at)
{
    double ratio = at->picture->to_hz / at->picture->from_hz;
    double decade_px = (PLOT_RIGHT - PLOT_LEFT) / log10(ratio);
    for (double decade = pow(10, floor(log10(at->picture->from_hz))); decade <= at->picture->to_hz; decade *= 10)
        for (int digit = 1; digit <= 9; digit++) {
            double hz = round(decade * digit * 1e3) / 1e3;
            bool named = digit == 1 || (decade_px > 260 && (digit == 2 || digit == 5));
            if (on_axis(at, hz) && (decade_px > 60 || digit == 1))
                tic_at(at, hz, named);
        }
}

static void draw_axes(sheet *at)
{
    segment(at, AXIS, PLOT_LEFT, PLOT_BOTTOM, PLOT_RIGHT, PLOT_BOTTOM);
    segment(at, AXIS, PLOT_LEFT, at->base, PLOT_LEFT, at->plot_top);
    if (at->picture->log_axis)
        log_tics(at);
    else
        linear_tics(at);
    double step = nice_step((at->high_db - at->low_db) / 8);
    for (double k = ceil(at->low_db / step); k * step <= at->high_db; k++) {
        char words[40];
        double y = y_of(at, k * step);
        signed_db(words, sizeof words, k * step);
        words[strcspn(words, ".")] = step >= 1 ? '\0' : '.';
        segment(at, AXIS, PLOT_LEFT - 5, y, PLOT_LEFT, y);
        text(at, TIC_Y, PLOT_LEFT - 9, y, words);
    }
    text(at, UNIT, 24, at->plot_top + 14, at->relative ? "dB from the carrier" : "dBm at the antenna terminal");
}

/* ---- the sweep and what is forbidden ---------------------------------------------------------------------------- */

static void draw_sweep(sheet *at)
{
    for (size_t i = 0; i < at->picture->trace_count; i++) {
        const spurity_picture_line *line = &at->picture->traces[i];
        for (size_t k = 0; k < line->count; k++)
            row3(at, SWEEP, x_of(at, line->frequency_hz[k]), y_of(at, line->low_db[k]), y_of(at, line->high_db[k]));
        lift(at, SWEEP);
    }
}

/* The widest stretch with a limit, for its caption. */
typedef struct run {
    double from, to, y; /* px; y = highest edge in it */
} run;

/* The place beside the carrier where nothing is forbidden is often thinner than a line: at least this wide, px, it
 * stays white, so that the carrier is not drawn as if it stood in the forbidden region. */
static const double CARRIER_GAP = 5;

static double off_carrier(const sheet *at, double x, double hz)
{
    if (!on_axis(at, at->picture->carrier_hz))
        return x;
    double carrier = x_of(at, at->picture->carrier_hz);
    if (fabs(x - carrier) >= CARRIER_GAP)
        return x;
    return hz < at->picture->carrier_hz ? carrier - CARRIER_GAP : carrier + CARRIER_GAP;
}

/* Points first..last-1 of the limit, all with a figure. */
static run draw_run(sheet *at, size_t first, size_t last)
{
    const spurity_picture *picture = at->picture;
    run drawn = {off_carrier(at, x_of(at, picture->limit_hz[first]), picture->limit_hz[first]), 0, 0};
    double x = drawn.from, y = 0;
    if (x > PLOT_LEFT + 1)
        row2(at, EDGE, x, at->plot_top);
    for (size_t i = first; i < last; i++) {
        x = fmax(x, off_carrier(at, x_of(at, picture->limit_hz[i]), picture->limit_hz[i]));
        y = y_of(at, picture->limit_db[i]);
        row2(at, EDGE, x, y);
        row3(at, FORBIDDEN, x, y, at->plot_top);
        drawn.y = fmax(drawn.y, y);
    }
    if (x < PLOT_RIGHT - 1)
        row2(at, EDGE, x, at->plot_top);
    lift(at, EDGE);
    lift(at, FORBIDDEN);
    drawn.to = x;
    return drawn;
}

/* Names of the clauses that were judged in dBm or dBc, for the caption of the region. */
static void forbidding_clauses(const sheet *at, char *words, size_t size)
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

static bool text_meets_emission(const sheet *at, double from, double to, double y)
{
    for (size_t i = 0; i < at->shown.emission_count && i < DOTS_MOST; i++) {
        const spurity_shown_emission *one = &at->shown.emissions[i];
        if (!on_axis(at, one->frequency_hz) || !isfinite(level_of(at, one)))
            continue;
        double x = x_of(at, one->frequency_hz);
        if (x > from - 6 && x < to + 6 && y_of(at, level_of(at, one)) > y - 12)
            return true;
    }
    double carrier = on_axis(at, at->picture->carrier_hz) ? x_of(at, at->picture->carrier_hz) : -1000;
    return carrier > from - 12 && carrier < to + 12;
}

/* At an end of the run, or, where a line stands there, at the other; else further up and away. */
static void name_region(sheet *at, run widest)
{
    char words[160];
    forbidding_clauses(at, words, sizeof words);
    double width = text_width(words, 10.5), y = widest.y + 11;
    if (widest.to - widest.from < width + 20)
        return;
    if (y > at->plot_top - 8)
        y = at->plot_top - 8;
    bool left_taken = text_meets_emission(at, widest.from + 8, widest.from + 8 + width, y);
    bool right_taken = text_meets_emission(at, widest.to - 8 - width, widest.to - 8, y);
    if (left_taken && !right_taken)
        text(at, BAN_LEFT, widest.to - 8, y, words);
    else
        text(at, BAN_RIGHT, widest.from + 8, left_taken ? at->plot_top - 12 : y, words);
}

static void draw_limit(sheet *at)
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

/* ---- what was not shown ------------------------------------------------------------------------------------------ */

static void hatch_strip(sheet *at, double from, double to)
{
    const double step = 8; /* px, up to the right; all strips share one raster */
    for (double k = floor((at->base - to) / step); k * step < at->plot_top - from; k++) {
        double x0 = fmax(from, at->base - k * step), x1 = fmin(to, at->plot_top - k * step);
        if (x0 < x1)
            segment(at, HATCH, x0, x0 + k * step, x1, x1 + k * step);
    }
    segment(at, HATCH, from, at->base, from, at->plot_top);
    segment(at, HATCH, to, at->base, to, at->plot_top);
}

typedef struct gap_name {
    double from, to; /* px, with air */
    int row;
} gap_name;

static void gap_words(const sheet *at, size_t index, char *words, size_t size)
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
static void name_gap(sheet *at, size_t index, double from, double to, gap_name *taken, size_t *taken_count)
{
    char words[200];
    gap_words(at, index, words, sizeof words);
    double half = text_width(words, 10) / 2;
    double middle = clamp((from + to) / 2, UNIT_WIDTH + half, PLOT_RIGHT - half);
    gap_name name = {middle - half - 7, middle + half + 7, 0};
    for (size_t i = 0; i < *taken_count; i++) {
        if (name.row != taken[i].row || name.to < taken[i].from || name.from > taken[i].to)
            continue;
        if (name.row++)
            return;
        i = (size_t)-1; /* the next row from its start */
    }
    taken[(*taken_count)++] = name;
    text(at, GAP, middle, at->plot_top + 14 + GAP_ROW * name.row, words);
}

static void draw_gaps(sheet *at)
{
    size_t count = spurity_result_length(at->shown.result, "not_shown");
    double drawn[2 * HATCHES_MOST];
    gap_name taken[HATCHES_MOST];
    size_t drawn_count = 0, taken_count = 0;
    for (size_t i = 0; i < count && drawn_count < HATCHES_MOST; i++) {
        double from_hz = spurity_shown_number(at->shown.result, "not_shown", i, "from_hz");
        double to_hz = spurity_shown_number(at->shown.result, "not_shown", i, "to_hz");
        if (!isfinite(from_hz) || !isfinite(to_hz) || to_hz < at->picture->from_hz || from_hz > at->picture->to_hz)
            continue;
        double from = clamped_x(at, from_hz), to = clamped_x(at, to_hz);
        if (to - from < 4) { /* seen even where it is thinner than a line */
            from = clamp((from + to) / 2 - 2, PLOT_LEFT, PLOT_RIGHT - 4);
            to = from + 4;
        }
        bool covered = false;
        for (size_t k = 0; k < drawn_count; k++)
            covered |= drawn[2 * k] <= from + 0.5 && drawn[2 * k + 1] >= to - 0.5;
        if (covered)
            continue;
        drawn[2 * drawn_count] = from;
        drawn[2 * drawn_count++ + 1] = to;
        hatch_strip(at, from, to);
        name_gap(at, i, from, to, taken, &taken_count);
    }
}

/* ---- emissions ----------------------------------------------------------------------------------------------------
 */

typedef struct candidate {
    size_t emission;
    int rank;
    double margin, x;
} candidate;

/* Worst first. */
static int compare_worth(const void *a, const void *b)
{
    const candidate *x = a, *y = b;
    if (x->rank != y->rank)
        return y->rank - x->rank;
    return (x->margin > y->margin) - (x->margin < y->margin);
}

static int compare_place(const void *a, const void *b)
{
    const candidate *x = a, *y = b;
    return (x->x > y->x) - (x->x < y->x);
}

static const spurity_shown_judgement *judgement_of(const sheet *at, size_t emission)
{
    long index = at->shown.emissions[emission].judgement;
    return index < 0 ? NULL : &at->shown.judgements[index];
}

/* "H2 -57.8 dBc", "312.4 MHz -61.0 dBc", "+12.5 kHz ..." beside the carrier; a bound carries its sign. */
static void level_words(const sheet *at, size_t index, char *words, size_t size)
{
    const spurity_shown_emission *one = &at->shown.emissions[index];
    char name[64], level[40];
    double offset = one->frequency_hz - at->picture->carrier_hz;
    if (!strcmp(one->kind, "close-in") && isfinite(offset)) {
        spurity_word_frequency(fabs(offset), true, level, sizeof level);
        snprintf(name, sizeof name, "%s%s", offset < 0 ? "\u2212" : "+", level);
    } else if (!strcmp(one->kind, "harmonic") || !strcmp(one->kind, "subharmonic")) {
        spurity_word_emission(one, name, sizeof name);
    } else {
        spurity_word_frequency(one->frequency_hz, false, name, sizeof name);
    }
    bool relative = isfinite(one->level_dbc);
    signed_db(level, sizeof level, relative ? one->level_dbc : one->level_dbm);
    snprintf(words, size, "%s %s%s %s", name, one->seen ? "" : "\u2264 ", level, relative ? "dBc" : "dBm");
}

static void margin_words(const sheet *at, size_t index, char *words, size_t size)
{
    const spurity_shown_judgement *one = judgement_of(at, index);
    if (!at->shown.judged) {
        spurity_word_frequency(at->shown.emissions[index].frequency_hz, false, words, size);
        return;
    }
    if (!one) {
        snprintf(words, size, "not judged");
        return;
    }
    if (one->rank == 2 || one->rank == 3 || !isfinite(one->margin)) {
        spurity_plain(words, size, one->outcome, 24);
        return;
    }
    char margin[64];
    bool conditional = one->rank == 1 || one->rank == 4;
    snprintf(words, size, "%s%s", spurity_word_margin(one, margin, sizeof margin), conditional ? ", within U" : "");
}

/* The worst LABELS_MOST become candidates for a label, sorted by place; *drawn gets how many have a place at all. */
static size_t choose(const sheet *at, candidate *chosen, size_t *drawn)
{
    size_t count = 0, total = at->shown.emission_count;
    candidate *all = calloc(total + 1, sizeof *all);
    if (!all)
        return 0;
    for (size_t i = 0; i < total; i++) {
        const spurity_shown_emission *one = &at->shown.emissions[i];
        const spurity_shown_judgement *judged = judgement_of(at, i);
        if (!on_axis(at, one->frequency_hz) || !isfinite(level_of(at, one)))
            continue;
        double closeness = judged && isfinite(judged->margin) ? judged->margin : 500 - level_of(at, one);
        all[count++] = (candidate){i, judged ? judged->rank : -1, closeness, x_of(at, one->frequency_hz)};
    }
    qsort(all, count, sizeof *all, compare_worth);
    *drawn = count;
    count = count < LABELS_MOST ? count : LABELS_MOST;
    memcpy(chosen, all, count * sizeof *all);
    free(all);
    for (size_t i = 0; i < count; i++) /* from here on the place among the worst is what counts */
        chosen[i].rank = chosen[i].rank >= 4 ? 1000 : (int)(2 * (LABELS_MOST - i));
    qsort(chosen, count, sizeof *chosen, compare_place);
    return count;
}

static bool is_over(const sheet *at, size_t emission)
{
    const spurity_shown_judgement *judged = judgement_of(at, emission);
    return judged && judged->rank >= 4;
}

/* A dot for every emission, worst first where there are too many. */
static void draw_dots(sheet *at)
{
    size_t drawn = 0;
    for (int least = 4; least >= 0; least -= 4)
        for (size_t i = 0; i < at->shown.emission_count && drawn < DOTS_MOST; i++) {
            const spurity_shown_emission *one = &at->shown.emissions[i];
            bool over = is_over(at, i);
            if (over != (least > 0) || !on_axis(at, one->frequency_hz) || !isfinite(level_of(at, one)))
                continue;
            row2(at,
                 over        ? EXCESS
                 : one->seen ? SEEN
                             : BOUND,
                 x_of(at, one->frequency_hz), y_of(at, level_of(at, one)));
            drawn++;
        }
}

/* "H2 -57.8 dBc, 4.6 dB clear". */
static void label_words(const sheet *at, size_t index, char *words, size_t size)
{
    char level[128], margin[128];
    level_words(at, index, level, sizeof level);
    margin_words(at, index, margin, sizeof margin);
    snprintf(words, size, "%s, %s", level, margin);
}

/* Rows of the labels decide where the levels begin, so their places come first. */
static int place_labels(const sheet *at, const candidate *chosen, size_t count, spurity_label *labels)
{
    for (size_t i = 0; i < count; i++) {
        char words[260];
        label_words(at, chosen[i].emission, words, sizeof words);
        double width = text_width(words, 10.5) * (is_over(at, chosen[i].emission) ? BOLD : 1);
        labels[i] = (spurity_label){.x = chosen[i].x, .width = width, .weight = chosen[i].rank};
    }
    return spurity_labels_place(labels, count, 8, SHEET_RIGHT - 8, LABEL_ROWS_MOST);
}

static void draw_label(sheet *at, const candidate *chosen, const spurity_label *label)
{
    char words[260];
    label_words(at, chosen->emission, words, sizeof words);
    const spurity_shown_emission *one = &at->shown.emissions[chosen->emission];
    const spurity_shown_judgement *judged = judgement_of(at, chosen->emission);
    double level = level_of(at, one), y = y_of(at, level), middle = at->base - 14 - LABEL_ROW * label->row;
    static const enum block sides[2][3] = {{LABEL_LEFT, LABEL_UNDER, LABEL_RIGHT}, {OVER_LEFT, OVER_UNDER, OVER_RIGHT}};
    enum block block = sides[is_over(at, chosen->emission)][label->side + 1];
    segment(at, STEM, label->x, y, label->x, label->side ? middle - 5 : middle + 7);
    text(at, block, label->x + STEM_TO_TEXT * label->side, middle, words);
    if (!judged || !(judged->margin > 0) || strcmp(judged->unit, "Hz") == 0)
        return;
    double edge = y_of(at, level + judged->margin);
    if (edge - y > 8)
        segment(at, REACH, label->x, y + 5, label->x, edge);
}

static void draw_carrier(sheet *at)
{
    char words[200], power[40], level[40];
    double dbm = NAN, hz = at->picture->carrier_hz;
    if (!on_axis(at, hz) || !spurity_result_true(at->shown.result, "carrier/seen"))
        return;
    bool known = spurity_result_number(at->shown.result, "carrier/level_dbm", &dbm);
    spurity_word_frequency(hz, true, power, sizeof power);
    snprintf(words, sizeof words, known ? "carrier %s, %s dBm" : "carrier %s", power,
             signed_db(level, sizeof level, dbm));
    double x = x_of(at, hz), y = y_of(at, at->relative ? 0 : dbm);
    bool right = x + 16 + text_width(words, 11) * BOLD < PLOT_RIGHT;
    text(at, right ? CARRIER_RIGHT : CARRIER_LEFT, right ? x + 10 : x - 10, y - 4, words);
}

/* ---- words around the plot ------------------------------------------------------------------------------------------
 */

/* Cuts words to a width, px. */
static void shorten(char *words, double size, double width)
{
    size_t characters = spurity_characters(words);
    char cut[4 * CAPTION_CHARACTERS + 8];
    while (characters > 8 && text_width(words, size) > width) {
        characters -= 1 + (size_t)((text_width(words, size) - width) / size);
        snprintf(words, strlen(words) + 1, "%s", spurity_plain(cut, sizeof cut, words, characters));
    }
}

/* The headline over one line or two; returns how many. */
static int draw_title(sheet *at)
{
    const char *headline = spurity_result_text(at->shown.result, "headline");
    char words[4 * CAPTION_CHARACTERS + 8];
    const double size = 17 * BOLD, width = SHEET_RIGHT - 48;
    spurity_plain(words, sizeof words, headline ? headline : "Measured, not judged", CAPTION_CHARACTERS);
    size_t end = 0;
    for (size_t i = 0; words[i]; i++) {
        char kept = words[i];
        words[i] = '\0';
        if (kept == ' ' && text_width(words, size) <= width)
            end = i;
        words[i] = kept;
    }
    if (text_width(words, size) <= width || !end) {
        shorten(words, size, width);
        text(at, TITLE, 24, SHEET_TOP - 28, words);
        return 1;
    }
    words[end] = '\0';
    text(at, TITLE, 24, SHEET_TOP - 28, words);
    shorten(words + end + 1, size, width);
    text(at, TITLE, 24, SHEET_TOP - 51, words + end + 1);
    return 2;
}

static void append(char *words, size_t size, const char *more)
{
    size_t used = strlen(words);
    snprintf(words + used, size - used, "%s", more);
}

static void draw_subtitle(sheet *at, double y)
{
    char words[900] = "", part[300], frequency[48], power[48];
    const spurity_result *result = at->shown.result;
    double hz, watts, expanded;
    if (spurity_result_number(result, "carrier/frequency_hz", &hz))
        append(words, sizeof words, spurity_word_frequency(hz, true, frequency, sizeof frequency));
    if (spurity_result_number(result, "carrier/power_w", &watts)) {
        snprintf(part, sizeof part, ", %s", spurity_format_power(power, sizeof power, watts));
        append(words, sizeof words, part);
        if (spurity_result_number(result, "carrier/uncertainty_db", &expanded)) {
            snprintf(part, sizeof part, " \u00b1%s dB", spurity_format_db(power, sizeof power, expanded));
            append(words, sizeof words, part);
        }
        const char *source = spurity_result_text(result, "carrier/source");
        append(words, sizeof words, source && !strcmp(source, "power meter") ? " by power meter" : " by the sweep");
    }
    for (size_t i = 0; i < spurity_result_length(result, "verdicts") && i < 3; i++) {
        char path[40];
        snprintf(path, sizeof path, "verdicts/%zu/rules", i);
        const char *title = spurity_shown_text(result, "verdicts", i, "rules/title");
        const char *edition = spurity_shown_text(result, "verdicts", i, "rules/edition");
        snprintf(part, sizeof part, "   \u00b7   %.120s, %.120s", title, edition);
        append(words, sizeof words, part);
    }
    shorten(words, 11.5, SHEET_RIGHT - 48);
    text(at, SUBTITLE, 24, y, words);
}

/* "f0.csv behind pad 40 dB; h2.csv direct". */
static void inputs_words(const sheet *at, char *words, size_t size)
{
    const spurity_result *result = at->shown.result;
    words[0] = '\0';
    for (size_t i = 0; i < spurity_result_length(result, "inputs") && strlen(words) + 300 < size; i++) {
        char path[40], part[280], name[200];
        if (strcmp(spurity_shown_text(result, "inputs", i, "kind"), "loss") == 0)
            continue;
        const char *file = spurity_shown_text(result, "inputs", i, "file"), *slash = strrchr(file, '/');
        const char *title = spurity_shown_text(result, "inputs", i, "title");
        spurity_plain(name, sizeof name, slash && slash[1] ? slash + 1 : file, 40);
        snprintf(part, sizeof part, "%s%s", words[0] ? "   \u00b7   " : "",
                 strcmp(name, "-") ? name : "standard input");
        append(words, size, part);
        if (title[0]) {
            snprintf(part, sizeof part, " (%s)", spurity_plain(name, sizeof name, title, 40));
            append(words, size, part);
        }
        snprintf(path, sizeof path, "inputs/%zu/chain", i);
        for (size_t k = 0; k < spurity_result_length(result, path) && k < 3; k++) {
            snprintf(path, sizeof path, "inputs/%zu/chain/%zu", i, k);
            const char *element = spurity_result_text(result, path);
            snprintf(part, sizeof part, ", %s", spurity_plain(name, sizeof name, element, 48));
            append(words, size, part);
            snprintf(path, sizeof path, "inputs/%zu/chain", i);
        }
    }
}

static void draw_captions(sheet *at, size_t left_out)
{
    char words[1500], more[80];
    inputs_words(at, words, sizeof words);
    shorten(words, 10, SHEET_RIGHT - 48);
    text(at, CAPTION, 24, 36, words);
    const char *tool = spurity_result_text(at->shown.result, "tool");
    snprintf(words, sizeof words,
             "line: highest reading, band down to the lowest%s   \u00b7   dot: seen, triangle: at most%s",
             at->picture->limit_count ? "   \u00b7   shaded: forbidden" : "",
             spurity_result_length(at->shown.result, "not_shown") ? "   \u00b7   hatched: not shown" : "");
    snprintf(more, sizeof more, "   \u00b7   %zu more without a label", left_out);
    append(words, sizeof words, left_out ? more : "");
    append(words, sizeof words, at->shown.judged ? "   \u00b7   no certification   \u00b7   " : "   \u00b7   ");
    append(words, sizeof words, tool ? tool : "");
    shorten(words, 10, SHEET_RIGHT - 48);
    text(at, CAPTION, 24, 18, words);
}

/* ---- the whole ------------------------------------------------------------------------------------------------------
 */

static void draw(sheet *at)
{
    candidate chosen[LABELS_MOST];
    spurity_label labels[LABELS_MOST];
    double below_title = SHEET_TOP - 28 - 23 * draw_title(at);
    draw_subtitle(at, below_title);
    at->plot_top = below_title - 40 - (spurity_result_length(at->shown.result, "not_shown") > 1 ? GAP_ROW : 0);
    at->relative = strcmp(at->picture->unit, "dBc") == 0;
    at->base = PLOT_BOTTOM;
    set_levels(at);
    size_t drawn = 0, labelled = 0, count = choose(at, chosen, &drawn);
    int rows = place_labels(at, chosen, count, labels);
    at->base = PLOT_BOTTOM + (rows ? 12 + LABEL_ROW * rows : 0);
    draw_axes(at);
    draw_limit(at);
    draw_gaps(at);
    draw_sweep(at);
    draw_dots(at);
    draw_carrier(at);
    for (size_t i = 0; i < count; i++)
        if (labels[i].row >= 0) {
            draw_label(at, &chosen[i], &labels[i]);
            labelled++;
        }
    draw_captions(at, drawn - labelled);
}

/* Every block holds a row off the sheet: gnuplot takes an empty one for a fault. */
static void write_block(spurity_buffer *program, const char *name, const spurity_buffer *rows)
{
    spurity_buffer_text(program, "$");
    spurity_buffer_text(program, name);
    spurity_buffer_text(program, " << SPURITY_END\n-9000\t-9000\t-9000\n\n");
    if (rows->size)
        spurity_buffer_add(program, rows->data, rows->size);
    spurity_buffer_text(program, "SPURITY_END\n");
    program->failed |= rows->failed;
}

spurity_status spurity_picture_program(const spurity_result *result, const char *kind, spurity_buffer *program,
                                       spurity_error *error)
{
    sheet at = {.picture = spurity_result_picture(result)};
    if (!at.picture)
        return spurity_report(error, SPURITY_INCOMPLETE, (spurity_place){0}, "a result without its sweep", NULL,
                              "draw the picture in the run that measures");
    spurity_status status = spurity_shown_load(result, &at.shown, error);
    if (status)
        return status;
    draw(&at);
    spurity_buffer_text(program, "kind = '");
    spurity_buffer_text(program, kind);
    spurity_buffer_text(program, "'\noutcome = ");
    spurity_buffer_fixed(program, at.shown.judged ? spurity_outcome_rank(spurity_result_text(result, "verdict")) : 0);
    spurity_buffer_text(program, "\n");
    for (int block = 0; block < BLOCKS; block++)
        write_block(program, block_names[block], &at.blocks[block]);
    spurity_buffer_add(program, (const char *)spurity_overlay_script, spurity_overlay_script_size);
    status = program->failed ? spurity_report_memory(error) : SPURITY_OK;
    for (int block = 0; block < BLOCKS; block++)
        spurity_buffer_release(&at.blocks[block]);
    spurity_shown_release(&at.shown);
    return status;
}
