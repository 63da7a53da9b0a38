// The verbs of points: words, locks and tags; and of alarms.
#include "gate/internal.h"

// The point named by the request, or MODEL_NONE with its refusal. of_job: it must be a required
// one.
static uint32_t find_point(struct gate_case *c, bool of_job) {
    uint32_t point = model_point_find(c->site->model, c->request->point);
    bool known = point != MODEL_NONE && (!of_job || gate_requires(c->job, point));
    gate_list_require(&c->list, known, MODEL_CODE_UNKNOWN_POINT, c->request->point,
                      of_job ? "a point that the job requires" : "a point of this site",
                      point != MODEL_NONE ? "not required by the job" : "none",
                      of_job ? "The job does not require that point."
                             : "There is no such point here.");
    return known ? point : MODEL_NONE;
}

// --- witness-point ---

// A word of isolated is for a job, by its crew, a manager or a supervisor; of live, by anybody.
static void require_witness(struct gate_case *c) {
    bool overseer = model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR);
    if (c->request->state != MODEL_POINT_ISOLATED) {
        return;
    }
    gate_require_journal(c->gate, &c->list);
    if (c->job == NULL) {
        gate_list_require(&c->list, false, MODEL_CODE_UNKNOWN_JOB, "", "the job it is said for",
                          "none", "Say for which job the point is isolated.");
        return;
    }
    gate_case_phase(c, GATE_PHASES_STANDING);
    if (!overseer) {
        gate_case_crew(c);
    }
}

static void emit_word(struct gate_case *c, uint32_t point) {
    const char *person = c->person->person;
    struct gate_fact fact =
        gate_fact_of_point(c->gate, c->site, point, GATE_FACT_POINT_WITNESSED, c->now);
    const char *jobs[64];
    for (size_t i = 0; i < c->site->job_count && fact.job_count < 64; i++) {
        const struct gate_job *job = c->site->jobs[i];
        if (gate_job_stands(job) && gate_member_of(job, person) != NULL) {
            jobs[fact.job_count++] = job->job;
        }
    }
    fact.jobs = jobs;
    fact.job = c->job != NULL ? c->job->job : NULL;
    fact.person = person;
    fact.has_state = true;
    fact.state = c->request->state;
    fact.has_overseer = true;
    fact.overseer = model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR);
    gate_emit(c->gate, &fact);
}

void gate_witness_point(struct gate_case *c) {
    uint32_t point = find_point(c, false);
    require_witness(c);
    if (point != MODEL_NONE) {
        bool sensors = c->site->model->points[point].sensor_count > 0;
        gate_list_require(&c->list, !sensors, MODEL_CODE_NOT_ALLOWED, c->request->point,
                          "a point without sensors", "it has sensors",
                          "This point reports for itself: no word can stand for it.");
    }
    if (!gate_case_clear(c)) {
        return;
    }
    emit_word(c, point);
    if (c->request->state == MODEL_POINT_LIVE && c->site->points[point].state == MODEL_POINT_LIVE) {
        // Said live again: what hung since is no safer than before.
        gate_live_word(c->gate, c->site, point, 0, c->now);
    }
}

// --- hang-tag, lift-tag ---

static void require_reads_isolated(struct gate_case *c, uint32_t point) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_for_job(c->gate, c->site, c->job, point, c->now, &next);
    bool met = view.state == MODEL_POINT_ISOLATED;
    const char *id = c->site->model->points[point].point;
    struct gate_refusal *refusal =
        gate_list_add(&c->list, met, met ? MODEL_CODE_POINT_UNKNOWN : gate_view_code(&view), id);
    if (refusal != NULL) {
        refusal->age_ms = view.heard != 0 ? c->now.wall - view.heard : -1;
        gate_text(refusal->need, sizeof refusal->need, "isolated now");
        gate_view_found(&view, refusal->found, sizeof refusal->found);
        gate_text(refusal->say, sizeof refusal->say,
                  "%s does not read isolated (%s): isolate it before you lock it.",
                  c->site->model->points[point].title, refusal->found);
    }
}

void gate_hang_tag(struct gate_case *c) {
    gate_case_phase(c, GATE_PHASES_STANDING);
    gate_case_crew(c);
    uint32_t point = find_point(c, true);
    if (point != MODEL_NONE) {
        require_reads_isolated(c, point);
    }
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = gate_fact_of_point(c->gate, c->site, point, GATE_FACT_TAG_HUNG, c->now);
    fact.job = c->job->job;
    fact.person = c->person->person;
    fact.has_counts = fact.counts = true;
    gate_emit(c->gate, &fact);
}

static bool another_hangs(const struct gate_case *c, uint32_t point) {
    for (size_t i = 0; i < c->site->points[point].tag_count; i++) {
        if (strcmp(c->site->points[point].tags[i].job, c->job->job) == 0) {
            return true;
        }
    }
    return false;
}

void gate_lift_tag(struct gate_case *c) {
    const char *person = c->person->person;
    uint32_t point = find_point(c, false);
    if (point != MODEL_NONE && gate_tag_find(c->site, point, c->job->job, person) == NULL) {
        bool others = another_hangs(c, point);
        gate_list_require(
            &c->list, false, others ? MODEL_CODE_TAG_NOT_YOURS : MODEL_CODE_TAG_MISSING,
            c->request->point, "your own lock and tag", others ? "those of others" : "none",
            others ? "Only who hung a lock may take it off."
                   : "You have no lock of this job there.");
    }
    if (gate_case_clear(c)) {
        struct gate_fact how = {.by = person};
        gate_tag_lift(c->gate, c->site, point, c->job->job, person, &how, c->now);
    }
}

