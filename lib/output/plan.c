/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What is read before anyone keys the set.  The order is that of harm: first whether something would break, then what
 * to do, last what always holds. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"

typedef struct sheet {
    spurity_page page;
    const spurity_plan_report *report;
    const spurity_plan *plan;
    spurity_plan_figures figures;
} sheet;

/* ---- words ----------------------------------------------------------------------------------------------------- */

/* "30 dB", "40.5 dB". */
static char *decibels(char *text, size_t size, double db)
{
    char figure[40];
    spurity_format_db(figure, sizeof figure, db);
    size_t length = strlen(figure);
    if (length > 2 && !strcmp(figure + length - 2, ".0"))
        figure[length - 2] = '\0';
    snprintf(text, size, "%s dB", isfinite(db) ? figure : "unknown");
    return text;
}

static char *level(char *text, size_t size, double dbm)
{
    char figure[40];
    snprintf(text, size, "%s%s", isfinite(dbm) ? spurity_format_db(figure, sizeof figure, dbm) : "",
             isfinite(dbm) ? " dBm" : "");
    return text;
}

static char *duration(char *text, size_t size, double seconds)
{
    char figure[40];
    if (!isfinite(seconds) || seconds < 0)
        text[0] = '\0';
    else if (seconds < 0.9995)
        snprintf(text, size, "%.0f ms", fmax(1, ceil(1e3 * seconds)));
    else if (seconds < 10)
        snprintf(text, size, "%s s", spurity_format_db(figure, sizeof figure, seconds));
    else if (seconds < 120)
        snprintf(text, size, "%.0f s", ceil(seconds));
    else if (seconds < 7200)
        snprintf(text, size, "%.0f min", ceil(seconds / 60));
    else
        snprintf(text, size, "%.0f h", ceil(seconds / 3600));
    return text;
}

/* To 1 Hz at any frequency: it is keyed in. */
static char *frequency(char *text, size_t size, double hz)
{
    return spurity_format_frequency(text, size, hz, hz >= 1e9 ? 9 : 6);
}

/* ---- the answer ------------------------------------------------------------------------------------------------- */

static const char *outcome_style(spurity_plan_outcome outcome)
{
    return outcome == SPURITY_PLAN_READY     ? SPURITY_STYLE_GOOD
           : outcome == SPURITY_PLAN_HARMFUL ? SPURITY_STYLE_BAD
                                             : SPURITY_STYLE_OPEN;
}

static void write_question(sheet *at)
{
    char words[400], where[48], power[48], dbm[48];
    snprintf(words, sizeof words, "for a carrier on %s of %s (%s)",
             frequency(where, sizeof where, at->figures.carrier_hz),
             spurity_format_power(power, sizeof power, at->figures.power_w),
             level(dbm, sizeof dbm, spurity_dbm_from_watts(at->figures.power_w)));
    if (at->figures.to_hz > at->figures.from_hz) {
        char stretch[112];
        size_t used = strlen(words);
        spurity_word_stretch(at->figures.from_hz, at->figures.to_hz, stretch, sizeof stretch);
        snprintf(words + used, sizeof words - used, "; to be looked through: %s", stretch);
    }
    spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
    for (size_t i = 0; i < at->report->rules_count; i++) {
        const spurity_rules *rules = at->report->rules[i];
        snprintf(words, sizeof words, "%.40s: %.200s (%.140s)", spurity_rules_id(rules), spurity_rules_title(rules),
                 spurity_rules_edition(rules));
        spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
    }
}

static void write_answer(sheet *at)
{
    spurity_page_style(&at->page, SPURITY_STYLE_STRONG);
    spurity_page_style(&at->page, outcome_style(spurity_plan_outcome_of(at->plan)));
    spurity_page_paragraph(&at->page, 0, 2, spurity_plan_headline(at->plan));
    spurity_page_style(&at->page, "0");
    write_question(at);
}

/* ---- harm ---------------------------------------------------------------------------------------------------------
 */

