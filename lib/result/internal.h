/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_RESULT_INTERNAL_H
#define SPURITY_RESULT_INTERNAL_H
/* Rooms of the result: the document (a jansson tree in the contract's order) and the picture's data. */
#include <jansson.h>

#include "result.h"

typedef struct spurity_picture_store spurity_picture_store;

struct spurity_result {
    json_t *root;
    spurity_picture_store *picture; /* NULL for a result that was read back */
};

/** The text of a document (document.c): two-space indent, final newline; free with free(). */
spurity_status spurity_document_text(const json_t *root, char **text, size_t *size, spurity_error *error);

/* ---- values (value.c): figures as the contract rounds them, null for what is absent --------------------- */

json_t *spurity_value_db(double db);          /* to 0.001 dB */
json_t *spurity_value_hz(double hz);          /* to 1 mHz */
json_t *spurity_value_w(double watts);        /* six significant digits */
json_t *spurity_value_fraction(double value); /* four digits after the point */
json_t *spurity_value_share(double value);    /* six significant digits */
/** A string whatever its bytes: what is no UTF-8 becomes U+FFFD.  NULL gives null. */
json_t *spurity_value_text(const char *text);
/** As spurity_value_text, and "" gives null. */
json_t *spurity_value_text_or_null(const char *text);
/** Settings as an object, {name: {value, from}}; NULL when memory is out. */
json_t *spurity_value_settings(const spurity_setting *settings, size_t count);

/* ---- clauses (clauses.c) --------------------------------------------------------------------------------- */

/** The clauses a rule set's judgements, gaps and words are from, in the order of the rule file, with citation, words,
 * edition and status; NULL when memory is out. */
json_t *spurity_clauses_met(const spurity_verdict *verdict, size_t rules);

/* ---- budgets (budget.c) ----------------------------------------------------------------------------------- */

/** Rows of an emission's uncertainty, of the carrier's for emission -1; NULL when memory is out. */
json_t *spurity_budget_table(const spurity_measurement *measurement, long emission, bool ratio);

/* ---- schema (schema.c): the subset of JSON Schema 2020-12 that the schema of a result uses --------------- */

/** First fault of a document against the embedded schema: INVALID with its path. */
spurity_status spurity_schema_check(const char *name, const json_t *document, spurity_error *error);
/** As spurity_schema_check, against the text of another schema. */
spurity_status spurity_schema_check_against(const char *schema_text, const char *name, const json_t *document,
                                            spurity_error *error);
/** First keyword of the schema that spurity_schema_check does not understand; NULL when it knows them all. */
const char *spurity_schema_unknown_keyword(const json_t *schema);

/* ---- picture data (picture.c, measured.c)
 * ----------------------------------------------------------------------------- */

enum { SPURITY_PICTURE_COLUMNS = 2400 };

/** Whether an axis over these frequencies is logarithmic: it spans more than a factor of 4 above 0 Hz. */
bool spurity_picture_is_log(double from_hz, double to_hz);

/** Allowed level at `hz`; false where there is no figure. */
typedef bool spurity_limit_at(const void *user, double hz, double *db);

/** An empty picture over [from, to]; from < to, both finite. */
spurity_status spurity_picture_create(double from_hz, double to_hz, const char *unit, spurity_picture_store **store,
                                      spurity_error *error);
void spurity_picture_free(spurity_picture_store *store); /* NULL is fine */
const spurity_picture *spurity_picture_view(const spurity_picture_store *store);
double spurity_picture_columns_between(const spurity_picture_store *store, double from_hz, double to_hz);
void spurity_picture_set_carrier(spurity_picture_store *store, double hz);
/** Adds one polyline: per column the lowest and highest of the points in it, moved by offset_db.  Points rise in
 * frequency. */
spurity_status spurity_picture_add_line(spurity_picture_store *store, const double *hz, const double *db, size_t count,
                                        double offset_db, spurity_error *error);
/** Samples a limit over the columns and finds its edges by bisection. */
spurity_status spurity_picture_add_limit(spurity_picture_store *store, spurity_limit_at *limit, const void *user,
                                         double offset_db, spurity_error *error);

/** The picture of a measurement; verdict may be NULL. *store stays NULL where nothing can be drawn. */
spurity_status spurity_picture_of(const spurity_measurement *measurement, const spurity_verdict *verdict,
                                  spurity_picture_store **store, spurity_error *error);

#endif
