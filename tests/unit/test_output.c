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

static spurity_result *result_of(const output_case *one)
{
    static stand_text text;
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_case_draws),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
