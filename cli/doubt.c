/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whose each line is: the overlap table that check judges by, shown. */
#include <stdlib.h>
#include <string.h>

#include "cli.h"

typedef struct job {
    spurity_cli_settings *settings;
    spurity_cli_progress progress;
    spurity_notes *notes; /* of what is read before measuring */
    spurity_measurement *measurement;
} job;

static spurity_status work(job *run, spurity_error *error)
{
    run->notes = spurity_notes_create();
    if (!run->notes)
        return spurity_report_memory(error);
    if (spurity_cli_files_open(run->settings, run->notes, &run->progress.watch, error) ||
        spurity_cli_outputs_check(run->settings, error) ||
        spurity_measure(&run->settings->point, &run->progress.watch, &run->measurement, error))
        return error->status;
    if (spurity_notes_merge(spurity_measurement_notes(run->measurement), run->notes))
        return spurity_report_memory(error);
    return SPURITY_OK;
}

static spurity_status write_json(const job *run, spurity_error *error)
{
    spurity_cli_understood understood = {0};
    spurity_result *result = NULL;
    char *text = NULL;
    size_t size = 0;
    spurity_status status = spurity_cli_understood_create(run->settings, run->measurement, &understood, error);
    if (!status)
        status = spurity_result_create(run->measurement, NULL, understood.items, understood.count, &result, error);
    if (!status)
        status = spurity_result_doubt_json(result, run->measurement, &text, &size, error);
    if (!status)
        status = spurity_cli_write(run->settings->json, text, size, error);
    free(text);
    spurity_result_free(result);
    spurity_cli_understood_release(&understood);
    return status;
}

static spurity_status write_text(const job *run, spurity_error *error)
{
    spurity_bytes text = {0};
    spurity_text_options options = {.colour = spurity_cli_colour(), .columns = spurity_cli_columns()};
    spurity_status status = spurity_output_doubt(run->measurement, &options, &text, error);
    if (!status)
        status = spurity_cli_write("-", text.data, text.size, error);
    spurity_bytes_release(&text);
    return status;
}

static int run_doubt(spurity_cli_settings *settings)
{
    job run = {.settings = settings};
    spurity_error error = {0}, writing = {0}, more = {0};
    int status = SPURITY_EXIT_PASS;
    spurity_cli_progress_start(&run.progress);
    bool failed = work(&run, &error) != SPURITY_OK;
    spurity_cli_progress_end(&run.progress);
    const char *json = settings->json;
    if (failed)
        status = spurity_cli_fail(&error);
    else {
        if (json && write_json(&run, &writing))
            status = spurity_cli_fail(&writing);
        if ((!json || strcmp(json, "-")) && !spurity_cli_signal_caught() && write_text(&run, &more))
            status = spurity_cli_fail(&more);
    }
    spurity_measurement_free(run.measurement);
    spurity_notes_free(run.notes);
    return status;
}

int spurity_cli_doubt(int argc, char **argv)
{
    spurity_cli_settings settings;
    spurity_error error = {0};
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_DOUBT);
    int status = spurity_cli_parse(&settings, argc, argv, &error) ? spurity_cli_fail(&error) : run_doubt(&settings);
    spurity_cli_settings_release(&settings);
    return status;
}
