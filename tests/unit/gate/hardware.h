// The forecourt of world.h with hardware that measures.
#pragma once

#include "world.h"
#include "world_journal.h"

enum measure { M_PSI, M_VOLTS, M_PSI_B, MEASURES };

// `drained` is answered by line pressure (psi, at most 2), `no-voltage` by the current that flows
// (A, at most 1): a measure answers no check in V.
struct hardware {
    struct world_copy copy;
    struct model_measure measures[MEASURES];
    struct world *world;
};

// The one forecourt, laid out and come up anew.
struct hardware *hardware_new(void);
// The two halves of that, where a test changes the layout between them.
void hardware_lay_out(struct hardware *h);
void hardware_come_up(struct hardware *h);
// A check of the procedure, to be changed before it comes up.
struct model_check *hardware_check(struct hardware *h, const char *id);

// A measure says a value, now and without a time of its own.
enum gate_heard hardware_hear(struct hardware *h, enum measure measure, double value);
// Says the same each second, while every sensor says its last word.
void hardware_steady(struct hardware *h, enum measure measure, double value, int64_t ms);

// The signature of a check of j-1, NULL where there is none; and whether it passed and stands.
const struct gate_signature *hardware_signed(struct hardware *h, const char *check);
bool hardware_passed(struct hardware *h, const char *check);

// Brings j-1 to working, its checks answered by the measures.
void hardware_to_working(struct hardware *h);
