/* SPDX-License-Identifier: GPL-2.0-or-later */
/* The command table and the way to it. */
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

#include "cli.h"

#define CAUTION                                                                                                        \
    "Before keying up: a load and attenuators rated for the power, never a transmitter straight into an instrument, "  \
    "distance from the antenna, and a licence for what is sent."
#define OF_CAPTURES                                                                                                    \
    "A capture of samples (SigMF, WAV and its kin, raw with --rate, --datatype and --center) stands wherever a sweep " \
    "does. Its levels are dBm by --full-scale, or by --power for the scale that holds the carrier; scale=NAME after "  \
    "the names of files of one receiver at one gain makes them one scale. Standard input is '-' or 'stdin,KEY=...'; "  \
    "an endless one ends by --seconds."
#define OF_RECEIVERS                                                                                                   \
    "A receiver's input is destroyed by far less than an analyzer's (often +10 dBm, some 0 dBm; common practice): "    \
    "20 dB more attenuation, and the lowest power first."
static const char *const check_about[] = {
    "The files of one test point are given together: one sweep or capture, or several that share the spectrum. What "
    "holds for one of them only follows its name after commas (h2.csv,pad=20dB,loss=notch.s2p); pad, loss, direct and "
    "corrected "
    "there replace the whole shared chain for that file. A name with * or ? that no file bears stands for all it "
    "matches, each with its keys: 'harmonic-*.csv,rbw=10k' (quoted, so that the shell leaves it alone).",
    "What stands between antenna terminal and instrument must be said; silence is not 0 dB.",
    OF_CAPTURES,
    "Exit status: 0 pass, 1 fail, 3 undecided (conditional, not shown, no limit), 2 unusable arguments or input, 4 the "
    "machine failed. A verdict is no certification.",
    CAUTION,
    OF_RECEIVERS,
    NULL};
static const char *const measure_about[] = {
    "Carrier, harmonics, other emissions, floor and coverage of one test point; no rules, no verdict. Files and their "
    "keys are given as for 'spurity check'.",
    OF_CAPTURES,
    "Exit status: 0 measured, 2 unusable arguments or input, 4 the machine failed.",
    CAUTION,
    OF_RECEIVERS,
    NULL};
static const char *const show_about[] = {
    "What was understood of each file, from which line, what was assumed, and which option or key overrides it. "
    "Of a capture also what the samples say: level, clipping, DC, I against Q, bursts, and how 'measure' would "
    "transform it; beyond 100 million samples it looks no further unless --seconds says so. No line is measured.",
    NULL};
static const char *const show_samples[] = {"spurity show f0.csv", "spurity show f0.csv,delimiter=semicolon h2.csv",
                                           "spurity show f0.sigmf-meta,full-scale=-10dBm", NULL};
static const char *const measure_samples[] = {
    "spurity measure f0.csv --pad 40dB,0.5dB,1G,50W",
    "spurity measure f0.csv h2.csv,pad=20dB --carrier 146.94M --json m.json",
    "spurity measure stdin,rate=2.4M,datatype=cu8,center=146.9M --seconds 2 --power 4.7W", NULL};
static const char *const check_samples[] = {
    "spurity check f0.csv --pad 40dB,0.5dB,1G,50W --rules us-amateur",
    "spurity check f0.csv h2.csv,loss=notch.s2p --pad 40dB --power 4.7W --rules us-amateur --plot f0.svg",
    "spurity check f0.sigmf-meta h2.sigmf-meta,pad=20dB,loss=notch.s2p --full-scale -10dBm --pad 60dB --rules "
    "us-amateur",
    NULL};
