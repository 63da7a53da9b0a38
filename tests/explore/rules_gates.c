// The gates, as the contract has them in section 5, over the account's own evidence.
#include "rules.h"

#include <string.h>

static const struct model_requirements *needs_of(const struct rules *r,
                                                 const struct rules_job *job) {
    return &r->forecourt->procedures[job->procedure];
}

static bool qualified(const struct rules *r, unsigned person) {
    const struct model_person *p = &r->forecourt->people[person];
    return p->credential_count > 0 && p->credentials == &r->forecourt->held[0];
}

bool rules_shares(const struct rules *r, unsigned a, unsigned b) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    bool shares = plan->dispenser[a] == plan->dispenser[b];
    for (unsigned p = 0; p < plan->points; p++) {
        bool of_a = (r->jobs[a].required >> p & 1u) != 0, of_b = (r->jobs[b].required >> p & 1u);
        shares = shares || (of_a && (plan->point[p].isolates >> b & 1u) != 0) ||
                 (of_b && (plan->point[p].isolates >> a & 1u) != 0);
    }
    return shares;
}

static bool shared_in(const struct rules *r, const struct rules_job *job, unsigned phases) {
    unsigned own = (unsigned)(job - r->jobs);
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        const struct rules_job *other = &r->jobs[s];
        if (s != own && other->stands && (phases >> other->phase & 1u) != 0 &&
            rules_shares(r, own, s)) {
            return true;
        }
    }
    return false;
}

static bool check_stands(const struct rules *r, const struct rules_job *job, size_t check) {
    const struct model_check *model = &needs_of(r, job)->checks[check];
    const struct rules_mark *mark = &job->signed_[check];
    bool aged = model->group == MODEL_GROUP_PREPARE && r->now.mono - mark->at > model->valid_ms;
    return mark->stands && mark->pass && !aged;
}

bool rules_group_stands(const struct rules *r, const struct rules_job *job,
                        enum model_group group) {
    unsigned count = 0;
    for (size_t i = 0; i < needs_of(r, job)->check_count; i++) {
        if (needs_of(r, job)->checks[i].group == group) {
            count++;
            if (!check_stands(r, job, i)) {
                return false;
            }
        }
    }
    // Where nothing is asked, nothing is proved: these two may not be empty.
    return count > 0 || (group != MODEL_GROUP_VERIFY && group != MODEL_GROUP_CLEAR);
}

static const char *daemon_lacks(const struct rules *r) {
    return !r->link ? "the link" : !r->journal ? "the journal" : r->contested ? "the site" : NULL;
}

static const char *crew_lacks(const struct rules *r, const struct rules_job *job) {
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        if ((job->crew >> i & 1u) == 0) {
            continue;
        }
        if (!qualified(r, i)) {
            return "a credential";
        }
        if (!rules_protected(r, job, i)) {
            return "a tag of the crew";
        }
    }
    return NULL;
}

const char *rules_start_lacks(const struct rules *r, const struct rules_job *job) {
    if (job->leader == RULES_NOBODY || job->required == 0) {
        return "a leader or a point";
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0 && !rules_isolated(r, p, (unsigned)(job - r->jobs))) {
            return "an isolated point";
        }
    }
    const char *crew = crew_lacks(r, job);
    if (crew != NULL) {
        return crew;
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_PREPARE) ||
        !rules_group_stands(r, job, MODEL_GROUP_RELIEVE) ||
        !rules_group_stands(r, job, MODEL_GROUP_VERIFY)) {
        return "a check that stands";
    }
    if (!job->kit) {
        return "the kit";
    }
    return shared_in(r, job, 1u << MODEL_PHASE_TESTING) ? "a shared cabinet not under test"
                                                        : daemon_lacks(r);
}

const char *rules_finish_lacks(const struct rules *r, const struct rules_job *job) {
    if (job->unproven || !job->held) {
        return "a proved lockout";
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_WORK) ||
        !rules_group_stands(r, job, MODEL_GROUP_CLEAR)) {
        return "a check that stands";
    }
    return !r->journal ? "the journal" : r->contested ? "the site" : NULL;
}

const char *rules_test_lacks(const struct rules *r, const struct rules_job *job) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    unsigned own = (unsigned)(job - r->jobs), cabinet = 0;
    for (unsigned s = 0; s < plan->positions; s++) {
        cabinet |= plan->dispenser[s] == plan->dispenser[own] ? 1u << s : 0;
    }
    for (unsigned p = 0; p < plan->points; p++) {
        bool here = (job->required >> p & 1u) != 0 || (plan->point[p].isolates & cabinet) != 0;
        for (unsigned s = 0; here && s <= RULES_NO_SLOT; s++) {
            for (unsigned who = 0; who <= FORECOURT_PEOPLE; who++) {
                if (r->points[p].tags[who][s].hangs) {
                    return "a cabinet without locks";
                }
            }
        }
    }
    return shared_in(r, job, 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED)
               ? "a shared cabinet without work"
               : daemon_lacks(r);
}

static bool test_asked(const struct rules *r, const struct rules_job *job, size_t test) {
    unsigned owed = r->positions[job - r->jobs].owed | 1u << job->procedure;
    for (unsigned p = 0; p < FORECOURT_PROCEDURES; p++) {
        if ((owed >> p & 1u) != 0 && test < r->forecourt->procedures[p].test_count) {
            return true;
        }
    }
    return false;
}

static bool alarm_unseen(const struct gate *gate, const struct rules_job *job) {
    char id[16];
    snprintf(id, sizeof id, "j%u", job->number);
    for (size_t i = 0; i < gate->sites[0].alarm_count; i++) {
        const struct gate_alarm *alarm = &gate->sites[0].alarms[i];
        if (strcmp(alarm->job, id) == 0 && alarm->state != MODEL_ALARM_ACKNOWLEDGED) {
            return true;
        }
    }
    return false;
}

const char *rules_return_lacks(const struct rules *r, const struct rules_job *job,
                               const struct gate *gate) {
    for (size_t t = 0; t < FORECOURT_TESTS; t++) {
        if (test_asked(r, job, t) && !(job->tests[t].stands && job->tests[t].pass)) {
            return "a test that passed";
        }
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_FINISH)) {
        return "a check that stands";
    }
    if (rules_tagged(r, (unsigned)(job - r->jobs))) {
        return "locks lifted";
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0 && !rules_proved_live(r, p)) {
            return "a point restored";
        }
    }
    if (gate != NULL && alarm_unseen(gate, job)) {
        return "an alarm acknowledged";
    }
    return daemon_lacks(r);
}

const char *rules_accept_lacks(const struct rules *r, const struct rules_job *job,
                               unsigned person) {
    unsigned slot = (unsigned)(job - r->jobs);
    if (job->offered != person || r->now.mono - job->offered_at >= GATE_OFFER_MS) {
        return "an offer";
    }
    if (!qualified(r, person) || (job->crew >> person & 1u) == 0) {
        return "a credential";
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        bool asked = job->phase == MODEL_PHASE_WORKING ||
                     (job->leader != RULES_NOBODY && r->points[p].tags[job->leader][slot].hangs);
        if ((job->required >> p & 1u) != 0 && asked && !r->points[p].tags[person][slot].counts) {
            return "a tag";
        }
    }
    for (size_t i = 0; i < needs_of(r, job)->check_count; i++) {
        if (job->phase == MODEL_PHASE_WORKING &&
            needs_of(r, job)->checks[i].group == MODEL_GROUP_VERIFY &&
            job->verified[i][person] == 0) {
            return "an own verification";
        }
    }
    return r->contested ? "the site" : !r->journal ? "the journal" : NULL;
}
