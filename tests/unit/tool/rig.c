// The tool's test rig.
#include "rig.h"

#include "base/clock.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "config/config.h"
#include "tool/tool.h"
#include "wire/fact_codec.h"

#define WORDS_MAX 24

static void shell(const char *format, ...) __attribute__((format(printf, 1, 2)));

static void shell(const char *format, ...) {
    char command[512];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    assert_int_equal(system(command), 0);
}

// The daemon's book: each fact is written as it comes.
static void write_fact(void *user, const struct gate_fact *fact) {
    struct rig *rig = user;
    json_out_reset(&rig->out);
    assert_true(wire_fact_encode(fact, rig->model, &rig->out));
    const struct journal_fact row = {
        .at_ms = fact->at.wall,
        .mono_ms = fact->at.mono,
        .site = fact->site != MODEL_NONE ? rig->model->sites[fact->site].site : "",
        .type = gate_fact_name(fact->type),
        .subject = wire_fact_subject(fact, rig->model),
        .data = rig->out.data};
    assert_int_equal(journal_begin(rig->journal), JOURNAL_OK);
    assert_int_equal(journal_append(rig->journal, &row, NULL), JOURNAL_OK);
    assert_int_equal(journal_commit(rig->journal), JOURNAL_OK);
}

static void open_journal(struct rig *rig) {
    struct journal_error error;
    const struct journal_options options = {.path = rig->model->journal,
                                            .instance = rig->model->instance,
                                            .mode = JOURNAL_READ_WRITE_CREATE,
                                            .check = JOURNAL_CHECK_TAIL,
                                            .created_ms = rig->now.wall};
    rig->journal = journal_open(&options, &error);
    assert_non_null(rig->journal);
}

static void come_up(struct rig *rig, const char *boot, int64_t newest) {
    rig->gate->journal_up = true;
    gate_start(rig->gate, boot, "0.1.0", newest, rig->now);
    gate_link(rig->gate, GATE_DURABLE, true, rig->now);
    gate_link(rig->gate, GATE_LIVE, true, rig->now);
    gate_hear_controller(rig->gate, 0, 0, true, rig->now);
}

int rig_setup(void **state) {
    struct config_report report = {0};
    struct rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    snprintf(rig->folder, sizeof rig->folder, "/tmp/forelock-tool-XXXXXX");
    assert_non_null(mkdtemp(rig->folder));
    shell("cp -R '%s/.' '%s'", FORELOCK_EXAMPLE, rig->folder);
    snprintf(rig->config, sizeof rig->config, "%s/forelock.json", rig->folder);
    rig->model = config_load(rig->config, &report);
    config_report_free(&report);
    assert_non_null(rig->model);
    // A minute ago, so that what the test does is past for the tool.
    rig->now.wall = rig->now.mono = base_clock_wall_ms() - 60000;
    open_journal(rig);
    rig->gate = gate_new(rig->model, write_fact, rig);
    assert_non_null(rig->gate);
    come_up(rig, "boot-1", 0);
    *state = rig;
    return 0;
}

int rig_teardown(void **state) {
    struct rig *rig = *state;
    gate_answer_free(&rig->answer);
    gate_free(rig->gate);
    rig_close(rig);
    model_free(rig->model);
    json_out_free(&rig->out);
    shell("rm -r '%s'", rig->folder);
    free(rig);
    return 0;
}

void rig_close(struct rig *rig) {
    journal_close(rig->journal);
    rig->journal = NULL;
}

void rig_pass(struct rig *rig, int64_t ms) {
    rig->now.wall += ms;
    rig->now.mono += ms;
    gate_tick(rig->gate, rig->now);
}

void rig_hear(struct rig *rig, const char *sensor, enum model_point_state state) {
    const struct gate_reading reading = {.readable = true, .good = true, .state = state};
    uint32_t index = model_sensor_find(&rig->model->sites[0], sensor);
    assert_int_not_equal(index, MODEL_NONE);
    gate_hear(rig->gate, 0, index, &reading, rig->now);
}

bool rig_ask(struct rig *rig, enum gate_verb verb, const char *person,
             struct gate_request request) {
    request.verb = verb;
    request.person = person;
    rig_pass(rig, 5);
    gate_decide(rig->gate, 0, &request, rig->now, &rig->answer);
    return rig->answer.accepted;
}

void rig_must(struct rig *rig, enum gate_verb verb, const char *person,
              struct gate_request request) {
    if (!rig_ask(rig, verb, person, request)) {
        fail_msg("%s: %s", gate_verb_name(verb), rig->answer.refusals[0].say);
    }
}

void rig_restart(struct rig *rig) {
    come_up(rig, "boot-2", rig->now.wall);
}

// --- Running the tool ---

// Turns a stream's descriptor to a fresh temporary file; returns the old one.
static int stream_catch(FILE *stream, FILE *file) {
    fflush(stream);
    int kept = dup(fileno(stream));
    assert_true(kept >= 0 && dup2(fileno(file), fileno(stream)) >= 0);
    return kept;
}

static void stream_release(FILE *stream, FILE *file, int kept, char *text, size_t size) {
    fflush(stream);
    assert_true(dup2(kept, fileno(stream)) >= 0);
    close(kept);
    rewind(file);
    size_t length = fread(text, 1, size - 1, file);
    text[length] = '\0';
    assert_true(length < size - 1); // else the test's room is too small
    fclose(file);
}

void rig_tool(const struct rig *rig, struct rig_run *run, const char *line) {
    static char name[] = "forelock";
    char copy[512], config[128], *rest = copy, *word, *words[WORDS_MAX + 1] = {name};
    int count = 1;
    FILE *out = tmpfile(), *err = tmpfile();
    assert_non_null(out);
    assert_non_null(err);
    snprintf(copy, sizeof copy, "%s", line);
    snprintf(config, sizeof config, "%s", rig->config);
    while ((word = strtok_r(rest, " ", &rest)) != NULL) {
        assert_true(count < WORDS_MAX);
        words[count++] = strcmp(word, "CONFIG") == 0 ? config : word;
    }
    int kept_out = stream_catch(stdout, out), kept_err = stream_catch(stderr, err);
    run->status = tool_main(count, words);
    stream_release(stdout, out, kept_out, run->out, sizeof run->out);
    stream_release(stderr, err, kept_err, run->err, sizeof run->err);
}

void rig_in_order(const char *text, const char *const *parts) {
    const char *at = text;
    for (size_t i = 0; parts[i] != NULL; i++) {
        const char *found = strstr(at, parts[i]);
        if (found == NULL) {
            fail_msg("\"%s\" is not there, or not in its place:\n%s", parts[i], text);
        }
        at = found != NULL ? found + strlen(parts[i]) : at;
    }
}
