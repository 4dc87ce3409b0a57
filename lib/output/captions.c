/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The words around the plot: headline, carrier and rules, inputs, how to read it. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "sheet.h"

enum { TITLE_CHARACTERS = 480 };

static void append(char *words, size_t size, const char *more)
{
    size_t used = strlen(words);
    snprintf(words + used, size - used, "%s", more);
}

/* Bytes of the longest beginning of words, broken at a blank, that is at most `width` wide; all of them when they fit.
 */
static size_t fitting(char *words, double size, double width)
{
    if (spurity_sheet_text_width(words, size) <= width)
        return strlen(words);
    size_t end = 0;
    for (size_t i = 0; words[i]; i++) {
        if (words[i] != ' ')
            continue;
        words[i] = '\0';
        bool fits = spurity_sheet_text_width(words, size) <= width;
        words[i] = ' ';
        if (!fits)
            break;
        end = i;
    }
    return end ? end : strlen(words);
}

/* One line of the headline; returns what is left of the words.  The last one that may stand is cut to the width. */
static char *title_line(spurity_sheet *at, spurity_block block, char *words, double size, double y, bool last)
{
    const double width = SPURITY_SHEET_WIDTH - 48;
    size_t end = last ? strlen(words) : fitting(words, size, width);
    char *rest = words + end + (words[end] == ' ');
    words[end] = '\0';
    spurity_sheet_shorten(words, size, width);
    spurity_sheet_text(at, block, 24, y, words);
    return rest;
}

/* The headline: large in up to two lines, else smaller in up to three.  Returns the height it takes, px. */
double spurity_sheet_draw_title(spurity_sheet *at)
{
    const char *headline = spurity_result_text(at->shown.result, "headline");
    char words[4 * TITLE_CHARACTERS + 8];
    double size = 17 * SPURITY_BOLD, step = 23;
    spurity_plain(words, sizeof words, headline ? headline : "Measured, not judged", TITLE_CHARACTERS);
    size_t first = fitting(words, size, SPURITY_SHEET_WIDTH - 48);
    bool small = words[first] && spurity_sheet_text_width(words + first + 1, size) > SPURITY_SHEET_WIDTH - 48;
    if (small) {
        size = 14 * SPURITY_BOLD;
        step = 19;
    }
    double height = 0;
    int lines = small ? 3 : 2;
    char *rest = words;
    for (int line = 1; line <= lines && *rest; line++, height += step)
        rest = title_line(at, small ? SPURITY_BLOCK_TITLE_SMALL : SPURITY_BLOCK_TITLE, rest, size,
                          SPURITY_SHEET_HEIGHT - 28 - height, line == lines);
    return height;
}

void spurity_sheet_draw_subtitle(spurity_sheet *at, double y)
{
    char words[900] = "", part[300], frequency[48], power[48];
    const spurity_result *result = at->shown.result;
    double hz, known = 10, watts, expanded;
    spurity_result_number(result, "carrier/frequency_uncertainty_hz", &known);
    if (spurity_result_number(result, "carrier/frequency_hz", &hz))
        append(words, sizeof words, spurity_word_frequency(hz, known, frequency, sizeof frequency));
    if (spurity_result_number(result, "carrier/power_w", &watts)) {
        snprintf(part, sizeof part, ", %s", spurity_format_power(power, sizeof power, watts));
        append(words, sizeof words, part);
        if (spurity_result_number(result, "carrier/uncertainty_db", &expanded)) {
            snprintf(part, sizeof part, " \u00b1%s dB", spurity_format_db(power, sizeof power, expanded));
            append(words, sizeof words, part);
        }
        const char *source = spurity_result_text(result, "carrier/source");
        snprintf(part, sizeof part, " by the %s", spurity_word_source(result));
        append(words, sizeof words, source && !strcmp(source, "power meter") ? " by power meter" : part);
    }
    for (size_t i = 0; i < spurity_result_length(result, "verdicts") && i < 3; i++) {
        char path[40];
        snprintf(path, sizeof path, "verdicts/%zu/rules", i);
        const char *title = spurity_shown_text(result, "verdicts", i, "rules/title");
        const char *edition = spurity_shown_text(result, "verdicts", i, "rules/edition");
        snprintf(part, sizeof part, "   \u00b7   %.120s, %.120s", title, edition);
        append(words, sizeof words, part);
    }
    spurity_sheet_shorten(words, 11.5, SPURITY_SHEET_WIDTH - 48);
    spurity_sheet_text(at, SPURITY_BLOCK_SUBTITLE, 24, y, words);
}

