// What the gates require of checks: each signed, within limits and standing.
#include "gate/lockout.h"
#include "gate/refusal_list.h"
#include "gate/require.h"

// Rule (5, Start): A check outside its limits opens no gate. [start-with-failed-check]
// Rule (5, Start): A check that is void opens no gate. [start-with-void-check]
// Rule (4, the answer; R34): args say what a check asks. [arg-title]
// Rule (4, the answer; R34): args give the reading of a check. [arg-value]
// Rule (4, the answer; R34): args name who signed. [arg-by]
// Rule (4, the answer; R34): args give the limits of a check. [arg-limits]
void gate_require_check(const struct gate_job *job, const struct model_check *check,
                        struct gate_time now, struct gate_list *list) {
    const struct gate_signature *signature = gate_signature_of(job, check->check);
    bool stands = signature != NULL && !gate_signature_void(job, signature, now);
    bool met = stands && signature->pass;
    struct gate_args args = {.check = check->check,
                             .title = check->ask,
                             .unit = check->unit,
                             .has_min = check->limits.has_min,
                             .has_max = check->limits.has_max,
                             .min = check->limits.min,
                             .max = check->limits.max};
    if (signature != NULL) {
        args.by = signature->by[0] != '\0' ? signature->by : NULL;
        args.has_value = signature->has_value;
        args.value = signature->value;
        args.unit = signature->has_value ? signature->unit : check->unit;
    }
    enum gate_say sentence = signature == NULL || met ? GATE_SAY_CHECK_MISSING
                             : !stands                ? GATE_SAY_CHECK_VOID
                                                      : GATE_SAY_CHECK_FAILED;
    struct gate_refusal *refusal = gate_list_put(list, met, sentence, check->check, &args);
    if (refusal != NULL) {
        refusal->age_ms = signature != NULL ? now.mono - signature->at.mono : -1;
    }
}

// Rule (4, the answer; R34): args name the kind of checks of which none is known. [arg-group]
void gate_require_group(const struct gate_job *job, enum model_group group, struct gate_time now,
                        struct gate_list *list) {
    bool any = false;
    for (size_t i = 0; i < job->needs->check_count; i++) {
        if (job->needs->checks[i].group == group) {
            gate_require_check(job, &job->needs->checks[i], now, list);
            any = true;
        }
    }
    if (!any && gate_group_needed(group)) {
        gate_list_put(list, false, GATE_SAY_CHECK_NONE_KNOWN, model_group_name(group),
                      GATE_ARGS(.group = model_group_name(group)));
    }
}
