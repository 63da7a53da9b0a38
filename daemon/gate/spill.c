// What a spill is judged by.
#include "gate/spill.h"

#include <string.h>

#include "gate/review.h"
#include "gate/text.h"
#include "trade/fuel.h"
#include "trade/trade.h"

#define HOUR_MS 3600000.0

struct gate_spill *gate_spill_find(const struct gate_site *site, const char *spill) {
    for (size_t i = 0; i < site->spill_count; i++) {
        if (gate_same(site->spills[i].spill, spill)) {
            return &site->spills[i];
        }
    }
    return NULL;
}

double gate_spill_gallons(double quantity, bool liters) {
    return liters ? quantity / TRADE_LITERS_PER_GALLON : quantity;
}

static double hours_of(const struct gate_spill *spill, struct gate_time now) {
    int64_t ms = spill->cleaned != 0 ? spill->cleaned - spill->at.wall : now.mono - spill->at.mono;
    return ms > 0 ? (double)ms / HOUR_MS : 0;
}

// Rule (4, record-spill; 40 CFR 280.53 [V]): A spill is reported by the trade's rule: over 25 gal,
// a sheen, or not cleaned up in 24 h; one that the rule cannot judge is reported.
// [spill-judged-by-none]
bool gate_spill_over(const struct gate_spill *spill, struct gate_time now) {
    const struct model_test test = {.test = "spill", .rule = "spill"};
    const struct model_reading readings[] = {
        {.name = "quantity_gal", .kind = MODEL_READING_NUMBER, .number = spill->gallons},
        {.name = "sheen", .kind = MODEL_READING_FLAG, .flag = spill->sheen},
        {.name = "hours", .kind = MODEL_READING_NUMBER, .number = hours_of(spill, now)},
    };
    struct model_result result;
    struct trade_error error;
    bool judged = trade_calculate(&test, NULL, readings, sizeof readings / sizeof *readings,
                                  &result, NULL, &error);
    return !judged || !result.has_pass || !result.pass;
}

int64_t gate_spill_due(const struct gate_spill *spill) {
    return spill->at.wall + GATE_SPILL_MS;
}
