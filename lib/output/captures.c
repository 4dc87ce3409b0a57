/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What a technician wants to know of a capture, in a line or two. */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "internal.h"

SPURITY_PRINTF(3, 4)
static void say(char *words, size_t size, const char *format, ...)
{
    size_t used = strlen(words);
    va_list list;
    va_start(list, format);
    vsnprintf(words + used, size - used, format, list);
    va_end(list);
}

static double number(const spurity_result *result, size_t input, const char *key)
{
    char path[64];
    snprintf(path, sizeof path, "capture/%s", key);
    return spurity_shown_number(result, "inputs", input, path);
}

static bool is_true(const spurity_result *result, size_t input, const char *key)
{
    char path[96];
    snprintf(path, sizeof path, "inputs/%zu/capture/%s", input, key);
    return spurity_result_true(result, path);
}

bool spurity_is_capture(const spurity_result *result, size_t input)
{
    return !strcmp(spurity_shown_text(result, "inputs", input, "kind"), "capture") &&
           isfinite(number(result, input, "rbw_hz"));
}

const char *spurity_word_source(const spurity_result *result)
{
    double file;
    if (!spurity_result_number(result, "carrier/file", &file) || !(file >= 0 && file < 1e6))
        return "sweep";
    return spurity_is_capture(result, (size_t)file) ? "capture" : "sweep";
}

/* Where the receiver was tuned, or at how many places. */
static void say_centers(const spurity_result *result, size_t input, char *words, size_t size)
{
    char path[64], at[48];
    double hz;
    snprintf(path, sizeof path, "inputs/%zu/capture/centers_hz", input);
    size_t count = spurity_result_length(result, path);
    snprintf(path, sizeof path, "inputs/%zu/capture/centers_hz/0", input);
    if (count > 1)
        say(words, size, " at %zu centres", count);
    else if (spurity_result_number(result, path, &hz))
        say(words, size, " at %s", spurity_word_frequency(hz, 1, at, sizeof at));
}

void spurity_word_spectrum(const spurity_result *result, size_t input, char *words, size_t size)
{
    char figure[48], window[40];
    double rate = number(result, input, "rate_hz"), sharp = number(result, input, "sharp_rbw_hz");
    double samples = number(result, input, "samples"), averages = number(result, input, "averages");
    words[0] = '\0';
    if (rate > 0)
        say(words, size, "%.4g s of %.6g %s", samples / rate, rate < 1e6 ? rate / 1e3 : rate / 1e6,
            rate < 1e6 ? "kS/s" : "MS/s");
    say_centers(result, input, words, size);
    say(words, size, ", RBW %s",
        spurity_word_frequency(number(result, input, "rbw_hz"), number(result, input, "rbw_hz") / 100, figure,
                               sizeof figure));
    say(words, size, " (%s",
        spurity_plain(window, sizeof window, spurity_shown_text(result, "inputs", input, "capture/window"), 32));
    if (sharp > 0)
        say(words, size, "; close to the strongest line %s %s",
            spurity_word_frequency(sharp, sharp / 100, figure, sizeof figure),
            spurity_plain(window, sizeof window, spurity_shown_text(result, "inputs", input, "capture/sharp_window"),
                          32));
    say(words, size, "), %.*f averages%s", averages < 10 ? 1 : 0, averages,
        is_true(result, input, "averages_few") ? ", few: noise scatters, a longer capture would tell more" : "");
}

/* Bursts, and what of the samples is amiss; "" when nothing is. */
void spurity_word_keying(const spurity_result *result, size_t input, char *words, size_t size)
{
    char figure[48];
    double bursts = number(result, input, "bursts"), duty = number(result, input, "duty");
    double on = number(result, input, "key_down_dbfs"), full = number(result, input, "full_scale_dbm");
    double clipped = number(result, input, "clipped");
    words[0] = '\0';
    if (bursts >= 0) {
        say(words, size, "keyed down %.3g %% of the time, in %.0f burst%s; levels are of %s", 100 * duty, bursts,
            bursts == 1 ? "" : "s", is_true(result, input, "key_down_only") ? "the key-down time" : "all of the time");
        if (isfinite(on))
            say(words, size, ", %s %s there in all",
                spurity_format_db(figure, sizeof figure, isfinite(full) ? on + full : on),
                isfinite(full) ? "dBm at the receiver" : "dBFS");
    }
    if (clipped > 0)
        say(words, size, "%s%.3g %% of the components stand at the rails", words[0] ? "; " : "", 100 * clipped);
}
