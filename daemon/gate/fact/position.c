// position.out-of-service and position.returned: whether a position may serve.
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    uint32_t index = model_position_find(to->site->model, fact->position);
    if (index != MODEL_NONE) {
        struct gate_position *position = &to->site->positions[index];
        position->service =
            fact->type == GATE_FACT_POSITION_RETURNED ? MODEL_SERVICE_IN : MODEL_SERVICE_OUT;
        position->since = fact->at;
    }
    return true;
}

const struct gate_fact_row gate_fact_position_out_of_service = {
    .name = "position.out-of-service",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(with) | GATE_HAS(cause) | GATE_HAS(why),
    .needs = GATE_HAS(position),
    .apply = apply,
    .sentence = "position {position} went out of service[ ({cause})][, held by job {with}]"
                "[: {why}]",
};

const struct gate_fact_row gate_fact_position_returned = {
    .name = "position.returned",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .needs = GATE_HAS(position),
    .apply = apply,
    .sentence = "position {position} is back in service",
};
