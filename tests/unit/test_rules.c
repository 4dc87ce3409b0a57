/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Rule files: every mistake with its place, the forms of a limit, when a clause binds, the lint.
 * tests/rules/bad/NAME.yaml is read as NAME.yaml and must be refused with the text of NAME.expected;
 * tests/rules/doubt/NAME.yaml must lint to NAME.expected.  SPURITY_REWRITE=1 writes what is told into them. */
#include <dirent.h>
#include <limits.h>

#include "../../lib/rules/rules.h"
#include "../check.h"
#include "../comma_locale.h"

/* ---- files --------------------------------------------------------------------------------------- */

static char *slurp(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    char *text = malloc(1 << 16);
    assert_non_null(text);
    *size = fread(text, 1, (1 << 16) - 1, file);
    text[*size] = '\0';
    fclose(file);
    return text;
}

static void folder_path(char *path, size_t size, const char *folder)
{
    const char *source = getenv("SPURITY_SOURCE");
    snprintf(path, size, "%s/tests/rules/%s", source ? source : ".", folder);
}

/** Compares with NAME.expected, or writes it. */
static bool as_expected(const char *folder, const char *name, const char *told)
{
    char path[PATH_MAX];
    size_t size = 0;
    snprintf(path, sizeof path, "%s/%.*s.expected", folder, (int)(strlen(name) - strlen(".yaml")), name);
    if (getenv("SPURITY_REWRITE")) {
        FILE *file = fopen(path, "wb");
        assert_non_null(file);
        fputs(told, file);
        fclose(file);
        return true;
    }
    char *expected = slurp(path, &size);
    bool same = expected && !strcmp(expected, told);
    if (!same)
        print_error("%s: told\n%sexpected\n%s", name, told, expected ? expected : "(no file)\n");
    free(expected);
    return same;
}

/** Calls `check` for each NAME.yaml of a folder; how many there were. */
static size_t each_file(const char *folder_name,
                        bool (*check)(const char *folder, const char *name, const char *yaml, size_t size))
{
    char folder[PATH_MAX], path[PATH_MAX + 300];
    size_t count = 0, wrong = 0;
    folder_path(folder, sizeof folder, folder_name);
    DIR *directory = opendir(folder);
    assert_non_null(directory);
    for (struct dirent *entry = readdir(directory); entry; entry = readdir(directory)) {
        const char *suffix = strstr(entry->d_name, ".yaml");
        if (!suffix || suffix[5])
            continue;
        size_t size = 0;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        char *yaml = slurp(path, &size);
        assert_non_null(yaml);
        wrong += !check(folder, entry->d_name, yaml, size);
        free(yaml);
        count++;
    }
    closedir(directory);
    assert_int_equal(wrong, 0);
    return count;
}

static bool check_bad(const char *folder, const char *name, const char *yaml, size_t size)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    char told[1000];
    spurity_status status = spurity_rules_load_memory(name, yaml, size, &rules, &error);
    spurity_error_describe(&error, told, sizeof told - 2);
    strcat(told, "\n");
    if (status != SPURITY_INVALID || rules) {
        print_error("%s was read\n", name);
        spurity_rules_free(rules);
        return false;
    }
    return as_expected(folder, name, told);
}

static void test_bad_files(void **state)
{
    (void)state;
    assert_true(each_file("bad", check_bad) > 100);
}

static void add_remark(void *user, const spurity_rule_remark *remark)
{
    char *told = user;
    size_t used = strlen(told);
    snprintf(told + used, 2000 - used, "%lu: %s\n", remark->line, remark->text);
}

static bool check_doubt(const char *folder, const char *name, const char *yaml, size_t size)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    char told[2000] = "";
    assert_ok(spurity_rules_load_memory(name, yaml, size, &rules, &error), &error);
    spurity_rules_lint(rules, add_remark, told);
    spurity_rules_free(rules);
    if (!told[0])
        strcpy(told, "clean\n");
    if ((strncmp(name, "none", 4) == 0) != (strcmp(told, "clean\n") == 0)) {
        print_error("%s: %s", name, told);
        return false;
    }
    return as_expected(folder, name, told);
}

static void test_doubts(void **state)
{
    (void)state;
    assert_true(each_file("doubt", check_doubt) >= 17);
}

