// The steps of a job, each asserting that it was accepted.
#include "world.h"

#include <string.h>

#include "gate/find.h"

void world_isolate(struct world *world) {
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS + 1000);
}

void world_to_tagged(struct world *world, const char *job) {
    assert_true(world_open(world, job, "3A", "t-1"));
    assert_true(world_sign(world, "t-1", job, "barricade"));
    assert_true(world_sign(world, "m-1", job, "site-told"));
    world_isolate(world);
    assert_true(world_witness(world, "t-1", job, MODEL_POINT_ISOLATED));
    assert_true(world_tag(world, "t-1", job, POWER3));
    assert_true(world_tag(world, "t-1", job, VALVE3));
    assert_true(world_tag(world, "t-1", job, LINE3A));
}

void world_to_confirmed(struct world *world, const char *job) {
    world_to_tagged(world, job);
    assert_true(world_sign_value(world, "t-1", job, "drained", 2, "L"));
    assert_true(world_sign(world, "t-1", job, "no-flow"));
    assert_true(world_sign_value(world, "t-1", job, "no-voltage", 0, "V"));
    assert_int_equal(world_job(world, job)->lockout, MODEL_LOCKOUT_CONFIRMED);
}

void world_to_working(struct world *world, const char *job) {
    world_to_confirmed(world, job);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, MODEL_PHASE_WORKING);
}

void world_to_working_seen(struct world *world, const char *job) {
    assert_true(world_open(world, job, "3A", "t-1"));
    world_sign_prepare(world, "t-1", job);
    world_isolate(world);
    assert_true(world_witness(world, "t-1", job, MODEL_POINT_ISOLATED));
    world_reader(world, POWER3, "t-1", true);
    assert_true(world_tag(world, "t-1", job, VALVE3));
    assert_true(world_tag(world, "t-1", job, LINE3A));
    world_sign_hold(world, "t-1", job);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", job));
}

void world_to_stopped(struct world *world, const char *job) {
    world_to_working(world, job);
    assert_true(world_pause(world, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, MODEL_PHASE_STOPPED);
}

void world_to_restoring(struct world *world, const char *job) {
    world_to_working(world, job);
    assert_true(world_sign_value(world, "t-1", job, "spout-nut", 46, "N.m"));
    assert_true(world_sign(world, "t-1", job, "tools-clear"));
    assert_true(world_sign(world, "t-1", job, "people-clear"));
    assert_true(world_verb(world, GATE_VERB_FINISH_WORK, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, MODEL_PHASE_RESTORING);
}

void world_to_testing(struct world *world, const char *job) {
    world_to_restoring(world, job);
    assert_true(world_lift(world, "t-1", job, POWER3));
    assert_true(world_lift(world, "t-1", job, VALVE3));
    assert_true(world_lift(world, "t-1", job, LINE3A));
    world_hear_all(world, MODEL_POINT_LIVE);
    assert_true(world_witness(world, "t-1", job, MODEL_POINT_LIVE));
    assert_true(world_verb(world, GATE_VERB_BEGIN_TEST, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, MODEL_PHASE_TESTING);
}

void world_to_returned(struct world *world, const char *job) {
    world_to_testing(world, job);
    assert_true(world_test(world, "t-1", job, "leak", true));
    assert_true(world_test(world, "t-1", job, "continuity", true));
    assert_true(world_sign(world, "t-1", job, "barricade-removed"));
    assert_true(world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", job));
    assert_int_equal(world_job(world, job)->phase, MODEL_PHASE_RETURNED);
}

// --- The same on any position ---

static const struct model_position *position_of(const char *position) {
    const struct model_site *site = &world_model()->sites[0];
    return &site->positions[model_position_find(site, position)];
}

void world_isolate_at(struct world *world, const char *position) {
    const struct model_site *site = &world_model()->sites[0];
    const struct model_position *where = position_of(position);
    for (size_t p = 0; p < where->point_count; p++) {
        const struct model_point *point = &site->points[where->points[p]];
        for (size_t s = 0; s < point->sensor_count; s++) {
            world_hear(world, (enum world_sensor)point->sensors[s], MODEL_POINT_ISOLATED);
        }
    }
    world_pass_heard(world, WORLD_SETTLE_MS + 1000);
}

void world_tag_all(struct world *world, const char *person, const char *job) {
    const struct gate_job *of = world_job(world, job);
    for (size_t i = 0; i < of->required_count; i++) {
        assert_true(world_tag(world, person, job, (enum world_point)of->required[i]));
    }
}

void world_lift_all(struct world *world, const char *person, const char *job) {
    const struct gate_job *of = world_job(world, job);
    for (size_t i = 0; i < of->required_count; i++) {
        assert_true(world_lift(world, person, job, (enum world_point)of->required[i]));
    }
}

void world_sign_hold(struct world *world, const char *person, const char *job) {
    assert_true(world_sign_value(world, person, job, "drained", 2, "L"));
    assert_true(world_sign(world, person, job, "no-flow"));
    assert_true(world_sign_value(world, person, job, "no-voltage", 0, "V"));
}

void world_sign_prepare(struct world *world, const char *person, const char *job) {
    assert_true(world_sign(world, person, job, "barricade"));
    assert_true(world_sign(world, "m-1", job, "site-told"));
}

void world_sign_clear(struct world *world, const char *person, const char *job) {
    assert_true(world_sign(world, person, job, "tools-clear"));
    assert_true(world_sign(world, person, job, "people-clear"));
}

void world_leave_safe(struct world *world, const char *person, const char *job) {
    world_isolate(world);
    assert_true(world_witness(world, person, job, MODEL_POINT_ISOLATED));
    world_tag_all(world, person, job);
    assert_true(world_sign(world, person, job, "made-safe"));
    world_lift_all(world, person, job);
}

void world_join_tagged(struct world *world, const char *person, const char *job) {
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, person, job));
    world_tag_all(world, person, job);
}

void world_open_at(struct world *world, const char *job, const char *position,
                   const char *procedure, const char *leader) {
    assert_true(
        world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                               .person = "k-1",
                                               .job = job,
                                               .position = position,
                                               .procedure = procedure,
                                               .kit_family = position_of(position)->nozzle_family,
                                               .technician = leader}));
}