// --- lift-absent-tag (29 CFR 1910.147(e)(3)) ---

static void require_attested(struct gate_case *c, bool attested, const char *what,
                             const char *say) {
    gate_list_require(&c->list, attested, MODEL_CODE_ATTESTATION_MISSING, what, "attested true",
                      "not attested", say);
}

static void leave_with_last_tag(struct gate_case *c, struct gate_job *job, const char *who) {
    if (job == NULL || gate_leads(job, who) || gate_member_of(job, who) == NULL ||
        gate_tags_hang(c->site, job->job, who)) {
        return;
    }
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, job, GATE_FACT_CREW_LEFT, c->now);
    fact.person = who;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

// Whether a tag is one of those asked for: the person's or badge's, of the job where one is named.
static bool asked_for(const struct gate_case *c, const struct gate_tag *tag) {
    bool owner = c->request->member != NULL
                     ? strcmp(tag->person, c->request->member) == 0
                     : tag->person[0] == '\0' && strcmp(tag->badge, c->request->badge) == 0;
    return owner && (c->job == NULL || strcmp(tag->job, c->job->job) == 0);
}

static const struct gate_tag *next_absent(const struct gate_case *c, uint32_t point) {
    const struct gate_point *state = &c->site->points[point];
    for (size_t i = 0; i < state->tag_count; i++) {
        if (asked_for(c, &state->tags[i])) {
            return &state->tags[i];
        }
    }
    return NULL;
}

void gate_lift_absent_tag(struct gate_case *c) {
    const struct gate_request *request = c->request;
    const char *who = request->member != NULL ? request->member : request->badge;
    uint32_t point = find_point(c, false);
    require_attested(c, request->not_on_site, "not_on_site",
                     "Verify first that the owner is not on site.");
    require_attested(c, request->contact_tried, "contact_tried",
                     "Make every reasonable effort to reach the owner first.");
    require_attested(c, request->will_be_told, "will_be_told",
                     "The owner must be told before resuming work: attest that.");
    gate_list_require(&c->list, !gate_same(request->member, c->person->person),
                      MODEL_CODE_NOT_ALLOWED, who, "the lock of somebody absent", "your own",
                      "Your own lock you lift yourself.");
    const struct gate_tag *tag = point != MODEL_NONE ? next_absent(c, point) : NULL;
    if (point != MODEL_NONE) {
        gate_list_require(&c->list, tag != NULL, MODEL_CODE_TAG_MISSING, request->point,
                          "a lock of theirs", "none", "No such lock hangs there.");
    }
    struct gate_fact how = {.by = c->person->person, .reason = request->reason, .absent = true};
    for (; gate_case_clear(c) && tag != NULL; tag = next_absent(c, point)) {
        char job[MODEL_ID_SIZE];
        gate_id_copy(job, tag->job);
        gate_tag_lift(c->gate, c->site, point, job, who, &how, c->now);
        leave_with_last_tag(c, gate_job_find(c->site, job), who);
    }
}

// --- acknowledge-alarm ---

static bool of_a_crew(const struct gate_site *site, const char *job, const char *person) {
    for (size_t i = 0; i < site->job_count; i++) {
        bool asked = job[0] == '\0' || strcmp(site->jobs[i]->job, job) == 0;
        if (asked && gate_member_of(site->jobs[i], person) != NULL &&
            (job[0] != '\0' || gate_job_stands(site->jobs[i]))) {
            return true;
        }
    }
    return false;
}

static void require_acknowledger(struct gate_case *c, const struct gate_alarm *alarm) {
    if (model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR) ||
        of_a_crew(c->site, alarm->job, c->person->person)) {
        return;
    }
    bool technician = model_person_has(c->person, MODEL_ROLE_TECHNICIAN);
    gate_list_require(&c->list, false, technician ? MODEL_CODE_NOT_IN_CREW : MODEL_CODE_NOT_ALLOWED,
                      alarm->alarm, "one of the crew, a manager or a supervisor", "neither",
                      "Only the crew, a manager or a supervisor may acknowledge this.");
}

void gate_acknowledge_alarm(struct gate_case *c) {
    const struct gate_alarm *stands = gate_alarm_find(c->site, c->request->alarm);
    gate_list_require(&c->list, stands != NULL, MODEL_CODE_UNKNOWN_ALARM, c->request->alarm,
                      "an alarm that stands", "none", "There is no such alarm now.");
    if (stands != NULL) {
        require_acknowledger(c, stands);
    }
    if (!gate_case_clear(c) || stands == NULL || stands->state == MODEL_ALARM_ACKNOWLEDGED) {
        return;
    }
    const struct gate_alarm alarm = *stands;
    struct gate_fact fact = gate_fact_new(c->gate, c->site, GATE_FACT_ALARM_ACKNOWLEDGED, c->now);
    fact.alarm = alarm.alarm;
    fact.job = alarm.job[0] != '\0' ? alarm.job : NULL;
    fact.point = alarm.point[0] != '\0' ? alarm.point : NULL;
    fact.position =
        alarm.position != MODEL_NONE ? c->site->model->positions[alarm.position].position : NULL;
    fact.by = c->person->person;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = alarm.kind;
    fact.alarm_state = alarm.state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED
                           ? MODEL_ALARM_GONE
                           : MODEL_ALARM_ACKNOWLEDGED;
    gate_emit(c->gate, &fact);
}
