/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_RULES_INTERNAL_H
#define SPURITY_RULES_INTERNAL_H
/* Rooms of the rules stage: what a loaded clause is made of.  The way in: ../document (events, places, limits) checks
 * the file against schema.c, libcyaml reads it into the raw structs of schema.h, build.c gives it meaning. */
#include <math.h>

#include "../document/document.h"
#include "rules.h"
#include "schema.h"

/** One end of a range. */
struct rules_end {
    double value;
    bool set, inclusive;
    bool percent; /* value is % of the authorised bandwidth (where only) */
};
struct rules_range {
    struct rules_end low, high;
    unsigned long line;
};

bool spurity_range_is_set(const struct rules_range *range);
bool spurity_range_holds(const struct rules_range *range, double value);
bool spurity_range_equal(const struct rules_range *a, const struct rules_range *b);
/** "from 30 MHz up to 225 MHz", "above 25 W"; `print` writes one value. */
typedef char *rules_print(char *text, size_t size, double value);
void spurity_range_describe(const struct rules_range *range, rules_print *print, char *text, size_t size);
char *spurity_print_frequency(char *text, size_t size, double hz);
/** Shortest decimal of at most six places, with a point whatever the locale. */
char *spurity_print_plain(char *text, size_t size, double value);
char *spurity_print_date(char *text, size_t size, double date);

enum rules_where_kind { WHERE_ANYWHERE, WHERE_FROM, WHERE_OFFSET, WHERE_ABSOLUTE, WHERE_HARMONICS };
struct rules_where {
    enum rules_where_kind kind;
    bool from_necessary_bandwidth; /* WHERE_FROM: edge is half the necessary bandwidth */
    bool from_spurious_domain;     /* WHERE_FROM: edge is the boundary of the spurious domain */
    bool from_channel_centre;      /* WHERE_OFFSET: measured from the channel's frequency, else from the carrier */
    struct rules_range range;      /* offsets, or absolute; WHERE_FROM uses low only */
    struct rules_range within;     /* WHERE_FROM, WHERE_OFFSET: and only at these frequencies */
    struct rules_end width;        /* WHERE_HARMONICS: whole width around each harmonic */
};

struct rules_exemption {
    spurity_date_kind kind;
    spurity_date before;
};

struct rules_channel {
    const char *number;
    double frequency_hz, bandwidth_hz, power_w; /* NaN: not said */
    bool power_is_said_of;
    unsigned long line;
    spurity_reference power_of;
};

/** One width a service knows: of the channel, and what is authorised in it. */
struct rules_bandwidth {
    double channel_hz, authorised_hz; /* channel_hz NaN: not said */
    struct rules_range carrier;
    char *const *emissions; /* of the raw file; none: every emission */
    size_t emission_count;
    unsigned long line;
};

/** What is to be looked through for a carrier in a range. */
struct rules_span {
    struct rules_range carrier;
    double from_hz, up_to_hz; /* up_to_hz NaN: not said */
    double harmonics;         /* NaN: not said */
    const char *citation;
    bool confirmed;
    unsigned long line;
};

/** Reference bandwidth: one figure, another from a step on, or the ITU's. */
struct rules_reference {
    bool said, itu;
    double hz, step_hz, above_hz; /* step_hz NaN: one figure */
};

enum rules_variable { VARIABLE_POWER, VARIABLE_OFFSET, VARIABLE_FREQUENCY };
enum rules_form { FORM_FIXED, FORM_LOG10, FORM_TIMES };
enum rules_level_unit { LEVEL_DBM, LEVEL_HZ, LEVEL_PPM };

struct spurity_limit {
    spurity_limit_kind kind;
    unsigned long line;
    const struct spurity_clause *clause;
    /* level */
    double level; /* dBm, Hz or ppm */
    enum rules_level_unit unit;
    /* suppression: a + b * log10(x^exponent / scale) or a + b * (x - minus) / scale, dB */
    spurity_reference reference; /* of a level in a carrier power clause: which power it caps */
    enum rules_form form;
    double a, b, minus, scale;
    int exponent;
    enum rules_variable variable;
    const char *argument; /* as the file writes it */
    /* trees */
    struct spurity_limit *children;
    size_t child_count;
};

struct spurity_clause {
    spurity_clause_facts facts; /* texts belong to the raw file */
    const struct spurity_rules *rules;
    struct rules_range carrier, power, bandwidth, dates[3];
    spurity_reference power_of;
    double *applies_bands; /* pairs, Hz */
    size_t applies_band_count;
    char *const *emissions, *const *stations, *const *channels; /* of the raw file */
    size_t emission_count, station_count, channel_count;
    int audio_filter; /* -1: the clause does not ask */
    struct rules_exemption *exemptions;
    size_t exemption_count;
    struct rules_where where;
    struct rules_reference reference;
    struct spurity_limit limit;
    double *bands; /* pairs, Hz */
};

