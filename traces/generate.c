/* SPDX-License-Identifier: GPL-2.0-or-later */
/* generate FOLDER: writes the demo sweeps and captures (these: generate_captures.c).  INVENTED DATA: no transmitter was
 * measured; every figure below was chosen.
 *
 * A transmitter is a carrier, lines below it (dBc at the antenna terminal) and phase noise.  A bench is what stands
 * between terminal and instrument and the noise of the instrument.  A sweep looks at one transmitter on one bench with
 * a resolution filter and a detector.  A dialect writes the sweep down the way some export would.
 *
 * Physics (what is left out: README.md beside this file):
 *   Gaussian resolution filter of 3 dB width B:     |H(d)|^2 = 2^-(2 d / B)^2,              noise bandwidth 1.0645 B
 *   four synchronously tuned poles:                 |H(d)|^2 = (1 + (2^(1/4)-1) (2 d / B)^2)^-4,            1.1285 B
 *   frequency modulation by a tone of f, deviation D: lines of J_n(D / f) at n f, the n-th Bessel function,
 *   phase noise, carrier to density at distance d:  far + at_10k (10 kHz / max(d, 1 kHz))^2
 *   the reading is the power of (lines of random phase + complex Gaussian noise) in the filter.
 * Noise bandwidths: the integrals of the two responses over d, sqrt(pi / ln 2) / 2 and 5 pi / (32 sqrt(2^(1/4)-1)).
 *
 * The same on every run: own random numbers, fixed seed a sweep. */
#include <errno.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "generate.h"

enum { COLUMNS_MAX = 3 };

struct bench {
    const char *words;
    double loss_db;      /* as stated to the program */
    double slope_db;     /* more loss per decade above 100 MHz, in the bench's loss table */
    double ripple_db;    /* what the statement does not know */
    double noise_dbm_hz; /* at the instrument's input */
};

enum filter { GAUSSIAN, FOUR_POLES };
enum detector { SAMPLE, POWER_AVERAGE, PEAK, MAX_HOLD };
static const char *const detector_words[] = {"sample", "average", "peak", "max-hold"};

struct column {
    const char *title;
    enum detector detector;
    int sweeps;
};

struct sweep {
    const char *file;
    const struct transmitter *set;
    const struct bench *bench;
    double start_hz, stop_hz;
    int points;
    double rbw_hz;
    enum filter filter;
    struct column columns[COLUMNS_MAX];
    void (*write)(FILE *out, const struct sweep *sweep, const double *const *level_dbm);
    int wide_letters; /* UTF-16, little end first */
};

/* ---- random numbers --------------------------------------------------------------------------------
 * splitmix64: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014 (constants from
 * memory; nothing rests on their quality here). */

static uint64_t random_state;

void random_start(unsigned long long seed)
{
    random_state = seed;
}

