// Hearing the tag readers: which lock a reader saw hung or gone, and whether it may count.
#include <string.h>

#include "base/array.h"
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/point.h"
#include "gate/reading_order.h"
#include "gate/review.h"
#include "gate/tag.h"
#include "gate/text.h"

#define READER_AGE_MS 30000

// Whose lock it is: a person's, else of a badge that is nobody's.
struct owner {
    const char *person; // NULL: nobody known
    const char *badge;
};

static struct owner owner_of(const struct gate *gate, const struct gate_tagging *tagging) {
    const struct model_person *person =
        tagging->person != NULL ? model_person_find(gate->model, tagging->person) : NULL;
    return (struct owner){.person = person != NULL ? person->person : NULL,
                          .badge = tagging->badge != NULL ? tagging->badge : tagging->person};
}

static struct gate_reader_mark *mark_of(struct gate_point_hearing *hearing,
                                        const struct owner *owner) {
    bool known = owner->person != NULL;
    const char *who = known ? owner->person : owner->badge;
    for (size_t i = 0; i < hearing->mark_count; i++) {
        if (hearing->marks[i].known == known && strcmp(hearing->marks[i].who, who) == 0) {
            return &hearing->marks[i];
        }
    }
    if (!BASE_ARRAY_ROOM(hearing->marks, hearing->mark_count, hearing->mark_capacity)) {
        return NULL;
    }
    struct gate_reader_mark *mark = &hearing->marks[hearing->mark_count++];
    memset(mark, 0, sizeof *mark);
    gate_id_copy(mark->who, who);
    mark->known = known;
    return mark;
}

// What a reader saw longer ago than the point may be unheard is too old to count. A point without
// sensors has no such age of its own: then the contract's default serves.
static int64_t reader_age(const struct model_point *point) {
    return point->sensor_count > 0 ? point->max_age_ms : READER_AGE_MS;
}

static struct gate_stamp stamp_of_tagging(const struct gate_tagging *tagging) {
    return (struct gate_stamp){tagging->has_at, tagging->at, tagging->has_seq, tagging->seq,
                               tagging->modulus};
}

// Rule (3, Tags): Reader events are ordered like signals. [reader-older-counts]
// Rule (3, Tags): A restarted reader's lower number is taken once it was unheard for longer than
// the age. [reader-never-restarts]
static enum gate_order reader_order(const struct gate_reader_mark *reader,
                                    const struct model_point *point, const struct gate_stamp *stamp,
                                    struct gate_time now) {
    return gate_order_of(&reader->mark, stamp, now.mono - reader->heard > reader_age(point));
}

// Whether a lock that the reader saw may count at all: reported in time, not dated ahead, and hung
// after the point last read live.
// Rule (3, Tags): A reader's hung that is older than the point's age is listed and does not count.
// [reader-age-ignored]
// Rule (3, Tags): A reader's hung dated more than 5 s ahead does not count. [reader-ahead-counts]
// Rule (3, Tags): A lock hung before the point was last live does not count.
// [reader-before-live-counts]
// Rule (3, Hearing): A lock hung before a late live does not count, though its event comes after.
// [reader-before-late-live-counts]
// Rule (3, Tags; R11): A reader's hung that waited in the session is listed and does not count.
// [reader-waited-counts]
// Rule (3, Tags; R14): A reader's hung whose time cannot be read is listed and does not count.
// [reader-undated-counts]
// Rule (3, A sensor out of order; R27): What a reader out of order sees hung is listed and does not
// count. [distrusted-reader-counts]
static bool hung_in_time(const struct gate_site *site, uint32_t point,
                         const struct gate_tagging *tagging, struct gate_time now) {
    const struct model_point *model = &site->model->points[point];
    if (tagging->waited || tagging->undated || gate_is_distrusted(site, point, MODEL_NONE)) {
        return false;
    }
    if (!tagging->has_at) {
        return true;
    }
    return tagging->at <= now.wall + GATE_AHEAD_MS && now.wall - tagging->at <= reader_age(model) &&
           tagging->at > site->points[point].last_live.wall &&
           tagging->at > site->hearing[point].said_live;
}

// Rule (3, Tags; 29 CFR 1910.147(d)(4) [P]): A lock counts only if the point read isolated when it
// was hung. [reader-counts-on-live]
static bool reads_isolated(const struct gate *gate, const struct gate_site *site, uint32_t point,
                           const struct gate_job *job, struct gate_time now) {
    int64_t next = INT64_MAX;
    struct gate_view view = job != NULL ? gate_point_for_job(gate, site, job, point, now, &next)
                                        : gate_point_derive(gate, site, point, now, &next);
    return view.state == MODEL_POINT_ISOLATED;
}

// What a reader said of a lock, as far as it matters to whether the lock may count.
enum said {
    SAID_LATE,  // too late, or not newer: it lists the lock
    SAID_NEWER, // newer than its last word, and still too late to count
    SAID_NOW,   // it counts where the point is isolated
};

