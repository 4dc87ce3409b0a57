/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_READER_H
#define SPURITY_INPUT_READER_H
/* Inside the stage: what a reader gets, and how it hands back what it understood.  A reader is one file and one row of
 * the table in readers.c. */
#include "input.h"

enum {
    SPURITY_HEAD_BYTES = 1 << 20, /* of a file shown to every probe */
    SPURITY_FINDINGS_MAX = 200    /* further ones are dropped */
};

typedef struct spurity_input_source spurity_input_source;

/** One file being read.  The head stands in memory; what follows it is pulled.  Everything is borrowed for the call. */
typedef struct spurity_input {
    const char *name; /* what messages call it; its suffix may tell a reader something */
    const char *path; /* "-": standard input; NULL: memory */
    const spurity_read_options *options;
    spurity_purpose purpose;
    int file; /* for notes */
    spurity_notes *notes;
    const spurity_watch *watch;
    const unsigned char *head; /* first bytes of the file, as they stand there; never NULL */
    size_t head_size;          /* >= 1, <= SPURITY_HEAD_BYTES */
    bool head_is_all;          /* nothing follows the head */
    uint64_t total;            /* bytes of the file, 0 = not known (standard input) */
    spurity_input_source *source;
} spurity_input;

/** A row of the table. */
typedef struct spurity_reader {
    const char *name;  /* "text": facts.reader */
    const char *title; /* for a person: "delimited text" */
    /** How sure this reader is that the file is its own, from the head and the name alone: 0 not at all, 50 could be,
     *  90 its signature stands there, 100 certain.  The highest claim reads; two equal highest ones are refused with
     *  both titles. */
    int (*probe)(const spurity_input *input);
    /** Fills recording->trace or recording->capture (purpose TRACE) or recording->curve (purpose LOSS), findings and
     *  facts; facts.reader is filled by the caller, sha256 and bytes too unless there is a capture.  On failure the
     *  caller frees the recording. */
    spurity_status (*read)(spurity_input *input, spurity_recording *recording, spurity_error *error);
    bool captures; /* makes captures only: refused as a loss table by the caller */
} spurity_reader;

extern const spurity_reader spurity_reader_text;       /* text.c */
extern const spurity_reader spurity_reader_block;      /* block.c */
extern const spurity_reader spurity_reader_touchstone; /* touchstone.c */
extern const spurity_reader spurity_reader_sigmf;      /* sigmf.c */
extern const spurity_reader spurity_reader_audio;      /* audio.c */
extern const spurity_reader spurity_reader_raw;        /* raw.c */

struct spurity_recording {
    spurity_trace *trace;
    spurity_curve *curve;
    spurity_capture *capture;
    spurity_recording_facts facts; /* starts with NaN and "" */
    size_t finding_count, finding_room;
    spurity_finding *findings;
    bool finding_lost; /* memory was out */
};

/** The next bytes after the head (after the last pull): *got <= room, 0 at the end.  SYSTEM when reading fails. */
spurity_status spurity_input_pull(spurity_input *input, void *into, size_t room, size_t *got, spurity_error *error);

/** The whole file in memory, head included, followed by a NUL that is not counted.  Owned by the input, gone with it.
 * INVALID when it is longer than most_bytes.  Not to be mixed with spurity_input_pull. */
spurity_status spurity_input_whole(spurity_input *input, size_t most_bytes, const unsigned char **bytes, size_t *size,
                                   spurity_error *error);

/** Places in this file: line and column from 1 (0 = not known), byte from 0. */
spurity_place spurity_input_at(const spurity_input *input, unsigned long line, unsigned long column);
spurity_place spurity_input_at_byte(const spurity_input *input, uint64_t byte);

/** Adds a finding: what was understood, from where (line 0 = none), which option overrides it ("" if nothing), why by
 *  printf rules.  Control characters become blanks, broken UTF-8 becomes '?', long texts are cut. */
void spurity_input_found(spurity_recording *recording, const char *what, const char *understood, const char *option,
                         unsigned long line, bool assumed, const char *why_format, ...) SPURITY_PRINTF(7, 8);

/** A note that the same fact is told twice, and differently. */
void spurity_input_contradiction(const spurity_input *input, const char *format, ...) SPURITY_PRINTF(2, 3);

/** Copies text of a file as a person may see it: controls become blanks, broken UTF-8 '?', cut at a character. */
void spurity_input_clean(char *into, size_t size, const char *text, size_t length);

#endif
