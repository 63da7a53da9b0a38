// forelock, the operator's command: what its commands are given, and what they share.
//
// It only reads and reports. Answers go to standard output, complaints to standard error as plain
// sentences.
#pragma once

#include "journal/journal.h"
#include "model/model.h"

// Exit status (contract, section 7).
enum tool_status {
    TOOL_DONE = 0,
    TOOL_NO = 1, // the answer is no
    TOOL_USAGE = 2,
    TOOL_CONFIGURATION = 3,
    TOOL_REACH = 4, // what it needs cannot be reached or read
};

// What every answer about a job ends with.
#define TOOL_CAUTION                                                                               \
    "Forelock only refuses and reports. It switches nothing, replaces no lock, and is no "         \
    "safety-rated function: try and measure at the dispenser. Local codes and licensed practice "  \
    "come first."

// One call of a command. Texts are borrowed from the command line; NULL: not given.
struct tool_call {
    const char *config;
    bool json;
    bool broker;     // try the broker too
    int64_t from;    // first sequence number; 0: not given
    int64_t limit;   // 0: not given
    bool retained;   // feed try: as the broker keeps it
    int64_t seconds; // feed watch: for so long; 0: until a signal
    const char *job;
    const char *site;
    const char *since, *to; // --from and --to of a period
    const char *pdf, *svg, *url, *paper;
    bool csv, qr;
    int argc; // the words behind the command's name
    char **argv;
};

// Runs one command line and returns its exit status.
int tool_main(int argc, char **argv);

// The commands, one file each. Each returns an enum tool_status.
int tool_check(const struct tool_call *call);
int tool_journal_verify(const struct tool_call *call);
int tool_journal_show(const struct tool_call *call);
int tool_journal_export(const struct tool_call *call);
int tool_explain(const struct tool_call *call);
int tool_gate(const struct tool_call *call);
int tool_token(const struct tool_call *call);
int tool_feed_try(const struct tool_call *call);
int tool_feed_watch(const struct tool_call *call);
int tool_record(const struct tool_call *call);
int tool_labels(const struct tool_call *call);

// The configuration, which belongs to the caller (model_free). NULL: said on standard error.
struct model *tool_model(const struct tool_call *call);
// The model's journal, for reading, as it is: not verified. NULL: said on standard error; status
// (may be NULL) says why.
struct journal *tool_journal(const struct model *model, enum journal_status *status);
// Where phones reach the daemon, without a final "/": --url, else the configuration's; NULL:
// neither. False: --url is no such address, which was said. The text belongs to the caller (free).
bool tool_base_url(const struct tool_call *call, const struct model *model, char **base);
