// RFC 3339 by plain arithmetic on the proleptic Gregorian calendar: no locale, no time zone files,
// no library state, because every fact that is replayed or told passes here.
#include "base/time_text.h"

#include <string.h>

#define DAY_MS 86400000LL
#define FIRST_MS (-62167219200000LL)
#define LAST_MS 253402300799999LL

// Days from 1970-01-01 to a date. A year is counted from March, so that a leap day is its last.
static int64_t days_of(int64_t year, unsigned month, unsigned day) {
    year -= month <= 2;
    int64_t era = (year >= 0 ? year : year - 399) / 400;
    int64_t year_of_era = year - era * 400;
    int64_t day_of_year = (153 * (int64_t)(month > 2 ? month - 3 : month + 9) + 2) / 5 + day - 1;
    int64_t day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    return era * 146097 + day_of_era - 719468;
}

static void date_of(int64_t days, unsigned *year, unsigned *month, unsigned *day) {
    days += 719468;
    int64_t era = (days >= 0 ? days : days - 146096) / 146097;
    int64_t day_of_era = days - era * 146097;
    int64_t year_of_era =
        (day_of_era - day_of_era / 1460 + day_of_era / 36524 - day_of_era / 146096) / 365;
    int64_t day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    int64_t from_march = (5 * day_of_year + 2) / 153;
    *day = (unsigned)(day_of_year - (153 * from_march + 2) / 5 + 1);
    *month = (unsigned)(from_march < 10 ? from_march + 3 : from_march - 9);
    *year = (unsigned)(year_of_era + era * 400 + (*month <= 2));
}

static unsigned days_in(unsigned year, unsigned month) {
    static const uint8_t days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == 2 && leap ? 1u : 0u);
}

// What is left to read. Once wrong, it stays wrong.
struct cursor {
    const char *at;
    const char *end;
    bool wrong;
};

static unsigned digits(struct cursor *cursor, size_t count) {
    unsigned value = 0;
    if (cursor->wrong || (size_t)(cursor->end - cursor->at) < count) {
        cursor->wrong = true;
        return 0;
    }
    for (size_t i = 0; i < count; i++, cursor->at++) {
        if (*cursor->at < '0' || *cursor->at > '9') {
            cursor->wrong = true;
            return 0;
        }
        value = value * 10 + (unsigned)(*cursor->at - '0');
    }
    return value;
}

static bool take(struct cursor *cursor, char c) {
    if (cursor->wrong || cursor->at == cursor->end || *cursor->at != c) {
        return false;
    }
    cursor->at++;
    return true;
}

static void must(struct cursor *cursor, char c) {
    cursor->wrong = !take(cursor, c);
}

// The milliseconds behind the point; at least one digit must stand there.
static int64_t fraction(struct cursor *cursor) {
    int64_t value = 0;
    int64_t unit = 100;
    if (!take(cursor, '.')) {
        return 0;
    }
    do {
        value += unit * digits(cursor, 1);
        unit /= 10;
    } while (cursor->at < cursor->end && *cursor->at >= '0' && *cursor->at <= '9');
    return value;
}

// Milliseconds that the local time is ahead of UTC.
static int64_t offset(struct cursor *cursor) {
    if (take(cursor, 'Z') || take(cursor, 'z')) {
        return 0;
    }
    int64_t sign = take(cursor, '-') ? -1 : 1;
    if (sign > 0) {
        must(cursor, '+');
    }
    unsigned hours = digits(cursor, 2);
    must(cursor, ':');
    unsigned minutes = digits(cursor, 2);
    cursor->wrong = cursor->wrong || hours > 23 || minutes > 59;
    return sign * (hours * 3600000LL + minutes * 60000LL);
}

static int64_t date(struct cursor *cursor) {
    unsigned year = digits(cursor, 4);
    must(cursor, '-');
    unsigned month = digits(cursor, 2);
    must(cursor, '-');
    unsigned day = digits(cursor, 2);
    if (cursor->wrong || month < 1 || month > 12 || day < 1 || day > days_in(year, month)) {
        cursor->wrong = true;
        return 0;
    }
    return days_of(year, month, day) * DAY_MS;
}

static int64_t time_of_day(struct cursor *cursor, bool *leap) {
    unsigned hour = digits(cursor, 2);
    must(cursor, ':');
    unsigned minute = digits(cursor, 2);
    must(cursor, ':');
    unsigned second = digits(cursor, 2);
    *leap = second == 60;
    cursor->wrong = cursor->wrong || hour > 23 || minute > 59 || second > 60;
    return hour * 3600000LL + minute * 60000LL + second * 1000LL;
}

bool base_time_parse(const char *text, size_t length, int64_t *unix_ms) {
    struct cursor cursor = {.at = text, .end = text + length};
    bool leap = false;
    int64_t value = date(&cursor);
    cursor.wrong = cursor.wrong || !(take(&cursor, 'T') || take(&cursor, 't'));
    value += time_of_day(&cursor, &leap);
    int64_t ms = fraction(&cursor);
    value -= offset(&cursor);
    // A leap second stands at the end of a day of UTC and nowhere else.
    if (cursor.wrong || cursor.at != cursor.end || (leap && value % DAY_MS != 0)) {
        return false;
    }
    *unix_ms = value + ms;
    return true;
}

// Two digits and what stands behind them.
static char *put(char *at, unsigned value, char behind) {
    at[0] = (char)('0' + value / 10 % 10);
    at[1] = (char)('0' + value % 10);
    at[2] = behind;
    return at + 3;
}

void base_time_format(int64_t unix_ms, char buffer[BASE_TIME_SIZE]) {
    unsigned year, month, day;
    unix_ms = unix_ms < FIRST_MS ? FIRST_MS : unix_ms > LAST_MS ? LAST_MS : unix_ms;
    int64_t days = (unix_ms >= 0 ? unix_ms : unix_ms - (DAY_MS - 1)) / DAY_MS;
    unsigned ms = (unsigned)(unix_ms - days * DAY_MS);
    date_of(days, &year, &month, &day);
    char *at = put(buffer, year / 100, ' ') - 1; // the century's blank is written over
    at = put(at, year % 100, '-');
    at = put(at, month, '-');
    at = put(at, day, 'T');
    at = put(at, ms / 3600000, ':');
    at = put(at, ms / 60000 % 60, ':');
    at = put(at, ms / 1000 % 60, '.');
    *at++ = (char)('0' + ms / 100 % 10);
    put(at, ms % 100, 'Z');
    buffer[BASE_TIME_SIZE - 1] = '\0';
}
