/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the columns leave open: units, spans, and shapes that have their frequencies elsewhere. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "text.h"

/* An unsaid unit is taken only if the sweep then lies where transmitters and their harmonics do. */
static const double plausible_least_hz = 9e3, plausible_most_hz = 110e9;

static const struct {
    const char *name;
    double hz;
} frequency_units[] = {{"Hz", 1}, {"kHz", 1e3}, {"MHz", 1e6}, {"GHz", 1e9}};
enum { FREQUENCY_UNITS = 4 };

static const char *unit_name(double hz)
{
    for (size_t i = 0; i < FREQUENCY_UNITS; i++)
        if (frequency_units[i].hz == hz)
            return frequency_units[i].name;
    return hz == 1e12 ? "THz" : "hertz times a factor";
}

/* ---- wide rows ----------------------------------------------------------------------------------------- */

/** Numbers of a row from cell `from` on; NaN where there is none. */
static double number_at(const struct text_sniff *sniff, size_t c)
{
    struct text_number number;
    return spurity_text_kind(&sniff->cells[c], sniff->layout->marks, &number) == TEXT_NUMBER ? number.value
                                                                                             : (double)NAN;
}

spurity_status spurity_text_find_wide(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const struct text_line *line = &sniff->lines[sniff->first];
    (void)error;
    if (layout->fields < 8 || sniff->input->purpose != SPURITY_READ_TRACE)
        return SPURITY_OK;
    spurity_text_cells(line->text, line->length, layout->delimiter, sniff->cells, TEXT_FIELDS_MOST);
    size_t fields = layout->fields;
    while (fields && !sniff->cells[fields - 1].length)
        fields--;
    for (size_t c = 0; c <= 3 && c + 7 < fields; c++) {
        double low = number_at(sniff, c), high = number_at(sniff, c + 1), step = number_at(sniff, c + 2);
        double levels = (double)(fields - c - 4), spans = (high - low) / step;
        if (!(low >= 0 && high > low && step > 0) || !(fabs(spans - levels) < 1.01) || !(high > 250))
            continue;
        layout->wide = true;
        layout->wide_low = c;
        spurity_input_found(sniff->recording, "shape", "one row a stretch: low, high, step, count, levels", "",
                            line->number, true,
                            "columns %zu to %zu of the first row: from, to and a step that fits its %zu levels", c + 1,
                            c + 3, fields - c - 4);
        return SPURITY_OK;
    }
    return SPURITY_OK;
}

spurity_status spurity_text_refuse_dates(struct text_sniff *sniff, spurity_error *error)
{
    const struct text_layout *layout = sniff->layout;
    for (size_t c = 0; c < layout->fields; c++) {
        const struct text_column *column = &layout->columns[c];
        if (column->dates < 2 && column->dates <= column->numbers)
            continue;
        return spurity_reportf(
            error, SPURITY_INVALID,
            spurity_input_at(sniff->input, layout->first_line ? layout->first_line : sniff->lines[sniff->first].number,
                             0),
            "frequency and level in every row",
            "export again with numbers only, or as one row a stretch (date, time, low, high, step, count, levels)",
            "dates in column %zu, which are times of the readings or numbers that a spreadsheet turned into dates",
            c + 1);
    }
    return SPURITY_OK;
}

/* ---- unit of frequency ------------------------------------------------------------------------------------ */

/** The sweep's ends as written: of the column, or of the wide rows. */
static void written_span(const struct text_layout *layout, double *least, double *most)
{
    const struct text_column *low = &layout->columns[layout->wide ? layout->wide_low : layout->frequency];
    const struct text_column *high = layout->wide ? low + 1 : low;
    *least = low->least;
    *most = high->most;
}

/** Whether the carrier, or one of its first ten harmonics, lies in the span. */
static bool holds_carrier(double carrier, double from, double to)
{
    for (int n = 1; n <= 10; n++)
        if (n * carrier >= from && n * carrier <= to)
            return true;
    return false;
}