static void test_builtin_is_clean(void **state)
{
    (void)state;
    assert_true(spurity_rules_builtin_count() >= 12);
    for (size_t i = 0; i < spurity_rules_builtin_count(); i++) {
        spurity_rules *rules = NULL;
        spurity_error error = {0};
        char told[2000] = "";
        assert_ok(spurity_rules_load(spurity_rules_builtin_id(i), &rules, &error), &error);
        assert_string_equal(spurity_rules_id(rules), spurity_rules_builtin_id(i));
        spurity_rules_lint(rules, add_remark, told);
        assert_string_equal(told, "");
        spurity_rules_free(rules);
    }
    assert_null(spurity_rules_builtin_id(1000));
}

/* ---- what cannot stand in a small file ------------------------------------------------------------ */

static void refuse(const char *name, const char *yaml, size_t size, const char *words)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    char told[1000];
    assert_int_equal(spurity_rules_load_memory(name, yaml, size, &rules, &error), SPURITY_INVALID);
    assert_null(rules);
    spurity_error_describe(&error, told, sizeof told);
    if (!strstr(told, words)) {
        print_error("told '%s', expected '%s' in it\n", told, words);
        fail();
    }
    assert_int_equal(spurity_rules_load_memory(name, yaml, size, &rules, NULL), SPURITY_INVALID);
}

static void test_sizes(void **state)
{
    size_t size = 2u << 20;
    char *yaml = malloc(size);
    (void)state;
    assert_non_null(yaml);
    memset(yaml, '#', size);
    refuse("big.yaml", yaml, size, "1 MiB");
    memset(yaml, '[', size);
    refuse("deep.yaml", yaml, 1u << 20, "16");
    for (size_t i = 0; i < 1u << 20; i++)
        yaml[i] = i % 2 ? '\n' : '-';
    refuse("dashes.yaml", yaml, 1u << 20, "");
    for (size_t i = 0; i + 4 <= 1u << 20; i += 4)
        memcpy(yaml + i, "- a\n", 4);
    refuse("list.yaml", yaml, 1u << 20, "60000");
    free(yaml);
}

static void count_too_large(void *user, const spurity_rule_remark *remark)
{
    int *count = user;
    *count += strstr(remark->text, "too large to be tried out") != NULL;
}

/** A file that would take minutes to be tried out whole is told to be too large, once, and soon. */
static void test_lint_is_bounded(void **state)
{
    size_t room = 1u << 20, used = 0;
    char *yaml = malloc(room);
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    int too_large = 0;
    (void)state;
    assert_non_null(yaml);
#define ADD(...) used += (size_t)snprintf(yaml + used, room - used, __VA_ARGS__)
    ADD("format: spurity-rules\nversion: 1\nid: d\ntitle: t\nedition: e\nchannels:\n");
    for (int i = 0; i < 400; i++)
        ADD("  - {number: '%d', frequency: %d kHz, bandwidth: 12.5 kHz}\n", i, 146000 + 25 * i);
    ADD("bandwidths:\n");
    for (int i = 0; i < 100; i++)
        ADD("  - {channel: %d Hz, authorised: %d Hz}\n", 25000 + 10 * i, 16000 + 10 * i);
    ADD("clauses:\n");
    for (int i = 0; i < 500; i++) {
        ADD("  - {clause: '%d', citation: i, status: unverified, says: s, group: mask, quantity: mask, "
            "where: {offset: {above: 50 %%, up_to: %d %%, from_centre_of: channel}}, limit: {lowest_of: [",
            i, 100 + i);
        for (int k = 2; k < 14; k++)
            ADD("%s{suppression: {b: %d dB, log10: offset / 5 kHz, below: mean power}}", k > 2 ? ", " : "", k);
        ADD("]}}\n");
    }
#undef ADD
    assert_ok(spurity_rules_load_memory("large.yaml", yaml, used, &rules, &error), &error);
    spurity_rules_lint(rules, count_too_large, &too_large);
    assert_int_equal(too_large, 1);
    spurity_rules_free(rules);
    free(yaml);
}

