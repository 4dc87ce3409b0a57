/* SPDX-License-Identifier: GPL-2.0-or-later */
/* From an option's text to a field, and to words that say how it was understood. */
#include "set.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#define SETTER SPURITY_CLI_SETTER

static const spurity_place nowhere = {0};

static void said(char understood[SPURITY_CLI_UNDERSTOOD], const char *text)
{
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s", text);
}

static spurity_status refuse(const char *value, const char *what, const char *expected, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, nowhere, expected, NULL, "'%.100s' for %s", value, what);
}

/* ---- words out of a list ------------------------------------------------------------------------- */

static const char *word_at(const void *words, size_t index)
{
    return ((const spurity_cli_word *)words)[index].word;
}

spurity_status spurity_cli_choose(const spurity_cli_word *words, size_t count, const char *what, const char *text,
                                  int *value, spurity_error *error)
{
    char all[160] = "", advice[80] = "";
    for (size_t i = 0; i < count; i++)
        if (!strcmp(words[i].word, text)) {
            *value = words[i].value;
            return SPURITY_OK;
        }
    for (size_t i = 0, used = 0; i < count && used < sizeof all; i++)
        used += (size_t)snprintf(all + used, sizeof all - used, "%s%s",
                                 i == 0          ? ""
                                 : i + 1 < count ? ", "
                                                 : " or ",
                                 words[i].word);
    const char *nearest = spurity_cli_nearest(text, word_at, words, count);
    if (nearest)
        snprintf(advice, sizeof advice, "did you mean '%s'?", nearest);
    return spurity_reportf(error, SPURITY_INVALID, nowhere, all, *advice ? advice : NULL, "'%.100s' for %s", text,
                           what);
}

/* Fields of enum type have the size of int. */
static void store(void *field, int value)
{
    memcpy(field, &value, sizeof value);
}

/* A word that stands for the number of an int or enum field, understood as it is written. */
static spurity_status store_word(const spurity_cli_word *words, size_t count, void *field, const char *what,
                                 const char *value, char understood[SPURITY_CLI_UNDERSTOOD], spurity_error *error)
{
    int number = 0;
    if (spurity_cli_choose(words, count, what, value, &number, error))
        return error->status;
    store(field, number);
    said(understood, value);
    return SPURITY_OK;
}

#define CHOOSE(words, value, number)                                                                                   \
    spurity_cli_choose(words, sizeof(words) / sizeof *(words), what, value, number, error)
#define STORE_WORD(words) store_word(words, sizeof(words) / sizeof *(words), field, what, value, understood, error)

SETTER(spurity_cli_set_modulation)
{
    static const spurity_cli_word words[] = {
        {"none", SPURITY_MODULATION_NONE}, {"voice", SPURITY_MODULATION_VOICE}, {"test", SPURITY_MODULATION_TEST}};
    return STORE_WORD(words);
}

SETTER(spurity_cli_set_role)
{
    static const spurity_cli_word words[] = {{"transmitter", SPURITY_ROLE_TRANSMITTER},
                                             {"ambient", SPURITY_ROLE_AMBIENT},
                                             {"leakage", SPURITY_ROLE_LEAKAGE}};
    return STORE_WORD(words);
}

SETTER(spurity_cli_set_block)
{
    static const spurity_cli_word words[] = {{"f32-be", SPURITY_ELEMENT_F32_BE},
                                             {"f32-le", SPURITY_ELEMENT_F32_LE},
                                             {"f64-be", SPURITY_ELEMENT_F64_BE},
                                             {"f64-le", SPURITY_ELEMENT_F64_LE}};
    return STORE_WORD(words);
}

SETTER(spurity_cli_set_yes_no)
{
    static const spurity_cli_word words[] = {{"yes", 1}, {"no", 0}};
    return STORE_WORD(words);
}

