/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Carrier, emissions and stretches against their limits, each figure with the sum behind it: limit less measured is the
 * margin, reference less suppression is the limit. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report.h"

enum { ROWS_MOST = 1000, NO_LIMIT = 2 };

static const char *const titles[] = {"Where",       "Measured", "Limit",   "Margin", "U",
                                     "Conforms by", "Clause",   "Outcome", NULL};
enum { WHERE, MEASURED, LIMIT, MARGIN, U, CONFORMS, CLAUSE, OUTCOME };

static void number_of(spurity_paper *at, double value, const char *unit)
{
    spurity_html_number(&at->out, value, 2);
    spurity_buffer_text(&at->out, "\u00a0"); /* figure and unit stay on one line */
    spurity_html_text(&at->out, unit);
}

/* A figure in the judgement's unit; powers and frequencies as a person writes them. */
static void figure_of(spurity_paper *at, double value, const char *unit)
{
    char words[64];
    if (!isfinite(value))
        spurity_buffer_text(&at->out, "not known");
    else if (!strcmp(unit, "W"))
        spurity_html_text(&at->out, spurity_format_power(words, sizeof words, value));
    else if (!strcmp(unit, "Hz"))
        spurity_html_text(&at->out, spurity_format_frequency(words, sizeof words, value, 6));
    else
        number_of(at, value, unit);
}

static void small_open(spurity_paper *at, const char *class_name)
{
    spurity_buffer_text(&at->out, "<small class=\"");
    spurity_buffer_text(&at->out, class_name);
    spurity_buffer_text(&at->out, "\">");
}

/* The reading in the unit that was not judged, as long as it is the emission's own and no power in a bandwidth. */
static void write_other_unit(spurity_paper *at, const spurity_shown_judgement *one)
{
    if (!strcmp(one->unit, "W") && one->measured > 0) {
        small_open(at, "quiet");
        number_of(at, spurity_dbm_from_watts(one->measured), "dBm");
        spurity_buffer_text(&at->out, "</small>");
    }
    bool ratio = !strcmp(one->unit, "dBc");
    if ((!ratio && strcmp(one->unit, "dBm") != 0) || !isfinite(at->carrier_dbm) || !isfinite(one->measured))
        return;
    small_open(at, "quiet");
    number_of(at, one->measured + (ratio ? at->carrier_dbm : -at->carrier_dbm), ratio ? "dBm" : "dBc");
    spurity_buffer_text(&at->out, "</small>");
}

static void write_measured(spurity_paper *at, size_t index)
{
    const spurity_shown_judgement *one = &at->shown.judgements[index];
    spurity_html_cell(&at->out, "figure", titles[MEASURED]);
    spurity_buffer_text(&at->out, one->at_most && isfinite(one->measured) ? "<b>at most " : "<b>");
    figure_of(at, one->measured, one->unit);
    spurity_buffer_text(&at->out, "</b>");
    write_other_unit(at, one);
    const char *reading = spurity_shown_text(at->result, "judgements", index, "reading");
    spurity_html_small(&at->out, strcmp(reading, "a line") != 0 ? reading : "");
    spurity_html_cell_end(&at->out);
}

static double rounded(double value)
{
    return round(value * 100) / 100;
}

/* "36.56 dBm - 49.56 dB = -13.00 dBm", of the figures as they are printed. */
static void write_suppression_sum(spurity_paper *at, const spurity_shown_judgement *one)
{
    if (strcmp(one->unit, "dBc") != 0 || !isfinite(one->limit))
        return;
    small_open(at, "sum");
    if (isfinite(at->carrier_dbm)) {
        number_of(at, at->carrier_dbm, "dBm \u2212 ");
        number_of(at, -one->limit, "dB = ");
        number_of(at, rounded(at->carrier_dbm) + rounded(one->limit), "dBm");
    } else {
        number_of(at, 0, "dBc \u2212 ");
        number_of(at, -one->limit, "dB = ");
        number_of(at, one->limit, "dBc");
    }
    spurity_buffer_text(&at->out, "</small>");
}

/* The sum in true signs: " x " times, "-" before a figure or alone less. */
static void write_work(spurity_paper *at, const char *work)
{
    char words[400];
    size_t used = 0;
    for (; *work && used + 4 < sizeof words; work++) {
        bool times = !strncmp(work, " x ", 3);
        bool less = *work == '-' && (work[1] == ' ' || (work[1] >= '0' && work[1] <= '9'));
        used += (size_t)snprintf(words + used, sizeof words - used, "%s", times ? " \u00d7" : less ? "\u2212" : "");
        if (!times && !less)
            words[used++] = *work;
        work += times; /* its letter; the blank behind it follows */
    }
    words[used] = '\0';
    spurity_html_foreign(&at->out, words);
}

