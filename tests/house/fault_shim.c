/* SPDX-License-Identifier: GPL-2.0-or-later */
/* Loaded before the program (LD_PRELOAD): lets its n-th allocation or its n-th call of the system fail, or its reads
 * and writes come short.  faults.c drives it over two pipes and judges what the program made of it.
 *
 * FAULT_KIND   memory | calls | short
 * FAULT_TALK   descriptors "in,out" of the two pipes
 * FAULT_AT     that one fails and the program goes on (FAULT_ONWARD=1: and all after it)
 * FAULT_EVERY  instead of FAULT_AT: a step; before every such allocation the driver is asked, and at its word the
 * process forks, the child meets the fault, and the parent goes on untouched: one run shows every place.
 *
 * FAULT_SPARE  one more library whose own allocations are let alone (a part of its name)
 *
 * Allocations made by libfftw3f itself are let alone: that library ends the process where memory is out.  What loader
 * and libraries allocate before main is not counted.  gnuplot gets an environment of its own, without LD_PRELOAD. */
#undef _FILE_OFFSET_BITS /* both names of what has two are made below */
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <link.h>
#include <malloc.h>
#include <poll.h>
#include <pthread.h>
#include <spawn.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "faults.h"

#define SHIM __attribute__((visibility("default")))
void *fftwf_malloc(size_t size);
void *fftwf_alloc_complex(size_t number);

static enum { ASLEEP, MEMORY, CALLS, SHORT } kind;
static int in = -1, out = -1;
static long at, every;
static bool onward, failing, child_runs, one_more;
static atomic_long count;
static pthread_t main_thread;
static struct {
    uintptr_t from, to;
} spared[2];
static size_t spared_count;

/* ---- talking to the driver ------------------------------------------------------------------------- */

static ssize_t (*real_read)(int, void *, size_t);
static ssize_t (*real_write)(int, const void *, size_t);

static void tell(char what, long number, int status)
{
    fault_message message = {.what = what, .number = number, .status = status};
    if (real_write(out, &message, sizeof message) != (ssize_t)sizeof message)
        _exit(125);
}

static char ask(char what, long number, int status)
{
    char answer = FAULT_SKIP;
    tell(what, number, status);
    if (real_read(in, &answer, 1) != 1)
        _exit(125);
    return answer;
}

static void trace(void)
{
    void *frames[48];
    const int kept = (int)kind;
    kind = ASLEEP;
    backtrace_symbols_fd(frames, backtrace(frames, 48), 2);
    kind = (unsigned)kept;
}

/* ---- the fork -------------------------------------------------------------------------------------- */

/* Parent and child share the places of open files; the child gets its own. */
static void open_again(int fd)
{
    struct stat facts;
    char path[40];
    if (fstat(fd, &facts) || !S_ISREG(facts.st_mode))
        return;
    const off_t place = lseek(fd, 0, SEEK_CUR);
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    const int again = open(path, fcntl(fd, F_GETFL) & (O_ACCMODE | O_APPEND));
    if (again < 0 || lseek(again, place, SEEK_SET) < 0 || dup3(again, fd, fcntl(fd, F_GETFD) ? O_CLOEXEC : 0) < 0)
        _exit(125);
    close(again);
}

/* The driver has made a folder for this child, a copy of the parent's as it stands. */
static void child_moves(void)
{
    if (chdir("../" FAULT_CHILD))
        _exit(125);
    for (int fd = 1; fd < 3; fd++) {
        const int own = open(fd == 1 ? FAULT_STDOUT : FAULT_STDERR, O_WRONLY | O_APPEND);
        if (own < 0 || dup2(own, fd) < 0)
            _exit(125);
        close(own);
    }
    close(in);
    close(out);
    in = out = -1;
    open_again(0);
    for (int fd = 3; fd < 64; fd++)
        open_again(fd);
}

/* True in the child. */
static bool split(long number, char answer)
{
    const pid_t pid = fork();
    if (pid < 0)
        _exit(125);
    if (!pid) {
        child_moves();
        every = 0;
        onward = answer != FAULT_ONCE;
        return true;
    }
    int status = 0;
    while (waitpid(pid, &status, 0) < 0 && errno == EINTR)
        ;
    ask('d', number, status);
    return false;
}

