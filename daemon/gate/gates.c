// The gates: every requirement of start, finish, test and return, one named function each, met or
// not.
#include "gate/internal.h"

#include <stdlib.h>

// --- The daemon's own condition ---

void gate_require_link(const struct gate *gate, struct gate_list *list) {
    gate_list_require(list, gate->link_up, MODEL_CODE_LINK_DOWN, "", "the broker link up",
                      gate->link_up ? "up" : "down",
                      "The link to the site's hardware is down: wait until it is back.");
}

void gate_require_journal(const struct gate *gate, struct gate_list *list) {
    bool up = gate->journal_up && !gate->broken_memory;
    gate_list_require(list, up, MODEL_CODE_JOURNAL_DOWN, "", "a journal that writes",
                      up ? "writes" : "does not write",
                      "The journal cannot be written: nothing can be permitted now.");
}

void gate_require_uncontested(const struct gate_site *site, struct gate_list *list) {
    gate_list_require(list, !site->contested, MODEL_CODE_SITE_CONTESTED, site->model->site,
                      "one daemon for the site", site->contested ? "another is online" : "one",
                      "Another daemon says that it serves this site: have that cleared first.");
}

// --- Points ---

static void require_point(const struct gate *gate, const struct gate_site *site,
                          const struct gate_job *job, uint32_t point, struct gate_time now,
                          struct gate_list *list) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_for_job(gate, site, job, point, now, &next);
    const struct model_point *model = &site->model->points[point];
    bool met = gate_view_isolated(&view);
    struct gate_refusal *refusal = gate_list_add(
        list, met, met ? MODEL_CODE_POINT_UNKNOWN : gate_view_code(&view), model->point);
    if (refusal == NULL) {
        return;
    }
    refusal->age_ms = view.heard != 0 ? now.wall - view.heard : -1;
    gate_text(refusal->need, sizeof refusal->need, "isolated, settled and trusted");
    gate_view_found(&view, refusal->found, sizeof refusal->found);
    if (view.state == MODEL_POINT_LIVE) {
        gate_text(refusal->say, sizeof refusal->say, "%s reads LIVE: isolate it.", model->title);
    } else if (view.words_needed > 0) {
        gate_text(refusal->say, sizeof refusal->say,
                  "%s: look, and say that it is isolated (%u of %u have).", model->title,
                  view.words, view.words_needed);
    } else if (refusal->code == MODEL_CODE_POINT_SETTLING) {
        gate_text(refusal->say, sizeof refusal->say, "%s was isolated a moment ago: wait.",
                  model->title);
    } else {
        gate_text(refusal->say, sizeof refusal->say,
                  "%s is not proved isolated (%s): treat it as live.", model->title,
                  refusal->found);
    }
}

void gate_require_points(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    const char *energy = gate_unmapped(site->model, job->needs, job->position);
    if (energy != NULL || job->required_count == 0) {
        gate_list_require(list, false, MODEL_CODE_ENERGY_UNMAPPED, energy != NULL ? energy : "",
                          "a point that isolates this energy", "none",
                          "Nothing here is known to isolate an energy of this job.");
    }
    for (size_t i = 0; i < job->required_count; i++) {
        require_point(gate, site, job, job->required[i], now, list);
    }
}

void gate_require_restored(const struct gate *gate, const struct gate_site *site,
                           const struct gate_job *job, struct gate_time now,
                           struct gate_list *list) {
    for (size_t i = 0; i < job->required_count; i++) {
        uint32_t point = job->required[i];
        int64_t next = INT64_MAX;
        struct gate_view view = gate_point_derive(gate, site, point, now, &next);
        bool met = gate_point_proved_live(gate, site, point, now);
        struct gate_refusal *refusal = gate_list_add(list, met, MODEL_CODE_POINT_NOT_RESTORED,
                                                     site->model->points[point].point);
        if (refusal != NULL) {
            refusal->age_ms = view.heard != 0 ? now.wall - view.heard : -1;
            gate_text(refusal->need, sizeof refusal->need, "live and trusted");
            gate_view_found(&view, refusal->found, sizeof refusal->found);
            gate_text(refusal->say, sizeof refusal->say, "%s is not proved live again: restore it.",
                      site->model->points[point].title);
        }
    }
}

