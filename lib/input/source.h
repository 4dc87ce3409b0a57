/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_INPUT_SOURCE_H
#define SPURITY_INPUT_SOURCE_H
/* Bytes of one file, from a path, standard input or memory, with the hash taken on the way. */
#include "reader.h"

spurity_status spurity_source_from_path(const char *path, spurity_input_source **source, spurity_error *error);
spurity_status spurity_source_from_memory(const void *bytes, size_t size, spurity_input_source **source,
                                          spurity_error *error);
/** Reads the head and fills the input's head, head_size, head_is_all, total.  INVALID for an empty file. */
spurity_status spurity_source_open_head(spurity_input_source *source, spurity_input *input, spurity_error *error);
/** Reads what the reader left, for the hash, and fills facts->bytes and sha256. */
spurity_status spurity_source_finish(spurity_input_source *source, spurity_input *input, spurity_recording_facts *facts,
                                     spurity_error *error);
struct spurity_bytes;
/** Hands the descriptor (memory, what a pipe has given so far) over to bytes; nothing may be pulled after that. */
spurity_status spurity_source_take(spurity_input_source *source, struct spurity_bytes *bytes, spurity_error *error);
void spurity_source_close(spurity_input_source *source); /* NULL is fine */

#endif
