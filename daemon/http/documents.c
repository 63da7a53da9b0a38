// The documents as of now, a whole site, and a job's next gate.
#include "http/internal.h"

#include "report/notices.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"

#include <stdlib.h>

static struct json_out *fresh(struct http_call *call) {
    json_out_reset(&call->http->out);
    return &call->http->out;
}

static void nothing(struct http_call *call, const char *detail) {
    http_problem(call->http, call->request, 404, detail);
}

static void answer(struct http_call *call, bool good) {
    call->http->out.failed |= !good;
    http_reply_out(call->http, call->request);
}

void http_serve_position(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    uint32_t position = model_position_find(call->site, call->path.parts[3]);
    if (position == MODEL_NONE) {
        nothing(call, "There is no such position at this site.");
        return;
    }
    answer(call, tell_position(fresh(call), state.gate, call->site->index, position));
}

void http_serve_point(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    uint32_t point = model_point_find(call->site, call->path.parts[3]);
    if (point == MODEL_NONE) {
        nothing(call, "There is no such point at this site.");
        return;
    }
    answer(call, tell_point(fresh(call), state.gate, call->site->index, point, state.now, NULL));
}

void http_serve_alarm(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_alarm *alarm =
        gate_alarm_find(&state.gate->sites[call->site->index], call->path.parts[3]);
    if (alarm == NULL) {
        nothing(call, "No such alarm stands at this site.");
        return;
    }
    answer(call, tell_alarm(fresh(call), state.gate, call->site->index, alarm));
}

const struct gate_job *http_job_of(struct http_call *call, const struct http_state *state) {
    const struct gate_job *job =
        gate_job_find(&state->gate->sites[call->site->index], call->path.parts[3]);
    if (job == NULL || !tell_job_is_kept(job, state->now)) {
        nothing(call, "There is no such job at this site, or it ended more than 7 days ago.");
        return NULL;
    }
    return job;
}

void http_serve_job(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_job *job = http_job_of(call, &state);
    if (job != NULL) {
        answer(call, tell_job(fresh(call), state.gate, call->site->index, job, true, state.now));
    }
}

// --- The next gate ---

static const char *gate_name(enum model_phase phase) {
    static const char *const names[MODEL_PHASE_COUNT] = {
        [MODEL_PHASE_OPEN] = "start",     [MODEL_PHASE_STOPPED] = "start",
        [MODEL_PHASE_WORKING] = "finish", [MODEL_PHASE_RESTORING] = "test",
        [MODEL_PHASE_TESTING] = "return",
    };
    return names[phase];
}

static void member(struct json_out *out, const char *name, const char *text) {
    json_out_key(out, name);
    fact_write_text(out, text);
}

static void write_requirements(struct json_out *out, const struct gate_list *list) {
    json_out_key(out, "requirements");
    json_out_array(out);
    for (size_t i = 0; i < list->count; i++) {
        json_out_object(out);
        json_out_key(out, "met");
        json_out_bool(out, list->items[i].met);
        fact_write_refusal_members(out, &list->items[i].refusal, true);
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

static bool write_evidence(struct json_out *out, const struct http_state *state, uint32_t site,
                           const struct gate_job *job) {
    const struct gate_site *at = &state->gate->sites[site];
    struct gate_evidence *evidence = calloc(job->required_count + 1, sizeof *evidence);
    if (evidence == NULL) {
        return false;
    }
    for (size_t i = 0; i < job->required_count; i++) {
        uint32_t point = job->required[i];
        evidence[i] =
            (struct gate_evidence){.point = at->model->points[point].point,
                                   .state = at->points[point].state,
                                   .trust = at->points[point].trust,
                                   .heard = gate_point_heard(state->gate, at, point, state->now)};
    }
    json_out_key(out, "evidence");
    fact_write_evidence(out, evidence, job->required_count);
    free(evidence);
    return true;
}

static bool write_gate(struct json_out *out, const struct http_state *state, uint32_t site,
                       const struct gate_job *job) {
    struct gate_list list = {0};
    gate_next(state->gate, site, job, state->now, &list);
    json_out_object(out);
    member(out, "job", job->job);
    member(out, "phase", model_phase_name(job->phase));
    member(out, "lockout", model_lockout_name(job->lockout));
    member(out, "gate", gate_name(job->phase));
    json_out_key(out, "open");
    json_out_bool(out, is_open(&list));
    json_out_key(out, "at");
    fact_write_time(out, state->now.wall);
    write_requirements(out, &list);
    bool good = write_evidence(out, state, site, job) && !list.failed;
    json_out_object_end(out);
    gate_list_free(&list);
    return good;
}

void http_serve_gate(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_job *job = http_job_of(call, &state);
    if (job != NULL) {
        answer(call, write_gate(fresh(call), &state, call->site->index, job));
    }
}

// --- A whole site ---

static void array(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}

static bool write_jobs(struct json_out *out, const struct http_state *state, uint32_t site) {
    const struct gate_site *at = &state->gate->sites[site];
    bool good = true;
    array(out, "jobs");
    for (size_t i = 0; i < at->job_count; i++) {
        if (tell_job_is_kept(at->jobs[i], state->now)) {
            good &= tell_job(out, state->gate, site, at->jobs[i], true, state->now);
        }
    }
    json_out_array_end(out);
    return good;
}

static bool write_rest(struct json_out *out, const struct http_state *state, uint32_t site) {
    const struct gate_site *at = &state->gate->sites[site];
    bool good = true;
    array(out, "positions");
    for (uint32_t i = 0; i < at->model->position_count; i++) {
        good &= tell_position(out, state->gate, site, i);
    }
    json_out_array_end(out);
    array(out, "points");
    for (uint32_t i = 0; i < at->model->point_count; i++) {
        good &= tell_point(out, state->gate, site, i, state->now, NULL);
    }
    json_out_array_end(out);
    array(out, "alarms");
    for (size_t i = 0; i < at->alarm_count; i++) {
        good &= tell_alarm(out, state->gate, site, &at->alarms[i]);
    }
    json_out_array_end(out);
    return good;
}

void http_serve_site(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    struct json_out *out = fresh(call);
    uint32_t site = call->site->index;
    json_out_object(out);
    member(out, "site", call->site->site);
    member(out, "title", call->site->title);
    json_out_key(out, "at");
    fact_write_time(out, state.now.wall);
    json_out_key(out, "after");
    json_out_int(out, (int64_t)state.next_seq - 1);
    json_out_key(out, "link");
    json_out_bool(out, state.link_up);
    json_out_key(out, "journal");
    json_out_bool(out, state.journal_up);
    json_out_key(out, "contested");
    json_out_bool(out, state.gate->sites[site].contested);
    bool good = write_rest(out, &state, site);
    good = write_jobs(out, &state, site) && good;
    json_out_key(out, "notices");
    good = report_notices_write(out, state.gate, site, state.feed_heard, state.now) && good;
    json_out_object_end(out);
    answer(call, good);
}
