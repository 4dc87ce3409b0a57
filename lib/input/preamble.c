/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Facts told beside or above a table, in the spellings the trade uses: "RBW: 10 kHz", "Start;88000000;Hz",
 * "# Span = 20 MHz", "Resolution Bandwidth (kHz),10". */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "text.h"

/* Spellings folded to letters and digits.  One more spelling is one more word here. */
static const struct {
    enum text_fact_id id;
    const char *name, *spellings;
} keys[] = {
    {FACT_START, "start frequency",
     "start startfreq startfrequency freqstart frequencystart fstart sweepstart xstart startf begin freqfrom "
     "startingfrequency lowerfrequency fmin"},
    {FACT_STOP, "stop frequency",
     "stop stopfreq stopfrequency freqstop frequencystop fstop sweepstop xstop stopf endfrequency endfreq fend end "
     "freqto upperfrequency fmax"},
    {FACT_CENTER, "centre frequency",
     "center centre centerfreq centrefreq centerfrequency centrefrequency fcenter fcentre freqcenter freqcentre "
     "frequencycenter frequencycentre cf"},
    {FACT_SPAN, "span", "span freqspan frequencyspan sweepspan spanfrequency"},
    {FACT_POINTS, "points",
     "points numberofpoints sweeppoints npoints numpoints nrofpoints noofpoints tracepoints pts datapoints pointcount "
     "measurementpoints numberofsweeppoints"},
    {FACT_STEP, "step", "step stepsize freqstep frequencystep stepfrequency fstep xincrement binwidth binsize deltaf"},
    {FACT_RBW, "resolution bandwidth",
     "rbw resbw resolutionbandwidth resolutionbw resbandwidth bandwidthresolution resolutionbandwidthrbw "
     "rbwresolutionbandwidth"},
    {FACT_VBW, "video bandwidth", "vbw videobw videobandwidth vidbw videobandwidthvbw"},
    {FACT_DETECTOR, "detector",
     "detector det detectortype tracedetector detectormode detectorfunction detection detectionmode detectiontype"},
    {FACT_ATTENUATION, "input attenuation",
     "attenuation att atten inputattenuation inputatt inputattenuator rfattenuation rfatten rfatt attenuator "
     "attenuationlevel"},
    {FACT_REFERENCE, "reference level", "referencelevel reflevel ref reflvl refamplitude"},
    {FACT_OFFSET, "level offset",
     "referenceleveloffset refleveloffset reflvloffset leveloffset amplitudeoffset offset refoffset externaloffset "
     "extoffset"},
    {FACT_EXTERNAL_GAIN, "external gain",
     "externalgain extgain externalpreamp externalpreampgain extpreampgain extpreamp"},
    {FACT_EXTERNAL_LOSS, "external attenuation",
     "externalattenuation extatten extatt externalloss extloss externalatt externalattenuator"},
    {FACT_AVERAGES, "averages",
     "averages averagecount avgcount numberofaverages avgnumber averagenumber sweepcount averaging holdcount "
     "numberofsweeps sweepsaveraged"},
    {FACT_SWEEP_TIME, "sweep time", "sweeptime swt sweepduration acquisitiontime sweeptimeswt"},
    {FACT_LEVEL_UNIT, "level unit",
     "unit units levelunit levelunits amplitudeunit amplitudeunits yunit yunits yaxisunit verticalunit powerunit"},
    {FACT_FREQUENCY_UNIT, "frequency unit",
     "frequencyunit frequencyunits frequnit xunit xunits xaxisunit horizontalunit"},
    {FACT_TRACE, "trace name", "trace tracename tracenumber traceno"},
    {FACT_TRACE_MODE, "trace mode", "tracemode tracetype"},
    {FACT_TITLE, "title", "title name measurementtitle description"},
    {FACT_IMPEDANCE, "impedance", "impedance inputimpedance inputz refimpedance referenceimpedance"},
};

const char *spurity_text_fact_name(enum text_fact_id id)
{
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (keys[i].id == id)
            return keys[i].name;
    return "";
}

/** Takes a bracketed end "(MHz)" or "[MHz]" off; its inside is told. */
static size_t cut_bracket(const char *text, size_t length, const char **inside, size_t *inside_length)
{
    *inside_length = 0;
    while (length && (text[length - 1] == ' ' || text[length - 1] == ':' || text[length - 1] == '='))
        length--;
    if (!length || (text[length - 1] != ')' && text[length - 1] != ']'))
        return length;
    for (size_t i = length - 1; i > 0; i--)
        if (text[i - 1] == '(' || text[i - 1] == '[') {
            *inside = text + i;
            *inside_length = length - 1 - i;
            return i - 1;
        }
    return length;
}

