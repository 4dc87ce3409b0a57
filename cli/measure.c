/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "cli.h"

int spurity_cli_measure(int argc, char **argv)
{
    spurity_cli_settings settings;
    spurity_error error = {0};
    spurity_cli_settings_init(&settings, SPURITY_COMMAND_MEASURE);
    int status =
        spurity_cli_parse(&settings, argc, argv, &error) ? spurity_cli_fail(&error) : spurity_cli_run(&settings);
    spurity_cli_settings_release(&settings);
    return status;
}
