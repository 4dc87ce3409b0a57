/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The result: values, document, reader, schema, picture data. */
#include "../check.h"
#include "../sweep.h"

#include <locale.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../../lib/result/internal.h"
#include "stand_in.h"

/* ---- values -------------------------------------------------------------------------------------------------------
 */

static void assert_written(json_t *value, const char *want)
{
    char *text = json_dumps(value, JSON_ENCODE_ANY | JSON_REAL_PRECISION(15));
    assert_non_null(text);
    assert_string_equal(text, want);
    free(text);
    json_decref(value);
}

static void figures_are_rounded_as_the_contract_says(void **state)
{
    assert_written(spurity_value_db(-57.80049), "-57.8");
    assert_written(spurity_value_db(0.1), "0.1");
    assert_written(spurity_value_db(-0.0004), "0.0");
    assert_written(spurity_value_db(NAN), "null");
    assert_written(spurity_value_db(-INFINITY), "null");
    assert_written(spurity_value_hz(146940000.12345), "146940000.123");
    assert_written(spurity_value_hz(39999999999.9996), "40000000000.0");
    assert_written(spurity_value_w(25e-6), "2.5e-5");
    assert_written(spurity_value_w(4.677351412871983), "4.67735");
    assert_written(spurity_value_w(1499.9999999), "1500.0");
    assert_written(spurity_value_w(1e-320), "9.99988867182683e-321"); /* no transmitter: given back as it is */
    assert_written(spurity_value_w(0), "0.0");
    assert_written(spurity_value_fraction(0.97724987), "0.9772");
}

