/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Captures: every container, every fault of metadata, what the user says over it.
 *
 * Outside checks: archives are written by libarchive, audio files by libsndfile, and the open recordings (folder by
 * SPURITY_DATA; its README tells their mean powers, taken with numpy, and their SHA-512) are read. */
#include <archive.h>
#include <archive_entry.h>
#include <fcntl.h>
#include <ftw.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include "../check.h"
#include "input/input.h"

/* ---- a folder, and what stands in it -------------------------------------------------------------------------- */

static char folder[64];

static const char *in_folder(const char *name)
{
    static char paths[4][512];
    static unsigned turn;
    char *path = paths[turn++ % 4];
    snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static void put(const char *name, const void *bytes, size_t size)
{
    FILE *file = fopen(in_folder(name), "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    fclose(file);
}

static void put_text(const char *name, const char *text)
{
    put(name, text, strlen(text));
}

static int drop(const char *path, const struct stat *about, int type, struct FTW *walk)
{
    (void)about;
    (void)type;
    (void)walk;
    return remove(path);
}
static int make_folder(void **state)
{
    (void)state;
    strcpy(folder, "spurity-capture-XXXXXX");
    return mkdtemp(folder) ? 0 : 1;
}
static int drop_folder(void **state)
{
    (void)state;
    return nftw(folder, drop, 8, FTW_DEPTH | FTW_PHYS);
}

/* ---- reading ----------------------------------------------------------------------------------------------------- */

struct answer {
    spurity_status status;
    spurity_recording *recording;
    spurity_notes *notes;
    spurity_error error;
    char text[1000];
};

static void look(struct answer *answer)
{
    spurity_error_describe(&answer->error, answer->text, sizeof answer->text);
    assert_true((answer->status == SPURITY_OK) == (answer->recording != NULL));
    assert_int_equal(answer->status, answer->error.status);
}

static struct answer read_path(const char *path, const spurity_read_options *options)
{
    struct answer answer = {.notes = spurity_notes_create()};
    answer.status =
        spurity_input_read(path, options, SPURITY_READ_TRACE, 0, answer.notes, NULL, &answer.recording, &answer.error);
    look(&answer);
    return answer;
}

static void forget(struct answer *answer)
{
    spurity_recording_free(answer->recording);
    spurity_notes_free(answer->notes);
    *answer = (struct answer){0};
}

static const spurity_finding *finding(const struct answer *answer, const char *what)
{
    for (size_t i = 0; i < spurity_recording_finding_count(answer->recording); i++)
        if (!strcmp(spurity_recording_finding(answer->recording, i)->what, what))
            return spurity_recording_finding(answer->recording, i);
    return NULL;
}

/** The whole capture as floats, at most `most`; how many. */
static size_t take_floats(struct answer *answer, float *into, size_t most)
{
    if (answer->status)
        fail_msg("%s", answer->text);
    spurity_capture *capture = spurity_recording_take_capture(answer->recording);
    assert_non_null(capture);
    assert_null(spurity_recording_take_capture(answer->recording));
    const spurity_capture_facts *facts = spurity_capture_facts_of(capture);
    const size_t bytes = spurity_sample_format_bytes(facts->format), each = facts->format.is_complex ? 2 : 1;
    unsigned char *packed = malloc(most * bytes + 1);
    size_t got;
    assert_non_null(packed);
    assert_ok(spurity_capture_read(capture, packed, most / each, &got, &answer->error), &answer->error);
    spurity_sample_convert(facts->format, packed, got, into);
    free(packed);
    spurity_capture_free(capture);
    return got * each;
}

static void expect_floats(struct answer *answer, const float *want, size_t count)
{
    float got[64];
    assert_int_equal(take_floats(answer, got, 64), count);
    for (size_t i = 0; i < count; i++)
        if (got[i] != want[i])
            fail_msg("component %zu: %g, not %g", i, (double)got[i], (double)want[i]);
}

static void expect_refused(const char *what, struct answer *answer, spurity_status status, const char *words)
{
    if (answer->status != status || !strstr(answer->text, words))
        fail_msg("%s: status %d (%s), expected %d with '%s'", what, answer->status, answer->text, status, words);
    forget(answer);
}

/* ---- good recordings ----------------------------------------------------------------------------------------------
 */

#define GLOBAL "\"global\":{\"core:datatype\":\"ci8\",\"core:version\":\"1.2.5\",\"core:sample_rate\":1000"
#define ONE "\"captures\":[{\"core:sample_start\":0,\"core:frequency\":146.94e6}],\"annotations\":[]"

/* Eight complex samples of 8 bit: component k has the value k. */
static const signed char steps[16] = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15};

static void put_recording(const char *meta)
{
    put_text("a.sigmf-meta", meta);
    put("a.sigmf-data", steps, sizeof steps);
}

static const struct good {
    const char *meta, *segments, *samples; /* segments: "first:centre ..."; samples: I of each */
    const char *note;                      /* code of the only note, NULL: none */
} goods[] = {
    {"{" GLOBAL "}," ONE "}", "0:146940000", "0 2 4 6 8 10 12 14", NULL},
    {"\xEF\xBB\xBF{" GLOBAL "}," ONE "}", "0:146940000", "0 2 4 6 8 10 12 14", NULL},
    {"{" GLOBAL "},\"captures\":[]}", "0:nan", "0 2 4 6 8 10 12 14", NULL},
    /* retuned in between */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6},{\"core:sample_start\":3,"
     "\"core:frequency\":2e6}],\"annotations\":[]}",
     "0:1000000 3:2000000", "0 2 4 6 8 10 12 14", NULL},
    /* carry-over: a frequency never applies to the next segment */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6},{\"core:sample_start\":3}]}",
     "0:1000000 3:nan", "0 2 4 6 8 10 12 14", NULL},
    /* neighbours of equal facts are one; but not where samples were lost between them */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6},{\"core:sample_start\":3,"
     "\"core:frequency\":1e6}]}",
     "0:1000000", "0 2 4 6 8 10 12 14", NULL},
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:global_index\":5},{\"core:sample_start\":3,"
     "\"core:global_index\":8}]}",
     "0:nan", "0 2 4 6 8 10 12 14", NULL},
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:global_index\":5},{\"core:sample_start\":3,"
     "\"core:global_index\":9}]}",
     "0:nan 3:nan", "0 2 4 6 8 10 12 14", NULL},
    /* out of order */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":4,\"core:frequency\":2e6},{\"core:sample_start\":0,"
     "\"core:frequency\":1e6}]}",
     "0:1000000 4:2000000", "0 2 4 6 8 10 12 14", NULL},
    /* two begin at one sample: the later one holds */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6},{\"core:sample_start\":0,"
     "\"core:frequency\":2e6}]}",
     "0:2000000", "0 2 4 6 8 10 12 14", NULL},
    /* what stands before the first segment is none of it */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":2,\"core:frequency\":1e6}]}", "0:1000000", "4 6 8 10 12 14",
     NULL},
    /* headers before each segment: sample i stands at sum of headers + i * 2 */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6,\"core:header_bytes\":4},"
     "{\"core:sample_start\":2,\"core:frequency\":2e6,\"core:header_bytes\":2}]}",
     "0:1000000 2:2000000", "4 6 10 12 14", NULL},
    {"{" GLOBAL ",\"core:trailing_bytes\":6},\"captures\":[{\"core:sample_start\":0}]}", "0:nan", "0 2 4 6 8", NULL},
    {"{" GLOBAL ",\"core:trailing_bytes\":6},\"captures\":[]}", "0:nan", "0 2 4 6 8", NULL},
    /* offset: indices count from a longer original; or, as some have it, do not */
    {"{" GLOBAL ",\"core:offset\":100},\"captures\":[{\"core:sample_start\":100,\"core:frequency\":1e6},"
     "{\"core:sample_start\":106,\"core:frequency\":2e6}]}",
     "0:1000000 6:2000000", "0 2 4 6 8 10 12 14", NULL},
    {"{" GLOBAL ",\"core:offset\":100},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6}]}", "0:1000000",
     "0 2 4 6 8 10 12 14", NULL},
    /* shorter than told */
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6},{\"core:sample_start\":8,"
     "\"core:frequency\":2e6}]}",
     "0:1000000", "0 2 4 6 8 10 12 14", "file-shorter"},
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":1e6},{\"core:sample_start\":"
     "9223372036854775807,\"core:frequency\":2e6}]}",
     "0:1000000", "0 2 4 6 8 10 12 14", "file-shorter"},
    {"{" GLOBAL "},"
     "\"captures\":[{\"core:sample_start\":0}],\"annotations\":[{\"core:sample_start\":6,"
     "\"core:sample_count\":3}]}",
     "0:nan", "0 2 4 6 8 10 12 14", "file-shorter"},
    {"{" GLOBAL ",\"core:trailing_bytes\":1},\"captures\":[]}", "0:nan", "0 2 4 6 8 10 12", "file-shorter"},
    {"{" GLOBAL ",\"core:trailing_bytes\":1},\"captures\":[{\"core:sample_start\":0}]}", "0:nan", "0 2 4 6 8 10 12",
     "file-shorter"},
    /* several channels, frame by frame: four frames of two complex channels, the first by --channel 1 */
    {"{" GLOBAL ",\"core:num_channels\":2}," ONE "}", "0:146940000", "0 4 8 12", NULL},
    /* seen in the wild */
    {"{\"global\":{\"core:datatype\":\"CI8_le\",\"core:version\":\"v1.0.0\",\"core:sampling_rate\":1e3},"
     "\"capture\":[{\"core:sample_start\":0.0,\"core:frequency\":5}],\"annotations\":[]}",
     "0:5", "0 2 4 6 8 10 12 14", NULL},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":1000,\"core:extensions\":[{\"name\":\"antenna\","
     "\"version\":\"1.0.0\",\"optional\":false},{\"name\":\"odd\",\"version\":\"1\",\"optional\":true}]}," ONE "}",
     "0:146940000", "0 2 4 6 8 10 12 14", NULL},
    {"{" GLOBAL "},\"captures\":[{\"core:sample_start\":0,\"core:frequency\":-5e3,\"core:header_bytes\":null}]}",
     "0:-5000", "0 2 4 6 8 10 12 14", NULL},
    {"{" GLOBAL ",\"spurity:full_scale_dbm\":-12.5},\"captures\":[]}", "0:nan", "0 2 4 6 8 10 12 14", NULL},
};

