/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Closed lists of words and the nearest right answer to a wrong one. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

const char *const spurity_reference_words[] = {"mean power", "carrier power",          "PEP",
                                               "ERP",        "strongest in bandwidth", NULL};
/* those a condition or a cap can name: the first four, so that a place in both lists is the same */
const char *const spurity_power_words[] = {"mean power", "carrier power", "PEP", "ERP", NULL};
const char *const spurity_quantity_words[] = {
    "spurious emission", "mask", "carrier power", "frequency error", "occupied bandwidth",
    "peak deviation",    "band", "note",          "channel",         NULL};

const char *spurity_reference_name(spurity_reference reference)
{
    return (unsigned)reference <= SPURITY_REFERENCE_STRONGEST ? spurity_reference_words[reference] : NULL;
}

const char *spurity_quantity_limited_name(spurity_quantity_limited quantity)
{
    return (unsigned)quantity <= SPURITY_QUANTITY_CHANNEL ? spurity_quantity_words[quantity] : NULL;
}

int spurity_word_index(const char *const *words, const char *text)
{
    for (int i = 0; words[i]; i++)
        if (!strcmp(words[i], text))
            return i;
    return -1;
}

enum { WORD_MOST = 40 };

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

/** Letters to insert, drop, change or swap with their neighbour (optimal string alignment distance), case-blind. */
static size_t distance(const char *a, const char *b)
{
    size_t rows = strlen(a), columns = strlen(b);
    if (rows > WORD_MOST || columns > WORD_MOST)
        return WORD_MOST;
    size_t cost[WORD_MOST + 1][WORD_MOST + 1];
    for (size_t i = 0; i <= rows; i++)
        cost[i][0] = i;
    for (size_t j = 0; j <= columns; j++)
        cost[0][j] = j;
    for (size_t i = 1; i <= rows; i++)
        for (size_t j = 1; j <= columns; j++) {
            int x = tolower((unsigned char)a[i - 1]), y = tolower((unsigned char)b[j - 1]);
            cost[i][j] = smaller(smaller(cost[i - 1][j], cost[i][j - 1]) + 1, cost[i - 1][j - 1] + (x != y));
            if (i > 1 && j > 1 && x == tolower((unsigned char)b[j - 2]) && tolower((unsigned char)a[i - 2]) == y)
                cost[i][j] = smaller(cost[i][j], cost[i - 2][j - 2] + 1);
        }
    return cost[rows][columns];
}

const char *spurity_word_nearest(const char *const *words, const char *text)
{
    size_t most = strlen(text) / 3 + 1, best = most + 1;
    const char *nearest = NULL;
    for (int i = 0; words[i]; i++) {
        size_t d = distance(words[i], text);
        if (d < best) {
            best = d;
            nearest = words[i];
        }
    }
    return nearest;
}

void spurity_words_join(const char *const *words, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (int i = 0; words[i] && used < size; i++) {
        int wrote = snprintf(text + used, size - used, "%s%s", i ? ", " : "", words[i]);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
}

/** Whether a word stands whole in a list. */
static bool list_has(const char *list, const char *separator, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = list; at && *at;) {
        const char *end = strstr(at, separator);
        if (length == (end ? (size_t)(end - at) : strlen(at)) && !strncmp(at, word, length))
            return true;
        at = end ? end + strlen(separator) : NULL;
    }
    return false;
}

void spurity_list_add(char *list, size_t size, const char *separator, const char *word)
{
    if (!list || !size || list_has(list, separator, word))
        return;
    size_t used = strlen(list);
    if (used + strlen(separator) + strlen(word) + 1 <= size)
        snprintf(list + used, size - used, "%s%s", used ? separator : "", word);
}

void spurity_needs_add(char *needs, size_t size, const char *option)
{
    if (!needs || !size || strstr(needs, option))
        return;
    size_t used = strlen(needs);
    if (used + strlen(option) + 2 > size)
        return;
    snprintf(needs + used, size - used, "%s%s", used ? " " : "", option);
}
