/* SPDX-License-Identifier: GPL-2.0-or-later */
#ifndef SPURITY_CLI_H
#define SPURITY_CLI_H
/* The command line: options become a test point, the library answers, this folder talks to the person.
 *
 * Two tables hold everything: commands (main.c) and options (options.c).  Parsing, the keys after a file's name, advice
 * on a wrong word, help and the `settings` of a result all come from them.  Messages go to standard error as
 * "spurity: sentence", results to standard output. */
#include <stdio.h>

#include "../lib/spurity.h"

/** Exit statuses, part of the contract. */
enum {
    SPURITY_EXIT_PASS = 0, /* and any command that did what it was asked */
    SPURITY_EXIT_FAIL = 1,
    SPURITY_EXIT_UNUSABLE = 2, /* arguments or input */
    SPURITY_EXIT_UNDECIDED = 3,
    SPURITY_EXIT_MACHINE = 4 /* disk full, gnuplot missing */
};

/* ---- commands (main.c) ---------------------------------------------------------------------------- */

enum { /* bits, for the options a command takes */
       SPURITY_COMMAND_SHOW = 1,
       SPURITY_COMMAND_MEASURE = 2,
       SPURITY_COMMAND_CHECK = 4,
       SPURITY_COMMAND_RULES = 8,
       SPURITY_COMMAND_PLAN = 16,
       SPURITY_COMMAND_DOUBT = 32
};

typedef struct spurity_cli_command {
    const char *name, *operands;
    const char *line;          /* what it answers, one line */
    const char *const *about;  /* paragraphs, NULL-terminated */
    const char *const *sample; /* command lines for the help, NULL-terminated */
    unsigned bit;
    int (*run)(int argc, char **argv); /* argv[0] is the command's name; returns the exit status */
} spurity_cli_command;

extern const spurity_cli_command spurity_cli_commands[];
extern const size_t spurity_cli_command_count;
const spurity_cli_command *spurity_cli_command_find(const char *name); /* NULL when there is none */
/** Tells that there is no such command and which comes nearest.  Returns SPURITY_EXIT_UNUSABLE. */
int spurity_cli_no_command(const char *name);

int spurity_cli_show(int argc, char **argv);
int spurity_cli_measure(int argc, char **argv);
int spurity_cli_check(int argc, char **argv);
int spurity_cli_rules(int argc, char **argv);
int spurity_cli_plan(int argc, char **argv);
int spurity_cli_doubt(int argc, char **argv);
int spurity_cli_help(int argc, char **argv);
/** Help of one command, from the tables, on `out`. */
void spurity_cli_help_command(const spurity_cli_command *command, FILE *out);
void spurity_cli_help_overview(FILE *out);
void spurity_cli_man(void); /* the manual page on standard output (man.c) */

/* ---- options (table: options.c, its setters: set.c, reading the arguments: parse.c)
 * -------------------------------------------------------------------------- */

enum { SPURITY_CLI_UNDERSTOOD = 160, SPURITY_CLI_PARTS = 16, SPURITY_CLI_RULES = 16 };

/** Pads and losses as said, in order from the set. */
typedef struct spurity_cli_part {
    bool is_loss;
    const char *text; /* of a pad: its fields; of a loss: the file */
} spurity_cli_part;

/** How a file is to be read and what stands before it: what the options say for all files, and the keys after one
 *  file's name for that one. */
typedef struct spurity_cli_reading {
    spurity_read_options read;
    spurity_chain_kind chain; /* as said; UNSTATED when nothing was */
    size_t part_count;
    spurity_cli_part parts[SPURITY_CLI_PARTS];
    double loss_uncertainty_db; /* NaN unsaid */
    int role;                   /* spurity_role */
    const char *scale;          /* NULL unsaid */
} spurity_cli_reading;

struct spurity_cli_option;

/** One option as it was said. */
typedef struct spurity_cli_said {
    const struct spurity_cli_option *option;
    int file; /* index; -1 for all files */
    char value[SPURITY_CLI_UNDERSTOOD];
    const char *text; /* as typed; borrowed from the arguments, "" of a flag */
    bool of_bench;    /* by --bench: text is then the bench's */
} spurity_cli_said;

typedef struct spurity_cli_file {
    char *text; /* owned; cut into name and keys */
    const char *path;
    spurity_cli_reading reading;
    spurity_chain *chain; /* owned; NULL unstated */
} spurity_cli_file;

