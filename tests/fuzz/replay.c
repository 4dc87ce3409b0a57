/* SPDX-License-Identifier: GPL-2.0-or-later */
/* replay FOLDER: every file of a corpus once through the harness, without a fuzzer. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static int replay(const char *path)
{
    enum { MOST = 1 << 22 };
    FILE *in = fopen(path, "rb");
    uint8_t *bytes = malloc(MOST);
    if (!in || !bytes) {
        fprintf(stderr, "cannot read %s\n", path);
        exit(1);
    }
    size_t size = fread(bytes, 1, MOST, in);
    fclose(in);
    /* A copy of its own size, so that a sanitizer guards its end. */
    uint8_t *exact = realloc(bytes, size ? size : 1);
    LLVMFuzzerTestOneInput(exact ? exact : bytes, size);
    free(exact ? exact : bytes);
    return 1;
}

int main(int count, char **arguments)
{
    DIR *folder = count == 2 ? opendir(arguments[1]) : NULL;
    if (!folder) {
        fprintf(stderr, "usage: replay FOLDER\n");
        return 1;
    }
    int files = 0;
    for (struct dirent *entry; (entry = readdir(folder));) {
        char path[1200];
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/%s", arguments[1], entry->d_name);
        files += replay(path);
    }
    closedir(folder);
    printf("%d files\n", files);
    return files ? 0 : 1; /* an empty corpus proves nothing */
}
