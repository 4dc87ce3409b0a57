/* SPDX-License-Identifier: GPL-2.0-or-later */
/* spurity rules: the known rule sets, a set in plain words, what it allows one transmitter, and the lint. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli.h"

enum { PLACES_MOST = 64 };

static const char caution[] = "No legal advice: local rules and accredited laboratories decide.";

/** What the arguments ask. */
struct question {
    const char *set, *clause, *lint, *json; /* clause: only those of this name */
    bool about_transmitter;                 /* any option that describes one */
    bool bandwidth_assumed;
    spurity_conditions conditions;
    size_t place_count;
    double place_hz[PLACES_MOST];
};

/* ---- reading the question ------------------------------------------------------------------------ */

static spurity_status bad(spurity_error *error, const char *found, const char *expected)
{
    spurity_place nowhere = {0};
    return spurity_report(error, SPURITY_INVALID, nowhere, found, expected, "'spurity help rules' tells more");
}

/** PEP and mean power are one for angle modulation; otherwise each stays as told. */
static spurity_status take_power(const spurity_test_point *point, spurity_conditions *conditions, spurity_error *error)
{
    bool angle = spurity_emission_is_angle_modulated(point->emission), told = point->power_low_w > 0.0;
    if (told && point->power_high_w > point->power_low_w)
        return bad(error, "a range for --power", "one power");
    if (told && (point->power_is_pep || angle))
        conditions->pep_w = point->power_low_w;
    if (told && (!point->power_is_pep || angle))
        conditions->mean_power_w = conditions->carrier_power_w = point->power_low_w;
    return SPURITY_OK;
}

static spurity_status take_conditions(const spurity_test_point *point, struct question *question, spurity_error *error)
{
    spurity_conditions *conditions = &question->conditions;
    spurity_conditions_init(conditions);
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
static spurity_status take_places(const char *rest, struct question *question, spurity_error *error)
{
    spurity_place nowhere = {0};
    while (rest) {
        char text[60];
        size_t length = strcspn(rest, ",");
        double hz = 0.0;
        if (!length || length >= sizeof text || question->place_count == PLACES_MOST)
            return bad(error, "an empty or overlong entry for --at", "up to 64 frequencies such as 293.88M,+12.5k");
        memcpy(text, rest, length);
        text[length] = '\0';
        spurity_status status = spurity_parse_frequency(text, "--at", nowhere, &hz, error);
        if (status)
            return status;
        bool offset = text[0] == '+' || text[0] == '-';
        if (offset && !(question->conditions.carrier_hz > 0.0))
            return bad(error, "an offset for --at without a carrier", "--carrier beside it");
        question->place_hz[question->place_count++] = offset ? question->conditions.carrier_hz + hz : hz;
        rest = rest[length] == ',' ? rest + length + 1 : NULL;
    }
    return SPURITY_OK;
}

static spurity_status take_question(const spurity_cli_settings *settings, struct question *question,
                                    spurity_error *error)
{
    question->set = settings->operand_count ? settings->operands[0] : NULL;
    question->clause = settings->operand_count > 1 ? settings->operands[1] : NULL;
    question->lint = settings->lint;
    question->json = settings->json;
    for (size_t i = 0; i < settings->said_count; i++) {
        const char *name = settings->said[i].option->name;
        question->about_transmitter |= strcmp(name, "lint") && strcmp(name, "json");
    }
    if (settings->operand_count > 2)
        return bad(error, "more than a rule set and a clause", "one rule set, and one of its clauses");
    if (question->lint && question->set)
        return bad(error, "--lint beside a rule set", "--lint FILE alone");
    if ((question->about_transmitter || question->json) && !question->set)
        return bad(error, "no rule set", "a rule set first, as 'spurity rules us-amateur --carrier 146.94M'");
    spurity_status status = take_conditions(&settings->point, question, error);
    return status ? status : take_places(settings->at, question, error);
}

enum { COLUMN = 12, WIDTH = 100 };

/** Words from `column` on, broken at blanks before WIDTH. */
static void print_wrapped(const char *text, int column)
{
    int at = column;
    for (const char *word = text + strspn(text, " "); *word;) {
        int length = (int)strcspn(word, " ");
        if (at > column && at + 1 + length > WIDTH) {
            printf("\n%*s", column, "");
            at = column;
        }
        printf("%s%.*s", at > column ? " " : "", length, word);
        at += length + (at > column);
        word += length + (int)strspn(word + length, " ");
    }
    printf("\n");
}

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

static spurity_status list_sets(spurity_error *error)
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
        print_wrapped(spurity_rules_edition(rules), 27);
        spurity_rules_free(rules);
    }
    printf(
        "\nConfirmed: of so many clauses the text was read. 'spurity rules ID' tells a set's clauses, 'spurity rules "
        "ID CLAUSE'\none of them; a file of your own serves wherever an id does (./mine.yaml).\n%s\n",
        caution);
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
    print_wrapped(text, COLUMN);
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