// --- Tags ---

void gate_require_tag(const struct gate_site *site, const struct gate_job *job, uint32_t point,
                      const char *person, struct gate_list *list) {
    const struct model_point *model = &site->model->points[point];
    const struct gate_tag *tag = gate_tag_find(site, point, job->job, person);
    bool met = tag != NULL && tag->counts;
    struct gate_refusal *refusal = gate_list_add(list, met, MODEL_CODE_TAG_MISSING, model->point);
    if (refusal != NULL) {
        gate_text(refusal->need, sizeof refusal->need, "a lock and tag of %s that counts", person);
        gate_text(refusal->found, sizeof refusal->found, "%s",
                  met           ? "hangs"
                  : tag == NULL ? "none"
                                : "hangs, but the point was not isolated all the while");
        gate_text(refusal->say, sizeof refusal->say, "%s must hang lock and tag on %s%s.", person,
                  model->title, tag != NULL && !met ? " again" : "");
    }
}

static void require_tags(const struct gate_site *site, const struct gate_job *job,
                         struct gate_list *list) {
    for (size_t m = 0; m < job->crew_count; m++) {
        for (size_t i = 0; i < job->required_count; i++) {
            gate_require_tag(site, job, job->required[i], job->crew[m].person, list);
        }
    }
}

static void require_no_tag(const struct gate_site *site, uint32_t point, const struct gate_tag *tag,
                           struct gate_list *list) {
    const struct model_point *model = &site->model->points[point];
    const char *who = tag->person[0] != '\0' ? tag->person : tag->badge;
    struct gate_refusal *refusal = gate_list_add(list, false, MODEL_CODE_TAG_HUNG, model->point);
    if (refusal != NULL) {
        gate_text(refusal->need, sizeof refusal->need, "no lock or tag");
        gate_text(refusal->found, sizeof refusal->found, "%s%s", who,
                  tag->person[0] != '\0' ? "" : " (unknown badge)");
        gate_text(refusal->say, sizeof refusal->say, "The lock of %s still hangs on %s.", who,
                  model->title);
    }
}

void gate_require_no_tags_of_job(const struct gate_site *site, const struct gate_job *job,
                                 const char *person, struct gate_list *list) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; i < site->points[p].tag_count; i++) {
            const struct gate_tag *tag = &site->points[p].tags[i];
            if (strcmp(tag->job, job->job) == 0 &&
                (person == NULL || strcmp(tag->person, person) == 0)) {
                require_no_tag(site, p, tag, list);
            }
        }
    }
}

// No lock of anyone on a point that is required or isolates a position of the dispenser.
static void require_cabinet_unlocked(const struct gate_site *site, const struct gate_job *job,
                                     struct gate_list *list) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        const struct model_point *model = &site->model->points[p];
        bool here = gate_requires(job, p);
        for (size_t i = 0; i < model->isolates_count && !here; i++) {
            here = gate_same_dispenser(site, model->isolates[i], job->position);
        }
        for (size_t i = 0; here && i < site->points[p].tag_count; i++) {
            require_no_tag(site, p, &site->points[p].tags[i], list);
        }
    }
}

// --- Checks ---

