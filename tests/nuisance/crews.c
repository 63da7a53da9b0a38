// Honest crews: one on each dispenser, one job after the other, in three shifts.
//
// Each is a list of things to do in their order. What is accepted is done; what is refused is asked
// again a little later, as people do who read why.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "day.h"

enum doing {
    OPEN,
    SWITCH_OFF,
    SAY_ISOLATED,
    HANG_POWER,
    HANG_VALVE,
    HANG_LINE,
    BARRICADE,
    GAS,
    DRAINED,
    NO_FLOW,
    NO_VOLTAGE,
    START,
    WORK, // until its time is over
    SEALS,
    TOOLS_CLEAR,
    PEOPLE_CLEAR,
    FINISH,
    LIFT_POWER,
    LIFT_VALVE,
    LIFT_LINE,
    SWITCH_ON,
    SAY_LIVE,
    BEGIN_TEST,
    TEST_LEAK,
    TEST_BOOT,
    CLEAN,
    RETURN,
    DONE,
};

// What ages while they work: checks, and their word for the line.
static const char *const ageing[] = {"barricade", "gas",        "drained",
                                     "no-flow",   "no-voltage", "line"};
#define AGEING (sizeof ageing / sizeof ageing[0])

// What interrupts it while working.
enum errand { NO_ERRAND, CHECK_IN, PAUSE, GO_ON, SIGN_AGAIN, SAY_AGAIN, RELIEF };

// Handing over: the next leader joins, hangs, verifies and takes the lead; the other one goes.
enum relief {
    RELIEF_JOIN,
    RELIEF_POWER,
    RELIEF_VALVE,
    RELIEF_LINE,
    RELIEF_FLOW,
    RELIEF_VOLTAGE,
    RELIEF_OFFER,
    RELIEF_TAKE,
    RELIEF_OFF_POWER,
    RELIEF_OFF_VALVE,
    RELIEF_OFF_LINE,
    RELIEF_LEAVE,
    RELIEF_OVER
};

struct crew {
    enum doing doing;
    enum errand errand;
    enum relief relief;
    unsigned number; // of the job
    unsigned leader; // of two technicians, 0 or 1
    unsigned side;   // of the dispenser
    int64_t work_until;
    int64_t checked_in;
    int64_t relieved;    // when the lead last changed
    bool paused, rested; // it rests now; it did already
    bool retest;         // a test failed and something was changed
    bool say_live;       // what they said of the line came late, and proves nothing
    unsigned again;      // bits of what is to be signed or said again (renewed)
    unsigned asked;      // requests so far
    char id[48];         // of the request that is out
    bool waits;          // for its answer
};

struct crews {
    struct crew crew[DAY_DISPENSERS];
};

static void go_on(struct day *day, int64_t number);

static void next_in(struct day *day, unsigned d, int64_t least, int64_t most) {
    day_later(day, day_between(day, least, most), go_on, d);
}

static void technician(char name[16], unsigned d, unsigned which) {
    snprintf(name, 16, "t-%u", 2 * d + which + 1);
}

static bool has_reader(unsigned d) {
    return d >= DAY_DISPENSERS / 2;
}

// --- Asking ---

static void ask_as(struct day *day, unsigned d, const char *person, const char *verb,
                   const char *fields) {
    struct crew *crew = &day->crews->crew[d];
    char body[600];
    int64_t phone = day_wall(day) + day_between(day, -900, 900);
    time_t seconds = (time_t)(phone / 1000);
    struct tm utc;
    char asked[40];
    gmtime_r(&seconds, &utc);
    strftime(asked, sizeof asked, "%Y-%m-%dT%H:%M:%SZ", &utc);
    snprintf(crew->id, sizeof crew->id, "c%u-%u", d, ++crew->asked);
    snprintf(body, sizeof body, "{\"id\":\"%s\",\"asked\":\"%s\",\"job\":\"j%u-%u\"%s}", crew->id,
             asked, d + 1, crew->number, fields);
    crew->waits = true;
    books_count(day, "requests");
    network_request(day, d, person, verb, body, day_chance(day, 3));
}

static void ask(struct day *day, unsigned d, const char *verb, const char *fields) {
    char name[16];
    technician(name, d, day->crews->crew[d].leader);
    ask_as(day, d, name, verb, fields);
}

static void sign(struct day *day, unsigned d, const char *check) {
    char fields[160];
    const char *reading = strcmp(check, "gas") == 0          ? ",\"value\":1,\"unit\":\"%\""
                          : strcmp(check, "drained") == 0    ? ",\"value\":2,\"unit\":\"L\""
                          : strcmp(check, "no-voltage") == 0 ? ",\"value\":0.1,\"unit\":\"V\""
                                                             : "";
    snprintf(fields, sizeof fields, ",\"check\":\"%s\"%s", check, reading);
    ask(day, d, "sign-check", fields);
}

