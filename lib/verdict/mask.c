/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Masks: point by point over the spectrum about a modulated carrier, in each clause's reference bandwidth. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"

enum { TRACES_MAX = 32, STRETCHES_MAX = 16, RUNS_MAX = 6, PIECES_MAX = 2 * TRACES_MAX + 2 };

/* Where a clause names no reference bandwidth: about 1 to 2 % of the authorised bandwidth, as the masks that name one
 * have it (common practice, and our choice). */
static const double UNNAMED_WIDE_HZ = 300, UNNAMED_NARROW_HZ = 100, UNNAMED_STEP_HZ = 12.5e3;
/* A sweep counts as being in the reference bandwidth from this share of it up to the other. */
static const double SAME_LEAST = 0.9, SAME_MOST = 1.05;
/* AM of 100 % by one tone has 1.76 dB more mean power than its carrier: 10 log10 1.5. */
static const double AM_OVER_CARRIER_DB = 1.761;

/* What a reading can show of what is limited. */
enum bearing {
    BEARS_BOTH,
    BEARS_PASS, /* it reads too much or the right: inside the limit passes, over it shows nothing */
    BEARS_FAIL, /* it reads too little or the right */
    BEARS_NOTHING
};

enum cause {
    CAUSE_NONE,
    CAUSE_NOT_SWEPT,
    CAUSE_BLIND,
    CAUSE_LEVEL,
    CAUSE_RATIO,
    CAUSE_WIDE,     /* RBW over the reference bandwidth */
    CAUSE_NARROW,   /* RBW under it where a peak is asked */
    CAUSE_DETECTOR, /* not the one that is asked */
    CAUSE_FLOOR,
    CAUSE_LEAK,
    CAUSE_RECEIVER,
    CAUSE_CLIPPED,
    CAUSE_VOICE,
    CAUSE_PEAK_UNKNOWN,
    CAUSES
};

/* What was not shown for one cause: the stretch where it wants most. */
struct lack {
    bool any;
    double from_hz, to_hz, need_db;
    spurity_band_trace trace;
    char reason[32];
};

struct spot {
    double hz, offset_hz;
    struct meeting meeting;
    bool at_most;
    size_t world; /* index: the conditions of the meeting itself are made for the call only */
};

struct walk {
    struct judging *j;
    const spurity_clause *clause;
    const spurity_clause_facts *facts;
    const bool *binds;
    double middle_hz, middle_open_hz; /* of the carrier */
    double assigned_hz;               /* where it should be, as far as that is known */
    double centre_hz, centre_doubt_hz, reference_hz;
    bool wants_peak, voice;
    spurity_band_trace traces[TRACES_MAX];
    size_t trace_count;
    spurity_outcome by_world[WORLDS_MAX];
    bool any;
    struct spot worst;
    struct spot fails[RUNS_MAX];
    size_t fail_count;
    double last_fail_hz;
    struct lack lacks[CAUSES];
};

/* ---- the reference ---- */

/* The carrier's power on the scale of one trace, and what stays open of it. */
struct carrier_level {
    double db;
    double low_db, high_db; /* the true one may stand above, below */
};

static bool holds_peaks(spurity_detector detector)
{
    return detector == SPURITY_DETECTOR_PEAK || detector == SPURITY_DETECTOR_MAX_HOLD;
}

/* All the power of the modulated carrier, never its highest reading in a narrow filter, which lies below it and would
 * drag the mask down.  Peaks held of what is not lines read more than its mean: that stays open. */
static struct carrier_level carrier_in(const struct walk *walk, const spurity_band_trace *trace)
{
    const struct judging *j = walk->j;
    const spurity_carrier *carrier = j->carrier;
    const spurity_measured_file *file = spurity_measurement_file(j->measurement, (size_t)trace->file);
    struct carrier_level level = {file->carrier_db, carrier->read_low_db, carrier->read_high_db};
    double half = spurity_verdict_near_half(j);
    spurity_band_figure figure;
    if (trace->rbw_hz > half / 3 ||
        !spurity_measurement_band_figure(j->measurement, trace, walk->middle_hz, half, 0, &figure))
        return level;
    if (holds_peaks(trace->detector) || trace->detector == SPURITY_DETECTOR_UNKNOWN) {
        double excess = isnan(figure.lines_db) ? 10.0 : fmax(figure.power_db - figure.lines_db, 0);
        bool elsewhere = carrier->file != trace->file && !isnan(file->carrier_db);
        if (excess > 0.5 && elsewhere)
            return level;
        return (struct carrier_level){figure.power_db, 0, excess};
    }
    return (struct carrier_level){figure.power_db, 0, trace->detector == SPURITY_DETECTOR_LOG_AVERAGE ? 0.0 : 0.1};
}

