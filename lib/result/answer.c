/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a set of rules says of one transmitter, as the contract's "spurity-rules" object. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

extern const unsigned char spurity_rules_schema_json[];

const char *spurity_rules_json_schema(void)
{
    return (const char *)spurity_rules_schema_json; /* the embedded text ends in a 0 byte */
}

void spurity_rules_question_init(spurity_rules_question *question)
{
    *question = (spurity_rules_question){.clause = NULL};
    spurity_conditions_init(&question->conditions);
}

bool spurity_rules_question_asks(const spurity_rules_question *question, const spurity_clause *clause)
{
    spurity_clause_facts facts;
    if (!question->clause)
        return true;
    size_t length = strlen(question->clause);
    spurity_clause_facts_of(clause, &facts);
    return !strncmp(facts.clause, question->clause, length) && (!facts.clause[length] || facts.clause[length] == '(');
}

typedef struct answer {
    const spurity_rules *rules;
    const spurity_rules_question *question;
    const spurity_conditions *conditions;
    bool failed; /* memory ran out somewhere; looked at once, at the end */
} answer;

/** A clause met by the question. */
typedef struct meeting {
    const spurity_clause *clause;
    spurity_clause_facts facts;
    spurity_applies applies;
    char why[240], needs[160];
} meeting;

/* Takes `value` over. */
static void put(answer *at, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new_nocheck(object, key, value))
        at->failed = true;
}

static void push(answer *at, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value))
        at->failed = true;
}

static bool is_spectral(const spurity_clause_facts *facts)
{
    return facts->quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION || facts->quantity == SPURITY_QUANTITY_MASK;
}

static void meet(const answer *at, const spurity_clause *clause, meeting *met)
{
    *met = (meeting){.clause = clause};
    spurity_clause_facts_of(clause, &met->facts);
    met->applies =
        spurity_clause_applies(clause, at->conditions, met->why, sizeof met->why, met->needs, sizeof met->needs);
    if (met->applies != SPURITY_APPLIES_NO && met->facts.limit)
        spurity_limit_needs(met->facts.limit, at->conditions, met->needs, sizeof met->needs);
}

/* ---- levels -------------------------------------------------------------------------------------- */

static bool level_at(const answer *at, const meeting *met, double hz, double *dbm, const spurity_limit **leaf)
{
    return is_spectral(&met->facts) && spurity_clause_covers(met->clause, at->conditions, hz) &&
           spurity_limit_dbm(met->facts.limit, at->conditions, hz, dbm, leaf);
}

/* Whether what is open makes no difference here: the other open clauses that may bind in this one's stead (same group
 * and quantity, a figure at this place) allow the same, and there is one at least.  Where there is none it is open
 * whether any figure holds. */
static bool branches_agree(const answer *at, const meeting *open, double hz, double dbm)
{
    size_t others = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(at->rules); i++) {
        meeting other;
        double level = NAN;
        const spurity_clause *clause = spurity_rules_clause(at->rules, i);
        meet(at, clause, &other);
        if (clause == open->clause || other.applies != SPURITY_APPLIES_UNKNOWN ||
            other.facts.quantity != open->facts.quantity || strcmp(other.facts.group, open->facts.group) ||
            !spurity_clause_covers(clause, at->conditions, hz))
            continue;
        if (!level_at(at, &other, hz, &level, NULL) || fabs(level - dbm) > 1e-9)
            return false;
        others++;
    }
    return others > 0;
}

static json_t *allowed_object(answer *at, const meeting *met, double hz)
{
    char words[160] = "";
    double dbm = NAN;
    const spurity_limit *leaf = NULL;
    bool told = met->applies != SPURITY_APPLIES_NO && level_at(at, met, hz, &dbm, &leaf);
    if (told && met->applies == SPURITY_APPLIES_UNKNOWN)
        told = branches_agree(at, met, hz, dbm);
    dbm = told ? dbm : NAN;
    if (told)
        spurity_limit_describe(leaf, words, sizeof words);
    json_t *object = json_object();
    put(at, object, "frequency_hz", spurity_value_hz(hz));
    put(at, object, "offset_hz", spurity_value_hz(hz - at->conditions->carrier_hz));
    put(at, object, "level_dbm", spurity_value_db(dbm));
    put(at, object, "power_w", spurity_value_w(told ? spurity_watts_from_dbm(dbm) : NAN));
    put(at, object, "level_dbc", spurity_value_db(dbm - spurity_dbm_from_watts(at->conditions->mean_power_w)));
    put(at, object, "reference_bandwidth_hz",
        spurity_value_hz(is_spectral(&met->facts) ? spurity_clause_reference_bandwidth(met->clause, hz) : NAN));
    put(at, object, "binding", spurity_value_text_or_null(words));
    return object;
}

