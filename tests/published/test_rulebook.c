/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Every clause of every built-in file once more, written from the regulation and not from the file: whom it binds, its
 * corners (at the corner, 1 Hz inside, 1 Hz outside, either side of the carrier), its figure, its reference bandwidth
 * and reading, and whether its text was read.  A clause without a row here fails the test, and so does a row without a
 * clause.
 *
 * Sources, none of them ours; the figures were worked by hand (log to base 10, P in watts, f in kHz from the centre):
 * 47 CFR 97.307, 97.313, 97.301, 97.317 and 2.1057, issue of 2026-09-23.
 * 47 CFR 95.563 to 95.587, 95.763 to 95.779, 95.963 to 95.979, 95.1763 to 95.1787, 95.2763 to 95.2779, 90.209, 90.210,
 * 90.213 and 90.214, in the issues that the files name clause by clause.
 * Radio Regulations Appendix 3 and Rec. ITU-R SM.329 as licence courses and a published survey quote them; ERC/REC
 * 74-01 (corrected 2022-05-23) by a transcription; EN 300 086, 300 296, 301 783, 303 405 from memory: all of these
 * unverified. */
#include "clauses.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))
#define INF INFINITY

/** What a row says of a clause. */
enum says {
    LEVEL,  /* at a place, so many dB below the transmitter's power */
    FIGURE, /* a power in W, a width in Hz, an accuracy in ppm or Hz */
    WORDS,  /* binds, has no figure */
    BINDS,  /* binds; a band or a channel */
    NOT     /* does not bind */
};

struct row {
    const char *citation;
    char status; /* c: the text was read; u: unverified */
    enum says says;
    struct set set;          /* carrier in Hz, W */
    spurity_date installed;  /* 0: not told */
    const char *ends;        /* "(]": the lower corner excluded, the upper included; "<)" etc. when there is one */
    double from_khz, to_khz; /* corners, from the centre */
    double at_khz;           /* where the figure is asked, from the carrier */
    double figure;           /* dB below P, W, Hz, ppm */
    double reference_hz;     /* reference bandwidth there; 0: none named */
    const char *reading;     /* detector; NULL: none named */
};

#define SET(mhz, watts)                                                                                                \
    {                                                                                                                  \
        NULL, (mhz)*1e6, watts, NULL, NULL, 0, 0                                                                       \
    }
#define VOICE(mhz, watts, filter)                                                                                      \
    {                                                                                                                  \
        NULL, (mhz)*1e6, watts, "F3E", NULL, filter, 0                                                                 \
    }
#define TYPE(mhz, watts, emission)                                                                                     \
    {                                                                                                                  \
        NULL, (mhz)*1e6, watts, emission, NULL, 0, 0                                                                   \
    }
#define WIDE(mhz, watts, filter, khz)                                                                                  \
    {                                                                                                                  \
        NULL, (mhz)*1e6, watts, "F3E", NULL, filter, (khz)*1e3                                                         \
    }
#define OF(mhz, watts, station, khz)                                                                                   \
    {                                                                                                                  \
        NULL, (mhz)*1e6, watts, NULL, station, 0, (khz)*1e3                                                            \
    }
#define AT(status, citation, set, ends, from, to, place, db, reference, reading)                                       \
    {                                                                                                                  \
        citation, status, LEVEL, set, 0, ends, from, to, place, db, reference, reading                                 \
    }
#define DATED(citation, set, date, place, db)                                                                          \
    {                                                                                                                  \
        citation, 'c', LEVEL, set, date, "[)", 1.5, INF, place, db, (place) > 1.6e3 ? 100e3 : 10e3, "mean"             \
    }
#define CAP(status, citation, set, value)                                                                              \
    {                                                                                                                  \
        citation, status, FIGURE, set, 0, NULL, 0, 0, 0, value, 0, NULL                                                \
    }
#define SAYS(status, citation, set)                                                                                    \
    {                                                                                                                  \
        citation, status, WORDS, set, 0, NULL, 0, 0, 0, 0, 0, NULL                                                     \
    }
#define BIND(status, citation, set)                                                                                    \
    {                                                                                                                  \
        citation, status, BINDS, set, 0, NULL, 0, 0, 0, 0, 0, NULL                                                     \
    }
#define FREE(citation, set)                                                                                            \
    {                                                                                                                  \
        citation, 0, NOT, set, 0, NULL, 0, 0, 0, 0, 0, NULL                                                            \
    }
#define LATE(citation, set, date)                                                                                      \
    {                                                                                                                  \
        citation, 0, NOT, set, date, NULL, 0, 0, 0, 0, 0, NULL                                                         \
    }

/* ---- 47 CFR Part 97 ---- */
static const struct row us_amateur[] = {
    SAYS('c', "47 CFR 97.307(a)", SET(446, 5)),
    SAYS('c', "47 CFR 97.307(b)", SET(446, 5)),
    SAYS('c', "47 CFR 97.307(c)", SET(446, 5)),
    /* below 30 MHz: half of 3 kHz inside; flat 43 dB after 2003-01-01 */
    DATED("47 CFR 97.307(d), first sentence", SET(28.4, 1), 20030102, 28.4e3, 43),
    DATED("47 CFR 97.307(d), first sentence", SET(28.4, 1500), 20200101, 1.5, 43),
    LATE("47 CFR 97.307(d), first sentence", SET(28.4, 5), 20030101),
    LATE("47 CFR 97.307(d), first sentence", SET(30, 5), 20200101),
    /* until then 50 mW and 40 dB, below 5 W 30 dB */
    DATED("47 CFR 97.307(d), second sentence", SET(28.4, 5), 20030101, 28.4e3, 40),
    DATED("47 CFR 97.307(d), second sentence", SET(28.4, 500), 19990101, 28.4e3, 40),
    DATED("47 CFR 97.307(d), second sentence", SET(28.4, 1500), 19990101, 28.4e3, 44.771), /* 50 mW */
    LATE("47 CFR 97.307(d), second sentence", SET(28.4, 4.999), 20030101),
    LATE("47 CFR 97.307(d), second sentence", SET(28.4, 5), 20030102),
    DATED("47 CFR 97.307(d), third sentence", SET(28.4, 4.999), 20030101, 28.4e3, 30),
    LATE("47 CFR 97.307(d), third sentence", SET(28.4, 5), 20030101),
    LATE("47 CFR 97.307(d), third sentence", SET(28.4, 1), 20030102),
    /* 30 to 225 MHz: half of 16 kHz inside */
    AT('c', "47 CFR 97.307(e), first sentence", SET(146, 50), "[)", 8, INF, 146e3, 60, 100e3, "mean"),
    AT('c', "47 CFR 97.307(e), first sentence", SET(225, 25.001), "[)", 8, INF, 1350e3, 60, 1e6, "mean"),
    FREE("47 CFR 97.307(e), first sentence", SET(146, 25)),
    FREE("47 CFR 97.307(e), first sentence", SET(225.001, 50)),
    AT('c', "47 CFR 97.307(e), second sentence", SET(146, 5), "[)", 8, INF, 146e3, 53.010, 100e3, "mean"),
    AT('c', "47 CFR 97.307(e), second sentence", SET(146, 0.05), "[)", 8, INF, 146e3, 36.990, 100e3, "mean"),
    AT('c', "47 CFR 97.307(e), second sentence", SET(30, 25), "[)", 8, INF, 30e3, 60, 100e3, "mean"),
    FREE("47 CFR 97.307(e), second sentence", SET(146, 25.001)),
    FREE("47 CFR 97.307(e), second sentence", SET(29.999, 5)),
    FREE("47 CFR 97.307(e), second sentence", SET(446, 5)),
    CAP('c', "47 CFR 97.313(b)", SET(146, 5), 1500),
    CAP('c', "47 CFR 97.313(c)", SET(10.1, 5), 200),
    CAP('c', "47 CFR 97.313(c)", SET(10.15, 5), 200),
    FREE("47 CFR 97.313(c)", SET(10.1501, 5)),
    CAP('c', "47 CFR 97.313(h)", SET(220, 5), 50),
    FREE("47 CFR 97.313(h)", SET(222, 5)),
    CAP('c', "47 CFR 97.313(i), channels of 60 m", SET(5.405, 5), 100),
    CAP('c', "47 CFR 97.313(i), channels of 60 m", SET(5.332, 5), 100),
    FREE("47 CFR 97.313(i), channels of 60 m", SET(5.36, 5)),
    CAP('c', "47 CFR 97.313(i), 5351.5 to 5366.5 kHz", SET(5.3665, 5), 9.15),
    FREE("47 CFR 97.313(i), 5351.5 to 5366.5 kHz", SET(5.373, 5)),
    SAYS('c', "47 CFR 97.313(c), by licence class", SET(21.1, 5)),
    SAYS('c', "47 CFR 97.313(d), (e)", SET(1270, 5)),
    SAYS('c', "47 CFR 97.313(f), (g)", SET(433, 5)),
    SAYS('c', "47 CFR 97.313(j)", SET(146, 5)),
    SAYS('c', "47 CFR 97.317", SET(146, 5)),
    SAYS('c', "47 CFR 97.307(f)(1)", SET(28.99, 5)),
    SAYS('c', "47 CFR 97.307(f)(13), (14)", SET(5.36, 5)),
    SAYS('c', "47 CFR 97.307(f)(3), (5), (6)", SET(146, 5)),
    SAYS('c', "47 CFR 97.307(f)(2), (7)", SET(146, 5)),
    BIND('c', "47 CFR 97.301, ITU Region 2, and 97.305(c)", SET(146, 5)),
};

