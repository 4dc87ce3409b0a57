/* SPDX-License-Identifier: GPL-2.0-or-later */
#include "metadata.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "../error/json.h"

enum { CHANNELS_MOST = 1024, SHOWN_MOST = 4, VALUES_MOST = 1000000 };

/** The document while it is read. */
struct reading {
    const spurity_input *input;
    const char *name;
    struct spurity_metadata *metadata;
    spurity_recording *recording;
    spurity_error *error;
};

/** An object and where it stands: "global", "captures[2]". */
struct object {
    const json_t *json;
    const char *path;
};

/* Extensions whose fields do not change what the samples are. */
static const char *const known_extensions[] = {
    "core",      "antenna",       "capture_details", "signal",          "spatial",
    "adsb",      "wifi",          "volatile",        "multirecordings", "traceability",
    "ntia-core", "ntia-sensor",   "ntia-algorithm",  "ntia-emitter",    "ntia-environment",
    "ntia-scos", "ntia-waveform", "ntia-location",   "ntia-nasctn-sea", "spurity"};

/* A recording's own calibration, where it says what dBm are: the level at the receiver's input of a tone of full scale
 * (README.md).  From what a receiver hears of noise to what destroys most. */
static const char FULL_SCALE_KEY[] = "spurity:full_scale_dbm";
static const double FULL_SCALE_LEAST = -200, FULL_SCALE_MOST = 100;

static spurity_status refuse(const struct reading *reading, const struct object *object, const char *key,
                             const char *expected, const char *what)
{
    char path[120];
    if (!*object->path && !*key)
        return spurity_report(reading->error, SPURITY_INVALID, (spurity_place){.file = reading->name}, what, expected,
                              NULL);
    snprintf(path, sizeof path, "%s%s%s", object->path, *object->path && *key ? "." : "", key);
    return spurity_reportf(reading->error, SPURITY_INVALID, (spurity_place){.file = reading->name}, expected, NULL,
                           "'%s': %s", path, what);
}

static const char *kind_of(const json_t *value)
{
    static const char *const kinds[] = {"an object", "an array", "a string", "a number",
                                        "a number",  "'true'",   "'false'",  "'null'"};
    return kinds[json_typeof(value)];
}

/* ---- values ------------------------------------------------------------------------------------------------- */
/* Each leaves *value as it is where the key is absent, or null. */

static const json_t *member(const struct object *object, const char *key)
{
    const json_t *value = json_object_get(object->json, key);
    return json_is_null(value) ? NULL : value;
}

static spurity_status take_number(const struct reading *reading, const struct object *object, const char *key,
                                  double least, double most, double *value)
{
    char expected[80], told[60];
    const json_t *json = member(object, key);
    if (!json)
        return SPURITY_OK;
    snprintf(expected, sizeof expected, "a number from %g to %g", least, most);
    if (!json_is_number(json))
        return refuse(reading, object, key, expected, kind_of(json));
    const double got = json_number_value(json);
    snprintf(told, sizeof told, "%.12g", got);
    if (!(got >= least && got <= most))
        return refuse(reading, object, key, expected, told);
    *value = got;
    return SPURITY_OK;
}

/** Whole numbers, 0 to 2^63 - 1; also as a real without fraction below 2^53. */
static spurity_status take_whole(const struct reading *reading, const struct object *object, const char *key,
                                 uint64_t *value)
{
    static const char expected[] = "a whole number of 0 or more";
    char told[60];
    const json_t *json = member(object, key);
    if (!json)
        return SPURITY_OK;
    if (!json_is_number(json))
        return refuse(reading, object, key, expected, kind_of(json));
    const double real = json_number_value(json);
    snprintf(told, sizeof told, "%.17g", real);
    if (json_is_integer(json) ? json_integer_value(json) < 0 : !(real >= 0 && real < 0x1p53 && real == floor(real)))
        return refuse(reading, object, key, expected, told);
    *value = json_is_integer(json) ? (uint64_t)json_integer_value(json) : (uint64_t)real;
    return SPURITY_OK;
}