static void check_segments(const struct answer *answer, const char *want)
{
    char got[200] = "";
    const spurity_capture_facts *facts = spurity_capture_facts_of(spurity_recording_capture(answer->recording));
    for (size_t i = 0; i < facts->segment_count; i++)
        snprintf(got + strlen(got), sizeof got - strlen(got), "%s%llu:%.0f", i ? " " : "",
                 (unsigned long long)facts->segments[i].first, facts->segments[i].center_hz);
    assert_string_equal(got, want);
}

static void good_recordings(void **state)
{
    (void)state;
    spurity_read_options options;
    spurity_read_options_init(&options);
    for (size_t i = 0; i < sizeof goods / sizeof *goods; i++) {
        float values[16];
        char got[100] = "";
        put_recording(goods[i].meta);
        options.channel = strstr(goods[i].meta, "num_channels") ? 1 : 0;
        struct answer answer = read_path(in_folder("a.sigmf-meta"), &options);
        if (answer.status)
            fail_msg("%s: %s", goods[i].meta, answer.text);
        check_segments(&answer, goods[i].segments);
        assert_int_equal(spurity_notes_count(answer.notes), goods[i].note ? 1 : 0);
        if (goods[i].note)
            assert_string_equal(spurity_note_code_name(spurity_notes_at(answer.notes, 0)->code), goods[i].note);
        const uint64_t promised = spurity_recording_facts_of(answer.recording)->samples;
        size_t count = take_floats(&answer, values, 16);
        assert_int_equal(count, 2 * promised);
        for (size_t k = 0; k < count; k += 2)
            snprintf(got + strlen(got), sizeof got - strlen(got), "%s%.0f", k ? " " : "", (double)values[k] * 128);
        if (strcmp(got, goods[i].samples))
            fail_msg("%s: samples %s, not %s", goods[i].meta, got, goods[i].samples);
        forget(&answer);
    }
}

static void seeking_crosses_pieces(void **state)
{
    (void)state;
    put_recording(goods[11].meta); /* pieces "4 6" and "10 12 14" */
    struct answer answer = read_path(in_folder("a.sigmf-data"), NULL);
    if (answer.status)
        fail_msg("%s", answer.text);
    static const signed char firsts[] = {4, 6, 10, 12, 14};
    spurity_capture *capture = spurity_recording_take_capture(answer.recording);
    forget(&answer); /* the capture stands alone */
    spurity_error error = {0};
    assert_true(spurity_capture_can_seek(capture));
    for (int k = 9; k >= 0; k--) {
        signed char bytes[16];
        size_t got;
        assert_ok(spurity_capture_seek(capture, (uint64_t)k, &error), &error);
        assert_int_equal(spurity_capture_at(capture), k);
        assert_ok(spurity_capture_read(capture, bytes, 8, &got, &error), &error);
        assert_int_equal(got, k < 5 ? 5 - k : 0);
        for (int i = 0; i < (int)got; i++)
            assert_int_equal(bytes[2 * i], firsts[k + i]);
    }
    spurity_capture_free(capture);
}

/* Every datatype through a file, both orders of bytes, swapped and not: the conversion itself is test_capture's. */
static void every_datatype_from_a_file(void **state)
{
    (void)state;
    static const char *const components[] = {"u8",     "i8",     "u16_le", "u16_be", "i16_le", "i16_be", "u32_le",
                                             "u32_be", "i32_le", "i32_be", "f32_le", "f32_be", "f64_le", "f64_be"};
    unsigned char bytes[64];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (unsigned char)(i * 37 + 11);
    put("a.sigmf-data", bytes, sizeof bytes);
    for (size_t i = 0; i < 28 * 2; i++) {
        char name[16], meta[300];
        float want[64];
        spurity_sample_format format;
        spurity_read_options options;
        spurity_read_options_init(&options);
        snprintf(name, sizeof name, "%c%s", i & 1 ? 'c' : 'r', components[i / 4]);
        options.swapped = (i & 2) && (i & 1);
        snprintf(meta, sizeof meta,
                 "{\"global\":{\"core:datatype\":\"%s\",\"core:version\":\"1.0.0\","
                 "\"core:sample_rate\":48000}," ONE "}",
                 name);
        put_text("a.sigmf-meta", meta);
        assert_true(spurity_sample_format_parse(name, strlen(name), &format, NULL));
        format.swapped = options.swapped;
        const size_t samples = sizeof bytes / spurity_sample_format_bytes(format);
        spurity_sample_convert(format, bytes, samples, want);
        struct answer answer = read_path(in_folder("a.sigmf-meta"), &options);
        float got[64];
        assert_int_equal(take_floats(&answer, got, 64), samples * (format.is_complex ? 2 : 1));
        assert_memory_equal(got, want, samples * (format.is_complex ? 2 : 1) * sizeof *got);
        char again[8];
        assert_string_equal(
            spurity_sample_format_name(spurity_recording_facts_of(answer.recording)->datatype, again, sizeof again),
            name);
        forget(&answer);
    }
}

