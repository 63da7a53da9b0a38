// sign-check: who may sign what, when, with which reading and instrument.
#include <string.h>

#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/lockout.h"
#include "gate/measure.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/text.h"
#include "gate/verb/case.h"
#include "gate/window.h"

// Who says how a repair was made safe where nobody can be under lock and tag: a supervisor, while a
// required point cannot be isolated.
// Rule (4, Seasons; R10): Where a required point cannot be isolated a supervisor signs that a
// repair is left safe. [leave-of-no-way-on, leave-by-supervisor-always]
static bool is_left_unlocked(const struct gate_case *c, const struct model_check *check) {
    return check->group == MODEL_GROUP_LEAVE &&
           model_person_has(c->person, MODEL_ROLE_SUPERVISOR) &&
           gate_isolation_fault(c->gate, c->site, c->job, c->now).kind == GATE_FAULT_POINT;
}

static bool is_blank(const char *note) {
    return note == NULL || note[strspn(note, " ")] == '\0';
}

// Whoever must be under lock and tag to sign: the signer; where a role signs, the leader.
// Rule (4, Seasons; 29 CFR 1910.147(f)(3) [P]): What is done in the cabinet is signed by a
// protected person. [unprotected-signs]
// Rule (4, Seasons): Work checks too are signed by a protected person. [unprotected-works]
// Rule (4, Seasons): A check with a role is signed by that role while the leader is protected.
// [role-needs-a-lock]
// Rule (4, Seasons): So is a clear or leave check with a role. [role-clears-without-lock]
// Rule (4, Seasons; R10): In open a leave check is signed by a protected person.
// [unprotected-leaves]
static bool is_guarded(const struct gate_case *c, const struct model_check *check) {
    bool in_cabinet = check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY ||
                      check->group == MODEL_GROUP_WORK;
    bool leaves = check->group == MODEL_GROUP_CLEAR || check->group == MODEL_GROUP_LEAVE;
    bool again = check->group == MODEL_GROUP_LEAVE && c->job->phase == MODEL_PHASE_OPEN;
    const char *guarded = check->by != 0 ? c->job->leader : c->person->person;
    bool needed = in_cabinet || again || (leaves && check->by != 0);
    return !needed || gate_protected(c->site, c->job, guarded) || is_left_unlocked(c, check);
}

// Rule (4, the answer): args say what the lockout is when a check is out of its window.
// [arg-lockout]
static void require_window(struct gate_case *c, const struct model_check *check, bool pass) {
    bool guarded = is_guarded(c, check);
    bool met = gate_in_window(c->job, check->group, pass) && guarded;
    enum gate_say window = gate_window_say(check->group);
    gate_list_put(&c->list, met, guarded ? window : GATE_SAY_WINDOW_UNPROTECTED, check->check,
                  GATE_ARGS(.person = guarded || check->by != 0 ? NULL : c->person->person,
                            .check = check->check, .title = check->ask,
                            .phase = model_phase_name(c->job->phase),
                            .lockout = model_lockout_name(c->job->lockout),
                            .need = gate_say_need(window)));
}

// The crew signs, or only the check's role.
// Rule (4, the answer): An unknown check does not hide that the asker is not in the crew.
// [unknown-check-hides-crew]
// Rule (4, sign-check): A check with a role is signed by that role alone. [role-unheeded]
// Rule (4, sign-check; R28): A failed reading is a helper's to give. [helper-hides-a-reading]
static void require_signer(struct gate_case *c, const struct model_check *check, bool pass) {
    if (is_left_unlocked(c, check)) {
        return; // whose check it is else, and of no crew
    }
    if (check->by != 0) {
        gate_case_roles(c, check->by, GATE_SAY_ROLE_SIGNER);
    } else if (pass) {
        gate_case_qualified(c);
    } else {
        gate_case_crew(c);
    }
}

// Rule (4, the answer): args give the unit that is asked for and the one that was given. [arg-unit]
static void malformed(struct gate_case *c, const struct model_check *check, const char *pointer,
                      enum gate_say sentence) {
    gate_list_put(&c->list, false, sentence, pointer,
                  GATE_ARGS(.check = check->check, .title = check->ask, .unit = check->unit,
                            .other_unit = c->request->unit));
}

static bool is_measured(const struct model_check *check) {
    return check->unit != NULL || check->limits.has_min || check->limits.has_max;
}

