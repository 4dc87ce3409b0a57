/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>

#include "parts.h"

/* Products of clipping are looked for up to this order: the next ones stand over 20 dB under the square wave's own
 * third. */
enum { CLIPPING_ORDERS = 15 };
/* Over this share of components at the rails the arithmetic of a clipped carrier says too little of the file. */
static const double BLIND_SHARE = 0.5;

const char *spurity_artefact_name(spurity_artefact artefact)
{
    static const char *const names[] = {[SPURITY_ARTEFACT_NONE] = "",       [SPURITY_ARTEFACT_CENTRE] = "centre",
                                        [SPURITY_ARTEFACT_IMAGE] = "image", [SPURITY_ARTEFACT_CLIPPING] = "clipping",
                                        [SPURITY_ARTEFACT_GAIN] = "gain",   [SPURITY_ARTEFACT_STEPS] = "steps"};
    return (unsigned)artefact < sizeof names / sizeof *names ? names[artefact] : "";
}

/* ---- clipping: what it leaves open ---- */

static const spurity_line *strongest(const spurity_survey *survey)
{
    return survey ? spurity_survey_strongest(survey, -(double)INFINITY, (double)INFINITY) : NULL;
}

static bool overloaded(const spurity_spectrum *spectrum)
{
    spurity_spectrum_part part;
    for (size_t i = 0; spurity_spectrum_part_at(spectrum, i, &part); i++)
        if (part.overload)
            return true;
    return false;
}

/* A carrier of constant envelope cut off on a share p of its components, A cos x at 1 with 1/A = cos(pi p / 2), keeps
 * 1 - p + sin(pi p) / pi of its amplitude (first Fourier coefficient).  A weak line beside it passes while nothing is
 * cut off: 1 - p of its amplitude (mean slope of the clipper).  All that clipping makes: each component at a rail holds
 * at most full scale of anything, so at most p of the power of 0 dBFS, however the envelope ran. */
bool spurity_measurement_clipping(const spurity_measurement *measurement, int file, spurity_clipping *clipping)
{
    const spurity_spectrum *spectrum = measurement->files[file].spectrum;
    *clipping = (spurity_clipping){0};
    if (!spectrum)
        return false;
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(spectrum);
    bool overload = overloaded(spectrum);
    if (!facts->at_rail && !facts->pinned && !overload)
        return false;
    double pi = acos(-1.0), all = (double)facts->at_rail / fmax(1.0, (double)facts->components);
    double keyed = facts->bursts && facts->duty > 0 ? all / facts->duty : all, p = fmin(1.0, keyed);
    clipping->blind = overload || !facts->at_rail || p > BLIND_SHARE;
    clipping->share = facts->at_rail ? p : (double)NAN;
    clipping->carrier_low_db = clipping->blind ? 0 : -20 * log10(1 - p + sin(pi * p) / pi);
    clipping->line_low_db = clipping->blind ? 0 : -20 * log10(1 - p);
    const spurity_line *signal = strongest(measurement->files[file].survey);
    double signal_dbfs = facts->gated ? facts->on_db : facts->mean_db; /* what the readings are means over */
    clipping->makes_db = clipping->blind ? (double)INFINITY
                         : signal        ? signal->level_db - signal_dbfs + 10 * log10(facts->gated ? p : all)
                                         : (double)NAN;
    return true;
}

/* ---- the tests ---- */

/* A line of a capture under suspicion, with the band it was read in. */
struct suspect {
    const spurity_measurement *m;
    int index; /* of the file */
    const spurity_measured_file *file;
    const spurity_line *line;
    double rbw_hz;
    spurity_spectrum_part part;
    size_t segment; /* of the spectrum's own trace, in the window of the levels */
};

/* The band of a capture that holds hz in the window of the levels. */
static bool band_at(const spurity_spectrum *spectrum, double hz, double near_center_hz, spurity_spectrum_part *part,
                    size_t *segment)
{
    spurity_spectrum_part one;
    bool found = false;
    for (size_t i = 0; spurity_spectrum_part_at(spectrum, i, &one); i++) {
        if (one.sharp || hz < one.from_hz || hz > one.to_hz)
            continue;
        if (found && !(fabs(one.center_hz - near_center_hz) < fabs(part->center_hz - near_center_hz)))
            continue;
        *part = one;
        *segment = i;
        found = true;
    }
    return found;
}

