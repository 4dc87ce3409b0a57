/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The outputs: text, picture, the gnuplot child.  All results are invented.  With SPURITY_PICTURES naming a folder the
 * pictures are left there to look at. */
#include "../check.h"

#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "../../lib/output/internal.h"
#include "stand_in.h"

/* ---- cases --------------------------------------------------------------------------------------------------------
 */

static bool limit_above_30(const void *user, double hz, double *db)
{
    const stand_in *in = user;
    if (hz < 30e6 || hz > 1.5e9 || fabs(hz - in->carrier_hz) < 8e3)
        return false;
    *db = -16;
    return true;
}

static bool limit_with_step(const void *user, double hz, double *db)
{
    const stand_in *in = user;
    if (fabs(hz - in->carrier_hz) < 8e3)
        return false;
    *db = hz < 30e6 ? in->carrier_dbm - 43 : hz < 1e9 ? -16 : -30;
    return true;
}

static bool limit_mask(const void *user, double hz, double *db)
{
    const stand_in *in = user;
    double off = fabs(hz - in->carrier_hz);
    if (off < 5625)
        return false;
    *db = in->carrier_dbm - (off < 12500 ? 20 + 7.27e-3 * (off - 5625) : 70);
    return true;
}

typedef struct output_case {
    const char *name;
    const char *verdict, *headline;
    stand_in sweep;
    stand_emission emissions[36];
    const char *not_shown, *title;
} output_case;