static void print_clause(const spurity_clause *clause)
{
    char text[1200];
    spurity_clause_facts facts;
    spurity_clause_facts_of(clause, &facts);
    printf("\n%s  %s, group %s, %s\n", facts.clause, spurity_quantity_limited_name(facts.quantity), facts.group,
           facts.confirmed ? "confirmed (the text was read)" : "unverified");
    print_field("source", facts.citation);
    print_field(facts.confirmed ? "text read" : "from", facts.edition);
    print_field("says", facts.says);
    spurity_clause_describe_conditions(clause, text, sizeof text);
    print_field("binds", *text ? text : "every transmitter of the service");
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

static void print_title(const spurity_rules *rules)
{
    printf("%s: %s\n%s\n", spurity_rules_id(rules), spurity_rules_title(rules), spurity_rules_edition(rules));
}

/** "97.307" asks for all its paragraphs, "97.307(e)" for that one; NULL for every clause. */
static bool is_asked(const spurity_clause *clause, const char *name)
{
    spurity_clause_facts facts;
    if (!name)
        return true;
    size_t length = strlen(name);
    spurity_clause_facts_of(clause, &facts);
    return !strncmp(facts.clause, name, length) && (!facts.clause[length] || facts.clause[length] == '(');
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

static spurity_status check_clause(const spurity_rules *rules, const char *name, spurity_error *error)
{
    char found[120], names[800] = "";
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_clause_facts facts;
        if (is_asked(spurity_rules_clause(rules, i), name))
            return SPURITY_OK;
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        size_t used = strlen(names);
        if (!is_named_before(rules, i, facts.clause) && used + strlen(facts.clause) + 2 < sizeof names)
            snprintf(names + used, sizeof names - used, "%s%s", used ? ", " : "", facts.clause);
    }
    snprintf(found, sizeof found, "clause '%.60s'", name);
    return bad(error, found, names);
}

/** A kind of station the file's clauses do not know would settle nothing. */
static spurity_status check_station(const spurity_rules *rules, const char *station, spurity_error *error)
{
    char allowed[200], found[100];
    if (!station || spurity_rules_knows_station(rules, station, allowed, sizeof allowed) || !allowed[0])
        return SPURITY_OK;
    snprintf(found, sizeof found, "--station '%.60s'", station);
    return bad(error, found, allowed);
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

static void print_all(const spurity_rules *rules, const struct question *question)
{
    print_title(rules);
    if (!question->clause)
        print_tables(rules);
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
        if (is_asked(spurity_rules_clause(rules, i), question->clause))
            print_clause(spurity_rules_clause(rules, i));
    printf("\n%s\n", caution);
}

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
    char place[60], level[40], power[60], below[40] = "", width[60], words[160];
    double dbm = NAN, reference_hz = spurity_clause_reference_bandwidth(meeting->clause, hz);
    spurity_format_frequency(place, sizeof place, hz, 6);
    if (!spurity_clause_covers(meeting->clause, conditions, hz)) {
        printf("    at %-14s no figure here\n", place);
        return;
    }
    if (!allowed_at(meeting, conditions, hz, &dbm, words, sizeof words)) {
        printf("    at %-14s a figure needs %s\n", place, meeting->needs[0] ? meeting->needs : "more than was said");
        return;
    }
    spurity_format_db(level, sizeof level, dbm);
    spurity_format_power(power, sizeof power, spurity_watts_from_dbm(dbm));
    if (conditions->mean_power_w > 0.0) {
        char dbc[30];
        spurity_format_db(dbc, sizeof dbc, dbm - spurity_dbm_from_watts(conditions->mean_power_w));
        snprintf(below, sizeof below, ", %s dBc", dbc);
    }
    printf("    at %-14s %s dBm, %s%s", place, level, power, below);
    if (reference_hz > 0.0)
        printf(", in %s", spurity_format_frequency(width, sizeof width, reference_hz, 6));
    printf("; binding: %s\n", words);
}

/** Default places: the second and third harmonic, of clauses that reach there. */
static void print_levels(const struct meeting *meeting, const struct question *question)
{
    char edge[60];
    double inner = spurity_clause_inner_edge(meeting->clause, &question->conditions);
    if (inner > 0.0)
        printf("    beyond %s from the centre\n", spurity_format_frequency(edge, sizeof edge, inner, 6));
    for (size_t i = 0; i < question->place_count; i++)
        print_level(meeting, &question->conditions, question->place_hz[i]);
    double carrier = question->conditions.carrier_hz;
    for (int order = 2; order <= 3 && !question->place_count && carrier > 0.0; order++)
        if (spurity_clause_covers(meeting->clause, &question->conditions, order * carrier))
            print_level(meeting, &question->conditions, order * carrier);
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

static void print_meeting(const struct meeting *meeting, const struct question *question)
{
    static const char *const words[] = {"does not bind", "binds", "is open"};
    char heading[500], exemption[160];
    snprintf(heading, sizeof heading, "%s %s%s: %s", meeting->facts.citation, words[meeting->applies],
             meeting->facts.confirmed ? "" : " (unverified)", meeting->why);
    printf("\n  ");
    print_wrapped(heading, 2);
    printf("    ");
    print_wrapped(meeting->facts.says, 4);
    spurity_clause_exemption(meeting->clause, exemption, sizeof exemption);
    if (*exemption)
        printf("    exempt would be a transmitter %s\n", exemption);
    if (meeting->applies == SPURITY_APPLIES_UNKNOWN && meeting->facts.limit)
        printf("    if it binds:\n");
    if (is_spectral(meeting))
        print_levels(meeting, question);
    else if (meeting->facts.quantity == SPURITY_QUANTITY_BAND)
        print_band_answer(meeting, &question->conditions);
    else if (meeting->facts.limit)
        print_cap(meeting, &question->conditions);
}

static void print_assumptions(const struct question *question)
{
    char text[60];
    const spurity_conditions *conditions = &question->conditions;
    if (conditions->carrier_hz > 0.0)
        printf("carrier %s", spurity_format_frequency(text, sizeof text, conditions->carrier_hz, 6));
    else
        printf("carrier not said");
    if (conditions->mean_power_w > 0.0)
        printf(", mean power %s", spurity_format_power(text, sizeof text, conditions->mean_power_w));
    else if (conditions->pep_w > 0.0)
        printf(", PEP %s", spurity_format_power(text, sizeof text, conditions->pep_w));
    else
        printf(", power not said");
    printf(", necessary bandwidth %s%s\n",
           spurity_format_frequency(text, sizeof text, conditions->necessary_bandwidth_hz, 6),
           question->bandwidth_assumed ? " (assumed; --emission tells it)" : "");
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

static size_t print_part(const spurity_rules *rules, const struct question *question, enum answer_part part)
{
    size_t count = 0;
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        struct meeting meeting = meet(spurity_rules_clause(rules, i), &question->conditions);
        if (part_of(&meeting) != part || !is_asked(meeting.clause, question->clause))
            continue;
        count++;
        if (part != PART_NOT) {
            print_meeting(&meeting, question);
            continue;
        }
        char line[500];
        snprintf(line, sizeof line, "%s: %s", meeting.facts.citation, meeting.why);
        printf("%s    ", count == 1 ? "\n  Does not bind\n" : "");
        print_wrapped(line, 4);
    }
    return count;
}

static void print_answer(const spurity_rules *rules, const struct question *question)
{
    print_title(rules);
    print_assumptions(question);
    print_table_answers(rules, &question->conditions);
    size_t figures = print_part(rules, question, PART_EMISSIONS);
    size_t open = print_part(rules, question, PART_OPEN);
    if (!figures && !open && !question->clause)
        printf("\n  No clause of this set sets a figure for unwanted emissions of this transmitter.\n");
    print_part(rules, question, PART_OTHER);
    print_part(rules, question, PART_WORDS);
    print_part(rules, question, PART_NOT);
    printf("\n%s\n", caution);
}

/* ---- JSON (contract: "spurity-rules") ------------------------------------------------------------ */

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *text_or_null(const char *text)
{
    return text ? json_string(text) : json_null();
}

static double rounded(double value, double step)
{
    return isfinite(value) ? round(value / step) * step : NAN;
}

/** "--a --b" as a list. */
static json_t *needs_list(const char *needs)
{
    json_t *list = json_array();
    while (*needs) {
        size_t length = strcspn(needs, " ");
        json_array_append_new(list, json_stringn(needs, length));
        needs += length + strspn(needs + length, " ");
    }
    return list;
}

/** Whether all clauses of this name that are not excluded allow the same level here: then an open one may be told. */
static bool branches_agree(const spurity_rules *rules, const char *name, const spurity_conditions *conditions,
                           double hz, double dbm)
{
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        char words[160];
        double other = NAN;
        struct meeting meeting = meet(spurity_rules_clause(rules, i), conditions);
        if (strcmp(meeting.facts.clause, name) || meeting.applies == SPURITY_APPLIES_NO || !is_spectral(&meeting))
            continue;
        if (!allowed_at(&meeting, conditions, hz, &other, words, sizeof words) || fabs(other - dbm) > 1e-9)
            return false;
    }
    return true;
}

static json_t *json_allowed(const spurity_rules *rules, const struct meeting *meeting, const struct question *question,
                            double hz)
{
    const spurity_conditions *conditions = &question->conditions;
    char words[160];
    double dbm = NAN;
    bool told =
        meeting->applies != SPURITY_APPLIES_NO && allowed_at(meeting, conditions, hz, &dbm, words, sizeof words);
    if (told && meeting->applies == SPURITY_APPLIES_UNKNOWN)
        told = branches_agree(rules, meeting->facts.clause, conditions, hz, dbm);
    dbm = told ? dbm : NAN;
    double dbc = dbm - spurity_dbm_from_watts(conditions->mean_power_w);
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "frequency_hz", number(rounded(hz, 1e-3)), "offset_hz",
                     number(rounded(hz - conditions->carrier_hz, 1e-3)), "level_dbm", number(rounded(dbm, 1e-3)),
                     "power_w", number(told ? spurity_watts_from_dbm(dbm) : NAN), "level_dbc",
                     number(rounded(dbc, 1e-3)), "reference_bandwidth_hz",
                     number(spurity_clause_reference_bandwidth(meeting->clause, hz)), "binding",
                     text_or_null(told ? words : NULL));
}

