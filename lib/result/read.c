/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <stdlib.h>

#include "../error/json.h"
#include "internal.h"

/* A result of a crowded sweep is some hundred kilobytes; jansson itself knows no bound. */
enum { SIZE_CAP = 64 << 20 };

spurity_status spurity_result_read(const char *name, const char *text, size_t size, spurity_result **result,
                                   spurity_error *error)
{
    *result = NULL;
    if (size > SIZE_CAP)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = name}, "at most 64 MiB",
                               "give the file that --json wrote", "%zu bytes", size);
    json_error_t fault;
    bool no_memory = false;
    json_t *root = spurity_json_load(text, size, &fault, &no_memory);
    if (no_memory)
        return spurity_report_memory(error);
    if (!root) {
        spurity_place at = {.file = name,
                            .line = fault.line > 0 ? (unsigned long)fault.line : 0,
                            .column = fault.column > 0 ? (unsigned long)fault.column : 0};
        return spurity_report(error, SPURITY_INVALID, at, fault.text, "a JSON object as --json writes it", NULL);
    }
    spurity_status status = spurity_schema_check(name, root, error);
    spurity_result *made = status ? NULL : calloc(1, sizeof *made);
    if (!made) {
        json_decref(root);
        return status ? status : spurity_report_memory(error);
    }
    made->root = root;
    *result = made;
    return SPURITY_OK;
}
