// Finding what is in the state, and comparing it: nothing here changes anything.
#include "gate/find.h"

#include <string.h>

#include "gate/gate.h"
#include "gate/text.h"
#include "gate/used.h"

struct gate_job *gate_job_find(const struct gate_site *site, const char *job) {
    const struct gate_used *used = gate_used_find(site, job);
    return used != NULL ? used->ref : NULL;
}

struct gate_job *gate_job_on(const struct gate_site *site, uint32_t position) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (site->jobs[i]->position == position && gate_job_stands(site->jobs[i])) {
            return site->jobs[i];
        }
    }
    return NULL;
}

// Rule (3, alarms): A position is not left live while a job that took its cabinet goes on.
// [left-live-under-work]
struct gate_job *gate_job_covering(const struct gate_site *site, uint32_t position) {
    struct gate_job *own = gate_job_on(site, position);
    for (size_t i = 0; own == NULL && i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && job->needs->takes_dispenser &&
            gate_same_dispenser(site, job->position, position)) {
            return job;
        }
    }
    return own;
}

bool gate_requires(const struct gate_job *job, uint32_t point) {
    for (size_t i = 0; i < job->required_count; i++) {
        if (job->required[i] == point) {
            return true;
        }
    }
    return false;
}

bool gate_point_isolates(const struct model_point *point, uint32_t position) {
    for (size_t i = 0; i < point->isolates_count; i++) {
        if (point->isolates[i] == position) {
            return true;
        }
    }
    return false;
}

bool gate_same_dispenser(const struct gate_site *site, uint32_t a, uint32_t b) {
    return strcmp(site->model->positions[a].dispenser, site->model->positions[b].dispenser) == 0;
}

static bool requires_of(const struct gate_site *site, const struct gate_job *job,
                        uint32_t position) {
    for (size_t i = 0; i < job->required_count; i++) {
        if (gate_point_isolates(&site->model->points[job->required[i]], position)) {
            return true;
        }
    }
    return false;
}

// Rule (1): Two jobs share if a point required by one isolates the other's position.
// [shares-the-cabinet-only]
// Rule (3, service; R9): A job that takes the site shares with every job there. [shares-no-site]
bool gate_shares(const struct gate_site *site, const struct gate_job *a, const struct gate_job *b) {
    return a->needs->takes_site || b->needs->takes_site ||
           gate_same_dispenser(site, a->position, b->position) ||
           requires_of(site, a, b->position) || requires_of(site, b, a->position);
}

const char *gate_unmapped(const struct model_site *site, const struct model_requirements *needs,
                          uint32_t position) {
    for (size_t i = 0; i < needs->isolate_count; i++) {
        bool mapped = false;
        for (size_t p = 0; p < site->point_count && !mapped; p++) {
            mapped = gate_point_isolates(&site->points[p], position) &&
                     strcmp(site->points[p].energy, needs->isolate[i]) == 0;
        }
        if (!mapped) {
            return needs->isolate[i];
        }
    }
    return needs->isolate_count == 0 ? "" : NULL;
}

bool gate_leads(const struct gate_job *job, const char *person) {
    return job->leader[0] != '\0' && strcmp(job->leader, person) == 0;
}

// Rule (4, hand-over): An offer of the lead ends after 30 min. [offer-never-ends]
bool gate_offer_stands(const struct gate_job *job, struct gate_time now) {
    return job->offered[0] != '\0' && now.mono - job->offered_at.mono < GATE_OFFER_MS;
}

const struct gate_signature *gate_signature_of(const struct gate_job *job, const char *check) {
    for (size_t i = job->signature_count; i-- > 0;) {
        if (strcmp(job->signatures[i].check, check) == 0) {
            return &job->signatures[i];
        }
    }
    return NULL;
}