static void test_names(void **state)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    (void)state;
    assert_int_equal(spurity_rules_load("us-amatuer", &rules, &error), SPURITY_INVALID);
    assert_string_equal(error.advice, "did you mean 'us-amateur'?");
    error = (spurity_error){0};
    assert_int_equal(spurity_rules_load("no/such/file", &rules, &error), SPURITY_INVALID);
    error = (spurity_error){0};
    assert_int_equal(spurity_rules_load("nothere.yaml", &rules, &error), SPURITY_INVALID);
    error = (spurity_error){0};
    assert_int_equal(spurity_rules_load("/", &rules, &error), SPURITY_INVALID);
    assert_null(rules);
    spurity_rules_free(NULL);
}

/* ---- forms --------------------------------------------------------------------------------------- */

static spurity_rules *forms;

static int load_forms(void **state)
{
    char path[PATH_MAX];
    spurity_error error = {0};
    (void)state;
    folder_path(path, sizeof path, "good/forms.yaml");
    assert_ok(spurity_rules_load(path, &forms, &error), &error);
    return 0;
}

static int free_forms(void **state)
{
    (void)state;
    spurity_rules_free(forms);
    return 0;
}

static const spurity_clause *named(const char *name, spurity_clause_facts *facts)
{
    for (size_t i = 0; i < spurity_rules_clause_count(forms); i++) {
        spurity_clause_facts_of(spurity_rules_clause(forms, i), facts);
        if (!strcmp(facts->clause, name))
            return spurity_rules_clause(forms, i);
    }
    fail_msg("no clause %s", name);
    return NULL;
}

static spurity_conditions on_channel_2(double watts)
{
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = 154.57e6;
    conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = watts;
    conditions.necessary_bandwidth_hz = 16e3;
    return conditions;
}

/** Suppression of a clause's limit (its first leaf, or itself) at an offset. */
static double suppression(const char *name, size_t branch, double offset_hz, double watts)
{
    spurity_clause_facts facts;
    spurity_conditions conditions = on_channel_2(watts);
    double db = NAN;
    const char *unit = NULL;
    named(name, &facts);
    const spurity_limit *leaf =
        spurity_limit_child_count(facts.limit) ? spurity_limit_child(facts.limit, branch) : facts.limit;
    assert_true(spurity_limit_value(leaf, &conditions, conditions.carrier_hz - offset_hz, &db, &unit));
    assert_string_equal(unit, "dB");
    return db;
}

/* Check points of 90.210 masks C, D, E and 95.979, computed by hand from the regulation's formulas. */
static void test_forms(void **state)
{
    (void)state;
    assert_near(suppression("log-power", 0, 1e6, 4.0), 59.02, 0.005);
    assert_near(suppression("harmonics", 0, 1e6, 4.0), 60.0, 0.0);
    assert_near(suppression("log-offset", 0, 7.5e3, 2.0), 14.62, 0.005);
    assert_near(suppression("log-offset", 0, 10e3, 2.0), 24.99, 0.005);
    assert_near(suppression("log-square", 0, 10e3, 2.0), 27.80, 0.005);
    assert_near(suppression("log-square", 0, 15e3, 2.0), 38.01, 0.005);
    assert_near(suppression("log-square", 0, 24.14e3, 2.0), 50.0, 0.005);
    assert_near(suppression("product", 0, 5.625e3, 2.0), 19.96, 0.005);
    assert_near(suppression("product", 0, 7.5e3, 2.0), 33.59, 0.005);
    assert_near(suppression("product", 0, 12.5e3, 2.0), 69.94, 0.005);
    assert_near(suppression("product-with-a", 0, 4e3, 2.0), 46.67, 0.005);
    assert_near(suppression("product-with-a", 0, 4.6e3, 2.0), 56.67, 0.005);
    assert_near(suppression("product-with-a", 1, 4.6e3, 10.0), 65.0, 0.005);
}