/** The one figure of a clause that has no place in the spectrum, and its unit. */
static double figure_of(const struct meeting *meeting, const spurity_conditions *conditions, const char **unit)
{
    const spurity_limit *limit = meeting->facts.limit;
    const char *own = NULL;
    double value = NAN;
    *unit = NULL;
    if (!limit || is_spectral(meeting))
        return NAN;
    if (!spurity_limit_value(limit, conditions, conditions->carrier_hz, &value, &own))
        return NAN;
    *unit = own;
    if (!strcmp(own, "ppm")) { /* as a figure in Hz */
        *unit = "Hz";
        return value * 1e-6 * conditions->carrier_hz;
    }
    if (strncmp(own, "dBm", 3))
        return value;
    *unit = !strcmp(own, "dBm PEP") ? "W PEP" : !strcmp(own, "dBm ERP") ? "W ERP" : "W";
    return spurity_watts_from_dbm(value);
}

static json_t *json_clause(const spurity_rules *rules, const spurity_clause *clause, const struct question *question)
{
    struct meeting meeting = meet(clause, &question->conditions);
    const char *unit = NULL;
    double figure = figure_of(&meeting, &question->conditions, &unit);
    json_t *allowed = json_array();
    for (size_t i = 0; i < question->place_count; i++)
        json_array_append_new(allowed, json_allowed(rules, &meeting, question, question->place_hz[i]));
    json_t *applies =
        meeting.applies == SPURITY_APPLIES_UNKNOWN ? json_null() : json_boolean(meeting.applies == SPURITY_APPLIES_YES);
    return json_pack("{s:s, s:s, s:s, s:s, s:s, s:o, s:s, s:o, s:o, s:o, s:o, s:o}", "clause", meeting.facts.clause,
                     "citation", meeting.facts.citation, "status", meeting.facts.confirmed ? "confirmed" : "unverified",
                     "group", meeting.facts.group, "quantity", spurity_quantity_limited_name(meeting.facts.quantity),
                     "applies", applies, "why", meeting.why, "needs", needs_list(meeting.needs), "figure",
                     number(figure), "unit", text_or_null(unit), "detector", text_or_null(meeting.facts.detector),
                     "allowed", allowed);
}

