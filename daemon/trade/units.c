// The table of units. Every factor follows from the definitions of the inch (25.4 mm), the pound
// (0.453 592 37 kg), standard gravity (9.806 65 m/s2) and the US gallon (231 cubic inches).
#include "trade/units.h"

#include <stddef.h>

struct unit_row {
    const char *symbol;
    const char *si;
    double factor;
};

static const struct unit_row rows[TRADE_UNIT_COUNT] = {
    [TRADE_NO_UNIT] = {"", NULL, 1.0},
    // 25.4 mm of water at 1000 kg/m3: the conventional inch, 25.4 x 9.806 65 Pa.
    [TRADE_INWC] = {"in WC", "Pa", 249.08891},
    [TRADE_GALLON] = {"gal", "L", 3.785411784},
    [TRADE_CUBIC_FOOT] = {"ft3", "L", 28.316846592},
    [TRADE_FOOT] = {"ft", "m", 0.3048},
    [TRADE_INCH] = {"in", "mm", 25.4},
    [TRADE_FOOT_POUND] = {"ft.lbf", "N.m", 1.3558179483314004},
    [TRADE_CFH] = {"CFH", "L/h", 28.316846592},
    [TRADE_GPM] = {"gpm", "L/min", 3.785411784},
    [TRADE_ML_PER_GALLON] = {"ml/gal", "ml/L", 1.0 / 3.785411784},
    [TRADE_MILLILITER] = {"ml", NULL, 1.0},
    [TRADE_SECOND] = {"s", NULL, 1.0},
    [TRADE_OHM] = {"ohm", NULL, 1.0},
    [TRADE_DEGREE] = {"deg", NULL, 1.0},
    [TRADE_NEWTON_METER] = {"N.m", NULL, 1.0},
};

const char *trade_unit_symbol(enum trade_unit unit) {
    return rows[unit].symbol;
}

const char *trade_unit_si(enum trade_unit unit) {
    return rows[unit].si;
}

double trade_unit_factor(enum trade_unit unit) {
    return rows[unit].factor;
}
