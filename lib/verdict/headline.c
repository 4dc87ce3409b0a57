/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

enum {
    ALL_GROUPS = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER | SPURITY_GROUP_MASK | SPURITY_GROUP_FREQUENCY |
                 SPURITY_GROUP_MODULATION
};

struct sentence {
    char *text;
    size_t size, used;
};

SPURITY_PRINTF(2, 3)
static void say(struct sentence *sentence, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    int wrote = vsnprintf(sentence->text + sentence->used, sentence->size - sentence->used, format, list);
    va_end(list);
    if (wrote > 0)
        sentence->used =
            sentence->used + (size_t)wrote < sentence->size ? sentence->used + (size_t)wrote : sentence->size - 1;
}

/* Ends of a range, to five figures. */
static const char *range_words(char *text, size_t size, double hz)
{
    return spurity_format_frequency_near(text, size, hz, hz / 5e3);
}

static const char *group_words(unsigned group)
{
    return group == SPURITY_GROUP_EMISSIONS ? "unwanted emissions" : spurity_group_name(group);
}

/* "unwanted emissions, power and mask". */
static void say_groups(struct sentence *sentence, unsigned groups)
{
    unsigned left = groups;
    bool first = true;
    for (unsigned bit = 1; left; bit <<= 1) {
        if (!(left & bit))
            continue;
        left &= ~bit;
        say(sentence, "%s%s", first ? "" : left ? ", " : " and ", group_words(bit));
        first = false;
    }
}

static void say_range(struct sentence *sentence, const struct judging *j)
{
    char from[40], to[40];
    const spurity_verdict *v = j->verdict;
    if (!isnan(j->point->beyond_hz))
        say(sentence, ", further than %s from the carrier",
            spurity_format_frequency(from, sizeof from, j->point->beyond_hz, 6));
    if (isnan(j->point->range_from_hz))
        return;
    say(sentence, ", %s to %s", range_words(from, sizeof from, j->from_hz), range_words(to, sizeof to, j->to_hz));
    if (v->left_out_count == 1)
        say(sentence, " (harmonic %d not looked at)", v->left_out[0]);
    if (v->left_out_count < 2)
        return;
    bool run = v->left_out[v->left_out_count - 1] - v->left_out[0] == (int)v->left_out_count - 1;
    say(sentence, " (harmonics %d", v->left_out[0]);
    for (size_t i = 1; i < v->left_out_count; i++)
        if (!run || i + 1 == v->left_out_count)
            say(sentence, "%s%d", i + 1 < v->left_out_count ? ", " : run ? " to " : " and ", v->left_out[i]);
    say(sentence, " not looked at)");
}

/* The judgement that stands nearest to (or furthest over) its limit among those of an outcome; NULL when there is none.
 */
static const spurity_judgement *leading(const struct judging *j, spurity_outcome outcome)
{
    const spurity_verdict *v = j->verdict;
    const spurity_judgement *best = NULL;
    for (size_t i = 0; i < v->judgement_count; i++) {
        const spurity_judgement *one = &v->judgements[i];
        if (one->rules == j->rules_index && one->outcome == outcome &&
            (!best || one->margin < best->margin || isnan(best->margin)))
            best = one;
    }
    return best;
}

/* Whether a judgement that made the outcome what it is stands on figures not confirmed. */
static bool by_unconfirmed(const struct judging *j, spurity_outcome outcome)
{
    const spurity_verdict *v = j->verdict;
    for (size_t i = 0; i < v->judgement_count; i++)
        if (v->judgements[i].rules == j->rules_index && v->judgements[i].outcome == outcome &&
            !v->judgements[i].confirmed)
            return true;
    return false;
}

/* Where the carrier must stand: "the band", "its channel"; NULL for what has a figure of its own. */
static const char *place_of(const spurity_judgement *judgement)
{
    spurity_clause_facts facts;
    spurity_clause_facts_of(judgement->clause, &facts);
    bool channel = facts.quantity == SPURITY_QUANTITY_CHANNEL && !strcmp(judgement->unit, "Hz");
    return channel ? "its channel" : facts.quantity == SPURITY_QUANTITY_BAND ? "the band" : NULL;
}

static void say_where(struct sentence *sentence, const struct judging *j, const spurity_judgement *judgement)
{
    char hz[40];
    const spurity_emission *e =
        judgement->emission >= 0 ? spurity_measurement_emission(j->measurement, (size_t)judgement->emission) : NULL;
    spurity_format_frequency_near(hz, sizeof hz, judgement->frequency_hz,
                                  e ? fmax(e->rbw_hz / SPURITY_RBW_PARTS, e->frequency_uncertainty_hz) : 1);
    if (e && e->kind == SPURITY_HARMONIC)
        say(sentence, "harmonic %d at %s", e->order, hz);
    else if (e)
        say(sentence, "an emission at %s", hz);
    else if (place_of(judgement))
        say(sentence, "the carrier at %s is", hz);
    else
        say(sentence, "%s at %s", judgement->quantity, hz);
}

