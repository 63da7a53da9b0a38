// The first file: where the broker is, what is served, and which files hold the rest. It says in
// which order those are read, each after what it refers to.
#include "config/root.h"
#include "config/feed.h"
#include "config/language.h"
#include "config/people.h"
#include "config/requirement.h"
#include "config/site.h"
#include "config/webhook.h"
#include "config/zone.h"

#include <string.h>

#define PATH_LENGTH_MAX 4000

enum {
    INSTANCE,
    ROOT,
    BROKER,
    HTTP,
    JOURNAL,
    CREDENTIALS,
    PEOPLE,
    INSTRUMENTS,
    PROCEDURES,
    DISTRICTS,
    SITES,
    FEEDS,
    WEBHOOKS,
};
static const struct config_field root_fields[] = {
    [INSTANCE] = {"instance", CONFIG_ID, true, 0, 0, 0},
    [ROOT] = {"root", CONFIG_TEXT, false, 1, 200, 0},
    [BROKER] = {"broker", CONFIG_OBJECT, true, 0, 0, 0},
    [HTTP] = {"http", CONFIG_OBJECT, false, 0, 0, 0},
    [JOURNAL] = {"journal", CONFIG_TEXT, true, 1, PATH_LENGTH_MAX, 0},
    [CREDENTIALS] = {"credentials", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [PEOPLE] = {"people", CONFIG_TEXT, true, 1, PATH_LENGTH_MAX, 0},
    [INSTRUMENTS] = {"instruments", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [PROCEDURES] = {"procedures", CONFIG_ARRAY, true, 1, 0, 0},
    [DISTRICTS] = {"districts", CONFIG_ARRAY, false, 0, 0, 0},
    [SITES] = {"sites", CONFIG_ARRAY, true, 1, 0, 0},
    [FEEDS] = {"feeds", CONFIG_ARRAY, false, 0, 0, 0},
    [WEBHOOKS] = {"webhooks", CONFIG_ARRAY, false, 0, 100, 0},
};

enum { HOST, PORT, USERNAME, PASSWORD_FILE, CA_FILE, CERT_FILE, KEY_FILE };
static const struct config_field broker_fields[] = {
    [HOST] = {"host", CONFIG_TEXT, true, 1, 253, 0},
    [PORT] = {"port", CONFIG_INTEGER, false, 1, 65535, 0},
    [USERNAME] = {"username", CONFIG_TEXT, false, 1, 200, 0},
    [PASSWORD_FILE] = {"password_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [CA_FILE] = {"ca_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [CERT_FILE] = {"cert_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [KEY_FILE] = {"key_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
};

enum { LISTEN, HTTP_URL, HTTP_CERT_FILE, HTTP_KEY_FILE };
static const struct config_field http_fields[] = {
    [LISTEN] = {"listen", CONFIG_TEXT, true, 1, 300, 0},
    [HTTP_URL] = {"url", CONFIG_TEXT, false, 1, 500, 0},
    [HTTP_CERT_FILE] = {"cert_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
    [HTTP_KEY_FILE] = {"key_file", CONFIG_TEXT, false, 1, PATH_LENGTH_MAX, 0},
};

// The path of a file that must be readable, or NULL.
static const char *file_path(struct config_file *file, const struct config_value *value) {
    if (!value->ok) {
        return NULL;
    }
    const char *path = config_resolve(file, value->text);
    return config_readable(file, value->node, path) ? config_intern(file->config, path) : NULL;
}

// A certificate and its key go together.
static void pair(struct config_file *file, const struct json_node *object, const char *what,
                 const struct config_value *cert, const struct config_value *key) {
    if (cert->node != NULL && key->node == NULL) {
        config_missing(file, object, what, "key_file");
    } else if (key->node != NULL && cert->node == NULL) {
        config_missing(file, object, what, "cert_file");
    }
}

static void read_broker(struct config_file *file, const struct json_node *node) {
    struct model_broker *broker = &file->config->model->broker;
    struct config_value values[CONFIG_COUNT(broker_fields)];
    if (!config_read(file, node, "the broker", broker_fields, CONFIG_COUNT(broker_fields),
                     values)) {
        return;
    }
    bool tls = values[CA_FILE].node != NULL;
    broker->host = values[HOST].text;
    broker->port = values[PORT].ok ? (uint16_t)values[PORT].integer : (tls ? 8883 : 1883);
    broker->username = values[USERNAME].text;
    if (values[PASSWORD_FILE].ok) {
        broker->password =
            config_secret(file, values[PASSWORD_FILE].node, values[PASSWORD_FILE].text);
    }
    if (values[PASSWORD_FILE].node != NULL && values[USERNAME].node == NULL) {
        config_missing(file, node, "a broker with \"password_file\"", "username");
    }
    if (values[CERT_FILE].node != NULL && !tls) {
        config_missing(file, node, "a broker with \"cert_file\"", "ca_file");
    }
    pair(file, node, "the broker", &values[CERT_FILE], &values[KEY_FILE]);
    broker->ca_file = file_path(file, &values[CA_FILE]);
    broker->cert_file = file_path(file, &values[CERT_FILE]);
    broker->key_file = file_path(file, &values[KEY_FILE]);
}

// "address:port", an IPv6 address in brackets.
static bool is_listen(const char *text) {
    const char *colon = strrchr(text, ':');
    if (colon == NULL || colon == text) {
        return false;
    }
    size_t digits = strspn(colon + 1, "0123456789");
    unsigned port = 0;
    for (size_t i = 0; i < digits && i < 6; i++) {
        port = port * 10 + (unsigned)(colon[1 + i] - '0');
    }
    size_t host = (size_t)(colon - text);
    bool bracketed = text[0] == '[' && text[host - 1] == ']' && host > 2;
    bool plain = memchr(text, ':', host) == NULL && memchr(text, '[', host) == NULL;
    return digits > 0 && colon[1 + digits] == '\0' && port >= 1 && port <= 65535 &&
           (bracketed || plain) && strpbrk(text, " \t/") == NULL;
}

static bool is_url(const char *text) {
    size_t scheme = strncmp(text, "https://", 8) == 0  ? 8
                    : strncmp(text, "http://", 7) == 0 ? 7
                                                       : 0;
    if (scheme == 0 || strcspn(text + scheme, "/?#:") == 0 || strpbrk(text, "?#") != NULL) {
        return false;
    }
    for (; *text != '\0'; text++) {
        if ((unsigned char)*text <= ' ' || *text == 0x7f) {
            return false;
        }
    }
    return true;
}

// The address under which phones reach the pages: it goes into links and printed codes, so it has
// neither a question nor a fragment, and a final slash is no part of it.
static const char *read_url(struct config_file *file, const struct config_value *value) {
    if (!value->ok) {
        return NULL;
    }
    if (!is_url(value->text)) {
        config_error(file, value->node,
                     "must be an https:// or http:// address with a host and without \"?\" or "
                     "\"#\", like \"https://forelock.example\"");
        return NULL;
    }
    size_t length = strlen(value->text);
    while (value->text[length - 1] == '/') {
        length--;
    }
    char *text = config_brief(file->config, length + 1, 1);
    memcpy(text, value->text, length);
    return config_intern(file->config, text);
}

static void read_http(struct config_file *file, const struct json_node *node) {
    struct model *model = file->config->model;
    struct config_value values[CONFIG_COUNT(http_fields)];
    if (!config_read(file, node, "http", http_fields, CONFIG_COUNT(http_fields), values)) {
        return;
    }
    if (values[LISTEN].ok && !is_listen(values[LISTEN].text)) {
        config_error(file, values[LISTEN].node,
                     "must be \"address:port\", like \"127.0.0.1:8080\" or \"[::1]:8080\"");
    }
    model->http_listen = values[LISTEN].text;
    model->http_url = read_url(file, &values[HTTP_URL]);
    pair(file, node, "http", &values[HTTP_CERT_FILE], &values[HTTP_KEY_FILE]);
    model->http_cert_file = file_path(file, &values[HTTP_CERT_FILE]);
    model->http_key_file = file_path(file, &values[HTTP_KEY_FILE]);
}

// A prefix of topics: levels that are not empty, and nothing a broker gives a meaning.
static bool is_topic(const char *text) {
    size_t length = strlen(text);
    return text[0] != '/' && text[0] != '$' && text[length - 1] != '/' &&
           strstr(text, "//") == NULL && strpbrk(text, "+#{} ") == NULL;
}

static void read_own(struct config_file *file, const struct config_value *values) {
    struct config *config = file->config;
    struct model *model = config->model;
    model->instance = values[INSTANCE].ok ? config_intern(config, values[INSTANCE].id) : NULL;
    model->root = values[ROOT].ok ? values[ROOT].text : config_intern(config, "forelock");
    if (!is_topic(model->root)) {
        config_error(file, values[ROOT].node,
                     "must be a topic without spaces, wildcards or empty levels, like "
                     "\"forelock\"");
    }
    if (values[BROKER].ok) {
        read_broker(file, values[BROKER].node);
    }
    if (values[HTTP].ok) {
        read_http(file, values[HTTP].node);
    }
    if (values[JOURNAL].ok) {
        model->journal = config_intern(config, config_resolve(file, values[JOURNAL].text));
        config_report_place(config->report, config_place_of(file, values[JOURNAL].node));
    }
}

// Loads a file that a field names. False: it is not named, or cannot be read.
static bool load_one(struct config_file *root, const struct config_value *value,
                     void (*load)(struct config_file *file)) {
    if (!value->ok) {
        return false;
    }
    struct config_file *file =
        config_open(root->config, root, value->node, config_resolve(root, value->text));
    if (file == NULL) {
        return false;
    }
    load(file);
    config_close(file);
    return true;
}

static struct config_paths paths_of(struct config_file *root, const struct config_value *value,
                                    bool need) {
    return config_glob(root, value->ok ? value->node : NULL, need);
}

static void load_others(struct config_file *root, const struct config_value *values) {
    struct config *config = root->config;
    if (!load_one(root, &values[CREDENTIALS], config_credentials_load)) {
        config->levels_broken = values[CREDENTIALS].node != NULL;
    }
    if (!load_one(root, &values[PEOPLE], config_people_load)) {
        config->people_broken = true;
    }
    load_one(root, &values[INSTRUMENTS], config_instruments_load);
    struct config_paths procedures = paths_of(root, &values[PROCEDURES], true);
    struct config_paths districts = paths_of(root, &values[DISTRICTS], false);
    struct config_paths sites = paths_of(root, &values[SITES], true);
    struct config_paths feeds = paths_of(root, &values[FEEDS], false);
    config->procedures_broken = procedures.count == 0;
    config->districts_broken = values[DISTRICTS].node != NULL && !values[DISTRICTS].ok;
    config->sites_broken = sites.count == 0;
    config_procedures_load(config, &procedures);
    config_districts_load(config, &districts);
    config_sites_load(config, &sites);
    config_people_finish(config);
    config_languages_check(config);
    config_zones_resolve(config);
    for (size_t i = 0; i < config->model->site_count; i++) {
        config_requirements_in(config, &config->model->sites[i]);
    }
    config_coverage_people(config);
    if (!model_index(config->model)) {
        config_no_memory(config);
    }
    config_feeds_load(config, &feeds);
}

void config_root_load(struct config *config, const char *path) {
    struct config_value values[CONFIG_COUNT(root_fields)];
    struct config_file *root = config_open(config, NULL, NULL, path);
    if (root == NULL) {
        return;
    }
    config->root = root;
    if (config_read(root, json_root(&root->tape), "the configuration", root_fields,
                    CONFIG_COUNT(root_fields), values)) {
        read_own(root, values);
        load_others(root, values);
        config_webhooks_load(root, values[WEBHOOKS].ok ? values[WEBHOOKS].node : NULL);
    }
    config_close(root);
}

void config_root_people(struct config *config, const char *path) {
    struct config_value values[CONFIG_COUNT(root_fields)];
    struct config_file *root = config_open(config, NULL, NULL, path);
    if (root == NULL) {
        return;
    }
    config->root = root;
    if (config_read(root, json_root(&root->tape), "the configuration", root_fields,
                    CONFIG_COUNT(root_fields), values)) {
        if (!load_one(root, &values[CREDENTIALS], config_credentials_load)) {
            config->levels_broken = values[CREDENTIALS].node != NULL;
        }
        load_one(root, &values[PEOPLE], config_people_load);
        config_people_finish(config);
    }
    config_close(root);
}
