// What exists: sites with their cabinets, positions and points; people; instruments; procedures and
// what districts add to them. Built from configuration, checked whole, immutable after that.
//
// Everything here belongs to the struct model it hangs on; nothing is freed one by one. Indexes are
// stable for the life of the model. Text is UTF-8 with a final NUL.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// An id: [A-Za-z0-9][A-Za-z0-9._-]{0,63}, and its NUL.
#define MODEL_ID_SIZE 65
#define MODEL_NONE UINT32_MAX
// The id of a test: "<test>"; "<test>.<product>" where it is one for each product; and
// "<procedure>." before either where two rules are owed under one id.
#define MODEL_TEST_SIZE (3 * MODEL_ID_SIZE)
// Distinct energies in one configuration; each is one bit of a mask.
#define MODEL_ENERGIES_MAX 32

enum model_role {
    MODEL_ROLE_TECHNICIAN = 1 << 0,
    MODEL_ROLE_SUPERVISOR = 1 << 1,
    MODEL_ROLE_MANAGER = 1 << 2,
    MODEL_ROLE_TRACKER = 1 << 3,
    MODEL_ROLE_VIEWER = 1 << 4,
};

// The groups of checks, in the order of the job (29 CFR 1910.147(d), (e), (f)).
enum model_group {
    MODEL_GROUP_PREPARE,
    MODEL_GROUP_RELIEVE,
    MODEL_GROUP_VERIFY,
    MODEL_GROUP_WORK,
    MODEL_GROUP_CLEAR,
    MODEL_GROUP_FINISH,
    MODEL_GROUP_LEAVE,
    MODEL_GROUP_COUNT,
};

// What is said to people, once in each language that it is given in: "en", "es-US" (RFC 5646).
struct model_text {
    const char *language, *text;
};
struct model_texts {
    const struct model_text *in;
    size_t count; // at least one
};

// A closed interval; an absent end is open. In the unit that stands beside it.
struct model_limits {
    bool has_min, has_max;
    double min, max;
};

struct model_check {
    char check[MODEL_ID_SIZE];
    enum model_group group;
    const char *ask;                // the question, for people, in the site's first language
    const struct model_texts *asks; // in each that it is given in; NULL: in that one alone
    const char *unit;               // NULL: answered without a reading
    struct model_limits limits;
    const char *instrument; // kind of instrument the reading needs, or NULL
    unsigned by;            // one enum model_role that alone may sign it, or 0: the crew
    int64_t valid_ms;       // how long a signature stands; 0: without end (never of prepare)
    const char *measure;    // kind of measure that answers it by itself, or NULL
    bool note;              // a field of the record: the signature must bring its answer as a note
    bool equals_family;     // the answer in words must be the nozzle's family
    bool twin;              // a reading may be given in the twin of its unit (model_unit_twin)
    bool torque_applied;    // what is read off a wrench counts as what it applies at the fastener
};

struct model_test {
    char test[MODEL_TEST_SIZE]; // configured: an id
    const char *rule;           // a name of the trade's rules ("pass-fail", "range", …)
    // For people, as those of a check; NULL: the rule's own title, and no more is said.
    const char *title, *ask;
    const struct model_texts *titles, *asks;
    const char *method, *edition; // by whose text it is done, and which one; or NULL
    const char *unit;             // range only, or NULL
    struct model_limits limits;   // configured
    // The rule's own, at each end that is not configured: of rules whose limits a configured one
    // replaces. The trade's (trade_limits_replaced), set by whoever makes a test.
    struct model_limits rule_limits;
    const char *instrument; // kind of instrument the readings need, or NULL
    bool powered;           // needs every required point live (the default)
    int64_t valid_ms;       // how long a record stands; 0: without end
    unsigned runs;          // over how many runs a borderline reading is averaged; 0 and 1: none is
    double borderline;      // a margin of at most so much, to either side, is borderline
    bool each_product;      // one such test for each product of the position
    bool fails_dispenser;   // a failed record takes every position of the dispenser out of service
    // An authority wants it announced: it is refused until so long after the prepare check of that
    // id was signed. notice_ms is 0 where it needs no notice.
    char notice[MODEL_ID_SIZE];
    int64_t notice_ms;
};

// One list of alternatives: a person needs one credential of each list.
struct model_credential_choice {
    const char **any; // ids
    size_t count;
};

