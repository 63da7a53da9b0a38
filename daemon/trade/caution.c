// The sentences of cautions, made of their figures.
#include "trade/caution.h"

#include <stdio.h>
#include <string.h>

#define ROW(id, name, words) [TRADE_CAUTION_##id] = {name, words},
static const struct { const char *name, *words; } rows[TRADE_CAUTION_COUNT] = {TRADE_CAUTIONS(ROW)};
#undef ROW

// The figure that the words begin with, as "{max}", and where they go on; NULL: they begin with
// none that is given, which is then said as it is written.
static const char *figure_at(const char *words, const struct model_caution *caution,
                             double *figure) {
    const struct {
        const char *name;
        bool has;
        double value;
    } figures[] = {
        {"{value}", caution->has_value, caution->value},
        {"{min}", caution->has_min, caution->min},
        {"{max}", caution->has_max, caution->max},
    };
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        size_t length = strlen(figures[i].name);
        if (figures[i].has && strncmp(words, figures[i].name, length) == 0) {
            *figure = figures[i].value;
            return words + length;
        }
    }
    return NULL;
}

struct model_caution trade_caution_make(enum trade_caution caution,
                                        const struct model_caution *figures) {
    struct model_caution made = figures != NULL ? *figures : (struct model_caution){0};
    const char *words = rows[caution].words;
    size_t used = 0;

    snprintf(made.say, sizeof made.say, "%s", rows[caution].name);
    while (*words != '\0' && used + 1 < sizeof made.text) {
        double figure;
        const char *next = figure_at(words, &made, &figure);
        if (next == NULL) {
            made.text[used++] = *words++;
            continue;
        }
        int length = snprintf(made.text + used, sizeof made.text - used, "%.10g", figure);
        used +=
            (size_t)length < sizeof made.text - used ? (size_t)length : sizeof made.text - used - 1;
        words = next;
    }
    made.text[used] = '\0';
    return made;
}
