/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The text a technician reads in ten seconds: verdict, carrier, one row an emission, stretches where nothing was seen,
 * what was not shown and the next step, assumptions.  Words carry the meaning; colour only repeats it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"

/* How much of each list is told; the rest is counted and stands in the JSON result. */
enum { ROWS_MOST = 40, STRETCHES_MOST = 12, GAPS_MOST = 12, REASONS_MOST = 3, ALIKE_MOST = 3, WARNINGS_MOST = 500 };

typedef struct page {
    spurity_page page;
    spurity_shown shown;
} page;

/* Colour of an outcome: green, amber (whatever is undecided), red. */
static const char *outcome_style(int rank)
{
    return rank == 0 ? SPURITY_STYLE_GOOD : rank >= 4 ? SPURITY_STYLE_BAD : SPURITY_STYLE_OPEN;
}

static void note(page *at, const char *words)
{
    spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
}

/* "57.8 dB"; nothing where the figure is not known. */
static void set_figure(spurity_page_row *row, size_t column, const char *before, double value, const char *unit)
{
    char figure[40], words[80] = "";
    if (isfinite(value))
        snprintf(words, sizeof words, "%s%s %s", before, spurity_format_db(figure, sizeof figure, value), unit);
    spurity_page_cell(row, column, words);
}

static void set_frequency(spurity_page_row *row, size_t column, double hz, double known_to_hz)
{
    char words[48] = "";
    if (isfinite(hz))
        spurity_word_frequency(hz, known_to_hz, words, sizeof words);
    spurity_page_cell(row, column, words);
}

/* Limit, margin, U, clause, outcome from one column on. */
static void set_judgement(const page *at, spurity_page_row *row, size_t column, const spurity_shown_judgement *one)
{
    char words[112], figure[40];
    spurity_page_cell(row, column, one->binding);
    if (!one->binding[0])
        set_figure(row, column, "", one->limit, one->unit);
    spurity_page_cell(row, column + 1, isfinite(one->margin) ? spurity_word_margin(one, words, sizeof words) : "");
    words[0] = '\0';
    if (isfinite(one->margin) && isfinite(one->uncertainty) && strcmp(one->unit, "Hz") != 0)
        snprintf(words, sizeof words, "\u00b1%s", spurity_format_db(figure, sizeof figure, one->uncertainty));
    spurity_page_cell(row, column + 2, words);
    spurity_page_cell(row, column + 3, spurity_word_clause(&at->shown, one->rules, one->clause, words, sizeof words));
    spurity_page_cell(row, column + 4, one->outcome);
    row->style = outcome_style(one->rank);
}

/* ---- head ----------------------------------------------------------------------------------------------------- */

/* The judgements that decided, the first few. */
static void write_reasons(page *at, size_t verdict)
{
    const spurity_result *result = at->shown.result;
    char path[64], words[80];
    snprintf(path, sizeof path, "verdicts/%zu/reasons", verdict);
    size_t count = spurity_result_length(result, path), shown = count > REASONS_MOST ? REASONS_MOST - 1 : count;
    for (size_t i = 0; i < shown; i++) {
        snprintf(path, sizeof path, "verdicts/%zu/reasons/%zu", verdict, i);
        const char *reason = spurity_result_text(result, path);
        spurity_buffer_blanks(&at->page.out, 2);
        spurity_page_paragraph(&at->page, 2, 6, reason ? reason : "");
    }
    if (shown < count) {
        snprintf(words, sizeof words, "and %zu more like these", count - shown);
        note(at, words);
    }
}

/* What one of several rule sets says. */
static void write_own_headline(page *at, size_t verdict, int rank)
{
    const char *words = spurity_shown_text(at->shown.result, "verdicts", verdict, "headline");
    if (!words[0]) /* a result that has none yet */
        words = spurity_shown_text(at->shown.result, "verdicts", verdict, "verdict");
    spurity_page_style(&at->page, outcome_style(rank));
    spurity_buffer_blanks(&at->page.out, 2);
    spurity_page_paragraph(&at->page, 2, 6, words);
    spurity_page_style(&at->page, "0");
}

