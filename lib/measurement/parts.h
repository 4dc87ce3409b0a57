/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_MEASUREMENT_PARTS_H
#define SPURITY_MEASUREMENT_PARTS_H
/* The measurement's rooms: files -> carrier -> service -> emissions, each filling its part of the object. */
#include "measurement.h"

/** A stretch of a receiver's band that is not trusted, and the segment of the terminal trace that it belongs to (-1:
 * none is left of it): what another segment or file shows there counts. */
struct receiver_hole {
    spurity_stretch stretch;
    long segment;
    bool center;
};

struct measured_source {
    spurity_recording *recording;
    spurity_spectrum *spectrum; /* of a capture; NULL = a sweep */
    spurity_survey *survey;
    const spurity_chain *chain; /* borrowed from the test point; NULL = unstated */
    int scale_group;            /* files of one group have levels on a common scale */
    struct receiver_hole *receiver_holes;
    size_t receiver_hole_count;
    size_t *parts;     /* of a capture: which band of its spectrum each segment of the terminal trace comes from */
    size_t part_count; /* of the first segments; the others match none */
};

struct spurity_measurement {
    const spurity_test_point *point;
    size_t file_count;
    struct measured_source *sources;
    spurity_measured_file *files;
    spurity_carrier carrier;
    spurity_uncertainty carrier_reading; /* of the carrier as ratios take it: read on the instrument, if it is */
    spurity_emission *emissions;
    size_t emission_count, emission_room;
    spurity_service *services;
    size_t service_count, service_room;
    spurity_stretch *holes;
    size_t hole_count, hole_room;
    spurity_notes *notes;
    spurity_overlap *overlaps; /* their readings lie in one list, row after row */
    size_t overlap_count, overlap_room;
    spurity_overlap_reading *readings;
    size_t reading_count, reading_room;
};

/* files.c */
spurity_status spurity_measurement_read_files(spurity_measurement *m, const spurity_watch *watch, spurity_error *error);
/** Whether a file is of the keyed set; ambient and leakage files serve nowhere. */
bool spurity_measurement_is_keyed(const spurity_measurement *m, int file);
/** Name of the scale a file's levels stand on, "" for dBm at the receiver (or the sweep's own). */
const char *spurity_measurement_scale(const spurity_measurement *m, int file);
/* captures.c */
/** Turns the capture of source `index` into a trace (the caller's) and a spectrum (m's). */
spurity_status spurity_measurement_read_capture(spurity_measurement *m, size_t index, const spurity_watch *watch,
                                                spurity_trace **trace, spurity_error *error);
/** Stretches of the receiver's band that are not trusted, once the file is surveyed. */
spurity_status spurity_measurement_find_receiver_holes(spurity_measurement *m, size_t index, spurity_error *error);
/** What the samples say of receiver and recorder. */
spurity_status spurity_measurement_note_capture(spurity_measurement *m, size_t index, spurity_error *error);
/** Band of the capture that a segment of its terminal trace comes from; false for a sweep. */
bool spurity_measurement_part(const spurity_measurement *m, int file, size_t segment, spurity_spectrum_part *part);
/** Whether a line stands where its receiver was tuned, within what its place leaves open. */
bool spurity_measurement_at_center(const spurity_measurement *m, int file, const spurity_line *line);
/* carrier.c */
spurity_status spurity_measurement_find_carrier(spurity_measurement *m, spurity_error *error);
/** Loss of the chain at the carrier beyond the least within what the file covers. */
double spurity_measurement_notch_depth(const spurity_measurement *m, int file, double hz);
/** Half-width within which a line in `file` at order times the carrier's frequency is that harmonic. */
double spurity_measurement_tolerance(const spurity_measurement *m, int file, size_t segment, double order);
/* service.c */
spurity_status spurity_measurement_assign_service(spurity_measurement *m, spurity_error *error);
const spurity_service *spurity_measurement_service_at(const spurity_measurement *m, double hz);
/* emissions.c */
bool spurity_measurement_is_carrier(const spurity_measurement *m, int file, const spurity_line *line);
spurity_status spurity_measurement_list_emissions(spurity_measurement *m, const spurity_watch *watch,
                                                  spurity_error *error);
/* artefacts.c */
spurity_status spurity_measurement_name_artefacts(spurity_measurement *m, spurity_error *error);
/** Whether a line of a file is where, and as, its receiver makes one of its own. */
bool spurity_measurement_may_be_artefact(const spurity_measurement *m, int file, const spurity_line *line);
/** An emission reads gap_db higher in its own capture than in another one, which lets step_db less reach its converter.
 * Names it when the receiver makes most of it; tells whether it did. */
