/* SPDX-License-Identifier: GPL-2.0-or-later */
/* From the raw texts of a checked file to clauses. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

static const char *const group_words[] = {"emissions", "power", "mask", "frequency", "modulation", NULL};

static int child(const struct rules_loader *loader, int node, const char *key)
{
    return spurity_document_key(loader->document, node, key);
}

/* ---- where --------------------------------------------------------------------------------------- */

static spurity_status build_from(const struct rules_loader *loader, int node, const char *from,
                                 struct rules_where *where)
{
    where->kind = WHERE_FROM;
    where->range.low.set = where->range.low.inclusive = true;
    if (!strcmp(from, "necessary bandwidth")) {
        where->from_necessary_bandwidth = true;
        return SPURITY_OK;
    }
    if (!strcmp(from, "spurious domain")) {
        where->from_spurious_domain = true;
        return SPURITY_OK;
    }
    int at = child(loader, node, "from");
    if (from[0] < '0' || from[0] > '9') /* a word: answer with the word */
        return spurity_rules_bad(loader, at,
                                 "necessary bandwidth, spurious domain, an offset as 12.5 kHz, or a share as 250 %",
                                 NULL, "'%.50s'", from);
    return spurity_rules_width(loader, at, from, &where->range.low);
}

static spurity_status build_offset(const struct rules_loader *loader, int node, const struct raw_range *raw,
                                   struct rules_where *where)
{
    static const char *const words[] = {"channel", "bandwidth", NULL};
    where->kind = WHERE_OFFSET;
    if (raw->from_centre_of) {
        int word = 0;
        spurity_status status =
            spurity_rules_word(loader, child(loader, node, "from_centre_of"), words, raw->from_centre_of, &word);
        if (status)
            return status;
        where->from_channel_centre = word == 0;
    }
    return spurity_rules_range(loader, node, raw, MEASURE_FREQUENCY, true, &where->range);
}

static spurity_status build_around(const struct rules_loader *loader, int node, const struct raw_where *raw,
                                   struct rules_where *where)
{
    static const char *const words[] = {"harmonics", NULL};
    int word = 0;
    where->kind = WHERE_HARMONICS;
    spurity_status status = spurity_rules_word(loader, child(loader, node, "around"), words, raw->around, &word);
    if (status)
        return status;
    if (!raw->width)
        return spurity_rules_bad(loader, node, "width: as 20 kHz or 250 %", NULL, "'around' without a 'width'");
    return spurity_rules_width(loader, child(loader, node, "width"), raw->width, &where->width);
}

spurity_status spurity_rules_build_where(const struct rules_loader *loader, int node, const struct raw_where *raw,
                                         struct rules_where *where)
{
    bool beside = raw->absolute && (raw->from || raw->offset); /* both must hold */
    int forms = (raw->from != NULL) + (raw->offset != NULL) + (raw->absolute && !beside) + (raw->around != NULL);
    if (forms != 1)
        return spurity_rules_bad(
            loader, node, "exactly one of from, offset, absolute, around (absolute may stand beside from, offset)",
            NULL, "%d forms", forms);
    if (raw->width && !raw->around)
        return spurity_rules_bad(loader, node, "'width' beside 'around' only", NULL, "'width'");
    if (beside) {
        spurity_status status = spurity_rules_range(loader, child(loader, node, "absolute"), raw->absolute,
                                                    MEASURE_FREQUENCY, false, &where->within);
        if (status)
            return status;
    }
    if (raw->from)
        return build_from(loader, node, raw->from, where);
    if (raw->offset)
        return build_offset(loader, child(loader, node, "offset"), raw->offset, where);
    if (raw->around)
        return build_around(loader, node, raw, where);
    where->kind = WHERE_ABSOLUTE;
    return spurity_rules_range(loader, child(loader, node, "absolute"), raw->absolute, MEASURE_FREQUENCY, false,
                               &where->range);
}

/* ---- applies ------------------------------------------------------------------------------------- */

static spurity_status build_power(const struct rules_loader *loader, int node, const struct raw_range *raw,
                                  struct spurity_clause *clause)
{
    if (!raw)
        return SPURITY_OK;
    int word = 0, at = child(loader, node, "power");
    spurity_status status = spurity_rules_word(loader, child(loader, at, "of"), spurity_power_words, raw->of, &word);
    if (status)
        return status;
    clause->power_of = (spurity_reference)word;
    return spurity_rules_range(loader, at, raw, MEASURE_POWER, false, &clause->power);
}

