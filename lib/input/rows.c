/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The pass over the rows: a fast loop for plain pairs, and one row parser for everything that it leaves. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "rows.h"

/** Lines between rows: a heading of the next segment, a footer, or words that should not be there. */
struct between {
    size_t lines, blanks;
    bool heading;       /* something that parts segments */
    bool only_endings;  /* nothing but "END", facts and blanks */
    unsigned long line; /* first line that is no heading */
    unsigned long column;
    char text[80];
    char trace[32]; /* "trace2" of a heading */
    struct text_facts facts;
};

struct pass {
    struct text_stream *stream;
    const struct text_layout *layout;
    const spurity_input *input;
    spurity_recording *recording;
    struct text_cell *cells;
    struct points points;
    struct text_facts facts; /* of the segment that is read */
    struct between between;
    double offset_db; /* decibel units: dBm = value + offset */
    bool linear;
    size_t stack; /* tables of traces one above the other; 1 = the first */
    bool skipping, wanted_seen, any_row;
    size_t others;
};

/* ---- one reading ----------------------------------------------------------------------------------------- */

static spurity_status report_cell(const struct pass *pass, const struct text_line *line, const struct text_cell *cell,
                                  const char *expected, const char *what, spurity_error *error)
{
    char text[60];
    spurity_input_clean(text, sizeof text, cell->text, cell->length);
    return spurity_reportf(error, SPURITY_INVALID,
                           spurity_input_at(pass->input, line->number, spurity_text_column(line->text, cell->offset)),
                           expected, "correct the row, or leave the cell empty where nothing was measured", "%s '%s'",
                           what, text);
}

/** dBm of a cell; NaN when nothing was measured. */
static spurity_status level_of(const struct pass *pass, const struct text_line *line, const struct text_cell *cell,
                               double *db, bool *stand_in, spurity_error *error)
{
    struct text_number number;
    enum text_kind kind = spurity_text_kind(cell, pass->layout->marks, &number);
    *db = NAN;
    *stand_in = false;
    if (kind == TEXT_EMPTY || kind == TEXT_MISSING)
        return SPURITY_OK;
    if (kind != TEXT_NUMBER || number.hz > 0)
        return report_cell(pass, line, cell, "a level", "among the numbers", error);
    spurity_level_unit unit = number.level ? number.level : pass->layout->unit;
    if (unit == SPURITY_LEVEL_DB || unit == SPURITY_LEVEL_OTHER)
        return report_cell(pass, line, cell, "a level at a terminal", "a unit that is none:", error);
    if (number.value == -999 || number.value == -9999)
        return SPURITY_OK;
    *stand_in = points_is_stand_in(number.value) && !spurity_level_unit_is_linear(unit);
    *db = unit == pass->layout->unit && !pass->linear ? number.value + pass->offset_db
                                                      : spurity_level_to_dbm(unit, number.value, pass->layout->ohm);
    if (!isnan(*db) && !(fabs(*db) <= 400))
        return report_cell(pass, line, cell, "a level between -400 and +400 dBm", "the level", error);
    return SPURITY_OK;
}

static spurity_status frequency_of(const struct pass *pass, const struct text_line *line, const struct text_cell *cell,
                                   const struct text_number *number, double *hz, spurity_error *error)
{
    *hz = number->value * (number->hz > 0 ? number->hz : pass->layout->frequency_hz);
    if (number->level || !(*hz >= 0 && *hz <= 1e12))
        return report_cell(pass, line, cell, "a frequency from 0 to 1 THz", "the frequency", error);
    return SPURITY_OK;
}

/* ---- lines between rows ------------------------------------------------------------------------------------- */

/** "Trace 2", "[Trace B]", "# Trace: 2": the fold of it; empty when it is none. */
static void trace_heading(const struct text_line *line, char *name, size_t size)
{
    char fold[32];
    name[0] = 0;
    if (line->length > 40 || memchr(line->text, '(', line->length))
        return;
    spurity_text_fold(line->text, line->length, fold, sizeof fold);
    if (!strncmp(fold, "trace", 5) && fold[5] && strlen(fold) <= 9)
        snprintf(name, size, "%s", fold);
}

