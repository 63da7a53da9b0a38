// Deliveries by libcurl's multi interface.
#include "webhook/post.h"

#include "base/array.h"
#include "model/model.h"
#include "webhook/schedule.h"

#include <curl/curl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define ANSWER_MAX (64 * 1024) // bytes of an answer's head, and of its body, that are read at all

struct webhook_post {
    CURL *easy;
    struct curl_slist *headers;
    char error[CURL_ERROR_SIZE];
    size_t head, body; // bytes read
    bool secure;
    void *user;
};

struct webhook_client {
    CURLM *multi;
    struct webhook_post **under_way;
    size_t count, capacity;
};

bool webhook_library_init(void) {
    return curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK;
}

struct webhook_client *webhook_client_new(void) {
    struct webhook_client *client = calloc(1, sizeof *client);
    if (client == NULL) {
        return NULL;
    }
    client->multi = curl_multi_init();
    if (client->multi == NULL) {
        free(client);
        return NULL;
    }
    return client;
}

static void post_free(struct webhook_client *client, struct webhook_post *post) {
    if (post->easy != NULL) {
        curl_multi_remove_handle(client->multi, post->easy);
        curl_easy_cleanup(post->easy);
    }
    curl_slist_free_all(post->headers);
    free(post);
}

void webhook_client_free(struct webhook_client *client) {
    if (client == NULL) {
        return;
    }
    for (size_t i = 0; i < client->count; i++) {
        post_free(client, client->under_way[i]);
    }
    curl_multi_cleanup(client->multi);
    free(client->under_way);
    free(client);
}

// --- Making one ---

static size_t on_head(char *data, size_t size, size_t count, void *user) {
    struct webhook_post *post = user;
    (void)data;
    post->head += size * count;
    return post->head <= ANSWER_MAX ? size * count : 0;
}

static size_t on_body(char *data, size_t size, size_t count, void *user) {
    struct webhook_post *post = user;
    (void)data;
    post->body += size * count;
    return post->body <= ANSWER_MAX ? size * count : 0;
}

static bool add_header(struct webhook_post *post, const char *name, const char *value) {
    char *line = NULL;
    if (asprintf(&line, "%s: %s", name, value) < 0) {
        return false;
    }
    struct curl_slist *list = curl_slist_append(post->headers, line);
    free(line);
    post->headers = list != NULL ? list : post->headers;
    return list != NULL;
}

static bool add_headers(struct webhook_post *post, const char *id, int64_t unix_s,
                        const char *signature) {
    char time[24];
    snprintf(time, sizeof time, "%" PRId64, unix_s);
    struct curl_slist *list = NULL;
    bool good = add_header(post, "Content-Type", "application/cloudevents+json; charset=utf-8") &&
                add_header(post, "webhook-id", id) && add_header(post, "webhook-timestamp", time) &&
                add_header(post, "webhook-signature", signature);
    list = good ? curl_slist_append(post->headers, "Expect:") : NULL; // no wait for a 100
    post->headers = list != NULL ? list : post->headers;
    return list != NULL;
}

// What depends on nothing but that it is ours.
static bool set_manners(struct webhook_post *post) {
    CURL *easy = post->easy;
    return curl_easy_setopt(easy, CURLOPT_NOSIGNAL, 1L) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_FOLLOWLOCATION, 0L) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_PROXY, "") == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_NETRC, (long)CURL_NETRC_IGNORED) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_CONNECTTIMEOUT_MS, (long)WEBHOOK_CONNECT_MS) ==
               CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_TIMEOUT_MS, (long)WEBHOOK_TOTAL_MS) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_HTTP_VERSION, (long)CURL_HTTP_VERSION_1_1) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_USERAGENT, "forelockd") == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_QUICK_EXIT, 1L) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_HEADERFUNCTION, on_head) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_HEADERDATA, post) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_WRITEFUNCTION, on_body) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_WRITEDATA, post) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_ERRORBUFFER, post->error) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_PRIVATE, post) == CURLE_OK;
}

