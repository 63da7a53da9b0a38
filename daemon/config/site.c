// Sites: their controllers and positions, and how points hang together with them.
#include "config/site.h"

#include "config/language.h"
#include "config/zone.h"
#include "model/unit.h"

#include <stdlib.h>
#include <string.h>

enum {
    SITE,
    SITE_TITLE,
    SITE_DISTRICT,
    SITE_ZONE,
    SITE_LANGUAGES,
    SITE_CONTROLLERS,
    SITE_POSITIONS,
    SITE_POINTS,
    SITE_MEASURES,
    SITE_VAPOR,
    SITE_VOLUME,
};
static const struct config_field site_fields[] = {
    [SITE] = {"site", CONFIG_ID, true, 0, 0, 0},
    [SITE_TITLE] = {"title", CONFIG_NAME, false, 1, 200, 0},
    [SITE_DISTRICT] = {"district", CONFIG_ID, false, 0, 0, 0},
    [SITE_ZONE] = {"time_zone", CONFIG_TEXT, false, 0, 0, 0},
    [SITE_LANGUAGES] = {"languages", CONFIG_ARRAY, false, 1, 16, 0},
    [SITE_CONTROLLERS] = {"controllers", CONFIG_ARRAY, false, 0, 1000, 0},
    [SITE_POSITIONS] = {"positions", CONFIG_ARRAY, true, 0, 0, 0},
    [SITE_POINTS] = {"points", CONFIG_ARRAY, false, 0, 0, 0},
    [SITE_MEASURES] = {"measures", CONFIG_ARRAY, false, 0, 0, 0},
    [SITE_VAPOR] = {"vapor", CONFIG_OBJECT, false, 0, 0, 0},
    [SITE_VOLUME] = {"volume_unit", CONFIG_TEXT, false, 0, 0, 0},
};

enum { POSITION, POSITION_DISPENSER, POSITION_TITLE, POSITION_PRODUCTS, POSITION_FAMILY };
static const struct config_field position_fields[] = {
    [POSITION] = {"position", CONFIG_ID, true, 0, 0, 0},
    [POSITION_DISPENSER] = {"dispenser", CONFIG_ID, true, 0, 0, 0},
    [POSITION_TITLE] = {"title", CONFIG_SAID, false, 1, 200, 0},
    [POSITION_PRODUCTS] = {"products", CONFIG_ARRAY, false, 0, 100, 0},
    [POSITION_FAMILY] = {"nozzle_family", CONFIG_ID, false, 0, 0, 0},
};

static void read_controllers(struct config_site_reading *reading, const struct json_node *array) {
    size_t count = 0;
    const char **ids = config_ids(reading->file, array, "the controller", &count);
    struct model_site *site = reading->site;
    site->controllers = config_alloc(reading->config, count, sizeof(*site->controllers));
    reading->controllers_broken = count < array->count;
    for (size_t i = 0; i < count; i++) {
        memcpy(site->controllers[i], ids[i], strlen(ids[i]) + 1);
        config_names_add(reading->config, &reading->controllers, ids[i], (uint32_t)i);
    }
    site->controller_count = count;
}

static void read_products(struct config_site_reading *reading, const struct json_node *array,
                          struct model_position *position) {
    size_t count = 0;
    const char **ids = config_ids(reading->file, array, "the product", &count);
    const char **products = config_brief(reading->config, count, sizeof(*products));
    for (size_t i = 0; i < count; i++) {
        products[i] = config_intern(reading->config, ids[i]);
    }
    position->product_count = (uint32_t)count;
    // Most positions have the products of the one before, and share its list.
    const struct model_position *before = reading->site->position_count > 0 ? position - 1 : NULL;
    if (before != NULL && before->product_count == count &&
        (count == 0 || memcmp(before->products, products, count * sizeof(*products)) == 0)) {
        position->products = before->products;
        return;
    }
    position->products = config_alloc(reading->config, count, sizeof(*products));
    for (size_t i = 0; i < count; i++) {
        position->products[i] = products[i];
    }
}

static void read_position(struct config_site_reading *reading, const struct json_node *node) {
    struct config_file *file = reading->file;
    struct model_site *site = reading->site;
    uint32_t index = (uint32_t)site->position_count;
    struct model_position *position = &site->positions[index];
    struct config_value values[CONFIG_COUNT(position_fields)];
    if (!config_read(file, node, "a position", position_fields, CONFIG_COUNT(position_fields),
                     values) ||
        !values[POSITION].ok) {
        reading->positions_broken = true;
        return;
    }
    const char *id = values[POSITION].id;
    if (config_names_add(reading->config, &reading->positions, id, index) != MODEL_NONE) {
        config_error(file, values[POSITION].node,
                     "the position \"%s\" stands twice; ids are unique in a site", id);
        return;
    }
    memcpy(position->position, id, sizeof(position->position));
    memcpy(position->dispenser, values[POSITION_DISPENSER].id, sizeof(position->dispenser));
    position->title = values[POSITION_TITLE].ok ? values[POSITION_TITLE].text : position->position;
    position->titles = values[POSITION_TITLE].texts;
    if (values[POSITION_FAMILY].ok) {
        position->nozzle_family = config_intern(reading->config, values[POSITION_FAMILY].id);
    }
    if (values[POSITION_PRODUCTS].ok) {
        read_products(reading, values[POSITION_PRODUCTS].node, position);
    }
    reading->position_nodes[index] = node;
    site->position_count++;
}