/* A line that begins with an exclamation mark where something would break. */
static void warn(sheet *at, const char *words)
{
    spurity_page_style(&at->page, SPURITY_STYLE_BAD);
    spurity_buffer_text(&at->page.out, "  ! ");
    spurity_page_paragraph(&at->page, 4, 4, words);
    spurity_page_style(&at->page, "0");
}

static void name_of(const spurity_plan_attenuator *one, size_t index, char *text, size_t size)
{
    char db[48];
    if (!strcmp(one->name, "pad"))
        snprintf(text, size, "the %s pad (%zu%s from the set)", decibels(db, sizeof db, one->db), index + 1,
                 index == 0   ? "st"
                 : index == 1 ? "nd"
                 : index == 2 ? "rd"
                              : "th");
    else
        snprintf(text, size, "'%.60s'", one->name);
}

static void warn_of_missing(sheet *at, const spurity_plan_attenuator *one, size_t index)
{
    char words[400], name[120], arriving[48], limit[48], power[48];
    double dbm = one->missing_input_dbm, over = dbm - at->figures.max_input_dbm;
    name_of(one, index, name, sizeof name);
    spurity_format_power(power, sizeof power, spurity_watts_from_dbm(dbm));
    level(arriving, sizeof arriving, dbm);
    level(limit, sizeof limit, at->figures.max_input_dbm);
    if (over > 0)
        snprintf(words, sizeof words,
                 "if %s is left out or fails, %s (%s) reach an instrument that stands %s: it would be damaged", name,
                 arriving, power, limit);
    else
        snprintf(words, sizeof words, "if %s is left out, what follows it gets more than it stands%s%s%s", name,
                 arriving[0] ? "; " : "", arriving, arriving[0] ? " would reach the instrument" : "");
    warn(at, words);
}

/* What nobody said of a pad leaves open whether it burns. */
static void tell_unknown(sheet *at, const spurity_plan_attenuator *one, size_t index)
{
    char words[300], name[120];
    name_of(one, index, name, sizeof name);
    bool rating = !strcmp(one->name, "pad") && isnan(one->rating_w);
    if (!rating && !isnan(one->db))
        return;
    snprintf(words, sizeof words, "not known: the %s of %s was not said", rating ? "rating" : "loss at the carrier",
             name);
    spurity_page_styled(&at->page, SPURITY_STYLE_OPEN, 2, words);
}

static void write_harm(sheet *at)
{
    char words[400], first[64], second[64], third[64];
    size_t count = spurity_plan_attenuator_count(at->plan);
    spurity_page_heading(&at->page, "what would break");
    size_t before = at->page.out.size;
    double headroom = at->figures.headroom_db;
    if (headroom < 0) {
        snprintf(words, sizeof words, "%s reach the instrument, which stands %s: %s too much",
                 level(first, sizeof first, at->figures.level_at_instrument_dbm),
                 level(second, sizeof second, at->figures.max_input_dbm), decibels(third, sizeof third, -headroom));
        warn(at, words);
    }
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_attenuator *one = spurity_plan_attenuator_at(at->plan, i);
        char name[120];
        name_of(one, i, name, sizeof name);
        if (one->harmed) {
            snprintf(words, sizeof words, "%s gets %s and stands %s", name,
                     spurity_format_power(first, sizeof first, one->arriving_w),
                     spurity_format_power(second, sizeof second, one->rating_w));
            warn(at, words);
        }
    }
    for (size_t i = 0; i < count; i++)
        if (spurity_plan_attenuator_at(at->plan, i)->missing_harms)
            warn_of_missing(at, spurity_plan_attenuator_at(at->plan, i), i);
    for (size_t i = 0; i < count; i++)
        tell_unknown(at, spurity_plan_attenuator_at(at->plan, i), i);
    if (at->page.out.size == before)
        spurity_page_indented(&at->page, 2,
                              isfinite(headroom) ? "nothing, with this chain as it stands and with any one part of it "
                                                   "left out"
                                                 : "not known: say what the instrument stands (--max-input)");
}

/* ---- the ladder: level and power at each point, and what lies between ----------------------------------------------
 */

