/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A budget as people write it. */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

#define TEXT(member)                                                                                                   \
    CYAML_FIELD_STRING_PTR(#member, CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, struct raw_budget, member, 1, 120)

static const cyaml_schema_field_t other_fields[] = {
    CYAML_FIELD_STRING_PTR("name", CYAML_FLAG_POINTER, struct raw_other, name, 1, SPURITY_BUDGET_NAME_SIZE - 1),
    CYAML_FIELD_STRING_PTR("figure", CYAML_FLAG_POINTER, struct raw_other, figure, 1, 120),
    CYAML_FIELD_STRING_PTR("shared", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, struct raw_other, shared, 1, 10),
    CYAML_FIELD_END};
static const cyaml_schema_value_t other = {CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_other, other_fields)};

const cyaml_schema_field_t spurity_budget_fields[] = {
    TEXT(format),
    TEXT(version),
    TEXT(amplitude),
    TEXT(response),
    TEXT(linearity),
    TEXT(linearity_most),
    TEXT(attenuator),
    TEXT(rbw_switching),
    TEXT(resolution),
    TEXT(interpolation),
    TEXT(window),
    TEXT(pad),
    TEXT(loss),
    TEXT(pad_response),
    TEXT(repeatability),
    TEXT(repeats),
    TEXT(set),
    TEXT(chain),
    TEXT(instrument),
    TEXT(meter),
    TEXT(reference),
    CYAML_FIELD_SEQUENCE("other", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, struct raw_budget, other, &other, 1,
                         SPURITY_BUDGET_OTHERS),
    CYAML_FIELD_END};
static const cyaml_schema_value_t budget_schema = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_POINTER, struct raw_budget, spurity_budget_fields)};

/** A place in the file and what is said there. */
struct told {
    const struct document *document;
    spurity_error *error;
    int node;
    const char *text;
};

static spurity_status bad(const struct told *told, const char *expected, const char *advice)
{
    return spurity_document_bad(told->document, told->node, told->error, expected, advice, "'%.60s'", told->text);
}

/* No figure of a budget is more: beyond it a level says nothing. */
#define FIGURE_MOST_DB 20.0

static const char figure_form[] = "a figure in dB and a distribution, such as '0.6 dB, rectangular'";

/* The words of a distribution; one-sided is for readings, not for a bench. */
static const char *const distribution_words[] = {"normal", "rectangular", "triangular", "u-shaped", "expanded", NULL};
static const spurity_distribution distributions[] = {SPURITY_NORMAL, SPURITY_RECTANGULAR, SPURITY_TRIANGULAR,
                                                     SPURITY_ARCSINE, SPURITY_EXPANDED};

static spurity_status read_distribution(const struct told *told, const char *word, spurity_distribution *distribution)
{
    int index;
    while (*word == ' ')
        word++;
    spurity_status status =
        spurity_document_word(told->document, told->node, told->error, distribution_words, word, &index);
    if (!status)
        *distribution = distributions[index];
    return status;
}

/* "0.6 dB", "0.6 dB, rectangular"; a percentage (of a power) where a meter is told. */
static spurity_status read_figure(const struct told *told, bool percent_allowed, double *figure_db,
                                  spurity_distribution *distribution)
{
    char number[40];
    size_t length = strcspn(told->text, ",");
    if (length >= sizeof number)
        return bad(told, figure_form, NULL);
    memcpy(number, told->text, length);
    while (length && number[length - 1] == ' ')
        length--;
    number[length] = '\0';
    double value;
    size_t took = spurity_number_parse(number, length, '.', &value);
    const char *unit = number + took + strspn(number + took, " ");
    if (took && percent_allowed && !strcmp(unit, "%") && value >= 0 && value <= 90)
        *figure_db = -10 * log10(1 - value / 100); /* the larger side */
    else if (took && !strcmp(unit, "dB") && value >= 0 && value <= FIGURE_MOST_DB)
        *figure_db = value;
    else
        return bad(told, figure_form, took && !*unit ? "a figure needs its unit" : NULL);
    return told->text[strcspn(told->text, ",")] ? read_distribution(told, strchr(told->text, ',') + 1, distribution)
                                                : SPURITY_OK;
}

