/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The skeleton of a session file: what was planned, with a place for what is found out at the bench (docs/session.md).
 * Every text is a double-quoted scalar (YAML 1.2, 7.3.1), so that none can be taken for anything else. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

typedef struct sheet {
    spurity_buffer out;
    const spurity_plan_report *report;
    const spurity_plan *plan;
} sheet;

static void put(sheet *at, const char *text)
{
    spurity_buffer_text(&at->out, text);
}

static void put_quoted(sheet *at, const char *words)
{
    enum { CHARACTERS = 1000 };
    char *plain = malloc(4 * CHARACTERS + 4);
    if (!plain) {
        at->out.failed = true;
        return;
    }
    put(at, "\"");
    spurity_plain(plain, 4 * CHARACTERS + 4, words, CHARACTERS);
    for (const char *byte = plain; *byte; byte++) {
        if (*byte == '"' || *byte == '\\')
            put(at, "\\");
        spurity_buffer_add(&at->out, byte, 1);
    }
    put(at, "\"");
    free(plain);
}

/* `before` holds indent and key. */
static void put_text(sheet *at, const char *before, const char *words)
{
    put(at, before);
    put_quoted(at, words);
    put(at, "\n");
}

static void put_frequency(sheet *at, const char *before, double hz)
{
    char words[48];
    if (isfinite(hz))
        put_text(at, before, spurity_format_frequency(words, sizeof words, hz, hz >= 1e9 ? 9 : 6));
}

/* ---- head ------------------------------------------------------------------------------------------------------- */

static void put_comment(sheet *at, const char *words)
{
    char plain[2048];
    put(at, "# ");
    put(at, spurity_plain(plain, sizeof plain, words, 900));
    put(at, "\n");
}

static void put_line(sheet *at, const char *const *words, size_t count)
{
    size_t column = 0;
    put(at, "#\n#  ");
    for (size_t i = 0; i < count; i++) {
        if (column > 80) {
            put(at, " \\\n#     ");
            column = 0;
        }
        put(at, " ");
        put(at, words[i]);
        column += strlen(words[i]) + 1;
    }
    put(at, "\n#\n");
}

static void put_check(sheet *at)
{
    if (!at->report->check_count)
        return;
    put(at, "#\n# Once every file is there, this is the command line that judges them:\n");
    put_line(at, at->report->check, at->report->check_count);
    for (size_t i = 0; spurity_output_plan_hint(at->report, i); i++)
        put_comment(at, spurity_output_plan_hint(at->report, i));
    if (!at->report->keyed_count)
        return;
    put(at, "# Where the files do not tell their RBW and detector, this line does:\n");
    put_line(at, at->report->keyed, at->report->keyed_count);
}

static void put_head(sheet *at)
{
    char words[1000];
    put(at, "# A bench session, to be filled in at the bench; docs/session.md tells its form.\n");
    snprintf(words, sizeof words, "Planned by %.40s. %.800s", spurity_result_tool(), spurity_plan_headline(at->plan));
    put_comment(at, words);
    put_check(at);
    put(at, "format: spurity-session\n"
            "version: 1\n"
            "session:\n"
            "  date: null        # the day, as 2003-01-01\n"
            "  operator: null    # who keyed the set\n"
            "  instrument: null  # which one, and when it was last compared with something trusted\n"
            "set:\n"
            "  label: null       # as the pool's list calls it\n"
            "  serial: null\n");
}

/* ---- the point --------------------------------------------------------------------------------------------------- */

static bool is_chain(const char *name)
{
    return !strcmp(name, "pad") || !strcmp(name, "loss") || !strcmp(name, "direct");
}

static void put_rules(sheet *at)
{
    put(at, "    rules:\n");
    for (size_t i = 0; i < at->report->said_count; i++)
        if (!strcmp(at->report->said[i].name, "rules"))
            put_text(at, "      - ", at->report->said[i].value);
}

static void put_options(sheet *at)
{
    put(at, "    options:  # as they were given to the plan, without their dashes\n");
    for (size_t i = 0; i < at->report->said_count; i++) {
        const spurity_setting *one = &at->report->said[i];
        char before[80];
        if (is_chain(one->name) || !strcmp(one->name, "rules"))
            continue;
        snprintf(before, sizeof before, "      %.60s: ", one->name);
        put_text(at, before, one->value);
    }
}

static void put_proposed(sheet *at)
{
    put(at, "    chain:  # in order from the set, as planned: write down what is really there\n");
    for (size_t i = 0; i < spurity_plan_attenuator_count(at->plan); i++) {
        const spurity_plan_attenuator *one = spurity_plan_attenuator_at(at->plan, i);
        char words[120], db[40], watts[48];
        if (isfinite(one->rating_w))
            snprintf(words, sizeof words, "%s dB,%s", spurity_format_db(db, sizeof db, one->db),
                     spurity_format_power(watts, sizeof watts, one->rating_w));
        else
            snprintf(words, sizeof words, "%s dB", spurity_format_db(db, sizeof db, one->db));
        put_text(at, "      - pad: ", words);
    }
}

