/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_MEASUREMENT_H
#define SPURITY_MEASUREMENT_H
/* The test point (what was given: files, chain, carrier, meter, conditions) and the measurement (what was found):
 * carrier, emissions, coverage, which file serves where.  Files in, figures out; no rules, no verdict. */
#include "../emission/emission.h"
#include "../input/input.h"
#include "../spectrum/spectrum.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_role { SPURITY_ROLE_TRANSMITTER = 0, SPURITY_ROLE_AMBIENT, SPURITY_ROLE_LEAKAGE } spurity_role;

typedef enum spurity_modulation { /* state of the set */
                                  SPURITY_MODULATION_UNSAID = 0,
                                  SPURITY_MODULATION_NONE,
                                  SPURITY_MODULATION_VOICE,
                                  SPURITY_MODULATION_TEST
} spurity_modulation;

enum { /* groups of clauses, as bits */
       SPURITY_GROUP_EMISSIONS = 1,
       SPURITY_GROUP_POWER = 2,
       SPURITY_GROUP_MASK = 4,
       SPURITY_GROUP_FREQUENCY = 8,
       SPURITY_GROUP_MODULATION = 16
};
SPURITY_API const char *spurity_group_name(unsigned group); /* "emissions" ...; NULL if not exactly one */

/** One file of a test point.  Strings and chain are borrowed while measuring. */
typedef struct spurity_source {
    const char *path; /* "-" = standard input */
    spurity_read_options read;
    const spurity_chain *chain; /* NULL = unstated */
    spurity_role role;
    const char *scale; /* named scale; NULL or "" = none */
} spurity_source;

/** A test point.  Start with spurity_test_point_init: NaN, 0 and NULL mean "not said".  Everything it points to is
 * borrowed. */
typedef struct spurity_test_point {
    const spurity_source *sources;
    size_t source_count;
    double carrier_hz;                /* expected */
    double power_low_w, power_high_w; /* by a meter; equal for one reading */
    bool power_is_pep;
    double uncertainty_dbm, uncertainty_dbc; /* expanded; default 2.0, 1.5 */
    bool uncertainty_assumed;                /* true: the defaults */
    double lowest_hz;                        /* lowest frequency the set generates */
    double range_from_hz, range_to_hz;       /* judge only there */
    double beyond_hz;                        /* judge only what is further than this from the carrier */
    int harmonics;                           /* listed; default 10 */
    spurity_modulation modulation;
    unsigned only;           /* groups asked; 0 = default */
    double bandwidth_hz;     /* authorised, or of the channel */
    const char *emission;    /* designator or bare type, "F3E" */
    const char *station;     /* kind of station, as a rule file calls it */
    int audio_filter;        /* -1 unsaid, 0 no, 1 yes */
    double antenna_gain_dbd; /* over a half-wave dipole */
    spurity_date installed, marketed, built;
    double reference_ppm; /* half-width of the instrument's frequency reference */
    bool simple_decision; /* false: guarded, w = U */
    /* of captures; each file's wanted RBW and detector stand in its read options */
    double seconds;               /* used of each; 0 = all */
    double edge_fraction;         /* of the rate at each end of a receiver's band that is not trusted; default 0.10 */
    int threads;                  /* 0 = every core */
    bool reproducible;            /* see spurity_spectrum_options */
    const char *wisdom;           /* NULL = none */
    const spurity_budget *budget; /* NULL = the lump of uncertainty_dbm, _dbc; see spurity_test_point_use_budget */
    /* of the instrument's input as it stood: harmonic intercept of second order; of third order, by two tones */
    double second_harmonic_intercept_dbm, third_order_intercept_dbm;
} spurity_test_point;
SPURITY_API void spurity_test_point_init(spurity_test_point *point);
/** Judges by a budget (borrowed).  uncertainty_dbm and _dbc become what it makes of a level and of a ratio as far down
 * as its scale goes: what is no more than a doubt (do two readings differ?) goes by them. */
SPURITY_API void spurity_test_point_use_budget(spurity_test_point *point, const spurity_budget *budget);
/** Adds the contributions of a level behind a chain (NULL: none said): the budget's, else the lump's, and the chain's.
 * loss_db and pads of `level` are filled from the chain. */
