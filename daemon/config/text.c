// Texts for people: their bounds, and the object that has one for each language.
#include "config/language.h"

#include <string.h>

#define TEXT_MAX 500

void config_read_text(struct config_file *file, const struct json_node *node,
                      const struct config_field *field, struct config_value *value) {
    size_t least = field->max > 0 ? (size_t)field->min : 1;
    size_t most = field->max > 0 ? (size_t)field->max : TEXT_MAX;
    size_t length = json_text_length(&file->tape, node);
    if (length < least || length > most) {
        config_error(file, node, "must be a text of %zu to %zu bytes, not of %zu", least, most,
                     length);
        return;
    }
    char *text = config_brief(file->config, length + 1, 1);
    bool copied = json_copy(&file->tape, node, text, length + 1);
    // Interned: most texts stand in many places.
    value->text = copied ? config_intern(file->config, text) : NULL;
    value->ok = copied;
    if (!copied) {
        config_error(file, node, "must be a text without U+0000");
    }
}

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

// A tag by RFC 5646 as far as its form goes: two or three letters, then parts of up to 8 letters
// and digits.
static bool is_tag(const char *text) {
    size_t letters = 0;
    while (text[letters] >= 'a' && text[letters] <= 'z') {
        letters++;
    }
    if (letters < 2 || letters > 3) {
        return false;
    }
    text += letters;
    while (*text == '-') {
        size_t part = 0;
        for (text++; is_letter(*text) || (*text >= '0' && *text <= '9'); text++) {
            part++;
        }
        if (part == 0 || part > 8) {
            return false;
        }
    }
    return *text == '\0';
}

bool config_read_tag(struct config_file *file, const struct json_node *node,
                     char tag[CONFIG_TAG_SIZE]) {
    if (node->kind == JSON_STRING && json_copy(&file->tape, node, tag, CONFIG_TAG_SIZE) &&
        is_tag(tag)) {
        return true;
    }
    config_error(file, node, "must be a language as \"en\", \"es\" or \"es-US\" (RFC 5646)");
    return false;
}

// --- By language ---

// Notes a text and where it stands, once for each set of languages: what misses one is judged when
// every site is known.
static void note(struct config_file *file, const struct json_node *node,
                 const struct model_texts *texts) {
    struct config *config = file->config;
    for (size_t i = file->first_said; i < config->said_count; i++) {
        struct config_said *said = &config->said[i];
        bool same = (said->texts == NULL) == (texts == NULL) &&
                    (texts == NULL || said->texts->count == texts->count);
        for (size_t k = 0; same && texts != NULL && k < texts->count; k++) {
            same = model_text_in(said->texts, texts->in[k].language, NULL) != NULL;
        }
        if (same) {
            said->count++;
            return;
        }
    }
    config_array_room(config, config_scratch, &config->said, config->said_count, &config->said_room,
                      sizeof(*config->said));
    config->said[config->said_count++] =
        (struct config_said){.texts = texts, .place = config_place_of(file, node), .count = 1};
}

static const struct model_texts *read_texts(struct config_file *file, const struct json_node *node,
                                            const struct config_field *field) {
    const struct json_tape *tape = &file->tape;
    struct model_texts *texts = config_alloc(file->config, 1, sizeof(*texts));
    struct model_text *in = config_alloc(file->config, node->count, sizeof(*in));
    for (const struct json_node *key = json_first(tape, node); key != NULL;) {
        const struct json_node *said = json_next(tape, node, key);
        char tag[CONFIG_TAG_SIZE];
        struct config_value value = {0};
        if (!config_read_tag(file, key, tag)) {
            // said already
        } else if (said->kind != JSON_STRING) {
            config_error(file, said, "must be a text");
        } else {
            config_read_text(file, said, field, &value);
        }
        if (value.ok) {
            in[texts->count++] = (struct model_text){config_intern(file->config, tag), value.text};
        }
        key = json_next(tape, node, said);
    }
    texts->in = in;
    return texts;
}

// Rule (2, languages): Every title and ask is a text, or an object of texts by language.
// [texts-by-language-unread]
void config_read_said(struct config_file *file, const struct json_node *node,
                      const struct config_field *field, bool noted, struct config_value *value) {
    if (node->kind == JSON_STRING) {
        config_read_text(file, node, field, value);
        if (value->ok && noted) {
            note(file, node, NULL);
        }
        return;
    }
    if (node->count == 0) {
        config_error(file, node, "may not be empty; give it in one language at least");
        return;
    }
    const struct model_texts *texts = read_texts(file, node, field);
    if (texts->count == 0) {
        return; // said already
    }
    const char *first = file->site != NULL ? file->site->languages[0] : texts->in[0].language;
    value->texts = texts;
    value->text = model_text_in(texts, first, texts->in[0].text);
    value->ok = true;
    note(file, node, texts);
}
