/* SPDX-License-Identifier: GPL-2.0-or-later */
/* plan: from options to a question, from the answer to text, JSON and a session file. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../lib/error/grow.h"
#include "cli.h"

static const spurity_place nowhere = {0};

/* What a filter's loss is tabled in, by the command line for afterwards. */
static const char filter_table[] = "filter-loss.csv";

typedef struct word_list {
    char **words; /* owned */
    size_t count, room;
    bool failed; /* memory ran out */
} word_list;

typedef struct job {
    spurity_cli_settings *settings;
    spurity_cli_progress progress;
    spurity_notes *notes; /* of loss files */
    size_t rules_count;
    spurity_rules *rules[SPURITY_CLI_RULES];
    spurity_chain *chain; /* NULL: nothing was said */
    spurity_plan *plan;
    spurity_cli_understood understood;
    size_t said_count;
    spurity_setting *said;
    word_list check, keyed; /* keyed: with RBW and detector of every file after its name */
    spurity_plan_report report;
} job;

/* ---- the question -------------------------------------------------------------------------------------------------
 */

static spurity_status bad(spurity_error *error, const char *found, const char *advice)
{
    return spurity_report(error, SPURITY_INVALID, nowhere, found, NULL, advice);
}

/* Everything that is missing at once, each with its form. */
static spurity_status nothing_missing(const spurity_cli_settings *settings, spurity_error *error)
{
    const spurity_test_point *point = &settings->point;
    char found[120] = "", ids[200], advice[270];
    const char *missing[3];
    size_t count = 0;
    if (!(point->carrier_hz > 0))
        missing[count++] = "--carrier";
    if (!(point->power_high_w > 0))
        missing[count++] = "--power";
    if (!settings->rules_count)
        missing[count++] = "--rules";
    if (!count)
        return SPURITY_OK;
    for (size_t i = 0, used = 0; i < count; i++)
        used += (size_t)snprintf(found + used, sizeof found - used, "%s%s",
                                 i == 0          ? ""
                                 : i + 1 < count ? ", "
                                                 : " and ",
                                 missing[i]);
    size_t used = strlen(found);
    snprintf(found + used, sizeof found - used, " not said");
    spurity_cli_rules_ids(ids, sizeof ids);
    if (settings->rules_count)
        snprintf(advice, sizeof advice, "a plan needs all three: --carrier 146.94M --power 5W --rules us-amateur");
    else
        snprintf(advice, sizeof advice, "--rules takes a file or one of: %s", ids);
    return bad(error, found, advice);
}

static spurity_status sensible(const spurity_cli_settings *settings, spurity_error *error)
{
    char found[160];
    if (settings->operand_count) {
        snprintf(found, sizeof found, "'%.100s': a plan reads no sweep", settings->operands[0]);
        return bad(error, found, "'spurity check' judges files; a loss table is --loss FILE, a rule file --rules FILE");
    }
    if (spurity_cli_was_said(settings, "loss-uncertainty", -1) && !spurity_cli_has_loss(&settings->shared))
        return bad(error, "--loss-uncertainty without a loss", "add --loss FILE, or --pad DB,UNCERTAINTY");
    return nothing_missing(settings, error);
}

static spurity_status prepare(job *run, spurity_error *error)
{
    spurity_cli_settings *settings = run->settings;
    run->notes = spurity_notes_create();
    if (!run->notes)
        return spurity_report_memory(error);
    if (sensible(settings, error) || spurity_cli_outputs_check(settings, error) ||
        spurity_cli_rules_load(settings, run->rules, &run->rules_count, error))
        return error->status;
    if (settings->shared.chain == SPURITY_CHAIN_UNSTATED)
        return SPURITY_OK;
    spurity_status status =
        spurity_cli_chain_build(&settings->shared, run->notes, &run->progress.watch, &run->chain, error);
    return !status && spurity_notes_lost(run->notes) ? spurity_report_memory(error) : status;
}

