// Webhooks: where events are sent, which of them, and by which secrets they are signed.
#include "config/webhook.h"

#include "config/field.h"

#include <string.h>
#include <strings.h>

#define PATH_LENGTH_MAX 4000
#define ALARM_AFTER_S 3600
#define SECRET_LINE_MAX 512
#define SECRET_COUNT_MAX 8

enum { WEBHOOK, URL, SECRET_FILE, SITES, CA_FILE, ALARM_AFTER, EVENTS };
static const struct config_field webhook_fields[] = {
    [WEBHOOK] = {"webhook", CONFIG_ID, false, 0, 0, 0},
    [URL] = {"url", CONFIG_TEXT, true, 1, 2000, 0},
    [SECRET_FILE] = {"secret_file", CONFIG_TEXT, true, 1, PATH_LENGTH_MAX, 0},
    [SITES] = {"sites", CONFIG_ARRAY, false, 1, 0, 0},
    [CA_FILE] = {"ca_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [ALARM_AFTER] = {"alarm_after_s", CONFIG_SECONDS, false, 1, 7 * 24 * 3600.0, ALARM_AFTER_S},
    [EVENTS] = {"events", CONFIG_ARRAY, false, 1, 100, 0},
};

static const char prefix[] = "forelock.";

// What may be asked for: the published types of the gate's words, which this folder may not know. A
// test holds the two lists together.
static const char *const event_types[] = {
    "job.opened",        "job.assigned",       "job.cancelled",   "job.returned",
    "lead.offered",      "job.handed-over",    "crew.joined",     "crew.left",
    "crew.protected",    "crew.unprotected",   "tag.hung",        "tag.lifted",
    "check.signed",      "check.ageing",       "point.witnessed", "point.changed",
    "point.ageing",      "sensor.distrusted",  "sensor.trusted",  "told.confirmed",
    "lockout.confirmed", "lockout.lost",       "lockout.broken",  "stop.called",
    "checked-in",        "work.started",       "work.refused",    "work.stopped",
    "work.finished",     "work.set-aside",     "work.reopened",   "test.begun",
    "test.refused",      "test.recorded",      "return.refused",  "position.out-of-service",
    "position.returned", "fuel.recorded",      "part.fitted",     "spill.recorded",
    "spill.reported",    "fault.reported",     "job.expected",    "evidence.attached",
    "alarm.raised",      "alarm.acknowledged", "alarm.cleared",
};

const char *const *config_webhook_events(size_t *count) {
    *count = CONFIG_COUNT(event_types);
    return event_types;
}

// --- The address ---

// The host of an address, without port and brackets. False: it has none, or what is before it is no
// scheme of ours.
static bool host_of(const char *url, const char **host, size_t *length, bool *secure) {
    *secure = strncasecmp(url, "https://", 8) == 0;
    if (!*secure && strncasecmp(url, "http://", 7) != 0) {
        return false;
    }
    *host = url + (*secure ? 8 : 7);
    if (**host == '[') {
        ++*host;
        *length = strcspn(*host, "]/?#");
        return *length > 0 && (*host)[*length] == ']';
    }
    *length = strcspn(*host, "/?#:");
    return *length > 0;
}

static bool is_plain(const char *text) {
    for (; *text != '\0'; text++) {
        if ((unsigned char)*text <= ' ' || *text == 0x7f || *text == '\\') {
            return false;
        }
    }
    return true;
}

static bool is_host(const char *host, size_t length, const char *name) {
    return strlen(name) == length && strncasecmp(host, name, length) == 0;
}

// A whole address of 127.0.0.0/8: a name may begin like one.
static bool is_loopback(const char *host, size_t length) {
    bool ipv4 = length > 4 && length < 16 && strncmp(host, "127.", 4) == 0 &&
                strspn(host, "0123456789.") == length;
    return ipv4 || is_host(host, length, "::1") || is_host(host, length, "localhost");
}

static void check_url(struct config_file *file, const struct config_value *value) {
    const char *host = NULL;
    size_t length = 0;
    bool secure = false;
    if (!is_plain(value->text) || !host_of(value->text, &host, &length, &secure)) {
        config_error(file, value->node, "must be an https:// or http:// address with a host");
    } else if (memchr(host, '@', strcspn(host, "/?#")) != NULL) {
        config_error(file, value->node,
                     "may hold no user and no password: the receiver knows us by the signature");
    } else if (strchr(value->text, '#') != NULL) {
        config_error(file, value->node, "may hold no fragment (\"#\"), which is never sent");
    } else if (!secure && !is_loopback(host, length)) {
        config_error(file, value->node,
                     "http:// is taken only for this machine (127.0.0.1, [::1], localhost): use "
                     "https://");
    }
}

// "tracker.example:8443" → "tracker.example-8443".
static void name_after(const char *url, char id[MODEL_ID_SIZE]) {
    const char *host = strstr(url, "//");
    size_t used = 0;
    for (host = host != NULL ? host + 2 : url; *host != '\0' && strchr("/?#", *host) == NULL;
         host++) {
        bool fits = *host != '[' && *host != ']';
        if (fits && used < MODEL_ID_SIZE - 1) {
            id[used++] = *host == ':' ? '-' : *host;
        }
    }
    id[used] = '\0';
}

static void read_id(struct config_file *file, const struct json_node *node,
                    const struct config_value *values, struct model_webhook *hook) {
    const struct model *model = file->config->model;
    if (values[WEBHOOK].ok) {
        memcpy(hook->webhook, values[WEBHOOK].id, sizeof hook->webhook);
    } else if (values[URL].ok && values[WEBHOOK].node == NULL) {
        name_after(values[URL].text, hook->webhook);
        if (!model_id_valid(hook->webhook, strlen(hook->webhook))) {
            memcpy(hook->webhook, "webhook", sizeof "webhook");
        }
    }
    for (size_t i = 0; i < model->webhook_count && hook->webhook[0] != '\0'; i++) {
        if (strcmp(model->webhooks[i].webhook, hook->webhook) == 0) {
            config_error(file, values[WEBHOOK].node != NULL ? values[WEBHOOK].node : node,
                         "there is another webhook \"%s\"; give each its own \"webhook\"",
                         hook->webhook);
            return;
        }
    }
}

// --- Its sites and events ---

static bool site_known(struct config_file *file, const struct json_node *node, const char *id) {
    if (model_site_find(file->config->model, id) != NULL) {
        return true;
    }
    if (!model_id_valid(id, strlen(id))) {
        config_error(file, node, "must be the id of a site, or \"*\" for every site");
    } else if (!file->config->sites_broken) {
        config_error(file, node, "there is no site \"%s\"", id);
    }
    return false;
}

static const struct config_field any_text = {"", CONFIG_TEXT, true, 0, 0, 0};

static void read_sites(struct config_file *file, const struct json_node *array,
                       struct model_webhook *hook) {
    bool every = false;
    hook->sites = config_alloc(file->config, array->count, sizeof(*hook->sites));
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        config_read_value(file, node, &any_text, &value);
        if (value.ok && strcmp(value.text, "*") == 0) {
            every = true;
        } else if (value.ok && site_known(file, node, value.text)) {
            hook->sites[hook->site_count++] = value.text;
        }
    }
    if (every) {
        hook->site_count = 0;
    }
}