SPURITY_API void spurity_test_point_contributions(const spurity_test_point *point, const spurity_chain *chain,
                                                  const spurity_budget_level *level, spurity_uncertainty *list);
/** Expanded uncertainty (k = 2) of one reading of the power meter, dB. */
SPURITY_API double spurity_test_point_meter_expanded(const spurity_test_point *point);

typedef enum spurity_emission_kind {
    SPURITY_HARMONIC,
    SPURITY_SUBHARMONIC,
    SPURITY_CLOSE_IN, /* within 2.5 times the bandwidth in use */
    SPURITY_SPURIOUS,
    SPURITY_ARTEFACT, /* the receiver's */
    SPURITY_AMBIENT
} spurity_emission_kind;
SPURITY_API const char *spurity_emission_kind_name(spurity_emission_kind kind); /* JSON words */

typedef enum spurity_artefact { /* what of the receiver's a SPURITY_ARTEFACT is */
                                SPURITY_ARTEFACT_NONE = 0,
                                SPURITY_ARTEFACT_CENTRE,   /* stands where the receiver is tuned: its own DC product */
                                SPURITY_ARTEFACT_IMAGE,    /* mirror image of a stronger signal, by phase coherence */
                                SPURITY_ARTEFACT_CLIPPING, /* a product that clipping makes */
                                SPURITY_ARTEFACT_GAIN,     /* moves by more than the change of gain or pad */
                                SPURITY_ARTEFACT_STEPS     /* no higher than what an 8 bit converter's steps make */
} spurity_artefact;
/** "centre", "image", "clipping", "gain", "steps"; "" for none. */
SPURITY_API const char *spurity_artefact_name(spurity_artefact artefact);

typedef enum spurity_carrier_source { SPURITY_CARRIER_FROM_TRACE, SPURITY_CARRIER_FROM_METER } spurity_carrier_source;

/** Several sweeps of one thing with the same RBW, chain and scale: the level is their mean in power. */
typedef struct spurity_repeats {
    size_t count;     /* sweeps that read it; 0 or 1: no repeats */
    double spread_db; /* highest less lowest */
    double type_a_db; /* s / sqrt(count), JCGM 100:2008 4.2 */
} spurity_repeats;

/** The carrier.  Levels NaN where no scale is known. */
typedef struct spurity_carrier {
    bool seen; /* it stands in a sweep (else: told by --carrier and --power) */
    double frequency_hz;
    double level_dbm, power_w;
    double power_low_w, power_high_w; /* what the reading allows: level -+ U, or the meter's range widened by U */
    spurity_uncertainty uncertainty;  /* of level_dbm */
    spurity_carrier_source source;
    double width_hz;        /* 99 % where wider than the RBW, else the RBW */
    double low_hz, high_hz; /* footprint with skirts */
    spurity_character character;
    double rbw_hz;
    int file;                     /* -1 when not seen */
    double pep_low_w, pep_high_w; /* NaN when it cannot be told: no line, no angle modulation, no meter that reads it */
    double trace_dbm;             /* what trace and chain say; NaN when they say nothing in dBm */
    double frequency_uncertainty_hz;    /* half-width */
    double read_low_db, read_high_db;   /* see spurity_line */
    bool modulated;                     /* read as wider than a line, or said to be */
    bool swept;                         /* a sweep covers its frequency (seen or not) */
    bool trustworthy;                   /* false: read from points too far apart: the sweep does not tell its level */
    double meter_low_db, meter_high_db; /* meter and chain disagree: levels in dBm may be above (below) by this much */
    double noise_up_db, noise_down_db;  /* see spurity_line */
    spurity_repeats repeats;
    double leakage_db; /* a leakage file reads it this much below (at the instrument); NaN = none does */
    bool leaked;       /* ... by 10 dB or less: its level is not to be trusted */
} spurity_carrier;

