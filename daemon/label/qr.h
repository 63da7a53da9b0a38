// QR codes (ISO/IEC 18004): the one place that knows the library which makes them.
#pragma once

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

struct label_qr {
    unsigned width;   // modules on a side, without the quiet zone
    uint8_t *modules; // width * width, row by row from the top; 1 is dark
};

// The light border that readers need, in modules on each side.
#define LABEL_QR_QUIET 4

// Makes the code of a text, with a quarter of it recoverable if sturdy (for what hangs outdoors),
// an eighth otherwise. False: it is too long, or no memory; qr then holds nothing. End with
// label_qr_free.
bool label_qr_make(const char *text, bool sturdy, struct label_qr *qr);
void label_qr_free(struct label_qr *qr);
static inline bool label_qr_dark(const struct label_qr *qr, unsigned x, unsigned y) {
    return x < qr->width && y < qr->width && qr->modules[y * qr->width + x] != 0;
}

// A drawing of its own: dark on white with its quiet zone, one path, a title for readers of
// screens.
void label_qr_svg(const struct label_qr *qr, const char *title, FILE *out);
// Half blocks in UTF-8, two rows of modules a line, dark where a block is. With color (a terminal),
// the colors are set so that it is dark on light whatever the terminal's own are.
void label_qr_print(const struct label_qr *qr, bool color, FILE *out);

// A text inside XML: what is special there escaped, control characters as spaces.
void label_xml(const char *text, FILE *out);
