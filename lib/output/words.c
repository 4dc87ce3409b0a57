/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The words both the text and the picture use, so that they never say two things. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

/* Code point at `text`, *length its bytes; what is no UTF-8 counts as one byte of U+FFFD. */
static unsigned long code_point(const char *text, size_t *length)
{
    const unsigned char *at = (const unsigned char *)text;
    size_t need = at[0] < 0x80 ? 1 : at[0] < 0xC2 ? 0 : at[0] < 0xE0 ? 2 : at[0] < 0xF0 ? 3 : at[0] < 0xF5 ? 4 : 0;
    unsigned long value = need == 1 ? at[0] : at[0] & (0xFFU >> (need + 1));
    *length = 1;
    for (size_t i = 1; i < need; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return 0xFFFD;
        value = value << 6 | (at[i] & 0x3F);
    }
    *length = need ? need : 1;
    return need ? value : 0xFFFD;
}

/* Controls; line and paragraph separators; marks and overrides of direction; surrogates and what XML 1.0 leaves out. */
static bool is_unfit(unsigned long point)
{
    return point < 0x20 || (point >= 0x7F && point < 0xA0) || point == 0x200E || point == 0x200F ||
           (point >= 0x2028 && point <= 0x202E) || (point >= 0x2066 && point <= 0x2069) ||
           (point >= 0xD800 && point <= 0xDFFF) || (point & 0xFFFE) == 0xFFFE || point > 0x10FFFF;
}

char *spurity_plain(char *out, size_t size, const char *text, size_t characters)
{
    size_t used = 0, taken = 0, cut = 0; /* cut: where "..." still fits */
    for (size_t length = 0; text && *text; text += length, taken++) {
        unsigned long point = code_point(text, &length);
        bool unfit = is_unfit(point), broken = point == 0xFFFD;
        size_t bytes = unfit ? 1 : broken ? 3 : length;
        if (taken + 3 <= characters && used + 4 <= size)
            cut = used;
        if (taken == characters || used + bytes + 1 > size) {
            used = cut + (size_t)snprintf(out + cut, size - cut, "...");
            break;
        }
        memcpy(out + used, unfit ? " " : broken ? "\xEF\xBF\xBD" : text, bytes);
        used += bytes;
    }
    out[used < size ? used : size - 1] = '\0';
    return out;
}

size_t spurity_characters(const char *text)
{
    size_t count = 0;
    for (; *text; text++)
        count += (*text & 0xC0) != 0x80;
    return count;
}

int spurity_outcome_rank(const char *outcome)
{
    static const char *const order[] = {"pass",      "conditional pass", "no limit",
                                        "not shown", "conditional fail", "fail"};
    for (size_t i = 0; outcome && i < sizeof order / sizeof order[0]; i++)
        if (!strcmp(order[i], outcome))
            return (int)i;
    return 3;
}

char *spurity_word_emission(const spurity_shown_emission *emission, char *text, size_t size)
{
    static const char *const shorter[][2] = {{"harmonic", "harmonic"},          {"subharmonic", "subharmonic"},
                                             {"close-in", "close in"},          {"spurious", "spur"},
                                             {"receiver artefact", "artefact"}, {"ambient", "ambient"}};
    if (!strcmp(emission->kind, "harmonic") && emission->order > 0) {
        snprintf(text, size, "H%d", emission->order);
        return text;
    }
    if (!strcmp(emission->kind, "subharmonic") && emission->ratio) {
        char ratio[24];
        snprintf(text, size, "%s carrier", spurity_plain(ratio, sizeof ratio, emission->ratio, 12));
        return text;
    }
    for (size_t i = 0; i < sizeof shorter / sizeof shorter[0]; i++)
        if (!strcmp(shorter[i][0], emission->kind)) {
            snprintf(text, size, "%s", shorter[i][1]);
            return text;
        }
    return spurity_plain(text, size, emission->kind, 20);
}

char *spurity_word_frequency(double hz, double known_to_hz, char *text, size_t size)
{
    double step = fabs(hz) >= 1e9 ? 1e4 : fabs(hz) >= 1e6 ? 1e3 : 1;
    return spurity_format_frequency_near(text, size, hz, isfinite(known_to_hz) ? known_to_hz : step);
}

char *spurity_word_margin(const spurity_shown_judgement *judgement, char *text, size_t size)
{
    double margin = judgement->margin;
    char figure[48];
    if (!isfinite(margin)) {
        snprintf(text, size, "-");
        return text;
    }
    bool hertz = judgement->unit && !strcmp(judgement->unit, "Hz");
    if (hertz)
        spurity_word_frequency(fabs(margin), fabs(margin) / 100, figure, sizeof figure);
    else
        spurity_format_db(figure, sizeof figure, fabs(margin));
    const char *most = judgement->at_most && margin < 0 ? "up to " : ""; /* a bound over the limit is no excess */
    snprintf(text, size, "%s%s%s %s", most, figure, hertz ? "" : " dB", margin < 0 ? "over" : "clear");
    return text;
}

char *spurity_word_stretch(double from_hz, double to_hz, char *text, size_t size)
{
    char from[48] = "", to[48] = "";
    double known_to_hz = to_hz - from_hz < 1e5 && to_hz > from_hz ? (to_hz - from_hz) / 10 : (double)NAN;
    if (isfinite(from_hz))
        spurity_word_frequency(from_hz, known_to_hz, from, sizeof from);
    if (isfinite(to_hz))
        spurity_word_frequency(to_hz, known_to_hz, to, sizeof to);
    if (from[0] && to[0] && to_hz > from_hz)
        snprintf(text, size, "%s to %s", from, to);
    else
        snprintf(text, size, "%s", from[0] ? from : to);
    return text;
}
