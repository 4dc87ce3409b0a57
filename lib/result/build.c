/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A measurement, and a verdict where there is one, as the document of the contract. Keys stand in its order. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

typedef struct build {
    const spurity_measurement *measurement;
    const spurity_verdict *verdict; /* NULL: a measurement */
    bool failed;                    /* memory ran out somewhere; looked at once, at the end */
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

static json_t *index_or_null(long index)
{
    return index < 0 ? json_null() : json_integer(index);
}

static const spurity_rules *rules_at(const build *at, size_t index)
{
    if (!at->verdict || index >= spurity_verdict_rules_count(at->verdict))
        return NULL;
    return spurity_verdict_rules(at->verdict, index)->rules;
}

static json_t *rules_object(build *at, const spurity_rules *rules)
{
    json_t *object = json_object();
    put(at, object, "id", spurity_value_text(spurity_rules_id(rules)));
    put(at, object, "title", spurity_value_text(spurity_rules_title(rules)));
    put(at, object, "edition", spurity_value_text(spurity_rules_edition(rules)));
    put(at, object, "sha256", spurity_value_text(spurity_rules_sha256(rules)));
    return object;
}

static json_t *rules_id(const build *at, size_t index)
{
    const spurity_rules *rules = rules_at(at, index);
    return spurity_value_text(rules ? spurity_rules_id(rules) : NULL);
}

static json_t *clause_name(const spurity_clause *clause)
{
    if (!clause)
        return json_null();
    spurity_clause_facts facts = {0};
    spurity_clause_facts_of(clause, &facts);
    return spurity_value_text(facts.clause);
}

/* Names of the groups in a set of bits. */
static json_t *group_list(build *at, unsigned groups)
{
    json_t *list = json_array();
    for (unsigned bit = 1; bit && bit <= groups; bit <<= 1)
        if ((groups & bit) && spurity_group_name(bit))
            push(at, list, spurity_value_text(spurity_group_name(bit)));
    return list;
}

/* The channel the carrier is on, as the contract has it; null off every channel and while more than one is possible. */
static json_t *channel_object(build *at, const spurity_rules_verdict *one)
{
    if (one->channel_found != SPURITY_CHANNEL_ON || one->channel_open)
        return json_null();
    json_t *object = json_object();
    put(at, object, "service", spurity_value_text(spurity_rules_id(one->rules)));
    put(at, object, "number", spurity_value_text(one->channel.number));
    put(at, object, "frequency_hz", spurity_value_hz(one->channel.frequency_hz));
    put(at, object, "bandwidth_hz", spurity_value_hz(one->channel.bandwidth_hz));
    return object;
}

/* Where the carrier is on no channel, or on which cannot be told: the nearest. */
static json_t *nearest_object(build *at, const spurity_rules_verdict *one)
{
    bool off = one->channel_found == SPURITY_CHANNEL_OFF || (one->channel_found && one->channel_open);
    if (!off)
        return json_null();
    double carrier = spurity_measurement_carrier(at->measurement)->frequency_hz;
    json_t *object = json_object();
    put(at, object, "number", spurity_value_text(one->channel.number));
    put(at, object, "frequency_hz", spurity_value_hz(one->channel.frequency_hz));
    put(at, object, "offset_hz", spurity_value_hz(carrier - one->channel.frequency_hz));
    put(at, object, "certain", json_boolean(!one->channel_open));
    return object;
}

static json_t *verdict_object(build *at, size_t index)
{
    const spurity_rules_verdict *one = spurity_verdict_rules(at->verdict, index);
    json_t *object = json_object(), *reasons = json_array();
    put(at, object, "rules", rules_object(at, one->rules));
    put(at, object, "verdict", spurity_value_text(spurity_outcome_name(one->outcome)));
    put(at, object, "groups", group_list(at, one->groups));
    put(at, object, "from_hz", spurity_value_hz(one->from_hz));
    put(at, object, "to_hz", spurity_value_hz(one->to_hz));
    for (size_t i = 0; i < one->reason_count; i++)
        push(at, reasons, spurity_value_text(one->reasons[i]));
    put(at, object, "reasons", reasons);
    put(at, object, "headline", spurity_value_text(one->headline));
    put(at, object, "indicative", json_boolean(one->indicative));
    put(at, object, "channel", channel_object(at, one));
    put(at, object, "nearest_channel", nearest_object(at, one));
    put(at, object, "authorised_bandwidth_hz", spurity_value_hz(one->authorised_hz));
    put(at, object, "bandwidth_refused", json_boolean(one->bandwidth_refused));
    put(at, object, "unreported_by", spurity_value_text_or_null(one->unreported));
    put(at, object, "clauses", spurity_clauses_met(at->verdict, index));
    return object;
}

static void put_verdicts(build *at, json_t *root)
{
    put(at, root, "verdict", spurity_value_text(spurity_outcome_name(spurity_verdict_outcome(at->verdict))));
    put(at, root, "headline", spurity_value_text(spurity_verdict_headline(at->verdict)));
    put(at, root, "rules", rules_object(at, rules_at(at, 0)));
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_verdict_rules_count(at->verdict); i++)
        push(at, list, verdict_object(at, i));
    put(at, root, "verdicts", list);
}

