/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_HOUSE_ANALYSED_H
#define SPURITY_TESTS_HOUSE_ANALYSED_H
/* Included before every file clang-tidy looks at: tells the analyzer, which sees one file at a time, what error.h
 * promises: a report never returns SPURITY_OK. */
#include "../../lib/error/error.h"

static inline spurity_status spurity_analysed_failure(spurity_status status)
{
    if (!status)
        __builtin_unreachable();
    return status;
}
#define spurity_report(...) spurity_analysed_failure(spurity_report(__VA_ARGS__))
#define spurity_reportf(...) spurity_analysed_failure(spurity_reportf(__VA_ARGS__))
#define spurity_report_memory(...) spurity_analysed_failure(spurity_report_memory(__VA_ARGS__))
#endif
