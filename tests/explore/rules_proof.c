// The facts of proof: signatures, locks and words, each held against the step that it came from.
#include "rules_facts.h"

#include <string.h>

// --- Signatures ---

static bool in_window(const struct rules *r, const struct rules_job *job, enum model_group group,
                      unsigned signer, bool pass) {
    bool cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    switch (group) {
    case MODEL_GROUP_RELIEVE:
    case MODEL_GROUP_VERIFY:
        return job->held && (!job->unproven || !pass) && rules_protected(r, job, signer);
    case MODEL_GROUP_WORK:
        return job->phase == MODEL_PHASE_WORKING && job->held && !job->unproven &&
               rules_protected(r, job, signer);
    case MODEL_GROUP_CLEAR:
    case MODEL_GROUP_LEAVE:
        return cabinet;
    case MODEL_GROUP_FINISH:
        return job->phase == MODEL_PHASE_TESTING;
    default:
        return true;
    }
}

// --- Signatures by the hardware ---

// When it was last relieved: nothing measured before that verifies.
static int64_t relieved_at(const struct rules *r, const struct rules_job *job) {
    int64_t newest = 0;
    for (size_t i = 0; i < rules_needs_of(r, job)->check_count; i++) {
        bool relieve = rules_needs_of(r, job)->checks[i].group == MODEL_GROUP_RELIEVE;
        if (relieve && job->signed_[i].stands && job->signed_[i].at > newest) {
            newest = job->signed_[i].at;
        }
    }
    return newest;
}

// Passed: every measure of the position was read since the hold began and since it was relieved, is
// of now, within the limits and vouched for; and nobody read otherwise by hand.
static void passed_by_measure(struct rules *r, const struct rules_job *job, size_t check,
                              const struct gate_fact *fact) {
    unsigned slot = rules_slot_of(r, job), count = 0;
    rules_require(r, job->held && !job->unproven, fact, "a measure answered out of its window");
    rules_require(r, r->journal, fact, "signed while the journal cannot write");
    rules_require(r, !job->failed_by_hand[check], fact, "a measure overruled a person");
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        const struct rules_measure *word = &r->measures[m];
        if (!rules_measures(r, m, slot)) {
            continue;
        }
        count++;
        bool online = m != 0 || r->controller == GATE_CONTROLLER_ONLINE;
        rules_require(r, rules_measured_now(r, m) && !word->outside && online, fact,
                      "a measure that does not say so");
        rules_require(r, word->heard >= job->held_since && word->heard >= relieved_at(r, job), fact,
                      "a measure read before its window");
    }
    rules_require(r, count > 0, fact, "nothing measures here");
}

static void signed_by_measure(struct rules *r, struct rules_job *job,
                              const struct gate_fact *fact) {
    size_t check = 0, count = rules_needs_of(r, job)->check_count;
    while (check < count && strcmp(rules_needs_of(r, job)->checks[check].check, fact->check) != 0) {
        check++;
    }
    bool answers = check < count && rules_needs_of(r, job)->checks[check].measure != NULL;
    rules_require(r, answers && r->step->kind != STEP_RESTART, fact, "not a measure's to sign");
    if (!answers) {
        return;
    }
    struct rules_mark *mark = &job->signed_[check];
    bool outside = false;
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        outside |= rules_measures(r, m, rules_slot_of(r, job)) && rules_measured_now(r, m) &&
                   r->measures[m].outside;
    }
    if (fact->pass) {
        passed_by_measure(r, job, check, fact);
        rules_require(r, !(mark->stands && mark->pass), fact, "signed again without need");
    } else {
        rules_require(r, outside && mark->stands && mark->pass, fact, "failed without need");
        job->broken_now |= job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    }
    *mark = (struct rules_mark){true, fact->pass, r->now.mono, ++r->order};
}

void rules_signed_check(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    if (fact->person == NULL) {
        signed_by_measure(r, job, fact);
        return;
    }
    unsigned signer = rules_person(r, fact->person);
    size_t i = r->step->item % rules_needs_of(r, job)->check_count;
    const struct model_check *check = &rules_needs_of(r, job)->checks[i];
    bool pass = check->unit == NULL || r->step->ok != 0;
    bool may =
        check->by != 0 ? rules_has_role(r, signer, check->by) : (job->crew >> signer & 1u) != 0;
    rules_require(r, r->step->kind == STEP_ASK && r->step->verb == GATE_VERB_SIGN_CHECK && may,
                  fact, "may not sign");
    rules_require(r, r->journal || !pass, fact, "signed while the journal cannot write");
    rules_require(r, fact->pass == pass, fact, "outside limits, and passed");
    rules_require(r, in_window(r, job, check->group, check->by != 0 ? job->leader : signer, pass),
                  fact, "out of its window");
    if (check->group == MODEL_GROUP_WORK) {
        rules_void_leaving(r, job);
    } else if (check->group == MODEL_GROUP_RELIEVE && job->phase != MODEL_PHASE_WORKING) {
        rules_void(r, job, MODEL_GROUP_VERIFY);
    }
    job->signed_[i] = (struct rules_mark){true, pass, r->now.mono, ++r->order};
    job->failed_by_hand[i] = !pass;
    if (check->group == MODEL_GROUP_VERIFY && pass) {
        job->verified[i][signer] = r->order;
    }
    bool energy = check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY;
    job->broken_now |=
        energy && !pass && (job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED);
}

