/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_RULES_SCHEMA_H
#define SPURITY_RULES_SCHEMA_H
/* A rule file as libcyaml reads it: text only.  libcyaml 1.3.1 takes "3x" for 3 and "1e999" for infinity, so quantities
 * are read by the units stage afterwards (build.c).  NULL: the key is absent. */
#include <cyaml/cyaml.h>

#include "../error/error.h"

/** Ends of a range; `of` and `from_centre_of` only where the schema has them. */
struct raw_range {
    char *from, *up_to, *above, *below, *of, *from_centre_of;
};
struct raw_dates {
    struct raw_range *installed, *marketed, *built;
};
struct raw_band {
    char *from, *up_to, *centre, *width;
};
struct raw_applies {
    struct raw_range *carrier, *power, *bandwidth;
    struct raw_dates *dates;
    char *audio_filter;
    char **station, **emission, **channels;
    unsigned station_count, emission_count, channels_count;
    struct raw_band *bands;
    unsigned bands_count;
};
struct raw_unless {
    char *installed_before, *marketed_before, *built_before;
};
struct raw_where {
    char *from, *around, *width;
    struct raw_range *offset, *absolute;
};
struct raw_suppression {
    char *fixed, *a, *b, *log10, *times, *below;
};
struct raw_limit {
    char *level, *of;
    struct raw_suppression *suppression;
    struct raw_limit *lowest_of, *highest_of;
    unsigned lowest_of_count, highest_of_count;
};
struct raw_clause {
    char *clause, *citation, *edition, *status, *says, *group, *quantity, *reference_bandwidth, *detector;
    struct raw_applies *applies;
    struct raw_unless *unless;
    unsigned unless_count;
    struct raw_where *where;
    struct raw_limit *limit;
    struct raw_band *bands;
    unsigned bands_count;
};
struct raw_channel {
    char *number, *frequency, *bandwidth, *power, *of;
};
struct raw_bandwidth {
    char *channel, *authorised;
    struct raw_range *carrier;
    char **emission;
    unsigned emission_count;
};
struct raw_span {
    struct raw_range *carrier;
    char *from, *up_to, *harmonics, *citation, *status;
};
struct raw_file {
    char *format, *version, *id, *title, *edition, *antenna;
    struct raw_bandwidth *bandwidths;
    unsigned bandwidths_count;
    struct raw_span *investigated;
    unsigned investigated_count;
    struct raw_channel *channels;
    unsigned channels_count;
    struct raw_clause *clauses;
    unsigned clauses_count;
};

extern const cyaml_schema_value_t spurity_rules_schema;
/** Reads a checked document. */
spurity_status spurity_rules_read_raw(const char *name, const char *yaml, size_t size, struct raw_file **raw,
                                      spurity_error *error);
void spurity_rules_free_raw(struct raw_file *raw);
#endif
