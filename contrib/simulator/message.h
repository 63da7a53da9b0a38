// Messages: topics and payloads of the canonical form.
#pragma once

#include "base/clock.h"
#include "simulator/world.h"

// Writes the topic of a device.
void sim_message_topic(const struct sim_world *world, const struct sim_device *device,
                       char topic[SIM_TOPIC_SIZE]);

// Writes a sensor's signal.
void sim_message_signal(const struct sim_device *sensor, struct base_time now,
                        struct sim_payload *payload);

// Writes a reader's event.
void sim_message_tagging(const struct sim_device *reader, bool hung, const char *person,
                         struct base_time now, struct sim_payload *payload);

// Writes a controller's word.
void sim_message_controller(const struct sim_device *controller, struct sim_payload *payload);
