// The documents as of now, a whole site, and a job's next gate.
#include "http/internal.h"

#include "report/notices.h"
#include "wire/fact_parts.h"

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
    answer(call, wire_position(fresh(call), state.gate, call->site->index, position));
}

void http_serve_point(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    uint32_t point = model_point_find(call->site, call->path.parts[3]);
    if (point == MODEL_NONE) {
        nothing(call, "There is no such point at this site.");
        return;
    }
    answer(call, wire_point(fresh(call), state.gate, call->site->index, point, state.now, NULL));
}

void http_serve_alarm(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_alarm *alarm =
        gate_alarm_find(&state.gate->sites[call->site->index], call->path.parts[3]);
    if (alarm == NULL) {
        nothing(call, "No such alarm stands at this site.");
        return;
    }
    answer(call, wire_alarm(fresh(call), state.gate, call->site->index, alarm));
}

const struct gate_job *http_job_of(struct http_call *call, const struct http_state *state) {
    const struct gate_job *job =
        gate_job_find(&state->gate->sites[call->site->index], call->path.parts[3]);
    if (job == NULL || !wire_job_is_kept(job, state->now)) {
        nothing(call, "There is no such job at this site, or it ended more than 7 days ago.");
        return NULL;
    }
    return job;
}

void http_serve_job(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_job *job = http_job_of(call, &state);
    if (job != NULL) {
        answer(call, wire_job(fresh(call), state.gate, call->site->index, job, true, state.now));
    }
}

// --- The next gate ---

void http_serve_gate(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    const struct gate_job *job = http_job_of(call, &state);
    if (job != NULL) {
        answer(call, wire_gate(fresh(call), state.gate, call->site->index, job, job->position,
                               call->person, state.now));
    }
}

void http_serve_position_gate(struct http_call *call) {
    struct http_state state = http_state_now(call->http);
    uint32_t position = model_position_find(call->site, call->path.parts[3]);
    if (position == MODEL_NONE) {
        nothing(call, "There is no such position at this site.");
        return;
    }
    const struct gate_job *job = gate_job_on(&state.gate->sites[call->site->index], position);
    answer(call, wire_gate(fresh(call), state.gate, call->site->index, job, position, call->person,
                           state.now));
}

// --- A whole site ---

static void member(struct json_out *out, const char *name, const char *text) {
    json_out_key(out, name);
    wire_fact_write_text(out, text);
}

static void array(struct json_out *out, const char *name) {
    json_out_key(out, name);
    json_out_array(out);
}

static bool write_jobs(struct json_out *out, const struct http_state *state, uint32_t site) {
    const struct gate_site *at = &state->gate->sites[site];
    bool good = true;
    array(out, "jobs");
    for (size_t i = 0; i < at->job_count; i++) {
        if (wire_job_is_kept(at->jobs[i], state->now)) {
            good &= wire_job(out, state->gate, site, at->jobs[i], true, state->now);
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
        good &= wire_position(out, state->gate, site, i);
    }
    json_out_array_end(out);
    array(out, "points");
    for (uint32_t i = 0; i < at->model->point_count; i++) {
        good &= wire_point(out, state->gate, site, i, state->now, NULL);
    }
    json_out_array_end(out);
    array(out, "alarms");
    for (size_t i = 0; i < at->alarm_count; i++) {
        good &= wire_alarm(out, state->gate, site, &at->alarms[i]);
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
    wire_fact_write_time(out, state.now.wall);
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
