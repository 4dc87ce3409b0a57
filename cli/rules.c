/* SPDX-License-Identifier: GPL-2.0-or-later */
/* spurity rules: the known rule sets, a set in plain words, what it allows one transmitter, and the lint. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rules.h"

const char spurity_cli_no_advice[] = "No legal advice: local rules and accredited laboratories decide.";

void spurity_cli_wrap(const char *text, int column)
{
    enum { WIDTH = 100 };
    int at = column;
    for (const char *word = text + strspn(text, " "); *word;) {
        int length = (int)strcspn(word, " "), wide = 0;
        for (int i = 0; i < length; i++)
            wide += (word[i] & 0xC0) != 0x80; /* characters of UTF-8 */
        if (at > column && at + 1 + wide > WIDTH) {
            printf("\n%*s", column, "");
            at = column;
        }
        if (at > column)
            putchar(' ');
        for (int i = 0; i < length; i++)
            putchar(word[i] == SPURITY_CLI_TIE ? ' ' : word[i]);
        at += wide + (at > column);
        word += length + (int)strspn(word + length, " ");
    }
    printf("\n");
}

/* ---- reading the question ------------------------------------------------------------------------ */

spurity_status spurity_cli_rules_bad(spurity_error *error, const char *found, const char *expected)
{
    spurity_place nowhere = {0};
    return spurity_report(error, SPURITY_INVALID, nowhere, found, expected, "'spurity help rules' tells more");
}

/** PEP and mean power are one for angle modulation; otherwise each stays as told. */
static spurity_status take_power(const spurity_test_point *point, spurity_conditions *conditions, spurity_error *error)
{
    bool angle = spurity_emission_is_angle_modulated(point->emission), told = point->power_low_w > 0.0;
    if (told && point->power_high_w > point->power_low_w)
        return spurity_cli_rules_bad(error, "a range for --power", "one power");
    if (told && (point->power_is_pep || angle))
        conditions->pep_w = point->power_low_w;
    if (told && (!point->power_is_pep || angle))
        conditions->mean_power_w = conditions->carrier_power_w = point->power_low_w;
    return SPURITY_OK;
}

static spurity_status take_conditions(const spurity_test_point *point, spurity_cli_question *question,
                                      spurity_error *error)
{
    spurity_conditions *conditions = &question->asked.conditions;
    conditions->carrier_hz = point->carrier_hz;
    conditions->bandwidth_hz = point->bandwidth_hz;
    conditions->emission = point->emission;
    conditions->station = point->station;
    conditions->audio_filter = point->audio_filter;
    conditions->antenna_gain_dbd = point->antenna_gain_dbd;
    conditions->installed = point->installed;
    conditions->marketed = point->marketed;
    conditions->built = point->built;
    bool told = point->bandwidth_hz > 0.0;
    question->bandwidth_assumed = !told && !point->emission;
    conditions->necessary_bandwidth_hz =
        told ? point->bandwidth_hz : spurity_necessary_bandwidth(conditions->emission, conditions->carrier_hz, NULL);
    return take_power(point, conditions, error);
}

/** "293.88M,+12.5k": absolute, or from the carrier where a sign stands before it. */
static spurity_status take_places(const char *rest, spurity_cli_question *question, spurity_error *error)
{
    spurity_place nowhere = {0};
    while (rest) {
        char text[60];
        size_t length = strcspn(rest, ",");
        double hz = 0.0;
        if (!length || length >= sizeof text || question->asked.place_count == SPURITY_CLI_PLACES)
            return spurity_cli_rules_bad(error, "an empty or overlong entry for --at",
                                         "up to 64 frequencies such as 293.88M,+12.5k");
        memcpy(text, rest, length);
        text[length] = '\0';
        spurity_status status = spurity_parse_frequency(text, "--at", nowhere, &hz, error);
        if (status)
            return status;
        bool offset = text[0] == '+' || text[0] == '-';
        if (offset && !(question->asked.conditions.carrier_hz > 0.0))
            return spurity_cli_rules_bad(error, "an offset for --at without a carrier", "--carrier beside it");
        question->places[question->asked.place_count++] = offset ? question->asked.conditions.carrier_hz + hz : hz;
        rest = rest[length] == ',' ? rest + length + 1 : NULL;
    }
    return SPURITY_OK;
}

