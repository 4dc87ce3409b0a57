/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "error.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "text.h"

/* A path is told by its end: the folder matters less than the file. */
static void copy_path(char *to, size_t size, const char *from)
{
    size_t length = strlen(from);
    if (length < size) {
        spurity_text_copy(to, size, from);
        return;
    }
    memcpy(to, "...", 3);
    const char *end = from + (length - (size - 4));
    while ((*end & 0xC0) == 0x80) /* not into the middle of a UTF-8 sequence */
        end++;
    spurity_text_copy(to + 3, size - 3, end);
}

spurity_status spurity_report(spurity_error *error, spurity_status status, spurity_place at, const char *found,
                              const char *expected, const char *advice)
{
    if (!error || error->status != SPURITY_OK)
        return status;
    *error = (spurity_error){.status = status, .line = at.line, .column = at.column, .byte = at.byte};
    error->has_byte = at.has_byte && !at.line;
    if (at.file)
        copy_path(error->file, sizeof error->file, at.file);
    if (found)
        spurity_text_copy(error->found, sizeof error->found, found);
    if (expected)
        spurity_text_copy(error->expected, sizeof error->expected, expected);
    if (advice)
        spurity_text_copy(error->advice, sizeof error->advice, advice);
    return status;
}

spurity_status spurity_reportf(spurity_error *error, spurity_status status, spurity_place at, const char *expected,
                               const char *advice, const char *found_format, ...)
{
    char found[1024];
    va_list list;
    va_start(list, found_format);
    vsnprintf(found, sizeof found, found_format, list);
    va_end(list);
    return spurity_report(error, status, at, found, expected, advice);
}

spurity_status spurity_report_memory(spurity_error *error)
{
    return spurity_report(error, SPURITY_SYSTEM, (spurity_place){0}, "no memory left", NULL,
                          "close other programs or split the input");
}

/* Appends by printf rules to text that already holds `used` bytes; returns the new length, never beyond size - 1. */
SPURITY_PRINTF(4, 5)
static size_t append(char *text, size_t size, size_t used, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    int wrote = vsnprintf(text + used, size - used, format, list);
    va_end(list);
    if (wrote < 0)
        return used;
    return used + (size_t)wrote < size ? used + (size_t)wrote : size - 1;
}

void spurity_error_describe(const spurity_error *error, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    if (error->file[0])
        used = append(text, size, used, "'%s'", error->file);
    if (error->line)
        used = append(text, size, used, "%sline %lu", used ? ", " : "", error->line);
    if (error->line && error->column)
        used = append(text, size, used, ", column %lu", error->column);
    if (error->has_byte)
        used = append(text, size, used, "%sbyte %llu", used ? ", " : "", (unsigned long long)error->byte);
    if (used)
        used = append(text, size, used, ": ");
    if (error->found[0])
        used = append(text, size, used, "%s%s", error->expected[0] ? "found " : "", error->found);
    if (error->expected[0])
        used = append(text, size, used, "%sexpected %s", error->found[0] ? ", " : "", error->expected);
    if (error->advice[0])
        append(text, size, used, "%s%s", error->found[0] || error->expected[0] ? "; " : "", error->advice);
}
