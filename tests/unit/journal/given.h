// What the journal's tests begin with: a folder of their own, and a journal in it.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "journal/journal.h"

#define COUNT(array) (sizeof(array) / sizeof *(array))

struct given {
    char folder[64];
    char path[160]; // of the journal
    struct journal *journal;
    struct journal_error error; // of the last opening
};

// For cmocka: *state is a struct given with an empty folder; all of it is removed after the test.
int given_setup(void **state);
int given_teardown(void **state);

// Opens the journal of "edge-1"; NULL if it is refused.
struct journal *given_try(struct given *given, enum journal_mode mode, enum journal_check check);
// The same, and it must succeed.
void given_open(struct given *given);
void given_close(struct given *given);
// The i-th of a series of facts, all different. Its texts are good until the next call.
struct journal_fact given_fact(int i);
// Commits facts first..last of the series in one transaction.
void given_commit(struct given *given, int first, int last);
// A closed journal with facts 1..count.
void given_facts(struct given *given, int count);
int64_t given_last(struct given *given);
// Closes the journal and runs SQL on the file as another hand would: with the triggers taken away
// before, and put back after.
void given_tamper(struct given *given, const char *sql);
// One number by SQL, from outside.
int64_t given_ask(struct given *given, const char *sql);
// SQL from outside that the file itself must refuse.
void given_refused(struct given *given, const char *sql);
