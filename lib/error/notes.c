/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "error.h"
#include "grow.h"
#include "text.h"

enum { NOTES_MAX = 500 };

struct spurity_notes {
    spurity_note *items;
    size_t count, room;
    bool lost;
};

static const char *const code_names[SPURITY_NOTE_CODES] = {
    [SPURITY_NOTE_RBW_UNKNOWN] = "rbw-unknown",
    [SPURITY_NOTE_UNIT_ASSUMED] = "unit-assumed",
    [SPURITY_NOTE_DECIMAL_MARK_ASSUMED] = "decimal-mark-assumed",
    [SPURITY_NOTE_OTHER_TRACES] = "other-traces",
    [SPURITY_NOTE_DETECTOR_UNKNOWN] = "detector-unknown",
    [SPURITY_NOTE_POINTS_TOO_FAR_APART] = "points-too-far-apart",
    [SPURITY_NOTE_MISSING_POINTS] = "missing-points",
    [SPURITY_NOTE_OVERLAP_DISAGREES] = "overlap-disagrees",
    [SPURITY_NOTE_CHAIN_UNSTATED] = "chain-unstated",
    [SPURITY_NOTE_PAD_RESPONSE_ASSUMED] = "pad-response-assumed",
    [SPURITY_NOTE_UNCERTAINTY_ASSUMED] = "uncertainty-assumed",
    [SPURITY_NOTE_RANGE_NARROWED] = "range-narrowed",
    [SPURITY_NOTE_METER_DISAGREES] = "meter-disagrees",
    [SPURITY_NOTE_POWER_IMPLAUSIBLE] = "power-implausible",
    [SPURITY_NOTE_NEAR_DAMAGE] = "near-damage",
    [SPURITY_NOTE_FILE_SHORTER] = "file-shorter",
    [SPURITY_NOTE_CLIPPED] = "clipped",
    [SPURITY_NOTE_FULL_SCALE_UNSURE] = "full-scale-unsure",
    [SPURITY_NOTE_RECEIVER_DC] = "receiver-dc",
    [SPURITY_NOTE_RECEIVER_IMAGE] = "receiver-image",
    [SPURITY_NOTE_FRONT_END_UNPROVEN] = "front-end-unproven",
    [SPURITY_NOTE_OWN_HARMONICS_UNPROVEN] = "own-harmonics-unproven",
    [SPURITY_NOTE_FLOOR_NEAR_LIMIT] = "floor-near-limit",
    [SPURITY_NOTE_ZERO_FREQUENCY_FEEDTHROUGH] = "zero-frequency-feedthrough",
    [SPURITY_NOTE_OVERLOAD_SUSPECTED] = "overload-suspected",
    [SPURITY_NOTE_CARRIER_AMBIGUOUS] = "carrier-ambiguous",
    [SPURITY_NOTE_OWN_PHASE_NOISE_UNPROVEN] = "own-phase-noise-unproven",
    [SPURITY_NOTE_CLAUSE_UNVERIFIED] = "clause-unverified",
    [SPURITY_NOTE_DUPLICATE_METADATA] = "duplicate-metadata",
    [SPURITY_NOTE_AMBIENT] = "ambient",
    [SPURITY_NOTE_LEAKAGE] = "leakage",
};

const char *spurity_note_code_name(spurity_note_code code)
{
    return (unsigned)code < SPURITY_NOTE_CODES ? code_names[code] : NULL;
}

spurity_notes *spurity_notes_create(void)
{
    return calloc(1, sizeof(spurity_notes));
}

void spurity_notes_free(spurity_notes *notes)
{
    if (!notes)
        return;
    free(notes->items);
    free(notes);
}

static bool stands_there(const spurity_notes *notes, const spurity_note *note)
{
    for (size_t i = 0; i < notes->count; i++) {
        const spurity_note *other = &notes->items[i];
        if (other->code == note->code && other->file == note->file && !strcmp(other->text, note->text))
            return true;
    }
    return false;
}

static spurity_status add(spurity_notes *notes, const spurity_note *note)
{
    if (notes->count >= NOTES_MAX || stands_there(notes, note))
        return SPURITY_OK;
    spurity_note *items = spurity_grow(notes->items, notes->count, &notes->room, sizeof *items);
    if (!items) {
        notes->lost = true;
        return SPURITY_SYSTEM;
    }
    notes->items = items;
    notes->items[notes->count++] = *note;
    return SPURITY_OK;
}

spurity_status spurity_notes_add(spurity_notes *notes, spurity_note_code code, int file, const char *format, ...)
{
    if (!notes)
        return SPURITY_OK;
    char raw[2 * sizeof(((spurity_note *)0)->text)];
    va_list list;
    va_start(list, format);
    vsnprintf(raw, sizeof raw, format, list);
    va_end(list);
    spurity_note note = {.code = code, .file = file};
    spurity_text_copy(note.text, sizeof note.text, raw);
    return add(notes, &note);
}

size_t spurity_notes_count(const spurity_notes *notes)
{
    return notes ? notes->count : 0;
}

const spurity_note *spurity_notes_at(const spurity_notes *notes, size_t index)
{
    return notes && index < notes->count ? &notes->items[index] : NULL;
}

bool spurity_notes_has(const spurity_notes *notes, spurity_note_code code)
{
    for (size_t i = 0; notes && i < notes->count; i++)
        if (notes->items[i].code == code)
            return true;
    return false;
}

spurity_status spurity_notes_merge(spurity_notes *into, const spurity_notes *from)
{
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; into && from && i < from->count && !status; i++)
        status = add(into, &from->items[i]);
    if (into && from && from->lost)
        into->lost = true;
    return status;
}

bool spurity_notes_lost(const spurity_notes *notes)
{
    return notes && notes->lost;
}

bool spurity_watch_tick(const spurity_watch *watch, const char *what, double fraction)
{
    return !watch || !watch->tick || watch->tick(watch->user, what, fraction);
}