/* Several sweeps of one thing; null for a single one. */
static json_t *repeats_object(build *at, const spurity_repeats *repeats)
{
    if (repeats->count < 2)
        return json_null();
    json_t *object = json_object();
    put(at, object, "count", json_integer((json_int_t)repeats->count));
    put(at, object, "spread_db", spurity_value_db(repeats->spread_db));
    put(at, object, "type_a_db", spurity_value_db(repeats->type_a_db));
    return object;
}

/* Whose it is, and what the instrument may have of it. */
static void put_origin(build *at, json_t *object, const spurity_overlap *row)
{
    put(at, object, "origin", spurity_value_text(row ? spurity_origin_name(row->origin) : NULL));
    put(at, object, "instrument_order", row && row->order ? json_integer(row->order) : json_null());
    put(at, object, "instrument_low_db", spurity_value_db(row ? row->low_db : (double)NAN));
    put(at, object, "instrument_high_db", spurity_value_db(row ? row->high_db : (double)NAN));
}

static void put_carrier(build *at, json_t *root)
{
    const spurity_overlap *row = spurity_measurement_overlap(at->measurement, 0); /* the carrier's is the first */
    const spurity_carrier *carrier = spurity_measurement_carrier(at->measurement);
    json_t *object = json_object();
    bool metered = carrier->source == SPURITY_CARRIER_FROM_METER;
    double expanded = isfinite(carrier->level_dbm) ? spurity_uncertainty_expanded(&carrier->uncertainty) : NAN;
    put(at, object, "frequency_hz", spurity_value_hz(carrier->frequency_hz));
    put(at, object, "level_dbm", spurity_value_db(carrier->level_dbm));
    put(at, object, "power_w", spurity_value_w(carrier->power_w));
    put(at, object, "uncertainty_db", spurity_value_db(expanded));
    put(at, object, "source", spurity_value_text(metered ? "power meter" : "trace"));
    put(at, object, "width_hz", carrier->seen ? spurity_value_hz(carrier->width_hz) : json_null());
    put(at, object, "character",
        carrier->seen ? spurity_value_text(spurity_character_name(carrier->character)) : json_null());
    put(at, object, "seen", json_boolean(carrier->seen));
    put(at, object, "frequency_uncertainty_hz",
        carrier->seen ? spurity_value_hz(carrier->frequency_uncertainty_hz) : json_null());
    put(at, object, "file", index_or_null(carrier->seen ? carrier->file : -1));
    put(at, object, "budget", isfinite(expanded) ? spurity_budget_table(at->measurement, -1, false) : json_null());
    put(at, object, "compressed_db", spurity_value_db(row && row->count > 1 ? row->compressed_db : (double)NAN));
    put(at, object, "repeats", repeats_object(at, &carrier->repeats));
    put(at, object, "leakage_db", spurity_value_db(carrier->leakage_db));
    put(at, root, "carrier", object);
}

static json_t *ratio_text(const spurity_emission *emission)
{
    char text[32];
    if (!emission->ratio_p || !emission->ratio_q)
        return json_null();
    snprintf(text, sizeof text, "%d/%d", emission->ratio_p, emission->ratio_q);
    return spurity_value_text(text);
}

