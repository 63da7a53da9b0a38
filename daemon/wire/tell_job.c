// The document of a job: who is on it, what is signed and tested, and what the next gate lacks.
#include "wire/tell.h"

#include "gate/credential.h"
#include "wire/fact_parts.h"
#include "wire/fact_refusal.h"
#include "wire/tell_day.h"
#include "wire/tell_member.h"

#include <stdlib.h>
#include <string.h>

// What a signature or record says of itself; one that was never given has no verdict.
static void verdict(struct json_out *out, bool given, bool pass, bool no_longer) {
    json_out_key(out, "pass");
    if (given) {
        json_out_bool(out, pass);
    } else {
        json_out_null(out);
    }
    wire_flag(out, "void", no_longer);
}

static void crew(struct json_out *out, const struct gate *gate, const struct gate_site *site,
                 const struct gate_job *job, struct gate_time now) {
    struct gate_time at = gate_job_stands(job) ? now : job->ended; // an ended job changes no more
    json_out_key(out, "crew");
    json_out_array(out);
    for (size_t i = 0; i < job->crew_count; i++) {
        json_out_object(out);
        wire_text(out, "person", job->crew[i].person);
        wire_flag(out, "protected", job->crew[i].protected);
        wire_flag(out, "helper", gate_is_helper(gate, site, job, job->crew[i].person, at));
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

// To whom the lead is offered, while the offer stands.
static const char *offered(const struct gate_job *job, struct gate_time now) {
    return now.mono - job->offered_at.mono < GATE_OFFER_MS ? job->offered : NULL;
}

static void check(struct json_out *out, const struct gate_job *job,
                  const struct model_check *definition, struct gate_time now) {
    const struct gate_signature none = {0};
    const struct gate_signature *found = gate_signature_of(job, definition->check);
    const struct gate_signature *signature = found != NULL ? found : &none;
    json_out_object(out);
    wire_text(out, "check", definition->check);
    wire_text(out, "group", model_group_name(definition->group));
    wire_text(out, "by", signature->by);
    wire_time(out, "at", signature->at.wall);
    wire_number(out, "value", signature->has_value, signature->value);
    wire_text(out, "unit", signature->unit);
    wire_reading(out, signature->has_reading, signature->reading, signature->reading_unit);
    wire_text(out, "instrument", signature->instrument);
    verdict(out, found != NULL, signature->pass,
            found != NULL && gate_signature_void(job, found, now));
    wire_time(out, "until", found != NULL ? gate_signature_until(job, found) : 0);
    json_out_object_end(out);
}

static void checks(struct json_out *out, const struct gate_job *job, struct gate_time now) {
    json_out_key(out, "checks");
    json_out_array(out);
    for (size_t i = 0; i < job->needs->check_count; i++) {
        check(out, job, &job->needs->checks[i], now);
    }
    json_out_array_end(out);
}

// Which run of how many that are averaged: value is then their mean so far.
static void runs(struct json_out *out, const struct gate_test_record *record) {
    json_out_key(out, "runs");
    json_out_object(out);
    json_out_key(out, "run");
    json_out_int(out, record->run);
    json_out_key(out, "of");
    json_out_int(out, record->runs);
    wire_number(out, "reading", true, record->reading);
    json_out_object_end(out);
}

static void test(struct json_out *out, const struct gate_site *site, const struct gate_job *job,
                 const char *id, struct gate_time now) {
    const struct gate_test_record none = {0};
    const struct gate_test_record *found = gate_test_of(job, id);
    const struct gate_test_record *record = found != NULL ? found : &none;
    json_out_object(out);
    wire_text(out, "test", id);
    wire_text(out, "by", record->by);
    wire_time(out, "at", record->at.wall);
    wire_number(out, "value", record->has_value, record->value);
    verdict(out, found != NULL && !record->waits, record->pass,
            found != NULL && gate_test_void(site, job, found, now));
    wire_time(out, "until", found != NULL ? gate_test_until(site, job, found) : 0);
    if (record->runs > 0) {
        runs(out, record);
    }
    json_out_object_end(out);
}

static bool tests(struct json_out *out, const struct gate_site *site, const struct gate_job *job,
                  struct gate_time now) {
    struct model_requirements *all = gate_tests_of(site, job);
    if (all == NULL) {
        return false;
    }
    json_out_key(out, "tests");
    json_out_array(out);
    for (size_t i = 0; i < all->test_count; i++) {
        test(out, site, job, all->tests[i].test, now);
    }
    json_out_array_end(out);
    free(all);
    return true;
}

static bool missing(struct json_out *out, const struct gate *gate, uint32_t site,
                    const struct gate_job *job, bool ages, struct gate_time now) {
    struct gate_list list = {.unmet_only = true};
    gate_next(gate, site, job, now, &list);
    json_out_key(out, "missing");
    json_out_array(out);
    for (size_t i = 0; i < list.count; i++) {
        wire_fact_write_refusal(out, &list.items[i].refusal, ages);
    }
    json_out_array_end(out);
    bool good = !list.failed;
    gate_list_free(&list);
    return good;
}

// The sensors and readers out of order that it rests on; where there are none, nothing is said.
// Rule (3, A sensor out of order; R27): The document of a job that rests on one says so.
// [job-distrust-untold]
static void distrusts(struct json_out *out, const struct gate_site *site,
                      const struct gate_job *job) {
    size_t count = 0;
    for (size_t i = 0; gate_job_stands(job) && i < job->required_count; i++) {
        count += site->points[job->required[i]].distrust_count;
    }
    if (count == 0) {
        return;
    }
    wire_list(out, "distrusted");
    for (size_t i = 0; i < job->required_count; i++) {
        wire_distrusts(out, site, job->required[i], true);
    }
    json_out_array_end(out);
}

bool wire_job(struct json_out *out, const struct gate *gate, uint32_t site,
              const struct gate_job *job, bool ages, struct gate_time now) {
    const struct gate_site *at = &gate->sites[site];
    json_out_object(out);
    wire_text(out, "job", job->job);
    wire_text(out, "position", at->model->positions[job->position].position);
    wire_text(out, "procedure", job->needs->procedure);
    wire_text(out, "phase", model_phase_name(job->phase));
    wire_text(out, "lockout", model_lockout_name(job->lockout));
    wire_text(out, "technician", job->leader);
    crew(out, gate, at, job, now);
    wire_text(out, "offered", offered(job, now));
    wire_time(out, "opened", job->opened.wall);
    wire_time(out, "since", job->since.wall);
    json_out_key(out, "rework");
    json_out_int(out, job->rework);
    wire_day(out, job);
    checks(out, job, now);
    bool good = tests(out, at, job, now);
    good = missing(out, gate, site, job, ages, now) && good;
    distrusts(out, at, job);
    json_out_object_end(out);
    return good && !out->failed;
}

bool wire_job_is_kept(const struct gate_job *job, struct gate_time now) {
    return gate_job_stands(job) || now.mono - job->ended.mono <= GATE_KEEP_ENDED_MS;
}
