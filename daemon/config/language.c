// Texts by language. A plain text is in the first language of whichever site says it; an object has
// one text a language. Requirements are read before any site is, and shared by many: a site whose
// first language is another than the one they were written in first has rows of its own, made once.
#include "config/language.h"

#include <string.h>

static const char *const usual[] = {"en", "es"};

// --- The languages of a site ---

void config_languages_read(struct config_file *file, struct model_site *site) {
    struct config *config = file->config;
    const struct json_node *root = json_root(&file->tape);
    const struct json_node *list =
        root->kind == JSON_OBJECT ? json_present(&file->tape, root, "languages") : NULL;
    bool given = list != NULL && list->kind == JSON_ARRAY && list->count > 0;
    size_t room = given && list->count > CONFIG_COUNT(usual) ? list->count : CONFIG_COUNT(usual);
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    site->languages = config_alloc(config, room, sizeof(*site->languages));
    const struct json_node *node = given ? json_first(&file->tape, list) : NULL;
    for (; node != NULL; node = json_next(&file->tape, list, node)) {
        char tag[CONFIG_TAG_SIZE];
        bool twice = false;
        if (!config_read_tag(file, node, tag)) {
            continue;
        }
        for (size_t i = 0; i < site->language_count; i++) {
            twice = twice || strcmp(site->languages[i], tag) == 0;
        }
        if (twice) {
            config_error(file, node, "the language \"%s\" stands twice in this list; name it once",
                         tag);
        } else {
            site->languages[site->language_count++] = config_intern(config, tag);
        }
    }
    for (size_t i = 0; site->language_count == 0 && i < CONFIG_COUNT(usual); i++) {
        site->languages[i] = config_intern(config, usual[i]);
    }
    site->language_count = site->language_count > 0 ? site->language_count : CONFIG_COUNT(usual);
}

// Whether a text lacks a language of a site. A plain one is in the site's first.
static bool lacks(const struct config_said *said, const struct model_site *site, size_t language) {
    return said->texts == NULL
               ? language > 0
               : model_text_in(said->texts, site->languages[language], NULL) == NULL;
}

// Warns of one language in the texts of one file: where it is missing first, and how often. False:
// it is missing nowhere.
static bool warn_language(struct config *config, size_t first, size_t end,
                          const struct model_site *site, size_t language) {
    const struct config_said *at = NULL;
    size_t count = 0;
    for (size_t i = first; i < end; i++) {
        const struct config_said *said = &config->said[i];
        if (lacks(said, site, language)) {
            at = at == NULL ? said : at;
            count += said->count;
        }
    }
    if (at == NULL) {
        return false;
    }
    char others[60] = "";
    if (count > 1) {
        snprintf(others, sizeof(others), ", as are %zu more texts of this file", count - 1);
    }
    config_warn_at(config, &at->place,
                   "is not given in \"%s\", a language of the site \"%s\"%s; give an object of "
                   "texts by language",
                   site->languages[language], site->site, others);
    return true;
}

// Warns of the texts of one file that a site's languages miss; warned: the languages of which it
// was said already.
static void check_file(struct config *config, size_t first, size_t end,
                       const struct model_site *site, struct config_names *warned) {
    for (size_t k = 0; k < site->language_count; k++) {
        if (config_names_find(warned, site->languages[k]) == MODEL_NONE &&
            warn_language(config, first, end, site, k)) {
            config_names_add(config, warned, site->languages[k], 0);
        }
    }
}

// Rule (2, languages): A language of the site that is missing in its file is a warning, once.
// [language-missing-in-site]
void config_languages_of_site(struct config_file *file) {
    struct config_names warned = {.brief = true};
    check_file(file->config, file->first_said, file->config->said_count, file->site, &warned);
    file->config->said_count = file->first_said; // they are no other site's
}

// Rule (2, languages): A language of a site that is missing in a file of all sites is a warning,
// once a file. [language-missing-unsaid]
void config_languages_check(struct config *config) {
    for (size_t first = 0, end; first < config->said_count; first = end) {
        struct config_names warned = {0};
        end = first + 1;
        while (end < config->said_count &&
               config->said[end].place.order == config->said[first].place.order) {
            end++;
        }
        for (size_t i = 0; i < config->model->site_count; i++) {
            check_file(config, first, end, &config->model->sites[i], &warned);
        }
    }
}

// --- Requirements as a site says them ---

static void say(const char **text, const struct model_texts *texts, const char *language,
                bool *differs) {
    const char *in = model_text_in(texts, language, *text);
    *differs = *differs || in != *text; // interned
    *text = in;
}

static void *copy_of(struct config *config, config_allocate *allocate, const void *from,
                     size_t count, size_t size) {
    void *to = allocate(config, count, size);
    if (count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

// One procedure's requirements in a language: the same ones where nothing is said otherwise.
static const struct model_requirements *
needs_in(struct config *config, const struct model_requirements *from, const char *language) {
    struct model_requirements needs = *from;
    bool differs = false;
    say(&needs.title, needs.titles, language, &differs);
    needs.checks =
        copy_of(config, config_scratch, from->checks, from->check_count, sizeof(*from->checks));
    for (size_t i = 0; i < needs.check_count; i++) {
        say(&needs.checks[i].ask, needs.checks[i].asks, language, &differs);
    }
    needs.tests =
        copy_of(config, config_scratch, from->tests, from->test_count, sizeof(*from->tests));
    for (size_t i = 0; i < needs.test_count; i++) {
        say(&needs.tests[i].title, needs.tests[i].titles, language, &differs);
        say(&needs.tests[i].ask, needs.tests[i].asks, language, &differs);
    }
    if (!differs) {
        return from;
    }
    needs.checks =
        copy_of(config, config_alloc, needs.checks, needs.check_count, sizeof(*needs.checks));
    needs.tests =
        copy_of(config, config_alloc, needs.tests, needs.test_count, sizeof(*needs.tests));
    return copy_of(config, config_alloc, &needs, 1, sizeof(needs));
}

// Rows in a language, made once for each.
static const struct model_requirements *const *
rows_in(struct config *config, const struct model_requirements *const *rows, const char *language) {
    for (size_t i = 0; i < config->spoken_count; i++) {
        if (config->spoken[i].rows == rows && config->spoken[i].language == language) { // interned
            return config->spoken[i].in;
        }
    }
    size_t count = config->model->procedure_count;
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    const struct model_requirements **in = config_alloc(config, count, sizeof(*in));
    for (size_t i = 0; i < count; i++) {
        in[i] = needs_in(config, rows[i], language);
    }
    config_array_room(config, config_scratch, &config->spoken, config->spoken_count,
                      &config->spoken_room, sizeof(*config->spoken));
    config->spoken[config->spoken_count++] = (struct config_spoken){rows, language, in};
    return in;
}

// Rule (2, languages): What names several languages is said in the site's first.
// [first-language-passed-over]
void config_requirements_in(struct config *config, struct model_site *site) {
    const char *language = site->languages[0];
    const struct model_rules *rules = site->rules;
    site->requirements = rows_in(config, site->requirements, language);
    if (site->rule_count == 0) {
        return;
    }
    struct model_rules *in = config_alloc(config, site->rule_count, sizeof(*in));
    for (size_t i = 0; i < site->rule_count; i++) {
        in[i] = rules[i];
        in[i].requirements = rows_in(config, rules[i].requirements, language);
    }
    site->rules = in;
}
