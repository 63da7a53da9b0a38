// Points: the energy isolating devices of a site, what they isolate, and how each is proved.
#include "config/site.h"

#include <string.h>

enum {
    POINT,
    POINT_ENERGY,
    POINT_KIND,
    POINT_TITLE,
    POINT_ISOLATES,
    POINT_SENSORS,
    POINT_CONTROLLER,
    POINT_MAX_AGE,
    POINT_SETTLE,
    POINT_WITNESSES,
    POINT_WITNESS_VALID,
    POINT_LOCKS,
};
static const struct config_field point_fields[] = {
    [POINT] = {"point", CONFIG_ID, true, 0, 0, 0},
    [POINT_ENERGY] = {"energy", CONFIG_ID, true, 0, 0, 0},
    [POINT_KIND] = {"kind", CONFIG_TEXT, false, 1, 64, 0},
    [POINT_TITLE] = {"title", CONFIG_SAID, false, 1, 200, 0},
    [POINT_ISOLATES] = {"isolates", CONFIG_ARRAY, true, 1, 0, 0},
    [POINT_SENSORS] = {"sensors", CONFIG_ARRAY, false, 0, 16, 0},
    [POINT_CONTROLLER] = {"controller", CONFIG_ID, false, 0, 0, 0},
    [POINT_MAX_AGE] = {"max_age_s", CONFIG_SECONDS, false, 0.001, 300, 30},
    [POINT_SETTLE] = {"settle_s", CONFIG_SECONDS, false, 0, 60, 2},
    [POINT_WITNESSES] = {"witnesses", CONFIG_INTEGER, false, 1, 16, 1},
    [POINT_WITNESS_VALID] = {"witness_valid_s", CONFIG_SECONDS, false, 0.001, 43200, 28800},
    [POINT_LOCKS] = {"locks", CONFIG_TEXT, false, 0, 0, 0},
};

// "Emergency stop", "emergencyStop" and "EMERGENCY_STOP" become "-emergency-stop-".
static void plain_words(const char *text, char *plain, size_t size) {
    size_t used = 0;
    char last = '-';
    plain[used++] = '-';
    for (; *text != '\0' && used + 3 < size; text++) {
        bool upper = *text >= 'A' && *text <= 'Z';
        char c = upper ? (char)(*text | 0x20) : *text;
        bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        bool hump = upper && last >= 'a' && last <= 'z';
        if ((!letter || hump) && plain[used - 1] != '-') {
            plain[used++] = '-';
        }
        if (letter) {
            plain[used++] = c;
        }
        last = *text;
    }
    if (plain[used - 1] != '-') {
        plain[used++] = '-';
    }
    plain[used] = '\0';
}

// What only stops the control of a machine and leaves its energy connected.
static bool is_control_device(const char *kind) {
    static const char *const words[] = {
        "-button-",
        "-pushbutton-",
        "-emergency-stop-",
        "-emergencystop-",
        "-e-stop-",
        "-estop-",
        "-console-stop-",
        "-consolestop-",
        "-all-stop-",
        "-allstop-",
        "-emergency-shut-off-",
        "-emergency-shutoff-",
        "-emergency-cut-off-",
        "-emergency-cutoff-",
        "-selector-switch-",
        "-console-all-stop-",
        "-stop-switch-",
        "-kill-switch-",
        "-control-switch-",
        "-contactor-",
        "-relay-",
        "-interlock-",
    };
    char plain[200];
    plain_words(kind, plain, sizeof(plain));
    for (size_t i = 0; i < CONFIG_COUNT(words); i++) {
        if (strstr(plain, words[i]) != NULL) {
            return true;
        }
    }
    return false;
}

static void read_isolates(struct config_site_reading *reading, const struct json_node *array,
                          struct model_point *point) {
    point->isolates = config_alloc(reading->config, array->count, sizeof(*point->isolates));
    point->isolates_count = config_read_position_list(reading, array, point->isolates);
}

static void add_sensor(struct config_site_reading *reading, struct model_point *point,
                       const struct json_node *node, const char *id) {
    struct model_site *site = reading->site;
    uint32_t owner = (uint32_t)site->point_count;
    uint32_t index = (uint32_t)site->sensor_count;
    uint32_t other = config_names_add(reading->config, &reading->sensors, id, index);
    if (other != MODEL_NONE) {
        config_error(reading->file, node,
                     "the sensor \"%s\" belongs to the point \"%s\" already; one sensor proves one "
                     "point",
                     id, site->points[site->sensors[other].point].point);
        return;
    }
    memcpy(site->sensors[index].sensor, id, strlen(id) + 1);
    site->sensors[index].point = owner;
    point->sensors[point->sensor_count++] = index;
    site->sensor_count++;
}

