/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Emissions: a dot for each, labels for the worst, the carrier. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sheet.h"

enum { ROWS_MOST = 12 };
static const double LABEL_ROW = 16, STEM_TO_TEXT = 4; /* px */

static const spurity_shown_judgement *judgement_of(const spurity_sheet *at, size_t emission)
{
    enum { PASS, CONDITIONAL_PASS };
    const spurity_shown_emission *one = &at->shown.emissions[emission];
    if (one->judgement < 0)
        return NULL;
    const spurity_shown_judgement *worst = &at->shown.judgements[one->judgement];
    /* what several rule sets pass is told against the strictest line, as in the text */
    return at->shown.sets > 1 && worst->rank <= CONDITIONAL_PASS ? &at->shown.judgements[one->strictest] : worst;
}

typedef struct candidate {
    size_t emission;
    int rank;
    double margin, x;
} candidate;

/* Worst first. */
static int compare_worth(const void *a, const void *b)
{
    const candidate *x = a, *y = b;
    if (x->rank != y->rank)
        return y->rank - x->rank;
    return (x->margin > y->margin) - (x->margin < y->margin);
}

static int compare_place(const void *a, const void *b)
{
    const candidate *x = a, *y = b;
    return (x->x > y->x) - (x->x < y->x);
}

/* "H2 -57.8 dBc", "312.4 MHz -61.0 dBc", "+12.5 kHz ..." beside the carrier; a bound carries its sign. */
static void level_words(const spurity_sheet *at, size_t index, char *words, size_t size)
{
    const spurity_shown_emission *one = &at->shown.emissions[index];
    char name[64], level[40];
    double offset = one->frequency_hz - at->picture->carrier_hz;
    if (!strcmp(one->kind, "close-in") && isfinite(offset)) {
        spurity_word_frequency(fabs(offset), one->frequency_uncertainty_hz, level, sizeof level);
        snprintf(name, sizeof name, "%s%s", offset < 0 ? "\u2212" : "+", level);
    } else if (!strcmp(one->kind, "harmonic") || !strcmp(one->kind, "subharmonic")) {
        spurity_word_emission(one, name, sizeof name);
    } else {
        spurity_word_frequency(one->frequency_hz, one->frequency_uncertainty_hz, name, sizeof name);
    }
    bool relative = isfinite(one->level_dbc);
    spurity_sheet_signed_db(level, sizeof level, relative ? one->level_dbc : one->level_dbm);
    snprintf(words, size, "%s %s%s %s", name, one->at_most ? "\u2264 " : "", level, relative ? "dBc" : "dBm");
}

static void margin_words(const spurity_sheet *at, size_t index, char *words, size_t size)
{
    const spurity_shown_judgement *one = judgement_of(at, index);
    if (!one) { /* nothing was asked of it: tell where it stands */
        spurity_word_frequency(at->shown.emissions[index].frequency_hz,
                               at->shown.emissions[index].frequency_uncertainty_hz, words, size);
        return;
    }
    if (one->rank == 2 || one->rank == 3 || !isfinite(one->margin)) {
        spurity_plain(words, size, one->outcome, 24);
        return;
    }
    char margin[64];
    bool conditional = one->rank == 1 || one->rank == 4, near = fabs(one->margin) <= one->uncertainty;
    snprintf(words, size, "%s%s", spurity_word_margin(one, margin, sizeof margin),
             !conditional ? ""
             : near       ? ", within U"
                          : ", figure not confirmed");
}

/* The worst SPURITY_LABELS_MOST become candidates for a label, sorted by place; *drawn gets how many have a place at
 * all. */
static size_t choose(spurity_sheet *at, candidate *chosen, size_t *drawn)
{
    size_t count = 0, total = at->shown.emission_count;
    candidate *all = calloc(total + 1, sizeof *all);
    *drawn = 0;
    if (!all) {
        at->blocks[SPURITY_BLOCK_SEEN].failed = true;
        return 0;
    }
    for (size_t i = 0; i < total; i++) {
        const spurity_shown_emission *one = &at->shown.emissions[i];
        const spurity_shown_judgement *judged = judgement_of(at, i);
        if (!spurity_sheet_on_axis(at, one->frequency_hz) || !isfinite(spurity_sheet_level(at, one)))
            continue;
        double closeness = judged && isfinite(judged->margin) ? judged->margin : 500 - spurity_sheet_level(at, one);
        all[count++] = (candidate){i, judged ? judged->rank : -1, closeness, spurity_sheet_x(at, one->frequency_hz)};
    }
    qsort(all, count, sizeof *all, compare_worth);
    *drawn = count;
    count = count < SPURITY_LABELS_MOST ? count : SPURITY_LABELS_MOST;
    memcpy(chosen, all, count * sizeof *all);
    free(all);
    for (size_t i = 0; i < count; i++) /* from here on the place among the worst is what counts */
        chosen[i].rank = chosen[i].rank >= 4 ? 1000 : (int)(2 * (SPURITY_LABELS_MOST - i));
    qsort(chosen, count, sizeof *chosen, compare_place);
    return count;
}

static bool is_over(const spurity_sheet *at, size_t emission)
{
    const spurity_shown_judgement *judged = judgement_of(at, emission);
    return judged && judged->rank >= 4;
}

