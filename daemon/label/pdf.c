// Sheets of labels as PDF 1.4: rectangles and the reader's own Helvetica, nothing embedded.
#include "label/label.h"

#include <stdarg.h>
#include <stdlib.h>

#define POINT (72 / 25.4) // points in a millimeter
#define COLUMNS 2
#define ROWS 3
#define PER_SHEET ((size_t)COLUMNS * ROWS)
#define FIRST_PAGE 5 // objects: catalog, pages, two fonts, then two a page

// --- Text ---

// What WinAnsiEncoding has at 0x80 to 0x9F.
static const struct {
    unsigned short unicode;
    unsigned char code;
} odd[] = {
    {0x20AC, 0x80}, {0x201A, 0x82}, {0x0192, 0x83}, {0x201E, 0x84}, {0x2026, 0x85}, {0x2020, 0x86},
    {0x2021, 0x87}, {0x02C6, 0x88}, {0x2030, 0x89}, {0x0160, 0x8A}, {0x2039, 0x8B}, {0x0152, 0x8C},
    {0x017D, 0x8E}, {0x2018, 0x91}, {0x2019, 0x92}, {0x201C, 0x93}, {0x201D, 0x94}, {0x2022, 0x95},
    {0x2013, 0x96}, {0x2014, 0x97}, {0x02DC, 0x98}, {0x2122, 0x99}, {0x0161, 0x9A}, {0x203A, 0x9B},
    {0x0153, 0x9C}, {0x017E, 0x9E}, {0x0178, 0x9F},
};

// The next character of UTF-8 that is known to be good, or '?' where it is not.
static unsigned next_character(const unsigned char **at) {
    const unsigned char *text = *at;
    unsigned more = *text < 0x80 ? 0 : *text < 0xE0 ? 1 : *text < 0xF0 ? 2 : 3;
    unsigned value = more == 0 ? *text : *text & (0x3F >> more);
    for (unsigned i = 1; i <= more; i++) {
        if ((text[i] & 0xC0) != 0x80) {
            *at = text + 1;
            return 0xFFFD;
        }
        value = value << 6 | (text[i] & 0x3F);
    }
    *at = text + more + 1;
    return value;
}

static int win_ansi(unsigned unicode) {
    if ((unicode >= 0x20 && unicode < 0x7F) || (unicode >= 0xA0 && unicode <= 0xFF)) {
        return (int)unicode;
    }
    for (size_t i = 0; i < sizeof odd / sizeof odd[0]; i++) {
        if (odd[i].unicode == unicode) {
            return odd[i].code;
        }
    }
    return -1;
}

void label_pdf_string(const char *text, FILE *out, unsigned *replaced) {
    const unsigned char *at = (const unsigned char *)text;
    fputc('(', out);
    while (*at != '\0') {
        int code = win_ansi(next_character(&at));
        if (code < 0) {
            (*replaced)++;
            code = '?';
        }
        if (code == '(' || code == ')' || code == '\\') {
            fprintf(out, "\\%c", code);
        } else if (code >= 0x7F) {
            fprintf(out, "\\%03o", (unsigned)code);
        } else {
            fputc(code, out);
        }
    }
    fputc(')', out);
}

// --- One page ---

static void pdf_box(struct label_pen *pen, double x, double y, double width, double height) {
    fprintf(pen->out, "%.3f %.3f %.3f %.3f re f\n", (pen->left + x) * POINT,
            (pen->paper - pen->top - y - height) * POINT, width * POINT, height * POINT);
}

static void pdf_text(struct label_pen *pen, double x, double y, double size, bool bold,
                     const char *text) {
    fprintf(pen->out, "BT /F%d %.3f Tf %.3f %.3f Td ", bold ? 1 : 2, size * POINT,
            (pen->left + x) * POINT, (pen->paper - pen->top - y) * POINT);
    label_pdf_string(text, pen->out, &pen->replaced);
    fputs(" Tj ET\n", pen->out);
}

static double width_of(enum label_paper paper) {
    return paper == LABEL_A4 ? 210 : 215.9;
}
static double height_of(enum label_paper paper) {
    return paper == LABEL_A4 ? 297 : 279.4;
}

// Short strokes outside the labels, where the cuts go.
static void cut_marks(struct label_pen *pen, double left, double top) {
    const double length = 4, gap = 2, thick = 0.2;
    pen->left = pen->top = 0;
    for (int i = 0; i <= COLUMNS; i++) {
        double x = left + i * LABEL_WIDTH - thick / 2;
        pen->box(pen, x, top - gap - length, thick, length);
        pen->box(pen, x, top + ROWS * LABEL_HEIGHT + gap, thick, length);
    }
    for (int i = 0; i <= ROWS; i++) {
        double y = top + i * LABEL_HEIGHT - thick / 2;
        pen->box(pen, left - gap - length, y, length, thick);
        pen->box(pen, left + COLUMNS * LABEL_WIDTH + gap, y, length, thick);
    }
}

