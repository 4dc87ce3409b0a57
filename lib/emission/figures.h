/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_EMISSION_FIGURES_H
#define SPURITY_EMISSION_FIGURES_H
/* Figures of one emission from its points. */
#include "survey.h"

/** Whether points stand at most about one RBW apart here and the RBW is known: the trace can be integrated. */
bool spurity_survey_dense(const spurity_segment_survey *segment, size_t at);
/** Whether what stands from low to high about `peak` reads as a line; other_mw: power there that is not its own. */
bool spurity_survey_is_line(const spurity_segment_survey *segment, size_t peak, size_t low, size_t high,
                            double other_mw);
/** Power over points low..high with the noise bandwidth, mW; the floor's part in *floor_mw (may be NULL). */
double spurity_survey_integrate(const spurity_segment_survey *segment, size_t low, size_t high, double *floor_mw);
/** A line, read by its peak; background_db: mean power under it (floor or skirt). */
void spurity_survey_line_figures(const spurity_segment_survey *segment, size_t peak, size_t low, size_t high,
                                 double background_db, spurity_line *line);
/** Mean power with which the floor alone reads at point i, mW. */
double spurity_survey_noise_reading(const spurity_segment_survey *segment, size_t i);
/** What noise under a line of ratio snr leaves open, dB, 97.5 % each side. */
void spurity_survey_noise_doubt(const spurity_segment_survey *segment, double snr, double *low, double *high);

typedef struct spurity_shape_line {
    double hz, db;
    double sigma_hz, sigma_factor; /* one deviation; deviation of the level over that in a bin on the line */
    double misfit;                 /* rms of what the response leaves over, of the amplitude */
} spurity_shape_line;

/** The line at `peak` by the response of the known filter; background: mean power under it, mW.  False where too little
 * stands above it. */
bool spurity_survey_shape_fit(const spurity_segment_survey *segment, size_t peak, double background,
                              spurity_shape_line *line);
/** Level, frequency and doubts of a line from that; false likewise. */
bool spurity_survey_shape_line(const spurity_segment_survey *segment, size_t peak, double background_db,
                               spurity_line *line);
/** Frequencies below and above which half a per cent of the power lies (floor taken out), the filter's own width taken
 * out: a resolved line counts at its own frequency.  total: power over the floor times the noise bandwidth, mW Hz. True
 * when both lie on resolved lines. */
bool spurity_survey_shape_edges(const spurity_segment_survey *segment, size_t low, size_t high, double total,
                                double edge[2]);
/** A wider emission, integrated; comb: resolved lines were seen in it. */
void spurity_survey_wide_figures(const spurity_segment_survey *segment, size_t peak, size_t low, size_t high, bool comb,
                                 spurity_line *line);
/** A wider emission that cannot be integrated. */
void spurity_survey_unintegrated_figures(const spurity_segment_survey *segment, size_t peak, size_t low, size_t high,
                                         spurity_line *line);
/** How far a line half_step_hz beside the nearest point reads below its peak, dB. */
double spurity_survey_droop_db(const spurity_segment_survey *segment, double half_step_hz);
#endif
