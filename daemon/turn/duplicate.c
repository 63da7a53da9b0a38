// Duplicate instances, other daemons that claim our sites: heard by their retained documents,
// believed while these change. Whatever time stands in one, it is by our own clock that it changed:
// the other's may be wrong, and a document that nobody renews any more is kept for ever.
#include "turn/internal.h"

#include "base/array.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct claim {
    bool online;
    char boot[TURN_BOOT_SIZE];
    const struct json_node *sites;
};

// Another daemon, which may say that it is online.
struct duplicate {
    char instance[MODEL_ID_SIZE];
    bool heard;      // a document of it was
    uint64_t hash;   // of the one heard last
    bool online;     // it says so, and its document changed not long ago
    int64_t changed; // mono ms at which it did
    bool *sites;     // by index: whether it claims them
};

struct turn_duplicates {
    struct duplicate *items;
    size_t count, capacity;
    bool own_heard;       // our own document came back to us on this connection
    unsigned connections; // of the live connection since our start
    bool ended;           // a claim has ended
    struct json_tape tape;
};

struct turn_duplicates *turn_duplicates_new(void) {
    return calloc(1, sizeof(struct turn_duplicates));
}

void turn_duplicates_free(struct turn_duplicates *duplicates) {
    if (duplicates == NULL) {
        return;
    }
    for (size_t i = 0; i < duplicates->count; i++) {
        free(duplicates->items[i].sites);
    }
    free(duplicates->items);
    json_tape_free(&duplicates->tape);
    free(duplicates);
}

void turn_duplicates_reset(struct turn *turn) {
    turn->duplicates->own_heard = false;
    turn->duplicates->connections++;
}

bool turn_duplicates_ended(struct turn *turn) {
    bool ended = turn->duplicates->ended;
    turn->duplicates->ended = false;
    return ended;
}

static bool read_claim(struct turn *turn, const char *payload, size_t length, struct claim *claim) {
    struct json_error error;
    struct json_tape *tape = &turn->duplicates->tape;
    if (!json_scan(tape, payload, length, &json_message_limits, &error) ||
        json_root(tape)->kind != JSON_OBJECT) {
        return false;
    }
    const struct json_node *root = json_root(tape);
    const struct json_node *state = json_present(tape, root, "state");
    const struct json_node *boot = json_present(tape, root, "boot");
    claim->online = state != NULL && json_equals(tape, state, "online");
    claim->boot[0] = '\0';
    if (boot != NULL && !json_copy(tape, boot, claim->boot, sizeof claim->boot)) {
        snprintf(claim->boot, sizeof claim->boot, "?"); // longer than ours: another's
    }
    claim->sites = json_present(tape, root, "sites");
    return true;
}

// The entry of an instance, made if there is none. NULL: no memory.
static struct duplicate *duplicate_of(struct turn *turn, const char *instance) {
    struct turn_duplicates *all = turn->duplicates;
    for (size_t i = 0; i < all->count; i++) {
        if (strcmp(all->items[i].instance, instance) == 0) {
            return &all->items[i];
        }
    }
    bool *sites = calloc(turn->model->site_count + 1, sizeof *sites);
    if (sites == NULL || !BASE_ARRAY_ROOM(all->items, all->count, all->capacity)) {
        free(sites);
        return NULL;
    }
    struct duplicate *duplicate = &all->items[all->count++];
    *duplicate = (struct duplicate){.sites = sites};
    snprintf(duplicate->instance, sizeof duplicate->instance, "%s", instance);
    return duplicate;
}

// Tells the gate which sites are claimed by somebody else now.
static void judge(struct turn *turn) {
    struct gate_time now = turn_now(turn);
    for (uint32_t s = 0; s < turn->model->site_count; s++) {
        bool contested = false;
        for (size_t i = 0; i < turn->duplicates->count; i++) {
            contested |= turn->duplicates->items[i].sites[s];
        }
        if (contested != turn->gate->sites[s].contested) {
            turn_notice(turn, contested ? TURN_NOTICE_CLAIMED : TURN_NOTICE_UNCLAIMED,
                        turn->model->sites[s].site);
            gate_contested(turn->gate, s, contested, now);
            turn->duplicates->ended |= !contested;
        }
    }
}

