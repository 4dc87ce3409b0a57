/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_TEXT_H
#define SPURITY_INPUT_TEXT_H
/* Rooms of the text reader: a stream of decoded text (stream.c), cells (cells.c), facts of a preamble (preamble.c), the
 * sniffer (sniff.c, columns.c) and the pass over the rows (rows.c, loss.c). */
#include "reader.h"

enum {
    TEXT_LINE_MOST = 1 << 20,
    TEXT_FIELDS_MOST = 4096,
    TEXT_PREAMBLE_MOST = 1000, /* lines */
    TEXT_ROWS_MOST = 64000000,
    TEXT_SNIFF_LINES = 65536
};
#define TEXT_FILE_MOST (UINT64_C(1) << 30) /* bytes */
#define TEXT_NONE SIZE_MAX

/* ---- stream.c ------------------------------------------------------------------------------------- */

enum text_encoding { TEXT_UTF8, TEXT_UTF16_LE, TEXT_UTF16_BE };

/** UTF-8 text, folded: micro signs are 'u', the minus sign '-', no-break spaces blanks.  [begin, end) stands in memory.
 */
struct text_stream {
    spurity_input *input;
    enum text_encoding encoding;
    const char *encoding_why;
    char *buffer;
    size_t room, begin, end;
    bool ended;         /* nothing follows end */
    unsigned long line; /* number of the line at begin */
    unsigned char *raw; /* undecoded bytes, carried from one read to the next */
    size_t raw_count, head_done;
    uint64_t bytes;      /* raw bytes taken so far */
    size_t latin, multi; /* characters that were no UTF-8, and that were */
};

struct text_line {
    const char *text;
    size_t length; /* without its end */
    unsigned long number;
};

spurity_status spurity_text_open(struct text_stream *stream, spurity_input *input, spurity_error *error);
void spurity_text_close(struct text_stream *stream);
/** More text behind end; what stands before begin is gone.  INVALID when a line is longer than allowed. */
spurity_status spurity_text_fill(struct text_stream *stream, spurity_error *error);
/** Splits one line off [p, end): *taken bytes with its end, *ends physical line ends.  False when it may go on. */
bool spurity_text_split_line(const char *p, const char *end, bool ended, size_t *length, size_t *taken,
                             unsigned long *ends);
/** The next line, valid until the next call.  *have false at the end. */
spurity_status spurity_text_next(struct text_stream *stream, struct text_line *line, bool *have, spurity_error *error);

/* ---- cells.c -------------------------------------------------------------------------------------- */

struct text_cell {
    const char *text; /* blanks around and quotes taken off */
    size_t length, offset;
    bool quoted;
};

enum text_kind {
    TEXT_EMPTY,
    TEXT_MISSING, /* a word for "not measured" */
    TEXT_NUMBER,  /* unit may follow */
    TEXT_WORD,
    TEXT_UNIT,   /* nothing but a unit */
    TEXT_DATE,   /* or a time of day */
    TEXT_MANGLED /* begins like a number and is none */
};

struct text_number {
    double value;
    double hz;                /* hertz per unit written behind it, 0 = none */
    spurity_level_unit level; /* unit of level written behind it */
};

/** How numbers are written.  mark 0: either, but one only. */
struct text_marks {
    char mark, group; /* group 0: none */
};

/** Cells of a line; at most room are filled, the count told is the true one up to room + 1. */
size_t spurity_text_cells(const char *line, size_t length, char delimiter, struct text_cell *cells, size_t room);
enum text_kind spurity_text_kind(const struct text_cell *cell, struct text_marks marks, struct text_number *number);
/** Column of an offset in a line, counted in characters from 1. */
unsigned long spurity_text_column(const char *line, size_t offset);
/** Length of a comment mark at the line's start (with the blanks around it), 0 when there is none. */
size_t spurity_text_comment(const char *line, size_t length);
bool spurity_text_is_blank(const char *text, size_t length);
/** The text folded to lower-case letters and digits. */
void spurity_text_fold(const char *text, size_t length, char *key, size_t size);
/** Whether a word stands in the text, case-blind, at a word's start. */
bool spurity_text_has_word(const char *text, size_t length, const char *word);

/* ---- preamble.c ------------------------------------------------------------------------------------- */