/** Units under which the span is plausible; told in text. */
static size_t fitting_units(const struct text_sniff *sniff, bool head_is_all, double *unit, char *text, size_t size)
{
    double least = 0, most = 0, carrier = sniff->input->options->carrier_hz;
    size_t count = 0, used = 0;
    written_span(sniff->layout, &least, &most);
    text[0] = 0;
    for (size_t i = 0; i < FREQUENCY_UNITS; i++) {
        double hz = frequency_units[i].hz, from = least * hz, to = head_is_all ? most * hz : plausible_most_hz;
        bool fits = most * hz >= plausible_least_hz && most * hz <= plausible_most_hz &&
                    (!(carrier > 0) || holds_carrier(carrier, from, to));
        if (!fits)
            continue;
        if (!count++)
            *unit = hz;
        char a[40], b[40];
        int n = snprintf(text + used, size - used, "%s%s (%s to %s)", count > 1 ? " or " : "", frequency_units[i].name,
                         spurity_format_frequency(a, sizeof a, from, 6),
                         spurity_format_frequency(b, sizeof b, most * hz, 6));
        used += n > 0 && (size_t)n < size - used ? (size_t)n : 0;
    }
    return count;
}

/** A preamble that tells the span with a unit settles the column's. */
static double unit_from_span(const struct text_layout *layout, double first)
{
    double start = spurity_text_fact_hz(&layout->facts, FACT_START, 0);
    double span = spurity_text_fact_hz(&layout->facts, FACT_SPAN, 0);
    if (isnan(start))
        start = spurity_text_fact_hz(&layout->facts, FACT_CENTER, 0) - span / 2;
    if (!(start > 0))
        return 0;
    for (size_t i = 0; i < FREQUENCY_UNITS; i++)
        if (fabs(first * frequency_units[i].hz - start) <= 1e-3 * start)
            return frequency_units[i].hz;
    return 0;
}

static spurity_status guess_frequency_unit(struct text_sniff *sniff, unsigned long line, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const spurity_input *input = sniff->input;
    double least = 0, most = 0, unit = 0;
    char fitting[160];
    written_span(layout, &least, &most);
    double carrier = input->options->carrier_hz;
    size_t fits = fitting_units(sniff, input->head_is_all, &unit, fitting, sizeof fitting);
    bool hertz = (least >= 1e5 || most >= 1e7) &&
                 (!(carrier > 0) || holds_carrier(carrier, least, input->head_is_all ? most : plausible_most_hz));
    if (hertz)
        unit = 1;
    else if (fits != 1)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line, 0),
                               "a unit of frequency in the title", "say --frequency-unit, or --carrier",
                               fits ? "frequencies from %g to %g without a unit, which could be %s"
                                    : "frequencies from %g to %g without a unit that fits%s",
                               least, most, fitting);
    layout->frequency_hz = unit;
    spurity_input_found(
        sniff->recording, "frequency unit", unit_name(unit), "--frequency-unit", line, true,
        hertz ? "not said; values from %g to %g are hertz" : "not said; from %g to %g nothing else fits", least, most);
    spurity_notes_add(input->notes, SPURITY_NOTE_UNIT_ASSUMED, input->file,
                      "'%.60s', line %lu: frequencies were taken as %s, no unit is told; --frequency-unit overrides",
                      input->name, line, unit_name(unit));
    return SPURITY_OK;
}

