// The folded state of a gate as text. Everything that a fact may change stands in it, times and
// counts included; nothing that was only heard does.
#include <stdio.h>
#include <stdlib.h>

#include "world_journal.h"

static void put_time(FILE *out, const char *name, struct gate_time at) {
    fprintf(out, " %s=%lld/%lld", name, (long long)at.wall, (long long)at.mono);
}

static void put_word(FILE *out, const char *name, const struct gate_statement *word) {
    fprintf(out, "  %s %s overseer=%d%s jobs=", name, word->person, word->overseer,
            word->warned ? " warned" : "");
    for (size_t i = 0; i < word->job_count; i++) {
        fprintf(out, "%s,", word->jobs[i]);
    }
    put_time(out, "at", word->at);
    fprintf(out, "\n");
}

static void put_point(FILE *out, const char *id, const struct gate_point *point) {
    fprintf(out, "point %s %s %s", id, model_point_state_name(point->state),
            model_trust_name(point->trust));
    put_time(out, "since", point->since);
    put_time(out, "last_live", point->last_live);
    fprintf(out, "\n");
    for (size_t i = 0; i < point->tag_count; i++) {
        const struct gate_tag *tag = &point->tags[i];
        fprintf(out, "  tag person=%s badge=%s job=%s counts=%d", tag->person, tag->badge, tag->job,
                tag->counts);
        put_time(out, "since", tag->since);
        fprintf(out, "\n");
    }
    for (size_t i = 0; i < point->statement_count; i++) {
        put_word(out, "isolated", &point->statements[i]);
    }
    for (size_t i = 0; i < point->live_statement_count; i++) {
        put_word(out, "live", &point->live_statements[i]);
    }
    for (size_t i = 0; i < point->distrust_count; i++) {
        const struct gate_distrust *distrust = &point->distrusts[i];
        fprintf(out, "  distrust %u by=%s reason=%s", distrust->sensor, distrust->by,
                distrust->reason);
        put_time(out, "since", distrust->since);
        put_time(out, "until", distrust->until);
        fprintf(out, "\n");
    }
}

static void put_requirements(FILE *out, const char *name, const struct model_requirements *needs) {
    if (needs == NULL) {
        return;
    }
    fprintf(out, "  %s %s match=%d takes=%d credentials=%zu\n", name, needs->procedure,
            needs->match, needs->takes_dispenser, needs->credential_count);
    if (needs->check_in_ms != 0) { // what the first edition had not is told where it is there
        fprintf(out, "    check-in %lld\n", (long long)needs->check_in_ms);
    }
    for (size_t i = 0; i < needs->isolate_count; i++) {
        fprintf(out, "    isolate %s\n", needs->isolate[i]);
    }
    for (size_t i = 0; i < needs->check_count; i++) {
        const struct model_check *check = &needs->checks[i];
        fprintf(out, "    check %s %s by=%u valid=%lld measure=%s %d:%a %d:%a\n", check->check,
                model_group_name(check->group), check->by, (long long)check->valid_ms,
                check->measure != NULL ? check->measure : "", check->limits.has_min,
                check->limits.min, check->limits.has_max, check->limits.max);
    }
    for (size_t i = 0; i < needs->test_count; i++) {
        const struct model_test *test = &needs->tests[i];
        fprintf(out, "    test %s %s powered=%d runs=%u:%a fails=%d %d:%a %d:%a\n", test->test,
                test->rule, test->powered, test->runs, test->borderline, test->fails_dispenser,
                test->limits.has_min, test->limits.min, test->limits.has_max, test->limits.max);
    }
}

static void put_part(FILE *out, const char *name, const struct gate_part *part) {
    fprintf(out, "  %s %s family=%s serial=%s job=%s by=%s due=%s", name, part->part, part->family,
            part->serial, part->job, part->by, part->due);
    put_time(out, "fitted", part->fitted);
    fprintf(out, "\n");
}

