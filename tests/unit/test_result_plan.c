/* SPDX-License-Identifier: GPL-2.0-or-later */
/* A plan's JSON against its schema, its text, its session file against an outside reader of YAML (libyaml). */
#include "../check.h"

#include <sys/wait.h>
#include <unistd.h>
#include <yaml.h>

#include "../../lib/output/internal.h"
#include "../../lib/output/output.h"
#include "../../lib/result/internal.h"

/* ---- plans ---------------------------------------------------------------------------------------------------- */

typedef struct asked {
    const char *name, *rules[2];
    double carrier_hz, power_w;
    const char *pads[3];
    bool direct;
    double max_input_dbm, noise_dbm, rate_hz, second_dbm, third_dbm;
} asked;

static const asked plans[] = {
    {"bare", {"us-amateur"}, 146.94e6, 5, {0}, false, NAN, NAN, NAN, NAN, NAN},
    {"good bench",
     {"us-amateur"},
     146.94e6,
     5,
     {"30dB,0.3dB,6G,50W", "10dB,0.3dB,6G,2W"},
     false,
     20,
     -110,
     NAN,
     45,
     20},
    {"direct", {"us-amateur"}, 146.94e6, 5, {0}, true, 20, -110, NAN, NAN, NAN},
    {"weak pad", {"us-amateur"}, 146.94e6, 50, {"30dB,0.3dB,6G,2W"}, false, 20, -110, NAN, NAN, NAN},
    {"high floor", {"us-amateur"}, 146.94e6, 5, {"40dB,0.3dB,6G,50W"}, false, 20, -40, NAN, NAN, NAN},
    {"receiver",
     {"us-amateur"},
     146.94e6,
     5,
     {"40dB,0.3dB,6G,50W", "20dB,0.3dB,6G,2W"},
     false,
     0,
     -100,
     2.4e6,
     NAN,
     NAN},
    {"two rules", {"us-amateur", "itu-a"}, 146.94e6, 5, {"40dB,0.3dB,6G,50W"}, false, 20, -110, NAN, NAN, NAN},
    {"no figure", {"us-amateur"}, 446e6, 5, {"40dB,0.3dB,6G,50W"}, false, 20, -110, NAN, NAN, NAN},
};
enum { PLANS = sizeof plans / sizeof *plans };

static const char hostile[] = "a\"b\\c: {x}\n- !!tag &a *a # \x1b[31m \xFF \xE2\x80\xAE'";

/* A plan with all it borrows. */
typedef struct bench {
    spurity_test_point point;
    spurity_rules *rules[2];
    size_t rules_count;
    spurity_chain *chain;
    spurity_plan *plan;
    spurity_notes *notes;
    spurity_plan_report report;
} bench;

static const spurity_setting settings[] = {{"carrier", "146.94 MHz", "option"}, {"decision", "guarded", "default"}};
static const spurity_setting said[] = {{"carrier", "146.94M", "option"}, {"power", "5W", "option"},
                                       {"rules", hostile, "option"},     {"station", hostile, "option"},
                                       {"pad", "30dB,50W", "option"},    {"loss", hostile, "option"}};
static const char *const check_words[] = {"spurity", "check", "carrier.csv", "--rules", "us-amateur"};

static void build(const asked *one, bench *at)
{
    spurity_error error = {0};
    spurity_plan_question question;
    memset(at, 0, sizeof *at);
    spurity_test_point_init(&at->point);
    at->point.carrier_hz = one->carrier_hz;
    at->point.power_low_w = at->point.power_high_w = one->power_w;
    for (; at->rules_count < 2 && one->rules[at->rules_count]; at->rules_count++)
        assert_ok(spurity_rules_load(one->rules[at->rules_count], &at->rules[at->rules_count], &error), &error);
    assert_ok(spurity_chain_create(&at->chain, &error), &error);
    if (one->direct)
        assert_ok(spurity_chain_set_kind(at->chain, SPURITY_CHAIN_DIRECT, &error), &error);
    for (size_t i = 0; i < 3 && one->pads[i]; i++)
        assert_ok(spurity_chain_add_pad_text(at->chain, one->pads[i], &error), &error);
    spurity_plan_question_init(&question);
    question.point = &at->point;
    question.rules = (const spurity_rules *const *)at->rules;
    question.rules_count = at->rules_count;
    question.chain = one->direct || one->pads[0] ? at->chain : NULL;
    question.max_input_dbm = one->max_input_dbm;
    question.noise_dbm = one->noise_dbm;
    question.noise_rbw_hz = isfinite(one->noise_dbm) ? 10e3 : NAN;
    question.rate_hz = one->rate_hz;
    question.second_harmonic_intercept_dbm = one->second_dbm;
    question.third_order_intercept_dbm = one->third_dbm;
    assert_ok(spurity_plan_create(&question, NULL, &at->plan, &error), &error);
    at->notes = spurity_notes_create();
    assert_non_null(at->notes);
    assert_ok(spurity_notes_add(at->notes, SPURITY_NOTE_UNIT_ASSUMED, -1, "%s", hostile), &error);
    at->report = (spurity_plan_report){.plan = at->plan,
                                       .rules = (const spurity_rules *const *)at->rules,
                                       .rules_count = at->rules_count,
                                       .settings = settings,
                                       .setting_count = 2,
                                       .said = said,
                                       .said_count = sizeof said / sizeof *said,
                                       .notes = at->notes,
                                       .check = check_words,
                                       .check_count = sizeof check_words / sizeof *check_words};
}

