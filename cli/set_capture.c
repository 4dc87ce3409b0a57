/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Setters of what belongs to captures: see set.c. */
#include "set.h"

#include <math.h>
#include <string.h>

static const spurity_place nowhere = {0};

static spurity_status refuse(const char *value, const char *what, const char *expected, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, nowhere, expected, NULL, "'%.100s' for %s", value, what);
}

SPURITY_CLI_SETTER(spurity_cli_set_rate)
{
    double rate;
    if (spurity_parse_frequency(value, what, nowhere, &rate, error))
        return error->status;
    if (rate <= 0)
        return refuse(value, what, "samples per second, above 0", error);
    *(double *)field = rate;
    spurity_cli_format_rate(understood, SPURITY_CLI_UNDERSTOOD, rate);
    return SPURITY_OK;
}

SPURITY_CLI_SETTER(spurity_cli_set_datatype)
{
    spurity_cli_reading *reading = field;
    spurity_sample_format format;
    bool assumed = false;
    char name[16];
    if (!spurity_sample_format_parse(value, strlen(value), &format, &assumed))
        return refuse(value, what,
                      "r or c (real or complex), f, i or u (float, signed, unsigned), bits, _le or _be: ci16_le, cu8",
                      error);
    reading->read.datatype = format;
    reading->read.datatype_said = true;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s%s", spurity_sample_format_name(format, name, sizeof name),
             assumed ? " (byte order unsaid: little end first)" : "");
    return SPURITY_OK;
}

SPURITY_CLI_SETTER(spurity_cli_set_channel)
{
    long number;
    if (spurity_parse_count(value, what, nowhere, 1, 4096, &number, error))
        return error->status;
    *(int *)field = (int)number;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%ld", number);
    return SPURITY_OK;
}

SPURITY_CLI_SETTER(spurity_cli_set_full_scale)
{
    double dbm;
    if (spurity_parse_level(value, what, nowhere, &dbm, error))
        return error->status;
    *(double *)field = dbm;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g dBm", dbm);
    return SPURITY_OK;
}

SPURITY_CLI_SETTER(spurity_cli_set_bytes)
{
    long bytes;
    if (spurity_parse_count(value, what, nowhere, 0, 1L << 30, &bytes, error))
        return error->status;
    *(double *)field = (double)bytes;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%ld bytes", bytes);
    return SPURITY_OK;
}

SPURITY_CLI_SETTER(spurity_cli_set_seconds)
{
    double seconds;
    if (spurity_parse_time(value, what, nowhere, &seconds, error))
        return error->status;
    if (seconds <= 0)
        return refuse(value, what, "a time above 0", error);
    *(double *)field = seconds;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g s", seconds);
    return SPURITY_OK;
}

/* "10%", "10": of the rate at each end; half of it would leave nothing. */
SPURITY_CLI_SETTER(spurity_cli_set_edge_share)
{
    static const char form[] = "a share of the rate from 0 % to below 50 %, such as 10%";
    double percent;
    size_t length = strlen(value), took = spurity_number_parse(value, length, '.', &percent);
    const char *unit = value + took;
    unit += strspn(unit, " ");
    if (!took || (*unit && strcmp(unit, "%")) || !(percent >= 0) || percent >= 50)
        return refuse(value, what, form, error);
    *(double *)field = percent / 100;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g %%", percent);
    return SPURITY_OK;
}

SPURITY_CLI_SETTER(spurity_cli_set_threads)
{
    long number;
    if (spurity_parse_count(value, what, nowhere, 1, 1024, &number, error))
        return error->status;
    *(int *)field = (int)number;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%ld", number);
    return SPURITY_OK;
}
