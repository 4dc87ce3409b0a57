/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A bench file: its shape, and what it says as options would. */
#include "bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

/* ---- shape ------------------------------------------------------------------------------------------------ */

struct raw_part {
    char *pad, *loss;
};
struct raw_bench {
    char *format, *version, *title, *direct, *loss_uncertainty, *impedance, *detector, *lowest, *range, *max_input,
        *noise, *second_harmonic_intercept, *third_order_intercept, *reference, *uncertainty;
    struct raw_part *chain;
    unsigned chain_count;
    struct raw_budget *budget;
};

enum { OPTIONAL = CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL };
#define TEXT(member) CYAML_FIELD_STRING_PTR(#member, OPTIONAL, struct raw_bench, member, 1, 200)

static const cyaml_schema_field_t part_fields[] = {
    CYAML_FIELD_STRING_PTR("pad", OPTIONAL, struct raw_part, pad, 1, 120),
    CYAML_FIELD_STRING_PTR("loss", OPTIONAL, struct raw_part, loss, 1, 1000), CYAML_FIELD_END};
static const cyaml_schema_value_t part = {CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_part, part_fields)};

static const cyaml_schema_field_t bench_fields[] = {
    TEXT(format),
    TEXT(version),
    TEXT(title),
    TEXT(direct),
    TEXT(loss_uncertainty),
    TEXT(impedance),
    TEXT(detector),
    TEXT(lowest),
    TEXT(range),
    TEXT(max_input),
    TEXT(noise),
    TEXT(second_harmonic_intercept),
    TEXT(third_order_intercept),
    TEXT(reference),
    TEXT(uncertainty),
    CYAML_FIELD_SEQUENCE("chain", OPTIONAL, struct raw_bench, chain, &part, 1, 16),
    CYAML_FIELD_MAPPING_PTR("budget", OPTIONAL, struct raw_bench, budget, spurity_budget_fields),
    CYAML_FIELD_END};
static const cyaml_schema_value_t bench_schema = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_POINTER, struct raw_bench, bench_fields)};

static const struct document_kind bench_files = {"a bench file", "bench files", "spurity-bench"};

/* ---- the object ------------------------------------------------------------------------------------------- */

enum { SETTINGS_MOST = 40 };

struct spurity_bench {
    struct document document; /* texts are its own */
    char *name;
    size_t count;
    spurity_bench_setting settings[SETTINGS_MOST];
    char *owned[SETTINGS_MOST]; /* values made of the document's; NULL: its own */
    bool has_budget;
    spurity_budget budget;
};

const char *spurity_bench_text(const struct document *document, int node, const char *key, int *child)
{
    *child = spurity_document_key(document, node, key);
    return *child == node ? NULL : document->nodes[*child].text;
}

spurity_status spurity_bench_check_format(const struct document *document, spurity_error *error)
{
    int node;
    char expected[60];
    snprintf(expected, sizeof expected, "format: %s", document->kind->format);
    if (document->nodes[0].kind != NODE_MAPPING)
        return spurity_document_bad(document, 0, error, expected, NULL, "no mapping (key: value)");
    const char *format = spurity_bench_text(document, 0, "format", &node);
    if (!format || strcmp(format, document->kind->format) != 0)
        return spurity_document_bad(document, node, error, expected, NULL, format ? "'%.50s'" : "no 'format'", format);
    const char *version = spurity_bench_text(document, 0, "version", &node);
    if (!version || strcmp(version, "1") != 0)
        return spurity_document_bad(document, node, error, "version: 1", NULL, version ? "'%.50s'" : "no 'version'",
                                    version);
    return SPURITY_OK;
}

/* ---- settings --------------------------------------------------------------------------------------------- */

static void add(struct spurity_bench *bench, const char *name, int node, const char *value)
{
    bench->settings[bench->count++] = (spurity_bench_setting){.name = name,
                                                              .key = bench->document.nodes[node].key,
                                                              .value = value,
                                                              .place = spurity_document_place(&bench->document, node)};
}

/* A loss table stands where the bench file does, unless its path says otherwise. */
static char *beside(const char *bench_name, const char *path)
{
    const char *slash = strrchr(bench_name, '/');
    size_t folder = slash && path[0] != '/' ? (size_t)(slash - bench_name) + 1 : 0;
    char *whole = malloc(folder + strlen(path) + 1);
    if (!whole)
        return NULL;
    memcpy(whole, bench_name, folder);
    strcpy(whole + folder, path);
    return whole;
}

/* "30dB, 0.3dB" as it may stand after a file's name, too: "30dB,0.3dB". */
static char *close_up(const char *text)
{
    char *closed = malloc(strlen(text) + 1), *to = closed;
    for (const char *at = text; closed && *at; at++)
        if (*at != ' ')
            *to++ = *at;
    if (closed)
        *to = '\0';
    return closed;
}

static spurity_status add_part(struct spurity_bench *bench, int node, spurity_error *error)
{
    int pad_node, loss_node;
    const char *pad = spurity_bench_text(&bench->document, node, "pad", &pad_node);
    const char *loss = spurity_bench_text(&bench->document, node, "loss", &loss_node);
    if (!pad == !loss)
        return spurity_document_bad(&bench->document, node, error, "one entry for each part of the chain", NULL,
                                    pad ? "pad and loss together" : "neither pad nor loss");
    char *value = pad ? close_up(pad) : beside(bench->name, loss);
    if (!value)
        return spurity_report_memory(error);
    bench->owned[bench->count] = value;
    add(bench, pad ? "pad" : "loss", pad ? pad_node : loss_node, value);
    return SPURITY_OK;
}

