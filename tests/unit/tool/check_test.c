// `check` beside a journal: what standing jobs need and the configuration lacks.
#include "rig.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static struct rig_run run;

// A job of Technician 104 stands on 3A. Afterwards the journal is whole in its file.
static struct rig *with_a_job(void **state) {
    struct rig *rig = *state;
    rig_must(
        rig, GATE_VERB_OPEN_JOB, "tracker-1",
        (struct gate_request){
            .job = "J-1", .position = "3A", .procedure = "spout-and-boot", .technician = "t-104"});
    rig_close(rig);
    return rig;
}

// Replaces a text everywhere in a file of the configuration.
static void edit(const struct rig *rig, const char *file, const char *from, const char *to) {
    char command[512];
    snprintf(command, sizeof command, "grep -q '%s' '%s/%s' && sed -i 's/%s/%s/g' '%s/%s'", from,
             rig->folder, file, from, to, rig->folder, file);
    assert_int_equal(system(command), 0);
}

static void what_stands_is_configured(void **state) {
    rig_tool(with_a_job(state), &run, "check -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_null(strstr(run.err, "J-1"));
}

static void what_a_job_lacks_is_an_error(void **state) {
    struct rig *rig = with_a_job(state);
    edit(rig, "sites/juniper.json", "3-power", "3-mains");
    edit(rig, "people.json", "\"t-104\"", "\"t-904\"");
    edit(rig, "feeds/readers.json", "\"t-104\"", "\"t-904\"");
    rig_tool(rig, &run, "check -c CONFIG");
    assert_int_equal(run.status, 3);
    rig_in_order(run.err, (const char *const[]){"/journal: job J-1 at juniper is led by t-104",
                                                "/journal: job J-1 at juniper stands on 3-power",
                                                "2 errors", NULL});
    rig_tool(rig, &run, "check -c CONFIG --json");
    assert_int_equal(run.status, 3);
    assert_non_null(strstr(run.out, "{\"ok\":false,\"errors\":[{\"file\":"));
    assert_non_null(strstr(run.out, "\"pointer\":\"/journal\",\"text\":\"job J-1 at juniper"));
}

static void another_instances_journal_is_an_error(void **state) {
    struct rig *rig = with_a_job(state);
    edit(rig, "forelock.json", "\"instance\": \"[^\"]*\"", "\"instance\": \"edge-9\"");
    rig_tool(rig, &run, "check -c CONFIG");
    assert_int_equal(run.status, 3);
    assert_non_null(strstr(run.err, "/journal: "));
}

static void no_journal_is_made(void **state) {
    struct rig *rig = *state;
    struct stat about;
    rig_close(rig);
    assert_int_equal(unlink(rig->model->journal), 0);
    rig_tool(rig, &run, "check -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_int_not_equal(stat(rig->model->journal, &about), 0);
}

static void a_journal_that_cannot_be_read_is_a_warning(void **state) {
    struct rig *rig = with_a_job(state);
    char path[256];
    snprintf(path, sizeof path, "%s/file", rig->folder);
    fclose(fopen(path, "w"));
    // A path that leads through a file: also root is told that it cannot be read.
    edit(rig, "forelock.json", "\"journal\": \"[^\"]*\"", "\"journal\": \"file\\/forelock.db\"");
    rig_tool(rig, &run, "check -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.err, "/journal: warning: the journal"));
    assert_non_null(strstr(run.err, "cannot be read"));
}

#define TEST(test) cmocka_unit_test_setup_teardown(test, rig_setup, rig_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(what_stands_is_configured),
        TEST(what_a_job_lacks_is_an_error),
        TEST(another_instances_journal_is_an_error),
        TEST(no_journal_is_made),
        TEST(a_journal_that_cannot_be_read_is_a_warning),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
