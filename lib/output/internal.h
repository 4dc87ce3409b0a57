/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_INTERNAL_H
#define SPURITY_OUTPUT_INTERNAL_H
/* Rooms of the outputs: growing bytes, wording, what a result holds as plain structs, label placing, the gnuplot child.
 */
#include "output.h"

/* ---- bytes (buffer.c) -------------------------------------------------------------------------------------- */

/** Growing bytes.  Starts as {0}; a failed allocation is kept in `failed` and looked at once, at the end. */
typedef struct spurity_buffer {
    char *data;
    size_t size, room;
    bool failed;
} spurity_buffer;
void spurity_buffer_release(spurity_buffer *buffer);
void spurity_buffer_add(spurity_buffer *buffer, const char *bytes, size_t size);
void spurity_buffer_text(spurity_buffer *buffer, const char *text);
void spurity_buffer_blanks(spurity_buffer *buffer, size_t count);
/** A finite number with two decimals and a point in every locale; what is not finite or beyond 1e12 is written 0.00. */
void spurity_buffer_fixed(spurity_buffer *buffer, double value);
/** Hands the bytes over; SYSTEM when an allocation had failed. */
spurity_status spurity_buffer_give(spurity_buffer *buffer, spurity_bytes *out, spurity_error *error);

/* ---- words (words.c) --------------------------------------------------------------------------------------- */

/** Copies at most `characters` characters of UTF-8 text into out (size > 0): controls (C0, DEL, C1), marks that turn
 * the writing direction and what XML does not allow become blanks; a cut ends in "...".  NULL gives "". Returns out. */
char *spurity_plain(char *out, size_t size, const char *text, size_t characters);
size_t spurity_characters(const char *text); /* of UTF-8 */

/** One emission of the result with its worst judgement. */
typedef struct spurity_shown_emission {
    const char *kind, *ratio, *character;
    const char *artefact; /* "image" ...; "" for none */
    int order;
    double frequency_hz, frequency_uncertainty_hz, level_dbm, level_dbc;
    double at_most_dbm, at_most_dbc; /* of an artefact that another file settles; NaN */
    bool seen, at_most;              /* seen or not, its level is a bound */
    long judgement;                  /* the worst; index, -1 = not judged */
    long strictest;                  /* the one with the lowest limit, -1 = none has a figure */
    bool reportable;                 /* false: judged, and so far inside every limit that it need not be reported */
} spurity_shown_emission;

typedef struct spurity_shown_judgement {
    const char *rules, *clause, *group, *quantity, *unit, *binding, *outcome;
    long emission; /* -1 = a stretch or the carrier */
    double frequency_hz, from_hz, to_hz, measured, limit, margin, uncertainty;
    bool at_most, confirmed, reportable;
    int rank; /* 0 pass .. 5 fail, the order of a verdict */
} spurity_shown_judgement;

/** A result as arrays; texts are borrowed from it. */
typedef struct spurity_shown {
    const spurity_result *result;
    bool judged; /* false: a measurement */
    size_t sets; /* of rules */
    size_t emission_count, judgement_count;
    spurity_shown_emission *emissions;
    spurity_shown_judgement *judgements;
} spurity_shown;
spurity_status spurity_shown_load(const spurity_result *result, spurity_shown *shown, spurity_error *error);
void spurity_shown_release(spurity_shown *shown);
/** Number at "PREFIX/INDEX/KEY", NaN when absent. */
double spurity_shown_number(const spurity_result *result, const char *list, size_t index, const char *key);
/** Text at "PREFIX/INDEX/KEY", "" when absent. */
const char *spurity_shown_text(const spurity_result *result, const char *list, size_t index, const char *key);
/** 0 pass, 1 conditional pass, 2 no limit, 3 not shown, 4 conditional fail, 5 fail; 3 for any other word. */
int spurity_outcome_rank(const char *outcome);
/** "H2", "3/2 carrier", "spur" ... */
char *spurity_word_emission(const spurity_shown_emission *emission, char *text, size_t size);
/** "4.6 dB clear", "0.3 dB over", of a bound "up to 0.3 dB over"; "-" when not known. */
char *spurity_word_margin(const spurity_shown_judgement *judgement, char *text, size_t size);
/** A frequency to the digits that known_to_hz (a half-width) leaves; NaN: to as many as a bench has, 1 kHz from 1 MHz
 * on, 10 kHz from 1 GHz on, else 1 Hz. */
