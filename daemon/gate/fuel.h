// Fuel that was drawn for a job, and where it went: added up, and held against what a meter may err
// by.
#pragma once

#include "gate/gate.h"

// The ledger of a product; NULL: nothing is told of it.
struct gate_fuel *gate_fuel_find(const struct gate_job *job, const char *product);
// The first product that is configured at the dispenser of a position; NULL: none is.
const char *gate_fuel_product(const struct gate_site *site, uint32_t position);
// Whether a product is one of the dispenser's; any is where none is configured.
bool gate_fuel_sold(const struct gate_site *site, uint32_t position, const char *product);
// A ledger with what a fact tells added; one that is new takes the fact's unit.
void gate_fuel_add(struct gate_fuel *ledger, const struct gate_fact *fact);
// What it comes to.
struct gate_fuel_sum gate_fuel_sum(const struct gate_fuel *ledger);
// What each ledger of a job comes to, in their order, for the caller to free. NULL: out of memory.
struct gate_fuel_of *gate_fuel_sums(const struct gate_job *job);
// Puts to the list that each product is accounted for.
void gate_require_fuel(const struct gate_job *job, struct gate_list *list);
