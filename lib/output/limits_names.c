/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What decides where, in words at its stretch where they fit, else by a letter with the words underneath. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "limits.h"

static const double FIGURE = 10.5; /* px */

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
    char leaf[240], low[48], high[48], width[120] = ", no bandwidth named";
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
void spurity_limits_collect_lines(spurity_limits *at)
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

/** Where a run's words hang: over the highest point of its edge. */
static double words_y(const spurity_limits *at, int which, const spurity_limits_panel *panel, double from, double to)
{
    double highest = at->sheet.base, dbm;
    for (int i = 0; i < 9; i++)
        if (spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, i, 9), &dbm))
            highest = fmax(highest, spurity_limits_y(at, dbm));
    return highest + 11;
}

/** Where its letter hangs: over the middle of the edge, outward of one that falls, under one too narrow for it. */
static void letter_place(const spurity_limits *at, int which, const spurity_limits_panel *panel, double from, double to,
                         double *x, double *y)
{
    double middle = 0, near = 0, far = 0, left = spurity_limits_x(panel, from), right = spurity_limits_x(panel, to);
    spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, 1, 3), &middle);
    spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, 0, 3), &near);
    spurity_limits_allowed(at, which, spurity_limits_point(panel, from, to, 2, 3), &far);
    bool narrow = right - left<8, falls = fabs(spurity_limits_y(at, near) - spurity_limits_y(at, far))> 20;
    *x = (left + right) / 2;
    *y = spurity_limits_y(at, middle) + (narrow ? -11 : 11);
    if (falls) {
        bool upper = *x > spurity_limits_x(panel, at->carrier_hz);
        double step = right - left < 24 ? (right - left) / 2 + 8 : 9;
        *x += upper ? step : -step;
    }
}

/** Whether this line's letter stands within `near` px already, on this side of the carrier: steps that come again and
 * again are named once. */
static bool is_told_near(const spurity_limits *at, const spurity_limits_panel *panel, size_t line, double x, double y,
                         double near)
{
    for (size_t i = 0; i < at->name_count; i++)
        if (at->names[i].panel == panel && at->names[i].line == line && fabs(at->names[i].x - x) < near &&
            fabs(at->names[i].y - y) < 30 &&
            (x > spurity_limits_x(panel, at->carrier_hz)) == (at->names[i].x > spurity_limits_x(panel, at->carrier_hz)))
            return true;
    return false;
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
    char words[500];
    double from_hz = fmax(one->from_hz, panel->from_hz), to_hz = fmin(one->to_hz, panel->to_hz);
    double left = spurity_limits_x(panel, from_hz), right = spurity_limits_x(panel, to_hz), room = right - left - 12;
    bool at_carrier = panel->log_axis && right - left < 6 && fabs(left - spurity_limits_x(panel, at->carrier_hz)) < 8;
    if (one->line == SPURITY_LIMITS_LINES_MOST || !(to_hz > from_hz) || at_carrier)
        return;
    spurity_limits_line *line = &at->lines[one->line];
    line_words(line, words, sizeof words);
    bool fits = spurity_sheet_text_width(words, FIGURE) < room;
    if (letters) {
        line->by_letter |= !fits;
        return;
    }
    bool in_words = fits && !line->by_letter;
    const char letter[2] = {line->letter, '\0'}, *shown = in_words ? words : letter;
    if (!*shown)
        return;
    double half = spurity_sheet_text_width(shown, FIGURE) / 2, x = (left + right) / 2, y;
    if (in_words)
        y = words_y(at, which, panel, from_hz, to_hz);
    else
        letter_place(at, which, panel, from_hz, to_hz, &x, &y);
    bool narrow = panel->log_axis && right - left < 8;
    if (is_told_near(at, panel, one->line, x, y, narrow ? INFINITY : 70))
        return;
    for (int moved = 0; moved < 6 && is_named(at, panel, x, y, half); moved++)
        y += 13;
    y = fmin(y, SPURITY_LIMITS_TOP - 9);
    if (at->name_count < SPURITY_LIMITS_NAMES_MOST)
        at->names[at->name_count++] = (spurity_limits_name){panel, one->line, x, y, half};
    spurity_sheet_text(&at->sheet, in_words ? SPURITY_BLOCK_LABEL_UNDER : SPURITY_BLOCK_OVER_UNDER, x, y, shown);
}

/** Whether an earlier case has the same line at the same place. */
static bool is_of_earlier_case(spurity_limits *at, size_t which, const run *one)
{
    for (size_t k = 0; k < which; k++) {
        run other;
        size_t index = 0;
        while (next_run(at, spurity_allowance_case(at->allowance, k), &index, &other))
            if (other.line == one->line && fabs(other.from_hz - one->from_hz) < 1e-2 &&
                fabs(other.to_hz - one->to_hz) < 1e-2)
                return true;
    }
    return false;
}

static void name_runs(spurity_limits *at, bool letters)
{
    for (size_t p = 0; p < at->panel_count; p++)
        for (size_t c = 0; c < at->cases; c++) {
            run one;
            size_t index = 0;
            while (next_run(at, spurity_allowance_case(at->allowance, c), &index, &one))
                if (!is_of_earlier_case(at, c, &one))
                    name_run(at, &at->panels[p], (int)c, &one, letters);
        }
}

/** Gives letters to the lines that need one, as long as there are any. */
void spurity_limits_give_letters(spurity_limits *at)
{
    name_runs(at, true);
    for (size_t i = 0; i < at->line_count; i++) {
        if (!at->lines[i].by_letter)
            continue;
        if (at->letter_count == SPURITY_LIMITS_LETTERS_MOST)
            at->unnamed++;
        else
            at->lines[i].letter = (char)('a' + at->letter_count++);
    }
}

/* What the letters stand for, in the order of the alphabet, under the panels. */
void spurity_limits_draw_letters(spurity_limits *at)
{
    double y = 36 + SPURITY_LIMITS_CAPTION_ROW * (double)at->letter_count;
    for (size_t i = 0; i < at->line_count; i++) {
        char words[500], whole[520];
        if (!at->lines[i].letter)
            continue;
        line_words(&at->lines[i], words, sizeof words);
        snprintf(whole, sizeof whole, "%c   %s", at->lines[i].letter, words);
        spurity_sheet_shorten(whole, FIGURE, SPURITY_SHEET_WIDTH - 48);
        spurity_sheet_text(&at->sheet, SPURITY_BLOCK_LABEL_RIGHT, 24, y, whole);
        y -= SPURITY_LIMITS_CAPTION_ROW;
    }
}

void spurity_limits_draw_names(spurity_limits *at)
{
    name_runs(at, false);
}
