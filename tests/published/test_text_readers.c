/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Readers against what others publish.
 *
 * Units: the ratios follow from the definitions of IEC 60027-3 (levels) and the SI; the table's figures are those any
 * handbook of radio measurement gives for 50 and 75 ohm (0 dBm = 106.99 dBuV = 46.99 dBmV = 223.6 mV into 50 ohm,
 * 108.75 dBuV into 75 ohm; 1 W = 30 dBm = 7.07 V; 25 uW = -16.02 dBm).
 * Blocks: IEEE 488.2-1992, 8.7.9 (definite length) and 8.7.10 (indefinite length); reals: IEEE 754-2008 binary32 and
 * binary64, whose bit patterns below are the standard's for these values; special values 9.91E37 and 9.9E37: SCPI-99,
 * volume 1, 7.2.1. */
#include "../check.h"
#include "input/input.h"

static spurity_status read_bytes(const char *name, const void *bytes, size_t size, const spurity_read_options *options,
                                 spurity_notes *notes, spurity_recording **recording, spurity_error *error)
{
    *error = (spurity_error){0};
    return spurity_input_read_memory(name, bytes, size, options, SPURITY_READ_TRACE, 0, notes, NULL, recording, error);
}

/* ---- units of columns ------------------------------------------------------------------------------------- */

struct unit_row {
    const char *unit, *value;
    double ohm, dbm, within;
};

static const struct unit_row units[] = {
    {"dBm", "-16.021", 50, -16.021, 1e-9},
    {"W", "0.000025", 50, -16.021, 5e-4},
    {"uW", "25", 50, -16.021, 5e-4},
    {"\xC2\xB5W", "10", 50, -20.000, 5e-4},
    {"nW", "250", 50, -36.021, 5e-4},
    {"nW", "4", 50, -53.979, 5e-4},
    {"mW", "1", 50, 0, 1e-9},
    {"W", "4.91", 50, 36.911, 5e-4},
    {"W", "50", 50, 46.990, 5e-4},
    {"dBW", "-46.021", 50, -16.021, 1e-9},
    {"dBW", "6.990", 50, 36.990, 1e-9},
    {"dBuV", "106.990", 50, 0, 1e-3},
    {"dBuV", "53.01", 50, -53.979, 5e-3},
    {"dB\xC2\xB5V", "90.97", 50, -16.021, 5e-3},
    {"dBuV", "108.751", 75, 0, 1e-3},
    {"dBmV", "46.990", 50, 0, 1e-3},
    {"dBmV", "48.751", 75, 0, 1e-3},
    {"dBmV", "30.97", 50, -16.021, 5e-3},
    {"dBV", "0", 50, 13.010, 1e-3},
    {"dBV", "0", 75, 11.249, 1e-3},
    {"V", "7.0711", 50, 30, 5e-5},
    {"V", "0.223607", 50, 0, 5e-5},
    {"V", "50.000", 50, 46.990, 5e-4},
    {"mV", "35.355", 50, -16.021, 5e-4},
    {"uV", "447.21", 50, -53.979, 5e-4},
    {"uV", "50", 50, -73.010, 5e-4},
};

static void columns_convert_as_handbooks_do(void **state)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        char text[200];
        spurity_read_options options;
        spurity_read_options_init(&options);
        options.impedance_ohm = units[i].ohm;
        int size = snprintf(text, sizeof text, "Frequency (MHz),Level (%s)\n100,%s\n200,%s\n", units[i].unit,
                            units[i].value, units[i].value);
        spurity_error error;
        spurity_recording *recording = NULL;
        assert_ok(read_bytes("u.csv", text, (size_t)size, &options, NULL, &recording, &error), &error);
        spurity_segment segment;
        assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
        assert_near(segment.level_db[0], units[i].dbm, units[i].within);
        spurity_recording_free(recording);
    }
}

/* ---- blocks ------------------------------------------------------------------------------------------------- */