// Rule (3, alarms): A claim is of the sites that it names. [turn-foreign-sites-claimed]
static void read_sites(struct turn *turn, struct duplicate *duplicate,
                       const struct json_node *sites) {
    const struct json_tape *tape = &turn->duplicates->tape;
    memset(duplicate->sites, 0, turn->model->site_count * sizeof *duplicate->sites);
    if (sites == NULL || sites->kind != JSON_ARRAY) {
        return;
    }
    for (const struct json_node *node = json_first(tape, sites); node != NULL;
         node = json_next(tape, sites, node)) {
        char id[MODEL_ID_SIZE];
        const struct model_site *site =
            json_copy(tape, node, id, sizeof id) ? model_site_find(turn->model, id) : NULL;
        if (site != NULL) {
            duplicate->sites[site->index] = true;
        }
    }
}

// What the broker kept from before our start is no change; what it kept while we were away from it
// is one.
// Rule (3, alarms; R18): A document that has not changed since our start is no claim, whatever time
// stands in it. [turn-old-claim-believed]
// Rule (3, alarms; R18): The same document again is no change. [turn-copy-is-a-change]
static bool is_change(const struct turn *turn, const struct duplicate *duplicate, uint64_t hash,
                      bool kept) {
    if (!duplicate->heard) {
        return !kept || turn->duplicates->connections > 1;
    }
    return hash != duplicate->hash;
}

static void end_claim(struct turn *turn, struct duplicate *duplicate) {
    duplicate->online = false;
    read_sites(turn, duplicate, NULL);
    // One of our own name left its document in the place of ours.
    turn->self_due |= strcmp(duplicate->instance, turn->model->instance) == 0;
}

// Rule (3, alarms; R18): Who claims a site anew is told that we are here, and need not wait until
// we renew. [turn-rival-not-told]
static void renew_claim(struct turn *turn, struct duplicate *duplicate, const struct claim *claim) {
    turn->self_due |= !duplicate->online;
    duplicate->online = true;
    duplicate->changed = turn_now(turn).mono;
    read_sites(turn, duplicate, claim->sites);
}

// Rule (3, alarms): Our own name is another instance only after our own document was heard.
// [turn-own-name-is-another]
// Rule (3, alarms): Our own late will is answered: we are still here. [turn-own-will-believed]
// Rule (3, alarms; R18): When one of our own name goes offline, our document is published again.
// [turn-offline-left]
void turn_hear_daemon(struct turn *turn, const char *instance, const char *payload, size_t length,
                      bool kept) {
    struct claim claim;
    bool own_name = strcmp(instance, turn->model->instance) == 0;
    if (!read_claim(turn, payload, length, &claim)) {
        claim = (struct claim){0}; // emptied or unreadable: nobody says online
    }
    if (own_name && strcmp(claim.boot, turn->boot) == 0) {
        turn->duplicates->own_heard = true;
        turn->self_due |= !claim.online; // our own late will: we are still here
        return;
    }
    if (own_name && !turn->duplicates->own_heard) {
        return; // our own name from before: what an earlier start left behind
    }
    struct duplicate *duplicate = duplicate_of(turn, instance);
    if (duplicate == NULL) {
        return;
    }
    uint64_t hash = wire_hash(payload, length);
    if (!claim.online) {
        end_claim(turn, duplicate);
    } else if (is_change(turn, duplicate, hash, kept)) {
        renew_claim(turn, duplicate, &claim);
    }
    duplicate->heard = true;
    duplicate->hash = hash;
    judge(turn);
}

// Rule (3, alarms; R18): A claim that has not changed for 180 s ends. [turn-claim-for-ever]
void turn_duplicates_expire(struct turn *turn) {
    int64_t mono = turn_now(turn).mono;
    for (size_t i = 0; i < turn->duplicates->count; i++) {
        struct duplicate *duplicate = &turn->duplicates->items[i];
        if (duplicate->online && mono - duplicate->changed > GATE_CLAIM_MS) {
            end_claim(turn, duplicate);
        }
    }
    judge(turn);
}
