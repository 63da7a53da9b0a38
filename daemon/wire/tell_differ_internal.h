// What the files of the differ share.
#pragma once

#include "wire/tell_differ.h"

// What is known of a document.
struct wire_rendered {
    uint64_t hash;   // of its text; 0: there is none
    uint64_t broker; // that the broker was given last
};
// The same, of a site that has streams.
struct wire_streamed {
    uint64_t given;   // the hash that the streams were given last
    uint64_t version; // with which
    uint64_t text;    // where its text is kept; 0: nowhere
};

// Alarms or jobs, which come and go; mostly in the gate's order.
struct wire_listed {
    char id[MODEL_ID_SIZE];
    bool seen;  // scratch
    bool final; // of a job that has ended
    struct wire_rendered rendered;
    struct wire_streamed streamed;
};
struct wire_list {
    struct wire_listed *items;
    size_t count, capacity;
};

// What a sink was given of a document, where it may not have it; never a hash.
#define WIRE_LOST 1

// Texts that are kept, one behind the other, each with a NUL. Places are counted on and on.
struct wire_texts {
    struct json_out text;
    uint64_t first; // place of its first byte
};

struct wire_site {
    struct wire_rendered *points, *positions;
    struct wire_streamed *streamed_points, *streamed_positions; // NULL: it has no streams
    struct wire_list alarms, jobs;
    uint64_t changes; // the gate's count when the site was rendered last
    bool journal_up;  // the same
    bool stale;       // it has to be rendered, whatever the counts say
    uint64_t pass;    // passes that found a change
    struct {
        uint64_t pass; // up to which it was given everything but what is `left`
        bool left;
    } sinks[TELL_SINK_COUNT];
    uint64_t version; // of the streams
    bool watched;
};

struct wire_differ {
    const struct model *model;
    struct wire_site *sites; // as in the model
    struct json_out out;
    struct wire_texts kept, older;
};

// One way through the documents of a site.
struct wire_way {
    struct wire_differ *differ;
    struct wire_site *at;
    const struct gate *gate;
    uint32_t site;
    struct gate_time now;
    enum wire_sink sink;
    bool render;     // each is rendered and compared
    bool by_version; // what changed after `since` is given, and nothing noted
    uint64_t since;
    uint64_t version; // that what is given gets
    wire_give *give;  // NULL: everything counts as given
    void *user;
    bool changed, given, left, failed;
};

// One document on that way.
struct wire_stop {
    struct wire_document of;
    struct wire_rendered *rendered;
    struct wire_streamed *streamed; // NULL: its site has no streams
    const struct gate_alarm *alarm;
    const struct gate_job *job;
};

// --- tell_differ_list.c ---
// NULL: there is none.
struct wire_listed *wire_list_find(const struct wire_list *list, const char *id);
// The entry of that id, made if there is none; it mostly stands at `hint`. NULL: no memory.
struct wire_listed *wire_list_add(struct wire_list *list, size_t hint, const char *id);
// Forgets what is gone and was given to nobody who does not know it; streamed: the site has streams
// that may not.
void wire_list_tidy(struct wire_list *list, bool streamed);
// The site has no streams any more.
void wire_list_unstream(struct wire_list *list);
// Keeps the text that stands in differ->out. Its place; 0: no memory.
uint64_t wire_text_keep(struct wire_differ *differ);
// The text kept at a place; NULL: it is not any more.
const char *wire_text_at(const struct wire_differ *differ, uint64_t place);

// --- tell_differ_way.c ---
bool wire_site_is_fresh(const struct wire_site *at, const struct gate *gate, uint32_t site);
// Visits one alarm or job of the list, or everything of the site.
void wire_way_visit_one(struct wire_way *way, struct wire_listed *listed,
                        const struct gate_alarm *alarm, const struct gate_job *job);
// False: not everything could be rendered or taken.
bool wire_way_visit_all(struct wire_way *way);
