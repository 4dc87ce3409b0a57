/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_LIMITS_H
#define SPURITY_OUTPUT_LIMITS_H
/* The picture of limits: what its parts share. */
#include "sheet.h"

enum { SPURITY_LIMITS_LINES_MOST = 128, SPURITY_LIMITS_LETTERS_MOST = 10, SPURITY_LIMITS_NAMES_MOST = 160 };

/** An axis of frequency with its place on the sheet, px. */
typedef struct spurity_limits_panel {
    double left, right;
    double from_hz, to_hz;
    bool log_axis; /* the wide one; else offsets about the carrier */
} spurity_limits_panel;

/** A line of a limit that decides somewhere, and the reference bandwidths it is read in (high_hz 0: none). */
typedef struct spurity_limits_line {
    const spurity_clause *clause;
    const spurity_limit *leaf;
    double low_hz, high_hz;
    bool by_letter; /* somewhere its words do not fit */
    char letter;    /* 0: none, its words fit or the letters are used up */
} spurity_limits_line;

typedef struct spurity_limits_name {
    const spurity_limits_panel *panel;
    size_t line;
    double x, y, half; /* px; half of its width */
} spurity_limits_name;

typedef struct spurity_limits {
    spurity_sheet sheet; /* its blocks and its base */
    const spurity_allowance *allowance;
    size_t cases;
    double carrier_hz, carrier_dbm; /* NaN: power not said */
    double low_dbm, high_dbm;
    size_t panel_count;
    spurity_limits_panel panels[2];
    size_t line_count;
    spurity_limits_line lines[SPURITY_LIMITS_LINES_MOST];
    size_t name_count;
    spurity_limits_name names[SPURITY_LIMITS_NAMES_MOST];
    size_t letter_count, unnamed; /* unnamed: lines for which there was no letter */
    bool hatched;
} spurity_limits;

enum { SPURITY_LIMITS_TOP = 572, SPURITY_LIMITS_CAPTION_ROW = 15 }; /* px: top of the plots; a row of words */
enum { SPURITY_LIMITS_EVERY_CASE = -1 };

/* ---- lines (limits_lines.c) -------------------------------------------------------------------------------------- */

double spurity_limits_x(const spurity_limits_panel *panel, double hz); /* clamped to the panel */
double spurity_limits_y(const spurity_limits *at, double dbm);         /* clamped to the plot */
/** Allowed in one case; for EVERY_CASE the most lenient of them, false where one of them sets nothing. */
bool spurity_limits_allowed(const spurity_limits *at, int which, double hz, double *dbm);
/** Point `index` of `count` of a stretch, even on the panel's axis, a little inside its ends. */
double spurity_limits_point(const spurity_limits_panel *panel, double from, double to, int index, int count);
/** Ends of all rows of all cases inside the panel, with its own ends, rising; NULL when memory is out. */
double *spurity_limits_ends(const spurity_limits *at, const spurity_limits_panel *panel, size_t *count);
/** The edge of a case, or the region that is forbidden in every one. */
void spurity_limits_draw_line(spurity_limits *at, const spurity_limits_panel *panel, const double *ends, size_t count,
                              int which, spurity_block block);
void spurity_limits_draw_free(spurity_limits *at, const spurity_limits_panel *panel, const double *ends, size_t count);
void spurity_limits_draw_axes(spurity_limits *at, const spurity_limits_panel *panel, bool last);
void spurity_limits_draw_harmonics(spurity_limits *at, const spurity_limits_panel *panel);
void spurity_limits_draw_carrier(spurity_limits *at, const spurity_limits_panel *panel);

/* ---- names (limits_names.c) -------------------------------------------------------------------------------------- */

/** All lines of all cases with the reference bandwidths they are read in. */
void spurity_limits_collect_lines(spurity_limits *at);
/** Finds out which lines need a letter; once the panels are known. */
void spurity_limits_give_letters(spurity_limits *at);
void spurity_limits_draw_names(spurity_limits *at);
void spurity_limits_draw_letters(spurity_limits *at);

/** The gnuplot program that draws it: our script behind its data. */
spurity_status spurity_limits_program(const spurity_rules *rules, const spurity_conditions *conditions,
                                      const char *kind, spurity_buffer *program, spurity_error *error);

#endif