// A lock where a reader sees it goes on with a badge; elsewhere it is asked for.
static void lock(struct day *day, unsigned d, unsigned which, const char *kind, bool hung) {
    char name[16], fields[80];
    technician(name, d, which);
    if (strcmp(kind, "power") == 0 && has_reader(d)) {
        site_lock(day, d, name, hung);
        next_in(day, d, 4000, 8000); // it is looked whether it was seen
        return;
    }
    snprintf(fields, sizeof fields, ",\"point\":\"%u-%s\"", d + 1, kind);
    ask_as(day, d, name, hung ? "hang-tag" : "lift-tag", fields);
}

static bool is_locked(const struct day *day, unsigned d, unsigned which, const char *kind,
                      bool counting) {
    char name[16], id[32];
    technician(name, d, which);
    snprintf(id, sizeof id, "%u-%s", d + 1, kind);
    const struct gate_site *site = &turn_gate(day->turn)->sites[0];
    const struct gate_point *point = &site->points[model_point_find(site->model, id)];
    for (size_t i = 0; i < point->tag_count; i++) {
        if (strcmp(point->tags[i].person, name) == 0) {
            return point->tags[i].counts || !counting;
        }
    }
    return false;
}

static void say(struct day *day, unsigned d, const char *state) {
    char fields[80];
    snprintf(fields, sizeof fields, ",\"point\":\"%u-line\",\"state\":\"%s\"", d + 1, state);
    ask(day, d, "witness-point", fields);
}

static void record(struct day *day, unsigned d, const char *test) {
    struct crew *crew = &day->crews->crew[d];
    char fields[160];
    bool pass = crew->retest || !day_chance(day, 8);
    snprintf(fields, sizeof fields, ",\"test\":\"%s\",\"readings\":{\"pass\":%s}%s", test,
             pass ? "true" : "false", crew->retest ? ",\"note\":\"The seal was changed\"" : "");
    ask(day, d, "record-test", fields);
}

static void open_job(struct day *day, unsigned d) {
    struct crew *crew = &day->crews->crew[d];
    char fields[160], name[16];
    technician(name, d, crew->leader);
    snprintf(fields, sizeof fields,
             ",\"position\":\"%u%c\",\"procedure\":\"hose\",\"technician\":\"%s\"", d + 1,
             crew->side == 0 ? 'A' : 'B', name);
    ask_as(day, d, "k-1", "open-job", fields);
}

// --- Working ---

static void relieve_leader(struct day *day, unsigned d) {
    struct crew *crew = &day->crews->crew[d];
    unsigned other = 1 - crew->leader; // after the lead changed, who led
    char name[16], fields[80];
    technician(name, d, other);
    switch (crew->relief) {
    case RELIEF_JOIN:
        ask_as(day, d, name, "join-job", "");
        break;
    case RELIEF_POWER:
    case RELIEF_OFF_POWER:
        lock(day, d, other, "power", crew->relief == RELIEF_POWER);
        break;
    case RELIEF_VALVE:
    case RELIEF_OFF_VALVE:
        lock(day, d, other, "valve", crew->relief == RELIEF_VALVE);
        break;
    case RELIEF_LINE:
    case RELIEF_OFF_LINE:
        lock(day, d, other, "line", crew->relief == RELIEF_LINE);
        break;
    case RELIEF_FLOW:
        ask_as(day, d, name, "sign-check", ",\"check\":\"no-flow\"");
        break;
    case RELIEF_VOLTAGE:
        ask_as(day, d, name, "sign-check",
               ",\"check\":\"no-voltage\",\"value\":0.1,\"unit\":\"V\"");
        break;
    case RELIEF_OFFER:
        snprintf(fields, sizeof fields, ",\"to\":\"%s\"", name);
        ask(day, d, "hand-over", fields);
        break;
    case RELIEF_TAKE:
        ask_as(day, d, name, "accept-lead", "");
        break;
    default:
        ask_as(day, d, name, "leave-job", "");
        break;
    }
}

// The first thing that is due, if any.
static enum errand errand_of(struct day *day, struct crew *crew) {
    if (crew->errand == RELIEF) {
        return RELIEF;
    }
    if (day->now - crew->checked_in > 1200000) {
        return CHECK_IN;
    }
    if (crew->again != 0) {
        return (crew->again >> (AGEING - 1) & 1u) != 0 ? SAY_AGAIN : SIGN_AGAIN;
    }
    if (crew->paused) {
        return GO_ON;
    }
    if (!crew->rested && crew->work_until - day->now < 3600000) {
        return PAUSE;
    }
    if (day->now / (8 * 3600000) != crew->relieved / (8 * 3600000)) {
        crew->relief = RELIEF_JOIN;
        return RELIEF;
    }
    return NO_ERRAND;
}