static bool is_ending(const struct text_line *line)
{
    static const char *const words[] = {"end", "eof", "enddata", "dataend", "endoffile", "endoftrace", "endtrace"};
    char fold[24];
    spurity_text_fold(line->text, line->length, fold, sizeof fold);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (!strcmp(fold, words[i]))
            return true;
    return !fold[0];
}

static bool repeats_names(const struct pass *pass, const struct text_line *line)
{
    return pass->layout->names_length && line->length >= pass->layout->names_length &&
           !memcmp(line->text, pass->layout->names, pass->layout->names_length);
}

/** A title row again, perhaps in other words: no numbers, a unit of frequency or the word for it. */
static bool is_heading(const struct text_line *line)
{
    return spurity_text_has_word(line->text, line->length, "freq") ||
           spurity_text_has_word(line->text, line->length, "segment") ||
           spurity_text_has_word(line->text, line->length, "range") ||
           spurity_text_has_word(line->text, line->length, "sweep") || (line->length && line->text[0] == '[');
}

static void set_aside(struct pass *pass, const struct text_line *line, size_t offset)
{
    struct between *between = &pass->between;
    struct text_facts told = {0};
    char trace[32];
    if (!between->lines++)
        between->only_endings = true;
    trace_heading(line, trace, sizeof trace);
    bool facts = spurity_text_take_facts(&told, line->text, line->length, line->number, pass->layout->delimiter,
                                         pass->layout->marks.mark == ',' ? ',' : 0, pass->input);
    for (size_t i = 0; facts && i < FACTS; i++)
        if (told.fact[i].line)
            between->facts.fact[i] = told.fact[i];
    if (trace[0])
        snprintf(between->trace, sizeof between->trace, "%s", trace);
    if (trace[0] || facts || repeats_names(pass, line) || is_heading(line)) {
        between->heading = true;
        between->only_endings = between->only_endings && facts;
        return;
    }
    if (spurity_text_comment(line->text, line->length) || is_ending(line))
        return;
    between->only_endings = false;
    if (between->line)
        return;
    between->line = line->number;
    between->column = spurity_text_column(line->text, offset);
    spurity_input_clean(between->text, sizeof between->text, line->text, line->length);
}

static spurity_status report_words(const struct pass *pass, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID,
                           spurity_input_at(pass->input, pass->between.line, pass->between.column), "rows of numbers",
                           "correct the row, or leave the cell empty where nothing was measured",
                           "'%.60s' among the numbers", pass->between.text);
}

/** Whether the wanted table begins, of traces one above the other. */
static void next_table(struct pass *pass)
{
    const char *wanted = pass->input->options->trace;
    char fold[32] = "";
    pass->stack++;
    if (wanted)
        spurity_text_fold(wanted, strlen(wanted), fold, sizeof fold);
    bool by_name = fold[0] && !strcmp(fold, pass->between.trace);
    bool take = pass->layout->trace_wanted == TEXT_NONE ? by_name
                : pass->layout->trace_wanted            ? pass->stack == pass->layout->trace_wanted || by_name
                                                        : false;
    pass->skipping = !take;
    pass->wanted_seen = pass->wanted_seen || take;
    pass->others += !take;
}

/** A row follows lines that were none: does a segment begin? */
static spurity_status resume(struct pass *pass, double hz, spurity_error *error)
{
    struct between *between = &pass->between;
    struct points *points = &pass->points;
    if (between->line && !between->heading)
        return report_words(pass, error);
    double step = points->sign * (points->last - points->before);
    double gap = points->sign * (hz - points->last);
    bool parts = between->heading || (between->blanks && points->open && points->in_segment > 1 &&
                                      (gap <= 0 || gap > 2 * step) && !points->levels_only);
    spurity_status status = SPURITY_OK;
    if (parts) {
        points->began_by_fall = false;
        status = spurity_points_close(points, error);
        for (size_t i = 0; i < FACTS; i++)
            if (between->facts.fact[i].line)
                pass->facts.fact[i] = between->facts.fact[i];
        points->facts = spurity_text_segment_facts(&pass->facts, pass->input->options);
        if (between->trace[0] && pass->any_row)
            next_table(pass);
    }
    *between = (struct between){0};
    return status;
}

