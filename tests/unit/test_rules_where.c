/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Stretches of spectrum: those of known clauses worked by hand, and of every built-in clause at and beside every end.
 */
#include "../../lib/rules/rules.h"
#include "../check.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

static spurity_rules *loaded(const char *id)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    assert_ok(spurity_rules_load(id, &rules, &error), &error);
    return rules;
}

static spurity_conditions at(double carrier_hz, double bandwidth_hz)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = carrier_hz;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = 5.0;
    conditions.necessary_bandwidth_hz = carrier_hz < 30e6 ? 3e3 : 16e3;
    conditions.bandwidth_hz = bandwidth_hz;
    return conditions;
}

/** The first clause of that citation. */
static const spurity_clause *cited(const spurity_rules *rules, const char *citation)
{
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_clause_facts facts;
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        if (!strcmp(facts.citation, citation))
            return spurity_rules_clause(rules, i);
    }
    fail_msg("no clause cites %s", citation);
    return NULL;
}

/* ---- by hand ------------------------------------------------------------------------------------- */

struct row {
    const char *rules, *citation;
    double carrier_hz, bandwidth_hz; /* 0: not told */
    double centre_hz;
    size_t count;
    spurity_clause_stretch first, last;
};

#define UP INFINITY
#define NOWHERE                                                                                                        \
    {                                                                                                                  \
        0.0, 0.0, false, false                                                                                         \
    }
static const struct row rows[] = {
    /* more than 5.625 kHz up to and including 12.5 kHz, either side */
    {"us-land-mobile",
     "47 CFR 90.210(d)(2)",
     155e6,
     12.5e3,
     155e6,
     2,
     {154987500.0, 154994375.0, true, false},
     {155005625.0, 155012500.0, false, true}},
    /* from the centre: one stretch across it */
    {"us-land-mobile",
     "47 CFR 90.210(d)(1)",
     155e6,
     12.5e3,
     155e6,
     1,
     {154994375.0, 155005625.0, true, true},
     {154994375.0, 155005625.0, true, true}},
    /* 50 to 100 % of 20 kHz */
    {"us-gmrs",
     "47 CFR 95.1779(b)(1)",
     462.6e6,
     0,
     462.6e6,
     2,
     {462580000.0, 462590000.0, true, false},
     {462610000.0, 462620000.0, false, true}},
    /* from the channel's centre, where the carrier is 1 kHz off */
    {"us-murs",
     "47 CFR 95.2779(b)(2)",
     151.821e6,
     0,
     151.82e6,
     2,
     {0.0, 151807500.0, true, false},
     {151832500.0, UP, false, false}},
    /* on no channel: from the carrier */
    {"us-murs",
     "47 CFR 95.2779(b)(2)",
     151.84e6,
     0,
     151.84e6,
     2,
     {0.0, 151827500.0, true, false},
     {151852500.0, UP, false, false}},
    /* from half the necessary bandwidth on, included */
    {"us-amateur",
     "47 CFR 97.307(e), second sentence",
     146e6,
     0,
     146e6,
     2,
     {0.0, 145992000.0, true, true},
     {146008000.0, UP, true, false}},
    /* the spurious domain from 62.5 kHz, and up to 1 GHz only, or above it only */
    {"itu-b",
     "Rec. ITU-R SM.329, table 3, land mobile, up to 1 GHz",
     155e6,
     0,
     155e6,
     2,
     {0.0, 154937500.0, true, true},
     {155062500.0, 1e9, true, true}},
    {"itu-b",
     "Rec. ITU-R SM.329, table 3, land mobile, above 1 GHz",
     155e6,
     0,
     155e6,
     1,
     {1e9, UP, false, false},
     {1e9, UP, false, false}},
    /* 500 % of 8 kHz about the harmonics, from the second to the thousandth of them */
    {"us-cb",
     "47 CFR 95.979(a)(6)",
     27.185e6,
     8e3,
     27.185e6,
     1000,
     {54350000.0, 54390000.0, true, true},
     {27212165000.0, 27212205000.0, true, true}},
    /* a figure with no place; an unknown bandwidth; an unknown carrier */
    {"us-frs", "47 CFR 95.565", 462.5625e6, 0, 462.5625e6, 0, NOWHERE, NOWHERE},
    {"us-land-mobile", "47 CFR 90.210(b)(1)", 155e6, 0, 155e6, 0, NOWHERE, NOWHERE},
    {"us-frs", "47 CFR 95.579(a)(3)", 0, 0, 0, 0, NOWHERE, NOWHERE},
};

