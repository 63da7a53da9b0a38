// One table of the sum's numbers serves both directions.
#include "wire/fact_fuel.h"

#include "wire/tell_member.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const struct {
    const char *name;
    size_t offset;
} numbers[] = {
    {"drawn", offsetof(struct gate_fuel_sum, drawn)},
    {"returned", offsetof(struct gate_fuel_sum, returned)},
    {"kept", offsetof(struct gate_fuel_sum, kept)},
    {"unaccounted", offsetof(struct gate_fuel_sum, unaccounted)},
    {"tolerance", offsetof(struct gate_fuel_sum, tolerance)},
};

void wire_fact_write_sum_members(struct json_out *out, const struct gate_fuel_sum *sum) {
    for (size_t i = 0; i < COUNT(numbers); i++) {
        wire_number(out, numbers[i].name, true,
                    *(const double *)((const char *)sum + numbers[i].offset));
    }
    wire_text(out, "unit", sum->unit);
    wire_flag(out, "accounted", sum->accounted);
}

void wire_fact_write_sum(struct json_out *out, const struct gate_fuel_sum *sum) {
    json_out_object(out);
    wire_fact_write_sum_members(out, sum);
    json_out_object_end(out);
}

bool wire_fact_read_sum(const struct wire_fact_reader *reader, const struct json_node *node,
                        const struct gate_fuel_sum **sum) {
    struct gate_fuel_sum *made = wire_fact_arena_array(reader->arena, 1, sizeof *made);
    if (made == NULL || node->kind != JSON_OBJECT) {
        return false;
    }
    *sum = made;
    for (size_t i = 0; i < COUNT(numbers); i++) {
        const struct json_node *number = json_member(reader->tape, node, numbers[i].name);
        if (number == NULL ||
            !json_double(reader->tape, number, (double *)((char *)made + numbers[i].offset))) {
            return false;
        }
    }
    const struct json_node *accounted = json_member(reader->tape, node, "accounted");
    made->accounted = accounted != NULL && accounted->kind == JSON_TRUE;
    return wire_fact_read_text(reader, json_member(reader->tape, node, "unit"), &made->unit);
}
