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

void wire_fact_write_sums(struct json_out *out, const struct gate_fuel_of *fuel, size_t count) {
    json_out_array(out);
    for (size_t i = 0; i < count; i++) {
        json_out_object(out);
        wire_text(out, "product", fuel[i].product);
        wire_fact_write_sum_members(out, &fuel[i].sum);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static bool read_members(const struct wire_fact_reader *reader, const struct json_node *node,
                         struct gate_fuel_sum *made) {
    if (node->kind != JSON_OBJECT) {
        return false;
    }
    for (size_t i = 0; i < COUNT(numbers); i++) {
        const struct json_node *number = json_member(reader->tape, node, numbers[i].name);
        if (number == NULL ||
            !json_double(reader->tape, number, (double *)((char *)made + numbers[i].offset))) {
            return false;
        }
    }
    const struct json_node *accounted = json_member(reader->tape, node, "accounted");
    made->accounted = accounted != NULL && accounted->kind == JSON_TRUE;
    return wire_fact_read_into(reader, node, "unit", made->unit, sizeof made->unit) &&
           made->unit[0] != '\0';
}

bool wire_fact_read_sum(const struct wire_fact_reader *reader, const struct json_node *node,
                        const struct gate_fuel_sum **sum) {
    struct gate_fuel_sum *made = wire_fact_arena_array(reader->arena, 1, sizeof *made);
    *sum = made;
    return made != NULL && read_members(reader, node, made);
}

bool wire_fact_read_sums(const struct wire_fact_reader *reader, const struct json_node *node,
                         const struct gate_fuel_of **fuel, size_t *count) {
    void *items;
    if (!wire_fact_open_array(reader, node, sizeof **fuel, &items, count)) {
        return false;
    }
    struct gate_fuel_of *all = items;
    const struct json_node *item = *count > 0 ? json_first(reader->tape, node) : NULL;
    for (size_t i = 0; i < *count; i++, item = json_next(reader->tape, node, item)) {
        if (!read_members(reader, item, &all[i].sum) ||
            !wire_fact_read_into(reader, item, "product", all[i].product, sizeof all[i].product)) {
            return false;
        }
    }
    *fuel = all;
    return true;
}
