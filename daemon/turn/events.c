// Events: published in the journal's order after the commit, and what was missed before them.
#include "turn/internal.h"

#include <stdio.h>

// Whether the record is done with: published, or no event at all.
// Rule (3, what is published): An event waits for room, and those behind it.
// [turn-event-without-room]
static bool publish_event(void *user, const struct wire_record *record) {
    struct turn *turn = user;
    bool done = !gate_fact_published(gate_fact_of(record->type)) || record->site == NULL;
    if (!done) {
        char topic[512];
        snprintf(topic, sizeof topic, "%s/%s/event", turn->model->root, record->site);
        json_out_reset(&turn->event);
        struct turn_publication publication = {
            .topic = topic, .content_type = "application/cloudevents+json", .number = record->seq};
        if (wire_event(&turn->event, record)) {
            publication.payload = turn->event.data;
            publication.length = turn->event.length;
            done =
                turn->world->room(turn->user) > 0 && turn->world->publish(turn->user, &publication);
        }
    }
    if (done) {
        turn->next_event = record->seq + 1;
    }
    return done;
}

static struct wire_record record_of(const struct turn *turn, size_t index, uint64_t first) {
    const struct turn_batch *batch = &turn->commit.batch;
    const struct turn_record *record = &batch->records[index];
    return (struct wire_record){
        .seq = first + index,
        .at = record->at.wall,
        .site = record->site != MODEL_NONE ? turn->model->sites[record->site].site : NULL,
        .type = gate_fact_name(record->type),
        .subject = record->subject,
        .data = batch->text.data + record->data,
        .data_length = record->length};
}

// Rule (3, what is published): Events that the broker missed are told, before the newer ones.
// [turn-missed-events-lost]
void turn_publish_events(struct turn *turn) {
    const struct turn_batch *batch = &turn->commit.batch;
    uint64_t first = turn->next_seq - batch->record_count;
    if (!turn->world->is_up(turn->user) || turn->next_event >= turn->next_seq) {
        return;
    }
    if (turn->next_event < first) { // what was missed while the broker was away
        turn->world->each_record(turn->user, turn->next_event, publish_event, turn);
        return;
    }
    for (size_t i = (size_t)(turn->next_event - first); i < batch->record_count; i++) {
        struct wire_record record = record_of(turn, i, first);
        if (!publish_event(turn, &record)) {
            return;
        }
    }
}

// Rule (4, the answer; 5, last paragraph): An event counts as published when the broker has
// confirmed it. [turn-unconfirmed-counted]
int64_t turn_published(const struct turn *turn) {
    uint64_t oldest = turn->world->oldest(turn->user);
    return (int64_t)(oldest != 0 ? oldest : turn->next_event) - 1;
}

void turn_stream_events(struct turn *turn) {
    const struct turn_batch *batch = &turn->commit.batch;
    uint64_t first = turn->next_seq - batch->record_count;
    for (size_t i = 0; i < batch->record_count; i++) {
        if (batch->records[i].site != MODEL_NONE) {
            struct wire_record record = record_of(turn, i, first);
            turn->world->stream_event(turn->user, batch->records[i].site, &record);
        }
    }
}
