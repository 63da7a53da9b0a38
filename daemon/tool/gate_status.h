// A job's next gate, as the daemon's documents tell it. Shared by the files of `forelock gate`.
#pragma once

#include "gate/gate.h"
#include "tool/documents.h"
#include "wire/fact_arena.h"

// The daemon renews its document every 60 s; one that did not for so long is not online.
#define TOOL_RENEWED_MS 180000

// Zero-initialize it, end it with tool_gate_status_free.
struct tool_gate_status {
    const struct documents *documents;
    const struct document *job;
    const struct model_site *site;
    uint32_t position;                // index
    struct model_requirements *needs; // owned
    int64_t now;                      // Unix ms
    int64_t daemon_at;                // of the daemon's last renewal
    char version[64];
    enum model_phase phase;
    enum model_lockout lockout;
    char leader[MODEL_ID_SIZE];
    uint32_t *required; // indexes of points
    size_t required_count;
    const struct gate_refusal *missing; // as the daemon told them
    size_t missing_count;
    struct wire_fact_arena arena;
    char say[320]; // why it cannot be told, or that it is no
};

// Reads what the documents say; the daemon alone judges. Returns the exit status: TOOL_DONE the
// gate would open for the leader, TOOL_NO something is missing (or there is no such job or gate:
// say tells), TOOL_USAGE a site must be named, TOOL_REACH it cannot be told and nothing is to be
// relied on.
int tool_gate_status_read(struct tool_gate_status *view, const struct documents *documents,
                          int64_t now);
void tool_gate_status_free(struct tool_gate_status *view);
// Whether the daemon is online by its document; say (of a size) tells why it is not.
bool tool_gate_status_online(const struct documents *documents, int64_t now, char *say,
                             size_t size);

// A missing requirement, with the age of what it rests on where a document tells when that was
// heard: the daemon's own list carries no ages, which would change every second.
struct gate_refusal tool_gate_status_missing(const struct tool_gate_status *view, size_t i);

// Prints it for people; or as one JSON object (false: no memory).
void tool_gate_status_print(const struct tool_gate_status *view);
bool tool_gate_status_print_json(const struct tool_gate_status *view);