/* ---- a clause ------------------------------------------------------------------------------------ */

/** The one figure of a clause that has no place in the spectrum, and its unit (NULL: none told). */
static double figure_of(const answer *at, const meeting *met, const char **unit)
{
    const char *own = NULL;
    double value = NAN, carrier = at->conditions->carrier_hz;
    *unit = NULL;
    if (!met->facts.limit || is_spectral(&met->facts) ||
        !spurity_limit_value(met->facts.limit, at->conditions, carrier, &value, &own))
        return NAN;
    *unit = own;
    if (!strcmp(own, "ppm") && carrier > 0.0) { /* a frequency error is told in Hz */
        *unit = "Hz";
        return value * 1e-6 * carrier;
    }
    if (strncmp(own, "dBm", 3))
        return value;
    *unit = !strcmp(own, "dBm PEP") ? "W PEP" : !strcmp(own, "dBm ERP") ? "W ERP" : "W";
    return spurity_watts_from_dbm(value);
}

/* A power to six digits, Hz to 1 mHz. */
static json_t *figure_value(double figure, const char *unit)
{
    return unit && unit[0] == 'W' ? spurity_value_w(figure) : spurity_value_hz(figure);
}

/** "--a --b" as a list. */
static json_t *needs_list(answer *at, const char *needs)
{
    json_t *list = json_array();
    while (*needs) {
        size_t length = strcspn(needs, " ");
        push(at, list, json_stringn(needs, length));
        needs += length + strspn(needs + length, " ");
    }
    return list;
}

static json_t *clause_object(answer *at, const spurity_clause *clause)
{
    meeting met;
    const char *unit = NULL;
    meet(at, clause, &met);
    double figure = figure_of(at, &met, &unit);
    bool open = met.applies == SPURITY_APPLIES_UNKNOWN;
    json_t *object = json_object(), *allowed = json_array();
    put(at, object, "clause", spurity_value_text(met.facts.clause));
    put(at, object, "citation", spurity_value_text(met.facts.citation));
    put(at, object, "status", spurity_value_text(met.facts.confirmed ? "confirmed" : "unverified"));
    put(at, object, "group", spurity_value_text(met.facts.group));
    put(at, object, "quantity", spurity_value_text(spurity_quantity_limited_name(met.facts.quantity)));
    put(at, object, "applies", open ? json_null() : json_boolean(met.applies == SPURITY_APPLIES_YES));
    put(at, object, "why", spurity_value_text(met.why));
    put(at, object, "needs", needs_list(at, met.needs));
    put(at, object, "figure", figure_value(figure, unit));
    put(at, object, "unit", spurity_value_text(unit));
    put(at, object, "detector", spurity_value_text(met.facts.detector));
    put(at, object, "says", spurity_value_text(met.facts.says));
    put(at, object, "edition", spurity_value_text(met.facts.edition));
    for (size_t i = 0; i < at->question->place_count; i++)
        push(at, allowed, allowed_object(at, &met, at->question->place_hz[i]));
    put(at, object, "allowed", allowed);
    return object;
}

/* ---- what the set's tables say ------------------------------------------------------------------- */

/** The channel the carrier is on, with the bandwidth its emission is authorised; null off every channel. */
static json_t *channel_object(answer *at)
{
    spurity_channel channel;
    spurity_conditions untold = *at->conditions;
    double authorised = NAN;
    if (spurity_rules_channel(at->rules, at->conditions->carrier_hz, &channel) != SPURITY_CHANNEL_ON)
        return json_null();
    untold.bandwidth_hz = NAN;
    spurity_rules_bandwidth(at->rules, &untold, &authorised);
    json_t *object = json_object();
    put(at, object, "service", spurity_value_text(spurity_rules_id(at->rules)));
    put(at, object, "number", spurity_value_text(channel.number));
    put(at, object, "frequency_hz", spurity_value_hz(channel.frequency_hz));
    put(at, object, "bandwidth_hz", spurity_value_hz(authorised));
    return object;
}

static json_t *bandwidth_object(answer *at)
{
    static const char *const sources[] = {
        [SPURITY_BANDWIDTH_AS_TOLD] = "as told",
        [SPURITY_BANDWIDTH_TOLD_AUTHORISED] = "told, authorised",
        [SPURITY_BANDWIDTH_TOLD_CHANNEL] = "told, channel width",
        [SPURITY_BANDWIDTH_OF_CHANNEL] = "of the channel",
        [SPURITY_BANDWIDTH_ONLY_ONE] = "the one of the service",
    };
    double authorised = NAN;
    spurity_bandwidth_source source = spurity_rules_bandwidth(at->rules, at->conditions, &authorised);
    if (source == SPURITY_BANDWIDTH_UNKNOWN)
        return json_null();
    json_t *object = json_object();
    put(at, object, "authorised_hz", spurity_value_hz(authorised));
    put(at, object, "source", spurity_value_text(sources[source]));
    return object;
}