/* Boundaries of RFC 3629, section 4; what is no UTF-8 becomes U+FFFD, one for each byte. */
static void strings_become_valid_utf8(void **state)
{
    static const char *const pairs[][2] = {
        {"plain", "plain"},
        {"\xC2\x80", "\xC2\x80"},
        {"\xE0\xA0\x80", "\xE0\xA0\x80"},
        {"\xF4\x8F\xBF\xBD", "\xF4\x8F\xBF\xBD"},
        {"\xC1\xBF", "\uFFFD\uFFFD"},                     /* overlong */
        {"\xE0\x9F\xBF", "\uFFFD\uFFFD\uFFFD"},           /* overlong */
        {"\xED\xA0\x80", "\uFFFD\uFFFD\uFFFD"},           /* surrogate */
        {"\xF4\x90\x80\x80", "\uFFFD\uFFFD\uFFFD\uFFFD"}, /* over U+10FFFF */
        {"a\xE2\x82", "a\uFFFD\uFFFD"},                   /* cut short */
        {"\xFFz", "\uFFFDz"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        json_t *value = spurity_value_text(pairs[i][0]);
        assert_string_equal(json_string_value(value), pairs[i][1]);
        json_decref(value);
    }
    json_t *absent = spurity_value_text(NULL), *empty = spurity_value_text_or_null("");
    assert_true(json_is_null(absent) && json_is_null(empty));
}

/* ---- reader and schema ----------------------------------------------------------------------------------------------
 */

static const stand_emission emissions[] = {{"harmonic", 2, 293.88e6, -21.1, true, -16, "pass"},
                                           {"spurious", 0, 312.4e6, -16.8, true, -16, "conditional pass"}};

static const char *sample(const char *verdict)
{
    static stand_text text;
    stand_document(&text, verdict, "PASS, invented", 146.94e6, 36.7, emissions, 2, NULL, "loan set 3");
    return text.text;
}

static void a_result_survives_the_round_trip(void **state)
{
    const char *const verdicts[] = {"pass", NULL};
    for (size_t i = 0; i < 2; i++) {
        spurity_error error = {0};
        spurity_result *first = stand_result(NULL, sample(verdicts[i])), *second;
        char *text, *again;
        size_t size, again_size;
        assert_ok(spurity_result_json(first, &text, &size, &error), &error);
        assert_int_equal(strlen(text), size);
        assert_int_equal(text[size - 1], '\n');
        assert_ok(spurity_result_read("again", text, size, &second, &error), &error);
        assert_ok(spurity_result_json(second, &again, &again_size, &error), &error);
        assert_string_equal(text, again);
        assert_null(spurity_result_picture(second));
        json_t *whole = json_loads(sample(verdicts[i]), 0, NULL), *back = json_loads(text, 0, NULL);
        assert_true(json_equal(whole, back));
        json_decref(whole);
        json_decref(back);
        free(text);
        free(again);
        spurity_result_free(first);
        spurity_result_free(second);
    }
}

static void values_are_found_by_path(void **state)
{
    spurity_result *result = stand_result(NULL, sample("pass"));
    double value = 7;
    assert_true(spurity_result_number(result, "carrier/frequency_hz", &value));
    assert_near(value, 146.94e6, 0);
    assert_true(spurity_result_number(result, "emissions/1/level_dbm", &value));
    assert_near(value, -16.8, 0);
    value = 7;
    assert_false(spurity_result_number(result, "emissions/1/order", &value)); /* null */
    assert_false(spurity_result_number(result, "emissions/2/order", &value));
    assert_false(spurity_result_number(result, "emissions/-1/order", &value));
    assert_false(spurity_result_number(result, "emissions/99999999999999999999/order", &value));
    assert_false(spurity_result_number(result, "emissions//order", &value));
    assert_false(spurity_result_number(result, "carrier/frequency_hz/deeper", &value));
    assert_near(value, 7, 0);
    assert_string_equal(spurity_result_text(result, "emissions/0/kind"), "harmonic");
    assert_null(spurity_result_text(result, "emissions/0/frequency_hz"));
    assert_null(spurity_result_text(result, "nothing"));
    assert_int_equal(spurity_result_length(result, "emissions"), 2);
    assert_int_equal(spurity_result_length(result, "carrier"), 0);
    assert_true(spurity_result_true(result, "emissions/0/seen"));
    assert_false(spurity_result_true(result, "emissions/0/kind"));
    spurity_result_free(result);
}

/* Replaces the first `from` of the sample by `to`. */
static char *changed(const char *from, const char *to)
{
    const char *text = sample("pass"), *at = strstr(text, from);
    assert_non_null(at);
    size_t size = strlen(text) + strlen(to) + 1;
    char *out = malloc(size);
    assert_non_null(out);
    snprintf(out, size, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
    return out;
}

/* Every fault is told with its path in the document, what was found, what was expected. */
static void faults_are_named_with_their_path(void **state)
{
    static const struct {
        const char *from, *to, *found, *expected;
    } faults[] = {
        {"\"spurity-result\"", "\"other\"", "'other' at 'format'", "'spurity-result' or 'spurity-measurement'"},
        {"\"version\":1", "\"version\":2", "2 at 'version'", "1"},
        {"\"tool\":\"spurity 0.1.0\"", "\"tool\":5", "5 at 'tool'", "'string'"},
        {"\"verdict\":\"pass\",\"headline\"", "\"verdict\":\"maybe\",\"headline\"", "'maybe' at 'verdict'", "'pass'"},
        {"\"headline\":\"PASS, invented\",", "", "an object at '/'", "a key 'headline'"},
        {"\"kind\":\"spurious\"", "\"kind\":\"odd\"", "'odd' at 'emissions/1/kind'", "'harmonic' or"},
        {"\"order\":2", "\"order\":2.5", "2.5 at 'emissions/0/order'", "'integer' or 'null'"},
        {"\"order\":2", "\"order\":1", "1 at 'emissions/0/order'", "a number from 2"},
        {"\"level_dbm\":-21.100", "\"level_dbm\":\"loud\"", "'loud' at 'emissions/0/level_dbm'", "'number' or 'null'"},
        {"\"seen\":true,\"floor_dbm\"", "\"floor_dbm\"", "an object at 'emissions/0'", "a key 'seen'"},
        {"\"conformity_probability\":1.0", "\"conformity_probability\":1.5",
         "1.5 at 'judgements/0/conformity_probability'", "a number"},
        {"\"unit\":\"W\"", "\"unit\":\"V\"", "'V' at 'judgements/0/unit'", "'dBm'"},
        {"\"warnings\":[", "\"warnings\":[7,", "7 at 'warnings/0'", "'object'"},
        {"\"role\":\"transmitter\"", "\"role\":\"friend\"", "'friend' at 'inputs/0/role'", "'transmitter'"},
        {"\"frequency_hz\":146940000.000,\"level_dbm\"", "\"frequency_hz\":null,\"level_dbm\"",
         "null at 'carrier/frequency_hz'", "'number'"},
    };
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        char *text = changed(faults[i].from, faults[i].to);
        spurity_error error = {0};
        spurity_result *result = (spurity_result *)1;
        assert_int_equal(spurity_result_read("r.json", text, strlen(text), &result, &error), SPURITY_INVALID);
        assert_null(result);
        assert_string_equal(error.file, "r.json");
        if (!strstr(error.found, faults[i].found) || !strstr(error.expected, faults[i].expected)) {
            print_error("%zu: found <%s>, expected <%s>\n", i, error.found, error.expected);
            fail();
        }
        free(text);
    }
}

static void what_is_no_json_is_refused_with_its_place(void **state)
{
    static const char *const bad[] = {"",
                                      "{",
                                      "[]",
                                      "{} x",
                                      "{\"format\":NaN}",
                                      "{\"a\":1,\"a\":2}",
                                      "\xEF\xBB\xBF{}",
                                      "{\"a\":\"\xFF\"}",
                                      "{\"a\":1e999}",
                                      "nonsense"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        spurity_error error = {0};
        spurity_result *result = (spurity_result *)1;
        assert_int_equal(spurity_result_read("bad.json", bad[i], strlen(bad[i]), &result, &error), SPURITY_INVALID);
        assert_null(result);
        assert_string_equal(error.file, "bad.json");
    }
    /* a duplicate key with its line */
    char *text = changed("\"version\":1", "\"version\":1,\n\"version\":1");
    spurity_error error = {0};
    spurity_result *result;
    assert_int_equal(spurity_result_read("twice.json", text, strlen(text), &result, &error), SPURITY_INVALID);
    assert_int_equal(error.line, 2);
    free(text);
    /* nesting without end */
    size_t depth = 100000;
    char *deep = malloc(depth + 1);
    assert_non_null(deep);
    memset(deep, '[', depth);
    deep[depth] = '\0';
    error = (spurity_error){0};
    assert_int_equal(spurity_result_read("deep.json", deep, depth, &result, &error), SPURITY_INVALID);
    free(deep);
    error = (spurity_error){0};
    assert_int_equal(spurity_result_read("big.json", "{}", ((size_t)64 << 20) + 1, &result, &error), SPURITY_INVALID);
}

/* Keys we do not know are taken: they are only ever added. */
static void unknown_keys_are_taken(void **state)
{
    char *text = changed("\"version\":1", "\"version\":1,\"of_tomorrow\":{\"x\":[1]}");
    spurity_result *result = stand_result(NULL, text);
    spurity_result_free(result);
    free(text);
}

static void the_schema_uses_only_what_the_reader_checks(void **state)
{
    json_error_t fault;
    json_t *schema = json_loads(spurity_result_schema(), JSON_REJECT_DUPLICATES, &fault);
    assert_non_null(schema);
    const char *unknown = spurity_schema_unknown_keyword(schema);
    if (unknown)
        print_error("the reader does not check '%s'\n", unknown);
    assert_null(unknown);
    json_object_set_new(schema, "oneOf", json_array());
    assert_string_equal(spurity_schema_unknown_keyword(schema), "oneOf");
    json_decref(schema);
}

/* Against an outside validator: Python's jsonschema (draft 2020-12) must take the schema itself and what we write, and
 * must refuse what our reader refuses. */
static int outside(const char *document)
{
    char script[] = P_tmpdir "/spurity-schema-XXXXXX";
    int file = mkstemp(script);
    assert_true(file >= 0);
    FILE *out = fdopen(file, "w");
    assert_non_null(out);
    fputs("import sys, json\ntry:\n import jsonschema\n jsonschema.Draft202012Validator\nexcept Exception:\n "
          "sys.exit(77)\n"
          "schema, document = json.loads(sys.stdin.read())\njsonschema.Draft202012Validator.check_schema(schema)\n"
          "sys.exit(0 if jsonschema.Draft202012Validator(schema).is_valid(document) else 1)\n",
          out);
    fclose(out);
    char command[200];
    snprintf(command, sizeof command, "python3 %s 2>/dev/null", script);
    FILE *pipe = popen(command, "w");
    assert_non_null(pipe);
    fprintf(pipe, "[%s,%s]", spurity_result_schema(), document);
    int state = pclose(pipe);
    unlink(script);
    return WIFEXITED(state) ? WEXITSTATUS(state) : -1;
}

static void an_outside_validator_agrees(void **state)
{
    int answer = outside(sample("pass"));
    if (answer == 77 || answer == 127) {
        print_message("SKIPPED: python3 with jsonschema is missing\n");
        skip();
    }
    assert_int_equal(answer, 0);
    assert_int_equal(outside(sample(NULL)), 0);
    static const char *const broken[][2] = {{"\"version\":1", "\"version\":2"},
                                            {"\"order\":2", "\"order\":1"},
                                            {"\"headline\":\"PASS, invented\",", ""},
                                            {"\"unit\":\"W\"", "\"unit\":\"V\""}};
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        char *text = changed(broken[i][0], broken[i][1]);
        assert_int_equal(outside(text), 1);
        free(text);
    }
}

