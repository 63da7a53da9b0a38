// One fact after the other: what each makes of the record. The voids are those that the gate draws
// from the same facts (contract, section 4, "What voids").
#include "report/internal.h"

#include <stdlib.h>

void *report_more(struct report_record *record, void *list, size_t *count, size_t *capacity,
                  size_t size) {
    char *items;
    memcpy(&items, list, sizeof items);
    if (*count == *capacity) {
        size_t grown = *capacity == 0 ? 16 : *capacity * 2;
        char *moved = reallocarray(items, grown, size);
        if (moved == NULL) {
            record->failed = true;
            return NULL;
        }
        items = moved;
        memcpy(list, &items, sizeof items);
        *capacity = grown;
    }
    return memset(items + (*count)++ * size, 0, size);
}

// Whether a point is one that the job's lockout rests on: those of the evidence at its opening.
static bool requires(const struct report_record *record, const char *point) {
    for (size_t i = 0; i < record->opened->evidence_count; i++) {
        if (report_is(record->opened->evidence[i].point, point)) {
            return true;
        }
    }
    return false;
}

// --- Voids ---

static void void_one(struct report_void *one, const struct report_entry *by, const char *why) {
    if (one->seq == 0) {
        *one = (struct report_void){by->seq, by->fact->at.wall, why};
    }
}

static void void_group(struct report_record *record, enum model_group group,
                       const struct report_entry *by, const char *why) {
    for (size_t i = 0; i < record->signature_count; i++) {
        struct report_signature *signature = &record->signatures[i];
        if (signature->check != NULL && signature->check->group == group) {
            void_one(&signature->void_, by, why);
        }
    }
}

static void void_tests(struct report_record *record, const struct report_entry *by,
                       const char *why) {
    for (size_t i = 0; i < record->test_count; i++) {
        void_one(&record->tests[i].void_, by, why);
    }
    void_group(record, MODEL_GROUP_FINISH, by, why);
}

static void void_leaving(struct report_record *record, const struct report_entry *by,
                         const char *why) {
    void_group(record, MODEL_GROUP_CLEAR, by, why);
    void_group(record, MODEL_GROUP_LEAVE, by, why);
}

static void void_proof(struct report_record *record, const struct report_entry *by,
                       const char *why) {
    void_group(record, MODEL_GROUP_RELIEVE, by, why);
    void_group(record, MODEL_GROUP_VERIFY, by, why);
}

static void void_everything(struct report_record *record, const struct report_entry *by,
                            const char *why) {
    for (size_t i = 0; i < record->signature_count; i++) {
        void_one(&record->signatures[i].void_, by, why);
    }
    void_tests(record, by, why);
}

// Work stops: a relieve signed while it went on voids the verify signatures older than itself.
static void void_verify_before_relieve(struct report_record *record,
                                       const struct report_entry *by) {
    int64_t newest = 0;
    for (size_t i = 0; i < record->signature_count; i++) {
        const struct report_signature *signature = &record->signatures[i];
        if (signature->check != NULL && signature->check->group == MODEL_GROUP_RELIEVE &&
            signature->void_.seq == 0) {
            newest = signature->entry.seq;
        }
    }
    for (size_t i = 0; i < record->signature_count; i++) {
        struct report_signature *signature = &record->signatures[i];
        if (signature->check != NULL && signature->check->group == MODEL_GROUP_VERIFY &&
            signature->entry.seq < newest) {
            void_one(&signature->void_, by, "relieved-after");
        }
    }
}

// --- Phases and people ---

static void enter(struct report_record *record, enum model_phase phase,
                  const struct report_entry *entry) {
    int64_t at = entry->fact->at.wall;
    if (record->phase_count > 0) {
        record->phases[record->phase_count - 1].until = at;
    }
    struct report_phase *entered = REPORT_MORE(record, phase);
    if (entered != NULL) {
        *entered = (struct report_phase){phase, at, 0, entry->seq, entry->fact->by};
    }
    record->phase = phase;
}