SETTER(spurity_cli_set_decision)
{
    static const spurity_cli_word words[] = {{"guarded", 0}, {"simple", 1}};
    int simple = 0;
    spurity_status status = store_word(words, sizeof words / sizeof *words, &simple, what, value, understood, error);
    if (!status)
        *(bool *)field = simple;
    return status;
}

SETTER(spurity_cli_set_delimiter)
{
    static const spurity_cli_word words[] = {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'}, {"bar", '|'},
                                             {"blank", ' '}, {",", ','},         {";", ';'},    {"|", '|'}};
    int number = 0;
    if (spurity_cli_choose(words, strlen(value) == 1 ? 8 : 5, what, value, &number, error))
        return error->status;
    *(char *)field = (char)number;
    said(understood, value);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_decimal_mark)
{
    static const spurity_cli_word words[] = {{"point", '.'}, {"comma", ','}, {".", '.'}, {",", ','}};
    int number = 0;
    if (spurity_cli_choose(words, strlen(value) == 1 ? 4 : 2, what, value, &number, error))
        return error->status;
    *(char *)field = (char)number;
    said(understood, number == '.' ? "point" : "comma");
    return SPURITY_OK;
}

SETTER(spurity_cli_set_level_unit)
{
    spurity_level_unit unit = spurity_level_unit_from_text(value, strlen(value));
    if (unit == SPURITY_LEVEL_UNKNOWN || unit == SPURITY_LEVEL_DB || unit == SPURITY_LEVEL_OTHER)
        return refuse(value, what, option->line, error);
    store(field, (int)unit);
    said(understood, spurity_level_unit_name(unit));
    return SPURITY_OK;
}

SETTER(spurity_cli_set_frequency_unit)
{
    double hz = spurity_frequency_unit_from_text(value, strlen(value));
    if (hz <= 0)
        return refuse(value, what, option->line, error);
    *(double *)field = hz;
    said(understood, value);
    return SPURITY_OK;
}

/* ---- one quantity -------------------------------------------------------------------------------- */

