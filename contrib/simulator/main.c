// forelock-simulator: plays the hardware of one site.
#include <signal.h>
#include <stdio.h>

#include "simulator/options.h"
#include "simulator/runner.h"

#define CONNECT_MS 10000

// Exit states, the same as those of the operator's tool.
enum { STATUS_USAGE = 2, STATUS_SCENARIO = 3, STATUS_BROKER = 4 };

static int complain(const struct sim_note *note, int status) {
    fprintf(stderr, "forelock-simulator: %s\n", note->text);
    return status;
}

static int play(const struct sim_options *options, struct sim_world *world) {
    struct sim_scenario scenario = {0};
    struct sim_note note;
    int status = STATUS_SCENARIO;
    if (options->scenario == NULL || sim_scenario_read(&scenario, world, options->scenario)) {
        struct sim_link *link = sim_link_open(&options->broker, CONNECT_MS, &note);
        world->output.context = link;
        status = link != NULL ? sim_run(options, world, link, &scenario)
                              : complain(&note, STATUS_BROKER);
        sim_link_close(link);
    }
    sim_scenario_free(&scenario);
    return status;
}

int main(int argc, char **argv) {
    struct sim_options options;
    struct sim_note note;
    struct sim_world world;
    signal(SIGPIPE, SIG_IGN);
    if (!sim_options_read(&options, argc, argv, &note)) {
        return complain(&note, STATUS_USAGE);
    }
    if (options.help) {
        sim_options_usage();
        return 0;
    }
    sim_world_init(&world, options.root, options.site, options.seed,
                   (struct sim_output){.context = NULL, .send = sim_link_send});
    int status = play(&options, &world);
    sim_world_free(&world);
    return status;
}
