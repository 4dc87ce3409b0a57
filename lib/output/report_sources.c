/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a verdict rests on: settings, input files with their hashes, rules with citations and editions; and what it does
 * not say. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report.h"

void spurity_paper_settings(spurity_paper *at)
{
    static const char *const titles[] = {"Setting", "As understood", "From", NULL};
    spurity_setting setting;
    if (!spurity_result_setting(at->result, 0, &setting))
        return;
    spurity_html_section(&at->out, "settings", "Settings");
    spurity_html_table(&at->out, "plain", titles);
    for (size_t i = 0; spurity_result_setting(at->result, i, &setting); i++) {
        spurity_buffer_text(&at->out, "<tr>");
        spurity_html_text_cell(&at->out, "Setting", setting.name);
        spurity_html_text_cell(&at->out, "As understood", setting.value);
        spurity_html_text_cell(&at->out, "From", setting.from);
        spurity_buffer_text(&at->out, "</tr>\n");
    }
    spurity_html_table_end(&at->out);
    spurity_html_section_end(&at->out);
}

/* ---- inputs ------------------------------------------------------------------------------------------------------ */

static void write_what(spurity_paper *at, size_t index)
{
    static const char list[] = "inputs";
    char words[600];
    spurity_html_cell(&at->out, "", "What");
    spurity_html_text(&at->out, spurity_shown_text(at->result, list, index, "kind"));
    const char *role = spurity_shown_text(at->result, list, index, "role");
    double points = spurity_shown_number(at->result, list, index, "points");
    if (role[0] && strcmp(role, "transmitter") != 0) {
        spurity_buffer_text(&at->out, ", ");
        spurity_html_text(&at->out, role);
    }
    if (spurity_is_capture(at->result, index)) {
        spurity_word_spectrum(at->result, index, words, sizeof words);
        spurity_html_small(&at->out, words);
        spurity_word_keying(at->result, index, words, sizeof words);
        spurity_html_small(&at->out, words);
    } else if (points >= 0) {
        spurity_buffer_text(&at->out, "<small>");
        spurity_html_number(&at->out, points, 0);
        spurity_buffer_text(&at->out, " points</small>");
    }
    spurity_html_cell_end(&at->out);
}

static void write_chain(spurity_paper *at, size_t index)
{
    char path[64];
    snprintf(path, sizeof path, "inputs/%zu/chain", index);
    size_t count = spurity_result_length(at->result, path);
    spurity_html_cell(&at->out, "", "Between set and instrument");
    for (size_t i = 0; i < count; i++) {
        snprintf(path, sizeof path, "inputs/%zu/chain/%zu", index, i);
        const char *element = spurity_result_text(at->result, path);
        spurity_buffer_text(&at->out, i ? ", then " : "");
        spurity_html_foreign(&at->out, element ? element : "");
    }
    spurity_html_cell_end(&at->out);
}

void spurity_paper_inputs(spurity_paper *at)
{
    static const char list[] = "inputs";
    static const char *const titles[] = {"File", "What", "Between set and instrument", "SHA-256", NULL};
    size_t count = spurity_result_length(at->result, list);
    spurity_html_section(&at->out, "inputs", "Input files");
    spurity_html_table(&at->out, "plain inputs", titles);
    for (size_t i = 0; i < count; i++) {
        const char *hash = spurity_shown_text(at->result, list, i, "sha256");
        spurity_buffer_text(&at->out, "<tr>");
        spurity_html_cell(&at->out, "name", "File");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, list, i, "file"));
        spurity_html_small(&at->out, spurity_shown_text(at->result, list, i, "title"));
        spurity_html_cell_end(&at->out);
        write_what(at, i);
        write_chain(at, i);
        spurity_html_cell(&at->out, "hash", "SHA-256");
        spurity_html_text(&at->out, hash[0] ? hash : "none: not a file that could be read twice");
        spurity_html_cell_end(&at->out);
        spurity_buffer_text(&at->out, "</tr>\n");
    }
    spurity_html_table_end(&at->out);
    spurity_html_section_end(&at->out);
}

/* ---- rules ------------------------------------------------------------------------------------------------------- */

