// Words of a scenario: cutting a line and reading durations and counts. Nothing is guessed: a
// number without its unit, or with anything behind it, is an error.
#include "simulator/words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DURATION_MAX_MS (24 * 3600 * 1000.0)
#define COUNT_MAX 1000000

bool sim_fail(struct sim_note *note, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(note->text, sizeof note->text, format, arguments);
    va_end(arguments);
    return false;
}

bool sim_done(struct sim_note *note, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(note->text, sizeof note->text, format, arguments);
    va_end(arguments);
    return true;
}

static bool is_blank(char c) {
    return c == ' ' || c == '\t' || c == '\r';
}

// Ends the word that starts at *cursor with a NUL and moves *cursor behind it.
static bool cut_word(char **cursor, const char **word, struct sim_note *note) {
    char *at = *cursor;
    if (*at == '"') {
        char *end = strchr(at + 1, '"');
        if (end == NULL) {
            return sim_fail(note, "a quote is open to the end of the line");
        }
        if (end[1] != '\0' && !is_blank(end[1])) {
            return sim_fail(note, "a closing quote needs a blank behind it");
        }
        *word = at + 1;
        at = end;
    } else {
        *word = at;
        while (*at != '\0' && !is_blank(*at)) {
            at++;
        }
    }
    *cursor = *at == '\0' ? at : at + 1;
    *at = '\0';
    return true;
}

static bool takes_rest(const char *verb) {
    return strcmp(verb, "raw") == 0 || strcmp(verb, "after") == 0;
}

bool sim_words_cut(struct sim_words *words, const char *line, struct sim_note *note) {
    words->count = 0;
    size_t length = strlen(line);
    while (length > 0 && (line[length - 1] == '\n' || is_blank(line[length - 1]))) {
        length--;
    }
    if (length >= SIM_LINE_SIZE) {
        return sim_fail(note, "the line is longer than %d bytes", SIM_LINE_SIZE - 1);
    }
    memcpy(words->storage, line, length);
    words->storage[length] = '\0';
    char *cursor = words->storage;
    for (;;) {
        while (is_blank(*cursor)) {
            cursor++;
        }
        bool rest = words->count == 2 && takes_rest(words->word[0]);
        if (*cursor == '\0' || (*cursor == '#' && !rest)) {
            return true;
        }
        if (words->count == SIM_WORDS_MAX) {
            return sim_fail(note, "more than %d words on a line", SIM_WORDS_MAX);
        }
        words->word[words->count] = cursor;
        if (!rest && !cut_word(&cursor, &words->word[words->count], note)) {
            return false;
        }
        words->count++;
        if (rest) {
            return true;
        }
    }
}

bool sim_is_id(const char *word) {
    size_t length = strlen(word);
    if (length == 0 || length >= SIM_ID_SIZE || !isalnum((unsigned char)word[0])) {
        return false;
    }
    for (const char *c = word; *c != '\0'; c++) {
        if (!isalnum((unsigned char)*c) && strchr("._-", *c) == NULL) {
            return false;
        }
    }
    return true;
}

// Milliseconds of a unit, 0 for none that is known.
static double unit_ms(const char *unit) {
    static const struct {
        const char *name;
        double ms;
    } units[] = {{"ms", 1}, {"s", 1000}, {"m", 60000}, {"h", 3600000}};
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(unit, units[i].name) == 0) {
            return units[i].ms;
        }
    }
    return 0;
}

bool sim_read_duration(const char *word, bool sign, int64_t *ms, struct sim_note *note) {
    const char *digits = sign && (*word == '+' || *word == '-') ? word + 1 : word;
    size_t length = strspn(digits, "0123456789.");
    double unit = unit_ms(digits + length);
    char *end = NULL;
    double number = length > 0 ? strtod(digits, &end) : NAN;
    if (unit <= 0 || !isfinite(number) || end != digits + length) {
        return sim_fail(note, "\"%.40s\" is no duration: write a number and ms, s, m or h", word);
    }
    if (number * unit > DURATION_MAX_MS) {
        return sim_fail(note, "\"%.40s\" is longer than 24 h", word);
    }
    int64_t rounded = llround(number * unit);
    *ms = *word == '-' ? -rounded : rounded;
    return true;
}

bool sim_read_count(const char *word, int64_t *count, struct sim_note *note) {
    size_t length = strspn(word, "0123456789");
    if (length == 0 || length > 7 || word[length] != '\0') {
        return sim_fail(note, "\"%.40s\" is no whole number from 0 to %d", word, COUNT_MAX);
    }
    *count = strtoll(word, NULL, 10);
    if (*count > COUNT_MAX) {
        return sim_fail(note, "\"%.40s\" is more than %d", word, COUNT_MAX);
    }
    return true;
}
