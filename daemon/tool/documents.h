// The daemon's retained documents as the broker gave them.
#pragma once

#include "model/model.h"
#include "json/json.h"

// One document. An empty one was never had, or was taken back.
struct document {
    char id[MODEL_ID_SIZE]; // of a point or job
    uint32_t site;          // index in the model
    char *payload;          // owned
    struct json_tape tape;  // of the payload; root NULL: it is no JSON object
};

struct document_list {
    struct document *items;
    size_t count, capacity;
};

// Zero-initialize it, give it model and job, end it with tool_documents_free.
struct documents {
    const struct model *model;
    const char *job;    // the id asked for
    uint32_t only_site; // MODEL_NONE: any
    struct document daemon;
    struct document_list jobs;   // one a site that has such a job
    struct document_list points; // of the sites subscribed
    bool failed;                 // no memory
};
void tool_documents_free(struct documents *documents);
// Takes what the broker sent on a topic; the newest counts, an empty payload takes it back. What is
// on another topic, or of another daemon's site, is passed over.
void tool_documents_take(struct documents *documents, const char *topic, const char *payload,
                         size_t length);
// A point's document, or NULL.
const struct document *tool_documents_point(const struct documents *documents, uint32_t site,
                                            const char *point);

// The whole document as a node; NULL: it was not had or is no object.
const struct json_node *tool_document_root(const struct document *document);
// A member's text; "" where it is absent, null, no text or longer than size.
void tool_document_text(const struct document *document, const struct json_node *object,
                        const char *name, char *buffer, size_t size);
// A member's instant in Unix ms; 0: there is none.
int64_t tool_document_time(const struct document *document, const struct json_node *object,
                           const char *name);
// Whether a member is true.
bool tool_document_flag(const struct document *document, const struct json_node *object,
                        const char *name);
// Whether a member is this text.
bool tool_document_says(const struct document *document, const struct json_node *object,
                        const char *name, const char *text);
