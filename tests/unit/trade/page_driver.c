// Prints the part of docs/trade.md that the code can write: every rule with its formula, readings,
// limits and sources, each source as a worked example gives it.
#include "given.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Examples of each rule, one for each limit that has a source of its own.
static const struct {
    const char *rule, *line;
} examples[] = {
    {"pass-fail", "pass=true"},
    {"range", "value=0.4 max=1"},
    {"pressure-decay", "system=assist nozzles=6 ullage_gal=1000 initial_inwc=2.0 final_inwc=1.20"},
    {"pressure-decay", "system=assist nozzles=12 ullage_gal=1000 initial_inwc=2.0 final_inwc=1.20"},
    {"pressure-decay", "system=assist nozzles=18 ullage_gal=1000 initial_inwc=2.0 final_inwc=1.20"},
    {"pressure-decay", "system=balance nozzles=6 ullage_gal=1000 initial_inwc=2.0 final_inwc=0.95"},
    {"pressure-decay", "basis=federal ullage_gal=1000 initial_inwc=2.0 final_inwc=1.22"},
    {"vacuum-decay", "start_inwc=8 final_inwc=5.5"},
    {"vessel-decay", "initial_inwc=2.00 final_inwc=1.77"},
    {"back-pressure", "flow_cfh=40 pressure_inwc=0.15"},
    {"back-pressure", "flow_cfh=60 pressure_inwc=0.34"},
    {"back-pressure", "flow_cfh=80 pressure_inwc=0.62"},
    {"vapor-liquid-ratio",
     "meter_factor=1 vapor_initial_ft3=100 vapor_final_ft3=100.64 liquid_gal=4.75 flow_gpm=8"},
    {"vapor-liquid-ratio", "meter_factor=1 vapor_initial_ft3=100 vapor_final_ft3=100.64 "
                           "liquid_gal=4.75 flow_gpm=8 min=0.95 max=1.05"},
    {"liquid-removal", "initial_ml=150 final_ml=90 dispensed_gal=10"},
    {"flow-rate", "volume_gal=5 seconds=32"},
    {"flow-rate", "volume_gal=5 seconds=32 max=9"},
    {"continuity", "criterion=parts ohms=2000000 pieces=3 hose_ft=13"},
    {"continuity", "criterion=chain ohms=1000000"},
    {"hose-length", "length_ft=16.5"},
    {"meter-draft", "tolerance=maintenance draft_gal=5 error1_in3=-4"},
    {"meter-draft", "tolerance=acceptance draft_gal=5 error1_in3=-4"},
    {"meter-draft", "tolerance=acceptance draft_gal=5 error1_in3=-2 error2_in3=-3 error3_in3=-1"},
    {"leak-detector", "ml=189 seconds=60 psi=10 tripped=true"},
    {"spill", "quantity_gal=25 sheen=false hours=2"},
    {"spill", "quantity_gal=1 sheen=true hours=2"},
    {"torque-applied", "reading_ftlb=27.2 wrench_in=12 adapter_in=3 min=32 max=36"},
    {"torque", "target_ftlb=34 wrench_in=12 adapter_in=6 wrench_max_ftlb=150"},
    {"inventory", "throughput_gal=10000"},
    {"volume-at-15C", "density_kgm3=740 temperature_c=25"},
};

// What the method holds for, and where that is from; nothing of a reading without a bound.
static void valid_print(const struct trade_reading *reading) {
    const struct model_limits *valid = &reading->valid;
    const char *unit = trade_unit_symbol(reading->unit), *space = unit[0] != '\0' ? " " : "";

    if (valid->has_min && valid->has_max) {
        printf("%g to %g%s%s", valid->min, valid->max, space, unit);
    } else if (valid->has_min || valid->has_max) {
        printf("at %s %g%s%s", valid->has_min ? "least" : "most",
               valid->has_min ? valid->min : valid->max, space, unit);
    }
    if (reading->valid_by != NULL) {
        printf(" (%s)", reading->valid_by);
    }
}

static void readings_print(const struct trade_rule *rule) {
    printf(
        "| reading | SI twin | what | | the method holds for |\n| --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < rule->reading_count; i++) {
        const struct trade_reading *reading = &rule->readings[i];
        printf("| `%s` | %s%s%s | %s | %s%s%s | ", reading->name, reading->twin != NULL ? "`" : "",
               reading->twin != NULL ? reading->twin : "", reading->twin != NULL ? "`" : "",
               reading->title, reading->words != NULL ? "one of: " : "",
               reading->words != NULL ? reading->words : "",
               reading->optional ? (reading->words != NULL ? "; optional" : "optional") : "");
        valid_print(reading);
        printf(" |\n");
    }
    printf("\n");
}

// One end of the rule's own limits, "at most 10 gpm".
static void end_print(const char *between, const char *words, double end, const char *unit) {
    printf("%s%s %.10g%s%s", between, words, end, unit[0] != '\0' ? " " : "", unit);
}

// What a rule holds a value to by itself; nothing of rules that have no limit of their own.
static bool own_print(const struct trade_rule *rule) {
    const char *unit = trade_unit_symbol(rule->unit);

    if (rule->own.has_min) {
        end_print("", "at least", rule->own.min, unit);
    }
    if (rule->own.has_max) {
        end_print(rule->own.has_min ? ", " : "", "at most", rule->own.max, unit);
    }
    if (rule->own_moves) {
        printf("%sby what is read",
               rule->own.has_min || rule->own.has_max ? " where it is loosest; " : "");
    }
    return rule->own.has_min || rule->own.has_max || rule->own_moves;
}