/** The channel the carrier is on, with the bandwidth its emission is authorised; null off every channel. */
static json_t *json_channel(const spurity_rules *rules, const spurity_conditions *conditions)
{
    spurity_channel channel;
    spurity_conditions untold = *conditions;
    double authorised = NAN;
    if (spurity_rules_channel(rules, conditions->carrier_hz, &channel) != SPURITY_CHANNEL_ON)
        return json_null();
    untold.bandwidth_hz = NAN;
    spurity_rules_bandwidth(rules, &untold, &authorised);
    return json_pack("{s:s, s:s, s:o, s:o}", "service", spurity_rules_id(rules), "number", channel.number,
                     "frequency_hz", number(rounded(channel.frequency_hz, 1e-3)), "bandwidth_hz",
                     number(rounded(authorised, 1e-3)));
}

static json_t *json_bandwidth(const spurity_rules *rules, const spurity_conditions *conditions)
{
    static const char *const sources[] = {
        NULL, "as told", "told, authorised", "told, channel width", "of the channel", "the one of the service"};
    double authorised = NAN;
    spurity_bandwidth_source source = spurity_rules_bandwidth(rules, conditions, &authorised);
    if (source == SPURITY_BANDWIDTH_UNKNOWN)
        return json_null();
    return json_pack("{s:o, s:s}", "authorised_hz", number(rounded(authorised, 1e-3)), "source", sources[source]);
}