// Rule (5, Return): The latest record of a test counts, not the first. [return-by-the-first-record]
const struct gate_test_record *gate_test_of(const struct gate_job *job, const char *test) {
    for (size_t i = job->test_count; i-- > 0;) {
        if (strcmp(job->tests[i].test, test) == 0) {
            return &job->tests[i];
        }
    }
    return NULL;
}

// Rule (4, record-test; R22): A failed record that is void is a failed one. [retest-after-void]
// Rule (4, record-test; R22): A borderline run is no record that failed or passed.
// [retest-after-borderline]
bool gate_test_failed_last(const struct gate_job *job, const char *test) {
    for (size_t i = job->test_count; i-- > 0;) {
        if (strcmp(job->tests[i].test, test) == 0 && !job->tests[i].waits) {
            return !job->tests[i].pass;
        }
    }
    return false;
}

const struct gate_member *gate_member_of(const struct gate_job *job, const char *person) {
    for (size_t i = 0; i < job->crew_count; i++) {
        if (strcmp(job->crew[i].person, person) == 0) {
            return &job->crew[i];
        }
    }
    return NULL;
}

const struct model_check *gate_check_of(const struct gate_job *job, const char *check) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        if (strcmp(job->needs->checks[i].check, check) == 0) {
            return &job->needs->checks[i];
        }
    }
    return NULL;
}

// For how long a signature stands; 0: without end.
static int64_t signature_valid_ms(const struct gate_job *job,
                                  const struct gate_signature *signature) {
    const struct model_check *check = gate_check_of(job, signature->check);
    return check != NULL ? check->valid_ms : 0;
}

// Rule (4, What voids): A prepare signature is void when its valid_s has gone by.
// [prepare-never-ages]
// Rule (4, What voids): A signature stands for the whole of its valid_s. [prepare-a-moment-early]
// Rule (4, What voids): A relieve or verify signature too is void when its valid_s has gone by.
// [verify-never-ages]
bool gate_signature_lapsed(const struct gate_job *job, const struct gate_signature *signature,
                           struct gate_time now) {
    int64_t valid_ms = signature_valid_ms(job, signature);
    return valid_ms > 0 && now.mono - signature->at.mono > valid_ms;
}

bool gate_signature_void(const struct gate_job *job, const struct gate_signature *signature,
                         struct gate_time now) {
    return signature->void_ || gate_signature_lapsed(job, signature, now);
}

int64_t gate_signature_until(const struct gate_job *job, const struct gate_signature *signature) {
    int64_t valid_ms = signature_valid_ms(job, signature);
    return valid_ms > 0 ? signature->at.wall + valid_ms : 0;
}

static bool is_owed_as(const struct model_requirements *owed, const struct model_test *test,
                       const char *id) {
    size_t length = strlen(owed->procedure);
    return strcmp(test->test, id) == 0 ||
           (strncmp(id, owed->procedure, length) == 0 && id[length] == '.' &&
            strcmp(id + length + 1, test->test) == 0);
}

// Rule (4, What voids; 3, service): An owed test stands for the shorter of both periods.
// [owed-test-never-ages]
int64_t gate_test_valid_ms(const struct gate_site *site, const struct gate_job *job,
                           const char *test) {
    const struct model_requirements *owed = site->positions[job->position].owed;
    int64_t valid_ms = 0;
    for (size_t i = 0; i < job->needs->test_count; i++) {
        if (strcmp(job->needs->tests[i].test, test) == 0) {
            valid_ms = job->needs->tests[i].valid_ms;
        }
    }
    for (size_t i = 0; owed != NULL && i < owed->test_count; i++) {
        if (is_owed_as(owed, &owed->tests[i], test)) {
            valid_ms = model_period_shorter(valid_ms, owed->tests[i].valid_ms);
        }
    }
    return valid_ms;
}

// Rule (4, What voids): A test is void when its valid_s has gone by. [test-never-ages]
bool gate_test_void(const struct gate_site *site, const struct gate_job *job,
                    const struct gate_test_record *record, struct gate_time now) {
    int64_t valid_ms = gate_test_valid_ms(site, job, record->test);
    return record->void_ || (valid_ms > 0 && now.mono - record->at.mono > valid_ms);
}

