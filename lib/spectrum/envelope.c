/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The key, found from the envelope: mean power of cells of 0.25 ms.  Judgements: README.md. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "receiver.h"

enum { STRETCHES = 64, BLOCK = 1 << 15 };
static const double CELL_S = 0.25e-3, KEY_UP_S = 2e-3, LOW = 0.04 /* 14 dB */, FALL = 0.01 /* 20 dB */,
                    LEAST_SHARE = 0.01;

struct spurity_envelope_scout {
    bool is_complex;
    double rate_hz;
    size_t cell, filled; /* samples of a cell, in the open one */
    double sum, sums[2]; /* of squares; of components, I and Q */
    uint64_t samples;
    float *power;          /* of each cell: mean |z|^2 */
    float (*mean)[2];      /* and mean z; real: [1] = 0 */
    unsigned char *begins; /* the cell does not follow on the one before */
    size_t count, power_room, mean_room, begins_room;
    bool broken; /* before the open cell */
};

static size_t cell_samples(double rate_hz)
{
    return (size_t)fmin(fmax(round(rate_hz * CELL_S), 16), 1 << 20);
}

/* Cells of key-up that are no modulation. */
static size_t fall_cells(double rate_hz, size_t cell)
{
    return (size_t)fmax(1, ceil(KEY_UP_S * rate_hz / (double)cell));
}

spurity_envelope_scout *spurity_envelope_scout_create(double rate_hz, bool is_complex)
{
    spurity_envelope_scout *scout = calloc(1, sizeof *scout);
    if (!scout)
        return NULL;
    scout->is_complex = is_complex;
    scout->rate_hz = rate_hz;
    scout->cell = cell_samples(rate_hz);
    scout->broken = true;
    return scout;
}

void spurity_envelope_scout_free(spurity_envelope_scout *scout)
{
    if (scout) {
        free(scout->power);
        free(scout->mean);
        free(scout->begins);
    }
    free(scout);
}

/* Sum of squares, and of the components at even and odd places; what is not finite counts as 0. */
static double energy(const float *x, size_t count, double sums[2])
{
    float lanes[8] = {0}, plain[8] = {0};
    double sum = 0;
    size_t i = 0;
    sums[0] = sums[1] = 0;
    for (; i + 8 <= count; i += 8)
        for (size_t j = 0; j < 8; j++) {
            lanes[j] += x[i + j] * x[i + j];
            plain[j] += x[i + j];
        }
    for (int j = 0; j < 8; j++) {
        sum += (double)lanes[j];
        sums[j % 2] += (double)plain[j];
    }
    for (; i < count; i++) {
        sum += (double)x[i] * (double)x[i];
        sums[i % 2] += (double)x[i];
    }
    if (isfinite(sum))
        return sum;
    sum = sums[0] = sums[1] = 0;
    for (i = 0; i < count; i++) {
        sum += isfinite(x[i]) ? (double)x[i] * (double)x[i] : 0;
        sums[i % 2] += isfinite(x[i]) ? (double)x[i] : 0;
    }
    return sum;
}

/* Mean |z - dc|^2 from the sums over a number of samples. */
static double power_beside(const double dc[2], double square, const double mean[2])
{
    double power = square - 2 * (dc[0] * mean[0] + dc[1] * mean[1]) + dc[0] * dc[0] + dc[1] * dc[1];
    return power > 0 ? power : 0;
}

static void empty_cell(spurity_envelope_scout *scout)
{
    scout->filled = 0;
    scout->sum = scout->sums[0] = scout->sums[1] = 0;
}

