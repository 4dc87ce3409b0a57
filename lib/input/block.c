/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Levels as an instrument sends them: blocks of IEEE 488.2 ("#" digit length bytes, or "#0" bytes to the end) and comma
 * lists.  The order of bytes and the width of reals cannot be told from the block: a guess is taken only when one
 * reading alone is plausible. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "rows.h"

enum { BLOCK_HEADER_MOST = 64, BLOCK_SERIES_MOST = 64, BLOCK_FILE_MOST = 256 << 20 };

enum element {
    ELEMENT_TEXT,
    ELEMENT_F32_BE,
    ELEMENT_F32_LE,
    ELEMENT_F64_BE,
    ELEMENT_F64_LE,
    ELEMENT_I32_BE,
    ELEMENT_I32_LE
};

enum layout {
    LAYOUT_NONE,        /* not plausible */
    LAYOUT_LEVELS,      /* one level a point */
    LAYOUT_PAIRS,       /* frequency, level, frequency, level ... */
    LAYOUT_HALVES,      /* all frequencies, then all levels */
    LAYOUT_FREQUENCIES, /* frequencies only: the next series holds the levels */
    LAYOUT_MIN_MAX      /* lowest, highest of each point */
};

/** A run of values: text, or elements of one width. */
struct series {
    const unsigned char *bytes;
    size_t size, count;
    uint64_t at; /* where it stands in the file */
    enum element element;
    enum layout layout;
    bool guessed;
};

struct cursor {
    const struct series *series;
    size_t offset, done;
};

static bool is_digit(unsigned char c)
{
    return c >= '0' && c <= '9';
}

/* ---- values ---------------------------------------------------------------------------------------------- */

static const char *const element_names[] = {
    "text", "f32be", "f32le", "f64be", "f64le", "32-bit integers, high byte first", "32-bit integers, low byte first"};

static size_t element_size(enum element element)
{
    return element == ELEMENT_F64_BE || element == ELEMENT_F64_LE ? 8 : element == ELEMENT_TEXT ? 1 : 4;
}

static double element_value(const unsigned char *p, enum element element)
{
    bool high_first = element == ELEMENT_F32_BE || element == ELEMENT_F64_BE || element == ELEMENT_I32_BE;
    size_t size = element_size(element);
    uint64_t bits = 0;
    for (size_t i = 0; i < size; i++)
        bits = bits << 8 | p[high_first ? i : size - 1 - i];
    if (element == ELEMENT_I32_BE || element == ELEMENT_I32_LE)
        return bits < UINT64_C(0x80000000) ? (double)bits : (double)bits - 4294967296.0;
    if (size == 8) {
        double value;
        memcpy(&value, &bits, sizeof value);
        return value;
    }
    uint32_t word = (uint32_t)bits;
    float value;
    memcpy(&value, &word, sizeof value);
    return (double)value;
}

/** One field of a comma list; NaN for what is no measurement. */
static double next_text(struct cursor *cursor, bool *bad)
{
    const struct series *series = cursor->series;
    const unsigned char *p = series->bytes + cursor->offset;
    const unsigned char *end = series->bytes + series->size;
    const unsigned char *stop = p;
    while (stop < end && *stop != ',' && *stop != ';')
        stop++;
    struct text_cell cell = {.text = (const char *)p, .length = (size_t)(stop - p)};
    while (cell.length && (unsigned char)*cell.text <= ' ') {
        cell.text++;
        cell.length--;
    }
    while (cell.length && (unsigned char)cell.text[cell.length - 1] <= ' ')
        cell.length--;
    struct text_number number;
    enum text_kind kind = spurity_text_kind(&cell, (struct text_marks){.mark = '.'}, &number);
    *bad = kind != TEXT_NUMBER && kind != TEXT_MISSING && kind != TEXT_EMPTY;
    *bad = *bad || (kind == TEXT_NUMBER && (number.hz > 0 || number.level));
    if (!*bad)
        cursor->offset = (size_t)(stop - series->bytes) + (stop < end);
    return kind == TEXT_NUMBER ? number.value : (double)NAN;
}

