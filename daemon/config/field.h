// Tables of fields: how an object of a configuration is read and checked.
#pragma once

#include "config/file.h"

enum config_kind {
    CONFIG_ID,      // an id
    CONFIG_TEXT,    // a text of min (default 1) to max (default 500) bytes
    CONFIG_SAID,    // the same, or an object of such texts by language
    CONFIG_NAME,    // the same, where a text alone is a name, and so in every language
    CONFIG_INTEGER, // a whole number
    CONFIG_NUMBER,
    CONFIG_SECONDS, // a number of seconds; read in ms
    CONFIG_FLAG,    // true or false
    CONFIG_DATE,    // "YYYY-MM-DD", a day of the calendar
    CONFIG_ARRAY,   // of min (default 0) to max (default 100,000) elements
    CONFIG_OBJECT,
};

struct config_field {
    const char *name;
    enum config_kind kind;
    bool required;
    double min, max; // both 0: the kind's own bounds
    double fallback; // where it is absent: of numbers and seconds, and 1 for true
};

struct config_value {
    const struct json_node *node;    // NULL: absent, or null
    const char *text;                // of a text (in the model), an id or a date; NULL unless ok
    const struct model_texts *texts; // of a text by language (in the model), or NULL
    double number;                   // or fallback
    int64_t integer;                 // of a whole number, or ms of seconds; or fallback
    bool ok;                         // present and right
    bool flag;                       // or fallback
    char id[MODEL_ID_SIZE];          // of an id or a date
};

#define CONFIG_COUNT(array) (sizeof(array) / sizeof((array)[0]))

// Reads an object by its table into values. `what` is how people call it ("a point"). False: it is
// no object at all. Every error is reported; a value that is wrong has ok false.
bool config_read(struct config_file *file, const struct json_node *object, const char *what,
                 const struct config_field *fields, size_t count, struct config_value *values);
// Reads one value by a field's rules.
void config_read_value(struct config_file *file, const struct json_node *node,
                       const struct config_field *field, struct config_value *value);
// Reports that an object lacks a field.
void config_missing(struct config_file *file, const struct json_node *object, const char *what,
                    const char *name);
// The elements of an array as ids, each once; count is how many there are. Brief.
const char **config_ids(struct config_file *file, const struct json_node *array, const char *what,
                        size_t *count);
// Says "; did you mean "x"?" for the nearest name, or nothing.
const char *config_hint(const char *name, const char *const *names, size_t count, char *buffer,
                        size_t size);
// What kind of JSON a node is, in words.
const char *config_kind_name(const struct json_node *node);