enum { RAIL = 26 }; /* columns of levels, powers and the rail itself */

static void write_rung(sheet *at, double watts, const char *rail, const char *words)
{
    char dbm[48] = "", power[48] = "", line[200];
    bool known = isfinite(watts) && watts > 0;
    if (known) {
        level(dbm, sizeof dbm, spurity_dbm_from_watts(watts));
        spurity_format_power(power, sizeof power, watts);
    }
    size_t wide = spurity_characters(power); /* "µW" is three bytes */
    spurity_buffer_blanks(&at->page.out, 2);
    snprintf(line, sizeof line, "%10s  %*s%s  ", dbm, (int)(wide < 8 ? 8 - wide : 0), "", power);
    spurity_buffer_text(&at->page.out, line);
    spurity_buffer_text(&at->page.out, rail);
    spurity_buffer_text(&at->page.out, words[0] ? " " : "");
    spurity_page_paragraph(&at->page, RAIL, RAIL + 2, words);
}

/* Words beside the rail, which goes on beside each of their lines. */
static void write_beside(sheet *at, const char *words)
{
    spurity_page beside = {.columns = at->page.columns - RAIL};
    spurity_page_paragraph(&beside, 0, 2, words);
    at->page.out.failed = at->page.out.failed || beside.out.failed;
    for (const char *line = beside.out.data; line && *line;) {
        size_t length = strcspn(line, "\n");
        spurity_buffer_blanks(&at->page.out, RAIL - 2);
        spurity_buffer_text(&at->page.out, "\u2502 ");
        spurity_buffer_add(&at->page.out, line, length);
        spurity_buffer_text(&at->page.out, "\n");
        line += length + (line[length] == '\n');
    }
    spurity_buffer_release(&beside.out);
}

/* What lies between two points, and what it gets: the plan's own words. */
static void write_between(sheet *at, const spurity_plan_attenuator *one)
{
    char words[500], db[48];
    bool pad = !strcmp(one->name, "pad");
    snprintf(words, sizeof words, "%s%s%s%s%s", pad ? "" : one->name, pad ? "" : ", ", decibels(db, sizeof db, one->db),
             pad ? " pad: " : ": ", one->why);
    if (one->harmed)
        spurity_page_style(&at->page, SPURITY_STYLE_BAD);
    write_beside(at, words);
    if (one->harmed)
        spurity_page_style(&at->page, "0");
}

/* Safe is not yet linear. */
static void write_more(sheet *at)
{
    char words[300], more[48], there[48];
    if (!(at->figures.more_pad_db > 0))
        return;
    snprintf(
        words, sizeof words,
        "%s more pad would keep the instrument linear: at %s expect it to compress and to add harmonics of its own",
        decibels(more, sizeof more, at->figures.more_pad_db),
        level(there, sizeof there, at->figures.level_at_instrument_dbm));
    spurity_page_styled(&at->page, SPURITY_STYLE_OPEN, 2, words);
}

static void write_needed(sheet *at)
{
    char words[300], needed[48], there[48];
    if (!isfinite(at->figures.attenuation_db))
        return;
    decibels(needed, sizeof needed, at->figures.attenuation_db);
    decibels(there, sizeof there, at->figures.pad_db);
    if (!isfinite(at->figures.pad_db))
        snprintf(words, sizeof words, "%s is needed at the carrier", needed);
    else
        snprintf(words, sizeof words, "%s is needed at the carrier, %s is there", needed, there);
    spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
}

