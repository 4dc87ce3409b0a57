/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "internal.h"

/* The nearest multiple of 1/per_unit; 0.0 without a sign.  Beyond 2^53 steps a double is coarser than a step anyway. */
static json_t *rounded(double value, double per_unit)
{
    if (!isfinite(value))
        return json_null();
    double steps = round(value * per_unit);
    if (fabs(steps) >= 9007199254740992.0)
        return json_real(value);
    return json_real(steps / per_unit + 0.0);
}

json_t *spurity_value_db(double db)
{
    return rounded(db, 1e3);
}

json_t *spurity_value_hz(double hz)
{
    return rounded(hz, 1e3);
}

json_t *spurity_value_fraction(double value)
{
    return rounded(value, 1e4);
}

/* 0.001 dB is 2.3e-4 of a power: six digits keep it. */
json_t *spurity_value_w(double watts)
{
    if (!isfinite(watts))
        return json_null();
    if (watts == 0)
        return json_real(0.0);
    int digits = 5 - (int)floor(log10(fabs(watts)));
    if (digits > 300 || digits < -300) /* no power of a transmitter; 10^digits would not be a number */
        return json_real(watts);
    if (digits >= 0)
        return json_real(round(watts * pow(10, digits)) / pow(10, digits));
    return json_real(round(watts / pow(10, -digits)) * pow(10, -digits));
}

json_t *spurity_value_share(double value)
{
    return spurity_value_w(value);
}

/* Length of the UTF-8 sequence at `text` (RFC 3629: no overlong form, no surrogate, nothing over U+10FFFF), 0 when
 * there is none. */
static size_t sequence_length(const unsigned char *text)
{
    unsigned char lead = text[0];
    if (lead < 0x80)
        return 1;
    size_t length = lead >= 0xC2 && lead <= 0xDF   ? 2
                    : lead >= 0xE0 && lead <= 0xEF ? 3
                    : lead >= 0xF0 && lead <= 0xF4 ? 4
                                                   : 0;
    for (size_t i = 1; i < length; i++)
        if ((text[i] & 0xC0) != 0x80) /* a NUL ends it here too */
            return 0;
    if ((lead == 0xE0 && text[1] < 0xA0) || (lead == 0xED && text[1] > 0x9F) || (lead == 0xF0 && text[1] < 0x90) ||
        (lead == 0xF4 && text[1] > 0x8F))
        return 0;
    return length;
}

json_t *spurity_value_text(const char *text)
{
    if (!text)
        return json_null();
    size_t length = strlen(text);
    if (length > SIZE_MAX / 3 - 1)
        return NULL;
    char *clean = malloc(3 * length + 1); /* each broken byte becomes the three bytes of U+FFFD at most */
    if (!clean)
        return NULL;
    size_t used = 0;
    for (size_t i = 0; i < length;) {
        size_t sequence = sequence_length((const unsigned char *)text + i);
        memcpy(clean + used, sequence ? text + i : "\xEF\xBF\xBD", sequence ? sequence : 3);
        used += sequence ? sequence : 3;
        i += sequence ? sequence : 1;
    }
    json_t *value = json_stringn_nocheck(clean, used);
    free(clean);
    return value;
}

json_t *spurity_value_text_or_null(const char *text)
{
    return text && *text ? spurity_value_text(text) : json_null();
}

json_t *spurity_value_settings(const spurity_setting *settings, size_t count)
{
    json_t *object = json_object();
    bool failed = !object;
    for (size_t i = 0; i < count && !failed; i++) {
        json_t *one = json_object(), *name = spurity_value_text(settings[i].name);
        failed = !one || !json_is_string(name) ||
                 json_object_set_new_nocheck(one, "value", spurity_value_text(settings[i].value)) ||
                 json_object_set_new_nocheck(one, "from", spurity_value_text(settings[i].from)) ||
                 json_object_set_nocheck(object, json_string_value(name), one);
        json_decref(one);
        json_decref(name);
    }
    if (!failed)
        return object;
    json_decref(object);
    return NULL;
}