static json_t *expanded_of(const spurity_uncertainty *list, double level)
{
    return isfinite(level) ? spurity_value_db(spurity_uncertainty_expanded(list)) : json_null();
}

/* Whether levels of a file are dBm: what is not anchored stays null. */
static bool is_anchored(const build *at, int file)
{
    if (file < 0 || (size_t)file >= spurity_measurement_file_count(at->measurement))
        return false;
    return isfinite(spurity_measurement_file(at->measurement, (size_t)file)->dbm_offset);
}

static json_t *emission_object(build *at, const spurity_emission *emission, const spurity_overlap *row)
{
    json_t *object = json_object();
    put(at, object, "kind", spurity_value_text(spurity_emission_kind_name(emission->kind)));
    put(at, object, "order", emission->order ? json_integer(emission->order) : json_null());
    put(at, object, "ratio", ratio_text(emission));
    put(at, object, "character", spurity_value_text(spurity_character_name(emission->character)));
    put(at, object, "frequency_hz", spurity_value_hz(emission->frequency_hz));
    put(at, object, "level_dbm", spurity_value_db(emission->level_dbm));
    put(at, object, "level_dbc", spurity_value_db(emission->level_dbc));
    put(at, object, "uncertainty_db", expanded_of(&emission->uncertainty_dbm, emission->level_dbm));
    put(at, object, "uncertainty_dbc", expanded_of(&emission->uncertainty_dbc, emission->level_dbc));
    put(at, object, "seen", json_boolean(emission->seen));
    put(at, object, "floor_dbm", is_anchored(at, emission->file) ? spurity_value_db(emission->floor_dbm) : json_null());
    put(at, object, "file", index_or_null(emission->file));
    put(at, object, "trustworthy", json_boolean(emission->trustworthy));
    put(at, object, "front_end_unproven", json_boolean(emission->front_end_unproven));
    put(at, object, "frequency_uncertainty_hz", spurity_value_hz(emission->frequency_uncertainty_hz));
    put(at, object, "read_low_db", spurity_value_db(emission->read_low_db));
    put(at, object, "read_high_db", spurity_value_db(emission->read_high_db));
    bool artefact = emission->kind == SPURITY_ARTEFACT;
    put(at, object, "artefact",
        spurity_value_text_or_null(artefact ? spurity_artefact_name(emission->artefact) : NULL));
    put(at, object, "artefact_of_hz", artefact ? spurity_value_hz(emission->artefact_of_hz) : json_null());
    put(at, object, "at_most_dbm", artefact ? spurity_value_db(emission->at_most_dbm) : json_null());
    put(at, object, "at_most_dbc", artefact ? spurity_value_db(emission->at_most_dbc) : json_null());
    put(at, object, "clipped", json_boolean(emission->clipped));
    put_origin(at, object, row);
    put(at, object, "repeats", repeats_object(at, &emission->repeats));
    put(at, object, "ambient_db", spurity_value_db(emission->ambient_db));
    put(at, object, "leakage_db", spurity_value_db(emission->leakage_db));
    put(at, object, "own_db", spurity_value_db(emission->own_db));
    return object;
}

/* The emission that comes nearest to its limit, or furthest over it; -1 none. */
static long nearest_emission(const build *at)
{
    long nearest = -1;
    double least = (double)INFINITY;
    for (size_t i = 0; at->verdict && i < spurity_verdict_judgement_count(at->verdict); i++) {
        const spurity_judgement *one = spurity_verdict_judgement(at->verdict, i);
        if (one->emission < 0 || !(one->margin - one->uncertainty < least))
            continue;
        least = one->margin - one->uncertainty;
        nearest = one->emission;
    }
    return nearest;
}

/* Thousands of lines would make a document that is mostly tables: then only those most asked for have theirs. */
static void put_budgets(build *at, json_t *object, size_t index, long nearest)
{
    enum { FEW = 100 };
    const spurity_emission *emission = spurity_measurement_emission(at->measurement, index);
    bool shown = spurity_measurement_emission_count(at->measurement) <= FEW || emission->kind == SPURITY_HARMONIC ||
                 (long)index == nearest;
    bool dbm = shown && isfinite(emission->level_dbm), dbc = shown && isfinite(emission->level_dbc);
    put(at, object, "budget", dbm ? spurity_budget_table(at->measurement, (long)index, false) : json_null());
    put(at, object, "budget_dbc", dbc ? spurity_budget_table(at->measurement, (long)index, true) : json_null());
}

