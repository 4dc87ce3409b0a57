/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The report: that every figure on it can be added up again from what is printed, that nothing of a file's becomes
 * markup, that it is whole in itself and can be read.  All results are invented. */
#include "../sweep.h"

#include <ctype.h>

#include "../../lib/output/report.h"
#include "stand_in.h"

extern const unsigned char spurity_report_style[];
extern const unsigned long spurity_report_style_size;

/* ---- a page, read back ----------------------------------------------------------------------------------------------
 * Every tag must be one of ours, well nested, with attributes of ours; cells are kept with their label and their words,
 * each element's text on its own after a '|'. */

enum { CELLS_MOST = 6000, CELL_SIZE = 600, DEPTH_MOST = 40 };

typedef struct cell {
    char table[32], label[32], text[CELL_SIZE];
    size_t row;
} cell;

typedef struct page {
    char *html;
    cell *cells;
    size_t cell_count, rows, tables;
    char words[200000]; /* of the whole page */
} page;

static bool in_list(const char *const *list, size_t count, const char *word)
{
    for (size_t i = 0; i < count; i++)
        if (!strcmp(list[i], word))
            return true;
    return false;
}

static const char *const elements[] = {
    "html", "head",  "meta",   "title",   "style", "body",   "main", "header", "footer",  "section",    "p",
    "h1",   "h2",    "h3",     "ul",      "li",    "dl",     "dt",   "dd",     "div",     "span",       "b",
    "bdi",  "small", "figure", "table",   "thead", "tbody",  "tr",   "th",     "td",      "figcaption", "svg",
    "g",    "defs",  "path",   "polygon", "rect",  "circle", "use",  "text",   "polyline"};
static const char *const attributes[] = {"lang",
                                         "charset",
                                         "http-equiv",
                                         "content",
                                         "name",
                                         "class",
                                         "id",
                                         "scope",
                                         "data-label",
                                         "role",
                                         "tabindex",
                                         "aria-label",
                                         "aria-labelledby",
                                         "viewBox",
                                         "x",
                                         "y",
                                         "width",
                                         "height",
                                         "r",
                                         "cx",
                                         "cy",
                                         "d",
                                         "points",
                                         "transform",
                                         "fill",
                                         "stroke",
                                         "color",
                                         "stroke-width",
                                         "stroke-linecap",
                                         "stroke-linejoin",
                                         "stroke-dasharray",
                                         "font-family",
                                         "font-size",
                                         "font-weight",
                                         "text-anchor",
                                         "shape-rendering",
                                         "href"};

static const char *take_attribute(const char *at, char *name, size_t name_size, char *value, size_t value_size)
{
    size_t length = strcspn(at, "= >/");
    assert_true(length > 0 && length < name_size);
    snprintf(name, name_size, "%.*s", (int)length, at);
    at += length;
    assert_true(at[0] == '=' && at[1] == '"');
    length = strcspn(at + 2, "\"");
    snprintf(value, value_size, "%.*s", (int)(length < value_size ? length : value_size - 1), at + 2);
    assert_false(strchr(value, '<'));
    return at + 2 + length + 1;
}

