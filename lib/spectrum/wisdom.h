/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_SPECTRUM_WISDOM_H
#define SPURITY_SPECTRUM_WISDOM_H
/* FFTW's plans in a file.  Never needed: what cannot be read or written changes nothing but time.  With the planner's
 * lock held. */
void spurity_wisdom_read(const char *path); /* NULL is fine; junk is passed over */
void spurity_wisdom_keep(const char *path); /* whole or not at all */
#endif