/* Sparse, so that it takes no room: nothing is read but what is asked, offsets are of 64 bit. */
static void a_file_beyond_four_gibibytes(void **state)
{
    (void)state;
    const uint64_t size = (uint64_t)5 << 30;
    put_recording("{" GLOBAL ",\"core:dataset\":\"big.bin\"},\"captures\":[{\"core:sample_start\":0},"
                  "{\"core:sample_start\":2500000000,\"core:frequency\":5}]}");
    put("big.bin", "", 0);
    assert_int_equal(truncate(in_folder("big.bin"), (off_t)size - 16), 0);
    FILE *file = fopen(in_folder("big.bin"), "ab");
    assert_int_equal(fwrite(steps, 1, sizeof steps, file), sizeof steps);
    fclose(file);
    struct answer answer = read_path(in_folder("a.sigmf-meta"), NULL);
    assert_ok(answer.status, &answer.error);
    check_segments(&answer, "0:nan 2500000000:5");
    assert_true(spurity_recording_facts_of(answer.recording)->samples == size / 2);
    assert_string_equal(spurity_recording_facts_of(answer.recording)->sha256, ""); /* over 64 MiB, and not asked */
    spurity_capture *capture = spurity_recording_take_capture(answer.recording);
    signed char bytes[64];
    size_t got;
    assert_ok(spurity_capture_seek(capture, size / 2 - 5, &answer.error), &answer.error);
    assert_ok(spurity_capture_read(capture, bytes, 32, &got, &answer.error), &answer.error);
    assert_int_equal(got, 5);
    assert_memory_equal(bytes, steps + 6, 10);
    spurity_capture_free(capture);
    forget(&answer);
}

/* A recording's own calibration, for all of it or for each capture; --full-scale goes before it, and says so. */
static void full_scale_of_its_own(void **state)
{
    (void)state;
    static const char each[] = "{" GLOBAL ",\"spurity:full_scale_dbm\":-3},\"captures\":[{\"core:sample_start\":0,"
                               "\"spurity:full_scale_dbm\":-12.5},{\"core:sample_start\":3,"
                               "\"spurity:full_scale_dbm\":-12.5}]}";
    spurity_read_options options;
    spurity_read_options_init(&options);
    put_recording(each);
    struct answer answer = read_path(in_folder("a.sigmf-meta"), &options);
    assert_int_equal(answer.status, SPURITY_OK);
    assert_near(spurity_recording_facts_of(answer.recording)->full_scale_dbm, -12.5, 0);
    assert_near(spurity_capture_facts_of(spurity_recording_capture(answer.recording))->full_scale_dbm, -12.5, 0);
    assert_int_equal(spurity_notes_count(answer.notes), 0);
    forget(&answer);
    options.full_scale_dbm = -20;
    answer = read_path(in_folder("a.sigmf-meta"), &options);
    assert_int_equal(answer.status, SPURITY_OK);
    assert_near(spurity_capture_facts_of(spurity_recording_capture(answer.recording))->full_scale_dbm, -20, 0);
    assert_true(spurity_notes_has(answer.notes, SPURITY_NOTE_DUPLICATE_METADATA));
    forget(&answer);
}

/* ---- bad ones ------------------------------------------------------------------------------------------------------
 */

#define G(more) "{" GLOBAL more "}," ONE "}"
#define C(captures) "{" GLOBAL "},\"captures\":[" captures "]}"

static const struct bad {
    const char *meta, *words;
} bads[] = {
    {"{", "line 1, column 1"},
    {"{\n\"global\": nonsense\n}", "line 2"},
    {"{" GLOBAL ",\"core:datatype\":\"cu8\"}," ONE "}", "duplicate"},
    {"{" GLOBAL "}," ONE "} trailing", "end of file expected"},
    {"{" GLOBAL "}," ONE ",}", "a fault of the JSON"},
    {"[]", "found an array"},
    {"{\"core:x\":1}", "'global': missing"},
    {"{\"global\":[],\"core:x\":1}", "'global': an array"},
    {"{" GLOBAL "}}", "'captures': missing"},
    {"{" GLOBAL "},\"captures\":{}}", "'captures': an object"},
    {"{" GLOBAL "},\"captures\":[7]}", "'captures[0]': a number"},
    {"{" GLOBAL "},\"captures\":[],\"annotations\":{}}", "'annotations': an object"},
    {"{" GLOBAL "},\"captures\":[],\"annotations\":[[]]}", "'annotations[0]': an array"},
    {"{" GLOBAL "},\"captures\":[],\"annotations\":[{\"core:sample_start\":-1}]}",
     "'annotations[0].core:sample_start'"},
    {"{\"global\":{\"core:sample_rate\":1},\"captures\":[]}", "'global.core:datatype': missing"},
    {"{\"global\":{\"core:datatype\":16,\"core:sample_rate\":1},\"captures\":[]}", "'global.core:datatype': a number"},
    {"{\"global\":{\"core:datatype\":\"cf16_le\",\"core:sample_rate\":1},\"captures\":[]}", "'cf16_le'"},
    {"{\"global\":{\"core:datatype\":\"cf32_leXX\",\"core:sample_rate\":1},\"captures\":[]}", "'cf32_leXX'"},
    {"{\"global\":{\"core:datatype\":\"ci8\"},\"captures\":[]}", "--rate"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":\"1000\"},\"captures\":[]}",
     "'global.core:sample_rate': a string"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":0},\"captures\":[]}", "'global.core:sample_rate': 0"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":-5},\"captures\":[]}",
     "'global.core:sample_rate': -5"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":1e300},\"captures\":[]}", "1e+300"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":1e999},\"captures\":[]}", "a fault of the JSON"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":NaN},\"captures\":[]}", "a fault of the JSON"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:sample_rate\":\"NaN\"},\"captures\":[]}", "a string"},
    {"{\"global\":{\"core:datatype\":\"ci8\",\"core:version\":\"2.0.0\",\"core:sample_rate\":1},\"captures\":[]}",
     "'global.core:version': '2.0.0'"},
    {G(",\"spurity:full_scale_dbm\":\"-10\""), "'global.spurity:full_scale_dbm': a string"},
    {G(",\"spurity:full_scale_dbm\":900"), "'global.spurity:full_scale_dbm': 900"},
    {C("{\"core:sample_start\":0,\"spurity:full_scale_dbm\":-10},{\"core:sample_start\":3}"),
     "'captures[1].spurity:full_scale_dbm': missing"},
    {C("{\"core:sample_start\":0},{\"core:sample_start\":3,\"spurity:full_scale_dbm\":-10}"),
     "'captures[0].spurity:full_scale_dbm': missing"},
    {C("{\"core:sample_start\":0,\"spurity:full_scale_dbm\":-10},{\"core:sample_start\":3,"
       "\"spurity:full_scale_dbm\":-20}"),
     "'captures[1].spurity:full_scale_dbm': -20"},
    {G(",\"core:num_channels\":0"), "'global.core:num_channels': 0"},
    {G(",\"core:num_channels\":-1"), "'global.core:num_channels': -1"},
    {G(",\"core:num_channels\":1.5"), "'global.core:num_channels': 1.5"},
    {G(",\"core:num_channels\":99999999999"), "'global.core:num_channels': more"},
    {G(",\"core:num_channels\":2"), "--channel 1"},
    {G(",\"core:num_channels\":1000"), "less"}, /* with --channel 1, below */
    {G(",\"core:offset\":-1"), "'global.core:offset'"},
    {G(",\"core:trailing_bytes\":17"), "a data file of 16"},
    {G(",\"core:trailing_bytes\":16"), "end before the first sample"},
    {G(",\"core:sha512\":\"abc\""), "'global.core:sha512'"},
    {G(",\"core:extensions\":7"), "'global.core:extensions': a number"},
    {G(",\"core:extensions\":[7]"), "'global.core:extensions[0]': a number"},
    {G(",\"core:extensions\":[{\"name\":\"odd\",\"version\":\"1\",\"optional\":false}]"), "the extension 'odd'"},
    {G(",\"core:extensions\":[{\"name\":\"odd\",\"version\":\"1\",\"optional\":\"no\"}]"), "extensions[0].optional"},
    {G(",\"core:dataset\":\"\""), "'global.core:dataset'"},
    {G(",\"core:dataset\":5"), "'global.core:dataset': a number"},
    {G(",\"core:dataset\":\"../a.sigmf-data\""), "without a folder"},
    {G(",\"core:dataset\":\"/etc/passwd\""), "without a folder"},
    {G(",\"core:dataset\":\"x/../../a\""), "without a folder"},
    {G(",\"core:dataset\":\"x\\\\a\""), "without a folder"},
    {G(",\"core:dataset\":\"..\""), "without a folder"},
    {G(",\"core:dataset\":\".\""), "without a folder"},
    {G(",\"core:dataset\":\"a\\u0001b\""), "without a folder"},
    {G(",\"core:dataset\":\"a\\u0000b\""), "a fault of the JSON"},
    {G(",\"core:dataset\":\"gone.bin\""), "no data file 'gone.bin'"},
    {G(",\"core:dataset\":\"link.bin\""), "a symbolic link"},
    {G(",\"core:dataset\":\"pipe.bin\""), "no regular file"},
    {G(",\"core:dataset\":\"sub\""), "no regular file"},
    {G(",\"core:dataset\":\"empty.bin\""), "0 bytes"},
    {C("{}"), "'captures[0].core:sample_start': missing"},
    {C("{\"core:sample_start\":-1}"), "'captures[0].core:sample_start': -1"},
    {C("{\"core:sample_start\":0.5}"), "'captures[0].core:sample_start': 0.5"},
    {C("{\"core:sample_start\":1e30}"), "'captures[0].core:sample_start': 1e+30"},
    {C("{\"core:sample_start\":99999999999999999999}"), "a fault of the JSON"},
    {C("{\"core:sample_start\":\"0\"}"), "a string"},
    {C("{\"core:sample_start\":8}"), "end before the first sample"},
    {C("{\"core:sample_start\":0,\"core:header_bytes\":17}"), "a data file of 16"},
    {C("{\"core:sample_start\":0,\"core:header_bytes\":16}"), "end before the first sample"},
    {C("{\"core:sample_start\":0,\"core:header_bytes\":9223372036854775807},{\"core:sample_start\":1,"
       "\"core:header_bytes\":9223372036854775807},{\"core:sample_start\":2,\"core:header_bytes\":2}"),
     "'captures[2].core:header_bytes'"},
    {C("{\"core:sample_start\":0},{\"core:sample_start\":1,\"core:frequency\":\"146M\"}"),
     "'captures[1].core:frequency': a string"},
    {C("{\"core:sample_start\":0,\"core:frequency\":1e13}"), "'captures[0].core:frequency': 1e+13"},
    {C("{\"core:sample_start\":0,\"core:datetime\":7}"), "'captures[0].core:datetime'"},
    {C("{\"core:sample_start\":0,\"capture_details:acquisition_bandwidth\":-1}"), "acquisition_bandwidth"},
    {C("{\"core:sample_start\":0,\"ntia-sensor:overload\":1}"), "'captures[0].ntia-sensor:overload'"},
    {"{\"collection\":{\"core:streams\":[]}}", "a collection of recordings"},
};

