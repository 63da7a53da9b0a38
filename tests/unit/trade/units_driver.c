// Prints the table of units for units.sh: symbol, SI symbol and factor, tab-separated.
#include "trade/units.h"

#include <stdio.h>

int main(void) {
    for (int unit = TRADE_NO_UNIT + 1; unit < TRADE_UNIT_COUNT; unit++) {
        const char *si = trade_unit_si((enum trade_unit)unit);
        if (si != NULL) {
            printf("%s\t%s\t%.17g\n", trade_unit_symbol((enum trade_unit)unit), si,
                   trade_unit_factor((enum trade_unit)unit));
        }
    }
    return 0;
}
