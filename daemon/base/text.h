// Texts of people.
#pragma once

#include <stdbool.h>

// Whether a text, which is UTF-8, has nothing to be seen in it: control characters, blanks of any
// width and what has none.
bool base_text_blank(const char *text);
