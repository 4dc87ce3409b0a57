/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The loop.  Each thread draws a run of transforms (source.c), adds their power up in floats, and gives the sum in;
 * sums are folded into doubles in the order in which they were drawn, so the number of threads changes no bit. */
#include <errno.h>
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "engine.h"

enum { STATISTICS_BLOCK = SPURITY_RECEIVER_CELL, START = 64, LOOKED_AT = 4096 };
/* One run in so many is taken apart by the clock. */
enum { TIMED_EVERY = 16 };
#define TICK_NANOSECONDS 50000000

/* A run's results on their way to the fold. */
struct slot {
    float *power[2], *held;
    struct group *group;
    uint64_t transforms, stretches; /* kept ones; stretches that begin here */
    bool open;                      /* the last transform was kept */
    spurity_receiver receiver;
    spurity_image_sums *images;
    double convert_s, window_s, transform_s, accumulate_s; /* estimated */
    bool done;
};

struct loop {
    const struct settled *settled;
    struct source *source;
    spurity_spectrum *spectrum;
    spurity_transform transform;
    float *factor[2];     /* the window (by the converter's scale), one a component */
    spurity_weigh *weigh; /* NULL: convert, then multiply */

    pthread_mutex_t drawing; /* the source, next_drawn */
    uint64_t next_drawn;
    double read_s;

    pthread_mutex_t folding; /* all below */
    pthread_cond_t folded, finished;
    struct slot *slots; /* of run r: slots[r % slot_count] */
    size_t slot_count;
    uint64_t next_folded;
    uint64_t samples;
    int working;
    bool stop;
    spurity_status status;
    spurity_error error;

    struct group *group; /* being folded */
    struct tally tally;
    spurity_receiver receiver;
};

struct worker {
    struct loop *loop;
    unsigned char *raw;
    float *in, *block;
    fftwf_complex *out;
};

static double seconds_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static size_t components(const struct settled *settled, size_t samples)
{
    return settled->is_complex ? 2 * samples : samples;
}

/* ---- one run -------------------------------------------------------------------------------------- */

static bool is_plain_ci16(const struct settled *settled)
{
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    const spurity_sample_format *format = &settled->format;
    return format->component == SPURITY_COMPONENT_I16 && format->is_complex && !format->big_endian && !format->swapped;
#else
    return false;
#endif
}

/* look: for a converter that stops short of its rails, too. */
static void feed_cell(struct worker *worker, const unsigned char *raw, bool look, struct slot *slot)
{
    const struct settled *settled = worker->loop->settled;
    spurity_receiver_sums sums;
    spurity_cell_sums_i16(raw, settled->rail_low, settled->rail_high, &sums);
    size_t start = 0;
    const float second = fminf(slot->receiver.up.second, slot->receiver.down.second);
    if (look && (float)spurity_largest_i16(raw, (size_t)2 * START) >= 32768 * second) {
        spurity_sample_convert(settled->format, raw, START, worker->block);
        start = (size_t)2 * START;
    }
    spurity_receiver_feed_cell(&slot->receiver, &sums, worker->block, start);
}

static void feed_statistics(struct worker *worker, const struct drawn *drawn, struct slot *slot)
{
    const struct settled *settled = worker->loop->settled;
    for (size_t at = drawn->fresh; at < drawn->samples; at += STATISTICS_BLOCK) {
        const size_t count = drawn->samples - at < STATISTICS_BLOCK ? drawn->samples - at : STATISTICS_BLOCK;
        const unsigned char *raw = worker->raw + at * settled->sample_bytes;
        if (count == STATISTICS_BLOCK && is_plain_ci16(settled)) {
            feed_cell(worker, raw, drawn->first < LOOKED_AT || at / STATISTICS_BLOCK % 4 == 0, slot);
            continue;
        }
        spurity_sample_convert(settled->format, raw, count, worker->block);
        spurity_receiver_feed(&slot->receiver, worker->block, count);
    }
}

/* Samples of the transform as floats, not yet windowed. */
static void load(struct worker *worker, const unsigned char *raw)
{
    const struct settled *settled = worker->loop->settled;
    spurity_sample_convert(settled->format, raw, settled->n, worker->in);
    if (settled->format.component == SPURITY_COMPONENT_F32 || settled->format.component == SPURITY_COMPONENT_F64)
        spurity_clear_not_finite(worker->in, components(settled, settled->n));
}

