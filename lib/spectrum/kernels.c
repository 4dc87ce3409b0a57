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

spurity_weigh *spurity_weigher(spurity_sample_format format, float *scale)
{
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    *scale = 1;
    if (format.big_endian || (format.swapped && format.is_complex))
        return NULL;
    switch (format.component) {
    case SPURITY_COMPONENT_I16:
        *scale = 1.0f / 32768;
        return weigh_i16;
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

FOR_VECTOR_UNITS static void power_set(const float *restrict x, size_t bins, float *restrict into)
{
    for (size_t i = 0; i < bins; i++)
        into[i] = x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1];
}

FOR_VECTOR_UNITS static void power_add(const float *restrict x, size_t bins, float *restrict into)
{
    for (size_t i = 0; i < bins; i++)
        into[i] += x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1];
}

FOR_VECTOR_UNITS static void power_max(const float *restrict x, size_t bins, float *restrict into)
{
    for (size_t i = 0; i < bins; i++) {
        const float power = x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1];
        into[i] = power > into[i] ? power : into[i];
    }
}

FOR_VECTOR_UNITS static void power_min(const float *restrict x, size_t bins, float *restrict into)
{
    for (size_t i = 0; i < bins; i++) {
        const float power = x[2 * i] * x[2 * i] + x[2 * i + 1] * x[2 * i + 1];
        into[i] = power < into[i] ? power : into[i];
    }
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
