// Events, and the daemon's word about itself.
#include "wire/tell.h"

#include "wire/tell_member.h"

#include <inttypes.h>
#include <stdio.h>

bool wire_event(struct json_out *out, const struct wire_record *record) {
    char id[24], source[sizeof "/forelock/" + MODEL_ID_SIZE], type[sizeof "forelock." + 64];
    bool site = record->site != NULL && record->site[0] != '\0';
    snprintf(id, sizeof id, "%" PRIu64, record->seq);
    snprintf(source, sizeof source, "/forelock%s%s", site ? "/" : "", site ? record->site : "");
    snprintf(type, sizeof type, "forelock.%s", record->type);
    json_out_object(out);
    wire_text(out, "specversion", "1.0");
    wire_text(out, "id", id);
    wire_text(out, "source", source);
    wire_text(out, "type", type);
    if (record->subject != NULL && record->subject[0] != '\0') {
        wire_text(out, "subject", record->subject);
    }
    wire_time(out, "time", record->at);
    wire_text(out, "datacontenttype", "application/json");
    json_out_key(out, "data");
    json_out_raw(out, record->data, record->data_length);
    json_out_object_end(out);
    return !out->failed;
}

bool wire_daemon(struct json_out *out, const struct model *model,
                 const struct wire_daemon *daemon) {
    json_out_object(out);
    wire_text(out, "state", daemon->online ? "online" : "offline");
    wire_text(out, "version", daemon->version);
    wire_text(out, "boot", daemon->boot);
    wire_time(out, "since", daemon->since);
    wire_time(out, "at", daemon->at);
    json_out_key(out, "sites");
    json_out_array(out);
    for (size_t i = 0; i < model->site_count; i++) {
        json_out_string(out, model->sites[i].site);
    }
    json_out_array_end(out);
    json_out_object_end(out);
    return !out->failed;
}
