/* SPDX-License-Identifier: GPL-2.0-or-later */
/* One line becomes cells; one cell becomes a number, a word, or nothing measured. */
#include <ctype.h>
#include <math.h>
#include <string.h>

#include "text.h"

static bool is_digit(char c)
{
    return (unsigned char)(c - '0') < 10;
}
static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\f' || c == '\v' || c == '\n' || c == '\r';
}
static bool is_letter(char c)
{
    return (unsigned char)((c | 32) - 'a') < 26;
}

bool spurity_text_is_blank(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (!is_blank(text[i]))
            return false;
    return true;
}

static void trim(struct text_cell *cell)
{
    while (cell->length && is_blank(*cell->text)) {
        cell->text++;
        cell->offset++;
        cell->length--;
    }
    while (cell->length && is_blank(cell->text[cell->length - 1]))
        cell->length--;
}

/** Where the cell that begins at i ends; a quoted one may hold delimiters. */
static size_t cell_end(const char *line, size_t length, size_t i, char delimiter)
{
    size_t p = i;
    while (p < length && is_blank(line[p]) && line[p] != delimiter)
        p++;
    if (p < length && line[p] == '"') {
        for (p++; p < length; p++) {
            if (line[p] != '"')
                continue;
            if (p + 1 < length && line[p + 1] == '"')
                p++;
            else
                break;
        }
        if (p >= length)
            p = i; /* never closed: a stray mark */
    }
    if (delimiter == ' ')
        while (p < length && !is_blank(line[p]))
            p++;
    else
        while (p < length && line[p] != delimiter)
            p++;
    return p;
}

size_t spurity_text_cells(const char *line, size_t length, char delimiter, struct text_cell *cells, size_t room)
{
    size_t count = 0, i = 0;
    if (delimiter == ' ')
        while (length && is_blank(line[length - 1]))
            length--;
    for (;;) {
        if (delimiter == ' ')
            while (i < length && is_blank(line[i]))
                i++;
        if (delimiter == ' ' && i >= length)
            return count;
        size_t end = cell_end(line, length, i, delimiter);
        if (count >= room)
            return room + 1;
        struct text_cell *cell = &cells[count++];
        *cell = (struct text_cell){.text = line + i, .length = end - i, .offset = i};
        trim(cell);
        if (cell->length >= 2 && cell->text[0] == '"' && cell->text[cell->length - 1] == '"') {
            cell->quoted = true;
            cell->text++;
            cell->offset++;
            cell->length -= 2;
            trim(cell);
        }
        if (end >= length)
            return count;
        i = end + 1;
    }
}

unsigned long spurity_text_column(const char *line, size_t offset)
{
    unsigned long column = 1;
    for (size_t i = 0; i < offset; i++)
        column += ((unsigned char)line[i] & 0xC0) != 0x80;
    return column;
}

size_t spurity_text_comment(const char *line, size_t length)
{
    size_t i = 0;
    while (i < length && is_blank(line[i]))
        i++;
    if (i >= length)
        return 0;
    if (line[i] == '#' || line[i] == '!' || line[i] == '%')
        while (i < length && (line[i] == '#' || line[i] == '!' || line[i] == '%'))
            i++;
    else if (i + 1 < length && line[i] == '/' && line[i + 1] == '/')
        i += 2;
    else if (line[i] == ';' && !memchr(line, '\t', length)) {
        for (size_t k = i; k < length; k++) /* a delimiter, when numbers follow */
            if (is_digit(line[k]))
                return 0;
        i++;
    } else
        return 0;
    while (i < length && is_blank(line[i]))
        i++;
    return i;
}

void spurity_text_fold(const char *text, size_t length, char *key, size_t size)
{
    size_t n = 0;
    for (size_t i = 0; i < length && n + 1 < size; i++)
        if (is_letter(text[i]) || is_digit(text[i]))
            key[n++] = (char)tolower((unsigned char)text[i]);
    key[n] = 0;
}

bool spurity_text_has_word(const char *text, size_t length, const char *word)
{
    size_t n = strlen(word);
    for (size_t i = 0; i + n <= length; i++) {
        if (i && is_letter(text[i - 1]) && !(text[i] >= 'A' && text[i] <= 'Z' && text[i - 1] >= 'a'))
            continue;
        size_t k = 0;
        while (k < n && tolower((unsigned char)text[i + k]) == word[k])
            k++;
        if (k == n)
            return true;
    }
    return false;
}

/* ---- kinds -------------------------------------------------------------------------------------------- */

static bool is_missing_word(const char *text, size_t length)
{
    static const char *const words[] = {
        "-",       "--",     "---",     "*",        "nan",       "+nan", "-nan",      "nan(ind)", "inf",      "+inf",
        "-inf",    "#n/a",   "n/a",     "na",       "#na",       "null", "-nan(ind)", "1.#qnan",  "-1.#qnan", "1.#ind",
        "-1.#ind", "1.#inf", "-1.#inf", "infinity", "-infinity", "none", "#num!",     "#value!",  "#div/0!"};
    char lower[16];
    if (length >= sizeof lower)
        return false;
    for (size_t i = 0; i < length; i++)
        lower[i] = (char)tolower((unsigned char)text[i]);
    lower[length] = 0;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (!strcmp(lower, words[i]))
            return true;
    return false;
}

