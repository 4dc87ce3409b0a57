/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Whether a line is the mirror image of what stands on the other side of the centre: by its coherence with it.
 *
 * I/Q imbalance adds c conj(z) to z, one c for all: at the mirror frequency X(-f) = c conj(X(f)), so X(f) X(-f) keeps
 * its phase from look to look whatever the signal does.  An independent line turns.  README.md has the judgements. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "receiver.h"

struct spurity_image_sums {
    size_t n, pairs; /* bins k = 1..pairs have a mirror other than themselves */
    uint64_t looks;
    float *re, *im;       /* sum X(k) X(-k), [k - 1] */
    float *above, *below; /* sum |X(k)|^2, |X(-k)|^2 */
};

spurity_image_sums *spurity_image_create(size_t n)
{
    spurity_image_sums *sums = n < 4 ? NULL : calloc(1, sizeof *sums);
    if (!sums)
        return NULL;
    sums->n = n;
    sums->pairs = (n - 1) / 2;
    sums->re = calloc(sums->pairs, 4 * sizeof *sums->re);
    if (!sums->re) {
        free(sums);
        return NULL;
    }
    sums->im = sums->re + sums->pairs;
    sums->above = sums->im + sums->pairs;
    sums->below = sums->above + sums->pairs;
    return sums;
}

void spurity_image_free(spurity_image_sums *sums)
{
    if (sums)
        free(sums->re);
    free(sums);
}

void spurity_image_look(spurity_image_sums *sums, const float *x)
{
    const float *up = x + 2, *down = x + 2 * (sums->n - 1);
    for (size_t k = 0; k < sums->pairs; k++, up += 2, down -= 2) {
        sums->re[k] += up[0] * down[0] - up[1] * down[1];
        sums->im[k] += up[0] * down[1] + up[1] * down[0];
        sums->above[k] += up[0] * up[0] + up[1] * up[1];
        sums->below[k] += down[0] * down[0] + down[1] * down[1];
    }
    sums->looks++;
}

void spurity_image_add(spurity_image_sums *sums, const spurity_image_sums *next)
{
    for (size_t k = 0; k < 4 * sums->pairs; k++)
        sums->re[k] += next->re[k];
    sums->looks += next->looks;
}

/* ---- when to look -------------------------------------------------------------------------------- */

static uint32_t next_random(uint32_t *state)
{
    *state = *state * 1664525U + 1013904223U; /* Knuth's and Lewis's linear congruence */
    return *state >> 8;                       /* 24 bits: the low ones are poor */
}

/* Distances drawn evenly from [g, 3g]: evenly spaced looks would see a line that is off the mirror by a multiple of
 * their rate stand still. */
size_t spurity_image_schedule(uint64_t expected, double overlap, uint64_t at[SPURITY_IMAGE_LOOKS])
{
    double least = ceil(1 / (1 - fmin(fmax(overlap, 0), 0.999)) - 1e-9);
    double gap = fmax(least, (double)expected / (2.0 * SPURITY_IMAGE_LOOKS)), spread = 2 * gap, place = 0;
    bool few = expected > 0 && (double)expected < 128 * least;
    uint32_t state = 1;
    size_t count = 0;
    if (few) /* else hardly a look would be left */
        spread = fmax(1, least / 2);
    /* A short one: as many as can be, still uneven.  A fifth of a transform apart is next to independent: the windows
     * for levels weigh little but their middle. */
    if (expected > 0 && (double)expected < 16 * least) {
        uint64_t unit = (uint64_t)ceil(least / 5 - 1e-9);
        for (uint64_t next = 0; next < expected && count < SPURITY_IMAGE_LOOKS;
             next += unit * (1 + next_random(&state) % 4 / 3))
            at[count++] = next;
        return count;
    }
    for (; count < SPURITY_IMAGE_LOOKS && (expected == 0 || place < (double)expected); count++) {
        double grow = expected == 0 ? pow(1 + (double)count / 32, 2) : 1;
        at[count] = (uint64_t)place;
        place = floor(place + grow * gap + (grow * spread + 1) * (next_random(&state) / 16777216.0));
    }
    return count;
}

/* ---- judging ------------------------------------------------------------------------------------- */

static int rising(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x > y) - (x < y);
}

/* Median power of a bin beside the line, on either side of it: what is there without the line. */
static double noise_beside(const spurity_image_sums *sums, const float *power, size_t k, size_t half)
{
    enum { BESIDE = 24 };
    float beside[2 * BESIDE];
    size_t count = 0;
    for (size_t i = half + 1; i <= half + BESIDE; i++) {
        if (k > i + half) /* k - i is the bin; those near the centre hold its spike */
            beside[count++] = power[k - i - 1];
        if (k + i <= sums->pairs)
            beside[count++] = power[k + i - 1];
    }
    if (count == 0)
        return 0;
    qsort(beside, count, sizeof *beside, rising);
    return (double)beside[count / 2];
}

bool spurity_image_judge(const spurity_image_sums *sums, double bin, double half, spurity_image *image)
{
    size_t reach = (size_t)fmax(1, floor(half / 2)), lobe = (size_t)ceil(half);
    double k = round(fabs(bin)), re = 0, im = 0, above = 0, below = 0;
    if (!(fabs(bin) > half) || k - (double)reach < 1 || k + (double)reach > (double)sums->pairs ||
        sums->looks < SPURITY_IMAGE_LEAST)
        return false;
    for (size_t i = (size_t)k - reach - 1; i < (size_t)k + reach; i++) {
        re += (double)sums->re[i];
        im += (double)sums->im[i];
        above += (double)sums->above[i];
        below += (double)sums->below[i];
    }
    if (!(above > 0 && below > 0))
        return false;
    double here = bin > 0 ? above : below, there = bin > 0 ? below : above;
    double square = fmin((re * re + im * im) / (above * below), 1);
    double noise = noise_beside(sums, bin > 0 ? sums->above : sums->below, (size_t)k, lobe) * (double)(2 * reach + 1);
    /* An image is coherent but for the noise under it.  Judgement: 0.7 of what stands over the noise must be. */
    double could = fmin(fmax(1 - noise / here, 0), 1);
    image->coherence = sqrt(square);
    image->ratio_db = 10 * log10(here / there);
    image->looks = sums->looks;
    image->chance = pow(1 - square, (double)(sums->looks - 1));
    image->is_image = here < there && image->chance <= 1e-4 && square >= 0.7 * could;
    return true;
}
