/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The head of the report: the verdict in a sentence, by which rules, and the carrier. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report.h"

const char *spurity_paper_class(int rank)
{
    return rank == 0 ? "good" : rank >= 4 ? "bad" : "open";
}

/* Titles that the files carry, each once: what the technician called the set. */
static void write_titles(spurity_paper *at)
{
    static const char list[] = "inputs";
    size_t count = spurity_result_length(at->result, list), told = 0;
    for (size_t i = 0; i < count && told < 4; i++) {
        const char *title = spurity_shown_text(at->result, list, i, "title");
        bool again = !title[0];
        for (size_t k = 0; k < i && !again; k++)
            again = !strcmp(spurity_shown_text(at->result, list, k, "title"), title);
        if (again)
            continue;
        spurity_buffer_text(&at->out, told++ ? "; " : "<p class=\"titles\">By the files: ");
        spurity_html_foreign(&at->out, title);
    }
    if (told)
        spurity_buffer_text(&at->out, "</p>\n");
}

/* The judgements that decided a rule set. */
static void write_reasons(spurity_paper *at, size_t verdict)
{
    char path[64];
    snprintf(path, sizeof path, "verdicts/%zu/reasons", verdict);
    size_t count = spurity_result_length(at->result, path);
    if (count)
        spurity_buffer_text(&at->out, "<ul>\n");
    for (size_t i = 0; i < count; i++) {
        snprintf(path, sizeof path, "verdicts/%zu/reasons/%zu", verdict, i);
        const char *reason = spurity_result_text(at->result, path);
        spurity_buffer_text(&at->out, "<li>");
        spurity_html_foreign(&at->out, reason ? reason : "");
        spurity_buffer_text(&at->out, "</li>\n");
    }
    if (count)
        spurity_buffer_text(&at->out, "</ul>\n");
}

static void write_set(spurity_paper *at, size_t verdict)
{
    static const char list[] = "verdicts";
    char stretch[112];
    int rank = spurity_outcome_rank(spurity_shown_text(at->result, list, verdict, "verdict"));
    spurity_buffer_text(&at->out, "<div class=\"set\">\n<p><span class=\"outcome ");
    spurity_buffer_text(&at->out, spurity_paper_class(rank));
    spurity_buffer_text(&at->out, "\">");
    spurity_html_text(&at->out, spurity_shown_text(at->result, list, verdict, "verdict"));
    spurity_buffer_text(&at->out, "</span> by <b>");
    spurity_html_foreign(&at->out, spurity_shown_text(at->result, list, verdict, "rules/title"));
    spurity_buffer_text(&at->out, "</b> <small>");
    spurity_html_foreign(&at->out, spurity_shown_text(at->result, list, verdict, "rules/edition"));
    spurity_word_stretch(spurity_shown_number(at->result, list, verdict, "from_hz"),
                         spurity_shown_number(at->result, list, verdict, "to_hz"), stretch, sizeof stretch);
    spurity_buffer_text(&at->out, stretch[0] ? "; to be shown: " : "");
    spurity_html_text(&at->out, stretch);
    spurity_buffer_text(&at->out, "</small></p>\n");
    const char *headline = spurity_shown_text(at->result, list, verdict, "headline");
    if (at->shown.sets > 1 && headline[0]) {
        spurity_buffer_text(&at->out, "<p>");
        spurity_html_foreign(&at->out, headline);
        spurity_buffer_text(&at->out, "</p>\n");
    }
    write_reasons(at, verdict);
    spurity_buffer_text(&at->out, "</div>\n");
}

/* What no file knows: filled in by hand on paper. */
static void write_by_hand(spurity_paper *at)
{
    static const char *const fields[] = {"Set", "Serial number", "Bench", "Date", "Checked by"};
    spurity_buffer_text(&at->out, "<dl class=\"byhand\">");
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++) {
        spurity_buffer_text(&at->out, "<div><dt>");
        spurity_buffer_text(&at->out, fields[i]);
        spurity_buffer_text(&at->out, "</dt><dd></dd></div>");
    }
    spurity_buffer_text(&at->out, "</dl>\n");
}