/* ---- 47 CFR Part 95, subpart E: 20 kHz wide, 12.5 kHz on 467.5625 to 467.7125 MHz ---- */
static const struct row us_gmrs[] = {
    AT('c', "47 CFR 95.1779(b)(7)", VOICE(462.6, 5, 'y'), "(-", 50, INF, 462.6e3, 49.990, 30e3, "mean or peak"),
    AT('c', "47 CFR 95.1779(b)(7)", VOICE(467.5625, 0.5, 'y'), "(-", 31.25, INF, 50, 39.990, 30e3, "mean or peak"),
    SAYS('c', "47 CFR 2.1057(a)(1), (b), (c)", SET(462.6, 5)),
    SAYS('c', "47 CFR 95.1779(a)(2), (c), (d)", SET(462.6, 5)),
    AT('c', "47 CFR 95.1779(b)(1)", VOICE(462.6, 5, 'y'), "(]", 10, 20, 20, 25, 300, "mean or peak"),
    AT('c', "47 CFR 95.1779(b)(1)", VOICE(467.5625, 5, 'y'), "(]", 6.25, 12.5, 12.5, 25, 300, "mean or peak"),
    FREE("47 CFR 95.1779(b)(1)", VOICE(462.6, 5, 'n')),
    FREE("47 CFR 95.1779(b)(1)", TYPE(462.6, 5, "J3E")),
    AT('c', "47 CFR 95.1779(b)(2)", VOICE(462.6, 5, 'y'), "(]", 20, 50, 20.001, 35, 300, "mean or peak"),
    AT('c', "47 CFR 95.1779(b)(2)", VOICE(467.5625, 5, 'y'), "(]", 12.5, 31.25, 31.25, 35, 300, "mean or peak"),
    FREE("47 CFR 95.1779(b)(2)", VOICE(462.6, 5, 'n')),
    AT('c', "47 CFR 95.1779(b)(3)", VOICE(462.6, 5, 'n'), "(]", 5, 10, 10, 24.985, 300, "mean or peak"), /* 83 log 2 */
    AT('c', "47 CFR 95.1779(b)(3)", VOICE(462.6, 5, 'n'), "(]", 5, 10, 7.5, 14.616, 300, "mean or peak"),
    FREE("47 CFR 95.1779(b)(3)", VOICE(462.6, 5, 'y')),
    AT('c', "47 CFR 95.1779(b)(4)", VOICE(462.6, 5, 'n'), "(]", 10, 50, 15, 45.328, 300,
       "mean or peak"), /* 116 log(15/6.1) */
    AT('c', "47 CFR 95.1779(b)(4)", VOICE(462.6, 50, 'n'), "(]", 10, 50, 25, 66.990, 300,
       "mean or peak"), /* 50 + 10 log 50 of 71.07 */
    AT('c', "47 CFR 95.1779(b)(4)", VOICE(467.5625, 5, 'n'), "(]", 10, 31.25, 31.25, 56.990, 300, "mean or peak"),
    AT('c', "47 CFR 95.1779(b)(5)", TYPE(462.6, 5, "J3E"), "(]", 10, 30, 30, 25, 300, "mean or peak"),
    FREE("47 CFR 95.1779(b)(5)", VOICE(462.6, 5, 'y')),
    AT('c', "47 CFR 95.1779(b)(6)", TYPE(462.6, 5, "R3E"), "(]", 30, 50, 50, 35, 300, "mean or peak"),
    CAP('c', "47 CFR 95.1773(a), (b)", SET(462.5625, 5), 20e3),
    CAP('c', "47 CFR 95.1773(a), (b)", SET(467.725, 5), 20e3),
    FREE("47 CFR 95.1773(a), (b)", SET(467.5625, 5)),
    CAP('c', "47 CFR 95.1773(b)", SET(467.7125, 5), 12.5e3),
    FREE("47 CFR 95.1773(b)", SET(467.7, 5)),
    SAYS('c', "47 CFR 95.1773(c)", SET(462.6, 5)),
    CAP('c', "47 CFR 95.1767(a)(1)", OF(462.6, 5, "mobile", 0), 50),
    CAP('c', "47 CFR 95.1767(a)(1)", OF(467.55, 5, "repeater", 0), 50),
    FREE("47 CFR 95.1767(a)(1)", OF(462.6, 5, "fixed", 0)),
    FREE("47 CFR 95.1767(a)(1)", OF(462.5625, 5, "mobile", 0)),
    CAP('c', "47 CFR 95.1767(a)(2)", OF(467.6, 5, "fixed", 0), 15),
    CAP('c', "47 CFR 95.1767(b)", SET(462.7125, 5), 5),
    FREE("47 CFR 95.1767(b)", SET(467.7125, 5)),
    CAP('c', "47 CFR 95.1767(c)", SET(467.5625, 5), 0.5),
    SAYS('c', "47 CFR 95.1787(a)", SET(462.6, 5)),
    BIND('c', "47 CFR 95.1763", SET(462.6, 5)),
    CAP('u', "47 CFR 95.1765, wider than 12.5 kHz", SET(462.6, 5), 5),
    FREE("47 CFR 95.1765, wider than 12.5 kHz", SET(467.5625, 5)),
    CAP('u', "47 CFR 95.1765, 12.5 kHz or less", SET(467.5625, 5), 2.5),
    FREE("47 CFR 95.1765, 12.5 kHz or less", SET(462.6, 5)),
    CAP('c', "47 CFR 95.1775(a), (b)", SET(462.6125, 5), 5e3),
    FREE("47 CFR 95.1775(a), (b)", SET(467.6125, 5)),
    CAP('c', "47 CFR 95.1775(c)", SET(467.6125, 5), 2.5e3),
    SAYS('c', "47 CFR 95.1775(d)", SET(462.6, 5)),
    SAYS('c', "47 CFR 95.1775(e)", SET(462.6, 5)),
};

/* ---- 47 CFR Part 95, subpart B ---- */
static const struct row us_frs[] = {
    AT('c', "47 CFR 95.579(a)(3)", SET(462.5625, 2), "(-", 31.25, INF, 462.5625e3, 46.010, 30e3, "mean or peak"),
    AT('c', "47 CFR 95.579(a)(3)", SET(467.5625, 0.5), "(-", 31.25, INF, 31.251, 39.990, 30e3, "mean or peak"),
    SAYS('c', "47 CFR 2.1057(a)(1), (b), (c)", SET(462.5625, 2)),
    SAYS('c', "47 CFR 95.579(c)", SET(462.5625, 2)),
    AT('c', "47 CFR 95.579(a)(1)", SET(462.5625, 2), "(]", 6.25, 12.5, 12.5, 25, 300, "mean or peak"),
    AT('c', "47 CFR 95.579(a)(2)", SET(462.5625, 2), "(]", 12.5, 31.25, 31.25, 35, 300, "mean or peak"),
    CAP('u', "47 CFR 95.573", SET(462.5625, 2), 12.5e3),
    CAP('c', "47 CFR 95.567, channels 1 to 7 and 15 to 22", SET(462.725, 2), 2),
    FREE("47 CFR 95.567, channels 1 to 7 and 15 to 22", SET(467.5625, 2)),
    CAP('c', "47 CFR 95.567, channels 8 to 14", SET(467.7125, 2), 0.5),
    FREE("47 CFR 95.567, channels 8 to 14", SET(462.5625, 2)),
    BIND('u', "47 CFR 95.563 with 95.587(a)", SET(462.5625, 2)),
    CAP('c', "47 CFR 95.565", SET(462.5625, 2), 2.5),
    CAP('c', "47 CFR 95.575, deviation", SET(462.5625, 2), 2.5e3),
    SAYS('c', "47 CFR 95.575, audio frequency", SET(462.5625, 2)),
    SAYS('u', "47 CFR 95.571", SET(462.5625, 2)),
    SAYS('c', "47 CFR 95.587(b)", SET(462.5625, 2)),
    SAYS('c', "47 CFR 95.587(e)", SET(462.5625, 2)),
};

/* ---- 47 CFR Part 95, subpart J ---- */
static const struct row us_murs[] = {
    AT('c', "47 CFR 95.2779(b)(2)", SET(151.82, 2), "(-", 12.5, INF, 151.82e3, 53.010, 30e3, NULL),
    AT('c', "47 CFR 95.2779(b)(2)", SET(151.94, 200), "(-", 12.5, INF, 151.94e3, 70, 30e3, NULL), /* of 73.01 */
    FREE("47 CFR 95.2779(b)(2)", SET(154.57, 2)),
    AT('c', "47 CFR 95.2779(b)(7)", SET(154.57, 2), "(-", 50, INF, 154.57e3, 46.010, 30e3, NULL),
    FREE("47 CFR 95.2779(b)(7)", SET(151.88, 2)),
    SAYS('c', "47 CFR 2.1057(a)(1), (b), (c)", SET(154.6, 2)),
    SAYS('c', "47 CFR 95.2779, attachments", SET(154.6, 2)),
    AT('c', "47 CFR 95.2779(b)(1)", SET(151.88, 2), "(]", 5.625, 12.5, 12.5, 69.937, 300, NULL), /* 7.27 x 9.62 */
    AT('c', "47 CFR 95.2779(b)(1)", SET(151.88, 2), "(]", 5.625, 12.5, 10, 51.762, 300, NULL),
    AT('c', "47 CFR 95.2779(b)(3)", VOICE(154.6, 2, 'y'), "(]", 10, 20, 20, 25, 300, NULL),
    FREE("47 CFR 95.2779(b)(3)", VOICE(154.6, 2, 'n')),
    FREE("47 CFR 95.2779(b)(3)", VOICE(151.82, 2, 'y')),
    AT('c', "47 CFR 95.2779(b)(4)", VOICE(154.6, 2, 'y'), "(]", 20, 50, 50, 35, 300, NULL),
    AT('c', "47 CFR 95.2779(b)(5)", VOICE(154.6, 2, 'n'), "(]", 5, 10, 10, 24.985, 300, NULL),
    FREE("47 CFR 95.2779(b)(5)", VOICE(154.6, 2, 'y')),
    AT('c', "47 CFR 95.2779(b)(6)", VOICE(154.57, 2, 'n'), "(]", 10, 50, 15, 38.013, 300, NULL), /* 29 log(225/11) */
    AT('c', "47 CFR 95.2779(b)(6)", VOICE(154.57, 2, 'n'), "(]", 10, 50, 50, 50, 300, NULL),
    CAP('c', "47 CFR 95.2773, 151 MHz", SET(151.94, 2), 11.25e3),
    FREE("47 CFR 95.2773, 151 MHz", SET(154.57, 2)),
    CAP('c', "47 CFR 95.2773, 154 MHz", SET(154.57, 2), 20e3),
    CAP('c', "47 CFR 95.2773, A3E", TYPE(154.57, 2, "A3E"), 8e3),
    FREE("47 CFR 95.2773, A3E", TYPE(154.57, 2, "F3E")),
    CAP('c', "47 CFR 95.2767", SET(154.57, 2), 2),
    BIND('c', "47 CFR 95.2763", SET(151.82, 2)),
    CAP('c', "47 CFR 95.2765, 6.25 kHz or less", WIDE(151.82, 2, 0, 6.25), 2),
    FREE("47 CFR 95.2765, 6.25 kHz or less", SET(151.82, 2)),
    CAP('c', "47 CFR 95.2765, above 6.25 kHz", SET(151.82, 2), 5),
    FREE("47 CFR 95.2765, above 6.25 kHz", WIDE(151.82, 2, 0, 6)),
    SAYS('c', "47 CFR 95.2771", SET(151.82, 2)),
    SAYS('c', "47 CFR 95.2775", SET(151.82, 2)),
};

