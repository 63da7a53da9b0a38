// A fact as a sentence, for people who read what happened: its row's template, filled.
#pragma once

#include "gate/fact.h"

// What happened, by whom, as one sentence without its end, into a buffer of `size` bytes; it is
// ended there even where it was cut. What the sentence cannot do without and the fact lacks is
// "(not known)". Returns the length of the whole sentence, as snprintf does.
size_t gate_fact_sentence(const struct gate_fact *fact, char *buffer, size_t size);
