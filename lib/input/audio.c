/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Audio containers through libsndfile: two channels are I and Q, one is real samples. */
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "samples.h"

enum { CHANNELS_MOST = 1024, BLOCK_BYTES = 1 << 18, WAV_HEADER = 44, TAIL_ALLOWED = 1 << 16 };

/* Signatures; libsndfile is asked only after one of them stands there. */
static const struct container {
    const char *title, *magic, *second; /* second: at byte 8 */
    size_t length;
    bool lossy; /* refused */
} containers[] = {
    {"WAV", "RIFF", "WAVE", 4, false},  {"WAV, big-endian", "RIFX", "WAVE", 4, false},
    {"RF64", "RF64", "WAVE", 4, false}, {"W64", "riff\x2E\x91\xCF\x11\xA5\xD6\x28\xDB\x04\xC1\0\0", "", 16, false},
    {"AU", ".snd", "", 4, false},       {"CAF", "caff", "", 4, false},
    {"FLAC", "fLaC", "", 4, false},     {"Ogg", "OggS", "", 4, true},
    {"MPEG audio", "ID3", "", 3, true},
};

/* Encodings that keep the samples as they were.  What is read, and in which steps the converter's ends stand. */
static const struct encoding {
    int subtype;
    const char *title;
    spurity_component component; /* delivered, in this machine's order of bytes */
    int bits;                    /* of the converter, 0 for floats */
    int bytes;                   /* of a component in the file */
} encodings[] = {
    {SF_FORMAT_PCM_S8, "8 bit", SPURITY_COMPONENT_I16, 8, 1},
    {SF_FORMAT_PCM_U8, "8 bit unsigned", SPURITY_COMPONENT_U8, 8, 1},
    {SF_FORMAT_PCM_16, "16 bit", SPURITY_COMPONENT_I16, 16, 2},
    {SF_FORMAT_PCM_24, "24 bit", SPURITY_COMPONENT_I32, 24, 3},
    {SF_FORMAT_PCM_32, "32 bit", SPURITY_COMPONENT_I32, 32, 4},
    {SF_FORMAT_FLOAT, "32 bit float", SPURITY_COMPONENT_F32, 0, 4},
    {SF_FORMAT_DOUBLE, "64 bit float", SPURITY_COMPONENT_F64, 0, 8},
};

static const struct container *container_of(const spurity_input *input)
{
    for (size_t i = 0; i < sizeof containers / sizeof *containers; i++) {
        const struct container *row = &containers[i];
        const size_t second = strlen(row->second);
        if (input->head_size >= row->length && !memcmp(input->head, row->magic, row->length) &&
            (!second || (input->head_size >= 8 + second && !memcmp(input->head + 8, row->second, second))))
            return row;
    }
    return NULL;
}

static int probe(const spurity_input *input)
{
    return container_of(input) ? 95 : 0;
}

/* ---- the file as libsndfile pulls it ----------------------------------------------------------------------------- */

struct audio {
    struct spurity_bytes bytes;
    uint64_t at;
    spurity_error *error; /* of the call under way */
    SNDFILE *file;
    const struct encoding *encoding;
    size_t sample_bytes, component_bytes;
    int channels, first, taken; /* components of a frame, and which go on */
    uint64_t frames, next;
    unsigned char *block;
};

static sf_count_t audio_length(void *user)
{
    return (sf_count_t)((struct audio *)user)->bytes.size;
}
static sf_count_t audio_tell(void *user)
{
    return (sf_count_t)((struct audio *)user)->at;
}
static sf_count_t audio_seek(sf_count_t offset, int whence, void *user)
{
    struct audio *audio = user;
    const sf_count_t from = whence == SEEK_SET   ? 0
                            : whence == SEEK_CUR ? (sf_count_t)audio->at
                                                 : (sf_count_t)audio->bytes.size;
    sf_count_t to;
    if (__builtin_add_overflow(from, offset, &to) || to < 0)
        return -1;
    audio->at = (uint64_t)to;
    return to;
}
static sf_count_t audio_pull(void *into, sf_count_t count, void *user)
{
    struct audio *audio = user;
    size_t got = 0;
    if (count <= 0 || spurity_bytes_at(&audio->bytes, audio->at, into, (size_t)count, &got, audio->error))
        return 0;
    audio->at += got;
    return (sf_count_t)got;
}