static spurity_status settle_frequency(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const spurity_read_options *options = sniff->input->options;
    size_t c = layout->wide ? layout->wide_low : layout->frequency;
    const struct text_column *column = &layout->columns[c];
    const struct text_fact *fact = &layout->facts.fact[FACT_FREQUENCY_UNIT];
    unsigned long line = layout->first_line ? layout->first_line : sniff->lines[sniff->first].number;
    double told = fact->line ? spurity_frequency_unit_from_text(fact->text, strlen(fact->text)) : 0;
    layout->falling = column->falls > column->rises;
    if (!layout->wide)
        spurity_input_found(sniff->recording, "frequency column", column->name[0] ? column->name : "nameless", "",
                            layout->names_line, false, "column %zu: %s", c + 1,
                            column->hz > 0 ? "its unit" : "its title or the way its values run");
    if (options->frequency_unit_hz > 0) {
        layout->frequency_hz = options->frequency_unit_hz;
        spurity_input_found(sniff->recording, "frequency unit", unit_name(layout->frequency_hz), "--frequency-unit", 0,
                            false, "as told");
        double own = column->hz > 0 ? column->hz : told;
        if (own > 0 && own != layout->frequency_hz)
            spurity_input_contradiction(sniff->input, "'%.80s': --frequency-unit says %s, the file %s; %s is taken",
                                        sniff->input->name, unit_name(layout->frequency_hz), unit_name(own),
                                        unit_name(layout->frequency_hz));
        return SPURITY_OK;
    }
    if (column->hz > 0 && told > 0 && told != column->hz)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, column->unit_line, 0),
                               "one unit of frequency", "say --frequency-unit", "%s for the column, but %s in line %lu",
                               unit_name(column->hz), unit_name(told), fact->line);
    layout->frequency_hz = column->hz > 0 ? column->hz : told;
    if (layout->frequency_hz > 0) {
        spurity_input_found(sniff->recording, "frequency unit", unit_name(layout->frequency_hz), "--frequency-unit",
                            column->hz > 0 ? column->unit_line : fact->line, false, "%s",
                            column->hz > 0 ? column->unit_from : "the preamble");
        return SPURITY_OK;
    }
    layout->frequency_hz = layout->wide ? 0 : unit_from_span(layout, column->first);
    if (!(layout->frequency_hz > 0))
        return guess_frequency_unit(sniff, line, error);
    spurity_input_found(sniff->recording, "frequency unit", unit_name(layout->frequency_hz), "--frequency-unit", line,
                        true, "the first row agrees with the start that the preamble tells");
    return SPURITY_OK;
}

/* ---- levels without frequencies --------------------------------------------------------------------------- */

static double told_start(const struct text_facts *facts)
{
    double start = spurity_text_fact_hz(facts, FACT_START, 1);
    if (!isnan(start))
        return start;
    return spurity_text_fact_hz(facts, FACT_CENTER, 1) - spurity_text_fact_hz(facts, FACT_SPAN, 1) / 2;
}
static double told_stop(const struct text_facts *facts)
{
    double stop = spurity_text_fact_hz(facts, FACT_STOP, 1);
    if (!isnan(stop))
        return stop;
    double start = told_start(facts), points = facts->fact[FACT_POINTS].line ? facts->fact[FACT_POINTS].value : NAN;
    double span = spurity_text_fact_hz(facts, FACT_SPAN, 1), step = spurity_text_fact_hz(facts, FACT_STEP, 1);
    return !isnan(span) ? start + span : start + step * (points - 1);
}

static spurity_status settle_span(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const spurity_read_options *options = sniff->input->options;
    unsigned long line = sniff->lines[sniff->first].number;
    if (sniff->input->purpose == SPURITY_READ_LOSS)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(sniff->input, line, 0),
                              "no column of frequencies", "rows of frequency and loss in dB", NULL);
    layout->start_hz = isnan(options->start_hz) ? told_start(&layout->facts) : options->start_hz;
    layout->stop_hz = isnan(options->stop_hz) ? told_stop(&layout->facts) : options->stop_hz;
    size_t numeric = 0;
    for (size_t c = 0; c < layout->fields; c++)
        numeric += layout->columns[c].numbers > 0;
    if (isnan(layout->start_hz) || isnan(layout->stop_hz))
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(sniff->input, line, 0),
                              numeric > 1 ? "no column whose values rise or fall like frequencies"
                                          : "levels only, and no span told for them",
                              "frequency and level in every row, or levels with their span",
                              "--start and --stop tell the span of levels alone");
    if (!(layout->stop_hz > layout->start_hz) || fabs(layout->start_hz) > 1e12 || layout->stop_hz > 1e12)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, line, 0),
                               "a stop frequency above the start, both below 1 THz", "see --start, --stop",
                               "levels only, from %.17g Hz to %.17g Hz", layout->start_hz, layout->stop_hz);
    char a[40], b[40], span[100];
    snprintf(span, sizeof span, "%s to %s", spurity_format_frequency(a, sizeof a, layout->start_hz, 6),
             spurity_format_frequency(b, sizeof b, layout->stop_hz, 6));
    const struct text_fact *fact = &layout->facts.fact[FACT_START];
    if (!fact->line)
        fact = &layout->facts.fact[FACT_CENTER];
    bool bare = isnan(options->start_hz) && !fact->unit[0];
    spurity_input_found(sniff->recording, "span", span, "--start", isnan(options->start_hz) ? fact->line : 0, bare,
                        isnan(options->start_hz) ? (bare ? "the preamble, taken as hertz" : "the preamble")
                                                 : "as told");
    if (bare)
        spurity_notes_add(
            sniff->input->notes, SPURITY_NOTE_UNIT_ASSUMED, sniff->input->file,
            "'%.60s', line %lu: the span was taken as hertz, no unit is told; --start and --stop override",
            sniff->input->name, fact->line);
    return SPURITY_OK;
}