/* ---- picture data
 * ---------------------------------------------------------------------------------------------------- */

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* Nothing that stands out is lost: whatever the axis, the highest and lowest reading of any stretch between two columns
 * are those of the points in it. */
static void thinning_keeps_extremes(void **state)
{
    static const double ends[][2] = {{9e3, 1.5e9}, {100e6, 200e6}};
    enum { POINTS = 200000 };
    double *hz = malloc(POINTS * sizeof *hz), *db = malloc(POINTS * sizeof *db);
    assert_true(hz && db);
    uint64_t seed = 99;
    for (int axis = 0; axis < 2; axis++) {
        double highest = -INFINITY, lowest = INFINITY, highest_hz = 0;
        for (size_t i = 0; i < POINTS; i++) {
            hz[i] = ends[axis][0] + (ends[axis][1] - ends[axis][0]) * (double)i / (POINTS - 1);
            db[i] = 10 * log10(-log(stand_random(&seed))) - 60;
            if (db[i] > highest) {
                highest = db[i];
                highest_hz = hz[i];
            }
            lowest = fmin(lowest, db[i]);
        }
        spurity_picture_store *store;
        spurity_error error = {0};
        assert_ok(spurity_picture_create(ends[axis][0], ends[axis][1], "dBm", &store, &error), &error);
        assert_ok(spurity_picture_add_line(store, hz, db, POINTS, 40, &error), &error);
        const spurity_picture *picture = spurity_picture_view(store);
        assert_int_equal(picture->log_axis, axis == 0);
        assert_int_equal(picture->trace_count, 1);
        const spurity_picture_line *line = &picture->traces[0];
        assert_true(line->count <= SPURITY_PICTURE_COLUMNS + 2);
        double high = -INFINITY, low = INFINITY, high_hz = 0;
        size_t next = 0;
        for (size_t i = 0; i < line->count; i++) {
            assert_true(i == 0 || line->frequency_hz[i] > line->frequency_hz[i - 1]);
            if (line->high_db[i] > high) {
                high = line->high_db[i];
                high_hz = line->frequency_hz[i];
            }
            low = fmin(low, line->low_db[i]);
            /* the column's highest is a reading, at its own frequency */
            while (next < POINTS && hz[next] < line->frequency_hz[i])
                next++;
            assert_true(next < POINTS && hz[next] == line->frequency_hz[i] && db[next] + 40 == line->high_db[i]);
        }
        assert_near(high, highest + 40, 1e-12);
        assert_near(high_hz, highest_hz, 0);
        assert_near(low, lowest + 40, 1e-12);
        spurity_picture_free(store);
    }
    free(hz);
    free(db);
}

