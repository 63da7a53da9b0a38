// Signatures of Standard Webhooks: HMAC-SHA256 over "id.timestamp.body", one for each secret, so
// that a receiver may know the old secret or the new one while they are exchanged. Pure.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define WEBHOOK_SECRETS_MAX 8      // of one endpoint
#define WEBHOOK_SECRET_SIZE 512    // bytes of one key, once decoded
#define WEBHOOK_SIGNATURE_SIZE 512 // "v1,<44 letters>" for each secret, spaces between, final NUL

struct webhook_secret {
    uint8_t bytes[WEBHOOK_SECRET_SIZE];
    size_t length;
};
struct webhook_secrets {
    struct webhook_secret list[WEBHOOK_SECRETS_MAX];
    size_t count;
};

// Reads the text of a secret's file: one secret a line, "whsec_" and base64, or any other text as
// it stands. Empty lines and the ends of lines are left out. False: none, too many, too long, or
// bad base64; *why (never NULL then) is the rest of a sentence that begins with the file's name.
bool webhook_secrets_read(const char *text, struct webhook_secrets *secrets, const char **why);

// The header's value. time: Unix seconds. False: the library failed (out of memory).
bool webhook_sign(const struct webhook_secrets *secrets, const char *id, int64_t time,
                  const char *body, size_t length, char signature[WEBHOOK_SIGNATURE_SIZE]);
