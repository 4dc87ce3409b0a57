/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The picture of what a set of rules allows one transmitter: the whole range to be looked through, and beside it, where
 * a mask binds, what is close to the carrier.  plots/limits.gp is the look; the blocks are those of a sheet. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "limits.h"
#include "sheet.h"

extern const unsigned char spurity_limits_script[];
extern const unsigned long spurity_limits_script_size;

static const double SOLO_RIGHT = 1104, PLOT_TOP = 572, CAPTION_ROW = 15, CARRIER_GAP = 5, FIGURE = 10.5; /* px */

/* ---- places -------------------------------------------------------------------------------------- */

static double panel_x(const spurity_limits_panel *panel, double hz)
{
    double part = panel->log_axis ? log(fmax(hz, panel->from_hz) / panel->from_hz) / log(panel->to_hz / panel->from_hz)
                                  : (hz - panel->from_hz) / (panel->to_hz - panel->from_hz);
    return spurity_sheet_clamp(panel->left + part * (panel->right - panel->left), panel->left, panel->right);
}

static double level_y(const spurity_limits *at, double dbm)
{
    double y = at->sheet.base + (dbm - at->low_dbm) / (at->high_dbm - at->low_dbm) * (PLOT_TOP - at->sheet.base);
    return spurity_sheet_clamp(y, at->sheet.base, PLOT_TOP);
}

/* On the wide axis what is free beside the carrier is thinner than a line: it stays white for 5 px at least. */
static double edge_x(const spurity_limits *at, const spurity_limits_panel *panel, double hz)
{
    double x = panel_x(panel, hz), carrier = panel_x(panel, at->carrier_hz);
    if (!panel->log_axis || fabs(x - carrier) >= CARRIER_GAP)
        return x;
    return hz < at->carrier_hz ? carrier - CARRIER_GAP : carrier + CARRIER_GAP;
}

/* ---- stretches between what changes -------------------------------------------------------------- */

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/** Ends of all rows of all cases inside the panel, with its own ends, rising; NULL when memory is out. */
static double *panel_ends(const spurity_limits *at, const spurity_limits_panel *panel, size_t *count)
{
    size_t room = 2, used = 0, kept = 1;
    for (size_t c = 0; c < at->cases; c++)
        room += 2 * spurity_allowance_case(at->allowance, c)->row_count;
    double *ends = malloc(room * sizeof *ends);
    if (!ends)
        return NULL;
    ends[used++] = panel->from_hz;
    ends[used++] = panel->to_hz;
    for (size_t c = 0; c < at->cases; c++) {
        const spurity_allowed_case *one = spurity_allowance_case(at->allowance, c);
        for (size_t i = 0; i < one->row_count; i++) {
            double both[2] = {one->rows[i].from_hz, one->rows[i].to_hz};
            for (int k = 0; k < 2; k++)
                if (both[k] > panel->from_hz && both[k] < panel->to_hz)
                    ends[used++] = both[k];
        }
    }
    qsort(ends, used, sizeof *ends, by_value);
    for (size_t i = 1; i < used; i++)
        if (ends[i] - ends[kept - 1] > 1e-3)
            ends[kept++] = ends[i];
    *count = kept;
    return ends;
}

enum { EVERY_CASE = -1 };

/** Allowed in one case; for EVERY_CASE the most lenient of them, false where one of them sets nothing. */
static bool allowed(const spurity_limits *at, int which, double hz, double *dbm)
{
    if (which != EVERY_CASE)
        return spurity_allowance_at(at->allowance, (size_t)which, hz, dbm, NULL);
    *dbm = -INFINITY;
    for (size_t c = 0; c < at->cases; c++) {
        double one;
        if (!spurity_allowance_at(at->allowance, c, hz, &one, NULL))
            return false;
        *dbm = fmax(*dbm, one);
    }
    return true;
}

static bool any_case_allows(const spurity_limits *at, double hz)
{
    double dbm;
    for (size_t c = 0; c < at->cases; c++)
        if (spurity_allowance_at(at->allowance, c, hz, &dbm, NULL))
            return true;
    return false;
}

/* Point `index` of `count` of a stretch, a little inside its ends. */
static double point_of(const spurity_limits_panel *panel, double from, double to, int index, int count)
{
    double part = (double)index / (count - 1), inside = fmin(1e-4, (to - from) / 4);
    double hz = panel->log_axis && from > 0 ? from * pow(to / from, part) : from + part * (to - from);
    return spurity_sheet_clamp(hz, from + inside, to - inside);
}

