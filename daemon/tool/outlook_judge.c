// Each requirement of the next gate, met or not.
//
// What the daemon lists as missing is missing, whatever else its documents say. Beside that, each
// requirement is held against the documents of points, checks and tests: one that the daemon does
// not list, and that they do not prove, is missing all the same.
#include "tool/outlook.h"

#include "tool/text.h"
#include "tool/tool.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define BIT(code) (UINT64_C(1) << (code))
#define POINT_CODES                                                                                \
    (BIT(MODEL_CODE_POINT_LIVE) | BIT(MODEL_CODE_POINT_UNKNOWN) | BIT(MODEL_CODE_POINT_STALE) |    \
     BIT(MODEL_CODE_POINT_SETTLING) | BIT(MODEL_CODE_POINT_DISAGREES) |                            \
     BIT(MODEL_CODE_CONTROLLER_OFFLINE))
#define CHECK_CODES                                                                                \
    (BIT(MODEL_CODE_CHECK_MISSING) | BIT(MODEL_CODE_CHECK_FAILED) | BIT(MODEL_CODE_CHECK_VOID))
#define TEST_CODES (BIT(MODEL_CODE_TEST_MISSING) | BIT(MODEL_CODE_TEST_FAILED))
#define CREDENTIAL_CODES (BIT(MODEL_CODE_CREDENTIAL_MISSING) | BIT(MODEL_CODE_CREDENTIAL_EXPIRED))

_Static_assert(MODEL_CODE_COUNT <= 64, "codes are bits of a mask");

static struct gate_requirement *add(struct outlook *view, bool met) {
    struct gate_list *list = &view->list;
    if (list->count == list->capacity) {
        size_t capacity = list->capacity == 0 ? 32 : 2 * list->capacity;
        struct gate_requirement *items = realloc(list->items, capacity * sizeof *items);
        if (items == NULL) {
            list->failed = true;
            return NULL;
        }
        list->items = items;
        list->capacity = capacity;
    }
    struct gate_requirement *item = &list->items[list->count++];
    memset(item, 0, sizeof *item);
    item->met = met;
    view->unmet += !met;
    return item;
}

static bool is_told(const struct outlook *view, uint64_t codes, const char *subject) {
    for (size_t i = 0; i < view->missing_count; i++) {
        const struct gate_refusal *refusal = &view->missing[i];
        if ((codes & BIT(refusal->code)) != 0 &&
            (subject == NULL || strcmp(refusal->subject, subject) == 0)) {
            return true;
        }
    }
    return false;
}

// One requirement that the documents prove or not; passed over where the daemon tells it missing.
// What is not met carries the first of the codes. heard: Unix ms of its evidence, or 0.
static void want(struct outlook *view, uint64_t codes, const char *subject, bool met,
                 const char *found, int64_t heard, const char *need, ...)
    __attribute__((format(printf, 7, 8)));

static void want(struct outlook *view, uint64_t codes, const char *subject, bool met,
                 const char *found, int64_t heard, const char *need, ...) {
    struct gate_requirement *item =
        is_told(view, codes, subject[0] != '\0' ? subject : NULL) ? NULL : add(view, met);
    if (item == NULL) {
        return;
    }
    struct gate_refusal *refusal = &item->refusal;
    va_list arguments;
    va_start(arguments, need);
    vsnprintf(refusal->need, sizeof refusal->need, need, arguments);
    va_end(arguments);
    refusal->code = (enum model_code)__builtin_ctzll(codes);
    refusal->age_ms = heard != 0 ? view->now - heard : -1;
    snprintf(refusal->subject, sizeof refusal->subject, "%s", subject);
    snprintf(refusal->found, sizeof refusal->found, "%s", found);
    if (!met) {
        snprintf(refusal->say, sizeof refusal->say, "%s%s%.100s: not proved (%.60s).", subject,
                 subject[0] != '\0' ? ": " : "", refusal->need, found);
    }
}

// What the daemon alone can judge: met where it does not list it.
static void trust(struct outlook *view, enum model_code code, const char *need, const char *found) {
    want(view, BIT(code), "", true, found, 0, "%s", need);
}

// --- Points and tags ---

static const struct document *point_document(const struct outlook *view, uint32_t point) {
    return tool_documents_point(view->documents, view->site->index,
                                view->site->points[point].point);
}

static void point_found(const struct document *document, char *buffer, size_t size) {
    const struct json_node *root = tool_document_root(document);
    char state[32], trusted[32];
    tool_document_text(document, root, "state", state, sizeof state);
    tool_document_text(document, root, "trust", trusted, sizeof trusted);
    snprintf(buffer, size, "%s%s%s", root == NULL ? "not told" : state,
             trusted[0] != '\0' ? ", " : "", trusted);
}

