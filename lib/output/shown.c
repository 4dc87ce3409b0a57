/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A result as plain structs: each path is looked up once. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

static void path_of(char *path, size_t size, const char *list, size_t index, const char *key)
{
    snprintf(path, size, "%s/%zu/%s", list, index, key);
}

double spurity_shown_number(const spurity_result *result, const char *list, size_t index, const char *key)
{
    char path[96];
    double value = NAN;
    path_of(path, sizeof path, list, index, key);
    spurity_result_number(result, path, &value);
    return value;
}

const char *spurity_shown_text(const spurity_result *result, const char *list, size_t index, const char *key)
{
    char path[96];
    path_of(path, sizeof path, list, index, key);
    const char *text = spurity_result_text(result, path);
    return text ? text : "";
}

static bool is_true(const spurity_result *result, const char *list, size_t index, const char *key)
{
    char path[96];
    path_of(path, sizeof path, list, index, key);
    return spurity_result_true(result, path);
}

static spurity_shown_emission emission_at(const spurity_result *result, size_t index)
{
    static const char list[] = "emissions";
    double order = spurity_shown_number(result, list, index, "order");
    spurity_shown_emission emission = {
        .kind = spurity_shown_text(result, list, index, "kind"),
        .ratio = spurity_shown_text(result, list, index, "ratio"),
        .character = spurity_shown_text(result, list, index, "character"),
        .artefact = spurity_shown_text(result, list, index, "artefact"),
        .order = order >= 1 && order < 1e6 ? (int)order : 0,
        .frequency_hz = spurity_shown_number(result, list, index, "frequency_hz"),
        .frequency_uncertainty_hz = spurity_shown_number(result, list, index, "frequency_uncertainty_hz"),
        .level_dbm = spurity_shown_number(result, list, index, "level_dbm"),
        .level_dbc = spurity_shown_number(result, list, index, "level_dbc"),
        .at_most_dbm = spurity_shown_number(result, list, index, "at_most_dbm"),
        .at_most_dbc = spurity_shown_number(result, list, index, "at_most_dbc"),
        .seen = is_true(result, list, index, "seen"),
        .at_most = !is_true(result, list, index, "seen") || is_true(result, list, index, "front_end_unproven") ||
                   !strcmp(spurity_shown_text(result, list, index, "kind"), "receiver artefact"),
        .judgement = -1,
        .strictest = -1,
    };
    if (!emission.ratio[0])
        emission.ratio = NULL;
    double strictest = spurity_shown_number(result, list, index, "strictest/judgement");
    if (strictest >= 0 && strictest < (double)spurity_result_length(result, "judgements"))
        emission.strictest = (long)strictest;
    return emission;
}

static spurity_shown_judgement judgement_at(const spurity_result *result, size_t index)
{
    static const char list[] = "judgements";
    double emission = spurity_shown_number(result, list, index, "emission");
    spurity_shown_judgement judgement = {
        .rules = spurity_shown_text(result, list, index, "rules"),
        .clause = spurity_shown_text(result, list, index, "clause"),
        .group = spurity_shown_text(result, list, index, "group"),
        .quantity = spurity_shown_text(result, list, index, "quantity"),
        .unit = spurity_shown_text(result, list, index, "unit"),
        .binding = spurity_shown_text(result, list, index, "binding"),
        .outcome = spurity_shown_text(result, list, index, "outcome"),
        .emission = emission >= 0 && emission < 1e9 ? (long)emission : -1,
        .frequency_hz = spurity_shown_number(result, list, index, "frequency_hz"),
        .from_hz = spurity_shown_number(result, list, index, "from_hz"),
        .to_hz = spurity_shown_number(result, list, index, "to_hz"),
        .measured = spurity_shown_number(result, list, index, "measured"),
        .limit = spurity_shown_number(result, list, index, "limit"),
        .margin = spurity_shown_number(result, list, index, "margin"),
        .uncertainty = spurity_shown_number(result, list, index, "uncertainty"),
        .at_most = is_true(result, list, index, "at_most"),
        .confirmed = !strcmp(spurity_shown_text(result, list, index, "status"), "confirmed"),
    };
    bool inside = judgement.emission >= 0 && judgement.margin > 20; /* a result that does not say yet */
    judgement.reportable = is_true(result, list, index, "reportable") || !inside;
    judgement.rank = spurity_outcome_rank(judgement.outcome);
    return judgement;
}

/* Whether a is the worse judgement: by outcome, then by margin. */
static bool is_worse(const spurity_shown_judgement *a, const spurity_shown_judgement *b)
{
    if (a->rank != b->rank)
        return a->rank > b->rank;
    return isfinite(a->margin) && (!isfinite(b->margin) || a->margin < b->margin);
}

spurity_status spurity_shown_load(const spurity_result *result, spurity_shown *shown, spurity_error *error)
{
    *shown = (spurity_shown){.result = result, .judged = spurity_result_text(result, "verdict") != NULL};
    size_t emissions = spurity_result_length(result, "emissions");
    size_t judgements = spurity_result_length(result, "judgements");
    shown->emissions = calloc(emissions + 1, sizeof *shown->emissions);
    shown->judgements = calloc(judgements + 1, sizeof *shown->judgements);
    if (!shown->emissions || !shown->judgements) {
        spurity_shown_release(shown);
        return spurity_report_memory(error);
    }
    shown->sets = spurity_result_length(result, "verdicts");
    shown->emission_count = emissions;
    shown->judgement_count = judgements;
    for (size_t i = 0; i < emissions; i++)
        shown->emissions[i] = emission_at(result, i);
    for (size_t i = 0; i < judgements; i++) {
        spurity_shown_judgement *one = &shown->judgements[i];
        *one = judgement_at(result, i);
        if (one->emission < 0 || (size_t)one->emission >= emissions)
            continue;
        long *worst = &shown->emissions[one->emission].judgement;
        shown->emissions[one->emission].reportable |= one->reportable;
        if (*worst < 0 || is_worse(one, &shown->judgements[*worst]))
            *worst = (long)i;
    }
    for (size_t i = 0; i < emissions; i++) {
        spurity_shown_emission *one = &shown->emissions[i];
        one->reportable = one->reportable || one->judgement < 0;
        one->strictest = one->strictest < 0 ? one->judgement : one->strictest;
    }
    return SPURITY_OK;
}

void spurity_shown_release(spurity_shown *shown)
{
    free(shown->emissions);
    free(shown->judgements);
    *shown = (spurity_shown){0};
}
