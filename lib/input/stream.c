/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Bytes become lines of folded UTF-8, a window at a time. */
#include <stdlib.h>
#include <string.h>

#include "text.h"

enum { BLOCK = 128 << 10, RAW_ROOM = BLOCK + 8 };

/* ---- encoding --------------------------------------------------------------------------------------- */

/** UTF-16 without a mark: NUL in at least 40 % of the odd (little-endian) or even (big-endian) places. */
static enum text_encoding guess_utf16(const unsigned char *head, size_t size)
{
    size_t seen = size < 4096 ? size : 4096, even = 0, odd = 0;
    for (size_t i = 0; i < seen; i++)
        if (!head[i])
            *(i % 2 ? &odd : &even) += 1;
    if (seen >= 8 && odd * 10 >= seen * 2 && even * 20 < seen)
        return TEXT_UTF16_LE;
    if (seen >= 8 && even * 10 >= seen * 2 && odd * 20 < seen)
        return TEXT_UTF16_BE;
    return TEXT_UTF8;
}

static void find_encoding(struct text_stream *stream)
{
    const unsigned char *head = stream->input->head;
    size_t size = stream->input->head_size;
    stream->encoding_why = "no byte order mark";
    if (size >= 3 && !memcmp(head, "\xEF\xBB\xBF", 3)) {
        stream->head_done = 3;
        stream->encoding_why = "its byte order mark";
    } else if (size >= 2 && (!memcmp(head, "\xFF\xFE", 2) || !memcmp(head, "\xFE\xFF", 2))) {
        stream->encoding = head[0] == 0xFF ? TEXT_UTF16_LE : TEXT_UTF16_BE;
        stream->head_done = 2;
        stream->encoding_why = "its byte order mark";
    } else {
        stream->encoding = guess_utf16(head, size);
        if (stream->encoding != TEXT_UTF8)
            stream->encoding_why = "NUL bytes in every second place";
    }
    stream->bytes = stream->head_done;
}

/** Writes a character, folded; returns how many bytes (at most 3 for what UTF-16 units give, 4 in all). */
static size_t put_folded(char *to, uint32_t c)
{
    switch (c) {
    case 0xA0: /* no-break spaces */
    case 0x202F:
    case 0x2007:
    case 0xFEFF:
        *to = ' ';
        return 1;
    case 0xB5: /* micro, mu */
    case 0x3BC:
        *to = 'u';
        return 1;
    case 0x2212: /* minus, and dashes that stand for it */
    case 0x2013:
        *to = '-';
        return 1;
    default:
        break;
    }
    if (c < 0x80) {
        to[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        to[0] = (char)(0xC0 | c >> 6);
        to[1] = (char)(0x80 | (c & 63));
        return 2;
    }
    if (c < 0x10000) {
        to[0] = (char)(0xE0 | c >> 12);
        to[1] = (char)(0x80 | (c >> 6 & 63));
        to[2] = (char)(0x80 | (c & 63));
        return 3;
    }
    to[0] = (char)(0xF0 | c >> 18);
    to[1] = (char)(0x80 | (c >> 12 & 63));
    to[2] = (char)(0x80 | (c >> 6 & 63));
    to[3] = (char)(0x80 | (c & 63));
    return 4;
}

/** One character of UTF-8, or of Windows-1252 where it is none.  Bytes taken; 0: the rest of it must be read first. */
static size_t decode_utf8(struct text_stream *stream, const unsigned char *p, size_t left, bool last, uint32_t *c)
{
    size_t n = p[0] < 0x80 ? 1 : p[0] < 0xC2 ? 0 : p[0] < 0xE0 ? 2 : p[0] < 0xF0 ? 3 : p[0] < 0xF5 ? 4 : 0;
    *c = p[0];
    if (n == 1)
        return 1;
    uint32_t value = n == 2 ? p[0] & 31u : n == 3 ? p[0] & 15u : p[0] & 7u;
    for (size_t i = 1; i < n; i++) {
        if (i >= left && !last)
            return 0;
        if (i >= left || (p[i] & 0xC0) != 0x80) {
            n = 0;
            break;
        }
        value = value << 6 | (p[i] & 63u);
    }
    if ((n == 3 && value < 0x800) || (n == 4 && (value < 0x10000 || value > 0x10FFFF)))
        n = 0;
    if (n) {
        stream->multi++;
        *c = value;
        return n;
    }
    stream->latin++;
    if (p[0] == 0x96 || p[0] == 0x97) /* dashes of Windows-1252 */
        *c = 0x2212;
    return 1;
}

static size_t decode_utf16(const struct text_stream *stream, const unsigned char *p, size_t left, bool last,
                           uint32_t *c)
{
    unsigned high = stream->encoding == TEXT_UTF16_LE ? 1 : 0, low = 1 - high;
    if (left < 2) {
        *c = '?';
        return last ? 1 : 0;
    }
    *c = (uint32_t)p[high] << 8 | p[low];
    if (*c < 0xD800 || *c > 0xDFFF)
        return 2;
    if (left < 4 && !last)
        return 0;
    uint32_t next = left < 4 ? 0 : (uint32_t)p[2 + high] << 8 | p[2 + low];
    if (*c > 0xDBFF || next < 0xDC00 || next > 0xDFFF) {
        *c = '?';
        return 2;
    }
    *c = 0x10000 + ((*c - 0xD800) << 10) + (next - 0xDC00);
    return 4;
}

/* ---- window ----------------------------------------------------------------------------------------- */

static bool reserve(struct text_stream *stream, size_t more)
{
    if (stream->room - stream->end >= more)
        return true;
    size_t room = stream->end + more;
    char *grown = realloc(stream->buffer, room);
    if (!grown)
        return false;
    stream->buffer = grown;
    stream->room = room;
    return true;
}

/** Bytes of the file, from its head first. */
static spurity_status take_raw(struct text_stream *stream, void *into, size_t room, size_t *got, spurity_error *error)
{
    spurity_input *input = stream->input;
    size_t left = input->head_size - stream->head_done;
    if (left) {
        *got = left < room ? left : room;
        memcpy(into, input->head + stream->head_done, *got);
        stream->head_done += *got;
    } else if (input->head_is_all) {
        *got = 0;
    } else {
        spurity_status status = spurity_input_pull(input, into, room, got, error);
        if (status)
            return status;
    }
    stream->bytes += *got;
    if (stream->bytes > TEXT_FILE_MOST)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "more than 1 GiB of text",
                              "a sweep of at most 1 GiB", "export a narrower span or fewer points");
    return SPURITY_OK;
}

