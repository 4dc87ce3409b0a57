/* SPDX-License-Identifier: GPL-2.0-or-later */
/* How long to look for a good plan.  By estimate a plan costs nothing and runs 1.1 to 2.5 times as long as one found by
 * measuring, which costs 0.06 s (N = 1024) to 2.4 s (262144); so it must be earned back. */
#include "plan.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "receiver.h"
#include "wisdom.h"

/* Transforms from which measuring is earned back, by our own timing of complex transforms on one core (plan and run
 * both scale with the core).  Between the rows: the row below. */
static const struct break_even {
    size_t n;
    double power_of_two, other;
} break_evens[] = {
    {0, 1e6, 1e6},       {1024, 8.6e5, 8.6e5}, {2048, 8.1e5, 8.1e5},  {4096, 9.6e4, 2e5},   {8192, 3.0e4, 1.5e5},
    {16384, 7.4e3, 8e4}, {32768, 6.5e3, 6e4},  {65536, 8.3e3, 3.6e4}, {131072, 6.3e3, 2e4}, {262144, 2.9e3, 1e4},
};
/* Measuring may take at most this share of the run by estimate. */
static const double SHARE_MOST = 0.35;

static bool worth_measuring(size_t n, bool is_complex, double transforms)
{
    const size_t like = is_complex ? n : n / 2;
    size_t row = 0;
    while (row + 1 < sizeof break_evens / sizeof break_evens[0] && break_evens[row + 1].n <= like)
        row++;
    const bool power_of_two = (n & (n - 1)) == 0;
    return transforms >= (power_of_two ? break_evens[row].power_of_two : break_evens[row].other);
}

struct buffers {
    float *in;
    fftwf_complex *out;
};

static fftwf_plan plan_by(size_t n, bool is_complex, const struct buffers *buffers, unsigned flags)
{
    if (is_complex)
        return fftwf_plan_dft_1d((int)n, (fftwf_complex *)buffers->in, buffers->out, FFTW_FORWARD, flags);
    return fftwf_plan_dft_r2c_1d((int)n, buffers->in, buffers->out, flags);
}

/* FFTW uses what was measured before in this process (or read) even for an estimate: it is set aside meanwhile. */
static fftwf_plan plan_reproducibly(size_t n, bool is_complex, const struct buffers *buffers)
{
    char *known = fftwf_export_wisdom_to_string();
    fftwf_forget_wisdom();
    fftwf_plan plan = plan_by(n, is_complex, buffers, FFTW_ESTIMATE);
    if (known)
        fftwf_import_wisdom_from_string(known);
    fftwf_free(known);
    return plan;
}

static double seconds_of_one(const spurity_transform *transform, const struct buffers *buffers)
{
    struct timespec from, to;
    spurity_transform_run(transform, buffers->in, buffers->out); /* into the cache */
    clock_gettime(CLOCK_MONOTONIC, &from);
    spurity_transform_run(transform, buffers->in, buffers->out);
    clock_gettime(CLOCK_MONOTONIC, &to);
    return (double)(to.tv_sec - from.tv_sec) + 1e-9 * (double)(to.tv_nsec - from.tv_nsec);
}

/* Replaces the plan by a measured one, within a share of the time the run will take. */
static void measure(const spurity_planning *planning, const struct buffers *buffers, spurity_transform *transform)
{
    const double most = SHARE_MOST * planning->transforms * seconds_of_one(transform, buffers);
    fftwf_set_timelimit(most);
    fftwf_plan better = plan_by(transform->n, transform->is_complex, buffers, FFTW_MEASURE);
    fftwf_set_timelimit(FFTW_NO_TIMELIMIT);
    if (!better)
        return;
    fftwf_destroy_plan(transform->plan);
    transform->plan = better;
    spurity_wisdom_keep(planning->wisdom);
}

static void plan_locked(const spurity_planning *planning, const struct buffers *buffers, spurity_transform *transform)
{
    const size_t n = transform->n;
    if (planning->reproducible) {
        transform->plan = plan_reproducibly(n, transform->is_complex, buffers);
        return;
    }
    spurity_wisdom_read(planning->wisdom);
    transform->plan = plan_by(n, transform->is_complex, buffers, FFTW_MEASURE | FFTW_WISDOM_ONLY);
    if (transform->plan)
        return;
    transform->plan = plan_by(n, transform->is_complex, buffers, FFTW_ESTIMATE);
    if (transform->plan && worth_measuring(n, transform->is_complex, planning->transforms))
        measure(planning, buffers, transform);
}

bool spurity_transform_plan(size_t n, bool is_complex, const spurity_planning *planning, spurity_transform *transform)
{
    const size_t in_size = n * (is_complex ? sizeof(fftwf_complex) : sizeof(float));
    *transform = (spurity_transform){.n = n, .is_complex = is_complex};
    spurity_planner_lock();
    struct buffers buffers = {fftwf_malloc(in_size),
                              fftwf_malloc((is_complex ? n : n / 2 + 1) * sizeof(fftwf_complex))};
    if (buffers.in && buffers.out) {
        memset(buffers.in, 0, in_size);
        plan_locked(planning, &buffers, transform);
    }
    fftwf_free(buffers.in);
    fftwf_free(buffers.out);
    spurity_planner_unlock();
    return transform->plan != NULL;
}

void spurity_transform_free(spurity_transform *transform)
{
    if (!transform->plan)
        return;
    spurity_planner_lock();
    fftwf_destroy_plan(transform->plan);
    spurity_planner_unlock();
    transform->plan = NULL;
}

void spurity_transform_run(const spurity_transform *transform, float *in, fftwf_complex *out)
{
    if (transform->is_complex)
        fftwf_execute_dft(transform->plan, (fftwf_complex *)in, out);
    else
        fftwf_execute_dft_r2c(transform->plan, in, out);
}