static bool step(long number)
{
    if (number % every || !pthread_equal(pthread_self(), main_thread))
        return false;
    if (child_runs) { /* gnuplot is one for parent and child: to be met in a run of its own */
        tell('r', number, 0);
        return false;
    }
    const int kept = (int)kind;
    kind = ASLEEP;
    for (char answer; (answer = ask('q', number, 0)) != FAULT_SKIP;)
        if (split(number, answer)) {
            failing = onward;
            if (onward)
                kind = (unsigned)kept;
            return true;
        }
    kind = (unsigned)kept;
    return false;
}

/* Whether this one fails. */
static bool fails(void)
{
    if (failing)
        return true;
    const long number = atomic_fetch_add(&count, 1) + 1;
    if (every)
        return step(number);
    if (number != at)
        return false;
    tell('f', number, 0);
    if (getenv("FAULT_TRACE"))
        trace();
    failing = onward;
    return true;
}

static bool memory_fails(const void *caller)
{
    const uintptr_t place = (uintptr_t)caller;
    if (kind != MEMORY)
        return false;
    for (size_t i = 0; i < spared_count; i++)
        if (place >= spared[i].from && place < spared[i].to)
            return false;
    const int kept = errno;
    const bool yes = fails();
    errno = yes ? ENOMEM : kept;
    return yes;
}

static bool call_fails(int number)
{
    if (kind != CALLS)
        return false;
    const int kept = errno;
    const bool yes = fails();
    errno = yes ? number : kept;
    return yes;
}

/* ---- memory ---------------------------------------------------------------------------------------- */

static void *(*real_malloc)(size_t);
static void *(*real_calloc)(size_t, size_t);
static void *(*real_realloc)(void *, size_t);
static void *(*real_memalign)(size_t, size_t);
static void (*real_free)(void *);
static char early[65536]; /* what dlsym itself wants before there is anything */
static size_t early_used;

static void *from_early(size_t size)
{
    size = (size + 15) & ~(size_t)15;
    if (size > sizeof early - early_used)
        abort();
    early_used += size;
    return early + early_used - size;
}

static bool is_early(const void *pointer)
{
    return (const char *)pointer >= early && (const char *)pointer < early + sizeof early;
}

#define FIND(name) (*(void **)&real_##name = dlsym(RTLD_NEXT, #name))

static void find_memory(void)
{
    static bool looking;
    if (real_free || looking)
        return;
    looking = true;
    FIND(malloc);
    FIND(calloc);
    FIND(realloc);
    FIND(memalign);
    FIND(free);
    looking = false;
}

SHIM void *malloc(size_t size)
{
    find_memory();
    if (!real_malloc)
        return from_early(size);
    return memory_fails(__builtin_return_address(0)) ? NULL : real_malloc(size);
}

SHIM void *calloc(size_t number, size_t size)
{
    find_memory();
    if (!real_calloc)
        return from_early(number * size); /* still zero */
    return memory_fails(__builtin_return_address(0)) ? NULL : real_calloc(number, size);
}

SHIM void *realloc(void *pointer, size_t size)
{
    find_memory();
    if (is_early(pointer))
        abort();
    return memory_fails(__builtin_return_address(0)) ? NULL : real_realloc(pointer, size);
}

SHIM void free(void *pointer)
{
    find_memory();
    if (!is_early(pointer))
        real_free(pointer);
}

SHIM void *memalign(size_t alignment, size_t size)
{
    find_memory();
    return memory_fails(__builtin_return_address(0)) ? NULL : real_memalign(alignment, size);
}

SHIM void *aligned_alloc(size_t alignment, size_t size)
{
    find_memory();
    return memory_fails(__builtin_return_address(0)) ? NULL : real_memalign(alignment, size);
}

SHIM int posix_memalign(void **pointer, size_t alignment, size_t size)
{
    find_memory();
    if (memory_fails(__builtin_return_address(0)))
        return ENOMEM;
    *pointer = real_memalign(alignment, size);
    return *pointer ? 0 : ENOMEM;
}

static char *copy(const char *text, size_t length, const void *caller)
{
    find_memory();
    char *made = memory_fails(caller) ? NULL : real_malloc(length + 1);
    if (!made)
        return NULL;
    memcpy(made, text, length);
    made[length] = 0;
    return made;
}

SHIM char *strdup(const char *text)
{
    return copy(text, strlen(text), __builtin_return_address(0));
}

SHIM char *strndup(const char *text, size_t most)
{
    return copy(text, strnlen(text, most), __builtin_return_address(0));
}

