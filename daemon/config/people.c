// People with their roles, sites, credentials and tokens; instruments with their calibration.
#include "config/people.h"
#include "base/hex.h"
#include "config/zone.h"
#include "trade/trade.h"

#include <stdlib.h>
#include <string.h>

enum { PERSON, PERSON_TITLE, PERSON_ROLES, PERSON_SITES, PERSON_CREDENTIALS, PERSON_TOKEN };
static const struct config_field person_fields[] = {
    [PERSON] = {"person", CONFIG_ID, true, 0, 0, 0},
    [PERSON_TITLE] = {"title", CONFIG_NAME, false, 1, 200, 0},
    [PERSON_ROLES] = {"roles", CONFIG_ARRAY, true, 1, 5, 0},
    [PERSON_SITES] = {"sites", CONFIG_ARRAY, true, 0, 0, 0},
    [PERSON_CREDENTIALS] = {"credentials", CONFIG_ARRAY, false, 0, 1000, 0},
    [PERSON_TOKEN] = {"token_sha256", CONFIG_TEXT, false, 0, 0, 0},
};

enum { CREDENTIAL, CREDENTIAL_UNTIL };
static const struct config_field credential_fields[] = {
    [CREDENTIAL] = {"credential", CONFIG_ID, true, 0, 0, 0},
    [CREDENTIAL_UNTIL] = {"until", CONFIG_DATE, false, 0, 0, 0},
};

enum {
    INSTRUMENT,
    INSTRUMENT_KIND,
    INSTRUMENT_UNTIL,
    INSTRUMENT_UNCERTAINTY,
    INSTRUMENT_WRENCH,
    INSTRUMENT_WRENCH_MM,
    INSTRUMENT_ADAPTER,
    INSTRUMENT_ADAPTER_MM,
    INSTRUMENT_ANGLE,
};
static const struct config_field instrument_fields[] = {
    [INSTRUMENT] = {"instrument", CONFIG_ID, true, 0, 0, 0},
    [INSTRUMENT_KIND] = {"kind", CONFIG_ID, true, 0, 0, 0},
    [INSTRUMENT_UNTIL] = {"calibrated_until", CONFIG_DATE, true, 0, 0, 0},
    [INSTRUMENT_UNCERTAINTY] = {"uncertainty", CONFIG_OBJECT, false, 0, 0, 0},
    [INSTRUMENT_WRENCH] = {"wrench_in", CONFIG_NUMBER, false, 0, 1000, 0},
    [INSTRUMENT_WRENCH_MM] = {"wrench_mm", CONFIG_NUMBER, false, 0, 25400, 0},
    [INSTRUMENT_ADAPTER] = {"adapter_in", CONFIG_NUMBER, false, -1000, 1000, 0},
    [INSTRUMENT_ADAPTER_MM] = {"adapter_mm", CONFIG_NUMBER, false, -25400, 25400, 0},
    [INSTRUMENT_ANGLE] = {"angle_deg", CONFIG_NUMBER, false, 0, 180, 0},
};

enum { UNCERTAINTY_VALUE, UNCERTAINTY_UNIT };
static const struct config_field uncertainty_fields[] = {
    [UNCERTAINTY_VALUE] = {"value", CONFIG_NUMBER, true, 0, 1e9, 0},
    [UNCERTAINTY_UNIT] = {"unit", CONFIG_TEXT, true, 1, 31, 0},
};

static unsigned read_roles(struct config_file *file, const struct json_node *array) {
    static const char *const names[] = {"technician", "supervisor", "manager", "tracker", "viewer"};
    static const struct config_field text = {"", CONFIG_TEXT, true, 0, 0, 0};
    unsigned roles = 0;
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        char hint[80];
        config_read_value(file, node, &text, &value);
        unsigned role = value.ok ? model_role_of(value.text) : 0;
        if (value.ok && role == 0) {
            config_error(file, node,
                         "must be one of technician, supervisor, manager, tracker, viewer, not "
                         "\"%s\"%s",
                         value.text,
                         config_hint(value.text, names, CONFIG_COUNT(names), hint, sizeof(hint)));
        } else if ((roles & role) != 0) {
            config_error(file, node, "the role \"%s\" stands twice in this list; name it once",
                         value.text);
        }
        roles |= role;
    }
    return roles;
}