static void few_points_are_kept_as_they_are(void **state)
{
    const double hz[] = {1e6, 2e6, 3e6}, db[] = {-1, -2, -3};
    spurity_picture_store *store;
    spurity_error error = {0};
    assert_ok(spurity_picture_create(1e6, 3e6, "dBc", &store, &error), &error);
    assert_ok(spurity_picture_add_line(store, hz, db, 3, 0, &error), &error);
    assert_ok(spurity_picture_add_line(store, hz, db, 3, NAN, &error), &error); /* no common scale: not drawn */
    const spurity_picture *picture = spurity_picture_view(store);
    assert_int_equal(picture->trace_count, 1);
    assert_int_equal(picture->traces[0].count, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_near(picture->traces[0].frequency_hz[i], hz[i], 0);
        assert_near(picture->traces[0].low_db[i], db[i], 0);
        assert_near(picture->traces[0].high_db[i], db[i], 0);
    }
    spurity_picture_free(store);
}

static void a_million_points_are_thinned_fast(void **state)
{
    enum { POINTS = 1000000 };
    double *hz = malloc(POINTS * sizeof *hz), *db = malloc(POINTS * sizeof *db);
    assert_true(hz && db);
    for (size_t i = 0; i < POINTS; i++) {
        hz[i] = 30e6 + 1470.0 * (double)i;
        db[i] = (double)(i * 7919 % 1000) / 100 - 70;
    }
    spurity_picture_store *store;
    spurity_error error = {0};
    assert_ok(spurity_picture_create(30e6, 1.5e9, "dBm", &store, &error), &error);
    double before = seconds_now();
    assert_ok(spurity_picture_add_line(store, hz, db, POINTS, 0, &error), &error);
    double took = seconds_now() - before;
    print_message("a million points thinned in %.4f s\n", took);
    assert_true(took < 0.5);
    spurity_picture_free(store);
    free(hz);
    free(db);
}