/* "f0.csv behind pad 40 dB; h2.csv direct". */
static void inputs_words(const spurity_sheet *at, char *words, size_t size)
{
    const spurity_result *result = at->shown.result;
    words[0] = '\0';
    for (size_t i = 0; i < spurity_result_length(result, "inputs") && strlen(words) + 300 < size; i++) {
        char path[40], part[280], name[200];
        if (strcmp(spurity_shown_text(result, "inputs", i, "kind"), "loss") == 0)
            continue;
        const char *file = spurity_shown_text(result, "inputs", i, "file"), *slash = strrchr(file, '/');
        const char *title = spurity_shown_text(result, "inputs", i, "title");
        spurity_plain(name, sizeof name, slash && slash[1] ? slash + 1 : file, 40);
        snprintf(part, sizeof part, "%s%s", words[0] ? "   \u00b7   " : "",
                 strcmp(name, "-") ? name : "standard input");
        append(words, size, part);
        if (title[0]) {
            snprintf(part, sizeof part, " (%s)", spurity_plain(name, sizeof name, title, 40));
            append(words, size, part);
        }
        double rbw = spurity_is_capture(result, i) ? spurity_shown_number(result, "inputs", i, "capture/rbw_hz") : NAN;
        if (isfinite(rbw)) {
            snprintf(part, sizeof part, ", capture, RBW %s", spurity_word_frequency(rbw, rbw / 100, name, sizeof name));
            append(words, size, part);
        }
        snprintf(path, sizeof path, "inputs/%zu/chain", i);
        for (size_t k = 0; k < spurity_result_length(result, path) && k < 3; k++) {
            snprintf(path, sizeof path, "inputs/%zu/chain/%zu", i, k);
            const char *element = spurity_result_text(result, path);
            snprintf(part, sizeof part, ", %s", spurity_plain(name, sizeof name, element, 48));
            append(words, size, part);
            snprintf(path, sizeof path, "inputs/%zu/chain", i);
        }
    }
}

static bool has_limit(const spurity_sheet *at)
{
    for (size_t i = 0; i < at->picture->limit_count; i++)
        if (isfinite(at->picture->limit_db[i]))
            return true;
    return false;
}

void spurity_sheet_draw_captions(spurity_sheet *at, size_t left_out)
{
    char words[1500], more[80];
    inputs_words(at, words, sizeof words);
    spurity_sheet_shorten(words, 10, SPURITY_SHEET_WIDTH - 48);
    spurity_sheet_text(at, SPURITY_BLOCK_CAPTION, 24, 36, words);
    const char *tool = spurity_result_text(at->shown.result, "tool");
    snprintf(words, sizeof words,
             "line: highest reading, band down to the lowest%s   \u00b7   dot: seen, triangle: at most%s",
             has_limit(at) ? "   \u00b7   shaded: forbidden" : "",
             spurity_result_length(at->shown.result, "not_shown") ? "   \u00b7   hatched: not shown" : "");
    snprintf(more, sizeof more, "   \u00b7   %zu more without a label", left_out);
    append(words, sizeof words, left_out ? more : "");
    append(words, sizeof words, at->shown.judged ? "   \u00b7   no certification   \u00b7   " : "   \u00b7   ");
    append(words, sizeof words, tool ? tool : "");
    spurity_sheet_shorten(words, 10, SPURITY_SHEET_WIDTH - 48);
    spurity_sheet_text(at, SPURITY_BLOCK_CAPTION, 24, 18, words);
}
