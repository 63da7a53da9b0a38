// The trade's test rules: readings in, value, limit, margin and verdict out. Pure; every formula
// names its source; nothing is rounded before it is compared, and equality passes.
//
// Readings are taken in US customary units, or as their SI twins (final_inwc or final_pa). Two
// figures count as equal when they differ by no more than the binary arithmetic between them can
// err (a few units in the last place): so 0.95 worked out of decimal readings meets a limit of
// 0.95, and both spellings of one reading get one verdict. No measurement is that fine.
#pragma once

#include "model/result.h"
#include "trade/units.h"

#include <float.h>

// The relative error that a handful of operations on doubles can make.
#define TRADE_ROUNDING (8 * DBL_EPSILON)

struct trade_error {
    char reading[32]; // the reading that is missing, unknown or impossible; "" for the whole
    char what[160];   // one plain sentence
};

enum trade_kind {
    TRADE_NUMBER,
    TRADE_COUNT, // a whole number
    TRADE_FLAG,
    TRADE_WORD, // one of some words
};

// One reading that a rule takes.
struct trade_reading {
    const char *name;     // "ullage_gal"
    const char *twin;     // the SI spelling, "ullage_l", or NULL
    const char *title;    // for people
    const char *words;    // of TRADE_WORD: the choices, one space between
    enum trade_kind kind; // what it must be
    enum trade_unit unit; // of name; twin is in its SI unit
    double min, max;      // what is possible, in unit, both included
    bool above_min;       // min itself is impossible
    bool optional;        // may be left out (the rule says when it may not)
    // What the method holds for, in unit, both included; outside it nothing is judged. Where it has
    // a bound, valid_by is its source.
    struct model_limits valid;
    const char *valid_by;
};

// What a procedure's min and max do to a rule's limits.
enum trade_limits_use {
    TRADE_LIMITS_NONE,   // the rule has no limits; to give some is an error
    TRADE_LIMITS_NEEDED, // they are the limits, in the procedure's unit; one at least must be given
    // As the ones before in the procedure, and left out at will in the calculator; in the rule's
    // unit, or in the one that a procedure names (trade_rule_unit).
    TRADE_LIMITS_GIVEN,
    // Each replaces the rule's own, which is one certification's, or from memory, unverified.
    TRADE_LIMITS_REPLACE,
    // The stricter of the procedure's and the rule's own holds, whatever is read: the rule's own is
    // published, or follows from the readings, where no one figure could take its place.
    TRADE_LIMITS_TIGHTEN,
};

// What people and pages need to know of a rule.
struct trade_rule {
    const char *rule; // its name
    const char *title;
    const char *formula;
    const struct trade_reading *readings;
    size_t reading_count;
    enum trade_unit unit;       // of value, limits and margin (of a twin of torque: its SI unit)
    enum trade_unit other_unit; // in which a procedure may have them too; TRADE_NO_UNIT: none
    enum trade_limits_use limits;
    // The rule's own limits are one certification's: a procedure gives both of its own, and the
    // calculator says that it took those.
    bool certified;
    bool exceeds; // a value that only meets the rule's own limit fails: "more than", not "at least"
    // The rule's own limits. Where the readings move them (own_moves), the loosest that any
    // readings give; an end that has no loosest is left out.
    struct model_limits own;
    bool own_moves;
    struct model_limits possible; // what value can be at all
    // Of a figure for the calculator, which is no test: what a person does with it ("Set the wrench
    // to") and the kind of instrument that does it. NULL: a test.
    const char *calc_only;
    const char *set_with;
};

// How a result came about, for a person who wants to follow it.
struct trade_working {
    enum trade_unit unit; // of value, limits and margin
    char put[192];        // the formula with the numbers put in
    char note[256];       // what else the method asks for; "" for nothing
};

// The rules, one by one from index 0; NULL past the last.
const struct trade_rule *trade_rule_at(size_t index);
// A rule by name, the calculator's own included; NULL if there is none.
const struct trade_rule *trade_rule_find(const char *rule);
// Whether a rule of this name exists for tests (some are for the calculator alone).
bool trade_rule_known(const char *rule);
// The unit of a test's value, limits and margin as people write it: the one that the procedure
// names (NULL: none), else the rule's; NULL where there is none.
const char *trade_value_unit(const char *rule, const char *named);
// What a procedure's min and max do, in one sentence for people.
const char *trade_limits_words(enum trade_limits_use use);
// The unit of value and limits of a test: what it names (NULL: nothing) or the rule's own.
// TRADE_NO_UNIT also where it names a unit that the rule does not take.
enum trade_unit trade_rule_unit(const struct trade_rule *rule, const char *named);
// What a torque wrench that reads so applies at the fastener: reading*(L + E*cos a)/L, in the
// unit of the reading. wrench is L, from its drive to the center of the grip, over 0; adapter is
// E, negative where it shortens, in the unit of wrench; degrees is the angle between them. Not
// over 0: the adapter takes away the whole wrench. Source: as that of the rule torque.
double trade_torque_applied(double reading, double wrench, double adapter, double degrees);
// Whether a procedure may hold a test by the rule to these limits: it may tighten what the rule
// publishes, never loosen it, and something must be able to pass. What only the readings decide is
// allowed: trade_evaluate takes the stricter. False: error.reading is "min" or "max", whichever is
// wrong (also where one is missing).
bool trade_limits_allowed(const struct trade_rule *rule, const struct model_limits *given,
                          struct trade_error *error);
// Whether a procedure gives the limits that the rule leaves to it. False: error.reading is the end
// that is missing ("min" where either would do).
bool trade_limits_complete(const struct trade_rule *rule, const struct model_limits *given,
                           struct trade_error *error);
// The limits that hold where a procedure says nothing and that its own replace: none of most rules.
// For model_test, which does not know the rules.
struct model_limits trade_limits_replaced(const char *rule);
// The reading of a rule by its US customary name; NULL if it takes none such.
const struct trade_reading *trade_reading_find(const struct trade_rule *rule, const char *name);
// The same by that or its SI name; `unit` is that of the name, NULL where it has none.
const struct trade_reading *trade_reading_given(const struct trade_rule *rule, const char *name,
                                                const char **unit);
// Whether a text is one of the reading's words.
bool trade_word_known(const struct trade_reading *reading, const char *text);
// Evaluates a test. Readings are matched by name, in US customary or SI spelling, never both.
// False: a reading is missing, unknown, of the wrong kind or impossible; result is then untouched.
// vapor is what the site's file says (NULL: nothing): a reading of it that was not given is filled
// in, and stands among the result's inputs; one that was given otherwise is a doubt.
// A result with doubts has no verdict: its readings are possible, and the method does not hold.
bool trade_evaluate(const struct model_test *test, const struct model_vapor *vapor,
                    const struct model_reading *readings, size_t count, struct model_result *result,
                    struct trade_error *error);
// Says what the expanded uncertainty of a reading, in a unit, makes of the verdict: the result's
// uncertainty, decision and source. unit is that of the result's value. False: the uncertainty is
// in a unit of another kind, or the result has no margin; the result is then as it was.
bool trade_decide(double uncertainty, const char *of, const char *unit,
                  struct model_result *result);
// The same for the calculator: takes the rules that are no tests too, and explains (working may be
// NULL). False: as above; result and working are then untouched.
bool trade_calculate(const struct model_test *test, const struct model_vapor *vapor,
                     const struct model_reading *readings, size_t count,
                     struct model_result *result, struct trade_working *working,
                     struct trade_error *error);