void world_work_at(struct world *world, const char *job, const char *position,
                   const char *procedure, const char *leader) {
    world_open_at(world, job, position, procedure, leader);
    world_sign_prepare(world, leader, job);
    world_isolate_at(world, position);
    if (gate_requires(world_job(world, job), LINE3A)) {
        assert_true(world_witness(world, leader, job, MODEL_POINT_ISOLATED));
    }
    world_tag_all(world, leader, job);
    world_sign_hold(world, leader, job);
    assert_true(world_verb(world, GATE_VERB_START_WORK, leader, job));
}

void world_finish(struct world *world, const char *job, const char *leader) {
    assert_true(world_sign_value(world, leader, job, "spout-nut", 46, "N.m"));
    world_sign_clear(world, leader, job);
    assert_true(world_verb(world, GATE_VERB_FINISH_WORK, leader, job));
}

void world_live_at(struct world *world, const char *position, const char *leader, const char *job) {
    const struct model_site *site = &world_model()->sites[0];
    const struct model_position *where = position_of(position);
    for (size_t p = 0; p < where->point_count; p++) {
        const struct model_point *point = &site->points[where->points[p]];
        for (size_t s = 0; s < point->sensor_count; s++) {
            world_hear(world, (enum world_sensor)point->sensors[s], MODEL_POINT_LIVE);
        }
    }
    if (where->points[where->point_count - 1] == LINE3A) {
        assert_true(world_witness(world, leader, job, MODEL_POINT_LIVE));
    }
}

void world_return(struct world *world, const char *job, const char *leader) {
    const struct gate_job *of = world_job(world, job);
    world_lift_all(world, leader, job);
    world_live_at(world, world_model()->sites[0].positions[of->position].position, leader, job);
    assert_accepted(world, world_verb(world, GATE_VERB_BEGIN_TEST, leader, job));
    assert_true(world_test(world, leader, job, "leak", true));
    assert_true(world_test(world, leader, job, "continuity", true));
    assert_true(world_sign(world, leader, job, "barricade-removed"));
    assert_true(world_verb(world, GATE_VERB_RETURN_POSITION, leader, job));
}

void world_acknowledge(struct world *world) {
    for (size_t i = world_site(world)->alarm_count; i-- > 0;) {
        const struct gate_alarm *alarm = &world_site(world)->alarms[i];
        if (alarm->state != MODEL_ALARM_ACKNOWLEDGED) {
            char id[MODEL_ID_SIZE];
            memcpy(id, alarm->alarm, sizeof id);
            assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_ACKNOWLEDGE_ALARM,
                                                               .person = "m-1",
                                                               .alarm = id,
                                                               .note = "seen to"}));
        }
    }
}
