/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The number parser against the C library's strtod (glibc rounds correctly to nearest), bit for bit. */
#include "../check.h"
#include "../comma_locale.h"
#include "units/units.h"

static uint64_t random_state = UINT64_C(0x9E3779B97F4A7C15);

static uint64_t random_bits(void) /* xorshift64*, Marsaglia 2003 / Vigna 2016 */
{
    random_state ^= random_state >> 12;
    random_state ^= random_state << 25;
    random_state ^= random_state >> 27;
    return random_state * UINT64_C(2685821657736338717);
}

static unsigned below(unsigned n)
{
    return (unsigned)(random_bits() >> 33) % n;
}

static size_t put_digits(char *to, unsigned count)
{
    for (unsigned i = 0; i < count; i++)
        to[i] = (char)('0' + below(10));
    return count;
}

/** One number of a random shape: as exports write them, any bits printed to 17 digits, halfway cases, long ones. */
static void random_number(char *text, size_t size)
{
    size_t n = 0;
    double any;
    uint64_t bits = random_bits();
    switch (below(6)) {
    case 0: /* as exports write levels and frequencies */
        n = (size_t)snprintf(text, size, "%s%u.", below(2) ? "-" : "", below(1000000000));
        text[n + put_digits(text + n, 1 + below(7))] = 0;
        return;
    case 1:
        memcpy(&any, &bits, sizeof any);
        if (!isfinite(any))
            any = 1;
        snprintf(text, size, "%.*e", (int)below(20), any);
        return;
    case 2: /* exactly between two doubles above 2^53, and a hair above the middle */
        snprintf(text, size, "%llu.%s", (unsigned long long)(UINT64_C(9007199254740992) + (bits >> 12)),
                 below(2) ? "0" : "00000000000000000000000000000000000000000000001");
        return;
    case 3: /* longer than any register */
        n = put_digits(text, 1 + below(90));
        text[n++] = '.';
        n += put_digits(text + n, below(90));
        break;
    default:
        if (below(2))
            text[n++] = below(2) ? '-' : '+';
        n += put_digits(text + n, 1 + below(19));
        if (below(2)) {
            text[n++] = '.';
            n += put_digits(text + n, below(12));
        }
    }
    text[n] = 0;
    if (below(2))
        snprintf(text + n, size - n, "%c%s%u", below(2) ? 'e' : 'E', below(2) ? "-" : "+", below(340));
}

static void assert_same(const char *text)
{
    char *end = NULL;
    double want = strtod(text, &end), got = 0;
    size_t took = spurity_number_parse(text, strlen(text), '.', &got);
    if (took == (size_t)(end - text) && !memcmp(&want, &got, sizeof want))
        return;
    print_error("'%s': got %.17g (%zu bytes), strtod %.17g (%zu bytes)\n", text, got, took, want, (size_t)(end - text));
    fail();
}

static void every_random_number_is_strtods(void **state)
{
    char text[512];
    for (int i = 0; i < 1500000; i++) {
        random_number(text, sizeof text);
        assert_same(text);
    }
}

static void hard_numbers_are_strtods(void **state)
{
    static const char *const hard[] = {
        "0",
        "-0",
        "-0.0",
        ".5",
        "5.",
        "1e22",
        "1e23",
        "-1e-22",
        "9007199254740993",
        "9007199254740992.5",
        "9007199254740993.00000000000000000000000000000000000000000000000000000000000000000000001",
        "2.2250738585072011e-308",
        "2.2250738585072014e-308",
        "4.9406564584124654e-324",
        "2.4703282292062327208e-324",
        "2.4703282292062328e-324",
        "1.7976931348623157e308",
        "1.7976931348623159e308",
        "1e400",
        "-1e400",
        "1e-400",
        "1e999999999999999999999",
        "0e999999999999",
        "1e-999999999999999999999",
        "8.442911973260991817129021e-309",
        "123456789012345678901234567890e-20",
        "000000000000000000000000000000001.5"};
    for (size_t i = 0; i < sizeof hard / sizeof *hard; i++)
        assert_same(hard[i]);
}

