/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What is asked: whether it can be so, and what follows from it at once. */
#include <math.h>

#include "parts.h"

static const spurity_place nowhere = {0};

void spurity_plan_question_init(spurity_plan_question *question)
{
    *question = (spurity_plan_question){.max_input_dbm = (double)NAN,
                                        .noise_dbm = (double)NAN,
                                        .noise_rbw_hz = (double)NAN,
                                        .rate_hz = (double)NAN,
                                        .second_harmonic_intercept_dbm = (double)NAN,
                                        .third_order_intercept_dbm = (double)NAN};
}

/* ---- checks ---- */

static spurity_status check_set(const spurity_plan_question *question, spurity_error *error)
{
    const spurity_test_point *point = question->point;
    if (!point || !(point->carrier_hz > 0) || !isfinite(point->carrier_hz))
        return spurity_report(error, SPURITY_INVALID, nowhere, "no carrier", "the set's frequency",
                              "say --carrier, as in --carrier 146.94M");
    if (point->carrier_hz < 9e3 || point->carrier_hz > 300e9)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "9 kHz to 300 GHz", "check the unit of --carrier",
                               "a carrier of %.6g Hz", point->carrier_hz);
    if (!(point->power_low_w > 0) || !(point->power_high_w >= point->power_low_w) || !isfinite(point->power_high_w))
        return spurity_report(error, SPURITY_INVALID, nowhere, "no power", "the most the set gives",
                              "say --power, as in --power 5W: pads and instrument are chosen by it");
    if (point->power_high_w > 1e6)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, "up to 1 MW", "check the unit of --power",
                               "a power of %.4g W", point->power_high_w);
    if (!question->rules_count || !question->rules)
        return spurity_report(error, SPURITY_INVALID, nowhere, "no rules", "at least one rule set",
                              "say --rules, as in --rules us-amateur");
    if (!isnan(point->range_from_hz) && !(point->range_to_hz > point->range_from_hz))
        return spurity_report(error, SPURITY_INVALID, nowhere, "a range that ends where it begins, or before",
                              "FROM below TO", "check --range");
    return SPURITY_OK;
}

static spurity_status out_of_reach(const char *option, double value, const char *unit, const char *expected,
                                   spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, nowhere, expected, NULL, "%s of %.6g %s", option, value, unit);
}

static spurity_status check_instrument(const spurity_plan_question *question, spurity_error *error)
{
    double noise = question->noise_dbm, rbw = question->noise_rbw_hz, rate = question->rate_hz;
    double second = question->second_harmonic_intercept_dbm, third = question->third_order_intercept_dbm;
    if (!isnan(question->max_input_dbm) && !(fabs(question->max_input_dbm) <= 100))
        return out_of_reach("--max-input", question->max_input_dbm, "dBm", "-100 dBm to 100 dBm", error);
    if (isnan(noise) != isnan(rbw))
        return spurity_report(error, SPURITY_INVALID, nowhere, "noise without the RBW it was read in", "both",
                              "say --noise as level and RBW, as in --noise -110dBm/10k");
    if (!isnan(rbw) && !(rbw > 0 && rbw <= 1e9))
        return out_of_reach("--noise in an RBW", rbw, "Hz", "an RBW above 0, up to 1 GHz", error);
    /* Thermal noise at 290 K is -173.975 dBm in 1 Hz (k T, Boltzmann's constant of the SI); nothing here is cooled. */
    if (!isnan(noise) && !(noise > -180 + 10 * log10(rbw) && noise <= 50))
        return out_of_reach("--noise", noise, "dBm",
                            "a level above thermal noise (-174 dBm in 1 Hz) and no higher than 50 dBm", error);
    if (!isnan(rate) && !(rate >= 1e3 && rate <= 100e9))
        return out_of_reach("--rate", rate, "Hz", "1 kHz to 100 GHz", error);
    double edge = question->point->edge_fraction;
    if (!isnan(rate) && !(edge >= 0 && edge <= 0.45))
        return out_of_reach("--edge", 100 * edge, "%", "0 to 45 %", error);
    if (!isnan(second) && !(fabs(second) <= 200))
        return out_of_reach("--second-harmonic-intercept", second, "dBm", "-200 dBm to 200 dBm", error);
    if (!isnan(third) && !(fabs(third) <= 200))
        return out_of_reach("--third-order-intercept", third, "dBm", "-200 dBm to 200 dBm", error);
    return SPURITY_OK;
}