static const output_case cases[] = {
    {"pass",
     "pass",
     "PASS for unwanted emissions and power; frequency and deviation not examined",
     {30e6,
      1.5e9,
      0,
      0,
      4001,
      1e6,
      -62,
      146.94e6,
      36.7,
      {{146.94e6, 36.7}, {293.88e6, -21.1}, {440.82e6, -41}, {587.76e6, -52}},
      limit_above_30,
      NULL},
     {{"harmonic", 2, 293.88e6, -21.1, true, -16, "pass"},
      {"harmonic", 3, 440.82e6, -41, true, -16, "pass"},
      {"harmonic", 4, 587.76e6, -52, true, -16, "pass"},
      {"harmonic", 5, 734.7e6, -53.2, false, -16, "pass"},
      {"harmonic", 6, 881.64e6, -53.2, false, -16, "pass"},
      {"harmonic", 7, 1028.58e6, -53.2, false, -16, "pass"},
      {"harmonic", 8, 1175.52e6, -53.2, false, -16, "pass"},
      {"harmonic", 9, 1322.46e6, -53.2, false, -16, "pass"},
      {"harmonic", 10, 1469.4e6, -53.2, false, -16, "pass"}},
     NULL,
     "loan set 3, low band"},
    {"fail",
     "fail",
     "FAIL: H2 is 3.9 dB over 25 \u00b5W; spur at 312.4 MHz within the uncertainty",
     {100e6,
      520e6,
      0,
      0,
      2001,
      0.3e6,
      -55,
      146.94e6,
      36.7,
      {{146.94e6, 36.7}, {293.88e6, -12.1}, {440.82e6, -27}, {312.4e6, -16.8}},
      limit_above_30,
      NULL},
     {{"harmonic", 2, 293.88e6, -12.1, true, -16, "fail"},
      {"harmonic", 3, 440.82e6, -27, true, -16, "pass"},
      {"spurious", 0, 312.4e6, -16.8, true, -16, "conditional pass"}},
     NULL,
     NULL},
    {"gaps",
     "not shown",
     "NOT SHOWN: nothing over the limit from 30 MHz to 960 MHz; hidden within 400 kHz of the carrier: add a sweep of 2 "
     "MHz at 3 kHz RBW, or --beyond 400k",
     {30e6,
      960e6,
      21.2e6,
      1.3e9,
      1001,
      1e6,
      -60,
      146.94e6,
      36.7,
      {{146.94e6, 36.7}, {293.88e6, -27.1}, {440.82e6, -41}},
      limit_above_30,
      NULL},
     {{"harmonic", 2, 293.88e6, -27.1, true, -16, "pass"}, {"harmonic", 3, 440.82e6, -41, true, -16, "pass"}},
     "[{\"rules\":\"us-amateur\",\"clause\":\"97.307(e)\",\"from_hz\":9000.0,\"to_hz\":30e6,\"reason\":\"not-swept\","
     "\"advice\":\"add a sweep from 9 kHz to 30 MHz at 10 kHz RBW\"},"
     "{\"rules\":\"us-amateur\",\"clause\":\"97.307(e)\",\"from_hz\":146.54e6,\"to_hz\":147.34e6,\"reason\":\"hidden\","
     "\"advice\":\"add a sweep of 2 MHz around the carrier at 3 kHz RBW\"},"
     "{\"rules\":\"us-amateur\",\"clause\":\"97.307(e)\",\"from_hz\":960e6,\"to_hz\":1469.4e6,\"reason\":\"not-swept\","
     "\"advice\":\"sweep up to the tenth harmonic\"},"
     "{\"rules\":\"us-amateur\",\"clause\":\"97.307(e)\",\"from_hz\":700e6,\"to_hz\":790e6,\"reason\":\"floor-near-"
     "limit\",\"advice\":\"take 10 dB less attenuation or a narrower RBW\"}]",
     NULL},
    {"crowd",
     "conditional pass",
     "CONDITIONAL PASS for unwanted emissions: H7 within the uncertainty",
     {9e3,
      1.5e9,
      0,
      0,
      20001,
      0.1e6,
      -66,
      28.4e6,
      44,
      {{28.4e6, 44},
       {56.8e6, -20},
       {85.2e6, -20},
       {113.6e6, -25},
       {142e6, -22},
       {170.4e6, -31},
       {198.8e6, -16.7},
       {227.2e6, -33},
       {255.6e6, -40},
       {284e6, -38},
       {41.2e6, -35},
       {300.1e6, -44},
       {14.2e6, -36}},
      limit_with_step,
      NULL},
     {{"harmonic", 2, 56.8e6, -20, true, -16, "pass"},
      {"harmonic", 3, 85.2e6, -20, true, -16, "pass"},
      {"harmonic", 4, 113.6e6, -25, true, -16, "pass"},
      {"harmonic", 5, 142e6, -22, true, -16, "pass"},
      {"harmonic", 6, 170.4e6, -31, true, -16, "pass"},
      {"harmonic", 7, 198.8e6, -16.7, true, -16, "conditional pass"},
      {"harmonic", 8, 227.2e6, -33, true, -16, "pass"},
      {"harmonic", 9, 255.6e6, -40, true, -16, "pass"},
      {"harmonic", 10, 284e6, -38, true, -16, "pass"},
      {"spurious", 0, 41.2e6, -35, true, -16, "pass"},
      {"spurious", 0, 300.1e6, -44, true, -16, "pass"},
      {"subharmonic", 0, 14.2e6, -36, true, 1, "pass"}},
     NULL,
     "ten metre transmitter"},
    {"close",
     "pass",
     "PASS for the mask",
     {146.89e6,
      146.99e6,
      0,
      0,
      1001,
      300,
      -70,
      146.94e6,
      36.7,
      {{146.94e6, 36.7}, {146.952e6, -38}, {146.9275e6, -39.5}, {146.9775e6, -48}},
      limit_mask,
      NULL},
     {{"close-in", 0, 146.952e6, -38, true, -29.4, "pass"},
      {"close-in", 0, 146.9275e6, -39.5, true, -33.3, "pass"},
      {"spurious", 0, 146.9775e6, -48, true, -33.3, "pass"}},
     NULL,
     NULL},
    {"thirty",
     "fail",
     "FAIL: 3 of 30 emissions over 25 \u00b5W",
     {30e6, 1e9, 0, 0, 5001, 0.4e6, -64, 146.94e6, 36.7, {{146.94e6, 36.7}}, limit_above_30, NULL},
     {{.kind = NULL}},
     NULL,
     NULL},
    {"relative",
     NULL,
     NULL,
     {100e6, 1e9, 0, 0, 1001, 1e6, -85, 146.94e6, 0, {{146.94e6, 0}, {293.88e6, -57.8}, {440.82e6, -70}}, NULL, "dBc"},
     {{"harmonic", 2, 293.88e6, -57.8, true, NAN, NULL}, {"harmonic", 3, 440.82e6, -70, true, NAN, NULL}},
     NULL,
     NULL},
};