static const spurity_line *line_of(const spurity_measured_file *file, const spurity_emission *emission)
{
    for (size_t i = 0; i < spurity_survey_line_count(file->survey); i++) {
        const spurity_line *line = spurity_survey_line(file->survey, i);
        if (line->frequency_hz == emission->frequency_hz)
            return line;
    }
    return NULL;
}

static bool suspect_of(const spurity_measurement *m, int index, const spurity_line *line, struct suspect *suspect)
{
    const spurity_measured_file *file = &m->files[index];
    spurity_spectrum_part own;
    spurity_segment view;
    if (!file->spectrum || !line ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(file->survey)), line->segment,
                               &view))
        return false;
    *suspect = (struct suspect){.m = m, .index = index, .file = file, .line = line, .rbw_hz = view.facts.rbw_hz};
    /* segments keep their order at the terminal unless the chain reaches none of one */
    bool told = spurity_spectrum_part_at(file->spectrum, line->segment, &own) && own.from_hz <= line->frequency_hz &&
                line->frequency_hz <= own.to_hz;
    return band_at(file->spectrum, line->frequency_hz, told ? own.center_hz : line->frequency_hz, &suspect->part,
                   &suspect->segment);
}

/* The receiver's own product of its tuning stands on the centre and is no wider than the window makes it. */
static bool is_centre(const struct suspect *suspect, double *of_hz)
{
    const spurity_spectrum_part *part = &suspect->part;
    double reach = suspect->line->frequency_uncertainty_hz, hz = suspect->line->frequency_hz;
    if (!part->is_complex || hz + reach < part->center_from_hz || hz - reach > part->center_to_hz)
        return false;
    *of_hz = part->center_hz;
    return suspect->line->width_hz <= part->center_to_hz - part->center_from_hz;
}

static bool is_image(const struct suspect *suspect, double *of_hz)
{
    spurity_image image;
    if (!suspect->part.is_complex ||
        !spurity_spectrum_image(suspect->file->spectrum, suspect->segment, suspect->line->frequency_hz, &image))
        return false;
    *of_hz = image.mirror_hz;
    return image.is_image;
}

/* Coherent by more than chance (0.01) and by a third or more of it, but not as an image in the clear is: weak in noise,
 * or with a line of the set beside it.  A wide one in most of nine places over its width; told is whether anything
 * could be. */
static bool is_half_coherent(const struct suspect *suspect, bool *told)
{
    enum { PLACES = 9 };
    const spurity_line *line = suspect->line;
    int places = line->character == SPURITY_LINE || line->width_hz < PLACES * suspect->rbw_hz ? 1 : PLACES, half = 0;
    *told = false;
    for (int i = 0; i < places; i++) {
        spurity_image image;
        double hz = line->frequency_hz + line->width_hz * ((i + 0.5) / places - 0.5);
        if (!spurity_spectrum_image(suspect->file->spectrum, suspect->segment, hz, &image))
            continue;
        *told = true;
        half += image.ratio_db < -15 && image.chance <= 0.01 && image.coherence * image.coherence >= 1.0 / 3;
    }
    return 2 * half > places;
}

/* A capture too short for its looks, with too little key-down time or an image that noise half hides cannot tell an
 * image from a line of the set: what stands mirrored from a signal 15 dB stronger (an image of unequal I and Q is
 * mostly 25 dB down and more, common practice) to within what both places leave open may be either. */
static bool may_be_image(const struct suspect *suspect, double *of_hz)
{
    const spurity_spectrum_part *part = &suspect->part;
    const spurity_line *line = suspect->line;
    double mirror = 2 * part->center_hz - line->frequency_hz;
    bool told, half = is_half_coherent(suspect, &told);
    if (!part->is_complex || is_centre(suspect, of_hz) || (told && !half))
        return false;
    const spurity_survey *survey = suspect->file->survey;
    double reach = suspect->rbw_hz + line->frequency_uncertainty_hz;
    const spurity_line *of = spurity_survey_strongest(survey, mirror - reach, mirror + reach);
    if (!of || of->level_db < line->level_db + 15)
        return false;
    *of_hz = of->frequency_hz;
    double wide = of->character == SPURITY_LINE ? 0 : 0.1 * of->width_hz;
    return fabs(of->frequency_hz - mirror) <=
           of->frequency_uncertainty_hz + line->frequency_uncertainty_hz + wide + suspect->rbw_hz / 20;
}

