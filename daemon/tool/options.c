// The command line: options anywhere, words in their order.
#include "tool/options.h"

#include "tool/text.h"

#include <errno.h>
#include <getopt.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum kind { FLAG, TEXT, NUMBER };

#define IN_CALL(member) offsetof(struct tool_parse, call.member)

// Every option: how it is written, what stands behind it, and where that goes. Which command takes
// it is said by the command's row alone.
static const struct option_row {
    const char *name;
    enum kind kind;
    size_t place;  // in struct tool_parse: a bool, a text or an int64_t
    size_t number; // of a text that some commands call a number: where that goes; 0: nowhere
} rows[] = {
    {"-c", TEXT, IN_CALL(config), 0},
    {"--json", FLAG, IN_CALL(json), 0},
    {"--from", TEXT, IN_CALL(since), IN_CALL(from)},
    {"--limit", NUMBER, IN_CALL(limit), 0},
    {"--job", TEXT, IN_CALL(job), 0},
    {"--site", TEXT, IN_CALL(site), 0},
    {"--broker", FLAG, IN_CALL(broker), 0},
    {"--csv", FLAG, IN_CALL(csv), 0},
    {"--to", TEXT, IN_CALL(to), 0},
    {"--pdf", TEXT, IN_CALL(pdf), 0},
    {"--svg", TEXT, IN_CALL(svg), 0},
    {"--url", TEXT, IN_CALL(url), 0},
    {"--paper", TEXT, IN_CALL(paper), 0},
    {"--qr", FLAG, IN_CALL(qr), 0},
    {"--retained", FLAG, IN_CALL(retained), 0},
    {"--seconds", NUMBER, IN_CALL(seconds), 0},
    {"--help", FLAG, offsetof(struct tool_parse, help), 0},
    {"--version", FLAG, offsetof(struct tool_parse, version), 0},
};

enum { ROW_COUNT = sizeof rows / sizeof rows[0], EVERY_COMMAND = 2, FIRST_LONG = 256 };

static void *place_of(struct tool_parse *parse, size_t place) {
    return (char *)parse + place;
}

// A whole number of at least 1, in decimal digits alone.
static bool read_number(const char *name, const char *text, int64_t *number) {
    char *end = NULL;
    errno = 0;
    long long value = strtoll(text, &end, 10);
    if (text[0] < '0' || text[0] > '9' || *end != '\0' || errno != 0 || value < 1) {
        tool_error("%s must be a whole number of at least 1; found \"%s\"", name, text);
        return false;
    }
    *number = value;
    return true;
}

static bool take(struct tool_parse *parse, unsigned row, const char *value) {
    const struct option_row *option = &rows[row];
    bool again = (parse->given & 1U << row) != 0;
    parse->given |= 1U << row;
    if (option->kind == FLAG) {
        *(bool *)place_of(parse, option->place) = true;
        return true;
    }
    if (option->kind == NUMBER) {
        return read_number(option->name, value, place_of(parse, option->place));
    }
    if (again) {
        tool_error("%s is given twice", option->name);
        return false;
    }
    *(const char **)place_of(parse, option->place) = value;
    return true;
}

// What getopt_long returns for a long option is its row.
static void make_long(struct option options[ROW_COUNT + 1]) {
    size_t count = 0;
    for (int i = 0; i < ROW_COUNT; i++) {
        if (rows[i].name[1] == '-') {
            options[count++] = (struct option){
                rows[i].name + 2, rows[i].kind == FLAG ? no_argument : required_argument, NULL,
                FIRST_LONG + i};
        }
    }
    options[count] = (struct option){0};
}

bool tool_options_read(int argc, char **argv, struct tool_parse *parse) {
    struct option options[ROW_COUNT + 1];
    int found;
    make_long(options);
    memset(parse, 0, sizeof *parse);
    optind = 0; // begins anew, also after an earlier call
    opterr = 0;
    while ((found = getopt_long(argc, argv, ":c:", options, NULL)) != -1) {
        if (found == ':') {
            tool_error("%s needs a value behind it", argv[optind - 1]);
            return false;
        }
        if (found == '?') {
            tool_error("there is no option %s, or it takes no value", argv[optind - 1]);
            return false;
        }
        if (!take(parse, found == 'c' ? 0 : (unsigned)(found - FIRST_LONG), optarg)) {
            return false;
        }
    }
    parse->call.argc = argc - optind;
    parse->call.argv = argv + optind;
    return true;
}

// Where an option stands in a usage; what is behind its name there.
static const char *behind(const char *usage, const char *name) {
    size_t length = strlen(name);
    for (const char *at = strstr(usage, name); at != NULL; at = strstr(at + 1, name)) {
        if (strchr(" ]", at[length]) != NULL) { // the end is one of them
            return at + length;
        }
    }
    return NULL;
}

const char *tool_options_foreign(const struct tool_parse *parse, const char *options) {
    for (unsigned i = EVERY_COMMAND; i < ROW_COUNT; i++) {
        if ((parse->given & 1U << i) != 0 && behind(options, rows[i].name) == NULL) {
            return rows[i].name;
        }
    }
    return NULL;
}

bool tool_options_numbers(struct tool_parse *parse, const char *options) {
    for (unsigned i = 0; i < ROW_COUNT; i++) {
        const char *value = behind(options, rows[i].name);
        if ((parse->given & 1U << i) != 0 && rows[i].number != 0 && value != NULL &&
            strncmp(value, " N]", 3) == 0 &&
            !read_number(rows[i].name, *(const char **)place_of(parse, rows[i].place),
                         place_of(parse, rows[i].number))) {
            return false;
        }
    }
    return true;
}
