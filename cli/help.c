/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Help, from the tables. */
#include <string.h>

#include "cli.h"

enum { WIDTH = 100, INDENT = 30 };

/* Writes words from column `at` on, broken at WIDTH; further lines start at column `indent`. */
static void wrap(FILE *out, const char *text, size_t at, size_t indent)
{
    for (bool first = true; *text; first = false) {
        size_t length = strcspn(text, " ");
        if (!first && at + 1 + length > WIDTH) {
            fprintf(out, "\n%*s", (int)indent, "");
            at = indent;
        } else if (!first) {
            fputc(' ', out);
            at++;
        }
        fwrite(text, 1, length, out);
        at += length;
        text += length;
        text += strspn(text, " ");
    }
    fputc('\n', out);
}

static void help_option(FILE *out, const spurity_cli_option *option, bool is_key)
{
    char head[80], line[320];
    int used = snprintf(head, sizeof head, is_key ? "  %s%s%s" : "  --%s%s%s", option->name,
                        option->argument ? (is_key ? "=" : " ") : "", option->argument ? option->argument : "");
    snprintf(line, sizeof line, "%s%s%s%s", option->line, option->initial ? " [" : "",
             option->initial ? option->initial : "", option->initial ? "]" : "");
    if (used < INDENT - 1)
        fprintf(out, "%-*s", INDENT, head);
    else
        fprintf(out, "%s\n%*s", head, INDENT, "");
    wrap(out, line, INDENT, INDENT);
}

static bool belongs(const spurity_cli_option *option, const spurity_cli_command *command)
{
    bool key = !option->commands;
    bool reads =
        command->bit & (SPURITY_COMMAND_SHOW | SPURITY_COMMAND_MEASURE | SPURITY_COMMAND_CHECK | SPURITY_COMMAND_DOUBT);
    return (option->commands & command->bit) || (key && reads);
}

static void help_options(FILE *out, const spurity_cli_command *command)
{
    for (int heading = 0; spurity_cli_headings[heading]; heading++) {
        bool told = false;
        for (size_t i = 0; i < spurity_cli_option_count; i++) {
            const spurity_cli_option *option = &spurity_cli_options[i];
            if (option->heading != heading || !belongs(option, command))
                continue;
            if (!told)
                fprintf(out, "\n%s:\n", spurity_cli_headings[heading]);
            told = true;
            help_option(out, option, !option->commands);
        }
    }
}

void spurity_cli_help_command(const spurity_cli_command *command, FILE *out)
{
    fprintf(out, "spurity %s %s%s\n  %s\n", command->name, command->operands, command->about ? " [options]" : "",
            command->line);
    for (size_t i = 0; command->about && command->about[i]; i++) {
        fputc('\n', out);
        wrap(out, command->about[i], 0, 0);
    }
    for (size_t i = 0; command->sample && command->sample[i]; i++)
        fprintf(out, "%s  %s\n", i ? "" : "\nFor instance:\n", command->sample[i]);
    help_options(out, command);
}

void spurity_cli_help_overview(FILE *out)
{
    fputs("spurity: saved sweeps and captures of a transmitter in, an answer that can be defended out\n\n", out);
    size_t widest = 0;
    for (size_t i = 0; i < spurity_cli_command_count; i++) {
        size_t width = strlen(spurity_cli_commands[i].name) + 1 + strlen(spurity_cli_commands[i].operands);
        widest = width > widest ? width : widest;
    }
    for (size_t i = 0; i < spurity_cli_command_count; i++) {
        const spurity_cli_command *command = &spurity_cli_commands[i];
        char head[80];
        snprintf(head, sizeof head, "%s %s", command->name, command->operands);
        fprintf(out, "  spurity %-*s  %s\n", (int)widest, head, command->line);
    }
    fputs("\n'spurity help COMMAND' tells its options. Quantities carry units: 146.94M, 4.7W, -16dBm, 40dB.\n"
          "Exit status: 0 pass or done, 1 fail, 3 undecided, 2 unusable arguments or input, 4 the machine failed.\n",
          out);
}

int spurity_cli_help(int argc, char **argv)
{
    if (argc < 2) {
        spurity_cli_help_overview(stdout);
        return SPURITY_EXIT_PASS;
    }
    if (argc == 2 && !strcmp(argv[1], "--man")) {
        spurity_cli_man();
        return SPURITY_EXIT_PASS;
    }
    if (argc > 2) {
        spurity_cli_say("help tells of one command at a time");
        return SPURITY_EXIT_UNUSABLE;
    }
    const spurity_cli_command *command = spurity_cli_command_find(argv[1]);
    if (!command)
        return spurity_cli_no_command(argv[1]);
    spurity_cli_help_command(command, stdout);
    return SPURITY_EXIT_PASS;
}
