/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Where the carrier lies in the rules: band, channel, allowed error.  And what the rules say beyond what is asked, or
 * by figures nobody has confirmed: what a pass would be worth. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* A reference nobody said anything of is good to this (unlocked crystal, common practice), as a verdict takes it. */
static const double UNSAID_REFERENCE_PPM = 50.0;

double spurity_plan_reference_ppm(const struct planning *p)
{
    return isnan(p->point->reference_ppm) ? UNSAID_REFERENCE_PPM : p->point->reference_ppm;
}

unsigned spurity_plan_group_bit(const char *group)
{
    for (unsigned bit = 1; bit <= SPURITY_GROUP_MODULATION; bit <<= 1)
        if (!strcmp(group, spurity_group_name(bit)))
            return bit;
    return 0;
}

/* In one of the worlds at least, or not known not to. */
static bool binds_anywhere(const struct planning *p, size_t index, const spurity_clause *clause)
{
    for (size_t w = 0; w < p->worlds[index].count; w++)
        if (spurity_clause_applies(clause, &p->worlds[index].items[w], NULL, 0, NULL, 0) != SPURITY_APPLIES_NO)
            return true;
    return false;
}

/* ---- bands ---- */

struct bands {
    double room_hz;    /* from the carrier to the nearer edge of its band; below 0: out of all */
    double nearest_hz; /* the nearest edge of all; NaN: no band is listed */
};

static void put_bands(const spurity_clause_facts *facts, double hz, struct bands *found)
{
    for (size_t i = 0; i < facts->band_count; i++) {
        double low = facts->bands_hz[2 * i], high = facts->bands_hz[2 * i + 1];
        double edge = fabs(hz - low) < fabs(hz - high) ? low : high;
        found->room_hz = fmax(found->room_hz, fmin(hz - low, high - hz));
        if (isnan(found->nearest_hz) || fabs(hz - edge) < fabs(hz - found->nearest_hz))
            found->nearest_hz = edge;
    }
}

/* Bands of the clauses that bind here; where none does, as for a carrier far off all of them, of every clause. */
static struct bands bands_at(const struct planning *p, size_t index, double hz)
{
    const spurity_rules *rules = p->question->rules[index];
    struct bands found = {-(double)INFINITY, (double)NAN};
    for (int all = 0; all <= 1 && isnan(found.nearest_hz); all++)
        for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
            const spurity_clause *clause = spurity_rules_clause(rules, c);
            spurity_clause_facts facts;
            spurity_clause_facts_of(clause, &facts);
            if (facts.quantity == SPURITY_QUANTITY_BAND && (p->asked & spurity_plan_group_bit(facts.group)) &&
                (all || binds_anywhere(p, index, clause)))
                put_bands(&facts, hz, &found);
        }
    return found;
}

static void misplace(struct planning *p, const char *words)
{
    if (!p->place[0])
        snprintf(p->place, sizeof p->place, "%s", words);
    spurity_plan_block(p, "%s", words);
}

/* In its place, but by a reference that may be off by more than the room there is: a pass would be conditional. */
static spurity_status ask_reference(struct planning *p, const char *place, double room_hz)
{
    char why[200];
    if (spurity_plan_reference_ppm(p) * 1e-6 * p->f0 <= room_hz)
        return SPURITY_OK;
    p->place_open = place;
    snprintf(
        why, sizeof why,
        "whether the set is within its %s is shown by a reference somebody vouches for only; unsaid it is taken as "
        "%.0f ppm, and a pass is conditional",
        place, UNSAID_REFERENCE_PPM);
    return isnan(p->point->reference_ppm) ? spurity_plan_add_need(p, "--reference-ppm", why) : SPURITY_OK;
}

