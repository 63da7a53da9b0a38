// Bearer tokens; see authorize.h.
#include "http/authorize.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <string.h>
#include <strings.h>

#define TOKEN_MAX 512

// Every person is compared, the found one no sooner than the last.
static const struct model_person *of_hash(const struct model *model, const uint8_t hash[32]) {
    const struct model_person *found = NULL;
    for (size_t i = 0; i < model->person_count; i++) {
        const struct model_person *person = &model->people[i];
        bool same = CRYPTO_memcmp(person->token_sha256, hash, 32) == 0;
        if (person->has_token && same) {
            found = person;
        }
    }
    return found;
}

const struct model_person *http_authorize(const struct model *model, const char *header) {
    static const char scheme[] = "Bearer ";
    uint8_t hash[32];
    if (header == NULL || strncasecmp(header, scheme, sizeof scheme - 1) != 0) {
        return NULL;
    }
    const char *token = header + strspn(header + sizeof scheme - 1, " ") + sizeof scheme - 1;
    size_t length = strlen(token);
    if (length == 0 || length > TOKEN_MAX ||
        EVP_Digest(token, length, hash, NULL, EVP_sha256(), NULL) != 1) {
        return NULL;
    }
    return of_hash(model, hash);
}