static void audio_close(void *user)
{
    struct audio *audio = user;
    if (audio->file)
        sf_close(audio->file);
    spurity_bytes_close(&audio->bytes);
    free(audio->block);
    free(audio);
}

/** Frames into the block, in the component delivered. */
static sf_count_t next_frames(struct audio *audio, sf_count_t frames)
{
    switch (audio->encoding->component) {
    case SPURITY_COMPONENT_U8: {
        const sf_count_t bytes = sf_read_raw(audio->file, audio->block, frames * audio->channels);
        return bytes > 0 ? bytes / audio->channels : bytes;
    }
    case SPURITY_COMPONENT_I16:
        return sf_readf_short(audio->file, (short *)(void *)audio->block, frames);
    case SPURITY_COMPONENT_I32:
        return sf_readf_int(audio->file, (int *)(void *)audio->block, frames);
    case SPURITY_COMPONENT_F64:
        return sf_readf_double(audio->file, (double *)(void *)audio->block, frames);
    default:
        return sf_readf_float(audio->file, (float *)(void *)audio->block, frames);
    }
}

static spurity_status audio_read(void *user, void *into, size_t samples, size_t *got, spurity_error *error)
{
    struct audio *audio = user;
    const size_t frame = audio->component_bytes * (size_t)audio->channels, room = BLOCK_BYTES / frame;
    const uint64_t left = audio->next < audio->frames ? audio->frames - audio->next : 0;
    sf_count_t wanted = (sf_count_t)(samples < room ? samples : room);
    wanted = (uint64_t)wanted < left ? wanted : (sf_count_t)left;
    *got = 0;
    audio->error = error;
    const sf_count_t frames = wanted ? next_frames(audio, wanted) : 0;
    audio->error = NULL;
    if (error && error->status == SPURITY_SYSTEM)
        return SPURITY_SYSTEM;
    if (frames <= 0)
        return SPURITY_OK;
    const unsigned char *from = audio->block + (size_t)audio->first * audio->component_bytes;
    for (size_t i = 0; i < (size_t)frames; i++)
        memcpy((unsigned char *)into + i * audio->sample_bytes, from + i * frame, audio->sample_bytes);
    *got = (size_t)frames;
    audio->next += (uint64_t)frames;
    return SPURITY_OK;
}

static spurity_status audio_go_to(void *user, uint64_t sample, spurity_error *error)
{
    struct audio *audio = user;
    if (sample < audio->frames && sf_seek(audio->file, (sf_count_t)sample, SEEK_SET) < 0)
        return spurity_report(error, SPURITY_SYSTEM, (spurity_place){.file = audio->bytes.name},
                              "cannot go to a sample of it", "a file that can be read", sf_strerror(audio->file));
    audio->next = sample;
    return SPURITY_OK;
}

/* ---- opening --------------------------------------------------------------------------------------------------- */

static spurity_status refuse(const spurity_input *input, spurity_status status, const char *expected,
                             const char *advice, const char *found, spurity_error *error)
{
    return spurity_report(error, status, spurity_input_at(input, 0, 0), found, expected, advice);
}

static spurity_status check(spurity_input *input, struct audio *audio, const SF_INFO *info, spurity_error *error)
{
    static const char kept[] = "PCM of 8 to 32 bit, or float";
    char found[160];
    const int subtype = info->format & SF_FORMAT_SUBMASK;
    for (size_t i = 0; i < sizeof encodings / sizeof *encodings; i++)
        if (encodings[i].subtype == subtype)
            audio->encoding = &encodings[i];
    if (!audio->encoding)
        return refuse(input, SPURITY_UNSUPPORTED, kept, "lossy coding changes spectra: record it anew",
                      "an encoding that does not keep samples as they were", error);
    if (info->frames < 1) {
        snprintf(found, sizeof found, "a header that says it holds no samples, and a file of %llu bytes",
                 (unsigned long long)audio->bytes.size);
        return refuse(input, SPURITY_INVALID, "samples",
                      "if the recorder was cut off, pass the header by: --skip-bytes 44 --rate ... --datatype ...",
                      found, error);
    }
    if (info->channels < 1 || info->channels > CHANNELS_MOST || info->samplerate < 1) {
        snprintf(found, sizeof found, "%d channels at %d samples/s", info->channels, info->samplerate);
        return refuse(input, SPURITY_INVALID, "1 or 2 channels and a sample rate", NULL, found, error);
    }
    return SPURITY_OK;
}

