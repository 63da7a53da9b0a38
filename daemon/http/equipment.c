// What a site has, as it is configured: for pages that draw a cabinet, or ask who and with what.
#include "http/internal.h"

#include "wire/tell_member.h"

static void write_position(struct json_out *out, const struct model_site *site,
                           const struct model_position *position) {
    json_out_object(out);
    wire_text(out, "position", position->position);
    wire_text(out, "dispenser", position->dispenser);
    wire_text(out, "title", position->title);
    wire_texts(out, "titles", position->titles);
    wire_list(out, "products");
    for (uint32_t i = 0; i < position->product_count; i++) {
        json_out_string(out, position->products[i]);
    }
    json_out_array_end(out);
    wire_text(out, "nozzle_family", position->nozzle_family);
    wire_list(out, "points");
    for (uint32_t i = 0; i < position->point_count; i++) {
        json_out_string(out, site->points[position->points[i]].point);
    }
    json_out_array_end(out);
    json_out_object_end(out);
}

static void write_positions_of(struct json_out *out, const struct model_site *site,
                               const char *name, const uint32_t *positions, uint32_t count) {
    wire_list(out, name);
    for (uint32_t i = 0; i < count; i++) {
        json_out_string(out, site->positions[positions[i]].position);
    }
    json_out_array_end(out);
}

static const char *controller_of(const struct model_site *site, uint32_t controller) {
    return controller != MODEL_NONE ? site->controllers[controller] : NULL;
}

static void write_point(struct json_out *out, const struct model_site *site,
                        const struct model_point *point) {
    bool sensed = point->sensor_count > 0;
    json_out_object(out);
    wire_text(out, "point", point->point);
    wire_text(out, "energy", point->energy);
    wire_text(out, "kind", point->kind);
    wire_text(out, "title", point->title);
    wire_texts(out, "titles", point->titles);
    write_positions_of(out, site, "isolates", point->isolates, point->isolates_count);
    wire_list(out, "sensors");
    for (uint32_t i = 0; i < point->sensor_count; i++) {
        json_out_string(out, site->sensors[point->sensors[i]].sensor);
    }
    json_out_array_end(out);
    wire_text(out, "controller", controller_of(site, point->controller));
    wire_number(out, "witnesses", !sensed, point->witnesses);
    wire_number(out, "max_age_s", sensed, point->max_age_ms / 1000.0);
    wire_number(out, "settle_s", sensed, point->settle_ms / 1000.0);
    wire_number(out, "witness_valid_s", !sensed, point->witness_valid_ms / 1000.0);
    wire_text(out, "locks", point->locks_by_reader ? "reader" : NULL);
    json_out_object_end(out);
}

static void write_measure(struct json_out *out, const struct model_site *site,
                          const struct model_measure *measure) {
    json_out_object(out);
    wire_text(out, "measure", measure->measure);
    wire_text(out, "kind", measure->kind);
    wire_text(out, "unit", measure->unit);
    wire_text(out, "title", measure->title);
    wire_texts(out, "titles", measure->titles);
    write_positions_of(out, site, "positions", measure->positions, measure->position_count);
    wire_text(out, "controller", controller_of(site, measure->controller));
    wire_number(out, "max_age_s", true, measure->max_age_ms / 1000.0);
    json_out_object_end(out);
}

static void write_hardware(struct json_out *out, const struct model_site *site) {
    wire_list(out, "positions");
    for (size_t i = 0; i < site->position_count; i++) {
        write_position(out, site, &site->positions[i]);
    }
    json_out_array_end(out);
    wire_list(out, "points");
    for (size_t i = 0; i < site->point_count; i++) {
        write_point(out, site, &site->points[i]);
    }
    json_out_array_end(out);
    wire_list(out, "measures");
    for (size_t i = 0; i < site->measure_count; i++) {
        write_measure(out, site, &site->measures[i]);
    }
    json_out_array_end(out);
    wire_list(out, "controllers");
    for (size_t i = 0; i < site->controller_count; i++) {
        json_out_string(out, site->controllers[i]);
    }
    json_out_array_end(out);
}

static void write_people(struct json_out *out, const struct model *model,
                         const struct model_site *site) {
    wire_list(out, "people");
    for (size_t i = 0; i < model->person_count; i++) {
        const struct model_person *person = &model->people[i];
        if (model_person_of_site(person, site)) {
            json_out_object(out);
            wire_text(out, "person", person->person);
            wire_text(out, "title", person->title);
            http_write_roles(out, person->roles);
            json_out_object_end(out);
        }
    }
    json_out_array_end(out);
}

static void write_instruments(struct json_out *out, const struct model *model,
                              const struct model_site *site, int64_t now) {
    wire_list(out, "instruments");
    for (size_t i = 0; i < model->instrument_count; i++) {
        const struct model_instrument *instrument = &model->instruments[i];
        json_out_object(out);
        wire_text(out, "instrument", instrument->instrument);
        wire_text(out, "kind", instrument->kind);
        wire_text(out, "calibrated_until", instrument->calibrated_until.day);
        wire_flag(out, "in_calibration",
                  model_until_valid(&instrument->calibrated_until, site, now));
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void write_procedures(struct json_out *out, const struct model *model,
                             const struct model_site *site) {
    wire_list(out, "procedures");
    for (size_t i = 0; i < model->procedure_count; i++) {
        const struct model_requirements *needs = site->requirements[i];
        json_out_object(out);
        wire_text(out, "procedure", needs->procedure);
        wire_text(out, "title", needs->title);
        wire_texts(out, "titles", needs->titles);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

void http_serve_equipment(struct http_call *call) {
    struct http *http = call->http;
    struct json_out *out = &http->out;
    const struct model_site *site = call->site;
    json_out_reset(out);
    json_out_object(out);
    wire_text(out, "site", site->site);
    wire_text(out, "title", site->title);
    wire_texts(out, "titles", site->titles);
    wire_list(out, "languages");
    for (size_t i = 0; i < site->language_count; i++) {
        json_out_string(out, site->languages[i]);
    }
    json_out_array_end(out);
    wire_text(out, "time_zone", site->time_zone);
    wire_text(out, "volume_unit", site->volume_unit);
    wire_text(out, "district", site->district);
    write_hardware(out, site);
    write_people(out, http->model, site);
    write_instruments(out, http->model, site, http_state_now(http).now.wall);
    write_procedures(out, http->model, site);
    json_out_object_end(out);
    http_reply_out(http, call->request);
}