static void want_point(struct outlook *view, uint64_t codes, uint32_t point, const char *state,
                       const char *need) {
    const struct document *document = point_document(view, point);
    const struct json_node *root = tool_document_root(document);
    size_t before = view->list.count;
    char found[80];
    bool met = tool_document_says(document, root, "state", state) &&
               (tool_document_says(document, root, "trust", "fresh") ||
                tool_document_says(document, root, "trust", "witnessed"));
    point_found(document, found, sizeof found);
    want(view, codes, view->site->points[point].point, met, found,
         tool_document_time(document, root, "heard"), "%s", need);
    // Of the many codes of a point, the one that its document bears out.
    if (view->list.count > before && codes == POINT_CODES) {
        view->list.items[before].refusal.code = tool_document_says(document, root, "state", "live")
                                                    ? MODEL_CODE_POINT_LIVE
                                                    : MODEL_CODE_POINT_UNKNOWN;
    }
}

static void want_points(struct outlook *view, uint64_t codes, const char *state, const char *need) {
    for (size_t i = 0; i < view->required_count; i++) {
        want_point(view, codes, view->required[i], state, need);
    }
    if (view->required_count == 0) {
        want(view, BIT(MODEL_CODE_ENERGY_UNMAPPED), "", false, "none", 0,
             "a point that isolates what the procedure isolates");
    }
}

// The tag on a point of a person (NULL: any) for a job (NULL: any), or NULL.
static const struct json_node *tag_of(const struct document *document, const char *person,
                                      const char *job) {
    const struct json_node *root = tool_document_root(document);
    const struct json_node *tags =
        root != NULL ? json_present(&document->tape, root, "tags") : NULL;
    if (tags == NULL) {
        return NULL;
    }
    for (const struct json_node *tag = json_first(&document->tape, tags); tag != NULL;
         tag = json_next(&document->tape, tags, tag)) {
        if ((person == NULL || tool_document_says(document, tag, "person", person)) &&
            (job == NULL || tool_document_says(document, tag, "job", job))) {
            return tag;
        }
    }
    return NULL;
}

// The daemon tells a missing tag by the point alone, so what the documents prove is told as well.
static void want_tags_of(struct outlook *view, const char *person) {
    for (size_t i = 0; i < view->required_count; i++) {
        const char *point = view->site->points[view->required[i]].point;
        const struct document *document = point_document(view, view->required[i]);
        const struct json_node *tag = tag_of(document, person, view->job->id);
        bool met = tag != NULL && tool_document_flag(document, tag, "counts");
        if (!met || !is_told(view, BIT(MODEL_CODE_TAG_MISSING), point)) {
            want(view, BIT(MODEL_CODE_TAG_MISSING), point, met,
                 met           ? "hangs"
                 : tag != NULL ? "hangs, does not count"
                               : "none",
                 tool_document_time(document, tag, "since"), "a lock and tag of %s that counts",
                 person);
        }
    }
}

static bool is_in_cabinet(const struct outlook *view, const struct model_point *point) {
    const char *dispenser = view->site->positions[view->position].dispenser;
    for (uint32_t i = 0; i < point->isolates_count; i++) {
        if (strcmp(view->site->positions[point->isolates[i]].dispenser, dispenser) == 0) {
            return true;
        }
    }
    return false;
}

// No lock on any point of the cabinet (job NULL), or none of the job on any point of the site.
static void want_no_tags(struct outlook *view, const char *job) {
    for (uint32_t p = 0; p < view->site->point_count; p++) {
        const struct model_point *point = &view->site->points[p];
        const struct document *document = point_document(view, p);
        const struct json_node *tags =
            tool_document_root(document) != NULL
                ? json_present(&document->tape, tool_document_root(document), "tags")
                : NULL;
        bool known = tags != NULL && tags->kind == JSON_ARRAY;
        bool hung = tag_of(document, NULL, job) != NULL;
        bool here = is_in_cabinet(view, point);
        if (here || (job != NULL && (hung || !known))) {
            want(view, BIT(MODEL_CODE_TAG_HUNG), point->point, known && !hung,
                 !known ? "not told"
                 : hung ? "hangs"
                        : "none",
                 0, "%s", job != NULL ? "no tag of the job" : "no lock or tag of anyone");
        }
    }
}

// --- People, checks and tests ---

