// Labels for hose positions: what the position is called in very large type, and a QR code that
// opens its phone page.
#pragma once

#include "label/qr.h"

#include <stddef.h>

// Size of one label, in millimeters.
#define LABEL_WIDTH 90.0
#define LABEL_HEIGHT 85.0

struct label {
    const char *site, *title; // id and title of the site
    const char *position;     // id
    const char *position_title;
    const char *dispenser;
    const char *url; // of the phone page, in the code
};

enum label_paper { LABEL_A4, LABEL_LETTER };

// What one label is drawn with: coordinates in millimeters, y down from the label's upper edge.
struct label_pen {
    void (*box)(struct label_pen *pen, double x, double y, double width, double height);
    void (*text)(struct label_pen *pen, double x, double y, double size, bool bold,
                 const char *text); // at its baseline's left end
    FILE *out;
    double left, top;  // of the label on the sheet
    double paper;      // height of the sheet
    unsigned replaced; // characters that could not be written as they are
};

// Draws a label. False: the address is too long for a code, or no memory.
bool label_draw(const struct label *label, struct label_pen *pen);
// A drawing of one label, its size in millimeters. False: as above.
bool label_svg(const struct label *label, FILE *out);
// Sheets of six labels with cut marks. Its fonts know Western European characters; others come out
// as "?" and are counted (replaced may be NULL). False: as above; what was written is of no use.
bool label_pdf(const struct label *labels, size_t count, enum label_paper paper, FILE *out,
               unsigned *replaced);

// How wide a text is in bold type, in parts of its size; somewhat too much for what is not ASCII.
double label_text_width(const char *text);
// A text as a PDF string in parentheses, in WinAnsiEncoding. Adds to replaced what has no place
// there.
void label_pdf_string(const char *text, FILE *out, unsigned *replaced);