/* A limit with a jump at 30 MHz, a hole of 16 kHz around the carrier (far thinner than a column), a slope, an end. */
static bool odd_limit(const void *user, double hz, double *db)
{
    if (fabs(hz - 146.94e6) < 8e3 || hz > 1e9)
        return false;
    *db = hz < 30e6 ? -3 : hz < 300e6 ? -16 : -16 - 10 * log10(hz / 300e6);
    return true;
}

static bool has_edge(const spurity_picture *picture, double hz, double tolerance)
{
    for (size_t i = 1; i < picture->limit_count; i++)
        if (fabs(picture->limit_hz[i] - hz) < tolerance && fabs(picture->limit_hz[i - 1] - hz) < tolerance)
            return true;
    return false;
}

static void edges_of_a_limit_are_found(void **state)
{
    spurity_picture_store *store;
    spurity_error error = {0};
    assert_ok(spurity_picture_create(9e3, 1.5e9, "dBm", &store, &error), &error);
    spurity_picture_set_carrier(store, 146.94e6);
    assert_ok(spurity_picture_add_limit(store, odd_limit, NULL, 0, &error), &error);
    const spurity_picture *picture = spurity_picture_view(store);
    assert_true(has_edge(picture, 30e6, 1));
    assert_true(has_edge(picture, 146.94e6 - 8e3, 1));
    assert_true(has_edge(picture, 146.94e6 + 8e3, 1));
    assert_true(has_edge(picture, 1e9, 1));
    assert_near(picture->limit_hz[0], 9e3, 0);
    assert_near(picture->limit_hz[picture->limit_count - 1], 1.5e9, 0);
    /* between its points the drawn limit is the true one */
    for (size_t i = 1; i < picture->limit_count; i++) {
        double middle = sqrt(picture->limit_hz[i - 1] * picture->limit_hz[i]), want;
        assert_true(picture->limit_hz[i] >= picture->limit_hz[i - 1]);
        if (picture->limit_hz[i] - picture->limit_hz[i - 1] < 10)
            continue;
        if (!odd_limit(NULL, middle, &want)) {
            assert_true(isnan(picture->limit_db[i]) && isnan(picture->limit_db[i - 1]));
            continue;
        }
        assert_near((picture->limit_db[i] + picture->limit_db[i - 1]) / 2, want, 0.01);
    }
    assert_true(picture->limit_count < 1200); /* level runs are two points, the slope one a column */
    spurity_picture_free(store);
}