/* What the first suppression of a tree counts from. */
static const spurity_limit *suppression_in(const spurity_limit *limit)
{
    const spurity_limit *found = spurity_limit_kind_of(limit) == SPURITY_LIMIT_SUPPRESSION ? limit : NULL;
    for (size_t i = 0; i < spurity_limit_child_count(limit) && !found; i++)
        found = suppression_in(spurity_limit_child(limit, i));
    return found;
}

/* The named reference over the mean power, dB, as far as the two are one or are known: peak and mean are for angle
 * modulation.  *unknown: the peak may be higher. */
static double reference_over_mean(const struct judging *j, const spurity_limit *limit, bool *unknown, double *less_db)
{
    const spurity_limit *leaf = suppression_in(limit);
    const spurity_carrier *carrier = j->carrier;
    bool angle = spurity_emission_is_angle_modulated(j->point->emission);
    *unknown = false;
    *less_db = 0;
    if (!leaf || angle)
        return 0;
    spurity_reference reference = spurity_limit_reference(leaf);
    if (reference == SPURITY_REFERENCE_CARRIER_POWER && j->point->emission)
        *less_db = AM_OVER_CARRIER_DB;
    if (reference != SPURITY_REFERENCE_PEP && reference != SPURITY_REFERENCE_STRONGEST)
        return 0;
    if (!isnan(carrier->pep_low_w) && carrier->power_w > 0)
        return fmax(spurity_dbm_from_watts(carrier->pep_low_w) - carrier->level_dbm, 0);
    *unknown = true;
    return 0;
}

/* ---- a reading as a level ---- */

static double one_sided(double expanded, double open_db)
{
    return hypot(expanded, 2 * open_db / sqrt(3.0));
}

/* By how much a reading is too high for what leaks or is floor in it; infinite where nothing of it is its own. */
static double too_high_by(double level_db, double other_db)
{
    double share = pow(10, (other_db - level_db) / 10);
    return share < 0.8 ? -10 * log10(1 - share) : (double)INFINITY;
}

static bool receivers_own(const struct judging *j, int file, double hz)
{
    for (size_t i = 0; i < spurity_measurement_emission_count(j->measurement); i++) {
        const spurity_emission *e = spurity_measurement_emission(j->measurement, i);
        if (e->seen && e->file == file && e->low_hz <= hz && hz <= e->high_hz && spurity_verdict_bounds_only(e))
            return true;
    }
    return false;
}

/* Why a reading need not be the set's; CAUSE_NONE: it is. */
static enum cause not_its_own(const struct walk *walk, const spurity_band_trace *trace,
                              const spurity_band_reading *reading, double hz)
{
    if (!reading->signal || isinf(too_high_by(reading->level_db, reading->floor_db)))
        return CAUSE_FLOOR;
    if (isinf(too_high_by(reading->level_db, reading->leak_db)))
        return CAUSE_LEAK;
    return receivers_own(walk->j, trace->file, hz) ? CAUSE_RECEIVER : CAUSE_NONE;
}

/* What a reading at a place bears, and why no more. */
static enum bearing bearing_of(const struct walk *walk, const spurity_band_trace *trace,
                               const spurity_band_reading *reading, double hz, enum cause *cause)
{
    bool wide = trace->rbw_hz > SAME_MOST * walk->reference_hz;
    bool narrow = trace->rbw_hz < SAME_LEAST * walk->reference_hz;
    enum cause other = not_its_own(walk, trace, reading, hz);
    *cause = wide ? CAUSE_WIDE : CAUSE_NONE;
    if (walk->wants_peak && !holds_peaks(trace->detector)) { /* a mean over it has peaks over it */
        *cause = CAUSE_DETECTOR;
        return wide || other ? BEARS_NOTHING : BEARS_FAIL;
    }
    if (walk->wants_peak && narrow) {
        *cause = CAUSE_NARROW;
        return other ? BEARS_NOTHING : BEARS_FAIL;
    }
    if (wide)
        return BEARS_PASS;
    if (!walk->wants_peak && (holds_peaks(trace->detector) || trace->detector == SPURITY_DETECTOR_UNKNOWN)) {
        *cause = CAUSE_DETECTOR;
        return BEARS_PASS;
    }
    *cause = other;
    return other ? BEARS_PASS : BEARS_BOTH;
}

