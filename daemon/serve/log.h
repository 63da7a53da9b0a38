// The log: one line an entry on standard error, `<priority>subsystem: message key=value …`, where
// the priority is systemd's (sd-daemon(3)) when the log goes to the journal of the system.
#pragma once

#include <stdbool.h>
#include <stdint.h>

// Says something at once. `what` names the subsystem. Fixed meanings: info is of the ordinary
// course, warn wants a look, error means that something is refused or lost until it is mended.
void serve_log_info(const char *what, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void serve_log_warn(const char *what, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void serve_log_error(const char *what, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

// One kind of entry that may come in floods: said at once, then at most once in 10 s with the
// number of those left out. Zero-initialize it.
struct serve_log_limit {
    int64_t next;    // mono ms before which nothing is said
    uint64_t silent; // left out since
};
// Whether to say it now; *left_out is how many were not said since the last time.
bool serve_log_allowed(struct serve_log_limit *limit, int64_t mono_ms, uint64_t *left_out);
