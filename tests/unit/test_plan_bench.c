/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The invented bench that plans are followed on, held against textbook figures: one that is wrong would test nothing.
 */
#include <unistd.h>

#include "../check.h"
#include "../plan_bench.h"

enum { POINTS = 40001 };

static double no_loss(const void *user, double hz)
{
    (void)user;
    (void)hz;
    return 0;
}

static double forty_db(const void *user, double hz)
{
    (void)user;
    (void)hz;
    return 40;
}

static const struct made_instrument quiet = {
    .noise_dbm = -100, .noise_rbw_hz = 1e3, .loss_db = no_loss, .seed = 20260202};

/* Makes a sweep and reads its levels back; the caller frees. */
static double *levels(const struct made_instrument *instrument, const struct made_set *set,
                      const struct made_sweep *sweep)
{
    char path[64], line[128];
    double *dbm = calloc(sweep->points, sizeof *dbm), hz;
    size_t count = 0;
    snprintf(path, sizeof path, "plan-bench-%d.csv", (int)getpid());
    assert_non_null(dbm);
    assert_true(made_sweep_write(path, instrument, set, sweep));
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    while (count < sweep->points && fgets(line, sizeof line, file))
        if (sscanf(line, "%lf,%lf", &hz, &dbm[count]) == 2)
            count++;
    fclose(file);
    unlink(path);
    assert_int_equal(count, sweep->points);
    return dbm;
}

/* Mean power and mean level of a sweep of noise alone, over the noise's mean power, dB. */
static void noise_figures(enum made_detector detector, double sweeps, double seconds, double *power_db, double *mean_db)
{
    const struct made_line far = {.hz = 1e9, .dbm = 0};
    const struct made_set set = {.lines = &far, .line_count = 1};
    const struct made_sweep sweep = {.start_hz = 100e6,
                                     .stop_hz = 140e6,
                                     .rbw_hz = 10e3,
                                     .points = POINTS,
                                     .detector = detector,
                                     .sweeps = sweeps,
                                     .seconds = seconds};
    double *dbm = levels(&quiet, &set, &sweep), power = 0, mean = 0;
    for (int i = 0; i < POINTS; i++) {
        power += pow(10, (dbm[i] + 90) / 10) / POINTS; /* -100 dBm in 1 kHz is -90 dBm in 10 kHz */
        mean += (dbm[i] + 90) / POINTS;
    }
    free(dbm);
    *power_db = 10 * log10(power);
    *mean_db = mean;
}

/* Mean power 0 dB; mean of the dB of an exponential law -2.507 dB, of the highest of n the harmonic number H_n
 * (textbook: expectation of the largest of n exponentials). */
static void test_noise_reads_as_it_should(void **state)
{
    (void)state;
    double power, mean;
    noise_figures(MADE_SAMPLE, 1, 1, &power, &mean);
    assert_near(power, 0, 0.06);
    assert_near(mean, -2.507, 0.06);
    noise_figures(MADE_AVERAGE, 16, 1e-3, &power, &mean);
    assert_near(power, 0, 0.02);
    noise_figures(MADE_AVERAGE, 1, 10 * POINTS / 10e3, &power, &mean); /* ten looks of a point's time */
    assert_near(power, 0, 0.02);
    assert_near(mean, -10 / log(10) * (log(10) - 2.2517526), 0.02); /* digamma(10) = 2.2517526, Abramowitz, Stegun */
    noise_figures(MADE_LOG_AVERAGE, 16, 1e-3, &power, &mean);
    assert_near(mean, -2.507, 0.02);
    noise_figures(MADE_MAX_HOLD, 10, 1, &power, &mean);
    assert_near(power, 10 * log10(2.9289683), 0.03); /* H_10 */
    noise_figures(MADE_PEAK, 1, 10 * POINTS / 10e3, &power, &mean);
    assert_near(power, 10 * log10(2.9289683), 0.03);
}

static void test_a_line_reads_its_level_behind_the_loss(void **state)
{
    (void)state;
    const struct made_line line = {.hz = 145e6, .dbm = 37};
    const struct made_set set = {.lines = &line, .line_count = 1};
    struct made_instrument instrument = quiet;
    instrument.loss_db = forty_db;
    struct made_sweep sweep = {.start_hz = 144.95e6,
                               .stop_hz = 145.05e6,
                               .rbw_hz = 10e3,
                               .points = 101,
                               .detector = MADE_SAMPLE,
                               .sweeps = 1,
                               .seconds = 1};
    double *dbm = levels(&instrument, &set, &sweep);
    assert_near(dbm[50], -3, 0.01);
    assert_near(dbm[55], -3 - 3.0103, 0.01); /* half an RBW off */
    assert_near(dbm[65], -3 - 27.093, 0.05); /* three halves: nine times as many dB */
    free(dbm);
    instrument.four_poles = true;
    dbm = levels(&instrument, &set, &sweep);
    assert_near(dbm[55], -3 - 3.0103, 0.01);
    free(dbm);
    /* A peak detector's cell, 40 kHz wide, sees the line wherever in it it stands. */
    sweep = (struct made_sweep){.start_hz = 144.013e6,
                                .stop_hz = 146.013e6,
                                .rbw_hz = 10e3,
                                .points = 51,
                                .detector = MADE_PEAK,
                                .sweeps = 1,
                                .seconds = 1};
    dbm = levels(&instrument, &set, &sweep);
    double highest = -300;
    for (int i = 0; i < 51; i++)
        highest = fmax(highest, dbm[i]);
    assert_near(highest, -3, 0.05);
    free(dbm);
}

