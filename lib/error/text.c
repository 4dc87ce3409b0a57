/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "text.h"

#include <string.h>

/* Length of the UTF-8 sequence at s, 0 when it is none (RFC 3629: no surrogates, no over-long forms). */
static size_t sequence(const unsigned char *s)
{
    if (s[0] < 0x80)
        return 1;
    size_t length = s[0] >= 0xC2 && s[0] <= 0xDF ? 2 : (s[0] & 0xF0) == 0xE0 ? 3 : s[0] >= 0xF0 && s[0] <= 0xF4 ? 4 : 0;
    for (size_t i = 1; i < length; i++)
        if ((s[i] & 0xC0) != 0x80)
            return 0;
    if ((s[0] == 0xE0 && s[1] < 0xA0) || (s[0] == 0xED && s[1] > 0x9F) || (s[0] == 0xF0 && s[1] < 0x90) ||
        (s[0] == 0xF4 && s[1] > 0x8F))
        return 0;
    return length;
}

void spurity_text_copy(char *to, size_t size, const char *from)
{
    const unsigned char *s = (const unsigned char *)from;
    size_t used = 0, room_for_dots = 0;
    while (*s) {
        size_t length = sequence(s);
        size_t take = length ? length : 1;
        if (used + take >= size)
            break;
        if (!length)
            to[used] = '?';
        else if (s[0] < 0x20 || s[0] == 0x7F)
            to[used] = ' ';
        else if (length == 2 && s[0] == 0xC2 && s[1] < 0xA0) {
            to[used] = ' '; /* C1 controls */
            s += 2;
            used++;
            continue;
        } else
            memcpy(to + used, s, length);
        s += take;
        used += take;
        if (used + 4 <= size)
            room_for_dots = used;
    }
    to[used] = '\0';
    if (*s && size > 4)
        memcpy(to + room_for_dots, "...", 4);
}