static void join(struct report_record *record, const char *person, int64_t at, bool leads) {
    if (person == NULL) {
        return;
    }
    record->leader = leads ? person : record->leader;
    for (size_t i = 0; i < record->crew_count; i++) {
        if (record->crew[i].left == 0 && report_is(record->crew[i].person, person)) {
            record->crew[i].led |= leads;
            return;
        }
    }
    struct report_member *member = report_more(record, &record->crew, &record->crew_count,
                                               &record->crew_capacity, sizeof *record->crew);
    if (member != NULL) {
        *member = (struct report_member){.person = person, .joined = at, .led = leads};
    }
}

static void leave(struct report_record *record, const char *person, int64_t at) {
    for (size_t i = 0; i < record->crew_count; i++) {
        if (record->crew[i].left == 0 && report_is(record->crew[i].person, person)) {
            record->crew[i].left = at;
        }
    }
}

static void assigned(struct report_record *record, const struct gate_fact *fact) {
    if (record->leader != NULL) {
        leave(record, record->leader, fact->at.wall);
    }
    record->kit_family = fact->kit_family != NULL ? fact->kit_family : record->kit_family;
    join(record, fact->person, fact->at.wall, true);
}

static void end_job(struct report_record *record, enum model_phase phase,
                    const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    enter(record, phase, entry);
    record->phases[record->phase_count - 1].until = record->failed ? 0 : fact->at.wall;
    record->ended = fact->at.wall;
    record->ended_by = fact->by;
    record->end_reason = fact->reason;
}

static void back_to_open(struct report_record *record, const struct report_entry *entry) {
    bool aside = entry->fact->type == GATE_FACT_WORK_SET_ASIDE;
    record->set_asides += aside;
    record->reworks += !aside;
    void_everything(record, entry, aside ? "set-aside" : "reworked");
    enter(record, MODEL_PHASE_OPEN, entry);
}

static void stopped(struct report_record *record, const struct report_entry *entry) {
    record->stops++;
    if (entry->fact->has_phase && entry->fact->phase != MODEL_PHASE_STOPPED) {
        void_tests(record, entry, "stopped");
        enter(record, entry->fact->phase, entry);
        return;
    }
    void_verify_before_relieve(record, entry);
    enter(record, MODEL_PHASE_STOPPED, entry);
}

// --- Signatures and tests ---

static const struct model_check *check_of(const struct report_record *record, const char *id) {
    const struct model_requirements *needs = record->opened->requirements;
    for (size_t i = 0; needs != NULL && i < needs->check_count; i++) {
        if (report_is(needs->checks[i].check, id)) {
            return &needs->checks[i];
        }
    }
    return NULL;
}

static const struct model_test *test_of(const struct report_record *record, const char *id) {
    const struct model_requirements *needs = record->opened->requirements;
    for (size_t i = 0; needs != NULL && i < needs->test_count; i++) {
        if (report_is(needs->tests[i].test, id)) {
            return &needs->tests[i];
        }
    }
    return NULL;
}

static void signed_(struct report_record *record, const struct report_entry *entry) {
    const struct model_check *check = check_of(record, entry->fact->check);
    for (size_t i = 0; i < record->signature_count; i++) {
        struct report_signature *older = &record->signatures[i];
        older->replaced |= report_is(older->entry.fact->check, entry->fact->check);
    }
    if (check != NULL && check->group == MODEL_GROUP_WORK) {
        void_leaving(record, entry, "work-went-on");
    } else if (check != NULL && check->group == MODEL_GROUP_RELIEVE &&
               record->phase != MODEL_PHASE_WORKING) {
        void_group(record, MODEL_GROUP_VERIFY, entry, "relieved-after");
    }
    struct report_signature *signature = REPORT_MORE(record, signature);
    if (signature != NULL) {
        signature->entry = *entry;
        signature->check = check;
    }
}

