/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as a text sweep, a block, or a loss table, with and without what a user might say. */
#include "read_any.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    spurity_read_options options;
    spurity_read_options_init(&options);
    read_any("sweep.csv", data, size, NULL, SPURITY_READ_TRACE);
    read_any("loss.csv", data, size, NULL, SPURITY_READ_LOSS);
    options.frequency_unit_hz = 1e6;
    options.level_unit = SPURITY_LEVEL_DBUV;
    options.start_hz = 1e6;
    options.stop_hz = 2e6;
    options.trace = "2";
    read_any("sweep.csv", data, size, &options, SPURITY_READ_TRACE);
    options.trace = NULL;
    options.decimal_mark = ',';
    options.level_unit = SPURITY_LEVEL_WATT;
    options.element = SPURITY_ELEMENT_F32_LE;
    options.carrier_hz = 146.94e6;
    read_any("sweep.csv", data, size, &options, SPURITY_READ_TRACE);
    return 0;
}
