/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What was not shown and how to show it; clauses in words; what was assumed or is doubtful. */
#include <stdio.h>
#include <string.h>

#include "report.h"

enum { GAPS_MOST = 2000, GAPS_TOLD = 200, WARNINGS_MOST = 500 };

static void write_left_out(spurity_paper *at, size_t count)
{
    if (!count)
        return;
    spurity_buffer_text(&at->out, "<p class=\"quiet\">and ");
    spurity_html_count(&at->out, count);
    spurity_buffer_text(&at->out, " more in the JSON result</p>\n");
}

void spurity_paper_not_shown(spurity_paper *at)
{
    size_t all = spurity_result_length(at->result, "not_shown"), count = all < GAPS_MOST ? all : GAPS_MOST, told = 0;
    size_t left_out = all - count;
    char words[800];
    spurity_html_section(&at->out, "not-shown", "What was not shown, and how to show it");
    spurity_buffer_text(&at->out, all ? "<dl class=\"gaps\">\n" : "<p>Nothing that was asked stayed open.</p>\n");
    for (size_t i = 0; i < count; i++) {
        if (spurity_gap_is_repeat(at->result, i))
            continue;
        if (told++ >= GAPS_TOLD) {
            left_out++;
            continue;
        }
        spurity_buffer_text(&at->out, "<div><dt>");
        spurity_html_foreign(&at->out, spurity_word_gap(&at->shown, i, count, words, sizeof words));
        spurity_buffer_text(&at->out, "</dt><dd>");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, "not_shown", i, "advice"));
        spurity_buffer_text(&at->out, "</dd></div>\n");
    }
    spurity_buffer_text(&at->out, all ? "</dl>\n" : "");
    write_left_out(at, left_out);
    size_t groups = spurity_result_length(at->result, "not_examined");
    for (size_t i = 0; i < groups; i++) {
        char path[48];
        snprintf(path, sizeof path, "not_examined/%zu", i);
        const char *group = spurity_result_text(at->result, path);
        spurity_buffer_text(&at->out, i ? ", " : "<p>Not examined: ");
        spurity_html_text(&at->out, group ? group : "");
    }
    spurity_buffer_text(&at->out, groups ? ".</p>\n" : "");
    spurity_html_section_end(&at->out);
}

void spurity_paper_told(spurity_paper *at)
{
    size_t count = spurity_result_length(at->result, "told");
    if (!count)
        return;
    spurity_html_section(&at->out, "told", "Binding, without a figure");
    spurity_buffer_text(&at->out, "<dl class=\"gaps\">\n");
    for (size_t i = 0; i < count; i++) {
        spurity_buffer_text(&at->out, "<div><dt>");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, "told", i, "citation"));
        spurity_buffer_text(&at->out, "</dt><dd>");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, "told", i, "says"));
        spurity_buffer_text(&at->out, "</dd></div>\n");
    }
    spurity_buffer_text(&at->out, "</dl>\n");
    spurity_html_section_end(&at->out);
}

static void write_warning(spurity_paper *at, size_t index)
{
    static const char list[] = "warnings";
    char path[40];
    double file = spurity_shown_number(at->result, list, index, "file");
    const char *name = NULL, *text = spurity_shown_text(at->result, list, index, "text");
    if (file >= 0 && file < 1e6) {
        snprintf(path, sizeof path, "inputs/%zu/file", (size_t)file);
        name = spurity_result_text(at->result, path);
    }
    spurity_buffer_text(&at->out, "<div><dt>");
    spurity_html_text(&at->out, spurity_shown_text(at->result, list, index, "code"));
    spurity_buffer_text(&at->out, "</dt><dd>");
    spurity_html_foreign(&at->out, text);
    if (name && !strstr(text, name)) {
        spurity_buffer_text(&at->out, " <small>");
        spurity_html_foreign(&at->out, name);
        spurity_buffer_text(&at->out, "</small>");
    }
    spurity_buffer_text(&at->out, "</dd></div>\n");
}

void spurity_paper_assumed(spurity_paper *at)
{
    size_t all = spurity_result_length(at->result, "warnings"), count = all < WARNINGS_MOST ? all : WARNINGS_MOST;
    spurity_html_section(&at->out, "assumed", "Assumed or doubtful");
    spurity_buffer_text(&at->out, count ? "<dl class=\"gaps\">\n" : "<p>Nothing.</p>\n");
    for (size_t i = 0; i < count; i++)
        write_warning(at, i);
    spurity_buffer_text(&at->out, count ? "</dl>\n" : "");
    write_left_out(at, all - count);
    spurity_html_section_end(&at->out);
}
