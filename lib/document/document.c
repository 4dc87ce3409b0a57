/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "document.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

/* ---- events to nodes ----------------------------------------------------------------------------- */

/** Where the pass stands. */
struct builder {
    struct document *document;
    spurity_error *error;
    int open;  /* the mapping or list being filled, -1 outside */
    int depth; /* of open */
    bool has_key;
    char *key; /* owned; waits for its value */
    unsigned long key_line, key_column;
    unsigned documents;
};

static spurity_place place_of(const struct builder *builder, yaml_mark_t mark)
{
    spurity_place place = {.file = builder->document->name, .line = mark.line + 1, .column = mark.column + 1};
    return place;
}

/* "rule files need none" */
static spurity_status refuse_anchor(const struct builder *builder, yaml_mark_t mark)
{
    char advice[60];
    snprintf(advice, sizeof advice, "%s need none", builder->document->kind->files);
    return spurity_report(builder->error, SPURITY_INVALID, place_of(builder, mark), "an anchor or a tag",
                          "plain keys and text", advice);
}

static spurity_status refuse(const struct builder *builder, yaml_mark_t mark, const char *found, const char *expected,
                             const char *advice)
{
    return spurity_report(builder->error, SPURITY_INVALID, place_of(builder, mark), found, expected, advice);
}

/** Adds a node under the open one and gives it the waiting key; its index, or -1 (reported). */
static int add_node(struct builder *builder, enum document_node_kind kind, yaml_mark_t mark)
{
    struct document *document = builder->document;
    if (document->count >= DOCUMENT_NODES_MOST) {
        refuse(builder, mark, "over 60000 keys and values", document->kind->a_file, NULL);
        return -1;
    }
    if (document->count == document->room) {
        int room = document->room ? 2 * document->room : 256;
        struct document_node *grown = realloc(document->nodes, (size_t)room * sizeof *grown);
        if (!grown) {
            spurity_report_memory(builder->error);
            return -1;
        }
        document->nodes = grown;
        document->room = room;
    }
    int index = document->count++;
    struct document_node *node = &document->nodes[index];
    *node = (struct document_node){.kind = kind, .parent = builder->open, .first = -1, .last = -1, .next = -1};
    node->line = node->key_line = mark.line + 1;
    node->column = node->key_column = mark.column + 1;
    if (builder->has_key) {
        node->key = builder->key;
        node->key_line = builder->key_line;
        node->key_column = builder->key_column;
        builder->key = NULL;
        builder->has_key = false;
    }
    if (builder->open < 0)
        return index;
    struct document_node *parent = &document->nodes[builder->open];
    if (parent->last >= 0) {
        document->nodes[parent->last].next = index;
        node->index = document->nodes[parent->last].index + 1;
    } else {
        parent->first = index;
    }
    parent->last = index;
    return index;
}

static bool in_mapping(const struct builder *builder)
{
    return builder->open >= 0 && builder->document->nodes[builder->open].kind == NODE_MAPPING;
}

/** A byte that could drive a terminal; a line break or tab inside quoted text is harmless. */
static bool has_control(const unsigned char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if ((text[i] < 0x20 && text[i] != '\n' && text[i] != '\t') || text[i] == 0x7f)
            return true;
    return false;
}

static spurity_status take_key(struct builder *builder, const yaml_event_t *event, char *text)
{
    const struct document *document = builder->document;
    int last = document->nodes[builder->open].last;
    if (last >= 0 && document->nodes[last].index >= DOCUMENT_KEYS_MOST) { /* keeps the search for twins short */
        free(text);
        return refuse(builder, event->start_mark, "over 64 keys in one mapping", "the keys of the format", NULL);
    }
    for (int i = document->nodes[builder->open].first; i >= 0; i = document->nodes[i].next)
        if (!strcmp(document->nodes[i].key, text)) {
            char found[160];
            snprintf(found, sizeof found, "'%.60s' twice (first in line %lu)", text, document->nodes[i].key_line);
            free(text);
            return refuse(builder, event->start_mark, found, "each key once", NULL);
        }
    builder->key = text;
    builder->has_key = true;
    builder->key_line = event->start_mark.line + 1;
    builder->key_column = event->start_mark.column + 1;
    return SPURITY_OK;
}