/** Draws one stretch as an edge (block of the case's line) or as the region over it. */
static void draw_stretch(spurity_limits *at, const spurity_limits_panel *panel, int which, spurity_block block,
                         double from, double to)
{
    enum { POINTS = 60 };
    double first, last, middle;
    bool flat = allowed(at, which, point_of(panel, from, to, 0, 3), &first) &&
                allowed(at, which, point_of(panel, from, to, 1, 3), &middle) &&
                allowed(at, which, point_of(panel, from, to, 2, 3), &last) && fabs(first - last) < 1e-3 &&
                fabs(first - middle) < 1e-3;
    int count = flat ? 2 : POINTS;
    for (int i = 0; i < count; i++) {
        double dbm, hz = point_of(panel, from, to, i, count);
        if (!allowed(at, which, hz, &dbm))
            continue;
        double x = edge_x(at, panel, i == 0 ? from : i == count - 1 ? to : hz);
        if (which == EVERY_CASE)
            spurity_sheet_row3(&at->sheet, block, x, level_y(at, dbm), PLOT_TOP);
        else
            spurity_sheet_row2(&at->sheet, block, x, level_y(at, dbm));
    }
}

/* Stretches of a case (or of all) one after the other; where nothing is set the pen is lifted, and an edge closes
 * upward so that the region has its sides. */
static void draw_line(spurity_limits *at, const spurity_limits_panel *panel, const double *ends, size_t count,
                      int which, spurity_block block)
{
    bool open = false;
    for (size_t i = 1; i < count; i++) {
        double dbm, from = ends[i - 1], to = ends[i];
        bool set = allowed(at, which, from + (to - from) / 2, &dbm);
        bool hidden = panel->log_axis && panel_x(panel, to) - panel_x(panel, from) < 1 &&
                      fabs(panel_x(panel, from) - panel_x(panel, at->carrier_hz)) < CARRIER_GAP;
        if (hidden)
            set = false;
        if (set && !open && which != EVERY_CASE && panel_x(panel, from) > panel->left + 1)
            spurity_sheet_row2(&at->sheet, block, edge_x(at, panel, from), PLOT_TOP);
        if (set)
            draw_stretch(at, panel, which, block, from, to);
        if (!set && open) {
            if (which != EVERY_CASE)
                spurity_sheet_row2(&at->sheet, block, edge_x(at, panel, from), PLOT_TOP);
            spurity_sheet_lift(&at->sheet, block);
        }
        open = set;
    }
    spurity_sheet_lift(&at->sheet, block);
}

/* ---- what no clause sets ------------------------------------------------------------------------- */

static void hatch(spurity_limits *at, double from, double to)
{
    const double step = 8; /* px, up to the right; all strips share one raster */
    double base = at->sheet.base;
    for (double k = floor((base - to) / step); k * step < PLOT_TOP - from; k++) {
        double x0 = fmax(from, base - k * step), x1 = fmin(to, PLOT_TOP - k * step);
        if (x0 < x1)
            spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_HATCH, x0, x0 + k * step, x1, x1 + k * step);
    }
}

static void draw_free(spurity_limits *at, const spurity_limits_panel *panel, const double *ends, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        double from = ends[i - 1];
        while (i < count && !any_case_allows(at, ends[i - 1] + (ends[i] - ends[i - 1]) / 2))
            i++;
        double left = panel_x(panel, from), right = panel_x(panel, ends[i - 1]);
        if (right - left < 3)
            continue;
        hatch(at, left, right);
        at->hatched = true;
    }
}

/* ---- axes ---------------------------------------------------------------------------------------- */

static double nice_step(double least)
{
    double decade = pow(10, floor(log10(least)));
    return least <= decade ? decade : least <= 2 * decade ? 2 * decade : least <= 5 * decade ? 5 * decade : 10 * decade;
}

static void tic(spurity_limits *at, double x, const char *words)
{
    double base = at->sheet.base;
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, x, base, x, base - (words ? 6 : 3));
    if (words)
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_TIC_X, x, base - 16, words);
}

