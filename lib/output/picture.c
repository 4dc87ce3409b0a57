/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The overlay picture as a gnuplot program: our script (plots/overlay.gp, the look) behind data blocks (sheet.h, what
 * stands where). */
#include <string.h>

#include "sheet.h"

extern const unsigned char spurity_overlay_script[];
extern const unsigned long spurity_overlay_script_size;

static void draw(spurity_sheet *at)
{
    spurity_marks marks;
    double below_title = SPURITY_SHEET_HEIGHT - 28 - spurity_sheet_draw_title(at);
    bool two_rows = spurity_result_length(at->shown.result, "not_shown") > 1;
    spurity_sheet_draw_subtitle(at, below_title);
    at->plot_top = below_title - 40 - (two_rows ? SPURITY_GAP_ROW : 0);
    at->relative = strcmp(at->picture->unit, "dBc") == 0;
    spurity_sheet_set_levels(at);
    spurity_sheet_choose_marks(at, &marks);
    at->base = SPURITY_PLOT_BOTTOM + spurity_sheet_label_band(&marks);
    spurity_sheet_draw_axes(at);
    spurity_sheet_draw_limit(at);
    spurity_sheet_draw_gaps(at);
    spurity_sheet_draw_sweep(at);
    spurity_sheet_draw_captions(at, spurity_sheet_draw_marks(at, &marks));
}

spurity_status spurity_picture_program(const spurity_result *result, const char *kind, spurity_buffer *program,
                                       spurity_error *error)
{
    spurity_sheet at = {.picture = spurity_result_picture(result)};
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
    spurity_sheet_write(&at, program);
    spurity_buffer_add(program, (const char *)spurity_overlay_script, spurity_overlay_script_size);
    status = program->failed ? spurity_report_memory(error) : SPURITY_OK;
    for (int block = 0; block < SPURITY_BLOCKS; block++)
        spurity_buffer_release(&at.blocks[block]);
    spurity_shown_release(&at.shown);
    return status;
}
