// Instants as text: RFC 3339 in, RFC 3339 in UTC with milliseconds out.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

// "2026-03-31T23:59:59.999Z" and its NUL.
#define BASE_TIME_SIZE 25

// Reads a whole RFC 3339 date-time, with any offset and fraction, into Unix ms (what is finer is
// cut off). A leap second is the second behind it. False: it is not one, or there is no such day or
// time of day; unix_ms is then untouched.
bool base_time_parse(const char *text, size_t length, int64_t *unix_ms);
// Writes an instant (Unix ms) in UTC with milliseconds. What lies outside the years 0000 to 9999,
// which the format cannot say, is written as the nearest instant that it can.
void base_time_format(int64_t unix_ms, char buffer[BASE_TIME_SIZE]);
