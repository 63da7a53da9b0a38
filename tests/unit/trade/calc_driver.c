// `forelock calc` alone, for the scripts that check it from outside.
#include "tool/calc.h"

int main(int argc, char **argv) {
    return tool_calc(argc - 1, argv + 1, false, NULL);
}