static spurity_status on_scalar(struct builder *builder, const yaml_event_t *event)
{
    const unsigned char *value = event->data.scalar.value;
    size_t length = event->data.scalar.length;
    if (event->data.scalar.anchor || event->data.scalar.tag)
        return refuse_anchor(builder, event->start_mark);
    if (has_control(value, length))
        return refuse(builder, event->start_mark, "a control character", "printable text", NULL);
    char *text = malloc(length + 1);
    if (!text)
        return spurity_report_memory(builder->error);
    memcpy(text, value, length);
    text[length] = '\0';
    if (in_mapping(builder) && !builder->has_key)
        return take_key(builder, event, text);
    int node = add_node(builder, NODE_TEXT, event->start_mark);
    if (node < 0) {
        free(text);
        return builder->error ? builder->error->status : SPURITY_INVALID;
    }
    builder->document->nodes[node].text = text;
    return SPURITY_OK;
}

static spurity_status on_open(struct builder *builder, const yaml_event_t *event, enum document_node_kind kind)
{
    bool mapping = kind == NODE_MAPPING;
    if (mapping ? event->data.mapping_start.anchor || event->data.mapping_start.tag
                : event->data.sequence_start.anchor || event->data.sequence_start.tag)
        return refuse_anchor(builder, event->start_mark);
    if (in_mapping(builder) && !builder->has_key)
        return refuse(builder, event->start_mark, "a list or mapping as a key", "a word as the key", NULL);
    if (builder->depth >= DOCUMENT_DEPTH_MOST)
        return refuse(builder, event->start_mark, "nesting deeper than 16", "a depth of at most 16", NULL);
    int node = add_node(builder, kind, event->start_mark);
    if (node < 0)
        return builder->error ? builder->error->status : SPURITY_INVALID;
    builder->open = node;
    builder->depth++;
    return SPURITY_OK;
}

static spurity_status on_event(struct builder *builder, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (builder->documents++)
            return refuse(builder, event->start_mark, "a second document", "one document in a file", NULL);
        return SPURITY_OK;
    case YAML_ALIAS_EVENT:
        return refuse(builder, event->start_mark, "an alias", "plain keys and text", "write the value out");
    case YAML_SCALAR_EVENT:
        return on_scalar(builder, event);
    case YAML_MAPPING_START_EVENT:
        return on_open(builder, event, NODE_MAPPING);
    case YAML_SEQUENCE_START_EVENT:
        return on_open(builder, event, NODE_LIST);
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        builder->open = builder->document->nodes[builder->open].parent;
        builder->depth--;
        return SPURITY_OK;
    default:
        return SPURITY_OK;
    }
}

static spurity_status report_parser(const struct builder *builder, const yaml_parser_t *parser)
{
    if (parser->error == YAML_MEMORY_ERROR)
        return spurity_report_memory(builder->error);
    spurity_place at = place_of(builder, parser->problem_mark);
    if (parser->error == YAML_READER_ERROR) { /* such an error has a byte and no line */
        at.line = at.column = 0;
        at.byte = parser->problem_offset;
        at.has_byte = true;
    }
    return spurity_reportf(builder->error, SPURITY_INVALID, at, "well-formed YAML", NULL, "a fault (%s%s%s)",
                           parser->problem ? parser->problem : "broken text", parser->context ? " " : "",
                           parser->context ? parser->context : "");
}

spurity_status spurity_document_read(struct document *document, const struct document_kind *kind, const char *name,
                                     const char *yaml, size_t size, spurity_error *error)
{
    *document = (struct document){.name = name, .kind = kind};
    spurity_place whole = {.file = name};
    char expected[80];
    if (size > DOCUMENT_BYTES_MOST) {
        snprintf(expected, sizeof expected, "%s of at most 1 MiB", kind->a_file);
        return spurity_report(error, SPURITY_INVALID, whole, "more than 1 MiB", expected, NULL);
    }
    struct builder builder = {.document = document, .error = error, .open = -1};
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser))
        return spurity_report_memory(error);
    yaml_parser_set_input_string(&parser, (const unsigned char *)yaml, size);
    spurity_status status = SPURITY_OK;
    for (bool ended = false; !ended && !status;) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parser, &event)) {
            status = report_parser(&builder, &parser);
            break;
        }
        ended = event.type == YAML_STREAM_END_EVENT;
        status = on_event(&builder, &event);
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    free(builder.key);
    if (!status && !document->count) {
        snprintf(expected, sizeof expected, "%s (format: %s)", kind->a_file, kind->format);
        return spurity_report(error, SPURITY_INVALID, whole, "nothing", expected, NULL);
    }
    return status;
}

