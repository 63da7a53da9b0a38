// Requirements travel in job.opened, so that a job keeps those of its opening whatever becomes of
// the configuration.
#include "wire/fact_requirements.h"

#include "trade/trade.h"
#include "wire/tell_member.h"

#include <math.h>

// A year: no signature is configured to stand longer.
#define SECONDS_MAX (366.0 * 24 * 3600)
#define HOUR_MS 3600000
// More runs of one test than anybody does.
#define RUNS_MAX 1000

// --- Writing ---

static void write_text(struct json_out *out, const char *name, const char *text) {
    if (text != NULL) {
        json_out_key(out, name);
        json_out_string(out, text);
    }
}

static void write_texts(struct json_out *out, const char *const *texts, size_t count) {
    json_out_array(out);
    for (size_t i = 0; i < count; i++) {
        json_out_string(out, texts[i]);
    }
    json_out_array_end(out);
}

static void write_yes(struct json_out *out, const char *name, bool yes) {
    if (yes) {
        json_out_key(out, name);
        json_out_bool(out, true);
    }
}

// A period; 0 is none.
static void write_seconds(struct json_out *out, const char *name, int64_t ms) {
    if (ms != 0) {
        json_out_key(out, name);
        json_out_double(out, (double)ms / 1000);
    }
}

// What checks and tests have in common.
static void write_measure(struct json_out *out, const char *unit, const struct model_limits *limits,
                          const char *instrument) {
    write_text(out, "unit", unit);
    if (limits->has_min) {
        json_out_key(out, "min");
        json_out_double(out, limits->min);
    }
    if (limits->has_max) {
        json_out_key(out, "max");
        json_out_double(out, limits->max);
    }
    write_text(out, "instrument", instrument);
}

static void write_check(struct json_out *out, const struct model_check *check) {
    json_out_object(out);
    write_text(out, "check", check->check);
    write_text(out, "ask", check->ask);
    wire_texts(out, "asks", check->asks);
    write_measure(out, check->unit, &check->limits, check->instrument);
    write_text(out, "by", check->by != 0 ? model_role_name(check->by) : NULL);
    write_seconds(out, "valid_s", check->valid_ms);
    write_text(out, "measure", check->measure);
    write_yes(out, "note", check->note);
    write_text(out, "equals", check->equals_family ? "nozzle_family" : NULL);
    write_text(out, "rule", check->torque_applied ? "torque-applied" : NULL);
    write_yes(out, "twin", check->twin);
    json_out_object_end(out);
}

static void write_group(struct json_out *out, const struct model_requirements *requirements,
                        enum model_group group) {
    json_out_key(out, model_group_name(group));
    json_out_array(out);
    for (size_t i = 0; i < requirements->check_count; i++) {
        if (requirements->checks[i].group == group) {
            write_check(out, &requirements->checks[i]);
        }
    }
    json_out_array_end(out);
}

static void write_test(struct json_out *out, const struct model_test *test) {
    json_out_object(out);
    write_text(out, "test", test->test);
    write_text(out, "rule", test->rule);
    write_text(out, "title", test->title);
    wire_texts(out, "titles", test->titles);
    write_text(out, "ask", test->ask);
    wire_texts(out, "asks", test->asks);
    write_text(out, "method", test->method);
    write_text(out, "edition", test->edition);
    write_measure(out, test->unit, &test->limits, test->instrument);
    if (!test->powered) {
        json_out_key(out, "powered");
        json_out_bool(out, false);
    }
    write_seconds(out, "valid_s", test->valid_ms);
    if (test->runs > 1) {
        json_out_key(out, "runs");
        json_out_int(out, test->runs);
        json_out_key(out, "borderline");
        json_out_double(out, test->borderline);
    }
    write_text(out, "each", test->each_product ? "product" : NULL);
    write_text(out, "fails", test->fails_dispenser ? "dispenser" : NULL);
    write_text(out, "notice", test->notice_ms > 0 ? test->notice : NULL);
    if (test->notice_ms > 0) {
        json_out_key(out, "notice_h");
        json_out_double(out, (double)test->notice_ms / HOUR_MS);
    }
    json_out_object_end(out);
}

static void write_credentials(struct json_out *out, const struct model_requirements *requirements) {
    json_out_key(out, "credentials");
    json_out_array(out);
    for (size_t i = 0; i < requirements->credential_count; i++) {
        write_texts(out, requirements->credentials[i].any, requirements->credentials[i].count);
    }
    json_out_array_end(out);
}

