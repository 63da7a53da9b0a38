// Requirements as one block of memory, so that a job can keep its own and end them with free().
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

// Counts first (base is NULL), then lays out: the same code walks both times, so that what is
// counted is what is used.
struct pack {
    char *base;
    size_t used;
};

static void *pack_take(struct pack *pack, size_t size) {
    size_t at = (pack->used + 7) / 8 * 8;
    pack->used = at + size;
    return pack->base != NULL ? pack->base + at : NULL;
}

static void *pack_copy(struct pack *pack, const void *from, size_t size) {
    void *to = pack_take(pack, size);
    if (to != NULL && size > 0) {
        memcpy(to, from, size);
    }
    return to;
}

static const char *pack_text(struct pack *pack, const char *text) {
    if (text == NULL) {
        return NULL;
    }
    size_t size = strlen(text) + 1;
    char *to = pack->base != NULL ? pack->base + pack->used : NULL;
    pack->used += size;
    return to != NULL ? memcpy(to, text, size) : NULL;
}

static const struct model_texts *pack_languages(struct pack *pack, const struct model_texts *from) {
    if (from == NULL) {
        return NULL;
    }
    struct model_texts *to = pack_copy(pack, from, sizeof(*to));
    struct model_text *in = pack_copy(pack, from->in, from->count * sizeof(*in));
    for (size_t i = 0; i < from->count; i++) {
        const char *language = pack_text(pack, from->in[i].language);
        const char *text = pack_text(pack, from->in[i].text);
        if (in != NULL) {
            in[i] = (struct model_text){language, text};
        }
    }
    if (to != NULL) {
        to->in = in;
    }
    return to;
}

static const char **pack_texts(struct pack *pack, const char *const *texts, size_t count) {
    const char **to = pack_take(pack, count * sizeof(*to));
    for (size_t i = 0; i < count; i++) {
        const char *text = pack_text(pack, texts[i]);
        if (to != NULL) {
            to[i] = text;
        }
    }
    return to;
}

static struct model_credential_choice *
pack_credentials(struct pack *pack, const struct model_credential_choice *from, size_t count) {
    struct model_credential_choice *to = pack_take(pack, count * sizeof(*to));
    for (size_t i = 0; i < count; i++) {
        const char **any = pack_texts(pack, from[i].any, from[i].count);
        if (to != NULL) {
            to[i] = (struct model_credential_choice){any, from[i].count};
        }
    }
    return to;
}

static struct model_check *pack_checks(struct pack *pack, const struct model_check *from,
                                       size_t count) {
    struct model_check *to = pack_copy(pack, from, count * sizeof(*to));
    for (size_t i = 0; i < count; i++) {
        const char *ask = pack_text(pack, from[i].ask);
        const struct model_texts *asks = pack_languages(pack, from[i].asks);
        const char *unit = pack_text(pack, from[i].unit);
        const char *instrument = pack_text(pack, from[i].instrument);
        const char *measure = pack_text(pack, from[i].measure);
        if (to != NULL) {
            to[i].ask = ask;
            to[i].asks = asks;
            to[i].unit = unit;
            to[i].instrument = instrument;
            to[i].measure = measure;
        }
    }
    return to;
}

static struct model_test *pack_tests(struct pack *pack, const struct model_test *from,
                                     size_t count) {
    struct model_test *to = pack_copy(pack, from, count * sizeof(*to));
    for (size_t i = 0; i < count; i++) {
        struct model_test parts = from[i];
        parts.rule = pack_text(pack, from[i].rule);
        parts.title = pack_text(pack, from[i].title);
        parts.titles = pack_languages(pack, from[i].titles);
        parts.ask = pack_text(pack, from[i].ask);
        parts.asks = pack_languages(pack, from[i].asks);
        parts.method = pack_text(pack, from[i].method);
        parts.edition = pack_text(pack, from[i].edition);
        parts.unit = pack_text(pack, from[i].unit);
        parts.instrument = pack_text(pack, from[i].instrument);
        if (to != NULL) {
            to[i] = parts;
        }
    }
    return to;
}

static struct model_requirements *pack_all(struct pack *pack,
                                           const struct model_requirements *from) {
    struct model_requirements *to = pack_copy(pack, from, sizeof(*to));
    struct model_requirements parts = *from;
    parts.procedure = pack_text(pack, from->procedure);
    parts.title = pack_text(pack, from->title);
    parts.titles = pack_languages(pack, from->titles);
    parts.credentials = pack_credentials(pack, from->credentials, from->credential_count);
    parts.isolate = pack_texts(pack, from->isolate, from->isolate_count);
    parts.checks = pack_checks(pack, from->checks, from->check_count);
    parts.tests = pack_tests(pack, from->tests, from->test_count);
    parts.district = pack_text(pack, from->district);
    parts.effective = pack_text(pack, from->effective);
    if (to != NULL) {
        *to = parts;
    }
    return to;
}

struct model_requirements *model_requirements_copy(const struct model_requirements *from) {
    struct pack pack = {NULL, 0};
    pack_all(&pack, from);
    pack.base = malloc(pack.used);
    if (pack.base == NULL) {
        return NULL;
    }
    pack.used = 0;
    return pack_all(&pack, from);
}

const char *model_takes_name(const struct model_requirements *needs) {
    return needs->takes_site ? "site" : needs->takes_dispenser ? "dispenser" : "position";
}

struct model_check *model_check_named(struct model_requirements *all, const char *id) {
    for (size_t i = 0; i < all->check_count; i++) {
        if (strcmp(all->checks[i].check, id) == 0) {
            return &all->checks[i];
        }
    }
    return NULL;
}

void model_check_insert(struct model_requirements *all, const struct model_check *check) {
    size_t at = all->check_count;
    while (at > 0 && all->checks[at - 1].group > check->group) {
        at--;
    }
    memmove(&all->checks[at + 1], &all->checks[at], (all->check_count - at) * sizeof(*check));
    all->checks[at] = *check;
    all->check_count++;
}
