// Tokens, cookies and origins; see authorize.h.
#include "http/authorize.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <string.h>
#include <strings.h>

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

const struct model_person *http_authorize_token(const struct model *model, const char *token,
                                                size_t length) {
    uint8_t hash[32];
    if (length == 0 || length > HTTP_TOKEN_MAX ||
        EVP_Digest(token, length, hash, NULL, EVP_sha256(), NULL) != 1) {
        return NULL;
    }
    return of_hash(model, hash);
}

const struct model_person *http_authorize(const struct model *model, const char *header) {
    static const char scheme[] = "Bearer ";
    if (header == NULL || strncasecmp(header, scheme, sizeof scheme - 1) != 0) {
        return NULL;
    }
    const char *token = header + strspn(header + sizeof scheme - 1, " ") + sizeof scheme - 1;
    return http_authorize_token(model, token, strlen(token));
}

// RFC 6265: "a=b; c=d".
const char *http_cookie(const char *header, size_t *length) {
    static const char name[] = HTTP_COOKIE "=";
    while (header != NULL && *header != '\0') {
        header += strspn(header, " \t;");
        size_t pair = strcspn(header, ";");
        if (pair >= sizeof name - 1 && memcmp(header, name, sizeof name - 1) == 0) {
            const char *value = header + sizeof name - 1;
            *length = pair - (sizeof name - 1);
            while (*length > 0 && (value[*length - 1] == ' ' || value[*length - 1] == '\t')) {
                --*length;
            }
            return value;
        }
        header += pair;
    }
    return NULL;
}

// The host of an origin: what follows "https://" or "http://". NULL: it has none ("null").
static const char *host_of(const char *origin) {
    static const char *const schemes[] = {"https://", "http://"};
    for (size_t i = 0; i < sizeof schemes / sizeof schemes[0]; i++) {
        size_t length = strlen(schemes[i]);
        if (strncasecmp(origin, schemes[i], length) == 0) {
            return origin + length;
        }
    }
    return NULL;
}

bool http_same_origin(const char *sec_fetch_site, const char *origin, const char *host) {
    if (sec_fetch_site != NULL) {
        return strcmp(sec_fetch_site, "same-origin") == 0 || strcmp(sec_fetch_site, "none") == 0;
    }
    const char *from = origin != NULL ? host_of(origin) : NULL;
    return from != NULL && host != NULL && *host != '\0' && strcasecmp(from, host) == 0;
}
