/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A plan as the document of the contract.  Keys stand in its order, those the contract does not name after them. */
#include <stdlib.h>
#include <string.h>

#include "internal.h"

extern const unsigned char spurity_plan_schema_json[];

const char *spurity_result_plan_schema(void)
{
    return (const char *)spurity_plan_schema_json; /* the embedded text ends in a 0 byte */
}

typedef struct build {
    const spurity_plan_report *report;
    const spurity_plan *plan;
    bool failed; /* memory ran out somewhere; looked at once, at the end */
} build;

/* Takes `value` over. */
static void put(build *at, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new_nocheck(object, key, value))
        at->failed = true;
}

static void push(build *at, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value))
        at->failed = true;
}

static json_t *points_of(size_t points)
{
    return json_integer((json_int_t)points);
}

static json_t *rules_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < at->report->rules_count; i++) {
        const spurity_rules *rules = at->report->rules[i];
        json_t *object = json_object();
        put(at, object, "id", spurity_value_text(spurity_rules_id(rules)));
        put(at, object, "title", spurity_value_text(spurity_rules_title(rules)));
        put(at, object, "edition", spurity_value_text(spurity_rules_edition(rules)));
        push(at, list, object);
    }
    return list;
}

static void put_figures(build *at, json_t *root)
{
    spurity_plan_figures figures;
    spurity_plan_figures_of(at->plan, &figures);
    put(at, root, "carrier_hz", spurity_value_hz(figures.carrier_hz));
    put(at, root, "power_w", spurity_value_w(figures.power_w));
    put(at, root, "attenuation_db", spurity_value_db(figures.attenuation_db));
    put(at, root, "pad_db", spurity_value_db(figures.pad_db));
    put(at, root, "level_at_instrument_dbm", spurity_value_db(figures.level_at_instrument_dbm));
    put(at, root, "max_input_dbm", spurity_value_db(figures.max_input_dbm));
    put(at, root, "headroom_db", spurity_value_db(figures.headroom_db));
    put(at, root, "more_pad_db", spurity_value_db(figures.more_pad_db));
    put(at, root, "from_hz", spurity_value_hz(figures.from_hz));
    put(at, root, "to_hz", spurity_value_hz(figures.to_hz));
}

static json_t *attenuator_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_attenuator_count(at->plan); i++) {
        const spurity_plan_attenuator *one = spurity_plan_attenuator_at(at->plan, i);
        json_t *object = json_object();
        put(at, object, "name", spurity_value_text(one->name));
        put(at, object, "db", spurity_value_db(one->db));
        put(at, object, "rating_w", spurity_value_w(one->rating_w));
        put(at, object, "arriving_w", spurity_value_w(one->arriving_w));
        put(at, object, "into_heat_w", spurity_value_w(one->into_heat_w));
        put(at, object, "proposed", json_boolean(one->proposed));
        put(at, object, "harmed", json_boolean(one->harmed));
        put(at, object, "missing_input_dbm", spurity_value_db(one->missing_input_dbm));
        put(at, object, "missing_harms", json_boolean(one->missing_harms));
        put(at, object, "why", spurity_value_text(one->why));
        push(at, list, object);
    }
    return list;
}

static json_t *sweep_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_sweep_count(at->plan); i++) {
        const spurity_plan_sweep *one = spurity_plan_sweep_at(at->plan, i);
        json_t *object = json_object();
        put(at, object, "purpose", spurity_value_text(spurity_plan_purpose_name(one->purpose)));
        put(at, object, "start_hz", spurity_value_hz(one->start_hz));
        put(at, object, "stop_hz", spurity_value_hz(one->stop_hz));
        put(at, object, "rbw_hz", spurity_value_hz(one->rbw_hz));
        put(at, object, "points", points_of(one->points));
        put(at, object, "detector", spurity_value_text(spurity_detector_name(one->detector)));
        put(at, object, "seconds", spurity_value_share(one->seconds));
        put(at, object, "sweeps", spurity_value_share(one->sweeps));
        put(at, object, "more_pad_db", spurity_value_db(one->more_pad_db));
        put(at, object, "filter", spurity_value_text_or_null(one->filter));
        put(at, object, "why", spurity_value_text(one->why));
        push(at, list, object);
    }
    return list;
}

static json_t *capture_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_capture_count(at->plan); i++) {
        const spurity_plan_capture *one = spurity_plan_capture_at(at->plan, i);
        json_t *object = json_object();
        put(at, object, "purpose", spurity_value_text(spurity_plan_purpose_name(one->purpose)));
        put(at, object, "center_hz", spurity_value_hz(one->center_hz));
        put(at, object, "rate_hz", spurity_value_hz(one->rate_hz));
        put(at, object, "seconds", spurity_value_share(one->seconds));
        put(at, object, "rbw_hz", spurity_value_hz(one->rbw_hz));
        put(at, object, "from_hz", spurity_value_hz(one->from_hz));
        put(at, object, "to_hz", spurity_value_hz(one->to_hz));
        put(at, object, "filter", spurity_value_text_or_null(one->filter));
        put(at, object, "why", spurity_value_text(one->why));
        push(at, list, object);
    }
    return list;
}

