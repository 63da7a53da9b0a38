// Credentials, and who of a crew is a helper.
#pragma once

#include "gate/gate.h"

// Whether a person holds every credential of the job today: one of each list. Somebody unknown
// holds none.
bool gate_holds_credentials(const struct gate *gate, const struct gate_site *site,
                            const struct gate_job *job, const char *person, struct gate_time now);
// Whether a person is one of the crew as a helper: does not lead, and lacks a credential today. A
// helper hangs locks and is protected by them, and signs no check, test or word of isolated.
bool gate_is_helper(const struct gate *gate, const struct gate_site *site,
                    const struct gate_job *job, const char *person, struct gate_time now);
// Whether a person (or NULL) holds one of a list of credentials today.
bool gate_holds_one(const struct gate_site *site, const struct model_credential_choice *choice,
                    const struct model_person *person, struct gate_time now);
// The mono ms at which the next of a person's credentials is over; INT64_MAX: none will be.
int64_t gate_credential_ends(const struct gate *gate, const struct gate_site *site,
                             const char *person, struct gate_time now);
// The same as requirements of a gate, one for each list of credentials.
void gate_require_credentials(const struct gate_site *site, const struct model_requirements *needs,
                              const struct model_person *person, const char *id,
                              struct gate_time now, struct gate_list *list);