static void work(struct day *day, unsigned d) {
    struct crew *crew = &day->crews->crew[d];
    crew->errand = errand_of(day, crew);
    switch (crew->errand) {
    case CHECK_IN:
        ask(day, d, "check-in", "");
        break;
    case PAUSE:
        ask(day, d, "stop-work", ",\"pause\":true");
        break;
    case GO_ON:
        ask(day, d, "start-work", "");
        break;
    case SIGN_AGAIN:
        sign(day, d, ageing[__builtin_ctz(crew->again)]);
        break;
    case SAY_AGAIN:
        say(day, d, "isolated");
        break;
    case RELIEF:
        relieve_leader(day, d);
        break;
    default:
        if (day->now >= crew->work_until) {
            crew->doing++;
        }
        next_in(day, d, 20000, 60000);
        break;
    }
}

static void do_next(struct day *day, unsigned d) {
    struct crew *crew = &day->crews->crew[d];
    if (crew->say_live) {
        say(day, d, "live");
        return;
    }
    static const char *const checks[] = {
        [BARRICADE] = "barricade",     [GAS] = "gas",
        [DRAINED] = "drained",         [NO_FLOW] = "no-flow",
        [NO_VOLTAGE] = "no-voltage",   [SEALS] = "seals",
        [TOOLS_CLEAR] = "tools-clear", [PEOPLE_CLEAR] = "people-clear",
        [CLEAN] = "barricade-removed"};
    static const struct {
        const char *kind;
        bool hung;
    } locks[] = {[HANG_POWER] = {"power", true},  [HANG_VALVE] = {"valve", true},
                 [HANG_LINE] = {"line", true},    [LIFT_POWER] = {"power", false},
                 [LIFT_VALVE] = {"valve", false}, [LIFT_LINE] = {"line", false}};
    switch (crew->doing) {
    case OPEN:
        open_job(day, d);
        break;
    case SWITCH_OFF:
    case SWITCH_ON:
        site_switch(day, d, crew->doing == SWITCH_OFF);
        crew->doing++;
        next_in(day, d, 5000, 60000);
        break;
    case SAY_ISOLATED:
    case SAY_LIVE:
        say(day, d, crew->doing == SAY_LIVE ? "live" : "isolated");
        break;
    case HANG_POWER:
    case HANG_VALVE:
    case HANG_LINE:
    case LIFT_POWER:
    case LIFT_VALVE:
    case LIFT_LINE:
        lock(day, d, crew->leader, locks[crew->doing].kind, locks[crew->doing].hung);
        break;
    case START:
        ask(day, d, "start-work", "");
        break;
    case WORK:
        work(day, d);
        break;
    case FINISH:
        ask(day, d, "finish-work", "");
        break;
    case BEGIN_TEST:
        ask(day, d, "begin-test", "");
        break;
    case TEST_LEAK:
    case TEST_BOOT:
        record(day, d, crew->doing == TEST_LEAK ? "leak" : "boot");
        break;
    case RETURN:
        ask(day, d, "return-position", "");
        break;
    case DONE:
        *crew = (struct crew){.number = crew->number + 1,
                              .leader = crew->leader,
                              .side = 1 - crew->side,
                              .asked = crew->asked};
        next_in(day, d, 600000, 2400000);
        break;
    default:
        sign(day, d, checks[crew->doing]);
        break;
    }
}

// Whether the lock that is to go on or off is so: a reader answers nobody, and an answer that was
// given twice may be the wrong one. They look.
static bool lock_is_so(const struct day *day, unsigned d) {
    static const char *const kinds[] = {"power", "valve", "line"};
    const struct crew *crew = &day->crews->crew[d];
    bool relief = crew->doing == WORK && crew->errand == RELIEF;
    int first_on = relief ? (int)RELIEF_POWER : (int)HANG_POWER;
    int first_off = relief ? (int)RELIEF_OFF_POWER : (int)LIFT_POWER;
    int at = relief ? (int)crew->relief : (int)crew->doing;
    unsigned who = relief ? 1 - crew->leader : crew->leader;
    if (at >= first_on && at < first_on + 3) {
        return is_locked(day, d, who, kinds[at - first_on], true);
    }
    return at >= first_off && at < first_off + 3 &&
           !is_locked(day, d, who, kinds[at - first_off], false);
}

static void step_on(struct day *day, unsigned d) {
    struct crew *crew = &day->crews->crew[d];
    if (crew->doing == WORK && crew->errand == RELIEF) {
        if (crew->relief == RELIEF_TAKE) {
            crew->leader = 1 - crew->leader;
            crew->relieved = day->now;
        }
        crew->relief++;
        crew->errand = crew->relief == RELIEF_OVER ? NO_ERRAND : RELIEF;
    } else if (crew->doing != WORK) {
        crew->doing++;
    }
}

