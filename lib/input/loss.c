/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A table of frequency and loss in dB becomes a curve. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "text.h"

enum { LOSS_ROWS_MOST = 1000000 };

struct table {
    double *hz, *db, *doubt; /* one block of 3 * room */
    size_t count, room;
    size_t missing, positive, negative;
    unsigned long first_line;
};

static spurity_status make_room(struct table *table, const spurity_input *input, unsigned long line,
                                spurity_error *error)
{
    if (table->count < table->room)
        return SPURITY_OK;
    if (table->count >= LOSS_ROWS_MOST)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line, 0), "at most a million rows", NULL,
                               "more than %d rows of losses", LOSS_ROWS_MOST);
    size_t room = table->room ? table->room * 2 : 256;
    double **parts[] = {&table->hz, &table->db, &table->doubt};
    for (size_t i = 0; i < 3; i++) {
        double *grown = realloc(*parts[i], room * sizeof *grown);
        if (!grown)
            return spurity_report_memory(error);
        *parts[i] = grown;
    }
    table->room = room;
    return SPURITY_OK;
}

static spurity_status report_cell(const spurity_input *input, const struct text_line *line,
                                  const struct text_cell *cell, const char *expected, spurity_error *error)
{
    char text[60];
    spurity_input_clean(text, sizeof text, cell->text, cell->length);
    return spurity_reportf(error, SPURITY_INVALID,
                           spurity_input_at(input, line->number, spurity_text_column(line->text, cell->offset)),
                           expected, NULL, "'%s' among the numbers", text);
}

/** A number of dB; NaN for an empty cell. */
static spurity_status decibels(const struct text_layout *layout, const spurity_input *input,
                               const struct text_line *line, const struct text_cell *cell, double *db,
                               spurity_error *error)
{
    struct text_number number;
    enum text_kind kind = spurity_text_kind(cell, layout->marks, &number);
    *db = NAN;
    if (kind == TEXT_EMPTY || kind == TEXT_MISSING)
        return SPURITY_OK;
    if (kind != TEXT_NUMBER || number.hz > 0 || (number.level && number.level != SPURITY_LEVEL_DB) ||
        !(fabs(number.value) <= 400))
        return report_cell(input, line, cell, "a loss in dB", error);
    *db = number.value;
    return SPURITY_OK;
}

static spurity_status keep_row(struct table *table, const spurity_input *input, const struct text_line *line, double hz,
                               double db, double doubt, spurity_error *error)
{
    if (isnan(db)) {
        table->missing++;
        return SPURITY_OK;
    }
    if (table->count && table->hz[table->count - 1] == hz) {
        if (table->db[table->count - 1] == db)
            return SPURITY_OK;
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line->number, 0),
                               "one loss for one frequency", NULL, "%g dB and %g dB at one frequency",
                               table->db[table->count - 1], db);
    }
    spurity_status status = make_room(table, input, line->number, error);
    if (status)
        return status;
    if (!table->count)
        table->first_line = line->number;
    table->positive += db > 0;
    table->negative += db < 0;
    table->hz[table->count] = hz;
    table->db[table->count] = db;
    table->doubt[table->count++] = isnan(doubt) ? doubt : fabs(doubt);
    return SPURITY_OK;
}

static spurity_status take_line(struct table *table, const struct text_layout *layout, const spurity_input *input,
                                struct text_cell *cells, const struct text_line *line, spurity_error *error)
{
    if (spurity_text_is_blank(line->text, line->length) || spurity_text_comment(line->text, line->length))
        return SPURITY_OK;
    size_t count = spurity_text_cells(line->text, line->length, layout->delimiter, cells, TEXT_FIELDS_MOST);
    if (count > TEXT_FIELDS_MOST || layout->frequency >= count || layout->level >= count)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line->number, 0),
                               "the same number of fields in every row", NULL, "%zu fields where the others have %zu",
                               count, layout->fields);
    struct text_number number;
    const struct text_cell *cell = &cells[layout->frequency];
    enum text_kind kind = spurity_text_kind(cell, layout->marks, &number);
    double db = NAN, doubt = NAN;
    if (kind == TEXT_EMPTY && !cells[layout->level].length)
        return SPURITY_OK;
    double hz = number.value * (number.hz > 0 ? number.hz : layout->frequency_hz);
    if (kind != TEXT_NUMBER || number.level || !(hz >= 0 && hz <= 1e12))
        return report_cell(input, line, cell, "a frequency from 0 to 1 THz", error);
    spurity_status status = decibels(layout, input, line, &cells[layout->level], &db, error);
    if (!status && layout->uncertainty != TEXT_NONE && layout->uncertainty < count)
        status = decibels(layout, input, line, &cells[layout->uncertainty], &doubt, error);
    return status ? status : keep_row(table, input, line, hz, db, doubt, error);
}