/* ---- from a sweep to the document
 * ------------------------------------------------------------------------------------ */

static const struct sweep_line good[] = {{146.94e6, 36.99}, {293.88e6, -25.01}, {440.82e6, -33.01}};

/* Judges the good set, swept wide to stop_hz and close to its carrier. */
static spurity_outcome judge_good(struct bench *bench, double stop_hz)
{
    struct sweep wide = wide_sweep(good, 3, stop_hz), close = close_sweep(good, 3, good[0].hz);
    bench_start(bench);
    bench_direct(bench);
    bench_add(bench, &wide);
    bench_add(bench, &close);
    return bench_judge(bench, "us-amateur");
}

static spurity_result *result_of(struct bench *bench)
{
    static const spurity_setting settings[] = {{"direct", "yes", "option"}, {"decision", "guarded", "default"}};
    spurity_result *result;
    assert_ok(spurity_result_create(bench->measurement, bench->verdict, settings, 2, &result, &bench->error),
              &bench->error);
    return result;
}

static char *text_of(const spurity_result *result)
{
    spurity_error error = {0};
    char *text;
    size_t size;
    assert_ok(spurity_result_json(result, &text, &size, &error), &error);
    return text;
}

/* Names of the members of the top, in the contract's order. */
static void assert_order(const char *text, const char *const *keys, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char key[40];
        snprintf(key, sizeof key, "\n  \"%s\": ", keys[i]);
        const char *at = strstr(text, key); /* behind the one before */
        if (!at)
            fail_msg("'%s' is missing or out of order", keys[i]);
        text = at;
    }
}

/* The document tells what measurement and verdict hold; our reader and an outside validator take it. */
static void a_judged_sweep_becomes_a_document(void **state)
{
    static const char *const keys[] = {"format",     "version",   "tool",         "verdict",  "headline",
                                       "rules",      "verdicts",  "settings",     "carrier",  "emissions",
                                       "judgements", "not_shown", "not_examined", "warnings", "inputs"};
    struct bench bench;
    assert_true(judge_good(&bench, 1.5e9) == SPURITY_OUTCOME_PASS);
    spurity_result *result = result_of(&bench), *back;
    char *text = text_of(result);
    assert_order(text, keys, sizeof keys / sizeof keys[0]);
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf,"));
    assert_ok(spurity_result_read("written", text, strlen(text), &back, &bench.error), &bench.error);
    int answer = outside(text);
    assert_true(answer == 0 || answer == 77 || answer == 127);

    assert_string_equal(spurity_result_text(back, "verdict"), "pass");
    assert_string_equal(spurity_result_text(back, "headline"), spurity_verdict_headline(bench.verdict));
    assert_string_equal(spurity_result_text(back, "rules/id"), "us-amateur");
    assert_string_equal(spurity_result_text(back, "settings/decision/from"), "default");
    assert_int_equal(spurity_result_length(back, "judgements"), spurity_verdict_judgement_count(bench.verdict));
    assert_int_equal(spurity_result_length(back, "emissions"), spurity_measurement_emission_count(bench.measurement));
    assert_int_equal(spurity_result_length(back, "inputs"), 2);
    assert_string_equal(spurity_result_text(back, "inputs/0/chain/0"), "direct");
    assert_int_equal(strlen(spurity_result_text(back, "inputs/1/sha256")), 64);
    double value;
    assert_true(spurity_result_number(back, "inputs/1/points", &value));
    assert_near(value, 4001, 0);
    assert_true(spurity_result_number(back, "carrier/level_dbm", &value));
    assert_near(value, 36.99, 0.1);
    assert_true(spurity_result_number(back, "emissions/0/level_dbc", &value));
    assert_near(value, -62.0, 0.3);
    for (size_t i = 0; i < spurity_verdict_judgement_count(bench.verdict); i++) {
        const spurity_judgement *one = spurity_verdict_judgement(bench.verdict, i);
        char path[60];
        snprintf(path, sizeof path, "judgements/%zu/margin", i);
        if (spurity_result_number(back, path, &value))
            assert_near(value, one->margin, 0.0005 + 1e-9);
        else
            assert_true(!isfinite(one->margin));
        snprintf(path, sizeof path, "judgements/%zu/outcome", i);
        assert_string_equal(spurity_result_text(back, path), spurity_outcome_name(one->outcome));
    }
    free(text);
    spurity_result_free(back);
    spurity_result_free(result);
    bench_end(&bench);
}

