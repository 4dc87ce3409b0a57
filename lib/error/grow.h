/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_ERROR_GROW_H
#define SPURITY_ERROR_GROW_H
/* Lists that grow by one.  No door: a helper every stage may use (tests/house/stages.txt), not installed. */
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

/** Makes sure that a list of `count` items of `size` bytes, allocated for *room, holds one more; doubles from 16.
 *  Returns the list, which may have moved; NULL when memory is out (the list and *room are then as they were). */
static inline void *spurity_grow(void *items, size_t count, size_t *room, size_t size)
{
    if (count < *room)
        return items;
    size_t more = *room ? 2 * *room : 16;
    if (more < *room || more > SIZE_MAX / size)
        return NULL;
    void *grown = realloc(items, more * size);
    if (grown)
        *room = more;
    return grown;
}
#endif