/* ---- rows ------------------------------------------------------------------------------------------------- */

static spurity_status put_row(struct pass *pass, const struct text_line *line, double hz, double db, bool stand_in,
                              spurity_error *error)
{
    if (pass->between.lines || pass->between.blanks) {
        spurity_status status = resume(pass, hz, error);
        if (status)
            return status;
    }
    pass->any_row = true;
    if (pass->skipping)
        return SPURITY_OK;
    return spurity_points_put(&pass->points, hz, db, stand_in, line->number, error);
}

/** Level of a row: the higher of a min/max pair. */
static spurity_status row_level(const struct pass *pass, const struct text_line *line, double *db, bool *stand_in,
                                spurity_error *error)
{
    const struct text_layout *layout = pass->layout;
    spurity_status status = level_of(pass, line, &pass->cells[layout->level], db, stand_in, error);
    if (status || layout->second == TEXT_NONE)
        return status;
    double other = NAN;
    bool unused = false;
    status = level_of(pass, line, &pass->cells[layout->second], &other, &unused, error);
    if (!isnan(other) && (isnan(*db) || other > *db)) {
        *db = other;
        *stand_in = unused;
    }
    return status;
}

static spurity_status take_single(struct pass *pass, const struct text_line *line, size_t count, spurity_error *error)
{
    double db = NAN;
    bool stand_in = false;
    struct text_number number;
    size_t c = pass->layout->level;
    enum text_kind kind = c < count ? spurity_text_kind(&pass->cells[c], pass->layout->marks, &number) : TEXT_WORD;
    if (kind == TEXT_WORD || kind == TEXT_UNIT || kind == TEXT_DATE) {
        set_aside(pass, line, 0);
        return SPURITY_OK;
    }
    spurity_status status = row_level(pass, line, &db, &stand_in, error);
    return status ? status : put_row(pass, line, 0, db, stand_in, error);
}

static bool nothing_in(const struct pass *pass, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (pass->cells[i].length)
            return false;
    return true;
}

/** A row whose first word is no number: a heading or footer, unless the rest of it is a row's. */
static spurity_status take_words(struct pass *pass, const struct text_line *line, size_t count, spurity_error *error)
{
    static const char *const summary[] = {"mean", "average", "max", "min", "peak", "marker", "total", "sum", NULL};
    const struct text_layout *layout = pass->layout;
    const struct text_cell *cell = &pass->cells[layout->frequency];
    struct text_number number;
    bool level = count == layout->fields &&
                 spurity_text_kind(&pass->cells[layout->level], layout->marks, &number) == TEXT_NUMBER;
    bool known = spurity_text_key(cell->text, cell->length) != FACTS;
    for (size_t i = 0; summary[i] && !known; i++)
        known = spurity_text_has_word(cell->text, cell->length, summary[i]);
    if (level && !known && !pass->between.lines)
        return report_cell(pass, line, cell, "a frequency", "among the numbers", error);
    set_aside(pass, line, cell->offset);
    return SPURITY_OK;
}

static spurity_status report_fields(const struct pass *pass, const struct text_line *line, size_t count,
                                    spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(pass->input, line->number, 0),
                           "the same number of fields in every row", "correct the row; was the file cut off?",
                           "%zu fields where the others have %zu", count, pass->layout->fields);
}