/** The next value; special ones (9.91E37, +-9.9E37) and NaN are NaN. */
static double next_value(struct cursor *cursor, bool *bad)
{
    const struct series *series = cursor->series;
    *bad = false;
    cursor->done++;
    if (series->element == ELEMENT_TEXT)
        return next_text(cursor, bad);
    double value = element_value(series->bytes + cursor->offset, series->element);
    cursor->offset += element_size(series->element);
    return fabs(value) >= 9.8e37 && fabs(value) <= 1e38 ? (double)NAN : value;
}

/* ---- plausibility ------------------------------------------------------------------------------------------ */

struct weighing {
    size_t levels, zeros, missing; /* of all values */
    bool even_rise, odd_levels, rise, first_rise, second_levels, pairs_ordered, pairs_differ;
};

static bool is_level(double value)
{
    return isnan(value) || value == 0 || (fabs(value) >= 1e-6 && value >= -250 && value <= 250);
}

static bool is_frequency(double value)
{
    return value >= 0 && value <= 1e12 && (value == 0 || value >= 1);
}

static struct weighing weigh(const struct series *series)
{
    struct weighing w = {.even_rise = true,
                         .odd_levels = true,
                         .rise = true,
                         .first_rise = true,
                         .second_levels = true,
                         .pairs_ordered = true};
    struct cursor cursor = {.series = series};
    double previous = -1, even = -1, before = NAN;
    for (size_t i = 0; i < series->count; i++) {
        bool bad = false;
        double value = next_value(&cursor, &bad);
        w.levels += is_level(value);
        w.zeros += value == 0;
        w.missing += isnan(value) ? 1 : 0;
        bool rises = is_frequency(value) && value > previous;
        w.rise = w.rise && rises;
        if (i < series->count / 2)
            w.first_rise = w.first_rise && rises;
        else
            w.second_levels = w.second_levels && is_level(value);
        if (i % 2 == 0) {
            w.even_rise = w.even_rise && is_frequency(value) && value > even;
            even = value;
        } else {
            w.odd_levels = w.odd_levels && is_level(value);
            w.pairs_ordered = w.pairs_ordered && value >= before;
            w.pairs_differ = w.pairs_differ || value > before;
        }
        before = previous = value;
    }
    return w;
}

static enum layout judge(const struct series *series)
{
    size_t n = series->count;
    if (!n)
        return LAYOUT_NONE;
    struct weighing w = weigh(series);
    bool integers = series->element == ELEMENT_I32_BE || series->element == ELEMENT_I32_LE;
    if (n >= 4 && n % 2 == 0 && w.even_rise && w.odd_levels && !(w.levels == n))
        return LAYOUT_PAIRS;
    if (n >= 4 && n % 2 == 0 && w.first_rise && w.second_levels && !(w.levels == n))
        return LAYOUT_HALVES;
    if (w.levels == n && w.missing < n && (integers || n < 4 || w.zeros * 4 <= n || series->element == ELEMENT_TEXT))
        return n >= 32 && n % 2 == 0 && w.pairs_ordered && w.pairs_differ ? LAYOUT_MIN_MAX : LAYOUT_LEVELS;
    return w.rise && n >= 2 ? LAYOUT_FREQUENCIES : LAYOUT_NONE;
}

/** Integers in thousandths of a dB or the like: their unit is the device's own. */
static bool plausible_integers(const struct series *series)
{
    struct cursor cursor = {.series = series};
    bool bad = false;
    for (size_t i = 0; i < series->count; i++)
        if (!(fabs(next_value(&cursor, &bad)) <= 1e6))
            return false;
    return series->count > 0;
}

/* ---- element of a binary block ------------------------------------------------------------------------------ */

static bool is_text_payload(const unsigned char *p, size_t size)
{
    size_t digits = 0;
    for (size_t i = 0; i < size; i++) {
        if (!p[i] || !strchr("0123456789+-.eE,; \t\r\n", p[i]))
            return false;
        digits += is_digit(p[i]);
    }
    return digits > 0;
}