static void log_tics(spurity_limits *at, const spurity_limits_panel *panel)
{
    double decade_px = (panel->right - panel->left) / log10(panel->to_hz / panel->from_hz);
    for (double decade = pow(10, floor(log10(panel->from_hz))); decade <= panel->to_hz; decade *= 10)
        for (int digit = 1; digit <= 9; digit++) {
            char words[48];
            double hz = decade * digit;
            bool named = digit == 1 || (decade_px > 200 && (digit == 2 || digit == 5));
            if (hz >= panel->from_hz && hz <= panel->to_hz)
                tic(at, panel_x(panel, hz), named ? spurity_format_frequency(words, sizeof words, hz, 6) : NULL);
        }
}

static void offset_tics(spurity_limits *at, const spurity_limits_panel *panel)
{
    double half = (panel->to_hz - panel->from_hz) / 2, step = nice_step(half / 3.5);
    for (double k = -floor(half / step); k * step <= half; k++) {
        char words[60], distance[48];
        spurity_format_frequency(distance, sizeof distance, fabs(k * step), 6);
        snprintf(words, sizeof words, "%s%s", k < 0 ? "\u2212" : "+", distance);
        bool centre = fabs(k) < 0.5;
        tic(at, panel_x(panel, panel->from_hz + half + k * step),
            centre ? spurity_format_frequency(distance, sizeof distance, panel->from_hz + half, 6) : words);
    }
}

static void level_tics(spurity_limits *at, const spurity_limits_panel *panel, bool watts)
{
    double step = at->high_dbm - at->low_dbm > 110 ? 20 : 10;
    for (double k = ceil(at->low_dbm / step); k * step <= at->high_dbm; k++) {
        char words[60], power[48];
        double y = level_y(at, k * step);
        snprintf(words, sizeof words, "%s%.0f", k < 0 ? "\u2212" : "", fabs(k * step));
        spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->left - 5, y, panel->left, y);
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_TIC_Y, panel->left - 9, y, words);
        if (!watts)
            continue;
        spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->right, y, panel->right + 5, y);
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_UNIT, panel->right + 9, y,
                           spurity_format_power(power, sizeof power, spurity_watts_from_dbm(k * step)));
    }
}

static void draw_axes(spurity_limits *at, const spurity_limits_panel *panel, bool last)
{
    double base = at->sheet.base;
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->left, base, panel->right, base);
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->left, base, panel->left, PLOT_TOP);
    if (last)
        spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->right, base, panel->right, PLOT_TOP);
    if (panel->log_axis)
        log_tics(at, panel);
    else
        offset_tics(at, panel);
    level_tics(at, panel, last);
    spurity_sheet_text(&at->sheet, SPURITY_BLOCK_UNIT, panel->left - 40, PLOT_TOP + 14,
                       panel->log_axis ? "dBm at the antenna terminal" : "dBm, close to the carrier");
}

/* Harmonics as quiet ticks on the foot of the wide panel, named where there is room. */
static void draw_harmonics(spurity_limits *at, const spurity_limits_panel *panel)
{
    double named_x = -100, base = at->sheet.base;
    for (int order = 2; order * at->carrier_hz <= panel->to_hz * (1 + 1e-9) && order <= 1000; order++) {
        char words[16];
        double x = panel_x(panel, order * at->carrier_hz);
        if (order > 10 && x - named_x < 2)
            break;
        spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_STEM, x, base, x, base + 9);
        snprintf(words, sizeof words, "H%d", order);
        if (x - named_x < spurity_sheet_text_width(words, 10) + 4)
            continue;
        named_x = x;
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_GAP, x, base + 17, words);
    }
}

static void draw_carrier(spurity_limits *at, const spurity_limits_panel *panel)
{
    char words[120] = "carrier", power[48];
    double x = panel_x(panel, at->carrier_hz);
    bool known = isfinite(at->carrier_dbm);
    double y = known ? level_y(at, at->carrier_dbm) : PLOT_TOP;
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_SEEN, x, at->sheet.base, x, y);
    if (known)
        snprintf(words, sizeof words, "carrier %s",
                 spurity_format_power(power, sizeof power, spurity_watts_from_dbm(at->carrier_dbm)));
    bool left = x + 8 + spurity_sheet_text_width(words, 11) * SPURITY_BOLD > panel->right;
    spurity_sheet_text(&at->sheet, left ? SPURITY_BLOCK_CARRIER_LEFT : SPURITY_BLOCK_CARRIER_RIGHT, x + (left ? -8 : 8),
                       fmin(y, PLOT_TOP - 8), words);
}

