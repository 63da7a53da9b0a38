// `forelock webhook test`: one signed event, sent from here, and what came of it.
#include "tool/webhook.h"

#include "base/clock.h"
#include "base/hex.h"
#include "base/time_text.h"
#include "tool/print.h"
#include "tool/text.h"
#include "webhook/post.h"
#include "json/json.h"

#include <openssl/crypto.h>
#include <openssl/rand.h>
#include <stdlib.h>
#include <string.h>

#define ROUND_MS 200

static bool make_id(const struct model *model, char *id, size_t size) {
    unsigned char bytes[6];
    char spelled[BASE_HEX_SIZE(sizeof bytes)];
    if (RAND_bytes(bytes, sizeof bytes) != 1) {
        return false;
    }
    base_hex_encode(bytes, sizeof bytes, spelled);
    snprintf(id, size, "%s:test:%s", model->instance, spelled);
    return true;
}

static bool make_body(struct json_out *out, const struct model *model,
                      const struct model_webhook *hook, const char *id) {
    char at[BASE_TIME_SIZE];
    base_time_format(base_clock_wall_ms(), at);
    json_out_object(out);
    tool_text_member(out, "specversion", "1.0");
    tool_text_member(out, "id", id);
    tool_text_member(out, "source", "/forelock");
    tool_text_member(out, "type", "forelock.webhook.test");
    tool_text_member(out, "time", at);
    tool_text_member(out, "datacontenttype", "application/json");
    json_out_key(out, "data");
    json_out_object(out);
    tool_text_member(out, "instance", model->instance);
    tool_text_member(out, "webhook", hook->webhook);
    json_out_object_end(out);
    json_out_object_end(out);
    return !out->failed;
}

// What to look at; "": nothing.
static const char *hint(const struct webhook_result *result) {
    if (result->outcome == WEBHOOK_TAKEN) {
        return "";
    }
    if (result->status == 401 || result->status == 403) {
        return "Compare the secrets on both sides, and both clocks: signatures are good for 5 "
               "minutes.";
    }
    if (result->status >= 300 && result->status < 400) {
        return "Put the address that it redirects to into the configuration.";
    }
    if (result->status == 404 || result->status == 405) {
        return "Compare the path of `url` with the receiver's.";
    }
    if (result->status == 410) {
        return "The receiver wants no more events; the daemon would stop sending.";
    }
    if (result->status != 0) {
        return "See the receiver's own log.";
    }
    if (result->trouble == WEBHOOK_TROUBLE_AUTHORITY) {
        return "If the receiver's authority is your own, name its file as `ca_file`.";
    }
    if (result->trouble == WEBHOOK_TROUBLE_NAME) {
        return "Look at the host in `url`, and at this machine's name service.";
    }
    return "Look whether the receiver runs and whether a firewall is between.";
}

static int tell(const struct model_webhook *hook, const char *id,
                const struct webhook_result *result, bool json) {
    bool taken = result->outcome == WEBHOOK_TAKEN;
    struct json_out out = {0};
    if (!json) {
        tool_line(stdout, "%s: %s (%lld ms)", hook->webhook, result->say,
                  (long long)result->took_ms);
        if (!taken) {
            tool_line(stdout, "%s", hint(result));
        }
        return taken ? TOOL_DONE : TOOL_NO;
    }
    json_out_object(&out);
    tool_text_member(&out, "webhook", hook->webhook);
    tool_text_member(&out, "id", id);
    json_out_key(&out, "taken");
    json_out_bool(&out, taken);
    json_out_key(&out, "status");
    if (result->status != 0) {
        json_out_int(&out, result->status);
    } else {
        json_out_null(&out);
    }
    tool_text_member(&out, "say", result->say);
    tool_text_member(&out, "hint", taken ? NULL : hint(result));
    json_out_key(&out, "took_ms");
    json_out_int(&out, result->took_ms);
    json_out_object_end(&out);
    if (!tool_print_json(&out)) {
        return TOOL_REACH;
    }
    return taken ? TOOL_DONE : TOOL_NO;
}

// The library's own limits end it.
static void await(struct webhook_client *client, struct webhook_result *result) {
    void *user = NULL;
    while (!webhook_client_ended(client, result, &user)) {
        webhook_client_run(client, ROUND_MS);
    }
}

static int send_test(const struct model *model, const struct model_webhook *hook,
                     const struct webhook_secrets *secrets, bool json) {
    char id[2 * MODEL_ID_SIZE];
    struct json_out body = {0};
    struct webhook_result result;
    struct webhook_client *client = webhook_library_init() ? webhook_client_new() : NULL;
    int status = TOOL_REACH;
    if (client == NULL || !make_id(model, id, sizeof id) || !make_body(&body, model, hook, id) ||
        !webhook_client_post(client, hook, secrets, id, base_clock_wall_ms() / 1000, body.data,
                             body.length, NULL)) {
        tool_error("the test event cannot be made: out of memory");
    } else {
        await(client, &result);
        status = tell(hook, id, &result, json);
    }
    json_out_free(&body);
    webhook_client_free(client);
    return status;
}

static int test(const struct model *model, const struct model_webhook *hook, bool json) {
    const char *why = "";
    struct webhook_secrets *secrets = calloc(1, sizeof *secrets);
    int status = TOOL_REACH;
    if (secrets == NULL) {
        tool_error("out of memory");
        return status;
    }
    if (webhook_secrets_read(hook->secret, secrets, &why)) {
        status = send_test(model, hook, secrets, json);
    } else {
        tool_error("%s %s", hook->secret_file, why);
        status = TOOL_CONFIGURATION;
    }
    OPENSSL_cleanse(secrets, sizeof *secrets);
    free(secrets);
    return status;
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    const struct model_webhook *hook = tool_webhook_find(call, model, call->argv[0]);
    int status = hook != NULL ? test(model, hook, call->json) : TOOL_NO;
    model_free(model);
    return status;
}

const struct tool_command tool_webhook_test = {
    .name = "webhook",
    .part = "test",
    .words = "ID",
    .options = "-c FILE [--json]",
    .about = "Sends a signed test event to a webhook from here, and says what came of it.",
    .least = 1,
    .most = 1,
    .run = run,
};