/* ---- unit of level ------------------------------------------------------------------------------------------ */

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/** Median of the level column over the head (of at most 8192 rows). */
static double median_level(struct text_sniff *sniff, size_t from)
{
    enum { MOST = 8192 };
    const struct text_layout *layout = sniff->layout;
    double *values = malloc(MOST * sizeof *values);
    size_t count = 0;
    for (size_t i = sniff->first; values && i < sniff->run_end && count < MOST; i++) {
        const struct text_line *line = &sniff->lines[i];
        size_t fields = spurity_text_cells(line->text, line->length, layout->delimiter, sniff->cells, TEXT_FIELDS_MOST);
        size_t to = layout->wide ? fields : from + 1;
        for (size_t c = from; c < to && c < fields && fields <= TEXT_FIELDS_MOST && count < MOST; c++) {
            double value = number_at(sniff, c);
            if (!isnan(value))
                values[count++] = value;
        }
    }
    if (count)
        qsort(values, count, sizeof *values, compare);
    double median = count ? values[count / 2] : (double)NAN;
    free(values);
    return median;
}

static spurity_status guess_level_unit(struct text_sniff *sniff, size_t c, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const spurity_input *input = sniff->input;
    const struct text_column *column = &layout->columns[c];
    unsigned long line = sniff->lines[sniff->first].number;
    double median = median_level(sniff, c);
    if (median >= 0 && column->least >= 0 && median < 10)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line, 0), "a unit of level",
                               "say --level-unit", "levels without a unit around %.3g, which could be W, V or dBm",
                               median);
    if (median >= 10 && median <= 140) {
        double as_dbm = spurity_level_to_dbm(SPURITY_LEVEL_DBUV, median, layout->ohm);
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line, 0), "a unit of level",
                               "say --level-unit dBm or --level-unit dBuV",
                               "levels without a unit around %.1f, which is %.1f dBm, or %.1f dBuV (%.1f dBm)", median,
                               median, median, as_dbm);
    }
    if (!(median >= -160 && median < 10))
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, line, 0), "a unit of level",
                               "say --level-unit", "levels without a unit around %.3g, which fit none", median);
    layout->unit = SPURITY_LEVEL_DBM;
    spurity_input_found(sniff->recording, "level unit", "dBm", "--level-unit", line, true,
                        "not said; the median is %.1f", median);
    spurity_notes_add(input->notes, SPURITY_NOTE_UNIT_ASSUMED, input->file,
                      "'%.60s', line %lu: levels were taken as dBm, no unit is told; --level-unit overrides",
                      input->name, line);
    return SPURITY_OK;
}

static void settle_impedance(struct text_sniff *sniff)
{
    struct text_layout *layout = sniff->layout;
    const struct text_fact *fact = &layout->facts.fact[FACT_IMPEDANCE];
    layout->ohm = sniff->input->options->impedance_ohm > 0 ? sniff->input->options->impedance_ohm : 50;
    bool told = fact->line && fact->value >= 1 && fact->value <= 1e5;
    if (told && layout->ohm == 50)
        layout->ohm = fact->value;
    bool voltage = layout->unit >= SPURITY_LEVEL_DBV && layout->unit <= SPURITY_LEVEL_MICROVOLT;
    if (!voltage)
        return;
    char text[40];
    snprintf(text, sizeof text, "%g ohm", layout->ohm);
    spurity_input_found(sniff->recording, "impedance", text, "--impedance", told ? fact->line : 0, !told,
                        told ? "the preamble" : "voltages become powers in it");
}

