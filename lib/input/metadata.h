/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_METADATA_H
#define SPURITY_INPUT_METADATA_H
/* SigMF metadata (specification 1.2.5): JSON to what a capture needs.  Every fault is told with its path in the
 * document. */
#include "samples.h"

enum { SPURITY_METADATA_MOST = 64 << 20 };

struct spurity_metadata_segment {
    uint64_t start;              /* sample, as told */
    uint64_t header_bytes;       /* before it */
    size_t order;                /* in the document, so that sorting keeps it */
    double center_hz, usable_hz; /* NaN = not told */
    bool overload, apart;        /* apart: samples were lost before it, or it carries its own time */
};

struct spurity_metadata {
    bool datatype_told, order_assumed;
    spurity_sample_format format;
    double rate_hz; /* 0 = not told */
    int channels;
    uint64_t offset, trailing_bytes, header_bytes; /* header_bytes: of all segments */
    char dataset[256], sha512[129], title[120];    /* "" = not told */
    struct spurity_metadata_segment *segments;     /* by rising start; owned; none: one from sample 0 on */
    size_t segment_count;
    uint64_t annotated; /* sample behind the last one an annotation speaks of */
};

/** Reads the document; name is what messages call it.  Free with spurity_metadata_free also on failure. */
spurity_status spurity_metadata_read(const spurity_input *input, const char *name, const unsigned char *text,
                                     size_t size, struct spurity_metadata *metadata, spurity_recording *recording,
                                     spurity_error *error);
void spurity_metadata_free(struct spurity_metadata *metadata);

#endif