static void write_ladder(sheet *at)
{
    char words[200] = "the instrument", limit[48], spare[48];
    size_t count = spurity_plan_attenuator_count(at->plan);
    bool proposed = count && spurity_plan_attenuator_at(at->plan, 0)->proposed;
    spurity_page_heading(&at->page, proposed ? "from the set to the instrument, as it should be built"
                                             : "from the set to the instrument");
    write_rung(at, at->figures.power_w, "\u252c", "the set");
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_attenuator *one = spurity_plan_attenuator_at(at->plan, i);
        if (i)
            write_rung(at, one->arriving_w, "\u253c", "");
        write_between(at, one);
    }
    if (!count)
        write_beside(at, "nothing in between");
    if (isfinite(at->figures.max_input_dbm))
        snprintf(words, sizeof words, "the instrument, stands %s: %s %s",
                 level(limit, sizeof limit, at->figures.max_input_dbm),
                 decibels(spare, sizeof spare, fabs(at->figures.headroom_db)),
                 at->figures.headroom_db < 0 ? "too much" : "to spare");
    else
        snprintf(words, sizeof words, "the instrument; what it stands is not said");
    write_rung(at, spurity_watts_from_dbm(at->figures.level_at_instrument_dbm), "\u2534", words);
    write_needed(at);
    write_more(at);
}

/* ---- what to sweep ---------------------------------------------------------------------------------------------- */

/* Whether two sentences differ in their figures at most: "harmonic 4: ..." and "harmonic 5: ...". */
static bool alike(const char *a, const char *b)
{
    static const char figures[] = "0123456789.";
    for (;; a++, b++) {
        a += strspn(a, figures);
        b += strspn(b, figures);
        if (*a != *b)
            return false;
        if (!*a)
            return true;
    }
}

/* What a row is for stands beneath it, once for a run of rows of one purpose that say the same. */
static void set_under(spurity_page_row *row, char before[320], bool like_before, const char *why, const char *filter)
{
    char words[400];
    snprintf(words, sizeof words, "%s%s%s", why, filter[0] ? "; a filter is wanted: " : "", filter);
    if (like_before && alike(words, before))
        return;
    spurity_plain(row->under, sizeof row->under, words, 300);
    snprintf(before, 320, "%s", row->under);
}

static void set_frequency(spurity_page_row *row, size_t column, double hz)
{
    char words[48] = "";
    if (isfinite(hz))
        frequency(words, sizeof words, hz);
    spurity_page_cell(row, column, words);
}

static void set_sweep(sheet *at, spurity_page_row *row, size_t index)
{
    const spurity_plan_sweep *one = spurity_plan_sweep_at(at->plan, index);
    char words[112], seconds[48];
    spurity_page_cell(row, 0, spurity_output_plan_file(at->plan, false, index, words, sizeof words));
    set_frequency(row, 1, one->start_hz);
    set_frequency(row, 2, one->stop_hz);
    set_frequency(row, 3, one->rbw_hz);
    snprintf(words, sizeof words, "%zu", one->points);
    spurity_page_cell(row, 4, words);
    spurity_page_cell(row, 5, spurity_detector_name(one->detector));
    duration(seconds, sizeof seconds, one->seconds);
    snprintf(words, sizeof words, "%.0f \u00d7 %s", one->sweeps, seconds);
    spurity_page_cell(row, 6, one->sweeps > 1 && one->sweeps < 1e6 ? words : seconds);
    if (one->more_pad_db > 0)
        spurity_page_cell(row, 7, decibels(words, sizeof words, one->more_pad_db));
}

/* Of a long run of files of one purpose the first are shown; the rest is counted, with where it ends. */
enum { RUN_SHOWN = 3, RUN_LONG = 12 };

static spurity_plan_purpose purpose_at(const sheet *at, bool capture, size_t index)
{
    return capture ? spurity_plan_capture_at(at->plan, index)->purpose
                   : spurity_plan_sweep_at(at->plan, index)->purpose;
}

/* How many files of one purpose stand in a row from `index` on. */
static size_t run_length(const sheet *at, bool capture, size_t index, size_t count)
{
    size_t end = index + 1;
    while (end < count && purpose_at(at, capture, end) == purpose_at(at, capture, index))
        end++;
    return end - index;
}

/* A row that stands for `left` files, the last of which ends at to_hz. */
static void set_left_out(sheet *at, spurity_page_table *table, size_t left, double to_hz)
{
    spurity_page_row *row = spurity_page_row_add(&at->page, table);
    char hz[48];
    if (!row)
        return;
    spurity_page_cell(row, 0, "...");
    snprintf(row->under, sizeof row->under,
             "and %zu more of these, on to %s: each stands in the JSON and in the session file", left,
             frequency(hz, sizeof hz, to_hz));
}