static spurity_status build_dates(const struct rules_loader *loader, int node, const struct raw_dates *raw,
                                  struct spurity_clause *clause)
{
    static const char *const keys[] = {"installed", "marketed", "built"};
    if (!raw)
        return SPURITY_OK;
    int at = child(loader, node, "dates");
    const struct raw_range *ranges[] = {raw->installed, raw->marketed, raw->built};
    if (!ranges[0] && !ranges[1] && !ranges[2])
        return spurity_rules_bad(loader, at, "installed, marketed or built", NULL, "no date");
    for (int i = 0; i < 3; i++) {
        spurity_status status =
            spurity_rules_range(loader, child(loader, at, keys[i]), ranges[i], MEASURE_DATE, false, &clause->dates[i]);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status build_audio_filter(const struct rules_loader *loader, int node, const char *raw,
                                         struct spurity_clause *clause)
{
    static const char *const words[] = {"no", "yes", NULL};
    if (!raw)
        return SPURITY_OK;
    return spurity_rules_word(loader, child(loader, node, "audio_filter"), words, raw, &clause->audio_filter);
}

/** Channels a clause names must stand in the file's table; "all" is every one. */
static spurity_status build_clause_channels(const struct rules_loader *loader, int node, const struct raw_applies *raw,
                                            struct spurity_clause *clause)
{
    int list = child(loader, node, "channels");
    clause->channels = raw->channels;
    clause->channel_count = raw->channels_count;
    for (size_t i = 0; i < raw->channels_count; i++) {
        bool known = !strcmp(raw->channels[i], "all") && clause->rules->channel_count;
        for (size_t k = 0; k < clause->rules->channel_count && !known; k++)
            known = !strcmp(raw->channels[i], clause->rules->channels[k].number);
        if (!known)
            return spurity_rules_bad(loader, spurity_document_item(loader->document, list, i),
                                     "a number of the file's own table of channels, or all", NULL, "channel '%.20s'",
                                     raw->channels[i]);
    }
    return SPURITY_OK;
}

static spurity_status build_applies(const struct rules_loader *loader, int node, const struct raw_applies *raw,
                                    struct spurity_clause *clause)
{
    clause->audio_filter = -1;
    if (!raw)
        return SPURITY_OK;
    clause->emissions = raw->emission;
    clause->emission_count = raw->emission_count;
    clause->stations = raw->station;
    clause->station_count = raw->station_count;
    spurity_status status = spurity_rules_range(loader, child(loader, node, "carrier"), raw->carrier, MEASURE_FREQUENCY,
                                                false, &clause->carrier);
    if (!status)
        status = spurity_rules_range(loader, child(loader, node, "bandwidth"), raw->bandwidth, MEASURE_FREQUENCY, false,
                                     &clause->bandwidth);
    if (!status)
        status = build_power(loader, node, raw->power, clause);
    if (!status)
        status = build_dates(loader, node, raw->dates, clause);
    if (!status)
        status = build_audio_filter(loader, node, raw->audio_filter, clause);
    if (!status)
        status = build_clause_channels(loader, node, raw, clause);
    if (status)
        return status;
    clause->applies_band_count = raw->bands_count;
    return spurity_rules_bands(loader, child(loader, node, "bands"), raw->bands, raw->bands_count,
                               &clause->applies_bands);
}

static spurity_status build_exemptions(const struct rules_loader *loader, int node, const struct raw_clause *raw,
                                       struct spurity_clause *clause)
{
    static const char *const keys[] = {"installed_before", "marketed_before", "built_before"};
    if (!raw->unless_count)
        return SPURITY_OK;
    clause->exemptions = calloc(raw->unless_count, sizeof *clause->exemptions);
    if (!clause->exemptions)
        return spurity_report_memory(loader->error);
    clause->exemption_count = raw->unless_count;
    for (size_t i = 0; i < raw->unless_count; i++) {
        const char *texts[] = {raw->unless[i].installed_before, raw->unless[i].marketed_before,
                               raw->unless[i].built_before};
        int at = spurity_document_item(loader->document, node, i), found = -1, count = 0;
        for (int k = 0; k < 3; k++)
            if (texts[k]) {
                found = k;
                count++;
            }
        if (count != 1)
            return spurity_rules_bad(loader, at, "one of installed_before, marketed_before, built_before", NULL,
                                     "%d dates", count);
        double date = 0.0;
        spurity_status status =
            spurity_rules_quantity(loader, child(loader, at, keys[found]), texts[found], MEASURE_DATE, &date);
        if (status)
            return status;
        clause->exemptions[i].kind = (spurity_date_kind)found;
        clause->exemptions[i].before = (spurity_date)date;
    }
    return SPURITY_OK;
}

/* ---- a clause ------------------------------------------------------------------------------------ */

static bool is_spectral(spurity_quantity_limited quantity)
{
    return quantity == SPURITY_QUANTITY_SPURIOUS_EMISSION || quantity == SPURITY_QUANTITY_MASK;
}

/** "300 Hz" or "at least 30 kHz". */
static spurity_status read_reference(const struct rules_loader *loader, int at, const char *text, double *hz)
{
    static const char at_least[] = "at least ";
    const char *figure = strncmp(text, at_least, sizeof at_least - 1) ? text : text + sizeof at_least - 1;
    if (figure[0] < '0' || figure[0] > '9')
        return spurity_rules_bad(loader, at,
                                 "itu, a figure as 300 Hz, at least 30 kHz, or two: 100 kHz, above 1 GHz 1 MHz", NULL,
                                 "'%.50s'", text);
    return spurity_rules_quantity(loader, at, figure, MEASURE_FREQUENCY, hz);
}

/** "100 kHz, above 1 GHz 1 MHz": the step is the first quantity of the second part. */
static spurity_status read_second_reference(const struct rules_loader *loader, int at, const char *text,
                                            struct rules_reference *reference)
{
    char step[40];
    size_t number = strcspn(text, " ");
    size_t length = number + strspn(text + number, " ");
    length += strcspn(text + length, " ");
    snprintf(step, sizeof step, "%.*s", (int)(length < sizeof step ? length : sizeof step - 1), text);
    spurity_status status = spurity_rules_quantity(loader, at, step, MEASURE_FREQUENCY, &reference->step_hz);
    return status ? status
                  : read_reference(loader, at, text + length + strspn(text + length, " "), &reference->above_hz);
}

/** "itu", one of the forms above, or two of them with the frequency above which the second holds. */
static spurity_status build_reference_bandwidth(const struct rules_loader *loader, int node, const char *text,
                                                struct rules_reference *reference)
{
    static const char above[] = ", above ";
    reference->said = text != NULL;
    reference->hz = reference->step_hz = reference->above_hz = NAN;
    if (!text)
        return SPURITY_OK;
    reference->itu = !strcmp(text, "itu");
    if (reference->itu)
        return SPURITY_OK;
    char first[60];
    int at = child(loader, node, "reference_bandwidth");
    const char *second = strstr(text, above);
    size_t length = second ? (size_t)(second - text) : strlen(text);
    snprintf(first, sizeof first, "%.*s", (int)(length < sizeof first ? length : sizeof first - 1), text);
    spurity_status status = read_reference(loader, at, first, &reference->hz);
    return status || !second ? status : read_second_reference(loader, at, second + sizeof above - 1, reference);
}

static spurity_status build_words(const struct rules_loader *loader, int node, const struct raw_clause *raw,
                                  struct spurity_clause *clause)
{
    static const char *const status_words[] = {"unverified", "confirmed", NULL};
    static const char *const detector_words[] = {"mean", "peak", "mean or peak", NULL};
    int word = 0;
    spurity_status status = spurity_rules_word(loader, child(loader, node, "status"), status_words, raw->status, &word);
    clause->facts.confirmed = word == 1;
    if (!status)
        status = spurity_rules_word(loader, child(loader, node, "group"), group_words, raw->group, &word);
    if (!status)
        status =
            spurity_rules_word(loader, child(loader, node, "quantity"), spurity_quantity_words, raw->quantity, &word);
    if (!status)
        clause->facts.quantity = (spurity_quantity_limited)word;
    if (!status && raw->detector)
        status = spurity_rules_word(loader, child(loader, node, "detector"), detector_words, raw->detector, &word);
    clause->facts.clause = raw->clause;
    clause->facts.citation = raw->citation;
    clause->facts.says = raw->says;
    clause->facts.group = raw->group;
    clause->facts.detector = raw->detector;
    clause->facts.reference_bandwidth = raw->reference_bandwidth;
    clause->facts.line = loader->document->nodes[node].line;
    clause->facts.edition = raw->edition;
    return status ? status : build_reference_bandwidth(loader, node, raw->reference_bandwidth, &clause->reference);
}

static bool raw_has_channels(const struct rules_loader *loader)
{
    return child(loader, 0, "channels") != 0;
}

/** Which parts a quantity must have, and may not. */
static spurity_status check_parts(const struct rules_loader *loader, int node, const struct raw_clause *raw,
                                  spurity_quantity_limited quantity)
{
    const char *name = spurity_quantity_limited_name(quantity);
    bool band = quantity == SPURITY_QUANTITY_BAND;
    bool channel = quantity == SPURITY_QUANTITY_CHANNEL;
    bool figure = !band && !channel && quantity != SPURITY_QUANTITY_NOTE;
    if (channel && !raw_has_channels(loader))
        return spurity_rules_bad(loader, node, "a table 'channels' in the file", NULL,
                                 "a channel clause without a table");
    if (figure && !raw->limit)
        return spurity_rules_bad(loader, node, "a key 'limit'", "a clause without a figure has quantity: note",
                                 "a clause of %s without a limit", name);
    if (!figure && raw->limit)
        return spurity_rules_bad(loader, child(loader, node, "limit"), "no limit", NULL, "a limit of a %s", name);
    if (band != (raw->bands != NULL))
        return spurity_rules_bad(loader, band ? node : child(loader, node, "bands"),
                                 band ? "a key 'bands'" : "'bands' with quantity: band only", NULL,
                                 band ? "a band clause without bands" : "bands of a %s", name);
    if (is_spectral(quantity))
        return SPURITY_OK;
    const char *stray = raw->where ? "where" : raw->reference_bandwidth ? "reference_bandwidth" : NULL;
    if (stray)
        return spurity_rules_bad(loader, child(loader, node, stray), "it with spurious emission and mask only", NULL,
                                 "'%s' of a %s", stray, name);
    return SPURITY_OK;
}

static spurity_status build_clause(const struct rules_loader *loader, int node, const struct raw_clause *raw,
                                   struct spurity_clause *clause)
{
    spurity_status status = build_words(loader, node, raw, clause);
    if (!status)
        status = check_parts(loader, node, raw, clause->facts.quantity);
    if (!status)
        status = build_applies(loader, child(loader, node, "applies"), raw->applies, clause);
    if (!status)
        status = build_exemptions(loader, child(loader, node, "unless"), raw, clause);
    if (!status && raw->where)
        status = spurity_rules_build_where(loader, child(loader, node, "where"), raw->where, &clause->where);
    if (!status && raw->limit) {
        status = spurity_rules_build_limit(loader, child(loader, node, "limit"), raw->limit, clause);
        clause->facts.limit = &clause->limit;
    }
    if (!status)
        status =
            spurity_rules_bands(loader, child(loader, node, "bands"), raw->bands, raw->bands_count, &clause->bands);
    clause->facts.bands_hz = clause->bands;
    clause->facts.band_count = raw->bands_count;
    return status;
}

/* ---- the file ------------------------------------------------------------------------------------ */

static spurity_status build_channel(const struct rules_loader *loader, int node, const struct raw_channel *raw,
                                    struct rules_channel *channel)
{
    channel->number = raw->number;
    channel->line = loader->document->nodes[node].line;
    channel->power_w = NAN;
    spurity_status status = spurity_rules_quantity(loader, child(loader, node, "frequency"), raw->frequency,
                                                   MEASURE_FREQUENCY, &channel->frequency_hz);
    if (!status)
        status = spurity_rules_quantity(loader, child(loader, node, "bandwidth"), raw->bandwidth, MEASURE_FREQUENCY,
                                        &channel->bandwidth_hz);
    if (!status && (!spurity_known(channel->frequency_hz) || !spurity_known(channel->bandwidth_hz)))
        return spurity_rules_bad(loader, node, "a frequency and a bandwidth above 0", NULL, "a channel without width");
    if (!status && raw->power)
        status =
            spurity_rules_quantity(loader, child(loader, node, "power"), raw->power, MEASURE_POWER, &channel->power_w);
    if (status || !raw->of)
        return status;
    int word = 0;
    if (!raw->power)
        return spurity_rules_bad(loader, node, "'of' beside 'power' only", NULL, "'of'");
    status = spurity_rules_word(loader, child(loader, node, "of"), spurity_power_words, raw->of, &word);
    channel->power_of = (spurity_reference)word;
    channel->power_is_said_of = !status;
    return status;
}

static spurity_status build_channels(const struct rules_loader *loader, struct spurity_rules *rules)
{
    const struct raw_file *raw = rules->raw;
    if (!raw->channels_count)
        return SPURITY_OK;
    rules->channels = calloc(raw->channels_count, sizeof *rules->channels);
    if (!rules->channels)
        return spurity_report_memory(loader->error);
    int list = child(loader, 0, "channels");
    for (size_t i = 0; i < raw->channels_count; i++) {
        int node = spurity_document_item(loader->document, list, i);
        spurity_status status = build_channel(loader, node, &raw->channels[i], &rules->channels[i]);
        if (status)
            return status;
        for (size_t k = 0; k < i; k++)
            if (!strcmp(rules->channels[k].number, raw->channels[i].number))
                return spurity_rules_bad(loader, node, "each number once", NULL, "channel '%s' again",
                                         raw->channels[i].number);
        rules->channel_count++;
    }
    return SPURITY_OK;
}

static spurity_status build_bandwidth(const struct rules_loader *loader, int node, const struct raw_bandwidth *raw,
                                      struct rules_bandwidth *row)
{
    row->channel_hz = NAN;
    row->line = loader->document->nodes[node].line;
    row->emissions = raw->emission;
    row->emission_count = raw->emission_count;
    spurity_status status = spurity_rules_quantity(loader, child(loader, node, "authorised"), raw->authorised,
                                                   MEASURE_FREQUENCY, &row->authorised_hz);
    if (!status && raw->channel)
        status = spurity_rules_quantity(loader, child(loader, node, "channel"), raw->channel, MEASURE_FREQUENCY,
                                        &row->channel_hz);
    if (!status && (!spurity_known(row->authorised_hz) || row->channel_hz <= 0.0))
        return spurity_rules_bad(loader, node, "widths above 0", NULL, "a bandwidth without width");
    if (status)
        return status;
    return spurity_rules_range(loader, child(loader, node, "carrier"), raw->carrier, MEASURE_FREQUENCY, false,
                               &row->carrier);
}

static spurity_status build_bandwidths(const struct rules_loader *loader, struct spurity_rules *rules)
{
    const struct raw_file *raw = rules->raw;
    if (!raw->bandwidths_count)
        return SPURITY_OK;
    rules->bandwidths = calloc(raw->bandwidths_count, sizeof *rules->bandwidths);
    if (!rules->bandwidths)
        return spurity_report_memory(loader->error);
    rules->bandwidth_count = raw->bandwidths_count;
    int list = child(loader, 0, "bandwidths");
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < raw->bandwidths_count && !status; i++)
        status = build_bandwidth(loader, spurity_document_item(loader->document, list, i), &raw->bandwidths[i],
                                 &rules->bandwidths[i]);
    return status;
}

/** A count of harmonics: a bare whole number, 2 to 100. */
static spurity_status read_harmonics(const struct rules_loader *loader, int node, const char *text, double *harmonics)
{
    size_t length = strlen(text);
    if (length == strspn(text, "0123456789") && length <= 3)
        *harmonics = strtod(text, NULL);
    if (*harmonics >= 2.0 && *harmonics <= 100.0)
        return SPURITY_OK;
    return spurity_rules_bad(loader, child(loader, node, "harmonics"), "a whole number from 2 to 100", NULL, "'%.20s'",
                             text);
}

static spurity_status build_span(const struct rules_loader *loader, int node, const struct raw_span *raw,
                                 struct rules_span *span)
{
    static const char *const status_words[] = {"unverified", "confirmed", NULL};
    int word = 0;
    span->up_to_hz = span->harmonics = NAN;
    span->citation = raw->citation;
    span->line = loader->document->nodes[node].line;
    if (!raw->up_to && !raw->harmonics)
        return spurity_rules_bad(loader, node, "up_to, harmonics, or both", NULL, "no upper end");
    spurity_status status =
        spurity_rules_quantity(loader, child(loader, node, "from"), raw->from, MEASURE_FREQUENCY, &span->from_hz);
    if (!status && raw->up_to)
        status = spurity_rules_quantity(loader, child(loader, node, "up_to"), raw->up_to, MEASURE_FREQUENCY,
                                        &span->up_to_hz);
    if (!status && raw->harmonics)
        status = read_harmonics(loader, node, raw->harmonics, &span->harmonics);
    if (!status)
        status = spurity_rules_word(loader, child(loader, node, "status"), status_words, raw->status, &word);
    span->confirmed = word == 1;
    if (!status && (span->from_hz <= 0.0 || span->up_to_hz <= span->from_hz))
        return spurity_rules_bad(loader, node, "a lower end above 0 and below the upper one", NULL, "an empty range");
    if (status)
        return status;
    return spurity_rules_range(loader, child(loader, node, "carrier"), raw->carrier, MEASURE_FREQUENCY, false,
                               &span->carrier);
}

static spurity_status build_spans(const struct rules_loader *loader, struct spurity_rules *rules)
{
    const struct raw_file *raw = rules->raw;
    if (!raw->investigated_count)
        return SPURITY_OK;
    rules->spans = calloc(raw->investigated_count, sizeof *rules->spans);
    if (!rules->spans)
        return spurity_report_memory(loader->error);
    rules->span_count = raw->investigated_count;
    int list = child(loader, 0, "investigated");
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < raw->investigated_count && !status; i++)
        status = build_span(loader, spurity_document_item(loader->document, list, i), &raw->investigated[i],
                            &rules->spans[i]);
    return status;
}

