// Whether the configuration still has what stands.
#include "gate/gate.h"
#include "gate/text.h"

#define SENTENCE_SIZE 512

// Whom the misfits are told to, and how many there were.
struct misfits {
    void (*each)(void *user, const char *what);
    void *user;
    size_t count;
};

static void tell(struct misfits *misfits, const char *what) {
    misfits->count++;
    misfits->each(misfits->user, what);
}

static const char *named(const char *job) {
    return job[0] != '\0' ? job : "(none)";
}

static void job_fits(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, struct misfits *misfits) {
    char what[SENTENCE_SIZE];
    if (job->leader[0] != '\0' && model_person_find(gate->model, job->leader) == NULL) {
        gate_text(what, sizeof what, "job %s at %s is led by %s, who is not in the people file",
                  job->job, site->model->site, job->leader);
        tell(misfits, what);
    }
}

static void tags_fit(const struct gate *gate, const struct gate_site *site, uint32_t point,
                     struct misfits *misfits) {
    for (size_t i = 0; i < site->points[point].tag_count; i++) {
        const struct gate_tag *tag = &site->points[point].tags[i];
        char what[SENTENCE_SIZE];
        if (tag->person[0] != '\0' && model_person_find(gate->model, tag->person) == NULL) {
            gate_text(
                what, sizeof what,
                "job %s at %s: a tag of %s hangs on %s, and the people file lacks that person",
                named(tag->job), site->model->site, tag->person, site->model->points[point].point);
            tell(misfits, what);
        }
    }
}

static void position_fits(const struct gate *gate, const struct gate_site *site, uint32_t index,
                          struct misfits *misfits) {
    const struct gate_position *position = &site->positions[index];
    char what[SENTENCE_SIZE];
    if (position->owed != NULL &&
        model_procedure_find(gate->model, position->owed->procedure) == NULL) {
        gate_text(what, sizeof what,
                  "job %s at %s left tests of procedure %s owed on position %s, and no such "
                  "procedure is configured",
                  position->owed_by, site->model->site, position->owed->procedure,
                  site->model->positions[index].position);
        tell(misfits, what);
    }
}

static void site_fits(const struct gate *gate, const struct gate_site *site,
                      struct misfits *misfits) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i])) {
            job_fits(gate, site, site->jobs[i], misfits);
        }
    }
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        tags_fit(gate, site, p, misfits);
    }
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        position_fits(gate, site, p, misfits);
    }
}

static void lacks(const struct gate_lacking *lacking, struct misfits *misfits) {
    char what[SENTENCE_SIZE];
    if (lacking->who[0] != '\0') {
        gate_text(what, sizeof what,
                  "job %s at %s: a tag of %s hangs on %s, which is not configured",
                  named(lacking->job), lacking->site, lacking->who, lacking->what);
    } else {
        gate_text(what, sizeof what, "job %s at %s stands on %s, which is not configured",
                  named(lacking->job), lacking->site, lacking->what);
    }
    tell(misfits, what);
}

// Rule (2): A configuration that lacks the leader of a standing job is refused.
// [fits-without-leader]
// Rule (2): A configuration that lacks the person of a hanging tag is refused.
// [fits-without-tags-person]
// Rule (2): A configuration that lacks a procedure whose tests are owed is refused.
// [fits-without-owed-procedure]
// Rule (2; R31): Everything that a configuration lacks is told, not the first.
// [fits-first-alone]
size_t gate_each_misfit(const struct gate *gate, void (*each)(void *user, const char *what),
                        void *user) {
    struct misfits misfits = {.each = each, .user = user};
    for (size_t i = 0; i < gate->lacking_count; i++) {
        lacks(&gate->lacking[i], &misfits);
    }
    for (size_t s = 0; s < gate->model->site_count; s++) {
        site_fits(gate, &gate->sites[s], &misfits);
    }
    return misfits.count;
}

// The first of them, for who wants one.
struct first {
    char *what;
    size_t size;
    bool told;
};

static void keep_first(void *user, const char *what) {
    struct first *first = user;
    if (!first->told) {
        gate_text(first->what, first->size, "%s", what);
    }
    first->told = true;
}

bool gate_fits(const struct gate *gate, char *what, size_t what_size) {
    struct first first = {what, what_size, false};
    return gate_each_misfit(gate, keep_first, &first) == 0;
}
