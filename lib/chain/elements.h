/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CHAIN_ELEMENTS_H
#define SPURITY_CHAIN_ELEMENTS_H
/* Inside the chain stage: what an element is and how far it reaches. */
#include "chain.h"

#include <stdatomic.h>

/* A curve never changes once it is in a chain: copies of a chain share it. */
struct shared_curve {
    atomic_size_t holders;
    spurity_curve *curve;
};

struct element {
    char *name;                                       /* "pad", or the curve's file name */
    char source[SPURITY_SOURCE_ID_SIZE];              /* identity of its uncertainty; a curve's without the frequency */
    struct shared_curve *shared;                      /* NULL for a pad */
    double db, uncertainty_db, known_to_hz, rating_w; /* of a pad; NaN = unsaid. A curve: uncertainty_db only */
    char sha256[65];                                  /* of the file a curve came from; "" = not known */
};

enum { CHAIN_ELEMENTS_MAX = 64 };

struct spurity_chain {
    spurity_chain_kind kind;
    size_t count;
    struct element items[CHAIN_ELEMENTS_MAX];
};

/* Frequencies an element's loss is known at, ends included; -+infinity where it has no end. */
struct reach {
    double from_hz, to_hz;
};
struct reach spurity_element_reach(const struct element *element);

/* A figure in dB with at most three decimals and a point, whatever the locale: "40", "0.25".  Returns text. */
enum { CHAIN_FIGURE_SIZE = 32 };
char *spurity_element_figure(char text[CHAIN_FIGURE_SIZE], double db);

/* "'notch.csv'" or "the 40 dB pad": how a sentence calls it. */
enum { CHAIN_CALL_SIZE = 48 };
void spurity_element_call(const struct element *element, char text[CHAIN_CALL_SIZE]);

#endif
