/* SPDX-License-Identifier: GPL-2.0-or-later */
/* What fault_shim.c and faults.c say to each other. */
#ifndef SPURITY_TESTS_FAULTS_H
#define SPURITY_TESTS_FAULTS_H

#define FAULT_CHILD "child"   /* the folder beside the program's own in which a forked child goes on */
#define FAULT_STDOUT "stdout" /* files in either */
#define FAULT_STDERR "stderr"

/* From the shim.  'q' may this one fail? (answered)  'd' a child has ended (answered)  'r' needs a run of its own
 * 'f' a fault was met  'c' how many there were */
typedef struct fault_message {
    char what;
    int status; /* of 'd', as waitpid tells */
    long number;
} fault_message;

enum { FAULT_SKIP = 's', FAULT_ONCE = '1', FAULT_ONWARD = 'a' };
#endif
