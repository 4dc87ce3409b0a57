/* SPDX-License-Identifier: GPL-2.0-or-later */
/* From the head of a text: which delimiter, which decimal mark, where the table begins, what stands above it. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "text.h"

enum { JUDGED_LINES = 6000 };

static const char delimiters[] = {'\t', ';', ',', '|', ' '};

static const char *delimiter_name(char delimiter)
{
    switch (delimiter) {
    case '\t':
        return "tab";
    case ';':
        return "semicolon";
    case ',':
        return "comma";
    case '|':
        return "bar";
    default:
        return "blank";
    }
}

/* ---- rows as one delimiter sees them ---------------------------------------------------------------- */

struct look {
    size_t fields, numbers, nothing; /* nothing: empty or missing */
    size_t words, mangled, dates;
};

static struct look look_at(struct text_sniff *sniff, const struct text_line *line, char delimiter,
                           struct text_marks marks)
{
    struct look look = {0};
    if (spurity_text_is_blank(line->text, line->length) || spurity_text_comment(line->text, line->length))
        return look;
    look.fields = spurity_text_cells(line->text, line->length, delimiter, sniff->cells, TEXT_FIELDS_MOST);
    size_t count = look.fields > TEXT_FIELDS_MOST ? TEXT_FIELDS_MOST : look.fields;
    for (size_t i = 0; i < count; i++) {
        struct text_number number;
        enum text_kind kind = spurity_text_kind(&sniff->cells[i], marks, &number);
        look.numbers += kind == TEXT_NUMBER;
        look.nothing += kind == TEXT_EMPTY || kind == TEXT_MISSING;
        look.words += kind == TEXT_WORD;
        look.mangled += kind == TEXT_MANGLED;
        look.dates += kind == TEXT_DATE;
    }
    return look;
}

/** A row of a table: two numbers, or one beside a date or something not measured; no cell that is nearly a number. */
static bool is_row(const struct look *look)
{
    return !look->mangled &&
           (look->numbers >= 2 || (look->numbers == 1 && look->nothing + look->dates && !look->words));
}

struct tally {
    size_t rows, fields;
};

/** The field count most rows share, and how many share it. */
static struct tally tally_rows(struct text_sniff *sniff, char delimiter, size_t *counts)
{
    struct tally best = {0, 0};
    memset(counts, 0, (TEXT_FIELDS_MOST + 2) * sizeof *counts);
    for (size_t i = 0; i < sniff->line_count && i < JUDGED_LINES; i++) {
        struct look look = look_at(sniff, &sniff->lines[i], delimiter, (struct text_marks){0});
        if (!is_row(&look))
            continue;
        size_t n = ++counts[look.fields];
        if (n > best.rows)
            best = (struct tally){n, look.fields};
    }
    return best;
}

/** Lines that are one number and nothing else, a delimiter behind it aside. */
static size_t count_single(struct text_sniff *sniff)
{
    size_t count = 0;
    for (size_t i = 0; i < sniff->line_count && i < JUDGED_LINES; i++) {
        struct text_cell cell = {.text = sniff->lines[i].text, .length = sniff->lines[i].length};
        while (cell.length && strchr(";,\t| ", cell.text[cell.length - 1]))
            cell.length--;
        while (cell.length && strchr("\t ", *cell.text)) {
            cell.text++;
            cell.length--;
        }
        struct text_number number;
        count += spurity_text_kind(&cell, (struct text_marks){0}, &number) == TEXT_NUMBER;
    }
    return count;
}

static spurity_status report_no_rows(struct text_sniff *sniff, spurity_error *error)
{
    return spurity_report(error, SPURITY_INVALID, spurity_input_at(sniff->input, 0, 0), "no rows of numbers",
                          "rows of frequency and level", "see --delimiter, --decimal-mark");
}