static void write_limit(spurity_paper *at, size_t index)
{
    const spurity_shown_judgement *one = &at->shown.judgements[index];
    const char *work = spurity_shown_text(at->result, "judgements", index, "work");
    spurity_html_cell(&at->out, "figure", titles[LIMIT]);
    if (isfinite(one->limit)) {
        spurity_buffer_text(&at->out, "<b>");
        figure_of(at, one->limit, one->unit);
        spurity_buffer_text(&at->out, "</b>");
    }
    spurity_html_small(&at->out, one->binding);
    if (work[0]) {
        small_open(at, "sum");
        write_work(at, work);
        spurity_buffer_text(&at->out, "</small>");
    }
    write_suppression_sum(at, one);
    if (!strcmp(one->unit, "W") && one->limit > 0) {
        small_open(at, "quiet");
        number_of(at, spurity_dbm_from_watts(one->limit), "dBm");
        spurity_buffer_text(&at->out, "</small>");
    }
    double width = spurity_shown_number(at->result, "judgements", index, "reference_bandwidth_hz");
    const char *detector = spurity_shown_text(at->result, "judgements", index, "detector");
    char words[120], figure[48];
    snprintf(words, sizeof words, "%s%s%s%.40s", isfinite(width) ? "in " : "",
             isfinite(width) ? spurity_format_frequency(figure, sizeof figure, width, 3) : "",
             isfinite(width) && detector[0] ? ", " : "", detector);
    spurity_html_small(&at->out, words);
    spurity_html_cell_end(&at->out);
}

/* A number after a minus sign: a negative one stands in brackets. */
static void write_subtrahend(spurity_paper *at, double value)
{
    spurity_buffer_text(&at->out, value < 0 ? "(" : "");
    spurity_html_number(&at->out, value, 2);
    spurity_buffer_text(&at->out, value < 0 ? ")" : "");
}

static void write_margin(spurity_paper *at, const spurity_shown_judgement *one)
{
    char words[112];
    bool watts = !strcmp(one->unit, "W"), hertz = !strcmp(one->unit, "Hz");
    double limit = watts ? spurity_dbm_from_watts(one->limit) : one->limit;
    double measured = watts ? spurity_dbm_from_watts(one->measured) : one->measured;
    spurity_html_cell(&at->out, "figure", titles[MARGIN]);
    if (isfinite(one->margin)) {
        spurity_buffer_text(&at->out, "<b>");
        spurity_html_text(&at->out, spurity_word_margin(one, words, sizeof words));
        spurity_buffer_text(&at->out, "</b>");
        if (!hertz && isfinite(limit) && isfinite(measured)) {
            small_open(at, "sum");
            spurity_html_number(&at->out, limit, 2);
            spurity_buffer_text(&at->out, " \u2212 ");
            write_subtrahend(at, measured);
            spurity_buffer_text(&at->out, " = ");
            number_of(at, one->margin, "dB");
            spurity_buffer_text(&at->out, "</small>");
        }
    }
    spurity_html_cell_end(&at->out);
}

static void write_uncertainty(spurity_paper *at, const spurity_shown_judgement *one)
{
    char words[48];
    spurity_html_cell(&at->out, "figure", titles[U]);
    if (isfinite(one->margin) && isfinite(one->uncertainty)) {
        spurity_buffer_text(&at->out, "\u00b1");
        if (!strcmp(one->unit, "Hz"))
            spurity_html_text(&at->out,
                              spurity_word_frequency(one->uncertainty, one->uncertainty / 100, words, sizeof words));
        else
            number_of(at, one->uncertainty, "dB");
    }
    spurity_html_cell_end(&at->out);
}

/* Four digits are known of a probability: 1 and 0 are never reached. */
static void write_probability(spurity_paper *at, double share)
{
    spurity_html_cell(&at->out, "figure", titles[CONFORMS]);
    if (isfinite(share)) {
        spurity_buffer_text(&at->out, share >= 0.9999 ? "over " : share < 0.0001 ? "under " : "");
        spurity_html_number(&at->out, 100 * fmin(fmax(share, 0.0001), 0.9999), 2);
        spurity_buffer_text(&at->out, "\u00a0%");
    }
    spurity_html_cell_end(&at->out);
}

