// Reading the command line into one call of one command.
#pragma once

#include "tool/tool.h"

// Options beside --help; a command takes those of its mask.
enum tool_option {
    TOOL_OPTION_CONFIG = 1 << 0,
    TOOL_OPTION_JSON = 1 << 1,
    TOOL_OPTION_FROM = 1 << 2,
    TOOL_OPTION_LIMIT = 1 << 3,
    TOOL_OPTION_JOB = 1 << 4,
    TOOL_OPTION_SITE = 1 << 5,
    TOOL_OPTION_BROKER = 1 << 6,
    TOOL_OPTION_CSV = 1 << 7,
    TOOL_OPTION_TO = 1 << 8,
    TOOL_OPTION_PDF = 1 << 9,
    TOOL_OPTION_SVG = 1 << 10,
    TOOL_OPTION_URL = 1 << 11,
    TOOL_OPTION_PAPER = 1 << 12,
    TOOL_OPTION_QR = 1 << 13,
    TOOL_OPTION_RETAINED = 1 << 15,
    TOOL_OPTION_SECONDS = 1 << 16,
    TOOL_OPTION_SINCE = 1 << 14, // --from as a day or an instant, of commands that have no numbers
};

struct tool_parse {
    struct tool_call call; // argc and argv: all words, the command's name included
    unsigned given;        // mask of enum tool_option
    bool help, version;
};

// Reads options, which may stand anywhere, and leaves the words. Reorders argv. False: what they
// lack was said on standard error.
bool tool_options_read(int argc, char **argv, struct tool_parse *parse);
// A call of a command that takes numbers with --from: reads them. False: said.
bool tool_options_number(struct tool_parse *parse);
// The spelling of one option, for messages.
const char *tool_option_name(unsigned option);
