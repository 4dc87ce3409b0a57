/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_REPORT_H
#define SPURITY_OUTPUT_REPORT_H
/* The report: a page of HTML from a result.  report.c is the whole, report_*.c its parts, html.c what all write with,
 * report.css the look.
 *
 * Text that came from a file or an option goes only through spurity_html_text (and spurity_html_foreign): escaped for
 * an element's content and for an attribute between double quotes alike.  spurity_buffer_text writes markup, which is
 * ours, from literals alone.  Class names come from literals too, never from a result. */
#include "internal.h"

typedef struct spurity_paper {
    spurity_buffer out;
    spurity_shown shown;
    const spurity_result *result;
    double carrier_dbm; /* NaN not known */
} spurity_paper;

/* ---- writing (html.c) -------------------------------------------------------------------------------------------- */

/** Text, of any origin: controls and marks of direction become blanks, & < > " ' are escaped; cut at 2000 characters.
 */
void spurity_html_text(spurity_buffer *out, const char *text);
/** As spurity_html_text, set apart so that its letters' direction does not turn what stands beside it. */
void spurity_html_foreign(spurity_buffer *out, const char *text);
/** A figure with so many decimals (0 to 6), a point in every locale and a true minus sign; a dash for what is not
 * finite. */
void spurity_html_number(spurity_buffer *out, double value, int decimals);
void spurity_html_count(spurity_buffer *out, size_t count);
/** "<section ...><h2>title</h2>"; id and title are literals. */
void spurity_html_section(spurity_buffer *out, const char *id, const char *title);
void spurity_html_section_end(spurity_buffer *out);
/** A table's head; titles are literals, NULL-terminated. */
void spurity_html_table(spurity_buffer *out, const char *class_name, const char *const *titles);
void spurity_html_table_end(spurity_buffer *out);
/** Opens a cell; `label` is its column's title, for narrow screens. */
void spurity_html_cell(spurity_buffer *out, const char *class_name, const char *label);
void spurity_html_cell_end(spurity_buffer *out);
/** A whole cell of one text. */
void spurity_html_text_cell(spurity_buffer *out, const char *label, const char *text);
/** A quiet line inside a cell; nothing for "". */
void spurity_html_small(spurity_buffer *out, const char *text);

/* ---- parts ---------------------------------------------------------------------------------------------------------
 */

/** report_head.c: verdict, rule sets with their reasons, the carrier. */
void spurity_paper_head(spurity_paper *at);
void spurity_paper_carrier(spurity_paper *at);
/** report_picture.c: the picture inline; SYSTEM as spurity_output_picture. */
spurity_status spurity_paper_picture(spurity_paper *at, spurity_error *error);
/** Keeps of an SVG what draws, with names of its own; everything else goes.  False: it is none. */
bool spurity_paper_clean_svg(const char *svg, size_t size, spurity_buffer *out);
/** report_judged.c: carrier, emissions and stretches against their limits. */
void spurity_paper_judged(spurity_paper *at);
/** report_budget.c: how the uncertainties add up. */
void spurity_paper_budgets(spurity_paper *at);
/** report_notes.c: what was not shown, told, assumed; report_sources.c: settings, inputs, rules, cautions. */
void spurity_paper_not_shown(spurity_paper *at);
void spurity_paper_told(spurity_paper *at);
void spurity_paper_assumed(spurity_paper *at);
void spurity_paper_settings(spurity_paper *at);
void spurity_paper_inputs(spurity_paper *at);
void spurity_paper_rules(spurity_paper *at);
void spurity_paper_cautions(spurity_paper *at);
/** "good", "open" or "bad", by the rank of an outcome. */
const char *spurity_paper_class(int rank);

#endif
