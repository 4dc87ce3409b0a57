/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a set says of one transmitter: what is allowed where, then clause by clause. */
#include <math.h>
#include <string.h>

#include "rules.h"

/* ---- what it allows one transmitter -------------------------------------------------------------- */

/** A clause met by the question. */
struct meeting {
    const spurity_clause *clause;
    spurity_clause_facts facts;
    spurity_applies applies;
    char why[240], needs[160];
};

static struct meeting meet(const spurity_clause *clause, const spurity_conditions *conditions)
{
    struct meeting meeting = {.clause = clause};
    spurity_clause_facts_of(clause, &meeting.facts);
    meeting.applies = spurity_clause_applies(clause, conditions, meeting.why, sizeof meeting.why, meeting.needs,
                                             sizeof meeting.needs);
    if (meeting.applies != SPURITY_APPLIES_NO && meeting.facts.limit)
        spurity_limit_needs(meeting.facts.limit, conditions, meeting.needs, sizeof meeting.needs);
    return meeting;
}

static bool is_spectral(const struct meeting *meeting)
{
    return meeting->facts.quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION ||
           meeting->facts.quantity == SPURITY_QUANTITY_MASK;
}

/** Allowed level at a frequency, when the clause covers it and everything it needs is known. */
static bool allowed_at(const struct meeting *meeting, const spurity_conditions *conditions, double hz, double *dbm,
                       char *leaf_words, size_t size)
{
    const spurity_limit *leaf = NULL;
    if (!is_spectral(meeting) || !spurity_clause_covers(meeting->clause, conditions, hz) ||
        !spurity_limit_dbm(meeting->facts.limit, conditions, hz, dbm, &leaf))
        return false;
    spurity_limit_describe(leaf, leaf_words, size);
    return true;
}

static void print_level(const struct meeting *meeting, const spurity_conditions *conditions, double hz)
{
    char place[60], level[40], power[60], below[40] = "", width[60] = "", words[160], line[500];
    double dbm = NAN, reference_hz = spurity_clause_reference_bandwidth(meeting->clause, hz);
    spurity_format_frequency(place, sizeof place, hz, 6);
    if (!allowed_at(meeting, conditions, hz, &dbm, words, sizeof words)) {
        printf("    at %s a figure needs %s\n", place, meeting->needs[0] ? meeting->needs : "more than was said");
        return;
    }
    spurity_format_db(level, sizeof level, dbm);
    spurity_format_power(power, sizeof power, spurity_watts_from_dbm(dbm));
    if (conditions->mean_power_w > 0.0) {
        char dbc[30];
        spurity_format_db(dbc, sizeof dbc, dbm - spurity_dbm_from_watts(conditions->mean_power_w));
        snprintf(below, sizeof below, ", %s dBc", dbc);
    }
    if (reference_hz > 0.0)
        spurity_format_frequency(width, sizeof width, reference_hz, 6);
    snprintf(line, sizeof line, "at %s %s dBm, %s%s%s%s; binding: %s", place, level, power, below,
             *width ? ", in " : "", width, words);
    printf("    ");
    spurity_cli_wrap(line, 6);
}

static bool covers_a_place(const struct meeting *meeting, const spurity_cli_question *question)
{
    for (size_t i = 0; i < question->asked.place_count; i++)
        if (spurity_clause_covers(meeting->clause, &question->asked.conditions, question->places[i]))
            return true;
    return false;
}

/** The places asked at which this clause sets a figure. */
static void print_levels(const struct meeting *meeting, const spurity_cli_question *question)
{
    for (size_t i = 0; i < question->asked.place_count; i++)
        if (spurity_clause_covers(meeting->clause, &question->asked.conditions, question->places[i]))
            print_level(meeting, &question->asked.conditions, question->places[i]);
}

