// The durable connection away for too long, topics on which nothing is delivered, and what is
// proved while the link is down.
#include <string.h>

#include "world.h"

static const struct gate_alarm *topic_alarm(const struct world *world, const char *topic) {
    const struct gate_site *site = &world->gate->sites[0];
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (strcmp(site->alarms[i].subject, topic) == 0) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static size_t breaks(const struct world *world) {
    size_t count = 0;
    for (size_t i = 0; i < world->fact_count; i++) {
        count += world->facts[i].type == GATE_FACT_LOCKOUT_BROKEN &&
                 world->facts[i].why == MODEL_CODE_LINK_DOWN;
    }
    return count;
}

WORLD_TEST(an_outage_longer_than_the_least_age_stops_the_work) {
    world_to_working(world, "j-1");
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_forget(world);
    assert_int_equal(world->gate->sites[0].deadline, world->now.mono + 1);
    world_pass(world, 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
    assert_alarm(world);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->why, MODEL_CODE_LINK_DOWN);
    // What holds is proved anew from then on.
    assert_int_equal(world_job(world, "j-1")->isolation, GATE_ISOLATION_HELD);
    // Once: it goes on.
    world_pass_heard(world, 5 * WORLD_MAX_AGE_MS);
    assert_int_equal(breaks(world), 1);
    // Another one.
    gate_outage(world->gate, 0, world->now);
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(breaks(world), 2);
}

static void the_least_of_the_ages_counts(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    copy.points[VALVE3].max_age_ms = 10000;
    struct world *world = world_new_of(&copy.model);
    world_to_working(world, "j-1");
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, 10000);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_pass(world, 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
    world_free(world);
}

static void without_sensors_it_is_thirty_seconds(void **state) {
    (void)state;
    struct world_copy copy;
    world_copy(&copy);
    for (int p = 0; p < WORLD_POINTS; p++) {
        copy.points[p].sensor_count = 0;
        copy.points[p].witnesses = 1;
        copy.points[p].witness_valid_ms = WORLD_WITNESS_MS;
        copy.points[p].max_age_ms = 1000; // of no sensor
    }
    struct world *world = world_new_of(&copy.model);
    world_open_at(world, "j-1", "3A", "spout", "t-1");
    world_sign_prepare(world, "t-1", "j-1");
    for (int p = POWER3; p <= LINE3A; p++) {
        assert_accepted(
            world, world_word(world, "t-1", "j-1", copy.points[p].point, MODEL_POINT_ISOLATED));
    }
    world_tag_all(world, "t-1", "j-1");
    world_sign_hold(world, "t-1", "j-1");
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass(world, 30000);
    assert_job(world, "j-1", WORKING, CONFIRMED);
    world_pass(world, 1);
    assert_job(world, "j-1", STOPPED, BROKEN);
    world_free(world);
}

WORLD_TEST(while_stopped_it_raises_the_alarm) {
    world_to_stopped(world, "j-1");
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_alarm(world);
    assert_int_equal(breaks(world), 1);
}

WORLD_TEST(nobody_in_the_cabinet_nothing_breaks) {
    world_to_confirmed(world, "j-1");
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, 2 * WORLD_MAX_AGE_MS);
    assert_job(world, "j-1", OPEN, CONFIRMED);
}