static bool keep_cell(spurity_envelope_scout *scout)
{
    float *power = spurity_grow(scout->power, scout->count, &scout->power_room, sizeof *power);
    if (!power)
        return false;
    scout->power = power;
    float(*mean)[2] = spurity_grow(scout->mean, scout->count, &scout->mean_room, sizeof *mean);
    if (!mean)
        return false;
    scout->mean = mean;
    unsigned char *begins = spurity_grow(scout->begins, scout->count, &scout->begins_room, sizeof *begins);
    if (!begins)
        return false;
    scout->begins = begins;
    begins[scout->count] = scout->broken;
    for (int j = 0; j < 2; j++)
        mean[scout->count][j] = (float)(scout->sums[j] / (double)scout->cell);
    power[scout->count++] = (float)(scout->sum / (double)scout->cell);
    scout->broken = false;
    empty_cell(scout);
    return true;
}

/* Floats, or as they stand: 16-bit words of the machine's own order. */
static bool feed(spurity_envelope_scout *scout, const void *samples, bool words, size_t count, bool joined)
{
    const size_t components = scout->is_complex ? 2 : 1;
    if (!joined) { /* the rest of a cell is dropped */
        scout->broken = true;
        empty_cell(scout);
    }
    if (count > SPURITY_ENVELOPE_SAMPLES - scout->samples)
        count = (size_t)(SPURITY_ENVELOPE_SAMPLES - scout->samples);
    scout->samples += count;
    for (size_t done = 0, now; done < count; done += now) {
        now = scout->cell - scout->filled;
        now = now < count - done ? now : count - done;
        const size_t at = done * components, taken = now * components;
        double sums[2];
        scout->sum += words ? spurity_energy_i16((const unsigned char *)samples + 2 * at, taken, sums)
                            : energy((const float *)samples + at, taken, sums);
        scout->sums[0] += components == 2 ? sums[0] : sums[0] + sums[1];
        scout->sums[1] += components == 2 ? sums[1] : 0;
        scout->filled += now;
        if (scout->filled == scout->cell && !keep_cell(scout))
            return false;
    }
    return true;
}

bool spurity_envelope_scout_feed(spurity_envelope_scout *scout, const float *samples, size_t count, bool joined)
{
    return feed(scout, samples, false, count, joined);
}

/* ---- what follows -------------------------------------------------------------------------------- */

static int falling(const void *a, const void *b)
{
    float x = *(const float *)a, y = *(const float *)b;
    return (x < y) - (x > y);
}

/* The level above which half of the energy stands: that of the key-down time, however short. */
static bool key_down_level(const spurity_envelope_scout *scout, double *level, double *mean)
{
    float *sorted = malloc(scout->count * sizeof *sorted);
    double all = 0, half = 0;
    if (!sorted)
        return false;
    memcpy(sorted, scout->power, scout->count * sizeof *sorted);
    qsort(sorted, scout->count, sizeof *sorted, falling);
    for (size_t i = 0; i < scout->count; i++)
        all += (double)sorted[i];
    size_t i = 0;
    while (i + 1 < scout->count && (half += (double)sorted[i]) < all / 2)
        i++;
    *level = (double)sorted[i];
    *mean = all / (double)scout->count;
    free(sorted);
    return true;
}

/* End of the cells from i on that are below (or not below) a level, within one stretch. */
static size_t run_end(const spurity_envelope_scout *scout, size_t i, double level)
{
    bool below = (double)scout->power[i] < level;
    size_t end = i + 1;
    while (end < scout->count && !scout->begins[end] && ((double)scout->power[end] < level) == below)
        end++;
    return end;
}

/* End of the burst that begins at i: falls shorter than `least` cells belong to it. */
static size_t burst_end(const spurity_envelope_scout *scout, size_t i, double level, size_t least)
{
    size_t end = run_end(scout, i, level);
    while (end < scout->count && !scout->begins[end]) {
        size_t fall = run_end(scout, end, level);
        bool stretch_ends = fall == scout->count || scout->begins[fall];
        if (fall - end >= least || stretch_ends)
            break;
        end = run_end(scout, fall, level);
    }
    return end;
}

struct counted {
    double on_cells, on_power, on_weight, shortest;
    uint64_t bursts;
};

