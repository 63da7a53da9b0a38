// `forelock check`: what is wrong with a configuration, and what it has.
#include "config/config.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "json/json.h"

static void entries_json(struct json_out *out, const struct config_report *report, bool warnings) {
    json_out_array(out);
    for (size_t i = 0; i < report->count; i++) {
        const struct config_entry *entry = &report->entries[i];
        if (entry->warning != warnings) {
            continue;
        }
        json_out_object(out);
        json_out_key(out, "file");
        json_out_string(out, entry->file);
        json_out_key(out, "line");
        json_out_int(out, entry->line);
        json_out_key(out, "column");
        json_out_int(out, entry->column);
        json_out_key(out, "pointer");
        json_out_string(out, entry->pointer);
        json_out_key(out, "text");
        json_out_string(out, entry->text);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void count_json(struct json_out *out, const char *name, size_t count) {
    json_out_key(out, name);
    json_out_int(out, (int64_t)count);
}

static void text_json(struct json_out *out, const char *name, const char *text) {
    json_out_key(out, name);
    json_out_string(out, text);
}

// A sensor is heard from the feed that claims it, or on its own topic under the root.
static void sensors_json(struct json_out *out, const struct model_site *site) {
    json_out_key(out, "sensors");
    json_out_array(out);
    for (size_t i = 0; i < site->sensor_count; i++) {
        json_out_object(out);
        text_json(out, "sensor", site->sensors[i].sensor);
        text_json(out, "point", site->points[site->sensors[i].point].point);
        text_json(out, "heard", site->sensors[i].claimed ? "feed" : "signal");
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void model_json(struct json_out *out, const struct model *model) {
    text_json(out, "instance", model->instance);
    text_json(out, "root", model->root);
    text_json(out, "journal", model->journal);
    count_json(out, "people", model->person_count);
    count_json(out, "instruments", model->instrument_count);
    count_json(out, "procedures", model->procedure_count);
    count_json(out, "webhooks", model->webhook_count);
    json_out_key(out, "sites");
    json_out_array(out);
    for (size_t i = 0; i < model->site_count; i++) {
        const struct model_site *site = &model->sites[i];
        json_out_object(out);
        text_json(out, "site", site->site);
        text_json(out, "title", site->title);
        count_json(out, "positions", site->position_count);
        count_json(out, "points", site->point_count);
        count_json(out, "controllers", site->controller_count);
        sensors_json(out, site);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool print_json(const struct model *model, const struct config_report *report) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "ok");
    json_out_bool(&out, model != NULL);
    json_out_key(&out, "errors");
    entries_json(&out, report, false);
    json_out_key(&out, "warnings");
    entries_json(&out, report, true);
    if (model != NULL) {
        model_json(&out, model);
    }
    json_out_object_end(&out);
    bool good = !out.failed;
    if (good) {
        printf("%s\n", out.data);
    }
    json_out_free(&out);
    return good;
}

static void print_site(const struct model_site *site) {
    size_t claimed = 0, spoken = 0;
    for (size_t i = 0; i < site->sensor_count; i++) {
        claimed += site->sensors[i].claimed;
    }
    for (size_t i = 0; i < site->point_count; i++) {
        spoken += site->points[i].sensor_count == 0;
    }
    tool_line(stdout,
              "site %s (%s): %zu positions, %zu points (%zu without a sensor), %zu sensors (%zu "
              "claimed by feeds), %zu controllers, district %s, time zone %s",
              site->site, site->title, site->position_count, site->point_count, spoken,
              site->sensor_count, claimed, site->controller_count,
              site->district != NULL ? site->district : "none", site->time_zone);
    for (size_t i = 0; i < site->sensor_count; i++) {
        if (site->sensors[i].claimed) {
            tool_line(stdout,
                      "  sensor %s of %s is claimed by a feed, and not heard on its signal topic",
                      site->sensors[i].sensor, site->points[site->sensors[i].point].point);
        }
    }
}

static void print_model(const struct model *model) {
    tool_line(stdout, "instance %s, root %s, broker %s:%u, journal %s", model->instance,
              model->root, model->broker.host, model->broker.port, model->journal);
    for (size_t i = 0; i < model->site_count; i++) {
        print_site(&model->sites[i]);
    }
    for (size_t i = 0; i < model->procedure_count; i++) {
        const struct model_requirements *procedure = &model->procedures[i];
        tool_line(stdout, "procedure %s (%s): %zu checks, %zu tests, isolates %zu kinds of energy",
                  procedure->procedure, procedure->title, procedure->check_count,
                  procedure->test_count, procedure->isolate_count);
    }
    tool_line(stdout, "%zu people, %zu instruments, %zu webhooks", model->person_count,
              model->instrument_count, model->webhook_count);
}

int tool_check(const struct tool_call *call) {
    struct config_report report = {0};
    struct model *model = config_load(call->config, &report);
    bool told = true;
    if (call->json) {
        told = print_json(model, &report);
    } else {
        config_report_print(&report, stderr);
        if (model != NULL) {
            print_model(model);
            tool_line(stdout, "%zu warnings, no errors: the configuration can be used",
                      report.warning_count);
        } else {
            tool_error("%s: %zu errors, %zu warnings: the daemon does not start with this",
                       call->config, report.error_count, report.warning_count);
        }
    }
    int status = model == NULL ? TOOL_CONFIGURATION : told ? TOOL_DONE : TOOL_REACH;
    if (!told) {
        tool_error("out of memory");
    }
    model_free(model);
    config_report_free(&report);
    return status;
}