static bool set_where(struct webhook_post *post, const struct model_webhook *hook) {
    CURL *easy = post->easy;
    post->secure = strncasecmp(hook->url, "https:", 6) == 0;
    return curl_easy_setopt(easy, CURLOPT_URL, hook->url) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_PROTOCOLS_STR, post->secure ? "https" : "http") ==
               CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_SSL_VERIFYPEER, 1L) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_SSL_VERIFYHOST, 2L) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2) == CURLE_OK &&
           (hook->ca_file == NULL ||
            (curl_easy_setopt(easy, CURLOPT_CAINFO, hook->ca_file) == CURLE_OK &&
             curl_easy_setopt(easy, CURLOPT_CAPATH, NULL) == CURLE_OK));
}

static bool set_what(struct webhook_post *post, const char *body, size_t length) {
    CURL *easy = post->easy;
    return curl_easy_setopt(easy, CURLOPT_POST, 1L) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_POSTFIELDSIZE_LARGE, (curl_off_t)length) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_COPYPOSTFIELDS, body) == CURLE_OK &&
           curl_easy_setopt(easy, CURLOPT_HTTPHEADER, post->headers) == CURLE_OK;
}

bool webhook_client_post(struct webhook_client *client, const struct model_webhook *hook,
                         const struct webhook_secrets *secrets, const char *id, int64_t unix_s,
                         const char *body, size_t length, void *user) {
    char signature[WEBHOOK_SIGNATURE_SIZE];
    struct webhook_post *post = NULL;
    if (BASE_ARRAY_ROOM(client->under_way, client->count, client->capacity)) {
        post = calloc(1, sizeof *post);
    }
    if (post == NULL) {
        return false;
    }
    post->user = user;
    post->easy = curl_easy_init();
    bool good = post->easy != NULL && webhook_sign(secrets, id, unix_s, body, length, signature) &&
                add_headers(post, id, unix_s, signature) && set_manners(post) &&
                set_where(post, hook) && set_what(post, body, length) &&
                curl_multi_add_handle(client->multi, post->easy) == CURLM_OK;
    if (!good) {
        post_free(client, post);
        return false;
    }
    client->under_way[client->count++] = post;
    return true;
}

// --- Going on ---

void webhook_client_run(struct webhook_client *client, int wait_ms) {
    int running = 0;
    curl_multi_perform(client->multi, &running);
    if ((size_t)running < client->count) {
        return; // one has ended, which is not to wait for the others
    }
    curl_multi_poll(client->multi, NULL, 0, wait_ms, NULL);
    curl_multi_perform(client->multi, &running);
}

void webhook_client_wake(struct webhook_client *client) {
    curl_multi_wakeup(client->multi);
}

// --- What came of it ---

static const char *phrase(long status) {
    switch (status) {
    case 301:
    case 302:
    case 303:
    case 307:
    case 308:
        return " (a redirect, which is not followed)";
    case 400:
        return " Bad Request";
    case 401:
        return " Unauthorized";
    case 403:
        return " Forbidden";
    case 404:
        return " Not Found";
    case 410:
        return " Gone: it wants no more";
    case 413:
        return " Content Too Large";
    case 429:
        return " Too Many Requests";
    case 500:
        return " Internal Server Error";
    case 502:
        return " Bad Gateway";
    case 503:
        return " Service Unavailable";
    case 504:
        return " Gateway Timeout";
    default:
        return "";
    }
}

static enum webhook_outcome outcome_of(long status) {
    if (status >= 200 && status < 300) {
        return WEBHOOK_TAKEN;
    }
    if (status == 410) {
        return WEBHOOK_GONE;
    }
    bool away = status == 429 || status == 502 || status == 503 || status == 504;
    return away ? WEBHOOK_NO_ANSWER : WEBHOOK_REFUSAL;
}

