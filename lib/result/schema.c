/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A document against the embedded JSON Schema, so that the schema we publish and what our reader asks are one thing.
 *
 * Understood (draft 2020-12): $ref to "#/$defs/NAME", type, const, enum, minimum, maximum, required, properties, items,
 * minItems, if with then and else.  Keys the schema does not name are taken (contract: readers ignore keys they do not
 * know).  A unit test fails when the schema uses a keyword that is not in this list. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "../error/json.h"
#include "internal.h"

extern const unsigned char spurity_result_schema_json[];
extern const unsigned long spurity_result_schema_json_size;

const char *spurity_result_schema(void)
{
    return (const char *)spurity_result_schema_json; /* the embedded text ends in a 0 byte */
}

enum { PATH_SIZE = 160, DEPTH_MAX = 32 };

typedef struct walk {
    const json_t *schema; /* the whole */
    const char *name;
    spurity_error *error; /* NULL: only asking */
    char path[PATH_SIZE];
    int depth;
} walk;

static bool check(walk *at, const json_t *schema, const json_t *value);

/* A short picture of a value for a message. */
static void show(const json_t *value, char *text, size_t size)
{
    static const char *const words[] = {[JSON_OBJECT] = "an object",
                                        [JSON_ARRAY] = "a list",
                                        [JSON_TRUE] = "true",
                                        [JSON_FALSE] = "false",
                                        [JSON_NULL] = "null"};
    if (!value)
        snprintf(text, size, "nothing");
    else if (json_is_string(value))
        snprintf(text, size, "'%.60s'", json_string_value(value));
    else if (json_is_number(value))
        text[json_dumpb(value, text, size - 1, JSON_ENCODE_ANY | JSON_REAL_PRECISION(15))] = '\0'; /* in any locale */
    else
        snprintf(text, size, "%s", words[json_typeof(value)]);
}

static bool fault(walk *at, const json_t *value, const char *expected)
{
    char found[80];
    show(value, found, sizeof found);
    if (at->error)
        spurity_reportf(at->error, SPURITY_INVALID, (spurity_place){.file = at->name}, expected,
                        "give the file that --json wrote", "%s at '%s'", found, at->path[0] ? at->path : "/");
    return false;
}

static bool is_type(const json_t *value, const char *type)
{
    if (!strcmp(type, "object"))
        return json_is_object(value);
    if (!strcmp(type, "array"))
        return json_is_array(value);
    if (!strcmp(type, "string"))
        return json_is_string(value);
    if (!strcmp(type, "number"))
        return json_is_number(value);
    if (!strcmp(type, "integer")) /* 2.0 is an integer to JSON Schema */
        return json_is_number(value) && floor(json_number_value(value)) == json_number_value(value);
    if (!strcmp(type, "boolean"))
        return json_is_boolean(value);
    return !strcmp(type, "null") && json_is_null(value);
}

/* "a or b or c" of the strings in a list, or of one string. */
static void join(const json_t *words, char *text, size_t size)
{
    text[0] = '\0';
    size_t count = json_is_array(words) ? json_array_size(words) : 1;
    for (size_t i = 0; i < count; i++) {
        char word[80];
        const json_t *item = json_is_array(words) ? json_array_get(words, i) : words;
        show(item, word, sizeof word);
        size_t used = strlen(text);
        snprintf(text + used, size - used, "%s%s", i ? " or " : "", word);
    }
}

static bool check_type(walk *at, const json_t *types, const json_t *value)
{
    if (json_is_string(types) && is_type(value, json_string_value(types)))
        return true;
    for (size_t i = 0; i < json_array_size(types); i++)
        if (is_type(value, json_string_value(json_array_get(types, i))))
            return true;
    char expected[200];
    join(types, expected, sizeof expected);
    return fault(at, value, expected);
}

static bool check_choice(walk *at, const json_t *choices, const json_t *value)
{
    for (size_t i = 0; i < json_array_size(choices); i++)
        if (json_equal(json_array_get(choices, i), value))
            return true;
    char expected[200];
    join(choices, expected, sizeof expected);
    return fault(at, value, expected);
}

static bool check_range(walk *at, const json_t *schema, const json_t *value)
{
    const json_t *least = json_object_get(schema, "minimum"), *most = json_object_get(schema, "maximum");
    if (!json_is_number(value))
        return true;
    double number = json_number_value(value);
    if ((!least || number >= json_number_value(least)) && (!most || number <= json_number_value(most)))
        return true;
    char expected[80], bound[40];
    show(least ? least : most, bound, sizeof bound);
    snprintf(expected, sizeof expected, "a number %s %s", least ? "from" : "up to", bound);
    return fault(at, value, expected);
}