static void test_other_variables(void **state)
{
    spurity_clause_facts facts;
    spurity_conditions conditions = on_channel_2(10.0);
    double value = NAN;
    const char *unit = NULL;
    (void)state;
    named("frequency", &facts); /* 40 dB at 35 MHz, 60 dB at 50 MHz within the slope's rounding */
    assert_true(spurity_limit_value(facts.limit, &conditions, 35e6, &value, NULL));
    assert_near(value, 40.0, 1e-9);
    assert_true(spurity_limit_value(facts.limit, &conditions, 50e6, &value, NULL));
    assert_near(value, 60.0, 0.01);
    named("accuracy", &facts);
    assert_true(spurity_limit_value(facts.limit, &conditions, 0.0, &value, &unit));
    assert_near(value, 2.5, 0.0);
    assert_string_equal(unit, "ppm");
    assert_false(spurity_limit_dbm(facts.limit, &conditions, 0.0, &value, NULL));
    named("width", &facts);
    assert_true(spurity_limit_value(facts.limit, &conditions, 0.0, &value, &unit));
    assert_near(value, 11250.0, 0.0);
    assert_string_equal(unit, "Hz");
}

/** Of the built-in file, the cap of a power clause at a carrier: unit as told, and level at the terminal. */
static void test_power_units(void **state)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    spurity_conditions conditions = on_channel_2(5.0);
    size_t pep = 0, erp = 0;
    (void)state;
    assert_ok(spurity_rules_load("us-amateur", &rules, &error), &error);
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_clause_facts facts;
        double value = NAN, dbm = NAN;
        const char *unit = NULL;
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        if (facts.quantity != SPURITY_QUANTITY_CARRIER_POWER)
            continue;
        assert_true(spurity_limit_value(facts.limit, &conditions, 5.36e6, &value, &unit));
        pep += !strcmp(unit, "dBm PEP");
        if (strcmp(unit, "dBm ERP"))
            continue;
        erp++;
        conditions.antenna_gain_dbd = NAN;
        assert_false(spurity_limit_dbm(facts.limit, &conditions, 5.36e6, &dbm, NULL));
        conditions.antenna_gain_dbd = 3.0;
        assert_true(spurity_limit_dbm(facts.limit, &conditions, 5.36e6, &dbm, NULL));
        assert_near(dbm, value - 3.0, 1e-9);
    }
    assert_int_equal(pep, 3);
    assert_int_equal(erp, 2);
    spurity_rules_free(rules);
}

static void test_what_is_unknown(void **state)
{
    spurity_clause_facts facts;
    spurity_conditions conditions = on_channel_2(NAN);
    double dbm = 1.0;
    char needs[80] = "";
    (void)state;
    named("log-power", &facts);
    assert_false(spurity_limit_value(facts.limit, &conditions, 1e6, &dbm, NULL));
    assert_false(spurity_limit_dbm(facts.limit, &conditions, 1e6, &dbm, NULL));
    assert_near(dbm, 1.0, 0.0);
    spurity_limit_needs(facts.limit, &conditions, needs, sizeof needs);
    assert_string_equal(needs, "--power");
    conditions = on_channel_2(10.0);
    named("erp", &facts); /* 10 W into 3 dBd: 43 dBm ERP, 50 dB below: -7 dBm */
    assert_false(spurity_limit_dbm(facts.limit, &conditions, 2e9, &dbm, NULL));
    needs[0] = '\0';
    spurity_limit_needs(facts.limit, &conditions, needs, sizeof needs);
    assert_string_equal(needs, "--antenna-gain");
    conditions.antenna_gain_dbd = 3.0;
    assert_true(spurity_limit_dbm(facts.limit, &conditions, 2e9, &dbm, NULL));
    assert_near(dbm, -7.0, 1e-9);
    named("log-offset", &facts);
    assert_false(spurity_limit_dbm(facts.limit, &conditions, conditions.carrier_hz, &dbm, NULL)); /* log of 0 */
}

/* ---- where --------------------------------------------------------------------------------------- */

static bool covered(const char *name, double offset_hz)
{
    spurity_clause_facts facts;
    spurity_conditions conditions = on_channel_2(5.0);
    const spurity_clause *clause = named(name, &facts);
    bool above = spurity_clause_covers(clause, &conditions, conditions.carrier_hz + offset_hz);
    if (offset_hz < 1e6)
        assert_int_equal(spurity_clause_covers(clause, &conditions, conditions.carrier_hz - offset_hz), above);
    return above;
}