/** How many runs of samples a RIFF file has, as far as its head goes (chunks: name, length of 32 bit, padded to even).
 */
static int runs_of(const spurity_input *input)
{
    int runs = 0;
    for (uint64_t at = 12; input->head_size >= 8 && at <= input->head_size - 8;) {
        const unsigned char *chunk = input->head + at;
        const uint64_t length =
            chunk[4] | (uint64_t)chunk[5] << 8 | (uint64_t)chunk[6] << 16 | (uint64_t)chunk[7] << 24;
        runs += !memcmp(chunk, "data", 4);
        at += 8 + length + (length & 1);
    }
    return runs;
}

static spurity_status open_audio(spurity_input *input, const struct container *container, struct audio *audio,
                                 SF_INFO *info, spurity_error *error)
{
    SF_VIRTUAL_IO calls = {.get_filelen = audio_length, .seek = audio_seek, .read = audio_pull, .tell = audio_tell};
    char found[200];
    if (audio->bytes.pipe)
        return refuse(input, SPURITY_INVALID, "an audio file with a name",
                      "name the file, or pass the samples alone with --rate and --datatype",
                      "an audio container on a stream", error);
    if (!spurity_bytes_room())
        return spurity_report_memory(error);
    audio->file = sf_open_virtual(&calls, SFM_READ, info, audio);
    if (audio->file)
        return check(input, audio, info, error);
    if (strstr(sf_strerror(NULL), "malloc") || strstr(sf_strerror(NULL), "creating flac decoder")) /* out of memory */
        return spurity_report_memory(error);
    const int runs = strcmp(container->magic, "RIFF") ? 1 : runs_of(input);
    if (runs > 1)
        return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "one run of samples",
                               "join the runs into one file; what stands between them would be read as samples",
                               "%s of %d or more runs of samples with other matter between", container->title, runs);
    snprintf(found, sizeof found, "%s, and its header cannot be understood: %s", container->title, sf_strerror(NULL));
    return refuse(input, SPURITY_INVALID, "one header and one run of samples",
                  "if samples follow one odd header, pass it by: --skip-bytes N --rate ... --datatype ...", found,
                  error);
}

/** A header may promise more than there is, or less. */
static void compare_length(spurity_input *input, const struct audio *audio, const SF_INFO *info)
{
    char log[4096] = "";
    const double frame = (double)audio->encoding->bytes * info->channels, told = (double)info->frames * frame;
    const bool packed = (info->format & SF_FORMAT_TYPEMASK) == SF_FORMAT_FLAC;
    sf_command(audio->file, SFC_GET_LOG_INFO, log, (int)sizeof log - 1);
    if (strstr(log, "should be") || strstr(log, "does not match"))
        spurity_notes_add(input->notes, SPURITY_NOTE_FILE_SHORTER, input->file,
                          "'%s': the header promises another number of samples than the file holds; %llu are used",
                          input->name, (unsigned long long)info->frames);
    else if (!packed && (double)audio->bytes.size > told + 0.01 * told + TAIL_ALLOWED)
        spurity_notes_add(input->notes, SPURITY_NOTE_FILE_SHORTER, input->file,
                          "'%s': the header tells of %.0f bytes of samples in a file of %llu; only those are used",
                          input->name, told, (unsigned long long)audio->bytes.size);
}

