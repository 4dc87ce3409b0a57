/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: a NULL followed, two calls deep, which clang-tidy has to find.  In no build. */
#include <stddef.h>

static const int *found(int wanted)
{
    static const int known[] = {1, 2, 3};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (known[i] == wanted)
            return &known[i];
    return NULL;
}

int main(int argc, char **argv)
{
    (void)argv;
    return *found(argc);
}
