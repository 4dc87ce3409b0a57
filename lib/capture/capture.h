/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CAPTURE_H
#define SPURITY_CAPTURE_H
/* A capture: a stream of samples behind a read callback, with its facts.  Knows no files.
 *
 * Samples are real, or complex (I then Q).  Full scale is 1.0: signed b-bit x / 2^(b-1), unsigned (x - 2^(b-1)) /
 * 2^(b-1), but unsigned 8 bit (x - 127.5) / 128; floats as they are.  0 dBFS is a complex tone of modulus 1, or a real
 * one of peak 1.  Samples are counted from 0 in stream order. */
#include "../units/units.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum spurity_component {
    SPURITY_COMPONENT_U8,
    SPURITY_COMPONENT_I8,
    SPURITY_COMPONENT_U16,
    SPURITY_COMPONENT_I16,
    SPURITY_COMPONENT_U32,
    SPURITY_COMPONENT_I32,
    SPURITY_COMPONENT_F32,
    SPURITY_COMPONENT_F64
} spurity_component;

typedef struct spurity_sample_format {
    spurity_component component;
    bool is_complex;
    bool big_endian;
    bool swapped; /* Q comes first */
} spurity_sample_format;

/** From a SigMF datatype: "ci16_le", "rf32_be", "cu8"; letter case aside.  *order_assumed (may be NULL): true where a
 * component of 16 bits or more comes without its byte order, which is then little-endian.  False when it is none. */
SPURITY_API bool spurity_sample_format_parse(const char *text, size_t length, spurity_sample_format *format,
                                             bool *order_assumed);
/** As SigMF writes it; size >= 8.  Returns text. */
SPURITY_API char *spurity_sample_format_name(spurity_sample_format format, char *text, size_t size);
/** Bytes of one sample, both components. */
SPURITY_API size_t spurity_sample_format_bytes(spurity_sample_format format);
/** Converts `samples` samples to float, scaled to full scale; complex ones as I, Q pairs (2 * samples floats).  `from`
 * needs no alignment; the ranges must not overlap. */
SPURITY_API void spurity_sample_convert(spurity_sample_format format, const void *from, size_t samples, float *to);

/** A stretch of the stream with one centre.  Nothing may be transformed across the start of the next one. */
typedef struct spurity_capture_segment {
    uint64_t first;   /* sample */
    double center_hz; /* tuned frequency = 0 Hz of a complex capture; NaN = not told.  Added to a real one's, too */
    bool overload;    /* the recorder says that its input was overloaded */
} spurity_capture_segment;

typedef struct spurity_capture_facts {
    spurity_sample_format format; /* of what the stream delivers */
    double rate_hz;               /* samples per second, > 0 */
    double full_scale_dbm;        /* level at the receiver's input of a tone of 0 dBFS; NaN = not known */
    double
        usable_hz; /* width about the centre (real: from 0 Hz) the recording says its filter passes; NaN = not told */
    double rail_low, rail_high;              /* scaled values at which the converter stops; NaN = none known (floats) */
    uint64_t samples;                        /* promised; 0 = not known */
    const spurity_capture_segment *segments; /* rising `first`, segments[0].first == 0 */
    size_t segment_count;                    /* >= 1 */
} spurity_capture_facts;
/** Complex 16 bit little-endian, everything else not known, no segment. */
SPURITY_API void spurity_capture_facts_init(spurity_capture_facts *facts);
/** The rails of a component: -1 and 1 - 2^(1-b) for b bits (u8: -127.5/128 and 127.5/128); NaN for floats. */
SPURITY_API void spurity_capture_rails(spurity_component component, double *low, double *high);

/** Where samples come from. */
typedef struct spurity_capture_stream {
    /** The next samples, packed, in facts.format.  *got <= samples; 0 only at the end.  SYSTEM when reading fails. */
    spurity_status (*read)(void *user, void *into, size_t samples, size_t *got, spurity_error *error);
    /** Makes `sample` the next one.  NULL: the stream cannot go back (standard input). */
    spurity_status (*seek)(void *user, uint64_t sample, spurity_error *error);
    void (*close)(void *user); /* may be NULL */
    void *user;
    /** While a read waits for samples that are still to come, go_on is asked several times a second; false ends the
     * read with CANCELLED.  go_on NULL: nobody is asked any more.  NULL: a read never waits for long. */
    void (*while_waiting)(void *user, bool (*go_on)(void *context), void *context);
} spurity_capture_stream;

typedef struct spurity_capture spurity_capture;

/** A capture over a stream, which it takes over at success (closes at free).  Facts and segments are copied.  INVALID
 * for a rate that is not above 0 and finite, or segments out of order. */
SPURITY_API spurity_status spurity_capture_create(const spurity_capture_facts *facts,
                                                  const spurity_capture_stream *stream, spurity_capture **capture,
                                                  spurity_error *error);
/** Over memory in facts->format, borrowed while the capture lives; whole samples only are used.  With segment_count 0
 * one segment without a centre. */
SPURITY_API spurity_status spurity_capture_from_memory(const spurity_capture_facts *facts, const void *bytes,
                                                       size_t size, spurity_capture **capture, spurity_error *error);
SPURITY_API void spurity_capture_free(spurity_capture *capture); /* NULL is fine */
/** Borrowed, valid while the capture lives. */
SPURITY_API const spurity_capture_facts *spurity_capture_facts_of(const spurity_capture *capture);
/** The next samples, as the stream's read; loops until `samples` or the end. */
SPURITY_API spurity_status spurity_capture_read(spurity_capture *capture, void *into, size_t samples, size_t *got,
                                                spurity_error *error);
/** Who is asked while a read waits (see the stream); NULL: nobody.  Not while another thread reads. */
SPURITY_API void spurity_capture_while_waiting(spurity_capture *capture, bool (*go_on)(void *context), void *context);
SPURITY_API bool spurity_capture_can_seek(const spurity_capture *capture);
/** UNSUPPORTED where it cannot. */
SPURITY_API spurity_status spurity_capture_seek(spurity_capture *capture, uint64_t sample, spurity_error *error);
/** The next sample's number. */
SPURITY_API uint64_t spurity_capture_at(const spurity_capture *capture);

#ifdef __cplusplus
}
#endif
#endif
