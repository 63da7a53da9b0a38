// `forelock token PERSON`: a random token, told once, and its hash for the people file.
#include "tool/text.h"
#include "tool/tool.h"
#include "json/json.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/rand.h>
#include <string.h>

#define TOKEN_BYTES 32
// Begins with a letter, so that no shell takes it for an option.
#define TOKEN_PREFIX "fl"
#define TOKEN_SIZE (sizeof TOKEN_PREFIX + 2 * TOKEN_BYTES)
#define HASH_TEXT_SIZE 65

// Base 64 for URLs without padding: 43 characters.
static void spell(const uint8_t bytes[TOKEN_BYTES], char token[TOKEN_SIZE]) {
    static const char letters[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    size_t used = sizeof TOKEN_PREFIX - 1;
    unsigned held = 0, bits = 0;
    memcpy(token, TOKEN_PREFIX, used);
    for (size_t i = 0; i < TOKEN_BYTES; i++) {
        held = (held << 8 | bytes[i]) & 0xFFFF;
        for (bits += 8; bits >= 6; bits -= 6) {
            token[used++] = letters[held >> (bits - 6) & 63];
        }
    }
    token[used++] = letters[held << (6 - bits) & 63];
    token[used] = '\0';
}

static bool make(char token[TOKEN_SIZE], char hash_text[HASH_TEXT_SIZE]) {
    uint8_t bytes[TOKEN_BYTES], hash[32];
    bool made = RAND_bytes(bytes, sizeof bytes) == 1;
    if (made) {
        spell(bytes, token);
        made = EVP_Digest(token, strlen(token), hash, NULL, EVP_sha256(), NULL) == 1;
    }
    for (size_t i = 0; made && i < sizeof hash; i++) {
        snprintf(hash_text + 2 * i, 3, "%02x", hash[i]);
    }
    OPENSSL_cleanse(bytes, sizeof bytes);
    return made;
}

static void print(const struct model_person *person, const char *token, const char *hash) {
    tool_line(stdout, "The token of %s (%s), shown this once:", person->person, person->title);
    printf("\n    %s\n\n", token);
    tool_line(stdout, "Put this into their entry of the people file%s, and restart the daemon:",
              person->has_token ? ", in place of the one that is there" : "");
    printf("\n    \"token_sha256\": \"%s\"\n\n", hash);
}

static bool print_json(const struct model_person *person, const char *token, const char *hash) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "person");
    json_out_string(&out, person->person);
    json_out_key(&out, "token");
    json_out_string(&out, token);
    json_out_key(&out, "token_sha256");
    json_out_string(&out, hash);
    json_out_object_end(&out);
    bool good = !out.failed;
    if (good) {
        printf("%s\n", out.data);
        OPENSSL_cleanse(out.data, out.length);
    }
    json_out_free(&out);
    return good;
}

static int tell(const struct model_person *person, bool json) {
    char token[TOKEN_SIZE], hash[HASH_TEXT_SIZE];
    if (!make(token, hash)) {
        tool_error("the system gives no random numbers: no token was made");
        return TOOL_REACH;
    }
    bool told = true;
    if (json) {
        told = print_json(person, token, hash);
    } else {
        print(person, token, hash);
    }
    OPENSSL_cleanse(token, sizeof token);
    fprintf(stderr,
            "warning: whoever has this token is %s to the daemon. Hand it over in person, "
            "keep no copy, and never send it over a network in clear.\n",
            person->person);
    return told ? TOOL_DONE : TOOL_REACH;
}

int tool_token(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    const struct model_person *person = model_person_find(model, call->argv[0]);
    int status = TOOL_NO;
    if (person != NULL) {
        status = tell(person, call->json);
    } else {
        tool_error("%s: there is no person \"%s\" in the people file", call->config, call->argv[0]);
    }
    model_free(model);
    return status;
}
