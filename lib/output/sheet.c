/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "sheet.h"

static const char *const block_names[SPURITY_BLOCKS] = {
    [SPURITY_BLOCK_FORBIDDEN] = "forbidden",
    [SPURITY_BLOCK_HATCH] = "hatch",
    [SPURITY_BLOCK_EDGE] = "edge",
    [SPURITY_BLOCK_AXIS] = "axis",
    [SPURITY_BLOCK_REACH] = "reach",
    [SPURITY_BLOCK_SWEEP] = "sweep",
    [SPURITY_BLOCK_STEM] = "stem",
    [SPURITY_BLOCK_SEEN] = "seen",
    [SPURITY_BLOCK_BOUND] = "bound",
    [SPURITY_BLOCK_EXCESS] = "excess",
    [SPURITY_BLOCK_TITLE] = "title",
    [SPURITY_BLOCK_TITLE_SMALL] = "title_small",
    [SPURITY_BLOCK_SUBTITLE] = "subtitle",
    [SPURITY_BLOCK_CAPTION] = "caption",
    [SPURITY_BLOCK_TIC_X] = "tic_x",
    [SPURITY_BLOCK_TIC_Y] = "tic_y",
    [SPURITY_BLOCK_UNIT] = "unit",
    [SPURITY_BLOCK_GAP] = "gap",
    [SPURITY_BLOCK_BAN_RIGHT] = "ban_right",
    [SPURITY_BLOCK_BAN_LEFT] = "ban_left",
    [SPURITY_BLOCK_CARRIER_RIGHT] = "carrier_right",
    [SPURITY_BLOCK_CARRIER_LEFT] = "carrier_left",
    [SPURITY_BLOCK_LABEL_RIGHT] = "label_right",
    [SPURITY_BLOCK_LABEL_LEFT] = "label_left",
    [SPURITY_BLOCK_OVER_RIGHT] = "over_right",
    [SPURITY_BLOCK_OVER_LEFT] = "over_left",
    [SPURITY_BLOCK_LABEL_UNDER] = "label_under",
    [SPURITY_BLOCK_OVER_UNDER] = "over_under",
};

void spurity_sheet_row2(spurity_sheet *at, spurity_block block, double x, double y)
{
    spurity_buffer *out = &at->blocks[block];
    spurity_buffer_fixed(out, x);
    spurity_buffer_add(out, "\t", 1);
    spurity_buffer_fixed(out, y);
    spurity_buffer_add(out, "\n", 1);
}

void spurity_sheet_row3(spurity_sheet *at, spurity_block block, double x, double low, double high)
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
void spurity_sheet_lift(spurity_sheet *at, spurity_block block)
{
    spurity_buffer_add(&at->blocks[block], "\n", 1);
}

void spurity_sheet_segment(spurity_sheet *at, spurity_block block, double x0, double y0, double x1, double y1)
{
    spurity_sheet_row2(at, block, x0, y0);
    spurity_sheet_row2(at, block, x1, y1);
    spurity_sheet_lift(at, block);
}

void spurity_sheet_text(spurity_sheet *at, spurity_block block, double x, double y, const char *words)
{
    char plain[4 * SPURITY_LINE_CHARACTERS + 8];
    spurity_buffer *out = &at->blocks[block];
    spurity_buffer_fixed(out, x);
    spurity_buffer_add(out, "\t", 1);
    spurity_buffer_fixed(out, y);
    spurity_buffer_add(out, "\t\"", 2);
    spurity_plain(plain, sizeof plain, words, SPURITY_LINE_CHARACTERS);
    for (const char *from = plain; *from; from++) {
        if (*from == '"' || *from == '\\')
            spurity_buffer_add(out, "\\", 1);
        spurity_buffer_add(out, from, 1);
    }
    spurity_buffer_add(out, "\"\n", 2);
}

/* Width of text in px.  gnuplot measures none, and a viewer may take another face: the widths of a wide common one
 * (DejaVu Sans, units of 1/1000 em, rounded up by class). */
double spurity_sheet_text_width(const char *words, double size)
{
    double em = 0;
    for (; *words; words++) {
        if ((*words & 0xC0) == 0x80)
            continue;
        em += strchr(" .,:;'|!()ijl", *words) ? 0.36 : strchr("mMW", *words) ? 0.98 : 0.66;
    }
    return em * size;
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

void spurity_sheet_write(const spurity_sheet *at, spurity_buffer *program)
{
    for (int block = 0; block < SPURITY_BLOCKS; block++)
        write_block(program, block_names[block], &at->blocks[block]);
}

double spurity_sheet_x(const spurity_sheet *at, double hz)
{
    const spurity_picture *picture = at->picture;
    double part = picture->log_axis ? log(hz / picture->from_hz) / log(picture->to_hz / picture->from_hz)
                                    : (hz - picture->from_hz) / (picture->to_hz - picture->from_hz);
    return SPURITY_PLOT_LEFT + part * (SPURITY_PLOT_RIGHT - SPURITY_PLOT_LEFT);
}

double spurity_sheet_clamp(double value, double least, double most)
{
    return value < least ? least : value > most ? most : value;
}

double spurity_sheet_clamped_x(const spurity_sheet *at, double hz)
{
    if (hz <= at->picture->from_hz) /* the logarithm of 0 Hz and below is none */
        return SPURITY_PLOT_LEFT;
    return spurity_sheet_clamp(spurity_sheet_x(at, hz), SPURITY_PLOT_LEFT, SPURITY_PLOT_RIGHT);
}

double spurity_sheet_y(const spurity_sheet *at, double db)
{
    double y = at->base + (db - at->low_db) / (at->high_db - at->low_db) * (at->plot_top - at->base);
    return spurity_sheet_clamp(y, at->base, at->plot_top);
}

double spurity_sheet_level(const spurity_sheet *at, const spurity_shown_emission *emission)
{
    return at->relative ? emission->level_dbc : emission->level_dbm;
}

bool spurity_sheet_on_axis(const spurity_sheet *at, double hz)
{
    return isfinite(hz) && hz >= at->picture->from_hz && hz <= at->picture->to_hz;
}

char *spurity_sheet_signed_db(char *out, size_t size, double db)
{
    char figure[32];
    spurity_format_db(figure, sizeof figure, db);
    snprintf(out, size, "%s%s", figure[0] == '-' ? "\u2212" : "", figure + (figure[0] == '-'));
    return out;
}

void spurity_sheet_shorten(char *words, double size, double width)
{
    size_t characters = spurity_characters(words);
    char cut[4 * SPURITY_LINE_CHARACTERS + 8];
    while (characters > 8 && spurity_sheet_text_width(words, size) > width) {
        characters -= 1 + (size_t)((spurity_sheet_text_width(words, size) - width) / size);
        snprintf(words, strlen(words) + 1, "%s", spurity_plain(cut, sizeof cut, words, characters));
    }
}
