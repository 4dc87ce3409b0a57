/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "trace/trace.h"

#include "../check.h"

static spurity_trace *new_trace(void)
{
    spurity_error error = {0};
    spurity_trace *trace;
    assert_ok(spurity_trace_create(&trace, &error), &error);
    return trace;
}

static void begin(spurity_trace *trace)
{
    spurity_error error = {0};
    spurity_segment_facts facts = {.rbw_hz = 1000, .detector = SPURITY_DETECTOR_PEAK};
    assert_ok(spurity_trace_begin_segment(trace, &facts, &error), &error);
}

static void append(spurity_trace *trace, const double *hz, const double *db, size_t count)
{
    spurity_error error = {0};
    assert_ok(spurity_trace_append(trace, hz, db, count, &error), &error);
}

static void test_points(void **state)
{
    spurity_trace *trace = new_trace();
    const double hz[] = {-10, 0, 10, 20}, db[] = {-50, -60, -70, -80};
    spurity_segment segment;
    begin(trace);
    append(trace, hz, db, 2);
    append(trace, hz + 2, db + 2, 2);
    assert_int_equal(spurity_trace_points(trace), 4);
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_false(spurity_trace_segment(trace, 1, &segment));
    assert_int_equal(segment.count, 4);
    assert_memory_equal(segment.frequency_hz, hz, sizeof hz);
    assert_memory_equal(segment.level_db, db, sizeof db);
    assert_near(segment.step_hz, 10, 0);
    assert_near(segment.facts.rbw_hz, 1000, 0);
    assert_int_equal(segment.gap_count, 0);
    spurity_trace_levels(trace, 0)[1] += 40;
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_near(segment.level_db[1], -20, 0);
    assert_null(spurity_trace_levels(trace, 1));
    spurity_trace_free(trace);
    spurity_trace_free(NULL);
}

static void check_refused(spurity_trace *trace, double hz1, double hz2, double db1, double db2)
{
    spurity_error error = {0};
    const double hz[] = {hz1, hz2}, db[] = {db1, db2};
    const size_t before = spurity_trace_points(trace);
    assert_int_equal(spurity_trace_append(trace, hz, db, 2, &error), SPURITY_INVALID);
    assert_int_equal(error.status, SPURITY_INVALID);
    assert_int_equal(spurity_trace_points(trace), before);
}

/* A refused call leaves the trace as it was, even where its first point was good. */
static void test_refusals(void **state)
{
    spurity_trace *trace = new_trace();
    const double hz[] = {100}, db[] = {-1};
    check_refused(trace, 1, 2, -1, -1); /* no segment */
    begin(trace);
    append(trace, hz, db, 1);
    check_refused(trace, 110, 110, -1, -1);
    check_refused(trace, 110, 105, -1, -1);
    check_refused(trace, 100, 110, -1, -1);
    check_refused(trace, 110, NAN, -1, -1);
    check_refused(trace, 110, INFINITY, -1, -1);
    check_refused(trace, 110, 120, -1, INFINITY);
    check_refused(trace, 110, 120, -INFINITY, -1);
    check_refused(trace, 110, 90, NAN, NAN); /* a missing point has its place, too */
    const double more_hz[] = {110}, more_db[] = {-2};
    append(trace, more_hz, more_db, 1);
    assert_int_equal(spurity_trace_points(trace), 2);
    spurity_trace_free(trace);
}

/* Missing points: held nowhere, but known between which neighbours, across calls too. */
static void test_missing_points(void **state)
{
    spurity_trace *trace = new_trace();
    const double hz[] = {1, 2, 3, 4, 5, 6, 7, 8}, db[] = {NAN, -2, -3, NAN, NAN, -6, -7, NAN};
    spurity_segment segment;
    begin(trace);
    append(trace, hz, db, 4);
    append(trace, hz + 4, db + 4, 4);
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_int_equal(segment.count, 4);
    assert_int_equal(segment.missing, 4);
    assert_int_equal(segment.gap_count, 1);
    assert_int_equal(segment.gap_before[0], 2);
    assert_near(segment.frequency_hz[2], 6, 0);
    assert_near(segment.step_hz, 1, 0); /* the gap is no step */
    const double late_hz[] = {9}, late_db[] = {-9};
    append(trace, late_hz, late_db, 1);
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_int_equal(segment.gap_count, 2);
    assert_int_equal(segment.gap_before[1], 4);
    spurity_trace_free(trace);
}

