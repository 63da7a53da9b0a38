// Filling the templates of the rows (row.h says how they are written).
#include "gate/fact/sentence.h"

#include <stdio.h>
#include <string.h>

#include "gate/fact/row.h"

struct sentence {
    const struct gate_fact *fact;
    char *buffer;
    size_t size;
    size_t length; // of the whole, also of what did not fit
};

static void add(struct sentence *sentence, const char *text, size_t length) {
    if (sentence->length < sentence->size) {
        size_t room = sentence->size - sentence->length;
        memcpy(sentence->buffer + sentence->length, text, length < room ? length : room);
    }
    sentence->length += length;
}

static void add_number(struct sentence *sentence, double value) {
    char text[40];
    add(sentence, text, (size_t)snprintf(text, sizeof text, "%.15g", value));
}

// The field of a name; of several the one that a fact of the type carries, else the first.
static const struct gate_fact_field_row *field_named(const struct gate_fact *fact, const char *name,
                                                     size_t length) {
    gate_fact_mask carries = gate_fact_row(fact->type)->carries;
    const struct gate_fact_field_row *first = NULL;
    for (int i = 0; i < GATE_FACT_FIELD_COUNT; i++) {
        const struct gate_fact_field_row *field = &gate_fact_field_rows[i];
        if (field->length != length || memcmp(field->name, name, length) != 0) {
            continue;
        }
        if ((carries >> i & 1u) != 0) {
            return field;
        }
        first = first != NULL ? first : field;
    }
    return first;
}

// Whether a flag is known and is as wanted. One that is absent where false is always known.
static bool flag_is(const struct gate_fact *fact, const struct gate_fact_field_row *field,
                    bool wanted) {
    bool known = field->kind == GATE_FACT_KIND_YES || gate_fact_has(fact, field);
    return known && *(const bool *)((const char *)fact + field->offset) == wanted;
}

// One name between braces, a flag's with its mark before it. False: the fact lacks it.
static bool add_field(struct sentence *sentence, const char *name, size_t length) {
    bool is_flag = name[0] == '?' || name[0] == '!';
    const struct gate_fact_field_row *field =
        field_named(sentence->fact, name + (is_flag ? 1 : 0), length - (is_flag ? 1 : 0));
    if (field == NULL) {
        return false;
    }
    if (is_flag) {
        return flag_is(sentence->fact, field, name[0] == '?');
    }
    if (field->kind == GATE_FACT_KIND_NUMBER) {
        if (gate_fact_has(sentence->fact, field)) {
            add_number(sentence, *(const double *)((const char *)sentence->fact + field->offset));
        }
        return gate_fact_has(sentence->fact, field);
    }
    const char *text = gate_fact_text_of(sentence->fact, field);
    if (text == NULL || text[0] == '\0') {
        return false;
    }
    add(sentence, text, strlen(text));
    return true;
}

// The first that is set of names with bars between them. False: none is.
static bool add_first(struct sentence *sentence, const char *name, const char *end) {
    while (name < end) {
        const char *bar = memchr(name, '|', (size_t)(end - name));
        const char *stop = bar != NULL ? bar : end;
        if (add_field(sentence, name, (size_t)(stop - name))) {
            return true;
        }
        name = stop + 1;
    }
    return false;
}

// Adds a stretch without brackets, with `instead` for what is not set. Whether all of it was.
static bool add_span(struct sentence *sentence, const char *at, const char *end,
                     const char *instead) {
    bool all = true;
    while (at < end) {
        const char *open = memchr(at, '{', (size_t)(end - at));
        add(sentence, at, (size_t)((open != NULL ? open : end) - at));
        if (open == NULL) {
            break;
        }
        const char *close = strchr(open, '}');
        bool set = add_first(sentence, open + 1, close);
        if (!set) {
            add(sentence, instead, strlen(instead));
        }
        all = all && set;
        at = close + 1;
    }
    return all;
}

static const char *template_of(const struct gate_fact *fact) {
    const struct gate_fact_row *row = gate_fact_row(fact->type);
    const char *own = row->sentence_of != NULL ? row->sentence_of(fact) : NULL;
    return own != NULL ? own : row->sentence;
}

size_t gate_fact_sentence(const struct gate_fact *fact, char *buffer, size_t size) {
    struct sentence sentence = {.fact = fact, .buffer = buffer, .size = size};
    const char *at = template_of(fact);
    while (*at != '\0') {
        size_t plain = strcspn(at, "[");
        add_span(&sentence, at, at + plain, "(not known)");
        at += plain;
        if (*at == '[') {
            const char *close = strchr(at, ']');
            size_t before = sentence.length;
            if (!add_span(&sentence, at + 1, close, "")) {
                sentence.length = before; // not all of it is set: none is told
            }
            at = close + 1;
        }
    }
    if (size > 0) {
        buffer[sentence.length < size ? sentence.length : size - 1] = '\0';
    }
    return sentence.length;
}
