/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: memory nobody can reach any more.  LeakSanitizer (or valgrind) has to end this with a non-zero
 * status; tests/house/canary.sh sees to it. */
#include <stdio.h>
#include <stdlib.h>

static char *volatile held;

static void lose(size_t size)
{
    held = malloc(size);
    if (held)
        held[0] = 1;
    held = NULL;
}

int main(void)
{
    for (size_t size = 100; size < 110; size++)
        lose(size);
    printf("survived\n");
    return 0;
}
