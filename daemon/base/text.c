// Texts of people: whether one says anything.
#include "base/text.h"

#include <stddef.h>
#include <stdint.h>

static const char *next_character(const char *text, uint32_t *character) {
    unsigned char lead = (unsigned char)*text++;
    *character = lead & (lead < 0x80 ? 0x7F : lead < 0xE0 ? 0x1F : lead < 0xF0 ? 0x0F : 0x07);
    for (; ((unsigned char)*text & 0xC0) == 0x80; text++) {
        *character = *character << 6 | ((unsigned char)*text & 0x3F);
    }
    return text;
}

// Control characters, blanks and what has no width.
static bool invisible(uint32_t c) {
    static const struct {
        uint32_t first, last;
    } ranges[] = {
        {0x0001, 0x0020}, {0x007F, 0x00A0}, {0x00AD, 0x00AD}, {0x1680, 0x1680}, {0x180E, 0x180E},
        {0x2000, 0x200F}, {0x2028, 0x202F}, {0x205F, 0x2064}, {0x3000, 0x3000}, {0xFEFF, 0xFEFF},
    };
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
        if (c >= ranges[i].first && c <= ranges[i].last) {
            return true;
        }
    }
    return false;
}

bool base_text_blank(const char *text) {
    uint32_t character;
    while (*text != '\0') {
        text = next_character(text, &character);
        if (!invisible(character)) {
            return false;
        }
    }
    return true;
}
