// All facts as JSON Lines, with what an independent program needs to check the chain.
#include "journal/internal.h"

#include "base/hex.h"

#include <errno.h>
#include <inttypes.h>
#include <string.h>

struct exporter {
    struct journal *journal;
    FILE *out;
    enum journal_status status;
};

static void put_text(FILE *out, const char *text, size_t length) {
    putc('"', out);
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)text[i];
        if (byte < 0x20) {
            fprintf(out, "\\u%04x", byte);
            continue;
        }
        if (byte == '"' || byte == '\\') {
            putc('\\', out);
        }
        putc(byte, out);
    }
    putc('"', out);
}

static void put_hash(FILE *out, const uint8_t hash[JOURNAL_HASH_SIZE]) {
    char text[BASE_HEX_SIZE(JOURNAL_HASH_SIZE)];
    base_hex_encode(hash, JOURNAL_HASH_SIZE, text);
    fputs(text, out);
}

// Data is written as it stands, so it must not be able to break the line.
static bool is_one_line(const struct journal_row *row) {
    return row->data_length >= 2 && row->data[0] == '{' &&
           memchr(row->data, '\n', row->data_length) == NULL;
}

static bool export_row(void *user, const struct journal_row *row) {
    struct exporter *exporter = user;
    FILE *out = exporter->out;
    if (!is_one_line(row)) {
        struct journal_walk walk = {JOURNAL_FAULT_CHANGED, row->seq, row->seq, 0};
        exporter->status = journal_walk_refuse(exporter->journal, &walk);
        return false;
    }
    fprintf(out, "{\"seq\":%" PRId64 ",\"at_ms\":%" PRId64 ",\"elapsed_ms\":%" PRId64 ",\"site\":",
            row->seq, row->at_ms, row->mono_ms);
    put_text(out, row->site, row->site_length);
    fputs(",\"type\":", out);
    put_text(out, row->type, row->type_length);
    fputs(",\"subject\":", out);
    put_text(out, row->subject, row->subject_length);
    fputs(",\"data\":", out);
    fwrite(row->data, 1, row->data_length, out);
    fputs(",\"hash\":\"", out);
    put_hash(out, row->hash);
    fputs("\"}\n", out);
    return ferror(out) == 0;
}

enum journal_status journal_export(struct journal *journal, FILE *out) {
    struct exporter exporter = {journal, out, JOURNAL_OK};
    const struct journal_query all = {0};
    enum journal_status status = journal_each(journal, &all, export_row, &exporter);
    if (status != JOURNAL_OK || exporter.status != JOURNAL_OK) {
        return status != JOURNAL_OK ? status : exporter.status;
    }
    if (fflush(out) != 0 || ferror(out) != 0) {
        return journal_refuse(journal, JOURNAL_IO, "The export cannot be written: %s.",
                              strerror(errno));
    }
    return JOURNAL_OK;
}
