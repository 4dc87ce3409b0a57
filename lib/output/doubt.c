/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whose each line is.  One row a line: what it reads at the antenna terminal behind each attenuation, the word, and
 * what the instrument may have of it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "page.h"

enum { STEPS_MOST = 4, ROWS_MOST = 60, NOTES_MOST = 12 };

typedef struct sheet {
    spurity_page page;
    const spurity_measurement *measurement;
    size_t step_count, more_steps;
    double step_db[STEPS_MOST]; /* loss before the instrument at the carrier over the least, rising */
    double least_db;
    bool absolute; /* levels in dBm, else in dBc */
} sheet;

/* ---- steps ---- */

static double loss_of(const sheet *at, size_t file)
{
    const spurity_test_point *point = spurity_measurement_point(at->measurement);
    double loss = 0, hz = spurity_measurement_carrier(at->measurement)->frequency_hz;
    const spurity_chain *chain = point->sources[file].chain;
    if (chain && !spurity_chain_loss(chain, hz, &loss, NULL, NULL))
        return (double)NAN;
    const spurity_measured_file *measured = spurity_measurement_file(at->measurement, file);
    double gain = measured->spectrum ? spurity_recording_facts_of(measured->recording)->full_scale_dbm : 0;
    return isnan(gain) ? loss : loss + gain;
}

