// What a meter may err by, where fuel that was drawn is accounted for.
#pragma once

#define TRADE_LITERS_PER_GALLON 3.785411784 // NIST Handbook 44, appendix C: exact

// The maintenance tolerance of a retail fuel meter for a volume (below 0: for its size), both in US
// gallons: 1 in3, and 1 in3 more for each gallon (NIST Handbook 44, section 3.30, T.2 [M]; 6 in3 at
// 5 gal [V]). A gallon is 231 in3 (appendix C).
double trade_meter_tolerance(double gallons);
