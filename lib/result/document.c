/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The document's life, its text, and values by path. */
#include <stdlib.h>
#include <string.h>

#include "internal.h"

void spurity_result_free(spurity_result *result)
{
    if (!result)
        return;
    json_decref(result->root);
    spurity_picture_free(result->picture);
    free(result);
}

spurity_status spurity_result_json(const spurity_result *result, char **text, size_t *size, spurity_error *error)
{
    return spurity_document_text(result->root, text, size, error);
}

struct page {
    char *text;
    size_t size, room;
    bool failed;
};

/* jansson (2.14) goes on after a key that it could not write: what failed is remembered here. */
static int take(const char *bytes, size_t count, void *user)
{
    struct page *page = user;
    if (count > SIZE_MAX / 4 - page->size)
        page->failed = true;
    while (!page->failed && page->room - page->size < count) {
        size_t room = page->room ? 2 * page->room : 4096;
        char *grown = realloc(page->text, room);
        page->failed = !grown;
        page->text = grown ? grown : page->text;
        page->room = grown ? room : page->room;
    }
    if (page->failed)
        return -1;
    memcpy(page->text + page->size, bytes, count);
    page->size += count;
    return 0;
}

spurity_status spurity_document_text(const json_t *root, char **text, size_t *size, spurity_error *error)
{
    struct page page = {0};
    *text = NULL;
    *size = 0;
    /* 15 digits: every figure was rounded to fewer, so that 0.1 comes out as 0.1. */
    if (json_dump_callback(root, take, &page, JSON_INDENT(2) | JSON_REAL_PRECISION(15)) || take("\n", 2, &page)) {
        free(page.text);
        return spurity_report_memory(error);
    }
    *text = page.text;
    *size = page.size - 1; /* the closing NUL is no part of it */
    return SPURITY_OK;
}

const spurity_picture *spurity_result_picture(const spurity_result *result)
{
    return result->picture ? spurity_picture_view(result->picture) : NULL;
}

/* One step of a path: a key of an object, or a number into an array.  Takes no notice of what is absent. */
static const json_t *step_into(const json_t *value, const char *step, size_t length)
{
    if (json_is_object(value)) {
        const char *key;
        json_t *item;
        json_object_foreach((json_t *)value, key,
                            item) if (strlen(key) == length && !memcmp(key, step, length)) return item;
        return NULL;
    }
    size_t index = 0;
    if (!json_is_array(value) || !length || length > 18)
        return NULL;
    for (size_t i = 0; i < length; i++) {
        if (step[i] < '0' || step[i] > '9')
            return NULL;
        index = 10 * index + (size_t)(step[i] - '0');
    }
    return json_array_get(value, index);
}

static const json_t *find(const spurity_result *result, const char *path)
{
    const json_t *value = result->root;
    while (value && *path) {
        size_t length = strcspn(path, "/");
        value = step_into(value, path, length);
        path += length + (path[length] == '/');
    }
    return value;
}

bool spurity_result_number(const spurity_result *result, const char *path, double *value)
{
    const json_t *found = find(result, path);
    if (!json_is_number(found))
        return false;
    *value = json_number_value(found);
    return true;
}

const char *spurity_result_text(const spurity_result *result, const char *path)
{
    return json_string_value(find(result, path));
}

size_t spurity_result_length(const spurity_result *result, const char *path)
{
    return json_array_size(find(result, path));
}

bool spurity_result_setting(const spurity_result *result, size_t index, spurity_setting *setting)
{
    json_t *settings = json_object_get(result->root, "settings"), *one;
    const char *name;
    json_object_foreach(settings, name, one)
    {
        if (index--)
            continue;
        const char *value = json_string_value(json_object_get(one, "value"));
        const char *from = json_string_value(json_object_get(one, "from"));
        *setting = (spurity_setting){name, value ? value : "", from ? from : ""};
        return true;
    }
    return false;
}

bool spurity_result_true(const spurity_result *result, const char *path)
{
    return json_is_true(find(result, path));
}