static spurity_status work(job *run, spurity_error *error)
{
    spurity_plan_question question = run->settings->plan;
    question.point = &run->settings->point;
    question.second_harmonic_intercept_dbm = question.point->second_harmonic_intercept_dbm;
    question.third_order_intercept_dbm = question.point->third_order_intercept_dbm;
    question.rules = (const spurity_rules *const *)run->rules;
    question.rules_count = run->rules_count;
    question.chain = run->chain;
    if (spurity_cli_was_said(run->settings, "rate", -1))
        question.rate_hz = run->settings->shared.read.rate_hz;
    return spurity_plan_create(&question, &run->progress.watch, &run->plan, error);
}

/* ---- the command line for afterwards ------------------------------------------------------------------------------
 */

/* Takes `word` over. */
static void add_word(word_list *list, char *word)
{
    char **words = word ? spurity_grow(list->words, list->count, &list->room, sizeof *words) : NULL;
    if (!words) {
        list->failed = true;
        free(word);
        return;
    }
    list->words = words;
    list->words[list->count++] = word;
}

/* What a terminal may obey rather than show: C0 and DEL; C1, and the marks and overrides of direction, in UTF-8. */
static bool is_obeyed(const unsigned char *at)
{
    return at[0] < 0x20 || at[0] == 0x7F || (at[0] == 0xC2 && at[1] >= 0x80 && at[1] < 0xA0) ||
           (at[0] == 0xE2 && (at[1] == 0x80 || at[1] == 0x81));
}

/* As a POSIX shell takes it: bare where that is safe, else within '...'; what a terminal would obey only $'...' can
 * say. */
