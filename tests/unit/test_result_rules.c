/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a set of rules says of one transmitter: the JSON object against its schema and the contract, and what is allowed
 * where against the regulation's own arithmetic. */
#include "../check.h"

#include "../../lib/result/internal.h"

/* ---- questions ----------------------------------------------------------------------------------------------------
 */

static spurity_rules *load(const char *id)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    assert_ok(spurity_rules_load(id, &rules, &error), &error);
    return rules;
}

static spurity_rules_question ask(double carrier_hz, double watts)
{
    spurity_rules_question question;
    spurity_rules_question_init(&question);
    question.conditions.carrier_hz = carrier_hz;
    question.conditions.mean_power_w = question.conditions.carrier_power_w = question.conditions.pep_w = watts;
    question.conditions.necessary_bandwidth_hz = 16e3;
    return question;
}

/** The object, read back and held against its schema. */
static json_t *answer(const spurity_rules *rules, const spurity_rules_question *question)
{
    char *text = NULL;
    size_t size = 0;
    spurity_error error = {0};
    json_error_t fault;
    assert_ok(spurity_rules_json(rules, question, &text, &size, &error), &error);
    assert_int_equal(strlen(text), size);
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &fault);
    assert_non_null(root);
    assert_ok(spurity_schema_check_against(spurity_rules_json_schema(), "answer", root, &error), &error);
    free(text);
    return root;
}

/** The first clause of this number that binds or may. */
static json_t *clause_of(const json_t *root, const char *name)
{
    const json_t *clauses = json_object_get(root, "clauses");
    for (size_t i = 0; i < json_array_size(clauses); i++) {
        json_t *clause = json_array_get(clauses, i);
        if (!strcmp(json_string_value(json_object_get(clause, "clause")), name) &&
            !json_is_false(json_object_get(clause, "applies")))
            return clause;
    }
    fail_msg("no clause %s that binds", name);
    return NULL;
}

static const json_t *allowed_of(const json_t *clause, size_t index)
{
    return json_array_get(json_object_get(clause, "allowed"), index);
}

static double number_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    return json_is_number(value) ? json_number_value(value) : NAN;
}

static const char *word_of(const json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text ? text : "";
}

/* ---- the object ---------------------------------------------------------------------------------------------------
 */

static void the_schema_is_one_the_reader_knows(void **state)
{
    json_error_t fault;
    (void)state;
    json_t *schema = json_loads(spurity_rules_json_schema(), JSON_REJECT_DUPLICATES, &fault);
    assert_non_null(schema);
    assert_null(spurity_schema_unknown_keyword(schema));
    json_decref(schema);
}

/* Every built-in set asked bare, and of carriers and powers on and off its channels and bands. */
static void every_set_answers_by_the_schema(void **state)
{
    static const double carriers[] = {NAN, 1.9e6, 27.185e6, 28.4e6, 146.94e6, 154.57e6, 446.00625e6, 462.575e6, 5.8e9};
    static const double powers[] = {NAN, 0.5, 5, 100};
    static const double places[] = {1e6, 462.5875e6, 4e9};
    (void)state;
    for (size_t i = 0; i < spurity_rules_builtin_count(); i++) {
        spurity_rules *rules = load(spurity_rules_builtin_id(i));
        for (size_t c = 0; c < sizeof carriers / sizeof *carriers; c++)
            for (size_t p = 0; p < sizeof powers / sizeof *powers; p++) {
                spurity_rules_question question = ask(carriers[c], powers[p]);
                question.place_count = 3;
                question.place_hz = places;
                json_t *root = answer(rules, &question);
                assert_int_equal(json_array_size(json_object_get(root, "clauses")), spurity_rules_clause_count(rules));
                const json_t *first = json_array_get(json_object_get(root, "clauses"), 0);
                assert_int_equal(json_array_size(json_object_get(first, "allowed")), 3);
                json_decref(root);
            }
        spurity_rules_free(rules);
    }
}

