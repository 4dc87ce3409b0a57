/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Loss against the outside: measured two-ports of others, the cable model of the handbooks, attenuator formulas, and
 * two-port algebra by another road (chain matrices) than the reader takes. */
#include <complex.h>

#include "../check.h"
#include "chain/chain.h"
#include "input/input.h"

/* ---- measured parts (open data, sources in the data folder's README.md) ---- */

static spurity_status read_file(const char *name, double ohm, spurity_recording **recording, spurity_error *error)
{
    const char *folder = getenv("SPURITY_DATA");
    char path[4096];
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.impedance_ohm = ohm;
    snprintf(path, sizeof path, "%s/%s", folder ? folder : "", name);
    FILE *there = folder ? fopen(path, "rb") : NULL;
    if (!there) {
        print_message("SKIPPED: '%s' is not in the folder named by SPURITY_DATA\n", name);
        skip();
    }
    fclose(there);
    return spurity_input_read(path, &options, SPURITY_READ_LOSS, 0, NULL, NULL, recording, error);
}

static spurity_curve *read_curve(const char *name)
{
    spurity_recording *recording;
    spurity_error error = {0};
    assert_ok(read_file(name, 50, &recording, &error), &error);
    spurity_curve *curve = spurity_recording_take_curve(recording);
    spurity_recording_free(recording);
    assert_non_null(curve);
    return curve;
}

static double at(const spurity_curve *curve, double hz)
{
    double db = NAN;
    assert_true(spurity_curve_at(curve, hz, &db, NULL));
    return db;
}