static spurity_status read_table(struct table *table, struct text_stream *stream, const struct text_layout *layout,
                                 spurity_error *error)
{
    struct text_cell *cells = malloc((TEXT_FIELDS_MOST + 1) * sizeof *cells);
    if (!cells)
        return spurity_report_memory(error);
    struct text_line line;
    bool have = true;
    spurity_status status = SPURITY_OK;
    while (!status && !(status = spurity_text_next(stream, &line, &have, error)) && have)
        status = take_line(table, layout, stream->input, cells, &line, error);
    free(cells);
    return status;
}

/* ---- order and sign ------------------------------------------------------------------------------------ */

static spurity_status check_order(struct table *table, const spurity_input *input, spurity_error *error)
{
    size_t n = table->count, rises = 0;
    for (size_t i = 1; i < n; i++)
        rises += table->hz[i] > table->hz[i - 1];
    if (rises == n - 1)
        return SPURITY_OK;
    if (rises)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, table->first_line, 0),
                              "frequencies that rise and fall", "a table sorted by frequency", "sort the rows");
    double *parts[] = {table->hz, table->db, table->doubt};
    for (size_t p = 0; p < 3; p++)
        for (size_t i = 0; i < n / 2; i++) {
            double other = parts[p][i];
            parts[p][i] = parts[p][n - 1 - i];
            parts[p][n - 1 - i] = other;
        }
    return SPURITY_OK;
}

static bool titled(const struct text_column *column, const char *word)
{
    return spurity_text_has_word(column->name, strlen(column->name), word);
}

/** Whether the column holds gains: by its title, else by its sign as far as that can tell. */
static spurity_status settle_sign(const struct table *table, const struct text_layout *layout,
                                  const spurity_input *input, spurity_recording *recording, bool *gain,
                                  spurity_error *error)
{
    const struct text_column *column = &layout->columns[layout->level];
    spurity_place at = spurity_input_at(input, table->first_line, 0);
    bool says_gain = titled(column, "gain") || titled(column, "s21");
    bool says_loss = titled(column, "loss") || titled(column, "atten");
    if (says_gain == says_loss && table->negative > table->positive)
        return spurity_reportf(error, SPURITY_INVALID, at, "a title that says loss or gain",
                               "name the column 'loss (dB)' or 'gain (dB)'",
                               "negative dB such as %g, which is a loss of %g dB written as a gain, or a gain of %g dB",
                               table->db[0], -table->db[0], -table->db[0]);
    if (says_loss && !says_gain && table->negative > table->positive)
        return spurity_reportf(error, SPURITY_INVALID, at, "positive losses, or a title that says gain",
                               "name the column 'gain (dB)' if it holds 20 log10 |S21|",
                               "losses below zero such as %g dB, which is a loss of %g dB written as a gain, or a gain",
                               table->db[0], -table->db[0]);
    *gain = says_gain && !says_loss;
    spurity_input_found(recording, "sign", *gain ? "gains: loss = -gain" : "losses", "", layout->names_line,
                        says_gain == says_loss, "%s",
                        *gain       ? "the title says gain"
                        : says_loss ? "the title says loss"
                                    : "positive dB under a title that says neither");
    return SPURITY_OK;
}

static spurity_status make_curve(struct table *table, const struct text_layout *layout, const spurity_input *input,
                                 spurity_recording *recording, spurity_error *error)
{
    if (!table->count)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, layout->first_line, 0),
                              "no loss in any row", "rows of frequency and loss in dB", NULL);
    bool gain = false;
    spurity_status status = check_order(table, input, error);
    if (!status)
        status = settle_sign(table, layout, input, recording, &gain, error);
    if (status)
        return status;
    size_t told = 0;
    for (size_t i = 0; i < table->count; i++) {
        table->db[i] = gain ? 0 - table->db[i] : table->db[i];
        told += isnan(table->doubt[i]) ? 0 : 1;
    }
    if (told && told < table->count)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, table->first_line, 0),
                              "an uncertainty in some rows only", "one in every row, or none", NULL);
    if (told)
        spurity_input_found(recording, "uncertainty column", layout->columns[layout->uncertainty].name, "",
                            layout->names_line, false, "its title; taken as expanded (k = 2)");
    if (table->missing) {
        spurity_input_found(recording, "missing points", "left out", "", 0, false, "%zu rows without a loss",
                            table->missing);
        spurity_notes_add(input->notes, SPURITY_NOTE_MISSING_POINTS, input->file,
                          "'%.60s': %zu rows of the loss table have no loss; it is interpolated there", input->name,
                          table->missing);
    }
    spurity_input_found(recording, "table", "loss by frequency", "", table->first_line, false, "%zu rows",
                        table->count);
    return spurity_curve_create(table->hz, table->db, told ? table->doubt : NULL, table->count, &recording->curve,
                                error);
}

spurity_status spurity_text_loss(struct text_stream *stream, const struct text_layout *layout,
                                 spurity_recording *recording, spurity_error *error)
{
    struct table table = {0};
    stream->begin = layout->first_offset;
    stream->line = layout->first_line;
    spurity_status status = read_table(&table, stream, layout, error);
    if (!status)
        status = make_curve(&table, layout, stream->input, recording, error);
    free(table.hz);
    free(table.db);
    free(table.doubt);
    return status;
}
