// `forelock token PERSON`: a random token, told once, its hash for the people file, and the link
// (with its code) that enrolls a phone. The link holds the token behind "#", which browsers never
// send.
#include "label/qr.h"

#include "base/hex.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "json/json.h"

#include <errno.h>
#include <fcntl.h>

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/rand.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TOKEN_BYTES 32
// Begins with a letter, so that no shell takes it for an option.
#define TOKEN_PREFIX "fl"
#define TOKEN_SIZE (sizeof TOKEN_PREFIX + 2 * TOKEN_BYTES)
#define HASH_TEXT_SIZE BASE_HEX_SIZE(32)

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
    base_hex_encode(hash, made ? sizeof hash : 0, hash_text);
    OPENSSL_cleanse(bytes, sizeof bytes);
    return made;
}

// What is told once.
struct enrollment {
    const struct model_person *person;
    char token[TOKEN_SIZE], hash[HASH_TEXT_SIZE];
    char *link; // NULL: no address is known
};

static bool link_make(struct enrollment *enrollment, const char *base) {
    if (base != NULL && asprintf(&enrollment->link, "%s/enroll#%s", base, enrollment->token) < 0) {
        enrollment->link = NULL;
        return false;
    }
    return true;
}

static void enrollment_end(struct enrollment *enrollment) {
    if (enrollment->link != NULL) {
        OPENSSL_cleanse(enrollment->link, strlen(enrollment->link));
        free(enrollment->link);
    }
    OPENSSL_cleanse(enrollment->token, sizeof enrollment->token);
}

static void print_link(const struct enrollment *enrollment, const struct label_qr *qr) {
    if (enrollment->link == NULL) {
        tool_line(stdout,
                  "With --url BASE, or `http.url` in the configuration, a link that enrolls "
                  "a phone is made too.");
        return;
    }
    tool_line(stdout, "Open this on their phone to enroll it, once the daemon knows the hash:");
    printf("\n    %s\n\n", enrollment->link);
    if (qr->width > 0) {
        label_qr_print(qr, isatty(STDOUT_FILENO) == 1, stdout);
        printf("\n");
    }
}

static void print(const struct enrollment *enrollment, const struct label_qr *qr) {
    const struct model_person *person = enrollment->person;
    tool_line(stdout, "The token of %s (%s), shown this once:", person->person, person->title);
    printf("\n    %s\n\n", enrollment->token);
    tool_line(stdout,
              "Put this into their entry of the people file%s, and reload the daemon "
              "(SIGHUP):",
              person->has_token ? ", in place of the one that is there" : "");
    printf("\n    \"token_sha256\": \"%s\"\n\n", enrollment->hash);
    print_link(enrollment, qr);
}

static bool print_json(const struct enrollment *enrollment) {
    struct json_out out = {0};
    json_out_object(&out);
    json_out_key(&out, "person");
    json_out_string(&out, enrollment->person->person);
    json_out_key(&out, "token");
    json_out_string(&out, enrollment->token);
    json_out_key(&out, "token_sha256");
    json_out_string(&out, enrollment->hash);
    json_out_key(&out, "enroll");
    json_out_string(&out, enrollment->link);
    json_out_object_end(&out);
    bool good = !out.failed;
    if (good) {
        printf("%s\n", out.data);
        OPENSSL_cleanse(out.data, out.length); // the token in it
    }
    json_out_free(&out);
    return good;
}

// The code as a file that its owner alone may read. False: said.
static bool write_code(const char *path, const struct label_qr *qr) {
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0600);
    FILE *out = file >= 0 && fchmod(file, 0600) == 0 ? fdopen(file, "w") : NULL;
    if (out == NULL) {
        tool_error("cannot write %s: %s", path, strerror(errno));
        if (file >= 0) {
            close(file);
        }
        return false;
    }
    label_qr_svg(qr, "Enroll this phone", out);
    bool failed = ferror(out) != 0;
    if (fclose(out) != 0 || failed) {
        tool_error("cannot write %s: %s", path, strerror(errno));
        return false;
    }
    return true;
}

// Everything that can fail comes before anything is shown.
static int tell(const struct tool_call *call, const struct enrollment *enrollment) {
    bool shown = !call->json && (call->qr || isatty(STDOUT_FILENO) == 1);
    bool coded = enrollment->link != NULL && (shown || call->svg != NULL);
    struct label_qr qr = {0};
    if (coded && !label_qr_make(enrollment->link, false, &qr)) {
        tool_error("the link cannot be made into a code");
        return TOOL_REACH;
    }
    bool told = call->svg == NULL || write_code(call->svg, &qr);
    if (!shown) {
        label_qr_free(&qr);
    }
    if (told && call->json) {
        told = print_json(enrollment);
    } else if (told) {
        print(enrollment, &qr);
    }
    label_qr_free(&qr);
    fprintf(stderr,
            "warning: whoever has this token, its link or its code is %s to the daemon. Hand it "
            "over in person, keep no copy, and never send it over a network in clear.\n",
            enrollment->person->person);
    return told ? TOOL_DONE : TOOL_REACH;
}

static int enroll(const struct tool_call *call, const struct model_person *person,
                  const char *base) {
    struct enrollment enrollment = {.person = person};
    int status = TOOL_REACH;
    if (!make(enrollment.token, enrollment.hash)) {
        tool_error("the system gives no random numbers: no token was made");
    } else if (!link_make(&enrollment, base)) {
        tool_error("out of memory");
    } else {
        status = tell(call, &enrollment);
    }
    enrollment_end(&enrollment);
    return status;
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    const struct model_person *person = model_person_find(model, call->argv[0]);
    char *base = NULL;
    int status = TOOL_USAGE;
    if (person == NULL) {
        tool_error("%s: there is no person \"%s\" in the people file", call->config, call->argv[0]);
        status = TOOL_NO;
    } else if (tool_base_url(call, model, &base)) {
        if (base == NULL && (call->qr || call->svg != NULL)) {
            tool_error("a code needs the address that phones use: --url BASE, or `http.url` in the "
                       "configuration");
        } else {
            status = enroll(call, person, base);
        }
    }
    free(base);
    model_free(model);
    return status;
}

const struct tool_command tool_token = {
    .name = "token",
    .words = "PERSON",
    .options = "-c FILE [--url BASE] [--qr] [--svg FILE] [--json]",
    .about =
        "Makes a person's token, the line for the people file, and the link that enrolls a phone.",
    .least = 1,
    .most = 1,
    .run = run,
};
