/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_RULES_H
#define SPURITY_RULES_H
/* Rule files (YAML; their form: README.md of this stage) as clauses, and what a clause says of a transmitter
 * whose conditions are known.  Knows no measurement. */
#include "../units/units.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct spurity_rules spurity_rules;
typedef struct spurity_clause spurity_clause;
typedef struct spurity_limit spurity_limit;

/** A mistake found in a rule file, or a doubt of the lint. */
typedef struct spurity_rule_remark {
    unsigned long line;
    bool is_error; /* false: a doubt (unreachable branch, overlap, gap, missing unit) */
    char text[320];
} spurity_rule_remark;

/* ---- loading ------------------------------------------------------------------------------------- */

SPURITY_API size_t spurity_rules_builtin_count(void);
/** Id of a built-in file ("us-amateur"); NULL out of range. */
SPURITY_API const char *spurity_rules_builtin_id(size_t index);
/** `id_or_path` is a file if it holds '/' or ends in ".yaml", else a built-in id.  INVALID with file, line, column,
 * key, what was found and what is allowed (an unknown id: the nearest ids; a path where no file can be opened); SYSTEM
 * when reading fails. */
SPURITY_API spurity_status spurity_rules_load(const char *id_or_path, spurity_rules **rules, spurity_error *error);
/** From memory; name is used in messages. */
SPURITY_API spurity_status spurity_rules_load_memory(const char *name, const char *yaml, size_t size,
                                                     spurity_rules **rules, spurity_error *error);
SPURITY_API void spurity_rules_free(spurity_rules *rules); /* NULL is fine */
/** The text of a rule file to begin one of a user's own with: every form, with comments, figures invented.  Static. */
SPURITY_API const char *spurity_rules_template(void);

/** Texts and clauses are borrowed, valid while the rules live; NULL when index is out of range. */
SPURITY_API const char *spurity_rules_id(const spurity_rules *rules);
SPURITY_API const char *spurity_rules_title(const spurity_rules *rules);
SPURITY_API const char *spurity_rules_edition(const spurity_rules *rules);
/** SHA-256 of the file's text, lower-case hex: of a built-in file as it was built in. */
SPURITY_API const char *spurity_rules_sha256(const spurity_rules *rules);
SPURITY_API size_t spurity_rules_clause_count(const spurity_rules *rules);
SPURITY_API const spurity_clause *spurity_rules_clause(const spurity_rules *rules, size_t index);
/** Looks for unreachable branches, overlaps, gaps and figures without a unit; calls `remark` for each, with `user`.
 * The remark is valid during the call only. */
SPURITY_API void spurity_rules_lint(const spurity_rules *rules, void (*remark)(void *user, const spurity_rule_remark *),
                                    void *user);

/* ---- a clause ------------------------------------------------------------------------------------ */

typedef enum spurity_quantity_limited {
    SPURITY_QUANTITY_SPURIOUS_EMISSION,
    SPURITY_QUANTITY_MASK,
    SPURITY_QUANTITY_CARRIER_POWER,
    SPURITY_QUANTITY_FREQUENCY_ERROR,
    SPURITY_QUANTITY_OCCUPIED_BANDWIDTH,
    SPURITY_QUANTITY_PEAK_DEVIATION,
    SPURITY_QUANTITY_BAND,
    SPURITY_QUANTITY_NOTE,   /* words without a figure; shown, never judged */
    SPURITY_QUANTITY_CHANNEL /* the carrier is on a channel of the file's table; no limit (spurity_rules_channel) */
} spurity_quantity_limited;

