/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The built-in clauses against the regulation's own arithmetic.
 *
 * Sources, none of them ours:
 * [CFR]   47 CFR 97.307(c)-(e), eCFR point-in-time text, Title 47 issue of 2026-09-23: figures, ends and dates.
 * [1998]  A reading published on a radio-interference mailing list in May 1998, for 30-225 MHz: below 0.1 W the
 *         attenuation is 50 + 10 log P, from 0.1 to 0.25 W 40 dB, from 0.25 to 25 W the limit is 25 uW.
 * [note]  A published transmitter design note: 97.307(e) asks 53.0 dB at 5 W, 54.5 dB at 7 W, 60.0 dB at 25 W.
 * [313], [301], [305]  47 CFR 97.313, 97.301 (Region 2) and 97.305(c), same issue. */
#include "../../lib/rules/rules.h"
#include "../check.h"

static spurity_rules *rules;

static int load(void **state)
{
    spurity_error error = {0};
    (void)state;
    return spurity_rules_load("us-amateur", &rules, &error) != SPURITY_OK;
}

static int unload(void **state)
{
    (void)state;
    spurity_rules_free(rules);
    return 0;
}

static spurity_conditions at(double carrier_hz, double watts)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = carrier_hz;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = watts;
    conditions.necessary_bandwidth_hz = carrier_hz < 30e6 ? 3e3 : 16e3;
    return conditions;
}

/** How many clauses of this quantity bind (YES); *found is the last. */
static size_t binding(const spurity_conditions *conditions, spurity_quantity_limited quantity,
                      const spurity_clause **found)
{
    size_t count = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        if (facts.quantity != quantity)
            continue;
        if (spurity_clause_applies(clause, conditions, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES) {
            *found = clause;
            count++;
        }
    }
    return count;
}

/** Allowed level of the one spurious-emission clause that binds. */
static double allowed(const spurity_conditions *conditions, const spurity_limit **leaf)
{
    const spurity_clause *clause = NULL;
    spurity_clause_facts facts;
    double dbm = NAN;
    assert_int_equal(binding(conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), 1);
    spurity_clause_facts_of(clause, &facts);
    assert_true(spurity_limit_dbm(facts.limit, conditions, 2.0 * conditions->carrier_hz, &dbm, leaf));
    return dbm;
}

struct row {
    double watts, dbm, dbc;
    const char *leaf;
};

/* [CFR] (e), arithmetic done by hand: 10 uW = -20.00 dBm, 25 uW = -16.02 dBm, P/10^4, P/10^6. */
static const struct row clause_e[] = {
    {.05, -20.00, 36.99, "10 µW (-20.0 dBm)"},
    {.1, -20.00, 40.00, NULL},
    {.15, -18.24, 40.00, "40 dB below mean power"},
    {.2, -16.99, 40.00, "40 dB below mean power"},
    {.25, -16.02, 40.00, NULL},
    {.5, -16.02, 43.01, "25 µW (-16.0 dBm)"},
    {1, -16.02, 46.02, "25 µW (-16.0 dBm)"},
    {5, -16.02, 53.01, "25 µW (-16.0 dBm)"},
    {10, -16.02, 56.02, "25 µW (-16.0 dBm)"},
    {25, -16.02, 60.00, "25 µW (-16.0 dBm)"},
    {25.01, -16.02, 60.00, "60 dB below mean power"},
    {50, -13.01, 60.00, "60 dB below mean power"},
    {100, -10.00, 60.00, "60 dB below mean power"},
};

static void test_clause_e(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof clause_e / sizeof *clause_e; i++) {
        const struct row *row = &clause_e[i];
        const spurity_limit *leaf = NULL;
        spurity_conditions conditions = at(146.94e6, row->watts);
        double dbm = allowed(&conditions, &leaf);
        char words[120];
        assert_near(dbm, row->dbm, 0.006);
        assert_near(spurity_dbm_from_watts(row->watts) - dbm, row->dbc, 0.006);
        spurity_limit_describe(leaf, words, sizeof words);
        if (row->leaf)
            assert_string_equal(words, row->leaf);
    }
}