/* The schema is no decoration: what is missing or of the wrong kind is refused. */
static void the_schema_refuses(void **state)
{
    (void)state;
    spurity_rules *rules = load("us-gmrs");
    spurity_rules_question question = ask(462.575e6, 5);
    json_t *root = answer(rules, &question);
    spurity_error error = {0};
    json_t *open = clause_of(root, "95.1779(b)(1)");
    assert_true(json_is_null(json_object_get(open, "applies")));
    json_object_set_new(open, "needs", json_array()); /* open, and no option that settles it */
    assert_int_equal(spurity_schema_check_against(spurity_rules_json_schema(), "x", root, &error), SPURITY_INVALID);
    json_decref(root);
    root = answer(rules, &question);
    json_object_del(root, "channel");
    assert_int_equal(spurity_schema_check_against(spurity_rules_json_schema(), "x", root, &error), SPURITY_INVALID);
    json_decref(root);
    root = answer(rules, &question);
    json_object_set_new(clause_of(root, "95.1763"), "unit", json_string("dBm"));
    assert_int_equal(spurity_schema_check_against(spurity_rules_json_schema(), "x", root, &error), SPURITY_INVALID);
    json_decref(root);
    spurity_rules_free(rules);
}

/* 47 CFR 97.307(e): at 5 W, 25 uW (-16.0206 dBm), 53.01 dB under the carrier.  Offsets count from the carrier. */
static void a_level_stands_with_its_place(void **state)
{
    const double places[] = {293.88e6, 146.945e6, 146.9e6};
    (void)state;
    spurity_rules *rules = load("us-amateur");
    spurity_rules_question question = ask(146.94e6, 5);
    question.place_count = 3;
    question.place_hz = places;
    question.clause = "97.307";
    json_t *root = answer(rules, &question);
    const json_t *clauses = json_object_get(root, "clauses"), *binds = NULL;
    for (size_t i = 0; i < json_array_size(clauses); i++) {
        const json_t *one = json_array_get(clauses, i);
        assert_true(!strncmp(word_of(one, "clause"), "97.307(", 7));
        if (!strcmp(word_of(one, "clause"), "97.307(e)") && json_is_true(json_object_get(one, "applies")))
            binds = one;
    }
    assert_non_null(binds);
    const json_t *second = allowed_of(binds, 0), *inside = allowed_of(binds, 1), *below = allowed_of(binds, 2);
    assert_near(number_of(second, "level_dbm"), -16.021, 1e-9);
    assert_near(number_of(second, "power_w"), 25e-6, 1e-12);
    assert_near(number_of(second, "level_dbc"), -53.010, 1e-9);
    assert_near(number_of(second, "offset_hz"), 146.94e6, 0);
    assert_near(number_of(second, "reference_bandwidth_hz"), 100e3, 0);
    assert_true(json_is_null(json_object_get(inside, "level_dbm"))); /* 5 kHz off: inside the necessary bandwidth */
    assert_true(json_is_null(json_object_get(inside, "binding")));
    assert_near(number_of(below, "offset_hz"), -40e3, 0);
    assert_true(json_is_null(json_object_get(root, "channel")));
    const json_t *limits = json_object_get(root, "limits"), *cases = json_object_get(limits, "cases");
    const json_t *rows = json_object_get(json_array_get(cases, 0), "rows"), *row = json_array_get(rows, 0);
    assert_int_equal(json_array_size(cases), 1);
    assert_string_equal(word_of(row, "clause"), "97.307(e)");
    assert_near(number_of(row, "from_dbm"), -16.021, 1e-9);
    assert_near(number_of(row, "to_hz"), 146.932e6, 1e-3); /* half of 16 kHz below */
    assert_true(json_is_true(json_object_get(row, "to_included")));
    json_decref(root);
    spurity_rules_free(rules);
}

/* 47 CFR 95.1765: 5 ppm of 462.575 MHz is 2312.875 Hz.  95.1767(a)(1): 50 W.  95.1779(b) is open without a filter told.
 */