static void require_check(const struct gate_job *job, const struct model_check *check,
                          struct gate_time now, struct gate_list *list) {
    const struct gate_signature *signature = gate_signature_of(job, check->check);
    enum model_code code = signature == NULL                          ? MODEL_CODE_CHECK_MISSING
                           : gate_signature_void(job, signature, now) ? MODEL_CODE_CHECK_VOID
                           : !signature->pass                         ? MODEL_CODE_CHECK_FAILED
                                                                      : MODEL_CODE_COUNT;
    bool met = code == MODEL_CODE_COUNT;
    struct gate_refusal *refusal =
        gate_list_add(list, met, met ? MODEL_CODE_CHECK_MISSING : code, check->check);
    if (refusal == NULL) {
        return;
    }
    const char *by = signature == NULL || signature->by[0] == '\0' ? "a measure" : signature->by;
    refusal->age_ms = signature != NULL ? now.line - signature->at.line : -1;
    gate_text(refusal->need, sizeof refusal->need, "%s", check->ask);
    if (signature == NULL) {
        gate_text(refusal->found, sizeof refusal->found, "not signed");
    } else if (signature->has_value) {
        gate_text(refusal->found, sizeof refusal->found, "%.15g %s by %s%s", signature->value,
                  signature->unit, by, code == MODEL_CODE_CHECK_VOID ? ", no longer standing" : "");
    } else {
        gate_text(refusal->found, sizeof refusal->found, "signed by %s%s", by,
                  code == MODEL_CODE_CHECK_VOID ? ", no longer standing" : "");
    }
    gate_text(refusal->say, sizeof refusal->say, "%s: %s.", check->ask,
              code == MODEL_CODE_CHECK_VOID     ? "check and sign it again"
              : code == MODEL_CODE_CHECK_FAILED ? "the reading is outside its limits"
                                                : "not signed yet");
}

void gate_require_group(const struct gate_job *job, enum model_group group, struct gate_time now,
                        struct gate_list *list) {
    bool any = false;
    for (size_t i = 0; i < job->needs->check_count; i++) {
        if (job->needs->checks[i].group == group) {
            require_check(job, &job->needs->checks[i], now, list);
            any = true;
        }
    }
    if (!any && gate_group_needed(group)) {
        gate_list_require(list, false, MODEL_CODE_CHECK_MISSING, model_group_name(group),
                          "a check of this kind", "none known",
                          "Nothing is known to check here: nothing is proved.");
    }
}

// --- People and parts ---

static void choice_text(const struct model_credential_choice *choice, char *buffer, size_t size) {
    buffer[0] = '\0';
    for (size_t i = 0; i < choice->count; i++) {
        size_t length = strlen(buffer);
        gate_text(buffer + length, size - length, "%s%s", i > 0 ? ", " : "", choice->any[i]);
    }
}

static enum model_code choice_code(const struct gate_site *site,
                                   const struct model_credential_choice *choice,
                                   const struct model_person *person, struct gate_time now) {
    enum model_code code = MODEL_CODE_CREDENTIAL_MISSING;
    for (size_t i = 0; person != NULL && i < choice->count; i++) {
        for (size_t c = 0; c < person->credential_count; c++) {
            const struct model_credential *credential = &person->credentials[c];
            if (strcmp(credential->credential, choice->any[i]) != 0) {
                continue;
            }
            if (model_until_valid(&credential->until, site->model, now.wall)) {
                return MODEL_CODE_COUNT;
            }
            code = MODEL_CODE_CREDENTIAL_EXPIRED;
        }
    }
    return code;
}

void gate_require_credentials(const struct gate_site *site, const struct model_requirements *needs,
                              const struct model_person *person, const char *id,
                              struct gate_time now, struct gate_list *list) {
    for (size_t i = 0; i < needs->credential_count; i++) {
        enum model_code code = choice_code(site, &needs->credentials[i], person, now);
        bool met = code == MODEL_CODE_COUNT;
        struct gate_refusal *refusal =
            gate_list_add(list, met, met ? MODEL_CODE_CREDENTIAL_MISSING : code, id);
        if (refusal == NULL) {
            continue;
        }
        char any[120];
        choice_text(&needs->credentials[i], any, sizeof any);
        gate_text(refusal->need, sizeof refusal->need, "one of: %s", any);
        gate_text(refusal->found, sizeof refusal->found, "%s",
                  met                                     ? "held"
                  : code == MODEL_CODE_CREDENTIAL_EXPIRED ? "expired"
                                                          : "none");
        gate_text(refusal->say, sizeof refusal->say, "%s %s (%s).", id,
                  code == MODEL_CODE_CREDENTIAL_EXPIRED ? "has let a credential expire"
                                                        : "lacks a credential for this job",
                  any);
    }
}

