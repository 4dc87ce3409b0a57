/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CHAIN_H
#define SPURITY_CHAIN_H
/* The chain between the transmitter's antenna terminal and the instrument, and traces moved to that terminal:
 *     L_terminal(f) = L_instrument(f) + loss(f), loss > 0 attenuates.
 * The chain must be said: silence is not 0 dB.  An unstated chain leaves levels relative. */
#include "../trace/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_chain_kind {
    SPURITY_CHAIN_UNSTATED = 0, /* levels are relative to an unknown constant */
    SPURITY_CHAIN_DIRECT,       /* nothing in between */
    SPURITY_CHAIN_CORRECTED,    /* the file's levels stand at the terminal already */
    SPURITY_CHAIN_ELEMENTS      /* pads and curves, in order from the set */
} spurity_chain_kind;

typedef struct spurity_chain spurity_chain;

/** An UNSTATED chain.  Free with spurity_chain_free.  SYSTEM when memory is out. */
SPURITY_API spurity_status spurity_chain_create(spurity_chain **chain, spurity_error *error);
SPURITY_API void spurity_chain_free(spurity_chain *chain); /* NULL is fine */
/** A chain of its own, for the caller to free; curves, which never change in a chain, are shared behind it. */
SPURITY_API spurity_status spurity_chain_copy(const spurity_chain *from, spurity_chain **to, spurity_error *error);
SPURITY_API spurity_chain_kind spurity_chain_kind_of(const spurity_chain *chain);
/** DIRECT or CORRECTED.  INVALID when elements were added, or the other one was said. */
SPURITY_API spurity_status spurity_chain_set_kind(spurity_chain *chain, spurity_chain_kind kind, spurity_error *error);

/** A fixed attenuation, in order from the set.  db 0..200.  uncertainty_db expanded (k = 2), NaN = none known (then
 * only the lump applies).  known_to_hz: the frequency to which it is known, NaN = unsaid.  rating_w: mean power that
 * may enter it, NaN = unsaid.  INVALID after DIRECT/CORRECTED. */
SPURITY_API spurity_status spurity_chain_add_pad(spurity_chain *chain, double db, double uncertainty_db,
                                                 double known_to_hz, double rating_w, spurity_error *error);
/** "40dB,0.5dB,1G,50W": first dB the loss, second dB its uncertainty, fields told apart by unit. */
SPURITY_API spurity_status spurity_chain_add_pad_text(spurity_chain *chain, const char *text, spurity_error *error);
/** A loss curve; the chain takes it over at success.  name is what the report calls it (a file name).  uncertainty_db
 *  (expanded) applies where the curve has none or a smaller one; NaN = none. */
SPURITY_API spurity_status spurity_chain_add_curve(spurity_chain *chain, const char *name, spurity_curve *curve,
                                                   double uncertainty_db, spurity_error *error);

/** SHA-256 (64 lower-case hex digits) of the file the last added curve came from, for the report; copied. */
SPURITY_API void spurity_chain_set_digest(spurity_chain *chain, const char *sha256);

typedef struct spurity_chain_element {
    const char *name;                                 /* "pad" or the curve's file name */
    const spurity_curve *curve;                       /* NULL for a pad */
    double db, uncertainty_db, known_to_hz, rating_w; /* of a pad; NaN = unsaid */
    const char *sha256;                               /* of the file a curve came from; "" = not known */
} spurity_chain_element;
SPURITY_API size_t spurity_chain_element_count(const spurity_chain *chain);
/** False when index is out of range.  Texts and curve are borrowed, valid while the chain lives. */
SPURITY_API bool spurity_chain_element_at(const spurity_chain *chain, size_t index, spurity_chain_element *element);
/** One line for the report: "pad 40 dB (+-0.5 dB, to 1 GHz, 50 W)", "loss of 'notch.csv' (1 MHz to 1 GHz, 20 points)".
 *  Of a chain without elements index 0 tells its kind ("direct, nothing in between"); else "". */
SPURITY_API void spurity_chain_describe(const spurity_chain *chain, size_t index, char *text, size_t size);

/** Loss of the whole chain at hz, dB, with its contributions (sources "chain ELEMENT" named so that the same element in
 * two files is one source, of a curve at the same frequency only; README.md; *uncertainty is overwritten; it and
 * element may be NULL).  False where an element does not reach; *element then tells which. 0 dB for DIRECT, CORRECTED
 * and UNSTATED. */
SPURITY_API bool spurity_chain_loss(const spurity_chain *chain, double hz, double *loss_db,
                                    spurity_uncertainty *uncertainty, size_t *element);

/* ---- terminal trace ------------------------------------------------------------------------------ */

/** A trace at the antenna terminal.  Only spurity_chain_apply makes it, emission accepts nothing else. */
typedef struct spurity_terminal_trace spurity_terminal_trace;

/** A stretch of spectrum, Hz, about which nothing can be said, and why. */
typedef struct spurity_stretch {
    double from_hz, to_hz;
    char reason[32];  /* contract word: "loss-unknown", "not-swept", "hidden", "points-too-far-apart" ... */
    char advice[200]; /* the next step, for a person */
} spurity_stretch;

/** Moves *trace (taken over, set NULL; after INVALID it is still the caller's, as it was) to the terminal.  The chain
 * is copied.  Points the chain does not reach are dropped and become stretches of reason "loss-unknown"; when none is
 * left: INVALID.  carrier_hz (NaN = not known) decides the warning pad-response-assumed (a pad of unsaid FMAX above the
 * third harmonic); where the carrier is found only later, call spurity_terminal_trace_warn then. */
SPURITY_API spurity_status spurity_chain_apply(const spurity_chain *chain, spurity_trace **trace, double carrier_hz,
                                               int file, spurity_notes *notes, spurity_terminal_trace **terminal,
                                               spurity_error *error);
SPURITY_API void spurity_terminal_trace_free(spurity_terminal_trace *terminal); /* NULL is fine */
/** The warning pad-response-assumed, once a file: the trace reaches above 3 carrier_hz and a pad's FMAX is unsaid.
 *  Nothing happens when carrier_hz is NaN.  notes may be NULL. */
SPURITY_API spurity_status spurity_terminal_trace_warn(const spurity_terminal_trace *terminal, double carrier_hz,
                                                       spurity_notes *notes, spurity_error *error);
/** The trace, the chain and the file's index it was made with: borrowed, valid while the terminal trace lives. */
SPURITY_API const spurity_trace *spurity_terminal_trace_view(const spurity_terminal_trace *terminal);
SPURITY_API const spurity_chain *spurity_terminal_trace_chain(const spurity_terminal_trace *terminal);
SPURITY_API int spurity_terminal_trace_file(const spurity_terminal_trace *terminal);
/** True when levels are dBm: the trace had no named scale and the chain was stated. */
SPURITY_API bool spurity_terminal_trace_is_absolute(const spurity_terminal_trace *terminal);
/** Stretches of the sweep the chain does not reach, reason "loss-unknown"; NULL when index is out of range. */
SPURITY_API size_t spurity_terminal_trace_blind_count(const spurity_terminal_trace *terminal);
SPURITY_API const spurity_stretch *spurity_terminal_trace_blind(const spurity_terminal_trace *terminal, size_t index);

#ifdef __cplusplus
}
#endif
#endif