static void same(const spurity_clause_stretch *found, const spurity_clause_stretch *wanted)
{
    assert_near(found->from_hz, wanted->from_hz, 1e-3);
    if (isinf(wanted->to_hz))
        assert_true(isinf(found->to_hz));
    else
        assert_near(found->to_hz, wanted->to_hz, 1e-3);
    assert_int_equal(found->from_included, wanted->from_included);
    assert_int_equal(found->to_included, wanted->to_included);
}

static void test_by_hand(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(rows); i++) {
        const struct row *row = &rows[i];
        spurity_rules *rules = loaded(row->rules);
        spurity_conditions conditions = at(row->carrier_hz, row->bandwidth_hz);
        const spurity_clause *clause = cited(rules, row->citation);
        spurity_clause_stretch found[1000];
        double centre_hz = -1.0;
        assert_int_equal(spurity_clause_centre(clause, &conditions, &centre_hz), row->carrier_hz > 0.0);
        assert_near(centre_hz, row->carrier_hz > 0.0 ? row->centre_hz : -1.0, 1e-6);
        size_t count = spurity_clause_stretches(clause, &conditions, found, COUNT(found));
        if (count != row->count)
            print_error("%s: %zu stretches\n", row->citation, count);
        assert_int_equal(count, row->count);
        if (count) {
            same(&found[0], &row->first);
            same(&found[count - 1], &row->last);
        }
        assert_int_equal(spurity_clause_stretches(clause, &conditions, NULL, 0), count);
        spurity_rules_free(rules);
    }
}

/* ---- every clause -------------------------------------------------------------------------------- */

static bool within(const spurity_clause_stretch *stretches, size_t count, double hz)
{
    for (size_t i = 0; i < count; i++) {
        bool above = stretches[i].from_included ? hz >= stretches[i].from_hz : hz > stretches[i].from_hz;
        if (above && (stretches[i].to_included ? hz <= stretches[i].to_hz : hz < stretches[i].to_hz))
            return true;
    }
    return false;
}

/** At an end, on the next figures a double has to either side, and 1 Hz to either side. */
static size_t check_end(const spurity_clause *clause, const spurity_conditions *conditions,
                        const spurity_clause_stretch *stretches, size_t count, double end_hz, bool included)
{
    const double places[] = {end_hz, nextafter(end_hz, -INFINITY), nextafter(end_hz, INFINITY), end_hz - 1.0,
                             end_hz + 1.0};
    if (isinf(end_hz))
        return 0;
    assert_int_equal(spurity_clause_covers(clause, conditions, end_hz), included);
    for (size_t i = 0; i < COUNT(places); i++)
        assert_int_equal(spurity_clause_covers(clause, conditions, places[i]), within(stretches, count, places[i]));
    return COUNT(places);
}

static size_t check_clause(const spurity_clause *clause, const spurity_conditions *conditions)
{
    enum { MOST = 12 }; /* harmonics go on */
    spurity_clause_stretch found[MOST];
    size_t count = spurity_clause_stretches(clause, conditions, found, MOST), checked = 0;
    count = count < MOST ? count : MOST;
    for (size_t i = 0; i < count; i++) {
        assert_true(found[i].from_hz >= 0.0 && found[i].to_hz >= found[i].from_hz);
        assert_true(!i || found[i].from_hz >= found[i - 1].to_hz); /* rising, disjoint */
        checked += check_end(clause, conditions, found, count, found[i].from_hz, found[i].from_included);
        checked += check_end(clause, conditions, found, count, found[i].to_hz, found[i].to_included);
    }
    return checked;
}

