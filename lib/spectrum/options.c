/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Options, and what follows from them before the first transform: its length, their distance, how many at a time. */
#include <math.h>
#include <sched.h>
#include <stdlib.h>
#include <string.h>

#include "engine.h"

#define LARGEST ((size_t)1 << 24)
enum { SMALLEST = 16, AVERAGES_WANTED = SPURITY_AVERAGES_WANTED, THREADS_MOST = 64 };
/* A run holds about this many new samples: what is converted, windowed and transformed stays in the second-level cache,
 * and a fold into double stays rare. */
/* All threads together: about 50 bytes for each of these. */
enum { TRANSFORMS_SAMPLES_MOST = 1 << 24 };
enum { RUN_SAMPLES = 1 << 16, RUN_LEAST = 8, RUN_MOST = 64 };

void spurity_spectrum_options_init(spurity_spectrum_options *options)
{
    *options = (spurity_spectrum_options){.window = SPURITY_WINDOW_HFT144D,
                                          .sharp_window = SPURITY_WINDOW_BLACKMAN_HARRIS,
                                          .overlap = -1,
                                          .detector = SPURITY_SPECTRUM_MEAN,
                                          .edge_fraction = 0.10};
}

static bool is_fast(size_t n)
{
    static const size_t primes[] = {2, 3, 5};
    for (size_t i = 0; i < sizeof primes / sizeof primes[0]; i++)
        while (n % primes[i] == 0)
            n /= primes[i];
    return n == 1;
}

/* The least 2^a 3^b 5^c that is even (from 256 on a multiple of 16, which vector units like) and >= wanted; 0 above
 * the largest. */
static size_t fast_size(double wanted)
{
    if (!(wanted <= (double)LARGEST))
        return 0;
    size_t n = wanted < SMALLEST ? SMALLEST : (size_t)ceil(wanted);
    n += n & 1;
    while (!is_fast(n) || (n >= 256 && n % 16))
        n += 2;
    return n;
}

/* The largest such size <= most (>= 16). */
static size_t fast_size_below(uint64_t most)
{
    size_t n = most > LARGEST ? LARGEST : (size_t)most & ~(size_t)1;
    while (n > SMALLEST && (!is_fast(n) || (n >= 256 && n % 16)))
        n -= 2;
    return n;
}

/* ---- what is ahead -------------------------------------------------------------------------------- */

/* Lengths of the capture's segments from where it stands, as far as they are known. */
struct ahead {
    const spurity_capture_facts *facts;
    uint64_t from, end; /* end: UINT64_MAX = not known */
};

static uint64_t segment_samples(const struct ahead *ahead, size_t index)
{
    uint64_t first = ahead->facts->segments[index].first, last = ahead->end;
    if (index + 1 < ahead->facts->segment_count && ahead->facts->segments[index + 1].first < last)
        last = ahead->facts->segments[index + 1].first;
    first = first < ahead->from ? ahead->from : first;
    return last > first ? last - first : 0;
}

static uint64_t longest_segment(const struct ahead *ahead)
{
    uint64_t longest = 0;
    for (size_t i = 0; i < ahead->facts->segment_count; i++) {
        const uint64_t samples = segment_samples(ahead, i);
        longest = samples > longest ? samples : longest;
    }
    return longest;
}

/* Transforms of the centre that gets fewest, of those that have a sixteenth of the longest segment and more: one short
 * piece must not spoil the resolution of all. */
static double fewest_transforms(const struct ahead *ahead, size_t n, size_t hop)
{
    const uint64_t worth = longest_segment(ahead) / 16;
    double fewest = INFINITY, group = 0;
    uint64_t held = 0;
    for (size_t i = 0; i < ahead->facts->segment_count; i++) {
        const uint64_t samples = segment_samples(ahead, i);
        held += samples;
        group += samples < n ? 0 : floor((double)(samples - n) / (double)hop) + 1;
        const double here = ahead->facts->segments[i].center_hz;
        const double next = i + 1 < ahead->facts->segment_count ? ahead->facts->segments[i + 1].center_hz : NAN;
        if (i + 1 < ahead->facts->segment_count && (here == next || (isnan(here) && isnan(next))))
            continue;
        if (held && held >= worth && group < fewest)
            fewest = group;
        group = 0;
        held = 0;
    }
    return fewest;
}

static size_t hop_of(size_t n, double overlap)
{
    const double hop = round((double)n * (1 - overlap));
    return hop < 1 ? 1 : (hop > (double)n ? n : (size_t)hop);
}

static double fewest_averages(const struct ahead *ahead, spurity_window window, size_t n, double overlap)
{
    return spurity_window_effective_averages(window, overlap, fewest_transforms(ahead, n, hop_of(n, overlap)));
}

/* ---- checks --------------------------------------------------------------------------------------- */

static spurity_status refuse(spurity_error *error, const char *expected, const char *what, double found)
{
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, expected, NULL, "%s %g", what, found);
}

