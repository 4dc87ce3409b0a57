/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The uncertainty's budget: one table a level, which adds up by hand.  Levels with the same figures share one. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "report.h"

enum { ROWS_MOST = 40, NAMES_SIZE = 400, LEVELS_MOST = 400 };

typedef struct budget_row {
    const char *source, *distribution;
    double figure_db, divisor, sensitivity, standard_db;
} budget_row;

typedef struct budget_level {
    char names[NAMES_SIZE]; /* of the levels it holds for */
    size_t members;
    bool ratio;
    double expanded_db; /* as it was judged or told */
    double guard;       /* of which the judgement took so many times */
    size_t count;
    budget_row rows[ROWS_MOST];
} budget_level;

typedef struct budget_levels {
    budget_level *items;
    size_t count, room, left_out;
} budget_levels;

/* The rows of the list at `path` that hold for a side: +1 how far the truth may stand above the reading, -1 below, 0
 * both alike. */
static size_t read_rows(const spurity_paper *at, const char *path, int side, budget_row *rows)
{
    size_t count = 0, all = spurity_result_length(at->result, path);
    for (size_t i = 0; i < all && count < ROWS_MOST; i++) {
        const char *own = spurity_shown_text(at->result, path, i, "side");
        if ((!strcmp(own, "up") && side <= 0) || (!strcmp(own, "down") && side >= 0))
            continue;
        rows[count++] = (budget_row){
            .source = spurity_shown_text(at->result, path, i, "source"),
            .distribution = spurity_shown_text(at->result, path, i, "distribution"),
            .figure_db = spurity_shown_number(at->result, path, i, "figure_db"),
            .divisor = spurity_shown_number(at->result, path, i, "divisor"),
            .sensitivity = spurity_shown_number(at->result, path, i, "sensitivity"),
            .standard_db = spurity_shown_number(at->result, path, i, "standard_db"),
        };
    }
    return count;
}

/* Words without the place they end with ("... at 293.88 MHz"), which is each member's own. */
static size_t bare_length(const char *source)
{
    const char *place = strstr(source, " at ");
    return place ? (size_t)(place - source) : strlen(source);
}

static bool is_same(double a, double b)
{
    return fabs(a - b) < 5e-4 || (isnan(a) && isnan(b));
}

static bool is_alike(const budget_level *a, const budget_level *b)
{
    if (a->ratio != b->ratio || a->count != b->count || !is_same(a->expanded_db, b->expanded_db))
        return false;
    for (size_t i = 0; i < a->count; i++) {
        const budget_row *x = &a->rows[i], *y = &b->rows[i];
        size_t length = bare_length(x->source);
        if (length != bare_length(y->source) || memcmp(x->source, y->source, length) != 0 ||
            strcmp(x->distribution, y->distribution) != 0 || !is_same(x->figure_db, y->figure_db) ||
            !is_same(x->standard_db, y->standard_db))
            return false;
    }
    return true;
}

/* Joins a level to one with the same figures, or adds it. */
static void take(spurity_paper *at, budget_levels *levels, const budget_level *one)
{
    if (!one->count)
        return;
    for (size_t i = 0; i < levels->count; i++) {
        budget_level *other = &levels->items[i];
        size_t used = strlen(other->names);
        if (!is_alike(other, one) || used + strlen(one->names) + 3 > NAMES_SIZE)
            continue;
        snprintf(other->names + used, NAMES_SIZE - used, ", %s", one->names);
        other->members++;
        return;
    }
    if (levels->count == LEVELS_MOST) {
        levels->left_out++;
        return;
    }
    budget_level *items = spurity_grow(levels->items, levels->count, &levels->room, sizeof *items);
    if (!items) {
        at->out.failed = true;
        return;
    }
    levels->items = items;
    levels->items[levels->count++] = *one;
}

