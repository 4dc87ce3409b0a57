/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_TESTS_STAND_IN_H
#define SPURITY_TESTS_STAND_IN_H
/* Invented results for tests of the outputs: a document from text, and a sweep of lines over noise behind it. */
#include "../../lib/result/internal.h"
#include "../check.h"

typedef struct stand_line {
    double hz, dbm;
} stand_line;

typedef struct stand_in {
    double from_hz, to_hz;           /* swept */
    double axis_from_hz, axis_to_hz; /* drawn; 0 = as swept */
    size_t points;
    double rbw_hz, floor_dbm;
    double carrier_hz, carrier_dbm;
    stand_line lines[40];
    spurity_limit_at *limit;
    const char *unit; /* NULL: dBm */
} stand_in;

/* Uniform in (0, 1]: a fixed linear congruence, so that every run is alike. */
static inline double stand_random(uint64_t *state)
{
    *state = *state * 6364136223846793005U + 1442695040888963407U;
    return ((double)(*state >> 11) + 1) / 9007199254740993.0;
}

/* A sweep over [from, to]: exponential noise power, lines through a Gaussian filter. */
static inline void stand_sweep(const stand_in *in, double *hz, double *db)
{
    uint64_t state = 20030101;
    for (size_t i = 0; i < in->points; i++) {
        hz[i] = in->from_hz + (in->to_hz - in->from_hz) * (double)i / (double)(in->points - 1);
        double power = -log(stand_random(&state)) * pow(10, in->floor_dbm / 10);
        for (size_t k = 0; k < sizeof in->lines / sizeof in->lines[0] && in->lines[k].hz > 0; k++) {
            double off = (hz[i] - in->lines[k].hz) / in->rbw_hz;
            power += fabs(off) < 8 ? pow(10, in->lines[k].dbm / 10 - 12.04 * off * off / 10) : 0; /* 3 dB at half RBW */
        }
        db[i] = 10 * log10(power);
    }
    /* a line narrower than the spacing still shows in the cell that holds it, as a peak detector does */
    double step = (in->to_hz - in->from_hz) / (double)(in->points - 1);
    for (size_t k = 0; k < sizeof in->lines / sizeof in->lines[0] && in->lines[k].hz > 0; k++) {
        double place = (in->lines[k].hz - in->from_hz) / step;
        if (place >= 0 && place <= (double)(in->points - 1) && db[(size_t)(place + 0.5)] < in->lines[k].dbm)
            db[(size_t)(place + 0.5)] = in->lines[k].dbm;
    }
}

static inline spurity_result *stand_result(const stand_in *in, const char *json)
{
    spurity_error error = {0};
    spurity_result *result;
    assert_ok(spurity_result_read("invented", json, strlen(json), &result, &error), &error);
    if (!in)
        return result;
    double from = in->axis_from_hz > 0 ? in->axis_from_hz : in->from_hz,
           to = in->axis_to_hz > 0 ? in->axis_to_hz : in->to_hz;
    double *hz = malloc(in->points * sizeof *hz), *db = malloc(in->points * sizeof *db);
    assert_non_null(hz);
    assert_non_null(db);
    stand_sweep(in, hz, db);
    assert_ok(spurity_picture_create(from, to, in->unit ? in->unit : "dBm", &result->picture, &error), &error);
    spurity_picture_set_carrier(result->picture, in->carrier_hz);
    assert_ok(spurity_picture_add_line(result->picture, hz, db, in->points, 0, &error), &error);
    if (in->limit)
        assert_ok(spurity_picture_add_limit(result->picture, in->limit, in, 0, &error), &error);
    free(hz);
    free(db);
    return result;
}

/* ---- documents ------------------------------------------------------------------------------------------------- */

typedef struct stand_text {
    char text[60000];
    size_t used;
} stand_text;

SPURITY_PRINTF(2, 3)
static inline void stand_add(stand_text *out, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    int wrote = vsnprintf(out->text + out->used, sizeof out->text - out->used, format, list);
    va_end(list);
    assert_true(wrote >= 0 && (size_t)wrote < sizeof out->text - out->used);
    out->used += (size_t)wrote;
}

/* One emission of a document; judged against limit_dbm when that is a number. */
typedef struct stand_emission {
    const char *kind;
    int order;
    double hz, dbm;
    bool seen;
    double limit_dbm;
    const char *outcome;
} stand_emission;

/* A whole document.  `head` holds verdict and headline members or "" (a measurement), `tail` replaces not_shown and
 * what follows it, `title` is the sweep's. */
