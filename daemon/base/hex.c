// Bytes as hex digits and back; without a locale and without printf, which both cost more.
#include "base/hex.h"

#include <stdint.h>

void base_hex_encode(const void *bytes, size_t length, char *text) {
    static const char digits[] = "0123456789abcdef";
    const uint8_t *from = bytes;
    for (size_t i = 0; i < length; i++) {
        text[2 * i] = digits[from[i] >> 4];
        text[2 * i + 1] = digits[from[i] & 0x0f];
    }
    text[2 * length] = '\0';
}

int base_hex_digit(char digit) {
    if (digit >= '0' && digit <= '9') {
        return digit - '0';
    }
    const char lower = (char)(digit | 0x20);
    return lower >= 'a' && lower <= 'f' ? lower - 'a' + 10 : -1;
}

bool base_hex_decode(const char *text, void *bytes, size_t length) {
    uint8_t *to = bytes;
    for (size_t i = 0; i < length; i++) {
        const int high = base_hex_digit(text[2 * i]);
        const int low = high >= 0 ? base_hex_digit(text[2 * i + 1]) : -1;
        if (low < 0) {
            return false;
        }
        to[i] = (uint8_t)(high << 4 | low);
    }
    return true;
}