typedef struct spurity_cli_settings {
    unsigned command;
    spurity_cli_reading shared;
    spurity_test_point point; /* sources are filled by spurity_cli_files_open */
    size_t operand_count;
    char **operands; /* borrowed from argv */
    size_t rules_count;
    const char *rules[SPURITY_CLI_RULES];
    const char *json, *plot, *report; /* NULL unsaid */
    bool hash;
    const char *at, *lint; /* of `rules` */
    bool template;
    spurity_plan_question plan; /* of `plan`: what it asks about the instrument; the rest is filled when it is run */
    const char *session;        /* of `plan`; NULL unsaid */
    size_t said_count, said_room;
    spurity_cli_said *said;
    size_t file_count;
    spurity_cli_file *files;
    spurity_source *sources;
    char *wisdom;               /* owned; NULL none */
    const char *bench, *budget; /* files; NULL unsaid */
    bool bench_template;        /* of `plan` */
    spurity_bench *bench_read;  /* owned; NULL none */
    spurity_budget budget_read; /* holds where budget_from is not NULL */
    const char *budget_from;    /* "bench file", "budget file" */
} spurity_cli_settings;

typedef struct spurity_cli_option {
    const char *name;     /* without dashes */
    const char *argument; /* what stands for the value in the help; NULL: a flag */
    const char *line;     /* one line of help */
    int heading;          /* under which it stands in the help */
    unsigned commands;    /* bits; 0: only a key after a file's name */
    unsigned flags;
    /** Reads the value into `field` and writes how it was understood.  what names the option in messages. */
    spurity_status (*set)(const struct spurity_cli_option *option, void *field, const char *what, const char *value,
                          char understood[SPURITY_CLI_UNDERSTOOD], spurity_error *error);
    size_t offset;       /* of the field in spurity_cli_reading (flag READING) or spurity_cli_settings */
    const char *initial; /* what holds when it is not said; NULL: nothing */
} spurity_cli_option;

enum {
    SPURITY_CLI_READING = 1, /* belongs to spurity_cli_reading: may also stand as a key after a file's name */
    SPURITY_CLI_REPEATS = 2,
    SPURITY_CLI_COMMAS = 4, /* as a key, its value goes on after commas with bare quantities */
    SPURITY_CLI_QUIET = 8   /* where results go: no part of how they came about */
};

extern const spurity_cli_option spurity_cli_options[];
extern const size_t spurity_cli_option_count;
extern const char *const spurity_cli_headings[]; /* by spurity_cli_option.heading, NULL-terminated */

/** Everything unsaid. */
void spurity_cli_settings_init(spurity_cli_settings *settings, unsigned command);
void spurity_cli_settings_release(spurity_cli_settings *settings);
/** Reads the arguments after the command's name (argv[1] ...).  INVALID for an option that does not exist (the nearest
 *  one is told; abbreviations too), belongs to another command, lacks its value, is given twice or reads wrong. */
spurity_status spurity_cli_parse(spurity_cli_settings *settings, int argc, char **argv, spurity_error *error);
const spurity_cli_option *spurity_cli_option_find(const char *name, size_t length);
/** Whether the option of this name was said for all files (-1) or for one. */
bool spurity_cli_was_said(const spurity_cli_settings *settings, const char *name, int file);
/** Sets one option from its value; file -1 for all. */
spurity_status spurity_cli_set(spurity_cli_settings *settings, const spurity_cli_option *option, int file,
                               const char *value, spurity_error *error);
/** A word out of a list; *value is its number.  Otherwise INVALID with the nearest word and all that are right. */
typedef struct spurity_cli_word {
    const char *word;
    int value;
} spurity_cli_word;
spurity_status spurity_cli_choose(const spurity_cli_word *words, size_t count, const char *what, const char *text,
                                  int *value, spurity_error *error);

/* ---- what files say in place of options (bench.c) ------------------------------------------------- */

/** After the options: reads --bench and --budget and takes what no option says over. */
spurity_status spurity_cli_bench_take(spurity_cli_settings *settings, spurity_error *error);
/** Whether an option tells what stands before the instrument: one of them says over the whole chain of a bench. */
bool spurity_cli_is_of_chain(const char *name);

/* ---- files of a test point (files.c) -------------------------------------------------------------- */

/** Splits "h2.csv,pad=20dB,direct" into names and keys, checks that the files are there, builds the chains (reading
 *  loss files) and fills settings->point.sources.  At least one file is needed. */
spurity_status spurity_cli_files_open(spurity_cli_settings *settings, spurity_notes *notes, const spurity_watch *watch,
                                      spurity_error *error);
