/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What each column of a table is: names and units above it, then its numbers judged downwards. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "text.h"

/* ---- numbers downwards ------------------------------------------------------------------------------ */

static void weigh_number(struct text_column *column, const struct text_number *number)
{
    double value = number->hz > 0 ? number->value * number->hz : number->value;
    if (number->hz > 0 && !(column->hz > 0)) {
        column->hz = number->hz;
        column->unit_from = "behind its numbers";
    }
    if (number->level && !column->unit) {
        column->unit = number->level;
        column->unit_from = "behind its numbers";
    }
    if (!column->numbers) {
        column->first = column->least = column->most = value;
    } else {
        column->rises += value > column->last;
        column->falls += value < column->last;
        column->equals += value == column->last;
        column->by_one += value == column->last + 1;
    }
    column->least = value < column->least ? value : column->least;
    column->most = value > column->most ? value : column->most;
    column->last = value;
    column->numbers++;
}

static void weigh_cell(struct text_sniff *sniff, size_t index, unsigned long line)
{
    struct text_column *column = &sniff->layout->columns[index];
    struct text_number number;
    switch (spurity_text_kind(&sniff->cells[index], sniff->layout->marks, &number)) {
    case TEXT_NUMBER:
        weigh_number(column, &number);
        if (!column->unit_line)
            column->unit_line = line;
        break;
    case TEXT_MISSING:
        column->missing++;
        break;
    case TEXT_EMPTY:
        column->empty++;
        break;
    case TEXT_UNIT: /* a column of nothing but units tells the one to its left */
        column->units++;
        if (number.hz > 0)
            column->hz = number.hz;
        if (number.level)
            column->unit = number.level;
        break;
    case TEXT_DATE:
        column->dates++;
        break;
    case TEXT_MANGLED:
        column->mangled++;
        break;
    default:
        column->words++;
        column->keys += spurity_text_key(sniff->cells[index].text, sniff->cells[index].length) != FACTS;
    }
}

static size_t split_row(struct text_sniff *sniff, const struct text_line *line)
{
    return spurity_text_cells(line->text, line->length, sniff->layout->delimiter, sniff->cells, TEXT_FIELDS_MOST);
}

static size_t weigh_columns(struct text_sniff *sniff)
{
    size_t rows = 0, fields = sniff->layout->fields;
    for (size_t i = sniff->first; i < sniff->run_end; i++) {
        const struct text_line *line = &sniff->lines[i];
        if (spurity_text_is_blank(line->text, line->length) || spurity_text_comment(line->text, line->length))
            continue;
        size_t count = split_row(sniff, line);
        if (count < fields || count > TEXT_FIELDS_MOST)
            continue;
        rows++;
        for (size_t c = 0; c < fields; c++)
            weigh_cell(sniff, c, line->number);
    }
    return rows;
}

/** A column of units belongs to the numbers on its left. */
static void adopt_unit_columns(struct text_layout *layout)
{
    for (size_t c = 1; c < layout->fields; c++) {
        struct text_column *units = &layout->columns[c], *left = units - 1;
        if (!units->units || units->numbers || !left->numbers)
            continue;
        if (units->hz > 0 && !(left->hz > 0))
            left->hz = units->hz;
        if (units->unit && !left->unit)
            left->unit = units->unit;
        left->unit_from = "the column beside it";
    }
}

/** Numbers that stand among keys and values beside the table, not in it. */
static bool is_beside(const struct text_layout *layout, size_t c, size_t rows)
{
    const struct text_column *column = &layout->columns[c];
    for (size_t back = 1; back <= 2 && back <= c; back++) {
        const struct text_column *key = column - back;
        if (key->keys && (key->keys * 2 >= key->words || column->numbers * 2 < rows) && !key->numbers)
            return true;
    }
    return false;
}

static bool is_data(const struct text_layout *layout, size_t c, size_t rows)
{
    const struct text_column *column = &layout->columns[c];
    return column->numbers && column->words * 4 <= column->numbers && !column->dates && !is_beside(layout, c, rows);
}

