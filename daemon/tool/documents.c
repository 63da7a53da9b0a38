// The daemon's retained documents.
#include "tool/documents.h"

#include "base/array.h"
#include "base/time_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// A job's document with long lists may be longer than a message to the daemon may.
static const struct json_limits limits = {.max_length = 1024 * 1024, .max_depth = 16};

static void drop(struct document *document) {
    json_tape_free(&document->tape);
    free(document->payload);
    document->payload = NULL;
}

static void drop_all(struct document_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        drop(&list->items[i]);
    }
    free(list->items);
    *list = (struct document_list){0};
}

void tool_documents_free(struct documents *documents) {
    drop(&documents->daemon);
    drop_all(&documents->jobs);
    drop_all(&documents->points);
}

static bool keep(struct document *document, const char *payload, size_t length) {
    drop(document);
    if (length == 0) {
        return true;
    }
    document->payload = malloc(length + 1);
    if (document->payload == NULL) {
        return false;
    }
    memcpy(document->payload, payload, length);
    document->payload[length] = '\0';
    json_scan(&document->tape, document->payload, length, &limits, NULL); // else its root is NULL
    return true;
}

static struct document *find(const struct document_list *list, uint32_t site, const char *id) {
    for (size_t i = 0; i < list->count; i++) {
        if (list->items[i].site == site && strcmp(list->items[i].id, id) == 0) {
            return &list->items[i];
        }
    }
    return NULL;
}

// The place of a document in a list, made where it is new. NULL: no memory.
static struct document *place(struct document_list *list, uint32_t site, const char *id) {
    struct document *found = find(list, site, id);
    if (found != NULL) {
        return found;
    }
    if (!BASE_ARRAY_ROOM(list->items, list->count, list->capacity)) {
        return NULL;
    }
    found = &list->items[list->count++];
    memset(found, 0, sizeof *found);
    found->site = site;
    snprintf(found->id, sizeof found->id, "%s", id);
    return found;
}

// The next level of a topic as an id, and behind its "/". False: it is none.
static bool level(const char **topic, char id[MODEL_ID_SIZE]) {
    size_t length = strcspn(*topic, "/");
    if (!model_id_valid(*topic, length)) {
        return false;
    }
    memcpy(id, *topic, length);
    id[length] = '\0';
    *topic += length + ((*topic)[length] == '/');
    return true;
}

static void take_of_site(struct documents *documents, const struct model_site *site,
                         const char *kind, const char *id, const char *payload, size_t length) {
    struct document *document = NULL;
    bool known = false;
    if (strcmp(kind, "job") == 0 && strcmp(id, documents->job) == 0) {
        known = true;
        document = place(&documents->jobs, site->index, id);
    } else if (strcmp(kind, "point") == 0 && model_point_find(site, id) != MODEL_NONE) {
        known = true;
        document = place(&documents->points, site->index, id);
    }
    if (known && (document == NULL || !keep(document, payload, length))) {
        documents->failed = true;
    }
}

void tool_documents_take(struct documents *documents, const char *topic, const char *payload,
                         size_t length) {
    const struct model *model = documents->model;
    size_t root = strlen(model->root);
    char first[MODEL_ID_SIZE], kind[MODEL_ID_SIZE], id[MODEL_ID_SIZE];
    if (strncmp(topic, model->root, root) != 0 || topic[root] != '/') {
        return;
    }
    topic += root + 1;
    if (!level(&topic, first) || !level(&topic, kind)) {
        return;
    }
    if (strcmp(first, "daemon") == 0 && strcmp(kind, model->instance) == 0 && topic[0] == '\0') {
        documents->failed |= !keep(&documents->daemon, payload, length);
        return;
    }
    const struct model_site *site = model_site_find(model, first);
    if (site != NULL && level(&topic, id) && topic[0] == '\0' &&
        (documents->only_site == MODEL_NONE || documents->only_site == site->index)) {
        take_of_site(documents, site, kind, id, payload, length);
    }
}

const struct document *tool_documents_point(const struct documents *documents, uint32_t site,
                                            const char *point) {
    return find(&documents->points, site, point);
}

// --- Reading one ---

const struct json_node *tool_document_root(const struct document *document) {
    const struct json_node *root =
        document != NULL && document->payload != NULL ? json_root(&document->tape) : NULL;
    return root != NULL && root->kind == JSON_OBJECT ? root : NULL;
}

void tool_document_text(const struct document *document, const struct json_node *object,
                        const char *name, char *buffer, size_t size) {
    const struct json_node *node =
        object != NULL ? json_present(&document->tape, object, name) : NULL;
    buffer[0] = '\0';
    if (node != NULL) {
        json_copy(&document->tape, node, buffer, size);
    }
}

int64_t tool_document_time(const struct document *document, const struct json_node *object,
                           const char *name) {
    char text[64];
    int64_t at = 0;
    tool_document_text(document, object, name, text, sizeof text);
    return base_time_parse(text, strlen(text), &at) ? at : 0;
}

bool tool_document_flag(const struct document *document, const struct json_node *object,
                        const char *name) {
    const struct json_node *node =
        object != NULL ? json_present(&document->tape, object, name) : NULL;
    return node != NULL && node->kind == JSON_TRUE;
}

bool tool_document_says(const struct document *document, const struct json_node *object,
                        const char *name, const char *text) {
    const struct json_node *node =
        object != NULL ? json_present(&document->tape, object, name) : NULL;
    return node != NULL && node->kind == JSON_STRING && json_equals(&document->tape, node, text);
}