static void go_on(struct day *day, int64_t number) {
    unsigned d = (unsigned)number;
    struct crew *crew = &day->crews->crew[d];
    if (day->turn == NULL) {
        next_in(day, d, 1000, 3000);
        return;
    }
    if (crew->waits) {
        return;
    }
    if (lock_is_so(day, d)) {
        step_on(day, d);
    }
    do_next(day, d);
}

void crews_new(struct day *day) {
    day->crews = calloc(1, sizeof *day->crews);
    if (day->crews == NULL) {
        day_end_with("out of memory");
    }
    for (unsigned d = 0; d < DAY_DISPENSERS; d++) {
        next_in(day, d, 60000, 1800000);
    }
}

void crews_free(struct day *day) {
    free(day->crews);
}

// --- Answers ---

static void errand_done(struct day *day, unsigned d) {
    struct crew *crew = &day->crews->crew[d];
    switch (crew->errand) {
    case CHECK_IN:
        crew->checked_in = day->now;
        break;
    case PAUSE:
        crew->paused = crew->rested = true;
        next_in(day, d, 600000, 1200000);
        return;
    case GO_ON:
        crew->paused = false;
        crew->checked_in = day->now;
        break;
    case SIGN_AGAIN:
        crew->again &= crew->again - 1;
        break;
    case SAY_AGAIN:
        crew->again &= ~(1u << (AGEING - 1));
        break;
    default:
        step_on(day, d);
        break;
    }
    next_in(day, d, 5000, 40000);
}

// Who rests and reads that a check no longer stands, signs it again: in the order of the job.
static void name_again(struct crew *crew, const char *answer) {
    for (unsigned i = 0; crew->doing == WORK && i < AGEING; i++) {
        char subject[48];
        snprintf(subject, sizeof subject, "\"subject\":\"%s\"", ageing[i]);
        crew->again |= strstr(answer, subject) != NULL ? 1u << i : 0;
    }
}

void crews_answered(struct day *day, unsigned d, const char *answer) {
    struct crew *crew = &day->crews->crew[d];
    char id[64], what[96] = "refused";
    snprintf(id, sizeof id, "\"id\":\"%s\"", crew->id);
    bool accepted = strstr(answer, "\"accepted\":true") != NULL;
    if (!crew->waits || strstr(answer, id) == NULL) {
        books_count(day, "answers to what was asked before");
        return;
    }
    crew->waits = false;
    if (!accepted) {
        const char *code = strstr(answer, "\"code\":\"");
        snprintf(what, sizeof what, "refused as %.40s", code != NULL ? code + 8 : "?");
        what[strcspn(what, "\"")] = '\0';
        books_count(day, what);
        name_again(crew, answer);
        crew->say_live = strstr(answer, "\"point-not-restored\",\"subject\":\"") != NULL &&
                         strstr(answer, "-line\"") != NULL;
        next_in(day, d, 3000, 15000);
        return;
    }
    if (crew->doing == WORK) {
        errand_done(day, d);
        return;
    }
    if (crew->say_live) {
        crew->say_live = false;
        next_in(day, d, 5000, 20000);
        return;
    }
    if (crew->doing == TEST_LEAK || crew->doing == TEST_BOOT) {
        crew->retest = strstr(answer, "\"pass\":false") != NULL;
        if (crew->retest) {
            books_count(day, "tests that failed");
            next_in(day, d, 600000, 1800000);
            return;
        }
    }
    if (crew->doing == START) {
        crew->checked_in = crew->relieved = day->now;
        crew->work_until = day->now + day_between(day, 1800000, 5 * 3600000);
        crew->rested = crew->work_until - day->now < 2 * 3600000;
    }
    crew->doing++;
    next_in(day, d, 10000, 120000);
}

void crews_ageing(struct day *day, const char *data) {
    for (unsigned d = 0; d < DAY_DISPENSERS; d++) {
        struct crew *crew = &day->crews->crew[d];
        char job[32], point[32], check[32];
        snprintf(job, sizeof job, "\"j%u-%u\"", d + 1, crew->number);
        snprintf(point, sizeof point, "\"%u-line\"", d + 1);
        for (unsigned i = 0; i < AGEING; i++) {
            snprintf(check, sizeof check, "\"%s\"", ageing[i]);
            bool line = i == AGEING - 1 && strstr(data, point) != NULL;
            bool signature = strstr(data, job) != NULL && strstr(data, check) != NULL;
            crew->again |= crew->doing <= WORK && (line || signature) ? 1u << i : 0;
        }
    }
}
