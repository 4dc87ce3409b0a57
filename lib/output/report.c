/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The report: one page, whole in itself. */
#include <math.h>

#include "report.h"

extern const unsigned char spurity_report_style[];
extern const unsigned long spurity_report_style_size;

/* The policy is a second lock: even were markup to get in, no script would run and nothing would be fetched. */
static void write_start(spurity_paper *at)
{
    const char *headline = spurity_result_text(at->result, "headline");
    spurity_buffer_text(&at->out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                                  "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                                  "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'\">\n"
                                  "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>");
    spurity_html_text(&at->out, headline ? headline : "Measured, not judged");
    spurity_buffer_text(&at->out, "</title>\n<style>\n");
    spurity_buffer_add(&at->out, (const char *)spurity_report_style, spurity_report_style_size);
    spurity_buffer_text(&at->out, "</style>\n</head>\n<body>\n<main>\n");
}

static void write_end(spurity_paper *at)
{
    const char *tool = spurity_result_text(at->result, "tool");
    spurity_buffer_text(&at->out, "</main>\n<footer>Written by ");
    spurity_html_foreign(&at->out, tool ? tool : "");
    spurity_buffer_text(&at->out, ". It judges figures and is no certification.</footer>\n</body>\n</html>\n");
}

spurity_status spurity_output_report(const spurity_result *result, spurity_bytes *out, spurity_error *error)
{
    spurity_paper at = {.result = result, .carrier_dbm = NAN};
    *out = (spurity_bytes){0};
    spurity_status status = spurity_shown_load(result, &at.shown, error);
    if (status)
        return status;
    spurity_result_number(result, "carrier/level_dbm", &at.carrier_dbm);
    write_start(&at);
    spurity_paper_head(&at);
    spurity_paper_carrier(&at);
    spurity_paper_not_shown(&at);
    status = spurity_paper_picture(&at, error);
    if (!status) {
        spurity_paper_judged(&at);
        spurity_paper_told(&at);
        spurity_paper_budgets(&at);
        spurity_paper_assumed(&at);
        spurity_paper_inputs(&at);
        spurity_paper_settings(&at);
        spurity_paper_rules(&at);
        spurity_paper_cautions(&at);
        write_end(&at);
        status = spurity_buffer_give(&at.out, out, error);
    }
    spurity_buffer_release(&at.out);
    spurity_shown_release(&at.shown);
    return status;
}