static spurity_status look_at_bands(struct planning *p, size_t index)
{
    struct bands found = bands_at(p, index, p->f0);
    char words[280], at[40], edge[40], width[40];
    bool assumed;
    double wide = spurity_plan_bandwidth(p, &assumed);
    if (isnan(found.nearest_hz))
        return SPURITY_OK;
    spurity_format_frequency(at, sizeof at, p->f0, 7);
    spurity_format_frequency(edge, sizeof edge, found.nearest_hz, 7);
    if (found.room_hz < 0)
        snprintf(words, sizeof words,
                 "%s lies in no band that %.60s lists, the nearest edge of one is %s: look at "
                 "--carrier",
                 at, spurity_rules_id(p->question->rules[index]), edge);
    else if (!assumed && found.room_hz < wide / 2)
        snprintf(words, sizeof words, "at %s a width of %s reaches over the edge of its band in %.60s, %s", at,
                 spurity_format_frequency(width, sizeof width, wide, 4), spurity_rules_id(p->question->rules[index]),
                 edge);
    else
        return assumed ? SPURITY_OK : ask_reference(p, "band", found.room_hz - wide / 2);
    misplace(p, words);
    return SPURITY_OK;
}

/* ---- channels ---- */

static bool wants_channel(const struct planning *p, size_t index)
{
    const spurity_rules *rules = p->question->rules[index];
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        spurity_clause_facts facts;
        spurity_clause_facts_of(spurity_rules_clause(rules, c), &facts);
        if (facts.quantity == SPURITY_QUANTITY_CHANNEL && (p->asked & spurity_plan_group_bit(facts.group)))
            return true;
    }
    return false;
}

static spurity_status look_at_channels(struct planning *p, size_t index)
{
    const spurity_rules *rules = p->question->rules[index];
    spurity_channel channel;
    char words[280], at[40], nearest[40];
    spurity_channel_found found = spurity_rules_channel(rules, p->f0, &channel);
    if (found == SPURITY_CHANNEL_NO_TABLE || !wants_channel(p, index))
        return SPURITY_OK;
    if (found == SPURITY_CHANNEL_ON)
        return ask_reference(p, "channel", channel.bandwidth_hz / 2 - fabs(p->f0 - channel.frequency_hz));
    snprintf(words, sizeof words, "%s is on no channel of %.60s, the nearest is channel %.20s on %s: look at --carrier",
             spurity_format_frequency(at, sizeof at, p->f0, 7), spurity_rules_id(rules), channel.number,
             spurity_format_frequency(nearest, sizeof nearest, channel.frequency_hz, 7));
    misplace(p, words);
    return SPURITY_OK;
}

/* ---- what a pass would be worth ---- */

/* Groups of which the rules speak here; rule sets whose judgements are conditional, as their text was not read. */
static void survey(struct planning *p, size_t index)
{
    const spurity_rules *rules = p->question->rules[index];
    bool unconfirmed = false;
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        const spurity_clause *clause = spurity_rules_clause(rules, c);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        unsigned group = spurity_plan_group_bit(facts.group);
        if (facts.quantity == SPURITY_QUANTITY_NOTE || !binds_anywhere(p, index, clause))
            continue;
        p->spoken |= group;
        unconfirmed = unconfirmed || ((p->asked & group) && !facts.confirmed);
    }
    size_t used = strlen(p->unconfirmed);
    if (unconfirmed)
        snprintf(p->unconfirmed + used, sizeof p->unconfirmed - used, "%s%.40s", used ? ", " : "",
                 spurity_rules_id(rules));
}

/* What was left out on purpose (--only) is not asked for again. */
static spurity_status ask_groups(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    p->unasked = p->point->only ? 0 : p->spoken & ~p->asked;
    if (p->unasked & SPURITY_GROUP_MASK)
        status = spurity_plan_add_need(p, "--modulation",
                                       "the rules have masks or an occupied bandwidth here, which "
                                       "are not asked: --modulation test plans them");
    if (!status && (p->unasked & SPURITY_GROUP_FREQUENCY))
        status = spurity_plan_add_need(p, "--reference-ppm",
                                       "the rules allow a frequency error here, which is not "
                                       "asked: say how good the instrument's reference is");
    return status;
}

spurity_status spurity_plan_place(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    for (size_t r = 0; r < p->question->rules_count && !status; r++) {
        status = look_at_bands(p, r);
        if (!status)
            status = look_at_channels(p, r);
        survey(p, r);
    }
    return status ? status : ask_groups(p);
}