static size_t count_of(const output_case *one)
{
    size_t count = 0;
    while (count < 36 && one->emissions[count].kind)
        count++;
    return count;
}

/* Thirty spurs and their lines, spread and in a cluster. */
static output_case with_thirty(const output_case *one)
{
    output_case crowded = *one;
    for (size_t i = 0; i < 30; i++) {
        double hz = i < 12 ? 300e6 + 3e6 * (double)i : 40e6 + 30.7e6 * (double)i,
               dbm = -20 - 1.1 * (double)(i * 7 % 30);
        bool over = i % 11 == 5;
        dbm = over ? -12 + (double)i / 10 : dbm;
        crowded.sweep.lines[i + 1] = (stand_line){hz, dbm};
        crowded.emissions[i] = (stand_emission){"spurious", 0, hz, dbm, true, -16, over ? "fail" : "pass"};
    }
    return crowded;
}

static spurity_result *result_of(const output_case *given)
{
    static stand_text text;
    const output_case crowded = with_thirty(given), *one = strcmp(given->name, "thirty") ? given : &crowded;
    stand_document(&text, one->verdict, one->headline, one->sweep.carrier_hz, one->sweep.carrier_dbm, one->emissions,
                   count_of(one), one->not_shown, one->title);
    return stand_result(&one->sweep, text.text);
}

static void keep(const char *name, const char *kind, const spurity_bytes *bytes)
{
    const char *folder = getenv("SPURITY_PICTURES");
    char path[500];
    if (!folder)
        return;
    snprintf(path, sizeof path, "%s/%s.%s", folder, name, kind);
    FILE *out = fopen(path, "wb");
    assert_non_null(out);
    fwrite(bytes->data, 1, bytes->size, out);
    fclose(out);
}

static void every_case_draws(void **state)
{
    static const char *const kinds[] = {"svg", "png", "pdf"};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        spurity_result *result = result_of(&cases[i]);
        for (size_t k = 0; k < 3; k++) {
            spurity_error error = {0};
            spurity_bytes bytes;
            assert_ok(spurity_output_picture(result, kinds[k], &bytes, &error), &error);
            keep(cases[i].name, kinds[k], &bytes);
            spurity_bytes_release(&bytes);
        }
        spurity_error error = {0};
        spurity_bytes bytes;
        assert_ok(spurity_output_text(result, &(spurity_text_options){.colour = false, .columns = 100}, &bytes, &error),
                  &error);
        keep(cases[i].name, "txt", &bytes);
        spurity_bytes_release(&bytes);
        spurity_result_free(result);
    }
}

/* ---- hostile text --------------------------------------------------------------------------------------------------
 */

/* Each would run, break the program or end a block if it reached gnuplot as code. */
static const char *const hostile[] = {
    "`touch spurity-was-here`",
    "'.system(\\\"touch spurity-was-here\\\").'",
    "\\\"; system(\\\"touch spurity-was-here\\\"); \\\"",
    "\\nsystem('touch spurity-was-here')\\n!touch spurity-was-here\\n",
    "SPURITY_END\\n!touch spurity-was-here",
    "@kind {/Bold=40 x} ^a _b \\\\n \\\\042 ~ & <g>",
    "# $title << X",
    "\\ttab\\u0007bell\\u001b[31m\\u009b31m\\u202egnp",
};

static size_t count_text(const spurity_bytes *in, const char *text)
{
    size_t count = 0, length = strlen(text);
    for (size_t i = 0; i + length <= in->size; i++)
        count += !memcmp(in->data + i, text, length);
    return count;
}

