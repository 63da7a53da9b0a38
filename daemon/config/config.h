// Configuration: reads forelock.json and every file it names into a checked, immutable model, or
// says everything that is wrong with them at once.
//
// Not thread safe: while config_load runs it sets the process's time zone, and puts it back.
#pragma once

#include "model/model.h"

#include <stdio.h>

// One thing that is wrong, or worth a look, and where.
struct config_entry {
    bool warning;
    unsigned order;        // of the file, by when it was named
    unsigned line, column; // from 1; a column counts bytes
    char *file;            // as reached from the path given to config_load
    char *pointer;         // RFC 6901: of the offending value; of the object where a key is
                           // missing; of the reference where a file is
    char *text;            // what is wrong and what would be right
};

// Zero-initialize it, end it with config_report_free.
struct config_report {
    int64_t now_ms;               // the instant (Unix ms) that "today" means; 0: the system's clock
    struct config_entry *entries; // in the order of files, lines and columns
    size_t count, capacity;
    size_t error_count, warning_count;
    struct config_entry journal; // where the journal is named, without a text
};

// Reads and checks all of it, never stopping at the first error. NULL if there is any error (also
// if memory ran out, which is one). The model belongs to the caller (model_free).
struct model *config_load(const char *path, struct config_report *report);

// The same of the first file and the people it names alone, whatever stands in the others: a model
// that has nothing but people, of whom ids, titles, roles and tokens are good (sites and the ends
// of credentials are not worked out). It leaves the time zone alone, so threads may run meanwhile,
// and its cost does not grow with the sites.
struct model *config_load_people(const char *path, struct config_report *report);

// Adds what is wrong with the journal that the configuration names, or worth a look, at the place
// where it names it. It counts whether or not there is memory to write it down.
void config_report_journal(struct config_report *report, bool warning, const char *text);

// Prints one line an entry, `file:line:column: /json/pointer: text`; a warning's text begins with
// "warning: ".
void config_report_print(const struct config_report *report, FILE *out);
void config_report_free(struct config_report *report);