/* "vswr 1.5", "return loss 14 dB" */
static spurity_status read_reflection(const struct told *told, double *reflection)
{
    static const char form[] = "'vswr 1.5' or 'return loss 14 dB'";
    static const char vswr[] = "vswr ", loss[] = "return loss ";
    bool is_vswr = !strncmp(told->text, vswr, sizeof vswr - 1), is_loss = !strncmp(told->text, loss, sizeof loss - 1);
    const char *number = told->text + (is_vswr ? sizeof vswr : sizeof loss) - 1;
    double value;
    if (!is_vswr && !is_loss)
        return bad(told, form, NULL);
    size_t took = spurity_number_parse(number, strlen(number), '.', &value);
    const char *unit = number + took + strspn(number + took, " ");
    bool right =
        took && (is_vswr ? !*unit && value >= 1 && value <= 20 : !strcmp(unit, "dB") && value >= 0.5 && value <= 80);
    if (!right)
        return bad(told, form, NULL);
    *reflection = is_vswr ? spurity_reflection_of_vswr(value) : spurity_reflection_of_return_loss(value);
    return SPURITY_OK;
}

static spurity_status read_terms(struct told *told, int node, spurity_budget *budget)
{
    static const struct {
        const char *key;
        spurity_term term;
    } keys[] = {{"amplitude", SPURITY_TERM_AMPLITUDE},
                {"response", SPURITY_TERM_RESPONSE},
                {"linearity", SPURITY_TERM_LINEARITY},
                {"attenuator", SPURITY_TERM_ATTENUATOR},
                {"rbw_switching", SPURITY_TERM_RBW_SWITCHING},
                {"resolution", SPURITY_TERM_RESOLUTION},
                {"interpolation", SPURITY_TERM_INTERPOLATION},
                {"window", SPURITY_TERM_WINDOW},
                {"pad", SPURITY_TERM_PAD},
                {"loss", SPURITY_TERM_LOSS},
                {"pad_response", SPURITY_TERM_PAD_RESPONSE},
                {"repeatability", SPURITY_TERM_REPEATABILITY},
                {"meter", SPURITY_TERM_METER}};
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < sizeof keys / sizeof *keys && !status; i++) {
        spurity_budget_term *term = &budget->terms[keys[i].term];
        told->text = spurity_bench_text(told->document, node, keys[i].key, &told->node);
        if (!told->text)
            continue;
        term->said = true;
        status = read_figure(told, keys[i].term == SPURITY_TERM_METER, &term->figure_db, &term->distribution);
    }
    return status;
}

static spurity_status read_reflections(struct told *told, int node, spurity_budget *budget)
{
    const struct {
        const char *key;
        double *reflection;
        spurity_term terms[2];
    } ends[] = {{"set", &budget->set_reflection, {SPURITY_TERM_SET_MISMATCH, SPURITY_TERM_THROUGH_MISMATCH}},
                {"chain", &budget->chain_reflection, {SPURITY_TERM_SET_MISMATCH, SPURITY_TERM_INSTRUMENT_MISMATCH}},
                {"instrument",
                 &budget->instrument_reflection,
                 {SPURITY_TERM_INSTRUMENT_MISMATCH, SPURITY_TERM_THROUGH_MISMATCH}}};
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < sizeof ends / sizeof *ends && !status; i++) {
        told->text = spurity_bench_text(told->document, node, ends[i].key, &told->node);
        if (!told->text)
            continue;
        budget->terms[ends[i].terms[0]].said = budget->terms[ends[i].terms[1]].said = true;
        status = read_reflection(told, ends[i].reflection);
    }
    return status;
}

