/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Two-port files as loss tables: Touchstone File Format Specification 2.1 (IBIS Open Forum, 2024-01-26), which also
 * defines 1.0, 1.1 and 2.0.
 *
 * loss = -20 log10 |S21| with both ports closed by the impedance wanted.  A passive part passes both ways alike, so the
 * loss is the mean in dB of both ways; half their difference (dB) is one draw of that mean's standard uncertainty, so
 * the curve's expanded one is twice its rms over the nine points around, half the point's own difference at least.  One
 * way only where the other was not measured, or where the two differ by over 1 dB at most of the points (a part that is
 * not the same both ways: then from port 1, at the set, to port 2). */
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "reader.h"

enum {
    MOST_BYTES = 256 << 20,
    MOST_POINTS = 10 * 1000 * 1000,
    FULL_VALUES = 9,  /* of a point: frequency and four pairs */
    HALF_VALUES = 7,  /* one triangle of a symmetric matrix: three pairs */
    NOISE_VALUES = 5, /* of a line of noise data */
    LINES_PER_TICK = 4096
};

enum format { FORMAT_DB, FORMAT_MA, FORMAT_RI };
enum layout { LAYOUT_FULL, LAYOUT_LOWER, LAYOUT_UPPER };
enum order { ORDER_21_12, ORDER_12_21, ORDER_UNSAID };
enum section { SECTION_HEAD, SECTION_DATA, SECTION_NOISE, SECTION_END }; /* of version 2 */

/* What remains of a line, comment cut off. */
struct line {
    const char *start, *text, *end;
    unsigned long number;
};

struct token {
    const char *text;
    size_t length;
    unsigned long line, column;
};

/* One way through the part, over the whole file. */
struct way {
    double complex first; /* as the file has it */
    bool constant;
    double highest_db;       /* of the transmission */
    unsigned long zero_line; /* first point of no transmission at all, 0 = none */
};

struct two_port {
    spurity_input *input;
    const char *text;
    size_t size, at;
    unsigned long line_number;

    bool version_2, option_seen;
    enum section section;
    int ports; /* by the file's name, 0 = not told */
    double unit_hz;
    const char *unit;
    char parameter; /* S Y Z G H */
    enum format format;
    enum layout layout;
    enum order order;
    double ohm[2];
    double wanted_ohm;
    long frequencies; /* as version 2 declares, 0 = unsaid */
    unsigned long option_line;

    double values[FULL_VALUES]; /* of a point begun, in version 2 */
    size_t got;
    struct token point_start;

    size_t count, room;
    double *hz, *loss_21_db, *loss_12_db;
    struct way way_21, way_12;
};

/* ---- lines and words ------------------------------------------------------------------------------- */

/* LF, CR LF and CR alone end a line.  A comment runs from '!' to the end. */
static bool next_line(struct two_port *file, struct line *line)
{
    if (file->at >= file->size)
        return false;
    const char *start = file->text + file->at, *stop = file->text + file->size, *end = start;
    while (end < stop && *end != '\n' && *end != '\r')
        end++;
    file->at = (size_t)(end - file->text);
    if (end < stop)
        file->at += *end == '\r' && end + 1 < stop && end[1] == '\n' ? 2 : 1;
    const char *comment = memchr(start, '!', (size_t)(end - start));
    *line = (struct line){start, start, comment ? comment : end, ++file->line_number};
    return true;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\f' || c == '\v';
}

static bool next_token(struct line *line, struct token *token)
{
    const char *at = line->text;
    while (at < line->end && is_blank(*at))
        at++;
    const char *start = at;
    while (at < line->end && !is_blank(*at))
        at++;
    line->text = at;
    *token = (struct token){start, (size_t)(at - start), line->number, (unsigned long)(start - line->start) + 1};
    return token->length > 0;
}

/* A line that holds something; its first character is left in place. */
static bool next_filled_line(struct two_port *file, struct line *line)
{
    while (next_line(file, line)) {
        while (line->text < line->end && is_blank(*line->text))
            line->text++;
        if (line->text < line->end)
            return true;
    }
    return false;
}

static bool is_word(const struct token *token, const char *word)
{
    return strlen(word) == token->length && !strncasecmp(token->text, word, token->length);
}

static spurity_status refuse(const struct two_port *file, const struct token *token, const char *expected,
                             const char *advice, spurity_error *error)
{
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(file->input, token->line, token->column), expected,
                           advice, "'%.*s%s'", (int)(token->length < 40 ? token->length : 40), token->text,
                           token->length > 40 ? "..." : "");
}

static spurity_status refuse_line(const struct two_port *file, unsigned long line, const char *found,
                                  const char *expected, const char *advice, spurity_error *error)
{
    return spurity_report(error, SPURITY_INVALID, spurity_input_at(file->input, line, 0), found, expected, advice);
}

static bool parse_number(const struct token *token, double *value)
{
    return spurity_number_parse(token->text, token->length, '.', value) == token->length && isfinite(*value);
}

static spurity_status number(const struct two_port *file, const struct token *token, double *value,
                             spurity_error *error)
{
    if (parse_number(token, value))
        return SPURITY_OK;
    return refuse(file, token, "a number with a decimal point", NULL, error);
}

