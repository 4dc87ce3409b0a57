/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: a library with a foreign name, state of its own, and a mouth; tests/house/symbols.sh has to refuse
 * each of them. */
#include <stdio.h>
#include <stdlib.h>

int canary_foreign_name(int times);

static int kept;

__attribute__((visibility("default"))) int canary_foreign_name(int times)
{
    kept += times;
    printf("%d %s\n", kept, getenv("HOME"));
    return kept;
}
