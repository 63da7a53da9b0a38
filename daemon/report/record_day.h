// The day around a repair, in its record: what was told beside the gates.
#pragma once

#include "report/record.h"
#include "json/json.h"

// The members that the job's document has of it, and `day`: each fact with who, when and its
// sentence. An object is open.
void report_json_day(struct json_out *out, const struct report_record *record);
// The same facts as lines; nothing where there are none.
void report_put_day(FILE *out, const struct report_record *record);
