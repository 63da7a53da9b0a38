// QR codes through libqrencode, and their two spellings.
#include "label/qr.h"

#include <qrencode.h>
#include <stdlib.h>

bool label_qr_make(const char *text, bool sturdy, struct label_qr *qr) {
    QRcode *code = QRcode_encodeString(text, 0, sturdy ? QR_ECLEVEL_Q : QR_ECLEVEL_M, QR_MODE_8, 1);
    *qr = (struct label_qr){0};
    if (code == NULL) {
        return false;
    }
    size_t count = (size_t)code->width * (size_t)code->width;
    qr->modules = malloc(count);
    for (size_t i = 0; qr->modules != NULL && i < count; i++) {
        qr->modules[i] = code->data[i] & 1;
    }
    qr->width = qr->modules != NULL ? (unsigned)code->width : 0;
    QRcode_free(code);
    return qr->modules != NULL;
}

void label_qr_free(struct label_qr *qr) {
    free(qr->modules);
    *qr = (struct label_qr){0};
}

void label_xml(const char *text, FILE *out) {
    for (const char *at = text; *at != '\0'; at++) {
        switch (*at) {
        case '&':
            fputs("&amp;", out);
            break;
        case '<':
            fputs("&lt;", out);
            break;
        case '>':
            fputs("&gt;", out);
            break;
        case '"':
            fputs("&quot;", out);
            break;
        case '\'':
            fputs("&#39;", out);
            break;
        default:
            fputc((unsigned char)*at < 0x20 || *at == 0x7F ? ' ' : *at, out);
        }
    }
}

void label_qr_svg(const struct label_qr *qr, const char *title, FILE *out) {
    unsigned side = qr->width + 2 * LABEL_QR_QUIET;
    fprintf(out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %u %u\" width=\"%u\" "
            "height=\"%u\" shape-rendering=\"crispEdges\" role=\"img\"><title>",
            side, side, side * 4, side * 4);
    label_xml(title, out);
    fprintf(out, "</title><rect width=\"%u\" height=\"%u\" fill=\"#fff\"/><path fill=\"#000\" d=\"",
            side, side);
    for (unsigned y = 0; y < qr->width; y++) {
        for (unsigned x = 0; x < qr->width; x++) {
            unsigned from = x;
            while (label_qr_dark(qr, x, y)) {
                x++;
            }
            if (x > from) {
                fprintf(out, "M%u %uh%uv1h-%uz", from + LABEL_QR_QUIET, y + LABEL_QR_QUIET,
                        x - from, x - from);
            }
        }
    }
    fputs("\"/></svg>\n", out);
}

void label_qr_print(const struct label_qr *qr, bool color, FILE *out) {
    static const char *const blocks[] = {" ", "▄", "▀", "█"};
    unsigned side = qr->width + 2 * LABEL_QR_QUIET;
    for (unsigned y = 0; y < side; y += 2) {
        fputs(color ? "\x1b[30;107m" : "", out);
        for (unsigned x = 0; x < side; x++) {
            // Below the quiet zone the subtraction wraps around, and there is nothing dark.
            bool upper = label_qr_dark(qr, x - LABEL_QR_QUIET, y - LABEL_QR_QUIET);
            bool lower = label_qr_dark(qr, x - LABEL_QR_QUIET, y + 1 - LABEL_QR_QUIET);
            fputs(blocks[upper * 2 + lower], out);
        }
        fputs(color ? "\x1b[0m\n" : "\n", out);
    }
}