static void put_position(FILE *out, const char *id, const struct gate_position *position) {
    fprintf(out, "position %s %s owed_by=%s%s untested=", id, model_service_name(position->service),
            position->owed_by, position->left_unsafe ? " unsafe" : "");
    for (size_t i = 0; i < position->untested_count; i++) {
        fprintf(out, "%u,", position->untested_from[i]);
    }
    put_time(out, "since", position->since);
    fprintf(out, "\n");
    for (size_t i = 0; i < position->failed_count; i++) {
        const struct gate_failed *failed = &position->failed[i];
        fprintf(out, "  failed %s %s job=%s\n", failed->test, failed->rule, failed->job);
    }
    for (size_t i = 0; i < position->hang_count; i++) {
        put_part(out, "hangs", &position->hangs[i]);
    }
    for (size_t i = 0; i < position->fitting_count; i++) {
        fprintf(out, "  fitting %s %lld\n", position->fittings[i].part,
                (long long)position->fittings[i].at);
    }
    put_requirements(out, "owed", position->owed);
}

static void put_signatures(FILE *out, const struct gate_job *job) {
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *s = &job->signatures[i];
        fprintf(out, "  signature %s by=%s order=%llu group=%d pass=%d void=%d %d:%a", s->check,
                s->by, (unsigned long long)s->order, (int)s->group, s->pass, s->void_, s->has_value,
                s->value);
        fprintf(out, " unit=%s instrument=%s", s->unit, s->instrument);
        put_time(out, "at", s->at);
        fprintf(out, "\n");
    }
    for (size_t i = 0; i < job->test_count; i++) {
        const struct gate_test_record *t = &job->tests[i];
        fprintf(out, "  test %s by=%s pass=%d void=%d %d:%a instrument=%s", t->test, t->by, t->pass,
                t->void_, t->has_value, t->value, t->instrument);
        fprintf(out, " run=%u/%u:%a waits=%d", t->run, t->runs, t->reading, t->waits);
        put_time(out, "at", t->at);
        fprintf(out, "\n");
    }
}

// Told where there is some of it: the first edition had none.
static void put_day(FILE *out, const struct gate_day *day) {
    if (day->expected.at != 0) {
        fprintf(out, "  expected %lld by=%s moved=%u\n", (long long)day->expected.at,
                day->expected.by, day->expected.moved);
    }
    for (size_t i = 0; i < day->fuel_count; i++) {
        const struct gate_fuel *fuel = &day->fuel[i];
        fprintf(out, "  fuel %s %s %a %a %a %d:%a %d:%a tank=%s\n", fuel->product, fuel->unit,
                fuel->drawn, fuel->returned, fuel->kept, fuel->has_before, fuel->before,
                fuel->has_after, fuel->after, fuel->tank);
    }
    for (size_t i = 0; i < day->part_count; i++) {
        put_part(out, "part", &day->parts[i]);
    }
    if (day->shift.note != NULL) {
        fprintf(out, "  shift note=%s by=%s to=%s signed=%s", day->shift.note, day->shift.by,
                day->shift.to, day->shift.signed_by);
        put_time(out, "at", day->shift.at);
        put_time(out, "signed", day->shift.signed_at);
        fprintf(out, "\n");
    }
    for (size_t i = 0; i < day->attachment_count; i++) {
        const struct gate_attachment *of = &day->attachments[i];
        fprintf(out, "  attached %s %s %s check=%s test=%s alarm=%s by=%s", of->title, of->url,
                of->sha256, of->check, of->test, of->alarm, of->by);
        put_time(out, "at", of->at);
        fprintf(out, "\n");
    }
}

