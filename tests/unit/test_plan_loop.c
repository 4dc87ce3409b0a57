/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The loop: a plan is followed on invented instruments with the figures it was told, what they save is measured and
 * judged, and plan and verdict are held against each other.  Nothing may be `not shown` that the plan said could be
 * shown, and what it said could not be shown must not be.
 *
 * The transmitters and instruments are made by plan_bench.c, which knows nothing of the library; only what the rules
 * allow at a harmonic is asked of them, to stand the harmonics 20 dB below it. */
#include <dirent.h>
#include <limits.h>
#include <unistd.h>

#include "../check.h"
#include "../plan_bench.h"
#include "plan/plan.h"
#include "spurity.h"

/* ---- what is checked ---- */

/* A set of a service, and what a technician who knows it would say of it. */
struct service {
    const char *rules;
    double carrier_hz;
    const char *emission;
    double bandwidth_hz; /* 0: unsaid */
    const char *station;
    double most_w; /* powers above are left out: there is no such set */
    spurity_date installed;
};

static const struct service services[] = {
    {"us-amateur", 1.9e6, "2K80J3E", 0, NULL, 100, 20150101},
    {"us-amateur", 7.2e6, "2K80J3E", 0, NULL, 100, 20010101},
    {"us-amateur", 14.2e6, "2K80J3E", 0, NULL, 100, 20150101},
    {"us-amateur", 28.4e6, "2K80J3E", 0, NULL, 100, 20150101},
    {"us-amateur", 52.0e6, "16K0F3E", 0, NULL, 100, 0},
    {"us-amateur", 146.52e6, "16K0F3E", 0, NULL, 100, 0},
    {"us-amateur", 223.5e6, "16K0F3E", 0, NULL, 50, 0},
    {"us-gmrs", 462.5625e6, "F3E", 20e3, "hand-held", 5, 0},
    {"us-gmrs", 462.675e6, "F3E", 20e3, "mobile", 50, 0},
    {"us-gmrs", 467.5625e6, "F3E", 12.5e3, "hand-held", 0.5, 0},
    {"us-frs", 462.7e6, "F3E", 0, NULL, 2, 0},
    {"us-frs", 467.6375e6, "F3E", 0, NULL, 0.5, 0},
    {"us-murs", 151.88e6, "F3E", 0, NULL, 2, 0},
    {"us-murs", 154.6e6, "F3E", 0, NULL, 2, 0},
    {"us-cb", 27.185e6, "A3E", 0, NULL, 5, 0},
    {"us-cb", 27.385e6, "J3E", 0, NULL, 25, 0},
    {"us-rcrs", 27.145e6, "F1D", 0, "control", 5, 0},
    {"us-rcrs", 72.51e6, "F1D", 0, "control", 0.5, 0},
    {"us-land-mobile", 37.5e6, "F3E", 0, "mobile", 100, 0},
    {"us-land-mobile", 155.01e6, "F3E", 20e3, "mobile", 100, 0},
    {"us-land-mobile", 155.0175e6, "F3E", 11.25e3, "mobile", 50, 0},
    {"us-land-mobile", 453.5e6, "F3E", 11.25e3, "hand-held", 5, 0},
    {"us-land-mobile", 453.50625e6, "F3E", 6e3, "base", 50, 0},
    {"itu-a", 14.2e6, "2K80J3E", 0, "amateur", 100, 0},
    {"itu-a", 155.0e6, "F3E", 0, "other", 100, 0},
    {"itu-b", 155.0e6, "F3E", 0, NULL, 50, 0},
    {"itu-b", 453.0e6, "F3E", 0, NULL, 5, 0},
    {"eu-amateur", 14.2e6, "2K80J3E", 0, NULL, 100, 0},
    {"eu-pmr446", 446.00625e6, "F3E", 0, NULL, 0.5, 0},
    {"eu-land-mobile", 160.0e6, "F3E", 12.5e3, "mobile", 50, 0},
    {"eu-land-mobile", 453.0e6, "F3E", 12.5e3, "hand-held", 5, 0},
};
enum { SERVICES = sizeof services / sizeof *services };
static const double powers_w[] = {0.5, 2, 5, 25, 50, 100};
enum { POWERS = sizeof powers_w / sizeof *powers_w };

/* ---- one bench ---- */

enum { PADS_MOST = 8, SOURCES_MOST = 2000, LINES_MOST = 40, PATH_SIZE = 96 };

struct pad {
    double db, rating_w;
};

