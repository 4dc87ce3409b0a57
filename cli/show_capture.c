/* SPDX-License-Identifier: GPL-2.0-or-later */
/* show, of a capture of samples: what it is, what the samples say, what its spectrum is computed with. */
#include <math.h>
#include <stdarg.h>
#include <string.h>

#include "show.h"

/* More samples than this are not looked at unless --seconds asks for it: a second of work or so. */
static const double SAMPLES_SHOWN = 1e8;

static void line(const char *what, const char *format, ...) SPURITY_PRINTF(2, 3);

static void line(const char *what, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    printf("    %-18s", what);
    vprintf(format, arguments);
    putchar('\n');
    va_end(arguments);
}

/* "-8.1 dBFS", and in dBm where full scale is known. */
static const char *level(char *text, size_t size, double dbfs, double full_scale_dbm)
{
    char first[16], second[16];
    int used = snprintf(text, size, "%s dBFS", spurity_format_db(first, sizeof first, dbfs));
    if (!isnan(full_scale_dbm))
        snprintf(text + used, size - (size_t)used, " (%s dBm at the receiver)",
                 spurity_format_db(second, sizeof second, dbfs + full_scale_dbm));
    return text;
}

/* ---- what it is ---------------------------------------------------------------------------------- */

static void show_centers(const spurity_capture_facts *facts)
{
    char text[48];
    const spurity_capture_segment *segments = facts->segments;
    bool same = true;
    for (size_t i = 1; i < facts->segment_count; i++)
        same = same && fabs(segments[i].center_hz - segments[0].center_hz) < 1e-3; /* Hz */
    if (isnan(segments[0].center_hz))
        printf("%s\n", facts->format.is_complex ? ", tuned to a frequency nobody tells" : "");
    else if (same)
        printf(", tuned to %s\n", spurity_format_frequency(text, sizeof text, segments[0].center_hz, 6));
    else
        printf(", tuned to %zu frequencies, first %s\n", facts->segment_count,
               spurity_format_frequency(text, sizeof text, segments[0].center_hz, 6));
}

void spurity_cli_show_capture(const spurity_capture_facts *facts, const spurity_recording_facts *told)
{
    char rate[32], length[32], type[16];
    printf("  a capture of %s samples, %s, %s", told->datatype.is_complex ? "complex" : "real",
           spurity_sample_format_name(told->datatype, type, sizeof type),
           spurity_cli_format_rate(rate, sizeof rate, facts->rate_hz));
    if (told->channels > 1)
        printf(", channel %d of %d", told->channel, told->channels);
    show_centers(facts);
    if (facts->samples)
        printf("  %llu samples, %s", (unsigned long long)facts->samples,
               spurity_cli_format_time(length, sizeof length, (double)facts->samples / facts->rate_hz));
    else
        fputs("  as many samples as come", stdout);
    if (told->data[0])
        printf(", in '%s'", told->data);
    if (isnan(facts->full_scale_dbm))
        puts("; what level full scale stands for is not known");
    else
        printf("; full scale is %g dBm at the receiver\n", facts->full_scale_dbm);
}

/* ---- what the samples say ------------------------------------------------------------------------ */

static void show_rails(const spurity_spectrum_facts *facts)
{
    if (facts->at_rail)
        line("at the rails", "%llu of the components (%.2g %%): clipped", (unsigned long long)facts->at_rail,
             100 * (double)facts->at_rail / (double)facts->components);
    else if (facts->pinned)
        line("at the rails", "several samples stand at one same maximum: clipped, it seems");
    else
        line("at the rails", "none");
}

/* Rounded to 1 / parts, and 0 without a sign. */
static double no_minus(double x, double parts)
{
    return round(x * parts) / parts + 0.0;
}

static void show_receiver(const spurity_spectrum_facts *facts, bool is_complex)
{
    char text[16], image[16];
    double dc = is_complex ? facts->dc_i * facts->dc_i + facts->dc_q * facts->dc_q : 2 * facts->dc_i * facts->dc_i;
    if (dc > 0)
        line("DC", "%s dBFS", spurity_format_db(text, sizeof text, spurity_db_from_ratio(dc)));
    if (!is_complex)
        return;
    if (isnan(facts->image_db))
        line("I against Q", "not told by these samples");
    else
        line("I against Q", "%.2f dB, %.1f degrees: mirror images %s dB down", no_minus(facts->gain_imbalance_db, 100),
             no_minus(facts->phase_imbalance_deg, 10), spurity_format_db(image, sizeof image, fabs(facts->image_db)));
}

static void show_keying(const spurity_spectrum_facts *facts, double full_scale_dbm)
{
    char text[64];
    if (!facts->bursts) {
        line("bursts", "none");
        return;
    }
    line("bursts", "%llu, key down %.1f %% of the time", (unsigned long long)facts->burst_count, 100 * facts->duty);
    line("key-down mean", "%s%s", level(text, sizeof text, facts->on_db, full_scale_dbm),
         facts->gated ? "; the spectrum is that of the key-down time" : "");
}

