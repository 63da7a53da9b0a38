// Reading a small file whole; see file.h.
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Opens a regular file of at most max bytes. -1: why says it.
static int open_regular(const char *path, size_t max, size_t *size, const char **why) {
    // O_NONBLOCK: opening a FIFO must not hang the start.
    int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat status;
    if (descriptor < 0 || fstat(descriptor, &status) < 0) {
        *why = strerror(errno);
    } else if (!S_ISREG(status.st_mode)) {
        *why = "it is not a regular file";
    } else if ((uint64_t)status.st_size > max) {
        *why = "it is too large";
    } else {
        *size = (size_t)status.st_size;
        return descriptor;
    }
    if (descriptor >= 0) {
        close(descriptor);
    }
    return -1;
}

// Reads until size bytes are there or the file ends. -1: errno.
static ssize_t read_all(int descriptor, char *buffer, size_t size) {
    size_t have = 0;
    while (have < size) {
        ssize_t got = read(descriptor, buffer + have, size - have);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            return -1;
        }
        if (got == 0) {
            break;
        }
        have += (size_t)got;
    }
    return (ssize_t)have;
}

char *base_file_read(const char *path, size_t max, size_t *length, const char **why) {
    size_t size = 0;
    int descriptor = open_regular(path, max, &size, why);
    if (descriptor < 0) {
        return NULL;
    }
    char *text = malloc(size + 1);
    ssize_t got = text != NULL ? read_all(descriptor, text, size) : -1;
    if (got < 0) {
        *why = strerror(errno);
        if (text != NULL) {
            explicit_bzero(text, size); // what was read so far may be of a secret
        }
        free(text);
        text = NULL;
    } else {
        text[got] = '\0';
        if (length != NULL) {
            *length = (size_t)got;
        }
    }
    close(descriptor);
    return text;
}