/** The unit that the preamble tells for all traces; line 0 when none. */
static spurity_level_unit preamble_unit(const struct text_facts *facts, const struct text_fact **fact)
{
    *fact = &facts->fact[FACT_LEVEL_UNIT];
    spurity_level_unit unit = spurity_level_unit_from_text((*fact)->text, strlen((*fact)->text));
    if (unit)
        return unit;
    *fact = &facts->fact[FACT_REFERENCE];
    return spurity_level_unit_from_text((*fact)->unit, strlen((*fact)->unit));
}

static spurity_status settle_level(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const spurity_input *input = sniff->input;
    size_t c = layout->wide ? layout->wide_low + 4 : layout->level;
    const struct text_column *column = &layout->columns[c];
    const struct text_fact *fact = NULL;
    spurity_level_unit told = preamble_unit(&layout->facts, &fact);
    if (!layout->wide)
        spurity_input_found(sniff->recording, "level column", column->name[0] ? column->name : "nameless", "--trace",
                            layout->names_line, false, "column %zu", c + 1);
    if (input->options->level_unit) {
        layout->unit = input->options->level_unit;
        settle_impedance(sniff);
        spurity_input_found(sniff->recording, "level unit", spurity_level_unit_name(layout->unit), "--level-unit", 0,
                            false, "as told");
        spurity_level_unit own = column->unit ? column->unit : told;
        if (own && own != layout->unit)
            spurity_input_contradiction(input, "'%.80s': --level-unit says %s, the file %s; %s is taken", input->name,
                                        spurity_level_unit_name(layout->unit), spurity_level_unit_name(own),
                                        spurity_level_unit_name(layout->unit));
        return SPURITY_OK;
    }
    if (column->unit && told && fact == &layout->facts.fact[FACT_LEVEL_UNIT] && told != column->unit)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, column->unit_line, 0),
                               "one unit of level", "say --level-unit", "%s for the column, but %s in line %lu",
                               spurity_level_unit_name(column->unit), spurity_level_unit_name(told), fact->line);
    layout->unit = column->unit ? column->unit : told;
    settle_impedance(sniff);
    if (!layout->unit)
        return guess_level_unit(sniff, c, error);
    bool from_reference = !column->unit && fact == &layout->facts.fact[FACT_REFERENCE];
    spurity_input_found(sniff->recording, "level unit", spurity_level_unit_name(layout->unit), "--level-unit",
                        column->unit ? column->unit_line : fact->line, from_reference, "%s",
                        column->unit     ? column->unit_from
                        : from_reference ? "the unit of the reference level"
                                         : "the preamble");
    if (from_reference)
        spurity_notes_add(input->notes, SPURITY_NOTE_UNIT_ASSUMED, input->file,
                          "'%.60s', line %lu: levels were taken as %s, the unit of the reference level; --level-unit "
                          "overrides",
                          input->name, fact->line, spurity_level_unit_name(layout->unit));
    if (layout->unit == SPURITY_LEVEL_DB || layout->unit == SPURITY_LEVEL_OTHER)
        return spurity_reportf(
            error, SPURITY_INVALID, spurity_input_at(input, column->unit ? column->unit_line : fact->line, 0),
            "levels at a terminal: dBm, dBW, dBuV, dBmV, dBV, V, W and their parts",
            "export in dBm; --level-unit says so where the title is wrong", "a unit that is no level at a terminal");
    return SPURITY_OK;
}