static const struct json_node *list_of(const struct outlook *view, const char *name) {
    const struct json_node *list =
        json_present(&view->job->tape, tool_document_root(view->job), name);
    return list != NULL && list->kind == JSON_ARRAY ? list : NULL;
}

// The entry of a list whose member is this text, or NULL.
static const struct json_node *entry_of(const struct outlook *view, const char *list_name,
                                        const char *name, const char *text) {
    const struct json_tape *tape = &view->job->tape;
    const struct json_node *list = list_of(view, list_name);
    const struct json_node *entry = json_first(tape, list);
    while (entry != NULL && !tool_document_says(view->job, entry, name, text)) {
        entry = json_next(tape, list, entry);
    }
    return entry;
}

static void want_person(struct outlook *view, const char *person) {
    if (view->needs->credential_count > 0) {
        want(view, CREDENTIAL_CODES, person, true, "held", 0, "every credential of the job");
    }
    want_tags_of(view, person);
}

static void want_people(struct outlook *view) {
    const struct json_node *crew = list_of(view, "crew");
    want(view, BIT(MODEL_CODE_NOT_ASSIGNED), view->job->id, view->leader[0] != '\0',
         view->leader[0] != '\0' ? view->leader : "none", 0, "a technician in charge");
    if (view->leader[0] != '\0' && entry_of(view, "crew", "person", view->leader) == NULL) {
        want_person(view, view->leader);
    }
    for (const struct json_node *member = json_first(&view->job->tape, crew); member != NULL;
         member = json_next(&view->job->tape, crew, member)) {
        char person[MODEL_ID_SIZE];
        tool_document_text(view->job, member, "person", person, sizeof person);
        want_person(view, person);
    }
}

// A signed check or a recorded test, which are told alike; entry NULL: it is not told.
static void want_entry(struct outlook *view, uint64_t codes, const struct json_node *entry,
                       const char *id, const char *need) {
    char by[MODEL_ID_SIZE], found[120];
    int64_t at = tool_document_time(view->job, entry, "at");
    tool_document_text(view->job, entry, "by", by, sizeof by);
    if (at != 0 && by[0] == '\0') {
        snprintf(by, sizeof by, "a measure"); // the hardware signs in nobody's name
    }
    bool passed = tool_document_flag(view->job, entry, "pass");
    bool lapsed = tool_document_flag(view->job, entry, "void");
    snprintf(found, sizeof found, "%s%s%s",
             by[0] != '\0'   ? "by "
             : entry != NULL ? "nobody has"
                             : "not told",
             by,
             lapsed                     ? ", no longer standing"
             : by[0] != '\0' && !passed ? ", outside its limits"
                                        : "");
    want(view, codes, id, by[0] != '\0' && passed && !lapsed, found, at, "%s", need);
}

// Those that the document lists, and those of the configuration that it should have listed.
static void want_tests(struct outlook *view) {
    static const char need[] = "recorded and passed";
    const struct json_node *list = list_of(view, "tests");
    for (const struct json_node *entry = json_first(&view->job->tape, list); entry != NULL;
         entry = json_next(&view->job->tape, list, entry)) {
        char id[MODEL_TEST_SIZE];
        tool_document_text(view->job, entry, "test", id, sizeof id);
        want_entry(view, TEST_CODES, entry, id, need);
    }
    for (size_t i = 0; i < view->needs->test_count; i++) {
        const char *id = view->needs->tests[i].test;
        if (entry_of(view, "tests", "test", id) == NULL) {
            want_entry(view, TEST_CODES, NULL, id, need);
        }
    }
}

static void want_group(struct outlook *view, enum model_group group) {
    static const char need[] = "signed and within limits";
    const struct json_node *list = list_of(view, "checks");
    for (const struct json_node *entry = json_first(&view->job->tape, list); entry != NULL;
         entry = json_next(&view->job->tape, list, entry)) {
        char id[MODEL_ID_SIZE];
        tool_document_text(view->job, entry, "check", id, sizeof id);
        if (tool_document_says(view->job, entry, "group", model_group_name(group))) {
            want_entry(view, CHECK_CODES, entry, id, need);
        }
    }
    for (size_t i = 0; i < view->needs->check_count; i++) {
        const struct model_check *check = &view->needs->checks[i];
        if (check->group == group && entry_of(view, "checks", "check", check->check) == NULL) {
            want_entry(view, CHECK_CODES, NULL, check->check, need);
        }
    }
}

// --- The gates ---

