// The differ: which retained documents have changed, rendered once per change for everybody who is
// to have them.
//
// A document is rendered when its site may have changed, and compared by a hash with what it was
// before; a sink is given what differs from what it was given last. Sinks are the broker, which
// keeps the documents, and the event streams of the HTTP API, of which there may be many at a site,
// each at a version of its own. For sites that have streams, the text of a change is kept until
// both sinks have had it.
//
// Pure; nothing is kept of the gate but its counts.
#pragma once

#include "wire/tell.h"

struct wire_differ;

// In the order in which a site's documents are given.
enum wire_kind { TELL_ALARM, TELL_JOB, TELL_POINT, TELL_POSITION, TELL_KIND_COUNT };
// As it stands in topics and paths.
const char *wire_kind_name(enum wire_kind kind);

enum wire_sink { TELL_BROKER, TELL_STREAMS, TELL_SINK_COUNT };

// A document by what it is of. The id is borrowed from the model or the differ.
struct wire_document {
    enum wire_kind kind;
    uint32_t site;  // index
    uint32_t index; // of a point or position
    const char *id;
};

struct wire_change {
    struct wire_document of;
    uint64_t hash;    // 0: the document is gone
    const char *text; // borrowed until the call returns; NULL: it is gone
    size_t length;
};
// Gives a change to a sink. False: it could not be taken, and is given again.
typedef bool wire_give(void *user, const struct wire_change *change);

// NULL: no memory. The model must outlive it.
struct wire_differ *wire_differ_new(const struct model *model);
void wire_differ_free(struct wire_differ *differ); // NULL is allowed

// Gives a sink what of a site differs from what it was given: alarms, jobs, points, positions, of
// each kind those that are gone last. A sink that counts versions (the streams) is one further if
// anything was. False: not everything could be rendered or taken.
bool wire_differ_give(struct wire_differ *differ, enum wire_sink sink, const struct gate *gate,
                      uint32_t site, struct gate_time now, wire_give *give, void *user);
// The same with one alarm or job of a site alone (the other is NULL).
bool wire_differ_give_one(struct wire_differ *differ, enum wire_sink sink, const struct gate *gate,
                          uint32_t site, const struct gate_alarm *alarm, const struct gate_job *job,
                          struct gate_time now, wire_give *give, void *user);
// Whether the sink was given the documents of a site as the gate has them.
bool wire_differ_is_current(const struct wire_differ *differ, enum wire_sink sink,
                            const struct gate *gate, uint32_t site);
// Whether it was given every document of a site since it lost them.
bool wire_differ_is_complete(const struct wire_differ *differ, enum wire_sink sink, uint32_t site);
// What the broker was given last of a document: its hash; 0: that it is gone, or nothing.
uint64_t wire_differ_given(const struct wire_differ *differ, const struct wire_document *of);
// What the broker was given last of a document, or of all, may not have reached it.
void wire_differ_lost(struct wire_differ *differ, const struct wire_document *of);
void wire_differ_lost_all(struct wire_differ *differ);

// The gate is another one: everything may have changed.
void wire_differ_reset(struct wire_differ *differ);
// Both sinks were given what they are to have for now: texts that were kept before the last call
// are forgotten.
void wire_differ_settle(struct wire_differ *differ);

// The first stream of a site begins: what there is now counts as given, at version 0. False: no
// memory. The last one ends.
bool wire_differ_watch(struct wire_differ *differ, const struct gate *gate, uint32_t site,
                       struct gate_time now);
void wire_differ_unwatch(struct wire_differ *differ, uint32_t site);
// The version of a watched site's documents.
uint64_t wire_differ_version(const struct wire_differ *differ, uint32_t site);
// Gives again what was given to the streams after that version, as it is now. False: no memory.
bool wire_differ_give_since(struct wire_differ *differ, const struct gate *gate, uint32_t site,
                            uint64_t version, struct gate_time now, wire_give *give, void *user);
// Every stream of the site is at its version: what is gone is forgotten.
void wire_differ_all_know(struct wire_differ *differ, uint32_t site);
