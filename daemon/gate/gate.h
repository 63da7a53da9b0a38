// The gate: decides, from what was heard and asked, what is a fact; refuses everything that is not
// proved safe.
//
// No I/O, no clock, no globals. Each call that hears or decides takes the time, emits its facts one
// by one through the gate's `fact` hook (before each is applied, in order) and leaves the state as
// if the facts had been read back from the journal. gate_apply is the only thing that changes
// folded state.
//
// Not thread safe. It only refuses and reports: it switches nothing and is no safety-rated
// function.
#pragma once

#include "gate/fact.h"
#include "gate/state.h"
#include "gate/verb.h"

// How long the offer of a lead stands, how long an ended job's document is kept, and after what
// time a tag is left hanging (contract, sections 3 and 4).
#define GATE_OFFER_MS (30 * 60 * 1000LL)
#define GATE_KEEP_ENDED_MS (7 * 24 * 3600 * 1000LL)
// How long another instance is taken to be there after its document last changed.
#define GATE_CLAIM_MS 180000
// After a rework, before a point that reads live is left so.
#define GATE_REWORK_MS (5 * 60 * 1000LL)
#define GATE_TAG_LEFT_MS (12 * 3600 * 1000LL)
// How far our wall clock may stand behind the journal's newest time before one of them is wrong.
#define GATE_CLOCK_BEHIND_MS 1000
// A reading dated further ahead than this is of bad quality.
#define GATE_AHEAD_MS 5000
// For how long a sender's clock must have agreed with ours before it is trusted again.
#define GATE_CLOCK_AGREES_MS 60000

// One reading of a sensor, as a feed or the canonical topic gave it.
struct gate_reading {
    bool readable;                // false: the sensor becomes bad-quality
    bool good;                    // quality
    bool retained;                // sent by the broker, which kept it, because we subscribed
    enum model_point_state state; // LIVE or ISOLATED; UNKNOWN is as unreadable
    bool has_at;
    int64_t at; // wall ms
    bool has_seq;
    uint64_t seq;
    uint64_t modulus; // of a counter that wraps; 0: it does not
};

// One reading of a measure, as a feed or the canonical topic gave it.
struct gate_measure_reading {
    double value;  // in the measure's own unit
    bool bad;      // of bad quality, unreadable, no finite number, or in another unit
    bool retained; // kept by the broker: no evidence unless it has `at`
    bool has_at;
    int64_t at; // wall ms
    bool has_seq;
    uint64_t seq;
    uint64_t modulus; // of a counter that wraps; 0: it does not
};

// One event of a tag reader.
struct gate_tagging {
    bool hung;          // else lifted
    bool waited;        // in the broker's session: it says nothing of what is so now
    bool undated;       // when it was cannot be read: it says nothing of what is so now either
    const char *person; // whose it is said to be; NULL: a badge that is nobody's
    const char *badge;  // as it is listed; NULL: the person was named, and by no badge
    bool has_at;
    int64_t at;
    bool has_seq;
    uint64_t seq;
    uint64_t modulus; // of a counter that wraps; 0: it does not
};

// What became of a reading or event.
enum gate_heard {
    GATE_HEARD_UNCHANGED, // refreshed, nothing to tell
    GATE_HEARD_CHANGED,   // facts were emitted, or may have been
    GATE_HEARD_COPY,      // the same reading again: refreshes nothing
    GATE_HEARD_OLDER,
    GATE_HEARD_RETAINED, // kept by the broker and without `at`: ignored
    GATE_HEARD_BAD,      // bad quality, dated ahead or unreadable
};

// A number that may be absent.
struct gate_volume {
    bool given;
    double value;
};
// More than any meter's totalizer shows.
#define GATE_VOLUME_MAX 1e9

