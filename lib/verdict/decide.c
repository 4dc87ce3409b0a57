/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>

#include "verdict.h"

const char *spurity_outcome_name(spurity_outcome outcome)
{
    static const char *const names[] = {
        [SPURITY_OUTCOME_PASS] = "pass",
        [SPURITY_OUTCOME_CONDITIONAL_PASS] = "conditional pass",
        [SPURITY_OUTCOME_NO_LIMIT] = "no limit",
        [SPURITY_OUTCOME_NOT_SHOWN] = "not shown",
        [SPURITY_OUTCOME_CONDITIONAL_FAIL] = "conditional fail",
        [SPURITY_OUTCOME_FAIL] = "fail",
    };
    return (unsigned)outcome < sizeof names / sizeof *names ? names[outcome] : NULL;
}

/* Ties are inclusive; sums of decimal figures land a few units in the last place beside the tie. */
static const double TIE_DB = 1e-9;

spurity_outcome spurity_decide(double margin, double expanded, bool simple)
{
    if (isnan(margin) || isnan(expanded))
        return SPURITY_OUTCOME_NOT_SHOWN;
    if (simple)
        return margin >= -TIE_DB ? SPURITY_OUTCOME_PASS : SPURITY_OUTCOME_FAIL;
    if (margin >= expanded - TIE_DB)
        return SPURITY_OUTCOME_PASS;
    if (margin >= -TIE_DB)
        return SPURITY_OUTCOME_CONDITIONAL_PASS;
    return margin >= -expanded - TIE_DB ? SPURITY_OUTCOME_CONDITIONAL_FAIL : SPURITY_OUTCOME_FAIL;
}

double spurity_conformity_probability(double margin, double expanded)
{
    if (isnan(margin) || isnan(expanded))
        return (double)NAN;
    if (expanded <= 0)
        return margin > 0 ? 1.0 : margin < 0 ? 0.0 : 0.5;
    return 0.5 * erfc(-margin / (expanded / 2) / sqrt(2.0));
}