// Whether the event tells nothing of a lock that hangs there already. One that its owner has lifted
// since is hung again by a newer word alone.
// Rule (3, Tags): A late event makes a lock that is listed neither better nor worse.
// [reader-late-worsens]
// Rule (3, Tags; R14): A lock that its reader saw hung is listed as seen, also by a late event.
// [reader-late-unseen]
// Rule (3, Tags; R14): A lock that is hung again after its owner lifted it is not seen to be off.
// [hung-again-still-off]
static bool is_known(const struct gate_tag *tag, enum said said) {
    return tag != NULL && tag->seen && !(tag->lifted && said != SAID_LATE);
}

// What the reader says is of the lock that it saw before, also where that was listed alone.
// Rule (3, Tags; R14): A lock listed alone becomes the tag that its reader sees hung for a job.
// [listed-beside-its-tag]
static void hang_by_reader(struct gate *gate, struct gate_site *site, uint32_t point,
                           const struct gate_job *job, const struct gate_tagging *tagging,
                           enum said said, struct gate_time now) {
    const struct owner owner = owner_of(gate, tagging);
    const struct gate_tag *tag =
        gate_tag_of(site, point, job != NULL ? job->job : "", owner.person, owner.badge);
    bool counts = said == SAID_NOW && reads_isolated(gate, site, point, job, now);
    if (!counts && is_known(tag, said)) {
        return;
    }
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_TAG_HUNG, now);
    fact.job = job != NULL ? job->job : NULL;
    fact.person = owner.person;
    fact.badge = owner.badge;
    fact.reader = true;
    fact.adopted = job != NULL && gate_tag_find(site, point, "", owner.person) != NULL;
    fact.has_counts = true;
    fact.counts = counts || (tag != NULL && tag->counts);
    fact.hung = tagging->has_at && tagging->at < now.wall ? tagging->at : 0;
    if (!counts && tag != NULL) {
        fact.hung = tag->since.wall; // hung by request before: it is as old as it was
    }
    gate_tag_hang(gate, site, &fact);
}

// Rule (3, Tags): A reader's hung counts for every standing job of that person that requires the
// point. [reader-one-job]
// Rule (3, Tags): A reader's lock is a tag only of jobs that require the point. [reader-any-point]
static void hung_by_reader(struct gate *gate, struct gate_site *site, uint32_t point,
                           const struct gate_tagging *tagging, enum said said,
                           struct gate_time now) {
    const struct owner owner = owner_of(gate, tagging);
    bool of_a_job = false;
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && gate_requires(job, point) && owner.person != NULL &&
            gate_member_of(job, owner.person) != NULL) {
            hang_by_reader(gate, site, point, job, tagging, said, now);
            of_a_job = true;
        }
    }
    if (!of_a_job) {
        hang_by_reader(gate, site, point, NULL, tagging, said, now);
    }
}

// A lock that was listed by its badge alone is the one that its reader sees go, also where somebody
// is known by that badge since.
// Rule (3, Tags): A reader's lifted ends what its badge is listed with, whoever has it now.
// [badge-of-somebody-since]
static void lifted_by_reader(struct gate *gate, struct gate_site *site, uint32_t point,
                             const struct owner *owner, struct gate_time now) {
    struct gate_point *state = &site->points[point];
    struct gate_fact how = {.reader = true};
    for (size_t i = state->tag_count; i-- > 0;) {
        if (i >= state->tag_count) {
            continue; // what followed from the tag behind took this one along
        }
        const struct gate_tag *tag = &state->tags[i];
        bool known = tag->person[0] != '\0';
        if (known ? gate_same(tag->person, owner->person) : gate_same(tag->badge, owner->badge)) {
            gate_tag_lift(gate, site, point, tag, &how, now);
        }
    }
}

// Rule (3, Tags): A reader's hung that is not newer is listed and does not count.
// [reader-copy-counts]
// Rule (3, Tags; 5, Breaking): A reader's lifted is always taken, however late.
// [reader-lift-ordered]
enum gate_heard gate_hear_tagging(struct gate *gate, uint32_t site_index, uint32_t point,
                                  const struct gate_tagging *tagging, struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    gate_review_due(gate, site, now);
    const struct owner owner = owner_of(gate, tagging);
    struct gate_reader_mark *mark = mark_of(&site->hearing[point], &owner);
    const struct model_point *model = &site->model->points[point];
    struct gate_stamp stamp = stamp_of_tagging(tagging);
    enum gate_order order =
        mark != NULL ? reader_order(mark, model, &stamp, now) : GATE_ORDER_OLDER;
    if (mark != NULL && order == GATE_ORDER_NEWER && !gate_stamp_ahead(&stamp, now)) {
        mark->heard = now.mono;
        gate_mark_move(&mark->mark, &stamp);
    }
    if (tagging->hung) {
        bool in_time = hung_in_time(site, point, tagging, now);
        hung_by_reader(gate, site, point, tagging,
                       order != GATE_ORDER_NEWER ? SAID_LATE
                       : in_time                 ? SAID_NOW
                                                 : SAID_NEWER,
                       now);
    } else {
        lifted_by_reader(gate, site, point, &owner, now);
    }
    gate_review(gate, site, now);
    return GATE_HEARD_CHANGED;
}