static spurity_status check_options(const spurity_spectrum_options *options, spurity_error *error)
{
    if (!spurity_window_facts_of(options->window) || !spurity_window_facts_of(options->sharp_window))
        return refuse(error, "a window of the table", "window number", options->window);
    if (!(options->rbw_hz >= 0) || !isfinite(options->rbw_hz))
        return refuse(error, "a resolution bandwidth above 0 Hz", "a resolution bandwidth of", options->rbw_hz);
    if (!(options->overlap <= 0.95))
        return refuse(error, "an overlap from 0 to 0.95", "an overlap of", options->overlap);
    if (!(options->seconds >= 0))
        return refuse(error, "seconds of 0 (all) or more", "seconds of", options->seconds);
    if (!(options->edge_fraction >= 0 && options->edge_fraction <= 0.45))
        return refuse(error, "a share from 0 to 0.45", "band edges of", options->edge_fraction);
    if (!(options->sharp_half_hz >= 0))
        return refuse(error, "a distance of 0 Hz and more", "a sharp window's reach of", options->sharp_half_hz);
    if (options->threads < 0)
        return refuse(error, "threads of 0 (all cores) and more", "threads of", options->threads);
    if (options->transform && (options->transform < SMALLEST || options->transform > LARGEST || options->transform % 2))
        return refuse(error, "an even transform from 16 to 16777216 samples", "a transform of",
                      (double)options->transform);
    return SPURITY_OK;
}

static int cores(void)
{
    cpu_set_t set;
    if (sched_getaffinity(0, sizeof set, &set))
        return 1;
    const int count = CPU_COUNT(&set);
    return count < 1 ? 1 : count;
}

/* ---- settling ------------------------------------------------------------------------------------- */

static double overlap_of(const spurity_spectrum_options *options, const struct ahead *ahead, size_t n)
{
    if (options->overlap >= 0)
        return options->overlap;
    const double recommended = spurity_window_facts_of(options->window)->overlap;
    const bool few = ahead->end != UINT64_MAX && fewest_transforms(ahead, n, n) < 2 * AVERAGES_WANTED;
    return few || options->hold || options->detector != SPURITY_SPECTRUM_MEAN ? recommended : 0.5;
}

/* 1, 3, 10, 30 ... nearest to hz on a logarithmic scale. */
static double round_1_3_10(double hz)
{
    const double decade = pow(10, floor(log10(hz))), rest = hz / decade;
    return rest < sqrt(3) ? decade : (rest < sqrt(30) ? 3 * decade : 10 * decade);
}

static double next_1_3_10(double hz)
{
    const double decade = pow(10, floor(log10(hz) + 1e-9));
    return hz / decade < 2 ? 3 * decade : 10 * decade;
}

static size_t size_of_rbw(const struct settled *settled, double rbw_hz)
{
    return fast_size(spurity_window_facts_of(settled->window[0])->width_3db_bins * settled->rate_hz / rbw_hz);
}

static spurity_status too_short(const struct ahead *ahead, size_t n, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0},
                           "as many samples in a stretch as a transform has", "ask for a wider resolution bandwidth",
                           "%llu samples in a stretch, a transform of %zu", (unsigned long long)longest_segment(ahead),
                           n);
}

/* By the user's word: never changed silently. */
static spurity_status settle_asked(const spurity_spectrum_options *options, const struct ahead *ahead,
                                   struct settled *settled, spurity_error *error)
{
    settled->n = options->transform ? options->transform : size_of_rbw(settled, options->rbw_hz);
    if (!settled->n)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "a transform of at most 16777216 samples",
                               "ask for a wider resolution bandwidth",
                               "a resolution bandwidth of %g Hz at %g samples/s", options->rbw_hz, settled->rate_hz);
    const double widest = spurity_window_facts_of(settled->window[0])->width_3db_bins * settled->rate_hz / SMALLEST;
    if (!options->transform && options->rbw_hz > 1.1 * widest)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "a transform of at least 16 samples",
                               "ask for a narrower resolution bandwidth",
                               "a resolution bandwidth of %g Hz at %g samples/s", options->rbw_hz, settled->rate_hz);
    if (ahead->end != UINT64_MAX && longest_segment(ahead) < settled->n)
        return too_short(ahead, settled->n, error);
    settled->overlap = overlap_of(options, ahead, settled->n);
    settled->averages_few = ahead->end != UINT64_MAX &&
                            fewest_averages(ahead, settled->window[0], settled->n, settled->overlap) < AVERAGES_WANTED;
    return SPURITY_OK;
}