static size_t count_fields(const unsigned char *p, size_t size)
{
    size_t count = 1;
    while (size && (p[size - 1] <= ' ' || p[size - 1] == ',' || p[size - 1] == ';'))
        size--;
    for (size_t i = 0; i < size; i++)
        count += p[i] == ',' || p[i] == ';';
    return size ? count : 0;
}

static spurity_status report_elements(const spurity_input *input, const struct series *series, const char *readings,
                                      spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(input, series->at),
                           "one plausible reading of the block", "say --block f32be, f32le, f64be or f64le",
                           *readings ? "a block of %zu bytes that reads as %s"
                                     : "a block of %zu bytes that reads as nothing known%s",
                           series->size, readings);
}

static spurity_status find_element(const spurity_input *input, struct series *series, spurity_error *error)
{
    char readings[160] = "";
    size_t found = 0, used = 0;
    enum element taken = ELEMENT_TEXT;
    for (enum element e = ELEMENT_F32_BE; e <= ELEMENT_I32_LE; e++) {
        struct series trial = *series;
        trial.element = e;
        if (series->size % element_size(e))
            continue;
        trial.count = series->size / element_size(e);
        trial.layout = e < ELEMENT_I32_BE ? judge(&trial) : plausible_integers(&trial) ? LAYOUT_LEVELS : LAYOUT_NONE;
        if (trial.layout == LAYOUT_NONE)
            continue;
        int n = snprintf(readings + used, sizeof readings - used, "%s%s", found ? " or " : "", element_names[e]);
        used += n > 0 && (size_t)n < sizeof readings - used ? (size_t)n : 0;
        found++;
        taken = e;
        if (found == 1)
            series->layout = trial.layout;
    }
    if (found != 1 || taken >= ELEMENT_I32_BE)
        return report_elements(input, series, readings, error);
    series->element = taken;
    series->count = series->size / element_size(taken);
    series->guessed = true;
    return SPURITY_OK;
}

static spurity_status settle_series(const spurity_input *input, struct series *series, spurity_error *error)
{
    static const enum element told[] = {ELEMENT_TEXT, ELEMENT_F32_BE, ELEMENT_F32_LE, ELEMENT_F64_BE, ELEMENT_F64_LE};
    spurity_element option = input->options->element;
    if (!option && is_text_payload(series->bytes, series->size)) {
        series->element = ELEMENT_TEXT;
        series->count = count_fields(series->bytes, series->size);
        series->layout = judge(series);
        return SPURITY_OK;
    }
    if (!option)
        return find_element(input, series, error);
    series->element = told[option];
    size_t size = element_size(series->element);
    if (series->size % size)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(input, series->at),
                               "a whole number of elements", "see --block",
                               "%zu bytes, which %zu-byte elements do not fill", series->size, size);
    series->count = series->size / size;
    series->layout = judge(series);
    return SPURITY_OK;
}

/* ---- blocks -------------------------------------------------------------------------------------------------- */

struct message {
    const spurity_input *input;
    const unsigned char *bytes;
    size_t size;
    struct series series[BLOCK_SERIES_MOST];
    size_t count;
    double *joined; /* values of one-value blocks */
    size_t joined_count, joined_room;
};

/** Where a block begins in the first bytes: behind header text that holds no line end; TEXT_NONE when nowhere. */
static size_t find_block(const unsigned char *p, size_t size)
{
    for (size_t i = 0; i + 1 < size && i < BLOCK_HEADER_MOST; i++) {
        if (p[i] == '#' && is_digit(p[i + 1]) && (i == 0 || p[i - 1] == ' ' || p[i - 1] == ',' || p[i - 1] == ';'))
            return i;
        if (p[i] < ' ' || p[i] > '~')
            return TEXT_NONE;
    }
    return TEXT_NONE;
}

/** Length that a definite block tells, and bytes of its "#dn..n"; false when it is none. */
static bool block_length(const unsigned char *p, size_t left, uint64_t *length, size_t *header)
{
    if (left < 2 || p[0] != '#' || p[1] < '1' || p[1] > '9')
        return false;
    size_t digits = (size_t)(p[1] - '0');
    if (left < 2 + digits)
        return false;
    *length = 0;
    for (size_t i = 0; i < digits; i++) {
        if (!is_digit(p[2 + i]))
            return false;
        *length = *length * 10 + (uint64_t)(p[2 + i] - '0');
    }
    *header = 2 + digits;
    return true;
}

