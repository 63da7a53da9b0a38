// The table of units. Every factor follows from the definitions of the inch (25.4 mm), the pound
// (0.453 592 37 kg), standard gravity (9.806 65 m/s2) and the US gallon (231 cubic inches).
#include "trade/units.h"

#include "model/unit.h"

#include <stddef.h>
#include <string.h>

struct unit_row {
    const char *symbol;
    const char *si;
    double factor;
};

static const struct unit_row rows[TRADE_UNIT_COUNT] = {
    [TRADE_NO_UNIT] = {"", NULL, 1.0},
    // 25.4 mm of water at 1000 kg/m3: the conventional inch, 25.4 x 9.806 65 Pa.
    [TRADE_INWC] = {"in WC", "Pa", MODEL_PASCALS_PER_INWC},
    [TRADE_GALLON] = {"gal", "L", MODEL_LITERS_PER_GALLON},
    [TRADE_CUBIC_FOOT] = {"ft3", "L", 28.316846592},
    [TRADE_FOOT] = {"ft", "m", 0.3048},
    [TRADE_INCH] = {"in", "mm", 25.4},
    [TRADE_CUBIC_INCH] = {"in3", "ml", 16.387064},
    [TRADE_FOOT_POUND] = {"ft.lbf", "N.m", MODEL_NEWTON_METERS_PER_FTLBF},
    [TRADE_CFH] = {"CFH", "L/h", 28.316846592},
    [TRADE_GPM] = {"gpm", "L/min", MODEL_LITERS_PER_GALLON},
    [TRADE_GPH] = {"gal/h", "L/h", MODEL_LITERS_PER_GALLON},
    [TRADE_PSI] = {"psi", "kPa", MODEL_KILOPASCALS_PER_PSI},
    [TRADE_ML_PER_GALLON] = {"ml/gal", "ml/L", 1.0 / MODEL_LITERS_PER_GALLON},
    [TRADE_MILLILITER] = {"ml", NULL, 1.0},
    [TRADE_SECOND] = {"s", NULL, 1.0},
    [TRADE_OHM] = {"ohm", NULL, 1.0},
    [TRADE_DEGREE] = {"deg", NULL, 1.0},
    [TRADE_NEWTON_METER] = {"N.m", NULL, 1.0},
    [TRADE_LITER] = {"L", NULL, 1.0},
    [TRADE_HOUR] = {"h", NULL, 1.0},
    [TRADE_CELSIUS] = {"deg C", NULL, 1.0},
    [TRADE_DENSITY] = {"kg/m3", NULL, 1.0},
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

enum trade_unit trade_unit_named(const char *symbol) {
    for (int unit = TRADE_NO_UNIT + 1; symbol != NULL && unit < TRADE_UNIT_COUNT; unit++) {
        if (strcmp(rows[unit].symbol, symbol) == 0) {
            return (enum trade_unit)unit;
        }
    }
    return TRADE_NO_UNIT;
}

// The row of a symbol or of an SI twin, and how many twins one of it is.
static enum trade_unit unit_row(const char *symbol, double *twins) {
    enum trade_unit unit = trade_unit_named(strcmp(symbol, "inH2O") == 0 ? "in WC" : symbol);

    *twins = unit != TRADE_NO_UNIT ? rows[unit].factor : 1;
    for (int i = TRADE_NO_UNIT + 1; unit == TRADE_NO_UNIT && i < TRADE_UNIT_COUNT; i++) {
        if (rows[i].si != NULL && strcmp(rows[i].si, symbol) == 0) {
            unit = (enum trade_unit)i;
        }
    }
    return unit;
}

bool trade_unit_convert(double figure, const char *from, const char *to, double *made) {
    double twins = 1, others = 1;

    *made = figure;
    if (strcmp(from, to) == 0) {
        return true;
    }
    enum trade_unit unit = unit_row(from, &twins), other = unit_row(to, &others);
    *made = figure * twins / others;
    return unit != TRADE_NO_UNIT && unit == other;
}