/* The text of an element, its references read back. */
static void add_words(char *to, size_t size, const char *from, size_t length)
{
    static const char *const references[][2] = {
        {"&amp;", "&"}, {"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}, {"&#39;", "'"}};
    size_t used = strlen(to);
    for (size_t i = 0; i < length && used + 1 < size;) {
        size_t step = 1;
        char letter = from[i];
        for (size_t k = 0; from[i] == '&' && k < 5; k++)
            if (!strncmp(from + i, references[k][0], strlen(references[k][0]))) {
                step = strlen(references[k][0]);
                letter = references[k][1][0];
            }
        assert_true(from[i] != '&' || step > 1); /* a bare & is none of ours */
        to[used++] = letter;
        i += step;
    }
    to[used] = '\0';
}

typedef struct reading {
    char open[DEPTH_MOST][16];
    size_t depth;
    char table[32];
    cell *cell; /* the open one */
} reading;

static bool is_void(const char *name)
{
    return !strcmp(name, "meta");
}

static const char *take_opening(page *out, reading *in, const char *at)
{
    char name[16], attribute[32], value[4000], class_name[32] = "", label[32] = "";
    size_t length = strcspn(at, " >/");
    snprintf(name, sizeof name, "%.*s", (int)(length < 15 ? length : 15), at);
    if (!in_list(elements, sizeof elements / sizeof elements[0], name))
        fail_msg("the page holds an element <%s>", name);
    at += length;
    for (at += strspn(at, " "); *at != '>' && *at != '/'; at += strspn(at, " ")) {
        at = take_attribute(at, attribute, sizeof attribute, value, sizeof value);
        if (!in_list(attributes, sizeof attributes / sizeof attributes[0], attribute))
            fail_msg("the page holds an attribute %s", attribute);
        if (!strcmp(attribute, "href"))
            assert_true(!strncmp(value, "#picture-", 9));
        if (!strcmp(attribute, "class"))
            snprintf(class_name, sizeof class_name, "%.31s", value);
        if (!strcmp(attribute, "data-label"))
            snprintf(label, sizeof label, "%.31s", value);
    }
    bool empty = *at == '/';
    at += empty;
    assert_int_equal(*at, '>');
    if (!strcmp(name, "table")) {
        snprintf(in->table, sizeof in->table, "%s", class_name);
        out->tables++;
    }
    out->rows += !strcmp(name, "tr");
    if (!strcmp(name, "td")) {
        assert_true(out->cell_count < CELLS_MOST);
        in->cell = &out->cells[out->cell_count++];
        *in->cell = (cell){.row = out->rows};
        snprintf(in->cell->table, sizeof in->cell->table, "%s", in->table);
        snprintf(in->cell->label, sizeof in->cell->label, "%s", label);
    }
    if (!empty && !is_void(name)) {
        assert_true(in->depth < DEPTH_MOST);
        memcpy(in->open[in->depth++], name, sizeof name);
    }
    return at + 1;
}

static const char *take_closing(reading *in, const char *at)
{
    size_t length = strcspn(at, ">");
    assert_true(in->depth > 0);
    in->depth--;
    if (strlen(in->open[in->depth]) != length || strncmp(in->open[in->depth], at, length) != 0)
        fail_msg("<%s> is closed by </%.*s>", in->open[in->depth], (int)length, at);
    if (!strcmp(in->open[in->depth], "td"))
        in->cell = NULL;
    return at + length + 1;
}

static void page_read(page *out, const spurity_bytes *bytes)
{
    reading in = {0};
    *out = (page){.html = bytes->data};
    out->cells = calloc(CELLS_MOST, sizeof *out->cells);
    assert_non_null(out->cells);
    assert_int_equal(strlen(bytes->data), bytes->size);
    static const char start[] = "<!DOCTYPE html>\n";
    assert_true(!strncmp(bytes->data, start, strlen(start)));
    for (const char *at = bytes->data + strlen(start); *at;) {
        size_t length = strcspn(at, "<");
        bool style = in.depth && !strcmp(in.open[in.depth - 1], "style");
        if (length && in.cell) {
            add_words(in.cell->text, CELL_SIZE, "|", 1);
            add_words(in.cell->text, CELL_SIZE, at, length);
        }
        if (length && !style)
            add_words(out->words, sizeof out->words, at, length);
        at += length;
        if (*at == '<')
            at = at[1] == '/' ? take_closing(&in, at + 2) : take_opening(out, &in, at + 1);
    }
    assert_int_equal(in.depth, 0);
}

static void page_release(page *out)
{
    free(out->cells);
}

/* A true minus sign and a times sign as strtod and sscanf know them. */
static void to_ascii(char *to, size_t size, const char *from)
{
    size_t used = 0;
    for (; *from && used + 1 < size; from++) {
        if (!strncmp(from, "\u2212", 3)) {
            to[used++] = '-';
            from += 2;
        } else if (!strncmp(from, "\u00a0", 2)) {
            to[used++] = ' ';
            from += 1;
        } else if (!strncmp(from, "\u00d7", 2)) {
            to[used++] = '*';
            from += 1;
        } else if (!strncmp(from, "\u00b1", 2) || !strncmp(from, "\u221a", 3)) {
            from += *from == '\xC2' ? 1 : 2;
        } else {
            to[used++] = *from;
        }
    }
    to[used] = '\0';
}

static void page_of(const spurity_result *result, spurity_bytes *bytes, page *out)
{
    spurity_error error = {0};
    assert_ok(spurity_output_report(result, bytes, &error), &error);
    const char *folder = getenv("SPURITY_PICTURES");
    if (folder) {
        static int number;
        char path[400];
        snprintf(path, sizeof path, "%s/report-%d.html", folder, number++);
        FILE *file = fopen(path, "wb");
        if (file) {
            fwrite(bytes->data, 1, bytes->size, file);
            fclose(file);
        }
    }
    page_read(out, bytes);
}

/* ---- sums ---------------------------------------------------------------------------------------------------------
 */

/* "a - (b) = c dB" */
static void check_difference(const char *words, size_t *sums)
{
    double a, b, c;
    int read = sscanf(words, "%lf - (%lf) = %lf dB", &a, &b, &c);
    if (read != 3)
        read = sscanf(words, "%lf - %lf = %lf dB", &a, &b, &c);
    if (read != 3)
        fail_msg("no difference: '%s'", words);
    assert_near(a - b, c, 0.0101); /* printed to 0.01: one off in the last */
    (*sums)++;
}

/* "36.56 dBm - 49.56 dB = -13.00 dBm", exactly; "43 dB + 10 dB * log10(4.5 W / 1 W) = 49.53 dB" and "10 dB *
 * log10(25 uW / 1 mW) = -16.02 dBm" to the last digit. */
static void check_limit(const char *words, size_t *sums)
{
    double a, b, c, p;
    char unit[8];
    if (sscanf(words, "%lf dBm - %lf dB = %lf dBm", &a, &b, &c) == 3) {
        assert_near(a - b, c, 1e-9);
        (*sums)++;
    } else if (sscanf(words, "%lf dB + %lf dB * log10(%lf W / 1 W) = %lf dB", &a, &b, &p, &c) == 4) {
        assert_near(a + b * log10(p), c, 0.0101);
        (*sums)++;
    } else if (sscanf(words, "10 dB * log10(%lf %7[^ ] / 1 mW) = %lf dBm", &p, unit, &c) == 3) {
        double scale = !strcmp(unit, "mW") ? 1 : !strcmp(unit, "W") ? 1e3 : !strcmp(unit, "\u00b5W") ? 1e-3 : 1e-6;
        assert_near(10 * log10(p * scale), c, 0.0101);
        (*sums)++;
    }
}

/* Each part of a cell, in ASCII. */
static void check_parts(const cell *one, void (*check)(const char *, size_t *), size_t *sums, bool second_only)
{
    char words[CELL_SIZE], *rest = words;
    to_ascii(words, sizeof words, one->text);
    /* "|7.5 dB over|-16.02 - (-8.52) = -7.50 |dB": numbers and units of one line stand in one text */
    for (size_t i = 0; rest && *rest; i++) {
        char *part = strsep(&rest, "|");
        if (part[0] && (!second_only || strstr(part, " = ")))
            check(part, sums);
    }
}

static void check_sums(const page *at, size_t *margins, size_t *limits)
{
    *margins = *limits = 0;
    for (size_t i = 0; i < at->cell_count; i++) {
        const cell *one = &at->cells[i];
        if (strcmp(one->table, "judged") != 0)
            continue;
        if (!strcmp(one->label, "Margin"))
            check_parts(one, check_difference, margins, true);
        if (!strcmp(one->label, "Limit"))
            check_parts(one, check_limit, limits, false);
    }
}

/* Re-adds every budget's table from its printed rows; returns how many there are. */
static size_t check_budgets(const page *at)
{
    size_t tables = 0;
    double squares = 0, figure = NAN, divisor = NAN, sensitivity = NAN;
    for (size_t i = 0; i < at->cell_count; i++) {
        const cell *one = &at->cells[i];
        char words[CELL_SIZE];
        double sum, root, twice, expanded;
        to_ascii(words, sizeof words, one->text);
        if (strcmp(one->table, "budget") != 0)
            continue;
        figure = !strcmp(one->label, "Figure") ? strtod(words + 1, NULL) : figure;
        divisor = !strcmp(one->label, "Divisor") ? strtod(words + 1, NULL) : divisor;
        sensitivity = !strcmp(one->label, "Sensitivity") ? strtod(words + 1, NULL) : sensitivity;
        if (strcmp(one->label, "Standard u") != 0)
            continue;
        if (sscanf(words, "| %lf = %lf dB|U = 2 * %lf = %lf dB", &sum, &root, &twice, &expanded) == 4) {
            assert_near(sqrt(squares), root, 3e-4); /* rows printed to 0.0001 */
            assert_near(sqrt(sum), root, 2e-4);
            assert_near(2 * root, expanded, 0.00061);
            assert_near(twice, root, 1e-9);
            squares = 0;
            tables++;
        } else {
            double standard = strtod(words + 1, NULL);
            assert_near(figure * fabs(sensitivity) / divisor, standard, 0.0006 + 0.001 * figure / divisor);
            squares += standard * standard;
        }
    }
    return tables;
}

/* ---- a page of a bench --------------------------------------------------------------------------------------------
 */

static spurity_result *result_of(struct bench *bench, bool judged)
{
    spurity_result *result = NULL;
    spurity_error error = {0};
    static const spurity_setting settings[] = {{"pad", "40 dB", "option"}, {"decision", "guarded", "default"}};
    assert_ok(spurity_result_create(bench->measurement, judged ? bench->verdict : NULL, settings, 2, &result, &error),
              &error);
    return result;
}

static void bench_of(struct bench *bench, const char *rules, spurity_outcome outcome)
{
    static const struct sweep_line lines[] = {{146.94e6, 36.99}, {293.88e6, -8.01}, {440.82e6, -24.3}};
    struct sweep wide = wide_sweep(lines, 3, 1.5e9), close = close_sweep(lines, 3, lines[0].hz);
    bench_start(bench);
    bench_direct(bench);
    bench_add(bench, &wide);
    bench_add(bench, &close);
    assert_int_equal(bench_judge(bench, rules), outcome);
}

/* 25 uW is -16.02 dBm; 43 + 10 log10 P below 5 W is 49.99 dB: both kinds of leaf, every row added up again. */
static void every_row_adds_up(void **state)
{
    static const struct {
        const char *rules;
        spurity_outcome outcome;
        const char *sum;
    } cases[] = {{"us-amateur", SPURITY_OUTCOME_FAIL, "10 dB \u00d7 log10(25 \u00b5W / 1 mW) = \u221216.02 dBm"},
                 {"itu-a", SPURITY_OUTCOME_CONDITIONAL_FAIL, "43 dB + 10 dB \u00d7 log10("}};
    for (size_t i = 0; i < 2; i++) {
        struct bench bench;
        spurity_bytes bytes;
        page *at = malloc(sizeof *at);
        assert_non_null(at);
        bench_of(&bench, cases[i].rules, cases[i].outcome);
        spurity_result *result = result_of(&bench, true);
        page_of(result, &bytes, at);
        size_t margins, limits, expected = 0;
        check_sums(at, &margins, &limits);
        for (size_t k = 0; k < spurity_result_length(result, "judgements"); k++) {
            const char *unit = spurity_shown_text(result, "judgements", k, "unit");
            expected += isfinite(spurity_shown_number(result, "judgements", k, "margin")) && strcmp(unit, "Hz") != 0;
        }
        assert_true(expected >= 10);
        assert_int_equal(margins, expected);
        assert_true(limits >= expected - 1); /* a power's limit has no sum */
        assert_non_null(strstr(at->words, cases[i].sum));
        page_release(at);
        free(at);
        spurity_bytes_release(&bytes);
        spurity_result_free(result);
        bench_end(&bench);
    }
}

/* "±2.06 dB" of each judged emission is the U of a table of the page. */
static void every_budget_adds_up(void **state)
{
    for (int judged = 0; judged < 2; judged++) {
        struct bench bench;
        spurity_bytes bytes;
        page *at = malloc(sizeof *at);
        assert_non_null(at);
        bench_of(&bench, "us-amateur", SPURITY_OUTCOME_FAIL);
        spurity_result *result = result_of(&bench, judged);
        page_of(result, &bytes, at);
        assert_true(check_budgets(at) >= 2);
        assert_null(strstr(at->words, "holds no budget"));
        assert_null(strstr(at->words, "Judged with U")); /* lines as they were read: nothing is left over */
        page_release(at);
        free(at);
        spurity_bytes_release(&bytes);
        spurity_result_free(result);
        bench_end(&bench);
    }
}

/* 50 mW: 40 dB down or 10 uW, whichever is more, would do for an emission at -23.5 dBm; what guards each is told. */
static void guard_is_told(void **state)
{
    static const struct sweep_line lines[] = {{146.94e6, 17.0}, {293.88e6, -23.5}};
    struct sweep wide = wide_sweep(lines, 2, 1.5e9), close = close_sweep(lines, 2, lines[0].hz);
    struct bench bench;
    spurity_bytes bytes;
    page *at = malloc(sizeof *at);
    assert_non_null(at);
    bench_start(&bench);
    bench_direct(&bench);
    bench_add(&bench, &wide);
    bench_add(&bench, &close);
    bench_judge(&bench, "us-amateur");
    spurity_result *result = result_of(&bench, true);
    page_of(result, &bytes, at);
    assert_non_null(strstr(at->words, "Guarded by 1.1436 \u00d7 "));
    assert_null(strstr(at->words, "Judged with U"));
    page_release(at);
    free(at);
    spurity_bytes_release(&bytes);
    spurity_result_free(result);
    bench_end(&bench);
}

/* What a verdict rests on stands on the page. */
static void page_names_its_grounds(void **state)
{
    static const char *const wanted[] = {"FAIL",
                                         "47 CFR 97.307(e)",
                                         "47 CFR Part 97, issue of",
                                         "no certification",
                                         "ILAC-G8:09/2019",
                                         "Input files",
                                         "pad",
                                         "guarded",
                                         "Not examined"};
    struct bench bench;
    spurity_bytes bytes;
    page *at = malloc(sizeof *at);
    assert_non_null(at);
    bench_of(&bench, "us-amateur", SPURITY_OUTCOME_FAIL);
    spurity_result *result = result_of(&bench, true);
    page_of(result, &bytes, at);
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++)
        if (!strstr(at->words, wanted[i]))
            fail_msg("the page does not say '%s'", wanted[i]);
    for (size_t i = 0; i < spurity_result_length(result, "inputs"); i++) {
        const char *hash = spurity_shown_text(result, "inputs", i, "sha256");
        if (hash[0])
            assert_non_null(strstr(at->words, hash));
    }
    for (size_t i = 0; i < spurity_result_length(result, "warnings"); i++)
        assert_non_null(strstr(at->words, spurity_shown_text(result, "warnings", i, "code")));
    page_release(at);
    free(at);
    spurity_bytes_release(&bytes);
    spurity_result_free(result);
    bench_end(&bench);
}

/* ---- foreign text -------------------------------------------------------------------------------------------------
 */

static const char *const hostile[] = {
    "<script>alert(1)</script>",          "\\\" onmouseover=\\\"alert(1)",
    "' onfocus='alert(1)' x='",           "</style><img src=x onerror=alert(1)>",
    "&lt;script&gt; &amp; &#60;b&#62;",   "]]><!-- --><svg onload=alert(1)>",
    "\\u202ereversed\\u2066 \\u001b[31m", "javascript:alert(1) http://example.invalid/x.css"};

/* A document with the same words in every text that may come from outside. */
static void write_hostile(stand_text *out, const char *words)
{
    const char *w = words;
    out->used = 0;
    stand_add(
        out,
        "{\"format\":\"spurity-result\",\"version\":1,\"tool\":\"%s\",\"verdict\":\"fail\",\"headline\":\"%s\","
        "\"rules\":{\"id\":\"%s\",\"title\":\"%s\",\"edition\":\"%s\"},\"verdicts\":[{\"rules\":{\"id\":\"%s\","
        "\"title\":\"%s\",\"edition\":\"%s\"},\"verdict\":\"fail\",\"groups\":[\"emissions\"],\"from_hz\":3e7,"
        "\"to_hz\":1e9,\"reasons\":[\"%s\"],\"headline\":\"%s\",\"channel\":{\"service\":\"%s\",\"number\":\"%s\","
        "\"frequency_hz\":1e8,\"bandwidth_hz\":1e4},\"clauses\":[{\"clause\":\"%s\",\"citation\":\"%s\",\"says\":"
        "\"%s\",\"group\":\"%s\",\"edition\":\"%s\",\"status\":\"unverified\"}]}],",
        w, w, w, w, w, w, w, w, w, w, w, w, w, w, w, w, w);
    stand_add(out,
              "\"settings\":{\"%s\":{\"value\":\"%s\",\"from\":\"%s\"}},\"carrier\":{\"frequency_hz\":1e8,"
              "\"level_dbm\":37.0,\"power_w\":5.0,\"uncertainty_db\":2.0,\"source\":\"trace\",\"width_hz\":1e4,"
              "\"character\":\"unresolved\",\"seen\":true,\"budget\":[{\"source\":\"%s\",\"distribution\":\"%s\","
              "\"figure_db\":1.0,\"divisor\":1.0,\"sensitivity\":1.0,\"standard_db\":1.0,\"side\":\"both\"}]},",
              w, w, w, w, "normal");
    stand_add(
        out,
        "\"emissions\":[{\"kind\":\"subharmonic\",\"order\":null,\"ratio\":\"%s\",\"character\":\"line\","
        "\"frequency_hz\":2e8,\"level_dbm\":-10.0,\"level_dbc\":-47.0,\"uncertainty_db\":2.0,\"uncertainty_dbc\":"
        "1.5,\"seen\":true,\"floor_dbm\":-70.0,\"file\":0}],\"judgements\":[{\"rules\":\"%s\",\"clause\":\"%s\","
        "\"group\":\"%s\",\"quantity\":\"%s\",\"emission\":0,\"frequency_hz\":2e8,\"measured\":-10.0,\"limit\":"
        "-16.0,\"unit\":\"dBm\",\"margin\":-6.0,\"uncertainty\":2.0,\"conformity_probability\":0.0,\"binding\":"
        "\"%s\",\"reference_bandwidth_hz\":1e5,\"detector\":\"%s\",\"status\":\"unverified\",\"outcome\":\"fail\","
        "\"from_hz\":2e8,\"to_hz\":2e8,\"at_most\":false,\"reading\":\"%s\",\"work\":\"%s\"}],",
        w, w, w, w, w, w, w, w, w);
    stand_add(out,
              "\"not_shown\":[{\"rules\":\"%s\",\"clause\":\"%s\",\"from_hz\":1e6,\"to_hz\":3e7,\"reason\":\"%s\","
              "\"advice\":\"%s\"}],\"not_examined\":[\"%s\"],\"told\":[{\"rules\":\"%s\",\"clause\":\"%s\","
              "\"citation\":\"%s\",\"says\":\"%s\"}],\"warnings\":[{\"code\":\"%s\",\"text\":\"%s\",\"file\":0}],"
              "\"inputs\":[{\"file\":\"%s\",\"sha256\":\"%s\",\"kind\":\"trace\",\"role\":\"transmitter\",\"chain\":"
              "[\"%s\"],\"title\":\"%s\",\"points\":3}]}",
              w, w, w, w, w, w, w, w, w, w, w, w, w, w, w);
}

/* Whatever the texts are, the page's tags and attributes are those of a page of plain words, to the last one: page_read
 * refuses any that is not ours, and here their number is compared. */
static void foreign_text_stays_text(void **state)
{
    static const stand_in sweep = {3e7, 1e9, 0, 0, 801, 1e6, -60, 1e8, 37, {{1e8, 37}, {2e8, -10}}, NULL, NULL};
    stand_text *text = malloc(sizeof *text);
    page *at = malloc(sizeof *at);
    assert_non_null(text);
    assert_non_null(at);
    size_t tags = 0;
    for (size_t i = 0; i <= sizeof hostile / sizeof hostile[0]; i++) {
        spurity_bytes bytes;
        write_hostile(text, i ? hostile[i - 1] : "words");
        spurity_result *result = stand_result(&sweep, text->text);
        page_of(result, &bytes, at);
        const char *picture = strstr(bytes.data, "<svg");
        assert_non_null(picture);
        size_t count = 0;
        for (const char *tag = bytes.data; tag; tag = strchr(tag + 1, '<'))
            count += tag < picture || tag > strstr(picture, "</svg>"); /* the picture breaks its words as they fit */
        tags = i ? tags : count;
        assert_int_equal(count, tags);
        assert_null(strstr(bytes.data, "<script"));
        assert_null(strstr(bytes.data, "<img"));
        assert_null(strstr(bytes.data, "\u202e"));
        assert_null(strchr(bytes.data, 0x1b));
        page_release(at);
        spurity_bytes_release(&bytes);
        spurity_result_free(result);
    }
    /* a name of a script is letters: they stand on the page as they were written */
    write_hostile(text, hostile[0]);
    spurity_result *result = stand_result(NULL, text->text);
    spurity_bytes bytes;
    page_of(result, &bytes, at);
    assert_non_null(strstr(at->words, "By the files: <script>alert(1)</script>"));
    assert_non_null(strstr(at->words, "There is no picture"));
    page_release(at);
    spurity_bytes_release(&bytes);
    spurity_result_free(result);
    free(at);
    free(text);
}

static void text_is_escaped_for_attributes_too(void **state)
{
    spurity_buffer out = {0};
    spurity_html_text(&out, "a<b>&\"'c\xff\x01");
    assert_string_equal(out.data, "a&lt;b&gt;&amp;&quot;&#39;c\xEF\xBF\xBD ");
    spurity_buffer_release(&out);
    static const struct {
        double value;
        int decimals;
        const char *text;
    } numbers[] = {{-16.0206, 2, "\u221216.02"},
                   {0.005, 2, "0.01"},
                   {-0.001, 2, "0.00"},
                   {1234, 0, "1234"},
                   {NAN, 2, "\u2013"},
                   {1e300, 2, "\u2013"},
                   {-12.3456, 4, "\u221212.3456"},
                   {7, 0, "7"}};
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        spurity_html_number(&out, numbers[i].value, numbers[i].decimals);
        assert_string_equal(out.data, numbers[i].text);
        spurity_buffer_release(&out);
    }
}

