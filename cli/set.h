/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CLI_SET_H
#define SPURITY_CLI_SET_H
/* Setters of the options table.  The first group writes one field whose type it names; the second group gets the whole
 * spurity_cli_reading or spurity_cli_settings (offset 0). */
#include "cli.h"

#define SPURITY_CLI_SETTER(name)                                                                                       \
    spurity_status name(const spurity_cli_option *option, void *field, const char *what, const char *value,            \
                        char understood[SPURITY_CLI_UNDERSTOOD], spurity_error *error)

typedef spurity_status spurity_cli_setter(const spurity_cli_option *option, void *field, const char *what,
                                          const char *value, char understood[SPURITY_CLI_UNDERSTOOD],
                                          spurity_error *error);

spurity_cli_setter spurity_cli_set_frequency; /* double, Hz, > 0 */
spurity_cli_setter spurity_cli_set_edge;      /* double, Hz, any sign */
spurity_cli_setter spurity_cli_set_db;        /* double, dB, >= 0 */
spurity_cli_setter spurity_cli_set_impedance; /* double, ohm */
spurity_cli_setter spurity_cli_set_ppm;       /* double */
spurity_cli_setter spurity_cli_set_date;      /* spurity_date */
spurity_cli_setter spurity_cli_set_text;      /* const char * */
spurity_cli_setter spurity_cli_set_flag;      /* bool */
spurity_cli_setter spurity_cli_set_harmonics; /* int */
spurity_cli_setter spurity_cli_set_yes_no;    /* int */
spurity_cli_setter spurity_cli_set_modulation, spurity_cli_set_role, spurity_cli_set_block;
spurity_cli_setter spurity_cli_set_decision;                                /* bool: simple */
spurity_cli_setter spurity_cli_set_delimiter, spurity_cli_set_decimal_mark; /* char */
spurity_cli_setter spurity_cli_set_level_unit;
spurity_cli_setter spurity_cli_set_frequency_unit; /* double, Hz per unit */
spurity_cli_setter spurity_cli_set_gain;           /* double, dBd */
spurity_cli_setter spurity_cli_set_emission;       /* const char *, a designator */
spurity_cli_setter spurity_cli_set_plot;           /* const char *, a picture's name */
spurity_cli_setter spurity_cli_set_report;         /* const char *, a page's name */
/* of captures (set_capture.c) */
spurity_cli_setter spurity_cli_set_rate;                             /* double, samples per second */
spurity_cli_setter spurity_cli_set_channel, spurity_cli_set_threads; /* int */
spurity_cli_setter spurity_cli_set_full_scale;                       /* double, dBm */
spurity_cli_setter spurity_cli_set_bytes;                            /* double */
spurity_cli_setter spurity_cli_set_seconds;                          /* double */
spurity_cli_setter spurity_cli_set_edge_share;                       /* double, 0 .. 0.5 */

/* of a plan (set_plan.c) */
spurity_cli_setter spurity_cli_set_level; /* double, dBm */
spurity_cli_setter spurity_cli_set_noise; /* of the spurity_cli_settings */

/* of a spurity_cli_reading */
spurity_cli_setter spurity_cli_set_pad, spurity_cli_set_loss, spurity_cli_set_direct, spurity_cli_set_corrected,
    spurity_cli_set_detector, spurity_cli_set_datatype;
/* of the spurity_cli_settings */
spurity_cli_setter spurity_cli_set_power, spurity_cli_set_range, spurity_cli_set_only, spurity_cli_set_uncertainty,
    spurity_cli_set_rules;

#endif
