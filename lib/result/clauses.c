/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Which clauses of a rule set a verdict met, so that a reader can look each up. */
#include "internal.h"

static json_t *clause_object(const spurity_rules *rules, const spurity_clause *clause)
{
    spurity_clause_facts facts = {0};
    spurity_clause_facts_of(clause, &facts);
    json_t *object = json_object();
    const struct {
        const char *key, *text;
    } fields[] = {{"clause", facts.clause},
                  {"citation", facts.citation},
                  {"says", facts.says},
                  {"group", facts.group},
                  {"edition", facts.edition ? facts.edition : spurity_rules_edition(rules)},
                  {"status", facts.confirmed ? "confirmed" : "unverified"}};
    for (size_t i = 0; object && i < sizeof fields / sizeof fields[0]; i++)
        if (json_object_set_new_nocheck(object, fields[i].key, spurity_value_text(fields[i].text))) {
            json_decref(object);
            return NULL;
        }
    return object;
}

static bool is_judged(const spurity_verdict *verdict, const spurity_clause *clause)
{
    for (size_t i = 0; i < spurity_verdict_judgement_count(verdict); i++)
        if (spurity_verdict_judgement(verdict, i)->clause == clause)
            return true;
    return false;
}

static bool is_met(const spurity_verdict *verdict, const spurity_clause *clause)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(verdict); i++)
        if (spurity_verdict_not_shown(verdict, i)->clause == clause)
            return true;
    for (size_t i = 0; i < spurity_verdict_told_count(verdict); i++)
        if (spurity_verdict_told(verdict, i) == clause)
            return true;
    return is_judged(verdict, clause);
}

json_t *spurity_clauses_met(const spurity_verdict *verdict, size_t index)
{
    const spurity_rules *rules = spurity_verdict_rules(verdict, index)->rules;
    json_t *list = json_array();
    for (size_t i = 0; list && i < spurity_rules_clause_count(rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        if (!is_met(verdict, clause))
            continue;
        if (json_array_append_new(list, clause_object(rules, clause))) {
            json_decref(list);
            return NULL;
        }
    }
    return list;
}