/* ---- the picture --------------------------------------------------------------------------------------------------
 */

static void picture_keeps_what_draws(void **state)
{
    static const struct {
        const char *svg, *clean; /* NULL: refused */
    } cases[] = {
        {"<?xml version='1.0'?><!DOCTYPE svg><svg viewBox=\"0 0 1 1\" xmlns=\"http://www.w3.org/2000/svg\" "
         "onload=\"alert(1)\"></svg>\n",
         "<svg role=\"img\" aria-labelledby=\"picture-words\" viewBox=\"0 0 1 1\"></svg>"},
        {"<svg><script>alert(1)</script><g id='a'><title>t</title></g></svg>",
         "<svg role=\"img\" aria-labelledby=\"picture-words\"><g></g></svg>"},
        {"<svg><a><path d='M0'/></a><foreignObject><g/><iframe src='x'/></foreignObject><g/></svg>",
         "<svg role=\"img\" aria-labelledby=\"picture-words\"><g/></svg>"},
        {"<svg><use xlink:href='#gpPt6' x='1'/><use xlink:href='x.svg#b'/><path id='gpPt0' filter='url(#f)'/></svg>",
         "<svg role=\"img\" aria-labelledby=\"picture-words\"><use href=\"#picture-gpPt6\" x=\"1\"/><use/><path "
         "id=\"picture-gpPt0\"/></svg>"},
        {"<svg><rect fill = 'rgb(1, 2, 3)' stroke='url(http://x)' style='x' color='java:x'/></svg>",
         "<svg role=\"img\" aria-labelledby=\"picture-words\"><rect fill=\"rgb(1, 2, 3)\"/></svg>"},
        {"<svg>out<text x='1'>a &lt; b & c > d &#60;<tspan>e</tspan></text><g>out</g></svg>",
         "<svg role=\"img\" aria-labelledby=\"picture-words\"><text x=\"1\">a &lt; b &amp; c &gt; d "
         "&amp;#60;<tspan>e</tspan></text><g></g></svg>"},
        {"<svg><g></svg>", NULL},
        {"<svg></svg><svg></svg>", NULL},
        {"<html></html>", NULL},
        {"<svg><g x='1></g></svg>", NULL},
        {"<svg><g x></g></svg>", NULL},
        {"<svg", NULL},
        {"<svg/>", NULL},
        {"</svg>", NULL},
        {"<svg><>", NULL},
        {"words", NULL},
        {"", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        spurity_buffer out = {0};
        bool clean = spurity_paper_clean_svg(cases[i].svg, strlen(cases[i].svg), &out);
        assert_int_equal(clean, cases[i].clean != NULL);
        if (clean)
            assert_string_equal(out.data, cases[i].clean);
        spurity_buffer_release(&out);
    }
}

/* ---- whole in itself, and readable --------------------------------------------------------------------------------
 */

static void page_needs_nothing_else(void **state)
{
    static const char *const reaching[] = {"http:", "https:", "url(",       "@import", "src=",   "<link",
                                           "<a ",   "<base",  "javascript", "<object", "<embed", "<form"};
    struct bench bench;
    spurity_bytes bytes;
    page *at = malloc(sizeof *at);
    assert_non_null(at);
    bench_of(&bench, "us-amateur", SPURITY_OUTCOME_FAIL);
    spurity_result *result = result_of(&bench, true);
    page_of(result, &bytes, at);
    for (size_t i = 0; i < sizeof reaching / sizeof reaching[0]; i++)
        if (strstr(bytes.data, reaching[i]))
            fail_msg("the page holds '%s'", reaching[i]);
    assert_non_null(strstr(bytes.data, "content=\"default-src 'none'; style-src 'unsafe-inline'"));
    for (const char *id = strstr(bytes.data, " id=\""); id; id = strstr(id + 1, " id=\"")) {
        char name[60];
        snprintf(name, sizeof name, "%.*s\"", (int)strcspn(id + 5, "\"") + 5, id);
        if (strstr(id + 1, name))
            fail_msg("two elements have%s", name);
    }
    page_release(at);
    free(at);
    spurity_bytes_release(&bytes);
    spurity_result_free(result);
    bench_end(&bench);
}

/* Relative luminance and contrast ratio: Web Content Accessibility Guidelines 2.1, definitions of those names. */
static double luminance(const char *hex)
{
    static const double weight[] = {0.2126, 0.7152, 0.0722};
    double sum = 0;
    for (int i = 0; i < 3; i++) {
        char two[3] = {hex[2 * i], hex[2 * i + 1], 0};
        double share = (double)strtol(two, NULL, 16) / 255;
        sum += weight[i] * (share <= 0.03928 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4));
    }
    return sum;
}