static bool event_known(struct config_file *file, const struct json_node *node, const char *type) {
    char hint[128];
    for (size_t i = 0; i < CONFIG_COUNT(event_types); i++) {
        if (strcmp(event_types[i], type) == 0) {
            return true;
        }
    }
    config_error(file, node, "there is no event \"%s\"%s", type,
                 config_hint(type, event_types, CONFIG_COUNT(event_types), hint, sizeof hint));
    return false;
}

static void read_events(struct config_file *file, const struct json_node *array,
                        struct model_webhook *hook) {
    hook->events = config_alloc(file->config, array->count, sizeof(*hook->events));
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        config_read_value(file, node, &any_text, &value);
        if (!value.ok) {
            continue;
        }
        size_t skip = strncmp(value.text, prefix, sizeof prefix - 1) == 0 ? sizeof prefix - 1 : 0;
        if (event_known(file, node, value.text + skip)) {
            hook->events[hook->event_count++] = value.text + skip;
        }
    }
}

// --- Its secrets ---

static bool is_base64(const char *text, size_t length) {
    size_t padding = length > 0 && text[length - 1] == '=' ? 1 : 0;
    padding += length > 1 && text[length - 2] == '=' ? 1 : 0;
    return length > 0 && length % 4 == 0 &&
           strspn(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/") >=
               length - padding;
}

static const char *wrong_line(const char *line, size_t length) {
    static const char known[] = "whsec_";
    if (length > SECRET_LINE_MAX) {
        return "a secret of more than 512 bytes";
    }
    bool spelled = length >= sizeof known - 1 && strncmp(line, known, sizeof known - 1) == 0;
    if (spelled && !is_base64(line + sizeof known - 1, length - (sizeof known - 1))) {
        return "a secret that begins with whsec_ and goes on with what is no base 64";
    }
    return NULL;
}

static void check_secrets(struct config_file *file, const struct json_node *node,
                          const char *text) {
    const char *wrong = NULL;
    size_t count = 0;
    for (text += strspn(text, "\r\n"); *text != '\0' && wrong == NULL;) {
        size_t length = strcspn(text, "\r\n");
        wrong = ++count > SECRET_COUNT_MAX ? "more than 8 secrets" : wrong_line(text, length);
        text += length;
        text += strspn(text, "\r\n");
    }
    if (wrong != NULL || count == 0) {
        config_error(file, node, "the file holds %s", wrong != NULL ? wrong : "no secret");
    }
}

static void read_secret(struct config_file *file, const struct config_value *value,
                        struct model_webhook *hook) {
    hook->secret = config_secret(file, value->node, value->text);
    hook->secret_file = config_intern(file->config, config_resolve(file, value->text));
    if (hook->secret != NULL) {
        check_secrets(file, value->node, hook->secret);
    }
}

// --- All of it ---

static void read_webhook(struct config_file *file, const struct json_node *node) {
    struct model *model = file->config->model;
    struct model_webhook *hook = &model->webhooks[model->webhook_count];
    struct config_value values[CONFIG_COUNT(webhook_fields)];
    if (!config_read(file, node, "a webhook", webhook_fields, CONFIG_COUNT(webhook_fields),
                     values)) {
        return;
    }
    if (values[URL].ok) {
        check_url(file, &values[URL]);
    }
    hook->url = values[URL].text;
    hook->alarm_after_ms = values[ALARM_AFTER].integer;
    read_id(file, node, values, hook);
    if (values[SECRET_FILE].ok) {
        read_secret(file, &values[SECRET_FILE], hook);
    }
    if (values[CA_FILE].ok) {
        const char *path = config_resolve(file, values[CA_FILE].text);
        bool readable = config_readable(file, values[CA_FILE].node, path);
        hook->ca_file = readable ? config_intern(file->config, path) : NULL;
    }
    if (values[SITES].ok) {
        read_sites(file, values[SITES].node, hook);
    }
    if (values[EVENTS].ok) {
        read_events(file, values[EVENTS].node, hook);
    }
    model->webhook_count++;
}

void config_webhooks_load(struct config_file *file, const struct json_node *list) {
    if (list == NULL) {
        return;
    }
    struct model *model = file->config->model;
    model->webhooks = config_alloc(file->config, list->count, sizeof(*model->webhooks));
    for (const struct json_node *node = json_first(&file->tape, list); node != NULL;
         node = json_next(&file->tape, list, node)) {
        read_webhook(file, node);
    }
}