/* Where a product of odd order n of a signal at hz stands.  Complex samples, rails that clip I and Q apart: at -3f,
 * +5f, -7f of the centre, folded at the rate; real ones: at n f, folded at half the rate. */
static double product_hz(const spurity_spectrum_part *part, double hz, int n)
{
    double width = part->cut_high_hz - part->cut_low_hz;
    if (part->is_complex) {
        double f = (hz - part->center_hz) * (n % 4 == 1 ? n : -n);
        return part->center_hz + f - width * round(f / width);
    }
    double f = (hz - part->cut_low_hz) * n, rate = 2 * width;
    return part->cut_low_hz + fabs(f - rate * round(f / rate));
}

/* A product of order n of a signal cut off on a share p of its components is at most 1/n of it in amplitude (a square
 * wave) for p of the time. */
static bool is_clipping(const struct suspect *suspect, double *of_hz)
{
    spurity_clipping clipping;
    const spurity_line *line = suspect->line, *signal = strongest(suspect->file->survey);
    if (!spurity_measurement_clipping(suspect->m, suspect->index, &clipping) || !signal || signal == line)
        return false;
    double share = isnan(clipping.share) ? 1.0 : clipping.share, doubt = suspect->m->point->uncertainty_dbc;
    double below = signal->level_db - line->level_db + doubt;
    double wide = signal->character == SPURITY_LINE ? 0 : signal->width_hz;
    double spacing =
        fabs(signal->frequency_hz - (suspect->part.is_complex ? suspect->part.center_hz : suspect->part.cut_low_hz));
    *of_hz = signal->frequency_hz;
    for (int n = 3; n <= CLIPPING_ORDERS; n += 2) {
        double apart = fabs(product_hz(&suspect->part, signal->frequency_hz, n) - line->frequency_hz);
        double reach =
            n * (signal->frequency_uncertainty_hz + wide / 2) + line->frequency_uncertainty_hz + suspect->rbw_hz;
        /* products of a wide signal fill the band: then every line would be one */
        if (apart <= reach && reach < spacing / 2 && below >= 20 * log10(n) - 10 * log10(share))
            return true;
    }
    return false;
}

/* A converter's step, full scale being 1; 0 for floating point and for 16 bits and more, whose steps make nothing that
 * is looked for. */
static double step_of(const spurity_measured_file *file)
{
    spurity_component component = spurity_recording_facts_of(file->recording)->datatype.component;
    bool coarse = component == SPURITY_COMPONENT_U8 || component == SPURITY_COMPONENT_I8;
    return coarse ? 1.0 / 128 : 0;
}

/* What rounding to steps q can make of strong signals, together, dBFS: q^2 / 6 (q^2 / 12 a component), less what noise
 * of sigma^2 a component before the converter smooths away, exp(-4 pi^2 sigma^2 / q^2) (Widrow and Kollar, Quantization
 * Noise, 2008: the characteristic function of the noise; from memory).  noise_db: all noise that is read, dBFS, which
 * holds the rounding's own q^2 / 6. */
static double steps_make_db(double q, double noise_db)
{
    double pi = acos(-1.0), sigma2 = fmax(0, pow(10, noise_db / 10) / 2 - q * q / 12);
    return 10 * log10(q * q / 6) - 10 / log(10.0) * 4 * pi * pi * sigma2 / (q * q);
}

/* dB of the file's scale over dBFS, by the mean power of the samples and what the strongest signal reads. */
static double scale_over_dbfs(const spurity_measured_file *file)
{
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(file->spectrum);
    const spurity_line *signal = strongest(file->survey);
    double power = pow(10, (facts->gated ? facts->on_db : facts->mean_db) / 10);
    double dc = facts->gated ? 0 : facts->dc_i * facts->dc_i + facts->dc_q * facts->dc_q;
    if (facts->gated || isnan(dc) || !(dc < 0.9 * power))
        dc = 0;
    return signal ? signal->level_db - 10 * log10(power - dc) : (double)NAN;
}

