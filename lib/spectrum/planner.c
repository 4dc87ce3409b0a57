/* SPDX-License-Identifier: GPL-2.0-or-later */
/* One mutex around FFTW's planner, which is not safe for threads: the library's only state. */
#include <pthread.h>

#include "receiver.h"

static pthread_mutex_t planner = PTHREAD_MUTEX_INITIALIZER;

void spurity_planner_lock(void)
{
    pthread_mutex_lock(&planner);
}

void spurity_planner_unlock(void)
{
    pthread_mutex_unlock(&planner);
}