static json_t *investigated_object(answer *at)
{
    spurity_rules_span span;
    if (!spurity_rules_investigated(at->rules, at->conditions->carrier_hz, &span))
        return json_null();
    json_t *object = json_object();
    put(at, object, "from_hz", spurity_value_hz(span.from_hz));
    put(at, object, "to_hz", spurity_value_hz(span.to_hz));
    put(at, object, "citation", spurity_value_text(span.citation));
    put(at, object, "status", spurity_value_text(span.confirmed ? "confirmed" : "unverified"));
    return object;
}

static json_t *rules_object(answer *at)
{
    json_t *object = json_object();
    put(at, object, "id", spurity_value_text(spurity_rules_id(at->rules)));
    put(at, object, "title", spurity_value_text(spurity_rules_title(at->rules)));
    put(at, object, "edition", spurity_value_text(spurity_rules_edition(at->rules)));
    return object;
}

/* ---- what is allowed where ----------------------------------------------------------------------- */

static json_t *row_object(answer *at, const spurity_allowed *row)
{
    char words[160] = "";
    spurity_clause_facts facts = {0};
    if (row->clause) {
        spurity_clause_facts_of(row->clause, &facts);
        spurity_limit_describe(row->leaf, words, sizeof words);
    }
    json_t *object = json_object();
    put(at, object, "from_hz", spurity_value_hz(row->from_hz));
    put(at, object, "to_hz", spurity_value_hz(row->to_hz));
    put(at, object, "from_included", json_boolean(row->from_included));
    put(at, object, "to_included", json_boolean(row->to_included));
    put(at, object, "clause", spurity_value_text(facts.clause));
    put(at, object, "binding", spurity_value_text_or_null(words));
    put(at, object, "open", json_boolean(row->open));
    put(at, object, "from_dbm", spurity_value_db(row->from_dbm));
    put(at, object, "to_dbm", spurity_value_db(row->to_dbm));
    put(at, object, "reference_bandwidth_hz", spurity_value_hz(row->reference_bandwidth_hz));
    return object;
}

static json_t *case_object(answer *at, const spurity_allowed_case *one)
{
    json_t *object = json_object(), *rows = json_array();
    put(at, object, "when", spurity_value_text_or_null(one->when));
    for (size_t i = 0; i < one->row_count; i++)
        push(at, rows, row_object(at, &one->rows[i]));
    put(at, object, "rows", rows);
    return object;
}

/** The strictest of what binds, stretch by stretch; null without a carrier. */
static json_t *limits_object(answer *at)
{
    double from, to;
    spurity_allowance *allowance = NULL;
    if (!(at->conditions->carrier_hz > 0.0))
        return json_null();
    if (spurity_allowance_create(at->rules, at->conditions, &allowance, NULL)) {
        at->failed = true;
        return NULL;
    }
    json_t *object = json_object(), *cases = json_array();
    spurity_allowance_range(allowance, &from, &to);
    put(at, object, "from_hz", spurity_value_hz(from));
    put(at, object, "to_hz", spurity_value_hz(to));
    put(at, object, "needs", needs_list(at, spurity_allowance_needs(allowance)));
    for (size_t i = 0; i < spurity_allowance_case_count(allowance); i++)
        push(at, cases, case_object(at, spurity_allowance_case(allowance, i)));
    put(at, object, "cases", cases);
    spurity_allowance_free(allowance);
    return object;
}

/* ---- the whole ----------------------------------------------------------------------------------- */

spurity_status spurity_rules_json(const spurity_rules *rules, const spurity_rules_question *question, char **text,
                                  size_t *size, spurity_error *error)
{
    answer at = {rules, question, &question->conditions, false};
    json_t *root = json_object(), *clauses = json_array();
    *text = NULL;
    put(&at, root, "format", spurity_value_text("spurity-rules"));
    put(&at, root, "version", json_integer(1));
    put(&at, root, "rules", rules_object(&at));
    put(&at, root, "channel", channel_object(&at));
    put(&at, root, "bandwidth", bandwidth_object(&at));
    put(&at, root, "investigated", investigated_object(&at));
    put(&at, root, "antenna_fixed", json_boolean(spurity_rules_antenna_fixed(rules)));
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
        if (spurity_rules_question_asks(question, spurity_rules_clause(rules, i)))
            push(&at, clauses, clause_object(&at, spurity_rules_clause(rules, i)));
    put(&at, root, "clauses", clauses);
    put(&at, root, "limits", limits_object(&at));
    spurity_status status = at.failed ? spurity_report_memory(error) : spurity_document_text(root, text, size, error);
    json_decref(root);
    return status;
}