static void add_sweeps(sheet *at, spurity_page_table *table)
{
    size_t count = spurity_plan_sweep_count(at->plan), run = 0, start = 0;
    char before[320] = "";
    bool padded = false; /* the row before */
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_sweep *one = spurity_plan_sweep_at(at->plan, i);
        bool first = i == start + run;
        if (first) {
            start = i;
            run = run_length(at, false, i, count);
        }
        if (run > RUN_LONG * 4 && i == start + RUN_SHOWN) {
            i = start + run - 1;
            set_left_out(at, table, run - RUN_SHOWN, spurity_plan_sweep_at(at->plan, i)->stop_hz);
            continue;
        }
        spurity_page_row *row = spurity_page_row_add(&at->page, table);
        if (!row)
            return;
        set_sweep(at, row, i);
        set_under(row, before, !first && !padded && !(one->more_pad_db > 0), one->why, one->filter);
        padded = one->more_pad_db > 0;
    }
}

static void write_sweeps(sheet *at)
{
    static const spurity_page_column columns[] = {{"save as", false, 0}, {"from", true, 0},    {"to", true, 0},
                                                  {"RBW", true, 0},      {"points", true, 2},  {"detector", false, 0},
                                                  {"takes", true, 1},    {"more pad", true, 0}};
    spurity_page_table table = {.columns = columns, .column_count = sizeof columns / sizeof *columns};
    size_t count = spurity_plan_sweep_count(at->plan);
    double seconds = 0;
    char words[200], time[48];
    if (!count)
        return;
    add_sweeps(at, &table);
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_sweep *one = spurity_plan_sweep_at(at->plan, i);
        seconds += one->seconds * fmax(1, one->sweeps);
    }
    snprintf(words, sizeof words, "%zu sweep%s to make, in this order", count, count == 1 ? "" : "s");
    spurity_page_heading(&at->page, words);
    spurity_page_table_write(&at->page, &table);
    if (seconds > 0 && isfinite(seconds)) {
        snprintf(words, sizeof words, "about %s of sweeping in all; mind the key-down time of set and pads",
                 duration(time, sizeof time, seconds));
        spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
    }
}

static char *rate(char *text, size_t size, double per_second)
{
    char hertz[48];
    frequency(hertz, sizeof hertz, per_second);
    size_t length = strlen(hertz); /* "2.4 MHz" is written "2.4 MS/s" */
    if (length > 2 && !strcmp(hertz + length - 2, "Hz"))
        hertz[length - 2] = '\0';
    snprintf(text, size, "%sS/s", hertz);
    return text;
}

enum { RATE_COLUMN = 2 };

static void set_capture(sheet *at, spurity_page_row *row, size_t index)
{
    const spurity_plan_capture *one = spurity_plan_capture_at(at->plan, index);
    char words[112];
    spurity_page_cell(row, 0, spurity_output_plan_file(at->plan, true, index, words, sizeof words));
    set_frequency(row, 1, one->center_hz);
    spurity_page_cell(row, RATE_COLUMN, rate(words, sizeof words, one->rate_hz));
    spurity_page_cell(row, 3, duration(words, sizeof words, one->seconds));
    set_frequency(row, 4, one->rbw_hz);
    set_frequency(row, 5, one->from_hz);
    set_frequency(row, 6, one->to_hz);
}

/* The rate all captures have; NaN where they differ. */
static double one_rate(const sheet *at)
{
    size_t count = spurity_plan_capture_count(at->plan);
    double hz = spurity_plan_capture_at(at->plan, 0)->rate_hz;
    for (size_t i = 1; i < count; i++)
        if (spurity_plan_capture_at(at->plan, i)->rate_hz != hz)
            return (double)NAN;
    return hz;
}

