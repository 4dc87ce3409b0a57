/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_VERDICT_READING_H
#define SPURITY_VERDICT_READING_H
/* An emission as a clause wants it read: a line as a line, anything wider in the clause's reference bandwidth. */
#include "parts.h"

struct reading {
    struct level level;
    double reference_hz;  /* to be told; NaN none */
    double wanted_rbw_hz; /* the widest RBW that would show more; 0: this one does not stand in the way */
    bool as_is;           /* noise in a wider RBW than the clause names, which it allows: may be converted */
    bool converted;       /* noise brought down to the bandwidth: a line hidden in it is not in the level */
    bool over_floor;      /* a good part of the level is the floor's */
    char words[96];
};

/** convert: noise in an RBW that is wider than it need be is brought down to the bandwidth. */
void spurity_verdict_read(const struct judging *j, const spurity_clause *clause, const spurity_emission *emission,
                          bool convert, struct reading *reading);
#endif
