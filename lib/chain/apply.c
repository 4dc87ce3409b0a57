/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Traces moved to the antenna terminal: L_terminal(f) = L_instrument(f) + loss(f).  What the chain does not reach is
 * told as a blind stretch and its points go: nothing is extrapolated. */
#include "elements.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"

struct spurity_terminal_trace {
    spurity_trace *trace;
    spurity_chain *chain;
    int file;
    bool absolute;
    spurity_stretch *blind;
    size_t blind_count, blind_room;
};

void spurity_terminal_trace_free(spurity_terminal_trace *terminal)
{
    if (!terminal)
        return;
    spurity_trace_free(terminal->trace);
    spurity_chain_free(terminal->chain);
    free(terminal->blind);
    free(terminal);
}

/* The next step for a person.  FMAX is the word of the option's help. */
static void advise(const struct element *element, spurity_stretch *stretch)
{
    char name[CHAIN_CALL_SIZE], from[20], to[20];
    const size_t size = sizeof stretch->advice;
    struct reach reach = spurity_element_reach(element);
    spurity_element_call(element, name);
    spurity_format_frequency(to, sizeof to, reach.to_hz, 6);
    if (element->shared) {
        spurity_format_frequency(from, sizeof from, reach.from_hz, 6);
        snprintf(stretch->advice, size,
                 "the loss of %s is known from %s to %s only: measure it further, or use --pad with a frequency to "
                 "which it is known",
                 name, from, to);
        return;
    }
    spurity_format_frequency(from, sizeof from, stretch->to_hz, 6);
    snprintf(stretch->advice, size,
             "%s is known to %s only: find or measure its loss to %s, then raise the frequency of --pad or "
             "use --loss",
             name, to, from);
}

/* Two stretches of one element that touch, but for one step of the sweep, are one. */
static bool extend(spurity_terminal_trace *terminal, size_t first, double from_hz, double to_hz, double step_hz)
{
    for (size_t i = first; i < terminal->blind_count; i++) {
        spurity_stretch *stretch = &terminal->blind[i];
        if (from_hz > stretch->to_hz + 1.5 * step_hz || to_hz < stretch->from_hz - 1.5 * step_hz)
            continue;
        stretch->from_hz = fmin(stretch->from_hz, from_hz);
        stretch->to_hz = fmax(stretch->to_hz, to_hz);
        return true;
    }
    return false;
}

/* first: the first stretch of this element. */
static spurity_status add_blind(spurity_terminal_trace *terminal, size_t first, double from_hz, double to_hz,
                                double step_hz, spurity_error *error)
{
    if (extend(terminal, first, from_hz, to_hz, step_hz))
        return SPURITY_OK;
    spurity_stretch *blind = spurity_grow(terminal->blind, terminal->blind_count, &terminal->blind_room, sizeof *blind);
    if (!blind)
        return spurity_report_memory(error);
    terminal->blind = blind;
    terminal->blind[terminal->blind_count++] =
        (spurity_stretch){.from_hz = from_hz, .to_hz = to_hz, .reason = "loss-unknown"};
    return SPURITY_OK;
}

/* Stretches of the sweep beyond one element's reach. */
static spurity_status find_blind(spurity_terminal_trace *terminal, const struct element *element,
                                 const spurity_trace *trace, spurity_error *error)
{
    const size_t first = terminal->blind_count;
    const struct reach reach = spurity_element_reach(element);
    spurity_segment segment;
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; !status && spurity_trace_segment(trace, i, &segment); i++) {
        double low_hz = segment.frequency_hz[0], high_hz = segment.frequency_hz[segment.count - 1];
        if (low_hz < reach.from_hz)
            status = add_blind(terminal, first, low_hz, fmin(high_hz, reach.from_hz), segment.step_hz, error);
        if (!status && high_hz > reach.to_hz)
            status = add_blind(terminal, first, fmax(low_hz, reach.to_hz), high_hz, segment.step_hz, error);
    }
    for (size_t i = first; !status && i < terminal->blind_count; i++)
        advise(element, &terminal->blind[i]);
    return status;
}

/* Where all elements reach. */
static struct reach common_reach(const spurity_chain *chain)
{
    struct reach common = {-INFINITY, INFINITY};
    for (size_t i = 0; i < chain->count; i++) {
        struct reach reach = spurity_element_reach(&chain->items[i]);
        common.from_hz = fmax(common.from_hz, reach.from_hz);
        common.to_hz = fmin(common.to_hz, reach.to_hz);
    }
    return common;
}

static bool inside(struct reach reach, double hz)
{
    return hz >= reach.from_hz && hz <= reach.to_hz;
}

/* Longest segment, and whether any point is reached at all. */
static size_t survey(const spurity_trace *trace, struct reach reach, bool *reached)
{
    size_t longest = 0;
    spurity_segment segment;
    *reached = false;
    for (size_t i = 0; spurity_trace_segment(trace, i, &segment); i++) {
        longest = segment.count > longest ? segment.count : longest;
        for (size_t k = 0; k < segment.count && !*reached; k++)
            *reached = inside(reach, segment.frequency_hz[k]);
    }
    return longest;
}

