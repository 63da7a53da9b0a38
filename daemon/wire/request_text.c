// Rules about texts that look at UTF-8. The scanner has made sure that it is well formed.
#include "wire/request_text.h"

#include "model/model.h"

#include <string.h>

size_t wire_request_characters(const char *text) {
    size_t count = 0;
    for (; *text != '\0'; text++) {
        count += ((unsigned char)*text & 0xC0) != 0x80;
    }
    return count;
}

bool wire_request_garbled(const char *text) {
    for (const char *c = text; *c != '\0'; c++) {
        if ((unsigned char)*c < 0x20 || *c == 0x7f || strncmp(c, "\xef\xbf\xbd", 3) == 0) {
            return true;
        }
    }
    return false;
}

bool wire_request_test_id(const char *text) {
    size_t length = strlen(text);
    if (model_id_valid(text, length)) {
        return true;
    }
    if (length >= MODEL_TEST_SIZE) {
        return false;
    }
    for (const char *point = strchr(text, '.'); point != NULL; point = strchr(point + 1, '.')) {
        size_t before = (size_t)(point - text);
        if (model_id_valid(text, before) && wire_request_test_id(point + 1)) {
            return true;
        }
    }
    return false;
}

void wire_request_cut(char *text, size_t bytes) {
    size_t length = strnlen(text, bytes);
    size_t lead = length;
    text[length] = '\0';
    while (lead > 0 && ((unsigned char)text[lead - 1] & 0xC0) == 0x80) {
        lead--;
    }
    if (lead == 0) {
        return;
    }
    unsigned char first = (unsigned char)text[lead - 1];
    size_t need = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : first >= 0xC0 ? 2 : 1;
    if (length - (lead - 1) < need) {
        text[lead - 1] = '\0';
    }
}

void wire_request_cut_characters(char *text, size_t characters) {
    for (size_t count = 0; *text != '\0'; text++) {
        count += ((unsigned char)*text & 0xC0) != 0x80;
        if (count > characters) {
            *text = '\0';
            return;
        }
    }
}
