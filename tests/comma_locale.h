/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_COMMA_LOCALE_H
#define SPURITY_TESTS_COMMA_LOCALE_H
/* A locale with a decimal comma: an installed one, else one made by localedef in a private folder. */
#include <locale.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/** True when LC_ALL now has a decimal comma. */
static inline bool set_comma_locale(void)
{
    static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "nl_NL.UTF-8", "de_DE"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (setlocale(LC_ALL, names[i]))
            return !strcmp(localeconv()->decimal_point, ",");
    char folder[] = P_tmpdir "/spurity-locale-XXXXXX", command[200];
    if (!mkdtemp(folder))
        return false;
    snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 2>/dev/null", folder);
    int made = system(command);
    setenv("LOCPATH", folder, 1);
    bool set = made != -1 && setlocale(LC_ALL, "de_DE.UTF-8") && !strcmp(localeconv()->decimal_point, ",");
    unsetenv("LOCPATH");
    snprintf(command, sizeof command, "rm -rf %s", folder);
    return system(command) != -1 && set;
}
#endif
