// Signatures that age: told before they lapse, so that who is there renews them in time.
#include "gate/emit.h"
#include "gate/gate.h"
#include "gate/notice.h"
#include "gate/review.h"

#define AGEING_MOST_MS (30 * 60 * 1000LL)

// Rule (3, Words; R25): That a check or a word is ageing is told when a fifth of its time is left,
// and at most 30 min before. [ageing-half-way, ageing-hours-before]
int64_t gate_ageing_left(int64_t valid_ms) {
    int64_t left = valid_ms / 5 < AGEING_MOST_MS ? valid_ms / 5 : AGEING_MOST_MS;
    return left;
}

static int64_t ageing_at(const struct gate_signature *signature, int64_t valid_ms) {
    return signature->at.mono + valid_ms - gate_ageing_left(valid_ms);
}

static void tell(struct gate *gate, struct gate_site *site, struct gate_job *job,
                 const struct gate_signature *signature, struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_CHECK_AGEING, now);
    fact.check = signature->check;
    fact.person = signature->by[0] != '\0' ? signature->by : NULL;
    fact.until = gate_signature_until(job, signature);
    gate_emit(gate, &fact);
}

// Rule (3, Words; R25): A signature that stands is told of once. [ageing-again-and-again]
// Rule (3, Words; R25): Of one that failed nothing is told. [ageing-of-failed]
// Rule (3, Words; R25): The moment at which a check ages is waited for. [ageing-not-due]
// Rule (5, Breaking): The moment at which a signature lapses is waited for. [lapse-not-due]
static void review_signature(struct gate *gate, struct gate_site *site, struct gate_job *job,
                             const struct model_check *check, struct gate_time now, int64_t *next) {
    const struct gate_signature *signature = gate_signature_of(job, check->check);
    if (check->valid_ms == 0 || signature == NULL || gate_signature_void(job, signature, now)) {
        return;
    }
    int64_t at = ageing_at(signature, check->valid_ms);
    gate_lower(next, at, now);
    gate_lower(next, signature->at.mono + check->valid_ms + 1, now);
    if (at <= now.mono && signature->pass && !signature->warned) {
        tell(gate, site, job, signature, now);
    }
}

// Rule (2, notice_h): The moment from which a test may be recorded is waited for. [notice-not-due]
// Rule (4, What voids): The moment at which a test's record lapses is waited for.
// [test-lapse-not-due]
void gate_review_ages(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      struct gate_time now, int64_t *next) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        review_signature(gate, site, job, &job->needs->checks[i], now, next);
    }
    for (size_t i = 0; i < job->test_count; i++) {
        const struct gate_test_record *record = &job->tests[i];
        int64_t valid_ms = record->void_ ? 0 : gate_test_valid_ms(site, job, record->test);
        if (valid_ms > 0) {
            gate_lower(next, record->at.mono + valid_ms + 1, now);
        }
    }
    for (size_t i = 0; i < job->needs->test_count; i++) {
        int64_t from = gate_notice_from(job, &job->needs->tests[i], now);
        if (from != 0 && from != INT64_MAX) {
            gate_lower(next, from, now);
        }
    }
}
