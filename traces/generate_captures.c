/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The demo captures.  INVENTED DATA: no receiver and no transmitter stood behind them.
 *
 * A capture looks at one transmitter through a bench with a receiver: complex samples about the frequency it is tuned
 * to.  Per sample, at the receiver's input, full scale 1:
 *   x = sum over the lines in band of a exp(j (2 pi (f - tuned) t + q phi(t) + start)),    q: carrier's multiple
 *   phi = modulation + phase noise;  phase noise: a one-pole low-pass of white noise with its corner at 1 kHz, which is
 *         L(d) = 100 at_10k / (1 + (d / 1 kHz)^2), and a white phase, L(d) = far
 *   x + complex Gaussian noise;  Q' = g (Q cos e + I sin e);  + DC;  rounded to the converter's steps, held at its
 * rails. Steps: signed 16 bit x / 32768; unsigned 8 bit (x - 127.5) / 128. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "generate.h"

/* Loss of the high-pass: maximally flat, 11 poles, 3 dB at 245 MHz, 0.4 dB in the band: 10 log10(1 + (fc / f)^22). */
enum { POLES = 11 };
static const double corner_hz = 245e6, insertion_db = 0.4;

struct receiver {
    double full_scale_dbm, noise_dbm_hz;
    double gain_db, phase_deg; /* of Q against I */
    double dc_i, dc_q;         /* of full scale */
};

struct capture {
    const char *name; /* without suffix */
    const struct transmitter *set;
    const struct receiver *receiver;
    const char *state; /* NULL: as the set's own words say */
    const char *words;
    double loss_db;
    int high_pass;
    double tuned_hz, rate_hz, seconds;
    const char *datatype; /* ci16_le or cu8 */
    double tone_hz, deviation_hz;
    double burst_s, pause_s; /* 0: keyed throughout */
};

/* A receiver set up with care, one with more gain for harmonics, and a plain one that was not balanced. */
static const struct receiver careful = {-15.0, -155.0, 0.004, 0.03, 1.1e-4, -0.7e-4};
static const struct receiver sensitive = {-45.0, -164.0, 0.004, 0.03, 1.3e-4, 0.9e-4};
static const struct receiver plain = {-15.0, -150.0, 0.22, 1.6, 0.012, -0.008};

static const struct capture captures[] = {
    {"hand-held-1-fundamental", &good_hand_held, &careful, NULL, "pads 40 dB and 20 dB", 60.0, 0, 147.42e6, 2.4e6, 0.03,
     "ci16_le", 0, 0, 0, 0},
    {"hand-held-1-second", &good_hand_held, &sensitive, NULL, "pad 40 dB and high-pass", 40.0, 1, 293.82e6, 400e3, 0.06,
     "ci16_le", 0, 0, 0, 0},
    {"hand-held-1-third", &good_hand_held, &sensitive, NULL, "pad 40 dB and high-pass", 40.0, 1, 440.76e6, 400e3, 0.06,
     "ci16_le", 0, 0, 0, 0},
    {"hand-held-2-fundamental", &bad_hand_held, &careful, NULL, "pads 40 dB and 20 dB", 60.0, 0, 146.90e6, 400e3, 0.1,
     "ci16_le", 0, 0, 0, 0},
    {"hand-held-2-second", &bad_hand_held, &sensitive, NULL, "pad 40 dB and high-pass", 40.0, 1, 293.82e6, 400e3, 0.06,
     "ci16_le", 0, 0, 0, 0},
    {"personal-radio-bursts", &personal_radio, &plain,
     "personal-radio set 2 W on 462.5625 MHz; keyed in bursts, tone of 1 kHz", "pads 40 dB and 20 dB", 60.0, 0,
     462.50e6, 480e3, 0.3, "cu8", 1000.0, 2000.0, 0.03, 0.045},
};

static double high_pass_db(double hz)
{
    return insertion_db + 10.0 * log10(1.0 + pow(corner_hz / hz, 2.0 * POLES));
}

/* One normal deviate; Box and Muller, Annals of Mathematical Statistics 29, 1958. */
static double normal(void)
{
    double size = sqrt(-2.0 * log(random_unit()));
    return size * cos(2.0 * M_PI * random_unit());
}

struct voice { /* a line as it is seen */
    double amplitude, turns_per_sample, start, multiple;
};

static int voices_of(const struct capture *capture, struct voice *voices)
{
    struct line lines[LINES_MAX];
    int count = lines_of(capture->set, lines), seen = 0;
    for (int i = 0; i < count; i++) {
        double away = lines[i].hz - capture->tuned_hz, loss = capture->loss_db;
        if (fabs(away) > capture->rate_hz / 2.0)
            continue;
        loss += capture->high_pass ? high_pass_db(lines[i].hz) : 0.0;
        voices[seen++] =
            (struct voice){.amplitude = sqrt(power_of(lines[i].dbc - loss - capture->receiver->full_scale_dbm)),
                           .turns_per_sample = away / capture->rate_hz,
                           .start = random_unit(),
                           .multiple = round(lines[i].hz / capture->set->carrier_hz)};
    }
    return seen;
}