static size_t carriage_returns(const unsigned char *p, size_t size)
{
    size_t pairs = 0;
    for (size_t i = 0; i + 1 < size; i++)
        pairs += p[i] == '\r' && p[i + 1] == '\n';
    return pairs;
}

static spurity_status report_short(const struct message *message, size_t at, uint64_t told, size_t have,
                                   spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(message->input, at),
                           "as many bytes as the block says", "the transfer was cut off: read the trace again",
                           "a block that says %llu bytes and has %zu (%zu of %llu points at 4 bytes each)",
                           (unsigned long long)told, have, have / 4, (unsigned long long)(told / 4));
}

/** What stands behind a block: its terminator, another block, or something wrong. */
static spurity_status check_behind(const struct message *message, size_t block, size_t end, bool *more,
                                   spurity_error *error)
{
    const unsigned char *p = message->bytes + end;
    size_t left = message->size - end;
    *more = left >= 2 && (p[0] == ',' || p[0] == ';') && p[1] == '#';
    size_t blanks = 0;
    while (blanks < left && (p[blanks] == '\r' || p[blanks] == '\n' || p[blanks] == ' '))
        blanks++;
    if (*more || (blanks == left && left <= 4))
        return SPURITY_OK;
    if (left == carriage_returns(message->bytes + block, message->size - block) && left > 0)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(message->input, block),
                               "the bytes as they were sent", "transfer the file again, in binary mode",
                               "%zu bytes too many, as many as CR LF pairs: damaged by a text-mode transfer", left);
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(message->input, end),
                           "a line end, or ',' and a further block", NULL, "%zu bytes behind the block, from 0x%02X on",
                           left, p[0]);
}

static spurity_status add_series(struct message *message, size_t at, size_t size, spurity_error *error)
{
    if (message->count == BLOCK_SERIES_MOST)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(message->input, at), "at most 64 blocks",
                               NULL, "more than %d blocks in one file", BLOCK_SERIES_MOST);
    message->series[message->count++] = (struct series){.bytes = message->bytes + at, .size = size, .at = at};
    return SPURITY_OK;
}

/** Many small blocks, each one reading: they become one series of 64-bit reals as the machine has them. */
static spurity_status join_value(struct message *message, size_t at, size_t size, spurity_error *error)
{
    struct series one = {.bytes = message->bytes + at, .size = size, .at = at};
    spurity_status status = settle_series(message->input, &one, error);
    if (status)
        return status;
    struct cursor cursor = {.series = &one};
    bool bad = false;
    double value = next_value(&cursor, &bad);
    double *joined = spurity_grow(message->joined, message->joined_count, &message->joined_room, sizeof *joined);
    if (!joined)
        return spurity_report_memory(error);
    message->joined = joined;
    message->joined[message->joined_count++] = value;
    return SPURITY_OK;
}

static enum element own_f64(void)
{
    const uint16_t probe = 1;
    unsigned char first;
    memcpy(&first, &probe, 1);
    return first ? ELEMENT_F64_LE : ELEMENT_F64_BE;
}

/** Whether every block of the message holds one value only (at most 24 bytes, no comma). */
static bool one_value_each(const struct message *message, size_t at)
{
    size_t blocks = 0, header = 0;
    uint64_t told = 0;
    while (at < message->size && block_length(message->bytes + at, message->size - at, &told, &header)) {
        if (told > 24 || told > message->size - at - header || !told ||
            memchr(message->bytes + at + header, ',', (size_t)told))
            return false;
        at += header + (size_t)told;
        blocks++;
        if (at < message->size && (message->bytes[at] == ',' || message->bytes[at] == ';'))
            at++;
    }
    return blocks >= 3;
}

