// A shim that is loaded before a program and makes the Nth call of one kind fail, or that call and
// every later one. For tests only.
//
// FORELOCK_FAULT=KIND:N:once|on   the calls to fail. Kinds: memory (malloc, calloc, realloc, strdup
//                                 and friends come to these), disk-full and disk-error (write,
//                                 pwrite, writev and their like on a regular file; ENOSPC, EIO),
//                                 sync (fsync, fdatasync; EIO), refused and unreachable (connect
//                                 over TCP; ECONNREFUSED, ENETUNREACH).
// FORELOCK_FAULT_FILE=PATH        a file of SHIM_WORDS 64-bit words that is mapped: the calls of
//                                 each kind counted, and how many failed.
// FORELOCK_FAULT_PROGRAM=NAME     the only program that is meant, not what starts it.
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <unistd.h>

enum counter { COUNT_MEMORY, COUNT_WRITE, COUNT_SYNC, COUNT_CONNECT, COUNTERS };
enum word { WORD_FAILED = COUNTERS, SHIM_WORDS };

struct kind {
    const char *name;
    enum counter counter;
    int error;
};

static const struct kind kinds[] = {
    {"memory", COUNT_MEMORY, ENOMEM},         {"disk-full", COUNT_WRITE, ENOSPC},
    {"disk-error", COUNT_WRITE, EIO},         {"sync", COUNT_SYNC, EIO},
    {"refused", COUNT_CONNECT, ECONNREFUSED}, {"unreachable", COUNT_CONNECT, ENETUNREACH},
};

static _Atomic int64_t own_words[SHIM_WORDS];
static _Atomic int64_t *words = own_words;
static const struct kind *wanted; // NULL: nothing fails
static int64_t wanted_at;
static bool wanted_on; // every call from wanted_at on

// The library's own allocator under the names that it keeps for this purpose: dlsym itself
// allocates.
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);

// --- What was asked for ---

static void read_wanted(const char *text) {
    const char *colon = text != NULL ? strchr(text, ':') : NULL;
    for (size_t i = 0; colon != NULL && i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strlen(kinds[i].name) == (size_t)(colon - text) &&
            strncmp(kinds[i].name, text, (size_t)(colon - text)) == 0) {
            char *rest = NULL;
            wanted_at = strtoll(colon + 1, &rest, 10);
            wanted_on = strcmp(rest, ":on") == 0;
            wanted = &kinds[i];
        }
    }
}

static void map_words(const char *path) {
    int file = path != NULL ? open(path, O_RDWR | O_CLOEXEC) : -1;
    if (file < 0) {
        return;
    }
    void *mapped =
        mmap(NULL, SHIM_WORDS * sizeof *words, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
    if (mapped != MAP_FAILED) {
        words = mapped;
    }
    close(file);
}

__attribute__((constructor)) static void shim_begin(void) {
    const char *program = getenv("FORELOCK_FAULT_PROGRAM");
    if (program == NULL || strcmp(program, program_invocation_short_name) == 0) {
        map_words(getenv("FORELOCK_FAULT_FILE"));
        read_wanted(getenv("FORELOCK_FAULT"));
    }
}

// Counts a call and says whether it is to fail; errno is then set.
static bool fails(enum counter counter) {
    int64_t call = atomic_fetch_add(&words[counter], 1) + 1;
    if (wanted == NULL || wanted->counter != counter ||
        (wanted_on ? call < wanted_at : call != wanted_at)) {
        return false;
    }
    atomic_fetch_add(&words[WORD_FAILED], 1);
    errno = wanted->error;
    return true;
}

// The next function of this name, as a pointer of any kind.
static void *next(const char *name) {
    return dlsym(RTLD_NEXT, name);
}

// --- Memory ---

void *malloc(size_t size) {
    return fails(COUNT_MEMORY) ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size) {
    return fails(COUNT_MEMORY) ? NULL : __libc_calloc(count, size);
}

void *realloc(void *old, size_t size) {
    return fails(COUNT_MEMORY) ? NULL : __libc_realloc(old, size);
}

// --- Files ---

static bool is_regular(int file) {
    struct stat about;
    int before = errno;
    bool regular = fstat(file, &about) == 0 && S_ISREG(about.st_mode);
    errno = before;
    return regular;
}

static bool write_fails(int file) {
    return is_regular(file) && fails(COUNT_WRITE);
}

#define NEXT(name, type)                                                                           \
    static type real;                                                                              \
    if (real == NULL) {                                                                            \
        real = (type)next(name);                                                                   \
    }

typedef ssize_t (*write_call)(int, const void *, size_t);
typedef ssize_t (*pwrite_call)(int, const void *, size_t, off_t);
typedef ssize_t (*writev_call)(int, const struct iovec *, int);
typedef int (*allocate_call)(int, off_t, off_t);
typedef int (*sync_call)(int);
typedef int (*connect_call)(int, const struct sockaddr *, socklen_t);

ssize_t write(int file, const void *bytes, size_t length) {
    NEXT("write", write_call)
    return write_fails(file) ? -1 : real(file, bytes, length);
}

ssize_t pwrite(int file, const void *bytes, size_t length, off_t at) {
    NEXT("pwrite", pwrite_call)
    return write_fails(file) ? -1 : real(file, bytes, length, at);
}

ssize_t pwrite64(int file, const void *bytes, size_t length, off64_t at) {
    NEXT("pwrite64", pwrite_call)
    return write_fails(file) ? -1 : real(file, bytes, length, at);
}

ssize_t writev(int file, const struct iovec *parts, int count) {
    NEXT("writev", writev_call)
    return write_fails(file) ? -1 : real(file, parts, count);
}

// Returns the error instead of setting it.
int posix_fallocate(int file, off_t at, off_t length) {
    NEXT("posix_fallocate", allocate_call)
    return write_fails(file) ? errno : real(file, at, length);
}

int fsync(int file) {
    NEXT("fsync", sync_call)
    return fails(COUNT_SYNC) ? -1 : real(file);
}

int fdatasync(int file) {
    NEXT("fdatasync", sync_call)
    return fails(COUNT_SYNC) ? -1 : real(file);
}

// --- The network ---

int connect(int file, const struct sockaddr *address, socklen_t length) {
    NEXT("connect", connect_call)
    bool tcp = address->sa_family == AF_INET || address->sa_family == AF_INET6;
    return tcp && fails(COUNT_CONNECT) ? -1 : real(file, address, length);
}
