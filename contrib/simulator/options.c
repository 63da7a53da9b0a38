// Options of the command line, in one table. A site is never guessed: it has to be named.
#include "simulator/options.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "simulator/step.h"

struct option {
    const char *name;
    const char *value; // what stands behind it in the usage, NULL: a switch
    const char *help;
    bool (*read)(struct sim_options *options, const char *value, struct sim_note *note);
};

static bool read_host(struct sim_options *options, const char *value, struct sim_note *note) {
    options->broker.host = value;
    return *value != '\0' || sim_fail(note, "the host is empty");
}

static bool read_port(struct sim_options *options, const char *value, struct sim_note *note) {
    int64_t port = 0;
    if (!sim_read_count(value, &port, note)) {
        return false;
    }
    options->broker.port = (int)port;
    return (port >= 1 && port <= 65535) || sim_fail(note, "%s is no port", value);
}

static bool read_username(struct sim_options *options, const char *value, struct sim_note *note) {
    options->broker.username = value;
    return *value != '\0' || sim_fail(note, "the user name is empty");
}

// One line; a final newline is no part of the password.
static bool read_password_file(struct sim_options *options, const char *value,
                               struct sim_note *note) {
    FILE *file = fopen(value, "re");
    if (file == NULL) {
        return sim_fail(note, "%.160s: %m", value);
    }
    size_t length = fread(options->password, 1, sizeof options->password - 1, file);
    bool whole = feof(file) != 0 && ferror(file) == 0;
    fclose(file);
    if (!whole) {
        return sim_fail(note, "%.160s: cannot be read, or is longer than %zu bytes", value,
                        sizeof options->password - 1);
    }
    options->password[length] = '\0';
    if (length > 0 && options->password[length - 1] == '\n') {
        options->password[length - 1] = '\0';
    }
    options->broker.password = options->password;
    return true;
}

static bool read_root(struct sim_options *options, const char *value, struct sim_note *note) {
    options->root = value;
    return sim_is_id(value) || sim_fail(note, "\"%.64s\" is no id", value);
}

static bool read_site(struct sim_options *options, const char *value, struct sim_note *note) {
    options->site = value;
    return sim_is_id(value) || sim_fail(note, "\"%.64s\" is no id", value);
}

static bool read_scenario(struct sim_options *options, const char *value, struct sim_note *note) {
    (void)note;
    options->scenario = value;
    return true;
}

static bool read_input(struct sim_options *options, const char *value, struct sim_note *note) {
    (void)value;
    (void)note;
    options->input = true;
    return true;
}

static bool read_seed(struct sim_options *options, const char *value, struct sim_note *note) {
    int64_t seed = 0;
    bool good = sim_read_count(value, &seed, note);
    options->seed = (uint64_t)seed;
    return good;
}

static bool read_max_time(struct sim_options *options, const char *value, struct sim_note *note) {
    return sim_read_duration(value, false, &options->max_time, note);
}

static bool read_help(struct sim_options *options, const char *value, struct sim_note *note) {
    (void)value;
    (void)note;
    options->help = true;
    return true;
}

static const struct option table[] = {
    {"--host", "HOST", "the broker (127.0.0.1)", read_host},
    {"--port", "PORT", "its port (1883)", read_port},
    {"--username", "NAME", "log in as", read_username},
    {"--password-file", "FILE", "with the password in this file", read_password_file},
    {"--root", "ID", "first level of every topic (forelock)", read_root},
    {"--site", "ID", "the site to play; has to be given", read_site},
    {"--scenario", "FILE", "run this; without it, standard input is run", read_scenario},
    {"--stdin", NULL, "go on with standard input when the scenario has ended", read_input},
    {"--seed", "N", "of the random faults (1): the same seed, the same faults", read_seed},
    {"--max-time", "DURATION", "end after this in any case (1h)", read_max_time},
    {"--help", NULL, "print this and exit", read_help},
};

static const struct option *find(const char *name) {
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        if (strcmp(table[i].name, name) == 0) {
            return &table[i];
        }
    }
    return NULL;
}

bool sim_options_read(struct sim_options *options, int argc, char **argv, struct sim_note *note) {
    *options = (struct sim_options){.broker = {.host = "127.0.0.1", .port = 1883},
                                    .root = "forelock",
                                    .seed = 1,
                                    .max_time = 3600 * 1000};
    for (int i = 1; i < argc; i++) {
        const struct option *option = find(argv[i]);
        if (option == NULL) {
            return sim_fail(note, "there is no option \"%.64s\"", argv[i]);
        }
        if (option->value != NULL && i + 1 == argc) {
            return sim_fail(note, "%s needs its %s", option->name, option->value);
        }
        struct sim_note reason;
        if (!option->read(options, option->value != NULL ? argv[++i] : "", &reason)) {
            return sim_fail(note, "%s: %.220s", option->name, reason.text);
        }
    }
    options->input = options->input || options->scenario == NULL;
    if (options->broker.password != NULL && options->broker.username == NULL) {
        return sim_fail(note, "--password-file needs --username");
    }
    return options->help || options->site != NULL ||
           sim_fail(note, "--site has to be given: no site is played by default");
}

static void print_line(void *context, const char *name, const char *arguments) {
    (void)context;
    printf("  %s %s\n", name, arguments);
}

void sim_options_usage(void) {
    puts("Usage: forelock-simulator --site ID [options]\n\n"
         "Plays the hardware of one site on MQTT: what breakers, valves, tag readers and\n"
         "controllers would report, and how they fail. It switches nothing.\n\nOptions:");
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        char left[40];
        snprintf(left, sizeof left, "%s %s", table[i].name,
                 table[i].value != NULL ? table[i].value : "");
        printf("  %-25s %s\n", left, table[i].help);
    }
    puts("\nDeclarations and steps, one a line, # begins a comment:");
    sim_step_usages(print_line, NULL);
    puts("\nDEVICE is a sensor's id, or sensor/ID, reader/ID, controller/ID. DURATION has its\n"
         "unit: 250ms, 1.5s, 2m, 1h.\n\n"
         "Exit status: 0 done, 1 a step failed or the time was over, 2 usage, 3 scenario,\n"
         "4 the broker cannot be reached.");
}