static void add_captures(sheet *at, spurity_page_table *table)
{
    size_t count = spurity_plan_capture_count(at->plan), run = 0, start = 0;
    char before[320] = "";
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_capture *one = spurity_plan_capture_at(at->plan, i);
        bool first = i == start + run;
        if (first) {
            start = i;
            run = run_length(at, true, i, count);
        }
        if (run > RUN_LONG && i == start + RUN_SHOWN) {
            i = start + run - 1;
            set_left_out(at, table, run - RUN_SHOWN, spurity_plan_capture_at(at->plan, i)->to_hz);
            continue;
        }
        spurity_page_row *row = spurity_page_row_add(&at->page, table);
        if (!row)
            return;
        set_capture(at, row, i);
        set_under(row, before, !first, one->why, one->filter);
    }
}

static void write_captures(sheet *at)
{
    static const spurity_page_column columns[] = {
        {"save as", false, 0}, {"tuned to", true, 0},    {"rate", true, 1}, {"lasts", true, 0},
        {"RBW", true, 2},      {"serves from", true, 3}, {"to", true, 3}};
    spurity_page_table table = {.columns = columns, .column_count = sizeof columns / sizeof *columns};
    size_t count = spurity_plan_capture_count(at->plan);
    char title[160], every[64], time[48];
    double seconds = 0;
    if (!count)
        return;
    add_captures(at, &table);
    for (size_t i = 0; i < count; i++)
        seconds += spurity_plan_capture_at(at->plan, i)->seconds;
    double hz = one_rate(at);
    snprintf(title, sizeof title, "%zu captures to make%s%s", count, isfinite(hz) ? " at " : "",
             isfinite(hz) ? rate(every, sizeof every, hz) : "");
    for (size_t i = 0; isfinite(hz) && i < table.row_count; i++)
        table.rows[i].cell[RATE_COLUMN][0] = '\0';
    spurity_page_heading(&at->page, title);
    spurity_page_table_write(&at->page, &table);
    if (isfinite(seconds)) {
        snprintf(title, sizeof title, "%s of recording in all; mind the key-down time of set and pads",
                 duration(time, sizeof time, seconds));
        spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, title);
    }
}

/* ---- what could be shown ------------------------------------------------------------------------------------------
 */

/* "97.307(e)", with the id of its rules where several are asked. */
static void clause_word(const sheet *at, const spurity_plan_visibility *one, char *text, size_t size)
{
    spurity_clause_facts facts = {0};
    text[0] = '\0';
    if (!one->clause)
        return;
    spurity_clause_facts_of(one->clause, &facts);
    bool several = at->report->rules_count > 1 && one->rules < at->report->rules_count;
    snprintf(text, size, "%s%s%s", several ? spurity_rules_id(at->report->rules[one->rules]) : "", several ? " " : "",
             facts.clause);
}

static void margin_word(const spurity_plan_visibility *one, char *text, size_t size)
{
    char db[48];
    if (isfinite(one->margin_db))
        snprintf(text, size, "%s %s", decibels(db, sizeof db, fabs(one->margin_db)),
                 one->margin_db < 0 ? "short" : "to spare");
    else
        text[0] = '\0';
}

enum { MARGIN_COLUMN = 5, CLAUSE_COLUMN = 6 };

static void set_visibility(const sheet *at, spurity_page_row *row, const spurity_plan_visibility *one)
{
    char words[112];
    bool open = isfinite(one->limit_dbm);
    spurity_page_cell(row, 0, one->what);
    if (isfinite(one->frequency_hz))
        spurity_page_cell(row, 1, spurity_word_frequency(one->frequency_hz, (double)NAN, words, sizeof words));
    spurity_page_cell(row, 2, level(words, sizeof words, one->limit_dbm));
    spurity_page_cell(row, 3, level(words, sizeof words, one->floor_dbm));
    spurity_page_cell(row, 4, level(words, sizeof words, one->bound_dbm));
    margin_word(one, words, sizeof words);
    spurity_page_cell(row, MARGIN_COLUMN, words);
    clause_word(at, one, words, sizeof words);
    spurity_page_cell(row, CLAUSE_COLUMN, words);
    spurity_page_cell(row, 7,
                      one->shown > 0    ? "shown"
                      : one->shown == 0 ? "NOT SHOWN"
                      : open            ? "not known"
                                        : "no limit");
    row->style = one->shown > 0    ? SPURITY_STYLE_GOOD
                 : one->shown == 0 ? SPURITY_STYLE_BAD
                 : open            ? SPURITY_STYLE_OPEN
                                   : SPURITY_STYLE_QUIET;
    if (one->shown <= 0)
        spurity_plain(row->under, sizeof row->under, one->advice, 280);
}