static bool is_of_steps(const struct suspect *suspect, double *of_hz)
{
    const spurity_spectrum_facts *facts = spurity_spectrum_facts_of(suspect->file->spectrum);
    const spurity_line *line = suspect->line, *signal = strongest(suspect->file->survey);
    double q = step_of(suspect->file), over = q > 0 ? scale_over_dbfs(suspect->file) : (double)NAN;
    spurity_segment view;
    if (isnan(over) || signal == line ||
        !spurity_trace_segment(spurity_terminal_trace_view(spurity_survey_terminal(suspect->file->survey)),
                               line->segment, &view))
        return false;
    double rate = facts->bin_hz * (double)facts->transform;
    double noise = view.facts.rbw_hz * view.facts.noise_bandwidth_factor;
    double noise_db = line->floor_db - over + 10 * log10(rate / noise);
    *of_hz = signal->frequency_hz;
    return line->level_db - over <= steps_make_db(q, noise_db) + suspect->m->point->uncertainty_dbc;
}

/* ---- what other files say ---- */

/* A level of a file against the carrier; NaN where it has none in common with it. */
static double against_carrier(const spurity_measurement *m, int file, double db)
{
    const spurity_measured_file *mine = &m->files[file];
    if (!isnan(mine->carrier_db))
        return db - mine->carrier_db;
    return db + mine->dbm_offset - m->carrier.level_dbm;
}

static bool centre_apart(const struct suspect *suspect, const spurity_spectrum_part *other, int file)
{
    double hz = suspect->line->frequency_hz, reach = suspect->line->frequency_uncertainty_hz;
    (void)file;
    return !other->is_complex || hz + reach < other->center_from_hz || hz - reach > other->center_to_hz;
}

/* Tuned otherwise, the image of the same signal stands elsewhere. */
static bool image_apart(const struct suspect *suspect, const spurity_spectrum_part *other, int file)
{
    double moved = 2 * fabs(other->center_hz - suspect->part.center_hz);
    double wide = suspect->line->high_hz - suspect->line->low_hz;
    (void)file;
    return !other->is_complex || moved > wide + 4 * suspect->rbw_hz;
}

static bool clipping_apart(const struct suspect *suspect, const spurity_spectrum_part *other, int file)
{
    spurity_clipping clipping;
    (void)other;
    return !spurity_measurement_clipping(suspect->m, file, &clipping);
}

static bool steps_apart(const struct suspect *suspect, const spurity_spectrum_part *other, int file)
{
    (void)other;
    return step_of(&suspect->m->files[file]) <= 0;
}

static const struct test {
    spurity_artefact artefact;
    spurity_note_code note;
    bool (*is)(const struct suspect *suspect, double *of_hz);
    /* whether another capture that holds the frequency would not show this artefact there */
    bool (*apart)(const struct suspect *suspect, const spurity_spectrum_part *other, int file);
    const char *words;
} tests[] = {
    {SPURITY_ARTEFACT_CENTRE, SPURITY_NOTE_RECEIVER_DC, is_centre, centre_apart,
     "stands where the receiver is tuned, which makes such a line of its own (tuned to"},
    {SPURITY_ARTEFACT_IMAGE, SPURITY_NOTE_RECEIVER_IMAGE, is_image, image_apart,
     "moves in step with what stands on the other side of the centre and is its mirror image (of"},
    {SPURITY_ARTEFACT_IMAGE, SPURITY_NOTE_RECEIVER_IMAGE, may_be_image, image_apart,
     "stands where a mirror image would, and too little is to be seen of it to tell it from one (of"},
    {SPURITY_ARTEFACT_CLIPPING, SPURITY_NOTE_CLIPPED, is_clipping, clipping_apart,
     "stands where clipping puts a product of a strong signal (of"},
    {SPURITY_ARTEFACT_STEPS, SPURITY_NOTE_FRONT_END_UNPROVEN, is_of_steps, steps_apart,
     "is no higher than what the converter's steps make of a strong signal that too little noise covers (of"},
};

bool spurity_measurement_may_be_artefact(const spurity_measurement *m, int file, const spurity_line *line)
{
    struct suspect suspect;
    double of_hz;
    if (!suspect_of(m, file, line, &suspect))
        return false;
    for (size_t i = 0; i < sizeof tests / sizeof *tests; i++)
        if (tests[i].is(&suspect, &of_hz))
            return true;
    return false;
}

