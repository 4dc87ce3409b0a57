/* SPDX-License-Identifier: GPL-2.0-or-later */
/* jansson (2.14) gathers each token in a buffer that grows, and goes on with what it has where it cannot: characters
 * are lost without a word, or the text is told as malformed.  So the text is read as the second item of a list whose
 * first is a number longer than any token of it: 1000...e-N, which is 1 if no character of it was lost.  Behind it the
 * buffer grows no more. */
#include "json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EXPONENT_MOST = 32 };

typedef struct wrapped {
    const char *parts[3];
    size_t sizes[3], part, at;
} wrapped;

static size_t next(void *buffer, size_t size, void *user)
{
    wrapped *from = user;
    while (from->part < 3 && from->at == from->sizes[from->part]) {
        from->part++;
        from->at = 0;
    }
    if (from->part == 3)
        return 0;
    const size_t left = from->sizes[from->part] - from->at, take = left < size ? left : size;
    memcpy(buffer, from->parts[from->part] + from->at, take);
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

/* "[1000...e-N," and a new line.  N is such that the buffer, which starts with 16 bytes and doubles, grows for the last
 * time within the zeros. */
static char *guard_for(const char *text, size_t size, size_t *length)
{
    const size_t longest = longest_token(text, size);
    size_t zeros = 16;
    while (zeros < longest)
        zeros *= 2;
    char *guard = malloc(zeros + EXPONENT_MOST);
    if (!guard)
        return NULL;
    guard[0] = '[';
    guard[1] = '1';
    memset(guard + 2, '0', zeros);
    *length = 2 + zeros + (size_t)snprintf(guard + 2 + zeros, EXPONENT_MOST - 2, "e-%zu,\n", zeros);
    return guard;
}

/* Whether no character of the guard was lost. */
static bool is_whole(const json_t *list)
{
    const json_t *guard = json_array_get(list, 0);
    return json_is_real(guard) && json_real_value(guard) == 1;
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
    size_t length = 0;
    json_error_t guarded = {0};
    char *guard = guard_for(text, size, &length);
    *no_memory = !guard;
    if (!guard)
        return NULL;
    wrapped from = {{guard, text, "\n]"}, {length, size, 2}, 0, 0};
    json_t *list = json_load_callback(next, &from, JSON_REJECT_DUPLICATES, &guarded);
    const bool whole = is_whole(list);
    json_t *root = whole ? unwrap(list) : NULL;
    json_t *alone = root ? NULL : json_loadb(text, size, JSON_REJECT_DUPLICATES, fault);
    if (!root)
        *no_memory = alone || (list && !whole) || !is_malformed(text, size, fault, &guarded, length);
    json_decref(alone);
    json_decref(list);
    free(guard);
    return root;
}
