// Other daemons that claim our sites: heard by their retained documents, believed while renewed.
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

#include "wire/time_text.h"

#define RENEWED_MS 180000

struct claim {
    bool online;
    char boot[DAEMON_BOOT_SIZE];
    int64_t at;
    const struct json_node *sites;
};

static bool read_claim(struct daemon *daemon, const char *payload, size_t length,
                       struct claim *claim) {
    struct json_error error;
    struct json_tape *tape = &daemon->tape;
    if (!json_scan(tape, payload, length, &json_message_limits, &error) ||
        json_root(tape)->kind != JSON_OBJECT) {
        return false;
    }
    const struct json_node *root = json_root(tape);
    const struct json_node *state = json_present(tape, root, "state");
    const struct json_node *boot = json_present(tape, root, "boot");
    const struct json_node *at = json_present(tape, root, "at");
    char text[64];
    claim->online = state != NULL && json_equals(tape, state, "online");
    claim->boot[0] = '\0';
    if (boot != NULL && !json_copy(tape, boot, claim->boot, sizeof claim->boot)) {
        snprintf(claim->boot, sizeof claim->boot, "?"); // longer than ours: another's
    }
    claim->at = INT64_MIN;
    if (at != NULL && json_copy(tape, at, text, sizeof text)) {
        time_text_parse(text, strlen(text), &claim->at);
    }
    claim->sites = json_present(tape, root, "sites");
    return true;
}

static struct daemon_other *other_of(struct daemon *daemon, const char *instance,
                                     const char *boot) {
    for (size_t i = 0; i < daemon->other_count; i++) {
        if (strcmp(daemon->others[i].instance, instance) == 0) {
            return &daemon->others[i];
        }
    }
    struct daemon_other *others =
        realloc(daemon->others, (daemon->other_count + 1) * sizeof *others);
    if (others == NULL) {
        return NULL;
    }
    daemon->others = others;
    struct daemon_other *other = &others[daemon->other_count];
    memset(other, 0, sizeof *other);
    other->sites = calloc(daemon->model->site_count + 1, sizeof *other->sites);
    if (other->sites == NULL) {
        return NULL;
    }
    daemon->other_count++;
    snprintf(other->instance, sizeof other->instance, "%s", instance);
    snprintf(other->boot, sizeof other->boot, "%s", boot);
    return other;
}

// Tells the gate which sites are claimed by somebody else now.
static void judge(struct daemon *daemon) {
    struct gate_time now = daemon_now(daemon);
    for (uint32_t s = 0; s < daemon->model->site_count; s++) {
        bool contested = false;
        for (size_t i = 0; i < daemon->other_count; i++) {
            contested |= daemon->others[i].sites[s];
        }
        if (contested != daemon->gate->sites[s].contested) {
            log_warn("contest", "site=%s contested=%s", daemon->model->sites[s].site,
                     contested ? "yes" : "no");
            gate_contested(daemon->gate, s, contested, now);
            daemon->contest_over |= !contested;
        }
    }
}

static void read_sites(struct daemon *daemon, struct daemon_other *other,
                       const struct json_node *sites) {
    const struct json_tape *tape = &daemon->tape;
    memset(other->sites, 0, daemon->model->site_count * sizeof *other->sites);
    if (sites == NULL || sites->kind != JSON_ARRAY) {
        return;
    }
    for (const struct json_node *node = json_first(tape, sites); node != NULL;
         node = json_next(tape, sites, node)) {
        char id[MODEL_ID_SIZE];
        const struct model_site *site =
            json_copy(tape, node, id, sizeof id) ? model_site_find(daemon->model, id) : NULL;
        if (site != NULL) {
            other->sites[site->index] = true;
        }
    }
}

void daemon_hear_other(struct daemon *daemon, const char *instance, const char *payload,
                       size_t length) {
    struct claim claim;
    bool own_name = strcmp(instance, daemon->model->instance) == 0;
    if (!read_claim(daemon, payload, length, &claim)) {
        claim = (struct claim){.at = INT64_MIN}; // emptied or unreadable: nobody says online
    }
    if (own_name && strcmp(claim.boot, daemon->boot) == 0) {
        daemon->own_heard = true;
        if (!claim.online) {
            daemon->self_due = true; // our own late will: we are still here
        }
        return;
    }
    if (own_name && !daemon->own_heard) {
        return; // our own name from before: what an earlier start left behind
    }
    struct gate_time now = daemon_now(daemon);
    bool renewed = claim.at != INT64_MIN && claim.at > now.wall - RENEWED_MS;
    struct daemon_other *other = other_of(daemon, instance, claim.boot);
    if (other == NULL) {
        return;
    }
    if (claim.online && renewed) {
        other->until = now.line + RENEWED_MS;
        read_sites(daemon, other, claim.sites);
    } else {
        read_sites(daemon, other, NULL);
    }
    judge(daemon);
}

void daemon_others_expire(struct daemon *daemon) {
    int64_t line = daemon_now(daemon).line;
    for (size_t i = 0; i < daemon->other_count; i++) {
        if (daemon->others[i].until < line) {
            read_sites(daemon, &daemon->others[i], NULL);
        }
    }
    judge(daemon);
}

void daemon_others_free(struct daemon *daemon) {
    for (size_t i = 0; i < daemon->other_count; i++) {
        free(daemon->others[i].sites);
    }
    free(daemon->others);
    daemon->others = NULL;
    daemon->other_count = 0;
}
