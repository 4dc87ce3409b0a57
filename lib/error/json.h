/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_ERROR_JSON_H
#define SPURITY_ERROR_JSON_H
/* JSON read so that memory that is out is never taken for what the text says.  No door: a helper every stage may use
 * (tests/house/stages.txt), not installed. */
#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

/** As json_loadb with JSON_REJECT_DUPLICATES.  NULL with *no_memory false: the text is at fault, and *fault tells how.
 */
json_t *spurity_json_load(const char *text, size_t size, json_error_t *fault, bool *no_memory);
#endif
