/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Takes an allocation that fails wrongly on purpose; faults.c must notice. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void leave(const char *name, const char *words)
{
    FILE *file = fopen(name, "w");
    if (file) {
        fputs(words, file);
        fclose(file);
    }
}

int main(int argc, char **argv)
{
    const char *how = argc > 1 ? argv[1] : "";
    char *volatile kept = malloc(100), *volatile wanted = kept ? malloc(200) : NULL;
    if (wanted) {
        strcpy(wanted, "a result\n");
        leave("result", wanted);
        free(wanted);
        free(kept);
        return 0;
    }
    if (kept && !strcmp(how, "crash"))
        wanted[0] = 'a';
    if (kept && !strcmp(how, "silent"))
        leave("result", "another result\n");
    if (kept && !strcmp(how, "half"))
        leave("result", "a res");
    if (kept && !strcmp(how, "behind"))
        leave("result-XXXX", "a result\n");
    if (!kept || strcmp(how, "mute") != 0)
        fputs("spurity: no memory left\n", stderr);
    if (!kept || strcmp(how, "leak") != 0)
        free(kept);
    kept = NULL;
    return !strcmp(how, "silent") ? 0 : 4;
}
