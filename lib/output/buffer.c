/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

void spurity_bytes_release(spurity_bytes *bytes)
{
    if (!bytes)
        return;
    free(bytes->data);
    *bytes = (spurity_bytes){0};
}

void spurity_buffer_release(spurity_buffer *buffer)
{
    free(buffer->data);
    *buffer = (spurity_buffer){0};
}

void spurity_buffer_add(spurity_buffer *buffer, const char *bytes, size_t size)
{
    if (buffer->failed)
        return;
    if (size >= buffer->room - buffer->size) { /* one byte stays for the closing NUL */
        size_t need = buffer->size + size + 1, room = buffer->room ? buffer->room : 4096;
        while (room < need && room <= SIZE_MAX / 2)
            room *= 2;
        char *more = need > buffer->size && room >= need ? realloc(buffer->data, room) : NULL;
        if (!more) {
            buffer->failed = true;
            return;
        }
        buffer->data = more;
        buffer->room = room;
    }
    memcpy(buffer->data + buffer->size, bytes, size);
    buffer->size += size;
    buffer->data[buffer->size] = '\0';
}

void spurity_buffer_text(spurity_buffer *buffer, const char *text)
{
    spurity_buffer_add(buffer, text, strlen(text));
}

void spurity_buffer_blanks(spurity_buffer *buffer, size_t count)
{
    static const char blanks[] = "                                ";
    for (; count; count -= count < sizeof blanks - 1 ? count : sizeof blanks - 1)
        spurity_buffer_add(buffer, blanks, count < sizeof blanks - 1 ? count : sizeof blanks - 1);
}

void spurity_buffer_fixed(spurity_buffer *buffer, double value)
{
    char digits[32];
    size_t at = sizeof digits;
    long long hundredths = isfinite(value) && fabs(value) < 1e12 ? llround(value * 100) : 0;
    unsigned long long left = (unsigned long long)(hundredths < 0 ? -hundredths : hundredths);
    for (int i = 0; i < 3 || left; i++) {
        if (i == 2)
            digits[--at] = '.';
        digits[--at] = (char)('0' + left % 10);
        left /= 10;
    }
    if (hundredths < 0)
        digits[--at] = '-';
    spurity_buffer_add(buffer, digits + at, sizeof digits - at);
}

spurity_status spurity_buffer_give(spurity_buffer *buffer, spurity_bytes *out, spurity_error *error)
{
    *out = (spurity_bytes){0};
    if (buffer->failed || !buffer->data) {
        spurity_buffer_release(buffer);
        return spurity_report_memory(error);
    }
    *out = (spurity_bytes){buffer->data, buffer->size};
    *buffer = (spurity_buffer){0};
    return SPURITY_OK;
}