/* -57.25, -58.5, -60.125, -99.0625 as the standard's bit patterns, high byte first. */
static const unsigned char f32_be[] = {0xC2, 0x65, 0x00, 0x00, 0xC2, 0x6A, 0x00, 0x00,
                                       0xC2, 0x70, 0x80, 0x00, 0xC2, 0xC6, 0x20, 0x00};
static const unsigned char f64_be[] = {0xC0, 0x4C, 0xA0, 0, 0, 0, 0, 0, 0xC0, 0x4D, 0x40, 0, 0, 0, 0, 0,
                                       0xC0, 0x4E, 0x10, 0, 0, 0, 0, 0, 0xC0, 0x58, 0xC4, 0, 0, 0, 0, 0};
static const double levels[] = {-57.25, -58.5, -60.125, -99.0625};

/** A message: header, elements (turned round where the low byte comes first), ending. */
static size_t message(unsigned char *to, const char *header, spurity_element element, const char *ending)
{
    bool wide = element == SPURITY_ELEMENT_F64_BE || element == SPURITY_ELEMENT_F64_LE;
    bool low = element == SPURITY_ELEMENT_F32_LE || element == SPURITY_ELEMENT_F64_LE;
    const unsigned char *from = wide ? f64_be : f32_be;
    size_t width = wide ? 8 : 4, n = strlen(header);
    memcpy(to, header, n);
    for (size_t i = 0; i < 4; i++)
        for (size_t k = 0; k < width; k++)
            to[n++] = from[i * width + (low ? width - 1 - k : k)];
    memcpy(to + n, ending, strlen(ending));
    return n + strlen(ending);
}

static void check_block(const unsigned char *bytes, size_t size, spurity_element element)
{
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.start_hz = 100e6;
    options.stop_hz = 103e6;
    options.element = element;
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes("trace.bin", bytes, size, &options, NULL, &recording, &error), &error);
    spurity_segment segment;
    assert_string_equal(spurity_recording_facts_of(recording)->reader, "block");
    assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
    assert_int_equal(segment.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_near(segment.level_db[i], levels[i], 0);
        assert_near(segment.frequency_hz[i], 100e6 + 1e6 * (double)i, 0);
    }
    spurity_recording_free(recording);
}

static void blocks_read_in_both_orders_and_widths(void **state)
{
    static const struct {
        spurity_element element;
        const char *definite, *padded;
    } kinds[] = {{SPURITY_ELEMENT_F32_BE, "#216", "#40016"},
                 {SPURITY_ELEMENT_F32_LE, "#216", "#40016"},
                 {SPURITY_ELEMENT_F64_BE, "#232", "#40032"},
                 {SPURITY_ELEMENT_F64_LE, "#232", "#40032"}};
    static const char *const endings[] = {"", "\n", "\r\n"};
    unsigned char bytes[200];
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        for (size_t e = 0; e < 3; e++) {
            size_t size = message(bytes, kinds[i].definite, kinds[i].element, endings[e]);
            check_block(bytes, size, kinds[i].element);
            size = message(bytes, kinds[i].padded, kinds[i].element, endings[e]);
            check_block(bytes, size, kinds[i].element);
            size = message(bytes, "#0", kinds[i].element, endings[e]);
            check_block(bytes, size, kinds[i].element);
            size = message(bytes, ":TRACE:DATA ", kinds[i].element, "");
            memmove(bytes + 16, bytes + 12, size - 12); /* header text, then the block */
            memcpy(bytes + 12, kinds[i].definite, 4);
            check_block(bytes, size + 4, kinds[i].element);
        }
}

