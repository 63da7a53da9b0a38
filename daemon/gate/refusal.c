// The words of a refusal, drawn from its arguments by the row of its sentence.
#include "gate/refusal.h"

#include <stddef.h>
#include <string.h>

#include "gate/text.h"

struct row {
    const char *name;
    enum model_code code;
    const char *need, *met, *found, *say;
};

#define ROW(id, name, code, need, met, found, say)                                                 \
    [GATE_SAY_##id] = {name, MODEL_CODE_##code, need, met, found, say},
#define ALARM_ROW(id, name, say) [GATE_SAY_##id] = {name, MODEL_CODE_COUNT, "", "", "", say},
static const struct row rows[GATE_SAY_END] = {GATE_SAYS(ROW) GATE_ALARM_SAYS(ALARM_ROW)};
#undef ALARM_ROW
#undef ROW

#define TEXT(member)                                                                               \
    { #member, offsetof(struct gate_args, member) }
const struct gate_arg gate_arg_texts[GATE_ARG_TEXTS] = {
    TEXT(person),  TEXT(badge),      TEXT(leader),     TEXT(by),       TEXT(role),
    TEXT(job),     TEXT(with),       TEXT(procedure),  TEXT(position), TEXT(phase),
    TEXT(lockout), TEXT(point),      TEXT(check),      TEXT(test),     TEXT(title),
    TEXT(state),   TEXT(trust),      TEXT(energy),     TEXT(group),    TEXT(rule),
    TEXT(unit),    TEXT(other_unit), TEXT(instrument), TEXT(kind),     TEXT(other_kind),
    TEXT(until),   TEXT(kit),        TEXT(family),     TEXT(alarm),    TEXT(subject),
    TEXT(reason),  TEXT(verb),       TEXT(first),      TEXT(second),   TEXT(nearest),
    TEXT(reading), TEXT(product),
};
#undef TEXT

const char *gate_say_name(enum gate_say sentence) {
    return (unsigned)sentence < GATE_SAY_END ? rows[sentence].name : NULL;
}

const char *gate_say_need(enum gate_say sentence) {
    return (unsigned)sentence < GATE_SAY_END ? rows[sentence].need : NULL;
}

enum model_code gate_say_code(enum gate_say sentence) {
    return rows[sentence].code;
}

enum gate_say gate_say_of(const char *name) {
    for (int sentence = GATE_SAY_NONE + 1; sentence < GATE_SAY_END; sentence++) {
        if (sentence != GATE_SAY_COUNT && strcmp(rows[sentence].name, name) == 0) {
            return (enum gate_say)sentence;
        }
    }
    return GATE_SAY_NONE;
}

// Rule (4, the answer): A malformed request names its field, without the first slash.
// [field-of-anything]
const char *gate_refusal_field(const struct gate_refusal *refusal) {
    const char *subject = refusal->subject;
    if (refusal->code != MODEL_CODE_MALFORMED || subject[0] == '\0') {
        return NULL;
    }
    return subject + (subject[0] == '/');
}

// Where a text stands in arguments.
static const char **text_at(struct gate_args *args, size_t argument) {
    return (const char **)(void *)((char *)args + gate_arg_texts[argument].offset);
}

const char *gate_refusal_text(const struct gate_refusal *refusal, size_t argument) {
    if (refusal->own[argument] != 0) {
        return refusal->texts + refusal->own[argument] - 1;
    }
    const char *text; // of one that was read, not made
    memcpy(&text, (const char *)&refusal->args + gate_arg_texts[argument].offset, sizeof text);
    return text;
}

// Copies what has room, and ends between characters. The length of what came.
static size_t copy(char *buffer, size_t size, const char *text) {
    size_t length = strnlen(text, size);
    if (length < size) {
        memcpy(buffer, text, length + 1);
        return length;
    }
    memcpy(buffer, text, size - 1);
    buffer[size - 1] = '\0';
    gate_text_whole(buffer, size - 1);
    return strlen(buffer);
}

// Rule (4, the answer; R34): A refusal owns the texts that it is made of. [args-borrowed]
void gate_refusal_own(struct gate_refusal *refusal) {
    size_t used = 0;
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        const char **text = text_at(&refusal->args, i);
        size_t room = sizeof refusal->texts - used;
        if (*text != NULL && (*text)[0] != '\0' && room > 1) {
            refusal->own[i] = (unsigned short)(used + 1);
            used += copy(refusal->texts + used, room, *text) + 1;
        }
        *text = NULL;
    }
}

// --- Drawing: a text of fixed size that takes what has room, and ends between characters ---

struct drawing {
    const struct gate_refusal *refusal;
    char *text;
    size_t size, length;
    bool cut;
};

static void put(struct drawing *out, const char *text, size_t length) {
    size_t room = out->size - 1 - out->length;
    out->cut = out->cut || length > room;
    size_t taken = length < room ? length : room;
    memcpy(out->text + out->length, text, taken);
    out->length += taken;
}

static void put_text(struct drawing *out, const char *text) {
    put(out, text, strlen(text));
}

static void put_count(struct drawing *out, unsigned count) {
    char text[16];
    gate_text(text, sizeof text, "%u", count);
    put_text(out, text);
}

static void put_any(struct drawing *out, const struct gate_args *args) {
    for (size_t i = 0; i < args->any_count; i++) {
        put_text(out, i > 0 ? ", " : "");
        put_text(out, args->any[i]);
    }
}

// Rule (4, the answer; R34): Every phase that a request is for is named. [phases-as-one]
static void put_phases(struct drawing *out, const struct gate_args *args) {
    bool first = true;
    for (int phase = 0; phase < MODEL_PHASE_COUNT; phase++) {
        if ((args->phases >> phase & 1u) != 0) {
            put_text(out, first ? "" : " or ");
            put_text(out, model_phase_name((enum model_phase)phase));
            first = false;
        }
    }
}

// What a point is seen as.
static void put_seen(struct drawing *out, const struct gate_args *args) {
    put_text(out, args->state != NULL ? args->state : "");
    put_text(out, ", ");
    put_text(out, args->trust != NULL ? args->trust : "");
    if (args->of > 0 && gate_same(args->state, model_point_state_name(MODEL_POINT_UNKNOWN))) {
        put_text(out, ": ");
        put_count(out, args->said);
        put_text(out, " of ");
        put_count(out, args->of);
        put_text(out, " witnesses");
    }
}

// The reading of a check, and who gave it.
static void put_signed(struct drawing *out, const struct gate_args *args) {
    char value[64];
    if (args->has_value) {
        gate_text(value, sizeof value, "%.15g ", args->value);
        put_text(out, value);
        put_text(out, args->unit != NULL ? args->unit : "");
    } else {
        put_text(out, "signed");
    }
    put_text(out, " by ");
    put_text(out, args->by != NULL ? args->by : "a measure");
}

// A text argument, by its name.
static const char *named(const struct gate_refusal *refusal, const char *name) {
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        if (strcmp(gate_arg_texts[i].name, name) == 0) {
            return gate_refusal_text(refusal, i);
        }
    }
    return NULL;
}

