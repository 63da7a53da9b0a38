// Refusals and what they are made of: one writer and one reader, side by side, by the gate's one
// table of names.
#include "wire/fact_refusal.h"

#include "wire/tell_member.h"

#include <math.h>
#include <string.h>

// Above this, seconds as a double no longer hold every millisecond.
#define SECONDS_MAX 1e12

// The numbers that are counts, in the order in which they are told; 0 is left out.
static const struct {
    const char *name;
    size_t offset; // of an unsigned in struct gate_args
} counts[] = {
    {"run", offsetof(struct gate_args, run)},
    {"runs", offsetof(struct gate_args, runs)},
    {"line", offsetof(struct gate_args, line)},
    {"column", offsetof(struct gate_args, column)},
};

static const struct {
    const char *name;
    size_t has, offset; // of a bool and a double in struct gate_args
} numbers[] = {
    {"value", offsetof(struct gate_args, has_value), offsetof(struct gate_args, value)},
    {"min", offsetof(struct gate_args, has_min), offsetof(struct gate_args, min)},
    {"max", offsetof(struct gate_args, has_max), offsetof(struct gate_args, max)},
};

#define COUNT_OF(array) (sizeof(array) / sizeof *(array))

// --- Writing ---

// Rule (4, the answer): A malformed request is told the field. [arg-field-lost]
static void write_texts(struct json_out *out, const struct gate_refusal *refusal) {
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        const char *text = gate_refusal_text(refusal, i);
        if (text != NULL && text[0] != '\0') {
            wire_text(out, gate_arg_texts[i].name, text);
        }
    }
    const char *field = gate_refusal_field(refusal);
    if (field != NULL) {
        wire_text(out, "field", field);
    }
}

// Rule (4, the answer): That nobody has spoken yet is told. [arg-said-none]
// Rule (4, the answer): A reading and its limits are told whatever they are.
// [arg-number-below-none]
static void write_numbers(struct json_out *out, const struct gate_args *args) {
    const char *base = (const char *)args;
    for (size_t i = 0; i < COUNT_OF(numbers); i++) {
        bool has;
        double number;
        memcpy(&has, base + numbers[i].has, sizeof has);
        memcpy(&number, base + numbers[i].offset, sizeof number);
        if (has) {
            wire_number(out, numbers[i].name, true, number);
        }
    }
    if (args->of > 0) { // nobody has spoken yet is worth telling
        wire_count(out, "said", args->said);
        wire_count(out, "of", args->of);
    }
    for (size_t i = 0; i < COUNT_OF(counts); i++) {
        unsigned count;
        memcpy(&count, base + counts[i].offset, sizeof count);
        if (count > 0) {
            wire_count(out, counts[i].name, count);
        }
    }
}

// Rule (4, the answer; R34): Every phase that a request is for is told. [arg-phases-first]
// Rule (4, the answer): Every credential of which one is asked for is told. [arg-any-first]
static void write_lists(struct json_out *out, const struct gate_args *args) {
    if (args->phases != 0) {
        wire_list(out, "phases");
        for (int phase = 0; phase < MODEL_PHASE_COUNT; phase++) {
            if ((args->phases >> phase & 1u) != 0) {
                json_out_string(out, model_phase_name((enum model_phase)phase));
            }
        }
        json_out_array_end(out);
    }
    if (args->any_count > 0) {
        wire_list(out, "any");
        for (size_t i = 0; i < args->any_count; i++) {
            json_out_string(out, args->any[i]);
        }
        json_out_array_end(out);
    }
}

void wire_fact_write_args(struct json_out *out, const struct gate_refusal *refusal) {
    json_out_object(out);
    wire_text(out, "say", gate_say_name(refusal->sentence));
    write_texts(out, refusal);
    write_numbers(out, &refusal->args);
    write_lists(out, &refusal->args);
    json_out_object_end(out);
}

// The member "args"; nothing for a refusal that has no sentence of a name.
static void write_args(struct json_out *out, const struct gate_refusal *refusal) {
    if (refusal->sentence != GATE_SAY_NONE) {
        json_out_key(out, "args");
        wire_fact_write_args(out, refusal);
    }
}

void wire_fact_write_refusal_members(struct json_out *out, const struct gate_refusal *refusal,
                                     bool with_age) {
    json_out_key(out, "code");
    json_out_string(out, model_code_name(refusal->code));
    json_out_key(out, "subject");
    if (refusal->code == MODEL_CODE_MALFORMED) {
        json_out_string(out, refusal->subject); // a JSON Pointer: "" is the whole
    } else {
        wire_fact_write_text(out, refusal->subject);
    }
    json_out_key(out, "need");
    wire_fact_write_text(out, refusal->need);
    json_out_key(out, "found");
    wire_fact_write_text(out, refusal->found);
    json_out_key(out, "age_s");
    wire_fact_write_number(out, with_age && refusal->age_ms >= 0, (double)refusal->age_ms / 1000);
    json_out_key(out, "say");
    wire_fact_write_text(out, refusal->say);
    write_args(out, refusal);
}

void wire_fact_write_refusal(struct json_out *out, const struct gate_refusal *refusal,
                             bool with_age) {
    json_out_object(out);
    wire_fact_write_refusal_members(out, refusal, with_age);
    json_out_object_end(out);
}

// --- Reading ---

static bool read_texts(const struct wire_fact_reader *reader, const struct json_node *node,
                       struct gate_args *args) {
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        const char *text = NULL;
        const struct json_node *value = json_present(reader->tape, node, gate_arg_texts[i].name);
        if (value != NULL && !wire_fact_read_text(reader, value, &text)) {
            return false;
        }
        memcpy((char *)args + gate_arg_texts[i].offset, &text, sizeof text);
    }
    return true;
}

