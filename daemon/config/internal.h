// Shared by the files of this folder: the run of one load, the files it reads, the tables of fields
// that drive it.
#pragma once

#include "config/config.h"
#include "json/json.h"

#include <glob.h>
#include <setjmp.h>

struct config;

// --- names.c: sets of names, each with a number; interned texts ---

struct config_name {
    const char *text; // NULL: a free slot
    uint32_t value;
};
struct config_names {
    struct config_name *slots;
    size_t size, count;
    bool brief; // ends with the file being read
};

// Adds a name (copied). MODEL_NONE: it is new; else the value it was added with before.
uint32_t config_names_add(struct config *config, struct config_names *names, const char *text,
                          uint32_t value);
// The value of a name, or MODEL_NONE.
uint32_t config_names_find(const struct config_names *names, const char *text);
// One copy of each distinct text, in the model.
const char *config_intern(struct config *config, const char *text);

// --- load.c: the run ---

// A file being read. Opened ones hang on the run, so that nothing leaks when memory runs out.
struct config_file {
    struct config *config;
    struct config_file *next;
    const char *path;
    unsigned order;
    char *text;
    size_t length;
    struct json_tape tape;
};

// Files that a list names, each with the element that named it.
struct config_path {
    const char *path;
    const struct json_node *node;
};
struct config_paths {
    struct config_path *items;
    size_t count, capacity;
};

// Where something stands, for what can be judged only after its file is closed.
struct config_place {
    const char *path;
    unsigned order, line, column;
    const char *pointer;
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
    size_t feed_room;                            // of the model's feeds
};

// Memory for the model, for the run alone, and until the next config_close. Each is zeroed; lack of
// memory ends the run.
void *config_alloc(struct config *config, size_t count, size_t size);
void *config_scratch(struct config *config, size_t count, size_t size);
void *config_brief(struct config *config, size_t count, size_t size);
_Noreturn void config_no_memory(struct config *config);
// Makes room for one item more in an array of such memory, which moves. `items` is the address of
// the pointer to the items, `size` that of one.
typedef void *config_allocate(struct config *config, size_t count, size_t size);
void config_array_room(struct config *config, config_allocate *allocate, void *items, size_t count,
                       size_t *capacity, size_t size);

// --- report.c ---

