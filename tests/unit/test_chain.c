/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "chain/chain.h"

#include "../check.h"
#include "../comma_locale.h"
#include "input/input.h"

/* ---- chains ---- */

static spurity_chain *new_chain(void)
{
    spurity_error error = {0};
    spurity_chain *chain;
    assert_ok(spurity_chain_create(&chain, &error), &error);
    return chain;
}

static spurity_chain *chain_of_pad(const char *text)
{
    spurity_error error = {0};
    spurity_chain *chain = new_chain();
    assert_ok(spurity_chain_add_pad_text(chain, text, &error), &error);
    return chain;
}

static spurity_curve *new_curve(double hz1, double hz2, double db1, double db2, double uncertainty_db)
{
    spurity_error error = {0};
    const double hz[] = {hz1, hz2}, db[] = {db1, db2}, u[] = {uncertainty_db, uncertainty_db};
    spurity_curve *curve;
    assert_ok(spurity_curve_create(hz, db, isnan(uncertainty_db) ? NULL : u, 2, &curve, &error), &error);
    return curve;
}

static void add_curve(spurity_chain *chain, const char *name, spurity_curve *curve, double uncertainty_db)
{
    spurity_error error = {0};
    assert_ok(spurity_chain_add_curve(chain, name, curve, uncertainty_db, &error), &error);
}

