// sign-check: who may sign what, when, with which reading and instrument.
#include <string.h>
#include <strings.h>

#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/given.h"
#include "gate/lockout.h"
#include "gate/measure.h"
#include "gate/part.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/text.h"
#include "gate/verb/case.h"
#include "gate/window.h"
#include "model/unit.h"

// Who says how a repair was made safe where nobody can be under lock and tag: a supervisor, while a
// required point cannot be isolated.
// Rule (4, Seasons; R10): Where a required point cannot be isolated a supervisor signs that a
// repair is left safe. [leave-of-no-way-on, leave-by-supervisor-always]
// Rule (4, Seasons): So they sign a role's clear check, which waits for a leader who cannot be
// protected: what cannot be isolated is set aside. [role-clears-never,
// role-clears-past-a-protected-leader]
static bool is_left_unlocked(const struct gate_case *c, const struct model_check *check) {
    bool waits = check->group == MODEL_GROUP_CLEAR && check->by != 0 &&
                 !gate_protected(c->site, c->job, c->job->leader);
    return (check->group == MODEL_GROUP_LEAVE || waits) &&
           model_person_has(c->person, MODEL_ROLE_SUPERVISOR) &&
           gate_isolation_fault(c->gate, c->site, c->job, c->now).kind == GATE_FAULT_POINT;
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

static bool proves(const struct model_check *check) {
    return check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY;
}

// Rule (4, the answer; R34): args say what the lockout is when a check is out of its window.
// [arg-lockout]
static void require_window(struct gate_case *c, const struct model_check *check) {
    bool guarded = is_guarded(c, check);
    bool met = gate_in_window(c->job, check->group, true) && guarded;
    enum gate_say window = gate_window_say(check->group);
    gate_list_put(&c->list, met, guarded ? window : GATE_SAY_WINDOW_UNPROTECTED, check->check,
                  GATE_ARGS(.person = guarded || check->by != 0 ? NULL : c->person->person,
                            .check = check->check, .title = check->ask,
                            .phase = model_phase_name(c->job->phase),
                            .lockout = model_lockout_name(c->job->lockout),
                            .need = gate_say_need(window)));
    if (proves(check)) {
        gate_require_may_prove(c->site, c->job, check, c->now, &c->list);
    }
}

// The crew signs, or only the check's role.
// Rule (4, sign-check): A check with a role is signed by that role alone. [role-unheeded]
static void require_signer(struct gate_case *c, const struct model_check *check) {
    if (is_left_unlocked(c, check)) {
        return; // whose check it is else, and of no crew
    }
    if (check->by != 0) {
        gate_case_roles(c, check->by, GATE_SAY_ROLE_SIGNER);
    } else {
        gate_case_qualified(c);
    }
}

// Rule (4, the answer; R34): args give the unit that is asked for and the one that was given.
// [arg-unit]
static void malformed(struct gate_case *c, const struct model_check *check, const char *pointer,
                      enum gate_say sentence) {
    gate_list_put(&c->list, false, sentence, pointer,
                  GATE_ARGS(.check = check->check, .title = check->ask, .unit = check->unit,
                            .other_unit = c->request->unit));
}

// The other unit in which the check takes its reading, or NULL.
static const char *twin_of(const struct model_check *check) {
    return check->twin ? model_unit_twin(check->unit) : NULL;
}

static bool is_in_unit(const struct model_check *check, const char *unit) {
    const char *twin = twin_of(check);
    return gate_same(unit, check->unit) || (twin != NULL && gate_same(unit, twin));
}

// Rule (4, sign-check): A reading has the check's unit, or its twin where the check takes
// that. [reading-without-unit, twin-unasked]
// Rule (4, sign-check): A check that is measured needs its reading. [reading-missing]
static void require_value(struct gate_case *c, const struct model_check *check) {
    const struct gate_request *request = c->request;
    if (gate_is_measured(check) && !request->has_value) {
        malformed(c, check, "/value", GATE_SAY_VALUE_MISSING);
    } else if (!gate_is_measured(check) && request->has_value) {
        malformed(c, check, "/value", GATE_SAY_VALUE_UNASKED);
    }
    if (request->has_value && gate_is_measured(check) && !is_in_unit(check, request->unit)) {
        malformed(c, check, "/unit", GATE_SAY_UNIT_WRONG);
    }
}

// A field of the record: the answer is what the note says.
// Rule (4, sign-check): A check that is a field of the record is signed with its answer in words.
// [note-unasked]
static void require_note(struct gate_case *c, const struct model_check *check) {
    const char *note = c->request->note;
    if (check->note && gate_blank(note)) {
        malformed(c, check, "/note", GATE_SAY_NOTE_MISSING);
    }
}

// Rule (4, Seasons; R10): A supervisor who signs that a repair is left safe without locks says how.
// [left-without-a-word]
static void require_how(struct gate_case *c, const struct model_check *check) {
    bool guarded = gate_protected(c->site, c->job, c->person->person);
    if (is_left_unlocked(c, check) && !guarded) {
        gate_list_put(&c->list, !gate_blank(c->request->note), GATE_SAY_LEAVE_NOTE_MISSING,
                      check->check, GATE_ARGS(.check = check->check, .title = check->ask));
    }
}

// Whether a text is a word but for blanks around it and the case of its letters.
static bool is_word(const char *text, const char *word) {
    size_t length = strlen(word);
    text += strspn(text, " ");
    return strncasecmp(text, word, length) == 0 &&
           text[length + strspn(text + length, " ")] == '\0';
}

// Whether the answer in words names another family than the one of the nozzle that should hang
// there, or, where none is known, of the kit. No answer at all is none that differs.
// Rule (4, sign-check): A check whose answer must be the nozzle's family fails with another one.
// [family-of-any-label]
// Rule (4, sign-check): Where neither nozzle nor kit has a family, no answer is the right one.
// [family-unknown-passes]
static bool is_another_family(const struct gate_case *c, const struct model_check *check) {
    if (!check->equals_family || gate_blank(c->request->note)) {
        return false;
    }
    const char *family = gate_part_family(c->site, c->job->position, c->job->part);
    family = family != NULL ? family : c->job->kit_family;
    return family == NULL || family[0] == '\0' || !is_word(c->request->note, family);
}

// Rule (4, sign-check; R32): "pass": false says that a check does not hold, with a reading or
// without. [failed-word-unheard]
static bool fails(const struct gate_case *c, const struct model_check *check) {
    const struct gate_request *request = c->request;
    if (is_another_family(c, check)) {
        return true;
    }
    double per_reading = gate_given_per_reading(c->gate->model, check, request);
    return gate_given_outside(check, request, per_reading) || (request->has_pass && !request->pass);
}

// A prepare, relieve or verify check that fails: somebody may be hurt by it.
// Rule (4, sign-check; R11): A prepare, relieve or verify check that fails is taken however late.
// [late-failure-refused]
static bool is_found_unsafe(const struct gate_case *c) {
    const struct model_check *check =
        c->job != NULL ? gate_check_of(c->job, c->request->check) : NULL;
    return check != NULL && gate_group_stops(check->group) && fails(c, check);
}

// Rule (4, a stop; R12): What fails a prepare, relieve or verify check is not refused for its form.
// [failed-for-its-form]
static void fits(struct gate_case *c) {
    const struct model_check *check = gate_check_of(c->job, c->request->check);
    if (check != NULL && !is_found_unsafe(c)) {
        require_value(c, check);
        require_note(c, check);
    }
}

// Rule (4, sign-check; 8, torque-applied): A wrench whose length nobody knows proves no torque.
// [torque-of-unknown-length]
static void require_length(struct gate_case *c, const struct model_check *check) {
    const char *id = c->request->instrument;
    const struct model_instrument *wrench =
        check->torque_applied && id != NULL ? model_instrument_find(c->gate->model, id) : NULL;
    gate_list_put(&c->list, wrench == NULL || wrench->wrench_in > 0,
                  GATE_SAY_INSTRUMENT_WITHOUT_LENGTH, id, GATE_ARGS(.instrument = id));
}

// What a signature that stands for something needs.
// Rule (5, last paragraph): A check is not signed while the journal cannot write.
// [passed-while-down]
static void require_all(struct gate_case *c, const struct model_check *check) {
    require_signer(c, check);
    require_window(c, check);
    require_how(c, check);
    gate_case_instrument(c, check->instrument);
    require_length(c, check);
    gate_require_journal(c->gate, &c->list);
}

static const char *reading_unit(const struct gate_case *c, const struct model_check *check) {
    return c->request->unit != NULL ? c->request->unit : check->unit;
}

// The value in the check's unit, at the fastener where the check is of a torque.
static bool value_of(const struct gate_case *c, const struct model_check *check, double *value) {
    double per_reading = gate_given_per_reading(c->gate->model, check, c->request);
    return gate_given_value(check, c->request, per_reading, value);
}

// Whether the value was computed from what was read.
// Rule (4, sign-check; 8, torque-applied): What was read is told beside what is computed from it.
// [reading-untold]
static bool is_computed(const struct gate_case *c, const struct model_check *check) {
    const char *twin = twin_of(check);
    return check->torque_applied || (twin != NULL && gate_same(c->request->unit, twin));
}

static double reading_of(const struct gate_case *c, const struct model_check *check) {
    double per_reading = gate_given_per_reading(c->gate->model, check, c->request);
    return gate_given_reading(check, c->request, per_reading);
}

static void answer(struct gate_case *c, const struct model_check *check, bool pass) {
    struct gate_signed *as = &c->answer->signed_;
    c->answer->has_signed = true;
    *as = (struct gate_signed){.pass = pass, .limits = check->limits};
    as->has_value = value_of(c, check, &as->value);
    as->has_reading = as->has_value && is_computed(c, check);
    as->reading = as->has_reading ? reading_of(c, check) : 0;
    gate_text(as->reading_unit, sizeof as->reading_unit, "%s",
              as->has_reading ? reading_unit(c, check) : "");
    gate_text(as->unit, sizeof as->unit, "%s", check->unit != NULL ? check->unit : "");
}

// Emits the signature. wrong: what else was wrong with one that failed, or NULL.
static void sign(struct gate_case *c, const struct model_check *check, bool pass,
                 const struct gate_answer *wrong) {
    const struct gate_request *request = c->request;
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_CHECK_SIGNED, c->now);
    fact.check = check->check;
    fact.person = c->person->person;
    fact.has_value = value_of(c, check, &fact.value);
    fact.has_reading = fact.has_value && is_computed(c, check);
    fact.reading = fact.has_reading ? reading_of(c, check) : 0;
    fact.reading_unit = fact.has_reading ? reading_unit(c, check) : NULL;
    fact.unit = fact.has_value ? check->unit : NULL;
    fact.instrument = request->instrument;
    fact.note = request->note;
    fact.has_pass = true;
    fact.pass = pass;
    fact.refusals = wrong != NULL ? wrong->refusals : NULL;
    fact.refusal_count = wrong != NULL ? wrong->refusal_count : 0;
    gate_emit(c->gate, &fact);
    answer(c, check, pass);
}