/* No file of that name is the caller's mistake; no room to open it is not. */
static spurity_status status_of(int number)
{
    return number == ENOMEM || number == EMFILE || number == ENFILE || number == EIO ? SPURITY_SYSTEM : SPURITY_INVALID;
}

spurity_status spurity_document_bytes(const struct document_kind *kind, const char *path, char **yaml, size_t *size,
                                      spurity_error *error)
{
    spurity_place at = {.file = path};
    char expected[80];
    FILE *file = fopen(path, "rb");
    *yaml = NULL;
    snprintf(expected, sizeof expected, "a readable %s", kind->a_file + 2); /* "a rule file" */
    if (!file)
        return spurity_reportf(error, status_of(errno), at, expected, NULL, "'%s'", strerror(errno));
    spurity_status status = SPURITY_OK;
    char *bytes = malloc(DOCUMENT_BYTES_MOST + 1); /* one more: tells a file that is too long */
    *size = bytes ? fread(bytes, 1, DOCUMENT_BYTES_MOST + 1, file) : 0;
    if (!bytes)
        status = spurity_report_memory(error);
    else if (ferror(file))
        status = spurity_reportf(error, errno == EISDIR ? SPURITY_INVALID : SPURITY_SYSTEM, at, expected, NULL, "'%s'",
                                 strerror(errno));
    fclose(file);
    if (status)
        free(bytes);
    else
        *yaml = bytes;
    return status;
}

void spurity_document_release(struct document *document)
{
    for (int i = 0; i < document->count; i++) {
        free(document->nodes[i].key);
        free(document->nodes[i].text);
    }
    free(document->nodes);
    *document = (struct document){0};
}

/* ---- places -------------------------------------------------------------------------------------- */

int spurity_document_key(const struct document *document, int node, const char *key)
{
    for (int i = document->nodes[node].first; i >= 0; i = document->nodes[i].next)
        if (document->nodes[i].key && !strcmp(document->nodes[i].key, key))
            return i;
    return node;
}

int spurity_document_item(const struct document *document, int node, size_t index)
{
    for (int i = document->nodes[node].first; i >= 0; i = document->nodes[i].next)
        if (document->nodes[i].index == index)
            return i;
    return node;
}

spurity_place spurity_document_place(const struct document *document, int node)
{
    const struct document_node *at = &document->nodes[node];
    spurity_place place = {.file = document->name, .line = at->line, .column = at->column};
    return place;
}

void spurity_document_path(const struct document *document, int node, char *text, size_t size)
{
    int line[DOCUMENT_DEPTH_MOST + 2];
    int depth = 0;
    for (int i = node; i > 0 && depth < DOCUMENT_DEPTH_MOST + 2; i = document->nodes[i].parent)
        line[depth++] = i;
    size_t used = 0;
    text[0] = '\0';
    while (depth-- > 0 && used < size) {
        const struct document_node *at = &document->nodes[line[depth]];
        int wrote = at->key ? snprintf(text + used, size - used, "%s%.40s", used ? "/" : "", at->key)
                            : snprintf(text + used, size - used, "%s%u", used ? "/" : "", at->index + 1);
        used += wrote > 0 ? (size_t)wrote : 0;
    }
    if (!text[0])
        snprintf(text, size, "the top level");
}

/* ---- messages ------------------------------------------------------------------------------------ */

spurity_status spurity_document_bad(const struct document *document, int node, spurity_error *error,
                                    const char *expected, const char *advice, const char *format, ...)
{
    char found[120], path[120];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(found, sizeof found, format, arguments);
    va_end(arguments);
    spurity_document_path(document, node, path, sizeof path);
    return spurity_reportf(error, SPURITY_INVALID, spurity_document_place(document, node), expected, advice, "%s in %s",
                           found, path);
}

/* ---- shape --------------------------------------------------------------------------------------- */

struct checking {
    const struct document *document;
    spurity_error *error;
};

static spurity_status check_value(const struct checking *check, int node, const cyaml_schema_value_t *schema);

enum { KEYS_MOST = 32 };

