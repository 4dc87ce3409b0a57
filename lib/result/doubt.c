/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whose each line is, as the document of the contract: the overlap table that the verdict used, beside what a result
 * says of settings, carrier, warnings and inputs. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

extern const unsigned char spurity_doubt_schema_json[];

const char *spurity_result_doubt_schema(void)
{
    return (const char *)spurity_doubt_schema_json; /* the embedded text ends in a 0 byte */
}

typedef struct build {
    const spurity_measurement *measurement;
    bool failed; /* memory ran out somewhere; looked at once, at the end */
} build;

/* Takes `value` over. */
static void put(build *at, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new_nocheck(object, key, value))
        at->failed = true;
}

static void push(build *at, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value))
        at->failed = true;
}

static json_t *reading_object(build *at, const spurity_overlap_reading *one)
{
    const spurity_measured_file *file = spurity_measurement_file(at->measurement, (size_t)one->file);
    json_t *object = json_object();
    put(at, object, "file", json_integer(one->file));
    put(at, object, "step_db", spurity_value_db(one->step_db));
    put(at, object, "level_dbm", spurity_value_db(one->level_db + file->dbm_offset));
    put(at, object, "level_dbc", spurity_value_db(one->level_db - file->carrier_db));
    put(at, object, "floor_dbm", spurity_value_db(one->floor_db + file->dbm_offset));
    put(at, object, "seen", json_boolean(one->seen));
    put(at, object, "compared", json_boolean(one->comparable));
    put(at, object, "repeat", json_boolean(one->repeat));
    return object;
}

static json_t *line_object(build *at, const spurity_overlap *row)
{
    const spurity_emission *emission =
        row->emission >= 0 ? spurity_measurement_emission(at->measurement, (size_t)row->emission) : NULL;
    json_t *object = json_object(), *readings = json_array();
    put(at, object, "emission", row->emission >= 0 ? json_integer(row->emission) : json_null());
    put(at, object, "kind", spurity_value_text(emission ? spurity_emission_kind_name(emission->kind) : "carrier"));
    put(at, object, "order", emission && emission->order ? json_integer(emission->order) : json_null());
    put(at, object, "frequency_hz", spurity_value_hz(row->frequency_hz));
    put(at, object, "origin", spurity_value_text(spurity_origin_name(row->origin)));
    put(at, object, "instrument_order", row->order ? json_integer(row->order) : json_null());
    put(at, object, "low_db", spurity_value_db(row->low_db));
    put(at, object, "high_db", spurity_value_db(row->high_db));
    put(at, object, "compressed_db", emission ? json_null() : spurity_value_db(row->compressed_db));
    put(at, object, "why", spurity_value_text(row->why));
    for (size_t i = 0; i < row->count; i++)
        push(at, readings, reading_object(at, &row->readings[i]));
    put(at, object, "readings", readings);
    return object;
}

static void copy(build *at, json_t *root, const spurity_result *result, const char *key)
{
    put(at, root, key, json_deep_copy(json_object_get(result->root, key)));
}

spurity_status spurity_result_doubt_json(const spurity_result *result, const spurity_measurement *measurement,
                                         char **text, size_t *size, spurity_error *error)
{
    build at = {.measurement = measurement};
    json_t *root = json_object(), *lines = json_array();
    put(&at, root, "format", spurity_value_text("spurity-doubt"));
    put(&at, root, "version", json_integer(1));
    put(&at, root, "tool", spurity_value_text(spurity_result_tool()));
    copy(&at, root, result, "settings");
    copy(&at, root, result, "carrier");
    for (size_t i = 0; i < spurity_measurement_overlap_count(measurement); i++)
        push(&at, lines, line_object(&at, spurity_measurement_overlap(measurement, i)));
    put(&at, root, "lines", lines);
    copy(&at, root, result, "warnings");
    copy(&at, root, result, "inputs");
    spurity_status status =
        at.failed || !root ? spurity_report_memory(error) : spurity_document_text(root, text, size, error);
    json_decref(root);
    return status;
}