/* Everything of one cell of the grid. */
struct bench {
    const struct service *service;
    double power_w;
    /* what the technician has */
    struct pad pads[PADS_MOST];
    size_t pad_count;
    double known_to_hz; /* of the pads; NaN: unsaid */
    double max_input_dbm, noise_dbm, noise_rbw_hz, rate_hz;
    double reference_ppm;
    unsigned only;
    /* the truth */
    bool four_poles;
    double harmonics_below_db; /* under their limits; NaN: none at all */
    double near_dbc_hz;        /* the carrier's noise; 0: none */
    bool modulated;            /* by a tone */
    double centre_dbm;         /* the receiver's own line where it is tuned; 0: none */
    uint64_t seed;
    struct made_line lines[LINES_MOST];
    size_t line_count;
    double extra_db; /* pad steps: more than the pads */
    /* the library's */
    spurity_error error;
    spurity_rules *rules;
    spurity_chain *chain;
    spurity_chain *stepped[SOURCES_MOST]; /* chains of pad steps */
    spurity_test_point point;
    spurity_plan *plan;
    spurity_source sources[SOURCES_MOST];
    char paths[SOURCES_MOST][PATH_SIZE];
    size_t source_count;
    spurity_measurement *measurement;
    spurity_verdict *verdict;
};

static char folder[64];

static void start(struct bench *b, const struct service *service, double power_w)
{
    *b = (struct bench){.service = service,
                        .power_w = power_w,
                        .known_to_hz = 6e9,
                        .max_input_dbm = 30,
                        .noise_dbm = -125,
                        .noise_rbw_hz = 1e3,
                        .rate_hz = (double)NAN,
                        .reference_ppm = (double)NAN,
                        .harmonics_below_db = 20,
                        .seed = 20260101};
    spurity_test_point_init(&b->point);
    assert_ok(spurity_rules_load(service->rules, &b->rules, &b->error), &b->error);
}

static void finish(struct bench *b)
{
    spurity_verdict_free(b->verdict);
    spurity_measurement_free(b->measurement);
    spurity_plan_free(b->plan);
    spurity_chain_free(b->chain);
    spurity_rules_free(b->rules);
    for (size_t i = 0; i < b->source_count; i++) {
        spurity_chain_free(b->stepped[i]);
        unlink(b->paths[i]);
        char *end = strstr(b->paths[i], ".sigmf-meta");
        if (end) {
            memcpy(end, ".sigmf-data", sizeof ".sigmf-data");
            unlink(b->paths[i]);
        }
    }
}

static void tell_point(struct bench *b)
{
    spurity_test_point *point = &b->point;
    point->carrier_hz = b->service->carrier_hz;
    point->power_low_w = point->power_high_w = b->power_w;
    point->emission = b->service->emission;
    point->station = b->service->station;
    if (b->service->bandwidth_hz > 0)
        point->bandwidth_hz = b->service->bandwidth_hz;
    point->audio_filter = 1;
    point->antenna_gain_dbd = 0;
    point->installed = b->service->installed;
    point->modulation = b->modulated ? SPURITY_MODULATION_TEST : SPURITY_MODULATION_NONE;
    point->reference_ppm = b->reference_ppm;
    point->only = b->only;
    point->uncertainty_assumed = false;
}

static spurity_chain *make_chain(struct bench *b, double extra_db)
{
    spurity_chain *chain;
    assert_ok(spurity_chain_create(&chain, &b->error), &b->error);
    for (size_t i = 0; i < b->pad_count; i++)
        assert_ok(spurity_chain_add_pad(chain, b->pads[i].db, 0.2, b->known_to_hz, b->pads[i].rating_w, &b->error),
                  &b->error);
    if (extra_db > 0)
        assert_ok(spurity_chain_add_pad(chain, extra_db, 0.2, b->known_to_hz, 1, &b->error), &b->error);
    return chain;
}

/* Plans with what the bench has; without pads the plan proposes some. */
static void make_plan(struct bench *b)
{
    spurity_plan_question question;
    const spurity_rules *sets[] = {b->rules};
    spurity_plan_free(b->plan);
    b->plan = NULL;
    spurity_chain_free(b->chain);
    b->chain = NULL;
    tell_point(b);
    spurity_plan_question_init(&question);
    question.point = &b->point;
    question.rules = sets;
    question.rules_count = 1;
    if (b->pad_count)
        question.chain = b->chain = make_chain(b, 0);
    question.max_input_dbm = b->max_input_dbm;
    question.noise_dbm = b->noise_dbm;
    question.noise_rbw_hz = b->noise_rbw_hz;
    question.rate_hz = b->rate_hz;
    assert_ok(spurity_plan_create(&question, NULL, &b->plan, &b->error), &b->error);
}