struct spurity_rules {
    struct raw_file *raw;
    struct spurity_clause *clauses;
    size_t clause_count;
    struct rules_channel *channels;
    size_t channel_count;
    struct rules_bandwidth *bandwidths;
    size_t bandwidth_count;
    struct rules_span *spans;
    size_t span_count;
    bool antenna_fixed;
    char sha256[65]; /* of the text, lower-case hex */
};

/* ---- words ---- */

extern const char *const spurity_reference_words[];
extern const char *const spurity_power_words[];
extern const char *const spurity_quantity_words[];

/* ---- loading ---- */

/** Everything a message needs. */
struct rules_loader {
    const struct document *document;
    spurity_error *error;
};
/** INVALID at a node: "<found> at clauses/2/limit". */
spurity_status spurity_rules_bad(const struct rules_loader *loader, int node, const char *expected, const char *advice,
                                 const char *format, ...) SPURITY_PRINTF(5, 6);
/** A word of a closed list; tells the nearest. */
spurity_status spurity_rules_word(const struct rules_loader *loader, int node, const char *const *words,
                                  const char *text, int *index);

enum rules_measure { MEASURE_FREQUENCY, MEASURE_POWER, MEASURE_LEVEL, MEASURE_RATIO, MEASURE_PPM, MEASURE_DATE };
/** A quantity with its unit: a figure without one is a mistake. */
spurity_status spurity_rules_quantity(const struct rules_loader *loader, int node, const char *text,
                                      enum rules_measure measure, double *value);
/** A frequency, or "250 %" where `percent_allowed`. */
spurity_status spurity_rules_width(const struct rules_loader *loader, int node, const char *text,
                                   struct rules_end *end);
spurity_status spurity_rules_range(const struct rules_loader *loader, int node, const struct raw_range *raw,
                                   enum rules_measure measure, bool percent_allowed, struct rules_range *range);
/** raw may be NULL (an absent key): the range stays open. */
spurity_status spurity_rules_bands(const struct rules_loader *loader, int node, const struct raw_band *raw,
                                   size_t count, double **pairs);

spurity_status spurity_rules_build_limit(const struct rules_loader *loader, int node, const struct raw_limit *raw,
                                         struct spurity_clause *clause);
void spurity_limit_release(struct spurity_limit *limit);
spurity_status spurity_rules_build_where(const struct rules_loader *loader, int node, const struct raw_where *raw,
                                         struct rules_where *where);
/** Fills rules (whose raw is set) from its raw file. */
spurity_status spurity_rules_build(const struct rules_loader *loader, struct spurity_rules *rules);

/* ---- conditions ---- */

/** Unknown conditions are NaN or 0. */
static inline bool spurity_known(double value)
{
    return isfinite(value) && value > 0.0;
}
/** Power a reference means, W; NaN unknown.  "strongest in bandwidth" is taken as the mean power. */
double spurity_reference_watts(spurity_reference reference, const spurity_conditions *conditions);
/** Channel of the file's table that holds the carrier (nearest, within half its bandwidth); NULL none. */
const struct rules_channel *spurity_rules_channel_of(const struct spurity_rules *rules,
                                                     const spurity_conditions *conditions);
/** Authorised bandwidth: what was told read by the service's table, else the table's or the channel's; NaN unknown. */
double spurity_clause_bandwidth(const struct spurity_clause *clause, const spurity_conditions *conditions);
/** Frequency offsets are counted from; NaN unknown. */
double spurity_centre_hz(const struct spurity_clause *clause, const spurity_conditions *conditions);
/** Inner edge in Hz from the centre, 0 when there is none; NaN while it is unknown. */
double spurity_where_low(const struct spurity_clause *clause, const spurity_conditions *conditions);
/** "16K0F3E" and "F3E" are one type.  Whether `text` is of a type in the list. */
bool spurity_emissions_hold(char *const *list, size_t count, const char *text);
bool spurity_where_uses_percent(const struct rules_where *where);
bool spurity_bands_hold(const double *pairs, size_t count, double hz);
extern const char *const spurity_date_words[]; /* by spurity_date_kind: "installed" ... */
/** Adds a word to a list unless it stands there whole, or has no room. */
void spurity_list_add(char *list, size_t size, const char *separator, const char *word);
/** Adds a word to a blank-separated list unless it stands there. */
void spurity_needs_add(char *needs, size_t size, const char *option);

/* ---- lint ---- */

struct rules_lint {
    void (*remark)(void *user, const spurity_rule_remark *);
    void *user;
    double *steps_left; /* of trying out: no file, however made, holds the lint up for long */
};
void spurity_lint_doubt(const struct rules_lint *lint, unsigned long line, const char *format, ...)
    SPURITY_PRINTF(3, 4);
/** Whether a clause can bind at all, whether each branch of its limit can decide it, and whether the next clause
 * further out goes on where it ends. */
void spurity_lint_reach(const struct rules_lint *lint, const struct spurity_clause *clause);
#endif