static void text_never_reaches_gnuplot_as_code(void **state)
{
    char folder[] = P_tmpdir "/spurity-output-XXXXXX";
    char *back = getcwd(NULL, 0);
    assert_non_null(mkdtemp(folder));
    assert_int_equal(chdir(folder), 0);
    for (size_t i = 0; i < sizeof hostile / sizeof hostile[0]; i++) {
        output_case one = cases[0];
        spurity_error error = {0};
        spurity_bytes svg;
        one.title = hostile[i];
        one.headline = hostile[i];
        spurity_result *result = result_of(&one);
        assert_ok(spurity_output_picture(result, "svg", &svg, &error), &error);
        keep("hostile", "svg", &svg);
        assert_int_equal(access("spurity-was-here", F_OK), -1);
        if (i == 0) /* title and caption: plain letters, twice */
            assert_int_equal(count_text(&svg, "`touch spurity-was-here`"), 2);
        if (i == 1)
            assert_int_equal(count_text(&svg, "'.system(\"touch spurity-was-here\").'"), 2);
        if (i == 2)
            assert_int_equal(count_text(&svg, "\"; system(\"touch spurity-was-here\"); \""), 2);
        if (i == 4)
            assert_int_equal(count_text(&svg, "SPURITY_END !touch spurity-was-here"), 2);
        if (i == 5)
            assert_int_equal(count_text(&svg, "@kind {/Bold=40 x} ^a _b \\n \\042 ~ &amp; &lt;g>"), 2);
        for (size_t k = 0; k < svg.size; k++) /* XML 1.0 allows tab, LF, CR only */
            assert_true((unsigned char)svg.data[k] >= 0x20 || strchr("\t\n\r", svg.data[k]));
        assert_int_equal(count_text(&svg, "\xE2\x80\xAE"), 0);
        spurity_bytes_release(&svg);
        spurity_result_free(result);
    }
    assert_int_equal(chdir(back), 0);
    assert_int_equal(rmdir(folder), 0); /* fails if anything was left there */
    free(back);
}

/* ---- the child
 * ------------------------------------------------------------------------------------------------------- */

static spurity_status run_program(const char *command, const char *text, int seconds, spurity_buffer *out,
                                  spurity_error *error)
{
    spurity_buffer program = {0};
    spurity_buffer_text(&program, text);
    spurity_status status = spurity_gnuplot_run(command, &program, seconds, out, error);
    spurity_buffer_release(&program);
    return status;
}

static void a_missing_gnuplot_is_told(void **state)
{
    spurity_buffer out = {0};
    spurity_error error = {0};
    assert_int_equal(run_program("spurity-no-such-program", "", 5, &out, &error), SPURITY_SYSTEM);
    assert_string_equal(error.found, "gnuplot is missing");
    assert_string_equal(error.advice, "install gnuplot-nox");
    spurity_buffer_release(&out);
}

static void a_fault_of_gnuplot_is_told_in_its_words(void **state)
{
    spurity_buffer out = {0};
    spurity_error error = {0};
    assert_int_equal(run_program("gnuplot", "plot nonsense\n", 20, &out, &error), SPURITY_SYSTEM);
    assert_non_null(strstr(error.found, "nonsense"));
    spurity_buffer_release(&out);
}

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void a_child_that_hangs_is_ended(void **state)
{
    spurity_buffer out = {0};
    spurity_error error = {0};
    double before = seconds_now();
    assert_int_equal(run_program("gnuplot", "pause 30\n", 1, &out, &error), SPURITY_SYSTEM);
    assert_true(seconds_now() - before < 8);
    assert_non_null(strstr(error.found, "within 1 s"));
    spurity_buffer_release(&out);
}

/* Complaints far over a pipe's room while the picture is read too: neither may block the other. */
static void many_complaints_do_not_block(void **state)
{
    spurity_buffer out = {0};
    spurity_error error = {0};
    assert_ok(run_program("gnuplot",
                          "set print '-'\ndo for [i=1:20000] { print 'picture' }\nset print\n"
                          "do for [i=1:20000] { print 'complaint' }\n",
                          30, &out, &error),
              &error);
    assert_int_equal(out.size, 20000 * strlen("picture\n"));
    spurity_buffer_release(&out);
}

