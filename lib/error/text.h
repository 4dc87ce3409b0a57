/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_ERROR_TEXT_H
#define SPURITY_ERROR_TEXT_H
/* Text that may come from a file, made fit for a message: valid UTF-8, no controls, bounded. */
#include <stddef.h>

/** Copies `from` into `to` (size > 4): controls (C0, DEL, C1) become blanks, bytes that are no UTF-8 become '?'; what
 * does not fit is cut at a character and ends in "...". */
void spurity_text_copy(char *to, size_t size, const char *from);
#endif