/* A burst of cells [from, to): the cells of its edges count by what they hold of the burst. */
static void count_burst(const spurity_envelope_scout *scout, size_t from, size_t to, struct counted *counted)
{
    bool cut_before = scout->begins[from], cut_after = to == scout->count || scout->begins[to];
    size_t first = from, last = to;
    double edges = 0;
    if (to - from >= 4) {
        first += !cut_before;
        last -= !cut_after;
        if (!cut_before)
            edges += fmin(1, (double)scout->power[from] / (double)scout->power[from + 1]);
        if (!cut_after)
            edges += fmin(1, (double)scout->power[to - 1] / (double)scout->power[to - 2]);
    }
    double cells = (double)(last - first) + edges;
    for (size_t i = first; i < last; i++)
        counted->on_power += (double)scout->power[i];
    counted->on_weight += (double)(last - first);
    counted->on_cells += cells;
    counted->bursts++;
    if (!cut_before && !cut_after && !(cells >= counted->shortest))
        counted->shortest = cells;
}

static double mean_power(const spurity_envelope_scout *scout, size_t from, size_t to)
{
    double sum = 0;
    for (size_t i = from; i < to; i++)
        sum += (double)scout->power[i];
    return sum / (double)(to - from);
}

/* Whether the envelope stays 14 dB down for long enough, and 20 dB and more on average without the edges (so that noise
 * in a keyed dip of 17 dB does not make it one of 20), for a hundredth of the time in all (less moves the mean by 0.04
 * dB at most: a drop-out, the first samples of a receiver); and the mean power of where it does. */
static bool find_falls(const spurity_envelope_scout *scout, double level, size_t least, double *off)
{
    double sum = 0;
    size_t cells = 0;
    for (size_t i = 0, end; i < scout->count; i = end) {
        end = run_end(scout, i, LOW * level);
        if ((double)scout->power[i] >= LOW * level || end - i < least)
            continue;
        size_t edge = end - i >= 4 ? 1 : 0;
        double power = mean_power(scout, i + edge, end - edge);
        if (power > FALL * level)
            continue;
        cells += end - i - 2 * edge;
        sum += power * (double)(end - i - 2 * edge);
    }
    *off = cells ? sum / (double)cells : 0;
    return (double)cells > LEAST_SHARE * (double)scout->count;
}

/* A receiver's own DC goes on while the key is up and can hide that.  Mean of the cells 6 dB below key-down and more:
 * what of them stands still.  False where those are too few to matter, or where key-down has another DC: then it is a
 * carrier on the centre that is keyed, not the receiver. */
static bool standing_in_falls(const spurity_envelope_scout *scout, double level, double dc[2])
{
    double sums[2][2] = {{0}};
    size_t cells[2] = {0};
    for (size_t i = 0; i < scout->count; i++) {
        const bool down = (double)scout->power[i] >= level / 4;
        sums[down][0] += (double)scout->mean[i][0];
        sums[down][1] += (double)scout->mean[i][1];
        cells[down]++;
    }
    if (!cells[1] || !((double)cells[0] > LEAST_SHARE * (double)scout->count))
        return false;
    for (int j = 0; j < 2; j++)
        dc[j] = sums[0][j] / (double)cells[0];
    const double apart = hypot(sums[1][0] / (double)cells[1] - dc[0], sums[1][1] / (double)cells[1] - dc[1]);
    return apart < hypot(dc[0], dc[1]) / 2;
}

