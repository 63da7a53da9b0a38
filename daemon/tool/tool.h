// forelock, the operator's command: what its commands are given, and what they share.
//
// It only reads and reports, but for an import into the journal. Answers go to standard output,
// complaints to standard error as plain sentences.
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

// One command: what it is called, takes and says of itself, and what it does. Its row stands in the
// file that does it; the usage, --help and the man page's synopsis are held to it.
struct tool_command {
    const char *name;
    const char *part;    // second word of the name, or NULL
    const char *words;   // those behind the name, as the usage prints them
    const char *options; // as the usage prints them. These are taken, and -c and --json always; a
                         // value that is called N here is a whole number of at least 1
    const char *about;   // a sentence for --help
    int least, most;     // words behind the name
    bool bare;           // needs no configuration
    // Returns an enum tool_status.
    int (*run)(const struct tool_call *call);
};

extern const struct tool_command tool_calculate, tool_check, tool_explain, tool_feed_try,
    tool_feed_watch, tool_gate, tool_journal_export, tool_journal_show, tool_journal_verify,
    tool_labels, tool_record, tool_token, tool_hangs_export, tool_hangs_import, tool_webhook_list,
    tool_webhook_retry, tool_webhook_test;

// --- What a call names, opened (inputs.c) ---

// The configuration, which belongs to the caller (model_free). NULL: said on standard error.
struct model *tool_model(const struct tool_call *call);
// The model's journal, for reading, as it is: not verified. NULL: said on standard error; status
// (may be NULL) says why.
struct journal *tool_journal(const struct model *model, enum journal_status *status);
// Where phones reach the daemon, without a final "/": --url, else the configuration's; NULL:
// neither. False: --url is no such address, which was said. The text belongs to the caller (free).
bool tool_base_url(const struct tool_call *call, const struct model *model, char **base);
