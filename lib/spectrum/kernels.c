/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The inner loops: conversion with the window, and power.  Element by element, so that a result is the same whatever
 * the vector length. */
#include <math.h>
#include <string.h>

#include "engine.h"

/* The same loop for several vector units, chosen when the program is loaded.  Not under the thread sanitizer, which
 * is not up yet when that choice is made. */
#if defined(__x86_64__) && defined(__linux__) && !defined(__SANITIZE_THREAD__) && !defined(__clang__)
#define FOR_VECTOR_UNITS __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define FOR_VECTOR_UNITS
#endif

FOR_VECTOR_UNITS static void weigh_i16(const unsigned char *restrict from, const float *restrict factor, size_t count,
                                       float *restrict to)
{
    for (size_t i = 0; i < count; i++) {
        int16_t x;
        memcpy(&x, from + i * sizeof x, sizeof x);
        to[i] = (float)x * factor[i];
    }
}

/* Sixteen lanes whatever the vector unit: the order of operations, and so every bit, is the same on all of them. */
typedef int16_t words __attribute__((vector_size(32)));
typedef float half_floats __attribute__((vector_size(32)));
typedef float floats __attribute__((vector_size(64)));
typedef double doubles __attribute__((vector_size(128)));
enum { LANES = 16 };

/* One factor a sample: half the table to fetch. */
FOR_VECTOR_UNITS static void weigh_ci16(const unsigned char *restrict from, const float *restrict factor, size_t count,
                                        float *restrict to)
{
    size_t i = 0;
    for (; i + LANES <= count; i += LANES) {
        words x;
        half_floats w;
        memcpy(&x, from + 2 * i, sizeof x);
        memcpy(&w, factor + i / 2, sizeof w);
        floats f = __builtin_convertvector(x, floats);
        f *= __builtin_shufflevector(w, w, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6, 7, 7);
        memcpy(to + i, &f, sizeof f);
    }
    for (; i < count; i++) {
        int16_t x;
        memcpy(&x, from + 2 * i, sizeof x);
        to[i] = (float)x * factor[i / 2];
    }
}

FOR_VECTOR_UNITS static void weigh_i8(const unsigned char *restrict from, const float *restrict factor, size_t count,
                                      float *restrict to)
{
    for (size_t i = 0; i < count; i++)
        to[i] = (float)(int8_t)from[i] * factor[i];
}

FOR_VECTOR_UNITS static void weigh_u8(const unsigned char *restrict from, const float *restrict factor, size_t count,
                                      float *restrict to)
{
    for (size_t i = 0; i < count; i++)
        to[i] = ((float)from[i] - 127.5f) * factor[i];
}

FOR_VECTOR_UNITS static void weigh_f32(const unsigned char *restrict from, const float *restrict factor, size_t count,
                                       float *restrict to)
{
    for (size_t i = 0; i < count; i++) {
        uint32_t bits;
        memcpy(&bits, from + i * sizeof bits, sizeof bits);
        bits = (bits & 0x7f800000u) == 0x7f800000u ? 0 : bits; /* not finite */
        float x;
        memcpy(&x, &bits, sizeof x);
        to[i] = x * factor[i];
    }
}

spurity_weigh *spurity_weigher(spurity_sample_format format, float *scale, size_t *factors)
{
    *factors = format.is_complex ? 2 : 1;
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    *scale = 1;
    if (format.big_endian || (format.swapped && format.is_complex))
        return NULL;
    switch (format.component) {
    case SPURITY_COMPONENT_I16:
        *scale = 1.0f / 32768;
        *factors = 1;
        return format.is_complex ? weigh_ci16 : weigh_i16;
    case SPURITY_COMPONENT_I8:
        *scale = 1.0f / 128;
        return weigh_i8;
    case SPURITY_COMPONENT_U8:
        *scale = 1.0f / 128;
        return weigh_u8;
    case SPURITY_COMPONENT_F32:
        return weigh_f32;
    default:
        return NULL;
    }
#else
    *scale = 1;
    return NULL;
#endif
}

/* ---- sums over a cell of 16-bit I/Q -------------------------------------------------------------- */

enum { SHORT_VECTORS = 32 }; /* vectors summed in float before they go into double */

typedef int32_t pairs __attribute__((vector_size(64)));

/* I and Q of LANES samples: each pair of 16-bit words is a 32-bit one, whose halves are taken apart by shifts. */
#define APART(from, i, q)                                                                                              \
    pairs both_;                                                                                                       \
    memcpy(&both_, (from), sizeof both_);                                                                              \
    const floats i = __builtin_convertvector((both_ << 16) >> 16, floats);                                             \
    const floats q = __builtin_convertvector(both_ >> 16, floats)

