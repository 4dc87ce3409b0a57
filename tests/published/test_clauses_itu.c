/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The built-in limits of the ITU-R and of Europe.  Every figure of these files is second-hand or from memory and stands
 * in them as unverified: what is checked here is that they say so, and the arithmetic.
 *
 * Sources, none of them ours:
 * [A]     Category A as quoted by national rules and licence courses: 43 + 10 log P or 70 dB, below 30 MHz for amateurs
 *         43 + 10 log PEP or 50 dB, whichever is less stringent: -13 dBm up to 501 W (5.01 W), then 70 (50) dB.
 * [survey] a published survey of hand-held transmitters: 43 + 10 log 4.73 = 49.75 dB; 70 dB from 500 W on.
 * [AP3]   Radio Regulations, Appendix 3, annex 1, as licence courses tell it: spurious domain from 2.5 times the
 *         necessary bandwidth, from 62.5 kHz where that is below 25 kHz at 30 MHz to 1 GHz, from 10 kHz below 4 kHz at
 * HF. [74-01] ERC/REC 74-01 (corrected 2022-05-23), table 1 (range) and recommends 4 (reference bandwidths). */
#include "clauses.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))
#define A(mhz, watts, station)                                                                                         \
    {                                                                                                                  \
        "itu-a", mhz * 1e6, watts, "F3E", station, 0, 0                                                                \
    }

static const struct place places[] = {
    /* [AP3] 62.5 kHz for 16 kHz at VHF and UHF; 10 kHz for 3 kHz at HF */
    {A(146, 5, NULL), 62.4999e3, NULL, 0, 0},
    {A(146, 5, NULL), 62.5e3, "A-general", 49.99, 100e3},
    {A(446, 5, NULL), 62.4999e3, NULL, 0, 0},
    {A(446, 5, NULL), 892e6, "A-general", 49.99, 100e3},
    {A(446, 5, NULL), 1.338e9, "A-general", 49.99, 1e6},
    {A(28.4, 100, "amateur"), 9.9999e3, NULL, 0, 0},
    {A(28.4, 100, "amateur"), 10e3, "A-amateur", 50, 10e3},
    /* [A] */
    {A(28.4, 5, "amateur"), 56.8e6, "A-amateur", 49.99, 100e3},
    {A(28.4, 5.01, "amateur"), 56.8e6, "A-amateur", 49.998, 100e3},
    {A(28.4, 5.02, "amateur"), 56.8e6, "A-amateur", 50, 100e3},
    {A(28.4, 1500, "amateur"), 56.8e6, "A-amateur", 50, 100e3},
    {A(28.4, 100, "other"), 56.8e6, "A-general", 63, 100e3},
    {A(146, 0.05, NULL), 292e6, "A-general", 29.99, 100e3},
    {A(146, 501, NULL), 292e6, "A-general", 69.998, 100e3},
    {A(146, 502, NULL), 292e6, "A-general", 70, 100e3},
    /* [survey] */
    {A(446, 4.73, NULL), 892e6, "A-general", 49.75, 100e3},
};

