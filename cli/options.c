/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The options: one row each.  Everything that lists options lists this table. */
#include <stddef.h>

#include "set.h"

#define READ(field) offsetof(spurity_cli_reading, read) + offsetof(spurity_read_options, field)
#define POINT(field) offsetof(spurity_cli_settings, point) + offsetof(spurity_test_point, field)
#define SETTING(field) offsetof(spurity_cli_settings, field)
#define PLAN(field) offsetof(spurity_cli_settings, plan) + offsetof(spurity_plan_question, field)
#define OWN(field) offsetof(spurity_cli_reading, field)

enum {
    S = SPURITY_COMMAND_SHOW,
    M = SPURITY_COMMAND_MEASURE,
    C = SPURITY_COMMAND_CHECK,
    R = SPURITY_COMMAND_RULES,
    P = SPURITY_COMMAND_PLAN,
    D = SPURITY_COMMAND_DOUBT,
    FILES = S | M | C | D, /* commands that read sweeps and captures */
    MEASURING = M | C,
    ASKING = MEASURING | P, /* what a judgement hangs on, made or foreseen */
    OF_THE_SET = M | C | R | P,
    MEASURED = ASKING | D, /* what figures hang on, judged or not */
    READING = SPURITY_CLI_READING
};

enum { CHAIN, INSTRUMENT, SWEEP, CAPTURE, CARRIER, SET, JUDGED, RULES, RESULT, KEYS };
const char *const spurity_cli_headings[] = {
    [CHAIN] = "Between the antenna terminal and the instrument",
    [INSTRUMENT] = "What the instrument stands and shows",
    [SWEEP] = "How the sweep was taken and saved",
    [CAPTURE] = "How the capture was recorded",
    [CARRIER] = "The carrier",
    [SET] = "What a clause asks about the set",
    [JUDGED] = "What is asked, and how it is decided",
    [RULES] = "Rules",
    [RESULT] = "Results",
    [KEYS] = "Only after a file's name",
    [KEYS + 1] = NULL,
};

