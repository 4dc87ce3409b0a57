/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_VERDICT_NEAR_H
#define SPURITY_VERDICT_NEAR_H
/* What is judged at the carrier itself while it is modulated: masks, occupied bandwidth; and its frequency. */
#include "parts.h"

/** How a set is modulated for masks and occupied bandwidth: 47 CFR 2.1049(c)(1); of European sets from memory. */
#define SPURITY_TEST_TONE                                                                                              \
    "key it with a 2.5 kHz tone, 16 dB above the level for half the rated deviation (European sets 1250 Hz), and say " \
    "--modulation test"

/** Half of what is taken as the carrier's own spectrum, Hz: the bandwidth in use to both sides, never less than 1.5
 * times what was read. */
double spurity_verdict_near_half(const struct judging *j);
/** The carrier's frequency and the half-width of what stays open of it: a line stands where it is; of a modulated
 * carrier the mean frequency by power serves, for angle modulation that of its instantaneous frequency however lopsided
 * the spectrum, of AM the middle.  False where neither is; *hz is then the middle of its 99 %. */
bool spurity_verdict_middle(const struct judging *j, double *hz, double *open_hz);
/** near.c: both groups, clause by clause. */
spurity_status spurity_verdict_judge_near(struct judging *j, bool *has_clause, spurity_error *error);
/** mask.c; binds: the worlds in which the clause does. */
spurity_status spurity_verdict_judge_mask(struct judging *j, const spurity_clause *clause,
                                          const spurity_clause_facts *facts, const bool *binds, spurity_error *error);
/** bandwidth.c */
spurity_status spurity_verdict_judge_occupied(struct judging *j, const spurity_clause *clause,
                                              const spurity_clause_facts *facts, spurity_error *error);
/** frequency.c: the group of that name. */
spurity_status spurity_verdict_judge_frequency(struct judging *j, bool *has_clause, spurity_error *error);
#endif