/* ---- names and units above ---------------------------------------------------------------------------- */

/** Unit in a title: "Level (dBm)", "Freq [MHz]", "level/dBm", "f_MHz", "Level dBm", "dBm".  *name_length: without it.
 */
static bool title_unit(const char *text, size_t length, double *hz, spurity_level_unit *unit, size_t *name_length)
{
    size_t from = 0, to = length;
    bool strict = true; /* a lone letter is a unit only where one must stand */
    *name_length = length;
    while (to && text[to - 1] == ' ')
        to--;
    if (to && (text[to - 1] == ')' || text[to - 1] == ']')) {
        to--;
        for (from = to; from && text[from - 1] != '(' && text[from - 1] != '['; from--)
            ;
        if (!from)
            return false;
        *name_length = from - 1;
        strict = false;
    } else {
        for (from = to; from && !strchr(" /_;:,", text[from - 1]); from--)
            ;
        if (from > 1 && (text[from - 1] == '/' || text[from - 1] == '_'))
            strict = false;
        *name_length = from ? from - 1 : length;
    }
    *unit = spurity_level_unit_from_text(text + from, to - from);
    *hz = *unit ? 0 : spurity_frequency_unit_from_text(text + from, to - from);
    if ((*unit || *hz > 0) && (!strict || to - from >= 2)) {
        while (*name_length && text[*name_length - 1] == ' ')
            --*name_length;
        return true;
    }
    *name_length = length;
    *unit = SPURITY_LEVEL_UNKNOWN;
    *hz = 0;
    return false;
}

static spurity_status set_unit(struct text_sniff *sniff, size_t c, double hz, spurity_level_unit unit,
                               unsigned long line, const char *from, spurity_error *error)
{
    struct text_column *column = &sniff->layout->columns[c];
    bool clash = (unit && column->unit && unit != column->unit) || (hz > 0 && column->hz > 0 && hz != column->hz) ||
                 (unit && column->hz > 0) || (hz > 0 && column->unit);
    if (clash)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, line, 0),
                               "one unit for one column", "correct the file, or say --level-unit or --frequency-unit",
                               "a unit of column %zu in %s that contradicts the one in line %lu (%s)", c + 1, from,
                               column->unit_line, column->unit_from ? column->unit_from : "its numbers");
    if (hz > 0)
        column->hz = hz;
    if (unit)
        column->unit = unit;
    column->unit_line = line;
    column->unit_from = from;
    return SPURITY_OK;
}

/** Pure units: "Hz;dBm", "(MHz),[dBm]". */
static bool is_unit_row(const struct text_cell *cells, size_t count)
{
    size_t units = 0;
    for (size_t i = 0; i < count; i++) {
        double hz = 0;
        spurity_level_unit unit = SPURITY_LEVEL_UNKNOWN;
        size_t name = 0;
        if (!cells[i].length)
            continue;
        bool found = title_unit(cells[i].text, cells[i].length, &hz, &unit, &name);
        bool lone = cells[i].length == 1 && spurity_level_unit_from_text(cells[i].text, 1);
        bool bare = spurity_text_is_blank(cells[i].text, name) || name == cells[i].length;
        if (!lone && !(found && bare))
            return false;
        units++;
    }
    return units >= 1;
}

/** Words of a title line split by blanks: a bracketed unit belongs to the word before it. */
static size_t join_brackets(struct text_cell *cells, size_t count)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        if (kept && (cells[i].text[0] == '(' || cells[i].text[0] == '['))
            cells[kept - 1].length = (size_t)(cells[i].text + cells[i].length - cells[kept - 1].text);
        else
            cells[kept++] = cells[i];
    }
    return kept;
}