// At most so many sensors: those named, and one for each point that names none.
static size_t count_sensors(const struct config_file *file, const struct json_node *points) {
    size_t count = 0;
    for (const struct json_node *node = json_first(&file->tape, points); node != NULL;
         node = json_next(&file->tape, points, node)) {
        const struct json_node *sensors = json_present(&file->tape, node, "sensors");
        count += sensors != NULL && sensors->kind == JSON_ARRAY ? sensors->count : 1;
    }
    return count;
}

// From the positions that each point isolates to the points that isolate each position.
static void link_positions(struct config_site_reading *reading) {
    struct model_site *site = reading->site;
    for (size_t i = 0; i < site->point_count; i++) {
        for (size_t k = 0; k < site->points[i].isolates_count; k++) {
            site->positions[site->points[i].isolates[k]].point_count++;
        }
    }
    for (size_t i = 0; i < site->position_count; i++) {
        struct model_position *position = &site->positions[i];
        position->points =
            config_alloc(reading->config, position->point_count, sizeof(*position->points));
        position->point_count = 0;
    }
    for (size_t i = 0; i < site->point_count; i++) {
        for (size_t k = 0; k < site->points[i].isolates_count; k++) {
            struct model_position *position = &site->positions[site->points[i].isolates[k]];
            position->points[position->point_count++] = (uint32_t)i;
        }
    }
}

static void read_positions(struct config_site_reading *reading, const struct json_node *array) {
    const struct json_tape *tape = &reading->file->tape;
    struct model_site *site = reading->site;
    site->positions = config_alloc(reading->config, array->count, sizeof(*site->positions));
    reading->position_nodes =
        // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
        config_brief(reading->config, array->count, sizeof(*reading->position_nodes));
    for (const struct json_node *node = json_first(tape, array); node != NULL;
         node = json_next(tape, array, node)) {
        read_position(reading, node);
    }
}

static void read_points(struct config_site_reading *reading, const struct json_node *array) {
    const struct json_tape *tape = &reading->file->tape;
    struct model_site *site = reading->site;
    site->points = config_alloc(reading->config, array->count, sizeof(*site->points));
    reading->point_nodes =
        // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
        config_brief(reading->config, array->count, sizeof(*reading->point_nodes));
    site->sensors =
        config_alloc(reading->config, count_sensors(reading->file, array), sizeof(*site->sensors));
    for (const struct json_node *node = json_first(tape, array); node != NULL;
         node = json_next(tape, array, node)) {
        config_read_point(reading, node);
    }
}

static void read_district_of(struct config_site_reading *reading,
                             const struct config_value *value) {
    struct config *config = reading->config;
    struct model_site *site = reading->site;
    site->requirements = config->plain_row;
    if (!value->ok) {
        return;
    }
    site->district = config_intern(config, value->id);
    uint32_t district = config_names_find(&config->districts, value->id);
    if (district != MODEL_NONE) {
        site->requirements = config->district_rows[district].requirements;
        site->rules = config->district_rows[district].rules;
        site->rule_count = config->district_rows[district].rule_count;
        return;
    }
    const char *names[32];
    char hint[80];
    size_t count = 0;
    for (; count < config->district_count && count < CONFIG_COUNT(names); count++) {
        names[count] = config->district_rows[count].id;
    }
    if (!config->districts_broken) {
        config_error(reading->file, value->node, "there is no district \"%s\"%s", value->id,
                     config_hint(value->id, names, count, hint, sizeof(hint)));
    }
}

static void read_zone(struct config_site_reading *reading, const struct config_value *value) {
    struct config *config = reading->config;
    struct model_site *site = reading->site;
    const char *zone = value->ok ? value->text : "UTC";
    if (!config_zone_known(zone)) {
        config_error(reading->file, value->node,
                     "the system knows no time zone \"%s\"; name one like \"UTC\" or "
                     "\"America/Denver\"",
                     zone);
        zone = "UTC";
    }
    site->time_zone = config_intern(config, zone);
    uint32_t fresh = (uint32_t)config->zones.count;
    uint32_t known = config_names_add(config, &config->zones, zone, fresh);
    site->zone = known != MODEL_NONE ? known : fresh;
}

