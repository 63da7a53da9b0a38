// A scenario: nothing of it runs unless all of it can be understood.
#include "simulator/scenario.h"

#include "base/array.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool add(struct sim_scenario *scenario, unsigned line, const struct sim_step *step,
                struct sim_note *note) {
    if (!BASE_ARRAY_ROOM(scenario->steps, scenario->count, scenario->capacity)) {
        return sim_fail(note, "no memory for another step");
    }
    scenario->steps[scenario->count++] = (struct sim_planned){line, *step};
    return true;
}

static bool read_line(struct sim_scenario *scenario, struct sim_world *world, const char *line,
                      size_t length, unsigned number, struct sim_note *note) {
    struct sim_step step;
    if (strlen(line) != length) {
        return sim_fail(note, "a NUL byte is in the line");
    }
    return sim_step_read(world, line, &step, note) &&
           (step.action == SIM_NOTHING || add(scenario, number, &step, note));
}

bool sim_scenario_read(struct sim_scenario *scenario, struct sim_world *world, const char *path) {
    *scenario = (struct sim_scenario){0};
    FILE *file = fopen(path, "re");
    if (file == NULL) {
        fprintf(stderr, "%s: %m\n", path);
        return false;
    }
    char *line = NULL;
    size_t size = 0;
    bool good = true;
    ssize_t length;
    for (unsigned number = 1; (length = getline(&line, &size, file)) >= 0; number++) {
        struct sim_note note;
        if (!read_line(scenario, world, line, (size_t)length, number, &note)) {
            fprintf(stderr, "%s:%u: %s\n", path, number, note.text);
            good = false;
        }
    }
    if (ferror(file) != 0) {
        fprintf(stderr, "%s: %m\n", path);
        good = false;
    }
    free(line);
    fclose(file);
    return good;
}

void sim_scenario_free(struct sim_scenario *scenario) {
    free(scenario->steps);
    *scenario = (struct sim_scenario){0};
}