static spurity_status take_text(const struct reading *reading, const struct object *object, const char *key,
                                const char **value)
{
    const json_t *json = member(object, key);
    if (!json)
        return SPURITY_OK;
    if (!json_is_string(json))
        return refuse(reading, object, key, "a string", kind_of(json));
    *value = json_string_value(json);
    return SPURITY_OK;
}

/* ---- global --------------------------------------------------------------------------------------------------- */

static spurity_status read_datatype(const struct reading *reading, const struct object *global)
{
    struct spurity_metadata *metadata = reading->metadata;
    const char *text = NULL;
    char name[8];
    const bool said = reading->input->options->datatype_said;
    spurity_status status = take_text(reading, global, "core:datatype", &text);
    if (status || (!text && said))
        return status;
    if (!text)
        return refuse(reading, global, "core:datatype", "a datatype, such as ci16_le; or say --datatype", "missing");
    metadata->datatype_told =
        spurity_sample_format_parse(text, strlen(text), &metadata->format, &metadata->order_assumed);
    if (!metadata->datatype_told && !said) {
        char what[60] = "'";
        spurity_input_clean(what + 1, 40, text, strlen(text));
        strcat(what, "'");
        return refuse(reading, global, "core:datatype", "a datatype, such as ci16_le or cu8", what);
    }
    if (!metadata->datatype_told || said)
        return SPURITY_OK;
    spurity_sample_format_name(metadata->format, name, sizeof name);
    spurity_input_found(reading->recording, "datatype", name, "--datatype", 0, metadata->order_assumed,
                        metadata->order_assumed ? "by 'core:datatype', which leaves the order of bytes out"
                                                : "by 'core:datatype'");
    if (metadata->order_assumed)
        spurity_notes_add(reading->input->notes, SPURITY_NOTE_UNIT_ASSUMED, reading->input->file,
                          "'%s': the datatype leaves the order of bytes out, little-endian is assumed (--datatype)",
                          reading->name);
    return SPURITY_OK;
}

static spurity_status read_rate(const struct reading *reading, const struct object *global)
{
    struct spurity_metadata *metadata = reading->metadata;
    const char *key = "core:sample_rate";
    if (!member(global, key) && member(global, "core:sampling_rate"))
        key = "core:sampling_rate"; /* drafts before 1.0 */
    return take_number(reading, global, key, 1e-3, 1e12, &metadata->rate_hz);
}

static spurity_status read_version(const struct reading *reading, const struct object *global)
{
    const char *text = NULL;
    spurity_status status = take_text(reading, global, "core:version", &text);
    if (status)
        return status;
    if (!text) {
        spurity_input_found(reading->recording, "version", "not told", "", 0, true, "read as version 1");
        return SPURITY_OK;
    }
    const long major = strtol(*text == 'v' ? text + 1 : text, NULL, 10);
    if (major < 2)
        return SPURITY_OK;
    return spurity_reportf(reading->error, SPURITY_UNSUPPORTED, (spurity_place){.file = reading->name},
                           "a version below 2", NULL, "'global.core:version': '%.40s'", text);
}

static bool is_known_extension(const char *name)
{
    for (size_t i = 0; i < sizeof known_extensions / sizeof *known_extensions; i++)
        if (!strcmp(name, known_extensions[i]))
            return true;
    return false;
}

/** An extension the recording says one cannot do without, and that nobody knows here, may change what samples are. */
static spurity_status read_extension(const struct reading *reading, const struct object *extension)
{
    const char *name = NULL;
    spurity_status status = take_text(reading, extension, "name", &name);
    if (status)
        return status;
    const json_t *optional = member(extension, "optional");
    if (optional && !json_is_boolean(optional))
        return refuse(reading, extension, "optional", "true or false", kind_of(optional));
    if (!name || !optional || json_is_true(optional) || is_known_extension(name))
        return SPURITY_OK;
    if (reading->input->options->datatype_said && reading->input->options->rate_hz > 0) {
        spurity_input_found(reading->recording, "extension", name, "", 0, true,
                            "required by the recording, and not known here: read by --rate and --datatype");
        return SPURITY_OK;
    }
    return spurity_reportf(reading->error, SPURITY_UNSUPPORTED, (spurity_place){.file = reading->name},
                           "extensions that are known or optional",
                           "if the samples are plain, say so by --rate and --datatype",
                           "'%s': the extension '%.60s', required to understand the recording", extension->path, name);
}

