/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Every shape of text sweep and block, and every bad one with its place. */
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../check.h"
#include "../comma_locale.h"
#include "input/input.h"

static double figure(const char *text)
{
    double value = NAN;
    if (spurity_number_parse(text, strlen(text), '.', &value) != strlen(text))
        fail_msg("no number: %s", text);
    return value;
}

/** What the user says, as short words: "start=1e6 stop=2e6 trace=2 delimiter=; mark=, unit=dBm ohm=75 carrier=146e6".
 */
static void apply(const char *words, spurity_read_options *options, char *trace, size_t size)
{
    static char copy[200];
    spurity_read_options_init(options);
    snprintf(copy, sizeof copy, "%s", words ? words : "");
    for (char *word = strtok(copy, " "); word; word = strtok(NULL, " ")) {
        char *value = strchr(word, '=');
        if (!value)
            fail_msg("option '%s' without a value", word);
        *value++ = 0;
        if (!strcmp(word, "start"))
            options->start_hz = figure(value);
        else if (!strcmp(word, "stop"))
            options->stop_hz = figure(value);
        else if (!strcmp(word, "carrier"))
            options->carrier_hz = figure(value);
        else if (!strcmp(word, "ohm"))
            options->impedance_ohm = figure(value);
        else if (!strcmp(word, "frequency"))
            options->frequency_unit_hz = figure(value);
        else if (!strcmp(word, "rbw"))
            options->rbw_hz = figure(value);
        else if (!strcmp(word, "stated"))
            options->chain_stated = *value == '1';
        else if (!strcmp(word, "delimiter"))
            options->delimiter = !strcmp(value, "tab") ? '\t' : !strcmp(value, "blank") ? ' ' : *value;
        else if (!strcmp(word, "mark"))
            options->decimal_mark = *value;
        else if (!strcmp(word, "unit"))
            options->level_unit = spurity_level_unit_from_text(value, strlen(value));
        else if (!strcmp(word, "block"))
            options->element = (spurity_element)atoi(value);
        else if (!strcmp(word, "trace")) {
            snprintf(trace, size, "%s", value);
            for (char *p = trace; *p; p++)
                *p = *p == '_' ? ' ' : *p;
            options->trace = trace;
        } else
            fail_msg("option '%s' is not known", word);
    }
}

static spurity_status read_bytes(const void *bytes, size_t size, const char *words, spurity_purpose purpose,
                                 spurity_notes *notes, spurity_recording **recording, spurity_error *error)
{
    spurity_read_options options;
    char trace[64];
    apply(words, &options, trace, sizeof trace);
    *error = (spurity_error){0};
    return spurity_input_read_memory("sweep.csv", bytes, size, &options, purpose, 0, notes, NULL, recording, error);
}

/* ---- shapes that read ------------------------------------------------------------------------------------ */

struct shape {
    const char *name, *text;
    size_t size; /* 0: strlen */
    const char *options;
    size_t points, segments;
    double first_hz, first_db, last_hz, last_db;
    const char *notes; /* codes that must stand there, parted by blanks; "" none at all */
};

#define BYTES(text) text, sizeof(text) - 1

