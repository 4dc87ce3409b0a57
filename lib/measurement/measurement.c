/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "measurement.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "parts.h"

const char *spurity_group_name(unsigned group)
{
    switch (group) {
    case SPURITY_GROUP_EMISSIONS:
        return "emissions";
    case SPURITY_GROUP_POWER:
        return "power";
    case SPURITY_GROUP_MASK:
        return "mask";
    case SPURITY_GROUP_FREQUENCY:
        return "frequency";
    case SPURITY_GROUP_MODULATION:
        return "modulation";
    default:
        return NULL;
    }
}

const char *spurity_emission_kind_name(spurity_emission_kind kind)
{
    static const char *const names[] = {
        [SPURITY_HARMONIC] = "harmonic", [SPURITY_SUBHARMONIC] = "subharmonic",    [SPURITY_CLOSE_IN] = "close-in",
        [SPURITY_SPURIOUS] = "spurious", [SPURITY_ARTEFACT] = "receiver artefact", [SPURITY_AMBIENT] = "ambient",
    };
    return (unsigned)kind < sizeof names / sizeof *names ? names[kind] : NULL;
}

void spurity_test_point_init(spurity_test_point *point)
{
    *point = (spurity_test_point){
        .carrier_hz = (double)NAN,
        .power_low_w = (double)NAN,
        .power_high_w = (double)NAN,
        .uncertainty_dbm = 2.0,
        .uncertainty_dbc = 1.5,
        .uncertainty_assumed = true,
        .lowest_hz = (double)NAN,
        .range_from_hz = (double)NAN,
        .range_to_hz = (double)NAN,
        .beyond_hz = (double)NAN,
        .harmonics = 10,
        .bandwidth_hz = (double)NAN,
        .audio_filter = -1,
        .antenna_gain_dbd = (double)NAN,
        .reference_ppm = (double)NAN,
        .edge_fraction = 0.10,
        .second_harmonic_intercept_dbm = (double)NAN,
        .third_order_intercept_dbm = (double)NAN,
    };
}

double spurity_measurement_loss(const spurity_measurement *m, int file, double hz)
{
    double loss = 0;
    const spurity_chain *chain = m->sources[file].chain;
    if (chain && !spurity_chain_loss(chain, hz, &loss, NULL, NULL))
        return (double)NAN;
    return loss;
}

void spurity_measurement_use_bandwidth(spurity_measurement *measurement, double hz)
{
    if (measurement->point->bandwidth_hz > 0 || !(hz > 0))
        return;
    for (size_t i = 0; i < measurement->emission_count; i++) {
        spurity_emission *one = &measurement->emissions[i];
        if (one->kind == SPURITY_CLOSE_IN || one->kind == SPURITY_SPURIOUS)
            one->kind = fabs(one->frequency_hz - measurement->carrier.frequency_hz) <= 2.5 * hz ? SPURITY_CLOSE_IN
                                                                                                : SPURITY_SPURIOUS;
    }
}

double spurity_measurement_bandwidth(const spurity_measurement *measurement, bool *assumed)
{
    const spurity_test_point *point = measurement->point;
    if (!(point->bandwidth_hz > 0))
        return spurity_necessary_bandwidth(point->emission, measurement->carrier.frequency_hz, assumed);
    if (assumed)
        *assumed = false;
    return point->bandwidth_hz;
}

static spurity_status measure(spurity_measurement *m, const spurity_watch *watch, spurity_error *error)
{
    spurity_status status = spurity_measurement_read_files(m, watch, error);
    if (!status)
        status = spurity_measurement_find_carrier(m, error);
    if (!status)
        status = spurity_measurement_note_damage(m, error);
    if (!status)
        status = spurity_measurement_assign_service(m, error);
    if (!status)
        status = spurity_measurement_list_emissions(m, watch, error);
    if (!status)
        status = spurity_measurement_name_artefacts(m, error);
    if (!status)
        spurity_measurement_compare_leakage(m);
    if (!status)
        spurity_measurement_bound_own(m);
    if (!status)
        status = spurity_measurement_compare_ambient(m, error);
    if (!status)
        status = spurity_measurement_compare_overlaps(m, watch, error);
    if (!status && m->point->uncertainty_assumed)
        status =
            spurity_notes_add(m->notes, SPURITY_NOTE_UNCERTAINTY_ASSUMED, -1,
                              "expanded uncertainty taken as %.1f dB for a level and %.1f dB for a ratio (k = 2): say "
                              "--uncertainty for your bench",
                              m->point->uncertainty_dbm, m->point->uncertainty_dbc);
    return status;
}

