// The invented site of the day, as configuration has it.
#pragma once

struct model;

// Four dispensers of two sides: a breaker that panel-1 watches with dated and numbered words, a
// shear valve that panel-2 watches, whose words are kept by the broker and carry nothing, and a
// line valve that people speak for. On the last two dispensers a reader sees the breaker's locks.
// Ends the program where it cannot be made. model_free ends it.
struct model *nuisance_model(void);
