/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the parts of the report write with. */
#include <math.h>
#include <string.h>

#include "report.h"

enum { CHARACTERS_MOST = 2000 };

void spurity_html_text(spurity_buffer *out, const char *text)
{
    static const char *const escapes[] = {
        ['&'] = "&amp;", ['<'] = "&lt;", ['>'] = "&gt;", ['"'] = "&quot;", ['\''] = "&#39;"};
    char plain[4 * CHARACTERS_MOST + 8];
    spurity_plain(plain, sizeof plain, text, CHARACTERS_MOST);
    for (const char *from = plain; *from;) {
        size_t length = strcspn(from, "&<>\"'");
        spurity_buffer_add(out, from, length);
        from += length;
        if (*from)
            spurity_buffer_text(out, escapes[(unsigned char)*from++]);
    }
}

void spurity_html_foreign(spurity_buffer *out, const char *text)
{
    spurity_buffer_text(out, "<bdi>");
    spurity_html_text(out, text);
    spurity_buffer_text(out, "</bdi>");
}

void spurity_html_number(spurity_buffer *out, double value, int decimals)
{
    char digits[40];
    size_t at = sizeof digits;
    double scale = pow(10, decimals);
    if (!(fabs(value) * scale < 9e15)) {
        spurity_buffer_text(out, "\u2013");
        return;
    }
    long long steps = llround(value * scale);
    unsigned long long left = (unsigned long long)(steps < 0 ? -steps : steps);
    for (int i = 0; i <= decimals || left; i++) {
        if (i == decimals && decimals)
            digits[--at] = '.';
        digits[--at] = (char)('0' + left % 10);
        left /= 10;
    }
    if (steps < 0)
        spurity_buffer_text(out, "\u2212");
    spurity_buffer_add(out, digits + at, sizeof digits - at);
}

void spurity_html_count(spurity_buffer *out, size_t count)
{
    spurity_html_number(out, (double)count, 0);
}

void spurity_html_section(spurity_buffer *out, const char *id, const char *title)
{
    spurity_buffer_text(out, "<section id=\"");
    spurity_buffer_text(out, id);
    spurity_buffer_text(out, "\">\n<h2>");
    spurity_buffer_text(out, title);
    spurity_buffer_text(out, "</h2>\n");
}

void spurity_html_section_end(spurity_buffer *out)
{
    spurity_buffer_text(out, "</section>\n");
}

void spurity_html_table(spurity_buffer *out, const char *class_name, const char *const *titles)
{
    spurity_buffer_text(out, "<table class=\"");
    spurity_buffer_text(out, class_name);
    spurity_buffer_text(out, "\">\n<thead><tr>");
    for (; *titles; titles++) {
        spurity_buffer_text(out, "<th scope=\"col\">");
        spurity_buffer_text(out, *titles);
        spurity_buffer_text(out, "</th>");
    }
    spurity_buffer_text(out, "</tr></thead>\n<tbody>\n");
}

void spurity_html_table_end(spurity_buffer *out)
{
    spurity_buffer_text(out, "</tbody>\n</table>\n");
}

void spurity_html_cell(spurity_buffer *out, const char *class_name, const char *label)
{
    spurity_buffer_text(out, "<td");
    if (class_name[0]) {
        spurity_buffer_text(out, " class=\"");
        spurity_buffer_text(out, class_name);
        spurity_buffer_text(out, "\"");
    }
    spurity_buffer_text(out, " data-label=\"");
    spurity_buffer_text(out, label);
    spurity_buffer_text(out, "\">");
}

void spurity_html_cell_end(spurity_buffer *out)
{
    spurity_buffer_text(out, "</td>");
}

void spurity_html_text_cell(spurity_buffer *out, const char *label, const char *text)
{
    spurity_html_cell(out, "", label);
    spurity_html_foreign(out, text);
    spurity_html_cell_end(out);
}

void spurity_html_small(spurity_buffer *out, const char *text)
{
    if (!text[0])
        return;
    spurity_buffer_text(out, "<small>");
    spurity_html_foreign(out, text);
    spurity_buffer_text(out, "</small>");
}
