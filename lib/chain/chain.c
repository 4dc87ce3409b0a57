/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Life of a chain and what is put into it. */
#include "elements.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const spurity_place nowhere = {0};

spurity_status spurity_chain_create(spurity_chain **chain, spurity_error *error)
{
    *chain = calloc(1, sizeof **chain);
    return *chain ? SPURITY_OK : spurity_report_memory(error);
}

static void release_element(struct element *element)
{
    struct shared_curve *shared = element->shared;
    free(element->name);
    if (shared && atomic_fetch_sub(&shared->holders, 1) == 1) {
        spurity_curve_free(shared->curve);
        free(shared);
    }
}

void spurity_chain_free(spurity_chain *chain)
{
    if (!chain)
        return;
    for (size_t i = 0; i < chain->count; i++)
        release_element(&chain->items[i]);
    free(chain);
}

spurity_status spurity_chain_copy(const spurity_chain *from, spurity_chain **to, spurity_error *error)
{
    spurity_chain *copy;
    *to = NULL;
    spurity_status status = spurity_chain_create(&copy, error);
    if (status)
        return status;
    copy->kind = from->kind;
    for (size_t i = 0; i < from->count; i++) {
        struct element *element = &copy->items[i];
        *element = from->items[i];
        element->name = strdup(from->items[i].name);
        if (!element->name) {
            spurity_chain_free(copy);
            return spurity_report_memory(error);
        }
        if (element->shared)
            atomic_fetch_add(&element->shared->holders, 1);
        copy->count++;
    }
    *to = copy;
    return SPURITY_OK;
}

spurity_chain_kind spurity_chain_kind_of(const spurity_chain *chain)
{
    return chain->kind;
}

spurity_status spurity_chain_set_kind(spurity_chain *chain, spurity_chain_kind kind, spurity_error *error)
{
    if (kind != SPURITY_CHAIN_DIRECT && kind != SPURITY_CHAIN_CORRECTED)
        return spurity_report(error, SPURITY_INVALID, nowhere, "a chain that is neither direct nor corrected", NULL,
                              "add its elements instead");
    const char *word = kind == SPURITY_CHAIN_DIRECT ? "'direct'" : "'corrected'";
    if (chain->kind == SPURITY_CHAIN_ELEMENTS)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL,
                               "keep the pads and losses, or the one word, not both",
                               "%s together with a pad or a loss", word);
    if (chain->kind != SPURITY_CHAIN_UNSTATED && chain->kind != kind)
        return spurity_report(error, SPURITY_INVALID, nowhere, "'direct' together with 'corrected'", NULL,
                              "direct: nothing is between the set and the instrument; corrected: the file's levels "
                              "stand at the antenna terminal already; say the one that is true");
    chain->kind = kind;
    return SPURITY_OK;
}

/* FNV-1a, 64 bit (its authors' public description, draft-eastlake-fnv), folded to 32: tells elements apart, protects
 * against nothing. */
static uint64_t mix(uint64_t hash, const void *bytes, size_t size)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < size; i++)
        hash = (hash ^ byte[i]) * UINT64_C(0x100000001b3);
    return hash;
}

static const uint64_t mix_start = UINT64_C(0xcbf29ce484222325);

static uint64_t mix_number(uint64_t hash, double value)
{
    if (isnan(value))
        return mix(hash, "?", 1); /* all NaN mean "unsaid" */
    if (value == 0)
        value = 0; /* -0 is 0 */
    return mix(hash, &value, sizeof value);
}

static unsigned fold(uint64_t hash)
{
    return (unsigned)((hash ^ hash >> 32) & 0xffffffffU);
}

/* Two pads told in the same words in two files are taken for one pad; two of the same words in one chain are two parts,
 * so they are counted (the n-th here is the n-th there). */
static void name_pad_source(const spurity_chain *chain, struct element *pad)
{
    uint64_t hash = mix_number(mix_start, pad->db);
    hash = mix_number(hash, pad->uncertainty_db);
    hash = mix_number(hash, pad->known_to_hz);
    hash = mix_number(hash, pad->rating_w);
    char figure[CHAIN_FIGURE_SIZE];
    spurity_element_figure(figure, pad->db);
    for (unsigned n = 1;; n++) {
        size_t i = 0;
        snprintf(pad->source, sizeof pad->source, "chain pad %.7s %08x #%u", figure, fold(hash), n);
        while (i < chain->count && strcmp(chain->items[i].source, pad->source) != 0)
            i++;
        if (i == chain->count)
            return;
    }
}

/* The same file given twice is one measurement used twice: one source. */
static void name_curve_source(struct element *element, const spurity_curve *curve)
{
    enum { TAIL = 10 };
    const char *slash = strrchr(element->name, '/');
    const char *tail = slash && slash[1] ? slash + 1 : element->name;
    uint64_t hash = mix(mix_start, element->name, strlen(element->name));
    hash = mix_number(hash, element->uncertainty_db);
    hash = mix_number(hash, (double)spurity_curve_count(curve));
    hash = mix_number(hash, spurity_curve_first_hz(curve));
    hash = mix_number(hash, spurity_curve_last_hz(curve));
    /* Content: a sample of it is enough to tell two files of one name apart. */
    for (int i = 0; i <= 256; i++) {
        double db, uncertainty_db;
        double span = spurity_curve_last_hz(curve) - spurity_curve_first_hz(curve);
        if (spurity_curve_at(curve, spurity_curve_first_hz(curve) + span * i / 256, &db, &uncertainty_db))
            hash = mix_number(mix_number(hash, db), uncertainty_db);
    }
    snprintf(element->source, sizeof element->source, "chain %.*s#%08x", TAIL, tail, fold(hash));
}

