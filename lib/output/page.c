/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "page.h"

enum { COLUMNS_DEFAULT = 100, COLUMNS_LEAST = 40, COLUMNS_MOST = 400 };
enum { CELL_CHARACTERS = 48, UNDER_INDENT = 6 };

void spurity_page_start(spurity_page *page, const spurity_text_options *options)
{
    int columns = options && options->columns ? options->columns : COLUMNS_DEFAULT;
    columns = columns < COLUMNS_LEAST ? COLUMNS_LEAST : columns > COLUMNS_MOST ? COLUMNS_MOST : columns;
    *page = (spurity_page){.columns = (size_t)columns, .colour = options && options->colour};
}

void spurity_page_style(spurity_page *page, const char *code)
{
    if (!page->colour)
        return;
    spurity_buffer_text(&page->out, "\033[");
    spurity_buffer_text(&page->out, code);
    spurity_buffer_text(&page->out, "m");
}

void spurity_page_paragraph(spurity_page *page, size_t start, size_t indent, const char *words)
{
    size_t column = start;
    char plain[2048];
    spurity_plain(plain, sizeof plain, words, 1000);
    bool fresh = true;
    for (const char *word = plain + strspn(plain, " "); *word;) {
        char one[2048];
        size_t length = strcspn(word, " ");
        snprintf(one, sizeof one, "%.*s", (int)length, word);
        size_t taken = spurity_characters(one);
        if (!fresh && column + 1 + taken > page->columns) {
            spurity_buffer_text(&page->out, "\n");
            spurity_buffer_blanks(&page->out, indent);
            column = indent;
        } else if (!fresh) {
            spurity_buffer_text(&page->out, " ");
            column++;
        }
        spurity_buffer_text(&page->out, one);
        column += taken;
        fresh = false;
        word += length;
        word += strspn(word, " ");
    }
    spurity_buffer_text(&page->out, "\n");
}

void spurity_page_indented(spurity_page *page, size_t indent, const char *words)
{
    spurity_buffer_blanks(&page->out, indent);
    spurity_page_paragraph(page, indent, indent, words);
}

void spurity_page_styled(spurity_page *page, const char *code, size_t indent, const char *words)
{
    spurity_page_style(page, code);
    spurity_page_indented(page, indent, words);
    spurity_page_style(page, "0");
}

void spurity_page_heading(spurity_page *page, const char *words)
{
    spurity_buffer_text(&page->out, "\n");
    spurity_page_styled(page, SPURITY_STYLE_STRONG, 0, words);
}

/* ---- tables ---------------------------------------------------------------------------------------------------- */

spurity_page_row *spurity_page_row_add(spurity_page *page, spurity_page_table *table)
{
    spurity_page_row *rows = spurity_grow(table->rows, table->row_count, &table->room, sizeof *rows);
    if (!rows) {
        page->out.failed = true;
        return NULL;
    }
    table->rows = rows;
    spurity_page_row *row = &rows[table->row_count++];
    memset(row, 0, sizeof *row);
    return row;
}

void spurity_page_cell(spurity_page_row *row, size_t column, const char *words)
{
    spurity_plain(row->cell[column], SPURITY_PAGE_CELL_SIZE, words, CELL_CHARACTERS);
}

void spurity_page_common_cell(spurity_page_table *table, size_t column, char *title, size_t size)
{
    const char *first = table->row_count ? table->rows[0].cell[column] : "";
    for (size_t i = 0; i < table->row_count; i++)
        if (!first[0] || strcmp(table->rows[i].cell[column], first) != 0)
            return;
    size_t used = strlen(title);
    snprintf(title + used, size - used, "%s%s", table->row_count ? ", against " : "", first);
    for (size_t i = table->row_count; i > 0; i--)
        table->rows[i - 1].cell[column][0] = '\0';
}

static size_t width_of(const spurity_page_table *table, size_t column)
{
    size_t width = 0;
    for (size_t i = 0; i < table->row_count; i++) {
        size_t cell = spurity_characters(table->rows[i].cell[column]);
        width = cell > width ? cell : width;
    }
    if (!width) /* nothing in it: no column */
        return 0;
    size_t title = spurity_characters(table->columns[column].title);
    return title > width ? title : width;
}

/* Widths that fit: dispensable columns go first, in their order. */
static void fit(const spurity_page *page, const spurity_page_table *table, size_t *width)
{
    for (size_t i = 0; i < table->column_count; i++)
        width[i] = width_of(table, i);
    for (int turn = 1; turn <= SPURITY_PAGE_CELLS; turn++) {
        size_t total = 0;
        for (size_t i = 0; i < table->column_count; i++)
            total += width[i] ? width[i] + 2 : 0;
        if (total <= page->columns)
            return;
        for (size_t i = 0; i < table->column_count; i++)
            if (table->columns[i].dropped == turn)
                width[i] = 0;
    }
}

static void write_cell(spurity_page *page, const char *words, size_t width, bool right, bool last)
{
    size_t taken = spurity_characters(words), blanks = width > taken ? width - taken : 0;
    spurity_buffer_blanks(&page->out, 2 + (right ? blanks : 0));
    spurity_buffer_text(&page->out, words);
    if (!right && !last)
        spurity_buffer_blanks(&page->out, blanks);
}

static void write_titles(spurity_page *page, const spurity_page_table *table, const size_t *width)
{
    size_t last = 0;
    for (size_t i = 0; i < table->column_count; i++)
        last = width[i] && table->columns[i].title[0] ? i : last;
    spurity_page_style(page, SPURITY_STYLE_QUIET);
    for (size_t i = 0; i <= last; i++)
        if (width[i])
            write_cell(page, table->columns[i].title, width[i], table->columns[i].right, i == last);
    spurity_page_style(page, "0");
    spurity_buffer_text(&page->out, "\n");
}

static void write_row(spurity_page *page, const spurity_page_table *table, const spurity_page_row *row,
                      const size_t *width)
{
    size_t last = 0;
    for (size_t i = 0; i < table->column_count; i++)
        last = width[i] && row->cell[i][0] ? i : last;
    for (size_t i = 0; i <= last; i++) {
        if (!width[i])
            continue;
        if (i == last && row->style)
            spurity_page_style(page, row->style);
        write_cell(page, row->cell[i], width[i], table->columns[i].right, i == last);
    }
    if (row->style)
        spurity_page_style(page, "0");
    spurity_buffer_text(&page->out, "\n");
    if (row->under[0])
        spurity_page_styled(page, SPURITY_STYLE_QUIET, UNDER_INDENT, row->under);
}

void spurity_page_table_write(spurity_page *page, spurity_page_table *table)
{
    size_t width[SPURITY_PAGE_CELLS] = {0};
    fit(page, table, width);
    if (table->row_count)
        write_titles(page, table, width);
    for (size_t i = 0; i < table->row_count; i++)
        write_row(page, table, &table->rows[i], width);
    free(table->rows);
    table->rows = NULL;
    table->row_count = table->room = 0;
}