/* ---- 47 CFR Part 95, subpart D: 8 kHz wide, 4 kHz for single sideband ---- */
static const struct row us_cb[] = {
    AT('c', "47 CFR 95.979(a)(5)", TYPE(27.185, 4, "A3E"), "(-", 20, INF, 1e3, 59.021, 30e3, "mean or peak"),
    AT('c', "47 CFR 95.979(a)(5)", TYPE(27.185, 12, "2K80J3E"), "(-", 10, INF, 1e3, 63.792, 30e3, "mean or peak"),
    FREE("47 CFR 95.979(a)(5)", TYPE(27.185, 4, "F2D")),
    /* 250 % of the width to either side of the harmonics: our reading, told from the third of them */
    AT('c', "47 CFR 95.979(a)(6)", TYPE(27.185, 4, "A3E"), NULL, 0, 0, 54.35e3 - 27.185e3, 60, 30e3, "mean or peak"),
    SAYS('c', "47 CFR 2.1057(a)(1), (b), (c)", SET(27.185, 4)),
    SAYS('c', "47 CFR 95.979(c)(1), (2)", SET(27.185, 4)),
    SAYS('c', "47 CFR 95.971, amplitude modulation", SET(27.185, 4)),
    AT('c', "47 CFR 95.979(a)(1)", TYPE(27.185, 4, "F3E"), "(]", 4, 8, 8, 25, 300, "mean or peak"),
    FREE("47 CFR 95.979(a)(1)", TYPE(27.185, 4, "J3E")),
    AT('c', "47 CFR 95.979(a)(2)", TYPE(27.185, 4, "H3E"), "(]", 2, 6, 6, 25, 300, "mean or peak"),
    FREE("47 CFR 95.979(a)(2)", TYPE(27.185, 4, "A3E")),
    AT('c', "47 CFR 95.979(a)(3)", TYPE(27.185, 4, "A3E"), "(]", 8, 20, 20, 35, 300, "mean or peak"),
    AT('c', "47 CFR 95.979(a)(4)", TYPE(27.185, 4, "J3E"), "(]", 6, 10, 10, 35, 300, "mean or peak"),
    CAP('c', "47 CFR 95.973, A3E and F3E", TYPE(27.185, 4, "F3E"), 8e3),
    CAP('c', "47 CFR 95.973, J3E, R3E, H3E", TYPE(27.185, 4, "R3E"), 4e3),
    CAP('c', "47 CFR 95.967, A3E and F3E", TYPE(27.185, 4, "A3E"), 4),
    CAP('c', "47 CFR 95.967, single sideband", TYPE(27.185, 4, "J3E"), 12),
    FREE("47 CFR 95.967, single sideband", TYPE(27.185, 4, "F3E")),
    BIND('c', "47 CFR 95.963", SET(27.185, 4)),
    CAP('c', "47 CFR 95.965", SET(27.185, 4), 50),
    CAP('c', "47 CFR 95.975, F3E", TYPE(27.185, 4, "F3E"), 2e3),
    FREE("47 CFR 95.975, F3E", TYPE(27.185, 4, "A3E")),
    SAYS('c', "47 CFR 95.975, A3E", SET(27.185, 4)),
    SAYS('u', "47 CFR 95.971, F3E", SET(27.185, 4)),
};

/* ---- 47 CFR Part 95, subpart C ---- */
static const struct row us_rcrs[] = {
    AT('c', "47 CFR 95.779(a)(3)", SET(27.255, 25), "(-", 20, INF, 27.255e3, 56.979, 30e3, NULL),
    FREE("47 CFR 95.779(a)(3)", SET(72.01, 0.75)),
    AT('c', "47 CFR 95.779(b)(4)", SET(72.01, 0.75), "(-", 20, INF, 72.01e3, 54.751, 30e3, NULL), /* 56 + 10 log 0.75 */
    FREE("47 CFR 95.779(b)(4)", SET(27.255, 25)),
    SAYS('c', "47 CFR 2.1057(a)(1), (b), (c)", SET(72.01, 0.75)),
    SAYS('c', "47 CFR 95.779", SET(72.01, 0.75)),
    AT('c', "47 CFR 95.779(a)(1)", SET(26.995, 4), "(]", 4, 8, 8, 25, 300, NULL),
    AT('c', "47 CFR 95.779(a)(2)", SET(26.995, 4), "(]", 8, 20, 20, 35, 300, NULL),
    AT('c', "47 CFR 95.779(b)(1)", SET(75.41, 0.75), "(]", 4, 8, 8, 25, 300, NULL),
    AT('c', "47 CFR 95.779(b)(2)", SET(75.41, 0.75), "(]", 8, 10, 10, 45, 300, NULL),
    AT('c', "47 CFR 95.779(b)(3)", SET(75.41, 0.75), "(]", 10, 20, 20, 55, 300, NULL),
    CAP('c', "47 CFR 95.773", SET(72.01, 0.75), 8e3),
    CAP('c', "47 CFR 95.767, five channels of 26 to 28 MHz", SET(26.995, 4), 4),
    CAP('c', "47 CFR 95.767, five channels of 26 to 28 MHz", SET(27.045, 4), 4),
    CAP('c', "47 CFR 95.767, five channels of 26 to 28 MHz", SET(27.195, 4), 4),
    FREE("47 CFR 95.767, five channels of 26 to 28 MHz", SET(27.255, 4)),
    CAP('c', "47 CFR 95.767, 27.255 MHz", SET(27.255, 4), 25),
    FREE("47 CFR 95.767, 27.255 MHz", SET(27.195, 4)),
    CAP('c', "47 CFR 95.767, 72 and 75 MHz", SET(72.99, 0.5), 0.75),
    CAP('c', "47 CFR 95.767, 72 and 75 MHz", SET(75.99, 0.5), 0.75),
    BIND('u', "47 CFR 95.763(a), by the frequencies 95.767(b) names", SET(27.145, 4)),
    FREE("47 CFR 95.763(a), by the frequencies 95.767(b) names", SET(72.01, 0.75)),
    BIND('u', "47 CFR 95.763(b), (c)", SET(72.99, 0.75)),
    FREE("47 CFR 95.763(b), (c)", SET(27.145, 4)),
    CAP('c', "47 CFR 95.765(a)", SET(75.41, 0.75), 20),
    CAP('c', "47 CFR 95.765(b), above 2.5 W", SET(27.255, 2.501), 50),
    FREE("47 CFR 95.765(b), above 2.5 W", SET(27.255, 2.5)),
    CAP('c', "47 CFR 95.765(b), 2.5 W or less", OF(27.255, 2.5, "control", 0), 50),
    FREE("47 CFR 95.765(b), 2.5 W or less", OF(27.255, 2.5, "switch", 0)),
    CAP('c', "47 CFR 95.765(c)", OF(27.255, 2.5, "switch", 0), 100),
    FREE("47 CFR 95.765(c)", OF(27.255, 2.501, "switch", 0)),
};

