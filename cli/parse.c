/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Arguments to settings.  Own code rather than getopt_long, which takes abbreviations and eats "-16dBm". */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../lib/error/grow.h"
#include "cli.h"

static const spurity_place nowhere = {0};

void spurity_cli_settings_init(spurity_cli_settings *settings, unsigned command)
{
    memset(settings, 0, sizeof *settings);
    settings->command = command;
    spurity_test_point_init(&settings->point);
    spurity_read_options_init(&settings->shared.read);
    spurity_plan_question_init(&settings->plan);
    settings->shared.loss_uncertainty_db = (double)NAN;
}

void spurity_cli_settings_release(spurity_cli_settings *settings)
{
    for (size_t i = 0; i < settings->file_count; i++) {
        free(settings->files[i].text);
        spurity_chain_free(settings->files[i].chain);
    }
    free(settings->files);
    free(settings->sources);
    free(settings->operands);
    free(settings->said);
    spurity_bench_free(settings->bench_read);
    spurity_cli_wisdom_release(settings->wisdom);
}

const spurity_cli_option *spurity_cli_option_find(const char *name, size_t length)
{
    for (size_t i = 0; i < spurity_cli_option_count; i++)
        if (!strncmp(spurity_cli_options[i].name, name, length) && !spurity_cli_options[i].name[length])
            return &spurity_cli_options[i];
    return NULL;
}

bool spurity_cli_was_said(const spurity_cli_settings *settings, const char *name, int file)
{
    for (size_t i = 0; i < settings->said_count; i++)
        if (settings->said[i].file == file && !strcmp(settings->said[i].option->name, name))
            return true;
    return false;
}

/* Room for one more; NULL when memory is out. */
static spurity_cli_said *more_said(spurity_cli_settings *settings)
{
    spurity_cli_said *said = spurity_grow(settings->said, settings->said_count, &settings->said_room, sizeof *said);
    if (!said)
        return NULL;
    settings->said = said;
    return &settings->said[settings->said_count];
}

spurity_status spurity_cli_set(spurity_cli_settings *settings, const spurity_cli_option *option, int file,
                               const char *value, spurity_error *error)
{
    char what[120];
    if (file < 0)
        snprintf(what, sizeof what, "--%s", option->name);
    else
        snprintf(what, sizeof what, "%s= after '%.80s'", option->name, settings->files[file].path);
    if (!(option->flags & SPURITY_CLI_REPEATS) && spurity_cli_was_said(settings, option->name, file))
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "keep one of them", "%s is given twice", what);
    spurity_cli_said *said = more_said(settings);
    if (!said)
        return spurity_report_memory(error);
    char *base = (char *)settings;
    if (option->flags & SPURITY_CLI_READING)
        base = (char *)(file < 0 ? &settings->shared : &settings->files[file].reading);
    *said = (spurity_cli_said){.option = option, .file = file, .text = value};
    if (option->set(option, base + option->offset, what, value, said->value, error))
        return error->status;
    settings->said_count++;
    return SPURITY_OK;
}

/* ---- advice -------------------------------------------------------------------------------------- */

typedef struct takes {
    unsigned command;
} takes;

static const char *name_taken(const void *list, size_t index)
{
    const spurity_cli_option *option = &spurity_cli_options[index];
    return option->commands & ((const takes *)list)->command ? option->name : NULL;
}

static const char *command_name(unsigned bit)
{
    for (size_t i = 0; i < spurity_cli_command_count; i++)
        if (spurity_cli_commands[i].bit & bit)
            return spurity_cli_commands[i].name;
    return "";
}

static spurity_status unknown(const spurity_cli_settings *settings, const char *name, size_t length,
                              spurity_error *error)
{
    char word[64], advice[160];
    takes list = {settings->command};
    snprintf(word, sizeof word, "%.*s", (int)(length < 60 ? length : 60), name);
    const char *command = command_name(settings->command);
    const spurity_cli_option *elsewhere = spurity_cli_option_find(name, length);
    if (elsewhere && !elsewhere->commands)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL,
                               "'--%s' is no option: it follows a file's name (FILE,%s=...)", word, word);
    if (elsewhere)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "'--%s' is an option of '%s', not of '%s'",
                               word, command_name(elsewhere->commands), command);
    const char *nearest = spurity_cli_nearest(word, name_taken, &list, spurity_cli_option_count);
    if (nearest && !strncmp(nearest, word, strlen(word)))
        snprintf(advice, sizeof advice, "options are spelt in full: did you mean '--%s'?", nearest);
    else if (nearest)
        snprintf(advice, sizeof advice, "did you mean '--%s'?", nearest);
    else
        snprintf(advice, sizeof advice, "'spurity help %s' lists them", command);
    return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, advice, "'--%s' is no option of '%s'", word, command);
}

static spurity_status short_option(const char *text, spurity_error *error)
{
    if (text[1] == ',')
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "standard input with settings is 'stdin,key=...'",
                               "'%.80s' is no option", text);
    return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL,
                           "options have two dashes and are spelt in full; a file of such a name is './NAME'",
                           "'%.80s' is no option", text);
}

/* ---- reading ------------------------------------------------------------------------------------- */

/* A value that begins with two dashes and a letter is an option whose neighbour forgot its own value. */
static bool looks_like_option(const char *text)
{
    return text[0] == '-' && text[1] == '-' && text[2] && !strchr("0123456789.", text[2]);
}

/* One "--name", "--name=value" or "--name value"; *used counts the arguments it took. */
static spurity_status long_option(spurity_cli_settings *settings, char **argument, const char *next, int *used,
                                  spurity_error *error)
{
    const char *name = argument[0] + 2;
    size_t length = strcspn(name, "=");
    const char *value = name[length] ? name + length + 1 : NULL;
    const spurity_cli_option *option = spurity_cli_option_find(name, length);
    if (!option || !(option->commands & settings->command))
        return unknown(settings, name, length, error);
    if (!option->argument && value)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "--%s takes no value", option->name);
    if (option->argument && !value) {
        if (!next || looks_like_option(next))
            return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "--%s needs a value (%s)", option->name,
                                   option->argument);
        value = next;
        *used = 2;
    }
    return spurity_cli_set(settings, option, -1, value ? value : "", error);
}

spurity_status spurity_cli_parse(spurity_cli_settings *settings, int argc, char **argv, spurity_error *error)
{
    bool only_operands = false;
    settings->operands = calloc((size_t)argc + 1, sizeof *settings->operands);
    if (!settings->operands)
        return spurity_report_memory(error);
    for (int i = 1, used; i < argc; i += used) {
        used = 1;
        char *text = argv[i];
        if (only_operands || text[0] != '-' || !strcmp(text, "-"))
            settings->operands[settings->operand_count++] = text;
        else if (!strcmp(text, "--"))
            only_operands = true;
        else if (text[1] != '-')
            return short_option(text, error);
        else if (long_option(settings, argv + i, i + 1 < argc ? argv[i + 1] : NULL, &used, error))
            return error->status;
    }
    return spurity_cli_bench_take(settings, error);
}