static int keyed(const struct capture *capture, double seconds)
{
    return capture->burst_s <= 0.0 || fmod(seconds, capture->burst_s + capture->pause_s) >= capture->pause_s;
}

static char *put(const struct capture *capture, char *at, double x)
{
    int wide = capture->datatype[1] == 'i';
    double code = wide ? nearbyint(x * 32768.0) : nearbyint(x * 128.0 + 127.5);
    int step = (int)fmax(wide ? -32768.0 : 0.0, fmin(wide ? 32767.0 : 255.0, code));
    *at++ = (char)(step & 255);
    if (wide)
        *at++ = (char)((step >> 8) & 255);
    return at;
}

static size_t fill(const struct capture *capture, char *samples)
{
    const struct receiver *receiver = capture->receiver;
    const struct transmitter *set = capture->set;
    struct voice voices[LINES_MAX];
    int count = voices_of(capture, voices);
    double rate = capture->rate_hz,
           noise = sqrt(power_of(receiver->noise_dbm_hz - receiver->full_scale_dbm) * rate / 2.0);
    /* Phase of white noise of variance s^2 a sample has L = s^2 / rate to either side. */
    double keep = exp(-2.0 * M_PI * 1e3 / rate);
    double near = sqrt(power_of(set->phase_noise_10k) * 100.0 * rate) * (1.0 - keep);
    double far = sqrt(power_of(set->phase_noise_far) * rate), drift = 0.0;
    double gain = sqrt(power_of(receiver->gain_db)), tilt = receiver->phase_deg * M_PI / 180.0;
    char *at = samples;
    size_t total = (size_t)(capture->seconds * rate + 0.5);
    for (size_t n = 0; n < total; n++) {
        double t = (double)n / rate, i = noise * normal(), q = noise * normal();
        drift = keep * drift + near * normal();
        double phase = drift + far * normal();
        if (capture->tone_hz > 0.0)
            phase += capture->deviation_hz / capture->tone_hz * sin(2.0 * M_PI * capture->tone_hz * t);
        for (int v = 0; v < count && keyed(capture, t); v++) {
            double turns = voices[v].turns_per_sample * (double)n;
            double angle = 2.0 * M_PI * (turns - floor(turns) + voices[v].start) + voices[v].multiple * phase;
            i += voices[v].amplitude * cos(angle);
            q += voices[v].amplitude * sin(angle);
        }
        at = put(capture, at, i + receiver->dc_i);
        at = put(capture, at, gain * (q * cos(tilt) + i * sin(tilt)) + receiver->dc_q);
    }
    return (size_t)(at - samples);
}

static int make_meta(const char *folder, const struct capture *capture)
{
    char file[80], text[1200];
    snprintf(file, sizeof file, "%s.sigmf-meta", capture->name);
    int used = snprintf(text, sizeof text,
                        "{\n  \"global\": {\n    \"core:datatype\": \"%s\",\n    \"core:sample_rate\": %.0f,\n"
                        "    \"core:version\": \"1.2.0\",\n"
                        "    \"core:description\": \"INVENTED DATA: %s; %s\"\n  },\n"
                        "  \"captures\": [\n    {\"core:sample_start\": 0, \"core:frequency\": %.0f}\n  ],\n"
                        "  \"annotations\": []\n}\n",
                        capture->datatype, capture->rate_hz, capture->state ? capture->state : capture->set->words,
                        capture->words, capture->tuned_hz);
    return save(folder, file, text, (size_t)used, 0);
}

static int make_capture(const char *folder, const struct capture *capture, unsigned long long seed)
{
    char file[80];
    size_t room = (size_t)(capture->seconds * capture->rate_hz + 1.0) * 4;
    char *samples = malloc(room);
    if (!samples)
        return 1;
    random_start(seed);
    snprintf(file, sizeof file, "%s.sigmf-data", capture->name);
    size_t size = fill(capture, samples);
    int failed = save(folder, file, samples, size, 0) | make_meta(folder, capture);
    free(samples);
    return failed;
}

static int make_filter_table(const char *folder)
{
    char text[4096];
    int used = snprintf(text, sizeof text,
                        "# INVENTED DATA, made by a program: loss of the high-pass before the receiver\n"
                        "Frequency (MHz),Loss (dB)\n");
    for (int megahertz = 100; megahertz <= 1500; megahertz += megahertz < 500 ? 10 : 50)
        used +=
            snprintf(text + used, sizeof text - (size_t)used, "%d,%.2f\n", megahertz, high_pass_db(megahertz * 1e6));
    return save(folder, "bench-high-pass-loss.csv", text, (size_t)used, 0);
}

int make_captures(const char *folder)
{
    int failed = make_filter_table(folder);
    for (size_t i = 0; i < sizeof captures / sizeof *captures; i++)
        failed |= make_capture(folder, &captures[i], 2000 + i);
    return failed;
}