void config_error(struct config_file *file, const struct json_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void config_warn(struct config_file *file, const struct json_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// Where a node stands; the pointer is a scratch copy.
struct config_place config_place_of(struct config_file *file, const struct json_node *node);
void config_warn_at(struct config *config, const struct config_place *place, const char *format,
                    ...) __attribute__((format(printf, 3, 4)));
// An error of a whole file, at an offset of it.
void config_error_offset(struct config_file *file, size_t offset, const char *pointer,
                         const char *format, ...) __attribute__((format(printf, 4, 5)));
void config_report_sort(struct config_report *report);

// --- file.c ---

// Opens a file that a node of another names (both NULL: the first) and scans it. NULL: reported.
struct config_file *config_open(struct config *config, struct config_file *by,
                                const struct json_node *node, const char *path);
void config_close(struct config_file *file);
// A path relative to the file that names it; scratch.
const char *config_resolve(struct config_file *by, const char *path);
// The paths that a list of globs names. `need`: a glob without a match is an error, else a warning.
struct config_paths config_glob(struct config_file *by, const struct json_node *list, bool need);
// The text of a secret's file without its final newline, in the model. NULL: reported at node.
const char *config_secret(struct config_file *by, const struct json_node *node, const char *path);
// Reports at node, and is false, if the file cannot be read.
bool config_readable(struct config_file *by, const struct json_node *node, const char *path);

// --- field.c ---

enum config_kind {
    CONFIG_ID,      // an id
    CONFIG_TEXT,    // a text of min (default 1) to max (default 500) bytes
    CONFIG_INTEGER, // a whole number
    CONFIG_NUMBER,
    CONFIG_SECONDS, // a number of seconds; read in ms
    CONFIG_FLAG,    // true or false
    CONFIG_DATE,    // "YYYY-MM-DD", a day of the calendar
    CONFIG_ARRAY,   // of min (default 0) to max (default 100,000) elements
    CONFIG_OBJECT,
};

struct config_field {
    const char *name;
    enum config_kind kind;
    bool required;
    double min, max; // both 0: the kind's own bounds
    double fallback; // where it is absent: of numbers and seconds, and 1 for true
};

struct config_value {
    const struct json_node *node; // NULL: absent, or null
    const char *text;             // of a text (in the model), an id or a date; NULL unless ok
    double number;                // or fallback
    int64_t integer;              // of a whole number, or ms of seconds; or fallback
    bool ok;                      // present and right
    bool flag;                    // or fallback
    char id[MODEL_ID_SIZE];       // of an id or a date
};

#define CONFIG_COUNT(array) (sizeof(array) / sizeof((array)[0]))

// Reads an object by its table into values. `what` is how people call it ("a point"). False: it is
// no object at all. Every error is reported; a value that is wrong has ok false.
bool config_read(struct config_file *file, const struct json_node *object, const char *what,
                 const struct config_field *fields, size_t count, struct config_value *values);
// Reads one value by a field's rules.
void config_read_value(struct config_file *file, const struct json_node *node,
                       const struct config_field *field, struct config_value *value);
// Reports that an object lacks a field.
void config_missing(struct config_file *file, const struct json_node *object, const char *what,
                    const char *name);
// The elements of an array as ids, each once; count is how many there are. Brief.
const char **config_ids(struct config_file *file, const struct json_node *array, const char *what,
                        size_t *count);
// The nearest of the names that a misspelled one may have meant, or NULL.
const char *config_nearest(const char *name, const char *const *names, size_t count);
// Says "; did you mean "x"?" for the nearest name, or nothing.
const char *config_hint(const char *name, const char *const *names, size_t count, char *buffer,
                        size_t size);
// What kind of JSON a node is, in words.
const char *config_kind_name(const struct json_node *node);

// --- one file a subject ---

void config_root_load(struct config *config, const char *path); // root.c
// As far as the people go: sites and dates stay unresolved.
void config_root_people(struct config *config, const char *path);
void config_credentials_load(struct config_file *file); // credential.c
void config_people_load(struct config_file *file);      // people.c
void config_instruments_load(struct config_file *file); // people.c
void config_people_finish(struct config *config);       // people.c
void config_procedures_load(struct config *config, const struct config_paths *paths); // procedure.c
void config_districts_load(struct config *config, const struct config_paths *paths);  // district.c
void config_sites_load(struct config *config, const struct config_paths *paths);      // site.c
void config_feeds_load(struct config *config, const struct config_paths *paths);      // feed.c
// The list `webhooks` of the first file, or NULL; after the sites.
void config_webhooks_load(struct config_file *file, const struct json_node *list); // webhook.c

// Reports a credential that the file of credentials, where there is one, does not have.
void config_credential_known(struct config_file *file, const struct json_node *node,
                             const char *id);
// The ids of a list and every credential that includes one of them, each once; in scratch.
const char **config_credentials_expand(struct config *config, const char *const *ids,
                                       size_t *count);

// Counts an energy; the 33rd distinct one is an error at node.
void config_energy(struct config_file *file, const struct json_node *node, const char *energy);

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

// --- coverage.c: what a site could need and does not have ---

// Energies that a procedure isolates and a position lacks; nodes are those of the positions.
void config_coverage_positions(struct config_file *file, const struct json_node *const *nodes,
                               const struct model_site *site);
// People of each site, after all is read and ends are resolved.
void config_coverage_people(struct config *config);

// --- feed_claim.c: what a feed's template can name ---

// A zeroed feed at the end of the model's. The pointers to those before it end.
struct model_feed *config_feed_new(struct config *config);
// Marks the sensors or measures, of every site, that the feed (the last of the model) can name;
// reports at node those that another feed claims already, and a feed that can name nothing.
void config_feed_claim(struct config_file *file, const struct json_node *node,
                       const struct model_feed *feed);
