// The configuration of the day, written into a folder and read as the daemon reads it.
#include "model.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "config/config.h"
#include "day.h"

static const char forelock[] =
    "{\"instance\": \"edge-1\", \"root\": \"forelock\",\n"
    " \"broker\": {\"host\": \"127.0.0.1\", \"port\": 1883},\n"
    " \"http\": {\"listen\": \"127.0.0.1:8080\"},\n"
    " \"journal\": \"forelock.db\", \"people\": \"people.json\",\n"
    " \"procedures\": [\"procedure.json\"], \"sites\": [\"site.json\"]}\n";

static const char procedure[] =
    "{\"procedure\": \"hose\", \"title\": \"Replace hose\", \"credentials\": [[\"vapor-a\"]],\n"
    " \"isolate\": [\"electrical\", \"product\"], \"check_in_s\": 1800,\n"
    " \"prepare\": [{\"check\": \"barricade\", \"ask\": \"Barricaded\"},\n"
    "   {\"check\": \"gas\", \"ask\": \"Gas reading\", \"unit\": \"%\", \"min\": 0, \"max\": 5,\n"
    "    \"valid_s\": 10800}],\n"
    " \"relieve\": [{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0,\n"
    "    \"valid_s\": 14400}],\n"
    " \"verify\": [{\"check\": \"no-flow\", \"ask\": \"Nothing flows\"},\n"
    "   {\"check\": \"no-voltage\", \"ask\": \"No voltage\", \"unit\": \"V\", \"max\": 1,\n"
    "    \"valid_s\": 7200}],\n"
    " \"work\": [{\"check\": \"seals\", \"ask\": \"New seals\"}],\n"
    " \"clear\": [{\"check\": \"tools-clear\", \"ask\": \"Tools removed\"},\n"
    "   {\"check\": \"people-clear\", \"ask\": \"Everyone clear\"}],\n"
    " \"tests\": [{\"test\": \"leak\", \"rule\": \"pass-fail\"},\n"
    "   {\"test\": \"boot\", \"rule\": \"pass-fail\", \"powered\": false}],\n"
    " \"finish\": [{\"check\": \"barricade-removed\", \"ask\": \"Area clean\"}],\n"
    " \"leave\": [{\"check\": \"made-safe\", \"ask\": \"Position bagged\"}]}\n";

static FILE *file_in(const char *folder, const char *name) {
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        day_end_with("the configuration cannot be written");
    }
    return file;
}

static void write_text(const char *folder, const char *name, const char *text) {
    FILE *file = file_in(folder, name);
    fputs(text, file);
    fclose(file);
}

static void write_people(const char *folder) {
    FILE *file = file_in(folder, "people.json");
    fputs("{\"people\": [\n", file);
    for (unsigned i = 1; i <= 2 * DAY_DISPENSERS; i++) {
        fprintf(file,
                "{\"person\": \"t-%u\", \"roles\": [\"technician\"], \"sites\": [\"*\"],"
                " \"credentials\": [{\"credential\": \"vapor-a\"}]},\n",
                i);
    }
    fputs("{\"person\": \"m-1\", \"roles\": [\"manager\"], \"sites\": [\"*\"]},\n"
          "{\"person\": \"s-1\", \"roles\": [\"supervisor\"], \"sites\": [\"*\"]},\n"
          "{\"person\": \"k-1\", \"roles\": [\"tracker\"], \"sites\": [\"*\"]}]}\n",
          file);
    fclose(file);
}

static void write_site(const char *folder) {
    FILE *file = file_in(folder, "site.json");
    fputs("{\"site\": \"juniper\", \"title\": \"Juniper Crossing\",\n"
          " \"controllers\": [\"panel-1\", \"panel-2\"], \"positions\": [\n",
          file);
    for (unsigned d = 1; d <= DAY_DISPENSERS; d++) {
        fprintf(file,
                "{\"position\": \"%uA\", \"dispenser\": \"%u\"},"
                "{\"position\": \"%uB\", \"dispenser\": \"%u\"}%s\n",
                d, d, d, d, d < DAY_DISPENSERS ? "," : "");
    }
    fputs("], \"points\": [\n", file);
    for (unsigned d = 1; d <= DAY_DISPENSERS; d++) {
        fprintf(file,
                "{\"point\": \"%u-power\", \"energy\": \"electrical\","
                " \"isolates\": [\"%uA\", \"%uB\"], \"controller\": \"panel-1\"%s},\n",
                d, d, d, d > DAY_DISPENSERS / 2 ? ", \"locks\": \"reader\"" : "");
        fprintf(file,
                "{\"point\": \"%u-valve\", \"energy\": \"product\","
                " \"isolates\": [\"%uA\", \"%uB\"], \"controller\": \"panel-2\"},\n",
                d, d, d);
        fprintf(file,
                "{\"point\": \"%u-line\", \"energy\": \"product\","
                " \"isolates\": [\"%uA\", \"%uB\"], \"sensors\": [],"
                " \"witness_valid_s\": 14400}%s\n",
                d, d, d, d < DAY_DISPENSERS ? "," : "");
    }
    fputs("]}\n", file);
    fclose(file);
}

struct model *nuisance_model(void) {
    static const char *const names[] = {"forelock.json", "procedure.json", "people.json",
                                        "site.json"};
    char folder[] = "/tmp/nuisance-XXXXXX", path[256];
    struct config_report report = {.now_ms = 1800000000000};
    if (mkdtemp(folder) == NULL) {
        day_end_with("no folder for the configuration");
    }
    write_text(folder, "forelock.json", forelock);
    write_text(folder, "procedure.json", procedure);
    write_people(folder);
    write_site(folder);
    snprintf(path, sizeof path, "%s/forelock.json", folder);
    struct model *model = config_load(path, &report);
    if (model == NULL) {
        config_report_print(&report, stderr);
        day_end_with("the configuration is not good");
    }
    config_report_free(&report);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    rmdir(folder);
    return model;
}