static void count_bursts(const spurity_envelope_scout *scout, double level, double off, spurity_envelope *envelope)
{
    /* 20 dB below key-down, or 6 dB over key-up where that is close: cells of its noise stay below. */
    double threshold = fmax(FALL * level, 4 * off), scale = scout->is_complex ? 1 : 2;
    size_t least = fall_cells(scout->rate_hz, scout->cell);
    struct counted counted = {.shortest = (double)NAN};
    for (size_t i = 0, end; i < scout->count; i = end) {
        bool on = (double)scout->power[i] >= threshold;
        end = on ? burst_end(scout, i, threshold, least) : run_end(scout, i, threshold);
        if (on)
            count_burst(scout, i, end, &counted);
    }
    envelope->bursts = true;
    envelope->threshold = threshold;
    envelope->burst_count = counted.bursts;
    envelope->duty = counted.on_cells / (double)scout->count;
    envelope->on_db = 10 * log10(scale * counted.on_power / counted.on_weight);
    envelope->off_db = off > 0 ? 10 * log10(scale * off) : (double)NAN;
    envelope->shortest_s = counted.shortest * envelope->cell_s;
}

/* The same cells without what stands still in those where the key may be up. */
static bool look_beside_dc(const spurity_envelope_scout *scout, double level, spurity_envelope *envelope)
{
    spurity_envelope_scout beside = *scout;
    double off = 0, mean = 0, dc[2];
    if (!standing_in_falls(scout, level, dc))
        return true;
    beside.power = malloc(scout->count * sizeof *beside.power);
    if (!beside.power)
        return false;
    for (size_t i = 0; i < scout->count; i++) {
        double of_cell[2] = {(double)scout->mean[i][0], (double)scout->mean[i][1]};
        beside.power[i] = (float)power_beside(dc, (double)scout->power[i], of_cell);
    }
    bool good = key_down_level(&beside, &level, &mean);
    if (good && level > 0 && find_falls(&beside, level, fall_cells(scout->rate_hz, scout->cell), &off)) {
        envelope->dc[0] = dc[0];
        envelope->dc[1] = dc[1];
        count_bursts(&beside, level, off, envelope);
    }
    free(beside.power);
    return good;
}

bool spurity_envelope_scout_finish(const spurity_envelope_scout *scout, spurity_envelope *envelope)
{
    double level = 0, mean = 0, off = 0, scale = scout->is_complex ? 1 : 2;
    *envelope = (spurity_envelope){.cell = scout->cell,
                                   .cell_s = (double)scout->cell / scout->rate_hz,
                                   .duty = 1,
                                   .on_db = (double)NAN,
                                   .off_db = (double)NAN,
                                   .samples = scout->samples,
                                   .whole = true,
                                   .shortest_s = (double)NAN};
    if (scout->count == 0)
        return true;
    if (!key_down_level(scout, &level, &mean))
        return false;
    envelope->on_db = mean > 0 ? 10 * log10(scale * mean) : (double)NAN;
    if (!(level > 0))
        return true;
    if (!find_falls(scout, level, fall_cells(scout->rate_hz, scout->cell), &off))
        return look_beside_dc(scout, level, envelope);
    count_bursts(scout, level, off, envelope);
    return true;
}

/* ---- the pass over a capture ----------------------------------------------------------------------- */

struct pass {
    spurity_capture *capture;
    spurity_envelope_scout *scout;
    const spurity_watch *watch;
    void *bytes;
    float *values;
    uint64_t done, all;
};

static bool is_native_i16(spurity_sample_format format)
{
#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__
    return format.component == SPURITY_COMPONENT_I16 && !format.big_endian;
#else
    return false;
#endif
}

static spurity_status look_at(struct pass *pass, uint64_t first, uint64_t samples, spurity_error *error)
{
    const spurity_sample_format format = spurity_capture_facts_of(pass->capture)->format;
    const bool words = is_native_i16(format);
    spurity_status status = spurity_capture_seek(pass->capture, first, error);
    bool joined = false;
    while (!status && samples > 0) {
        size_t got = 0;
        status =
            spurity_capture_read(pass->capture, pass->bytes, samples < BLOCK ? (size_t)samples : BLOCK, &got, error);
        if (status || got == 0)
            break;
        if (!words)
            spurity_sample_convert(format, pass->bytes, got, pass->values);
        if (!feed(pass->scout, words ? pass->bytes : pass->values, words, got, joined))
            return spurity_report_memory(error);
        joined = true;
        samples -= got;
        pass->done += got;
        if (!spurity_watch_tick(pass->watch, "envelope", (double)pass->done / (double)pass->all))
            return spurity_report(error, SPURITY_CANCELLED, (spurity_place){0}, "cancelled", NULL, NULL);
    }
    return status;
}