enum text_fact_id {
    FACT_START,
    FACT_STOP,
    FACT_CENTER,
    FACT_SPAN,
    FACT_POINTS,
    FACT_STEP,
    FACT_RBW,
    FACT_VBW,
    FACT_DETECTOR,
    FACT_ATTENUATION,
    FACT_REFERENCE,
    FACT_OFFSET,
    FACT_EXTERNAL_GAIN,
    FACT_EXTERNAL_LOSS,
    FACT_AVERAGES,
    FACT_SWEEP_TIME,
    FACT_LEVEL_UNIT,
    FACT_FREQUENCY_UNIT,
    FACT_TRACE,
    FACT_TRACE_MODE,
    FACT_TITLE,
    FACT_IMPEDANCE,
    FACTS
};

struct text_fact {
    unsigned long line; /* 0 = not told */
    char text[80];      /* value as it stands there */
    double value;       /* NaN when it is no number */
    char unit[16];
};

struct text_facts {
    struct text_fact fact[FACTS];
};

enum text_fact_id spurity_text_key(const char *text, size_t length); /* FACTS when it is none */
const char *spurity_text_fact_name(enum text_fact_id id);
/** Takes what one line tells.  True when it told a known fact.  Twice with another value: the first stays, and is
 *  noted when notes is not NULL. */
bool spurity_text_take_facts(struct text_facts *facts, const char *line, size_t length, unsigned long number,
                             char delimiter, char mark, const spurity_input *input);
/** The same from cells that stand beside a table. */
bool spurity_text_take_cells(struct text_facts *facts, const struct text_cell *cells, size_t count,
                             unsigned long number, char mark, const spurity_input *input);
/** Hertz of a fact; NaN when not told.  Without a unit of its own: bare_hz per unit. */
double spurity_text_fact_hz(const struct text_facts *facts, enum text_fact_id id, double bare_hz);

/* ---- sniff.c, columns.c --------------------------------------------------------------------------- */

struct text_column {
    size_t numbers, missing, empty, words, units, dates, mangled, keys;
    double first, last, least, most;
    size_t rises, falls, equals, by_one; /* between neighbouring numbers */
    double hz;                           /* hertz per unit, 0 = unsaid */
    spurity_level_unit unit;             /* level unit, UNKNOWN = unsaid */
    unsigned long unit_line;
    const char *unit_from; /* "its title", "the unit row" ... */
    char name[96];         /* without its unit */
};

/** What was understood of the text before the pass over its rows. */
struct text_layout {
    char delimiter;
    struct text_marks marks;
    size_t fields;
    struct text_column *columns;                  /* fields of them */
    size_t frequency, level, second, uncertainty; /* columns; TEXT_NONE */
    bool second_is_pair;                          /* level/second are a min/max pair: keep the higher */
    bool wide;                                    /* one row a sweep: low, high, step, count, levels */
    size_t wide_low;                              /* column of low */
    double frequency_hz;                          /* hertz per unit */
    spurity_level_unit unit;
    double ohm;
    bool falling;        /* frequencies descend */
    size_t first_offset; /* of the first row, in the stream's buffer */
    unsigned long first_line, names_line;
    char names[256]; /* the line of names, to know it again */
    size_t names_length;
    struct text_facts facts;  /* of the preamble */
    double start_hz, stop_hz; /* for levels only; NaN */
    size_t trace_wanted;      /* stacked traces: 1.. ; 0 = the first */
};

struct text_sniff {
    spurity_input *input;
    spurity_recording *recording;
    struct text_line *lines; /* of the head */
    size_t line_count;
    struct text_cell *cells; /* TEXT_FIELDS_MOST + 1 */
    struct text_layout *layout;
    size_t first, run_end; /* lines of the table in the head */
};

spurity_status spurity_text_sniff(struct text_stream *stream, spurity_recording *recording, struct text_layout *layout,
                                  spurity_error *error);
spurity_status spurity_text_judge_columns(struct text_sniff *sniff, spurity_error *error);
/** settle.c: rows of "low, high, step, count, levels..."; dates where frequencies should stand; units and spans. */
spurity_status spurity_text_find_wide(struct text_sniff *sniff, spurity_error *error);
spurity_status spurity_text_refuse_dates(struct text_sniff *sniff, spurity_error *error);
spurity_status spurity_text_settle_units(struct text_sniff *sniff, spurity_error *error);
void spurity_text_layout_free(struct text_layout *layout);
/** Segment facts from a preamble under the options. */
spurity_segment_facts spurity_text_segment_facts(const struct text_facts *facts, const spurity_read_options *options);

/* ---- rows.c, loss.c ------------------------------------------------------------------------------- */

spurity_status spurity_text_rows(struct text_stream *stream, const struct text_layout *layout,
                                 spurity_recording *recording, spurity_error *error);
spurity_status spurity_text_loss(struct text_stream *stream, const struct text_layout *layout,
                                 spurity_recording *recording, spurity_error *error);

#endif
