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
/** A wider emission, integrated; comb: resolved lines were seen in it. */
void spurity_survey_wide_figures(const spurity_segment_survey *segment, size_t peak, size_t low, size_t high, bool comb,
                                 spurity_line *line);
/** A wider emission that cannot be integrated. */
void spurity_survey_unintegrated_figures(const spurity_segment_survey *segment, size_t peak, size_t low, size_t high,
                                         spurity_line *line);
/** How far a line half_step_hz beside the nearest point reads below its peak, dB. */
double spurity_survey_droop_db(const spurity_segment_survey *segment, double half_step_hz);
#endif