static void test_places(void **state)
{
    spurity_clause_facts facts;
    spurity_conditions conditions = on_channel_2(5.0);
    (void)state;
    assert_false(covered("log-offset", 5e3)); /* above */
    assert_true(covered("log-offset", 5.001e3));
    assert_true(covered("log-offset", 10e3)); /* up_to */
    assert_false(covered("log-offset", 10.001e3));
    assert_true(covered("log-square", 50e3)); /* 250 % of the channel's 20 kHz */
    assert_false(covered("log-square", 50.001e3));
    assert_false(covered("log-power", 49.999e3));
    assert_true(covered("log-power", 50e3));
    assert_true(covered("harmonics", 154.57e6 + 50e3)); /* second harmonic, 100 kHz wide */
    assert_false(covered("harmonics", 154.57e6 + 50.1e3));
    assert_false(covered("harmonics", 0.0)); /* the carrier is no harmonic of itself */
    assert_true(spurity_clause_covers(named("frequency", &facts), &conditions, 50e6));
    assert_false(spurity_clause_covers(named("frequency", &facts), &conditions, 50.001e6));
    assert_false(spurity_clause_covers(named("accuracy", &facts), &conditions, 50e6));
    assert_near(spurity_clause_inner_edge(named("log-power", &facts), &conditions), 50e3, 1e-9);
    assert_near(spurity_clause_inner_edge(named("log-offset", &facts), &conditions), 5e3, 0.0);
    assert_near(spurity_clause_inner_edge(named("frequency", &facts), &conditions), 0.0, 0.0);
    assert_near(spurity_clause_reference_bandwidth(named("log-power", &facts), 1e9), 30e3, 0.0);
    assert_near(spurity_clause_reference_bandwidth(named("log-offset", &facts), 1e9), 300.0, 0.0);
    assert_near(spurity_clause_reference_bandwidth(named("erp", &facts), 1e9), NAN, 0.0);
}

/* ---- applies ------------------------------------------------------------------------------------- */

static void applies(const char *name, const spurity_conditions *conditions, spurity_applies wanted, const char *wants)
{
    spurity_clause_facts facts;
    char why[200], needs[200];
    spurity_applies found =
        spurity_clause_applies(named(name, &facts), conditions, why, sizeof why, needs, sizeof needs);
    if (found != wanted || strcmp(needs, wants))
        print_error("%s: %d '%s' needs '%s'\n", name, (int)found, why, needs);
    assert_int_equal(found, wanted);
    assert_string_equal(needs, wants);
    assert_true(why[0] != '\0');
}

static void test_applies(void **state)
{
    spurity_conditions conditions = on_channel_2(5.0);
    (void)state;
    applies("log-power", &conditions, SPURITY_APPLIES_UNKNOWN, "--emission --station");
    conditions.emission = "16K0F3E";
    conditions.station = "mobile";
    applies("log-power", &conditions, SPURITY_APPLIES_YES, "");
    conditions.emission = "J3E";
    applies("log-power", &conditions, SPURITY_APPLIES_NO, "");
    applies("log-offset", &conditions, SPURITY_APPLIES_UNKNOWN, "--audio-filter");
    conditions.audio_filter = 1;
    applies("log-offset", &conditions, SPURITY_APPLIES_NO, "");
    conditions.audio_filter = 0;
    applies("log-offset", &conditions, SPURITY_APPLIES_YES, "");
    applies("product", &conditions, SPURITY_APPLIES_NO, ""); /* the channel is 20 kHz wide */
    conditions.bandwidth_hz = 11.25e3;
    applies("product", &conditions, SPURITY_APPLIES_YES, "");
    conditions.carrier_hz = 151.82e6;
    applies("log-offset", &conditions, SPURITY_APPLIES_NO, ""); /* channel 1 */
    conditions.carrier_hz = 152e6;
    applies("log-offset", &conditions, SPURITY_APPLIES_NO, ""); /* no channel */
    conditions.carrier_hz = NAN;
    applies("log-offset", &conditions, SPURITY_APPLIES_UNKNOWN, "--carrier");
    conditions.bandwidth_hz = NAN;
    applies("harmonics", &conditions, SPURITY_APPLIES_UNKNOWN, "--bandwidth");
    applies("erp", &conditions, SPURITY_APPLIES_UNKNOWN, "--antenna-gain");
    conditions.antenna_gain_dbd = -10.0;
    applies("erp", &conditions, SPURITY_APPLIES_NO, "");
    conditions.mean_power_w = NAN;
    applies("erp", &conditions, SPURITY_APPLIES_UNKNOWN, "--power");
}