/* ---- 47 CFR Part 90 ---- */
#define FE "47 CFR 90.213(a), "
static const struct row us_land_mobile[] = {
    AT('c', "47 CFR 90.210(b)(3), (c)(3), 25 to 50 and 72 to 76 MHz", VOICE(40, 50, 'y'), "(-", 50, INF, 40e3, 59.990,
       100e3, "mean or peak"),
    FREE("47 CFR 90.210(b)(3), (c)(3), 25 to 50 and 72 to 76 MHz", VOICE(60, 50, 'y')),
    AT('c', "47 CFR 90.210(b)(3), (c)(3), (g), with (o), 150 to 174 and 421 to 512 MHz", WIDE(155, 5, 'y', 25), "(-",
       50, INF, 155e3, 49.990, 100e3, "mean or peak"),
    AT('c', "47 CFR 90.210(b)(3), (c)(3), (g), with (o), 150 to 174 and 421 to 512 MHz", WIDE(455, 5, 'n', 20), "(-",
       50, INF, 910e3, 49.990, 1e6, "mean or peak"),
    FREE("47 CFR 90.210(b)(3), (c)(3), (g), with (o), 150 to 174 and 421 to 512 MHz", WIDE(155, 5, 'y', 12.5)),
    /* D and E: 50 kHz from the edges of 11.25 and 6 kHz */
    AT('c', "47 CFR 90.210(d)(3) with (o), far out", WIDE(155, 5, 0, 12.5), "(-", 55.625, INF, 155e3, 56.990, 100e3,
       "mean or peak"),
    AT('c', "47 CFR 90.210(d)(3) with (o), far out", WIDE(455, 101, 0, 11.25), "(-", 55.625, INF, 910e3, 70, 1e6,
       "mean or peak"),
    FREE("47 CFR 90.210(d)(3) with (o), far out", WIDE(455, 5, 0, 6.25)),
    FREE("47 CFR 90.210(d)(3) with (o), far out", WIDE(455, 5, 0, 25)),
    AT('c', "47 CFR 90.210(e)(3) with (o), far out", WIDE(155, 5, 0, 6.25), "(-", 53, INF, 155e3, 61.990, 100e3,
       "mean or peak"),
    AT('c', "47 CFR 90.210(e)(3) with (o), far out", WIDE(455, 11, 0, 6), "(-", 53, INF, 910e3, 65, 1e6,
       "mean or peak"),
    AT('c', "47 CFR 90.210(f), beyond 3.75 kHz", SET(221, 5), "(-", 3.75, INF, 221e3, 61.990, 100e3, "mean or peak"),
    AT('c', "47 CFR 90.210(f), beyond 3.75 kHz", SET(221, 50), "(-", 3.75, INF, 4, 71.990, 100e3,
       "mean or peak"), /* no cap here */
    SAYS('c', "47 CFR 2.1057(a)(1), (b), (c)", SET(155, 5)),
    SAYS('c', "47 CFR 90.210, table and (n)", SET(155, 5)),
    AT('c', "47 CFR 90.210(b)(1)", WIDE(155, 5, 'y', 25), "(]", 10, 20, 20, 25, 0, "mean or peak"),
    FREE("47 CFR 90.210(b)(1)", WIDE(155, 5, 'n', 25)),
    FREE("47 CFR 90.210(b)(1)", WIDE(155, 5, 'y', 12.5)),
    AT('c', "47 CFR 90.210(b)(2)", WIDE(455, 5, 'y', 25), "(]", 20, 50, 50, 35, 0, "mean or peak"),
    AT('c', "47 CFR 90.210(c)(1)", WIDE(155, 5, 'n', 25), "(]", 5, 10, 7.5, 14.616, 0, "mean or peak"),
    AT('c', "47 CFR 90.210(c)(1)", WIDE(155, 5, 'n', 25), "(]", 5, 10, 10, 24.985, 0, "mean or peak"),
    FREE("47 CFR 90.210(c)(1)", WIDE(155, 5, 'y', 25)),
    AT('c', "47 CFR 90.210(c)(2)", WIDE(155, 5, 'n', 25), "(]", 10, 50, 15, 38.013, 0, "mean or peak"),
    AT('c', "47 CFR 90.210(c)(2)", WIDE(155, 5, 'n', 25), "(]", 10, 50, 24.142, 50, 0,
       "mean or peak"), /* reached at 24.1416 kHz */
    AT('c', "47 CFR 90.210(c)(2)", WIDE(155, 5, 'n', 25), "(]", 10, 50, 50, 50, 0, "mean or peak"),
    AT('u', "47 CFR 90.210(c)(1), 421 to 512 MHz", WIDE(455, 5, 'n', 25), "(]", 5, 10, 10, 24.985, 0, "mean or peak"),
    AT('u', "47 CFR 90.210(c)(2) and (g), 421 to 512 MHz", WIDE(455, 5, 'n', 25), "(]", 10, 50, 11, 30.200, 0,
       "mean or peak"), /* C: 29 log 11 */
    AT('u', "47 CFR 90.210(c)(2) and (g), 421 to 512 MHz", WIDE(455, 5, 'n', 25), "(]", 10, 50, 15, 45.328, 0,
       "mean or peak"), /* G: 116 log(15/6.1) */
    AT('u', "47 CFR 90.210(c)(2) and (g), 421 to 512 MHz", WIDE(455, 120, 'n', 25), "(]", 10, 50, 50, 70, 0,
       "mean or peak"), /* G: 70 of 70.79 */
    AT('u', "47 CFR 90.210(c)(2) and (g), 421 to 512 MHz", WIDE(455, 0.5, 'n', 25), "(]", 10, 50, 30, 50, 0,
       "mean or peak"), /* C: its cap, above G's 46.99 */
    AT('u', "47 CFR 90.210(c)(2) and (g), 421 to 512 MHz", WIDE(455, 5, 'n', 25), "(]", 10, 50, 30, 56.990, 0,
       "mean or peak"), /* G: 50 + 10 log P */
    AT('c', "47 CFR 90.210(d)(1)", WIDE(155, 5, 0, 12.5), "-]", 0, 5.625, 5.625, 0, 100, "peak"),
    AT('c', "47 CFR 90.210(d)(2)", WIDE(155, 5, 0, 12.5), "(]", 5.625, 12.5, 7.5, 33.587, 100, "peak"),
    AT('c', "47 CFR 90.210(d)(2)", WIDE(155, 5, 0, 12.5), "(]", 5.625, 12.5, 12.5, 69.937, 100, "peak"),
    FREE("47 CFR 90.210(d)(2)", WIDE(155, 5, 0, 25)),
    AT('c', "47 CFR 90.210(d)(3), (d)(4), close in", WIDE(455, 5, 0, 12.5), "(]", 12.5, 55.625, 12.501, 56.990, 100,
       "peak"),
    AT('c', "47 CFR 90.210(d)(3), (d)(4), close in", WIDE(455, 101, 0, 12.5), "(]", 12.5, 55.625, 20, 70, 100, "peak"),
    AT('c', "47 CFR 90.210(e)(1)", WIDE(155, 5, 0, 6.25), "-]", 0, 3, 3, 0, 100, "peak"),
    AT('c', "47 CFR 90.210(e)(2)", WIDE(155, 5, 0, 6.25), "(]", 3, 4.6, 4, 46.670, 100, "peak"),
    AT('c', "47 CFR 90.210(e)(2)", WIDE(155, 0.5, 0, 6.25), "(]", 3, 4.6, 4.6, 51.990, 100, "peak"), /* of 56.67 */
    AT('c', "47 CFR 90.210(e)(3), (e)(4), close in", WIDE(155, 5, 0, 6.25), "(]", 4.6, 53, 53, 61.990, 100, "peak"),
    AT('c', "47 CFR 90.210(e)(3), (e)(4), close in", WIDE(155, 11, 0, 6.25), "(]", 4.6, 53, 5, 65, 100, "peak"),
    AT('c', "47 CFR 90.210(f), up to 2 kHz", SET(221, 5), "-]", 0, 2, 2, 0, 0, "mean or peak"),
    AT('c', "47 CFR 90.210(f), from 2 to 3.75 kHz", SET(221, 5), "(]", 2, 3.75, 3, 50, 0, "mean or peak"),
    AT('c', "47 CFR 90.210(f), from 2 to 3.75 kHz", SET(221, 50), "(]", 2, 3.75, 3.75, 65, 0, "mean or peak"),
    AT('c', "47 CFR 90.210(f), from 2 to 3.75 kHz", SET(221, 0.5), "(]", 2, 3.75, 3.75, 51.990, 0, "mean or peak"),
    /* (o): at least 1 MHz above 1 GHz */
    AT('c', "47 CFR 90.210(b)(3), (c)(3), (g), with (o), 150 to 174 and 421 to 512 MHz", WIDE(155, 5, 'y', 25), "(-",
       50, INF, 845e3, 49.990, 100e3, "mean or peak"),
    AT('c', "47 CFR 90.210(b)(3), (c)(3), (g), with (o), 150 to 174 and 421 to 512 MHz", WIDE(155, 5, 'y', 25), "(-",
       50, INF, 845.001e3, 49.990, 1e6, "mean or peak"),
    AT('c', "47 CFR 90.210(d)(3) with (o), far out", WIDE(155, 5, 0, 12.5), "(-", 55.625, INF, 845e3, 56.990, 100e3,
       "mean or peak"),
    AT('c', "47 CFR 90.210(d)(3) with (o), far out", WIDE(155, 5, 0, 12.5), "(-", 55.625, INF, 845.001e3, 56.990, 1e6,
       "mean or peak"),
    AT('c', "47 CFR 90.210(e)(3) with (o), far out", WIDE(155, 5, 0, 6.25), "(-", 53, INF, 845e3, 61.990, 100e3,
       "mean or peak"),
    AT('c', "47 CFR 90.210(e)(3) with (o), far out", WIDE(155, 5, 0, 6.25), "(-", 53, INF, 845.001e3, 61.990, 1e6,
       "mean or peak"),
    CAP('c', "47 CFR 90.209(b)(5), 25 to 50 and 72 to 76 MHz", SET(40, 5), 20e3),
    CAP('c', "47 CFR 90.209(b)(5), 25 kHz equipment", WIDE(155, 5, 0, 20), 20e3),
    CAP('c', "47 CFR 90.209(b)(5), 25 kHz equipment", WIDE(155, 5, 0, 25), 20e3),
    FREE("47 CFR 90.209(b)(5), 25 kHz equipment", WIDE(155, 5, 0, 12.5)),
    FREE("47 CFR 90.209(b)(5), 25 kHz equipment", WIDE(455, 5, 0, 22)),
    CAP('c', "47 CFR 90.209(b)(5), 25 kHz equipment which meets 90.221", WIDE(455, 5, 0, 22), 22e3),
    FREE("47 CFR 90.209(b)(5), 25 kHz equipment which meets 90.221", WIDE(155, 5, 0, 22)),
    CAP('c', "47 CFR 90.209(b)(5), 12.5 kHz equipment", WIDE(406.1, 5, 0, 12.5), 11.25e3),
    CAP('c', "47 CFR 90.209(b)(5), 6.25 kHz equipment", WIDE(155, 5, 0, 6.25), 6e3),
    CAP('c', "47 CFR 90.209(b)(5), 220 to 222 MHz", SET(221, 5), 4e3),
    SAYS('c', "47 CFR 90.209(b)(5)", SET(155, 5)),
    CAP('c', FE "25 to 50 MHz, fixed and base", OF(40, 5, "base", 0), 20),
    CAP('c', FE "25 to 50 MHz, mobile above 2 W", OF(40, 2.001, "mobile", 0), 20),
    FREE(FE "25 to 50 MHz, mobile above 2 W", OF(40, 2, "mobile", 0)),
    CAP('c', FE "25 to 50 MHz, mobile up to 2 W", OF(40, 2, "hand-held", 0), 50),
    FREE(FE "25 to 50 MHz, mobile up to 2 W", OF(40, 2, "base", 0)),
    CAP('c', FE "72 to 76 MHz, fixed and base", OF(74, 5, "fixed", 0), 5),
    CAP('c', FE "72 to 76 MHz, mobile up to 2 W", OF(74, 2, "mobile", 0), 50),
    CAP('c', FE "150 to 174 MHz, fixed and base, 25 kHz", OF(155, 5, "base", 25), 5),
    CAP('c', FE "150 to 174 MHz, fixed and base, 12.5 kHz", OF(155, 5, "base", 12.5), 2.5),
    CAP('c', FE "150 to 174 MHz, fixed and base, 12.5 kHz", OF(155, 5, "control", 12.5), 2.5),
    CAP('c', FE "150 to 174 MHz, fixed and base, 6.25 kHz", OF(155, 5, "base", 6.25), 1),
    CAP('c', FE "150 to 174 MHz, mobile above 2 W, 25 kHz", OF(155, 5, "mobile", 25), 5),
    CAP('c', FE "150 to 174 MHz, mobile up to 2 W, 25 kHz", OF(155, 2, "mobile", 25), 50),
    FREE(FE "150 to 174 MHz, mobile up to 2 W, 25 kHz", OF(155, 2, "mobile", 12.5)),
    CAP('c', FE "154.45 to 154.49 and 173.2 to 173.4 MHz, mobile up to 2 W", OF(154.49, 2, "mobile", 25), 5),
    CAP('c', FE "154.45 to 154.49 and 173.2 to 173.4 MHz, mobile up to 2 W", OF(173.2, 2, "mobile", 25), 5),
    FREE(FE "154.45 to 154.49 and 173.2 to 173.4 MHz, mobile up to 2 W", OF(154.5, 2, "mobile", 25)),
    CAP('c', FE "150 to 174 MHz, mobile, 12.5 kHz", OF(155, 2, "hand-held", 12.5), 5),
    CAP('c', FE "150 to 174 MHz, mobile, 6.25 kHz", OF(155, 5, "mobile", 6.25), 2),
    CAP('c', FE "216 to 220 MHz, fixed and base", OF(217, 5, "base", 0), 1),
    CAP('c', FE "216 to 220 MHz, mobile up to 2 W", OF(217, 2, "mobile", 0), 1),
    CAP('c', FE "220 to 222 MHz, fixed and base", OF(221, 5, "base", 0), 0.1),
    CAP('c', FE "220 to 222 MHz, mobile", OF(221, 5, "mobile", 0), 1.5),
    CAP('c', FE "421 to 512 MHz, fixed and base, 25 kHz", OF(455, 5, "base", 25), 2.5),
    FREE(FE "421 to 512 MHz, fixed and base, 25 kHz", OF(455, 5, "control", 25)),
    CAP('c', FE "421 to 512 MHz, fixed and base, 12.5 kHz", OF(455, 5, "fixed", 12.5), 1.5),
    CAP('c', FE "421 to 512 MHz, fixed and base, 6.25 kHz", OF(455, 5, "base", 6.25), 0.5),
    CAP('c', FE "421 to 512 MHz, mobile, 25 kHz", OF(455, 5, "mobile", 25), 5),
    CAP('c', FE "421 to 512 MHz, mobile, 12.5 kHz", OF(455, 5, "control", 12.5), 2.5),
    CAP('c', FE "421 to 512 MHz, mobile, 6.25 kHz", OF(455, 5, "mobile", 6.25), 1),
    CAP('c', FE "150 to 174 MHz, paging only", OF(155, 5, "paging", 12.5), 5),
    CAP('c', FE "421 to 512 MHz, paging only", OF(455, 5, "paging", 12.5), 2.5),
    SAYS('c', "47 CFR 90.214", SET(155, 5)),
};

