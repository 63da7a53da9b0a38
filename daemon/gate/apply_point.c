// Applying facts about points (their state, locks and words), alarms and positions.
#include "gate/apply.h"

#include <stdlib.h>

static void tag_remove(struct gate_point *point, struct gate_tag *tag) {
    size_t index = (size_t)(tag - point->tags);
    memmove(tag, tag + 1, (point->tag_count - index - 1) * sizeof *tag);
    point->tag_count--;
}

static const char *owner_of(const struct gate_fact *fact) {
    return fact->person != NULL ? fact->person : fact->badge;
}

static struct gate_tag *tag_for(struct gate_site *site, uint32_t index,
                                const struct gate_fact *fact) {
    struct gate_tag *tag = gate_tag_find(site, index, fact->job, owner_of(fact));
    if (tag != NULL) {
        return tag;
    }
    struct gate_point *point = &site->points[index];
    struct gate_tag *tags = realloc(point->tags, (point->tag_count + 1) * sizeof *tags);
    if (tags == NULL) {
        return NULL;
    }
    point->tags = tags;
    tag = &tags[point->tag_count++];
    memset(tag, 0, sizeof *tag);
    gate_id_copy(tag->job, fact->job);
    gate_id_copy(tag->person, fact->person);
    gate_id_copy(tag->badge, fact->badge);
    return tag;
}

static bool apply_hung(struct gate_site *site, uint32_t index, const struct gate_fact *fact) {
    if (fact->adopted) {
        struct gate_tag *loose = gate_tag_find(site, index, "", owner_of(fact));
        if (loose != NULL) {
            tag_remove(&site->points[index], loose);
        }
    }
    struct gate_tag *tag = tag_for(site, index, fact);
    if (tag == NULL) {
        return false;
    }
    tag->since = fact->at;
    if (fact->hung != 0 && fact->hung < fact->at.wall) {
        tag->since.line -= fact->at.wall - fact->hung;
        tag->since.wall = fact->hung;
    }
    tag->counts = fact->has_counts && fact->counts;
    gate_void_tests_under(site, index);
    return true;
}

static void word_free(struct gate_word *word) {
    free(word->jobs);
    memset(word, 0, sizeof *word);
}

static bool word_set(struct gate_word *word, const struct gate_fact *fact) {
    char(*jobs)[MODEL_ID_SIZE] = NULL;
    if (fact->job_count > 0) {
        jobs = calloc(fact->job_count, sizeof *jobs);
        if (jobs == NULL) {
            return false;
        }
    }
    for (size_t i = 0; i < fact->job_count; i++) {
        gate_id_copy(jobs[i], fact->jobs[i]);
    }
    word_free(word);
    gate_id_copy(word->person, fact->person);
    word->at = fact->at;
    word->overseer = fact->has_overseer && fact->overseer;
    word->jobs = jobs;
    word->job_count = fact->job_count;
    return true;
}

static void words_end(struct gate_point *point) {
    for (size_t i = 0; i < point->word_count; i++) {
        word_free(&point->words[i]);
    }
    point->word_count = 0;
    point->has_live_word = false;
    word_free(&point->live_word);
}

static bool apply_isolated_word(struct gate_point *point, const struct gate_fact *fact) {
    point->has_live_word = false;
    word_free(&point->live_word);
    for (size_t i = 0; i < point->word_count; i++) {
        if (gate_same(point->words[i].person, fact->person)) {
            return word_set(&point->words[i], fact);
        }
    }
    struct gate_word *words = realloc(point->words, (point->word_count + 1) * sizeof *words);
    if (words == NULL) {
        return false;
    }
    point->words = words;
    memset(&words[point->word_count], 0, sizeof *words);
    return word_set(&words[point->word_count++], fact);
}

static bool apply_word(struct gate_point *point, const struct gate_fact *fact) {
    if (fact->state == MODEL_POINT_ISOLATED) {
        return apply_isolated_word(point, fact);
    }
    words_end(point);
    point->has_live_word = true;
    point->last_live = fact->at;
    return word_set(&point->live_word, fact);
}

static bool apply_changed(struct gate_point *point, const struct gate_fact *fact) {
    if (point->state != fact->state) {
        point->since = fact->at;
    }
    if (point->state == MODEL_POINT_LIVE || fact->state == MODEL_POINT_LIVE) {
        point->last_live = fact->at;
    }
    point->state = fact->state;
    point->trust = fact->trust;
    return true;
}