/** Cells of a line that may hold names; 0 when it has not one for each column. */
static size_t title_cells(struct text_sniff *sniff, const struct text_line *line)
{
    const struct text_layout *layout = sniff->layout;
    size_t skip = spurity_text_comment(line->text, line->length), used = layout->fields;
    const char order[] = {layout->delimiter, '\t', ';', ',', '|', ' '};
    while (used && !layout->columns[used - 1].numbers && layout->columns[used - 1].empty)
        used--;
    for (size_t i = 0; i < sizeof order; i++) {
        size_t count =
            spurity_text_cells(line->text + skip, line->length - skip, order[i], sniff->cells, TEXT_FIELDS_MOST);
        if (count > TEXT_FIELDS_MOST)
            continue;
        if (order[i] == ' ' && count != layout->fields)
            count = join_brackets(sniff->cells, count);
        while (count > layout->fields && !sniff->cells[count - 1].length)
            count--;
        if (count >= used && count <= layout->fields && (count > 1 || layout->fields == 1))
            return count;
    }
    return 0;
}

/** A line of names: words, no numbers, and not a key with its value. */
static bool is_title_row(struct text_sniff *sniff, size_t count)
{
    size_t words = 0;
    for (size_t i = 0; i < count; i++) {
        struct text_number number;
        enum text_kind kind = spurity_text_kind(&sniff->cells[i], (struct text_marks){0}, &number);
        if (kind == TEXT_NUMBER && (i == 0 || sniff->layout->columns[i].numbers) && count <= 3)
            return false;
        words += kind == TEXT_WORD || kind == TEXT_UNIT;
    }
    const struct text_cell *first = &sniff->cells[0];
    bool key = spurity_text_key(first->text, first->length) != FACTS;
    return words && !(key && count <= 3) && !(count == 1 && memchr(first->text, ':', first->length));
}

