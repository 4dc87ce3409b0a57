/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The manual page, from the tables, as man(7) source. */
#include <string.h>

#include "cli.h"

static void escaped(const char *text)
{
    if (*text == '.' || *text == '\'')
        fputs("\\&", stdout);
    for (; *text; text++)
        if (*text == '-')
            fputs("\\-", stdout);
        else if (*text == '\\')
            fputs("\\e", stdout);
        else
            fputc(*text, stdout);
}

static void line(const char *before, const char *text, const char *after)
{
    fputs(before, stdout);
    escaped(text);
    puts(after);
}

static void man_commands(void)
{
    puts(".SH COMMANDS");
    for (size_t i = 0; i < spurity_cli_command_count; i++) {
        const spurity_cli_command *command = &spurity_cli_commands[i];
        printf(".SS spurity %s ", command->name);
        line("", command->operands, "");
        printf("%c%s.\n", command->line[0] - 'a' + 'A', command->line + 1);
        for (size_t k = 0; command->about && command->about[k]; k++)
            line(".PP\n", command->about[k], "");
        for (size_t k = 0; command->sample && command->sample[k]; k++)
            line(k ? "" : ".PP\n.nf\n.RS 2\n", command->sample[k], command->sample[k + 1] ? "" : "\n.RE\n.fi");
    }
}

static void man_option(const spurity_cli_option *option)
{
    bool key = !option->commands;
    puts(".TP");
    printf(".B %s", key ? "" : "\\-\\-");
    escaped(option->name);
    if (option->argument) {
        fputs(key ? "=" : " ", stdout);
        escaped(option->argument);
    }
    fputc('\n', stdout);
    line("", option->line, option->initial ? "" : ".");
    if (option->initial)
        line("(unsaid: ", option->initial, ").");
    for (size_t i = 0, told = 0; option->commands && i < spurity_cli_command_count; i++)
        if (spurity_cli_commands[i].bit & option->commands)
            printf("%s%s", told++ ? ", " : "Of: ", spurity_cli_commands[i].name);
    if (option->commands)
        puts(".");
}

static void man_options(void)
{
    puts(".SH OPTIONS\nLong options are spelt in full. Those on how a file was taken and what stands before the\n"
         "instrument may also stand as keys after its name: FILE,KEY=VALUE,...");
    for (int heading = 0; spurity_cli_headings[heading]; heading++) {
        line(".SS ", spurity_cli_headings[heading], "");
        for (size_t i = 0; i < spurity_cli_option_count; i++)
            if (spurity_cli_options[i].heading == heading)
                man_option(&spurity_cli_options[i]);
    }
}

void spurity_cli_man(void)
{
    puts(".TH SPURITY 1 \"\" \"spurity " SPURITY_VERSION "\"\n"
         ".SH NAME\nspurity \\- measures and judges saved sweeps and captures of a radio transmitter\n"
         ".SH SYNOPSIS\n.nf");
    for (size_t i = 0; i < spurity_cli_command_count; i++) {
        printf("spurity %s ", spurity_cli_commands[i].name);
        line("", spurity_cli_commands[i].operands, "");
    }
    puts(".fi\n.SH DESCRIPTION\n"
         "Saved analyzer sweeps and captures of samples of a transmitter go in; carrier, harmonics and spurs come\n"
         "out; they meet the clauses of a rule, and the answer says by how many dB, with which uncertainty, and what "
         "has not been shown.\n"
         "Quantities carry units: 146.94M, 4.7W, \\-16dBm, 40dB.");
    man_commands();
    man_options();
    puts(".SH EXIT STATUS\n"
         "0 pass, or done; 1 fail; 2 unusable arguments or input; 3 undecided; 4 the machine failed.\n"
         ".SH ENVIRONMENT\nNO_COLOR: when set and not empty, no colour. PATH: where gnuplot is looked for.\n"
         "XDG_CACHE_HOME, HOME: the folder (spurity below it) where plans of transforms are kept; not needed.");
}