static bool all_ascii(const unsigned char *p, size_t count)
{
    unsigned char any = 0;
    for (size_t i = 0; i < count; i++)
        any |= p[i];
    return any < 0x80;
}

static void decode(struct text_stream *stream, bool last)
{
    size_t i = 0;
    while (i < stream->raw_count) {
        uint32_t c = 0;
        size_t n = stream->encoding == TEXT_UTF8
                       ? decode_utf8(stream, stream->raw + i, stream->raw_count - i, last, &c)
                       : decode_utf16(stream, stream->raw + i, stream->raw_count - i, last, &c);
        if (!n)
            break;
        stream->end += put_folded(stream->buffer + stream->end, c);
        i += n;
    }
    memmove(stream->raw, stream->raw + i, stream->raw_count - i);
    stream->raw_count -= i;
}

/** One more block at end. */
static spurity_status append_block(struct text_stream *stream, spurity_error *error)
{
    size_t got = 0, left = stream->input->head_size - stream->head_done;
    size_t block = left && left < BLOCK ? left : BLOCK;
    bool direct = stream->encoding == TEXT_UTF8 && !stream->raw_count;
    if (!reserve(stream, direct ? block : 2 * block + 64))
        return spurity_report_memory(error);
    unsigned char *into = direct ? (unsigned char *)stream->buffer + stream->end : stream->raw + stream->raw_count;
    spurity_status status = take_raw(stream, into, block, &got, error);
    if (status)
        return status;
    stream->ended = !got || (stream->input->head_is_all && stream->head_done == stream->input->head_size);
    if (direct && all_ascii(into, got)) {
        stream->end += got;
        return SPURITY_OK;
    }
    if (direct)
        memcpy(stream->raw, into, got);
    stream->raw_count += got;
    if (!reserve(stream, 3 * stream->raw_count + 64)) /* a byte of Windows-1252 may take three */
        return spurity_report_memory(error);
    decode(stream, stream->ended);
    return SPURITY_OK;
}

