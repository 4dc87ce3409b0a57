/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Wrong on purpose: a narrowing and a shadow, which -Werror has to refuse; tests/house/canary.sh sees to it. */
static short narrowed(int wide)
{
    return wide;
}

int main(int argc, char **argv)
{
    (void)argv;
    int value = argc;
    if (value > 1) {
        int value = narrowed(argc);
        return value;
    }
    return 0;
}