static const struct shape shapes[] = {
    /* delimiters and decimal marks */
    {"bare pairs", "88.0e6,-71.2\n88.1e6,-70.5\n88.2e6,-72\n", 0, NULL, 3, 1, 88e6, -71.2, 88.2e6, -72, "unit-assumed"},
    {"titled", "Frequency (Hz),Trace 1 (dBm)\n146940000.0,-57.25\n146950000.0,-58.5\n", 0, NULL, 2, 1, 146.94e6, -57.25,
     146.95e6, -58.5, ""},
    {"semicolon, decimal comma", "Frequenz [MHz];Pegel [dBm]\n146,94;-57,25\n146,95;-58,5\n", 0, NULL, 2, 1, 146.94e6,
     -57.25, 146.95e6, -58.5, ""},
    {"tab", "freq/MHz\tlevel/dBm\n146.94\t-57.25\n146.95\t-58.5\n", 0, NULL, 2, 1, 146.94e6, -57.25, 146.95e6, -58.5,
     ""},
    {"tab, decimal comma", "f_MHz\tL_dBm\n146,94\t-57,25\n146,95\t-58,5\n", 0, NULL, 2, 1, 146.94e6, -57.25, 146.95e6,
     -58.5, ""},
    {"blanks", "# Frequency (MHz)   Level (dBm)\n146.94   -57.25\n146.95    -58.5\n", 0, NULL, 2, 1, 146.94e6, -57.25,
     146.95e6, -58.5, ""},
    {"blanks, loose titles", "MHz dBm\n  146.94 -57.25\n  146.95 -58.5  \n", 0, NULL, 2, 1, 146.94e6, -57.25, 146.95e6,
     -58.5, ""},
    {"bar", "Frequency (MHz)|Level (dBm)\n146.94|-57.25\n146.95|-58.5\n", 0, NULL, 2, 1, 146.94e6, -57.25, 146.95e6,
     -58.5, ""},
    {"comma and blank", "Frequency (MHz), Level (dBm)\n146.94, -57.25\n146.95, -58.5\n", 0, NULL, 2, 1, 146.94e6,
     -57.25, 146.95e6, -58.5, ""},
    {"quoted decimal comma", "\"Frequency (MHz)\",\"Level (dBm)\"\n\"146,94\",\"-57,25\"\n\"146,95\",\"-58,5\"\n", 0,
     NULL, 2, 1, 146.94e6, -57.25, 146.95e6, -58.5, ""},
    {"thousands", "Frequency (Hz)\tLevel (dBm)\n146,940,000.0\t-57.25\n146,950,000.0\t-58.5\n", 0, NULL, 2, 1, 146.94e6,
     -57.25, 146.95e6, -58.5, "decimal-mark-assumed"},
    {"thousands by points", "Frequency (Hz);Level (dBm)\n146.940.000;-57,25\n146.950.000;-58,5\n", 0, NULL, 2, 1,
     146.94e6, -57.25, 146.95e6, -58.5, ""},
    {"thousands by blanks", "Frequency (Hz);Level (dBm)\n146 940 000;-57,25\n146 950 000;-58,5\n", 0, NULL, 2, 1,
     146.94e6, -57.25, 146.95e6, -58.5, ""},
    {"exponents", "Frequency (Hz),Level (dBm)\n+1.4694E+08,-5.725e1\n1.4695D8,-5.85d+01\n", 0, NULL, 2, 1, 146.94e6,
     -57.25, 146.95e6, -58.5, ""},
    {"told delimiter", "Frequency (MHz);Level (dBm)\n146.94;-57\n146.95;-58\n", 0, "delimiter=;", 2, 1, 146.94e6, -57,
     146.95e6, -58, ""},
    /* line ends and bytes */
    {"CR LF", "Frequency (MHz),Level (dBm)\r\n146.94,-57\r\n146.95,-58\r\n", 0, NULL, 2, 1, 146.94e6, -57, 146.95e6,
     -58, ""},
    {"CR alone", "Frequency (MHz),Level (dBm)\r146.94,-57\r146.95,-58\r", 0, NULL, 2, 1, 146.94e6, -57, 146.95e6, -58,
     ""},
    {"CR CR LF", "Frequency (MHz),Level (dBm)\r\r\n146.94,-57\r\r\n146.95,-58\r\r\n", 0, NULL, 2, 1, 146.94e6, -57,
     146.95e6, -58, ""},
    {"no end on the last line", "Frequency (MHz),Level (dBm)\n146.94,-57\n146.95,-58", 0, NULL, 2, 1, 146.94e6, -57,
     146.95e6, -58, ""},
    {"BOM",
     "\xEF\xBB\xBF"
     "Frequency (MHz),Level (dBm)\n146.94,-57\n146.95,-58\n",
     0, NULL, 2, 1, 146.94e6, -57, 146.95e6, -58, ""},
    {"BOM before numbers",
     "\xEF\xBB\xBF"
     "146940000,-57\n146950000,-58\n",
     0, NULL, 2, 1, 146.94e6, -57, 146.95e6, -58, "unit-assumed"},
    {"micro in UTF-8", "Frequency (MHz),Level (dB\xC2\xB5V)\n146.94,50\n146.95,49\n", 0, NULL, 2, 1, 146.94e6, -56.9897,
     146.95e6, -57.9897, ""},
    {"micro in Windows-1252", "Frequency (MHz),Level (dB\xB5V)\n146.94,50\n146.95,49\n", 0, NULL, 2, 1, 146.94e6,
     -56.9897, 146.95e6, -57.9897, ""},
    {"a real minus sign",
     "Frequency (MHz),Level (dBm)\n146.94,\xE2\x88\x92"
     "57\n146.95,\xE2\x88\x92"
     "58\n",
     0, NULL, 2, 1, 146.94e6, -57, 146.95e6, -58, ""},
    {"UTF-16 LE with a mark",
     BYTES("\xFF\xFE"
           "F\0r\0e\0q\0 \0(\0M\0H\0z\0)\0;\0d\0B\0m\0\r\0\n\0"
           "1\0"
           "4\0"
           "6\0;\0-\0"
           "5\0"
           "7\0\r\0\n\0"
           "1\0"
           "4\0"
           "7\0;\0-\0"
           "5\0"
           "8\0\r\0\n\0"),
     NULL, 2, 1, 146e6, -57, 147e6, -58, ""},
    {"UTF-16 BE with a mark",
     BYTES("\xFE\xFF"
           "\0M\0H\0z\0;\0d\0B\0m\0\n"
           "\0"
           "1\0"
           "4\0"
           "6\0;\0-\0"
           "5\0"
           "7\0\n"
           "\0"
           "1\0"
           "4\0"
           "7\0;\0-\0"
           "5\0"
           "8\0\n"),
     NULL, 2, 1, 146e6, -57, 147e6, -58, ""},
    {"UTF-16 LE without a mark",
     BYTES("M\0H\0z\0;\0d\0B\0m\0\n\0"
           "1\0"
           "4\0"
           "6\0;\0-\0"
           "5\0"
           "7\0\n\0"
           "1\0"
           "4\0"
           "7\0;\0-\0"
           "5\0"
           "8\0\n\0"),
     NULL, 2, 1, 146e6, -57, 147e6, -58, ""},
    /* titles, units, preambles */
    {"unit row", "Frequency;Level\nMHz;dBm\n146.94;-57\n146.95;-58\n", 0, NULL, 2, 1, 146.94e6, -57, 146.95e6, -58, ""},
    {"unit row in brackets", "Frequency,Level\n(MHz),[dBm]\n146.94,-57\n146.95,-58\n", 0, NULL, 2, 1, 146.94e6, -57,
     146.95e6, -58, ""},
    {"units behind the numbers", "146.94 MHz,-57 dBm\n146.95 MHz,-58 dBm\n", 0, NULL, 2, 1, 146.94e6, -57, 146.95e6,
     -58, ""},
    {"units in columns", "146.94,MHz,-57,dBm\n146.95,MHz,-58,dBm\n", 0, NULL, 2, 1, 146.94e6, -57, 146.95e6, -58, ""},
    {"a quoted title with a line end", "\"Frequency\n(MHz)\",\"Level\n(dBm)\"\n146.94,-57\n146.95,-58\n", 0, NULL, 2, 1,
     146.94e6, -57, 146.95e6, -58, ""},
    {"mHz in a title is MHz", "Freq (mHz),Level (dBm)\n146.94,-57\n146.95,-58\n", 0, NULL, 2, 1, 146.94e6, -57,
     146.95e6, -58, ""},
    {"kHz, dBW", "Freq (kHz),Power (dBW)\n7100,-57\n7101,-58\n", 0, NULL, 2, 1, 7.1e6, -27, 7.101e6, -28, ""},
    {"GHz, mW", "Freq (GHz),Power (mW)\n2.4,0.001\n2.5,0.1\n", 0, NULL, 2, 1, 2.4e9, -30, 2.5e9, -10, ""},
    {"V into 50 ohm", "Freq (MHz),Voltage (V)\n146,0.2236068\n147,2.236068\n", 0, NULL, 2, 1, 146e6, 0, 147e6, 20, ""},
    {"dBuV into 75 ohm", "Freq (MHz),Level (dBuV)\n146,108.7506\n147,98.7506\n", 0, "ohm=75", 2, 1, 146e6, 0, 147e6,
     -10, ""},
    {"dBmV, impedance in the file", "Impedance,75 Ohm\nFreq (MHz),Level (dBmV)\n146,48.7506\n147,38.7506\n", 0, NULL, 2,
     1, 146e6, 0, 147e6, -10, ""},
    {"key;value;unit",
     "Title;set 12\nStart;146;MHz\nStop;147;MHz\nPoints;3\nRBW;10;kHz\nDetector;RMS\nRef Level;0;dBm\nAtt;20;dB\n"
     "DATA\n146000000;-57\n146500000;-58\n147000000;-59\n",
     0, NULL, 3, 1, 146e6, -57, 147e6, -59, "unit-assumed"},
    {"comments with facts",
     "# RBW = 10 kHz, VBW = 30 kHz\n! Detector: Peak\n// Span: 1 MHz\n% made by hand\n; no numbers here\n"
     "Frequency (Hz),Level (dBm)\n146000000,-57\n146500000,-58\n147000000,-59\n",
     0, NULL, 3, 1, 146e6, -57, 147e6, -59, ""},
    {"facts beside the table",
     "Key,Value,Unit,Frequency (Hz),Level (dBm)\nRBW,10,kHz,146000000,-57\nDetector,RMS,,146250000,-58\n"
     "Points,5,,146500000,-58\n,,,146750000,-58\n,,,147000000,-59\n",
     0, NULL, 5, 1, 146e6, -57, 147e6, -59, ""},
    {"levels with start, stop, points",
     "Start Frequency,100 MHz\nStop Frequency,200 MHz\nNumber of Points,3\nUnit,dBm\nLevel\n-57\n-58\n-59\n", 0, NULL,
     3, 1, 100e6, -57, 200e6, -59, ""},
    {"levels with centre and span", "Center: 150 MHz\nSpan: 20 MHz\nRef Level: 0 dBm\n-57\n-58\n-59\n", 0, NULL, 3, 1,
     140e6, -57, 160e6, -59, "unit-assumed"},
    {"levels, decimal comma", "Start;100;MHz\nStop;200;MHz\nUnit;dBm\n-57,25\n-58,5\n-59\n", 0, "delimiter=;", 3, 1,
     100e6, -57.25, 200e6, -59, ""},
    {"levels with an index", "Start;100 MHz\nStop;200 MHz\n1;-57\n2;-58\n3;-59\n", 0, "unit=dBm", 3, 1, 100e6, -57,
     200e6, -59, ""},
    {"levels and the user's span", "Level (dBm)\n-57\n-58\n-59\n-60\n-61\n", 0, "start=1e6 stop=5e6", 5, 1, 1e6, -57,
     5e6, -61, ""},
    {"an index before the frequency", "Point,Frequency (MHz),Level (dBm)\n1,146,-57\n2,147,-58\n3,148,-59\n", 0, NULL,
     3, 1, 146e6, -57, 148e6, -59, ""},
    {"level before frequency", "Level (dBm),Frequency (MHz)\n-57,146\n-58,147\n", 0, NULL, 2, 1, 146e6, -57, 147e6, -58,
     ""},
    {"level and phase", "Frequency (MHz),Level (dBm),Phase (deg)\n146,-57,12\n147,-58,13\n", 0, NULL, 2, 1, 146e6, -57,
     147e6, -58, ""},
    {"unit of frequency from the preamble", "Start,88 MHz\nStop,90 MHz\nf,Level (dBm)\n88,-57\n89,-58\n90,-59\n", 0,
     NULL, 3, 1, 88e6, -57, 90e6, -59, ""},
    {"unit of frequency from the carrier", "146.9,-57\n147.0,-58\n147.1,-59\n", 0, "carrier=147e6", 3, 1, 146.9e6, -57,
     147.1e6, -59, "unit-assumed"},
    {"sweep from zero", "Frequency (MHz),Level (dBm)\n0,-20\n1,-58\n2,-59\n", 0, NULL, 3, 1, 0, -20, 2e6, -59, ""},
    /* several traces */
    {"several traces", "Frequency (MHz),Live (dBm),Max Hold (dBm)\n146,-57,-50\n147,-58,-51\n", 0, NULL, 2, 1, 146e6,
     -57, 147e6, -58, "other-traces"},
    {"trace by number", "Frequency (MHz),Live (dBm),Max Hold (dBm)\n146,-57,-50\n147,-58,-51\n", 0, "trace=2", 2, 1,
     146e6, -50, 147e6, -51, ""},
    {"trace by name", "Frequency (MHz),Live (dBm),Max Hold (dBm)\n146,-57,-50\n147,-58,-51\n", 0, "trace=max_hold", 2,
     1, 146e6, -50, 147e6, -51, ""},
    {"min and max columns", "Frequency (MHz),Min (dBm),Max (dBm)\n146,-57,-50\n147,-58,-51\n", 0, NULL, 2, 1, 146e6,
     -50, 147e6, -51, "other-traces"},
    {"every frequency twice", "Frequency (MHz),Level (dBm)\n146,-57\n146,-50\n147,-58\n147,-51\n148,-59\n148,-52\n", 0,
     NULL, 3, 1, 146e6, -50, 148e6, -52, "other-traces"},
    {"one frequency twice, same level", "Frequency (MHz),Level (dBm)\n146,-57\n147,-58\n147,-58\n148,-59\n", 0, NULL, 3,
     1, 146e6, -57, 148e6, -59, ""},
    {"traces one above the other",
     "[Trace 1]\nFrequency (MHz),Level (dBm)\n146,-57\n147,-58\n[Trace 2]\nFrequency (MHz),Level "
     "(dBm)\n146,-50\n147,-51\n",
     0, NULL, 2, 1, 146e6, -57, 147e6, -58, "other-traces"},
    {"the second of them",
     "[Trace 1]\nFrequency (MHz),Level (dBm)\n146,-57\n147,-58\n[Trace 2]\nFrequency (MHz),Level "
     "(dBm)\n146,-50\n147,-51\n",
     0, "trace=2", 2, 1, 146e6, -50, 147e6, -51, "other-traces"},
    /* order, segments, missing */
    {"descending", "Frequency (MHz),Level (dBm)\n148,-59\n147,-58\n146,-57\n", 0, NULL, 3, 1, 146e6, -57, 148e6, -59,
     ""},
    {"segments by a repeated title",
     "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-59\nFrequency (MHz),Level (dBm)\n3,-60\n4,-61\n5,-62\n", 0, NULL, 6,
     2, 1e6, -57, 5e6, -62, ""},
    {"segments by a blank line", "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-59\n\n3,-60\n4,-61\n5,-62\n", 0, NULL,
     6, 2, 1e6, -57, 5e6, -62, ""},
    {"segments by falling back", "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-59\n4,-59\n2.5,-60\n3.5,-60\n4.5,-61\n",
     0, NULL, 7, 2, 1e6, -57, 4.5e6, -61, ""},
    {"blank lines between all rows", "Frequency (MHz),Level (dBm)\n\n1,-57\n\n2,-58\n\n3,-59\n\n", 0, NULL, 3, 1, 1e6,
     -57, 3e6, -59, ""},
    {"empty and NaN cells", "Frequency (MHz),Level (dBm)\n1,-57\n2,\n3,NaN\n4,---\n5,9.91E+37\n6,-62\n", 0, NULL, 2, 1,
     1e6, -57, 6e6, -62, "missing-points"},
    {"a run of stand-ins", "Frequency (MHz),Level (dBm)\n1,-57\n2,-200\n3,-200\n4,-200\n5,-62\n6,-999\n7,-60\n", 0,
     NULL, 3, 1, 1e6, -57, 7e6, -60, "missing-points"},
    {"one reading of -174 is a reading", "Frequency (MHz),Level (dBm)\n1,-57\n2,-174\n3,-60\n", 0, NULL, 3, 1, 1e6, -57,
     3e6, -60, ""},
    {"trailing delimiters", "Frequency (MHz),Level (dBm),\n1,-57,\n2,-58,\n", 0, NULL, 2, 1, 1e6, -57, 2e6, -58, ""},
    {"a column of constants is a limit line",
     "Frequency (MHz),Limit (dBm),Level (dBm)\n1,-36,-57\n2,-36,-58\n3,-36,-59\n4,-36,-59\n5,-36,-59\n6,-36,-59\n"
     "7,-36,-59\n8,-36,-59\n9,-36,-60\n",
     0, NULL, 9, 1, 1e6, -57, 9e6, -60, ""},
    {"a column titled limit", "Freq (MHz),Limit (dBm),Level (dBm)\n1,-36,-57\n2,-30,-58\n", 0, NULL, 2, 1, 1e6, -57,
     2e6, -58, ""},
    {"END", "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\nEND\n", 0, NULL, 2, 1, 1e6, -57, 2e6, -58, ""},
    {"a footer of statistics",
     "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-58\n4,-58\n5,-58\n6,-58\n7,-58\n8,-59\nMean,-57.9\nMarkers\n"
     "1,4.0 MHz,-58\n",
     0, NULL, 8, 1, 1e6, -57, 8e6, -59, ""},
    {"one row a stretch",
     "2026-01-05, 12:00:00, 88000000, 88400000, 100000.0, 4, -71, -72, -73, -74\n"
     "2026-01-05, 12:00:00, 88400000, 88800000, 100000.0, 4, -75, -76, -77, -78\n",
     0, NULL, 8, 1, 88e6, -71, 88.7e6, -78, "unit-assumed"},
    {"external offset, no chain", "Ref Level Offset,20 dB\nFrequency (MHz),Level (dBm)\n1,-57\n2,-58\n", 0, NULL, 2, 1,
     1e6, -57, 2e6, -58, "unit-assumed"},
    {"the same fact twice", "RBW,10 kHz\nRBW,30 kHz\nFrequency (MHz),Level (dBm)\n1,-57\n2,-58\n", 0, NULL, 2, 1, 1e6,
     -57, 2e6, -58, "duplicate-metadata"},
    /* lists and blocks */
    {"comma list", "-57.5,-58,-5.9E+01,-60\n", 0, "start=1e6 stop=4e6", 4, 1, 1e6, -57.5, 4e6, -60, "unit-assumed"},
    {"comma list behind a header", ":TRAC:DATA -57.5,-58,9.91E+37,-60\r\n", 0, "start=1e6 stop=4e6", 3, 1, 1e6, -57.5,
     4e6, -60, "missing-points"},
    {"comma list of pairs", "1E6,-57,2E6,-58,3E6,-59\n", 0, NULL, 3, 1, 1e6, -57, 3e6, -59, "unit-assumed"},
    {"text in a block", "#217-57.25,-58.5,-60\n\n", 0, "start=1e6 stop=3e6", 3, 1, 1e6, -57.25, 3e6, -60,
     "unit-assumed"},
    {"one value a block", "#15-57.5,#15-58.5,#15-59.5\n", 0, "start=1e6 stop=3e6", 3, 1, 1e6, -57.5, 3e6, -59.5,
     "unit-assumed"},
    {"two blocks", "#15-57,1\n", 0, "start=1e6 stop=2e6 unit=dBm", 2, 1, 1e6, -57, 2e6, 1, NULL},
};

