// Days of the calendar, and when each ends in the zones of the sites.
#pragma once

#include "config/run.h"

// --- day.c ---

// Whether a text is a day of the calendar, "YYYY-MM-DD", from 1970 on.
bool config_day_valid(const char *text);
// Takes a day apart. False: it is none, or before 1969-01-01.
bool config_day_parse(const char *text, int *year, int *month, int *day);

// --- zone.c ---

// Whether the system knows a time zone of this name.
bool config_zone_known(const char *name);
// Gives every day of `days` its end in every zone of the model, and each until its row.
void config_zones_resolve(struct config *config);
// Notes an end and its day.
void config_until(struct config *config, struct model_until *until, const char *day);
