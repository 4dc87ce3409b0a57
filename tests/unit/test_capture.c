/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Sample formats, their conversion, and the stream.
 *
 * Outside check: conversion against libsndfile reading the same bytes as headerless audio (its documented float
 * normalisation: PCM of b bits x / 2^(b-1), floats as they are), in both byte orders. */
#include "../../lib/capture/capture.h"
#include "../check.h"

#include <sndfile.h>

static spurity_sample_format parsed(const char *name)
{
    spurity_sample_format format = {0};
    assert_true(spurity_sample_format_parse(name, strlen(name), &format, NULL));
    return format;
}

/* ---- names ------------------------------------------------------------------------------------------------- */

static const char *const bare[] = {"f32", "f64", "i32", "i16", "u32", "u16"};

static void every_datatype_has_its_name(void **state)
{
    (void)state;
    int seen = 0;
    for (int c = 0; c < 2; c++) {
        for (size_t i = 0; i < 8; i++) {
            for (int big = 0; big < (i < 6 ? 2 : 1); big++) {
                char name[16], again[16];
                if (i < 6)
                    snprintf(name, sizeof name, "%c%s_%s", c ? 'c' : 'r', bare[i], big ? "be" : "le");
                else
                    snprintf(name, sizeof name, "%c%s", c ? 'c' : 'r', i == 6 ? "i8" : "u8");
                spurity_sample_format format = parsed(name);
                assert_string_equal(spurity_sample_format_name(format, again, 8), name);
                assert_int_equal(format.is_complex, c);
                assert_int_equal(format.big_endian, big);
                size_t width = strstr(name, "64") ? 8 : strstr(name, "32") ? 4 : strstr(name, "16") ? 2 : 1;
                assert_int_equal(spurity_sample_format_bytes(format), width * (c ? 2 : 1));
                seen++;
            }
        }
    }
    assert_int_equal(seen, 28);
}

static void looser_spellings(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good, assumed;
        const char *name;
    } rows[] = {
        {"ci16", true, true, "ci16_le"}, {"CF32_LE", true, false, "cf32_le"},
        {"ci8_le", true, false, "ci8"},  {"cu8_be", true, false, "cu8"},
        {"rf64", true, true, "rf64_le"}, {"cf32_leX", false, false, ""},
        {"cf16_le", false, false, ""},   {"ci64_le", false, false, ""},
        {"xi16_le", false, false, ""},   {"c", false, false, ""},
        {"", false, false, ""},          {"ci16_", false, false, ""},
        {"ci16_lee", false, false, ""},  {"ci16le", false, false, ""},
        {"i16_le", false, false, ""},    {"ci", false, false, ""},
        {"ci1", false, false, ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_sample_format format;
        bool assumed = !rows[i].assumed;
        char name[8];
        if (rows[i].good != spurity_sample_format_parse(rows[i].text, strlen(rows[i].text), &format, &assumed))
            fail_msg("'%s'", rows[i].text);
        if (!rows[i].good)
            continue;
        assert_int_equal(assumed, rows[i].assumed);
        assert_string_equal(spurity_sample_format_name(format, name, sizeof name), rows[i].name);
    }
}

/* ---- conversion -------------------------------------------------------------------------------------------- */

static void put(unsigned char *at, uint64_t word, unsigned bytes, bool big)
{
    for (unsigned k = 0; k < bytes; k++)
        at[big ? bytes - 1 - k : k] = (unsigned char)(word >> (8 * k));
}