static void known_keys(const cyaml_schema_field_t *fields, const char **keys)
{
    size_t count = 0;
    for (const cyaml_schema_field_t *field = fields; field->key && count + 1 < KEYS_MOST; field++)
        keys[count++] = field->key;
    keys[count] = NULL;
}

static spurity_status unknown_key(const struct checking *check, int node, const cyaml_schema_field_t *fields)
{
    const struct document *document = check->document;
    const struct document_node *at = &document->nodes[node];
    const char *keys[KEYS_MOST];
    known_keys(fields, keys);
    char allowed[190], path[120], advice[100] = "";
    spurity_words_join(keys, allowed, sizeof allowed);
    spurity_document_path(document, at->parent, path, sizeof path);
    const char *nearest = spurity_word_nearest(keys, at->key);
    if (nearest)
        snprintf(advice, sizeof advice, "did you mean '%s'?", nearest);
    spurity_place place = {.file = document->name, .line = at->key_line, .column = at->key_column};
    return spurity_reportf(check->error, SPURITY_INVALID, place, allowed, nearest ? advice : NULL, "key '%.50s' in %s",
                           at->key, path);
}

static spurity_status check_mapping(const struct checking *check, int node, const cyaml_schema_field_t *fields)
{
    const struct document *document = check->document;
    for (int i = document->nodes[node].first; i >= 0; i = document->nodes[i].next) {
        const cyaml_schema_field_t *field = fields;
        while (field->key && strcmp(field->key, document->nodes[i].key))
            field++;
        if (!field->key)
            return unknown_key(check, i, fields);
        spurity_status status = check_value(check, i, &field->value);
        if (status)
            return status;
    }
    for (const cyaml_schema_field_t *field = fields; field->key; field++)
        if (!(field->value.flags & CYAML_FLAG_OPTIONAL) && spurity_document_key(document, node, field->key) == node) {
            char expected[80];
            snprintf(expected, sizeof expected, "a key '%s'", field->key);
            return spurity_document_bad(check->document, node, check->error, expected, NULL, "no '%s'", field->key);
        }
    return SPURITY_OK;
}

static spurity_status check_list(const struct checking *check, int node, const cyaml_schema_value_t *schema)
{
    const struct document *document = check->document;
    int last = document->nodes[node].last;
    unsigned count = last >= 0 ? document->nodes[last].index + 1 : 0;
    if (count < schema->sequence.min || count > schema->sequence.max) {
        char expected[80];
        snprintf(expected, sizeof expected, "%u to %u entries", (unsigned)schema->sequence.min,
                 (unsigned)schema->sequence.max);
        return spurity_document_bad(check->document, node, check->error, expected, NULL, "%u entries", count);
    }
    for (int i = document->nodes[node].first; i >= 0; i = document->nodes[i].next) {
        spurity_status status = check_value(check, i, schema->sequence.entry);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status check_text(const struct checking *check, int node, const cyaml_schema_value_t *schema)
{
    const char *text = check->document->nodes[node].text;
    size_t length = strlen(text);
    if (!length || !strcmp(text, "~"))
        return spurity_document_bad(check->document, node, check->error, "a value", NULL, "nothing");
    if (length > schema->string.max)
        return spurity_document_bad(check->document, node, check->error, "a shorter text", NULL,
                                    "%zu letters (at most %u)", length, (unsigned)schema->string.max);
    return SPURITY_OK;
}

static spurity_status check_value(const struct checking *check, int node, const cyaml_schema_value_t *schema)
{
    static const char *const names[] = {"a single text", "a mapping (key: value)", "a list"};
    enum document_node_kind kind = check->document->nodes[node].kind;
    enum document_node_kind wanted = schema->type == CYAML_MAPPING    ? NODE_MAPPING
                                     : schema->type == CYAML_SEQUENCE ? NODE_LIST
                                                                      : NODE_TEXT;
    if (kind != wanted)
        return spurity_document_bad(check->document, node, check->error, names[wanted], NULL, "%s", names[kind]);
    if (wanted == NODE_MAPPING)
        return check_mapping(check, node, schema->mapping.fields);
    if (wanted == NODE_LIST)
        return check_list(check, node, schema);
    return check_text(check, node, schema);
}

spurity_status spurity_document_check(const struct document *document, const cyaml_schema_value_t *schema,
                                      spurity_error *error)
{
    struct checking check = {document, error};
    return check_value(&check, 0, schema);
}
