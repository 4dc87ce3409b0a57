/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The table of sets, and a set or a clause in plain words. */
#include <string.h>

#include "rules.h"

enum { COLUMN = 12 };

/* ---- the table of sets --------------------------------------------------------------------------- */

static void count_status(const spurity_rules *rules, size_t *confirmed, size_t *unverified)
{
    *confirmed = *unverified = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_clause_facts facts;
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        *(facts.confirmed ? confirmed : unverified) += 1;
    }
}

spurity_status spurity_cli_rules_list(spurity_error *error)
{
    printf("%-15s %-9s  %s\n", "id", "confirmed", "title and edition");
    for (size_t i = 0; i < spurity_rules_builtin_count(); i++) {
        spurity_rules *rules = NULL;
        size_t confirmed, unverified;
        spurity_status status = spurity_rules_load(spurity_rules_builtin_id(i), &rules, error);
        if (status)
            return status;
        count_status(rules, &confirmed, &unverified);
        char share[40];
        snprintf(share, sizeof share, "%zu of %zu", confirmed, confirmed + unverified);
        printf("%-15s %-9s  %s\n%27s", spurity_rules_id(rules), share, spurity_rules_title(rules), "");
        spurity_cli_wrap(spurity_rules_edition(rules), 27);
        spurity_rules_free(rules);
    }
    printf("\nConfirmed: of so many clauses the text was read; the others give conditional outcomes at best.\n"
           "'spurity rules ID' tells a set's clauses, 'spurity rules ID CLAUSE' one of them. A file of your own serves "
           "wherever\n"
           "an id does (./mine.yaml); 'spurity rules --template' writes one to begin with.\n%s\n",
           spurity_cli_no_advice);
    return SPURITY_OK;
}

/* ---- a set in words ------------------------------------------------------------------------------ */

/** A tree of limits, one leaf a line; the first line stands behind its field's name. */
static void print_limit(const spurity_limit *limit, int indent)
{
    char words[240];
    if (!spurity_limit_child_count(limit)) {
        spurity_limit_describe(limit, words, sizeof words);
        printf("%s\n", words);
        return;
    }
    puts(spurity_limit_kind_of(limit) == SPURITY_LIMIT_LOWEST_OF ? "the lowest of" : "the highest of");
    for (size_t i = 0; i < spurity_limit_child_count(limit); i++) {
        printf("%*s", indent + 2, "");
        print_limit(spurity_limit_child(limit, i), indent + 2);
    }
}

static void print_field(const char *name, const char *text)
{
    if (!text || !*text)
        return;
    printf("  %-9s ", name);
    spurity_cli_wrap(text, COLUMN);
}

static void print_reading(const spurity_clause_facts *facts)
{
    const char *bandwidth = facts->reference_bandwidth, *detector = facts->detector;
    char text[200];
    if (bandwidth && !strcmp(bandwidth, "itu"))
        bandwidth = "the reference bandwidth of Rec. ITU-R SM.329 (our choice where the rule names none)";
    snprintf(text, sizeof text, "%s%s%s%s%s", detector ? detector : "", detector ? " power" : "",
             detector && bandwidth ? ", " : "", bandwidth ? "in " : "", bandwidth ? bandwidth : "");
    print_field("read as", text);
}

static void print_bands(const spurity_clause_facts *facts)
{
    char low[60], high[60];
    for (size_t i = 0; i < facts->band_count; i++) {
        spurity_format_frequency(low, sizeof low, facts->bands_hz[2 * i], 6);
        spurity_format_frequency(high, sizeof high, facts->bands_hz[2 * i + 1], 6);
        printf("  %-9s %s to %s\n", i ? "" : "bands", low, high);
    }
}

/** What has to be said before it is known whether the clause binds and what it allows. */
static void print_asks(const spurity_clause *clause, const spurity_clause_facts *facts)
{
    char needs[200] = "";
    spurity_conditions nothing;
    spurity_conditions_init(&nothing);
    spurity_clause_applies(clause, &nothing, NULL, 0, needs, sizeof needs);
    if (facts->limit)
        spurity_limit_needs(facts->limit, &nothing, needs, sizeof needs);
    print_field("asks for", needs);
}