void wire_fact_write_requirements(struct json_out *out,
                                  const struct model_requirements *requirements) {
    json_out_object(out);
    write_text(out, "procedure", requirements->procedure);
    write_text(out, "title", requirements->title);
    wire_texts(out, "titles", requirements->titles);
    write_text(out, "kind", requirements->inspection ? "inspection" : NULL);
    write_text(out, "district", requirements->district);
    write_text(out, "effective", requirements->effective);
    write_credentials(out, requirements);
    json_out_key(out, "isolate");
    write_texts(out, requirements->isolate, requirements->isolate_count);
    write_text(out, "match", requirements->match ? "nozzle_family" : NULL);
    write_text(out, "takes", model_takes_name(requirements));
    write_seconds(out, "check_in_s", requirements->check_in_ms);
    for (int group = 0; group < MODEL_GROUP_COUNT; group++) {
        write_group(out, requirements, (enum model_group)group);
    }
    json_out_key(out, "tests");
    json_out_array(out);
    for (size_t i = 0; i < requirements->test_count; i++) {
        write_test(out, &requirements->tests[i]);
    }
    json_out_array_end(out);
    json_out_object_end(out);
}

// --- Reading ---

static bool read_text(const struct wire_fact_reader *reader, const struct json_node *object,
                      const char *name, const char **text) {
    const struct json_node *node = json_present(reader->tape, object, name);
    return node == NULL || wire_fact_read_text(reader, node, text);
}

// What has no texts by language was said in one alone, or by a version that had no other.
static bool read_said(const struct wire_fact_reader *reader, const struct json_node *object,
                      const char *name, const struct model_texts **texts) {
    const struct json_node *by = json_present(reader->tape, object, name);
    if (by == NULL || by->kind != JSON_OBJECT) {
        return by == NULL;
    }
    struct model_texts *made = wire_fact_arena_array(reader->arena, 1, sizeof *made);
    struct model_text *in = wire_fact_arena_array(reader->arena, by->count, sizeof *in);
    bool good = made != NULL && in != NULL;
    const struct json_node *key = good ? json_first(reader->tape, by) : NULL;
    while (good && key != NULL) {
        const struct json_node *text = json_next(reader->tape, by, key);
        good = wire_fact_read_text(reader, key, &in[made->count].language) &&
               wire_fact_read_text(reader, text, &in[made->count].text);
        made->count++;
        key = json_next(reader->tape, by, text);
    }
    if (good) {
        made->in = in;
    }
    *texts = made;
    return good && made->count > 0;
}

// An id is never absent.
static bool read_id(const struct wire_fact_reader *reader, const struct json_node *object,
                    const char *name, char *buffer, size_t size) {
    const struct json_node *node = json_present(reader->tape, object, name);
    return node != NULL && json_copy(reader->tape, node, buffer, size) && buffer[0] != '\0';
}

static bool read_number(const struct wire_fact_reader *reader, const struct json_node *object,
                        const char *name, bool *has, double *value) {
    const struct json_node *node = json_present(reader->tape, object, name);
    *has = node != NULL;
    return node == NULL || json_double(reader->tape, node, value);
}

static bool read_measure(const struct wire_fact_reader *reader, const struct json_node *node,
                         const char **unit, struct model_limits *limits, const char **instrument) {
    return read_text(reader, node, "unit", unit) &&
           read_number(reader, node, "min", &limits->has_min, &limits->min) &&
           read_number(reader, node, "max", &limits->has_max, &limits->max) &&
           read_text(reader, node, "instrument", instrument);
}

static bool read_role(const struct wire_fact_reader *reader, const struct json_node *object,
                      unsigned *by) {
    char name[32];
    const struct json_node *node = json_present(reader->tape, object, "by");
    if (node == NULL) {
        return true;
    }
    *by = json_copy(reader->tape, node, name, sizeof name) ? model_role_of(name) : 0;
    return *by != 0;
}

static bool read_seconds(const struct wire_fact_reader *reader, const struct json_node *object,
                         const char *name, int64_t *ms) {
    bool has;
    double seconds = 0;
    if (!read_number(reader, object, name, &has, &seconds) || seconds < 0 ||
        seconds > SECONDS_MAX) {
        return false;
    }
    *ms = llround(seconds * 1000);
    return true;
}

static bool read_yes(const struct wire_fact_reader *reader, const struct json_node *object,
                     const char *name, bool *yes) {
    const struct json_node *node = json_present(reader->tape, object, name);
    *yes = node != NULL && node->kind == JSON_TRUE;
    return node == NULL || *yes || node->kind == JSON_FALSE;
}

