/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Where in the spectrum a clause sets its figure. */
#include "internal.h"

double spurity_centre_hz(const struct spurity_clause *clause, const spurity_conditions *conditions)
{
    if (!spurity_known(conditions->carrier_hz))
        return NAN;
    const struct rules_channel *channel =
        clause->where.from_channel_centre ? spurity_rules_channel_of(clause->rules, conditions) : NULL;
    return channel ? channel->frequency_hz : conditions->carrier_hz;
}

bool spurity_clause_centre(const spurity_clause *clause, const spurity_conditions *conditions, double *hz)
{
    double centre = spurity_centre_hz(clause, conditions);
    if (isnan(centre))
        return false;
    *hz = centre;
    return true;
}

bool spurity_where_uses_percent(const struct rules_where *where)
{
    return where->range.low.percent || where->range.high.percent || where->width.percent;
}

/** An end in Hz; NaN when it is a share of an unknown bandwidth. */
static double end_hz(const struct rules_end *end, double bandwidth_hz)
{
    return end->percent ? end->value / 100.0 * bandwidth_hz : end->value;
}

/** Distance of the spurious domain from the centre, Hz: 2.5 times the necessary bandwidth, held up where that is narrow
 * and slowed where it is wide.  Radio Regulations, Appendix 3, annex 1, and Rec. ITU-R SM.1539, as a second-hand source
 * tells them (the 62.5 kHz and the 2.5; the rest from memory).  NaN outside 150 kHz to 3 GHz. */
static double spurious_domain(double carrier_hz, double necessary_hz)
{
    static const struct {
        double up_to_hz, narrow_hz, wide_hz;
    } rows[] = {{30e6, 4e3, 100e3}, {1e9, 25e3, 10e6}, {3e9, 100e3, 50e6}};
    if (!(carrier_hz >= 150e3) || !spurity_known(necessary_hz))
        return NAN;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (carrier_hz > rows[i].up_to_hz)
            continue;
        if (necessary_hz > rows[i].wide_hz)
            return 1.5 * necessary_hz + rows[i].wide_hz;
        return 2.5 * fmax(necessary_hz, rows[i].narrow_hz);
    }
    return NAN;
}

double spurity_where_low(const struct spurity_clause *clause, const spurity_conditions *conditions)
{
    const struct rules_where *where = &clause->where;
    if (where->from_necessary_bandwidth)
        return conditions->necessary_bandwidth_hz / 2.0;
    if (where->from_spurious_domain)
        return spurious_domain(conditions->carrier_hz, conditions->necessary_bandwidth_hz);
    if (!where->range.low.set)
        return 0.0;
    return end_hz(&where->range.low, spurity_clause_bandwidth(clause, conditions));
}

double spurity_clause_inner_edge(const spurity_clause *clause, const spurity_conditions *conditions)
{
    enum rules_where_kind kind = clause->where.kind;
    double edge = kind == WHERE_FROM || kind == WHERE_OFFSET ? spurity_where_low(clause, conditions) : 0.0;
    return spurity_known(edge) ? edge : 0.0;
}

/* ---- stretches ----------------------------------------------------------------------------------- */

enum { HARMONICS_MOST = 1000 };

static spurity_clause_stretch stretch_of(const struct rules_range *range)
{
    spurity_clause_stretch stretch = {0.0, INFINITY, true, false};
    if (range->low.set) {
        stretch.from_hz = range->low.value;
        stretch.from_included = range->low.inclusive;
    }
    if (range->high.set) {
        stretch.to_hz = range->high.value;
        stretch.to_included = range->high.inclusive;
    }
    return stretch;
}

/** What is in both; false when nothing is. */
static bool narrow(spurity_clause_stretch *stretch, const spurity_clause_stretch *by)
{
    if (by->from_hz > stretch->from_hz) {
        stretch->from_hz = by->from_hz;
        stretch->from_included = by->from_included;
    } else if (!(by->from_hz < stretch->from_hz)) {
        stretch->from_included &= by->from_included;
    }
    if (by->to_hz < stretch->to_hz) {
        stretch->to_hz = by->to_hz;
        stretch->to_included = by->to_included;
    } else if (!(by->to_hz > stretch->to_hz)) {
        stretch->to_included &= by->to_included;
    }
    return stretch->to_hz > stretch->from_hz ||
           (!(stretch->to_hz < stretch->from_hz) && stretch->from_included && stretch->to_included);
}

static bool holds(const spurity_clause_stretch *stretch, double hz)
{
    bool above = stretch->from_included ? hz >= stretch->from_hz : hz > stretch->from_hz;
    return above && (stretch->to_included ? hz <= stretch->to_hz : hz < stretch->to_hz);
}