static int compare(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median of 31 readings over 30 MHz. */
static double median_at(const spurity_curve *curve, double hz)
{
    double db[31];
    for (int i = 0; i < 31; i++)
        db[i] = at(curve, hz + (i - 15) * 1e6);
    qsort(db, 31, sizeof *db, compare);
    return db[15];
}

/* The README's figures are S21 alone; the mean of both ways lies within 0.05 dB of them. */
static void test_pad(void **state)
{
    static const double rows[][2] = {{146e6, 20.05}, {440e6, 20.11}, {868e6, 20.12}, {1000e6, 20.13}};
    spurity_curve *pad = read_curve("pad-20dB.s2p");
    assert_int_equal(spurity_curve_count(pad), 6401);
    assert_near(spurity_curve_first_hz(pad), 45e6, 0);
    assert_near(spurity_curve_last_hz(pad), 20e9, 0);
    for (int i = 0; i < 4; i++)
        assert_near(median_at(pad, rows[i][0]), rows[i][1], 0.05);
    spurity_curve_free(pad);
}

static void test_cables(void **state)
{
    static const double rows[][2] = {{146e6, 0.48}, {440e6, 0.85}, {868e6, 1.25}, {1000e6, 1.36}, {2000e6, 1.93}};
    spurity_curve *cables = read_curve("cables-alone.s2p");
    for (int i = 0; i < 5; i++)
        assert_near(at(cables, rows[i][0]), rows[i][1], 0.02);
    spurity_curve_free(cables);
}

/* Pad and cables measured apart add up to what they lose together, but for mismatch. */
static void test_sum_against_direct(void **state)
{
    static const double rows[] = {146e6, 440e6, 868e6, 1000e6};
    spurity_error error = {0};
    spurity_chain *chain;
    spurity_curve *direct = read_curve("pad-20dB-with-cables.s2p");
    assert_ok(spurity_chain_create(&chain, &error), &error);
    assert_ok(spurity_chain_add_curve(chain, "pad-20dB.s2p", read_curve("pad-20dB.s2p"), NAN, &error), &error);
    assert_ok(spurity_chain_add_curve(chain, "cables-alone.s2p", read_curve("cables-alone.s2p"), NAN, &error), &error);
    for (int i = 0; i < 4; i++) {
        double loss_db;
        spurity_uncertainty uncertainty;
        assert_true(spurity_chain_loss(chain, rows[i], &loss_db, &uncertainty, NULL));
        assert_near(loss_db, at(direct, rows[i]), 0.2);
        assert_int_equal(uncertainty.count, 2);
        print_message("%.0f MHz: sum %.3f dB +-%.3f, direct %.3f dB\n", rows[i] / 1e6, loss_db,
                      spurity_uncertainty_expanded(&uncertainty), at(direct, rows[i]));
    }
    spurity_chain_free(chain);
    spurity_curve_free(direct);
}

/* Microstrip of 100 and 200 mm: 0.290/0.557 dB at 1 GHz, 1.420/2.716 dB at 5 GHz (S21); ratio 1.9, which is 2 less the
 * connectors.  Up to 0.033 dB of "gain" at their low end is noise, and no warning. */
static void test_lines(void **state)
{
    spurity_curve *shorter = read_curve("line-100mm.s2p"), *longer = read_curve("line-200mm.s2p");
    assert_near(at(shorter, 1e9), 0.290, 0.03);
    assert_near(at(longer, 1e9), 0.557, 0.03);
    assert_near(at(shorter, 5e9), 1.420, 0.03);
    assert_near(at(longer, 5e9), 2.716, 0.03);
    assert_near(at(longer, 5e9) / at(shorter, 5e9), 1.9, 0.05);
    spurity_curve_free(shorter);
    spurity_curve_free(longer);

    spurity_recording *recording;
    spurity_error error = {0};
    assert_ok(read_file("line-100mm.s2p", 50, &recording, &error), &error);
    for (size_t i = 0; i < spurity_recording_finding_count(recording); i++)
        assert_string_not_equal(spurity_recording_finding(recording, i)->what, "warning");
    spurity_recording_free(recording);
}

/* Its header says S21, S12 and S22 were off; -200 dB at 45 degrees stands there throughout. */
static void test_one_port_is_refused(void **state)
{
    spurity_recording *recording;
    spurity_error error = {0};
    assert_int_equal(read_file("one-port-only.s2p", 50, &recording, &error), SPURITY_INVALID);
    assert_null(recording);
    assert_non_null(strstr(error.found, "no transmission in this file"));
}

/* ---- cable model: loss = a sqrt(f) + b f (conductor and dielectric; any handbook of cables) ---- */

/* Fitted to 2.0 dB at 100 MHz and 7.2 dB at 1000 MHz: a = 0.187197, b = 0.00128032 with f in MHz (numpy).  A table of
 * it, 1 MHz apart, goes through the chain and gives the fit's own figures back. */
static void test_cable_model(void **state)
{
    static const double rows[][2] = {{100, 2.0},   {146, 2.449}, {292, 3.573}, {438, 4.479},
                                     {730, 5.992}, {1000, 7.2},  {1460, 9.022}};
    enum { POINTS = 1500 };
    static double hz[POINTS], db[POINTS];
    spurity_error error = {0};
    spurity_curve *curve;
    spurity_chain *chain;
    for (int i = 0; i < POINTS; i++) {
        const double mhz = i + 1 + 0.25; /* none of the rows stands on a point */
        hz[i] = mhz * 1e6;
        db[i] = 0.187197 * sqrt(mhz) + 0.00128032 * mhz;
    }
    assert_ok(spurity_curve_create(hz, db, NULL, POINTS, &curve, &error), &error);
    assert_ok(spurity_chain_create(&chain, &error), &error);
    assert_ok(spurity_chain_add_curve(chain, "cable.csv", curve, NAN, &error), &error);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double loss_db;
        assert_true(spurity_chain_loss(chain, rows[i][0] * 1e6, &loss_db, NULL, NULL));
        assert_near(loss_db, rows[i][1], 0.0005);
    }
    spurity_chain_free(chain);
}

/* ---- two-port algebra ---- */

/* Chain matrix of a two-port: V1 = A V2 - B I2, I1 = C V2 - D I2 (textbook). */
struct chain_matrix {
    double complex a, b, c, d;
};

static struct chain_matrix times(struct chain_matrix x, struct chain_matrix y)
{
    return (struct chain_matrix){x.a * y.a + x.b * y.c, x.a * y.b + x.b * y.d, x.c * y.a + x.d * y.c,
                                 x.c * y.b + x.d * y.d};
}