// A member that is one of two words; absent is the first (NULL: cannot be said).
static bool read_choice(const struct wire_fact_reader *reader, const struct json_node *object,
                        const char *name, const char *no, const char *yes, bool *chosen) {
    const struct json_node *node = json_present(reader->tape, object, name);
    *chosen = node != NULL && json_equals(reader->tape, node, yes);
    return node == NULL || *chosen || (no != NULL && json_equals(reader->tape, node, no));
}

static bool read_check(const struct wire_fact_reader *reader, const struct json_node *node,
                       struct model_check *check) {
    return read_id(reader, node, "check", check->check, sizeof check->check) &&
           read_text(reader, node, "ask", &check->ask) &&
           read_said(reader, node, "asks", &check->asks) &&
           read_measure(reader, node, &check->unit, &check->limits, &check->instrument) &&
           read_role(reader, node, &check->by) &&
           read_seconds(reader, node, "valid_s", &check->valid_ms) &&
           read_text(reader, node, "measure", &check->measure) &&
           read_yes(reader, node, "note", &check->note) &&
           read_choice(reader, node, "equals", NULL, "nozzle_family", &check->equals_family) &&
           read_choice(reader, node, "rule", NULL, "torque-applied", &check->torque_applied) &&
           read_yes(reader, node, "twin", &check->twin);
}

// The list of a name; absent is an empty one. False: it is no list.
static bool list_of(const struct wire_fact_reader *reader, const struct json_node *object,
                    const char *name, const struct json_node **list, size_t *count) {
    *list = json_present(reader->tape, object, name);
    *count = *list != NULL ? (*list)->count : 0;
    return *list == NULL || (*list)->kind == JSON_ARRAY;
}

static bool read_group(const struct wire_fact_reader *reader, const struct json_node *node,
                       enum model_group group, struct model_requirements *made) {
    const struct json_node *list;
    size_t count;
    if (!list_of(reader, node, model_group_name(group), &list, &count)) {
        return false;
    }
    const struct json_node *item = count > 0 ? json_first(reader->tape, list) : NULL;
    for (size_t i = 0; i < count; i++, item = json_next(reader->tape, list, item)) {
        struct model_check *check = &made->checks[made->check_count++];
        check->group = group;
        if (!read_check(reader, item, check)) {
            return false;
        }
    }
    return true;
}

static bool read_checks(const struct wire_fact_reader *reader, const struct json_node *node,
                        struct model_requirements *made) {
    const struct json_node *list;
    size_t count, all = 0;
    for (int group = 0; group < MODEL_GROUP_COUNT; group++) {
        if (!list_of(reader, node, model_group_name((enum model_group)group), &list, &count)) {
            return false;
        }
        all += count;
    }
    made->checks = wire_fact_arena_array(reader->arena, all, sizeof *made->checks);
    bool good = made->checks != NULL;
    for (int group = 0; good && group < MODEL_GROUP_COUNT; group++) {
        good = read_group(reader, node, (enum model_group)group, made);
    }
    return good;
}

// Journals from before a test could have runs lack both.
static bool read_runs(const struct wire_fact_reader *reader, const struct json_node *object,
                      struct model_test *test) {
    bool has;
    double runs = 0;
    if (!read_number(reader, object, "runs", &has, &runs) || runs < 0 || runs > RUNS_MAX) {
        return false;
    }
    test->runs = (unsigned)runs;
    return (double)test->runs == runs &&
           read_number(reader, object, "borderline", &has, &test->borderline);
}

// A test that needs no notice has neither.
static bool read_notice(const struct wire_fact_reader *reader, const struct json_node *object,
                        struct model_test *test) {
    bool has;
    double hours = 0;
    const struct json_node *node = json_present(reader->tape, object, "notice");
    if (!read_number(reader, object, "notice_h", &has, &hours) || hours < 0 ||
        hours * 3600 > SECONDS_MAX || has != (node != NULL)) {
        return false;
    }
    test->notice_ms = llround(hours * HOUR_MS);
    return !has || (test->notice_ms > 0 &&
                    read_id(reader, object, "notice", test->notice, sizeof test->notice));
}

// What takes the site takes its dispenser too.
static bool read_takes(const struct wire_fact_reader *reader, const struct json_node *object,
                       struct model_requirements *made) {
    const struct json_node *node = json_present(reader->tape, object, "takes");
    made->takes_site = node != NULL && json_equals(reader->tape, node, "site");
    made->takes_dispenser =
        made->takes_site || (node != NULL && json_equals(reader->tape, node, "dispenser"));
    return node == NULL || made->takes_dispenser || json_equals(reader->tape, node, "position");
}