static json_t *json_investigated(const spurity_rules *rules, const spurity_conditions *conditions)
{
    spurity_rules_span span;
    if (!spurity_rules_investigated(rules, conditions->carrier_hz, &span))
        return json_null();
    return json_pack("{s:o, s:o, s:s, s:s}", "from_hz", number(span.from_hz), "to_hz",
                     number(rounded(span.to_hz, 1e-3)), "citation", span.citation, "status",
                     span.confirmed ? "confirmed" : "unverified");
}

static json_t *json_answer(const spurity_rules *rules, const struct question *question)
{
    json_t *clauses = json_array();
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++)
        if (is_asked(spurity_rules_clause(rules, i), question->clause))
            json_array_append_new(clauses, json_clause(rules, spurity_rules_clause(rules, i), question));
    const spurity_conditions *conditions = &question->conditions;
    return json_pack("{s:s, s:i, s:{s:s, s:s, s:s}, s:o, s:o, s:o, s:b, s:o}", "format", "spurity-rules", "version", 1,
                     "rules", "id", spurity_rules_id(rules), "title", spurity_rules_title(rules), "edition",
                     spurity_rules_edition(rules), "channel", json_channel(rules, conditions), "bandwidth",
                     json_bandwidth(rules, conditions), "investigated", json_investigated(rules, conditions),
                     "antenna_fixed", spurity_rules_antenna_fixed(rules), "clauses", clauses);
}