static char *quoted(const char *text)
{
    static const char safe[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./:=,+@%-";
    bool obeyed = false, bare = *text && !text[strspn(text, safe)];
    for (const char *at = text; *at; at++)
        obeyed = obeyed || is_obeyed((const unsigned char *)at);
    char *word = malloc(4 * strlen(text) + 4), *to = word; /* a byte becomes four at most */
    if (!word)
        return NULL;
    if (!bare)
        to += sprintf(to, obeyed ? "$'" : "'");
    for (const char *at = text; *at; at++) {
        unsigned char byte = (unsigned char)*at;
        if (obeyed && (byte < 0x20 || byte >= 0x7F))
            to += sprintf(to, "\\%03o", (unsigned)byte);
        else if (obeyed && (byte == '\'' || byte == '\\'))
            to += sprintf(to, "\\%c", byte);
        else if (!bare && byte == '\'')
            to += sprintf(to, "'\\''");
        else
            *to++ = *at;
    }
    strcpy(to, bare ? "" : "'");
    return word;
}

static void add_quoted(word_list *list, const char *text)
{
    add_word(list, quoted(text));
}

static char *decibels(char *text, size_t size, double db)
{
    char figure[40];
    spurity_format_db(figure, sizeof figure, db);
    size_t length = strlen(figure);
    bool whole = length > 2 && !strcmp(figure + length - 2, ".0");
    snprintf(text, size, "%.*sdB", (int)(whole ? length - 2 : length), figure);
    return text;
}

/* "30dB,50W", as --pad takes it. */
static void pad_text(const spurity_plan_attenuator *one, char *text, size_t size)
{
    char db[48], watts[48] = "";
    if (isfinite(one->rating_w))
        spurity_format_power(watts, sizeof watts, one->rating_w);
    char *blank = strchr(watts, ' ');
    if (blank) /* "50 W" */
        memmove(blank, blank + 1, strlen(blank));
    snprintf(text, size, "%s%s%s", decibels(db, sizeof db, one->db), watts[0] ? "," : "", watts);
}

typedef struct text {
    char *data; /* owned */
    size_t size;
    bool failed;
} text;

static void append(text *to, const char *before, const char *more)
{
    size_t need = to->size + strlen(before) + strlen(more) + 1;
    char *grown = realloc(to->data, need);
    if (!grown) {
        to->failed = true;
        return;
    }
    to->data = grown;
    to->size += (size_t)sprintf(grown + to->size, "%s%s", before, more);
}

/* A file of the plan, and what sets it apart from the others. */
typedef struct planned {
    bool capture;
    size_t index;
    spurity_plan_purpose purpose;
    bool filtered;
    double more_pad_db;
    double rbw_hz; /* of a capture, which is transformed as it is told; a sweep's file tells its own: NaN */
    const spurity_plan_sweep *sweep; /* NULL of a capture */
} planned;

/* What most files have in common is said once, for all. */
typedef struct common {
    bool filtered;
    double rbw_hz;
} common;

static size_t planned_count(const job *run)
{
    return spurity_plan_sweep_count(run->plan) + spurity_plan_capture_count(run->plan);
}

static planned planned_at(const job *run, size_t index)
{
    size_t sweeps = spurity_plan_sweep_count(run->plan);
    if (index < sweeps) {
        const spurity_plan_sweep *one = spurity_plan_sweep_at(run->plan, index);
        return (planned){false, index, one->purpose, one->filter[0], one->more_pad_db, (double)NAN, one};
    }
    const spurity_plan_capture *one = spurity_plan_capture_at(run->plan, index - sweeps);
    return (planned){true, index - sweeps, one->purpose, one->filter[0], 0, one->rbw_hz, NULL};
}

/* What a check is to take a file for, where it is no sweep of the keyed set behind its chain; NULL. */
static const char *role_of(spurity_plan_purpose purpose)
{
    return purpose == SPURITY_PLAN_LEAKAGE ? "leakage" : purpose == SPURITY_PLAN_AMBIENT ? "ambient" : NULL;
}

static bool is_judged(const planned *one)
{
    return !role_of(one->purpose);
}

static bool has_own_rbw(const planned *one, const common *all)
{
    return isfinite(one->rbw_hz) && one->rbw_hz != all->rbw_hz;
}

static bool has_own_chain(const planned *one, const common *all)
{
    return one->filtered != all->filtered || one->more_pad_db > 0;
}

/* Most of the files by what stands before them; the RBW of most captures (Boyer and Moore's vote). */
static common find_common(const job *run)
{
    common all = {false, (double)NAN};
    size_t filtered = 0, checked = 0, votes = 0;
    for (size_t i = 0; i < planned_count(run); i++) {
        planned one = planned_at(run, i);
        if (!is_judged(&one))
            continue;
        checked++;
        filtered += one.filtered;
        if (!isfinite(one.rbw_hz))
            continue;
        if (!votes)
            all.rbw_hz = one.rbw_hz;
        votes = !votes || one.rbw_hz == all.rbw_hz ? votes + 1 : votes - 1;
    }
    all.filtered = 2 * filtered > checked;
    return all;
}

/* The keys after a file's name replace the whole shared chain: all of it is said again, and what this file has more. */
static void append_chain(const job *run, text *word, const planned *one)
{
    const spurity_cli_reading *shared = &run->settings->shared;
    size_t proposed = shared->part_count ? 0 : spurity_plan_attenuator_count(run->plan);
    char pad[120];
    for (size_t i = 0; i < shared->part_count; i++)
        append(word, shared->parts[i].is_loss ? ",loss=" : ",pad=", shared->parts[i].text);
    for (size_t i = 0; i < proposed; i++) {
        pad_text(spurity_plan_attenuator_at(run->plan, i), pad, sizeof pad);
        append(word, ",pad=", pad);
    }
    if (one->more_pad_db > 0)
        append(word, ",pad=", decibels(pad, sizeof pad, one->more_pad_db));
    if (one->filtered)
        append(word, ",loss=", filter_table);
    else if (!shared->part_count && !proposed && !(one->more_pad_db > 0))
        append(word, ",direct", "");
}

/* "10k", as --rbw takes it. */
static char *bandwidth_text(char *out, size_t size, double hz)
{
    spurity_format_frequency(out, size, hz, 6);
    char *blank = strchr(out, ' ');
    if (blank)
        memmove(blank, blank + 1, strlen(blank));
    return out;
}

/* ",rbw=1kHz,detector=average,8": what a file that does not tell it itself is to be taken for. */
static void append_reading(text *word, const spurity_plan_sweep *sweep)
{
    char hz[48], sweeps[24] = "";
    append(word, ",rbw=", bandwidth_text(hz, sizeof hz, sweep->rbw_hz));
    append(word, ",detector=", spurity_detector_name(sweep->detector));
    if (sweep->sweeps > 1 && sweep->sweeps < 1e6)
        snprintf(sweeps, sizeof sweeps, ",%.0f", sweep->sweeps);
    append(word, sweeps, "");
}

static void add_file(job *run, word_list *list, const planned *one, const common *all)
{
    char name[64], hz[48];
    text word = {0};
    append(&word, spurity_output_plan_file(run->plan, one->capture, one->index, name, sizeof name), "");
    if (has_own_chain(one, all))
        append_chain(run, &word, one);
    if (has_own_rbw(one, all))
        append(&word, ",rbw=", bandwidth_text(hz, sizeof hz, one->rbw_hz));
    if (role_of(one->purpose))
        append(&word, ",role=", role_of(one->purpose));
    if (list == &run->keyed && one->sweep)
        append_reading(&word, one->sweep);
    if (word.failed)
        list->failed = true;
    else
        add_quoted(list, word.data);
    free(word.data);
}

static bool reads_alike(const planned *a, const planned *b)
{
    return !a->sweep || !b->sweep ||
           (a->sweep->rbw_hz == b->sweep->rbw_hz && a->sweep->detector == b->sweep->detector &&
            a->sweep->sweeps == b->sweep->sweeps);
}

/* Many files of one purpose, all as the shared options say, are one word, "range-*.csv"; where keys follow, only if
 * they are the same. */
static bool add_pattern(job *run, word_list *list, spurity_plan_purpose purpose, const common *all)
{
    enum { FEW = 3 };
    size_t count = 0;
    planned first = {0};
    char name[64];
    text word = {0};
    for (size_t i = 0; i < planned_count(run); i++) {
        planned one = planned_at(run, i);
        if (one.purpose != purpose)
            continue;
        if (!count++)
            first = one;
        if (has_own_chain(&one, all) || has_own_rbw(&one, all) || (list == &run->keyed && !reads_alike(&first, &one)))
            return false;
        spurity_output_plan_file(run->plan, one.capture, one.index, name, sizeof name);
    }
    if (count <= FEW || !strchr(name, '-'))
        return false;
    strcpy(strchr(name, '-') + 1, "*.");
    append(&word, name, first.capture ? "sigmf-meta" : "csv");
    if (role_of(purpose))
        append(&word, ",role=", role_of(purpose));
    if (list == &run->keyed && first.sweep)
        append_reading(&word, first.sweep);
    if (!word.failed && strchr(word.data, ',')) {
        add_quoted(list, word.failed ? "" : word.data); /* not for the shell, which would look for the keys too */
    } else {
        add_word(list, word.failed ? NULL : strdup(word.data));
    }
    list->failed = list->failed || word.failed;
    free(word.data);
    return true;
}

static void add_files(job *run, word_list *list, const common *all)
{
    static const spurity_plan_purpose order[] = {SPURITY_PLAN_CARRIER,  SPURITY_PLAN_MASK,    SPURITY_PLAN_RANGE,
                                                 SPURITY_PLAN_HARMONIC, SPURITY_PLAN_LEAKAGE, SPURITY_PLAN_AMBIENT};
    for (size_t k = 0; k < sizeof order / sizeof *order; k++) {
        if (add_pattern(run, list, order[k], all))
            continue;
        for (size_t i = 0; i < planned_count(run); i++) {
            planned one = planned_at(run, i);
            if (one.purpose == order[k])
                add_file(run, list, &one, all);
        }
    }
}

static void add_option(word_list *list, const char *name, const char *value)
{
    text piece = {0};
    char *word = value ? quoted(value) : NULL;
    append(&piece, "--", name);
    if (value)
        append(&piece, " ", word ? word : "");
    list->failed = list->failed || piece.failed || (value && !word);
    free(word);
    add_word(list, piece.data);
}

/* The chain as planned, where the user said none. */
static void add_proposed(const job *run, word_list *list)
{
    char pad[120];
    if (run->settings->shared.chain != SPURITY_CHAIN_UNSTATED)
        return;
    for (size_t i = 0; i < spurity_plan_attenuator_count(run->plan); i++) {
        pad_text(spurity_plan_attenuator_at(run->plan, i), pad, sizeof pad);
        add_option(list, "pad", pad);
    }
}

/* A recording tells its rate itself; a power that was planned for is no power that a meter read, and would shift every
 * level if it were taken for one. */
static bool is_carried(const spurity_cli_said *said, const common *all)
{
    /* --bench carries what it says, but a filter's table beside it would say over its chain */
    if (said->of_bench && !(all->filtered && spurity_cli_is_of_chain(said->option->name)))
        return false;
    return (said->option->commands & SPURITY_COMMAND_CHECK) && !(said->option->flags & SPURITY_CLI_QUIET) &&
           strcmp(said->option->name, "rate") != 0 && strcmp(said->option->name, "power") != 0;
}

/* What is swept without modulation is told so, where nobody said anything else. */
static bool is_unmodulated(const job *run)
{
    bool mask = false;
    for (size_t i = 0; i < spurity_plan_sweep_count(run->plan); i++)
        mask = mask || spurity_plan_sweep_at(run->plan, i)->purpose == SPURITY_PLAN_MASK;
    return !mask && run->settings->point.modulation == SPURITY_MODULATION_UNSAID;
}

static void build_line(job *run, word_list *list)
{
    char hz[48];
    common all = find_common(run);
    add_quoted(list, "spurity");
    add_quoted(list, "check");
    add_files(run, list, &all);
    add_proposed(run, list);
    for (size_t i = 0; i < run->settings->said_count; i++) {
        const spurity_cli_said *said = &run->settings->said[i];
        if (is_carried(said, &all))
            add_option(list, said->option->name, said->option->argument ? said->text : NULL);
    }
    if (spurity_plan_capture_count(run->plan)) /* levels of a capture have no scale of their own */
        add_option(list, "power", run->settings->point.power_is_pep ? "READING,pep" : "READING");
    if (all.filtered)
        add_option(list, "loss", filter_table);
    if (isfinite(all.rbw_hz))
        add_option(list, "rbw", bandwidth_text(hz, sizeof hz, all.rbw_hz));
    if (is_unmodulated(run))
        add_option(list, "modulation", "none");
}

static void build_check(job *run)
{
    if (spurity_plan_outcome_of(run->plan) == SPURITY_PLAN_HARMFUL)
        return; /* nobody should come to that point */
    build_line(run, &run->check);
    if (spurity_plan_sweep_count(run->plan))
        build_line(run, &run->keyed);
}

/* ---- outputs ------------------------------------------------------------------------------------------------------
 */

static spurity_status build_report(job *run, spurity_error *error)
{
    spurity_cli_settings *settings = run->settings;
    if (spurity_cli_understood_create(settings, NULL, &run->understood, error))
        return error->status;
    run->said = calloc(settings->said_count + 1, sizeof *run->said);
    for (size_t i = 0; run->said && i < settings->said_count; i++) {
        const spurity_cli_said *said = &settings->said[i];
        bool by_bench = said->of_bench && !spurity_cli_is_of_chain(said->option->name);
        if (!(said->option->flags & SPURITY_CLI_QUIET) && !by_bench)
            run->said[run->said_count++] = (spurity_setting){.name = said->option->name,
                                                             .value = said->option->argument ? said->text : said->value,
                                                             .from = "option"};
    }
    build_check(run);
    if (!run->said || run->check.failed || run->keyed.failed)
        return spurity_report_memory(error);
    run->report = (spurity_plan_report){.plan = run->plan,
                                        .rules = (const spurity_rules *const *)run->rules,
                                        .rules_count = run->rules_count,
                                        .settings = run->understood.items,
                                        .setting_count = run->understood.count,
                                        .said = run->said,
                                        .said_count = run->said_count,
                                        .notes = run->notes,
                                        .check = (const char *const *)run->check.words,
                                        .check_count = run->check.count,
                                        .keyed = (const char *const *)run->keyed.words,
                                        .keyed_count = run->keyed.count};
    return SPURITY_OK;
}

static spurity_status write_json(const job *run, spurity_error *error)
{
    char *json = NULL;
    size_t size = 0;
    spurity_status status = spurity_result_plan_json(&run->report, &json, &size, error);
    if (!status)
        status = spurity_cli_write(run->settings->json, json, size, error);
    free(json);
    return status;
}

static spurity_status write_session(const job *run, spurity_error *error)
{
    spurity_bytes session = {0};
    spurity_status status = spurity_output_session(&run->report, &session, error);
    if (!status)
        status = spurity_cli_write(run->settings->session, session.data, session.size, error);
    spurity_bytes_release(&session);
    return status;
}

static spurity_status write_text(const job *run, spurity_error *error)
{
    spurity_bytes page = {0};
    spurity_text_options options = {.colour = spurity_cli_colour(), .columns = spurity_cli_columns()};
    spurity_status status = spurity_output_plan(&run->report, &options, &page, error);
    if (!status)
        status = spurity_cli_write("-", page.data, page.size, error);
    spurity_bytes_release(&page);
    return status;
}

/* Each on its own, so that one that fails takes no other with it. */
static int write_outputs(const job *run)
{
    const char *json = run->settings->json, *session = run->settings->session;
    bool taken = (json && !strcmp(json, "-")) || (session && !strcmp(session, "-"));
    struct {
        bool wanted;
        spurity_status (*write)(const struct job *, spurity_error *);
    } outputs[] = {{json != NULL, write_json}, {session != NULL, write_session}, {!taken, write_text}};
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

static int exit_of(spurity_plan_outcome outcome)
{
    return outcome == SPURITY_PLAN_READY     ? SPURITY_EXIT_PASS
           : outcome == SPURITY_PLAN_HARMFUL ? SPURITY_EXIT_FAIL
                                             : SPURITY_EXIT_UNDECIDED;
}

static void word_list_release(word_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        free(list->words[i]);
    free(list->words);
}

static void release(job *run)
{
    word_list_release(&run->check);
    word_list_release(&run->keyed);
    free(run->said);
    spurity_cli_understood_release(&run->understood);
    spurity_plan_free(run->plan);
    spurity_chain_free(run->chain);
    for (size_t i = 0; i < run->rules_count; i++)
        spurity_rules_free(run->rules[i]);
    spurity_notes_free(run->notes);
}

static int plan(spurity_cli_settings *settings)
{
    job run = {.settings = settings};
    spurity_error error = {0};
    int status;
    spurity_cli_progress_start(&run.progress);
    bool failed = prepare(&run, &error) || work(&run, &error) || build_report(&run, &error);
    spurity_cli_progress_end(&run.progress);
    if (failed)
        status = spurity_cli_fail(&error);
    else {
        status = write_outputs(&run);
        status = status ? status : exit_of(spurity_plan_outcome_of(run.plan));
    }
    release(&run);
    return status;
}

static int bench_template(const spurity_cli_settings *settings)
{
    spurity_error error = {0};
    const char *yaml = spurity_bench_template();
    spurity_status status = settings->said_count + settings->operand_count > 1
                                ? bad(&error, "--bench-template beside something else", "--bench-template alone")
                                : spurity_cli_write("-", yaml, strlen(yaml), &error);
    return status ? spurity_cli_fail(&error) : SPURITY_EXIT_PASS;
}

int spurity_cli_plan(int argc, char **argv)
{
    spurity_cli_settings settings;
    spurity_error error = {0};
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_PLAN);
    int status;
    if (spurity_cli_parse(&settings, argc, argv, &error))
        status = spurity_cli_fail(&error);
    else if (settings.bench_template)
        status = bench_template(&settings);
    else
        status = plan(&settings);
    spurity_cli_settings_release(&settings);
    return status;
}