// Who may say that something is wrong: whoever works here or watches over it, of the crew or not;
// and whose check it is. A colleague of another job sees a hazard as well as the crew does.
// Rule (4, sign-check; R28): A failed reading is a helper's to give. [helper-hides-a-reading]
// Rule (4, sign-check; R32): A failed reading is any technician's of the site to give.
// [outsider-hides-a-reading]
// Rule (4, sign-check; R32): A manager or supervisor may give a failed reading.
// [overseer-hides-a-reading]
// Rule (4, sign-check; R32): A failed reading of a role's check is that role's to give, and any
// technician's. [role-hides-a-reading]
static void require_witness(struct gate_case *c, const struct model_check *check) {
    if (!model_person_has(c->person, MODEL_ROLE_TECHNICIAN | GATE_OVERSEERS | check->by)) {
        gate_case_crew(c);
    }
}

static void record_wrong(struct gate_case *c, const struct model_check *check,
                         struct gate_answer *wrong) {
    struct gate_list met = c->list;
    c->list = (struct gate_list){.unmet_only = true};
    gate_list_put(&c->list, !c->request->waited, GATE_SAY_TOO_LATE, NULL, NULL);
    require_all(c, check);
    for (size_t i = 0; i < c->list.count; i++) {
        (void)gate_answer_add(wrong, &c->list.items[i].refusal);
    }
    gate_list_free(&c->list);
    c->list = met;
}