/* A dot for every emission, worst first where there are too many. */
static void draw_dots(spurity_sheet *at)
{
    size_t drawn = 0;
    for (int least = 4; least >= 0; least -= 4)
        for (size_t i = 0; i < at->shown.emission_count && drawn < SPURITY_DOTS_MOST; i++) {
            const spurity_shown_emission *one = &at->shown.emissions[i];
            bool over = is_over(at, i);
            if (over != (least > 0) || !spurity_sheet_on_axis(at, one->frequency_hz) ||
                !isfinite(spurity_sheet_level(at, one)))
                continue;
            spurity_sheet_row2(at,
                               over            ? SPURITY_BLOCK_EXCESS
                               : !one->at_most ? SPURITY_BLOCK_SEEN
                                               : SPURITY_BLOCK_BOUND,
                               spurity_sheet_x(at, one->frequency_hz),
                               spurity_sheet_y(at, spurity_sheet_level(at, one)));
            drawn++;
        }
}

/* "H2 -57.8 dBc, 4.6 dB clear". */
static void label_words(const spurity_sheet *at, size_t index, char *words, size_t size)
{
    char level[128], margin[128];
    level_words(at, index, level, sizeof level);
    margin_words(at, index, margin, sizeof margin);
    bool twice = strncmp(level, margin, strlen(margin)) == 0; /* a spur is called by its frequency already */
    snprintf(words, size, "%s%s%s", level, twice ? "" : ", ", twice ? "" : margin);
}

void spurity_sheet_choose_marks(spurity_sheet *at, spurity_marks *marks)
{
    candidate chosen[SPURITY_LABELS_MOST];
    *marks = (spurity_marks){0};
    marks->count = choose(at, chosen, &marks->drawn);
    for (size_t i = 0; i < marks->count; i++) {
        char words[260];
        label_words(at, chosen[i].emission, words, sizeof words);
        double width = spurity_sheet_text_width(words, 10.5) * (is_over(at, chosen[i].emission) ? SPURITY_BOLD : 1);
        marks->emission[i] = chosen[i].emission;
        marks->labels[i] = (spurity_label){.x = chosen[i].x, .width = width, .weight = chosen[i].rank};
    }
    marks->rows = spurity_labels_place(marks->labels, marks->count, 8, SPURITY_SHEET_WIDTH - 8, ROWS_MOST);
}

double spurity_sheet_label_band(const spurity_marks *marks)
{
    return marks->rows ? 12 + LABEL_ROW * marks->rows : 0;
}

static void draw_label(spurity_sheet *at, size_t emission, const spurity_label *label)
{
    char words[260];
    label_words(at, emission, words, sizeof words);
    const spurity_shown_emission *one = &at->shown.emissions[emission];
    const spurity_shown_judgement *judged = judgement_of(at, emission);
    double level = spurity_sheet_level(at, one), y = spurity_sheet_y(at, level),
           middle = at->base - 14 - LABEL_ROW * label->row;
    static const spurity_block sides[2][3] = {
        {SPURITY_BLOCK_LABEL_LEFT, SPURITY_BLOCK_LABEL_UNDER, SPURITY_BLOCK_LABEL_RIGHT},
        {SPURITY_BLOCK_OVER_LEFT, SPURITY_BLOCK_OVER_UNDER, SPURITY_BLOCK_OVER_RIGHT}};
    spurity_block block = sides[is_over(at, emission)][label->side + 1];
    spurity_sheet_segment(at, SPURITY_BLOCK_STEM, label->x, y, label->x, label->side ? middle - 5 : middle + 7);
    spurity_sheet_text(at, block, label->x + STEM_TO_TEXT * label->side, middle, words);
    if (!judged || !(judged->margin > 0) || strcmp(judged->unit, "Hz") == 0)
        return;
    double edge = spurity_sheet_y(at, level + judged->margin);
    if (edge - y > 8)
        spurity_sheet_segment(at, SPURITY_BLOCK_REACH, label->x, y + 5, label->x, edge);
}

static void draw_carrier(spurity_sheet *at)
{
    char words[200], power[40], level[40];
    double dbm = NAN, within = 10, hz = at->picture->carrier_hz;
    if (!spurity_sheet_on_axis(at, hz) || !spurity_result_true(at->shown.result, "carrier/seen"))
        return;
    bool known = spurity_result_number(at->shown.result, "carrier/level_dbm", &dbm);
    spurity_result_number(at->shown.result, "carrier/frequency_uncertainty_hz", &within);
    spurity_word_frequency(hz, within, power, sizeof power);
    snprintf(words, sizeof words, known ? "carrier %s, %s dBm" : "carrier %s", power,
             spurity_sheet_signed_db(level, sizeof level, dbm));
    double x = spurity_sheet_x(at, hz), y = spurity_sheet_y(at, at->relative ? 0 : dbm);
    bool right = x + 16 + spurity_sheet_text_width(words, 11) * SPURITY_BOLD < SPURITY_PLOT_RIGHT;
    spurity_sheet_text(at, right ? SPURITY_BLOCK_CARRIER_RIGHT : SPURITY_BLOCK_CARRIER_LEFT, right ? x + 10 : x - 10,
                       y - 4, words);
}

size_t spurity_sheet_draw_marks(spurity_sheet *at, const spurity_marks *marks)
{
    size_t labelled = 0;
    draw_dots(at);
    draw_carrier(at);
    for (size_t i = 0; i < marks->count; i++) {
        if (marks->labels[i].row < 0)
            continue;
        draw_label(at, marks->emission[i], &marks->labels[i]);
        labelled++;
    }
    return marks->drawn - labelled;
}