/* Over all rule sets, the judgement whose line is the lowest there. */
static json_t *strictest_object(build *at, size_t index)
{
    size_t which;
    double limit_dbm;
    if (!spurity_verdict_strictest(at->verdict, index, &which, &limit_dbm))
        return json_null();
    const spurity_judgement *one = spurity_verdict_judgement(at->verdict, which);
    json_t *object = json_object();
    put(at, object, "rules", rules_id(at, one->rules));
    put(at, object, "clause", clause_name(one->clause));
    put(at, object, "judgement", json_integer((json_int_t)which));
    put(at, object, "limit_dbm", spurity_value_db(limit_dbm));
    return object;
}

static void put_emissions(build *at, json_t *root)
{
    json_t *list = json_array();
    long nearest = nearest_emission(at);
    size_t next = 0; /* rows stand in the emissions' order, without those not seen */
    for (size_t i = 0; i < spurity_measurement_emission_count(at->measurement); i++) {
        const spurity_overlap *row = spurity_measurement_overlap(at->measurement, next);
        while (row && row->emission < (long)i)
            row = spurity_measurement_overlap(at->measurement, ++next);
        if (row && row->emission != (long)i)
            row = NULL;
        json_t *object = emission_object(at, spurity_measurement_emission(at->measurement, i), row);
        put_budgets(at, object, i, nearest);
        if (at->verdict)
            put(at, object, "strictest", strictest_object(at, i));
        push(at, list, object);
    }
    put(at, root, "emissions", list);
}

/* A figure in the judgement's own unit. */
static json_t *in_unit(double value, const char *unit)
{
    if (unit && !strcmp(unit, "W"))
        return spurity_value_w(value);
    return unit && !strcmp(unit, "Hz") ? spurity_value_hz(value) : spurity_value_db(value);
}

static json_t *judgement_object(build *at, const spurity_judgement *one)
{
    json_t *object = json_object();
    put(at, object, "rules", rules_id(at, one->rules));
    put(at, object, "clause", clause_name(one->clause));
    put(at, object, "group", spurity_value_text(one->group));
    put(at, object, "quantity", spurity_value_text(one->quantity));
    put(at, object, "emission", index_or_null(one->emission));
    put(at, object, "frequency_hz", spurity_value_hz(one->frequency_hz));
    put(at, object, "measured", in_unit(one->measured, one->unit));
    put(at, object, "limit", in_unit(one->limit, one->unit));
    put(at, object, "unit", spurity_value_text_or_null(one->unit));
    put(at, object, "margin", spurity_value_db(one->margin)); /* 0.001 dB, or for Hz the same 1 mHz */
    put(at, object, "uncertainty", spurity_value_db(one->uncertainty));
    put(at, object, "conformity_probability", spurity_value_fraction(one->conformity_probability));
    put(at, object, "binding", spurity_value_text_or_null(one->binding));
    put(at, object, "reference_bandwidth_hz", spurity_value_hz(one->reference_bandwidth_hz));
    put(at, object, "detector", spurity_value_text_or_null(one->detector));
    put(at, object, "status", spurity_value_text(one->confirmed ? "confirmed" : "unverified"));
    put(at, object, "outcome", spurity_value_text(spurity_outcome_name(one->outcome)));
    put(at, object, "from_hz", spurity_value_hz(one->from_hz));
    put(at, object, "to_hz", spurity_value_hz(one->to_hz));
    put(at, object, "at_most", json_boolean(one->at_most));
    put(at, object, "reading", spurity_value_text_or_null(one->reading));
    put(at, object, "reportable", json_boolean(one->reportable));
    put(at, object, "work", spurity_value_text_or_null(one->work));
    put(at, object, "guard", spurity_value_fraction(one->guard > 0 ? one->guard : 1));
    return object;
}

static void put_judgements(build *at, json_t *root)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_verdict_judgement_count(at->verdict); i++)
        push(at, list, judgement_object(at, spurity_verdict_judgement(at->verdict, i)));
    put(at, root, "judgements", list);
}

