/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_BENCH_H
#define SPURITY_BENCH_H
/* The bench file: what stands on the bench and does not change from set to set, said once.  The format: docs/bench.md.
 */
#include "../uncertainty/uncertainty.h"

#ifdef __cplusplus
extern "C" {
#endif

/** One thing the file says.  `name` is that of the option that says the same ("pad", "max-input"), `value` as that
 * option takes it: whoever applies it reads it, and tells what is wrong with it by `place`. */
typedef struct spurity_bench_setting {
    const char *name, *key; /* key: as the file calls it, "max_input" */
    const char *value;      /* of a loss table: its path, from where the program stands */
    spurity_place place;
} spurity_bench_setting;

typedef struct spurity_bench spurity_bench;

/** Reads a bench file.  INVALID with file, line and key for what is no bench file; SYSTEM.  Free with
 * spurity_bench_free. */
SPURITY_API spurity_status spurity_bench_load(const char *path, spurity_bench **bench, spurity_error *error);
/** As spurity_bench_load, from memory; `name` names it in messages, and its folder is that of the loss tables. */
SPURITY_API spurity_status spurity_bench_load_memory(const char *name, const char *yaml, size_t size,
                                                     spurity_bench **bench, spurity_error *error);
SPURITY_API void spurity_bench_free(spurity_bench *bench); /* NULL is fine */

/** Borrowed, valid while the bench lives. Chain first, in order from the set; NULL when index is out of range. */
SPURITY_API size_t spurity_bench_setting_count(const spurity_bench *bench);
SPURITY_API const spurity_bench_setting *spurity_bench_setting_at(const spurity_bench *bench, size_t index);
SPURITY_API const char *spurity_bench_title(const spurity_bench *bench); /* "" none */
/** What the file says of uncertainty, defaults where it is silent; NULL when it has no budget. */
SPURITY_API const spurity_budget *spurity_bench_budget(const spurity_bench *bench);

/** Reads a budget file (format: spurity-budget): what stands under `budget` in a bench file, alone. */
SPURITY_API spurity_status spurity_budget_load(const char *path, spurity_budget *budget, spurity_error *error);
SPURITY_API spurity_status spurity_budget_load_memory(const char *name, const char *yaml, size_t size,
                                                      spurity_budget *budget, spurity_error *error);

/** A bench file to begin one's own with, every key in it with a comment. */
SPURITY_API const char *spurity_bench_template(void);

#ifdef __cplusplus
}
#endif
#endif
