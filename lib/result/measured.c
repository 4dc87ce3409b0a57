/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The picture's data of a measurement: which stretches, which axis, which unit. */
#include <math.h>

#include "internal.h"

/* A log axis starts at the first positive frequency, yet not further below its end than this: decades of nothing help
 * nobody. */
static const double LOG_RATIO_MOST = 1e7;

/* Frequencies that can be drawn: what was swept, widened by at most EDGE of the axis on each side towards what had to
 * be shown and was not swept, so that the omission is seen and the sweep keeps its room. */
static const double EDGE = 0.1;

static void swept_range(const spurity_measurement *measurement, double *from_hz, double *to_hz)
{
    *from_hz = INFINITY;
    *to_hz = -INFINITY;
    for (size_t i = 0; i < spurity_measurement_service_count(measurement); i++) {
        const spurity_service *service = spurity_measurement_service(measurement, i);
        *from_hz = fmin(*from_hz, service->from_hz);
        *to_hz = fmax(*to_hz, service->to_hz);
    }
}

/* First positive frequency that was swept: where a log axis begins. */
static double first_positive(const spurity_measurement *measurement, double to_hz)
{
    double first = to_hz;
    for (size_t i = 0; i < spurity_measurement_service_count(measurement); i++) {
        const spurity_service *service = spurity_measurement_service(measurement, i);
        const spurity_measured_file *file = spurity_measurement_file(measurement, (size_t)service->file);
        spurity_segment segment;
        if (!file->survey || !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(file->survey)),
                                                    service->segment, &segment))
            continue;
        for (size_t k = service->first; k <= service->last && k < segment.count; k++)
            if (segment.frequency_hz[k] > 0) {
                first = fmin(first, segment.frequency_hz[k]);
                break;
            }
    }
    return first;
}

static void widen(const spurity_verdict *verdict, double *from_hz, double *to_hz)
{
    double least = *from_hz, most = *to_hz;
    for (size_t i = 0; verdict && i < spurity_verdict_not_shown_count(verdict); i++) {
        const spurity_not_shown *gap = spurity_verdict_not_shown(verdict, i);
        if (!isfinite(gap->from_hz) || !isfinite(gap->to_hz))
            continue;
        least = fmin(least, gap->from_hz);
        most = fmax(most, gap->to_hz);
    }
    if (spurity_picture_is_log(*from_hz, *to_hz)) {
        double reach = pow(*to_hz / *from_hz, EDGE);
        least = fmax(least, *from_hz / reach);
        most = fmin(most, *to_hz * reach);
    } else {
        double reach = EDGE * (*to_hz - *from_hz);
        least = fmax(least, *from_hz - reach);
        most = fmin(most, *to_hz + reach);
    }
    *from_hz = least;
    *to_hz = most;
}

/* What moves a file's levels to the picture's unit; NaN where it cannot be told. */
static double offset_of(const spurity_measured_file *file, bool absolute)
{
    return absolute ? file->dbm_offset : -file->carrier_db;
}

/* dBm as soon as one served file is anchored: a limit is a power.  Files without an anchor are then left out. */
static bool is_absolute(const spurity_measurement *measurement)
{
    for (size_t i = 0; i < spurity_measurement_service_count(measurement); i++) {
        int file = spurity_measurement_service(measurement, i)->file;
        if (isfinite(spurity_measurement_file(measurement, (size_t)file)->dbm_offset))
            return true;
    }
    return false;
}

/* One served stretch; missing points wider than two columns break the line. */
static spurity_status add_service(spurity_picture_store *store, const spurity_measurement *measurement,
                                  const spurity_service *service, bool absolute, spurity_error *error)
{
    const spurity_measured_file *file = spurity_measurement_file(measurement, (size_t)service->file);
    spurity_segment segment;
    if (!file->survey || !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(file->survey)),
                                                service->segment, &segment))
        return SPURITY_OK;
    size_t start = service->first, end = service->last < segment.count ? service->last + 1 : segment.count;
    spurity_status status = SPURITY_OK;
    double offset = offset_of(file, absolute);
    for (size_t i = 0; !status && i < segment.gap_count; i++) {
        size_t gap = segment.gap_before[i];
        if (gap <= start || gap >= end)
            continue;
        if (spurity_picture_columns_between(store, segment.frequency_hz[gap - 1], segment.frequency_hz[gap]) < 2)
            continue;
        status = spurity_picture_add_line(store, segment.frequency_hz + start, segment.level_db + start, gap - start,
                                          offset, error);
        start = gap;
    }
    if (!status && start < end)
        status = spurity_picture_add_line(store, segment.frequency_hz + start, segment.level_db + start, end - start,
                                          offset, error);
    return status;
}

static bool limit_of_verdict(const void *user, double hz, double *db)
{
    return spurity_verdict_limit(user, hz, db);
}

static spurity_status fill(spurity_picture_store *store, const spurity_measurement *measurement,
                           const spurity_verdict *verdict, bool absolute, spurity_error *error)
{
    const spurity_carrier *carrier = spurity_measurement_carrier(measurement);
    spurity_status status = SPURITY_OK;
    spurity_picture_set_carrier(store, carrier->frequency_hz);
    for (size_t i = 0; !status && i < spurity_measurement_service_count(measurement); i++)
        status = add_service(store, measurement, spurity_measurement_service(measurement, i), absolute, error);
    /* On an axis relative to the carrier a limit in dBm can be drawn only when the carrier's own level is known. */
    double offset = absolute ? 0 : -carrier->level_dbm;
    if (!status && verdict && isfinite(offset))
        status = spurity_picture_add_limit(store, limit_of_verdict, verdict, offset, error);
    return status;
}

spurity_status spurity_picture_of(const spurity_measurement *measurement, const spurity_verdict *verdict,
                                  spurity_picture_store **store, spurity_error *error)
{
    double from_hz, to_hz;
    *store = NULL;
    swept_range(measurement, &from_hz, &to_hz);
    if (!(from_hz < to_hz))
        return SPURITY_OK;
    bool absolute = is_absolute(measurement);
    if (from_hz <= 0 && to_hz > 0)
        from_hz = fmax(first_positive(measurement, to_hz), to_hz / LOG_RATIO_MOST);
    if (!(from_hz < to_hz))
        return SPURITY_OK;
    widen(verdict, &from_hz, &to_hz);
    spurity_status status = spurity_picture_create(from_hz, to_hz, absolute ? "dBm" : "dBc", store, error);
    if (!status)
        status = fill(*store, measurement, verdict, absolute, error);
    if (status) {
        spurity_picture_free(*store);
        *store = NULL;
    }
    return status;
}
