/* SPDX-License-Identifier: GPL-2.0-or-later */
#include <math.h>

#include "parts.h"

/* What a bound or a doubtful level can show: that it is inside by U, nothing else. */
static spurity_outcome decide(const struct level *level, double margin, double up, double down, bool simple)
{
    if (level->untrusted || isnan(margin))
        return SPURITY_OUTCOME_NOT_SHOWN;
    if (level->at_most)
        return spurity_decide(margin, up, false) == SPURITY_OUTCOME_PASS ? SPURITY_OUTCOME_PASS
                                                                         : SPURITY_OUTCOME_NOT_SHOWN;
    return spurity_decide(margin, margin >= 0 ? up : down, simple);
}

/* Each leaf in its own quantity: an absolute level in dBm, a suppression in dBc. */
static struct meeting meet_leaf(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                                const struct level *level, double guard, bool simple)
{
    struct meeting meeting = {
        .leaf = limit, .world = conditions, .hz = hz, .measured = (double)NAN, .limit = (double)NAN};
    double value;
    const char *unit;
    bool known = spurity_limit_value(limit, conditions, hz, &value, &unit);
    meeting.ratio = spurity_limit_kind_of(limit) == SPURITY_LIMIT_SUPPRESSION;
    meeting.measured = meeting.ratio ? level->dbc : level->dbm;
    if (known)
        meeting.limit = meeting.ratio ? -value : value;
    meeting.margin = meeting.limit - meeting.measured;
    double up = guard * (meeting.ratio ? level->u_dbc_up : level->u_dbm_up);
    double down = meeting.ratio ? level->u_dbc_down : level->u_dbm_down;
    bool below = meeting.margin < 0 && !level->at_most;
    meeting.uncertainty = below ? down : up;
    meeting.guard = below ? 1 : guard;
    meeting.outcome = decide(level, meeting.margin, up, down, simple);
    if (meeting.outcome != SPURITY_OUTCOME_NOT_SHOWN || !(level->sure_db > 0) || level->untrusted)
        return meeting;
    /* over the limit by what is sure to be there fails */
    double sure = meeting.margin + level->sure_db;
    if (spurity_decide(sure, down, false) != SPURITY_OUTCOME_FAIL)
        return meeting;
    meeting.measured -= level->sure_db;
    meeting.margin = sure;
    meeting.uncertainty = down;
    meeting.guard = 1;
    meeting.outcome = SPURITY_OUTCOME_FAIL;
    return meeting;
}

/* Whether b binds rather than a: the worse outcome under lowest_of, the better under highest_of; among equals the
 * smaller (larger) room to its limit, an unknown one last. */
static bool binds_rather(const struct meeting *a, const struct meeting *b, bool lowest)
{
    if (a->outcome != b->outcome)
        return lowest ? b->outcome > a->outcome : b->outcome < a->outcome;
    double room_a = a->margin - a->uncertainty, room_b = b->margin - b->uncertainty;
    if (isnan(room_a) || isnan(room_b))
        return isnan(room_a) && !isnan(room_b);
    return lowest ? room_b < room_a : room_b > room_a;
}

void spurity_verdict_name_leaf(const struct meeting *meeting, char *binding, size_t size, spurity_judgement *row)
{
    binding[0] = '\0';
    if (!meeting->leaf)
        return;
    spurity_limit_describe(meeting->leaf, binding, size);
    spurity_limit_work(meeting->leaf, meeting->world, meeting->hz, row->work, sizeof row->work);
    row->guard = meeting->guard;
}

static struct meeting meet(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                           const struct level *level, double guard, bool simple);

/* How many children are not over by U and more: those that are would not have been passed by the same reading. */
static size_t could_pass(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                         const struct level *level)
{
    struct level as_read = *level;
    size_t count = 0;
    as_read.at_most = as_read.untrusted = false;
    for (size_t i = 0; i < spurity_limit_child_count(limit); i++) {
        struct meeting child = meet(spurity_limit_child(limit, i), conditions, hz, &as_read, 1, false);
        count += child.outcome != SPURITY_OUTCOME_FAIL && !isnan(child.margin);
    }
    return count;
}

static struct meeting meet(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                           const struct level *level, double guard, bool simple)
{
    spurity_limit_kind kind = spurity_limit_kind_of(limit);
    if (kind == SPURITY_LIMIT_LEVEL || kind == SPURITY_LIMIT_SUPPRESSION)
        return meet_leaf(limit, conditions, hz, level, guard, simple);
    if (kind == SPURITY_LIMIT_HIGHEST_OF && !simple)
        guard *= spurity_guard_of_any(could_pass(limit, conditions, hz, level));
    struct meeting bound = {.outcome = SPURITY_OUTCOME_NOT_SHOWN, .margin = (double)NAN};
    for (size_t i = 0; i < spurity_limit_child_count(limit); i++) {
        struct meeting child = meet(spurity_limit_child(limit, i), conditions, hz, level, guard, simple);
        if (!i || binds_rather(&bound, &child, kind == SPURITY_LIMIT_LOWEST_OF))
            bound = child;
    }
    return bound;
}

struct meeting spurity_verdict_meet(const spurity_limit *limit, const spurity_conditions *conditions, double hz,
                                    const struct level *level, bool simple)
{
    return meet(limit, conditions, hz, level, 1, simple);
}