// Rule (4, sign-check): A reading has the check's unit. [reading-without-unit]
// Rule (4, sign-check): A check that is measured needs its reading. [reading-missing]
static void require_value(struct gate_case *c, const struct model_check *check) {
    const struct gate_request *request = c->request;
    if (is_measured(check) && !request->has_value) {
        malformed(c, check, "/value", GATE_SAY_VALUE_MISSING);
    } else if (!is_measured(check) && request->has_value) {
        malformed(c, check, "/value", GATE_SAY_VALUE_UNASKED);
    }
    if (request->has_value && is_measured(check) && !gate_same(request->unit, check->unit)) {
        malformed(c, check, "/unit", GATE_SAY_UNIT_WRONG);
    }
}

// A field of the record: the answer is what the note says.
// Rule (4, sign-check): A check that is a field of the record is signed with its answer in words.
// [note-unasked]
static void require_note(struct gate_case *c, const struct model_check *check) {
    const char *note = c->request->note;
    if (check->note && is_blank(note)) {
        malformed(c, check, "/note", GATE_SAY_NOTE_MISSING);
    }
}

// Rule (4, Seasons; R10): A supervisor who signs that a repair is left safe without locks says how.
// [left-without-a-word]
static void require_how(struct gate_case *c, const struct model_check *check) {
    bool guarded = gate_protected(c->site, c->job, c->person->person);
    if (is_left_unlocked(c, check) && !guarded) {
        gate_list_put(&c->list, !is_blank(c->request->note), GATE_SAY_LEAVE_NOTE_MISSING,
                      check->check, GATE_ARGS(.check = check->check, .title = check->ask));
    }
}

// Rule (4, sign-check; R32): "pass": false says that a check does not hold. [failed-word-unheard]
static bool passes(const struct gate_case *c, const struct model_check *check) {
    const struct gate_request *request = c->request;
    bool within = !is_measured(check) ||
                  (request->has_value && gate_margin(&check->limits, request->value) >= 0);
    return within && !(request->has_pass && !request->pass);
}

// Rule (4, sign-check; R11): A prepare, relieve or verify check that fails is taken however late.
// [late-failure-refused]
static bool is_found_unsafe(const struct gate_case *c) {
    const struct model_check *check =
        c->job != NULL ? gate_check_of(c->job, c->request->check) : NULL;
    return check != NULL && !passes(c, check) && gate_group_stops(check->group);
}

static void fits(struct gate_case *c) {
    const struct model_check *check = gate_check_of(c->job, c->request->check);
    if (check != NULL) {
        require_value(c, check);
        require_note(c, check);
    }
}

// Rule (5, Breaking; 29 CFR 1910.147(d)(5)-(6) [P]): A relieve or verify check outside its limits
// stops the work. [failed-check-goes-on]
// Rule (5, last paragraph): A passed check is not taken while the journal cannot write.
// [passed-while-down]
// Rule (5, last paragraph): A failed relieve or verify is taken also while the journal cannot
// write. [failed-refused-while-down]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    const struct model_check *check = gate_check_of(c->job, request->check);
    if (check == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_UNKNOWN_CHECK, request->check,
                      GATE_ARGS(.check = request->check));
        gate_case_crew(c);
        return;
    }
    bool pass = passes(c, check);
    require_signer(c, check, pass);
    require_window(c, check, pass);
    require_how(c, check);
    gate_case_instrument(c, check->instrument);
    if (pass) {
        gate_require_journal(c->gate, &c->list); // a failed reading stops, whatever the disk says
    }
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_CHECK_SIGNED, c->now);
    fact.check = check->check;
    fact.person = c->person->person;
    fact.has_value = request->has_value;
    fact.value = request->value;
    fact.unit = request->has_value ? request->unit : NULL;
    fact.instrument = request->instrument;
    fact.note = request->note;
    fact.has_pass = true;
    fact.pass = pass;
    gate_emit(c->gate, &fact);
    if (!pass) {
        gate_break_by_check(c->gate, c->site, c->job, check, c->now);
    }
}

const struct gate_verb_row gate_verb_sign_check = {
    .name = "sign-check",
    .about =
        "Signs a check of the job; a reading is given in the check's unit, and the unit named.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(check, ID), GATE_PLAIN(value, NUMBER, false),
               GATE_MAY(unit, UNIT), GATE_MAY(instrument, ID), GATE_MAY(note, NOTE)},
    .who = GATE_WHO_VERB,
    .asker = "one of the crew; where the check names a role, that role alone",
    .of_job = true,
    .present = true,
    .ends = is_found_unsafe,
    .fits = fits,
    .decide = decide,
};