static void figures_have_their_units(void **state)
{
    const double places[] = {462.59e6};
    (void)state;
    spurity_rules *rules = load("us-gmrs");
    spurity_rules_question question = ask(462.575e6, 5);
    question.place_count = 1;
    question.place_hz = places;
    json_t *root = answer(rules, &question);
    const json_t *error = clause_of(root, "95.1765"), *power = clause_of(root, "95.1767(a)(1)");
    assert_near(number_of(error, "figure"), 2312.875, 1e-9);
    assert_string_equal(word_of(error, "unit"), "Hz");
    assert_near(number_of(power, "figure"), 50, 1e-9);
    assert_string_equal(word_of(power, "unit"), "W");
    assert_string_equal(word_of(json_object_get(root, "channel"), "number"), "16");
    assert_near(number_of(json_object_get(root, "channel"), "bandwidth_hz"), 20e3, 0);
    assert_string_equal(word_of(json_object_get(root, "bandwidth"), "source"), "of the channel");
    const json_t *open = clause_of(root, "95.1779(b)(1)");
    assert_true(json_is_null(json_object_get(open, "applies")));
    assert_true(json_is_null(json_object_get(allowed_of(open, 0), "level_dbm")));
    bool filter = false;
    const json_t *needs = json_object_get(open, "needs");
    for (size_t i = 0; i < json_array_size(needs); i++)
        filter |= !strcmp(json_string_value(json_array_get(needs, i)), "--audio-filter");
    assert_true(filter);
    json_decref(root);
    spurity_rules_free(rules);
    rules = load("us-amateur");
    question = ask(146.94e6, 5);
    root = answer(rules, &question);
    assert_near(number_of(clause_of(root, "97.313(b)"), "figure"), 1500, 1e-9);
    assert_string_equal(word_of(clause_of(root, "97.313(b)"), "unit"), "W PEP");
    json_decref(root);
    spurity_rules_free(rules);
}

/* ---- branches -----------------------------------------------------------------------------------------------------
 */

#define CLAUSE(name, applies, level)                                                                                   \
    "  - clause: \"" name "\"\n    citation: own\n    status: confirmed\n    says: own\n    group: emissions\n"        \
    "    quantity: spurious emission\n    applies: {" applies "}\n    reference_bandwidth: itu\n"                      \
    "    limit: {level: " level "}\n"
#define HEAD "format: spurity-rules\nversion: 1\nid: own\ntitle: own\nedition: invented\nclauses:\n"

static double level_while_open(const char *yaml, const char *name)
{
    const double places[] = {300e6};
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    assert_ok(spurity_rules_load_memory("own.yaml", yaml, strlen(yaml), &rules, &error), &error);
    spurity_rules_question question = ask(150e6, 5);
    question.place_count = 1;
    question.place_hz = places;
    json_t *root = answer(rules, &question);
    const json_t *clause = clause_of(root, name);
    assert_true(json_is_null(json_object_get(clause, "applies")));
    double level = number_of(allowed_of(clause, 0), "level_dbm");
    json_decref(root);
    spurity_rules_free(rules);
    return level;
}

/* Contract: where it is open which clause binds, a level is told only when all branches agree. */
static void an_open_level_is_told_only_when_branches_agree(void **state)
{
    (void)state;
    assert_near(level_while_open(
                    HEAD CLAUSE("1", "audio_filter: yes", "-30 dBm") CLAUSE("2", "audio_filter: no", "-30 dBm"), "1"),
                -30, 1e-9);
    assert_true(isnan(level_while_open(
        HEAD CLAUSE("1", "audio_filter: yes", "-30 dBm") CLAUSE("2", "audio_filter: no", "-31 dBm"), "1")));
    assert_true(isnan(level_while_open(HEAD CLAUSE("1", "audio_filter: yes", "-30 dBm"), "1"))); /* or none at all */
}

/* ---- what is allowed where ----------------------------------------------------------------------------------------
 */

static spurity_allowance *allowance_of(const spurity_rules *rules, const spurity_conditions *conditions)
{
    spurity_allowance *allowance = NULL;
    spurity_error error = {0};
    assert_ok(spurity_allowance_create(rules, conditions, &allowance, &error), &error);
    return allowance;
}

/** The row of a case that holds `hz`. */
static const spurity_allowed *row_at(const spurity_allowance *allowance, size_t index, double hz)
{
    const spurity_allowed_case *one = spurity_allowance_case(allowance, index);
    for (size_t i = 0; i < one->row_count; i++)
        if (hz > one->rows[i].from_hz && hz < one->rows[i].to_hz)
            return &one->rows[i];
    fail_msg("no row at %.0f Hz", hz);
    return NULL;
}

static const char *clause_name(const spurity_allowed *row)
{
    static spurity_clause_facts facts;
    if (!row->clause)
        return "";
    spurity_clause_facts_of(row->clause, &facts);
    return facts.clause;
}

