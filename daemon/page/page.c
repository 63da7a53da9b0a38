// Looks up an embedded file. The table is written by embed.cmake, sorted by name.
#include "page/page.h"

#include "page/internal.h"

#include <stdlib.h>
#include <string.h>

static int compare(const void *name, const void *file) {
    return strcmp(name, ((const struct page_file *)file)->name);
}

const struct page_file *page_find(const char *name) {
    return bsearch(name, page_files, page_file_count, sizeof page_files[0], compare);
}