/* ---- ITU and Europe ---- */
#define TABLE_2 "Radio Regulations Appendix 3, table I; Rec. ITU-R SM.329, table 2"
static const struct row itu_a[] = {
    AT('u', TABLE_2 ", general, from 30 MHz", SET(146, 5), "[)", 62.5, INF, 146e3, 49.990, 100e3, "mean"),
    AT('u', TABLE_2 ", general, from 30 MHz", SET(446, 502), "[)", 62.5, INF, 892e3, 70, 1e6, "mean"),
    FREE(TABLE_2 ", general, from 30 MHz", SET(29.999, 5)),
    AT('u', TABLE_2 ", general, below 30 MHz", OF(14, 5, "other", 0), "[)", 10, INF, 1e3, 49.990, 10e3, "mean"),
    AT('u', TABLE_2 ", general, below 30 MHz", OF(14, 502, "other", 0), "[)", 10, INF, 1e3, 70, 10e3, "mean"),
    FREE(TABLE_2 ", general, below 30 MHz", OF(14, 5, "amateur", 0)),
    AT('u', TABLE_2 ", amateur below 30 MHz", OF(14, 100, "amateur", 0), "[)", 10, INF, 14e3, 50, 10e3, "mean"),
    AT('u', TABLE_2 ", amateur below 30 MHz", OF(28.4, 0.5, "amateur", 0), "[)", 10, INF, 28.4e3, 39.990, 100e3,
       "mean"),
    SAYS('u', TABLE_2, SET(146, 5)),
    SAYS('u', "Rec. ITU-R SM.1541, out-of-band domain", SET(146, 5)),
};
/* -36 dBm and -30 dBm: at 5 W (36.99 dBm) 72.99 and 66.99 dB */
static const struct row itu_b[] = {
    AT('u', "Rec. ITU-R SM.329, table 3, land mobile, up to 1 GHz", SET(155, 5), "[*", 62.5, 0, 155e3, 72.990, 100e3,
       "mean"),
    AT('u', "Rec. ITU-R SM.329, table 3, land mobile, up to 1 GHz", SET(155, 5), "[*", 62.5, 0, 845e3, 72.990, 100e3,
       "mean"),
    AT('u', "Rec. ITU-R SM.329, table 3, land mobile, above 1 GHz", SET(155, 5), ">", 0, 0, 845.001e3, 66.990, 1e6,
       "mean"),
};
static const struct row eu_amateur[] = {
    SAYS('c', "ERC/REC 74-01, table 2, last row", SET(146, 5)),
    AT('u', "ERC/REC 74-01, annex 6; EN 301 783, below 30 MHz", SET(14.1, 100), "[)", 10, INF, 1e3, 50, 10e3, "mean"),
    AT('u', "ERC/REC 74-01, annex 6; EN 301 783, below 30 MHz", SET(28.4, 1), "[)", 10, INF, 28.4e3, 43, 100e3, "mean"),
    SAYS('u', "ERC/REC 74-01, annex 6; EN 301 783, above 30 MHz", SET(146, 5)),
};
static const struct row eu_pmr446[] = {
    AT('u', "EN 303 405, spurious emissions; ERC/REC 74-01, annex 2, up to 1 GHz", SET(446.00625, 0.5), "[*", 62.5, 0,
       446.00625e3, 62.990, 100e3, "mean"),
    AT('u', "EN 303 405, spurious emissions; ERC/REC 74-01, annex 2, above 1 GHz", SET(446.00625, 0.5), ">", 0, 0,
       892.0125e3, 56.990, 1e6, "mean"),
    SAYS('c', "ERC/REC 74-01, table 2, last row", SET(446.00625, 0.5)),
    CAP('u', "EN 303 405, scope, power", SET(446.00625, 0.5), 0.5),
    BIND('u', "EN 303 405, scope, channels", SET(446.00625, 0.5)),
    CAP('u', "EN 300 296, deviation, 12.5 kHz", SET(446.19375, 0.5), 2.5e3),
    FREE("EN 300 296, deviation, 12.5 kHz", SET(446.003125, 0.5)), /* digital */
    SAYS('u', "EN 303 405, adjacent channel power", SET(446.00625, 0.5)),
};
static const struct row eu_land_mobile[] = {
    AT('u', "ERC/REC 74-01, annex 2; EN 300 086, up to 1 GHz", SET(455, 5), "[*", 62.5, 0, 455e3, 72.990, 100e3,
       "mean"),
    AT('u', "ERC/REC 74-01, annex 2; EN 300 086, above 1 GHz", SET(455, 5), ">", 0, 0, 910e3, 66.990, 1e6, "mean"),
    SAYS('c', "ERC/REC 74-01, table 2, last row", SET(155, 5)),
    CAP('u', "EN 300 086, frequency error, 12.5 kHz, base", OF(155, 5, "base", 12.5), 1e3),
    CAP('u', "EN 300 086, frequency error, 12.5 kHz, mobile", OF(455, 5, "mobile", 12.5), 1.5e3),
    FREE("EN 300 086, frequency error, 12.5 kHz, mobile", OF(455, 5, "mobile", 20)),
    CAP('u', "EN 300 086, frequency error, 20 and 25 kHz, up to 500 MHz", OF(155, 5, "base", 25), 2e3),
    CAP('u', "EN 300 086, frequency error, 20 and 25 kHz, above 500 MHz", OF(501, 5, "base", 20), 2.5e3),
    CAP('u', "EN 300 086, deviation, 12.5 kHz", OF(155, 5, NULL, 12.5), 2.5e3),
    CAP('u', "EN 300 086, deviation, 20 kHz", OF(155, 5, NULL, 20), 4e3),
    CAP('u', "EN 300 086, deviation, 25 kHz", OF(155, 5, NULL, 25), 5e3),
    SAYS('u', "EN 300 086, spurious emissions", SET(155, 5)),
    SAYS('u', "EN 300 086, adjacent channel power", SET(155, 5)),
};

#define BOOK(id, rows)                                                                                                 \
    {                                                                                                                  \
        id, rows, COUNT(rows)                                                                                          \
    }
static const struct {
    const char *id;
    const struct row *rows;
    size_t count;
} books[] = {
    BOOK("us-amateur", us_amateur),
    BOOK("us-gmrs", us_gmrs),
    BOOK("us-frs", us_frs),
    BOOK("us-murs", us_murs),
    BOOK("us-cb", us_cb),
    BOOK("us-rcrs", us_rcrs),
    BOOK("us-land-mobile", us_land_mobile),
    BOOK("itu-a", itu_a),
    BOOK("itu-b", itu_b),
    BOOK("eu-amateur", eu_amateur),
    BOOK("eu-pmr446", eu_pmr446),
    BOOK("eu-land-mobile", eu_land_mobile),
};

/* ---- a row against its clause -------------------------------------------------------------------- */

static const struct row *current; /* for messages */

static void want(bool holds, const char *what)
{
    if (!holds)
        print_error("%s, %.6f MHz, %.4g W: %s\n", current->citation, current->set.carrier_hz / 1e6, current->set.watts,
                    what);
    assert_true(holds);
}

static void want_near(double found, double wanted, double within, const char *what)
{
    bool same = fabs(found - wanted) <= within || (isnan(found) && isnan(wanted));
    if (!same)
        print_error("%s: %.9g, expected %.9g\n", what, found, wanted);
    want(same, what);
}

/** A corner at `khz` from the carrier, 1 Hz outside and 1 Hz inside it, on both sides; `out`: which way is outside. */
static void check_corner(const spurity_clause *clause, const spurity_conditions *conditions, double khz, double out,
                         bool included)
{
    for (int side = -1; side <= 1; side += 2) {
        double carrier = conditions->carrier_hz, away = khz * 1e3;
        want(spurity_clause_covers(clause, conditions, carrier + side * away) == included, "at a corner");
        want(spurity_clause_covers(clause, conditions, carrier + side * (away - out)), "1 Hz inside a corner");
        want(!spurity_clause_covers(clause, conditions, carrier + side * (away + out)), "1 Hz outside a corner");
    }
}

/** "(", "[" a lower corner, "-" none; "]" an upper corner included, ")" and "-" none, "*" one at 1 GHz included; ">":
 * above 1 GHz. */
static void check_corners(const spurity_clause *clause, const spurity_conditions *conditions, const struct row *row)
{
    if (!row->ends)
        return;
    if (row->ends[0] == '>') {
        want(!spurity_clause_covers(clause, conditions, 1e9), "at 1 GHz");
        want(spurity_clause_covers(clause, conditions, 1e9 + 1.0), "1 Hz above 1 GHz");
        return;
    }
    if (row->ends[0] != '-')
        check_corner(clause, conditions, row->from_khz, -1.0, row->ends[0] == '[');
    else
        want(spurity_clause_covers(clause, conditions, conditions->carrier_hz), "at the carrier");
    if (row->ends[1] == ']')
        check_corner(clause, conditions, row->to_khz, 1.0, true);
    if (row->ends[1] == ')' || row->ends[1] == '-')
        want(spurity_clause_covers(clause, conditions, 39e9), "far out");
    if (row->ends[1] != '*')
        return;
    want(spurity_clause_covers(clause, conditions, 1e9), "at 1 GHz");
    want(!spurity_clause_covers(clause, conditions, 1e9 + 1.0), "1 Hz above 1 GHz");
}

