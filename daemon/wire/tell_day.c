// The day around a repair, member by member.
#include "wire/tell_day.h"

#include "gate/fuel.h"
#include "gate/part.h"
#include "wire/fact_fuel.h"
#include "wire/tell_member.h"

// Rule (4, expect-back): The job says when, by whom and how often it was moved. [expected-untold]
static void expected(struct json_out *out, const struct gate_expected *of) {
    json_out_key(out, "expected");
    if (of->at == 0) {
        json_out_null(out);
        return;
    }
    json_out_object(out);
    wire_time(out, "at", of->at);
    wire_text(out, "by", of->by);
    wire_count(out, "moved", of->moved);
    json_out_object_end(out);
}

static void shift_note(struct json_out *out, const struct gate_shift_note *of) {
    if (of->note == NULL) {
        return;
    }
    json_out_key(out, "shift_note");
    json_out_object(out);
    wire_text(out, "note", of->note);
    wire_text(out, "by", of->by);
    wire_text(out, "to", of->to);
    wire_time(out, "at", of->at.wall);
    wire_text(out, "signed_by", of->signed_by);
    wire_time(out, "signed", of->signed_at.wall);
    json_out_object_end(out);
}

static void attachments(struct json_out *out, const struct gate_day *day) {
    if (day->attachment_count == 0) {
        return;
    }
    wire_list(out, "attachments");
    for (size_t i = 0; i < day->attachment_count; i++) {
        const struct gate_attachment *of = &day->attachments[i];
        json_out_object(out);
        wire_text(out, "title", of->title);
        wire_text(out, "url", of->url);
        wire_text(out, "sha256", of->sha256);
        wire_text(out, "check", of->check);
        wire_text(out, "test", of->test);
        wire_text(out, "alarm", of->alarm);
        wire_text(out, "by", of->by);
        wire_time(out, "at", of->at.wall);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

// Rule (4, record-fuel): The job tells of each product what was drawn, where it went, and what is
// not accounted for. [fuel-untold]
static void fuel(struct json_out *out, const struct gate_day *day) {
    if (day->fuel_count == 0) {
        return;
    }
    wire_list(out, "fuel");
    for (size_t i = 0; i < day->fuel_count; i++) {
        const struct gate_fuel *ledger = &day->fuel[i];
        const struct gate_fuel_sum sum = gate_fuel_sum(ledger);
        json_out_object(out);
        wire_text(out, "product", ledger->product);
        wire_fact_write_sum_members(out, &sum);
        wire_number(out, "totalizer_before", ledger->has_before, ledger->before);
        wire_number(out, "totalizer_after", ledger->has_after, ledger->after);
        wire_text(out, "tank", ledger->tank);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

static void parts(struct json_out *out, const char *name, const struct gate_part *of,
                  size_t count) {
    if (count == 0) {
        return;
    }
    wire_list(out, name);
    for (size_t i = 0; i < count; i++) {
        json_out_object(out);
        wire_text(out, "part", of[i].part);
        wire_text(out, "family", of[i].family);
        wire_text(out, "serial", of[i].serial);
        wire_time(out, "fitted", of[i].fitted.wall);
        wire_text(out, "job", of[i].job);
        wire_text(out, "due", of[i].due);
        json_out_object_end(out);
    }
    json_out_array_end(out);
}

// Rule (4, fit-part): What was fitted for the third time in 90 days is told. [repeats-untold]
static void repeats(struct json_out *out, const struct gate_position *position) {
    bool any = false;
    for (size_t i = 0; i < position->hang_count; i++) {
        unsigned times = gate_part_times(position, position->hangs[i].part);
        if (times < GATE_REPEATS) {
            continue;
        }
        if (!any) {
            wire_list(out, "repeats");
        }
        any = true;
        json_out_object(out);
        wire_text(out, "part", position->hangs[i].part);
        wire_count(out, "times", times);
        wire_count(out, "days", GATE_REPEAT_DAYS);
        json_out_object_end(out);
    }
    if (any) {
        json_out_array_end(out);
    }
}

// Rule (4, fit-part): A position says what hangs there. [hangs-untold]
void wire_hangs(struct json_out *out, const struct gate_position *position) {
    parts(out, "hangs", position->hangs, position->hang_count);
    repeats(out, position);
}

void wire_day(struct json_out *out, const struct gate_job *job) {
    expected(out, &job->day.expected);
    fuel(out, &job->day);
    parts(out, "fitted", job->day.parts, job->day.part_count);
    shift_note(out, &job->day.shift);
    attachments(out, &job->day);
}