static void say_margin(struct sentence *sentence, const spurity_judgement *judgement)
{
    spurity_clause_facts facts;
    char size[40];
    spurity_clause_facts_of(judgement->clause, &facts);
    bool hertz = !strcmp(judgement->unit, "Hz");
    if (hertz)
        spurity_format_frequency(size, sizeof size, fabs(judgement->margin), 3);
    else
        snprintf(size, sizeof size, "%.1f dB", fabs(judgement->margin));
    const char *place = place_of(judgement);
    if (place)
        say(sentence, " %s %s %s (%s)", size, judgement->margin < 0 ? "off" : "inside", place, facts.clause);
    else
        say(sentence, " %s %s %s", size, judgement->margin < 0 ? "over" : "inside", facts.clause);
    if (judgement->outcome == SPURITY_OUTCOME_CONDITIONAL_PASS ||
        judgement->outcome == SPURITY_OUTCOME_CONDITIONAL_FAIL) {
        if (hertz)
            spurity_format_frequency(size, sizeof size, judgement->uncertainty, 3);
        else
            snprintf(size, sizeof size, "%.1f dB", judgement->uncertainty);
        if (fabs(judgement->margin) <= judgement->uncertainty)
            say(sentence, ", less than the uncertainty of %s", size);
    }
}

/* What of the spectrum is not shown over the widest stretch, else the first that is about no spectrum; what was left
 * out on the user's word is not among them.  *count: how many there are. */
static const spurity_not_shown *widest_not_shown(const struct judging *j, size_t *count)
{
    const spurity_verdict *v = j->verdict;
    const spurity_not_shown *best = NULL;
    for (size_t i = 0; i < v->not_shown_count; i++) {
        const spurity_not_shown *one = &v->not_shown[i];
        if (one->rules != j->rules_index || (!strcmp(one->reason, "range") && !one->clause))
            continue;
        ++*count;
        double width = one->to_hz - one->from_hz;
        if (!best || (isnan(best->from_hz) && !isnan(width)) || width > best->to_hz - best->from_hz)
            best = one;
    }
    return best;
}

/* What was seen and reads furthest over a limit, although it decides nothing yet (the power or a date is open); NULL
 * when nothing does.  Bounds are no readings. */
static const spurity_judgement *seen_over(const struct judging *j)
{
    const spurity_verdict *v = j->verdict;
    const spurity_judgement *worst = NULL;
    for (size_t i = 0; i < v->judgement_count; i++) {
        const spurity_judgement *one = &v->judgements[i];
        if (one->rules != j->rules_index || one->emission < 0 || !(one->margin < 0) ||
            (worst && one->margin >= worst->margin))
            continue;
        const spurity_emission *e = spurity_measurement_emission(j->measurement, (size_t)one->emission);
        if (e->trustworthy && !spurity_verdict_bounds_only(e))
            worst = one;
    }
    return worst;
}

/* What reads furthest over a limit and may be the receiver's own, or not the set's; NULL when nothing does. */
static const spurity_judgement *artefact_over(const struct judging *j)
{
    const spurity_verdict *v = j->verdict;
    const spurity_judgement *worst = NULL;
    for (size_t i = 0; i < v->judgement_count; i++) {
        const spurity_judgement *one = &v->judgements[i];
        if (one->rules != j->rules_index || one->emission < 0 || one->outcome != SPURITY_OUTCOME_NOT_SHOWN ||
            !(one->margin < 0) || (worst && one->margin >= worst->margin))
            continue;
        const spurity_emission *e = spurity_measurement_emission(j->measurement, (size_t)one->emission);
        bool doubted = e->kind == SPURITY_ARTEFACT || e->kind == SPURITY_AMBIENT || e->clipped;
        if (e->seen && (doubted || e->leaked || e->own_covers))
            worst = one;
    }
    return worst;
}

static void say_artefact(struct sentence *sentence, const struct judging *j, const spurity_judgement *over)
{
    char advice[280], at[40];
    const spurity_emission *e = spurity_measurement_emission(j->measurement, (size_t)over->emission);
    spurity_format_frequency_near(at, sizeof at, e->frequency_hz,
                                  fmax(e->rbw_hz / SPURITY_RBW_PARTS, e->frequency_uncertainty_hz));
    const char *reason;
    if (!spurity_verdict_doubt(e, at, &reason, advice, sizeof advice))
        spurity_verdict_advise_artefact(j, e, at, advice, sizeof advice);
    say(sentence, ":");
    say_margin(sentence, over);
    say(sentence, ", but %s", advice);
}