/* Adds the loss to every point of a segment that the chain reaches, marks the others; true when one must go. */
static bool add_loss(const spurity_chain *chain, const spurity_segment *segment, double *level_db, unsigned char *keep)
{
    bool dropped = false, flat = true;
    double loss_db = 0;
    for (size_t i = 0; i < chain->count; i++)
        flat = flat && !chain->items[i].shared;
    for (size_t i = 0; flat && i < chain->count; i++)
        loss_db += chain->items[i].db;
    const struct reach reach = common_reach(chain);
    for (size_t k = 0; k < segment->count; k++) {
        keep[k] = flat ? inside(reach, segment->frequency_hz[k])
                       : spurity_chain_loss(chain, segment->frequency_hz[k], &loss_db, NULL, NULL);
        if (keep[k])
            level_db[k] += loss_db;
        else
            dropped = true;
    }
    return dropped;
}

/* From the last segment down, since an emptied one vanishes.  Cannot fail. */
static void move_points(const spurity_chain *chain, spurity_trace *trace, unsigned char *keep)
{
    spurity_segment segment;
    for (size_t i = spurity_trace_segment_count(trace); i-- > 0;) {
        if (spurity_trace_segment(trace, i, &segment) &&
            add_loss(chain, &segment, spurity_trace_levels(trace, i), keep))
            spurity_trace_drop(trace, i, keep);
    }
}

static spurity_status report_out_of_reach(const spurity_terminal_trace *terminal, spurity_error *error)
{
    return spurity_report(error, SPURITY_INVALID, (spurity_place){0},
                          "no point of the sweep at which the loss of the chain is known", NULL,
                          terminal->blind_count ? terminal->blind[0].advice : "the sweep holds no point");
}

static spurity_status prepare(const spurity_chain *chain, const spurity_trace *trace, spurity_terminal_trace *made,
                              unsigned char **keep, spurity_error *error)
{
    bool reached;
    spurity_status status = spurity_chain_copy(chain, &made->chain, error);
    for (size_t i = 0; !status && i < chain->count; i++)
        status = find_blind(made, &chain->items[i], trace, error);
    if (status)
        return status;
    size_t longest = survey(trace, common_reach(chain), &reached);
    if (!reached)
        return report_out_of_reach(made, error);
    *keep = malloc(longest);
    return *keep ? SPURITY_OK : spurity_report_memory(error);
}

spurity_status spurity_chain_apply(const spurity_chain *chain, spurity_trace **trace, double carrier_hz, int file,
                                   spurity_notes *notes, spurity_terminal_trace **terminal, spurity_error *error)
{
    unsigned char *keep = NULL;
    *terminal = NULL;
    spurity_terminal_trace *made = calloc(1, sizeof *made);
    if (!made)
        return spurity_report_memory(error);
    made->file = file;
    spurity_status status = prepare(chain, *trace, made, &keep, error);
    if (status)
        goto out;
    if (chain->kind == SPURITY_CHAIN_ELEMENTS)
        move_points(chain, *trace, keep);
    made->absolute = chain->kind != SPURITY_CHAIN_UNSTATED && !spurity_trace_scale(*trace)[0];
    made->trace = *trace;
    status = spurity_terminal_trace_warn(made, carrier_hz, notes, error);
    if (status) {
        made->trace = NULL;
        spurity_trace_free(*trace); /* its levels are moved already: of no use to anyone */
        *trace = NULL;
        goto out;
    }
    *trace = NULL;
    *terminal = made;
    made = NULL;
out:
    free(keep);
    spurity_terminal_trace_free(made);
    return status;
}

/* Highest frequency held. */
static double highest(const spurity_trace *trace)
{
    double hz = -INFINITY;
    spurity_segment segment;
    for (size_t i = 0; spurity_trace_segment(trace, i, &segment); i++)
        hz = fmax(hz, segment.frequency_hz[segment.count - 1]);
    return hz;
}

spurity_status spurity_terminal_trace_warn(const spurity_terminal_trace *terminal, double carrier_hz,
                                           spurity_notes *notes, spurity_error *error)
{
    const struct element *first = NULL;
    size_t more = 0;
    for (size_t i = 0; i < terminal->chain->count; i++) {
        const struct element *element = &terminal->chain->items[i];
        if (element->shared || !isnan(element->known_to_hz))
            continue;
        more += first != NULL;
        first = first ? first : element;
    }
    if (!first || !(highest(terminal->trace) > 3 * carrier_hz))
        return SPURITY_OK;
    char name[CHAIN_CALL_SIZE], from[40], others[40] = "";
    spurity_element_call(first, name);
    spurity_format_frequency(from, sizeof from, 3 * carrier_hz, 6);
    if (more)
        snprintf(others, sizeof others, " and %zu more", more);
    if (spurity_notes_add(
            notes, SPURITY_NOTE_PAD_RESPONSE_ASSUMED, terminal->file,
            "%s%s: assumed the same above %s, the third harmonic, as below; tell the frequency to which it "
            "is known, as in --pad 40dB,0.5dB,1G",
            name, others, from))
        return spurity_report_memory(error);
    return SPURITY_OK;
}

const spurity_trace *spurity_terminal_trace_view(const spurity_terminal_trace *terminal)
{
    return terminal->trace;
}

const spurity_chain *spurity_terminal_trace_chain(const spurity_terminal_trace *terminal)
{
    return terminal->chain;
}

int spurity_terminal_trace_file(const spurity_terminal_trace *terminal)
{
    return terminal->file;
}

bool spurity_terminal_trace_is_absolute(const spurity_terminal_trace *terminal)
{
    return terminal->absolute;
}

size_t spurity_terminal_trace_blind_count(const spurity_terminal_trace *terminal)
{
    return terminal->blind_count;
}

const spurity_stretch *spurity_terminal_trace_blind(const spurity_terminal_trace *terminal, size_t index)
{
    return index < terminal->blind_count ? &terminal->blind[index] : NULL;
}
