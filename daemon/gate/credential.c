// Credentials, and who of a crew is a helper: both are judged as of today, nothing of it is kept.
#include "gate/credential.h"

#include <string.h>

#include "gate/find.h"
#include "gate/refusal_list.h"

// Whether one of the credentials is held today; else what is said, and until when the last of them
// that was held was good.
// Rule (5, Start): A credential counts to its last valid day. [credential-expired-counts]
// Rule (4, codes): A credential that has lapsed is credential-expired. [code-expired-swapped]
// Rule (4, the answer; R34): args give the last day of a credential. [arg-until]
static bool holds_one(const struct gate_site *site, const struct model_credential_choice *choice,
                      const struct model_person *person, struct gate_time now,
                      enum gate_say *sentence, const char **until) {
    *sentence = GATE_SAY_CREDENTIAL_MISSING;
    *until = NULL;
    for (size_t i = 0; person != NULL && i < choice->count; i++) {
        for (size_t c = 0; c < person->credential_count; c++) {
            const struct model_credential *credential = &person->credentials[c];
            if (strcmp(credential->credential, choice->any[i]) != 0) {
                continue;
            }
            if (model_until_valid(&credential->until, site->model, now.wall)) {
                *sentence = GATE_SAY_CREDENTIAL_MISSING;
                *until = NULL;
                return true;
            }
            *sentence = GATE_SAY_CREDENTIAL_EXPIRED;
            if (*until == NULL || strcmp(credential->until.day, *until) > 0) {
                *until = credential->until.day;
            }
        }
    }
    return false;
}

// Rule (4, the answer; R34): args list the credentials, one of which is asked for. [arg-any]
void gate_require_credentials(const struct gate_site *site, const struct model_requirements *needs,
                              const struct model_person *person, const char *id,
                              struct gate_time now, struct gate_list *list) {
    for (size_t i = 0; i < needs->credential_count; i++) {
        const struct model_credential_choice *choice = &needs->credentials[i];
        enum gate_say sentence;
        const char *until;
        bool met = holds_one(site, choice, person, now, &sentence, &until);
        gate_list_put(list, met, sentence, id,
                      GATE_ARGS(.person = id, .until = until, .any = choice->any,
                                .any_count = choice->count));
    }
}

bool gate_holds_one(const struct gate_site *site, const struct model_credential_choice *choice,
                    const struct model_person *person, struct gate_time now) {
    enum gate_say sentence;
    const char *until;
    return holds_one(site, choice, person, now, &sentence, &until);
}

bool gate_holds_credentials(const struct gate *gate, const struct gate_site *site,
                            const struct gate_job *job, const char *person, struct gate_time now) {
    const struct model_person *known = model_person_find(gate->model, person);
    for (size_t i = 0; i < job->needs->credential_count; i++) {
        if (!gate_holds_one(site, &job->needs->credentials[i], known, now)) {
            return false;
        }
    }
    return true;
}

// Rule (1, helper; R28): Who leads is no helper, whatever they hold. [helper-leads]
// Rule (1, helper; R28): One of the crew who lacks a credential today is a helper.
// [helper-unseen]
bool gate_is_helper(const struct gate *gate, const struct gate_site *site,
                    const struct gate_job *job, const char *person, struct gate_time now) {
    return gate_member_of(job, person) != NULL && !gate_leads(job, person) &&
           !gate_holds_credentials(gate, site, job, person, now);
}

int64_t gate_credential_ends(const struct gate *gate, const struct gate_site *site,
                             const char *person, struct gate_time now) {
    const struct model_person *known = model_person_find(gate->model, person);
    int64_t next = INT64_MAX;
    for (size_t i = 0; known != NULL && i < known->credential_count; i++) {
        const struct model_until *until = &known->credentials[i].until;
        if (!until->set || until->end_ms[site->model->zone] <= now.wall ||
            until->end_ms[site->model->zone] == INT64_MAX) {
            continue;
        }
        int64_t at = now.mono + (until->end_ms[site->model->zone] - now.wall);
        next = at < next ? at : next;
    }
    return next;
}
