// A configuration with feeds, loaded, and what comes of messages. Included by each test of this
// folder.
#pragma once

#include "config/config.h"
#include "feed/feed.h"

#include "tree.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define READINGS_MAX 16

struct feeds {
    struct tree tree;
    struct config_report report;
    struct model *model;
    struct feed_set *set;
    struct feed_reading readings[READINGS_MAX];
    size_t count, steps;
};

static int feeds_make(void **state) {
    struct feeds *feeds = calloc(1, sizeof *feeds);
    assert_non_null(feeds);
    tree_make(&feeds->tree);
    tree_edit("forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]");
    tree_edit("sites/juniper.json", "\"points\": [",
              "\"measures\": [{\"measure\": \"3-psi\", \"kind\": \"line-pressure\", "
              "\"unit\": \"psi\", \"positions\": [\"3A\"]}],\n  \"points\": [");
    *state = feeds;
    return 0;
}

static int feeds_end(void **state) {
    struct feeds *feeds = *state;
    feed_set_free(feeds->set);
    model_free(feeds->model);
    config_report_free(&feeds->report);
    tree_remove(&feeds->tree);
    free(feeds);
    return 0;
}

// Loads the good configuration with these feeds, which must be right.
static struct feeds *feeds_load(void **state, const char *json) {
    struct feeds *feeds = *state;
    tree_write("feeds/f.json", json);
    feeds->model = config_load("forelock.json", &feeds->report);
    config_report_print(&feeds->report, stderr);
    assert_non_null(feeds->model);
    assert_int_equal(feeds->report.count, 0);
    feeds->set = feed_set_new(feeds->model);
    assert_non_null(feeds->set);
    return feeds;
}
