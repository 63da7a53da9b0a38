// Steps: reads a line of a scenario by the pattern of its verb, against the world as declared.
#include "simulator/step.h"

#include <stdio.h>
#include <string.h>

#include "simulator/declare.h"
#include "simulator/verb.h"

struct reading {
    struct sim_world *world;
    const struct sim_words *words;
    size_t at; // index of the word to read
    struct sim_step *step;
    struct sim_note *note;
};

static bool find_device(struct reading *reading, enum sim_kind kind, const char *id) {
    ptrdiff_t index = sim_world_find(reading->world, kind, id);
    if (index < 0) {
        return sim_fail(reading->note, "no %s \"%.64s\" is declared", sim_kind_name(kind), id);
    }
    reading->step->device = (size_t)index;
    return true;
}

static bool read_sensor(struct reading *reading, const char *word) {
    return find_device(reading, SIM_SENSOR, word);
}

static bool read_reader(struct reading *reading, const char *word) {
    return find_device(reading, SIM_READER, word);
}

static bool read_controller(struct reading *reading, const char *word) {
    return find_device(reading, SIM_CONTROLLER, word);
}

// A sensor by its bare id; of any kind as kind/id.
static bool read_device(struct reading *reading, const char *word) {
    const char *slash = strchr(word, '/');
    if (slash == NULL) {
        return find_device(reading, SIM_SENSOR, word);
    }
    for (int kind = 0; kind < SIM_KIND_COUNT; kind++) {
        const char *name = sim_kind_name((enum sim_kind)kind);
        if (strlen(name) == (size_t)(slash - word) && strncmp(name, word, strlen(name)) == 0) {
            return find_device(reading, (enum sim_kind)kind, slash + 1);
        }
    }
    return sim_fail(reading->note, "\"%.64s\" begins with no kind: sensor/, reader/ or controller/",
                    word);
}

static bool read_state(struct reading *reading, const char *word) {
    reading->step->on = strcmp(word, "isolated") == 0;
    return reading->step->on || strcmp(word, "live") == 0 ||
           sim_fail(reading->note, "\"%.40s\" is neither isolated nor live", word);
}

static bool read_switch(struct reading *reading, const char *word) {
    reading->step->on = strcmp(word, "on") == 0;
    return reading->step->on || strcmp(word, "off") == 0 ||
           sim_fail(reading->note, "\"%.40s\" is neither on nor off", word);
}

static bool read_text(struct reading *reading, const char *word) {
    if (*word == '\0' || strlen(word) >= SIM_ID_SIZE) {
        return sim_fail(reading->note, "\"%.40s\" is not a word of 1 to 64 bytes", word);
    }
    snprintf(reading->step->text, sizeof reading->step->text, "%s", word);
    return true;
}

// The rest of the line, which is one word.
static bool read_rest(struct reading *reading, const char *word) {
    snprintf(reading->step->text, sizeof reading->step->text, "%s", word);
    return true;
}

static bool read_duration(struct reading *reading, const char *word) {
    return sim_read_duration(word, false, &reading->step->duration, reading->note);
}

static bool read_signed_duration(struct reading *reading, const char *word) {
    return sim_read_duration(word, true, &reading->step->duration, reading->note);
}

static bool read_count(struct reading *reading, const char *word) {
    return sim_read_count(word, &reading->step->count, reading->note);
}

static bool read_percent(struct reading *reading, const char *word) {
    return sim_read_count(word, &reading->step->count, reading->note) &&
           (reading->step->count <= 100 ||
            sim_fail(reading->note, "\"%s\" is more than 100 percent", word));
}

static bool read_order(struct reading *reading, const char *word) {
    static const char *const orders[] = {
        [SIM_FORWARD] = "forward", [SIM_REVERSE] = "reverse", [SIM_SHUFFLED] = "shuffled"};
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        if (strcmp(orders[i], word) == 0) {
            reading->step->count = (int64_t)i;
            return true;
        }
    }
    return sim_fail(reading->note, "\"%.40s\" is neither forward, reverse nor shuffled", word);
}

