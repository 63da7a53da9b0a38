// Signing by Standard Webhooks 1.0.0 (its section on symmetric signatures).
#include "webhook/sign.h"

#include <inttypes.h>
#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char prefix[] = "whsec_";

// Base 64 with its padding, which the library's decoder gives back as zero bytes.
static bool decode(const char *text, size_t length, struct webhook_secret *secret) {
    size_t padding = length > 0 && text[length - 1] == '=' ? 1 : 0;
    padding += length > 1 && text[length - 2] == '=' ? 1 : 0;
    if (length == 0 || length % 4 != 0 || length / 4 * 3 > sizeof secret->bytes) {
        return false;
    }
    for (size_t i = 0; i < length - padding; i++) {
        if (text[i] == '=') {
            return false;
        }
    }
    int decoded = EVP_DecodeBlock(secret->bytes, (const unsigned char *)text, (int)length);
    secret->length = decoded < 0 ? 0 : (size_t)decoded - padding;
    return secret->length > 0;
}

static bool read_line(const char *line, size_t length, struct webhook_secret *secret,
                      const char **why) {
    if (length >= sizeof prefix - 1 && strncmp(line, prefix, sizeof prefix - 1) == 0) {
        *why = "has a secret that begins with whsec_ and goes on with what is no base 64";
        return decode(line + sizeof prefix - 1, length - (sizeof prefix - 1), secret);
    }
    if (length > sizeof secret->bytes) {
        *why = "has a secret of more than 512 bytes";
        return false;
    }
    memcpy(secret->bytes, line, length);
    secret->length = length;
    return true;
}

bool webhook_secrets_read(const char *text, struct webhook_secrets *secrets, const char **why) {
    memset(secrets, 0, sizeof *secrets);
    while (*text != '\0') {
        size_t length = strcspn(text, "\r\n");
        if (length > 0) {
            if (secrets->count == WEBHOOK_SECRETS_MAX) {
                *why = "holds more than 8 secrets";
                return false;
            }
            if (!read_line(text, length, &secrets->list[secrets->count], why)) {
                return false;
            }
            secrets->count++;
        }
        text += length;
        text += strspn(text, "\r\n");
    }
    *why = "holds no secret";
    return secrets->count > 0;
}

bool webhook_sign(const struct webhook_secrets *secrets, const char *id, int64_t time,
                  const char *body, size_t length, char signature[WEBHOOK_SIGNATURE_SIZE]) {
    char *head = NULL;
    int head_length = asprintf(&head, "%s.%" PRId64 ".", id, time);
    if (head_length < 0) {
        return false;
    }
    unsigned char *text = malloc((size_t)head_length + length + 1);
    if (text == NULL) {
        free(head);
        return false;
    }
    memcpy(text, head, (size_t)head_length);
    memcpy(text + head_length, body, length);
    free(head);
    size_t used = 0;
    bool good = secrets->count > 0;
    for (size_t i = 0; good && i < secrets->count; i++) {
        unsigned char mac[EVP_MAX_MD_SIZE], spelled[64];
        unsigned size = 0;
        good = HMAC(EVP_sha256(), secrets->list[i].bytes, (int)secrets->list[i].length, text,
                    (size_t)head_length + length, mac, &size) != NULL;
        if (good) {
            EVP_EncodeBlock(spelled, mac, (int)size);
            used += (size_t)snprintf(signature + used, WEBHOOK_SIGNATURE_SIZE - used, "%sv1,%s",
                                     i == 0 ? "" : " ", (char *)spelled);
        }
    }
    free(text);
    return good;
}
