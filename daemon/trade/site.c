// What the site's file says of a reading: where none was given it stands in, and where another was
// given nothing is judged, for one of the two is wrong.
#include "trade/rule.h"

#include <stdio.h>

// A doubt of a reading, with nothing said of what is needed and found.
static struct model_doubt doubt_of(const struct trade_reading *row,
                                   const struct trade_input *input) {
    struct model_doubt doubt = {
        .of_site = true, .unit = trade_unit_symbol(row->unit), .source = "the site's file"};

    snprintf(doubt.reading, sizeof doubt.reading, "%s", trade_given_name(row, input));
    return doubt;
}

static void doubt_put(const struct model_doubt *doubt, struct trade_outcome *outcome) {
    if (outcome->doubt_count < MODEL_DOUBTS_MAX) { // no rule takes as many readings
        outcome->doubts[outcome->doubt_count++] = *doubt;
    }
}

// Rule (8, pressure-decay): A word that the site's file says otherwise is refused.
// [site-word-contradicted]
// Rule (8, pressure-decay): What was not read is what the site's file says. [site-word-not-filled]
void trade_site_word(const struct trade_reading *row, const char *word, struct trade_input *input,
                     struct trade_outcome *outcome) {
    unsigned index;

    if (word == NULL || !trade_word_index(row->words, word, &index)) {
        return;
    }
    if (!input->present) {
        input->present = input->of_site = true;
        input->word = index;
    } else if (input->word != index) {
        struct model_doubt doubt = doubt_of(row, input);
        snprintf(doubt.need, sizeof doubt.need, "%s", word);
        trade_word_at(row->words, input->word, doubt.found, sizeof doubt.found);
        doubt_put(&doubt, outcome);
    }
}

// Rule (8, pressure-decay): A number that the site's file says otherwise is refused.
// [site-count-contradicted]
void trade_site_count(const struct trade_reading *row, unsigned count, struct trade_input *input,
                      struct trade_outcome *outcome) {
    if (count == 0) {
        return;
    }
    if (!input->present) {
        input->present = input->of_site = true;
        input->given = input->value = count;
    } else if (input->value != count) {
        struct model_doubt doubt = doubt_of(row, input);
        snprintf(doubt.need, sizeof doubt.need, "%u", count);
        snprintf(doubt.found, sizeof doubt.found, "%.10g", input->given);
        doubt_put(&doubt, outcome);
    }
}

// Rule (8, pressure-decay): More ullage than the site's tanks hold is refused.
// [more-than-the-tanks]
void trade_site_most(const struct trade_reading *row, double most, const struct trade_input *input,
                     struct trade_outcome *outcome) {
    double factor = input->as_twin ? trade_unit_factor(row->unit) : 1;

    if (input->present && input->value - input->slack > most) {
        struct model_doubt doubt = doubt_of(row, input);
        doubt.has_value = true;
        doubt.value = input->given;
        doubt.limits = (struct model_limits){.has_max = true, .max = most * factor};
        doubt.unit = input->as_twin ? trade_unit_si(row->unit) : trade_unit_symbol(row->unit);
        snprintf(doubt.need, sizeof doubt.need, "at most %.6g %s", most * factor, doubt.unit);
        snprintf(doubt.found, sizeof doubt.found, "%.10g %s", input->given, doubt.unit);
        doubt_put(&doubt, outcome);
    }
}

// Rule (8, pressure-decay): What the basis of the site's file does not take is refused.
// [site-takes-none]
void trade_site_none(const struct trade_reading *row, const char *word,
                     const struct trade_input *input, struct trade_outcome *outcome) {
    if (input->present) {
        struct model_doubt doubt = doubt_of(row, input);
        snprintf(doubt.need, sizeof doubt.need, "none, by the basis %s", word);
        if (row->kind == TRADE_WORD) {
            trade_word_at(row->words, input->word, doubt.found, sizeof doubt.found);
        } else {
            snprintf(doubt.found, sizeof doubt.found, "%.10g", input->given);
        }
        doubt_put(&doubt, outcome);
    }
}