static spurity_status split_definite(struct message *message, size_t at, spurity_error *error)
{
    bool more = true, single = one_value_each(message, at);
    while (more) {
        uint64_t told = 0;
        size_t header = 0;
        if (!block_length(message->bytes + at, message->size - at, &told, &header))
            return spurity_report(error, SPURITY_INVALID, spurity_input_at_byte(message->input, at),
                                  "a block without its length", "'#', a digit, and as many digits of length", NULL);
        size_t from = at + header, left = message->size - from;
        if (!told || told > left)
            return report_short(message, at, told, left, error);
        size_t end = from + (size_t)told;
        spurity_status status = check_behind(message, from, end, &more, error);
        if (!status)
            status = single ? join_value(message, from, (size_t)told, error)
                            : add_series(message, from, (size_t)told, error);
        if (status)
            return status;
        at = end + 1;
    }
    if (!single)
        return SPURITY_OK;
    message->series[message->count++] = (struct series){.bytes = (const unsigned char *)message->joined,
                                                        .size = message->joined_count * sizeof(double),
                                                        .count = message->joined_count,
                                                        .element = own_f64()};
    message->series[0].layout = judge(&message->series[0]);
    return SPURITY_OK;
}

/** "#0" to the end.  END is lost in a file, and a data byte may be a line feed: only the last one can be the end. */
static spurity_status split_indefinite(struct message *message, size_t at, spurity_error *error)
{
    size_t from = at + 2, size = message->size - from;
    const unsigned char *p = message->bytes + from;
    size_t least = message->input->options->element == SPURITY_ELEMENT_F64_BE ||
                           message->input->options->element == SPURITY_ELEMENT_F64_LE
                       ? 8
                       : 4;
    bool feed = size && p[size - 1] == '\n';
    if (feed && (is_text_payload(p, size) || (size - 1) % least == 0))
        size--;
    else if (feed && size >= 2 && p[size - 2] == '\r' && (size - 2) % least == 0)
        size -= 2;
    if (!size)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at_byte(message->input, at), "an empty block",
                              "a block of levels", NULL);
    return add_series(message, from, size, error);
}

static spurity_status split_message(struct message *message, spurity_error *error)
{
    size_t at = find_block(message->bytes, message->size);
    spurity_status status = SPURITY_OK;
    if (at != TEXT_NONE) {
        status =
            message->bytes[at + 1] == '0' ? split_indefinite(message, at, error) : split_definite(message, at, error);
    } else { /* lists, one a line */
        size_t from = 0;
        while (from < message->size && (message->bytes[from] == ':' || (message->bytes[from] | 32) >= 'a'))
            while (from < message->size && message->bytes[from++] != ' ')
                ;
        while (!status && from < message->size) {
            size_t end = from;
            while (end < message->size && message->bytes[end] != '\n' && message->bytes[end] != '\r')
                end++;
            if (count_fields(message->bytes + from, end - from))
                status = add_series(message, from, end - from, error);
            from = end + 1;
        }
    }
    for (size_t i = 0; !status && i < message->count; i++)
        if (message->series[i].bytes != (const unsigned char *)message->joined || !message->joined)
            status = settle_series(message->input, &message->series[i], error);
    return status;
}

/* ---- points ----------------------------------------------------------------------------------------------------- */

struct reading {
    struct points *points;
    const spurity_input *input;
    const struct series *levels, *frequencies; /* frequencies: NULL when they stand in levels or in the span */
    spurity_level_unit unit;
    double ohm;
};

static spurity_status report_field(const struct reading *reading, const struct cursor *cursor, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID,
                           spurity_input_at_byte(reading->input, cursor->series->at + cursor->offset),
                           "numbers parted by commas", NULL, "a word among the numbers, field %zu", cursor->done);
}

static spurity_status put(const struct reading *reading, double hz, double level, spurity_error *error)
{
    double db = isnan(level) ? level : spurity_level_to_dbm(reading->unit, level, reading->ohm);
    if (!isnan(db) && !(fabs(db) <= 400))
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(reading->input, reading->levels->at),
                               "levels between -400 and +400 dBm", "see --block, --level-unit", "a level of %g", level);
    if (!(hz >= 0 && hz <= 1e12))
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at_byte(reading->input, reading->levels->at),
                               "frequencies from 0 to 1 THz", "see --block", "a frequency of %g", hz);
    bool stand_in = points_is_stand_in(level) || level == -999;
    return spurity_points_put(reading->points, hz, level == -999 ? (double)NAN : db, stand_in && level != -999, 0,
                              error);
}

