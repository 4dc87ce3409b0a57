/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Closed lists of words and the nearest right answer to a wrong one. */
#include "document.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

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

spurity_status spurity_document_word(const struct document *document, int node, spurity_error *error,
                                     const char *const *words, const char *text, int *index)
{
    *index = spurity_word_index(words, text);
    if (*index >= 0)
        return SPURITY_OK;
    char allowed[190], advice[100] = "";
    spurity_words_join(words, allowed, sizeof allowed);
    const char *nearest = spurity_word_nearest(words, text);
    if (nearest)
        snprintf(advice, sizeof advice, "did you mean '%s'?", nearest);
    return spurity_document_bad(document, node, error, allowed, nearest ? advice : NULL, "'%.50s'", text);
}