static void test_segments(void **state)
{
    spurity_trace *trace = new_trace();
    const double hz[] = {1, 2}, db[] = {-1, -2};
    spurity_segment segment;
    begin(trace); /* stays empty: vanishes */
    assert_int_equal(spurity_trace_segment_count(trace), 0);
    begin(trace);
    append(trace, hz, db, 2);
    begin(trace); /* may overlap the one before */
    append(trace, hz, db, 2);
    begin(trace);
    assert_int_equal(spurity_trace_segment_count(trace), 2);
    assert_int_equal(spurity_trace_points(trace), 4);
    spurity_segment_facts facts = {.rbw_hz = 30};
    spurity_trace_set_facts(trace, 1, &facts);
    assert_true(spurity_trace_segment(trace, 1, &segment));
    assert_near(segment.facts.rbw_hz, 30, 0);
    spurity_trace_set_facts(trace, 9, &facts);
    spurity_trace_free(trace);
}

static void test_drop(void **state)
{
    spurity_trace *trace = new_trace();
    const double hz[] = {1, 2, 3, 4, 5, 6}, db[] = {-1, -2, NAN, -4, -5, -6};
    const unsigned char keep[] = {0, 1, 1, 0, 1}, none[] = {0, 0};
    spurity_segment segment;
    begin(trace);
    append(trace, hz, db, 6);
    assert_false(spurity_trace_drop(trace, 0, keep));
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_int_equal(segment.count, 3); /* 2, 4, 6 */
    assert_int_equal(segment.missing, 3);
    assert_int_equal(segment.gap_count, 2);
    assert_int_equal(segment.gap_before[0], 1); /* the old one, 3 missing */
    assert_int_equal(segment.gap_before[1], 2); /* 5 dropped */
    assert_near(segment.frequency_hz[1], 4, 0);
    assert_false(spurity_trace_drop(trace, 7, keep));

    /* Dropped at the end, and points appended after it: a gap. */
    const unsigned char not_last[] = {1, 1, 0};
    const double late_hz[] = {7}, late_db[] = {-7};
    assert_false(spurity_trace_drop(trace, 0, not_last));
    append(trace, late_hz, late_db, 1);
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_int_equal(segment.gap_before[segment.gap_count - 1], 2);
    spurity_trace_free(trace);

    /* An emptied segment goes, those behind it move up. */
    trace = new_trace();
    begin(trace);
    append(trace, hz, db, 2);
    begin(trace);
    append(trace, hz + 3, db + 3, 3);
    assert_true(spurity_trace_drop(trace, 0, none));
    assert_int_equal(spurity_trace_segment_count(trace), 1);
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_near(segment.frequency_hz[0], 4, 0);
    spurity_trace_free(trace);
}

/* Many points: content stays through growth, the step is that of most neighbours. */
static void test_growth(void **state)
{
    enum { BLOCK = 1000, BLOCKS = 200 };
    static double hz[BLOCK], db[BLOCK];
    spurity_trace *trace = new_trace();
    spurity_segment segment;
    begin(trace);
    for (int block = 0; block < BLOCKS; block++) {
        for (int i = 0; i < BLOCK; i++) {
            hz[i] = 100.0 * (block * BLOCK + i);
            db[i] = -(double)(block * BLOCK + i);
        }
        append(trace, hz, db, BLOCK);
    }
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_int_equal(segment.count, BLOCK * BLOCKS);
    assert_near(segment.step_hz, 100, 0);
    for (size_t i = 0; i < segment.count; i++)
        assert_near(segment.level_db[i], -(double)i, 0);
    spurity_trace_free(trace);
}