static void write_head(page *at)
{
    const spurity_result *result = at->shown.result;
    if (!at->shown.judged) {
        spurity_page_style(&at->page, SPURITY_STYLE_STRONG);
        spurity_page_paragraph(&at->page, 0, 2, "measured, not judged");
        spurity_page_style(&at->page, "0");
        return;
    }
    spurity_page_style(&at->page, SPURITY_STYLE_STRONG);
    spurity_page_style(&at->page, outcome_style(spurity_outcome_rank(spurity_result_text(result, "verdict"))));
    spurity_page_paragraph(&at->page, 0, 2, spurity_result_text(result, "headline"));
    spurity_page_style(&at->page, "0");
    int rank = spurity_outcome_rank(spurity_result_text(result, "verdict"));
    bool told = false; /* the headline tells the facts of the first of the worst */
    for (size_t i = 0; i < at->shown.sets; i++) {
        char words[700];
        int own = spurity_outcome_rank(spurity_shown_text(result, "verdicts", i, "verdict"));
        snprintf(words, sizeof words, "%.40s: %.200s (%.200s)", spurity_shown_text(result, "verdicts", i, "rules/id"),
                 spurity_shown_text(result, "verdicts", i, "rules/title"),
                 spurity_shown_text(result, "verdicts", i, "rules/edition"));
        note(at, words);
        if (told || own != rank)
            write_own_headline(at, i, own);
        told = told || own == rank;
        if (own)
            write_reasons(at, i);
    }
}

static void append(char *words, size_t size, const char *more)
{
    size_t used = strlen(words);
    snprintf(words + used, size - used, "%s", more);
}

static void write_carrier(page *at)
{
    const spurity_result *result = at->shown.result;
    char words[400] = "", part[120], figure[48], power[48];
    double hz = NAN, known = 10, dbm, watts, expanded, width;
    spurity_result_number(result, "carrier/frequency_hz", &hz);
    spurity_result_number(result, "carrier/frequency_uncertainty_hz", &known);
    append(words, sizeof words, isfinite(hz) ? spurity_word_frequency(hz, known, figure, sizeof figure) : "not known");
    if (spurity_result_number(result, "carrier/level_dbm", &dbm) &&
        spurity_result_number(result, "carrier/power_w", &watts)) {
        snprintf(part, sizeof part, ", %s dBm (%s)", spurity_format_db(figure, sizeof figure, dbm),
                 spurity_format_power(power, sizeof power, watts));
        append(words, sizeof words, part);
        if (spurity_result_number(result, "carrier/uncertainty_db", &expanded)) {
            snprintf(part, sizeof part, " \u00b1%s dB", spurity_format_db(figure, sizeof figure, expanded));
            append(words, sizeof words, part);
        }
        const char *source = spurity_result_text(result, "carrier/source");
        snprintf(part, sizeof part, ", from the %s", spurity_word_source(result));
        append(words, sizeof words, source && !strcmp(source, "trace") ? part : ", by power meter");
    } else {
        append(words, sizeof words, ", power not known");
    }
    const char *character = spurity_result_text(result, "carrier/character");
    if (character && strcmp(character, "line") != 0 && spurity_result_number(result, "carrier/width_hz", &width)) {
        snprintf(part, sizeof part, ", %.20s, %s wide", character,
                 spurity_word_frequency(width, width / 100, figure, sizeof figure));
        append(words, sizeof words, part);
    }
    double count, spread;
    if (spurity_result_number(result, "carrier/repeats/count", &count) &&
        spurity_result_number(result, "carrier/repeats/spread_db", &spread)) {
        snprintf(part, sizeof part, ", mean of %.0f sweeps that spread over %.1f dB", count, spread);
        append(words, sizeof words, part);
    }
    spurity_page_heading(&at->page, "carrier");
    spurity_page_indented(&at->page, 2, words);
    for (size_t i = 0; i < at->shown.sets; i++)
        if (spurity_word_channel(result, i, words, sizeof words)[0])
            spurity_page_indented(&at->page, 2, words);
}