static const char *const doubt_about[] = {
    "The bench doubts itself: the files of one test point, taken behind two or more attenuations (as the pads stand, "
    "and "
    "with 10 and 20 dB more), are held against each other line by line. What is the transmitter's moves with the pad "
    "and "
    "holds still at the antenna terminal; a product of order n of the instrument's falls n - 1 times the step more; "
    "what "
    "does not come through the input does not move at all. One step can hold still by an unlucky phase: two settle it. "
    "'spurity check' settles levels by the same table.",
    "What stood before the instrument follows each file's name: a.csv,pad=40dB b.csv,pad=40dB,pad=10dB. Intercepts "
    "bound "
    "what the instrument adds to the second and third harmonic. role=ambient and role=leakage name sweeps of the "
    "unkeyed "
    "set and of the bench with the last pad's end terminated.",
    "Exit status: 0 answered, 2 unusable arguments or input, 4 the machine failed.",
    CAUTION,
    OF_RECEIVERS,
    NULL};
static const char *const doubt_samples[] = {
    "spurity doubt a.csv,pad=40dB b.csv,pad=40dB,pad=10dB c.csv,pad=40dB,pad=20dB --rbw 10k",
    "spurity doubt f0.csv quiet.csv,role=ambient --pad 40dB --second-harmonic-intercept 45dBm --json d.json", NULL};
static const char *const plan_about[] = {
    "Before anyone keys the set: how much attenuation of which rating the instrument needs, what to sweep or capture "
    "at "
    "which resolution, whether a pass could be shown there, and what to change if not. Reads no sweep and judges none.",
    "What an instrument stands is at its connector (--max-input); what it shows with its input terminated is its noise "
    "(--noise). Without the first, or with a pad of unsaid rating, a plan is at best 'not enough'. --rate plans "
    "captures "
    "of a receiver of that bandwidth in place of sweeps.",
    "Exit status: 0 ready, 1 harmful (the instrument or a pad gets more than it stands), 3 not enough, 2 unusable "
    "arguments or rule file, 4 the machine failed.",
    CAUTION,
    OF_RECEIVERS,
    NULL};
static const char *const plan_samples[] = {
    "spurity plan --carrier 146.94M --power 5W --rules us-amateur --max-input 20dBm",
    "spurity plan --carrier 146.94M --power 5W --rules us-amateur --max-input 20dBm --noise -110dBm/10k \\\n  "
    "    --pad 30dB,6G,50W --pad 10dB,6G,2W --session hand-held.yaml",
    NULL};
#ifdef SPURITY_CLI_WITH_RULES
static const char *const rules_about[] = {
    "Without an id: the rule sets that are built in. With one: its clauses in plain words, or one of them. With "
    "--carrier and --power: what is allowed where, the line of the limit that decides, which clauses bind, which are "
    "open and what would settle them, which do not bind and why; with --at the levels at those frequencies; with "
    "--plot the limit as a picture.",
    "A rule set of your own: 'spurity rules --template >mine.yaml' writes one to begin with, every form in it with a "
    "comment; --lint tells its mistakes, branches that never decide, overlaps and gaps; it serves wherever an id does, "
    "as ./mine.yaml.",
    "Exit status: 0 answered, 2 unusable arguments or rule file, 4 the machine failed.", NULL};
static const char *const rules_samples[] = {
    "spurity rules",
    "spurity rules us-amateur '97.307(e)'",
    "spurity rules us-amateur --carrier 146.94M --power 5W --at 293.88M,+12.5k",
    "spurity rules us-gmrs --carrier 462.575M --power 5W --emission F3E --plot limit.svg",
    "spurity rules --template >mine.yaml",
    "spurity rules --lint mine.yaml",
    NULL};
#endif

