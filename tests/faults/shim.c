/* Stands between a program and its files in one folder: notes each operation, and makes chosen
 * ones fail. Loaded with LD_PRELOAD, so that it sees what SQLite does as well as what Python does.
 *
 * FAULTS_FOLDER  files directly in this folder are watched, and nothing else
 * FAULTS_LOG     each operation is noted here, writes with their bytes: see log.py
 *
 * faults_arm(at, count, error, operations): the next operations of the kinds named are counted
 * from 1; those from number "at" on fail with "error", at most "count" of them (-1: until armed
 * anew). Error 0 writes half and then is ENOSPC, as a disk does that becomes full within a write;
 * below 0 nothing fails, and the operation takes so many milliseconds longer.
 * faults_count() tells how many operations there were since, faults_mark() puts a word of the
 * program's own into the log. The same as variables: FAULTS_AT, FAULTS_COUNT, FAULTS_ERROR,
 * FAULTS_OPERATIONS.
 *
 * Kinds: o open, r read, w write, s sync, t truncate, u unlink, l lock.
 * One thread only may work in the folder. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define MOST_FILES 1024
#define NAME_BYTES 256

static char folder[PATH_MAX];
static char names[MOST_FILES][NAME_BYTES]; /* by descriptor; empty: not watched */
static int log_file = -1;
static long number, first = LONG_MAX, left;
static int fault, halved;
static char kinds[16];