static void check_level(const spurity_clause *clause, const spurity_conditions *conditions, const struct row *row,
                        const spurity_clause_facts *facts)
{
    check_corners(clause, conditions, row);
    for (int side = 1; side >= -1; side -= 2) {
        double hz = conditions->carrier_hz + side * row->at_khz * 1e3, dbm = NAN;
        if (side < 0 && row->at_khz > 100.0) /* a far place stands above the carrier only */
            continue;
        want(spurity_clause_covers(clause, conditions, hz), "at its place");
        want(spurity_limit_dbm(facts->limit, conditions, hz, &dbm, NULL), "a level at its place");
        want_near(10.0 * log10(row->set.watts / 1e-3) - dbm, row->figure, 0.0006, "attenuation");
        want_near(spurity_clause_reference_bandwidth(clause, hz),
                  row->reference_hz > 0.0 ? row->reference_hz : (double)NAN, 1e-6, "reference bandwidth");
    }
    want(row->reading ? facts->detector && !strcmp(facts->detector, row->reading) : !facts->detector, "reading");
}

static void check_number(const spurity_conditions *conditions, const struct row *row, const spurity_clause_facts *facts)
{
    const char *unit = NULL;
    double value = NAN;
    want(spurity_limit_value(facts->limit, conditions, conditions->carrier_hz, &value, &unit), "a figure");
    if (!strncmp(unit, "dBm", 3))
        value = 1e-3 * pow(10.0, value / 10.0);
    want_near(value, row->figure, 1e-9 * row->figure, unit);
}

static void check_row(const spurity_clause *clause, const struct row *row, const char *rules)
{
    spurity_clause_facts facts;
    spurity_conditions conditions = conditions_of(&row->set);
    char why[200] = "", needs[200] = "";
    conditions.installed = row->installed;
    spurity_clause_facts_of(clause, &facts);
    spurity_applies applies = spurity_clause_applies(clause, &conditions, why, sizeof why, needs, sizeof needs);
    if (applies != (row->says == NOT ? SPURITY_APPLIES_NO : SPURITY_APPLIES_YES))
        print_error("%s: %s\n", rules, why);
    want(applies == (row->says == NOT ? SPURITY_APPLIES_NO : SPURITY_APPLIES_YES), "whether it binds");
    if (row->says == NOT)
        return;
    want(facts.confirmed == (row->status == 'c'), "whether its text was read");
    want((facts.limit != NULL) == (row->says == LEVEL || row->says == FIGURE), "a limit or none");
    want(is_spectral(facts.quantity) == (row->says == LEVEL), "a place or none");
    if (row->says == LEVEL)
        check_level(clause, &conditions, row, &facts);
    if (row->says == FIGURE)
        check_number(&conditions, row, &facts);
    if (row->says == WORDS)
        want(facts.quantity == SPURITY_QUANTITY_NOTE, "words only");
    if (row->says == BINDS)
        want(facts.quantity == SPURITY_QUANTITY_BAND || facts.quantity == SPURITY_QUANTITY_CHANNEL, "band or channel");
}

/** Rows that speak of a clause beyond saying that it does not bind. */
static size_t rows_of(const char *citation, const struct row *rows, size_t count)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++)
        found += rows[i].says != NOT && !strcmp(rows[i].citation, citation);
    return found;
}

static void check_book(const char *id, const struct row *rows, size_t count)
{
    spurity_rules *rules = loaded(id);
    size_t used = 0, bare = 0;
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        const spurity_clause *clause = spurity_rules_clause(rules, c);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        if (!rows_of(facts.citation, rows, count)) {
            print_error("%s: no row for %s, %s\n", id, facts.clause, facts.citation);
            bare++;
        }
        for (size_t i = 0; i < count; i++) {
            current = &rows[i];
            if (strcmp(rows[i].citation, facts.citation))
                continue;
            check_row(clause, &rows[i], id);
            used++;
        }
    }
    if (used != count)
        print_error("%s: %zu rows, %zu of them met a clause\n", id, count, used);
    assert_int_equal(used, count); /* each row meets one clause */
    assert_int_equal(bare, 0);     /* each clause has one */
    spurity_rules_free(rules);
}

static void test_every_clause(void **state)
{
    (void)state;
    for (size_t b = 0; b < COUNT(books); b++)
        check_book(books[b].id, books[b].rows, books[b].count);
}

static void test_every_file(void **state)
{
    (void)state;
    assert_int_equal(spurity_rules_builtin_count(), COUNT(books));
    for (size_t i = 0; i < spurity_rules_builtin_count(); i++) {
        size_t found = 0;
        for (size_t b = 0; b < COUNT(books); b++)
            found += !strcmp(books[b].id, spurity_rules_builtin_id(i));
        assert_int_equal(found, 1);
    }
}

/* ---- whom a clause binds ------------------------------------------------------------------------- */

/** Ends of a condition, as the regulation has them.  Of a carrier on several bands each is a row. */
struct reach {
    const char *id, *citation; /* "...*": all that begin so */
    char what;                 /* c: carrier, Hz; p: power, W; b: bandwidth, Hz */
    double from, to;           /* 0, INF: open */
    const char *ends;          /* "[]", "(]" ... */
};