/* -36 dBm (0.25 uW) up to 1 GHz, -30 dBm (1 uW) above: at 5 W 72.99 and 66.99 dB. */
static const struct place europe[] = {
    {{"itu-b", 155e6, 5, NULL, NULL, 0, 0}, 62.4999e3, NULL, 0, 0},
    {{"itu-b", 155e6, 5, NULL, NULL, 0, 0}, 62.5e3, "B-land-mobile", 72.99, 100e3},
    {{"itu-b", 155e6, 5, NULL, NULL, 0, 0}, 1e9, "B-land-mobile", 72.99, 100e3},
    {{"itu-b", 155e6, 5, NULL, NULL, 0, 0}, 1.000001e9, "B-land-mobile", 66.99, 1e6},
    {{"eu-land-mobile", 455e6, 5, NULL, NULL, 0, 12.5e3}, 910e6, "74-01 annex 2", 72.99, 100e3},
    {{"eu-land-mobile", 455e6, 5, NULL, NULL, 0, 12.5e3}, 1.365e9, "74-01 annex 2", 66.99, 1e6},
    {{"eu-pmr446", 446.00625e6, 0.5, NULL, NULL, 0, 0}, 892.0125e6, "EN 303 405 spurious", 62.99, 100e3},
    {{"eu-pmr446", 446.00625e6, 0.5, NULL, NULL, 0, 0}, 1.338e9, "EN 303 405 spurious", 56.99, 1e6},
    {{"eu-amateur", 28.4e6, 100, NULL, NULL, 0, 0}, 56.8e6, "74-01 annex 6", 50, 100e3},
    {{"eu-amateur", 146e6, 5, NULL, NULL, 0, 0}, 292e6, NULL, 0, 0}, /* no figure was confirmed: none is held */
};

static void test_places(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(places); i++)
        check_place(&places[i]);
    for (size_t i = 0; i < COUNT(europe); i++)
        check_place(&europe[i]);
}

static double boundary(double carrier_hz, double necessary_hz)
{
    spurity_rules *rules = loaded("itu-a");
    struct set set = {"itu-a", carrier_hz, 5, NULL, "other", 0, 0};
    spurity_conditions conditions = conditions_of(&set);
    double edge = 0.0;
    conditions.necessary_bandwidth_hz = necessary_hz;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        if (facts.limit && spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES)
            edge = spurity_clause_inner_edge(clause, &conditions);
    }
    spurity_rules_free(rules);
    return edge;
}

/* [AP3]; the wide cases from memory, but for 1 to 3 GHz. */
static void test_boundary(void **state)
{
    (void)state;
    assert_near(boundary(14e6, 3e3), 10e3, 1e-6);
    assert_near(boundary(14e6, 6e3), 15e3, 1e-6);
    assert_near(boundary(14e6, 200e3), 400e3, 1e-6);
    assert_near(boundary(30e6, 16e3), 40e3, 1e-6); /* a row holds its upper end: from memory */
    assert_near(boundary(30.001e6, 16e3), 62.5e3, 1e-6);
    assert_near(boundary(146e6, 25e3), 62.5e3, 1e-6);
    assert_near(boundary(146e6, 180e3), 450e3, 1e-6);
    assert_near(boundary(100e6, 20e6), 40e6, 1e-6);
    assert_near(boundary(1.3e9, 16e3), 250e3, 1e-6);
    assert_near(boundary(1.3e9, 60e6), 140e6, 1e-6);
    assert_near(boundary(3.1e9, 16e3), 0.0, 0.0); /* not held: no clause binds */
}

/* No figure of these files passes for confirmed. */
static void test_status(void **state)
{
    static const char *const files[] = {"itu-a", "itu-b", "eu-amateur", "eu-pmr446", "eu-land-mobile"};
    (void)state;
    for (size_t f = 0; f < COUNT(files); f++) {
        spurity_rules *rules = loaded(files[f]);
        for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
            spurity_clause_facts facts;
            spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
            if (facts.limit)
                assert_false(facts.confirmed);
        }
        spurity_rules_free(rules);
    }
}

/* [74-01], table 1: both sides of every step. */
static void test_range(void **state)
{
    static const struct {
        double carrier_hz, from_hz, to_hz;
    } rows[] = {{28.4e6, 9e3, 1e9},      {99.9e6, 9e3, 1e9},     {100e6, 9e3, 1e9},     {146e6, 9e3, 1.46e9},
                {299.9e6, 9e3, 2.999e9}, {300e6, 30e6, 3e9},     {446e6, 30e6, 3e9},    {599.9e6, 30e6, 3e9},
                {600e6, 30e6, 3e9},      {1296e6, 30e6, 6.48e9}, {5.1e9, 30e6, 25.5e9}, {5.2e9, 30e6, 26e9},
                {13e9, 30e6, 26e9}};
    spurity_rules *rules = loaded("eu-amateur");
    spurity_rules_span span;
    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        assert_true(spurity_rules_investigated(rules, rows[i].carrier_hz, &span));
        assert_near(span.from_hz, rows[i].from_hz, 0.0);
        assert_near(span.to_hz, rows[i].to_hz, 1.0);
    }
    assert_false(spurity_rules_investigated(rules, 13.1e9, &span));
    assert_false(spurity_rules_investigated(rules, NAN, &span));
    spurity_rules_free(rules);
}