/* An advice that only repeats the one above it is left out. */
static void advise_once(spurity_page_table *table)
{
    for (size_t i = table->row_count; i > 1; i--) {
        spurity_page_row *row = &table->rows[i - 1], *above = &table->rows[i - 2];
        bool figures_matter = row->cell[MARGIN_COLUMN][0];
        if (figures_matter ? !strcmp(row->under, above->under) : alike(row->under, above->under))
            row->under[0] = '\0';
    }
}

/* Why more may hide from one harmonic on: the limit counts in a wider bandwidth there, and noise fills it. */
static void explain_bandwidth(sheet *at)
{
    double before = (double)NAN;
    for (size_t i = 0; i < spurity_plan_visibility_count(at->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(at->plan, i);
        if (!one->clause || one->from_hz != one->to_hz || !isfinite(one->rbw_hz))
            continue;
        double reference = spurity_clause_reference_bandwidth(one->clause, one->frequency_hz);
        if (reference > before && reference > one->rbw_hz) {
            char words[300], hz[48];
            snprintf(words, sizeof words,
                     "from %s on more may hide: the limit counts in %s there, and the noise in all of it may hide a "
                     "line, whatever the RBW",
                     one->what, frequency(hz, sizeof hz, reference));
            spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
        }
        before = reference;
    }
}

static void write_visibility(sheet *at)
{
    static const spurity_page_column columns[] = {{"", false, 0},       {"nearest at", true, 1}, {"limit", true, 0},
                                                  {"floor", true, 2},   {"may hide", true, 3},   {"margin", true, 0},
                                                  {"clause", false, 4}, {"", false, 0}};
    spurity_page_table table = {.columns = columns, .column_count = sizeof columns / sizeof *columns};
    char title[200] = "what this bench could show";
    for (size_t i = 0; i < spurity_plan_visibility_count(at->plan); i++) {
        spurity_page_row *row = spurity_page_row_add(&at->page, &table);
        if (!row)
            break;
        set_visibility(at, row, spurity_plan_visibility_at(at->plan, i));
    }
    if (!table.row_count)
        return;
    spurity_page_common_cell(&table, CLAUSE_COLUMN, title, sizeof title);
    advise_once(&table);
    spurity_page_heading(&at->page, title);
    spurity_page_table_write(&at->page, &table);
    spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2,
                        "levels at the antenna terminal; may hide: a line so high could stand in the noise unseen "
                        "(97.5 %); margin: limit less that, less the uncertainty");
    explain_bandwidth(at);
}

/* ---- the instrument's own ---------------------------------------------------------------------------------------- */

static void write_own(sheet *at)
{
    size_t count = spurity_plan_own_product_count(at->plan);
    if (count)
        spurity_page_heading(&at->page, "what the instrument itself would add");
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_own_product *one = spurity_plan_own_product_at(at->plan, i);
        char words[700], own[48], limit[48], fakes[48];
        snprintf(words, sizeof words, "harmonic %d of its own: %s at the antenna terminal", one->order,
                 level(own, sizeof own, one->own_dbm));
        size_t used = strlen(words);
        if (isfinite(one->limit_dbm))
            snprintf(words + used, sizeof words - used,
                     ", %s the limit of %s; from %s at its input on it would fake a failure",
                     one->own_dbm < one->limit_dbm ? "under" : "OVER", level(limit, sizeof limit, one->limit_dbm),
                     level(fakes, sizeof fakes, one->fakes_at_dbm));
        spurity_page_indented(&at->page, 2, words);
        spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 6, one->advice);
    }
}