/** 64 readings with full mantissas: each of the four forms has one plausible reading, which is found. */
static void byte_order_and_width_are_found(void **state)
{
    for (int kind = 0; kind < 4; kind++) {
        unsigned char bytes[700];
        size_t width = kind < 2 ? 4 : 8, n = (size_t)sprintf((char *)bytes, "#3%03zu", 64 * width);
        double want[64];
        for (size_t i = 0; i < 64; i++) {
            float narrow = (float)(-90 + 7 * sin(1.7 * (double)i));
            double wide = -90 + 7 * sin(1.7 * (double)i);
            uint64_t bits = 0;
            uint32_t word = 0;
            memcpy(&word, &narrow, 4);
            memcpy(&bits, &wide, 8);
            bits = width == 4 ? word : bits;
            want[i] = width == 4 ? (double)narrow : wide;
            for (size_t k = 0; k < width; k++)
                bytes[n++] = (unsigned char)(bits >> 8 * (kind % 2 ? k : width - 1 - k));
        }
        spurity_read_options options;
        spurity_read_options_init(&options);
        options.start_hz = 0;
        options.stop_hz = 63e3;
        spurity_error error;
        spurity_recording *recording = NULL;
        spurity_notes *notes = spurity_notes_create();
        assert_ok(read_bytes("trace.bin", bytes, n, &options, notes, &recording, &error), &error);
        spurity_segment segment;
        assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
        assert_int_equal(segment.count, 64);
        for (size_t i = 0; i < 64; i++)
            assert_near(segment.level_db[i], want[i], 0);
        assert_true(spurity_notes_has(notes, SPURITY_NOTE_UNIT_ASSUMED));
        spurity_notes_free(notes);
        spurity_recording_free(recording);
    }
}

static void special_values_are_missing(void **state)
{
    static const char text[] = "-57,9.91E+37,9.9E37,-9.9E+37,-60\n";
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.start_hz = 1e6;
    options.stop_hz = 5e6;
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes("list.txt", text, sizeof text - 1, &options, NULL, &recording, &error), &error);
    spurity_segment segment;
    assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
    assert_int_equal(segment.count, 2);
    assert_int_equal(segment.missing, 3);
    assert_near(segment.frequency_hz[1], 5e6, 0);
    spurity_recording_free(recording);
}

/* ---- RFC 4180 ------------------------------------------------------------------------------------------------- */

/** Section 2: quotes around fields, quotes doubled inside, line breaks and commas inside, CR LF (rules 5 to 7). */
static void quoted_fields_follow_rfc_4180(void **state)
{
    static const char text[] = "\"Frequency\r\n, the \"\"RF\"\" one (MHz)\",\"Level (dBm)\"\r\n"
                               "\"146.94\",\"-57.25\"\r\n\"146.95\",\"-58.5\"\r\n";
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes("quoted.csv", text, sizeof text - 1, NULL, NULL, &recording, &error), &error);
    spurity_segment segment;
    assert_true(spurity_trace_segment(spurity_recording_trace(recording), 0, &segment));
    assert_int_equal(segment.count, 2);
    assert_near(segment.frequency_hz[0], 146.94e6, 1e-6);
    assert_near(segment.level_db[1], -58.5, 0);
    spurity_recording_free(recording);
}

/* ---- SHA-256 ---------------------------------------------------------------------------------------------------- */

/** FIPS 180-4 has no sweep among its examples; a sweep's digest as GNU coreutils' sha256sum gives it. */
static void the_digest_is_sha256sums(void **state)
{
    static const char text[] = "Frequency (MHz),Level (dBm)\n1,-57\n2,-58\n";
    spurity_error error;
    spurity_recording *recording = NULL;
    assert_ok(read_bytes("s.csv", text, sizeof text - 1, NULL, NULL, &recording, &error), &error);
    assert_string_equal(spurity_recording_facts_of(recording)->sha256,
                        "33034c9d8c4359fb75df5f27f6254a60174c44ec5f36fe57d0e497eb030c9e9f");
    spurity_recording_free(recording);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(columns_convert_as_handbooks_do), cmocka_unit_test(blocks_read_in_both_orders_and_widths),
        cmocka_unit_test(byte_order_and_width_are_found),  cmocka_unit_test(special_values_are_missing),
        cmocka_unit_test(quoted_fields_follow_rfc_4180),   cmocka_unit_test(the_digest_is_sha256sums),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