static double contrast(const char *a, const char *b)
{
    double x = luminance(a) + 0.05, y = luminance(b) + 0.05;
    return x > y ? x / y : y / x;
}

typedef struct colours {
    size_t count;
    char hex[12][8], name[12][24];
} colours;

static void find_colours(const char *style, const char *kind, colours *found)
{
    found->count = 0;
    for (const char *at = strstr(style, kind); at; at = strstr(at + 1, kind)) {
        if (at[strlen(kind) + strcspn(at + strlen(kind), ":;)")] != ':' || at[-1] == '(')
            continue;
        assert_true(found->count < 12);
        assert_int_equal(sscanf(at, "%23[^:]: #%6[0-9a-f];", found->name[found->count], found->hex[found->count]), 2);
        assert_int_equal(strlen(found->hex[found->count]), 6);
        found->count++;
    }
}

/* Level AA: 4.5 for text, 3 for what else carries meaning (WCAG 2.1, 1.4.3 and 1.4.11). */
static void colours_can_be_read(void **state)
{
    /* black on white is 21 to 1; #767676 on white is known as the lightest grey that passes AA, 4.54 */
    assert_near(contrast("000000", "ffffff"), 21, 1e-9);
    assert_near(contrast("767676", "ffffff"), 4.54, 0.005);
    char *style = calloc(1, spurity_report_style_size + 1);
    assert_non_null(style);
    memcpy(style, spurity_report_style, spurity_report_style_size);
    colours text, ground, firm;
    find_colours(style, "--text-", &text);
    find_colours(style, "--ground-", &ground);
    find_colours(style, "--line-firm", &firm);
    assert_true(text.count >= 5 && ground.count >= 2 && firm.count == 1);
    for (size_t i = 0; i < text.count; i++)
        for (size_t k = 0; k < ground.count; k++)
            if (contrast(text.hex[i], ground.hex[k]) < 4.5)
                fail_msg("%s on %s: %.2f", text.name[i], ground.name[k], contrast(text.hex[i], ground.hex[k]));
    for (size_t k = 0; k < ground.count; k++)
        assert_true(contrast(firm.hex[0], ground.hex[k]) >= 3);
    /* and there are no others: each # begins a colour of :root or the name of a section */
    const char *rest = strchr(style, '}');
    for (const char *hash = strchr(rest, '#'); hash; hash = strchr(hash + 1, '#'))
        assert_true(!strncmp(hash, "#picture", 8));
    assert_null(strstr(rest, "rgb"));
    free(style);
}

