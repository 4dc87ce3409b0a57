/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Sample formats: names, sizes, and conversion to float.  One loop for each component and byte order, plain enough to
 * be vectorised at -O3. */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "capture.h"

/* A row for each component, in the order of the enumeration.  Scale and offset: full scale is 1.0 (capture.h). */
static const struct component {
    const char *name; /* as SigMF spells it, between "r"/"c" and the byte order */
    unsigned bytes;
    double low, high; /* scaled values at which a converter stops */
} components[] = {
    {"u8", 1, -127.5 / 128, 127.5 / 128},
    {"i8", 1, -1.0, 1.0 - 1.0 / 128},
    {"u16", 2, -1.0, 1.0 - 1.0 / 32768},
    {"i16", 2, -1.0, 1.0 - 1.0 / 32768},
    {"u32", 4, -1.0, 1.0 - 1.0 / 2147483648.0},
    {"i32", 4, -1.0, 1.0 - 1.0 / 2147483648.0},
    {"f32", 4, NAN, NAN},
    {"f64", 8, NAN, NAN},
};
enum { COMPONENTS = sizeof components / sizeof components[0] };

bool spurity_sample_format_parse(const char *text, size_t length, spurity_sample_format *format, bool *order_assumed)
{
    if (length < 3 || !memchr("rRcC", text[0], 4))
        return false;
    for (size_t i = 0; i < COMPONENTS; i++) {
        const size_t n = strlen(components[i].name);
        if (length < 1 + n || strncasecmp(text + 1, components[i].name, n))
            continue;
        const char *rest = text + 1 + n;
        const size_t left = length - 1 - n;
        const bool little = left == 3 && !strncasecmp(rest, "_le", 3);
        const bool big = left == 3 && !strncasecmp(rest, "_be", 3);
        if (left && !little && !big)
            continue;
        *format = (spurity_sample_format){.component = (spurity_component)i,
                                          .is_complex = (text[0] | 0x20) == 'c',
                                          .big_endian = big && components[i].bytes > 1};
        if (order_assumed)
            *order_assumed = !left && components[i].bytes > 1;
        return true;
    }
    return false;
}

char *spurity_sample_format_name(spurity_sample_format format, char *text, size_t size)
{
    const struct component *component = &components[format.component];
    snprintf(text, size, "%c%s%s", format.is_complex ? 'c' : 'r', component->name,
             component->bytes == 1 ? "" : (format.big_endian ? "_be" : "_le"));
    return text;
}

size_t spurity_sample_format_bytes(spurity_sample_format format)
{
    return (size_t)components[format.component].bytes * (format.is_complex ? 2 : 1);
}

void spurity_capture_rails(spurity_component component, double *low, double *high)
{
    *low = components[component].low;
    *high = components[component].high;
}

static inline uint8_t same_8(uint8_t x)
{
    return x;
}
static inline uint16_t same_16(uint16_t x)
{
    return x;
}
static inline uint32_t same_32(uint32_t x)
{
    return x;
}
static inline uint64_t same_64(uint64_t x)
{
    return x;
}
/* By shifts, which compilers turn into one shuffle of a vector. */
static inline uint16_t turned_16(uint16_t x)
{
    return (uint16_t)((x << 8) | (x >> 8));
}
static inline uint32_t turned_32(uint32_t x)
{
    return (x << 24) | ((x & 0xFF00u) << 8) | ((x >> 8) & 0xFF00u) | (x >> 24);
}
static inline uint64_t turned_64(uint64_t x)
{
    return ((uint64_t)turned_32((uint32_t)x) << 32) | turned_32((uint32_t)(x >> 32));
}

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
#define LITTLE(bits) turned_##bits
#define BIG(bits) same_##bits
#else
#define LITTLE(bits) same_##bits
#define BIG(bits) turned_##bits
#endif

static inline float float_of_bits(uint32_t bits)
{
    float value;
    memcpy(&value, &bits, sizeof value);
    return value;
}
static inline float double_of_bits(uint64_t bits)
{
    double value;
    memcpy(&value, &bits, sizeof value);
    return (float)value;
}

/* `x` is the word as it stands on this machine; `value` its float. */
#define CONVERTER(name, bits, order, value)                                                                            \
    static void name(const unsigned char *restrict from, size_t count, float *restrict to)                             \
    {                                                                                                                  \
        for (size_t i = 0; i < count; i++) {                                                                           \
            uint##bits##_t x;                                                                                          \
            memcpy(&x, from + i * sizeof x, sizeof x);                                                                 \
            x = order(x);                                                                                              \
            to[i] = (value);                                                                                           \
        }                                                                                                              \
    }

/* Flipping the top bit of an offset-binary word makes it two's complement. */
CONVERTER(from_u8, 8, same_8, ((float)(int)x - 127.5f) * (1.0f / 128.0f))
CONVERTER(from_i8, 8, same_8, (float)(int8_t)x *(1.0f / 128.0f))
CONVERTER(from_u16_le, 16, LITTLE(16), (float)(int16_t)(x ^ 0x8000u) * (1.0f / 32768.0f))
CONVERTER(from_u16_be, 16, BIG(16), (float)(int16_t)(x ^ 0x8000u) * (1.0f / 32768.0f))
CONVERTER(from_i16_le, 16, LITTLE(16), (float)(int16_t)x *(1.0f / 32768.0f))
CONVERTER(from_i16_be, 16, BIG(16), (float)(int16_t)x *(1.0f / 32768.0f))
CONVERTER(from_u32_le, 32, LITTLE(32), (float)(int32_t)(x ^ 0x80000000u) * (1.0f / 2147483648.0f))
CONVERTER(from_u32_be, 32, BIG(32), (float)(int32_t)(x ^ 0x80000000u) * (1.0f / 2147483648.0f))
CONVERTER(from_i32_le, 32, LITTLE(32), (float)(int32_t)x *(1.0f / 2147483648.0f))
CONVERTER(from_i32_be, 32, BIG(32), (float)(int32_t)x *(1.0f / 2147483648.0f))
CONVERTER(from_f32_le, 32, LITTLE(32), float_of_bits(x))
CONVERTER(from_f32_be, 32, BIG(32), float_of_bits(x))
CONVERTER(from_f64_le, 64, LITTLE(64), double_of_bits(x))
CONVERTER(from_f64_be, 64, BIG(64), double_of_bits(x))

static void (*const converters[COMPONENTS][2])(const unsigned char *restrict, size_t, float *restrict) = {
    {from_u8, from_u8},         {from_i8, from_i8},         {from_u16_le, from_u16_be}, {from_i16_le, from_i16_be},
    {from_u32_le, from_u32_be}, {from_i32_le, from_i32_be}, {from_f32_le, from_f32_be}, {from_f64_le, from_f64_be},
};

static void swap_pairs(float *values, size_t samples)
{
    for (size_t i = 0; i < samples; i++) {
        const float first = values[2 * i];
        values[2 * i] = values[2 * i + 1];
        values[2 * i + 1] = first;
    }
}

void spurity_sample_convert(spurity_sample_format format, const void *from, size_t samples, float *to)
{
    const size_t count = format.is_complex ? 2 * samples : samples;
    converters[format.component][format.big_endian](from, count, to);
    if (format.swapped && format.is_complex)
        swap_pairs(to, samples);
}
