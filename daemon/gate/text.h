// Small helpers on text.
#pragma once

#include <stdbool.h>
#include <stddef.h>

#include "model/model.h"

// snprintf that never ends inside a UTF-8 sequence.
void gate_text(char *buffer, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// Cuts an unfinished UTF-8 sequence off the end of a text that was truncated.
void gate_text_whole(char *text, size_t length);
void gate_id_copy(char buffer[MODEL_ID_SIZE], const char *id); // NULL copies ""
// A number that tells two texts apart; 0: NULL.
uint64_t gate_text_mark(const char *text);
bool gate_same(const char *a, const char *b);
bool gate_blank(const char *text); // says nothing: NULL, or nothing to be seen