static void test_scale(void **state)
{
    spurity_trace *trace = new_trace();
    assert_string_equal(spurity_trace_scale(trace), "");
    spurity_trace_set_scale(trace, "receiver A");
    assert_string_equal(spurity_trace_scale(trace), "receiver A");
    spurity_trace_set_scale(trace, NULL);
    assert_string_equal(spurity_trace_scale(trace), "");
    char longer[200];
    memset(longer, 's', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    spurity_trace_set_scale(trace, longer);
    assert_int_equal(strlen(spurity_trace_scale(trace)), 63);
    spurity_trace_free(trace);
}

static void test_detector_words(void **state)
{
    static const struct {
        const char *text;
        spurity_detector detector;
    } rows[] = {
        {"sample", SPURITY_DETECTOR_SAMPLE},
        {"RMS", SPURITY_DETECTOR_AVERAGE},
        {"Pos Peak", SPURITY_DETECTOR_PEAK},
        {"Max Hold", SPURITY_DETECTOR_MAX_HOLD},
        {"max-hold", SPURITY_DETECTOR_MAX_HOLD},
        {"log-average", SPURITY_DETECTOR_LOG_AVERAGE},
        {"Average (Log)", SPURITY_DETECTOR_LOG_AVERAGE},
        {"Neg Peak", SPURITY_DETECTOR_UNKNOWN},
        {"quasi peak", SPURITY_DETECTOR_UNKNOWN},
        {"", SPURITY_DETECTOR_UNKNOWN},
        {"unknown", SPURITY_DETECTOR_UNKNOWN},
        {"auto", SPURITY_DETECTOR_UNKNOWN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(spurity_detector_from_text(rows[i].text, strlen(rows[i].text)), rows[i].detector);
    for (int i = 0; i <= SPURITY_DETECTOR_MAX_HOLD; i++) {
        const char *name = spurity_detector_name((spurity_detector)i);
        assert_int_equal(spurity_detector_from_text(name, strlen(name)), i);
    }
    assert_null(spurity_detector_name((spurity_detector)99));
}

static void test_curve(void **state)
{
    const double hz[] = {100, 200, 400}, db[] = {1, 3, 2}, u[] = {0.1, 0.3, 0.2};
    spurity_curve *curve;
    spurity_error error = {0};
    double loss, uncertainty;
    assert_ok(spurity_curve_create(hz, db, u, 3, &curve, &error), &error);
    assert_int_equal(spurity_curve_count(curve), 3);
    for (int i = 0; i < 3; i++) {
        assert_true(spurity_curve_at(curve, hz[i], &loss, &uncertainty));
        assert_near(loss, db[i], 0);
        assert_near(uncertainty, u[i], 0);
    }
    assert_true(spurity_curve_at(curve, 150, &loss, NULL));
    assert_near(loss, 2, 1e-15);
    assert_true(spurity_curve_at(curve, 350, &loss, &uncertainty));
    assert_near(loss, 2.25, 1e-15);
    assert_near(uncertainty, 0.225, 1e-15);
    loss = 77;
    assert_false(spurity_curve_at(curve, 99.999, &loss, NULL));
    assert_false(spurity_curve_at(curve, 400.001, &loss, NULL));
    assert_false(spurity_curve_at(curve, NAN, &loss, NULL));
    assert_near(loss, 77, 0);
    spurity_curve_free(curve);

    assert_ok(spurity_curve_create(hz, db, NULL, 1, &curve, &error), &error);
    assert_true(spurity_curve_at(curve, 100, &loss, &uncertainty));
    assert_near(loss, 1, 0);
    assert_true(isnan(uncertainty));
    assert_false(spurity_curve_at(curve, 101, &loss, NULL));
    spurity_curve_free(curve);
    spurity_curve_free(NULL);
}

static void test_bad_curves(void **state)
{
    const double rise[] = {1, 2}, same[] = {1, 1}, below[] = {-1, 1}, nan[] = {1, NAN}, inf[] = {1, INFINITY};
    const double *const frequencies[] = {same, below, nan, inf};
    spurity_curve *curve;
    for (size_t i = 0; i < 4; i++) {
        spurity_error error = {0};
        assert_int_equal(spurity_curve_create(frequencies[i], rise, NULL, 2, &curve, &error), SPURITY_INVALID);
        assert_null(curve);
    }
    spurity_error error = {0};
    assert_int_equal(spurity_curve_create(rise, nan, NULL, 2, &curve, &error), SPURITY_INVALID);
    assert_int_equal(spurity_curve_create(rise, rise, below, 2, &curve, &error), SPURITY_INVALID);
    assert_int_equal(spurity_curve_create(rise, rise, nan, 2, &curve, &error), SPURITY_INVALID);
    assert_int_equal(spurity_curve_create(rise, rise, NULL, 0, &curve, &error), SPURITY_INVALID);
    assert_null(curve);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_points),     cmocka_unit_test(test_refusals),       cmocka_unit_test(test_missing_points),
        cmocka_unit_test(test_segments),   cmocka_unit_test(test_drop),           cmocka_unit_test(test_growth),
        cmocka_unit_test(test_scale),      cmocka_unit_test(test_detector_words), cmocka_unit_test(test_curve),
        cmocka_unit_test(test_bad_curves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