static void want_daemon(struct outlook *view, bool link) {
    if (link) {
        trust(view, MODEL_CODE_LINK_DOWN, "the broker link up", "up");
    }
    trust(view, MODEL_CODE_JOURNAL_DOWN, "a journal that writes", "writes");
    trust(view, MODEL_CODE_SITE_CONTESTED, "one daemon for the site", "one");
}

static void want_start(struct outlook *view) {
    want_people(view);
    if (view->needs->match) {
        trust(view, MODEL_CODE_PART_MISMATCH, "a kit that fits the nozzle", "fits");
    }
    want_group(view, MODEL_GROUP_PREPARE);
    want_points(view, POINT_CODES, "isolated", "isolated, settled and trusted");
    want_group(view, MODEL_GROUP_RELIEVE);
    want_group(view, MODEL_GROUP_VERIFY);
    trust(view, MODEL_CODE_SHARED_TESTING, "no job that shares under test", "none");
    trust(view, MODEL_CODE_ALARM_OPEN, "no alarm of the job unacknowledged", "none");
    want_daemon(view, true);
}

static void want_finish(struct outlook *view) {
    if (view->lockout != MODEL_LOCKOUT_CONFIRMED) {
        want_points(view, POINT_CODES, "isolated", "isolated, settled and trusted");
    }
    want_group(view, MODEL_GROUP_WORK);
    want_group(view, MODEL_GROUP_CLEAR);
    want_daemon(view, false);
}

static void want_test(struct outlook *view) {
    want_no_tags(view, NULL);
    trust(view, MODEL_CODE_SHARED_LOCKED, "no job that shares working or stopped", "none");
    want_daemon(view, true);
}

static void want_return(struct outlook *view) {
    want_tests(view);
    want_group(view, MODEL_GROUP_FINISH);
    want_no_tags(view, view->job->id);
    want_points(view, BIT(MODEL_CODE_POINT_NOT_RESTORED), "live", "live and trusted");
    trust(view, MODEL_CODE_ALARM_OPEN, "no alarm of the job unacknowledged", "none");
    want_daemon(view, true);
}

// --- What the daemon tells as missing ---

// The documents carry no ages, which would change every second: when its evidence was heard.
static int64_t evidence_time(const struct outlook *view, const struct gate_refusal *refusal) {
    uint64_t code = BIT(refusal->code);
    if ((code & (POINT_CODES | BIT(MODEL_CODE_POINT_NOT_RESTORED))) != 0) {
        const struct document *document =
            tool_documents_point(view->documents, view->site->index, refusal->subject);
        return tool_document_time(document, tool_document_root(document), "heard");
    }
    if ((code & CHECK_CODES) != 0) {
        return tool_document_time(view->job, entry_of(view, "checks", "check", refusal->subject),
                                  "at");
    }
    return (code & TEST_CODES) != 0
               ? tool_document_time(view->job, entry_of(view, "tests", "test", refusal->subject),
                                    "at")
               : 0;
}

static void add_missing(struct outlook *view) {
    for (size_t i = 0; i < view->missing_count; i++) {
        struct gate_requirement *item = add(view, false);
        if (item == NULL) {
            return;
        }
        item->refusal = view->missing[i];
        int64_t heard = evidence_time(view, &item->refusal);
        if (item->refusal.age_ms < 0 && heard != 0) {
            item->refusal.age_ms = view->now - heard;
        }
    }
}

static void judge(struct outlook *view) {
    add_missing(view);
    switch (view->phase) {
    case MODEL_PHASE_OPEN:
    case MODEL_PHASE_STOPPED:
        want_start(view);
        break;
    case MODEL_PHASE_WORKING:
        want_finish(view);
        break;
    case MODEL_PHASE_RESTORING:
        want_test(view);
        break;
    default:
        want_return(view);
        break;
    }
}

int outlook_judge(struct outlook *view, const struct documents *documents, int64_t now) {
    view->documents = documents;
    view->now = now;
    int status = documents->failed ? TOOL_REACH : outlook_read(view);
    if (documents->failed) {
        snprintf(view->say, sizeof view->say, "out of memory; nothing is to be relied on");
    }
    if (status != TOOL_DONE) {
        return status;
    }
    if (view->phase == MODEL_PHASE_RETURNED || view->phase == MODEL_PHASE_CANCELLED) {
        snprintf(view->say, sizeof view->say, "job %s is %s: it has no next gate", view->job->id,
                 model_phase_name(view->phase));
        return TOOL_NO;
    }
    judge(view);
    if (view->list.failed) {
        snprintf(view->say, sizeof view->say, "out of memory; nothing is to be relied on");
        return TOOL_REACH;
    }
    return view->unmet == 0 ? TOOL_DONE : TOOL_NO;
}