/* ---- what the part passes --------------------------------------------------------------------------- */

/* Version 1 stores Y, Z, G and H as multiples of the reference impedance, version 2 does not. */
static void undo_normalisation(const struct two_port *file, double complex m[4])
{
    const double ohm = file->ohm[0];
    if (file->version_2)
        return;
    switch (file->parameter) {
    case 'Z':
        for (int i = 0; i < 4; i++)
            m[i] *= ohm;
        break;
    case 'Y':
        for (int i = 0; i < 4; i++)
            m[i] /= ohm;
        break;
    case 'H':
        m[0] *= ohm;
        m[3] /= ohm;
        break;
    case 'G':
        m[0] /= ohm;
        m[3] *= ohm;
        break;
    default:
        break;
    }
}

/* S21 and S12 of the part between two ends of R = wanted ohm, from m = {11, 21, 12, 22}.
 *
 * S, given for reference R_i at port i, r_i = (R - R_i)/(R + R_i) (Kurokawa, Power waves and the scattering matrix,
 * 1965, for real R_i): S21' = S21 sqrt((1 - r1^2)(1 - r2^2)) / ((1 - r1 S11)(1 - r2 S22) - r1 r2 S12 S21) Others, from
 * V1 = R (-I1) + source etc. with G = 1/R: S21 =  2 R z21 / ((z11 + R)(z22 + R) - z12 z21) S21 = -2 G y21 / ((y11 +
 * G)(y22 + G) - y12 y21) S21 = -2 h21 / ((h11 + R)(h22 + G) - h12 h21), S12 = 2 h12 / the same S21 =  2 g21 / ((g11 +
 * G)(g22 + R) - g12 g21), S12 = -2 g12 / the same None divides by the transmission, so a part that passes nothing is no
 * special case. */
static void transmissions(const struct two_port *file, double complex m[4], double complex *s21, double complex *s12)
{
    const double ohm = file->wanted_ohm, siemens = 1 / ohm;
    double shift_1 = 0, shift_2 = 0;
    double complex forward = 1, backward = 1;
    undo_normalisation(file, m);
    switch (file->parameter) {
    case 'Z':
        shift_1 = shift_2 = ohm;
        forward = backward = 2 * ohm;
        break;
    case 'Y':
        shift_1 = shift_2 = siemens;
        forward = backward = -2 * siemens;
        break;
    case 'H':
        shift_1 = ohm;
        shift_2 = siemens;
        forward = -2;
        backward = 2;
        break;
    case 'G':
        shift_1 = siemens;
        shift_2 = ohm;
        forward = 2;
        backward = -2;
        break;
    default: {
        const double r1 = (ohm - file->ohm[0]) / (ohm + file->ohm[0]), r2 = (ohm - file->ohm[1]) / (ohm + file->ohm[1]);
        const double complex scale =
            sqrt((1 - r1 * r1) * (1 - r2 * r2)) / ((1 - r1 * m[0]) * (1 - r2 * m[3]) - r1 * r2 * m[1] * m[2]);
        *s21 = m[1] * scale;
        *s12 = m[2] * scale;
        return;
    }
    }
    const double complex below = (m[0] + shift_1) * (m[3] + shift_2) - m[1] * m[2];
    *s21 = forward * m[1] / below;
    *s12 = backward * m[2] / below;
}

static double complex from_pair(enum format format, double a, double b)
{
    if (format == FORMAT_RI)
        return a + b * I;
    const double magnitude = format == FORMAT_DB ? pow(10, a / 20) : a;
    const double radians = b * (M_PI / 180);
    return magnitude * cos(radians) + magnitude * sin(radians) * I;
}

/* ---- points ----------------------------------------------------------------------------------------- */

static spurity_status make_room(struct two_port *file, unsigned long line, spurity_error *error)
{
    if (file->count < file->room)
        return SPURITY_OK;
    if (file->count >= MOST_POINTS)
        return refuse_line(file, line, "more than 10 million points", NULL, "thin the file out", error);
    double **const columns[] = {&file->hz, &file->loss_21_db, &file->loss_12_db};
    const size_t room = file->room + file->room / 2 + 1024;
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++) {
        double *grown = realloc(*columns[i], room * sizeof **columns[i]);
        if (!grown)
            return spurity_report_memory(error);
        *columns[i] = grown;
    }
    file->room = room;
    return SPURITY_OK;
}

static double note_way(struct way *way, bool first, double complex raw, double complex transmission, unsigned long line)
{
    const double magnitude = cabs(transmission);
    const double db = magnitude > 0 ? 20 * log10(magnitude) : -INFINITY;
    if (first)
        *way = (struct way){.first = raw, .constant = true, .highest_db = -INFINITY};
    way->constant = way->constant && creal(raw) == creal(way->first) && cimag(raw) == cimag(way->first);
    way->highest_db = fmax(way->highest_db, db);
    if (!(magnitude > 0) && !way->zero_line)
        way->zero_line = line;
    return -db;
}

