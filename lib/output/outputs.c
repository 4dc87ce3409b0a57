/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The table of picture kinds, and the way from a result to a picture's bytes. */
#include <string.h>

#include "internal.h"

/* How a whole file ends: gnuplot exits with 0 on a full disk, so its word alone is not enough. */
static const spurity_picture_kind kinds[] = {
    {"svg", "</svg>\n", 7, 16},
    {"png", "IEND\xAE\x42\x60\x82", 8, 8}, /* PNG specification (ISO/IEC 15948), 11.2.5 with the CRC of an empty IEND */
    {"pdf", "%%EOF", 5, 16},               /* ISO 32000-1, 7.5.5 */
};

enum { SECONDS_MOST = 60 };

const spurity_picture_kind *spurity_picture_kind_of(const char *name)
{
    for (size_t i = 0; name && i < sizeof kinds / sizeof kinds[0]; i++)
        if (!strcmp(kinds[i].name, name))
            return &kinds[i];
    return NULL;
}

static bool ends_well(const spurity_picture_kind *kind, const spurity_buffer *picture)
{
    if (picture->size < kind->trailer_size)
        return false;
    for (size_t back = kind->trailer_size; back <= kind->slack && back <= picture->size; back++)
        if (!memcmp(picture->data + picture->size - back, kind->trailer, kind->trailer_size))
            return true;
    return false;
}

spurity_status spurity_picture_kind_find(const char *name, const spurity_picture_kind **kind, spurity_error *error)
{
    *kind = spurity_picture_kind_of(name);
    if (*kind)
        return SPURITY_OK;
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "svg, png or pdf",
                           "end the picture's name in .svg, .png or .pdf", "picture kind '%s'", name ? name : "");
}

spurity_status spurity_picture_draw(const spurity_picture_kind *kind, const spurity_buffer *program, spurity_bytes *out,
                                    spurity_error *error)
{
    spurity_buffer picture = {0};
    spurity_status status = spurity_gnuplot_run("gnuplot", program, SECONDS_MOST, &picture, error);
    if (!status && !ends_well(kind, &picture))
        status = spurity_report(error, SPURITY_SYSTEM, (spurity_place){0}, "a picture cut short by gnuplot", NULL,
                                "see whether a disk is full");
    if (!status)
        status = spurity_buffer_give(&picture, out, error);
    spurity_buffer_release(&picture);
    return status;
}

spurity_status spurity_output_picture(const spurity_result *result, const char *kind_name, spurity_bytes *out,
                                      spurity_error *error)
{
    const spurity_picture_kind *kind = NULL;
    spurity_buffer program = {0};
    *out = (spurity_bytes){0};
    spurity_status status = spurity_picture_kind_find(kind_name, &kind, error);
    if (!status)
        status = spurity_picture_program(result, kind->name, &program, error);
    if (!status)
        status = spurity_picture_draw(kind, &program, out, error);
    spurity_buffer_release(&program);
    return status;
}
