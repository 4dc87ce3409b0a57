/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <locale.h>
#include <stdlib.h>
#include <string.h>

#include "units.h"

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

size_t spurity_number_parse(const char *text, size_t length, char decimal_mark, double *value)
{
    char copy[512];
    size_t i = 0, digits = 0;
    if (i < length && (text[i] == '+' || text[i] == '-'))
        i++;
    for (; i < length && is_digit(text[i]); i++)
        digits++;
    if (i < length && text[i] == decimal_mark)
        for (i++; i < length && is_digit(text[i]); i++)
            digits++;
    if (!digits)
        return 0;
    if (i < length && strchr("eEdD", text[i])) {
        size_t j = i + 1;
        if (j < length && (text[j] == '+' || text[j] == '-'))
            j++;
        if (j < length && is_digit(text[j])) {
            while (j < length && is_digit(text[j]))
                j++;
            i = j;
        }
    }
    if (i >= sizeof copy)
        return 0;
    for (size_t k = 0; k < i; k++)
        copy[k] = text[k] == decimal_mark ? '.' : text[k] == 'd' || text[k] == 'D' ? 'e' : text[k];
    copy[i] = '\0';
    locale_t c_locale = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (!c_locale)
        return 0;
    *value = strtod_l(copy, NULL, c_locale);
    freelocale(c_locale);
    return i;
}