struct gate_request {
    enum gate_verb verb;
    const char *id; // or NULL
    const char *person;
    // It waited, in the broker, in a client or with us, so that it says nothing of what is so now:
    // what speaks of the present is refused, what ends or stops is taken.
    bool waited;
    bool has_asked;
    int64_t asked; // wall ms: when it was asked, by the clock of who asks
    bool undated;  // it came by a way on which it may have waited, and does not say when
    int64_t came;  // mono ms at which it came; 0: now
    const char *job;
    const char *position;
    const char *point;
    const char *procedure;
    const char *technician;
    const char *kit_family;
    const char *part;
    const char *defect;
    const char *external; // the tracker's own number
    const char *note;
    const char *check;
    const char *test;
    const char *unit;
    const char *instrument;
    const char *member; // leave-job's and lift-absent-tag's "person"
    const char *badge;
    const char *reason;
    const char *to;
    const char *alarm;
    bool has_raised;
    int64_t raised;     // acknowledge-alarm: wall ms at which the alarm that was seen was raised
    const char *sensor; // distrust-sensor, trust-sensor
    const char *reader; // the same: the point whose reader it is
    double hours;       // distrust-sensor
    bool has_state;
    enum model_point_state state; // witness-point
    bool has_value;
    double value;
    bool has_other; // another value was given beside it: neither is the reading
    double other;
    bool done;                // what it ends was ended already, ahead of its turn:
    struct gate_time done_at; // then
    bool ending;              // what ends: its job's end is not written, and was told to nobody
    bool before;              // what ends: the same was accepted before, under its id
    bool pause;               // stop-work: the work rests, and nothing was seen
    bool has_pass;
    bool pass;                                     // sign-check: false says that it does not hold
    bool not_on_site, contact_tried, will_be_told; // attest
    bool seen_off; // attest: a lock that its owner lifted and its reader still sees
    const struct model_result *result; // record-test: computed by the caller from the readings
    // The day around a repair.
    const char *product, *tank;        // record-fuel
    const char *family, *serial, *due; // fit-part
    struct gate_volume quantity;       // record-spill
    bool sheen;
    int64_t cleaned;               // wall ms; 0: not yet
    const char *spill, *reference; // report-spill
    struct gate_volume drawn, returned, kept, totalizer_before, totalizer_after;
    const char *text;                 // report-fault
    int64_t back;                     // expect-back: wall ms
    const char *url, *sha256, *title; // attach
};

// What a signature came to: sign-check.
struct gate_signed {
    bool pass;
    bool has_value;
    double value;
    char unit[32];    // "": answered without a reading
    bool has_reading; // value was computed from what was read, in its own unit
    double reading;
    char reading_unit[32];
    struct model_limits limits;
};

struct gate_answer {
    bool accepted;
    bool again;              // what it ends or stops was ended or stopped already
    char job[MODEL_ID_SIZE]; // the request's, or ""
    bool has_phase;          // a known job: its phase and lockout after the decision
    enum model_phase phase;
    enum model_lockout lockout;
    struct gate_time at;
    bool has_result;
    struct model_result result;
    bool
        has_spill; // record-spill: its id, and by when it is to be reported (wall ms; 0: it is not)
    char spill[MODEL_ID_SIZE];
    int64_t report_due;
    bool has_signed;
    struct gate_signed signed_;
    struct gate_refusal *refusals; // belong to the answer; reused
    size_t refusal_count, refusal_capacity;
    struct model_requirements *tests; // whose ids the refusals borrow, or NULL; the answer's own
};

void gate_answer_free(struct gate_answer *answer);
// Adds a refusal made of a sentence and its arguments (gate_refusal_make). False: no memory
// (accepted is false all the same, so nothing opens).
bool gate_answer_refuse(struct gate_answer *answer, enum gate_say sentence, const char *subject,
                        const struct gate_args *args);
// The same of a refusal that is made already.
bool gate_answer_add(struct gate_answer *answer, const struct gate_refusal *refusal);

