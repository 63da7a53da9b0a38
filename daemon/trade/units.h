// The units that this trade reads on its gauges, and the exact factors to their SI twins.
#pragma once

#include <stdbool.h>

enum trade_unit {
    TRADE_NO_UNIT,
    TRADE_INWC,       // inch of water column, conventional
    TRADE_GALLON,     // US gallon
    TRADE_CUBIC_FOOT, // as displaced volume, with the liter as its twin
    TRADE_FOOT,
    TRADE_INCH,
    TRADE_CUBIC_INCH,
    TRADE_FOOT_POUND,    // foot pound-force
    TRADE_CFH,           // cubic feet an hour
    TRADE_GPM,           // US gallons a minute
    TRADE_GPH,           // US gallons an hour
    TRADE_PSI,           // pound-force a square inch
    TRADE_ML_PER_GALLON, // milliliters a US gallon
    // Without a twin: already SI, or the same everywhere.
    TRADE_MILLILITER,
    TRADE_SECOND,
    TRADE_OHM,
    TRADE_DEGREE,
    TRADE_NEWTON_METER,
    TRADE_LITER,
    TRADE_HOUR,
    TRADE_CELSIUS, // degrees
    TRADE_DENSITY, // kilograms a cubic meter
    TRADE_UNIT_COUNT,
};

// How people write the unit, e.g. "in WC"; "" for TRADE_NO_UNIT.
const char *trade_unit_symbol(enum trade_unit unit);
// How people write its SI twin, e.g. "Pa"; NULL where there is none.
const char *trade_unit_si(enum trade_unit unit);
// SI twins in one of the unit, exact to the last bit of a double; 1 where there is no twin.
double trade_unit_factor(enum trade_unit unit);
// A figure in one unit in another: the same, or a unit and its SI twin ("inH2O" is "in WC" too).
// False: they are not of one kind.
bool trade_unit_convert(double figure, const char *from, const char *to, double *made);
// The unit that people write so; TRADE_NO_UNIT where there is none (symbol may be NULL).
enum trade_unit trade_unit_named(const char *symbol);