#define MHZ(a, b) 'c', (a)*1e6, (b)*1e6
#define LMR "us-land-mobile"
static const struct reach reaches[] = {
    {"us-amateur", "47 CFR 97.307(d)*", MHZ(0, 30), "-)"},
    {"us-amateur", "47 CFR 97.307(e)*", MHZ(30, 225), "[]"},
    {"us-amateur", "47 CFR 97.307(e), first sentence", 'p', 25, INF, "(-"},
    {"us-amateur", "47 CFR 97.307(e), second sentence", 'p', 0, 25, "-]"},
    {"us-amateur", "47 CFR 97.307(d), second sentence", 'p', 5, INF, "[-"},
    {"us-amateur", "47 CFR 97.307(d), third sentence", 'p', 0, 5, "-)"},
    {"us-amateur", "47 CFR 97.313(c)", MHZ(10.1, 10.15), "[]"},
    {"us-amateur", "47 CFR 97.313(h)", MHZ(219, 220), "[]"},
    {"us-amateur", "47 CFR 97.313(i), channels of 60 m", MHZ(5.3306, 5.3334), "[]"},
    {"us-amateur", "47 CFR 97.313(i), channels of 60 m", MHZ(5.3466, 5.3494), "[]"},
    {"us-amateur", "47 CFR 97.313(i), channels of 60 m", MHZ(5.3716, 5.3744), "[]"},
    {"us-amateur", "47 CFR 97.313(i), channels of 60 m", MHZ(5.4036, 5.4064), "[]"},
    {"us-amateur", "47 CFR 97.313(i), 5351.5 to 5366.5 kHz", MHZ(5.3515, 5.3665), "[]"},
    {"us-amateur", "47 CFR 97.313(c), by licence class", MHZ(3.525, 3.6), "[]"},
    {"us-amateur", "47 CFR 97.313(c), by licence class", MHZ(7.025, 7.125), "[]"},
    {"us-amateur", "47 CFR 97.313(c), by licence class", MHZ(21.025, 21.2), "[]"},
    {"us-amateur", "47 CFR 97.313(c), by licence class", MHZ(28, 28.5), "[]"},
    {"us-amateur", "47 CFR 97.313(d), (e)", MHZ(222, 225), "[]"},
    {"us-amateur", "47 CFR 97.313(d), (e)", MHZ(1240, 1300), "[]"},
    {"us-amateur", "47 CFR 97.313(f), (g)", MHZ(420, 450), "[]"},
    {"us-amateur", "47 CFR 97.313(f), (g)", MHZ(902, 928), "[]"},
    {"us-amateur", "47 CFR 97.307(f)(1)", MHZ(0, 29), "-)"},
    {"us-amateur", "47 CFR 97.307(f)(13), (14)", MHZ(5.3305, 5.4065), "[]"},
    {"us-amateur", "47 CFR 97.307(f)(13), (14)", MHZ(219, 220), "[]"},
    {"us-amateur", "47 CFR 97.301, ITU Region 2, and 97.305(c)", MHZ(1, 2000), "[]"},
    {"us-gmrs", "47 CFR 95.1765, wider than 12.5 kHz", 'b', 12.5e3, INF, "(-"},
    {"us-gmrs", "47 CFR 95.1765, 12.5 kHz or less", 'b', 0, 12.5e3, "-]"},
    /* of the channels: 151.94 MHz is the last of the lower ones, 154.57 MHz the first of the upper */
    {"us-murs", "47 CFR 95.2779(b)(1)", MHZ(0, 153), "-)"},
    {"us-murs", "47 CFR 95.2779(b)(2)", MHZ(0, 153), "-)"},
    {"us-murs", "47 CFR 95.2773, 151 MHz", MHZ(0, 153), "-)"},
    {"us-murs", "47 CFR 95.2779(b)(3)", MHZ(153, INF), "[-"},
    {"us-murs", "47 CFR 95.2779(b)(4)", MHZ(153, INF), "[-"},
    {"us-murs", "47 CFR 95.2779(b)(5)", MHZ(153, INF), "[-"},
    {"us-murs", "47 CFR 95.2779(b)(6)", MHZ(153, INF), "[-"},
    {"us-murs", "47 CFR 95.2779(b)(7)", MHZ(153, INF), "[-"},
    {"us-murs", "47 CFR 95.2773, 154 MHz", MHZ(153, INF), "[-"},
    {"us-murs", "47 CFR 95.2765, 6.25 kHz or less", 'b', 0, 6.25e3, "-]"},
    {"us-murs", "47 CFR 95.2765, above 6.25 kHz", 'b', 6.25e3, INF, "(-"},
    {"us-rcrs", "47 CFR 95.779(a)*", MHZ(26, 28), "[]"},
    {"us-rcrs", "47 CFR 95.779(b)*", MHZ(72, 76), "[]"},
    {"us-rcrs", "47 CFR 95.767, five channels of 26 to 28 MHz", MHZ(26.991, 26.999), "[]"},
    {"us-rcrs", "47 CFR 95.767, five channels of 26 to 28 MHz", MHZ(27.041, 27.049), "[]"},
    {"us-rcrs", "47 CFR 95.767, five channels of 26 to 28 MHz", MHZ(27.091, 27.099), "[]"},
    {"us-rcrs", "47 CFR 95.767, five channels of 26 to 28 MHz", MHZ(27.141, 27.149), "[]"},
    {"us-rcrs", "47 CFR 95.767, five channels of 26 to 28 MHz", MHZ(27.191, 27.199), "[]"},
    {"us-rcrs", "47 CFR 95.767, 27.255 MHz", MHZ(27.251, 27.259), "[]"},
    {"us-rcrs", "47 CFR 95.767, 72 and 75 MHz", MHZ(72, 76), "[]"},
    {"us-rcrs", "47 CFR 95.763(a), by the frequencies 95.767(b) names", MHZ(0, 50), "-)"},
    {"us-rcrs", "47 CFR 95.763(b), (c)", MHZ(50, INF), "[-"},
    {"us-rcrs", "47 CFR 95.765(a)", MHZ(72, 76), "[]"},
    {"us-rcrs", "47 CFR 95.765(b)*", MHZ(26, 28), "[]"},
    {"us-rcrs", "47 CFR 95.765(c)", MHZ(26, 28), "[]"},
    {"us-rcrs", "47 CFR 95.765(b), above 2.5 W", 'p', 2.5, INF, "(-"},
    {"us-rcrs", "47 CFR 95.765(b), 2.5 W or less", 'p', 0, 2.5, "-]"},
    {"us-rcrs", "47 CFR 95.765(c)", 'p', 0, 2.5, "-]"},
    /* 90.210, table; 12.5 kHz equipment D, 6.25 kHz E, wider B, C, G */
    {LMR, "47 CFR 90.210(b)(3), (c)(3), 25 to 50 and 72 to 76 MHz", MHZ(25, 50), "[]"},
    {LMR, "47 CFR 90.210(b)(3), (c)(3), 25 to 50 and 72 to 76 MHz", MHZ(72, 76), "[]"},
    {LMR, "47 CFR 90.210(b)(3), (c)(3), (g)*", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(b)(3), (c)(3), (g)*", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(b)(3), (c)(3), (g)*", 'b', 12.5e3, INF, "(-"},
    {LMR, "47 CFR 90.210(b)(1)", MHZ(25, 50), "[]"},
    {LMR, "47 CFR 90.210(b)(1)", MHZ(72, 76), "[]"},
    {LMR, "47 CFR 90.210(b)(1)", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(b)(1)", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(b)(1)", 'b', 12.5e3, INF, "(-"},
    {LMR, "47 CFR 90.210(b)(2)", MHZ(25, 50), "[]"},
    {LMR, "47 CFR 90.210(b)(2)", MHZ(72, 76), "[]"},
    {LMR, "47 CFR 90.210(b)(2)", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(b)(2)", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(b)(2)", 'b', 12.5e3, INF, "(-"},
    {LMR, "47 CFR 90.210(c)(1)", MHZ(25, 50), "[]"},
    {LMR, "47 CFR 90.210(c)(1)", MHZ(72, 76), "[]"},
    {LMR, "47 CFR 90.210(c)(1)", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(c)(2)", MHZ(25, 50), "[]"},
    {LMR, "47 CFR 90.210(c)(2)", MHZ(72, 76), "[]"},
    {LMR, "47 CFR 90.210(c)(2)", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(c)(1), 421 to 512 MHz", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(c)(2) and (g), 421 to 512 MHz", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(c)*", 'b', 12.5e3, INF, "(-"},
    {LMR, "47 CFR 90.210(d)*", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(d)*", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(d)*", 'b', 6.25e3, 12.5e3, "(]"},
    {LMR, "47 CFR 90.210(e)*", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.210(e)*", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.210(e)*", 'b', 0, 6.25e3, "-]"},
    {LMR, "47 CFR 90.210(f)*", MHZ(220, 222), "[]"},
    {LMR, "47 CFR 90.214", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.214", MHZ(421, 512), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 25 to 50 and 72 to 76 MHz", MHZ(25, 50), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 25 to 50 and 72 to 76 MHz", MHZ(72, 76), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 25 kHz equipment", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 25 kHz equipment", MHZ(406, 512), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 25 kHz equipment", 'b', 12.5e3, 20e3, "(]"},
    {LMR, "47 CFR 90.209(b)(5), 25 kHz equipment which meets 90.221", MHZ(406, 512), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 25 kHz equipment which meets 90.221", 'b', 20e3, INF, "(-"},
    {LMR, "47 CFR 90.209(b)(5), 12.5 kHz equipment", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 12.5 kHz equipment", MHZ(406, 512), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 12.5 kHz equipment", 'b', 6.25e3, 12.5e3, "(]"},
    {LMR, "47 CFR 90.209(b)(5), 6.25 kHz equipment", MHZ(150, 174), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 6.25 kHz equipment", MHZ(406, 512), "[]"},
    {LMR, "47 CFR 90.209(b)(5), 6.25 kHz equipment", 'b', 0, 6.25e3, "-]"},
    {LMR, "47 CFR 90.209(b)(5), 220 to 222 MHz", MHZ(220, 222), "[]"},
    {LMR, FE "25 to 50 MHz*", MHZ(25, 50), "[]"},
    {LMR, FE "72 to 76 MHz*", MHZ(72, 76), "[]"},
    {LMR, FE "150 to 174 MHz*", MHZ(150, 174), "[]"},
    {LMR, FE "154.45 to 154.49*", MHZ(154.45, 154.49), "[]"},
    {LMR, FE "154.45 to 154.49*", MHZ(173.2, 173.4), "[]"},
    {LMR, FE "216 to 220 MHz*", MHZ(216, 220), "[]"},
    {LMR, FE "220 to 222 MHz*", MHZ(220, 222), "[]"},
    {LMR, FE "421 to 512 MHz*", MHZ(421, 512), "[]"},
    {LMR, FE "25 to 50 MHz, mobile above 2 W", 'p', 2, INF, "(-"},
    {LMR, FE "25 to 50 MHz, mobile up to 2 W", 'p', 0, 2, "-]"},
    {LMR, FE "72 to 76 MHz, mobile up to 2 W", 'p', 0, 2, "-]"},
    {LMR, FE "150 to 174 MHz, mobile above 2 W, 25 kHz", 'p', 2, INF, "(-"},
    {LMR, FE "150 to 174 MHz, mobile up to 2 W, 25 kHz", 'p', 0, 2, "-]"},
    {LMR, FE "154.45 to 154.49*", 'p', 0, 2, "-]"},
    {LMR, FE "216 to 220 MHz, mobile up to 2 W", 'p', 0, 2, "-]"},
    {LMR, FE "150 to 174 MHz, fixed and base, 25 kHz", 'b', 12.5e3, INF, "(-"},
    {LMR, FE "150 to 174 MHz, fixed and base, 12.5 kHz", 'b', 6.25e3, 12.5e3, "(]"},
    {LMR, FE "150 to 174 MHz, fixed and base, 6.25 kHz", 'b', 0, 6.25e3, "-]"},
    {LMR, FE "150 to 174 MHz, mobile above 2 W, 25 kHz", 'b', 12.5e3, INF, "(-"},
    {LMR, FE "150 to 174 MHz, mobile up to 2 W, 25 kHz", 'b', 12.5e3, INF, "(-"},
    {LMR, FE "150 to 174 MHz, mobile, 12.5 kHz", 'b', 6.25e3, 12.5e3, "(]"},
    {LMR, FE "150 to 174 MHz, mobile, 6.25 kHz", 'b', 0, 6.25e3, "-]"},
    {LMR, FE "421 to 512 MHz, fixed and base, 25 kHz", 'b', 12.5e3, INF, "(-"},
    {LMR, FE "421 to 512 MHz, fixed and base, 12.5 kHz", 'b', 6.25e3, 12.5e3, "(]"},
    {LMR, FE "421 to 512 MHz, fixed and base, 6.25 kHz", 'b', 0, 6.25e3, "-]"},
    {LMR, FE "421 to 512 MHz, mobile, 25 kHz", 'b', 12.5e3, INF, "(-"},
    {LMR, FE "421 to 512 MHz, mobile, 12.5 kHz", 'b', 6.25e3, 12.5e3, "(]"},
    {LMR, FE "421 to 512 MHz, mobile, 6.25 kHz", 'b', 0, 6.25e3, "-]"},
    /* the boundary of the spurious domain is held from 150 kHz to 3 GHz */
    {"itu-a", TABLE_2 ", general, from 30 MHz", MHZ(30, 3000), "[]"},
    {"itu-a", TABLE_2 ", general, below 30 MHz", MHZ(0.15, 30), "[)"},
    {"itu-a", TABLE_2 ", amateur below 30 MHz", MHZ(0.15, 30), "[)"},
    {"itu-b", "Rec. ITU-R SM.329, table 3*", MHZ(30, 3000), "[]"},
    {"eu-amateur", "ERC/REC 74-01, annex 6; EN 301 783, below 30 MHz", MHZ(0.15, 30), "[)"},
    {"eu-amateur", "ERC/REC 74-01, annex 6; EN 301 783, above 30 MHz", MHZ(30, INF), "[-"},
    {"eu-pmr446", "EN 303 405, spurious emissions*", MHZ(30, 3000), "[]"},
    {"eu-land-mobile", "ERC/REC 74-01, annex 2*", MHZ(30, 3000), "[]"},
    {"eu-land-mobile", "EN 300 086, frequency error, 12.5 kHz*", MHZ(137, 500), "[]"},
    {"eu-land-mobile", "EN 300 086, frequency error, 12.5 kHz*", 'b', 0, 12.5e3, "-]"},
    {"eu-land-mobile", "EN 300 086, frequency error, 20 and 25 kHz*", 'b', 12.5e3, INF, "(-"},
    {"eu-land-mobile", "EN 300 086, frequency error, 20 and 25 kHz, up to 500 MHz", MHZ(137, 500), "[]"},
    {"eu-land-mobile", "EN 300 086, frequency error, 20 and 25 kHz, above 500 MHz", MHZ(500, 1000), "(]"},
    {"eu-land-mobile", "EN 300 086, deviation, 12.5 kHz", 'b', 0, 12.5e3, "-]"},
    {"eu-land-mobile", "EN 300 086, deviation, 20 kHz", 'b', 12.5e3, 20e3, "(]"},
    {"eu-land-mobile", "EN 300 086, deviation, 25 kHz", 'b', 20e3, 25e3, "(]"},
};

static bool speaks_of(const char *pattern, const char *citation)
{
    size_t length = strlen(pattern);
    if (length && pattern[length - 1] == '*')
        return !strncmp(pattern, citation, length - 1);
    return !strcmp(pattern, citation);
}

/** Binds or not with one condition moved. */
static void check_moved(const spurity_clause *clause, const struct reach *reach, double value, bool binds)
{
    spurity_conditions conditions = conditions_of(&current->set);
    char why[200] = "", needs[100] = "";
    conditions.installed = current->installed;
    if (reach->what == 'c')
        conditions.carrier_hz = value;
    if (reach->what == 'b')
        conditions.bandwidth_hz = value;
    if (reach->what == 'p')
        conditions.mean_power_w = conditions.pep_w = conditions.carrier_power_w = value;
    spurity_applies applies = spurity_clause_applies(clause, &conditions, why, sizeof why, needs, sizeof needs);
    if (applies != (binds ? SPURITY_APPLIES_YES : SPURITY_APPLIES_NO))
        print_error("%s, %c %.9g: %s\n", reach->id, reach->what, value, why);
    want(applies == (binds ? SPURITY_APPLIES_YES : SPURITY_APPLIES_NO), "an end of a condition");
}

/** At an end and beside it: 1 Hz, 1 mW; of a bandwidth 2 Hz, since one that is told within 1 Hz of a channel's width is
 * read as that width, and what is then authorised is no end. */
static void check_reach_end(const spurity_clause *clause, const struct reach *reach, double end, char how, double out)
{
    double step = out * (reach->what == 'b' ? 2.0 : reach->what == 'p' ? 1e-3 : 1.0);
    if (how == '-')
        return;
    check_moved(clause, reach, end + step, false);
    check_moved(clause, reach, end - step, true);
    if (reach->what != 'b')
        check_moved(clause, reach, end, how == '[' || how == ']');
}

static const struct row *first_row(const char *id, const char *citation)
{
    for (size_t b = 0; b < COUNT(books); b++)
        for (size_t i = 0; !strcmp(books[b].id, id) && i < books[b].count; i++)
            if (books[b].rows[i].says != NOT && !strcmp(books[b].rows[i].citation, citation))
                return &books[b].rows[i];
    return NULL;
}

static void test_whom(void **state)
{
    (void)state;
    for (size_t r = 0; r < COUNT(reaches); r++) {
        spurity_rules *rules = loaded(reaches[r].id);
        size_t met = 0;
        for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
            const spurity_clause *clause = spurity_rules_clause(rules, c);
            spurity_clause_facts facts;
            spurity_clause_facts_of(clause, &facts);
            current = first_row(reaches[r].id, facts.citation);
            if (!speaks_of(reaches[r].citation, facts.citation) || !current)
                continue;
            check_reach_end(clause, &reaches[r], reaches[r].from, reaches[r].ends[0], -1.0);
            check_reach_end(clause, &reaches[r], reaches[r].to, reaches[r].ends[1], 1.0);
            met++;
        }
        if (!met)
            print_error("%s: no clause cites %s\n", reaches[r].id, reaches[r].citation);
        assert_true(met > 0);
        spurity_rules_free(rules);
    }
}

/** 97.307(d), (e), end: a set built before 1977-04-15 or first marketed before 1978-01-01 is exempt. */
static void test_exempt(void **state)
{
    static const struct {
        spurity_date built, marketed;
        bool binds;
    } days[] = {{19770414, 0, false}, {19770415, 0, true},        {0, 19771231, false},
                {0, 19780101, true},  {19770415, 19780101, true}, {19800101, 19771231, false}};
    spurity_rules *rules = loaded("us-amateur");
    size_t met = 0;
    (void)state;
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        const spurity_clause *clause = spurity_rules_clause(rules, c);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        if (!speaks_of("47 CFR 97.307(d)*", facts.citation) && !speaks_of("47 CFR 97.307(e)*", facts.citation))
            continue;
        current = first_row("us-amateur", facts.citation);
        for (size_t d = 0; d < COUNT(days); d++) {
            spurity_conditions conditions = conditions_of(&current->set);
            conditions.installed = current->installed;
            conditions.built = days[d].built;
            conditions.marketed = days[d].marketed;
            want((spurity_clause_applies(clause, &conditions, NULL, 0, NULL, 0) == SPURITY_APPLIES_YES) ==
                     days[d].binds,
                 "an exemption");
        }
        met++;
    }
    assert_int_equal(met, 5);
    spurity_rules_free(rules);
}

/** 95.979(a)(6): from the second harmonic on, 250 % of 8 or 4 kHz to either side (how wide is our reading). */
static void test_harmonic_bands(void **state)
{
    static const struct {
        struct set set;
        double half_hz;
    } sets[] = {{TYPE(27.185, 4, "A3E"), 20e3}, {TYPE(27.185, 12, "J3E"), 10e3}};
    spurity_rules *rules = loaded("us-cb");
    (void)state;
    for (size_t c = 0; c < spurity_rules_clause_count(rules); c++) {
        const spurity_clause *clause = spurity_rules_clause(rules, c);
        spurity_clause_facts facts;
        spurity_clause_facts_of(clause, &facts);
        for (size_t i = 0; i < COUNT(sets) && !strcmp(facts.clause, "95.979(a)(6)"); i++) {
            spurity_conditions conditions = conditions_of(&sets[i].set);
            assert_false(spurity_clause_covers(clause, &conditions, 27.185e6));
            for (int order = 2; order <= 12; order++)
                for (int side = -1; side <= 1; side += 2) {
                    double edge_hz = order * 27.185e6 + side * sets[i].half_hz;
                    assert_true(spurity_clause_covers(clause, &conditions, edge_hz));
                    assert_false(spurity_clause_covers(clause, &conditions, edge_hz + side));
                }
        }
    }
    spurity_rules_free(rules);
}

/* ---- worked tables ------------------------------------------------------------------------------- */

/** Strictest level of all clauses that bind, dBm; NaN: none. */
static double strictest(const char *rules_id, const struct set *set, double hz)
{
    spurity_rules *rules = loaded(rules_id);
    spurity_conditions conditions = conditions_of(set);
    struct asked asked = asked_at(rules, &conditions, hz);
    assert_false(asked.open);
    spurity_rules_free(rules);
    return asked.dbm;
}

/* Worked by hand: 25 uW = -16.02 dBm and 10 uW = -20 dBm, 40 dB, 60 dB; 43 + 10 log P is -13 dBm at any power, also
 * under the 70 dB of Category A, to 501 W; under the 50 dB of the amateurs below 30 MHz to 5.01 W. */
static void test_powers(void **state)
{
    static const struct {
        double watts, amateur_dbm, general_db, hf_dbm;
    } table[] = {{0.05, -20.00, 29.99, -13.00}, {0.1, -20.00, 33.00, -13.00}, {0.25, -16.02, 36.98, -13.00},
                 {0.5, -16.02, 39.99, -13.00},  {1, -16.02, 43.00, -13.00},   {5, -16.02, 49.99, -13.00},
                 {10, -16.02, 53.00, -10.00},   {25, -16.02, 56.98, -6.02},   {25.01, -16.02, 56.98, -6.02},
                 {50, -13.01, 59.99, -3.01},    {100, -10.00, 63.00, 0.00}};
    (void)state;
    for (size_t i = 0; i < COUNT(table); i++) {
        double watts = table[i].watts, own_dbm = 10.0 * log10(watts / 1e-3);
        assert_near(strictest("us-amateur", &(struct set)SET(146, watts), 292e6), table[i].amateur_dbm, 0.006);
        assert_near(own_dbm - strictest("us-gmrs", &(struct set)VOICE(462.6, watts, 'y'), 925.2e6), table[i].general_db,
                    0.006);
        assert_near(strictest("us-frs", &(struct set)SET(462.5625, watts), 925.125e6), -13.0, 0.006);
        assert_near(strictest("itu-a", &(struct set)SET(446, watts), 892e6), -13.0, 0.006);
        assert_near(strictest("itu-a", &(struct set)OF(28.4, watts, "amateur", 0), 56.8e6), table[i].hf_dbm, 0.006);
        assert_near(strictest("eu-amateur", &(struct set)SET(28.4, watts), 56.8e6), table[i].hf_dbm, 0.006);
    }
}

/* One 5 W hand-held, far out, by the service it is judged under; a radio of 2 W where the service allows no more. */
static void test_one_set(void **state)
{
    static const struct {
        const char *rules;
        struct set set;
        double harmonic, dbm, dbc; /* of the carrier */
    } table[] = {
        {"us-amateur", SET(146, 5), 2, -16.02, -53.01},
        {"us-amateur", SET(146, 5), 7, -16.02,
         -53.01},                                 /* where the set transmits decides, not where the harmonic falls */
        {"us-amateur", SET(446, 5), 2, NAN, NAN}, /* words only */
        {"us-gmrs", VOICE(462.6, 5, 'y'), 2, -13.00, -49.99},
        {"us-land-mobile", WIDE(155, 5, 'y', 25), 2, -13.00, -49.99},
        {"us-land-mobile", WIDE(155, 5, 'n', 25), 2, -13.00, -49.99},
        {"us-land-mobile", WIDE(155, 5, 0, 12.5), 2, -20.00, -56.99},
        {"us-land-mobile", WIDE(155, 5, 0, 6.25), 2, -25.00, -61.99},
        {"itu-a", SET(155, 5), 2, -13.00, -49.99},
        {"itu-b", SET(155, 5), 2, -36.00, -72.99},
        {"itu-b", SET(155, 5), 7, -30.00, -66.99},
        {"eu-land-mobile", SET(155, 5), 2, -36.00, -72.99},
        {"eu-land-mobile", SET(155, 5), 7, -30.00, -66.99},
        {"us-murs", SET(151.82, 2), 2, -20.00, -53.01},
        {"us-frs", SET(462.5625, 2), 2, -13.00, -46.01},
    };
    (void)state;
    for (size_t i = 0; i < COUNT(table); i++) {
        double hz = table[i].harmonic * table[i].set.carrier_hz, dbm = strictest(table[i].rules, &table[i].set, hz);
        assert_near(dbm, table[i].dbm, 0.006);
        assert_near(dbm - 10.0 * log10(table[i].set.watts / 1e-3), table[i].dbc, 0.006);
    }
}

/* 97.307(d): what it asks of a set of each day. */
static void test_days(void **state)
{
    static const struct {
        double watts, after_dbm, before_dbm;
    } table[] = {{1, -13.00, 0.00}, {5, -6.01, -3.01}, {100, 7.00, 10.00}, {500, 13.99, 16.99}, {1500, 18.76, 16.99}};
    spurity_rules *rules = loaded("us-amateur");
    (void)state;
    for (size_t i = 0; i < COUNT(table); i++) {
        spurity_conditions conditions = conditions_of(&(struct set)SET(28.4, table[i].watts));
        conditions.installed = 20030102;
        assert_near(asked_at(rules, &conditions, 56.8e6).dbm, table[i].after_dbm, 0.006);
        conditions.installed = 20030101;
        assert_near(asked_at(rules, &conditions, 56.8e6).dbm, table[i].before_dbm, 0.006);
        conditions.built = 19770414; /* exempt */
        assert_int_equal(asked_at(rules, &conditions, 56.8e6).count, 0);
    }
    spurity_rules_free(rules);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_every_file),     cmocka_unit_test(test_every_clause),
                                       cmocka_unit_test(test_whom),           cmocka_unit_test(test_exempt),
                                       cmocka_unit_test(test_harmonic_bands), cmocka_unit_test(test_powers),
                                       cmocka_unit_test(test_one_set),        cmocka_unit_test(test_days)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
