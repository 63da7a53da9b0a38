// Paths and queries; see parse.h.
#include "http/parse.h"

#include <string.h>

static int hex(char digit) {
    if (digit >= '0' && digit <= '9') {
        return digit - '0';
    }
    char lower = (char)(digit | 0x20);
    return lower >= 'a' && lower <= 'f' ? lower - 'a' + 10 : -1;
}

// Decodes a stretch of text into a buffer with a final NUL. A plus stays one, as in a path: times
// with an offset carry it.
static bool decode(const char *text, size_t length, char *buffer, size_t size) {
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        char byte = text[i];
        if (byte == '%') {
            int high = length - i > 2 ? hex(text[i + 1]) : -1;
            int low = high >= 0 ? hex(text[i + 2]) : -1;
            if (low < 0) {
                return false;
            }
            byte = (char)(high * 16 + low);
            i += 2;
        }
        if (byte == '\0' || used + 1 >= size) {
            return false;
        }
        buffer[used++] = byte;
    }
    buffer[used] = '\0';
    return true;
}

bool http_path_split(const char *path, struct http_path *split) {
    split->count = 0;
    if (path == NULL || path[0] != '/') {
        return false;
    }
    while (*path == '/') {
        size_t length = strcspn(++path, "/");
        if (length == 0 || split->count == HTTP_PARTS_MAX ||
            !decode(path, length, split->parts[split->count], sizeof split->parts[0])) {
            return false;
        }
        split->count++;
        path += length;
    }
    return true;
}

bool http_path_is(const struct http_path *path, const char *pattern) {
    for (size_t i = 0; i < path->count; i++) {
        size_t length = strcspn(pattern, "/");
        bool any = length == 1 && pattern[0] == '+';
        if (length == 0 || (!any && (strlen(path->parts[i]) != length ||
                                     memcmp(path->parts[i], pattern, length) != 0))) {
            return false;
        }
        pattern += length;
        pattern += *pattern == '/';
    }
    return *pattern == '\0';
}

enum http_field http_query_text(const char *query, const char *name, char *value, size_t size) {
    size_t name_length = strlen(name);
    while (query != NULL && *query != '\0') {
        size_t length = strcspn(query, "&");
        if (length > name_length && query[name_length] == '=' &&
            memcmp(query, name, name_length) == 0) {
            return decode(query + name_length + 1, length - name_length - 1, value, size)
                       ? HTTP_FIELD_GOOD
                       : HTTP_FIELD_BAD;
        }
        query += length;
        query += *query == '&';
    }
    return HTTP_FIELD_ABSENT;
}

bool http_number(const char *text, uint64_t most, uint64_t *value) {
    uint64_t number = 0;
    if (*text == '\0') {
        return false;
    }
    for (; *text != '\0'; text++) {
        uint64_t digit = (uint64_t)(*text - '0'); // of less than '0', far over 9
        if (digit > 9 || digit > most || number > (most - digit) / 10) {
            return false;
        }
        number = number * 10 + digit;
    }
    *value = number;
    return true;
}

enum http_field http_query_number(const char *query, const char *name, uint64_t most,
                                  uint64_t *value) {
    char text[32];
    enum http_field found = http_query_text(query, name, text, sizeof text);
    if (found != HTTP_FIELD_GOOD) {
        return found;
    }
    return http_number(text, most, value) ? HTTP_FIELD_GOOD : HTTP_FIELD_BAD;
}