typedef struct spurity_emission {
    spurity_emission_kind kind;
    int order;            /* harmonic 2.., else 0 */
    int ratio_p, ratio_q; /* subharmonic p/q, else 0 */
    spurity_character character;
    double frequency_hz;
    double level_dbm, level_dbc; /* NaN where no scale is known; an unseen one stands at its upper bound */
    spurity_uncertainty uncertainty_dbm, uncertainty_dbc;
    bool seen;
    bool trustworthy;                 /* false: points too far apart, its level is not shown */
    bool front_end_unproven;          /* the level is an upper bound at best */
    double read_low_db, read_high_db; /* see spurity_line */
    double floor_dbm;       /* mean noise power in the RBW; in dB of the file's scale when that is not anchored */
    double low_hz, high_hz; /* footprint */
    double rbw_hz;
    int file;
    double ratio_low_db, ratio_high_db; /* as read_low_db, read_high_db, of level_dbc: the carrier's own included */
    double frequency_uncertainty_hz;    /* half-width */
    bool filtered; /* its chain takes the carrier 20 dB more than it: the instrument's own harmonic cannot fake it */
    bool skirt;    /* at the edge of its sweep, no higher than the skirt of the carrier beyond it: an upper bound */
    spurity_artefact artefact;       /* of kind SPURITY_ARTEFACT: an upper bound of the transmitter's there */
    double artefact_of_hz;           /* the signal it is made of; NaN */
    bool clipped;                    /* no higher than what clipping in its file can make: an upper bound */
    double at_most_dbm, at_most_dbc; /* of an artefact that another file settles: its bound of what the transmitter
                                        may have there; NaN = none does */
    bool stepped;    /* held still under two pad steps: what the instrument can have of it is in read_*_db */
    long line;       /* index in its file's survey; -1 = not seen */
    double scale_db; /* level on its file's scale as first read there (other files may have moved level_*) */
    int other_file;  /* that reads the same harmonic beside what it serves, as line other_line; -1 = none */
    long other_line;
    double noise_up_db, noise_down_db; /* see spurity_line; of level_dbm, as far as it is a line's own reading */
    double carrier_noise_up_db, carrier_noise_down_db; /* ... of the carrier, which level_dbc has too */
    spurity_repeats repeats;
    double ambient_db; /* what stands there with the set unkeyed, dB against the reading; NaN = nothing, or no file */
    double leakage_db; /* what stands there with the last pad's end terminated, dB against the reading; NaN */
    bool leaked;       /* leakage_db is -10 dB or more: the level is not to be trusted */
    double own_db;     /* what the intercepts say the instrument makes there, dB against the reading; NaN unsaid */
    bool own_covers;   /* own_db is 0 or more: the reading may be all the instrument's */
    int origin;        /* spurity_origin, by its row of the overlap table */
    bool settled;      /* two steps show it as the instrument's: the level is the bound they leave of the set's own */
} spurity_emission;

/** A reading tells a frequency to about this part of its RBW; finer digits are not printed. */
enum { SPURITY_RBW_PARTS = 50 };

/** Expanded uncertainty (k = 2) of an emission, dB, on the side that decides: upwards for how far the true level may
 * stand above the reading, else below it.  ratio: of level_dbc, else of level_dbm. */
SPURITY_API double spurity_emission_expanded(const spurity_emission *emission, bool ratio, bool upwards);
/** The interval about an emission's level (ratio: level_dbc) that holds the truth with `probability` by the stated
 * distributions themselves (spurity_uncertainty_interval), each side with what is open on that side; low_db <= 0 <=
 * high_db.  False for a probability out of range. */
SPURITY_API bool spurity_emission_interval(const spurity_emission *emission, bool ratio, double probability,
                                           double *low_db, double *high_db);
/** ... about the carrier's level. */
SPURITY_API bool spurity_carrier_interval(const spurity_carrier *carrier, double probability, double *low_db,
                                          double *high_db);

/** Whose a line is, by what became of it under steps of the attenuation. */
typedef enum spurity_origin {
    SPURITY_ORIGIN_UNTOLD = 0,
    SPURITY_ORIGIN_TRANSMITTER, /* moves with the pad: at the terminal it holds still */
    SPURITY_ORIGIN_INSTRUMENT,  /* moves n times with the pad */
    SPURITY_ORIGIN_FLOOR        /* does not move with the pad: stays on the instrument */
} spurity_origin;
/** "cannot be told", "transmitter", "instrument", "floor". */
SPURITY_API const char *spurity_origin_name(spurity_origin origin);

