// Small forecourts laid out by hand, for the explorer and the random histories: no file, no broker.
//
// Every person, place and figure is invented. Ids are short and regular, so that a step can name
// them by number: positions P0…, points d0…, sensors s0…, jobs j0….
#pragma once

#include "model/model.h"

#define FORECOURT_POSITIONS 8
#define FORECOURT_POINTS 12
#define FORECOURT_SENSORS 16
#define FORECOURT_PEOPLE 6
#define FORECOURT_CHECKS 10
#define FORECOURT_TESTS 2
#define FORECOURT_PROCEDURES 2
#define FORECOURT_MEASURES 3

struct forecourt_point {
    unsigned isolates; // bits of positions
    unsigned sensors;  // 0: people say it
    unsigned witnesses;
    bool electrical; // else product
    bool controlled; // by the one controller, panel-1
    bool by_reader;  // tags on it come from its reader alone
};

struct forecourt_plan {
    const char *name;
    unsigned positions;
    unsigned dispenser[FORECOURT_POSITIONS];
    unsigned points;
    struct forecourt_point point[FORECOURT_POINTS];
    unsigned technicians; // t-1…
    bool one_overseer;    // m-1 is manager, supervisor and tracker at once; else k-1, m-1 and s-1
    bool late;            // the last technician's credential has expired
    bool whole;           // a second procedure takes the dispenser and has an unpowered test
    bool product;         // product is isolated beside electrical energy
    bool brief;           // one check of each group
    bool measured;        // a check of pressure is answered by measures, at some positions
    bool bag;             // a failed leak test takes the dispenser out of service
    bool bare;            // only the checks that no procedure may lack
    bool told_how;        // words carry times or numbers, or come from the broker's store
    int max_age_ms, settle_ms, valid_ms;   // valid: of words and of prepare checks
    int relieve_valid_ms, verify_valid_ms; // of those checks; 0: they do not age
    int check_in_ms;                       // of working; 0: nobody is to check in
    int step_ms;                           // that a step takes; 0: the least
    int tick_ms; // in which its ages are told apart, up to three; 0: in halves of the longest
};

struct forecourt {
    const struct forecourt_plan *plan;
    struct model model;
    struct model_site site;
    struct model_position positions[FORECOURT_POSITIONS];
    uint32_t of_position[FORECOURT_POSITIONS][FORECOURT_POINTS];
    struct model_point points[FORECOURT_POINTS];
    uint32_t isolates[FORECOURT_POINTS][FORECOURT_POSITIONS];
    uint32_t sensors_of[FORECOURT_POINTS][FORECOURT_SENSORS];
    struct model_sensor sensors[FORECOURT_SENSORS];
    struct model_measure measures[FORECOURT_MEASURES];
    uint32_t measured[FORECOURT_MEASURES][FORECOURT_POSITIONS];
    struct model_person people[FORECOURT_PEOPLE];
    struct model_credential held[2];
    struct model_requirements procedures[FORECOURT_PROCEDURES];
    const struct model_requirements *at_site[FORECOURT_PROCEDURES];
    struct model_check checks[FORECOURT_CHECKS];
    struct model_test tests[FORECOURT_TESTS];
    struct model_credential_choice choice;
    const char *isolate[2];
};

// Lays a forecourt out by a plan, which must outlive it. It holds pointers into itself: never copy
// it.
void forecourt_lay(struct forecourt *forecourt, const struct forecourt_plan *plan);
