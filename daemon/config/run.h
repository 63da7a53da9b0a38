// The run of one load: its memory, its sets of names, and what it gathered from one file for
// another.
#pragma once

#include "config/config.h"

#include <glob.h>
#include <setjmp.h>

struct config;
struct config_file;
struct json_node;

// --- Sets of names, each with a number ---

struct config_name {
    const char *text; // NULL: a free slot
    uint32_t value;
};
struct config_names {
    struct config_name *slots;
    size_t size, count;
    bool brief; // ends with the file being read
};

// Where something stands, for what can be judged only after its file is closed.
struct config_place {
    const char *path;
    unsigned order, line, column;
    const char *pointer;
};

// A text for people, or some in one file that are given in the same languages.
struct config_said {
    const struct model_texts *texts; // NULL: a plain text
    struct config_place place;       // of the first
    size_t count;
};

// Requirements as sites of one first language say them.
struct config_spoken {
    const struct model_requirements *const *rows; // as they were read
    const char *language;
    const struct model_requirements *const *in;
};

// Sites a person is named for, until all sites are known.
struct config_person_sites {
    const char *person;
    const char **sites;
    size_t count;
};

struct config_district {
    const char *id;
    // By procedure index, as in model_site.
    const struct model_requirements **requirements; // until the first day of rules
    bool plain;                                     // a file without a day was read
    struct model_rules *rules;                      // with room for one a file
    size_t rule_count;
};

// A kind of credential, with those of it that hold it too.
struct config_level {
    const char *id;
    const char **includes; // ids
    size_t include_count;
    const struct json_node **nodes; // where they stand, while the file is read
    unsigned mark;
};

struct config {
    struct model *model;
    struct model *scratch; // an arena for what only the run needs
    struct model *brief;   // one for what only the file being read needs
    struct config_report *report;
    int64_t now_ms;
    jmp_buf no_memory;
    struct config_file *open;
    struct config_file *root; // stays open: the others' references are in it
    glob_t found;             // what a pattern found, until it is noted
    unsigned files;
    size_t file_room;
    struct config_names texts, energies, zones, days;
    struct config_names people, tokens, instruments, held, procedures, districts, sites, feeds;
    const char **file_paths; // by order
    // A file of that kind could not be read, so an unknown name may be its fault.
    bool people_broken, procedures_broken, districts_broken, sites_broken;
    bool isolation_broken; // what a procedure or a district isolates could not be read
    struct config_person_sites *person_sites; // as the people were read
    struct config_level *levels;              // NULL: any id is a credential
    size_t level_count;
    struct config_names level_names;
    bool levels_broken;
    unsigned questions; // about levels, each with a mark of its own
    struct config_district *district_rows;
    size_t district_count;
    const struct model_requirements **plain_row; // requirements where there is no district
    struct config_place *site_places;            // as the sites were read
    struct config_said *said;                    // file by file, but those of sites' own files
    size_t said_count, said_room;
    struct config_spoken *spoken;
    size_t spoken_count, spoken_room;
    size_t feed_room; // of the model's feeds
};

// --- memory.c ---

// Memory for the model, for the run alone, and until the next config_close. Each is zeroed; lack of
// memory ends the run.
void *config_alloc(struct config *config, size_t count, size_t size);
void *config_scratch(struct config *config, size_t count, size_t size);
void *config_brief(struct config *config, size_t count, size_t size);
// Ends the run for want of memory.
_Noreturn void config_no_memory(struct config *config);
// Makes room for one item more in an array of such memory, which moves. `items` is the address of
// the pointer to the items, `size` that of one.
typedef void *config_allocate(struct config *config, size_t count, size_t size);
void config_array_room(struct config *config, config_allocate *allocate, void *items, size_t count,
                       size_t *capacity, size_t size);

// --- names.c ---

// Adds a name (copied). MODEL_NONE: it is new; else the value it was added with before.
uint32_t config_names_add(struct config *config, struct config_names *names, const char *text,
                          uint32_t value);
// The value of a name, or MODEL_NONE.
uint32_t config_names_find(const struct config_names *names, const char *text);
// One copy of each distinct text, in the model.
const char *config_intern(struct config *config, const char *text);