/* 47 CFR 90.210(d), mask D, 5 W (36.99 dBm), authorised 11.25 kHz: 7.27 (f - 2.88 kHz) dB from 5.625 to 12.5 kHz, which
 * is 19.956 dB and 69.937 dB at its ends; then 50 + 10 log P = 56.990 dB, or 70 dB, whichever is less. */
static void mask_d_by_its_arithmetic(void **state)
{
    (void)state;
    const double carrier = 155e6, dbm = 10 * log10(5000.0);
    spurity_rules *rules = load("us-land-mobile");
    spurity_conditions conditions = ask(carrier, 5).conditions;
    conditions.bandwidth_hz = 12.5e3;
    conditions.emission = "F3E";
    conditions.audio_filter = 1;
    spurity_allowance *allowance = allowance_of(rules, &conditions);
    assert_int_equal(spurity_allowance_case_count(allowance), 1);
    for (int side = -1; side <= 1; side += 2) {
        const spurity_allowed *slope = row_at(allowance, 0, carrier + side * 9e3);
        double inner = side > 0 ? slope->from_hz : slope->to_hz, outer = side > 0 ? slope->to_hz : slope->from_hz;
        double inner_dbm = side > 0 ? slope->from_dbm : slope->to_dbm;
        double outer_dbm = side > 0 ? slope->to_dbm : slope->from_dbm;
        assert_string_equal(clause_name(slope), "90.210(d)(2)");
        assert_near(fabs(inner - carrier), 5625, 1e-2);
        assert_near(fabs(outer - carrier), 12500, 1e-2);
        assert_near(inner_dbm, dbm - 7.27 * (5.625 - 2.88), 1e-5);
        assert_near(outer_dbm, dbm - 7.27 * (12.5 - 2.88), 1e-5);
        assert_false(side > 0 ? slope->from_included : slope->to_included); /* "more than 5.625 kHz but no more than" */
        assert_true(side > 0 ? slope->to_included : slope->from_included);
        assert_near(row_at(allowance, 0, carrier + side * 20e3)->from_dbm, dbm - 50 - 10 * log10(5.0), 1e-6);
        assert_near(row_at(allowance, 0, carrier + side * 20e3)->reference_bandwidth_hz, 100, 0);
    }
    spurity_allowance_free(allowance);
    spurity_rules_free(rules);
}

/* 47 CFR 95.1779(b)(4): 116 log10(f / 6.1 kHz) dB or 50 + 10 log P dB, whichever is less, without an audio filter: at 5
 * W they meet at 6.1 kHz x 10^(56.990 / 116) = 18.907 kHz, which no text of the rule names.  Open, it makes two cases.
 */
static void where_one_line_takes_over_from_the_other(void **state)
{
    (void)state;
    const double carrier = 462.575e6, meet = 6100 * pow(10, (50 + 10 * log10(5.0)) / 116);
    spurity_rules *rules = load("us-gmrs");
    spurity_conditions conditions = ask(carrier, 5).conditions;
    conditions.emission = "F3E";
    spurity_allowance *allowance = allowance_of(rules, &conditions);
    assert_int_equal(spurity_allowance_case_count(allowance), 2);
    assert_string_equal(spurity_allowance_case(allowance, 0)->when, "with an audio filter");
    assert_string_equal(spurity_allowance_case(allowance, 1)->when, "without an audio filter");
    assert_string_equal(clause_name(row_at(allowance, 0, carrier + 12e3)), "95.1779(b)(1)");
    const spurity_allowed *slope = row_at(allowance, 1, carrier + 12e3), *flat = row_at(allowance, 1, carrier + 30e3);
    assert_near(slope->to_hz - carrier, meet, 0.01);
    assert_near(flat->from_hz - carrier, meet, 0.01);
    assert_true(slope->clause == flat->clause && slope->leaf != flat->leaf);
    double dbm = NAN;
    size_t row = 0;
    assert_true(spurity_allowance_at(allowance, 1, carrier + 12e3, &dbm, &row));
    assert_near(dbm, 10 * log10(5000.0) - 116 * log10(12 / 6.1), 1e-9);
    assert_true(&spurity_allowance_case(allowance, 1)->rows[row] == slope);
    assert_false(spurity_allowance_at(allowance, 1, carrier + 1e3, &dbm, NULL));
    assert_false(spurity_allowance_at(allowance, 2, carrier + 12e3, &dbm, NULL));
    assert_string_equal(spurity_allowance_needs(allowance), "");
    spurity_allowance_free(allowance);
    spurity_rules_free(rules);
}