static void weigh(struct worker *worker, const unsigned char *raw, int band, bool loaded)
{
    const struct loop *loop = worker->loop;
    const size_t count = components(loop->settled, loop->settled->n);
    if (loop->weigh) {
        loop->weigh(raw, loop->factor[band], count, worker->in);
        return;
    }
    if (!loaded)
        load(worker, raw);
    spurity_multiply(worker->in, loop->factor[band], count);
}

static spurity_gather gather_of(const struct settled *settled, bool first)
{
    if (first)
        return SPURITY_GATHER_SET;
    return settled->detector == SPURITY_SPECTRUM_MEAN
               ? SPURITY_GATHER_ADD
               : (settled->detector == SPURITY_SPECTRUM_MAX_HOLD ? SPURITY_GATHER_MAX : SPURITY_GATHER_MIN);
}

static bool look_due(const struct group *group, uint64_t number)
{
    size_t low = 0, high = group->look_count;
    while (low < high) {
        const size_t middle = (low + high) / 2;
        if (group->looks[middle] < number)
            low = middle + 1;
        else
            high = middle;
    }
    return low < group->look_count && group->looks[low] == number;
}

static spurity_status look(struct worker *worker, struct slot *slot, spurity_error *error)
{
    if (!slot->images)
        slot->images = spurity_image_create(worker->loop->settled->n);
    if (!slot->images)
        return spurity_report_memory(error);
    spurity_image_look(slot->images, &worker->out[0][0]);
    return SPURITY_OK;
}

/* Times of the steps, of a run that is taken apart. */
struct clocked {
    bool on;
    double last;
};

static void lap(struct clocked *clocked, double *into)
{
    if (!clocked->on)
        return;
    const double now = seconds_now();
    *into += TIMED_EVERY * (now - clocked->last);
    clocked->last = now;
}

static spurity_status transform_one(struct worker *worker, const struct drawn *drawn, size_t index, struct slot *slot,
                                    struct clocked *clocked, spurity_error *error)
{
    const struct loop *loop = worker->loop;
    const struct settled *settled = loop->settled;
    const unsigned char *raw = worker->raw + index * settled->hop * settled->sample_bytes;
    bool loaded = false;
    if (drawn->group->gated) {
        load(worker, raw);
        loaded = true;
        if (!spurity_envelope_on(&drawn->group->envelope, settled->is_complex, worker->in, settled->n)) {
            slot->open = false;
            return SPURITY_OK;
        }
    }
    slot->stretches += !slot->open;
    slot->open = true;
    const spurity_gather how = gather_of(settled, !slot->transforms);
    slot->transforms++;
    for (int band = 0; band < settled->bands; band++) {
        weigh(worker, raw, band, loaded && !band);
        lap(clocked, &slot->window_s);
        spurity_transform_run(&loop->transform, worker->in, worker->out);
        lap(clocked, &slot->transform_s);
        if (settled->hold && !band)
            spurity_gather_both(&worker->out[0][0], settled->bins, how == SPURITY_GATHER_SET, slot->power[0],
                                slot->held);
        else
            spurity_gather_power(&worker->out[0][0], settled->bins, how, slot->power[band]);
        lap(clocked, &slot->accumulate_s);
        if (!band && look_due(drawn->group, drawn->first + index)) {
            spurity_status status = look(worker, slot, error);
            if (status)
                return status;
        }
    }
    return SPURITY_OK;
}

