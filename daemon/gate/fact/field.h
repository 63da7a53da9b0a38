// The fields of a fact, one line each: what the journal's JSON, the rows' masks and the sentences
// read and write a fact by.
#pragma once

#include <stdint.h>

#include "gate/fact.h"
#include "gate/fact/spelling.h"

// In the order in which they are written. FIELD(member, kind); NAME(member, spelling) is an enum.
// AS(member, key, kind) is written under another key than its member's, which another field may
// have as well: which of them is meant, a fact's row says by what it carries.
// clang-format off
#define GATE_FACT_FIELDS(FIELD, NAME, AS)\
    FIELD(job, ALWAYS)                  \
    FIELD(position, ALWAYS)             \
    FIELD(at, AT)                       \
    FIELD(evidence, EVIDENCE)           \
    FIELD(point, TEXT)                  \
    FIELD(person, TEXT)                 \
    FIELD(by, TEXT)                     \
    FIELD(verb, TEXT)                   \
    FIELD(procedure, TEXT)              \
    FIELD(kit_family, TEXT)             \
    FIELD(part, TEXT)                   \
    FIELD(defect, TEXT)                 \
    FIELD(note, TEXT)                   \
    FIELD(check, TEXT)                  \
    FIELD(test, TEXT)                   \
    FIELD(value, NUMBER)                \
    FIELD(unit, TEXT)                   \
    FIELD(reading, NUMBER)              \
    FIELD(reading_unit, TEXT)           \
    FIELD(instrument, TEXT)             \
    FIELD(pass, FLAG)                   \
    FIELD(result, RESULT)               \
    FIELD(badge, TEXT)                  \
    FIELD(to, TEXT)                     \
    FIELD(with, TEXT)                   \
    FIELD(alarm, TEXT)                  \
    NAME(kind, alarm_kinds)             \
    NAME(alarm_state, alarm_states)     \
    NAME(state, point_states)           \
    NAME(trust, trusts)                 \
    NAME(phase, phases)                 \
    NAME(lockout, lockouts)             \
    NAME(cause, causes)                 \
    NAME(why, codes)                    \
    FIELD(count, COUNT)                 \
    FIELD(subject, TEXT)                \
    FIELD(sensor, TEXT)                 \
    FIELD(say, TEXT)                    \
    FIELD(args, ARGS)                   \
    FIELD(reason, TEXT)                 \
    FIELD(counts, FLAG)                 \
    FIELD(overseer, FLAG)               \
    FIELD(takes_dispenser, YES)         \
    FIELD(absent, YES)                  \
    FIELD(listed, YES)                  \
    FIELD(seen_off, YES)                \
    FIELD(untold, YES)                  \
    FIELD(reader, YES)                  \
    FIELD(adopted, YES)                 \
    FIELD(made_safe, YES)               \
    FIELD(beside, YES)                  \
    FIELD(waited, YES)                  \
    FIELD(pause, YES)                   \
    FIELD(hung, TIME)                   \
    FIELD(until, TIME)                  \
    FIELD(jobs, TEXTS)                  \
    FIELD(points, TEXTS)                \
    AS(reader_of, "reader", TEXT)       \
    AS(trusted_why, "why", TEXT)        \
    FIELD(boot, TEXT)                   \
    FIELD(version, TEXT)                \
    FIELD(text, TEXT)                   \
    FIELD(expected, TIME)               \
    FIELD(moved, COUNT)                 \
    FIELD(url, TEXT)                    \
    FIELD(sha256, TEXT)                 \
    FIELD(title, TEXT)                  \
    FIELD(product, TEXT)                \
    FIELD(drawn, NUMBER)                \
    FIELD(returned, NUMBER)             \
    FIELD(tank, TEXT)                   \
    FIELD(kept, NUMBER)                 \
    FIELD(totalizer_before, NUMBER)     \
    FIELD(totalizer_after, NUMBER)      \
    FIELD(sum, SUM)                     \
    FIELD(fuel, SUMS)                   \
    FIELD(family, TEXT)                 \
    FIELD(serial, TEXT)                 \
    FIELD(due, TEXT)                    \
    FIELD(fitted, TIME)                 \
    FIELD(spill, TEXT)                  \
    FIELD(quantity, NUMBER)             \
    FIELD(sheen, YES)                   \
    FIELD(cleaned, TIME)                \
    FIELD(report_due, TIME)             \
    FIELD(reference, TEXT)              \
    FIELD(requirements, NEEDS)          \
    FIELD(refusals, REFUSALS)
// clang-format on

enum gate_fact_field_kind {
    GATE_FACT_KIND_AT,       // the wall clock of `at`
    GATE_FACT_KIND_ALWAYS,   // const char *, NULL: null; every fact tells it
    GATE_FACT_KIND_TEXT,     // const char *, NULL: absent
    GATE_FACT_KIND_NUMBER,   // double, with a "has_"
    GATE_FACT_KIND_COUNT,    // uint32_t, 0: absent
    GATE_FACT_KIND_FLAG,     // bool, with a "has_"
    GATE_FACT_KIND_YES,      // bool, absent where false
    GATE_FACT_KIND_NAME,     // an enum, with a "has_"
    GATE_FACT_KIND_TIME,     // Unix ms, 0: absent
    GATE_FACT_KIND_TEXTS,    // const char *const *, with a count
    GATE_FACT_KIND_EVIDENCE, // every fact tells it, [] where there is none
    GATE_FACT_KIND_NEEDS,    // requirements
    GATE_FACT_KIND_RESULT,   //
    GATE_FACT_KIND_ARGS,     // args
    GATE_FACT_KIND_SUM,      // sum
    GATE_FACT_KIND_SUMS,     // fuel
    GATE_FACT_KIND_REFUSALS, //
};

#define GATE_FACT_FIELD_NUMBER(member, ...) GATE_FACT_FIELD_##member,
enum gate_fact_field {
    GATE_FACT_FIELDS(GATE_FACT_FIELD_NUMBER, GATE_FACT_FIELD_NUMBER, GATE_FACT_FIELD_NUMBER)
        GATE_FACT_FIELD_COUNT
};
#undef GATE_FACT_FIELD_NUMBER

// A set of fields, one bit each: there are more of them than 64. The type is no part of C17, and
// gcc and clang have it on every machine of 64 bits.
__extension__ typedef unsigned __int128 gate_fact_mask;

// A field as one bit of a mask.
#define GATE_HAS(member) ((gate_fact_mask)1 << GATE_FACT_FIELD_##member)
#define GATE_FACT_OF_ALL (GATE_HAS(job) | GATE_HAS(position) | GATE_HAS(at) | GATE_HAS(evidence))

struct gate_fact_field_row {
    const char *name;
    size_t length; // of the name
    enum gate_fact_field_kind kind;
    size_t offset;                        // in struct gate_fact
    size_t flag;                          // of its "has_" or its count, where the kind has one
    const struct gate_spelling *spelling; // of a name
};

extern const struct gate_fact_field_row gate_fact_field_rows[GATE_FACT_FIELD_COUNT];

// Whether a fact has the field.
bool gate_fact_has(const struct gate_fact *fact, const struct gate_fact_field_row *field);
// The text of a field that is one (ALWAYS, TEXT), or the spelling of a name; NULL: none is set.
// Borrowed.
const char *gate_fact_text_of(const struct gate_fact *fact,
                              const struct gate_fact_field_row *field);
