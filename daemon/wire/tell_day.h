// The day around a repair, as a job's document and its record tell it.
#pragma once

#include "gate/state.h"
#include "json/json.h"

// The members of a job's document that are of the day around it: `expected`, and, each where there
// is something of it, `fuel`, `fitted`, `shift_note` and `attachments`. An object is open.
void wire_day(struct json_out *out, const struct gate_job *job);
// What hangs at a position, and what was fitted there too often; nothing where nothing is known. An
// object is open.
void wire_hangs(struct json_out *out, const struct gate_position *position);
