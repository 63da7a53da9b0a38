// The commands as one table: what each is called, takes and says of itself.
#include "tool/tool.h"

#include "config/config.h"
#include "forelock_version.h"
#include "tool/calc.h"
#include "tool/options.h"
#include "tool/text.h"
#include "tool/webhook.h"

#include <errno.h>
#include <string.h>

struct command {
    const char *name;
    const char *part; // second word of the name, or NULL
    const char *words, *options;
    const char *about;
    int least, most; // words behind the name
    unsigned takes;  // mask of enum tool_option
    bool bare;       // needs no configuration
    int (*run)(const struct tool_call *call);
};

#define COMMON (TOOL_OPTION_CONFIG | TOOL_OPTION_JSON)

static int calc(const struct tool_call *call) {
    struct model *model = NULL;
    if (call->config != NULL) {
        model = tool_model(call);
        if (model == NULL) {
            return TOOL_CONFIGURATION;
        }
    }
    int status = tool_calc(call->argc, call->argv, call->json, model);
    model_free(model);
    return status;
}

static const struct command commands[] = {
    {"check", NULL, "", "-c FILE [--broker] [--json]",
     "Reads the configuration, says all that is wrong with it, and what it has; with --broker, "
     "connects as the daemon and says what the broker lacks or leaves too open.",
     0, 0, COMMON | TOOL_OPTION_BROKER, false, tool_check},
    {"gate", NULL, "JOB", "-c FILE [--site SITE] [--json]",
     "Says of each requirement of the job's next gate whether it is met, as the daemon tells it "
     "now.",
     1, 1, COMMON | TOOL_OPTION_SITE, false, tool_gate},
    {"explain", NULL, "JOB", "-c FILE [--site SITE] [--json]",
     "Tells the job's story from the journal, and what it waits for.", 1, 1,
     COMMON | TOOL_OPTION_SITE, false, tool_explain},
    {"journal", "verify", "", "-c FILE [--json]",
     "Checks every fact and the chain of their hashes.", 0, 0, COMMON, false, tool_journal_verify},
    {"journal", "show", "", "-c FILE [--from N] [--limit N] [--job JOB] [--site SITE] [--json]",
     "Lists facts in order, one a line.", 0, 0,
     COMMON | TOOL_OPTION_FROM | TOOL_OPTION_LIMIT | TOOL_OPTION_JOB | TOOL_OPTION_SITE, false,
     tool_journal_show},
    {"journal", "export", "[FILE]", "-c FILE",
     "Writes all facts with their hashes as JSON Lines, to FILE (a new one) or standard output.", 0,
     1, COMMON, false, tool_journal_export},
    {"feed", "try", "TOPIC PAYLOAD", "-c FILE [--retained] [--json]",
     "Says which feeds read a message, each step of the mapping, and the result or why there is "
     "none.",
     2, 2, COMMON | TOOL_OPTION_RETAINED, false, tool_feed_try},
    {"feed", "watch", "[FILTER]", "-c FILE [--seconds N] [--json]",
     "Lists what is on the broker as the feeds see it: mapped, refused or unmapped, and how often.",
     0, 1, COMMON | TOOL_OPTION_SECONDS, false, tool_feed_watch},
    {"calc", NULL, "RULE name=value...", "[-c FILE] [--json]",
     "Works a post-repair test or a torque setting out.", 0, 64, COMMON, true, calc},
    {"record", NULL, "[JOB]", "-c FILE [--site SITE] [--from DATE] [--to DATE] [--json | --csv]",
     "Gives the record of a job, or of every job of a site and period, as text, JSON or CSV.", 0, 1,
     COMMON | TOOL_OPTION_SITE | TOOL_OPTION_SINCE | TOOL_OPTION_TO | TOOL_OPTION_CSV, false,
     tool_record},
    {"labels", NULL, "SITE",
     "-c FILE [--pdf FILE] [--svg DIRECTORY] [--url BASE] [--paper a4|letter]",
     "Makes the labels of a site's positions, each with a code that opens its phone page.", 1, 1,
     COMMON | TOOL_OPTION_PDF | TOOL_OPTION_SVG | TOOL_OPTION_URL | TOOL_OPTION_PAPER, false,
     tool_labels},
    {"token", NULL, "PERSON", "-c FILE [--url BASE] [--qr] [--svg FILE] [--json]",
     "Makes a person's token, the line for the people file, and the link that enrolls a phone.", 1,
     1, COMMON | TOOL_OPTION_URL | TOOL_OPTION_QR | TOOL_OPTION_SVG, false, tool_token},
    {"webhook", "list", "", "-c FILE [--json]",
     "Tells of each webhook its state, what waits, and how it went last.", 0, 0, COMMON, false,
     tool_webhook_list},
    {"webhook", "retry", "ID", "-c FILE [--json]",
     "Has the daemon try a webhook again now, also one that its receiver disabled.", 1, 1, COMMON,
     false, tool_webhook_retry},
    {"webhook", "test", "ID", "-c FILE [--json]",
     "Sends a signed test event to a webhook from here, and says what came of it.", 1, 1, COMMON,
     false, tool_webhook_test},
};