struct cell_sums {
    doubles i, q, ii, qq, iq;
};

FOR_VECTOR_UNITS static void sum_cell_i16(const unsigned char *from, struct cell_sums *sums)
{
    *sums = (struct cell_sums){0};
    for (size_t at = 0; at < SPURITY_RECEIVER_CELL; at += SHORT_VECTORS * LANES) {
        floats si = {0}, sq = {0}, sii = {0}, sqq = {0}, siq = {0};
        for (size_t k = 0; k < SHORT_VECTORS; k++) {
            APART(from + 4 * (at + k * LANES), i, q);
            si += i;
            sq += q;
            sii += i * i;
            sqq += q * q;
            siq += i * q;
        }
        sums->i += __builtin_convertvector(si, doubles);
        sums->q += __builtin_convertvector(sq, doubles);
        sums->ii += __builtin_convertvector(sii, doubles);
        sums->qq += __builtin_convertvector(sqq, doubles);
        sums->iq += __builtin_convertvector(siq, doubles);
    }
}

static double sum_of(const doubles *lanes)
{
    double sum = 0;
    for (int j = 0; j < LANES; j++)
        sum += (*lanes)[j];
    return sum;
}

FOR_VECTOR_UNITS double spurity_energy_i16(const unsigned char *from, size_t count, double sums[2])
{
    const double scale = 1.0 / 32768;
    double sum = 0;
    size_t at = 0;
    sums[0] = sums[1] = 0;
    while (at + 2 * LANES <= count) {
        floats squares = {0}, even = {0}, odd = {0};
        for (size_t k = 0; k < SHORT_VECTORS && at + 2 * LANES <= count; k++, at += 2 * LANES) {
            APART(from + 2 * at, i, q);
            squares += i * i + q * q;
            even += i;
            odd += q;
        }
        for (int j = 0; j < LANES; j++) {
            sum += (double)squares[j];
            sums[0] += (double)even[j];
            sums[1] += (double)odd[j];
        }
    }
    for (; at < count; at++) {
        int16_t x;
        memcpy(&x, from + 2 * at, sizeof x);
        sum += (double)x * (double)x;
        sums[at % 2] += (double)x;
    }
    sums[0] *= scale;
    sums[1] *= scale;
    return sum * scale * scale;
}

FOR_VECTOR_UNITS static void extremes_i16(const unsigned char *from, size_t count, int16_t *least, int16_t *most)
{
    int16_t high = 0, low = 0;
    for (size_t i = 0; i < count; i++) {
        int16_t x;
        memcpy(&x, from + 2 * i, sizeof x);
        high = x > high ? x : high;
        low = x < low ? x : low;
    }
    *least = low;
    *most = high;
}

int spurity_largest_i16(const unsigned char *from, size_t count)
{
    int16_t low, high;
    extremes_i16(from, count, &low, &high);
    return high > -low ? high : -low;
}

static uint64_t count_beyond(const unsigned char *from, int16_t low, int16_t high)
{
    uint64_t count = 0;
    for (size_t i = 0; i < 2 * SPURITY_RECEIVER_CELL; i++) {
        int16_t x;
        memcpy(&x, from + 2 * i, sizeof x);
        count += x <= low || x >= high;
    }
    return count;
}

void spurity_cell_sums_i16(const unsigned char *from, double rail_low, double rail_high, spurity_receiver_sums *out)
{
    const double scale = 1.0 / 32768;
    struct cell_sums sums;
    int16_t low, high;
    sum_cell_i16(from, &sums);
    extremes_i16(from, 2 * SPURITY_RECEIVER_CELL, &low, &high);
    *out = (spurity_receiver_sums){.i = sum_of(&sums.i) * scale,
                                   .q = sum_of(&sums.q) * scale,
                                   .ii = sum_of(&sums.ii) * scale * scale,
                                   .qq = sum_of(&sums.qq) * scale * scale,
                                   .iq = sum_of(&sums.iq) * scale * scale};
    out->largest = (float)((high > -low ? high : -low) * scale);
    if (high >= rail_high / scale || low <= rail_low / scale) /* not for NaN */
        out->at_rail = count_beyond(from, (int16_t)fmax(floor(rail_low / scale), -32768),
                                    (int16_t)fmin(ceil(rail_high / scale), 32767));
}

