// The pages' files (HTML, style, scripts, drawings), built into the program: nothing is read from
// disk at run time, so that a page fits the daemon that serves it.
#pragma once

#include <stddef.h>

struct page_file {
    const char *name; // base name, e.g. "at.js"; unique over all folders
    const char *type; // for Content-Type
    const char *data; // followed by a NUL that length does not count
    size_t length;    // in bytes
    const char *etag; // strong, with its quotes
};

// The file of that base name, NULL if there is none. What is returned lives as long as the program.
const struct page_file *page_find(const char *name);
