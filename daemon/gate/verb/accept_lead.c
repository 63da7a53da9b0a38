// accept-lead: who was offered the lead takes it (29 CFR 1910.147(f)(4)).
#include <string.h>

#include "gate/credential.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/text.h"
#include "gate/verb/case.h"

// Whether the person signed the check, within limits, since joining, and it still stands.
// Rule (4, accept-lead): The verify checks of who takes the lead were signed since joining.
// [accept-by-old-verify]
// Rule (4, accept-lead): The verify checks of who takes the lead were signed by that person.
// [accept-by-others-verify]
// Rule (4, accept-lead; 4, What voids): What has lapsed since is no verify of who takes the lead.
// [accept-by-lapsed-verify]
static bool signed_since_joining(const struct gate_case *c, const char *check) {
    const struct gate_member *member = gate_member_of(c->job, c->person->person);
    for (size_t i = 0; member != NULL && i < c->job->signature_count; i++) {
        const struct gate_signature *signature = &c->job->signatures[i];
        if (strcmp(signature->check, check) == 0 && signature->pass &&
            !gate_signature_void(c->job, signature, c->now) &&
            strcmp(signature->by, c->person->person) == 0 &&
            signature->order > member->joined_order) {
            return true;
        }
    }
    return false;
}

static void require_own_verify(struct gate_case *c) {
    for (size_t i = 0; i < c->job->needs->check_count; i++) {
        const struct model_check *check = &c->job->needs->checks[i];
        if (check->group == MODEL_GROUP_VERIFY) {
            gate_list_put(
                &c->list, signed_since_joining(c, check->check), GATE_SAY_CHECK_OWN_VERIFY,
                check->check,
                GATE_ARGS(.person = c->person->person, .check = check->check, .title = check->ask));
        }
    }
}

static void require(struct gate_case *c) {
    const char *asker = c->person->person;
    bool offered = gate_offer_stands(c->job, c->now) && strcmp(c->job->offered, asker) == 0;
    gate_list_put(&c->list, offered, GATE_SAY_NOT_OFFERED, c->job->job,
                  GATE_ARGS(.person = asker, .job = c->job->job));
    gate_require_credentials(c->site, c->job->needs, c->person, asker, c->now, &c->list);
    bool working = c->job->phase == MODEL_PHASE_WORKING;
    for (size_t i = 0; i < c->job->required_count; i++) {
        uint32_t point = c->job->required[i];
        if (working || gate_tag_find(c->site, point, c->job->job, c->job->leader) != NULL) {
            gate_require_tag(c->site, c->job, point, asker, &c->list);
        }
    }
    if (working) {
        require_own_verify(c);
    }
    gate_require_uncontested(c->site, &c->list);
}

// Rule (4, accept-lead): The lead is accepted by whom it was offered to. [accept-of-anybodys-offer]
// Rule (4, accept-lead): Who takes the lead holds the credentials. [accept-without-credentials]
// Rule (4, accept-lead; 29 CFR 1910.147(f)(4) [P]): Who takes the lead has a counting tag wherever
// the leader has one. [accept-without-tags]
// Rule (4, accept-lead; 29 CFR 1910.147(f)(4) [P]): Who takes the lead while working has signed
// every verify check. [accept-without-verify]
// Rule (3): No lead is accepted at a contested site. [accept-contested]
static void decide(struct gate_case *c) {
    if (!gate_case_clear(c)) {
        return;
    }
    char from[MODEL_ID_SIZE];
    gate_id_copy(from, c->job->leader);
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_HANDED_OVER, c->now);
    fact.person = from;
    fact.to = c->person->person;
    fact.note = c->job->day.shift.note;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_accept_lead = {
    .name = "accept-lead",
    .about = "Takes the lead that was offered, and signs the note that came with it.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_VERB,
    .asker = "whom it was offered to",
    .of_job = true,
    .permits = true,
    .present = true,
    .require = require,
    .decide = decide,
};
