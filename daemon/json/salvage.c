// What can be read of a text that is no JSON: the members of its outermost object, one by one. For
// those who have to be heard whatever their client made of the rest.
#include "json/internal.h"

#include <stdlib.h>
#include <string.h>

enum { MEMBERS_MAX = 32 };

struct salvaged {
    char *key;         // unescaped
    const char *value; // where it stands in the text
    size_t length;
    bool contradicted; // it stands again, and says something else
};

struct salvage {
    const char *at;
    const char *end;
    struct salvaged members[MEMBERS_MAX];
    size_t count;
};

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static void skip(struct salvage *s, const char *also) {
    while (s->at < s->end && (is_blank(*s->at) || (*s->at != '\0' && strchr(also, *s->at)))) {
        s->at++;
    }
}

// Behind the string that opens at p, or the end of the text.
static const char *behind_string(const char *p, const char *end) {
    for (p++; p < end && *p != '"'; p++) {
        p += *p == '\\' && p + 1 < end;
    }
    return p < end ? p + 1 : end;
}

// Behind the value at p: a string, what stands between brackets, or a word up to the next comma.
static const char *behind_value(const char *p, const char *end) {
    unsigned depth = 0;
    while (p < end) {
        char c = *p;
        if (depth == 0 && (c == ',' || c == '}' || c == ']' || is_blank(c))) {
            return p;
        }
        p = c == '"' ? behind_string(p, end) : p + 1;
        depth += c == '{' || c == '[';
        depth -= c == '}' || c == ']';
        if (depth == 0 && (c == '"' || c == '}' || c == ']')) {
            return p;
        }
    }
    return end;
}

// The length of the escape at p that is right, else 0.
static size_t good_escape(const char *p, const char *end) {
    struct json_tape tape = {0};
    char quoted[16] = "\"";
    size_t most = p + 1 < end && p[1] == 'u' ? 12 : 2;
    size_t there = (size_t)(end - p);
    for (size_t length = most; length >= 2; length = length == 12 ? 6 : 0) {
        if (length > there) {
            continue;
        }
        memcpy(quoted + 1, p, length);
        quoted[length + 1] = '"';
        bool good = json_scan(&tape, quoted, length + 2, &json_message_limits, NULL);
        json_tape_free(&tape);
        if (good) {
            return length;
        }
    }
    return 0;
}

// Unescapes what stands between quotes; what is no escape and no UTF-8 becomes U+FFFD, so that the
// rest can be read. The caller frees it. NULL: out of memory.
static char *readable(const char *from, const char *end, size_t *length) {
    char *text = malloc((size_t)(end - from) * 3 + 1);
    size_t used = 0;
    while (text != NULL && from < end) {
        size_t escape = *from == '\\' ? good_escape(from, end) : 0;
        size_t plain = *from == '\\' ? 0 : json_utf8_length(from, end);
        if (escape > 0) {
            for (const char *stop = from + escape; from < stop;) {
                used += json_unescape(&from, text + used);
            }
        } else if (plain > 0 && *from != '\0') {
            memcpy(text + used, from, plain);
            used += plain;
            from += plain;
        } else {
            memcpy(text + used, "\xef\xbf\xbd", 3);
            used += 3;
            from++;
        }
    }
    if (text != NULL) {
        text[used] = '\0';
        *length = used;
    }
    return text;
}

static bool keep(struct salvage *s, char *key, const char *value) {
    size_t length = (size_t)(s->at - value);
    for (size_t i = 0; i < s->count; i++) {
        struct salvaged *other = &s->members[i];
        if (strcmp(other->key, key) == 0) {
            other->contradicted |=
                other->length != length || memcmp(other->value, value, length) != 0;
            free(key);
            return true;
        }
    }
    if (s->count == MEMBERS_MAX) {
        free(key);
        return false;
    }
    s->members[s->count++] = (struct salvaged){key, value, length, false};
    return true;
}

// One member, or whatever stands there instead. False: nothing more can be read.
static bool take_member(struct salvage *s) {
    skip(s, ",");
    if (s->at == s->end || *s->at == '}') {
        return false;
    }
    if (*s->at != '"') {
        const char *behind = behind_value(s->at, s->end);
        s->at = behind > s->at ? behind : s->at + 1;
        return true;
    }
    const char *opened = s->at;
    s->at = behind_string(s->at, s->end);
    if (s->at == s->end) {
        return false;
    }
    const char *closed = s->at - 1;
    skip(s, "");
    if (s->at == s->end || *s->at != ':') {
        return true;
    }
    s->at++;
    skip(s, "");
    size_t length;
    char *key = readable(opened + 1, closed, &length);
    const char *value = s->at;
    s->at = behind_value(value, s->end);
    return key != NULL && keep(s, key, value);
}

static void put(struct json_out *out, const struct salvaged *member) {
    const struct json_limits limits = {.max_length = json_message_limits.max_length,
                                       .max_depth = json_message_limits.max_depth - 1};
    struct json_tape tape = {0};
    const char *end = member->value + member->length;
    size_t length;
    if (json_scan(&tape, member->value, member->length, &limits, NULL)) {
        json_out_key(out, member->key);
        json_out_raw(out, member->value, member->length);
    } else if (member->length > 1 && *member->value == '"') {
        char *text = readable(member->value + 1, end[-1] == '"' ? end - 1 : end, &length);
        if (text != NULL) {
            json_out_key(out, member->key);
            json_out_string_n(out, text, length);
        }
        out->failed |= text == NULL;
        free(text);
    }
    json_tape_free(&tape);
}

bool json_salvage(struct json_out *out, const char *text, size_t length) {
    struct salvage s = {.at = text, .end = text + length};
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) {
        s.at += 3;
    }
    skip(&s, "");
    json_out_reset(out);
    if (s.at == s.end || *s.at != '{' || length > json_message_limits.max_length) {
        return false;
    }
    s.at++;
    while (take_member(&s)) {
    }
    json_out_object(out);
    for (size_t i = 0; i < s.count; i++) {
        if (!s.members[i].contradicted) {
            put(out, &s.members[i]);
        }
        free(s.members[i].key);
    }
    json_out_object_end(out);
    return !out->failed;
}