static spurity_status find_delimiter(struct text_sniff *sniff, spurity_error *error)
{
    const spurity_read_options *options = sniff->input->options;
    size_t *counts = malloc((TEXT_FIELDS_MOST + 2) * sizeof *counts);
    if (!counts)
        return spurity_report_memory(error);
    struct tally best = {0, 0};
    char delimiter = options->delimiter;
    for (size_t i = 0; i < sizeof delimiters; i++) {
        if ((options->delimiter && options->delimiter != delimiters[i]) ||
            (options->decimal_mark && options->decimal_mark == delimiters[i]))
            continue;
        struct tally tally = tally_rows(sniff, delimiters[i], counts);
        if (tally.rows > best.rows) {
            best = tally;
            delimiter = delimiters[i];
        }
    }
    free(counts);
    size_t single = count_single(sniff);
    struct text_layout *layout = sniff->layout;
    if (!best.rows && !single)
        return report_no_rows(sniff, error);
    if (best.fields > TEXT_FIELDS_MOST)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, 0, 0),
                               "at most 4096 fields a row", NULL, "more than %d fields in a row", TEXT_FIELDS_MOST);
    bool lone = single > best.rows;
    layout->fields = lone ? 1 : best.fields;
    layout->delimiter = lone && delimiter == ',' && !options->delimiter ? ';' : delimiter;
    if (!layout->delimiter || (lone && !options->delimiter && layout->delimiter == ' '))
        layout->delimiter = ';';
    if (lone)
        spurity_input_found(sniff->recording, "delimiter", "none: one number a line", "--delimiter", 0, false,
                            "%zu lines hold a single number", single);
    else
        spurity_input_found(sniff->recording, "delimiter", delimiter_name(delimiter), "--delimiter", 0, false,
                            options->delimiter ? "as told" : "%zu rows of %zu fields", best.rows, best.fields);
    return SPURITY_OK;
}

/* ---- decimal mark ------------------------------------------------------------------------------------- */

/** What the cells say for and against each mark. */
struct mark_evidence {
    size_t comma, point;             /* surely decimal */
    size_t group_comma, group_point; /* surely between thousands */
    size_t unsure_comma, unsure_point;
    size_t blank, apostrophe; /* between thousands */
    unsigned long comma_line, point_line, unsure_line;
    char sample[40];
};

/** Looks at one cell: "146,94", "1.234,5", "146 940 000". */
static void weigh_cell(struct mark_evidence *evidence, const struct text_cell *cell, unsigned long line)
{
    size_t digits = 0, lead = 0, commas = 0, points = 0, run = 0;
    char last = 0;
    bool negative = cell->length && cell->text[0] == '-', by_three = true;
    for (size_t i = cell->text[0] == '-' || cell->text[0] == '+'; i < cell->length; i++) {
        char c = cell->text[i];
        if (isdigit((unsigned char)c)) {
            digits++;
            run++;
            continue;
        }
        bool between = c == ' ' || c == '\'';
        if (!digits && c != ',' && c != '.')
            return;
        if (c != ',' && c != '.' && !(between && i + 1 < cell->length && isdigit((unsigned char)cell->text[i + 1])))
            break; /* exponent or unit */
        if (!last)
            lead = run;
        else if (run != 3)
            by_three = false;
        run = 0;
        evidence->blank += c == ' ';
        evidence->apostrophe += c == '\'';
        if (between)
            continue;
        commas += c == ',';
        points += c == '.';
        last = c;
    }
    if (!digits || !(commas + points))
        return;
    bool comma = last == ',';
    size_t *decimal = comma ? &evidence->comma : &evidence->point;
    size_t *group = comma ? &evidence->group_comma : &evidence->group_point;
    size_t *unsure = comma ? &evidence->unsure_comma : &evidence->unsure_point;
    bool three = run == 3 && by_three && lead >= 1 && lead <= 3;
    if (commas && points) { /* the last one is decimal, the other stands between thousands */
        (*decimal)++;
        *(comma ? &evidence->group_point : &evidence->group_comma) += 1;
    } else if (commas + points > 1) {
        *group += three;
    } else if (three && !negative && !(lead == 1 && memchr(cell->text, '0', 1))) {
        (*unsure)++;
        if (comma && !evidence->unsure_line) {
            evidence->unsure_line = line;
            spurity_input_clean(evidence->sample, sizeof evidence->sample, cell->text, cell->length);
        }
    } else {
        (*decimal)++;
    }
    unsigned long *at = comma ? &evidence->comma_line : &evidence->point_line;
    if (!*at)
        *at = line;
}

