// Inside the trade only: what the rules' own files share. See trade.h for the outside.
#pragma once

#include "trade/caution.h"
#include "trade/trade.h"

// One reading as taken: in the unit of its row, and as it was given.
struct trade_input {
    double given;  // the number as given
    double value;  // in the unit of the row
    double slack;  // how far the conversion may have moved it
    unsigned word; // index among the row's words
    bool flag;
    bool present;
    bool as_twin; // given in SI
    bool of_site; // not given: the site's file says it
};

// What a rule's own code makes of its inputs. Zeroed before.
struct trade_outcome {
    bool has_value;
    double value;
    double per_reading;         // how many times the error of what was read is in it; 0: once
    double slack;               // how far the arithmetic may have moved value and limits
    struct model_limits limits; // the rule's own, of these readings; the row's own before
    bool has_pass;              // set by rules without limits
    bool pass;
    bool failed_beside; // something beside the value fails it, whatever its margin
    enum trade_unit unit;
    bool as_read; // nobody asks for a unit: the figure may be in the one that was read
    char formula[128];
    char method[160];       // where the formula comes from
    char limit_source[160]; // where the rule's own limits come from
    struct model_caution cautions[MODEL_CAUTIONS_MAX];
    size_t caution_count;
    struct model_doubt doubts[MODEL_DOUBTS_MAX];
    size_t doubt_count;
    struct trade_working working;
};

// Works a rule out. inputs stand in the order of the rule's readings. False: error is set.
typedef bool trade_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                        struct trade_error *error);

// Holds what was read against what the site's file says, and fills in what was not.
typedef void trade_site(const struct model_vapor *vapor, struct trade_input *inputs,
                        struct trade_outcome *outcome);

// One row of the rule table.
struct trade_row {
    struct trade_rule about;
    trade_work *work;
    trade_site *site; // NULL: it takes nothing that the site's file says
};

// Every rule, in the order in which help and documents list them: trade/rule/<name>.c holds the
// row.
#define TRADE_RULES(ROW)                                                                           \
    ROW(pass_fail)                                                                                 \
    ROW(range)                                                                                     \
    ROW(pressure_decay)                                                                            \
    ROW(vacuum_decay)                                                                              \
    ROW(vessel_decay)                                                                              \
    ROW(back_pressure)                                                                             \
    ROW(vapor_liquid_ratio)                                                                        \
    ROW(liquid_removal)                                                                            \
    ROW(flow_rate)                                                                                 \
    ROW(continuity)                                                                                \
    ROW(hose_length)                                                                               \
    ROW(meter_draft)                                                                               \
    ROW(leak_detector)                                                                             \
    ROW(spill)                                                                                     \
    ROW(torque_applied)                                                                            \
    ROW(torque)                                                                                    \
    ROW(inventory)                                                                                 \
    ROW(volume_at_15C)

#define TRADE_RULE_DECLARE(name) extern const struct trade_row trade_row_##name;
TRADE_RULES(TRADE_RULE_DECLARE)
#undef TRADE_RULE_DECLARE

// What is said of every figure that was not read in its rule's own text.
#define TRADE_FROM_MEMORY "from memory, unverified"

// The length of an array.
#define TRADE_COUNT_OF(array) (sizeof(array) / sizeof((array)[0]))

// Matches readings with the rule's rows, converts and checks them; inputs has reading_count places.
// False: error names the reading.
bool trade_inputs_take(const struct trade_rule *rule, const struct model_reading *readings,
                       size_t count, struct trade_input *inputs, struct trade_error *error);
// The site's word, number or most for a reading (site.c). A word of NULL and a number of 0 say
// nothing; a most is no reading, and is filled in nowhere.
void trade_site_word(const struct trade_reading *row, const char *word, struct trade_input *input,
                     struct trade_outcome *outcome);
void trade_site_count(const struct trade_reading *row, unsigned count, struct trade_input *input,
                      struct trade_outcome *outcome);
void trade_site_most(const struct trade_reading *row, double most, const struct trade_input *input,
                     struct trade_outcome *outcome);
// The same of a reading that is not taken where the site's word is this.
void trade_site_none(const struct trade_reading *row, const char *word,
                     const struct trade_input *input, struct trade_outcome *outcome);
// The index of text among words that one space separates; false if it is none of them.
bool trade_word_index(const char *words, const char *text, unsigned *index);
// The word of an index.
void trade_word_at(const char *words, unsigned index, char *word, size_t size);
// Sets error and returns false. reading may be NULL.
bool trade_fail(struct trade_error *error, const char *reading, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// True for a finite figure; else sets an error that blames the reading.
bool trade_figure_usable(double figure, const char *reading, struct trade_error *error);
// L + E*cos a: how far from the fastener the hand pulls, in the unit of both lengths; degrees.
double trade_torque_reach(double wrench, double adapter, double degrees);
// The name under which a reading was given.
const char *trade_given_name(const struct trade_reading *reading, const struct trade_input *input);
// Appends to a text, cut at its size.
void trade_say(char *text, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// Adds what needs a person's eye; `figures` as TRADE_FIGURES, NULL: its sentence takes none.
void trade_outcome_caution(struct trade_outcome *outcome, enum trade_caution caution,
                           const struct model_caution *figures);
// Lists each reading that is outside what the method holds for.
void trade_inputs_doubt(const struct trade_rule *rule, const struct trade_input *inputs,
                        struct trade_outcome *outcome);
