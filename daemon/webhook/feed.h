// What of the journal is an endpoint's, and what is sent of it.
#pragma once

#include "journal/journal.h"
#include "model/model.h"
#include "webhook/delivery.h"
#include "json/json.h"

// "<instance>:<site>:<number of the fact>": the same however often it is sent.
#define WEBHOOK_ID_SIZE (2 * MODEL_ID_SIZE + 24)

// Whether a fact is an event that the endpoint is to have: published, of its sites, of its types.
bool webhook_wants(const struct model_webhook *hook, const struct journal_row *row);
// The job that a fact is of; "": none. False: no memory.
bool webhook_job_of(struct json_tape *tape, const struct journal_row *row, char job[MODEL_ID_SIZE]);
// The event's text (CloudEvents, as on the broker) and its id. False: no memory.
bool webhook_body(struct json_out *out, const struct journal_row *row);
void webhook_id(const char *instance, const struct journal_row *row, char id[WEBHOOK_ID_SIZE]);

struct webhook_backlog {
    uint64_t count;    // events that have not been taken
    int64_t oldest_ms; // when the oldest of them happened, Unix ms; 0: none
};
// Counts what waits for an endpoint: reads the journal from the first event that was not taken.
enum journal_status webhook_backlog(struct journal *journal, const struct model_webhook *hook,
                                    const struct webhook_delivery *delivery,
                                    struct webhook_backlog *backlog);

// The delivery state as the journal has it. NONE: it was never written.
enum journal_status webhook_delivery_load(struct journal *journal, const char *webhook,
                                          struct webhook_delivery *delivery);
// Writes it, in the journal's open transaction.
enum journal_status webhook_delivery_keep(struct journal *journal, const char *webhook,
                                          const struct webhook_delivery *delivery);

// The file by which an operator asks the daemon to try again at once: its being there is the whole
// message, and who may make it in the journal's folder may read and write the journal as well. To
// be freed; NULL: no memory.
char *webhook_retry_path(const struct model *model, const char *webhook);
