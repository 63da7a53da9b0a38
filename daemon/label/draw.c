// What stands where on a label; and the label as SVG.
#include "label/label.h"

#define MARGIN 5.0
#define CODE 44.0 // the code's side with its quiet zone

// Widths of Helvetica-Bold's ASCII characters from the space on, in thousandths of its size.
static const unsigned short widths[] = {
    278, 333, 474, 556, 556, 889, 722, 238, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 333, 333, 584, 584, 584, 611, 975, 722, 722, 722, 722, 667,
    611, 778, 722, 278, 556, 722, 611, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 333, 278, 333, 584, 556, 333, 556, 611, 556, 611, 556, 333, 611, 611, 278, 278, 556,
    278, 889, 611, 611, 611, 611, 389, 556, 333, 611, 556, 778, 556, 556, 500, 389, 280, 389, 584};

double label_text_width(const char *text) {
    double width = 0;
    for (const unsigned char *at = (const unsigned char *)text; *at != '\0'; at++) {
        if (*at >= 0x20 && *at < 0x7F) {
            width += widths[*at - 0x20];
        } else if ((*at & 0xC0) != 0x80) {
            width += 1000;
        }
    }
    return width / 1000;
}

// A line as large as asked, or as fits.
static void line(struct label_pen *pen, double x, double y, double width, double size, bool bold,
                 const char *text) {
    double full = label_text_width(text) * size;
    pen->text(pen, x, y, full > width ? size * width / full : size, bold, text);
}

static bool draw_code(const char *url, struct label_pen *pen, double x, double y) {
    struct label_qr qr;
    if (!label_qr_make(url, true, &qr)) {
        return false;
    }
    double module = CODE / (qr.width + 2 * LABEL_QR_QUIET);
    for (unsigned row = 0; row < qr.width; row++) {
        for (unsigned column = 0; column < qr.width; column++) {
            unsigned from = column;
            while (label_qr_dark(&qr, column, row)) {
                column++;
            }
            if (column > from) {
                pen->box(pen, x + (from + LABEL_QR_QUIET) * module,
                         y + (row + LABEL_QR_QUIET) * module, (column - from) * module, module);
            }
        }
    }
    label_qr_free(&qr);
    return true;
}

static void frame(struct label_pen *pen, double x, double y, double width, double height) {
    const double thick = 0.5;
    pen->box(pen, x, y, width, thick);
    pen->box(pen, x, y + height - thick, width, thick);
    pen->box(pen, x, y, thick, height);
    pen->box(pen, x + width - thick, y, thick, height);
}

bool label_draw(const struct label *label, struct label_pen *pen) {
    const double inner = LABEL_WIDTH - 2 * MARGIN, left = inner - CODE - 1;
    char dispenser[128];
    snprintf(dispenser, sizeof dispenser, "Dispenser / Surtidor %s", label->dispenser);
    line(pen, MARGIN, 9.5, inner, 5, true, label->title);
    pen->box(pen, MARGIN, 12, inner, 0.6);
    line(pen, MARGIN, 41, left, 30, true, label->position);
    line(pen, MARGIN, 49, left, 4, true, dispenser);
    line(pen, MARGIN, 54.5, left, 3.6, false, label->position_title);
    if (!draw_code(label->url, pen, LABEL_WIDTH - MARGIN - CODE, 13)) {
        return false;
    }
    line(pen, MARGIN, 61.5, inner, 3.8, true, "Scan: lockout state of this position");
    line(pen, MARGIN, 66, inner, 3.8, true, "Escanee: estado del bloqueo de esta posici\xC3\xB3n");
    frame(pen, MARGIN, 68.5, inner, 12.5);
    line(pen, MARGIN + 2, 73.8, inner - 4, 3.5, true,
         "No screen replaces your lock, tag and meter");
    line(pen, MARGIN + 2, 78.6, inner - 4, 3.5, true,
         "Ninguna pantalla reemplaza su candado, etiqueta y medidor");
    return true;
}

static void svg_box(struct label_pen *pen, double x, double y, double width, double height) {
    fprintf(pen->out, "<path d=\"M%.3f %.3fh%.3fv%.3fh-%.3fz\"/>\n", x, y, width, height, width);
}

static void svg_text(struct label_pen *pen, double x, double y, double size, bool bold,
                     const char *text) {
    // The width is said, so that a reader that has other fonts keeps to the place there is.
    fprintf(pen->out,
            "<text x=\"%.3f\" y=\"%.3f\" font-size=\"%.3f\" textLength=\"%.3f\" "
            "lengthAdjust=\"spacingAndGlyphs\"%s>",
            x, y, size, label_text_width(text) * size, bold ? " font-weight=\"bold\"" : "");
    label_xml(text, pen->out);
    fputs("</text>\n", pen->out);
}

bool label_svg(const struct label *label, FILE *out) {
    struct label_pen pen = {.box = svg_box, .text = svg_text, .out = out};
    fprintf(out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%gmm\" height=\"%gmm\" viewBox=\"0 "
            "0 %g %g\" font-family=\"Helvetica, Arial, sans-serif\" role=\"img\">\n<title>",
            LABEL_WIDTH, LABEL_HEIGHT, LABEL_WIDTH, LABEL_HEIGHT);
    label_xml(label->position, out);
    fputs(", ", out);
    label_xml(label->title, out);
    fprintf(out, "</title>\n<rect width=\"%g\" height=\"%g\" fill=\"#fff\"/>\n", LABEL_WIDTH,
            LABEL_HEIGHT);
    bool drawn = label_draw(label, &pen);
    fputs("</svg>\n", out);
    return drawn;
}