// A volume, to what anybody reads off a container.
static void put_volume(struct drawing *out, double value, const char *unit) {
    char text[64];
    gate_text(text, sizeof text, "%.4g %s", value, unit != NULL ? unit : "");
    put_text(out, text);
}

static void put_amount(struct drawing *out, const struct gate_args *args) {
    put_volume(out, args->value, named(out->refusal, "unit"));
}

static void put_tolerance(struct drawing *out, const struct gate_args *args) {
    put_volume(out, args->max, named(out->refusal, "unit"));
}

static void put_number(struct drawing *out, bool has, double number) {
    char text[64];
    if (has) {
        gate_text(text, sizeof text, "%.15g", number);
        put_text(out, text);
    }
}

static void put_value(struct drawing *out, const struct gate_args *args) {
    put_number(out, args->has_value, args->value);
}

static void put_min(struct drawing *out, const struct gate_args *args) {
    put_number(out, args->has_min, args->min);
}

static bool is(const char *name, size_t length, const char *wanted) {
    return wanted[0] == name[0] && strncmp(wanted, name, length) == 0 && wanted[length] == '\0';
}

// The text that stands for a name; NULL: it is none, or has none here.
static const char *text_of(const struct gate_refusal *refusal, const char *name, size_t length) {
    const struct gate_args *args = &refusal->args;
    if (is(name, length, "need")) {
        return refusal->need[0] != '\0' ? refusal->need : args->need;
    }
    if (is(name, length, "found")) {
        return refusal->found[0] != '\0' ? refusal->found : args->found;
    }
    if (is(name, length, "what")) {
        return args->what;
    }
    if (is(name, length, "field")) {
        return gate_refusal_field(refusal);
    }
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        if (is(name, length, gate_arg_texts[i].name)) {
            return gate_refusal_text(refusal, i);
        }
    }
    return NULL;
}