static spurity_status write_json(const spurity_rules *rules, const struct question *question, spurity_error *error)
{
    json_t *root = json_answer(rules, question);
    char *text = root ? json_dumps(root, JSON_INDENT(1) | JSON_REAL_PRECISION(12)) : NULL;
    json_decref(root);
    if (!text)
        return spurity_report_memory(error);
    spurity_status status = spurity_cli_write(question->json, text, strlen(text), error);
    free(text);
    if (!status && !strcmp(question->json, "-"))
        putchar('\n');
    return status;
}

/* ---- lint ---------------------------------------------------------------------------------------- */

struct lint_talk {
    const char *file;
    size_t doubts;
};

static void print_remark(void *user, const spurity_rule_remark *remark)
{
    struct lint_talk *talk = user;
    printf("%s, line %lu: %s\n", talk->file, remark->line, remark->text);
    talk->doubts++;
}

static spurity_status lint(const char *file, spurity_error *error)
{
    spurity_rules *rules = NULL;
    struct lint_talk talk = {file, 0};
    spurity_status status = spurity_rules_load(file, &rules, error);
    if (status)
        return status;
    spurity_rules_lint(rules, print_remark, &talk);
    printf("%s: %zu clauses, %zu doubt%s\n", file, spurity_rules_clause_count(rules), talk.doubts,
           talk.doubts == 1 ? "" : "s");
    spurity_rules_free(rules);
    return SPURITY_OK;
}

/* ---- the command --------------------------------------------------------------------------------- */

static spurity_status answer(const struct question *question, spurity_error *error)
{
    spurity_rules *rules = NULL;
    if (question->lint)
        return lint(question->lint, error);
    if (!question->set)
        return list_sets(error);
    spurity_status status = spurity_rules_load(question->set, &rules, error);
    if (status)
        return status;
    if (question->clause)
        status = check_clause(rules, question->clause, error);
    if (!status)
        status = check_station(rules, question->conditions.station, error);
    bool only_json = question->json && !strcmp(question->json, "-");
    if (!status && question->json)
        status = write_json(rules, question, error);
    if (!status && !only_json)
        (question->about_transmitter ? print_answer : print_all)(rules, question);
    spurity_rules_free(rules);
    return status;
}

int spurity_cli_rules(int argc, char **argv)
{
    spurity_cli_settings settings;
    struct question question = {0};
    spurity_error error = {0};
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_RULES);
    spurity_status status = spurity_cli_parse(&settings, argc, argv, &error);
    if (!status)
        status = take_question(&settings, &question, &error);
    if (!status)
        status = answer(&question, &error);
    int exit_status = status ? spurity_cli_fail(&error) : SPURITY_EXIT_PASS;
    spurity_cli_settings_release(&settings);
    return exit_status;
}