static spurity_status settle_loss(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    const struct text_column *column = &layout->columns[layout->level];
    layout->unit = SPURITY_LEVEL_DB;
    spurity_input_found(sniff->recording, "loss column", column->name[0] ? column->name : "nameless", "--trace",
                        layout->names_line, false, "column %zu", layout->level + 1);
    if (column->unit && column->unit != SPURITY_LEVEL_DB)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(sniff->input, column->unit_line, 0),
                               "losses in dB", NULL, "a column in %s", spurity_level_unit_name(column->unit));
    return SPURITY_OK;
}

/* ---- what the preamble tells of the instrument ------------------------------------------------------------------ */

static double level_of(const struct text_fact *fact)
{
    spurity_level_unit unit = spurity_level_unit_from_text(fact->unit, strlen(fact->unit));
    return fact->line && !isnan(fact->value) ? spurity_level_to_dbm(unit ? unit : SPURITY_LEVEL_DBM, fact->value, 50)
                                             : (double)NAN;
}

/** A gain or offset outside the instrument is in the levels already; beside a stated chain it would count twice. */
static spurity_status take_external(struct text_sniff *sniff, enum text_fact_id id, double sign, spurity_error *error)
{
    const struct text_fact *fact = &sniff->layout->facts.fact[id];
    spurity_recording_facts *facts = &sniff->recording->facts;
    const spurity_input *input = sniff->input;
    if (!fact->line || isnan(fact->value))
        return SPURITY_OK;
    if (isnan(facts->external_gain_db))
        facts->external_gain_db = 0;
    facts->external_gain_db += sign * fact->value;
    if (fact->value == 0)
        return SPURITY_OK;
    const char *name = spurity_text_fact_name(id);
    if (input->options->chain_stated)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, fact->line, 0),
                               "one of the two: levels the file has corrected, or a chain",
                               "export without the correction, or leave out the chain that it already covers",
                               "%s of %g dB in the file together with the chain that was stated", name, fact->value);
    char text[60];
    snprintf(text, sizeof text, "%g dB", fact->value);
    spurity_input_found(sniff->recording, name, text, "", fact->line, true,
                        "taken as part of the instrument's own figures; not applied again");
    spurity_notes_add(input->notes, SPURITY_NOTE_UNIT_ASSUMED, input->file,
                      "'%.60s', line %lu: %s of %g dB was taken as contained in the levels already", input->name,
                      fact->line, name, fact->value);
    return SPURITY_OK;
}

static void tell_fact(struct text_sniff *sniff, enum text_fact_id id, const char *option, const char *why)
{
    const struct text_fact *fact = &sniff->layout->facts.fact[id];
    char text[120];
    if (!fact->line)
        return;
    bool apart = fact->unit[0] && !strstr(fact->text, fact->unit);
    snprintf(text, sizeof text, "%s%s%s", fact->text, apart ? " " : "", apart ? fact->unit : "");
    spurity_input_found(sniff->recording, spurity_text_fact_name(id), text, option, fact->line, false, "%s", why);
}

/* RBW and detector told of this file, against what it tells itself. */
static void tell_contradictions(const struct text_sniff *sniff)
{
    const spurity_input *input = sniff->input;
    const spurity_read_options plain = {0}, *said = input->options;
    const spurity_segment_facts own = spurity_text_segment_facts(&sniff->layout->facts, &plain);
    if (!said->rbw_if_untold && said->rbw_hz > 0 && own.rbw_hz > 0 &&
        fabs(said->rbw_hz - own.rbw_hz) > 0.01 * own.rbw_hz)
        spurity_input_contradiction(input, "'%.80s': --rbw says %.6g Hz, the file %.6g Hz; --rbw is taken", input->name,
                                    said->rbw_hz, own.rbw_hz);
    if (!said->detector_if_untold && said->detector && own.detector && said->detector != own.detector)
        spurity_input_contradiction(input, "'%.80s': --detector says %s, the file %s; %s is taken", input->name,
                                    spurity_detector_name(said->detector), spurity_detector_name(own.detector),
                                    spurity_detector_name(said->detector));
}

