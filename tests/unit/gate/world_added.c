// The folded state that the second edition added, as text. What the first edition had is in
// world_fold.c, whose text of that edition's journal is never written anew.
#include "world.h"

#include <stdio.h>

#include "world_journal.h"

static void put_job(FILE *out, const struct gate_job *job) {
    fprintf(out, "job %s hold-order=%llu warned=", job->job,
            (unsigned long long)job->isolation_order);
    for (size_t i = 0; i < job->signature_count; i++) {
        fprintf(out, "%d", job->signatures[i].warned);
    }
    fprintf(out, "\n");
}

static void put_tags(FILE *out, const char *id, const struct gate_point *point) {
    for (size_t i = 0; i < point->tag_count; i++) {
        const struct gate_tag *tag = &point->tags[i];
        fprintf(out, "tag %s person=%s badge=%s job=%s reader=%d seen=%d lifted=%d doubt=%d\n", id,
                tag->person, tag->badge, tag->job, tag->reader, tag->seen, tag->lifted,
                (int)tag->doubt);
    }
}

char *world_added_text(const struct gate *gate) {
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    for (size_t s = 0; s < gate->model->site_count; s++) {
        const struct gate_site *site = &gate->sites[s];
        for (size_t i = 0; i < site->job_count; i++) {
            put_job(out, site->jobs[i]);
        }
        for (size_t p = 0; p < site->model->point_count; p++) {
            put_tags(out, site->model->points[p].point, &site->points[p]);
            fprintf(out, "point %s awaited=%d\n", site->model->points[p].point,
                    site->points[p].awaited);
        }
        for (size_t i = 0; i < site->untold_count; i++) {
            fprintf(out, "untold %s %s\n", site->untold[i].person, site->untold[i].point);
        }
    }
    assert_int_equal(fclose(out), 0);
    return text;
}