// What stands for an argument in a usage, and how it is read.
static const struct {
    const char *name;
    bool (*read)(struct reading *reading, const char *word);
} arguments[] = {
    {"SENSOR", read_sensor},
    {"READER", read_reader},
    {"CONTROLLER", read_controller},
    {"DEVICE", read_device},
    {"isolated|live", read_state},
    {"on|off", read_switch},
    {"WORD", read_text},
    {"PERSON", read_text},
    {"BYTES", read_rest},
    {"STEP", read_rest},
    {"DURATION", read_duration},
    {"+/-DURATION", read_signed_duration},
    {"COUNT", read_count},
    {"PERCENT", read_percent},
    {"forward|reverse|shuffled", read_order},
};

static bool read_argument(struct reading *reading, const char *name) {
    const char *word = reading->words->word[reading->at];
    for (size_t i = 0; i < sizeof arguments / sizeof arguments[0]; i++) {
        if (strcmp(arguments[i].name, name) == 0) {
            return arguments[i].read(reading, word);
        }
    }
    return strcmp(name, word) == 0 ||
           sim_fail(reading->note, "\"%.40s\" stands where \"%s\" belongs", word, name);
}

// Reads the words of a line by a verb's pattern. Arguments in brackets are there altogether or not
// at all.
static bool read_arguments(struct reading *reading, const struct sim_verb *verb) {
    char pattern[96];
    snprintf(pattern, sizeof pattern, "%s", verb->arguments);
    char *save = NULL;
    for (char *name = strtok_r(pattern, " ", &save); name != NULL;
         name = strtok_r(NULL, " ", &save)) {
        bool over = reading->at == reading->words->count;
        if (*name == '[' && over) {
            return true;
        }
        if (*name == '[' || *name == ']') {
            continue;
        }
        if (over) {
            return sim_fail(reading->note, "something is missing; it is: %s %s", verb->name,
                            verb->arguments);
        }
        if (!read_argument(reading, name)) {
            return false;
        }
        reading->at++;
    }
    return reading->at == reading->words->count ||
           sim_fail(reading->note, "\"%.40s\" is too much; it is: %s %s",
                    reading->words->word[reading->at], verb->name, verb->arguments);
}

// The delayed step has to be good now, not when its time has come.
static bool check_later(struct sim_world *world, const struct sim_step *step,
                        struct sim_note *note) {
    struct sim_step later;
    struct sim_words words;
    if (!sim_words_cut(&words, step->text, note)) {
        return false;
    }
    if (words.count == 0 || sim_declaration_find(words.word[0]) != NULL) {
        return sim_fail(note, "a declaration cannot come later");
    }
    if (!sim_step_read(world, step->text, &later, note)) {
        return false;
    }
    return later.action == SIM_RUN || sim_fail(note, "\"%s\" cannot come later", words.word[0]);
}

bool sim_step_read(struct sim_world *world, const char *line, struct sim_step *step,
                   struct sim_note *note) {
    struct sim_words words;
    *step = (struct sim_step){.action = SIM_NOTHING};
    note->text[0] = '\0';
    if (!sim_words_cut(&words, line, note) || words.count == 0) {
        return note->text[0] == '\0';
    }
    snprintf(step->line, sizeof step->line, "%.*s", (int)strcspn(line, "\r\n"), line);
    const struct sim_declaration *declaration = sim_declaration_find(words.word[0]);
    if (declaration != NULL) {
        return sim_declare(world, declaration, &words, note);
    }
    const struct sim_verb *verb = sim_verb_find(words.word[0]);
    if (verb == NULL) {
        return sim_fail(note, "\"%.40s\" is no declaration and no step", words.word[0]);
    }
    struct reading reading = {world, &words, 1, step, note};
    step->verb = verb;
    step->action = verb->action;
    return read_arguments(&reading, verb) &&
           (verb->action != SIM_AFTER || check_later(world, step, note));
}

bool sim_step_run(struct sim_world *world, const struct sim_step *step, struct base_time now,
                  struct sim_note *note) {
    return step->verb->run(world, step, now, note);
}

void sim_step_usages(void (*visit)(void *context, const char *name, const char *usage),
                     void *context) {
    for (size_t i = 0; i < sim_declaration_count; i++) {
        visit(context, sim_declarations[i].name, sim_declarations[i].arguments);
    }
    for (size_t i = 0; i < sim_verb_count; i++) {
        visit(context, sim_verbs[i].name, sim_verbs[i].arguments);
    }
}