static spurity_status take_cells(struct pass *pass, const struct text_line *line, size_t count, spurity_error *error)
{
    const struct text_layout *layout = pass->layout;
    size_t least = layout->frequency > layout->level ? layout->frequency : layout->level;
    if (layout->second != TEXT_NONE && layout->second > least)
        least = layout->second;
    size_t told = count;
    while (told > layout->fields && !pass->cells[told - 1].length)
        told--;
    struct text_number number = {0};
    const struct text_cell *cell = &pass->cells[layout->frequency];
    enum text_kind kind = layout->frequency < count ? spurity_text_kind(cell, layout->marks, &number) : TEXT_WORD;
    bool numeric = kind == TEXT_NUMBER || kind == TEXT_MANGLED || kind == TEXT_DATE;
    if (pass->between.line && (told != layout->fields || kind != TEXT_NUMBER)) { /* more of a footer */
        set_aside(pass, line, 0);
        return SPURITY_OK;
    }
    bool short_of = told > layout->fields || least >= count;
    if (layout->frequency >= count || (short_of && !numeric)) {
        set_aside(pass, line, 0);
        return SPURITY_OK;
    }
    if (short_of)
        return report_fields(pass, line, told, error);
    if (kind == TEXT_WORD || kind == TEXT_UNIT)
        return take_words(pass, line, count, error);
    if (kind == TEXT_MANGLED || kind == TEXT_DATE)
        return report_cell(pass, line, cell, "a frequency", "among the numbers", error);
    double db = NAN, hz = 0;
    bool stand_in = false;
    spurity_status status = row_level(pass, line, &db, &stand_in, error);
    if (status)
        return status;
    if (kind != TEXT_NUMBER)
        return isnan(db) ? SPURITY_OK : report_cell(pass, line, cell, "a frequency", "no number", error);
    status = frequency_of(pass, line, cell, &number, &hz, error);
    return status ? status : put_row(pass, line, hz, db, stand_in, error);
}

