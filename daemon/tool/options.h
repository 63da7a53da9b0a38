// Reading the command line into one call of one command.
#pragma once

#include "tool/tool.h"

struct tool_parse {
    struct tool_call call; // argc and argv: all words, the command's name included
    unsigned given;        // one bit for each row of the table of options
    bool help, version;
};

// Reads options, which may stand anywhere, and leaves the words. Reorders argv. False: what they
// lack was said on standard error.
bool tool_options_read(int argc, char **argv, struct tool_parse *parse);
// An option that was given and that a command with these options (as its usage prints them) does
// not take; NULL: there is none.
const char *tool_options_foreign(const struct tool_parse *parse, const char *options);
// Reads the values that this command calls N as numbers. False: said.
bool tool_options_numbers(struct tool_parse *parse, const char *options);
