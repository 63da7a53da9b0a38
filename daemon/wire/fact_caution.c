// One table of a caution's figures serves both directions.
#include "wire/fact_caution.h"

#include <stddef.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const struct {
    const char *name;
    size_t has, value; // in struct model_caution
} figures[] = {
    {"value", offsetof(struct model_caution, has_value), offsetof(struct model_caution, value)},
    {"min", offsetof(struct model_caution, has_min), offsetof(struct model_caution, min)},
    {"max", offsetof(struct model_caution, has_max), offsetof(struct model_caution, max)},
};

static bool is_named(const struct model_result *result) {
    for (size_t i = 0; i < result->caution_count; i++) {
        if (result->cautions[i].say[0] != '\0') {
            return true;
        }
    }
    return false;
}

static void write_args(struct json_out *out, const struct model_caution *caution) {
    if (caution->say[0] == '\0') {
        json_out_null(out);
        return;
    }
    json_out_object(out);
    json_out_key(out, "say");
    json_out_string(out, caution->say);
    for (size_t i = 0; i < COUNT(figures); i++) {
        if (*(const bool *)((const char *)caution + figures[i].has)) {
            json_out_key(out, figures[i].name);
            json_out_double(out, *(const double *)((const char *)caution + figures[i].value));
        }
    }
    json_out_object_end(out);
}

// Rule (8, test rules): What a caution is made of stands beside its sentence.
// [caution-without-args]
void wire_fact_write_cautions(struct json_out *out, const struct model_result *result) {
    if (result->caution_count == 0) {
        return;
    }
    json_out_key(out, "cautions");
    json_out_array(out);
    for (size_t i = 0; i < result->caution_count; i++) {
        json_out_string(out, result->cautions[i].text);
    }
    json_out_array_end(out);
    if (!is_named(result)) {
        return;
    }
    json_out_key(out, "caution_args");
    json_out_array(out);
    for (size_t i = 0; i < result->caution_count; i++) {
        write_args(out, &result->cautions[i]);
    }
    json_out_array_end(out);
}

static bool read_texts(const struct wire_fact_reader *reader, const struct json_node *list,
                       struct model_result *result) {
    if (list->kind != JSON_ARRAY || list->count > MODEL_CAUTIONS_MAX) {
        return false;
    }
    const struct json_node *item = list->count > 0 ? json_first(reader->tape, list) : NULL;
    for (; result->caution_count < list->count; item = json_next(reader->tape, list, item)) {
        if (!json_copy(reader->tape, item, result->cautions[result->caution_count++].text,
                       MODEL_CAUTION_SIZE)) {
            return false;
        }
    }
    return true;
}

static bool read_one(const struct wire_fact_reader *reader, const struct json_node *node,
                     struct model_caution *caution) {
    if (node->kind == JSON_NULL) {
        return true;
    }
    const struct json_node *say =
        node->kind == JSON_OBJECT ? json_present(reader->tape, node, "say") : NULL;
    if (say == NULL || !json_copy(reader->tape, say, caution->say, sizeof caution->say)) {
        return false;
    }
    for (size_t i = 0; i < COUNT(figures); i++) {
        const struct json_node *figure = json_present(reader->tape, node, figures[i].name);
        *(bool *)((char *)caution + figures[i].has) = figure != NULL;
        if (figure != NULL &&
            !json_double(reader->tape, figure, (double *)((char *)caution + figures[i].value))) {
            return false;
        }
    }
    return true;
}

bool wire_fact_read_cautions(const struct wire_fact_reader *reader, const struct json_node *object,
                             struct model_result *result) {
    const struct json_node *texts = json_present(reader->tape, object, "cautions");
    const struct json_node *args = json_present(reader->tape, object, "caution_args");
    if (texts != NULL && !read_texts(reader, texts, result)) {
        return false;
    }
    if (args == NULL) {
        return true; // none, or a journal from before they were kept
    }
    if (args->kind != JSON_ARRAY || args->count != result->caution_count) {
        return false;
    }
    const struct json_node *item = args->count > 0 ? json_first(reader->tape, args) : NULL;
    for (size_t i = 0; i < args->count; i++, item = json_next(reader->tape, args, item)) {
        if (!read_one(reader, item, &result->cautions[i])) {
            return false;
        }
    }
    return true;
}
