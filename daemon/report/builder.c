// One fact after the other: what each makes of the record. Which signatures and tests stand, the
// phase and the crew are asked of the gate, which folds the same facts (fold.h); here they get the
// fact, the time and the word for it.
#include "report/builder.h"

#include "base/array.h"
#include "gate/lockout.h"

#include <stdlib.h>
#include <string.h>

// --- Voids ---

// The word for what a fact makes void. `group` is that of the check it signs.
static const char *void_reason(const struct gate_fact *fact, enum model_group group) {
    static const char *const reasons[GATE_FACT_COUNT] = {
        [GATE_FACT_CREW_JOINED] = "joined-after",      [GATE_FACT_HOLD_ENDED] = "hold-ended",
        [GATE_FACT_LOCKOUT_BROKEN] = "lockout-broken", [GATE_FACT_TAG_HUNG] = "lock-hung",
        [GATE_FACT_TEST_BEGUN] = "begun-again",        [GATE_FACT_TEST_RECORDED] = "tested-after",
        [GATE_FACT_WORK_REOPENED] = "reworked",        [GATE_FACT_WORK_SET_ASIDE] = "set-aside",
        [GATE_FACT_WORK_STARTED] = "started-after",
    };
    if (fact->type == GATE_FACT_CHECK_SIGNED) {
        return group == MODEL_GROUP_WORK ? "work-went-on" : "relieved-after";
    }
    if (fact->type == GATE_FACT_WORK_STOPPED) {
        return fact->phase == MODEL_PHASE_STOPPED ? "relieved-after" : "stopped";
    }
    return reasons[fact->type] != NULL ? reasons[fact->type] : gate_fact_name(fact->type);
}

static void void_one(struct report_void *one, const struct report_entry *by,
                     enum model_group group) {
    if (one->seq == 0) {
        *one = (struct report_void){by->seq, by->fact->at.wall, void_reason(by->fact, group)};
    }
}

// The lists are in step with the gate's: each fact that is signed or tested adds one to both.
static void follow_voids(struct report_record *record, const struct gate_job *job,
                         const struct report_entry *entry) {
    bool signs = entry->fact->type == GATE_FACT_CHECK_SIGNED;
    enum model_group group =
        signs ? job->signatures[job->signature_count - 1].group : MODEL_GROUP_COUNT;
    for (size_t i = 0; i < record->signature_count; i++) {
        if (job->signatures[i].void_) {
            void_one(&record->signatures[i].void_, entry, group);
        }
    }
    for (size_t i = 0; i < record->test_count; i++) {
        if (job->tests[i].void_) {
            void_one(&record->tests[i].void_, entry, group);
        }
    }
}

// --- Phases and people ---

static void enter(struct report_record *record, const struct gate_job *job,
                  const struct report_entry *entry) {
    int64_t at = entry->fact->at.wall;
    if (record->phase_count > 0) {
        record->phases[record->phase_count - 1].until = at;
    }
    if (!BASE_ARRAY_ROOM(record->phases, record->phase_count, record->phase_capacity)) {
        record->failed = true;
        return;
    }
    record->phases[record->phase_count++] =
        (struct report_phase){job->phase, at, 0, entry->seq, entry->fact->by};
    record->phase = job->phase;
    record->entered = job->since;
}

static void end_job(struct report_record *record, const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    record->phases[record->phase_count - 1].until = fact->at.wall;
    record->ended = fact->at.wall;
    record->ended_by = fact->by;
    record->end_reason = fact->reason;
}

static void follow_phase(struct report_record *record, const struct gate_job *job,
                         const struct report_entry *entry) {
    bool same = record->phase_count > 0 && job->phase == record->phase &&
                job->since.mono == record->entered.mono && job->since.wall == record->entered.wall;
    if (!same) {
        enter(record, job, entry);
    }
    if (record->ended == 0 && !gate_job_stands(job) && !record->failed) {
        end_job(record, entry);
    }
}

