/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_H
#define SPURITY_INPUT_H
/* Readers: a file becomes a recording (a trace, a capture of samples, or a curve of loss), together with what was
 * understood and why.
 * One reader is one file and one row in readers.c.  Nothing is guessed silently: each assumption is a finding, and one
 * that could change a level is also a note. */
#include "../capture/capture.h"
#include "../trace/trace.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_purpose {
    SPURITY_READ_TRACE, /* a sweep (levels at the instrument), or a capture of samples */
    SPURITY_READ_LOSS   /* a loss table or two-port */
} spurity_purpose;

typedef enum spurity_element { /* of a binary block */
                               SPURITY_ELEMENT_FIND = 0,
                               SPURITY_ELEMENT_F32_BE,
                               SPURITY_ELEMENT_F32_LE,
                               SPURITY_ELEMENT_F64_BE,
                               SPURITY_ELEMENT_F64_LE
} spurity_element;

/** What the user says of a file; overrides what the file says.  Start with spurity_read_options_init.  Strings are
 * borrowed for the call. */
typedef struct spurity_read_options {
    char delimiter;                /* ',' ';' '\t' '|' ' ' (runs of blanks); 0 = find */
    char decimal_mark;             /* '.' ',' ; 0 = find */
    double frequency_unit_hz;      /* hertz per unit of the frequency column; 0 = find */
    spurity_level_unit level_unit; /* UNKNOWN = find */
    const char *trace;         /* column: number from 1 (frequency not counted) or header without unit; NULL = find */
    double start_hz, stop_hz;  /* span of files that hold levels only; NaN = not said.  INVALID for a file whose own
                                  frequencies are elsewhere */
    double rbw_hz;             /* 0 = as the file says */
    spurity_detector detector; /* UNKNOWN = as the file says */
    double averages;           /* 0 = as the file says */
    double impedance_ohm;      /* of voltage columns and two-ports; 50 */
    spurity_element element;   /* of a binary block */
    double carrier_hz;         /* expected carrier, helps to settle an unsaid unit of frequency; NaN = none */
    bool chain_stated;         /* the user stated a chain or --corrected: a non-zero external gain/offset in the file is
                                  then refused (INVALID), both named */
    /* of captures */
    double rate_hz;     /* samples per second; 0 = as the file says */
    double center_hz;   /* NaN = as the file says; over what it says of every segment */
    bool datatype_said; /* `datatype` holds: with a rate, what has no header of its own is raw samples */
    spurity_sample_format datatype;
    int channel;           /* from 1; 0 = not said */
    bool swapped;          /* the recorder swapped I and Q */
    double full_scale_dbm; /* NaN = as the file says, if at all */
    double skip_bytes;     /* before the samples of a raw file; 0 */
    bool hash;             /* SHA-256 of captures over 64 MiB too, and a recording's own digest is checked */
    /* said for several files at once: taken only of a trace whose file tells none; of captures always */
    bool rbw_if_untold, detector_if_untold; /* the latter of averages too */
} spurity_read_options;
SPURITY_API void spurity_read_options_init(spurity_read_options *options);

/** One thing that was understood. */
typedef struct spurity_finding {
    char what[40];        /* "delimiter", "level unit" ... */
    char understood[120]; /* "semicolon", "dBm" ... */
    char why[200];        /* the evidence, with the line */
    char option[40];      /* what overrides it, e.g. "--level-unit"; "" if nothing */
    unsigned long line;   /* 0 = none */
    bool assumed;         /* taken without the file saying so */
} spurity_finding;

/** Facts of the file that are no part of the trace.  NaN or "" = not told. */
typedef struct spurity_recording_facts {
    const char *reader; /* row name: "text", "block", "two-port", "sigmf", "audio", "raw" */
    char title[120];    /* title or name the file gives itself; untrusted text, valid UTF-8 without controls */
    char column[120];   /* column that was taken, "" if nameless */
    char sha256[65];    /* lower-case hex; "" for standard input */
    uint64_t bytes;
    double reference_level_dbm, input_attenuation_db, external_gain_db;
    double reference_impedance_ohm; /* of a two-port */
    char data[256]; /* of a recording of two files: the one with the samples, whose sha256 and bytes these are; "" */
    /* of captures, kept when the capture is taken; 0 and NaN = not told */
    double rate_hz, center_hz /* of the first segment */, full_scale_dbm;
    spurity_sample_format datatype; /* as it stands in the file */
    uint64_t samples;
    size_t capture_segments; /* 0: no capture */
    int channels, channel;   /* channel from 1 */
} spurity_recording_facts;

typedef struct spurity_recording spurity_recording;

/** Reads a file.  path "-" is standard input.  name (may be NULL: path) is what messages call it.  file is the index
 * for notes, -1 if none.  notes, watch may be NULL.  On failure *recording is NULL and the error tells file, line or
 * byte, what was found, expected, and what to do: INVALID for unusable or ambiguous content (both readings are told),
 * UNSUPPORTED for a file nothing here reads, SYSTEM when it cannot be opened or read.  Memory stays within the caps
 * stated in input/README.md whatever the file says of itself. */
SPURITY_API spurity_status spurity_input_read(const char *path, const spurity_read_options *options,
                                              spurity_purpose purpose, int file, spurity_notes *notes,
                                              const spurity_watch *watch, spurity_recording **recording,
                                              spurity_error *error);
/** As spurity_input_read, from memory; `name` names it in messages and gives the suffix a two-port needs.  A
 * capture goes on reading the bytes: they must stay until it is freed. */
SPURITY_API spurity_status spurity_input_read_memory(const char *name, const void *bytes, size_t size,
                                                     const spurity_read_options *options, spurity_purpose purpose,
                                                     int file, spurity_notes *notes, const spurity_watch *watch,
                                                     spurity_recording **recording, spurity_error *error);
SPURITY_API void spurity_recording_free(spurity_recording *recording); /* NULL is fine */

/** Borrowed, valid while the recording lives. */
SPURITY_API const spurity_recording_facts *spurity_recording_facts_of(const spurity_recording *recording);
/** Borrowed; NULL when it holds none. */
SPURITY_API const spurity_trace *spurity_recording_trace(const spurity_recording *recording);
SPURITY_API const spurity_curve *spurity_recording_curve(const spurity_recording *recording);
/** Hands the trace (curve, capture) over to the caller, who frees it; NULL when there is none (any more). */
SPURITY_API spurity_trace *spurity_recording_take_trace(spurity_recording *recording);
SPURITY_API spurity_curve *spurity_recording_take_curve(spurity_recording *recording);
/** A capture reads its file while it is used: the file stays open until the capture is freed. */
SPURITY_API const spurity_capture *spurity_recording_capture(const spurity_recording *recording);
SPURITY_API spurity_capture *spurity_recording_take_capture(spurity_recording *recording);
/** At most 200, in the order in which they were understood.  Borrowed; NULL when index is out of range. */
SPURITY_API size_t spurity_recording_finding_count(const spurity_recording *recording);
SPURITY_API const spurity_finding *spurity_recording_finding(const spurity_recording *recording, size_t index);

#ifdef __cplusplus
}
#endif
#endif
