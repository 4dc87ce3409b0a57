/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "schema.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define OPTIONAL_TEXT(type, member) CYAML_FIELD_STRING_PTR(#member, TEXT | CYAML_FLAG_OPTIONAL, type, member, 1, 120)
#define REQUIRED_TEXT(type, member, most) CYAML_FIELD_STRING_PTR(#member, TEXT, type, member, 1, most)
#define OPTIONAL_PART(type, member, fields)                                                                            \
    CYAML_FIELD_MAPPING_PTR(#member, CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, type, member, fields)
#define OPTIONAL_LIST(type, member, entry, most)                                                                       \
    CYAML_FIELD_SEQUENCE(#member, CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, type, member, entry, 1, most)

enum { TEXT = CYAML_FLAG_POINTER };

static const cyaml_schema_value_t word = {CYAML_VALUE_STRING(CYAML_FLAG_POINTER, char, 1, 60)};

#define ENDS                                                                                                           \
    OPTIONAL_TEXT(struct raw_range, from), OPTIONAL_TEXT(struct raw_range, up_to),                                     \
        OPTIONAL_TEXT(struct raw_range, above), OPTIONAL_TEXT(struct raw_range, below)
static const cyaml_schema_field_t range_fields[] = {ENDS, CYAML_FIELD_END};
static const cyaml_schema_field_t power_fields[] = {REQUIRED_TEXT(struct raw_range, of, 40), ENDS, CYAML_FIELD_END};
static const cyaml_schema_field_t offset_fields[] = {OPTIONAL_TEXT(struct raw_range, from_centre_of), ENDS,
                                                     CYAML_FIELD_END};

static const cyaml_schema_field_t dates_fields[] = {
    OPTIONAL_PART(struct raw_dates, installed, range_fields), OPTIONAL_PART(struct raw_dates, marketed, range_fields),
    OPTIONAL_PART(struct raw_dates, built, range_fields), CYAML_FIELD_END};

static const cyaml_schema_field_t band_fields[] = {
    OPTIONAL_TEXT(struct raw_band, from), OPTIONAL_TEXT(struct raw_band, up_to), OPTIONAL_TEXT(struct raw_band, centre),
    OPTIONAL_TEXT(struct raw_band, width), CYAML_FIELD_END};
static const cyaml_schema_value_t band = {CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_band, band_fields)};

static const cyaml_schema_field_t applies_fields[] = {OPTIONAL_PART(struct raw_applies, carrier, range_fields),
                                                      OPTIONAL_PART(struct raw_applies, power, power_fields),
                                                      OPTIONAL_PART(struct raw_applies, bandwidth, range_fields),
                                                      OPTIONAL_PART(struct raw_applies, dates, dates_fields),
                                                      OPTIONAL_TEXT(struct raw_applies, audio_filter),
                                                      OPTIONAL_LIST(struct raw_applies, station, &word, 40),
                                                      OPTIONAL_LIST(struct raw_applies, emission, &word, 60),
                                                      OPTIONAL_LIST(struct raw_applies, channels, &word, 400),
                                                      OPTIONAL_LIST(struct raw_applies, bands, &band, 200),
                                                      CYAML_FIELD_END};

static const cyaml_schema_field_t unless_fields[] = {OPTIONAL_TEXT(struct raw_unless, installed_before),
                                                     OPTIONAL_TEXT(struct raw_unless, marketed_before),
                                                     OPTIONAL_TEXT(struct raw_unless, built_before), CYAML_FIELD_END};
static const cyaml_schema_value_t exemption = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_unless, unless_fields)};

static const cyaml_schema_field_t where_fields[] = {OPTIONAL_TEXT(struct raw_where, from),
                                                    OPTIONAL_PART(struct raw_where, offset, offset_fields),
                                                    OPTIONAL_PART(struct raw_where, absolute, range_fields),
                                                    OPTIONAL_TEXT(struct raw_where, around),
                                                    OPTIONAL_TEXT(struct raw_where, width),
                                                    CYAML_FIELD_END};

