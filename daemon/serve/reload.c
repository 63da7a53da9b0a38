// What is read again while the daemon runs: people's tokens and the certificate.
#include "config/config.h"
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

// Takes a person's token as it is now. Whether it is another one, or none any more.
static bool take_token(struct model_person *person, const struct model_person *now) {
    bool had = person->has_token;
    bool same = now != NULL && now->has_token == had &&
                memcmp(now->token_sha256, person->token_sha256, sizeof person->token_sha256) == 0;
    if (same) {
        return false;
    }
    person->has_token = now != NULL && now->has_token;
    if (person->has_token) {
        memcpy(person->token_sha256, now->token_sha256, sizeof person->token_sha256);
    }
    return had;
}

static void take_tokens(struct daemon *daemon, const struct model *now) {
    struct model *model = daemon->model;
    bool *changed = calloc(model->person_count + 1, sizeof *changed);
    size_t count = 0;
    if (changed == NULL) {
        serve_log_error("http", "out of memory: the tokens from before are kept");
        return;
    }
    for (size_t i = 0; i < model->person_count; i++) {
        struct model_person *person = &model->people[i];
        changed[i] = take_token(person, model_person_find(now, person->person));
        count += changed[i];
    }
    http_tokens_changed(daemon->http, changed);
    free(changed);
    serve_log_info("http", "the tokens were read again: revoked=%zu", count);
}

// Roles, sites and everything else stay as they are until a restart: a gate whose rules change in
// the middle of a job would be no gate. So nothing else is read either: it would hold up the loop,
// set the time zone under the other threads, and an unfinished edit of a site would keep a lost
// phone in.
static void reload_tokens(struct daemon *daemon) {
    struct config_report report = {0};
    struct model *now = config_load_people(daemon->path, &report);
    if (now == NULL) {
        serve_log_error("http", "the people file has errors: the tokens from before are kept");
        config_report_print(&report, stderr);
    } else {
        take_tokens(daemon, now);
    }
    model_free(now);
    config_report_free(&report);
    loop_now_again(daemon->loop);
}

void serve_web_reload(struct daemon *daemon) {
    char error[512];
    if (daemon->http == NULL) {
        return;
    }
    reload_tokens(daemon);
    if (daemon->model->http_cert_file == NULL) {
        return;
    }
    if (http_reload(daemon->http, error, sizeof error)) {
        serve_log_info("http", "the certificate was read again");
    } else {
        serve_log_error("http", "%s: the certificate from before is kept", error);
    }
}