/* The clause that binds, with the id of its rules; both null where there is no limit. */
static void put_clause(build *at, json_t *object, const spurity_plan_visibility *one)
{
    spurity_clause_facts facts = {0};
    bool known = one->clause && one->rules < at->report->rules_count;
    if (known)
        spurity_clause_facts_of(one->clause, &facts);
    put(at, object, "rules", spurity_value_text(known ? spurity_rules_id(at->report->rules[one->rules]) : NULL));
    put(at, object, "clause", spurity_value_text(facts.clause));
}

static json_t *visibility_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_visibility_count(at->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(at->plan, i);
        json_t *object = json_object();
        put(at, object, "frequency_hz", spurity_value_hz(one->frequency_hz));
        put(at, object, "what", spurity_value_text(one->what));
        put(at, object, "limit_dbm", spurity_value_db(one->limit_dbm));
        put(at, object, "rbw_hz", spurity_value_hz(one->rbw_hz));
        put(at, object, "floor_dbm", spurity_value_db(one->floor_dbm));
        put(at, object, "bound_dbm", spurity_value_db(one->bound_dbm));
        put(at, object, "margin_db", spurity_value_db(one->margin_db));
        put(at, object, "shown", one->shown < 0 ? json_null() : json_boolean(one->shown));
        put(at, object, "advice", spurity_value_text_or_null(one->advice));
        put(at, object, "from_hz", spurity_value_hz(one->from_hz));
        put(at, object, "to_hz", spurity_value_hz(one->to_hz));
        put_clause(at, object, one);
        push(at, list, object);
    }
    return list;
}

static json_t *own_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_own_product_count(at->plan); i++) {
        const spurity_plan_own_product *one = spurity_plan_own_product_at(at->plan, i);
        json_t *object = json_object();
        put(at, object, "order", json_integer(one->order));
        put(at, object, "own_dbm", spurity_value_db(one->own_dbm));
        put(at, object, "limit_dbm", spurity_value_db(one->limit_dbm));
        put(at, object, "fakes_at_dbm", spurity_value_db(one->fakes_at_dbm));
        put(at, object, "advice", spurity_value_text(one->advice));
        push(at, list, object);
    }
    return list;
}

static json_t *caution_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_caution_count(at->plan); i++)
        push(at, list, spurity_value_text(spurity_plan_caution_at(at->plan, i)));
    return list;
}

static json_t *need_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_plan_need_count(at->plan); i++) {
        const spurity_plan_need *one = spurity_plan_need_at(at->plan, i);
        json_t *object = json_object();
        put(at, object, "option", spurity_value_text(one->option));
        put(at, object, "why", spurity_value_text(one->why));
        push(at, list, object);
    }
    return list;
}

static json_t *warning_list(build *at)
{
    json_t *list = json_array();
    for (size_t i = 0; at->report->notes && i < spurity_notes_count(at->report->notes); i++) {
        const spurity_note *note = spurity_notes_at(at->report->notes, i);
        json_t *object = json_object();
        put(at, object, "code", spurity_value_text(spurity_note_code_name(note->code)));
        put(at, object, "text", spurity_value_text(note->text));
        push(at, list, object);
    }
    return list;
}

static json_t *document_of(build *at)
{
    json_t *root = json_object();
    put(at, root, "format", spurity_value_text("spurity-plan"));
    put(at, root, "version", json_integer(1));
    put(at, root, "tool", spurity_value_text(spurity_result_tool()));
    put(at, root, "verdict", spurity_value_text(spurity_plan_outcome_name(spurity_plan_outcome_of(at->plan))));
    put(at, root, "headline", spurity_value_text(spurity_plan_headline(at->plan)));
    put(at, root, "rules", rules_list(at));
    put(at, root, "settings", spurity_value_settings(at->report->settings, at->report->setting_count));
    put_figures(at, root);
    put(at, root, "attenuators", attenuator_list(at));
    put(at, root, "sweeps", sweep_list(at));
    put(at, root, "captures", capture_list(at));
    put(at, root, "visibility", visibility_list(at));
    put(at, root, "own_products", own_list(at));
    put(at, root, "cautions", caution_list(at));
    put(at, root, "needs", need_list(at));
    put(at, root, "warnings", warning_list(at));
    return root;
}

spurity_status spurity_result_plan_json(const spurity_plan_report *report, char **text, size_t *size,
                                        spurity_error *error)
{
    build at = {.report = report, .plan = report->plan};
    *text = NULL;
    *size = 0;
    json_t *root = document_of(&at);
    spurity_result whole = {.root = root};
    spurity_status status =
        at.failed || !root ? spurity_report_memory(error) : spurity_result_json(&whole, text, size, error);
    json_decref(root);
    return status;
}
