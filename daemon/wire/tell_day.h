// The day around a repair, as a job's document and its record tell it.
#pragma once

#include "gate/state.h"
#include "json/json.h"

// The members of a job's document that are of the day around it: `expected`, and, each where there
// is something of it, `fuel`, `shift_note` and `attachments`. An object is open.
void wire_day(struct json_out *out, const struct gate_job *job);