/* "4.7 W", "146.94 MHz", "-16.0 dBm" in the judgement's unit. */
static char *in_unit(char *words, size_t size, double value, const char *unit)
{
    char figure[48];
    if (!isfinite(value))
        snprintf(words, size, "not known");
    else if (!strcmp(unit, "W"))
        spurity_format_power(words, size, value);
    else if (!strcmp(unit, "Hz"))
        spurity_word_frequency(value, value / 1e6, words, size);
    else
        snprintf(words, size, "%s %.8s", spurity_format_db(figure, sizeof figure, value), unit);
    return words;
}

/* Judgements of the carrier itself: power, band, frequency. */
static bool is_of_carrier(const spurity_shown_judgement *one)
{
    return one->emission < 0 && !(one->to_hz > one->from_hz);
}

static void write_carrier_judgements(page *at)
{
    for (size_t i = 0; i < at->shown.judgement_count; i++) {
        const spurity_shown_judgement *one = &at->shown.judgements[i];
        char words[500], measured[64], limit[64], margin[112];
        if (!is_of_carrier(one))
            continue;
        snprintf(words, sizeof words, "%.48s%s %s", one->quantity, one->at_most ? " at most" : "",
                 in_unit(measured, sizeof measured, one->measured, one->unit));
        if (!isfinite(one->measured))
            snprintf(words, sizeof words, "%.48s", one->quantity);
        if (one->binding[0] || isfinite(one->limit)) {
            bool place = !strcmp(one->quantity, "band") || !strcmp(one->quantity, "channel");
            append(words, sizeof words, place ? ", " : ", limit ");
            append(words, sizeof words,
                   one->binding[0] ? one->binding : in_unit(limit, sizeof limit, one->limit, one->unit));
        }
        if (isfinite(one->margin)) {
            append(words, sizeof words, ", ");
            append(words, sizeof words, spurity_word_margin(one, margin, sizeof margin));
        }
        append(words, sizeof words, " (");
        append(words, sizeof words, spurity_word_clause(&at->shown, one->rules, one->clause, margin, sizeof margin));
        append(words, sizeof words, "): ");
        append(words, sizeof words, one->outcome);
        spurity_page_indented(&at->page, 2, words);
    }
}

/* ---- captures ---- */

static void write_captures(page *at)
{
    const spurity_result *result = at->shown.result;
    bool headed = false;
    for (size_t i = 0; i < spurity_result_length(result, "inputs"); i++) {
        char words[600], spectrum[400], name[120];
        if (!spurity_is_capture(result, i))
            continue;
        if (!headed)
            spurity_page_heading(&at->page, "captures");
        headed = true;
        const char *file = spurity_shown_text(result, "inputs", i, "file"), *slash = strrchr(file, '/');
        spurity_plain(name, sizeof name,
                      slash && slash[1]   ? slash + 1
                      : strcmp(file, "-") ? file
                                          : "standard input",
                      60);
        spurity_word_spectrum(result, i, spectrum, sizeof spectrum);
        snprintf(words, sizeof words, "%s: %s", name, spectrum);
        spurity_buffer_blanks(&at->page.out, 2);
        spurity_page_paragraph(&at->page, 2, 6, words);
        spurity_word_keying(result, i, words, sizeof words);
        if (words[0])
            spurity_page_indented(&at->page, 6, words);
    }
}

/* ---- emissions ------------------------------------------------------------------------------------------------- */

/* Harmonics 2 and 3 are always told, and all that were asked for by number. */
static bool is_told_always(const page *at, const spurity_shown_emission *one)
{
    const char *asked = spurity_result_text(at->shown.result, "settings/harmonics/from");
    bool harmonic = !strcmp(one->kind, "harmonic");
    return one->reportable || (harmonic && (one->order <= 3 || (asked && strcmp(asked, "default") != 0)));
}

