// What a procedure, and a district's addition to one, require of a job, while it is read.
#pragma once

#include "config/field.h"

// Read procedures, then what districts add to them, from files that the first one names.
void config_procedures_load(struct config *config, const struct config_paths *paths);
void config_districts_load(struct config *config, const struct config_paths *paths);

// Reports each of the lists (of the first `count` fields) that an inspection has not.
void config_of_repairs(struct config_file *file, const struct config_value *values, size_t count);

// --- requirement.c ---

// Requirements while they are built: arrays with room, in scratch.
struct config_building {
    struct config_file *file;
    struct model_requirements all;
    struct config_names checks; // that this file has named
    struct config_names tests;  // the same of tests
};
// The lists that a procedure and a district's addition have in common: the first rows of both
// tables.
enum config_requirement_field {
    CONFIG_REQ_CREDENTIALS,
    CONFIG_REQ_ISOLATE,
    CONFIG_REQ_GROUPS, // in the order of enum model_group
    CONFIG_REQ_TESTS = CONFIG_REQ_GROUPS + MODEL_GROUP_COUNT,
    CONFIG_REQ_COUNT,
};
// Adds the lists' values to what is built.
void config_requirements_add(struct config_building *building, const struct config_value *values);
// Reports, at the list of verify checks that made it so (NULL: none did), that people answer none.
void config_verify_by_a_person(const struct config_building *building,
                               const struct json_node *verify);
// Lays what was built into the model.
void config_requirements_keep(struct config_building *building, struct model_requirements *to);

// --- check.c, test.c ---

// Reads one check of a group, or one test, into what is built: a new one, or under an id that the
// procedure has a tightening of it. Loosening is an error.
void config_check_add(struct config_building *building, const struct json_node *node,
                      enum model_group group);
void config_test_add(struct config_building *building, const struct json_node *node);

// --- notice.c ---

// No notice is given longer ahead than a signature can stand.
#define CONFIG_NOTICE_MAX_H 8759
// Reads which check announces a test and for how many hours it must have stood: both, or neither. A
// district may ask for more hours.
void config_notice_read(struct config_file *file, const struct json_node *node,
                        struct model_test *test, const struct config_value *notice,
                        const struct config_value *hours);
// Reports tests whose notice is no prepare check of what was built, or stands for no longer than is
// waited. tests: the list that was read last, prepare: the checks beside it (not ok: none was).
void config_notices_fit(const struct config_building *building, const struct config_value *tests,
                        const struct config_value *prepare);

// --- tighten.c ---

// The limits of two fields as they hold in a unit (or NULL); an end that is not there, or wrong, is
// open.
struct model_limits config_limits_of(const struct config_value *min, const struct config_value *max,
                                     const char *unit);
// Reports limits that no value can meet. False: it did.
bool config_limits_meet(struct config_file *file, const struct config_value *min,
                        const struct config_value *max, const struct model_limits *limits);
// Brings limits closer; reports one that would loosen them, or that nothing could meet.
// No signature or record is configured to stand longer than a year.
#define CONFIG_VALID_MAX_S 31536000
// A period of a district for one that the procedure has (0: without end): shorter, or an error.
void config_valid_tighten(struct config_file *file, int64_t *valid_ms,
                          const struct config_value *given);
void config_limits_tighten(struct config_file *file, struct model_limits *limits,
                           const struct config_value *min, const struct config_value *max,
                           const char *unit);
// A text that a district may give where the procedure has none, but not replace.
void config_same_or_new(struct config_file *file, const struct config_value *given,
                        const char **text);
