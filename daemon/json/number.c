// Numbers: their exact decimal value, and from it doubles, integers and equality.
//
// A slice is never given to strtod() as it stands: the text need not end with a NUL, and the
// point would depend on the locale. What is given has digits and an exponent only.
#include "json/internal.h"

#include <errno.h>
#include <float.h>
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

// Between two neighboring doubles no midpoint has more than 767 significant digits: behind that
// many it only matters whether anything but zeros follows.
enum { ENOUGH_DIGITS = 780 };

// Far over anything that the digits of a text could bring back into range.
static const int64_t exponent_bound = INT64_C(1000000000000);

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static int64_t read_exponent(const char *p, const char *end) {
    int64_t value = 0;
    bool negative = *p == '-';

    if (*p == '-' || *p == '+') {
        p++;
    }
    for (; p < end && value < exponent_bound; p++) {
        value = value * 10 + (*p - '0');
    }
    return negative ? -value : value;
}

struct json_decimal json_decimal_of(const char *number, size_t length) {
    struct json_decimal decimal = {.negative = *number == '-'};
    const char *end = number + length;
    const char *p = number + (decimal.negative ? 1 : 0);
    int64_t seen = 0;  // digits so far
    int64_t whole = 0; // digits before the point
    int64_t first = 0;
    int64_t last = -1;
    bool point = false;

    for (; p < end && (is_digit(*p) || *p == '.'); p++) {
        if (*p == '.') {
            point = true;
            continue;
        }
        if (*p != '0') {
            decimal.first = decimal.first ? decimal.first : p;
            first = last < 0 ? seen : first;
            last = seen;
        }
        seen++;
        whole += point ? 0 : 1;
    }
    if (!decimal.first) {
        return (struct json_decimal){.first = number};
    }
    decimal.digits = (size_t)(last - first + 1);
    decimal.exponent = whole - 1 - first + (p < end ? read_exponent(p + 1, end) : 0);
    return decimal;
}

size_t json_decimal_digits(const struct json_decimal *decimal, char *digits, size_t size) {
    size_t count = decimal->digits < size ? decimal->digits : size;
    const char *p = decimal->first;

    for (size_t i = 0; i < count; i++, p++) {
        p += *p == '.' ? 1 : 0;
        digits[i] = *p;
    }
    return count;
}

bool json_decimal_equal(const struct json_decimal *a, const struct json_decimal *b) {
    if (a->negative != b->negative || a->exponent != b->exponent || a->digits != b->digits) {
        return false;
    }
    const char *p = a->first;
    const char *q = b->first;
    for (size_t i = 0; i < a->digits; i++, p++, q++) {
        p += *p == '.' ? 1 : 0;
        q += *q == '.' ? 1 : 0;
        if (*p != *q) {
            return false;
        }
    }
    return true;
}

// Exact where both the digits and the power of ten are doubles themselves: one rounding is left.
static bool double_at_once(const struct json_decimal *decimal, double *value) {
    static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                    1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                    1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    int64_t power = decimal->exponent - (int64_t)decimal->digits + 1;

    if (FLT_EVAL_METHOD != 0 || decimal->digits > 15 || power < -22 || power > 22) {
        return false;
    }
    char digits[15];
    size_t count = json_decimal_digits(decimal, digits, sizeof digits);
    int64_t whole = 0;
    for (size_t i = 0; i < count; i++) {
        whole = whole * 10 + (digits[i] - '0');
    }
    *value = power < 0 ? (double)whole / powers[-power] : (double)whole * powers[power];
    return true;
}

// Infinite for what is too large.
static double decimal_magnitude(const struct json_decimal *decimal) {
    char buffer[ENOUGH_DIGITS + 32];
    double value;

    if (double_at_once(decimal, &value)) {
        return value;
    }
    size_t count = json_decimal_digits(decimal, buffer, ENOUGH_DIGITS);
    if (count < decimal->digits) {
        buffer[count++] = '1'; // the digits end with one that is not 0, so something follows
    }
    int64_t power = decimal->exponent - (int64_t)count + 1;
    snprintf(buffer + count, sizeof buffer - count, "e%" PRId64, power);
    int saved = errno;
    value = strtod(buffer, NULL);
    errno = saved;
    return value;
}

bool json_decimal_in_range(const struct json_decimal *decimal) {
    if (decimal->digits == 0 || (decimal->exponent > -324 && decimal->exponent < 308)) {
        return true;
    }
    if (decimal->exponent < -324 || decimal->exponent > 308) {
        return false;
    }
    double value = decimal_magnitude(decimal);
    return isfinite(value) && value != 0;
}

bool json_double(const struct json_tape *tape, const struct json_node *number, double *value) {
    if (!number || number->kind != JSON_NUMBER) {
        return false;
    }
    const char *text = tape->text + number->start;
    struct json_decimal decimal = json_decimal_of(text, number->length);
    double magnitude = decimal.digits == 0 ? 0 : decimal_magnitude(&decimal);
    *value = *text == '-' ? -magnitude : magnitude;
    return true;
}

bool json_integer(const struct json_tape *tape, const struct json_node *number, int64_t *value) {
    if (!number || number->kind != JSON_NUMBER) {
        return false;
    }
    struct json_decimal decimal = json_decimal_of(tape->text + number->start, number->length);
    // The first digit stands at 10^18 at most; fewer places than digits would leave a fraction.
    if (decimal.exponent > 18 || decimal.exponent + 1 < (int64_t)decimal.digits) {
        return false;
    }
    char digits[19];
    size_t count = json_decimal_digits(&decimal, digits, sizeof digits);
    uint64_t magnitude = 0;
    for (size_t i = 0; i <= (size_t)decimal.exponent; i++) {
        magnitude = magnitude * 10 + (uint64_t)(i < count ? digits[i] - '0' : 0);
    }
    uint64_t bound = (uint64_t)INT64_MAX + (decimal.negative ? 1 : 0);
    if (magnitude > bound) {
        return false;
    }
    *value = decimal.negative ? (int64_t)(0 - magnitude) : (int64_t)magnitude;
    return true;
}