/* Goes one step down the path, checks there, and comes back. */
static bool check_inside(walk *at, const char *step, const json_t *schema, const json_t *value)
{
    size_t length = strlen(at->path);
    snprintf(at->path + length, sizeof at->path - length, "%s%s", length ? "/" : "", step);
    bool good = check(at, schema, value);
    at->path[length] = '\0';
    return good;
}

static bool check_object(walk *at, const json_t *schema, const json_t *value)
{
    const char *key;
    json_t *inner;
    const json_t *required = json_object_get(schema, "required");
    for (size_t i = 0; i < json_array_size(required); i++) {
        const char *name = json_string_value(json_array_get(required, i));
        char expected[80];
        snprintf(expected, sizeof expected, "a key '%s'", name);
        if (!json_object_get(value, name))
            return fault(at, value, expected);
    }
    json_object_foreach(json_object_get(schema, "properties"), key, inner)
    {
        const json_t *item = json_object_get(value, key);
        if (item && !check_inside(at, key, inner, item))
            return false;
    }
    return true;
}

static bool check_array(walk *at, const json_t *schema, const json_t *value)
{
    const json_t *items = json_object_get(schema, "items"), *least = json_object_get(schema, "minItems");
    if (least && json_array_size(value) < (size_t)json_integer_value(least))
        return fault(at, value, "a list that is not empty");
    for (size_t i = 0; items && i < json_array_size(value); i++) {
        char step[24];
        snprintf(step, sizeof step, "%zu", i);
        if (!check_inside(at, step, items, json_array_get(value, i)))
            return false;
    }
    return true;
}

static const json_t *resolve(const walk *at, const json_t *schema)
{
    const char *where = json_string_value(json_object_get(schema, "$ref"));
    if (!where)
        return schema;
    return json_object_get(json_object_get(at->schema, "$defs"), where + strlen("#/$defs/"));
}

static bool check_condition(walk *at, const json_t *schema, const json_t *value)
{
    const json_t *condition = json_object_get(schema, "if");
    if (!condition)
        return true;
    walk asking = *at;
    asking.error = NULL;
    const json_t *branch = json_object_get(schema, check(&asking, condition, value) ? "then" : "else");
    return !branch || check(at, branch, value);
}

static bool check(walk *at, const json_t *schema, const json_t *value)
{
    schema = resolve(at, schema);
    if (at->depth >= DEPTH_MAX)
        return fault(at, value, "less nesting");
    at->depth++;
    const json_t *type = json_object_get(schema, "type"), *only = json_object_get(schema, "const");
    const json_t *choices = json_object_get(schema, "enum");
    bool good = true;
    if (type)
        good = check_type(at, type, value);
    if (good && only && !json_equal(only, value)) {
        char expected[100];
        show(only, expected, sizeof expected);
        good = fault(at, value, expected);
    }
    if (good && choices)
        good = check_choice(at, choices, value);
    good = good && check_range(at, schema, value);
    if (good && json_is_object(value))
        good = check_object(at, schema, value);
    if (good && json_is_array(value))
        good = check_array(at, schema, value);
    good = good && check_condition(at, schema, value);
    at->depth--;
    return good;
}

spurity_status spurity_schema_check(const char *name, const json_t *document, spurity_error *error)
{
    return spurity_schema_check_against(spurity_result_schema(), name, document, error);
}

spurity_status spurity_schema_check_against(const char *schema_text, const char *name, const json_t *document,
                                            spurity_error *error)
{
    json_error_t broken;
    bool no_memory = false;
    json_t *schema = spurity_json_load(schema_text, strlen(schema_text), &broken, &no_memory);
    if (!schema)
        return spurity_report_memory(error); /* embedded texts are well formed: unit tests parse them */
    spurity_error own = {0};
    walk at = {.schema = schema, .name = name, .error = error ? error : &own};
    bool good = check(&at, schema, document);
    json_decref(schema);
    return good ? SPURITY_OK : SPURITY_INVALID;
}

static bool is_known(const char *keyword)
{
    static const char *const known[] = {
        "$schema", "$id",     "$defs",    "$ref",       "$comment", "title",    "description", "type", "const", "enum",
        "minimum", "maximum", "required", "properties", "items",    "minItems", "if",          "then", "else"};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (!strcmp(known[i], keyword))
            return true;
    return false;
}

const char *spurity_schema_unknown_keyword(const json_t *schema)
{
    const char *key, *inner_key;
    json_t *value, *inner;
    json_object_foreach((json_t *)schema, key, value)
    {
        const char *unknown = is_known(key) ? NULL : key;
        if (!strcmp(key, "properties") || !strcmp(key, "$defs")) {
            json_object_foreach(value, inner_key, inner) unknown =
                unknown ? unknown : spurity_schema_unknown_keyword(inner);
        } else if (json_is_object(value) && strcmp(key, "const") != 0) {
            unknown = unknown ? unknown : spurity_schema_unknown_keyword(value);
        }
        if (unknown)
            return unknown;
    }
    return NULL;
}
