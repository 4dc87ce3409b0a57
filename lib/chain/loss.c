/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The loss of a chain and what its uncertainty is made of; how an element is told to a person. */
#include "elements.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct reach spurity_element_reach(const struct element *element)
{
    if (element->shared)
        return (struct reach){spurity_curve_first_hz(element->shared->curve),
                              spurity_curve_last_hz(element->shared->curve)};
    return (struct reach){-INFINITY, isnan(element->known_to_hz) ? INFINITY : element->known_to_hz};
}

/* A pad's figure is one quantity at every frequency it is known at, so it drops out of a difference on the same pad;
 * how its loss varies over frequency belongs to the uncertainty of a ratio (the lump in dBc, or a measured curve). */
static bool add_pad(const struct element *pad, double hz, double *loss_db, spurity_uncertainty *uncertainty)
{
    if (hz > spurity_element_reach(pad).to_hz)
        return false;
    *loss_db += pad->db;
    if (uncertainty && pad->uncertainty_db > 0)
        spurity_uncertainty_add(uncertainty, pad->source, SPURITY_NORMAL, pad->uncertainty_db / 2, 1);
    return true;
}

/* A curve's error at one frequency says nothing of its error at another: the source holds the frequency (to 1 Hz), so
 * it drops out of a difference only where both levels stand at the same frequency.  That is the unfavourable side:
 * what part of it is common to all its points is not known. */
static bool add_curve(const struct element *element, double hz, double *loss_db, spurity_uncertainty *uncertainty)
{
    double db, own_db, expanded_db = element->uncertainty_db;
    if (!spurity_curve_at(element->shared->curve, hz, &db, &own_db))
        return false;
    *loss_db += db;
    if (isnan(expanded_db) || own_db > expanded_db)
        expanded_db = own_db;
    if (uncertainty && expanded_db > 0) {
        char source[SPURITY_SOURCE_ID_SIZE + 24];
        snprintf(source, sizeof source, "%s@%.0f", element->source, hz);
        source[SPURITY_SOURCE_ID_SIZE - 1] = '\0';
        spurity_uncertainty_add(uncertainty, source, SPURITY_NORMAL, expanded_db / 2, 1);
    }
    return true;
}

bool spurity_chain_loss(const spurity_chain *chain, double hz, double *loss_db, spurity_uncertainty *uncertainty,
                        size_t *element)
{
    double sum_db = 0;
    if (uncertainty)
        *uncertainty = (spurity_uncertainty){0};
    for (size_t i = 0; i < chain->count; i++) {
        const struct element *item = &chain->items[i];
        bool reached =
            item->shared ? add_curve(item, hz, &sum_db, uncertainty) : add_pad(item, hz, &sum_db, uncertainty);
        if (reached)
            continue;
        if (element)
            *element = i;
        return false;
    }
    *loss_db = sum_db;
    return true;
}

char *spurity_element_figure(char text[CHAIN_FIGURE_SIZE], double db)
{
    if (!(fabs(db) < 1e12)) {
        snprintf(text, CHAIN_FIGURE_SIZE, "%s", isnan(db) ? "no figure" : "infinity");
        return text;
    }
    long long thousandths = llround(fabs(db) * 1000);
    int n = snprintf(text, CHAIN_FIGURE_SIZE, "%s%lld.%03lld", db < 0 && thousandths ? "-" : "", thousandths / 1000,
                     thousandths % 1000);
    while (text[n - 1] == '0')
        text[--n] = '\0';
    if (text[n - 1] == '.')
        text[--n] = '\0';
    return text;
}

/* The end of a name, at most `most` bytes of it, begun at a whole UTF-8 character. */
static const char *tail_of(const char *name, size_t most)
{
    size_t length = strlen(name);
    if (length <= most)
        return name;
    name += length - most;
    while ((*name & 0xc0) == 0x80)
        name++;
    return name;
}

void spurity_element_call(const struct element *element, char text[CHAIN_CALL_SIZE])
{
    if (element->shared) {
        const char *tail = tail_of(element->name, 40);
        snprintf(text, CHAIN_CALL_SIZE, "'%s%s'", tail == element->name ? "" : "...", tail);
    } else {
        char figure[CHAIN_FIGURE_SIZE];
        snprintf(text, CHAIN_CALL_SIZE, "the %s dB pad", spurity_element_figure(figure, element->db));
    }
    for (char *c = text; *c; c++) {
        if ((unsigned char)*c < ' ' || *c == 0x7f)
            *c = ' ';
    }
}

/* Text that grows by pieces, cut where it is full. */
struct line {
    char *text;
    size_t size, used;
};

static void put(struct line *line, const char *before, const char *piece)
{
    int n = snprintf(line->text + line->used, line->size - line->used, "%s%s", before, piece);
    line->used += n > 0 ? (size_t)n : 0;
    if (line->used >= line->size)
        line->used = line->size - 1;
}

static void describe_pad(const struct element *pad, struct line *line)
{
    char piece[64];
    const char *before = " (";
    put(line, "pad ", spurity_element_figure(piece, pad->db));
    put(line, " dB", "");
    if (!isnan(pad->uncertainty_db)) {
        put(line, before, "+-");
        put(line, spurity_element_figure(piece, pad->uncertainty_db), " dB");
        before = ", ";
    }
    if (!isnan(pad->known_to_hz)) {
        put(line, before, "to ");
        put(line, "", spurity_format_frequency(piece, sizeof piece, pad->known_to_hz, 6));
        before = ", ";
    }
    if (!isnan(pad->rating_w)) {
        put(line, before, spurity_format_power(piece, sizeof piece, pad->rating_w));
        before = ", ";
    }
    if (before[0] == ',')
        put(line, ")", "");
}

static void describe_curve(const struct element *element, struct line *line)
{
    char piece[64], name[CHAIN_CALL_SIZE];
    const spurity_curve *curve = element->shared->curve;
    spurity_element_call(element, name);
    put(line, "loss of ", name);
    put(line, " (", spurity_format_frequency(piece, sizeof piece, spurity_curve_first_hz(curve), 6));
    put(line, " to ", spurity_format_frequency(piece, sizeof piece, spurity_curve_last_hz(curve), 6));
    snprintf(piece, sizeof piece, ", %zu %s", spurity_curve_count(curve),
             spurity_curve_count(curve) == 1 ? "point" : "points");
    put(line, piece, "");
    if (!isnan(element->uncertainty_db)) {
        put(line, ", +-", spurity_element_figure(piece, element->uncertainty_db));
        put(line, " dB", "");
    }
    put(line, ")", "");
}

void spurity_chain_describe(const spurity_chain *chain, size_t index, char *text, size_t size)
{
    static const char *const words[] = {[SPURITY_CHAIN_UNSTATED] = "not stated",
                                        [SPURITY_CHAIN_DIRECT] = "direct, nothing in between",
                                        [SPURITY_CHAIN_CORRECTED] = "corrected, levels stand at the antenna terminal",
                                        [SPURITY_CHAIN_ELEMENTS] = ""};
    struct line line = {text, size, 0};
    text[0] = '\0';
    if (chain->count == 0 && index == 0)
        put(&line, words[chain->kind], "");
    if (index >= chain->count)
        return;
    if (chain->items[index].shared)
        describe_curve(&chain->items[index], &line);
    else
        describe_pad(&chain->items[index], &line);
}