/* [1998]: three pieces, at 400 powers. */
static void test_independent_reading(void **state)
{
    (void)state;
    for (int i = 0; i <= 400; i++) {
        double watts = 0.01 * pow(2500.0, i / 400.0); /* 10 mW to 25 W */
        if (watts > 25.0)
            watts = 25.0;
        double attenuation = watts < 0.1    ? 50.0 + 10.0 * log10(watts)
                             : watts < 0.25 ? 40.0
                                            : 10.0 * log10(watts / 25e-6);
        spurity_conditions conditions = at(146.94e6, watts);
        assert_near(allowed(&conditions, NULL), 10.0 * log10(watts / 1e-3) - attenuation, 1e-9);
    }
}

/* [note] */
static void test_design_note(void **state)
{
    static const double rows[][2] = {{5, 53.0}, {7, 54.5}, {25, 60.0}};
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        spurity_conditions conditions = at(146e6, rows[i][0]);
        assert_near(10.0 * log10(rows[i][0] / 1e-3) - allowed(&conditions, NULL), rows[i][1], 0.05);
    }
}

/* [CFR] (d): flat 43 dB after 2003-01-01; 50 mW and 40 dB, or 30 dB below 5 W, until that day. */
static void test_clause_d(void **state)
{
    static const struct {
        double watts, after, before;
    } rows[] = {{1, -13.00, 0.00},  {4.999, -6.01, 6.99}, {5, -6.01, -3.01},
                {100, 7.00, 10.00}, {500, 13.99, 16.99},  {1500, 18.76, 16.99}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_conditions conditions = at(28.4e6, rows[i].watts);
        conditions.installed = 20030102;
        assert_near(allowed(&conditions, NULL), rows[i].after, 0.006);
        conditions.installed = 20030101; /* "on or before" */
        assert_near(allowed(&conditions, NULL), rows[i].before, 0.006);
    }
}

/* [CFR]: (d) below 30 MHz; (e) "transmitting on a frequency between 30-225 MHz"; beyond, (c) alone. */
static void test_frequency_steps(void **state)
{
    static const struct {
        double carrier_hz;
        const char *clause; /* NULL: no figure */
    } rows[] = {{29.999999e6, "97.307(d)"}, {30e6, "97.307(e)"}, {225e6, "97.307(e)"},
                {225.000001e6, NULL},       {446e6, NULL},       {1296e6, NULL}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const spurity_clause *clause = NULL;
        spurity_clause_facts facts;
        spurity_conditions conditions = at(rows[i].carrier_hz, 5.0);
        conditions.installed = 20200101;
        assert_int_equal(binding(&conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), rows[i].clause ? 1 : 0);
        if (!rows[i].clause)
            continue;
        spurity_clause_facts_of(clause, &facts);
        assert_string_equal(facts.clause, rows[i].clause);
        assert_true(facts.confirmed);
    }
}

/* (c) binds everywhere and has no figure. */
static void test_clause_c(void **state)
{
    static const double carriers[] = {1.9e6, 28.4e6, 146.94e6, 224e6, 446e6, 1296e6};
    (void)state;
    for (size_t i = 0; i < sizeof carriers / sizeof *carriers; i++) {
        bool told = false;
        spurity_conditions conditions = at(carriers[i], 5.0);
        for (size_t k = 0; k < spurity_rules_clause_count(rules); k++) {
            const spurity_clause *clause = spurity_rules_clause(rules, k);
            spurity_clause_facts facts;
            spurity_clause_facts_of(clause, &facts);
            if (strcmp(facts.clause, "97.307(c)"))
                continue;
            told = spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES;
            assert_null(facts.limit);
            assert_int_equal(facts.quantity, SPURITY_QUANTITY_NOTE);
            assert_false(spurity_clause_covers(clause, &conditions, 2.0 * carriers[i]));
        }
        assert_true(told);
    }
}

/* [CFR]: exempt are those built before 1977-04-15 and those first marketed before 1978-01-01; a date unsaid exempts
 * nobody. */
static void test_exemptions(void **state)
{
    const spurity_clause *clause = NULL;
    spurity_conditions conditions = at(146.94e6, 5.0);
    (void)state;
    assert_int_equal(binding(&conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), 1);
    conditions.built = 19770414;
    assert_int_equal(binding(&conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), 0);
    conditions.built = 19770415;
    assert_int_equal(binding(&conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), 1);
    conditions.marketed = 19771231;
    assert_int_equal(binding(&conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), 0);
    conditions.marketed = 19780101;
    assert_int_equal(binding(&conditions, SPURITY_QUANTITY_SPURIOUS_EMISSION, &clause), 1);
}

