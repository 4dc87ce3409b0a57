/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What nobody may forget before keying a set, this bench's own dangers first; and the plan in one sentence. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "parts.h"

/* Common practice, no single source, but where one is named. */
static const char *const always[] = {
    "Never key with a cable open, the load off or a pad out of line: check the whole line by hand before each keying",
    "Put the pads the right way round: the end rated for the power towards the set",
    "At least 10 dB of rated pad between the set and any filter: a notch or high-pass sends the carrier back",
    "Block DC ahead of the instrument: some sets put a voltage on the antenna socket, some inputs bear none",
    "Begin with the lowest power and the most attenuation, look, and only then take away what is not needed",
    "Key no longer than a sweep takes, and let load and pads cool: hot pads change their loss before they fail",
    "Open connectors and loose shields give RF burns, the load gets hot; what radiates is limited (47 CFR 1.1307)",
    "A set that may radiate needs its licence, a frequency it may use, listening first, and identification",
    "The set's own case radiates past the pads: keep it off the instrument, shield it, and do the leakage sweep",
    "This is a plan, no protection: a pad that fails short puts the whole power on the instrument"};

static spurity_status warn_missing(struct planning *p)
{
    const spurity_plan *plan = p->plan;
    char level[24], most[24];
    for (size_t i = 0; i < plan->attenuator_count; i++) {
        const spurity_plan_attenuator *item = &plan->attenuators[i];
        if (!item->missing_harms)
            continue;
        spurity_format_db(level, sizeof level, item->missing_input_dbm);
        spurity_format_db(most, sizeof most, plan->figures.max_input_dbm);
        bool over = item->missing_input_dbm > plan->figures.max_input_dbm;
        spurity_status status = spurity_plan_add_caution(
            p,
            "WITHOUT the %s element (%.4g dB%s) %s dBm stand at the instrument%s%s%s: harm is done the moment the set "
            "is keyed",
            i == 0   ? "first"
            : i == 1 ? "second"
                     : "next",
            item->db, item->proposed ? ", to be had" : "", level, over ? ", which bears " : "", over ? most : "",
            over ? " dBm" : ", and more than its rating at what follows");
        if (status)
            return status;
    }
    return SPURITY_OK;
}

/* Key-down and rest of what runs near its rating. */
static spurity_status warn_warm(struct planning *p)
{
    char gets[24], rated[24];
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; i < p->plan->attenuator_count && !status; i++) {
        const spurity_plan_attenuator *item = &p->plan->attenuators[i];
        if (!item->harmed && item->arriving_w > item->rating_w / 2)
            status = spurity_plan_add_caution(
                p, "The %.4g dB pad gets %s of the %s it stands: key for 10 s at most, then let it rest for a minute",
                item->db, spurity_format_power(gets, sizeof gets, item->arriving_w),
                spurity_format_power(rated, sizeof rated, item->rating_w));
    }
    return status;
}

/* Up to which level an input is linear (common practice): an analyzer's about 0 dBm, a receiver's far less. */
static spurity_status warn_level(struct planning *p)
{
    spurity_plan_figures *figures = &p->plan->figures;
    bool receiver = !isnan(p->question->rate_hz);
    double over = figures->level_at_instrument_dbm - (receiver ? -20.0 : 0.0);
    char level[24];
    if (!(over > 0.05) || figures->headroom_db < 0)
        return SPURITY_OK;
    figures->more_pad_db = 10 * ceil(over / 10 - 1e-9);
    return spurity_plan_add_caution(
        p,
        "%s dBm at the instrument harm nothing, but expect it to compress and to make harmonics of its own from about "
        "%d dBm on (common practice for %s): %.0f dB more pad avoid that",
        spurity_format_db(level, sizeof level, figures->level_at_instrument_dbm), receiver ? -20 : 0,
        receiver ? "a receiver" : "a swept instrument", figures->more_pad_db);
}

/* To how high a pad is known counts from the third harmonic on. */
static spurity_status warn_reach(struct planning *p)
{
    spurity_chain_element element;
    spurity_status status = SPURITY_OK;
    for (size_t i = 0; p->chain != p->proposed && spurity_chain_element_at(p->chain, i, &element) && !status; i++)
        if (!element.curve && isnan(element.known_to_hz) && p->to_hz > 3 * p->f0)
            status =
                spurity_plan_add_caution(p,
                                         "To which frequency the %.4g dB pad is known was not said (as in --pad "
                                         "%.4gdB,2G,50W): above the third harmonic its loss is taken on trust, and "
                                         "a check will warn of it",
                                         element.db, element.db);
    return status;
}