/** Two channels are I and Q unless --channel (or a real --datatype) says otherwise. */
static spurity_status settle_channels(spurity_input *input, struct audio *audio, const SF_INFO *info,
                                      struct spurity_layout *plan, spurity_recording *recording, spurity_error *error)
{
    const spurity_read_options *options = input->options;
    const bool real = options->channel || (options->datatype_said && !options->datatype.is_complex);
    char name[8], text[60];
    plan->format = (spurity_sample_format)
    {
        .component = audio->encoding->component,
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_BIG_ENDIAN__
        .big_endian = audio->encoding->component != SPURITY_COMPONENT_U8,
#endif
        .is_complex = info->channels == 2 && !real
    };
    if (options->datatype_said && options->datatype.is_complex && !plan->format.is_complex)
        return refuse(input, SPURITY_INVALID, "two channels, I and Q", "leave --datatype out",
                      "a complex --datatype for an audio file that gives real samples", error);
    plan->channels = plan->format.is_complex ? 1 : info->channels;
    if (options->datatype_said && options->datatype.component != audio->encoding->component)
        spurity_input_contradiction(
            input, "'%s': --datatype says %s, the file's header %s; an audio container's own encoding is taken",
            input->name, spurity_sample_format_name(options->datatype, name, sizeof name), audio->encoding->title);
    snprintf(text, sizeof text, "%s, %s", audio->encoding->title, plan->format.is_complex ? "I and Q" : "real");
    spurity_input_found(
        recording, "datatype", text, plan->format.is_complex ? "--channel" : "", 0, plan->format.is_complex,
        plan->format.is_complex ? "two channels are taken as I (first) and Q: nothing in the file says so"
                                : "by the file's header");
    return spurity_layout_channel(input, plan, "say --channel 1 or 2", recording, error);
}

static spurity_status fill_audio(struct audio *audio, const SF_INFO *info, const struct spurity_layout *plan,
                                 spurity_error *error)
{
    audio->frames = (uint64_t)info->frames;
    audio->channels = info->channels;
    audio->first = plan->channel;
    audio->sample_bytes = spurity_sample_format_bytes(plan->format);
    audio->component_bytes = audio->sample_bytes / (plan->format.is_complex ? 2 : 1);
    audio->block = malloc(BLOCK_BYTES);
    return audio->block ? SPURITY_OK : spurity_report_memory(error);
}

static spurity_status make_capture(spurity_input *input, struct audio *audio, const SF_INFO *info,
                                   struct spurity_layout *plan, spurity_recording *recording, spurity_error *error)
{
    enum { HASH_MOST = 64 << 20 };
    double low, high;
    plan->rate_hz = info->samplerate;
    spurity_status status = settle_channels(input, audio, info, plan, recording, error);
    if (!status)
        status = spurity_layout_settle(input, plan, recording, error);
    if (!status)
        status = fill_audio(audio, info, plan, error);
    recording->facts.bytes = audio->bytes.size;
    if (!status && (audio->bytes.size <= HASH_MOST || input->options->hash))
        status = spurity_bytes_hash(&audio->bytes, recording->facts.sha256, NULL, input->watch, error);
    if (status)
        return status;
    compare_length(input, audio, info);
    spurity_capture_rails(plan->format.component, &low, &high);
    if (audio->encoding->bits && audio->encoding->component != SPURITY_COMPONENT_U8)
        high = 1.0 - ldexp(1.0, 1 - audio->encoding->bits);
    const spurity_capture_stream calls = {.read = audio_read, .seek = audio_go_to, .close = audio_close, .user = audio};
    return spurity_layout_stream(input, plan, &calls, low, high, audio->frames, recording, error);
}

static spurity_status read_audio(spurity_input *input, spurity_recording *recording, spurity_error *error)
{
    const struct container *container = container_of(input);
    struct spurity_layout plan;
    SF_INFO info = {0};
    spurity_layout_init(&plan);
    plan.rate_says = "the file's header";
    if (container->lossy)
        return refuse(input, SPURITY_UNSUPPORTED, "an encoding that keeps samples as they were",
                      "lossy coding changes spectra: record it anew, as WAV, RF64, W64, AU, CAF or FLAC",
                      "audio of a lossy coding", error);
    struct audio *audio = calloc(1, sizeof *audio);
    if (!audio)
        return spurity_report_memory(error);
    spurity_status status = spurity_bytes_take(input, &audio->bytes, error);
    if (!status)
        status = open_audio(input, container, audio, &info, error);
    if (!status)
        status = make_capture(input, audio, &info, &plan, recording, error);
    if (status)
        audio_close(audio);
    spurity_layout_free(&plan);
    return status;
}

const spurity_reader spurity_reader_audio = {
    .name = "audio", .title = "an audio container", .probe = probe, .read = read_audio, .captures = true};
