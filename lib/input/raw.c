/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Samples without a header: --rate and --datatype tell what they are, or the file's name tells the datatype. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "samples.h"

enum { SKIP_BLOCK = 1 << 16 };

/* Suffixes besides the datatypes' own names ("cu8", "ci16_le"): "s" for signed is common practice. */
static const struct {
    const char *suffix, *datatype;
} suffixes[] = {{"cs8", "ci8"}, {"cs16", "ci16_le"}, {"cs32", "ci32_le"}};

static bool by_suffix(const char *name, spurity_sample_format *format)
{
    const char *dot = strrchr(name, '.');
    if (!dot)
        return false;
    for (size_t i = 0; i < sizeof suffixes / sizeof *suffixes; i++)
        if (!strcasecmp(dot + 1, suffixes[i].suffix))
            return spurity_sample_format_parse(suffixes[i].datatype, strlen(suffixes[i].datatype), format, NULL);
    return spurity_sample_format_parse(dot + 1, strlen(dot + 1), format, NULL);
}

/** With one of --rate and --datatype alone only what no other reader knows is claimed, to ask for the other.
 * Bytes to skip are said of a header that is to be passed by, whatever it is. */
static int probe(const spurity_input *input)
{
    spurity_sample_format format;
    const bool rate = input->options->rate_hz > 0, datatype = input->options->datatype_said;
    if (input->purpose == SPURITY_READ_TRACE && (rate || datatype) && !spurity_input_is_plain_text(input))
        return rate && datatype                  ? (input->options->skip_bytes > 0 ? 96 : 92)
               : by_suffix(input->name, &format) ? 70
                                                 : 20;
    return by_suffix(input->name, &format) ? 70 : 0;
}

static spurity_status format_of(spurity_input *input, struct spurity_layout *plan, spurity_recording *recording,
                                spurity_error *error)
{
    spurity_sample_format by_name;
    char name[8], other[8];
    const bool named = by_suffix(input->name, &by_name), said = input->options->datatype_said;
    if (!named && !said)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "no datatype",
                              "how the samples stand in the file", "say it, such as --datatype ci16_le");
    plan->format = said ? input->options->datatype : by_name;
    plan->format.swapped = false;
    spurity_sample_format_name(plan->format, name, sizeof name);
    spurity_input_found(recording, "datatype", name, "--datatype", 0, !said, "%s",
                        said ? "said by --datatype" : "by the file's suffix");
    if (named && said && strcmp(name, spurity_sample_format_name(by_name, other, sizeof other)))
        spurity_input_contradiction(input, "'%s': --datatype says %s, the file's suffix %s; --datatype is taken",
                                    input->name, name, other);
    return SPURITY_OK;
}

static spurity_status skip_bytes(struct spurity_bytes *bytes, uint64_t left, spurity_error *error)
{
    unsigned char *block = malloc(SKIP_BLOCK);
    spurity_status status = block ? SPURITY_OK : spurity_report_memory(error);
    for (size_t got = 1; !status && left && got; left -= got)
        status = spurity_bytes_next(bytes, block, left < SKIP_BLOCK ? (size_t)left : SKIP_BLOCK, &got, error);
    free(block);
    return status;
}

static spurity_status open_plan(spurity_input *input, struct spurity_layout *plan, struct spurity_bytes *bytes,
                                spurity_recording *recording, spurity_error *error)
{
    const double skip = input->options->skip_bytes;
    if (!(skip >= 0 && skip < 9e18))
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "a number of bytes", NULL,
                               "%g bytes to skip", skip);
    spurity_status status = bytes->pipe ? skip_bytes(bytes, (uint64_t)skip, error)
                                        : spurity_layout_whole(input, plan, bytes, (uint64_t)skip, error);
    return status ? status : spurity_layout_open(input, plan, bytes, recording, error);
}

static spurity_status read_raw(spurity_input *input, spurity_recording *recording, spurity_error *error)
{
    struct spurity_layout plan;
    struct spurity_bytes bytes;
    spurity_layout_init(&plan);
    spurity_status status = spurity_bytes_take(input, &bytes, error);
    if (!status)
        status = format_of(input, &plan, recording, error);
    if (!status)
        status = spurity_layout_channel(input, &plan, NULL, recording, error);
    if (!status)
        status = spurity_layout_settle(input, &plan, recording, error);
    if (!status)
        status = open_plan(input, &plan, &bytes, recording, error);
    spurity_bytes_close(&bytes);
    spurity_layout_free(&plan);
    return status;
}

const spurity_reader spurity_reader_raw = {
    .name = "raw", .title = "raw samples", .probe = probe, .read = read_raw, .captures = true};
