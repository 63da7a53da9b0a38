// forelock: everything is in the library beside it.
#include "tool/tool.h"

int main(int argc, char **argv) {
    return tool_main(argc, argv);
}
