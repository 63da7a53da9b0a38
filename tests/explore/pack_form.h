// What the two directions of the normal form share.
#pragma once

#include "pack.h"

#define PACK_NONE 255

enum pack_sensor {
    PACK_SENSOR_NEVER,
    PACK_SENSOR_STALE,
    PACK_SENSOR_BAD,
    PACK_SENSOR_LIVE,
    PACK_SENSOR_ISOLATED,
    PACK_SENSOR_SETTLED,
};

struct pack_form {
    unsigned char *bytes;
    size_t length;
    struct gate_time now;
    bool failed;
};
