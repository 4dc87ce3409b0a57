/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_SHEET_H
#define SPURITY_OUTPUT_SHEET_H
/* The sheet a picture is placed on: blocks of rows for gnuplot, in pixels, origin at the lower left.  spectrum.c draws
 * axes, sweep, limit and what was not shown; marks.c emissions and the carrier; captions.c the words around; picture.c
 * the whole.
 *
 * Text that came from a file or an option goes only into quoted fields of data blocks (spurity_sheet_text), without
 * controls (spurity_plain), quotes and backslashes behind a backslash: gnuplot gives those back as they were and looks
 * at nothing else in them.  Each row starts with a number, so no text can end a block. */
#include "internal.h"

enum {
    SPURITY_SHEET_WIDTH = 1200,
    SPURITY_SHEET_HEIGHT = 675,
    SPURITY_PLOT_LEFT = 64,
    SPURITY_PLOT_RIGHT = 1168,
    SPURITY_PLOT_BOTTOM = 84,
    SPURITY_GAP_ROW = 14 /* height of a row of names over the plot */
};
enum { SPURITY_LINE_CHARACTERS = 200, SPURITY_DOTS_MOST = 500, SPURITY_LABELS_MOST = 14 };
#define SPURITY_BOLD 1.08 /* how much wider bold letters run */

/** One block of rows; its name in plots/overlay.gp is in sheet.c. */
typedef enum spurity_block {
    SPURITY_BLOCK_FORBIDDEN,
    SPURITY_BLOCK_HATCH,
    SPURITY_BLOCK_EDGE,
    SPURITY_BLOCK_AXIS,
    SPURITY_BLOCK_REACH,
    SPURITY_BLOCK_SWEEP,
    SPURITY_BLOCK_STEM,
    SPURITY_BLOCK_SEEN,
    SPURITY_BLOCK_BOUND,
    SPURITY_BLOCK_EXCESS,
    SPURITY_BLOCK_TITLE,
    SPURITY_BLOCK_TITLE_SMALL,
    SPURITY_BLOCK_SUBTITLE,
    SPURITY_BLOCK_CAPTION,
    SPURITY_BLOCK_TIC_X,
    SPURITY_BLOCK_TIC_Y,
    SPURITY_BLOCK_UNIT,
    SPURITY_BLOCK_GAP,
    SPURITY_BLOCK_BAN_RIGHT,
    SPURITY_BLOCK_BAN_LEFT,
    SPURITY_BLOCK_CARRIER_RIGHT,
    SPURITY_BLOCK_CARRIER_LEFT,
    SPURITY_BLOCK_LABEL_RIGHT,
    SPURITY_BLOCK_LABEL_LEFT,
    SPURITY_BLOCK_LABEL_UNDER,
    SPURITY_BLOCK_OVER_RIGHT,
    SPURITY_BLOCK_OVER_LEFT,
    SPURITY_BLOCK_OVER_UNDER,
    SPURITY_BLOCKS
} spurity_block;

typedef struct spurity_sheet {
    const spurity_picture *picture;
    spurity_shown shown;
    spurity_buffer blocks[SPURITY_BLOCKS];
    double plot_top, base;  /* px: top of the plot; bottom of the levels, with the labels' rows below */
    double low_db, high_db; /* levels at base and plot_top */
    bool relative;          /* dB from the carrier */
} spurity_sheet;

/* ---- rows (sheet.c) --------------------------------------------------------------------------------------------- */

void spurity_sheet_row2(spurity_sheet *at, spurity_block block, double x, double y);
void spurity_sheet_row3(spurity_sheet *at, spurity_block block, double x, double low, double high);
/** Lifts the pen. */
void spurity_sheet_lift(spurity_sheet *at, spurity_block block);
void spurity_sheet_segment(spurity_sheet *at, spurity_block block, double x0, double y0, double x1, double y1);
void spurity_sheet_text(spurity_sheet *at, spurity_block block, double x, double y, const char *words);
/** Writes all blocks as gnuplot data blocks. */
void spurity_sheet_write(const spurity_sheet *at, spurity_buffer *program);

/* ---- places (sheet.c) ------------------------------------------------------------------------------------------- */

/** Width of text in px, rather too much than too little. */
double spurity_sheet_text_width(const char *words, double size);
/** Cuts words to a width, px. */
void spurity_sheet_shorten(char *words, double size, double width);
double spurity_sheet_clamp(double value, double least, double most);
double spurity_sheet_x(const spurity_sheet *at, double hz);
double spurity_sheet_clamped_x(const spurity_sheet *at, double hz); /* into the plot */
double spurity_sheet_y(const spurity_sheet *at, double db);         /* clamped to the plot */
/** Level of an emission in the picture's unit. */
double spurity_sheet_level(const spurity_sheet *at, const spurity_shown_emission *emission);
bool spurity_sheet_on_axis(const spurity_sheet *at, double hz);
/** "-57.8" with a true minus sign. */
char *spurity_sheet_signed_db(char *out, size_t size, double db);

/* ---- parts ------------------------------------------------------------------------------------------------------ */

/** Finds the range of levels, once the picture and its unit are known. */
void spurity_sheet_set_levels(spurity_sheet *at);
void spurity_sheet_draw_axes(spurity_sheet *at);
void spurity_sheet_draw_sweep(spurity_sheet *at);
void spurity_sheet_draw_limit(spurity_sheet *at);
void spurity_sheet_draw_gaps(spurity_sheet *at);

/** Emissions that get a label, with their places. */
typedef struct spurity_marks {
    size_t count, drawn; /* drawn: how many emissions have a place on the axis */
    size_t emission[SPURITY_LABELS_MOST];
    spurity_label labels[SPURITY_LABELS_MOST];
    int rows;
} spurity_marks;
/** Chooses and places labels: their rows decide where the levels may begin (spurity_sheet_label_band). */
void spurity_sheet_choose_marks(spurity_sheet *at, spurity_marks *marks);
double spurity_sheet_label_band(const spurity_marks *marks); /* px */
/** Dots, labels, the carrier. Returns how many emissions have no label. */
size_t spurity_sheet_draw_marks(spurity_sheet *at, const spurity_marks *marks);

/** Returns the height it takes, px. */
double spurity_sheet_draw_title(spurity_sheet *at);
void spurity_sheet_draw_subtitle(spurity_sheet *at, double y);
void spurity_sheet_draw_captions(spurity_sheet *at, size_t left_out);

#endif