static const char *limits_said(enum trade_limits_use limits) {
    switch (limits) {
    case TRADE_LIMITS_NEEDED:
        return "are the limits";
    case TRADE_LIMITS_GIVEN:
        return "are the limits; one at least is required";
    case TRADE_LIMITS_REPLACE:
        return "each replace the rule's own";
    case TRADE_LIMITS_TIGHTEN:
        return "may tighten it";
    case TRADE_LIMITS_NONE:
        break;
    }
    return "refused";
}

static void rules_print(void) {
    printf("| rule | its own limit | a procedure's `min` and `max` |\n| --- | --- | --- |\n");
    for (size_t i = 0; trade_rule_at(i) != NULL; i++) {
        const struct trade_rule *rule = trade_rule_at(i);
        printf("| `%s` | ", rule->rule);
        if (!own_print(rule)) {
            printf("none");
        }
        printf(" | %s%s |\n", limits_said(rule->limits),
               rule->certified ? "; both are required" : "");
    }
    printf("\n");
}

static void example_print(const char *rule, const char *line) {
    struct model_result result;
    struct trade_working working;
    struct trade_error error;

    if (!given_calculate(rule, line, &result, &working, &error)) {
        fprintf(stderr, "page_driver: %s %s: %s\n", rule, line, error.what);
        exit(1);
    }
    printf("    forelock calc %s %s\n\n", rule, line);
    printf("- formula: `%s`\n", result.formula);
    if (working.put[0] != '\0') {
        printf("- worked: `%s`\n", working.put);
    }
    if (result.has_margin) {
        const char *unit = working.unit != TRADE_NO_UNIT ? trade_unit_symbol(working.unit) : "";
        printf("- margin: %.6g%s%s\n", result.margin, unit[0] != '\0' ? " " : "", unit);
    }
    printf("- verdict: %s\n", !result.has_pass ? "none, a figure"
                              : result.pass    ? "passes"
                                               : "fails");
    if (result.source[0] != '\0') {
        printf("- source: %s\n", result.source);
    }
    if (working.note[0] != '\0') {
        printf("- note: %s\n", working.note);
    }
    for (size_t i = 0; i < result.caution_count; i++) {
        printf("- caution: %s\n", result.cautions[i].text);
    }
    printf("\n");
}

// The fewest digits that make the same figure again.
static const char *shortest(double figure, char text[32]) {
    for (int digits = 6; digits <= 17; digits++) {
        snprintf(text, 32, "%.*g", digits, figure);
        if (strtod(text, NULL) == figure) {
            break;
        }
    }
    return text;
}

// The names of the rules that a test may have, one a line.
static void names_print(void) {
    for (size_t i = 0; trade_rule_at(i) != NULL; i++) {
        if (trade_rule_known(trade_rule_at(i)->rule)) {
            printf("%s\n", trade_rule_at(i)->rule);
        }
    }
}

// Every name that the pages may have a word for: "rule.x", "reading.y", "choice.z".
static void keys_print(void) {
    for (size_t i = 0; trade_rule_at(i) != NULL; i++) {
        const struct trade_rule *rule = trade_rule_at(i);
        printf("rule.%s\nhint.%s\n", rule->rule, rule->rule);
        for (size_t k = 0; k < rule->reading_count; k++) {
            const char *word = rule->readings[k].words;
            printf("reading.%s\n", rule->readings[k].name);
            while (word != NULL && *word != '\0') {
                size_t length = strcspn(word, " ");
                printf("choice.%.*s\n", (int)length, word);
                word += length + (word[length] == ' ');
            }
        }
    }
}

static void page_print(void) {
    char text[32];

    rules_print();
    for (size_t i = 0; trade_rule_at(i) != NULL; i++) {
        const struct trade_rule *rule = trade_rule_at(i);
        printf("### `%s`: %s\n\n`%s`\n\n", rule->rule, rule->title, rule->formula);
        printf("%s%s\n\n", trade_limits_words(rule->limits),
               rule->calc_only != NULL ? " For the calculator alone: it gives a figure, no verdict."
                                       : "");
        readings_print(rule);
        for (size_t k = 0; k < sizeof examples / sizeof examples[0]; k++) {
            if (strcmp(examples[k].rule, rule->rule) == 0) {
                example_print(rule->rule, examples[k].line);
            }
        }
    }
    printf("### Units\n\n| unit | SI | factor |\n| --- | --- | --- |\n");
    for (enum trade_unit unit = TRADE_NO_UNIT; unit < TRADE_UNIT_COUNT; unit++) {
        if (trade_unit_si(unit) != NULL) {
            printf("| %s | %s | %s |\n", trade_unit_symbol(unit), trade_unit_si(unit),
                   shortest(trade_unit_factor(unit), text));
        }
    }
}

int main(int argc, char **argv) {
    if (argc > 1 && strcmp(argv[1], "names") == 0) {
        names_print();
    } else if (argc > 1 && strcmp(argv[1], "keys") == 0) {
        keys_print();
    } else {
        page_print();
    }
    return 0;
}
