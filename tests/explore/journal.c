// Facts kept as JSON, folded again and compared with the live state.
#include "journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "gate/fact/row.h"

struct journal_line {
    enum gate_fact_type type;
    uint32_t site;
    struct gate_time at;
    size_t length;
    char *json;
};

void journal_keep(void *user, const struct gate_fact *fact) {
    struct journal *j = user;
    struct json_out out = {0};
    if (j->count == j->capacity) {
        size_t more = j->capacity == 0 ? 1024 : 2 * j->capacity;
        struct journal_line *lines = realloc(j->lines, more * sizeof *lines);
        if (lines == NULL) {
            j->failed = true;
            return;
        }
        j->lines = lines;
        j->capacity = more;
    }
    // A fact with a field that its row does not name is as wrong as one that cannot be written.
    if (gate_fact_strays(fact) != 0 || !wire_fact_encode(fact, j->model, &out)) {
        j->failed = true;
        json_out_free(&out);
        return;
    }
    struct journal_line *line = &j->lines[j->count];
    *line = (struct journal_line){fact->type, fact->site, fact->at, out.length, NULL};
    line->json = malloc(out.length + 1);
    if (line->json != NULL) {
        memcpy(line->json, out.data, out.length);
        line->json[out.length] = '\0';
        j->count++;
    }
    j->failed = j->failed || line->json == NULL;
    json_out_free(&out);
}

void journal_cut(struct journal *j, size_t count) {
    while (j->count > count) {
        free(j->lines[--j->count].json);
    }
}

void journal_clear(struct journal *j) {
    journal_cut(j, 0);
    free(j->lines);
    *j = (struct journal){.model = j->model};
}

static bool fold_line(struct gate *gate, const struct journal_line *line, struct json_tape *tape,
                      struct wire_fact_arena *arena) {
    struct json_error error;
    struct gate_fact fact;
    char what[256] = "it does not read back";
    wire_fact_arena_reset(arena);
    bool good =
        json_scan(tape, line->json, line->length, &json_message_limits, &error) &&
        wire_fact_decode(tape, json_root(tape), line->type, line->site, line->at, arena, &fact) &&
        gate_apply(gate, &fact, what, sizeof what);
    if (!good) {
        fprintf(stderr, "fold: %s: %s: %s\n", gate_fact_name(line->type), what, line->json);
    }
    return good;
}

struct gate *journal_fold(const struct journal *j,
                          void (*fact)(void *user, const struct gate_fact *), void *user) {
    struct gate *gate = gate_new(j->model, fact, user);
    struct json_tape tape = {0};
    struct wire_fact_arena arena = {0};
    bool good = gate != NULL && !j->failed;
    for (size_t i = 0; good && i < j->count; i++) {
        good = fold_line(gate, &j->lines[i], &tape, &arena);
    }
    json_tape_free(&tape);
    wire_fact_arena_free(&arena);
    if (!good) {
        gate_free(gate);
        return NULL;
    }
    return gate;
}

// --- The state as text ---

static void put_time(FILE *out, const char *name, struct gate_time at) {
    fprintf(out, " %s=%lld/%lld", name, (long long)at.wall, (long long)at.mono);
}

static void put_word(FILE *out, const char *name, const struct gate_statement *word) {
    fprintf(out, "  %s %s overseer=%d warned=%d jobs=", name, word->person, word->overseer,
            word->warned);
    for (size_t i = 0; i < word->job_count; i++) {
        fprintf(out, "%s,", word->jobs[i]);
    }
    put_time(out, "at", word->at);
    fputc('\n', out);
}

static void put_point(FILE *out, const char *id, const struct gate_point *point) {
    fprintf(out, "point %s state=%d trust=%d", id, (int)point->state, (int)point->trust);
    put_time(out, "since", point->since);
    put_time(out, "live", point->last_live);
    fputc('\n', out);
    for (size_t i = 0; i < point->tag_count; i++) {
        const struct gate_tag *tag = &point->tags[i];
        fprintf(out, "  tag %s/%s job=%s counts=%d", tag->person, tag->badge, tag->job,
                tag->counts);
        put_time(out, "since", tag->since);
        fputc('\n', out);
    }
    for (size_t i = 0; i < point->statement_count; i++) {
        put_word(out, "isolated", &point->statements[i]);
    }
    for (size_t i = 0; i < point->live_statement_count; i++) {
        put_word(out, "live", &point->live_statements[i]);
    }
}

