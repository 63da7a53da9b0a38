// The differ's lists of what comes and goes, and the texts that it keeps.
#include "wire/tell_differ_internal.h"

#include "base/array.h"

#include <string.h>

struct wire_listed *wire_list_find(const struct wire_list *list, const char *id) {
    for (size_t i = list->count; i-- > 0;) { // the last ones are those that change
        if (strcmp(list->items[i].id, id) == 0) {
            return &list->items[i];
        }
    }
    return NULL;
}

struct wire_listed *wire_list_add(struct wire_list *list, size_t hint, const char *id) {
    if (hint < list->count && strcmp(list->items[hint].id, id) == 0) {
        return &list->items[hint];
    }
    struct wire_listed *listed = wire_list_find(list, id);
    if (listed != NULL) {
        return listed;
    }
    if (!BASE_ARRAY_ROOM(list->items, list->count, list->capacity)) {
        return NULL;
    }
    listed = &list->items[list->count++];
    *listed = (struct wire_listed){0};
    memcpy(listed->id, id, strnlen(id, sizeof listed->id - 1));
    return listed;
}

// Rule (3, what is published): What is gone is remembered until every stream knows.
// [differ-gone-forgotten]
// Rule (3, what is published): What is gone is forgotten when every stream knows.
// [differ-gone-remembered-for-ever]
void wire_list_tidy(struct wire_list *list, bool streamed) {
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        const struct wire_listed *listed = &list->items[i];
        bool known = listed->streamed.given == 0 && (!streamed || listed->streamed.version == 0);
        if (listed->rendered.hash != 0 || listed->rendered.broker != 0 || !known) {
            if (kept != i) {
                list->items[kept] = *listed;
            }
            kept++;
        }
    }
    list->count = kept;
}

void wire_list_unstream(struct wire_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        list->items[i].streamed = (struct wire_streamed){0};
    }
}

// --- Texts ---

uint64_t wire_text_keep(struct wire_differ *differ) {
    struct json_out *text = &differ->kept.text;
    uint64_t place = differ->kept.first + text->length;
    text->comma = false;
    json_out_raw(text, differ->out.data, differ->out.length + 1);
    return text->failed ? 0 : place;
}

const char *wire_text_at(const struct wire_differ *differ, uint64_t place) {
    const struct wire_texts *texts = place >= differ->kept.first ? &differ->kept : &differ->older;
    bool there = place >= texts->first && place - texts->first < texts->text.length;
    return there ? texts->text.data + (place - texts->first) : NULL;
}
