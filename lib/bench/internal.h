/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_BENCH_INTERNAL_H
#define SPURITY_BENCH_INTERNAL_H
#include "../document/document.h"
#include "bench.h"

/** The shape of a budget, for the schema: all of it text. */
struct raw_other {
    char *name, *figure, *shared;
};
struct raw_budget {
    char *format, *version; /* of a file of its own */
    char *amplitude, *response, *linearity, *linearity_most, *attenuator, *rbw_switching, *resolution, *interpolation,
        *window, *pad, *loss, *pad_response, *repeatability, *repeats, *set, *chain, *instrument, *meter, *reference;
    struct raw_other *other;
    unsigned other_count;
};
extern const cyaml_schema_field_t spurity_budget_fields[];

/** Text of a key, NULL when it is absent; *child is then its node. */
const char *spurity_bench_text(const struct document *document, int node, const char *key, int *child);
/** Reads a mapping that was checked against spurity_budget_fields, over defaults. */
spurity_status spurity_bench_read_budget(const struct document *document, int node, spurity_budget *budget,
                                         spurity_error *error);
/** INVALID unless the file says this format, version 1. */
spurity_status spurity_bench_check_format(const struct document *document, spurity_error *error);
#endif