static struct level level_of(const struct walk *walk, const spurity_band_trace *trace,
                             const spurity_band_reading *reading, double hz, const struct carrier_level *reference)
{
    const struct judging *j = walk->j;
    const spurity_measured_file *file = spurity_measurement_file(j->measurement, (size_t)trace->file);
    bool metered = j->carrier->source == SPURITY_CARRIER_FROM_METER && !isnan(reference->db);
    bool unknown;
    double less, above = reference_over_mean(j, walk->facts->limit, &unknown, &less);
    double dbm = spurity_measurement_expanded(j->measurement, trace->file, hz, false);
    double dbc = spurity_measurement_expanded(j->measurement, trace->file, hz, true);
    spurity_clipping clipping;
    spurity_measurement_clipping(j->measurement, trace->file, &clipping);
    double low = reading->low_db + clipping.line_low_db, high = reading->high_db;
    double over =
        fmax(too_high_by(reading->level_db, reading->floor_db), too_high_by(reading->level_db, reading->leak_db));
    high += isfinite(over) ? over : 0;
    /* a meter's reading stands for the whole carrier, so the scale it anchors hangs on all of its power */
    double offset = metered ? j->carrier->level_dbm - reference->db : file->dbm_offset;
    double held = metered ? reference->high_db : 0, lost = metered ? reference->low_db : 0;
    struct level level = {
        .dbm = reading->bound_db + offset,
        .dbc = reading->bound_db - reference->db - above,
        .u_dbm_up = one_sided(dbm, low + file->key_up_db + held + j->carrier->meter_low_db),
        .u_dbm_down = one_sided(dbm, high + lost + j->carrier->meter_high_db),
        .u_dbc_up = one_sided(dbc, low + reference->high_db + less),
        .u_dbc_down = one_sided(dbc, high + reference->low_db),
    };
    return level;
}

/* ---- one place ---- */

/* What a shift of the mask by what its centre leaves open changes of the limit that binds. */
static double slope_db(const struct walk *walk, const spurity_conditions *world, const struct meeting *meeting,
                       double hz)
{
    double here, there, most = 0;
    for (int side = -1; side <= 1 && meeting->leaf; side += 2)
        if (walk->centre_doubt_hz > 0 && spurity_limit_value(meeting->leaf, world, hz, &here, NULL) &&
            spurity_limit_value(meeting->leaf, world, hz + side * walk->centre_doubt_hz, &there, NULL))
            most = fmax(most, fabs(there - here));
    return most;
}

/* Where a mask stands that no channel places: about the frequency the set should be on, as told, which a frequency
 * error is counted from too; else about the carrier's middle. */
static double assigned_hz(const struct judging *j, double middle_hz)
{
    double told = j->point->carrier_hz, authorised = (double)NAN;
    if (isnan(told) || spurity_rules_channel(j->rules, middle_hz, NULL) != SPURITY_CHANNEL_NO_TABLE)
        return middle_hz;
    spurity_rules_bandwidth(j->rules, &j->worlds.items[0], &authorised);
    return fabs(told - middle_hz) <= authorised / 2 ? told : middle_hz;
}

/* A world with the carrier where it should be, or where its middle is: read apart, its strongest line need not be. */
static spurity_conditions world_of(const struct walk *walk, size_t index)
{
    spurity_conditions world = walk->j->worlds.items[index];
    world.carrier_hz = walk->assigned_hz;
    return world;
}

static struct meeting meet(const struct walk *walk, const spurity_conditions *world, double hz, struct level level)
{
    bool simple = walk->j->point->simple_decision;
    struct meeting meeting = spurity_verdict_meet(walk->facts->limit, world, hz, &level, simple);
    double slope = slope_db(walk, world, &meeting, hz);
    /* 0 dB below the whole: a part of it never is more, whatever the readings leave open */
    if (meeting.ratio && meeting.limit > -0.005 && meeting.margin > 0)
        meeting.outcome = SPURITY_OUTCOME_PASS;
    if (!(slope > 0.01))
        return meeting;
    level.u_dbm_up = hypot(level.u_dbm_up, slope);
    level.u_dbm_down = hypot(level.u_dbm_down, slope);
    level.u_dbc_up = hypot(level.u_dbc_up, slope);
    level.u_dbc_down = hypot(level.u_dbc_down, slope);
    return spurity_verdict_meet(walk->facts->limit, world, hz, &level, simple);
}