static bool check_notes(const struct shape *shape, const spurity_notes *notes)
{
    if (shape->notes && !*shape->notes && spurity_notes_count(notes)) {
        print_error("%s: a note that is not due: %s\n", shape->name, spurity_notes_at(notes, 0)->text);
        return false;
    }
    char copy[200];
    snprintf(copy, sizeof copy, "%s", shape->notes ? shape->notes : "");
    for (char *word = strtok(copy, " "); word; word = strtok(NULL, " ")) {
        bool found = false;
        for (size_t i = 0; i < spurity_notes_count(notes); i++)
            found = found || !strcmp(spurity_note_code_name(spurity_notes_at(notes, i)->code), word);
        if (!found) {
            print_error("%s: no note %s\n", shape->name, word);
            return false;
        }
    }
    return true;
}

static bool check_shape(const struct shape *shape)
{
    spurity_error error;
    spurity_recording *recording = NULL;
    spurity_notes *notes = spurity_notes_create();
    size_t size = shape->size ? shape->size : strlen(shape->text);
    spurity_status status =
        read_bytes(shape->text, size, shape->options, SPURITY_READ_TRACE, notes, &recording, &error);
    if (status) {
        char text[900];
        spurity_error_describe(&error, text, sizeof text);
        print_error("%s: %s\n", shape->name, text);
        return false;
    }
    const spurity_trace *trace = spurity_recording_trace(recording);
    assert_non_null(trace);
    spurity_segment first, last;
    size_t segments = spurity_trace_segment_count(trace);
    if (spurity_trace_points(trace) != shape->points || segments != shape->segments) {
        print_error("%s: %zu points in %zu segments\n", shape->name, spurity_trace_points(trace), segments);
        return false;
    }
    assert_true(spurity_trace_segment(trace, 0, &first) && spurity_trace_segment(trace, segments - 1, &last));
    double got[4] = {first.frequency_hz[0], first.level_db[0], last.frequency_hz[last.count - 1],
                     last.level_db[last.count - 1]};
    double want[4] = {shape->first_hz, shape->first_db, shape->last_hz, shape->last_db};
    for (size_t i = 0; i < 4; i++)
        if (!(fabs(got[i] - want[i]) <= (i % 2 ? 1e-4 : 1e-3))) {
            print_error("%s: value %zu is %.10g, not %.10g\n", shape->name, i, got[i], want[i]);
            return false;
        }
    bool good = check_notes(shape, notes);
    assert_int_equal(strlen(spurity_recording_facts_of(recording)->sha256), 64);
    assert_int_equal(spurity_recording_facts_of(recording)->bytes, size);
    assert_true(spurity_recording_finding_count(recording) >= 2);
    spurity_recording_free(recording);
    spurity_notes_free(notes);
    return good;
}

