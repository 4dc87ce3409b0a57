/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_LIMITS_H
#define SPURITY_OUTPUT_LIMITS_H
/* The picture of limits: what its parts share. */
#include "sheet.h"

enum { SPURITY_LIMITS_LINES_MOST = 24, SPURITY_LIMITS_NAMES_MOST = 160 };

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
} spurity_limits_line;

typedef struct spurity_limits_name {
    const spurity_limits_panel *panel;
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
    bool hatched;
} spurity_limits;

/** The gnuplot program that draws it: our script behind its data. */
spurity_status spurity_limits_program(const spurity_rules *rules, const spurity_conditions *conditions,
                                      const char *kind, spurity_buffer *program, spurity_error *error);

#endif