/* What the page's picture writes its words in, as the script of the picture has it. */
static void picture_words_can_be_read(void **state)
{
    char path[600];
    const char *source = getenv("SPURITY_SOURCE");
    assert_non_null(source);
    snprintf(path, sizeof path, "%s/plots/overlay.gp", source);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    char line[400], name[24], hex[8];
    size_t checked = 0;
    while (fgets(line, sizeof line, file)) {
        if (sscanf(line, "%23[a-z_] = '#%6[0-9a-f]'", name, hex) != 2)
            continue;
        if (strcmp(name, "ink") != 0 && strcmp(name, "soft_ink") != 0 && strcmp(name, "edge") != 0 &&
            strcmp(name, "over") != 0)
            continue;
        if (contrast(hex, "ffffff") < 4.5)
            fail_msg("%s on white: %.2f", name, contrast(hex, "ffffff"));
        checked++;
    }
    fclose(file);
    assert_int_equal(checked, 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_adds_up),        cmocka_unit_test(guard_is_told),
        cmocka_unit_test(every_budget_adds_up),     cmocka_unit_test(page_names_its_grounds),
        cmocka_unit_test(foreign_text_stays_text),  cmocka_unit_test(text_is_escaped_for_attributes_too),
        cmocka_unit_test(picture_keeps_what_draws), cmocka_unit_test(page_needs_nothing_else),
        cmocka_unit_test(colours_can_be_read),      cmocka_unit_test(picture_words_can_be_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
