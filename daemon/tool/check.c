// `forelock check`: what is wrong with a configuration, and what it has.
#include "config/config.h"
#include "journal/journal.h"
#include "model/feed.h"
#include "tool/check_broker.h"
#include "tool/print.h"
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

// The feed that claims a sensor or measure, or NULL.
static const char *claimer(const struct model *model, enum model_feed_to to,
                           const struct model_site *site, const char *name) {
    for (size_t i = 0; i < model->feed_count; i++) {
        if (model->feeds[i].to == to && model_feed_names(&model->feeds[i], site->site, name)) {
            return model->feeds[i].feed;
        }
    }
    return NULL;
}

static const char *claimer_of(const struct model *model, const struct model_site *site,
                              const struct model_sensor *sensor) {
    return sensor->claimed ? claimer(model, MODEL_FEED_SIGNAL, site, sensor->sensor) : NULL;
}

// A sensor is heard from the feed that claims it, or on its own topic under the root.
static void sensors_json(struct json_out *out, const struct model *model,
                         const struct model_site *site) {
    json_out_key(out, "sensors");
    json_out_array(out);
    for (size_t i = 0; i < site->sensor_count; i++) {
        json_out_object(out);
        tool_text_member(out, "sensor", site->sensors[i].sensor);
        tool_text_member(out, "point", site->points[site->sensors[i].point].point);
        tool_text_member(out, "heard", site->sensors[i].claimed ? "feed" : "signal");
        tool_text_member(out, "feed", claimer_of(model, site, &site->sensors[i]));
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void measures_json(struct json_out *out, const struct model *model,
                          const struct model_site *site) {
    json_out_key(out, "measures");
    json_out_array(out);
    for (size_t i = 0; i < site->measure_count; i++) {
        const struct model_measure *measure = &site->measures[i];
        json_out_object(out);
        tool_text_member(out, "measure", measure->measure);
        tool_text_member(out, "heard", measure->claimed ? "feed" : "measure");
        tool_text_member(
            out, "feed",
            measure->claimed ? claimer(model, MODEL_FEED_MEASURE, site, measure->measure) : NULL);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void feeds_json(struct json_out *out, const struct model *model) {
    json_out_key(out, "feeds");
    json_out_array(out);
    for (size_t i = 0; i < model->feed_count; i++) {
        json_out_object(out);
        tool_text_member(out, "feed", model->feeds[i].feed);
        tool_text_member(out, "to", model_feed_to_name(model->feeds[i].to));
        tool_text_member(out, "topic", model->feeds[i].topic);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void model_json(struct json_out *out, const struct model *model) {
    tool_text_member(out, "instance", model->instance);
    tool_text_member(out, "root", model->root);
    tool_text_member(out, "journal", model->journal);
    count_json(out, "people", model->person_count);
    count_json(out, "instruments", model->instrument_count);
    count_json(out, "procedures", model->procedure_count);
    count_json(out, "webhooks", model->webhook_count);
    feeds_json(out, model);
    json_out_key(out, "sites");
    json_out_array(out);
    for (size_t i = 0; i < model->site_count; i++) {
        const struct model_site *site = &model->sites[i];
        json_out_object(out);
        tool_text_member(out, "site", site->site);
        tool_text_member(out, "title", site->title);
        count_json(out, "positions", site->position_count);
        count_json(out, "points", site->point_count);
        count_json(out, "controllers", site->controller_count);
        sensors_json(out, model, site);
        measures_json(out, model, site);
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
    return tool_print_json(&out);
}

static void print_site(const struct model *model, const struct model_site *site) {
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
                      "  sensor %s of %s is claimed by the feed %s, and not heard on its signal "
                      "topic",
                      site->sensors[i].sensor, site->points[site->sensors[i].point].point,
                      claimer_of(model, site, &site->sensors[i]));
        }
    }
    for (size_t i = 0; i < site->measure_count; i++) {
        if (site->measures[i].claimed) {
            tool_line(stdout,
                      "  measure %s is claimed by the feed %s, and not heard on its measure topic",
                      site->measures[i].measure,
                      claimer(model, MODEL_FEED_MEASURE, site, site->measures[i].measure));
        }
    }
}

static void print_model(const struct model *model) {
    tool_line(stdout, "instance %s, root %s, broker %s:%u, journal %s", model->instance,
              model->root, model->broker.host, model->broker.port, model->journal);
    for (size_t i = 0; i < model->site_count; i++) {
        print_site(model, &model->sites[i]);
    }
    for (size_t i = 0; i < model->feed_count; i++) {
        tool_line(stdout, "feed %s: %s become %ss", model->feeds[i].feed, model->feeds[i].topic,
                  model_feed_to_name(model->feeds[i].to));
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

// --- With --broker ---

static const char *const verdicts[] = {[CHECK_BROKER_GOOD] = "good",
                                       [CHECK_BROKER_MISSING] = "missing",
                                       [CHECK_BROKER_OPEN] = "too open",
                                       [CHECK_BROKER_UNTRIED] = "not tried"};

static void findings_json(struct json_out *out, const struct check_broker_findings *findings) {
    json_out_array(out);
    for (size_t i = 0; i < findings->count; i++) {
        json_out_object(out);
        tool_text_member(out, "verdict", verdicts[findings->items[i].verdict]);
        tool_text_member(out, "subject", findings->items[i].subject);
        tool_text_member(out, "say", findings->items[i].say);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool print_findings_json(const struct check_broker_findings *findings, bool ok,
                                const char *error) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "ok");
    json_out_bool(&out, ok);
    json_out_key(&out, "error");
    if (error[0] != '\0') {
        json_out_string(&out, error);
    } else {
        json_out_null(&out);
    }
    json_out_key(&out, "findings");
    findings_json(&out, findings);
    json_out_object_end(&out);
    return tool_print_json(&out);
}

// Tries the broker of a configuration that can be used. Returns an exit status.
static int try_broker(const struct model *model, bool json) {
    static struct check_broker_findings findings;
    char error[256];
    bool reached = tool_check_broker(model, &findings, error, sizeof error);
    size_t bad = findings.left_off;
    for (size_t i = 0; i < findings.count; i++) {
        bad += findings.items[i].verdict != CHECK_BROKER_GOOD;
    }
    int status = !reached ? TOOL_REACH : bad > 0 ? TOOL_NO : TOOL_DONE;
    if (json) {
        return print_findings_json(&findings, status == TOOL_DONE, reached ? "" : error)
                   ? status
                   : TOOL_REACH;
    }
    for (size_t i = 0; i < findings.count; i++) {
        tool_line(stdout, "%-9s %s: %s", verdicts[findings.items[i].verdict],
                  findings.items[i].subject, findings.items[i].say);
    }
    if (!reached) {
        tool_error("the broker %s:%u: %s", model->broker.host, model->broker.port, error);
    } else if (bad == 0) {
        tool_line(stdout, "The broker is set up as the daemon needs it.");
    } else {
        tool_line(stdout, "%zu of these need a look; contrib/mosquitto has a broker's files.", bad);
    }
    return status;
}

static void tell_misfit(void *user, bool warning, const char *what) {
    config_report_journal(user, warning, what);
}

// The configuration, if the daemon would start with it; NULL: it would not.
static struct model *load(const char *path, struct config_report *report) {
    struct model *model = config_load(path, report);
    if (model != NULL && !journal_fits(model, tell_misfit, report)) {
        model_free(model);
        model = NULL;
    }
    return model;
}

static int run(const struct tool_call *call) {
    struct config_report report = {0};
    struct model *model = load(call->config, &report);
    bool told = true;
    if (call->json && (model == NULL || !call->broker)) {
        told = print_json(model, &report);
    } else if (!call->json) {
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
    } else if (model != NULL && call->broker) {
        status = try_broker(model, call->json);
    }
    model_free(model);
    config_report_free(&report);
    return status;
}

const struct tool_command tool_check = {
    .name = "check",
    .words = "",
    .options = "-c FILE [--broker] [--json]",
    .about =
        "Reads the configuration, says all that is wrong with it, and what it has; with --broker, "
        "connects as the daemon and says what the broker lacks or leaves too open.",
    .run = run,
};
