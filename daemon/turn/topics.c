// Whether what is subscribed to is delivered. A broker may grant a subscription and deliver
// nothing, by its access rules: so on each topic of ours a word of our own is said now and then,
// which has to come back. One that the broker refused delivers nothing either.
#include "turn/internal.h"

#include "base/array.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define LATE_MS 5000
#define EVERY_S 60
// A word over which the broker seems to end the connection is said no more often than this.
#define CUT_EVERY_S 3600
#define CUT_MOST 2

// What is said on, of each site: below it, and what is subscribed to there.
static const struct {
    enum gate_connection by;
    const char *word, *filter;
} kinds[] = {{GATE_LIVE, "signal/_pulse", "signal/+"},
             {GATE_DURABLE, "tagging/_pulse", "tagging/+"},
             {GATE_DURABLE, "request/_pulse/_pulse", "request/+/+"}};
#define KINDS (sizeof kinds / sizeof kinds[0])

// The newest word on one topic of one site.
struct word {
    int64_t said; // mono ms
    bool out;     // it has not come back
    bool lost;    // it, or one before it, did not come back in time
    int cut;      // times in a row that the connection went down while it was out
};

struct denied {
    enum gate_connection by;
    uint32_t site; // index; MODEL_NONE: it concerns every site
    char topic[GATE_SUBJECT_SIZE];
};

struct turn_topics {
    struct word (*words)[KINDS]; // by site
    bool *changed;               // by site: the gate is to be told
    struct denied *denied;
    size_t denied_count, denied_capacity;
    unsigned seconds;
};

struct turn_topics *turn_topics_new(const struct model *model) {
    struct turn_topics *topics = calloc(1, sizeof *topics);
    if (topics == NULL) {
        return NULL;
    }
    topics->words = calloc(model->site_count + 1, sizeof *topics->words);
    topics->changed = calloc(model->site_count + 1, sizeof *topics->changed);
    if (topics->words == NULL || topics->changed == NULL) {
        turn_topics_free(topics);
        return NULL;
    }
    // An alarm may stand from before the start.
    memset(topics->changed, true, model->site_count * sizeof *topics->changed);
    return topics;
}

void turn_topics_free(struct turn_topics *topics) {
    if (topics != NULL) {
        free(topics->words);
        free(topics->changed);
        free(topics->denied);
        free(topics);
    }
}

// A topic as alarms name it: under the root.
static void name_of(const struct turn *turn, uint32_t site, size_t kind, char *buffer,
                    size_t size) {
    snprintf(buffer, size, "%s/%s", turn->model->sites[site].site, kinds[kind].word);
}

// The site and kind of a topic, which lies under the root or not; false: no word is said there.
static bool kind_of(const struct turn *turn, const char *topic, uint32_t *site, size_t *kind) {
    size_t root = strlen(turn->model->root);
    char id[MODEL_ID_SIZE];
    const char *begin = strncmp(topic, turn->model->root, root) == 0 && topic[root] == '/'
                            ? topic + root + 1
                            : topic;
    const char *rest = strchr(begin, '/');
    if (rest == NULL || (size_t)(rest - begin) >= sizeof id) {
        return false;
    }
    snprintf(id, sizeof id, "%.*s", (int)(rest - begin), begin);
    const struct model_site *found = model_site_find(turn->model, id);
    for (*kind = 0; found != NULL && *kind < KINDS; (*kind)++) {
        if (strcmp(rest + 1, kinds[*kind].word) == 0 ||
            strcmp(rest + 1, kinds[*kind].filter) == 0) {
            *site = found->index;
            return true;
        }
    }
    return false;
}

// --- What is said and heard ---

static void say(struct turn *turn, uint32_t site, enum gate_connection which) {
    char topic[512];
    for (size_t kind = 0; kind < KINDS; kind++) {
        struct word *word = &turn->topics->words[site][kind];
        snprintf(topic, sizeof topic, "%s/%s/%s", turn->model->root, turn->model->sites[site].site,
                 kinds[kind].word);
        bool may =
            word->cut < CUT_MOST || turn->topics->seconds % CUT_EVERY_S >= CUT_EVERY_S - EVERY_S;
        if (kinds[kind].by == which && may && !word->out && turn_say(turn, which, topic, false)) {
            word->said = turn_now(turn).mono;
            word->out = true;
        }
    }
}

// Rule (3, topics; R14): On each topic of ours a word is said when the connection is proved.
// [topics-unsaid]
void turn_topics_say(struct turn *turn, enum gate_connection which) {
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        say(turn, s, which);
    }
}

bool turn_topics_is(const struct turn *turn, const char *topic) {
    const char *last = strrchr(topic, '/');
    uint32_t site;
    size_t kind;
    return last != NULL && strcmp(last, "/_pulse") == 0 && kind_of(turn, topic, &site, &kind);
}

void turn_topics_hear(struct turn *turn, enum gate_connection which, const char *topic) {
    uint32_t site;
    size_t kind;
    if (kind_of(turn, topic, &site, &kind) && kinds[kind].by == which) {
        struct word *word = &turn->topics->words[site][kind];
        turn->topics->changed[site] |= word->lost;
        word->out = word->lost = false;
        word->cut = 0;
    }
}

