// The retained documents, for the broker: rendered when a commit begins, published when it is done.
//
// What is rendered waits here for the commit. It is published only if the broker was given nothing
// newer of the same document meanwhile: a break goes at once.
#include "turn/internal.h"

#include "base/array.h"
#include "wire/tell_differ.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Rendered at once at most; the rest when these are published.
#define RENDERED_MAX ((size_t)4 << 20)

// A document rendered and not yet published.
struct rendered {
    struct wire_document of; // its id, of an alarm or job, is this:
    char id[MODEL_ID_SIZE];
    uint64_t hash;          // 0: the topic is to be emptied
    size_t payload, length; // in turn_documents.text
};

struct turn_documents {
    struct wire_differ *differ;
    struct json_out text;
    struct rendered *items;
    size_t count, capacity;
};

struct turn_documents *turn_documents_new(const struct model *model) {
    struct turn_documents *documents = calloc(1, sizeof *documents);
    if (documents == NULL) {
        return NULL;
    }
    documents->differ = wire_differ_new(model);
    if (documents->differ == NULL) {
        free(documents);
        return NULL;
    }
    return documents;
}

void turn_documents_free(struct turn_documents *documents) {
    if (documents != NULL) {
        wire_differ_free(documents->differ);
        free(documents->items);
        json_out_free(&documents->text);
        free(documents);
    }
}

struct wire_differ *turn_differ(const struct turn *turn) {
    return turn->documents->differ;
}

// --- Rendering ---

static bool take(void *user, const struct wire_change *change) {
    struct turn_documents *documents = user;
    struct json_out *text = &documents->text;
    if (!BASE_ARRAY_ROOM(documents->items, documents->count, documents->capacity)) {
        return false;
    }
    struct rendered *item = &documents->items[documents->count];
    *item = (struct rendered){
        .of = change->of, .hash = change->hash, .payload = text->length, .length = change->length};
    snprintf(item->id, sizeof item->id, "%s", change->of.id);
    if (change->length > 0) {
        text->comma = false; // texts beside each other, not one value
        json_out_raw(text, change->text, change->length);
    }
    documents->count += !text->failed;
    return !text->failed;
}

// Rule (3, what is published): Documents wait for room. [turn-room-ignored]
void turn_documents_render(struct turn *turn) {
    struct turn_documents *documents = turn->documents;
    struct gate_time now = turn_now(turn);
    if (!turn->world->is_up(turn->user)) {
        return; // everything is published anew when it is up
    }
    size_t room = turn->world->room(turn->user);
    size_t most = room < RENDERED_MAX ? room : RENDERED_MAX;
    for (uint32_t s = 0; s < turn->model->site_count && documents->text.length < most; s++) {
        wire_differ_give(documents->differ, TELL_BROKER, turn->gate, s, now, take, documents);
    }
}

// --- Publishing ---

static bool publish(struct turn *turn, const struct wire_document *of, const char *text,
                    size_t length, bool urgent) {
    char topic[512];
    snprintf(topic, sizeof topic, "%s/%s/%s/%s", turn->model->root,
             turn->model->sites[of->site].site, wire_kind_name(of->kind), of->id);
    return turn_publish_retained(turn, topic, text, length, urgent);
}

// Rule (5, last paragraph; R3, R12): A position that went out again while its return was written is
// not said to be in service. [turn-return-told-after-a-stop]
static bool is_out_again(const struct turn *turn, const struct rendered *item, const char *text) {
    const struct model_site *site = &turn->model->sites[item->of.site];
    uint32_t position =
        item->of.kind == TELL_POSITION ? model_position_find(site, item->id) : MODEL_NONE;
    return position != MODEL_NONE && text != NULL &&
           turn->gate->sites[item->of.site].positions[position].service == MODEL_SERVICE_OUT &&
           memmem(text, item->length, "\"in-service\"", 12) != NULL;
}

// Rule (3, what is published): A document rendered before a break does not overwrite it.
// [turn-older-document-wins]
// Rule (3, what is published): A document that the broker did not take goes again.
// [turn-lost-document-forgotten]
void turn_documents_publish(struct turn *turn) {
    struct turn_documents *documents = turn->documents;
    for (size_t i = 0; i < documents->count; i++) {
        struct rendered *item = &documents->items[i];
        const char *text = item->hash != 0 ? documents->text.data + item->payload : NULL;
        item->of.id = item->id;
        bool newest = wire_differ_given(documents->differ, &item->of) == item->hash;
        if (newest && (is_out_again(turn, item, text) ||
                       !publish(turn, &item->of, text, item->length, false))) {
            wire_differ_lost(documents->differ, &item->of); // the link went, or there was no room
        }
    }
    documents->count = 0;
    json_out_reset(&documents->text);
}

static bool publish_urgent(void *user, const struct wire_change *change) {
    return publish(user, &change->of, change->text, change->length, true);
}

void turn_documents_publish_now(struct turn *turn, const struct gate_site *site,
                                const struct gate_alarm *alarm, const struct gate_job *job) {
    struct wire_differ *differ = turn->documents->differ;
    struct gate_time now = turn_now(turn);
    uint32_t index = site->model->index;
    if (alarm != NULL) {
        wire_differ_give_one(differ, TELL_BROKER, turn->gate, index, alarm, NULL, now,
                             publish_urgent, turn);
    }
    if (job != NULL) {
        wire_differ_give_one(differ, TELL_BROKER, turn->gate, index, NULL, job, now, publish_urgent,
                             turn);
    }
}

// Rule (3, what is published): A broker that is back is told every document.
// [turn-back-and-not-told]
// Rule (4, the answer): Answers wait until every document is published again.
// [turn-answers-ahead-of-documents]
void turn_documents_forget(struct turn *turn) {
    turn->documents->count = 0;
    json_out_reset(&turn->documents->text);
    wire_differ_lost_all(turn->documents->differ);
    turn->all_published = false;
    turn->publishing_anew = true;
}

void turn_documents_reset(struct turn *turn) {
    wire_differ_reset(turn->documents->differ);
}

void turn_settle(struct turn *turn) {
    turn->world->settled(turn->user);
    wire_differ_settle(turn->documents->differ);
}

bool turn_documents_current(const struct turn *turn) {
    const struct turn_documents *documents = turn->documents;
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        if (!wire_differ_is_current(documents->differ, TELL_BROKER, turn->gate, s)) {
            return false;
        }
    }
    return documents->count == 0;
}

bool turn_documents_complete(const struct turn *turn) {
    const struct turn_documents *documents = turn->documents;
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        if (!wire_differ_is_complete(documents->differ, TELL_BROKER, s)) {
            return false;
        }
    }
    return documents->count == 0;
}