void spurity_paper_head(spurity_paper *at)
{
    const char *verdict = spurity_result_text(at->result, "verdict");
    const char *headline = spurity_result_text(at->result, "headline");
    spurity_buffer_text(&at->out, "<header class=\"");
    spurity_buffer_text(&at->out, at->shown.judged ? spurity_paper_class(spurity_outcome_rank(verdict)) : "open");
    spurity_buffer_text(&at->out, "\">\n<p class=\"kind\">Test point of a transmitter</p>\n<h1>");
    spurity_html_foreign(&at->out, !at->shown.judged ? "Measured, not judged" : headline ? headline : "");
    spurity_buffer_text(&at->out, "</h1>\n");
    write_titles(at);
    spurity_buffer_text(&at->out, at->shown.judged
                                      ? "<p class=\"caution\">This judges the figures of the files named below. It is "
                                        "no certification.</p>\n</header>\n"
                                      : "<p class=\"caution\">Figures only; nothing was judged. It is no "
                                        "certification.</p>\n</header>\n");
    write_by_hand(at);
    for (size_t i = 0; i < at->shown.sets; i++)
        write_set(at, i);
}

/* ---- the carrier ------------------------------------------------------------------------------------------------- */

static void field(spurity_paper *at, const char *name, const char *words)
{
    if (!words[0])
        return;
    spurity_buffer_text(&at->out, "<div><dt>");
    spurity_buffer_text(&at->out, name);
    spurity_buffer_text(&at->out, "</dt><dd>");
    spurity_html_foreign(&at->out, words);
    spurity_buffer_text(&at->out, "</dd></div>\n");
}

static void field_level(spurity_paper *at, double watts)
{
    double expanded;
    char power[48];
    spurity_buffer_text(&at->out, "<div><dt>Level</dt><dd>");
    if (isfinite(at->carrier_dbm)) {
        spurity_html_number(&at->out, at->carrier_dbm, 2);
        spurity_buffer_text(&at->out, " dBm");
        if (isfinite(watts)) {
            spurity_buffer_text(&at->out, " (");
            spurity_html_text(&at->out, spurity_format_power(power, sizeof power, watts));
            spurity_buffer_text(&at->out, ")");
        }
        if (spurity_result_number(at->result, "carrier/uncertainty_db", &expanded)) {
            spurity_buffer_text(&at->out, " \u00b1");
            spurity_html_number(&at->out, expanded, 2);
            spurity_buffer_text(&at->out, " dB (U, k = 2)");
        }
    } else {
        spurity_buffer_text(&at->out, "not known");
    }
    spurity_buffer_text(&at->out, "</dd></div>\n");
}

void spurity_paper_carrier(spurity_paper *at)
{
    char words[300], figure[48];
    double hz = NAN, known = 10, watts = NAN, width = NAN;
    spurity_result_number(at->result, "carrier/frequency_hz", &hz);
    spurity_result_number(at->result, "carrier/frequency_uncertainty_hz", &known);
    spurity_result_number(at->result, "carrier/power_w", &watts);
    spurity_result_number(at->result, "carrier/width_hz", &width);
    spurity_html_section(&at->out, "carrier", "The carrier");
    spurity_buffer_text(&at->out, "<dl class=\"facts\">\n");
    field(at, "Frequency", isfinite(hz) ? spurity_word_frequency(hz, known, words, sizeof words) : "not known");
    field_level(at, watts);
    const char *source = spurity_result_text(at->result, "carrier/source");
    field(at, "Level from", source && !strcmp(source, "trace") ? spurity_word_source(at->result) : "power meter");
    const char *character = spurity_result_text(at->result, "carrier/character");
    if (character && strcmp(character, "line") != 0 && isfinite(width)) {
        snprintf(words, sizeof words, "%.20s, %s wide", character,
                 spurity_word_frequency(width, width / 100, figure, sizeof figure));
        field(at, "Character", words);
    }
    for (size_t i = 0; i < at->shown.sets; i++)
        field(at, "Channel", spurity_word_channel(at->result, i, words, sizeof words));
    spurity_buffer_text(&at->out, "</dl>\n");
    spurity_html_section_end(&at->out);
}