static spurity_status take_question(const spurity_cli_settings *settings, spurity_cli_question *question,
                                    spurity_error *error)
{
    question->set = settings->operand_count ? settings->operands[0] : NULL;
    spurity_rules_question_init(&question->asked);
    question->asked.clause = settings->operand_count > 1 ? settings->operands[1] : NULL;
    question->asked.place_hz = question->places;
    question->lint = settings->lint;
    question->template = settings->template;
    for (size_t i = 0; i < settings->said_count; i++) {
        const char *name = settings->said[i].option->name;
        question->about_transmitter |=
            strcmp(name, "lint") && strcmp(name, "json") && strcmp(name, "plot") && strcmp(name, "template");
    }
    if (settings->operand_count > 2)
        return spurity_cli_rules_bad(error, "more than a rule set and a clause",
                                     "one rule set, and one of its clauses");
    if (question->template && settings->said_count + settings->operand_count > 1)
        return spurity_cli_rules_bad(error, "--template beside something else", "--template alone");
    if (question->lint && question->set)
        return spurity_cli_rules_bad(error, "--lint beside a rule set", "--lint FILE alone");
    bool output = settings->json || settings->plot;
    if (question->lint && (question->about_transmitter || output))
        return spurity_cli_rules_bad(error, "--lint beside other options", "--lint FILE alone");
    if ((question->about_transmitter || output) && !question->set)
        return spurity_cli_rules_bad(error, "no rule set",
                                     "a rule set first, as 'spurity rules us-amateur --carrier 146.94M'");
    spurity_status status = take_conditions(&settings->point, question, error);
    return status ? status : take_places(settings->at, question, error);
}

/** A kind of station the file's clauses do not know would settle nothing. */
static spurity_status check_station(const spurity_rules *rules, const char *station, spurity_error *error)
{
    char allowed[200], found[100];
    if (!station || spurity_rules_knows_station(rules, station, allowed, sizeof allowed) || !allowed[0])
        return SPURITY_OK;
    snprintf(found, sizeof found, "--station '%.60s'", station);
    return spurity_cli_rules_bad(error, found, allowed);
}

/* ---- outputs ------------------------------------------------------------------------------------- */

static spurity_status write_json(const spurity_rules *rules, const spurity_cli_question *question, const char *path,
                                 spurity_error *error)
{
    char *text = NULL;
    size_t size = 0;
    spurity_status status = spurity_rules_json(rules, &question->asked, &text, &size, error);
    if (!status)
        status = spurity_cli_write(path, text, size, error);
    free(text);
    return status;
}

static spurity_status write_picture(const spurity_rules *rules, const spurity_cli_question *question, const char *path,
                                    spurity_error *error)
{
    spurity_bytes picture = {0};
    spurity_status status =
        spurity_output_limits(rules, &question->asked.conditions, spurity_cli_picture_kind(path), &picture, error);
    if (!status)
        status = spurity_cli_write(path, picture.data, picture.size, error);
    spurity_bytes_release(&picture);
    return status;
}

/* ---- the command --------------------------------------------------------------------------------- */

static bool goes_to_standard_output(const char *path)
{
    return path && !strcmp(path, "-");
}

static spurity_status answer(const spurity_rules *rules, const spurity_cli_question *question,
                             const spurity_cli_settings *settings, spurity_error *error)
{
    spurity_status status = spurity_cli_rules_check_clause(rules, &question->asked, error);
    if (!status)
        status = check_station(rules, question->asked.conditions.station, error);
    if (!status && settings->json)
        status = write_json(rules, question, settings->json, error);
    bool silent = goes_to_standard_output(settings->json) || goes_to_standard_output(settings->plot);
    if (!status && !silent && question->about_transmitter)
        status = spurity_cli_rules_answer(rules, question, error);
    else if (!status && !silent)
        spurity_cli_rules_tell(rules, question);
    if (!status && settings->plot) /* last: without gnuplot the rest is there all the same */
        status = write_picture(rules, question, settings->plot, error);
    return status;
}

static spurity_status run(const spurity_cli_question *question, const spurity_cli_settings *settings,
                          spurity_error *error)
{
    spurity_rules *rules = NULL;
    if (question->template) {
        spurity_cli_rules_template();
        return SPURITY_OK;
    }
    if (question->lint)
        return spurity_cli_rules_lint(question->lint, error);
    if (!question->set)
        return spurity_cli_rules_list(error);
    spurity_status status = spurity_cli_outputs_check(settings, error);
    if (!status)
        status = spurity_rules_load(question->set, &rules, error);
    if (!status)
        status = answer(rules, question, settings, error);
    spurity_rules_free(rules);
    return status;
}

int spurity_cli_rules(int argc, char **argv)
{
    spurity_cli_settings settings;
    spurity_cli_question question = {0};
    spurity_error error = {0};
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_RULES);
    spurity_status status = spurity_cli_parse(&settings, argc, argv, &error);
    if (!status)
        status = take_question(&settings, &question, &error);
    settings.rules_count = question.set ? 1 : 0; /* an input no output may overwrite */
    settings.rules[0] = question.set;
    if (!status)
        status = run(&question, &settings, &error);
    int exit_status = status ? spurity_cli_fail(&error) : SPURITY_EXIT_PASS;
    spurity_cli_settings_release(&settings);
    return exit_status;
}
