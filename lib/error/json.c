/* SPDX-License-Identifier: GPL-2.0-or-later */
/* jansson (2.14) gathers each token in a buffer that grows, and goes on with what it has where it cannot: characters
 * are lost without a word, or the text is told as malformed.  So the text is read as the second item of a list whose
 * first is a string longer than any token of it.  Where that comes out whole, the buffer grew as far as it will. */
#include "json.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { PARTS = 5 };

typedef struct wrapped {
    const char *parts[PARTS]; /* NULL: as many x */
    size_t sizes[PARTS], part, at;
} wrapped;

static size_t next(void *buffer, size_t size, void *user)
{
    wrapped *from = user;
    while (from->part < PARTS && from->at == from->sizes[from->part]) {
        from->part++;
        from->at = 0;
    }
    if (from->part == PARTS)
        return 0;
    const size_t left = from->sizes[from->part] - from->at, take = left < size ? left : size;
    if (from->parts[from->part])
        memcpy(buffer, from->parts[from->part] + from->at, take);
    else
        memset(buffer, 'x', take);
    from->at += take;
    return take;
}

static size_t longest_token(const char *text, size_t size)
{
    size_t run = 0, longest = 0;
    bool quoted = false, escaped = false;
    for (size_t i = 0; i < size; i++) {
        if (!quoted && strchr(" \t\r\n,:[]{}", text[i])) /* a NUL too */
            run = 0;
        else if (++run > longest)
            longest = run;
        if (text[i] == '"' && !escaped)
            quoted = !quoted;
        escaped = quoted && !escaped && text[i] == '\\';
    }
    return longest;
}

/* How many x: such that the buffer, which starts with 16 bytes and doubles, grows for the last time within them. */
static size_t filling_for(const char *text, size_t size)
{
    const size_t longest = longest_token(text, size);
    size_t count = 16;
    while (count < longest)
        count *= 2;
    return count;
}

/* Twice the buffer, and what else the string takes, can be had just now. */
static bool is_room(size_t filling)
{
    void *volatile probe = malloc(6 * filling);
    const bool is = probe != NULL;
    free(probe);
    return is;
}

/* The text itself; NULL where it is "1, 2", or no list and no object, which json_loadb does not take. */
static json_t *unwrap(const json_t *list)
{
    json_t *text = json_array_size(list) == 2 ? json_array_get(list, 1) : NULL;
    return json_is_array(text) || json_is_object(text) ? json_incref(text) : NULL;
}

/* Whether the text is at fault: it begins as none may, goes on behind its end, or shows its fault in the same place
 * without the guard (but for what the closing bracket adds). */
static bool is_malformed(const char *text, size_t size, const json_error_t *alone, const json_error_t *guarded,
                         size_t length)
{
    size_t begin = 0;
    while (begin < size && text[begin] && strchr(" \t\r\n", text[begin]))
        begin++;
    if (begin == size || (text[begin] != '[' && text[begin] != '{') ||
        json_error_code(alone) == json_error_end_of_input_expected)
        return true;
    const long apart = (long)guarded->position - (long)length - (long)alone->position;
    return apart >= -2 && apart <= 2;
}

json_t *spurity_json_load(const char *text, size_t size, json_error_t *fault, bool *no_memory)
{
    static const char begin[] = "[\"", end[] = "\",                \n"; /* blanks: for places to differ by */
    const size_t filling = filling_for(text, size), length = sizeof begin - 1 + filling + sizeof end - 1;
    json_error_t guarded = {0};
    *no_memory = size > SIZE_MAX / 16 || !is_room(filling);
    if (*no_memory)
        return NULL;
    wrapped from = {{begin, NULL, end, text, "\n]"}, {sizeof begin - 1, filling, sizeof end - 1, size, 2}, 0, 0};
    json_t *list = json_load_callback(next, &from, JSON_REJECT_DUPLICATES, &guarded);
    const bool whole = json_string_length(json_array_get(list, 0)) == filling;
    json_t *root = whole ? unwrap(list) : NULL;
    json_t *alone = root ? NULL : json_loadb(text, size, JSON_REJECT_DUPLICATES, fault);
    if (!root)
        *no_memory = alone || (list && !whole) || !is_malformed(text, size, fault, &guarded, length);
    json_decref(alone);
    json_decref(list);
    return root;
}
