// The account after each step: compared with the gate's state, and held to the invariants.
#include "rules.h"

#include <stdlib.h>
#include <string.h>

void rules_new(struct rules *r, const struct forecourt *forecourt, struct gate_time now) {
    memset(r, 0, sizeof *r);
    r->forecourt = forecourt;
    r->now = now;
    r->link = r->journal = true;
}

// --- Taken over from a gate ---

static void adopt_tags(struct rules *r, const struct gate_site *site, unsigned point) {
    for (size_t i = 0; i < site->points[point].tag_count; i++) {
        const struct gate_tag *tag = &site->points[point].tags[i];
        unsigned who = rules_person(r, tag->person);
        const struct rules_job *job = rules_job_named(r, tag->job);
        r->points[point].tags[who != RULES_NOBODY ? who : RULES_ANYBODY]
                             [job != NULL ? (unsigned)(job - r->jobs) : RULES_NO_SLOT] =
            (struct rules_tag){true, tag->counts, tag->since.mono};
    }
}

static unsigned slots_of(struct rules *r, const struct gate_statement *word) {
    unsigned slots = 0;
    for (size_t j = 0; j < word->job_count; j++) {
        const struct rules_job *job = rules_job_named(r, word->jobs[j]);
        slots |= job != NULL ? 1u << (job - r->jobs) : 0;
    }
    return slots;
}

static void adopt_words(struct rules *r, const struct gate_site *site, unsigned index) {
    const struct gate_point *from = &site->points[index];
    struct rules_point *point = &r->points[index];
    for (size_t i = 0; i < from->statement_count; i++) {
        const struct gate_statement *word = &from->statements[i];
        point->statements[rules_person(r, word->person)] =
            (struct rules_word){true, word->overseer, word->at.mono, slots_of(r, word)};
    }
    point->live_said = from->live_statement_count > 0;
    if (point->live_said) {
        const struct gate_statement *word = &from->live_statements[from->live_statement_count - 1];
        point->live_at = word->at.mono;
        point->live_proves = word->overseer;
        for (size_t j = 0; j < word->job_count; j++) {
            const struct gate_job *job = gate_job_find(site, word->jobs[j]);
            unsigned isolates = r->forecourt->plan->point[index].isolates;
            point->live_proves |= job != NULL && (isolates >> job->position & 1u) != 0;
        }
    }
}

static void adopt_marks(struct rules *r, const struct gate_job *from, struct rules_job *job) {
    const struct model_requirements *needs = &r->forecourt->procedures[job->procedure];
    for (size_t i = 0; i < from->signature_count; i++) {
        const struct gate_signature *s = &from->signatures[i];
        size_t check = 0;
        while (strcmp(needs->checks[check].check, s->check) != 0) {
            check++;
        }
        job->signed_[check] =
            (struct rules_mark){!s->void_, s->pass, s->at.mono, (unsigned)s->order};
        const struct gate_member *member = gate_member_of(from, s->by);
        if (s->group == MODEL_GROUP_VERIFY && s->pass && !s->void_ && member != NULL &&
            s->order > member->joined_order) {
            job->verified[check][rules_person(r, s->by)] = (unsigned)s->order;
        }
    }
    for (size_t i = 0; i < from->test_count; i++) {
        for (size_t t = 0; t < FORECOURT_TESTS; t++) {
            if (strcmp(r->forecourt->tests[t].test, from->tests[i].test) == 0) {
                job->tests[t] = (struct rules_mark){!from->tests[i].void_, from->tests[i].pass,
                                                    from->tests[i].at.mono, 0};
            }
        }
    }
}