static void print_clause(const spurity_clause *clause)
{
    char text[1200];
    spurity_clause_facts facts;
    spurity_clause_facts_of(clause, &facts);
    printf("\n%s  %s, group %s, %s\n", facts.clause, spurity_quantity_limited_name(facts.quantity), facts.group,
           facts.confirmed ? "confirmed (the text was read)" : "unverified");
    if (!facts.confirmed)
        print_field("status", "the text itself was not read: a judgement by it is conditional at best");
    print_field("source", facts.citation);
    print_field(facts.confirmed ? "text read" : "from", facts.edition);
    print_field("says", facts.says);
    spurity_clause_describe_conditions(clause, text, sizeof text);
    print_field("binds", *text ? text : "every transmitter of the service");
    print_asks(clause, &facts);
    spurity_clause_exemption(clause, text, sizeof text);
    print_field("unless", text);
    spurity_clause_describe_where(clause, text, sizeof text);
    print_field("where", text);
    print_reading(&facts);
    print_bands(&facts);
    if (facts.limit) {
        printf("  %-9s ", "limit");
        print_limit(facts.limit, COLUMN);
    }
}

void spurity_cli_rules_title(const spurity_rules *rules)
{
    printf("%s: %s\n%s\n", spurity_rules_id(rules), spurity_rules_title(rules), spurity_rules_edition(rules));
}

/** Whether a clause before this one has its name. */
static bool is_named_before(const spurity_rules *rules, size_t index, const char *name)
{
    spurity_clause_facts facts;
    for (size_t i = 0; i < index; i++) {
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        if (!strcmp(facts.clause, name))
            return true;
    }
    return false;
}

spurity_status spurity_cli_rules_check_clause(const spurity_rules *rules, const spurity_rules_question *asked,
                                              spurity_error *error)
{
    char found[120], names[800] = "";
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_clause_facts facts;
        if (spurity_rules_question_asks(asked, spurity_rules_clause(rules, i)))
            return SPURITY_OK;
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        size_t used = strlen(names);
        if (!is_named_before(rules, i, facts.clause) && used + strlen(facts.clause) + 2 < sizeof names)
            snprintf(names + used, sizeof names - used, "%s%s", used ? ", " : "", facts.clause);
    }
    snprintf(found, sizeof found, "clause '%.60s'", asked->clause);
    return spurity_cli_rules_bad(error, found, names);
}

/** The channels one a line, as the file has them. */
static void print_tables(const spurity_rules *rules)
{
    size_t count = spurity_rules_channel_count(rules);
    spurity_channel channel;
    if (spurity_rules_antenna_fixed(rules))
        printf("Sets have a fixed antenna: a conducted reading is indicative only.\n");
    if (count)
        printf("\n%-8s %-16s %-10s %s\n", "channel", "frequency", "bandwidth", "power at most");
    for (size_t i = 0; i < count && spurity_rules_channel_at(rules, i, &channel); i++) {
        char hz[60], width[60], power[60] = "", line[240];
        spurity_format_frequency(hz, sizeof hz, channel.frequency_hz, 6);
        spurity_format_frequency(width, sizeof width, channel.bandwidth_hz, 6);
        if (channel.power_w > 0.0)
            spurity_format_power(power, sizeof power, channel.power_w);
        int length = snprintf(line, sizeof line, "%-8s %-16s %-10s %s%s%s", channel.number, hz, width, power,
                              channel.power_of >= 0 ? " " : "",
                              channel.power_of >= 0 ? spurity_reference_name((spurity_reference)channel.power_of) : "");
        while (length > 0 && line[length - 1] == ' ')
            line[--length] = '\0';
        printf("%s\n", line);
    }
}

void spurity_cli_rules_tell(const spurity_rules *rules, const spurity_cli_question *question)
{
    spurity_cli_rules_title(rules);
    if (!question->asked.clause)
        print_tables(rules);
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
        if (spurity_rules_question_asks(&question->asked, spurity_rules_clause(rules, i)))
            print_clause(spurity_rules_clause(rules, i));
    printf("\n%s\n", spurity_cli_no_advice);
}
