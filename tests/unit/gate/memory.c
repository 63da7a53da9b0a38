// The Nth failing allocation: nothing crashes, what stops is stopped all the same, and nothing is
// permitted on a state that may be wrong.
#include <stdlib.h>

#include "gate/find.h"
#include "world.h"

static long fail_at; // counts down to the one that fails; 0: none does

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

static bool fails(void) {
    return fail_at > 0 && --fail_at == 0;
}

void *__wrap_malloc(size_t size) {
    return fails() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
    return fails() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size) {
    return fails() ? NULL : __real_realloc(old, size);
}

static void no_fact(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

// The gate alone meets the failures: its facts go nowhere.
static void let_fail(struct world *world, long nth) {
    world->gate->fact = no_fact;
    world->plain = true;
    gate_answer_free(&world->answer);
    fail_at = nth;
}

// Whether fewer allocations were made than asked for: then every one has had its turn.
static bool all_tried(void) {
    bool all = fail_at > 0;
    fail_at = 0;
    return all;
}

static void assert_nothing_is_permitted(struct world *world) {
    if (world->gate->broken_memory) {
        assert_false(world_open(world, "j-9", "4A", "t-2"));
        assert_true(world_refused(world, MODEL_CODE_JOURNAL_DOWN, NULL));
    }
}

typedef void step(struct world *world);

static void to_confirmed(struct world *world) {
    world_to_confirmed(world, "j-1");
}

static void to_working(struct world *world) {
    world_to_working(world, "j-1");
}

static void to_opened(struct world *world) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_isolate(world);
}

// Each allocation of a request fails once. Accepted is only what was wholly done.
static void try_request(step *before, const struct gate_request *request,
                        bool (*done)(struct world *)) {
    bool last = false;
    long refused = 0;
    for (long n = 1; !last; n++) {
        struct world *world = world_new();
        before(world);
        let_fail(world, n);
        bool accepted = world_ask(world, *request);
        last = all_tried();
        assert_true(!accepted || (done(world) && !world->gate->broken_memory));
        assert_true(accepted || !last);
        refused += !accepted;
        assert_nothing_is_permitted(world);
        world_end(world);
        assert_true(n < 1000);
    }
    assert_true(refused > 0);
}

static bool is_working(struct world *world) {
    return world_job(world, "j-1")->phase == MODEL_PHASE_WORKING;
}

static bool is_tagged(struct world *world) {
    return gate_tag_counts(world_site(world), POWER3, "j-1", "t-1");
}

static bool is_joined(struct world *world) {
    return gate_member_of(world_job(world, "j-1"), "t-2") != NULL;
}

static bool is_signed(struct world *world) {
    return gate_signature_of(world_job(world, "j-1"), "barricade") != NULL;
}

static bool is_opened(struct world *world) {
    return world_job(world, "j-1")->needs != NULL;
}

static void nothing(struct world *world) {
    world_forget(world);
}

static void a_start(void **state) {
    (void)state;
    // An allocation is made only where something lacks, so that a start without any is whole.
    struct world *world = world_new();
    to_confirmed(world);
    assert_true(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_true(is_working(world));
    world_end(world);
    world = world_new();
    to_opened(world);
    let_fail(world, 1);
    assert_false(world_verb(world, GATE_VERB_START_WORK, "t-1", "j-1"));
    assert_true(fail_at == 0);
    world_end(world);
}

static void an_opening(void **state) {
    (void)state;
    const struct gate_request request = {.verb = GATE_VERB_OPEN_JOB,
                                         .person = "k-1",
                                         .job = "j-1",
                                         .position = "3A",
                                         .procedure = "spout",
                                         .technician = "t-1"};
    try_request(nothing, &request, is_opened);
}

static void a_tag(void **state) {
    (void)state;
    const struct gate_request request = {
        .verb = GATE_VERB_HANG_TAG, .person = "t-1", .job = "j-1", .point = "3-power"};
    try_request(to_opened, &request, is_tagged);
}

static void a_signature(void **state) {
    (void)state;
    const struct gate_request request = {
        .verb = GATE_VERB_SIGN_CHECK, .person = "t-1", .job = "j-1", .check = "barricade"};
    try_request(to_opened, &request, is_signed);
}

// The crew's array is full, so that one more takes an allocation.
static void to_full_crew(struct world *world) {
    to_opened(world);
    world_job(world, "j-1")->crew_capacity = world_job(world, "j-1")->crew_count;
}

static void a_join(void **state) {
    (void)state;
    const struct gate_request request = {.verb = GATE_VERB_JOIN_JOB, .person = "t-2", .job = "j-1"};
    try_request(to_full_crew, &request, is_joined);
}

// A failed test that takes the dispenser out is kept, or nothing is permitted any more.
static void a_failed_test(void **state) {
    (void)state;
    static struct world_copy copy;
    bool last = false;
    for (long n = 1; !last; n++) {
        world_copy(&copy);
        copy.tests[1][0].fails_dispenser = true;
        struct world *world = world_new_of(&copy.model);
        world_to_testing(world, "j-1");
        let_fail(world, n);
        bool accepted = world_test(world, "t-1", "j-1", "leak", false);
        last = all_tried();
        bool kept = world_site(world)->positions[P3A].failed_count == 1;
        assert_true(kept || !accepted || world->gate->broken_memory);
        assert_true(!last || kept);
        assert_nothing_is_permitted(world);
        world_end(world);
        assert_true(n < 1000);
    }
}

static void a_break(void **state) {
    (void)state;
    bool last = false;
    for (long n = 1; !last; n++) {
        struct world *world = world_new();
        to_working(world);
        let_fail(world, n);
        world_hear(world, S_POWER3, MODEL_POINT_LIVE);
        last = all_tried();
        assert_job(world, "j-1", STOPPED, BROKEN);
        assert_nothing_is_permitted(world);
        world_end(world);
        assert_true(n < 1000);
    }
}

static void a_word_of_live(void **state) {
    (void)state;
    bool last = false;
    for (long n = 1; !last; n++) {
        struct world *world = world_new();
        to_working(world);
        let_fail(world, n);
        world_witness(world, "v-1", NULL, MODEL_POINT_LIVE);
        last = all_tried();
        assert_job(world, "j-1", STOPPED, BROKEN);
        world_end(world);
        assert_true(n < 1000);
    }
}

// A lock of a reader whose mark finds no memory is listed and does not count.
static void a_reader_event(void **state) {
    (void)state;
    bool last = false;
    for (long n = 1; !last; n++) {
        struct world *world = world_new();
        to_opened(world);
        let_fail(world, n);
        world_reader(world, POWER3, "t-1", true);
        last = all_tried();
        assert_true(last || !is_tagged(world));
        assert_nothing_is_permitted(world);
        world_end(world);
        assert_true(n < 1000);
    }
}

// The gate itself is made whole, or not at all.
static void a_gate(void **state) {
    (void)state;
    bool last = false;
    for (long n = 1; !last; n++) {
        fail_at = n;
        struct gate *gate = gate_new(world_model(), no_fact, NULL);
        last = all_tried();
        assert_true((gate != NULL) == last);
        gate_free(gate);
        assert_true(n < 1000);
    }
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(a_start),        cmocka_unit_test(an_opening),
        cmocka_unit_test(a_tag),          cmocka_unit_test(a_signature),
        cmocka_unit_test(a_join),         cmocka_unit_test(a_failed_test),
        cmocka_unit_test(a_break),        cmocka_unit_test(a_word_of_live),
        cmocka_unit_test(a_reader_event), cmocka_unit_test(a_gate),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
