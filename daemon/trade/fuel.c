// The maintenance tolerance of a meter.
#include "trade/fuel.h"

#include <math.h>

#define CUBIC_INCHES_PER_GALLON 231.0

// Rule (4, record-fuel; NIST Handbook 44 3.30 T.2 [M]): A meter may err by 1 in3 and 1 in3 for each
// gallon. [meter-tolerance-flat]
double trade_meter_tolerance(double gallons) {
    return (1 + fabs(gallons)) / CUBIC_INCHES_PER_GALLON;
}
