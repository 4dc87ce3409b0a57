/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Life of a plan, its lists and the order of the work. */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../error/grow.h"
#include "parts.h"

/* ---- lists ---- */

/* One more item of `size` bytes, zeroed, at the end of a list; NULL when memory is out. */
static void *add(struct planning *p, void **items, size_t *count, size_t *room, size_t size)
{
    void *grown = spurity_grow(*items, *count, room, size);
    if (!grown) {
        spurity_report_memory(p->error);
        return NULL;
    }
    *items = grown;
    void *item = (char *)grown + *count * size;
    memset(item, 0, size);
    ++*count;
    return item;
}

spurity_plan_attenuator *spurity_plan_add_attenuator(struct planning *p)
{
    spurity_plan *plan = p->plan;
    void *items = plan->attenuators;
    spurity_plan_attenuator *item =
        add(p, &items, &plan->attenuator_count, &plan->attenuator_room, sizeof *plan->attenuators);
    plan->attenuators = items;
    return item;
}

spurity_plan_sweep *spurity_plan_add_sweep(struct planning *p)
{
    spurity_plan *plan = p->plan;
    void *items = plan->sweeps;
    spurity_plan_sweep *item = add(p, &items, &plan->sweep_count, &plan->sweep_room, sizeof *plan->sweeps);
    plan->sweeps = items;
    return item;
}

spurity_plan_capture *spurity_plan_add_capture(struct planning *p)
{
    spurity_plan *plan = p->plan;
    void *items = plan->captures;
    spurity_plan_capture *item = add(p, &items, &plan->capture_count, &plan->capture_room, sizeof *plan->captures);
    plan->captures = items;
    return item;
}

spurity_plan_visibility *spurity_plan_add_visibility(struct planning *p)
{
    spurity_plan *plan = p->plan;
    void *items = plan->visibility;
    spurity_plan_visibility *item =
        add(p, &items, &plan->visibility_count, &plan->visibility_room, sizeof *plan->visibility);
    plan->visibility = items;
    return item;
}

spurity_status spurity_plan_add_need(struct planning *p, const char *option, const char *why)
{
    spurity_plan *plan = p->plan;
    for (size_t i = 0; i < plan->need_count; i++)
        if (!strcmp(plan->needs[i].option, option))
            return SPURITY_OK;
    void *items = plan->needs;
    spurity_plan_need *item = add(p, &items, &plan->need_count, &plan->need_room, sizeof *plan->needs);
    plan->needs = items;
    if (!item)
        return SPURITY_SYSTEM;
    snprintf(item->option, sizeof item->option, "%s", option);
    snprintf(item->why, sizeof item->why, "%s", why);
    return SPURITY_OK;
}

spurity_status spurity_plan_add_needs(struct planning *p, const char *options, const char *why)
{
    char option[40];
    spurity_status status = SPURITY_OK;
    for (const char *at = options; *at && !status;) {
        size_t length = strcspn(at, " ");
        snprintf(option, sizeof option, "%.*s", (int)length, at);
        if (length)
            status = spurity_plan_add_need(p, option, why);
        at += length;
        at += strspn(at, " ");
    }
    return status;
}

spurity_status spurity_plan_add_caution(struct planning *p, const char *format, ...)
{
    char text[sizeof *p->plan->cautions];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    spurity_plan *plan = p->plan;
    void *items = plan->cautions;
    char(*item)[sizeof text] = add(p, &items, &plan->caution_count, &plan->caution_room, sizeof *plan->cautions);
    plan->cautions = items;
    if (!item)
        return SPURITY_SYSTEM;
    memcpy(*item, text, sizeof text);
    return SPURITY_OK;
}

void spurity_plan_block(struct planning *p, const char *format, ...)
{
    char text[sizeof p->first];
    va_list list;
    va_start(list, format);
    vsnprintf(text, sizeof text, format, list);
    va_end(list);
    p->blocked = true;
    if (!p->first[0])
        memcpy(p->first, text, sizeof text);
}

/* ---- the door ---- */

const char *spurity_plan_outcome_name(spurity_plan_outcome outcome)
{
    static const char *const names[] = {
        [SPURITY_PLAN_READY] = "ready", [SPURITY_PLAN_NOT_ENOUGH] = "not enough", [SPURITY_PLAN_HARMFUL] = "harmful"};
    return (unsigned)outcome < sizeof names / sizeof *names ? names[outcome] : NULL;
}

const char *spurity_plan_purpose_name(spurity_plan_purpose purpose)
{
    static const char *const names[] = {
        [SPURITY_PLAN_CARRIER] = "carrier", [SPURITY_PLAN_RANGE] = "range",     [SPURITY_PLAN_HARMONIC] = "harmonic",
        [SPURITY_PLAN_MASK] = "mask",       [SPURITY_PLAN_LEAKAGE] = "leakage", [SPURITY_PLAN_AMBIENT] = "ambient"};
    return (unsigned)purpose < sizeof names / sizeof *names ? names[purpose] : NULL;
}