static const cyaml_schema_field_t suppression_fields[] = {OPTIONAL_TEXT(struct raw_suppression, fixed),
                                                          OPTIONAL_TEXT(struct raw_suppression, a),
                                                          OPTIONAL_TEXT(struct raw_suppression, b),
                                                          OPTIONAL_TEXT(struct raw_suppression, log10),
                                                          OPTIONAL_TEXT(struct raw_suppression, times),
                                                          REQUIRED_TEXT(struct raw_suppression, below, 40),
                                                          CYAML_FIELD_END};

/* A limit holds limits: the schema refers to itself; the document pass has capped the depth. */
static const cyaml_schema_value_t limit_value;
static const cyaml_schema_field_t limit_fields[] = {
    OPTIONAL_TEXT(struct raw_limit, level),
    OPTIONAL_TEXT(struct raw_limit, of),
    OPTIONAL_PART(struct raw_limit, suppression, suppression_fields),
    CYAML_FIELD_SEQUENCE("lowest_of", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, struct raw_limit, lowest_of,
                         &limit_value, 2, 20),
    CYAML_FIELD_SEQUENCE("highest_of", CYAML_FLAG_POINTER | CYAML_FLAG_OPTIONAL, struct raw_limit, highest_of,
                         &limit_value, 2, 20),
    CYAML_FIELD_END};
static const cyaml_schema_value_t limit_value = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_limit, limit_fields)};

static const cyaml_schema_field_t clause_fields[] = {REQUIRED_TEXT(struct raw_clause, clause, 60),
                                                     REQUIRED_TEXT(struct raw_clause, citation, 200),
                                                     OPTIONAL_TEXT(struct raw_clause, edition),
                                                     REQUIRED_TEXT(struct raw_clause, status, 40),
                                                     REQUIRED_TEXT(struct raw_clause, says, 600),
                                                     REQUIRED_TEXT(struct raw_clause, group, 40),
                                                     REQUIRED_TEXT(struct raw_clause, quantity, 40),
                                                     OPTIONAL_PART(struct raw_clause, applies, applies_fields),
                                                     OPTIONAL_LIST(struct raw_clause, unless, &exemption, 20),
                                                     OPTIONAL_PART(struct raw_clause, where, where_fields),
                                                     OPTIONAL_TEXT(struct raw_clause, reference_bandwidth),
                                                     OPTIONAL_TEXT(struct raw_clause, detector),
                                                     OPTIONAL_PART(struct raw_clause, limit, limit_fields),
                                                     OPTIONAL_LIST(struct raw_clause, bands, &band, 200),
                                                     CYAML_FIELD_END};
static const cyaml_schema_value_t clause = {CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_clause, clause_fields)};

static const cyaml_schema_field_t channel_fields[] = {REQUIRED_TEXT(struct raw_channel, number, 20),
                                                      REQUIRED_TEXT(struct raw_channel, frequency, 60),
                                                      REQUIRED_TEXT(struct raw_channel, bandwidth, 60),
                                                      OPTIONAL_TEXT(struct raw_channel, power),
                                                      OPTIONAL_TEXT(struct raw_channel, of),
                                                      CYAML_FIELD_END};
static const cyaml_schema_value_t channel = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_channel, channel_fields)};

static const cyaml_schema_field_t bandwidth_fields[] = {
    OPTIONAL_TEXT(struct raw_bandwidth, channel), REQUIRED_TEXT(struct raw_bandwidth, authorised, 60),
    OPTIONAL_PART(struct raw_bandwidth, carrier, range_fields),
    OPTIONAL_LIST(struct raw_bandwidth, emission, &word, 60), CYAML_FIELD_END};
static const cyaml_schema_value_t bandwidth = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_bandwidth, bandwidth_fields)};

