// check.signed: a check is answered, by somebody or, with nobody's name, by the site's measures.
#include "base/array.h"
#include "gate/cause.h"
#include "gate/fact/effect.h"
#include "gate/text.h"

// Rule (4, What voids; 29 CFR 1910.147(d)(5)-(6) [P]): A verify older than the newest relieve is
// void. [relieve-spares-verify]
// Rule (4, What voids): A relieve signed while working counts for the next start only.
// [relieve-while-working-voids]
// Rule (4, What voids): Clear and leave are void when older than the last work signature.
// [work-spares-clear]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    const struct model_check *check = gate_check_of(job, fact->check);
    if (!BASE_ARRAY_ROOM(job->signatures, job->signature_count, job->signature_capacity)) {
        return false;
    }
    enum model_group group = check != NULL ? check->group : MODEL_GROUP_COUNT;
    if (group == MODEL_GROUP_WORK) {
        gate_void_leaving(job);
    } else if (group == MODEL_GROUP_RELIEVE && job->phase != MODEL_PHASE_WORKING) {
        gate_void_group(job, MODEL_GROUP_VERIFY);
    }
    struct gate_signature *signature = &job->signatures[job->signature_count++];
    *signature = (struct gate_signature){.at = fact->at,
                                         .order = job->order,
                                         .group = group,
                                         .pass = fact->has_pass && fact->pass,
                                         .has_value = fact->has_value,
                                         .value = fact->value};
    gate_id_copy(signature->check, fact->check);
    gate_id_copy(signature->by, fact->person);
    gate_id_copy(signature->instrument, fact->instrument);
    signature->has_reading = fact->has_reading;
    signature->reading = fact->reading;
    gate_text(signature->reading_unit, sizeof signature->reading_unit, "%s",
              fact->reading_unit != NULL ? fact->reading_unit : "");
    gate_text(signature->unit, sizeof signature->unit, "%s", fact->unit != NULL ? fact->unit : "");
    gate_causes_end(to->site, fact->at);
    return true;
}

static const char *sentence_of(const struct gate_fact *fact) {
    return fact->person == NULL ? "measure {note} answered check {check}[: {value}][ {unit}]"
                                  "[{!pass}, which is OUTSIDE its limits]"
                                : NULL;
}

const struct gate_fact_row gate_fact_check_signed = {
    .name = "check.signed",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person) | GATE_HAS(check) | GATE_HAS(value) | GATE_HAS(unit) |
               GATE_HAS(reading) | GATE_HAS(reading_unit) | GATE_HAS(instrument) | GATE_HAS(note) |
               GATE_HAS(pass) | GATE_HAS(refusals),
    .needs = GATE_HAS(job) | GATE_HAS(check),
    .apply = apply,
    .sentence =
        "{person} signed check {check}[: {value}][ {unit}][ from {reading}][ {reading_unit}]"
        "[ with {instrument}]"
        "[{!pass}: FAILED][ (note: {note})]",
    .sentence_of = sentence_of,
};
