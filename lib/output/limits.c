/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The picture of what a set of rules allows one transmitter: the whole range to be looked through, and beside it, where
 * a mask binds, what is close to the carrier.  limits_lines.c draws lines and regions, limits_names.c names them;
 * plots/limits.gp is the look; the blocks are those of a sheet. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "limits.h"

extern const unsigned char spurity_limits_script[];
extern const unsigned long spurity_limits_script_size;

static const double SOLO_RIGHT = 1104; /* px */

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
    snprintf(more, sizeof more, "%zu more lines without a name", at->unnamed);
    if (at->unnamed)
        add(words, sizeof words, more);
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
            double far = fmax(fabs(row->from_hz - at->carrier_hz), fabs(row->to_hz - at->carrier_hz));
            double near = fmin(fabs(row->from_hz - at->carrier_hz), fabs(row->to_hz - at->carrier_hz));
            bool close = far < at->carrier_hz / 20, open = !row->clause && row->open && close;
            if (open || (row->clause && facts.quantity == SPURITY_QUANTITY_MASK))
                reach = fmax(reach, close ? far : 3 * near); /* 3: one without an outer end */
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
    double *ends = spurity_limits_ends(at, panel, &count);
    at->sheet.blocks[0].failed |= !ends;
    if (!ends)
        return;
    spurity_limits_draw_line(at, panel, ends, count, SPURITY_LIMITS_EVERY_CASE, SPURITY_BLOCK_FORBIDDEN);
    spurity_limits_draw_free(at, panel, ends, count);
    for (size_t c = 0; c < at->cases; c++)
        spurity_limits_draw_line(at, panel, ends, count, (int)c, strokes[c < 2 ? c : 2]);
    spurity_limits_draw_axes(at, panel, last);
    if (panel->log_axis)
        spurity_limits_draw_harmonics(at, panel);
    spurity_limits_draw_carrier(at, panel);
    free(ends);
}

static void draw(spurity_limits *at, const spurity_rules *rules)
{
    set_panels(at);
    spurity_limits_collect_lines(at);
    at->sheet.base = SPURITY_PLOT_BOTTOM;
    spurity_limits_give_letters(at);
    at->sheet.base = SPURITY_PLOT_BOTTOM + SPURITY_LIMITS_CAPTION_ROW * (double)at->letter_count;
    for (size_t p = 0; p < at->panel_count; p++)
        draw_panel(at, &at->panels[p], p + 1 == at->panel_count);
    spurity_limits_draw_names(at);
    spurity_limits_draw_letters(at);
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
        status = spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "no level that could be drawn",
                                spurity_allowance_needs(allowance), "the picture needs what decides");
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
