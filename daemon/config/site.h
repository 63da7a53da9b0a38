// A site while it is read: shared by what reads sites and what reads their points.
#pragma once

#include "config/internal.h"

struct config_site_reading {
    struct config_file *file;
    struct config *config;
    struct model_site *site;
    struct config_names controllers, positions, points, sensors;
    const struct json_node **position_nodes; // as the positions
    // One of them could not be read, so an unknown name may be its fault.
    bool positions_broken, controllers_broken;
};

// Reads one point into the site, behind those read before; the positions and controllers are known.
void config_read_point(struct config_site_reading *reading, const struct json_node *node);