static void test_small_buffers(void **state)
{
    spurity_clause_facts facts;
    spurity_conditions conditions;
    char why[8], needs[8], words[8];
    (void)state;
    spurity_conditions_init(&conditions);
    const spurity_clause *clause = named("log-power", &facts);
    spurity_clause_applies(clause, &conditions, why, sizeof why, needs, sizeof needs);
    spurity_clause_exemption(clause, words, sizeof words);
    spurity_clause_describe_conditions(clause, words, sizeof words);
    spurity_clause_describe_where(clause, words, sizeof words);
    for (size_t i = 0; i < spurity_rules_clause_count(forms); i++) {
        spurity_clause_facts_of(spurity_rules_clause(forms, i), &facts);
        spurity_limit_describe(facts.limit, words, sizeof words);
        assert_true(strlen(words) < sizeof words);
    }
}

/** Words stay the same where the host's decimal mark is a comma. */
static void test_comma_locale(void **state)
{
    spurity_clause_facts facts;
    char words[200];
    (void)state;
    if (!set_comma_locale())
        skip();
    named("product", &facts);
    spurity_limit_describe(facts.limit, words, sizeof words);
    assert_string_equal(words, "7.27 dB x (offset - 2.88 kHz) / 1 kHz below strongest in bandwidth");
    named("accuracy", &facts);
    spurity_limit_describe(facts.limit, words, sizeof words);
    assert_string_equal(words, "2.5 ppm");
    assert_near(suppression("log-offset", 0, 7.5e3, 2.0), 14.62, 0.005);
    setlocale(LC_ALL, "C");
}

static void test_steps(void **state)
{
    spurity_clause_facts facts;
    spurity_date dates[4] = {0};
    double watts[4] = {0};
    (void)state;
    const spurity_clause *clause = named("accuracy-in-hertz", &facts);
    assert_int_equal(spurity_clause_date_steps(clause, SPURITY_DATE_INSTALLED, dates, 4), 1);
    assert_int_equal(dates[0], 20011231); /* from: that day */
    assert_int_equal(spurity_clause_date_steps(clause, SPURITY_DATE_BUILT, dates, 4), 1);
    assert_int_equal(dates[0], 20000229); /* below: that day */
    assert_int_equal(spurity_clause_date_steps(clause, SPURITY_DATE_MARKETED, dates, 4), 1);
    assert_int_equal(dates[0], 20000101); /* above: the day after */
    assert_int_equal(spurity_clause_power_steps(named("erp", &facts), watts, 4), 1);
    assert_near(watts[0], 1.0, 0.0);
    watts[0] = 7.0;
    assert_int_equal(spurity_clause_power_steps(named("erp", &facts), watts, 0), 1);
    assert_near(watts[0], 7.0, 0.0);
}

/* ---- the built-in file --------------------------------------------------------------------------- */

static void test_builtin_conditions(void **state)
{
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    spurity_conditions conditions;
    char why[200], needs[100], words[200];
    const spurity_clause *d = NULL, *e = NULL;
    (void)state;
    assert_ok(spurity_rules_load("us-amateur", &rules, &error), &error);
    for (size_t i = 0; i < spurity_rules_clause_count(rules); i++) {
        spurity_clause_facts facts;
        spurity_clause_facts_of(spurity_rules_clause(rules, i), &facts);
        assert_true(facts.line > 0 && facts.confirmed);
        if (!strcmp(facts.citation, "47 CFR 97.307(d), second sentence"))
            d = spurity_rules_clause(rules, i);
        if (!strcmp(facts.citation, "47 CFR 97.307(e), second sentence"))
            e = spurity_rules_clause(rules, i);
    }
    assert_non_null(d);
    assert_non_null(e);
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = 28.4e6;
    conditions.necessary_bandwidth_hz = 3e3;
    assert_int_equal(spurity_clause_applies(d, &conditions, why, sizeof why, needs, sizeof needs),
                     SPURITY_APPLIES_UNKNOWN);
    assert_string_equal(needs, "--power --installed");
    assert_int_equal(spurity_clause_applies(e, &conditions, why, sizeof why, needs, sizeof needs), SPURITY_APPLIES_NO);
    assert_string_equal(why, "it binds carrier from 30 MHz up to 225 MHz; here 28.4 MHz");
    conditions.carrier_hz = 146.94e6;
    assert_int_equal(spurity_clause_applies(e, &conditions, why, sizeof why, needs, sizeof needs),
                     SPURITY_APPLIES_UNKNOWN);
    assert_string_equal(needs, "--power");
    conditions.necessary_bandwidth_hz = 16e3;
    assert_near(spurity_clause_inner_edge(e, &conditions), 8e3, 0.0);
    assert_false(spurity_clause_covers(e, &conditions, 146.9479e6));
    assert_true(spurity_clause_covers(e, &conditions, 146.9481e6));
    spurity_clause_exemption(e, words, sizeof words);
    assert_string_equal(words, "built before 1977-04-15 or first marketed before 1978-01-01");
    assert_near(spurity_clause_reference_bandwidth(e, 293.88e6), 100e3, 0.0);
    assert_near(spurity_clause_reference_bandwidth(e, 14e6), 10e3, 0.0);
    assert_near(spurity_clause_reference_bandwidth(e, 1.3e9), 1e6, 0.0);
    spurity_date date = 0;
    assert_int_equal(spurity_clause_date_steps(d, SPURITY_DATE_INSTALLED, &date, 1), 1);
    assert_int_equal(date, 20030102); /* the first day of the other branch */
    spurity_rules_free(rules);
}

