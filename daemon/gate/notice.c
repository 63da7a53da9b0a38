// Tests that are announced; see notice.h.
#include "gate/notice.h"

#include <string.h>

#include "base/time_text.h"
#include "gate/lockout.h"
#include "gate/refusal_list.h"
#include "gate/require.h"

// Since when a check has stood without a gap: signed anew while it stands, it is no younger. 0: it
// does not stand.
// Rule (2, notice_h): A notice that is signed anew before it lapses is no younger for it.
// [notice-renewed-is-young]
// Rule (2, notice_h): A notice that was void or lapsed meanwhile is given anew. [notice-over-a-gap]
static int64_t stands_since(const struct gate_job *job, const struct model_check *check) {
    int64_t since = 0, last = 0;
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *signature = &job->signatures[i];
        if (strcmp(signature->check, check->check) != 0) {
            continue;
        }
        bool stands = signature->pass && !signature->void_;
        bool gap = since == 0 || signature->at.mono - last > check->valid_ms;
        since = !stands ? 0 : gap ? signature->at.mono : since;
        last = signature->at.mono;
    }
    return since;
}

// Rule (2, notice_h): A notice that does not stand opens nothing, however long ago it was given.
// [void-notice-counts]
int64_t gate_notice_from(const struct gate_job *job, const struct model_test *test,
                         struct gate_time now) {
    if (test->notice_ms == 0) {
        return 0;
    }
    const struct model_check *check = gate_check_of(job, test->notice);
    if (check == NULL || !gate_check_holds(job, check, now)) {
        return INT64_MAX;
    }
    return stands_since(job, check) + test->notice_ms;
}

bool gate_notice_waits(const struct gate_job *job, const struct model_test *test,
                       struct gate_time now) {
    int64_t from = gate_notice_from(job, test, now);
    return from != INT64_MAX && from > now.mono;
}

void gate_notice_until(const struct gate_job *job, const struct model_test *test,
                       struct gate_time now, char text[GATE_NOTICE_TEXT]) {
    _Static_assert(GATE_NOTICE_TEXT == BASE_TIME_SIZE, "room for an instant");
    base_time_format(now.wall + gate_notice_from(job, test, now) - now.mono, text);
}

// Rule (2, notice_h): A test that is to be announced is refused until its notice is signed.
// [test-unannounced]
// Rule (2, notice_h): A test whose notice this job does not ask for is refused.
// [test-announced-by-nobody]
// Rule (2, notice_h): It is refused until so many hours after it. [test-too-early]
void gate_require_notice(const struct gate_job *job, const struct model_test *test,
                         struct gate_time now, struct gate_list *list) {
    if (test->notice_ms == 0) {
        return;
    }
    const struct model_check *check = gate_check_of(job, test->notice);
    if (check == NULL) {
        gate_list_put(list, false, GATE_SAY_NOTICE_UNASKED, test->notice,
                      GATE_ARGS(.check = test->notice, .test = test->test));
    } else if (!gate_notice_waits(job, test, now)) {
        gate_require_check(job, check, now, list);
    } else {
        char until[GATE_NOTICE_TEXT];
        gate_notice_until(job, test, now, until);
        gate_list_put(list, false, GATE_SAY_WINDOW_NOTICE, test->test,
                      GATE_ARGS(.test = test->test, .check = check->check, .title = check->ask,
                                .until = until));
    }
}