bool gate_apply_point(struct gate_site *site, uint32_t index, const struct gate_fact *fact) {
    struct gate_point *point = &site->points[index];
    struct gate_tag *tag = NULL;
    switch (fact->type) {
    case GATE_FACT_TAG_HUNG:
        return apply_hung(site, index, fact);
    case GATE_FACT_TAG_LIFTED:
        tag = gate_tag_find(site, index, fact->job, owner_of(fact));
        if (tag != NULL) {
            tag_remove(point, tag);
        }
        return true;
    case GATE_FACT_TAG_DISCOUNTED:
        tag = gate_tag_find(site, index, fact->job, owner_of(fact));
        if (tag != NULL) {
            tag->counts = false;
        }
        return true;
    case GATE_FACT_POINT_WITNESSED:
        return apply_word(point, fact);
    case GATE_FACT_POINT_CHANGED:
        return apply_changed(point, fact);
    default:
        return true;
    }
}

// --- Alarms ---

static struct gate_alarm *alarm_new(struct gate_site *site, const char *id) {
    struct gate_alarm *alarms = realloc(site->alarms, (site->alarm_count + 1) * sizeof *alarms);
    if (alarms == NULL) {
        return NULL;
    }
    site->alarms = alarms;
    struct gate_alarm *alarm = &alarms[site->alarm_count++];
    memset(alarm, 0, sizeof *alarm);
    gate_id_copy(alarm->alarm, id);
    site->alarms_raised++;
    return alarm;
}

static bool apply_raised(struct gate_site *site, const struct gate_fact *fact) {
    struct gate_alarm *alarm = gate_alarm_find(site, fact->alarm);
    if (alarm == NULL) {
        alarm = alarm_new(site, fact->alarm);
    }
    if (alarm == NULL) {
        return false;
    }
    alarm->kind = fact->kind;
    alarm->state = fact->alarm_state;
    alarm->raised = fact->at;
    alarm->has_why = fact->has_why;
    alarm->why = fact->why;
    alarm->position =
        fact->position != NULL ? model_position_find(site->model, fact->position) : MODEL_NONE;
    gate_id_copy(alarm->job, fact->job);
    gate_id_copy(alarm->point, fact->point);
    gate_id_copy(alarm->person, fact->person);
    gate_text(alarm->say, sizeof alarm->say, "%s", fact->say != NULL ? fact->say : "");
    return true;
}

bool gate_apply_alarm(struct gate_site *site, const struct gate_fact *fact) {
    if (fact->type == GATE_FACT_ALARM_RAISED) {
        return apply_raised(site, fact);
    }
    struct gate_alarm *alarm = gate_alarm_find(site, fact->alarm);
    if (alarm == NULL) {
        return true;
    }
    alarm->state = fact->alarm_state;
    if (alarm->state == MODEL_ALARM_GONE) {
        size_t index = (size_t)(alarm - site->alarms);
        memmove(alarm, alarm + 1, (site->alarm_count - index - 1) * sizeof *alarm);
        site->alarm_count--;
    }
    return true;
}

// --- Positions ---

bool gate_apply_position(struct gate_site *site, const struct gate_fact *fact) {
    uint32_t index = model_position_find(site->model, fact->position);
    if (index != MODEL_NONE) {
        struct gate_position *position = &site->positions[index];
        position->service =
            fact->type == GATE_FACT_POSITION_RETURNED ? MODEL_SERVICE_IN : MODEL_SERVICE_OUT;
        position->since = fact->at;
    }
    return true;
}

// --- The daemon came up ---

static void start_point(struct gate_site *site, uint32_t index, struct gate_time at) {
    const struct model_point *model = &site->model->points[index];
    struct gate_point *point = &site->points[index];
    if (point->since.wall == 0) {
        point->since = at;
    }
    if (model->sensor_count == 0) {
        return; // words survive
    }
    if (point->state != MODEL_POINT_UNKNOWN) {
        point->since = at;
    }
    point->state = MODEL_POINT_UNKNOWN;
    point->trust =
        model->controller != MODEL_NONE ? MODEL_TRUST_CONTROLLER_OFFLINE : MODEL_TRUST_SILENT;
}

void gate_apply_started(struct gate *gate, const struct gate_fact *fact) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        struct gate_site *site = &gate->sites[s];
        for (uint32_t p = 0; p < site->model->point_count; p++) {
            start_point(site, p, fact->at);
        }
        for (uint32_t p = 0; p < site->model->position_count; p++) {
            if (site->positions[p].since.wall == 0) {
                site->positions[p].since = fact->at;
            }
        }
        for (size_t i = 0; i < site->job_count; i++) {
            if (site->jobs[i]->hold == GATE_HOLD_HELD) {
                site->jobs[i]->hold = GATE_HOLD_UNPROVEN;
            }
        }
    }
}
