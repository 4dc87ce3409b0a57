/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A limit tree of a rule file.  The forms of a suppression are a closed list, written as published limits write them:
 *   fixed: 40 dB                                         40 dB
 *   a: 43 dB, b: 10 dB, log10: power / 1 W               a + b log10(P / 1 W)
 *   b: 83 dB, log10: offset / 5 kHz                      b log10(fd / 5 kHz)
 *   b: 29 dB, log10: offset^2 / 11 kHz^2                 b log10(fd^2 / 11 kHz^2): 11 times a square kHz
 *   b: 7.27 dB, times: (offset - 2.88 kHz) / 1 kHz       b (fd - 2.88 kHz) / 1 kHz
 * `frequency` may stand for `offset`; an absent a is 0 dB. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

static const char log_forms[] = "power / 1 W, offset / 5 kHz, frequency / 1 MHz or offset^2 / 11 kHz^2";
static const char times_forms[] = "(offset - 2.88 kHz) / 1 kHz, or with frequency for offset";

static const char *skip_blanks(const char *text)
{
    return text + strspn(text, " ");
}

/** Takes `word` at *text and the blanks after it. */
static bool take(const char **text, const char *word)
{
    size_t length = strlen(word);
    if (strncmp(*text, word, length))
        return false;
    *text = skip_blanks(*text + length);
    return true;
}

static bool take_variable(const char **text, enum rules_variable *variable)
{
    static const char *const names[] = {"power", "offset", "frequency"};
    for (int i = 0; i < 3; i++)
        if (take(text, names[i])) {
            *variable = (enum rules_variable)i;
            return true;
        }
    return false;
}

/** "11 kHz^2" as Hz^2: the square is on the unit alone. */
static bool parse_square(const char *text, double *value)
{
    double number, hertz;
    size_t taken = spurity_number_parse(text, strlen(text), '.', &number);
    if (!taken)
        return false;
    const char *unit = skip_blanks(text + taken);
    size_t length = strcspn(unit, "^ ");
    hertz = spurity_frequency_unit_from_text(unit, length);
    *value = number * hertz * hertz;
    return hertz > 0.0 && !strcmp(unit + length, "^2") && spurity_known(*value);
}

/** What a suppression is divided by; > 0. */
static spurity_status read_scale(const struct rules_loader *loader, int node, const char *text,
                                 struct spurity_limit *limit)
{
    if (limit->exponent == 2) {
        if (parse_square(text, &limit->scale))
            return SPURITY_OK;
        return spurity_rules_bad(loader, node, "a square such as 11 kHz^2", NULL, "'%.50s'", text);
    }
    enum rules_measure measure = limit->variable == VARIABLE_POWER ? MEASURE_POWER : MEASURE_FREQUENCY;
    spurity_status status = spurity_rules_quantity(loader, node, text, measure, &limit->scale);
    if (!status && !spurity_known(limit->scale))
        return spurity_rules_bad(loader, node, "a divisor above 0", NULL, "'%.50s'", text);
    return status;
}

static spurity_status read_log10(const struct rules_loader *loader, int node, const char *text,
                                 struct spurity_limit *limit)
{
    const char *rest = skip_blanks(text);
    limit->form = FORM_LOG10;
    limit->exponent = 1;
    if (!take_variable(&rest, &limit->variable))
        return spurity_rules_bad(loader, node, log_forms, NULL, "'%.50s'", text);
    if (take(&rest, "^2"))
        limit->exponent = 2;
    if (!take(&rest, "/") || (limit->exponent == 2 && limit->variable == VARIABLE_POWER))
        return spurity_rules_bad(loader, node, log_forms, NULL, "'%.50s'", text);
    return read_scale(loader, node, rest, limit);
}