static double spread(const spurity_read_options *options, size_t i, size_t n)
{
    return i + 1 == n ? options->stop_hz
                      : options->start_hz + (double)i * (options->stop_hz - options->start_hz) / (double)(n - 1);
}

static spurity_status put_all(const struct reading *reading, spurity_error *error)
{
    const struct series *series = reading->levels;
    struct cursor levels = {.series = series}, frequencies = {.series = reading->frequencies};
    bool bad = false, halves = series->layout == LAYOUT_HALVES;
    bool two = series->layout == LAYOUT_PAIRS || series->layout == LAYOUT_MIN_MAX || halves;
    double unit = reading->input->options->frequency_unit_hz > 0 ? reading->input->options->frequency_unit_hz : 1;
    size_t n = two ? series->count / 2 : series->count;
    if (halves)
        frequencies.series = series;
    for (size_t i = 0; halves && i < n; i++)
        next_value(&levels, &bad);
    for (size_t i = 0; i < n; i++) {
        double hz = frequencies.series ? unit * next_value(&frequencies, &bad) : spread(reading->input->options, i, n);
        if (series->layout == LAYOUT_PAIRS)
            hz = unit * next_value(&levels, &bad);
        double level = bad ? (double)NAN : next_value(&levels, &bad);
        if (series->layout == LAYOUT_MIN_MAX && !bad)
            level = next_value(&levels, &bad);
        if (bad)
            return report_field(reading, &levels, error);
        spurity_status status = put(reading, hz, level, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/** Levels without a unit: dBm when most lie below zero, else the user must say. */
static spurity_status settle_unit(struct reading *reading, spurity_recording *recording, spurity_error *error)
{
    const spurity_input *input = reading->input;
    const struct series *series = reading->levels;
    reading->unit = input->options->level_unit;
    reading->ohm = input->options->impedance_ohm > 0 ? input->options->impedance_ohm : 50;
    if (reading->unit) {
        spurity_input_found(recording, "level unit", spurity_level_unit_name(reading->unit), "--level-unit", 0, false,
                            "as told");
        return reading->unit == SPURITY_LEVEL_DB || reading->unit == SPURITY_LEVEL_OTHER
                   ? spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0),
                                    "a unit that is no level at a terminal", "dBm, dBW, dBuV, dBmV, dBV, V or W", NULL)
                   : SPURITY_OK;
    }
    struct cursor cursor = {.series = series};
    size_t negative = 0, others = 0;
    bool bad = false;
    for (size_t i = 0; i < series->count && !bad; i++) {
        double value = next_value(&cursor, &bad);
        bool frequency = (series->layout == LAYOUT_PAIRS && i % 2 == 0) ||
                         (series->layout == LAYOUT_HALVES && i < series->count / 2);
        negative += !frequency && value < 0;
        others += !frequency && value >= 0;
    }
    if (negative <= others)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at_byte(input, series->at),
                              "levels without a unit, most of them above zero, which could be dBm, dBuV, W or V",
                              "a unit of level", "say --level-unit");
    reading->unit = SPURITY_LEVEL_DBM;
    spurity_input_found(recording, "level unit", "dBm", "--level-unit", 0, true, "not said; most levels are negative");
    spurity_notes_add(input->notes, SPURITY_NOTE_UNIT_ASSUMED, input->file,
                      "'%.60s': levels were taken as dBm, no unit is told; --level-unit overrides", input->name);
    return SPURITY_OK;
}

