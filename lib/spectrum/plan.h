/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPECTRUM_PLAN_H
#define SPURITY_SPECTRUM_PLAN_H
/* Transforms.  FFTW's planner is for one thread at a time: everything here that plans goes through one mutex. */
#include <fftw3.h>
#include <stdbool.h>
#include <stddef.h>

/* Forward, out of place.  Plans may run in any number of threads at once with buffers of spurity_transform_room(). */
typedef struct spurity_transform {
    fftwf_plan plan;
    size_t n;
    bool is_complex;
} spurity_transform;

/* How much work is ahead, which decides how long to look for a good plan. */
typedef struct spurity_planning {
    double transforms; /* to be run, over the threads they are shared by; < 0 = not known */
    bool reproducible; /* by estimate, whatever was planned before in this process */
    const char *wisdom;
} spurity_planning;

/* False when memory is out. */
bool spurity_transform_plan(size_t n, bool is_complex, const spurity_planning *planning, spurity_transform *transform);
void spurity_transform_free(spurity_transform *transform);
/* in: n complex or real samples; out: n, or n / 2 + 1 complex bins; both from fftwf_malloc, different. */
void spurity_transform_run(const spurity_transform *transform, float *in, fftwf_complex *out);
#endif
