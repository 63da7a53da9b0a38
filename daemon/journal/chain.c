// The chain: how a fact is turned into bytes, and its hash (the encoding is told in journal.h).
#include "journal/internal.h"

#include "base/array.h"

#include <stdlib.h>
#include <string.h>

#define INTEGER_SIZE (4 + 8)
#define LENGTH_SIZE 4

static const char root_prefix[] = "forelock journal\n";

bool journal_buffer_reserve(struct journal_buffer *buffer, size_t size) {
    return BASE_ARRAY_RESERVE(buffer->bytes, 0, size, buffer->capacity);
}

bool journal_chain_init(struct journal *journal) {
    journal->sha256 = EVP_MD_fetch(NULL, "SHA256", NULL);
    journal->digest = EVP_MD_CTX_new();
    return journal->sha256 != NULL && journal->digest != NULL;
}

void journal_chain_free(struct journal *journal) {
    EVP_MD_CTX_free(journal->digest);
    EVP_MD_free(journal->sha256);
    free(journal->scratch.bytes);
    free(journal->found.bytes);
}

static uint8_t *put_length(uint8_t *out, size_t length) {
    for (int shift = 24; shift >= 0; shift -= 8) {
        *out++ = (uint8_t)(length >> shift);
    }
    return out;
}

static uint8_t *put_integer(uint8_t *out, int64_t value) {
    out = put_length(out, 8);
    for (int shift = 56; shift >= 0; shift -= 8) {
        *out++ = (uint8_t)((uint64_t)value >> shift);
    }
    return out;
}

static uint8_t *put_text(uint8_t *out, const char *text, size_t length) {
    out = put_length(out, length);
    memcpy(out, text, length);
    return out + length;
}

static bool digest(struct journal *journal, size_t length, uint8_t hash[JOURNAL_HASH_SIZE]) {
    return EVP_DigestInit_ex2(journal->digest, journal->sha256, NULL) == 1 &&
           EVP_DigestUpdate(journal->digest, journal->scratch.bytes, length) == 1 &&
           EVP_DigestFinal_ex(journal->digest, hash, NULL) == 1;
}

bool journal_chain_root(struct journal *journal) {
    size_t prefix = sizeof root_prefix - 1;
    size_t length = strlen(journal->instance);
    if (!journal_buffer_reserve(&journal->scratch, prefix + LENGTH_SIZE + length)) {
        return false;
    }
    memcpy(journal->scratch.bytes, root_prefix, prefix);
    uint8_t *end = put_text(journal->scratch.bytes + prefix, journal->instance, length);
    return digest(journal, (size_t)(end - journal->scratch.bytes), journal->root);
}

bool journal_chain_next(struct journal *journal, const uint8_t previous[JOURNAL_HASH_SIZE],
                        const struct journal_row *row, uint8_t hash[JOURNAL_HASH_SIZE]) {
    size_t texts = row->site_length + row->type_length + row->subject_length + row->data_length;
    size_t size = JOURNAL_HASH_SIZE + 3 * INTEGER_SIZE + 4 * LENGTH_SIZE + texts;
    if (!journal_buffer_reserve(&journal->scratch, size)) {
        return false;
    }
    uint8_t *out = journal->scratch.bytes;
    memcpy(out, previous, JOURNAL_HASH_SIZE);
    out += JOURNAL_HASH_SIZE;
    out = put_integer(out, row->seq);
    out = put_integer(out, row->at_ms);
    out = put_integer(out, row->mono_ms);
    out = put_text(out, row->site, row->site_length);
    out = put_text(out, row->type, row->type_length);
    out = put_text(out, row->subject, row->subject_length);
    put_text(out, row->data, row->data_length);
    return digest(journal, size, hash);
}

bool journal_sha256(const void *bytes, size_t length, uint8_t hash[JOURNAL_HASH_SIZE]) {
    return EVP_Digest(bytes, length, hash, NULL, EVP_sha256(), NULL) == 1;
}
