/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Numbers from text, exact to the last bit.  Where the digits fit 2^53 and the power of ten 10^22 both are exact
 * doubles, so one multiplication or division rounds once, to the nearest (W. D. Clinger, "How to read floating point
 * numbers accurately", 1990).  Everything else goes to the C library, in its "C" locale. */
#include <float.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "units.h"

enum {
    SAFE_DIGITS = 19,   /* any 19 digits fit 64 bits */
    EXACT_TEN = 22,     /* 10^22 is the last power of ten a double holds exactly */
    KEPT_DIGITS = 800,  /* 767 decide between any two doubles; one more tells of a tail */
    EXPONENT_END = 9999 /* beyond, everything is 0 or infinite */
};

static const double exact_ten[EXACT_TEN + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                                1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/** The parts of a number.  Value = +-digits * 10^(exponent - decimals). */
struct parts {
    const char *digits, *end; /* from the first digit to after the last one, the mark among them */
    size_t decimals;          /* digits after the mark */
    long exponent;
    bool negative;
};

static inline bool is_digit(char c)
{
    return (unsigned char)(c - '0') < 10;
}

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
enum { EIGHT_AT_ONCE = 1 };
#else
enum { EIGHT_AT_ONCE = 0 }; /* the first byte has to be the lowest one */
#endif

/** Eight bytes less '0' each: digits become 0..9. */
static inline uint64_t load_eight(const char *p)
{
    uint64_t v;
    memcpy(&v, p, sizeof v);
    return v ^ UINT64_C(0x3030303030303030);
}

/** The top bit of each byte that is no digit; of load_eight. */
static inline uint64_t others_among(uint64_t v)
{
    return (((v & UINT64_C(0x7F7F7F7F7F7F7F7F)) + UINT64_C(0x7676767676767676)) | v) & UINT64_C(0x8080808080808080);
}

/** The value of eight digits, the lowest byte first: pairs, fours and eights are summed. */
static inline uint64_t sum_eight(uint64_t v)
{
    const uint64_t mask = UINT64_C(0x000000FF000000FF);
    v = v * 10 + (v >> 8);
    return ((v & mask) * (100 + (UINT64_C(1000000) << 32)) + ((v >> 16) & mask) * (1 + (UINT64_C(10000) << 32))) >> 32;
}

/** A number that ends within the eight bytes at p, as levels do, without a branch on how long it is: "57.25,", "101\n".
 * Bytes taken; 0 leaves it to the loops. */
static inline size_t parse_short(const char *p, uint64_t v, uint64_t others, char decimal_mark, double *value)
{
    unsigned whole = (unsigned)__builtin_ctzll(others) / 8, end = whole, decimals = 0;
    if (p[whole] == decimal_mark) {
        others &= others - 1;
        if (!others)
            return 0;
        end = (unsigned)__builtin_ctzll(others) / 8;
        decimals = end - whole - 1;
        /* The digits before the mark move up over it; 0 where they were. */
        uint64_t before = v & ((UINT64_C(1) << 8 * whole) - 1);
        v = (v ^ before ^ (uint64_t)(unsigned char)(decimal_mark ^ '0') << 8 * whole) | before << 8;
    }
    if (p[end] > '9' || end == (p[whole] == decimal_mark))
        return 0;
    /* What stands behind the number goes out at the top, and zeros come before it. */
    *value = (double)(int64_t)sum_eight(v << (64 - 8 * end)) / exact_ten[decimals];
    return end;
}

static inline const char *scan_digits(const char *p, const char *end, uint64_t *mantissa)
{
    uint64_t m = *mantissa;
    if (EIGHT_AT_ONCE && end - p >= 8) {
        uint64_t v = load_eight(p);
        if (!others_among(v)) {
            m = m * 100000000 + sum_eight(v);
            p += 8;
        }
    }
    for (; p < end && is_digit(*p); p++)
        m = m * 10 + (uint64_t)(*p - '0'); /* wraps beyond SAFE_DIGITS: then not used */
    *mantissa = m;
    return p;
}

/** Reads "e+12"; returns where it ends, p itself when it is no exponent. */
static const char *scan_exponent(const char *p, const char *end, long *exponent)
{
    const char *q = p;
    if (q >= end || (*q != 'e' && *q != 'E' && *q != 'd' && *q != 'D'))
        return p;
    q++;
    bool negative = q < end && *q == '-';
    if (q < end && (*q == '-' || *q == '+'))
        q++;
    if (q >= end || !is_digit(*q))
        return p;
    long value = 0;
    for (; q < end && is_digit(*q); q++)
        if (value < 1000000000)
            value = value * 10 + (*q - '0');
    *exponent = negative ? -value : value;
    return q;
}

/** The C library's answer for digits too many or exponents too large.  newlocale gives the shared "C" locale without
 * allocating in the usual C libraries, and any thread may do so. */
static double parse_slowly(const struct parts *parts)
{
    char copy[KEPT_DIGITS + 40];
    size_t used = 0, kept = 0, dropped = 0;
    bool tail = false;
    if (parts->negative)
        copy[used++] = '-';
    for (const char *p = parts->digits; p < parts->end; p++) {
        if (!is_digit(*p) || (!kept && *p == '0'))
            continue;
        if (kept < KEPT_DIGITS) {
            copy[used++] = *p;
            kept++;
        } else {
            dropped++;
            tail = tail || *p != '0';
        }
    }
    if (!kept)
        copy[used++] = '0';
    long long exponent = (long long)parts->exponent + (long long)dropped - (long long)parts->decimals;
    if (tail) { /* stands for any digits beyond: only "more than nothing" counts there */
        copy[used++] = '1';
        exponent--;
    }
    if (exponent + (long long)kept > EXPONENT_END)
        exponent = EXPONENT_END;
    if (exponent + (long long)kept < -EXPONENT_END)
        exponent = -EXPONENT_END - (long long)kept;
    snprintf(copy + used, sizeof copy - used, "e%lld", exponent);
    locale_t c_locale = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    if (!c_locale)
        return parts->negative ? -0.0 : 0.0;
    double value = strtod_l(copy, NULL, c_locale);
    freelocale(c_locale);
    return value;
}

size_t spurity_number_parse(const char *text, size_t length, char decimal_mark, double *value)
{
    const char *p = text, *end = text + length;
    bool negative = length && *p == '-';
    if (length && (*p == '-' || *p == '+'))
        p++;
    if (FLT_EVAL_METHOD == 0 && EIGHT_AT_ONCE && end - p >= 8) {
        uint64_t v = load_eight(p), others = others_among(v);
        size_t took = others ? parse_short(p, v, others, decimal_mark, value) : 0;
        if (took) {
            *value = negative ? -*value : *value;
            return (size_t)(p - text) + took;
        }
    }
    const char *digits = p;
    uint64_t mantissa = 0;
    p = scan_digits(p, end, &mantissa);
    size_t count = (size_t)(p - digits), decimals = 0;
    if (p < end && *p == decimal_mark) {
        const char *after = p + 1;
        p = after;
        for (; p < end && is_digit(*p); p++)
            mantissa = mantissa * 10 + (uint64_t)(*p - '0');
        decimals = (size_t)(p - after);
        count += decimals;
    }
    if (!count)
        return 0;
    const char *last = p;
    long exponent = 0;
    if (p<end && * p> '9') /* 'e' and its like */
        p = scan_exponent(p, end, &exponent);

    long power = exponent - (long)decimals;
    if (FLT_EVAL_METHOD == 0 && count <= SAFE_DIGITS && mantissa <= UINT64_C(1) << DBL_MANT_DIG &&
        power >= -EXACT_TEN && power <= EXACT_TEN) {
        double exact = (double)(int64_t)mantissa;
        exact = power < 0 ? exact / exact_ten[-power] : exact * exact_ten[power];
        *value = negative ? -exact : exact;
    } else {
        *value = parse_slowly(&(struct parts){
            .digits = digits, .end = last, .decimals = decimals, .exponent = exponent, .negative = negative});
    }
    return (size_t)(p - text);
}
