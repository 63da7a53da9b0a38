// Isolation that is complete by its letter and leaves somebody in front of live
// parts. Power comes to a dispenser on more than one circuit (lighting, heaters, data, a feed back
// from the next cabinet), and what is called by another name is not isolated by its procedure.
#include "base/nearest.h"
#include "config/site.h"

#include <string.h>

#define CLAUSE "NEC 514.11(A); 29 CFR 1910.147(d)(3)"

// The disconnect of a pump at the tank: it holds back product, and none of its conductors runs into
// a dispenser. Of one that is said to hold back anything else the name proves nothing.
// Rule (2, points; NEC 514.11(A)): The disconnect of a pump that holds back product is no circuit
// into a dispenser. [pump-disconnect-of-any-energy]
static bool is_of_a_pump(const struct model_point *point) {
    return point->kind != NULL && strcmp(point->kind, "pump-disconnect") == 0 &&
           point->energy != NULL && strncmp(point->energy, "product", strlen("product")) == 0;
}

// Devices that open electrical conductors of a dispenser, whatever their energy is called.
static bool opens_conductors(const struct model_point *point) {
    static const char *const words[] = {"breaker", "disconnect", "isolator", "fuse", "switch"};
    static const char *const energies[] = {"electric", "volt", "feedback", "backfeed",
                                           "light",    "data", "comm"};
    if (is_of_a_pump(point)) {
        return false;
    }
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

// One report for a point and a procedure, at the point: the first position that it endangers. True:
// there was one.
static bool check_point(struct config_site_reading *reading, uint32_t index,
                        const struct model_requirements *needs) {
    const struct model_site *site = reading->site;
    const struct model_point *point = &site->points[index];
    for (uint32_t i = 0; i < site->position_count; i++) {
        const struct model_position *position = &site->positions[i];
        if (!at_dispenser(site, point, position->dispenser)) {
            continue;
        }
        const struct model_point *relied = electrical_of(site, needs, i);
        if (relied != NULL && !isolates(needs, point->energy)) {
            config_error(reading->file, reading->point_nodes[index],
                         "the procedure \"%s\" isolates the point \"%s\" of dispenser \"%s\" and "
                         "leaves this electrical point, \"%s\", on for work at position \"%s\": "
                         "the procedure does not isolate that energy; every circuit into a "
                         "dispenser is opened (" CLAUSE ")",
                         needs->procedure, relied->point, position->dispenser, point->point,
                         position->position);
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

// A position of a dispenser that the point leaves on while it isolates another one of it; NULL:
// none.
static const struct model_position *left_on(const struct model_site *site, uint32_t index) {
    const struct model_point *point = &site->points[index];
    for (uint32_t i = 0; i < site->position_count; i++) {
        if (at_dispenser(site, point, site->positions[i].dispenser) && !at_position(point, i)) {
            return &site->positions[i];
        }
    }
    return NULL;
}

// Rule (2, points; R30): An electrical point that isolates only some positions of a dispenser is an
// error. [half-a-cabinet]
static void check_cabinet(struct config_site_reading *reading, uint32_t index) {
    const struct model_position *position = left_on(reading->site, index);
    if (position != NULL && !reading->positions_broken) {
        config_error(reading->file, reading->point_nodes[index],
                     "the electrical point \"%s\" isolates dispenser \"%s\" and not its position "
                     "\"%s\": the cabinet's other conductors stay live; it isolates every position "
                     "of a dispenser, or is no point of it (" CLAUSE ")",
                     reading->site->points[index].point, position->dispenser, position->position);
    }
}

// The energies that the site's procedures isolate, each once, by whichever rules; brief.
static const char **isolated_energies(struct config_site_reading *reading, size_t *count) {
    const struct model_site *site = reading->site;
    size_t procedures = reading->config->model->procedure_count;
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    const char **energies = config_brief(reading->config, MODEL_ENERGIES_MAX, sizeof(*energies));
    *count = 0;
    for (size_t row = 0; row < (site->rule_count + 1) * procedures; row++) {
        size_t rule = row / procedures;
        const struct model_requirements *needs =
            rule == 0 ? site->requirements[row]
                      : site->rules[rule - 1].requirements[row % procedures];
        for (size_t i = 0; i < needs->isolate_count && *count < MODEL_ENERGIES_MAX; i++) {
            bool known = false;
            for (size_t k = 0; k < *count && !known; k++) {
                known = energies[k] == needs->isolate[i]; // interned
            }
            if (!known) {
                energies[(*count)++] = needs->isolate[i];
            }
        }
    }
    return energies;
}

// Rule (2, points; R30): A point whose energy no procedure isolates is an error, with the nearest
// energy named. [energy-of-no-procedure]
static bool check_energy(struct config_site_reading *reading, uint32_t index,
                         const char *const *energies, size_t count) {
    const struct model_point *point = &reading->site->points[index];
    const struct config *config = reading->config;
    bool known = point->energy == NULL || config->isolation_broken || config->procedures_broken ||
                 config->districts_broken;
    for (size_t i = 0; i < count && !known; i++) {
        known = energies[i] == point->energy; // interned
    }
    if (!known) {
        const char *closest = base_closest(point->energy, energies, count);
        config_error(
            reading->file,
            json_present(&reading->file->tape, reading->point_nodes[index], "energy"),
            "no procedure isolates the energy \"%s\", so no job would lock this point out; "
            "the nearest that one isolates is \"%s\"",
            point->energy, closest != NULL ? closest : "none");
    }
    return known;
}

void config_check_isolation(struct config_site_reading *reading) {
    size_t count = 0;
    const char **energies = isolated_energies(reading, &count);
    for (uint32_t i = 0; i < reading->site->point_count; i++) {
        bool known = check_energy(reading, i, energies, count);
        if (opens_conductors(&reading->site->points[i])) {
            check_cabinet(reading, i);
            if (known) {
                check_procedures(reading, i);
            }
        }
    }
}