/* ---- what is missing, assumed, afterwards, always --------------------------------------------------------------- */

static void write_needs(sheet *at)
{
    size_t count = spurity_plan_need_count(at->plan);
    if (count)
        spurity_page_heading(&at->page, "say more, and it tells more");
    for (size_t i = 0; i < count; i++) {
        const spurity_plan_need *one = spurity_plan_need_at(at->plan, i);
        char words[300];
        snprintf(words, sizeof words, "%s: %s", one->option, one->why);
        spurity_buffer_blanks(&at->page.out, 2);
        spurity_page_paragraph(&at->page, 2, 6, words);
    }
}

static void write_notes(sheet *at)
{
    size_t count = at->report->notes ? spurity_notes_count(at->report->notes) : 0;
    if (count)
        spurity_page_heading(&at->page, "assumed or doubtful");
    for (size_t i = 0; i < count; i++) {
        const spurity_note *note = spurity_notes_at(at->report->notes, i);
        char words[400];
        snprintf(words, sizeof words, "%s: %s", spurity_note_code_name(note->code), note->text);
        spurity_buffer_blanks(&at->page.out, 2);
        spurity_page_paragraph(&at->page, 2, 6, words);
    }
}

/* Can be copied into a shell as it stands: continued lines end in a backslash. */
static void write_line(sheet *at, const char *const *words, size_t count)
{
    size_t column = 0;
    for (size_t i = 0; i < count; i++) {
        size_t taken = spurity_characters(words[i]);
        if (i && column + 1 + taken + 2 > at->page.columns) {
            spurity_buffer_text(&at->page.out, " \\\n    ");
            column = 4;
        } else {
            spurity_buffer_text(&at->page.out, i ? " " : "  ");
            column += i ? 1 : 2;
        }
        spurity_buffer_text(&at->page.out, words[i]);
        column += taken;
    }
    spurity_buffer_text(&at->page.out, "\n");
}

static void write_check(sheet *at)
{
    if (!at->report->check_count)
        return;
    spurity_page_heading(&at->page, "afterwards");
    write_line(at, at->report->check, at->report->check_count);
    for (size_t i = 0; spurity_output_plan_hint(at->report, i); i++)
        spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, spurity_output_plan_hint(at->report, i));
    if (!at->report->keyed_count)
        return;
    spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2,
                        "where the files do not tell their RBW and detector, this line does:");
    write_line(at, at->report->keyed, at->report->keyed_count);
}

static void write_cautions(sheet *at)
{
    spurity_page_heading(&at->page, "before keying, always");
    for (size_t i = 0; i < spurity_plan_caution_count(at->plan); i++) {
        spurity_buffer_text(&at->page.out, "  - ");
        spurity_page_paragraph(&at->page, 4, 4, spurity_plan_caution_at(at->plan, i));
    }
}

static void write_work(sheet *at)
{
    write_sweeps(at);
    write_captures(at);
    write_visibility(at);
    write_own(at);
}

spurity_status spurity_output_plan(const spurity_plan_report *report, const spurity_text_options *options,
                                   spurity_bytes *out, spurity_error *error)
{
    sheet at = {.report = report, .plan = report->plan};
    *out = (spurity_bytes){0};
    spurity_page_start(&at.page, options);
    spurity_plan_figures_of(report->plan, &at.figures);
    write_answer(&at);
    write_harm(&at);
    write_ladder(&at);
    if (spurity_plan_outcome_of(report->plan) == SPURITY_PLAN_HARMFUL)
        spurity_page_styled(&at.page, SPURITY_STYLE_QUIET, 2,
                            "what to sweep is told once nothing would break: change that, and ask again");
    else
        write_work(&at);
    write_needs(&at);
    write_notes(&at);
    write_check(&at);
    write_cautions(&at);
    return spurity_buffer_give(&at.page.out, out, error);
}
