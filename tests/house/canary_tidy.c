/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: a pointer found to be NULL and followed all the same, which clang-tidy has to find.  In no build.
 */
#include <stddef.h>

static int first(const int *numbers)
{
    int missing = numbers == NULL;
    return numbers[0] + missing;
}

int main(int argc, char **argv)
{
    (void)argv;
    return first(argc > 1 ? &argc : NULL);
}