static void weigh_rows(struct text_sniff *sniff, struct mark_evidence *evidence)
{
    const struct text_layout *layout = sniff->layout;
    for (size_t i = 0; i < sniff->line_count && i < JUDGED_LINES; i++) {
        struct look look = look_at(sniff, &sniff->lines[i], layout->delimiter, (struct text_marks){0});
        bool grouped = layout->fields > 1 && look.mangled && look.fields == layout->fields;
        bool single = layout->fields == 1 && look.fields && look.numbers == 1 && !look.words;
        if (look.fields > TEXT_FIELDS_MOST || !(single || grouped || (is_row(&look) && look.fields == layout->fields)))
            continue;
        for (size_t c = 0; c < look.fields; c++)
            if (sniff->cells[c].length)
                weigh_cell(evidence, &sniff->cells[c], sniff->lines[i].number);
    }
}

static spurity_status report_marks(struct text_sniff *sniff, const struct mark_evidence *e, spurity_error *error)
{
    if (e->comma && e->point)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, e->comma_line, 0),
                               "one decimal mark throughout", "say --decimal-mark comma or --decimal-mark point",
                               "a decimal comma here and a decimal point in line %lu", e->point_line);
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, e->unsure_line, 0),
                           "numbers that can be read in one way",
                           "--decimal-mark comma takes the first reading, --decimal-mark point the second",
                           "'%s', which is a number with three decimals or one with its thousands apart", e->sample);
}

static spurity_status find_marks(struct text_sniff *sniff, spurity_error *error)
{
    struct mark_evidence e = {0};
    struct text_layout *layout = sniff->layout;
    const spurity_input *input = sniff->input;
    weigh_rows(sniff, &e);
    char told = input->options->decimal_mark;
    bool comma_groups = e.group_comma && !e.comma, point_groups = e.group_point && !e.point;
    if (!told && ((e.comma && e.point) || (e.group_comma && e.group_point)))
        return report_marks(sniff, &e, error);
    if (!told && e.unsure_comma && !e.comma && !comma_groups && !e.point)
        return report_marks(sniff, &e, error);
    bool comma = told ? told == ',' : e.comma || point_groups;
    layout->marks.mark = comma ? ',' : '.';
    if (comma && (e.group_point || e.unsure_point))
        layout->marks.group = '.';
    else if (!comma && (e.group_comma || e.unsure_comma))
        layout->marks.group = ',';
    else if (e.apostrophe)
        layout->marks.group = '\'';
    else if (e.blank && layout->delimiter != ' ')
        layout->marks.group = ' ';
    /* A comma before other than three digits is no group of thousands: that proves the mark. */
    bool assumed = !told && ((comma && !e.comma) || layout->marks.group == ',');
    unsigned long line = comma ? e.comma_line : e.point_line;
    spurity_input_found(sniff->recording, "decimal mark", comma ? "comma" : "point", "--decimal-mark", line, assumed,
                        told      ? "as told"
                        : comma   ? "numbers with a comma inside, none with a point for its decimals"
                        : e.point ? "numbers with a point inside"
                                  : "no number with a comma for its decimals");
    if (assumed)
        spurity_notes_add(input->notes, SPURITY_NOTE_DECIMAL_MARK_ASSUMED, input->file,
                          "'%.60s', line %lu: the %s was taken for the decimal mark; --decimal-mark overrides",
                          input->name, line, comma ? "comma" : "point");
    if (layout->marks.group)
        spurity_input_found(sniff->recording, "thousands", (char[]){'\'', layout->marks.group, '\'', 0}, "", line, true,
                            "digits stand in groups of three");
    return SPURITY_OK;
}

/* ---- comma for both ------------------------------------------------------------------------------------ */

static bool all_digits(const struct text_cell *cell, bool sign)
{
    size_t i = sign && cell->length && (cell->text[0] == '-' || cell->text[0] == '+');
    if (i >= cell->length)
        return false;
    for (; i < cell->length; i++)
        if (!isdigit((unsigned char)cell->text[i]))
            return false;
    return true;
}