FOR_VECTOR_UNITS void spurity_multiply(float *restrict values, const float *restrict factor, size_t count)
{
    for (size_t i = 0; i < count; i++)
        values[i] *= factor[i];
}

FOR_VECTOR_UNITS size_t spurity_clear_not_finite(float *values, size_t count)
{
    size_t cleared = 0;
    for (size_t i = 0; i < count; i++) {
        uint32_t bits;
        memcpy(&bits, values + i, sizeof bits);
        const bool bad = (bits & 0x7f800000u) == 0x7f800000u;
        cleared += bad;
        values[i] = bad ? 0 : values[i];
    }
    return cleared;
}

/* |x|^2 of LANES bins. */
#define POWER_OF(x, power)                                                                                             \
    floats p_, q_;                                                                                                     \
    memcpy(&p_, (x), sizeof p_);                                                                                       \
    memcpy(&q_, (x) + LANES, sizeof q_);                                                                               \
    p_ *= p_;                                                                                                          \
    q_ *= q_;                                                                                                          \
    const floats power = __builtin_shufflevector(p_, q_, 0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30) +  \
                         __builtin_shufflevector(p_, q_, 1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29, 31)

/* In each: `power` is what comes, `had` what was there. */
#define GATHERER(name, lanes, single)                                                                                  \
    FOR_VECTOR_UNITS static void name(const float *restrict x, size_t bins, float *restrict into)                      \
    {                                                                                                                  \
        size_t i = 0;                                                                                                  \
        for (; i + LANES <= bins; i += LANES) {                                                                        \
            POWER_OF(x + 2 * i, power);                                                                                \
            floats had;                                                                                                \
            memcpy(&had, into + i, sizeof had);                                                                        \
            const floats now = (lanes);                                                                                \
            memcpy(into + i, &now, sizeof now);                                                                        \
        }                                                                                                              \
        for (; i < bins; i++) {                                                                                        \
            const float power = x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1], had = into[i];                      \
            into[i] = (single);                                                                                        \
        }                                                                                                              \
    }

typedef int32_t masks __attribute__((vector_size(64)));
#define CHOOSE(mask, yes, no) ((floats)(((masks)(yes) & (mask)) | ((masks)(no) & ~(mask))))

GATHERER(power_set, ((void)had, power), ((void)had, power))
GATHERER(power_add, had + power, had + power)
GATHERER(power_max, CHOOSE(power > had, power, had), power > had ? power : had)
GATHERER(power_min, CHOOSE(power < had, power, had), power < had ? power : had)

FOR_VECTOR_UNITS static void power_both(const float *restrict x, size_t bins, float *restrict sum, float *restrict held)
{
    size_t i = 0;
    for (; i + LANES <= bins; i += LANES) {
        POWER_OF(x + 2 * i, power);
        floats had, most;
        memcpy(&had, sum + i, sizeof had);
        memcpy(&most, held + i, sizeof most);
        had += power;
        most = CHOOSE(power > most, power, most);
        memcpy(sum + i, &had, sizeof had);
        memcpy(held + i, &most, sizeof most);
    }
    for (; i < bins; i++) {
        const float power = x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1];
        sum[i] += power;
        held[i] = power > held[i] ? power : held[i];
    }
}

void spurity_gather_both(const float *x, size_t bins, bool first, float *sum, float *held)
{
    if (!first) {
        power_both(x, bins, sum, held);
        return;
    }
    power_set(x, bins, sum);
    memcpy(held, sum, bins * sizeof *held);
}

void spurity_gather_power(const float *x, size_t bins, spurity_gather how, float *into)
{
    if (how == SPURITY_GATHER_SET)
        power_set(x, bins, into);
    else if (how == SPURITY_GATHER_ADD)
        power_add(x, bins, into);
    else if (how == SPURITY_GATHER_MAX)
        power_max(x, bins, into);
    else
        power_min(x, bins, into);
}

FOR_VECTOR_UNITS void spurity_fold_power(const float *from, size_t bins, spurity_gather how, double *into)
{
    if (how == SPURITY_GATHER_SET)
        for (size_t i = 0; i < bins; i++)
            into[i] = (double)from[i];
    else if (how == SPURITY_GATHER_ADD)
        for (size_t i = 0; i < bins; i++)
            into[i] += (double)from[i];
    else if (how == SPURITY_GATHER_MAX)
        for (size_t i = 0; i < bins; i++)
            into[i] = (double)from[i] > into[i] ? (double)from[i] : into[i];
    else
        for (size_t i = 0; i < bins; i++)
            into[i] = (double)from[i] < into[i] ? (double)from[i] : into[i];
}
