/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "plan.h"

#include "receiver.h"

static fftwf_plan plan_with(size_t n, bool is_complex, float *in, fftwf_complex *out, unsigned flags)
{
    if (is_complex)
        return fftwf_plan_dft_1d((int)n, (fftwf_complex *)in, out, FFTW_FORWARD, flags);
    return fftwf_plan_dft_r2c_1d((int)n, in, out, flags);
}

bool spurity_transform_plan(size_t n, bool is_complex, const spurity_planning *planning, spurity_transform *transform)
{
    (void)planning;
    *transform = (spurity_transform){.n = n, .is_complex = is_complex};
    spurity_planner_lock();
    float *in = fftwf_malloc(n * (is_complex ? sizeof(fftwf_complex) : sizeof *in));
    fftwf_complex *out = fftwf_malloc((n / 2 + 1) * 2 * sizeof *out);
    if (in && out)
        transform->plan = plan_with(n, is_complex, in, out, FFTW_ESTIMATE);
    fftwf_free(in);
    fftwf_free(out);
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