static void require_crew_credentials(const struct gate *gate, const struct gate_site *site,
                                     const struct gate_job *job, struct gate_time now,
                                     struct gate_list *list) {
    for (size_t i = 0; i < job->crew_count; i++) {
        const char *id = job->crew[i].person;
        gate_require_credentials(site, job->needs, model_person_find(gate->model, id), id, now,
                                 list);
    }
}

void gate_require_match(const struct gate_site *site, const struct model_requirements *needs,
                        uint32_t position, const char *kit_family, bool ask,
                        struct gate_list *list) {
    bool named = kit_family != NULL && kit_family[0] != '\0';
    if (!needs->match || (!named && !ask)) {
        return;
    }
    const char *family = site->model->positions[position].nozzle_family;
    bool met = named && family != NULL && strcmp(family, kit_family) == 0;
    struct gate_refusal *refusal = gate_list_add(list, met, MODEL_CODE_PART_MISMATCH,
                                                 site->model->positions[position].position);
    if (refusal != NULL) {
        gate_text(refusal->need, sizeof refusal->need, "kit family %s",
                  family != NULL ? family : "(the position's nozzle family is not configured)");
        gate_text(refusal->found, sizeof refusal->found, "%s", named ? kit_family : "no kit named");
        gate_text(refusal->say, sizeof refusal->say,
                  "The kit (%s) must match the nozzle (%s): do not fit it.",
                  named ? kit_family : "none named", family != NULL ? family : "unknown");
    }
}

static void require_leader(const struct gate_job *job, struct gate_list *list) {
    bool met = job->leader[0] != '\0';
    gate_list_require(list, met, MODEL_CODE_NOT_ASSIGNED, job->job, "a technician in charge",
                      met ? job->leader : "none", "The job is not assigned to a technician yet.");
}

static void require_alarms_seen(const struct gate_site *site, const struct gate_job *job,
                                struct gate_list *list) {
    bool met = !gate_alarm_unacknowledged(site, job->job);
    gate_list_require(list, met, MODEL_CODE_ALARM_OPEN, job->job, "every alarm acknowledged",
                      met ? "none open" : "an alarm is not acknowledged",
                      "An alarm of this job has not been acknowledged.");
}

// --- Jobs that share ---

// No job that shares is in one of the phases.
static void require_no_sharing(const struct gate_site *site, const struct gate_job *job,
                               unsigned phases, enum model_code code, const char *need,
                               struct gate_list *list) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *other = site->jobs[i];
        bool there = (phases >> other->phase & 1u) != 0;
        if (other == job || !there || !gate_shares(site, job, other)) {
            continue;
        }
        struct gate_refusal *refusal = gate_list_add(list, false, code, other->job);
        if (refusal != NULL) {
            gate_text(refusal->need, sizeof refusal->need, "%s", need);
            gate_text(refusal->found, sizeof refusal->found, "job %s is %s", other->job,
                      model_phase_name(other->phase));
            gate_text(refusal->say, sizeof refusal->say,
                      "Job %s on %s, which shares this cabinet or its points, is %s.", other->job,
                      site->model->positions[other->position].position,
                      model_phase_name(other->phase));
        }
    }
}

// --- The gates ---

void gate_require_start(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    require_crew_credentials(gate, site, job, now, list);
    gate_require_match(site, job->needs, job->position, job->kit_family, true, list);
    gate_require_group(job, MODEL_GROUP_PREPARE, now, list);
    gate_require_points(gate, site, job, now, list);
    require_tags(site, job, list);
    gate_require_group(job, MODEL_GROUP_RELIEVE, now, list);
    gate_require_group(job, MODEL_GROUP_VERIFY, now, list);
    require_no_sharing(site, job, 1u << MODEL_PHASE_TESTING, MODEL_CODE_SHARED_TESTING,
                       "no job that shares under test", list);
    require_alarms_seen(site, job, list);
    gate_require_link(gate, list);
    gate_require_journal(gate, list);
    gate_require_uncontested(site, list);
}