typedef struct spurity_clause_facts {
    const char *clause;              /* "97.307(e)" */
    const char *citation;            /* "47 CFR 97.307(e), second sentence" */
    const char *says;                /* in our own words */
    const char *group;               /* "emissions" "power" "mask" "frequency" "modulation" */
    const char *detector;            /* "mean", "peak"; NULL unsaid */
    const char *reference_bandwidth; /* "itu" or a quantity; NULL unsaid */
    spurity_quantity_limited quantity;
    bool confirmed;             /* status: the text was read */
    unsigned long line;         /* in the rule file */
    const spurity_limit *limit; /* NULL for note and band */
    /* quantity band: the clause's list of bands the carrier must lie in, in Hz (pairs), else NULL/0 */
    const double *bands_hz;
    size_t band_count;
    const char *edition; /* the issue whose text was read, where it is not the file's own; NULL */
} spurity_clause_facts;
SPURITY_API void spurity_clause_facts_of(const spurity_clause *clause, spurity_clause_facts *facts);
SPURITY_API const char *spurity_quantity_limited_name(spurity_quantity_limited quantity); /* "spurious emission" ... */

/** What is known of the transmitter.  NaN, 0, NULL = not known.  Start with spurity_conditions_init. */
typedef struct spurity_conditions {
    double carrier_hz;
    double mean_power_w, pep_w, carrier_power_w;
    double necessary_bandwidth_hz; /* always known (default stated by measurement) */
    double bandwidth_hz;           /* authorised bandwidth, when told */
    spurity_date installed, marketed, built;
    const char *emission, *station;
    int audio_filter; /* -1 unknown */
    double antenna_gain_dbd;
} spurity_conditions;
SPURITY_API void spurity_conditions_init(spurity_conditions *conditions);

typedef enum spurity_applies { SPURITY_APPLIES_NO = 0, SPURITY_APPLIES_YES, SPURITY_APPLIES_UNKNOWN } spurity_applies;
/** Whether a clause binds under these conditions.  UNKNOWN: `needs` (may be NULL) gets the options that would settle
 * it, separated by blanks ("--installed --power"); `why` (may be NULL) gets a sentence in every case.  A kind of
 * station that is no word of the file settles nothing.  An exemption
 * (`unless`) holds only when its date is known; while unknown the clause binds. */
SPURITY_API spurity_applies spurity_clause_applies(const spurity_clause *clause, const spurity_conditions *conditions,
                                                   char *why, size_t why_size, char *needs, size_t needs_size);
/* ---- channels, bandwidths, range ----------------------------------------------------------------- */

typedef enum spurity_channel_found {
    SPURITY_CHANNEL_NO_TABLE, /* the service has no channels, or the file does not list them */
    SPURITY_CHANNEL_OFF,      /* the carrier lies on none */
    SPURITY_CHANNEL_ON
} spurity_channel_found;

/** A row of the file's table of channels.  number is borrowed from the rules. */
typedef struct spurity_channel {
    const char *number;
    double frequency_hz; /* nominal */
    double bandwidth_hz; /* authorised */
    double power_w;      /* most allowed, NaN where the table has none */
    int power_of;        /* a spurity_reference, -1 where the table does not say */
} spurity_channel;

SPURITY_API size_t spurity_rules_channel_count(const spurity_rules *rules);
/** False out of range. */
SPURITY_API bool spurity_rules_channel_at(const spurity_rules *rules, size_t index, spurity_channel *channel);
/** The channel the carrier is on: the nearest, if it lies within half that channel's bandwidth.  *channel (may be NULL)
 * is filled when ON, and with the nearest when OFF. */
SPURITY_API spurity_channel_found spurity_rules_channel(const spurity_rules *rules, double carrier_hz,
                                                        spurity_channel *channel);

typedef enum spurity_bandwidth_source {
    SPURITY_BANDWIDTH_UNKNOWN,
    SPURITY_BANDWIDTH_AS_TOLD,         /* told, and none of the service's table */
    SPURITY_BANDWIDTH_TOLD_AUTHORISED, /* told, and an authorised bandwidth of the table */
    SPURITY_BANDWIDTH_TOLD_CHANNEL,    /* told, and a channel width of the table: its authorised bandwidth is taken */
    SPURITY_BANDWIDTH_OF_CHANNEL,      /* untold: of the channel the carrier is on */
    SPURITY_BANDWIDTH_ONLY_ONE         /* untold: the one the service has for this carrier and emission */
} spurity_bandwidth_source;
/** Authorised bandwidth in Hz as the clauses take it (NaN: unknown), and where it came from. */
SPURITY_API spurity_bandwidth_source spurity_rules_bandwidth(const spurity_rules *rules,
                                                             const spurity_conditions *conditions,
                                                             double *authorised_hz);