/* What is told in one line: how many, how many of them bounds only. */
struct quiet {
    size_t count, unseen;
};

/* Which emissions get a row: all that are told, or the worst where there are too many.  Marks them in `keep`; the rest
 * counts in *quiet (alone it gets a row) or in *left_out. */
static void choose(const page *at, bool *keep, struct quiet *quiet, size_t *left_out)
{
    const spurity_shown *shown = &at->shown;
    size_t kept = 0;
    for (size_t i = 0; i < shown->emission_count; i++) {
        bool told = is_told_always(at, &shown->emissions[i]);
        quiet->count += !told;
        quiet->unseen += !told && !shown->emissions[i].seen;
    }
    if (quiet->count == 1)
        *quiet = (struct quiet){0};
    for (int rank = 5; rank >= -1; rank--)
        for (size_t i = 0; i < shown->emission_count; i++) {
            const spurity_shown_emission *one = &shown->emissions[i];
            if ((one->judgement < 0 ? -1 : shown->judgements[one->judgement].rank) != rank ||
                (quiet->count && !is_told_always(at, one)))
                continue;
            keep[i] = kept < ROWS_MOST;
            kept += keep[i];
            *left_out += !keep[i];
        }
}

/* Among several rule sets a row has the figures of the strictest line, and the worst outcome with its owner. */
static void set_row_judgement(const page *at, spurity_page_row *row, const spurity_shown_emission *one)
{
    char words[112];
    const spurity_shown_judgement *worst = &at->shown.judgements[one->judgement];
    const spurity_shown_judgement *strictest = &at->shown.judgements[one->strictest];
    if (at->shown.sets < 2) {
        set_judgement(at, row, 4, worst);
        return;
    }
    set_judgement(at, row, 4, strictest);
    if (worst->rank != strictest->rank) {
        snprintf(words, sizeof words, "%.24s (%.40s)", worst->outcome, worst->rules);
        spurity_page_cell(row, 8, words);
        row->style = outcome_style(worst->rank);
    }
}

static void set_emission(const page *at, spurity_page_row *row, const spurity_shown_emission *one)
{
    char words[64];
    /* what the receiver made is at most its level of the set's; another file's bound is what was judged */
    bool settled = isfinite(one->at_most_dbc);
    const char *bound = one->at_most ? "\u2264 " : "";
    spurity_page_cell(row, 0, spurity_word_emission(one, words, sizeof words));
    set_frequency(row, 1, one->frequency_hz, one->frequency_uncertainty_hz);
    set_figure(row, 2, bound, settled ? one->at_most_dbm : one->level_dbm, "dBm");
    set_figure(row, 3, one->at_most ? "\u2265 " : "", settled ? -one->at_most_dbc : -one->level_dbc, "dB");
    if (one->judgement >= 0)
        set_row_judgement(at, row, one);
    else if (!at->shown.judged)
        spurity_page_cell(row, 4, strcmp(one->character, "line") ? one->character : "");
}

/* What was no line is judged by its power in a bandwidth: "200 MHz: -10.8 dBm, integrated over 100 kHz", of stretches,
 * the level of which stands in the table, without it.  False for lines. */
static bool word_reading(const page *at, size_t index, bool level, char *words, size_t size)
{
    const spurity_shown_judgement *one = &at->shown.judgements[index];
    const char *reading = spurity_shown_text(at->shown.result, "judgements", index, "reading");
    char where[48], figure[64], measured[80] = "";
    if (!reading[0] || !strcmp(reading, "a line") || !strcmp(reading, "a hidden line") || !isfinite(one->measured))
        return false;
    if (level)
        snprintf(measured, sizeof measured, "%s%s, ", one->at_most ? "at most " : "",
                 in_unit(figure, sizeof figure, one->measured, one->unit));
    snprintf(words, size, "%s: %s%.100s", spurity_word_frequency(one->frequency_hz, NAN, where, sizeof where), measured,
             reading);
    return true;
}