const spurity_cli_command spurity_cli_commands[] = {
    {"show", "FILE...", "what is in this file and why it was read so", show_about, show_samples, SPURITY_COMMAND_SHOW,
     spurity_cli_show},
    {"measure", "FILE...", "what the transmitter puts out", measure_about, measure_samples, SPURITY_COMMAND_MEASURE,
     spurity_cli_measure},
    {"check", "FILE... --rules ID|FILE", "does it comply", check_about, check_samples, SPURITY_COMMAND_CHECK,
     spurity_cli_check},
    {"doubt", "FILE...", "is it the transmitter, or the bench itself", doubt_about, doubt_samples,
     SPURITY_COMMAND_DOUBT, spurity_cli_doubt},
    {"plan", "--carrier F --power P --rules ID", "what to sweep, and behind what, before keying", plan_about,
     plan_samples, SPURITY_COMMAND_PLAN, spurity_cli_plan},
#ifdef SPURITY_CLI_WITH_RULES
    {"rules", "[ID [CLAUSE]]", "known rules, what a clause says, what it allows where", rules_about, rules_samples,
     SPURITY_COMMAND_RULES, spurity_cli_rules},
#endif
    {"help", "[COMMAND]", "how to use it", NULL, NULL, 0, spurity_cli_help},
};
const size_t spurity_cli_command_count = sizeof spurity_cli_commands / sizeof *spurity_cli_commands;

const spurity_cli_command *spurity_cli_command_find(const char *name)
{
    for (size_t i = 0; i < spurity_cli_command_count; i++)
        if (!strcmp(spurity_cli_commands[i].name, name))
            return &spurity_cli_commands[i];
    return NULL;
}

static const char *name_at(const void *list, size_t index)
{
    return ((const spurity_cli_command *)list)[index].name;
}

int spurity_cli_no_command(const char *name)
{
    const char *nearest = spurity_cli_nearest(name, name_at, spurity_cli_commands, spurity_cli_command_count);
    if (name[0] == '-')
        spurity_cli_say("'%s' before a command; the command comes first: 'spurity check FILE... --rules ID'", name);
    else if (nearest)
        spurity_cli_say("'%s' is no command; did you mean '%s'?", name, nearest);
    else if (access(name, F_OK) == 0)
        spurity_cli_say("'%s' is a file, no command; did you mean 'spurity show %s'?", name, name);
    else {
        char names[120] = "";
        for (size_t i = 0, used = 0; i < spurity_cli_command_count && used < sizeof names; i++)
            used += (size_t)snprintf(names + used, sizeof names - used, "%s%s", i ? ", " : "",
                                     spurity_cli_commands[i].name);
        spurity_cli_say("'%s' is no command; there are %s", name, names);
    }
    return SPURITY_EXIT_UNUSABLE;
}

static bool asks_for_help(int argc, char **argv)
{
    for (int i = 1; i < argc && strcmp(argv[i], "--"); i++)
        if (!strcmp(argv[i], "--help"))
            return true;
    return false;
}

static int dispatch(int argc, char **argv)
{
    if (argc < 2) {
        spurity_cli_help_overview(stderr);
        return SPURITY_EXIT_UNUSABLE;
    }
    if (!strcmp(argv[1], "--help")) {
        spurity_cli_help_overview(stdout);
        return SPURITY_EXIT_PASS;
    }
    if (!strcmp(argv[1], "--version")) {
        puts("spurity " SPURITY_VERSION);
        return SPURITY_EXIT_PASS;
    }
    const spurity_cli_command *command = spurity_cli_command_find(argv[1]);
    if (!command)
        return spurity_cli_no_command(argv[1]);
    if (asks_for_help(argc - 1, argv + 1)) {
        spurity_cli_help_command(command, stdout);
        return SPURITY_EXIT_PASS;
    }
    spurity_cli_signals_catch();
    return command->run(argc - 1, argv + 1);
}

/* A stream closed by the caller must not be handed to the next file that is opened.  Standard output stays
 * unwritable, so that what is lost is noticed. */
static void keep_streams_apart(void)
{
    for (int fd = 0; fd < 3; fd++)
        if (fcntl(fd, F_GETFD) < 0 && errno == EBADF)
            (void)!open("/dev/null", fd == STDOUT_FILENO ? O_RDONLY : O_RDWR);
}

int main(int argc, char **argv)
{
    keep_streams_apart();
    int status = spurity_cli_finish(dispatch(argc, argv));
    int caught = spurity_cli_signal_caught();
    if (caught) { /* as if it had not been caught: the shell sees why */
        signal(caught, SIG_DFL);
        raise(caught);
    }
    return status;
}
