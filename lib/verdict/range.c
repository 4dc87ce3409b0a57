/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The range of spectrum to be shown, and what the user left out of it. */
#include <math.h>

#include "parts.h"

/* Rules that want a range looked through (47 CFR 2.1057: from the lowest frequency generated, not below 9 kHz) are held
 * to it; a lowest frequency that was said lifts its lower end.  Others: from the lowest frequency, unsaid 30 MHz or a
 * quarter of the carrier, whichever is lower, to the tenth harmonic or 40 GHz. */
void spurity_verdict_set_range(struct judging *j)
{
    const spurity_test_point *point = j->point;
    double carrier = j->carrier->frequency_hz;
    j->default_from = !isnan(point->lowest_hz) ? point->lowest_hz : fmin(30e6, carrier / 4);
    j->default_to = fmin(10 * carrier, 40e9);
    if (!spurity_rules_investigated(j->rules, carrier, &j->span) || !(j->span.to_hz > j->span.from_hz)) {
        j->span = (spurity_rules_span){.from_hz = (double)NAN, .to_hz = (double)NAN};
    } else {
        j->default_from = fmax(j->span.from_hz, point->lowest_hz); /* fmax passes over what was not said */
        j->default_to = j->span.to_hz;
    }
    j->from_hz = isnan(point->range_from_hz) ? j->default_from : point->range_from_hz;
    j->to_hz = isnan(point->range_to_hz) ? j->default_to : point->range_to_hz;
}

static spurity_status leave_out(struct judging *j, double from_hz, double to_hz, const char *option,
                                spurity_error *error)
{
    return spurity_verdict_add_not_shown(j, NULL, from_hz, to_hz, "range", option, error);
}

spurity_status spurity_verdict_note_narrowing(struct judging *j, spurity_error *error)
{
    const spurity_test_point *point = j->point;
    spurity_notes *notes = spurity_measurement_notes(j->measurement);
    spurity_status status = SPURITY_OK;
    double f0 = j->carrier->frequency_hz;
    char a[40], b[40];
    if (!isnan(point->range_from_hz)) {
        spurity_notes_add(notes, SPURITY_NOTE_RANGE_NARROWED, -1, "judged only from %s to %s, on your word",
                          spurity_format_frequency(a, sizeof a, j->from_hz, 6),
                          spurity_format_frequency(b, sizeof b, j->to_hz, 6));
        if (j->from_hz > j->default_from)
            status = leave_out(j, j->default_from, fmin(j->from_hz, j->default_to), "left out by --range", error);
        if (!status && j->to_hz < j->default_to)
            status = leave_out(j, fmax(j->to_hz, j->default_from), j->default_to, "left out by --range", error);
    }
    if (!status && !isnan(point->beyond_hz)) {
        spurity_notes_add(notes, SPURITY_NOTE_RANGE_NARROWED, -1,
                          "judged only further than %s from the carrier, on your word",
                          spurity_format_frequency(a, sizeof a, point->beyond_hz, 6));
        status = leave_out(j, f0 - point->beyond_hz, f0 + point->beyond_hz, "left out by --beyond", error);
    }
    for (int n = 2; n <= 10; n++)
        if (n * f0 <= j->default_to && !spurity_verdict_judged_at(j, n * f0))
            j->verdict->left_out[j->verdict->left_out_count++] = n;
    return status;
}
