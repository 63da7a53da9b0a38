// Folding: a fact on its way into the state, live and on replay alike. What it does there is its
// row's (fact/).
#include "gate/fact/field.h"
#include "gate/fact/row.h"
#include "gate/gate.h"
#include "gate/text.h"

static bool has_each(const struct gate_fact *fact, gate_fact_mask fields) {
    for (int i = 0; fields >> i != 0; i++) {
        if ((fields >> i & 1u) != 0 && !gate_fact_has(fact, &gate_fact_field_rows[i])) {
            return false;
        }
    }
    return true;
}

static bool has_one_of(const struct gate_fact *fact, gate_fact_mask fields) {
    for (int i = 0; fields >> i != 0; i++) {
        if ((fields >> i & 1u) != 0 && gate_fact_has(fact, &gate_fact_field_rows[i])) {
            return true;
        }
    }
    return false;
}

// Whether it names what it is about.
// Rule (2): A fact of the journal that lacks what it is about is refused. [fact-without-owner]
static bool is_whole(const struct gate_fact_row *row, const struct gate_fact *fact) {
    return has_each(fact, row->needs) &&
           (row->needs_one_of == 0 || has_one_of(fact, row->needs_one_of));
}

static bool note_lacking(const struct gate_fold *to, const struct gate_fact_row *row,
                         const char *site, const struct gate_fact *fact) {
    return row->lacking == NULL || row->lacking(to->gate, site, fact);
}

static bool apply_to_point(struct gate_fold *to, const struct gate_fact_row *row,
                           const struct gate_fact *fact) {
    to->point = model_point_find(to->site->model, fact->point);
    return to->point != MODEL_NONE ? row->apply(to, fact)
                                   : note_lacking(to, row, to->site->model->site, fact);
}

// Rule (2): A point that only an ended job required may go. [fits-ended-job-lacks]
static bool apply_to_job(struct gate_fold *to, const struct gate_fact_row *row,
                         const struct gate_fact *fact) {
    to->job = gate_job_find(to->site, fact->job);
    if (to->job != NULL) {
        to->job->order++;
        if (row->apply != NULL && !row->apply(to, fact)) {
            return false;
        }
    }
    // Of an ended job no point is lacking any more.
    return note_lacking(to, row, to->site->model->site, fact);
}

static bool apply_to_site(struct gate_fold *to, const struct gate_fact_row *row,
                          const struct gate_fact *fact) {
    to->site->changes++;
    to->gate->changes++;
    switch (row->about) {
    case GATE_ABOUT_POINT:
        return apply_to_point(to, row, fact);
    case GATE_ABOUT_JOB:
        return apply_to_job(to, row, fact);
    default:
        return row->apply(to, fact);
    }
}

bool gate_apply(struct gate *gate, const struct gate_fact *fact, char *what, size_t what_size) {
    const struct gate_fact_row *row = gate_fact_row(fact->type);
    struct gate_fold to = {.gate = gate, .point = MODEL_NONE, .what = what, .what_size = what_size};
    if (row->about == GATE_ABOUT_NOTHING) {
        return true;
    }
    if (row->about == GATE_ABOUT_GATE) {
        return row->apply(&to, fact);
    }
    if (!is_whole(row, fact)) {
        gate_text(what, what_size, "a %s lacks what it is about", row->name);
        return false;
    }
    what[0] = '\0'; // written out only where it is wanted: every fact comes by here
    bool applied;
    if (fact->site == MODEL_NONE) {
        applied = fact->missing_site == NULL || note_lacking(&to, row, fact->missing_site, fact);
    } else {
        to.site = &gate->sites[fact->site];
        applied = apply_to_site(&to, row, fact);
    }
    if (!applied && what[0] == '\0') {
        gate_text(what, what_size, "out of memory");
    }
    return applied;
}
