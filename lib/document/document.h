/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_DOCUMENT_DOCUMENT_H
#define SPURITY_DOCUMENT_DOCUMENT_H
/* YAML that people write (rule files, benches).  No door that is installed: a helper for stages that read such files.
 *
 * One pass over libyaml's events before libcyaml sees a file.  libcyaml alone gives no places after success, no cap on
 * depth, accepts aliases and stops at a first document silently.  Here: one document, no anchors, aliases or tags,
 * depth at most 16, no key twice, no control characters; and the line and column of every key and value. */
#include <cyaml/cyaml.h>

#include "../error/error.h"

enum { DOCUMENT_BYTES_MOST = 1 << 20, DOCUMENT_DEPTH_MOST = 16, DOCUMENT_NODES_MOST = 60000, DOCUMENT_KEYS_MOST = 64 };

enum document_node_kind { NODE_TEXT, NODE_MAPPING, NODE_LIST };
struct document_node {
    enum document_node_kind kind;
    int parent, first, last, next; /* -1 none */
    unsigned index;                /* among its siblings, from 0 */
    char *key;                     /* in a mapping, else NULL */
    char *text;                    /* of a scalar */
    unsigned long line, column;    /* of the value, from 1 */
    unsigned long key_line, key_column;
};
/** What a file is to be, for messages; static texts. */
struct document_kind {
    const char *a_file, *files, *format; /* "a rule file", "rule files", "spurity-rules" */
};
struct document {
    const char *name;                 /* borrowed */
    const struct document_kind *kind; /* borrowed */
    struct document_node *nodes;      /* 0 is the root */
    int count, room;
};

/** The bytes of a file, at most one more than DOCUMENT_BYTES_MOST; *yaml is the caller's to free, NULL on failure. */
spurity_status spurity_document_bytes(const struct document_kind *kind, const char *path, char **yaml, size_t *size,
                                      spurity_error *error);
/** INVALID with the place of what is refused.  Release in any case. */
spurity_status spurity_document_read(struct document *document, const struct document_kind *kind, const char *name,
                                     const char *yaml, size_t size, spurity_error *error);
void spurity_document_release(struct document *document);
/** Checks shape against a libcyaml schema, so that its keys are stated once: unknown keys (with the nearest known one),
 * missing keys, text where a list belongs, lengths. */
spurity_status spurity_document_check(const struct document *document, const cyaml_schema_value_t *schema,
                                      spurity_error *error);

/** Child by key, or by position; the parent itself when there is none (a place is always found). */
int spurity_document_key(const struct document *document, int node, const char *key);
int spurity_document_item(const struct document *document, int node, size_t index);
spurity_place spurity_document_place(const struct document *document, int node);
/** "clauses/2/limit/level": entries of lists are counted from 1. */
void spurity_document_path(const struct document *document, int node, char *text, size_t size);
/** INVALID at a node: "<found> in clauses/2/limit". */
spurity_status spurity_document_bad(const struct document *document, int node, spurity_error *error,
                                    const char *expected, const char *advice, const char *format, ...)
    SPURITY_PRINTF(6, 7);

/** Index in `words` (NULL-ended), -1 when it is none. */
int spurity_word_index(const char *const *words, const char *text);
/** The word that differs least from text, NULL when none is near. */
const char *spurity_word_nearest(const char *const *words, const char *text);
/** "a, b, c". */
void spurity_words_join(const char *const *words, char *text, size_t size);
/** A word of a closed list; tells the nearest. */
spurity_status spurity_document_word(const struct document *document, int node, spurity_error *error,
                                     const char *const *words, const char *text, int *index);
#endif
