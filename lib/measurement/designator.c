/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What an emission's designator tells: 47 CFR 2.201 and 2.202, ITU RR Appendix 1. */
#include <math.h>
#include <string.h>

#include "measurement.h"

static const char letters[] = "HKMG";

const char *spurity_emission_type(const char *emission)
{
    const char *text = emission ? emission : "";
    bool designator = strlen(text) >= 7 && strspn(text, "0123456789HKMG") >= 4 && strcspn(text, letters) < 4;
    return designator ? text + 4 : text;
}

bool spurity_emission_is_angle_modulated(const char *emission)
{
    char first = spurity_emission_type(emission)[0];
    return first == 'F' || first == 'G';
}

/* "16K0" is 16 kHz: the letter stands in the place of the decimal mark. */
static double designated_bandwidth(const char *four)
{
    double hz = 0.0, place = 1.0;
    for (int i = 0, after = 0; i < 4; i++) {
        const char *letter = strchr(letters, four[i]);
        if (letter)
            place *= pow(1e3, (double)(letter - letters));
        else
            hz = hz * 10.0 + (four[i] - '0');
        after += letter != NULL;
        place /= after && !letter ? 10.0 : 1.0;
    }
    return hz * place;
}

double spurity_necessary_bandwidth(const char *emission, double carrier_hz, bool *assumed)
{
    static const struct {
        const char *type;
        double hz;
    } voices[] = {{"F3E", 16e3}, {"G3E", 16e3}, {"J3E", 3e3}, {"A3E", 6e3}};
    const char *type = spurity_emission_type(emission);
    if (assumed)
        *assumed = false;
    if (emission && type != emission)
        return designated_bandwidth(emission);
    for (size_t i = 0; i < sizeof voices / sizeof *voices; i++)
        if (!strncmp(type, voices[i].type, 3))
            return voices[i].hz;
    if (assumed)
        *assumed = true;
    return carrier_hz < 30e6 ? 3e3 : 16e3;
}