/* From the measured figure to the outcome; the cell before it says where. */
static void write_judgement(spurity_paper *at, size_t index)
{
    const spurity_shown_judgement *one = &at->shown.judgements[index];
    write_measured(at, index);
    write_limit(at, index);
    write_margin(at, one);
    write_uncertainty(at, one);
    write_probability(at, spurity_shown_number(at->result, "judgements", index, "conformity_probability"));
    spurity_html_cell(&at->out, "clause", titles[CLAUSE]);
    spurity_html_foreign(&at->out, one->clause);
    spurity_html_small(&at->out, one->confirmed ? "" : "unverified");
    spurity_html_cell_end(&at->out);
    spurity_html_cell(&at->out, "verdict", titles[OUTCOME]);
    spurity_buffer_text(&at->out, "<span class=\"outcome ");
    spurity_buffer_text(&at->out, spurity_paper_class(one->rank));
    spurity_buffer_text(&at->out, "\">");
    spurity_html_text(&at->out, one->outcome);
    spurity_buffer_text(&at->out, "</span>");
    spurity_html_cell_end(&at->out);
    spurity_buffer_text(&at->out, "</tr>\n");
}

static void where_cell(spurity_paper *at, const char *words)
{
    spurity_buffer_text(&at->out, "<tr>");
    spurity_html_cell(&at->out, "where", titles[WHERE]);
    spurity_buffer_text(&at->out, "<b>");
    spurity_html_foreign(&at->out, words);
    spurity_buffer_text(&at->out, "</b>");
}

/* ---- which rows ----------------------------------------------------------------------------------------------------
 */

enum kind { OF_CARRIER, OF_EMISSION, OF_STRETCH };

static enum kind kind_of(const spurity_shown_judgement *one)
{
    return one->emission >= 0 ? OF_EMISSION : one->to_hz > one->from_hz ? OF_STRETCH : OF_CARRIER;
}

static void write_where(spurity_paper *at, const spurity_shown_judgement *one)
{
    char words[112];
    if (kind_of(one) == OF_EMISSION && (size_t)one->emission < at->shown.emission_count) {
        const spurity_shown_emission *emission = &at->shown.emissions[one->emission];
        where_cell(at, spurity_word_emission(emission, words, sizeof words));
        spurity_html_small(&at->out, spurity_word_frequency(emission->frequency_hz, emission->frequency_uncertainty_hz,
                                                            words, sizeof words));
        spurity_html_small(&at->out, emission->seen ? "" : "not seen");
    } else if (kind_of(one) == OF_STRETCH) {
        where_cell(at, spurity_word_stretch(one->from_hz, one->to_hz, words, sizeof words));
        snprintf(words, sizeof words, "nearest at ");
        if (isfinite(one->frequency_hz) && isfinite(one->margin)) {
            spurity_word_frequency(one->frequency_hz, NAN, words + strlen(words), sizeof words - strlen(words));
            spurity_html_small(&at->out, words);
        }
    } else {
        where_cell(at, one->quantity);
        if (isfinite(one->frequency_hz))
            spurity_html_small(&at->out, spurity_format_frequency(words, sizeof words, one->frequency_hz, 6));
    }
    spurity_html_cell_end(&at->out);
}

static bool is_of(const spurity_paper *at, const spurity_shown_judgement *one, size_t verdict, enum kind kind)
{
    return kind_of(one) == kind && !(kind == OF_STRETCH && one->rank == NO_LIMIT) &&
           !strcmp(one->rules, spurity_shown_text(at->result, "verdicts", verdict, "rules/id"));
}

/* A second rule set of the same id has its rows among the first's. */
static bool is_again(const spurity_paper *at, size_t verdict)
{
    const char *id = spurity_shown_text(at->result, "verdicts", verdict, "rules/id");
    for (size_t i = 0; i < verdict; i++)
        if (!strcmp(id, spurity_shown_text(at->result, "verdicts", i, "rules/id")))
            return true;
    return false;
}

static void write_heading(spurity_paper *at, size_t verdict, const char *words)
{
    spurity_buffer_text(&at->out, "<h3>");
    spurity_buffer_text(&at->out, words);
    if (at->shown.sets > 1) {
        spurity_buffer_text(&at->out, ", by ");
        spurity_html_foreign(&at->out, spurity_shown_text(at->result, "verdicts", verdict, "rules/id"));
    }
    spurity_buffer_text(&at->out, "</h3>\n");
}