static spurity_status read_counts(struct told *told, int node, spurity_budget *budget)
{
    spurity_distribution ignored;
    spurity_status status = SPURITY_OK;
    if ((told->text = spurity_bench_text(told->document, node, "linearity_most", &told->node))) {
        if (strchr(told->text, ','))
            return bad(told, "a figure in dB; its distribution stands with linearity", NULL);
        status = read_figure(told, false, &budget->linearity_most_db, &ignored);
    }
    if (!status && (told->text = spurity_bench_text(told->document, node, "repeats", &told->node))) {
        long count;
        spurity_place at = spurity_document_place(told->document, told->node);
        status = spurity_parse_count(told->text, "repeats", at, 1, 1000, &count, told->error);
        if (!status)
            budget->repeats = (int)count;
    }
    if (!status && (told->text = spurity_bench_text(told->document, node, "reference", &told->node))) {
        spurity_place at = spurity_document_place(told->document, told->node);
        status = spurity_parse_ppm(told->text, "reference", at, &budget->reference_ppm, told->error);
    }
    return status;
}

/* A name becomes part of a source: none of the marks that those use, and none of the tool's own terms. */
static bool is_name(const char *text)
{
    for (const char *at = text; *at; at++)
        if (!isalnum((unsigned char)*at) && *at != ' ' && *at != '-')
            return false;
    for (spurity_term term = 0; term < SPURITY_TERMS; term++)
        if (!strcmp(text, spurity_term_name(term)))
            return false;
    return isalpha((unsigned char)text[0]) && strncmp(text, "chain ", 6) != 0 && strcmp(text, "rest") != 0;
}

static spurity_status read_other(struct told *told, int node, spurity_budget *budget)
{
    static const char *const yes_no[] = {"no", "yes", NULL};
    spurity_budget_other *made = &budget->others[budget->other_count];
    *made = (spurity_budget_other){.distribution = SPURITY_RECTANGULAR};
    told->text = spurity_bench_text(told->document, node, "name", &told->node);
    bool twice = false;
    for (size_t i = 0; i < budget->other_count; i++)
        twice = twice || !strcmp(budget->others[i].name, told->text);
    if (twice || !is_name(told->text))
        return bad(told, "a name of its own, of letters, digits, blanks and -", NULL);
    strcpy(made->name, told->text); /* the schema bounds it */
    told->text = spurity_bench_text(told->document, node, "figure", &told->node);
    spurity_status status = read_figure(told, false, &made->figure_db, &made->distribution);
    if (!status && (told->text = spurity_bench_text(told->document, node, "shared", &told->node))) {
        int index;
        status = spurity_document_word(told->document, told->node, told->error, yes_no, told->text, &index);
        made->shared = !status && index == 1;
    }
    budget->other_count++;
    return status;
}

spurity_status spurity_bench_read_budget(const struct document *document, int node, spurity_budget *budget,
                                         spurity_error *error)
{
    struct told told = {.document = document, .error = error};
    spurity_budget_init(budget);
    spurity_status status = read_terms(&told, node, budget);
    if (!status)
        status = read_reflections(&told, node, budget);
    if (!status)
        status = read_counts(&told, node, budget);
    int list = spurity_document_key(document, node, "other");
    if (list == node)
        return status;
    for (int i = document->nodes[list].first; i >= 0 && !status; i = document->nodes[i].next)
        status = read_other(&told, i, budget);
    return status;
}

/* ---- a file of its own ---------------------------------------------------------------------------------- */

static const struct document_kind budget_files = {"a budget file", "budget files", "spurity-budget"};

spurity_status spurity_budget_load_memory(const char *name, const char *yaml, size_t size, spurity_budget *budget,
                                          spurity_error *error)
{
    spurity_error own = {0};
    spurity_error *told = error ? error : &own;
    struct document document;
    spurity_budget read;
    spurity_status status = spurity_document_read(&document, &budget_files, name, yaml, size, told);
    if (!status)
        status = spurity_bench_check_format(&document, told);
    if (!status)
        status = spurity_document_check(&document, &budget_schema, told);
    if (!status)
        status = spurity_bench_read_budget(&document, 0, &read, told);
    if (!status)
        *budget = read;
    spurity_document_release(&document);
    return status;
}

spurity_status spurity_budget_load(const char *path, spurity_budget *budget, spurity_error *error)
{
    char *yaml = NULL;
    size_t size = 0;
    spurity_status status = spurity_document_bytes(&budget_files, path, &yaml, &size, error);
    if (!status)
        status = spurity_budget_load_memory(path, yaml, size, budget, error);
    free(yaml);
    return status;
}