static void tell_series(const spurity_input *input, spurity_recording *recording, const struct series *series)
{
    static const char *const layouts[] = {"levels",
                                          "levels",
                                          "pairs of frequency and level",
                                          "all frequencies, then all levels",
                                          "frequencies",
                                          "pairs of lowest and highest level, the higher kept"};
    if (series->element != ELEMENT_TEXT)
        spurity_input_found(recording, "block", element_names[series->element], "--block", 0, series->guessed,
                            series->guessed ? "%zu values; no other reading is plausible" : "%zu values",
                            series->count);
    spurity_input_found(recording, "layout", layouts[series->layout], "", 0, series->layout == LAYOUT_MIN_MAX,
                        "%zu values", series->count);
    if (series->guessed)
        spurity_notes_add(input->notes, SPURITY_NOTE_UNIT_ASSUMED, input->file,
                          "'%.60s': the block was read as %s, the only plausible reading; --block overrides",
                          input->name, element_names[series->element]);
    if (series->layout == LAYOUT_MIN_MAX)
        spurity_notes_add(input->notes, SPURITY_NOTE_OTHER_TRACES, input->file,
                          "'%.60s' looks like pairs of lowest and highest level; the higher of each was kept",
                          input->name);
}

/** Which series is the trace, and where its frequencies are. */
static spurity_status choose(const struct message *message, struct reading *reading, spurity_recording *recording,
                             spurity_error *error)
{
    const spurity_input *input = message->input;
    bool apart = message->count >= 2 && message->series[0].layout == LAYOUT_FREQUENCIES &&
                 message->series[0].count == message->series[1].count;
    size_t first = apart ? 1 : 0, traces = message->count - first;
    long wanted = 1;
    if (input->options->trace && spurity_parse_count(input->options->trace, "--trace", spurity_input_at(input, 0, 0), 1,
                                                     (long)traces, &wanted, error))
        return SPURITY_INVALID;
    reading->levels = &message->series[first + (size_t)wanted - 1];
    reading->frequencies = apart ? &message->series[0] : NULL;
    if (traces > 1 && !input->options->trace)
        spurity_notes_add(input->notes, SPURITY_NOTE_OTHER_TRACES, input->file,
                          "'%.60s' holds %zu traces; the first was taken, --trace takes another", input->name, traces);
    if (traces > 1)
        spurity_input_found(recording, "trace", input->options->trace ? input->options->trace : "1", "--trace", 0,
                            !input->options->trace, "%zu series in the file", traces);
    return SPURITY_OK;
}

static bool has_frequencies(const struct reading *reading)
{
    enum layout layout = reading->levels->layout;
    return reading->frequencies || (layout != LAYOUT_LEVELS && layout != LAYOUT_MIN_MAX);
}

static spurity_status check_span(const struct reading *reading, spurity_error *error)
{
    const struct series *series = reading->levels;
    const spurity_read_options *options = reading->input->options;
    spurity_place at = spurity_input_at_byte(reading->input, series->at);
    if (series->layout == LAYOUT_NONE || series->layout == LAYOUT_FREQUENCIES)
        return spurity_reportf(error, SPURITY_INVALID, at, "levels, or frequencies and levels", "see --block",
                               "%zu values that are no levels", series->count);
    bool alone = !has_frequencies(reading);
    if (alone && (isnan(options->start_hz) || isnan(options->stop_hz)))
        return spurity_report(error, SPURITY_INVALID, at, "levels only, and no span told for them",
                              "levels with their span", "say --start and --stop");
    if (alone && !(options->stop_hz > options->start_hz))
        return spurity_report(error, SPURITY_INVALID, at, "a stop frequency not above the start",
                              "a span from low to high", "see --start, --stop");
    if (reading->frequencies && reading->frequencies->count != series->count)
        return spurity_reportf(error, SPURITY_INVALID, at, "as many levels as frequencies", NULL,
                               "%zu levels for %zu frequencies", series->count, reading->frequencies->count);
    return SPURITY_OK;
}