static bool is_keyed(const sheet *at, size_t file)
{
    return spurity_measurement_file(at->measurement, file)->role == SPURITY_ROLE_TRANSMITTER;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Attenuations apart by more than 0.5 dB, the least first. */
static bool find_steps(sheet *at)
{
    size_t files = spurity_measurement_file_count(at->measurement), count = 0;
    double *all = calloc(files, sizeof *all), last = -(double)INFINITY;
    if (!all)
        return false;
    for (size_t i = 0; i < files; i++) {
        double loss = is_keyed(at, i) ? loss_of(at, i) : (double)NAN;
        if (!isnan(loss))
            all[count++] = loss;
    }
    if (count)
        qsort(all, count, sizeof *all, by_value);
    at->least_db = count ? all[0] : (double)NAN;
    for (size_t i = 0; i < count; i++) {
        if (all[i] - last <= 0.5)
            continue;
        last = all[i];
        if (at->step_count < STEPS_MOST)
            at->step_db[at->step_count++] = last - at->least_db;
        else
            at->more_steps++;
    }
    free(all);
    return true;
}

static size_t step_of(const sheet *at, int file)
{
    double step = loss_of(at, (size_t)file) - at->least_db;
    for (size_t i = 0; i < at->step_count; i++)
        if (step >= at->step_db[i] - 0.01 && step <= at->step_db[i] + 0.51)
            return i;
    return STEPS_MOST;
}

/* ---- cells ---- */

static double level_of(const sheet *at, const spurity_overlap_reading *one)
{
    const spurity_measured_file *file = spurity_measurement_file(at->measurement, (size_t)one->file);
    return at->absolute ? one->level_db + file->dbm_offset : one->level_db - file->carrier_db;
}

/* Of the readings behind one attenuation the first that was compared. */
static const spurity_overlap_reading *reading_at(const sheet *at, const spurity_overlap *row, size_t step)
{
    const spurity_overlap_reading *found = NULL;
    for (size_t i = 0; i < row->count; i++) {
        const spurity_overlap_reading *one = &row->readings[i];
        if (step_of(at, one->file) == step && (!found || (one->comparable && !found->comparable)))
            found = one;
    }
    return found;
}

static void level_cell(const sheet *at, const spurity_overlap *row, size_t step, char *text, size_t size)
{
    char figure[40];
    const spurity_overlap_reading *one = reading_at(at, row, step);
    double level = one ? level_of(at, one) : (double)NAN;
    if (!one || !isfinite(level))
        snprintf(text, size, "-");
    else
        snprintf(text, size, "%s%s", one->seen ? "" : "< ", spurity_format_db(figure, sizeof figure, level));
}

static void name_cell(const sheet *at, const spurity_overlap *row, char *text, size_t size)
{
    char ratio[24] = "";
    if (row->emission < 0) {
        snprintf(text, size, "carrier");
        return;
    }
    const spurity_emission *e = spurity_measurement_emission(at->measurement, (size_t)row->emission);
    if (e->ratio_q)
        snprintf(ratio, sizeof ratio, "%d/%d", e->ratio_p, e->ratio_q);
    spurity_shown_emission shown = {.kind = spurity_emission_kind_name(e->kind),
                                    .ratio = ratio[0] ? ratio : NULL,
                                    .artefact = e->kind == SPURITY_ARTEFACT ? spurity_artefact_name(e->artefact) : "",
                                    .order = e->order};
    spurity_word_emission(&shown, text, size);
}

static void origin_cell(const spurity_overlap *row, char *text, size_t size)
{
    switch (row->origin) {
    case SPURITY_ORIGIN_TRANSMITTER:
        snprintf(text, size, "the transmitter's");
        return;
    case SPURITY_ORIGIN_INSTRUMENT:
        if (row->order)
            snprintf(text, size, "the instrument's, order %d", row->order);
        else
            snprintf(text, size, "the instrument's");
        return;
    case SPURITY_ORIGIN_FLOOR:
        snprintf(text, size, "the floor's");
        return;
    case SPURITY_ORIGIN_UNTOLD:
        break;
    }
    snprintf(text, size, "cannot be told");
}

/* "+1.0", "-0.6" */
static char *signed_db(char *text, size_t size, double db)
{
    char figure[40];
    snprintf(text, size, "%s%s", db < 0 ? "-" : "+", spurity_format_db(figure, sizeof figure, fabs(db)));
    return text;
}

/* What the set's own may differ from the first reading by: "-0.6..+1.0 dB". */
static void bound_cell(const spurity_overlap *row, char *text, size_t size)
{
    char low[40], high[40];
    signed_db(high, sizeof high, row->low_db);
    signed_db(low, sizeof low, -row->high_db);
    if (isnan(row->low_db) && isnan(row->high_db))
        snprintf(text, size, "-");
    else if (isfinite(row->high_db) && row->high_db < 39.9)
        snprintf(text, size, "%s..%s dB", low, high);
    else
        snprintf(text, size, "at most %s dB", high);
}

static const char *style_of(const spurity_overlap *row)
{
    return row->origin == SPURITY_ORIGIN_TRANSMITTER ? SPURITY_STYLE_GOOD
           : row->origin == SPURITY_ORIGIN_UNTOLD    ? SPURITY_STYLE_OPEN
                                                     : SPURITY_STYLE_BAD;
}

/* ---- parts ---- */

/* "3 lines: 1 the transmitter's, 1 the instrument's, 1 cannot be told" */
static void write_answer(sheet *at)
{
    static const char *const words[] = {[SPURITY_ORIGIN_UNTOLD] = "cannot be told",
                                        [SPURITY_ORIGIN_TRANSMITTER] = "the transmitter's",
                                        [SPURITY_ORIGIN_INSTRUMENT] = "the instrument's",
                                        [SPURITY_ORIGIN_FLOOR] = "the floor's"};
    static const spurity_origin order[] = {SPURITY_ORIGIN_TRANSMITTER, SPURITY_ORIGIN_INSTRUMENT, SPURITY_ORIGIN_FLOOR,
                                           SPURITY_ORIGIN_UNTOLD};
    size_t of[4] = {0}, all = spurity_measurement_overlap_count(at->measurement) - 1, used;
    char text[300];
    for (size_t i = 1; i <= all; i++)
        of[spurity_measurement_overlap(at->measurement, i)->origin]++;
    used = (size_t)snprintf(text, sizeof text, "%zu line%s beside the carrier at %zu attenuation%s%s", all,
                            all == 1 ? "" : "s", at->step_count + at->more_steps,
                            at->step_count + at->more_steps == 1 ? "" : "s", all ? ":" : "");
    for (size_t i = 0, told = 0; i < 4; i++)
        if (of[order[i]])
            used += (size_t)snprintf(text + used, sizeof text - used, "%s %zu %s", told++ ? "," : "", of[order[i]],
                                     words[order[i]]);
    spurity_page_style(&at->page, SPURITY_STYLE_STRONG);
    spurity_page_paragraph(&at->page, 0, 2, text);
    spurity_page_style(&at->page, "0");
    double lower = spurity_measurement_overlap(at->measurement, 0)->compressed_db;
    if (lower > 0) {
        snprintf(text, sizeof text,
                 "the carrier reads %.1f dB lower at the least attenuation: the instrument is overdriven there", lower);
        spurity_page_styled(&at->page, SPURITY_STYLE_BAD, 2, text);
    }
}

static void add_row(sheet *at, spurity_page_table *table, const spurity_overlap *row)
{
    char text[SPURITY_PAGE_CELL_SIZE];
    spurity_page_row *cells = spurity_page_row_add(&at->page, table);
    if (!cells)
        return;
    cells->style = style_of(row);
    name_cell(at, row, text, sizeof text);
    spurity_page_cell(cells, 0, text);
    spurity_page_cell(cells, 1, spurity_word_frequency(row->frequency_hz, row->rbw_hz / 10, text, sizeof text));
    for (size_t i = 0; i < at->step_count; i++) {
        level_cell(at, row, i, text, sizeof text);
        spurity_page_cell(cells, 2 + i, text);
    }
    bound_cell(row, text, sizeof text);
    spurity_page_cell(cells, 2 + at->step_count, text);
    origin_cell(row, text, sizeof text);
    spurity_page_cell(cells, 3 + at->step_count, text);
    snprintf(cells->under, sizeof cells->under, "%s", row->why);
}

static void write_rows(sheet *at)
{
    char titles[STEPS_MOST][32], words[120];
    spurity_page_column columns[SPURITY_PAGE_CELLS] = {{"", false, 0}, {"frequency", true, 0}};
    size_t count = spurity_measurement_overlap_count(at->measurement), n = at->step_count;
    for (size_t i = 0; i < n; i++) {
        snprintf(titles[i], sizeof titles[i], "+%.1f dB", at->step_db[i]);
        columns[2 + i] = (spurity_page_column){titles[i], true, 0};
    }
    columns[2 + n] = (spurity_page_column){"set's own against it", true, 1};
    columns[3 + n] = (spurity_page_column){"whose", false, 0};
    spurity_page_table table = {.columns = columns, .column_count = 4 + n};
    snprintf(words, sizeof words, "whose each line is: %s at the antenna terminal, by attenuation over the least",
             at->absolute ? "dBm" : "dB from the carrier");
    spurity_page_heading(&at->page, words);
    for (size_t i = 0; i < count && i < ROWS_MOST; i++)
        add_row(at, &table, spurity_measurement_overlap(at->measurement, i));
    spurity_page_table_write(&at->page, &table);
    if (count > ROWS_MOST || at->more_steps) {
        snprintf(words, sizeof words, "%zu more lines and %zu more attenuations in the JSON",
                 count > ROWS_MOST ? count - ROWS_MOST : 0, at->more_steps);
        spurity_page_styled(&at->page, SPURITY_STYLE_QUIET, 2, words);
    }
}

static void write_files(sheet *at)
{
    static const char *const roles[] = {[SPURITY_ROLE_TRANSMITTER] = "keyed",
                                        [SPURITY_ROLE_AMBIENT] = "ambient: the set unkeyed",
                                        [SPURITY_ROLE_LEAKAGE] = "leakage: the last pad's end terminated"};
    char words[500];
    spurity_page_heading(&at->page, "files");
    for (size_t i = 0; i < spurity_measurement_file_count(at->measurement) && i < 20; i++) {
        const spurity_measured_file *file = spurity_measurement_file(at->measurement, i);
        double step = loss_of(at, i) - at->least_db;
        if (is_keyed(at, i) && !isnan(step))
            snprintf(words, sizeof words, "%.300s: keyed, +%.1f dB", file->path, step);
        else
            snprintf(words, sizeof words, "%.300s: %s", file->path, roles[file->role]);
        spurity_page_indented(&at->page, 2, words);
    }
}

static void write_notes(sheet *at)
{
    const spurity_notes *notes = spurity_measurement_notes_view(at->measurement);
    char words[500];
    if (spurity_notes_count(notes))
        spurity_page_heading(&at->page, "assumed or doubtful");
    for (size_t i = 0; i < spurity_notes_count(notes) && i < NOTES_MOST; i++) {
        const spurity_note *note = spurity_notes_at(notes, i);
        const spurity_measured_file *file =
            note->file >= 0 ? spurity_measurement_file(at->measurement, (size_t)note->file) : NULL;
        bool named = !file || strstr(note->text, file->path);
        snprintf(words, sizeof words, "%.40s: %.320s%s%.80s%s", spurity_note_code_name(note->code), note->text,
                 named ? "" : " (", named ? "" : file->path, named ? "" : ")");
        spurity_buffer_blanks(&at->page.out, 2);
        spurity_page_paragraph(&at->page, 2, 6, words);
    }
}

spurity_status spurity_output_doubt(const spurity_measurement *measurement, const spurity_text_options *options,
                                    spurity_bytes *out, spurity_error *error)
{
    *out = (spurity_bytes){0};
    sheet at = {.measurement = measurement};
    at.absolute = isfinite(spurity_measurement_carrier(measurement)->level_dbm);
    spurity_page_start(&at.page, options);
    if (!find_steps(&at))
        at.page.out.failed = true;
    write_answer(&at);
    write_rows(&at);
    write_files(&at);
    write_notes(&at);
    spurity_buffer_text(&at.page.out, "\n");
    spurity_page_styled(&at.page, SPURITY_STYLE_QUIET, 0,
                        "Nothing was judged. Add attenuation, never take it out, to find out; two steps, the second "
                        "twice the first, settle what one leaves open.");
    return spurity_buffer_give(&at.page.out, out, error);
}