/** Whether every row could as well be numbers with a decimal comma: whole, fraction, whole, fraction. */
static bool reads_as_fractions(struct text_sniff *sniff, const struct text_line **sample)
{
    size_t fields = sniff->layout->fields, rows = 0, negative = 0, outside = 0;
    for (size_t i = 0; i < sniff->line_count && i < JUDGED_LINES; i++) {
        struct look look = look_at(sniff, &sniff->lines[i], ',', (struct text_marks){0});
        if (!is_row(&look) || look.fields != fields)
            continue;
        for (size_t c = 0; c < fields; c++)
            if (sniff->cells[c].quoted || !all_digits(&sniff->cells[c], c % 2 == 0))
                return false;
        double whole = 0;
        spurity_number_parse(sniff->cells[0].text, sniff->cells[0].length, '.', &whole);
        negative += sniff->cells[0].text[0] == '-';
        outside += fabs(whole) > 250;
        if (!rows++)
            *sample = &sniff->lines[i];
    }
    return rows && (fields >= 4 || (negative && !outside));
}

/** The line of names above the rows: how many fields it has, 0 when there is none. */
static size_t names_above(struct text_sniff *sniff, const struct text_line *first)
{
    for (const struct text_line *line = first; line-- > sniff->lines;) {
        if (spurity_text_is_blank(line->text, line->length))
            continue;
        size_t skip = spurity_text_comment(line->text, line->length);
        size_t n = spurity_text_cells(line->text + skip, line->length - skip, ',', sniff->cells, TEXT_FIELDS_MOST);
        return n > TEXT_FIELDS_MOST ? 0 : n;
    }
    return 0;
}

static spurity_status check_commas(struct text_sniff *sniff, spurity_error *error)
{
    const struct text_layout *layout = sniff->layout;
    const struct text_line *sample = NULL;
    const spurity_read_options *options = sniff->input->options;
    if (layout->delimiter != ',' || layout->fields % 2 || options->delimiter || options->decimal_mark == '.' ||
        !reads_as_fractions(sniff, &sample))
        return SPURITY_OK;
    if (names_above(sniff, sample) == layout->fields)
        return SPURITY_OK;
    char text[60];
    spurity_input_clean(text, sizeof text, sample->text, sample->length);
    return spurity_reportf(
        error, SPURITY_INVALID, spurity_input_at(sniff->input, sample->number, 1), "commas that mean one thing",
        layout->fields == 2 ? "--delimiter comma takes the first reading, --decimal-mark comma the second"
                            : "--delimiter comma takes the first reading; for the second export again with another "
                              "delimiter or a decimal point",
        "'%s', which is %zu whole numbers or %zu with a decimal comma", text, layout->fields, layout->fields / 2);
}

/* ---- table ---------------------------------------------------------------------------------------------- */

static bool row_fits(struct text_sniff *sniff, const struct text_line *line)
{
    const struct text_layout *layout = sniff->layout;
    struct look look = look_at(sniff, line, layout->delimiter, layout->marks);
    if (layout->fields == 1) {
        bool trailing = look.fields == 2 && !sniff->cells[1].length;
        return (look.fields == 1 || trailing) && look.numbers == 1 && !look.words && !look.mangled;
    }
    return look.fields == layout->fields && is_row(&look);
}

/** The longest run of fitting rows in the head; blank lines and comments do not break it. */
static void find_run(struct text_sniff *sniff)
{
    size_t best = 0, begin = 0, end = 0, rows = 0;
    for (size_t i = 0; i <= sniff->line_count; i++) {
        const struct text_line *line = &sniff->lines[i];
        if (i < sniff->line_count && row_fits(sniff, line)) {
            if (!rows++)
                begin = i;
            end = i + 1;
            continue;
        }
        if (i < sniff->line_count &&
            (spurity_text_is_blank(line->text, line->length) || spurity_text_comment(line->text, line->length)))
            continue;
        if (rows > best) {
            best = rows;
            sniff->first = begin;
            sniff->run_end = end;
        }
        rows = 0;
    }
}

