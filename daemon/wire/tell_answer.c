// Answers to requests, new and given again.
#include "wire/tell.h"

#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"
#include "wire/tell_member.h"

static void refusals(struct json_out *out, const struct gate_answer *answer) {
    json_out_key(out, "refusals");
    json_out_array(out);
    for (size_t i = 0; i < answer->refusal_count; i++) {
        wire_fact_write_refusal(out, &answer->refusals[i], true);
    }
    json_out_array_end(out);
}

// Rule (4, sign-check; R32): The answer says whether the check was signed as passed, by which
// reading and limits. [answer-signed-untold]
static void signed_(struct json_out *out, const struct gate_signed *as) {
    json_out_key(out, "result");
    json_out_object(out);
    wire_flag(out, "pass", as->pass);
    wire_number(out, "value", as->has_value, as->value);
    wire_text(out, "unit", as->unit);
    wire_reading(out, as->has_reading, as->reading, as->reading_unit);
    wire_limits(out, &as->limits);
    json_out_object_end(out);
}

// Rule (4, record-spill): The answer says under which id a spill is recorded again and reported.
// [answer-spill-untold]
static void spill(struct json_out *out, const struct gate_answer *answer) {
    json_out_key(out, "result");
    json_out_object(out);
    wire_text(out, "spill", answer->spill);
    wire_time(out, "report_due", answer->report_due);
    json_out_object_end(out);
}

bool wire_answer(struct json_out *out, const char *id, const char *verb,
                 const struct gate_answer *answer) {
    json_out_object(out);
    wire_text(out, "id", id);
    wire_text(out, "verb", verb);
    wire_flag(out, "accepted", answer->accepted);
    wire_text(out, "job", answer->job);
    wire_text(out, "phase", answer->has_phase ? model_phase_name(answer->phase) : NULL);
    wire_text(out, "lockout", answer->has_phase ? model_lockout_name(answer->lockout) : NULL);
    json_out_key(out, "at");
    wire_fact_write_time(out, answer->at.wall);
    if (answer->has_result) {
        json_out_key(out, "result");
        wire_fact_write_result(out, &answer->result);
    } else if (answer->has_signed) {
        signed_(out, &answer->signed_);
    } else if (answer->has_spill) {
        spill(out, answer);
    }
    if (answer->again) {
        wire_flag(out, "again", true);
    }
    refusals(out, answer);
    json_out_object_end(out);
    return !out->failed;
}

// A member that says what the job is now, or stands before the refusals; true: it is written.
static bool replaced(struct json_out *out, const struct json_tape *tape,
                     const struct json_node *key, const struct gate_job *job) {
    if (json_equals(tape, key, "phase")) {
        wire_text(out, "phase", job != NULL ? model_phase_name(job->phase) : NULL);
    } else if (json_equals(tape, key, "lockout")) {
        wire_text(out, "lockout", job != NULL ? model_lockout_name(job->lockout) : NULL);
    } else {
        return false;
    }
    return true;
}

// The names of an answer's members hold no escapes: it is our own text.
static void copied(struct json_out *out, const struct json_tape *tape, const struct json_node *key,
                   const struct json_node *value) {
    char name[32];
    if (json_copy(tape, key, name, sizeof name)) {
        json_out_key(out, name);
        json_out_node(out, tape, value);
    }
}

bool wire_answer_now(struct json_out *out, const struct json_tape *tape, const struct gate_job *job,
                     bool again) {
    const struct json_node *root = json_root(tape);
    const struct json_node *key = json_first(tape, root);
    json_out_object(out);
    while (key != NULL) {
        const struct json_node *value = json_next(tape, root, key);
        if (again && json_equals(tape, key, "refusals")) {
            wire_flag(out, "again", true);
        }
        if (!replaced(out, tape, key, job)) {
            copied(out, tape, key, value);
        }
        key = json_next(tape, root, value);
    }
    json_out_object_end(out);
    return !out->failed;
}