/** One row that holds a stretch: low, high, step, count, levels. */
static spurity_status take_wide(struct pass *pass, const struct text_line *line, size_t count, spurity_error *error)
{
    const struct text_layout *layout = pass->layout;
    double told[3];
    size_t c = layout->wide_low;
    for (size_t i = 0; i < 3; i++) {
        struct text_number number;
        if (c + i >= count || spurity_text_kind(&pass->cells[c + i], layout->marks, &number) != TEXT_NUMBER) {
            set_aside(pass, line, 0);
            return SPURITY_OK;
        }
        spurity_status status = frequency_of(pass, line, &pass->cells[c + i], &number, &told[i], error);
        if (status)
            return status;
    }
    while (count && !pass->cells[count - 1].length)
        count--;
    size_t levels = count > c + 4 ? count - c - 4 : 0;
    if (!(told[2] > 0) || fabs((told[1] - told[0]) / told[2] - (double)levels) > 1.01)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(pass->input, line->number, 0),
                               "as many levels as the stretch has steps", NULL,
                               "%zu levels from %.17g Hz to %.17g Hz in steps of %.17g Hz", levels, told[0], told[1],
                               told[2]);
    struct points *points = &pass->points;
    bool joint = points->open && fabs(told[0] - points->last) < 0.01 * told[2];
    if (points->open && !joint && told[0] < points->last) { /* a new sweep over the same span */
        points->began_by_fall = false;
        spurity_status status = spurity_points_close(points, error);
        if (status)
            return status;
    }
    for (size_t i = 0; i < levels; i++) {
        double db = NAN, hz = i == 0 && joint ? points->last : told[0] + (double)i * told[2];
        bool stand_in = false;
        spurity_status status = level_of(pass, line, &pass->cells[c + 4 + i], &db, &stand_in, error);
        if (!status)
            status = put_row(pass, line, hz, db, stand_in, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status take_line(struct pass *pass, const struct text_line *line, spurity_error *error)
{
    const struct text_layout *layout = pass->layout;
    if (spurity_text_is_blank(line->text, line->length)) {
        pass->between.blanks++;
        return SPURITY_OK;
    }
    if (spurity_text_comment(line->text, line->length)) {
        set_aside(pass, line, 0);
        return SPURITY_OK;
    }
    size_t count = spurity_text_cells(line->text, line->length, layout->delimiter, pass->cells, TEXT_FIELDS_MOST);
    if (count > TEXT_FIELDS_MOST)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(pass->input, line->number, 0),
                               "at most 4096 fields a row", NULL, "more than %d fields", TEXT_FIELDS_MOST);
    if (nothing_in(pass, count)) {
        pass->between.blanks++;
        return SPURITY_OK;
    }
    if (layout->wide)
        return take_wide(pass, line, count, error);
    if (layout->frequency == TEXT_NONE)
        return take_single(pass, line, count, error);
    return take_cells(pass, line, count, error);
}

/* ---- fast loop ---------------------------------------------------------------------------------------------- */

static bool is_plain(const struct pass *pass)
{
    const struct text_layout *layout = pass->layout;
    return layout->fields == 2 && layout->frequency == 0 && layout->level == 1 && !layout->marks.group &&
           !pass->linear && !layout->falling && !layout->wide && layout->delimiter != ' ';
}

/** Plain rows up to the first one that is anything else; that one is left for take_line, with the same meaning. */
static spurity_status take_plain(struct pass *pass, spurity_error *error)
{
    struct text_stream *stream = pass->stream;
    struct points *points = &pass->points;
    const char *p = stream->buffer + stream->begin;
    const char *end = memrchr(p, '\n', stream->end - stream->begin);
    const char delimiter = pass->layout->delimiter, mark = pass->layout->marks.mark;
    const double unit = pass->layout->frequency_hz, offset = pass->offset_db;
    double last = points->last, before = points->before;
    size_t count = points->count, first = count;
    if (!end || !points->open || points->in_segment < 2 || pass->between.lines || pass->between.blanks ||
        pass->skipping)
        return SPURITY_OK;
    while (p < end && count < POINTS_CHUNK) {
        double hz = 0, db = 0;
        const char *q = p + spurity_number_parse(p, (size_t)(end - p), mark, &hz);
        if (q == p || q >= end || *q != delimiter)
            break;
        const char *level = q + 1;
        q = level + spurity_number_parse(level, (size_t)(end - level), mark, &db);
        q += *q == '\r';
        hz *= unit;
        if (q == level || *q != '\n' || !(hz > last && hz <= 1e12) || !(db > -174 && db < 200))
            break;
        points->hz[count] = hz;
        points->db[count++] = db + offset;
        before = last;
        last = hz;
        p = q + 1;
    }
    size_t took = count - first;
    if (!took)
        return SPURITY_OK;
    points->count = count;
    points->last = last;
    points->before = before;
    points->last_hz = last;
    points->stand_in = 0;
    points->in_segment += took;
    points->distinct += took;
    points->rows += took;
    stream->begin = (size_t)(p - stream->buffer);
    stream->line += took;
    points->last_line = stream->line - 1;
    return count == POINTS_CHUNK ? spurity_points_flush(points, POINTS_HELD, error) : SPURITY_OK;
}

static spurity_status read_lines(struct pass *pass, spurity_error *error)
{
    bool plain = is_plain(pass);
    for (;;) {
        struct text_line line;
        bool have = false;
        spurity_status status = plain ? take_plain(pass, error) : SPURITY_OK;
        if (!status)
            status = spurity_text_next(pass->stream, &line, &have, error);
        if (status || !have)
            return status;
        if ((status = take_line(pass, &line, error)))
            return status;
    }
}

/* ---- the end -------------------------------------------------------------------------------------------------- */

static spurity_status end_lines(struct pass *pass, spurity_error *error)
{
    struct between *between = &pass->between;
    if (!between->lines)
        return SPURITY_OK;
    if (between->line && !between->only_endings && pass->points.rows < 8)
        return report_words(pass, error);
    spurity_input_found(pass->recording, "footer", between->line ? between->text : "an ending", "", between->line,
                        false, "%zu lines behind the last row were left out", between->lines);
    return SPURITY_OK;
}

static spurity_status report_disagreement(const struct pass *pass, enum text_fact_id id, const char *got,
                                          spurity_error *error)
{
    const struct text_fact *fact = &pass->layout->facts.fact[id];
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(pass->input, fact->line, 0),
                           "a preamble and rows that agree", "was the file cut off, or joined with another?",
                           "%s %.40s%s%.12s, but %s", spurity_text_fact_name(id), fact->text, fact->unit[0] ? " " : "",
                           strstr(fact->text, fact->unit) ? "" : fact->unit, got);
}

/** A frequency told without a unit agrees when it does so in hertz or in the column's unit. */
static bool agrees(const struct pass *pass, enum text_fact_id id, double hz, double within)
{
    double plain = spurity_text_fact_hz(&pass->layout->facts, id, 1);
    double scaled = spurity_text_fact_hz(&pass->layout->facts, id, pass->layout->frequency_hz);
    return isnan(plain) || fabs(plain - hz) <= within || fabs(scaled - hz) <= within;
}