static void recorded(struct report_record *record, const struct report_entry *entry) {
    for (size_t i = 0; i < record->test_count; i++) {
        struct report_test *older = &record->tests[i];
        older->replaced |= report_is(older->entry.fact->test, entry->fact->test);
    }
    void_group(record, MODEL_GROUP_FINISH, entry, "tested-after");
    struct report_test *test = REPORT_MORE(record, test);
    if (test != NULL) {
        test->entry = *entry;
        test->test = test_of(record, entry->fact->test);
    }
}

// --- Locks and tags ---

// The one that hangs there for that person (or badge) and job; NULL: none.
static struct report_tag *tag_of(struct report_record *record, const struct gate_fact *fact) {
    for (size_t i = record->tag_count; i-- > 0;) {
        struct report_tag *tag = &record->tags[i];
        bool who = fact->person != NULL ? report_is(tag->person, fact->person)
                                        : report_is(tag->badge, fact->badge);
        bool job = fact->job == NULL ? tag->job == NULL : report_is(tag->job, fact->job);
        if (tag->lifted == 0 && who && job && report_is(tag->point, fact->point)) {
            return tag;
        }
    }
    return NULL;
}

static void hung(struct report_record *record, const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    struct report_tag *tag = tag_of(record, fact);
    if (requires(record, fact->point)) {
        void_tests(record, entry, "lock-hung");
    }
    if (tag != NULL && tag->counts && tag->discounted == 0) {
        return; // hung again, as it hung already
    }
    tag = REPORT_MORE(record, tag);
    if (tag == NULL) {
        return;
    }
    *tag = (struct report_tag){
        .point = fact->point,
        .person = fact->person,
        .badge = fact->badge,
        .job = fact->job,
        .own = report_is(fact->job, record->opened->job),
        .hung = fact->hung != 0 ? fact->hung : fact->at.wall,
        .counts = !fact->has_counts || fact->counts,
        .reader = fact->reader,
        .adopted = fact->adopted,
    };
}

static void lifted(struct report_record *record, const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    // Hung again after it had stopped counting, one lock has several lines: all end with it.
    for (struct report_tag *tag = tag_of(record, fact); tag != NULL; tag = tag_of(record, fact)) {
        tag->lifted = fact->at.wall;
        tag->lifted_by = fact->by;
        tag->lifted_reader = fact->reader;
        tag->absent = fact->absent;
        tag->reason = fact->reason;
    }
}

static void discounted(struct report_record *record, const struct gate_fact *fact) {
    struct report_tag *tag = tag_of(record, fact);
    if (tag != NULL && tag->discounted == 0) {
        tag->discounted = fact->at.wall;
    }
}

// --- Alarms ---

static struct report_alarm *alarm_of(struct report_record *record, const char *alarm) {
    for (size_t i = record->alarm_count; i-- > 0;) {
        if (report_is(record->alarms[i].alarm, alarm)) {
            return &record->alarms[i];
        }
    }
    return NULL;
}

static void alarm_moves(struct report_record *record, const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    struct report_alarm *alarm = alarm_of(record, fact->alarm);
    bool raised = fact->type == GATE_FACT_ALARM_RAISED;
    if (alarm == NULL && raised) {
        alarm = REPORT_MORE(record, alarm);
        if (alarm == NULL) {
            return;
        }
        *alarm = (struct report_alarm){.alarm = fact->alarm,
                                       .kind = fact->kind,
                                       .point = fact->point,
                                       .say = fact->say,
                                       .why = fact->has_why ? model_code_name(fact->why) : NULL,
                                       .raised = fact->at.wall};
        return;
    }
    if (alarm == NULL) {
        return;
    }
    if (raised) { // raised again: it wants to be acknowledged again
        alarm->acknowledged = alarm->cleared = 0;
        alarm->acknowledged_by = NULL;
        alarm->gone = false;
    } else if (fact->type == GATE_FACT_ALARM_ACKNOWLEDGED) {
        alarm->acknowledged = fact->at.wall;
        alarm->acknowledged_by = fact->by;
        alarm->gone = fact->has_alarm_state && fact->alarm_state == MODEL_ALARM_GONE;
    } else {
        alarm->cleared = fact->at.wall;
        alarm->gone = fact->has_alarm_state && fact->alarm_state == MODEL_ALARM_GONE;
    }
}

