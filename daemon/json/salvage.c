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
    bool again; // a member of its key stands before it, and says something else
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
    bool again = false;
    for (size_t i = 0; i < s->count; i++) {
        const struct salvaged *other = &s->members[i];
        if (strcmp(other->key, key) != 0) {
            continue;
        }
        if (other->length == length && memcmp(other->value, value, length) == 0) {
            free(key);
            return true;
        }
        again = true;
    }
    if (s->count == MEMBERS_MAX) {
        free(key);
        return false;
    }
    s->members[s->count++] = (struct salvaged){key, value, length, again};
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

// A number that no double holds, or Infinity as some write it: 1e300 or 1e-300, with its sign, says
// as much of it as can be said. NULL: it is none.
// Rule (4, a stop; R12): A number beyond every limit is read as one. [number-beyond-all-unread]
static const char *nearest_number(const char *from, size_t length) {
    bool negative = length > 0 && *from == '-';
    const char *p = from + negative, *end = from + length;
    if ((size_t)(end - p) == 8 && memcmp(p, "Infinity", 8) == 0) {
        return negative ? "-1e300" : "1e300";
    }
    const char *digits = p;
    while (p < end && (*p == '.' || (*p >= '0' && *p <= '9'))) {
        p++;
    }
    bool exponent = p < end && (*p == 'e' || *p == 'E');
    bool small = exponent ? p + 1 < end && p[1] == '-' : end - digits > 1 && digits[1] == '.';
    for (const char *q = exponent ? p + 1 : p; q < end; q++) {
        if ((*q < '0' || *q > '9') && !(exponent && q == p + 1 && (*q == '-' || *q == '+'))) {
            return NULL;
        }
    }
    char last = length > 0 ? end[-1] : '.';
    if (p == digits || *digits == '.' || p[-1] == '.' || last < '0' || last > '9') {
        return NULL;
    }
    return small ? (negative ? "-1e-300" : "1e-300") : negative ? "-1e300" : "1e300";
}

static bool is_json(const struct salvaged *member) {
    const struct json_limits limits = {.max_length = json_message_limits.max_length,
                                       .max_depth = json_message_limits.max_depth - 2};
    struct json_tape tape = {0};
    bool is = json_scan(&tape, member->value, member->length, &limits, NULL);
    json_tape_free(&tape);
    return is;
}

static bool is_readable(const struct salvaged *member) {
    return is_json(member) || nearest_number(member->value, member->length) != NULL ||
           (member->length > 1 && *member->value == '"');
}

// The value, as far as it can be read.
static void put_value(struct json_out *out, const struct salvaged *member) {
    const char *end = member->value + member->length;
    const char *number = nearest_number(member->value, member->length);
    size_t length;
    if (is_json(member)) {
        json_out_raw(out, member->value, member->length);
    } else if (number != NULL) {
        json_out_raw(out, number, strlen(number));
    } else {
        char *text = readable(member->value + 1, end[-1] == '"' ? end - 1 : end, &length);
        if (text != NULL) {
            json_out_string_n(out, text, length);
        }
        out->failed |= text == NULL;
        free(text);
    }
}

static bool is_said_again(const struct salvage *s, size_t index) {
    for (size_t i = index + 1; i < s->count; i++) {
        if (s->members[i].again && strcmp(s->members[i].key, s->members[index].key) == 0) {
            return true;
        }
    }
    return false;
}

// A member that is there once; or, where it says several things, a list of them, which is none of
// them.
// Rule (4, a stop; R12): What stands there twice is neither, and both are heard.
// [said-twice-unheard]
static void put(struct json_out *out, const struct salvage *s, size_t index) {
    const struct salvaged *member = &s->members[index];
    bool again = is_said_again(s, index);
    if (member->again || (!again && !is_readable(member))) {
        return;
    }
    json_out_key(out, member->key);
    if (!again) {
        put_value(out, member);
        return;
    }
    json_out_array(out);
    for (size_t i = index; i < s->count; i++) {
        if (strcmp(s->members[i].key, member->key) == 0 && is_readable(&s->members[i])) {
            put_value(out, &s->members[i]);
        }
    }
    json_out_array_end(out);
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
        put(out, &s, i);
    }
    for (size_t i = 0; i < s.count; i++) {
        free(s.members[i].key);
    }
    json_out_object_end(out);
    return !out->failed;
}