static spurity_status transform_run(struct worker *worker, const struct drawn *drawn, bool timed, struct slot *slot,
                                    spurity_error *error)
{
    const struct settled *settled = worker->loop->settled;
    struct clocked clocked = {.on = timed, .last = timed ? seconds_now() : 0};
    slot->group = drawn->group;
    slot->transforms = slot->stretches = 0;
    slot->open = !drawn->begins; /* goes on from the run before */
    slot->convert_s = slot->window_s = slot->transform_s = slot->accumulate_s = 0;
    spurity_receiver_init(&slot->receiver, settled->is_complex, settled->rail_low, settled->rail_high);
    feed_statistics(worker, drawn, slot);
    lap(&clocked, &slot->convert_s);
    for (size_t i = 0; i < drawn->transforms; i++) {
        spurity_status status = transform_one(worker, drawn, i, slot, &clocked, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/* ---- folding -------------------------------------------------------------------------------------- */

static spurity_status finish_group(struct loop *loop, spurity_error *error)
{
    if (!loop->group)
        return SPURITY_OK;
    spurity_status status = spurity_group_finish(loop->settled, loop->group, &loop->tally, loop->spectrum, error);
    spurity_group_release(loop->group);
    spurity_image_free(loop->tally.images);
    loop->tally.images = NULL;
    loop->tally.transforms = loop->tally.stretches = 0;
    loop->group = NULL;
    return status;
}

static void fold_images(struct tally *tally, struct slot *slot)
{
    if (!slot->images)
        return;
    if (tally->images) {
        spurity_image_add(tally->images, slot->images);
        spurity_image_free(slot->images);
    } else
        tally->images = slot->images;
    slot->images = NULL;
}

static spurity_status fold(struct loop *loop, struct slot *slot, spurity_error *error)
{
    const struct settled *settled = loop->settled;
    if (slot->group != loop->group) {
        spurity_status status = finish_group(loop, error);
        if (status)
            return status;
        loop->group = slot->group;
    }
    struct tally *tally = &loop->tally;
    for (int band = 0; band < settled->bands && slot->transforms; band++)
        spurity_fold_power(slot->power[band], settled->bins, gather_of(settled, !tally->transforms),
                           tally->power[band]);
    if (settled->hold && slot->transforms)
        spurity_fold_power(slot->held, settled->bins, tally->transforms ? SPURITY_GATHER_MAX : SPURITY_GATHER_SET,
                           tally->held);
    tally->transforms += slot->transforms;
    tally->stretches += slot->stretches;
    fold_images(tally, slot);
    spurity_receiver_add(&loop->receiver, &slot->receiver);
    loop->samples += slot->receiver.samples;
    spurity_spectrum_facts *facts = &loop->spectrum->facts;
    facts->transforms += slot->transforms;
    facts->convert_s += slot->convert_s;
    facts->window_s += slot->window_s;
    facts->transform_s += slot->transform_s;
    facts->accumulate_s += slot->accumulate_s;
    return SPURITY_OK;
}

/* Folds what is done, in order.  Called with `folding` held. */
static void fold_ready(struct loop *loop)
{
    for (;;) {
        struct slot *slot = &loop->slots[loop->next_folded % loop->slot_count];
        if (!slot->done || loop->stop)
            break;
        spurity_status status = fold(loop, slot, &loop->error);
        if (status) {
            loop->status = status;
            loop->stop = true;
        }
        slot->done = false;
        loop->next_folded++;
    }
    pthread_cond_broadcast(&loop->folded);
}

/* ---- threads -------------------------------------------------------------------------------------- */

/* The slot of the run that is drawn; waits until the run that had it before is folded.  NULL: the loop stops. */
static struct slot *slot_for(struct loop *loop, uint64_t run)
{
    pthread_mutex_lock(&loop->folding);
    while (!loop->stop && run >= loop->next_folded + loop->slot_count)
        pthread_cond_wait(&loop->folded, &loop->folding);
    const bool stop = loop->stop;
    pthread_mutex_unlock(&loop->folding);
    return stop ? NULL : &loop->slots[run % loop->slot_count];
}

/* False at the end, and when it fails. */
static bool draw(struct worker *worker, struct drawn *drawn, uint64_t *run, spurity_status *status,
                 spurity_error *error)
{
    struct loop *loop = worker->loop;
    pthread_mutex_lock(&loop->drawing);
    const double start = seconds_now();
    *status = spurity_runs_draw(loop->source, worker->raw, drawn, error);
    *run = loop->next_drawn;
    const bool drew = !*status && drawn->samples;
    loop->next_drawn += drew;
    loop->read_s += seconds_now() - start;
    pthread_mutex_unlock(&loop->drawing);
    return drew;
}

static void give_in(struct loop *loop, struct slot *slot, spurity_status status, const spurity_error *error)
{
    pthread_mutex_lock(&loop->folding);
    if (status && !loop->status) {
        loop->status = status;
        loop->error = *error;
    }
    loop->stop |= status != SPURITY_OK;
    if (slot)
        slot->done = true;
    fold_ready(loop);
    pthread_mutex_unlock(&loop->folding);
}

static void work(struct worker *worker)
{
    struct loop *loop = worker->loop;
    spurity_status status = SPURITY_OK;
    spurity_error error = {0};
    struct drawn drawn;
    uint64_t run = 0;
    while (draw(worker, &drawn, &run, &status, &error)) {
        struct slot *slot = slot_for(loop, run);
        if (!slot)
            break;
        status = transform_run(worker, &drawn, run % TIMED_EVERY == 0, slot, &error);
        give_in(loop, slot, status, &error);
        if (status)
            break;
    }
    if (status)
        give_in(loop, NULL, status, &error);
}

static void *work_thread(void *user)
{
    struct worker *worker = user;
    work(worker);
    pthread_mutex_lock(&worker->loop->folding);
    worker->loop->working--;
    pthread_cond_signal(&worker->loop->finished);
    pthread_mutex_unlock(&worker->loop->folding);
    return NULL;
}

/* A thread that waits for a slow stream holds `drawing`; who stops holds `folding` only. */
static bool not_stopped(void *context)
{
    struct loop *loop = context;
    pthread_mutex_lock(&loop->folding);
    const bool stop = loop->stop;
    pthread_mutex_unlock(&loop->folding);
    return !stop;
}

/* Waits for the workers, telling the watch how far it is. */
static void attend(struct loop *loop, const spurity_watch *watch, double start)
{
    const struct settled *settled = loop->settled;
    pthread_mutex_lock(&loop->folding);
    while (loop->working) {
        struct timespec until;
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_nsec += TICK_NANOSECONDS;
        until.tv_sec += until.tv_nsec / 1000000000;
        until.tv_nsec %= 1000000000;
        if (pthread_cond_timedwait(&loop->finished, &loop->folding, &until) != ETIMEDOUT)
            continue;
        const uint64_t samples = loop->samples;
        pthread_mutex_unlock(&loop->folding);
        char what[64];
        snprintf(what, sizeof what, "spectrum, %.3g MS/s", 1e-6 * (double)samples / (seconds_now() - start));
        const bool go_on =
            spurity_watch_tick(watch, what, settled->known ? (double)samples / (double)settled->known : -1);
        pthread_mutex_lock(&loop->folding);
        if (!go_on && !loop->stop) {
            loop->stop = true;
            loop->status = spurity_report(&loop->error, SPURITY_CANCELLED, (spurity_place){0}, "cancelled", NULL, NULL);
            pthread_cond_broadcast(&loop->folded);
        }
    }
    pthread_mutex_unlock(&loop->folding);
}

/* ---- memory --------------------------------------------------------------------------------------- */

static bool open_worker(struct worker *worker, struct loop *loop)
{
    const struct settled *settled = loop->settled;
    worker->loop = loop;
    worker->raw = malloc(spurity_runs_room(settled) * settled->sample_bytes);
    worker->in = fftwf_malloc(components(settled, settled->n) * sizeof(float));
    worker->block = malloc(components(settled, STATISTICS_BLOCK) * sizeof(float));
    worker->out = fftwf_malloc(settled->bins * sizeof *worker->out);
    return worker->raw && worker->in && worker->block && worker->out;
}

static void close_worker(struct worker *worker)
{
    free(worker->raw);
    fftwf_free(worker->in);
    free(worker->block);
    fftwf_free(worker->out);
}

static bool open_windows(struct loop *loop)
{
    const struct settled *settled = loop->settled;
    const size_t n = settled->n;
    size_t each = 1;
    float scale = 1;
    loop->weigh = spurity_weigher(settled->format, &scale, &each);
    float *w = malloc(n * sizeof *w);
    for (int band = 0; w && band < settled->bands; band++) {
        loop->factor[band] = fftwf_malloc(each * n * sizeof(float));
        if (!loop->factor[band])
            break;
        spurity_window_fill(settled->window[band], n, w);
        for (size_t i = 0; i < each * n; i++)
            loop->factor[band][i] = w[i / each] * scale;
    }
    free(w);
    return loop->factor[settled->bands - 1];
}

static bool open_held(struct loop *loop)
{
    const size_t bins = loop->settled->bins;
    if (!loop->settled->hold)
        return true;
    loop->tally.held = malloc(bins * sizeof(double));
    bool good = loop->tally.held != NULL;
    for (size_t i = 0; i < loop->slot_count && good; i++) {
        loop->slots[i].held = fftwf_malloc(bins * sizeof(float));
        good = loop->slots[i].held != NULL;
    }
    return good;
}

static bool open_sums(struct loop *loop)
{
    const struct settled *settled = loop->settled;
    loop->slot_count = 2 * (size_t)settled->threads;
    loop->slots = calloc(loop->slot_count, sizeof *loop->slots);
    if (!loop->slots)
        return false;
    for (int band = 0; band < settled->bands; band++) {
        loop->tally.power[band] = malloc(settled->bins * sizeof(double));
        if (!loop->tally.power[band])
            return false;
        for (size_t i = 0; i < loop->slot_count; i++) {
            loop->slots[i].power[band] = fftwf_malloc(settled->bins * sizeof(float));
            if (!loop->slots[i].power[band])
                return false;
        }
    }
    return open_held(loop);
}

static void close_loop(struct loop *loop)
{
    for (int band = 0; band < 2; band++) {
        fftwf_free(loop->factor[band]);
        free(loop->tally.power[band]);
        for (size_t i = 0; loop->slots && i < loop->slot_count; i++)
            fftwf_free(loop->slots[i].power[band]);
    }
    for (size_t i = 0; loop->slots && i < loop->slot_count; i++) {
        spurity_image_free(loop->slots[i].images);
        fftwf_free(loop->slots[i].held);
    }
    free(loop->tally.held);
    spurity_image_free(loop->tally.images);
    free(loop->slots);
    spurity_transform_free(&loop->transform);
}

static bool open_transform(struct loop *loop)
{
    const struct settled *settled = loop->settled;
    const double start = seconds_now();
    const uint64_t expected = settled->known ? settled->known : (settled->limit == UINT64_MAX ? 0 : settled->limit);
    const spurity_planning planning = {
        .transforms = expected ? (double)expected / (double)settled->hop * settled->bands / settled->threads : -1,
        .reproducible = settled->reproducible,
        .wisdom = settled->wisdom};
    const bool planned = spurity_transform_plan(settled->n, settled->is_complex, &planning, &loop->transform);
    loop->spectrum->facts.plan_s = seconds_now() - start;
    return planned;
}

/* As many threads as the system gives; the caller does the work when it gives none. */
static void run_threads(struct loop *loop, struct worker *workers, int threads, const spurity_watch *watch)
{
    pthread_t ids[64];
    int started = 0;
    const double start = seconds_now();
    loop->working = threads;
    while (started < threads && !pthread_create(&ids[started], NULL, work_thread, &workers[started]))
        started++;
    pthread_mutex_lock(&loop->folding);
    loop->working -= threads - started;
    pthread_mutex_unlock(&loop->folding);
    if (!started && threads > 0)
        work(&workers[0]);
    attend(loop, watch, start);
    for (int i = 0; i < started; i++)
        pthread_join(ids[i], NULL);
}

static spurity_status run_workers(struct loop *loop, const spurity_watch *watch, spurity_error *error)
{
    const int threads = loop->settled->threads;
    struct worker *workers = calloc((size_t)threads, sizeof *workers);
    bool open = workers && open_sums(loop) && open_windows(loop) && open_transform(loop);
    for (int i = 0; open && i < threads; i++)
        open = open_worker(&workers[i], loop);
    spurity_status status = SPURITY_OK;
    if (open)
        run_threads(loop, workers, threads, watch);
    else
        status = spurity_report_memory(error);
    for (int i = 0; workers && i < threads; i++)
        close_worker(&workers[i]);
    free(workers);
    return status;
}

spurity_status spurity_spectrum_run(struct source *source, const struct settled *settled, const spurity_watch *watch,
                                    spurity_spectrum *spectrum, spurity_error *error)
{
    struct loop loop = {.settled = settled, .source = source, .spectrum = spectrum};
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_mutex_init(&loop.drawing, NULL);
    pthread_mutex_init(&loop.folding, NULL);
    pthread_cond_init(&loop.folded, NULL);
    pthread_cond_init(&loop.finished, &monotonic);
    spurity_receiver_init(&loop.receiver, settled->is_complex, settled->rail_low, settled->rail_high);
    spurity_capture_while_waiting(source->capture, not_stopped, &loop);
    spurity_status status = run_workers(&loop, watch, error);
    spurity_capture_while_waiting(source->capture, NULL, NULL);
    if (!status && loop.status) {
        status = loop.status;
        if (error && !error->status)
            *error = loop.error;
    }
    if (!status)
        status = finish_group(&loop, error);
    spurity_receiver_finish(&loop.receiver, &spectrum->facts);
    spectrum->facts.read_s = loop.read_s;
    close_loop(&loop);
    pthread_mutex_destroy(&loop.drawing);
    pthread_mutex_destroy(&loop.folding);
    pthread_cond_destroy(&loop.folded);
    pthread_cond_destroy(&loop.finished);
    pthread_condattr_destroy(&monotonic);
    return status;
}
