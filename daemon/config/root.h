// The first file, which names all others.
#pragma once

struct config;

// Reads the first file, and all that it names, into the run's model.
void config_root_load(struct config *config, const char *path);
// As far as the people go: sites and dates stay unresolved.
void config_root_people(struct config *config, const char *path);
