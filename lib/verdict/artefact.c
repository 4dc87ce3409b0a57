/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the receiver may have made: when a level is but a bound, and how to settle it. */
#include <math.h>
#include <stdio.h>

#include "parts.h"

bool spurity_verdict_bounds_only(const spurity_emission *emission)
{
    return !emission->seen || emission->front_end_unproven || emission->skirt || emission->clipped ||
           emission->kind == SPURITY_ARTEFACT || emission->kind == SPURITY_AMBIENT;
}

/* The next of 1-2-5. */
static double round_up(double hz)
{
    double decade = pow(10, floor(log10(hz))), part = hz / decade;
    return decade * (part <= 1.001 ? 1 : part <= 2.001 ? 2 : part <= 5.001 ? 5 : 10);
}

static bool band_of(const struct judging *j, const spurity_emission *e, spurity_spectrum_part *part)
{
    const spurity_measured_file *file = spurity_measurement_file(j->measurement, (size_t)e->file);
    for (size_t i = 0; file->spectrum && spurity_spectrum_part_at(file->spectrum, i, part); i++)
        if (!part->sharp && part->from_hz <= e->frequency_hz && e->frequency_hz <= part->to_hz)
            return true;
    return false;
}

/* How far to tune the receiver so that its own products move clear of where they stand, and away from the end of the
 * band that is nearer to carrier or emission: a hundred resolutions, or a twentieth of the band. */
static double tuned_to(const struct judging *j, const spurity_emission *e, const spurity_spectrum_part *part)
{
    double width = part->to_hz - part->from_hz, f0 = j->carrier->frequency_hz;
    double step = fmin(round_up(fmax(100 * e->rbw_hz, width / 20)), width / 4);
    bool holds_carrier = part->from_hz <= f0 && f0 <= part->to_hz;
    double low = holds_carrier ? fmin(e->frequency_hz, f0) : e->frequency_hz;
    double high = holds_carrier ? fmax(e->frequency_hz, f0) : e->frequency_hz;
    return part->center_hz + (part->to_hz - high < low - part->from_hz ? step : -step);
}

void spurity_verdict_advise_artefact(const struct judging *j, const spurity_emission *emission, const char *at,
                                     char *text, size_t size)
{
    spurity_spectrum_part part;
    char center[40] = "another centre", of[40];
    if (band_of(j, emission, &part))
        spurity_format_frequency_near(center, sizeof center, tuned_to(j, emission, &part), emission->rbw_hz);
    spurity_format_frequency_near(of, sizeof of, emission->artefact_of_hz, emission->rbw_hz);
    switch (emission->kind == SPURITY_ARTEFACT ? emission->artefact : SPURITY_ARTEFACT_CLIPPING) {
    case SPURITY_ARTEFACT_CENTRE:
        snprintf(text, size,
                 "what reads at %s may be the receiver's own, which is tuned there: add a capture with the receiver at "
                 "%s; a line of the set stays, the receiver's moves along",
                 at, center);
        break;
    case SPURITY_ARTEFACT_IMAGE:
        snprintf(
            text, size,
            "what reads at %s is the receiver's mirror image of %s, or cannot be told from it: add a capture with the "
            "receiver at %s; a line of the set stays, an image moves away",
            at, of, center);
        break;
    case SPURITY_ARTEFACT_GAIN:
        snprintf(text, size,
                 "what reads at %s moves with the gain, the receiver makes most of it: 10 dB more pad until two steps "
                 "hold still, then leave out the captures with less",
                 at);
        break;
    case SPURITY_ARTEFACT_STEPS:
        snprintf(
            text, size,
            "what reads at %s may be made by the steps of an 8 bit converter, which too little noise covers: add a "
            "capture with 10 dB more gain that does not clip, or by a receiver of more bits, or a sweep",
            at);
        break;
    default:
        snprintf(
            text, size,
            "samples stand at the rails, and clipping can make what reads at %s: record again with 10 dB less gain "
            "or 10 dB more pad (say it), until none does",
            at);
    }
}