/* The technician takes the pads the plan asks for. */
static void take_proposed(struct bench *b)
{
    b->pad_count = 0;
    for (size_t i = 0; i < spurity_plan_attenuator_count(b->plan) && b->pad_count < PADS_MOST; i++) {
        const spurity_plan_attenuator *one = spurity_plan_attenuator_at(b->plan, i);
        if (one->proposed && one->db > 0)
            b->pads[b->pad_count++] = (struct pad){one->db, one->rating_w};
    }
}

/* ---- following a plan ---- */

static double loss_db(const void *user, double hz)
{
    const struct bench *b = user;
    (void)hz;
    double sum = b->extra_db;
    for (size_t i = 0; i < b->pad_count; i++)
        sum += b->pads[i].db;
    return sum;
}

/* Strictest level the clauses of emissions allow at a frequency, dBm; NaN where none has a figure. */
static double allowed_dbm(const struct bench *b, double hz)
{
    spurity_conditions conditions;
    double strictest = (double)NAN;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = b->service->carrier_hz;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = b->power_w;
    conditions.necessary_bandwidth_hz = 16e3;
    conditions.bandwidth_hz = b->service->bandwidth_hz > 0 ? b->service->bandwidth_hz : (double)NAN;
    conditions.emission = spurity_emission_type(b->service->emission);
    conditions.station = b->service->station;
    conditions.audio_filter = 1;
    conditions.antenna_gain_dbd = 0;
    conditions.installed = b->service->installed;
    for (size_t i = 0; i < spurity_rules_clause_count(b->rules); i++) {
        const spurity_clause *clause = spurity_rules_clause(b->rules, i);
        spurity_clause_facts facts;
        double dbm;
        spurity_clause_facts_of(clause, &facts);
        if (!strcmp(facts.group, "emissions") && facts.limit && spurity_clause_covers(clause, &conditions, hz) &&
            spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES &&
            spurity_limit_dbm(facts.limit, &conditions, hz, &dbm, NULL) && !(dbm >= strictest))
            strictest = dbm;
    }
    return strictest;
}

/* A tone of an eighth of the bandwidth: amplitude modulation of half depth, else frequency modulation of index 1, whose
 * line n has J_n(1)^2 of the power (textbook; the J_n are those of the C library). */
static void make_modulation(struct bench *b, double tone_hz)
{
    enum { PAIRS = 9 };
    double f0 = b->lines[0].hz, dbm = b->lines[0].dbm;
    bool am = b->service->emission[strspn(b->service->emission, "0123456789HKM")] == 'A';
    b->lines[0].dbm = am ? dbm : dbm + 20 * log10(jn(0, 1));
    for (int n = 1; n <= (am ? 1 : PAIRS); n++) {
        double level = am ? dbm + 20 * log10(0.25) : dbm + 20 * log10(jn(n, 1));
        b->lines[b->line_count++] = (struct made_line){f0 - n * tone_hz, level};
        b->lines[b->line_count++] = (struct made_line){f0 + n * tone_hz, level};
    }
}

static void make_lines(struct bench *b)
{
    double f0 = b->service->carrier_hz;
    b->line_count = 0;
    b->lines[b->line_count++] = (struct made_line){f0, 10 * log10(b->power_w * 1e3)};
    if (b->modulated)
        make_modulation(b, (b->service->bandwidth_hz > 0 ? b->service->bandwidth_hz : 8e3) / 8);
    for (int n = 2; n <= 10; n++) {
        double dbm = allowed_dbm(b, n * f0) - b->harmonics_below_db;
        if (!isnan(dbm))
            b->lines[b->line_count++] = (struct made_line){n * f0, dbm};
    }
}

static enum made_detector made_detector_of(spurity_detector detector)
{
    switch (detector) {
    case SPURITY_DETECTOR_SAMPLE:
        return MADE_SAMPLE;
    case SPURITY_DETECTOR_LOG_AVERAGE:
        return MADE_LOG_AVERAGE;
    case SPURITY_DETECTOR_PEAK:
        return MADE_PEAK;
    case SPURITY_DETECTOR_MAX_HOLD:
        return MADE_MAX_HOLD;
    default:
        return MADE_AVERAGE;
    }
}

static struct made_instrument instrument_of(struct bench *b)
{
    b->seed += 7;
    return (struct made_instrument){.noise_dbm = b->noise_dbm,
                                    .noise_rbw_hz = b->noise_rbw_hz,
                                    .four_poles = b->four_poles,
                                    .loss_db = loss_db,
                                    .user = b,
                                    .seed = b->seed};
}