static void bad_metadata(void **state)
{
    (void)state;
    spurity_read_options options;
    spurity_read_options_init(&options);
    put("empty.bin", "", 0);
    assert_int_equal(symlink("a.sigmf-data", in_folder("link.bin")), 0);
    assert_int_equal(mkfifo(in_folder("pipe.bin"), 0600), 0);
    assert_int_equal(mkdir(in_folder("sub"), 0700), 0);
    for (size_t i = 0; i < sizeof bads / sizeof *bads; i++) {
        put_recording(bads[i].meta);
        bool many = strstr(bads[i].meta, "num_channels\":1000");
        options.channel = many;
        struct answer answer = read_path(in_folder("a.sigmf-meta"), &options);
        spurity_status want = strstr(bads[i].meta, "odd\",\"version\":\"1\",\"optional\":false") ||
                                      strstr(bads[i].meta, "collection") || strstr(bads[i].meta, "2.0.0")
                                  ? SPURITY_UNSUPPORTED
                                  : SPURITY_INVALID;
        expect_refused(bads[i].meta, &answer, want, many ? "end before the first sample" : bads[i].words);
    }
}

static void metadata_have_a_size(void **state)
{
    (void)state;
    enum { VALUES = 4000000 };
    const char head[] = "{" GLOBAL "},\"captures\":[],\"core:x\":[";
    char *text = malloc(sizeof head + 2 * VALUES + 10);
    assert_non_null(text);
    char *at = text + sprintf(text, "%s", head);
    for (int i = 0; i < VALUES; i++, at += 2)
        memcpy(at, "1,", 2);
    strcpy(at, "1]}");
    put("a.sigmf-meta", text, strlen(text));
    struct answer answer = read_path(in_folder("a.sigmf-meta"), NULL);
    expect_refused("millions of values", &answer, SPURITY_INVALID, "more than 1000000 values");
    at = text + sprintf(text, "%s\"", head); /* within a string they are none */
    memset(at, ',', VALUES + 9);
    strcpy(at + VALUES + 9, "\"]}");
    put_recording(text);
    answer = read_path(in_folder("a.sigmf-meta"), NULL);
    assert_ok(answer.status, &answer.error);
    forget(&answer);
    free(text);
    assert_int_equal(truncate(in_folder("a.sigmf-meta"), (64 << 20) + 1), 0);
    answer = read_path(in_folder("a.sigmf-meta"), NULL);
    expect_refused("over 64 MiB", &answer, SPURITY_INVALID, "more than 67108864 bytes");
}

static void deep_nesting_ends(void **state)
{
    (void)state;
    enum { DEEP = 100000 };
    char *text = malloc(DEEP + 200);
    assert_non_null(text);
    strcpy(text, "{\"core:x\":");
    memset(text + strlen(text), '[', DEEP);
    put("a.sigmf-meta", text, DEEP);
    free(text);
    struct answer answer = read_path(in_folder("a.sigmf-meta"), NULL);
    expect_refused("deep", &answer, SPURITY_INVALID, "a fault of the JSON");
}

/* ---- what the user says ---------------------------------------------------------------------------------------------
 */

static void the_users_word_wins(void **state)
{
    (void)state;
    spurity_read_options options;
    spurity_read_options_init(&options);
    put_recording(G(""));
    options.rate_hz = 2000;
    options.center_hz = 440e6;
    options.full_scale_dbm = -12.5;
    options.datatype_said = spurity_sample_format_parse("cu8", 3, &options.datatype, NULL);
    struct answer answer = read_path(in_folder("a.sigmf-meta"), &options);
    assert_ok(answer.status, &answer.error);
    const spurity_recording_facts *facts = spurity_recording_facts_of(answer.recording);
    assert_near(facts->rate_hz, 2000, 0);
    assert_near(facts->center_hz, 440e6, 0);
    assert_near(facts->full_scale_dbm, -12.5, 0);
    assert_int_equal(facts->datatype.component, SPURITY_COMPONENT_U8);
    assert_int_equal(spurity_notes_count(answer.notes), 3); /* rate, centre, datatype */
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(spurity_notes_at(answer.notes, i)->code, SPURITY_NOTE_DUPLICATE_METADATA);
    static const char *const told[][2] = {
        {"sample rate", "--rate"}, {"centre", "--center"}, {"datatype", "--datatype"}, {"full scale", "--full-scale"}};
    for (size_t i = 0; i < 4; i++) {
        assert_non_null(finding(&answer, told[i][0]));
        assert_string_equal(finding(&answer, told[i][0])->option, told[i][1]);
    }
    forget(&answer);
    /* what agrees is no contradiction */
    spurity_read_options_init(&options);
    options.rate_hz = 1000;
    options.center_hz = 146.94e6;
    answer = read_path(in_folder("a.sigmf-meta"), &options);
    assert_int_equal(spurity_notes_count(answer.notes), 0);
    forget(&answer);
}