/* ---- names of what decides ----------------------------------------------------------------------- */

/** Index of the line a row belongs to, added when new; SPURITY_LIMITS_LINES_MOST when there are too many. */
static size_t line_of(spurity_limits *at, const spurity_allowed *row)
{
    for (size_t i = 0; i < at->line_count; i++)
        if (at->lines[i].clause == row->clause && at->lines[i].leaf == row->leaf)
            return i;
    if (at->line_count == SPURITY_LIMITS_LINES_MOST)
        return SPURITY_LIMITS_LINES_MOST;
    spurity_limits_line *line = &at->lines[at->line_count];
    *line = (spurity_limits_line){.clause = row->clause, .leaf = row->leaf, .low_hz = INFINITY};
    return at->line_count++;
}

/* "97.307(e): 25 uW (-16.0 dBm), in 1 kHz to 1 MHz". */
static void line_words(const spurity_limits_line *line, char *words, size_t size)
{
    char leaf[240], low[48], high[48], width[120] = "";
    spurity_clause_facts facts;
    spurity_clause_facts_of(line->clause, &facts);
    spurity_limit_describe(line->leaf, leaf, sizeof leaf);
    if (line->high_hz > 0) {
        spurity_format_frequency(low, sizeof low, line->low_hz, 6);
        spurity_format_frequency(high, sizeof high, line->high_hz, 6);
        bool one = !strcmp(low, high);
        snprintf(width, sizeof width, ", in %s%s%s", low, one ? "" : " to ", one ? "" : high);
    }
    snprintf(words, size, "%s%s: %s%s", facts.clause, facts.confirmed ? "" : " (unverified)", leaf, width);
}

/** A run of rows of one line in a panel. */
typedef struct run {
    size_t line;
    double from_hz, to_hz;
} run;

/* The next run from row *index on; false at the end. */
static bool next_run(spurity_limits *at, const spurity_allowed_case *one, size_t *index, run *found)
{
    while (*index < one->row_count && !one->rows[*index].clause)
        ++*index;
    if (*index == one->row_count)
        return false;
    const spurity_allowed *first = &one->rows[*index];
    *found = (run){line_of(at, first), first->from_hz, first->to_hz};
    while (++*index < one->row_count && one->rows[*index].clause == first->clause &&
           one->rows[*index].leaf == first->leaf)
        found->to_hz = one->rows[*index].to_hz;
    return true;
}

/* All lines of all cases with the reference bandwidths they are read in. */
static void collect_lines(spurity_limits *at)
{
    for (size_t c = 0; c < at->cases; c++) {
        const spurity_allowed_case *one = spurity_allowance_case(at->allowance, c);
        for (size_t i = 0; i < one->row_count; i++) {
            const spurity_allowed *row = &one->rows[i];
            size_t index = row->clause ? line_of(at, row) : SPURITY_LIMITS_LINES_MOST;
            if (index == SPURITY_LIMITS_LINES_MOST || !(row->reference_bandwidth_hz > 0))
                continue;
            at->lines[index].low_hz = fmin(at->lines[index].low_hz, row->reference_bandwidth_hz);
            at->lines[index].high_hz = fmax(at->lines[index].high_hz, row->reference_bandwidth_hz);
        }
    }
}

/** Where a run's name hangs: over the highest point of its edge. */
static double name_y(const spurity_limits *at, int which, const spurity_limits_panel *panel, double from, double to)
{
    double highest = at->sheet.base;
    for (int i = 0; i < 9; i++) {
        double dbm;
        if (allowed(at, which, point_of(panel, from, to, i, 9), &dbm))
            highest = fmax(highest, level_y(at, dbm));
    }
    return fmin(highest + 11, PLOT_TOP - 9);
}

static bool is_named(const spurity_limits *at, const spurity_limits_panel *panel, double x, double y, double half)
{
    for (size_t i = 0; i < at->name_count; i++)
        if (at->names[i].panel == panel && fabs(at->names[i].x - x) < at->names[i].half + half + 3 &&
            fabs(at->names[i].y - y) < 13)
            return true;
    return false;
}