static spurity_status read_times(const struct rules_loader *loader, int node, const char *text,
                                 struct spurity_limit *limit)
{
    const char *rest = skip_blanks(text);
    char minus[40];
    limit->form = FORM_TIMES;
    limit->exponent = 1;
    bool opened = take(&rest, "(") && take_variable(&rest, &limit->variable) && take(&rest, "-");
    size_t length = strcspn(rest, ")");
    if (!opened || limit->variable == VARIABLE_POWER || rest[length] != ')' || length >= sizeof minus)
        return spurity_rules_bad(loader, node, times_forms, NULL, "'%.50s'", text);
    memcpy(minus, rest, length);
    minus[length] = '\0';
    rest = skip_blanks(rest + length + 1);
    if (!take(&rest, "/"))
        return spurity_rules_bad(loader, node, times_forms, NULL, "'%.50s'", text);
    spurity_status status = spurity_rules_quantity(loader, node, minus, MEASURE_FREQUENCY, &limit->minus);
    return status ? status : read_scale(loader, node, rest, limit);
}

/** An optional "43 dB". */
static spurity_status read_decibels(const struct rules_loader *loader, int node, const char *key, const char *text,
                                    double *value)
{
    if (!text)
        return SPURITY_OK;
    return spurity_rules_quantity(loader, spurity_document_key(loader->document, node, key), text, MEASURE_RATIO,
                                  value);
}

static spurity_status read_formula(const struct rules_loader *loader, int node, const struct raw_suppression *raw,
                                   struct spurity_limit *limit)
{
    const char *key = raw->log10 ? "log10" : "times";
    limit->argument = raw->log10 ? raw->log10 : raw->times;
    if (!raw->b)
        return spurity_rules_bad(loader, node, "b: the decibels the logarithm or product is multiplied by", NULL,
                                 "'%s' without 'b'", key);
    spurity_status status = read_decibels(loader, node, "a", raw->a, &limit->a);
    if (!status)
        status = read_decibels(loader, node, "b", raw->b, &limit->b);
    if (status)
        return status;
    int at = spurity_document_key(loader->document, node, key);
    return raw->log10 ? read_log10(loader, at, raw->log10, limit) : read_times(loader, at, raw->times, limit);
}

static spurity_status build_suppression(const struct rules_loader *loader, int node, const struct raw_suppression *raw,
                                        struct spurity_limit *limit)
{
    limit->kind = SPURITY_LIMIT_SUPPRESSION;
    int word = 0;
    spurity_status status = spurity_rules_word(loader, spurity_document_key(loader->document, node, "below"),
                                               spurity_reference_words, raw->below, &word);
    if (status)
        return status;
    limit->reference = (spurity_reference)word;
    int forms = (raw->fixed != NULL) + (raw->log10 != NULL) + (raw->times != NULL);
    if (forms != 1 || (raw->fixed && (raw->a || raw->b)))
        return spurity_rules_bad(loader, node, "fixed alone, or b (and a) with one of log10, times", NULL,
                                 forms ? "several forms of a suppression" : "no form of a suppression");
    if (!raw->fixed)
        return read_formula(loader, node, raw, limit);
    limit->form = FORM_FIXED;
    return read_decibels(loader, node, "fixed", raw->fixed, &limit->a);
}

/** Which power a cap of a carrier power clause means. */
static spurity_status read_capped_power(const struct rules_loader *loader, int node, const char *of,
                                        struct spurity_limit *limit)
{
    int word = 0;
    bool power = limit->clause->facts.quantity == SPURITY_QUANTITY_CARRIER_POWER;
    if (!of && !power)
        return SPURITY_OK;
    if (!of)
        return spurity_rules_bad(loader, node, "of: mean power, PEP, carrier power or ERP", NULL,
                                 "a carrier power without 'of'");
    int at = spurity_document_key(loader->document, node, "of");
    if (!power)
        return spurity_rules_bad(loader, at, "'of' in clauses of carrier power only", NULL, "'of'");
    spurity_status status = spurity_rules_word(loader, at, spurity_power_words, of, &word);
    limit->reference = (spurity_reference)word;
    return status;
}