// Rule (2, volume_unit): Fuel is measured in gallons or liters. [volume-unit-unknown]
static void read_volume(struct config_site_reading *reading, const struct config_value *value) {
    reading->site->volume_unit = "gal";
    if (value->ok && model_unit_of_fuel(value->text)) {
        reading->site->volume_unit = value->text;
    } else if (value->ok) {
        config_error(reading->file, value->node, "must be \"gal\" or \"L\", not \"%s\"",
                     value->text);
    }
}

static bool site_id_free(struct config_site_reading *reading, const struct config_value *value,
                         uint32_t index) {
    struct config *config = reading->config;
    if (strcmp(value->id, "daemon") == 0) {
        config_error(reading->file, value->node,
                     "\"daemon\" is the topic on which daemons report; give the site another id");
        return false;
    }
    uint32_t other = config_names_add(config, &config->sites, value->id, index);
    if (other != MODEL_NONE) {
        config_error(reading->file, value->node,
                     "the site \"%s\" stands in \"%s\" already; ids are unique", value->id,
                     config->site_places[other].path);
        return false;
    }
    return true;
}

static void read_site(struct config_file *file) {
    struct config *config = file->config;
    uint32_t index = (uint32_t)config->model->site_count;
    struct config_site_reading reading = {
        .file = file, .config = config, .site = &config->model->sites[index]};
    struct config_value values[CONFIG_COUNT(site_fields)];
    config_languages_read(file, reading.site);
    file->site = reading.site;
    if (!config_read(file, json_root(&file->tape), "a site", site_fields, CONFIG_COUNT(site_fields),
                     values) ||
        !values[SITE].ok) {
        config->sites_broken = true;
        return;
    }
    if (!site_id_free(&reading, &values[SITE], index)) {
        return;
    }
    config->site_places[index] = config_place_of(file, values[SITE].node);
    memcpy(reading.site->site, values[SITE].id, sizeof(reading.site->site));
    reading.site->title =
        values[SITE_TITLE].ok ? values[SITE_TITLE].text : config_intern(config, values[SITE].id);
    reading.site->titles = values[SITE_TITLE].texts;
    read_district_of(&reading, &values[SITE_DISTRICT]);
    read_zone(&reading, &values[SITE_ZONE]);
    read_volume(&reading, &values[SITE_VOLUME]);
    reading.positions_broken = !values[SITE_POSITIONS].ok;
    reading.controllers_broken = values[SITE_CONTROLLERS].node != NULL;
    const struct json_node *controllers = values[SITE_CONTROLLERS].node;
    if (values[SITE_CONTROLLERS].ok && controllers != NULL) {
        read_controllers(&reading, controllers);
    }
    if (values[SITE_POSITIONS].ok) {
        read_positions(&reading, values[SITE_POSITIONS].node);
    }
    if (values[SITE_POINTS].ok) {
        read_points(&reading, values[SITE_POINTS].node);
    }
    link_positions(&reading);
    if (values[SITE_MEASURES].ok) {
        config_read_measures(&reading, values[SITE_MEASURES].node);
    }
    if (values[SITE_VAPOR].ok) {
        config_read_vapor(&reading, values[SITE_VAPOR].node);
    }
    config_check_isolation(&reading);
    config_coverage_positions(file, reading.position_nodes, reading.site);
    config_languages_of_site(file);
    config->model->site_count++;
}

static int compare_sites(const void *a, const void *b) {
    return strcmp(((const struct model_site *)a)->site, ((const struct model_site *)b)->site);
}

static void keep_zones(struct config *config) {
    struct model *model = config->model;
    model->zone_count = config->zones.count;
    model->zones = config_alloc(config, model->zone_count, sizeof(*model->zones));
    for (size_t i = 0; i < model->site_count; i++) {
        model->zones[model->sites[i].zone] = model->sites[i].time_zone;
    }
}

void config_sites_load(struct config *config, const struct config_paths *paths) {
    struct model *model = config->model;
    model->sites = config_alloc(config, paths->count, sizeof(*model->sites));
    config->site_places = config_scratch(config, paths->count, sizeof(*config->site_places));
    for (size_t i = 0; i < paths->count; i++) {
        struct config_file *file =
            config_open(config, config->root, paths->items[i].node, paths->items[i].path);
        if (file == NULL) {
            config->sites_broken = true;
            continue;
        }
        read_site(file);
        config_close(file);
    }
    if (model->site_count > 1) {
        qsort(model->sites, model->site_count, sizeof(*model->sites), compare_sites);
    }
    for (size_t i = 0; i < model->site_count; i++) {
        model->sites[i].index = (uint32_t)i;
    }
    keep_zones(config);
}
