// The log on standard error.
#include "serve/log.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#define LIMIT_MS 10000

static void say(int priority, const char *what, const char *format, va_list arguments)
    __attribute__((format(printf, 3, 0)));

static void say(int priority, const char *what, const char *format, va_list arguments) {
    char line[1024];
    int length = vsnprintf(line, sizeof line, format, arguments);
    for (int i = 0; i < length && i < (int)sizeof line - 1; i++) {
        if ((unsigned char)line[i] < 0x20 || line[i] == 0x7F) {
            line[i] = ' '; // what came from outside must not make lines of its own
        }
    }
    if (getenv("JOURNAL_STREAM") != NULL) {
        fprintf(stderr, "<%d>", priority);
    }
    fprintf(stderr, "%s: %s\n", what, line);
}

void serve_log_info(const char *what, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    say(6, what, format, arguments);
    va_end(arguments);
}

void serve_log_warn(const char *what, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    say(4, what, format, arguments);
    va_end(arguments);
}

void serve_log_error(const char *what, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    say(3, what, format, arguments);
    va_end(arguments);
}

bool serve_log_allowed(struct serve_log_limit *limit, int64_t mono_ms, uint64_t *left_out) {
    if (mono_ms < limit->next) {
        limit->silent++;
        return false;
    }
    *left_out = limit->silent;
    limit->silent = 0;
    limit->next = mono_ms + LIMIT_MS;
    return true;
}