static bool fails(spurity_outcome outcome)
{
    return outcome == SPURITY_OUTCOME_FAIL || outcome == SPURITY_OUTCOME_CONDITIONAL_FAIL;
}

/* The outcome as far as the reading and the state of the set bear it. */
static spurity_outcome borne(const struct walk *walk, enum bearing bearing, bool peak_unknown, spurity_outcome outcome,
                             enum cause *cause)
{
    if (outcome == SPURITY_OUTCOME_NOT_SHOWN)
        return outcome;
    if (bearing == BEARS_NOTHING || (bearing == BEARS_FAIL && outcome != SPURITY_OUTCOME_FAIL))
        return SPURITY_OUTCOME_NOT_SHOWN;
    if (fails(outcome) && peak_unknown) {
        *cause = CAUSE_PEAK_UNKNOWN;
        return SPURITY_OUTCOME_NOT_SHOWN;
    }
    if (!fails(outcome) && walk->voice) {
        *cause = CAUSE_VOICE;
        return SPURITY_OUTCOME_NOT_SHOWN;
    }
    return outcome;
}

static void note_lack(struct walk *walk, enum cause cause, double from_hz, double to_hz, double need_db,
                      const spurity_band_trace *trace, const char *reason)
{
    struct lack *lack = &walk->lacks[cause];
    double reach = fmax(8 * walk->reference_hz, trace ? 4 * trace->step_hz : 0);
    if (lack->any && from_hz <= lack->to_hz + reach && to_hz >= lack->from_hz - reach) {
        lack->from_hz = fmin(lack->from_hz, from_hz);
        lack->to_hz = fmax(lack->to_hz, to_hz);
        lack->need_db = fmax(lack->need_db, need_db);
        return;
    }
    if (lack->any && !(need_db > lack->need_db))
        return;
    *lack = (struct lack){.any = true, .from_hz = from_hz, .to_hz = to_hz, .need_db = need_db};
    if (trace)
        lack->trace = *trace;
    snprintf(lack->reason, sizeof lack->reason, "%s", reason ? reason : "");
}

static bool worse(const struct meeting *a, const struct meeting *b)
{
    double room_a = a->margin - a->uncertainty, room_b = b->margin - b->uncertainty;
    return a->outcome != b->outcome ? a->outcome > b->outcome : room_a < room_b || (isnan(room_b) && !isnan(room_a));
}

static void keep_fail(struct walk *walk, const struct spot *spot)
{
    double reach = fmax(8 * walk->reference_hz, 1);
    struct spot *last = walk->fail_count ? &walk->fails[walk->fail_count - 1] : NULL;
    if (last && fabs(spot->hz - walk->last_fail_hz) <= reach) {
        if (worse(&spot->meeting, &last->meeting))
            *last = *spot;
    } else if (walk->fail_count < RUNS_MAX) {
        walk->fails[walk->fail_count++] = *spot;
    }
    walk->last_fail_hz = spot->hz;
}