static spurity_status add_chain(struct spurity_bench *bench, spurity_error *error)
{
    const struct document *document = &bench->document;
    int node, list = spurity_document_key(document, 0, "chain");
    const char *direct = spurity_bench_text(document, 0, "direct", &node);
    if (direct && list != 0)
        return spurity_document_bad(document, node, error, "either a chain or 'direct: yes'", NULL,
                                    "direct together with a chain");
    if (direct && strcmp(direct, "yes") != 0)
        return spurity_document_bad(document, node, error, "'yes', or no such key", NULL, "'%.50s'", direct);
    if (direct)
        add(bench, "direct", node, "");
    spurity_status status = SPURITY_OK;
    for (int i = list ? document->nodes[list].first : -1; i >= 0 && !status; i = document->nodes[i].next)
        status = add_part(bench, i, error);
    return status;
}

static void add_plain(struct spurity_bench *bench)
{
    static const char *const keys[][2] = {{"loss_uncertainty", "loss-uncertainty"},
                                          {"impedance", "impedance"},
                                          {"detector", "detector"},
                                          {"lowest", "lowest"},
                                          {"range", "range"},
                                          {"max_input", "max-input"},
                                          {"noise", "noise"},
                                          {"second_harmonic_intercept", "second-harmonic-intercept"},
                                          {"third_order_intercept", "third-order-intercept"},
                                          {"uncertainty", "uncertainty"},
                                          {"reference", "reference-ppm"}};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        int node;
        const char *text = spurity_bench_text(&bench->document, 0, keys[i][0], &node);
        if (text)
            add(bench, keys[i][1], node, text);
    }
}

static spurity_status add_budget(struct spurity_bench *bench, spurity_error *error)
{
    const struct document *document = &bench->document;
    int node, twice, budget = spurity_document_key(document, 0, "budget");
    if (!budget)
        return SPURITY_OK;
    if (spurity_bench_text(document, 0, "uncertainty", &node))
        return spurity_document_bad(document, node, error, "either a budget or a lump sum", NULL,
                                    "uncertainty together with a budget");
    if (spurity_bench_text(document, budget, "format", &node) || spurity_bench_text(document, budget, "version", &node))
        return spurity_document_bad(document, node, error, "terms of a budget", "both stand at the head of the file",
                                    "a key of a file of its own");
    const char *reference = spurity_bench_text(document, budget, "reference", &node);
    if (reference && spurity_bench_text(document, 0, "reference", &twice))
        return spurity_document_bad(document, node, error, "the reference once", NULL, "'reference' a second time");
    if (reference)
        add(bench, "reference-ppm", node, reference);
    bench->has_budget = true;
    return spurity_bench_read_budget(document, budget, &bench->budget, error);
}

spurity_status spurity_bench_load_memory(const char *name, const char *yaml, size_t size, spurity_bench **bench,
                                         spurity_error *error)
{
    spurity_error own = {0};
    spurity_error *told = error ? error : &own;
    *bench = NULL;
    struct spurity_bench *made = calloc(1, sizeof *made);
    if (made)
        made->name = strdup(name);
    if (!made || !made->name) {
        free(made);
        return spurity_report_memory(told);
    }
    spurity_status status = spurity_document_read(&made->document, &bench_files, made->name, yaml, size, told);
    if (!status)
        status = spurity_bench_check_format(&made->document, told);
    if (!status)
        status = spurity_document_check(&made->document, &bench_schema, told);
    if (!status)
        status = add_chain(made, told);
    if (!status)
        add_plain(made);
    if (!status)
        status = add_budget(made, told);
    if (status)
        spurity_bench_free(made);
    else
        *bench = made;
    return status;
}

spurity_status spurity_bench_load(const char *path, spurity_bench **bench, spurity_error *error)
{
    char *yaml = NULL;
    size_t size = 0;
    *bench = NULL;
    spurity_status status = spurity_document_bytes(&bench_files, path, &yaml, &size, error);
    if (!status)
        status = spurity_bench_load_memory(path, yaml, size, bench, error);
    free(yaml);
    return status;
}

void spurity_bench_free(spurity_bench *bench)
{
    if (!bench)
        return;
    for (size_t i = 0; i < bench->count; i++)
        free(bench->owned[i]);
    spurity_document_release(&bench->document);
    free(bench->name);
    free(bench);
}

size_t spurity_bench_setting_count(const spurity_bench *bench)
{
    return bench->count;
}

const spurity_bench_setting *spurity_bench_setting_at(const spurity_bench *bench, size_t index)
{
    return index < bench->count ? &bench->settings[index] : NULL;
}

const char *spurity_bench_title(const spurity_bench *bench)
{
    int node;
    const char *title = spurity_bench_text(&bench->document, 0, "title", &node);
    return title ? title : "";
}

const spurity_budget *spurity_bench_budget(const spurity_bench *bench)
{
    return bench->has_budget ? &bench->budget : NULL;
}

extern const unsigned char spurity_bench_file_template[]; /* ends in a 0 byte */

const char *spurity_bench_template(void)
{
    return (const char *)spurity_bench_file_template;
}