static void release(bench *at)
{
    spurity_plan_free(at->plan);
    spurity_chain_free(at->chain);
    for (size_t i = 0; i < at->rules_count; i++)
        spurity_rules_free(at->rules[i]);
    spurity_notes_free(at->notes);
}

static char *json_of(const bench *at)
{
    spurity_error error = {0};
    char *text = NULL;
    size_t size = 0;
    assert_ok(spurity_result_plan_json(&at->report, &text, &size, &error), &error);
    assert_int_equal(strlen(text), size);
    assert_int_equal(text[size - 1], '\n');
    return text;
}

/* ---- JSON -----------------------------------------------------------------------------------------------------------
 */

static void every_plan_is_as_its_schema_says(void **state)
{
    for (size_t i = 0; i < PLANS; i++) {
        bench at;
        spurity_error error = {0};
        build(&plans[i], &at);
        char *text = json_of(&at);
        json_t *document = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
        assert_non_null(document);
        assert_ok(spurity_schema_check_against(spurity_result_plan_schema(), plans[i].name, document, &error), &error);
        json_decref(document);
        free(text);
        release(&at);
    }
}

static void the_schema_uses_only_what_is_checked(void **state)
{
    json_t *schema = json_loads(spurity_result_plan_schema(), JSON_REJECT_DUPLICATES, NULL), *document = json_object();
    spurity_error error = {0};
    assert_non_null(schema);
    assert_null(spurity_schema_unknown_keyword(schema));
    assert_int_equal(spurity_schema_check_against(spurity_result_plan_schema(), "empty", document, &error),
                     SPURITY_INVALID);
    json_decref(schema);
    json_decref(document);
}

/* Figures in the document are the door's, to 0.001 dB and six digits of a power; the list of each kind is whole. */
static void the_document_holds_what_the_plan_says(void **state)
{
    bench at;
    build(&plans[1], &at);
    char *text = json_of(&at);
    json_t *root = json_loads(text, 0, NULL);
    spurity_plan_figures figures;
    spurity_plan_figures_of(at.plan, &figures);
    assert_string_equal(json_string_value(json_object_get(root, "format")), "spurity-plan");
    assert_string_equal(json_string_value(json_object_get(root, "verdict")),
                        spurity_plan_outcome_name(spurity_plan_outcome_of(at.plan)));
    assert_near(json_number_value(json_object_get(root, "carrier_hz")), 146.94e6, 0);
    assert_near(json_number_value(json_object_get(root, "power_w")), 5, 0);
    assert_near(json_number_value(json_object_get(root, "pad_db")), 40, 0);
    /* 5 W is 36.99 dBm; 40 dB less is -3.01 dBm (units: measurement tables, exact arithmetic) */
    assert_near(json_number_value(json_object_get(root, "level_at_instrument_dbm")), -3.0103, 0.0006);
    assert_near(json_number_value(json_object_get(root, "max_input_dbm")), 20, 0);
    static const struct {
        const char *key;
        size_t (*count)(const spurity_plan *);
    } lists[] = {{"attenuators", spurity_plan_attenuator_count},
                 {"sweeps", spurity_plan_sweep_count},
                 {"captures", spurity_plan_capture_count},
                 {"visibility", spurity_plan_visibility_count},
                 {"cautions", spurity_plan_caution_count},
                 {"own_products", spurity_plan_own_product_count},
                 {"needs", spurity_plan_need_count}};
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++)
        assert_int_equal(json_array_size(json_object_get(root, lists[i].key)), lists[i].count(at.plan));
    assert_true(spurity_plan_sweep_count(at.plan) > 0 && spurity_plan_visibility_count(at.plan) > 0);
    const json_t *first = json_array_get(json_object_get(root, "attenuators"), 0);
    assert_near(json_number_value(json_object_get(first, "db")), 30, 0);
    assert_near(json_number_value(json_object_get(first, "rating_w")), 50, 0);
    assert_near(json_number_value(json_object_get(first, "arriving_w")), 5, 0);
    json_decref(root);
    free(text);
    release(&at);
}

