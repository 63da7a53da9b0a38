// What the journal knows and the configuration lacks.
#include "gate/lacking.h"

#include "base/array.h"
#include "gate/text.h"

static bool is(const struct gate_lacking *lacking, const char *site, const char *job,
               const char *what, const char *who) {
    return gate_same(lacking->site, site) && gate_same(lacking->job, job) &&
           gate_same(lacking->who, who) && (what == NULL || gate_same(lacking->what, what));
}

bool gate_lacking_add(struct gate *gate, const char *site, const char *job, const char *what,
                      const char *who) {
    if (!BASE_ARRAY_ROOM(gate->lacking, gate->lacking_count, gate->lacking_capacity)) {
        return false;
    }
    struct gate_lacking *lacking = &gate->lacking[gate->lacking_count++];
    gate_id_copy(lacking->site, site);
    gate_id_copy(lacking->job, job);
    gate_id_copy(lacking->what, what);
    gate_id_copy(lacking->who, who);
    return true;
}

void gate_lacking_remove(struct gate *gate, const char *site, const char *job, const char *what,
                         const char *who) {
    for (size_t i = gate->lacking_count; i-- > 0;) {
        if (is(&gate->lacking[i], site, job, what, who)) {
            gate->lacking[i] = gate->lacking[--gate->lacking_count];
        }
    }
}