// Rule (4, sign-check; R32; 29 CFR 1910.147(d)(5)-(6) [P]): A failed prepare, relieve or verify is
// never refused for season, credential, protection, role, instrument, lateness or the journal.
// [failed-refused]
// Rule (4, sign-check; R32): What else was wrong with a failed check is recorded with it.
// [failed-wrong-forgotten]
// Rule (5, Breaking; 29 CFR 1910.147(d)(5)-(6) [P]): A relieve or verify check outside its limits
// stops the work. [failed-check-goes-on]
static void take_failure(struct gate_case *c, const struct model_check *check) {
    struct gate_answer wrong = {0};
    double value = 0;
    bool has_value = value_of(c, check, &value);
    require_witness(c, check);
    c->again = c->idle =
        c->request->done
            ? gate_failure_holds(c->site, c->job, check, c->person->person, c->request->done_at)
            : gate_failure_stands(c->site, c->job, check, c->person->person, has_value, value);
    if (!gate_case_clear(c)) {
        return;
    }
    if (c->again) {
        answer(c, check, false);
        return;
    }
    record_wrong(c, check, &wrong);
    sign(c, check, false, &wrong);
    gate_answer_free(&wrong);
    gate_break_by_check(c->gate, c->site, c->job, check, c->now);
}

// Rule (4, sign-check; R32): The answer says what a reading came to also where its job has ended
// since it was taken. [failed-done-without-result]
static void answer_done(struct gate_case *c) {
    const struct model_check *check = gate_check_of(c->job, c->request->check);
    if (check != NULL) {
        answer(c, check, false);
    }
}