/* What was said of all files and is not so of this one. */
static void note_kept(struct text_sniff *sniff)
{
    const struct text_facts *facts = &sniff->layout->facts;
    const spurity_read_options *said = sniff->input->options;
    spurity_segment_facts kept = spurity_text_segment_facts(facts, said);
    char a[40], b[40];
    if (said->rbw_if_untold && said->rbw_hz > 0 && fabs(kept.rbw_hz / said->rbw_hz - 1) > 1e-3)
        spurity_notes_add(
            sniff->input->notes, SPURITY_NOTE_DUPLICATE_METADATA, sniff->input->file,
            "an RBW of %s by the file, %s by --rbw: the file's was taken; rbw=%g after its name overrides",
            spurity_format_frequency(a, sizeof a, kept.rbw_hz, 3),
            spurity_format_frequency(b, sizeof b, said->rbw_hz, 3), said->rbw_hz);
    if (said->detector_if_untold && said->detector && kept.detector != said->detector)
        spurity_notes_add(
            sniff->input->notes, SPURITY_NOTE_DUPLICATE_METADATA, sniff->input->file,
            "detector %s by the file, %s by --detector: the file's was taken; detector=%s after its name overrides",
            spurity_detector_name(kept.detector), spurity_detector_name(said->detector),
            spurity_detector_name(said->detector));
}

static spurity_status take_instrument(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    spurity_recording_facts *facts = &sniff->recording->facts;
    static const enum text_fact_id bandwidths[] = {FACT_RBW, FACT_VBW};
    for (size_t i = 0; i < 2; i++) {
        const struct text_fact *fact = &layout->facts.fact[bandwidths[i]];
        bool bare = fact->line && !fact->unit[0];
        tell_fact(sniff, bandwidths[i],
                  i      ? ""
                  : bare ? "--rbw"
                         : "FILE,rbw=F",
                  bare ? "the preamble; no unit, taken as hertz" : "the preamble");
        if (bare && !i && !(sniff->input->options->rbw_hz > 0) && fact->value > 0)
            spurity_notes_add(sniff->input->notes, SPURITY_NOTE_UNIT_ASSUMED, sniff->input->file,
                              "'%.60s', line %lu: the resolution bandwidth was taken as hertz; --rbw overrides",
                              sniff->input->name, fact->line);
    }
    tell_fact(sniff, FACT_DETECTOR, "FILE,detector=D", "the preamble");
    tell_fact(sniff, FACT_TRACE_MODE, "FILE,detector=D", "the preamble");
    note_kept(sniff);
    tell_fact(sniff, FACT_AVERAGES, "", "the preamble");
    tell_fact(sniff, FACT_SWEEP_TIME, "", "the preamble");
    tell_fact(sniff, FACT_REFERENCE, "", "the preamble");
    tell_fact(sniff, FACT_ATTENUATION, "", "inside the instrument; never part of the chain");
    facts->reference_level_dbm = level_of(&layout->facts.fact[FACT_REFERENCE]);
    if (layout->facts.fact[FACT_ATTENUATION].line)
        facts->input_attenuation_db = layout->facts.fact[FACT_ATTENUATION].value;
    snprintf(facts->title, sizeof facts->title, "%s", layout->facts.fact[FACT_TITLE].text);
    tell_contradictions(sniff);
    if (!layout->wide)
        snprintf(facts->column, sizeof facts->column, "%s", layout->columns[layout->level].name);
    spurity_status status = take_external(sniff, FACT_EXTERNAL_GAIN, 1, error);
    if (!status)
        status = take_external(sniff, FACT_EXTERNAL_LOSS, -1, error);
    if (!status)
        status = take_external(sniff, FACT_OFFSET, -1, error);
    return status;
}

spurity_status spurity_text_settle_units(struct text_sniff *sniff, spurity_error *error)
{
    struct text_layout *layout = sniff->layout;
    bool levels_only = !layout->wide && layout->frequency == TEXT_NONE;
    spurity_status status = levels_only ? settle_span(sniff, error) : settle_frequency(sniff, error);
    if (status)
        return status;
    status = sniff->input->purpose == SPURITY_READ_LOSS ? settle_loss(sniff, error) : settle_level(sniff, error);
    if (status || sniff->input->purpose == SPURITY_READ_LOSS)
        return status;
    return take_instrument(sniff, error);
}