static void take_emission(spurity_paper *at, budget_levels *levels, size_t index, bool ratio, int side, double expanded,
                          double guard)
{
    char path[64], name[48], place[48];
    budget_level one = {.members = 1, .ratio = ratio, .expanded_db = expanded, .guard = guard};
    const spurity_shown_emission *emission = &at->shown.emissions[index];
    spurity_word_emission(emission, name, sizeof name);
    spurity_word_frequency(emission->frequency_hz, emission->frequency_uncertainty_hz, place, sizeof place);
    if (name[0] == 'H' && name[1] >= '0' && name[1] <= '9')
        place[0] = '\0';
    snprintf(one.names, sizeof one.names, "%s%s%s", name, place[0] ? " at " : "", place);
    snprintf(path, sizeof path, ratio ? "emissions/%zu/budget_dbc" : "emissions/%zu/budget", index);
    one.count = read_rows(at, path, side, one.rows);
    take(at, levels, &one);
}

static void collect(spurity_paper *at, budget_levels *levels)
{
    budget_level carrier = {.members = 1, .names = "carrier", .expanded_db = NAN};
    spurity_result_number(at->result, "carrier/uncertainty_db", &carrier.expanded_db);
    carrier.count = read_rows(at, "carrier/budget", 0, carrier.rows);
    take(at, levels, &carrier);
    for (size_t i = 0; i < at->shown.judgement_count; i++) {
        const spurity_shown_judgement *one = &at->shown.judgements[i];
        bool ratio = !strcmp(one->unit, "dBc"), level = ratio || !strcmp(one->unit, "dBm");
        if (one->emission < 0 || (size_t)one->emission >= at->shown.emission_count || !level || !isfinite(one->margin))
            continue;
        bool down = one->margin < 0 && !one->at_most; /* as it was decided: which way the truth would have to be off */
        double guard = spurity_shown_number(at->result, "judgements", i, "guard");
        take_emission(at, levels, (size_t)one->emission, ratio, down ? -1 : 1, one->uncertainty, guard);
    }
    for (size_t i = 0; !at->shown.judged && i < at->shown.emission_count; i++) {
        take_emission(at, levels, i, false, 0, spurity_shown_number(at->result, "emissions", i, "uncertainty_db"), 1);
        take_emission(at, levels, i, true, 0, spurity_shown_number(at->result, "emissions", i, "uncertainty_dbc"), 1);
    }
}

static void number_cell(spurity_paper *at, const char *label, double value, int decimals, const char *unit)
{
    spurity_html_cell(&at->out, "figure", label);
    spurity_html_number(&at->out, value, decimals);
    spurity_buffer_text(&at->out, unit);
    spurity_html_cell_end(&at->out);
}

static void write_row(spurity_paper *at, const budget_level *level, const budget_row *row)
{
    char source[120];
    size_t length = level->members > 1 ? bare_length(row->source) : strlen(row->source);
    snprintf(source, sizeof source, "%.*s", (int)(length < 100 ? length : 100), row->source);
    spurity_buffer_text(&at->out, "<tr>");
    spurity_html_text_cell(&at->out, "From", source);
    spurity_html_text_cell(&at->out, "Distribution", row->distribution);
    number_cell(at, "Figure", row->figure_db, 3, " dB");
    number_cell(at, "Divisor", row->divisor, 3, "");
    number_cell(at, "Sensitivity", row->sensitivity, 3, "");
    number_cell(at, "Standard u", row->standard_db, 4, " dB");
    number_cell(at, "u\u00b2", row->standard_db * row->standard_db, 4, " dB\u00b2");
    spurity_buffer_text(&at->out, "</tr>\n");
}

/* Where the rule lets either of several limits do, a pass by any of them is guarded by more than U. */
static void write_guard(spurity_paper *at, const budget_level *level, double expanded)
{
    spurity_buffer_text(&at->out, "<p class=\"quiet\">Guarded by ");
    spurity_html_number(&at->out, level->guard, 4);
    spurity_buffer_text(&at->out, " \u00d7 ");
    spurity_html_number(&at->out, expanded, 3);
    spurity_buffer_text(&at->out, " dB = ");
    spurity_html_number(&at->out, level->guard * expanded, 3);
    spurity_buffer_text(&at->out, " dB: either of several limits would do, and a pass by any of them must come no "
                                  "oftener than by one.</p>\n");
}