/* The child sees two variables and no more. */
static void the_environment_is_cut(void **state)
{
    spurity_buffer out = {0};
    spurity_error error = {0};
    setenv("SPURITY_SECRET", "told", 1);
    assert_ok(run_program("gnuplot", "set print '-'\nprint system('env')\n", 20, &out, &error), &error);
    assert_non_null(strstr(out.data, "LC_ALL=C.UTF-8"));
    assert_null(strstr(out.data, "SPURITY_SECRET"));
    unsetenv("SPURITY_SECRET");
    spurity_buffer_release(&out);
}

static void kinds_and_trailers(void **state)
{
    spurity_error error = {0};
    spurity_bytes bytes;
    spurity_result *result = result_of(&cases[0]);
    assert_int_equal(spurity_output_picture(result, "gif", &bytes, &error), SPURITY_INVALID);
    assert_null(bytes.data);
    spurity_result_free(result);
    result = stand_result(NULL, "{\"format\":\"spurity-measurement\",\"version\":1,\"tool\":\"x\",\"settings\":{},"
                                "\"carrier\":{\"frequency_hz\":1e6,\"level_dbm\":null,\"power_w\":null,"
                                "\"uncertainty_db\":null,\"source\":\"trace\",\"width_hz\":null,\"character\":null},"
                                "\"emissions\":[],\"not_shown\":[],\"warnings\":[],\"inputs\":[]}");
    error = (spurity_error){0};
    assert_int_equal(spurity_output_picture(result, "svg", &bytes, &error), SPURITY_INCOMPLETE);
    spurity_result_free(result);
}

/* ---- speed
 * ------------------------------------------------------------------------------------------------------------ */

static void a_million_points_render_in_time(void **state)
{
    output_case one = cases[0];
    one.sweep.points = 1000000;
    one.sweep.lines[0].hz = 0; /* the noise alone: the shapes of lines take the stand-in's time, not ours */
    spurity_result *result = result_of(&one);
    const spurity_picture *picture = spurity_result_picture(result);
    assert_int_equal(picture->trace_count, 1);
    assert_true(picture->traces[0].count <= SPURITY_PICTURE_COLUMNS + 2);
    spurity_error error = {0};
    spurity_bytes svg;
    double before = seconds_now();
    assert_ok(spurity_output_picture(result, "svg", &svg, &error), &error);
    double took = seconds_now() - before;
    print_message("a picture of a million points: %.2f s, %zu bytes\n", took, svg.size);
    assert_true(took < 5);
    spurity_bytes_release(&svg);
    spurity_result_free(result);
}

/* ---- labels
 * ------------------------------------------------------------------------------------------------------------ */

/* No text on a text, no stem through a text: checked afresh, for many random crowds. */
static void assert_apart(const spurity_label *labels, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < count; k++) {
            const spurity_label *a = &labels[i], *b = &labels[k];
            if (i == k || a->row < 0 || b->row < 0)
                continue;
            double from = a->x + 4 * a->side - a->width * (1 - a->side) / 2, to = from + a->width;
            double other = b->x + 4 * b->side - b->width * (1 - b->side) / 2;
            assert_false(a->row == b->row && from < other + b->width && other < to);
            assert_false(b->row > a->row && b->x > from && b->x < to);
        }
}

static int compare_labels(const void *a, const void *b)
{
    double x = ((const spurity_label *)a)->x, y = ((const spurity_label *)b)->x;
    return (x > y) - (x < y);
}

static void labels_never_overlap(void **state)
{
    uint64_t seed = 4711;
    for (int turn = 0; turn < 300; turn++) {
        spurity_label labels[14];
        for (size_t i = 0; i < 14; i++)
            labels[i] = (spurity_label){
                .x = 64 + 1100 * stand_random(&seed), .width = 90 + 120 * stand_random(&seed), .weight = 10};
        qsort(labels, 14, sizeof labels[0], compare_labels);
        int rows = spurity_labels_place(labels, 14, 8, 1192, 12);
        assert_true(rows >= 1 && rows <= 12);
        assert_apart(labels, 14);
        size_t placed = 0;
        for (size_t i = 0; i < 14; i++)
            placed += labels[i].row >= 0;
        assert_true(placed >= 9); /* of 14; what is left out is told in the caption */
    }
}