/** Whole figures of Hz and figures that no double holds exactly: an end is the same for both questions. */
static void test_every_clause(void **state)
{
    static const double carriers[] = {1.9e6,         27.185e6,   27.18512345678e6, 28.4e6,  40e6,          72.01e6,
                                      145.9876543e6, 151.82e6,   154.6012345e6,    155e6,   221.1e6,       446.00625e6,
                                      446.0061e6,    455.1234e6, 462.5625e6,       467.7e6, 462.60034567e6};
    static const double widths[] = {0, 4e3, 6e3, 8e3, 11.25e3, 12.5e3, 20e3, 12345.678};
    size_t checked = 0;
    (void)state;
    for (size_t f = 0; f < spurity_rules_builtin_count(); f++) {
        spurity_rules *rules = loaded(spurity_rules_builtin_id(f));
        for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
            for (size_t c = 0; c < COUNT(carriers); c++)
                for (size_t w = 0; w < COUNT(widths); w++) {
                    spurity_conditions conditions = at(carriers[c], widths[w]);
                    checked += check_clause(spurity_rules_clause(rules, i), &conditions);
                }
        spurity_rules_free(rules);
    }
    assert_true(checked > 50000);
}

/** Bands about harmonics that are wider than the harmonics are apart are one; a clause with no place stands everywhere.
 */
static void test_odd_places(void **state)
{
    static const char head[] = "format: spurity-rules\nversion: 1\nid: own\ntitle: t\nedition: invented\nclauses:\n";
    static const char *const wheres[] = {"", "    where: {around: harmonics, width: 2 MHz}\n",
                                         "    where: {offset: {above: 0 Hz, up_to: 5 MHz}}\n",
                                         "    where: {offset: {from: 1 kHz}, absolute: {from: 7 MHz}}\n",
                                         "    where: {from: 2 kHz, absolute: {above: 1 MHz, below: 1.002 MHz}}\n"};
    static const spurity_clause_stretch wanted[][2] = {{{0, UP, true, false}, {0, UP, true, false}},
                                                       {{1e6, UP, true, false}, {1e6, UP, true, false}},
                                                       {{0, 1e6, true, false}, {1e6, 6e6, false, true}},
                                                       {{7e6, UP, true, false}, {7e6, UP, true, false}},
                                                       {NOWHERE, NOWHERE}};
    static const size_t counts[] = {1, 1, 2, 1, 0}; /* the last: 1.002 MHz is its first place, and not included */
    (void)state;
    for (size_t i = 0; i < COUNT(wheres); i++) {
        char yaml[1000];
        spurity_rules *rules = NULL;
        spurity_error error = {0};
        spurity_clause_stretch found[2];
        spurity_conditions conditions = at(1e6, 0);
        int size = snprintf(yaml, sizeof yaml,
                            "%s  - clause: '1'\n    citation: invented\n    status: unverified\n    says: s\n"
                            "    group: emissions\n    quantity: spurious emission\n%s    limit: {level: -36 dBm}\n",
                            head, wheres[i]);
        assert_ok(spurity_rules_load_memory("own", yaml, (size_t)size, &rules, &error), &error);
        const spurity_clause *clause = spurity_rules_clause(rules, 0);
        size_t count = spurity_clause_stretches(clause, &conditions, found, 2);
        assert_int_equal(count, counts[i]);
        if (count) {
            same(&found[0], &wanted[i][0]);
            same(&found[count - 1], &wanted[i][1]);
        }
        check_clause(clause, &conditions);
        assert_false(spurity_clause_covers(clause, &conditions, -1.0));
        assert_false(spurity_clause_covers(clause, &conditions, NAN));
        assert_false(spurity_clause_covers(clause, &conditions, INFINITY));
        spurity_rules_free(rules);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_by_hand), cmocka_unit_test(test_every_clause),
                                       cmocka_unit_test(test_odd_places)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
