/* SPDX-License-Identifier: GPL-2.0-or-later */
/* show: what a file is, and why it was read so. */
#include <math.h>
#include <string.h>

#include "show.h"

/* ---- aligned columns ----------------------------------------------------------------------------- */

enum { CELL = SPURITY_CLI_CELL, COLUMNS_MOST = 8 };

/* Columns a text takes: UTF-8 continuation bytes take none. */
static int width_of(const char *text)
{
    int width = 0;
    for (; *text; text++)
        width += ((unsigned char)*text & 0xC0) != 0x80;
    return width;
}

void spurity_cli_row(const char cells[][CELL], const int *widths, int count)
{
    fputs("  ", stdout);
    for (int i = 0; i < count; i++) {
        bool last = true;
        for (int k = i + 1; k < count; k++)
            last = last && !cells[k][0];
        fputs(cells[i], stdout);
        if (last)
            break;
        printf("%*s", widths[i] - width_of(cells[i]) + 2, "");
    }
    fputc('\n', stdout);
}

void spurity_cli_widen(int *widths, const char cells[][CELL], int count)
{
    for (int i = 0; i < count; i++)
        if (width_of(cells[i]) > widths[i])
            widths[i] = width_of(cells[i]);
}

/* ---- what was understood ------------------------------------------------------------------------- */

static void finding_row(const spurity_finding *finding, char cells[4][CELL])
{
    snprintf(cells[0], CELL, "%s", finding->what);
    snprintf(cells[1], CELL, "%s%s", finding->understood, finding->assumed ? " ?" : "");
    snprintf(cells[2], CELL, "%s", finding->option);
    if (finding->line)
        snprintf(cells[3], CELL, "line %lu: %.180s", finding->line, finding->why);
    else
        snprintf(cells[3], CELL, "%s", finding->why);
}

static void show_findings(const spurity_recording *recording)
{
    static const char heads[4][CELL] = {"what", "understood", "override", "why"};
    int widths[4] = {0};
    bool assumed = false;
    char cells[4][CELL];
    size_t count = spurity_recording_finding_count(recording);
    if (!count)
        return;
    spurity_cli_widen(widths, heads, 4);
    for (size_t i = 0; i < count; i++) {
        const spurity_finding *finding = spurity_recording_finding(recording, i);
        finding_row(finding, cells);
        spurity_cli_widen(widths, (const char(*)[CELL])cells, 4);
        assumed = assumed || finding->assumed;
    }
    fputc('\n', stdout);
    spurity_cli_row(heads, widths, 4);
    for (size_t i = 0; i < count; i++) {
        finding_row(spurity_recording_finding(recording, i), cells);
        spurity_cli_row((const char(*)[CELL])cells, widths, 4);
    }
    if (assumed)
        puts("  ? = assumed: the file does not say");
}

/* ---- what it holds ------------------------------------------------------------------------------- */

static void frequency_or_unknown(char *cell, double hz)
{
    if (hz > 0)
        spurity_format_frequency(cell, CELL, hz, 6);
    else
        snprintf(cell, CELL, "unknown");
}

static void segment_row(const spurity_segment *segment, size_t index, char cells[COLUMNS_MOST][CELL])
{
    snprintf(cells[0], CELL, "%zu", index + 1);
    snprintf(cells[1], CELL, "%zu", segment->count);
    snprintf(cells[2], CELL, "%zu", segment->missing);
    spurity_format_frequency(cells[3], CELL, segment->frequency_hz[0], 6);
    spurity_format_frequency(cells[4], CELL, segment->frequency_hz[segment->count - 1], 6);
    frequency_or_unknown(cells[5], segment->step_hz);
    frequency_or_unknown(cells[6], segment->facts.rbw_hz);
    if (segment->facts.averages > 0)
        snprintf(cells[7], CELL, "%s of %.0f", spurity_detector_name(segment->facts.detector), segment->facts.averages);
    else
        snprintf(cells[7], CELL, "%s", spurity_detector_name(segment->facts.detector));
}

static void show_segments(const spurity_trace *trace)
{
    static const char heads[COLUMNS_MOST][CELL] = {"segment", "points", "missing", "from",
                                                   "to",      "step",   "RBW",     "detector"};
    enum { SHOWN = 40 }; /* a file of thousands of segments is summed up */
    int widths[COLUMNS_MOST] = {0};
    char cells[COLUMNS_MOST][CELL];
    spurity_segment segment;
    size_t count = spurity_trace_segment_count(trace), shown = count < SHOWN ? count : SHOWN;
    spurity_cli_widen(widths, heads, COLUMNS_MOST);
    for (size_t i = 0; i < shown && spurity_trace_segment(trace, i, &segment); i++) {
        segment_row(&segment, i, cells);
        spurity_cli_widen(widths, (const char(*)[CELL])cells, COLUMNS_MOST);
    }
    fputc('\n', stdout);
    spurity_cli_row(heads, widths, COLUMNS_MOST);
    for (size_t i = 0; i < shown && spurity_trace_segment(trace, i, &segment); i++) {
        segment_row(&segment, i, cells);
        spurity_cli_row((const char(*)[CELL])cells, widths, COLUMNS_MOST);
    }
    if (count > shown)
        printf("  and %zu more segments\n", count - shown);
}