static spurity_status make_trace(const struct message *message, spurity_recording *recording, spurity_error *error)
{
    const spurity_input *input = message->input;
    static const struct text_facts nothing;
    struct reading reading = {.input = input};
    if (!message->count)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "no values", "levels", NULL);
    spurity_status status = choose(message, &reading, recording, error);
    if (!status)
        status = check_span(&reading, error);
    if (!status)
        status = settle_unit(&reading, recording, error);
    if (status)
        return status;
    tell_series(input, recording, reading.levels);
    struct points *points = calloc(1, sizeof *points);
    if (!points)
        return spurity_report_memory(error);
    reading.points = points;
    points->input = input;
    points->facts = spurity_text_segment_facts(&nothing, input->options);
    status = spurity_points_open(points, error);
    if (!status)
        status = put_all(&reading, error);
    if (!status)
        status = spurity_points_close(points, error);
    if (!status && (points->distinct < 2 || !spurity_trace_points(points->trace)))
        status = spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0),
                                points->distinct < 2 ? "a single point" : "no level in any point",
                                "a sweep of at least two points with levels", NULL);
    if (!status && has_frequencies(&reading))
        status = spurity_points_check_told(points, error);
    if (!status && points->missing)
        spurity_notes_add(input->notes, SPURITY_NOTE_MISSING_POINTS, input->file,
                          "'%.60s': %zu of %zu points have no level", input->name, points->missing, points->distinct);
    if (!status) {
        recording->trace = points->trace;
        points->trace = NULL;
    }
    spurity_points_free(points);
    free(points);
    return status;
}

/* ---- reader ------------------------------------------------------------------------------------------------------ */

/** One line (or several alike) of nothing but levels parted by commas. */
static bool is_list(const spurity_input *input)
{
    const unsigned char *p = input->head;
    size_t size = input->head_size, from = 0;
    while (from < size && from < BLOCK_HEADER_MOST && (p[from] == ':' || (p[from] | 32) >= 'a'))
        while (from < size && p[from++] != ' ')
            ;
    size_t seen = size - from < 65536 ? size - from : 65536;
    if (!is_text_payload(p + from, seen))
        return false;
    const unsigned char *feed = memchr(p + from, '\n', seen);
    if (!feed)
        feed = memchr(p + from, '\r', seen);
    size_t line = feed ? (size_t)(feed - p) - from : seen;
    bool single = feed ? count_fields(feed, (size_t)(p + from + seen - feed)) == 0 : true;
    struct series series = {.bytes = p + from, .size = line, .count = count_fields(p + from, line)};
    if (series.count < (single ? 3u : 16u) || memchr(p + from, ',', line) == NULL)
        return false;
    if (!feed && seen < size - from) /* the last field may be cut */
        series.count -= series.count > 3;
    enum layout layout = judge(&series);
    return layout == LAYOUT_LEVELS || layout == LAYOUT_MIN_MAX ||
           (single && layout == LAYOUT_PAIRS && series.count >= 6);
}

static int probe(const spurity_input *input)
{
    if (input->purpose == SPURITY_READ_LOSS)
        return 0;
    size_t at = find_block(input->head, input->head_size), header = 0;
    uint64_t told = 0;
    if (at == TEXT_NONE)
        return is_list(input) ? 70 : 0;
    if (input->head[at + 1] == '0')
        return 90;
    if (!block_length(input->head + at, input->head_size - at, &told, &header))
        return input->head_size - at < 12 ? 60 : 0;
    /* "#12 sweeps of ..." is a comment: the bytes behind a length are no words. */
    size_t from = at + header, words = 0;
    for (size_t i = from; i < input->head_size && i < from + 16; i++)
        words += (input->head[i] >= 'a' && input->head[i] <= 'z' && input->head[i] != 'e') || input->head[i] == '\n';
    return words > 8 ? 20 : 90;
}

static spurity_status read_block(spurity_input *input, spurity_recording *recording, spurity_error *error)
{
    struct message *message = calloc(1, sizeof *message);
    if (!message)
        return spurity_report_memory(error);
    message->input = input;
    spurity_status status = spurity_input_whole(input, BLOCK_FILE_MOST, &message->bytes, &message->size, error);
    if (!status)
        status = split_message(message, error);
    if (!status)
        status = make_trace(message, recording, error);
    free(message->joined);
    free(message);
    return status;
}

const spurity_reader spurity_reader_block = {
    .name = "block", .title = "block or list of levels", .probe = probe, .read = read_block};