enum text_fact_id spurity_text_key(const char *text, size_t length)
{
    char key[48];
    const char *inside = NULL;
    size_t inside_length = 0;
    if (length > 60)
        return FACTS;
    spurity_text_fold(text, cut_bracket(text, length, &inside, &inside_length), key, sizeof key);
    size_t n = strlen(key);
    if (!n)
        return FACTS;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        for (const char *p = keys[i].spellings; (p = strstr(p, key)); p += n)
            if ((p == keys[i].spellings || p[-1] == ' ') && (!p[n] || p[n] == ' '))
                return keys[i].id;
    return FACTS;
}

/** Keeps a fact: number and unit of the value, unit from the key's bracket or the next cell when it has none. */
static void keep(struct text_facts *facts, enum text_fact_id id, struct text_fact *made, const spurity_input *input)
{
    struct text_fact *there = &facts->fact[id];
    if (!there->line) {
        *there = *made;
        return;
    }
    bool same = isnan(made->value) ? !strcmp(there->text, made->text)
                                   : made->value == there->value && !strcmp(there->unit, made->unit);
    if (!same && input)
        spurity_notes_add(input->notes, SPURITY_NOTE_DUPLICATE_METADATA, input->file,
                          "'%.60s': %s stands in line %lu ('%.40s') and in line %lu ('%.40s'); the first was taken",
                          input->name, spurity_text_fact_name(id), there->line, there->text, made->line, made->text);
}

static void take_value(struct text_fact *fact, const char *text, size_t length, char mark)
{
    struct text_cell cell = {.text = text, .length = length};
    while (cell.length && *cell.text == ' ') {
        cell.text++;
        cell.length--;
    }
    spurity_input_clean(fact->text, sizeof fact->text, cell.text, cell.length);
    char decimal = mark;
    if (!decimal)
        decimal = memchr(cell.text, '.', cell.length) || !memchr(cell.text, ',', cell.length) ? '.' : ',';
    size_t taken = spurity_number_parse(cell.text, cell.length, decimal, &fact->value);
    if (!taken || !isfinite(fact->value)) {
        fact->value = NAN;
        return;
    }
    while (taken < cell.length && cell.text[taken] == ' ')
        taken++;
    if (cell.length - taken < sizeof fact->unit)
        spurity_input_clean(fact->unit, sizeof fact->unit, cell.text + taken, cell.length - taken);
}

/** One key with its value.  unit: a cell of its own behind the value, may be NULL. */
static bool take_pair(struct text_facts *facts, const char *key, size_t key_length, const char *value,
                      size_t value_length, const struct text_cell *unit, unsigned long number, char mark,
                      const spurity_input *input)
{
    enum text_fact_id id = spurity_text_key(key, key_length);
    if (id == FACTS || spurity_text_is_blank(value, value_length))
        return false;
    struct text_fact fact = {.line = number, .value = NAN};
    take_value(&fact, value, value_length, mark);
    const char *inside = NULL;
    size_t inside_length = 0;
    cut_bracket(key, key_length, &inside, &inside_length);
    if (!fact.unit[0] && inside_length && inside_length < sizeof fact.unit)
        spurity_input_clean(fact.unit, sizeof fact.unit, inside, inside_length);
    if (!fact.unit[0] && !isnan(fact.value) && unit && unit->length && unit->length < sizeof fact.unit)
        spurity_input_clean(fact.unit, sizeof fact.unit, unit->text, unit->length);
    keep(facts, id, &fact, input);
    return true;
}

/** Where in "RBW 10 kHz" the value begins: at the first number behind a blank; 0 when there is none. */
static size_t value_behind_words(const char *text, size_t length)
{
    for (size_t i = 1; i + 1 <= length; i++)
        if (text[i - 1] == ' ' &&
            ((text[i] >= '0' && text[i] <= '9') || ((text[i] == '-' || text[i] == '+' || text[i] == '.') &&
                                                    i + 1 < length && text[i + 1] >= '0' && text[i + 1] <= '9')))
            return i;
    return 0;
}

/** A cell that holds key and value both: "RBW=10 kHz", "RBW: 10 kHz", "RBW 10 kHz". */
static bool take_joined(struct text_facts *facts, const struct text_cell *cell, unsigned long number, char mark,
                        const spurity_input *input)
{
    const char *sign = memchr(cell->text, '=', cell->length);
    if (!sign)
        sign = memchr(cell->text, ':', cell->length);
    if (sign) {
        size_t at = (size_t)(sign - cell->text);
        return take_pair(facts, cell->text, at, sign + 1, cell->length - at - 1, NULL, number, mark, input);
    }
    size_t at = value_behind_words(cell->text, cell->length);
    return at && take_pair(facts, cell->text, at, cell->text + at, cell->length - at, NULL, number, mark, input);
}