/* [313]: strictest cap of all clauses that bind, W, with its kind of power. */
static void test_power_caps(void **state)
{
    static const struct {
        double carrier_hz, watts;
        spurity_reference power;
    } rows[] = {{3.6e6, 1500, SPURITY_REFERENCE_PEP},    {10.0999e6, 1500, SPURITY_REFERENCE_PEP},
                {10.1e6, 200, SPURITY_REFERENCE_PEP},    {10.15e6, 200, SPURITY_REFERENCE_PEP},
                {219.5e6, 50, SPURITY_REFERENCE_PEP},    {220.5e6, 1500, SPURITY_REFERENCE_PEP},
                {5.3585e6, 9.15, SPURITY_REFERENCE_ERP}, {5.332e6, 100, SPURITY_REFERENCE_ERP},
                {5.405e6, 100, SPURITY_REFERENCE_ERP},   {146e6, 1500, SPURITY_REFERENCE_PEP}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_conditions conditions = at(rows[i].carrier_hz, 5.0);
        spurity_reference power = SPURITY_REFERENCE_MEAN_POWER;
        double least = INFINITY;
        conditions.antenna_gain_dbd = 0.0; /* ERP is then the power at the terminal */
        for (size_t k = 0; k < spurity_rules_clause_count(rules); k++) {
            const spurity_clause *clause = spurity_rules_clause(rules, k);
            spurity_clause_facts facts;
            double dbm = NAN;
            spurity_clause_facts_of(clause, &facts);
            if (facts.quantity != SPURITY_QUANTITY_CARRIER_POWER ||
                spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) != SPURITY_APPLIES_YES)
                continue;
            assert_true(spurity_limit_dbm(facts.limit, &conditions, rows[i].carrier_hz, &dbm, NULL));
            if (spurity_watts_from_dbm(dbm) >= least)
                continue;
            least = spurity_watts_from_dbm(dbm);
            power = spurity_limit_reference(facts.limit);
        }
        assert_near(least, rows[i].watts, 1e-9 * rows[i].watts);
        assert_int_equal(power, rows[i].power);
    }
}

/* [301], [305]: both edges of every band, and 100 Hz outside. */
static void test_band_edges(void **state)
{
    static const double bands[][2] = {
        {1.8e6, 2e6},         {3.5e6, 4e6},    {5.3515e6, 5.3665e6}, {7e6, 7.3e6},   {10.1e6, 10.15e6}, {14e6, 14.35e6},
        {18.068e6, 18.168e6}, {21e6, 21.45e6}, {24.89e6, 24.99e6},   {28e6, 29.7e6}, {50e6, 54e6},      {144e6, 148e6},
        {219e6, 220e6},       {222e6, 225e6},  {420e6, 450e6},       {902e6, 928e6}, {1240e6, 1300e6}};
    const spurity_clause *clause = NULL;
    spurity_conditions conditions = at(146e6, 5.0);
    spurity_clause_facts facts;
    (void)state;
    assert_int_equal(binding(&conditions, SPURITY_QUANTITY_BAND, &clause), 1);
    spurity_clause_facts_of(clause, &facts);
    assert_int_equal(facts.band_count, 17 + 4);
    assert_null(facts.limit);
    for (size_t i = 0; i < 17; i++) {
        bool found = false;
        for (size_t k = 0; k < facts.band_count; k++)
            found |=
                fabs(facts.bands_hz[2 * k] - bands[i][0]) < 0.5 && fabs(facts.bands_hz[2 * k + 1] - bands[i][1]) < 0.5;
        assert_true(found);
    }
    for (int i = 0; i < 4; i++) { /* the spots of 60 m lie in the middle of theirs */
        static const double spots[] = {5.332e6, 5.348e6, 5.373e6, 5.405e6};
        bool found = false;
        for (size_t k = 0; k < facts.band_count; k++)
            found |= fabs((facts.bands_hz[2 * k] + facts.bands_hz[2 * k + 1]) / 2.0 - spots[i]) < 0.5 &&
                     fabs(facts.bands_hz[2 * k + 1] - facts.bands_hz[2 * k] - 2.8e3) < 0.5; /* 97.307(f)(14) */
        assert_true(found);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clause_e),        cmocka_unit_test(test_independent_reading),
        cmocka_unit_test(test_design_note),     cmocka_unit_test(test_clause_d),
        cmocka_unit_test(test_frequency_steps), cmocka_unit_test(test_clause_c),
        cmocka_unit_test(test_exemptions),      cmocka_unit_test(test_power_caps),
        cmocka_unit_test(test_band_edges),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