static void put_chain(sheet *at)
{
    bool headed = false;
    for (size_t i = 0; i < at->report->said_count; i++) {
        const spurity_setting *one = &at->report->said[i];
        char before[40];
        if (!is_chain(one->name))
            continue;
        if (!headed)
            put(at, "    chain:  # in order from the set\n");
        headed = true;
        if (!strcmp(one->name, "direct")) {
            put(at, "      - direct: true\n");
            continue;
        }
        snprintf(before, sizeof before, "      - %.8s: ", one->name);
        put_text(at, before, one->value);
    }
    if (!headed && spurity_plan_attenuator_count(at->plan))
        put_proposed(at);
}

static void put_readings(sheet *at)
{
    put(at, "    readings:\n"
            "      power: null         # by the meter, in place of the power planned for: 4.6 W\n"
            "      temperature: null   # of the set after the last sweep, if it matters\n"
            "      remarks: null\n");
}

/* ---- its files --------------------------------------------------------------------------------------------------- */

static void put_extras(sheet *at, const char *filter, double more_pad_db, const char *why)
{
    char db[48];
    if (filter[0])
        put_text(at, "        filter: ", filter);
    if (more_pad_db > 0) {
        put(at, "        more_pad: \"");
        put(at, spurity_format_db(db, sizeof db, more_pad_db));
        put(at, " dB\"\n");
    }
    put_text(at, "        why: ", why);
    put(at, "        done: false\n");
}

static void put_sweep(sheet *at, size_t index)
{
    const spurity_plan_sweep *one = spurity_plan_sweep_at(at->plan, index);
    char words[64];
    put_text(at, "      - file: ", spurity_output_plan_file(at->plan, false, index, words, sizeof words));
    put_text(at, "        purpose: ", spurity_plan_purpose_name(one->purpose));
    put_frequency(at, "        start: ", one->start_hz);
    put_frequency(at, "        stop: ", one->stop_hz);
    put_frequency(at, "        rbw: ", one->rbw_hz);
    snprintf(words, sizeof words, "        points: %zu\n", one->points);
    put(at, words);
    put_text(at, "        detector: ", spurity_detector_name(one->detector));
    if (one->sweeps > 1 && one->sweeps < 1e6) {
        snprintf(words, sizeof words, "        sweeps: %.0f\n", one->sweeps);
        put(at, words);
    }
    put_extras(at, one->filter, one->more_pad_db, one->why);
}

static void put_capture(sheet *at, size_t index)
{
    const spurity_plan_capture *one = spurity_plan_capture_at(at->plan, index);
    char words[64];
    put_text(at, "      - file: ", spurity_output_plan_file(at->plan, true, index, words, sizeof words));
    put_text(at, "        purpose: ", spurity_plan_purpose_name(one->purpose));
    put_frequency(at, "        center: ", one->center_hz);
    put_frequency(at, "        rate: ", one->rate_hz);
    put_frequency(at, "        rbw: ", one->rbw_hz);
    if (isfinite(one->seconds) && one->seconds < 1e6) {
        snprintf(words, sizeof words, "        milliseconds: %.0f\n", ceil(1e3 * one->seconds));
        put(at, words);
    }
    put_extras(at, one->filter, 0, one->why);
}

static void put_files(sheet *at)
{
    size_t sweeps = spurity_plan_sweep_count(at->plan), captures = spurity_plan_capture_count(at->plan);
    put(at, sweeps + captures ? "    files:\n" : "    files: []\n");
    for (size_t i = 0; i < sweeps; i++)
        put_sweep(at, i);
    for (size_t i = 0; i < captures; i++)
        put_capture(at, i);
}

static void put_cautions(sheet *at)
{
    put(at, "cautions:\n");
    for (size_t i = 0; i < spurity_plan_caution_count(at->plan); i++)
        put_text(at, "  - ", spurity_plan_caution_at(at->plan, i));
}

spurity_status spurity_output_session(const spurity_plan_report *report, spurity_bytes *out, spurity_error *error)
{
    sheet at = {.report = report, .plan = report->plan};
    spurity_plan_figures figures;
    *out = (spurity_bytes){0};
    spurity_plan_figures_of(report->plan, &figures);
    put_head(&at);
    put(&at, "points:\n");
    put_frequency(&at, "  - name: ", figures.carrier_hz);
    put_rules(&at);
    put_options(&at);
    put_chain(&at);
    put_readings(&at);
    put_files(&at);
    put_cautions(&at);
    return spurity_buffer_give(&at.out, out, error);
}
