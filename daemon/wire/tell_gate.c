// A job's next gate with its evidence, and what one person may ask and should do next.
#include "gate/check_in.h"
#include "gate/emit.h"
#include "gate/may.h"
#include "wire/fact_refusal.h"
#include "wire/tell.h"
#include "wire/tell_member.h"

#include <stdlib.h>

static void write_requirements(struct json_out *out, const struct gate_list *list) {
    wire_list(out, "requirements");
    for (size_t i = 0; i < list->count; i++) {
        json_out_object(out);
        wire_flag(out, "met", list->items[i].met);
        wire_fact_write_refusal_members(out, &list->items[i].refusal, true);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool is_open(const struct gate_list *list) {
    bool open = list->count > 0 && !list->failed;
    for (size_t i = 0; i < list->count; i++) {
        open &= list->items[i].met;
    }
    return open;
}

static bool write_evidence(struct json_out *out, const struct gate *gate, uint32_t site,
                           const struct gate_job *job, struct gate_time now) {
    const struct gate_site *at = &gate->sites[site];
    size_t count = job != NULL ? job->required_count : 0;
    struct gate_evidence *evidence = calloc(count + 1, sizeof *evidence);
    if (evidence == NULL) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        evidence[i] = gate_evidence_of(gate, at, job->required[i], now);
    }
    json_out_key(out, "evidence");
    wire_fact_write_evidence(out, evidence, count);
    free(evidence);
    return true;
}

// --- One person ---

static void write_one(struct json_out *out, const char *name, const char *id) {
    if (id != NULL && id[0] != '\0') {
        wire_text(out, name, id);
    }
}

// The verb and what it is about, each member as the request would have it.
static void write_choice(struct json_out *out, const struct gate_choice *choice) {
    wire_text(out, "verb", gate_verb_name(choice->verb));
    write_one(out, "point", choice->point);
    write_one(out, "sensor", choice->sensor);
    write_one(out, "reader", choice->reader);
    write_one(out, "check", choice->check);
    write_one(out, "test", choice->test);
    write_one(out, "alarm", choice->alarm);
    if (choice->note) {
        wire_flag(out, "note", true);
    }
    write_one(out, "to", choice->to);
    write_one(out, "person", choice->person);
    write_one(out, "badge", choice->badge);
    write_one(out, "procedure", choice->procedure);
    write_one(out, "spill", choice->spill);
    write_one(out, "state", choice->has_state ? model_point_state_name(choice->state) : NULL);
    if (choice->seen_off) {
        wire_flag(out, "seen_off", true);
    }
    if (choice->fails) {
        wire_flag(out, "fails", true);
    }
}

static void write_may(struct json_out *out, const struct gate_may *may) {
    wire_list(out, "may");
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        if (may->verbs[verb]) {
            json_out_string(out, gate_verb_name((enum gate_verb)verb));
        }
    }
    json_out_array_end(out);
    wire_list(out, "choices");
    for (size_t i = 0; i < may->count; i++) {
        json_out_object(out);
        write_choice(out, &may->choices[i]);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_by(struct json_out *out, const struct gate_step *step) {
    wire_list(out, "by");
    if (step->leader) {
        json_out_string(out, "leader");
    }
    if (step->crew) {
        json_out_string(out, "crew");
    }
    for (unsigned role = 1; role <= step->roles; role <<= 1) {
        if ((step->roles & role) != 0) {
            json_out_string(out, model_role_name(role));
        }
    }
    json_out_array_end(out);
}

static void write_next(struct json_out *out, const struct gate_step *step) {
    json_out_key(out, "next");
    if (!step->is) {
        json_out_null(out);
        return;
    }
    json_out_object(out);
    if (step->has_verb) {
        write_choice(out, &step->choice);
    } else {
        wire_text(out, "verb", NULL);
    }
    wire_flag(out, "mine", step->mine);
    write_by(out, step);
    wire_text(out, "code", step->lacks ? model_code_name(step->lacking.code) : NULL);
    wire_text(out, "subject", step->lacks ? step->lacking.subject : NULL);
    json_out_object_end(out);
}

static bool write_person(struct json_out *out, const struct gate *gate, uint32_t site,
                         const struct gate_job *job, uint32_t position,
                         const struct model_person *person, struct gate_time now) {
    struct gate_may may = {0};
    struct gate_step step;
    gate_may(gate, site, job, position, person, now, &may);
    gate_step(gate, site, job, person, now, &may, &step);
    write_may(out, &may);
    write_next(out, &step);
    bool good = !may.failed;
    gate_may_free(&may);
    return good;
}

static void write_check_in(struct json_out *out, const struct gate_job *job, struct gate_time now) {
    int64_t due = job != NULL ? gate_check_in_due(job) : INT64_MAX;
    if (due != INT64_MAX) {
        wire_time(out, "check_in_due", now.wall + due - now.mono);
    } else {
        wire_text(out, "check_in_due", NULL);
    }
}

bool wire_gate(struct json_out *out, const struct gate *gate, uint32_t site,
               const struct gate_job *job, uint32_t position, const struct model_person *person,
               struct gate_time now) {
    struct gate_list list = {0};
    enum gate_verb next = job != NULL ? gate_next_verb(job) : GATE_VERB_COUNT;
    if (job != NULL) {
        gate_next(gate, site, job, now, &list);
    }
    json_out_object(out);
    wire_text(out, "job", job != NULL ? job->job : NULL);
    wire_text(out, "position", gate->sites[site].model->positions[position].position);
    wire_text(out, "phase", job != NULL ? model_phase_name(job->phase) : NULL);
    wire_text(out, "lockout", job != NULL ? model_lockout_name(job->lockout) : NULL);
    wire_text(out, "gate", next != GATE_VERB_COUNT ? gate_verb_row(next)->gate_name : NULL);
    wire_flag(out, "open", is_open(&list));
    wire_time(out, "at", now.wall);
    write_check_in(out, job, now);
    write_requirements(out, &list);
    bool good = write_evidence(out, gate, site, job, now) && !list.failed &&
                write_person(out, gate, site, job, position, person, now);
    json_out_object_end(out);
    gate_list_free(&list);
    return good && !out->failed;
}