static struct chain_matrix series(double complex ohm)
{
    return (struct chain_matrix){1, ohm, 0, 1};
}

static struct chain_matrix shunt(double complex siemens)
{
    return (struct chain_matrix){1, 0, siemens, 1};
}

/* Insertion loss between two ends of R: |A + B/R + C R + D| / 2. */
static double insertion_loss(struct chain_matrix m, double ohm)
{
    return 20 * log10(cabs(m.a + m.b / ohm + m.c * ohm + m.d) / 2);
}

/* Matrix of any kind from a chain matrix, {11, 21, 12, 22}; S for the reference ohm. */
static void convert(struct chain_matrix m, char kind, double ohm, double complex out[4])
{
    const double complex det = m.a * m.d - m.b * m.c;
    const double complex s = m.a + m.b / ohm + m.c * ohm + m.d;
    const struct {
        char kind;
        double complex m[4];
    } rows[] = {
        {'S', {(m.a + m.b / ohm - m.c * ohm - m.d) / s, 2 / s, 2 * det / s, (-m.a + m.b / ohm - m.c * ohm + m.d) / s}},
        {'Z', {m.a / m.c, 1 / m.c, det / m.c, m.d / m.c}},
        {'Y', {m.d / m.b, -1 / m.b, -det / m.b, m.a / m.b}},
        {'H', {m.b / m.d, -1 / m.d, det / m.d, m.c / m.d}},
        {'G', {m.c / m.a, 1 / m.a, -det / m.a, m.b / m.a}},
    };
    for (size_t i = 0; i < 5; i++)
        if (rows[i].kind == kind)
            memcpy(out, rows[i].m, sizeof rows[i].m);
}

/* Version 1 stores other than S as multiples of the reference. */
static void normalise(char kind, double ohm, double complex m[4])
{
    const double by_kind[][4] = {
        {1 / ohm, 1 / ohm, 1 / ohm, 1 / ohm}, {ohm, ohm, ohm, ohm}, {1 / ohm, 1, 1, ohm}, {ohm, 1, 1, 1 / ohm}};
    static const char kinds[] = "ZYHG";
    const char *found = strchr(kinds, kind);
    for (int i = 0; found && i < 4; i++)
        m[i] *= by_kind[found - kinds][i];
}

static size_t put_pair(char *text, size_t size, const char *format, double complex z)
{
    if (!strcmp(format, "RI"))
        return (size_t)snprintf(text, size, " %.15e %.15e", creal(z), cimag(z));
    const double magnitude = cabs(z), degrees = carg(z) * 180 / M_PI;
    return (size_t)snprintf(text, size, " %.15e %.15e", strcmp(format, "DB") ? magnitude : 20 * log10(magnitude),
                            degrees);
}

/* Writes the part as a file of two equal points and reads its loss between ends of `wanted` ohm. */
static double read_back(struct chain_matrix part, int version, char kind, const char *format, double ohm, double wanted)
{
    char text[2000];
    double complex m[4];
    convert(part, kind, ohm, m);
    if (version == 1)
        normalise(kind, ohm, m);
    size_t used = version == 1 ? 0 : (size_t)snprintf(text, sizeof text, "[Version] 2.0\n");
    used += (size_t)snprintf(text + used, sizeof text - used, "# MHz %c %s R %g\n", kind, format, ohm);
    if (version == 2)
        used += (size_t)snprintf(text + used, sizeof text - used,
                                 "[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 2\n"
                                 "[Network Data]\n");
    for (int point = 1; point <= 2; point++) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%d", point);
        for (int i = 0; i < 4; i++)
            used += put_pair(text + used, sizeof text - used, format, m[i]);
        used += (size_t)snprintf(text + used, sizeof text - used, "\n");
    }
    if (version == 2)
        used += (size_t)snprintf(text + used, sizeof text - used, "[End]\n");
    spurity_read_options options;
    spurity_recording *recording;
    spurity_error error = {0};
    spurity_read_options_init(&options);
    options.impedance_ohm = wanted;
    assert_ok(spurity_input_read_memory("part.s2p", text, used, &options, SPURITY_READ_LOSS, 0, NULL, NULL, &recording,
                                        &error),
              &error);
    const double db = at(spurity_recording_curve(recording), 1e6);
    spurity_recording_free(recording);
    return db;
}

