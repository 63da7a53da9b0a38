// `forelock labels SITE`: a label for each position, whose code opens its phone page.
#include "label/label.h"

#include "tool/print.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "json/json.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

struct labels {
    const struct tool_call *call;
    const struct model_site *site;
    struct label *label; // one a position
    char **urls;
    size_t count;
    unsigned files;
};

static bool fill(struct labels *labels, const char *base) {
    const struct model_site *site = labels->site;
    labels->label = calloc(site->position_count + 1, sizeof *labels->label);
    labels->urls = calloc(site->position_count + 1, sizeof(char *));
    for (size_t i = 0; labels->label != NULL && labels->urls != NULL && i < site->position_count;
         i++) {
        const struct model_position *position = &site->positions[i];
        if (asprintf(&labels->urls[i], "%s/at/%s/%s", base, site->site, position->position) < 0) {
            labels->urls[i] = NULL;
            return false;
        }
        labels->label[i] = (struct label){.site = site->site,
                                          .title = site->title,
                                          .position = position->position,
                                          .position_title = position->title,
                                          .dispenser = position->dispenser,
                                          .url = labels->urls[i]};
        labels->count++;
    }
    return labels->label != NULL && labels->urls != NULL;
}

static void labels_free(struct labels *labels) {
    for (size_t i = 0; i < labels->count; i++) {
        free(labels->urls[i]);
    }
    free(labels->urls);
    free(labels->label);
}

static int cannot_write(const char *path) {
    tool_error("cannot write %s: %s", path, strerror(errno));
    return TOOL_REACH;
}

static int too_long(const struct label *label) {
    tool_error("the address %s cannot be made into a code", label->url);
    return TOOL_NO;
}

static int write_pdf(struct labels *labels) {
    const char *path = labels->call->pdf;
    bool letter = labels->call->paper != NULL && strcmp(labels->call->paper, "letter") == 0;
    unsigned replaced = 0;
    FILE *out = fopen(path, "we");
    if (out == NULL) {
        return cannot_write(path);
    }
    bool drawn =
        label_pdf(labels->label, labels->count, letter ? LABEL_LETTER : LABEL_A4, out, &replaced);
    bool failed = ferror(out) != 0;
    if (fclose(out) != 0 || failed) {
        return cannot_write(path);
    }
    if (!drawn) {
        return too_long(&labels->label[0]);
    }
    if (replaced > 0) {
        tool_error("warning: %u characters are not in the fonts of %s and stand as \"?\"; the SVG "
                   "labels have them",
                   replaced, path);
    }
    labels->files++;
    return TOOL_DONE;
}

static int write_svg(struct labels *labels, size_t index) {
    const struct label *label = &labels->label[index];
    char *path = NULL;
    if (asprintf(&path, "%s/%s-%s.svg", labels->call->svg, label->site, label->position) < 0) {
        tool_error("out of memory");
        return TOOL_REACH;
    }
    FILE *out = fopen(path, "we");
    bool drawn = out != NULL && label_svg(label, out);
    bool failed = out == NULL || ferror(out) != 0;
    failed = (out != NULL && fclose(out) != 0) || failed;
    int status = failed ? cannot_write(path) : drawn ? TOOL_DONE : too_long(label);
    labels->files += status == TOOL_DONE;
    free(path);
    return status;
}

static int write_svgs(struct labels *labels) {
    if (mkdir(labels->call->svg, 0777) != 0 && errno != EEXIST) {
        return cannot_write(labels->call->svg);
    }
    int status = TOOL_DONE;
    for (size_t i = 0; status == TOOL_DONE && i < labels->count; i++) {
        status = write_svg(labels, i);
    }
    return status;
}

static bool list_json(const struct labels *labels) {
    struct json_out out = {0};
    json_out_array(&out);
    for (size_t i = 0; i < labels->count; i++) {
        json_out_object(&out);
        tool_text_member(&out, "site", labels->site->site);
        tool_text_member(&out, "position", labels->label[i].position);
        tool_text_member(&out, "url", labels->label[i].url);
        json_out_object_end(&out);
    }
    json_out_array_end(&out);
    return tool_print_json(&out);
}

static void list(const struct labels *labels) {
    for (size_t i = 0; i < labels->count; i++) {
        tool_line(stdout, "%s  %s", labels->label[i].position, labels->label[i].url);
    }
    if (labels->files == 0) {
        tool_line(stdout,
                  "Nothing was written: --pdf FILE gives sheets, --svg DIRECTORY drawings.");
    }
    tool_line(stdout, "No screen replaces a lock, a tag and a meter: print the labels with their "
                      "caution, and hang them where local codes allow it.");
}

static int make(const struct tool_call *call, const struct model_site *site, const char *base) {
    struct labels labels = {.call = call, .site = site};
    int status = TOOL_DONE;
    if (!fill(&labels, base)) {
        tool_error("out of memory");
        status = TOOL_REACH;
    }
    if (status == TOOL_DONE && call->pdf != NULL) {
        status = write_pdf(&labels);
    }
    if (status == TOOL_DONE && call->svg != NULL) {
        status = write_svgs(&labels);
    }
    if (status == TOOL_DONE && !call->json) {
        list(&labels);
    } else if (status == TOOL_DONE && !list_json(&labels)) {
        tool_error("out of memory");
        status = TOOL_REACH;
    }
    labels_free(&labels);
    return status;
}

static int run(const struct tool_call *call) {
    if (call->paper != NULL && strcmp(call->paper, "a4") != 0 &&
        strcmp(call->paper, "letter") != 0) {
        tool_error("--paper is a4 or letter; found \"%s\"", call->paper);
        return TOOL_USAGE;
    }
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    const struct model_site *site = model_site_find(model, call->argv[0]);
    char *base = NULL;
    int status = TOOL_USAGE;
    if (site == NULL) {
        tool_error("%s: there is no site \"%s\"", call->config, call->argv[0]);
        status = TOOL_NO;
    } else if (tool_base_url(call, model, &base)) {
        if (base != NULL) {
            status = make(call, site, base);
        } else {
            tool_error("labels needs the address that phones use: --url BASE, or `http.url` in the "
                       "configuration");
        }
    }
    free(base);
    model_free(model);
    return status;
}

const struct tool_command tool_labels = {
    .name = "labels",
    .words = "SITE",
    .options = "-c FILE [--pdf FILE] [--svg DIRECTORY] [--url BASE] [--paper a4|letter]",
    .about = "Makes the labels of a site's positions, each with a code that opens its phone page.",
    .least = 1,
    .most = 1,
    .run = run,
};