/* rate/5000 on the 1-3-10 steps, wider where that gives too few averages. */
static void settle_freely(const spurity_spectrum_options *options, const struct ahead *ahead, struct settled *settled)
{
    double rbw_hz = round_1_3_10(settled->rate_hz / 5000);
    settled->n = size_of_rbw(settled, rbw_hz);
    settled->overlap = overlap_of(options, ahead, settled->n);
    if (ahead->end == UINT64_MAX)
        return;
    while (fewest_averages(ahead, settled->window[0], settled->n, settled->overlap) < AVERAGES_WANTED) {
        settled->averages_few = true;
        if (settled->n <= 2 * SMALLEST) /* that short: one transform is as good as it gets */
            break;
        rbw_hz = next_1_3_10(rbw_hz);
        settled->n = size_of_rbw(settled, rbw_hz);
        settled->overlap = overlap_of(options, ahead, settled->n);
    }
    if (settled->n > longest_segment(ahead))
        settled->n = fast_size_below(longest_segment(ahead));
}

/* A stream of unknown length: enough of its beginning to know whether it is a short one. */
static spurity_status read_early(spurity_capture *capture, const struct settled *settled, struct source *source,
                                 struct ahead *ahead, spurity_error *error)
{
    const size_t n = size_of_rbw(settled, round_1_3_10(settled->rate_hz / 5000));
    size_t wanted = n * (2 * AVERAGES_WANTED + 1);
    if (settled->limit < wanted)
        wanted = (size_t)settled->limit;
    source->early = malloc(wanted * settled->sample_bytes + 1);
    if (!source->early)
        return spurity_report_memory(error);
    spurity_status status = spurity_capture_read(capture, source->early, wanted, &source->early_samples, error);
    if (status)
        return status;
    if (source->early_samples < wanted)
        ahead->end = ahead->from + source->early_samples;
    return SPURITY_OK;
}

static void copy_options(const spurity_capture_facts *facts, const spurity_spectrum_options *options,
                         struct settled *settled)
{
    *settled = (struct settled){.format = facts->format,
                                .sample_bytes = spurity_sample_format_bytes(facts->format),
                                .rate_hz = facts->rate_hz,
                                .is_complex = facts->format.is_complex,
                                .limit = UINT64_MAX,
                                .bands = options->sharp ? 2 : 1,
                                .window = {options->window, options->sharp_window},
                                .detector = options->detector,
                                .hold = options->hold && options->detector == SPURITY_SPECTRUM_MEAN,
                                .may_gate = !options->whole && options->detector == SPURITY_SPECTRUM_MEAN,
                                .edge_fraction = options->edge_fraction,
                                .usable_hz = facts->usable_hz,
                                .sharp_half_hz = options->sharp_half_hz,
                                .full_scale_dbm = facts->full_scale_dbm,
                                .rail_low = facts->rail_low,
                                .rail_high = facts->rail_high,
                                .reproducible = options->reproducible,
                                .wisdom = options->wisdom};
    if (options->seconds > 0 && options->seconds * facts->rate_hz < 1e18)
        settled->limit = (uint64_t)llround(options->seconds * facts->rate_hz);
}

static void settle_run(struct settled *settled, int threads)
{
    settled->hop = hop_of(settled->n, settled->overlap);
    settled->bins = settled->is_complex ? settled->n : settled->n / 2 + 1;
    const size_t run = RUN_SAMPLES / settled->hop;
    settled->run = run < RUN_LEAST ? RUN_LEAST : (run > RUN_MOST ? RUN_MOST : run);
    if (settled->n > (size_t)1 << 18) /* memory before speed */
        settled->run = 1;
    settled->threads = threads ? threads : cores();
    const size_t most = TRANSFORMS_SAMPLES_MOST / settled->n;
    if ((size_t)settled->threads > most)
        settled->threads = most < 1 ? 1 : (int)most;
    settled->threads = settled->threads > THREADS_MOST ? THREADS_MOST : settled->threads;
}

spurity_status spurity_settle(spurity_capture *capture, const spurity_spectrum_options *options,
                              struct settled *settled, struct source *source, spurity_error *error)
{
    spurity_status status = check_options(options, error);
    if (status)
        return status;
    const spurity_capture_facts *facts = spurity_capture_facts_of(capture);
    copy_options(facts, options, settled);
    struct ahead ahead = {.facts = facts, .from = spurity_capture_at(capture), .end = UINT64_MAX};
    if (facts->samples)
        ahead.end = facts->samples > ahead.from ? facts->samples : ahead.from;
    const bool asked = options->rbw_hz > 0 || options->transform;
    if (!facts->samples && !asked && (status = read_early(capture, settled, source, &ahead, error)))
        return status;
    if (settled->limit != UINT64_MAX && ahead.end != UINT64_MAX && ahead.end - ahead.from > settled->limit)
        ahead.end = ahead.from + settled->limit;
    if (ahead.end != UINT64_MAX && longest_segment(&ahead) < SMALLEST)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){0}, "16 samples and more in a stretch", NULL,
                               "a capture of %llu samples", (unsigned long long)(ahead.end - ahead.from));
    settled->known = ahead.end == UINT64_MAX ? 0 : ahead.end - ahead.from;
    if (asked) {
        status = settle_asked(options, &ahead, settled, error);
        if (status)
            return status;
    } else
        settle_freely(options, &ahead, settled);
    settle_run(settled, options->threads);
    return SPURITY_OK;
}