static void judge_place(struct walk *walk, const spurity_band_trace *trace, const struct carrier_level *reference,
                        const spurity_clause_stretch *stretch, double hz)
{
    const struct judging *j = walk->j;
    spurity_band_reading reading;
    spurity_clipping clipping;
    /* how near to a corner what stands there may lie on either side of it */
    /* peaks held one after another add up to no peak: in a narrower filter the highest of them counts alone */
    bool alone = walk->wants_peak && holds_peaks(trace->detector) && trace->rbw_hz < SAME_LEAST * walk->reference_hz;
    double reference_hz = alone ? trace->rbw_hz : walk->reference_hz;
    double edge_hz = fmin(walk->centre_doubt_hz + trace->step_hz / 5, (stretch->to_hz - stretch->from_hz) / 4);
    if (!spurity_verdict_judged_at(j, hz) ||
        !spurity_measurement_read_band(j->measurement, trace, hz, stretch->from_hz, stretch->to_hz, edge_hz,
                                       reference_hz, &reading))
        return;
    spurity_measurement_clipping(j->measurement, trace->file, &clipping);
    if (reading.blind || clipping.blind) {
        note_lack(walk, clipping.blind ? CAUSE_CLIPPED : CAUSE_BLIND, hz, hz, 0, trace, reading.reason);
        return;
    }
    enum cause lacking;
    enum bearing bearing = bearing_of(walk, trace, &reading, hz, &lacking);
    bool peak_unknown;
    double less;
    reference_over_mean(j, walk->facts->limit, &peak_unknown, &less);
    struct level level = level_of(walk, trace, &reading, hz, reference);
    level.at_most = bearing == BEARS_PASS;
    for (size_t w = 0; w < j->worlds.count; w++) {
        if (!walk->binds[w])
            continue;
        struct spot spot = {.hz = hz, .offset_hz = hz - walk->centre_hz, .at_most = level.at_most, .world = w};
        enum cause cause = lacking;
        spurity_conditions world = world_of(walk, w);
        spot.meeting = meet(walk, &world, hz, level);
        spot.meeting.outcome = borne(walk, bearing, peak_unknown && spot.meeting.ratio, spot.meeting.outcome, &cause);
        if (isnan(spot.meeting.margin))
            cause = spot.meeting.ratio && isnan(spot.meeting.measured) ? CAUSE_RATIO : CAUSE_LEVEL;
        if (spot.meeting.outcome == SPURITY_OUTCOME_NOT_SHOWN)
            note_lack(walk, cause, hz, hz, spot.meeting.uncertainty - spot.meeting.margin, trace, NULL);
        if (fails(spot.meeting.outcome))
            keep_fail(walk, &spot);
        if (spot.meeting.outcome > walk->by_world[w])
            walk->by_world[w] = spot.meeting.outcome;
        if (!walk->any || worse(&spot.meeting, &walk->worst.meeting))
            walk->worst = spot;
        walk->any = true;
    }
}

/* ---- which trace serves ---- */

/* How well a trace suits the clause: in the reference bandwidth or below, with the detector that is asked; else what
 * can show at least one side. */
static int suits(const struct walk *walk, const spurity_band_trace *trace)
{
    bool wide = trace->rbw_hz > SAME_MOST * walk->reference_hz;
    bool narrow = trace->rbw_hz < SAME_LEAST * walk->reference_hz;
    bool peaks = holds_peaks(trace->detector);
    if (walk->wants_peak)
        return peaks && !wide && !narrow ? 3 : !wide && trace->detector != SPURITY_DETECTOR_UNKNOWN ? 2 : 1;
    return !wide && !peaks && trace->detector != SPURITY_DETECTOR_UNKNOWN ? 3 : !wide ? 2 : 1;
}