/** Numbers of every short shape with every byte behind them and more text behind that, as they stand in a row. */
static void short_numbers_within_text(void **state)
{
    for (unsigned shape = 0; shape < 3 * 10 * 10; shape++)
        for (int byte = 1; byte < 256; byte++) {
            char text[64];
            size_t n = 0;
            unsigned sign = shape % 3, whole = shape / 3 % 10, after = shape / 30; /* the mark, and digits behind it */
            if (whole + after < 2 || strchr("xXdD", byte)) /* hexadecimal is for strtod alone, d for ours */
                continue;
            if (sign)
                text[n++] = sign == 1 ? '-' : '+';
            n += put_digits(text + n, whole);
            if (after)
                text[n++] = '.';
            n += put_digits(text + n, after ? after - 1 : 0);
            text[n++] = (char)byte;
            strcpy(text + n, "-12.5\n140000000.0");
            assert_same(text);
        }
}

/** A tail 2,000 digits out still decides a tie, and a wall of zeros does not mislead the exponent. */
static void digits_without_end(void **state)
{
    static char text[5000];
    strcpy(text, "9007199254740993.");
    memset(text + 17, '0', 2000);
    strcpy(text + 2017, "1");
    assert_same(text);
    text[2017] = '0';
    assert_same(text);
    strcpy(text, "0.");
    memset(text + 2, '0', 3000);
    strcpy(text + 3002, "12345e3003");
    assert_same(text);
    memset(text, '7', 4000);
    strcpy(text + 4000, "e-3990");
    assert_same(text);
}

static void what_is_taken(void **state)
{
    static const struct {
        const char *text;
        char mark;
        size_t took;
        double value;
    } rows[] = {{"1,5", ',', 3, 1.5},  {"1,5", '.', 1, 1},     {"1.5;", '.', 3, 1.5}, {"-57.25 dBm", '.', 6, -57.25},
                {"1d3", '.', 3, 1000}, {"1D-3", '.', 4, 1e-3}, {"1e", '.', 1, 1},     {"1e+", '.', 1, 1},
                {"0x10", '.', 1, 0},   {"12dBm", '.', 2, 12},  {"+3,", '.', 2, 3},    {"30e3", '.', 4, 30000},
                {"inf", '.', 0, 7},    {"nan", '.', 0, 7},     {"", '.', 0, 7},       {"-", '.', 0, 7},
                {".", '.', 0, 7},      {"-.", '.', 0, 7},      {"e5", '.', 0, 7},     {" 1", '.', 0, 7},
                {"--1", '.', 0, 7},    {"1.2.3", '.', 3, 1.2}, {"1,234.5", '.', 1, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double value = 7;
        assert_int_equal(spurity_number_parse(rows[i].text, strlen(rows[i].text), rows[i].mark, &value), rows[i].took);
        assert_near(value, rows[i].value, 0);
    }
}

/** Reads nothing beyond the length told: a copy without a NUL in a block of its own size (ASan guards its end). */
static void stops_at_the_length(void **state)
{
    static const char text[] = "146940000.25e1";
    for (size_t n = 0; n < sizeof text; n++) {
        char *copy = malloc(n ? n : 1);
        assert_non_null(copy);
        memcpy(copy, text, n);
        double value = 0;
        assert_true(spurity_number_parse(copy, n, '.', &value) <= n);
        free(copy);
    }
}

static void a_comma_locale_changes_nothing(void **state)
{
    if (!set_comma_locale()) {
        print_message("SKIPPED: no locale with a decimal comma here, and localedef makes none\n");
        skip();
    }
    double fast = 0, slow = 0;
    size_t took_fast = spurity_number_parse("-57.25", 6, '.', &fast);
    size_t took_slow = spurity_number_parse("123456789012345678901.5", 23, '.', &slow);
    setlocale(LC_ALL, "C");
    assert_int_equal(took_fast, 6);
    assert_int_equal(took_slow, 23);
    assert_near(fast, -57.25, 0);
    assert_near(slow, 123456789012345678901.5, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_random_number_is_strtods),
        cmocka_unit_test(hard_numbers_are_strtods),
        cmocka_unit_test(short_numbers_within_text),
        cmocka_unit_test(digits_without_end),
        cmocka_unit_test(what_is_taken),
        cmocka_unit_test(stops_at_the_length),
        cmocka_unit_test(a_comma_locale_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
