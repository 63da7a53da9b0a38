// forelockd: everything is in serve.
#include "serve/serve.h"

int main(int argc, char **argv) {
    return serve_main(argc, argv);
}
