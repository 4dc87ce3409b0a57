/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Rule sets: the built-in files, files of the user, and what a set tells of itself. */
#include "rules.h"

#include <sha2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

/* ---- built-in files: one row each, embedded by lib/embed.c ---------------------------------------- */

#define FILES(ROW)                                                                                                     \
    ROW("us-amateur", us_amateur)                                                                                      \
    ROW("us-gmrs", us_gmrs)                                                                                            \
    ROW("us-frs", us_frs)                                                                                              \
    ROW("us-murs", us_murs)                                                                                            \
    ROW("us-cb", us_cb)                                                                                                \
    ROW("us-rcrs", us_rcrs)                                                                                            \
    ROW("us-land-mobile", us_land_mobile)                                                                              \
    ROW("itu-a", itu_a)                                                                                                \
    ROW("itu-b", itu_b)                                                                                                \
    ROW("eu-amateur", eu_amateur)                                                                                      \
    ROW("eu-pmr446", eu_pmr446)                                                                                        \
    ROW("eu-land-mobile", eu_land_mobile)

#define DECLARE(id, name)                                                                                              \
    extern const unsigned char spurity_rules_##name[];                                                                 \
    extern const unsigned long spurity_rules_##name##_size;
FILES(DECLARE)

struct builtin {
    const char *id;
    const unsigned char *yaml;
    const unsigned long *size;
};
#define ROW(id, name) {id, spurity_rules_##name, &spurity_rules_##name##_size},
static const struct builtin builtins[] = {FILES(ROW)};
enum { BUILTINS = sizeof builtins / sizeof *builtins };

size_t spurity_rules_builtin_count(void)
{
    return BUILTINS;
}

const char *spurity_rules_builtin_id(size_t index)
{
    return index < BUILTINS ? builtins[index].id : NULL;
}

extern const unsigned char spurity_rules_own_country[]; /* ends in a 0 byte */

const char *spurity_rules_template(void)
{
    return (const char *)spurity_rules_own_country;
}

/* ---- loading ------------------------------------------------------------------------------------- */

static const struct document_kind rule_files = {"a rule file", "rule files", "spurity-rules"};

spurity_status spurity_rules_load_memory(const char *name, const char *yaml, size_t size, spurity_rules **rules,
                                         spurity_error *error)
{
    spurity_error own = {0};
    spurity_error *told = error ? error : &own;
    struct document document;
    struct rules_loader loader = {&document, told};
    *rules = NULL;
    struct spurity_rules *made = NULL;
    spurity_status status = spurity_document_read(&document, &rule_files, name, yaml, size, told);
    if (!status)
        status = spurity_document_check(&document, &spurity_rules_schema, told);
    if (status)
        goto out;
    made = calloc(1, sizeof *made);
    if (!made) {
        status = spurity_report_memory(told);
        goto out;
    }
    SHA256Data((const uint8_t *)yaml, size, made->sha256);
    status = spurity_rules_read_raw(name, yaml, size, &made->raw, told);
    if (!status)
        status = spurity_rules_build(&loader, made);
    if (!status) {
        *rules = made;
        made = NULL;
    }
out:
    spurity_rules_free(made);
    spurity_document_release(&document);
    return status;
}

static spurity_status load_builtin(const char *id, spurity_rules **rules, spurity_error *error)
{
    const char *ids[BUILTINS + 1] = {NULL};
    for (size_t i = 0; i < BUILTINS; i++) {
        if (!strcmp(builtins[i].id, id))
            return spurity_rules_load_memory(id, (const char *)builtins[i].yaml, *builtins[i].size, rules, error);
        ids[i] = builtins[i].id;
    }
    char allowed[190], advice[140];
    const char *nearest = spurity_word_nearest(ids, id);
    spurity_words_join(ids, allowed, sizeof allowed);
    if (nearest)
        snprintf(advice, sizeof advice, "did you mean '%s'?", nearest);
    else
        snprintf(advice, sizeof advice, "a file of your own is told by a '/' or a name ending in .yaml");
    spurity_place nowhere = {0};
    return spurity_reportf(error, SPURITY_INVALID, nowhere, allowed, advice, "rules '%.60s'", id);
}

static spurity_status load_file(const char *path, spurity_rules **rules, spurity_error *error)
{
    char *yaml = NULL;
    size_t size = 0;
    spurity_status status = spurity_document_bytes(&rule_files, path, &yaml, &size, error);
    if (!status)
        status = spurity_rules_load_memory(path, yaml, size, rules, error);
    free(yaml);
    return status;
}

spurity_status spurity_rules_load(const char *id_or_path, spurity_rules **rules, spurity_error *error)
{
    static const char suffix[] = ".yaml";
    size_t length = strlen(id_or_path), tail = sizeof suffix - 1;
    *rules = NULL;
    if (strchr(id_or_path, '/') || (length > tail && !strcmp(id_or_path + length - tail, suffix)))
        return load_file(id_or_path, rules, error);
    return load_builtin(id_or_path, rules, error);
}

void spurity_rules_free(spurity_rules *rules)
{
    if (!rules)
        return;
    for (size_t i = 0; i < rules->clause_count; i++) {
        struct spurity_clause *clause = &rules->clauses[i];
        spurity_limit_release(&clause->limit);
        free(clause->applies_bands);
        free(clause->bands);
        free(clause->exemptions);
    }
    free(rules->clauses);
    free(rules->channels);
    free(rules->bandwidths);
    free(rules->spans);
    spurity_rules_free_raw(rules->raw);
    free(rules);
}

/* ---- what a set tells ---------------------------------------------------------------------------- */

const char *spurity_rules_id(const spurity_rules *rules)
{
    return rules->raw->id;
}

const char *spurity_rules_title(const spurity_rules *rules)
{
    return rules->raw->title;
}

const char *spurity_rules_sha256(const spurity_rules *rules)
{
    return rules->sha256;
}

const char *spurity_rules_edition(const spurity_rules *rules)
{
    return rules->raw->edition;
}

size_t spurity_rules_clause_count(const spurity_rules *rules)
{
    return rules->clause_count;
}

const spurity_clause *spurity_rules_clause(const spurity_rules *rules, size_t index)
{
    return index < rules->clause_count ? &rules->clauses[index] : NULL;
}

void spurity_clause_facts_of(const spurity_clause *clause, spurity_clause_facts *facts)
{
    *facts = clause->facts;
}
