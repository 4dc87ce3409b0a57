/* SPDX-License-Identifier: GPL-2.0-or-later */
/* audio KIND RATE CHANNELS IN OUT: 16 bit samples, this machine's order, as a container of audio; for the cases. */
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int format_of(const char *kind)
{
    static const struct {
        const char *kind;
        int format;
    } kinds[] = {{"wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16},   {"wavex", SF_FORMAT_WAVEX | SF_FORMAT_PCM_16},
                 {"wavf", SF_FORMAT_WAV | SF_FORMAT_FLOAT},   {"rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_16},
                 {"w64", SF_FORMAT_W64 | SF_FORMAT_PCM_16},   {"au", SF_FORMAT_AU | SF_FORMAT_PCM_16},
                 {"caf", SF_FORMAT_CAF | SF_FORMAT_PCM_16},   {"flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16},
                 {"wav24", SF_FORMAT_WAV | SF_FORMAT_PCM_24}, {"wav8", SF_FORMAT_WAV | SF_FORMAT_PCM_U8}};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
        if (!strcmp(kinds[i].kind, kind))
            return kinds[i].format;
    return 0;
}

int main(int argc, char **argv)
{
    SF_INFO facts = {0};
    short samples[4096];
    if (argc != 6)
        return 2;
    facts.format = format_of(argv[1]);
    facts.samplerate = atoi(argv[2]);
    facts.channels = atoi(argv[3]);
    FILE *in = fopen(argv[4], "rb");
    SNDFILE *out = in ? sf_open(argv[5], SFM_WRITE, &facts) : NULL;
    if (!out) {
        fprintf(stderr, "audio: %s\n", in ? sf_strerror(NULL) : "cannot open the samples");
        return 1;
    }
    sf_command(out, SFC_SET_SCALE_INT_FLOAT_WRITE, NULL, SF_TRUE); /* floats of full scale 1 */
    for (size_t got; (got = fread(samples, sizeof *samples, 4096, in)) > 0;)
        sf_write_short(out, samples, (sf_count_t)got);
    fclose(in);
    return sf_close(out);
}
