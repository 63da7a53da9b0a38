// The engine of the tables: reads an object's fields by their rules, so that every kind of object
// is checked in one way and says what is wrong in one way.
#include "config/field.h"
#include "base/nearest.h"
#include "config/language.h"
#include "config/zone.h"

#include <math.h>
#include <string.h>

#define ARRAY_MAX 100000

const char *config_kind_name(const struct json_node *node) {
    static const char *const names[] = {
        [JSON_NULL] = "null",        [JSON_FALSE] = "false",   [JSON_TRUE] = "true",
        [JSON_NUMBER] = "a number",  [JSON_STRING] = "a text", [JSON_ARRAY] = "a list",
        [JSON_OBJECT] = "an object",
    };
    return names[node->kind];
}

const char *config_hint(const char *name, const char *const *names, size_t count, char *buffer,
                        size_t size) {
    const char *nearest = base_nearest(name, names, count);
    buffer[0] = '\0';
    if (nearest != NULL) {
        snprintf(buffer, size, "; did you mean \"%s\"?", nearest);
    }
    return buffer;
}

// The end of a sentence about a short text: what it is instead. Nothing of one that does not fit.
static const char *not_this(struct config_file *file, const struct json_node *node, char *buffer,
                            size_t size) {
    char text[MODEL_ID_SIZE];
    buffer[0] = '\0';
    if (json_copy(&file->tape, node, text, sizeof(text))) {
        snprintf(buffer, size, ", not \"%s\"", text);
    }
    return buffer;
}

static void read_id(struct config_file *file, const struct json_node *node,
                    struct config_value *value) {
    if (!json_copy(&file->tape, node, value->id, sizeof(value->id)) ||
        !model_id_valid(value->id, strlen(value->id))) {
        char instead[MODEL_ID_SIZE + 10];
        config_error(file, node,
                     "must be an id: 1 to 64 of A-Z a-z 0-9 . _ -, with a letter or digit first%s",
                     not_this(file, node, instead, sizeof(instead)));
        return;
    }
    value->text = value->id;
    value->ok = true;
}

static bool number_within(struct config_file *file, const struct json_node *node,
                          const struct config_field *field, double number) {
    bool bounded = field->min != 0 || field->max != 0;
    if (bounded && (number < field->min || number > field->max)) {
        config_error(file, node, "must be from %.15g to %.15g, not %.15g", field->min, field->max,
                     number);
        return false;
    }
    return true;
}

static void read_number(struct config_file *file, const struct json_node *node,
                        const struct config_field *field, struct config_value *value) {
    double number = 0;
    if (!json_double(&file->tape, node, &number) || !number_within(file, node, field, number)) {
        return;
    }
    value->number = number;
    value->integer = field->kind == CONFIG_SECONDS ? llround(number * 1000) : 0;
    value->ok = true;
}

static void read_integer(struct config_file *file, const struct json_node *node,
                         const struct config_field *field, struct config_value *value) {
    int64_t number = 0;
    if (!json_integer(&file->tape, node, &number)) {
        config_error(file, node, "must be a whole number");
    } else if (number_within(file, node, field, (double)number)) {
        value->integer = number;
        value->ok = true;
    }
}

static void read_date(struct config_file *file, const struct json_node *node,
                      struct config_value *value) {
    if (!json_copy(&file->tape, node, value->id, sizeof(value->id)) ||
        !config_day_valid(value->id)) {
        char instead[MODEL_ID_SIZE + 10];
        config_error(file, node, "must be a day of the calendar, \"YYYY-MM-DD\"%s",
                     not_this(file, node, instead, sizeof(instead)));
        return;
    }
    value->text = value->id;
    value->ok = true;
}

static void read_array(struct config_file *file, const struct json_node *node,
                       const struct config_field *field, struct config_value *value) {
    uint32_t most = field->max > 0 ? (uint32_t)field->max : ARRAY_MAX;
    if (node->count < (uint32_t)field->min) {
        config_error(file, node, "may not be empty; name at least one");
    } else if (node->count > most) {
        config_error(file, node, "has %u elements, at most %u are allowed", node->count, most);
    } else {
        value->ok = true;
    }
}

static bool kind_fits(enum config_kind kind, uint8_t json) {
    switch (kind) {
    case CONFIG_ID:
    case CONFIG_TEXT:
    case CONFIG_DATE:
        return json == JSON_STRING;
    case CONFIG_SAID:
    case CONFIG_NAME:
        return json == JSON_STRING || json == JSON_OBJECT;
    case CONFIG_INTEGER:
    case CONFIG_NUMBER:
    case CONFIG_SECONDS:
        return json == JSON_NUMBER;
    case CONFIG_FLAG:
        return json == JSON_TRUE || json == JSON_FALSE;
    case CONFIG_ARRAY:
        return json == JSON_ARRAY;
    case CONFIG_OBJECT:
        return json == JSON_OBJECT;
    }
    return false;
}

static const char *kind_wanted(enum config_kind kind) {
    static const char *const wanted[] = {
        [CONFIG_ID] = "an id (a text)",
        [CONFIG_TEXT] = "a text",
        [CONFIG_SAID] = "a text, or an object of texts by language",
        [CONFIG_NAME] = "a text, or an object of texts by language",
        [CONFIG_INTEGER] = "a whole number",
        [CONFIG_NUMBER] = "a number",
        [CONFIG_SECONDS] = "a number of seconds",
        [CONFIG_FLAG] = "true or false",
        [CONFIG_DATE] = "a day of the calendar, \"YYYY-MM-DD\"",
        [CONFIG_ARRAY] = "a list",
        [CONFIG_OBJECT] = "an object",
    };
    return wanted[kind];
}