/* Ten harmonics on a log axis, the usual crowd: all of them find room. */
static void ten_harmonics_all_find_room(void **state)
{
    spurity_label labels[9];
    for (size_t i = 0; i < 9; i++)
        labels[i] = (spurity_label){.x = 500 + 650 * log10((double)i + 2), .width = 170, .weight = 10};
    spurity_labels_place(labels, 9, 8, 1192, 12);
    assert_apart(labels, 9);
    for (size_t i = 0; i < 9; i++)
        assert_true(labels[i].row >= 0);
}

/* Two emissions beside the carrier fall on one place of a wide axis: that may not cost the others their labels. */
static void twins_do_not_drive_others_out(void **state)
{
    spurity_label labels[6] = {{468, 170, 8, 0, 0},  {512, 190, 20, 0, 0}, {512.7, 190, 19, 0, 0},
                               {708, 170, 30, 0, 0}, {822, 170, 28, 0, 0}, {966, 170, 26, 0, 0}};
    spurity_labels_place(labels, 6, 8, 1192, 12);
    assert_apart(labels, 6);
    for (size_t i = 0; i < 6; i++)
        assert_true(labels[i].row >= 0);
}

/* The heaviest label is never the one left out. */
static void the_worst_keeps_its_label(void **state)
{
    spurity_label labels[14];
    for (size_t i = 0; i < 14; i++)
        labels[i] = (spurity_label){.x = 600 + (double)i, .width = 170, .weight = i == 7 ? 1000 : 5};
    spurity_labels_place(labels, 14, 8, 1192, 3);
    assert_apart(labels, 14);
    assert_true(labels[7].row >= 0);
}

/* ---- text
 * ----------------------------------------------------------------------------------------------------------------- */

static char *text_of(const output_case *one, int columns, bool colour)
{
    spurity_error error = {0};
    spurity_bytes bytes;
    spurity_result *result = result_of(one);
    assert_ok(
        spurity_output_text(result, &(spurity_text_options){.colour = colour, .columns = columns}, &bytes, &error),
        &error);
    assert_int_equal(strlen(bytes.data), bytes.size);
    spurity_result_free(result);
    return bytes.data;
}

static void verdict_stands_first(void **state)
{
    char *text = text_of(&cases[1], 100, false);
    assert_int_equal(strncmp(text, "FAIL: H2 is 3.9 dB over 25 \u00b5W", 30), 0);
    const char *carrier = strstr(text, "carrier\n"), *emissions = strstr(text, "emissions"),
               *foot = strstr(text, "no certification");
    assert_true(carrier && emissions && foot && carrier < emissions && emissions < foot);
    const char *row = strstr(text, "  H2  ");
    assert_non_null(row);
    const char *end = strchr(row, '\n');
    const char *margin = strstr(row, "3.9 dB over"), *outcome = strstr(row, "fail");
    assert_true(margin && outcome && margin < outcome && outcome < end);
    free(text);
    text = text_of(&cases[2], 100, false);
    assert_non_null(
        strstr(text, "960 MHz to 1.4694 GHz: not swept (97.307(e))\n      sweep up to the tenth harmonic\n"));
    free(text);
}

static void measure_has_no_verdict(void **state)
{
    char *text = text_of(&cases[sizeof cases / sizeof cases[0] - 1], 100, false);
    assert_int_equal(strncmp(text, "measured, not judged", 20), 0);
    assert_null(strstr(text, "clear"));
    assert_null(strstr(text, "certification"));
    free(text);
}

static void text_fits_its_width(void **state)
{
    static const int widths[] = {60, 80, 100, 140};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (size_t w = 0; w < 4; w++) {
            char *text = text_of(&cases[i], widths[w], false);
            for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n"))
                if (spurity_characters(line) > (size_t)widths[w]) {
                    print_error("%s at %d: %s\n", cases[i].name, widths[w], line);
                    fail();
                }
            free(text);
        }
}

