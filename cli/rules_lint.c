/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A rule file of the user's own: looked over, and one to begin with. */
#include "rules.h"

void spurity_cli_rules_template(void)
{
    fputs(spurity_rules_template(), stdout);
}

struct lint_talk {
    const char *file;
    size_t doubts;
};

static void print_remark(void *user, const spurity_rule_remark *remark)
{
    struct lint_talk *talk = user;
    printf("%s, line %lu: %s\n", talk->file, remark->line, remark->text);
    talk->doubts++;
}

spurity_status spurity_cli_rules_lint(const char *file, spurity_error *error)
{
    spurity_rules *rules = NULL;
    struct lint_talk talk = {file, 0};
    spurity_status status = spurity_rules_load(file, &rules, error);
    if (status)
        return status;
    spurity_rules_lint(rules, print_remark, &talk);
    printf("%s: %zu clauses, %zu doubt%s\n", file, spurity_rules_clause_count(rules), talk.doubts,
           talk.doubts == 1 ? "" : "s");
    spurity_rules_free(rules);
    return SPURITY_OK;
}
