/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Any bytes as a bench file and as a budget file: refused with a place, or read, and then a level has a finite
 * uncertainty. */
#include <math.h>

#include "../../lib/bench/bench.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void use(const spurity_budget *budget)
{
    spurity_budget_level level = {.hz = 146.94e6, .below_carrier_db = 50, .attenuation_db = (double)NAN, .loss_db = 40};
    spurity_uncertainty list = {0};
    double low, high;
    spurity_budget_contributions(budget, &level, &list);
    level.hz = 293.88e6;
    level.capture = true;
    level.below_carrier_db = (double)NAN;
    spurity_uncertainty other = {0};
    spurity_budget_contributions(budget, &level, &other);
    spurity_budget_meter(budget, &other);
    list = spurity_uncertainty_difference(&list, &other);
    double expanded = spurity_uncertainty_expanded(&list);
    if (!isfinite(expanded) || expanded < 0)
        __builtin_trap();
    if (!spurity_uncertainty_interval(&list, 0.95, &low, &high) || !isfinite(high) || low > 0 || high < 0)
        __builtin_trap();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    spurity_bench *bench = NULL;
    spurity_budget budget;
    spurity_error error = {0};
    char told[1000];
    spurity_status status = spurity_bench_load_memory("folder/fuzz.yaml", (const char *)data, size, &bench, &error);
    spurity_error_describe(&error, told, sizeof told);
    if ((status == SPURITY_OK) != (bench != NULL) || status != error.status)
        __builtin_trap();
    for (size_t i = 0; bench && i < spurity_bench_setting_count(bench); i++) {
        const spurity_bench_setting *one = spurity_bench_setting_at(bench, i);
        if (!one->name || !one->key || !one->value || !one->place.line)
            __builtin_trap();
    }
    if (bench && spurity_bench_budget(bench))
        use(spurity_bench_budget(bench));
    spurity_bench_free(bench);
    if (!spurity_budget_load_memory("fuzz.yaml", (const char *)data, size, &budget, NULL))
        use(&budget);
    return 0;
}