/** "channel width 12.5 kHz, authorised 11.25 kHz" and the like; "" when unknown. */
SPURITY_API void spurity_rules_describe_bandwidth(const spurity_rules *rules, const spurity_conditions *conditions,
                                                  char *text, size_t size);

/** Range of spectrum the file wants looked through for a carrier, Hz.  False: the file says none for it. */
typedef struct spurity_rules_span {
    double from_hz, to_hz;
    const char *citation; /* borrowed */
    bool confirmed;
} spurity_rules_span;
SPURITY_API bool spurity_rules_investigated(const spurity_rules *rules, double carrier_hz, spurity_rules_span *span);

/** Sets of this service have a fixed antenna: a conducted reading is indicative only. */
SPURITY_API bool spurity_rules_antenna_fixed(const spurity_rules *rules);
/** Whether a kind of station is a word of this file's clauses; `allowed` (may be NULL) gets all of them, "" when no
 * clause asks. */
SPURITY_API bool spurity_rules_knows_station(const spurity_rules *rules, const char *station, char *allowed,
                                             size_t size);

/** Thresholds at which `applies` or `unless` changes: power in W; dates.  Returns how many there are; fills at most
 * `most`. */
SPURITY_API size_t spurity_clause_power_steps(const spurity_clause *clause, double *watts, size_t most);
typedef enum spurity_date_kind { SPURITY_DATE_INSTALLED, SPURITY_DATE_MARKETED, SPURITY_DATE_BUILT } spurity_date_kind;
SPURITY_API size_t spurity_clause_date_steps(const spurity_clause *clause, spurity_date_kind kind, spurity_date *dates,
                                             size_t most);
/** The exemption in words ("built before 1977-04-15 or first marketed before 1978-01-01"), "" when there is none. */
SPURITY_API void spurity_clause_exemption(const spurity_clause *clause, char *text, size_t size);

/** Distance from the carrier's centre, Hz, inside which the clause says nothing (the inner edge); 0 when there is none.
 */
SPURITY_API double spurity_clause_inner_edge(const spurity_clause *clause, const spurity_conditions *conditions);
/** Whether the clause sets a figure at `hz` (beyond the inner edge, inside absolute ranges and offsets). */
SPURITY_API bool spurity_clause_covers(const spurity_clause *clause, const spurity_conditions *conditions, double hz);
/** Frequency from which the clause counts offsets, Hz: the channel's nominal one where it says so and the carrier is on
 * a channel of the table, else the carrier.  False while the carrier is unknown, *hz then untouched. */
SPURITY_API bool spurity_clause_centre(const spurity_clause *clause, const spurity_conditions *conditions, double *hz);
/** A stretch of spectrum in which a clause sets its figure, Hz, 0 or above; ends as the regulation has them. */
typedef struct spurity_clause_stretch {
    double from_hz, to_hz; /* to_hz may be INFINITY */
    bool from_included, to_included;
} spurity_clause_stretch;
/** The stretches of a clause under these conditions, disjoint, by rising frequency, both sides of the carrier for
 * offsets; of bands around harmonics the first thousand.  What lies in one is what spurity_clause_covers says yes to.
 * Returns how many there are and fills at most `most` (stretches may be NULL when it is 0).  0 when the clause has no
 * place, or while what it needs (carrier, bandwidth) is unknown. */
SPURITY_API size_t spurity_clause_stretches(const spurity_clause *clause, const spurity_conditions *conditions,
                                            spurity_clause_stretch *stretches, size_t most);