enum word { SILENT, CONFIRMS, DENIES };

/* What another file says of a line here: that it is there as well; that it is not, with the bound of what may be; or
 * nothing that settles it. */
static enum word word_of(const struct suspect *suspect, const struct test *test, int file, double *bound_dbc)
{
    const spurity_measurement *m = suspect->m;
    const spurity_measured_file *other = &m->files[file];
    double hz = suspect->line->frequency_hz, floor_db, bound;
    double reach = suspect->line->frequency_uncertainty_hz + suspect->rbw_hz;
    spurity_spectrum_part part;
    size_t segment;
    if (!other->survey ||
        (other->spectrum && (!band_at(other->spectrum, hz, hz, &part, &segment) || !test->apart(suspect, &part, file))))
        return SILENT;
    if (!spurity_survey_bound(other->survey, hz - reach, hz + reach, &bound, &floor_db, NULL))
        return SILENT;
    double here = against_carrier(m, suspect->index, suspect->line->level_db);
    double doubt = m->point->uncertainty_dbc + suspect->line->read_high_db;
    *bound_dbc = against_carrier(m, file, bound);
    if (*bound_dbc < here - doubt)
        return DENIES;
    const spurity_line *line = spurity_survey_strongest(other->survey, hz - reach, hz + reach);
    bool there = line && !spurity_measurement_is_carrier(m, file, line) &&
                 !spurity_measurement_may_be_artefact(m, file, line) &&
                 fabs(against_carrier(m, file, line->level_db) - here) <= doubt + line->read_low_db;
    return there ? CONFIRMS : SILENT;
}

/* Whether another file shows the same line, which then is no artefact; else *bound_dbc is the lowest bound of those
 * that deny it, NaN when none does. */
static bool confirmed(const struct suspect *suspect, const struct test *test, double *bound_dbc)
{
    *bound_dbc = (double)NAN;
    for (int file = 0; file < (int)suspect->m->file_count; file++) {
        double bound = (double)NAN;
        enum word word = file == suspect->index ? SILENT : word_of(suspect, test, file, &bound);
        if (word == CONFIRMS)
            return true;
        if (word == DENIES)
            *bound_dbc = fmin(*bound_dbc, bound);
    }
    return false;
}

/* ---- naming ---- */

static void set_artefact(spurity_emission *emission, spurity_artefact artefact, double of_hz)
{
    emission->kind = SPURITY_ARTEFACT;
    emission->artefact = artefact;
    emission->artefact_of_hz = of_hz;
}

static spurity_status name(spurity_measurement *m, spurity_emission *emission, const struct test *test, double of_hz,
                           double bound_dbc)
{
    char at[40], of[40];
    set_artefact(emission, test->artefact, of_hz);
    emission->at_most_dbc = bound_dbc;
    emission->at_most_dbm = bound_dbc + m->carrier.level_dbm;
    spurity_format_frequency_near(at, sizeof at, emission->frequency_hz, emission->rbw_hz / SPURITY_RBW_PARTS);
    spurity_format_frequency_near(of, sizeof of, of_hz, emission->rbw_hz / SPURITY_RBW_PARTS);
    return spurity_notes_add(m->notes, test->note, emission->file, "what reads at %s %s %s)%s", at, test->words, of,
                             isnan(bound_dbc) ? "" : "; another file shows no such line there");
}

static spurity_status try_tests(spurity_measurement *m, spurity_emission *emission)
{
    struct suspect suspect;
    double of_hz, bound_dbc;
    if (!emission->seen || !suspect_of(m, emission->file, line_of(&m->files[emission->file], emission), &suspect))
        return SPURITY_OK;
    for (size_t i = 0; i < sizeof tests / sizeof *tests; i++)
        if (tests[i].is(&suspect, &of_hz) && !confirmed(&suspect, &tests[i], &bound_dbc))
            return name(m, emission, &tests[i], of_hz, bound_dbc);
    return SPURITY_OK;
}

/* An emission of bursts that could not be taken apart reads low as the carrier does; the ratio stays where both were
 * read alike. */