static spurity_status take_titles(struct text_sniff *sniff, size_t count, const struct text_line *line, bool units,
                                  spurity_error *error)
{
    for (size_t c = 0; c < count; c++) {
        const struct text_cell *cell = &sniff->cells[c];
        struct text_column *column = &sniff->layout->columns[c];
        double hz = 0;
        spurity_level_unit unit = SPURITY_LEVEL_UNKNOWN;
        size_t name = cell->length;
        bool has = title_unit(cell->text, cell->length, &hz, &unit, &name);
        if (!has && units && cell->length == 1) { /* "V", "W" alone */
            unit = spurity_level_unit_from_text(cell->text, 1);
            has = unit != SPURITY_LEVEL_UNKNOWN;
        }
        if (!units && !column->name[0])
            spurity_input_clean(column->name, sizeof column->name, cell->text, name ? name : cell->length);
        if (!has || !column->numbers)
            continue;
        spurity_status status = set_unit(sniff, c, hz, unit, line->number, units ? "the unit row" : "its title", error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/** Titles split by blanks that do not match in number: the units in it, in order, when there is one for each column. */
static spurity_status take_loose_units(struct text_sniff *sniff, const struct text_line *line, spurity_error *error)
{
    size_t skip = spurity_text_comment(line->text, line->length), found = 0;
    size_t count = spurity_text_cells(line->text + skip, line->length - skip, ' ', sniff->cells, TEXT_FIELDS_MOST);
    struct {
        double hz;
        spurity_level_unit unit;
    } units[8];
    for (size_t i = 0; i < count && i < TEXT_FIELDS_MOST; i++) {
        double hz = 0;
        spurity_level_unit unit = SPURITY_LEVEL_UNKNOWN;
        size_t name = 0;
        if (!title_unit(sniff->cells[i].text, sniff->cells[i].length, &hz, &unit, &name))
            continue;
        if (found == 8)
            return SPURITY_OK;
        units[found].hz = hz;
        units[found++].unit = unit;
    }
    if (found != sniff->layout->fields)
        return SPURITY_OK;
    for (size_t c = 0; c < found; c++) {
        spurity_status status = set_unit(sniff, c, units[c].hz, units[c].unit, line->number, "its title", error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/** A line above the rows that is nearly one of them: words among numbers. */
static spurity_status refuse_broken_row(struct text_sniff *sniff, const struct text_line *line, spurity_error *error)
{
    if (split_row(sniff, line) != sniff->layout->fields || sniff->layout->fields < 2)
        return SPURITY_OK;
    size_t numbers = 0, bad = TEXT_NONE;
    for (size_t c = 0; c < sniff->layout->fields; c++) {
        struct text_number number;
        enum text_kind kind = spurity_text_kind(&sniff->cells[c], sniff->layout->marks, &number);
        numbers += kind == TEXT_NUMBER;
        if (bad == TEXT_NONE && sniff->layout->columns[c].numbers && (kind == TEXT_WORD || kind == TEXT_MANGLED))
            bad = c;
    }
    const struct text_cell *first = &sniff->cells[0];
    if (!numbers || bad == TEXT_NONE || spurity_text_key(first->text, first->length) != FACTS ||
        (bad == 0 && first->length && strchr("+-.0123456789", first->text[0]) == NULL && sniff->layout->fields > 2))
        return SPURITY_OK;
    char text[60];
    spurity_input_clean(text, sizeof text, sniff->cells[bad].text, sniff->cells[bad].length);
    return spurity_reportf(
        error, SPURITY_INVALID,
        spurity_input_at(sniff->input, line->number, spurity_text_column(line->text, sniff->cells[bad].offset)),
        "a number", "correct the row, or leave the cell empty where nothing was measured", "'%s' among the numbers",
        text);
}

/** From the table upwards: a unit row, then the names.  *above: first line that belongs to the preamble no more. */
static spurity_status find_titles(struct text_sniff *sniff, size_t *above, spurity_error *error)
{
    bool units = false;
    size_t looked = 0;
    *above = sniff->first;
    for (size_t i = sniff->first; i-- > 0 && looked < 4;) {
        const struct text_line *line = &sniff->lines[i];
        if (spurity_text_is_blank(line->text, line->length))
            continue;
        looked++;
        size_t count = title_cells(sniff, line);
        spurity_status status = SPURITY_OK;
        if (count && !units && is_unit_row(sniff->cells, count)) {
            units = true;
            *above = i;
            if ((status = take_titles(sniff, count, line, true, error)))
                return status;
            continue;
        }
        if (count && is_title_row(sniff, count)) {
            *above = i;
            sniff->layout->names_line = line->number;
            sniff->layout->names_length =
                line->length < sizeof sniff->layout->names ? line->length : sizeof sniff->layout->names;
            memcpy(sniff->layout->names, line->text, sniff->layout->names_length);
            return take_titles(sniff, count, line, false, error);
        }
        if ((status = refuse_broken_row(sniff, line, error)))
            return status;
        if (sniff->layout->delimiter == ' ' && looked == 1 && (status = take_loose_units(sniff, line, error)))
            return status;
        char word[24]; /* "DATA", "[Trace]" may stand between the names and the rows */
        spurity_text_fold(line->text, line->length, word, sizeof word);
        if (strlen(word) > 12 || memchr(line->text, '=', line->length) || memchr(line->text, ':', line->length) ||
            count > 1)
            break;
    }
    return SPURITY_OK;
}

static spurity_status take_preamble(struct text_sniff *sniff, size_t above, size_t rows, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    if (sniff->first > TEXT_PREAMBLE_MOST)
        return spurity_reportf(error, SPURITY_INVALID,
                               spurity_input_at(sniff->input, sniff->lines[sniff->first].number, 0),
                               "at most 1000 lines", "see --delimiter, --decimal-mark",
                               "%zu lines before the first row of numbers", sniff->first);
    for (size_t i = 0; i < sniff->first; i++) {
        const struct text_line *line = &sniff->lines[i];
        if (i >= above && line->number == layout->names_line)
            continue;
        spurity_text_take_facts(&layout->facts, line->text, line->length, line->number, layout->delimiter,
                                layout->marks.mark == ',' ? ',' : 0, sniff->input);
    }
    size_t beside = 0;
    for (size_t c = 0; c < layout->fields; c++)
        if (layout->columns[c].numbers && is_beside(layout, c, rows))
            beside = c + 2 <= layout->fields ? c + 2 : layout->fields;
    for (size_t i = sniff->first; beside && i < sniff->run_end; i++)
        if (split_row(sniff, &sniff->lines[i]) == layout->fields)
            spurity_text_take_cells(&layout->facts, sniff->cells, beside, sniff->lines[i].number, layout->marks.mark,
                                    sniff->input);
    return SPURITY_OK;
}

/* ---- which column is which --------------------------------------------------------------------------- */

static bool says_frequency(const struct text_column *column)
{
    const char *name = column->name;
    return spurity_text_has_word(name, strlen(name), "freq") || !strcmp(name, "f") || !strcmp(name, "F");
}

static bool is_index(const struct text_column *column)
{
    return column->numbers >= 2 && column->by_one == column->numbers - 1 &&
           (column->first == 0 || column->first == 1) && !(column->hz > 0) && !says_frequency(column);
}

/** Rises (or falls) as a sweep does: now and then a segment may begin anew, or a frequency come twice. */
static bool runs_one_way(const struct text_column *column)
{
    size_t steps = column->rises + column->falls;
    size_t less = column->rises < column->falls ? column->rises : column->falls;
    return steps && less * 10 <= steps && column->equals <= steps + 1;
}

static int frequency_score(const struct text_column *column)
{
    int score = 0;
    if (column->unit || is_index(column))
        return 0;
    score += says_frequency(column) ? 8 : 0;
    score += column->hz > 0 ? 8 : 0;
    score += runs_one_way(column) && column->least >= 0 ? 4 : 0;
    score += column->most > 250 ? 2 : 0; /* no level reaches there */
    return score >= 4 || (column->most > 250 && column->least >= 0) ? score : 0;
}

static spurity_status find_frequency(struct text_sniff *sniff, size_t rows, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    size_t best = TEXT_NONE, rival = TEXT_NONE;
    int top = 0;
    for (size_t c = 0; c < layout->fields; c++) {
        const struct text_column *column = &layout->columns[c];
        int score = is_data(layout, c, rows) ? frequency_score(column) : 0;
        if (score > top) {
            top = score;
            best = c;
            rival = TEXT_NONE;
        } else if (score && score == top && rival == TEXT_NONE) {
            rival = c;
        }
    }
    if (best == TEXT_NONE)
        return SPURITY_OK;
    const struct text_column *one = &layout->columns[best];
    const struct text_column *two = rival == TEXT_NONE ? NULL : &layout->columns[rival];
    if (two && top < 8 && two->most - two->least > one->most - one->least && one->most <= 250 && two->most > 250)
        best = rival; /* nothing above it tells: the larger range */
    else if (two && top >= 8 && (two->first != one->first || two->last != one->last))
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, layout->names_line, 0),
                               "one column of frequencies", "keep one of them in the file",
                               "two columns that could be the frequency: %zu and %zu", best + 1, rival + 1);
    layout->frequency = best;
    return SPURITY_OK;
}

/** A column that may hold levels (or losses). */
static bool may_be_level(const struct text_layout *layout, size_t c, size_t rows, spurity_purpose purpose)
{
    const struct text_column *column = &layout->columns[c];
    if (c == layout->frequency || !is_data(layout, c, rows) || column->hz > 0)
        return false;
    if (column->unit == SPURITY_LEVEL_OTHER || (purpose == SPURITY_READ_TRACE && column->unit == SPURITY_LEVEL_DB))
        return false;
    if (column->unit)
        return true;
    if (is_index(column) && (layout->fields > 1) && !column->name[0])
        return false;
    if (is_index(column) && column->numbers > 2)
        return false;
    return column->least >= -1000 && column->most <= 250;
}

/** A limit line: by its title, or because it never moves. */
static bool is_limit(const struct text_column *column)
{
    return spurity_text_has_word(column->name, strlen(column->name), "limit") ||
           (column->numbers >= 8 && column->least == column->most);
}

static bool same_name(const char *name, const char *wanted)
{
    char a[100], b[100];
    spurity_text_fold(name, strlen(name), a, sizeof a);
    spurity_text_fold(wanted, strlen(wanted), b, sizeof b);
    return a[0] && !strcmp(a, b);
}

/** Whether the column counts as a trace for --trace N. */
static bool counts_as_trace(const struct text_layout *layout, size_t c, size_t rows)
{
    const struct text_column *column = &layout->columns[c];
    return c != layout->frequency && is_data(layout, c, rows) && !(column->hz > 0) &&
           !(is_index(column) && !column->unit && c < layout->frequency);
}

static spurity_status choose_wanted(struct text_sniff *sniff, size_t rows, const char *wanted, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    double number = 0;
    size_t length = strlen(wanted), nth = 0;
    bool numeric = spurity_number_parse(wanted, length, '.', &number) == length;
    size_t traces = 0, only = TEXT_NONE;
    for (size_t c = 0; c < layout->fields; c++) {
        if (!counts_as_trace(layout, c, rows))
            continue;
        traces++;
        only = c;
        nth++;
        if ((numeric && number == (double)nth) || (!numeric && same_name(layout->columns[c].name, wanted)))
            layout->level = c;
    }
    if (layout->level != TEXT_NONE) {
        spurity_input_found(sniff->recording, "trace", layout->columns[layout->level].name, "--trace",
                            layout->names_line, false, "as told");
        return SPURITY_OK;
    }
    if (traces == 1) { /* perhaps one of several tables: rows.c looks for it */
        layout->level = only;
        layout->trace_wanted = numeric && number >= 1 && number < 10000 ? (size_t)number : TEXT_NONE;
        return SPURITY_OK;
    }
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, layout->names_line, 0),
                           "a number from 1 or a column's title", NULL, "no trace '%.60s' among %zu", wanted, traces);
}

/** Two columns of the same points' lowest and highest reading. */
static bool is_min_max(const struct text_column *a, const struct text_column *b)
{
    return spurity_text_has_word(a->name, strlen(a->name), "min") &&
           spurity_text_has_word(b->name, strlen(b->name), "max");
}

static spurity_status report_no_level(struct text_sniff *sniff, size_t rows, spurity_error *error)
{
    const struct text_layout *layout = sniff->layout;
    for (size_t c = 0; c < layout->fields; c++) {
        const struct text_column *column = &layout->columns[c];
        if (column->name[0] && !column->numbers && column->missing + column->empty && !column->words)
            return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, layout->names_line, 0),
                                   "a sweep with levels", "see --trace, --decimal-mark",
                                   "no level in any row of column %zu", c + 1);
        if (c == layout->frequency || !is_data(layout, c, rows))
            continue;
        if (column->unit == SPURITY_LEVEL_OTHER || column->unit == SPURITY_LEVEL_DB)
            return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, column->unit_line, 0),
                                   "levels at a terminal: dBm, dBW, dBuV, dBmV, dBV, V, W and their parts",
                                   "export in dBm; --level-unit says so where the title is wrong",
                                   "column %zu in a unit that is no level at a terminal", c + 1);
    }
    return spurity_report(error, SPURITY_INVALID, spurity_input_at(sniff->input, layout->first_line, 0),
                          "no column of levels", "levels between -250 and +150, or a title with their unit",
                          "see --level-unit, --trace");
}