static void show_samples(const spurity_spectrum_facts *facts, const spurity_capture_facts *capture, double total)
{
    char text[64], used[32], all[32];
    double seconds = (double)facts->samples / capture->rate_hz;
    puts("\n  what the samples say");
    if (total > 0 && (double)facts->samples + 0.5 < total)
        line("looked at", "the first %s of %s (--seconds sets it)", spurity_cli_format_time(used, sizeof used, seconds),
             spurity_cli_format_time(all, sizeof all, total / capture->rate_hz));
    else if (!(total > 0))
        line("looked at", "%llu samples, %s", (unsigned long long)facts->samples,
             spurity_cli_format_time(used, sizeof used, seconds));
    line("mean power", "%s", level(text, sizeof text, facts->mean_db, capture->full_scale_dbm));
    line("largest", "%.4g of full scale", facts->largest);
    show_rails(facts);
    if (facts->not_finite)
        line("not a number", "%llu samples, taken as 0", (unsigned long long)facts->not_finite);
    show_receiver(facts, capture->format.is_complex);
    show_keying(facts, capture->full_scale_dbm);
}

/* ---- its spectrum -------------------------------------------------------------------------------- */

static void show_spectrum(const spurity_spectrum_facts *facts)
{
    char rbw[48], bin[48], sharp[48];
    puts("\n  its spectrum, as 'measure' would take it");
    line("RBW", "%s, %s window of %zu samples, a bin %s", spurity_format_frequency(rbw, sizeof rbw, facts->rbw_hz, 3),
         spurity_window_facts_of(facts->window)->name, facts->transform,
         spurity_format_frequency(bin, sizeof bin, facts->bin_hz, 3));
    if (!isnan(facts->sharp_rbw_hz))
        line("close in", "%s, %s window", spurity_format_frequency(sharp, sizeof sharp, facts->sharp_rbw_hz, 3),
             spurity_window_facts_of(facts->sharp_window)->name);
    line("averages", "%.1f from %llu transforms, %.0f %% overlap%s", facts->averages,
         (unsigned long long)facts->transforms, 100 * facts->overlap,
         facts->averages_few ? "; the capture is too short for the RBW wanted" : "");
}

enum { PART_COLUMNS = 7 };

static void part_row(const spurity_spectrum *spectrum, const spurity_segment *segment, size_t index,
                     char cells[PART_COLUMNS][SPURITY_CLI_CELL])
{
    spurity_spectrum_part part = {0};
    spurity_spectrum_part_at(spectrum, index, &part);
    snprintf(cells[0], SPURITY_CLI_CELL, "%zu", index + 1);
    if (part.center_told)
        spurity_format_frequency(cells[1], SPURITY_CLI_CELL, part.center_hz, 6);
    else
        snprintf(cells[1], SPURITY_CLI_CELL, "not told");
    spurity_format_frequency(cells[2], SPURITY_CLI_CELL, segment->frequency_hz[0], 6);
    spurity_format_frequency(cells[3], SPURITY_CLI_CELL, segment->frequency_hz[segment->count - 1], 6);
    snprintf(cells[4], SPURITY_CLI_CELL, "%zu", segment->count);
    spurity_format_frequency(cells[5], SPURITY_CLI_CELL, segment->facts.rbw_hz, 3);
    snprintf(cells[6], SPURITY_CLI_CELL, "%s%s%s", spurity_detector_name(segment->facts.detector),
             part.sharp ? ", close in" : "", part.overload ? ", overloaded" : "");
}

static void show_parts(const spurity_spectrum *spectrum)
{
    static const char heads[PART_COLUMNS][SPURITY_CLI_CELL] = {"segment", "tuned to", "from",    "to",
                                                               "points",  "RBW",      "detector"};
    enum { SHOWN = 40 };
    int widths[PART_COLUMNS] = {0};
    char cells[PART_COLUMNS][SPURITY_CLI_CELL];
    const spurity_trace *trace = spurity_spectrum_trace(spectrum);
    spurity_segment segment;
    size_t count = spurity_trace_segment_count(trace), shown = count < SHOWN ? count : SHOWN;
    spurity_cli_widen(widths, heads, PART_COLUMNS);
    for (size_t i = 0; i < shown && spurity_trace_segment(trace, i, &segment); i++) {
        part_row(spectrum, &segment, i, cells);
        spurity_cli_widen(widths, (const char(*)[SPURITY_CLI_CELL])cells, PART_COLUMNS);
    }
    putchar('\n');
    spurity_cli_row(heads, widths, PART_COLUMNS);
    for (size_t i = 0; i < shown && spurity_trace_segment(trace, i, &segment); i++) {
        part_row(spectrum, &segment, i, cells);
        spurity_cli_row((const char(*)[SPURITY_CLI_CELL])cells, widths, PART_COLUMNS);
    }
    if (count > shown)
        printf("  and %zu more segments\n", count - shown);
}

spurity_status spurity_cli_take_spectrum(const spurity_cli_settings *settings, int index, spurity_recording *recording,
                                         const spurity_watch *watch, spurity_cli_shown_capture *shown,
                                         spurity_error *error)
{
    spurity_test_point point = settings->point;
    shown->capture = spurity_recording_take_capture(recording);
    if (point.seconds <= 0)
        point.seconds = SAMPLES_SHOWN / spurity_capture_facts_of(shown->capture)->rate_hz;
    return spurity_source_spectrum(&point, &settings->sources[index], shown->capture, watch, &shown->spectrum, error);
}

void spurity_cli_show_samples(const spurity_cli_shown_capture *shown)
{
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(shown->spectrum);
    const spurity_capture_facts *capture = spurity_capture_facts_of(shown->capture);
    show_samples(facts, capture, (double)capture->samples);
    show_spectrum(facts);
}

void spurity_cli_show_parts(const spurity_cli_shown_capture *shown)
{
    show_parts(shown->spectrum);
}
