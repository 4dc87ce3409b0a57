/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_RESULT_H
#define SPURITY_RESULT_H
/* The result: the JSON object of the contract, writer and reader side by side, plus the picture's data (traces thinned
 * to minimum and maximum per column, the limit, stretches not shown), which do not enter the JSON. */
#include "../plan/plan.h"
#include "../verdict/verdict.h"

#ifdef __cplusplus
extern "C" {
#endif

/** An option as understood, and where from ("option", "file", "default"). */
typedef struct spurity_setting {
    const char *name, *value, *from;
} spurity_setting;

typedef struct spurity_result spurity_result;

/** Builds the result.  verdict NULL: a measurement ("spurity-measurement").  Copies what it needs: measurement and
 * verdict may be freed after.  SYSTEM when memory is out. */
SPURITY_API spurity_status spurity_result_create(const spurity_measurement *measurement, const spurity_verdict *verdict,
                                                 const spurity_setting *settings, size_t setting_count,
                                                 spurity_result **result, spurity_error *error);
SPURITY_API void spurity_result_free(spurity_result *result); /* NULL is fine */
/** The JSON text (UTF-8), two-space indent, final newline; free with free().  0.001 dB, 1 mHz; keys in the contract's
 * order. */
SPURITY_API spurity_status spurity_result_json(const spurity_result *result, char **text, size_t *size,
                                               spurity_error *error);
/** Reads a result back (without picture data).  INVALID with the path in the document, what was found and expected. */
SPURITY_API spurity_status spurity_result_read(const char *name, const char *text, size_t size, spurity_result **result,
                                               spurity_error *error);
/** "spurity x.y.z", as the JSON names it; static text. */
SPURITY_API const char *spurity_result_tool(void);
/** The JSON Schema of a result, static text. */
SPURITY_API const char *spurity_result_schema(void);

/* ---- a set of rules asked about one transmitter ---- */

/** Start with spurity_rules_question_init; all it points to is borrowed. */
typedef struct spurity_rules_question {
    spurity_conditions conditions;
    const char *clause; /* "97.307" asks for all its paragraphs, "97.307(e)" for that one; NULL for every clause */
    size_t place_count;
    const double *place_hz; /* where levels are asked */
} spurity_rules_question;
SPURITY_API void spurity_rules_question_init(spurity_rules_question *question);
/** Whether the question asks for this clause. */
SPURITY_API bool spurity_rules_question_asks(const spurity_rules_question *question, const spurity_clause *clause);
/** The contract's "spurity-rules" object, as spurity_result_json gives its. */
SPURITY_API spurity_status spurity_rules_json(const spurity_rules *rules, const spurity_rules_question *question,
                                              char **text, size_t *size, spurity_error *error);
/** Its JSON Schema, static text. */
SPURITY_API const char *spurity_rules_json_schema(void);

/** A stretch of spectrum in which one line of one clause decides what is allowed: of all that bind, the
 * strictest in dBm, each in its own reference bandwidth. */
typedef struct spurity_allowed {
    double from_hz, to_hz;
    bool from_included, to_included;
    const spurity_clause *clause; /* NULL: no clause sets a figure here that could be told */
    const spurity_limit *leaf;
    double from_dbm, to_dbm;       /* at the ends, just inside */
    double reference_bandwidth_hz; /* NaN none */
    bool open; /* without a clause: one may set a figure here, but that, or its level, hangs on what was not said */
} spurity_allowed;

/** What is allowed where, if what is open were so. */
typedef struct spurity_allowed_case {
    spurity_conditions conditions;
    char when[160]; /* "with --audio-filter yes"; "" for the only case */
    size_t row_count;
    const spurity_allowed *rows; /* by rising frequency, from the range's start to its end without a hole */
} spurity_allowed_case;

/** What a set of rules allows one transmitter over the range to be looked through. */
typedef struct spurity_allowance spurity_allowance;
/** INVALID without a carrier.  What is open and can be counted up (kind of station, audio filter, dates) makes cases,
 *  at most 8, those that allow the same told once. */
SPURITY_API spurity_status spurity_allowance_create(const spurity_rules *rules, const spurity_conditions *conditions,
                                                    spurity_allowance **allowance, spurity_error *error);
SPURITY_API void spurity_allowance_free(spurity_allowance *allowance); /* NULL is fine */
/** Range told about, Hz: what the file wants looked through, else from 30 MHz or a quarter of the carrier, whichever is
 *  lower, to the tenth harmonic or 40 GHz. */
SPURITY_API void spurity_allowance_range(const spurity_allowance *allowance, double *from_hz, double *to_hz);
SPURITY_API size_t spurity_allowance_case_count(const spurity_allowance *allowance);
SPURITY_API const spurity_allowed_case *spurity_allowance_case(const spurity_allowance *allowance, size_t index);
/** Options without which some clause stays open or its level untold in every case, blank-separated; "" none. */
SPURITY_API const char *spurity_allowance_needs(const spurity_allowance *allowance);
/** Allowed level at `hz` in a case, dBm; false where no figure is told.  *row (may be NULL) gets its index. */
SPURITY_API bool spurity_allowance_at(const spurity_allowance *allowance, size_t index, double hz, double *dbm,
                                      size_t *row);

/** A plan with how it was asked for, as its outputs tell it.  All borrowed. */
typedef struct spurity_plan_report {
    const spurity_plan *plan;
    const spurity_rules *const *rules; /* as the plan was given them */
    size_t rules_count;
    const spurity_setting *settings;
    size_t setting_count;
    const spurity_setting *said; /* options as typed, in their order (`from` is not looked at); for a session file */
    size_t said_count;
    const spurity_notes *notes; /* of what was read for it (loss tables); NULL = none */
    /** The command line that judges what the plan asks for, as a shell takes it, in pieces between which it may be
     * broken ("--pad 40dB"); 0 = none. */
    const char *const *check;
    size_t check_count;
    /** The same with the RBW and the detector of every sweep after its name, for files that do not tell them; 0 = none.
     */
    const char *const *keyed;
    size_t keyed_count;
} spurity_plan_report;
/** The plan as a JSON text ("spurity-plan"): form and rounding as spurity_result_json; free with free(). */
SPURITY_API spurity_status spurity_result_plan_json(const spurity_plan_report *report, char **text, size_t *size,
                                                    spurity_error *error);
/** The JSON Schema of a plan, static text. */
SPURITY_API const char *spurity_result_plan_schema(void);

/** Whose each line is ("spurity-doubt"): the overlap table of the measurement that `result` was made of, form and
 * rounding as spurity_result_json; free with free(). */
SPURITY_API spurity_status spurity_result_doubt_json(const spurity_result *result,
                                                     const spurity_measurement *measurement, char **text, size_t *size,
                                                     spurity_error *error);
/** Its JSON Schema, static text. */
SPURITY_API const char *spurity_result_doubt_schema(void);

/** Value at a path ("carrier/frequency_hz", "emissions/0/kind"); false (and *value untouched) when absent or null. */
SPURITY_API bool spurity_result_number(const spurity_result *result, const char *path, double *value);
/** Borrowed; NULL when absent. */
SPURITY_API const char *spurity_result_text(const spurity_result *result, const char *path);
/** Length of an array; 0 when absent. */
SPURITY_API size_t spurity_result_length(const spurity_result *result, const char *path);
/** A setting by its place in the result, texts borrowed; false out of range. */
SPURITY_API bool spurity_result_setting(const spurity_result *result, size_t index, spurity_setting *setting);
/** Whether `true` stands there. */
SPURITY_API bool spurity_result_true(const spurity_result *result, const char *path);

/** Picture data: one thinned polyline per served stretch, in dBm at the terminal (dBc where no scale is known). */
typedef struct spurity_picture_line {
    size_t count;
    const double *frequency_hz, *low_db, *high_db;
} spurity_picture_line;
typedef struct spurity_picture {
    const char *unit;      /* of all levels here: "dBm" or "dBc" */
    double from_hz, to_hz; /* the axis */
    size_t trace_count;
    const spurity_picture_line *traces;
    size_t limit_count; /* steps of the limit: points (hz, level in `unit`); NaN level = no figure */
    const double *limit_hz, *limit_db;
    double carrier_hz; /* NaN = none */
    bool log_axis;     /* to_hz over 4 times from_hz: the columns are equal on a logarithmic axis */
} spurity_picture;
/** Borrowed, valid while the result lives; NULL for a result that was read back. */
SPURITY_API const spurity_picture *spurity_result_picture(const spurity_result *result);

#ifdef __cplusplus
}
#endif
#endif
