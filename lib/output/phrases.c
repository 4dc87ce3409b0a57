/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Longer words that text and report share: clauses, channels, what was not shown. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

static void append(char *words, size_t size, const char *more)
{
    size_t used = strlen(words);
    snprintf(words + used, size - used, "%s", more);
}

char *spurity_word_clause(const spurity_shown *shown, const char *rules, const char *clause, char *words, size_t size)
{
    snprintf(words, size, "%.40s%s%.60s", shown->sets > 1 ? rules : "", shown->sets > 1 && clause[0] ? " " : "",
             clause);
    return words;
}

/* ---- the channel ----------------------------------------------------------------------------------------------- */

/* What --bandwidth said against what the channel authorises; "" where nothing was said or both agree. */
static const char *told_words(const spurity_result *result, size_t verdict, double of_channel, char *words, size_t size)
{
    char figure[48], path[64];
    double taken = spurity_shown_number(result, "verdicts", verdict, "authorised_bandwidth_hz");
    snprintf(path, sizeof path, "verdicts/%zu/bandwidth_refused", verdict);
    words[0] = '\0';
    if (isfinite(taken) && fabs(taken - of_channel) > 1)
        snprintf(words, size, "; taken as %s by --bandwidth",
                 spurity_format_frequency(figure, sizeof figure, taken, 6));
    else if (spurity_result_true(result, path))
        snprintf(words, size, "; what --bandwidth said is more, and not taken");
    return words;
}

static void on_channel(const spurity_result *result, size_t verdict, const char *number, char *words, size_t size)
{
    static const char list[] = "verdicts";
    char place[48], width[48], more[96];
    double hz = spurity_shown_number(result, list, verdict, "channel/frequency_hz");
    double bandwidth = spurity_shown_number(result, list, verdict, "channel/bandwidth_hz");
    snprintf(words, size, "%.40s channel %.20s, %s", spurity_shown_text(result, list, verdict, "channel/service"),
             number, spurity_format_frequency(place, sizeof place, hz, 8));
    if (!isfinite(bandwidth))
        return;
    append(words, size, " (authorised ");
    append(words, size, spurity_format_frequency(width, sizeof width, bandwidth, 6));
    append(words, size, told_words(result, verdict, bandwidth, more, sizeof more));
    append(words, size, ")");
}

static void off_channel(const spurity_result *result, size_t verdict, const char *number, char *words, size_t size)
{
    static const char list[] = "verdicts";
    char path[64], place[48], away[96];
    const char *rules = spurity_shown_text(result, list, verdict, "rules/id");
    snprintf(path, sizeof path, "verdicts/%zu/nearest_channel/certain", verdict);
    double offset = spurity_shown_number(result, list, verdict, "nearest_channel/offset_hz");
    spurity_format_frequency(place, sizeof place,
                             spurity_shown_number(result, list, verdict, "nearest_channel/frequency_hz"), 8);
    if (spurity_result_true(result, path))
        snprintf(words, size, "on no channel of %.40s; the nearest is %.20s, %s, %s away", rules, number, place,
                 spurity_word_frequency(fabs(offset), fabs(offset) / 100, away, sizeof away));
    else
        snprintf(words, size,
                 "read too coarsely to tell the channel of %.40s (the nearest is %.20s, %s): say --carrier", rules,
                 number, place);
}

char *spurity_word_channel(const spurity_result *result, size_t verdict, char *words, size_t size)
{
    words[0] = '\0';
    const char *on = spurity_shown_text(result, "verdicts", verdict, "channel/number");
    const char *nearest = spurity_shown_text(result, "verdicts", verdict, "nearest_channel/number");
    if (on[0])
        on_channel(result, verdict, on, words, size);
    else if (nearest[0])
        off_channel(result, verdict, nearest, words, size);
    return words;
}

/* ---- what was not shown ---------------------------------------------------------------------------------------- */

/* Whether two entries say the same of the same stretch (for other clauses). */
static bool is_same_gap(const spurity_result *result, size_t a, size_t b)
{
    static const char list[] = "not_shown";
    double from = spurity_shown_number(result, list, a, "from_hz"), to = spurity_shown_number(result, list, a, "to_hz");
    double other_from = spurity_shown_number(result, list, b, "from_hz");
    double other_to = spurity_shown_number(result, list, b, "to_hz");
    bool same_from = from == other_from || (isnan(from) && isnan(other_from));
    bool same_to = to == other_to || (isnan(to) && isnan(other_to));
    return same_from && same_to &&
           !strcmp(spurity_shown_text(result, list, a, "reason"), spurity_shown_text(result, list, b, "reason")) &&
           !strcmp(spurity_shown_text(result, list, a, "advice"), spurity_shown_text(result, list, b, "advice"));
}

bool spurity_gap_is_repeat(const spurity_result *result, size_t index)
{
    for (size_t i = 0; i < index; i++)
        if (is_same_gap(result, i, index))
            return true;
    return false;
}

/* "97.307(e), A-general": the clauses an entry and its repeats hold for. */
static void gap_clauses(const spurity_shown *shown, size_t index, size_t count, char *words, size_t size)
{
    static const char list[] = "not_shown";
    enum { NAMED_MOST = 4 };
    size_t named = 0;
    words[0] = '\0';
    for (size_t i = index; i < count; i++) {
        char one[112];
        const char *clause = spurity_shown_text(shown->result, list, i, "clause");
        if (!clause[0] || (i > index && !is_same_gap(shown->result, index, i)))
            continue;
        spurity_word_clause(shown, spurity_shown_text(shown->result, list, i, "rules"), clause, one, sizeof one);
        if (strstr(words, one))
            continue;
        if (named++ < NAMED_MOST) {
            append(words, size, named > 1 ? ", " : "");
            append(words, size, one);
        }
    }
    if (named > NAMED_MOST)
        append(words, size, ", ...");
}

char *spurity_word_gap(const spurity_shown *shown, size_t index, size_t count, char *words, size_t size)
{
    static const char list[] = "not_shown";
    char stretch[112], reason[64], clauses[500];
    spurity_word_stretch(spurity_shown_number(shown->result, list, index, "from_hz"),
                         spurity_shown_number(shown->result, list, index, "to_hz"), stretch, sizeof stretch);
    spurity_plain(reason, sizeof reason, spurity_shown_text(shown->result, list, index, "reason"), 40);
    for (char *mark = strchr(reason, '-'); mark; mark = strchr(mark, '-'))
        *mark = ' ';
    gap_clauses(shown, index, count, clauses, sizeof clauses);
    snprintf(words, size, "%s%s%s%s%s%s", stretch, stretch[0] ? ": " : "", reason, clauses[0] ? " (" : "", clauses,
             clauses[0] ? ")" : "");
    return words;
}