// A broker may end the connection over a word that it denies: what was out twice when it went down
// is lost. One that it went down without may be said again.
// Rule (3, topics; R14): A word never ends the connection for good. [word-cuts-for-ever]
static void cut(struct turn *turn, uint32_t site, struct word *word) {
    if (word->out) {
        word->cut += word->cut < CUT_MOST;
        turn->topics->changed[site] |= word->cut == CUT_MOST && !word->lost;
        word->lost |= word->cut == CUT_MOST;
    } else if (word->cut > 0) {
        word->cut--;
    }
    word->out = false;
}

// Words of a connection that went down are out no more, and what was denied is asked for anew.
void turn_topics_down(struct turn *turn, enum gate_connection which) {
    struct turn_topics *topics = turn->topics;
    size_t left = 0;
    for (size_t i = 0; i < topics->denied_count; i++) {
        if (topics->denied[i].by != which) {
            topics->denied[left++] = topics->denied[i];
        }
    }
    bool fewer = left < topics->denied_count;
    topics->denied_count = left;
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        topics->changed[s] |= fewer;
        for (size_t kind = 0; kind < KINDS; kind++) {
            if (kinds[kind].by == which) {
                cut(turn, s, &topics->words[s][kind]);
            }
        }
    }
}

// Rule (3, topics; R14): A subscription that the broker refuses is link-down of the sites that it
// concerns. [denied-unheeded]
void turn_denied(struct turn *turn, enum gate_connection which, const char *filter) {
    struct turn_topics *topics = turn->topics;
    size_t root = strlen(turn->model->root), kind;
    if (!BASE_ARRAY_ROOM(topics->denied, topics->denied_count, topics->denied_capacity)) {
        turn->failed = true;
        return;
    }
    struct denied *denied = &topics->denied[topics->denied_count++];
    *denied = (struct denied){.by = which, .site = MODEL_NONE};
    bool ours = strncmp(filter, turn->model->root, root) == 0 && filter[root] == '/';
    const char *below = ours ? filter + root + 1 : filter;
    if (kind_of(turn, filter, &denied->site, &kind)) {
        name_of(turn, denied->site, kind, denied->topic, sizeof denied->topic);
    } else {
        snprintf(denied->topic, sizeof denied->topic, "%s", below);
        for (uint32_t s = 0; ours && s < turn->model->site_count; s++) {
            size_t length = strlen(turn->model->sites[s].site);
            if (strncmp(below, turn->model->sites[s].site, length) == 0 && below[length] == '/') {
                denied->site = s;
            }
        }
    }
    memset(topics->changed, true, turn->model->site_count * sizeof *topics->changed);
}

// --- What the gate is told ---

static bool is_among(const char topics[][GATE_SUBJECT_SIZE], size_t count, const char *topic) {
    for (size_t i = 0; i < count; i++) {
        if (strcmp(topics[i], topic) == 0) {
            return true;
        }
    }
    return false;
}

#define TOLD_MAX 32

// Tells the gate which topics of a site are not delivered.
static void tell(struct turn *turn, uint32_t site) {
    struct turn_topics *topics = turn->topics;
    char names[TOLD_MAX][GATE_SUBJECT_SIZE];
    const char *list[TOLD_MAX];
    size_t count = 0;
    for (size_t kind = 0; kind < KINDS; kind++) {
        if (topics->words[site][kind].lost) {
            name_of(turn, site, kind, names[count++], GATE_SUBJECT_SIZE);
        }
    }
    for (size_t i = 0; i < topics->denied_count && count < TOLD_MAX; i++) {
        const struct denied *denied = &topics->denied[i];
        if ((denied->site == site || denied->site == MODEL_NONE) &&
            !is_among(names, count, denied->topic)) {
            memcpy(names[count++], denied->topic, GATE_SUBJECT_SIZE);
        }
    }
    for (size_t i = 0; i < count; i++) {
        list[i] = names[i];
        turn_notice(turn, TURN_NOTICE_UNHEARD, names[i]);
    }
    topics->changed[site] = false;
    gate_unheard(turn->gate, site, list, count, turn_now(turn));
}

void turn_topics_tell(struct turn *turn, bool all) {
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        if (all || turn->topics->changed[s]) {
            tell(turn, s);
        }
    }
}

// Rule (3, topics; R14): A word that did not come back in 5 s is link-down of its site.
// [word-lost-unheeded]
// Rule (3, topics; R14): Of a connection that is down itself, no word is missed.
// [word-missed-while-down]
static void miss(struct turn *turn, uint32_t site) {
    for (size_t kind = 0; kind < KINDS; kind++) {
        struct word *word = &turn->topics->words[site][kind];
        bool late = word->out && turn_now(turn).mono - word->said > LATE_MS;
        if (late && turn->connected[kinds[kind].by]) {
            turn->topics->changed[site] |= !word->lost;
            word->lost = true;
            word->out = false;
        }
    }
}

// Rule (3, topics; R14): The word is said again once a minute. [topics-said-once]
void turn_topics_second(struct turn *turn) {
    unsigned second = turn->topics->seconds++;
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        miss(turn, s);
        for (int which = 0; which < GATE_CONNECTION_COUNT; which++) {
            if (turn->connected[which] && s % EVERY_S == second % EVERY_S) {
                say(turn, s, (enum gate_connection)which);
            }
        }
    }
    if (turn->connected[GATE_DURABLE] || turn->connected[GATE_LIVE]) {
        turn_topics_tell(turn, false);
    }
}