/* values: frequency and the pairs in the file's order; first: the token of the frequency. */
static spurity_status add_point(struct two_port *file, const struct token *first, const double *values,
                                spurity_error *error)
{
    /* Where 11, 21, 12 and 22 stand among the pairs, by layout; full ones may be swapped. */
    static const int places[][4] = {
        [LAYOUT_FULL] = {0, 1, 2, 3}, [LAYOUT_LOWER] = {0, 1, 1, 2}, [LAYOUT_UPPER] = {0, 1, 1, 2}};
    const double hz = values[0] * file->unit_hz;
    double complex m[4], s21, s12;
    if (!isfinite(hz) || hz < 0 || (file->count && hz <= file->hz[file->count - 1]))
        return refuse(file, first, "a frequency above the one before it, 0 or more",
                      "sort the file and remove repeated rows", error);
    spurity_status status = make_room(file, first->line, error);
    if (status)
        return status;
    for (int i = 0; i < 4; i++) {
        int place = places[file->layout][i];
        if (file->order == ORDER_12_21 && file->layout == LAYOUT_FULL && (i == 1 || i == 2))
            place = 3 - place;
        m[i] = from_pair(file->format, values[1 + 2 * place], values[2 + 2 * place]);
    }
    const double complex raw_21 = m[1], raw_12 = m[2];
    transmissions(file, m, &s21, &s12);
    if (!(cabs(s21) < 1e10 && cabs(s12) < 1e10)) /* no part gains 200 dB */
        return refuse_line(file, first->line, "figures out of all proportion",
                           "parameters from which a transmission follows", NULL, error);
    file->hz[file->count] = hz;
    file->loss_21_db[file->count] = note_way(&file->way_21, !file->count, raw_21, s21, first->line);
    file->loss_12_db[file->count] = note_way(&file->way_12, !file->count, raw_12, s12, first->line);
    file->count++;
    return SPURITY_OK;
}

static spurity_status tick(const struct two_port *file, spurity_error *error)
{
    if (file->line_number % LINES_PER_TICK == 0 &&
        !spurity_watch_tick(file->input->watch, "reading", (double)file->at / (double)file->size))
        return spurity_report(error, SPURITY_CANCELLED, spurity_input_at(file->input, file->line_number, 0),
                              "reading was stopped", NULL, NULL);
    return SPURITY_OK;
}

/* ---- option line ------------------------------------------------------------------------------------ */

static bool take_unit(struct two_port *file, const struct token *token)
{
    static const struct {
        const char *word;
        double hz;
    } units[] = {{"Hz", 1}, {"kHz", 1e3}, {"MHz", 1e6}, {"GHz", 1e9}};
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        if (!is_word(token, units[i].word))
            continue;
        file->unit_hz = units[i].hz;
        file->unit = units[i].word;
        return true;
    }
    return false;
}

static bool take_parameter(struct two_port *file, const struct token *token)
{
    const char *found = token->length == 1 ? strchr("SYZGHsyzgh", token->text[0]) : NULL;
    if (!found || !*found)
        return false;
    file->parameter = "SYZGHSYZGH"[found - strchr("SYZGHsyzgh", 'S')];
    return true;
}

static bool take_format(struct two_port *file, const struct token *token)
{
    static const char *const words[] = {[FORMAT_DB] = "DB", [FORMAT_MA] = "MA", [FORMAT_RI] = "RI"};
    for (int i = 0; i < 3; i++) {
        if (is_word(token, words[i])) {
            file->format = (enum format)i;
            return true;
        }
    }
    return false;
}

static spurity_status take_ohm(const struct two_port *file, const struct token *token, double *ohm,
                               spurity_error *error)
{
    double value;
    if (!parse_number(token, &value) || value < 1e-3 || value > 1e6)
        return refuse(file, token, "a reference impedance in ohm, real and above 0", NULL, error);
    *ohm = value;
    return SPURITY_OK;
}

/* "R n" or, for version 1.1, "R n1 n2"; *after is the first word behind. */
static spurity_status take_reference(struct two_port *file, struct line *line, const struct token *r,
                                     struct token *after, spurity_error *error)
{
    double value;
    if (!next_token(line, after))
        return refuse(file, r, "R with a reference impedance behind it, such as R 50", NULL, error);
    spurity_status status = take_ohm(file, after, &file->ohm[0], error);
    file->ohm[1] = file->ohm[0];
    if (status || !next_token(line, after) || !parse_number(after, &value))
        return status;
    status = take_ohm(file, after, &file->ohm[1], error);
    if (!status && next_token(line, after) && parse_number(after, &value))
        status = refuse(file, after, "reference impedances of two ports", NULL, error);
    return status;
}

/* "# MHz S DB R 50": words in any order, each may be missing.  Further option lines are ignored. */
static spurity_status read_option_line(struct two_port *file, struct line *line, spurity_error *error)
{
    struct token token;
    if (file->option_seen)
        return SPURITY_OK;
    file->option_seen = true;
    file->option_line = line->number;
    line->text++; /* the '#' */
    bool more = next_token(line, &token);
    while (more) {
        if (is_word(&token, "R")) {
            struct token r = token;
            spurity_status status = take_reference(file, line, &r, &token, error);
            if (status)
                return status;
            more = token.length > 0;
            continue;
        }
        if (!take_unit(file, &token) && !take_parameter(file, &token) && !take_format(file, &token))
            return refuse(file, &token, "an option line such as '# MHz S DB R 50'", NULL, error);
        more = next_token(line, &token);
    }
    return SPURITY_OK;
}