/* By what sentence of the rules quiet emissions need not be reported: where all rule sets have one. */
static const char *unreported_by(const page *at)
{
    const char *by = "";
    for (size_t i = 0; i < at->shown.sets; i++) {
        by = spurity_shown_text(at->shown.result, "verdicts", i, "unreported_by");
        if (!by[0])
            break;
    }
    return by;
}

static void write_quiet(page *at, const struct quiet *quiet)
{
    char words[240], unseen[48] = "";
    const char *by = unreported_by(at);
    if (quiet->unseen == quiet->count)
        snprintf(unseen, sizeof unseen, ", none of them seen");
    else if (quiet->unseen)
        snprintf(unseen, sizeof unseen, ", %zu of them not seen", quiet->unseen);
    snprintf(words, sizeof words, "and %zu more%s, more than 20 dB below %s: %s%.60s%s", quiet->count, unseen,
             at->shown.sets > 1 ? "every limit" : "their limit",
             by[0] ? "need not be reported (" : "in the JSON result", by, by[0] ? ")" : "");
    note(at, words);
}

static void write_emissions(page *at)
{
    static const spurity_page_column judged[SPURITY_PAGE_CELLS] = {
        {"", false, 0},      {"where", true, 0}, {"level", true, 5},   {"down", true, 4}, {"limit", false, 2},
        {"margin", true, 0}, {"U, dB", true, 3}, {"clause", false, 1}, {"", false, 0}};
    static const spurity_page_column several[SPURITY_PAGE_CELLS] = {
        {"", false, 0},      {"where", true, 0}, {"level", true, 4},      {"down", true, 3}, {"limit", false, 2},
        {"margin", true, 0}, {"U, dB", true, 1}, {"strictest", false, 0}, {"", false, 0}};
    static const spurity_page_column measured[] = {
        {"", false, 0}, {"where", true, 0}, {"level", true, 0}, {"down", true, 0}, {"", false, 1}};
    size_t count = at->shown.emission_count, left_out = 0;
    struct quiet quiet = {0};
    char title[160] = "emissions", words[80], reading[240];
    if (!count) {
        spurity_page_heading(&at->page, title);
        spurity_page_indented(&at->page, 2, "none seen");
        return;
    }
    bool *keep = calloc(count, sizeof *keep);
    if (!keep) {
        at->page.out.failed = true;
        return;
    }
    spurity_page_table rows = {0};
    rows.columns = !at->shown.judged ? measured : at->shown.sets > 1 ? several : judged;
    rows.column_count = at->shown.judged ? SPURITY_PAGE_CELLS : sizeof measured / sizeof measured[0];
    choose(at, keep, &quiet, &left_out);
    for (size_t i = 0; i < count; i++) {
        spurity_page_row *row = keep[i] ? spurity_page_row_add(&at->page, &rows) : NULL;
        if (row)
            set_emission(at, row, &at->shown.emissions[i]);
    }
    if (at->shown.judged)
        spurity_page_common_cell(&rows, 7, title, sizeof title);
    spurity_page_heading(&at->page, title);
    if (rows.row_count)
        spurity_page_table_write(&at->page, &rows);
    for (size_t i = 0; i < count; i++)
        if (keep[i] && at->shown.emissions[i].judgement >= 0 &&
            word_reading(at, (size_t)at->shown.emissions[i].judgement, true, reading, sizeof reading))
            note(at, reading);
    if (left_out) {
        snprintf(words, sizeof words, "and %zu more, none of them worse, in the JSON result", left_out);
        note(at, words);
    }
    if (quiet.count)
        write_quiet(at, &quiet);
    free(keep);
}

/* ---- stretches --------------------------------------------------------------------------------------------------- */

