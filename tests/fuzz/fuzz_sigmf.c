/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as the metadata of a recording: alone, and in an archive beside a few samples. */
#include <stdio.h>

#include "read_any.h"

enum { BLOCK = 512, SAMPLES = 1000 };

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/** A plain tar header (POSIX.1-1988): name, size and checksum are all a reader needs. */
static void put_header(unsigned char *block, const char *name, size_t size)
{
    unsigned sum = 0;
    memset(block, 0, BLOCK);
    snprintf((char *)block, 100, "%s", name);
    snprintf((char *)block + 100, 8, "0000644");
    snprintf((char *)block + 124, 12, "%011zo", size);
    snprintf((char *)block + 136, 12, "%011o", 0u);
    memset(block + 148, ' ', 8);
    block[156] = '0';
    memcpy(block + 257, "ustar\00000", 8);
    for (size_t i = 0; i < BLOCK; i++)
        sum += block[i];
    snprintf((char *)block + 148, 8, "%06o", sum);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const size_t padded = (size + BLOCK - 1) / BLOCK * BLOCK, all = BLOCK + padded + BLOCK + 2 * BLOCK + 2 * BLOCK;
    spurity_read_options options;
    spurity_read_options_init(&options);
    read_any("a.sigmf-meta", data, size, NULL, SPURITY_READ_TRACE);
    unsigned char *archive = calloc(1, all);
    need(archive != NULL);
    put_header(archive, "a.sigmf-meta", size);
    if (size)
        memcpy(archive + BLOCK, data, size);
    put_header(archive + BLOCK + padded, "a.sigmf-data", SAMPLES);
    for (size_t i = 0; i < SAMPLES; i++)
        archive[2 * BLOCK + padded + i] = (unsigned char)(i * 7);
    read_any("a.sigmf", archive, all, NULL, SPURITY_READ_TRACE);
    options.channel = 1;
    options.hash = true;
    read_any("a.sigmf", archive, all, &options, SPURITY_READ_TRACE);
    options.channel = 0;
    options.rate_hz = 1e6;
    options.center_hz = 1e8;
    options.datatype_said = true;
    options.datatype = (spurity_sample_format){.component = SPURITY_COMPONENT_I16, .is_complex = true};
    options.swapped = true;
    read_any("a.sigmf", archive, all, &options, SPURITY_READ_TRACE);
    free(archive);
    return 0;
}
