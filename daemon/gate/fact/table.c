// The rows of the facts, and what is looked up in them.
#include "gate/fact/list.h"

#include <string.h>

#include "gate/fact/row.h"

#define ROW(NAME, name) extern const struct gate_fact_row gate_fact_##name;
GATE_FACTS(ROW)
#undef ROW

static const struct gate_fact_row *const rows[GATE_FACT_COUNT] = {
#define ROW(NAME, name) [GATE_FACT_##NAME] = &gate_fact_##name,
    GATE_FACTS(ROW)
#undef ROW
};

const struct gate_fact_row *gate_fact_row(enum gate_fact_type type) {
    return (int)type >= 0 && type < GATE_FACT_COUNT ? rows[type] : NULL;
}

const char *gate_fact_name(enum gate_fact_type type) {
    const struct gate_fact_row *row = gate_fact_row(type);
    return row != NULL ? row->name : NULL;
}

int gate_fact_of(const char *name) {
    for (int type = 0; name != NULL && type < GATE_FACT_COUNT; type++) {
        if (strcmp(rows[type]->name, name) == 0) {
            return type;
        }
    }
    return -1;
}

bool gate_fact_published(int type) {
    return type >= 0 && type < GATE_FACT_COUNT && rows[type]->published;
}

gate_fact_mask gate_fact_strays(const struct gate_fact *fact) {
    const struct gate_fact_row *row = gate_fact_row(fact->type);
    gate_fact_mask set = 0;
    for (int i = 0; i < GATE_FACT_FIELD_COUNT; i++) {
        set |= (gate_fact_mask)gate_fact_has(fact, &gate_fact_field_rows[i]) << i;
    }
    return set & ~(GATE_FACT_OF_ALL | (row != NULL ? row->carries : 0));
}