/** Builds the chain that a reading tells, loss files read.  Free *chain, which is NULL on failure. */
spurity_status spurity_cli_chain_build(const spurity_cli_reading *reading, spurity_notes *notes,
                                       const spurity_watch *watch, spurity_chain **chain, spurity_error *error);
bool spurity_cli_has_loss(const spurity_cli_reading *reading);
/** INVALID unless `path` can be read and is no folder. `what` names its use ("sweep", "loss file", "rule file"). */
spurity_status spurity_cli_readable(const char *path, const char *what, spurity_error *error);

/** The file in the user's cache folder where FFTW's plans are kept; its folder is made.  NULL: none. */
char *spurity_cli_wisdom(void);
void spurity_cli_wisdom_release(char *path); /* NULL is fine; removes the folder when it is empty */

/* ---- settings of a result (understood.c) ---------------------------------------------------------- */

typedef struct spurity_cli_understood {
    size_t count, room;
    spurity_setting *items; /* strings owned */
} spurity_cli_understood;
/** Every option as understood and where from: said, the file's own word, or what holds otherwise.  measurement may be
 * NULL. */
spurity_status spurity_cli_understood_create(const spurity_cli_settings *settings,
                                             const spurity_measurement *measurement, spurity_cli_understood *list,
                                             spurity_error *error);
void spurity_cli_understood_release(spurity_cli_understood *list);

/* ---- outputs (write.c) ---------------------------------------------------------------------------- */

/** Picture kind by suffix ("svg" "png" "pdf"; "-" is svg); NULL for any other. */
const char *spurity_cli_picture_kind(const char *path);
/** Before any work: whether --json, --plot, --report and --session can be written and do not clash with each other or
 * with an input; a session file is never written over. */
spurity_status spurity_cli_outputs_check(const spurity_cli_settings *settings, spurity_error *error);
/** Writes a file whole or not at all: beside its place, then renamed.  "-" is standard output; what is no regular file
 *  (a pipe, /dev/full) is written as it stands. */
spurity_status spurity_cli_write(const char *path, const void *data, size_t size, spurity_error *error);
/** Flushes and closes standard output: `status`, or SPURITY_EXIT_MACHINE (told) when something was lost. */
int spurity_cli_finish(int status);

/* ---- measure and check (run.c) --------------------------------------------------------------------- */

/** Loads settings->rules into `rules`; *count tells how many to free, after a failure too. */
spurity_status spurity_cli_rules_load(const spurity_cli_settings *settings, spurity_rules *rules[SPURITY_CLI_RULES],
                                      size_t *count, spurity_error *error);
/** The ids of the rules that are built in, "a, b". */
void spurity_cli_rules_ids(char *text, size_t size);

/** From parsed settings to results: files, rules (none: a measurement without verdict), outputs.  Returns the exit
 *  status; everything that went wrong has been told. */
int spurity_cli_run(spurity_cli_settings *settings);

/* ---- talk (talk.c) -------------------------------------------------------------------------------- */

void spurity_cli_say(const char *format, ...) SPURITY_PRINTF(1, 2); /* "spurity: sentence" on standard error */
/** Tells the error; returns the exit status that goes with it. */
int spurity_cli_fail(const spurity_error *error);
int spurity_cli_status_of(spurity_status status);
bool spurity_cli_colour(void); /* standard output is a terminal and NO_COLOR is not set */
int spurity_cli_columns(void); /* of the terminal on standard output; 0 when it is none */
char *spurity_cli_format_rate(char *text, size_t size, double per_second); /* "2.4 MS/s" */
char *spurity_cli_format_time(char *text, size_t size, double seconds);    /* "150 ms", "12.5 s", "3 min 20 s" */
const char *spurity_cli_nearest(const char *word, const char *(*name)(const void *list, size_t index), const void *list,
                                size_t count); /* NULL when nothing is near */

/** Progress on a terminal after one second; stops at SIGINT, SIGTERM or SIGHUP. */
typedef struct spurity_cli_progress {
    spurity_watch watch; /* give its address to the library */
    double started, shown;
    double part_started, part_fraction, fraction; /* of the part of the work that goes on */
    bool on_terminal;
} spurity_cli_progress;
void spurity_cli_progress_start(spurity_cli_progress *progress);
void spurity_cli_progress_end(spurity_cli_progress *progress); /* clears the line */
/** Signals: caught from here on; what was caught; a file to remove should a second one end the program at once. */
void spurity_cli_signals_catch(void);
int spurity_cli_signal_caught(void); /* 0: none */
void spurity_cli_signals_remove(const char *path /* NULL: none; kept, not copied */);

#endif