#define REAL(type, name, ...)                                                                      \
    static type (*real)(__VA_ARGS__);                                                              \
    if (!real)                                                                                     \
    real = (type(*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)

static void plain_write(const void *data, size_t length) {
    REAL(ssize_t, "write", int, const void *, size_t);
    if (log_file >= 0 && real(log_file, data, length) != (ssize_t)length)
        abort();
}

static void note(const char *what, const char *name, long offset, long length, const void *data) {
    char line[NAME_BYTES + 100];
    int size = snprintf(line, sizeof line, "%s %s %ld %ld\n", what, name, offset, length);
    plain_write(line, size);
    if (data)
        plain_write(data, length);
}

void faults_arm(long at, long count, int error, const char *operations) {
    number = 0;
    halved = 0;
    first = at;
    left = count;
    fault = error;
    snprintf(kinds, sizeof kinds, "%s", operations);
}

long faults_count(void) { return number; }

void faults_mark(const char *word) { note("mark", word, 0, 0, 0); }

__attribute__((constructor)) static void begin(void) {
    const char *where = getenv("FAULTS_FOLDER"), *log = getenv("FAULTS_LOG");
    if (where)
        snprintf(folder, sizeof folder, "%s", where);
    if (log) {
        REAL(int, "open64", const char *, int, ...);
        log_file = real(log, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
    }
    if (getenv("FAULTS_AT"))
        faults_arm(atol(getenv("FAULTS_AT")), atol(getenv("FAULTS_COUNT")),
                   atoi(getenv("FAULTS_ERROR")), getenv("FAULTS_OPERATIONS"));
}

/* The name of a watched path, "." for the folder itself; 0 for any other. */
static const char *watched(const char *path) {
    size_t length = strlen(folder);
    if (!length || strncmp(path, folder, length))
        return 0;
    if (!path[length])
        return ".";
    if (path[length] != '/' || strchr(path + length + 1, '/') ||
        strlen(path + length + 1) >= NAME_BYTES)
        return 0;
    return path[length + 1] ? path + length + 1 : ".";
}

static const char *name_of(int file) {
    return file >= 0 && file < MOST_FILES && names[file][0] ? names[file] : 0;
}

/* Whether this operation is to fail; counts it. */
static int fails(char kind, const char *name) {
    if (!strchr(kinds, kind) || ++number < first || !left)
        return 0;
    if (left > 0)
        left--;
    if (fault < 0) {
        note("slow", name, kind, -fault, 0);
        usleep(-fault * 1000);
        return 0;
    }
    errno = fault ? fault : ENOSPC;
    int error = errno;
    note("fault", name, kind, errno, 0);
    errno = error;
    return 1;
}

static int opened(int file, const char *name, int is_new, int flags) {
    if (file >= MOST_FILES)
        abort();
    if (file >= 0) {
        snprintf(names[file], NAME_BYTES, "%s", name);
        if (is_new)
            note("create", name, 0, 0, 0);
        else if (flags & O_TRUNC)
            note("truncate", name, 0, 0, 0);
    }
    return file;
}

#define OPEN(function, call, path)                                                                 \
    va_list more;                                                                                  \
    va_start(more, flags);                                                                         \
    mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(more, mode_t) : 0;                        \
    va_end(more);                                                                                  \
    const char *name = watched(path);                                                              \
    if (!name)                                                                                     \
        return call;                                                                               \
    int is_new = flags & O_CREAT && access(path, F_OK);                                            \
    if (fails('o', name))                                                                          \
        return -1;                                                                                 \
    return opened(call, name, is_new, flags)

int open(const char *path, int flags, ...) {
    REAL(int, "open", const char *, int, ...);
    OPEN(open, real(path, flags, mode), path);
}

int open64(const char *path, int flags, ...) {
    REAL(int, "open64", const char *, int, ...);
    OPEN(open64, real(path, flags, mode), path);
}

int openat(int at, const char *path, int flags, ...) {
    REAL(int, "openat", int, const char *, int, ...);
    OPEN(openat, real(at, path, flags, mode), path);
}

int openat64(int at, const char *path, int flags, ...) {
    REAL(int, "openat64", int, const char *, int, ...);
    OPEN(openat64, real(at, path, flags, mode), path);
}

int close(int file) {
    REAL(int, "close", int);
    if (name_of(file))
        names[file][0] = 0;
    return real(file);
}

/* Sets "length" to half of it where the disk becomes full within this write. */
static int write_fails(const char *name, size_t *length) {
    if (!fails('w', name))
        return 0;
    if (fault || halved || *length < 2)
        return 1;
    halved = 1;
    *length /= 2;
    return 0;
}

#define WRITE(call, offset)                                                                        \
    const char *name = name_of(file);                                                              \
    if (!name)                                                                                     \
        return call;                                                                               \
    if (write_fails(name, &length))                                                                \
        return -1;                                                                                 \
    long where = offset;                                                                           \
    ssize_t written = call;                                                                        \
    if (written > 0)                                                                               \
        note("write", name, where, written, data);                                                 \
    return written

ssize_t write(int file, const void *data, size_t length) {
    REAL(ssize_t, "write", int, const void *, size_t);
    WRITE(real(file, data, length), lseek(file, 0, SEEK_CUR));
}

ssize_t pwrite(int file, const void *data, size_t length, off_t at) {
    REAL(ssize_t, "pwrite", int, const void *, size_t, off_t);
    WRITE(real(file, data, length, at), at);
}

ssize_t pwrite64(int file, const void *data, size_t length, off64_t at) {
    REAL(ssize_t, "pwrite64", int, const void *, size_t, off64_t);
    WRITE(real(file, data, length, at), at);
}

ssize_t pread64(int file, void *data, size_t length, off64_t at) {
    REAL(ssize_t, "pread64", int, void *, size_t, off64_t);
    const char *name = name_of(file);
    return name && fails('r', name) ? -1 : real(file, data, length, at);
}

#define SYNC(call)                                                                                 \
    const char *name = name_of(file);                                                              \
    if (!name)                                                                                     \
        return call;                                                                               \
    note("syncing", name, 0, 0, 0);                                                                \
    if (fails('s', name))                                                                          \
        return -1;                                                                                 \
    int result = call;                                                                             \
    note("synced", name, 0, 0, 0);                                                                 \
    return result

int fsync(int file) {
    REAL(int, "fsync", int);
    SYNC(real(file));
}

int fdatasync(int file) {
    REAL(int, "fdatasync", int);
    SYNC(real(file));
}

#define TRUNCATE                                                                                   \
    const char *name = name_of(file);                                                              \
    if (!name)                                                                                     \
        return real(file, length);                                                                 \
    if (fails('t', name))                                                                          \
        return -1;                                                                                 \
    note("truncate", name, length, 0, 0);                                                          \
    return real(file, length)

int ftruncate(int file, off_t length) {
    REAL(int, "ftruncate", int, off_t);
    TRUNCATE;
}

int ftruncate64(int file, off64_t length) {
    REAL(int, "ftruncate64", int, off64_t);
    TRUNCATE;
}

int unlink(const char *path) {
    REAL(int, "unlink", const char *);
    const char *name = watched(path);
    if (!name)
        return real(path);
    if (fails('u', name))
        return -1;
    int result = real(path);
    int error = errno;
    if (!result)
        note("unlink", name, 0, 0, 0);
    errno = error;
    return result;
}

int rename(const char *old, const char *new) {
    REAL(int, "rename", const char *, const char *);
    if (watched(old) || watched(new))
        abort(); /* nothing renames in a record's folder; log.py would have to know of it */
    return real(old, new);
}

int flock(int file, int operation) {
    REAL(int, "flock", int, int);
    const char *name = name_of(file);
    return name && fails('l', name) ? -1 : real(file, operation);
}

int fcntl64(int file, int command, ...) {
    REAL(int, "fcntl64", int, int, ...);
    va_list more;
    va_start(more, command);
    void *argument = va_arg(more, void *);
    va_end(more);
    const char *name = name_of(file);
    int locks = command == F_SETLK && ((struct flock *)argument)->l_type != F_UNLCK;
    if (name && locks && fails('l', name)) /* letting go never fails */
        return -1;
    return real(file, command, argument);
}
