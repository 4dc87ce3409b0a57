/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What is allowed where: stretches from the carrier outward, each under the line of the limit that decides there. */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rules.h"

enum { WHERE_WIDTH = 46 };

/** A stretch as it is told; one that stands mirrored on the carrier's other side is told once. */
struct line {
    const spurity_allowed *row;
    double centre_hz, near_hz; /* offsets count from centre_hz; near_hz: distance of the nearer end */
    bool either_side, about;   /* about: from below the centre to above it */
    bool told;
};

struct table {
    const spurity_allowance *allowance;
    double carrier_hz, mean_power_w;
    struct line *lines;
    size_t count;
};

static bool same(double a, double b)
{
    return fabs(a - b) < 1e-2; /* Hz */
}

static bool same_group(const spurity_allowed *a, const spurity_allowed *b)
{
    return a->clause == b->clause && a->leaf == b->leaf && a->open == b->open;
}

static bool same_row(const spurity_allowed *a, const spurity_allowed *b)
{
    return a->clause == b->clause && a->leaf == b->leaf && a->open == b->open && same(a->from_hz, b->from_hz) &&
           same(a->to_hz, b->to_hz) && !(fabs(a->from_dbm - b->from_dbm) > 1e-6) &&
           !(fabs(a->to_dbm - b->to_dbm) > 1e-6);
}

/** Whether every case has this row. */
static bool is_common(const spurity_allowance *allowance, const spurity_allowed *row)
{
    for (size_t c = 0; c < spurity_allowance_case_count(allowance); c++) {
        const spurity_allowed_case *one = spurity_allowance_case(allowance, c);
        size_t i = 0;
        while (i < one->row_count && !same_row(row, &one->rows[i]))
            i++;
        if (i == one->row_count)
            return false;
    }
    return true;
}

static double centre_of(const spurity_allowed *row, const spurity_conditions *conditions)
{
    double hz = conditions->carrier_hz;
    if (row->clause)
        spurity_clause_centre(row->clause, conditions, &hz);
    return hz;
}

/** The row that mirrors this one above the centre; NULL when there is none. */
static const spurity_allowed *mirror_of(const spurity_allowed_case *one, const spurity_allowed *row, double centre)
{
    for (size_t i = 0; i < one->row_count; i++) {
        const spurity_allowed *other = &one->rows[i];
        if (same_group(other, row) && other->from_hz >= centre && same(other->from_hz - centre, centre - row->to_hz) &&
            same(other->to_hz - centre, centre - row->from_hz))
            return other;
    }
    return NULL;
}

static bool is_mirrored_above(const spurity_allowed_case *one, const spurity_allowed *row, double centre)
{
    for (size_t i = 0; i < one->row_count; i++)
        if (one->rows[i].to_hz <= centre && mirror_of(one, &one->rows[i], centre) == row)
            return true;
    return false;
}

/** The lines of a case: those all cases share, or those they do not. */
static void collect(struct table *table, const spurity_allowed_case *one, bool common)
{
    table->count = 0;
    for (size_t i = 0; i < one->row_count; i++) {
        const spurity_allowed *row = &one->rows[i];
        double centre = centre_of(row, &one->conditions);
        bool below = row->to_hz <= centre, above = row->from_hz >= centre;
        if (is_common(table->allowance, row) != common || (below && mirror_of(one, row, centre)))
            continue;
        struct line line = {.row = row, .centre_hz = centre};
        line.about = !below && !above && same(centre - row->from_hz, row->to_hz - centre);
        line.either_side = above && is_mirrored_above(one, row, centre);
        line.near_hz = below ? centre - row->to_hz : above ? row->from_hz - centre : 0.0;
        table->lines[table->count++] = line;
    }
}

/* ---- words --------------------------------------------------------------------------------------- */

static void where_words(const struct line *line, char *text, size_t size)
{
    char low[60], high[60];
    const spurity_allowed *row = line->row;
    double shift = line->about || line->either_side ? line->centre_hz : 0.0;
    spurity_format_frequency(low, sizeof low, row->from_hz - shift, 6);
    spurity_format_frequency(high, sizeof high, row->to_hz - shift, 6);
    if (line->about)
        snprintf(text, size, "%s %s of the centre", row->to_included ? "up to" : "within", high);
    else if (line->either_side && same(row->from_hz, line->centre_hz))
        snprintf(text, size, "%s %s of the centre", row->to_included ? "up to" : "within", high);
    else
        snprintf(text, size, "%s %s %s %s%s", row->from_included ? "from" : "above", low,
                 row->to_included ? "up to" : "to below", high, line->either_side ? " either side" : "");
}

/** No line is broken inside these words. */
static void tie(char *words)
{
    for (char *blank = strchr(words, ' '); blank; blank = strchr(blank, ' '))
        *blank = SPURITY_CLI_TIE;
}

