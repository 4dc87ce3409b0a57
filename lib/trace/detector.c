/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <ctype.h>
#include <string.h>

#include "trace.h"

static const char *const names[] = {
    [SPURITY_DETECTOR_UNKNOWN] = "unknown", [SPURITY_DETECTOR_SAMPLE] = "sample",
    [SPURITY_DETECTOR_AVERAGE] = "average", [SPURITY_DETECTOR_LOG_AVERAGE] = "log-average",
    [SPURITY_DETECTOR_PEAK] = "peak",       [SPURITY_DETECTOR_MAX_HOLD] = "max-hold",
};

/* Spellings of exports, letters and digits only, lower case.  "negative peak" and "quasi peak" are no detector for
 * which an upper bound is known, so they stay unknown. */
static const struct {
    const char *folded;
    spurity_detector detector;
} spellings[] = {
    {"sample", SPURITY_DETECTOR_SAMPLE},
    {"smp", SPURITY_DETECTOR_SAMPLE},
    {"average", SPURITY_DETECTOR_AVERAGE},
    {"rms", SPURITY_DETECTOR_AVERAGE},
    {"rmsaverage", SPURITY_DETECTOR_AVERAGE},
    {"poweraverage", SPURITY_DETECTOR_AVERAGE},
    {"averagepower", SPURITY_DETECTOR_AVERAGE},
    {"averagerms", SPURITY_DETECTOR_AVERAGE},
    {"logaverage", SPURITY_DETECTOR_LOG_AVERAGE},
    {"averagelog", SPURITY_DETECTOR_LOG_AVERAGE},
    {"videoaverage", SPURITY_DETECTOR_LOG_AVERAGE},
    {"logpoweraverage", SPURITY_DETECTOR_LOG_AVERAGE},
    {"peak", SPURITY_DETECTOR_PEAK},
    {"pospeak", SPURITY_DETECTOR_PEAK},
    {"positivepeak", SPURITY_DETECTOR_PEAK},
    {"positive", SPURITY_DETECTOR_PEAK},
    {"maxpeak", SPURITY_DETECTOR_PEAK},
    {"maximumpeak", SPURITY_DETECTOR_PEAK},
    {"maxhold", SPURITY_DETECTOR_MAX_HOLD},
    {"maximumhold", SPURITY_DETECTOR_MAX_HOLD},
    {"peakhold", SPURITY_DETECTOR_MAX_HOLD},
    {"maxholdpeak", SPURITY_DETECTOR_MAX_HOLD},
};

const char *spurity_detector_name(spurity_detector detector)
{
    return (unsigned)detector < sizeof names / sizeof *names ? names[detector] : NULL;
}

spurity_detector spurity_detector_from_text(const char *text, size_t length)
{
    char folded[32];
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        if (!isalnum(c) || c > 0x7F)
            continue;
        if (used == sizeof folded - 1)
            return SPURITY_DETECTOR_UNKNOWN;
        folded[used++] = (char)tolower(c);
    }
    folded[used] = '\0';
    for (size_t i = 0; i < sizeof spellings / sizeof *spellings; i++)
        if (!strcmp(folded, spellings[i].folded))
            return spellings[i].detector;
    return SPURITY_DETECTOR_UNKNOWN;
}