/* A resistor in series: loss 20 log10(1 + R / 2 R0) (textbook): 50 ohm measured in 75 ohm is 2.499 dB there, 3.522 dB
 * in 50 ohm. */
static void test_series_resistor(void **state)
{
    const struct chain_matrix part = series(50);
    assert_near(read_back(part, 1, 'S', "DB", 75, 75), 2.49877, 0.000005);
    assert_near(read_back(part, 1, 'S', "DB", 75, 50), 3.52183, 0.000005);
    assert_near(read_back(part, 1, 'S', "DB", 50, 75), 2.49877, 0.000005);
}

/* The T attenuator of the handbooks: series R = Z (K - 1)/(K + 1) twice, shunt R = 2 Z K/(K^2 - 1), K = 10^(dB/20); for
 * 10 dB in 50 ohm 25.97 and 35.14 ohm.  One built for 75 ohm, between 50 ohm ends: mesh equations by hand. */
static void test_matched_pad(void **state)
{
    const double k = pow(10, 10 / 20.0);
    assert_near(50 * (k - 1) / (k + 1), 25.97, 0.005);
    assert_near(2 * 50 * k / (k * k - 1), 35.14, 0.005);
    const double r = 75 * (k - 1) / (k + 1), r3 = 2 * 75 * k / (k * k - 1);
    const struct chain_matrix pad = times(times(series(r), shunt(1 / r3)), series(r));
    assert_near(read_back(pad, 1, 'S', "MA", 75, 75), 10, 1e-9);
    /* Source of 1 V and 50 ohm; right branch r + 50, in parallel with r3. */
    const double right = r + 50, parallel = right * r3 / (right + r3);
    const double node = parallel / (50 + r + parallel), load = node * 50 / right;
    const double by_hand = -20 * log10(2 * load);
    assert_near(read_back(pad, 1, 'S', "MA", 75, 50), by_hand, 1e-9);
    /* The same as a sum of reflections: a (1 - r^2) / (1 - r^2 a^2), r = 1/5 between 50 and 75 ohm, a = 1/K. */
    assert_near(by_hand, -20 * log10((1 - 0.04) / k / (1 - 0.04 / (k * k))), 1e-9);
    assert_true(by_hand - 10 > 0.3); /* so leaving the renormalisation out would show */
}

/* A low-pass of unlike ends: 82 nH, 22 pF with losses, at 200 MHz; every kind, form and version, 50 and 75 ohm. */
static void test_every_kind(void **state)
{
    static const char *const formats[] = {"DB", "MA", "RI"};
    const double w = 2 * M_PI * 200e6;
    const struct chain_matrix part =
        times(times(series(1.5 + w * 82e-9 * I), shunt(1e-4 + w * 22e-12 * I)), series(7 - 20 * I));
    for (const char *kind = "SZYHG"; *kind; kind++) {
        for (int f = 0; f < 3; f++) {
            for (int version = 1; version <= 2; version++) {
                assert_near(read_back(part, version, *kind, formats[f], 50, 50), insertion_loss(part, 50), 1e-9);
                assert_near(read_back(part, version, *kind, formats[f], 75, 50), insertion_loss(part, 50), 1e-9);
                assert_near(read_back(part, version, *kind, formats[f], 50, 75), insertion_loss(part, 75), 1e-9);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pad),
        cmocka_unit_test(test_cables),
        cmocka_unit_test(test_sum_against_direct),
        cmocka_unit_test(test_lines),
        cmocka_unit_test(test_one_port_is_refused),
        cmocka_unit_test(test_cable_model),
        cmocka_unit_test(test_series_resistor),
        cmocka_unit_test(test_matched_pad),
        cmocka_unit_test(test_every_kind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
