// `forelock calc` alone, for the scripts that check it from outside.
#include "tool/calc.h"

int main(int argc, char **argv) {
    return calc_command(argc - 1, argv + 1, false, NULL);
}