static void read_kind(struct config_file *file, const struct json_node *node,
                      const struct config_field *field, struct config_value *value) {
    switch (field->kind) {
    case CONFIG_ID:
        read_id(file, node, value);
        break;
    case CONFIG_TEXT:
        config_read_text(file, node, field, value);
        break;
    case CONFIG_SAID:
    case CONFIG_NAME:
        config_read_said(file, node, field, field->kind == CONFIG_SAID, value);
        break;
    case CONFIG_INTEGER:
        read_integer(file, node, field, value);
        break;
    case CONFIG_NUMBER:
    case CONFIG_SECONDS:
        read_number(file, node, field, value);
        break;
    case CONFIG_FLAG:
        value->flag = node->kind == JSON_TRUE;
        value->ok = true;
        break;
    case CONFIG_DATE:
        read_date(file, node, value);
        break;
    case CONFIG_ARRAY:
        read_array(file, node, field, value);
        break;
    case CONFIG_OBJECT:
        value->ok = true;
        break;
    }
}

static void value_absent(const struct config_field *field, struct config_value *value) {
    value->node = NULL;
    value->ok = false;
    value->id[0] = '\0';
    value->text = NULL;
    value->texts = NULL;
    value->number = field->fallback;
    value->integer =
        field->kind == CONFIG_SECONDS ? llround(field->fallback * 1000) : (int64_t)field->fallback;
    value->flag = field->fallback > 0;
}

void config_read_value(struct config_file *file, const struct json_node *node,
                       const struct config_field *field, struct config_value *value) {
    value_absent(field, value);
    value->node = node;
    if (!kind_fits(field->kind, node->kind)) {
        config_error(file, node, "must be %s, not %s", kind_wanted(field->kind),
                     config_kind_name(node));
        return;
    }
    read_kind(file, node, field, value);
}

void config_missing(struct config_file *file, const struct json_node *object, const char *what,
                    const char *name) {
    config_error(file, object, "%s needs \"%s\", which is missing", what, name);
}

static void unknown_field(struct config_file *file, const struct json_node *key, const char *what,
                          const struct config_field *fields, size_t count) {
    char name[BASE_NAME_COMPARED + 1] = "";
    const char *names[64];
    char hint[80] = "";
    for (size_t i = 0; i < count && i < CONFIG_COUNT(names); i++) {
        names[i] = fields[i].name;
    }
    if (json_copy(&file->tape, key, name, sizeof(name))) {
        config_hint(name, names, count, hint, sizeof(hint));
        config_error(file, key, "%s has no field \"%s\"%s", what, name, hint);
    } else {
        config_error(file, key, "%s has no field of this name", what);
    }
}

static size_t field_of(const struct config_file *file, const struct json_node *key,
                       const struct config_field *fields, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (json_equals(&file->tape, key, fields[i].name)) {
            return i;
        }
    }
    return count;
}

// A file may name its JSON Schema, for the editor that it is written with; it is not read.
static bool is_schema_name(struct config_file *file, const struct json_node *object,
                           const struct json_node *key, const struct json_node *node) {
    if (object != json_root(&file->tape) || !json_equals(&file->tape, key, "$schema")) {
        return false;
    }
    if (node->kind != JSON_STRING && node->kind != JSON_NULL) {
        config_error(file, node, "must be a text, not %s", config_kind_name(node));
    }
    return true;
}

bool config_read(struct config_file *file, const struct json_node *object, const char *what,
                 const struct config_field *fields, size_t count, struct config_value *values) {
    for (size_t i = 0; i < count; i++) {
        value_absent(&fields[i], &values[i]);
    }
    if (object->kind != JSON_OBJECT) {
        config_error(file, object, "%s must be an object, not %s", what, config_kind_name(object));
        return false;
    }
    const struct json_node *key = json_first(&file->tape, object);
    while (key != NULL) {
        const struct json_node *node = json_next(&file->tape, object, key);
        size_t at = field_of(file, key, fields, count);
        if (at == count && !is_schema_name(file, object, key, node)) {
            unknown_field(file, key, what, fields, count);
        } else if (at < count && node->kind != JSON_NULL) {
            config_read_value(file, node, &fields[at], &values[at]);
        }
        key = json_next(&file->tape, object, node);
    }
    for (size_t i = 0; i < count; i++) {
        if (fields[i].required && values[i].node == NULL) {
            config_missing(file, object, what, fields[i].name);
        }
    }
    return true;
}

const char **config_ids(struct config_file *file, const struct json_node *array, const char *what,
                        size_t *count) {
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    const char **ids = config_brief(file->config, array->count, sizeof(*ids));
    struct config_names seen = {.brief = true};
    *count = 0;
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        config_read_value(file, node, &id, &value);
        if (!value.ok) {
            continue;
        }
        if (config_names_add(file->config, &seen, value.id, 0) != MODEL_NONE) {
            config_error(file, node, "%s \"%s\" stands twice in this list; name it once", what,
                         value.id);
            continue;
        }
        char *copy = config_brief(file->config, strlen(value.id) + 1, 1);
        memcpy(copy, value.id, strlen(value.id));
        ids[(*count)++] = copy;
    }
    return ids;
}
