// What the files of the gate share among themselves.
#pragma once

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "gate/gate.h"

// --- text.c ---
// snprintf that never ends inside a UTF-8 sequence.
void gate_text(char *buffer, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void gate_id_copy(char buffer[MODEL_ID_SIZE], const char *id); // NULL copies ""
bool gate_same(const char *a, const char *b);
// The array with room for one element more behind its count; NULL: no memory, and it is as it was.
void *gate_grown(void *items, size_t count, size_t *capacity, size_t size);

// --- emit.c ---
struct gate_fact gate_fact_new(const struct gate *gate, const struct gate_site *site,
                               enum gate_fact_type type, struct gate_time now);
// A fact of a job, with its position and, as evidence, its required points.
struct gate_fact gate_fact_of_job(struct gate *gate, const struct gate_site *site,
                                  const struct gate_job *job, enum gate_fact_type type,
                                  struct gate_time now);
// A fact of one point, with itself as evidence.
struct gate_fact gate_fact_of_point(struct gate *gate, const struct gate_site *site, uint32_t point,
                                    enum gate_fact_type type, struct gate_time now);
// Tells the fact, then applies it.
void gate_emit(struct gate *gate, const struct gate_fact *fact);

// --- order.c ---
// What a word carries to be ordered by.
struct gate_stamp {
    bool has_at;
    int64_t at; // wall ms
    bool has_seq;
    uint64_t seq;
    uint64_t modulus; // of a counter that wraps; 0: it does not
};
enum gate_order { GATE_ORDER_NEWER, GATE_ORDER_COPY, GATE_ORDER_OLDER };
// stale: the sender was unheard for longer than it may be.
enum gate_order gate_order_of(const struct gate_mark *mark, const struct gate_stamp *stamp,
                              bool stale);
void gate_mark_move(struct gate_mark *mark, const struct gate_stamp *stamp); // to a newer word
bool gate_stamp_ahead(const struct gate_stamp *stamp, struct gate_time now); // by more than 5 s
// The line ms from which a word's age counts: from `at`, else from arrival. Never 0.
int64_t gate_stamp_line(const struct gate_stamp *stamp, struct gate_time now);
// The clocks disagree: dated ahead by more than 5 s, or come straight from the sender and yet older
// than its age allows.
bool gate_stamp_askew(const struct gate_stamp *stamp, bool retained, int64_t max_age_ms,
                      struct gate_time now);
// Marks a sender's clock, counted for the site. Whether that changed anything.
bool gate_set_askew(struct gate_site *site, bool *is, bool askew);

// --- jobs.c ---
// Adds to the ids used. False: no memory.
bool gate_used_add(struct gate_site *site, const char *job, struct gate_job *ref);
const struct gate_used *gate_used_find(const struct gate_site *site, const char *job);
void gate_job_free(struct gate_job *job);
// The job that stands on the position, else one that took its cabinet; NULL: none does.
struct gate_job *gate_job_covering(const struct gate_site *site, uint32_t position);
bool gate_requires(const struct gate_job *job, uint32_t point);
// Two jobs share if their positions are on one dispenser, or a point required by one isolates the
// other's position.
bool gate_shares(const struct gate_site *site, const struct gate_job *a, const struct gate_job *b);
bool gate_point_isolates(const struct model_point *point, uint32_t position);
bool gate_same_dispenser(const struct gate_site *site, uint32_t a, uint32_t b);
// The first energy that the job's procedure isolates and no required point does; NULL: none lacks.
const char *gate_unmapped(const struct model_site *site, const struct model_requirements *needs,
                          uint32_t position);
bool gate_leads(const struct gate_job *job, const char *person);
bool gate_offer_stands(const struct gate_job *job, struct gate_time now);

// --- point.c ---
struct gate_view { // a point as a job may rely on it
    enum model_point_state state;
    enum model_trust trust;
    int64_t heard; // wall ms, 0: never
    unsigned words, words_needed;
};
// What the point is, from its sensors' hearing or its words. *next is lowered to the line ms at
// which time alone may change that.
struct gate_view gate_point_derive(const struct gate *gate, const struct gate_site *site,
                                   uint32_t point, struct gate_time now, int64_t *next);
// The same for one job: of a witnessed point, only the words that count for it.
struct gate_view gate_point_for_job(const struct gate *gate, const struct gate_site *site,
                                    const struct gate_job *job, uint32_t point,
                                    struct gate_time now, int64_t *next);
bool gate_view_isolated(const struct gate_view *view);        // settled and trusted
bool gate_view_live(const struct gate_view *view);            // trusted
enum model_code gate_view_code(const struct gate_view *view); // why it is not isolated and trusted
void gate_view_found(const struct gate_view *view, char *buffer, size_t size);
// Whether a point is proved live for a position's return to service (the word of a crew, a manager
// or a supervisor where it has no sensor).
bool gate_point_proved_live(const struct gate *gate, const struct gate_site *site, uint32_t point,
                            struct gate_time now);
bool gate_word_stands(const struct model_point *model, const struct gate_word *word,
                      struct gate_time now);

// --- tag.c ---
struct gate_tag *gate_tag_find(const struct gate_site *site, uint32_t point, const char *job,
                               const char *who);
bool gate_tag_counts(const struct gate_site *site, uint32_t point, const char *job,
                     const char *person);
bool gate_protected(const struct gate_site *site, const struct gate_job *job, const char *person);
bool gate_tags_hang(const struct gate_site *site, const char *job, const char *person);
// Ends a tag and draws what follows for its job (a break, where it was the leader's).
void gate_tag_lift(struct gate *gate, struct gate_site *site, uint32_t point, const char *job,
                   const char *who, const struct gate_fact *how, struct gate_time now);
// Locks of this person that hung on the job's points without a job become tags of it.
void gate_tags_adopt(struct gate *gate, struct gate_site *site, struct gate_job *job,
                     const char *person, struct gate_time now);

// --- lockout.c ---
enum gate_fault_kind { GATE_FAULT_NONE, GATE_FAULT_POINT, GATE_FAULT_TAG };
struct gate_fault {
    enum gate_fault_kind kind;
    enum model_code why;
    uint32_t point;
};
// The first reason why the hold does not hold now; kind NONE: it does.
struct gate_fault gate_hold_fault(const struct gate *gate, const struct gate_site *site,
                                  const struct gate_job *job, struct gate_time now);
// Breaks the job's lockout: stops its work, ends its hold, raises its alarm.
void gate_break(struct gate *gate, struct gate_site *site, struct gate_job *job,
                enum model_code why, uint32_t point, const char *say, struct gate_time now);
// The same with the sentence that the point and the reason make.
void gate_break_by_point(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         enum model_code why, uint32_t point, struct gate_time now);
// Ends the hold: what was relieved and verified is void.
void gate_hold_end(struct gate *gate, struct gate_site *site, struct gate_job *job,
                   struct gate_time now);
// Relieve and verify checks signed, standing and within limits.
bool gate_signatures_hold(const struct gate_job *job, struct gate_time now);
// Groups that may not be empty: where nothing is asked, nothing is proved.
bool gate_group_needed(enum model_group group);
bool gate_group_signed(const struct gate_job *job, enum model_group group, struct gate_time now);
// Hold, lockout and protection of every standing job, after anything changed.
void gate_review_jobs(struct gate *gate, struct gate_site *site, struct gate_time now);

// A relieve or verify check outside its limits says that the energy is still there: in the cabinet
// that is a break.
void gate_break_by_check(struct gate *gate, struct gate_site *site, struct gate_job *job,
                         const struct model_check *check, struct gate_time now);

// --- measure.c ---
// The distance to the nearest limit; negative outside, infinite without any.
double gate_margin(const struct model_limits *limits, double value);
// Signs what the measures answer for the job, and stops its work where they fail a check.
void gate_review_measures(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now);
// The controller of measures came online: each must be heard anew.
void gate_measures_anew(struct gate_site *site, uint32_t controller);

// --- live.c ---
// Tells a change of the point's state or trust and breaks what it breaks.
void gate_review_point(struct gate *gate, struct gate_site *site, uint32_t point,
                       struct gate_time now, int64_t *next);
// A point was said live at `at` (wall ms; 0: not known when) by a word that does not become its
// state.
void gate_live_word(struct gate *gate, struct gate_site *site, uint32_t point, int64_t at,
                    struct gate_time now);

// --- alarm.c ---
struct gate_alarm_about {
    enum model_alarm_kind kind;
    const struct gate_job *job; // or NULL
    uint32_t position;          // or MODEL_NONE
    uint32_t point;             // or MODEL_NONE
    const char *person;         // or NULL
    bool has_why;
    enum model_code why;
    const char *say;
};
// again: a new event of the same kind raises an acknowledged alarm anew.
void gate_alarm_raise(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, bool again, struct gate_time now);
// The condition is gone: acknowledged alarms end, others wait for it.
void gate_alarm_clear(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, struct gate_time now);
bool gate_alarm_unacknowledged(const struct gate_site *site, const char *job);
void gate_review_alarms(struct gate *gate, struct gate_site *site, struct gate_time now,
                        int64_t *next);

// --- average.c ---
// The result of a run as the test's definition has it judged: what is borderline waits for as many
// runs as the method asks for and is then judged by their mean.
struct model_result gate_average(const struct gate_job *job, const struct model_test *test,
                                 const struct model_result *run);

// --- service.c ---
void gate_review_positions(struct gate *gate, struct gate_site *site, struct gate_time now);

// --- review.c ---
// Draws every consequence of a change at a site and sets its deadline.
void gate_review(struct gate *gate, struct gate_site *site, struct gate_time now);

// The same if time alone has changed something: what grew stale is so before the next word is
// heard.
void gate_review_due(struct gate *gate, struct gate_site *site, struct gate_time now);

// --- list.c ---
// The next requirement, with its code and subject, to be filled; NULL: met and not wanted, or no
// memory.
struct gate_refusal *gate_list_add(struct gate_list *list, bool met, enum model_code code,
                                   const char *subject);
// The same with its texts, where they are not made of figures.
void gate_list_require(struct gate_list *list, bool met, enum model_code code, const char *subject,
                       const char *need, const char *found, const char *say);

// --- gates.c: the requirements, one function each ---
void gate_require_start(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_finish(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_test(const struct gate *gate, const struct gate_site *site,
                       const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_return(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_points(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_restored(const struct gate *gate, const struct gate_site *site,
                           const struct gate_job *job, struct gate_time now,
                           struct gate_list *list);
void gate_require_group(const struct gate_job *job, enum model_group group, struct gate_time now,
                        struct gate_list *list);
void gate_require_credentials(const struct gate_site *site, const struct model_requirements *needs,
                              const struct model_person *person, const char *id,
                              struct gate_time now, struct gate_list *list);
void gate_require_match(const struct gate_site *site, const struct model_requirements *needs,
                        uint32_t position, const char *kit_family, bool ask,
                        struct gate_list *list);
void gate_require_uncontested(const struct gate_site *site, struct gate_list *list);
void gate_require_journal(const struct gate *gate, struct gate_list *list);
void gate_require_link(const struct gate *gate, struct gate_list *list);
void gate_require_no_tags_of_job(const struct gate_site *site, const struct gate_job *job,
                                 const char *person, struct gate_list *list);
void gate_require_tag(const struct gate_site *site, const struct gate_job *job, uint32_t point,
                      const char *person, struct gate_list *list);

// --- season.c ---
// Whether a check of the group may be signed now, as passed or as failed.
bool gate_in_season(const struct gate_job *job, enum model_group group, bool pass);
// What the group waits for, for people.
const char *gate_season_text(enum model_group group);
