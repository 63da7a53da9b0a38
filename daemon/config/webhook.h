// Webhooks, and the events that one may ask for by name.
#pragma once

#include <stddef.h>

struct config_file;
struct json_node;

// The list `webhooks` of the first file, or NULL; after the sites.
void config_webhooks_load(struct config_file *file, const struct json_node *list);

// Their types without "forelock.", in the order of the gate's published facts.
const char *const *config_webhook_events(size_t *count);
