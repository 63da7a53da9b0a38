// Prints the rows of the verbs as JSON, in the contract's order: the documents are made of them,
// and the tests from outside read them instead of the source.
#include "gate/verb.h"
#include "gate/verb/case.h"
#include "model/model.h"
#include "model/words.h"
#include "json/json.h"

#include <stdio.h>

static const char *const kinds[GATE_FIELD_KIND_COUNT] = {
    [GATE_FIELD_ID] = "id",
    [GATE_FIELD_TEST_ID] = "test-id",
    [GATE_FIELD_NAME] = "name",
    [GATE_FIELD_UNIT] = "unit",
    [GATE_FIELD_NOTE] = "note",
    [GATE_FIELD_REASON] = "reason",
    [GATE_FIELD_FLAG] = "flag",
    [GATE_FIELD_NUMBER] = "number",
    [GATE_FIELD_VOLUME] = "volume",
    [GATE_FIELD_CHANGE] = "change",
    [GATE_FIELD_MEASURE] = "measure",
    [GATE_FIELD_TIME] = "time",
    [GATE_FIELD_INSTANT] = "time",
    [GATE_FIELD_DAY] = "day",
    [GATE_FIELD_LINK] = "link",
    [GATE_FIELD_SHA256] = "sha256",
    [GATE_FIELD_HOURS] = "hours",
    [GATE_FIELD_STATE] = "state",
    [GATE_FIELD_PASS] = "pass",
    [GATE_FIELD_ATTEST] = "attest",
    [GATE_FIELD_READINGS] = "readings",
    [GATE_FIELD_OBJECT] = "object",
};

static const char *const who[] = {
    [GATE_WHO_ROLE] = "role",
    [GATE_WHO_CREW] = "crew",
    [GATE_WHO_LEADER] = "leader",
    [GATE_WHO_VERB] = "verb",
};

static void text(struct json_out *out, const char *name, const char *value) {
    json_out_key(out, name);
    json_out_string(out, value);
}

static void flag(struct json_out *out, const char *name, bool value) {
    json_out_key(out, name);
    json_out_bool(out, value);
}

static void fields(struct json_out *out, const struct gate_verb_row *row) {
    json_out_key(out, "fields");
    json_out_array(out);
    for (const struct gate_field *field = row->fields; field->name != NULL; field++) {
        json_out_object(out);
        text(out, "name", field->name);
        text(out, "kind", kinds[field->kind]);
        flag(out, "required", field->required);
        json_out_object_end(out);
    }
    json_out_array_end(out);
    json_out_key(out, "one_of");
    json_out_array(out);
    for (int i = 0; i < 2 && row->one_of[0] != NULL; i++) {
        json_out_string(out, row->one_of[i]);
    }
    json_out_array_end(out);
}

static void phases(struct json_out *out, const struct gate_verb_row *row) {
    json_out_key(out, "phases");
    json_out_array(out);
    for (int phase = 0; phase < MODEL_PHASE_COUNT; phase++) {
        if ((row->phases >> phase & 1u) != 0) {
            json_out_string(out, model_phase_name((enum model_phase)phase));
        }
    }
    json_out_array_end(out);
}

static void roles(struct json_out *out, const struct gate_verb_row *row) {
    json_out_key(out, "roles");
    json_out_array(out);
    for (unsigned bit = 1; bit <= row->roles; bit <<= 1) {
        if ((row->roles & bit) != 0) {
            json_out_string(out, model_role_name(bit));
        }
    }
    json_out_array_end(out);
}

static void verb(struct json_out *out, const struct gate_verb_row *row) {
    json_out_object(out);
    text(out, "verb", row->name);
    text(out, "about", row->about);
    fields(out, row);
    text(out, "who", who[row->who]);
    roles(out, row);
    text(out, "asker", row->asker);
    phases(out, row);
    flag(out, "of_job", row->of_job);
    flag(out, "permits", row->permits);
    flag(out, "present", row->present);
    flag(out, "ends", row->ends);
    flag(out, "stops", row->ends == gate_case_always);
    flag(out, "however_late", row->however_late != NULL);
    text(out, "refusal", row->refusal != 0 ? gate_fact_name(row->refusal) : NULL);
    json_out_object_end(out);
}

int main(void) {
    struct json_out out = {0};
    json_out_array(&out);
    for (int i = 0; i < GATE_VERB_COUNT; i++) {
        verb(&out, gate_verb_row((enum gate_verb)i));
    }
    json_out_array_end(&out);
    bool good = !out.failed && fwrite(out.data, 1, out.length, stdout) == out.length;
    json_out_free(&out);
    return good && fflush(stdout) == 0 ? 0 : 1;
}