static void write_clauses(spurity_paper *at, size_t verdict)
{
    static const char *const titles[] = {"Clause", "Says, in our words", "Text", NULL};
    char list[48];
    snprintf(list, sizeof list, "verdicts/%zu/clauses", verdict);
    size_t count = spurity_result_length(at->result, list);
    if (!count)
        return;
    spurity_html_table(&at->out, "plain rules", titles);
    for (size_t i = 0; i < count; i++) {
        const char *status = spurity_shown_text(at->result, list, i, "status");
        spurity_buffer_text(&at->out, "<tr>");
        spurity_html_cell(&at->out, "", "Clause");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, list, i, "clause"));
        spurity_html_small(&at->out, spurity_shown_text(at->result, list, i, "citation"));
        spurity_html_cell_end(&at->out);
        spurity_html_text_cell(&at->out, "Says, in our words", spurity_shown_text(at->result, list, i, "says"));
        spurity_html_cell(&at->out, "", "Text");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, list, i, "edition"));
        spurity_html_small(&at->out, strcmp(status, "confirmed")
                                         ? "unverified: the figure was not compared with the text itself"
                                         : "figure compared with the text itself");
        spurity_html_cell_end(&at->out);
        spurity_buffer_text(&at->out, "</tr>\n");
    }
    spurity_html_table_end(&at->out);
}

void spurity_paper_rules(spurity_paper *at)
{
    static const char list[] = "verdicts";
    if (!at->shown.sets)
        return;
    spurity_html_section(&at->out, "rules", "Rules");
    for (size_t i = 0; i < at->shown.sets; i++) {
        spurity_buffer_text(&at->out, "<h3>");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, list, i, "rules/title"));
        spurity_html_small(&at->out, spurity_shown_text(at->result, list, i, "rules/id"));
        spurity_html_small(&at->out, spurity_shown_text(at->result, list, i, "rules/edition"));
        spurity_buffer_text(&at->out, "</h3>\n");
        const char *hash = spurity_shown_text(at->result, list, i, "rules/sha256");
        if (hash[0]) {
            spurity_buffer_text(&at->out, "<p class=\"quiet hash\">SHA-256 of the rule file: ");
            spurity_html_text(&at->out, hash);
            spurity_buffer_text(&at->out, "</p>\n");
        }
        write_clauses(at, i);
    }
    spurity_html_section_end(&at->out);
}

/* ---- cautions ---------------------------------------------------------------------------------------------------- */

static bool is_indicative(const spurity_paper *at)
{
    for (size_t i = 0; i < at->shown.sets; i++) {
        char path[48];
        snprintf(path, sizeof path, "verdicts/%zu/indicative", i);
        if (spurity_result_true(at->result, path))
            return true;
    }
    return false;
}

static bool is_unverified(const spurity_paper *at)
{
    for (size_t i = 0; i < at->shown.judgement_count; i++)
        if (!at->shown.judgements[i].confirmed)
            return true;
    return false;
}

static const char *decision_words(const spurity_paper *at)
{
    const char *decision = spurity_result_text(at->result, "settings/decision/value");
    if (decision && !strcmp(decision, "simple"))
        return "Decided by simple acceptance (ILAC-G8:09/2019, 4.2.1): inside the limit passes. A set whose true level "
               "is just over its limit passes this in up to half of all tests.";
    return "Decided with a guard band of U (ILAC-G8:09/2019, 4.2.3; U is expanded uncertainty, k = 2): pass where the "
           "margin is at least U, fail where the limit is passed by more than U, between them the conditional "
           "outcomes. A bound that is not inside its limit by U is not shown.";
}

static void caution(spurity_paper *at, const char *words)
{
    spurity_buffer_text(&at->out, "<li>");
    spurity_html_text(&at->out, words);
    spurity_buffer_text(&at->out, "</li>\n");
}

void spurity_paper_cautions(spurity_paper *at)
{
    spurity_html_section(&at->out, "cautions", "Cautions");
    spurity_buffer_text(&at->out, "<ul>\n");
    caution(at, "This is no certification and stands for none. It tells what these files show of one transmitter, in "
                "the state in which it was keyed, at its antenna terminal.");
    caution(at, "What the case, the leads and the antenna radiate was not looked at.");
    if (at->shown.judged)
        caution(at, decision_words(at));
    if (is_indicative(at))
        caution(at, "Sets of this service have a fixed antenna: what is read at a terminal only indicates what they "
                    "radiate.");
    if (is_unverified(at))
        caution(at, "Clauses marked unverified have figures that were not compared with the regulation's own text; "
                    "they give conditional outcomes at best.");
    caution(at, "A hash tells that a file is the one that was judged. It does not tell which set was on the bench.");
    caution(at, "Before keying again, reckon what reaches each pad and the instrument: with the first pad left out the "
                "whole carrier does. Key into a load rated for it, for no longer than its rating allows.");
    caution(at, "Figures are rounded to two decimals; a sum may be off by one in the last.");
    spurity_buffer_text(&at->out, "</ul>\n");
    spurity_html_section_end(&at->out);
}