bool spurity_measurement_name_by_gain(spurity_measurement *m, spurity_emission *emission, int other, double gap_db,
                                      double step_db);
/* overlap.c */
/** Fills the overlap table and settles levels by it. */
spurity_status spurity_measurement_compare_overlaps(spurity_measurement *m, const spurity_watch *watch,
                                                    spurity_error *error);
/** Expanded uncertainty of what the readings of two files at hz differ by: what each has of its own, and of the chains
 * what they do not share. */
double spurity_measurement_doubt(const spurity_measurement *m, int a, int b, double hz);
/** The strongest line of a survey that may stand where the emission does; NULL. */
const spurity_line *spurity_measurement_line_at(const spurity_measurement *m, const spurity_survey *survey,
                                                const spurity_emission *emission);
/** Of two files' readings of the carrier: by how much the one at less attenuation reads lower, beyond what both leave
 * open; 0 where it does not. */
double spurity_measurement_compression(const spurity_measurement *m, int a, const spurity_line *of_a, int b,
                                       const spurity_line *of_b);
/** Mean in power of repeats less the first, dB, and what they scatter by.  count >= 2. */
double spurity_measurement_mean_of(const double *db, size_t count, spurity_repeats *repeats);
/** Adds what repeats scatter by to a level's contributions, so that k = 2 covers as Student's t would. */
void spurity_measurement_add_repeats(spurity_uncertainty *list, const char *source, const spurity_repeats *repeats);
/* origin.c */
/** A reading behind another pad: how much less reached the instrument there, and how much higher it reads, dB. */
struct spurity_pad_step {
    double less_db, higher_db;
};
/** False when no product agrees with the steps. */
bool spurity_measurement_product_error(const struct spurity_pad_step *steps, size_t count, double doubt_db,
                                       double *low_db, double *high_db);
/** Whose the line of a row is; emission NULL: the carrier.  Fills all of the row but its readings. */
void spurity_measurement_tell_origin(const spurity_measurement *m, const spurity_emission *emission,
                                     spurity_overlap *row);
/* own.c */
/** What intercepts say the instrument makes at the emission, and what that leaves of its level. */
void spurity_measurement_bound_own(spurity_measurement *m);
/** What a product own_db over (below: negative) a reading leaves open: the rest may be higher (*low_db) or lower
 * (*high_db, +infinity from 0 dB on) than the reading. */
void spurity_measurement_within(double own_db, double *low_db, double *high_db);
/* ambient.c */
/** Names what stands there with the set unkeyed too; of what is over it the difference in power stays. */
spurity_status spurity_measurement_compare_ambient(spurity_measurement *m, spurity_error *error);
/* leakage.c */
/** Level of what a leakage file reads at hz (within reach_hz), dB against reading_db of a keyed file, both at the
 * instrument; NaN when none reads a line there. */
double spurity_measurement_leakage(const spurity_measurement *m, int file, double hz, double reach_hz,
                                   double reading_db, int *leaking);
void spurity_measurement_leak_into_carrier(spurity_measurement *m, double reading_db);
void spurity_measurement_compare_leakage(spurity_measurement *m);
double spurity_measurement_step(const spurity_measurement *m, int a, int b, double hz);
/* damage.c */
spurity_status spurity_measurement_note_damage(const spurity_measurement *m, spurity_error *error);

/** "dBm" where the file's levels are absolute, else "dB". */
const char *spurity_measurement_unit(const spurity_measurement *m, int file);
/** Whether the two files' levels stand on one scale. */
bool spurity_measurement_same_scale(const spurity_measurement *m, int a, int b);
/** Loss of a file's chain at hz; NaN where it is not known. */
double spurity_measurement_loss(const spurity_measurement *m, int file, double hz);
/* budget.c */
/** Contributions of a level read in a file: of the bench and of the chain.  rbw_hz 0: that of the service there. */
void spurity_measurement_contributions(const spurity_measurement *m, int file, double hz, double below_carrier_db,
                                       double rbw_hz, spurity_uncertainty *list);
/** ... of the same level in dBm: where a meter anchors the file, the meter's and those of the ratio. */
void spurity_measurement_anchor_uncertainty(const spurity_measurement *m, int file, spurity_uncertainty *list);
/** Adds what the noise under a line leaves open to both sides alike, its file and frequency its own. */
void spurity_measurement_add_noise(int file, double hz, double noise_up_db, double noise_down_db,
                                   spurity_uncertainty *list);
#endif