// Sites may be such that this daemon lacks: people work at more than one edge.
static void read_sites(struct config_file *file, const struct json_node *array,
                       struct model_person *person, struct config_person_sites *sites) {
    static const struct config_field text = {"", CONFIG_TEXT, true, 0, 0, 0};
    sites->sites = config_scratch(file->config, array->count, sizeof(*sites->sites));
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        config_read_value(file, node, &text, &value);
        if (value.ok && strcmp(value.text, "*") == 0) {
            person->every_site = true;
        } else if (value.ok && !model_id_valid(value.text, strlen(value.text))) {
            config_error(file, node, "must be the id of a site, or \"*\" for every site");
        } else if (value.ok) {
            sites->sites[sites->count++] = value.text;
        }
    }
}

static void read_credentials(struct config_file *file, const struct json_node *array,
                             struct model_person *person) {
    struct config *config = file->config;
    struct config_names seen = {.brief = true};
    person->credentials = config_alloc(config, array->count, sizeof(*person->credentials));
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value values[CONFIG_COUNT(credential_fields)];
        if (!config_read(file, node, "a credential", credential_fields,
                         CONFIG_COUNT(credential_fields), values) ||
            !values[CREDENTIAL].ok) {
            continue;
        }
        if (config_names_add(config, &seen, values[CREDENTIAL].id, 0) != MODEL_NONE) {
            config_error(file, values[CREDENTIAL].node,
                         "the person has the credential \"%s\" twice; keep one",
                         values[CREDENTIAL].id);
            continue;
        }
        config_credential_known(file, values[CREDENTIAL].node, values[CREDENTIAL].id);
        struct model_credential *credential = &person->credentials[person->credential_count++];
        memcpy(credential->credential, values[CREDENTIAL].id, sizeof(credential->credential));
        config_names_add(config, &config->held, values[CREDENTIAL].id, 0);
        if (values[CREDENTIAL_UNTIL].ok) {
            config_until(config, &credential->until, values[CREDENTIAL_UNTIL].id);
        }
    }
}

static void read_token(struct config_file *file, const struct config_value *value,
                       struct model_person *person, uint32_t index) {
    uint8_t *hash = person->token_sha256;
    char canonical[BASE_HEX_SIZE(sizeof(person->token_sha256))];
    if (strlen(value->text) != sizeof(canonical) - 1 ||
        !base_hex_decode(value->text, hash, sizeof(person->token_sha256))) {
        config_error(file, value->node,
                     "must be the SHA-256 of the token as 64 hex digits, never the token itself");
        return;
    }
    person->has_token = true;
    base_hex_encode(hash, sizeof(person->token_sha256), canonical);
    uint32_t other = config_names_add(file->config, &file->config->tokens, canonical, index);
    if (other != MODEL_NONE) {
        config_error(file, value->node,
                     "\"%s\" has the same token; make each person one of their own",
                     file->config->model->people[other].person);
    }
}

static void read_person(struct config_file *file, const struct json_node *node) {
    struct config *config = file->config;
    struct model *model = config->model;
    uint32_t index = (uint32_t)model->person_count;
    struct model_person *person = &model->people[index];
    struct config_person_sites *sites = &config->person_sites[index];
    struct config_value values[CONFIG_COUNT(person_fields)];
    if (!config_read(file, node, "a person", person_fields, CONFIG_COUNT(person_fields), values) ||
        !values[PERSON].ok) {
        return;
    }
    if (config_names_add(config, &config->people, values[PERSON].id, index) != MODEL_NONE) {
        config_error(file, values[PERSON].node, "the person \"%s\" stands twice; ids are unique",
                     values[PERSON].id);
        return;
    }
    memcpy(person->person, values[PERSON].id, sizeof(person->person));
    sites->person = config_intern(config, values[PERSON].id);
    person->title = values[PERSON_TITLE].ok ? values[PERSON_TITLE].text : sites->person;
    person->roles = values[PERSON_ROLES].ok ? read_roles(file, values[PERSON_ROLES].node) : 0;
    if (values[PERSON_SITES].ok) {
        read_sites(file, values[PERSON_SITES].node, person, sites);
    }
    if (values[PERSON_CREDENTIALS].ok) {
        read_credentials(file, values[PERSON_CREDENTIALS].node, person);
    }
    if (values[PERSON_TOKEN].ok) {
        read_token(file, &values[PERSON_TOKEN], person, index);
    }
    model->person_count++;
}

