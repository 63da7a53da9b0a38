// The command line: which command it calls, and whether it can be called so. A command is one row
// in the file that does it.
#include "tool/tool.h"

#include "forelock_version.h"
#include "tool/options.h"
#include "tool/text.h"

#include <errno.h>
#include <string.h>

// In the order of the usage.
static const struct tool_command *const commands[] = {
    &tool_check,        &tool_gate,           &tool_explain,      &tool_journal_verify,
    &tool_journal_show, &tool_journal_export, &tool_feed_try,     &tool_feed_watch,
    &tool_calculate,    &tool_record,         &tool_labels,       &tool_token,
    &tool_hangs_export, &tool_hangs_import,   &tool_webhook_list, &tool_webhook_retry,
    &tool_webhook_test,
};

#define COMMAND_COUNT (sizeof commands / sizeof commands[0])

static void usage_line(FILE *out, const char *before, const struct tool_command *command) {
    fprintf(out, "%s forelock %s%s%s%s%s %s\n", before, command->name,
            command->part != NULL ? " " : "", command->part != NULL ? command->part : "",
            command->words[0] != '\0' ? " " : "", command->words, command->options);
}

static void usage(FILE *out) {
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        usage_line(out, i == 0 ? "usage:" : "      ", commands[i]);
    }
    fprintf(out, "       forelock --version | --help\n");
}

static int help(const struct tool_command *command) {
    if (command != NULL) {
        usage_line(stdout, "usage:", command);
        printf("\n%s\n", command->about);
    } else {
        usage(stdout);
        printf("\n  -c FILE    the configuration (forelock.json)\n"
               "  --json     the answer as JSON\n\n"
               "exit status: 0 done, 1 the answer is no, 2 usage, 3 configuration,\n"
               "             4 something it needs cannot be reached or read\n");
    }
    printf("\n%s\n", TOOL_CAUTION);
    return TOOL_DONE;
}

static bool is_named(const struct tool_command *command, const struct tool_call *call) {
    return strcmp(command->name, call->argv[0]) == 0 &&
           (command->part == NULL || (call->argc > 1 && strcmp(command->part, call->argv[1]) == 0));
}

static const struct tool_command *command_of(const struct tool_call *call) {
    for (size_t i = 0; call->argc > 0 && i < COMMAND_COUNT; i++) {
        if (is_named(commands[i], call)) {
            return commands[i];
        }
    }
    return NULL;
}

static int misused(const struct tool_command *command) {
    if (command != NULL) {
        usage_line(stderr, "usage:", command);
    } else {
        usage(stderr);
    }
    return TOOL_USAGE;
}

static int unknown(const struct tool_call *call) {
    if (call->argc > 0) {
        tool_error("there is no command \"%s%s%s\"", call->argv[0], call->argc > 1 ? " " : "",
                   call->argc > 1 ? call->argv[1] : "");
    }
    return misused(NULL);
}

// Whether a command can be called so; otherwise what is wrong was said.
static bool fits(const struct tool_command *command, struct tool_parse *parse) {
    const struct tool_call *call = &parse->call;
    const char *foreign = tool_options_foreign(parse, command->options);
    if (foreign != NULL) {
        tool_error("%s does not take %s", command->name, foreign);
    } else if (call->argc < command->least) {
        tool_error("%s needs %s", command->name, command->words);
    } else if (call->argc > command->most) {
        tool_error("%s does not know what to do with \"%s\"", command->name,
                   call->argv[command->most]);
    } else if (!command->bare && call->config == NULL) {
        tool_error("%s needs the configuration: -c FILE", command->name);
    } else {
        return tool_options_numbers(parse, command->options);
    }
    return false;
}

static int run(const struct tool_command *command, struct tool_parse *parse) {
    struct tool_call *call = &parse->call;
    int name = command->part != NULL ? 2 : 1;
    call->argc -= name;
    call->argv += name;
    if (!fits(command, parse)) {
        return misused(command);
    }
    int status = command->run(call);
    if ((fflush(stdout) != 0 || ferror(stdout)) && status != TOOL_USAGE) {
        tool_error("cannot write the answer: %s", strerror(errno));
        return TOOL_REACH;
    }
    return status;
}

int tool_main(int argc, char **argv) {
    struct tool_parse parse;
    if (!tool_options_read(argc, argv, &parse)) {
        return misused(NULL);
    }
    const struct tool_command *command = command_of(&parse.call);
    if (parse.version) {
        printf("forelock %s\n", FORELOCK_VERSION);
        return TOOL_DONE;
    }
    if (parse.help) {
        return help(command);
    }
    return command != NULL ? run(command, &parse) : unknown(&parse.call);
}
