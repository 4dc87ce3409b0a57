/* SPDX-License-Identifier: GPL-2.0-or-later */
/* --bench and --budget: what files say in place of options. */
#include <string.h>

#include "cli.h"

static const spurity_place nowhere = {0};

static const char *const chain_options[] = {"pad", "loss", "loss-uncertainty", "direct", "corrected"};
enum { CHAIN_OPTIONS = sizeof chain_options / sizeof *chain_options };

bool spurity_cli_is_of_chain(const char *name)
{
    for (size_t i = 0; i < CHAIN_OPTIONS; i++)
        if (!strcmp(chain_options[i], name))
            return true;
    return false;
}

/* Whether an option says over it: of the chain any one says over the whole, which would else be half of each. */
static bool is_overridden(const spurity_cli_settings *settings, size_t by_options, const char *name)
{
    for (size_t i = 0; i < by_options; i++) {
        const spurity_cli_said *said = &settings->said[i];
        if (said->file >= 0)
            continue;
        bool chain = spurity_cli_is_of_chain(name) && spurity_cli_is_of_chain(said->option->name);
        bool sum = !strcmp(name, "uncertainty") && !strcmp(said->option->name, "budget");
        if (chain || sum || !strcmp(said->option->name, name))
            return true;
    }
    return false;
}

/* What is of no use to this command is read all the same: a bench file is right or wrong, whoever takes it. */
static spurity_status try_out(const spurity_cli_option *option, const char *value, spurity_error *error)
{
    spurity_cli_settings scratch;
    spurity_cli_settings_init(&scratch, SPURITY_COMMAND_PLAN);
    spurity_status status = spurity_cli_set(&scratch, option, -1, value, error);
    spurity_cli_settings_release(&scratch);
    return status;
}

static spurity_status set(spurity_cli_settings *settings, const spurity_bench_setting *setting, spurity_error *error)
{
    const spurity_cli_option *option = spurity_cli_option_find(setting->name, strlen(setting->name));
    if (!option)
        return SPURITY_OK;
    if (!strcmp(setting->name, "loss") && spurity_cli_readable(setting->value, "loss file", error))
        return error->status;
    if (!(option->commands & settings->command))
        return try_out(option, setting->value, error);
    spurity_status status = spurity_cli_set(settings, option, -1, setting->value, error);
    if (!status)
        settings->said[settings->said_count - 1].of_bench = true;
    return status;
}

/* The setter knows the option; where the value stands, and what the file calls it, is told here. */
static spurity_status take(spurity_cli_settings *settings, const spurity_bench_setting *setting, spurity_error *error)
{
    spurity_error own = {0};
    spurity_status status = set(settings, setting, &own);
    if (status == SPURITY_INVALID)
        return spurity_reportf(error, status, setting->place, own.expected, own.advice, "%.150s (key '%s')", own.found,
                               setting->key);
    if (status)
        *error = own;
    return status;
}

static spurity_status take_bench(spurity_cli_settings *settings, spurity_error *error)
{
    size_t by_options = settings->said_count;
    if (spurity_bench_load(settings->bench, &settings->bench_read, error))
        return error->status;
    for (size_t i = 0; i < spurity_bench_setting_count(settings->bench_read); i++) {
        const spurity_bench_setting *setting = spurity_bench_setting_at(settings->bench_read, i);
        if (!is_overridden(settings, by_options, setting->name) && take(settings, setting, error))
            return error->status;
    }
    return SPURITY_OK;
}

static void use(spurity_cli_settings *settings, const char *from)
{
    settings->budget_from = from;
    spurity_test_point_use_budget(&settings->point, &settings->budget_read);
    if (settings->budget_read.reference_ppm > 0 && !(settings->point.reference_ppm > 0))
        settings->point.reference_ppm = settings->budget_read.reference_ppm;
}

spurity_status spurity_cli_bench_take(spurity_cli_settings *settings, spurity_error *error)
{
    bool sum = spurity_cli_was_said(settings, "uncertainty", -1);
    if (sum && settings->budget)
        return spurity_report(error, SPURITY_INVALID, nowhere, "--uncertainty together with --budget", NULL,
                              "say either the lump sum or the budget it would come from");
    if (settings->bench && take_bench(settings, error))
        return error->status;
    const spurity_budget *budget = settings->bench_read ? spurity_bench_budget(settings->bench_read) : NULL;
    if (settings->budget) {
        if (spurity_cli_readable(settings->budget, "budget file", error) ||
            spurity_budget_load(settings->budget, &settings->budget_read, error))
            return error->status;
        use(settings, "budget file");
    } else if (budget && !sum) {
        settings->budget_read = *budget;
        use(settings, "bench file");
    }
    return SPURITY_OK;
}