void spurity_plan_tell_worth(const struct planning *p, char *text, size_t size)
{
    static const struct {
        unsigned group;
        const char *name, *by;
    } groups[] = {{SPURITY_GROUP_EMISSIONS, "unwanted emissions", ""},
                  {SPURITY_GROUP_POWER, "power", ""},
                  {SPURITY_GROUP_MASK, "masks", " (--modulation test)"},
                  {SPURITY_GROUP_FREQUENCY, "frequency", " (--reference-ppm)"}};
    enum { GROUPS = sizeof groups / sizeof *groups };
    size_t used = 0, told = 0, last = 0;
    for (size_t i = 0; i < GROUPS; i++)
        if (p->asked & p->spoken & groups[i].group)
            last = i;
    for (size_t i = 0; i < GROUPS && used < size; i++)
        if (p->asked & p->spoken & groups[i].group)
            used += (size_t)snprintf(text + used, size - used, "%s%s",
                                     !told++     ? "a pass could be shown for "
                                     : i == last ? " and "
                                                 : ", ",
                                     groups[i].name);
    if (!told)
        used += (size_t)snprintf(text, size, "no clause sets a figure for what is asked: nothing is judged");
    if (p->unconfirmed[0] && told && used < size)
        used += (size_t)snprintf(text + used, size - used, ", conditional at best, by figures not confirmed (%s)",
                                 p->unconfirmed);
    if (p->place_open && used < size)
        used += (size_t)snprintf(text + used, size - used, "; the %s conditional%s", p->place_open,
                                 isnan(p->point->reference_ppm) ? " until --reference-ppm is said"
                                                                : ", the reference being no better");
    told = 0;
    for (size_t i = 0; i < GROUPS && used < size; i++)
        if (p->unasked & groups[i].group)
            used += (size_t)snprintf(text + used, size - used, "%s%s%s",
                                     told++ ? ", " : "; not asked: ", groups[i].name, groups[i].by);
}

/* ---- the allowed error ---- */

static spurity_status see_error(struct planning *p, size_t index, const spurity_clause *clause,
                                const spurity_limit *limit)
{
    const spurity_conditions *world = &p->worlds[index].items[0];
    double value, ppm = p->point->reference_ppm;
    const char *unit;
    if (!spurity_limit_value(limit, world, p->f0, &value, &unit))
        return SPURITY_OK; /* asked for already */
    spurity_plan_visibility *item = spurity_plan_add_visibility(p);
    if (!item)
        return SPURITY_SYSTEM;
    double allowed = strcmp(unit, "ppm") ? value * 1e6 / p->f0 : value;
    *item = (spurity_plan_visibility){.frequency_hz = p->f0,
                                      .from_hz = p->f0,
                                      .to_hz = p->f0,
                                      .rules = index,
                                      .clause = clause,
                                      .limit_dbm = (double)NAN,
                                      .rbw_hz = (double)NAN,
                                      .floor_dbm = (double)NAN,
                                      .bound_dbm = (double)NAN,
                                      .margin_db = (double)NAN,
                                      .shown = ppm < allowed};
    snprintf(item->what, sizeof item->what, "frequency within %.3g ppm", allowed);
    if (item->shown)
        return SPURITY_OK;
    if (isnan(ppm))
        snprintf(item->advice, sizeof item->advice, "say --reference-ppm: how good the instrument's reference is");
    else
        snprintf(item->advice, sizeof item->advice,
                 "a reference good to %.3g ppm shows no error of %.3g ppm: one that is better, by a factor of three or "
                 "more",
                 ppm, allowed);
    spurity_plan_block(p, "%s: %s", item->what, item->advice);
    return SPURITY_OK;
}

spurity_status spurity_plan_see_frequency(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    for (size_t r = 0; r < p->question->rules_count; r++)
        for (size_t c = 0; c < spurity_rules_clause_count(p->question->rules[r]) && !status; c++) {
            const spurity_clause *clause = spurity_rules_clause(p->question->rules[r], c);
            spurity_clause_facts facts;
            spurity_clause_facts_of(clause, &facts);
            if (facts.quantity == SPURITY_QUANTITY_FREQUENCY_ERROR && facts.limit &&
                (p->asked & spurity_plan_group_bit(facts.group)) && binds_anywhere(p, r, clause))
                status = see_error(p, r, clause, facts.limit);
        }
    return status;
}