static const struct figure figures[] = {
    /* EN 300 086, from memory */
    {{"eu-land-mobile", 155e6, 5, NULL, "base", 0, 12.5e3}, SPURITY_QUANTITY_FREQUENCY_ERROR, 1e3, "Hz"},
    {{"eu-land-mobile", 155e6, 5, NULL, "mobile", 0, 12.5e3}, SPURITY_QUANTITY_FREQUENCY_ERROR, 1.5e3, "Hz"},
    {{"eu-land-mobile", 455e6, 5, NULL, NULL, 0, 20e3}, SPURITY_QUANTITY_FREQUENCY_ERROR, 2e3, "Hz"},
    {{"eu-land-mobile", 500.1e6, 5, NULL, NULL, 0, 25e3}, SPURITY_QUANTITY_FREQUENCY_ERROR, 2.5e3, "Hz"},
    {{"eu-land-mobile", 455e6, 5, NULL, NULL, 0, 12.5e3}, SPURITY_QUANTITY_PEAK_DEVIATION, 2.5e3, "Hz"},
    {{"eu-land-mobile", 455e6, 5, NULL, NULL, 0, 20e3}, SPURITY_QUANTITY_PEAK_DEVIATION, 4e3, "Hz"},
    {{"eu-land-mobile", 455e6, 5, NULL, NULL, 0, 25e3}, SPURITY_QUANTITY_PEAK_DEVIATION, 5e3, "Hz"},
    /* EN 303 405, scope */
    {{"eu-pmr446", 446.00625e6, 0.5, NULL, NULL, 0, 0}, SPURITY_QUANTITY_CARRIER_POWER, 0.5, "dBm ERP"},
};

/* EN 303 405, scope: 446.0 to 446.2 MHz, 12.5 kHz from 446.00625 MHz, 6.25 kHz from 446.003125 MHz. */
static void test_figures(void **state)
{
    spurity_rules *rules = loaded("eu-pmr446");
    spurity_channel channel;
    (void)state;
    for (size_t i = 0; i < COUNT(figures); i++)
        check_figure(&figures[i]);
    assert_int_equal(spurity_rules_channel_count(rules), 16 + 32);
    assert_true(spurity_rules_antenna_fixed(rules));
    for (size_t i = 0; i < 48; i++) {
        assert_true(spurity_rules_channel_at(rules, i, &channel));
        assert_true(channel.frequency_hz - channel.bandwidth_hz / 2 > 446.0e6 - 0.1);
        assert_true(channel.frequency_hz + channel.bandwidth_hz / 2 < 446.2e6 + 0.1);
    }
    assert_int_equal(spurity_rules_channel(rules, 446.09375e6, &channel), SPURITY_CHANNEL_ON);
    assert_string_equal(channel.number, "8");
    assert_int_equal(spurity_rules_channel(rules, 446.196875e6, &channel), SPURITY_CHANNEL_ON);
    assert_string_equal(channel.number, "D32");
    assert_int_equal(spurity_rules_channel(rules, 446.21e6, &channel), SPURITY_CHANNEL_OFF);
    spurity_rules_free(rules);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_places), cmocka_unit_test(test_boundary), cmocka_unit_test(test_status),
        cmocka_unit_test(test_range),  cmocka_unit_test(test_figures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
