// The events that a webhook may ask for by name.
#pragma once

#include <stddef.h>

// Their types without "forelock.", in the order of the gate's published facts.
const char *const *config_webhook_events(size_t *count);
