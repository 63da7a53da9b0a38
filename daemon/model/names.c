// The small vocabulary of the model: ids, roles, groups.
#include "model/model.h"

#include <string.h>

static const struct {
    unsigned role;
    const char *name;
} roles[] = {
    {MODEL_ROLE_TECHNICIAN, "technician"}, {MODEL_ROLE_SUPERVISOR, "supervisor"},
    {MODEL_ROLE_MANAGER, "manager"},       {MODEL_ROLE_TRACKER, "tracker"},
    {MODEL_ROLE_VIEWER, "viewer"},
};
#define ROLE_COUNT (sizeof(roles) / sizeof(roles[0]))

static const char *const groups[MODEL_GROUP_COUNT] = {
    [MODEL_GROUP_PREPARE] = "prepare", [MODEL_GROUP_RELIEVE] = "relieve",
    [MODEL_GROUP_VERIFY] = "verify",   [MODEL_GROUP_WORK] = "work",
    [MODEL_GROUP_CLEAR] = "clear",     [MODEL_GROUP_FINISH] = "finish",
    [MODEL_GROUP_LEAVE] = "leave",
};

// Not isalnum(): an id is ASCII whatever the locale.
static bool is_alnum(char c) {
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

bool model_id_valid(const char *text, size_t length) {
    if (length == 0 || length >= MODEL_ID_SIZE || !is_alnum(text[0])) {
        return false;
    }
    for (size_t i = 1; i < length; i++) {
        if (!is_alnum(text[i]) && text[i] != '.' && text[i] != '_' && text[i] != '-') {
            return false;
        }
    }
    return true;
}

const char *model_role_name(unsigned role) {
    for (size_t i = 0; i < ROLE_COUNT; i++) {
        if (roles[i].role == role) {
            return roles[i].name;
        }
    }
    return NULL;
}

unsigned model_role_of(const char *name) {
    for (size_t i = 0; i < ROLE_COUNT; i++) {
        if (strcmp(roles[i].name, name) == 0) {
            return roles[i].role;
        }
    }
    return 0;
}

const char *model_group_name(enum model_group group) {
    return (unsigned)group < MODEL_GROUP_COUNT ? groups[group] : NULL;
}

int model_group_of(const char *name) {
    for (int i = 0; i < MODEL_GROUP_COUNT; i++) {
        if (strcmp(groups[i], name) == 0) {
            return i;
        }
    }
    return -1;
}
