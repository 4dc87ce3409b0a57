/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_CHECK_H
#define SPURITY_TESTS_CHECK_H
/* cmocka with what its 1.1.5 lacks: comparing doubles. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static inline void check_near(double got, double want, double tolerance, const char *what, const char *file, int line)
{
    if (fabs(got - want) <= tolerance || (isnan(got) && isnan(want)))
        return;
    print_error("%s:%d: %s is %.9g, expected %.9g within %.3g\n", file, line, what, got, want, tolerance);
    fail();
}
/** Fails unless |got - want| <= tolerance. */
#define assert_near(got, want, tolerance) check_near((got), (want), (tolerance), #got, __FILE__, __LINE__)
/** Fails, telling the error, unless status is SPURITY_OK. */
#define assert_ok(call, error)                                                                                         \
    do {                                                                                                               \
        spurity_status status_ = (call);                                                                               \
        if (status_) {                                                                                                 \
            char text_[900];                                                                                           \
            spurity_error_describe((error), text_, sizeof text_);                                                      \
            print_error("%s:%d: %s: %s\n", __FILE__, __LINE__, #call, text_);                                          \
            fail();                                                                                                    \
        }                                                                                                              \
    } while (0)
#endif
