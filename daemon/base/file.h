// Small files, read whole.
#pragma once

#include <stddef.h>

// The whole of a regular file of at most `max` bytes, with a NUL behind it that is not counted in
// *length; `length` may be NULL. Never waits: opening a FIFO is refused, not awaited. The caller
// frees the text, and wipes it first where it is a secret.
//
// NULL: *why says why as a clause to stand behind the file's name, "it is too large" or the
// system's words; it needs no freeing and holds until the next call of strerror.
char *base_file_read(const char *path, size_t max, size_t *length, const char **why);
