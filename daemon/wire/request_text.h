// What the contract asks of texts: counted in characters, not blank, an id.
#pragma once

#include <stdbool.h>
#include <stddef.h>

// Characters (Unicode code points) of a UTF-8 text.
size_t wire_request_characters(const char *text);
// Whether something in a text was no text, or none that is printed: U+FFFD stands for it.
bool wire_request_garbled(const char *text);
// Whether a text is the id of a test: an id, or two that a point joins ("<procedure>.<test>").
bool wire_request_test_id(const char *text);
// Cuts a text to at most so many bytes, and an unfinished character off its end.
void wire_request_cut(char *text, size_t bytes);
// Cuts a text to at most so many characters.
void wire_request_cut_characters(char *text, size_t characters);