static void tell_others(struct text_sniff *sniff, const size_t *found, size_t count)
{
    const struct text_layout *layout = sniff->layout;
    char names[120] = "";
    size_t used = 0;
    for (size_t i = 0; i < count && used < sizeof names; i++) {
        const char *name = layout->columns[found[i]].name;
        int n = snprintf(names + used, sizeof names - used, "%s%zu %.40s", i ? ", " : "", i + 1, name);
        used += n > 0 ? (size_t)n : 0;
    }
    const struct text_column *taken = &layout->columns[layout->level];
    const char *why = layout->second_is_pair ? "the higher of a min/max pair was taken" : "the first was taken";
    spurity_input_found(sniff->recording, "trace", taken->name[0] ? taken->name : "the first", "--trace",
                        layout->names_line, true, "several: %s; %s", names, why);
    spurity_notes_add(sniff->input->notes, SPURITY_NOTE_OTHER_TRACES, sniff->input->file,
                      "'%.60s' holds %zu traces (%s): %s; --trace overrides", sniff->input->name, count, names, why);
}

static spurity_status find_levels(struct text_sniff *sniff, size_t rows, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const spurity_read_options *options = sniff->input->options;
    size_t found[64], count = 0, lively = 0;
    if (options->trace)
        return choose_wanted(sniff, rows, options->trace, error);
    for (size_t c = 0; c < layout->fields; c++) {
        bool fits = options->level_unit ? counts_as_trace(layout, c, rows) && !is_index(&layout->columns[c])
                                        : may_be_level(layout, c, rows, sniff->input->purpose);
        if (fits && count < 64) {
            found[count++] = c;
            lively += !is_limit(&layout->columns[c]);
        }
    }
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (!lively || !is_limit(&layout->columns[found[i]]))
            found[kept++] = found[i];
    if (!kept)
        return report_no_level(sniff, rows, error);
    layout->level = found[0];
    if (kept == 2) {
        const struct text_column *a = &layout->columns[found[0]], *b = &layout->columns[found[1]];
        layout->second_is_pair = is_min_max(a, b) || is_min_max(b, a);
        if (layout->second_is_pair)
            layout->second = found[1];
    }
    if (kept > 1)
        tell_others(sniff, found, kept);
    return SPURITY_OK;
}