/* The table of one kind of judgements of one rule set; emissions in the measurement's order. */
static void write_table(spurity_paper *at, size_t verdict, enum kind kind, const char *heading)
{
    size_t written = 0, left_out = 0;
    for (size_t i = 0; i < at->shown.judgement_count; i++) {
        if (!is_of(at, &at->shown.judgements[i], verdict, kind))
            continue;
        if (written == ROWS_MOST) {
            left_out++;
            continue;
        }
        if (!written++) {
            write_heading(at, verdict, heading);
            spurity_html_table(&at->out, "judged", titles);
        }
        write_where(at, &at->shown.judgements[i]);
        write_judgement(at, i);
    }
    if (written)
        spurity_html_table_end(&at->out);
    if (!left_out)
        return;
    spurity_buffer_text(&at->out, "<p class=\"quiet\">and ");
    spurity_html_count(&at->out, left_out);
    spurity_buffer_text(&at->out, " more in the JSON result</p>\n");
}

/* ---- a measurement without rules ------------------------------------------------------------------------------------
 */

static void write_measured_row(spurity_paper *at, size_t index)
{
    static const char list[] = "emissions";
    const spurity_shown_emission *one = &at->shown.emissions[index];
    static const struct {
        const char *title, *level, *uncertainty, *unit;
    } cells[] = {{"Level", "level_dbm", "uncertainty_db", "dBm"},
                 {"To the carrier", "level_dbc", "uncertainty_dbc", "dBc"}};
    char words[112];
    where_cell(at, spurity_word_emission(one, words, sizeof words));
    spurity_html_small(&at->out,
                       spurity_word_frequency(one->frequency_hz, one->frequency_uncertainty_hz, words, sizeof words));
    spurity_html_cell_end(&at->out);
    for (size_t i = 0; i < 2; i++) {
        double level = spurity_shown_number(at->result, list, index, cells[i].level);
        double expanded = spurity_shown_number(at->result, list, index, cells[i].uncertainty);
        spurity_html_cell(&at->out, "figure", cells[i].title);
        spurity_buffer_text(&at->out, one->at_most && isfinite(level) ? "<b>at most " : "<b>");
        figure_of(at, level, cells[i].unit);
        spurity_buffer_text(&at->out, "</b>");
        if (isfinite(expanded)) {
            spurity_buffer_text(&at->out, "<small>\u00b1");
            number_of(at, expanded, "dB");
            spurity_buffer_text(&at->out, "</small>");
        }
        spurity_html_cell_end(&at->out);
    }
    spurity_html_text_cell(&at->out, "Character", one->seen ? one->character : "not seen");
    spurity_html_cell(&at->out, "figure", "Floor");
    figure_of(at, spurity_shown_number(at->result, list, index, "floor_dbm"), "dBm");
    spurity_html_cell_end(&at->out);
    spurity_buffer_text(&at->out, "</tr>\n");
}

static void write_measured_table(spurity_paper *at)
{
    static const char *const columns[] = {"Where", "Level", "To the carrier", "Character", "Floor", NULL};
    size_t count = at->shown.emission_count < ROWS_MOST ? at->shown.emission_count : ROWS_MOST;
    if (count)
        spurity_html_table(&at->out, "measured", columns);
    for (size_t i = 0; i < count; i++)
        write_measured_row(at, i);
    if (count)
        spurity_html_table_end(&at->out);
}

void spurity_paper_judged(spurity_paper *at)
{
    spurity_html_section(&at->out, "emissions", at->shown.judged ? "Against the limits" : "Emissions");
    if (at->shown.judged)
        spurity_buffer_text(&at->out, "<p class=\"quiet\">Limit less measured is the margin. U: expanded uncertainty, "
                                      "k = 2. Conforms by: probability that the true value is inside its limit "
                                      "(JCGM 106:2012), where the reading is no bound.</p>\n");
    else
        write_measured_table(at);
    if (!at->shown.emission_count)
        spurity_buffer_text(&at->out, "<p>No emission but the carrier was seen.</p>\n");
    for (size_t i = 0; i < at->shown.sets; i++) {
        if (is_again(at, i))
            continue;
        write_table(at, i, OF_EMISSION, "Emissions");
        write_table(at, i, OF_STRETCH, "Where nothing was seen");
        write_table(at, i, OF_CARRIER, "The carrier");
    }
    spurity_html_section_end(&at->out);
}