/* 47 CFR 97.307(d): by the day of installation; at 100 W 43 dB after 2003-01-01, 40 dB (100 W: 10 mW) up to it. */
static void a_day_that_decides_makes_cases(void **state)
{
    (void)state;
    spurity_rules *rules = load("us-amateur");
    spurity_conditions conditions = ask(28.4e6, 100).conditions;
    spurity_allowance *allowance = allowance_of(rules, &conditions);
    assert_int_equal(spurity_allowance_case_count(allowance), 2);
    assert_near(row_at(allowance, 0, 56.8e6)->from_dbm, 10, 1e-9);
    assert_near(row_at(allowance, 1, 56.8e6)->from_dbm, 7, 1e-9);
    assert_non_null(strstr(spurity_allowance_case(allowance, 0)->when, "before 2003-01-02"));
    spurity_allowance_free(allowance);
    spurity_error error = {0};
    assert_ok(spurity_parse_date("2003-01-01", "--installed", (spurity_place){0}, &conditions.installed, &error),
              &error);
    allowance = allowance_of(rules, &conditions);
    assert_int_equal(spurity_allowance_case_count(allowance), 1);
    assert_string_equal(spurity_allowance_case(allowance, 0)->when, "");
    assert_near(row_at(allowance, 0, 56.8e6)->from_dbm, 10, 1e-9);
    spurity_allowance_free(allowance);
    spurity_rules_free(rules);
}

/* Radio Regulations, Appendix 3, table I, below 30 MHz, as the file holds it: by the kind of station. 100 W PEP of
 * single sideband: 50 dB below it for amateurs; for the others it takes the mean power, which was not said. */
static void a_kind_of_station_makes_cases(void **state)
{
    (void)state;
    spurity_rules *rules = load("itu-a");
    spurity_conditions conditions = ask(28.4e6, NAN).conditions;
    conditions.pep_w = 100;
    conditions.emission = "J3E";
    spurity_allowance *allowance = allowance_of(rules, &conditions);
    bool amateur = false, other = false;
    for (size_t i = 0; i < spurity_allowance_case_count(allowance); i++) {
        const spurity_allowed_case *one = spurity_allowance_case(allowance, i);
        const spurity_allowed *row = row_at(allowance, i, 56.8e6);
        if (!strcmp(one->when, "station amateur")) {
            amateur = true;
            assert_near(row->from_dbm, 0, 1e-9);
        } else {
            other = true;
            assert_true(!row->clause && row->open);
        }
    }
    assert_true(amateur && other);
    assert_string_equal(spurity_allowance_needs(allowance), "--power");
    spurity_allowance_free(allowance);
    spurity_rules_free(rules);
}

/** The strictest level at `hz`, by asking every clause. */
static double strictest(const spurity_rules *rules, const spurity_conditions *conditions, double hz)
{
    double least = INFINITY;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        double dbm;
        spurity_clause_facts facts;
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts_of(clause, &facts);
        if (spurity_clause_covers(clause, conditions, hz) && facts.limit &&
            spurity_clause_applies(clause, conditions, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES &&
            spurity_limit_dbm(facts.limit, conditions, hz, &dbm, NULL))
            least = fmin(least, dbm);
    }
    return least;
}

/** Whether a clause may set a figure at `hz` and either that or its level is not known. */
static bool is_open(const spurity_rules *rules, const spurity_conditions *conditions, double hz)
{
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        double dbm;
        spurity_clause_facts facts;
        const spurity_clause *clause = spurity_rules_clause(rules, i);
        spurity_clause_facts_of(clause, &facts);
        spurity_applies applies = spurity_clause_applies(clause, conditions, NULL, 0, NULL, 0);
        if (spurity_clause_covers(clause, conditions, hz) && applies != SPURITY_APPLIES_NO &&
            (applies == SPURITY_APPLIES_UNKNOWN || !spurity_limit_dbm(facts.limit, conditions, hz, &dbm, NULL)))
            return true;
    }
    return false;
}