/* ---- version 1 -------------------------------------------------------------------------------------- */

static spurity_status refuse_ports(const struct two_port *file, int ports, unsigned long line, spurity_error *error)
{
    spurity_place at = spurity_input_at(file->input, line, 0);
    if (ports == 1)
        return spurity_report(error, SPURITY_UNSUPPORTED, at, "a one-port file, which holds a reflection only",
                              "a two-port (.s2p)",
                              "measure the part through, from end to end, or tell its loss by --pad or a table");
    return spurity_reportf(error, SPURITY_UNSUPPORTED, at, "a two-port (.s2p)",
                           "export the way from the set to the instrument as a two-port", "a file of %d ports", ports);
}

/* How many values stand on the line, at most one more than `most`; those that fit are parsed. */
static spurity_status read_values(const struct two_port *file, struct line *line, double *values, size_t most,
                                  size_t *count, struct token *first, spurity_error *error)
{
    struct token token;
    *count = 0;
    while (*count <= most && next_token(line, &token)) {
        double value;
        if (!*count)
            *first = token;
        spurity_status status = number(file, &token, &value, error);
        if (status)
            return status;
        if (*count < most)
            values[*count] = value;
        ++*count;
    }
    return SPURITY_OK;
}

/* A line of other than nine values among the network data of a version 1 file.  *noise: the noise data begin here, at
 * a frequency not above the one before. */
static spurity_status judge_odd_line(const struct two_port *file, size_t count, double hz, const struct token *first,
                                     bool *noise, spurity_error *error)
{
    if (count == NOISE_VALUES && file->count && hz <= file->hz[file->count - 1]) {
        *noise = true;
        return SPURITY_OK;
    }
    if (count == 3 && !file->count && file->ports == 0)
        return refuse_ports(file, 1, first->line, error);
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(file->input, first->line, first->column),
                           "frequency and four pairs, nine values on one line",
                           file->ports ? NULL : "name the file .s2p if it is a two-port", "%s%zu values on a line",
                           count > FULL_VALUES ? "more than " : "", count > FULL_VALUES ? (size_t)FULL_VALUES : count);
}