SETTER(spurity_cli_set_edge)
{
    double hz;
    if (spurity_parse_frequency(value, what, nowhere, &hz, error))
        return error->status;
    *(double *)field = hz;
    spurity_format_frequency(understood, SPURITY_CLI_UNDERSTOOD, hz, 6);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_frequency)
{
    double hz;
    if (spurity_parse_frequency(value, what, nowhere, &hz, error))
        return error->status;
    if (hz <= 0)
        return refuse(value, what, "a frequency above 0", error);
    *(double *)field = hz;
    spurity_format_frequency(understood, SPURITY_CLI_UNDERSTOOD, hz, 6);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_db)
{
    double db;
    if (spurity_parse_ratio(value, what, nowhere, &db, error))
        return error->status;
    if (db < 0)
        return refuse(value, what, "0 dB or more", error);
    *(double *)field = db;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g dB", db);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_impedance)
{
    double ohm;
    if (spurity_parse_impedance(value, what, nowhere, &ohm, error))
        return error->status;
    *(double *)field = ohm;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g ohm", ohm);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_ppm)
{
    double ppm;
    if (spurity_parse_ppm(value, what, nowhere, &ppm, error))
        return error->status;
    *(double *)field = ppm;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g ppm", ppm);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_date)
{
    spurity_date date;
    if (spurity_parse_date(value, what, nowhere, &date, error))
        return error->status;
    *(spurity_date *)field = date;
    spurity_format_date(understood, SPURITY_CLI_UNDERSTOOD, date);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_harmonics)
{
    long count;
    if (spurity_parse_count(value, what, nowhere, 2, 100, &count, error))
        return error->status;
    *(int *)field = (int)count;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%ld", count);
    return SPURITY_OK;
}

/* ITU-R V.573: the gain of a half-wave dipole in free space is 2.15 dBi. */
static const double dipole_dbi = 2.15;

SETTER(spurity_cli_set_gain)
{
    double gain;
    size_t took = spurity_number_parse(value, strlen(value), '.', &gain);
    const char *unit = value + took;
    while (*unit == ' ')
        unit++;
    bool dipole = !strcasecmp(unit, "dBd");
    if (!took || fabs(gain) > 100 || (!dipole && strcasecmp(unit, "dBi")))
        return refuse(value, what, "a gain with its unit, such as 0dBd or 2.15dBi", error);
    *(double *)field = dipole ? gain : gain - dipole_dbi;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g dBd", *(double *)field);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_text)
{
    if (!*value)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "%s needs a value", what);
    *(const char **)field = value;
    said(understood, value);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_flag)
{
    *(bool *)field = true;
    said(understood, "yes");
    return SPURITY_OK;
}

SETTER(spurity_cli_set_plot)
{
    if (!spurity_cli_picture_kind(value))
        return refuse(value, what, "a name that ends in .svg, .png or .pdf", error);
    *(const char **)field = value;
    said(understood, value);
    return SPURITY_OK;
}

/* A page of HTML under another kind's name would be opened by the wrong program. */
SETTER(spurity_cli_set_report)
{
    const char *slash = strrchr(value, '/'), *dot = strrchr(slash ? slash : value, '.');
    if (!value[0] || (dot && strcasecmp(dot, ".html") != 0 && strcasecmp(dot, ".htm") != 0))
        return refuse(value, what, "a name that ends in .html", error);
    *(const char **)field = value;
    said(understood, value);
    return SPURITY_OK;
}

/* ITU Radio Regulations, Appendix 1: necessary bandwidth as three digits and a letter in the place of the decimal point
 * (H, K, M, G), then three symbols (letter, digit, letter), then at most two more. */
static bool is_designator(const char *text)
{
    size_t length = strlen(text);
    const char *type = text;
    if (length > 5) {
        int digits = 0, marks = 0;
        for (int i = 0; i < 4; i++) {
            digits += isdigit((unsigned char)text[i]) != 0;
            marks += strchr("HKMG", text[i]) != NULL;
        }
        if (digits != 3 || marks != 1)
            return false;
        type += 4;
    }
    length = strlen(type);
    return length >= 3 && length <= 5 && isupper((unsigned char)type[0]) && isdigit((unsigned char)type[1]) &&
           isupper((unsigned char)type[2]);
}

SETTER(spurity_cli_set_emission)
{
    if (!is_designator(value))
        return refuse(value, what, "a type of emission such as F3E, or a designator such as 16K0F3E", error);
    *(const char **)field = value;
    said(understood, value);
    return SPURITY_OK;
}

/* ---- of a reading -------------------------------------------------------------------------------- */

static const char *chain_word(spurity_chain_kind kind)
{
    return kind == SPURITY_CHAIN_DIRECT ? "direct" : kind == SPURITY_CHAIN_CORRECTED ? "corrected" : "a pad or loss";
}

static spurity_status contradiction(const char *what, spurity_chain_kind other, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL,
                           "say either what stands in between, or direct, or corrected", "%s together with %s", what,
                           chain_word(other));
}

static spurity_status add_part(const char *what, spurity_cli_reading *reading, bool is_loss, const char *text,
                               spurity_error *error)
{
    if (reading->chain == SPURITY_CHAIN_DIRECT || reading->chain == SPURITY_CHAIN_CORRECTED)
        return contradiction(what, reading->chain, error);
    if (reading->part_count == SPURITY_CLI_PARTS)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, "join some of them into one loss table",
                               "more than %d pads and losses in a row", SPURITY_CLI_PARTS);
    reading->chain = SPURITY_CHAIN_ELEMENTS;
    reading->parts[reading->part_count++] = (spurity_cli_part){.is_loss = is_loss, .text = text};
    return SPURITY_OK;
}

/* The chain stage reads a pad's fields; trying it on a chain of its own tells mistakes at the option. */
SETTER(spurity_cli_set_pad)
{
    spurity_chain *trial = NULL;
    if (spurity_chain_create(&trial, error))
        return error->status;
    spurity_status status = spurity_chain_add_pad_text(trial, value, error);
    if (!status)
        spurity_chain_describe(trial, 0, understood, SPURITY_CLI_UNDERSTOOD);
    spurity_chain_free(trial);
    return status ? status : add_part(what, field, false, value, error);
}

SETTER(spurity_cli_set_loss)
{
    said(understood, value);
    if (!*value)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "%s needs a file's name", what);
    return add_part(what, field, true, value, error);
}

