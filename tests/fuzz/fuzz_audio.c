/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as an audio file, with and without what a user might say, and as samples without a header. */
#include "read_any.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    spurity_read_options options;
    spurity_read_options_init(&options);
    read_any("a.wav", data, size, NULL, SPURITY_READ_TRACE);
    options.channel = 2;
    read_any("a.wav", data, size, &options, SPURITY_READ_TRACE);
    options.channel = 0;
    options.rate_hz = 1e6;
    options.swapped = true;
    read_any("a.cu8", data, size, &options, SPURITY_READ_TRACE);
    options.skip_bytes = 44;
    options.datatype_said = true;
    options.datatype = (spurity_sample_format){.component = SPURITY_COMPONENT_F64, .is_complex = true};
    read_any("a", data, size, &options, SPURITY_READ_TRACE);
    return 0;
}
