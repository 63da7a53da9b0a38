// What the daemon says, as JSON: the retained documents, answers and events of the contract
// (sections 3 and 4), with its names in its order.
//
// Everything is made of the gate's state and nothing is kept here. What is not known is null; a
// member is left out only where the contract marks it optional. Each function adds one value to out
// and is true unless memory ran out; out is then of no use.
#pragma once

#include "gate/gate.h"
#include "json/json.h"

// {"position","service","cause","job","with","phase","lockout","since"}; position is an index.
bool wire_position(struct json_out *out, const struct gate *gate, uint32_t site, uint32_t position);

// The document of a job, standing or ended. ages: with the age of what each missing requirement
// rests on, for somebody who asks now; without, the text changes only when the job does.
bool wire_job(struct json_out *out, const struct gate *gate, uint32_t site,
              const struct gate_job *job, bool ages, struct gate_time now);

// Whether a job is shown: it stands, or ended less than 7 days ago.
bool wire_job_is_kept(const struct gate_job *job, struct gate_time now);

// The sensors of a point, and its reader, that are out of order, as members of a list. named: each
// with the point.
void wire_distrusts(struct json_out *out, const struct gate_site *site, uint32_t point, bool named);
// The document of a point (an index). heard is as of now and no reason to publish it again: *hash
// (NULL: not wanted) is of the same text without it, so an equal one has nothing new to tell.
bool wire_point(struct json_out *out, const struct gate *gate, uint32_t site, uint32_t point,
                struct gate_time now, uint64_t *hash);

// {"alarm","kind","job","position","point","subject","by","why","say","args","state","raised",
// "count","priority","group"}
bool wire_alarm(struct json_out *out, const struct gate *gate, uint32_t site,
                const struct gate_alarm *alarm);

// A job's next gate, each requirement met or not, with its evidence; what this person may ask now
// and the step that leads on ("may", "choices" and "next": gate/may.h). job NULL: none stands on
// the position (an index), and there is no gate.
bool wire_gate(struct json_out *out, const struct gate *gate, uint32_t site,
               const struct gate_job *job, uint32_t position, const struct model_person *person,
               struct gate_time now);

// A hash for "on change only" (64-bit FNV-1a). It guards against nobody.
uint64_t wire_hash(const char *text, size_t length);

// The answer to a request: id as it was given (NULL: none) and the verb as it was asked.
bool wire_answer(struct json_out *out, const char *id, const char *verb,
                 const struct gate_answer *answer);
// An answer made before, given now: the old text (a scanned object) with the phase and lockout that
// its job has now (NULL: the job is forgotten, both are null); with "again": true, if it is given
// again.
bool wire_answer_now(struct json_out *out, const struct json_tape *tape, const struct gate_job *job,
                     bool again);
// The HTTP status of an answer: 200 if it was accepted, else by its codes; of several, 503 wins,
// then 403, then 400, 404 and 409. A refusal without any reason (no memory for it) is 503.
int wire_status(const struct gate_answer *answer);

// One record of the journal, for an event.
struct wire_record {
    uint64_t seq;
    int64_t at;          // Unix ms
    const char *site;    // id; NULL or "": the whole daemon
    const char *type;    // without "forelock."
    const char *subject; // NULL or "": none
    const char *data;    // JSON object
    size_t data_length;
};
// CloudEvents 1.0, structured mode.
bool wire_event(struct json_out *out, const struct wire_record *record);

// The daemon about itself.
struct wire_daemon {
    bool online;
    const char *version;
    const char *boot;
    int64_t since; // Unix ms at which it came up
    int64_t at;    // Unix ms of now; in a will, of the connection that leaves it
};
// {"state","version","boot","since","at","sites":[…]}
bool wire_daemon(struct json_out *out, const struct model *model, const struct wire_daemon *daemon);