/** "a" or "a to b". */
static void span_words(char *text, size_t size, const char *from, const char *to, const char *unit)
{
    if (!strcmp(from, to))
        snprintf(text, size, "%s%s", from, unit);
    else
        snprintf(text, size, "%s to %s%s", from, to, unit);
    tie(text);
}

static void level_words(const struct table *table, const spurity_allowed *row, char *text, size_t size)
{
    char from[40], to[40], dbm[90], watts[90], dbc[90] = "", width[60] = "";
    double reference = spurity_dbm_from_watts(table->mean_power_w);
    spurity_format_db(from, sizeof from, row->from_dbm);
    spurity_format_db(to, sizeof to, row->to_dbm);
    span_words(dbm, sizeof dbm, from, to, " dBm");
    spurity_format_power(from, sizeof from, spurity_watts_from_dbm(row->from_dbm));
    spurity_format_power(to, sizeof to, spurity_watts_from_dbm(row->to_dbm));
    span_words(watts, sizeof watts, from, to, "");
    if (table->mean_power_w > 0.0) {
        spurity_format_db(from, sizeof from, row->from_dbm - reference);
        spurity_format_db(to, sizeof to, row->to_dbm - reference);
        span_words(dbc, sizeof dbc, from, to, " dBc");
    }
    if (row->reference_bandwidth_hz > 0.0)
        spurity_format_frequency(width, sizeof width, row->reference_bandwidth_hz, 6);
    tie(width);
    snprintf(text, size, "%s, %s%s%s%s%s", dbm, watts, *dbc ? ", " : "", dbc, *width ? ", in\x1f" : "", width);
}

static void print_where_and_level(const struct table *table, const char *where, const spurity_allowed *row)
{
    char level[400];
    level_words(table, row, level, sizeof level);
    if (strlen(where) > WHERE_WIDTH)
        printf("    %s\n%*s", where, WHERE_WIDTH + 5, "");
    else
        printf("    %-*s ", WHERE_WIDTH, where);
    spurity_cli_wrap(level, WHERE_WIDTH + 5);
}

static void print_line(const struct table *table, const struct line *line)
{
    char where[160];
    where_words(line, where, sizeof where);
    if (line->row->clause)
        print_where_and_level(table, where, line->row);
    else
        printf("    %s\n", where);
}

/** The line of the limit that decides, as the heading of its stretches. */
static void print_binding(const struct table *table, const spurity_allowed *row)
{
    char leaf[240], words[500];
    spurity_clause_facts facts;
    printf("  ");
    if (!row->clause) {
        snprintf(words, sizeof words, "open: %s decides", spurity_allowance_needs(table->allowance));
        spurity_cli_wrap(row->open ? words : "no clause that binds sets a figure", 6);
        return;
    }
    spurity_clause_facts_of(row->clause, &facts);
    spurity_limit_describe(row->leaf, leaf, sizeof leaf);
    snprintf(words, sizeof words, "%s%s: %s", facts.clause, facts.confirmed ? "" : " (unverified)", leaf);
    spurity_cli_wrap(words, 6);
}

/** The untold line nearest to the carrier, with a figure or without; NULL when all are told. */
static const struct line *nearest_line(const struct table *table, bool with_figure)
{
    const struct line *best = NULL;
    for (size_t i = 0; i < table->count; i++) {
        const struct line *line = &table->lines[i];
        if (!line->told && (line->row->clause != NULL) == with_figure && (!best || line->near_hz < best->near_hz))
            best = line;
    }
    return best;
}

/** Which harmonic a narrow stretch stands around; 0 for none. */
static int harmonic_of(const struct table *table, const spurity_allowed *row)
{
    double order = floor(row->to_hz / table->carrier_hz + 1e-9);
    bool around = order >= 2.0 && order < 1e6 && row->from_hz <= order * table->carrier_hz &&
                  row->to_hz - row->from_hz < table->carrier_hz / 4;
    return around ? (int)order : 0;
}

/** Whether two stretches of a group say the same levels in the same bandwidth. */
static bool same_levels(const spurity_allowed *a, const spurity_allowed *b)
{
    return !(fabs(a->from_dbm - b->from_dbm) > 1e-6) && !(fabs(a->to_dbm - b->to_dbm) > 1e-6) &&
           !(fabs(a->reference_bandwidth_hz - b->reference_bandwidth_hz) > 1e-3);
}