static struct made_set set_of(const struct bench *b)
{
    return (struct made_set){.lines = b->lines,
                             .line_count = b->line_count,
                             .near_dbc_hz = b->near_dbc_hz,
                             .corner_hz = 10e3,
                             .far_dbc_hz = -155};
}

static spurity_source *add_source(struct bench *b, double more_pad_db, const char *ending)
{
    assert_true(b->source_count < SOURCES_MOST);
    size_t at = b->source_count++;
    spurity_source *source = &b->sources[at];
    snprintf(b->paths[at], PATH_SIZE, "%s/%zu%s", folder, at, ending);
    spurity_read_options_init(&source->read);
    source->path = b->paths[at];
    source->chain = b->chain;
    if (more_pad_db > 0)
        source->chain = b->stepped[at] = make_chain(b, more_pad_db);
    b->extra_db = more_pad_db;
    return source;
}

/* Sweeps of the keyed set; leakage and ambient are no files of the transmitter. */
static void follow_sweep(struct bench *b, const spurity_plan_sweep *sweep)
{
    if (sweep->purpose == SPURITY_PLAN_LEAKAGE || sweep->purpose == SPURITY_PLAN_AMBIENT)
        return;
    spurity_source *source = add_source(b, sweep->more_pad_db, ".csv");
    struct made_instrument instrument = instrument_of(b);
    struct made_set set = set_of(b);
    struct made_sweep made = {.start_hz = sweep->start_hz,
                              .stop_hz = sweep->stop_hz,
                              .rbw_hz = sweep->rbw_hz,
                              .points = sweep->points,
                              .detector = made_detector_of(sweep->detector),
                              .seconds = sweep->seconds,
                              .sweeps = sweep->sweeps};
    assert_true(made_sweep_write(source->path, &instrument, &set, &made));
}

/* Bytes that all captures of a plan take. */
static double capture_bytes(const struct bench *b)
{
    double bytes = 0;
    for (size_t i = 0; i < spurity_plan_capture_count(b->plan); i++) {
        const spurity_plan_capture *one = spurity_plan_capture_at(b->plan, i);
        bytes += one->rate_hz * one->seconds * 2 * sizeof(float);
    }
    return bytes;
}

/* The receiver's full scale stands 6 dB over the carrier. */
static void follow_capture(struct bench *b, const spurity_plan_capture *capture)
{
    if (capture->purpose == SPURITY_PLAN_LEAKAGE || capture->purpose == SPURITY_PLAN_AMBIENT)
        return;
    spurity_source *source = add_source(b, 0, ".sigmf-meta");
    struct made_instrument instrument = instrument_of(b);
    struct made_set set = set_of(b);
    double full_scale = b->lines[0].dbm - loss_db(b, capture->center_hz) + 6;
    struct made_capture_plan made = {.center_hz = capture->center_hz,
                                     .rate_hz = capture->rate_hz,
                                     .seconds = capture->seconds,
                                     .full_scale_dbm = full_scale,
                                     .centre_dbm = b->centre_dbm};
    source->read.full_scale_dbm = full_scale;
    source->read.rbw_hz = capture->rbw_hz;
    assert_true(made_capture_write(source->path, &instrument, &set, &made));
}

static void follow(struct bench *b)
{
    make_lines(b);
    for (size_t i = 0; i < spurity_plan_sweep_count(b->plan); i++)
        follow_sweep(b, spurity_plan_sweep_at(b->plan, i));
    for (size_t i = 0; i < spurity_plan_capture_count(b->plan); i++)
        follow_capture(b, spurity_plan_capture_at(b->plan, i));
    b->point.sources = b->sources;
    b->point.source_count = b->source_count;
    const spurity_rules *sets[] = {b->rules};
    assert_ok(spurity_measure(&b->point, NULL, &b->measurement, &b->error), &b->error);
    assert_ok(spurity_judge(b->measurement, sets, 1, NULL, &b->verdict, &b->error), &b->error);
}

/* ---- plan against verdict ---- */

/* What the user's own word leaves out is no fault of a plan. */
static bool counts(const spurity_not_shown *one)
{
    return strcmp(one->reason, "range") != 0;
}

/* What a frequency is away from where plan or reading has it: the carrier is read to a part of its RBW. */
static double slack(double hz)
{
    return 1e-5 * hz;
}

/* Whether the plan, by the best of the sweeps it wants there, promises that a frequency can be shown. */
static bool promised(const struct bench *b, double hz)
{
    bool promise = false, named = false;
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b->plan, i);
        bool here = one->from_hz <= hz && hz <= one->to_hz;
        named = named || here;
        promise = promise || (here && one->shown == 1);
    }
    return promise || !named; /* of what it does not speak it must not be silent either */
}