static void two_real_channels_are_no_iq(void **state)
{
    (void)state;
    static const float third[] = {2 / 128.0f, 6 / 128.0f, 10 / 128.0f, 14 / 128.0f};
    spurity_read_options options;
    spurity_read_options_init(&options);
    put_recording("{\"global\":{\"core:datatype\":\"ri8\",\"core:sample_rate\":48000,\"core:num_channels\":4},"
                  "\"captures\":[]}");
    struct answer answer = read_path(in_folder("a.sigmf-meta"), NULL);
    expect_refused("four channels", &answer, SPURITY_INVALID, "4 channels");
    options.channel = 3;
    answer = read_path(in_folder("a.sigmf-meta"), &options);
    expect_floats(&answer, third, 4);
    assert_int_equal(spurity_recording_facts_of(answer.recording)->channel, 3);
    assert_near(spurity_recording_facts_of(answer.recording)->center_hz, 0, 0); /* real: from 0 Hz */
    forget(&answer);
    options.channel = 5;
    answer = read_path(in_folder("a.sigmf-meta"), &options);
    expect_refused("fifth of four", &answer, SPURITY_INVALID, "channel 5");
    options.channel = 1;
    options.swapped = true;
    answer = read_path(in_folder("a.sigmf-meta"), &options);
    expect_refused("swapped", &answer, SPURITY_INVALID, "--swapped");

    spurity_read_options_init(&options);
    put_recording("{\"global\":{\"core:datatype\":\"ri8\",\"core:sample_rate\":48000,\"core:num_channels\":2},"
                  "\"captures\":[]}");
    answer = read_path(in_folder("a.sigmf-meta"), NULL);
    expect_refused("two channels", &answer, SPURITY_INVALID, "not I and Q");
    options.datatype_said = spurity_sample_format_parse("ci8", 3, &options.datatype, NULL);
    answer = read_path(in_folder("a.sigmf-meta"), &options); /* the user knows better */
    float got[16];
    assert_int_equal(take_floats(&answer, got, 16), 16);
    forget(&answer);
}

static void what_a_recorder_tells_of_itself(void **state)
{
    (void)state;
    put_recording(C("{\"core:sample_start\":0,\"core:frequency\":1e6,\"capture_details:acquisition_bandwidth\":800,"
                    "\"capture_details:acq_scale_factor\":0.5,\"capture_details:attenuation\":10},"
                    "{\"core:sample_start\":4,\"core:frequency\":1e6,\"capture_details:acquisition_bandwidth\":700,"
                    "\"ntia-sensor:overload\":true,\"ntia-sensor:sensor_calibration\":{\"gain\":23.5}},"
                    "{\"core:sample_start\":6,\"core:frequency\":1e6,\"capture_details:acquisition_bandwidth\":900}"));
    struct answer answer = read_path(in_folder("a.sigmf-meta"), NULL);
    assert_ok(answer.status, &answer.error);
    const spurity_capture_facts *facts = spurity_capture_facts_of(spurity_recording_capture(answer.recording));
    assert_near(facts->usable_hz, 700, 0);
    assert_int_equal(facts->segment_count, 3);
    assert_false(facts->segments[0].overload);
    assert_true(facts->segments[1].overload);
    assert_true(isnan(facts->full_scale_dbm)); /* shown, never applied */
    assert_string_equal(finding(&answer, "level fact, not applied")->option, "--full-scale");
    forget(&answer);
}

static void a_digest_is_checked_when_asked(void **state)
{
    (void)state;
    /* sha512sum of the bytes 0, 1 ... 15 */
    static const char right[] =
        "daa295beed4e2ee94c24015b56af626b4f21ef9f44f2b3d40fc41c90900a6bf1b4867c43c57cda54d1b6fd48"
        "69b3f23ced5e0ba3c05d0b1680df4ec7d0762403";
    spurity_read_options options;
    spurity_read_options_init(&options);
    for (int way = 0; way < 3; way++) {
        char meta[600];
        snprintf(meta, sizeof meta, "{" GLOBAL ",\"core:sha512\":\"%s%s\"}," ONE "}", way == 2 ? "0" : "",
                 way == 2 ? right + 1 : right);
        put_recording(meta);
        options.hash = way > 0;
        struct answer answer = read_path(in_folder("a.sigmf-meta"), &options);
        assert_ok(answer.status, &answer.error);
        assert_int_equal(spurity_notes_count(answer.notes), way == 2 ? 1 : 0);
        assert_true((finding(&answer, "digest") != NULL) == (way > 0));
        /* sha256sum of the same bytes */
        assert_string_equal(spurity_recording_facts_of(answer.recording)->sha256,
                            "be45cb2605bf36bebde684841a28f0fd43c69850a3dce5fedba69928ee3a8991");
        assert_string_equal(spurity_recording_facts_of(answer.recording)->data, "a.sigmf-data");
        assert_int_equal(spurity_recording_facts_of(answer.recording)->bytes, 16);
        forget(&answer);
    }
}

static void either_file_names_it(void **state)
{
    (void)state;
    put_recording(G(""));
    struct answer answer = read_path(in_folder("a.sigmf-data"), NULL);
    assert_ok(answer.status, &answer.error);
    assert_string_equal(spurity_recording_facts_of(answer.recording)->reader, "sigmf");
    assert_near(spurity_recording_facts_of(answer.recording)->center_hz, 146.94e6, 0);
    forget(&answer);
    put_text("b.sigmf-meta", G(",\"core:dataset\":\"b.bin\""));
    put("b.bin", steps, sizeof steps);
    answer = read_path(in_folder("b.bin"), NULL);
    assert_ok(answer.status, &answer.error);
    assert_string_equal(spurity_recording_facts_of(answer.recording)->reader, "sigmf");
    forget(&answer);
    put("b.raw", steps, sizeof steps);
    answer = read_path(in_folder("b.raw"), NULL);
    expect_refused("another's metadata", &answer, SPURITY_INVALID, "metadata of 'b.bin', not of 'b.raw'");
    put("lone.sigmf-data", steps, sizeof steps);
    answer = read_path(in_folder("lone.sigmf-data"), NULL);
    expect_refused("no metadata", &answer, SPURITY_INVALID, "no metadata beside");
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.rate_hz = 5;
    options.datatype_said = spurity_sample_format_parse("ci8", 3, &options.datatype, NULL);
    answer = read_path(in_folder("lone.sigmf-data"), &options);
    float got[16];
    assert_int_equal(take_floats(&answer, got, 16), 16);
    forget(&answer);
    put_text("lone.sigmf-meta", G(""));
    assert_int_equal(unlink(in_folder("lone.sigmf-data")), 0);
    answer = read_path(in_folder("lone.sigmf-meta"), NULL);
    expect_refused("no data", &answer, SPURITY_INVALID, "no data file 'lone.sigmf-data'");
}

/* ---- archives
 * --------------------------------------------------------------------------------------------------------- */

struct member {
    const char *name, *bytes;
    size_t size;
    int type; /* 0 = regular file */
};

static void put_archive(const char *name, const struct member *members, size_t count, int format, int filter)
{
    struct archive *archive = archive_write_new();
    archive_write_set_format(archive, format);
    archive_write_add_filter(archive, filter);
    assert_int_equal(archive_write_open_filename(archive, in_folder(name)), ARCHIVE_OK);
    for (size_t i = 0; i < count; i++) {
        struct archive_entry *entry = archive_entry_new();
        archive_entry_set_pathname(entry, members[i].name);
        archive_entry_set_size(entry, members[i].type ? 0 : (la_int64_t)members[i].size);
        archive_entry_set_filetype(entry, members[i].type ? (unsigned)members[i].type : AE_IFREG);
        if (members[i].type == AE_IFLNK)
            archive_entry_set_symlink(entry, "elsewhere");
        archive_entry_set_perm(entry, 0644);
        assert_int_equal(archive_write_header(archive, entry), ARCHIVE_OK);
        if (!members[i].type)
            assert_int_equal(archive_write_data(archive, members[i].bytes, members[i].size), members[i].size);
        archive_entry_free(entry);
    }
    assert_int_equal(archive_write_close(archive), ARCHIVE_OK);
    archive_write_free(archive);
}