static spurity_status look_all_over(struct pass *pass, uint64_t first, uint64_t samples, spurity_error *error)
{
    pass->all = samples < SPURITY_ENVELOPE_SAMPLES ? samples : SPURITY_ENVELOPE_SAMPLES;
    if (samples <= SPURITY_ENVELOPE_SAMPLES)
        return look_at(pass, first, samples, error);
    uint64_t stretch = SPURITY_ENVELOPE_SAMPLES / STRETCHES, step = (samples - stretch) / (STRETCHES - 1);
    spurity_status status = SPURITY_OK;
    for (uint64_t i = 0; i < STRETCHES && !status; i++)
        status = look_at(pass, first + i * step, stretch, error);
    return status;
}

spurity_status spurity_envelope_look(spurity_capture *capture, uint64_t first, uint64_t samples,
                                     const spurity_watch *watch, spurity_envelope *envelope, spurity_error *error)
{
    const spurity_capture_facts *facts = spurity_capture_facts_of(capture);
    uint64_t stood = spurity_capture_at(capture);
    struct pass pass = {.capture = capture, .watch = watch};
    spurity_status status = SPURITY_SYSTEM;
    if (samples == 0)
        samples = facts->samples > first ? facts->samples - first : SPURITY_ENVELOPE_SAMPLES;
    pass.scout = spurity_envelope_scout_create(facts->rate_hz, facts->format.is_complex);
    pass.bytes = malloc(BLOCK * spurity_sample_format_bytes(facts->format));
    pass.values = malloc(BLOCK * 2 * sizeof *pass.values);
    if (!pass.scout || !pass.bytes || !pass.values) {
        status = spurity_report_memory(error);
        goto out;
    }
    status = look_all_over(&pass, first, samples, error);
    if (!status)
        status = spurity_capture_seek(capture, stood, error);
    if (!status && !spurity_envelope_scout_finish(pass.scout, envelope))
        status = spurity_report_memory(error);
    if (!status)
        envelope->whole = samples <= SPURITY_ENVELOPE_SAMPLES;
out:
    spurity_envelope_scout_free(pass.scout);
    free(pass.bytes);
    free(pass.values);
    return status;
}

/* ---- the gate ------------------------------------------------------------------------------------ */

bool spurity_envelope_on(const spurity_envelope *envelope, bool is_complex, const float *samples, size_t count)
{
    if (!envelope->bursts)
        return true;
    size_t components = is_complex ? 2 : 1, cell = envelope->cell, fallen = 0;
    if (cell > count / 4)
        cell = count / 4 > 0 ? count / 4 : 1;
    size_t cells = count / cell, least = fall_cells((double)envelope->cell / envelope->cell_s, cell);
    double first[2] = {0}, last[2] = {0};
    for (size_t i = 0; i < cells; i++) {
        /* The last cell ends with the last sample. */
        const float *at = samples + (i + 1 < cells ? i * cell : count - cell) * components;
        double sums[2], power = energy(at, cell * components, sums) / (double)cell;
        double mean[2] = {sums[0] / (double)cell, sums[1] / (double)cell};
        if (!is_complex)
            mean[0] += mean[1];
        power = power_beside(envelope->dc, power, mean);
        fallen = power < envelope->threshold ? fallen + 1 : 0;
        if (fallen >= least || (fallen && (i == 0 || i + 1 == cells)))
            return false;
        if (i < 2)
            first[i] = power;
        last[0] = last[1];
        last[1] = power;
    }
    /* An edge within the first or last cell leaves less than half of its power. */
    return cells < 2 || (first[0] >= first[1] / 2 && last[1] >= last[0] / 2);
}
