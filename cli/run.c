/* SPDX-License-Identifier: GPL-2.0-or-later */
/* measure and check: from settings to results. */
#include <stdlib.h>
#include <string.h>

#include "cli.h"

typedef struct job {
    spurity_cli_settings *settings;
    spurity_cli_progress progress;
    spurity_notes *notes; /* of what is read before measuring */
    size_t rules_count;
    spurity_rules *rules[SPURITY_CLI_RULES];
    spurity_measurement *measurement;
    spurity_verdict *verdict;
    spurity_result *result;
} job;

spurity_status spurity_cli_rules_load(const spurity_cli_settings *settings, spurity_rules *rules[SPURITY_CLI_RULES],
                                      size_t *count, spurity_error *error)
{
    for (size_t i = 0; i < settings->rules_count; i++) {
        const char *name = settings->rules[i];
        size_t length = strlen(name);
        bool is_file = strchr(name, '/') || (length > 5 && !strcmp(name + length - 5, ".yaml"));
        if (is_file && spurity_cli_readable(name, "rule file", error))
            return error->status;
        if (spurity_rules_load(name, &rules[i], error))
            return error->status;
        *count = i + 1;
    }
    return SPURITY_OK;
}

static spurity_status prepare(job *run, spurity_error *error)
{
    run->notes = spurity_notes_create();
    if (!run->notes)
        return spurity_report_memory(error);
    if (spurity_cli_files_open(run->settings, run->notes, &run->progress.watch, error) ||
        spurity_cli_outputs_check(run->settings, error) ||
        spurity_cli_rules_load(run->settings, run->rules, &run->rules_count, error))
        return error->status;
    return SPURITY_OK;
}

static spurity_status work(job *run, spurity_error *error)
{
    const spurity_watch *watch = &run->progress.watch;
    if (spurity_measure(&run->settings->point, watch, &run->measurement, error))
        return error->status;
    if (spurity_notes_merge(spurity_measurement_notes(run->measurement), run->notes) || spurity_notes_lost(run->notes))
        return spurity_report_memory(error);
    const spurity_rules *const *rules = (const spurity_rules *const *)run->rules;
    if (run->rules_count && spurity_judge(run->measurement, rules, run->rules_count, watch, &run->verdict, error))
        return error->status;
    return SPURITY_OK;
}

static spurity_status summarise(job *run, spurity_error *error)
{
    spurity_cli_understood understood;
    spurity_status status = spurity_cli_understood_create(run->settings, run->measurement, &understood, error);
    if (!status)
        status = spurity_result_create(run->measurement, run->verdict, understood.items, understood.count, &run->result,
                                       error);
    spurity_cli_understood_release(&understood);
    return status;
}

/* ---- outputs: each on its own, so that one that fails takes no other with it --------------------- */

static spurity_status write_json(const job *run, spurity_error *error)
{
    char *text = NULL;
    size_t size = 0;
    spurity_status status = spurity_result_json(run->result, &text, &size, error);
    if (!status)
        status = spurity_cli_write(run->settings->json, text, size, error);
    free(text);
    return status;
}

static spurity_status write_picture(const job *run, spurity_error *error)
{
    const char *path = run->settings->plot;
    spurity_bytes picture = {0};
    spurity_status status = spurity_output_picture(run->result, spurity_cli_picture_kind(path), &picture, error);
    if (!status)
        status = spurity_cli_write(path, picture.data, picture.size, error);
    spurity_bytes_release(&picture);
    return status;
}

static spurity_status write_report(const job *run, spurity_error *error)
{
    spurity_bytes report = {0};
    spurity_status status = spurity_output_report(run->result, &report, error);
    if (!status)
        status = spurity_cli_write(run->settings->report, report.data, report.size, error);
    spurity_bytes_release(&report);
    return status;
}

static spurity_status write_text(const job *run, spurity_error *error)
{
    spurity_bytes text = {0};
    spurity_text_options options = {.colour = spurity_cli_colour(), .columns = spurity_cli_columns()};
    spurity_status status = spurity_output_text(run->result, &options, &text, error);
    if (!status)
        status = spurity_cli_write("-", text.data, text.size, error);
    spurity_bytes_release(&text);
    return status;
}

static int write_outputs(const job *run)
{
    const char *json = run->settings->json, *plot = run->settings->plot, *report = run->settings->report;
    bool taken = (json && !strcmp(json, "-")) || (plot && !strcmp(plot, "-")) || (report && !strcmp(report, "-"));
    struct {
        bool wanted;
        spurity_status (*write)(const struct job *, spurity_error *);
    } outputs[] = {{json != NULL, write_json},
                   {plot != NULL, write_picture},
                   {report != NULL, write_report},
                   {!taken, write_text}};
    int worst = SPURITY_EXIT_PASS;
    for (size_t i = 0; i < sizeof outputs / sizeof *outputs; i++) {
        spurity_error error = {0};
        if (!outputs[i].wanted || spurity_cli_signal_caught() || !outputs[i].write(run, &error))
            continue;
        spurity_cli_fail(&error);
        worst = SPURITY_EXIT_MACHINE;
    }
    return worst;
}

static int exit_of(const spurity_verdict *verdict)
{
    if (!verdict)
        return SPURITY_EXIT_PASS;
    switch (spurity_verdict_outcome(verdict)) {
    case SPURITY_OUTCOME_PASS:
        return SPURITY_EXIT_PASS;
    case SPURITY_OUTCOME_FAIL:
        return SPURITY_EXIT_FAIL;
    default:
        return SPURITY_EXIT_UNDECIDED;
    }
}

static void release(job *run)
{
    spurity_result_free(run->result);
    spurity_verdict_free(run->verdict);
    spurity_measurement_free(run->measurement);
    for (size_t i = 0; i < run->rules_count; i++)
        spurity_rules_free(run->rules[i]);
    spurity_notes_free(run->notes);
}

int spurity_cli_run(spurity_cli_settings *settings)
{
    job run = {.settings = settings};
    spurity_error error = {0};
    int status;
    spurity_cli_progress_start(&run.progress);
    bool failed = prepare(&run, &error) || work(&run, &error) || summarise(&run, &error);
    spurity_cli_progress_end(&run.progress);
    if (failed)
        status = spurity_cli_fail(&error);
    else {
        status = write_outputs(&run);
        status = status ? status : exit_of(run.verdict);
    }
    release(&run);
    return status;
}