static spurity_status warn_load(struct planning *p)
{
    char watts[24], twice[24];
    spurity_format_power(watts, sizeof watts, p->plan->figures.power_w);
    spurity_format_power(twice, sizeof twice, 2 * p->plan->figures.power_w);
    return spurity_plan_add_caution(p,
                                    "The set gives up to %s: dummy load or first pad must stand it for as long as it "
                                    "is keyed; %s of rating leave margin",
                                    watts, twice);
}

/* A carrier off every channel, or outside every band, of a service. */
static spurity_status warn_place(struct planning *p)
{
    char at[40];
    spurity_format_frequency(at, sizeof at, p->f0, 6);
    for (size_t r = 0; r < p->question->rules_count; r++) {
        const spurity_rules *rules = p->question->rules[r];
        spurity_channel channel;
        spurity_status status = SPURITY_OK;
        if (spurity_rules_channel(rules, p->f0, &channel) == SPURITY_CHANNEL_OFF)
            status = spurity_plan_add_caution(p, "%s is on no channel of %.60s", at, spurity_rules_id(rules));
        if (!status && spurity_rules_antenna_fixed(rules))
            status = spurity_plan_add_caution(p,
                                              "Sets of %.60s have a fixed antenna: a conducted reading is indicative "
                                              "only",
                                              spurity_rules_id(rules));
        if (status)
            return status;
    }
    return SPURITY_OK;
}

static spurity_status warn_envelope(struct planning *p)
{
    const char *type = spurity_emission_type(p->point->emission);
    bool sideband = type[0] == 'J' || type[0] == 'H' || type[0] == 'R';
    if (p->peak_dbm > p->high_dbm)
        return spurity_plan_add_caution(p, "Modulated, the peaks reach 6 dB over the carrier: the level at the "
                                           "instrument is reckoned with them");
    if (sideband && !p->point->power_is_pep)
        return spurity_plan_add_caution(p, "The power was told as a mean: peaks of single sideband stand above it; say "
                                           "--power P,pep");
    return SPURITY_OK;
}

spurity_status spurity_plan_cautions(struct planning *p)
{
    spurity_status status = SPURITY_OK;
    if (p->plan->figures.headroom_db < 0)
        status = spurity_plan_add_caution(p, "DO NOT KEY: %.1f dBm would arrive at an input that bears %.1f dBm",
                                          p->plan->figures.level_at_instrument_dbm, p->plan->figures.max_input_dbm);
    if (!status)
        status = warn_missing(p);
    if (!status)
        status = warn_load(p);
    if (!status)
        status = warn_warm(p);
    if (!status)
        status = warn_level(p);
    if (!status)
        status = warn_reach(p);
    if (!status)
        status = warn_envelope(p);
    if (!status)
        status = warn_place(p);
    if (!status && isnan(p->question->second_harmonic_intercept_dbm))
        status = spurity_plan_add_caution(p, "The instrument makes harmonics of its own: a harmonic near its limit is "
                                             "taken again with 10 and 20 dB more pad; the set's holds still");
    for (size_t i = 0; i < sizeof always / sizeof *always && !status; i++)
        status = spurity_plan_add_caution(p, "%s", always[i]);
    return status;
}

/* ---- the headline ---- */

/* The rest of what is not enough, behind what leads. */
static void add_short(const struct planning *p, char *headline, size_t size)
{
    size_t used = strlen(headline);
    double worst = p->short_count ? -p->plan->visibility[p->worst].margin_db : 0;
    if (p->short_count && p->first[0])
        snprintf(headline + used, size - used, "; besides, %zu place%s short, by up to %.1f dB (below)", p->short_count,
                 p->short_count > 1 ? "s are" : " is", worst);
}