/* Whether the plan says of a stretch that some of it could not be shown: at its ends, and at those of all it speaks of
 * within. */
static bool plan_doubts(const struct bench *b, double from_hz, double to_hz)
{
    if (isnan(from_hz))
        return false;
    for (double at = 0; at < 1.01; at += 0.125)
        if (!promised(b, from_hz + at * (to_hz - from_hz)))
            return true;
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b->plan, i);
        double ends[] = {one->from_hz, one->to_hz, one->frequency_hz};
        for (int k = 0; k < 3; k++)
            if (ends[k] >= from_hz - slack(from_hz) && ends[k] <= to_hz + slack(to_hz) && !promised(b, ends[k]))
                return true;
    }
    return false;
}

static size_t optimism(const struct bench *b, bool tell)
{
    size_t found = 0;
    for (size_t i = 0; i < spurity_verdict_not_shown_count(b->verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(b->verdict, i);
        if (!counts(one) || plan_doubts(b, one->from_hz, one->to_hz))
            continue;
        found++;
        spurity_clause_facts facts = {.clause = "-"};
        if (one->clause)
            spurity_clause_facts_of(one->clause, &facts);
        if (tell && found <= 3)
            print_message("    not shown: %s, %.9g to %.9g Hz, %s: %s\n", facts.clause, one->from_hz, one->to_hz,
                          one->reason, one->advice);
    }
    return found;
}

static bool verdict_doubts(const struct bench *b, double from_hz, double to_hz)
{
    for (size_t i = 0; i < spurity_verdict_not_shown_count(b->verdict); i++) {
        const spurity_not_shown *one = spurity_verdict_not_shown(b->verdict, i);
        if (counts(one) && one->from_hz <= to_hz + slack(to_hz) && from_hz <= one->to_hz + slack(one->to_hz))
            return true;
    }
    return false;
}

static void say_cell(const struct bench *b, const char *what)
{
    print_message("%s, %.9g Hz, %g W: %s (plan: %s; %s)\n", b->service->rules, b->service->carrier_hz, b->power_w, what,
                  spurity_plan_outcome_name(spurity_plan_outcome_of(b->plan)), spurity_plan_headline(b->plan));
}

/* Receivers of a wide range save a lot: they are asked for. */
static bool whole_grid(void)
{
    return getenv("SPURITY_WHOLE_GRID") != NULL;
}

struct tally {
    size_t cells, ready, agreeing, sweeps;
};

/* How a cell differs from the plainest. */
struct variant {
    unsigned groups;
    bool no_harmonics, four_poles, modulated;
    double near_dbc_hz;
};

/* The plan with the pads it asks for, followed. */
static void close_loop(const struct service *service, double power_w, const struct variant *variant,
                       struct tally *tally)
{
    struct bench *b = malloc(sizeof *b);
    assert_non_null(b);
    start(b, service, power_w);
    b->reference_ppm = 1;
    b->only = variant->groups;
    b->four_poles = variant->four_poles;
    b->modulated = variant->modulated;
    b->near_dbc_hz = variant->near_dbc_hz;
    if (variant->no_harmonics)
        b->harmonics_below_db = (double)NAN;
    make_plan(b);
    take_proposed(b);
    make_plan(b);
    tally->cells++;
    bool ready = spurity_plan_outcome_of(b->plan) == SPURITY_PLAN_READY;
    tally->ready += ready;
    if (!ready)
        say_cell(b, "no ready plan");
    follow(b);
    for (size_t i = 0; i < b->source_count; i++)
        tally->sweeps++;
    size_t bad = optimism(b, false);
    if (bad) {
        say_cell(b, "not shown though the plan said it could be");
        optimism(b, true);
    } else
        tally->agreeing++;
    finish(b);
    free(b);
}

static void tell_tally(const char *what, const struct tally *tally)
{
    print_message("%s: %zu cells, %zu with a ready plan, %zu in which plan and verdict agree; %zu sweeps\n", what,
                  tally->cells, tally->ready, tally->agreeing, tally->sweeps);
}

/* Every service at every power it has; harmonics 20 dB under their limits and none at all in turn. */
static void test_every_service_closes(void **state)
{
    (void)state;
    struct tally tally = {0};
    struct variant variant = {.groups = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER};
    for (size_t s = 0; s < SERVICES; s++)
        for (size_t p = 0; p < POWERS && powers_w[p] <= services[s].most_w; p++) {
            variant.no_harmonics = p % 2;
            close_loop(&services[s], powers_w[p], &variant, &tally);
        }
    tell_tally("emissions and power", &tally);
    assert_int_equal(tally.ready, tally.cells);
    assert_int_equal(tally.agreeing, tally.cells);
}

static void test_frequency_closes(void **state)
{
    (void)state;
    struct tally tally = {0};
    const struct variant variant = {.groups = SPURITY_GROUP_FREQUENCY | SPURITY_GROUP_POWER};
    for (size_t s = 0; s < SERVICES; s++)
        close_loop(&services[s], 0.5, &variant, &tally);
    tell_tally("frequency and power", &tally);
    assert_int_equal(tally.agreeing, tally.cells);
}

/* Instruments of four tuned circuits, whose skirts are wider. */
static void test_wider_skirts_close(void **state)
{
    (void)state;
    struct tally tally = {0};
    const struct variant variant = {.groups = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER, .four_poles = true};
    for (size_t s = 0; s < SERVICES; s++)
        close_loop(&services[s], services[s].most_w, &variant, &tally);
    tell_tally("four poles", &tally);
    assert_int_equal(tally.agreeing, tally.cells);
}

/* A set with noise of its own: -125 dBc in 1 Hz within 10 kHz. */
static void test_carrier_noise_closes(void **state)
{
    (void)state;
    struct tally tally = {0};
    const struct variant variant = {.groups = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER, .near_dbc_hz = -125};
    for (size_t s = 0; s < SERVICES; s++)
        close_loop(&services[s], services[s].most_w, &variant, &tally);
    tell_tally("carrier noise", &tally);
    assert_int_equal(tally.agreeing, tally.cells);
}

/* Frequency- and amplitude-modulated sets under their masks. */
static void test_masks_close(void **state)
{
    (void)state;
    struct tally tally = {0};
    const struct variant variant = {.groups = SPURITY_GROUP_MASK, .modulated = true};
    for (size_t s = 0; s < SERVICES; s++)
        if (!strncmp(services[s].rules, "us-", 3) && strcmp(services[s].rules, "us-amateur") &&
            !strstr(services[s].emission, "J3E"))
            close_loop(&services[s], services[s].most_w, &variant, &tally);
    tell_tally("masks", &tally);
    assert_int_equal(tally.agreeing, tally.cells);
}

/* ---- opened on purpose ---- */

/* Whether another sweep of the plan looks at all of a place and leaves more hope. */
static bool better_elsewhere(const struct bench *b, const spurity_plan_visibility *place, double hopeless_db)
{
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b->plan, i);
        if (one != place && one->from_hz <= place->from_hz && place->to_hz <= one->to_hz &&
            (one->shown == 1 || one->margin_db > hopeless_db))
            return true;
    }
    return false;
}