static spurity_status work(struct planning *p)
{
    static spurity_status (*const steps[])(struct planning *) = {
        spurity_plan_find_worlds,  spurity_plan_place,    spurity_plan_attenuation, spurity_plan_ask,
        spurity_plan_sweeps,       spurity_plan_captures, spurity_plan_masks,       spurity_plan_see_frequency,
        spurity_plan_own_products, spurity_plan_cautions};
    size_t count = sizeof steps / sizeof *steps;
    for (size_t i = 0; i < count; i++) {
        if (!spurity_watch_tick(p->watch, "planning", (double)i / (double)count))
            return spurity_report(p->error, SPURITY_CANCELLED, (spurity_place){0}, "stopped", NULL, NULL);
        spurity_status status = steps[i](p);
        if (status)
            return status;
    }
    spurity_plan_write_headline(p);
    return SPURITY_OK;
}

static spurity_status allocate(struct planning *p)
{
    p->plan = calloc(1, sizeof *p->plan);
    p->worlds = calloc(p->question->rules_count, sizeof *p->worlds);
    p->emissions = calloc(SPURITY_PLAN_CANDIDATES, sizeof *p->emissions);
    p->masks = calloc(SPURITY_PLAN_CANDIDATES, sizeof *p->masks);
    if (p->plan && p->worlds && p->emissions && p->masks)
        return SPURITY_OK;
    return spurity_report_memory(p->error);
}

spurity_status spurity_plan_create(const spurity_plan_question *question, const spurity_watch *watch,
                                   spurity_plan **plan, spurity_error *error)
{
    *plan = NULL;
    spurity_status status = spurity_plan_check_question(question, error);
    if (status)
        return status;
    struct planning p = {.question = question, .point = question->point, .watch = watch, .error = error};
    status = allocate(&p);
    if (!status) {
        spurity_plan_read_question(&p);
        status = work(&p);
    }
    free(p.worlds);
    free(p.emissions);
    free(p.masks);
    spurity_chain_free(p.proposed);
    if (status) {
        spurity_plan_free(p.plan);
        return status;
    }
    *plan = p.plan;
    return SPURITY_OK;
}

void spurity_plan_free(spurity_plan *plan)
{
    if (!plan)
        return;
    free(plan->attenuators);
    free(plan->sweeps);
    free(plan->captures);
    free(plan->visibility);
    free(plan->cautions);
    free(plan->needs);
    free(plan);
}

spurity_plan_outcome spurity_plan_outcome_of(const spurity_plan *plan)
{
    return plan->outcome;
}

const char *spurity_plan_headline(const spurity_plan *plan)
{
    return plan->headline;
}

void spurity_plan_figures_of(const spurity_plan *plan, spurity_plan_figures *figures)
{
    *figures = plan->figures;
}

size_t spurity_plan_attenuator_count(const spurity_plan *plan)
{
    return plan->attenuator_count;
}

const spurity_plan_attenuator *spurity_plan_attenuator_at(const spurity_plan *plan, size_t index)
{
    return index < plan->attenuator_count ? &plan->attenuators[index] : NULL;
}

size_t spurity_plan_sweep_count(const spurity_plan *plan)
{
    return plan->sweep_count;
}

const spurity_plan_sweep *spurity_plan_sweep_at(const spurity_plan *plan, size_t index)
{
    return index < plan->sweep_count ? &plan->sweeps[index] : NULL;
}

size_t spurity_plan_capture_count(const spurity_plan *plan)
{
    return plan->capture_count;
}

const spurity_plan_capture *spurity_plan_capture_at(const spurity_plan *plan, size_t index)
{
    return index < plan->capture_count ? &plan->captures[index] : NULL;
}

size_t spurity_plan_visibility_count(const spurity_plan *plan)
{
    return plan->visibility_count;
}

const spurity_plan_visibility *spurity_plan_visibility_at(const spurity_plan *plan, size_t index)
{
    return index < plan->visibility_count ? &plan->visibility[index] : NULL;
}

size_t spurity_plan_own_product_count(const spurity_plan *plan)
{
    return plan->own_count;
}

const spurity_plan_own_product *spurity_plan_own_product_at(const spurity_plan *plan, size_t index)
{
    return index < plan->own_count ? &plan->own[index] : NULL;
}

size_t spurity_plan_caution_count(const spurity_plan *plan)
{
    return plan->caution_count;
}

const char *spurity_plan_caution_at(const spurity_plan *plan, size_t index)
{
    return index < plan->caution_count ? plan->cautions[index] : NULL;
}

size_t spurity_plan_need_count(const spurity_plan *plan)
{
    return plan->need_count;
}

const spurity_plan_need *spurity_plan_need_at(const spurity_plan *plan, size_t index)
{
    return index < plan->need_count ? &plan->needs[index] : NULL;
}
