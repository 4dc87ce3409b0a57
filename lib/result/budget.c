/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The table behind an uncertainty, so that it can be added up again by hand. */
#include "internal.h"

static json_t *row_object(const spurity_budget_row *row)
{
    static const char *const sides[] = {"down", "both", "up"};
    return json_pack("{s:o, s:o, s:s, s:o, s:o, s:o, s:s}", "source", spurity_value_text(row->source), "figure_db",
                     spurity_value_fraction(row->figure_db), "distribution",
                     spurity_distribution_name(row->distribution), "divisor", spurity_value_fraction(row->divisor),
                     "sensitivity", spurity_value_fraction(row->sensitivity), "standard_db",
                     spurity_value_fraction(row->standard_db), "side", sides[row->side + 1]);
}

json_t *spurity_budget_table(const spurity_measurement *measurement, long emission, bool ratio)
{
    spurity_budget_row rows[SPURITY_BUDGET_ROWS_MAX];
    size_t count = spurity_measurement_budget(measurement, emission, ratio, rows, SPURITY_BUDGET_ROWS_MAX);
    json_t *list = json_array();
    for (size_t i = 0; list && i < count; i++)
        if (json_array_append_new(list, row_object(&rows[i]))) {
            json_decref(list);
            return NULL;
        }
    return list;
}