static spurity_status check_point(const spurity_test_point *point, spurity_error *error)
{
    if (!point->source_count)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "a test point without files",
                              "at least one sweep or capture", NULL);
    if (!(point->uncertainty_dbm >= 0) || !(point->uncertainty_dbc >= 0))
        return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "a negative uncertainty", "0 dB or more",
                              NULL);
    size_t keyed = 0;
    for (size_t i = 0; i < point->source_count; i++)
        keyed += point->sources[i].role == SPURITY_ROLE_TRANSMITTER;
    if (!keyed)
        return spurity_report(error, SPURITY_INVALID, (spurity_place){.file = point->sources[0].path},
                              "no file of the keyed set", "at least one with role=transmitter, which is the default",
                              "ambient and leakage files are held against a sweep of the keyed set");
    return SPURITY_OK;
}

spurity_status spurity_measure(const spurity_test_point *point, const spurity_watch *watch,
                               spurity_measurement **measurement, spurity_error *error)
{
    *measurement = NULL;
    spurity_status status = check_point(point, error);
    if (status)
        return status;
    spurity_measurement *m = calloc(1, sizeof *m);
    if (!m)
        return spurity_report_memory(error);
    m->point = point;
    m->file_count = point->source_count;
    m->sources = calloc(m->file_count, sizeof *m->sources);
    m->files = calloc(m->file_count, sizeof *m->files);
    m->notes = spurity_notes_create();
    if (!m->sources || !m->files || !m->notes)
        status = spurity_report_memory(error);
    else
        status = measure(m, watch, error);
    if (!status && spurity_notes_lost(m->notes))
        status = SPURITY_SYSTEM;
    if (status == SPURITY_SYSTEM)
        spurity_report_memory(error); /* a note that was lost comes without words */
    if (status) {
        spurity_measurement_free(m);
        return status;
    }
    *measurement = m;
    return SPURITY_OK;
}

void spurity_measurement_free(spurity_measurement *m)
{
    if (!m)
        return;
    for (size_t i = 0; m->sources && i < m->file_count; i++) {
        spurity_survey_free(m->sources[i].survey);
        spurity_spectrum_free(m->sources[i].spectrum);
        free(m->sources[i].receiver_holes);
        free(m->sources[i].parts);
        spurity_recording_free(m->sources[i].recording);
    }
    free(m->sources);
    free(m->files);
    free(m->emissions);
    free(m->services);
    free(m->holes);
    free(m->overlaps);
    free(m->readings);
    spurity_notes_free(m->notes);
    free(m);
}

const spurity_test_point *spurity_measurement_point(const spurity_measurement *measurement)
{
    return measurement->point;
}

const spurity_carrier *spurity_measurement_carrier(const spurity_measurement *measurement)
{
    return &measurement->carrier;
}

size_t spurity_measurement_emission_count(const spurity_measurement *measurement)
{
    return measurement->emission_count;
}

const spurity_emission *spurity_measurement_emission(const spurity_measurement *measurement, size_t index)
{
    return index < measurement->emission_count ? &measurement->emissions[index] : NULL;
}

size_t spurity_measurement_service_count(const spurity_measurement *measurement)
{
    return measurement->service_count;
}

const spurity_service *spurity_measurement_service(const spurity_measurement *measurement, size_t index)
{
    return index < measurement->service_count ? &measurement->services[index] : NULL;
}

size_t spurity_measurement_hole_count(const spurity_measurement *measurement)
{
    return measurement->hole_count;
}

const spurity_stretch *spurity_measurement_hole(const spurity_measurement *measurement, size_t index)
{
    return index < measurement->hole_count ? &measurement->holes[index] : NULL;
}

size_t spurity_measurement_file_count(const spurity_measurement *measurement)
{
    return measurement->file_count;
}

const spurity_measured_file *spurity_measurement_file(const spurity_measurement *measurement, size_t index)
{
    return index < measurement->file_count ? &measurement->files[index] : NULL;
}

size_t spurity_measurement_overlap_count(const spurity_measurement *measurement)
{
    return measurement->overlap_count;
}

const spurity_overlap *spurity_measurement_overlap(const spurity_measurement *measurement, size_t index)
{
    return index < measurement->overlap_count ? &measurement->overlaps[index] : NULL;
}

spurity_notes *spurity_measurement_notes(spurity_measurement *measurement)
{
    return measurement->notes;
}

const spurity_notes *spurity_measurement_notes_view(const spurity_measurement *measurement)
{
    return measurement->notes;
}