static void adopt_job(struct rules *r, const struct gate_job *from) {
    struct rules_job *job = &r->jobs[from->position];
    unsigned number = (unsigned)strtoul(from->job + 1, NULL, 10);
    r->used[number / 8] |= (uint8_t)(1u << number % 8);
    if (!gate_job_stands(from)) {
        return;
    }
    *job = (struct rules_job){.stands = true,
                              .number = number,
                              .procedure = strcmp(from->needs->procedure, "whole") == 0,
                              .phase = from->phase,
                              .leader = (uint8_t)rules_person(r, from->leader),
                              .offered = (uint8_t)rules_person(r, from->offered),
                              .offered_at = from->offered_at.mono,
                              .opened = from->opened.mono,
                              .kit = from->kit_family[0] != '\0',
                              .started = from->started,
                              .set_aside = from->set_aside,
                              .unproven = from->isolation == GATE_ISOLATION_UNPROVEN,
                              .held = from->isolation != GATE_ISOLATION_NONE};
    for (size_t i = 0; i < from->required_count; i++) {
        job->required |= 1u << from->required[i];
    }
    for (size_t i = 0; i < from->crew_count; i++) {
        job->crew |= 1u << rules_person(r, from->crew[i].person);
    }
    r->order = r->order > from->order ? r->order : (unsigned)from->order;
    adopt_marks(r, from, job);
}

void rules_adopt(struct rules *r, const struct gate *gate, struct gate_time now) {
    const struct gate_site *site = &gate->sites[0];
    rules_new(r, r->forecourt, now);
    r->link = gate->link_up;
    r->journal = gate->journal_up;
    r->contested = site->contested;
    r->controller = site->controllers[0];
    for (size_t i = 0; i < site->model->sensor_count; i++) {
        const struct gate_sensor *s = &site->sensors[i];
        r->sensors[i] = (struct rules_sensor){.heard = s->heard,
                                              .since = s->isolated_since,
                                              .at = s->mark.at,
                                              .word = s->state,
                                              .bad = s->bad};
    }
    for (size_t i = 0; i < site->job_count; i++) {
        adopt_job(r, site->jobs[i]);
    }
    for (unsigned p = 0; p < site->model->point_count; p++) {
        r->points[p].heard_before = site->hearing[p].heard_before;
        adopt_tags(r, site, p);
        adopt_words(r, site, p);
    }
    for (unsigned p = 0; p < site->model->position_count; p++) {
        const struct gate_position *from = &site->positions[p];
        r->positions[p].in_service = from->service == MODEL_SERVICE_IN;
        r->positions[p].failed = from->failed_count > 0;
        for (size_t i = 0; i < from->untested_count; i++) {
            r->positions[p].untested |= 1u << from->untested_from[i];
        }
        if (from->owed != NULL) {
            r->positions[p].owed = from->owed->test_count > 1 ? 2u : 1u;
        }
    }
}

// --- Compared ---

static void compare_point(struct rules *r, const struct gate_site *site, unsigned p) {
    const struct gate_point *gate = &site->points[p];
    enum model_point_state reads = rules_reads(r, p, RULES_NO_SLOT);
    if (gate->state != reads) {
        rules_fail(r, "point d%u is %s, the gate has %s", p, model_point_state_name(reads),
                   model_point_state_name(gate->state));
    }
    bool settled = gate->trust == MODEL_TRUST_FRESH || gate->trust == MODEL_TRUST_WITNESSED;
    bool isolated = gate->state == MODEL_POINT_ISOLATED && settled;
    if (isolated != rules_isolated(r, p, RULES_NO_SLOT)) {
        rules_fail(r, "point d%u: isolated and settled differ", p);
    }
    size_t hang = 0;
    for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            hang += r->points[p].tags[who][s].hangs;
        }
    }
    if (hang != gate->tag_count) {
        rules_fail(r, "point d%u: %zu tags hang, the gate has %zu", p, hang, gate->tag_count);
    }
    for (size_t i = 0; i < gate->tag_count; i++) {
        const struct gate_tag *tag = &gate->tags[i];
        unsigned who = rules_person(r, tag->person);
        const struct rules_job *job = rules_job_named(r, tag->job);
        const struct rules_tag *own =
            &r->points[p].tags[who != RULES_NOBODY ? who : RULES_ANYBODY]
                              [job != NULL ? (unsigned)(job - r->jobs) : RULES_NO_SLOT];
        // One that hung by a reader without counting need not count for us either, and may not the
        // other way round.
        if (!own->hangs || own->counts != tag->counts) {
            rules_fail(r, "point d%u: the tag of %s for %s %s, the gate says it %s", p,
                       tag->person[0] != '\0' ? tag->person : tag->badge, tag->job,
                       own->counts ? "counts" : "does not count",
                       tag->counts ? "counts" : "does not count");
        }
    }
}

