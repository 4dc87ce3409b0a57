/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_ERROR_H
#define SPURITY_ERROR_H
/* Errors, notes and watch: how every stage tells what went wrong, what it assumed, and how far it is.
 *
 * An error is a value: a status and a sentence with a place.  The deepest caller knows most, so the
 * first report stays.  Notes are the warnings of a result: append-only, deduplicated, each with a code
 * scripts can rely on.  A watch lets a host show progress and cancel. */
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#if defined(__GNUC__)
#define SPURITY_API __attribute__((visibility("default")))
#define SPURITY_PRINTF(format_at, first) __attribute__((format(printf, format_at, first)))
#else
#define SPURITY_API
#define SPURITY_PRINTF(format_at, first)
#endif

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_status {
    SPURITY_OK = 0,
    SPURITY_INVALID,     /* the input says something that cannot be so */
    SPURITY_UNSUPPORTED, /* well formed, but nothing here reads it */
    SPURITY_INCOMPLETE,  /* a figure the question needs is absent */
    SPURITY_SYSTEM,      /* disk, memory, child process */
    SPURITY_CANCELLED    /* the watch said stop */
} spurity_status;

/** Where something stands.  file may be NULL; line and column count from 1, 0 = not known.
 *  byte counts from 0 and is told only where line is 0 and has_byte is true. */
typedef struct spurity_place {
    const char *file;
    unsigned long line, column;
    uint64_t byte;
    bool has_byte;
} spurity_place;

/** Starts as {0}.  Texts are UTF-8, cut at their end with "..."; a long path keeps its end. */
typedef struct spurity_error {
    spurity_status status;
    char file[256];
    unsigned long line, column;
    uint64_t byte;
    bool has_byte;
    char found[200], expected[200], advice[280];
} spurity_error;

/** Notes why a call fails and returns `status`, so: return spurity_report(...).
 *  The first report stays: a second one into the same error changes nothing.  error may be NULL;
 *  found, expected, advice may be NULL.  Control characters in them become blanks. */
SPURITY_API spurity_status spurity_report(spurity_error *error, spurity_status status, spurity_place at,
                                          const char *found, const char *expected, const char *advice);

/** As spurity_report, with `found` by printf rules. */
SPURITY_API spurity_status spurity_reportf(spurity_error *error, spurity_status status, spurity_place at,
                                           const char *expected, const char *advice, const char *found_format, ...)
    SPURITY_PRINTF(6, 7);

/** Out of memory: SPURITY_SYSTEM with the usual words.  Allocates nothing. */
SPURITY_API spurity_status spurity_report_memory(spurity_error *error);

/** One sentence for a person: "'h2.csv', line 14, column 11: found ..., expected ...; <advice>".
 *  Always ends in NUL; cut where size is small.  size > 0. */
SPURITY_API void spurity_error_describe(const spurity_error *error, char *text, size_t size);

/* ---- notes ------------------------------------------------------------------------------------- */

/** Warning codes.  Their names (spurity_note_code_name) are part of the JSON contract. */
typedef enum spurity_note_code {
    SPURITY_NOTE_RBW_UNKNOWN,
    SPURITY_NOTE_UNIT_ASSUMED,
    SPURITY_NOTE_DECIMAL_MARK_ASSUMED,
    SPURITY_NOTE_OTHER_TRACES,
    SPURITY_NOTE_DETECTOR_UNKNOWN,
    SPURITY_NOTE_POINTS_TOO_FAR_APART,
    SPURITY_NOTE_MISSING_POINTS,
    SPURITY_NOTE_OVERLAP_DISAGREES,
    SPURITY_NOTE_CHAIN_UNSTATED,
    SPURITY_NOTE_PAD_RESPONSE_ASSUMED,
    SPURITY_NOTE_UNCERTAINTY_ASSUMED,
    SPURITY_NOTE_RANGE_NARROWED,
    SPURITY_NOTE_METER_DISAGREES,
    SPURITY_NOTE_POWER_IMPLAUSIBLE,
    SPURITY_NOTE_NEAR_DAMAGE,
    SPURITY_NOTE_FILE_SHORTER,
    SPURITY_NOTE_CLIPPED,
    SPURITY_NOTE_FULL_SCALE_UNSURE,
    SPURITY_NOTE_RECEIVER_DC,
    SPURITY_NOTE_RECEIVER_IMAGE,
    SPURITY_NOTE_FRONT_END_UNPROVEN,
    SPURITY_NOTE_OWN_HARMONICS_UNPROVEN,
    SPURITY_NOTE_FLOOR_NEAR_LIMIT,
    SPURITY_NOTE_ZERO_FREQUENCY_FEEDTHROUGH,
    SPURITY_NOTE_OVERLOAD_SUSPECTED,
    SPURITY_NOTE_CARRIER_AMBIGUOUS,
    SPURITY_NOTE_OWN_PHASE_NOISE_UNPROVEN,
    SPURITY_NOTE_CLAUSE_UNVERIFIED,
    SPURITY_NOTE_DUPLICATE_METADATA,
    SPURITY_NOTE_AMBIENT,
    SPURITY_NOTE_LEAKAGE,
    SPURITY_NOTE_CODES /* how many; not a code */
} spurity_note_code;

typedef struct spurity_note {
    spurity_note_code code;
    int file;       /* index of the test point's file it is about, -1 = none */
    char text[320]; /* a sentence for a person, control characters replaced */
} spurity_note;

typedef struct spurity_notes spurity_notes;

/** The code as scripts see it, e.g. "chain-unstated"; NULL for a value out of range. */
SPURITY_API const char *spurity_note_code_name(spurity_note_code code);

/** A new, empty list; NULL when memory is out.  Free with spurity_notes_free. */
SPURITY_API spurity_notes *spurity_notes_create(void);
SPURITY_API void spurity_notes_free(spurity_notes *notes); /* NULL is fine */

/** Adds one note by printf rules unless the same code, file and text stands there.  At most 500 notes are kept;
 *  further ones are dropped.  notes may be NULL (nothing happens).  SYSTEM when memory is out. */
SPURITY_API spurity_status spurity_notes_add(spurity_notes *notes, spurity_note_code code, int file, const char *format,
                                             ...) SPURITY_PRINTF(4, 5);
SPURITY_API size_t spurity_notes_count(const spurity_notes *notes);
/** Borrowed, valid until the next add or free; NULL when out of range. */
SPURITY_API const spurity_note *spurity_notes_at(const spurity_notes *notes, size_t index);
/** Whether a note of this code stands there (any file). */
SPURITY_API bool spurity_notes_has(const spurity_notes *notes, spurity_note_code code);
/** Adds all of `from` to `into`, and that one was lost. */
SPURITY_API spurity_status spurity_notes_merge(spurity_notes *into, const spurity_notes *from);
/** Whether a note could not be kept because memory was out: what the list says is then not all, and nothing may be
 * built on it.  Stays true. */
SPURITY_API bool spurity_notes_lost(const spurity_notes *notes);

/* ---- watch ------------------------------------------------------------------------------------- */

/** Passed to every call that can last over 0.1 s; may be NULL.  tick is called now and then with the fraction done
 *  (0..1, or < 0 when it is not known); when it returns false the call ends with SPURITY_CANCELLED. */
typedef struct spurity_watch {
    bool (*tick)(void *user, const char *what, double fraction);
    void *user;
} spurity_watch;

/** True to go on.  NULL watch: always true. */
SPURITY_API bool spurity_watch_tick(const spurity_watch *watch, const char *what, double fraction);

#ifdef __cplusplus
}
#endif
#endif