// What a procedure, with what its district adds, requires of a job.
struct model_requirements {
    const char *procedure;            // id
    const char *title;                // in the site's first language
    const struct model_texts *titles; // in each that it is given in, or NULL
    struct model_credential_choice *credentials;
    size_t credential_count;
    const char **isolate; // names of energies
    size_t isolate_count;
    // It looks and tests, and nothing is isolated or worked on: of checks it has only those of
    // prepare and finish.
    bool inspection;
    bool match;                 // the kit's family must be the position's nozzle family
    bool takes_dispenser;       // every position of the cabinet goes out of service
    bool takes_site;            // every position of the site does; then it takes the dispenser too
    int64_t check_in_ms;        // while working, who leads says so this often; 0: nobody asks
    struct model_check *checks; // by group, in the order configured, the district's last
    size_t check_count;
    struct model_test *tests;
    size_t test_count;
    const char *district;  // whose additions are in it, or NULL
    const char *effective; // "YYYY-MM-DD": first day on which these rules of it hold, or NULL
};

// Positions, points and sensors come by the ten thousand: counts are 32 bits wide.
struct model_position {
    char position[MODEL_ID_SIZE];
    char dispenser[MODEL_ID_SIZE];
    const char *title; // falls back to the id
    const struct model_texts *titles;
    const char **products;
    uint32_t product_count;
    const char *nozzle_family; // or NULL
    uint32_t *points;          // indexes of the points that isolate this position
    uint32_t point_count;
};

struct model_point {
    char point[MODEL_ID_SIZE];
    bool locks_by_reader; // tags on it come from its reader alone
    uint32_t isolates_count;
    uint32_t sensor_count;
    uint32_t controller;      // index, or MODEL_NONE
    unsigned witnesses;       // without sensors (default 1)
    int32_t max_age_ms;       // with sensors (default 30000)
    int32_t settle_ms;        // with sensors (default 2000)
    int32_t witness_valid_ms; // without sensors (default 28800000)
    const char *energy;       // name
    const char *kind;         // or NULL
    const char *title;        // falls back to the id
    const struct model_texts *titles;
    uint32_t *isolates; // indexes of positions
    uint32_t *sensors;  // indexes into the site's sensors; none: people say it
};

struct model_sensor {
    char sensor[MODEL_ID_SIZE];
    uint32_t point; // index of the one point that carries it
    bool claimed;   // a feed claims it: not heard on its canonical topic
};

// A number that the site's hardware reports (line pressure, voltage, % of the lower explosive
// limit) and that can answer a check by itself.
struct model_measure {
    char measure[MODEL_ID_SIZE];
    const char *kind;  // what checks name it by
    const char *unit;  // a check takes it only if its own unit is the same
    const char *title; // falls back to the id
    const struct model_texts *titles;
    uint32_t *positions; // indexes of the positions it speaks of
    uint32_t position_count;
    uint32_t controller; // index, or MODEL_NONE
    int32_t max_age_ms;  // default 30000
    bool claimed;        // a feed claims it: not heard on its canonical topic
};

struct model_tank {
    char tank[MODEL_ID_SIZE];
    const char *product;
    double gallons; // what it holds, full
};

// What a site's file says of its vapor recovery: what readings of a test are held against.
struct model_vapor {
    const char *basis;  // of the trade's rule pressure-decay, or NULL
    const char *system; // the same
    unsigned nozzles;   // on the tanks; 0: not said
    struct model_tank *tanks;
    size_t tank_count;
};

// Ids to indexes, private to model_index and the look-ups: an open hash, a power of two in size.
struct model_hash {
    uint32_t *slots; // index + 1; 0: free. NULL: not made, look-ups go through the array
    uint32_t mask;
};

// A district's rules from a day on.
struct model_rules {
    char day[11];     // "YYYY-MM-DD": the first day on which they hold
    int64_t *from_ms; // by zone index: the first instant (Unix ms) of that day
    const struct model_requirements *const *requirements; // as those of the site
};

