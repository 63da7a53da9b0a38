// A small forecourt for tests of the gate, laid out by hand: no file, no clock, no broker.
//
// Site juniper: positions 3A and 3B on dispenser 3, 4A on dispenser 4. Points 3-power (electrical,
// one sensor, controller panel-1) and 3-valve (product, two sensors) isolate 3A and 3B; 3A-line
// (product, said by one witness) isolates 3A alone; 4-power and 4-valve isolate 4A. Technicians
// t-1, t-2 and t-3 (t-3's credential has expired), supervisor s-1, manager m-1, tracker k-1, viewer
// v-1. All invented.
#pragma once

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "gate/gate.h"

enum world_position { P3A, P3B, P4A };
enum world_point { POWER3, VALVE3, LINE3A, POWER4, VALVE4 };
#define WORLD_POINTS 5
enum world_sensor { S_POWER3, S_VALVE3A, S_VALVE3B, S_POWER4, S_VALVE4 };

#define WORLD_MAX_AGE_MS 30000
#define WORLD_SETTLE_MS 2000
#define WORLD_WITNESS_MS 28800000

// A test of a world that has just come up; at its end its journal is folded anew and compared.
#define WORLD_TEST(name)                                                                           \
    static void name##_in(struct world *world);                                                    \
    static void name(void **state) {                                                               \
        (void)state;                                                                               \
        struct world *world = world_new();                                                         \
        name##_in(world);                                                                          \
        world_free(world);                                                                         \
    }                                                                                              \
    static void name##_in(struct world *world)

