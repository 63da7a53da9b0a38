// attach: evidence that lies elsewhere is named, with the hash by which it is known again.
#include <stdlib.h>
#include <string.h>

#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/text.h"
#include "gate/verb/case.h"

static void require_test(struct gate_case *c) {
    const char *id = c->request->test;
    const struct model_test *test = NULL;
    struct model_requirements *tests =
        gate_test_definition(c->gate, c->site->model->index, c->job->job, id, &test);
    gate_list_put(&c->list, test != NULL, GATE_SAY_UNKNOWN_TEST, id, GATE_ARGS(.test = id));
    free(tests);
}

// Rule (4, attach): Evidence is of a check, a test or an alarm that there is. [evidence-of-nothing]
static void require_about(struct gate_case *c) {
    const char *check = c->request->check, *alarm = c->request->alarm;
    if (check != NULL) {
        gate_list_put(&c->list, gate_check_of(c->job, check) != NULL, GATE_SAY_UNKNOWN_CHECK, check,
                      GATE_ARGS(.check = check));
    }
    if (c->request->test != NULL) {
        require_test(c);
    }
    if (alarm != NULL) {
        gate_list_put(&c->list, gate_alarm_find(c->site, alarm) != NULL, GATE_SAY_UNKNOWN_ALARM,
                      alarm, GATE_ARGS(.alarm = alarm));
    }
}

// Whether the very same is attached to the very same.
static bool is_attached(const struct gate_case *c) {
    const struct gate_request *request = c->request;
    const struct gate_day *day = &c->job->day;
    for (size_t i = 0; request->url != NULL && i < day->attachment_count; i++) {
        const struct gate_attachment *one = &day->attachments[i];
        if (strcmp(one->url, request->url) == 0 && strcmp(one->sha256, request->sha256) == 0 &&
            gate_same(one->check, request->check) && gate_same(one->test, request->test) &&
            gate_same(one->alarm, request->alarm)) {
            return true;
        }
    }
    return false;
}

// Rule (4, attach): At most 16 are attached to a job. [evidence-without-end]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    require_about(c);
    c->idle = is_attached(c);
    gate_list_put(&c->list, c->idle || c->job->day.attachment_count < GATE_ATTACHMENTS_MAX,
                  GATE_SAY_TOO_MANY_ATTACHED, c->job->job, GATE_ARGS(.job = c->job->job));
    if (!gate_case_clear(c) || c->idle) {
        return;
    }
    struct gate_fact fact = gate_case_fact(c, GATE_FACT_EVIDENCE_ATTACHED);
    fact.check = request->check;
    fact.test = request->test;
    fact.alarm = request->alarm;
    fact.url = request->url;
    fact.sha256 = request->sha256;
    fact.title = request->title;
    gate_emit(c->gate, &fact);
}

const struct gate_verb_row gate_verb_attach = {
    .name = "attach",
    .about = "Names evidence that lies elsewhere, of the job or of a check, a test or an alarm.",
    .fields = {GATE_MUST(job, ID), GATE_MAY(check, ID), GATE_MAY(test, TEST_ID),
               GATE_MAY(alarm, ID), GATE_MUST(url, LINK), GATE_MUST(sha256, SHA256),
               GATE_MUST(title, REASON)},
    .who = GATE_WHO_CREW,
    .roles = GATE_OVERSEERS,
    .of_job = true,
    .permits = true,
    .decide = decide,
};