/** One file's reading of a line. */
typedef struct spurity_overlap_reading {
    int file;
    double step_db;  /* how much less of the line reaches the instrument than in the row's first reading */
    double level_db; /* on the file's scale, at the terminal; of one not seen the bound of a hidden line */
    double floor_db;
    bool seen;
    bool comparable; /* on one scale with the first reading, and both far enough over the floor to be held against each
                        other (unseen: the bound) */
    bool repeat;     /* same RBW, chain and scale as the first */
} spurity_overlap_reading;

/** The carrier or an emission as all keyed files that share its frequency read it; the first reading is the one that
 * serves. */
typedef struct spurity_overlap {
    long emission; /* index; -1 = the carrier */
    double frequency_hz, rbw_hz;
    spurity_origin origin;
    int order; /* of the instrument's: by how many dB it falls a dB of attenuation at the instrument; 0 = not told */
    double low_db, high_db; /* the set's own may stand above (below) the first reading by this much, the rest being the
                               instrument's (below 0: at least so far below, above); NaN = nothing bounds it */
    double compressed_db;   /* of the carrier: how much lower it reads at the least attenuation; 0 = it does not */
    bool one_step;          /* held still under one step: at an unlucky phase it would */
    size_t count;           /* readings, at least 1 unless the carrier is in no sweep; 32 at most */
    const spurity_overlap_reading *readings;
    char why[240]; /* in words, with what would tell more */
} spurity_overlap;

/** Which file (and points of it) serves a stretch; they do not overlap and rise. */
typedef struct spurity_service {
    double from_hz, to_hz;
    int file;
    size_t segment, first, last; /* points inside the stretch */
} spurity_service;

/** One file as read. */
typedef struct spurity_measured_file {
    const char *path;
    const spurity_survey *survey;       /* NULL for a role that is not of the keyed set */
    const spurity_recording *recording; /* facts and findings; its trace or capture was taken */
    const spurity_spectrum *spectrum;   /* of a capture; NULL for a sweep */
    double dbm_offset; /* add to the trace's scale for dBm at the terminal: 0 for an absolute one; NaN when unknown */
    double carrier_db; /* the carrier's level on this file's scale; NaN when not comparable */
    spurity_role role;
    double key_up_db; /* levels of a keyed signal read low by this much: a mean over key-up time too; 0 mostly */
} spurity_measured_file;

/** What samples at the converter's rails leave open in a file. */
typedef struct spurity_clipping {
    bool blind;   /* how much was cut off cannot be told: no level of the file is shown */
    double share; /* of the components of the key-down time that stand at a rail; NaN where that cannot be told */
    double carrier_low_db; /* the strongest signal may read low by this much */
    double line_low_db;    /* a weaker one beside it, and the bound of a hidden one, by this much */
    double
        makes_db; /* all that clipping makes, together, is no higher: on the file's scale; +infinity, NaN no signal */
} spurity_clipping;

typedef struct spurity_measurement spurity_measurement;

/** Reads and measures a test point.  The point (and all it borrows) must outlive the measurement.  Free with
 * spurity_measurement_free.  On failure
 * *measurement is NULL: INVALID for input that cannot be (two test points, meter and chain over 10 dB apart, no carrier
 * found and none told), INCOMPLETE, SYSTEM. */
SPURITY_API spurity_status spurity_measure(const spurity_test_point *point, const spurity_watch *watch,
                                           spurity_measurement **measurement, spurity_error *error);
SPURITY_API void spurity_measurement_free(spurity_measurement *measurement); /* NULL is fine */