static void every_shape_reads(void **state)
{
    size_t bad = 0;
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        bad += !check_shape(&shapes[i]);
    assert_int_equal(bad, 0);
}

/* ---- what is refused -------------------------------------------------------------------------------------- */

struct refusal {
    const char *name, *text;
    size_t size; /* 0: strlen */
    const char *options;
    spurity_status status;
    unsigned long line, column; /* 0: not looked at */
    const char *words;          /* parts of the sentence, parted by '|' */
};

static const struct refusal refusals[] = {
    /* two readings */
    {"comma for both", "146,94,-57,25\n146,95,-58,50\n146,96,-59,75\n", 0, NULL, SPURITY_INVALID, 1, 1,
     "4 whole numbers|2 with a decimal comma|--delimiter"},
    {"comma for both, levels", "-57,25\n-58,50\n-59,75\n", 0, "start=1e6 stop=3e6", SPURITY_INVALID, 1, 1,
     "2 whole numbers|1 with a decimal comma|--decimal-mark comma"},
    {"thousands or decimals", "100,250\t-57\n100,500\t-58\n100,750\t-59\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "'100,250'|three decimals|thousands|--decimal-mark"},
    {"two decimal marks", "146,94;-57.25\n146,95;-58.5\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "decimal comma|decimal point"},
    {"unit of frequency", "88.0,-57\n98.0,-58\n108.0,-59\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "kHz|MHz|GHz|--frequency-unit"},
    {"dBm or dBuV", "88e6,57\n98e6,58\n108e6,59\n", 0, NULL, SPURITY_INVALID, 1, 0, "dBm|dBuV|--level-unit"},
    {"W, V or dBm", "88e6,0.001\n98e6,0.002\n108e6,0.001\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "W, V or dBm|--level-unit"},
    {"dates", "2026-01-05,146e6,-57\n2026-01-06,147e6,-58\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "dates in column 1|times of the readings|spreadsheet"},
    {"numbers turned into dates", "Frequency,Level (dBm)\n05. Jan,-57\n06. Jan,-58\n12.5,-59\n13.5,-60\n", 0, NULL,
     SPURITY_INVALID, 0, 0, "dates in column 1"},
    /* contradictions */
    {"unit in title and unit row", "Frequency (MHz);Level (dBm)\nkHz;dBm\n146;-57\n147;-58\n", 0, NULL, SPURITY_INVALID,
     1, 0, "column 1|line 2"},
    {"unit in title and preamble", "Unit,dBuV\nFrequency (MHz),Level (dBm)\n146,-57\n147,-58\n", 0, NULL,
     SPURITY_INVALID, 2, 0, "dBm|line 1"},
    {"fewer rows than stated", "Points,4\nFrequency (MHz),Level (dBm)\n146,-57\n147,-58\n148,-59\n", 0, NULL,
     SPURITY_INVALID, 1, 0, "points 4|3 rows|line 5"},
    {"another start than stated", "Start,100 MHz\nFrequency (MHz),Level (dBm)\n146,-57\n147,-58\n148,-59\n", 0, NULL,
     SPURITY_INVALID, 1, 0, "100 MHz|146 MHz|line 3"},
    {"another stop than stated", "Stop,200 MHz\nFrequency (MHz),Level (dBm)\n146,-57\n147,-58\n148,-59\n", 0, NULL,
     SPURITY_INVALID, 1, 0, "200 MHz|148 MHz|line 5"},
    {"a told start beside own frequencies", "Frequency (MHz),Level (dBm)\n146,-57\n147,-58\n148,-59\n", 0,
     "start=1e6 stop=148e6", SPURITY_INVALID, 2, 0, "begin at 146 MHz|--start 1 MHz|start="},
    {"a told stop beside own frequencies", "Frequency (MHz),Level (dBm)\n148,-57\n147,-58\n146,-59\n", 0,
     "start=146e6 stop=200e6", SPURITY_INVALID, 0, 0, "end at 148 MHz|--stop 200 MHz"},
    {"a step that does not fit", "Start,100 MHz\nStop,200 MHz\nStep,10 MHz\nUnit,dBm\n-57\n-58\n-59\n", 0, NULL,
     SPURITY_INVALID, 3, 0, "step 10 MHz|50 MHz"},
    {"external offset and a chain", "Ref Level Offset,20 dB\nFrequency (MHz),Level (dBm)\n1,-57\n2,-58\n", 0,
     "stated=1", SPURITY_INVALID, 1, 0, "offset of 20 dB|chain"},
    {"external gain and a chain", "External Gain: -30 dB\nFrequency (MHz),Level (dBm)\n1,-57\n2,-58\n", 0, "stated=1",
     SPURITY_INVALID, 1, 0, "gain of -30 dB|chain"},
    /* words among numbers */
    {"a word for a level", "Frequency (MHz),Level (dBm)\n146,-57\n147,low\n148,-59\n", 0, NULL, SPURITY_INVALID, 3, 5,
     "'low'"},
    {"a word for the last level", "Frequency (MHz),Level (dBm)\n146,-57\n147,-58\n148,-5x9\n", 0, NULL, SPURITY_INVALID,
     4, 5, "'-5x9'"},
    {"a word for a frequency", "Frequency (MHz),Level (dBm)\n146,-57\nabc,-58\n148,-59\n", 0, NULL, SPURITY_INVALID, 3,
     1, "'abc'"},
    {"a broken first row", "Frequency (MHz),Level (dBm)\n1x46,-57\n147,-58\n148,-59\n", 0, NULL, SPURITY_INVALID, 2, 1,
     "'1x46'"},
    {"a line of words", "Frequency (MHz),Level (dBm)\n146,-57\n147,-58\nthe pad fell off here\n148,-59\n149,-60\n", 0,
     NULL, SPURITY_INVALID, 4, 0, "the pad fell off here"},
    {"hexadecimal", "Frequency (MHz),Level (dBm)\n146,-57\n0x93,-58\n148,-59\n", 0, NULL, SPURITY_INVALID, 3, 1,
     "'0x93'"},
    {"a level without its frequency", "Frequency (MHz),Level (dBm)\n146,-57\n,-58\n148,-59\n", 0, NULL, SPURITY_INVALID,
     3, 1, "frequency"},
    {"a row cut off", "Frequency (MHz),Level (dBm)\n146,-57\n147,-58\n148\n", 0, NULL, SPURITY_INVALID, 4, 0,
     "1 fields|2"},
    {"a row too long", "Frequency (MHz),Level (dBm)\n146,-57\n147,-58,3\n148,-59\n", 0, NULL, SPURITY_INVALID, 3, 0,
     "3 fields|2"},
    {"a frequency below zero", "Frequency (MHz),Level (dBm)\n-1,-57\n1,-58\n2,-59\n", 0, NULL, SPURITY_INVALID, 2, 1,
     "'-1'|0 to 1 THz"},
    {"a level beyond sense", "Frequency (MHz),Level (dBm)\n1,-57\n2,1e30\n3,-59\n", 0, NULL, SPURITY_INVALID, 3, 3,
     "'1e30'"},
    /* order and number */
    {"shuffled", "Frequency (MHz),Level (dBm)\n3,-57\n1,-58\n5,-59\n2,-59\n4,-59\n", 0, NULL, SPURITY_INVALID, 0, 0,
     "out of order"},
    {"two rows swapped", "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-59\n5,-59\n4,-59\n6,-60\n7,-60\n", 0, NULL,
     SPURITY_INVALID, 6, 0, "4 MHz after 5 MHz"},
    {"a row out of place", "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-59\n4,-59\n5,-59\n1.5,-60\n6,-60\n7,-60\n", 0,
     NULL, SPURITY_INVALID, 7, 0, "1.5 MHz"},
    {"a single point", "Frequency (MHz),Level (dBm)\n146,-57\n", 0, NULL, SPURITY_INVALID, 2, 0, "a single point"},
    {"no level at all", "Frequency (MHz),Level (dBm)\n146,\n147,NaN\n148,\n", 0, NULL, SPURITY_INVALID, 0, 0,
     "no level"},
    {"nothing", "", 0, NULL, SPURITY_INVALID, 0, 0, "an empty file"},
    {"only words", "there was nothing to see\n", 0, NULL, SPURITY_INVALID, 0, 0, "no rows of numbers"},
    {"only titles", "Frequency (MHz),Level (dBm)\n", 0, NULL, SPURITY_INVALID, 0, 0, "no rows of numbers"},
    /* units that are no level */
    {"dBc", "Frequency (MHz),Level (dBc)\n146,-57\n147,-58\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "no level at a terminal"},
    {"dBuV/m", "Frequency (MHz),Field (dBuV/m)\n146,57\n147,58\n", 0, NULL, SPURITY_INVALID, 1, 0,
     "no level at a terminal"},
    {"dB", "Frequency (MHz),Level (dB)\n146,-57\n147,-58\n", 0, NULL, SPURITY_INVALID, 1, 0, "no level at a terminal"},
    {"no such trace", "Frequency (MHz),A (dBm),B (dBm)\n146,-57,-50\n147,-58,-51\n", 0, "trace=3", SPURITY_INVALID, 0,
     0, "no trace '3'"},
    {"levels without a span", "Level (dBm)\n-57\n-58\n-59\n", 0, NULL, SPURITY_INVALID, 0, 0, "--start|--stop"},
    /* no text */
    {"binary",
     BYTES("\x7F"
           "ELF\x02\x01\x01\0\0\0\0\0\0\0\0\0\x03\0>\0\x01\0\0\0"),
     NULL, SPURITY_UNSUPPORTED, 0, 0, "NUL"},
    {"JSON", "{\"format\": \"spurity-result\"}", 0, NULL, SPURITY_UNSUPPORTED, 1, 0, "JSON"},
    {"a NUL among the rows",
     BYTES("Frequency (MHz),Level (dBm)\n146,-57\n147,-5\0"
           "8\n148,-59\n"),
     NULL, SPURITY_UNSUPPORTED, 0, 0, "NUL"},
    /* blocks */
    {"a block cut off", BYTES("#216\xC2\x65\0\0\xC2\x69\0\0"), "start=1 stop=2", SPURITY_INVALID, 0, 0,
     "says 16 bytes|has 8"},
    {"a block without end", "#9999999999", 0, "start=1 stop=2", SPURITY_INVALID, 0, 0, "999999999 bytes"},
    {"bytes behind a block", BYTES("#18\xC2\x65\0\0\xC2\x69\0\0and more of it"), "start=1 stop=2", SPURITY_INVALID, 0,
     0, "behind the block"},
    {"an empty block", "#10\n", 0, "start=1 stop=2", SPURITY_INVALID, 0, 0, "0 bytes"},
    {"a block of zeros", BYTES("#216\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0"), "start=1 stop=2", SPURITY_INVALID, 0, 0,
     "--block"},
    {"a block without a span", BYTES("#18\xC2\x65\0\0\xC2\x69\0\0"), "block=1", SPURITY_INVALID, 0, 0, "--start"},
    {"a list with a word", "-57,-58,oops,-60\n", 0, "start=1e6 stop=4e6", SPURITY_INVALID, 0, 0, ""},
    {"a list without a span", "-57,-58,-59,-60\n", 0, NULL, SPURITY_INVALID, 0, 0, "--start"},
};

static bool check_refusal(const struct refusal *refusal)
{
    spurity_error error;
    spurity_recording *recording = NULL;
    char text[900], words[200];
    size_t size = refusal->size ? refusal->size : strlen(refusal->text);
    spurity_status status =
        read_bytes(refusal->text, size, refusal->options, SPURITY_READ_TRACE, NULL, &recording, &error);
    spurity_error_describe(&error, text, sizeof text);
    bool good = status == refusal->status && status == error.status && !recording &&
                (!refusal->line || refusal->line == error.line) &&
                (!refusal->column || refusal->column == error.column);
    if (!status)
        spurity_recording_free(recording);
    snprintf(words, sizeof words, "%s", refusal->words);
    for (char *word = strtok(words, "|"); word; word = strtok(NULL, "|"))
        good = good && strstr(text, word);
    if (!good)
        print_error("%s: status %d, line %lu, column %lu: %s\n", refusal->name, (int)status, error.line, error.column,
                    status ? text : "read without complaint");
    return good;
}

static void every_refusal_tells_why(void **state)
{
    size_t bad = 0;
    for (size_t i = 0; i < sizeof refusals / sizeof *refusals; i++)
        bad += !check_refusal(&refusals[i]);
    assert_int_equal(bad, 0);
}

/* ---- facts, loss tables, sources ----------------------------------------------------------------------------- */

static void facts_reach_segments(void **state)
{
    static const char text[] = "Title: spare set 3\nRBW: 10 kHz\nVBW: 30 kHz\nDetector: RMS\nAtt: 20 dB\n"
                               "Ref Level: -10 dBm\nSweep Time: 200 ms\nAverages: 16\n"
                               "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n3,-59\n"
                               "RBW: 100 kHz\nDetector: Peak\nFrequency (MHz),Level (dBm)\n3,-50\n4,-51\n";
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes(text, sizeof text - 1, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), &error);
    spurity_segment segment;
    const spurity_trace *trace = spurity_recording_trace(recording);
    assert_int_equal(spurity_trace_segment_count(trace), 2);
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_near(segment.facts.rbw_hz, 10e3, 0);
    assert_near(segment.facts.vbw_hz, 30e3, 0);
    assert_near(segment.facts.sweep_seconds, 0.2, 1e-12);
    assert_near(segment.facts.averages, 16, 0);
    assert_int_equal(segment.facts.detector, SPURITY_DETECTOR_AVERAGE);
    assert_true(spurity_trace_segment(trace, 1, &segment));
    assert_near(segment.facts.rbw_hz, 100e3, 0);
    assert_near(segment.facts.vbw_hz, 30e3, 0);
    assert_int_equal(segment.facts.detector, SPURITY_DETECTOR_PEAK);
    const spurity_recording_facts *facts = spurity_recording_facts_of(recording);
    assert_string_equal(facts->title, "spare set 3");
    assert_string_equal(facts->column, "Level");
    assert_string_equal(facts->reader, "text");
    assert_near(facts->reference_level_dbm, -10, 0);
    assert_near(facts->input_attenuation_db, 20, 0);
    assert_true(isnan(facts->external_gain_db));
    spurity_trace *taken = spurity_recording_take_trace(recording);
    assert_non_null(taken);
    assert_null(spurity_recording_take_trace(recording));
    spurity_trace_free(taken);
    spurity_recording_free(recording);
}

static void options_override_facts(void **state)
{
    static const char text[] = "RBW: 10 kHz\nFrequency (MHz),Level (dBm)\n1,-57\n2,-58\n";
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes(text, sizeof text - 1, "rbw=1e3 frequency=1e3 unit=dBW", SPURITY_READ_TRACE, NULL, &recording,
                         &error),
              &error);
    spurity_segment segment;
    assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
    assert_near(segment.facts.rbw_hz, 1e3, 0);
    assert_near(segment.frequency_hz[0], 1e3, 0);
    assert_near(segment.level_db[0], -27, 1e-12);
    spurity_recording_free(recording);
}

static const spurity_finding *finding(const spurity_recording *recording, const char *what)
{
    for (size_t i = 0; i < spurity_recording_finding_count(recording); i++)
        if (!strcmp(spurity_recording_finding(recording, i)->what, what))
            return spurity_recording_finding(recording, i);
    fail_msg("no finding '%s'", what);
    return NULL;
}

static void findings_tell_place_and_option(void **state)
{
    static const char text[] = "Freq;Level\nMHz;dBm\n146,94;-57,25\n146,95;-58,5\n";
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes(text, sizeof text - 1, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), &error);
    const spurity_finding *unit = finding(recording, "frequency unit"), *mark = finding(recording, "decimal mark");
    assert_string_equal(unit->understood, "MHz");
    assert_int_equal(unit->line, 2);
    assert_false(unit->assumed);
    assert_string_equal(unit->option, "--frequency-unit");
    assert_string_equal(mark->understood, "comma");
    assert_int_equal(mark->line, 3);
    assert_false(mark->assumed); /* two digits behind it: no group of thousands */
    assert_string_equal(mark->option, "--decimal-mark");
    assert_string_equal(finding(recording, "delimiter")->understood, "semicolon");
    assert_string_equal(finding(recording, "level unit")->understood, "dBm");
    spurity_recording_free(recording);
}

struct loss_row {
    const char *name, *text, *options;
    double first_hz, first_db, last_hz, last_db, doubt_db;
    const char *refused; /* parts of the sentence; NULL: reads */
};

static const struct loss_row losses[] = {
    {"losses", "Frequency (MHz),Loss (dB)\n100,20.1\n200,20.3\n", NULL, 100e6, 20.1, 200e6, 20.3, NAN, NULL},
    {"gains", "Frequency (MHz),Gain (dB)\n100,-20.1\n200,-20.3\n", NULL, 100e6, 20.1, 200e6, 20.3, NAN, NULL},
    {"S21", "Frequency (MHz);S21 (dB)\n100;-0,1\n200;-0,3\n", NULL, 100e6, 0.1, 200e6, 0.3, NAN, NULL},
    {"an amplifier", "Frequency (MHz),Gain (dB)\n100,13\n200,12\n", NULL, 100e6, -13, 200e6, -12, NAN, NULL},
    {"with uncertainty", "Frequency (MHz),Attenuation (dB),Uncertainty (dB)\n100,20.1,0.2\n200,20.3,0.25\n", NULL,
     100e6, 20.1, 200e6, 20.3, 0.2, NULL},
    {"without titles", "100e6 20.1\n200e6 20.3\n", NULL, 100e6, 20.1, 200e6, 20.3, NAN, NULL},
    {"descending", "Frequency (MHz),Loss (dB)\n200,20.3\n100,20.1\n", NULL, 100e6, 20.1, 200e6, 20.3, NAN, NULL},
    {"one of several", "Frequency (MHz),S11 (dB),S21 (dB)\n100,-30,-20.1\n200,-31,-20.3\n", NULL, 100e6, 20.1, 200e6,
     20.3, NAN, NULL},
    {"negative without a title", "100e6,-20.1\n200e6,-20.3\n", NULL, 0, 0, 0, 0, 0, "loss of 20.1 dB|gain of 20.1 dB"},
    {"negative losses", "Frequency (MHz),Loss (dB)\n100,-20.1\n200,-20.3\n", NULL, 0, 0, 0, 0, 0, "below zero|gain"},
    {"two losses at one frequency", "Frequency (MHz),Loss (dB)\n100,20\n100,21\n200,20\n", NULL, 0, 0, 0, 0, 0,
     "20 dB and 21 dB"},
    {"shuffled", "Frequency (MHz),Loss (dB)\n100,20\n300,21\n200,20\n400,20\n", NULL, 0, 0, 0, 0, 0, "rise and fall"},
    {"a word", "Frequency (MHz),Loss (dB)\n100,20\n200,much\n300,20\n", NULL, 0, 0, 0, 0, 0, "line 3, column 5|'much'"},
    {"dBm", "Frequency (MHz),Level (dBm)\n100,-20\n200,-21\n", NULL, 0, 0, 0, 0, 0, "dBm"},
    {"no frequencies", "Loss (dB)\n20\n21\n", NULL, 0, 0, 0, 0, 0, "no column of frequencies"},
};

static bool check_loss(const struct loss_row *row)
{
    spurity_error error;
    spurity_recording *recording = NULL;
    char text[900] = "", words[100];
    spurity_status status =
        read_bytes(row->text, strlen(row->text), row->options, SPURITY_READ_LOSS, NULL, &recording, &error);
    if (status)
        spurity_error_describe(&error, text, sizeof text);
    bool good = !status == !row->refused;
    snprintf(words, sizeof words, "%s", row->refused ? row->refused : "");
    for (char *word = strtok(words, "|"); word; word = strtok(NULL, "|"))
        good = good && strstr(text, word);
    const spurity_curve *curve = status ? NULL : spurity_recording_curve(recording);
    double first = 0, last = 0, doubt = 0;
    if (good && curve)
        good = spurity_curve_first_hz(curve) == row->first_hz && spurity_curve_last_hz(curve) == row->last_hz &&
               spurity_curve_at(curve, row->last_hz, &last, &doubt) &&
               spurity_curve_at(curve, row->first_hz, &first, &doubt) && fabs(first - row->first_db) < 1e-12 &&
               fabs(last - row->last_db) < 1e-12 &&
               (isnan(row->doubt_db) ? isnan(doubt) : fabs(doubt - row->doubt_db) < 1e-12);
    if (!good)
        print_error("%s: %s (%g, %g, %g)\n", row->name, status ? text : "read", first, last, doubt);
    spurity_recording_free(recording);
    return good;
}

static void loss_tables(void **state)
{
    size_t bad = 0;
    for (size_t i = 0; i < sizeof losses / sizeof *losses; i++)
        bad += !check_loss(&losses[i]);
    assert_int_equal(bad, 0);
}

/** A text longer than the head, its odd line far behind it: the pass keeps the line numbers, with the same meaning as
 * the fast loop's. */
static char *long_text(size_t rows, size_t odd_row, const char *odd, size_t *size)
{
    char *text = malloc(rows * 32 + 200);
    if (!text)
        fail_msg("out of memory");
    size_t n = (size_t)sprintf(text, "Frequency (Hz),Level (dBm)\n");
    for (size_t i = 0; i < rows; i++)
        n += (size_t)(odd && i == odd_row
                          ? sprintf(text + n, "%s\n", odd)
                          : sprintf(text + n, "%.1f,%.2f\n", 1e6 + 100.0 * (double)i, -90.0 - (double)(i % 700) / 100));
    *size = n;
    return text;
}

static void long_files_stream(void **state)
{
    enum { ROWS = 150000 };
    size_t size = 0;
    spurity_error error;
    spurity_recording *recording = NULL;
    char *text = long_text(ROWS, 0, NULL, &size);
    assert_true(size > 2u << 20);
    assert_ok(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), &error);
    spurity_segment segment;
    assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
    assert_int_equal(segment.count, ROWS);
    for (size_t i = 0; i < ROWS; i++) {
        assert_near(segment.frequency_hz[i], 1e6 + 100.0 * (double)i, 0);
        assert_near(segment.level_db[i], -90.0 - (double)(i % 700) / 100, 1e-9);
    }
    spurity_recording_free(recording);
    free(text);
    text = long_text(ROWS, 120000, "13000000.0,", &size);
    assert_ok(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), &error);
    assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
    assert_int_equal(segment.missing, 1);
    assert_int_equal(segment.gap_before[0], 120000);
    spurity_recording_free(recording);
    free(text);
    text = long_text(ROWS, 120000, "13000000.0,oops", &size);
    assert_int_equal(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), SPURITY_INVALID);
    assert_int_equal(error.line, 120002);
    assert_int_equal(error.column, 12);
    free(text);
}