/* ---- tables: channels, widths, range, stations --------------------------------------------------- */

static void width_words(const spurity_rules *rules, double carrier_hz, double bandwidth_hz, const char *wanted)
{
    char words[200], small[4];
    spurity_conditions conditions;
    spurity_conditions_init(&conditions);
    conditions.carrier_hz = carrier_hz;
    conditions.bandwidth_hz = bandwidth_hz;
    spurity_rules_describe_bandwidth(rules, &conditions, words, sizeof words);
    assert_string_equal(words, wanted);
    spurity_rules_describe_bandwidth(rules, &conditions, small, sizeof small);
    assert_true(strlen(small) < sizeof small);
}

/** The file a user starts from: read, in order, and every answer of its tables. */
static void test_example_file(void **state)
{
    char path[PATH_MAX], told[2000] = "", allowed[60], tiny[3];
    const char *source = getenv("SPURITY_SOURCE");
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    spurity_channel channel;
    spurity_rules_span span;
    (void)state;
    snprintf(path, sizeof path, "%s/lib/rules/data/own-country.yaml", source ? source : ".");
    assert_ok(spurity_rules_load(path, &rules, &error), &error);
    spurity_rules_lint(rules, add_remark, told);
    assert_string_equal(told, "");
    assert_int_equal(spurity_rules_channel(rules, 446.1062e6, &channel), SPURITY_CHANNEL_ON);
    assert_string_equal(channel.number, "1");
    assert_near(channel.power_w, 0.5, 1e-12);
    assert_int_equal(spurity_rules_channel(rules, 446.2e6, &channel), SPURITY_CHANNEL_OFF);
    assert_string_equal(channel.number, "2");
    assert_int_equal(spurity_rules_channel(rules, NAN, NULL), SPURITY_CHANNEL_NO_TABLE);
    width_words(rules, 145e6, 25e3, "25 kHz, taken as the channel width; authorised in it 20 kHz");
    width_words(rules, 145e6, 20e3, "20 kHz, taken as the authorised bandwidth");
    width_words(rules, 145e6, 16e3, "16 kHz as told (no width of the service's table)");
    width_words(rules, 145e6, NAN, "20 kHz, the one the service has here");
    width_words(rules, 446.10625e6, NAN, "12.5 kHz, of the channel");
    width_words(rules, 50e6, NAN, "");
    assert_true(spurity_rules_investigated(rules, 145e6, &span));
    assert_near(span.to_hz, 1.45e9, 1.0);
    assert_true(spurity_rules_investigated(rules, 5e9, &span)); /* the lower of the tenth harmonic and 40 GHz */
    assert_near(span.to_hz, 40e9, 1.0);
    assert_false(span.confirmed);
    assert_false(spurity_rules_knows_station(rules, "mobile", allowed, sizeof allowed));
    assert_string_equal(allowed, ""); /* no clause asks */
    spurity_rules_free(rules);
    assert_true(spurity_rules_knows_station(forms, "base", allowed, sizeof allowed));
    assert_string_equal(allowed, "mobile, base");
    assert_false(spurity_rules_knows_station(forms, "mob", tiny, sizeof tiny));
    assert_false(spurity_rules_knows_station(forms, NULL, NULL, 0));
}

