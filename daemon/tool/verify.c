// `forelock journal verify`: whether the journal is what was written.
#include "base/hex.h"
#include "tool/print.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "json/json.h"

#define HASH_TEXT_SIZE BASE_HEX_SIZE(JOURNAL_HASH_SIZE)

static bool take_hash(void *user, const struct journal_row *row) {
    char *text = user;
    base_hex_encode(row->hash, JOURNAL_HASH_SIZE, text);
    return false;
}

static bool print_json(const struct journal_verdict *verdict, const char *hash) {
    struct json_out out = {0};
    bool ok = verdict->fault == JOURNAL_FAULT_NONE;
    json_out_object(&out);
    json_out_key(&out, "ok");
    json_out_bool(&out, ok);
    json_out_key(&out, "checked");
    json_out_int(&out, verdict->checked);
    json_out_key(&out, ok ? "last" : "bad");
    if (ok || verdict->seq != 0) {
        json_out_int(&out, ok ? verdict->checked : verdict->seq);
    } else {
        json_out_null(&out);
    }
    json_out_key(&out, "hash");
    json_out_string(&out, hash[0] != '\0' ? hash : NULL);
    json_out_key(&out, "fault");
    json_out_string(&out, ok ? NULL : journal_fault_name(verdict->fault));
    json_out_key(&out, "say");
    json_out_string(&out, verdict->say);
    json_out_object_end(&out);
    return tool_print_json(&out);
}

static int tell(const struct model *model, const struct journal_verdict *verdict, const char *hash,
                bool json) {
    bool ok = verdict->fault == JOURNAL_FAULT_NONE;
    if (json && !print_json(verdict, hash)) {
        tool_error("out of memory");
        return TOOL_REACH;
    }
    if (!json && ok) {
        tool_line(stdout, "%s: ok, %lld facts, last fact %lld, hash %s", model->journal,
                  (long long)verdict->checked, (long long)verdict->checked,
                  hash[0] != '\0' ? hash : "none");
    } else if (!ok && verdict->seq != 0) {
        tool_error("%s: fact %lld: %s", model->journal, (long long)verdict->seq, verdict->say);
    } else if (!ok) {
        tool_error("%s: %s", model->journal, verdict->say);
    }
    return ok ? TOOL_DONE : TOOL_NO;
}

static int verify(const struct model *model, struct journal *journal, bool json) {
    struct journal_verdict verdict = {0};
    char hash[HASH_TEXT_SIZE] = "";
    enum journal_status status = journal_verify(journal, &verdict);
    if (status == JOURNAL_OK && verdict.fault == JOURNAL_FAULT_NONE && verdict.checked > 0) {
        // Of the last fact that is proved: the daemon may have gone on since.
        struct journal_query last = {.from_seq = verdict.checked, .limit = 1};
        status = journal_each(journal, &last, take_hash, hash);
    }
    if (status != JOURNAL_OK) {
        tool_error("%s", journal_why(journal));
        return TOOL_REACH;
    }
    return tell(model, &verdict, hash, json);
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    enum journal_status opened;
    struct journal *journal = tool_journal(model, &opened);
    int status = opened == JOURNAL_CORRUPT ? TOOL_NO : TOOL_REACH;
    if (journal != NULL) {
        status = verify(model, journal, call->json);
    }
    journal_close(journal);
    model_free(model);
    return status;
}

const struct tool_command tool_journal_verify = {
    .name = "journal",
    .part = "verify",
    .words = "",
    .options = "-c FILE [--json]",
    .about = "Checks every fact and the chain of their hashes.",
    .run = run,
};
