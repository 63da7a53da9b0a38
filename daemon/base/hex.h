// Bytes as hex digits and back. Pure.
#pragma once

#include <stdbool.h>
#include <stddef.h>

// What `length` bytes need as text, the final NUL included; a constant expression if length is one.
#define BASE_HEX_SIZE(length) (2 * (length) + 1)

// Writes BASE_HEX_SIZE(length) characters: two lower-case digits a byte, and a NUL.
void base_hex_encode(const void *bytes, size_t length, char *text);

// Reads exactly 2 * length digits of either case into `length` bytes; what follows is not looked
// at. False: one of them is no digit (a NUL is none); the bytes then hold what was read so far.
bool base_hex_decode(const char *text, void *bytes, size_t length);

// The value of one digit of either case, or -1.
int base_hex_digit(char digit);