/** Distances from the centre, Hz; false while an end is unknown. */
static bool distances(const spurity_clause *clause, const spurity_conditions *conditions, spurity_clause_stretch *away)
{
    *away = stretch_of(&clause->where.range);
    if (clause->where.range.low.set)
        away->from_hz = spurity_where_low(clause, conditions);
    if (clause->where.range.high.set)
        away->to_hz = end_hz(&clause->where.range.high, spurity_clause_bandwidth(clause, conditions));
    return !isnan(away->from_hz) && !isnan(away->to_hz);
}

/** Both sides of the centre, or one stretch across it. */
static size_t about_centre(const spurity_clause *clause, const spurity_conditions *conditions,
                           spurity_clause_stretch sides[2])
{
    const spurity_clause_stretch spectrum = {0.0, INFINITY, true, false};
    const spurity_clause_stretch within = stretch_of(&clause->where.within);
    double centre = spurity_centre_hz(clause, conditions);
    spurity_clause_stretch away;
    size_t count = 0;
    if (isnan(centre) || !distances(clause, conditions, &away))
        return 0;
    bool whole = away.from_included && !(away.from_hz > 0.0);
    spurity_clause_stretch below = {centre - away.to_hz, centre - away.from_hz, away.to_included, away.from_included};
    spurity_clause_stretch above = {centre + away.from_hz, centre + away.to_hz, away.from_included, away.to_included};
    if (whole)
        above = (spurity_clause_stretch){below.from_hz, above.to_hz, below.from_included, above.to_included};
    if (!whole && narrow(&below, &spectrum) && narrow(&below, &within))
        sides[count++] = below;
    if (narrow(&above, &spectrum) && narrow(&above, &within))
        sides[count++] = above;
    return count;
}

/** The band about one harmonic; bands that meet are one, without an upper end.  False while the carrier or the width is
 * unknown. */
static bool about_harmonic(const spurity_clause *clause, const spurity_conditions *conditions, double order,
                           spurity_clause_stretch *band)
{
    double carrier_hz = conditions->carrier_hz;
    double width_hz = end_hz(&clause->where.width, spurity_clause_bandwidth(clause, conditions));
    if (!spurity_known(carrier_hz) || isnan(width_hz))
        return false;
    bool meet = width_hz >= carrier_hz;
    *band = (spurity_clause_stretch){fmax(0.0, (meet ? 2.0 : order) * carrier_hz - width_hz / 2.0),
                                     meet ? (double)INFINITY : order * carrier_hz + width_hz / 2.0, true, !meet};
    return true;
}

static bool is_spectral(const spurity_clause *clause)
{
    return clause->facts.quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION ||
           clause->facts.quantity == SPURITY_QUANTITY_MASK;
}

/** All kinds but the harmonics. */
static size_t plain_stretches(const spurity_clause *clause, const spurity_conditions *conditions,
                              spurity_clause_stretch found[2])
{
    enum rules_where_kind kind = clause->where.kind;
    if (kind == WHERE_FROM || kind == WHERE_OFFSET)
        return about_centre(clause, conditions, found);
    found[0] = stretch_of(&clause->where.range); /* without a `where` its range is open */
    return 1;
}

static size_t harmonic_stretches(const spurity_clause *clause, const spurity_conditions *conditions,
                                 spurity_clause_stretch *stretches, size_t most)
{
    spurity_clause_stretch band;
    size_t count = 0;
    while (count < HARMONICS_MOST && about_harmonic(clause, conditions, (double)count + 2.0, &band)) {
        if (count < most)
            stretches[count] = band;
        count++;
        if (isinf(band.to_hz))
            break;
    }
    return count;
}

size_t spurity_clause_stretches(const spurity_clause *clause, const spurity_conditions *conditions,
                                spurity_clause_stretch *stretches, size_t most)
{
    spurity_clause_stretch found[2];
    if (!is_spectral(clause))
        return 0;
    if (clause->where.kind == WHERE_HARMONICS)
        return harmonic_stretches(clause, conditions, stretches, most);
    size_t count = plain_stretches(clause, conditions, found);
    for (size_t i = 0; i < count && i < most; i++)
        stretches[i] = found[i];
    return count;
}

bool spurity_clause_covers(const spurity_clause *clause, const spurity_conditions *conditions, double hz)
{
    spurity_clause_stretch found[2];
    if (!is_spectral(clause) || !isfinite(hz))
        return false;
    if (clause->where.kind == WHERE_HARMONICS)
        return about_harmonic(clause, conditions, fmax(2.0, round(hz / conditions->carrier_hz)), found) &&
               holds(found, hz);
    size_t count = plain_stretches(clause, conditions, found);
    return (count > 0 && holds(&found[0], hz)) || (count > 1 && holds(&found[1], hz));
}