static bool read_count(const struct wire_fact_reader *reader, const struct json_node *node,
                       const char *name, unsigned *count) {
    const struct json_node *value = json_present(reader->tape, node, name);
    double number = 0;
    if (value != NULL &&
        (!json_double(reader->tape, value, &number) || number < 0 || number > 1e9)) {
        return false;
    }
    *count = (unsigned)number;
    return true;
}

static bool read_numbers(const struct wire_fact_reader *reader, const struct json_node *node,
                         struct gate_args *args) {
    char *base = (char *)args;
    for (size_t i = 0; i < COUNT_OF(numbers); i++) {
        const struct json_node *value = json_present(reader->tape, node, numbers[i].name);
        bool has = value != NULL;
        double number = 0;
        if (has && !json_double(reader->tape, value, &number)) {
            return false;
        }
        memcpy(base + numbers[i].has, &has, sizeof has);
        memcpy(base + numbers[i].offset, &number, sizeof number);
    }
    for (size_t i = 0; i < COUNT_OF(counts); i++) {
        unsigned count = 0;
        if (!read_count(reader, node, counts[i].name, &count)) {
            return false;
        }
        memcpy(base + counts[i].offset, &count, sizeof count);
    }
    return read_count(reader, node, "said", &args->said) &&
           read_count(reader, node, "of", &args->of);
}

static bool read_phases(const struct wire_fact_reader *reader, const struct json_node *node,
                        unsigned *phases) {
    const char **names = NULL;
    size_t count;
    *phases = 0;
    if (!wire_fact_read_texts(reader, json_member(reader->tape, node, "phases"), &names, &count)) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        int phase = names[i] != NULL ? model_phase_of(names[i]) : -1;
        if (phase < 0) {
            return false;
        }
        *phases |= 1u << phase;
    }
    return true;
}

// What is said in a sentence that is not known here has none.
// Rule (4, the answer): A refusal of the journal comes back with its sentence. [arg-sentence-lost]
static bool read_args(const struct wire_fact_reader *reader, const struct json_node *node,
                      struct gate_refusal *refusal) {
    const char *name = NULL, **any = NULL;
    struct gate_args *args = &refusal->args;
    memset(args, 0, sizeof *args);
    refusal->sentence = GATE_SAY_NONE;
    if (node == NULL) {
        return true;
    }
    if (node->kind != JSON_OBJECT ||
        !wire_fact_read_text(reader, json_member(reader->tape, node, "say"), &name)) {
        return false;
    }
    refusal->sentence = name != NULL ? gate_say_of(name) : GATE_SAY_NONE;
    bool good = read_texts(reader, node, args) && read_numbers(reader, node, args) &&
                read_phases(reader, node, &args->phases) &&
                wire_fact_read_texts(reader, json_member(reader->tape, node, "any"), &any,
                                     &args->any_count);
    args->any = any;
    return good;
}

bool wire_fact_read_alarm_args(const struct wire_fact_reader *reader, const struct json_node *node,
                               const struct gate_refusal **args) {
    struct gate_refusal *read = wire_fact_arena_alloc(reader->arena, sizeof *read);
    *args = read;
    if (read == NULL) {
        return false;
    }
    memset(read, 0, sizeof *read);
    read->code = MODEL_CODE_COUNT;
    read->age_ms = -1;
    return read_args(reader, node, read);
}

static bool read_age(const struct wire_fact_reader *reader, const struct json_node *object,
                     int64_t *age_ms) {
    double seconds;
    const struct json_node *node = json_present(reader->tape, object, "age_s");
    *age_ms = -1;
    if (node == NULL) {
        return true;
    }
    if (!json_double(reader->tape, node, &seconds) || seconds < 0 || seconds > SECONDS_MAX) {
        return false;
    }
    *age_ms = llround(seconds * 1000);
    return true;
}

static bool read_refusal(const struct wire_fact_reader *reader, const struct json_node *node,
                         struct gate_refusal *refusal) {
    const char *name = NULL;
    if (!wire_fact_read_text(reader, json_member(reader->tape, node, "code"), &name)) {
        return false;
    }
    int code = name != NULL ? model_code_of(name) : -1;
    if (code < 0) {
        return false;
    }
    refusal->code = (enum model_code)code;
    return wire_fact_read_into(reader, node, "subject", refusal->subject,
                               sizeof refusal->subject) &&
           wire_fact_read_into(reader, node, "need", refusal->need, sizeof refusal->need) &&
           wire_fact_read_into(reader, node, "found", refusal->found, sizeof refusal->found) &&
           wire_fact_read_into(reader, node, "say", refusal->say, sizeof refusal->say) &&
           read_age(reader, node, &refusal->age_ms) &&
           read_args(reader, json_present(reader->tape, node, "args"), refusal);
}

bool wire_fact_read_refusals(const struct wire_fact_reader *reader, const struct json_node *node,
                             const struct gate_refusal **refusals, size_t *count) {
    void *items;
    if (!wire_fact_open_array(reader, node, sizeof **refusals, &items, count)) {
        return false;
    }
    struct gate_refusal *all = items;
    const struct json_node *item = *count > 0 ? json_first(reader->tape, node) : NULL;
    for (size_t i = 0; i < *count; i++, item = json_next(reader->tape, node, item)) {
        if (!read_refusal(reader, item, &all[i])) {
            return false;
        }
    }
    *refusals = all;
    return true;
}
