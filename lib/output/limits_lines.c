/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Edges and regions of the picture of limits, what is hatched, axes, harmonics, the carrier. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "limits.h"

static const double CARRIER_GAP = 5; /* px */

/* ---- places -------------------------------------------------------------------------------------- */

double spurity_limits_x(const spurity_limits_panel *panel, double hz)
{
    double part = panel->log_axis ? log(fmax(hz, panel->from_hz) / panel->from_hz) / log(panel->to_hz / panel->from_hz)
                                  : (hz - panel->from_hz) / (panel->to_hz - panel->from_hz);
    return spurity_sheet_clamp(panel->left + part * (panel->right - panel->left), panel->left, panel->right);
}

double spurity_limits_y(const spurity_limits *at, double dbm)
{
    double y =
        at->sheet.base + (dbm - at->low_dbm) / (at->high_dbm - at->low_dbm) * (SPURITY_LIMITS_TOP - at->sheet.base);
    return spurity_sheet_clamp(y, at->sheet.base, SPURITY_LIMITS_TOP);
}

/* On the wide axis what is free beside the carrier is thinner than a line: it stays white for 5 px at least. */
static double edge_x(const spurity_limits *at, const spurity_limits_panel *panel, double hz)
{
    double x = spurity_limits_x(panel, hz), carrier = spurity_limits_x(panel, at->carrier_hz);
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
double *spurity_limits_ends(const spurity_limits *at, const spurity_limits_panel *panel, size_t *count)
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

/** Allowed in one case; for SPURITY_LIMITS_EVERY_CASE the most lenient of them, false where one of them sets nothing.
 */
bool spurity_limits_allowed(const spurity_limits *at, int which, double hz, double *dbm)
{
    if (which != SPURITY_LIMITS_EVERY_CASE)
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

/** What stands at a frequency in no case: a figure.  *open: in some case one may be set there. */
static bool is_free(const spurity_limits *at, double hz, bool *open)
{
    *open = false;
    for (size_t c = 0; c < at->cases; c++) {
        const spurity_allowed_case *one = spurity_allowance_case(at->allowance, c);
        for (size_t i = 0; i < one->row_count; i++) {
            if (!(hz >= one->rows[i].from_hz && hz <= one->rows[i].to_hz))
                continue;
            if (one->rows[i].clause)
                return false;
            *open |= one->rows[i].open;
        }
    }
    return true;
}

/* Point `index` of `count` of a stretch, a little inside its ends. */
double spurity_limits_point(const spurity_limits_panel *panel, double from, double to, int index, int count)
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
    bool flat = spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, 0, 3), &first) &&
                spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, 1, 3), &middle) &&
                spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, 2, 3), &last) &&
                fabs(first - last) < 1e-3 && fabs(first - middle) < 1e-3;
    int count = flat ? 2 : POINTS;
    for (int i = 0; i < count; i++) {
        double dbm, hz = spurity_limits_point(panel, from, to, i, count);
        if (!spurity_limits_allowed(at, which, hz, &dbm))
            continue;
        double x = edge_x(at, panel, i == 0 ? from : i == count - 1 ? to : hz);
        if (which == SPURITY_LIMITS_EVERY_CASE)
            spurity_sheet_row3(&at->sheet, block, x, spurity_limits_y(at, dbm), SPURITY_LIMITS_TOP);
        else
            spurity_sheet_row2(&at->sheet, block, x, spurity_limits_y(at, dbm));
    }
}

/* Stretches of a case (or of all) one after the other; where nothing is set the pen is lifted, and an edge closes
 * upward so that the region has its sides. */
void spurity_limits_draw_line(spurity_limits *at, const spurity_limits_panel *panel, const double *ends, size_t count,
                              int which, spurity_block block)
{
    bool open = false;
    for (size_t i = 1; i < count; i++) {
        double dbm, from = ends[i - 1], to = ends[i];
        bool set = spurity_limits_allowed(at, which, from + (to - from) / 2, &dbm);
        bool hidden = panel->log_axis && spurity_limits_x(panel, to) - spurity_limits_x(panel, from) < 1 &&
                      fabs(spurity_limits_x(panel, from) - spurity_limits_x(panel, at->carrier_hz)) < CARRIER_GAP;
        if (hidden)
            set = false;
        if (set && !open && which != SPURITY_LIMITS_EVERY_CASE && spurity_limits_x(panel, from) > panel->left + 1)
            spurity_sheet_row2(&at->sheet, block, edge_x(at, panel, from), SPURITY_LIMITS_TOP);
        if (set)
            draw_stretch(at, panel, which, block, from, to);
        if (!set && open) {
            if (which != SPURITY_LIMITS_EVERY_CASE)
                spurity_sheet_row2(&at->sheet, block, edge_x(at, panel, from), SPURITY_LIMITS_TOP);
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
    for (double k = floor((base - to) / step); k * step < SPURITY_LIMITS_TOP - from; k++) {
        double x0 = fmax(from, base - k * step), x1 = fmin(to, SPURITY_LIMITS_TOP - k * step);
        if (x0 < x1)
            spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_HATCH, x0, x0 + k * step, x1, x1 + k * step);
    }
}

/* One stretch without a figure: hatched, and in words over the plot where it is wide; where it is open whether there is
 * one, white and told in it. */
static void draw_free_stretch(spurity_limits *at, const spurity_limits_panel *panel, double left, double right,
                              bool open)
{
    char words[240];
    double middle = (left + right) / 2;
    if (right - left < 3)
        return;
    if (open) {
        snprintf(words, sizeof words, "open: %s decides", spurity_allowance_needs(at->allowance));
        bool fits = spurity_sheet_text_width(words, 10) < right - left;
        if (fits || right - left > spurity_sheet_text_width("open", 10))
            spurity_sheet_text(&at->sheet, SPURITY_BLOCK_GAP, middle, SPURITY_LIMITS_TOP - 12, fits ? words : "open");
        return;
    }
    hatch(at, left, right);
    at->hatched = true;
    if (panel->log_axis && right - left > 300)
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_GAP, middle, SPURITY_LIMITS_TOP + 14,
                           "no clause of this set sets a figure here");
}