WORLD_TEST(a_topic_that_is_not_delivered_is_link_down_of_the_site) {
    static const char *const topics[] = {"juniper/signal/_pulse", "juniper/tagging/_pulse"};
    world_to_confirmed(world, "j-1");
    gate_unheard(world->gate, 0, topics, 2, world->now);
    assert_refused(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"),
                   MODEL_CODE_LINK_DOWN);
    const struct gate_alarm *alarm = topic_alarm(world, topics[1]);
    assert_non_null(alarm);
    assert_int_equal(alarm->kind, MODEL_ALARM_LINK_DOWN);
    assert_non_null(strstr(alarm->say, topics[1]));
    gate_unheard(world->gate, 0, topics, 1, world->now);
    assert_int_equal(topic_alarm(world, topics[0])->state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(topic_alarm(world, topics[1])->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    gate_unheard(world->gate, 0, NULL, 0, world->now);
    assert_int_equal(topic_alarm(world, topics[0])->state, MODEL_ALARM_RETURNED_UNACKNOWLEDGED);
    assert_accepted(world, world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
}

// The connections' own alarms are another matter.
WORLD_TEST(what_is_heard_leaves_the_connections_alarm) {
    gate_link(world->gate, GATE_LIVE, false, world->now);
    gate_unheard(world->gate, 0, NULL, 0, world->now);
    assert_int_equal(topic_alarm(world, "live")->state, MODEL_ALARM_UNACKNOWLEDGED);
}

WORLD_TEST(nothing_unproven_is_confirmed_before_the_link_is_up) {
    world_to_working(world, "j-1");
    world_restart(world, 5000);
    gate_link(world->gate, GATE_DURABLE, false, world->now);
    gate_link(world->gate, GATE_LIVE, false, world->now);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    world_controller(world, true);
    world_hear_all(world, MODEL_POINT_ISOLATED);
    world_pass_heard(world, WORLD_SETTLE_MS + 1000);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    assert_job(world, "j-1", WORKING, UNPROVEN);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    assert_job(world, "j-1", WORKING, CONFIRMED);
}

WORLD_TEST(an_outage_over_a_restart_is_told_once) {
    world_to_working(world, "j-1");
    gate_link(world->gate, GATE_DURABLE, false, world->now);
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(breaks(world), 1);
    world_restart(world, 1000);
    gate_link(world->gate, GATE_DURABLE, false, world->now);
    gate_outage(world->gate, world->now.mono, world->now); // counted anew
    world_pass_heard(world, 3 * WORLD_MAX_AGE_MS);
    assert_int_equal(breaks(world), 1);
    // The connection was proved in between, at least once.
    gate_outage(world->gate, world->now.mono - 1, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(breaks(world), 2);
    gate_outage(world->gate, 0, world->now);
    gate_outage(world->gate, world->now.mono, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(breaks(world), 3);
}

// The network was still for 20 s, and what was said on it comes back one by one.
WORLD_TEST(an_outage_that_ends_bit_by_bit_is_told_once) {
    world_to_working(world, "j-1");
    int64_t since = world->now.mono;
    gate_outage(world->gate, since, world->now);
    world_pass_heard(world, 4 * WORLD_MAX_AGE_MS);
    assert_int_equal(breaks(world), 1);
    world_acknowledge(world);
    for (; since < world->now.mono; since += 1000) {
        gate_outage(world->gate, since, world->now);
    }
    assert_int_equal(breaks(world), 1);
    assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,
                     MODEL_ALARM_ACKNOWLEDGED);
    // It is no longer too long, and becomes so once more.
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(breaks(world), 2);
    gate_outage(world->gate, 0, world->now);
}

// Killed and up again before anybody saw the connection down: what it counts from is the same.
WORLD_TEST(an_outage_counted_from_the_same_time_is_told_once) {
    world_to_working(world, "j-1");
    int64_t since = world->now.mono;
    gate_outage(world->gate, since, world->now);
    world_pass_heard(world, WORLD_MAX_AGE_MS + 1);
    assert_int_equal(breaks(world), 1);
    world_restart(world, 10);
    gate_outage(world->gate, since, world->now);
    world_pass_heard(world, 1000);
    assert_int_equal(breaks(world), 1);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(an_outage_longer_than_the_least_age_stops_the_work),
        cmocka_unit_test(the_least_of_the_ages_counts),
        cmocka_unit_test(without_sensors_it_is_thirty_seconds),
        cmocka_unit_test(while_stopped_it_raises_the_alarm),
        cmocka_unit_test(nobody_in_the_cabinet_nothing_breaks),
        cmocka_unit_test(a_topic_that_is_not_delivered_is_link_down_of_the_site),
        cmocka_unit_test(what_is_heard_leaves_the_connections_alarm),
        cmocka_unit_test(nothing_unproven_is_confirmed_before_the_link_is_up),
        cmocka_unit_test(an_outage_over_a_restart_is_told_once),
        cmocka_unit_test(an_outage_that_ends_bit_by_bit_is_told_once),
        cmocka_unit_test(an_outage_counted_from_the_same_time_is_told_once),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