/* Rows follow each other without a hole; at any frequency the row's clause is one that is strictest there. */
static void check_rows(const spurity_rules *rules, const spurity_allowance *allowance, size_t index)
{
    double from, to;
    const spurity_allowed_case *one = spurity_allowance_case(allowance, index);
    spurity_allowance_range(allowance, &from, &to);
    assert_true(one->row_count > 0);
    assert_near(one->rows[0].from_hz, from, 0);
    assert_near(one->rows[one->row_count - 1].to_hz, to, 0);
    for (size_t i = 0; i < one->row_count; i++) {
        const spurity_allowed *row = &one->rows[i];
        assert_true(row->to_hz > row->from_hz);
        if (i)
            assert_near(row->from_hz, one->rows[i - 1].to_hz, 0);
        for (int k = 1; k < 14; k++) {
            double hz = row->from_hz + (row->to_hz - row->from_hz) * k / 14, dbm = NAN;
            double least = strictest(rules, &one->conditions, hz);
            if (isinf(least)) {
                assert_null(row->clause);
                assert_int_equal(row->open, is_open(rules, &one->conditions, hz));
                continue;
            }
            spurity_clause_facts facts;
            assert_non_null(row->clause);
            assert_false(row->open);
            spurity_clause_facts_of(row->clause, &facts);
            assert_true(spurity_limit_dbm(facts.limit, &one->conditions, hz, &dbm, NULL));
            assert_near(dbm, least, 1e-6);
            assert_true(dbm >= fmin(row->from_dbm, row->to_dbm) - 1e-3 &&
                        dbm <= fmax(row->from_dbm, row->to_dbm) + 1e-3);
        }
    }
}

static void rows_are_what_the_clauses_say(void **state)
{
    static const double carriers[] = {1.9e6,     27.185e6,    28.4e6,     72.5e6,    146.94e6, 151.82e6, 154.57e6,
                                      220.505e6, 446.00625e6, 462.5625e6, 462.575e6, 467.6e6,  1.25e9};
    static const char *const emissions[] = {NULL, "F3E", "J3E", "A3E"};
    (void)state;
    for (size_t i = 0; i < spurity_rules_builtin_count(); i++) {
        spurity_rules *rules = load(spurity_rules_builtin_id(i));
        for (size_t c = 0; c < sizeof carriers / sizeof *carriers; c++)
            for (size_t e = 0; e < 4; e++)
                for (double watts = 0.5; watts < 1000; watts *= 10) {
                    spurity_conditions conditions = ask(carriers[c], watts).conditions;
                    conditions.emission = emissions[e];
                    spurity_allowance *allowance = allowance_of(rules, &conditions);
                    for (size_t k = 0; k < spurity_allowance_case_count(allowance); k++)
                        check_rows(rules, allowance, k);
                    spurity_allowance_free(allowance);
                }
        spurity_rules_free(rules);
    }
}

static void without_a_carrier_nothing_can_be_told(void **state)
{
    (void)state;
    spurity_rules *rules = load("us-amateur");
    spurity_conditions conditions;
    spurity_allowance *allowance = NULL;
    spurity_error error = {0};
    spurity_conditions_init(&conditions);
    assert_int_equal(spurity_allowance_create(rules, &conditions, &allowance, &error), SPURITY_INVALID);
    assert_null(allowance);
    spurity_allowance_free(NULL);
    conditions.carrier_hz = 146.94e6;
    assert_ok(spurity_allowance_create(rules, &conditions, &allowance, &error), &error);
    assert_non_null(strstr(spurity_allowance_needs(allowance), "--power"));
    spurity_allowance_free(allowance);
    spurity_rules_free(rules);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_schema_is_one_the_reader_knows),
        cmocka_unit_test(every_set_answers_by_the_schema),
        cmocka_unit_test(the_schema_refuses),
        cmocka_unit_test(a_level_stands_with_its_place),
        cmocka_unit_test(figures_have_their_units),
        cmocka_unit_test(an_open_level_is_told_only_when_branches_agree),
        cmocka_unit_test(mask_d_by_its_arithmetic),
        cmocka_unit_test(where_one_line_takes_over_from_the_other),
        cmocka_unit_test(a_day_that_decides_makes_cases),
        cmocka_unit_test(a_kind_of_station_makes_cases),
        cmocka_unit_test(rows_are_what_the_clauses_say),
        cmocka_unit_test(without_a_carrier_nothing_can_be_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