static void test_pad_text(void **state)
{
    static const struct {
        const char *text;
        double db, uncertainty_db, known_to_hz, rating_w;
    } rows[] = {
        {"40dB,0.5dB,1G,50W", 40, 0.5, 1e9, 50},
        {"40dB", 40, NAN, NAN, NAN},
        {"40", 40, NAN, NAN, NAN},
        {" 40 dB , 0.5 dB , 1 GHz , 50 W ", 40, 0.5, 1e9, 50},
        {"1G,50W,40dB,0.5dB", 40, 0.5, 1e9, 50},
        {"20.5dB,50W", 20.5, NAN, NAN, 50},
        {"20dB,47dBm", 20, NAN, NAN, 50.1187},
        {"0dB,0dB", 0, 0, NAN, NAN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_chain *chain = chain_of_pad(rows[i].text);
        spurity_chain_element element;
        assert_int_equal(spurity_chain_kind_of(chain), SPURITY_CHAIN_ELEMENTS);
        assert_true(spurity_chain_element_at(chain, 0, &element));
        assert_false(spurity_chain_element_at(chain, 1, &element));
        assert_string_equal(element.name, "pad");
        assert_null(element.curve);
        assert_near(element.db, rows[i].db, 1e-12);
        assert_near(element.uncertainty_db, rows[i].uncertainty_db, 1e-12);
        assert_near(element.known_to_hz, rows[i].known_to_hz, 1e-3);
        assert_near(element.rating_w, rows[i].rating_w, 1e-4);
        spurity_chain_free(chain);
    }
}

static void test_bad_pad_text(void **state)
{
    static const char *const rows[] = {
        "",
        ",",
        "40dB,",
        ",40dB",
        "40,5dB",
        "40dB,0.5",
        "40,0.5dB,1G,50W",
        "forty",
        "40dB,0.5dB,0.1dB",
        "40dB,1G,2G",
        "40dB,50W,60W",
        "1G,50W",
        "-40dB",
        "40dB,-0.5dB",
        "40dB,-1G",
        "40dB,0W",
        "40dBc",
        "40dB,75ohm",
        "500dB",
        "nandB",
        "40dB,0000000000000000000000000000000000000000000000000000000000000000000000000000000000000.5dB",
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        spurity_error error = {0};
        spurity_chain *chain = new_chain();
        if (spurity_chain_add_pad_text(chain, rows[i], &error) != SPURITY_INVALID)
            fail_msg("'%s' was taken", rows[i]);
        assert_true(error.found[0] && (error.expected[0] || error.advice[0]));
        assert_int_equal(spurity_chain_element_count(chain), 0);
        assert_int_equal(spurity_chain_kind_of(chain), SPURITY_CHAIN_UNSTATED);
        spurity_chain_free(chain);
    }
}

static void test_kinds(void **state)
{
    spurity_error error = {0};
    spurity_chain *chain = new_chain();
    char text[100];
    double loss_db = 9;
    assert_int_equal(spurity_chain_kind_of(chain), SPURITY_CHAIN_UNSTATED);
    spurity_chain_describe(chain, 0, text, sizeof text);
    assert_string_equal(text, "not stated");
    assert_true(spurity_chain_loss(chain, 1e6, &loss_db, NULL, NULL));
    assert_near(loss_db, 0, 0);
    assert_int_equal(spurity_chain_set_kind(chain, SPURITY_CHAIN_ELEMENTS, NULL), SPURITY_INVALID);
    assert_ok(spurity_chain_set_kind(chain, SPURITY_CHAIN_DIRECT, &error), &error);
    assert_ok(spurity_chain_set_kind(chain, SPURITY_CHAIN_DIRECT, &error), &error);
    spurity_chain_describe(chain, 0, text, sizeof text);
    assert_string_equal(text, "direct, nothing in between");
    assert_int_equal(spurity_chain_set_kind(chain, SPURITY_CHAIN_CORRECTED, NULL), SPURITY_INVALID);
    assert_int_equal(spurity_chain_add_pad(chain, 40, NAN, NAN, NAN, &error), SPURITY_INVALID);
    assert_non_null(strstr(error.found, "direct"));
    spurity_curve *curve = new_curve(1, 2, 0, 0, NAN);
    assert_int_equal(spurity_chain_add_curve(chain, "a.csv", curve, NAN, NULL), SPURITY_INVALID);
    spurity_curve_free(curve); /* not taken over */
    spurity_chain_free(chain);

    chain = chain_of_pad("40dB");
    assert_int_equal(spurity_chain_set_kind(chain, SPURITY_CHAIN_DIRECT, NULL), SPURITY_INVALID);
    assert_int_equal(spurity_chain_set_kind(chain, SPURITY_CHAIN_CORRECTED, NULL), SPURITY_INVALID);
    spurity_chain_free(chain);
    spurity_chain_free(NULL);
}

static void test_too_many_elements(void **state)
{
    spurity_chain *chain = new_chain();
    size_t taken = 0;
    while (taken < 1000 && !spurity_chain_add_pad(chain, 1, 0.1, NAN, NAN, NULL))
        taken++;
    assert_int_equal(taken, 64);
    spurity_uncertainty uncertainty;
    double loss_db;
    assert_true(spurity_chain_loss(chain, 1e6, &loss_db, &uncertainty, NULL));
    assert_near(loss_db, 64, 1e-12);
    assert_near(spurity_uncertainty_expanded(&uncertainty), 0.8, 1e-12); /* 64 independent parts */
    spurity_chain_free(chain);
}

static void check_described(spurity_chain *chain, size_t index, const char *want)
{
    char text[200];
    spurity_chain_describe(chain, index, text, sizeof text);
    assert_string_equal(text, want);
    for (size_t size = 1; size < 40; size++) {
        char *little = malloc(size);
        assert_non_null(little);
        spurity_chain_describe(chain, index, little, size);
        assert_int_equal(strlen(little), strlen(want) < size ? strlen(want) : size - 1);
        free(little);
    }
}

static void check_descriptions(void)
{
    spurity_chain *chain = chain_of_pad("40dB,0.5dB,1G,50W");
    spurity_chain_add_pad_text(chain, "20.25dB", NULL);
    spurity_chain_add_pad_text(chain, "10dB,5W", NULL);
    add_curve(chain, "bench/notch.csv", new_curve(1e6, 1e9, 1, 60, NAN), 0.3);
    check_described(chain, 0, "pad 40 dB (+-0.5 dB, to 1 GHz, 50 W)");
    check_described(chain, 1, "pad 20.25 dB");
    check_described(chain, 2, "pad 10 dB (5 W)");
    check_described(chain, 3, "loss of 'bench/notch.csv' (1 MHz to 1 GHz, 2 points, +-0.3 dB)");
    check_described(chain, 4, "");
    spurity_chain_free(chain);
}

static void test_descriptions(void **state)
{
    check_descriptions();
    if (set_comma_locale())
        check_descriptions();
    else
        print_message("SKIPPED in part: no locale with a decimal comma could be had\n");
    setlocale(LC_ALL, "C");
}

static void test_loss(void **state)
{
    spurity_chain *chain = chain_of_pad("40dB,0.5dB,1G");
    double loss_db = -1;
    size_t element = 99;
    add_curve(chain, "cable.csv", new_curve(100e6, 500e6, 1, 3, NAN), NAN);
    assert_true(spurity_chain_loss(chain, 200e6, &loss_db, NULL, NULL));
    assert_near(loss_db, 41.5, 1e-12);
    assert_true(spurity_chain_loss(chain, 100e6, &loss_db, NULL, NULL)); /* ends are inside */
    assert_true(spurity_chain_loss(chain, 500e6, &loss_db, NULL, NULL));
    assert_near(loss_db, 43, 1e-12);
    loss_db = -1;
    assert_false(spurity_chain_loss(chain, 99.9e6, &loss_db, NULL, &element));
    assert_int_equal(element, 1);
    assert_false(spurity_chain_loss(chain, 500.1e6, &loss_db, NULL, NULL));
    assert_false(spurity_chain_loss(chain, 1.1e9, &loss_db, NULL, &element));
    assert_int_equal(element, 0);
    assert_near(loss_db, -1, 0);
    spurity_chain_free(chain);
}

static double difference_u(const spurity_chain *a, double hz_a, const spurity_chain *b, double hz_b)
{
    spurity_uncertainty ua, ub;
    double loss_db;
    assert_true(spurity_chain_loss(a, hz_a, &loss_db, &ua, NULL));
    assert_true(spurity_chain_loss(b, hz_b, &loss_db, &ub, NULL));
    spurity_uncertainty difference = spurity_uncertainty_difference(&ua, &ub);
    return spurity_uncertainty_expanded(&difference);
}

/* A pad cancels against itself at any frequency and in another file; two like pads are two parts; another pad does not
 * cancel. */
static void test_pad_uncertainty(void **state)
{
    spurity_chain *one = chain_of_pad("20dB,0.3dB"), *again = chain_of_pad("20dB,0.3dB"),
                  *two = chain_of_pad("20dB,0.3dB"), *other = chain_of_pad("30dB,0.4dB"),
                  *unknown = chain_of_pad("20dB");
    spurity_uncertainty u;
    double loss_db;
    spurity_chain_add_pad_text(two, "20dB,0.3dB", NULL);
    assert_true(spurity_chain_loss(one, 146e6, &loss_db, &u, NULL));
    assert_near(spurity_uncertainty_expanded(&u), 0.3, 1e-12);
    assert_near(spurity_uncertainty_standard(&u), 0.15, 1e-12);
    assert_true(spurity_chain_loss(two, 146e6, &loss_db, &u, NULL));
    assert_near(spurity_uncertainty_expanded(&u), 0.3 * sqrt(2), 1e-12);
    assert_near(difference_u(one, 146e6, one, 292e6), 0, 0);
    assert_near(difference_u(one, 146e6, again, 292e6), 0, 0);
    assert_near(difference_u(two, 146e6, one, 292e6), 0.3, 1e-12);
    assert_near(difference_u(one, 146e6, other, 292e6), 0.5, 1e-12);
    assert_near(difference_u(one, 146e6, unknown, 292e6), 0.3, 1e-12);
    assert_true(spurity_chain_loss(unknown, 146e6, &loss_db, &u, NULL));
    assert_int_equal(u.count, 0);
    spurity_chain_free(one);
    spurity_chain_free(again);
    spurity_chain_free(two);
    spurity_chain_free(other);
    spurity_chain_free(unknown);
}

static spurity_chain *chain_of_curve(const char *name, double db, double own_db, double said_db)
{
    spurity_chain *chain = new_chain();
    add_curve(chain, name, new_curve(100e6, 500e6, db, 3, own_db), said_db);
    return chain;
}

/* A curve cancels at the same frequency only, and only against itself. */
static void test_curve_uncertainty(void **state)
{
    spurity_chain *a = chain_of_curve("a/n.s2p", 1, 0.2, NAN), *same = chain_of_curve("a/n.s2p", 1, 0.2, NAN),
                  *content = chain_of_curve("a/n.s2p", 2, 0.2, NAN), *name = chain_of_curve("b/n.s2p", 1, 0.2, NAN);
    assert_near(difference_u(a, 146e6, a, 146e6), 0, 0);
    assert_near(difference_u(a, 146e6, same, 146e6), 0, 0);
    assert_near(difference_u(a, 146e6, a, 292e6), 0.2 * sqrt(2), 1e-12);
    assert_near(difference_u(a, 146e6, content, 146e6), 0.2 * sqrt(2), 1e-12);
    assert_near(difference_u(a, 146e6, name, 146e6), 0.2 * sqrt(2), 1e-12);
    spurity_chain_free(a);
    spurity_chain_free(same);
    spurity_chain_free(content);
    spurity_chain_free(name);

    /* What the user says of it holds where the curve knows less. */
    static const double rows[][3] = {{0.2, NAN, 0.2}, {0.2, 0.5, 0.5}, {0.2, 0.1, 0.2}, {NAN, 0.4, 0.4}, {NAN, NAN, 0}};
    for (size_t i = 0; i < 5; i++) {
        spurity_chain *chain = chain_of_curve("n.s2p", 1, rows[i][0], rows[i][1]);
        spurity_uncertainty u;
        double loss_db;
        assert_true(spurity_chain_loss(chain, 146e6, &loss_db, &u, NULL));
        assert_near(spurity_uncertainty_expanded(&u), rows[i][2], 1e-12);
        spurity_chain_free(chain);
    }
}

static void test_copy(void **state)
{
    spurity_error error = {0};
    spurity_chain *from = chain_of_pad("40dB,0.5dB"), *to, *third;
    spurity_chain_element a, b;
    double loss_db;
    add_curve(from, "cable.csv", new_curve(100e6, 500e6, 1, 3, 0.1), NAN);
    assert_ok(spurity_chain_copy(from, &to, &error), &error);
    assert_ok(spurity_chain_copy(to, &third, &error), &error);
    assert_true(spurity_chain_element_at(from, 1, &a) && spurity_chain_element_at(to, 1, &b));
    assert_ptr_equal(a.curve, b.curve); /* shared */
    assert_near(difference_u(from, 146e6, to, 146e6), 0, 0);
    spurity_chain_free(from);
    assert_true(spurity_chain_loss(to, 300e6, &loss_db, NULL, NULL));
    assert_near(loss_db, 42, 1e-12);
    spurity_chain_free(to);
    assert_true(spurity_chain_loss(third, 300e6, &loss_db, NULL, NULL));
    spurity_chain_free(third);
}

/* ---- terminal traces ---- */

/* `count` points from first_hz every step_hz, all at -50 dB. */
static void add_segment(spurity_trace *trace, double first_hz, double step_hz, int count)
{
    spurity_error error = {0};
    spurity_segment_facts facts = {.rbw_hz = 1e3};
    assert_ok(spurity_trace_begin_segment(trace, &facts, &error), &error);
    for (int i = 0; i < count; i++) {
        const double hz = first_hz + i * step_hz, db = -50;
        assert_ok(spurity_trace_append(trace, &hz, &db, 1, &error), &error);
    }
}

static spurity_trace *new_trace(double first_hz, double step_hz, int count)
{
    spurity_error error = {0};
    spurity_trace *trace;
    assert_ok(spurity_trace_create(&trace, &error), &error);
    add_segment(trace, first_hz, step_hz, count);
    return trace;
}

static spurity_terminal_trace *apply(const spurity_chain *chain, spurity_trace *trace, double carrier_hz,
                                     spurity_notes *notes)
{
    spurity_error error = {0};
    spurity_terminal_trace *terminal;
    assert_ok(spurity_chain_apply(chain, &trace, carrier_hz, 3, notes, &terminal, &error), &error);
    assert_null(trace);
    assert_int_equal(spurity_terminal_trace_file(terminal), 3);
    return terminal;
}

static void test_apply(void **state)
{
    spurity_chain *chain = chain_of_pad("40dB");
    add_curve(chain, "cable.csv", new_curve(0, 1e9, 0, 10, NAN), NAN);
    spurity_terminal_trace *terminal = apply(chain, new_trace(100e6, 100e6, 5), NAN, NULL);
    spurity_chain_free(chain); /* copied */
    spurity_segment segment;
    assert_true(spurity_trace_segment(spurity_terminal_trace_view(terminal), 0, &segment));
    assert_int_equal(segment.count, 5);
    for (size_t i = 0; i < 5; i++)
        assert_near(segment.level_db[i], -50 + 40 + 1.0 + (double)i, 1e-12);
    assert_true(spurity_terminal_trace_is_absolute(terminal));
    assert_int_equal(spurity_terminal_trace_blind_count(terminal), 0);
    assert_null(spurity_terminal_trace_blind(terminal, 0));
    assert_int_equal(spurity_chain_element_count(spurity_terminal_trace_chain(terminal)), 2);
    spurity_terminal_trace_free(terminal);
    spurity_terminal_trace_free(NULL);
}

static void test_absolute(void **state)
{
    static const spurity_chain_kind kinds[] = {SPURITY_CHAIN_UNSTATED, SPURITY_CHAIN_DIRECT, SPURITY_CHAIN_CORRECTED};
    for (size_t i = 0; i < 3; i++) {
        for (int scaled = 0; scaled < 2; scaled++) {
            spurity_chain *chain = new_chain();
            spurity_trace *trace = new_trace(1e6, 1e6, 3);
            spurity_segment segment;
            if (kinds[i])
                spurity_chain_set_kind(chain, kinds[i], NULL);
            spurity_trace_set_scale(trace, scaled ? "receiver" : "");
            spurity_terminal_trace *terminal = apply(chain, trace, NAN, NULL);
            assert_int_equal(spurity_terminal_trace_is_absolute(terminal), kinds[i] && !scaled);
            assert_true(spurity_trace_segment(spurity_terminal_trace_view(terminal), 0, &segment));
            assert_near(segment.level_db[1], -50, 0);
            spurity_terminal_trace_free(terminal);
            spurity_chain_free(chain);
        }
    }
}

/* What FMAX or a table does not reach is told, with a next step, and its points go. */
static void test_blind_stretches(void **state)
{
    spurity_chain *chain = chain_of_pad("40dB,0.5dB,1G,50W");
    add_curve(chain, "bench/notch.csv", new_curve(200e6, 700e6, 1, 1, NAN), NAN);
    spurity_trace *trace = new_trace(100e6, 50e6, 10); /* 100 to 550 MHz */
    add_segment(trace, 600e6, 50e6, 19);               /* 600 to 1500 MHz */
    spurity_terminal_trace *terminal = apply(chain, trace, NAN, NULL);
    spurity_segment segment;
    const spurity_stretch *blind;
    assert_int_equal(spurity_trace_points(spurity_terminal_trace_view(terminal)), 8 + 3);
    assert_true(spurity_trace_segment(spurity_terminal_trace_view(terminal), 1, &segment));
    assert_near(segment.frequency_hz[segment.count - 1], 700e6, 0);
    assert_int_equal(spurity_terminal_trace_blind_count(terminal), 3);
    blind = spurity_terminal_trace_blind(terminal, 0);
    assert_string_equal(blind->reason, "loss-unknown");
    assert_near(blind->from_hz, 1e9, 0);
    assert_near(blind->to_hz, 1.5e9, 0);
    assert_string_equal(blind->advice,
                        "the 40 dB pad is known to 1 GHz only: find or measure its loss to 1.5 GHz, then "
                        "raise the frequency of --pad or use --loss");
    blind = spurity_terminal_trace_blind(terminal, 1);
    assert_near(blind->from_hz, 100e6, 0);
    assert_near(blind->to_hz, 200e6, 0);
    assert_string_equal(blind->advice,
                        "the loss of 'bench/notch.csv' is known from 200 MHz to 700 MHz only: measure it "
                        "further, or use --pad with a frequency to which it is known");
    blind = spurity_terminal_trace_blind(terminal, 2);
    assert_near(blind->from_hz, 700e6, 0);
    assert_near(blind->to_hz, 1.5e9, 0);
    spurity_terminal_trace_free(terminal);
    spurity_chain_free(chain);
}

/* Joined segments are one stretch; a segment out of reach vanishes; a name however long still leaves the advice. */
static void test_blind_segments_join(void **state)
{
    char name[2000];
    memset(name, 'n', sizeof name - 1);
    name[sizeof name - 1] = '\0';
    spurity_chain *chain = new_chain();
    add_curve(chain, name, new_curve(1e6, 250e6, 1, 1, NAN), NAN);
    spurity_trace *trace = new_trace(100e6, 1e6, 100); /* to 199 MHz */
    add_segment(trace, 200e6, 1e6, 100);
    add_segment(trace, 300e6, 1e6, 100);
    add_segment(trace, 400e6, 1e6, 100);
    add_segment(trace, 800e6, 1e6, 100);
    spurity_terminal_trace *terminal = apply(chain, trace, NAN, NULL);
    assert_int_equal(spurity_trace_segment_count(spurity_terminal_trace_view(terminal)), 2);
    assert_int_equal(spurity_terminal_trace_blind_count(terminal), 2);
    const spurity_stretch *blind = spurity_terminal_trace_blind(terminal, 0);
    assert_near(blind->from_hz, 250e6, 0);
    assert_near(blind->to_hz, 499e6, 0);
    assert_near(spurity_terminal_trace_blind(terminal, 1)->from_hz, 800e6, 0);
    assert_non_null(strstr(blind->advice, "to which it is known"));
    spurity_terminal_trace_free(terminal);
    spurity_chain_free(chain);
}

static void test_nothing_reached(void **state)
{
    spurity_chain *chain = chain_of_pad("40dB,0.5dB,1G");
    spurity_trace *trace = new_trace(1.2e9, 1e6, 5);
    spurity_terminal_trace *terminal;
    spurity_error error = {0};
    spurity_segment segment;
    assert_int_equal(spurity_chain_apply(chain, &trace, NAN, 0, NULL, &terminal, &error), SPURITY_INVALID);
    assert_null(terminal);
    assert_non_null(strstr(error.advice, "known to 1 GHz only"));
    assert_non_null(trace); /* still the caller's, as it was */
    assert_true(spurity_trace_segment(trace, 0, &segment));
    assert_int_equal(segment.count, 5);
    assert_near(segment.level_db[0], -50, 0);
    spurity_trace_free(trace);

    error = (spurity_error){0};
    assert_ok(spurity_trace_create(&trace, &error), &error);
    assert_int_equal(spurity_chain_apply(chain, &trace, NAN, 0, NULL, &terminal, &error), SPURITY_INVALID);
    spurity_trace_free(trace);
    spurity_chain_free(chain);
}

static size_t response_notes(const char *pad, double last_hz, double carrier_hz)
{
    spurity_chain *chain = chain_of_pad(pad);
    spurity_notes *notes = spurity_notes_create();
    spurity_terminal_trace *terminal = apply(chain, new_trace(last_hz - 2e6, 1e6, 3), carrier_hz, notes);
    spurity_terminal_trace_warn(terminal, carrier_hz, notes, NULL); /* once */
    size_t count = spurity_notes_count(notes);
    if (count) {
        assert_string_equal(spurity_note_code_name(spurity_notes_at(notes, 0)->code), "pad-response-assumed");
        assert_int_equal(spurity_notes_at(notes, 0)->file, 3);
    }
    spurity_terminal_trace_free(terminal);
    spurity_notes_free(notes);
    spurity_chain_free(chain);
    return count;
}

static void test_response_warning(void **state)
{
    assert_int_equal(response_notes("40dB", 500e6, 146e6), 1);
    assert_int_equal(response_notes("40dB", 438e6, 146e6), 0);
    assert_int_equal(response_notes("40dB,1G", 500e6, 146e6), 0);
    assert_int_equal(response_notes("40dB", 500e6, NAN), 0);

    /* Two pads of unsaid response: one note; the carrier may be found later. */
    spurity_chain *chain = chain_of_pad("40dB");
    spurity_chain_add_pad_text(chain, "10dB", NULL);
    spurity_notes *notes = spurity_notes_create();
    spurity_terminal_trace *terminal = apply(chain, new_trace(498e6, 1e6, 3), NAN, notes);
    assert_int_equal(spurity_notes_count(notes), 0);
    assert_int_equal(spurity_terminal_trace_warn(terminal, 146e6, notes, NULL), SPURITY_OK);
    assert_int_equal(spurity_notes_count(notes), 1);
    assert_string_equal(
        spurity_notes_at(notes, 0)->text,
        "the 40 dB pad and 1 more: assumed the same above 438 MHz, the third harmonic, as below; tell the "
        "frequency to which it is known, as in --pad 40dB,0.5dB,1G");
    spurity_terminal_trace_free(terminal);
    spurity_notes_free(notes);
    spurity_chain_free(chain);
}

/* The pad moved from the bench into the option: the same levels at the terminal. */
static void test_pad_moved(void **state)
{
    spurity_chain *in_line = chain_of_pad("30dB"), *direct = new_chain();
    spurity_chain_set_kind(direct, SPURITY_CHAIN_DIRECT, NULL);
    spurity_trace *trace = new_trace(100e6, 1e6, 20);
    for (int i = 0; i < 20; i++)
        spurity_trace_levels(trace, 0)[i] -= 30;
    spurity_terminal_trace *behind = apply(in_line, trace, NAN, NULL);
    spurity_terminal_trace *without = apply(direct, new_trace(100e6, 1e6, 20), NAN, NULL);
    spurity_segment a, b;
    assert_true(spurity_trace_segment(spurity_terminal_trace_view(behind), 0, &a));
    assert_true(spurity_trace_segment(spurity_terminal_trace_view(without), 0, &b));
    for (size_t i = 0; i < 20; i++)
        assert_near(a.level_db[i], b.level_db[i], 1e-12);
    spurity_terminal_trace_free(behind);
    spurity_terminal_trace_free(without);
    spurity_chain_free(in_line);
    spurity_chain_free(direct);
}

/* ---- two-port files ---- */

static spurity_status read_text(const char *name, const char *text, size_t size, double ohm,
                                spurity_recording **recording, spurity_error *error)
{
    spurity_read_options options;
    spurity_read_options_init(&options);
    options.impedance_ohm = ohm;
    return spurity_input_read_memory(name, text, size, &options, SPURITY_READ_LOSS, 0, NULL, NULL, recording, error);
}

/* What a two-port file says of its loss at its first frequency. */
struct good_row {
    const char *name, *text;
    double ohm, hz, db;
};

static const struct good_row good_rows[] = {
    {"a.s2p", "# MHz S DB R 50\n100 -30 0 -3 0 -3 0 -30 0\n200 -30 0 -6 1 -6 1 -30 0\n", 50, 100e6, 3},
    {"A.S2P", "#mhz s db r 50\n100 -30 0 -3 0 -3 0 -30 0\n", 50, 100e6, 3},
    {"a.s2p", "# R 50 DB S MHz\r100 -30 0 -3 0 -3 0 -30 0\r200 -30 0 -6 1 -6 1 -30 0\r", 50, 100e6, 3},
    {"a.s2p", "\xEF\xBB\xBF! caf\xE9\r\n\r\n# kHz S MA\r\n100 0 0 .5 0 .5 0 0 0 ! end\r\n200 0 0 .4 0 .4 0 0 0\r\n", 50,
     100e3, 6.0206},
    {"a.s2p", "#\n1 0 0 0.5 0 0.5 0 0 0\n2 0 0 0.25 0 0.25 0 0 0", 50, 1e9, 6.0206}, /* GHz, S, MA, R 50 */
    {"a.s2p", "# Hz S RI R 50\n1d6 0 0 0.3 0.4 0.3 0.4 0 0\n2E6 0 0 0.6 0.8 0.6 0.8 0 0\n", 50, 1e6, 6.0206},
    {"a.s2p", "# MHz S DB\n# GHz Z RI\n100 -30 0 -3 0 -3 0 -30 0\n", 50, 100e6, 3}, /* a further option line */
    {"a.s2p", "# MHz S DB\n100 -30 0 -3 0 -5 0 -30 0\n101 -30 0 -3 1 -3 0 -30 0\n102 -30 0 -3 0 -3 0 -30 0", 50, 100e6,
     4},
    /* An isolator: port 1 to port 2. */
    {"a.s2p", "# MHz S DB\n100 -30 0 -0.5 0 -25 0 -30 0\n101 -30 0 -0.6 0 -26 0 -30 0\n", 50, 100e6, 0.5},
    /* One way not measured. */
    {"a.s2p", "# MHz S DB\n1 -30 0 -3 1 -200 45 -9 0\n2 -30 0 -4 1 -200 45 -9 0\n3 -30 0 -5 1 -200 45 -9 0\n", 50, 1e6,
     3},
    {"a.s2p", "# MHz S RI\n1 0 0 0 0 .5 0 0 0\n2 0 0 0 0 .6 0 0 0\n3 0 0 0 0 .5 0 0 0\n", 50, 1e6, 6.0206},
    /* Noise data after the network data. */
    {"a.s2p", "# MHz S DB\n100 -30 0 -3 0 -3 0 -30 0\n200 -30 0 -3 1 -3 1 -30 0\n100 1 .5 20 .3\n200 1.1 .5 20 .3\n",
     50, 100e6, 3},
    {"a.ts", "# MHz S DB\n100 -30 0 -3 0 -3 0 -30 0\n", 50, 100e6, 3},
    {"standard input", "# MHz S DB\n100 -30 0 -3 0 -3 0 -30 0\n", 50, 100e6, 3},
    {"a.s2p", "# MHz S RI R 50 75\n100 0 0 .5 0 .5 0 0 0\n", 50, 100e6,
     6.19789}, /* version 1.1: 6.0206 + 0.17729 at port 2 */
    {"a.ts",
     "[version] 2.1\n# MHz S DB R 50\n[number of ports] 2\n[two-port data order] 12_21\n[number of frequencies] 2\n"
     "[Begin Information]\n[Manufacturer] nobody\n100 200\n[End Information]\n[Network Data]\n100 -30 0 -25 0\n"
     " -0.5 0 -30 0\n200 -30 0 -26 0 -0.6 0 -30 0\n[Noise Data]\n100 1 .5 20 15\n[End]\n\n! bye\n",
     50, 100e6, 0.5},
    {"a.s2p",
     "[Version] 2.0\n# MHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 1\n"
     "[Reference] 75\n75\n[Matrix Format] Lower\n[Network Data]\n100 0 0 .5 0 0 0\n[End]\n",
     75, 100e6, 6.0206},
    {"a.s2p",
     "[Version] 2.0\n# MHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 1\n"
     "[Matrix Format] Upper\n[Network Data]\n100 0 0 .5 0 0 0",
     50, 100e6, 6.0206},
    /* Both ways alike: the order forgotten does no harm. */
    {"a.s2p",
     "[Version] 2.0\n# MHz S RI\n[Number of Ports] 2\n[Number of Frequencies] 1\n[Network Data]\n100 0 0 .5 0 .5 0 0 "
     "0\n[End]",
     50, 100e6, 6.0206},
};

static void test_good_two_ports(void **state)
{
    for (size_t i = 0; i < sizeof good_rows / sizeof *good_rows; i++) {
        const struct good_row *row = &good_rows[i];
        spurity_recording *recording;
        spurity_error error = {0};
        double db;
        assert_ok(read_text(row->name, row->text, strlen(row->text), row->ohm, &recording, &error), &error);
        assert_string_equal(spurity_recording_facts_of(recording)->reader, "two-port");
        const spurity_curve *curve = spurity_recording_curve(recording);
        assert_near(spurity_curve_first_hz(curve), row->hz, row->hz * 1e-12);
        assert_true(spurity_curve_at(curve, row->hz, &db, NULL));
        assert_near(db, row->db, 0.00005);
        spurity_recording_free(recording);
    }
}

/* Bad files: what is told, and where. */
struct bad_row {
    const char *name, *text;
    spurity_status status;
    unsigned long line, column;
    const char *said; /* in found, expected or advice */
};

#define HEAD_2 "[Version] 2.0\n# MHz S RI\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n"
#define POINT " 0 0 .5 0 .5 0 0 0\n"

static const struct bad_row bad_rows[] = {
    {"a.s2p", "! only comments\n\n", SPURITY_INVALID, 0, 0, "no line but comments"},
    {"a.s2p", "100" POINT, SPURITY_INVALID, 1, 1, "option line"},
    {"a.s2p", "hello\n", SPURITY_INVALID, 1, 1, "option line"},
    {"a.s2p", "# MHz S DB R\n100" POINT, SPURITY_INVALID, 1, 12, "R 50"},
    {"a.s2p", "# MHz S DB R 0\n100" POINT, SPURITY_INVALID, 1, 14, "ohm"},
    {"a.s2p", "# MHz S DB R -50\n100" POINT, SPURITY_INVALID, 1, 14, "ohm"},
    {"a.s2p", "# MHz S DB R 50 50 50\n100" POINT, SPURITY_INVALID, 1, 20, "two ports"},
    {"a.s2p", "# MHz S XX R 50\n100" POINT, SPURITY_INVALID, 1, 9, "option line"},
    {"a.s2p", "# THz S\n100" POINT, SPURITY_INVALID, 1, 3, "option line"},
    {"a.s2p", "# MHz Z RI R 50 75\n100" POINT, SPURITY_INVALID, 1, 0, "S parameters"},
    {"a.s2p", "# MHz S RI\n", SPURITY_INVALID, 1, 0, "no data"},
    {"a.s2p", "# MHz S RI\n\n100 0 0 .5 0 .5 0 0\n", SPURITY_INVALID, 3, 1, "8 values"},
    {"a.s2p", "# MHz S RI\n100 0 0 .5 0 .5 0 0 0 0\n", SPURITY_INVALID, 2, 1, "more than 9 values"},
    {"a.s2p", "# MHz S RI\n100 0 0\n", SPURITY_INVALID, 2, 1, "3 values"},
    {"a.s2p", "# MHz S RI\n100 0 0 .5 0 x5 0 0 0\n", SPURITY_INVALID, 2, 14, "'x5'"},
    {"a.s2p", "# MHz S RI\n100 0 0 0,5 0 0,5 0 0 0\n", SPURITY_INVALID, 2, 9, "decimal point"},
    {"a.s2p", "# MHz S RI\n100 0 0 nan 0 .5 0 0 0\n", SPURITY_INVALID, 2, 9, "'nan'"},
    {"a.s2p", "# MHz S RI\n100 0 0 1e999 0 .5 0 0 0\n", SPURITY_INVALID, 2, 9, "1e999"},
    {"a.s2p", "# MHz S RI\n100 0 0 1e308 1e308 1e308 1e308 0 0\n", SPURITY_INVALID, 2, 0, "out of all proportion"},
    {"a.s2p", "# MHz S RI\n1e308" POINT, SPURITY_INVALID, 2, 1, "1e308"},
    {"a.s2p", "# MHz S RI\n-1" POINT, SPURITY_INVALID, 2, 1, "0 or more"},
    {"a.s2p", "# MHz S RI\n100" POINT "100" POINT, SPURITY_INVALID, 3, 1, "above the one before"},
    {"a.s2p", "# MHz S RI\r\n100 0 0 .5 0 .5 0 0 0\r\n  90 0 0 .5 0 .5 0 0 0\r\n", SPURITY_INVALID, 3, 3, "'90'"},
    {"a.s2p", "# MHz S RI\r100 0 0 .5 0 .5 0 0 0\r90 0 0 .5 0 .5 0 0 0\r", SPURITY_INVALID, 3, 1, "'90'"},
    {"a.s2p", "# MHz S RI\n100" POINT "110 1 .5 20 .3\n", SPURITY_INVALID, 3, 1, "5 values"},
    {"a.s2p", "# MHz S RI\n100" POINT "90 1 .5 20 .3\n100" POINT, SPURITY_INVALID, 4, 0, "noise"},
    {"a.s2p", "# MHz S RI\n[Number of Ports] 2\n100" POINT, SPURITY_INVALID, 2, 1, "[Version]"},
    {"a.s2p", "# MHz S RI\n1 0 0 0 0 0 0 0 0\n2 0 0 0 0 0 0 0 0\n", SPURITY_INVALID, 0, 0,
     "no transmission in this file"},
    {"a.s2p", "# MHz S DB\n1 0 0 -160 1 -170 0 0 0\n2 0 0 -165 0 -170 9 0 0\n", SPURITY_INVALID, 0, 0,
     "no transmission"},
    {"a.s2p", "# MHz S RI\n1" POINT "2" POINT "3" POINT, SPURITY_INVALID, 0, 0, "at every point"},
    {"a.s2p", "# MHz S RI\n1" POINT "2 0 0 0 0 0 0 0 0\n3 0 0 .4 0 .4 0 0 0\n", SPURITY_INVALID, 3, 0,
     "transmission of 0"},
    {"a.s1p", "# MHz S RI\n1 0 0\n", SPURITY_UNSUPPORTED, 0, 0, "one-port"},
    {"a.s4p", "# MHz S RI\n1 0 0\n", SPURITY_UNSUPPORTED, 0, 0, "4 ports"},
    {"a.s99p", "# MHz S RI\n1 0 0\n", SPURITY_UNSUPPORTED, 0, 0, "99 ports"},
    {"a.ts", "# MHz S RI\n1 0 0\n", SPURITY_UNSUPPORTED, 2, 0, "one-port"},
    {"a.s2p", "[Version\n", SPURITY_INVALID, 1, 1, "']'"},
    {"a.s2p", "[Version]\n", SPURITY_INVALID, 1, 1, "value"},
    {"a.s2p", "[Version] 3.0\n", SPURITY_INVALID, 1, 11, "2.1"},
    {"a.s2p", "[Version] 2.0 x\n", SPURITY_INVALID, 1, 15, "one value"},
    {"a.s2p", "[Number of Ports] 2\n", SPURITY_INVALID, 1, 1, "[Version]"},
    {"a.s2p", "[Version] 2.0\n", SPURITY_INVALID, 1, 0, "cut off"},
    {"a.s2p", "[Version] 2.0\n[Number of Ports] 2\n# MHz\n", SPURITY_INVALID, 3, 0, "before them"},
    {"a.s2p", "[Version] 2.0\n[Network Data]\n", SPURITY_INVALID, 2, 1, "option line"},
    {"a.s2p", "[Version] 2.0\n# MHz\n[Network Data]\n", SPURITY_INVALID, 3, 1, "[Number of Ports]"},
    {"a.s2p", "[Version] 2.0\n# MHz\n[Number of Ports] 1\n", SPURITY_UNSUPPORTED, 3, 0, "one-port"},
    {"a.s2p", "[Version] 2.0\n# MHz\n[Number of Ports] 99\n", SPURITY_UNSUPPORTED, 3, 0, "99 ports"},
    {"a.s2p", "[Version] 2.0\n# MHz\n[Number of Ports] 1e300\n", SPURITY_INVALID, 3, 19, "whole number"},
    {"a.s2p", "[Version] 2.0\n# MHz\n1 2 3\n", SPURITY_INVALID, 3, 1, "[Network Data]"},
    {"a.s2p", HEAD_2 "[Network Data]\n", SPURITY_INVALID, 5, 1, "[Number of Frequencies]"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 99999999999\n", SPURITY_INVALID, 5, 25, "10 million"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 0\n", SPURITY_INVALID, 5, 25, "whole number"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 1.5\n", SPURITY_INVALID, 5, 25, "whole number"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 3\n[Network Data]\n1" POINT, SPURITY_INVALID, 7, 0, "1 frequencies of 3"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 1\n[Network Data]\n1" POINT "2" POINT, SPURITY_INVALID, 8, 1, "no more"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 2\n[Network Data]\n1" POINT "2 0 0 .5\n[End]\n", SPURITY_INVALID, 8, 1,
     "whole point"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 1\n[Network Data]\n1" POINT "[End]\nmore\n", SPURITY_INVALID, 9, 0,
     "after [End]"},
    {"a.s2p", HEAD_2 "[Number of Frequencies] 1\n[Network Data]\n1" POINT "[Reference] 50 50\n", SPURITY_INVALID, 8, 1,
     "before [Network Data]"},
    {"a.s2p", HEAD_2 "[Reference] 50\n", SPURITY_INVALID, 5, 1, "two impedances"},
    {"a.s2p", HEAD_2 "[Reference] 50 0\n", SPURITY_INVALID, 5, 16, "ohm"},
    {"a.s2p", HEAD_2 "[Reference] 50 50 50\n", SPURITY_INVALID, 5, 19, "two ports"},
    {"a.s2p", HEAD_2 "[Matrix Format] Round\n", SPURITY_INVALID, 5, 17, "Lower"},
    {"a.s2p", HEAD_2 "[Two-Port Data Order] 11_22\n", SPURITY_INVALID, 5, 23, "21_12"},
    {"a.s2p", HEAD_2 "[Mixed-Mode Order] D2,3\n", SPURITY_UNSUPPORTED, 5, 1, "mixed-mode"},
    {"a.s2p", HEAD_2 "[Begin Information]\nno end\n", SPURITY_INVALID, 5, 1, "[End Information]"},
    {"a.s2p", HEAD_2 "[Colour] red\n", SPURITY_INVALID, 5, 1, "keyword"},
    {"a.s2p", HEAD_2 "[Noise Data]\n", SPURITY_INVALID, 5, 1, "[Network Data]"},
    {"a.s2p",
     "[Version] 2.0\n# MHz S DB\n[Number of Ports] 2\n[Number of Frequencies] 1\n[Network Data]\n1 0 0 -3 0 -30 0 0 "
     "0\n",
     SPURITY_INVALID, 0, 0, "[Two-Port Data Order]"},
};

static void check_bad(const struct bad_row *row, spurity_status status, const spurity_error *error)
{
    char text[900];
    spurity_error_describe(error, text, sizeof text);
    if (status != row->status || error->line != row->line || error->column != row->column || !strstr(text, row->said))
        fail_msg("'%s' in %s: status %d, %s; wanted status %d, line %lu, column %lu, %s", row->text, row->name,
                 (int)status, text, (int)row->status, row->line, row->column, row->said);
    assert_string_equal(error->file, row->name);
}

static void test_bad_two_ports(void **state)
{
    for (size_t i = 0; i < sizeof bad_rows / sizeof *bad_rows; i++) {
        const struct bad_row *row = &bad_rows[i];
        spurity_recording *recording;
        spurity_error error = {0};
        /* An exact copy, so that the sanitizer sees a byte read beyond the end. */
        const size_t size = strlen(row->text);
        char *copy = malloc(size);
        assert_non_null(copy);
        memcpy(copy, row->text, size);
        spurity_status status = read_text(row->name, copy, size, 50, &recording, &error);
        if (recording)
            fail_msg("'%s' was read", row->text);
        check_bad(row, status, &error);
        free(copy);
    }
}

static void test_binary_two_port(void **state)
{
    static const char text[] = "# MHz S RI\n1 0 0 .5\0 0 .5 0 0 0\n";
    spurity_recording *recording;
    spurity_error error = {0};
    assert_int_equal(read_text("a.s2p", text, sizeof text - 1, 50, &recording, &error), SPURITY_INVALID);
    assert_true(error.has_byte);
    assert_int_equal(error.byte, 19);
}

/* A line of a megabyte, and one of a million words. */
static void test_long_lines(void **state)
{
    enum { SIZE = 1 << 20 };
    char *text = malloc(SIZE);
    assert_non_null(text);
    for (int words = 0; words < 2; words++) {
        spurity_recording *recording;
        spurity_error error = {0};
        const size_t head = (size_t)snprintf(text, SIZE, "# MHz S RI\n");
        for (size_t i = head; i < SIZE; i++)
            text[i] = words && i % 2 ? ' ' : '1';
        assert_int_equal(read_text("a.s2p", text, SIZE, 50, &recording, &error), SPURITY_INVALID);
        assert_int_equal(error.line, 2);
    }
    free(text);
}

static void test_not_a_sweep(void **state)
{
    static const char text[] = "# MHz S RI\n1" POINT "2" POINT;
    spurity_recording *recording;
    spurity_error error = {0};
    assert_int_equal(spurity_input_read_memory("a.s2p", text, sizeof text - 1, NULL, SPURITY_READ_TRACE, 0, NULL, NULL,
                                               &recording, &error),
                     SPURITY_INVALID);
    assert_string_equal(error.advice, "this is a two-port, give it to --loss");
}

static const spurity_finding *find(const spurity_recording *recording, const char *what)
{
    for (size_t i = 0; i < spurity_recording_finding_count(recording); i++)
        if (!strcmp(spurity_recording_finding(recording, i)->what, what))
            return spurity_recording_finding(recording, i);
    return NULL;
}

static void test_findings(void **state)
{
    static const char text[] =
        "! head\n# MHz S DB R 75\n1 0 0 0.05 0 0.05 0 0 0\n2 0 0 0.3 0 0.3 0 0 0\n3 0 0 -1 0 -1 0 0 0\n";
    spurity_recording *recording;
    spurity_error error = {0};
    assert_ok(read_text("a.s2p", text, sizeof text - 1, 75, &recording, &error), &error);
    assert_non_null(find(recording, "loss"));
    assert_int_equal(find(recording, "frequency unit")->line, 2);
    assert_string_equal(find(recording, "reference impedance")->understood, "75.0 ohm");
    assert_string_equal(find(recording, "reference impedance")->option, "--impedance");
    assert_string_equal(find(recording, "warning")->understood, "gain at 1 point, up to 0.3 dB at 2 MHz");
    assert_near(spurity_recording_facts_of(recording)->reference_impedance_ohm, 75, 0);
    spurity_recording_free(recording);
}

/* Uncertainty of a point: half the two ways' difference at least, twice its rms around. */
static void test_two_way_uncertainty(void **state)
{
    static const char text[] = "# MHz S DB\n1 0 0 -3 0 -3.4 0 0 0\n2 0 0 -4 0 -4 0 0 0\n3 0 0 -5 0 -5.2 0 0 0\n";
    spurity_recording *recording;
    spurity_error error = {0};
    double db, u;
    assert_ok(read_text("a.s2p", text, sizeof text - 1, 50, &recording, &error), &error);
    assert_true(spurity_curve_at(spurity_recording_curve(recording), 2e6, &db, &u));
    assert_near(db, 4, 1e-12);
    assert_near(u, 2 * sqrt((0.04 + 0 + 0.01) / 3), 1e-9);
    spurity_recording_free(recording);
}

static bool refuse_to_go_on(void *user, const char *what, double fraction)
{
    return false;
}

static void test_two_port_cancelled(void **state)
{
    enum { LINES = 9000 };
    const spurity_watch watch = {refuse_to_go_on, NULL};
    char *text = malloc(LINES * 40 + 40);
    assert_non_null(text);
    size_t used = (size_t)sprintf(text, "# MHz S RI\n");
    for (int i = 1; i <= LINES; i++)
        used += (size_t)sprintf(text + used, "%d 0 0 .%d 0 .5 0 0 0\n", i, i);
    spurity_recording *recording;
    spurity_error error = {0};
    assert_int_equal(
        spurity_input_read_memory("a.s2p", text, used, NULL, SPURITY_READ_LOSS, 0, NULL, &watch, &recording, &error),
        SPURITY_CANCELLED);
    assert_null(recording);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pad_text),
        cmocka_unit_test(test_bad_pad_text),
        cmocka_unit_test(test_kinds),
        cmocka_unit_test(test_too_many_elements),
        cmocka_unit_test(test_descriptions),
        cmocka_unit_test(test_loss),
        cmocka_unit_test(test_pad_uncertainty),
        cmocka_unit_test(test_curve_uncertainty),
        cmocka_unit_test(test_copy),
        cmocka_unit_test(test_apply),
        cmocka_unit_test(test_absolute),
        cmocka_unit_test(test_blind_stretches),
        cmocka_unit_test(test_blind_segments_join),
        cmocka_unit_test(test_nothing_reached),
        cmocka_unit_test(test_response_warning),
        cmocka_unit_test(test_pad_moved),
        cmocka_unit_test(test_good_two_ports),
        cmocka_unit_test(test_bad_two_ports),
        cmocka_unit_test(test_binary_two_port),
        cmocka_unit_test(test_long_lines),
        cmocka_unit_test(test_not_a_sweep),
        cmocka_unit_test(test_findings),
        cmocka_unit_test(test_two_way_uncertainty),
        cmocka_unit_test(test_two_port_cancelled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