#define META(name)                                                                                                     \
    {                                                                                                                  \
        name, G(""), sizeof G("") - 1, 0                                                                               \
    }
#define DATA(name)                                                                                                     \
    {                                                                                                                  \
        name, (const char *)steps, sizeof steps, 0                                                                     \
    }

/* The long names need a header of their own before the file's: offsets must step over it. */
#define LONG                                                                                                           \
    "a-folder-of-a-name-that-is-quite-long-and-goes-on-for-a-while/and-another-one-that-is-long-too-for-good-measure/" \
    "and-then-a-third-one-because-a-plain-header-holds-no-more-than-two-hundred-and-fifty-five-bytes/a-recording"

static void archives_are_read_in_place(void **state)
{
    (void)state;
    static const int formats[] = {ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FORMAT_TAR_PAX_INTERCHANGE,
                                  ARCHIVE_FORMAT_TAR_GNUTAR, ARCHIVE_FORMAT_TAR};
    static const struct member names[][4] = {
        {META("a/a.sigmf-meta"), DATA("a/a.sigmf-data"), {"a/readme", "text", 4, 0}, {"a/x", "y", 1, 0}},
        {{"a/", "", 0, AE_IFDIR}, DATA("a/b.sigmf-data"), {"a/notes", "0123456789", 10, 0}, META("a/b.sigmf-meta")},
        {DATA(LONG ".sigmf-data"), {"x", "1", 1, 0}, META(LONG ".sigmf-meta"), {"y", "2", 1, 0}},
    };
    float want[16];
    for (int i = 0; i < 16; i++)
        want[i] = (float)i / 128.0f;
    for (size_t f = 0; f < 4; f++) {
        for (size_t n = 0; n < 3; n++) {
            if (n == 2 && formats[f] == ARCHIVE_FORMAT_TAR_USTAR)
                continue;
            put_archive("r.sigmf", names[n], 4, formats[f], ARCHIVE_FILTER_NONE);
            struct answer answer = read_path(in_folder("r.sigmf"), NULL);
            expect_floats(&answer, want, 16);
            assert_string_equal(spurity_recording_facts_of(answer.recording)->sha256,
                                "be45cb2605bf36bebde684841a28f0fd43c69850a3dce5fedba69928ee3a8991");
            assert_int_equal(spurity_recording_facts_of(answer.recording)->bytes, 16);
            forget(&answer);
        }
    }
}

