// Requirements: the lists that a procedure and what a district adds to it have in common.
#include "config/requirement.h"

#include "config/people.h"
#include "config/site.h"

#include <string.h>

static void *grown(struct config *config, const void *from, size_t count, size_t more,
                   size_t size) {
    void *to = config_scratch(config, count + more, size);
    if (count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

static size_t elements(const struct config_value *value) {
    return value->ok ? value->node->count : 0;
}

static void make_room(struct config_building *building, const struct config_value *values) {
    struct config *config = building->file->config;
    struct model_requirements *all = &building->all;
    size_t checks = 0;
    for (size_t i = 0; i < MODEL_GROUP_COUNT; i++) {
        checks += elements(&values[CONFIG_REQ_GROUPS + i]);
    }
    all->checks = grown(config, all->checks, all->check_count, checks, sizeof(*all->checks));
    all->tests = grown(config, all->tests, all->test_count, elements(&values[CONFIG_REQ_TESTS]),
                       sizeof(*all->tests));
    all->isolate = grown(config, all->isolate, all->isolate_count,
                         elements(&values[CONFIG_REQ_ISOLATE]), sizeof(*all->isolate));
    all->credentials = grown(config, all->credentials, all->credential_count,
                             elements(&values[CONFIG_REQ_CREDENTIALS]), sizeof(*all->credentials));
}

static void warn_unheld(struct config_file *file, const struct json_node *node,
                        const struct model_credential_choice *choice) {
    struct config *config = file->config;
    char list[200] = "";
    size_t used = 0;
    for (size_t i = 0; i < choice->count; i++) {
        if (config_names_find(&config->held, choice->any[i]) != MODEL_NONE) {
            return;
        }
        int wrote = snprintf(list + used, sizeof(list) - used, "%s\"%s\"", i > 0 ? ", " : "",
                             choice->any[i]);
        used += wrote > 0 && (size_t)wrote < sizeof(list) - used ? (size_t)wrote : 0;
    }
    if (!config->people_broken) {
        config_warn(file, node, "nobody holds %s%s: no one can do this work",
                    choice->count > 1 ? "any of " : "", list);
    }
}

static void add_choice(struct config_building *building, const struct json_node *node) {
    static const struct config_field list = {"", CONFIG_ARRAY, true, 1, 100, 0};
    struct config_file *file = building->file;
    struct config_value value;
    config_read_value(file, node, &list, &value);
    if (!value.ok) {
        return;
    }
    struct model_credential_choice choice;
    const char **named = config_ids(file, node, "the credential", &choice.count);
    const struct json_node *at = json_first(&file->tape, node);
    for (size_t i = 0; i < choice.count && choice.count == node->count; i++) {
        config_credential_known(file, at, named[i]);
        at = json_next(&file->tape, node, at);
    }
    const char **ids = config_credentials_expand(file->config, named, &choice.count);
    choice.any = config_alloc(file->config, choice.count, sizeof(*choice.any));
    for (size_t i = 0; i < choice.count; i++) {
        choice.any[i] = config_intern(file->config, ids[i]);
    }
    if (choice.count > 0) {
        warn_unheld(file, node, &choice);
        building->all.credentials[building->all.credential_count++] = choice;
    }
}

static bool isolates(const struct model_requirements *all, const char *energy) {
    for (size_t i = 0; i < all->isolate_count; i++) {
        if (all->isolate[i] == energy) { // interned
            return true;
        }
    }
    return false;
}

static void add_energy(struct config_building *building, const struct json_node *node) {
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    struct config_file *file = building->file;
    struct config_value value;
    config_read_value(file, node, &id, &value);
    if (!value.ok) {
        file->config->isolation_broken = true;
        return;
    }
    const char *energy = config_intern(file->config, value.id);
    config_energy(file, node, energy);
    if (isolates(&building->all, energy)) {
        config_error(file, node, "the energy \"%s\" is isolated already; name it once", energy);
    } else {
        building->all.isolate[building->all.isolate_count++] = energy;
    }
}

static void add_element(struct config_building *building, size_t field,
                        const struct json_node *node) {
    if (field == CONFIG_REQ_CREDENTIALS) {
        add_choice(building, node);
    } else if (field == CONFIG_REQ_ISOLATE) {
        add_energy(building, node);
    } else if (field == CONFIG_REQ_TESTS) {
        config_test_add(building, node);
    } else {
        config_check_add(building, node, (enum model_group)(field - CONFIG_REQ_GROUPS));
    }
}

void config_requirements_add(struct config_building *building, const struct config_value *values) {
    const struct json_tape *tape = &building->file->tape;
    make_room(building, values);
    for (size_t field = 0; field < CONFIG_REQ_COUNT; field++) {
        const struct json_node *array = values[field].ok ? values[field].node : NULL;
        const struct json_node *node = array != NULL ? json_first(tape, array) : NULL;
        for (; node != NULL; node = json_next(tape, array, node)) {
            add_element(building, field, node);
        }
    }
    config_notices_fit(building, &values[CONFIG_REQ_TESTS],
                       &values[CONFIG_REQ_GROUPS + MODEL_GROUP_PREPARE]);
}

// Rule (2, verify; R15): At least one verify check of a procedure is a person's.
// [configured-verified-by-nobody]
void config_verify_by_a_person(const struct config_building *building,
                               const struct json_node *verify) {
    const struct model_requirements *all = &building->all;
    size_t count = 0;
    for (size_t i = 0; i < all->check_count; i++) {
        if (all->checks[i].group == MODEL_GROUP_VERIFY) {
            count++;
            if (model_check_is_a_persons(&all->checks[i])) {
                return;
            }
        }
    }
    if (verify != NULL && count > 0) {
        config_error(building->file, verify,
                     "a measure answers every check here: at least one is a person's, who tries it "
                     "at the dispenser");
    }
}

static void *kept(struct config *config, const void *from, size_t count, size_t size) {
    void *to = config_alloc(config, count, size);
    if (count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

void config_requirements_keep(struct config_building *building, struct model_requirements *to) {
    struct config *config = building->file->config;
    *to = building->all;
    to->credentials = kept(config, to->credentials, to->credential_count, sizeof(*to->credentials));
    to->isolate = kept(config, to->isolate, to->isolate_count, sizeof(*to->isolate));
    to->checks = kept(config, to->checks, to->check_count, sizeof(*to->checks));
    to->tests = kept(config, to->tests, to->test_count, sizeof(*to->tests));
}