static void say_not_shown(struct sentence *sentence, const struct judging *j)
{
    char from[40], to[40];
    size_t count = 0;
    const spurity_not_shown *first = widest_not_shown(j, &count);
    const spurity_judgement *over = seen_over(j), *artefact = over ? NULL : artefact_over(j);
    if (artefact) {
        say_artefact(sentence, j, artefact);
        if (count > 1)
            say(sentence, " (and %zu more)", count - 1);
        return;
    }
    if (over) {
        say(sentence, ": ");
        say_where(sentence, j, over);
        say(sentence, " reads over a limit that may bind,");
        say_margin(sentence, over);
    } else if (j->verdict->rules[j->rules_index].groups & SPURITY_GROUP_EMISSIONS) {
        say(sentence, ": nothing over the limit from %s to %s where it could be seen",
            range_words(from, sizeof from, j->from_hz), range_words(to, sizeof to, j->to_hz));
    } else {
        say(sentence, " for ");
        say_groups(sentence, j->verdict->rules[j->rules_index].groups);
    }
    if (!first)
        return;
    if (!strcmp(first->reason, "not-swept") || !strcmp(first->reason, "hidden"))
        say(sentence, "; %s", first->advice);
    else if (!isnan(first->from_hz) &&
             strcmp(range_words(from, sizeof from, first->from_hz), range_words(to, sizeof to, first->to_hz)) != 0)
        say(sentence, "; %s to %s: %s", from, to, first->advice);
    else if (!isnan(first->from_hz))
        say(sentence, "; about %s: %s", from, first->advice);
    else
        say(sentence, "; %s", first->advice);
    if (count > 1)
        say(sentence, " (and %zu more)", count - 1);
}

static void say_no_limit(struct sentence *sentence, const struct judging *j)
{
    const spurity_verdict *v = j->verdict;
    char hz[40];
    spurity_format_frequency_near(hz, sizeof hz, j->carrier->frequency_hz, j->carrier->rbw_hz / SPURITY_RBW_PARTS);
    if (v->told_count == j->first_told) {
        say(sentence, ": these rules have no clause on ");
        say_groups(sentence, v->asked);
        say(sentence, " of a carrier at %s", hz);
        return;
    }
    spurity_clause_facts facts;
    spurity_clause_facts_of(v->told[v->told_count - 1], &facts);
    say(sentence, ": %s gives no figure for unwanted emissions of a carrier at %s; nothing is borrowed", facts.clause,
        hz);
}

/* Doubts that could turn the answer stand in the headline, not only among the warnings. */
static void say_doubts(struct sentence *sentence, const struct judging *j)
{
    static const struct {
        spurity_note_code code;
        const char *words;
    } doubts[] = {
        {SPURITY_NOTE_METER_DISAGREES, "meter and chain disagree"},
        {SPURITY_NOTE_OVERLAP_DISAGREES, "files disagree"},
        {SPURITY_NOTE_POWER_IMPLAUSIBLE, "the carrier's power is implausible"},
        {SPURITY_NOTE_NEAR_DAMAGE, "power near what the bench bears"},
    };
    for (size_t i = 0; i < sizeof doubts / sizeof *doubts; i++)
        if (spurity_notes_has(spurity_measurement_notes(j->measurement), doubts[i].code))
            say(sentence, "; %s", doubts[i].words);
}

/* Levels that decide and may be the receiver's own stand as "at most". */
static bool front_end_unproven(const struct judging *j)
{
    const spurity_verdict *v = j->verdict;
    for (size_t i = 0; i < v->judgement_count; i++) {
        const spurity_judgement *one = &v->judgements[i];
        const spurity_emission *e = one->rules == j->rules_index && one->emission >= 0
                                        ? spurity_measurement_emission(j->measurement, (size_t)one->emission)
                                        : NULL;
        if (e && e->seen && e->front_end_unproven)
            return true;
    }
    return false;
}

/* Groups that pass while another decides. */
static unsigned groups_passing(const struct judging *j)
{
    const spurity_verdict *v = j->verdict;
    unsigned others = 0, judged = v->rules[j->rules_index].groups;
    for (size_t i = 0; i < v->judgement_count; i++)
        for (unsigned bit = 1; bit && bit <= ALL_GROUPS; bit <<= 1)
            if (v->judgements[i].rules == j->rules_index && v->judgements[i].outcome != SPURITY_OUTCOME_PASS &&
                !strcmp(v->judgements[i].group, spurity_group_name(bit)))
                others |= bit;
    return judged & ~others;
}