static inline void stand_document(stand_text *out, const char *verdict, const char *headline, double carrier_hz,
                                  double carrier_dbm, const stand_emission *emissions, size_t count,
                                  const char *not_shown, const char *title)
{
    out->used = 0;
    stand_add(out, "{\"format\":\"%s\",\"version\":1,\"tool\":\"spurity 0.1.0\",",
              verdict ? "spurity-result" : "spurity-measurement");
    if (verdict)
        stand_add(out,
                  "\"verdict\":\"%s\",\"headline\":\"%s\",\"rules\":{\"id\":\"us-amateur\",\"title\":\"Amateur radio "
                  "service, United States\",\"edition\":\"47 CFR Part 97, issue of 2026-09-23\"},\"verdicts\":[{"
                  "\"rules\":{\"id\":\"us-amateur\",\"title\":\"Amateur radio service, United States\",\"edition\":"
                  "\"47 CFR Part 97, issue of 2026-09-23\"},\"verdict\":\"%s\",\"groups\":[\"emissions\",\"power\"],"
                  "\"from_hz\":9000.0,\"to_hz\":1.4694e9,\"reasons\":[\"H2 stands against 25 uW\"]}],",
                  verdict, headline, verdict);
    stand_add(out,
              "\"settings\":{\"--pad\":{\"value\":\"40 dB\",\"from\":\"option\"}},\"carrier\":{\"frequency_hz\":%.3f,"
              "\"level_dbm\":%.3f,\"power_w\":%.4g,\"uncertainty_db\":2.0,\"source\":\"trace\",\"width_hz\":1e4,"
              "\"character\":\"line\",\"seen\":true},\"emissions\":[",
              carrier_hz, carrier_dbm, pow(10, carrier_dbm / 10 - 3));
    for (size_t i = 0; i < count; i++) {
        char order[16] = "null";
        if (emissions[i].order)
            snprintf(order, sizeof order, "%d", emissions[i].order);
        stand_add(out,
                  "%s{\"kind\":\"%s\",\"order\":%s,\"ratio\":null,\"character\":\"line\",\"frequency_hz\":%.3f,"
                  "\"level_dbm\":%.3f,\"level_dbc\":%.3f,\"uncertainty_db\":2.0,\"uncertainty_dbc\":1.5,\"seen\":%s,"
                  "\"floor_dbm\":-70.0,\"file\":0}",
                  i ? "," : "", emissions[i].kind, order, emissions[i].hz, emissions[i].dbm,
                  emissions[i].dbm - carrier_dbm, emissions[i].seen ? "true" : "false");
    }
    stand_add(out, "],");
    if (verdict) {
        stand_add(out,
                  "\"judgements\":[{\"rules\":\"us-amateur\",\"clause\":\"97.313(b)\",\"group\":\"power\",\"quantity\":"
                  "\"carrier power (PEP)\",\"emission\":null,\"frequency_hz\":%.3f,\"measured\":4.7,\"limit\":1500.0,"
                  "\"unit\":\"W\",\"margin\":25.04,\"uncertainty\":2.0,\"conformity_probability\":1.0,\"binding\":"
                  "\"1.5 kW PEP\",\"reference_bandwidth_hz\":null,\"detector\":null,\"status\":\"confirmed\","
                  "\"outcome\":\"pass\",\"from_hz\":%.3f,\"to_hz\":%.3f,\"at_most\":false}",
                  carrier_hz, carrier_hz, carrier_hz);
        for (size_t i = 0; i < count; i++)
            if (emissions[i].outcome)
                stand_add(out,
                          ",{\"rules\":\"us-amateur\",\"clause\":\"97.307(e)\",\"group\":\"emissions\",\"quantity\":"
                          "\"spurious emission\",\"emission\":%zu,\"frequency_hz\":%.3f,\"measured\":%.3f,\"limit\":"
                          "%.3f,\"unit\":\"dBm\",\"margin\":%.3f,\"uncertainty\":2.0,\"conformity_probability\":null,"
                          "\"binding\":\"25 \u00b5W (-16.0 dBm)\",\"reference_bandwidth_hz\":100000.0,\"detector\":"
                          "\"mean\",\"status\":\"confirmed\",\"outcome\":\"%s\",\"from_hz\":%.3f,\"to_hz\":%.3f,"
                          "\"at_most\":%s}",
                          i, emissions[i].hz, emissions[i].dbm, emissions[i].limit_dbm,
                          emissions[i].limit_dbm - emissions[i].dbm, emissions[i].outcome, emissions[i].hz,
                          emissions[i].hz, emissions[i].seen ? "false" : "true");
        stand_add(out, "],");
    }
    stand_add(out, "\"not_shown\":%s,", not_shown ? not_shown : "[]");
    if (verdict)
        stand_add(out, "\"not_examined\":[\"frequency\",\"modulation\"],");
    stand_add(out,
              "\"warnings\":[{\"code\":\"detector-unknown\",\"text\":\"the file does not tell its detector; sample is "
              "taken, the least favourable\",\"file\":0}],\"inputs\":[{\"file\":\"sweeps/f0.csv\",\"sha256\":null,"
              "\"kind\":\"trace\",\"role\":\"transmitter\",\"chain\":[\"pad 40 dB (+-0.5 dB, to 1 GHz, 50 W)\"],"
              "\"title\":%s%s%s,\"points\":1001}]}",
              title ? "\"" : "", title ? title : "null", title ? "\"" : "");
}

#endif