/* Words worked by hand from the definition in capture.h. */
static const struct known {
    const char *component;
    unsigned bytes;
    uint64_t words[6];
    double values[6];
} known[] = {
    {"u8", 1, {0, 255, 127, 128, 64, 192}, {-127.5 / 128, 127.5 / 128, -0.5 / 128, 0.5 / 128, -63.5 / 128, 64.5 / 128}},
    {"i8", 1, {0x80, 0x7F, 0, 1, 0xFF, 0x40}, {-1, 127.0 / 128, 0, 1.0 / 128, -1.0 / 128, 0.5}},
    {"u16", 2, {0, 0xFFFF, 0x8000, 0x8001, 0x7FFF, 0xC000}, {-1, 32767.0 / 32768, 0, 1 / 32768.0, -1 / 32768.0, 0.5}},
    {"i16",
     2,
     {0x8000, 0x7FFF, 0, 1, 0xFFFF, 0x1234},
     {-1, 32767.0 / 32768, 0, 1 / 32768.0, -1 / 32768.0, 4660 / 32768.0}},
    {"u32",
     4,
     {0, 0xC0000000, 0x80000000, 0x80000100, 0x40000000, 0x12345600},
     {-1, 0.5, 0, 256 / 2147483648.0, -0.5, -1842063872 / 2147483648.0}},
    {"i32",
     4,
     {0x80000000, 0x40000000, 0, 0x100, 0xFFFFFF00, 0x12345600},
     {-1, 0.5, 0, 256 / 2147483648.0, -256 / 2147483648.0, 305419776 / 2147483648.0}},
    /* IEEE 754: sign, biased exponent, fraction */
    {"f32", 4, {0x3F800000, 0xBF000000, 0, 0x40200000, 0x3E800000, 0xC1200000}, {1, -0.5, 0, 2.5, 0.25, -10}},
    {"f64",
     8,
     {0x3FF0000000000000, 0xBFE0000000000000, 0, 0x4004000000000000, 0x3FD0000000000000, 0xC024000000000000},
     {1, -0.5, 0, 2.5, 0.25, -10}},
};

static void check_known(const struct known *row, bool is_complex, bool big, bool swapped)
{
    enum { TIMES = 7 }; /* 42 components: vector loops and their remainders */
    unsigned char bytes[1 + TIMES * 6 * 8];
    float got[TIMES * 6 + 1];
    char name[16];
    snprintf(name, sizeof name, "%c%s%s", is_complex ? 'c' : 'r', row->component,
             row->bytes == 1 ? "" : (big ? "_be" : "_le"));
    for (size_t i = 0; i < TIMES * 6; i++)
        put(bytes + 1 + i * row->bytes, row->words[i % 6], row->bytes, big);
    spurity_sample_format format = parsed(name);
    format.swapped = swapped;
    got[TIMES * 6] = 77; /* nothing is written behind the end */
    spurity_sample_convert(format, bytes + 1, is_complex ? TIMES * 3 : TIMES * 6, got);
    for (size_t i = 0; i < TIMES * 6; i++) {
        size_t from = swapped && is_complex ? i ^ 1 : i;
        if (got[i] != (float)row->values[from % 6])
            fail_msg("%s%s, component %zu: %.9g, not %.9g", name, swapped ? " swapped" : "", i, (double)got[i],
                     row->values[from % 6]);
    }
    assert_true(got[TIMES * 6] == 77.0f);
}

static void every_datatype_converts(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        for (int way = 0; way < 8; way++)
            check_known(&known[i], way & 1, way & 2, way & 4);
}

struct bytes {
    const unsigned char *at;
    sf_count_t size, next;
};
static sf_count_t length_of(void *user)
{
    return ((struct bytes *)user)->size;
}
static sf_count_t seek_to(sf_count_t offset, int whence, void *user)
{
    struct bytes *bytes = user;
    return bytes->next = offset + (whence == SEEK_SET ? 0 : whence == SEEK_CUR ? bytes->next : bytes->size);
}
static sf_count_t read_from(void *into, sf_count_t count, void *user)
{
    struct bytes *bytes = user;
    sf_count_t n = count < bytes->size - bytes->next ? count : bytes->size - bytes->next;
    memcpy(into, bytes->at + bytes->next, (size_t)n);
    bytes->next += n;
    return n;
}
static sf_count_t tell(void *user)
{
    return ((struct bytes *)user)->next;
}

