// The good tree, and what it is loaded as: the state of a test, made and ended around each.
#pragma once

#include "config/config.h"
#include "tree.h"

// The moment of the tests: noon of 2026-06-01.
#define TODAY_MS 1780315200000

struct loaded {
    struct tree tree;
    struct config_report report;
    struct model *model;
};

// Set-up and teardown of cmocka.
int loaded_make(void **state);
int loaded_end(void **state);
// Loads the tree as it is now edited; fails the test where it cannot be.
const struct model *loaded_model(void **state);
