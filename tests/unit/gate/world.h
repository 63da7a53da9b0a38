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
enum world_sensor { S_POWER3, S_VALVE3A, S_VALVE3B, S_POWER4, S_VALVE4 };

#define WORLD_MAX_AGE_MS 30000
#define WORLD_SETTLE_MS 2000
#define WORLD_WITNESS_MS 28800000

// A fact as it was told: enough of it to be asserted.
struct world_fact {
    enum gate_fact_type type;
    char job[MODEL_ID_SIZE], position[MODEL_ID_SIZE], point[MODEL_ID_SIZE], person[MODEL_ID_SIZE];
    char alarm[MODEL_ID_SIZE];
    enum gate_code why;
    bool has_why, counts, pass;
    enum gate_cause cause;
};

struct world {
    struct model *model;
    struct gate *gate;
    struct gate_time now;
    struct world_fact facts[512]; // since the last world_forget
    size_t fact_count;
    struct gate_answer answer;
};

// A world whose daemon has just come up on an empty journal, with the link up and panel-1 online.
struct world *world_new(void);
void world_free(struct world *world);
struct model *world_model(void); // static; every district, zone and text of it is fixed

// Time goes on, ticking whenever something is due; sensors are not heard meanwhile.
void world_pass(struct world *world, int64_t ms);
// The same, every sensor saying its last word again each second (what has never spoken stays
// silent).
void world_pass_heard(struct world *world, int64_t ms);
// A word of a sensor, without time or number.
enum gate_heard world_hear(struct world *world, enum world_sensor sensor,
                           enum gate_point_state state);
void world_hear_all(struct world *world, enum gate_point_state state); // the sensors of dispenser 3
void world_controller(struct world *world, bool online);
void world_reader(struct world *world, enum world_point point, const char *who, bool hung);

// Requests. Each fills world->answer and returns whether it was accepted.
bool world_ask(struct world *world, struct gate_request request);
bool world_open(struct world *world, const char *job, const char *position, const char *technician);
bool world_sign(struct world *world, const char *person, const char *job, const char *check);
bool world_sign_value(struct world *world, const char *person, const char *job, const char *check,
                      double value, const char *unit);
bool world_verb(struct world *world, enum gate_verb verb, const char *person, const char *job);
bool world_tag(struct world *world, const char *person, const char *job, enum world_point point);
bool world_lift(struct world *world, const char *person, const char *job, enum world_point point);
bool world_witness(struct world *world, const char *person, const char *job,
                   enum gate_point_state state); // of 3A-line
bool world_test(struct world *world, const char *person, const char *job, const char *test,
                bool pass);

// The steps of a job on 3A led by t-1, each asserting that it was accepted.
void world_isolate(struct world *world);                    // points isolated, settled, witnessed
void world_to_tagged(struct world *world, const char *job); // opened, prepared, isolated, tagged
void world_to_confirmed(struct world *world, const char *job);
void world_to_working(struct world *world, const char *job);
void world_to_stopped(struct world *world, const char *job); // by stop-work
void world_to_restoring(struct world *world, const char *job);
void world_to_testing(struct world *world, const char *job); // tags lifted, points live
void world_to_returned(struct world *world, const char *job);

struct gate_site *world_site(struct world *world);
struct gate_job *world_job(struct world *world, const char *job);
// Whether the last answer lists a refusal of this code (about this subject; NULL: whatever).
bool world_refused(const struct world *world, enum gate_code code, const char *subject);
bool world_told(const struct world *world, enum gate_fact_type type); // since world_forget
size_t world_times_told(const struct world *world, enum gate_fact_type type);
const struct world_fact *world_fact(const struct world *world, enum gate_fact_type type); // first
const struct gate_alarm *world_alarm(struct world *world, enum gate_alarm_kind kind);     // or NULL
void world_forget(struct world *world);
// The daemon ends and comes up again on its journal: facts are folded anew; hearing is lost.
// away_ms of both clocks go by. Points required by a hold were last heard when each was.
void world_restart(struct world *world, int64_t away_ms);
