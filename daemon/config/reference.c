// What files say by name of what stands elsewhere: positions and controllers of a site, energies.
#include "config/site.h"

static void unknown_position(struct config_site_reading *reading, const struct json_node *node,
                             const char *id) {
    if (!reading->positions_broken) {
        config_error(reading->file, node, "there is no position \"%s\" in this site", id);
    }
}

uint32_t config_read_position_list(struct config_site_reading *reading,
                                   const struct json_node *array, uint32_t *indexes) {
    struct config_file *file = reading->file;
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    uint32_t count = 0;
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        config_read_value(file, node, &id, &value);
        uint32_t index = value.ok ? config_names_find(&reading->positions, value.id) : MODEL_NONE;
        bool twice = false;
        for (uint32_t i = 0; i < count; i++) {
            twice = twice || indexes[i] == index;
        }
        if (value.ok && index == MODEL_NONE) {
            unknown_position(reading, node, value.id);
        } else if (twice) {
            config_error(file, node, "the position \"%s\" stands twice in this list; name it once",
                         value.id);
        } else if (value.ok) {
            indexes[count++] = index;
        }
    }
    return count;
}

uint32_t config_read_controller(struct config_site_reading *reading,
                                const struct config_value *value) {
    uint32_t controller =
        value->ok ? config_names_find(&reading->controllers, value->id) : MODEL_NONE;
    if (value->ok && controller == MODEL_NONE && !reading->controllers_broken) {
        config_error(reading->file, value->node, "there is no controller \"%s\" in this site",
                     value->id);
    }
    return controller;
}

void config_energy(struct config_file *file, const struct json_node *node, const char *energy) {
    struct config_names *energies = &file->config->energies;
    if (energies->count == MODEL_ENERGIES_MAX &&
        config_names_find(energies, energy) == MODEL_NONE) {
        config_error(file, node, "\"%s\" is one energy too many; at most %d distinct ones are kept",
                     energy, MODEL_ENERGIES_MAX);
        return;
    }
    config_names_add(file->config, energies, energy, (uint32_t)energies->count);
}