static spurity_status set_chain(const char *what, spurity_cli_reading *reading, spurity_chain_kind kind,
                                char *understood, spurity_error *error)
{
    said(understood, "yes");
    if (reading->chain != SPURITY_CHAIN_UNSTATED && reading->chain != kind)
        return contradiction(what, reading->chain, error);
    reading->chain = kind;
    return SPURITY_OK;
}

SETTER(spurity_cli_set_direct)
{
    return set_chain(what, field, SPURITY_CHAIN_DIRECT, understood, error);
}

SETTER(spurity_cli_set_corrected)
{
    return set_chain(what, field, SPURITY_CHAIN_CORRECTED, understood, error);
}

SETTER(spurity_cli_set_detector)
{
    static const spurity_cli_word words[] = {{"sample", SPURITY_DETECTOR_SAMPLE},
                                             {"average", SPURITY_DETECTOR_AVERAGE},
                                             {"log-average", SPURITY_DETECTOR_LOG_AVERAGE},
                                             {"peak", SPURITY_DETECTOR_PEAK},
                                             {"max-hold", SPURITY_DETECTOR_MAX_HOLD}};
    spurity_cli_reading *reading = field;
    char word[32];
    int number = 0;
    long sweeps = 0;
    const char *comma = strchr(value, ',');
    snprintf(word, sizeof word, "%.*s", comma ? (int)(comma - value) : (int)strlen(value), value);
    if (CHOOSE(words, word, &number))
        return error->status;
    if (comma && spurity_parse_count(comma + 1, what, nowhere, 1, 1000000000, &sweeps, error))
        return error->status;
    reading->read.detector = (spurity_detector)number;
    if (comma) {
        reading->read.averages = (double)sweeps;
        snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s of %ld", word, sweeps);
    } else
        said(understood, word);
    return SPURITY_OK;
}

/* ---- of the settings ----------------------------------------------------------------------------- */

/* Cuts `value` at `at` into two texts. */
static bool cut(const char *value, size_t at, size_t skip, char left[64], char right[64])
{
    if (at >= 64 || strlen(value + at + skip) >= 64)
        return false;
    memcpy(left, value, at);
    left[at] = 0;
    strcpy(right, value + at + skip);
    return true;
}

SETTER(spurity_cli_set_power)
{
    spurity_test_point *point = &((spurity_cli_settings *)field)->point;
    char low[64], high[64], low_text[48], high_text[48];
    double watts[2];
    size_t length = strlen(value);
    bool pep = length > 4 && !strcasecmp(value + length - 4, ",pep");
    char reading[128];
    snprintf(reading, sizeof reading, "%.*s", (int)(pep ? length - 4 : length), value);
    const char *dots = strstr(reading, "..");
    if (dots && !cut(reading, (size_t)(dots - reading), 2, low, high))
        return refuse(value, what, "a power such as 4.7W, or 4.5W..5W", error);
    if (spurity_parse_power(dots ? low : reading, what, nowhere, &watts[0], error) ||
        spurity_parse_power(dots ? high : reading, what, nowhere, &watts[1], error))
        return error->status;
    if (watts[0] > watts[1])
        return refuse(value, what, "the lower power first", error);
    point->power_low_w = watts[0];
    point->power_high_w = watts[1];
    point->power_is_pep = pep;
    spurity_format_power(low_text, sizeof low_text, watts[0]);
    spurity_format_power(high_text, sizeof high_text, watts[1]);
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s%s%s%s", low_text, dots ? " to " : "", dots ? high_text : "",
             pep ? " PEP" : " mean");
    return SPURITY_OK;
}

