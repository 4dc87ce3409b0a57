/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A pad as people type it: "40dB,0.5dB,1G,50W".  Fields are told apart by their unit, so their order is free but for
 * the two in dB: loss first, then its uncertainty. */
#include "elements.h"

#include <math.h>
#include <string.h>

static const spurity_place nowhere = {0};
static const char forms[] = "a pad such as 40dB or 40dB,0.5dB,1G,50W: loss, its uncertainty, frequency to which it is "
                            "known, rating";

struct pad {
    double db, uncertainty_db, known_to_hz, rating_w; /* NaN = not yet said */
};

static spurity_status refuse(const char *field, const char *why, const char *advice, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, nowhere, forms, advice, "'%.60s': %s", field, why);
}

static spurity_status set_decibels(struct pad *pad, const char *field, spurity_error *error)
{
    double *slot = isnan(pad->db) ? &pad->db : &pad->uncertainty_db;
    if (!isnan(*slot))
        return refuse(field, "a third figure in dB", NULL, error);
    return spurity_parse_ratio(field, slot == &pad->db ? "pad loss" : "pad uncertainty", nowhere, slot, error);
}

/* alone: the pad is this one field. "40,5dB" could be 40.5 dB or 40 dB +- 5 dB, so a field among others needs its unit.
 */
static spurity_status set_field(struct pad *pad, const char *field, bool alone, spurity_error *error)
{
    switch (spurity_dimension_of(field)) {
    case SPURITY_DIMENSION_RATIO:
        return set_decibels(pad, field, error);
    case SPURITY_DIMENSION_FREQUENCY:
        if (!isnan(pad->known_to_hz))
            return refuse(field, "a second frequency", NULL, error);
        return spurity_parse_frequency(field, "pad frequency", nowhere, &pad->known_to_hz, error);
    case SPURITY_DIMENSION_POWER:
    case SPURITY_DIMENSION_LEVEL:
        if (!isnan(pad->rating_w))
            return refuse(field, "a second rating", NULL, error);
        return spurity_parse_power(field, "pad rating", nowhere, &pad->rating_w, error);
    case SPURITY_DIMENSION_NONE:
        if (alone)
            return set_decibels(pad, field, error);
        return refuse(field, "no unit", "give each figure its unit, and write decimals with a point", error);
    case SPURITY_DIMENSION_OTHER:
        break;
    }
    return refuse(field, "no unit a pad has", NULL, error);
}

static size_t trim(const char **text, size_t length)
{
    while (length && (**text == ' ' || **text == '\t')) {
        (*text)++;
        length--;
    }
    while (length && ((*text)[length - 1] == ' ' || (*text)[length - 1] == '\t'))
        length--;
    return length;
}

spurity_status spurity_chain_add_pad_text(spurity_chain *chain, const char *text, spurity_error *error)
{
    struct pad pad = {NAN, NAN, NAN, NAN};
    const bool alone = !strchr(text, ',');
    for (const char *at = text;; at++) {
        char field[64];
        size_t length = strcspn(at, ",");
        const char *start = at, *end = at + length;
        length = trim(&start, length);
        if (length == 0)
            return refuse(text, "an empty field", NULL, error);
        if (length >= sizeof field)
            return refuse(text, "a field too long to be a quantity", NULL, error);
        memcpy(field, start, length);
        field[length] = '\0';
        spurity_status status = set_field(&pad, field, alone, error);
        if (status)
            return status;
        if (!*end)
            break;
        at = end;
    }
    if (isnan(pad.db))
        return refuse(text, "no loss in dB", NULL, error);
    return spurity_chain_add_pad(chain, pad.db, pad.uncertainty_db, pad.known_to_hz, pad.rating_w, error);
}