static enum webhook_trouble trouble_of(CURLcode code) {
    switch (code) {
    case CURLE_COULDNT_RESOLVE_HOST:
        return WEBHOOK_TROUBLE_NAME;
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CACERT_BADFILE:
        return WEBHOOK_TROUBLE_AUTHORITY;
    default:
        return WEBHOOK_TROUBLE_OTHER;
    }
}

static void say_error(const struct webhook_post *post, CURLcode code, char *say, size_t size) {
    const char *detail = post->error[0] != '\0' ? post->error : curl_easy_strerror(code);
    switch (code) {
    case CURLE_COULDNT_RESOLVE_HOST:
        snprintf(say, size, "the name of the host is not known: %.140s", detail);
        break;
    case CURLE_COULDNT_CONNECT:
        snprintf(say, size, "no connection: %.140s", detail);
        break;
    case CURLE_OPERATION_TIMEDOUT:
        snprintf(say, size, "no answer in time: %.140s", detail);
        break;
    case CURLE_PEER_FAILED_VERIFICATION:
        snprintf(say, size, "its certificate is not to be trusted: %.140s", detail);
        break;
    case CURLE_SSL_CACERT_BADFILE:
        snprintf(say, size, "the file of authorities cannot be used: %.140s", detail);
        break;
    case CURLE_SSL_CONNECT_ERROR:
        snprintf(say, size, "no TLS connection: %.140s", detail);
        break;
    case CURLE_GOT_NOTHING:
        snprintf(say, size, "it closed the connection without an answer");
        break;
    default:
        snprintf(say, size, "%.140s", detail);
        break;
    }
}

// Names of a certificate come from the receiver: they write no control characters on a terminal.
static void make_plain(char *say) {
    for (; *say != '\0'; say++) {
        if ((unsigned char)*say < 0x20 || *say == 0x7f) {
            *say = ' ';
        }
    }
}

// An answer whose status came is one, also if we stopped reading the rest of it.
static void judge(struct webhook_post *post, CURLcode code, struct webhook_result *result) {
    curl_off_t after = 0, took = 0;
    memset(result, 0, sizeof *result);
    curl_easy_getinfo(post->easy, CURLINFO_TOTAL_TIME_T, &took);
    result->took_ms = (int64_t)took / 1000;
    bool answered = code == CURLE_OK || (code == CURLE_WRITE_ERROR && post->body > ANSWER_MAX);
    if (answered) {
        curl_easy_getinfo(post->easy, CURLINFO_RESPONSE_CODE, &result->status);
    }
    if (result->status == 0) {
        result->outcome = WEBHOOK_NO_ANSWER;
        result->trouble = trouble_of(code);
        say_error(post, code, result->say, sizeof result->say);
        make_plain(result->say);
        return;
    }
    result->outcome = outcome_of(result->status);
    if (curl_easy_getinfo(post->easy, CURLINFO_RETRY_AFTER, &after) == CURLE_OK && after > 0) {
        int64_t most = WEBHOOK_DELAY_MAX_MS / 1000;
        result->after_ms = (after < most ? (int64_t)after : most) * 1000;
    }
    snprintf(result->say, sizeof result->say, "answered %ld%s", result->status,
             phrase(result->status));
}

static void take_away(struct webhook_client *client, const struct webhook_post *post) {
    for (size_t i = 0; i < client->count; i++) {
        if (client->under_way[i] == post) {
            client->under_way[i] = client->under_way[--client->count];
            return;
        }
    }
}

bool webhook_client_ended(struct webhook_client *client, struct webhook_result *result,
                          void **user) {
    int left = 0;
    CURLMsg *message;
    while ((message = curl_multi_info_read(client->multi, &left)) != NULL) {
        struct webhook_post *post = NULL;
        if (message->msg != CURLMSG_DONE ||
            curl_easy_getinfo(message->easy_handle, CURLINFO_PRIVATE, (char **)&post) != CURLE_OK ||
            post == NULL) {
            continue;
        }
        judge(post, message->data.result, result);
        *user = post->user;
        take_away(client, post);
        post_free(client, post);
        return true;
    }
    return false;
}
