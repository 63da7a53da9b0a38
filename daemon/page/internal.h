// Between the table that the build writes and the code that looks into it.
#pragma once

#include "page/page.h"

// Sorted by name, as strcmp does.
extern const struct page_file page_files[];
extern const size_t page_file_count;
