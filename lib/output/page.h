/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_PAGE_H
#define SPURITY_OUTPUT_PAGE_H
/* A page of text for a terminal: headings, paragraphs broken at blanks, tables whose dispensable columns go when the
 * page is narrow.  Whatever is written passes spurity_plain: no control character of a file reaches the terminal. */
#include "internal.h"

enum { SPURITY_PAGE_CELLS = 9, SPURITY_PAGE_CELL_SIZE = 112 };

/* ANSI codes; what they say stands in words too. */
#define SPURITY_STYLE_STRONG "1"
#define SPURITY_STYLE_QUIET "2"
#define SPURITY_STYLE_GOOD "32"
#define SPURITY_STYLE_OPEN "33"
#define SPURITY_STYLE_BAD "31"

typedef struct spurity_page {
    spurity_buffer out;
    size_t columns;
    bool colour;
} spurity_page;

/** An empty page; options may be NULL. */
void spurity_page_start(spurity_page *page, const spurity_text_options *options);
void spurity_page_style(spurity_page *page, const char *code); /* "0" ends it; nothing without colour */
/** Words broken at blanks to the page's width: the first line from column `start` (already written), others from
 * `indent`. */
void spurity_page_paragraph(spurity_page *page, size_t start, size_t indent, const char *words);
/** A paragraph that starts and goes on at `indent`. */
void spurity_page_indented(spurity_page *page, size_t indent, const char *words);
/** As spurity_page_indented, in a style. */
void spurity_page_styled(spurity_page *page, const char *code, size_t indent, const char *words);
/** A blank line and a line of its own. */
void spurity_page_heading(spurity_page *page, const char *words);

typedef struct spurity_page_column {
    const char *title;
    bool right;  /* figures stand to the right */
    int dropped; /* order in which columns go when the page is narrow; 0 = never */
} spurity_page_column;

typedef struct spurity_page_row {
    const char *style; /* of the last cell; NULL = none */
    char cell[SPURITY_PAGE_CELLS][SPURITY_PAGE_CELL_SIZE];
    char under[320]; /* a quiet paragraph beneath the row; "" = none */
} spurity_page_row;

/** Starts as {.columns, .column_count}; rows grow. */
typedef struct spurity_page_table {
    const spurity_page_column *columns;
    size_t column_count, row_count, room;
    spurity_page_row *rows;
} spurity_page_table;
/** One more row, empty; NULL (and the page marked as failed) when memory is out. */
spurity_page_row *spurity_page_row_add(spurity_page *page, spurity_page_table *table);
void spurity_page_cell(spurity_page_row *row, size_t column, const char *words);
/** Where all rows have one text in a column, it goes into `title` (", against 97.307(e)") and the column vanishes. */
void spurity_page_common_cell(spurity_page_table *table, size_t column, char *title, size_t size);
/** Writes the table and releases its rows. */
void spurity_page_table_write(spurity_page *page, spurity_page_table *table);

#endif