/* u16 and u32 are unknown to that library; its u8 has 128 as middle: half a step above ours. */
static void as_an_audio_library_does(void **state)
{
    (void)state;
    enum { BYTES = 8 * 500 };
    static const struct {
        const char *name;
        int format;
        double add;
    } rows[] = {
        {"ri8", SF_FORMAT_PCM_S8, 0},
        {"ru8", SF_FORMAT_PCM_U8, 0.5 / 128},
        {"ri16_le", SF_FORMAT_PCM_16 | SF_ENDIAN_LITTLE, 0},
        {"ri16_be", SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 0},
        {"ri32_le", SF_FORMAT_PCM_32 | SF_ENDIAN_LITTLE, 0},
        {"ri32_be", SF_FORMAT_PCM_32 | SF_ENDIAN_BIG, 0},
        {"rf32_le", SF_FORMAT_FLOAT | SF_ENDIAN_LITTLE, 0},
        {"rf32_be", SF_FORMAT_FLOAT | SF_ENDIAN_BIG, 0},
        {"rf64_le", SF_FORMAT_DOUBLE | SF_ENDIAN_LITTLE, 0},
        {"rf64_be", SF_FORMAT_DOUBLE | SF_ENDIAN_BIG, 0},
    };
    unsigned char bytes[BYTES];
    uint32_t seed = 12345;
    for (size_t i = 0; i < BYTES; i++)
        bytes[i] = (unsigned char)((seed = seed * 1664525u + 1013904223u) >> 24);
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
        float ours[BYTES], theirs[BYTES];
        spurity_sample_format format = parsed(rows[r].name);
        size_t count = BYTES / spurity_sample_format_bytes(format);
        struct bytes file = {.at = bytes, .size = BYTES};
        SF_VIRTUAL_IO io = {.get_filelen = length_of, .seek = seek_to, .read = read_from, .tell = tell};
        SF_INFO info = {.samplerate = 48000, .channels = 1, .format = SF_FORMAT_RAW | rows[r].format};
        SNDFILE *audio = sf_open_virtual(&io, SFM_READ, &info, &file);
        assert_non_null(audio);
        assert_int_equal(sf_readf_float(audio, theirs, (sf_count_t)count), count);
        sf_close(audio);
        spurity_sample_convert(format, bytes, count, ours);
        for (size_t i = 0; i < count; i++) {
            double want = (double)theirs[i] + rows[r].add;
            if (isnan(want) ? !isnan(ours[i]) : fabs((double)ours[i] - want) > 6e-8 * fabs(want))
                fail_msg("%s, sample %zu: %.9g, not %.9g", rows[r].name, i, (double)ours[i], want);
        }
    }
}

static void rails_are_what_the_ends_convert_to(void **state)
{
    (void)state;
    for (size_t i = 0; i < 6; i++) { /* integers */
        char name[16];
        unsigned char bytes[32];
        float ends[2];
        double low, high;
        bool is_signed = known[i].component[0] == 'i';
        uint64_t top = (uint64_t)1 << (8 * known[i].bytes - 1);
        put(bytes, is_signed ? top : 0, known[i].bytes, false);
        put(bytes + known[i].bytes, is_signed ? top - 1 : 2 * top - 1, known[i].bytes, false);
        snprintf(name, sizeof name, "r%s%s", known[i].component, known[i].bytes == 1 ? "" : "_le");
        spurity_sample_convert(parsed(name), bytes, 2, ends);
        spurity_capture_rails(parsed(name).component, &low, &high);
        assert_true(ends[0] == (float)low && ends[1] == (float)high);
    }
    double low, high;
    spurity_capture_rails(SPURITY_COMPONENT_F32, &low, &high);
    assert_true(isnan(low) && isnan(high));
}

/* ---- stream ------------------------------------------------------------------------------------------------ */

/* Hands out at most three samples a call, as a pipe might. */
struct drip {
    unsigned next, end;
    bool closed;
};
static spurity_status drip_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    (void)error;
    struct drip *drip = user;
    for (*got = 0; *got < samples && *got < 3 && drip->next < drip->end; ++*got)
        ((unsigned char *)into)[*got] = (unsigned char)drip->next++;
    return SPURITY_OK;
}
static void drip_close(void *user)
{
    ((struct drip *)user)->closed = true;
}

