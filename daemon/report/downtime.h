// How long positions were out of service: intervals made of the journal's facts. Pure.
#pragma once

#include "gate/fact/list.h"
#include "model/model.h"
#include "model/words.h"
#include "report/source.h"
#include "json/json.h"

struct report_interval {
    uint32_t position; // index
    int64_t from, to;  // Unix ms, cut to the period; to is at most its end
    bool ongoing;      // it was not back at the period's end
    enum model_cause cause;
    char job[MODEL_ID_SIZE]; // its own job's, or that which held it out; ""
};

// Out or in, as of the facts so far.
struct report_standing {
    bool in;
    int64_t since;
    int64_t opened; // when the job that stands there was opened; 0: none does
    enum model_cause cause;
    char job[MODEL_ID_SIZE];
};

// Jobs that ended in a return within the period: from their opening to it.
struct report_repairs {
    size_t count;
    int64_t total, longest; // ms
};

// Set site, from and to; report_downtime_begin does the rest. End with report_downtime_free.
struct report_downtime {
    const struct model_site *site;
    int64_t from, to; // Unix ms
    struct report_standing *standings;
    struct report_interval *intervals;
    size_t count, capacity;
    struct report_repairs repairs;
    struct json_tape tape;
    bool failed;   // no memory, or a fact that cannot be read
    bool too_many; // failed since there are more than REPORT_INTERVALS_MOST intervals
};

#define REPORT_INTERVALS_MOST 100000

// Every position is out (cause unknown) since the journal was made, as at a first start. False: no
// memory.
bool report_downtime_begin(struct report_downtime *downtime, int64_t created);
// A fact of the site, in order. False: nothing more is needed (it is of after the period), or it
// failed.
bool report_downtime_take(struct report_downtime *downtime, const struct report_row *row);
// Closes what is still out, and puts the intervals in the order of positions and time.
void report_downtime_end(struct report_downtime *downtime);
void report_downtime_free(struct report_downtime *downtime);
// All of these but the last, over a source. False: it cannot be read, or failed.
bool report_downtime_read(struct report_downtime *downtime, const struct report_source *source);

// {"site","from","to","positions":[{"position","out_s","intervals":[{"from","to","ongoing",
// "seconds","cause","job"}]}],"out_s","by_cause":{…},"repairs":{"count","mean_s","longest_s"}}
void report_downtime_json(const struct report_downtime *downtime, struct json_out *out);
// position,from,to,seconds,ongoing,cause,job with a head, lines ended as RFC 4180 has it.
void report_downtime_csv(const struct report_downtime *downtime, struct json_out *out);

// The cause that a fact of a position gives, read to tape.
enum model_cause report_downtime_cause(const struct json_tape *tape);
// Writes a line of CSV as it is.
void report_csv_line(struct json_out *out, const char *text);