#define COMMAND_COUNT (sizeof commands / sizeof commands[0])

static void usage_line(FILE *out, const char *before, const struct command *command) {
    fprintf(out, "%s forelock %s%s%s%s%s %s\n", before, command->name,
            command->part != NULL ? " " : "", command->part != NULL ? command->part : "",
            command->words[0] != '\0' ? " " : "", command->words, command->options);
}

static void usage(FILE *out) {
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        usage_line(out, i == 0 ? "usage:" : "      ", &commands[i]);
    }
    fprintf(out, "       forelock --version | --help\n");
}

static int help(const struct command *command) {
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

static bool is_named(const struct command *command, const struct tool_call *call) {
    return strcmp(command->name, call->argv[0]) == 0 &&
           (command->part == NULL || (call->argc > 1 && strcmp(command->part, call->argv[1]) == 0));
}

static const struct command *command_of(const struct tool_call *call) {
    for (size_t i = 0; call->argc > 0 && i < COMMAND_COUNT; i++) {
        if (is_named(&commands[i], call)) {
            return &commands[i];
        }
    }
    return NULL;
}

static int misused(const struct command *command) {
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

// What is wrong with the call of a command; NULL: nothing.
static bool fits(const struct command *command, struct tool_parse *parse) {
    const struct tool_call *call = &parse->call;
    unsigned takes = command->takes;
    takes |= (takes & TOOL_OPTION_SINCE) != 0 ? TOOL_OPTION_FROM : 0;
    unsigned wrong = parse->given & ~takes;
    if (wrong != 0) {
        tool_error("%s does not take %s", command->name, tool_option_name(wrong & -wrong));
    } else if (call->argc < command->least) {
        tool_error("%s needs %s", command->name, command->words);
    } else if (call->argc > command->most) {
        tool_error("%s does not know what to do with \"%s\"", command->name,
                   call->argv[command->most]);
    } else if (!command->bare && call->config == NULL) {
        tool_error("%s needs the configuration: -c FILE", command->name);
    } else {
        return (command->takes & TOOL_OPTION_FROM) == 0 || tool_options_number(parse);
    }
    return false;
}

static int run(const struct command *command, struct tool_parse *parse) {
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
    const struct command *command = command_of(&parse.call);
    if (parse.version) {
        printf("forelock %s\n", FORELOCK_VERSION);
        return TOOL_DONE;
    }
    if (parse.help) {
        return help(command);
    }
    return command != NULL ? run(command, &parse) : unknown(&parse.call);
}

// --- Shared by the commands ---

struct model *tool_model(const struct tool_call *call) {
    struct config_report report = {0};
    struct model *model = config_load(call->config, &report);
    if (model == NULL) {
        config_report_print(&report, stderr);
        tool_error("%s: the configuration cannot be used as it is", call->config);
    }
    config_report_free(&report);
    return model;
}

struct journal *tool_journal(const struct model *model, enum journal_status *status) {
    struct journal_error error = {0};
    const struct journal_options options = {.path = model->journal,
                                            .instance = model->instance,
                                            .mode = JOURNAL_READ_ONLY,
                                            .check = JOURNAL_CHECK_NONE};
    struct journal *journal = journal_open(&options, &error);
    if (journal == NULL) {
        tool_error("%s", error.say);
    }
    if (status != NULL) {
        *status = error.status;
    }
    return journal;
}

bool tool_base_url(const struct tool_call *call, const struct model *model, char **base) {
    const char *url = call->url != NULL ? call->url : model->http_url;
    size_t length = url != NULL ? strlen(url) : 0;
    *base = NULL;
    if (url == NULL) {
        return true;
    }
    bool good = strncmp(url, "https://", 8) == 0 || strncmp(url, "http://", 7) == 0;
    if (!good || strcspn(url, " \t\r\n\"<>#?") != length || strlen(strchr(url, ':')) < 4) {
        tool_error("--url must be an address like https://forelock.example; found \"%s\"", url);
        return false;
    }
    while (length > 0 && url[length - 1] == '/') {
        length--;
    }
    *base = strndup(url, length);
    if (*base == NULL) {
        tool_error("out of memory");
    }
    return *base != NULL;
}
