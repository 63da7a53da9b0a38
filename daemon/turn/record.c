// The gate's facts, as they happen: into the batch, and breaks noted to be published at once.
#include "turn/internal.h"

#include "wire/fact_codec.h"

// The position as the model has it, which outlives the fact.
static const char *lasting_subject(const struct turn *turn, const struct gate_fact *fact) {
    const char *subject = wire_fact_subject(fact, turn->model);
    if (subject == NULL || fact->site == MODEL_NONE) {
        return NULL;
    }
    const struct model_site *site = &turn->model->sites[fact->site];
    uint32_t position = model_position_find(site, subject);
    return position != MODEL_NONE ? site->positions[position].position : NULL;
}

// Rule (3, what is published): A lockout that broke is noted to be published at once.
// [turn-break-not-noted]
// Rule (4, stop-work; R3): A called stop is told before the disk, as a break is.
// [turn-stop-not-noted]
// Rule (5, last paragraph; R12): So is work that stops without a break: a lock was removed, or is
// vouched for no longer. [turn-stopped-work-not-noted]
// Rule (4, the answer; 5, last paragraph): Last-heard times go into the commit of what begins to
// rest on them. [turn-heard-times-not-due]
void turn_record_fact(void *user, const struct gate_fact *fact) {
    struct turn *turn = user;
    const struct turn_record record = {.site = fact->site,
                                       .type = fact->type,
                                       .at = fact->at,
                                       .subject = lasting_subject(turn, fact)};
    json_out_reset(&turn->event);
    if (!wire_fact_encode(fact, turn->model, &turn->event) ||
        !turn_batch_record(&turn->batch, &record, &turn->event)) {
        turn->failed = true;
        return;
    }
    // What a restart will judge the gap by is written with what begins to rest on it.
    turn->heard_due |= fact->type == GATE_FACT_HOLD_BEGUN ||
                       fact->type == GATE_FACT_LOCKOUT_CONFIRMED ||
                       fact->type == GATE_FACT_WORK_STARTED;
    if (fact->type == GATE_FACT_LOCKOUT_BROKEN || fact->type == GATE_FACT_STOP_CALLED ||
        (fact->type == GATE_FACT_WORK_STOPPED && fact->has_why)) {
        turn->failed |= !turn_note_break(turn, fact);
    }
}
