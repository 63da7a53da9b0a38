// Whether the configuration still has what stands.
#include "gate/gate.h"
#include "gate/text.h"

static bool job_fits(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, char *what, size_t size) {
    if (job->leader[0] != '\0' && model_person_find(gate->model, job->leader) == NULL) {
        gate_text(what, size, "job %s at %s is led by %s, who is not in the people file", job->job,
                  site->model->site, job->leader);
        return false;
    }
    return true;
}

static bool tags_fit(const struct gate *gate, const struct gate_site *site, uint32_t point,
                     char *what, size_t size) {
    for (size_t i = 0; i < site->points[point].tag_count; i++) {
        const struct gate_tag *tag = &site->points[point].tags[i];
        if (tag->person[0] != '\0' && model_person_find(gate->model, tag->person) == NULL) {
            gate_text(
                what, size,
                "job %s at %s: a tag of %s hangs on %s, and the people file lacks that person",
                tag->job[0] != '\0' ? tag->job : "(none)", site->model->site, tag->person,
                site->model->points[point].point);
            return false;
        }
    }
    return true;
}

static bool site_fits(const struct gate *gate, const struct gate_site *site, char *what,
                      size_t size) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i]) && !job_fits(gate, site, site->jobs[i], what, size)) {
            return false;
        }
    }
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        if (!tags_fit(gate, site, p, what, size)) {
            return false;
        }
    }
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        const struct gate_position *position = &site->positions[p];
        if (position->owed != NULL &&
            model_procedure_find(gate->model, position->owed->procedure) == NULL) {
            gate_text(what, size,
                      "job %s at %s left tests of procedure %s owed on position %s, and no such "
                      "procedure is configured",
                      position->owed_by, site->model->site, position->owed->procedure,
                      site->model->positions[p].position);
            return false;
        }
    }
    return true;
}

// Rule (2): A configuration that lacks the leader of a standing job is refused.
// [fits-without-leader]
// Rule (2): A configuration that lacks the person of a hanging tag is refused.
// [fits-without-tags-person]
// Rule (2): A configuration that lacks a procedure whose tests are owed is refused.
// [fits-without-owed-procedure]
bool gate_fits(const struct gate *gate, char *what, size_t what_size) {
    if (gate->lacking_count > 0) {
        const struct gate_lacking *lacking = &gate->lacking[0];
        const char *job = lacking->job[0] != '\0' ? lacking->job : "(none)";
        if (lacking->who[0] != '\0') {
            gate_text(what, what_size,
                      "job %s at %s: a tag of %s hangs on %s, which is not configured", job,
                      lacking->site, lacking->who, lacking->what);
        } else {
            gate_text(what, what_size, "job %s at %s stands on %s, which is not configured", job,
                      lacking->site, lacking->what);
        }
        return false;
    }
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (!site_fits(gate, &gate->sites[s], what, what_size)) {
            return false;
        }
    }
    return true;
}
