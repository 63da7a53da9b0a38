// fault.reported: somebody of the site saw something that a tracker should know of.
#include "gate/fact/effect.h"

const struct gate_fact_row gate_fact_fault_reported = {
    .name = "fault.reported",
    .published = true,
    .about = GATE_ABOUT_NOTHING,
    .carries = GATE_HAS(by) | GATE_HAS(text),
    .needs = GATE_HAS(position) | GATE_HAS(text),
    .sentence = "{by} reported a fault of {position}: {text}",
};
