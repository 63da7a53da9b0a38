// work.stopped: everybody out; of testing, back to restoring.
#include "gate/fact/effect.h"
#include "gate/text.h"

// A relieve check signed while working counts for the next start: then it voids the verify checks
// older than itself.
// Rule (4, What voids): A verify after the newest relieve stands through a stop.
// [stop-voids-verify]
static void void_verify_before_relieve(struct gate_job *job) {
    uint64_t newest = 0;
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *signature = &job->signatures[i];
        if (signature->group == MODEL_GROUP_RELIEVE && !signature->void_) {
            newest = signature->order;
        }
    }
    for (size_t i = 0; i < job->signature_count; i++) {
        struct gate_signature *signature = &job->signatures[i];
        if (signature->group == MODEL_GROUP_VERIFY && signature->order < newest) {
            signature->void_ = true;
        }
    }
}

// Rule (4, What voids): At the stop, a relieve signed while working voids the verify before it.
// [relieve-while-working-forgotten]
// Rule (4, What voids): Tests older than the last begin-test, or stopped, are void.
// [begin-spares-tests]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    if (fact->phase == MODEL_PHASE_STOPPED) {
        void_verify_before_relieve(to->job);
    } else {
        gate_void_tests(to->job);
    }
    gate_enter(to->job, fact->phase, fact->at);
    gate_id_copy(to->job->paused_by, fact->pause ? fact->by : NULL);
    return true;
}

static const char *sentence_of(const struct gate_fact *fact) {
    return fact->pause ? "{by} let the work on {job} rest[: {reason}]" : NULL;
}

const struct gate_fact_row gate_fact_work_stopped = {
    .name = "work.stopped",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(phase) | GATE_HAS(why) | GATE_HAS(reason) | GATE_HAS(pause),
    .needs = GATE_HAS(job),
    .apply = apply,
    .sentence = "the work on {job} was stopped[ by {by}][ ({why})][: {reason}]",
    .sentence_of = sentence_of,
};
