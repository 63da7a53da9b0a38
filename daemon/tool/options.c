// The command line: options anywhere, words in their order.
#include "tool/options.h"

#include "tool/text.h"

#include <errno.h>
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

static const struct option long_options[] = {
    {"json", no_argument, NULL, 'j'},
    {"from", required_argument, NULL, 'f'},
    {"limit", required_argument, NULL, 'l'},
    {"job", required_argument, NULL, 'J'},
    {"site", required_argument, NULL, 's'},
    {"help", no_argument, NULL, 'h'},
    {"csv", no_argument, NULL, 'C'},
    {"to", required_argument, NULL, 't'},
    {"pdf", required_argument, NULL, 'p'},
    {"svg", required_argument, NULL, 'g'},
    {"url", required_argument, NULL, 'u'},
    {"paper", required_argument, NULL, 'P'},
    {"qr", no_argument, NULL, 'q'},
    {"retained", no_argument, NULL, 'R'},
    {"seconds", required_argument, NULL, 'S'},
    {"version", no_argument, NULL, 'v'},
    {"broker", no_argument, NULL, 'b'},
    {NULL, 0, NULL, 0},
};

const char *tool_option_name(unsigned option) {
    switch (option) {
    case TOOL_OPTION_CONFIG:
        return "-c";
    case TOOL_OPTION_JSON:
        return "--json";
    case TOOL_OPTION_FROM:
        return "--from";
    case TOOL_OPTION_SINCE:
        return "--from";
    case TOOL_OPTION_LIMIT:
        return "--limit";
    case TOOL_OPTION_CSV:
        return "--csv";
    case TOOL_OPTION_TO:
        return "--to";
    case TOOL_OPTION_PDF:
        return "--pdf";
    case TOOL_OPTION_SVG:
        return "--svg";
    case TOOL_OPTION_URL:
        return "--url";
    case TOOL_OPTION_PAPER:
        return "--paper";
    case TOOL_OPTION_QR:
        return "--qr";
    case TOOL_OPTION_JOB:
        return "--job";
    case TOOL_OPTION_RETAINED:
        return "--retained";
    case TOOL_OPTION_SECONDS:
        return "--seconds";
    case TOOL_OPTION_BROKER:
        return "--broker";
    default:
        return "--site";
    }
}

// A whole number of at least 1, in decimal digits alone.
static bool count_read(const char *name, const char *text, int64_t *count) {
    char *end = NULL;
    errno = 0;
    long long value = strtoll(text, &end, 10);
    if (text[0] < '0' || text[0] > '9' || *end != '\0' || errno != 0 || value < 1) {
        tool_error("%s must be a whole number of at least 1; found \"%s\"", name, text);
        return false;
    }
    *count = value;
    return true;
}

bool tool_options_number(struct tool_parse *parse) {
    return parse->call.since == NULL || count_read("--from", parse->call.since, &parse->call.from);
}

static bool take_text(struct tool_parse *parse, unsigned option, const char **place) {
    if ((parse->given & option) != 0) {
        tool_error("%s is given twice", tool_option_name(option));
        return false;
    }
    parse->given |= option;
    *place = optarg;
    return true;
}

static bool take(struct tool_parse *parse, int option, char *const *argv) {
    switch (option) {
    case 'c':
        return take_text(parse, TOOL_OPTION_CONFIG, &parse->call.config);
    case 'J':
        return take_text(parse, TOOL_OPTION_JOB, &parse->call.job);
    case 's':
        return take_text(parse, TOOL_OPTION_SITE, &parse->call.site);
    case 'j':
        parse->given |= TOOL_OPTION_JSON;
        parse->call.json = true;
        return true;
    case 'b':
        parse->given |= TOOL_OPTION_BROKER;
        parse->call.broker = true;
        return true;
    case 'f':
        return take_text(parse, TOOL_OPTION_FROM, &parse->call.since);
    case 't':
        return take_text(parse, TOOL_OPTION_TO, &parse->call.to);
    case 'p':
        return take_text(parse, TOOL_OPTION_PDF, &parse->call.pdf);
    case 'g':
        return take_text(parse, TOOL_OPTION_SVG, &parse->call.svg);
    case 'u':
        return take_text(parse, TOOL_OPTION_URL, &parse->call.url);
    case 'P':
        return take_text(parse, TOOL_OPTION_PAPER, &parse->call.paper);
    case 'C':
        parse->given |= TOOL_OPTION_CSV;
        parse->call.csv = true;
        return true;
    case 'q':
        parse->given |= TOOL_OPTION_QR;
        parse->call.qr = true;
        return true;
    case 'R':
        parse->given |= TOOL_OPTION_RETAINED;
        parse->call.retained = true;
        return true;
    case 'S':
        parse->given |= TOOL_OPTION_SECONDS;
        return count_read("--seconds", optarg, &parse->call.seconds);
    case 'l':
        parse->given |= TOOL_OPTION_LIMIT;
        return count_read("--limit", optarg, &parse->call.limit);
    case 'h':
        parse->help = true;
        return true;
    case 'v':
        parse->version = true;
        return true;
    case ':':
        tool_error("%s needs a value behind it", argv[optind - 1]);
        return false;
    default:
        tool_error("there is no option %s, or it takes no value", argv[optind - 1]);
        return false;
    }
}

bool tool_options_read(int argc, char **argv, struct tool_parse *parse) {
    int option;
    memset(parse, 0, sizeof *parse);
    optind = 0; // begins anew, also after an earlier call
    opterr = 0;
    while ((option = getopt_long(argc, argv, ":c:", long_options, NULL)) != -1) {
        if (!take(parse, option, argv)) {
            return false;
        }
    }
    parse->call.argc = argc - optind;
    parse->call.argv = argv + optind;
    return true;
}