// A gate over a model, which must outlive it. Nothing is heard, nothing stands, every position is
// out of service. NULL: no memory.
struct gate *gate_new(const struct model *model, void (*fact)(void *user, const struct gate_fact *),
                      void *user);
void gate_free(struct gate *gate);

// Replay: applies a fact of the journal. False: it does not fit the state or the model (what names
// the reason, with the job's name where a configuration lacks something that a standing job needs).
bool gate_apply(struct gate *gate, const struct gate_fact *fact, char *what, size_t what_size);

// After the replay, before anything is heard: whether the configuration still has what the standing
// jobs, hanging tags and owed tests need. False: what says which job lacks what.
bool gate_fits(const struct gate *gate, char *what, size_t what_size);
// The same, with a sentence for everything that is lacking. Returns how many there are.
size_t gate_each_misfit(const struct gate *gate, void (*each)(void *user, const char *what),
                        void *user);

// After the replay: when (mono ms) a point was last heard before the restart, from the journal's
// own record.
void gate_heard_before(struct gate *gate, uint32_t site, uint32_t point, int64_t heard,
                       struct gate_time now);
// The daemon is up. Emits daemon.started; a confirmed lockout becomes unproven. newest_wall is the
// newest time the journal knows (0: an empty journal).
void gate_start(struct gate *gate, const char *boot, const char *version, int64_t newest_wall,
                struct gate_time now);

// Signals are subscribed to anew: what the broker sends of its store is told from what comes by
// itself from here on.
void gate_subscribed(struct gate *gate);
enum gate_heard gate_hear(struct gate *gate, uint32_t site, uint32_t sensor,
                          const struct gate_reading *reading, struct gate_time now);
// A measure's reading; ordered, aged and distrusted as a signal's is. Where it answers checks of a
// job (a check that names the measure's kind), the gate signs them by it: passed while the check is
// in its window, the leader protected, and every measure of that kind and the check's unit at the
// position was read since the window began, is fresh, good and within the limits; failed as soon as
// a fresh one is outside them while a passing signature stands, whoever signed that.
enum gate_heard gate_hear_measure(struct gate *gate, uint32_t site, uint32_t measure,
                                  const struct gate_measure_reading *reading, struct gate_time now);
void gate_hear_controller(struct gate *gate, uint32_t site, uint32_t controller, bool online,
                          struct gate_time now);
enum gate_heard gate_hear_tagging(struct gate *gate, uint32_t site, uint32_t point,
                                  const struct gate_tagging *tagging, struct gate_time now);
// The broker lost the durable session while we were away, and with it what readers said meanwhile:
// their tags count no longer until they are hung again.
void gate_session_lost(struct gate *gate, struct gate_time now);
// Each connection to the broker, whether the journal writes, whether another daemon claims a
// site.
void gate_link(struct gate *gate, enum gate_connection connection, bool up, struct gate_time now);
// Since when nothing proves the durable connection (mono ms), up or down; 0: it is proved.
void gate_outage(struct gate *gate, int64_t since, struct gate_time now);
// The topics under the root on which the broker delivers nothing of what is said there, all that
// concern a site: while there are any, its link is down.
void gate_unheard(struct gate *gate, uint32_t site, const char *const *topics, size_t count,
                  struct gate_time now);
void gate_journal(struct gate *gate, bool writes, struct gate_time now);
// How much must be free for the journal to write again, and how much is [MiB]: said once by the
// alarms that stand.
void gate_journal_room(struct gate *gate, double need, double found, struct gate_time now);
// A break that people were told of and that the journal does not have: it holds all the same.
// Nothing where there is no such job, it was cancelled, or its alarm stands for this already. Of a
// job that was returned the positions are untested. point: an index, or MODEL_NONE;
// check: its id, or "".
void gate_break_again(struct gate *gate, uint32_t site, const char *job, enum model_code why,
                      uint32_t point, const char *check, struct gate_time now);
