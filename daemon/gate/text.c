// Small helpers on text.
#include "gate/text.h"

#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

void gate_text_whole(char *text, size_t length) {
    size_t start = length;
    while (start > 0 && ((unsigned char)text[start - 1] & 0xC0) == 0x80) {
        start--;
    }
    if (start == 0) {
        return;
    }
    unsigned char lead = (unsigned char)text[start - 1];
    size_t need = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
    if (length - (start - 1) < need) {
        text[start - 1] = '\0';
    }
}

void gate_text(char *buffer, size_t size, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(buffer, size, format, arguments);
    va_end(arguments);
    if (length >= 0 && (size_t)length >= size && size > 0) {
        gate_text_whole(buffer, size - 1);
    }
}

void gate_id_copy(char buffer[MODEL_ID_SIZE], const char *id) {
    gate_text(buffer, MODEL_ID_SIZE, "%s", id != NULL ? id : "");
}

bool gate_blank(const char *text) {
    return text == NULL || base_text_blank(text);
}

bool gate_same(const char *a, const char *b) {
    return strcmp(a != NULL ? a : "", b != NULL ? b : "") == 0;
}

uint64_t gate_text_mark(const char *text) { // FNV-1a
    uint64_t mark = UINT64_C(14695981039346656037);
    for (; text != NULL && *text != '\0'; text++) {
        mark = (mark ^ (unsigned char)*text) * UINT64_C(1099511628211);
    }
    return text == NULL ? 0 : mark != 0 ? mark : 1;
}
