// What one transaction writes; see batch.h.
#include "turn/batch.h"

#include "base/array.h"

#include <stdlib.h>
#include <string.h>

// Adds a text; *at is where it stands. False: no memory.
static bool add_text(struct turn_batch *batch, const char *text, size_t length, size_t *at) {
    *at = batch->text.length;
    batch->text.comma = false; // texts beside each other, not one value
    json_out_raw(&batch->text, text, length);
    return !batch->text.failed;
}

bool turn_batch_record(struct turn_batch *batch, const struct turn_record *record,
                       const struct json_out *data) {
    size_t at;
    if (!BASE_ARRAY_ROOM(batch->records, batch->record_count, batch->record_capacity) ||
        !add_text(batch, data->data, data->length, &at)) {
        return false;
    }
    struct turn_record *entry = &batch->records[batch->record_count++];
    *entry = *record;
    entry->data = at;
    entry->length = data->length;
    return true;
}

bool turn_batch_remember(struct turn_batch *batch, const struct turn_remembered *remembered,
                         const struct json_out *answer) {
    size_t at;
    if (!BASE_ARRAY_ROOM(batch->remembered, batch->remembered_count, batch->remembered_capacity) ||
        !add_text(batch, answer->data, answer->length, &at)) {
        return false;
    }
    struct turn_remembered *entry = &batch->remembered[batch->remembered_count++];
    *entry = *remembered;
    entry->answer = at;
    entry->length = answer->length;
    return true;
}

// Rule (4, the answer): A request id is its person's own. [turn-id-of-anybody]
const struct turn_remembered *turn_batch_find(const struct turn_batch *batch, uint32_t site,
                                              const char *person, const char *id) {
    for (size_t i = 0; i < batch->remembered_count; i++) {
        const struct turn_remembered *entry = &batch->remembered[i];
        if (entry->site == site && strcmp(entry->person, person) == 0 &&
            strcmp(entry->id, id) == 0) {
            return entry;
        }
    }
    return NULL;
}

bool turn_batch_empty(const struct turn_batch *batch) {
    return batch->record_count == 0 && batch->remembered_count == 0;
}

void turn_batch_clear(struct turn_batch *batch) {
    batch->record_count = batch->remembered_count = 0;
    json_out_reset(&batch->text);
}

void turn_batch_free(struct turn_batch *batch) {
    free(batch->records);
    free(batch->remembered);
    json_out_free(&batch->text);
    *batch = (struct turn_batch){0};
}

// Rule (4, the answer; 5, last paragraph): Merged batches keep every fact with its own text.
// [turn-merged-text-misplaced]
// Rule (4, the answer; 5, last paragraph): Merged batches keep every request with its own answer.
// [turn-merged-answer-misplaced]
static bool merge_behind(struct turn_batch *to, const struct turn_batch *from) {
    size_t base;
    if (!BASE_ARRAY_RESERVE(to->records, to->record_count, from->record_count,
                            to->record_capacity) ||
        !BASE_ARRAY_RESERVE(to->remembered, to->remembered_count, from->remembered_count,
                            to->remembered_capacity) ||
        !add_text(to, from->text.data, from->text.length, &base)) {
        return false;
    }
    for (size_t i = 0; i < from->record_count; i++) {
        to->records[to->record_count] = from->records[i];
        to->records[to->record_count++].data += base;
    }
    for (size_t i = 0; i < from->remembered_count; i++) {
        to->remembered[to->remembered_count] = from->remembered[i];
        to->remembered[to->remembered_count++].answer += base;
    }
    return true;
}

bool turn_batch_merge(struct turn_batch *to, struct turn_batch *from) {
    if (turn_batch_empty(from)) {
        return true;
    }
    if (turn_batch_empty(to)) {
        struct turn_batch swap = *to;
        *to = *from;
        *from = swap;
    } else if (!merge_behind(to, from)) {
        return false;
    }
    turn_batch_clear(from);
    return true;
}
