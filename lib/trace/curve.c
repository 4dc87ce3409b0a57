/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "trace.h"

struct spurity_curve {
    size_t count;
    bool has_uncertainty;
    double *frequency_hz, *db, *uncertainty_db; /* one allocation each way: slices of `values` */
    double values[];
};

static spurity_status check(const double *frequency_hz, const double *db, const double *uncertainty_db, size_t count,
                            spurity_error *error)
{
    spurity_place nowhere = {0};
    if (!count)
        return spurity_report(error, SPURITY_INVALID, nowhere, "a loss table without a point", "at least one point",
                              NULL);
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(frequency_hz[i]) || frequency_hz[i] < 0 || (i && frequency_hz[i] <= frequency_hz[i - 1]))
            return spurity_reportf(error, SPURITY_INVALID, nowhere, "frequencies of 0 Hz or more that rise",
                                   "sort the table and remove repeated rows", "%.17g Hz at point %zu", frequency_hz[i],
                                   i + 1);
        if (!isfinite(db[i]) || (uncertainty_db && !(uncertainty_db[i] >= 0 && isfinite(uncertainty_db[i]))))
            return spurity_reportf(error, SPURITY_INVALID, nowhere, "finite figures, uncertainties of 0 dB or more",
                                   NULL, "no usable figure at point %zu", i + 1);
    }
    return SPURITY_OK;
}

spurity_status spurity_curve_create(const double *frequency_hz, const double *db, const double *uncertainty_db,
                                    size_t count, spurity_curve **curve, spurity_error *error)
{
    *curve = NULL;
    spurity_status status = check(frequency_hz, db, uncertainty_db, count, error);
    if (status)
        return status;
    size_t columns = uncertainty_db ? 3 : 2;
    if (count > (SIZE_MAX - sizeof **curve) / sizeof(double) / columns)
        return spurity_report_memory(error);
    spurity_curve *made = malloc(sizeof *made + columns * count * sizeof(double));
    if (!made)
        return spurity_report_memory(error);
    made->count = count;
    made->has_uncertainty = uncertainty_db != NULL;
    made->frequency_hz = made->values;
    made->db = made->values + count;
    made->uncertainty_db = uncertainty_db ? made->values + 2 * count : NULL;
    memcpy(made->frequency_hz, frequency_hz, count * sizeof(double));
    memcpy(made->db, db, count * sizeof(double));
    if (uncertainty_db)
        memcpy(made->uncertainty_db, uncertainty_db, count * sizeof(double));
    *curve = made;
    return SPURITY_OK;
}

void spurity_curve_free(spurity_curve *curve)
{
    free(curve);
}

size_t spurity_curve_count(const spurity_curve *curve)
{
    return curve->count;
}

double spurity_curve_first_hz(const spurity_curve *curve)
{
    return curve->frequency_hz[0];
}

double spurity_curve_last_hz(const spurity_curve *curve)
{
    return curve->frequency_hz[curve->count - 1];
}

/* Index of the last point at or below hz, which lies inside the curve. */
static size_t below(const spurity_curve *curve, double hz)
{
    size_t low = 0, high = curve->count;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (curve->frequency_hz[middle] <= hz)
            low = middle;
        else
            high = middle;
    }
    return low;
}

bool spurity_curve_at(const spurity_curve *curve, double hz, double *db, double *uncertainty_db)
{
    if (!(hz >= spurity_curve_first_hz(curve) && hz <= spurity_curve_last_hz(curve)))
        return false;
    size_t i = below(curve, hz);
    size_t j = i + 1 < curve->count ? i + 1 : i;
    double span = curve->frequency_hz[j] - curve->frequency_hz[i];
    double part = span > 0 ? (hz - curve->frequency_hz[i]) / span : 0.0;
    *db = curve->db[i] + part * (curve->db[j] - curve->db[i]);
    if (uncertainty_db)
        *uncertainty_db = curve->has_uncertainty
                              ? curve->uncertainty_db[i] + part * (curve->uncertainty_db[j] - curve->uncertainty_db[i])
                              : (double)NAN;
    return true;
}