/** Names one run: its words where they fit and stand for themselves, else its letter. `letters`: only finds out which
 * lines need one. */
static void name_run(spurity_limits *at, const spurity_limits_panel *panel, int which, const run *one, bool letters)
{
    char words[500], letter[8];
    double from_hz = fmax(one->from_hz, panel->from_hz), to_hz = fmin(one->to_hz, panel->to_hz);
    double left = panel_x(panel, from_hz), right = panel_x(panel, to_hz), room = right - left - 12;
    if (one->line == SPURITY_LIMITS_LINES_MOST || !(to_hz > from_hz) || (panel->log_axis && right - left < 6))
        return;
    spurity_limits_line *line = &at->lines[one->line];
    snprintf(letter, sizeof letter, "%c", (char)('a' + one->line));
    line_words(line, words, sizeof words);
    bool fits = spurity_sheet_text_width(words, FIGURE) < room;
    if (letters) {
        line->by_letter |= !fits;
        return;
    }
    const char *shown = fits && !line->by_letter ? words : letter;
    double half = spurity_sheet_text_width(shown, FIGURE) / 2, x = (left + right) / 2;
    double y = name_y(at, which, panel, from_hz, to_hz);
    for (int moved = 0; moved < 6 && is_named(at, panel, x, y, half); moved++)
        y += 13;
    if (at->name_count < SPURITY_LIMITS_NAMES_MOST)
        at->names[at->name_count++] = (spurity_limits_name){panel, x, y, half};
    spurity_sheet_text(&at->sheet, shown == words ? SPURITY_BLOCK_LABEL_UNDER : SPURITY_BLOCK_OVER_UNDER, x,
                       fmin(y, PLOT_TOP - 9), shown);
}

static void name_runs(spurity_limits *at, bool letters)
{
    for (size_t p = 0; p < at->panel_count; p++)
        for (size_t c = 0; c < at->cases; c++) {
            run one, before[SPURITY_LIMITS_NAMES_MOST];
            size_t index = 0;
            (void)before;
            while (next_run(at, spurity_allowance_case(at->allowance, c), &index, &one)) {
                bool told = false; /* by an earlier case, at the same place */
                for (size_t k = 0; k < c && !told; k++) {
                    run other;
                    size_t other_index = 0;
                    while (!told && next_run(at, spurity_allowance_case(at->allowance, k), &other_index, &other))
                        told = other.line == one.line && fabs(other.from_hz - one.from_hz) < 1e-2 &&
                               fabs(other.to_hz - one.to_hz) < 1e-2;
                }
                if (!told)
                    name_run(at, &at->panels[p], (int)c, &one, letters);
            }
        }
}

static size_t letter_count(const spurity_limits *at)
{
    size_t count = 0;
    for (size_t i = 0; i < at->line_count; i++)
        count += at->lines[i].by_letter;
    return count;
}

/* What the letters stand for, in the order of the alphabet, under the panels. */
static void draw_letters(spurity_limits *at)
{
    double y = 36 + CAPTION_ROW * (double)letter_count(at);
    for (size_t i = 0; i < at->line_count; i++) {
        char words[500], whole[520];
        if (!at->lines[i].by_letter)
            continue;
        line_words(&at->lines[i], words, sizeof words);
        snprintf(whole, sizeof whole, "%c   %s", (char)('a' + i), words);
        spurity_sheet_shorten(whole, FIGURE, SPURITY_SHEET_WIDTH - 48);
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_LABEL_RIGHT, 24, y, whole);
        y -= CAPTION_ROW;
    }
}

/* ---- words around -------------------------------------------------------------------------------- */

static void draw_title(spurity_limits *at, const spurity_rules *rules)
{
    char words[700], hz[60], power[60] = "", low[60], high[60];
    double from, to;
    spurity_format_frequency(hz, sizeof hz, at->carrier_hz, 6);
    if (isfinite(at->carrier_dbm))
        spurity_format_power(power, sizeof power, spurity_watts_from_dbm(at->carrier_dbm));
    snprintf(words, sizeof words, "%s: allowed beside %s%s%s", spurity_rules_id(rules), hz, *power ? " at " : "",
             power);
    spurity_sheet_shorten(words, 17 * SPURITY_BOLD, SPURITY_SHEET_WIDTH - 48);
    spurity_sheet_text(&at->sheet, SPURITY_BLOCK_TITLE, 24, SPURITY_SHEET_HEIGHT - 28, words);
    spurity_allowance_range(at->allowance, &from, &to);
    spurity_format_frequency(low, sizeof low, from, 6);
    spurity_format_frequency(high, sizeof high, to, 6);
    snprintf(words, sizeof words, "%.200s   \u00b7   %.200s   \u00b7   %s to %s", spurity_rules_title(rules),
             spurity_rules_edition(rules), low, high);
    spurity_sheet_shorten(words, 11.5, SPURITY_SHEET_WIDTH - 48);
    spurity_sheet_text(&at->sheet, SPURITY_BLOCK_SUBTITLE, 24, SPURITY_SHEET_HEIGHT - 52, words);
}

