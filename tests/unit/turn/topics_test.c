// Whether what is subscribed to is delivered.
#include "rig.h"

#include <string.h>

#define SIGNAL "forelock/juniper/signal/_pulse"
#define TAGGING "forelock/juniper/tagging/_pulse"
#define REQUEST "forelock/juniper/request/_pulse/_pulse"

static const struct gate_site *site_of(const struct rig *rig) {
    return &turn_gate(rig->turn)->sites[0];
}

static bool has_alarm(const struct rig *rig, const char *subject) {
    for (size_t i = 0; i < site_of(rig)->alarm_count; i++) {
        const struct gate_alarm *alarm = &site_of(rig)->alarms[i];
        if (alarm->kind == MODEL_ALARM_LINK_DOWN && strcmp(alarm->subject, subject) == 0) {
            return alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED;
        }
    }
    return false;
}

static void seconds(struct rig *rig, int count) {
    for (int i = 0; i < count; i++) {
        rig_pass(rig, 1000);
        turn_second(rig->turn);
        rig_settle(rig);
    }
}

// Of what was said, this does not come back.
static void lose(struct rig *rig, const char *topic) {
    for (size_t i = 0; i < rig->word_count; i++) {
        if (strcmp(rig->words[i].topic, topic) == 0) {
            rig->words[i] = rig->words[--rig->word_count];
        }
    }
}

// A connection comes up; the word on one topic does not come back, the pulses do.
static void connect_losing(struct rig *rig, enum gate_connection which, const char *topic) {
    rig_disconnect(rig, which);
    turn_connection(rig->turn, which, true, true);
    struct rig_word pulse = rig->words[0];
    rig->word_count = 0;
    assert_true(turn_hear_own(rig->turn, which, pulse.topic, pulse.payload, strlen(pulse.payload)));
    assert_true(rig->word_count > 0);
    lose(rig, topic);
    rig_settle(rig);
}

static void on_connecting_a_word_is_said_on_each_topic(void **state) {
    (void)state;
    struct rig *rig = rig_new_down();
    rig_connect(rig, GATE_DURABLE);
    assert_int_equal(rig_count(rig, "say " TAGGING), 1);
    assert_int_equal(rig_count(rig, "say " REQUEST), 1);
    assert_int_equal(rig_count(rig, "say " SIGNAL), 0);
    rig_connect(rig, GATE_LIVE);
    assert_int_equal(rig_count(rig, "say " SIGNAL), 1);
    rig_free(rig);
}

RIG_TEST(the_word_is_said_again_once_a_minute) {
    seconds(rig, 120);
    assert_int_equal(rig_count(rig, "say " SIGNAL), 2);
    assert_int_equal(rig_count(rig, "say " TAGGING), 2);
    assert_int_equal(rig_count(rig, "say " REQUEST), 2);
    assert_int_equal(site_of(rig)->alarm_count, 0);
}

RIG_TEST(a_word_that_does_not_come_back_is_link_down_of_its_site) {
    connect_losing(rig, GATE_DURABLE, TAGGING);
    assert_int_equal(site_of(rig)->unheard, 0);
    seconds(rig, 5);
    assert_int_equal(site_of(rig)->unheard, 0);
    seconds(rig, 1);
    assert_int_equal(site_of(rig)->unheard, 1);
    assert_true(has_alarm(rig, "juniper/tagging/_pulse"));
    assert_false(has_alarm(rig, "juniper/request/_pulse/_pulse"));
    // The connection itself is up, and nothing ends it.
    assert_true(turn_view(rig->turn).link_up);
    seconds(rig, 60); // said again, and heard
    assert_int_equal(site_of(rig)->unheard, 0);
    assert_false(has_alarm(rig, "juniper/tagging/_pulse"));
}