/** A date or a time of day, or what a spreadsheet makes of a number ("05. Jan", "Jan-05"). */
static bool is_date(const char *text, size_t length)
{
    static const char months[] = "janfebmaraprmayjunjulaugsepoctnovdecmrzmaioktdez";
    size_t dashes = 0, colons = 0, points = 0, digits = 0, letters = 0, longest = 0, run = 0;
    char word[4] = "";
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        run = is_digit(c) ? run + 1 : 0;
        longest = run > longest ? run : longest;
        digits += is_digit(c);
        dashes += c == '-' || c == '/';
        colons += c == ':';
        points += c == '.';
        if (is_letter(c) && letters < 3)
            word[letters] = (char)tolower((unsigned char)c);
        letters += is_letter(c);
        if (!is_digit(c) && !is_letter(c) && !strchr("-/:.+ ", c))
            return false;
    }
    if (!digits || length > 40)
        return false;
    if (letters == 3 && digits <= 8) {
        for (size_t i = 0; i + 3 < sizeof months; i += 3)
            if (!memcmp(months + i, word, 3))
                return true;
    }
    if (letters > 5 || (letters && !colons))
        return false;
    bool begins = is_digit(text[0]);
    return begins && ((dashes == 2 && digits >= 5 && longest <= 4) || (colons >= 1 && colons <= 2) ||
                      (dashes == 1 && digits <= 4 && !points && longest <= 2 && memchr(text, '/', length)) ||
                      (points == 2 && digits >= 4 && digits <= 8 && longest != 3 && !dashes && longest <= 4));
}

/** Takes the group marks out: digits in groups of three behind the first.  0 when they stand elsewhere. */
static size_t ungroup(const char *text, size_t length, struct text_marks marks, char *plain, size_t room)
{
    size_t n = 0, run = 0;
    bool grouped = false, whole = true;
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        bool group = whole && (c == marks.group || (marks.group == ' ' && c == ' ')) && i + 1 < length &&
                     is_digit(text[i + 1]) && run;
        if (group) {
            if ((grouped && run != 3) || run > 3)
                return 0;
            grouped = true;
            run = 0;
            continue;
        }
        if (whole && is_digit(c))
            run++;
        else if (whole && run) {
            if (grouped && run != 3)
                return 0;
            whole = false;
        }
        if (n >= room)
            return 0;
        plain[n++] = c;
    }
    return whole && grouped && run != 3 ? 0 : n;
}

/** Digits in groups of three, whatever parts them: "146,940,000.0", "1.234,5". */
static bool is_grouped(const char *text, size_t length)
{
    size_t i = length && (*text == '-' || *text == '+'), run = 0, groups = 0;
    for (; i < length && (is_digit(text[i]) || strchr(",.' ", text[i])); i++) {
        if (is_digit(text[i])) {
            run++;
            continue;
        }
        if (!run || run > 3 || (groups && run != 3))
            return false;
        groups++;
        run = 0;
    }
    return i == length && groups >= 2 && run;
}

/** The mark a number uses when either may stand: the one that comes first. */
static char mark_in(const char *text, size_t length)
{
    for (size_t i = 0; i < length && (is_digit(text[i]) || strchr("+-.,", text[i])); i++)
        if (text[i] == ',' || text[i] == '.')
            return text[i];
    return '.';
}

/** What may stand behind a number. */
static bool take_unit(const char *text, size_t length, struct text_number *number)
{
    while (length && is_blank(*text)) {
        text++;
        length--;
    }
    if (!length)
        return true;
    number->level = spurity_level_unit_from_text(text, length);
    if (number->level)
        return true;
    number->hz = spurity_frequency_unit_from_text(text, length);
    return number->hz > 0;
}

enum text_kind spurity_text_kind(const struct text_cell *cell, struct text_marks marks, struct text_number *number)
{
    const char *text = cell->text;
    size_t length = cell->length;
    char plain[64];
    *number = (struct text_number){0};
    if (!length)
        return TEXT_EMPTY;
    if (marks.group && (length = ungroup(text, length, marks, plain, sizeof plain)))
        text = plain;
    else
        length = cell->length;
    size_t taken = spurity_number_parse(text, length, marks.mark ? marks.mark : mark_in(text, length), &number->value);
    if (!marks.mark && taken && taken < length && is_grouped(text, length))
        return TEXT_NUMBER;
    if (taken && (taken == length || take_unit(text + taken, length - taken, number)))
        return !isfinite(number->value) || fabs(number->value) >= 9.9e36 ? TEXT_MISSING : TEXT_NUMBER;
    if (is_missing_word(cell->text, cell->length))
        return TEXT_MISSING;
    if (is_date(cell->text, cell->length))
        return TEXT_DATE;
    if (taken || is_digit(*text) || (strchr("+-.", *text) && length > 1 && is_digit(text[1])))
        return TEXT_MANGLED;
    if (length < 12 && take_unit(text, length, number))
        return TEXT_UNIT;
    return TEXT_WORD;
}
