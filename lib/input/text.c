/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The reader of delimited text. */
#include <stdlib.h>
#include <string.h>

#include "text.h"

static bool has_utf16_mark(const spurity_input *input)
{
    return input->head_size >= 2 && (!memcmp(input->head, "\xFF\xFE", 2) || !memcmp(input->head, "\xFE\xFF", 2));
}

/** Text with numbers could be a table; a NUL is only text in UTF-16 (every second byte of ASCII then). */
static int probe(const spurity_input *input)
{
    size_t seen = input->head_size < 4096 ? input->head_size : 4096, nul = 0, digits = 0, controls = 0;
    for (size_t i = 0; i < seen; i++) {
        unsigned char c = input->head[i];
        nul += !c;
        digits += c >= '0' && c <= '9';
        controls += c && c < 0x20 && (c < 9 || c > 13);
    }
    if (input->head[0] == '{' || controls * 10 > seen)
        return 0;
    if (nul && !has_utf16_mark(input) && !(nul * 10 >= seen * 4 && nul * 10 <= seen * 5 + 10))
        return 0;
    return digits ? 50 : 10;
}

static spurity_status read_text(spurity_input *input, spurity_recording *recording, spurity_error *error)
{
    struct text_stream stream;
    struct text_layout *layout = calloc(1, sizeof *layout);
    if (!layout)
        return spurity_report_memory(error);
    spurity_status status = spurity_text_open(&stream, input, error);
    if (!status)
        status = spurity_text_sniff(&stream, recording, layout, error);
    if (!status)
        status = input->purpose == SPURITY_READ_LOSS ? spurity_text_loss(&stream, layout, recording, error)
                                                     : spurity_text_rows(&stream, layout, recording, error);
    spurity_text_layout_free(layout);
    spurity_text_close(&stream);
    free(layout);
    return status;
}

const spurity_reader spurity_reader_text = {
    .name = "text", .title = "delimited text", .probe = probe, .read = read_text};
