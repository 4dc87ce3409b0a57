/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef TRACES_GENERATE_H
#define TRACES_GENERATE_H
/* What generate.c (sweeps) and generate_captures.c (captures) share: transmitters, benches, random numbers, files. */
#include <stddef.h>

enum { LINES_MAX = 40, SIDEBANDS = 12 };

struct line {
    double hz; /* absolute */
    double dbc;
};

struct transmitter {
    const char *words;
    double carrier_hz, power_dbm;
    double harmonic_dbc[9];                  /* 2nd to 10th; 0 = none */
    struct line others[3];                   /* hz 0 = none */
    double phase_noise_10k, phase_noise_far; /* dBc/Hz */
    double tone_hz, deviation_hz;            /* of frequency modulation by a tone; 0 = none */
};

extern const struct transmitter good_hand_held, bad_hand_held, personal_radio;

void random_start(unsigned long long seed);
double random_unit(void);   /* (0, 1) */
double power_of(double db); /* power ratio */
/** Lines of a set as dBm at the terminal, the carrier first; returns how many. */
int lines_of(const struct transmitter *set, struct line *lines);
/** Writes a file; not 0 when it could not. */
int save(const char *folder, const char *file, const char *text, size_t size, int wide_letters);

/** The captures and the loss table of the filter before some of them; not 0 when something could not be made. */
int make_captures(const char *folder);

#endif
