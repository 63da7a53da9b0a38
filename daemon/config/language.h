// Texts by language: what a title or a question may be, in which languages a site's people read,
// and the requirements as one site says them.
#pragma once

#include "config/field.h"

// --- text.c ---

// Room for a language's tag ("es", "es-US", "zh-Hant-TW") and its NUL.
#define CONFIG_TAG_SIZE 36

// Reads a language's tag by RFC 5646. False: reported.
bool config_read_tag(struct config_file *file, const struct json_node *node,
                     char tag[CONFIG_TAG_SIZE]);
// Reads a text, which the node is, by a field's bounds into a value.
void config_read_text(struct config_file *file, const struct json_node *node,
                      const struct config_field *field, struct config_value *value);
// Reads a text, or an object of texts by language, by a field's bounds into a value: its text in
// the first language of the file's site (of a file that is no site's: in the first that is given),
// and all of them. noted: a language of a site that is missing in it is worth a warning.
void config_read_said(struct config_file *file, const struct json_node *node,
                      const struct config_field *field, bool noted, struct config_value *value);

// --- language.c ---

// The languages of a site, before the texts of its file are read: "languages", or the default.
void config_languages_read(struct config_file *file, struct model_site *site);
// Warns, once a language, of texts of a site's file that lack one of its languages.
void config_languages_of_site(struct config_file *file);
// The same of each file that is of every site, once all are known.
void config_languages_check(struct config *config);

// The requirements of a site as it says them: in its first language. Rows are by procedure index.
void config_requirements_in(struct config *config, struct model_site *site);