#define assert_point(world, which, is, because)                                                    \
    do {                                                                                           \
        assert_int_equal(world_point(world, which)->state, MODEL_POINT_##is);                      \
        assert_int_equal(world_point(world, which)->trust, MODEL_TRUST_##because);                 \
    } while (0)
#define assert_job(world, job, is, has)                                                            \
    do {                                                                                           \
        assert_int_equal(world_job(world, job)->phase, MODEL_PHASE_##is);                          \
        assert_int_equal(world_job(world, job)->lockout, MODEL_LOCKOUT_##has);                     \
    } while (0)
// Accepted; and refused for these codes and no other.
#define assert_accepted(world, call)                                                               \
    do {                                                                                           \
        if (!(call)) {                                                                             \
            fail_msg("refused: %s", (world)->answer.refusals[0].say);                              \
        }                                                                                          \
    } while (0)
#define assert_refused(world, call, ...)                                                           \
    do {                                                                                           \
        assert_false(call);                                                                        \
        assert_refusals(world, __VA_ARGS__);                                                       \
    } while (0)
// The lockout-broken alarm stands unacknowledged.
#define assert_alarm(world)                                                                        \
    do {                                                                                           \
        assert_non_null(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN));                           \
        assert_int_equal(world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->state,                    \
                         MODEL_ALARM_UNACKNOWLEDGED);                                              \
    } while (0)

// The codes of a refusal, and how its lists are compared: every one, and none beside them.
#define assert_refusals(world, ...)                                                                \
    world_assert_refusals(world, (const enum model_code[]){__VA_ARGS__, MODEL_CODE_COUNT})

// A fact as it was told: enough of it to be asserted.
struct world_fact {
    enum gate_fact_type type;
    char job[MODEL_ID_SIZE], position[MODEL_ID_SIZE], point[MODEL_ID_SIZE], person[MODEL_ID_SIZE];
    char alarm[MODEL_ID_SIZE];
    enum model_code why;
    bool has_why, counts, pass;
    enum model_cause cause;
    bool codes[MODEL_CODE_COUNT]; // of its refusals
};

struct world {
    struct model *model;
    struct model *next; // of the next restart, NULL: the same
    struct gate *gate;
    struct gate_time now;
    int64_t heard[WORLD_POINTS];  // as the journal last noted it, mono ms
    struct world_fact facts[512]; // since the last world_forget
    size_t fact_count;
    struct gate_answer answer;
    bool plain; // requests are not compared with what was said that may be asked
};

// A world whose daemon has just come up on an empty journal, with the link up and panel-1 online.
struct world *world_new(void);
struct world *world_new_of(struct model *model); // the same of another model
// A world whose daemon comes up on the facts that were put into the journal (world_journal_add), so
// long after the last of them; each point was heard until then.
struct world *world_new_over(struct model *model, struct gate_time last, int64_t away_ms);
// Ends it, after world_check_fold.
void world_free(struct world *world);
void world_end(struct world *world); // without that
// Folds the journal anew and compares the state so made with the live one, bit for bit.
void world_check_fold(struct world *world);
struct model *world_model(void); // static; every district, zone and text of it is fixed

// A copy of the model to be changed; it must outlive the world that is given it.
struct world_copy {
    struct model model;
    struct model_site site;
    struct model_position positions[3];
    struct model_point points[WORLD_POINTS];
    struct model_person people[7];
    struct model_requirements procedures[2]; // 0: cabinet, 1: spout
    struct model_check checks[2][10];
    struct model_test tests[2][2];
    const struct model_requirements *at_site[2];
};
void world_copy(struct world_copy *copy);
void world_copy_drop_person(struct world_copy *copy, const char *person);
void world_copy_drop_position_4a(struct world_copy *copy);
void world_copy_drop_valve_4(struct world_copy *copy);
// Whether a configuration fits the journal; what says why not.
bool world_fits(struct world *world, const struct model *model, char what[256]);

// Time goes on, ticking whenever something is due; sensors are not heard meanwhile.
void world_pass(struct world *world, int64_t ms);
void world_review(struct world *world); // everything is judged anew, though nothing was due
// The same, every sensor saying its last word again each second (what has never spoken stays
// silent).
void world_pass_heard(struct world *world, int64_t ms);
// A word of a sensor, without time or number.
enum gate_heard world_hear(struct world *world, enum world_sensor sensor,
                           enum model_point_state state);
// The same with the time at which it was read, or with a number. It is readable and good.
enum gate_heard world_say(struct world *world, enum world_sensor sensor,
                          struct gate_reading reading);
enum gate_heard world_hear_at(struct world *world, enum world_sensor sensor,
                              enum model_point_state state, int64_t at);
enum gate_heard world_hear_seq(struct world *world, enum world_sensor sensor,
                               enum model_point_state state, uint64_t seq);
void world_bad(struct world *world, enum world_sensor sensor); // a word of bad quality
void world_hear_all(struct world *world,
                    enum model_point_state state); // the sensors of dispenser 3
void world_controller(struct world *world, bool online);
void world_reader(struct world *world, enum world_point point, const char *who, bool hung);
void world_reader_at(struct world *world, enum world_point point, const char *who, bool hung,
                     int64_t at);
void world_reader_seq(struct world *world, enum world_point point, const char *who, bool hung,
                      uint64_t seq);

// Requests. Each fills world->answer and returns whether it was accepted.
bool world_ask(struct world *world, struct gate_request request);
// world_ask compares each with what gate_may said before it: these two are around the decision.
struct world_may {
    bool asked, listed;
    bool fails;  // listed for a reading that fails alone
    size_t told; // facts before it
};
void world_may_before(struct world *world, const struct gate_request *request,
                      struct world_may *before);
void world_may_after(struct world *world, const struct gate_request *request,
                     const struct world_may *before);
// What leads on, as one person is told of a job, or of 3A (gate/may.h).
struct gate_step world_step(struct world *world, const char *person, const char *job);
bool world_open(struct world *world, const char *job, const char *position, const char *technician);
bool world_sign(struct world *world, const char *person, const char *job, const char *check);
bool world_sign_value(struct world *world, const char *person, const char *job, const char *check,
                      double value, const char *unit);
bool world_verb(struct world *world, enum gate_verb verb, const char *person, const char *job);
bool world_pause(struct world *world, const char *person, const char *job);
bool world_stop(struct world *world, const char *person, const char *job, const char *reason);
bool world_tag(struct world *world, const char *person, const char *job, enum world_point point);
bool world_lift(struct world *world, const char *person, const char *job, enum world_point point);
bool world_witness(struct world *world, const char *person, const char *job,
                   enum model_point_state state); // of 3A-line
bool world_word(struct world *world, const char *person, const char *job, const char *point,
                enum model_point_state state);
bool world_test(struct world *world, const char *person, const char *job, const char *test,
                bool pass);

// The steps of a job on 3A led by t-1, each asserting that it was accepted.
void world_isolate(struct world *world);                    // points isolated, settled, witnessed
void world_to_tagged(struct world *world, const char *job); // opened, prepared, isolated, tagged
void world_to_confirmed(struct world *world, const char *job);
void world_to_working(struct world *world, const char *job);
// The same, with t-1's lock on 3-power seen by its reader, and the others hung by request.
void world_to_working_seen(struct world *world, const char *job);
void world_to_stopped(struct world *world, const char *job); // paused by its leader
void world_to_restoring(struct world *world, const char *job);
void world_to_testing(struct world *world, const char *job); // tags lifted, points live
void world_to_returned(struct world *world, const char *job);
// On the points that isolate a position: its sensors said isolated and settled, tags hung, relieve
// and verify signed.
void world_isolate_at(struct world *world, const char *position);
void world_tag_all(struct world *world, const char *person, const char *job);
void world_lift_all(struct world *world, const char *person, const char *job);
void world_sign_hold(struct world *world, const char *person, const char *job);
void world_sign_prepare(struct world *world, const char *person, const char *job);
// In open, once work was started: isolated and locked to sign that it is left safe, unlocked again.
void world_leave_safe(struct world *world, const char *person, const char *job);
void world_sign_clear(struct world *world, const char *person, const char *job);
void world_join_tagged(struct world *world, const char *person, const char *job);
// A job of a procedure on a position, opened and brought to work by its leader.
void world_open_at(struct world *world, const char *job, const char *position,
                   const char *procedure, const char *leader);
void world_work_at(struct world *world, const char *job, const char *position,
                   const char *procedure, const char *leader);
// From working to restoring, from restoring to returned.
void world_finish(struct world *world, const char *job, const char *leader);
void world_return(struct world *world, const char *job, const char *leader);
void world_live_at(struct world *world, const char *position, const char *leader, const char *job);
// The manager acknowledges every alarm that is not acknowledged yet.
void world_acknowledge(struct world *world);

struct gate_site *world_site(struct world *world);
struct gate_job *world_job(struct world *world, const char *job);
// Whether the last answer lists a refusal of this code (about this subject; NULL: whatever).
bool world_refused(const struct world *world, enum model_code code, const char *subject);
bool world_told(const struct world *world, enum gate_fact_type type); // since world_forget
size_t world_times_told(const struct world *world, enum gate_fact_type type);
void world_assert_refusals(const struct world *world, const enum model_code *codes);
const struct gate_point *world_point(struct world *world, enum world_point point);
const struct gate_tag *world_tag_of(struct world *world, enum world_point point, const char *job,
                                    const char *who);
enum model_cause world_cause(struct world *world, enum world_position position);
const struct world_fact *world_fact(const struct world *world, enum gate_fact_type type); // first
const struct gate_alarm *world_alarm(struct world *world, enum model_alarm_kind kind);    // or NULL
void world_forget(struct world *world);
// The daemon ends and comes up again on its journal: facts are folded anew; hearing is lost.
// away_ms of both clocks go by. Points required by a hold were last heard when each was.
void world_restart(struct world *world, int64_t away_ms);
// The same with another configuration.
void world_restart_with(struct world *world, struct model *model, int64_t away_ms);
// The same with both clocks told apart, and with what the journal last noted as its newest time.
void world_restart_clocks(struct world *world, int64_t wall_ms, int64_t line_ms);
