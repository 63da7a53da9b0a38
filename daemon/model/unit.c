// Units of measure: a figure in one as a figure in another.
#include "model/unit.h"

#include <stddef.h>
#include <string.h>
#include <strings.h>

enum quantity { PRESSURE, VOLUME, VOLTAGE, CURRENT, RESISTANCE, LENGTH, TORQUE };

struct unit {
    const char *name;
    enum quantity quantity;
    double factor; // of the SI unit
};

static const struct unit units[] = {
    {"Pa", PRESSURE, 1},
    {"hPa", PRESSURE, 100},
    {"kPa", PRESSURE, 1000},
    {"MPa", PRESSURE, 1e6},
    {"mbar", PRESSURE, 100},
    {"bar", PRESSURE, 1e5},
    {"psi", PRESSURE, 1000 * MODEL_KILOPASCALS_PER_PSI},
    {"inH2O", PRESSURE, MODEL_PASCALS_PER_INWC},
    {"inWC", PRESSURE, MODEL_PASCALS_PER_INWC},
    {"mL", VOLUME, 1e-6},
    {"L", VOLUME, 1e-3},
    {"m3", VOLUME, 1},
    {"gal", VOLUME, MODEL_LITERS_PER_GALLON * 1e-3},
    {"mV", VOLTAGE, 1e-3},
    {"V", VOLTAGE, 1},
    {"kV", VOLTAGE, 1e3},
    {"MV", VOLTAGE, 1e6},
    {"mA", CURRENT, 1e-3},
    {"A", CURRENT, 1},
    {"ohm", RESISTANCE, 1},
    {"kohm", RESISTANCE, 1e3},
    {"Mohm", RESISTANCE, 1e6},
    {"mm", LENGTH, 1e-3},
    {"cm", LENGTH, 1e-2},
    {"m", LENGTH, 1},
    {"in", LENGTH, 0.0254},
    {"ft", LENGTH, 0.3048},
    {"N.m", TORQUE, 1},
    {"in.lbf", TORQUE, MODEL_NEWTON_METERS_PER_FTLBF / 12},
    {"ft.lbf", TORQUE, MODEL_NEWTON_METERS_PER_FTLBF},
};

typedef int compare(const char *a, const char *b, size_t length);

static const struct unit *find_as(const char *name, size_t length, compare *same) {
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strlen(units[i].name) == length && same(units[i].name, name, length) == 0) {
            return &units[i];
        }
    }
    return NULL;
}

// A unit without the blanks around it.
static const char *trimmed(const char *name, size_t *length) {
    name += strspn(name, " ");
    *length = strlen(name);
    while (*length > 0 && name[*length - 1] == ' ') {
        --*length;
    }
    return name;
}

// Rule (4, a stop; R12): m and M are thousandths and millions, whatever else is misspelled.
// [unit-milli-is-mega]
static const struct unit *find(const char *name, size_t length) {
    const struct unit *unit = find_as(name, length, strncmp);
    return unit != NULL ? unit : find_as(name, length, strncasecmp);
}

// Rule (4, a stop; R12): A reading whose unit is misspelled fails where it is outside.
// [failed-unit-misspelled]
// Rule (4, a stop; R12): So does one in thousands of a unit. [failed-in-thousands]
// Rule (4, a stop; R12): What is of another kind says nothing. [unit-of-another-kind]
bool model_unit_convert(double value, const char *from, const char *to, double *into) {
    size_t from_length, to_length;
    from = trimmed(from != NULL ? from : "", &from_length);
    to = trimmed(to != NULL ? to : "", &to_length);
    const struct unit *a = find(from, from_length), *b = find(to, to_length);
    if (a != NULL && b != NULL && a->quantity == b->quantity) {
        *into = a == b ? value : value * a->factor / b->factor;
        return true;
    }
    bool thousands = from_length == to_length + 1 && from[0] == 'k';
    if (thousands && to_length > 0 && strncasecmp(from + 1, to, to_length) == 0) {
        *into = value * 1000;
        return true;
    }
    *into = value;
    return from_length == to_length && strncasecmp(from, to, to_length) == 0;
}

// Rule (4, sign-check; 8): A reading is given in the check's unit or in its twin.
// [twin-of-any-unit]
const char *model_unit_twin(const char *unit) {
    static const char *const pairs[][2] = {{"ft.lbf", "N.m"}, {"gal", "L"}, {"psi", "kPa"}};
    for (size_t i = 0; unit != NULL && i < sizeof pairs / sizeof pairs[0]; i++) {
        for (int k = 0; k < 2; k++) {
            if (strcmp(unit, pairs[i][k]) == 0) {
                return pairs[i][1 - k];
            }
        }
    }
    return NULL;
}

bool model_unit_of_fuel(const char *unit) {
    return strcmp(unit, "gal") == 0 || strcmp(unit, "L") == 0;
}