static void add(char *words, size_t size, const char *more)
{
    size_t used = strlen(words);
    snprintf(words + used, size - used, "%s%s", used ? "   \u00b7   " : "", more);
}

static void draw_captions(spurity_limits *at)
{
    static const char *const strokes[] = {"line", "dashes", "dots"};
    char words[1400] = "", more[300];
    for (size_t c = 0; c < at->cases && at->cases > 1; c++) {
        const char *when = spurity_allowance_case(at->allowance, c)->when;
        snprintf(more, sizeof more, "%s: %s", strokes[c < 2 ? c : 2], when);
        add(words, sizeof words, more);
    }
    const char *needs = spurity_allowance_needs(at->allowance);
    snprintf(more, sizeof more, "left out, as it is open: what depends on %s", needs);
    if (*needs)
        add(words, sizeof words, more);
    spurity_sheet_shorten(words, 10, SPURITY_SHEET_WIDTH - 48);
    spurity_sheet_text(&at->sheet, SPURITY_BLOCK_CAPTION, 24, 34, words);
    snprintf(words, sizeof words, "shaded: forbidden%s", at->cases > 1 ? " in every case" : "");
    if (at->hatched)
        add(words, sizeof words, "hatched: no clause sets a figure");
    add(words, sizeof words, "local rules and accredited laboratories decide");
    add(words, sizeof words, spurity_result_tool());
    spurity_sheet_text(&at->sheet, SPURITY_BLOCK_CAPTION, 24, 18, words);
}

/* ---- the whole ----------------------------------------------------------------------------------- */

/* Levels from under the lowest to over the carrier. */
static bool set_levels(spurity_limits *at)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t c = 0; c < at->cases; c++) {
        const spurity_allowed_case *one = spurity_allowance_case(at->allowance, c);
        for (size_t i = 0; i < one->row_count; i++) {
            low = fmin(low, fmin(one->rows[i].from_dbm, one->rows[i].to_dbm)); /* fmin passes over NaN */
            high = fmax(high, fmax(one->rows[i].from_dbm, one->rows[i].to_dbm));
        }
    }
    bool any = isfinite(low);
    if (!any)
        low = high = isfinite(at->carrier_dbm) ? at->carrier_dbm - 60 : -30;
    if (isfinite(at->carrier_dbm))
        high = fmax(high, at->carrier_dbm);
    at->low_dbm = fmax(low, high - 200) - 12;
    at->high_dbm = high + 8;
    if (at->high_dbm - at->low_dbm < 40)
        at->low_dbm = at->high_dbm - 40;
    return any;
}

/* Furthest that a mask reaches from the carrier; 0 when none binds. */
static double mask_reach(const spurity_limits *at)
{
    double reach = 0;
    for (size_t c = 0; c < at->cases; c++) {
        const spurity_allowed_case *one = spurity_allowance_case(at->allowance, c);
        for (size_t i = 0; i < one->row_count; i++) {
            spurity_clause_facts facts = {0};
            const spurity_allowed *row = &one->rows[i];
            if (row->clause)
                spurity_clause_facts_of(row->clause, &facts);
            if (!row->clause || facts.quantity != SPURITY_QUANTITY_MASK)
                continue;
            double far = fmax(fabs(row->from_hz - at->carrier_hz), fabs(row->to_hz - at->carrier_hz));
            double near = fmin(fabs(row->from_hz - at->carrier_hz), fabs(row->to_hz - at->carrier_hz));
            reach = fmax(reach, far < at->carrier_hz / 20 ? far : 3 * near); /* one without an outer end */
        }
    }
    return fmin(reach, at->carrier_hz / 2);
}

