// Sites, and what reads their parts while one is read.
#pragma once

#include "config/field.h"

// Reads sites, after procedures and districts.
void config_sites_load(struct config *config, const struct config_paths *paths);

// A site while it is read.
struct config_site_reading {
    struct config_file *file;
    struct config *config;
    struct model_site *site;
    struct config_names controllers, positions, points, sensors, measures;
    const struct json_node **position_nodes; // as the positions
    const struct json_node **point_nodes;    // as the points
    // One of them could not be read, so an unknown name may be its fault.
    bool positions_broken, controllers_broken;
};

// Reads a list of positions of the site, each once, into an array with room for all elements.
// Returns how many there are.
uint32_t config_read_position_list(struct config_site_reading *reading,
                                   const struct json_node *array, uint32_t *indexes);
// The controller that a field names, or MODEL_NONE.
uint32_t config_read_controller(struct config_site_reading *reading,
                                const struct config_value *value);
// Reads what the site's hardware measures; positions, controllers and requirements are known.
void config_read_measures(struct config_site_reading *reading, const struct json_node *array);
// Reads what the site's file says of its vapor recovery.
void config_read_vapor(struct config_site_reading *reading, const struct json_node *object);
// Reports isolation that would leave somebody in front of energy that a procedure means to cut off.
void config_check_isolation(struct config_site_reading *reading);
// Reads one point into the site, behind those read before; the positions and controllers are known.
void config_read_point(struct config_site_reading *reading, const struct json_node *node);

// Counts an energy; the 33rd distinct one is an error at node.
void config_energy(struct config_file *file, const struct json_node *node, const char *energy);

// --- coverage.c: what a site could need and does not have ---

// Energies that a procedure isolates and a position lacks; nodes are those of the positions.
void config_coverage_positions(struct config_file *file, const struct json_node *const *nodes,
                               const struct model_site *site);
// People of each site, after all is read and ends are resolved.
void config_coverage_people(struct config *config);
