// Broken configurations, each with the whole report that it must give: file, line, column, pointer
// and sentence of every entry, and nothing beside them.
#pragma once

#include <stddef.h>

#define CASE_EDITS_MAX 4

// One change of the good tree. from NULL: the file is written anew; else its first occurrence,
// which must exist, becomes to.
struct case_edit {
    const char *file; // NULL: no more edits
    const char *from, *to;
};

struct case_of {
    const char *name;
    struct case_edit edits[CASE_EDITS_MAX];
    const char *report; // as config_report_print prints it
};

extern const struct case_of cases_first[], cases_work[], cases_site[], cases_feed[];
extern const struct case_of cases_rules[], cases_limits[];
extern const size_t cases_rules_count, cases_limits_count;
extern const size_t cases_first_count, cases_work_count, cases_site_count, cases_feed_count;