/* Takes rules and clause over. */
static void push_gap(build *at, json_t *list, json_t *rules, json_t *clause, double from_hz, double to_hz,
                     const char *reason, const char *advice)
{
    json_t *object = json_object();
    put(at, object, "rules", rules);
    put(at, object, "clause", clause);
    put(at, object, "from_hz", spurity_value_hz(from_hz));
    put(at, object, "to_hz", spurity_value_hz(to_hz));
    put(at, object, "reason", spurity_value_text(reason));
    put(at, object, "advice", spurity_value_text(advice));
    push(at, list, object);
}

/* A measurement tells its coverage only; a verdict has its own list. */
static void put_not_shown(build *at, json_t *root)
{
    json_t *list = json_array();
    size_t count = at->verdict ? spurity_verdict_not_shown_count(at->verdict) : 0;
    for (size_t i = 0; i < count; i++) {
        const spurity_not_shown *gap = spurity_verdict_not_shown(at->verdict, i);
        json_t *rules = gap->clause ? rules_id(at, gap->rules) : json_null();
        push_gap(at, list, rules, clause_name(gap->clause), gap->from_hz, gap->to_hz, gap->reason, gap->advice);
    }
    count = at->verdict ? 0 : spurity_measurement_hole_count(at->measurement);
    for (size_t i = 0; i < count; i++) {
        const spurity_stretch *hole = spurity_measurement_hole(at->measurement, i);
        push_gap(at, list, json_null(), json_null(), hole->from_hz, hole->to_hz, hole->reason, hole->advice);
    }
    put(at, root, "not_shown", list);
}

static const spurity_rules *owner_of(const build *at, const spurity_clause *clause)
{
    for (size_t i = 0; i < spurity_verdict_rules_count(at->verdict); i++) {
        const spurity_rules *rules = rules_at(at, i);
        for (size_t k = 0; k < spurity_rules_clause_count(rules); k++)
            if (spurity_rules_clause(rules, k) == clause)
                return rules;
    }
    return NULL;
}

static void put_told(build *at, json_t *root)
{
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_verdict_told_count(at->verdict); i++) {
        const spurity_clause *clause = spurity_verdict_told(at->verdict, i);
        const spurity_rules *rules = owner_of(at, clause);
        spurity_clause_facts facts = {0};
        spurity_clause_facts_of(clause, &facts);
        json_t *object = json_object();
        put(at, object, "rules", spurity_value_text(rules ? spurity_rules_id(rules) : NULL));
        put(at, object, "clause", spurity_value_text(facts.clause));
        put(at, object, "citation", spurity_value_text(facts.citation));
        put(at, object, "says", spurity_value_text(facts.says));
        push(at, list, object);
    }
    put(at, root, "told", list);
}

static void put_warnings(build *at, json_t *root)
{
    const spurity_notes *notes = spurity_measurement_notes_view(at->measurement);
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_notes_count(notes); i++) {
        const spurity_note *note = spurity_notes_at(notes, i);
        json_t *object = json_object();
        put(at, object, "code", spurity_value_text(spurity_note_code_name(note->code)));
        put(at, object, "text", spurity_value_text(note->text));
        put(at, object, "file", index_or_null(note->file));
        push(at, list, object);
    }
    put(at, root, "warnings", list);
}

static json_t *chain_list(build *at, const spurity_chain *chain)
{
    static const char *const whole[] = {[SPURITY_CHAIN_UNSTATED] = "not stated",
                                        [SPURITY_CHAIN_DIRECT] = "direct",
                                        [SPURITY_CHAIN_CORRECTED] = "already corrected"};
    json_t *list = json_array();
    spurity_chain_kind kind = chain ? spurity_chain_kind_of(chain) : SPURITY_CHAIN_UNSTATED;
    if (kind != SPURITY_CHAIN_ELEMENTS)
        push(at, list, spurity_value_text(whole[kind]));
    for (size_t i = 0; kind == SPURITY_CHAIN_ELEMENTS && i < spurity_chain_element_count(chain); i++) {
        char text[300];
        spurity_chain_describe(chain, i, text, sizeof text);
        push(at, list, spurity_value_text(text));
    }
    return list;
}

