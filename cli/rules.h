/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CLI_RULES_H
#define SPURITY_CLI_RULES_H
/* Rooms of the rules command: rules.c reads the question, rules_words.c tells a set in plain words, rules_answer.c what
 * it says of one transmitter, rules_lint.c looks a file over. */
#include "cli.h"

enum { SPURITY_CLI_PLACES = 64 };

/** What the arguments ask. */
typedef struct spurity_cli_question {
    const char *set, *lint;
    bool template;          /* the base file is wanted */
    bool about_transmitter; /* any option that describes one */
    bool bandwidth_assumed;
    spurity_rules_question asked;
    double places[SPURITY_CLI_PLACES];
} spurity_cli_question;

extern const char spurity_cli_no_advice[]; /* the caution under every answer */

/** INVALID with what was found and expected, and where to read more. */
spurity_status spurity_cli_rules_bad(spurity_error *error, const char *found, const char *expected);
enum { SPURITY_CLI_TIE = '\x1f' }; /* printed as a blank at which no line is broken */
/** Words from `column` on, broken at blanks before column 100. */
void spurity_cli_wrap(const char *text, int column);

/* ---- a set in words (rules_words.c) -------------------------------------------------------------- */

void spurity_cli_rules_title(const spurity_rules *rules);
spurity_status spurity_cli_rules_list(spurity_error *error);
void spurity_cli_rules_tell(const spurity_rules *rules, const spurity_cli_question *question);
spurity_status spurity_cli_rules_check_clause(const spurity_rules *rules, const spurity_rules_question *asked,
                                              spurity_error *error);

/* ---- what it allows one transmitter -------------------------------------------------------------- */

spurity_status spurity_cli_rules_answer(const spurity_rules *rules, const spurity_cli_question *question,
                                        spurity_error *error); /* rules_answer.c */
/** What is allowed where: a stretch a line, under the line of the limit that decides (rules_table.c). */
spurity_status spurity_cli_rules_table(const spurity_rules *rules, const spurity_conditions *conditions,
                                       spurity_error *error);

/* ---- a file of the user's own (rules_lint.c) ----------------------------------------------------- */

spurity_status spurity_cli_rules_lint(const char *file, spurity_error *error);
void spurity_cli_rules_template(void);

#endif