/* Places the plan calls hopeless by more than chance can make up for, and which the verdict shows all the same. */
static size_t pessimism(const struct bench *b, bool tell)
{
    static const double chance_db = 3.0;
    size_t found = 0;
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b->plan, i);
        if (one->shown != 0 || one->margin_db > -chance_db || verdict_doubts(b, one->from_hz, one->to_hz) ||
            better_elsewhere(b, one, -chance_db))
            continue;
        found++;
        if (tell)
            print_message("    shown all the same: %s, %.9g to %.9g Hz, margin %.1f dB: %s\n", one->what, one->from_hz,
                          one->to_hz, one->margin_db, one->advice);
    }
    return found;
}

static size_t places(const struct bench *b, int shown)
{
    size_t count = 0;
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++)
        count += spurity_plan_visibility_at(b->plan, i)->shown == shown;
    return count;
}

static const struct service *service_at(const char *rules, double carrier_hz)
{
    for (size_t i = 0; i < SERVICES; i++)
        if (!strcmp(services[i].rules, rules) && services[i].carrier_hz == carrier_hz)
            return &services[i];
    fail_msg("no service %s at %g Hz", rules, carrier_hz);
    return NULL;
}

static void start_with_pads(struct bench *b, const struct service *service, double power_w, const struct pad *pads,
                            size_t count)
{
    start(b, service, power_w);
    b->reference_ppm = 1;
    b->only = SPURITY_GROUP_EMISSIONS | SPURITY_GROUP_POWER;
    memcpy(b->pads, pads, count * sizeof *pads);
    b->pad_count = count;
}