static void put_marks(FILE *out, const struct gate_job *job) {
    for (size_t i = 0; i < job->crew_count; i++) {
        const struct gate_member *m = &job->crew[i];
        fprintf(out, "  crew %s protected=%d order=%llu", m->person, m->protected,
                (unsigned long long)m->joined_order);
        put_time(out, "joined", m->joined);
        fputc('\n', out);
    }
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *s = &job->signatures[i];
        fprintf(out, "  signature %s by=%s order=%llu group=%d pass=%d void=%d %d:%a unit=%s",
                s->check, s->by, (unsigned long long)s->order, (int)s->group, s->pass, s->void_,
                s->has_value, s->value, s->unit);
        put_time(out, "at", s->at);
        fputc('\n', out);
    }
    for (size_t i = 0; i < job->test_count; i++) {
        const struct gate_test_record *t = &job->tests[i];
        fprintf(out, "  test %s by=%s pass=%d void=%d run=%u/%u:%a", t->test, t->by, t->pass,
                t->void_, t->run, t->runs, t->reading);
        put_time(out, "at", t->at);
        fputc('\n', out);
    }
}

static void put_job(FILE *out, const struct gate_job *job) {
    fprintf(out, "job %s at=%u leader=%s phase=%d lockout=%d hold=%d needs=%s/%zu kit=%s", job->job,
            job->position, job->leader, (int)job->phase, (int)job->lockout, (int)job->isolation,
            job->needs->procedure, job->needs->test_count, job->kit_family);
    fprintf(out, " offered=%s order=%llu started=%d aside=%d rework=%u required=", job->offered,
            (unsigned long long)job->order, job->started, job->set_aside, job->rework);
    for (size_t i = 0; i < job->required_count; i++) {
        fprintf(out, "%u,", job->required[i]);
    }
    put_time(out, "offered", job->offered_at);
    put_time(out, "opened", job->opened);
    put_time(out, "since", job->since);
    put_time(out, "ended", job->ended);
    put_time(out, "hold", job->isolation_since);
    fputc('\n', out);
    put_marks(out, job);
}

static void put_position(FILE *out, const char *id, const struct gate_position *position) {
    fprintf(out, "position %s service=%d owed_by=%s tests=%zu untested=", id,
            (int)position->service, position->owed_by,
            position->owed != NULL ? position->owed->test_count : 0);
    for (size_t i = 0; i < position->untested_count; i++) {
        fprintf(out, "%u,", position->untested_from[i]);
    }
    for (size_t i = 0; i < position->failed_count; i++) {
        const struct gate_failed *failed = &position->failed[i];
        fprintf(out, " failed=%s/%s/%s", failed->test, failed->rule, failed->job);
    }
    put_time(out, "since", position->since);
    fputc('\n', out);
}

static void put_site(FILE *out, const struct gate_site *site) {
    for (size_t p = 0; p < site->model->point_count; p++) {
        put_point(out, site->model->points[p].point, &site->points[p]);
    }
    for (size_t p = 0; p < site->model->position_count; p++) {
        put_position(out, site->model->positions[p].position, &site->positions[p]);
    }
    for (size_t i = 0; i < site->job_count; i++) {
        put_job(out, site->jobs[i]);
    }
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *a = &site->alarms[i];
        fprintf(out, "alarm %s kind=%d state=%d job=%s point=%s subject=%s at=%u why=%d:%d %s",
                a->alarm, (int)a->kind, (int)a->state, a->job, a->point, a->subject, a->position,
                a->has_why, (int)a->why, a->say);
        put_time(out, "raised", a->raised);
        fputc('\n', out);
    }
    fprintf(out, "raised=%llu used=%zu\n", (unsigned long long)site->alarms_raised,
            site->used_count);
}

char *journal_state(const struct gate *gate) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    if (out == NULL) {
        return NULL;
    }
    for (size_t s = 0; s < gate->model->site_count; s++) {
        put_site(out, &gate->sites[s]);
    }
    return fclose(out) == 0 ? text : NULL;
}

static void print_line(const char *what, const char *from) {
    fprintf(stderr, "%s: %.*s\n", what, (int)strcspn(from, "\n"), from);
}

static void ignore(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

bool journal_agrees(const struct journal *j, const struct gate *gate) {
    struct gate *again = journal_fold(j, ignore, NULL);
    char *live = journal_state(gate), *folded = again != NULL ? journal_state(again) : NULL;
    bool same = live != NULL && folded != NULL && strcmp(live, folded) == 0;
    if (!same && live != NULL && folded != NULL) {
        const char *a = live, *b = folded;
        while (strncmp(a, b, strcspn(a, "\n") + 1) == 0) {
            a += strcspn(a, "\n") + 1;
            b += strcspn(b, "\n") + 1;
        }
        print_line("live", a);
        print_line("folded", b);
    }
    free(live);
    free(folded);
    gate_free(again);
    return same;
}
