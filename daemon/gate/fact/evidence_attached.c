// evidence.attached: a picture, a print or a file that lies elsewhere is named.
#include <string.h>

#include "base/array.h"
#include "gate/fact/effect.h"
#include "gate/text.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_day *day = &to->job->day;
    if (!BASE_ARRAY_ROOM(day->attachments, day->attachment_count, day->attachment_capacity)) {
        return false;
    }
    struct gate_attachment *made = &day->attachments[day->attachment_count];
    memset(made, 0, sizeof *made);
    gate_id_copy(made->check, fact->check);
    gate_id_copy(made->alarm, fact->alarm);
    gate_text(made->test, sizeof made->test, "%s", fact->test != NULL ? fact->test : "");
    gate_text(made->sha256, sizeof made->sha256, "%s", fact->sha256);
    gate_id_copy(made->by, fact->by);
    made->at = fact->at;
    made->url = strdup(fact->url);
    made->title = strdup(fact->title);
    day->attachment_count++; // whose memory is ended with the job's
    return made->url != NULL && made->title != NULL;
}

const struct gate_fact_row gate_fact_evidence_attached = {
    .name = "evidence.attached",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(check) | GATE_HAS(test) | GATE_HAS(alarm) | GATE_HAS(url) |
               GATE_HAS(sha256) | GATE_HAS(title),
    .needs = GATE_HAS(job) | GATE_HAS(url) | GATE_HAS(sha256) | GATE_HAS(title),
    .apply = apply,
    .sentence = "{by} attached {title} to job {job}[, check {check}][, test {test}]"
                "[, alarm {alarm}]: {url} (SHA-256 {sha256})",
};
