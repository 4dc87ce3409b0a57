/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_RULES_DOCUMENT_H
#define SPURITY_RULES_DOCUMENT_H
/* One pass over libyaml's events before libcyaml sees a file.  libcyaml alone gives no places after success, no cap on
 * depth, accepts aliases and stops at a first document silently.  Here: one document, no anchors, aliases or tags,
 * depth at most 16, no key twice, no control characters; and the line and column of every key and value. */
#include <cyaml/cyaml.h>

#include "../error/error.h"

enum { RULES_BYTES_MOST = 1 << 20, RULES_DEPTH_MOST = 16, RULES_NODES_MOST = 60000, RULES_KEYS_MOST = 64 };

enum rules_node_kind { NODE_TEXT, NODE_MAPPING, NODE_LIST };
struct rules_node {
    enum rules_node_kind kind;
    int parent, first, last, next; /* -1 none */
    unsigned index;                /* among its siblings, from 0 */
    char *key;                     /* in a mapping, else NULL */
    char *text;                    /* of a scalar */
    unsigned long line, column;    /* of the value, from 1 */
    unsigned long key_line, key_column;
};
struct rules_document {
    const char *name;         /* borrowed */
    struct rules_node *nodes; /* 0 is the root */
    int count, room;
};

/** INVALID with the place of what is refused.  Release in any case. */
spurity_status spurity_document_read(struct rules_document *document, const char *name, const char *yaml, size_t size,
                                     spurity_error *error);
void spurity_document_release(struct rules_document *document);
/** Checks shape against a libcyaml schema, so that its keys are stated once: unknown keys (with the nearest known one),
 * missing keys, text where a list belongs, lengths. */
spurity_status spurity_document_check(const struct rules_document *document, const cyaml_schema_value_t *schema,
                                      spurity_error *error);

/** Child by key, or by position; the parent itself when there is none (a place is always found). */
int spurity_document_key(const struct rules_document *document, int node, const char *key);
int spurity_document_item(const struct rules_document *document, int node, size_t index);
spurity_place spurity_document_place(const struct rules_document *document, int node);
/** "clauses/2/limit/level": entries of lists are counted from 1. */
void spurity_document_path(const struct rules_document *document, int node, char *text, size_t size);
#endif