static const spurity_band_trace *choose(const struct walk *walk, double from_hz, double to_hz)
{
    const spurity_band_trace *best = NULL;
    double best_depth = (double)INFINITY;
    for (size_t i = 0; i < walk->trace_count; i++) {
        const spurity_band_trace *trace = &walk->traces[i];
        if (trace->from_hz > from_hz || trace->to_hz < to_hz)
            continue;
        double depth = spurity_measurement_band_depth(walk->j->measurement, trace, from_hz, to_hz);
        if (best && (suits(walk, trace) < suits(walk, best) ||
                     (suits(walk, trace) == suits(walk, best) && !(depth < best_depth))))
            continue;
        best = trace;
        best_depth = depth;
    }
    return best;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Places a tenth of the reference bandwidth apart, or an eighth of the spacing of points, ends included. */
static void walk_piece(struct walk *walk, const spurity_clause_stretch *stretch, double from_hz, double to_hz)
{
    const spurity_band_trace *trace = choose(walk, from_hz, to_hz);
    if (!trace) {
        note_lack(walk, CAUSE_NOT_SWEPT, from_hz, to_hz, to_hz - from_hz, NULL, NULL);
        return;
    }
    struct carrier_level reference = carrier_in(walk, trace);
    double step = fmax(walk->reference_hz / 10, trace->step_hz / 8);
    size_t parts = (size_t)ceil((to_hz - from_hz) / step);
    for (size_t i = 0; i <= parts; i++)
        judge_place(walk, trace, &reference, stretch, i < parts ? from_hz + (double)i * step : to_hz);
}

static void walk_stretch(struct walk *walk, const spurity_clause_stretch *stretch)
{
    const struct judging *j = walk->j;
    double edges[PIECES_MAX];
    size_t count = 0;
    double from = fmax(stretch->from_hz, j->from_hz), to = fmin(stretch->to_hz, j->to_hz);
    if (!(to >= from))
        return;
    edges[count++] = from;
    edges[count++] = to;
    walk->trace_count = spurity_measurement_band_traces(j->measurement, from, to, walk->traces, TRACES_MAX);
    for (size_t i = 0; i < walk->trace_count; i++) {
        if (walk->traces[i].from_hz > from && walk->traces[i].from_hz < to)
            edges[count++] = walk->traces[i].from_hz;
        if (walk->traces[i].to_hz > from && walk->traces[i].to_hz < to)
            edges[count++] = walk->traces[i].to_hz;
    }
    qsort(edges, count, sizeof *edges, by_value);
    for (size_t i = 0; i + 1 < count; i++)
        if (edges[i + 1] > edges[i])
            walk_piece(walk, stretch, edges[i], edges[i + 1]);
}

/* ---- what is told ---- */

static void advise(const struct walk *walk, enum cause cause, char *text, size_t size)
{
    const struct lack *lack = &walk->lacks[cause];
    char a[40], b[40];
    spurity_format_frequency(a, sizeof a, walk->reference_hz, 3);
    spurity_format_frequency(b, sizeof b, lack->trace.rbw_hz, 3);
    switch (cause) {
    case CAUSE_NOT_SWEPT:
        snprintf(text, size, "no sweep covers this of the mask: sweep the modulated set there at %s RBW", a);
        break;
    case CAUSE_WIDE:
        snprintf(text, size,
                 "the mask is read in %s; this sweep was in %s, which may hold more than one reading: RBW %s%s", a, b,
                 a, walk->wants_peak ? " with peak or maximum hold" : " or less");
        break;
    case CAUSE_NARROW:
        snprintf(text, size, "the mask asks for the peak in %s; in %s a peak reads lower: RBW %s", a, b, a);
        break;
    case CAUSE_DETECTOR:
        if (walk->wants_peak)
            snprintf(text, size,
                     "the mask asks for peaks held in %s RBW, this sweep's detector is %s: maximum hold over "
                     "enough sweeps, or a peak detector",
                     a, spurity_detector_name(lack->trace.detector));
        else
            snprintf(text, size,
                     "over the limit by detector '%s', which may read more than the mean power that is "
                     "limited: sweep with a power average (and say --detector)",
                     spurity_detector_name(lack->trace.detector));
        break;
    case CAUSE_FLOOR:
        snprintf(text, size,
                 "the bench's noise in %s is %.1f dB too near the mask: less attenuation if the instrument "
                 "bears it, or an instrument with less noise",
                 a, lack->need_db);
        break;
    case CAUSE_LEAK:
        spurity_format_frequency_near(b, sizeof b, lack->trace.rbw_hz / 3, lack->trace.rbw_hz / 10);
        snprintf(text, size,
                 "what reads over the mask here may stand on its corner or beyond: RBW %s, or, if a sideband falls on "
                 "the corner, another tone (as 2.4 kHz)",
                 b);
        break;
    case CAUSE_RECEIVER:
        snprintf(text, size, "over the mask, but the receiver may have made it: tune it elsewhere, or a sweep");
        break;
    case CAUSE_CLIPPED:
        snprintf(text, size, "the receiver was driven over its range: less gain or 10 dB more pad (say it)");
        break;
    case CAUSE_VOICE:
        snprintf(text, size, "nothing over the mask with voice, which shows no pass: %s", SPURITY_TEST_TONE);
        break;
    case CAUSE_PEAK_UNKNOWN:
        snprintf(text, size,
                 "the mask counts from the peak envelope power: say --emission F3E of an angle-modulated "
                 "set, or --power P,pep");
        break;
    case CAUSE_RATIO:
        snprintf(text, size,
                 "the level against the carrier is not known: take the carrier in the same sweep, or through "
                 "one stated chain");
        break;
    case CAUSE_LEVEL:
        snprintf(text, size, "the mask hangs on the power here: say --power, or the chain (--pad, --loss, --direct)");
        break;
    default:
        snprintf(
            text, size, "%s",
            !strncmp(lack->reason, "receiver", 8)
                ? "the receiver tells nothing sure there: tune it so that the whole mask lies between its centre and "
                  "an end of its band, or add a sweep"
                : "nothing can be said here: sweep it again, points at most half an RBW apart");
        break;
    }
}

static const char *const reasons[CAUSES] = {
    [CAUSE_NOT_SWEPT] = "not-swept",        [CAUSE_BLIND] = "hidden",           [CAUSE_LEVEL] = "level-unknown",
    [CAUSE_RATIO] = "ratio-unknown",        [CAUSE_WIDE] = "rbw-too-wide",      [CAUSE_NARROW] = "rbw-too-narrow",
    [CAUSE_DETECTOR] = "detector",          [CAUSE_FLOOR] = "floor-near-limit", [CAUSE_LEAK] = "hidden",
    [CAUSE_RECEIVER] = "receiver-artefact", [CAUSE_CLIPPED] = "clipped",        [CAUSE_VOICE] = "modulation-unfit",
    [CAUSE_PEAK_UNKNOWN] = "level-unknown",
};

static spurity_status tell_lacks(struct walk *walk, spurity_error *error)
{
    spurity_status status = SPURITY_OK;
    char advice[280];
    for (int cause = CAUSE_NONE + 1; cause < CAUSES && !status; cause++) {
        const struct lack *lack = &walk->lacks[cause];
        if (!lack->any)
            continue;
        advise(walk, (enum cause)cause, advice, sizeof advice);
        status = spurity_verdict_add_not_shown(walk->j, walk->clause, lack->from_hz, lack->to_hz,
                                               lack->reason[0] ? lack->reason : reasons[cause], advice, error);
    }
    return status;
}

static void fill_row(const struct walk *walk, spurity_judgement *row, const struct spot *spot)
{
    char offset[40], limit[72];
    row->frequency_hz = row->from_hz = row->to_hz = spot->hz;
    row->measured = spot->meeting.measured;
    row->limit = spot->meeting.limit;
    row->margin = spot->meeting.margin;
    row->unit = spot->meeting.ratio ? "dBc" : "dBm";
    row->uncertainty = spot->meeting.uncertainty;
    row->at_most = spot->at_most;
    row->reference_bandwidth_hz = walk->reference_hz;
    if (!row->at_most)
        row->conformity_probability = spurity_conformity_probability(row->margin, row->uncertainty);
    spurity_conditions world = world_of(walk, spot->world);
    struct meeting meeting = spot->meeting;
    meeting.world = &world;
    spurity_verdict_name_leaf(&meeting, limit, sizeof limit, row);
    spurity_format_frequency_near(offset, sizeof offset, fabs(spot->offset_hz), walk->reference_hz / 10);
    snprintf(row->binding, sizeof row->binding, "%.68s at %s%.20s", limit, spot->offset_hz < 0 ? "-" : "+", offset);
}

/* Outcome over the worlds in which the mask binds. */
static spurity_outcome where_it_binds(const struct walk *walk, bool missing)
{
    spurity_outcome outcomes[WORLDS_MAX];
    size_t count = 0;
    for (size_t w = 0; w < walk->j->worlds.count; w++) {
        if (!walk->binds[w])
            continue;
        bool hidden = missing && walk->by_world[w] < SPURITY_OUTCOME_NOT_SHOWN;
        outcomes[count++] = hidden ? SPURITY_OUTCOME_NOT_SHOWN : walk->by_world[w];
    }
    return spurity_verdict_combine(outcomes, count);
}

/* The mask's outcome; where worlds in which it binds differ with nothing else lacking, what would settle it. */
static spurity_status conclude(struct walk *walk, spurity_judgement *row, spurity_error *error)
{
    struct judging *j = walk->j;
    bool lacking = false,
         missing = walk->lacks[CAUSE_NOT_SWEPT].any || walk->lacks[CAUSE_BLIND].any || walk->lacks[CAUSE_CLIPPED].any;
    for (int cause = 0; cause < CAUSES; cause++)
        lacking = lacking || walk->lacks[cause].any;
    if (!walk->any && !lacking)
        return spurity_verdict_add_not_shown(j, walk->clause, (double)NAN, (double)NAN, "range",
                                             "no place of this mask lies in what is judged", error);
    spurity_outcome outcome = where_it_binds(walk, missing);
    row->outcome = spurity_verdict_weigh(j, walk->facts, outcome);
    if (outcome != SPURITY_OUTCOME_NOT_SHOWN || lacking)
        return SPURITY_OK;
    char open[160], advice[240];
    spurity_verdict_say_open(j, open, sizeof open);
    snprintf(advice, sizeof advice, "the clauses that may bind differ here: say %s", open);
    return spurity_verdict_add_not_shown(j, walk->clause, walk->worst.hz, walk->worst.hz,
                                         spurity_verdict_open_reason(j), advice, error);
}

/* Every further place where the mask is broken has a row of its own. */
static spurity_status add_fails(struct walk *walk, spurity_outcome outcome, spurity_error *error)
{
    if (!fails(outcome))
        return SPURITY_OK;
    for (size_t i = 0; i < walk->fail_count; i++) {
        if (walk->fails[i].hz == walk->worst.hz)
            continue;
        spurity_judgement *row = spurity_verdict_add_judgement(walk->j, walk->clause, error);
        if (!row)
            return SPURITY_SYSTEM;
        fill_row(walk, row, &walk->fails[i]);
        row->outcome = spurity_verdict_weigh(walk->j, walk->facts, walk->fails[i].meeting.outcome);
    }
    return SPURITY_OK;
}

/* ---- the clause ---- */

/* How far the mask may stand beside its carrier: what the carrier's reading leaves open; for a channel's nominal
 * frequency also the instrument's reference, which unsaid may be all that parts the two. */
static double centre_doubt(const struct walk *walk)
{
    double apart = fabs(walk->centre_hz - walk->middle_hz), ppm = walk->j->point->reference_ppm;
    if (apart <= 0)
        return walk->middle_open_hz;
    return isnan(ppm) ? apart : ppm * 1e-6 * walk->middle_hz;
}

static double reference_bandwidth(const struct walk *walk, double hz)
{
    double named = spurity_clause_reference_bandwidth(walk->clause, hz), authorised = (double)NAN;
    if (named > 0)
        return named;
    spurity_rules_bandwidth(walk->j->rules, &walk->j->worlds.items[0], &authorised);
    return authorised < UNNAMED_STEP_HZ ? UNNAMED_NARROW_HZ : UNNAMED_WIDE_HZ;
}

spurity_status spurity_verdict_judge_mask(struct judging *j, const spurity_clause *clause,
                                          const spurity_clause_facts *facts, const bool *binds, spurity_error *error)
{
    spurity_clause_stretch stretches[STRETCHES_MAX];
    size_t first = 0;
    while (first + 1 < j->worlds.count && !binds[first])
        first++;
    spurity_judgement *row = spurity_verdict_add_judgement(j, clause, error);
    struct walk *walk = row ? calloc(1, sizeof *walk) : NULL;
    if (!walk)
        return row ? spurity_report_memory(error) : SPURITY_SYSTEM;
    size_t index = j->verdict->judgement_count - 1;
    *walk = (struct walk){.j = j, .clause = clause, .facts = facts, .binds = binds};
    spurity_verdict_middle(j, &walk->middle_hz, &walk->middle_open_hz);
    walk->assigned_hz = assigned_hz(j, walk->middle_hz);
    spurity_conditions world = world_of(walk, first);
    walk->centre_hz = walk->assigned_hz;
    spurity_clause_centre(clause, &world, &walk->centre_hz);
    walk->centre_doubt_hz = centre_doubt(walk);
    walk->reference_hz = reference_bandwidth(walk, j->carrier->frequency_hz);
    walk->wants_peak = facts->detector && !strcmp(facts->detector, "peak");
    walk->voice = j->point->modulation == SPURITY_MODULATION_VOICE;
    row->frequency_hz = row->from_hz = row->to_hz = j->carrier->frequency_hz;
    row->reference_bandwidth_hz = walk->reference_hz;
    row->unit = "dBc";
    size_t count = spurity_clause_stretches(clause, &world, stretches, STRETCHES_MAX);
    for (size_t i = 0; i < count && i < STRETCHES_MAX; i++)
        walk_stretch(walk, &stretches[i]);
    if (walk->any)
        fill_row(walk, row, &walk->worst);
    spurity_status status = conclude(walk, row, error);
    spurity_outcome outcome = j->verdict->judgements[index].outcome;
    if (!status)
        status = tell_lacks(walk, error);
    if (!status)
        status = add_fails(walk, outcome, error);
    free(walk);
    return status;
}
