// Time zones: whether one exists, and when a local day in it has ended. The system's own rules are
// used, by way of the TZ variable, which is put back afterwards.
#include "config/zone.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#define ZONE_FOLDER "/usr/share/zoneinfo"
#define DAY_S 86400
// No zone is further from UTC than this, by far.
#define FAR_S (26 * 3600)
// Offsets change by more than this, so that a step cannot jump over a day.
#define STEP_S 900

// Names are paths under the zones' folder; nothing may lead out of it.
static bool name_is_plain(const char *name) {
    static const char allowed[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
                                  "_+-/";
    return name[0] != '\0' && name[0] != '/' && strspn(name, allowed) == strlen(name) &&
           strlen(name) < 64;
}

bool config_zone_known(const char *name) {
    char path[sizeof(ZONE_FOLDER) + 65], magic[4] = "";
    if (strcmp(name, "UTC") == 0) {
        return true; // needs no rules, also where the system has none
    }
    if (!name_is_plain(name)) {
        return false;
    }
    snprintf(path, sizeof(path), "%s/%s", ZONE_FOLDER, name);
    FILE *file = fopen(path, "re");
    if (file == NULL) {
        return false;
    }
    // The folder holds tables too; a zone's file begins with this word.
    bool known = fread(magic, 1, sizeof(magic), file) == sizeof(magic) &&
                 memcmp(magic, "TZif", sizeof(magic)) == 0;
    fclose(file);
    return known;
}

// A day as one number that grows with time, from 0 at 1970-01-01 UTC.
static int64_t day_number(const char *day) {
    struct tm tm = {0};
    int year = 0, month = 0, date = 0;
    config_day_parse(day, &year, &month, &date);
    tm.tm_year = year - 1900;
    tm.tm_mon = month - 1;
    tm.tm_mday = date;
    return (int64_t)timegm(&tm) / DAY_S;
}

// The local day of an instant, in the zone that TZ names now.
static int64_t local_day(int64_t seconds) {
    time_t instant = (time_t)seconds;
    struct tm local;
    if (localtime_r(&instant, &local) == NULL) {
        return INT64_MAX; // fail safe: past every end
    }
    struct tm date = {.tm_year = local.tm_year, .tm_mon = local.tm_mon, .tm_mday = local.tm_mday};
    return (int64_t)timegm(&date) / DAY_S;
}

// The first instant (Unix seconds) of which the local day is behind this one. Midnight need not
// exist, need not be unique, and a zone may leave out a whole day, so it is searched and not
// computed; where clocks go back over midnight, the first time counts, which ends things earlier.
static int64_t day_end(int64_t day) {
    int64_t before = (day + 1) * DAY_S - FAR_S;
    int64_t after = before + STEP_S;
    while (local_day(after) <= day) {
        before = after;
        after += STEP_S;
    }
    while (after - before > 1) {
        int64_t middle = before + (after - before) / 2;
        if (local_day(middle) > day) {
            after = middle;
        } else {
            before = middle;
        }
    }
    return after;
}

static void set_zone(const char *name) {
    char zone[80];
    if (strcmp(name, "UTC") == 0) {
        snprintf(zone, sizeof(zone), "UTC0");
    } else {
        snprintf(zone, sizeof(zone), ":%s/%s", ZONE_FOLDER, name);
    }
    setenv("TZ", zone, 1);
    tzset();
}

// The civil calendar, by way of the day's number.
static void day_before(const char *day, char before[11]) {
    time_t seconds = (time_t)((day_number(day) - 1) * DAY_S);
    struct tm tm;
    before[0] = '\0';
    if (gmtime_r(&seconds, &tm) != NULL) {
        strftime(before, 11, "%Y-%m-%d", &tm);
    }
}

// A day of rules begins where the day before it ends.
static void note_rules(struct config *config) {
    for (size_t i = 0; i < config->district_count; i++) {
        const struct config_district *district = &config->district_rows[i];
        for (size_t k = 0; k < district->rule_count; k++) {
            char before[11];
            day_before(district->rules[k].day, before);
            config_names_add(config, &config->days, before, (uint32_t)config->days.count);
        }
    }
}

static void set_rules(struct config *config, int64_t *ends) {
    for (size_t i = 0; i < config->district_count; i++) {
        struct config_district *district = &config->district_rows[i];
        for (size_t k = 0; k < district->rule_count; k++) {
            char before[11];
            day_before(district->rules[k].day, before);
            district->rules[k].from_ms =
                &ends[config_names_find(&config->days, before) * config->model->zone_count];
        }
    }
}

void config_until(struct config *config, struct model_until *until, const char *day) {
    until->set = true;
    memcpy(until->day, day, sizeof(until->day));
    config_names_add(config, &config->days, day, (uint32_t)config->days.count);
}

// One row of ends a day, one column a zone.
static int64_t *ends_of_days(struct config *config) {
    struct model *model = config->model;
    int64_t *ends = config_alloc(config, config->days.count * model->zone_count, sizeof(*ends));
    for (size_t zone = 0; zone < model->zone_count; zone++) {
        set_zone(model->zones[zone]);
        for (size_t i = 0; i < config->days.size; i++) {
            const struct config_name *day = &config->days.slots[i];
            if (day->text != NULL) {
                ends[day->value * model->zone_count + zone] = day_end(day_number(day->text)) * 1000;
            }
        }
    }
    return ends;
}

static void set_ends(struct config *config, struct model_until *until, int64_t *ends) {
    if (until->set) {
        until->end_ms =
            &ends[config_names_find(&config->days, until->day) * config->model->zone_count];
    }
}

void config_zones_resolve(struct config *config) {
    struct model *model = config->model;
    const char *old = getenv("TZ");
    char *kept = NULL;
    if (old != NULL) {
        kept = config_scratch(config, strlen(old) + 1, 1);
        memcpy(kept, old, strlen(old) + 1);
    }
    note_rules(config);
    int64_t *ends = ends_of_days(config);
    set_rules(config, ends);
    for (size_t i = 0; i < model->person_count; i++) {
        for (size_t k = 0; k < model->people[i].credential_count; k++) {
            set_ends(config, &model->people[i].credentials[k].until, ends);
        }
    }
    for (size_t i = 0; i < model->instrument_count; i++) {
        set_ends(config, &model->instruments[i].calibrated_until, ends);
    }
    if (kept != NULL) {
        setenv("TZ", kept, 1);
    } else {
        unsetenv("TZ");
    }
    tzset();
}