const spurity_cli_option spurity_cli_options[] = {
    {"bench", "FILE", "a bench file: chain, instrument and budget said once; what an option says holds over it", CHAIN,
     MEASURED, 0, spurity_cli_set_text, SETTING(bench), NULL},
    {"pad", "DB[,U][,FMAX][,W]",
     "attenuation, its uncertainty, known to FMAX, rating (40dB,0.5dB,1G,50W); repeatable, in order from the set",
     CHAIN, FILES | P, READING | SPURITY_CLI_REPEATS | SPURITY_CLI_COMMAS, spurity_cli_set_pad, 0, NULL},
    {"loss", "FILE", "loss by frequency: a two-port file or a table; repeatable, in order with --pad", CHAIN, FILES | P,
     READING | SPURITY_CLI_REPEATS, spurity_cli_set_loss, 0, NULL},
    {"loss-uncertainty", "DB", "expanded uncertainty (k = 2) of loss files that tell none", CHAIN, FILES | P, READING,
     spurity_cli_set_db, OWN(loss_uncertainty_db), NULL},
    {"direct", NULL, "nothing in between", CHAIN, FILES | P, READING, spurity_cli_set_direct, 0, NULL},
    {"corrected", NULL, "the file's levels already stand at the antenna terminal", CHAIN, FILES, READING,
     spurity_cli_set_corrected, 0, NULL},
    {"impedance", "OHM", "of voltage columns and two-ports", CHAIN, FILES | P, READING, spurity_cli_set_impedance,
     READ(impedance_ohm), "50 ohm"},

    {"max-input", "DBM", "what its input stands without damage, by its label (20dBm)", INSTRUMENT, P, 0,
     spurity_cli_set_level, PLAN(max_input_dbm), NULL},
    {"noise", "DBM/RBW", "its mean noise with the input terminated, and in which RBW (-110dBm/10k)", INSTRUMENT, P, 0,
     spurity_cli_set_noise, 0, NULL},
    {"second-harmonic-intercept", "DBM",
     "of its input: harmonic intercept of second order; bounds what it adds to the set's second", INSTRUMENT, MEASURED,
     0, spurity_cli_set_level, POINT(second_harmonic_intercept_dbm), NULL},
    {"third-order-intercept", "DBM",
     "of its input: intercept of third order, by two tones; bounds what it adds to the set's third", INSTRUMENT,
     MEASURED, 0, spurity_cli_set_level, POINT(third_order_intercept_dbm), NULL},

    {"rbw", "F", "resolution bandwidth: of a trace whose file does not tell; wanted of a capture", SWEEP, FILES,
     READING, spurity_cli_set_frequency, READ(rbw_hz), NULL},
    {"detector", "D[,N]",
     "sample, average, log-average, peak or max-hold, N sweeps averaged or held: of a trace whose file does not tell; "
     "average or max-hold wanted of a capture",
     SWEEP, FILES, READING | SPURITY_CLI_COMMAS, spurity_cli_set_detector, 0, NULL},
    {"trace", "N|NAME", "the column: number from 1, frequency not counted, or its header without unit", SWEEP, FILES,
     READING, spurity_cli_set_text, READ(trace), NULL},
    {"start", "F", "first frequency of a file that holds levels only", SWEEP, FILES, READING, spurity_cli_set_edge,
     READ(start_hz), NULL},
    {"stop", "F", "last frequency of a file that holds levels only", SWEEP, FILES, READING, spurity_cli_set_edge,
     READ(stop_hz), NULL},
    {"level-unit", "UNIT", "dBm, dBW, dBV, dBmV, dBuV, V, mV, uV, W, mW, uW or nW", SWEEP, FILES, READING,
     spurity_cli_set_level_unit, READ(level_unit), NULL},
    {"frequency-unit", "UNIT", "Hz, kHz, MHz or GHz", SWEEP, FILES, READING, spurity_cli_set_frequency_unit,
     READ(frequency_unit_hz), NULL},
    {"decimal-mark", "MARK", "point or comma", SWEEP, FILES, READING, spurity_cli_set_decimal_mark, READ(decimal_mark),
     NULL},
    {"delimiter", "WORD", "comma, semicolon, tab, bar or blank", SWEEP, FILES, READING, spurity_cli_set_delimiter,
     READ(delimiter), NULL},
    {"block", "TYPE", "numbers of a binary block: f32-be, f32-le, f64-be or f64-le", SWEEP, FILES, READING,
     spurity_cli_set_block, READ(element), NULL},

    {"rate", "R", "samples per second (2.4M); of a plan: what the receiver records", CAPTURE, FILES | P, READING,
     spurity_cli_set_rate, READ(rate_hz), NULL},
    {"center", "F", "frequency the receiver was tuned to", CAPTURE, FILES, READING, spurity_cli_set_edge,
     READ(center_hz), NULL},
    {"datatype", "TYPE", "of raw samples: cu8, ci16_le, cf32_le, ri16_be ...; with --rate", CAPTURE, FILES, READING,
     spurity_cli_set_datatype, 0, NULL},
    {"channel", "N", "which of several, from 1", CAPTURE, FILES, READING, spurity_cli_set_channel, READ(channel), NULL},
    {"full-scale", "DBM", "level at the receiver's input of a tone of full scale (-10dBm)", CAPTURE, FILES, READING,
     spurity_cli_set_full_scale, READ(full_scale_dbm), NULL},
    {"swapped", NULL, "the recorder swapped I and Q", CAPTURE, FILES, READING, spurity_cli_set_flag, READ(swapped),
     NULL},
    {"skip-bytes", "N", "bytes before the samples of a raw file", CAPTURE, FILES, READING, spurity_cli_set_bytes,
     READ(skip_bytes), NULL},
    {"seconds", "T", "how much of each capture to use; ends an endless one", CAPTURE, FILES, 0, spurity_cli_set_seconds,
     POINT(seconds), NULL},
    {"edge", "PERCENT", "of the rate at each end of the receiver's band that is not trusted", CAPTURE, FILES | P, 0,
     spurity_cli_set_edge_share, POINT(edge_fraction), "10 %"},
    {"threads", "N", "processor cores to use: all, unless said; the figures are the same", CAPTURE, FILES,
     SPURITY_CLI_QUIET, spurity_cli_set_threads, POINT(threads), NULL},
    {"reproducible", NULL, "the same last digit every time: transforms are set up without timing them", CAPTURE, FILES,
     0, spurity_cli_set_flag, POINT(reproducible), NULL},

    {"carrier", "F", "expected carrier (146.94M)", CARRIER, FILES | R | P, 0, spurity_cli_set_frequency,
     POINT(carrier_hz), NULL},
    {"power", "P[,pep]|P1..P2", "carrier power by a meter: mean unless pep (4.7W, 36.7dBm, 4.5W..5W)", CARRIER,
     OF_THE_SET | D, 0, spurity_cli_set_power, 0, NULL},
    {"modulation", "STATE", "state of the set: none, voice or test", CARRIER, OF_THE_SET | D, 0,
     spurity_cli_set_modulation, POINT(modulation), NULL},
    {"lowest", "F", "lowest frequency the set generates", CARRIER, ASKING, 0, spurity_cli_set_frequency,
     POINT(lowest_hz), NULL},
    {"harmonics", "N", "how far harmonics are listed", CARRIER, MEASURING | D, 0, spurity_cli_set_harmonics,
     POINT(harmonics), "10"},

    {"bandwidth", "F", "channel width or authorised bandwidth", SET, OF_THE_SET | D, 0, spurity_cli_set_frequency,
     POINT(bandwidth_hz), NULL},
    {"emission", "TYPE", "type of emission, bare or with its bandwidth (F3E, 16K0F3E)", SET, OF_THE_SET | D, 0,
     spurity_cli_set_emission, POINT(emission), NULL},
    {"audio-filter", "yes|no", "whether the set has an audio low-pass filter", SET, OF_THE_SET, 0,
     spurity_cli_set_yes_no, POINT(audio_filter), NULL},
    {"station", "WORD", "kind of station, as the rule file calls it; one for each of several rule sets: WORD,WORD", SET,
     OF_THE_SET, 0, spurity_cli_set_text, POINT(station), NULL},
    {"antenna-gain", "G", "with its unit: 0dBd or 2.15dBi", SET, OF_THE_SET, 0, spurity_cli_set_gain,
     POINT(antenna_gain_dbd), NULL},
    {"installed", "DATE", "day the transmitter was installed (2003-01-01)", SET, OF_THE_SET, 0, spurity_cli_set_date,
     POINT(installed), NULL},
    {"marketed", "DATE", "day it was first marketed", SET, OF_THE_SET, 0, spurity_cli_set_date, POINT(marketed), NULL},
    {"built", "DATE", "day it was built", SET, OF_THE_SET, 0, spurity_cli_set_date, POINT(built), NULL},

    {"only", "GROUP,...", "emissions, power, mask, frequency, modulation", JUDGED, ASKING, 0, spurity_cli_set_only, 0,
     NULL},
    {"range", "F1-F2", "judge only there, on your word (30M-1G)", JUDGED, ASKING, 0, spurity_cli_set_range, 0, NULL},
    {"beyond", "F", "judge only what lies further than this from the carrier, on your word", JUDGED, ASKING, 0,
     spurity_cli_set_frequency, POINT(beyond_hz), NULL},
    {"uncertainty", "DBM[,DBC]", "expanded uncertainty (k = 2) of a level and of a ratio, in dB", JUDGED, MEASURED, 0,
     spurity_cli_set_uncertainty, 0, "2.0 dB, 1.5 dB"},
    {"budget", "FILE", "a budget file in place of --uncertainty: what the bench is uncertain of, term by term", JUDGED,
     MEASURED, 0, spurity_cli_set_text, SETTING(budget), NULL},
    {"reference-ppm", "P", "accuracy of the instrument's frequency reference", JUDGED, ASKING, 0, spurity_cli_set_ppm,
     POINT(reference_ppm), NULL},
    {"decision", "RULE", "guarded (by the uncertainty) or simple", JUDGED, ASKING, 0, spurity_cli_set_decision,
     POINT(simple_decision), "guarded"},

    {"rules", "ID|FILE", "built-in id, or a file (holds '/' or ends in .yaml); repeatable", RULES, C | P,
     SPURITY_CLI_REPEATS, spurity_cli_set_rules, 0, NULL},
    {"at", "F,...", "frequencies asked: absolute, or from the carrier with + or - (+12.5k)", RULES, R, 0,
     spurity_cli_set_text, SETTING(at), NULL},
    {"lint", "FILE", "look a rule file over", RULES, R, 0, spurity_cli_set_text, SETTING(lint), NULL},
    {"template", NULL, "a rule file to begin one of your own with, with comments, on standard output", RULES, R, 0,
     spurity_cli_set_flag, SETTING(template), NULL},

    {"json", "FILE", "the result for programs; '-' is standard output", RESULT, MEASURED | R, SPURITY_CLI_QUIET,
     spurity_cli_set_text, SETTING(json), NULL},
    {"session", "FILE", "writes the skeleton of a session file there (docs/session.md)", RESULT, P, SPURITY_CLI_QUIET,
     spurity_cli_set_text, SETTING(session), NULL},
    {"plot", "FILE", "the picture: .svg, .png or .pdf", RESULT, MEASURING | R, SPURITY_CLI_QUIET, spurity_cli_set_plot,
     SETTING(plot), NULL},
    {"report", "FILE", "one page for the file, whole in itself (HTML); inputs are hashed for it", RESULT, MEASURING,
     SPURITY_CLI_QUIET, spurity_cli_set_report, SETTING(report), NULL},
    {"bench-template", NULL, "a bench file to begin your own with, with comments, on standard output", RESULT, P,
     SPURITY_CLI_QUIET, spurity_cli_set_flag, SETTING(bench_template), NULL},
    {"hash", NULL,
     "SHA-256 of captures over 64 MiB too (what is smaller always has it), and a recording's own is checked", RESULT,
     FILES, SPURITY_CLI_QUIET, spurity_cli_set_flag, SETTING(hash), NULL},

    {"role", "WORD",
     "transmitter: the keyed set, which is the default; ambient: the set unkeyed; leakage: the set keyed, the "
     "instrument's end of the last pad terminated",
     KEYS, 0, READING, spurity_cli_set_role, OWN(role), NULL},
    {"scale", "NAME", "same receiver, same gain: levels compare between files of one name", KEYS, 0, READING,
     spurity_cli_set_text, OWN(scale), NULL},
};
const size_t spurity_cli_option_count = sizeof spurity_cli_options / sizeof *spurity_cli_options;