/** A kind of station no clause knows must not lift a limit. */
static void test_station_slip(void **state)
{
    spurity_conditions conditions = on_channel_2(5.0);
    (void)state;
    conditions.emission = "F3E";
    conditions.station = "mobil";
    applies("log-power", &conditions, SPURITY_APPLIES_UNKNOWN, "--station");
    conditions.station = "base";
    applies("log-power", &conditions, SPURITY_APPLIES_YES, "");
}

/** A clause that holds from an edge on and only in a range of frequencies; a reference bandwidth with a step. */
static void test_edge_and_range(void **state)
{
    static const char yaml[] = "format: spurity-rules\nversion: 1\nid: own\ntitle: t\nedition: invented\n"
                               "clauses:\n  - clause: '1'\n    citation: invented\n    edition: of today\n"
                               "    status: unverified\n    says: s\n    group: emissions\n"
                               "    quantity: spurious emission\n"
                               "    where: {from: spurious domain, absolute: {above: 100 MHz, up_to: 2 GHz}}\n"
                               "    reference_bandwidth: 'at least 100 kHz, above 1 GHz 1 MHz'\n"
                               "    limit: {level: -36 dBm}\n";
    spurity_conditions conditions = on_channel_2(5.0);
    spurity_rules *rules = NULL;
    spurity_error error = {0};
    spurity_clause_facts facts;
    char words[200];
    (void)state;
    assert_ok(spurity_rules_load_memory("own", yaml, sizeof yaml - 1, &rules, &error), &error);
    const spurity_clause *clause = spurity_rules_clause(rules, 0);
    spurity_clause_facts_of(clause, &facts);
    assert_string_equal(facts.edition, "of today");
    assert_near(spurity_clause_inner_edge(clause, &conditions), 62.5e3, 1e-9); /* 16 kHz counts as 25 */
    assert_false(spurity_clause_covers(clause, &conditions, 154.57e6 + 62.4e3));
    assert_true(spurity_clause_covers(clause, &conditions, 154.57e6 + 62.6e3));
    assert_false(spurity_clause_covers(clause, &conditions, 100e6));
    assert_true(spurity_clause_covers(clause, &conditions, 100.1e6));
    assert_true(spurity_clause_covers(clause, &conditions, 2e9));
    assert_false(spurity_clause_covers(clause, &conditions, 2.1e9));
    assert_near(spurity_clause_reference_bandwidth(clause, 1e9), 100e3, 0.0);
    assert_near(spurity_clause_reference_bandwidth(clause, 1.1e9), 1e6, 0.0);
    spurity_clause_describe_where(clause, words, sizeof words);
    assert_string_equal(words, "from the boundary of the spurious domain outwards, at frequencies above 100 MHz up to "
                               "2 GHz");
    conditions.carrier_hz = 100e3;
    assert_int_equal(spurity_clause_applies(clause, &conditions, words, sizeof words, NULL, 0), SPURITY_APPLIES_NO);
    assert_non_null(strstr(words, "boundary"));
    spurity_rules_free(rules);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bad_files),
        cmocka_unit_test(test_doubts),
        cmocka_unit_test(test_builtin_is_clean),
        cmocka_unit_test(test_sizes),
        cmocka_unit_test(test_lint_is_bounded),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_forms),
        cmocka_unit_test(test_other_variables),
        cmocka_unit_test(test_power_units),
        cmocka_unit_test(test_what_is_unknown),
        cmocka_unit_test(test_places),
        cmocka_unit_test(test_applies),
        cmocka_unit_test(test_small_buffers),
        cmocka_unit_test(test_comma_locale),
        cmocka_unit_test(test_steps),
        cmocka_unit_test(test_builtin_conditions),
        cmocka_unit_test(test_example_file),
        cmocka_unit_test(test_station_slip),
        cmocka_unit_test(test_edge_and_range),
    };
    return cmocka_run_group_tests(tests, load_forms, free_forms);
}
