// Days of the calendar, as the configuration writes them.
#include "config/zone.h"

#include <string.h>

static bool is_leap(int year) {
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int days_of_month(int year, int month) {
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && is_leap(year));
}

// A number of exactly n digits; -1 if it is not one.
static int digits(const char *text, size_t n) {
    int value = 0;
    for (size_t i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9') {
            return -1;
        }
        value = value * 10 + (text[i] - '0');
    }
    return value;
}

bool config_day_parse(const char *text, int *year, int *month, int *day) {
    if (strlen(text) != 10 || text[4] != '-' || text[7] != '-') {
        return false;
    }
    *year = digits(text, 4);
    *month = digits(text + 5, 2);
    *day = digits(text + 8, 2);
    return *year >= 1969 && *month >= 1 && *month <= 12 && *day >= 1 &&
           *day <= days_of_month(*year, *month);
}

bool config_day_valid(const char *text) {
    int year, month, day;
    return config_day_parse(text, &year, &month, &day) && year >= 1970;
}
