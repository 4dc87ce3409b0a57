/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_CLAUSES_H
#define SPURITY_TESTS_CLAUSES_H
/* Asking a built-in file what it allows one transmitter. */
#include "../../lib/rules/rules.h"
#include "../check.h"

/** A transmitter as a user tells it.  Unsaid: 0, NULL. */
struct set {
    const char *rules;
    double carrier_hz, watts;
    const char *emission, *station;
    char filter; /* 'y', 'n', or 0 */
    double bandwidth_hz;
};

static inline spurity_conditions conditions_of(const struct set *set)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = set->carrier_hz;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = set->watts;
    conditions.necessary_bandwidth_hz = set->carrier_hz < 30e6 ? 3e3 : 16e3;
    conditions.bandwidth_hz = set->bandwidth_hz > 0.0 ? set->bandwidth_hz : (double)NAN;
    conditions.emission = set->emission;
    conditions.station = set->station;
    conditions.audio_filter = !set->filter ? -1 : set->filter == 'y';
    conditions.antenna_gain_dbd = 0.0;
    return conditions;
}

static inline spurity_rules *loaded(const char *id)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    assert_ok(spurity_rules_load(id, &rules, &error), &error);
    return rules;
}

static inline bool is_spectral(spurity_quantity_limited quantity)
{
    return quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION || quantity == SPURITY_QUANTITY_MASK;
}

/** What all clauses together ask at a frequency. */
struct asked {
    size_t count;     /* clauses that bind and cover it */
    double dbm;       /* the lowest level they allow, NaN: none */
    char clause[60];  /* that one's number */
    double reference; /* its reference bandwidth, Hz */
    bool confirmed;
    bool open; /* some clause asks for a condition not said */
};

static inline struct asked asked_at(const spurity_rules *rules, const spurity_conditions *conditions, double hz)
{
    struct asked asked = {.dbm = (double)NAN, .reference = (double)NAN};
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts facts;
        double dbm = NAN;
        spurity_clause_facts_of(clause, &facts);
        spurity_applies applies = spurity_clause_applies(clause, conditions, NULL, 0, NULL, 0);
        asked.open |= is_spectral(facts.quantity) && applies == SPURITY_APPLIES_UNKNOWN;
        if (!is_spectral(facts.quantity) || applies != SPURITY_APPLIES_YES ||
            !spurity_clause_covers(clause, conditions, hz))
            continue;
        assert_true(spurity_limit_dbm(facts.limit, conditions, hz, &dbm, NULL));
        asked.count++;
        if (asked.dbm <= dbm)
            continue;
        asked.dbm = dbm;
        asked.reference = spurity_clause_reference_bandwidth(clause, hz);
        asked.confirmed = facts.confirmed;
        snprintf(asked.clause, sizeof asked.clause, "%s", facts.clause);
    }
    return asked;
}

/** One place: the strictest clause there and the attenuation below the transmitter's power it asks. */
struct place {
    struct set set;
    double offset_hz;    /* from the carrier, or a frequency when above 10 MHz */
    const char *clause;  /* NULL: none sets a figure */
    double attenuation;  /* dB */
    double reference_hz; /* 0: none named */
};

static inline void check_place(const struct place *place)
{
    spurity_rules *rules = loaded(place->set.rules);
    spurity_conditions conditions = conditions_of(&place->set);
    bool absolute = place->offset_hz > 10e6;
    for (int side = -1; side <= 1; side += 2) {
        double hz = absolute ? place->offset_hz : place->set.carrier_hz + side * place->offset_hz;
        struct asked asked = asked_at(rules, &conditions, hz);
        double attenuation = 10.0 * log10(place->set.watts / 1e-3) - asked.dbm;
        bool same = place->clause ? asked.count && !strcmp(asked.clause, place->clause) : !asked.count;
        if (!same || asked.open || (place->clause && fabs(attenuation - place->attenuation) > 0.006))
            print_error("%s at %.1f Hz: %zu clauses, '%s' %.3f dB%s\n", place->set.rules, place->offset_hz, asked.count,
                        asked.clause, attenuation, asked.open ? ", some open" : "");
        assert_true(same);
        assert_false(asked.open);
        if (!place->clause)
            continue;
        assert_near(attenuation, place->attenuation, 0.006);
        assert_near(asked.reference, place->reference_hz > 0.0 ? place->reference_hz : (double)NAN, 1e-6);
    }
    spurity_rules_free(rules);
}

/** One figure that has no place in the spectrum. */
struct figure {
    struct set set;
    spurity_quantity_limited quantity;
    double value; /* W, Hz or ppm; the strictest of all that bind; NaN: none binds */
    const char *unit;
};

static inline void check_figure(const struct figure *figure)
{
    spurity_rules *rules = loaded(figure->set.rules);
    spurity_conditions conditions = conditions_of(&figure->set);
    double least = NAN;
    const char *unit = "";
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts facts;
        const char *own = NULL;
        double value = NAN;
        spurity_clause_facts_of(clause, &facts);
        if (facts.quantity != figure->quantity ||
            spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) != SPURITY_APPLIES_YES)
            continue;
        assert_true(spurity_limit_value(facts.limit, &conditions, conditions.carrier_hz, &value, &own));
        if (!strncmp(own, "dBm", 3))
            value = 1e-3 * pow(10.0, value / 10.0);
        if (least <= value)
            continue;
        least = value;
        unit = own;
    }
    if (!(isnan(least) && isnan(figure->value)) && !(fabs(least - figure->value) < 1e-6 * figure->value))
        print_error("%s, %.6g Hz: %.9g %s\n", figure->set.rules, figure->set.carrier_hz, least, unit);
    assert_near(least, figure->value, 1e-6 * figure->value);
    if (figure->unit)
        assert_string_equal(unit, figure->unit);
    spurity_rules_free(rules);
}
#endif