static void compare_signatures(struct rules *r, const struct gate_job *gate,
                               const struct rules_job *job) {
    const struct model_requirements *needs = &r->forecourt->procedures[job->procedure];
    for (size_t i = 0; i < needs->check_count; i++) {
        const struct gate_signature *s = gate_signature_of(gate, needs->checks[i].check);
        bool stands = s != NULL && !s->void_;
        const struct rules_mark *own = &job->signed_[i];
        if (stands != own->stands || (stands && s->pass != own->pass)) {
            rules_fail(r, "%s: the signature of %s %s, the gate has it %s", gate->job,
                       needs->checks[i].check, own->stands ? "stands" : "is void",
                       stands ? "standing" : "void");
        }
    }
    for (size_t t = 0; t < FORECOURT_TESTS; t++) {
        const struct gate_test_record *record = gate_test_of(gate, r->forecourt->tests[t].test);
        bool stands = record != NULL && !record->void_;
        if (stands != job->tests[t].stands || (stands && record->pass != job->tests[t].pass)) {
            rules_fail(r, "%s: the record of test %s differs", gate->job,
                       r->forecourt->tests[t].test);
        }
    }
}

static void compare_job(struct rules *r, const struct gate_site *site, unsigned slot) {
    const struct rules_job *job = &r->jobs[slot];
    const struct gate_job *gate = gate_job_on(site, slot);
    if ((gate != NULL) != job->stands) {
        rules_fail(r, "position P%u: a job %s", slot, job->stands ? "stands" : "does not stand");
        return;
    }
    if (gate == NULL) {
        return;
    }
    if (gate->phase != job->phase) {
        rules_fail(r, "%s is %s, the gate has %s", gate->job, model_phase_name(job->phase),
                   model_phase_name(gate->phase));
    }
    if (rules_person(r, gate->leader) != job->leader ||
        gate->crew_count != (size_t)__builtin_popcount(job->crew)) {
        rules_fail(r, "%s: leader or crew differ", gate->job);
    }
    if ((gate->isolation != GATE_ISOLATION_NONE) != job->held ||
        (gate->isolation == GATE_ISOLATION_UNPROVEN) != job->unproven) {
        rules_fail(r, "%s: what holds is %s%s, the gate has %d", gate->job,
                   job->held ? "held" : "not held", job->unproven ? " and unproven" : "",
                   (int)gate->isolation);
    }
    for (size_t i = 0; i < gate->crew_count; i++) {
        bool protected = rules_protected(r, job, rules_person(r, gate->crew[i].person));
        if (protected != gate->crew[i].protected) {
            rules_fail(r, "%s: %s is %s", gate->job, gate->crew[i].person,
                       protected ? "protected" : "not protected");
        }
    }
    compare_signatures(r, gate, job);
}

// --- The invariants ---

static bool alarm_stands(const struct gate_site *site, const char *job) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        if (alarm->kind == MODEL_ALARM_LOCKOUT_BROKEN && strcmp(alarm->job, job) == 0 &&
            alarm->state == MODEL_ALARM_UNACKNOWLEDGED) {
            return true;
        }
    }
    return false;
}

// 1: working only over what is proved, or unproven after a restart and not overdue.
static void assert_working(struct rules *r, const struct gate_job *gate,
                           const struct rules_job *job) {
    if (gate->phase != MODEL_PHASE_WORKING) {
        return;
    }
    bool signed_ = rules_group_stands(r, job, MODEL_GROUP_RELIEVE) &&
                   rules_group_stands(r, job, MODEL_GROUP_VERIFY);
    if (!job->held || !signed_ || gate->leader[0] == '\0') {
        rules_fail(r, "invariant 1: %s is working over a lockout that does not hold", gate->job);
    }
    enum model_lockout due = job->unproven ? MODEL_LOCKOUT_UNPROVEN : MODEL_LOCKOUT_CONFIRMED;
    if (gate->lockout != due) {
        rules_fail(r, "invariant 1: %s is working with lockout %s", gate->job,
                   model_lockout_name(gate->lockout));
    }
}