static void caps_hold(void **state)
{
    size_t size = 3u << 20;
    char *text = malloc(size);
    assert_non_null(text);
    spurity_error error;
    spurity_recording *recording = NULL;
    memset(text, '1', size); /* one line without end */
    assert_int_equal(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), SPURITY_INVALID);
    memset(text, ',', size);
    assert_int_equal(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), SPURITY_INVALID);
    memset(text, '\n', size);
    assert_int_equal(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), SPURITY_INVALID);
    for (size_t i = 0; i < size; i++) /* a row of a million fields */
        text[i] = i % 2 ? ',' : '1';
    memcpy(text, "Frequency (MHz),Level (dBm)\n1,2\n2,3\n3,4\n", 40);
    assert_int_equal(read_bytes(text, size, NULL, SPURITY_READ_TRACE, NULL, &recording, &error), SPURITY_INVALID);
    for (size_t i = 0; i < size; i++) /* words and words: a preamble of too many lines */
        text[i] = i % 8 == 7 ? '\n' : 'w';
    memcpy(text + 16000, "\n1,-2\n2,-3\n3,-4\n", 16);
    assert_int_equal(read_bytes(text, size, "frequency=1e6 unit=dBm", SPURITY_READ_TRACE, NULL, &recording, &error),
                     SPURITY_INVALID);
    assert_non_null(strstr(error.expected, "1000 lines"));
    free(text);
}