static struct report_member *member_of(struct report_record *record, const char *person) {
    for (size_t i = 0; i < record->crew_count; i++) {
        if (record->crew[i].left == 0 && report_is(record->crew[i].person, person)) {
            return &record->crew[i];
        }
    }
    return NULL;
}

static void join(struct report_record *record, const struct gate_member *member, int64_t at) {
    char *person = wire_fact_arena_alloc(&record->arena, sizeof member->person);
    if (person == NULL ||
        !BASE_ARRAY_ROOM(record->crew, record->crew_count, record->crew_capacity)) {
        record->failed = true;
        return;
    }
    memcpy(person, member->person, sizeof member->person);
    record->crew[record->crew_count++] = (struct report_member){
        .person = person, .joined = at, .joined_order = member->joined_order};
}

// Who is no longer of the crew, or came anew; then who is and was not.
static void follow_crew(struct report_record *record, const struct gate_job *job, int64_t at) {
    for (size_t i = 0; i < record->crew_count; i++) {
        struct report_member *member = &record->crew[i];
        const struct gate_member *now =
            member->left == 0 ? gate_member_of(job, member->person) : NULL;
        if (member->left == 0 && (now == NULL || now->joined_order != member->joined_order)) {
            member->left = at;
        }
    }
    for (size_t i = 0; i < job->crew_count; i++) {
        if (member_of(record, job->crew[i].person) == NULL) {
            join(record, &job->crew[i], at);
        }
    }
    struct report_member *leader = member_of(record, job->leader);
    if (leader != NULL) {
        leader->led = true;
    }
    record->leader = job->leader[0] != '\0' ? job->leader : NULL;
    record->kit_family = job->kit_family[0] != '\0' ? job->kit_family : NULL;
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

static void add_signature(struct report_record *record, const struct report_entry *entry) {
    for (size_t i = 0; i < record->signature_count; i++) {
        struct report_signature *older = &record->signatures[i];
        older->replaced |= report_is(older->entry.fact->check, entry->fact->check);
    }
    if (!BASE_ARRAY_ROOM(record->signatures, record->signature_count, record->signature_capacity)) {
        record->failed = true;
        return;
    }
    record->signatures[record->signature_count++] =
        (struct report_signature){.entry = *entry, .check = check_of(record, entry->fact->check)};
}

static void add_test(struct report_record *record, const struct report_entry *entry) {
    for (size_t i = 0; i < record->test_count; i++) {
        struct report_test *older = &record->tests[i];
        older->replaced |= report_is(older->entry.fact->test, entry->fact->test);
    }
    if (!BASE_ARRAY_ROOM(record->tests, record->test_count, record->test_capacity)) {
        record->failed = true;
        return;
    }
    record->tests[record->test_count++] =
        (struct report_test){.entry = *entry, .test = test_of(record, entry->fact->test)};
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
    if (tag != NULL && tag->counts && tag->discounted == 0) {
        return; // hung again, as it hung already
    }
    if (!BASE_ARRAY_ROOM(record->tags, record->tag_count, record->tag_capacity)) {
        record->failed = true;
        return;
    }
    record->tags[record->tag_count++] = (struct report_tag){
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
        tag->why = fact->has_why ? fact->why : MODEL_CODE_POINT_LIVE;
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

static void add_alarm(struct report_record *record, const struct gate_fact *fact) {
    if (!BASE_ARRAY_ROOM(record->alarms, record->alarm_count, record->alarm_capacity)) {
        record->failed = true;
        return;
    }
    record->alarms[record->alarm_count++] =
        (struct report_alarm){.alarm = fact->alarm, .kind = fact->kind, .raised = fact->at.wall};
}

// What it says is of the last time, and so is who has seen it.
static void raise_alarm(struct report_alarm *alarm, const struct gate_fact *fact) {
    alarm->count = fact->count != 0 ? fact->count : alarm->count + 1;
    alarm->point = fact->point;
    alarm->subject = fact->subject;
    alarm->by = fact->by;
    alarm->say = fact->say;
    alarm->why = fact->has_why ? model_code_name(fact->why) : NULL;
    alarm->acknowledged = alarm->cleared = 0;
    alarm->acknowledged_by = alarm->note = NULL;
    alarm->gone = false;
}

static void alarm_moves(struct report_record *record, const struct report_entry *entry) {
    const struct gate_fact *fact = entry->fact;
    struct report_alarm *alarm = alarm_of(record, fact->alarm);
    bool raised = fact->type == GATE_FACT_ALARM_RAISED;
    if (alarm == NULL && raised) {
        add_alarm(record, fact);
        alarm = alarm_of(record, fact->alarm);
    }
    if (alarm == NULL) {
        return;
    }
    if (raised) {
        raise_alarm(alarm, fact);
    } else if (fact->type == GATE_FACT_ALARM_ACKNOWLEDGED) {
        alarm->acknowledged = fact->at.wall;
        alarm->acknowledged_by = fact->by;
        alarm->note = fact->note;
        alarm->gone = fact->has_alarm_state && fact->alarm_state == MODEL_ALARM_GONE;
    } else {
        alarm->cleared = fact->at.wall;
        alarm->gone = fact->has_alarm_state && fact->alarm_state == MODEL_ALARM_GONE;
    }
}

// --- All ---

// Whether a break that comes now stops the work as well: then the stop that follows is counted.
static bool stops_work(const struct report_record *record) {
    return record->phase == MODEL_PHASE_WORKING || record->phase == MODEL_PHASE_TESTING;
}

static void count(struct report_record *record, const struct gate_fact *fact) {
    record->starts += fact->type == GATE_FACT_WORK_STARTED;
    record->stops += fact->type == GATE_FACT_WORK_STOPPED ||
                     (fact->type == GATE_FACT_LOCKOUT_BROKEN && !stops_work(record));
    record->set_asides += fact->type == GATE_FACT_WORK_SET_ASIDE;
    record->reworks += fact->type == GATE_FACT_WORK_REOPENED;
    record->refusals += fact->refusal_count > 0;
}

// Adds the lines of what a record lists.
static void list(struct report_record *record, const struct report_entry *entry) {
    switch (entry->fact->type) {
    case GATE_FACT_TAG_HUNG:
        hung(record, entry);
        break;
    case GATE_FACT_TAG_LIFTED:
        lifted(record, entry);
        break;
    case GATE_FACT_TAG_DISCOUNTED:
        discounted(record, entry->fact);
        break;
    case GATE_FACT_CHECK_SIGNED:
        add_signature(record, entry);
        break;
    case GATE_FACT_TEST_RECORDED:
        add_test(record, entry);
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

// Whether somebody without locks is out of every cabinet. Locks come off in that order when the
// work is over, and when a repair is left half done; a lockout that broke is never orderly.
static bool is_orderly(const struct gate_job *job, struct gate_time now) {
    bool left = gate_group_signed(job, MODEL_GROUP_CLEAR, now) &&
                gate_group_signed(job, MODEL_GROUP_LEAVE, now);
    return job->phase != MODEL_PHASE_WORKING && job->lockout != MODEL_LOCKOUT_BROKEN &&
           (job->phase != MODEL_PHASE_STOPPED || left);
}

bool report_build(struct report_record *record, struct report_entry *entry) {
    bool opens = entry->fact == record->opened;
    if (opens ? !report_fold_open(&record->fold, record->model, record->site, entry->fact)
              : !report_fold_apply(&record->fold, entry->fact)) {
        return false;
    }
    const struct gate_job *job = report_fold_job(&record->fold);
    entry->orderly =
        entry->fact->type == GATE_FACT_CREW_UNPROTECTED && is_orderly(job, entry->fact->at);
    list(record, entry);
    count(record, entry->fact);
    if (!record->failed) {
        follow_voids(record, job, entry);
        follow_phase(record, job, entry);
        follow_crew(record, job, entry->fact->at.wall);
    }
    return !record->failed;
}