// --- Locks and words ---

static struct rules_tag *tag_of(struct rules *r, const struct gate_fact *fact,
                                const struct rules_job *job) {
    unsigned who = rules_person(r, fact->person);
    return &r->points[rules_point_of(r, fact)]
                .tags[who != RULES_NOBODY ? who : RULES_ANYBODY][rules_slot_of(r, job)];
}

void rules_tag_hung(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    unsigned point = rules_point_of(r, fact), who = rules_person(r, fact->person);
    struct rules_tag *tag = tag_of(r, fact, job);
    rules_require(
        r, job == NULL || ((job->crew >> who & 1u) != 0 && (job->required >> point & 1u) != 0),
        fact, "not of the crew, or not a required point");
    if (fact->adopted) {
        struct rules_tag *loose = &r->points[point].tags[who][RULES_NO_SLOT];
        rules_require(r, loose->hangs && (loose->counts || !fact->counts), fact,
                      "no such lock hung");
        *tag = *loose;
        *loose = (struct rules_tag){0};
    } else {
        bool isolated = rules_reads(r, point, rules_slot_of(r, job)) == MODEL_POINT_ISOLATED;
        rules_require(r, !fact->counts || isolated, fact,
                      "counts, on a point that is not isolated");
        rules_require(r, fact->reader || fact->counts, fact, "hung by request without counting");
        *tag = (struct rules_tag){true, fact->counts, r->now.mono};
    }
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (r->jobs[s].stands && (r->jobs[s].required >> point & 1u) != 0) {
            rules_void_tests(r, &r->jobs[s]);
        }
    }
}

// A tag ends only by its owner, the owner's reader event, or an attested removal.
void rules_tag_lifted(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    const struct step *step = r->step;
    struct rules_tag *tag = tag_of(r, fact, job);
    unsigned who = rules_person(r, fact->person);
    bool asks = step->kind == STEP_ASK;
    bool own = asks && step->verb == GATE_VERB_LIFT_TAG && step->who == who && job != NULL &&
               step->job == job->number;
    bool reader = step->kind == STEP_READER && !step->ok &&
                  (step->who == who || (step->who == STEP_STRANGER && who == RULES_NOBODY));
    bool attested = asks && step->verb == GATE_VERB_LIFT_ABSENT_TAG && step->ok != 0 &&
                    step->who != who && rules_has_role(r, step->who, MODEL_ROLE_SUPERVISOR) &&
                    (step->to == who || (step->to == STEP_STRANGER && who == RULES_NOBODY));
    rules_require(r, own || reader || attested, fact, "lifted by somebody else");
    rules_require(r, tag->hangs, fact, "no such tag hung");
    *tag = (struct rules_tag){0};
    // The way to leave a job half done is to sign clear and leave first, then to lift.
    bool leaving = job != NULL && job->phase == MODEL_PHASE_STOPPED &&
                   rules_group_stands(r, job, MODEL_GROUP_CLEAR) &&
                   rules_group_stands(r, job, MODEL_GROUP_LEAVE);
    if (job != NULL && job->leader == who && !leaving) {
        job->broken_now |= job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    }
    rules_settle(r);
}

void rules_witnessed(struct rules *r, const struct gate_fact *fact) {
    unsigned index = rules_point_of(r, fact), who = rules_person(r, fact->person);
    struct rules_point *point = &r->points[index];
    bool overseer = rules_has_role(r, who, OVERSEERS);
    unsigned slots = 0;
    bool proves = overseer;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        const struct rules_job *job = &r->jobs[s];
        if (job->stands && (job->crew >> who & 1u) != 0) {
            slots |= 1u << s;
            proves = proves || (job->required >> index & 1u) != 0 ||
                     (r->forecourt->plan->point[index].isolates >> s & 1u) != 0;
        }
    }
    rules_require(r, r->step->verb == GATE_VERB_WITNESS_POINT && r->step->who == who, fact,
                  "nobody said it");
    rules_require(r, r->forecourt->points[index].sensor_count == 0, fact, "the point has sensors");
    if (r->step->ok) {
        memset(point->statements, 0, sizeof point->statements);
        point->live_said = true;
        point->live_proves = proves;
        point->live_at = r->now.mono;
        rules_live(r, index, 0);
    } else {
        rules_require(r, overseer || slots != 0, fact, "neither crew nor overseer");
        rules_require(r, r->journal, fact, "the journal cannot write");
        point->live_said = point->live_proves = false;
        point->statements[who] = (struct rules_word){true, overseer, r->now.mono, slots};
    }
    rules_settle(r);
}

void rules_back_in_service(struct rules *r, const struct gate_fact *fact) {
    unsigned own = model_position_find(&r->forecourt->site, fact->position);
    rules_require(r, r->link && r->journal && !r->contested, fact, "link, journal or site");
    rules_require(r, !r->jobs[own].stands && r->positions[own].untested == 0, fact,
                  "a job, or tests that are left");
    rules_require(r, !rules_failed(r, own), fact, "a test that failed on its dispenser");
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((r->forecourt->plan->point[p].isolates >> own & 1u) == 0) {
            continue;
        }
        bool live = rules_proved_live(r, p);
        rules_require(r, live || r->forecourt->points[p].sensor_count == 0, fact,
                      "a point not proved live");
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
                rules_require(r, !r->points[p].tags[who][s].hangs, fact, "a lock hangs");
            }
        }
    }
}
