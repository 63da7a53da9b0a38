// Units of measure, as checks and instruments name them.
#pragma once

#include <stdbool.h>

// From the definitions of the inch (25.4 mm), the pound (0.453 592 37 kg), standard gravity
// (9.806 65 m/s2) and the US gallon (231 cubic inches); an inch of water is the conventional one.
#define MODEL_PASCALS_PER_INWC 249.08891
#define MODEL_KILOPASCALS_PER_PSI 6.894757293168361
#define MODEL_LITERS_PER_GALLON 3.785411784
#define MODEL_NEWTON_METERS_PER_FTLBF 1.3558179483314004

// What a figure in one unit is in another: of pressure, volume, voltage, current, resistance,
// length and torque, in the spellings of this trade; blanks around a unit, and the case of its
// letters where no other unit differs by that alone, do not matter. A k before a unit is a thousand
// of it. Either unit may be NULL (no unit). False: nobody can tell.
bool model_unit_convert(double value, const char *from, const char *to, double *into);
// The other unit in which a reading of this one may be given: the two in which this trade's gauges
// and wrenches are marked side by side (ft.lbf and N.m, gal and L, psi and kPa). NULL: there is
// none (unit may be NULL).
const char *model_unit_twin(const char *unit);

// Whether fuel is told in the unit: "gal" or "L".
bool model_unit_of_fuel(const char *unit);
