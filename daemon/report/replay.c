// The journal's facts applied to a gate; see replay.h.
#include "report/replay.h"

#include <stdio.h>
#include <string.h>

static bool wrong(struct report_replay *replay, const struct report_row *row, const char *what) {
    snprintf(replay->what, sizeof replay->what, "fact %lld (%s): %s", (long long)row->seq,
             row->type, what);
    return false;
}

static uint32_t site_of(struct report_replay *replay, const char *site) {
    if (site[0] == '\0') {
        return MODEL_NONE;
    }
    if (replay->site == NULL || strcmp(replay->site->site, site) != 0) {
        replay->site = model_site_find(replay->model, site);
    }
    return replay->site != NULL ? replay->site->index : MODEL_NONE;
}

bool report_replay_apply(struct report_replay *replay, const struct report_row *row) {
    struct json_error error;
    struct gate_fact fact;
    char what[256];
    int type = gate_fact_of(row->type);
    uint32_t site = site_of(replay, row->site);
    if (type < 0) {
        return wrong(replay, row, "a type that this version does not know");
    }
    wire_fact_arena_reset(&replay->arena);
    if (!json_scan(&replay->tape, row->data, row->data_length, &json_config_limits, &error) ||
        !wire_fact_decode(&replay->tape, json_root(&replay->tape), (enum gate_fact_type)type, site,
                          (struct gate_time){row->at_ms, row->mono_ms}, &replay->arena, &fact)) {
        return wrong(replay, row, "data that cannot be read");
    }
    fact.missing_site = site == MODEL_NONE && row->site[0] != '\0' ? row->site : NULL;
    if (!gate_apply(replay->gate, &fact, what, sizeof what)) {
        return wrong(replay, row, what);
    }
    return true;
}

void report_replay_free(struct report_replay *replay) {
    wire_fact_arena_free(&replay->arena);
    json_tape_free(&replay->tape);
}

static void ignore(void *user, const struct gate_fact *fact) {
    (void)user; // nothing is decided here, so nothing new happens
    (void)fact;
}

static bool on_row(void *user, const struct report_row *row) {
    return report_replay_apply(user, row);
}

bool report_fits(const struct report_source *source, const struct model *model,
                 void (*each)(void *user, const char *what), void *user) {
    struct report_replay replay = {.gate = gate_new(model, ignore, NULL), .model = model};
    bool fits = false;
    if (replay.gate == NULL) {
        each(user, "out of memory");
    } else if (!source->each(source->user, NULL, on_row, &replay)) {
        each(user, source->why(source->user));
    } else if (replay.what[0] != '\0') {
        each(user, replay.what);
    } else {
        fits = gate_each_misfit(replay.gate, each, user) == 0;
    }
    report_replay_free(&replay);
    gate_free(replay.gate);
    return fits;
}
