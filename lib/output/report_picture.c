/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The picture inside the page: the SVG that gnuplot wrote, of which only what draws is kept.  A picture with foreign
 * words in it is foreign itself: elements and attributes that are not listed here go, and so does every reference that
 * leaves it. */
#include <string.h>

#include "report.h"

enum { NAME_MOST = 24, VALUE_MOST = 1 << 22 };

typedef struct cleaner {
    const char *at, *end;
    spurity_buffer *out;
    size_t depth, skipped; /* open elements; of which inside one that goes */
    size_t in_text;        /* depth of the text element that is open, 0 = none */
    bool done;             /* the root is closed */
} cleaner;

static bool is_listed(const char *const *list, size_t count, const char *name, size_t length)
{
    for (size_t i = 0; i < count; i++)
        if (strlen(list[i]) == length && !memcmp(list[i], name, length))
            return true;
    return false;
}

static bool element_stays(const char *name, size_t length)
{
    static const char *const elements[] = {"svg",  "g",      "defs",    "path", "polygon", "polyline", "line",
                                           "rect", "circle", "ellipse", "use",  "text",    "tspan"};
    return is_listed(elements, sizeof elements / sizeof elements[0], name, length);
}

static bool attribute_stays(const char *name, size_t length)
{
    static const char *const attributes[] = {"viewBox",
                                             "x",
                                             "y",
                                             "x1",
                                             "y1",
                                             "x2",
                                             "y2",
                                             "dx",
                                             "dy",
                                             "width",
                                             "height",
                                             "r",
                                             "rx",
                                             "ry",
                                             "cx",
                                             "cy",
                                             "d",
                                             "points",
                                             "transform",
                                             "fill",
                                             "stroke",
                                             "color",
                                             "stroke-width",
                                             "stroke-linecap",
                                             "stroke-linejoin",
                                             "font-size",
                                             "font-weight",
                                             "font-style",
                                             "font-family",
                                             "text-anchor",
                                             "stroke-dasharray",
                                             "opacity",
                                             "fill-opacity",
                                             "stroke-opacity",
                                             "fill-rule",
                                             "shape-rendering"};
    return is_listed(attributes, sizeof attributes / sizeof attributes[0], name, length);
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static bool is_name(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == ':' ||
           c == '_';
}

static size_t name_length(const cleaner *in)
{
    size_t length = 0;
    while (in->at + length < in->end && is_name(in->at[length]))
        length++;
    return length;
}

static void skip_blanks(cleaner *in)
{
    while (in->at < in->end && is_blank(*in->at))
        in->at++;
}

/* No mark that would end the attribute, begin an element or a character reference, or name something elsewhere. */
static bool value_is_harmless(const char *value, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (strchr("<>&\"':;\\@", value[i]) || (unsigned char)value[i] < 0x09)
            return false;
    return !memmem(value, length, "url", 3);
}

static void write_attribute(cleaner *in, const char *name, size_t name_size, const char *before, const char *value,
                            size_t size)
{
    spurity_buffer_text(in->out, " ");
    spurity_buffer_add(in->out, name, name_size);
    spurity_buffer_text(in->out, "=\"");
    spurity_buffer_text(in->out, before);
    spurity_buffer_add(in->out, value, size);
    spurity_buffer_text(in->out, "\"");
}

/* Marks are named within the picture ("gpPt6"); on the page the names get a beginning of their own. */
static void keep_attribute(cleaner *in, const char *name, size_t name_size, const char *value, size_t size, bool group)
{
    if (!value_is_harmless(value, size))
        return;
    if (name_size == 2 && !memcmp(name, "id", 2) && !group)
        write_attribute(in, name, name_size, "picture-", value, size);
    else if (name_size == 10 && !memcmp(name, "xlink:href", 10) && size > 1 && value[0] == '#')
        write_attribute(in, "href", 4, "#picture-", value + 1, size - 1);
    else if (attribute_stays(name, name_size))
        write_attribute(in, name, name_size, "", value, size);
}

/* One attribute; false where there is none that is well made. */
static bool take_attribute(cleaner *in, bool stays, bool group)
{
    const char *name = in->at;
    size_t name_size = name_length(in);
    in->at += name_size;
    skip_blanks(in);
    if (!name_size || in->at + 2 > in->end || *in->at++ != '=')
        return false;
    skip_blanks(in);
    if (in->at >= in->end || (*in->at != '"' && *in->at != '\''))
        return false;
    const char *value = in->at + 1;
    const char *close = memchr(value, *in->at, (size_t)(in->end - value));
    if (!close)
        return false;
    if (stays)
        keep_attribute(in, name, name_size, value, (size_t)(close - value), group);
    in->at = close + 1;
    return true;
}

static bool take_opening(cleaner *in)
{
    const char *name = in->at;
    size_t length = name_length(in);
    bool stays = !in->skipped && element_stays(name, length), group = length == 1 && *name == 'g';
    if (!length || in->done || (!in->depth && (length != 3 || memcmp(name, "svg", 3) != 0)))
        return false;
    in->at += length;
    if (stays) {
        spurity_buffer_text(in->out, "<");
        spurity_buffer_add(in->out, name, length);
    }
    if (!in->depth)
        spurity_buffer_text(in->out, " role=\"img\" aria-labelledby=\"picture-words\"");
    for (skip_blanks(in); in->at < in->end && *in->at != '>' && *in->at != '/'; skip_blanks(in))
        if (!take_attribute(in, stays, group))
            return false;
    bool empty = in->at < in->end && *in->at == '/';
    in->at += empty;
    if (in->at >= in->end || *in->at++ != '>')
        return false;
    if (stays)
        spurity_buffer_text(in->out, empty ? "/>" : ">");
    if (empty)
        return in->depth > 0;
    in->depth++;
    in->skipped += !stays;
    if (stays && length == 4 && !memcmp(name, "text", 4) && !in->in_text)
        in->in_text = in->depth;
    return true;
}

static bool take_closing(cleaner *in)
{
    const char *name = in->at;
    size_t length = name_length(in);
    in->at += length;
    skip_blanks(in);
    if (!length || !in->depth || in->at >= in->end || *in->at++ != '>')
        return false;
    if (in->skipped) {
        in->skipped--;
    } else {
        spurity_buffer_text(in->out, "</");
        spurity_buffer_add(in->out, name, length);
        spurity_buffer_text(in->out, ">");
    }
    if (in->in_text == in->depth)
        in->in_text = 0;
    in->done = !--in->depth;
    return !in->done || !in->skipped;
}

/* A character reference of XML; any other & is a letter. */
static bool is_reference(const char *at, const char *end)
{
    static const char *const names[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&apos;"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if ((size_t)(end - at) >= strlen(names[i]) && !memcmp(at, names[i], strlen(names[i])))
            return true;
    return false;
}

static void take_words(cleaner *in, const char *to)
{
    for (; in->at < to; in->at++) {
        if (!in->in_text || in->skipped)
            continue;
        if (*in->at == '>')
            spurity_buffer_text(in->out, "&gt;");
        else if (*in->at == '&' && !is_reference(in->at, to))
            spurity_buffer_text(in->out, "&amp;");
        else
            spurity_buffer_add(in->out, in->at, 1);
    }
}

bool spurity_paper_clean_svg(const char *svg, size_t size, spurity_buffer *out)
{
    cleaner in = {.at = svg, .end = svg + size, .out = out};
    while (in.at < in.end) {
        const char *tag = memchr(in.at, '<', (size_t)(in.end - in.at));
        take_words(&in, tag ? tag : in.end);
        if (!tag || ++in.at >= in.end)
            break;
        bool well = true;
        if (*in.at == '?' || *in.at == '!') {
            const char *close = memchr(in.at, '>', (size_t)(in.end - in.at));
            in.at = close ? close + 1 : in.end;
        } else if (*in.at == '/') {
            in.at++;
            well = take_closing(&in);
        } else {
            well = take_opening(&in);
        }
        if (!well)
            return false;
    }
    return in.done && !in.depth;
}

spurity_status spurity_paper_picture(spurity_paper *at, spurity_error *error)
{
    if (!spurity_result_picture(at->result)) {
        spurity_html_section(&at->out, "picture", "The sweep");
        spurity_buffer_text(&at->out, "<p>There is no picture: nothing was swept that could be drawn, or this result "
                                      "was read back without its sweep.</p>\n");
        spurity_html_section_end(&at->out);
        return SPURITY_OK;
    }
    spurity_bytes picture = {0};
    spurity_status status = spurity_output_picture(at->result, "svg", &picture, error);
    if (status)
        return status;
    spurity_html_section(&at->out, "picture", "The sweep");
    spurity_buffer_text(&at->out, "<figure>\n<div class=\"sheet\" tabindex=\"0\" role=\"group\" "
                                  "aria-label=\"picture of the sweep; it can be moved sideways on a narrow screen\">");
    if (!spurity_paper_clean_svg(picture.data, picture.size, &at->out))
        status = spurity_report(error, SPURITY_SYSTEM, (spurity_place){0}, "a picture of gnuplot's that is no SVG",
                                NULL, "install gnuplot-nox 5.4 or later");
    spurity_bytes_release(&picture);
    spurity_buffer_text(&at->out, "</div>\n<figcaption id=\"picture-words\">What was swept, in levels at the antenna "
                                  "terminal: the dark line is the highest reading. Shaded: what the rules forbid. "
                                  "Hatched: what was not shown.</figcaption>\n</figure>\n");
    spurity_html_section_end(&at->out);
    return status;
}