void spurity_limits_draw_free(spurity_limits *at, const spurity_limits_panel *panel, const double *ends, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        double from = ends[i - 1];
        bool open, same = false;
        if (!is_free(at, from + (ends[i] - from) / 2, &open))
            continue;
        while (i + 1 < count && is_free(at, ends[i] + (ends[i + 1] - ends[i]) / 2, &same) && same == open)
            i++;
        draw_free_stretch(at, panel, spurity_limits_x(panel, from), spurity_limits_x(panel, ends[i]), open);
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
                tic(at, spurity_limits_x(panel, hz),
                    named ? spurity_format_frequency(words, sizeof words, hz, 6) : NULL);
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
        tic(at, spurity_limits_x(panel, panel->from_hz + half + k * step),
            centre ? spurity_format_frequency(distance, sizeof distance, panel->from_hz + half, 6) : words);
    }
}

static void level_tics(spurity_limits *at, const spurity_limits_panel *panel, bool watts)
{
    double step = at->high_dbm - at->low_dbm > 110 ? 20 : 10;
    for (double k = ceil(at->low_dbm / step); k * step <= at->high_dbm; k++) {
        char words[60], power[48];
        double y = spurity_limits_y(at, k * step);
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

void spurity_limits_draw_axes(spurity_limits *at, const spurity_limits_panel *panel, bool last)
{
    double base = at->sheet.base;
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->left, base, panel->right, base);
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->left, base, panel->left, SPURITY_LIMITS_TOP);
    if (last)
        spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_AXIS, panel->right, base, panel->right, SPURITY_LIMITS_TOP);
    if (panel->log_axis)
        log_tics(at, panel);
    else
        offset_tics(at, panel);
    level_tics(at, panel, last);
    spurity_sheet_text(&at->sheet, SPURITY_BLOCK_UNIT, panel->left - 40, SPURITY_LIMITS_TOP + 14,
                       panel->log_axis ? "dBm at the antenna terminal" : "dBm, close to the carrier");
}

/* Harmonics as quiet ticks on the foot of the wide panel, named where there is room. */
void spurity_limits_draw_harmonics(spurity_limits *at, const spurity_limits_panel *panel)
{
    double named_x = -100, base = at->sheet.base;
    for (int order = 2; order * at->carrier_hz <= panel->to_hz * (1 + 1e-9) && order <= 1000; order++) {
        char words[16];
        double x = spurity_limits_x(panel, order * at->carrier_hz);
        if (order > 10 && x - named_x < 2)
            break;
        spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_STEM, x, base, x, base + 9);
        snprintf(words, sizeof words, "H%d", order);
        if (order > 10 || x - named_x < spurity_sheet_text_width(words, 10) + 4)
            continue;
        named_x = x;
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_GAP, fmin(x, panel->right - 14), base + 17, words);
    }
}

void spurity_limits_draw_carrier(spurity_limits *at, const spurity_limits_panel *panel)
{
    char words[120] = "carrier", power[48];
    double x = spurity_limits_x(panel, at->carrier_hz);
    bool known = isfinite(at->carrier_dbm);
    double y = known ? spurity_limits_y(at, at->carrier_dbm) : SPURITY_LIMITS_TOP;
    spurity_sheet_segment(&at->sheet, SPURITY_BLOCK_SEEN, x, at->sheet.base, x, y);
    if (!panel->log_axis) /* its axis names it */
        return;
    if (known)
        snprintf(words, sizeof words, "carrier %s",
                 spurity_format_power(power, sizeof power, spurity_watts_from_dbm(at->carrier_dbm)));
    bool left = x + 8 + spurity_sheet_text_width(words, 11) * SPURITY_BOLD > panel->right;
    spurity_sheet_text(&at->sheet, left ? SPURITY_BLOCK_CARRIER_LEFT : SPURITY_BLOCK_CARRIER_RIGHT, x + (left ? -8 : 8),
                       fmin(y, SPURITY_LIMITS_TOP - 8), words);
}