/* A mobile of 50 W into a pad for 5 W: nothing is swept. */
static void test_weak_pad_is_told(void **state)
{
    (void)state;
    struct bench b;
    const struct pad pads[] = {{30, 5}, {10, 2}};
    start_with_pads(&b, service_at("us-land-mobile", 155.01e6), 50, pads, 2);
    make_plan(&b);
    assert_int_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_HARMFUL);
    const spurity_plan_attenuator *first = spurity_plan_attenuator_at(b.plan, 0);
    const spurity_plan_attenuator *second = spurity_plan_attenuator_at(b.plan, 1);
    assert_true(first->harmed);
    assert_near(first->arriving_w, 50, 0.5);
    assert_false(second->harmed);
    assert_near(second->arriving_w, 0.05, 0.001);
    assert_near(first->missing_input_dbm, 46.99 - 10, 0.05);
    assert_true(first->missing_harms);
    finish(&b);
}

/* The pads stand it, the instrument does not. */
static void test_too_little_attenuation_is_told(void **state)
{
    (void)state;
    struct bench b;
    const struct pad pads[] = {{10, 100}};
    start_with_pads(&b, service_at("us-land-mobile", 155.01e6), 50, pads, 1);
    make_plan(&b);
    assert_int_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_HARMFUL);
    finish(&b);
}

static void test_missing_ratings_are_told(void **state)
{
    (void)state;
    struct bench b;
    const struct pad pads[] = {{40, (double)NAN}};
    start_with_pads(&b, service_at("us-land-mobile", 155.01e6), 5, pads, 1);
    make_plan(&b);
    assert_int_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_NOT_ENOUGH);
    b.pads[0].rating_w = 50;
    make_plan(&b);
    assert_int_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_READY);
    b.max_input_dbm = (double)NAN;
    make_plan(&b);
    assert_int_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_NOT_ENOUGH);
    finish(&b);
}

/* Without the instrument's noise nothing can be promised, and nothing is. */
static void test_unsaid_noise_promises_nothing(void **state)
{
    (void)state;
    struct bench b;
    const struct pad pads[] = {{40, 50}};
    start_with_pads(&b, service_at("us-murs", 151.88e6), 2, pads, 1);
    b.noise_dbm = b.noise_rbw_hz = (double)NAN;
    make_plan(&b);
    assert_int_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_NOT_ENOUGH);
    assert_int_equal(places(&b, 1), 0);
    finish(&b);
}

/* Noise rises under a fixed pad: from some step on harmonics cannot be shown, the plan says which, and they are not. */
static void climb(const struct service *service, double power_w, struct tally *tally)
{
    const struct pad pads[] = {{30, 150}, {20, 5}};
    for (int step = 0; step < 12; step++) {
        struct bench *b = malloc(sizeof *b);
        assert_non_null(b);
        start_with_pads(b, service, power_w, pads, 2);
        b->noise_dbm = -120 + 6 * step;
        b->harmonics_below_db = (double)NAN;
        b->seed += (uint64_t)step * 1000;
        make_plan(b);
        follow(b);
        tally->cells++;
        tally->ready += spurity_plan_outcome_of(b->plan) == SPURITY_PLAN_READY;
        size_t high = optimism(b, false), low = pessimism(b, false);
        tally->agreeing += !high && !low;
        if (high || low) {
            char what[80];
            snprintf(what, sizeof what, "noise %.0f dBm in 1 kHz, plan and verdict differ", b->noise_dbm);
            say_cell(b, what);
            optimism(b, true);
            pessimism(b, true);
        }
        finish(b);
        free(b);
    }
}

static void test_high_floor_is_told(void **state)
{
    (void)state;
    struct tally tally = {0};
    climb(service_at("us-murs", 151.88e6), 2, &tally);
    climb(service_at("us-amateur", 146.52e6), 5, &tally);
    climb(service_at("us-cb", 27.185e6), 5, &tally);
    climb(service_at("itu-b", 155.0e6), 5, &tally);
    print_message("rising noise: %zu cells, %zu with a ready plan, %zu in which plan and verdict agree\n", tally.cells,
                  tally.ready, tally.agreeing);
    assert_true(tally.ready > 0 && tally.ready < tally.cells);
    assert_int_equal(tally.agreeing, tally.cells);
}

/* A pad known to 500 MHz only, of a set whose tenth harmonic lies at 1.5 GHz. */
static void test_reach_of_the_chain_is_told(void **state)
{
    (void)state;
    struct bench *b = malloc(sizeof *b);
    assert_non_null(b);
    const struct pad pads[] = {{40, 50}};
    start_with_pads(b, service_at("us-murs", 151.88e6), 2, pads, 1);
    b->known_to_hz = 500e6;
    make_plan(b);
    assert_int_equal(spurity_plan_outcome_of(b->plan), SPURITY_PLAN_NOT_ENOUGH);
    for (size_t i = 0; i < spurity_plan_visibility_count(b->plan); i++) {
        const spurity_plan_visibility *one = spurity_plan_visibility_at(b->plan, i);
        if (one->from_hz > 500e6)
            assert_true(one->shown != 1);
    }
    follow(b);
    assert_int_equal(spurity_verdict_outcome(b->verdict), SPURITY_OUTCOME_NOT_SHOWN);
    assert_true(verdict_doubts(b, 600e6, 1500e6));
    assert_int_equal(optimism(b, true), 0);
    finish(b);
    free(b);
}