static json_t *points_of(const spurity_measured_file *file)
{
    if (!file->survey)
        return json_null();
    const spurity_trace *trace = spurity_terminal_trace_view(spurity_survey_terminal(file->survey));
    return json_integer((json_int_t)spurity_trace_points(trace));
}

/* What the samples say of the receiver.  Rails of floating point samples are not known, so neither is their share. */
static void put_receiver(build *at, json_t *object, const spurity_spectrum_facts *facts, spurity_component component)
{
    bool rails = component != SPURITY_COMPONENT_F32 && component != SPURITY_COMPONENT_F64 && facts->components > 0;
    double rail = rails ? (double)facts->at_rail / (double)facts->components : NAN;
    put(at, object, "mean_dbfs", spurity_value_db(facts->mean_db));
    put(at, object, "largest", spurity_value_fraction(facts->largest));
    put(at, object, "clipped", spurity_value_share(rail));
    put(at, object, "pinned", json_boolean(facts->pinned));
    put(at, object, "not_finite", json_integer((json_int_t)facts->not_finite));
    put(at, object, "dc_dbfs", spurity_value_db(10 * log10(facts->dc_i * facts->dc_i + facts->dc_q * facts->dc_q)));
    put(at, object, "gain_imbalance_db", spurity_value_db(facts->gain_imbalance_db));
    put(at, object, "phase_imbalance_deg", spurity_value_db(facts->phase_imbalance_deg));
    put(at, object, "image_db", spurity_value_db(facts->image_db));
}

/* Centres of the bands that were looked at, in the capture's order. */
static json_t *center_list(build *at, const spurity_spectrum *spectrum)
{
    json_t *list = json_array();
    spurity_spectrum_part part;
    for (size_t i = 0; spurity_spectrum_part_at(spectrum, i, &part); i++)
        if (!part.sharp)
            push(at, list, part.center_told ? spurity_value_hz(part.center_hz) : json_null());
    return list;
}

/* What a capture is and how its spectrum was taken; null for a sweep. */
static json_t *capture_object(build *at, const spurity_measured_file *file, const spurity_recording_facts *recording)
{
    char text[16];
    if (!file->spectrum || !recording)
        return json_null();
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(file->spectrum);
    const spurity_window_facts *window = spurity_window_facts_of(facts->window);
    const spurity_window_facts *sharp = spurity_window_facts_of(facts->sharp_window);
    json_t *object = json_object();
    put(at, object, "rate_hz", spurity_value_hz(recording->rate_hz));
    put(at, object, "centers_hz", center_list(at, file->spectrum));
    put(at, object, "datatype", spurity_value_text(spurity_sample_format_name(recording->datatype, text, sizeof text)));
    put(at, object, "full_scale_dbm", spurity_value_db(recording->full_scale_dbm));
    put(at, object, "samples", json_integer((json_int_t)facts->samples));
    put(at, object, "rbw_hz", spurity_value_hz(facts->rbw_hz));
    put(at, object, "sharp_rbw_hz", spurity_value_hz(facts->sharp_rbw_hz));
    put(at, object, "window", spurity_value_text(window ? window->name : NULL));
    put(at, object, "sharp_window",
        isnan(facts->sharp_rbw_hz) ? json_null() : spurity_value_text(sharp ? sharp->name : NULL));
    put(at, object, "transform", json_integer((json_int_t)facts->transform));
    put(at, object, "transforms", json_integer((json_int_t)facts->transforms));
    put(at, object, "overlap", spurity_value_fraction(facts->overlap));
    put(at, object, "averages", spurity_value_db(facts->averages));
    put(at, object, "averages_few", json_boolean(facts->averages_few));
    put(at, object, "bursts", facts->bursts ? json_integer((json_int_t)facts->burst_count) : json_null());
    put(at, object, "key_down_only", json_boolean(facts->gated));
    put(at, object, "duty", spurity_value_fraction(facts->duty));
    put(at, object, "key_down_dbfs", spurity_value_db(facts->on_db));
    put_receiver(at, object, facts, recording->datatype.component);
    return object;
}

