/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Setters of what a plan asks about the instrument: see set.c. */
#include "set.h"

#include <string.h>

static const spurity_place nowhere = {0};

SPURITY_CLI_SETTER(spurity_cli_set_level)
{
    double dbm;
    char figure[40];
    if (spurity_parse_level(value, what, nowhere, &dbm, error))
        return error->status;
    *(double *)field = dbm;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s dBm", spurity_format_db(figure, sizeof figure, dbm));
    return SPURITY_OK;
}

/* "-110dBm/10k" */
SPURITY_CLI_SETTER(spurity_cli_set_noise)
{
    static const char form[] = "a level and the RBW it was read in, such as -110dBm/10k";
    spurity_plan_question *plan = &((spurity_cli_settings *)field)->plan;
    char level[64], figure[40], width[48];
    double dbm, hz;
    const char *slash = strchr(value, '/');
    if (!slash || !slash[1] || (size_t)(slash - value) >= sizeof level)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, form, NULL, "'%.100s' for %s", value, what);
    snprintf(level, sizeof level, "%.*s", (int)(slash - value), value);
    if (spurity_parse_level(level, what, nowhere, &dbm, error) ||
        spurity_parse_frequency(slash + 1, what, nowhere, &hz, error))
        return error->status;
    if (hz <= 0)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, form, NULL, "'%.100s' for %s", value, what);
    plan->noise_dbm = dbm;
    plan->noise_rbw_hz = hz;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s dBm in %s", spurity_format_db(figure, sizeof figure, dbm),
             spurity_format_frequency(width, sizeof width, hz, 6));
    return SPURITY_OK;
}