struct model_site {
    char site[MODEL_ID_SIZE];
    uint32_t index; // in the model
    // Its titles, and those of what is in it, are in its first language where they are given in
    // several; "titles" has them all, and is NULL where there is one alone.
    const char *title;
    const struct model_texts *titles;
    const char **languages; // that people read here; at least one
    size_t language_count;
    const char *time_zone;
    uint32_t zone;           // index into the model's zones
    const char *volume_unit; // in which fuel is measured here: "gal" or "L"
    const char *district;    // or NULL
    struct model_position *positions;
    size_t position_count;
    struct model_point *points;
    size_t point_count;
    struct model_sensor *sensors;
    size_t sensor_count;
    struct model_measure *measures;
    size_t measure_count;
    char (*controllers)[MODEL_ID_SIZE];
    size_t controller_count;
    const struct model_vapor *vapor; // or NULL
    // Requirements by procedure index, with the district's additions: model->procedure_count rows.
    // These hold until the first day of rules, each of which takes the place of what was before.
    const struct model_requirements *const *requirements;
    const struct model_rules *rules; // by day
    size_t rule_count;
    struct model_hash position_hash, point_hash, sensor_hash, measure_hash;
};

// The last valid day of something, resolved per time zone so that no rule needs a calendar.
struct model_until {
    bool set;        // false: without end
    char day[11];    // "YYYY-MM-DD"
    int64_t *end_ms; // by zone index: the first instant (Unix ms) at which it is no longer valid
};

struct model_credential {
    char credential[MODEL_ID_SIZE];
    struct model_until until;
};

struct model_person {
    char person[MODEL_ID_SIZE];
    const char *title; // falls back to the id
    unsigned roles;    // mask of enum model_role
    bool every_site;
    bool *at_site; // by site index (when not every_site)
    struct model_credential *credentials;
    size_t credential_count;
    bool has_token;
    uint8_t token_sha256[32];
};

struct model_instrument {
    char instrument[MODEL_ID_SIZE];
    const char *kind;
    struct model_until calibrated_until; // always set
    double uncertainty;                  // expanded, of a reading; 0: not said
    const char *uncertainty_unit;        // NULL: not said
    // Of a torque wrench, in inches: from its drive to the center of its grip, and of the adapter
    // that is on it, with the angle between them in degrees. wrench_in 0: not said.
    double wrench_in, adapter_in, angle_deg;
};

struct model_webhook {
    char webhook[MODEL_ID_SIZE];
    const char *url;
    const char *secret;      // the text of its file: one secret a line
    const char *secret_file; // path
    const char *ca_file;     // or NULL: the system's
    const char **sites;      // ids; empty: every site
    size_t site_count;
    const char **events; // types as facts have them, without "forelock."; empty: every type
    size_t event_count;
    int64_t alarm_after_ms;
};

struct model_broker {
    const char *host;
    uint16_t port;
    const char *username;                       // or NULL
    const char *password;                       // or NULL
    const char *ca_file, *cert_file, *key_file; // or NULL
};

struct model_feed;

struct model {
    const char *instance;
    const char *root;
    struct model_broker broker;
    const char *http_listen; // "address:port", or NULL
    const char *http_url;    // how phones reach it, without a final "/", or NULL
    const char *http_cert_file, *http_key_file;
    const char *journal;      // path, resolved against the configuration's folder
    struct model_site *sites; // sorted by id
    size_t site_count;
    struct model_person *people; // sorted by id
    size_t person_count;
    struct model_instrument *instruments; // sorted by id
    size_t instrument_count;
    // The procedures as configured, sorted by id, without any district.
    struct model_requirements *procedures;
    size_t procedure_count;
    struct model_webhook *webhooks;
    size_t webhook_count;
    const char **zones; // names of the distinct time zones
    size_t zone_count;
    struct model_feed *feeds; // model/feed.h; in the order configured
    size_t feed_count;
    struct model_hash site_hash;
    struct model_arena *arena; // what everything above lies in; private to the functions below
};

// An empty model, and memory for what hangs on it. model_free ends all of it at once. A model that
// was not made by model_new (one laid out by hand) needs none of these.
struct model *model_new(void);        // NULL: out of memory
void model_free(struct model *model); // NULL is fine
// Zeroed, aligned for any object of the model. NULL: out of memory. A size of 0 gives a valid
// pointer that may not be read through.
void *model_alloc(struct model *model, size_t size);
// The same for count objects of a size, aligned for a multiple of 8 or 4 bytes if the size is one.
// NULL also if the product overflows.
void *model_array(struct model *model, size_t count, size_t size);
// A copy of a text of that length, with a final NUL.
const char *model_text(struct model *model, const char *text, size_t length);
// Bytes that the model takes from the heap.
size_t model_memory(const struct model *model);

// Makes the hashes of sites and of what is in them, for the look-ups below; they work without, only
// slower. False: out of memory.
bool model_index(struct model *model);

