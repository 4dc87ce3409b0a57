/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as a rule file: refused with a place, or read, linted, applied and described. */
#include <math.h>
#include <stdio.h>

#include "../../lib/rules/rules.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void ignore(void *user, const spurity_rule_remark *remark)
{
    (void)user;
    (void)remark;
}

static void use(const spurity_clause *clause, const spurity_conditions *conditions)
{
    static const double places_hz[] = {0.0, 1e6, 146.94e6, 146.95e6, 293.88e6, 2e9};
    char why[160], needs[80], words[200];
    spurity_clause_facts facts;
    spurity_date dates[2];
    double watts[2];
    spurity_clause_facts_of(clause, &facts);
    spurity_clause_applies(clause, conditions, why, sizeof why, needs, sizeof needs);
    spurity_clause_exemption(clause, words, sizeof words);
    spurity_clause_describe_conditions(clause, words, sizeof words);
    spurity_clause_describe_where(clause, words, sizeof words);
    spurity_clause_inner_edge(clause, conditions);
    spurity_clause_stretch stretches[4];
    size_t count = spurity_clause_stretches(clause, conditions, stretches, 4);
    for (size_t i = 0; i < count && i < 4; i++)
        if (!(stretches[i].from_hz >= 0.0 && stretches[i].to_hz >= stretches[i].from_hz) ||
            spurity_clause_covers(clause, conditions, stretches[i].from_hz) != stretches[i].from_included)
            __builtin_trap();
    spurity_clause_power_steps(clause, watts, 2);
    for (int kind = 0; kind < 3; kind++)
        spurity_clause_date_steps(clause, (spurity_date_kind)kind, dates, 2);
    if (facts.limit)
        spurity_limit_describe(facts.limit, words, sizeof words);
    for (size_t i = 0; i < sizeof places_hz / sizeof *places_hz; i++) {
        double dbm;
        spurity_clause_reference_bandwidth(clause, places_hz[i]);
        spurity_clause_covers(clause, conditions, places_hz[i]);
        if (facts.limit && spurity_limit_dbm(facts.limit, conditions, places_hz[i], &dbm, NULL) && isnan(dbm))
            __builtin_trap(); /* a level that was told is a number */
    }
}

/** What the tables answer. */
static void look_up(const spurity_rules *rules, const spurity_conditions *conditions)
{
    char words[120];
    double hz;
    spurity_channel channel;
    spurity_rules_span span;
    if (spurity_rules_channel(rules, conditions->carrier_hz, &channel) != SPURITY_CHANNEL_NO_TABLE &&
        !(channel.bandwidth_hz > 0.0))
        __builtin_trap();
    if (spurity_rules_bandwidth(rules, conditions, &hz) != SPURITY_BANDWIDTH_UNKNOWN && !(hz > 0.0))
        __builtin_trap();
    if (spurity_rules_investigated(rules, conditions->carrier_hz, &span) && !(span.to_hz > 0.0 && span.from_hz > 0.0))
        __builtin_trap();
    spurity_rules_describe_bandwidth(rules, conditions, words, sizeof words);
    spurity_rules_knows_station(rules, conditions->station, words, sizeof words);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    char told[1000];
    spurity_status status = spurity_rules_load_memory("fuzz.yaml", (const char *)data, size, &rules, &error);
    spurity_error_describe(&error, told, sizeof told);
    if ((status == SPURITY_OK) != (rules != NULL) || status != error.status)
        __builtin_trap();
    if (status)
        return 0;
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    spurity_rules_lint(rules, ignore, NULL);
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
        use(spurity_rules_clause(rules, i), &conditions);
    conditions.carrier_hz = 146.94e6;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = 5.0;
    conditions.necessary_bandwidth_hz = 16e3;
    conditions.bandwidth_hz = 20e3;
    conditions.installed = conditions.marketed = conditions.built = 20200101;
    conditions.emission = "16K0F3E";
    conditions.station = "mobile";
    conditions.audio_filter = 1;
    conditions.antenna_gain_dbd = 2.0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
        use(spurity_rules_clause(rules, i), &conditions);
    look_up(rules, &conditions);
    conditions.emission = conditions.station = NULL;
    conditions.bandwidth_hz = (double)NAN;
    look_up(rules, &conditions);
    spurity_rules_free(rules);
    return 0;
}