/* Width of the response, integrated: 1.0645 of the RBW for a Gaussian filter, 1.128 for four equal circuits (both from
 * memory; tabulated so in texts on spectrum measurement), and the four circuits are down 60 dB at 12.7 times their
 * width. */
static void test_filters_have_their_widths(void **state)
{
    (void)state;
    const struct made_line line = {.hz = 100e6, .dbm = 0};
    const struct made_set set = {.lines = &line, .line_count = 1};
    struct made_instrument instrument = quiet;
    instrument.noise_dbm = -160;
    const struct made_sweep sweep = {.start_hz = 99e6,
                                     .stop_hz = 101e6,
                                     .rbw_hz = 10e3,
                                     .points = 2001,
                                     .detector = MADE_SAMPLE,
                                     .sweeps = 1,
                                     .seconds = 1};
    for (int poles = 0; poles < 2; poles++) {
        instrument.four_poles = poles;
        double *dbm = levels(&instrument, &set, &sweep), sum = 0;
        for (int i = 0; i < 2001; i++)
            sum += pow(10, dbm[i] / 10) * 1e3;
        assert_near(sum / 10e3, poles ? 1.128 : 1.0645, 0.002);
        if (poles)
            assert_near((dbm[1063] + dbm[1064]) / 2, -60, 0.3); /* 63.5 kHz off */
        free(dbm);
    }
}

/* Noise of the carrier: at its corner half of the flat value, far out the far one; in the noise bandwidth of the RBW.
 */
static void test_carrier_noise_stands_where_told(void **state)
{
    (void)state;
    const struct made_line line = {.hz = 100e6, .dbm = 20};
    const struct made_set set = {
        .lines = &line, .line_count = 1, .near_dbc_hz = -100, .corner_hz = 10e3, .far_dbc_hz = -150};
    struct made_instrument instrument = quiet;
    instrument.noise_dbm = -160;
    const struct made_sweep sweep = {.start_hz = 100.009e6,
                                     .stop_hz = 100.011e6,
                                     .rbw_hz = 100,
                                     .points = 2001,
                                     .detector = MADE_AVERAGE,
                                     .sweeps = 100,
                                     .seconds = 1e-3};
    double *dbm = levels(&instrument, &set, &sweep), sum = 0;
    for (int i = 900; i <= 1100; i++)
        sum += dbm[i] / 201;
    assert_near(sum, 20 - 100 - 3.01 + 20 + 0.27, 0.1); /* 100 Hz, and 1.0645 of it */
    free(dbm);
}

/* A receiver: tone and noise at their levels, the tone where it belongs. */
static void test_a_capture_holds_tone_and_noise(void **state)
{
    (void)state;
    enum { SAMPLES = 100000 };
    const struct made_line lines[] = {{.hz = 145.1e6, .dbm = 30}, {.hz = 146e6, .dbm = 30}};
    const struct made_set set = {.lines = lines, .line_count = 2};
    struct made_instrument instrument = quiet;
    instrument.loss_db = forty_db;
    instrument.noise_dbm = -80;
    const struct made_capture_plan plan = {.center_hz = 145e6, .rate_hz = 1e6, .seconds = 0.1, .full_scale_dbm = 0};
    char path[64], data[64];
    snprintf(path, sizeof path, "plan-bench-%d.sigmf-meta", (int)getpid());
    snprintf(data, sizeof data, "plan-bench-%d.sigmf-data", (int)getpid());
    assert_true(made_capture_write(path, &instrument, &set, &plan));
    FILE *file = fopen(data, "rb");
    assert_non_null(file);
    double re = 0, im = 0, all = 0;
    float pair[2];
    for (int i = 0; i < SAMPLES; i++) {
        assert_int_equal(fread(pair, sizeof pair, 1, file), 1);
        double turn = -2 * acos(-1.0) * 0.1 * i, x = (double)pair[0], y = (double)pair[1];
        re += (x * cos(turn) - y * sin(turn)) / SAMPLES;
        im += (x * sin(turn) + y * cos(turn)) / SAMPLES;
        all += (x * x + y * y) / SAMPLES;
    }
    assert_int_equal(fread(pair, 1, 1, file), 0);
    fclose(file);
    unlink(path);
    unlink(data);
    assert_near(20 * log10(hypot(re, im)), -10, 0.02);
    /* -80 dBm in 1.0645 kHz are -50.27 dBm in 1 MHz */
    assert_near(10 * log10(all - re * re - im * im), -50.27, 0.1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_noise_reads_as_it_should),
        cmocka_unit_test(test_a_line_reads_its_level_behind_the_loss),
        cmocka_unit_test(test_filters_have_their_widths),
        cmocka_unit_test(test_carrier_noise_stands_where_told),
        cmocka_unit_test(test_a_capture_holds_tone_and_noise),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