static spurity_status read_version_1(struct two_port *file, spurity_error *error)
{
    struct line line;
    bool noise = false;
    while (next_filled_line(file, &line)) {
        double values[FULL_VALUES];
        size_t count;
        struct token first;
        if (*line.text == '#')
            continue;
        if (*line.text == '[') {
            next_token(&line, &first);
            return refuse(file, &first, "numbers", "a file with keywords begins with [Version] 2.0", error);
        }
        spurity_status status = read_values(file, &line, values, FULL_VALUES, &count, &first, error);
        if (!status)
            status = tick(file, error);
        if (status)
            return status;
        if (noise && count != NOISE_VALUES)
            return refuse_line(file, line.number, "noise data that do not hold five values on a line", "five values",
                               NULL, error);
        if (noise)
            continue;
        status = count == FULL_VALUES ? add_point(file, &first, values, error)
                                      : judge_odd_line(file, count, values[0] * file->unit_hz, &first, &noise, error);
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/* ---- version 2 -------------------------------------------------------------------------------------- */

/* A keyword with its brackets, blanks inside as they stand; the rest of the line stays. */
static spurity_status take_keyword(const struct two_port *file, struct line *line, struct token *keyword,
                                   spurity_error *error)
{
    const char *close = memchr(line->text, ']', (size_t)(line->end - line->text));
    *keyword = (struct token){line->text, (size_t)((close ? close + 1 : line->end) - line->text), line->number,
                              (unsigned long)(line->text - line->start) + 1};
    if (!close)
        return refuse(file, keyword, "a keyword that ends in ']'", NULL, error);
    line->text = close + 1;
    return SPURITY_OK;
}

/* The one word behind a keyword. */
static spurity_status take_argument(const struct two_port *file, struct line *line, const struct token *keyword,
                                    struct token *argument, spurity_error *error)
{
    struct token extra;
    if (!next_token(line, argument))
        return refuse(file, keyword, "a value behind it", NULL, error);
    if (next_token(line, &extra))
        return refuse(file, &extra, "one value only", NULL, error);
    return SPURITY_OK;
}

static spurity_status take_count(const struct two_port *file, const struct token *token, double most, long *count,
                                 spurity_error *error)
{
    double value;
    if (!parse_number(token, &value) || value < 1 || value > most || value != floor(value))
        return refuse(file, token, "a whole number, 1 to 10 million", NULL, error);
    *count = (long)value;
    return SPURITY_OK;
}

static spurity_status on_ports(struct two_port *file, struct line *line, const struct token *keyword,
                               spurity_error *error)
{
    struct token argument;
    long ports = 0;
    spurity_status status = take_argument(file, line, keyword, &argument, error);
    if (!status)
        status = take_count(file, &argument, 1e7, &ports, error);
    if (!status && ports != 2)
        status = refuse_ports(file, (int)ports, keyword->line, error);
    file->ports = 2;
    return status;
}

static spurity_status on_frequencies(struct two_port *file, struct line *line, const struct token *keyword,
                                     spurity_error *error)
{
    struct token argument;
    spurity_status status = take_argument(file, line, keyword, &argument, error);
    return status ? status : take_count(file, &argument, MOST_POINTS, &file->frequencies, error);
}

static spurity_status on_order(struct two_port *file, struct line *line, const struct token *keyword,
                               spurity_error *error)
{
    struct token argument;
    spurity_status status = take_argument(file, line, keyword, &argument, error);
    if (status)
        return status;
    if (!is_word(&argument, "21_12") && !is_word(&argument, "12_21"))
        return refuse(file, &argument, "21_12 or 12_21", NULL, error);
    file->order = is_word(&argument, "21_12") ? ORDER_21_12 : ORDER_12_21;
    return SPURITY_OK;
}

static spurity_status on_layout(struct two_port *file, struct line *line, const struct token *keyword,
                                spurity_error *error)
{
    static const char *const words[] = {[LAYOUT_FULL] = "Full", [LAYOUT_LOWER] = "Lower", [LAYOUT_UPPER] = "Upper"};
    struct token argument;
    spurity_status status = take_argument(file, line, keyword, &argument, error);
    if (status)
        return status;
    for (int i = 0; i < 3; i++) {
        if (is_word(&argument, words[i])) {
            file->layout = (enum layout)i;
            return SPURITY_OK;
        }
    }
    return refuse(file, &argument, "Full, Lower or Upper", NULL, error);
}

/* "[Reference] r1 r2", which may run over lines. */
static spurity_status on_reference(struct two_port *file, struct line *line, const struct token *keyword,
                                   spurity_error *error)
{
    struct token token;
    for (int i = 0; i < 2; i++) {
        while (!next_token(line, &token)) {
            if (!next_filled_line(file, line))
                return refuse(file, keyword, "two impedances behind it", NULL, error);
        }
        spurity_status status = take_ohm(file, &token, &file->ohm[i], error);
        if (status)
            return status;
    }
    if (next_token(line, &token))
        return refuse(file, &token, "the impedances of two ports only", NULL, error);
    return SPURITY_OK;
}

static spurity_status on_information(struct two_port *file, struct line *line, const struct token *keyword,
                                     spurity_error *error)
{
    static const char end[] = "[End Information]";
    while (next_filled_line(file, line)) {
        if ((size_t)(line->end - line->text) >= sizeof end - 1 && !strncasecmp(line->text, end, sizeof end - 1))
            return SPURITY_OK;
    }
    return refuse(file, keyword, "[End Information] after it", NULL, error);
}

static spurity_status on_mixed_mode(struct two_port *file, struct line *line, const struct token *keyword,
                                    spurity_error *error)
{
    return spurity_report(error, SPURITY_UNSUPPORTED, spurity_input_at(file->input, keyword->line, keyword->column),
                          "mixed-mode parameters", "single-ended ports",
                          "export the way from the set to the instrument as a plain two-port");
}

static spurity_status on_ignored(struct two_port *file, struct line *line, const struct token *keyword,
                                 spurity_error *error)
{
    return SPURITY_OK;
}

/* Numbers from here on are data, if all that describes them has been said. */
static spurity_status on_data(struct two_port *file, struct line *line, const struct token *keyword,
                              spurity_error *error)
{
    if (!file->option_seen)
        return refuse(file, keyword, "an option line before it, such as '# MHz S DB R 50'", NULL, error);
    if (!file->ports)
        return refuse(file, keyword, "[Number of Ports] before it", NULL, error);
    if (!file->frequencies)
        return refuse(file, keyword, "[Number of Frequencies] before it", NULL, error);
    if (file->section != SECTION_HEAD)
        return refuse(file, keyword, "one section of data", NULL, error);
    file->section = SECTION_DATA;
    return SPURITY_OK;
}

static spurity_status on_noise(struct two_port *file, struct line *line, const struct token *keyword,
                               spurity_error *error)
{
    if (file->section != SECTION_DATA)
        return refuse(file, keyword, "[Network Data] before it", NULL, error);
    file->section = SECTION_NOISE;
    return SPURITY_OK;
}

static spurity_status on_end(struct two_port *file, struct line *line, const struct token *keyword,
                             spurity_error *error)
{
    file->section = file->section == SECTION_HEAD ? SECTION_HEAD : SECTION_END;
    return SPURITY_OK;
}

static spurity_status on_keyword(struct two_port *file, struct line *line, spurity_error *error)
{
    static const struct {
        const char *word;
        spurity_status (*act)(struct two_port *, struct line *, const struct token *, spurity_error *);
    } rows[] = {
        {"[Number of Ports]", on_ports},
        {"[Two-Port Data Order]", on_order},
        {"[Number of Frequencies]", on_frequencies},
        {"[Number of Noise Frequencies]", on_ignored},
        {"[Reference]", on_reference},
        {"[Matrix Format]", on_layout},
        {"[Mixed-Mode Order]", on_mixed_mode},
        {"[Begin Information]", on_information},
        {"[Network Data]", on_data},
        {"[Noise Data]", on_noise},
        {"[End]", on_end},
    };
    struct token keyword;
    spurity_status status = take_keyword(file, line, &keyword, error);
    if (status)
        return status;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (!is_word(&keyword, rows[i].word))
            continue;
        if (file->section != SECTION_HEAD && rows[i].act != on_noise && rows[i].act != on_end && rows[i].act != on_data)
            return refuse(file, &keyword, "it before [Network Data]", NULL, error);
        return rows[i].act(file, line, &keyword, error);
    }
    return refuse(file, &keyword, "a keyword of Touchstone 2.1", NULL, error);
}

/* Where a line ends means nothing inside a point. */
static spurity_status on_numbers(struct two_port *file, struct line *line, spurity_error *error)
{
    const size_t wanted = file->layout == LAYOUT_FULL ? FULL_VALUES : HALF_VALUES;
    struct token token;
    while (next_token(line, &token)) {
        if (file->section == SECTION_HEAD)
            return refuse(file, &token, "a keyword, or [Network Data] before the numbers", NULL, error);
        if (file->section == SECTION_NOISE)
            return SPURITY_OK;
        if (!file->got)
            file->point_start = token;
        spurity_status status = number(file, &token, &file->values[file->got++], error);
        if (!status && file->got == wanted) {
            file->got = 0;
            status = (long)file->count < file->frequencies
                         ? add_point(file, &file->point_start, file->values, error)
                         : refuse(file, &file->point_start, "no more frequencies than [Number of Frequencies] says",
                                  NULL, error);
        }
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status check_complete(const struct two_port *file, spurity_error *error)
{
    const unsigned long line = file->line_number;
    if (file->section == SECTION_HEAD)
        return refuse_line(file, line, "no [Network Data]", "data", "the file seems cut off", error);
    if (file->got)
        return refuse(file, &file->point_start, "a whole point from here on", "the file seems cut off", error);
    if ((long)file->count == file->frequencies)
        return SPURITY_OK;
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(file->input, line, 0),
                           "as many as [Number of Frequencies] says", "the file seems cut off",
                           "%zu frequencies of %ld", file->count, file->frequencies);
}

static spurity_status read_version_2(struct two_port *file, struct line *line, spurity_error *error)
{
    struct token version, argument;
    spurity_status status = take_keyword(file, line, &version, error);
    if (!status)
        status = take_argument(file, line, &version, &argument, error);
    if (status)
        return status;
    if (!is_word(&version, "[Version]"))
        return refuse(file, &version, "[Version] 2.0 first, or an option line", NULL, error);
    if (!is_word(&argument, "2.0") && !is_word(&argument, "2.1"))
        return refuse(file, &argument, "version 2.0 or 2.1", "export it as version 1.1 or 2.0", error);
    file->version_2 = true;
    file->order = ORDER_UNSAID;
    file->ports = 0;
    while (!status && next_filled_line(file, line)) {
        if (file->section == SECTION_END)
            return refuse_line(file, line->number, "text after [End]", "nothing", NULL, error);
        if (*line->text == '#' && !file->option_seen && file->ports)
            status = refuse_line(file, line->number, "the option line after keywords", "it before them", NULL, error);
        else if (*line->text == '#')
            status = read_option_line(file, line, error);
        else if (*line->text == '[')
            status = on_keyword(file, line, error);
        else
            status = on_numbers(file, line, error);
        if (!status)
            status = tick(file, error);
    }
    return status ? status : check_complete(file, error);
}

/* ---- loss ------------------------------------------------------------------------------------------- */

/* Never measured, filled in: one value throughout (of S; other parameters of a plain resistor are constant by nature),
 * or nothing above -150 dB, which no receiver sees.  Two points may well be equal. */
static bool is_dead(const struct two_port *file, const struct way *way)
{
    return way->highest_db < -150 || (way->constant && file->parameter == 'S' && file->count > 2);
}

static spurity_status refuse_dead(const struct two_port *file, spurity_error *error)
{
    char level[40];
    const struct way *way = &file->way_21;
    spurity_format_db(level, sizeof level, way->highest_db);
    return spurity_reportf(error, SPURITY_INVALID, spurity_input_at(file->input, 0, 0),
                           "a transmission that was measured", "measure S21 of the part; an ideal pad is told by --pad",
                           way->highest_db < -150 ? "no transmission in this file: S21 nowhere above %s dB"
                                                  : "no transmission in this file: S21 is %s dB at every point",
                           way->highest_db < -150 ? "-150" : level);
}

/* Whether the part passes both ways alike: at most of the points within 1 dB. */
static bool is_reciprocal(const struct two_port *file)
{
    size_t alike = 0;
    for (size_t i = 0; i < file->count; i++)
        alike += fabs(file->loss_21_db[i] - file->loss_12_db[i]) <= 1;
    return 2 * alike >= file->count;
}

static spurity_status refuse_zero(const struct two_port *file, unsigned long line, spurity_error *error)
{
    return refuse_line(file, line, "a transmission of 0", "one that was measured", "leave the point out", error);
}

/* half: |S21 - S12| / 2 in dB at each point, becomes the expanded uncertainty (head of this file): one point's two
 * readings may agree by luck. */
static void expand(double *half, size_t count)
{
    enum { AROUND = 4 };
    double past[AROUND] = {0}; /* squares of the original figures before this one, nearest first */
    for (size_t i = 0; i < count; i++) {
        const double own = half[i];
        double sum = own * own;
        size_t terms = 1;
        for (size_t k = 1; k <= AROUND && i + k < count; k++, terms++)
            sum += half[i + k] * half[i + k];
        for (size_t k = 0; k < AROUND && k < i; k++, terms++)
            sum += past[k];
        memmove(past + 1, past, sizeof past - sizeof *past);
        past[0] = own * own;
        half[i] = fmax(own, 2 * sqrt(sum / (double)terms));
    }
}

/* loss_21 becomes the loss, loss_12 its uncertainty (*both) or nothing. */
static spurity_status decide_loss(struct two_port *file, spurity_recording *recording, bool *both, spurity_error *error)
{
    const bool dead_21 = is_dead(file, &file->way_21), dead_12 = is_dead(file, &file->way_12);
    if (dead_21 && dead_12)
        return refuse_dead(file, error);
    const bool alike = !dead_21 && !dead_12 && !file->way_21.zero_line && !file->way_12.zero_line;
    *both = alike && is_reciprocal(file);
    if (*both) {
        for (size_t i = 0; i < file->count; i++) {
            const double sum = file->loss_21_db[i] + file->loss_12_db[i];
            file->loss_12_db[i] = fabs(file->loss_21_db[i] - file->loss_12_db[i]) / 2;
            file->loss_21_db[i] = sum / 2;
        }
        expand(file->loss_12_db, file->count);
        spurity_input_found(recording, "loss", "mean of S21 and S12 in dB", "", 0, false,
                            "a passive part passes both ways alike; their difference is its uncertainty");
        return SPURITY_OK;
    }
    if (file->order == ORDER_UNSAID && file->layout == LAYOUT_FULL)
        return refuse_line(file, 0, "S21 and S12 that differ, and no [Two-Port Data Order]", "21_12 or 12_21", NULL,
                           error);
    const bool backward = dead_21;
    if (backward ? file->way_12.zero_line : file->way_21.zero_line)
        return refuse_zero(file, backward ? file->way_12.zero_line : file->way_21.zero_line, error);
    if (backward)
        memcpy(file->loss_21_db, file->loss_12_db, file->count * sizeof *file->loss_21_db);
    spurity_input_found(recording, "loss", backward ? "S12" : "S21, from port 1 to port 2", "", 0, true, "%s",
                        backward  ? "S21 was not measured"
                        : dead_12 ? "S12 was not measured"
                                  : "the part does not pass both ways alike; port 1 is taken to point at the set");
    return SPURITY_OK;
}

/* Gain beyond the 0.1 dB that noise adds to a part that loses nothing. */
static void find_gain(const struct two_port *file, spurity_recording *recording)
{
    size_t count = 0, most = 0;
    char gain[24], hz[24], understood[160];
    for (size_t i = 0; i < file->count; i++) {
        count += file->loss_21_db[i] < -0.1;
        most = file->loss_21_db[i] < file->loss_21_db[most] ? i : most;
    }
    if (!count)
        return;
    spurity_format_db(gain, sizeof gain, -file->loss_21_db[most]);
    spurity_format_frequency(hz, sizeof hz, file->hz[most], 6);
    snprintf(understood, sizeof understood, "gain at %zu %s, up to %s dB at %s", count, count == 1 ? "point" : "points",
             gain, hz);
    spurity_input_found(recording, "warning", understood, "", 0, true,
                        "a passive part has none: was the analyzer calibrated for this span?");
}

static void tell_findings(const struct two_port *file, spurity_recording *recording)
{
    static const char *const formats[] = {
        [FORMAT_DB] = "dB and degrees", [FORMAT_MA] = "magnitude and degrees", [FORMAT_RI] = "real and imaginary part"};
    char text[120], first[24], second[24], wanted[24];
    spurity_input_found(recording, "version", file->version_2 ? "Touchstone 2" : "Touchstone 1", "", 0, false, "%s",
                        file->version_2 ? "[Version] stands there" : "no [Version]");
    spurity_input_found(recording, "frequency unit", file->unit ? file->unit : "GHz", "", file->option_line, false,
                        "%s", file->unit ? "option line" : "the format's default, as the option line tells none");
    snprintf(text, sizeof text, "%c parameters as %s", file->parameter, formats[file->format]);
    spurity_input_found(recording, "parameters", text, "", file->option_line, false, "option line");
    spurity_format_db(first, sizeof first, file->ohm[0]);
    spurity_format_db(second, sizeof second, file->ohm[1]);
    spurity_format_db(wanted, sizeof wanted, file->wanted_ohm);
    const bool equal = file->ohm[0] == file->ohm[1];
    snprintf(text, sizeof text, "%s%s%s ohm", first, equal ? "" : " and ", equal ? "" : second);
    if (equal && file->ohm[0] == file->wanted_ohm)
        spurity_input_found(recording, "reference impedance", text, "--impedance", file->option_line, false,
                            "the loss is that between matched ends");
    else
        spurity_input_found(recording, "reference impedance", text, "--impedance", file->option_line, false,
                            "the two-port was renormalised to %s ohm", wanted);
}

static spurity_status make_curve(struct two_port *file, spurity_recording *recording, spurity_error *error)
{
    bool both;
    if (!file->count)
        return refuse_line(file, file->line_number, "no data", "at least one point", NULL, error);
    tell_findings(file, recording);
    spurity_status status = decide_loss(file, recording, &both, error);
    if (status)
        return status;
    find_gain(file, recording);
    recording->facts.reference_impedance_ohm = file->ohm[0];
    return spurity_curve_create(file->hz, file->loss_21_db, both ? file->loss_12_db : NULL, file->count,
                                &recording->curve, error);
}

/* ---- the row ---------------------------------------------------------------------------------------- */

/* Ports by the name's suffix .sNp; 0 when it is none. */
static int ports_of(const char *name)
{
    const char *dot = strrchr(name, '.');
    int ports = 0;
    size_t i = 2;
    if (!dot || (dot[1] != 's' && dot[1] != 'S'))
        return 0;
    for (; dot[i] >= '0' && dot[i] <= '9' && i < 6; i++)
        ports = 10 * ports + (dot[i] - '0');
    return (dot[i] == 'p' || dot[i] == 'P') && !dot[i + 1] ? ports : 0;
}

static void start(struct two_port *file, spurity_input *input, const unsigned char *bytes, size_t size)
{
    const bool mark = size >= 3 && !memcmp(bytes, "\xEF\xBB\xBF", 3); /* UTF-8 byte order mark */
    const double ohm = input->options->impedance_ohm;
    *file = (struct two_port){.input = input,
                              .text = (const char *)bytes + (mark ? 3 : 0),
                              .size = size - (mark ? 3 : 0),
                              .ports = ports_of(input->name),
                              .unit_hz = 1e9,
                              .parameter = 'S',
                              .format = FORMAT_MA,
                              .ohm = {50, 50},
                              .wanted_ohm = ohm > 0 ? ohm : 50};
}

/* The first line that is not blank or comment tells the version.  An option line counts only when it names a parameter
 * or a format besides its unit, since other texts have '#' too. */
static int probe(const spurity_input *input)
{
    struct two_port file;
    struct line line;
    struct token token;
    start(&file, (spurity_input *)input, input->head, input->head_size);
    const char *dot = strrchr(input->name, '.');
    const bool suffix = file.ports || (dot && !strcasecmp(dot, ".ts"));
    if (file.ports)
        return 100;
    if (!next_filled_line(&file, &line))
        return 0;
    if (*line.text == '[')
        return take_keyword(&file, &line, &token, NULL) == SPURITY_OK && is_word(&token, "[Version]") ? 95 : 0;
    if (*line.text != '#' || read_option_line(&file, &line, NULL))
        return 0;
    line.text = line.start;
    int words = 0;
    while (next_token(&line, &token))
        words += take_parameter(&file, &token) + take_format(&file, &token) + is_word(&token, "R");
    return words >= 2 || suffix ? 95 : 0;
}

/* Version 1 knows its ports by the file's name only. */
static spurity_status read_lines(struct two_port *file, spurity_error *error)
{
    struct line line;
    struct token token;
    if (!next_filled_line(file, &line))
        return refuse_line(file, 0, "no line but comments", "a two-port", NULL, error);
    if (*line.text == '[')
        return read_version_2(file, &line, error);
    if (file->ports && file->ports != 2)
        return refuse_ports(file, file->ports, 0, error);
    if (*line.text != '#') {
        next_token(&line, &token);
        return refuse(file, &token, "an option line first, such as '# MHz S DB R 50'", NULL, error);
    }
    spurity_status status = read_option_line(file, &line, error);
    if (!status && file->parameter != 'S' && file->ohm[0] != file->ohm[1])
        return refuse_line(file, line.number, "two reference impedances for other than S parameters", "S parameters",
                           "export it as S parameters", error);
    return status ? status : read_version_1(file, error);
}

static spurity_status read(spurity_input *input, spurity_recording *recording, spurity_error *error)
{
    const unsigned char *bytes;
    size_t size;
    struct two_port file;
    if (input->purpose != SPURITY_READ_LOSS)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at(input, 0, 0), "a two-port file",
                              "a sweep of levels", "this is a two-port, give it to --loss");
    spurity_status status = spurity_input_whole(input, MOST_BYTES, &bytes, &size, error);
    if (status)
        return status;
    const unsigned char *nul = memchr(bytes, 0, size);
    if (nul)
        return spurity_report(error, SPURITY_INVALID, spurity_input_at_byte(input, (uint64_t)(nul - bytes)),
                              "a NUL byte", "ASCII text", "export the two-port as text");
    start(&file, input, bytes, size);
    status = read_lines(&file, error);
    if (!status)
        status = make_curve(&file, recording, error);
    free(file.hz);
    free(file.loss_21_db);
    free(file.loss_12_db);
    return status;
}

const spurity_reader spurity_reader_touchstone = {
    .name = "two-port", .title = "two-port parameters", .probe = probe, .read = read};