static void say_passing(struct sentence *sentence, const struct judging *j)
{
    unsigned passing = groups_passing(j);
    if (!passing || j->verdict->rules[j->rules_index].outcome <= SPURITY_OUTCOME_NO_LIMIT)
        return;
    say(sentence, "; ");
    say_groups(sentence, passing);
    /* "power passes", but "power and mask pass", "unwanted emissions pass" */
    say(sentence, passing & (passing - 1) || passing == SPURITY_GROUP_EMISSIONS ? " pass" : " passes");
}

static void say_rest(struct sentence *sentence, const struct judging *j)
{
    const spurity_verdict *v = j->verdict;
    say_passing(sentence, j);
    say_doubts(sentence, j);
    if (front_end_unproven(j))
        say(sentence, "; what the receiver showed with the carrier out of its band is at most the set's: a filter for "
                      "the carrier, or two pad steps, would tell");
    else if (v->own_harmonics_unproven)
        say(sentence, "; the instrument's own harmonics not ruled out");
    unsigned not_examined = ~v->rules[j->rules_index].groups & ALL_GROUPS;
    if (not_examined) {
        say(sentence, "; ");
        say_groups(sentence, not_examined);
        say(sentence, " not examined");
    }
}

static const char *word_of(spurity_outcome outcome)
{
    static const char *const words[] = {[SPURITY_OUTCOME_PASS] = "PASS",
                                        [SPURITY_OUTCOME_CONDITIONAL_PASS] = "CONDITIONAL PASS",
                                        [SPURITY_OUTCOME_NO_LIMIT] = "NO LIMIT",
                                        [SPURITY_OUTCOME_NOT_SHOWN] = "NOT SHOWN",
                                        [SPURITY_OUTCOME_CONDITIONAL_FAIL] = "CONDITIONAL FAIL",
                                        [SPURITY_OUTCOME_FAIL] = "FAIL"};
    return words[outcome];
}

static void say_facts(struct sentence *sentence, const struct judging *j)
{
    const spurity_rules_verdict *mine = &j->verdict->rules[j->rules_index];
    const spurity_judgement *lead = leading(j, mine->outcome);
    switch (mine->outcome) {
    case SPURITY_OUTCOME_NOT_SHOWN:
        say_not_shown(sentence, j);
        return;
    case SPURITY_OUTCOME_NO_LIMIT:
        say_no_limit(sentence, j);
        return;
    case SPURITY_OUTCOME_PASS:
        say(sentence, " for ");
        say_groups(sentence, mine->groups);
        return;
    case SPURITY_OUTCOME_CONDITIONAL_PASS:
        say(sentence, " for ");
        say_groups(sentence, mine->groups);
        break;
    default:
        break;
    }
    if (lead) {
        say(sentence, ": ");
        say_where(sentence, j, lead);
        say_margin(sentence, lead);
    }
    if (by_unconfirmed(j, mine->outcome))
        say(sentence, ", by figures not confirmed");
}

static void say_all(struct sentence *sentence, const struct judging *j, bool by_name)
{
    const spurity_rules_verdict *mine = &j->verdict->rules[j->rules_index];
    say(sentence, "%s", word_of(mine->outcome));
    if (by_name)
        say(sentence, " by %s", spurity_rules_id(j->rules));
    if (mine->indicative)
        say(sentence, " (conducted, indicative)");
    say_range(sentence, j);
    say_facts(sentence, j);
    say_rest(sentence, j);
}

void spurity_verdict_write_headline(struct judging *j, bool by_name)
{
    spurity_verdict *v = j->verdict;
    spurity_rules_verdict *mine = &v->rules[j->rules_index];
    say_all(&(struct sentence){mine->headline, sizeof mine->headline, 0}, j, false);
    if (by_name) {
        v->headline_rules = j->rules_index;
        say_all(&(struct sentence){v->headline, sizeof v->headline, 0}, j, v->rules_count > 1);
    }
}

void spurity_verdict_add_other_rules(spurity_verdict *v)
{
    struct sentence sentence = {v->headline, sizeof v->headline, strlen(v->headline)};
    for (size_t i = 0; i < v->rules_count; i++)
        if (i != v->headline_rules)
            say(&sentence, "; %s: %s%s", spurity_rules_id(v->rules[i].rules), spurity_outcome_name(v->rules[i].outcome),
                v->rules[i].indicative ? " (conducted, indicative)" : "");
}