/* A clause without a figure is told in words further down; it has no stretch to come near. */
static bool is_stretch(const spurity_shown_judgement *one)
{
    enum { NO_LIMIT = 2 };
    return one->emission < 0 && one->to_hz > one->from_hz && one->rank != NO_LIMIT;
}

/* Each once: several rules may ask for the same. */
static void write_readings(page *at, const size_t *judged, size_t count)
{
    char words[240], before[240] = "";
    for (size_t i = 0; i < count; i++) {
        if (!word_reading(at, judged[i], false, words, sizeof words) || !strcmp(words, before))
            continue;
        note(at, words);
        memcpy(before, words, sizeof before);
    }
}

static void write_stretches(page *at)
{
    static const spurity_page_column columns[] = {{"stretch", false, 0}, {"nearest at", true, 4}, {"at most", true, 5},
                                                  {"limit", false, 3},   {"margin", true, 0},     {"U, dB", true, 2},
                                                  {"clause", false, 1},  {"", false, 0}};
    static const spurity_page_column several[] = {{"stretch", false, 0}, {"nearest at", true, 3}, {"at most", true, 4},
                                                  {"limit", false, 1},   {"margin", true, 0},     {"U, dB", true, 2},
                                                  {"clause", false, 0},  {"", false, 0}};
    spurity_page_table rows = {0};
    size_t left_out = 0, judged[STRETCHES_MOST];
    rows.columns = at->shown.sets > 1 ? several : columns;
    rows.column_count = sizeof columns / sizeof columns[0];
    for (int rank = 5; rank >= 0; rank--)
        for (size_t i = 0; i < at->shown.judgement_count; i++) {
            const spurity_shown_judgement *one = &at->shown.judgements[i];
            char words[112];
            if (!is_stretch(one) || one->rank != rank)
                continue;
            if (rows.row_count == STRETCHES_MOST) {
                left_out++;
                continue;
            }
            judged[rows.row_count] = i;
            spurity_page_row *row = spurity_page_row_add(&at->page, &rows);
            if (!row)
                continue;
            spurity_page_cell(row, 0, spurity_word_stretch(one->from_hz, one->to_hz, words, sizeof words));
            set_frequency(row, 1, one->frequency_hz, NAN);
            spurity_page_cell(row, 2,
                              isfinite(one->measured) ? in_unit(words, sizeof words, one->measured, one->unit) : "");
            set_judgement(at, row, 3, one);
        }
    if (rows.row_count) {
        char title[160] = "where nothing was seen";
        spurity_page_common_cell(&rows, 6, title, sizeof title);
        spurity_page_heading(&at->page, title);
        size_t count = rows.row_count; /* writing releases the rows */
        spurity_page_table_write(&at->page, &rows);
        write_readings(at, judged, count);
    }
    if (left_out) {
        char words[80];
        snprintf(words, sizeof words, "and %zu more, none of them worse, in the JSON result", left_out);
        note(at, words);
    }
}

/* ---- not shown, told, assumed -------------------------------------------------------------------------------------
 */

static void write_gap(page *at, size_t index, size_t count)
{
    char words[800];
    spurity_page_indented(&at->page, 2, spurity_word_gap(&at->shown, index, count, words, sizeof words));
    const char *advice = spurity_shown_text(at->shown.result, "not_shown", index, "advice");
    if (advice[0])
        spurity_page_indented(&at->page, 6, advice);
}

static void write_not_shown(page *at)
{
    const spurity_result *result = at->shown.result;
    size_t count = spurity_result_length(result, "not_shown"), written = 0, left_out = 0;
    if (count > 2000) /* comparing each with each has a price; a list this long is read by a program */
        count = 2000;
    for (size_t i = 0; i < count; i++) {
        if (spurity_gap_is_repeat(result, i))
            continue;
        if (!written)
            spurity_page_heading(&at->page, "not shown");
        if (written == GAPS_MOST) {
            left_out++;
            continue;
        }
        written++;
        write_gap(at, i, count);
    }
    if (left_out) {
        char words[80];
        snprintf(words, sizeof words, "and %zu more stretches in the JSON result", left_out);
        note(at, words);
    }
}

