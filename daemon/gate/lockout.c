// The lockout of a job: whether it holds now. Nothing here changes anything.
//
// 29 CFR 1910.147(d) orders shut down, isolate, lock, relieve, verify; (e) and (f) say when that
// ends. The isolation held (points and the leader's tags) is what relieve and verify rest on; the
// lockout is that with those checks signed.
#include "gate/lockout.h"

#include "gate/distrust.h"
#include "gate/find.h"
#include "gate/point.h"
#include "gate/word.h"

// Before a restart the isolation was held; each point must be heard again before it grows too old.
// A first isolated settles without breaking.
// Rule (5, After a restart): After a restart each required point must be heard again within its age
// of the last time. [restart-unheard-forever]
// Rule (5, After a restart): After a restart a bad word breaks at once. [restart-bad-borne]
// Rule (5, After a restart): After a restart an offline controller breaks at once.
// [restart-offline-borne]
// Rule (5, After a restart): After a restart a first isolated settles without breaking.
// [restart-first-isolated-breaks]
bool gate_unheard_holds(const struct gate_site *site, uint32_t point, const struct gate_view *view,
                        struct gate_time now) {
    const struct model_point *model = &site->model->points[point];
    if (view->state == MODEL_POINT_ISOLATED) {
        return true;
    }
    if (view->state == MODEL_POINT_LIVE || gate_speech_of(site, point).spoken) {
        return false;
    }
    for (size_t i = 0; i < model->sensor_count; i++) {
        if (site->sensors[model->sensors[i]].bad &&
            !gate_is_distrusted(site, point, model->sensors[i])) {
            return false;
        }
    }
    if (model->controller != MODEL_NONE &&
        site->controllers[model->controller] == GATE_CONTROLLER_OFFLINE) {
        return false;
    }
    return now.mono - site->hearing[point].heard_before <= model->max_age_ms;
}

static bool point_holds(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, uint32_t point, struct gate_time now,
                        enum model_code *why) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_for_job(gate, site, job, point, now, &next);
    *why = gate_view_code(&view);
    if (gate_view_isolated(&view)) {
        return true;
    }
    if (job->isolation != GATE_ISOLATION_UNPROVEN) {
        return false;
    }
    if (view.state == MODEL_POINT_UNKNOWN && view.trust == MODEL_TRUST_SILENT) {
        *why = MODEL_CODE_POINT_STALE; // not heard again in time
    }
    return gate_unheard_holds(site, point, &view, now);
}

// Rule (5, Breaking; 29 CFR 1910.147(d)(3) [P]): While working, every required point stays
// isolated, settled, fresh and trusted. [hold-without-points]
// Rule (5, Lockout; 29 CFR 1910.147(d)(4) [P], 1910.333(b)(2)(iii) [P]): The hold asks for a
// counting tag of the leader on every required point. [hold-without-tags]
// Rule (2; 29 CFR 1910.147(d)(3) [P]): An energy without a point is never isolated. [hold-unmapped]
struct gate_fault gate_isolation_fault(const struct gate *gate, const struct gate_site *site,
                                       const struct gate_job *job, struct gate_time now) {
    for (size_t i = 0; i < job->required_count; i++) {
        enum model_code why;
        if (!point_holds(gate, site, job, job->required[i], now, &why)) {
            return (struct gate_fault){GATE_FAULT_POINT, why, job->required[i]};
        }
    }
    for (size_t i = 0; i < job->required_count; i++) {
        if (!gate_tag_counts(site, job->required[i], job->job, job->leader)) {
            return (struct gate_fault){GATE_FAULT_TAG, MODEL_CODE_TAG_MISSING, job->required[i]};
        }
    }
    if (job->leader[0] == '\0' || job->required_count == 0 ||
        gate_unmapped(site->model, job->needs, job->position) != NULL) {
        return (struct gate_fault){GATE_FAULT_TAG, MODEL_CODE_ENERGY_UNMAPPED, MODEL_NONE};
    }
    return (struct gate_fault){GATE_FAULT_NONE, MODEL_CODE_COUNT, MODEL_NONE};
}

// Whether every required point is isolated, settled and trusted now: an unproven one is then
// proved.
// Rule (5, After a restart): After a restart the lockout is confirmed again only when every point
// is proved. [restart-proved-too-soon]
// Rule (5, After a restart; R38): Nothing unproven is confirmed before both connections are up.
// [restart-proved-unconnected]
bool gate_isolation_proved(const struct gate *gate, const struct gate_site *site,
                           const struct gate_job *job, struct gate_time now) {
    for (size_t i = 0; i < job->required_count; i++) {
        int64_t next = INT64_MAX;
        struct gate_view view = gate_point_for_job(gate, site, job, job->required[i], now, &next);
        if (!gate_view_isolated(&view)) {
            return false;
        }
    }
    return gate_is_linked(gate, site) &&
           gate_isolation_fault(gate, site, job, now).kind == GATE_FAULT_NONE;
}

// Rule (2): An empty list of requirements opens no gate. [empty-list-proves]
// Rule (2): Nothing to clear does not finish the work. [empty-clear-proves]
// Rule (2; R10): Where nothing is asked before a repair is left, it is not left.
// [empty-leave-proves]
bool gate_group_needed(enum model_group group) {
    return group == MODEL_GROUP_VERIFY || group == MODEL_GROUP_CLEAR || group == MODEL_GROUP_LEAVE;
}

// Rule (5, Lockout): A check outside its limits confirms nothing. [signatures-failed-count]
// Rule (5, Lockout): A check that is void confirms nothing. [signatures-void-count]
bool gate_check_holds(const struct gate_job *job, const struct model_check *check,
                      struct gate_time now) {
    const struct gate_signature *signature = gate_signature_of(job, check->check);
    return signature != NULL && signature->pass && !gate_signature_void(job, signature, now);
}

bool gate_group_signed(const struct gate_job *job, enum model_group group, struct gate_time now) {
    bool any = false;
    for (size_t i = 0; i < job->needs->check_count; i++) {
        const struct model_check *check = &job->needs->checks[i];
        if (check->group != group) {
            continue;
        }
        if (!gate_check_holds(job, check, now)) {
            return false;
        }
        any = true;
    }
    return any || !gate_group_needed(group);
}

bool gate_signatures_hold(const struct gate_job *job, struct gate_time now) {
    return gate_group_signed(job, MODEL_GROUP_RELIEVE, now) &&
           gate_group_signed(job, MODEL_GROUP_VERIFY, now);
}
