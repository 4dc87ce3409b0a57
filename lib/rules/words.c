/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Closed lists of words and the nearest right answer to a wrong one. */
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
