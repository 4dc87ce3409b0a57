/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: memory used after it was given back, which clang-tidy has to find.  In no build. */
#include <stdlib.h>

int main(void)
{
    char *given = malloc(10);
    if (!given)
        return 1;
    free(given);
    return given[0];
}
