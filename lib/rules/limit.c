/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a limit tree allows. */
#include <stdio.h>
#include <string.h>

#include "internal.h"

spurity_limit_kind spurity_limit_kind_of(const spurity_limit *limit)
{
    return limit->kind;
}

size_t spurity_limit_child_count(const spurity_limit *limit)
{
    return limit->child_count;
}

const spurity_limit *spurity_limit_child(const spurity_limit *limit, size_t index)
{
    return index < limit->child_count ? &limit->children[index] : NULL;
}

spurity_reference spurity_limit_reference(const spurity_limit *limit)
{
    return limit->reference;
}

double spurity_reference_watts(spurity_reference reference, const spurity_conditions *conditions)
{
    double watts = conditions->mean_power_w;
    if (reference == SPURITY_REFERENCE_CARRIER_POWER)
        watts = conditions->carrier_power_w;
    if (reference == SPURITY_REFERENCE_PEP)
        watts = conditions->pep_w;
    if (!spurity_known(watts))
        return NAN;
    if (reference == SPURITY_REFERENCE_ERP) /* power times gain over a half-wave dipole; NaN with an unknown gain */
        watts *= spurity_ratio_from_db(conditions->antenna_gain_dbd);
    return isfinite(watts) ? watts : NAN;
}

/** a + b log10(x^n / scale) or a + b (x - minus) / scale, dB. */
static bool suppression_db(const spurity_limit *limit, const spurity_conditions *conditions, double hz, double *db)
{
    double x = hz;
    if (limit->form == FORM_FIXED) {
        *db = limit->a;
        return true;
    }
    if (limit->variable == VARIABLE_POWER)
        x = spurity_reference_watts(limit->reference, conditions);
    if (limit->variable == VARIABLE_OFFSET)
        x = fabs(hz - spurity_centre_hz(limit->clause, conditions));
    if (limit->form == FORM_TIMES)
        *db = limit->a + limit->b * (x - limit->minus) / limit->scale;
    else
        *db = limit->a + limit->b * log10((limit->exponent == 2 ? x * x : x) / limit->scale);
    return isfinite(*db); /* not at a zero offset, not for an unknown power */
}

/** A cap on power tells in its unit which power it caps. */
static const char *level_unit(const spurity_limit *limit)
{
    if (limit->unit != LEVEL_DBM)
        return limit->unit == LEVEL_HZ ? "Hz" : "ppm";
    if (limit->reference == SPURITY_REFERENCE_PEP)
        return "dBm PEP";
    return limit->reference == SPURITY_REFERENCE_ERP ? "dBm ERP" : "dBm";
}

bool spurity_limit_value(const spurity_limit *limit, const spurity_conditions *conditions, double hz, double *value,
                         const char **unit)
{
    double found = limit->level;
    if (limit->child_count)
        return false;
    bool level = limit->kind == SPURITY_LIMIT_LEVEL;
    if (!level && !suppression_db(limit, conditions, hz, &found))
        return false;
    *value = found;
    if (unit)
        *unit = level ? level_unit(limit) : "dB";
    return true;
}

static bool leaf_dbm(const spurity_limit *limit, const spurity_conditions *conditions, double hz, double *dbm)
{
    double value;
    if (!spurity_limit_value(limit, conditions, hz, &value, NULL))
        return false;
    if (limit->kind == SPURITY_LIMIT_LEVEL) {
        /* a cap on ERP as the power at the terminal: less the antenna's gain, NaN while that is unknown */
        *dbm = limit->reference == SPURITY_REFERENCE_ERP ? value - conditions->antenna_gain_dbd : value;
        return limit->unit == LEVEL_DBM && isfinite(*dbm);
    }
    double watts = spurity_reference_watts(limit->reference, conditions);
    *dbm = spurity_dbm_from_watts(watts) - value;
    return isfinite(*dbm);
}