double random_unit(void)
{
    uint64_t z = random_state += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

/* Adds a vector of amplitude `size` and random direction. */
static void add_vector(double size, double *re, double *im)
{
    double turn = 2.0 * M_PI * random_unit();
    *re += size * cos(turn);
    *im += size * sin(turn);
}

/* ---- physics ------------------------------------------------------------------------------------- */

double power_of(double db)
{
    return pow(10.0, db / 10.0);
}

static double response(enum filter filter, double distance_hz, double rbw_hz)
{
    double x = 2.0 * distance_hz / rbw_hz;
    if (filter == GAUSSIAN)
        return exp2(-x * x);
    double pole = 1.0 + (exp2(0.25) - 1.0) * x * x;
    return 1.0 / (pole * pole * pole * pole);
}

static double noise_bandwidth(const struct sweep *sweep)
{
    return (sweep->filter == GAUSSIAN ? 1.0645 : 1.1285) * sweep->rbw_hz;
}

static double table_loss_db(const struct bench *bench, double hz)
{
    return bench->loss_db + bench->slope_db * log10(hz / 1e8);
}

static double true_loss_db(const struct bench *bench, double hz)
{
    return table_loss_db(bench, hz) + bench->ripple_db * sin(2.0 * M_PI * hz / 730e6);
}

int lines_of(const struct transmitter *set, struct line *lines)
{
    int count = 0;
    for (int n = -SIDEBANDS; n <= SIDEBANDS; n++) {
        double index = set->tone_hz > 0.0 ? set->deviation_hz / set->tone_hz : 0.0, part = fabs(jn(abs(n), index));
        if (n == 0)
            lines[count++] = (struct line){set->carrier_hz, set->power_dbm + 20.0 * log10(part)};
        else if (part > 1e-7)
            lines[count++] = (struct line){set->carrier_hz + n * set->tone_hz, set->power_dbm + 20.0 * log10(part)};
    }
    for (int n = 2; n <= 10; n++)
        if (set->harmonic_dbc[n - 2] < 0.0)
            lines[count++] = (struct line){n * set->carrier_hz, set->power_dbm + set->harmonic_dbc[n - 2]};
    for (int i = 0; i < 3 && count < LINES_MAX; i++)
        if (set->others[i].hz > 0.0)
            lines[count++] = (struct line){set->others[i].hz, set->power_dbm + set->others[i].dbc};
    return count;
}

/* One look at one frequency: mW at the instrument's input. */
static double look(const struct sweep *sweep, const struct line *lines, int count, double hz)
{
    const struct transmitter *set = sweep->set;
    double loss = power_of(-true_loss_db(sweep->bench, hz));
    double re = 0.0, im = 0.0;
    for (int i = 0; i < count; i++) {
        double passed = power_of(lines[i].dbc) * loss * response(sweep->filter, hz - lines[i].hz, sweep->rbw_hz);
        if (passed > 1e-20)
            add_vector(sqrt(passed), &re, &im);
    }
    double distance = fmax(fabs(hz - set->carrier_hz), 1e3);
    double pedestal =
        power_of(set->power_dbm) * loss *
        (power_of(set->phase_noise_far) + power_of(set->phase_noise_10k) * (1e4 / distance) * (1e4 / distance));
    double density = pedestal + power_of(sweep->bench->noise_dbm_hz);
    /* Power of complex Gaussian noise is exponentially distributed, its direction uniform. */
    add_vector(sqrt(-log(random_unit()) * density * noise_bandwidth(sweep)), &re, &im);
    return re * re + im * im;
}

/* Highest within the cell of a point: twice a resolution bandwidth, and on every line in it. */
static double peak_look(const struct sweep *sweep, const struct line *lines, int count, double hz, double step_hz)
{
    double from = hz - step_hz / 2.0, to = hz + step_hz / 2.0;
    double highest = look(sweep, lines, count, hz);
    for (double at = from; at < to; at += sweep->rbw_hz / 2.0)
        highest = fmax(highest, look(sweep, lines, count, at));
    for (int i = 0; i < count; i++)
        if (lines[i].hz >= from && lines[i].hz < to)
            highest = fmax(highest, look(sweep, lines, count, lines[i].hz));
    return highest;
}

static double frequency_of(const struct sweep *sweep, int point)
{
    return sweep->start_hz + (sweep->stop_hz - sweep->start_hz) * point / (sweep->points - 1);
}

static double reading_dbm(const struct sweep *sweep, const struct column *column, const struct line *lines, int count,
                          int point)
{
    double hz = frequency_of(sweep, point);
    double step_hz = (sweep->stop_hz - sweep->start_hz) / (sweep->points - 1);
    double sum = 0.0, highest = 0.0;
    for (int i = 0; i < column->sweeps; i++) {
        double now =
            column->detector == PEAK ? peak_look(sweep, lines, count, hz, step_hz) : look(sweep, lines, count, hz);
        sum += now;
        highest = fmax(highest, now);
    }
    if (column->detector == POWER_AVERAGE)
        return 10.0 * log10(sum / column->sweeps);
    return 10.0 * log10(highest);
}

static int column_count(const struct sweep *sweep)
{
    int count = 0;
    while (count < COLUMNS_MAX && sweep->columns[count].title)
        count++;
    return count;
}

/* ---- dialects: the shapes text exports come in ------------------------------------------------------ */

/* Decimal comma, whatever the locale. */
static void put_comma(FILE *out, double value, int decimals)
{
    char text[64];
    snprintf(text, sizeof text, "%.*f", decimals, value);
    for (char *mark = text; *mark; mark++)
        putc(*mark == '.' ? ',' : *mark, out);
}

static void write_commented(FILE *out, const struct sweep *s, const double *const *level)
{
    fprintf(out, "# INVENTED DATA, made by a program: %s\n# %s\n", s->set->words, s->bench->words);
    fprintf(out, "# RBW: %g kHz\n# Detector: %s\n# Sweeps: %d\n", s->rbw_hz / 1e3,
            detector_words[s->columns[0].detector], s->columns[0].sweeps);
    fprintf(out, "Frequency (Hz),Level (dBm)\n");
    for (int i = 0; i < s->points; i++)
        fprintf(out, "%.0f,%.2f\n", frequency_of(s, i), level[0][i]);
}

static void write_long_preamble(FILE *out, const struct sweep *s, const double *const *level)
{
    fprintf(out, "Title;INVENTED DATA, made by a program: %s\r\nBench;%s\r\n", s->set->words, s->bench->words);
    fprintf(out, "Start;");
    put_comma(out, s->start_hz / 1e6, 3);
    fprintf(out, ";MHz\r\nStop;");
    put_comma(out, s->stop_hz / 1e6, 3);
    fprintf(out, ";MHz\r\nPoints;%d;\r\nRBW;", s->points);
    put_comma(out, s->rbw_hz / 1e3, 1);
    fprintf(out, ";kHz\r\nVBW;");
    put_comma(out, s->rbw_hz / 1e3 * 3.0, 1);
    fprintf(out, ";kHz\r\nDetector;%s;\r\nSweeps;%d;\r\nReference level;10,0;dBm\r\nInput attenuation;20;dB\r\n\r\n",
            detector_words[s->columns[0].detector], s->columns[0].sweeps);
    fprintf(out, "Frequency;Level\r\nMHz;dBm\r\n");
    for (int i = 0; i < s->points; i++) {
        put_comma(out, frequency_of(s, i) / 1e6, 6);
        putc(';', out);
        put_comma(out, level[0][i], 2);
        fputs("\r\n", out);
    }
}

static void write_tabbed(FILE *out, const struct sweep *s, const double *const *level)
{
    fprintf(out, "! INVENTED DATA, made by a program: %s\n! %s\n", s->set->words, s->bench->words);
    fprintf(out, "RBW\t%g kHz\nDetector\t%s\nSweeps\t%d\nFrequency [MHz]\tLevel [dBm]\n", s->rbw_hz / 1e3,
            detector_words[s->columns[0].detector], s->columns[0].sweeps);
    for (int i = 0; i < s->points; i++)
        fprintf(out, "%.6f\t%.2f\n", frequency_of(s, i) / 1e6, level[0][i]);
}

static void write_levels_only(FILE *out, const struct sweep *s, const double *const *level)
{
    fprintf(out, "Title,INVENTED DATA made by a program: %s\nBench,%s\n", s->set->words, s->bench->words);
    fprintf(out, "Start,%.0f,Hz\nStop,%.0f,Hz\nPoints,%d\nRBW,%g,Hz\nDetector,%s\nSweeps,%d\nLevel (dBm)\n",
            s->start_hz, s->stop_hz, s->points, s->rbw_hz, detector_words[s->columns[0].detector],
            s->columns[0].sweeps);
    for (int i = 0; i < s->points; i++)
        fprintf(out, "%.2f\n", level[0][i]);
}

static void write_columns(FILE *out, const struct sweep *s, const double *const *level)
{
    int columns = column_count(s);
    fprintf(out, "# INVENTED DATA, made by a program: %s\n# %s\n# RBW: %g kHz\nFrequency (MHz)", s->set->words,
            s->bench->words, s->rbw_hz / 1e3);
    for (int c = 0; c < columns; c++)
        fprintf(out, ",%s (dBm)", s->columns[c].title);
    putc('\n', out);
    for (int i = 0; i < s->points; i++) {
        fprintf(out, "%.3f", frequency_of(s, i) / 1e6);
        for (int c = 0; c < columns; c++)
            fprintf(out, ",%.2f", level[c][i]);
        putc('\n', out);
    }
}

/* ---- the scenario: a club technician's pool of loan sets -------------------------------------------- */

const struct transmitter good_hand_held = {.words = "hand-held 5 W no. 1 on 146.94 MHz; key down without modulation",
                                           .carrier_hz = 146.94018e6,
                                           .power_dbm = 36.9,
                                           .harmonic_dbc = {-62.0, -71.5, -79.0, -77.0},
                                           .others = {{125.49e6, -78.0}, {146.74018e6, -74.0}, {147.14018e6, -75.5}},
                                           .phase_noise_10k = -112.0,
                                           .phase_noise_far = -152.0};

const struct transmitter bad_hand_held = {.words = "hand-held 5 W no. 2 on 146.94 MHz; key down without modulation",
                                          .carrier_hz = 146.93988e6,
                                          .power_dbm = 36.7,
                                          .harmonic_dbc = {-45.1, -57.5, -74.0, -70.0, -82.0},
                                          .others = {{125.49e6, -77.0}, {146.73988e6, -73.0}, {147.13988e6, -74.5}},
                                          .phase_noise_10k = -112.0,
                                          .phase_noise_far = -152.0};

static const struct transmitter hand_held_uhf = {.words =
                                                     "hand-held 5 W no. 1 on 446.0 MHz; key down without modulation",
                                                 .carrier_hz = 446.0011e6,
                                                 .power_dbm = 36.5,
                                                 .harmonic_dbc = {-58.5, -66.0, -73.0},
                                                 .others = {{424.55e6, -74.0}},
                                                 .phase_noise_10k = -106.0,
                                                 .phase_noise_far = -150.0};

static const struct transmitter mobile = {.words = "mobile 50 W on 146.94 MHz; key down without modulation",
                                          .carrier_hz = 146.94031e6,
                                          .power_dbm = 47.0,
                                          .harmonic_dbc = {-68.0, -61.0, -74.0, -80.0},
                                          .others = {{293.0e6, -82.0}},
                                          .phase_noise_10k = -115.0,
                                          .phase_noise_far = -156.0};

static const struct transmitter ten_metres = {.words = "10 m transmitter 100 W on 28.4 MHz; key down",
                                              .carrier_hz = 28.400012e6,
                                              .power_dbm = 49.9,
                                              .harmonic_dbc = {-52.0, -58.5, -66.0, -63.0, -71.0},
                                              .others = {{37.4e6, -69.0}},
                                              .phase_noise_10k = -118.0,
                                              .phase_noise_far = -150.0};

const struct transmitter personal_radio = {.words =
                                               "personal-radio set 2 W on 462.5625 MHz; key down without modulation",
                                           .carrier_hz = 462.5632e6,
                                           .power_dbm = 32.8,
                                           .harmonic_dbc = {-57.0, -63.0, -70.0},
                                           .phase_noise_10k = -104.0,
                                           .phase_noise_far = -150.0};

/* Opened further than its channel in the narrower of the two services it is sold for. */
static const struct transmitter personal_radio_tone = {
    .words = "personal-radio set 2 W on 462.5625 MHz; key down, a tone of 2.5 kHz driven into limiting",
    .carrier_hz = 462.5632e6,
    .power_dbm = 32.8,
    .harmonic_dbc = {-57.0, -63.0, -70.0},
    .phase_noise_10k = -104.0,
    .phase_noise_far = -150.0,
    .tone_hz = 2.5e3,
    .deviation_hz = 4.3e3};

/* Readings at the instrument's input stay near 0 dBm; its noise is told with 20 dB of input attenuation. */
static const struct bench pad_40 = {
    .words = "bench: pad 40 dB (50 W; known to 6 GHz)", .loss_db = 40.0, .ripple_db = 0.15, .noise_dbm_hz = -142.0};
static const struct bench pads_50 = {.words = "bench: pads 30 dB (100 W) and 20 dB; known to 2 GHz",
                                     .loss_db = 50.0,
                                     .ripple_db = 0.2,
                                     .noise_dbm_hz = -142.0};
static const struct bench coupled = {.words = "bench: dummy load with coupler; loss in bench-coupler-loss.csv",
                                     .loss_db = 49.2,
                                     .slope_db = -1.4,
                                     .ripple_db = 0.1,
                                     .noise_dbm_hz = -142.0};
static const struct bench coarse = {.words = "bench: pad 40 dB (50 W; known to 2 GHz) and a coarse instrument",
                                    .loss_db = 40.0,
                                    .ripple_db = 0.15,
                                    .noise_dbm_hz = -118.0};

static const struct sweep sweeps[] = {
    {"hand-held-1-wide.csv",
     &good_hand_held,
     &pad_40,
     30e6,
     1.5e9,
     5001,
     100e3,
     GAUSSIAN,
     {{"Level", PEAK, 1}},
     write_commented,
     0},
    {"hand-held-1-near.csv",
     &good_hand_held,
     &pad_40,
     145.94e6,
     147.94e6,
     4001,
     1e3,
     GAUSSIAN,
     {{"Level", POWER_AVERAGE, 10}},
     write_commented,
     0},
    {"hand-held-2-wide.csv",
     &bad_hand_held,
     &pad_40,
     30e6,
     1.5e9,
     5001,
     100e3,
     GAUSSIAN,
     {{"Level", PEAK, 1}},
     write_long_preamble,
     0},
    {"hand-held-2-near.csv",
     &bad_hand_held,
     &pad_40,
     145.94e6,
     147.94e6,
     4001,
     1e3,
     GAUSSIAN,
     {{"Level", POWER_AVERAGE, 10}},
     write_long_preamble,
     0},
    {"mobile-wide.txt", &mobile, &pads_50, 30e6, 1.5e9, 5001, 100e3, GAUSSIAN, {{"Level", PEAK, 1}}, write_tabbed, 0},
    {"mobile-near.txt",
     &mobile,
     &pads_50,
     145.94e6,
     147.94e6,
     4001,
     1e3,
     GAUSSIAN,
     {{"Level", POWER_AVERAGE, 10}},
     write_tabbed,
     0},
    {"ten-metres-wide.csv",
     &ten_metres,
     &coupled,
     5e6,
     300e6,
     5001,
     30e3,
     FOUR_POLES,
     {{"Level", PEAK, 1}},
     write_commented,
     0},
    {"ten-metres-near.csv",
     &ten_metres,
     &coupled,
     27.9e6,
     28.9e6,
     8001,
     300.0,
     GAUSSIAN,
     {{"Level", MAX_HOLD, 4}},
     write_levels_only,
     0},
    {"hand-held-1-uhf.csv",
     &hand_held_uhf,
     &pad_40,
     30e6,
     4.6e9,
     5001,
     100e3,
     GAUSSIAN,
     {{"Level", PEAK, 1}},
     write_commented,
     0},
    {"personal-radio.csv",
     &personal_radio,
     &pad_40,
     300e6,
     2e9,
     3401,
     1e6,
     GAUSSIAN,
     {{"Live", SAMPLE, 1}, {"Max hold", MAX_HOLD, 20}, {"Average", POWER_AVERAGE, 20}},
     write_columns,
     0},
    {"hand-held-1-coarse.csv",
     &good_hand_held,
     &coarse,
     30e6,
     1.5e9,
     2001,
     1e6,
     GAUSSIAN,
     {{"Level", PEAK, 1}},
     write_long_preamble,
     1},
    {"personal-radio-tone.csv",
     &personal_radio_tone,
     &pad_40,
     462.5032e6,
     462.6232e6,
     1201,
     300,
     GAUSSIAN,
     {{"Level", POWER_AVERAGE, 10}},
     write_commented,
     0},
};

/* ---- files ------------------------------------------------------------------------------------------ */

int save(const char *folder, const char *file, const char *text, size_t size, int wide_letters)
{
    char path[4096];
    if (snprintf(path, sizeof path, "%s/%s", folder, file) >= (int)sizeof path) {
        fprintf(stderr, "generate: path too long\n");
        return 1;
    }
    FILE *out = fopen(path, "wb");
    if (!out) {
        fprintf(stderr, "generate: '%s': %s\n", path, strerror(errno));
        return 1;
    }
    if (wide_letters) {
        fputs("\xff\xfe", out);
        for (size_t i = 0; i < size; i++) {
            putc(text[i], out);
            putc(0, out);
        }
    } else {
        fwrite(text, 1, size, out);
    }
    int failed = ferror(out);
    if (fclose(out) || failed) {
        fprintf(stderr, "generate: '%s' could not be written\n", path);
        return 1;
    }
    return 0;
}

static int make_sweep(const char *folder, const struct sweep *sweep, uint64_t seed)
{
    struct line lines[LINES_MAX];
    int count = lines_of(sweep->set, lines);
    int columns = column_count(sweep);
    double *level[COLUMNS_MAX] = {NULL};
    char *text = NULL;
    size_t size = 0;
    FILE *memory = NULL;
    int failed = 1;

    random_state = seed;
    for (int c = 0; c < columns; c++) {
        level[c] = malloc((size_t)sweep->points * sizeof **level);
        if (!level[c])
            goto out;
        for (int i = 0; i < sweep->points; i++)
            level[c][i] = reading_dbm(sweep, &sweep->columns[c], lines, count, i);
    }
    memory = open_memstream(&text, &size);
    if (!memory)
        goto out;
    sweep->write(memory, sweep, (const double *const *)level);
    if (fclose(memory))
        goto out;
    failed = save(folder, sweep->file, text, size, sweep->wide_letters);
out:
    if (failed)
        fprintf(stderr, "generate: '%s' was not made\n", sweep->file);
    for (int c = 0; c < columns; c++)
        free(level[c]);
    free(text);
    return failed;
}

static int make_loss_table(const char *folder)
{
    static const double megahertz[] = {1, 2, 5, 10, 15, 20, 25, 28, 30, 40, 50, 70, 100, 150, 200, 250, 300, 400, 500};
    char text[2048];
    int used = snprintf(text, sizeof text,
                        "# INVENTED DATA, made by a program: loss of the coupled bench, terminal to instrument\n"
                        "Frequency (MHz),Loss (dB)\n");
    for (size_t i = 0; i < sizeof megahertz / sizeof *megahertz; i++)
        used += snprintf(text + used, sizeof text - (size_t)used, "%g,%.2f\n", megahertz[i],
                         table_loss_db(&coupled, megahertz[i] * 1e6));
    return save(folder, "bench-coupler-loss.csv", text, (size_t)used, 0);
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: generate FOLDER\n");
        return 2;
    }
    int failed = make_loss_table(argv[1]) | make_captures(argv[1]);
    for (size_t i = 0; i < sizeof sweeps / sizeof *sweeps; i++)
        failed |= make_sweep(argv[1], &sweeps[i], 1000 + i);
    return failed;
}