// What people are told of a test.
static bool read_test_words(const struct wire_fact_reader *reader, const struct json_node *node,
                            struct model_test *test) {
    return read_text(reader, node, "title", &test->title) &&
           read_said(reader, node, "titles", &test->titles) &&
           read_text(reader, node, "ask", &test->ask) &&
           read_said(reader, node, "asks", &test->asks) &&
           read_text(reader, node, "method", &test->method) &&
           read_text(reader, node, "edition", &test->edition);
}

static bool read_test(const struct wire_fact_reader *reader, const struct json_node *node,
                      struct model_test *test) {
    const struct json_node *powered = json_present(reader->tape, node, "powered");
    test->powered = powered == NULL || powered->kind == JSON_TRUE;
    bool good =
        (test->powered || powered->kind == JSON_FALSE) &&
        read_id(reader, node, "test", test->test, sizeof test->test) &&
        wire_fact_read_text(reader, json_present(reader->tape, node, "rule"), &test->rule) &&
        read_test_words(reader, node, test) &&
        read_measure(reader, node, &test->unit, &test->limits, &test->instrument) &&
        read_seconds(reader, node, "valid_s", &test->valid_ms) && read_runs(reader, node, test) &&
        read_choice(reader, node, "each", NULL, "product", &test->each_product) &&
        read_choice(reader, node, "fails", NULL, "dispenser", &test->fails_dispenser) &&
        read_notice(reader, node, test);
    if (good && test->rule != NULL) {
        test->rule_limits = trade_limits_replaced(test->rule);
    }
    return good;
}

static bool read_tests(const struct wire_fact_reader *reader, const struct json_node *node,
                       struct model_requirements *made) {
    const struct json_node *list;
    if (!list_of(reader, node, "tests", &list, &made->test_count)) {
        return false;
    }
    made->tests = wire_fact_arena_array(reader->arena, made->test_count, sizeof *made->tests);
    bool good = made->tests != NULL;
    const struct json_node *item = made->test_count > 0 ? json_first(reader->tape, list) : NULL;
    for (size_t i = 0; good && i < made->test_count; i++) {
        good = read_test(reader, item, &made->tests[i]);
        item = json_next(reader->tape, list, item);
    }
    return good;
}

static bool read_credentials(const struct wire_fact_reader *reader, const struct json_node *node,
                             struct model_requirements *made) {
    const struct json_node *list;
    size_t count;
    if (!list_of(reader, node, "credentials", &list, &count)) {
        return false;
    }
    made->credentials = wire_fact_arena_array(reader->arena, count, sizeof *made->credentials);
    made->credential_count = count;
    bool good = made->credentials != NULL;
    const struct json_node *item = count > 0 ? json_first(reader->tape, list) : NULL;
    for (size_t i = 0; good && i < count; i++) {
        struct model_credential_choice *choice = &made->credentials[i];
        good = wire_fact_read_texts(reader, item, &choice->any, &choice->count);
        item = json_next(reader->tape, list, item);
    }
    return good;
}

bool wire_fact_read_requirements(const struct wire_fact_reader *reader,
                                 const struct json_node *node,
                                 const struct model_requirements **requirements) {
    struct model_requirements *made = wire_fact_arena_array(reader->arena, 1, sizeof *made);
    if (made == NULL || node == NULL || node->kind != JSON_OBJECT) {
        return false;
    }
    *requirements = made;
    return wire_fact_read_text(reader, json_present(reader->tape, node, "procedure"),
                               &made->procedure) &&
           read_text(reader, node, "title", &made->title) &&
           read_said(reader, node, "titles", &made->titles) &&
           read_choice(reader, node, "kind", NULL, "inspection", &made->inspection) &&
           read_text(reader, node, "district", &made->district) &&
           read_text(reader, node, "effective", &made->effective) &&
           read_credentials(reader, node, made) &&
           wire_fact_read_texts(reader, json_present(reader->tape, node, "isolate"), &made->isolate,
                                &made->isolate_count) &&
           read_choice(reader, node, "match", NULL, "nozzle_family", &made->match) &&
           read_takes(reader, node, made) &&
           read_seconds(reader, node, "check_in_s", &made->check_in_ms) &&
           read_checks(reader, node, made) && read_tests(reader, node, made);
}