bool spurity_text_take_cells(struct text_facts *facts, const struct text_cell *cells, size_t count,
                             unsigned long number, char mark, const spurity_input *input)
{
    bool any = false;
    for (size_t i = 0; i < count; i++) {
        const struct text_cell *cell = &cells[i];
        if (!cell->length)
            continue;
        if (take_joined(facts, cell, number, mark, input)) {
            any = true;
            continue;
        }
        size_t length = cell->length;
        while (length && strchr(":= ", cell->text[length - 1]))
            length--;
        if (i + 1 >= count || spurity_text_key(cell->text, length) == FACTS)
            continue;
        const struct text_cell *unit = i + 2 < count ? &cells[i + 2] : NULL;
        if (take_pair(facts, cell->text, length, cells[i + 1].text, cells[i + 1].length, unit, number, mark, input)) {
            any = true;
            i++;
        }
    }
    return any;
}

bool spurity_text_take_facts(struct text_facts *facts, const char *line, size_t length, unsigned long number,
                             char delimiter, char mark, const spurity_input *input)
{
    enum { CELLS = 64 };
    struct text_cell cells[CELLS];
    size_t comment = spurity_text_comment(line, length);
    const char *text = line + comment;
    length -= comment;
    if (length > 4096)
        return false;
    /* The table's delimiter first, then the others; blanks and a decimal comma do not separate facts. */
    const char order[] = {delimiter, '\t', ';', ',', '|'};
    for (size_t i = 0; i < sizeof order; i++) {
        if (order[i] == ' ' || !order[i] || (order[i] == ',' && mark == ',') || !memchr(text, order[i], length))
            continue;
        size_t count = spurity_text_cells(text, length, order[i], cells, CELLS);
        if (spurity_text_take_cells(facts, cells, count > CELLS ? CELLS : count, number, mark, input))
            return true;
    }
    struct text_cell whole = {.text = text, .length = length};
    if (take_joined(facts, &whole, number, mark, input))
        return true;
    size_t count = spurity_text_cells(text, length, ' ', cells, CELLS); /* "Detector RMS" */
    return count >= 2 && count <= 4 && spurity_text_take_cells(facts, cells, count, number, mark, input);
}

double spurity_text_fact_hz(const struct text_facts *facts, enum text_fact_id id, double bare_hz)
{
    const struct text_fact *fact = &facts->fact[id];
    if (!fact->line || isnan(fact->value))
        return NAN;
    double hz = fact->unit[0] ? spurity_frequency_unit_from_text(fact->unit, strlen(fact->unit)) : bare_hz;
    return hz > 0 ? fact->value * hz : (double)NAN;
}

static double seconds_of(const struct text_fact *fact)
{
    char text[120];
    double seconds = 0;
    if (!fact->line || isnan(fact->value))
        return 0;
    snprintf(text, sizeof text, "%.17g%s", fact->value, fact->unit);
    return spurity_parse_time(text, "sweep time", (spurity_place){0}, &seconds, NULL) ? 0 : seconds;
}

/* What was said of this file replaces what it tells itself, what was said of all fills what it does not tell. rbw_told:
 * with a unit; hertz without one are but assumed. */
static void take_options(spurity_segment_facts *made, const spurity_read_options *options, bool rbw_told)
{
    if (options->rbw_hz > 0 && !(options->rbw_if_untold && made->rbw_hz > 0 && rbw_told))
        made->rbw_hz = options->rbw_hz;
    bool keep = options->detector_if_untold && made->detector;
    if (options->averages > 0 && (!keep || (made->detector == options->detector && !(made->averages > 0))))
        made->averages = options->averages;
    if (options->detector && !keep)
        made->detector = options->detector;
}

spurity_segment_facts spurity_text_segment_facts(const struct text_facts *facts, const spurity_read_options *options)
{
    spurity_segment_facts made = {0};
    double rbw = spurity_text_fact_hz(facts, FACT_RBW, 1), vbw = spurity_text_fact_hz(facts, FACT_VBW, 1);
    made.rbw_hz = rbw > 0 && rbw <= 1e12 ? rbw : 0;
    made.vbw_hz = vbw > 0 && vbw <= 1e12 ? vbw : 0;
    const struct text_fact *detector = &facts->fact[FACT_DETECTOR], *mode = &facts->fact[FACT_TRACE_MODE];
    made.detector = spurity_detector_from_text(detector->text, strlen(detector->text));
    spurity_detector held = spurity_detector_from_text(mode->text, strlen(mode->text));
    if (held == SPURITY_DETECTOR_MAX_HOLD)
        made.detector = held;
    const struct text_fact *averages = &facts->fact[FACT_AVERAGES];
    if (averages->line && averages->value >= 1 && averages->value <= 1e9)
        made.averages = averages->value;
    made.sweep_seconds = seconds_of(&facts->fact[FACT_SWEEP_TIME]);
    take_options(&made, options, facts->fact[FACT_RBW].unit[0] != 0);
    return made;
}