static spurity_status read_path(const char *path, spurity_recording **recording, spurity_error *error)
{
    *error = (spurity_error){0};
    return spurity_input_read(path, NULL, SPURITY_READ_TRACE, -1, NULL, NULL, recording, error);
}

static void files_and_standard_input(void **state)
{
    static const char text[] = "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n";
    char path[] = P_tmpdir "/spurity-input-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, sizeof text - 1), sizeof text - 1);
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_path(path, &recording, &error), &error);
    /* sha256sum of the same bytes */
    assert_int_equal(strlen(spurity_recording_facts_of(recording)->sha256), 64);
    spurity_recording_free(recording);
    int saved = dup(STDIN_FILENO);
    assert_int_equal(lseek(fd, 0, SEEK_SET), 0);
    assert_true(saved >= 0 && dup2(fd, STDIN_FILENO) == STDIN_FILENO);
    spurity_status status = read_path("-", &recording, &error);
    dup2(saved, STDIN_FILENO);
    close(saved);
    close(fd);
    unlink(path);
    assert_ok(status, &error);
    assert_string_equal(spurity_recording_facts_of(recording)->sha256, "");
    assert_int_equal(spurity_recording_facts_of(recording)->bytes, sizeof text - 1);
    spurity_recording_free(recording);
    assert_int_equal(read_path(path, &recording, &error), SPURITY_SYSTEM);
    assert_null(recording);
    assert_int_equal(read_path("/", &recording, &error), SPURITY_SYSTEM);
    assert_string_equal(error.file, "/");
}

