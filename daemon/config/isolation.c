// Isolation that is complete by its letter and leaves somebody in front of live
// parts. Power comes to a dispenser on more than one circuit (lighting, heaters, data, a feed back
// from the next cabinet), and what is called by another name is not isolated by its procedure.
#include "config/site.h"

#include <string.h>

#define CLAUSE "NEC 514.11(A); 29 CFR 1910.147(d)(3)"

// Devices that open electrical conductors, whatever their energy is called.
static bool opens_conductors(const struct model_point *point) {
    static const char *const words[] = {"breaker", "disconnect", "isolator", "fuse", "switch"};
    static const char *const energies[] = {"electric", "volt", "feedback", "backfeed",
                                           "light",    "data", "comm"};
    for (size_t i = 0; point->kind != NULL && i < CONFIG_COUNT(words); i++) {
        if (strcasestr(point->kind, words[i]) != NULL) {
            return true;
        }
    }
    for (size_t i = 0; point->energy != NULL && i < CONFIG_COUNT(energies); i++) {
        if (strcasestr(point->energy, energies[i]) != NULL) {
            return true;
        }
    }
    return false;
}

static bool isolates(const struct model_requirements *needs, const char *energy) {
    for (size_t i = 0; i < needs->isolate_count; i++) {
        if (needs->isolate[i] == energy) { // interned
            return true;
        }
    }
    return false;
}

static bool at_position(const struct model_point *point, uint32_t position) {
    for (uint32_t i = 0; i < point->isolates_count; i++) {
        if (point->isolates[i] == position) {
            return true;
        }
    }
    return false;
}

static bool at_dispenser(const struct model_site *site, const struct model_point *point,
                         const char *dispenser) {
    for (uint32_t i = 0; i < point->isolates_count; i++) {
        if (strcmp(site->positions[point->isolates[i]].dispenser, dispenser) == 0) {
            return true;
        }
    }
    return false;
}

// An electrical point of the position that the procedure isolates.
static const struct model_point *electrical_of(const struct model_site *site,
                                               const struct model_requirements *needs,
                                               uint32_t position) {
    const struct model_position *at = &site->positions[position];
    for (uint32_t i = 0; i < at->point_count; i++) {
        const struct model_point *point = &site->points[at->points[i]];
        if (opens_conductors(point) && isolates(needs, point->energy)) {
            return point;
        }
    }
    return NULL;
}

// Whether the procedure leaves this electrical point of the position's dispenser on while it counts
// on another one. `why` says how.
static bool leaves_on(const struct model_requirements *needs, uint32_t position,
                      const struct model_point *point, const char **why) {
    if (!isolates(needs, point->energy)) {
        *why = "the procedure does not isolate that energy";
        return true;
    }
    *why = "the point is not among those that isolate this position";
    return !at_position(point, position);
}

// One report for a point and a procedure, at the point: the first position that it endangers. True:
// there was one.
static bool check_point(struct config_site_reading *reading, uint32_t index,
                        const struct model_requirements *needs) {
    const struct model_site *site = reading->site;
    const struct model_point *point = &site->points[index];
    for (uint32_t i = 0; i < site->position_count; i++) {
        const struct model_position *position = &site->positions[i];
        const char *why = "";
        if (!at_dispenser(site, point, position->dispenser)) {
            continue;
        }
        const struct model_point *relied = electrical_of(site, needs, i);
        if (relied != NULL && leaves_on(needs, i, point, &why)) {
            config_error(reading->file, reading->point_nodes[index],
                         "the procedure \"%s\" isolates the point \"%s\" of dispenser \"%s\" and "
                         "leaves this electrical point, \"%s\", on for work at position \"%s\": "
                         "%s; every circuit into a dispenser is opened (" CLAUSE ")",
                         needs->procedure, relied->point, position->dispenser, point->point,
                         position->position, why);
            return true;
        }
    }
    return false;
}

// The rules that hold first and those of each day; what is wrong in several is said once.
static void check_procedures(struct config_site_reading *reading, uint32_t index) {
    const struct model_site *site = reading->site;
    size_t procedures = reading->config->model->procedure_count;
    for (size_t i = 0; i < procedures; i++) {
        bool said = check_point(reading, index, site->requirements[i]);
        for (size_t k = 0; k < site->rule_count && !said; k++) {
            said = check_point(reading, index, site->rules[k].requirements[i]);
        }
    }
}

void config_check_isolation(struct config_site_reading *reading) {
    for (uint32_t i = 0; i < reading->site->point_count; i++) {
        if (opens_conductors(&reading->site->points[i])) {
            check_procedures(reading, i);
        }
    }
}
