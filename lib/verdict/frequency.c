/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Frequency error: the carrier against the nominal frequency, with the instrument's reference and the reading open. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "near.h"

static spurity_status lacks(struct judging *j, const spurity_clause *clause, const char *reason, const char *advice,
                            spurity_error *error)
{
    return spurity_verdict_add_not_shown(j, clause, (double)NAN, (double)NAN, reason, advice, error);
}

/* The frequency the set should be on: of the channel that was told, or that it is on, else as told; NaN. */
static double nominal(const struct judging *j, char *words, size_t size)
{
    spurity_channel channel = {0};
    char hz[40];
    double told = j->point->carrier_hz, at = isnan(told) ? j->worlds.items[0].carrier_hz : told;
    bool known = !isnan(told) || !j->worlds.channel_open;
    if (known && spurity_rules_channel(j->rules, at, &channel) == SPURITY_CHANNEL_ON) {
        snprintf(words, size, "%s, channel %.20s", spurity_format_frequency(hz, sizeof hz, channel.frequency_hz, 6),
                 channel.number);
        return channel.frequency_hz;
    }
    if (!isnan(told))
        snprintf(words, size, "%s, as told", spurity_format_frequency(hz, sizeof hz, told, 6));
    return told;
}

static spurity_status judge(struct judging *j, const spurity_clause *clause, const spurity_clause_facts *facts,
                            spurity_error *error)
{
    const spurity_carrier *carrier = j->carrier;
    double value, hz, ppm = j->point->reference_ppm;
    const char *unit = NULL;
    char words[80] = "", figure[24];
    double middle, middle_open;
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    if (!row)
        return SPURITY_SYSTEM;
    row->unit = "Hz";
    row->frequency_hz = row->from_hz = row->to_hz = carrier->frequency_hz;
    hz = nominal(j, words, sizeof words);
    spurity_limit_describe(facts->limit, row->binding, sizeof row->binding);
    if (!spurity_limit_value(facts->limit, &j->worlds.items[0], carrier->frequency_hz, &value, &unit))
        return lacks(j, clause, "level-unknown", "the allowed error depends on what was not said", error);
    if (isnan(hz))
        return lacks(j, clause, "nominal-unknown",
                     "the frequency the set should be on is not known: say it with --carrier", error);
    row->limit = strcmp(unit, "ppm") ? value : value * 1e-6 * hz;
    snprintf(figure, sizeof figure, "%.6g %s", value, unit);
    snprintf(row->binding, sizeof row->binding, "%s of %s", figure, words);
    if (!carrier->seen)
        return lacks(j, clause, carrier->swept ? "carrier-absent" : "not-swept",
                     "no sweep shows the carrier: sweep it narrow, unmodulated, and say --reference-ppm", error);
    if (isnan(ppm))
        return lacks(j, clause, "reference-unknown",
                     "how good the instrument's frequency reference is was not said: say --reference-ppm", error);
    if (!spurity_verdict_middle(j, &middle, &middle_open))
        return lacks(j, clause, "modulation-unfit",
                     "where in this modulation the carrier stands cannot be told: key the set unmodulated", error);
    double open = middle_open + ppm * 1e-6 * hz;
    double error_hz = middle - hz, step = pow(10, floor(log10(fmax(open, 1e-3) / 20)));
    row->frequency_hz = row->from_hz = row->to_hz = middle;
    row->measured = step * round(error_hz / step);
    row->margin = row->limit - fabs(row->measured);
    row->uncertainty = open;
    size_t used = strlen(row->binding);
    snprintf(row->binding + used, sizeof row->binding - used, ", reference %.3g ppm%s", ppm,
             carrier->modulated ? ", read modulated" : "");
    row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    row->outcome =
        spurity_verdict_weigh(j, facts, spurity_decide(row->margin, row->uncertainty, j->point->simple_decision));
    return SPURITY_OK;
}

spurity_status spurity_verdict_judge_frequency(struct judging *j, bool *has_clause, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    size_t first = j->verdict->judgement_count;
    for (size_t i = 0; i < spurity_rules_clause_count(j->rules) && !status; i++) {
        const spurity_clause *clause = spurity_rules_clause(j->rules, i);
        spurity_clause_facts facts;
        bool binds[WORLDS_MAX];
        char needs[160];
        spurity_clause_facts_of(clause, &facts);
        if (strcmp(facts.group, "frequency") || facts.quantity != SPURITY_QUANTITY_FREQUENCY_ERROR || !facts.limit)
            continue;
        size_t bound = spurity_verdict_bound_worlds(j, clause, binds, needs, sizeof needs);
        *has_clause = *has_clause || bound || needs[0];
        if (needs[0])
            status = spurity_verdict_ask(j, clause, needs, error);
        if (!status && bound)
            status = judge(j, clause, &facts, error);
    }
    return status ? status : spurity_verdict_settle_worlds(j, first, error);
}
