// What the verbs share: the case that is decided, and what several of them require or do.
#pragma once

#include "gate/gate.h"

// Fields of a row: a text of the request, or a value that its kind knows the place of.
#define GATE_MUST(member, as)                                                                      \
    { #member, GATE_FIELD_##as, true, offsetof(struct gate_request, member) }
#define GATE_MAY(member, as)                                                                       \
    { #member, GATE_FIELD_##as, false, offsetof(struct gate_request, member) }
#define GATE_PLAIN(name, as, required)                                                             \
    { #name, GATE_FIELD_##as, required, 0 }
// `person` in a body is never who asks: it is another of the crew, or whose tag it is.
#define GATE_PERSON                                                                                \
    { "person", GATE_FIELD_ID, false, offsetof(struct gate_request, member) }

#define GATE_IN(PHASE) (1u << MODEL_PHASE_##PHASE)
#define GATE_PHASES_STANDING (GATE_IN(RETURNED) - 1)
#define GATE_OVERSEERS (MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR)
// Everybody of a site, but who sees many sites and works at none.
#define GATE_ROLES_OF_SITE                                                                         \
    (GATE_OVERSEERS | MODEL_ROLE_TECHNICIAN | MODEL_ROLE_TRACKER | MODEL_ROLE_VIEWER)
#define GATE_OPENERS (MODEL_ROLE_TRACKER | GATE_OVERSEERS)

struct gate_case {
    struct gate *gate;
    struct gate_site *site;
    const struct gate_request *request;
    const struct model_person *person;
    struct gate_job *job; // NULL: the verb has none
    struct gate_time now;
    struct gate_answer *answer;
    struct gate_list list; // what is unmet
    bool early;            // it is decided once more, in its turn: a refusal is told then
    bool asks_only;        // nothing is decided: only whether it would be (gate/may.h)
    bool idle;             // set by a verb that is accepted and changes nothing
    bool again;            // set by one that ends something: it was ended already
};

// --- case.c ---
bool gate_case_met(const struct gate_case *c);   // nothing is unmet
bool gate_case_clear(const struct gate_case *c); // so that the verb may go on, and emit
// Who asks is of the site. Ahead of all else: whatever they name, they learn nothing of what there
// is here.
void gate_case_site(struct gate_case *c);
// Whether this request, whose job was looked up, ends or stops something.
bool gate_case_ends(const struct gate_case *c, const struct gate_verb_row *row);
bool gate_case_always(const struct gate_case *c); // of a verb that ends something whatever is asked
// Runs the verb, unless one of the reasons that stand alone is there.
void gate_case_run(struct gate_case *c, const struct gate_verb_row *row);
void gate_case_leader(struct gate_case *c);
void gate_case_crew(struct gate_case *c);
// One of the crew who holds the credentials today: who signs checks and words of isolated.
void gate_case_qualified(struct gate_case *c);
// Who asks has one of the roles; the sentence says whom it takes, of one role by its name.
void gate_case_roles(struct gate_case *c, unsigned roles, enum gate_say sentence);
void gate_case_phase(struct gate_case *c, unsigned phases); // bits 1 << enum model_phase
// The instrument named by the request: known, of the kind (NULL: any, or none) and in calibration.
void gate_case_instrument(struct gate_case *c, const char *kind);
// A person named by the request to lead: a technician of this site.
void gate_case_technician(struct gate_case *c, const char *id);
// The point named by the request, or MODEL_NONE with its refusal. of_job: it must be a required
// one.
uint32_t gate_case_point(struct gate_case *c, bool of_job);
// The sensor named by the request, or MODEL_NONE for the reader of a point: returns the point, or
// MODEL_NONE with a refusal.
uint32_t gate_case_sensor(struct gate_case *c, uint32_t *sensor);
// A fact of the job by who asks, with the reason given.
struct gate_fact gate_case_fact(struct gate_case *c, enum gate_fact_type type);
// Emits that fact if nothing stands against it. Whether it did.
bool gate_case_emit(struct gate_case *c, enum gate_fact_type type);
// The job's lockout-broken alarm has no cause any more.
void gate_case_clear_broken(struct gate_case *c);
