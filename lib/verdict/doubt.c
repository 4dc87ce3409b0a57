/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What is not shown because of the bench itself: what comes past the pads, what stands there with the set unkeyed, what
 * the instrument alone can make. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

bool spurity_verdict_doubt(const spurity_emission *emission, const char *at, const char **reason, char *text,
                           size_t size)
{
    if (emission->leaked) {
        *reason = "leakage";
        snprintf(text, size,
                 "what comes past the pads at %s stands %.1f dB %s the reading, which tells nothing of the set then: "
                 "screened cables, connectors tightened, load and set further from the instrument, until it is 10 dB "
                 "and more below",
                 at, fabs(emission->leakage_db), emission->leakage_db < 0 ? "below" : "above");
        return true;
    }
    if (emission->own_covers) {
        *reason = "own-harmonics-unproven";
        snprintf(text, size,
                 "by its intercepts the instrument alone can make what reads at %s (up to %.1f dB more): 10 and 20 dB "
                 "more attenuation until it holds still, or a filter for the carrier ahead of it",
                 at, emission->own_db);
        return true;
    }
    if (emission->kind == SPURITY_AMBIENT) {
        *reason = "ambient";
        snprintf(
            text, size,
            "what reads at %s stands there with the set unkeyed too and hides what the set may have there: another "
            "time or place, a shielded room, shorter and better screened cables",
            at);
        return true;
    }
    if (emission->front_end_unproven && emission->origin == SPURITY_ORIGIN_FLOOR) {
        *reason = "front-end-unproven";
        snprintf(text, size,
                 "what reads at %s stays on the instrument whatever the attenuation and hides what the set may have "
                 "there: less attenuation as far as the instrument bears it, another centre or span, another "
                 "instrument",
                 at);
        return true;
    }
    if (emission->settled) {
        *reason = "front-end-unproven";
        snprintf(text, size,
                 "what reads at %s is the instrument's for the most part: 10 dB more attenuation until it holds still, "
                 "or a filter for the carrier ahead of it",
                 at);
        return true;
    }
    return false;
}