static void print_cap(const struct meeting *meeting, const spurity_conditions *conditions)
{
    char words[240], power[60];
    double dbm = NAN;
    spurity_limit_describe(meeting->facts.limit, words, sizeof words);
    printf("    at most %s", words);
    const char *unit = NULL;
    bool ppm = spurity_limit_value(meeting->facts.limit, conditions, conditions->carrier_hz, &dbm, &unit) &&
               !strcmp(unit, "ppm") && conditions->carrier_hz > 0.0;
    if (ppm)
        printf(", here %.0f Hz", dbm * 1e-6 * conditions->carrier_hz);
    if (meeting->facts.quantity == SPURITY_QUANTITY_CARRIER_POWER &&
        spurity_limit_reference(meeting->facts.limit) == SPURITY_REFERENCE_ERP) {
        if (spurity_limit_dbm(meeting->facts.limit, conditions, conditions->carrier_hz, &dbm, NULL))
            printf(", with this antenna %s at the terminal",
                   spurity_format_power(power, sizeof power, spurity_watts_from_dbm(dbm)));
        else
            printf("; what that is at the terminal needs %s", meeting->needs);
    }
    printf("\n");
}

static void print_band_answer(const struct meeting *meeting, const spurity_conditions *conditions)
{
    char low[60], high[60];
    for (size_t i = 0; i < meeting->facts.band_count; i++) {
        const double *pair = meeting->facts.bands_hz + 2 * i;
        if (!(conditions->carrier_hz >= pair[0] && conditions->carrier_hz <= pair[1]))
            continue;
        printf("    the carrier lies in %s to %s\n", spurity_format_frequency(low, sizeof low, pair[0], 6),
               spurity_format_frequency(high, sizeof high, pair[1], 6));
        return;
    }
    printf("    the carrier lies in none of its bands\n");
}

static void print_meeting(const struct meeting *meeting, const spurity_cli_question *question)
{
    static const char *const words[] = {"does not bind", "binds", "is open"};
    char heading[500], exemption[160];
    snprintf(heading, sizeof heading, "%s %s%s: %s", meeting->facts.citation, words[meeting->applies],
             meeting->facts.confirmed ? "" : " (unverified)", meeting->why);
    printf("\n  ");
    spurity_cli_wrap(heading, 2);
    printf("    ");
    spurity_cli_wrap(meeting->facts.says, 4);
    spurity_clause_exemption(meeting->clause, exemption, sizeof exemption);
    if (*exemption)
        printf("    exempt would be a transmitter %s\n", exemption);
    bool told = !is_spectral(meeting) || covers_a_place(meeting, question);
    if (meeting->applies == SPURITY_APPLIES_UNKNOWN && meeting->facts.limit && told)
        printf("    if it binds:\n");
    if (is_spectral(meeting))
        print_levels(meeting, question);
    else if (meeting->facts.quantity == SPURITY_QUANTITY_BAND)
        print_band_answer(meeting, &question->asked.conditions);
    else if (meeting->facts.limit)
        print_cap(meeting, &question->asked.conditions);
}

/** Whether something is open only as a mean power was told and its peak is asked. */
static bool lacks_pep(const spurity_rules *rules, const spurity_conditions *conditions)
{
    bool lacks = false;
    for (size_t i = 0; i < spurity_rules_clause_count(rules) && conditions->mean_power_w > 0.0 && !lacks; i++) {
        struct meeting meeting = meet(spurity_rules_clause(rules, i), conditions);
        lacks = meeting.applies != SPURITY_APPLIES_NO && strstr(meeting.needs, "--power");
    }
    return lacks;
}

static void print_assumptions(const spurity_rules *rules, const spurity_cli_question *question)
{
    char line[500], carrier[60] = "not said", power[100] = "power not said", width[60], text[60];
    const spurity_conditions *conditions = &question->asked.conditions;
    if (conditions->carrier_hz > 0.0)
        spurity_format_frequency(carrier, sizeof carrier, conditions->carrier_hz, 6);
    if (conditions->mean_power_w > 0.0)
        snprintf(power, sizeof power, "mean power %s",
                 spurity_format_power(text, sizeof text, conditions->mean_power_w));
    else if (conditions->pep_w > 0.0)
        snprintf(power, sizeof power, "PEP %s", spurity_format_power(text, sizeof text, conditions->pep_w));
    spurity_format_frequency(width, sizeof width, conditions->necessary_bandwidth_hz, 6);
    snprintf(line, sizeof line, "carrier %s, %s, necessary bandwidth %s%s", carrier, power, width,
             question->bandwidth_assumed ? " (assumed; --emission tells it)" : "");
    spurity_cli_wrap(line, 0);
    if (lacks_pep(rules, conditions))
        spurity_cli_wrap("peak envelope power not said: --power 5W,pep tells it, and --emission where angle modulation "
                         "makes it the mean",
                         0);
}