SETTER(spurity_cli_set_range)
{
    static const char form[] = "two frequencies with their units, the lower one first, such as 30M-1G";
    spurity_test_point *point = &((spurity_cli_settings *)field)->point;
    char from[64], to[64], from_text[64], to_text[64];
    double hz[2];
    size_t dash = strcspn(value, "-");
    if (!value[dash] || !cut(value, dash, 1, from, to))
        return refuse(value, what, form, error);
    if (spurity_parse_frequency(from, what, nowhere, &hz[0], error) ||
        spurity_parse_frequency(to, what, nowhere, &hz[1], error))
        return error->status;
    /* "30-1000M" would read as 30 Hz */
    bool bare = isdigit((unsigned char)from[strlen(from) - 1]) && !isdigit((unsigned char)to[strlen(to) - 1]);
    if (hz[0] < 0 || hz[0] >= hz[1] || (bare && hz[0] > 0))
        return refuse(value, what, form, error);
    point->range_from_hz = hz[0];
    point->range_to_hz = hz[1];
    spurity_format_frequency(from_text, sizeof from_text, hz[0], 6);
    spurity_format_frequency(to_text, sizeof to_text, hz[1], 6);
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%s to %s", from_text, to_text);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_only)
{
    static const spurity_cli_word words[] = {{"emissions", SPURITY_GROUP_EMISSIONS},
                                             {"power", SPURITY_GROUP_POWER},
                                             {"mask", SPURITY_GROUP_MASK},
                                             {"frequency", SPURITY_GROUP_FREQUENCY},
                                             {"modulation", SPURITY_GROUP_MODULATION}};
    spurity_test_point *point = &((spurity_cli_settings *)field)->point;
    unsigned groups = 0;
    for (const char *at = value; at; at = strchr(at, ',') ? strchr(at, ',') + 1 : NULL) {
        char word[48];
        int bit = 0;
        snprintf(word, sizeof word, "%.*s", (int)strcspn(at, ","), at);
        if (CHOOSE(words, word, &bit))
            return error->status;
        groups |= (unsigned)bit;
    }
    point->only = groups;
    said(understood, value);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_uncertainty)
{
    spurity_test_point *point = &((spurity_cli_settings *)field)->point;
    char level[64], ratio[64];
    double dbm, dbc;
    const char *comma = strchr(value, ',');
    if (comma && !cut(value, (size_t)(comma - value), 1, level, ratio))
        return refuse(value, what, "such as 2.0,1.5", error);
    if (spurity_parse_ratio(comma ? level : value, what, nowhere, &dbm, error))
        return error->status;
    dbc = dbm < 1.5 ? dbm : 1.5; /* contract: unsaid, the smaller of DBM and 1.5 */
    if (comma && spurity_parse_ratio(ratio, what, nowhere, &dbc, error))
        return error->status;
    if (dbm < 0 || dbc < 0)
        return refuse(value, what, "0 dB or more", error);
    point->uncertainty_dbm = dbm;
    point->uncertainty_dbc = dbc;
    point->uncertainty_assumed = false;
    snprintf(understood, SPURITY_CLI_UNDERSTOOD, "%g dB, %g dB", dbm, dbc);
    return SPURITY_OK;
}

SETTER(spurity_cli_set_rules)
{
    spurity_cli_settings *settings = field;
    if (settings->rules_count == SPURITY_CLI_RULES)
        return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "more than %d rule sets",
                               SPURITY_CLI_RULES);
    for (size_t i = 0; i < settings->rules_count; i++)
        if (!strcmp(settings->rules[i], value))
            return spurity_reportf(error, SPURITY_INVALID, nowhere, NULL, NULL, "%s '%s' is given twice", what, value);
    settings->rules[settings->rules_count++] = value;
    said(understood, value);
    return SPURITY_OK;
}
