/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CLI_SHOW_H
#define SPURITY_CLI_SHOW_H
/* The rooms of `show`: aligned columns (show.c), captures (show_capture.c). */
#include "cli.h"

enum { SPURITY_CLI_CELL = 208 };

/** Widens the columns to hold a row; prints a row, last empty cells left out. */
void spurity_cli_widen(int *widths, const char cells[][SPURITY_CLI_CELL], int count);
void spurity_cli_row(const char cells[][SPURITY_CLI_CELL], const int *widths, int count);

typedef struct spurity_cli_shown_capture { /* both NULL of a sweep; owned */
    spurity_capture *capture;
    spurity_spectrum *spectrum;
} spurity_cli_shown_capture;

/** The spectrum as `measure` takes it, of the first samples at least. */
spurity_status spurity_cli_take_spectrum(const spurity_cli_settings *settings, int index, spurity_recording *recording,
                                         const spurity_watch *watch, spurity_cli_shown_capture *shown,
                                         spurity_error *error);
/** What it is (before the capture is taken); what the samples say and how they are transformed; the segments. */
void spurity_cli_show_capture(const spurity_capture_facts *facts, const spurity_recording_facts *told);
void spurity_cli_show_samples(const spurity_cli_shown_capture *shown);
void spurity_cli_show_parts(const spurity_cli_shown_capture *shown);

#endif