typedef struct extent {
    double low_hz, high_hz, low_db, high_db, high_at_hz;
} extent;

static extent extent_of(const spurity_trace *trace)
{
    extent all = {(double)INFINITY, -(double)INFINITY, (double)INFINITY, -(double)INFINITY, (double)NAN};
    spurity_segment segment;
    for (size_t i = 0; spurity_trace_segment(trace, i, &segment); i++) {
        all.low_hz = fmin(all.low_hz, segment.frequency_hz[0]);
        all.high_hz = fmax(all.high_hz, segment.frequency_hz[segment.count - 1]);
        for (size_t k = 0; k < segment.count; k++) {
            all.low_db = fmin(all.low_db, segment.level_db[k]);
            if (segment.level_db[k] > all.high_db) {
                all.high_db = segment.level_db[k];
                all.high_at_hz = segment.frequency_hz[k];
            }
        }
    }
    return all;
}

static void show_trace(const spurity_trace *trace)
{
    extent all = extent_of(trace);
    char from[48], to[48], at[48], low[16], high[16];
    size_t points = spurity_trace_points(trace);
    spurity_format_frequency(from, sizeof from, all.low_hz, 6);
    spurity_format_frequency(to, sizeof to, all.high_hz, 6);
    spurity_format_frequency(at, sizeof at, all.high_at_hz, 6);
    printf("  a sweep of %zu point%s, %s to %s\n", points, points == 1 ? "" : "s", from, to);
    printf("  levels %s to %s dBm at the instrument, highest at %s\n", spurity_format_db(low, sizeof low, all.low_db),
           spurity_format_db(high, sizeof high, all.high_db), at);
}

static void show_curve(const spurity_curve *curve)
{
    double ends_hz[2] = {spurity_curve_first_hz(curve), spurity_curve_last_hz(curve)}, db[2], uncertainty;
    char from[48], to[48], low[16], high[16];
    spurity_format_frequency(from, sizeof from, ends_hz[0], 6);
    spurity_format_frequency(to, sizeof to, ends_hz[1], 6);
    printf("  a loss by frequency of %zu points, %s to %s\n", spurity_curve_count(curve), from, to);
    for (int i = 0; i < 2; i++)
        if (!spurity_curve_at(curve, ends_hz[i], &db[i], &uncertainty))
            return;
    printf("  loss %s dB at its lower end, %s dB at its upper end\n", spurity_format_db(low, sizeof low, db[0]),
           spurity_format_db(high, sizeof high, db[1]));
}

static void show_facts(const spurity_recording_facts *facts)
{
    if (facts->title[0])
        printf("  calls itself '%s'\n", facts->title);
    if (!isnan(facts->reference_level_dbm))
        printf("  reference level %g dBm\n", facts->reference_level_dbm);
    if (!isnan(facts->input_attenuation_db))
        printf("  input attenuator %g dB: inside the instrument, no part of the chain\n", facts->input_attenuation_db);
    if (!isnan(facts->external_gain_db) && fabs(facts->external_gain_db) > 0)
        printf("  external gain %g dB told by the file\n", facts->external_gain_db);
    if (!isnan(facts->reference_impedance_ohm))
        printf("  reference impedance %g ohm\n", facts->reference_impedance_ohm);
}

static void show_chain(const spurity_cli_file *file)
{
    char text[200];
    size_t count = spurity_chain_element_count(file->chain);
    switch (spurity_chain_kind_of(file->chain)) {
    case SPURITY_CHAIN_UNSTATED:
        puts("  what stands before the instrument: not said");
        return;
    case SPURITY_CHAIN_DIRECT:
        puts("  what stands before the instrument: nothing (direct)");
        return;
    case SPURITY_CHAIN_CORRECTED:
        puts("  what stands before the instrument: taken out already (corrected)");
        return;
    case SPURITY_CHAIN_ELEMENTS:
        break;
    }
    for (size_t i = 0; i < count; i++) {
        spurity_chain_describe(file->chain, i, text, sizeof text);
        printf("  %s %s\n", i ? "                            then:" : "what stands before the instrument:", text);
    }
}

/* ---- one file after the other -------------------------------------------------------------------- */