void config_people_load(struct config_file *file) {
    static const struct config_field fields[] = {{"people", CONFIG_ARRAY, true, 0, 0, 0}};
    struct config_value value;
    if (!config_read(file, json_root(&file->tape), "the file of people", fields, 1, &value) ||
        !value.ok) {
        file->config->people_broken = true;
        return;
    }
    struct config *config = file->config;
    config->model->people = config_alloc(config, value.node->count, sizeof(struct model_person));
    config->person_sites =
        config_scratch(config, value.node->count, sizeof(struct config_person_sites));
    for (const struct json_node *node = json_first(&file->tape, value.node); node != NULL;
         node = json_next(&file->tape, value.node, node)) {
        read_person(file, node);
    }
}

static int compare_people(const void *a, const void *b) {
    return strcmp(((const struct model_person *)a)->person,
                  ((const struct model_person *)b)->person);
}

// Sites by name become sites by index, once all are known and sorted.
static void person_at_sites(struct config *config, const struct config_person_sites *sites) {
    struct model *model = config->model;
    const struct model_person *found = model_person_find(model, sites->person);
    struct model_person *person = &model->people[found - model->people];
    if (person->every_site) {
        return;
    }
    person->at_site = config_alloc(config, model->site_count, sizeof(*person->at_site));
    for (size_t i = 0; i < sites->count; i++) {
        const struct model_site *site = model_site_find(model, sites->sites[i]);
        if (site != NULL) {
            person->at_site[site->index] = true;
        }
    }
}

void config_people_finish(struct config *config) {
    struct model *model = config->model;
    if (model->person_count > 1) {
        qsort(model->people, model->person_count, sizeof(*model->people), compare_people);
    }
    for (size_t i = 0; i < model->person_count; i++) {
        person_at_sites(config, &config->person_sites[i]);
    }
}

// Rule (2, instruments): An uncertainty is over 0. [uncertainty-of-nothing]
static void read_uncertainty(struct config_file *file, const struct json_node *object,
                             struct model_instrument *instrument) {
    struct config_value values[CONFIG_COUNT(uncertainty_fields)];
    if (!config_read(file, object, "an uncertainty", uncertainty_fields,
                     CONFIG_COUNT(uncertainty_fields), values) ||
        !values[UNCERTAINTY_VALUE].ok || !values[UNCERTAINTY_UNIT].ok) {
        return;
    }
    if (values[UNCERTAINTY_VALUE].number <= 0) {
        config_error(file, values[UNCERTAINTY_VALUE].node, "must be over 0");
        return;
    }
    instrument->uncertainty = values[UNCERTAINTY_VALUE].number;
    instrument->uncertainty_unit = values[UNCERTAINTY_UNIT].text;
}

// A length in inches, of its two spellings; not ok: none, or wrong.
// Rule (2, instruments; torque-applied): A length is given in inches or in millimeters, never both.
// [length-in-both]
// Rule (2, instruments; torque-applied): One in millimeters is one. [millimeters-as-inches]
static struct config_value length_of(struct config_file *file, const struct config_value *inches,
                                     const struct config_value *millimeters) {
    struct config_value length = inches->ok ? *inches : *millimeters;
    if (inches->ok && millimeters->ok) {
        config_error(file, millimeters->node, "stands in inches too; give one of them");
    } else if (millimeters->ok) {
        length.number /= trade_unit_factor(TRADE_INCH);
    }
    return length;
}