static bool draw_sheet(const struct label *labels, size_t count, enum label_paper paper,
                       struct label_pen *pen) {
    double left = (width_of(paper) - COLUMNS * LABEL_WIDTH) / 2;
    double top = (height_of(paper) - ROWS * LABEL_HEIGHT) / 2;
    pen->paper = height_of(paper);
    fputs("0 g\n", pen->out);
    cut_marks(pen, left, top);
    for (size_t i = 0; i < count; i++) {
        size_t column = i % COLUMNS, row = i / COLUMNS;
        pen->left = left + (double)column * LABEL_WIDTH;
        pen->top = top + (double)row * LABEL_HEIGHT;
        if (!label_draw(&labels[i], pen)) {
            return false;
        }
    }
    return true;
}

// --- The file ---

struct pdf {
    FILE *out;
    size_t written;
    size_t *offsets; // of objects, by number
    size_t objects;
};

static void emit(struct pdf *pdf, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void emit(struct pdf *pdf, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    int length = vfprintf(pdf->out, format, arguments);
    va_end(arguments);
    pdf->written += length > 0 ? (size_t)length : 0;
}

static void object(struct pdf *pdf, size_t number) {
    pdf->offsets[number] = pdf->written;
    emit(pdf, "%zu 0 obj\n", number);
}

static void put_head(struct pdf *pdf, size_t sheets) {
    emit(pdf, "%%PDF-1.4\n");
    object(pdf, 1);
    emit(pdf, "<< /Type /Catalog /Pages 2 0 R >>\nendobj\n");
    object(pdf, 2);
    emit(pdf, "<< /Type /Pages /Count %zu /Kids [", sheets);
    for (size_t i = 0; i < sheets; i++) {
        emit(pdf, " %zu 0 R", FIRST_PAGE + 2 * i);
    }
    emit(pdf, " ] >>\nendobj\n");
    for (size_t i = 0; i < 2; i++) {
        object(pdf, 3 + i);
        emit(pdf,
             "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica%s /Encoding /WinAnsiEncoding "
             ">>\nendobj\n",
             i == 0 ? "-Bold" : "");
    }
}

static bool put_sheet(struct pdf *pdf, size_t index, const struct label *labels, size_t count,
                      enum label_paper paper, unsigned *replaced) {
    char *content = NULL;
    size_t length = 0;
    struct label_pen pen = {
        .box = pdf_box, .text = pdf_text, .out = open_memstream(&content, &length)};
    if (pen.out == NULL) {
        return false;
    }
    bool good = draw_sheet(labels, count, paper, &pen);
    good = fclose(pen.out) == 0 && good;
    object(pdf, FIRST_PAGE + 2 * index);
    emit(pdf,
         "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %.3f %.3f] /Resources << /Font << /F1 3 0 R "
         "/F2 4 0 R >> >> /Contents %zu 0 R >>\nendobj\n",
         width_of(paper) * POINT, height_of(paper) * POINT, FIRST_PAGE + 2 * index + 1);
    object(pdf, FIRST_PAGE + 2 * index + 1);
    emit(pdf, "<< /Length %zu >>\nstream\n", length);
    pdf->written += content != NULL ? fwrite(content, 1, length, pdf->out) : 0;
    emit(pdf, "\nendstream\nendobj\n");
    *replaced += pen.replaced;
    free(content);
    return good;
}

static void put_end(struct pdf *pdf) {
    size_t start = pdf->written;
    emit(pdf, "xref\n0 %zu\n0000000000 65535 f \n", pdf->objects);
    for (size_t i = 1; i < pdf->objects; i++) {
        emit(pdf, "%010zu 00000 n \n", pdf->offsets[i]);
    }
    emit(pdf, "trailer\n<< /Size %zu /Root 1 0 R >>\nstartxref\n%zu\n%%%%EOF\n", pdf->objects,
         start);
}

bool label_pdf(const struct label *labels, size_t count, enum label_paper paper, FILE *out,
               unsigned *replaced) {
    size_t sheets = count == 0 ? 1 : (count + PER_SHEET - 1) / PER_SHEET;
    struct pdf pdf = {.out = out, .objects = FIRST_PAGE + 2 * sheets};
    unsigned lost = 0;
    pdf.offsets = calloc(pdf.objects, sizeof *pdf.offsets);
    bool good = pdf.offsets != NULL;
    if (good) {
        put_head(&pdf, sheets);
    }
    for (size_t i = 0; good && i < sheets; i++) {
        size_t first = i * PER_SHEET;
        size_t here = count - first < PER_SHEET ? count - first : PER_SHEET;
        good = put_sheet(&pdf, i, labels + first, here, paper, &lost);
    }
    if (good) {
        put_end(&pdf);
    }
    free(pdf.offsets);
    if (replaced != NULL) {
        *replaced = lost;
    }
    return good && !ferror(out);
}
