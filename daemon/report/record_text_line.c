// Lines and words of the printed form.
#include "report/record_text.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH 96

// C0, DEL, and C1 in UTF-8.
static void tame(char *text) {
    for (unsigned char *at = (unsigned char *)text; *at != '\0'; at++) {
        if (at[0] == 0xC2 && at[1] >= 0x80 && at[1] < 0xA0) {
            at[0] = at[1] = ' ';
        } else if (*at < 0x20 || *at == 0x7F) {
            *at = ' ';
        }
    }
}

// The bytes that fit into a number of columns, cut at a space where there is one.
static size_t fitting(const char *text, size_t columns) {
    size_t at = 0, space = 0, used = 0;
    while (text[at] != '\0' && used < columns) {
        space = text[at] == ' ' ? at : space;
        at++;
        while (((unsigned char)text[at] & 0xC0) == 0x80) {
            at++;
        }
        used++;
    }
    return text[at] == '\0' || text[at] == ' ' || space == 0 ? at : space;
}

void report_put(FILE *out, int indent, const char *format, ...) {
    char *text = NULL;
    va_list arguments;
    va_start(arguments, format);
    int length = vasprintf(&text, format, arguments);
    va_end(arguments);
    if (length < 0) {
        fputs("(out of memory)\n", out);
        return;
    }
    tame(text);
    const char *at = text;
    int more = 0;
    do {
        size_t count = fitting(at, (size_t)(WIDTH - indent - more));
        fprintf(out, "%*s%.*s\n", indent + more, "", (int)count, at);
        at += count;
        at += strspn(at, " ");
        more = 4;
    } while (*at != '\0');
    free(text);
}

void report_heading(FILE *out, const char *text) {
    static const char dashes[] =
        "-------------------------------------------------------------------"
        "-----------------------------";
    fprintf(out, "\n%s %.*s\n", text, (int)(WIDTH - strlen(text) - 1), dashes);
}

const char *report_when(int64_t ms, char text[REPORT_WHEN_SIZE]) {
    if (ms == 0) {
        snprintf(text, REPORT_WHEN_SIZE, "-");
    } else {
        base_time_format(ms, text);
    }
    return text;
}

const char *report_or_dash(const char *text) {
    return text != NULL && text[0] != '\0' ? text : "-";
}

const char *report_title_of(const struct report_record *record, const char *person) {
    const struct model_person *found =
        person != NULL ? model_person_find(record->model, person) : NULL;
    return found != NULL && strcmp(found->title, person) != 0 ? found->title : "";
}

// Prints with so many digits; whether that says the very same value.
static bool says(double value, int digits, char text[REPORT_FIGURE_SIZE]) {
    snprintf(text, REPORT_FIGURE_SIZE, "%.*g", digits, value);
    return strtod(text, NULL) == value;
}

// Nobody types more than twelve digits. What has more was calculated, and its last ones are the
// arithmetic's.
const char *report_figure(double value, char text[REPORT_FIGURE_SIZE]) {
    if (says(value, 12, text)) {
        return text;
    }
    double clean = strtod(text, NULL);
    if (says(clean, 9, text)) {
        return text;
    }
    snprintf(text, REPORT_FIGURE_SIZE, fabs(clean) < 10000 ? "%#.5g" : "%.0f", clean);
    return text;
}

const char *report_margin(double value, char text[REPORT_FIGURE_SIZE]) {
    snprintf(text, REPORT_FIGURE_SIZE, "%.12g", value);
    double clean = strtod(text, NULL);
    if (!says(clean, 4, text)) {
        snprintf(text, REPORT_FIGURE_SIZE, "%.2g", clean);
        snprintf(text, REPORT_FIGURE_SIZE, "%.15g", strtod(text, NULL));
    }
    return text;
}

const char *report_limits_text(const struct model_limits *limits, const char *unit,
                               char text[REPORT_LIMITS_SIZE]) {
    char min[REPORT_FIGURE_SIZE], max[REPORT_FIGURE_SIZE];
    const char *space = unit != NULL && unit[0] != '\0' ? " " : "";
    unit = unit != NULL ? unit : "";
    text[0] = '\0';
    if (limits->has_min && limits->has_max) {
        snprintf(text, REPORT_LIMITS_SIZE, " [limits: from %s to %s%s%.32s]",
                 report_figure(limits->min, min), report_figure(limits->max, max), space, unit);
    } else if (limits->has_min || limits->has_max) {
        snprintf(text, REPORT_LIMITS_SIZE, " [limit: %s %s%s%.32s]",
                 limits->has_min ? "at least" : "at most",
                 report_figure(limits->has_min ? limits->min : limits->max, min), space, unit);
    }
    return text;
}