/* shown: true, false, or null where it cannot be told; no clause, no limit. */
static void what_is_not_known_is_null(void **state)
{
    bench at;
    build(&plans[0], &at);
    char *text = json_of(&at);
    json_t *root = json_loads(text, 0, NULL);
    assert_true(json_is_null(json_object_get(root, "attenuation_db")));
    assert_true(json_is_null(json_object_get(root, "pad_db")));
    assert_true(json_is_null(json_object_get(root, "max_input_dbm")));
    size_t index;
    json_t *one;
    json_array_foreach(json_object_get(root, "visibility"), index, one)
    {
        assert_true(json_is_null(json_object_get(one, "floor_dbm")));
        assert_true(json_is_null(json_object_get(one, "shown")));
    }
    assert_null(strstr(text, "NaN"));
    assert_null(strstr(text, "nan"));
    json_decref(root);
    free(text);
    release(&at);
}

/* Against an outside validator: Python's jsonschema (draft 2020-12). */
static int outside(const char *document)
{
    char script[] = P_tmpdir "/spurity-plan-schema-XXXXXX";
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
    fprintf(pipe, "[%s,%s]", spurity_result_plan_schema(), document);
    int status = pclose(pipe);
    unlink(script);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static void an_outside_validator_agrees(void **state)
{
    bench at;
    build(&plans[1], &at);
    char *text = json_of(&at);
    int answer = outside(text);
    free(text);
    release(&at);
    if (answer == 77 || answer == 127) {
        print_message("SKIPPED: python3 with jsonschema is missing\n");
        skip();
    }
    assert_int_equal(answer, 0);
    assert_int_equal(outside("{\"format\":\"spurity-plan\"}"), 1);
}

/* ---- text -----------------------------------------------------------------------------------------------------------
 */

static char *page_of(const bench *at, int columns, bool colour)
{
    spurity_error error = {0};
    spurity_bytes page = {0};
    spurity_text_options options = {.colour = colour, .columns = columns};
    assert_ok(spurity_output_plan(&at->report, &options, &page, &error), &error);
    assert_int_equal(strlen(page.data), page.size);
    return page.data;
}

/* No control character but the line's end; a line is longer than the page only where a single word is. */
static void check_lines(const char *page, size_t columns, const char *name)
{
    for (const char *line = page; *line;) {
        char one[4096];
        size_t length = strcspn(line, "\n");
        snprintf(one, sizeof one, "%.*s", (int)length, line);
        size_t wide = spurity_characters(one);
        const char *last = strrchr(one, ' ');
        if (wide > columns && last && spurity_characters(last) + 30 < columns) {
            print_error("%s: %zu columns: %s\n", name, wide, one);
            fail();
        }
        for (size_t i = 0; i < length; i++)
            assert_true((unsigned char)line[i] >= 0x20 && line[i] != 0x7F);
        line += length + (line[length] == '\n');
    }
}

static void pages_keep_to_their_width(void **state)
{
    for (size_t i = 0; i < PLANS; i++) {
        bench at;
        build(&plans[i], &at);
        char *page = page_of(&at, 0, false), *narrow = page_of(&at, 72, false);
        check_lines(page, 100, plans[i].name);
        check_lines(narrow, 100, plans[i].name); /* the ladder and the tables' last columns have a least width */
        assert_null(strstr(page, "\033"));
        free(page);
        free(narrow);
        release(&at);
    }
}

static const char *after(const char *text, const char *words)
{
    const char *at = strstr(text, words);
    if (!at)
        print_error("missing, or out of order: '%s' in\n%s\n", words, text);
    assert_non_null(at);
    return at + strlen(words);
}

/* First the answer, then harm, last the cautions; whoever stops reading early has read the worst. */
static void a_page_tells_harm_first_and_cautions_last(void **state)
{
    static const char *const starts[] = {[SPURITY_PLAN_READY] = "READY: ",
                                         [SPURITY_PLAN_NOT_ENOUGH] = "NOT ENOUGH: ",
                                         [SPURITY_PLAN_HARMFUL] = "HARMFUL: "};
    for (size_t i = 0; i < PLANS; i++) {
        bench at;
        build(&plans[i], &at);
        char *page = page_of(&at, 0, false);
        const char *start = starts[spurity_plan_outcome_of(at.plan)];
        assert_int_equal(strncmp(page, start, strlen(start)), 0);
        const char *rest = after(page, "what would break");
        rest = after(rest, "from the set to the instrument");
        rest = after(rest, "before keying, always");
        assert_null(strstr(rest, "\n\n"));
        for (size_t k = 0; k < spurity_plan_caution_count(at.plan); k++)
            rest = after(rest, "\n  - ");
        free(page);
        release(&at);
    }
}

static void harm_is_plain(void **state)
{
    static const struct {
        size_t plan;
        const char *words;
    } cases[] = {{2, "! 37.0 dBm reach the instrument, which stands 20.0 dBm: 17 dB too much"},
                 {3, "! the 30 dB pad (1st from the set) gets 50 W and stands 2 W"},
                 {1, "! if the 30 dB pad (1st from the set) is left out or fails, 27.0 dBm (500 mW) reach"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        bench at;
        build(&plans[cases[i].plan], &at);
        char *page = page_of(&at, 200, false);
        after(page, cases[i].words);
        free(page);
        release(&at);
    }
}

static void colour_repeats_words_only(void **state)
{
    bench at;
    build(&plans[1], &at);
    char *plain = page_of(&at, 0, false), *coloured = page_of(&at, 0, true);
    assert_non_null(strstr(coloured, "\033[31m"));
    char *to = coloured;
    for (const char *from = coloured; *from;) {
        if (*from == '\033')
            from = strchr(from, 'm') + 1;
        else
            *to++ = *from++;
    }
    *to = '\0';
    assert_string_equal(plain, coloured);
    free(plain);
    free(coloured);
    release(&at);
}

/* ---- names ----------------------------------------------------------------------------------------------------------
 */

enum { NAME = 64 };

static int by_name(const void *a, const void *b)
{
    return strcmp(a, b);
}

static void no_two_files_have_one_name(void **state)
{
    for (size_t i = 0; i < PLANS; i++) {
        bench at;
        build(&plans[i], &at);
        bool capture = isfinite(plans[i].rate_hz);
        size_t count = capture ? spurity_plan_capture_count(at.plan) : spurity_plan_sweep_count(at.plan);
        char(*names)[NAME] = calloc(count, NAME), none[NAME] = "x";
        assert_true(count > 0 && names);
        for (size_t k = 0; k < count; k++) {
            spurity_output_plan_file(at.plan, capture, k, names[k], NAME);
            assert_true(strlen(names[k]) > 4);
            assert_int_equal(strspn(names[k], "abcdefghijklmnopqrstuvwxyz0123456789-."), strlen(names[k]));
        }
        qsort(names, count, NAME, by_name);
        for (size_t k = 1; k < count; k++)
            assert_string_not_equal(names[k - 1], names[k]);
        spurity_output_plan_file(at.plan, capture, count, none, sizeof none);
        assert_string_equal(none, "");
        free(names);
        release(&at);
    }
}

/* ---- session
 * --------------------------------------------------------------------------------------------------------- */

/* The document by libyaml; fails where it is no YAML. */
static void load(const spurity_bytes *session, yaml_document_t *document)
{
    yaml_parser_t parser;
    assert_true(yaml_parser_initialize(&parser));
    yaml_parser_set_input_string(&parser, (const unsigned char *)session->data, session->size);
    if (!yaml_parser_load(&parser, document)) {
        print_error("line %zu: %s\n%s\n", parser.problem_mark.line + 1, parser.problem, session->data);
        fail();
    }
    yaml_parser_delete(&parser);
}

static yaml_node_t *in(yaml_document_t *document, yaml_node_t *map, const char *key)
{
    assert_non_null(map);
    assert_int_equal(map->type, YAML_MAPPING_NODE);
    for (yaml_node_pair_t *pair = map->data.mapping.pairs.start; pair < map->data.mapping.pairs.top; pair++)
        if (!strcmp((const char *)yaml_document_get_node(document, pair->key)->data.scalar.value, key))
            return yaml_document_get_node(document, pair->value);
    return NULL;
}

static yaml_node_t *item(yaml_document_t *document, yaml_node_t *list, size_t index)
{
    assert_non_null(list);
    assert_int_equal(list->type, YAML_SEQUENCE_NODE);
    yaml_node_item_t *at = list->data.sequence.items.start + index;
    return at < list->data.sequence.items.top ? yaml_document_get_node(document, *at) : NULL;
}

static const char *scalar(yaml_node_t *node)
{
    assert_non_null(node);
    assert_int_equal(node->type, YAML_SCALAR_NODE);
    return (const char *)node->data.scalar.value;
}

static void a_session_is_yaml_with_every_file(void **state)
{
    for (size_t i = 0; i < PLANS; i++) {
        bench at;
        spurity_error error = {0};
        spurity_bytes session = {0};
        yaml_document_t document;
        build(&plans[i], &at);
        assert_ok(spurity_output_session(&at.report, &session, &error), &error);
        load(&session, &document);
        yaml_node_t *root = yaml_document_get_root_node(&document);
        assert_string_equal(scalar(in(&document, root, "format")), "spurity-session");
        assert_string_equal(scalar(in(&document, root, "version")), "1");
        yaml_node_t *point = item(&document, in(&document, root, "points"), 0);
        yaml_node_t *files = in(&document, point, "files");
        bool capture = isfinite(plans[i].rate_hz);
        size_t count = capture ? spurity_plan_capture_count(at.plan) : spurity_plan_sweep_count(at.plan);
        for (size_t k = 0; k < count; k++) {
            char name[64];
            yaml_node_t *file = item(&document, files, k);
            spurity_output_plan_file(at.plan, capture, k, name, sizeof name);
            assert_string_equal(scalar(in(&document, file, "file")), name);
            assert_non_null(in(&document, file, capture ? "center" : "start"));
            assert_string_equal(scalar(in(&document, file, "done")), "false");
        }
        assert_null(item(&document, files, count));
        yaml_document_delete(&document);
        spurity_bytes_release(&session);
        release(&at);
    }
}

/* Whatever the user typed comes back as a text, cleaned of controls, and breaks out of nothing. */
static void hostile_words_stay_text_in_a_session(void **state)
{
    bench at;
    spurity_error error = {0};
    spurity_bytes session = {0};
    yaml_document_t document;
    char clean[200];
    build(&plans[1], &at);
    assert_ok(spurity_output_session(&at.report, &session, &error), &error);
    load(&session, &document);
    spurity_plain(clean, sizeof clean, hostile, 100);
    yaml_node_t *root = yaml_document_get_root_node(&document);
    yaml_node_t *point = item(&document, in(&document, root, "points"), 0);
    assert_string_equal(scalar(item(&document, in(&document, point, "rules"), 0)), clean);
    assert_string_equal(scalar(in(&document, in(&document, point, "options"), "station")), clean);
    yaml_node_t *chain = in(&document, point, "chain");
    assert_string_equal(scalar(in(&document, item(&document, chain, 0), "pad")), "30dB,50W");
    assert_string_equal(scalar(in(&document, item(&document, chain, 1), "loss")), clean);
    yaml_document_delete(&document);
    spurity_bytes_release(&session);
    release(&at);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_plan_is_as_its_schema_says),
                                       cmocka_unit_test(the_schema_uses_only_what_is_checked),
                                       cmocka_unit_test(the_document_holds_what_the_plan_says),
                                       cmocka_unit_test(what_is_not_known_is_null),
                                       cmocka_unit_test(an_outside_validator_agrees),
                                       cmocka_unit_test(pages_keep_to_their_width),
                                       cmocka_unit_test(a_page_tells_harm_first_and_cautions_last),
                                       cmocka_unit_test(harm_is_plain),
                                       cmocka_unit_test(colour_repeats_words_only),
                                       cmocka_unit_test(no_two_files_have_one_name),
                                       cmocka_unit_test(a_session_is_yaml_with_every_file),
                                       cmocka_unit_test(hostile_words_stay_text_in_a_session)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