// Look-ups by id; NULL where there is none. People, instruments and procedures by bisection; sites,
// and the sensors, points and positions of a site, through a hash made by model_index.
const struct model_site *model_site_find(const struct model *model, const char *site);
const struct model_person *model_person_find(const struct model *model, const char *person);
const struct model_instrument *model_instrument_find(const struct model *model, const char *id);
const struct model_requirements *model_procedure_find(const struct model *model, const char *id);
// The requirements of a procedure at a site, with what its district adds at that instant (Unix ms,
// whose day is the site's); NULL if unknown.
const struct model_requirements *model_requirements_find(const struct model *model,
                                                         const struct model_site *site,
                                                         const char *procedure, int64_t at_ms);
uint32_t model_position_find(const struct model_site *site, const char *position); // or MODEL_NONE
uint32_t model_point_find(const struct model_site *site, const char *point);
uint32_t model_sensor_find(const struct model_site *site, const char *sensor);
uint32_t model_measure_find(const struct model_site *site, const char *measure);
uint32_t model_controller_find(const struct model_site *site, const char *controller);

bool model_person_of_site(const struct model_person *person, const struct model_site *site);
bool model_person_has(const struct model_person *person, unsigned roles); // any of the roles
// Whether something is valid at an instant (Unix ms) in a site's time zone.
bool model_until_valid(const struct model_until *until, const struct model_site *site,
                       int64_t at_ms);

// A text in a language; where it is not given in that, `otherwise`. texts may be NULL.
const char *model_text_in(const struct model_texts *texts, const char *language,
                          const char *otherwise);

// Whether a text is an id as the contract has it.
bool model_id_valid(const char *text, size_t length);

// The limits that a test is held against as far as its definition says: the configured ones, and
// at an end without one the rule's own that it would replace.
struct model_limits model_test_limits(const struct model_test *test);
// The interval of values that lie in both. It may be empty (min over max): nothing passes then.
struct model_limits model_limits_both(struct model_limits a, struct model_limits b);
// The limits as they hold in a unit (or NULL): where a figure may be of either sign, a max alone
// bounds it on both sides of zero. A max below 0 then leaves nothing.
struct model_limits model_limits_in(struct model_limits limits, const char *unit);

// Of two periods in ms the shorter; 0 is none, or without end.
int64_t model_period_shorter(int64_t a, int64_t b);

// Names of roles and groups as the contract spells them; NULL / -1 where there is none.
const char *model_role_name(unsigned role);
unsigned model_role_of(const char *name); // 0: no such role
const char *model_group_name(enum model_group group);
int model_group_of(const char *name); // -1: no such group

// What a procedure takes out of service, as the contract spells it: "position", "dispenser" or
// "site".
const char *model_takes_name(const struct model_requirements *needs);

// Whether a unit (or NULL) is one of voltage, which no measure proves absent.
bool model_is_voltage(const char *unit);
// Whether a person answers the check: a measure never answers one in V.
bool model_check_is_a_persons(const struct model_check *check);
// Requirements of an earlier edition, as of a job that was opened under it, as the rules of this
// one have them: limits by model_limits_in, and verify checks that people answer.
void model_requirements_renew(struct model_requirements *all);
// The check of an id, or NULL.
struct model_check *model_check_named(struct model_requirements *all, const char *id);
// Puts a new check behind the last of its group, so that the order of the job stays. The array must
// have room for it.
void model_check_insert(struct model_requirements *all, const struct model_check *check);
// Deep copies that belong to the caller (one allocation; free() ends them). NULL: out of memory.
struct model_requirements *model_requirements_copy(const struct model_requirements *from);
// Both at once, the stricter of each: a job keeps the requirements of its opening unless a later
// configuration asks for more. Checks and tests are united by id; limits are intersected; a test
// of b that has another rule under the same id is added as "<b's procedure>.<test>". What cannot be
// compared (a limit in another unit, another question or signing role) stays as a has it. A measure
// answers a check only where both say so.
struct model_requirements *model_requirements_stricter(const struct model_requirements *a,
                                                       const struct model_requirements *b);
// What a job on a position requires: a copy of `from` in which each test that is one for each
// product has become "<test>.<product>" for every product of the position (of every position of its
// cabinet, where the procedure takes the dispenser). Without any product it is one plain test,
// never none. Belongs to the caller (one allocation; free() ends it). NULL: out of memory.
struct model_requirements *model_requirements_at(const struct model_requirements *from,
                                                 const struct model_site *site, uint32_t position);
