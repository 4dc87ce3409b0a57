/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as a two-port file, of each name that tells the number of ports, into each impedance. */
#include "read_any.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const names[] = {"part.s2p", "part.s1p", "part.ts", "part.txt"};
    spurity_read_options options;
    spurity_read_options_init(&options);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        read_any(names[i], data, size, &options, SPURITY_READ_LOSS);
    options.impedance_ohm = 75;
    read_any("part.s2p", data, size, &options, SPURITY_READ_LOSS);
    read_any("part.s2p", data, size, &options, SPURITY_READ_TRACE);
    return 0;
}