static spurity_status check_may_add(const spurity_chain *chain, const char *what, spurity_error *error)
{
    if (chain->kind == SPURITY_CHAIN_DIRECT || chain->kind == SPURITY_CHAIN_CORRECTED)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL,
                               "keep the pads and losses, or the one word, not both", "%s together with %s", what,
                               chain->kind == SPURITY_CHAIN_DIRECT ? "'direct'" : "'corrected'");
    if (chain->count == CHAIN_ELEMENTS_MAX)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "measure some of them together as one loss curve",
                               "more than %d elements in a chain", CHAIN_ELEMENTS_MAX);
    return SPURITY_OK;
}

static spurity_status check_pad(double db, double uncertainty_db, double known_to_hz, double rating_w,
                                spurity_error *error)
{
    char figure[CHAIN_FIGURE_SIZE];
    if (!(db >= 0 && db <= 200))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "an attenuation of 0 to 200 dB",
                               "attenuation is told without a sign; a gain belongs into a --loss table, as a negative "
                               "loss",
                               "a pad of %s dB", spurity_element_figure(figure, db));
    if (uncertainty_db < 0 || isinf(uncertainty_db))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "0 dB or more", NULL, "a pad's uncertainty of %s dB",
                               spurity_element_figure(figure, uncertainty_db));
    if (known_to_hz <= 0 || isinf(known_to_hz))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "a frequency above 0", NULL, "a pad known to %s Hz",
                               spurity_element_figure(figure, known_to_hz));
    if (rating_w <= 0 || isinf(rating_w))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "a power above 0", NULL, "a pad rated %s W",
                               spurity_element_figure(figure, rating_w));
    return SPURITY_OK;
}

spurity_status spurity_chain_add_pad(spurity_chain *chain, double db, double uncertainty_db, double known_to_hz,
                                     double rating_w, spurity_error *error)
{
    spurity_status status = check_may_add(chain, "a pad", error);
    if (!status)
        status = check_pad(db, uncertainty_db, known_to_hz, rating_w, error);
    if (status)
        return status;
    if (db > 0 && uncertainty_db > db)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "an uncertainty smaller than the loss",
                               "are the two swapped? the loss comes first, as in 40dB,0.5dB",
                               "a pad of %.4g dB with an uncertainty of %.4g dB", db, uncertainty_db);
    struct element pad = {.db = db, .uncertainty_db = uncertainty_db, .known_to_hz = known_to_hz, .rating_w = rating_w};
    pad.name = strdup("pad");
    if (!pad.name)
        return spurity_report_memory(error);
    name_pad_source(chain, &pad);
    chain->items[chain->count++] = pad;
    chain->kind = SPURITY_CHAIN_ELEMENTS;
    return SPURITY_OK;
}

spurity_status spurity_chain_add_curve(spurity_chain *chain, const char *name, spurity_curve *curve,
                                       double uncertainty_db, spurity_error *error)
{
    char figure[CHAIN_FIGURE_SIZE];
    spurity_status status = check_may_add(chain, "a loss curve", error);
    if (status)
        return status;
    if (uncertainty_db < 0 || isinf(uncertainty_db))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "0 dB or more", NULL, "a loss uncertainty of %s dB",
                               spurity_element_figure(figure, uncertainty_db));
    struct element element = {.db = NAN, .uncertainty_db = uncertainty_db, .known_to_hz = NAN, .rating_w = NAN};
    element.name = strdup(name);
    element.shared = malloc(sizeof *element.shared);
    if (!element.name || !element.shared) {
        free(element.name);
        free(element.shared);
        return spurity_report_memory(error);
    }
    atomic_init(&element.shared->holders, 1);
    element.shared->curve = curve;
    name_curve_source(&element, curve);
    chain->items[chain->count++] = element;
    chain->kind = SPURITY_CHAIN_ELEMENTS;
    return SPURITY_OK;
}

size_t spurity_chain_element_count(const spurity_chain *chain)
{
    return chain->count;
}

void spurity_chain_set_digest(spurity_chain *chain, const char *sha256)
{
    if (chain->count && chain->items[chain->count - 1].shared)
        snprintf(chain->items[chain->count - 1].sha256, sizeof chain->items[0].sha256, "%s", sha256);
}

bool spurity_chain_element_at(const spurity_chain *chain, size_t index, spurity_chain_element *element)
{
    if (index >= chain->count)
        return false;
    const struct element *item = &chain->items[index];
    *element = (spurity_chain_element){.name = item->name,
                                       .curve = item->shared ? item->shared->curve : NULL,
                                       .db = item->db,
                                       .uncertainty_db = item->uncertainty_db,
                                       .known_to_hz = item->known_to_hz,
                                       .rating_w = item->rating_w,
                                       .sha256 = item->sha256};
    return true;
}