static spurity_status build_antenna(const struct rules_loader *loader, struct spurity_rules *rules)
{
    static const char *const words[] = {"connector", "fixed", NULL};
    int word = 0;
    if (!rules->raw->antenna)
        return SPURITY_OK;
    spurity_status status = spurity_rules_word(loader, child(loader, 0, "antenna"), words, rules->raw->antenna, &word);
    rules->antenna_fixed = word == 1;
    return status;
}

static spurity_status check_head(const struct rules_loader *loader, const struct raw_file *raw)
{
    if (strcmp(raw->format, "spurity-rules"))
        return spurity_rules_bad(loader, child(loader, 0, "format"), "spurity-rules", NULL, "'%.40s'", raw->format);
    if (strcmp(raw->version, "1"))
        return spurity_rules_bad(loader, child(loader, 0, "version"), "1", NULL, "'%.20s'", raw->version);
    if (raw->id[strspn(raw->id, "abcdefghijklmnopqrstuvwxyz0123456789-")])
        return spurity_rules_bad(loader, child(loader, 0, "id"), "small letters, digits and -", NULL, "'%.60s'",
                                 raw->id);
    return SPURITY_OK;
}

spurity_status spurity_rules_build(const struct rules_loader *loader, struct spurity_rules *rules)
{
    const struct raw_file *raw = rules->raw;
    spurity_status status = check_head(loader, raw);
    if (!status)
        status = build_antenna(loader, rules);
    if (!status)
        status = build_channels(loader, rules);
    if (!status)
        status = build_bandwidths(loader, rules);
    if (!status)
        status = build_spans(loader, rules);
    if (status)
        return status;
    rules->clauses = calloc(raw->clauses_count, sizeof *rules->clauses);
    if (!rules->clauses)
        return spurity_report_memory(loader->error);
    rules->clause_count = raw->clauses_count; /* zeroed clauses are safe to free */
    int list = child(loader, 0, "clauses");
    for (size_t i = 0; i < raw->clauses_count; i++) {
        rules->clauses[i].rules = rules;
        status = build_clause(loader, spurity_document_item(loader->document, list, i), &raw->clauses[i],
                              &rules->clauses[i]);
        if (status)
            return status;
    }
    return SPURITY_OK;
}