/** The stretches of a group that say the same as line `first`, itself included; *last is the last of them. */
static size_t count_alike(const struct table *table, size_t first, bool harmonics, size_t *last)
{
    size_t count = 0;
    const spurity_allowed *row = table->lines[first].row;
    for (size_t i = first; i < table->count; i++) {
        const struct line *line = &table->lines[i];
        bool wanted = !line->told && !line->either_side && !line->about && same_group(line->row, row) &&
                      same_levels(line->row, row) && (harmonic_of(table, line->row) > 0) == harmonics;
        if (!wanted)
            continue;
        count++;
        *last = i;
    }
    return count;
}

static void mark_told(struct table *table, size_t first, size_t last)
{
    const spurity_allowed *row = table->lines[first].row;
    for (size_t i = first; i <= last; i++)
        if (same_group(table->lines[i].row, row) && same_levels(table->lines[i].row, row) &&
            (harmonic_of(table, table->lines[i].row) > 0) == (harmonic_of(table, row) > 0))
            table->lines[i].told = true;
}

/** Many stretches alike, around the harmonics or between them, as one. */
static void print_alike(struct table *table, size_t first, size_t last)
{
    char where[200], low[60], high[60];
    const spurity_allowed *row = table->lines[first].row, *end = table->lines[last].row;
    int order = harmonic_of(table, row);
    if (order) {
        spurity_format_frequency(low, sizeof low, order * table->carrier_hz - row->from_hz, 6);
        snprintf(where, sizeof where, "within %s of harmonics %d to %d", low, order, harmonic_of(table, end));
    } else {
        spurity_format_frequency(low, sizeof low, row->from_hz, 6);
        spurity_format_frequency(high, sizeof high, end->to_hz, 6);
        snprintf(where, sizeof where, "%s %s up to %s, between other lines", row->from_included ? "from" : "above", low,
                 high);
    }
    mark_told(table, first, last);
    print_where_and_level(table, where, row);
}

/** From the carrier outward, each line of a limit once, with all its stretches by rising frequency. */
static void print_lines(struct table *table, bool with_figure)
{
    enum { ALIKE_MOST = 3 };
    for (const struct line *nearest = nearest_line(table, with_figure); nearest;
         nearest = nearest_line(table, with_figure)) {
        const spurity_allowed *row = nearest->row;
        print_binding(table, row);
        for (size_t i = 0, last = 0; i < table->count; i++) {
            struct line *line = &table->lines[i];
            if (line->told || !same_group(line->row, row))
                continue;
            bool single = !line->row->clause || line->either_side || line->about;
            if (!single && count_alike(table, i, harmonic_of(table, line->row) > 0, &last) > ALIKE_MOST) {
                print_alike(table, i, last);
                continue;
            }
            line->told = true;
            print_line(table, line);
        }
    }
}

static void print_heading(const spurity_allowance *allowance)
{
    char from[60], to[60], line[300];
    double from_hz, to_hz;
    const char *needs = spurity_allowance_needs(allowance);
    spurity_allowance_range(allowance, &from_hz, &to_hz);
    printf("\nAllowed at the antenna terminal, %s to %s\n", spurity_format_frequency(from, sizeof from, from_hz, 6),
           spurity_format_frequency(to, sizeof to, to_hz, 6));
    if (*needs) {
        snprintf(line, sizeof line, "Not all is in here: something depends on %s.", needs);
        spurity_cli_wrap(line, 0);
    }
}

spurity_status spurity_cli_rules_table(const spurity_rules *rules, const spurity_conditions *conditions,
                                       spurity_error *error)
{
    spurity_allowance *allowance = NULL;
    spurity_status status = spurity_allowance_create(rules, conditions, &allowance, error);
    if (status)
        return status;
    size_t cases = spurity_allowance_case_count(allowance), most = 0;
    for (size_t c = 0; c < cases; c++)
        most = most > spurity_allowance_case(allowance, c)->row_count ? most
                                                                      : spurity_allowance_case(allowance, c)->row_count;
    struct table table = {allowance, conditions->carrier_hz, conditions->mean_power_w,
                          calloc(most + 1, sizeof(struct line)), 0};
    if (!table.lines) {
        spurity_allowance_free(allowance);
        return spurity_report_memory(error);
    }
    print_heading(allowance);
    collect(&table, spurity_allowance_case(allowance, 0), true);
    print_lines(&table, true);
    for (size_t c = 0; c < cases && cases > 1; c++) {
        const spurity_allowed_case *one = spurity_allowance_case(allowance, c);
        collect(&table, one, false);
        printf("\n  %c%s:\n", toupper((unsigned char)one->when[0]), one->when + 1);
        print_lines(&table, true);
        print_lines(&table, false);
    }
    collect(&table, spurity_allowance_case(allowance, 0), true);
    printf("%s", cases > 1 && nearest_line(&table, false) ? "\n" : "");
    print_lines(&table, false);
    free(table.lines);
    spurity_allowance_free(allowance);
    return SPURITY_OK;
}
