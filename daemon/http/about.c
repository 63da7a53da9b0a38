// Who asks, and what they may look at.
#include "http/internal.h"

#include "wire/tell_member.h"

#include "forelock_version.h"

void http_write_roles(struct json_out *out, unsigned roles) {
    json_out_key(out, "roles");
    json_out_array(out);
    for (unsigned role = MODEL_ROLE_TECHNICIAN; role <= MODEL_ROLE_VIEWER; role <<= 1) {
        if ((roles & role) != 0) {
            json_out_string(out, model_role_name(role));
        }
    }
    json_out_array_end(out);
}

static void write_sites(struct http *http, const struct model_person *person) {
    struct json_out *out = &http->out;
    wire_list(out, "sites");
    for (size_t i = 0; i < http->model->site_count; i++) {
        const struct model_site *site = &http->model->sites[i];
        if (model_person_of_site(person, site)) {
            json_out_object(out);
            wire_text(out, "site", site->site);
            wire_text(out, "title", site->title);
            wire_texts(out, "titles", site->titles);
            wire_text(out, "time_zone", site->time_zone);
            json_out_object_end(out);
        }
    }
    json_out_array_end(out);
}

void http_write_about(struct http *http, const struct model_person *person) {
    struct json_out *out = &http->out;
    json_out_reset(out);
    json_out_object(out);
    wire_text(out, "person", person->person);
    wire_text(out, "title", person->title);
    http_write_roles(out, person->roles);
    wire_text(out, "instance", http->model->instance);
    wire_text(out, "version", FORELOCK_VERSION);
    wire_time(out, "at", http_state_now(http).now.wall);
    write_sites(http, person);
    json_out_object_end(out);
}

void http_serve_about(struct http_call *call) {
    http_write_about(call->http, call->person);
    http_reply_out(call->http, call->request);
}