static double highest_near(const spurity_picture *picture, double hz, double reach)
{
    double highest = -INFINITY;
    for (size_t i = 0; i < picture->trace_count; i++)
        for (size_t k = 0; k < picture->traces[i].count; k++)
            if (fabs(picture->traces[i].frequency_hz[k] - hz) <= reach)
                highest = fmax(highest, picture->traces[i].high_db[k]);
    return highest;
}

static void the_picture_holds_sweep_and_limit(void **state)
{
    struct bench bench;
    judge_good(&bench, 1.5e9);
    spurity_result *result = result_of(&bench);
    const spurity_picture *picture = spurity_result_picture(result);
    assert_non_null(picture);
    assert_string_equal(picture->unit, "dBm");
    assert_true(picture->log_axis);
    assert_true(picture->from_hz <= 10e6 && picture->to_hz >= 1.5e9 - 50e3);
    assert_near(highest_near(picture, 146.94e6, 60e3), 36.99, 0.1);
    assert_near(highest_near(picture, 293.88e6, 60e3), -25.01, 0.5);
    double lowest = INFINITY;
    for (size_t i = 0; i < picture->limit_count; i++)
        lowest = isfinite(picture->limit_db[i]) ? fmin(lowest, picture->limit_db[i]) : lowest;
    assert_near(lowest, -16.0206, 1e-3); /* 25 uW */
    assert_true(has_edge(picture, 146.94e6 - 8e3, 50));
    assert_true(has_edge(picture, 146.94e6 + 8e3, 50));
    spurity_result_free(result);
    bench_end(&bench);
}

/* No chain was said and no meter: levels are null, the picture stands relative to the carrier. */
static void an_unstated_chain_gives_no_dbm(void **state)
{
    struct bench bench;
    struct sweep wide = wide_sweep(good, 3, 500e6);
    bench_start(&bench);
    bench_add(&bench, &wide);
    bench_measure(&bench);
    spurity_result *result = result_of(&bench);
    double value = 7;
    assert_false(spurity_result_number(result, "carrier/level_dbm", &value));
    assert_false(spurity_result_number(result, "carrier/power_w", &value));
    assert_false(spurity_result_number(result, "emissions/0/level_dbm", &value));
    assert_false(spurity_result_number(result, "emissions/0/floor_dbm", &value));
    assert_true(spurity_result_number(result, "emissions/0/level_dbc", &value));
    assert_near(value, -62.0, 0.5);
    assert_null(spurity_result_text(result, "verdict"));
    assert_string_equal(spurity_result_text(result, "format"), "spurity-measurement");
    assert_string_equal(spurity_result_text(result, "inputs/0/chain/0"), "not stated");
    const spurity_picture *picture = spurity_result_picture(result);
    assert_string_equal(picture->unit, "dBc");
    assert_near(highest_near(picture, 146.94e6, 60e3), 0, 0.2);
    assert_int_equal(picture->limit_count, 0);
    char *text = text_of(result);
    int answer = outside(text);
    assert_true(answer == 0 || answer == 77 || answer == 127);
    free(text);
    spurity_result_free(result);
    bench_end(&bench);
}