static spurity_status split_head(struct text_sniff *sniff, const struct text_stream *stream, spurity_error *error)
{
    const char *p = stream->buffer + stream->begin, *end = stream->buffer + stream->end;
    size_t room = 0;
    unsigned long number = stream->line, ends = 0;
    size_t length = 0, taken = 0;
    while (sniff->line_count < TEXT_SNIFF_LINES &&
           spurity_text_split_line(p, end, stream->ended, &length, &taken, &ends)) {
        struct text_line *lines = spurity_grow(sniff->lines, sniff->line_count, &room, sizeof *lines);
        if (!lines)
            return spurity_report_memory(error);
        sniff->lines = lines;
        sniff->lines[sniff->line_count++] = (struct text_line){p, length, number};
        p += taken;
        number += ends;
    }
    if (sniff->line_count)
        return SPURITY_OK;
    if (stream->end - stream->begin > TEXT_LINE_MOST / 2)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(sniff->input, stream->line, 0),
                              "a line of more than 1 MiB", "lines of at most 1 MiB", NULL);
    return report_no_rows(sniff, error);
}

static void tell_encoding(const struct text_stream *stream, spurity_recording *recording)
{
    if (stream->encoding != TEXT_UTF8)
        spurity_input_found(recording, "encoding", stream->encoding == TEXT_UTF16_LE ? "UTF-16 LE" : "UTF-16 BE", "", 0,
                            false, "%s", stream->encoding_why);
    else if (stream->latin)
        spurity_input_found(recording, "encoding", "Windows-1252", "", 0, true,
                            "%zu characters above 127 that are no UTF-8", stream->latin);
    else if (stream->multi || stream->bytes - stream->raw_count > stream->end)
        spurity_input_found(recording, "encoding", "UTF-8", "", 0, false, "%s",
                            stream->multi ? "well-formed characters above 127" : stream->encoding_why);
}

static spurity_status refuse_nul(const struct text_stream *stream, spurity_error *error)
{
    const char *nul = memchr(stream->buffer, 0, stream->end);
    if (!nul)
        return SPURITY_OK;
    return spurity_report(error, SPURITY_INVALID,
                          spurity_input_at_byte(stream->input, (uint64_t)(nul - stream->buffer)),
                          "a NUL byte among the text", "text", "export the sweep as text");
}

static spurity_status sniff_head(struct text_sniff *sniff, const struct text_stream *stream, spurity_error *error)
{
    spurity_status status = split_head(sniff, stream, error);
    if (!status)
        status = find_delimiter(sniff, error);
    if (!status)
        status = check_commas(sniff, error);
    if (!status)
        status = find_marks(sniff, error);
    if (status)
        return status;
    find_run(sniff);
    if (sniff->run_end <= sniff->first)
        return report_no_rows(sniff, error);
    status = spurity_text_judge_columns(sniff, error);
    if (status)
        return status;
    const struct text_line *first = &sniff->lines[sniff->first];
    sniff->layout->first_line = first->number;
    sniff->layout->first_offset = (size_t)(first->text - stream->buffer);
    return SPURITY_OK;
}

spurity_status spurity_text_sniff(struct text_stream *stream, spurity_recording *recording, struct text_layout *layout,
                                  spurity_error *error)
{
    *layout =
        (struct text_layout){.frequency = TEXT_NONE, .level = TEXT_NONE, .second = TEXT_NONE, .uncertainty = TEXT_NONE};
    layout->start_hz = layout->stop_hz = NAN;
    struct text_sniff sniff = {.input = stream->input, .recording = recording, .layout = layout};
    spurity_status status = refuse_nul(stream, error);
    if (status)
        return status;
    tell_encoding(stream, recording);
    sniff.cells = malloc((TEXT_FIELDS_MOST + 1) * sizeof *sniff.cells);
    status = sniff.cells ? sniff_head(&sniff, stream, error) : spurity_report_memory(error);
    free(sniff.cells);
    free(sniff.lines);
    return status;
}

void spurity_text_layout_free(struct text_layout *layout)
{
    free(layout->columns);
    layout->columns = NULL;
}