static void read_sensors(struct config_site_reading *reading, const struct config_value *values,
                         struct model_point *point) {
    const struct config_value *list = &values[POINT_SENSORS];
    struct config_file *file = reading->file;
    size_t count = 1;
    if (list->node == NULL) {
        point->sensors = config_alloc(reading->config, count, sizeof(*point->sensors));
        add_sensor(reading, point, values[POINT].node, values[POINT].id);
        return;
    }
    const char **ids = config_ids(file, list->node, "the sensor", &count);
    point->sensors = config_alloc(reading->config, count, sizeof(*point->sensors));
    const struct json_node *node = json_first(&file->tape, list->node);
    for (size_t i = 0; i < count; i++) {
        // Elements with an error were left out of the ids.
        while (node != NULL && !json_equals(&file->tape, node, ids[i])) {
            node = json_next(&file->tape, list->node, node);
        }
        add_sensor(reading, point, node, ids[i]);
    }
}

// Fields of the one way of proving a point that stand beside the other's.
static void refuse_others(struct config_file *file, const struct config_value *values,
                          const int *fields, size_t count, const char *why) {
    for (size_t i = 0; i < count; i++) {
        if (values[fields[i]].node != NULL) {
            config_error(file, values[fields[i]].node, "\"%s\" %s", point_fields[fields[i]].name,
                         why);
        }
    }
}

// A point is proved by its sensors, or by people where it has none; never by some of each. That it
// has none must be said: a word left over from an earlier wiring would else silence its sensor.
// Rule (2, points; R35): Witnesses without "sensors": [] beside them are an error.
// [witnesses-silence-sensors]
static void read_proof(struct config_site_reading *reading, const struct config_value *values,
                       struct model_point *point) {
    static const int of_sensors[] = {POINT_CONTROLLER, POINT_MAX_AGE, POINT_SETTLE};
    static const int of_witnesses[] = {POINT_WITNESSES, POINT_WITNESS_VALID};
    const struct config_value *sensors = &values[POINT_SENSORS];
    bool witnessed = sensors->ok && sensors->node->count == 0;
    point->controller = MODEL_NONE;
    if (witnessed) {
        refuse_others(reading->file, values, of_sensors, CONFIG_COUNT(of_sensors),
                      "goes with sensors, and people say the state of this point; leave it out");
        point->witnesses = (unsigned)values[POINT_WITNESSES].integer;
        point->witness_valid_ms = (int32_t)values[POINT_WITNESS_VALID].integer;
        return;
    }
    refuse_others(
        reading->file, values, of_witnesses, CONFIG_COUNT(of_witnesses),
        "goes with a point that has no sensor; say \"sensors\": [] beside it, or leave it out");
    if (sensors->node == NULL || sensors->ok) {
        read_sensors(reading, values, point);
    }
    point->controller = config_read_controller(reading, &values[POINT_CONTROLLER]);
    point->max_age_ms = (int32_t)values[POINT_MAX_AGE].integer;
    point->settle_ms = (int32_t)values[POINT_SETTLE].integer;
}

// Rule (2; R14): Tags on a point may come from its reader alone, of a witnessed point too.
// [locks-reader-unread]
static bool read_locks(struct config_file *file, const struct config_value *value) {
    bool reader = value->ok && strcmp(value->text, "reader") == 0;
    if (value->ok && !reader) {
        config_error(file, value->node, "must be \"reader\" or left out, not \"%s\"", value->text);
    }
    return reader;
}

void config_read_point(struct config_site_reading *reading, const struct json_node *node) {
    struct config_file *file = reading->file;
    struct model_site *site = reading->site;
    uint32_t index = (uint32_t)site->point_count;
    struct model_point *point = &site->points[index];
    struct config_value values[CONFIG_COUNT(point_fields)];
    if (!config_read(file, node, "a point", point_fields, CONFIG_COUNT(point_fields), values) ||
        !values[POINT].ok) {
        return;
    }
    if (config_names_add(reading->config, &reading->points, values[POINT].id, index) !=
        MODEL_NONE) {
        config_error(file, values[POINT].node,
                     "the point \"%s\" stands twice; ids are unique in a site", values[POINT].id);
        return;
    }
    memcpy(point->point, values[POINT].id, sizeof(point->point));
    point->kind = values[POINT_KIND].text;
    point->title = values[POINT_TITLE].ok ? values[POINT_TITLE].text : point->point;
    point->titles = values[POINT_TITLE].texts;
    if (values[POINT_ENERGY].ok) {
        point->energy = config_intern(reading->config, values[POINT_ENERGY].id);
        config_energy(file, values[POINT_ENERGY].node, point->energy);
    }
    if (point->kind != NULL && is_control_device(point->kind)) {
        config_error(
            file, values[POINT_KIND].node,
            "\"%s\" is a control circuit device and not an energy isolating device (29 CFR "
            "1910.147(b)); name the breaker or valve that disconnects the energy",
            point->kind);
    }
    if (values[POINT_ISOLATES].ok) {
        read_isolates(reading, values[POINT_ISOLATES].node, point);
    }
    read_proof(reading, values, point);
    point->locks_by_reader = read_locks(file, &values[POINT_LOCKS]);
    reading->point_nodes[index] = node;
    site->point_count++;
}