static spurity_status build_level(const struct rules_loader *loader, int node, const struct raw_limit *raw,
                                  struct spurity_limit *limit)
{
    int at = spurity_document_key(loader->document, node, "level");
    enum rules_measure measure = MEASURE_LEVEL;
    limit->kind = SPURITY_LIMIT_LEVEL;
    switch (limit->clause->facts.quantity) {
    case SPURITY_QUANTITY_FREQUENCY_ERROR:
        measure = strstr(raw->level, "ppm") ? MEASURE_PPM : MEASURE_FREQUENCY;
        break;
    case SPURITY_QUANTITY_OCCUPIED_BANDWIDTH:
    case SPURITY_QUANTITY_PEAK_DEVIATION:
        measure = MEASURE_FREQUENCY;
        break;
    default:
        break;
    }
    limit->unit = measure == MEASURE_LEVEL ? LEVEL_DBM : measure == MEASURE_PPM ? LEVEL_PPM : LEVEL_HZ;
    spurity_status status = spurity_rules_quantity(loader, at, raw->level, measure, &limit->level);
    if (!status && limit->unit != LEVEL_DBM && !spurity_known(limit->level))
        return spurity_rules_bad(loader, at, "more than 0", NULL, "'%.50s'", raw->level);
    return status ? status : read_capped_power(loader, node, raw->of, limit);
}

static spurity_status build_node(const struct rules_loader *loader, int node, const struct raw_limit *raw,
                                 struct spurity_limit *limit);

static spurity_status build_children(const struct rules_loader *loader, int node, const struct raw_limit *raw,
                                     struct spurity_limit *limit)
{
    bool lowest = raw->lowest_of != NULL;
    const struct raw_limit *children = lowest ? raw->lowest_of : raw->highest_of;
    size_t count = lowest ? raw->lowest_of_count : raw->highest_of_count;
    int list = spurity_document_key(loader->document, node, lowest ? "lowest_of" : "highest_of");
    limit->kind = lowest ? SPURITY_LIMIT_LOWEST_OF : SPURITY_LIMIT_HIGHEST_OF;
    limit->children = calloc(count, sizeof *limit->children);
    if (!limit->children)
        return spurity_report_memory(loader->error);
    limit->child_count = count;
    for (size_t i = 0; i < count; i++) {
        limit->children[i].clause = limit->clause;
        spurity_status status =
            build_node(loader, spurity_document_item(loader->document, list, i), &children[i], &limit->children[i]);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status build_node(const struct rules_loader *loader, int node, const struct raw_limit *raw,
                                 struct spurity_limit *limit)
{
    int forms =
        (raw->level != NULL) + (raw->suppression != NULL) + (raw->lowest_of != NULL) + (raw->highest_of != NULL);
    limit->line = loader->document->nodes[node].line;
    if (forms != 1)
        return spurity_rules_bad(loader, node, "exactly one of level, suppression, lowest_of, highest_of", NULL,
                                 "%d forms of a limit", forms);
    if (raw->of && !raw->level)
        return spurity_rules_bad(loader, node, "'of' beside a level only", NULL, "'of'");
    if (raw->level)
        return build_level(loader, node, raw, limit);
    spurity_quantity_limited quantity = limit->clause->facts.quantity;
    if (raw->suppression && quantity != SPURITY_QUANTITY_SPURIOUS_EMISSION && quantity != SPURITY_QUANTITY_MASK)
        return spurity_rules_bad(loader, node, "a level", NULL, "a suppression of a %s",
                                 spurity_quantity_limited_name(quantity));
    if (raw->suppression)
        return build_suppression(loader, spurity_document_key(loader->document, node, "suppression"), raw->suppression,
                                 limit);
    return build_children(loader, node, raw, limit);
}

spurity_status spurity_rules_build_limit(const struct rules_loader *loader, int node, const struct raw_limit *raw,
                                         struct spurity_clause *clause)
{
    clause->limit.clause = clause;
    return build_node(loader, node, raw, &clause->limit);
}

void spurity_limit_release(struct spurity_limit *limit)
{
    for (size_t i = 0; i < limit->child_count; i++)
        spurity_limit_release(&limit->children[i]);
    free(limit->children);
    limit->children = NULL;
    limit->child_count = 0;
}