/* What the program itself has of FFTW's allocator may fail: it says so with NULL. */
SHIM void *fftwf_malloc(size_t size)
{
    static void *(*real)(size_t);
    if (!real)
        *(void **)&real = dlsym(RTLD_NEXT, "fftwf_malloc");
    return memory_fails(__builtin_return_address(0)) ? NULL : real(size);
}

SHIM void *fftwf_alloc_complex(size_t number)
{
    static void *(*real)(size_t);
    if (!real)
        *(void **)&real = dlsym(RTLD_NEXT, "fftwf_alloc_complex");
    return memory_fails(__builtin_return_address(0)) ? NULL : real(number);
}

/* ---- the system ------------------------------------------------------------------------------------ */

#define REAL(type, name, ...)                                                                                          \
    static type (*real)(__VA_ARGS__);                                                                                  \
    if (!real)                                                                                                         \
    *(void **)&real = dlsym(RTLD_NEXT, #name)

/* Every second time a signal came first, else as little as a third, one byte at least. */
static bool interrupted(size_t *size)
{
    if (kind != SHORT || !*size)
        return false;
    if (atomic_fetch_add(&count, 1) == 0)
        tell('f', 1, 0);
    one_more = !one_more;
    if (one_more) {
        errno = EINTR;
        return true;
    }
    *size = 1 + (*size - 1) / 3;
    return false;
}

static bool is_ours(int fd)
{
    return fd == in || fd == out;
}

SHIM ssize_t read(int fd, void *into, size_t size)
{
    REAL(ssize_t, read, int, void *, size_t);
    return !is_ours(fd) && (call_fails(EIO) || interrupted(&size)) ? -1 : real(fd, into, size);
}

SHIM ssize_t pread(int fd, void *into, size_t size, off_t place)
{
    REAL(ssize_t, pread, int, void *, size_t, off_t);
    return call_fails(EIO) || interrupted(&size) ? -1 : real(fd, into, size, place);
}

SHIM ssize_t write(int fd, const void *from, size_t size)
{
    REAL(ssize_t, write, int, const void *, size_t);
    return !is_ours(fd) && (call_fails(ENOSPC) || interrupted(&size)) ? -1 : real(fd, from, size);
}

SHIM int open(const char *path, int flags, ...)
{
    REAL(int, open, const char *, int, ...);
    va_list more;
    va_start(more, flags);
    const mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;
    va_end(more);
    return call_fails(EMFILE) ? -1 : real(path, flags, mode);
}

SHIM int openat(int folder, const char *path, int flags, ...)
{
    REAL(int, openat, int, const char *, int, ...);
    va_list more;
    va_start(more, flags);
    const mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;
    va_end(more);
    return call_fails(EMFILE) ? -1 : real(folder, path, flags, mode);
}

SHIM int mkostemp(char *path, int flags)
{
    REAL(int, mkostemp, char *, int);
    return call_fails(ENOSPC) ? -1 : real(path, flags);
}

SHIM int close(int fd) /* the descriptor is gone even so */
{
    REAL(int, close, int);
    const int status = real(fd);
    return call_fails(EIO) ? -1 : status;
}

SHIM int fsync(int fd)
{
    REAL(int, fsync, int);
    return call_fails(EIO) ? -1 : real(fd);
}

SHIM int fchmod(int fd, mode_t mode)
{
    REAL(int, fchmod, int, mode_t);
    return call_fails(EPERM) ? -1 : real(fd, mode);
}

SHIM int rename(const char *from, const char *to)
{
    REAL(int, rename, const char *, const char *);
    return call_fails(EIO) ? -1 : real(from, to);
}

SHIM off_t lseek(int fd, off_t place, int whence)
{
    REAL(off_t, lseek, int, off_t, int);
    return call_fails(ESPIPE) ? -1 : real(fd, place, whence);
}

SHIM int fstat(int fd, struct stat *facts)
{
    REAL(int, fstat, int, struct stat *);
    return call_fails(EIO) ? -1 : real(fd, facts);
}

SHIM int stat(const char *path, struct stat *facts)
{
    REAL(int, stat, const char *, struct stat *);
    return call_fails(EIO) ? -1 : real(path, facts);
}

SHIM int access(const char *path, int mode)
{
    REAL(int, access, const char *, int);
    return call_fails(EIO) ? -1 : real(path, mode);
}

SHIM char *realpath(const char *path, char *resolved)
{
    REAL(char *, realpath, const char *, char *);
    return call_fails(EIO) ? NULL : real(path, resolved);
}

SHIM FILE *fopen(const char *path, const char *mode)
{
    REAL(FILE *, fopen, const char *, const char *);
    return call_fails(EMFILE) ? NULL : real(path, mode);
}

SHIM int pipe2(int ends[2], int flags)
{
    REAL(int, pipe2, int *, int);
    return call_fails(EMFILE) ? -1 : real(ends, flags);
}

SHIM int memfd_create(const char *name, unsigned flags)
{
    REAL(int, memfd_create, const char *, unsigned);
    return call_fails(EMFILE) ? -1 : real(name, flags);
}

SHIM int poll(struct pollfd *fds, nfds_t number, int wait)
{
    REAL(int, poll, struct pollfd *, nfds_t, int);
    return number && call_fails(EINTR) ? -1 : real(fds, number, wait);
}

SHIM int pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*start)(void *), void *user)
{
    REAL(int, pthread_create, pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
    return call_fails(EAGAIN) ? EAGAIN : real(thread, attributes, start, user);
}

SHIM int posix_spawnp(pid_t *pid, const char *file, const posix_spawn_file_actions_t *actions,
                      const posix_spawnattr_t *attributes, char *const arguments[], char *const environment[])
{
    REAL(int, posix_spawnp, pid_t *, const char *, const posix_spawn_file_actions_t *, const posix_spawnattr_t *,
         char *const[], char *const[]);
    if (call_fails(EAGAIN))
        return EAGAIN;
    const int status = real(pid, file, actions, attributes, arguments, environment);
    child_runs = !status;
    return status;
}

SHIM pid_t waitpid(pid_t pid, int *state, int options)
{
    REAL(pid_t, waitpid, pid_t, int *, int);
    const pid_t got = real(pid, state, options);
    if (got > 0)
        child_runs = false;
    return got;
}

/* The names the same calls have where the size of a file's offset is said. */
#define ALSO(name, other) __asm__(".globl " #other "\n.set " #other ", " #name)
ALSO(pread, pread64);
ALSO(open, open64);
ALSO(openat, openat64);
ALSO(mkostemp, mkostemp64);
ALSO(lseek, lseek64);
ALSO(fstat, fstat64);
ALSO(stat, stat64);
ALSO(fopen, fopen64);

/* ---- waking ---------------------------------------------------------------------------------------- */

static int find_spared(struct dl_phdr_info *library, size_t size, void *user)
{
    const char *more = getenv("FAULT_SPARE");
    (void)size;
    (void)user;
    if (!strstr(library->dlpi_name, "libfftw3f") && !(more && *more && strstr(library->dlpi_name, more)))
        return 0;
    uintptr_t least = UINTPTR_MAX, most = 0;
    for (int i = 0; i < library->dlpi_phnum; i++) {
        const ElfW(Phdr) *part = &library->dlpi_phdr[i];
        const uintptr_t from = library->dlpi_addr + part->p_vaddr, to = from + part->p_memsz;
        if (part->p_type != PT_LOAD)
            continue;
        least = from < least ? from : least;
        most = to > most ? to : most;
    }
    spared[spared_count].from = least;
    spared[spared_count++].to = most;
    return spared_count == sizeof spared / sizeof *spared;
}

static long number_of(const char *name)
{
    const char *text = getenv(name);
    return text ? strtol(text, NULL, 10) : 0;
}

__attribute__((constructor)) static void wake(void)
{
    const char *which = getenv("FAULT_KIND"), *talk = getenv("FAULT_TALK");
    find_memory();
    FIND(read);
    FIND(write);
    if (!which || !talk || sscanf(talk, "%d,%d", &in, &out) != 2)
        return;
    at = number_of("FAULT_AT");
    every = number_of("FAULT_EVERY");
    onward = number_of("FAULT_ONWARD");
    main_thread = pthread_self();
    dl_iterate_phdr(find_spared, NULL);
    fcntl(in, F_SETFD, FD_CLOEXEC);
    fcntl(out, F_SETFD, FD_CLOEXEC);
    kind = !strcmp(which, "memory")  ? MEMORY
           : !strcmp(which, "calls") ? CALLS
           : !strcmp(which, "short") ? SHORT
                                     : ASLEEP;
}

/* How many there were; what atexit handlers still do is let alone. */
__attribute__((destructor)) static void rest(void)
{
    const bool awake = kind != ASLEEP;
    kind = ASLEEP;
    if (awake && out >= 0)
        tell('c', atomic_load(&count), 0);
}