// A fresh measure outside its limits leaves no passing signature of what it answers, and so nobody
// working.
static void assert_measured(struct rules *r, unsigned slot) {
    const struct rules_job *job = &r->jobs[slot];
    const struct model_requirements *needs = &r->forecourt->procedures[job->procedure];
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        bool outside =
            rules_measures(r, m, slot) && rules_measured_now(r, m) && r->measures[m].outside;
        for (size_t i = 0; outside && i < needs->check_count; i++) {
            if (needs->checks[i].measure != NULL && job->signed_[i].stands &&
                job->signed_[i].pass) {
                rules_fail(r, "j%u stands signed though m%u is outside", job->number, m);
            }
        }
        if (outside && job->phase == MODEL_PHASE_WORKING) {
            rules_fail(r, "invariant 1: j%u is working though m%u is outside", job->number, m);
        }
    }
}

// 2: what breaks stops in the same turn, and an alarm stands; and nothing stops without a reason.
static void assert_break(struct rules *r, const struct gate_site *site, const struct gate_job *gate,
                         const struct rules_job *job, bool accepted) {
    bool asked = r->step->kind == STEP_ASK && r->step->verb == GATE_VERB_STOP_WORK && accepted;
    bool left = job->before == MODEL_PHASE_WORKING && gate->phase == MODEL_PHASE_STOPPED && !asked;
    bool heard = r->step->kind == STEP_HEAR || r->step->kind == STEP_CONTROLLER ||
                 r->step->kind == STEP_PASS;
    bool gone = (job->held_before && !job->held) ||
                (job->read_isolated & ~rules_reading_isolated(r, job)) != 0;
    bool lost =
        job->before == MODEL_PHASE_STOPPED && gate->phase == MODEL_PHASE_STOPPED && heard && gone;
    if ((left || lost || job->broken_now) && !alarm_stands(site, gate->job)) {
        rules_fail(r, "invariant 2: %s was broken and no alarm stands", gate->job);
    }
    if (job->broken_now && gate->phase == MODEL_PHASE_WORKING) {
        rules_fail(r, "invariant 2: %s was broken and is working", gate->job);
    }
    if (left && !job->broken_now && job->held && job->held_before) {
        rules_fail(r, "%s was stopped without a reason", gate->job);
    }
}

// 3: under test, nobody works on what is shared.
static void assert_testing(struct rules *r, unsigned slot) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (s != slot && r->jobs[s].stands && r->jobs[s].phase == MODEL_PHASE_WORKING &&
            r->jobs[slot].phase == MODEL_PHASE_TESTING && rules_shares(r, slot, s)) {
            rules_fail(r, "invariant 3: P%u is under test while P%u is worked on", slot, s);
        }
    }
}

// 4: in service only without a job, without an isolated point, and with its tests done.
static void assert_position(struct rules *r, const struct gate_site *site, unsigned p) {
    const struct rules_position *own = &r->positions[p];
    bool in = site->positions[p].service == MODEL_SERVICE_IN;
    if (in != own->in_service) {
        rules_fail(r, "position P%u: its service is not what was told", p);
    }
    unsigned untested = 0;
    for (size_t i = 0; i < site->positions[p].untested_count; i++) {
        untested |= 1u << site->positions[p].untested_from[i];
    }
    if (untested != own->untested || (site->positions[p].owed != NULL) != (own->owed != 0)) {
        rules_fail(r, "position P%u: what is left to test differs", p);
    }
    for (unsigned d = 0; in && d < r->forecourt->plan->points; d++) {
        bool isolates = (r->forecourt->plan->point[d].isolates >> p & 1u) != 0;
        if (isolates && rules_reads(r, d, RULES_NO_SLOT) == MODEL_POINT_ISOLATED) {
            rules_fail(r, "invariant 4: P%u is in service and d%u reads isolated", p, d);
        }
    }
    if (in && rules_failed(r, p)) {
        rules_fail(r, "invariant 4: P%u is in service and a test failed on its dispenser", p);
    }
    if (in && (r->jobs[p].stands || own->untested != 0)) {
        rules_fail(r, "invariant 4: P%u is in service with a job or without its tests", p);
    }
}