static void widen_by_key(const spurity_measurement *m, spurity_emission *emission)
{
    double low_db = m->files[emission->file].key_up_db;
    double of_carrier = m->carrier.file >= 0 && m->carrier.seen ? m->files[m->carrier.file].key_up_db : 0;
    emission->ratio_low_db += fmax(0, low_db - of_carrier);
    emission->read_low_db += m->carrier.source == SPURITY_CARRIER_FROM_METER ? fmax(0, low_db - of_carrier) : low_db;
}

/* An emission of a file that clips: what clipping takes of it stays open, and so does whether clipping made it. */
static void widen_by_clipping(const spurity_measurement *m, spurity_emission *emission)
{
    spurity_clipping clipping;
    if (!spurity_measurement_clipping(m, emission->file, &clipping))
        return;
    emission->read_low_db += clipping.line_low_db;
    emission->ratio_low_db += clipping.line_low_db;
    double level_db = emission->level_dbc + m->files[emission->file].carrier_db;
    if (isnan(level_db))
        level_db = emission->level_dbm - m->files[emission->file].dbm_offset;
    if (clipping.blind && isnan(emission->at_most_dbc))
        emission->trustworthy = false;
    emission->clipped = clipping.blind || level_db <= clipping.makes_db + m->point->uncertainty_dbc;
}

/* ---- another gain ---- */

/* A product of order n moves by (n - 1) step_db at the terminal, at least by the step; together with a signal of the
 * transmitter's by less.  From half the step on the receiver makes most of it (a product of order 2 as strong as the
 * transmitter's own line lets the reading fall by 2.6 to 3.6 dB of a 10 dB step, one 6 dB stronger by 5.3 to 8.6). */
bool spurity_measurement_name_by_gain(spurity_measurement *m, spurity_emission *emission, int other, double gap_db,
                                      double step_db)
{
    double moved = step_db > 0 ? gap_db : -gap_db;
    if (!m->files[emission->file].spectrum || !m->files[other].spectrum || emission->kind == SPURITY_ARTEFACT ||
        moved < fmax(fabs(step_db) / 2, m->point->uncertainty_dbc))
        return false;
    set_artefact(emission, SPURITY_ARTEFACT_GAIN, m->carrier.frequency_hz);
    return true;
}

/* A line that a capture with more attenuation or less gain should show and does not. */
static spurity_status try_gain(spurity_measurement *m, spurity_emission *emission)
{
    double hz = emission->frequency_hz, reach = emission->frequency_uncertainty_hz + emission->rbw_hz;
    for (int file = 0; file < (int)m->file_count; file++) {
        double bound, floor_db;
        if (file == emission->file || !m->files[file].spectrum || !spurity_measurement_is_keyed(m, file) ||
            !emission->seen || emission->kind == SPURITY_ARTEFACT ||
            !spurity_measurement_same_scale(m, file, emission->file) ||
            !spurity_survey_bound(m->sources[file].survey, hz - reach, hz + reach, &bound, &floor_db, NULL))
            continue;
        double step = spurity_measurement_step(m, emission->file, file, hz);
        double gap = emission->level_dbc - against_carrier(m, file, bound);
        char at[40];
        if (step > 0.5 && spurity_measurement_name_by_gain(m, emission, file, gap, step) &&
            spurity_notes_add(m->notes, SPURITY_NOTE_FRONT_END_UNPROVEN, emission->file,
                              "what reads at %s is gone with %.1f dB less before the converter: the receiver makes it",
                              spurity_format_frequency_near(at, sizeof at, hz, emission->rbw_hz / SPURITY_RBW_PARTS),
                              step))
            return SPURITY_SYSTEM;
    }
    return SPURITY_OK;
}

spurity_status spurity_measurement_name_artefacts(spurity_measurement *m, spurity_error *error)
{
    for (size_t i = 0; i < m->emission_count; i++) {
        spurity_emission *emission = &m->emissions[i];
        emission->artefact_of_hz = emission->at_most_dbm = emission->at_most_dbc = (double)NAN;
        if (try_tests(m, emission) || try_gain(m, emission))
            return spurity_report_memory(error);
        widen_by_clipping(m, emission);
        widen_by_key(m, emission);
    }
    return SPURITY_OK;
}