static bool say_stop(void *user, const char *what, double fraction)
{
    ++*(int *)user;
    return false;
}

static void the_watch_can_stop_it(void **state)
{
    size_t size = 0;
    int asked = 0;
    char *text = long_text(150000, 0, NULL, &size);
    spurity_watch watch = {say_stop, &asked};
    spurity_error error = {0};
    spurity_recording *recording = NULL;
    assert_int_equal(spurity_input_read_memory("long.csv", text, size, NULL, SPURITY_READ_TRACE, 0, NULL, &watch,
                                               &recording, &error),
                     SPURITY_CANCELLED);
    assert_int_equal(asked, 1);
    assert_null(recording);
    free(text);
}

static void a_comma_locale_changes_nothing(void **state)
{
    if (!set_comma_locale()) {
        print_message("SKIPPED: no locale with a decimal comma here, and localedef makes none\n");
        skip();
    }
    size_t bad = 0;
    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        bad += !check_shape(&shapes[i]);
    setlocale(LC_ALL, "C");
    assert_int_equal(bad, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_shape_reads),
        cmocka_unit_test(every_refusal_tells_why),
        cmocka_unit_test(facts_reach_segments),
        cmocka_unit_test(options_override_facts),
        cmocka_unit_test(findings_tell_place_and_option),
        cmocka_unit_test(loss_tables),
        cmocka_unit_test(long_files_stream),
        cmocka_unit_test(caps_hold),
        cmocka_unit_test(files_and_standard_input),
        cmocka_unit_test(the_watch_can_stop_it),
        cmocka_unit_test(a_comma_locale_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
