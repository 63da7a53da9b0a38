// lead.offered and job.handed-over: the lead is offered to one of the crew, who takes it.
#include <stdlib.h>
#include <string.h>

#include "gate/cause.h"
#include "gate/fact/effect.h"
#include "gate/text.h"

// Rule (4, hand-over): A shift note goes with its offer: a new offer has its own, or none.
// [shift-note-of-an-older-offer]
static bool apply_offered(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_shift_note *shift = &to->job->day.shift;
    free(shift->note);
    memset(shift, 0, sizeof *shift);
    if (fact->note != NULL && (shift->note = strdup(fact->note)) == NULL) {
        return false;
    }
    gate_id_copy(shift->by, fact->by);
    gate_id_copy(shift->to, fact->to);
    shift->at = fact->at;
    gate_id_copy(to->job->offered, fact->to);
    to->job->offered_at = fact->at;
    return true;
}

// Rule (3, alarms; R17): A lock that was missing is there again with another leader's.
// [tag-missing-of-who-led]
// Rule (4, hand-over): Who takes the lead signs the shift note. [shift-note-unsigned]
static bool apply_handed_over(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_shift_note *shift = &to->job->day.shift;
    if (shift->note != NULL && gate_same(shift->to, fact->to)) {
        gate_id_copy(shift->signed_by, fact->to);
        shift->signed_at = fact->at;
    }
    gate_id_copy(to->job->leader, fact->to);
    to->job->offered[0] = '\0';
    gate_causes_end(to->site, fact->at);
    return true;
}

const struct gate_fact_row gate_fact_lead_offered = {
    .name = "lead.offered",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(to) | GATE_HAS(note),
    .needs = GATE_HAS(job) | GATE_HAS(to),
    .apply = apply_offered,
    .sentence = "{by} offered the lead of job {job} to {to}[, for the next shift: {note}]",
};

const struct gate_fact_row gate_fact_job_handed_over = {
    .name = "job.handed-over",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person) | GATE_HAS(to) | GATE_HAS(note),
    .needs = GATE_HAS(job) | GATE_HAS(to),
    .apply = apply_handed_over,
    .sentence = "{to} took the lead of job {job}[ over from {person}][ and signed: {note}]",
};
