/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: signed overflow.  UBSan has to end this with a non-zero status; tests/house/canary.sh sees to it.
 */
#include <limits.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    (void)argv;
    volatile int largest = INT_MAX;
    int sum = largest + argc;
    printf("survived with %d\n", sum);
    return 0;
}