// What is drawn from several arguments, or from a number. False: the name is none of these.
static bool put_made(struct drawing *out, const char *name, size_t length) {
    const struct gate_args *args = &out->refusal->args;
    static const struct {
        const char *name;
        void (*put)(struct drawing *out, const struct gate_args *args);
    } made[] = {{"seen", put_seen},     {"signed", put_signed}, {"any", put_any},
                {"phases", put_phases}, {"amount", put_amount}, {"tolerance", put_tolerance},
                {"value", put_value},   {"min", put_min}};
    const struct {
        const char *name;
        unsigned count;
    } counts[] = {{"said", args->said}, {"of", args->of},     {"run", args->run},
                  {"runs", args->runs}, {"line", args->line}, {"column", args->column}};
    for (size_t i = 0; i < sizeof made / sizeof *made; i++) {
        if (is(name, length, made[i].name)) {
            made[i].put(out, args);
            return true;
        }
    }
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        if (is(name, length, counts[i].name)) {
            put_count(out, counts[i].count);
            return true;
        }
    }
    return false;
}

// A name without braces, and the words for where it is absent: `name` or `name|words`.
// Rule (4, the answer; R34): What is absent is said in words of its own. [default-ignored]
static void put_named(struct drawing *out, const char *name, size_t length) {
    const char *bar = memchr(name, '|', length);
    size_t short_length = bar != NULL ? (size_t)(bar - name) : length;
    if (put_made(out, name, short_length)) {
        return;
    }
    const char *text = text_of(out->refusal, name, short_length);
    if (text != NULL && text[0] != '\0') {
        put_text(out, text);
    } else if (bar != NULL) {
        put(out, bar + 1, length - short_length - 1);
    }
}

// Rule (4, the answer; R34): A sentence that has no room ends between characters.
// [cut-inside-a-character]
static void draw(const struct gate_refusal *refusal, const char *words, char *text, size_t size) {
    struct drawing out = {.refusal = refusal, .text = text, .size = size};
    while (*words != '\0') {
        size_t plain = strcspn(words, "{");
        put(&out, words, plain);
        words += plain;
        if (*words == '{') {
            size_t length = strcspn(++words, "}");
            put_named(&out, words, length);
            words += length + 1;
        }
    }
    text[out.length] = '\0';
    if (out.cut) {
        gate_text_whole(text, out.length);
    }
}

// Rule (4, the answer; R34): A refusal keeps what it is made of. [args-forgotten]
// Rule (4, the answer; R34): What is found is said as it is, met or not. [found-of-what-holds]
void gate_refusal_make(struct gate_refusal *refusal, bool met, enum gate_say sentence,
                       const char *subject, const struct gate_args *args) {
    const struct row *row = &rows[sentence];
    memset(refusal, 0, sizeof *refusal);
    refusal->code = row->code;
    refusal->sentence = sentence;
    refusal->age_ms = -1;
    if (args != NULL) {
        refusal->args = *args;
    }
    copy(refusal->subject, sizeof refusal->subject, subject != NULL ? subject : "");
    draw(refusal, row->need, refusal->need, sizeof refusal->need);
    draw(refusal, met ? row->met : row->found, refusal->found, sizeof refusal->found);
    draw(refusal, row->say, refusal->say, sizeof refusal->say);
    refusal->args.need = refusal->args.found = refusal->args.what = NULL;
    gate_refusal_own(refusal);
}

void gate_alarm_say_make(struct gate_refusal *told, enum gate_say sentence,
                         const struct gate_args *args) {
    gate_refusal_make(told, true, sentence, NULL, args);
}