int64_t gate_test_until(const struct gate_site *site, const struct gate_job *job,
                        const struct gate_test_record *record) {
    int64_t valid_ms = gate_test_valid_ms(site, job, record->test);
    return valid_ms > 0 ? record->at.wall + valid_ms : 0;
}

// Rule (3, service): The return gate of the next job asks for the owed tests too. [owed-not-asked]
struct model_requirements *gate_tests_of(const struct gate_site *site, const struct gate_job *job) {
    const struct model_requirements *owed = site->positions[job->position].owed;
    return owed != NULL ? model_requirements_stricter(job->needs, owed)
                        : model_requirements_copy(job->needs);
}

struct model_requirements *gate_test_definition(const struct gate *gate, uint32_t site_index,
                                                const char *job_id, const char *test,
                                                const struct model_test **definition) {
    const struct gate_site *site = &gate->sites[site_index];
    const struct gate_job *job = gate_job_find(site, job_id);
    struct model_requirements *tests =
        job != NULL && gate_job_stands(job) ? gate_tests_of(site, job) : NULL;
    *definition = NULL;
    for (size_t i = 0; tests != NULL && i < tests->test_count; i++) {
        if (strcmp(tests->tests[i].test, test) == 0) {
            *definition = &tests->tests[i];
        }
    }
    return tests;
}

// --- Locks and tags ---

// Rule (3, Tags): A badge that reads like the id of a person is not that person's.
// [badge-is-the-person]
struct gate_tag *gate_tag_of(const struct gate_site *site, uint32_t point, const char *job,
                             const char *person, const char *badge) {
    struct gate_point *state = &site->points[point];
    for (size_t i = 0; i < state->tag_count; i++) {
        struct gate_tag *tag = &state->tags[i];
        bool owned = gate_same(tag->person, person) &&
                     (tag->person[0] != '\0' || gate_same(tag->badge, badge));
        if (owned && gate_same(tag->job, job)) {
            return tag;
        }
    }
    return NULL;
}

struct gate_tag *gate_tag_find(const struct gate_site *site, uint32_t point, const char *job,
                               const char *person) {
    return gate_tag_of(site, point, job, person, NULL);
}

bool gate_tag_counts(const struct gate_site *site, uint32_t point, const char *job,
                     const char *person) {
    const struct gate_tag *tag = gate_tag_find(site, point, job, person);
    return tag != NULL && tag->counts;
}

bool gate_protected(const struct gate_site *site, const struct gate_job *job, const char *person) {
    for (size_t i = 0; i < job->required_count; i++) {
        if (!gate_tag_counts(site, job->required[i], job->job, person)) {
            return false;
        }
    }
    return job->required_count > 0;
}

bool gate_tags_hang(const struct gate_site *site, const char *job, const char *person) {
    for (size_t p = 0; p < site->model->point_count; p++) {
        const struct gate_point *point = &site->points[p];
        for (size_t i = 0; i < point->tag_count; i++) {
            if (strcmp(point->tags[i].job, job) == 0 &&
                (person == NULL || strcmp(point->tags[i].person, person) == 0)) {
                return true;
            }
        }
    }
    return false;
}

// --- Alarms ---

struct gate_alarm *gate_alarm_find(const struct gate_site *site, const char *alarm) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (strcmp(site->alarms[i].alarm, alarm) == 0) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

// Rule (3, alarms): An alarm that has returned is still to be acknowledged.
// [alarm-returned-is-seen]
bool gate_alarm_unacknowledged(const struct gate_site *site, const char *job) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        if (strcmp(alarm->job, job) == 0 && alarm->state != MODEL_ALARM_ACKNOWLEDGED) {
            return true;
        }
    }
    return false;
}

bool gate_is_linked(const struct gate *gate, const struct gate_site *site) {
    return gate->link_up && site->unheard == 0;
}