/* The sum of squares, its root, twice that; and where a judgement had more to reckon with, its own figure. */
static void write_total(spurity_paper *at, const budget_level *level)
{
    double squares = 0;
    for (size_t i = 0; i < level->count; i++)
        squares += level->rows[i].standard_db * level->rows[i].standard_db;
    double expanded = 2 * sqrt(squares);
    spurity_buffer_text(&at->out, "<tr class=\"total\">");
    spurity_html_text_cell(&at->out, "From", "together");
    spurity_buffer_text(&at->out, "<td></td><td></td><td></td><td></td>");
    spurity_html_cell(&at->out, "figure", "Standard u");
    spurity_buffer_text(&at->out, "\u221a ");
    spurity_html_number(&at->out, squares, 4);
    spurity_buffer_text(&at->out, " = ");
    spurity_html_number(&at->out, sqrt(squares), 4);
    spurity_buffer_text(&at->out, " dB<small>U = 2 \u00d7 ");
    spurity_html_number(&at->out, sqrt(squares), 4);
    spurity_buffer_text(&at->out, " = ");
    spurity_html_number(&at->out, expanded, 3);
    spurity_buffer_text(&at->out, " dB</small>");
    spurity_html_cell_end(&at->out);
    number_cell(at, "u\u00b2", squares, 4, " dB\u00b2");
    spurity_buffer_text(&at->out, "</tr>\n");
    spurity_html_table_end(&at->out);
    if (!isfinite(level->expanded_db))
        return;
    bool guarded = level->guard > 1;
    if (guarded)
        write_guard(at, level, expanded);
    if (fabs(level->expanded_db - (guarded ? level->guard : 1) * expanded) < 0.003)
        return;
    spurity_buffer_text(&at->out, "<p class=\"quiet\">Judged with U = ");
    spurity_html_number(&at->out, level->expanded_db, 3);
    spurity_buffer_text(&at->out, " dB: what was judged is no reading as it stands but a power in a bandwidth, or a "
                                  "bound.</p>\n");
}

static void write_level(spurity_paper *at, const budget_level *level)
{
    static const char *const titles[] = {"From",        "Distribution", "Figure",  "Divisor",
                                         "Sensitivity", "Standard u",   "u\u00b2", NULL};
    spurity_buffer_text(&at->out, "<h3>");
    spurity_html_foreign(&at->out, level->names);
    spurity_buffer_text(&at->out, level->ratio ? ", to the carrier (dBc)</h3>\n" : ", level (dBm)</h3>\n");
    spurity_html_table(&at->out, "budget", titles);
    for (size_t i = 0; i < level->count; i++)
        write_row(at, level, &level->rows[i]);
    write_total(at, level);
}

void spurity_paper_budgets(spurity_paper *at)
{
    budget_levels levels = {0};
    collect(at, &levels);
    spurity_html_section(&at->out, "budget", "How the uncertainty adds up");
    spurity_buffer_text(
        &at->out,
        levels.count
            ? "<p class=\"quiet\">Standard u is figure \u00d7 sensitivity / divisor; squares add "
              "(JCGM 100:2008, 5.1.2). What carrier and emission share cancels in a ratio. Of what is "
              "lopsided the side counts that would overturn the outcome. A stretch where nothing was seen has the "
              "U of a level read where it comes nearest to its limit.</p>\n"
            : "<p>This result holds no budget.</p>\n");
    for (size_t i = 0; i < levels.count; i++)
        write_level(at, &levels.items[i]);
    if (levels.left_out) {
        spurity_buffer_text(&at->out, "<p class=\"quiet\">and ");
        spurity_html_count(&at->out, levels.left_out);
        spurity_buffer_text(&at->out, " more in the JSON result</p>\n");
    }
    spurity_html_section_end(&at->out);
    free(levels.items);
}