static const cyaml_schema_field_t span_fields[] = {OPTIONAL_PART(struct raw_span, carrier, range_fields),
                                                   REQUIRED_TEXT(struct raw_span, from, 60),
                                                   OPTIONAL_TEXT(struct raw_span, up_to),
                                                   OPTIONAL_TEXT(struct raw_span, harmonics),
                                                   REQUIRED_TEXT(struct raw_span, citation, 200),
                                                   REQUIRED_TEXT(struct raw_span, status, 40),
                                                   CYAML_FIELD_END};
static const cyaml_schema_value_t span = {CYAML_VALUE_MAPPING(CYAML_FLAG_DEFAULT, struct raw_span, span_fields)};

static const cyaml_schema_field_t file_fields[] = {
    REQUIRED_TEXT(struct raw_file, format, 40),
    REQUIRED_TEXT(struct raw_file, version, 20),
    REQUIRED_TEXT(struct raw_file, id, 60),
    REQUIRED_TEXT(struct raw_file, title, 200),
    REQUIRED_TEXT(struct raw_file, edition, 200),
    OPTIONAL_TEXT(struct raw_file, antenna),
    OPTIONAL_LIST(struct raw_file, channels, &channel, 400),
    OPTIONAL_LIST(struct raw_file, bandwidths, &bandwidth, 100),
    OPTIONAL_LIST(struct raw_file, investigated, &span, 40),
    CYAML_FIELD_SEQUENCE("clauses", CYAML_FLAG_POINTER, struct raw_file, clauses, &clause, 1, 500),
    CYAML_FIELD_END};
const cyaml_schema_value_t spurity_rules_schema = {
    CYAML_VALUE_MAPPING(CYAML_FLAG_POINTER, struct raw_file, file_fields)};

/* ---- reading ------------------------------------------------------------------------------------- */

/** The first error text and the innermost line libcyaml logged. */
struct log_catcher {
    char text[160];
    unsigned long line;
};

static void catch_log(cyaml_log_t level, void *context, const char *format, va_list arguments) SPURITY_PRINTF(3, 0);
static void catch_log(cyaml_log_t level, void *context, const char *format, va_list arguments)
{
    struct log_catcher *log = context;
    char line[256];
    vsnprintf(line, sizeof line, format, arguments);
    line[strcspn(line, "\n")] = '\0';
    if (level >= CYAML_LOG_ERROR && !log->text[0])
        snprintf(log->text, sizeof log->text, "%.150s", line);
    const char *at = strstr(line, "(line: ");
    if (at && !log->line)
        log->line = strtoul(at + strlen("(line: "), NULL, 10);
}

static const cyaml_config_t free_config = {
    .log_level = CYAML_LOG_ERROR, .mem_fn = cyaml_mem, .flags = CYAML_CFG_NO_ALIAS};

spurity_status spurity_rules_read_raw(const char *name, const char *yaml, size_t size, struct raw_file **raw,
                                      spurity_error *error)
{
    struct log_catcher log = {"", 0};
    cyaml_config_t config = free_config;
    config.log_fn = catch_log;
    config.log_ctx = &log;
    config.log_level = CYAML_LOG_NOTICE;
    cyaml_data_t *data = NULL;
    cyaml_err_t failed = cyaml_load_data((const uint8_t *)yaml, size, &config, &spurity_rules_schema, &data, NULL);
    *raw = (struct raw_file *)data;
    /* the events were read once already: that libyaml fails now can only mean memory */
    if (failed == CYAML_ERR_OOM || failed == CYAML_ERR_LIBYAML_PARSER_INIT || failed == CYAML_ERR_LIBYAML_PARSER)
        return spurity_report_memory(error);
    if (failed || !data) { /* an empty document succeeds with no data */
        spurity_place at = {.file = name, .line = log.line};
        *raw = NULL;
        return spurity_report(error, SPURITY_INVALID, at, log.text[0] ? log.text : cyaml_strerror(failed),
                              "a rule file", NULL);
    }
    return SPURITY_OK;
}

void spurity_rules_free_raw(struct raw_file *raw)
{
    if (raw)
        cyaml_free(&free_config, &spurity_rules_schema, raw, 0);
}
