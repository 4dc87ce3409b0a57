/* SPDX-License-Identifier: GPL-2.0-or-later */
/* measure_sweep FILE PAD: the carrier of a sweep behind a pad, by the installed library. */
#include <spurity/spurity.h>
#include <stdio.h>

int main(int argc, char **argv)
{
    spurity_error error = {0};
    spurity_chain *chain = NULL;
    spurity_measurement *measured = NULL;
    spurity_source source = {.path = argc > 1 ? argv[1] : "-"};
    spurity_test_point point;
    spurity_read_options_init(&source.read);
    spurity_test_point_init(&point);
    spurity_status status = spurity_chain_create(&chain, &error);
    if (!status)
        status = spurity_chain_add_pad_text(chain, argc > 2 ? argv[2] : "0dB", &error);
    source.chain = chain;
    point.sources = &source;
    point.source_count = 1;
    if (!status)
        status = spurity_measure(&point, NULL, &measured, &error);
    if (!status) {
        const spurity_carrier *carrier = spurity_measurement_carrier(measured);
        printf("%.6f MHz %.2f dBm\n", carrier->frequency_hz / 1e6, carrier->level_dbm);
    } else {
        char text[900];
        spurity_error_describe(&error, text, sizeof text);
        fprintf(stderr, "measure_sweep: %s\n", text);
    }
    spurity_measurement_free(measured);
    spurity_chain_free(chain);
    return status != SPURITY_OK;
}