// Rule (4, the answer): An unknown check does not hide that the asker is not in the crew.
// [unknown-check-hides-crew]
static void decide(struct gate_case *c) {
    const struct model_check *check = gate_check_of(c->job, c->request->check);
    if (check == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_UNKNOWN_CHECK, c->request->check,
                      GATE_ARGS(.check = c->request->check));
        gate_case_crew(c);
    } else if (is_found_unsafe(c)) {
        take_failure(c, check);
    } else {
        require_all(c, check);
        if (gate_case_clear(c)) {
            sign(c, check, !fails(c, check), NULL);
        }
    }
}

const struct gate_verb_row gate_verb_sign_check = {
    .name = "sign-check",
    .about =
        "Signs a check of the job; a reading is given in the check's unit, and the unit named. "
        "Outside its limits, or with `\"pass\": false`, it is recorded as failed.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(check, ID), GATE_PLAIN(value, NUMBER, false),
               GATE_MAY(unit, UNIT), GATE_PLAIN(pass, PASS, false), GATE_MAY(instrument, ID),
               GATE_MAY(note, NOTE)},
    .who = GATE_WHO_VERB,
    .asker =
        "one of the crew who holds the credentials; where the check names a role, that role "
        "alone; a failed prepare, relieve or verify: any technician, manager or supervisor too",
    .of_job = true,
    .present = true,
    .ends = is_found_unsafe,
    .ending = true,
    .done = answer_done,
    .fits = fits,
    .decide = decide,
};
