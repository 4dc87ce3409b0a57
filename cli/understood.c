/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The settings of a result: every option as understood, and where from. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../lib/error/grow.h"
#include "cli.h"

/* Names are those of the options; what holds for one file only is "files/INDEX/NAME". */
static void name_of(char *text, size_t size, int file, const char *option)
{
    if (file < 0)
        snprintf(text, size, "%s", option);
    else
        snprintf(text, size, "files/%d/%s", file, option);
}

static bool add(spurity_cli_understood *list, const char *name, const char *value, const char *from)
{
    spurity_setting *items = spurity_grow(list->items, list->count, &list->room, sizeof *items);
    if (!items)
        return false;
    list->items = items;
    spurity_setting *item = &list->items[list->count];
    *item = (spurity_setting){.name = strdup(name), .value = strdup(value), .from = from};
    list->count++;
    return item->name && item->value;
}

/* Repeated options stand together, in their order: "a + b". */
static bool join(spurity_setting *item, const char *value)
{
    size_t size = strlen(item->value) + strlen(value) + 4;
    char *both = malloc(size);
    if (!both)
        return false;
    snprintf(both, size, "%s + %s", item->value, value);
    free((char *)item->value);
    item->value = both;
    return true;
}

static bool add_or_join(spurity_cli_understood *list, const char *name, const char *value, const char *from)
{
    for (size_t i = 0; i < list->count; i++)
        if (!strcmp(list->items[i].name, name))
            return join(&list->items[i], value);
    return add(list, name, value, from);
}

static bool add_said(const spurity_cli_settings *settings, spurity_cli_understood *list)
{
    char name[80];
    for (size_t i = 0; i < settings->said_count; i++) {
        const spurity_cli_said *said = &settings->said[i];
        name_of(name, sizeof name, said->file, said->option->name);
        if (!(said->option->flags & SPURITY_CLI_QUIET) &&
            !add_or_join(list, name, said->value, said->of_bench ? "bench file" : "option"))
            return false;
    }
    return true;
}

static bool add_defaults(const spurity_cli_settings *settings, spurity_cli_understood *list)
{
    for (size_t i = 0; i < spurity_cli_option_count; i++) {
        const spurity_cli_option *option = &spurity_cli_options[i];
        bool other = settings->budget_from && !strcmp(option->name, "uncertainty");
        if (option->initial && !other && (option->commands & settings->command) &&
            !spurity_cli_was_said(settings, option->name, -1) && !add(list, option->name, option->initial, "default"))
            return false;
    }
    return true;
}

/* Each term of a budget and where it is from: a term left out has a default, which is an assumption. */
static bool add_budget(const spurity_cli_settings *settings, spurity_cli_understood *list)
{
    char name[80], value[SPURITY_CLI_UNDERSTOOD];
    const spurity_budget *budget = &settings->budget_read;
    for (spurity_term term = 0; settings->budget_from && term < SPURITY_TERMS; term++) {
        const spurity_budget_term *one = &budget->terms[term];
        bool mismatch = term == SPURITY_TERM_SET_MISMATCH || term == SPURITY_TERM_INSTRUMENT_MISMATCH ||
                        term == SPURITY_TERM_THROUGH_MISMATCH;
        snprintf(name, sizeof name, "budget/%s", spurity_term_name(term));
        if (mismatch)
            snprintf(value, sizeof value, "reflections %.3f set, %.3f chain, %.3f instrument, u-shaped",
                     budget->set_reflection, budget->chain_reflection, budget->instrument_reflection);
        else
            snprintf(value, sizeof value, "%.4g dB%s, %s", one->figure_db,
                     term == SPURITY_TERM_LINEARITY ? " for 10 dB" : "", spurity_distribution_name(one->distribution));
        if (!add(list, name, value, one->said ? settings->budget_from : "default"))
            return false;
    }
    if (!settings->budget_from || !(budget->reference_ppm > 0) || spurity_cli_was_said(settings, "reference-ppm", -1))
        return true;
    snprintf(value, sizeof value, "%g ppm", budget->reference_ppm);
    return add(list, "budget/reference clock", value, settings->budget_from);
}

static bool stands(const spurity_cli_understood *list, const char *name)
{
    for (size_t i = 0; i < list->count; i++)
        if (!strcmp(list->items[i].name, name))
            return true;
    return false;
}

/* What a file itself told where an option could have. */
static bool add_findings(const spurity_cli_settings *settings, const spurity_recording *recording, int file,
                         spurity_cli_understood *list)
{
    char name[80];
    size_t count = recording ? spurity_recording_finding_count(recording) : 0;
    for (size_t i = 0; i < count; i++) {
        const spurity_finding *finding = spurity_recording_finding(recording, i);
        const char *option = finding->option;
        if (strncmp(option, "--", 2))
            continue;
        option += 2;
        if (!spurity_cli_option_find(option, strlen(option)) || spurity_cli_was_said(settings, option, file) ||
            spurity_cli_was_said(settings, option, -1))
            continue;
        name_of(name, sizeof name, file, option);
        if (!stands(list, name) && !add(list, name, finding->understood, finding->assumed ? "default" : "file"))
            return false;
    }
    return true;
}

spurity_status spurity_cli_understood_create(const spurity_cli_settings *settings,
                                             const spurity_measurement *measurement, spurity_cli_understood *list,
                                             spurity_error *error)
{
    *list = (spurity_cli_understood){0};
    if (!add_said(settings, list) || !add_budget(settings, list) || !add_defaults(settings, list))
        return spurity_report_memory(error);
    for (size_t i = 0; measurement && i < spurity_measurement_file_count(measurement); i++) {
        const spurity_measured_file *file = spurity_measurement_file(measurement, i);
        if (!add_findings(settings, file->recording, (int)i, list))
            return spurity_report_memory(error);
    }
    return SPURITY_OK;
}

void spurity_cli_understood_release(spurity_cli_understood *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free((char *)list->items[i].name);
        free((char *)list->items[i].value);
    }
    free(list->items);
}