// Rule (2, instruments; torque-applied): An adapter is on a wrench whose length is told, and leaves
// some of it. [adapter-without-wrench]
static void read_wrench(struct config_file *file, const struct config_value *values,
                        struct model_instrument *instrument) {
    const struct config_value wrench_in =
        length_of(file, &values[INSTRUMENT_WRENCH], &values[INSTRUMENT_WRENCH_MM]);
    const struct config_value adapter_in =
        length_of(file, &values[INSTRUMENT_ADAPTER], &values[INSTRUMENT_ADAPTER_MM]);
    const struct config_value *wrench = &wrench_in, *adapter = &adapter_in;
    const struct config_value *angle = &values[INSTRUMENT_ANGLE];
    double length = wrench->ok ? wrench->number : 0;
    double extra = adapter->ok ? adapter->number : 0, degrees = angle->ok ? angle->number : 0;
    if (wrench->ok && length <= 0) {
        config_error(file, wrench->node, "must be over 0");
    } else if (!wrench->ok && (adapter->ok || angle->ok)) {
        config_error(file, adapter->ok ? adapter->node : angle->node,
                     "needs \"wrench_in\" or \"wrench_mm\" beside it, the length from the wrench's "
                     "drive to the "
                     "center of its grip");
    } else if (!adapter->ok && angle->ok) {
        config_error(file, angle->node, "is that of an adapter, and there is no \"adapter_in\"");
    } else if (wrench->ok && trade_torque_applied(1, length, extra, degrees) <= 0) {
        config_error(file, adapter->node, "takes away the whole wrench of %.10g in", length);
    } else if (wrench->ok) {
        instrument->wrench_in = length;
        instrument->adapter_in = extra;
        instrument->angle_deg = degrees;
    }
}

static void read_instrument(struct config_file *file, const struct json_node *node) {
    struct config *config = file->config;
    struct model_instrument *instrument =
        &config->model->instruments[config->model->instrument_count];
    struct config_value values[CONFIG_COUNT(instrument_fields)];
    if (!config_read(file, node, "an instrument", instrument_fields,
                     CONFIG_COUNT(instrument_fields), values) ||
        !values[INSTRUMENT].ok) {
        return;
    }
    if (config_names_add(config, &config->instruments, values[INSTRUMENT].id, 0) != MODEL_NONE) {
        config_error(file, values[INSTRUMENT].node,
                     "the instrument \"%s\" stands twice; ids are unique", values[INSTRUMENT].id);
        return;
    }
    if (values[INSTRUMENT_KIND].ok && values[INSTRUMENT_UNTIL].ok) {
        memcpy(instrument->instrument, values[INSTRUMENT].id, sizeof(instrument->instrument));
        instrument->kind = config_intern(config, values[INSTRUMENT_KIND].id);
        config_until(config, &instrument->calibrated_until, values[INSTRUMENT_UNTIL].id);
        if (values[INSTRUMENT_UNCERTAINTY].ok) {
            read_uncertainty(file, values[INSTRUMENT_UNCERTAINTY].node, instrument);
        }
        read_wrench(file, values, instrument);
        config->model->instrument_count++;
    }
}

static int compare_instruments(const void *a, const void *b) {
    return strcmp(((const struct model_instrument *)a)->instrument,
                  ((const struct model_instrument *)b)->instrument);
}

void config_instruments_load(struct config_file *file) {
    static const struct config_field fields[] = {{"instruments", CONFIG_ARRAY, true, 0, 0, 0}};
    struct config_value value;
    if (!config_read(file, json_root(&file->tape), "the file of instruments", fields, 1, &value) ||
        !value.ok) {
        return;
    }
    struct model *model = file->config->model;
    model->instruments =
        config_alloc(file->config, value.node->count, sizeof(struct model_instrument));
    for (const struct json_node *node = json_first(&file->tape, value.node); node != NULL;
         node = json_next(&file->tape, value.node, node)) {
        read_instrument(file, node);
    }
    if (model->instrument_count > 1) {
        qsort(model->instruments, model->instrument_count, sizeof(*model->instruments),
              compare_instruments);
    }
}