static void archives_that_will_not_do(void **state)
{
    (void)state;
    const struct member two[] = {META("a.sigmf-meta"), DATA("a.sigmf-data"), META("b.sigmf-meta"),
                                 DATA("b.sigmf-data")};
    put_archive("r.sigmf", two, 4, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    struct answer answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("two", &answer, SPURITY_INVALID, "2 recordings: a, b");
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.trace = "b";
    answer = read_path(in_folder("r.sigmf"), &options);
    assert_ok(answer.status, &answer.error);
    assert_string_equal(spurity_recording_facts_of(answer.recording)->data, "b.sigmf-data");
    forget(&answer);
    options.trace = "c";
    answer = read_path(in_folder("r.sigmf"), &options);
    expect_refused("third of two", &answer, SPURITY_INVALID, "no recording of that name");

    const struct member twice[] = {META("a.sigmf-meta"), DATA("a.sigmf-data"), DATA("a.sigmf-data")};
    put_archive("r.sigmf", twice, 3, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("data twice", &answer, SPURITY_INVALID, "2 files named 'a.sigmf-data'");

    put_archive("r.sigmf", two, 1, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("no data", &answer, SPURITY_INVALID, "no data file 'a.sigmf-data'");
    put_archive("r.sigmf", two + 1, 1, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("no metadata", &answer, SPURITY_INVALID, "without a .sigmf-meta");
    put_archive("r.sigmf", two, 2, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_GZIP);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("gzip", &answer, SPURITY_UNSUPPORTED, "compressed archive (gzip)");
    put_archive("r.sigmf", two, 2, ARCHIVE_FORMAT_ZIP, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("zip", &answer, SPURITY_UNSUPPORTED, "compressed archive (zip)");
    const struct member linked[] = {META("a.sigmf-meta"), {"a.sigmf-data", "", 0, AE_IFLNK}};
    put_archive("r.sigmf", linked, 2, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("a link", &answer, SPURITY_INVALID, "no data file");
    const struct member odd[] = {META("a.sigmf-meta"), {"a.sigmf-data", "", 0, AE_IFIFO}};
    put_archive("r.sigmf", odd, 2, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("a pipe", &answer, SPURITY_INVALID, "no data file");
    const struct member up[] = {META("../a.sigmf-meta"), DATA("../a.sigmf-data")};
    put_archive("r.sigmf", up, 2, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("a name upwards", &answer, SPURITY_INVALID, "without a .sigmf-meta");
    static const char out[] = G(",\"core:dataset\":\"../x\"");
    const struct member outside[] = {{"a.sigmf-meta", out, sizeof out - 1, 0}, DATA("a.sigmf-data")};
    put_archive("r.sigmf", outside, 2, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("a dataset outside", &answer, SPURITY_INVALID, "a folder in it");
    put_text("r.sigmf", "no archive at all, just words");
    answer = read_path(in_folder("r.sigmf"), NULL);
    expect_refused("words", &answer, SPURITY_INVALID, "tar archive");
}

static void a_cut_archive_gives_what_is_there(void **state)
{
    (void)state;
    const struct member one[] = {META("a.sigmf-meta"), DATA("a.sigmf-data")};
    put_archive("r.sigmf", one, 2, ARCHIVE_FORMAT_TAR_USTAR, ARCHIVE_FILTER_NONE);
    assert_int_equal(truncate(in_folder("r.sigmf"), 512 + 512 + 512 + 7), 0);
    struct answer answer = read_path(in_folder("r.sigmf"), NULL);
    float got[16];
    assert_int_equal(take_floats(&answer, got, 16), 6); /* three samples and a half */
    assert_true(spurity_notes_has(answer.notes, SPURITY_NOTE_FILE_SHORTER));
    forget(&answer);
}

/* ---- audio
 * ------------------------------------------------------------------------------------------------------------ */

static void put_audio(const char *name, int format, int channels, int rate)
{
    SF_INFO info = {.samplerate = rate, .channels = channels, .format = format};
    SNDFILE *file = sf_open(in_folder(name), SFM_WRITE, &info);
    if (!file)
        fail_msg("%s: %s", name, sf_strerror(NULL));
    short values[16];
    for (int i = 0; i < 16; i++)
        values[i] = (short)(i * 512 - 4096); /* whole steps of 8 bit */
    assert_int_equal(sf_write_short(file, values, 16), 16);
    sf_close(file);
}

static const struct audio_row {
    const char *name;
    int format;
    double rail_high, add;
} audio_rows[] = {
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 127.5 / 128, 0.5 / 128},
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, 1 - 0x1p-23, 0},
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_32, 1 - 0x1p-31, 0},
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, NAN, 0},
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_DOUBLE, NAN, 0},
    {"a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG, 1 - 0x1p-15, 0},
    {"a.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.w64", SF_FORMAT_W64 | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.au", SF_FORMAT_AU | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.au", SF_FORMAT_AU | SF_FORMAT_PCM_S8, 1 - 0x1p-7, 0},
    {"a.caf", SF_FORMAT_CAF | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.caf", SF_FORMAT_CAF | SF_FORMAT_FLOAT, NAN, 0},
    {"a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 1 - 0x1p-15, 0},
    {"a.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 1 - 0x1p-23, 0},
};

/* libsndfile's floats of shorts are the shorts as they are, unless scaled: those rows are compared up to 2^15. */
static void check_audio(const struct audio_row *row, int channels, int channel)
{
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.channel = channel;
    put_audio(row->name, row->format, channels, 250000);
    struct answer answer = read_path(in_folder(row->name), &options);
    if (answer.status)
        fail_msg("%s %x: %s", row->name, (unsigned)row->format, answer.text);
    const spurity_capture_facts *facts = spurity_capture_facts_of(spurity_recording_capture(answer.recording));
    const bool is_complex = channels == 2 && !channel, is_float = isnan(row->rail_high);
    assert_int_equal(facts->format.is_complex, is_complex);
    assert_near(facts->rate_hz, 250000, 0);
    assert_near(facts->rail_high, row->rail_high, 1e-12);
    assert_int_equal(facts->samples, 16 / channels);
    float got[16];
    size_t count = take_floats(&answer, got, 16);
    assert_int_equal(count, channel ? 16 / channels : 16);
    for (size_t i = 0; i < count; i++) {
        const int from = channel ? (int)i * channels + channel - 1 : (int)i;
        assert_near((double)got[i] * (is_float ? 1.0 / 32768 : 1.0), (from * 512 - 4096) / 32768.0 + row->add, 1e-9);
    }
    forget(&answer);
}

static void every_audio_container(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof audio_rows / sizeof *audio_rows; i++) {
        check_audio(&audio_rows[i], 2, 0);
        check_audio(&audio_rows[i], 1, 0);
        check_audio(&audio_rows[i], 2, 2);
        check_audio(&audio_rows[i], 4, 3);
    }
}

static void audio_that_will_not_do(void **state)
{
    (void)state;
    put_audio("a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 4, 48000);
    struct answer answer = read_path(in_folder("a.wav"), NULL);
    expect_refused("four channels", &answer, SPURITY_INVALID, "4 channels");
    put_audio("a.wav", SF_FORMAT_WAV | SF_FORMAT_ULAW, 2, 48000);
    answer = read_path(in_folder("a.wav"), NULL);
    expect_refused("mu-law", &answer, SPURITY_UNSUPPORTED, "lossy");
    put_text("a.ogg", "OggS 12345");
    answer = read_path(in_folder("a.ogg"), NULL);
    expect_refused("ogg", &answer, SPURITY_UNSUPPORTED, "lossy");
    put("a.wav", "RIFF\x24\0\0\0WAVEjunk", 16);
    answer = read_path(in_folder("a.wav"), NULL);
    expect_refused("no header", &answer, SPURITY_INVALID, "header cannot be understood");
    /* a recorder that died before it wrote the length: RIFF and data sizes 0 */
    unsigned char dead[44 + 64] = "RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x02\0\x80\xBB\0\0\0\xEE\x02\0\x04\0\x10\0data";
    put("a.wav", dead, sizeof dead);
    answer = read_path(in_folder("a.wav"), NULL);
    expect_refused("no length", &answer, SPURITY_INVALID, "holds no samples, and a file of 108 bytes");
    spurity_read_options options; /* the way out the message tells */
    spurity_read_options_init(&options);
    options.skip_bytes = 44;
    options.rate_hz = 48000;
    options.datatype_said = spurity_sample_format_parse("ci16_le", 7, &options.datatype, NULL);
    answer = read_path(in_folder("a.wav"), &options);
    assert_ok(answer.status, &answer.error);
    assert_string_equal(spurity_recording_facts_of(answer.recording)->reader, "raw");
    assert_int_equal(spurity_recording_facts_of(answer.recording)->samples, 16);
    forget(&answer);
    /* the header promises 1000 bytes more than there are */
    put_audio("b.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, 48000);
    FILE *file = fopen(in_folder("b.wav"), "r+b");
    assert_int_equal(fseek(file, 40, SEEK_SET), 0);
    assert_int_equal(fwrite("\x08\x04\0\0", 1, 4, file), 4);
    fclose(file);
    answer = read_path(in_folder("b.wav"), NULL);
    float got[16];
    assert_int_equal(take_floats(&answer, got, 16), 16);
    assert_true(spurity_notes_has(answer.notes, SPURITY_NOTE_FILE_SHORTER));
    forget(&answer);
}

/* ---- raw
 * ---------------------------------------------------------------------------------------------------------------- */

static void raw_samples(void **state)
{
    (void)state;
    spurity_read_options options;
    spurity_read_options_init(&options);
    unsigned char bytes[17];
    for (int i = 0; i < 17; i++)
        bytes[i] = (unsigned char)(120 + i);
    put("r.cu8", bytes, 17);
    put("r.dat", bytes, 17);
    struct answer answer = read_path(in_folder("r.cu8"), NULL);
    expect_refused("no rate", &answer, SPURITY_INVALID, "--rate");
    options.rate_hz = 1e6;
    answer = read_path(in_folder("r.cu8"), &options);
    assert_ok(answer.status, &answer.error);
    assert_true(finding(&answer, "datatype")->assumed);
    assert_true(spurity_notes_has(answer.notes, SPURITY_NOTE_FILE_SHORTER)); /* 17 bytes are 8 samples and a half */
    assert_true(isnan(spurity_recording_facts_of(answer.recording)->center_hz));
    assert_true(finding(&answer, "centre")->assumed);
    float got[32];
    assert_int_equal(take_floats(&answer, got, 32), 16);
    assert_near((double)got[0], -7.5 / 128, 0);
    forget(&answer);
    answer = read_path(in_folder("r.dat"), &options);
    expect_refused("no datatype", &answer, SPURITY_INVALID, "--datatype");
    options.datatype_said = spurity_sample_format_parse("ru8", 3, &options.datatype, NULL);
    options.skip_bytes = 3;
    answer = read_path(in_folder("r.dat"), &options);
    assert_int_equal(take_floats(&answer, got, 32), 14);
    assert_near((double)got[0], -4.5 / 128, 0);
    forget(&answer);
    options.skip_bytes = 17;
    answer = read_path(in_folder("r.dat"), &options);
    expect_refused("all skipped", &answer, SPURITY_INVALID, "0 bytes of samples");
    options.skip_bytes = -1;
    answer = read_path(in_folder("r.dat"), &options);
    expect_refused("skip -1", &answer, SPURITY_INVALID, "-1 bytes to skip");
    options.skip_bytes = 0;
    options.rate_hz = 0;
    answer = read_path(in_folder("r.dat"), &options);
    expect_refused("no rate", &answer, SPURITY_INVALID, "--rate");
    options.rate_hz = 1e6;
    options.datatype_said = spurity_sample_format_parse("ci16_le", 7, &options.datatype, NULL);
    answer = read_path(in_folder("r.cu8"), &options);
    assert_true(spurity_notes_has(answer.notes, SPURITY_NOTE_DUPLICATE_METADATA)); /* against the suffix */
    forget(&answer);
}

/* --rate and --datatype said for all files do not turn a sweep into samples. */
static void a_sweep_stays_a_sweep(void **state)
{
    (void)state;
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.rate_hz = 1e6;
    options.datatype_said = spurity_sample_format_parse("cu8", 3, &options.datatype, NULL);
    put_text("s.csv", "Frequency (MHz),Level (dBm)\n100,-50\n101,-51\n102,-52\n103,-50\n");
    struct answer answer = read_path(in_folder("s.csv"), &options);
    assert_ok(answer.status, &answer.error);
    assert_non_null(spurity_recording_trace(answer.recording));
    assert_null(spurity_recording_capture(answer.recording));
    assert_int_equal(spurity_recording_facts_of(answer.recording)->capture_segments, 0);
    forget(&answer);
}

/* Standard input is a pipe that never tells its length, and gives a few bytes at a time. */
static void from_a_pipe(const void *bytes, size_t size, const spurity_read_options *options, struct answer *answer)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(write(ends[1], bytes, size), (int)size);
    close(ends[1]);
    int before = dup(STDIN_FILENO);
    dup2(ends[0], STDIN_FILENO);
    close(ends[0]);
    *answer = read_path("-", options);
    if (!answer->status) {
        float got[64];
        size_t count = take_floats(answer, got, 64);
        assert_int_equal(count, 13);
        assert_near((double)got[0], -4.5 / 128, 0);
        assert_near((double)got[12], 7.5 / 128, 0);
    }
    dup2(before, STDIN_FILENO);
    close(before);
}

static void standard_input(void **state)
{
    (void)state;
    spurity_read_options options;
    spurity_read_options_init(&options);
    unsigned char bytes[16];
    for (int i = 0; i < 16; i++)
        bytes[i] = (unsigned char)(120 + i);
    struct answer answer;
    options.rate_hz = 1e6;
    options.skip_bytes = 3;
    options.datatype_said = spurity_sample_format_parse("ru8", 3, &options.datatype, NULL);
    from_a_pipe(bytes, sizeof bytes, &options, &answer);
    assert_ok(answer.status, &answer.error);
    assert_int_equal(spurity_recording_facts_of(answer.recording)->samples, 0);
    assert_string_equal(spurity_recording_facts_of(answer.recording)->sha256, "");
    forget(&answer);
    from_a_pipe(G(""), sizeof G("") - 1, &options, &answer);
    expect_refused("metadata on a stream", &answer, SPURITY_INVALID, "pass the samples alone");
    options.skip_bytes = 0;
    put_audio("a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, 48000);
    unsigned char wav[200];
    FILE *file = fopen(in_folder("a.wav"), "rb");
    size_t size = fread(wav, 1, sizeof wav, file);
    fclose(file);
    from_a_pipe(wav, size, &options, &answer);
    expect_refused("audio on a stream", &answer, SPURITY_INVALID, "an audio container on a stream");
}

static void no_capture_is_a_loss_table(void **state)
{
    (void)state;
    static const char *const names[] = {"a.sigmf-meta", "a.sigmf-data", "a.wav", "r.cu8"};
    put_recording(G(""));
    put_audio("a.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 2, 48000);
    put("r.cu8", steps, sizeof steps);
    for (size_t i = 0; i < 4; i++) {
        struct answer answer = {.notes = spurity_notes_create()};
        answer.status = spurity_input_read(in_folder(names[i]), NULL, SPURITY_READ_LOSS, 0, answer.notes, NULL,
                                           &answer.recording, &answer.error);
        look(&answer);
        expect_refused(names[i], &answer, SPURITY_INVALID, "a capture of samples");
    }
}

/* ---- open recordings
 * ------------------------------------------------------------------------------------------------------ */

static const struct open_recording {
    const char *name;
    double rate_hz, center_hz, mean_db; /* NaN: not told there */
    uint64_t samples;
} open_recordings[] = {
    {"dcf77-2020-a.sigmf-meta", 12001.02560, 77500, -9.58, 353280},
    {"dcf77-2020-b.sigmf-data", 12001.08611, 77500, -7.95, 354816},
    {"dcf77-2017-a.sigmf-meta", 12001.13215, 77500, -14.62, 352256},
    {"dcf77-2017-b.sigmf-data", 12001.20192, 77500, -13.58, 346624},
    {"meter-868950k-1600ksps.cu8", 1.6e6, 868.95e6, NAN, 1048576},
    {"meter-868625k-2400ksps.sigmf-meta", 2.4e6, 868.625e6, NAN, 102400},
    {"pulses-1090M-2Msps.cu8", 2e6, 1090e6, -14.2, 356868},
};

static double mean_power_db(spurity_capture *capture)
{
    enum { BLOCK = 4096 };
    const spurity_sample_format format = spurity_capture_facts_of(capture)->format;
    unsigned char packed[BLOCK * 16];
    float values[BLOCK * 2];
    spurity_error error = {0};
    double sum = 0, count = 0;
    for (size_t got = 1; got;) {
        assert_ok(spurity_capture_read(capture, packed, BLOCK, &got, &error), &error);
        spurity_sample_convert(format, packed, got, values);
        for (size_t i = 0; i < 2 * got; i++)
            sum += (double)values[i] * (double)values[i];
        count += (double)got;
    }
    return 10 * log10(sum / count);
}

static void open_data(void **state)
{
    (void)state;
    const char *data = getenv("SPURITY_DATA");
    char path[600];
    snprintf(path, sizeof path, "%s/%s", data ? data : "", open_recordings[0].name);
    if (!data || access(path, R_OK)) {
        print_message("SKIPPED: the open recordings are not here (SPURITY_DATA)\n");
        skip();
    }
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.hash = true; /* every SHA-512 there is right */
    for (size_t i = 0; i < sizeof open_recordings / sizeof *open_recordings; i++) {
        const struct open_recording *row = &open_recordings[i];
        snprintf(path, sizeof path, "%s/%s", data, row->name);
        struct answer answer = read_path(path, &options);
        if (answer.status)
            fail_msg("%s", answer.text);
        const spurity_recording_facts *facts = spurity_recording_facts_of(answer.recording);
        assert_near(facts->rate_hz, row->rate_hz, 1e-9);
        assert_near(facts->center_hz, row->center_hz, 0);
        assert_int_equal(facts->samples, row->samples);
        assert_int_equal(spurity_notes_count(answer.notes), 0);
        assert_non_null(finding(&answer, "digest"));
        spurity_capture *capture = spurity_recording_take_capture(answer.recording);
        const double mean = mean_power_db(capture);
        if (!isnan(row->mean_db))
            assert_near(mean, row->mean_db, row->mean_db == -14.2 ? 0.05 : 0.0051); /* digits told */
        spurity_capture_free(capture);
        forget(&answer);
    }
    snprintf(path, sizeof path, "%s/sigmf-logo.sigmf-meta", data);
    struct answer answer = read_path(path, NULL);
    expect_refused("stereo sound", &answer, SPURITY_INVALID, "not I and Q");
    snprintf(path, sizeof path, "%s/dcf77-2020-a-chunked.wav", data);
    answer = read_path(path, NULL);
    expect_refused("a WAV in chunks", &answer, SPURITY_INVALID, "runs of samples with other matter between");
}

/* ---- a pipe that has nothing to give ---------------------------------------------------------------------------- */

static bool a_few_times(void *user, const char *what, double fraction)
{
    int *left = user;
    assert_true(*what && fraction <= 1);
    return (*left)-- > 0;
}

/* Its writer is there and silent: who waits is asked, and may stop. */
static void a_silent_pipe_can_be_left(void **state)
{
    (void)state;
    assert_int_equal(mkfifo(in_folder("silent.cu8"), 0600), 0);
    const int writer = open(in_folder("silent.cu8"), O_RDWR | O_CLOEXEC);
    assert_true(writer >= 0);
    assert_int_equal(write(writer, "some samples", 12), 12);
    int left = 3;
    const spurity_watch watch = {.tick = a_few_times, .user = &left};
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.rate_hz = 1e6;
    options.datatype_said = true;
    options.datatype = (spurity_sample_format){SPURITY_COMPONENT_U8, true, false, false};
    spurity_recording *recording;
    spurity_error error = {0};
    assert_int_equal(
        spurity_input_read(in_folder("silent.cu8"), &options, SPURITY_READ_TRACE, -1, NULL, &watch, &recording, &error),
        SPURITY_CANCELLED);
    assert_null(recording);
    assert_int_equal(left, -1);
    close(writer);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(good_recordings, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(full_scale_of_its_own, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(seeking_crosses_pieces, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(every_datatype_from_a_file, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_file_beyond_four_gibibytes, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(bad_metadata, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(metadata_have_a_size, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(deep_nesting_ends, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(the_users_word_wins, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(two_real_channels_are_no_iq, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(what_a_recorder_tells_of_itself, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_digest_is_checked_when_asked, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(either_file_names_it, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(archives_are_read_in_place, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(archives_that_will_not_do, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_cut_archive_gives_what_is_there, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(every_audio_container, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(audio_that_will_not_do, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(raw_samples, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(a_sweep_stays_a_sweep, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(standard_input, make_folder, drop_folder),
        cmocka_unit_test_setup_teardown(no_capture_is_a_loss_table, make_folder, drop_folder),
        cmocka_unit_test(open_data),
        cmocka_unit_test_setup_teardown(a_silent_pipe_can_be_left, make_folder, drop_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
