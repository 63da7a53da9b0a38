// Learns what the broker keeps under some filters, by subscribing to them for a moment.
//
// The filters are taken a few at a time: subscribe, wait for the SUBACK, unsubscribe, wait for the
// UNSUBACK. Messages are told apart from the others of the connection by a subscription identifier.
// A broker may send retained messages after both answers, so the end is only called when nothing
// has come for a while.
#include "mqtt/internal.h"

#include <mqtt_protocol.h>
#include <stdlib.h>
#include <string.h>

#define QUIET_MS 250
#define ANSWER_DEADLINE_MS 10000

static void wait_for_answer(struct survey *survey) {
    loop_timer_once(survey->timer, ANSWER_DEADLINE_MS);
}

static void wait_for_quiet(struct survey *survey) {
    loop_timer_once(survey->timer, QUIET_MS);
}

static void free_filters(struct survey *survey) {
    for (size_t i = 0; survey->filters != NULL && i < survey->count; i++) {
        free(survey->filters[i]);
    }
    free(survey->filters);
    survey->filters = NULL;
    survey->count = 0;
}

static void finish(struct mqtt *mqtt, bool complete) {
    struct survey *survey = &mqtt->survey;
    loop_timer_stop(survey->timer);
    free_filters(survey);
    survey->active = false;
    if (!mqtt->stopping) {
        survey->on_end(survey->user, complete); // may begin another
    }
}

void mqtt_survey_abort(struct mqtt *mqtt) {
    if (mqtt->survey.active) {
        finish(mqtt, false);
    }
}

static char **step_filters(struct survey *survey) {
    return survey->filters + survey->done;
}

static int subscribe(struct mqtt *mqtt, struct survey *survey) {
    mosquitto_property *properties = NULL;
    if (mosquitto_property_add_varint(&properties, MQTT_PROP_SUBSCRIPTION_IDENTIFIER,
                                      MQTT_SURVEY_IDENTIFIER) != MOSQ_ERR_SUCCESS) {
        return MOSQ_ERR_NOMEM;
    }
    // Not retain-as-published: so "retained" tells what was kept from what is published meanwhile.
    // At QoS 0, because a broker may drop what exceeds its queue of QoS 1 messages (1,000 is
    // usual).
    int code = mosquitto_subscribe_multiple(mqtt->links[MQTT_LIVE].client, &survey->mid,
                                            (int)survey->asked, step_filters(survey), 0,
                                            MQTT_SUB_OPT_NO_LOCAL, properties);
    mosquitto_property_free_all(&properties);
    return code;
}

// The step under way: subscribes, or unsubscribes what was subscribed.
static void ask(struct mqtt *mqtt) {
    struct survey *survey = &mqtt->survey;
    struct link *link = &mqtt->links[MQTT_LIVE];
    int code = survey->unsubscribing
                   ? mosquitto_unsubscribe_multiple(link->client, &survey->mid, (int)survey->asked,
                                                    step_filters(survey), NULL)
                   : subscribe(mqtt, survey);
    if (code != MOSQ_ERR_SUCCESS) {
        mqtt_link_break(link, MQTT_TROUBLE_LOST, "cannot survey: %s", mosquitto_strerror(code));
    }
    wait_for_answer(survey);
    mqtt_link_refresh(link);
}

static void next_step(struct mqtt *mqtt) {
    struct survey *survey = &mqtt->survey;
    size_t left = survey->count - survey->done;
    survey->asked = left < MQTT_SURVEY_CHUNK ? left : MQTT_SURVEY_CHUNK;
    if (left == 0) {
        wait_for_quiet(survey);
    } else {
        ask(mqtt);
    }
}

void mqtt_survey_answered(struct mqtt *mqtt) {
    struct survey *survey = &mqtt->survey;
    const struct answers *answers = &mqtt->links[MQTT_LIVE].answers;
    if (!survey->active || answers->subscribe_mid != survey->mid) {
        return;
    }
    if (survey->unsubscribing) {
        survey->unsubscribing = false;
        survey->done += survey->asked;
        next_step(mqtt);
        return;
    }
    for (int i = 0; i < answers->granted_count; i++) {
        survey->complete = survey->complete && answers->granted[i] < MQTT_RC_UNSPECIFIED;
    }
    survey->unsubscribing = true;
    ask(mqtt);
}

void mqtt_survey_message(struct mqtt *mqtt, const struct mqtt_message *message) {
    struct survey *survey = &mqtt->survey;
    if (!survey->active) {
        return;
    }
    if (survey->done == survey->count) {
        wait_for_quiet(survey);
    }
    if (message->retained) {
        survey->on_retained(survey->user, message);
    }
}

static void on_timer(void *user) {
    struct mqtt *mqtt = user;
    const struct survey *survey = &mqtt->survey;
    if (survey->done == survey->count) {
        finish(mqtt, survey->complete);
    } else if (survey->asked == 0) {
        next_step(mqtt); // the first one
    } else {
        mqtt_link_break(&mqtt->links[MQTT_LIVE], MQTT_TROUBLE_LOST, "no answer to a survey");
    }
}

bool mqtt_survey_open(struct mqtt *mqtt) {
    mqtt->survey.timer = loop_timer_new(mqtt->loop, on_timer, mqtt);
    return mqtt->survey.timer != NULL;
}

void mqtt_survey_close(struct mqtt *mqtt) {
    free_filters(&mqtt->survey);
    mqtt->survey.active = false;
    loop_timer_free(mqtt->survey.timer);
}

static bool copy_filters(struct survey *survey, const char *const *filters, size_t count) {
    survey->filters = calloc(count + 1, sizeof(char *));
    survey->count = 0;
    for (size_t i = 0; survey->filters != NULL && i < count; i++) {
        survey->filters[i] = strdup(filters[i]);
        if (survey->filters[i] == NULL) {
            free_filters(survey);
        } else {
            survey->count++;
        }
    }
    return survey->filters != NULL;
}

// The first step goes out at once, ahead of whatever is published next: what is kept is to be told
// before it is written over. Where it cannot, the loop takes it up, so that no callback runs inside
// mqtt_survey.
static void begin(struct mqtt *mqtt) {
    struct survey *survey = &mqtt->survey;
    survey->asked = survey->count < MQTT_SURVEY_CHUNK ? survey->count : MQTT_SURVEY_CHUNK;
    if (survey->count > 0 && subscribe(mqtt, survey) == MOSQ_ERR_SUCCESS) {
        wait_for_answer(survey);
        mqtt_link_refresh(&mqtt->links[MQTT_LIVE]);
    } else {
        survey->asked = 0;
        loop_timer_soon(survey->timer);
    }
}

bool mqtt_survey(struct mqtt *mqtt, const char *const *filters, size_t count,
                 void (*on_retained)(void *user, const struct mqtt_message *message),
                 void (*on_end)(void *user, bool complete), void *user) {
    struct survey *survey = &mqtt->survey;
    if (survey->active || !mqtt_up(mqtt, MQTT_LIVE) || !copy_filters(survey, filters, count)) {
        return false;
    }
    survey->active = true;
    survey->complete = true;
    survey->done = 0;
    survey->unsubscribing = false;
    survey->on_retained = on_retained;
    survey->on_end = on_end;
    survey->user = user;
    begin(mqtt);
    return true;
}