/* ---- a receiver ---- */

/* The captures a plan asks for, of a receiver with a line of its own where it is tuned. */
static void close_by_captures(const struct service *service, double power_w, double rate_hz, struct tally *tally)
{
    const double bytes_most = whole_grid() ? 4e9 : 400e6;
    struct bench *b = malloc(sizeof *b);
    assert_non_null(b);
    const struct pad pads[] = {{40, 150}, {20, 5}};
    start_with_pads(b, service, power_w, pads, 2);
    b->max_input_dbm = 0;
    b->noise_dbm = -135;
    b->rate_hz = rate_hz;
    b->centre_dbm = -70;
    make_plan(b);
    tally->cells++;
    tally->ready += spurity_plan_outcome_of(b->plan) == SPURITY_PLAN_READY;
    assert_true(spurity_plan_capture_count(b->plan) > 0);
    print_message("%s at %g MHz: %zu captures, %.0f MB\n", service->rules, service->carrier_hz / 1e6,
                  spurity_plan_capture_count(b->plan), capture_bytes(b) / 1e6);
    assert_true(capture_bytes(b) <= bytes_most); /* of the disk of whoever runs this */
    follow(b);
    tally->sweeps += b->source_count;
    bool differs = optimism(b, false) > 0;
    tally->agreeing += !differs;
    if (differs) {
        say_cell(b, "captures: not shown though the plan said it could be");
        optimism(b, true);
    }
    finish(b);
    free(b);
}

static void test_a_receiver_closes(void **state)
{
    (void)state;
    struct tally tally = {0};
    close_by_captures(service_at("us-amateur", 1.9e6), 5, 2.5e6, &tally);
    close_by_captures(service_at("us-amateur", 1.9e6), 100, 10e6, &tally);
    if (whole_grid()) {
        close_by_captures(service_at("us-amateur", 14.2e6), 5, 20e6, &tally);
        close_by_captures(service_at("us-cb", 27.185e6), 5, 20e6, &tally);
    }
    print_message("receivers: %zu cells, %zu with a ready plan, %zu in which plan and verdict agree; %zu captures\n",
                  tally.cells, tally.ready, tally.agreeing, tally.sweeps);
    assert_int_equal(tally.agreeing, tally.cells);
}

/* A band too narrow to hold what the rule looks at between two centres is refused or told, never called ready. */
static void test_narrow_receiver_is_told(void **state)
{
    (void)state;
    struct bench b;
    const struct pad pads[] = {{40, 50}};
    start_with_pads(&b, service_at("us-murs", 151.88e6), 2, pads, 1);
    b.rate_hz = 8e3;
    make_plan(&b);
    assert_int_not_equal(spurity_plan_outcome_of(b.plan), SPURITY_PLAN_READY);
    finish(&b);
}

static int make_folder(void **state)
{
    (void)state;
    const char *parent = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/plan-loop-XXXXXX", parent && *parent ? parent : P_tmpdir);
    return mkdtemp(folder) ? 0 : -1;
}

/* With what a test left that failed half way. */
static int remove_folder(void **state)
{
    (void)state;
    char path[sizeof folder + NAME_MAX + 2];
    DIR *all = opendir(folder);
    struct dirent *entry;
    while (all && (entry = readdir(all)))
        if (entry->d_name[0] != '.') {
            snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
            unlink(path);
        }
    if (all)
        closedir(all);
    return rmdir(folder);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        cmocka_set_test_filter(argv[1]);
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_service_closes),
        cmocka_unit_test(test_frequency_closes),
        cmocka_unit_test(test_wider_skirts_close),
        cmocka_unit_test(test_carrier_noise_closes),
        cmocka_unit_test(test_masks_close),
        cmocka_unit_test(test_weak_pad_is_told),
        cmocka_unit_test(test_too_little_attenuation_is_told),
        cmocka_unit_test(test_missing_ratings_are_told),
        cmocka_unit_test(test_unsaid_noise_promises_nothing),
        cmocka_unit_test(test_high_floor_is_told),
        cmocka_unit_test(test_reach_of_the_chain_is_told),
        cmocka_unit_test(test_a_receiver_closes),
        cmocka_unit_test(test_narrow_receiver_is_told),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