static void write_told(page *at)
{
    const spurity_result *result = at->shown.result;
    size_t count = spurity_result_length(result, "told");
    if (count)
        spurity_page_heading(&at->page, "binding, without a figure");
    for (size_t i = 0; i < count && i < 8; i++) {
        char words[700];
        snprintf(words, sizeof words, "%.60s: %.600s", spurity_shown_text(result, "told", i, "clause"),
                 spurity_shown_text(result, "told", i, "says"));
        spurity_page_indented(&at->page, 2, words);
    }
}

/* Warnings of one code after the first few are counted only: they say alike of other places. */
static bool is_told(const spurity_result *result, size_t index, size_t *alike)
{
    static const char list[] = "warnings";
    const char *code = spurity_shown_text(result, list, index, "code");
    size_t before = 0, all = 0;
    for (size_t i = 0; i < spurity_result_length(result, list); i++)
        if (!strcmp(spurity_shown_text(result, list, i, "code"), code)) {
            all++;
            before += i < index;
        }
    *alike = all > ALIKE_MOST && before == ALIKE_MOST - 1 ? all - ALIKE_MOST : 0;
    return before < ALIKE_MOST;
}

static void write_warning(page *at, size_t index, size_t alike)
{
    static const char list[] = "warnings";
    const spurity_result *result = at->shown.result;
    char words[900], path[40], more[60] = "";
    double file = spurity_shown_number(result, list, index, "file");
    const char *name = NULL;
    if (file >= 0 && file < 1e6 && spurity_result_length(result, "inputs") > 1) {
        snprintf(path, sizeof path, "inputs/%zu/file", (size_t)file);
        name = spurity_result_text(result, path);
    }
    const char *told = spurity_shown_text(result, list, index, "text");
    if (name && strstr(told, name)) /* it names its file already */
        name = NULL;
    if (alike)
        snprintf(more, sizeof more, "; and %zu more of this", alike);
    snprintf(words, sizeof words, "%.40s: %.500s%s%.100s%s%s", spurity_shown_text(result, list, index, "code"), told,
             name ? " (" : "", name ? name : "", name ? ")" : "", more);
    spurity_buffer_blanks(&at->page.out, 2);
    spurity_page_paragraph(&at->page, 2, 6, words);
}

static void write_warnings(page *at)
{
    size_t count = spurity_result_length(at->shown.result, "warnings");
    if (count)
        spurity_page_heading(&at->page, "assumed or doubtful");
    for (size_t i = 0; i < count && i < WARNINGS_MOST; i++) {
        size_t alike;
        if (is_told(at->shown.result, i, &alike))
            write_warning(at, i, alike);
    }
}

static void write_foot(page *at)
{
    spurity_buffer_text(&at->page.out, "\n");
    spurity_page_style(&at->page, SPURITY_STYLE_QUIET);
    spurity_page_paragraph(&at->page, 0, 0,
                           at->shown.judged
                               ? "U: expanded uncertainty (k = 2). This judges these figures; it is no certification."
                               : "Figures only; nothing was judged.");
    spurity_page_style(&at->page, "0");
}

spurity_status spurity_output_text(const spurity_result *result, const spurity_text_options *options,
                                   spurity_bytes *out, spurity_error *error)
{
    *out = (spurity_bytes){0};
    page at = {0};
    spurity_page_start(&at.page, options);
    spurity_status status = spurity_shown_load(result, &at.shown, error);
    if (status)
        return status;
    write_head(&at);
    write_carrier(&at);
    write_carrier_judgements(&at);
    write_captures(&at);
    write_emissions(&at);
    write_stretches(&at);
    write_not_shown(&at);
    write_told(&at);
    write_warnings(&at);
    write_foot(&at);
    spurity_shown_release(&at.shown);
    return spurity_buffer_give(&at.page.out, out, error);
}
