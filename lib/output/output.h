/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_OUTPUT_H
#define SPURITY_OUTPUT_H
/* Renderings of a result: text for a terminal, a picture.  One row in outputs.c and one file each.  Nothing here opens
 * the user's files: bytes come out, the caller writes them. */
#include "../result/result.h"

#ifdef __cplusplus
extern "C" {
#endif

/** Bytes of a rendering; free with spurity_bytes_release. */
typedef struct spurity_bytes {
    char *data;
    size_t size;
} spurity_bytes;
SPURITY_API void spurity_bytes_release(spurity_bytes *bytes);

typedef struct spurity_text_options {
    bool colour; /* ANSI colours; meaning never by colour alone */
    int columns; /* width of the terminal; 0 = 100 */
} spurity_text_options;

/** Text (UTF-8) a technician reads in ten seconds: verdict, carrier, one row an emission, what was not shown,
 *  assumptions.  options may be NULL.  SYSTEM when memory is out. */
SPURITY_API spurity_status spurity_output_text(const spurity_result *result, const spurity_text_options *options,
                                               spurity_bytes *out, spurity_error *error);

/** A plan as a technician reads it before keying: the answer, what would do harm, the way from the set to the
 *  instrument, what to sweep, what could be shown, the command line for afterwards, cautions.  SYSTEM when memory is
 *  out. */
SPURITY_API spurity_status spurity_output_plan(const spurity_plan_report *report, const spurity_text_options *options,
                                               spurity_bytes *out, spurity_error *error);
/** Whose each line is, by the overlap table of a measurement: one row a line with its readings by attenuation. */
SPURITY_API spurity_status spurity_output_doubt(const spurity_measurement *measurement,
                                                const spurity_text_options *options, spurity_bytes *out,
                                                spurity_error *error);
/** The skeleton of a session file (YAML, docs/session.md) that asks for what the plan asks for. */
SPURITY_API spurity_status spurity_output_session(const spurity_plan_report *report, spurity_bytes *out,
                                                  spurity_error *error);
/** The name under which a sweep of the plan (capture: of its captures) is to be saved, "range-2.csv"; no two of a plan
 * are alike.  size > 0; returns text. */
SPURITY_API char *spurity_output_plan_file(const spurity_plan *plan, bool capture, size_t index, char *text,
                                           size_t size);

/** Picture by suffix kind "svg", "png", "pdf" (another, or a result without picture data: INVALID) through gnuplot (a
 * child process, found in PATH).  The plot script is embedded.  SYSTEM when gnuplot is missing, fails, or its picture
 * does not end properly; no text of a file or option reaches gnuplot as code. */
SPURITY_API spurity_status spurity_output_picture(const spurity_result *result, const char *kind, spurity_bytes *out,
                                                  spurity_error *error);

/** One self-contained page (HTML, UTF-8) for the file: verdict, picture, each emission with the sum behind its limit,
 * the uncertainty's budget, what was not shown, assumptions, inputs, rules, cautions.  No script, nothing from a
 * network, every text that came from outside is text.  A result without picture data: the page says so in its place.
 * SYSTEM as spurity_output_picture, and when memory is out. */
SPURITY_API spurity_status spurity_output_report(const spurity_result *result, spurity_bytes *out,
                                                 spurity_error *error);

/** Picture of what a set of rules allows one transmitter, kinds as above.  INVALID without a carrier, or where no level
 * can be told for want of an option (named). */
SPURITY_API spurity_status spurity_output_limits(const spurity_rules *rules, const spurity_conditions *conditions,
                                                 const char *kind, spurity_bytes *out, spurity_error *error);

#ifdef __cplusplus
}
#endif
#endif