static bool is_two_port(const char *path)
{
    const char *dot = strrchr(path, '.');
    return dot && (dot[1] == 's' || dot[1] == 'S') && strchr("0123456789", dot[2]) && dot[2] &&
           (dot[3] == 'p' || dot[3] == 'P') && !dot[4];
}

/* A sweep, or else a loss table: what reads as neither is told as a sweep. */
static spurity_status read_as_either(const spurity_cli_file *file, int index, spurity_notes *notes,
                                     const spurity_watch *watch, spurity_recording **recording, spurity_error *error)
{
    spurity_error other = {0};
    const spurity_read_options *options = &file->reading.read;
    if (is_two_port(file->path))
        return spurity_input_read(file->path, options, SPURITY_READ_LOSS, index, notes, watch, recording, error);
    spurity_status status =
        spurity_input_read(file->path, options, SPURITY_READ_TRACE, index, notes, watch, recording, error);
    if (!status || status == SPURITY_SYSTEM || status == SPURITY_CANCELLED || !strcmp(file->path, "-"))
        return status;
    spurity_status second =
        spurity_input_read(file->path, options, SPURITY_READ_LOSS, index, NULL, watch, recording, &other);
    if (second == SPURITY_SYSTEM || second == SPURITY_CANCELLED)
        *error = other; /* which of the two it is was not found out */
    return !second || error->status == second ? second : status;
}

/* What is shown of one file. */
typedef struct shown_file {
    const spurity_cli_file *file;
    spurity_recording *recording;
    spurity_cli_shown_capture capture;
    spurity_notes *notes;
} shown_file;

static void show_recording(const shown_file *shown)
{
    const spurity_trace *trace = spurity_recording_trace(shown->recording);
    const spurity_curve *curve = spurity_recording_curve(shown->recording);
    const spurity_recording_facts *facts = spurity_recording_facts_of(shown->recording);
    const char *path = shown->file->path;
    bool capture = shown->capture.spectrum != NULL;
    printf("%s: read as %s\n", strcmp(path, "-") ? path : "standard input", facts->reader);
    if (trace)
        show_trace(trace);
    if (curve)
        show_curve(curve);
    if (capture)
        spurity_cli_show_capture(spurity_capture_facts_of(shown->capture.capture), facts);
    show_facts(facts);
    if (trace || capture)
        show_chain(shown->file);
    if (capture)
        spurity_cli_show_samples(&shown->capture);
    show_findings(shown->recording);
    if (trace)
        show_segments(trace);
    if (capture)
        spurity_cli_show_parts(&shown->capture);
}

static void show_notes(const spurity_notes *notes)
{
    for (size_t i = 0; i < spurity_notes_count(notes); i++) {
        const spurity_note *note = spurity_notes_at(notes, i);
        printf("%s  warning (%s): %s\n", i ? "" : "\n", spurity_note_code_name(note->code), note->text);
    }
}

static spurity_status read_file(const spurity_cli_settings *settings, int index, shown_file *shown,
                                spurity_error *error)
{
    spurity_cli_progress progress;
    shown->notes = spurity_notes_create();
    if (!shown->notes)
        return spurity_report_memory(error);
    spurity_cli_progress_start(&progress);
    spurity_status status = read_as_either(shown->file, index, shown->notes, &progress.watch, &shown->recording, error);
    if (!status && spurity_recording_capture(shown->recording))
        status = spurity_cli_take_spectrum(settings, index, shown->recording, &progress.watch, &shown->capture, error);
    if (!status && spurity_notes_lost(shown->notes))
        status = spurity_report_memory(error);
    spurity_cli_progress_end(&progress);
    return status;
}

static int show_file(const spurity_cli_settings *settings, int index)
{
    spurity_error error = {0};
    shown_file shown = {.file = &settings->files[index]};
    int status = SPURITY_EXIT_PASS;
    if (read_file(settings, index, &shown, &error))
        status = spurity_cli_fail(&error);
    else {
        printf("%s", index ? "\n" : "");
        show_recording(&shown);
        show_notes(shown.notes);
    }
    spurity_spectrum_free(shown.capture.spectrum);
    spurity_capture_free(shown.capture.capture);
    spurity_recording_free(shown.recording);
    spurity_notes_free(shown.notes);
    return status;
}

int spurity_cli_show(int argc, char **argv)
{
    spurity_cli_settings settings;
    spurity_error error = {0};
    int status = SPURITY_EXIT_PASS;
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_SHOW);
    if (spurity_cli_parse(&settings, argc, argv, &error) || spurity_cli_files_open(&settings, NULL, NULL, &error))
        status = spurity_cli_fail(&error);
    else
        for (size_t i = 0; i < settings.file_count && !spurity_cli_signal_caught(); i++) {
            int one = show_file(&settings, (int)i);
            status = one > status ? one : status;
        }
    spurity_cli_settings_release(&settings);
    return status;
}