/** Channel, bandwidth, range: what the file's tables say of this carrier. */
static void print_table_answers(const spurity_rules *rules, const spurity_conditions *conditions)
{
    char text[240], low[60], high[60];
    spurity_channel channel;
    spurity_rules_span span;
    spurity_channel_found found = spurity_rules_channel(rules, conditions->carrier_hz, &channel);
    if (found != SPURITY_CHANNEL_NO_TABLE)
        spurity_format_frequency(low, sizeof low, channel.frequency_hz, 6);
    if (found == SPURITY_CHANNEL_ON)
        printf("channel %s (%s)\n", channel.number, low);
    if (found == SPURITY_CHANNEL_OFF)
        printf("on no channel of the service; the nearest is %s (%s), %s away\n", channel.number, low,
               spurity_format_frequency(high, sizeof high, fabs(conditions->carrier_hz - channel.frequency_hz), 6));
    spurity_rules_describe_bandwidth(rules, conditions, text, sizeof text);
    if (*text)
        printf("bandwidth %s\n", text);
    if (spurity_rules_investigated(rules, conditions->carrier_hz, &span))
        printf("to be looked through: %s to %s (%s%s)\n", spurity_format_frequency(low, sizeof low, span.from_hz, 6),
               spurity_format_frequency(high, sizeof high, span.to_hz, 6), span.citation,
               span.confirmed ? "" : ", unverified");
    if (spurity_rules_antenna_fixed(rules))
        printf("sets of this service have a fixed antenna: a conducted reading is indicative only\n");
}

/** Clauses in the order a reader wants them: figures for emissions, other figures, what is open, words. */
enum answer_part { PART_EMISSIONS, PART_OTHER, PART_OPEN, PART_WORDS, PART_NOT };

static enum answer_part part_of(const struct meeting *meeting)
{
    if (meeting->applies == SPURITY_APPLIES_NO)
        return PART_NOT;
    if (meeting->applies == SPURITY_APPLIES_UNKNOWN)
        return PART_OPEN;
    if (is_spectral(meeting))
        return PART_EMISSIONS;
    return meeting->facts.quantity == SPURITY_QUANTITY_NOTE ? PART_WORDS : PART_OTHER;
}

static size_t print_part(const spurity_rules *rules, const spurity_cli_question *question, enum answer_part part)
{
    size_t count = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        struct meeting meeting = meet(spurity_rules_clause(rules, i), &question->asked.conditions);
        if (part_of(&meeting) != part || !spurity_rules_question_asks(&question->asked, meeting.clause))
            continue;
        count++;
        print_meeting(&meeting, question);
    }
    return count;
}

/** Clauses that bind and have no figure: their words. */
static void print_words(const spurity_rules *rules, const spurity_cli_question *question)
{
    size_t told = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        char line[1200];
        struct meeting meeting = meet(spurity_rules_clause(rules, i), &question->asked.conditions);
        if (part_of(&meeting) != PART_WORDS || !spurity_rules_question_asks(&question->asked, meeting.clause))
            continue;
        snprintf(line, sizeof line, "%s%s: %s", meeting.facts.citation, meeting.facts.confirmed ? "" : " (unverified)",
                 meeting.facts.says);
        printf("%s    ", told++ ? "" : "\n  Binds in words, without a figure\n");
        spurity_cli_wrap(line, 6);
    }
}

/** Whether a clause is asked for and does not bind for this reason (NULL: for any); *name is its number. */
static bool is_out(const spurity_rules *rules, const spurity_cli_question *question, size_t index, const char *why,
                   const char **name)
{
    struct meeting meeting = meet(spurity_rules_clause(rules, index), &question->asked.conditions);
    *name = meeting.facts.clause;
    return meeting.applies == SPURITY_APPLIES_NO && (!why || !strcmp(meeting.why, why)) &&
           spurity_rules_question_asks(&question->asked, meeting.clause);
}

