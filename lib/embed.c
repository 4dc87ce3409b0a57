/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Build helper: writes a file as a C array.  embed OUTPUT SYMBOL INPUT [SYMBOL INPUT]... */
#include <stdio.h>

static int embed_one(FILE *out, const char *symbol, const char *input)
{
    FILE *in = fopen(input, "rb");
    if (!in) {
        perror(input);
        return 1;
    }
    fprintf(out, "const unsigned char %s[] = {", symbol);
    unsigned long size = 0;
    for (int byte = getc(in); byte != EOF; byte = getc(in))
        fprintf(out, "%s%d,", size++ % 24 ? "" : "\n", byte);
    fprintf(out, "\n0};\nconst unsigned long %s_size = %luUL;\n", symbol, size);
    fclose(in);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc < 4 || argc % 2) {
        fprintf(stderr, "usage: embed OUTPUT SYMBOL INPUT [SYMBOL INPUT]...\n");
        return 2;
    }
    FILE *out = fopen(argv[1], "wb");
    if (!out) {
        perror(argv[1]);
        return 1;
    }
    int failed = 0;
    for (int i = 2; i + 1 < argc; i += 2) {
        fprintf(out, "extern const unsigned char %s[];\nextern const unsigned long %s_size;\n", argv[i], argv[i]);
        failed |= embed_one(out, argv[i], argv[i + 1]);
    }
    return fclose(out) || failed;
}