static void put_job(FILE *out, const struct gate_job *job) {
    fprintf(out, "job %s position=%u leader=%s phase=%s lockout=%s hold=%d order=%llu", job->job,
            job->position, job->leader, model_phase_name(job->phase),
            model_lockout_name(job->lockout), (int)job->isolation, (unsigned long long)job->order);
    fprintf(out, " kit=%s part=%s offered=%s started=%d aside=%d rework=%u", job->kit_family,
            job->part, job->offered, job->started, job->set_aside, job->rework);
    put_time(out, "offered", job->offered_at);
    put_time(out, "opened", job->opened);
    put_time(out, "since", job->since);
    put_time(out, "ended", job->ended);
    put_time(out, "hold", job->isolation_since);
    if (job->stop.by[0] != '\0' || job->paused_by[0] != '\0') { // the first edition had neither
        fprintf(out, " stop=%s %llu %llx paused=%s", job->stop.by,
                (unsigned long long)job->stop.order, (unsigned long long)job->stop.reason,
                job->paused_by);
        put_time(out, "called", job->stop.at);
    }
    if (job->checked_in.mono != 0) {
        put_time(out, "checked-in", job->checked_in);
    }
    fprintf(out, " required=");
    for (size_t i = 0; i < job->required_count; i++) {
        fprintf(out, "%u,", job->required[i]);
    }
    fprintf(out, "\n");
    for (size_t i = 0; i < job->crew_count; i++) {
        fprintf(out, "  crew %s protected=%d order=%llu", job->crew[i].person,
                job->crew[i].protected, (unsigned long long)job->crew[i].joined_order);
        put_time(out, "joined", job->crew[i].joined);
        fprintf(out, "\n");
    }
    put_requirements(out, "opening", job->opening);
    put_requirements(out, "needs", job->needs);
    put_signatures(out, job);
    put_day(out, &job->day);
    for (size_t i = 0; i < job->cause_count; i++) {
        const struct gate_cause *cause = &job->causes[i];
        fprintf(out, "cause %d point=%u check=%s held=%d said=%d came=%llu", (int)cause->why,
                cause->point, cause->check, cause->held, cause->said,
                (unsigned long long)cause->came);
        put_time(out, "last", cause->last);
        fprintf(out, "\n");
    }
}

static void put_alarm(FILE *out, const struct gate_alarm *alarm) {
    fprintf(out, "alarm %s %s %s job=%s point=%s subject=%s by=%s position=%u why=%d:%d say=%s",
            alarm->alarm, model_alarm_kind_name(alarm->kind), model_alarm_state_name(alarm->state),
            alarm->job, alarm->point, alarm->subject, alarm->by, alarm->position, alarm->has_why,
            (int)alarm->why, alarm->say);
    fprintf(out, " count=%u sentence=%s", alarm->count, gate_say_name(alarm->told.sentence));
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        const char *text = gate_refusal_text(&alarm->told, i);
        fprintf(out, " %s", text != NULL ? text : "-");
    }
    fprintf(out, " %d %.17g", alarm->told.args.has_value, alarm->told.args.value);
    put_time(out, "raised", alarm->raised);
    put_time(out, "returned", alarm->returned);
    fprintf(out, "\n");
}

static void put_site(FILE *out, const struct gate_site *site) {
    fprintf(out, "site %s alarms_raised=%llu used=%zu\n", site->model->site,
            (unsigned long long)site->alarms_raised, site->used_count);
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
        put_alarm(out, &site->alarms[i]);
    }
    for (size_t i = 0; i < site->spill_count; i++) {
        const struct gate_spill *spill = &site->spills[i];
        fprintf(out, "spill %s %u %s by=%s %a %s %a sheen=%d cleaned=%lld", spill->spill,
                spill->position, spill->product, spill->by, spill->quantity, spill->unit,
                spill->gallons, spill->sheen, (long long)spill->cleaned);
        put_time(out, "at", spill->at);
        fprintf(out, "\n");
    }
    for (size_t i = 0; i < site->used_capacity; i++) {
        if (site->used[i].job[0] != '\0') {
            fprintf(out, "used %s known=%d\n", site->used[i].job, site->used[i].ref != NULL);
        }
    }
}

char *world_state_text(const struct gate *gate) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    for (size_t s = 0; s < gate->model->site_count; s++) {
        put_site(out, &gate->sites[s]);
    }
    assert_int_equal(fclose(out), 0);
    return text;
}
