// People, what they hold, and the instruments they read.
#pragma once

#include "config/field.h"

// --- people.c ---

// Read a file of people, and one of instruments.
void config_people_load(struct config_file *file);
void config_instruments_load(struct config_file *file);
// Gives people their sites, once those are read.
void config_people_finish(struct config *config);

// --- credential.c ---

// Reads the file of credentials: which kind includes which.
void config_credentials_load(struct config_file *file);
// Reports a credential that the file of credentials, where there is one, does not have.
void config_credential_known(struct config_file *file, const struct json_node *node,
                             const char *id);
// The ids of a list and every credential that includes one of them, each once; in scratch.
const char **config_credentials_expand(struct config *config, const char *const *ids,
                                       size_t *count);
