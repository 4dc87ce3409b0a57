/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "cli.h"

void spurity_cli_rules_ids(char *text, size_t size)
{
    size_t used = 0;
    text[0] = 0;
    for (size_t i = 0; i < spurity_rules_builtin_count() && used < size; i++)
        used += (size_t)snprintf(text + used, size - used, "%s%s", i ? ", " : "", spurity_rules_builtin_id(i));
}

static spurity_status rules_named(const spurity_cli_settings *settings, spurity_error *error)
{
    char ids[200], advice[280];
    if (settings->rules_count)
        return SPURITY_OK;
    spurity_cli_rules_ids(ids, sizeof ids);
    snprintf(advice, sizeof advice, "--rules takes a file or one of: %s; 'spurity measure' needs none", ids);
    return spurity_report(error, SPURITY_INVALID, (spurity_place){0}, "no rules to check against", NULL, advice);
}

int spurity_cli_check(int argc, char **argv)
{
    spurity_cli_settings settings;
    spurity_error error = {0};
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_CHECK);
    int status = spurity_cli_parse(&settings, argc, argv, &error) || rules_named(&settings, &error)
                     ? spurity_cli_fail(&error)
                     : spurity_cli_run(&settings);
    spurity_cli_settings_release(&settings);
    return status;
}
