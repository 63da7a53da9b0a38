// Prints the rows of the alarms and their sentences as JSON: the documents are made of them, and
// the tests from outside read them instead of the source.
#include "gate/alarm_kind.h"
#include "gate/refusal.h"
#include "json/json.h"

#include <stdio.h>

#define ROW(id, name, say) {name, say},
static const struct { const char *name, *say; } sentences[] = {GATE_ALARM_SAYS(ROW)};

static void text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    json_out_string(out, value);
}

static void flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

static void row(struct json_out *out, enum model_alarm_kind kind, const char *subject) {
    static const char *const seen_by[] = {
        [GATE_ALARM_SEEN_BY_CREW] = "crew, manager, supervisor",
        [GATE_ALARM_SEEN_BY_CREW_NOT_BY] = "crew, manager, a supervisor who did not do it",
        [GATE_ALARM_SEEN_BY_CALLER] = "its newest caller, manager, supervisor",
        [GATE_ALARM_SEEN_BY_OVERSEER] = "manager, supervisor"};
    static const char *const about[] = {[GATE_SUBJECT_NONE] = NULL,
                                        [GATE_SUBJECT_DAEMON] = GATE_SUBJECT_OF_DAEMON,
                                        [GATE_SUBJECT_SENSOR] = "a sensor or measure",
                                        [GATE_SUBJECT_CONNECTION] = "`durable`, `live` or a topic",
                                        [GATE_SUBJECT_PERSON] =
                                            "a person, or a badge that nobody is known by",
                                        [GATE_SUBJECT_WEBHOOK] = "a webhook",
                                        [GATE_SUBJECT_SPILL] = "a spill"};
    const struct gate_alarm_row *of = gate_alarm_row(kind, subject);
    json_out_object(out);
    text(out, "kind", model_alarm_kind_name(kind));
    text(out, "priority", model_priority_name(of->priority));
    text(out, "why", of->has_why ? model_code_name(of->why) : NULL);
    text(out, "acknowledged_by", seen_by[of->seen_by]);
    flag(out, "note", of->asks_note);
    flag(out, "happened", of->happened);
    text(out, "subject", about[of->about]);
    text(out, "stands", of->stands);
    json_out_object_end(out);
}

int main(void) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "alarms");
    json_out_array(&out);
    for (int kind = 0; kind < MODEL_ALARM_KIND_COUNT; kind++) {
        row(&out, (enum model_alarm_kind)kind, NULL);
    }
    row(&out, MODEL_ALARM_CLOCK, GATE_SUBJECT_OF_DAEMON);
    json_out_array_end(&out);
    json_out_key(&out, "sentences");
    json_out_array(&out);
    for (size_t i = 0; i < sizeof sentences / sizeof *sentences; i++) {
        json_out_object(&out);
        text(&out, "sentence", sentences[i].name);
        text(&out, "say", sentences[i].say);
        json_out_object_end(&out);
    }
    json_out_array_end(&out);
    json_out_object_end(&out);
    bool good = !out.failed && fwrite(out.data, 1, out.length, stdout) == out.length;
    json_out_free(&out);
    return good && putchar('\n') != EOF ? 0 : 1;
}