/** What follows is borrowed, valid while the measurement lives; lists give NULL when index is out of range. */
SPURITY_API const spurity_test_point *spurity_measurement_point(const spurity_measurement *measurement);
SPURITY_API const spurity_carrier *spurity_measurement_carrier(const spurity_measurement *measurement);
/** Harmonics 2..N first (seen or at their bound, as far as swept), then the rest by frequency. */
SPURITY_API size_t spurity_measurement_emission_count(const spurity_measurement *measurement);
SPURITY_API const spurity_emission *spurity_measurement_emission(const spurity_measurement *measurement, size_t index);
/** What of which file counts where, by rising frequency. */
SPURITY_API size_t spurity_measurement_service_count(const spurity_measurement *measurement);
SPURITY_API const spurity_service *spurity_measurement_service(const spurity_measurement *measurement, size_t index);
/** Stretches within what was swept about which nothing can be said. */
SPURITY_API size_t spurity_measurement_hole_count(const spurity_measurement *measurement);
SPURITY_API const spurity_stretch *spurity_measurement_hole(const spurity_measurement *measurement, size_t index);
/** In the order of the test point's sources. */
SPURITY_API size_t spurity_measurement_file_count(const spurity_measurement *measurement);
SPURITY_API const spurity_measured_file *spurity_measurement_file(const spurity_measurement *measurement, size_t index);
/** False for a file of which nothing stands at the rails, as for a sweep; *clipping is then all 0. */
SPURITY_API bool spurity_measurement_clipping(const spurity_measurement *measurement, int file,
                                              spurity_clipping *clipping);
/** The carrier's row, then one for each emission seen, in the emissions' order.  By it levels were settled: there is no
 * second comparison. */
SPURITY_API size_t spurity_measurement_overlap_count(const spurity_measurement *measurement);
SPURITY_API const spurity_overlap *spurity_measurement_overlap(const spurity_measurement *measurement, size_t index);
/** The measurement's notes; verdict adds its own to them. */
SPURITY_API spurity_notes *spurity_measurement_notes(spurity_measurement *measurement);
SPURITY_API const spurity_notes *spurity_measurement_notes_view(const spurity_measurement *measurement);
/** The type of an emission told bare ("F3E") or with its bandwidth ("16K0F3E"): a pointer into `emission`, "" for NULL.
 */
SPURITY_API const char *spurity_emission_type(const char *emission);
/** Whether the main carrier is angle-modulated (first symbol F or G), so that peak envelope and mean power are one. */
SPURITY_API bool spurity_emission_is_angle_modulated(const char *emission);
/** Necessary bandwidth, Hz: the designator's own figure, else by type (FM voice 16 kHz, SSB voice 3 kHz, AM voice 6
 * kHz: common practice), else 3 kHz below 30 MHz and 16 kHz above, when *assumed (may be NULL) is true. */
SPURITY_API double spurity_necessary_bandwidth(const char *emission, double carrier_hz, bool *assumed);

/** Bandwidth in use (told, else necessary: 3 kHz below 30 MHz, 16 kHz above; FM/SSB/AM by --emission), Hz.
 *  *assumed (may be NULL) tells whether nobody said it. */
SPURITY_API double spurity_measurement_bandwidth(const spurity_measurement *measurement, bool *assumed);

/** Takes hz for the bandwidth by which emissions are close-in, where the user named none: a service's rules know the
 * channel's. Names the emissions anew; nothing else hangs on it. */
SPURITY_API void spurity_measurement_use_bandwidth(spurity_measurement *measurement, double hz);

/** Adds the contributions of a level to `list`: lump dBm/dBc split into a part shared by all levels ("instrument
 * absolute") and one of its own (named after `own`). */
SPURITY_API void spurity_measurement_lump(const spurity_test_point *point, const char *own, spurity_uncertainty *list);

/** Expanded uncertainty (k = 2), dB, of a level at hz in a file: lump and chain; ratio: of the level less the
 * carrier's. */
SPURITY_API double spurity_measurement_expanded(const spurity_measurement *measurement, int file, double hz,
                                                bool ratio);

/** One row of the table behind an uncertainty: standard_db = |sensitivity| figure_db / divisor; the root of the sum of
 * their squares is u, U = 2 u. */
typedef struct spurity_budget_row {
    char source[80]; /* for a person: "frequency response at 293.88 MHz" */
    spurity_distribution distribution;
    double figure_db, divisor, sensitivity, standard_db;
    int side; /* 0: both; 1: counts only for how far the truth may stand above the reading, -1: below */
} spurity_budget_row;
/** The rows of an emission's level (ratio: of its level_dbc), of the carrier's for emission -1, in the order of the
 * budget, at most `most`; returns how many.  The rows of side 0 make its uncertainty list, those and one side's
 * spurity_emission_expanded. */
