// A configuration on disk for one test: the good tree, copied to a folder of its own that becomes
// the working directory, so that reports name files as people would.
#pragma once

#include <stddef.h>

struct tree {
    char folder[64];
};

// Copies the good tree. Ends the test program where it cannot.
void tree_make(struct tree *tree);
// Removes it, and goes back to the root directory.
void tree_remove(struct tree *tree);
// Writes a file of the tree, with its folder.
void tree_write(const char *file, const char *text);
// Replaces the first occurrence of a text, which must exist.
void tree_edit(const char *file, const char *from, const char *to);
// The text of a file. Owned by the caller.
char *tree_read(const char *file);