static void a_stream_is_read_whole(void **state)
{
    (void)state;
    struct drip drip = {.end = 10};
    spurity_capture_segment segment = {.center_hz = 5};
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.format = parsed("ru8");
    facts.rate_hz = 1;
    facts.segments = &segment;
    facts.segment_count = 1;
    spurity_capture *capture;
    spurity_error error = {0};
    unsigned char bytes[16];
    size_t got;
    assert_ok(spurity_capture_create(&facts,
                                     &(spurity_capture_stream){.read = drip_read, .close = drip_close, .user = &drip},
                                     &capture, &error),
              &error);
    segment.center_hz = 6; /* copied */
    assert_near(spurity_capture_facts_of(capture)->segments[0].center_hz, 5, 0);
    assert_ok(spurity_capture_read(capture, bytes, 7, &got, &error), &error);
    assert_int_equal(got, 7);
    assert_int_equal(spurity_capture_at(capture), 7);
    assert_ok(spurity_capture_read(capture, bytes, 16, &got, &error), &error);
    assert_int_equal(got, 3);
    assert_int_equal(bytes[2], 9);
    assert_ok(spurity_capture_read(capture, bytes, 16, &got, &error), &error);
    assert_int_equal(got, 0);
    assert_false(spurity_capture_can_seek(capture));
    assert_int_equal(spurity_capture_seek(capture, 0, &error), SPURITY_UNSUPPORTED);
    spurity_capture_free(capture);
    assert_true(drip.closed);
}

static void memory_holds_whole_samples(void **state)
{
    (void)state;
    static const unsigned char bytes[] = {1, 0, 2, 0, 3, 0, 4, 0, 5, 0}; /* two and a half */
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.rate_hz = 1000;
    spurity_capture *capture;
    spurity_error error = {0};
    unsigned char got_bytes[16];
    size_t got;
    assert_ok(spurity_capture_from_memory(&facts, bytes, sizeof bytes, &capture, &error), &error);
    assert_int_equal(spurity_capture_facts_of(capture)->samples, 2);
    assert_int_equal(spurity_capture_facts_of(capture)->segment_count, 1);
    assert_true(isnan(spurity_capture_facts_of(capture)->segments[0].center_hz));
    assert_ok(spurity_capture_read(capture, got_bytes, 4, &got, &error), &error);
    assert_int_equal(got, 2);
    assert_memory_equal(got_bytes, bytes, 8);
    assert_ok(spurity_capture_seek(capture, 1, &error), &error);
    assert_ok(spurity_capture_read(capture, got_bytes, 4, &got, &error), &error);
    assert_int_equal(got, 1);
    assert_int_equal(got_bytes[0], 3);
    assert_ok(spurity_capture_seek(capture, 9, &error), &error);
    assert_ok(spurity_capture_read(capture, got_bytes, 4, &got, &error), &error);
    assert_int_equal(got, 0);
    spurity_capture_free(capture);
}

static void facts_that_cannot_be(void **state)
{
    (void)state;
    spurity_capture_segment segments[2] = {{.first = 0}, {.first = 4}};
    spurity_capture_facts facts;
    spurity_capture_facts_init(&facts);
    facts.segments = segments;
    facts.segment_count = 2;
    for (int which = 0; which < 7; which++) {
        static const double rates[] = {0, -1, NAN, INFINITY, 1, 1, 1};
        spurity_capture *capture;
        spurity_error error = {0};
        facts.rate_hz = rates[which];
        segments[0].first = which == 4;
        segments[1].first = which == 5 ? 0 : 4;
        bool good = which == 6;
        assert_int_equal(spurity_capture_from_memory(&facts, "", 0, &capture, &error),
                         good ? SPURITY_OK : SPURITY_INVALID);
        assert_true(good == (capture != NULL) && good == !*error.found);
        spurity_capture_free(capture);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_datatype_has_its_name),
        cmocka_unit_test(looser_spellings),
        cmocka_unit_test(every_datatype_converts),
        cmocka_unit_test(as_an_audio_library_does),
        cmocka_unit_test(rails_are_what_the_ends_convert_to),
        cmocka_unit_test(a_stream_is_read_whole),
        cmocka_unit_test(memory_holds_whole_samples),
        cmocka_unit_test(facts_that_cannot_be),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