spurity_status spurity_text_fill(struct text_stream *stream, spurity_error *error)
{
    if (stream->ended)
        return SPURITY_OK;
    size_t kept = stream->end - stream->begin;
    if (kept > TEXT_LINE_MOST)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(stream->input, stream->line, 0),
                              "a line of more than 1 MiB", "lines of at most 1 MiB", NULL);
    memmove(stream->buffer, stream->buffer + stream->begin, kept);
    stream->begin = 0;
    stream->end = kept;
    if (!spurity_watch_tick(stream->input->watch, "reading",
                            stream->input->total ? (double)stream->bytes / (double)stream->input->total : -1))
        return spurity_report(error, SPURITY_CANCELLED, spurity_input_at(stream->input, 0, 0), "a request to stop",
                              NULL, NULL);
    return append_block(stream, error);
}

spurity_status spurity_text_open(struct text_stream *stream, spurity_input *input, spurity_error *error)
{
    *stream = (struct text_stream){.input = input, .line = 1};
    find_encoding(stream);
    stream->raw = malloc(RAW_ROOM);
    stream->room = input->head_size + 4096;
    stream->buffer = malloc(stream->room);
    if (!stream->raw || !stream->buffer)
        return spurity_report_memory(error);
    while (!stream->ended && stream->end < SPURITY_HEAD_BYTES) {
        spurity_status status = append_block(stream, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

void spurity_text_close(struct text_stream *stream)
{
    free(stream->buffer);
    free(stream->raw);
    *stream = (struct text_stream){0};
}

/* ---- lines -------------------------------------------------------------------------------------------- */

/** Bytes of the line end at p: LF, CR, CR LF, CR CR LF.  0 when more must be seen. */
static size_t end_length(const char *p, const char *end, bool ended)
{
    if (*p == '\n')
        return 1;
    if (p + 2 >= end && !ended)
        return 0;
    if (p + 1 < end && p[1] == '\n')
        return 2;
    if (p + 2 < end && p[1] == '\r' && p[2] == '\n')
        return 3;
    return 1;
}

static const char *find_end(const char *p, const char *end, size_t *quotes)
{
    for (; p < end && *p != '\n' && *p != '\r'; p++)
        *quotes += *p == '"';
    return p;
}

bool spurity_text_split_line(const char *p, const char *end, bool ended, size_t *length, size_t *taken,
                             unsigned long *ends)
{
    enum { QUOTED_MOST = 8192 };
    size_t quotes = 0;
    const char *stop = find_end(p, end, &quotes);
    if (stop == end) {
        *length = *taken = (size_t)(end - p);
        *ends = 0;
        return ended && end > p;
    }
    size_t n = end_length(stop, end, ended);
    *length = (size_t)(stop - p);
    *taken = *length + n;
    *ends = 1;
    if (!n)
        return false;
    if (quotes % 2 == 0)
        return true;
    /* An open quote goes on in the next lines, if it is closed before long (RFC 4180); else it is a stray mark. */
    unsigned long more = 1;
    while (quotes % 2 && stop < end && n && stop + n - p < QUOTED_MOST) {
        stop = find_end(stop + n, end, &quotes);
        n = stop < end ? end_length(stop, end, ended) : 0;
        more++;
        if (quotes % 2)
            continue;
        if (!n && !ended)
            return false;
        *length = (size_t)(stop - p);
        *taken = *length + n;
        *ends = more - (n ? 0 : 1);
    }
    return ended || quotes % 2 == 0 || end - p > QUOTED_MOST;
}

spurity_status spurity_text_next(struct text_stream *stream, struct text_line *line, bool *have, spurity_error *error)
{
    size_t taken = 0;
    unsigned long ends = 0;
    while (!spurity_text_split_line(stream->buffer + stream->begin, stream->buffer + stream->end, stream->ended,
                                    &line->length, &taken, &ends)) {
        *have = false;
        if (stream->ended)
            return SPURITY_OK;
        spurity_status status = spurity_text_fill(stream, error);
        if (status)
            return status;
    }
    line->text = stream->buffer + stream->begin;
    line->number = stream->line;
    stream->begin += taken;
    stream->line += ends;
    *have = true;
    if (line->length > TEXT_LINE_MOST)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(stream->input, line->number, 0),
                              "a line of more than 1 MiB", "lines of at most 1 MiB", NULL);
    return SPURITY_OK;
}