static void push_trace_input(build *at, json_t *list, size_t index)
{
    static const char *const roles[] = {[SPURITY_ROLE_TRANSMITTER] = "transmitter",
                                        [SPURITY_ROLE_AMBIENT] = "ambient",
                                        [SPURITY_ROLE_LEAKAGE] = "leakage"};
    const spurity_test_point *point = spurity_measurement_point(at->measurement);
    const spurity_measured_file *file = spurity_measurement_file(at->measurement, index);
    const spurity_recording_facts *facts = file->recording ? spurity_recording_facts_of(file->recording) : NULL;
    const spurity_chain *chain = index < point->source_count ? point->sources[index].chain : NULL;
    json_t *object = json_object();
    put(at, object, "file", spurity_value_text(file->path ? file->path : ""));
    put(at, object, "sha256", spurity_value_text_or_null(facts ? facts->sha256 : NULL));
    put(at, object, "kind", spurity_value_text(file->spectrum ? "capture" : "trace"));
    put(at, object, "role", spurity_value_text(roles[file->role]));
    put(at, object, "chain", chain_list(at, chain));
    put(at, object, "title", spurity_value_text_or_null(facts ? facts->title : NULL));
    put(at, object, "points", points_of(file));
    put(at, object, "capture", capture_object(at, file, facts));
    push(at, list, object);
}

/* A loss table named by several files is one input. */
static void push_loss_input(build *at, json_t *list, const spurity_chain_element *element)
{
    json_t *file = spurity_value_text(element->name ? element->name : ""), *other;
    size_t i;
    bool known = false;
    json_array_foreach(list, i, other) known |= !strcmp(json_string_value(json_object_get(other, "kind")), "loss") &&
                                                json_equal(json_object_get(other, "file"), file);
    if (known) {
        json_decref(file);
        return;
    }
    json_t *object = json_object();
    put(at, object, "file", file);
    put(at, object, "sha256", spurity_value_text_or_null(element->sha256));
    put(at, object, "kind", spurity_value_text("loss"));
    put(at, object, "role", json_null());
    put(at, object, "chain", json_array());
    push(at, list, object);
}

static void put_inputs(build *at, json_t *root)
{
    const spurity_test_point *point = spurity_measurement_point(at->measurement);
    json_t *list = json_array();
    for (size_t i = 0; i < spurity_measurement_file_count(at->measurement); i++)
        push_trace_input(at, list, i);
    for (size_t i = 0; i < point->source_count && !at->failed; i++) {
        const spurity_chain *chain = point->sources[i].chain;
        spurity_chain_element element;
        for (size_t k = 0; chain && spurity_chain_element_at(chain, k, &element); k++)
            if (element.curve && !at->failed)
                push_loss_input(at, list, &element);
    }
    put(at, root, "inputs", list);
}

static json_t *document(build *at, const spurity_setting *settings, size_t count)
{
    json_t *root = json_object();
    put(at, root, "format", spurity_value_text(at->verdict ? "spurity-result" : "spurity-measurement"));
    put(at, root, "version", json_integer(1));
    put(at, root, "tool", spurity_value_text(spurity_result_tool()));
    if (at->verdict)
        put_verdicts(at, root);
    put(at, root, "settings", spurity_value_settings(settings, count));
    put_carrier(at, root);
    put_emissions(at, root);
    if (at->verdict)
        put_judgements(at, root);
    put_not_shown(at, root);
    if (at->verdict) {
        put(at, root, "not_examined", group_list(at, spurity_verdict_not_examined(at->verdict)));
        put_told(at, root);
    }
    put_warnings(at, root);
    put_inputs(at, root);
    return root;
}

spurity_status spurity_result_create(const spurity_measurement *measurement, const spurity_verdict *verdict,
                                     const spurity_setting *settings, size_t setting_count, spurity_result **result,
                                     spurity_error *error)
{
    *result = NULL;
    build at = {.measurement = measurement, .verdict = verdict};
    spurity_result *made = calloc(1, sizeof *made);
    if (!made)
        return spurity_report_memory(error);
    made->root = document(&at, settings, setting_count);
    spurity_status status = at.failed || !made->root ? spurity_report_memory(error) : SPURITY_OK;
    if (!status)
        status = spurity_picture_of(measurement, verdict, &made->picture, error);
    if (status) {
        spurity_result_free(made);
        return status;
    }
    *result = made;
    return SPURITY_OK;
}
