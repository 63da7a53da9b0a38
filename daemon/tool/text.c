// Text for people.
#include "tool/text.h"

#include "base/array.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static bool grow(struct tool_text *text, size_t more) {
    text->failed = !BASE_ARRAY_RESERVE(text->data, text->length, more + 1, text->capacity);
    return !text->failed;
}

void tool_text_add_n(struct tool_text *text, const char *data, size_t length) {
    if (text->failed || !grow(text, length)) {
        return;
    }
    memcpy(text->data + text->length, data, length);
    text->length += length;
    text->data[text->length] = '\0';
}

void tool_text_add(struct tool_text *text, const char *format, ...) {
    char *added = NULL;
    va_list arguments;
    va_start(arguments, format);
    int length = vasprintf(&added, format, arguments);
    va_end(arguments);
    if (length < 0) {
        text->failed = true;
        return;
    }
    tool_text_add_n(text, added, (size_t)length);
    free(added);
}

void tool_text_cut(struct tool_text *text, size_t length) {
    if (text->data != NULL && length < text->length) {
        text->length = length;
        text->data[length] = '\0';
    }
}

void tool_text_free(struct tool_text *text) {
    free(text->data);
    memset(text, 0, sizeof *text);
}

const char *tool_text_of(const struct tool_text *text) {
    return text->failed ? "(out of memory)" : text->data != NULL ? text->data : "";
}

// C0, DEL, and C1 in UTF-8.
static void tame(char *text) {
    for (unsigned char *at = (unsigned char *)text; *at != '\0'; at++) {
        if (at[0] == 0xC2 && at[1] >= 0x80 && at[1] < 0xA0) {
            at[0] = at[1] = ' ';
        } else if (*at < 0x20 || *at == 0x7F) {
            *at = ' ';
        }
    }
}

static void put_line(FILE *out, const char *before, const char *format, va_list arguments)
    __attribute__((format(printf, 3, 0)));

static void put_line(FILE *out, const char *before, const char *format, va_list arguments) {
    char *line = NULL;
    if (vasprintf(&line, format, arguments) < 0) {
        fprintf(out, "%s(out of memory)\n", before);
        return;
    }
    tame(line);
    fprintf(out, "%s%s\n", before, line);
    free(line);
}

void tool_line(FILE *out, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    put_line(out, "", format, arguments);
    va_end(arguments);
}

void tool_error(const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    put_line(stderr, "forelock: ", format, arguments);
    va_end(arguments);
}

void tool_age(int64_t ms, char buffer[TOOL_AGE_SIZE]) {
    int64_t s = ms < 0 ? 0 : ms / 1000;
    if (s < 10) {
        snprintf(buffer, TOOL_AGE_SIZE, "%.1f s", ms < 0 ? 0.0 : (double)ms / 1000);
    } else if (s < 120) {
        snprintf(buffer, TOOL_AGE_SIZE, "%" PRId64 " s", s);
    } else if (s < 7200) {
        snprintf(buffer, TOOL_AGE_SIZE, "%" PRId64 " min", s / 60);
    } else if (s < 172800) {
        snprintf(buffer, TOOL_AGE_SIZE, "%" PRId64 " h %" PRId64 " min", s / 3600, s / 60 % 60);
    } else {
        snprintf(buffer, TOOL_AGE_SIZE, "%" PRId64 " d %" PRId64 " h", s / 86400, s / 3600 % 24);
    }
}