// --- All ---

static void broken(struct report_record *record, const struct report_entry *entry) {
    record->stops++;
    void_proof(record, entry, "lockout-broken");
}

static void started(struct report_record *record, const struct report_entry *entry) {
    record->starts++;
    void_leaving(record, entry, "started-after");
    enter(record, MODEL_PHASE_WORKING, entry);
}

// Facts of the job's own phases; false: it is none.
static bool follow_phase(struct report_record *record, const struct report_entry *entry) {
    switch (entry->fact->type) {
    case GATE_FACT_JOB_OPENED:
        record->kit_family = entry->fact->kit_family;
        enter(record, MODEL_PHASE_OPEN, entry);
        join(record, entry->fact->person, entry->fact->at.wall, true);
        return true;
    case GATE_FACT_WORK_STARTED:
        started(record, entry);
        return true;
    case GATE_FACT_WORK_STOPPED:
        stopped(record, entry);
        return true;
    case GATE_FACT_WORK_FINISHED:
        enter(record, MODEL_PHASE_RESTORING, entry);
        return true;
    case GATE_FACT_WORK_SET_ASIDE:
    case GATE_FACT_WORK_REOPENED:
        back_to_open(record, entry);
        return true;
    case GATE_FACT_TEST_BEGUN:
        void_tests(record, entry, "begun-again");
        enter(record, MODEL_PHASE_TESTING, entry);
        return true;
    case GATE_FACT_JOB_RETURNED:
        end_job(record, MODEL_PHASE_RETURNED, entry);
        return true;
    case GATE_FACT_JOB_CANCELLED:
        end_job(record, MODEL_PHASE_CANCELLED, entry);
        return true;
    default:
        return false;
    }
}

static void follow_other(struct report_record *record, const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    switch (fact->type) {
    case GATE_FACT_JOB_ASSIGNED:
        assigned(record, fact);
        break;
    case GATE_FACT_JOB_HANDED_OVER:
        join(record, fact->to, fact->at.wall, true);
        break;
    case GATE_FACT_CREW_JOINED:
        void_leaving(record, entry, "joined-after");
        join(record, fact->person, fact->at.wall, false);
        break;
    case GATE_FACT_CREW_LEFT:
        leave(record, fact->person, fact->at.wall);
        break;
    case GATE_FACT_TAG_HUNG:
        hung(record, entry);
        break;
    case GATE_FACT_TAG_LIFTED:
        lifted(record, entry);
        break;
    case GATE_FACT_TAG_DISCOUNTED:
        discounted(record, fact);
        break;
    case GATE_FACT_CHECK_SIGNED:
        signed_(record, entry);
        break;
    case GATE_FACT_TEST_RECORDED:
        recorded(record, entry);
        break;
    case GATE_FACT_HOLD_ENDED:
        void_proof(record, entry, "hold-ended");
        break;
    case GATE_FACT_LOCKOUT_BROKEN:
        broken(record, entry);
        break;
    case GATE_FACT_ALARM_RAISED:
    case GATE_FACT_ALARM_ACKNOWLEDGED:
    case GATE_FACT_ALARM_CLEARED:
        alarm_moves(record, entry);
        break;
    default:
        break;
    }
}

void report_build(struct report_record *record, const struct report_entry *entry) {
    if (!follow_phase(record, entry)) {
        follow_other(record, entry);
    }
    record->refusals += entry->fact->refusal_count > 0;
}