// There are brokers that end the connection over what they deny.
RIG_TEST(a_word_over_which_the_connection_ends_is_lost_and_not_said_on) {
    for (int i = 0; i < 2; i++) {
        connect_losing(rig, GATE_DURABLE, REQUEST);
        assert_int_equal(site_of(rig)->unheard, 0);
    }
    rig_disconnect(rig, GATE_DURABLE);
    rig_forget(rig);
    rig_connect(rig, GATE_DURABLE);
    seconds(rig, 90);
    assert_int_equal(rig_count(rig, "say " REQUEST), 0);
    assert_true(rig_count(rig, "say " TAGGING) > 0);
    assert_true(has_alarm(rig, "juniper/request/_pulse/_pulse"));
    assert_int_equal(site_of(rig)->unheard, 1);
    // It went down without the word: the rules may be others now.
    rig_disconnect(rig, GATE_DURABLE);
    rig_connect(rig, GATE_DURABLE);
    seconds(rig, 1);
    assert_int_equal(rig_count(rig, "say " REQUEST), 1);
    assert_int_equal(site_of(rig)->unheard, 0);
}

// It is told of the connection, not of each topic.
RIG_TEST(of_a_connection_that_is_down_no_word_is_missed) {
    rig->mute[GATE_DURABLE] = true;
    seconds(rig, 70);
    assert_false(turn_view(rig->turn).link_up);
    assert_int_equal(site_of(rig)->unheard, 0);
    assert_false(has_alarm(rig, "juniper/tagging/_pulse"));
}

RIG_TEST(a_subscription_that_is_refused_is_link_down) {
    rig_disconnect(rig, GATE_LIVE);
    turn_denied(rig->turn, GATE_LIVE, "forelock/juniper/signal/+");
    turn_denied(rig->turn, GATE_LIVE, "forelock/juniper/controller/+");
    turn_denied(rig->turn, GATE_LIVE, "plant/+/panel/+");
    turn_denied(rig->turn, GATE_LIVE, "forelock/elsewhere/signal/+");
    rig_connect(rig, GATE_LIVE);
    assert_true(site_of(rig)->unheard >= 3);
    seconds(rig, 1);
    assert_true(has_alarm(rig, "juniper/signal/_pulse"));
    assert_true(has_alarm(rig, "juniper/controller/+"));
    assert_true(has_alarm(rig, "plant/+/panel/+"));
    assert_true(site_of(rig)->unheard >= 3);
    // Asked for anew, it is granted.
    rig_disconnect(rig, GATE_LIVE);
    rig_connect(rig, GATE_LIVE);
    seconds(rig, 1);
    assert_int_equal(site_of(rig)->unheard, 0);
    assert_false(has_alarm(rig, "juniper/signal/_pulse"));
}

RIG_TEST(it_outlives_a_commit_that_failed) {
    turn_denied(rig->turn, GATE_LIVE, "forelock/juniper/signal/+");
    seconds(rig, 1);
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_turn(rig);
    rig_commit(rig, TURN_NOT_WRITTEN);
    assert_int_equal(site_of(rig)->unheard, 1);
}

RIG_TEST(words_of_others_are_no_signals) {
    static const char other[] = "{\"boot\":\"boot-2\",\"n\":1}";
    assert_true(turn_hear_own(rig->turn, GATE_LIVE, SIGNAL, other, sizeof other - 1));
    assert_false(turn_hear_own(rig->turn, GATE_LIVE, "forelock/juniper/signal/3-power", other,
                               sizeof other - 1));
    assert_false(turn_hear_own(rig->turn, GATE_LIVE, "forelock/elsewhere/signal/_pulse", other, 1));
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(on_connecting_a_word_is_said_on_each_topic),
        cmocka_unit_test(the_word_is_said_again_once_a_minute),
        cmocka_unit_test(a_word_that_does_not_come_back_is_link_down_of_its_site),
        cmocka_unit_test(a_word_over_which_the_connection_ends_is_lost_and_not_said_on),
        cmocka_unit_test(of_a_connection_that_is_down_no_word_is_missed),
        cmocka_unit_test(a_subscription_that_is_refused_is_link_down),
        cmocka_unit_test(it_outlives_a_commit_that_failed),
        cmocka_unit_test(words_of_others_are_no_signals),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