// What may open, opens: a refusal of a gate for which nothing lacks is wrong too.
static void assert_refusal(struct rules *r, const struct gate *gate) {
    char id[16];
    snprintf(id, sizeof id, "j%u", r->step->job);
    const struct rules_job *job = rules_job_named(r, id);
    if (r->told_any) {
        rules_fail(r, "a refused request changed something");
    }
    if (job == NULL || job->leader != r->step->who) {
        return;
    }
    bool lacks = true;
    unsigned phase = 1u << job->phase;
    bool seen = !alarm_stands(&gate->sites[0], id);
    switch (r->step->verb) {
    case GATE_VERB_START_WORK:
        lacks = (phase & (1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED)) == 0 || !seen ||
                rules_start_lacks(r, job) != NULL;
        for (size_t i = 0; i < gate->sites[0].alarm_count; i++) {
            lacks |= strcmp(gate->sites[0].alarms[i].job, id) == 0 &&
                     gate->sites[0].alarms[i].state != MODEL_ALARM_ACKNOWLEDGED;
        }
        break;
    case GATE_VERB_FINISH_WORK:
        lacks = job->phase != MODEL_PHASE_WORKING || rules_finish_lacks(r, job) != NULL;
        break;
    case GATE_VERB_BEGIN_TEST:
        lacks = job->phase != MODEL_PHASE_RESTORING || rules_test_lacks(r, job) != NULL;
        break;
    case GATE_VERB_RETURN_POSITION:
        lacks = job->phase != MODEL_PHASE_TESTING || rules_return_lacks(r, job, gate) != NULL;
        break;
    default:
        break;
    }
    if (!lacks) {
        rules_fail(r, "%s of %s was refused and nothing lacks",
                   gate_verb_name((enum gate_verb)r->step->verb), id);
    }
}

// What a reader saw is so: hung for every job of that person that requires the point, and counting
// where it reads isolated; lifted, none is left.
static void assert_reader(struct rules *r) {
    const struct step *step = r->step;
    unsigned who = step->who == STEP_STRANGER ? RULES_ANYBODY : step->who;
    bool of_a_job = false;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        const struct rules_job *job = &r->jobs[s];
        const struct rules_tag *tag = &r->points[step->at].tags[who][s];
        bool his = job->stands && (job->required >> step->at & 1u) != 0 && who < RULES_ANYBODY &&
                   (job->crew >> who & 1u) != 0;
        bool isolated = rules_reads(r, step->at, s) == MODEL_POINT_ISOLATED;
        of_a_job = of_a_job || his;
        if (step->ok && his && (!tag->hangs || (isolated && !tag->counts))) {
            rules_fail(r, "a reader saw a lock hung, and it is no tag of j%u", job->number);
        }
        if (!step->ok && tag->hangs) {
            rules_fail(r, "invariant 5: a reader saw a lock lifted, and the tag of j%u hangs",
                       job->number);
        }
    }
    if (r->points[step->at].tags[who][RULES_NO_SLOT].hangs != (step->ok && !of_a_job)) {
        rules_fail(r, "a reader's lock of no job %s", step->ok ? "is not listed" : "still hangs");
    }
}

bool rules_after(struct rules *r, const struct gate *gate, bool accepted) {
    const struct gate_site *site = &gate->sites[0];
    rules_settle(r);
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        compare_point(r, site, p);
    }
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        const struct gate_job *job = gate_job_on(site, s);
        compare_job(r, site, s);
        if (job != NULL && r->jobs[s].stands) {
            assert_working(r, job, &r->jobs[s]);
            assert_break(r, site, job, &r->jobs[s], accepted);
            assert_testing(r, s);
            assert_measured(r, s);
        }
        assert_position(r, site, s);
    }
    if (r->step->kind == STEP_READER) {
        assert_reader(r);
    }
    if (r->step->kind == STEP_ASK && !accepted) {
        assert_refusal(r, gate);
    }
    if (gate->broken_memory) {
        rules_fail(r, "the gate says that it ran out of memory");
    }
    return r->wrong[0] == '\0';
}