void gate_require_finish(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    if (job->lockout != MODEL_LOCKOUT_CONFIRMED) { // unproven after a restart
        gate_require_points(gate, site, job, now, list);
    }
    gate_require_group(job, MODEL_GROUP_WORK, now, list);
    gate_require_group(job, MODEL_GROUP_CLEAR, now, list);
    gate_require_journal(gate, list);
    gate_require_uncontested(site, list);
}

void gate_require_test(const struct gate *gate, const struct gate_site *site,
                       const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    (void)now;
    require_cabinet_unlocked(site, job, list);
    require_no_sharing(site, job, 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED,
                       MODEL_CODE_SHARED_LOCKED, "no job that shares working or stopped", list);
    gate_require_link(gate, list);
    gate_require_journal(gate, list);
    gate_require_uncontested(site, list);
}

static void require_test_passed(const struct gate_job *job, const struct model_test *test,
                                struct gate_time now, struct gate_list *list) {
    const struct gate_test_record *record = gate_test_of(job, test->test);
    bool stands = record != NULL && !record->void_;
    bool met = stands && record->pass;
    bool failed = stands && !met && !record->waits;
    struct gate_refusal *refusal = gate_list_add(
        list, met, failed ? MODEL_CODE_TEST_FAILED : MODEL_CODE_TEST_MISSING, test->test);
    if (refusal != NULL) {
        refusal->age_ms = record != NULL ? now.line - record->at.line : -1;
        gate_text(refusal->need, sizeof refusal->need, "test %s (%s) passed", test->test,
                  test->rule);
        char waits[64];
        gate_text(waits, sizeof waits, "borderline, run %u of %u", record != NULL ? record->run : 0,
                  record != NULL ? record->runs : 0);
        gate_text(refusal->found, sizeof refusal->found, "%s",
                  met              ? "passed"
                  : record == NULL ? "not recorded"
                  : !stands        ? "recorded, no longer standing"
                  : record->waits  ? waits
                                   : "failed");
        gate_text(refusal->say, sizeof refusal->say, "Test %s: %s.", test->test, refusal->found);
    }
}

static void require_tests(const struct gate_site *site, const struct gate_job *job,
                          struct gate_time now, struct gate_list *list) {
    struct model_requirements *tests = gate_tests_of(site, job);
    if (tests == NULL || tests->test_count == 0) {
        list->failed = list->failed || tests == NULL;
        gate_list_require(list, false, MODEL_CODE_TEST_MISSING, "", "the job's tests", "none known",
                          "The tests of this job are not known.");
    }
    for (size_t i = 0; tests != NULL && i < tests->test_count; i++) {
        require_test_passed(job, &tests->tests[i], now, list);
    }
    free(tests);
}

void gate_require_return(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    require_tests(site, job, now, list);
    gate_require_group(job, MODEL_GROUP_FINISH, now, list);
    gate_require_no_tags_of_job(site, job, NULL, list);
    gate_require_restored(gate, site, job, now, list);
    require_alarms_seen(site, job, list);
    gate_require_link(gate, list);
    gate_require_journal(gate, list);
    gate_require_uncontested(site, list);
}

void gate_next(const struct gate *gate, uint32_t site_index, const struct gate_job *job,
               struct gate_time now, struct gate_list *list) {
    const struct gate_site *site = &gate->sites[site_index];
    switch (job->phase) {
    case MODEL_PHASE_OPEN:
    case MODEL_PHASE_STOPPED:
        require_leader(job, list); // who asks is judged by the verb itself
        gate_require_start(gate, site, job, now, list);
        break;
    case MODEL_PHASE_WORKING:
        gate_require_finish(gate, site, job, now, list);
        break;
    case MODEL_PHASE_RESTORING:
        gate_require_test(gate, site, job, now, list);
        break;
    case MODEL_PHASE_TESTING:
        gate_require_return(gate, site, job, now, list);
        break;
    default:
        break;
    }
}