// The same of a called stop, also of a job that was cancelled; reason NULL: none. Nothing where it
// stands.
void gate_stop_again(struct gate *gate, uint32_t site, const char *job, const char *by,
                     const char *reason, struct gate_time now);
// The same of work that stopped without a break; say: the sentence that was told.
void gate_stopped_again(struct gate *gate, uint32_t site, const char *job, enum model_code why,
                        const char *say, struct gate_time now);
// Another instance claims the site, or does so no longer.
void gate_contested(struct gate *gate, uint32_t site, bool contested, struct gate_time now);
// Whether a webhook of a site has been without success for too long.
void gate_webhook(struct gate *gate, uint32_t site, const char *webhook, bool down,
                  struct gate_time now);
// What is written now bears this time. Returns the newest that the journal then vouches for (wall
// ms): to be written with it, and given to gate_start after a restart.
int64_t gate_keep_time(struct gate *gate, struct gate_time now);
// Time alone. gate_deadline is the mono ms at which the next tick has something to do (INT64_MAX:
// never); a later call is late, an earlier one harmless.
void gate_tick(struct gate *gate, struct gate_time now);
int64_t gate_deadline(const struct gate *gate);

// Whether somebody is known and of the site: else they learn nothing, not even what was answered
// before. Fills answer (reset first), with the refusal if not.
bool gate_admit(struct gate *gate, uint32_t site, const struct gate_request *request,
                struct gate_time now, struct gate_answer *answer);
// Whether a request ends or stops something, which nothing of its form and no memory of it keeps
// from being done.
bool gate_ends(struct gate *gate, uint32_t site, const struct gate_request *request);
// Decides a request of a known person at a site of ours. Fills answer (reset first).
void gate_decide(struct gate *gate, uint32_t site, const struct gate_request *request,
                 struct gate_time now, struct gate_answer *answer);
// The same of one that ends something, before what was asked earlier: it is decided again in its
// turn, and what is refused is told then.
void gate_decide_early(struct gate *gate, uint32_t site, const struct gate_request *request,
                       struct gate_time now, struct gate_answer *answer);
// The definition of a job's test as its return gate will ask for it (owed ones too), NULL where
// there is no such job or test. The returned list holds its texts; the caller frees it.
struct model_requirements *gate_test_definition(const struct gate *gate, uint32_t site,
                                                const char *job, const char *test,
                                                const struct model_test **definition);

// One requirement of the next gate, met or not.
struct gate_requirement {
    bool met;
    struct gate_refusal refusal; // as it is, or would be, refused
};
struct gate_list {
    struct gate_requirement *items;
    size_t count, capacity;
    bool unmet_only; // skip what is met
    bool failed;     // no memory: treat as unmet
    // The tests whose ids the requirements borrow: made for the list, which owns them. A list is
    // asked of one job's return.
    struct model_requirements *tests;
};
void gate_list_free(struct gate_list *list);
// The verb of the job's next gate: start (open, stopped), finish (working), test (restoring; of an
// inspection open as well), return (testing); GATE_VERB_COUNT for an ended job.
enum gate_verb gate_next_verb(const struct gate_job *job);
// What the job's next gate requires, judged as if the leader asked; nothing for an ended job.
void gate_next(const struct gate *gate, uint32_t site, const struct gate_job *job,
               struct gate_time now, struct gate_list *list);

// Whether the isolation of any job is held, so that there is something to write by
// gate_each_watched.
bool gate_is_watching(const struct gate *gate);
// Whether anything stands that grows older: then time is to be written now and then, so that a
// restart knows how much went by.
bool gate_is_ageing(const struct gate *gate);
// Each point that must be heard again after a restart, with when it was heard last (mono ms):
// written to the journal every second while it matters.
void gate_each_watched(const struct gate *gate, struct gate_time now,
                       void (*each)(void *user, const char *site, const char *point, int64_t heard),
                       void *user);