static void write_harmful(struct planning *p)
{
    spurity_plan *plan = p->plan;
    char arrives[40], rated[40];
    if (plan->figures.headroom_db < 0) {
        snprintf(plan->headline, sizeof plan->headline,
                 "HARMFUL: %.1f dBm would arrive at an input that bears %.1f dBm; %.0f dB of attenuation are needed",
                 plan->figures.level_at_instrument_dbm, plan->figures.max_input_dbm, plan->figures.attenuation_db);
        return;
    }
    for (size_t i = 0; i < plan->attenuator_count; i++) {
        const spurity_plan_attenuator *item = &plan->attenuators[i];
        if (!item->harmed)
            continue;
        snprintf(plan->headline, sizeof plan->headline, "HARMFUL: the %.4g dB pad gets %s and is rated for %s",
                 item->db, spurity_format_power(arrives, sizeof arrives, item->arriving_w),
                 spurity_format_power(rated, sizeof rated, item->rating_w));
        return;
    }
}

static void write_not_enough(struct planning *p)
{
    spurity_plan *plan = p->plan;
    const char *first = p->first;
    char text[400] = "";
    if (!p->first[0] && p->short_count) {
        spurity_plan_tell_short(p, text, sizeof text);
        first = text;
    }
    if (p->place[0])
        first = p->place;
    else if (isnan(plan->figures.max_input_dbm))
        first = "say --max-input, the level that damages the instrument: nothing is called safe without it";
    for (size_t i = 0; i < plan->attenuator_count && (first == p->first || first == text); i++) {
        const spurity_plan_attenuator *item = &plan->attenuators[i];
        if (item->proposed || (!isnan(item->db) && (strcmp(item->name, "pad") || !isnan(item->rating_w))))
            continue;
        if (isnan(item->db))
            snprintf(text, sizeof text, "the loss of '%.60s' is not known at the carrier", item->name);
        else
            snprintf(text, sizeof text,
                     "say the rating of the %.4g dB pad, as in --pad %.4gdB,50W: a pad whose rating nobody knows makes "
                     "no safe bench",
                     item->db, item->db);
        first = text;
        break;
    }
    snprintf(plan->headline, sizeof plan->headline, "NOT ENOUGH: %s", first);
    add_short(p, plan->headline, sizeof plan->headline);
}

/* Many captures are an evening's work, and most of them want something ahead of the receiver. */
static void write_captures(const struct planning *p, char *text, size_t size)
{
    enum { MANY = 12 };
    const spurity_plan *plan = p->plan;
    double seconds = 0;
    bool filter = false;
    for (size_t i = 0; i < plan->capture_count; i++) {
        seconds += plan->captures[i].seconds;
        filter = filter || plan->captures[i].filter[0];
    }
    snprintf(text, size, "%s", filter ? ", with a filter for the carrier, or pad steps" : "");
    size_t used = strlen(text);
    if (plan->capture_count > MANY && seconds < 120)
        snprintf(text + used, size - used, "; by %zu captures, %.0f s in all", plan->capture_count, ceil(seconds));
    else if (plan->capture_count > MANY)
        snprintf(text + used, size - used, "; by %zu captures, %.0f min in all", plan->capture_count,
                 ceil(seconds / 60));
}

static void write_ready(struct planning *p)
{
    spurity_plan *plan = p->plan;
    char level[24], room[24], worth[400], captures[120];
    spurity_plan_tell_worth(p, worth, sizeof worth);
    write_captures(p, captures, sizeof captures);
    snprintf(plan->headline, sizeof plan->headline, "READY: %s dBm at the instrument, %s dB below what harms it; %s%s",
             spurity_format_db(level, sizeof level, plan->figures.level_at_instrument_dbm),
             spurity_format_db(room, sizeof room, plan->figures.headroom_db),
             (p->asked & SPURITY_GROUP_EMISSIONS) && !p->emission_count
                 ? "no figure is set for emissions at this carrier: sweeps tell, nothing is judged"
                 : worth,
             captures);
}

void spurity_plan_write_headline(struct planning *p)
{
    spurity_plan *plan = p->plan;
    if (plan->outcome < SPURITY_PLAN_NOT_ENOUGH && (p->blocked || p->safe_unknown))
        plan->outcome = SPURITY_PLAN_NOT_ENOUGH;
    if (plan->outcome == SPURITY_PLAN_HARMFUL) {
        write_harmful(p);
    } else if (plan->outcome == SPURITY_PLAN_NOT_ENOUGH) {
        write_not_enough(p);
    } else {
        write_ready(p);
    }
}
