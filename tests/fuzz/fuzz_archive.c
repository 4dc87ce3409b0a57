/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as an archive of a recording. */
#include "read_any.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.trace = "a";
    read_any("a.sigmf", data, size, NULL, SPURITY_READ_TRACE);
    read_any("a.sigmf", data, size, &options, SPURITY_READ_TRACE);
    return 0;
}