/* With the colours taken out the coloured text is the plain one: words carry the meaning. */
static void colour_only_repeats(void **state)
{
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *plain = text_of(&cases[i], 100, false), *coloured = text_of(&cases[i], 100, true);
        assert_null(strchr(plain, '\033'));
        assert_non_null(strchr(coloured, '\033'));
        char *to = coloured;
        for (const char *from = coloured; *from; from++)
            if (*from == '\033')
                from = strchr(from, 'm');
            else
                *to++ = *from;
        *to = '\0';
        assert_string_equal(coloured, plain);
        free(plain);
        free(coloured);
    }
}

static void no_escape_of_a_file_reaches_the_terminal(void **state)
{
    output_case one = cases[0];
    one.headline = "\\u001b[2J\\u009b1mPASS\\r\\u0007 \\u202e";
    char *text = text_of(&one, 100, false);
    for (const char *at = text; *at; at++)
        assert_true((unsigned char)*at >= 0x20 || *at == '\n');
    assert_null(strstr(text, "\xC2\x9B"));
    free(text);
}

static void plain_text_keeps_and_drops(void **state)
{
    char out[64];
    assert_string_equal(spurity_plain(out, sizeof out, "a\tb\nc", 40), "a b c");
    assert_string_equal(spurity_plain(out, sizeof out, "\u00b5\u2212\U0001F4FB", 40), "\u00b5\u2212\U0001F4FB");
    assert_string_equal(spurity_plain(out, sizeof out, "x\xff\xc3", 40), "x\uFFFD\uFFFD");
    assert_string_equal(spurity_plain(out, sizeof out, "abcdefghij", 6), "abc...");
    assert_string_equal(spurity_plain(out, 6, "abcdefghij", 40), "ab...");
    assert_string_equal(spurity_plain(out, sizeof out, "\xEF\xBF\xBF|", 40), " |");
    assert_string_equal(spurity_plain(out, sizeof out, NULL, 40), "");
}

/* Two decimals with a point, rounded half away from zero; printf's figure is the reference. */
static void fixed_numbers(void **state)
{
    static const double values[] = {0, 1, -1, 0.994, 0.996, 12.345678, -0.05, -0.001, 1168, 123456.789, -9000};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        spurity_buffer out = {0};
        char want[40];
        spurity_buffer_fixed(&out, values[i]);
        snprintf(want, sizeof want, "%.2f", values[i]);
        assert_string_equal(out.data, strcmp(want, "-0.00") ? want : "0.00");
        spurity_buffer_release(&out);
    }
}

int main(void)
{
    const struct CMUnitTest words[] = {
        cmocka_unit_test(verdict_stands_first),
        cmocka_unit_test(measure_has_no_verdict),
        cmocka_unit_test(text_fits_its_width),
        cmocka_unit_test(colour_only_repeats),
        cmocka_unit_test(no_escape_of_a_file_reaches_the_terminal),
        cmocka_unit_test(plain_text_keeps_and_drops),
        cmocka_unit_test(fixed_numbers),
        cmocka_unit_test(labels_never_overlap),
        cmocka_unit_test(ten_harmonics_all_find_room),
        cmocka_unit_test(twins_do_not_drive_others_out),
        cmocka_unit_test(the_worst_keeps_its_label),
        cmocka_unit_test(a_missing_gnuplot_is_told),
        cmocka_unit_test(kinds_and_trailers),
    };
    const struct CMUnitTest pictures[] = {
        cmocka_unit_test(every_case_draws),
        cmocka_unit_test(text_never_reaches_gnuplot_as_code),
        cmocka_unit_test(a_fault_of_gnuplot_is_told_in_its_words),
        cmocka_unit_test(a_child_that_hangs_is_ended),
        cmocka_unit_test(many_complaints_do_not_block),
        cmocka_unit_test(the_environment_is_cut),
        cmocka_unit_test(a_million_points_render_in_time),
    };
    int failed = cmocka_run_group_tests(words, NULL, NULL);
    if (system("gnuplot --version >/dev/null 2>&1")) {
        print_message("SKIPPED: gnuplot is missing, the tests of pictures do not run\n");
        return failed;
    }
    return failed + cmocka_run_group_tests(pictures, NULL, NULL);
}