/* Swept to 500 MHz where 1.47 GHz had to be shown: the axis widens a little, not to the end. */
static void what_was_not_swept_widens_the_axis_a_little(void **state)
{
    struct bench bench;
    assert_true(judge_good(&bench, 500e6) == SPURITY_OUTCOME_NOT_SHOWN);
    spurity_result *result = result_of(&bench);
    const spurity_picture *picture = spurity_result_picture(result);
    double swept = log(500e6 / 10e6), drawn = log(picture->to_hz / picture->from_hz);
    assert_true(picture->to_hz > 510e6 && picture->to_hz < 1.4e9);
    assert_true(drawn > swept * 1.05 && drawn < swept * 1.21);
    spurity_result_free(result);
    bench_end(&bench);
}

/* Memory that runs out anywhere in the building of the document is told, and nothing is left behind. */
static long allocations_left;

static void *scarce(size_t size)
{
    return allocations_left-- > 0 ? malloc(size) : NULL;
}

static void memory_that_runs_out_is_told(void **state)
{
    struct bench bench;
    judge_good(&bench, 300e6);
    json_set_alloc_funcs(scarce, free);
    size_t told = 0;
    bool whole = false;
    for (long most = 0; !whole && most < 100000; most += 7) {
        spurity_result *result = (spurity_result *)1;
        spurity_error error = {0};
        const spurity_setting setting = {"direct", "yes", "option"};
        allocations_left = most;
        spurity_status status = spurity_result_create(bench.measurement, bench.verdict, &setting, 1, &result, &error);
        whole = status == SPURITY_OK;
        told += status == SPURITY_SYSTEM && !result && error.status == SPURITY_SYSTEM;
        assert_true(whole || status == SPURITY_SYSTEM);
        if (whole)
            spurity_result_free(result);
    }
    json_set_alloc_funcs(malloc, free);
    assert_true(whole && told > 20);
    bench_end(&bench);
}

/* A sweep from 0 Hz: a logarithmic axis begins at its first point above. */
static void a_sweep_from_zero_is_drawn(void **state)
{
    struct bench bench;
    struct sweep wide = {.start_hz = 0,
                         .stop_hz = 1e9,
                         .rbw_hz = 300e3,
                         .points = 10001,
                         .floor_dbm = -70,
                         .averages = 16,
                         .lines = good,
                         .line_count = 3};
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_measure(&bench);
    spurity_result *result = result_of(&bench);
    const spurity_picture *picture = spurity_result_picture(result);
    assert_non_null(picture);
    assert_true(picture->log_axis);
    assert_near(picture->from_hz, 100e3, 1);
    spurity_result_free(result);
    bench_end(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(figures_are_rounded_as_the_contract_says),
        cmocka_unit_test(strings_become_valid_utf8),
        cmocka_unit_test(a_result_survives_the_round_trip),
        cmocka_unit_test(values_are_found_by_path),
        cmocka_unit_test(faults_are_named_with_their_path),
        cmocka_unit_test(what_is_no_json_is_refused_with_its_place),
        cmocka_unit_test(unknown_keys_are_taken),
        cmocka_unit_test(the_schema_uses_only_what_the_reader_checks),
        cmocka_unit_test(an_outside_validator_agrees),
        cmocka_unit_test(thinning_keeps_extremes),
        cmocka_unit_test(few_points_are_kept_as_they_are),
        cmocka_unit_test(a_million_points_are_thinned_fast),
        cmocka_unit_test(edges_of_a_limit_are_found),
        cmocka_unit_test(a_judged_sweep_becomes_a_document),
        cmocka_unit_test(the_picture_holds_sweep_and_limit),
        cmocka_unit_test(an_unstated_chain_gives_no_dbm),
        cmocka_unit_test(what_was_not_swept_widens_the_axis_a_little),
        cmocka_unit_test(memory_that_runs_out_is_told),
        cmocka_unit_test(a_sweep_from_zero_is_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