SPURITY_API size_t spurity_measurement_budget(const spurity_measurement *measurement, long emission, bool ratio,
                                              spurity_budget_row *rows, size_t most);
enum { SPURITY_BUDGET_ROWS_MAX = SPURITY_CONTRIBUTIONS_MAX + 2 };

/** The spectrum of a capture as spurity_measure takes it, from where the capture stands (its start): RBW and detector
 * by the source's read options, the rest by the point.  INVALID as spurity_spectrum_create, and for a detector that a
 * capture has not. */
SPURITY_API spurity_status spurity_source_spectrum(const spurity_test_point *point, const spurity_source *source,
                                                   spurity_capture *capture, const spurity_watch *watch,
                                                   spurity_spectrum **spectrum, spurity_error *error);

/* ---- the spectrum about a modulated carrier ------------------------------------------------------ */

/** A segment of a file's trace as masks and occupied bandwidth take it: its RBW is known. */
typedef struct spurity_band_trace {
    int file;
    size_t segment;
    double from_hz, to_hz; /* what its points cover, gaps between */
    double rbw_hz, noise_bandwidth_hz, step_hz;
    spurity_detector detector;
    double averages;
} spurity_band_trace;
/** The segments that reach into [from, to], at most `most`. */
SPURITY_API size_t spurity_measurement_band_traces(const spurity_measurement *measurement, double from_hz, double to_hz,
                                                   spurity_band_trace *traces, size_t most);
/** Mean bound of a hidden line in [from, to] as far as the trace reaches, dB against the carrier in it: the lower, the
 * more it shows.  +infinity where scales cannot be compared. */
SPURITY_API double spurity_measurement_band_depth(const spurity_measurement *measurement,
                                                  const spurity_band_trace *trace, double from_hz, double to_hz);

/** What a resolution filter of another bandwidth would read at one frequency.  Levels in dB of the file's scale. */
typedef struct spurity_band_reading {
    double level_db;
    double bound_db;        /* and a line that noise may hide there: never under level_db */
    double floor_db;        /* mean noise of the bench in the same bandwidth */
    double leak_db;         /* of level_db what the trace's own filter may let in from outside the stretch, at most */
    double low_db, high_db; /* the true level may stand above (below) by this much, by detector and spacing */
    bool signal;            /* an emission was seen here, not the floor alone */
    bool blind;             /* nothing can be said: gap, points too far apart, a receiver's hole */
    char reason[32];        /* of a blind one */
} spurity_band_reading;
/** Mean power in reference_hz about hz: where the RBW is narrower (by a tenth and more) the readings weighted so that
 * the two filters together are a Gaussian one of the reference bandwidth (B^2 = RBW^2 + G^2), counting only what stands
 * in [from, to] and one RBW over; else the reading itself.  A line reads its level, noise its density times 1.0645 B.
 * What stands within edge_hz of an end may lie on either side of it: it counts, and it leaks.  False out of range. */
SPURITY_API bool spurity_measurement_read_band(const spurity_measurement *measurement, const spurity_band_trace *trace,
                                               double hz, double from_hz, double to_hz, double edge_hz,
                                               double reference_hz, spurity_band_reading *reading);

/** All that stands within half_hz of centre_hz, the floor taken out. */
typedef struct spurity_band_figure {
    double power_db;            /* of the file's scale */
    double lines_db;            /* sum of what stands up as lines apart from one another; NaN without */
    double strongest_db;        /* the strongest reading */
    double floor_share;         /* the floor's power over power_db's */
    double centroid_hz, rms_hz; /* mean frequency by power, and deviation about it */
    double low_hz, high_hz;     /* half a per cent of the power lies below, half a per cent above */
    double narrow_hz, wide_hz;  /* high_hz - low_hz if the outer readings were high, or low, by doubt_db */
} spurity_band_figure;
/** False where the trace does not cover it all or nothing stands above the floor. */
SPURITY_API bool spurity_measurement_band_figure(const spurity_measurement *measurement,
                                                 const spurity_band_trace *trace, double centre_hz, double half_hz,
                                                 double doubt_db, spurity_band_figure *figure);

#ifdef __cplusplus
}
#endif
#endif