/** Reference bandwidth at `hz`, Hz; NaN when the clause has none.  "itu": 1 kHz below 150 kHz, 10 kHz to 30 MHz,
 * 100 kHz to 1 GHz, 1 MHz above (Rec. ITU-R SM.329); "at least 30 kHz": that figure. */
SPURITY_API double spurity_clause_reference_bandwidth(const spurity_clause *clause, double hz);
/** What the clause binds, in words: "carrier from 30 MHz up to 225 MHz, mean power up to 25 W"; "" for everything. */
SPURITY_API void spurity_clause_describe_conditions(const spurity_clause *clause, char *text, size_t size);
/** Where in the spectrum it sets its figure, in words; "" for quantities that have no place. */
SPURITY_API void spurity_clause_describe_where(const spurity_clause *clause, char *text, size_t size);

/* ---- a limit tree -------------------------------------------------------------------------------- */

typedef enum spurity_limit_kind {
    SPURITY_LIMIT_LEVEL,       /* leaf: absolute */
    SPURITY_LIMIT_SUPPRESSION, /* leaf: dB below a reference */
    SPURITY_LIMIT_LOWEST_OF,   /* the strictest of its children */
    SPURITY_LIMIT_HIGHEST_OF   /* the most lenient of its children */
} spurity_limit_kind;

typedef enum spurity_reference {
    SPURITY_REFERENCE_MEAN_POWER,
    SPURITY_REFERENCE_CARRIER_POWER,
    SPURITY_REFERENCE_PEP,
    SPURITY_REFERENCE_ERP,
    SPURITY_REFERENCE_STRONGEST
} spurity_reference;
SPURITY_API const char *spurity_reference_name(spurity_reference reference); /* "mean power" ... */

SPURITY_API spurity_limit_kind spurity_limit_kind_of(const spurity_limit *limit);
SPURITY_API size_t spurity_limit_child_count(const spurity_limit *limit);
SPURITY_API const spurity_limit *spurity_limit_child(const spurity_limit *limit, size_t index);
/** Of a suppression leaf; of a level in a clause of carrier power: which power it caps (PEP, ERP ...). */
SPURITY_API spurity_reference spurity_limit_reference(const spurity_limit *limit);
/** Value of a leaf at `hz`: a level in dBm (or, for frequency error and bandwidth clauses, Hz or ppm as `unit` tells),
 * or a suppression in dB below its reference, positive.  False when a condition it needs (power, bandwidth) is unknown.
 * In a clause of carrier power the unit tells which power is capped: "dBm PEP", "dBm ERP", else "dBm". */
SPURITY_API bool spurity_limit_value(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                                     double *value, const char **unit);
/** Allowed level of the whole tree in dBm at `hz`, for drawing and for `spurity rules`; *leaf (may be NULL) is the leaf
 * that binds.  False when it cannot be told (a suppression without known power).  A cap on ERP comes as the power at
 * the terminal, less the antenna's gain in dBd; false while that is unknown. */
SPURITY_API bool spurity_limit_dbm(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                                   double *dbm, const spurity_limit **leaf);
/** Adds the options which would let a tree be told as a level ("--power --antenna-gain"), blank-separated, to `needs`
 * (starts as ""). */
SPURITY_API void spurity_limit_needs(const spurity_limit *limit, const spurity_conditions *conditions, char *needs,
                                     size_t size);
/** A leaf in plain words: "40 dB below mean power", "25 µW (-16.0 dBm)". */
SPURITY_API void spurity_limit_describe(const spurity_limit *limit, char *text, size_t size);
/** The sum behind a leaf's figure at `hz`, to be added up by hand: "43 dB + 10 dB x log10(4.5323 W / 1 W) = 49.56 dB",
 * "10 dB x log10(25 µW / 1 mW) = -16.02 dBm"; "" where the figure stands as it is, or cannot be told. */
SPURITY_API void spurity_limit_work(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                                    char *text, size_t size);

#ifdef __cplusplus
}
#endif
#endif