static spurity_status read_extensions(const struct reading *reading, const struct object *global)
{
    const json_t *list = member(global, "core:extensions");
    if (!list)
        return SPURITY_OK;
    if (!json_is_array(list))
        return json_is_object(list) ? SPURITY_OK /* drafts before 1.0 */
                                    : refuse(reading, global, "core:extensions", "an array", kind_of(list));
    for (size_t i = 0; i < json_array_size(list); i++) {
        char path[60];
        snprintf(path, sizeof path, "global.core:extensions[%zu]", i);
        const struct object extension = {json_array_get(list, i), path};
        if (!json_is_object(extension.json))
            return refuse(reading, &extension, "", "an object", kind_of(extension.json));
        spurity_status status = read_extension(reading, &extension);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/** Results of a computation, described by one public namespace, may stand where samples do. */
static spurity_status refuse_products(const struct reading *reading, const struct object *global)
{
    const json_t *products = member(global, "ntia-algorithm:data_products");
    if (!products || !json_array_size(products) || reading->metadata->format.is_complex ||
        reading->input->options->datatype_said)
        return SPURITY_OK;
    return spurity_report(reading->error, SPURITY_UNSUPPORTED, (spurity_place){.file = reading->name},
                          "'global.ntia-algorithm:data_products': computed results, not samples",
                          "a recording of samples", "if they are samples, say so by --datatype");
}

static spurity_status read_names(const struct reading *reading, const struct object *global)
{
    struct spurity_metadata *metadata = reading->metadata;
    const char *dataset = NULL, *digest = NULL, *title = NULL;
    spurity_status status = take_text(reading, global, "core:dataset", &dataset);
    if (!status)
        status = take_text(reading, global, "core:sha512", &digest);
    if (!status)
        status = take_text(reading, global, "core:description", &title);
    if (status)
        return status;
    if (dataset && (!*dataset || strlen(dataset) >= sizeof metadata->dataset))
        return refuse(reading, global, "core:dataset", "the bare name of a file beside it",
                      *dataset ? "a name of over 255 bytes" : "an empty string");
    if (dataset)
        strcpy(metadata->dataset, dataset);
    if (digest && (strlen(digest) != 128 || strspn(digest, "0123456789abcdefABCDEF") != 128))
        return refuse(reading, global, "core:sha512", "128 hexadecimal digits", "something else");
    if (digest)
        strcpy(metadata->sha512, digest);
    if (title)
        spurity_input_clean(metadata->title, sizeof metadata->title, title, strlen(title));
    return SPURITY_OK;
}

static spurity_status read_global(const struct reading *reading, const json_t *root)
{
    struct spurity_metadata *metadata = reading->metadata;
    const struct object global = {json_object_get(root, "global"), "global"};
    uint64_t channels = 1;
    if (!global.json)
        return refuse(reading, &global, "", "an object, as SigMF metadata has it", "missing");
    if (!json_is_object(global.json))
        return refuse(reading, &global, "", "an object", kind_of(global.json));
    spurity_status status = read_version(reading, &global);
    if (!status)
        status = read_extensions(reading, &global);
    if (!status)
        status = read_datatype(reading, &global);
    if (!status)
        status = refuse_products(reading, &global);
    if (!status)
        status = read_rate(reading, &global);
    if (!status)
        status = take_whole(reading, &global, "core:num_channels", &channels);
    if (!status && (channels < 1 || channels > CHANNELS_MOST))
        return refuse(reading, &global, "core:num_channels", "1 to 1024", channels ? "more" : "0");
    metadata->channels = (int)channels;
    if (!status)
        status = take_whole(reading, &global, "core:offset", &metadata->offset);
    if (!status)
        status = take_whole(reading, &global, "core:trailing_bytes", &metadata->trailing_bytes);
    metadata->full_scale_dbm = NAN;
    if (!status)
        status =
            take_number(reading, &global, FULL_SCALE_KEY, FULL_SCALE_LEAST, FULL_SCALE_MOST, &metadata->full_scale_dbm);
    if (isfinite(metadata->full_scale_dbm))
        snprintf(metadata->full_scale_says, sizeof metadata->full_scale_says, "'global.%s'", FULL_SCALE_KEY);
    return status ? status : read_names(reading, &global);
}

/* ---- captures --------------------------------------------------------------------------------------------------- */

/** What a recorder tells of levels is shown and never applied: neither namespace defines dBm at a connector for these
 * samples beyond doubt. */
static void show_levels(const struct reading *reading, const struct object *capture)
{
    static const struct {
        const char *object, *key, *unit;
    } rows[] = {
        {NULL, "capture_details:acq_scale_factor", ""},
        {NULL, "capture_details:attenuation", " dB"},
        {NULL, "capture_details:gain", " dB"},
        {"ntia-sensor:sigan_settings", "gain", " dB"},
        {"ntia-sensor:sigan_settings", "reference_level", " dBm"},
        {"ntia-sensor:sigan_settings", "attenuation", " dB"},
        {"ntia-sensor:sigan_calibration", "gain", " dB"},
        {"ntia-sensor:sensor_calibration", "gain", " dB"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const json_t *from = rows[i].object ? member(capture, rows[i].object) : capture->json;
        const json_t *value = json_object_get(from, rows[i].key);
        char text[60];
        if (!json_is_number(value))
            continue;
        snprintf(text, sizeof text, "%.6g%s", json_number_value(value), rows[i].unit);
        spurity_input_found(reading->recording, "level fact, not applied", text, "--full-scale", 0, false,
                            "'%s.%s%s%s' is shown only: it does not say what full scale is at the receiver's input",
                            capture->path, rows[i].object ? rows[i].object : "", rows[i].object ? "." : "",
                            rows[i].key);
    }
}

static spurity_status read_capture(const struct reading *reading, const struct object *capture,
                                   struct spurity_metadata_segment *segment, uint64_t *global_index)
{
    if (!json_is_object(capture->json))
        return refuse(reading, capture, "", "an object", kind_of(capture->json));
    const char *when = NULL;
    const json_t *overload = member(capture, "ntia-sensor:overload");
    *segment = (struct spurity_metadata_segment){.center_hz = NAN, .usable_hz = NAN, .full_scale_dbm = NAN};
    *global_index = UINT64_MAX;
    if (!member(capture, "core:sample_start"))
        return refuse(reading, capture, "core:sample_start", "a whole number of 0 or more", "missing");
    spurity_status status = take_whole(reading, capture, "core:sample_start", &segment->start);
    if (!status)
        status = take_whole(reading, capture, "core:header_bytes", &segment->header_bytes);
    if (!status)
        status = take_whole(reading, capture, "core:global_index", global_index);
    if (!status)
        status = take_number(reading, capture, "core:frequency", -1e12, 1e12, &segment->center_hz);
    if (!status)
        status = take_number(reading, capture, "capture_details:acquisition_bandwidth", 0, 1e12, &segment->usable_hz);
    if (!status)
        status =
            take_number(reading, capture, FULL_SCALE_KEY, FULL_SCALE_LEAST, FULL_SCALE_MOST, &segment->full_scale_dbm);
    if (!status)
        status = take_text(reading, capture, "core:datetime", &when);
    if (!status && overload && !json_is_boolean(overload))
        return refuse(reading, capture, "ntia-sensor:overload", "true or false", kind_of(overload));
    if (!(segment->usable_hz > 0))
        segment->usable_hz = NAN;
    segment->overload = json_is_true(overload);
    segment->apart = when != NULL;
    return status;
}

/** The captures' own full scale, over the global one.  A capture has one: the receiver's gain may not change in it. */
static spurity_status settle_full_scale(const struct reading *reading, const char *key)
{
    struct spurity_metadata *metadata = reading->metadata;
    const struct spurity_metadata_segment *segments = metadata->segments;
    bool told = false;
    for (size_t i = 0; i < metadata->segment_count; i++)
        told = told || isfinite(segments[i].full_scale_dbm);
    if (!told)
        return SPURITY_OK;
    for (size_t i = 0; i < metadata->segment_count; i++) {
        char path[40], what[60];
        if (segments[i].full_scale_dbm == segments[0].full_scale_dbm)
            continue;
        const size_t odd = isnan(segments[0].full_scale_dbm) ? 0 : i;
        snprintf(path, sizeof path, "%s[%zu]", key, segments[odd].order);
        const struct object capture = {NULL, path};
        snprintf(what, sizeof what, "%.6g where another has another", segments[odd].full_scale_dbm);
        return refuse(reading, &capture, FULL_SCALE_KEY, "one full scale for all captures of a recording",
                      isnan(segments[odd].full_scale_dbm) ? "missing, where another capture has it" : what);
    }
    metadata->full_scale_dbm = segments[0].full_scale_dbm;
    snprintf(metadata->full_scale_says, sizeof metadata->full_scale_says, "'%s[...].%s'", key, FULL_SCALE_KEY);
    return SPURITY_OK;
}

static int by_start(const void *a, const void *b)
{
    const struct spurity_metadata_segment *one = a, *two = b;
    if (one->start != two->start)
        return one->start < two->start ? -1 : 1;
    return one->order < two->order ? -1 : 1;
}

static void sort_segments(struct spurity_metadata_segment *segments, size_t count, bool *moved)
{
    *moved = false;
    for (size_t i = 1; i < count && !*moved; i++)
        *moved = segments[i].start < segments[i - 1].start;
    if (*moved)
        qsort(segments, count, sizeof *segments, by_start);
}

static spurity_status read_captures(const struct reading *reading, const json_t *root)
{
    struct spurity_metadata *metadata = reading->metadata;
    const char *key = "captures";
    if (!json_object_get(root, key) && json_object_get(root, "capture"))
        key = "capture"; /* drafts before 1.0 */
    const struct object list = {json_object_get(root, key), key};
    if (!list.json)
        return refuse(reading, &list, "", "an array", "missing");
    if (!json_is_array(list.json))
        return refuse(reading, &list, "", "an array", kind_of(list.json));
    const size_t count = json_array_size(list.json);
    metadata->segments = calloc(count ? count : 1, sizeof *metadata->segments);
    if (!metadata->segments)
        return spurity_report_memory(reading->error);
    uint64_t index_before = UINT64_MAX;
    for (size_t i = 0; i < count; i++) {
        char path[40];
        uint64_t index = UINT64_MAX;
        struct spurity_metadata_segment *segment = &metadata->segments[i];
        snprintf(path, sizeof path, "%s[%zu]", key, i);
        const struct object capture = {json_array_get(list.json, i), path};
        spurity_status status = read_capture(reading, &capture, segment, &index);
        if (status)
            return status;
        if (__builtin_add_overflow(metadata->header_bytes, segment->header_bytes, &metadata->header_bytes))
            return refuse(reading, &capture, "core:header_bytes", "fewer bytes", "more than a file can hold");
        if (i && index != UINT64_MAX)
            segment->apart = index_before == UINT64_MAX || segment->start < segment[-1].start ||
                             index - index_before != segment->start - segment[-1].start;
        index_before = index;
        segment->order = i;
        if (i < SHOWN_MOST)
            show_levels(reading, &capture);
    }
    metadata->segment_count = count;
    bool moved = false;
    sort_segments(metadata->segments, count, &moved);
    if (moved)
        spurity_input_found(reading->recording, "order of segments", "sorted by 'core:sample_start'", "", 0, true,
                            "they stand out of order in '%s'", key);
    return settle_full_scale(reading, key);
}

/** Only how far annotations reach: they tell how long the data was when they were written. */
static spurity_status read_annotations(const struct reading *reading, const json_t *root)
{
    const struct object list = {json_object_get(root, "annotations"), "annotations"};
    if (!list.json)
        return SPURITY_OK;
    if (!json_is_array(list.json))
        return refuse(reading, &list, "", "an array", kind_of(list.json));
    for (size_t i = 0; i < json_array_size(list.json); i++) {
        char path[40];
        uint64_t start = 0, count = 0, end;
        snprintf(path, sizeof path, "annotations[%zu]", i);
        const struct object annotation = {json_array_get(list.json, i), path};
        if (!json_is_object(annotation.json))
            return refuse(reading, &annotation, "", "an object", kind_of(annotation.json));
        spurity_status status = take_whole(reading, &annotation, "core:sample_start", &start);
        if (!status)
            status = take_whole(reading, &annotation, "core:sample_count", &count);
        if (status)
            return status;
        if (!__builtin_add_overflow(start, count, &end) && end > reading->metadata->annotated)
            reading->metadata->annotated = end;
    }
    return SPURITY_OK;
}

/* ---- document ---------------------------------------------------------------------------------------------------- */

static spurity_status refuse_json(const struct reading *reading, const json_error_t *fault)
{
    char found[160], text[120];
    if (!*fault->text || json_error_code(fault) == json_error_out_of_memory) /* it says nothing of most of these */
        return spurity_report_memory(reading->error);
    spurity_input_clean(text, sizeof text, fault->text, strlen(fault->text));
    snprintf(found, sizeof found, "a fault of the JSON: %s", text);
    const spurity_place at = {.file = reading->name,
                              .line = fault->line > 0 ? (unsigned long)fault->line : 0,
                              .column = fault->column > 0 ? (unsigned long)fault->column : 0};
    return spurity_report(reading->error, SPURITY_INVALID, at, found, "JSON, each key once", NULL);
}

/** Values of the text at most: each stands behind a comma, a bracket or a brace.  A tree takes up to 45 times the
 * memory of its text, so the text is looked at first. */
static size_t count_values(const unsigned char *text, size_t size)
{
    size_t count = 1;
    bool quoted = false;
    for (size_t i = 0; i < size; i++) {
        if (quoted && text[i] == '\\')
            i++;
        else if (text[i] == '"')
            quoted = !quoted;
        else if (!quoted)
            count += text[i] == ',' || text[i] == '[' || text[i] == '{';
    }
    return count;
}

static spurity_status read_root(const struct reading *reading, const json_t *root)
{
    const struct object document = {root, ""};
    if (json_is_object(root) && json_object_get(root, "collection") && !json_object_get(root, "global"))
        return spurity_report(reading->error, SPURITY_UNSUPPORTED, (spurity_place){.file = reading->name},
                              "a collection of recordings", "one recording", "name its recordings, one by one");
    if (!json_is_object(root))
        return refuse(reading, &document, "", "an object with 'global' and 'captures'", kind_of(root));
    spurity_status status = read_global(reading, root);
    if (!status)
        status = read_captures(reading, root);
    return status ? status : read_annotations(reading, root);
}

spurity_status spurity_metadata_read(const spurity_input *input, const char *name, const unsigned char *text,
                                     size_t size, struct spurity_metadata *metadata, spurity_recording *recording,
                                     spurity_error *error)
{
    const struct reading reading = {input, name, metadata, recording, error};
    const size_t mark = size >= 3 && !memcmp(text, "\xEF\xBB\xBF", 3) ? 3 : 0; /* UTF-8 byte order mark */
    json_error_t fault;
    *metadata = (struct spurity_metadata){.channels = 1};
    if (count_values(text, size) > VALUES_MOST)
        return spurity_reportf(error, SPURITY_INVALID, (spurity_place){.file = name}, "smaller metadata", NULL,
                               "more than %d values", VALUES_MOST);
    bool no_memory = false;
    json_t *root = spurity_json_load((const char *)text + mark, size - mark, &fault, &no_memory);
    if (!root)
        return no_memory ? spurity_report_memory(error) : refuse_json(&reading, &fault);
    spurity_status status = read_root(&reading, root);
    json_decref(root);
    return status;
}

void spurity_metadata_free(struct spurity_metadata *metadata)
{
    free(metadata->segments);
    metadata->segments = NULL;
}
