// What a site's file says of its vapor recovery: the words are those of the trade's rule
// pressure-decay, and its readings are held against them.
#include "config/site.h"

#include "trade/trade.h"

#include <string.h>

enum { VAPOR_BASIS, VAPOR_SYSTEM, VAPOR_NOZZLES, VAPOR_TANKS };
static const struct config_field vapor_fields[] = {
    [VAPOR_BASIS] = {"basis", CONFIG_TEXT, false, 0, 0, 0},
    [VAPOR_SYSTEM] = {"system", CONFIG_TEXT, false, 0, 0, 0},
    [VAPOR_NOZZLES] = {"nozzles", CONFIG_INTEGER, false, 1, 60, 0},
    [VAPOR_TANKS] = {"tanks", CONFIG_ARRAY, false, 1, 100, 0},
};

enum { TANK, TANK_PRODUCT, TANK_GALLONS };
static const struct config_field tank_fields[] = {
    [TANK] = {"tank", CONFIG_ID, true, 0, 0, 0},
    [TANK_PRODUCT] = {"product", CONFIG_ID, true, 0, 0, 0},
    [TANK_GALLONS] = {"gallons", CONFIG_NUMBER, true, 1, 1e6, 0},
};

// Rule (2, vapor): A word that the rule does not take is not loaded. [vapor-word-unknown]
static const char *read_word(struct config_file *file, const struct config_value *value,
                             const char *name) {
    const struct trade_reading *reading =
        trade_reading_find(trade_rule_find("pressure-decay"), name);
    if (!value->ok) {
        return NULL;
    }
    if (!trade_word_known(reading, value->text)) {
        config_error(file, value->node, "must be one of %s, not \"%s\"", reading->words,
                     value->text);
        return NULL;
    }
    return value->text;
}

static void read_tanks(struct config_file *file, const struct json_node *array,
                       struct model_vapor *vapor) {
    struct config *config = file->config;
    struct config_names seen = {.brief = true};
    vapor->tanks = config_alloc(config, array->count, sizeof(*vapor->tanks));
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value values[CONFIG_COUNT(tank_fields)];
        if (!config_read(file, node, "a tank", tank_fields, CONFIG_COUNT(tank_fields), values) ||
            !values[TANK].ok || !values[TANK_PRODUCT].ok || !values[TANK_GALLONS].ok) {
            continue;
        }
        if (config_names_add(config, &seen, values[TANK].id, 0) != MODEL_NONE) {
            config_error(file, values[TANK].node, "the tank \"%s\" stands twice; ids are unique",
                         values[TANK].id);
            continue;
        }
        struct model_tank *tank = &vapor->tanks[vapor->tank_count++];
        memcpy(tank->tank, values[TANK].id, sizeof(tank->tank));
        tank->product = config_intern(config, values[TANK_PRODUCT].id);
        tank->gallons = values[TANK_GALLONS].number;
    }
}

void config_read_vapor(struct config_site_reading *reading, const struct json_node *object) {
    struct config_file *file = reading->file;
    struct config_value values[CONFIG_COUNT(vapor_fields)];
    struct model_vapor *vapor = config_alloc(reading->config, 1, sizeof(*vapor));
    if (!config_read(file, object, "\"vapor\"", vapor_fields, CONFIG_COUNT(vapor_fields), values)) {
        return;
    }
    vapor->basis = read_word(file, &values[VAPOR_BASIS], "basis");
    vapor->system = read_word(file, &values[VAPOR_SYSTEM], "system");
    vapor->nozzles = values[VAPOR_NOZZLES].ok ? (unsigned)values[VAPOR_NOZZLES].integer : 0;
    if (values[VAPOR_TANKS].ok && values[VAPOR_TANKS].node != NULL) {
        read_tanks(file, values[VAPOR_TANKS].node, vapor);
    }
    reading->site->vapor = vapor;
}