/** What the preamble says of points and span against the rows; only for one table in one piece. */
static spurity_status check_agreement(const struct pass *pass, spurity_error *error)
{
    const struct points *points = &pass->points;
    const struct text_fact *stated = &pass->layout->facts.fact[FACT_POINTS];
    char got[100];
    if (points->segments != 1 || pass->stack > 1)
        return SPURITY_OK;
    if (stated->line && stated->value >= 1 && stated->value != (double)points->distinct &&
        stated->value != (double)points->rows) {
        snprintf(got, sizeof got, "%zu rows, the last in line %lu", points->rows, points->last_line);
        return report_disagreement(pass, FACT_POINTS, got, error);
    }
    if (points->levels_only || points->distinct < 2)
        return SPURITY_OK;
    double low = points->falling ? points->last_hz : points->first_hz;
    double high = points->falling ? points->first_hz : points->last_hz;
    double half = 0.5 * (high - low) / (double)(points->distinct - 1) * 1.02 + 1e-6;
    char text[40];
    if (!agrees(pass, FACT_START, low, half)) {
        snprintf(got, sizeof got, "the rows begin at %s (line %lu)",
                 spurity_format_frequency(text, sizeof text, low, 6),
                 points->falling ? points->last_line : points->first_line);
        return report_disagreement(pass, FACT_START, got, error);
    }
    if (!agrees(pass, FACT_STOP, high, half)) {
        snprintf(got, sizeof got, "the rows end at %s (line %lu)", spurity_format_frequency(text, sizeof text, high, 6),
                 points->falling ? points->first_line : points->last_line);
        return report_disagreement(pass, FACT_STOP, got, error);
    }
    return SPURITY_OK;
}

static spurity_status spread_levels(struct pass *pass, spurity_error *error)
{
    const struct text_layout *layout = pass->layout;
    struct points *points = &pass->points;
    size_t n = points->distinct;
    double step = spurity_text_fact_hz(&layout->facts, FACT_STEP, 1);
    if (points->segments > 1)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(pass->input, points->begin_line, 0),
                               "one run of levels", "export each sweep to a file of its own",
                               "%zu runs of levels and one span", points->segments);
    double got = n > 1 ? (layout->stop_hz - layout->start_hz) / (double)(n - 1) : 0;
    if (!isnan(step) && n > 1 && fabs(step - got) > 0.5 * got / (double)(n - 1) + 1e-3) {
        char text[100], a[40];
        snprintf(text, sizeof text, "span and %zu rows give %s", n, spurity_format_frequency(a, sizeof a, got, 6));
        return report_disagreement(pass, FACT_STEP, text, error);
    }
    return n > 1 ? spurity_points_spread(points, layout->start_hz, layout->stop_hz, error) : SPURITY_OK;
}

static spurity_status check_enough(const struct pass *pass, spurity_error *error)
{
    const struct points *points = &pass->points;
    spurity_place at = spurity_input_at(pass->input, points->first_line, 0);
    if (points->distinct < 2)
        return spurity_report(error, SPURITY_INVALID, at, points->distinct ? "a single point" : "no row of the trace",
                              "a sweep of at least two points", NULL);
    if (!spurity_trace_points(points->trace))
        return spurity_report(error, SPURITY_INVALID, at, "no level in any row", "a sweep with levels",
                              "see --trace, --decimal-mark");
    return SPURITY_OK;
}