static void set_panels(spurity_limits *at)
{
    double from, to, reach = mask_reach(at);
    spurity_allowance_range(at->allowance, &from, &to);
    at->panels[0] = (spurity_limits_panel){SPURITY_PLOT_LEFT, reach > 0 ? 560 : SOLO_RIGHT, from, to, true};
    at->panel_count = 1;
    if (reach > 0)
        at->panels[at->panel_count++] = (spurity_limits_panel){640, SOLO_RIGHT, at->carrier_hz - 1.25 * reach,
                                                               at->carrier_hz + 1.25 * reach, false};
}

static void draw_panel(spurity_limits *at, const spurity_limits_panel *panel, bool last)
{
    static const spurity_block strokes[] = {SPURITY_BLOCK_EDGE, SPURITY_BLOCK_REACH, SPURITY_BLOCK_BOUND};
    size_t count = 0;
    double *ends = panel_ends(at, panel, &count);
    at->sheet.blocks[0].failed |= !ends;
    if (!ends)
        return;
    draw_line(at, panel, ends, count, EVERY_CASE, SPURITY_BLOCK_FORBIDDEN);
    draw_free(at, panel, ends, count);
    for (size_t c = 0; c < at->cases; c++)
        draw_line(at, panel, ends, count, (int)c, strokes[c < 2 ? c : 2]);
    draw_axes(at, panel, last);
    if (panel->log_axis)
        draw_harmonics(at, panel);
    draw_carrier(at, panel);
    free(ends);
}

static void draw(spurity_limits *at, const spurity_rules *rules)
{
    set_panels(at);
    collect_lines(at);
    at->sheet.base = SPURITY_PLOT_BOTTOM;
    name_runs(at, true);
    at->sheet.base = SPURITY_PLOT_BOTTOM + CAPTION_ROW * (double)letter_count(at);
    for (size_t p = 0; p < at->panel_count; p++)
        draw_panel(at, &at->panels[p], p + 1 == at->panel_count);
    name_runs(at, false);
    draw_letters(at);
    draw_title(at, rules);
    draw_captions(at);
}

spurity_status spurity_limits_program(const spurity_rules *rules, const spurity_conditions *conditions,
                                      const char *kind, spurity_buffer *program, spurity_error *error)
{
    spurity_limits *at = calloc(1, sizeof *at);
    spurity_allowance *allowance = NULL;
    if (!at)
        return spurity_report_memory(error);
    spurity_status status = spurity_allowance_create(rules, conditions, &allowance, error);
    if (status)
        goto out;
    at->allowance = allowance;
    at->cases = spurity_allowance_case_count(allowance);
    at->carrier_hz = conditions->carrier_hz;
    at->carrier_dbm =
        spurity_dbm_from_watts(conditions->mean_power_w > 0 ? conditions->mean_power_w : conditions->pep_w);
    if (!set_levels(at) && *spurity_allowance_needs(allowance)) {
        status = spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "what decides", NULL,
                                 "nothing to draw: every level depends on %s", spurity_allowance_needs(allowance));
        goto out;
    }
    draw(at, rules);
    spurity_buffer_text(program, "kind = '");
    spurity_buffer_text(program, kind);
    spurity_buffer_text(program, "'\n");
    spurity_sheet_write(&at->sheet, program);
    spurity_buffer_add(program, (const char *)spurity_limits_script, spurity_limits_script_size);
    if (program->failed)
        status = spurity_report_memory(error);
out:
    for (int block = 0; block < SPURITY_BLOCKS; block++)
        spurity_buffer_release(&at->sheet.blocks[block]);
    spurity_allowance_free(allowance);
    free(at);
    return status;
}

spurity_status spurity_output_limits(const spurity_rules *rules, const spurity_conditions *conditions,
                                     const char *kind_name, spurity_bytes *out, spurity_error *error)
{
    const spurity_picture_kind *kind = NULL;
    spurity_buffer program = {0};
    *out = (spurity_bytes){0};
    spurity_status status = spurity_picture_kind_find(kind_name, &kind, error);
    if (!status)
        status = spurity_limits_program(rules, conditions, kind->name, &program, error);
    if (!status)
        status = spurity_picture_draw(kind, &program, out, error);
    spurity_buffer_release(&program);
    return status;
}
