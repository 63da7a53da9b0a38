// The gates, as the contract has them in section 5, over the account's own evidence.
#include "rules.h"

#include <string.h>

bool rules_qualified(const struct rules *r, unsigned person) {
    const struct model_person *p = &r->forecourt->people[person];
    return person < FORECOURT_PEOPLE && p->credential_count > 0 &&
           p->credentials == &r->forecourt->held[0];
}

bool rules_shares(const struct rules *r, unsigned a, unsigned b) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    bool shares = plan->dispenser[a] == plan->dispenser[b];
    for (unsigned p = 0; p < plan->points; p++) {
        bool of_a = (r->jobs[a].required >> p & 1u) != 0;
        bool of_b = (r->jobs[b].required >> p & 1u) != 0;
        shares = shares || (of_a && (plan->point[p].isolates >> b & 1u) != 0) ||
                 (of_b && (plan->point[p].isolates >> a & 1u) != 0);
    }
    return shares;
}

bool rules_shared_in(const struct rules *r, const struct rules_job *job, unsigned phases) {
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

bool rules_alarm_unseen(const struct rules_job *job, const struct gate *gate) {
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

bool rules_link(const struct rules *r) {
    return r->up[GATE_DURABLE] && r->up[GATE_LIVE] && !r->unheard;
}

// Over 1 s behind what was written already, or set by over 5 s in the last minute.
bool rules_clock_right(const struct rules *r) {
    return r->newest - r->now.wall <= 1000 &&
           (r->stepped == 0 || r->now.mono - r->stepped >= RULES_STEPPED_MS);
}

const char *rules_daemon_lacks(const struct rules *r) {
    return !rules_link(r)          ? "the link"
           : !r->journal           ? "the journal"
           : !rules_clock_right(r) ? "the clock"
           : r->contested          ? "the site"
                                   : NULL;
}

const char *rules_start_lacks(const struct rules *r, const struct rules_job *job,
                              const struct gate *gate) {
    if (rules_lockout(job) != MODEL_LOCKOUT_CONFIRMED) {
        return "a confirmed lockout";
    }
    if (!rules_qualified(r, job->leader)) {
        return "a credential";
    }
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        if ((job->crew >> i & 1u) != 0 && !rules_protected(r, job, i)) {
            return "a tag of the crew";
        }
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_PREPARE)) {
        return "a check that stands";
    }
    if (!job->kit) {
        return "the kit";
    }
    if (rules_shared_in(r, job, 1u << MODEL_PHASE_TESTING)) {
        return "a shared cabinet not under test";
    }
    return rules_alarm_unseen(job, gate) ? "an alarm acknowledged" : rules_daemon_lacks(r);
}

const char *rules_finish_lacks(const struct rules *r, const struct rules_job *job) {
    if (rules_lockout(job) != MODEL_LOCKOUT_CONFIRMED) {
        return "a proved lockout";
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_WORK) ||
        !rules_group_stands(r, job, MODEL_GROUP_CLEAR)) {
        return "a check that stands";
    }
    return !r->journal ? "the journal" : r->contested ? "the site" : NULL;
}

const char *rules_test_lacks(const struct rules *r, const struct rules_job *job,
                             const struct gate *gate) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    unsigned own = (unsigned)(job - r->jobs), cabinet = 0;
    for (unsigned s = 0; s < plan->positions; s++) {
        cabinet |= plan->dispenser[s] == plan->dispenser[own] ? 1u << s : 0;
    }
    for (unsigned p = 0; p < plan->points; p++) {
        bool here = (job->required >> p & 1u) != 0 || (plan->point[p].isolates & cabinet) != 0;
        for (unsigned who = 0; here && who <= RULES_ANYBODY; who++) {
            if (rules_hangs_here(r, p, who)) {
                return "a cabinet without locks";
            }
        }
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_PREPARE)) {
        return "a check that stands";
    }
    if (rules_alarm_unseen(job, gate)) {
        return "an alarm acknowledged";
    }
    return rules_shared_in(r, job, 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED)
               ? "a shared cabinet without work"
               : rules_daemon_lacks(r);
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

const char *rules_return_lacks(const struct rules *r, const struct rules_job *job,
                               const struct gate *gate) {
    unsigned slot = (unsigned)(job - r->jobs);
    for (size_t t = 0; t < FORECOURT_TESTS; t++) {
        if (test_asked(r, job, t) && !(job->tests[t].stands && job->tests[t].pass)) {
            return "a test that passed";
        }
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_FINISH)) {
        return "a check that stands";
    }
    if (rules_tagged(r, slot)) {
        return "locks lifted";
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0 && !rules_proved_live(r, p, slot)) {
            return "a point restored";
        }
    }
    return rules_alarm_unseen(job, gate) ? "an alarm acknowledged" : rules_daemon_lacks(r);
}

const char *rules_accept_lacks(const struct rules *r, const struct rules_job *job,
                               unsigned person) {
    unsigned slot = (unsigned)(job - r->jobs);
    bool working = job->phase == MODEL_PHASE_WORKING;
    if (job->offered != person || r->now.mono - job->offered_at >= GATE_OFFER_MS) {
        return "an offer";
    }
    if (!rules_qualified(r, person) || (job->crew >> person & 1u) == 0) {
        return "a credential";
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        bool asked = working ||
                     (job->leader < FORECOURT_PEOPLE && r->points[p].tags[job->leader][slot].hangs);
        if ((job->required >> p & 1u) != 0 && asked && !r->points[p].tags[person][slot].counts) {
            return "a tag";
        }
    }
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        if (working && rules_needs(r, job)->checks[i].group == MODEL_GROUP_VERIFY &&
            job->verified[i][person] == 0) {
            return "an own verification";
        }
    }
    return r->contested ? "the site" : !r->journal ? "the journal" : NULL;
}