bool spurity_limit_dbm(const spurity_limit *limit, const spurity_conditions *conditions, double hz, double *dbm,
                       const spurity_limit **leaf)
{
    if (!limit->child_count) {
        if (!leaf_dbm(limit, conditions, hz, dbm))
            return false;
        if (leaf)
            *leaf = limit;
        return true;
    }
    bool lowest = limit->kind == SPURITY_LIMIT_LOWEST_OF;
    double best = NAN;
    for (size_t i = 0; i < limit->child_count; i++) {
        double value;
        const spurity_limit *bound = NULL;
        if (!spurity_limit_dbm(&limit->children[i], conditions, hz, &value, &bound))
            return false;
        if (i && (lowest ? value >= best : value <= best))
            continue;
        best = value;
        if (leaf)
            *leaf = bound;
    }
    *dbm = best;
    return true;
}

void spurity_limit_needs(const spurity_limit *limit, const spurity_conditions *conditions, char *needs, size_t size)
{
    for (size_t i = 0; i < limit->child_count; i++)
        spurity_limit_needs(&limit->children[i], conditions, needs, size);
    if (limit->child_count)
        return;
    bool suppression = limit->kind == SPURITY_LIMIT_SUPPRESSION;
    if (limit->reference == SPURITY_REFERENCE_ERP && !isfinite(conditions->antenna_gain_dbd))
        spurity_needs_add(needs, size, "--antenna-gain");
    spurity_reference power =
        limit->reference == SPURITY_REFERENCE_ERP ? SPURITY_REFERENCE_MEAN_POWER : limit->reference;
    if (suppression && isnan(spurity_reference_watts(power, conditions)))
        spurity_needs_add(needs, size, "--power");
    if (suppression && limit->form != FORM_FIXED && limit->variable == VARIABLE_OFFSET &&
        !spurity_known(conditions->carrier_hz))
        spurity_needs_add(needs, size, "--carrier");
}

/* ---- words --------------------------------------------------------------------------------------- */

static void describe_level(const spurity_limit *limit, char *text, size_t size)
{
    char figure[60], dbm[40];
    if (limit->unit == LEVEL_PPM) {
        snprintf(text, size, "%s ppm", spurity_print_plain(figure, sizeof figure, limit->level));
        return;
    }
    if (limit->unit == LEVEL_HZ) {
        spurity_format_frequency(text, size, limit->level, 6);
        return;
    }
    spurity_format_power(figure, sizeof figure, spurity_watts_from_dbm(limit->level));
    spurity_format_db(dbm, sizeof dbm, limit->level);
    if (limit->clause && limit->clause->facts.quantity == SPURITY_QUANTITY_CARRIER_POWER)
        snprintf(text, size, "%s %s", figure, spurity_reference_name(limit->reference));
    else
        snprintf(text, size, "%s (%s dBm)", figure, dbm);
}

static void describe_suppression(const spurity_limit *limit, char *text, size_t size)
{
    const char *name = spurity_reference_name(limit->reference);
    char a[40], b[40];
    spurity_print_plain(a, sizeof a, limit->a);
    spurity_print_plain(b, sizeof b, limit->b);
    if (limit->form == FORM_FIXED) {
        snprintf(text, size, "%s dB below %s", a, name);
        return;
    }
    bool log10_form = limit->form == FORM_LOG10, first = limit->a < 0.0 || limit->a > 0.0;
    snprintf(text, size, "%s%s%s dB x %s%s%s below %s", first ? a : "", first ? " dB + " : "", b,
             log10_form ? "log10(" : "", limit->argument, log10_form ? ")" : "", name);
}

void spurity_limit_describe(const spurity_limit *limit, char *text, size_t size)
{
    if (limit->kind == SPURITY_LIMIT_LEVEL) {
        describe_level(limit, text, size);
        return;
    }
    if (limit->kind == SPURITY_LIMIT_SUPPRESSION) {
        describe_suppression(limit, text, size);
        return;
    }
    int wrote = snprintf(text, size, "the %s of (", limit->kind == SPURITY_LIMIT_LOWEST_OF ? "lowest" : "highest");
    size_t used = wrote > 0 ? (size_t)wrote : 0;
    for (size_t i = 0; i < limit->child_count && used < size; i++) {
        if (i)
            used += (size_t)snprintf(text + used, size - used, "; ");
        if (used >= size)
            return;
        spurity_limit_describe(&limit->children[i], text + used, size - used);
        used += strlen(text + used);
    }
    if (used < size)
        snprintf(text + used, size - used, ")");
}