/* ---- loss tables ---------------------------------------------------------------------------------------- */

static bool says(const struct text_column *column, const char *const *words)
{
    for (; *words; words++)
        if (spurity_text_has_word(column->name, strlen(column->name), *words))
            return true;
    return false;
}

static spurity_status find_loss(struct text_sniff *sniff, size_t rows, spurity_error *error)
{
    static const char *const doubt[] = {"uncert", "tolerance", "expanded", "unc", "u95", "u(", NULL};
    static const char *const loss[] = {"loss", "atten", "gain", "s21", "insertion", "il", NULL};
    struct text_layout *layout = sniff->layout;
    size_t found = 0, titled = 0;
    size_t first = TEXT_NONE, by_title = TEXT_NONE;
    for (size_t c = 0; c < layout->fields; c++) {
        const struct text_column *column = &layout->columns[c];
        if (!may_be_level(layout, c, rows, SPURITY_READ_LOSS))
            continue;
        if (says(column, doubt) || !strcmp(column->name, "U") || !strcmp(column->name, "u")) {
            layout->uncertainty = c;
            continue;
        }
        if (!found++)
            first = c;
        if (says(column, loss) && !titled++)
            by_title = c;
    }
    if (sniff->input->options->trace)
        return choose_wanted(sniff, rows, sniff->input->options->trace, error);
    layout->level = titled == 1 ? by_title : first;
    if (!found)
        return report_no_level(sniff, rows, error);
    if (found > 1 && titled != 1)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, layout->names_line, 0),
                               "one column of losses", "--trace N takes one", "%zu columns that could be the loss",
                               found);
    return SPURITY_OK;
}

spurity_status spurity_text_judge_columns(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    layout->columns = calloc(layout->fields, sizeof *layout->columns);
    if (!layout->columns)
        return spurity_report_memory(error);
    size_t rows = weigh_columns(sniff), above = 0;
    adopt_unit_columns(layout);
    spurity_status status = find_titles(sniff, &above, error);
    if (!status)
        status = take_preamble(sniff, above, rows, error);
    if (!status)
        status = spurity_text_find_wide(sniff, error);
    if (status || layout->wide)
        return status ? status : spurity_text_settle_units(sniff, error);
    status = spurity_text_refuse_dates(sniff, error);
    if (!status)
        status = find_frequency(sniff, rows, error);
    if (!status)
        status = sniff->input->purpose == SPURITY_READ_LOSS ? find_loss(sniff, rows, error)
                                                            : find_levels(sniff, rows, error);
    if (status)
        return status;
    return spurity_text_settle_units(sniff, error);
}