char *spurity_word_frequency(double hz, double known_to_hz, char *text, size_t size);
/** "30 MHz to 1 GHz"; "" when neither end is known. */
char *spurity_word_stretch(double from_hz, double to_hz, char *text, size_t size);

/* ---- longer words (phrases.c) --------------------------------------------------------------------------------- */

/** "97.307(e)"; among several rule sets "us-amateur 97.307(e)". */
char *spurity_word_clause(const spurity_shown *shown, const char *rules, const char *clause, char *words, size_t size);
/** The channel a rule set has the carrier on, or that it has none there; "" where the service has no channels. */
char *spurity_word_channel(const spurity_result *result, size_t verdict, char *words, size_t size);
/** Whether an entry of "not_shown" says what one before it says, of another clause. */
bool spurity_gap_is_repeat(const spurity_result *result, size_t index);
/** "9 kHz to 30 MHz: not swept (97.307(e))", with the clauses of its repeats among the first `count` entries. */
char *spurity_word_gap(const spurity_shown *shown, size_t index, size_t count, char *words, size_t size);

/* ---- captures (captures.c) ----------------------------------------------------------------------------------- */

/** Whether an input is a capture of samples whose facts the result holds. */
bool spurity_is_capture(const spurity_result *result, size_t input);
/** "capture" or "sweep": what the carrier was read from. */
const char *spurity_word_source(const spurity_result *result);
/** How a capture's spectrum was taken: "2 s of 2.4 MS/s at 146.94 MHz, RBW 500 Hz (hft144d ...), 199 averages". */
void spurity_word_spectrum(const spurity_result *result, size_t input, char *words, size_t size);
/** Its bursts and clipping; "" when there are none. */
void spurity_word_keying(const spurity_result *result, size_t input, char *words, size_t size);

/* ---- labels (labels.c) ------------------------------------------------------------------------------------- */

/** A label that hangs from a stem at x into one of several rows; its text stands right or left of the stem. */
typedef struct spurity_label {
    double x, width;
    int weight; /* what it costs not to show it, > 0 */
    int row;    /* out: 0 = the upper; -1 = no room */
    int side;   /* out: 1 = text right of the stem, -1 = left, 0 = under it */
} spurity_label;
/** Places labels (sorted by x) between left and right in at most `rows` rows so that no text covers another or a stem.
 * Returns how many rows are used. */
int spurity_labels_place(spurity_label *labels, size_t count, double left, double right, int rows);

/* ---- picture (outputs.c, picture.c, gnuplot.c) -------------------------------------------------------------- */

typedef struct spurity_picture_kind {
    const char *name;           /* suffix */
    const char *trailer;        /* how a whole file ends */
    size_t trailer_size, slack; /* the trailer stands within `slack` bytes of the end */
} spurity_picture_kind;
/** Row of a kind; NULL when there is none. */
const spurity_picture_kind *spurity_picture_kind_of(const char *name);

/** Row of a kind, or INVALID with the kinds there are. */
spurity_status spurity_picture_kind_find(const char *name, const spurity_picture_kind **kind, spurity_error *error);
/** Draws a program of that kind; SYSTEM when the picture does not end as such a file does. */
spurity_status spurity_picture_draw(const spurity_picture_kind *kind, const spurity_buffer *program, spurity_bytes *out,
                                    spurity_error *error);

/** The gnuplot program that draws a result: our script behind its data. */
spurity_status spurity_picture_program(const spurity_result *result, const char *kind, spurity_buffer *program,
                                       spurity_error *error);
/** Runs `command` (found in the caller's PATH) with the program on standard input; its standard output is the picture.
 */
spurity_status spurity_gnuplot_run(const char *command, const spurity_buffer *program, int seconds, spurity_buffer *out,
                                   spurity_error *error);

/* ---- plans (plan_files.c) ---------------------------------------------------------------------------------- */

/** What the command line of a plan takes for granted, a sentence each, from 0; NULL: no more. */
const char *spurity_output_plan_hint(const spurity_plan_report *report, size_t index);
#endif