static void tell_rows(const struct pass *pass)
{
    const struct points *points = &pass->points;
    const spurity_input *input = pass->input;
    char text[100];
    snprintf(text, sizeof text, "%zu points in %zu segment%s", spurity_trace_points(points->trace), points->segments,
             points->segments == 1 ? "" : "s");
    spurity_input_found(pass->recording, "table", text, "", points->first_line, false, "rows from line %lu to line %lu",
                        points->first_line, points->last_line);
    if (points->falling)
        spurity_input_found(pass->recording, "order", "descending, turned round", "", points->first_line, false,
                            "the frequencies fall");
    if (points->missing) {
        spurity_input_found(pass->recording, "missing points", "left out", "", 0, false, "%zu without a level",
                            points->missing);
        spurity_notes_add(input->notes, SPURITY_NOTE_MISSING_POINTS, input->file,
                          "'%.60s': %zu of %zu points have no level", input->name, points->missing, points->distinct);
    }
    if (points->repeats)
        spurity_input_found(pass->recording, "repeated frequencies",
                            points->repeats * 10 >= points->distinct * 9 ? "min/max pairs, the maximum kept"
                                                                         : "the higher level kept",
                            "", 0, false, "%zu rows repeat the frequency before them, %zu with another level",
                            points->repeats, points->unlike);
    if (points->unlike)
        spurity_notes_add(input->notes, SPURITY_NOTE_OTHER_TRACES, input->file,
                          "'%.60s': %zu frequencies come again with another level; the higher one was kept",
                          input->name, points->unlike);
    if (pass->others) {
        spurity_input_found(pass->recording, "tables", "one trace of several", "--trace", 0, true,
                            "%zu further tables were left out", pass->others);
        spurity_notes_add(input->notes, SPURITY_NOTE_OTHER_TRACES, input->file,
                          "'%.60s': %zu further traces stand in tables of their own; --trace takes another",
                          input->name, pass->others);
    }
}

static spurity_status finish(struct pass *pass, spurity_error *error)
{
    spurity_status status = end_lines(pass, error);
    if (!status)
        status = spurity_points_close(&pass->points, error);
    if (!status && pass->layout->trace_wanted && !pass->wanted_seen)
        status =
            spurity_reportf(error, SPURITY_INVALID, spurity_input_at(pass->input, 0, 0), "a number from 1 or a title",
                            NULL, "no trace '%.60s' among %zu", pass->input->options->trace, pass->stack);
    if (!status)
        status = check_agreement(pass, error);
    if (!status && pass->points.levels_only)
        status = spread_levels(pass, error);
    if (!status)
        status = check_enough(pass, error);
    if (!status && !pass->points.levels_only)
        status = spurity_points_check_told(&pass->points, error);
    if (status)
        return status;
    tell_rows(pass);
    pass->recording->trace = pass->points.trace;
    pass->points.trace = NULL;
    return SPURITY_OK;
}

/** The first of several tables is taken unless another is asked for. */
static void begin_tables(struct pass *pass)
{
    const char *wanted = pass->input->options->trace;
    const struct text_fact *named = &pass->layout->facts.fact[FACT_TRACE];
    char fold[32] = "", first[40] = "";
    pass->stack = 1;
    if (!pass->layout->trace_wanted)
        return;
    spurity_text_fold(wanted, strlen(wanted), fold, sizeof fold);
    snprintf(first, sizeof first, "trace%.20s", named->line ? named->text : "1");
    pass->wanted_seen = !strcmp(fold, first);
    pass->skipping = !pass->wanted_seen;
    pass->others = pass->skipping;
}

spurity_status spurity_text_rows(struct text_stream *stream, const struct text_layout *layout,
                                 spurity_recording *recording, spurity_error *error)
{
    struct pass *pass = calloc(1, sizeof *pass);
    if (!pass)
        return spurity_report_memory(error);
    pass->stream = stream;
    pass->layout = layout;
    pass->input = stream->input;
    pass->recording = recording;
    pass->facts = layout->facts;
    pass->linear = spurity_level_unit_is_linear(layout->unit);
    pass->offset_db = pass->linear ? 0 : spurity_level_to_dbm(layout->unit, 0, layout->ohm);
    pass->points.input = stream->input;
    pass->points.falling = layout->falling;
    pass->points.levels_only = layout->frequency == TEXT_NONE && !layout->wide;
    pass->points.facts = spurity_text_segment_facts(&layout->facts, stream->input->options);
    begin_tables(pass);
    pass->cells = malloc((TEXT_FIELDS_MOST + 1) * sizeof *pass->cells);
    spurity_status status = pass->cells ? spurity_points_open(&pass->points, error) : spurity_report_memory(error);
    stream->begin = layout->first_offset;
    stream->line = layout->first_line;
    if (!status)
        status = read_lines(pass, error);
    if (!status)
        status = finish(pass, error);
    spurity_points_free(&pass->points);
    free(pass->cells);
    free(pass);
    return status;
}
