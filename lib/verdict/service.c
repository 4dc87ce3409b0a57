/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What the tables of a service say of the carrier: channel, authorised bandwidth, antenna, what need not be reported.
 */
#include <math.h>
#include <string.h>

#include "parts.h"

/* 2.1057(c) belongs to the range of 2.1057(a): rules that look through it are under both. */
static const char *unreported_by(const struct judging *j)
{
    static const char section[] = "47 CFR 2.1057";
    if (isnan(j->span.from_hz) || !j->span.citation || strncmp(j->span.citation, section, sizeof section - 1))
        return NULL;
    return "47 CFR 2.1057(c)";
}

void spurity_verdict_place_in_service(const struct judging *j, spurity_rules_verdict *mine)
{
    const spurity_conditions *world = &j->worlds.items[0];
    mine->indicative = spurity_rules_antenna_fixed(j->rules);
    mine->channel_found = spurity_rules_channel(j->rules, world->carrier_hz, &mine->channel);
    mine->channel_open = j->worlds.channel_open;
    spurity_rules_bandwidth(j->rules, world, &mine->authorised_hz);
    mine->bandwidth_refused = !isnan(j->point->bandwidth_hz) && isnan(world->bandwidth_hz);
    spurity_conditions untold = *world; /* the channel's own, whatever was told */
    untold.bandwidth_hz = (double)NAN;
    double of_channel;
    if (spurity_rules_bandwidth(j->rules, &untold, &of_channel) != SPURITY_BANDWIDTH_UNKNOWN)
        mine->channel.bandwidth_hz = of_channel;
    mine->unreported = unreported_by(j);
}

void spurity_verdict_name_close_in(const spurity_verdict *v, spurity_measurement *measurement)
{
    double widest = 0;
    for (size_t i = 0; i < v->rules_count; i++)
        widest = fmax(widest, v->rules[i].authorised_hz); /* fmax passes over what is not known */
    spurity_measurement_use_bandwidth(measurement, widest);
}