/** How many clauses of this number are out for this reason from `from` on, before `to`. */
static size_t count_out(const spurity_rules *rules, const spurity_cli_question *question, size_t from, size_t to,
                        const char *why, const char *name)
{
    size_t count = 0;
    for (size_t i = from; i < to; i++) {
        const char *other;
        count += is_out(rules, question, i, why, &other) && (!name || !strcmp(other, name));
    }
    return count;
}

/** "90.210(b)(1), 90.213(a) x 16": the clauses that are out for this reason. */
static void list_out(const spurity_rules *rules, const spurity_cli_question *question, const char *why, char *line,
                     size_t size)
{
    size_t clauses = spurity_rules_clause_count(rules);
    for (size_t i = 0; i < clauses; i++) {
        const char *name;
        size_t used = strlen(line);
        if (!is_out(rules, question, i, why, &name) || count_out(rules, question, 0, i, why, name))
            continue;
        size_t times = count_out(rules, question, i, clauses, why, name);
        char many[40] = "";
        if (times > 1)
            snprintf(many, sizeof many, " (%zu of its lines)", times);
        snprintf(line + used, size - used, "%s%s%s", used ? ", " : "", name, many);
    }
}

/** What does not bind, each reason once. */
static void print_not_binding(const spurity_rules *rules, const spurity_cli_question *question)
{
    size_t told = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        char line[3000] = "";
        const char *name;
        struct meeting meeting = meet(spurity_rules_clause(rules, i), &question->asked.conditions);
        if (!is_out(rules, question, i, NULL, &name) || count_out(rules, question, 0, i, meeting.why, NULL))
            continue;
        list_out(rules, question, meeting.why, line, sizeof line);
        size_t used = strlen(line);
        snprintf(line + used, sizeof line - used, ": %s", meeting.why);
        printf("%s    ", told++ ? "" : "\n  Does not bind\n");
        spurity_cli_wrap(line, 6);
    }
}

/** Places asked at which no clause that binds, or may bind, sets a figure. */
static void print_free_places(const spurity_rules *rules, const spurity_cli_question *question)
{
    const spurity_conditions *conditions = &question->asked.conditions;
    for (size_t place = 0; place < question->asked.place_count; place++) {
        bool covered = false;
        for (size_t i = 0; i < spurity_rules_clause_count(rules) && !covered; i++) {
            struct meeting meeting = meet(spurity_rules_clause(rules, i), conditions);
            covered = meeting.applies != SPURITY_APPLIES_NO && is_spectral(&meeting) &&
                      spurity_rules_question_asks(&question->asked, meeting.clause) &&
                      spurity_clause_covers(meeting.clause, conditions, question->places[place]);
        }
        char hz[60];
        if (!covered)
            printf("\n  At %s no clause that binds sets a figure.\n",
                   spurity_format_frequency(hz, sizeof hz, question->places[place], 6));
    }
}

spurity_status spurity_cli_rules_answer(const spurity_rules *rules, const spurity_cli_question *question,
                                        spurity_error *error)
{
    spurity_cli_rules_title(rules);
    print_assumptions(rules, question);
    print_table_answers(rules, &question->asked.conditions);
    if (!question->asked.clause && question->asked.conditions.carrier_hz > 0.0) {
        spurity_status status = spurity_cli_rules_table(rules, &question->asked.conditions, error);
        if (status)
            return status;
    }
    size_t figures = print_part(rules, question, PART_EMISSIONS);
    size_t open = print_part(rules, question, PART_OPEN);
    if (!figures && !open && !question->asked.clause)
        printf("\n  No clause of this set sets a figure for unwanted emissions of this transmitter.\n");
    print_free_places(rules, question);
    print_part(rules, question, PART_OTHER);
    print_words(rules, question);
    print_not_binding(rules, question);
    printf("\n%s\n", spurity_cli_no_advice);
    return SPURITY_OK;
}