spurity_status spurity_plan_check_question(const spurity_plan_question *question, spurity_error *error)
{
    spurity_status status = check_set(question, error);
    if (!status)
        status = check_instrument(question, error);
    if (!status && question->chain && spurity_chain_kind_of(question->chain) == SPURITY_CHAIN_CORRECTED)
        return spurity_report(error, SPURITY_INVALID, nowhere, "a plan for levels that are corrected already",
                              "what stands between set and instrument",
                              "--corrected is a word about a file: for a plan say --pad, --loss or --direct");
    return status;
}

/* ---- what follows at once ---- */

static unsigned groups_asked(const spurity_test_point *point)
{
    if (point->only)
        return point->only;
    unsigned asked = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER;
    if (point->modulation == SPURITY_MODULATION_TEST || point->modulation == SPURITY_MODULATION_VOICE)
        asked |= SPURITY_GROUP_MASK;
    if (!isnan(point->reference_ppm))
        asked |= SPURITY_GROUP_FREQUENCY;
    return asked;
}

/* Peaks of an amplitude-modulated carrier reach 6.02 dB over it (100 % modulation: twice the voltage). */
static double envelope_db(const spurity_test_point *point)
{
    bool amplitude = spurity_emission_type(point->emission)[0] == 'A';
    return amplitude && !point->power_is_pep && point->modulation != SPURITY_MODULATION_NONE ? 20 * log10(2.0) : 0;
}

/* Range to be shown: what the rules say, else the contract's: from the lowest frequency the set generates, unsaid 30
 * MHz or a quarter of the carrier, to the tenth harmonic or 40 GHz.  Of several rule sets: all of them. */
static void set_range(struct planning *p)
{
    const spurity_test_point *point = p->point;
    double from = (double)INFINITY, to = 0;
    for (size_t i = 0; i < p->question->rules_count; i++) {
        spurity_rules_span span = {fmin(30e6, p->f0 / 4), fmin(10 * p->f0, 40e9), NULL, false};
        spurity_rules_investigated(p->question->rules[i], p->f0, &span);
        from = fmin(from, span.from_hz);
        to = fmax(to, span.to_hz);
    }
    if (!isnan(point->lowest_hz))
        from = point->lowest_hz;
    p->from_hz = isnan(point->range_from_hz) ? from : point->range_from_hz;
    p->to_hz = isnan(point->range_to_hz) ? to : point->range_to_hz;
}

void spurity_plan_read_question(struct planning *p)
{
    const spurity_test_point *point = p->point;
    spurity_plan_figures *figures = &p->plan->figures;
    p->f0 = point->carrier_hz;
    p->low_dbm = spurity_dbm_from_watts(point->power_low_w);
    p->high_dbm = spurity_dbm_from_watts(point->power_high_w);
    p->peak_dbm = p->high_dbm + envelope_db(point);
    p->asked = groups_asked(point);
    p->level_dbm = (double)NAN;
    set_range(p);
    *figures = (spurity_plan_figures){.carrier_hz = p->f0,
                                      .power_w = point->power_high_w,
                                      .attenuation_db = (double)NAN,
                                      .pad_db = (double)NAN,
                                      .level_at_instrument_dbm = (double)NAN,
                                      .max_input_dbm = p->question->max_input_dbm,
                                      .headroom_db = (double)NAN,
                                      .from_hz = p->from_hz,
                                      .to_hz = p->to_hz};
}
